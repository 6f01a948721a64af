"""For trainers: what is asked and what is right in every exercise of a lesson, for one seed."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable

from mechlib.errors import MechError
from mechlib.say import listing, say
from mechlib.teaching.by_page import EXERCISES
from mechlib.teaching.exercises import Drawn, Exercise, Number

WIDTH = 96  # characters in a line


def page_sheet(page: int, seed: int) -> str:
    """Return the answer sheet of a page of the workbook, each exercise named by page and place.

    Parameters: ``page``, the number of a lesson; ``seed`` as ``answer_sheet``.
    Returns text.  Raises MechError for a page without exercises, or a bad seed.

    >>> page_sheet(2, 7).splitlines()[0]
    'Page 02, exercise 1: Ratio of a compound train'
    """
    if page not in EXERCISES:
        pages = f"{min(EXERCISES)} to {max(EXERCISES)}"
        raise MechError(f"page {page!r} has no exercises", f"give the number of a lesson, {pages}")
    return answer_sheet(EXERCISES[page], seed, f"Page {page:02}, exercise ")


def answer_sheet(exercises: Iterable[Exercise], seed: int, before: str = "Exercise ") -> str:
    """Return each exercise as drawn for ``seed``: question, right answer, the way to it, known slips.

    A slip stands with the answer that it gives and with what the box then asks.

    Parameters: ``exercises`` of a lesson; ``seed`` 0 to 10⁹: it gives the same numbers on every copy;
    ``before``, what each exercise's place in the lesson is written after.
    Returns text.  Raises MechError for a bad seed.  Source: none needed, the exercises' own answers.

    >>> from mechlib.teaching.trains import TRAINS
    >>> print(answer_sheet(TRAINS[2:3], 7).splitlines()[4])
    Right: 11.60 turns.
    """
    drawn = [each.draw(seed) for each in exercises]
    return "\n\n".join(_one(f"{before}{place}: {each.title}", each) for place, each in enumerate(drawn, 1))


def _one(head: str, drawn: Drawn) -> str:
    right = _answers(drawn, drawn.right)
    parts = (head, drawn.question, f"Right: {right}.", f"The way: {drawn.because}", "Slips:")
    slips = (f"- {slip.name}, {_answers(drawn, slip.answers)}: {slip.feedback}" for slip in drawn.slips)
    return "\n".join(
        textwrap.fill(part, WIDTH, subsequent_indent="  " * (part[0] == "-")) for part in (*parts, *slips)
    )


def _answers(drawn: Drawn, answers: tuple) -> str:
    """One answer a field; a field in which a slip doesn't show is left out."""
    pairs = zip(drawn.fields, answers, strict=True)
    return listing(_answer(field, answer) for field, answer in pairs if answer is not None)


def _answer(field, answer) -> str:
    """The answer with so many decimals that it is still within the tolerance when rounded."""
    if not isinstance(field, Number):
        return f"“{answer}”"
    digits = 0 if field.whole else max(0, math.ceil(-math.log10(2 * field.tolerance) - 1e-9))
    return say(answer, field.unit, digits).rstrip()
