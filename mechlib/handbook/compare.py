"""Published values, and what the library computes set beside them.

A published value is kept as the string that is printed: its last digit says how close a
computed value must come, half a unit in the last place.  Every value has a source and a status.
"""

from __future__ import annotations

import math
import textwrap
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files
from numbers import Real

from mechlib.errors import MechError
from mechlib.say import listing, say

STATUSES = {
    "published": "read in the named source",
    "recomputed": "published, remembered, and recomputed from first principles",
    "derived": "exact mathematics, no publication claimed",
    "practice": "common practice, no source",
    "memory": "remembered from the named source, not looked up again",
}
INFINITE = "∞"
WIDTH = 96  # columns of a table, so that a notebook doesn't wrap it
ROUNDING = 1e-9  # what an exact value may be off by, relative to its size


@dataclass(frozen=True)
class Value:
    """One printed value of the handbook; ``note`` is given where it is known to be wrong."""

    id: str
    key: str
    what: str
    inputs: str
    printed: str
    unit: str
    source: str
    status: str
    exact: bool = False
    note: str = ""

    @property
    def number(self) -> float:
        return math.inf if self.printed == INFINITE else float(self.printed)

    @property
    def digits(self) -> int:
        """Decimals printed."""
        return 0 if self.printed == INFINITE else decimals(self.printed)


@dataclass(frozen=True)
class Comparison:
    """A computed number beside the printed one.

    >>> compare("C3", "peak velocity", 1.0053096).sentence()
    'Cam, peak velocity: computed 1.005310 m/s, printed 1.005310 m/s; they agree (recomputed).'
    """

    value: Value
    computed: float
    agrees: bool

    @property
    def published(self) -> str:
        return self.value.printed

    @property
    def source(self) -> str:
        return self.value.source

    @property
    def status(self) -> str:
        return self.value.status

    @property
    def computed_text(self) -> str:
        """The computed number with as many decimals as the print; more, to show it, where the two differ."""
        if math.isinf(self.computed):
            return INFINITE
        digits, number = self.value.digits, self.value.number
        if not self.agrees:
            digits += 1
            while digits < 12 and say(self.computed, "", digits) == say(number, "", digits):
                digits += 1
        return say(self.computed, "", digits)

    def sentence(self) -> str:
        """Computed and printed value with unit and status, and whether they agree."""
        value = self.value
        unit = f" {value.unit}" if value.unit else ""
        verdict = "they agree" if self.agrees else "they differ"
        if value.note:
            verdict += f": {value.note}"
        what = value.what[:1].upper() + value.what[1:]
        return (
            f"{what}, {value.key}: computed {self.computed_text}{unit}, "
            f"printed {value.printed}{unit}; {verdict} ({value.status})."
        )


def decimals(printed: str) -> int:
    """Decimals in a printed number.

    >>> decimals("4.9350"), decimals("60")
    (4, 0)
    """
    return max(0, -Decimal(printed).as_tuple().exponent)


def tolerance(printed: str, exact: bool = False) -> float:
    """How far a computed number may lie from a printed one: half a unit in the last printed place.

    An exact number leaves room for rounding only, 1e-9 of its size (of 1 if it is smaller).

    >>> tolerance("4.935"), tolerance("60"), tolerance("8", exact=True)
    (0.0005, 0.5, 8e-09)
    """
    if exact:
        return ROUNDING * max(1.0, abs(float(printed)))
    return float(Decimal(5).scaleb(-decimals(printed) - 1))


@cache
def values() -> Mapping[tuple[str, str], Value]:
    """All printed values by (id, key), in the order of values.toml.

    >>> values()["law 3-4-5", "peak acceleration"].printed
    '5.773503'
    """
    return parse(files(__package__).joinpath("values.toml").read_text("utf-8"))


def parse(text: str) -> Mapping[tuple[str, str], Value]:
    """The values of a TOML text laid out as values.toml says.

    Raises MechError for a missing or unknown key, an unknown status, a value given twice and a
    printed string that is no number; the message names the entry.
    """
    found: dict[tuple[str, str], Value] = {}
    for entry in tomllib.loads(text).get("value", []):
        for row in entry.pop("rows", []):
            name = f"handbook value {entry.get('id')!r}, {row.get('key')!r}"
            try:
                value = Value(**{"unit": ""} | entry | row)
            except TypeError as error:  # a key missing or too many
                raise MechError(name, str(error).removeprefix("Value.__init__() ")) from None
            if (value.id, value.key) in found:
                raise MechError(name, "it is given twice")
            if value.status not in STATUSES:
                raise MechError(name, f"status is {value.status!r}; it must be one of {listing(STATUSES)}")
            if not _is_number(value.printed):
                raise MechError(name, f"printed is {value.printed!r}; it must be a number as a string")
            found[value.id, value.key] = value
    return found


