"""Exercises: numbers drawn from a seed, the answer computed, the usual slips known by their arithmetic.

The engine knows no mechanics: an exercise brings the functions that answer it and that make its slips.
Every text of an exercise is a template for ``str.format``, filled with the drawn numbers by name.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import ceil, log10
from types import MappingProxyType, SimpleNamespace

from mechlib.errors import MechError, check_count, check_number
from mechlib.say import listing, say
from mechlib.teaching.typed import Reading, in_one_piece, in_words, quoted, read_number, without_thousands

MOST_SEED = 10**9
HALF = 1e-6  # so near a half a number may be rounded up or down
NEAR = 0.1  # of the right answer: further off, it isn't only rounding
LOOSE = 0.001  # of a slip's answer: so near it is known, too, where nothing else is
# What may stand behind a number besides its unit, where the box's label has this word: kelvins for a rise.
ALSO = {("°C", "rise"): "K", ("", "modules"): "modules"}
TRIES = 1000  # draws with one seed before an exercise is given up as badly made


@dataclass(frozen=True)
class Number:
    """A box for a number in ``unit``, right within ``tolerance``; it makes sense from ``low`` to ``high``.

    ``whole`` is for counts: an answer with a fraction is then sent back before it is judged.  ``exact`` is
    for sums of what the question tells: only to a whole number can these have been rounded.
    """

    label: str
    unit: str
    tolerance: float
    low: float
    high: float
    whole: bool = False
    exact: bool = False

    def read(self, typed) -> Reading:
        """Read what was typed; a value out of sense, or in parts where only whole ones exist, is refused."""
        words = self.label.casefold().split()
        also = tuple(other for (unit, word), other in ALSO.items() if unit == self.unit and word in words)
        reading = read_number(typed, self.unit, also)
        if reading.kind:
            return reading
        if not self.low <= reading.value <= self.high:
            span = f"{say(self.low, '', 0)} to {say(self.high, self.unit, 0)}"
            signless = ", without a minus sign" if self.low >= 0 > reading.value else ""
            words = f"{quoted(typed)} makes no sense here: expected is {span}{signless}"
            return Reading(None, "out of sense", words)
        if self.whole and reading.value != int(reading.value):
            words = f"{quoted(typed)}: {in_words(self.unit)} come whole; give the nearest"
            return Reading(None, "not whole", words)
        return reading

    def accepted(self, answer) -> float:
        """Check an answer that the exercise itself computed."""
        value = check_number(f"computed answer for {self.label}", answer, self.low, self.high, self.unit)
        return float(check_count(self.label, value, self.low, self.high)) if self.whole else value

    def agrees(self, value: float, answer: float) -> bool:
        """Say whether a typed value counts as this answer."""
        return abs(value - answer) <= self.tolerance * (1 + 1e-6)  # a hair more, for rounding in binary

    def clashes(self, one: float, other: float) -> bool:
        """Say whether some typed value would count as both answers."""
        return abs(one - other) <= 2 * self.tolerance * (1 + 1e-3)

    def between(self, answer: float) -> bool:
        """Say whether an answer lies just between two that it may be rounded to, with the decimals asked for.

        These are as many as the tolerance leaves room for: one with 0.06, none with 0.6.
        """
        scaled = abs(answer) * 10.0 ** ceil(-log10(2 * self.tolerance)) if not self.whole else 0.0
        return abs(scaled % 1 - 0.5) < HALF

    def nearly(self, value: float, answer: float) -> bool:
        """Say whether only rounding stands between the value and the answer: never for a nought, say."""
        rounded_off = any(value == round(answer, digits) for digits in range(1 if self.exact else 3))
        return self._near(value, answer) and (rounded_off or self._close(value, answer) and not self.exact)

    def misadded(self, value: float, answer: float) -> bool:
        """Say whether a sum is off by so little that it can only have gone astray in its last figure."""
        return self.exact and self._near(value, answer) and self._close(value, answer)

    def _near(self, value: float, answer: float) -> bool:
        return not self.whole and abs(value - answer) <= NEAR * abs(answer) * (1 + 1e-6)

    def _close(self, value: float, answer: float) -> bool:
        return abs(value - answer) <= 5 * self.tolerance

    def loosely(self, value: float, answer: float) -> bool:
        """Say whether the value is the answer but for a thousandth of it, or rounded to three figures."""
        if self.whole or self.agrees(value, answer):
            return self.agrees(value, answer)
        return abs(value - answer) <= LOOSE * abs(answer) or value == float(f"{answer:.3g}")


@dataclass(frozen=True)
class OneOf:
    """A choice of one of several answers in words."""

    label: str
    options: tuple[str, ...]

    def read(self, typed) -> Reading:
        """Read the option chosen; nothing chosen, or words that are no option, are refused."""
        if typed is None or not str(typed).strip():
            return Reading(None, "empty", "nothing is chosen here yet")
        if typed in self.options:
            return Reading(typed)
        return Reading(None, "no such choice", f"{quoted(typed)} is not among the choices")

    def accepted(self, answer) -> str:
        """Check an answer that the exercise itself computed."""
        if answer in self.options:
            return answer
        raise MechError(f"computed answer for {self.label} is {answer!r}", "it is not among the choices")

    def agrees(self, value: str, answer: str) -> bool:
        """Say whether a choice is this answer."""
        return value == answer

    clashes = agrees

    def between(self, answer: str) -> bool:
        """Say whether an answer lies between two: a choice never does."""
        return False

    def nearly(self, value: str, answer: str) -> bool:
        """A choice is never nearly right."""
        return False

    loosely = agrees
    misadded = nearly


@dataclass(frozen=True)
class Slip:
    """A usual mistake: its name, the answer that it makes of the drawn numbers, and what to tell the reader.

    ``answer`` gives one entry a field (bare for one field); None there means that the slip shows elsewhere.
    """

    name: str
    answer: Callable[[SimpleNamespace], object]
    feedback: str


@dataclass(frozen=True)
class Feedback:
    """What a check found: ``kind`` is "right", a slip's name, or what kept the answer from being judged."""

    kind: str
    words: str

    @property
    def right(self) -> bool:
        """True for the right answer."""
        return self.kind == "right"

    def sentence(self) -> str:
        """The finding in words, beginning with "Right." or "Not yet:"."""
        return f"{'Right.' if self.right else 'Not yet:'} {self.words}".rstrip()


