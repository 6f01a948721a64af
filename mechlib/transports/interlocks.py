"""How far one part may be out against another before two followers collide somewhere on the way."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import inf

from mechlib.say import say
from mechlib.transports.arcs import Arcs, complement, intersect, merge, repeated
from mechlib.transports.model import Interlock, Transport
from mechlib.transports.runs import Run, steady


@dataclass(frozen=True)
class InterlockMargin:
    """The smallest shift of the first follower's part against the second's that makes them collide.

    ``ahead_deg``: the first part ahead of the second; ``behind_deg``: behind it; both in degrees of theta,
    None where no shift that way makes them collide between the stops.  Where they collide already, the
    shift that would part them again, negative: −6 for ``ahead_deg`` means 6 degrees too far ahead.
    ``ahead_teeth`` and the others are the same in teeth of the main gear and turns of the hand shaft.
    """

    name: str
    first: str
    second: str
    ahead_deg: float | None
    behind_deg: float | None
    ahead_teeth: float | None
    behind_teeth: float | None
    ahead_turns: float | None
    behind_turns: float | None

    @property
    def margin_deg(self) -> float | None:
        """The smaller of both (where they collide: the easier to part), None where they cannot collide."""
        shifts = [d for d in (self.ahead_deg, self.behind_deg) if d is not None]
        if not shifts:
            return None
        return max(shifts) if max(shifts) < 0 else min(shifts)

    def sentence(self) -> str:
        if self.margin_deg is None:
            return f"{self.name}: no shift of the {self.first} against the {self.second} makes them collide."
        if self.margin_deg < 0:
            return f"{self.name}: the {self.first} and the {self.second} collide on the way."
        words = [
            f"{say(deg, '°')} ({say(teeth, 'teeth')} of the main gear) {way}"
            for deg, teeth, way in (
                (self.ahead_deg, self.ahead_teeth, "ahead"),
                (self.behind_deg, self.behind_teeth, "behind"),
            )
            if deg is not None
        ]
        return (
            f"{self.name}: they collide with the {self.first} against the {self.second} {' or '.join(words)}."
        )


@lru_cache(maxsize=2048)
def interlock_margin(transport: Transport, lock: Interlock) -> InterlockMargin:
    """The margin of one interlock, over the senses of the drive and either part moved."""
    first = transport.follower(lock.when.follower).part
    second = transport.follower(lock.must.follower).part
    shut: list[tuple[float, float]] = []
    for sense in transport.senses:
        run = steady(transport, sense)
        if first == second:  # cut in one piece: no mesh stands between them
            shut += [(-inf, inf)] if _collides(run, lock) else []
            continue
        shut += _shifts(run, first, lock.when.arcs, _not(run, lock.must))
        free = _free(transport, lock.must.arcs)
        shut += [(-high, -low) for low, high in _shifts(run, second, free, run.need_arcs(lock.when))]
    joined = merge(shut)
    ahead = min((low for low, high in joined if high > 0), default=None)
    behind = min((-high for low, high in joined if low < 0), default=None)
    if ahead == behind == -inf:  # they collide whatever the shift
        ahead = behind = transport.ends[0] - transport.ends[1]
    ahead, behind = (None if d == -inf else d for d in (ahead, behind))
    scaled = [
        None if d is None else scale(d)
        for scale in (transport.teeth_of, transport.turns_of)
        for d in (ahead, behind)
    ]
    return InterlockMargin(lock.name, lock.when.follower, lock.must.follower, ahead, behind, *scaled)


def interlock_margins(transport: Transport) -> tuple[InterlockMargin, ...]:
    """The margin of every interlock, in the file's order.

    >>> from mechlib.transports import load
    >>> found = interlock_margins(load("alder"))[3]
    >>> found.name, round(found.ahead_deg, 1), found.behind_deg
    ('tension lever and arms', 3.6, None)
    """
    return tuple(interlock_margin(transport, lock) for lock in transport.interlocks)


def _free(transport: Transport, arcs: Arcs) -> Arcs:
    """What these arcs of a part's place leave over; of one turn for a cam that goes round."""
    if transport.cyclic:
        return complement(repeated(arcs, 360.0, 0.0, 360.0), 0.0, 360.0)
    return complement(arcs)


def _not(run: Run, need) -> Arcs:
    return complement(run.need_arcs(need), run.low, run.high)


def _collides(run: Run, lock: Interlock) -> bool:
    return bool(intersect(run.need_arcs(lock.when), _not(run, lock.must)))


def _shifts(run: Run, part: str, arcs: Arcs, thetas: Arcs) -> list[tuple[float, float]]:
    """Shifts of ``part`` (ahead positive) that bring one of its arcs onto one of these arcs of theta."""
    if run.transport.cyclic:
        arcs = merge((a + k * 360.0, b + k * 360.0) for k in range(-3, 4) for a, b in arcs)
    found = []
    for theta_low, theta_high in thetas:
        low, high = run.slipped_place(part, theta_low), run.slipped_place(part, theta_high)
        found += [(start - high, end - low) for start, end in arcs]
    return found
