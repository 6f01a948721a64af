"""Transport files: ``load`` reads one, tells every mistake at once, and gives a sound ``Transport``.

The words of the file are explained in DEVELOPERS.md and in the commented file ``data/alder.toml``.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from mechlib.errors import MechError
from mechlib.say import listing
from mechlib.transports.arcs import TINY, merge
from mechlib.transports.checks import contradictions
from mechlib.transports.model import LOADING, SENSE, Contact, Interlock, Mode, Stage, Transport
from mechlib.transports.read_bench import TABLES, read_bench
from mechlib.transports.read_controller import read_controller
from mechlib.transports.read_covers import read_covers
from mechlib.transports.read_gearing import (
    hand_shafts,
    read_drive,
    read_outputs,
    read_parts,
)
from mechlib.transports.read_stages import read_hand_overs, read_sets, read_stages
from mechlib.transports.read_table import TOP, Reader, Table, parse, unique_name
from mechlib.transports.read_tape import read_tape
from mechlib.transports.read_tracks import carriers, read_followers, read_needs

DATA = Path(__file__).parent / "data"
AFTER = "Once these are right, modes and interlocks are checked against one another, too."


def load(source: str | Path) -> Transport:
    """Read a transport: by the name of a shipped one ("alder"), or from a path to a ``.toml`` file.

    Raises MechError with all mistakes: for syntax the line and column; for meaning the table, the part's
    name, the key, what is wrong and what would be right.

    >>> load("alder").mode_names[0]
    'EJECT'
    """
    if not isinstance(source, (str, Path)):
        raise MechError(f"source is {source!r}", "give the name of a shipped transport or the path of a file")
    path = Path(source)
    if path.suffix != ".toml":
        if str(source) not in shipped():
            raise MechError(
                f"no transport is called {str(source)[:80]!r}",
                f"shipped: {listing(shipped())}; the path of a file of your own ends in .toml",
            )
        path = DATA / f"{source}.toml"
    return transport_from(parse(path), path.name)


def shipped() -> tuple[str, ...]:
    """Names of the transports that come with the library.

    >>> "alder" in shipped()
    True
    """
    return tuple(sorted(path.stem for path in DATA.glob("*.toml")))


def transport_from(values: dict, file: str) -> Transport:
    """Make a transport of a file's values; ``file`` is its name in messages.

    Raises MechError as ``load`` does.  What can be told only of a whole transport (a mode that stands
    wrong, followers that collide with every mark right, a fault that it can't have) is checked once
    everything else is right.
    """
    reader = Reader(file)
    top = Table(reader, TOP, values)
    fields = _fields(reader, top)
    top.known.update(TABLES)  # read below
    top.done()
    reader.refuse(AFTER)
    transport = Transport(**fields, hand_shafts=hand_shafts(reader))
    transport = replace(transport, **read_bench(top, transport))
    for place, what, right in contradictions(transport):
        reader.problem(place, what, right)
    reader.refuse()
    return transport


def _fields(reader: Reader, top: Table) -> dict:
    """Everything that the tables say, as the fields of a Transport; mistakes are kept in the reader."""
    covers = read_covers(top)
    drive, main_gear = read_drive(reader, top, covers)
    cyclic = drive["low_deg"] is None
    roots = read_outputs(reader, top, covers, main_gear)
    sets = read_sets(top)
    staged = read_stages(reader, top, drive, roots, sets)
    parts, upstream = read_parts(reader, top, roots, cyclic, covers)
    holders = carriers(parts, roots)
    followers = read_followers(top, holders, cyclic)
    released = "part_toothed" in top.value
    contacts, switch_part, settle = _contacts(top, holders, released, cyclic)
    modes = _modes(top, followers, [contact.name for contact in contacts])
    names = [mode.name for mode in modes]
    return drive | {
        "name": top.text("name", "the transport's name in quotes"),
        "about": top.text("about", "one or two sentences on what it is", optional=True) or "",
        "invented": top.flag("invented"),
        "reference_mode": top.choice("reference_mode", names),
        "roots": roots,
        "sets": tuple(sets.values()),
        "covers": covers,
        "stages": _completed(staged, followers, contacts),
        "parts": parts,
        "upstream": upstream,
        "followers": tuple(followers.values()),
        "contacts": contacts,
        "switch_part": switch_part,
        "settle_deg": settle,
        "modes": modes,
        "interlocks": _interlocks(top, followers),
        "tape": read_tape(top, followers),
        "controller": read_controller(top, names, followers, (LOADING,) if released else tuple(SENSE)),
    }


def _mode_switch(top: Table, holders: list[str], released: bool) -> tuple[str | None, float | None]:
    """The part that carries the mode switch, and how long a code must stand."""
    switch = top.table("mode_switch", "a [mode_switch] table with part and settle")
    if switch is None:
        return None, None
    part, settle = switch.choice("part", holders), switch.angle("settle", optional=released)
    if released and switch.has("settle"):
        right = "a part-toothed gear's code is read while it stands: leave settle out"
        switch.problem("settle", "the cam stands when the code is read", right)
    elif settle is not None and not 0 <= settle <= 90:
        switch.problem("settle", f"it is {settle:g} degrees", "a code counts after 0 to 90 degrees")
    switch.done()
    return part, 0.0 if released else settle


def _contacts(
    top: Table, holders: list[str], released: bool, cyclic: bool
) -> tuple[tuple[Contact, ...], str | None, float | None]:
    """The contacts, the part that carries the mode switch, and how long a code must stand."""
    part, settle = _mode_switch(top, holders, released)
    contacts: list[Contact] = []
    for table in top.tables("contact", "[[contact]] tables"):
        name = unique_name(table, {c.name for c in contacts}, "a contact")
        on = table.choice("part", holders, optional=True) or part
        arcs = merge(_closed(table, cyclic))
        table.done()
        if name:
            contacts.append(Contact(name, on or holders[0], arcs))
    return tuple(contacts), part, settle


def _closed(table: Table, cyclic: bool) -> list[tuple[float, float]]:
    """The arcs on which a contact closes, in order; no place lies on two of them."""
    arcs: list[tuple[float, float]] = []
    over = " (beyond 360 for an arc over the seam)" if cyclic else ""
    for value in table.items("closed", "arcs such as [[{deg = 10}, {deg = 25}], …]") or []:
        if not isinstance(value, list) or len(value) != 2:
            table.problem("closed", "an arc is not two angles", "write [{deg = 10}, {deg = 25}]")
            continue
        start, end = (table.as_angle("closed", angle) for angle in value)
        if None not in (start, end) and start >= end:
            what = f"an arc goes from {start:g} to {end:g} degrees"
            table.problem("closed", what, f"give the smaller angle first{over}")
        elif None not in (start, end):
            arcs.append((start, end))
    arcs.sort()
    again = [(a + 360, b + 360) for a, b in arcs[:1]] if cyclic and len(arcs) > 1 else []
    for (a, b), (c, d) in pairwise([*arcs, *again]):
        if c < b - TINY:
            what = f"two arcs overlap: {a:g} to {b:g} and {c:g} to {d:g} degrees"
            table.problem("closed", what, "where it opens in between, read it again; else give one arc")
    return arcs


def _completed(staged: list[tuple[Stage, Table]], followers, contacts) -> tuple[Stage, ...]:
    """The stages with what they need and are told by, now that followers and contacts are known."""
    stages, found = [stage for stage, _ in staged], []
    for stage, table in staged:
        told = read_hand_overs(table, stages, stage, contacts)
        needs = read_needs(table, "needs", followers, optional=True)
        end = table.choice("end_contact", [c.name for c in contacts], optional=True)
        solenoid = table.flag("solenoid")
        found.append(replace(stage, needs=needs, solenoid=solenoid, end_contact=end, hand_overs=told))
        table.done()
    return tuple(found)


def _modes(top: Table, followers, contacts: list[str]) -> tuple[Mode, ...]:
    modes: list[Mode] = []
    for table in top.tables("mode", "[[mode]] tables"):
        name = unique_name(table, {m.name for m in modes}, "a mode")
        code = table.choices("code", contacts)
        needs = read_needs(table, "needs", followers)
        if code == ():
            table.problem(
                "code", "it is empty", "no mode's code is all contacts open: a broken wire would read so"
            )
        same = next((m.name for m in modes if code and m.code == frozenset(code)), None)
        if same:
            table.problem("code", f"{same} has the same", "give every mode a code of its own")
        table.done()
        if name:
            modes.append(Mode(name, frozenset(code or ()), needs))
    return tuple(modes)


def _interlocks(top: Table, followers) -> tuple[Interlock, ...]:
    locks: list[Interlock] = []
    for table in top.tables("interlock", "[[interlock]] tables", optional=True):
        name = unique_name(table, {i.name for i in locks}, "an interlock")
        pair = [read_needs(table, key, followers) for key in ("while", "must")]
        for key, needs in zip(("while", "must"), pair, strict=True):
            if len(needs) > 1:
                table.problem(
                    key, f"it names {len(needs)} followers", "an interlock is between two: one here"
                )
        table.done()
        if name and all(len(needs) == 1 for needs in pair):
            if pair[0][0].follower == pair[1][0].follower:
                table.problem("must", "it is the same follower", "an interlock is between two followers")
            locks.append(Interlock(name, pair[0][0], pair[1][0]))
    return tuple(locks)
