"""What is typed into the form of a transport, and the value that it stands for in the file; both ways.

A kind of entry has ``read(typed, unit)``, which gives the value and what is the matter with it, in words, and
``show(value)``, the text to be typed for it.  What can't be read stays in the value as it was typed, so that
nothing is lost and the same words come of it again.  ``unit`` is that of an angle typed without one; of a
number it is that of its box, behind which no other may be typed.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from typing import NamedTuple

from mechlib.bench.own_toml import inline
from mechlib.cams import LAWS
from mechlib.errors import MechError
from mechlib.say import MINUS, listing
from mechlib.units import DASHES, alike, with_plain_minus

UNITS = {  # of an angle: how it is written in the file, and what people type
    "teeth": ("teeth", "tooth", "t"),
    "deg": ("°", "º", "degrees", "degree", "degs", "deg"),
    "turns": ("turns", "turn", "revs", "rev"),
}
WORDS = {"teeth": "teeth", "deg": "°", "turns": "turns"}
ONE = {"teeth": "tooth", "deg": "°", "turns": "turn"}
# Of a number: what else may stand behind it in a box with this unit; what is counted in a box without one.
SPELT = {
    "°C": ("°",),
    "of a tooth": UNITS["teeth"],
    "": (*UNITS["teeth"], *UNITS["turns"], "times"),
}
_UNIT = {written: unit for unit, spellings in UNITS.items() for written in spellings}
_SPELT = "|".join(sorted(map(re.escape, _UNIT), key=len, reverse=True))
_NUMBER = rf"[+\-{DASHES}]?(?:\d+[.,]\d+|[.,]\d+|\d+)"
_ANGLE = rf"(?P<{{0}}>{_NUMBER})\s*(?:(?P<{{0}}_unit>{_SPELT})(?:\s+of\s+(?P<{{0}}_of>\S.*?))?)?"
_GAP = r"(?:\s*[:=]\s*|,\s+|\s+)"
_LIFT = rf"(?P<mm>{_NUMBER})\s*(?:mm)?"

AN_ANGLE = "an angle such as 14 teeth, 84° or 3.5 turns"


def _pattern(text: str) -> re.Pattern:
    return re.compile(text, re.IGNORECASE)


ANGLE = _pattern(_ANGLE.format("at"))
# A dash between two angles touches the first, or stands apart from both: that of "−20 −17" is a minus.
_TO = rf"(?:\s*(?:\bto\b|\buntil\b|[:…])\s*|\s+(?:[\-{DASHES}]\s+)?|(?<=\S)[\-{DASHES}]\s*)"
ARC = _pattern(r"(?:from\s+)?" + _ANGLE.format("at") + _TO + _ANGLE.format("to"))
READING = _pattern(_ANGLE.format("at") + _GAP + _LIFT)
STATE = _pattern(r"(?P<name>\S.*?)" + _GAP + _LIFT)
MM = _pattern(rf"(?P<mm>{_NUMBER})\s*mm")
HOLD = _pattern(r"(?P<state>\S.*?)\s+until\s+" + _ANGLE.format("at"))
MOVE = _pattern(r"to\s+(?P<state>\S.*?)\s+until\s+" + _ANGLE.format("at") + r"\s*,\s*(?P<law>\S.*)")


class Read(NamedTuple):
    """A value of the file (None where nothing was typed), and what is wrong with what was typed."""

    value: object
    trouble: str = ""


class Kind(NamedTuple):
    """How one kind of entry is typed and shown; ``lines`` where it takes one line for each of its entries."""

    read: Callable[[str, str], Read]
    write: Callable[[object], str]
    lines: bool = False

    def show(self, value, unit: str = "") -> str:
        """Return the text for a value; where no text would give just that value, the value as in the file.

        ``unit``: that of the box, for a number.
        """
        if value is None:
            return ""
        try:
            text = self.write(value)
            if self.read(text, unit).value == value:
                return text
        except (TypeError, ValueError, LookupError, AttributeError, ArithmeticError):
            pass
        try:
            return inline(value)
        except MechError:
            return str(value)


def number(text: str) -> int | float:
    """Return the number in a text that ``_NUMBER`` fits: whole ones as int, a decimal comma is fine.

    >>> number("12,5"), number("-3")
    (12.5, -3)
    """
    text = with_plain_minus(text.replace(",", "."))
    return float(text) if "." in text else int(text)


def figures(value) -> str:
    """Return a number as it is typed; TypeError for anything else.

    >>> figures(6.0), figures(-1.25)
    ('6', '−1.25')
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(value)
    return repr(int(value) if value == int(value) else value).replace("-", MINUS, 1)


