"""Timing and mode changes as text tables, to be printed, copied and compared."""

from __future__ import annotations

from mechlib.say import columns, count, listing, say
from mechlib.transports.change_table import change_table, slip_table
from mechlib.transports.faults import slip
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.model import MAIN_CAM, MAIN_GEAR, SENSE, Transport
from mechlib.transports.outcomes import (
    ELSEWHERE,
    END_STOP,
    FALSE_CODE,
    JAMMED,
    NEVER_SEEN,
    NO_START,
    ON_RETRY,
    OUTCOMES,
    RIGHT,
    SILENT_SENSOR,
    TOO_SLOW,
    WRONG,
)
from mechlib.transports.timing import margins, slips_survived

SIGNS = {
    RIGHT: ".",
    ON_RETRY: "r",
    WRONG: "w",
    SILENT_SENSOR: "p",
    FALSE_CODE: "f",
    JAMMED: "j",
    END_STOP: "e",
    ELSEWHERE: "d",
    NEVER_SEEN: "n",
    TOO_SLOW: "s",
    NO_START: "-",
}
HERE = "="
NO_LIMIT = "no limit"


def margin_table(transport: Transport) -> str:
    """Every mode's margin after an arrival in each sense, with the ruling follower or end stop and its side.

    Degrees of theta, teeth of the main gear and turns of the first hand shaft.

    >>> from mechlib.transports import load
    >>> print(margin_table(load("alder")).splitlines()[1])
    EJECT   unloading  end stop      below     2.2°   0.49        0.59
    """
    rows = []
    for margin in margins(transport):
        for sense in SENSE:
            found = margin.in_sense(sense)
            if found:
                deg, ruled_by, side = found
                rows.append((margin.mode, sense, ruled_by, side, *_amounts(transport, deg)))
    return columns(("mode", "reached", "ruled by", "side", "degrees", "teeth", "hand turns"), rows, left=4)


def interlock_table(transport: Transport) -> str:
    """Every interlock's margin: which follower's part must be out, which way and how far, for a collision.

    Of the two parts the one that needs less; the first one where it is all one which of them is out.  "no
    limit" where no shift of the one against the other that way makes the two collide between the stops.

    >>> from mechlib.transports import load
    >>> print(interlock_table(load("alder")).splitlines()[2])
    arms and cassette       carriage ahead        no limit  no limit    no limit
    """
    rows = []
    for margin in interlock_margins(transport):
        for by, way, deg in margin.ways:
            amounts = (NO_LIMIT,) * 3 if deg is None else _amounts(transport, deg)
            rows.append((margin.name, f"{by} {way}", *amounts))
    return columns(("interlock", "collides with", "degrees", "teeth", "hand turns"), rows, left=2)


def part_table(transport: Transport) -> str:
    """Every timed part: what it hangs on, the teeth there, ρ, what one tooth costs, and what it moves.

    >>> from mechlib.transports import load
    >>> print(part_table(load("alder")).splitlines()[1])
    mode switch    contacts A B C D     main gear               80       1.00       4.5°
    """
    rows = []
    for part in transport.parts:
        contacts = [c.name for c in transport.contacts if c.part == part.name]
        moved = [f.name for f in transport.followers if f.part == part.name]
        moved += [f"contact{'s' * (len(contacts) > 1)} {' '.join(contacts)}"] if contacts else []
        parent = MAIN_GEAR if part.parent == MAIN_CAM else part.parent
        numbers = (str(part.parent_teeth), say(abs(part.parent_speed), "", 2), say(part.pitch_deg, "°"))
        rows.append((part.name, ", ".join(moved) or "-", parent, *numbers))
    table = columns(("part", "moves", "hangs on", "teeth there", "|ρ| there", "one tooth"), rows, left=3)
    fixed = [f.name for f in transport.followers if f.part == MAIN_CAM]
    return table + (f"\nCut in the main cam itself: {listing(fixed)}" if fixed else "")


def _amounts(transport: Transport, deg: float) -> tuple[str, str, str]:
    return say(deg, "°"), say(transport.teeth_of(deg), "", 2), say(transport.turns_of(deg), "", 2)


def survival_table(transport: Transport) -> str:
    """For each mesh and mode the whole teeth survived, behind and ahead; "any" where there is no limit.

    >>> from mechlib.transports import load
    >>> print(survival_table(load("alder")).splitlines()[1])
    mode switch         any/2    2/2     0/0    1/1     0/1    1/1    1/0    5/2
    """

    def cell(mode: str, mesh: str) -> str:
        found = slips_survived(transport, mode, mesh)
        words = ["any" if n is None else str(n) for n in (found.behind, found.ahead)]
        return words[0] if words[0] == words[1] == "any" else "/".join(words)

    rows = [(mesh, *(cell(mode, mesh) for mode in transport.mode_names)) for mesh in transport.mesh_names]
    return columns(("teeth behind/ahead", *transport.mode_names), rows)


def change_signs(transport: Transport) -> str:
    """The change table as one line of signs: a group for each start, in it a sign for each target.

    >>> from mechlib.transports import load
    >>> change_signs(load("alder"))[:17]
    '=....... .=......'
    """
    table, names = change_table(transport), transport.mode_names
    return " ".join("".join(_sign(table.get((start, target))) for target in names) for start in names)


def _sign(cell) -> str:
    if cell is None:
        return HERE
    return _spellings(SIGNS[cell.change.outcome])[cell.differs]


def _spellings(sign: str) -> tuple[str, str]:
    """A sign, and as it is written where the other way of arriving ends otherwise."""
    return sign, {".": ":", "-": "~"}.get(sign, sign.upper())


def slip_grid(transport: Transport, teeth: tuple[int, ...] = (-1, 1)) -> str:
    """Every single slip and every change between two modes, a line a slip, and a key below.

    Each group of signs is one start, in the order of modes; in it each sign is one target in that order.

    >>> from mechlib.transports import load
    >>> print(slip_grid(load("alder")).splitlines()[2][:36])
    mode switch −1     =.......  .=.....
    """
    lines = [("slip", *(name[: len(transport.mode_names)] for name in transport.mode_names))]
    lines.append(("none", *change_signs(transport).split(" ")))
    for mesh in transport.mesh_names:
        for n in teeth:
            slipped = transport.with_faults(slip(mesh, n))
            lines.append((f"{mesh} {say(n, '', 0, sign=True)}", *change_signs(slipped).split(" ")))
    used = {sign for line in lines[1:] for group in line[1:] for sign in group}
    key = [f"{HERE} no change"] + [
        f"{SIGNS[outcome]} {outcome}" for outcome in OUTCOMES if used & set(_spellings(SIGNS[outcome]))
    ]
    if any(_spellings(sign)[1] in used for sign in SIGNS.values()):
        key.append("a capital or : where the other way of arriving at the start ends otherwise")
    order = "from each of these modes to " + ", ".join(transport.mode_names)
    grid = columns(lines[0], lines[1:], left=len(lines[0]))
    return "\n".join([grid, "", f"Signs: {order}", "; ".join(key)])


def silent_slips(transport: Transport, teeth: tuple[int, ...] = (-1, 1)) -> str:
    """The slips that no mode change shows, with the margin that they take, one a line.

    >>> from mechlib.transports import load
    >>> print(silent_slips(load("alder")).splitlines()[0])
    The worm wheel is 1 tooth behind its mark: silent, every change works and no margin changes.
    """
    rows = slip_table(transport, teeth)
    silent = [row.sentence() for row in rows if row.silent]
    return "\n".join(silent) if silent else f"None of the {count(len(rows), 'slip')} is silent."
