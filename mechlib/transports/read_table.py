"""Reading a table of a TOML file key by key, keeping every problem instead of stopping at the first."""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from dataclasses import dataclass, field
from errno import EINVAL
from pathlib import Path

from mechlib.errors import MechError
from mechlib.say import listing

MOST_BYTES = 1_000_000
MOST_ITEMS = 200  # in any one list
MOST_NAMED = 40  # names told in a message
MOST_DEG = 3600.0
TOP = "top level"
_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


def parse(path: Path) -> dict:
    """The TOML file as nested dicts; MechError with line and column for anything that is not TOML."""
    try:
        if path.exists() and not path.is_file():  # a pipe would keep us waiting for ever
            raise OSError(EINVAL, "it is a folder or a device, no file")
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise MechError(f"{path.name} cannot be read", reason) from None
    if len(raw) > MOST_BYTES:
        raise MechError(f"{path.name} is larger than a million bytes", "a transport file has a few thousand")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line, column = raw.count(b"\n", 0, error.start) + 1, error.start - raw.rfind(b"\n", 0, error.start)
        raise MechError(
            f"{path.name}, line {line}, column {column}",
            "this byte is not UTF-8 text",
            "save the file as UTF-8",
        ) from None
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        message = str(error)
        if found := _PLACE.search(message):
            line, column = found.groups()
            if line is None:
                lines = text.split("\n")
                line, column = len(lines), len(lines[-1]) + 1
            raise MechError(
                f"{path.name}, line {line}, column {column}",
                f"{message[: found.start()]}: check quotes, brackets and the = sign there",
            ) from None
        raise MechError(path.name, f"not a TOML file ({message})") from None


@dataclass
class Reader:
    """The problems found so far in one file, and what is needed to turn an angle into degrees."""

    file: str
    problems: list[str] = field(default_factory=list)
    main_teeth: int | None = None
    stops_right: bool = True  # False if the end stops had to be left aside
    shafts: dict[str, float] = field(default_factory=dict)

    def problem(self, place: str, what: str, right: str) -> None:
        self.problems.append(f"{self.file}, {place}: {what}; {right}")

    def refuse(self, after: str = "") -> None:
        """Raise MechError with every problem found, if any; ``after`` is a last line that is none."""
        if self.problems:
            found = tuple(dict.fromkeys(self.problems))
            head = f"{self.file} has {len(found)} mistake{'s' * (len(found) > 1)}"
            raise MechError("\n  ".join([head + ":", *found, *([after] if after else [])]), problems=found)


