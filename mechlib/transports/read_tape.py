"""The tape of a transport file: how much of it a lever draws out, and which reel winds slack in."""

from __future__ import annotations

from mechlib.transports.model import Follower, Tape
from mechlib.transports.read_table import Table, suggestion
from mechlib.transports.read_tracks import read_needs

MOST_MM_PER_MM = 20.0


def read_tape(top: Table, followers: dict[str, Follower | None]) -> Tape | None:
    """The [tape] table, all of it optional; mistakes are kept in the reader."""
    table = top.table("tape", "a [tape] table", optional=True)
    if table is None:
        return None
    drawn = table.table("mm_per_mm", 'tape for each mm of lift, such as {"loading arms" = 2.1}')
    found = []
    for name in drawn.value if drawn else ():
        if name not in followers:
            drawn.problem(name, f"there is no follower {name[:60]!r}", suggestion(name, list(followers)))
            drawn.known.add(name)
            continue
        length = drawn.number(name, 0, MOST_MM_PER_MM, "mm of tape drawn out for each mm of its lift")
        found += [(name, length)] if length is not None else []
    reel = table.text("wind_in", "the reel that takes slack up, in quotes")
    sense = table.text("sense", "which way that reel turns then, and seen from where, in quotes")
    free = read_needs(table, "free", followers, optional=True)
    table.done()
    return Tape(tuple(found), reel, sense, free) if reel and sense else None