@dataclass(frozen=True)
class DrawnSlip:
    """A slip for one draw: its answers, one entry a field, and its feedback with the numbers filled in."""

    name: str
    answers: tuple
    feedback: str


@dataclass(frozen=True)
class Drawn:
    """An exercise with its numbers: question, fields, right answers, slips and hints, all ready to show."""

    seed: int
    title: str
    question: str
    numbers: Mapping[str, object]
    fields: tuple[Number | OneOf, ...]
    right: tuple
    slips: tuple[DrawnSlip, ...]
    hints: tuple[str, ...]
    because: str

    def sentence(self) -> str:
        """The question."""
        return self.question

    def check(self, answers) -> Feedback:
        """Judge ``answers``: what was typed or chosen, one entry a field (bare for one field).

        What can't be read, or makes no sense, is sent back with a reason; then the right answer and each slip
        are recognised, within the fields' tolerances; a slip that can be no other one, from three figures on.
        Raises MechError if the number of answers isn't the number of fields.
        """
        typed = tuple(answers) if isinstance(answers, list | tuple) else (answers,)
        if len(typed) != len(self.fields):
            raise MechError(f"{len(typed)} answers given", f"the exercise has {len(self.fields)} fields")
        readings = [field.read(entry) for field, entry in zip(self.fields, typed, strict=True)]
        for field, reading in zip(self.fields, readings, strict=True):
            if reading.kind:
                where = f"{field.label}: " if len(self.fields) > 1 else ""
                return Feedback(reading.kind, f"{where}{reading.words}.")
        values = tuple(reading.value for reading in readings)
        found = self._known(values) or self._thousands(typed) or self._rounded(values)
        return found or self._misadded(values) or self._loosely(values) or self._unrecognised(values)

    def _known(self, values: tuple) -> Feedback | None:
        """The right answer or a slip; None where it is neither."""
        if _match(self.fields, values, self.right):
            return Feedback("right", self.because)
        found = (slip for slip in self.slips if _match(self.fields, values, slip.answers))
        return next((Feedback(slip.name, slip.feedback) for slip in found), None)

    def _thousands(self, typed: tuple) -> Feedback | None:
        """Say how to write 1,680 if the answer would be known with its mark setting thousands apart."""
        apart = {
            at: figures
            for at, (field, entry) in enumerate(zip(self.fields, typed, strict=True))
            if isinstance(field, Number) and (figures := without_thousands(entry))
        }
        meant = [field.read(apart.get(at, typed[at])) for at, field in enumerate(self.fields)]
        if not apart or any(reading.kind for reading in meant):
            return None
        if not self._known(tuple(reading.value for reading in meant)):
            return None
        words = [f"{quoted(typed[at])} reads as a decimal; {in_one_piece(apart[at])}" for at in apart]
        return Feedback("thousands", f"{'; '.join(words)}.")

    def _rounded(self, values: tuple) -> Feedback | None:
        """Say so where only rounding stands between the values and the right answer."""
        judged = zip(self.fields, values, self.right, strict=True)
        if not all(
            field.agrees(value, right) or field.nearly(value, right) for field, value, right in judged
        ):
            return None
        words = "that is the way, but rounded too far; carry more digits along and round only at the end."
        return Feedback("rounding", words)

    def _misadded(self, values: tuple) -> Feedback | None:
        """Say so where only a small slip in adding, and rounding in another field, stands between them."""
        judged = zip(self.fields, values, self.right, strict=True)
        off = [(field, value, right) for field, value, right in judged if not field.agrees(value, right)]
        added = [field.label for field, value, right in off if field.misadded(value, right)]
        if not added or not all(f.misadded(v, r) or f.nearly(v, r) for f, v, r in off):
            return None
        where = f"{listing(added)}: " if len(self.fields) > 1 else ""
        words = "that is the way, with a small slip in adding; go over the sum."
        return Feedback("slip in adding", where + words)

    def _loosely(self, values: tuple) -> Feedback | None:
        """The one slip to which the values come near; None where they come near another one or the right."""
        found = [slip for slip in self.slips if _match(self.fields, values, slip.answers, loosely=True)]
        if len({slip.feedback for slip in found}) != 1 or _match(
            self.fields, values, self.right, loosely=True
        ):
            return None
        return Feedback(found[0].name, found[0].feedback)

    def _unrecognised(self, values: tuple) -> Feedback:
        """Say what can be said when no slip fits: which fields are right."""
        judged = list(zip(self.fields, values, self.right, strict=True))
        sound = [field.label for field, value, right in judged if field.agrees(value, right)]
        off = [field.label for field, value, right in judged if not field.agrees(value, right)]
        start = f"{listing(sound)}: right. {listing(off)}: " if sound else ""
        return Feedback(
            "unrecognised",
            f"{start}none of the usual slips leads there. Write each step down "
            "with its unit, or take a hint.",
        )