def _is_number(printed: object) -> bool:
    try:
        return printed == INFINITE or (isinstance(printed, str) and math.isfinite(float(printed)))
    except ValueError:
        return False


def compare(id: str, key: str, computed: float) -> Comparison:
    """Set ``computed`` beside the printed value ``key`` of handbook entry ``id``.

    They agree within half a unit of the last printed place (see ``tolerance``).  ``computed`` is in the
    unit of the print.  Raises MechError for an entry that doesn't exist or a computed value that is no
    number.

    >>> compare("law table", "3-4-5 peak acceleration", 10 / 3**0.5).agrees
    False
    """
    value = values().get((id, key))
    if value is None:
        keys = [known_key for known_id, known_key in values() if known_id == id]
        ids = dict.fromkeys(known_id for known_id, _ in values())
        known = f"{id!r} has {listing(keys)}" if keys else f"the entries are {listing(ids)}"
        raise MechError(f"handbook value {id!r}, {key!r}", f"there is none; {known}")
    if isinstance(computed, bool) or not isinstance(computed, Real) or math.isnan(computed):
        raise MechError(f"computed value of {id!r}, {key!r} is {computed!r}", "it must be a number")
    computed = float(computed)
    if math.isinf(value.number) or math.isinf(computed):
        agrees = computed == value.number
    else:
        room = tolerance(value.printed, value.exact) * (1 + ROUNDING)
        agrees = abs(computed - value.number) <= room
    return Comparison(value, computed, agrees)


def table(comparisons: Iterable[Comparison]) -> str:
    """A text table: computed beside printed, with numbered sources and notes below it.

    >>> print(table([compare("C3", "peak velocity", 1.0053096)]))
    value               computed   printed
    Cam, peak velocity  1.005310  1.005310  m/s  agrees [1]
    <BLANKLINE>
    [1] textbook exercise on a simple harmonic cam (recomputed)
    """
    comparisons = list(comparisons)
    sources = list(dict.fromkeys((c.source, c.status) for c in comparisons))
    rows = [("value", "computed", "printed", "", "")]
    notes = []
    for c in comparisons:
        name = f"{c.value.what}, {c.value.key}"
        mark = f"{'agrees' if c.agrees else 'differs'} [{sources.index((c.source, c.status)) + 1}]"
        rows.append((name[:1].upper() + name[1:], c.computed_text, c.published, c.value.unit, mark))
        if c.value.note:
            wrong = "the remembered number doesn't fit" if c.status == "memory" else "the print is wrong"
            notes.append(f"Where {wrong}: {name}: {c.value.note}")
    return "\n".join([*_columns(rows), "", *_footnotes(sources, notes)])


def count_by_status() -> dict[str, int]:
    """How many printed values have each status, in the order of ``STATUSES``.

    >>> list(count_by_status()) == list(STATUSES)
    True
    """
    counts = Counter(value.status for value in values().values())
    return {status: counts[status] for status in STATUSES}


def _columns(rows: list[tuple[str, ...]]) -> list[str]:
    """Rows as aligned lines: names wrapped to what the numbers leave of WIDTH, numbers to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(5)]
    widths[0] = min(widths[0], WIDTH - sum(widths[1:]) - 2 * 4)
    lines = []
    for name, computed, printed, unit, mark in rows:
        *above, name = textwrap.wrap(name, widths[0], subsequent_indent="  ")
        lines += above
        cells = (
            name.ljust(widths[0]),
            computed.rjust(widths[1]),
            printed.rjust(widths[2]),
            unit.ljust(widths[3]),
            mark,
        )
        lines.append("  ".join(cells).rstrip())
    return lines


def _footnotes(sources: list[tuple[str, str]], notes: list[str]) -> list[str]:
    lines = [f"[{number}] {source} ({status})" for number, (source, status) in enumerate(sources, 1)]
    lines += dict.fromkeys(notes)
    return [piece for line in lines for piece in textwrap.wrap(line, WIDTH, subsequent_indent="    ")]
