"""Followers of a transport file: named lifts, tracks of dwells and moves, and ranges that others ask for."""

from __future__ import annotations

from math import inf

from mechlib.cams import DWELL, LAWS, Programme, Segment, programme_from_readings
from mechlib.errors import MechError
from mechlib.say import listing
from mechlib.transports.model import BETWEEN, Follower, Need
from mechlib.transports.read_forces import read_spring
from mechlib.transports.read_table import Table, suggestion, unique_name

MOST_MM = 500.0
READING = "write the lifts that were read, each such as [{teeth = 3}, 1.2]"
EDGE_MM = 1e-8  # a lift on the very edge of a named state's tolerance is that state, not "between"


def read_followers(top: Table, carriers: list[str], cyclic: bool) -> dict[str, Follower | None]:
    """The followers by name; None for one whose table has a mistake, so that its name is still known."""
    followers: dict[str, Follower | None] = {}
    for table in top.tables("follower", "[[follower]] tables"):
        before = len(table.reader.problems)
        name = unique_name(table, followers, "a follower")
        part = table.choice("part", carriers)
        tolerance = table.number(
            "tolerance_mm", 1e-3, 50, "mm of lift either way that still count as the state"
        )
        states = _states(table, tolerance or 0.1)
        programme, pushed = _programme(table, states, cyclic), read_spring(table)
        table.done()
        if name:
            good = len(table.reader.problems) == before and programme
            followers[name] = Follower(name, part, programme, states, tolerance, **pushed) if good else None
    return followers


def _states(table: Table, tolerance: float) -> tuple[tuple[str, float], ...]:
    states = table.table("states", "the lifts that have a name, such as {off = 0, pressed = 6.5}")
    if states is None:
        return ()
    found = [(name, states.number(name, -MOST_MM, MOST_MM, "mm")) for name in states.value]
    if not found:
        table.problem("states", "it is empty", "name at least one lift")
    if BETWEEN in states.value:
        table.problem(
            "states",
            f"{BETWEEN!r} is no name for a lift",
            "it stands for every lift that has no name; choose another",
        )
    lifts = sorted((mm, name) for name, mm in found if mm is not None)
    for (low, first), (high, second) in zip(lifts, lifts[1:], strict=False):
        if high - low <= 2 * tolerance:
            table.problem(
                "states",
                f"{first} and {second} are {high - low:g} mm apart",
                f"states must be more than twice tolerance_mm apart ({2 * tolerance:g} mm)",
            )
    return tuple((name, mm) for name, mm in found if mm is not None)


def _programme(table: Table, states, cyclic: bool) -> Programme | None:
    """The track as a programme over the part's place: holds and moves, or the lifts read off it."""
    if table.has("readings"):
        return _read_off(table, cyclic)
    at = 0.0 if cyclic else table.angle("track_from")
    steps = table.items("track", 'the dwells and moves, each such as {hold = "off", until = {deg = 40}}')
    if at is None or steps is None:
        return None
    lifts, segments, lift = dict(states), [], None
    for number, value in enumerate(steps, 1):
        step = Table(table.reader, f"{table.place}, track step {number}", value)
        moving = step.has("move_to")
        target = _lift(step, "move_to" if moving else "hold", lifts)
        until = step.angle("until")
        law = step.choice("law", tuple(LAWS)) if moving else DWELL
        step.done()
        if None in (target, until, law):
            return None
        if lift is None and moving:
            step.problem(
                "move_to", "a track cannot begin with a move", "begin with a hold: it sets the first lift"
            )
            return None
        start = target if lift is None else lift
        try:
            segments.append(Segment(at, until, start, target, law))
        except MechError as error:
            step.problem("until", str(error), "each step goes on from the one before, to a larger angle")
            return None
        at, lift = until, target
    try:
        if segments:
            return Programme(tuple(segments), 360.0 if cyclic else None)
        what = "it is empty"
    except MechError as error:
        what = str(error)
    table.problem("track", what, "a track is holds and moves that join, a hold at each end")
    return None


