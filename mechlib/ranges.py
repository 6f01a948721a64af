"""The range of a value that a reader may choose: told once, for checks, axis limits, sliders and tests."""

from __future__ import annotations

from dataclasses import dataclass
from numbers import Integral

from mechlib.errors import MechError, check_count, check_number
from mechlib.say import say


@dataclass(frozen=True)
class Range:
    """A number from ``low`` to ``high`` in steps, with the words that a slider shows.

    ``label`` says what it is, ``unit`` its unit ("" where the label says it already, as "teeth ahead").
    ``low``, ``high``, ``step`` and ``default`` are in that unit; with four ints the value is a whole number.
    Raises MechError where the steps don't lead from ``low`` to ``high`` or the default isn't one of them.

    >>> shift = Range("shift of the part", -3, 3, 0.5, 0, "°")
    >>> shift.title, shift.span(), shift.check("shift_deg", 2), len(shift.positions())
    ('shift of the part (°)', '−3.0° to 3.0°', 2.0, 13)
    """

    label: str
    low: float
    high: float
    step: float
    default: float
    unit: str = ""

    def __post_init__(self):
        for name in ("low", "high", "step", "default"):
            check_number(f"{name} of the range {self.label!r}", getattr(self, name))
        steps = (self.high - self.low) / self.step if self.step > 0 else 0
        if round(steps) < 1 or abs(steps - round(steps)) > 1e-6:
            raise MechError(f"range {self.label!r}", "low must be below high, a whole number of steps apart")
        if not any(abs(self.default - at) < 1e-6 * self.step for at in self.positions()):
            raise MechError(f"range {self.label!r}", f"its default {self.default:g} is none of its steps")

    @property
    def whole(self) -> bool:
        """True where only whole numbers make sense (all four numbers are ints)."""
        return all(isinstance(n, Integral) for n in (self.low, self.high, self.step, self.default))

    @property
    def digits(self) -> int:
        """Decimals with which a value in this range is shown: those of the step, or of ``low`` if more.

        >>> Range("arm", 10.25, 12.25, 0.5, 10.75, "mm").digits
        2
        """
        ends = (f"{number:.6f}".rstrip("0") for number in (self.low, self.step))
        return max(len(text.partition(".")[2]) for text in ends)

    @property
    def title(self) -> str:
        """The label with its unit in brackets."""
        return f"{self.label} ({self.unit})" if self.unit else self.label

    def span(self) -> str:
        """Both ends in words, with the unit."""
        return f"{say(self.low, self.unit, self.digits)} to {say(self.high, self.unit, self.digits)}"

    def check(self, name: str, value):
        """Return ``value`` (int in a whole range, else float); raise MechError if it isn't in the range."""
        if self.whole:
            return check_count(name, value, self.low, self.high)
        return check_number(name, value, self.low, self.high, self.unit)

    def positions(self) -> tuple:
        """Every value at which a slider over this range can stand, in rising order.

        >>> Range("teeth ahead (+) or behind (−)", -2, 2, 1, 0).positions()
        (-2, -1, 0, 1, 2)
        """
        count = round((self.high - self.low) / self.step)
        inner = [self.low + at * self.step for at in range(count)]
        return (*(inner if self.whole else [round(at, 9) for at in inner]), self.high)


@dataclass(frozen=True)
class Choice:
    """One of several named things, with the words that a drop-down list shows.

    Raises MechError without options, with one named twice, or with a default that is none of them.

    >>> mesh = Choice("slipped part", ("mode switch", "loading gear"), "mode switch")
    >>> mesh.title, mesh.positions(), mesh.check("part", "loading gear")
    ('slipped part', ('mode switch', 'loading gear'), 'loading gear')
    """

    label: str
    options: tuple[str, ...]
    default: str

    def __post_init__(self):
        if not self.options or len(set(self.options)) < len(self.options):
            raise MechError(f"choice {self.label!r}", "it needs options, each named once")
        self.check(f"default of the choice {self.label!r}", self.default)

    @property
    def title(self) -> str:
        """The label."""
        return self.label

    def check(self, name: str, value) -> str:
        """Return ``value``; raise MechError if it is none of the options."""
        if value not in self.options:
            raise MechError(f"{name} is {value!r}", f"it must be one of: {', '.join(self.options)}")
        return value

    def positions(self) -> tuple[str, ...]:
        """Every option, in the order shown."""
        return self.options


def starts(controls: dict[str, Range | Choice], **given) -> dict:
    """Return a start value for each control: the one given, checked, or its default.

    >>> starts({"n": Range("teeth ahead", -2, 2, 1, 0), "bend": Range("bend", 0, 2, 0.1, 0, "mm")}, n=1)
    {'n': 1, 'bend': 0}
    >>> starts({"n": Range("teeth ahead", -2, 2, 1, 0)}, teeth=1)
    Traceback (most recent call last):
    mechlib.errors.MechError: teeth can't be set here: the values to set are n
    """
    for name in given:
        if name not in controls:
            raise MechError(f"{name} can't be set here", f"the values to set are {', '.join(controls)}")
    return {
        name: control.check(name, given[name]) if name in given else control.default
        for name, control in controls.items()
    }
