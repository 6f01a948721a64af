"""How people write a unit or a minus sign: spellings as data, and what makes them alike."""

from __future__ import annotations

import re
import unicodedata

# Each unit: its name in words, then what else people write; what _plain makes alike need not stand here.
# The last block is known only to be refused by name.
UNITS = {
    "°": ("degrees", "degree", "deg", "degs"),
    "teeth": ("teeth", "tooth", "t"),
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "turns": ("turns", "turn", "rev", "revs", "revolution", "revolutions"),
    "rev/min": ("rev/min", "rpm", "r/min"),
    "N": ("N", "newton", "newtons"),
    "N·mm": ("N·mm", "Nmm"),
    "s": ("seconds", "second", "sec", "secs"),
    "min": ("minutes", "minute", "mins"),
    "%": ("per cent",),
    "Ω": ("ohms", "ohm"),
    "°C": ("degrees Celsius", "degree Celsius", "Celsius", "degrees C", "deg C", "C"),
    "cents": ("cents", "cent"),
    "mm/s": ("mm/s",),
    "bits a minute": ("bits a minute",),
    "cases for a minute": ("cases for a minute",),
    # refused by name
    "bits": ("bits", "bit"),
    "cases": ("cases", "case"),
    "modules": ("modules", "module"),
    "K": ("kelvins", "kelvin"),
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "in": ("inches", "inch", '"'),
    "rad": ("radians", "radian"),
}

# What people write for a unit where it alone is asked for, though it may mean another.
CUT_SHORT = {"°C": ("°",)}

DASHES = "\u2010\u2011\u2012\u2013\u2014\u2015\N{MINUS SIGN}\N{FULLWIDTH HYPHEN-MINUS}"  # each means minus
_MINUS = str.maketrans(dict.fromkeys(DASHES, "-"))
_ALIKE = str.maketrans(
    {
        **dict.fromkeys("\N{DOT OPERATOR}\N{BULLET OPERATOR}\N{BULLET}*", "·"),
        **dict.fromkeys("\N{MASCULINE ORDINAL INDICATOR}\N{RING ABOVE}", "°"),
        "\N{DIVISION SLASH}": "/",
    }
)
_OVER = re.compile(r"\s+(?:per|for a|a)\s+")


def with_plain_minus(text: str) -> str:
    """Return a text with the hyphen of the keyboard for every dash that people take for a minus.

    >>> with_plain_minus("−3 or –3")
    '-3 or -3'
    """
    return text.translate(_MINUS)


def alike(written: str) -> str:
    """Return one form for all the ways in which a unit is written: two are the same if theirs are equal.

    A unit over another one is made alike part by part.

    >>> alike("revs / minute") == alike("rev/min"), alike("mm/s") == alike("mm/min")
    (True, False)
    >>> alike("℃") == alike("° C"), alike("mm") == alike("cm")
    (True, False)
    """
    by_parts = _by_parts(written)
    return _WHOLE.get(by_parts, by_parts)


def known(written: str) -> str:
    """Return the unit of ``UNITS`` that is written so, or "" where it is none of them.

    >>> known("bit/min"), known("apples")
    ('bits a minute', '')
    """
    return _KNOWN.get(alike(written), "")


def _plain(written: str) -> str:
    """Small letters, no spaces, one sign for each of multiplied, divided by and degrees."""
    text = unicodedata.normalize("NFKC", written.translate(_ALIKE)).casefold()
    return "".join(_OVER.sub("/", text).split())


def _by_parts(written: str) -> str:
    return "/".join(_PARTS.get(part, part) for part in _plain(written).split("/"))


def _spellings(form, over: bool) -> dict[str, str]:
    """The one form of each spelling, of the units that are one unit over another or of those that aren't."""
    listed = {unit: (unit, *names) for unit, names in UNITS.items() if ("/" in _plain(unit)) == over}
    return {form(name): form(unit) for unit, names in listed.items() for name in names}


_PARTS = _spellings(_plain, over=False)
_WHOLE = _spellings(_by_parts, over=True)
_KNOWN = {alike(unit): unit for unit in UNITS}
