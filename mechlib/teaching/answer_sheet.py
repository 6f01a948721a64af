"""For trainers: what is asked and what is right in every exercise of a lesson, for one seed."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from mechlib.say import listing, say
from mechlib.teaching.exercises import Drawn, Exercise, Number

WIDTH = 96  # characters in a line


def answer_sheet(exercises: Sequence[Exercise], seed: int) -> str:
    """Return question, right answer and known slips of each exercise, as drawn for ``seed``.

    Parameters: ``exercises`` of a lesson; ``seed`` 0 to 10⁹: it gives the same numbers on every copy.
    Returns text.  Raises MechError for a bad seed.  Source: none needed, the exercises' own answers.

    >>> from mechlib.teaching.trains import TRAINS
    >>> print(answer_sheet(TRAINS[2:3], 7).splitlines()[-3])
    Right: 11.60 turns.
    """
    return "\n\n".join(_one(number, each.draw(seed)) for number, each in enumerate(exercises, 1))


def _one(number: int, drawn: Drawn) -> str:
    right = listing(_answer(*pair) for pair in zip(drawn.fields, drawn.right, strict=True))
    slips = "; ".join(slip.name for slip in drawn.slips)
    parts = (f"{number}. {drawn.title}", drawn.question, f"Right: {right}.", f"Known slips: {slips}.")
    return "\n".join(textwrap.fill(part, WIDTH) for part in parts)


def _answer(field, answer) -> str:
    """The answer with as many decimals as the tolerance leaves sense in."""
    if not isinstance(field, Number):
        return f"“{answer}”"
    digits = 0 if field.whole else max(0, len(f"{field.tolerance:.6f}".rstrip("0").split(".")[1]) - 1)
    return say(answer, field.unit, digits).rstrip()
