"""The nested values of a form: the names in them, and the place of each field."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mechlib.bench.own_asked import Field
from mechlib.bench.own_typed import KINDS
from mechlib.transports.bench_entries import CHECKS, CONTACT, FAULTS, FOLLOWER, GEAR, MODE, PART, SEEN
from mechlib.transports.model import MAIN_CAM, MAIN_GEAR, SENSE


@dataclass(frozen=True)
class Names:
    """The names that a form's values hold so far, for lists to choose from."""

    modes: tuple[str, ...]
    parts: tuple[str, ...]
    holders: tuple[str, ...]
    parents: tuple[str, ...]
    contacts: tuple[str, ...]
    followers: tuple[tuple[str, tuple[str, ...]], ...]

    def choices(self, field: Field) -> tuple[str, ...]:
        """The words to choose from in a field."""
        return getattr(self, field.options) if isinstance(field.options, str) else field.options


def names_in(values: Mapping) -> Names:
    """The names in a form's values, whatever else may be wrong with them.

    >>> names_in({"part": [{"name": "pinch cam"}, {}]}).parents
    ('main gear', 'pinch cam')
    """
    parts, outputs = _named(values, "part"), _named(values, "output")
    followers = []
    for row in rows(values, "follower"):
        states = row.get("states")
        if isinstance(name := row.get("name"), str):
            followers.append((name, tuple(states) if isinstance(states, dict) else ()))
    return Names(
        modes=_named(values, "mode"),
        parts=parts,
        holders=(MAIN_CAM, *outputs, *parts),
        parents=(MAIN_GEAR, *outputs, *parts),
        contacts=_named(values, "contact"),
        followers=tuple(dict(followers).items()),
    )


def rows(values: Mapping, table: str) -> list[dict]:
    """The tables of a list of tables, as far as they are tables."""
    found = values.get(table)
    return [row for row in found if isinstance(row, dict)] if isinstance(found, list) else []


def _named(values: Mapping, table: str) -> tuple[str, ...]:
    found = (row.get("name") for row in rows(values, table))
    return tuple(dict.fromkeys(name for name in found if isinstance(name, str)))


def value_at(table: Mapping, field: Field):
    """The value of a field in its table; None where there is none."""
    value = table
    for key in field.path:
        value = value.get(key) if isinstance(value, Mapping) else None
    return value


def put_at(table: dict, field: Field, value) -> None:
    """Put the value of a field into its table; None takes it out, and what is empty then around it."""
    *around, last = field.path
    inner = [table]
    for key in around:
        if not isinstance(inner[-1].get(key), dict):
            if value is None:
                return
            inner[-1][key] = {}
        inner.append(inner[-1][key])
    if value is not None:
        inner[-1][last] = value
        return
    inner[-1].pop(last, None)
    for key, outer, held in zip(reversed(around), reversed(inner[:-1]), reversed(inner[1:]), strict=True):
        if not held:
            del outer[key]


# Where the names of a list of tables are used: the keys that lead there, lists passed over on the way.
USES = {
    "part": [
        ("part", "meshes_with"),
        ("follower", "part"),
        ("contact", "part"),
        ("mode_switch", "part"),
    ],
    "contact": [
        ("mode", "code"),
        ("stage", "end_contact"),
        *(("stage", "hand_over", sense, "contact") for sense in SENSE),
    ],
    "mode": [
        ("reference_mode",),
        *(("controller", *keys) for keys in (("order",), ("home", "mode"), ("retry", "mode"))),
        *(("controller", "change", *keys) for keys in (("from",), ("to",), ("legs", "mode"))),
        ("controller", "watch", "modes"),
    ],
    "follower": [
        *((table, "needs") for table in ("mode", "stage")),
        *(("interlock", key) for key in ("while", "must")),
        ("controller", "watch", "needs"),
        *(("tape", key) for key in ("mm_per_mm", "free")),
    ],
    "cover": [
        *((table, "under") for table in ("drive", "part", "output", "check", "repair")),
        ("cover", "off_first"),
    ],
}

# What an entry for fault finding is of, for each of these lists of tables.
SORTS = {"part": (PART, GEAR, SEEN), "follower": (FOLLOWER, SEEN), "contact": (CONTACT,), "mode": (MODE,)}


def rename(values: dict, table: str, old: str, new: str) -> None:
    """Let all that names the ``old`` one of a list of tables name the ``new`` one.

    >>> machine = {"follower": [{"name": "arm"}], "mode": [{"needs": {"lever": "on"}}]}
    >>> rename(machine, "follower", "lever", "arm")
    >>> machine["mode"]
    [{'needs': {'arm': 'on'}}]
    """
    for keys in USES.get(table, ()):
        _renamed(values, keys, old, new)
    for row in (row for entries in ("how_often", "check", "repair") for row in rows(values, entries)):
        kind = row.get("fault", row.get("kind"))
        if row.get("of") == old and (FAULTS | CHECKS).get(str(kind)) in SORTS.get(table, ()):
            row["of"] = new
    if table == "hand_shaft":
        _turned_by(values, old, new)


def _turned_by(node, old: str, new: str) -> None:
    """Let every angle in turns of a hand shaft, wherever it stands, follow the shaft's name."""
    for inner in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        _turned_by(inner, old, new)
    if isinstance(node, dict) and set(node) == {"turns", "of"} and node["of"] == old:
        node["of"] = new


def _renamed(node, keys: tuple[str, ...], old: str, new: str):
    """The node with the name changed where the keys end: a text, texts in a list, or keys of a table."""
    if isinstance(node, list):
        node[:] = [_renamed(item, keys, old, new) for item in node]
    elif isinstance(node, dict) and keys:
        if keys[0] in node:
            node[keys[0]] = _renamed(node[keys[0]], keys[1:], old, new)
    elif isinstance(node, dict):
        return {new if key == old else key: value for key, value in node.items()}
    elif node == old and not keys:
        return new
    return node


def shown(table: Mapping, field: Field) -> str:
    """What stands in the box of a typed field."""
    return KINDS[field.kind].show(value_at(table, field), field.unit)
