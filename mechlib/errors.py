"""The one error that the library raises for bad input, and the check that raises it for numbers."""

from __future__ import annotations

import math
from numbers import Real

CLOSE_UNITS = ("", "°", "%")  # written against the number


class MechError(ValueError):
    """Bad input, said in a technician's words: which value, what is wrong, what would be right.

    Several problems found at once (in a transport file, say) are kept one by one in ``problems``.

    >>> str(MechError("teeth is -3", "a tooth count is a whole number, 6 or more"))
    'teeth is -3: a tooth count is a whole number, 6 or more'
    """

    def __init__(self, *parts: str, problems: tuple[str, ...] = ()):
        super().__init__(": ".join(parts))
        self.problems = problems or (str(self),)


def check_number(
    name: str, value, low: float = -math.inf, high: float = math.inf, unit: str = "", hint: str = ""
) -> float:
    """Return ``value`` as a float if it is a finite number from ``low`` to ``high`` (both included).

    ``name`` and ``unit`` are used in the message, ``hint`` says what to try.
    Raises MechError for text, True/False, NaN, infinity and values out of range.

    >>> check_number("radius_mm", 12, 0.5, 200, "mm")
    12.0
    >>> check_number("radius_mm", -1, 0.5, 200, "mm")
    Traceback (most recent call last):
    mechlib.errors.MechError: radius_mm is -1 mm: it must be from 0.5 to 200 mm
    """
    if type(value) is float and low <= value <= high and math.isfinite(value):
        return value  # nearly always, thousands of times for one picture
    unit = unit if unit in CLOSE_UNITS else f" {unit}"
    tail = f"; {hint}" if hint else ""
    if type(value) is not int and (isinstance(value, bool) or not isinstance(value, Real)):
        raise MechError(f"{name} is {value!r}", f"it must be a number{tail}")
    try:
        number = float(value)
    except OverflowError:
        raise MechError(f"{name} is far too large", f"it must be at most {high:g}{unit}{tail}") from None
    if not math.isfinite(number):
        raise MechError(f"{name} is {number}", f"it must be a finite number{tail}")
    if not low <= number <= high:
        raise MechError(f"{name} is {value:g}{unit}", f"it must be {_span(low, high)}{unit}{tail}")
    return number


def check_count(name: str, value, low: int, high: int, hint: str = "") -> int:
    """Return ``value`` as an int if it is a whole number from ``low`` to ``high`` (both included).

    Raises MechError for text, True/False, fractions and values out of range.

    >>> check_count("teeth", 40, 6, 400)
    40
    >>> check_count("teeth", 40.5, 6, 400)
    Traceback (most recent call last):
    mechlib.errors.MechError: teeth is 40.5: it must be a whole number from 6 to 400
    """
    if type(value) is int and low <= value <= high:
        return value
    tail = f"; {hint}" if hint else ""
    number = check_number(name, value, hint=hint)
    if number != int(number) or not low <= number <= high:
        raise MechError(f"{name} is {value:g}", f"it must be a whole number {_span(low, high)}{tail}")
    return int(number)


def _span(low: float, high: float) -> str:
    if math.isinf(high):
        return f"at least {low:g}"
    if math.isinf(low):
        return f"at most {high:g}"
    return f"from {low:g} to {high:g}"
