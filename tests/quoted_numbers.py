"""Numbers quoted in a lesson's prose must come from its cells, so that no lesson can drift from the library.

A number counts as quoted if it has a decimal point or stands before a unit.  Small counts in words, bare
whole numbers and references (ISO 21771, section 4.3) are free.  It must be found in what an earlier code
cell or the next one shows or is given: printed text, the sentence of a picture, or a number in its code.
A decimal may be a rounding of what was shown (8.57 of 8.5714); a whole number must be there exactly.
Signs are not compared: prose says "8.57° smaller" where a cell prints −8.57°.
"""

from __future__ import annotations

import io
import re
import tokenize
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal

# Numbers that need not be computed: {"notebook.ipynb" or "" for all: {"number as written": "the reason"}}.
GIVEN: dict[str, dict[str, str]] = {
    "": {
        "360": "degrees in a full turn, by definition",
        "180": "degrees in half a turn, by definition",
        "90": "degrees in a right angle, by definition",
    },
}

UNITS = (
    r"°|\^\\circ|\\%|%|deg\b|degrees?\b|mm\b|teeth\b|tooth\b|N·mm\b|N\b|N/mm\b|rev/min\b|mm/s\b|turns?\b|"
    r"s\b|ms\b|V\b|A\b|mA\b|g\b|seconds?\b|minutes?\b|newtons?\b|millimetres?\b"
)
_NUMBER = r"(?<![\w.])(?P<number>\d+(?:\.\d+)?(?:e[+-]?\d+)?)(?!\d|\.\d)"
_QUOTED = re.compile(_NUMBER + rf"(?P<unit>[\s\u00a0\u202f-]*(?:{UNITS}))?")
_FREE = re.compile(
    r"^```.*?^```|`[^`]*`|\]\([^)]*\)|<[^>]*>"  # code, the targets of links, HTML
    r"|\b(?:sections?|clauses?|tables?|figures?|pages?|chapters?|equations?|versions?|Python|ISO|DIN|IEC|AGMA)"
    r"\s+(?:TR |TS )?\d[\d.:–-]*"  # references
    r"|\babout \d+ minutes",  # how long the lesson takes
    re.S | re.M | re.I,
)


def quoted(prose: str) -> list[str]:
    """Return the quoted numbers of a piece of prose, as written and without sign.

    >>> quoted("One tooth of 42 teeth is 8.57°; see ISO 21771, section 4.3, and step 2 in `f(1.5)`.")
    ['42', '8.57']
    """
    found = _QUOTED.finditer(_FREE.sub(" ", prose))
    return [match["number"] for match in found if "." in match["number"] or match["unit"]]


def shown(code: str, output: str) -> set[Decimal]:
    """Return the numbers that a code cell shows, and those given in its code.

    >>> sorted(shown("degrees_per_tooth(42)  # 7", "8.571°, or 1e-3 of it"))
    [Decimal('0.001'), Decimal('8.571'), Decimal('42')]
    """
    try:
        tokens = list(tokenize.generate_tokens(io.StringIO(code).readline))
    except (tokenize.TokenError, SyntaxError):  # another rule reports it
        tokens = []
    given = " ".join(token.string.replace("_", "") for token in tokens if token.type == tokenize.NUMBER)
    return {Decimal(match["number"]) for match in re.finditer(_NUMBER, f"{given}\n{output}")}


def computed(number: str, known: set[Decimal]) -> bool:
    """Whether a quoted number is known: exactly if whole, else as a rounding to its own digits.

    >>> computed("8.6", {Decimal("8.571")}), computed("9", {Decimal("8.571")})
    (True, False)
    """
    wanted = Decimal(number)
    if "." not in number:
        return wanted in known
    return any(value.quantize(wanted, ROUND_HALF_UP) == wanted for value in known if value < 10**15)


def quoted_numbers(cells: list[tuple[str, str]], outputs: list[str], name: str) -> Iterator[str]:
    """Yield a fault for each quoted number that nothing computes; each cell is its kind and its source."""
    given = GIVEN[""] | GIVEN.get(name, {})
    code = [shown(source, output) if kind == "code" else None
            for (kind, source), output in zip(cells, outputs, strict=True)]  # fmt: skip
    needed = set()
    for place, (kind, source) in enumerate(cells):
        if kind == "code":
            continue
        following = next((numbers for numbers in code[place:] if numbers is not None), set())
        known = following.union(*(numbers for numbers in code[:place] if numbers is not None))
        for number in quoted(source):
            if computed(number, known):
                continue
            needed.add(number)
            if number not in given:
                yield f"cell {place + 1}: {number} is quoted, but no cell up to the next one shows it"
    for number in GIVEN.get(name, {}):
        if number not in needed:
            yield f"{number} stands in GIVEN without need"