def _read_off(table: Table, cyclic: bool) -> Programme | None:
    """The track through lifts read one by one, such as tooth by tooth: readings = [[{teeth = 3}, 1.2], …]."""
    if table.has("track"):
        table.problem("readings", "it stands beside a track", "give the track or the readings of it")
    items = table.items("readings", READING)
    spread = table.number("same_within_mm", 0, 5, "mm: neighbouring lifts this close are one dwell")
    if items is None or spread is None:
        return None
    angles, lifts = [], []
    for number, item in enumerate(items, 1):
        lift = item[1] if isinstance(item, list) and len(item) == 2 else None
        if isinstance(lift, bool) or not isinstance(lift, (int, float)) or not -MOST_MM <= lift <= MOST_MM:
            table.problem("readings", f"number {number} is no angle with a lift in mm", READING)
            return None
        angles.append(table.as_angle("readings", item[0]))
        lifts.append(lift)
    if None in angles:
        return None
    try:
        return programme_from_readings(angles, lifts, spread, 360.0 if cyclic else None)
    except MechError as error:
        table.problem("readings", str(error), "read the lift at rising angles, from one dwell to another")
        return None


def _lift(step: Table, key: str, lifts: dict[str, float]) -> float | None:
    """A lift by the name of its state, or as {mm = 3.2}."""
    value = step.get(key, (str, dict), "the name of a state or {mm = 3.2}")
    if isinstance(value, str):
        if value not in lifts:
            step.problem(key, f"there is no state {value[:60]!r}", suggestion(value, list(lifts)))
        return lifts.get(value)
    if value is None:
        return None
    inner = Table(step.reader, f"{step.place}, key {key}", value)
    lift = inner.number("mm", -MOST_MM, MOST_MM, "mm")
    inner.done()
    return lift


def read_needs(
    table: Table, key: str, followers: dict[str, Follower | None], optional=False
) -> tuple[Need, ...]:
    """Ranges of followers, such as {"pinch lever" = "pressed", "brake" = ["on", "between"]}."""
    value = table.table(key, 'followers and their states, such as {"pinch lever" = "pressed"}', optional)
    needs = []
    for name, wanted in (value.value if value else {}).items():
        if name not in followers:
            table.problem(key, f"there is no follower {str(name)[:60]!r}", suggestion(name, list(followers)))
        elif followers[name] is not None:
            need = _need(value, followers[name], wanted)
            if need:
                needs.append(need)
    return tuple(needs)


def _need(table: Table, follower: Follower, wanted) -> Need | None:
    if isinstance(wanted, dict):
        inner = Table(table.reader, f"{table.place}, {follower.name}", wanted)
        low = inner.number("from_mm", -MOST_MM, MOST_MM, "mm")
        high = inner.number("to_mm", -MOST_MM, MOST_MM, "mm")
        inner.done()
        if low is None or high is None:
            return None
        if low > high:
            inner.problem(
                "to_mm", f"it is {high:g} mm, below from_mm at {low:g}", "give the lower lift first"
            )
            return None
        spans, words = ((low, high),), f"from {low:g} to {high:g} mm".replace("-", "−")
    else:
        names = wanted if isinstance(wanted, list) else [wanted]
        known = [name for name, _ in follower.states] + [BETWEEN]
        wrong = [n for n in names if not isinstance(n, str) or n not in known]
        if wrong or not names:
            table.problem(
                follower.name,
                f"it has no state {str(wrong[0] if wrong else wanted)[:60]!r}",
                suggestion(wrong[0] if wrong else "", known),
            )
            return None
        spans, words = _spans(follower, names), " or ".join(names)
    arcs = follower.arcs(spans)
    if not arcs:
        rests = [f"{rest:g}" for rest in follower.programme.rests_mm]
        where = f"it rests at {listing(rests)} mm" if rests else "it never rests"
        table.problem(
            follower.name, f"it never is {words}: {where}", "correct its lifts or what is asked of it"
        )
        return None
    return Need(follower.name, words, spans, arcs)


def _spans(follower: Follower, names: list[str]) -> tuple[tuple[float, float], ...]:
    """The lifts that count as one of these states; "between" is what all named states leave over."""
    around = {name: (mm - follower.tolerance_mm, mm + follower.tolerance_mm) for name, mm in follower.states}
    if BETWEEN not in names:
        return tuple(around[name] for name in names)
    others = sorted(span for name, span in around.items() if name not in names)
    edges = [-inf, *(edge for low, high in others for edge in (low - EDGE_MM, high + EDGE_MM)), inf]
    return tuple((low, high) for low, high in zip(edges[::2], edges[1::2], strict=True) if low < high)


def carriers(parts, roots) -> list[str]:
    """Names of everything a track or contact can be on."""
    return [root.name for root in roots] + [part.name for part in parts]
