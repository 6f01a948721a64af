"""The covers of a transport file, and how each gear is reached and lifted out."""

from __future__ import annotations

from dataclasses import replace
from graphlib import CycleError, TopologicalSorter

from mechlib.transports.hardware import Access, Cover
from mechlib.transports.read_table import Table, named

SECURED_BY = ("clip", "screw", "snap", "press fit")
MOST_MINUTES = 600


def read_covers(top: Table) -> tuple[Cover, ...]:
    """Every [[cover]]; mistakes are kept in the reader."""
    covers: dict[str, Cover] = {}
    tables = top.tables("cover", "[[cover]] tables", optional=True)
    for table in tables:
        name = table.text("name", 'the name of a cover, such as name = "bottom plate"')
        minutes = table.number("minutes", 0, MOST_MINUTES, "minutes to take it off and put it back")
        holds = table.text("holds", 'what it holds, such as holds = "the ends of two shafts"', optional=True)
        if name in covers:
            table.problem("name", f"{name!r} is there already", "give every cover a name of its own")
        elif name:
            covers[name] = Cover(name, minutes or 0.0, holds=holds)
    for table in tables:  # only now that all names are known
        first = table.choices("off_first", list(covers), optional=True) or ()
        table.done()
        if isinstance(name := table.value.get("name"), str) and name in covers:
            covers[name] = replace(covers[name], off_first=first)
    _check_rings(top, covers)
    return tuple(covers.values())


def _check_rings(top: Table, covers: dict[str, Cover]) -> None:
    try:
        TopologicalSorter({name: cover.off_first for name, cover in covers.items()}).prepare()
    except CycleError as error:
        ring = list(dict.fromkeys(error.args[1]))
        place = f'[[cover]] "{ring[0]}", key off_first'
        waits = f"{named(ring)} wait for one another" if len(ring) > 1 else "it waits for itself"
        top.reader.problem(place, waits, "name only what must come off before it")


def read_access(table: Table, covers: tuple[Cover, ...]) -> Access:
    """How the gear of this table is reached and lifted: all optional, nothing is guessed."""
    minutes = "minutes to lift it out and put it back"
    return Access(
        table.choices("under", [cover.name for cover in covers], optional=True) or (),
        table.number("lift_minutes", 0, MOST_MINUTES, minutes, optional=True),
        table.choice("secured_by", SECURED_BY, optional=True),
        table.text("caution", optional=True),
        table.text("put_back", optional=True),
    )
