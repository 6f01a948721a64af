"""A form's values in words: where followers must stand, what a page holds, and the file with its comments."""

from __future__ import annotations

from collections.abc import Mapping
from textwrap import wrap

from mechlib.bench.own_asked import Field, Section
from mechlib.bench.own_form import SECTIONS
from mechlib.bench.own_mechanism import MACHINE
from mechlib.bench.own_toml import toml_text
from mechlib.bench.own_typed import KINDS
from mechlib.bench.own_values import Names, rows
from mechlib.transports.model import BETWEEN

ABOUT_THE_FILE = (
    "A transport, as a form has written it. Angles are {teeth = 14} of the main gear, {deg = 84} of the "
    "main cam or {turns = 3.5} of a hand shaft, counted from 0, where every mark lines up; loading counts up."
)


def places(states: tuple[str, ...]) -> dict[str, object]:
    """What can be asked of a follower with these named lifts, in words, and as it stands in the file.

    >>> list(places(("off", "ready", "pressed")))
    ['off', 'ready', 'pressed', 'not off', 'not ready', 'not pressed', 'between']
    """
    others = {f"not {name}": [*(n for n in states if n != name), BETWEEN] for name in states}
    return {name: name for name in states} | others | {BETWEEN: BETWEEN}


def place_words(value, states: tuple[str, ...]) -> str:
    """Return in words what is asked of a follower: one of ``places``, or what else stands in the file.

    >>> place_words(["between", "pressed", "ready"], ("off", "ready", "pressed"))
    'not off'
    >>> place_words({"from_mm": 2, "to_mm": 3.5}, ("off",)), place_words(["off"], ("off", "on"))
    ('2 to 3.5 mm', 'off')
    """
    if isinstance(value, Mapping):
        low, high = value.get("from_mm"), value.get("to_mm")
        return f"{low} to {high} mm"
    asked = value if isinstance(value, list) else [value]
    for words, known in places(states).items():
        if sorted(map(str, asked)) == sorted(known if isinstance(known, list) else [known]):
            return words
    return " or ".join(map(str, asked))


def in_words(value, field: Field, names: Names) -> str:
    """Return what a field holds in one line, "" where it is empty."""
    if value is None or value == "":
        return ""
    if field.kind in ("needs", "need") and isinstance(value, Mapping):
        states = dict(names.followers)
        return ", ".join(
            f"{name} {place_words(asked, states.get(name, ()))}" for name, asked in value.items()
        )
    if field.kind == "tick":
        return "yes" if value is True else "no"
    if field.kind == "codes":
        return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
    if field.kind not in KINDS:
        return str(value)
    return KINDS[field.kind].show(value, field.unit).replace("\n", "; ")


def file_text(values: Mapping) -> str:
    """Return the text of the file: tables and keys in the order of the form, with its words as comments.

    What the form doesn't ask for is kept, each in its own table behind what the form asks for.

    >>> print(file_text({"mode": [], "name": "Elm"}).splitlines()[-2])
    name = "Elm"
    """
    return toml_text(_ordered(values), comment)


def _ordered(values: Mapping) -> dict:
    found = {table: None for table in SECTIONS if table in values} | dict(values)
    for table, section in SECTIONS.items():
        if section.one and rows(values, table) == values.get(table):
            found[table] = [_in_order(row, section) for row in values[table]]
        elif isinstance(values.get(table), Mapping):
            found[table] = _in_order(values[table], section)
    return _in_order(found, MACHINE)


def _in_order(table: Mapping, section: Section) -> dict:
    keys = dict.fromkeys(field.path[0] for field in section.fields)
    return {key: table[key] for key in keys if key in table} | dict(table)


def comment(table: str, key: str | None) -> str:
    """The words that the form writes into a file: behind a key its label, above a table what it is.

    >>> comment("part", "play_teeth"), comment("hand_shaft", None)[:30]
    ('play (of a tooth)', 'Shafts to turn by hand. A shaf')
    """
    section = SECTIONS.get(table)
    if section is None:
        return ""
    if key is None:
        text = f"{section.title}. {section.words}" if table else ABOUT_THE_FILE
        return "\n".join(wrap(text, 98))
    return next((field.label for field in section.fields if field.key == key and field.label != key), "")