def read_text(typed: str, unit: str = "") -> Read:
    """Read words."""
    return Read(" ".join(typed.split()) or None)


def read_number(typed: str, unit: str = "") -> Read:
    """Read a number in figures, the unit of its box behind it or not.

    ``unit``: of the box, "" for one without (where "24 teeth" is read, too); several with ", " between.

    >>> read_number("−4,5 mm", "mm")
    Read(value=-4.5, trouble='')
    >>> read_number("1.2 cm", "mm").trouble
    '“1.2 cm” is in another unit: here it is mm'
    >>> read_number("four").trouble
    '“four” is no number: write it in figures, such as 12 or 12.5'
    """
    text = _plain(typed)
    if not text:
        return Read(None)
    found = re.fullmatch(rf"({_NUMBER})\s*([^\d\s+\-.,=](?:[^\d+\-.,=]*[^\d\s+\-.,=])?)?", text)
    if not found:
        return Read(text, f"“{_cut(text)}” is no number: write it in figures, such as 12 or 12.5")
    asked = unit.split(", ")
    right = {alike(name) for one in asked for name in (one, *SPELT.get(one, ()))}
    if found[2] and alike(found[2]) not in right:
        here = f"here it is {' or '.join(asked)}" if unit else "write the number alone"
        return Read(text, f"“{_cut(text)}” is in another unit: {here}")
    return Read(number(found[1]))


def read_angle(typed: str, unit: str) -> Read:
    """Read an angle with its unit; without one it is in ``unit``.

    >>> read_angle("14", "teeth").value, read_angle("3,5 turns of crank", "deg").value
    ({'teeth': 14}, {'turns': 3.5, 'of': 'crank'})
    """
    text = _plain(typed)
    if not text:
        return Read(None)
    found = ANGLE.fullmatch(text)
    angle = _angle(found, "at", unit) if found else None
    return Read(angle) if angle else Read(text, f"“{_cut(text)}” is no angle: write {AN_ANGLE}")


def show_angle(angle) -> str:
    """Return an angle of the file as it is typed.

    >>> show_angle({"deg": 84.5}), show_angle({"turns": 2, "of": "crank"})
    ('84.5°', '2 turns of crank')
    """
    (unit,) = (key for key in angle if key != "of")
    amount = figures(angle[unit])
    of = f" of {angle['of']}" if "of" in angle else ""
    words = ONE[unit] if amount == "1" else WORDS[unit]
    return amount + ("" if unit == "deg" else " ") + words + of


def read_names(typed: str, unit: str = "") -> Read:
    """Read names with commas between them; a name with a comma in it stands in double quotes.

    >>> read_names('EJECT, "STOP, wound", PLAY').value
    ['EJECT', 'STOP, wound', 'PLAY']
    """
    cells = next(csv.reader([_plain(typed)], skipinitialspace=True), [])
    return Read([" ".join(cell.split()) for cell in cells if cell.strip()] or None)


def show_names(names) -> str:
    """Return names as they are typed."""
    return ", ".join(f'"{name}"' if "," in name else name for name in names)


def _read_states(typed: str, unit: str = "") -> Read:
    """Lifts that have a name, one a line, such as "pressed 6.5 mm"; a line that isn't one has no lift.

    Nor has one whose name stood before: no state has two lifts.
    """
    states, wrong, twice = {}, [], []
    for line in _lines(typed):
        found = STATE.fullmatch(line)
        again = found and found["name"] in states
        states[found["name"] if found and not again else line] = (
            number(found["mm"]) if found and not again else ""
        )
        wrong += [] if found else [line]
        twice += [found["name"]] if again else []
    troubles = [_wrong(wrong, "a name and its lift, such as “pressed 6.5 mm”")]
    troubles += [f"“{_cut(name)}” stands there twice: give it one lift" for name in twice[:1]]
    return Read(states or None, "; ".join(filter(None, troubles)))


def _show_states(states) -> str:
    return "\n".join(name if mm == "" else f"{name} {figures(mm)} mm" for name, mm in states.items())