class Table:
    """One table of the file; ``place`` says which in messages.  Each getter returns None on a problem."""

    def __init__(self, reader: Reader, place: str, value):
        self.reader, self.place = reader, place
        self.known: set[str] = set()
        self.value = value if isinstance(value, dict) else {}
        if not isinstance(value, dict):
            reader.problem(place, f"it is {_kind(value)}", "write it as a table of key = value lines")

    def problem(self, key: str, what: str, right: str) -> None:
        self.reader.problem(f"{self.place}, key {key}", what, right)

    def has(self, key: str) -> bool:
        self.known.add(key)
        return key in self.value

    def get(self, key: str, kinds: type | tuple, what: str, optional=False):
        """The raw value of a key if it has the right kind; ``what`` says what would be right."""
        self.known.add(key)
        if key not in self.value:
            if not optional:
                self.problem(key, "it is missing", f"write {what}")
            return None
        value = self.value[key]
        if not isinstance(value, kinds) or (isinstance(value, bool) and kinds is not bool):
            self.problem(key, f"it is {_kind(value)}", f"write {what}")
            return None
        return value

    def text(self, key: str, what: str = "a few words in quotes", optional=False) -> str | None:
        value = self.get(key, str, what, optional)
        if value is not None and (not value.strip() or len(value) > 400 or value != value.strip()):
            self.problem(key, "it is empty, padded with blanks or over 400 characters long", f"write {what}")
            return None
        return value

    def number(self, key: str, low: float, high: float, unit: str, optional=False) -> float | None:
        value = self.get(key, (int, float), f"a number from {low:g} to {high:g} {unit}".strip(), optional)
        if value is not None and not (-1e300 < value < 1e300 and low <= value <= high):
            self.problem(key, f"it is {_short(value)}", f"it must be from {low:g} to {high:g} {unit}".strip())
            return None
        return None if value is None else float(value)

    def count(self, key: str, low: int, high: int, what: str, optional=False) -> int | None:
        value = self.get(key, int, f"{what}, a whole number from {low} to {high}", optional)
        if value is not None and not low <= value <= high:
            self.problem(key, f"it is {_short(value)}", f"{what} is a whole number from {low} to {high}")
            return None
        return value

    def choice(self, key: str, options, optional=False) -> str | None:
        value = self.get(key, str, "one of " + named(options), optional)
        if value is None or value in options:
            return value
        self.problem(key, f"there is no {_short(value)}", suggestion(value, options))
        return None

    def choices(self, key: str, options, optional=False) -> tuple[str, ...] | None:
        """A list of different names out of ``options``."""
        value = self.items(key, "a list of names out of " + named(options), optional)
        if value is None:
            return None
        good = []
        for name in value:
            if not isinstance(name, str) or name not in options:
                self.problem(key, f"there is no {_short(name)}", suggestion(name, options))
            elif name in good:
                self.problem(key, f"{name!r} stands twice", "name it once")
            else:
                good.append(name)
        return tuple(good) if len(good) == len(value) else None

    def flag(self, key: str) -> bool:
        """true or false; false where the key is left out."""
        return bool(self.get(key, bool, "true or false", optional=True))

    def items(self, key: str, what: str, optional=False) -> list | None:
        value = self.get(key, list, what, optional)
        if value is not None and len(value) > MOST_ITEMS:
            self.problem(key, f"it has {len(value)} entries", f"at most {MOST_ITEMS} are read")
            return None
        return value

    def table(self, key: str, what: str, optional=False) -> Table | None:
        value = self.get(key, dict, what, optional)
        place = f"[{key}]" if self.place == TOP else f"{self.place}, key {key}"
        return None if value is None else Table(self.reader, place, value)

    def tables(self, key: str, what: str, optional=False) -> list[Table]:
        """A list of tables; each is named in messages by its own name, or by its number."""
        tables = []
        for number, value in enumerate(self.items(key, what, optional) or [], 1):
            name = value.get("name") if isinstance(value, dict) else None
            label = f'"{name[:60]}"' if isinstance(name, str) and name else f"number {number}"
            inside = "" if self.place == TOP else f"{self.place}, "
            tables.append(Table(self.reader, f"{inside}[[{key}]] {label}", value))
        return tables

    def angle(self, key: str, optional=False, teeth_of: int | None = None) -> float | None:
        """An angle as degrees of the main cam."""
        self.known.add(key)
        if key not in self.value:
            if not optional:
                self.problem(key, "it is missing", ANGLE)
            return None
        return self.as_angle(key, self.value[key])

    def as_angle(self, key: str, value) -> float | None:
        """A value such as {deg = 84}, {teeth = 14} or {turns = 3.5} as degrees of the main cam."""
        units = [unit for unit in ("deg", "teeth", "turns") if isinstance(value, dict) and unit in value]
        if len(units) != 1 or set(value) - {units[0], "of"} or ("of" in value and units[0] != "turns"):
            self.problem(key, f"{_short(value)} is no angle", ANGLE)
            return None
        amount = value[units[0]]
        if isinstance(amount, bool) or not isinstance(amount, (int, float)) or not -1e9 < amount < 1e9:
            self.problem(key, f"{_short(amount)} is no number of {units[0]}", ANGLE)
            return None
        scale = self._scale(key, units[0], value.get("of"))
        if scale is None:
            return None
        if abs(amount * scale) > MOST_DEG:
            self.problem(
                key,
                f"it comes to {amount * scale:g} degrees of the main cam",
                f"it must be within {MOST_DEG:g} degrees either way",
            )
            return None
        return amount * scale

    def _scale(self, key: str, unit: str, shaft) -> float | None:
        if unit == "deg":
            return 1.0
        if unit == "teeth":
            return 360.0 / self.reader.main_teeth if self.reader.main_teeth else None
        shafts = self.reader.shafts
        if not isinstance(shaft, (str, type(None))) or (shaft or next(iter(shafts), None)) not in shafts:
            self.problem(
                key,
                f"no hand shaft is called {_short(shaft)}" if shaft else "the file names no hand shaft",
                "name one under [[hand_shaft]]" + (": " + named(shafts) if shafts else ""),
            )
            return None
        if shaft is None and len(shafts) > 1:
            self.problem(key, "the file names several hand shafts", OF_WHICH)
            return None
        return 360.0 / shafts[shaft or next(iter(shafts))]

    def done(self) -> None:
        """Report every key that was never asked for."""
        for key in self.value:
            if key not in self.known:
                self.problem(str(key)[:60], "this key is not known here", suggestion(key, sorted(self.known)))


ANGLE = (
    "write an angle as {deg = 84} of the main cam, {teeth = 14} of the main gear "
    "or {turns = 3.5} of a hand shaft"
)
OF_WHICH = 'say of which: {turns = 3.5, of = "…"}'


def named(options) -> str:
    """Names in a row, as they are told in a message: none very long, and not very many."""
    names = [str(name) for name in options]
    more = [f"{len(names) - MOST_NAMED} more"] if len(names) > MOST_NAMED else []
    return listing([*(name if len(name) <= 60 else f"{name[:57]}…" for name in names[:MOST_NAMED]), *more])


def unique_name(table: Table, taken, what: str) -> str | None:
    """The name of a table's thing, which no other thing of its kind may have."""
    name = table.text("name", f'the name of {what}, such as name = "pinch cam"')
    if name is not None and name in taken:
        table.problem(
            "name", f"{name!r} is there already", f"give every {what.split()[-1]} a name of its own"
        )
        return None
    return name


def suggestion(word, options) -> str:
    """Words that point to the nearest of the names that would be right."""
    close = difflib.get_close_matches(str(word)[:80], list(options), 1)
    hint = f"did you mean {close[0]!r}? " if close else ""
    return f"{hint}there is {named(options)}" if options else "there is none to choose from"


def _kind(value) -> str:
    if isinstance(value, str):
        return f"the text {_short(value)}"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return (
            f"the number {_short(value)}"
            if not isinstance(value, float) or math.isfinite(value)
            else str(value)
        )
    return (
        "a list" if isinstance(value, list) else "a table" if isinstance(value, dict) else f"the date {value}"
    )


def _short(value) -> str:
    """A value as it would be shown in a message, never long."""
    if isinstance(value, int) and abs(value) > 10**15:
        return "a huge number"
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "…"
