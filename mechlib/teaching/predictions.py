"""A guess made before looking: kept, and later set beside what happened."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from mechlib.errors import MechError, check_number
from mechlib.say import count, say
from mechlib.teaching.exercises import OneOf
from mechlib.teaching.typed import Reading, in_one_piece, quoted, read_number, without_thousands

# Units that are nouns, each with its singular: those of things that come whole, then measured ones.
WHOLE = {"arcs": "arc", "changes": "change", "lines": "line", "sizes": "size", "teeth": "tooth"}
NOUNS = WHOLE | {"cents": "cent", "minutes": "minute", "turns": "turn"}
NEVER_BELOW = (*WHOLE, "minutes", "turns")  # nought

GUESS_FIRST = "Keep a guess in the box above first; what came out then appears beside it."


@dataclass(frozen=True)
class Prediction:
    """A question to guess at before looking; the guess is kept and later set beside what happened.

    Either ``choices`` or a number in ``unit``, told with ``digits`` decimals.  A number of things, such as
    arcs, or without unit and decimals, is a count.

    >>> asked = Prediction("How far does the row move?", unit="°")
    >>> asked.committed("6").compare(-7.5)
    'You guessed 6.0°; it came out at −7.5°, which is 13.5° less.'
    >>> asked.compare(-7.5)
    'Keep a guess in the box above first; what came out then appears beside it.'
    """

    question: str
    choices: tuple[str, ...] = ()
    unit: str = ""
    digits: int = 1
    guess: float | str | None = None

    def read(self, typed) -> Reading:
        """Read a guess as typed or chosen; 1,680 is asked for anew where whole numbers are told.

        It would be kept for good as 1.68.  So is a count that is less than nought or in parts.
        """
        if self.choices:
            return OneOf("guess", self.choices).read(typed)
        also = (NOUNS[self.unit],) if self.unit in NOUNS else ()
        reading, figures = read_number(typed, self.unit, also), without_thousands(typed)
        if reading.kind:
            return reading
        if self.digits > 0 or not figures:
            return self._counted(typed, reading)
        return Reading(None, "not a number", f"{quoted(typed)} reads as a decimal; {in_one_piece(figures)}")

    def _counted(self, typed, reading: Reading) -> Reading:
        """The reading, or what is wrong with it as a number of things."""
        counted = self.unit in WHOLE or (not self.unit and not self.digits)
        things = self.unit or "these"
        if reading.value < 0 and (counted or self.unit in NEVER_BELOW):
            return Reading(None, "out of range", f"{quoted(typed)}: there can't be less than none")
        if counted and reading.value != int(reading.value):
            return Reading(None, "not whole", f"{quoted(typed)}: {things} come whole; give the nearest")
        return reading

    def committed(self, typed) -> Prediction:
        """Return the prediction with the guess kept in it.

        Raises MechError if a guess is kept already, or if ``typed`` can't be read as one.
        """
        if self.guess is not None:
            raise MechError("a guess is already kept", "it can't be changed after the event")
        reading = self.read(typed)
        if reading.kind:
            raise MechError("the guess can't be kept", reading.words)
        return replace(self, guess=reading.value)

    def sentence(self) -> str:
        """The question, and the guess if one is kept."""
        guess = "" if self.guess is None else f" Your guess: {self._said(self.guess)}."
        return self.question + guess

    def compare(self, actual: float | str) -> str:
        """Set the guess beside what happened (a number in the same unit, or one of the choices).

        Without a guess the sentence only asks for one: the outcome would spoil the guess.
        Raises MechError if ``actual`` is no finite number, or not among the choices.
        """
        if self.choices:
            actual = OneOf("outcome", self.choices).accepted(actual)
        else:
            actual = check_number("outcome", actual, unit=self.unit)
        if self.guess is None:
            return GUESS_FIRST
        came = f"it came out {'as' if self.choices else 'at'} {self._said(actual)}"
        return f"You guessed {self._said(self.guess)}; {came}, {self._verdict(actual)}."

    def _verdict(self, actual) -> str:
        if self.choices:
            return "as you thought" if actual == self.guess else "which is something else"
        apart = round(actual, self.digits) - round(self.guess, self.digits)
        if math.isclose(apart, 0, abs_tol=0.5 * 10**-self.digits):
            return "as you thought"
        apart = round(apart, self.digits)
        return f"which is {self._said(abs(apart))} {'more' if apart > 0 else 'less'}"

    def _said(self, value) -> str:
        if self.choices:
            return f"“{value}”"
        if self.unit in NOUNS:
            return count(round(value, self.digits), NOUNS[self.unit], self.digits)
        return say(value, self.unit, self.digits)
