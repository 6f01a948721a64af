"""What comes off, and in which order, before a gear can be reached."""

from __future__ import annotations

from collections.abc import Iterable
from graphlib import TopologicalSorter

from mechlib.errors import MechError
from mechlib.transports.hardware import Access, Cover
from mechlib.transports.model import MAIN_CAM, MAIN_GEAR, Transport


def access_of(transport: Transport, gear: str) -> Access:
    """How a timed part, the main gear or another output is reached and lifted out, as far as the file says.

    Raises MechError for a gear that the transport doesn't have.

    >>> from mechlib.transports import load
    >>> access_of(load("alder"), "pinch cam").secured_by
    'clip'
    """
    gears = {gear.name: gear for gear in (*transport.roots, *transport.parts)}
    gears[MAIN_GEAR] = gears[MAIN_CAM]
    if not isinstance(gear, str) or gear not in gears:
        raise MechError(f"no gear is called {gear!r}", "there are " + ", ".join(gears))
    return gears[gear].access


def removal_order(transport: Transport, names: Iterable[str]) -> tuple[Cover, ...]:
    """These covers and all that must be off before them, each once, in an order in which they come off.

    Raises MechError for a cover that the transport doesn't have.

    >>> from mechlib.transports import load
    >>> [cover.name for cover in removal_order(load("alder"), ["cassette carriage"])]
    ['top cover', 'cassette carriage']
    """
    covers = {cover.name: cover for cover in transport.covers}
    waiting, wanted = list(names), set()
    while waiting:
        name = waiting.pop()
        if name not in covers:
            raise MechError(
                f"no cover is called {name!r}", "there are " + (", ".join(covers) or "none in this transport")
            )
        if name not in wanted:
            wanted.add(name)
            waiting += covers[name].off_first
    order = TopologicalSorter({name: covers[name].off_first for name in covers if name in wanted})
    return tuple(covers[name] for name in order.static_order())


def covers_over(transport: Transport, *gears: str) -> tuple[Cover, ...]:
    """What comes off before these gears can be reached, each cover once, in order.

    ``gears``: names of timed parts, "main gear" or other outputs.  Raises MechError for any other name.

    >>> from mechlib.transports import load
    >>> [cover.name for cover in covers_over(load("alder"), "pinch cam", "loading gear")]
    ['bottom plate', 'gear bridge']
    >>> sum(cover.minutes for cover in covers_over(load("alder"), "pinch cam", "loading gear"))
    7.0
    """
    return removal_order(transport, [name for gear in gears for name in access_of(transport, gear).under])


def off_last(covers: Iterable[Cover]) -> tuple[Cover, ...]:
    """Those of these covers, given in order, that hold something or wait for one that does.

    They come off once nothing needs to be turned any more.

    >>> from mechlib.transports import load
    >>> [cover.name for cover in off_last(covers_over(load("alder"), "pinch cam"))]
    ['gear bridge']
    """
    last: list[Cover] = []
    for cover in covers:
        if cover.holds or {one.name for one in last} & set(cover.off_first):
            last.append(cover)
    return tuple(last)
