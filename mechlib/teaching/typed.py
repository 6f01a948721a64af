"""Read a number as a person types it: decimal comma, fraction, real minus sign, unit after it."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from mechlib.say import MINUS
from mechlib.units import CUT_SHORT, UNITS, alike, known, with_plain_minus

LONGEST, LARGEST = 60, 1e12  # characters; magnitude. Past either, nobody means it as a measurement

_NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\ ?
        (?: (?:(?P<whole>\d+)\ )? (?P<top>\d+)\ ?/\ ?(?P<under>\d+)
          | (?P<decimal> (?:\d+[.,]?\d*|[.,]\d+) (?:e[+-]?\d+)? ) )
        (?P<rest>.*)""",
    re.ASCII | re.VERBOSE | re.IGNORECASE,
)
_GROUPED = re.compile(  # 1,680 or 1 680,5: in threes, with the same mark each time
    r"(?P<sign>[+-]?)\ ?(?P<first>[1-9]\d{0,2})(?P<mark>[ ,.'’])(?P<others>\d{3}(?:(?P=mark)\d{3})*)"
    r"(?P<parts>(?!(?P=mark))[.,]\d+)?(?P<unit>\D*)",
    re.ASCII,
)


@dataclass(frozen=True)
class Reading:
    """What was read: a value, or (``kind`` not empty) what is the matter, in words."""

    value: float | str | None
    kind: str = ""
    words: str = ""


def read_number(typed, unit: str = "", also: tuple[str, ...] = ()) -> Reading:
    """Read ``typed`` as one number, with or without its unit; never raises, never evaluates anything.

    Read are a sign (any dash is a minus), a decimal point or comma, a fraction (4/3, 1 1/2, 1½), an exponent
    (2e3).

    Parameters: ``typed`` text or a number; ``unit`` the unit asked for, "" for a plain number;
    ``also`` other units that may stand there and change nothing.
    Returns a Reading; its kind is "" or one of: empty, not a number, too large, wrong unit.
    Raises nothing.  Source: none needed, common ways of writing.

    >>> read_number("−12,5 °", "°").value, read_number("1 1/2 turns", "turns").value
    (-12.5, 1.5)
    >>> read_number("57 degrees", "°C").value
    57.0
    >>> read_number("3 mm", "°").words
    'you answered in mm; the question asks for degrees'
    """
    text = _plain("" if typed is None else str(typed))
    if not text:
        return Reading(None, "empty", "nothing is filled in here yet")
    found = _NUMBER.fullmatch(text) if len(text) <= LONGEST else None
    if found is None or re.search(r"[\d.,+=]", found["rest"].rstrip(".")):
        figures = without_thousands(typed)
        way = in_one_piece(figures) if figures else "write it in figures, such as 12.5 or 12,5 or 1 1/2"
        return Reading(None, "not a number", f"{quoted(typed)} does not read as one number; {way}")
    if found["under"] and int(found["under"]) == 0:
        return Reading(None, "not a number", f"{quoted(typed)} has nought below the line")
    value = _value(found)
    if abs(value) > LARGEST:
        return Reading(None, "too large", f"{quoted(typed)} is larger than anything on a bench")
    trouble = _unit_trouble(found["rest"].strip().rstrip("."), unit, also)
    return Reading(None, "wrong unit", trouble) if trouble else Reading(value)


def without_thousands(typed) -> str:
    """Return the figures of a number whose thousands are set apart by a mark, without it and without a unit.

    It is "" for anything else.  Whether "1.680" is such a number only who asks can know.

    >>> without_thousands("1 680 rev/min"), without_thousands("−1.680,5"), without_thousands("1.68")
    ('1680', '-1680,5', '')
    """
    text = _plain(str(typed))
    found = _GROUPED.fullmatch(text) if len(text) <= LONGEST else None
    if found is None:
        return ""
    others = found["others"].replace(found["mark"], "")
    return f"{found['sign']}{found['first']}{others}{found['parts'] or ''}"


def in_one_piece(figures: str) -> str:
    """Say how such a number is to be written.

    >>> in_one_piece("-1680")
    'write thousands without a sign between: −1680'
    """
    return f"write thousands without a sign between: {figures.replace('-', MINUS)}"


def quoted(typed) -> str:
    """Print what was typed, in quotes, cut to a readable length.

    >>> quoted("three"), quoted("9" * 40)
    ('“three”', '“999999999999999999999…”')
    """
    text = "".join(c if c.isprintable() else " " for c in str(typed))
    return f"“{text}”" if len(text) <= 24 else f"“{text[:21]}…”"


def in_words(unit: str) -> str:
    """Name a unit in words; an unlisted unit is its own name.

    >>> in_words("°"), in_words("mm"), in_words("")
    ('degrees', 'mm', 'a plain number')
    """
    return UNITS[unit][0] if unit in UNITS else unit or "a plain number"


def _plain(text: str) -> str:
    """Single spaces, plain signs, and ½ written out as 1/2."""
    written = (_written_out(c) for c in text)
    text = with_plain_minus("".join(written)).replace("\N{FRACTION SLASH}", "/")
    return " ".join(text.split())


def _written_out(character: str) -> str:
    decomposed = unicodedata.normalize("NFKC", character)
    is_fraction = "\N{FRACTION SLASH}" in decomposed and decomposed[0].isdigit() and decomposed[-1].isdigit()
    return f" {decomposed} " if is_fraction else character


def _value(found: re.Match) -> float:
    if found["top"]:
        size = int(found["whole"] or 0) + int(found["top"]) / int(found["under"])
    else:
        size = float(found["decimal"].replace(",", "."))
    return -size if found["sign"] == "-" else size


def _unit_trouble(written: str, unit: str, also: tuple[str, ...]) -> str:
    """Say why ``written`` is not the unit asked for, or "" where it is, or where no unit was written."""
    right = (unit, *also, *CUT_SHORT.get(unit, ()))
    if not written or alike(written) in map(alike, right):
        return ""
    other = known(written)
    if not other:
        after = f", and after it at most the unit ({in_words(unit)})" if unit else " alone"
        return f"{quoted(written)} is no unit known here; write the number{after}"
    return f"you answered in {in_words(other)}; the question asks for {in_words(unit)}"