@dataclass(frozen=True)
class Exercise:
    """A question with numbers from a seed, its answer computed, and its usual slips.

    ``numbers``: for each name the values to draw from, or a function of the numbers above it (attributes of
    its argument, as for ``right`` and the slips): a value that follows, or a phrase for the texts.
    ``right`` gives one entry a field (bare for one field).  ``hints`` lead on in steps and never give the
    answer.  ``because`` is said after the right answer.  ``part_of`` names the lesson's module where the
    exercise is written in another one.

    >>> area = Exercise(
    ...     "Area of a square", "A square has a side of {side} mm. Its area?", {"side": range(3, 9)},
    ...     (Number("Area", "mm²", 0.1, 0, 100),), lambda n: n.side**2,
    ...     (Slip("perimeter", lambda n: 4 * n.side, "that is the way round it, not the area."),),
    ... )
    >>> area.draw(2).question
    'A square has a side of 7 mm. Its area?'
    >>> area.draw(2).check("28").sentence(), area.draw(2).check("49").sentence()
    ('Not yet: that is the way round it, not the area.', 'Right.')
    """

    title: str
    question: str
    numbers: Mapping[str, Sequence | Callable[[SimpleNamespace], object]]
    fields: tuple[Number | OneOf, ...]
    right: Callable[[SimpleNamespace], object]
    slips: tuple[Slip, ...]
    hints: tuple[str, ...] = ()
    because: str = ""
    part_of: str = ""

    @property
    def lesson(self) -> str:
        """The lesson to which it belongs: ``part_of``, else the module in which its answer is worked out."""
        return self.part_of or self.right.__module__.rpartition(".")[2]

    def draw(self, seed: int = 1) -> Drawn:
        """Draw the numbers for ``seed`` (0 to 10⁹); the same seed always gives the same exercise.

        Numbers are drawn again for which two of the answers (the right one, the slips') can't be told apart
        though not the same is said of them, or for which the right one lies just between two roundings.
        Raises MechError for a bad seed, for a computed answer that makes no sense, and when no draw will do.
        """
        seed = check_count("seed", seed, 0, MOST_SEED)
        stream = random.Random(f"{self.title} {seed}")  # else exercises side by side draw alike
        for _ in range(TRIES):
            drawn = self._filled(seed, self._numbers(stream))
            told = [(drawn.right, None), *((slip.answers, slip.feedback) for slip in drawn.slips)]
            pairs = combinations(told, 2)  # two slips of which the same is said need no telling apart
            if any(a[1] != b[1] and _clash(self.fields, a[0], b[0]) for a, b in pairs):
                continue
            if not any(f.between(a) for f, a in zip(self.fields, drawn.right, strict=True) if a is not None):
                return drawn
        raise MechError(
            f"exercise “{self.title}”",
            f"in {TRIES} draws two of its answers always came out alike, or the right one between two "
            "roundings; widen its numbers or tighten its tolerance",
        )

    def _numbers(self, stream: random.Random) -> SimpleNamespace:
        drawn = SimpleNamespace()
        for name, source in self.numbers.items():
            # random() is the one method whose stream Python promises to keep
            value = source(drawn) if callable(source) else source[int(stream.random() * len(source))]
            setattr(drawn, name, value)
        return drawn

    def _filled(self, seed: int, drawn: SimpleNamespace) -> Drawn:
        numbers = vars(drawn)
        return Drawn(
            seed=seed,
            title=self.title,
            question=self.question.format(**numbers),
            numbers=MappingProxyType(numbers),
            fields=self.fields,
            right=self._answers(self.right(drawn)),
            slips=tuple(
                DrawnSlip(s.name, self._answers(s.answer(drawn)), s.feedback.format(**numbers))
                for s in self.slips
            ),
            hints=tuple(hint.format(**numbers) for hint in self.hints),
            because=self.because.format(**numbers),
        )

    def _answers(self, answer) -> tuple:
        entries = answer if isinstance(answer, tuple) else (answer,)
        return tuple(
            None if entry is None else field.accepted(entry)
            for field, entry in zip(self.fields, entries, strict=True)
        )


def _match(fields, values, answers, loosely: bool = False) -> bool:
    """Whether typed values count as these answers; an entry that is None counts whatever was typed."""
    judged = zip(fields, values, answers, strict=True)
    return all(a is None or (f.loosely if loosely else f.agrees)(v, a) for f, v, a in judged)


def _clash(fields, one, other) -> bool:
    """Whether some typed values would count as both."""
    return all(None in (a, b) or f.clashes(a, b) for f, a, b in zip(fields, one, other, strict=True))