def _listed(what: str, entry: Callable[[str, str], object]) -> Callable[[str, str], Read]:
    """The reader of a list with an entry a line; a line that can't be read stands in the list as it is."""

    def read(typed: str, unit: str) -> Read:
        lines = _lines(typed)
        found = [entry(line, unit) for line in lines]
        wrong = [line for line, one in zip(lines, found, strict=True) if one is None]
        value = [line if one is None else one for line, one in zip(lines, found, strict=True)]
        return Read(value or None, _wrong(wrong, what))

    return read


def _shown(entry: Callable[[object], str]) -> Callable[[object], str]:
    return lambda values: "\n".join(one if isinstance(one, str) else entry(one) for one in values)


def _reading(line: str, unit: str):
    found = READING.fullmatch(line)
    angle = _angle(found, "at", unit) if found else None
    return [angle, number(found["mm"])] if angle else None


def _show_reading(reading) -> str:
    angle, mm = reading
    return f"{show_angle(angle)}: {figures(mm)} mm"


def _arc(line: str, unit: str):
    found = ARC.fullmatch(line)
    if not found:
        return None
    written = found["to_unit"] or found["at_unit"]  # "10 to 25 teeth", "10 teeth to 25"
    ends = [_angle(found, end, _UNIT[written.casefold()] if written else unit) for end in ("at", "to")]
    if None in ends:
        return None
    of = found["to_of"] or found["at_of"]
    for name, end in zip(("at", "to"), ends, strict=True):
        if of and not found[f"{name}_unit"]:
            end["of"] = of
    return ends


def _show_arc(arc) -> str:
    start, end = arc
    if len(start) == 1 and set(start) == set(end):
        (amount,) = start.values()
        return f"{figures(amount)} to {show_angle(end)}"
    return f"{show_angle(start)} to {show_angle(end)}"


def _step(line: str, unit: str):
    """One dwell or one move of a track: "off until 40°", "to pressed until 57.4°, modified sine"."""
    moving = MOVE.fullmatch(line)
    found = moving or HOLD.fullmatch(line)
    angle = _angle(found, "at", unit) if found else None
    if angle is None or (moving and moving["law"] not in LAWS):
        return None
    lift = MM.fullmatch(found["state"])
    state = {"mm": number(lift["mm"])} if lift else found["state"]
    return (
        {"move_to": state, "until": angle, "law": moving["law"]}
        if moving
        else {"hold": state, "until": angle}
    )


def _show_step(step) -> str:
    key = "move_to" if "move_to" in step else "hold"
    state = f"{figures(step[key]['mm'])} mm" if isinstance(step[key], dict) else step[key]
    if key == "hold":
        return f"{state} until {show_angle(step['until'])}"
    return f"to {state} until {show_angle(step['until'])}, {step['law']}"


def _angle(found: re.Match, name: str, unit: str) -> dict | None:
    """The angle of a match, in ``unit`` if none was typed; None where none is known."""
    typed = found[f"{name}_unit"]
    unit = _UNIT[typed.casefold()] if typed else unit
    if unit not in UNITS:
        return None
    of = found[f"{name}_of"]
    return {unit: number(found[name])} | ({"of": of} if of else {})


def _plain(typed: str) -> str:
    return " ".join(typed.split())


def _lines(typed: str) -> list[str]:
    """The lines that were typed; a semicolon ends a line, too."""
    return [line for line in map(_plain, typed.replace(";", "\n").splitlines()) if line]


def _cut(text: str) -> str:
    return text if len(text) <= 24 else f"{text[:23]}…"


def _wrong(lines: list[str], what: str) -> str:
    if not lines:
        return ""
    return (
        f"“{_cut(lines[0])}” can't be read"
        + (f", nor can {len(lines) - 1} more" * (len(lines) > 1))
        + f": write {what}"
    )


KINDS = {
    "text": Kind(read_text, str),
    "number": Kind(read_number, lambda value: value if isinstance(value, str) else figures(value)),
    "angle": Kind(read_angle, lambda value: value if isinstance(value, str) else show_angle(value)),
    "names": Kind(read_names, show_names),
    "states": Kind(_read_states, _show_states, lines=True),
    "readings": Kind(
        _listed("where and the lift, such as “14 teeth: 6.5 mm”", _reading), _shown(_show_reading), lines=True
    ),
    "arcs": Kind(
        _listed("from where to where, such as “10 to 25 teeth”", _arc), _shown(_show_arc), lines=True
    ),
    "track": Kind(
        _listed(
            "“off until 40°”, or “to pressed until 57°, cycloidal” with one of the laws " + listing(LAWS),
            _step,
        ),
        _shown(_show_step),
        lines=True,
    ),
}
