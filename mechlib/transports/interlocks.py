"""How far one part may be out against another before two followers collide somewhere on the way."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from math import inf

from mechlib.say import say
from mechlib.transports.arcs import TINY, Arcs, complement, intersect, merge, repeated
from mechlib.transports.model import Interlock, Transport
from mechlib.transports.runs import Run, steady


@dataclass(frozen=True)
class InterlockMargin:
    """The smallest shift of one of the two parts against the other that makes the followers collide.

    ``ahead_deg``: the first part ahead of the second; ``behind_deg``: behind it; both in degrees of theta,
    None where no shift that way makes them collide between the stops.  Where they collide already, the
    shift that would part them again, negative: −6 for ``ahead_deg`` means 6 degrees too far ahead.
    ``ahead_teeth`` and the others are the same in teeth of the main gear and turns of the hand shaft.

    Where both parts turn together it is all one which of them is out.  Where one stands while the other
    moves it isn't: ``ahead_by`` and ``behind_by`` name the follower whose part must be out by so much.
    The first behind the second is either the first behind its mark or the second ahead of its own.
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
    ahead_by: str
    behind_by: str

    @property
    def margin_deg(self) -> float | None:
        """The smaller of both (where they collide: the easier to part), None where they cannot collide."""
        return _easier((self.ahead_deg, self.behind_deg))

    @property
    def ways(self) -> tuple[tuple[str, str, float | None], ...]:
        """Both ways to be out: the follower whose part it is, "ahead" or "behind", and the degrees."""
        ahead = self.ahead_by, "ahead" if self.ahead_by == self.first else "behind", self.ahead_deg
        behind = self.behind_by, "behind" if self.behind_by == self.first else "ahead", self.behind_deg
        return ahead, behind

    def sentence(self) -> str:
        if self.margin_deg is None:
            return f"{self.name}: no shift of the {self.first} against the {self.second} makes them collide."
        if self.margin_deg < 0:
            return f"{self.name}: the {self.first} and the {self.second} collide on the way."
        words, told = [], ""
        for (by, way, deg), teeth in zip(self.ways, (self.ahead_teeth, self.behind_teeth), strict=True):
            if deg is not None:
                other = self.second if by == self.first else self.first
                who, told = "" if by == told else f"with the {by} against the {other} ", by
                words.append(f"{who}{say(deg, '°')} ({say(teeth, 'teeth')} of the main gear) {way}")
        return f"{self.name}: they collide {' or '.join(words)}."


@lru_cache(maxsize=2048)
def interlock_margin(transport: Transport, lock: Interlock) -> InterlockMargin:
    """The margin of one interlock, over the senses of the drive and either part moved.

    A part counts as moved alone where it can be: what is cut in a root can't slip, and a part that the other
    hangs on takes it along.
    """
    followers = lock.when.follower, lock.must.follower
    parts = tuple(transport.follower(name).part for name in followers)
    chains = [transport.chains[part] for part in parts]
    alone = [bool(chains[i]) and parts[i] not in chains[1 - i] for i in (0, 1)]
    limits = _limits(transport, lock, *parts)
    found, by = [], []
    for way in (0, 1):
        deg = _easier([limits[i][way] for i in (0, 1) if alone[i]])
        either = deg is None or limits[0][way] is not None and abs(limits[0][way] - deg) <= TINY
        found.append(deg)
        by.append(followers[0 if either else 1])
    if not any(alone) and any(_collides(steady(transport, sense), lock) for sense in transport.senses):
        found = [-inf, -inf]  # no mesh stands between them
    if found == [-inf, -inf]:  # they collide whatever the shift
        found = [transport.ends[0] - transport.ends[1]] * 2
    found = [None if deg == -inf else deg for deg in found]
    by = [by[1 - way] if found[way] is None else by[way] for way in (0, 1)]
    scaled = [
        None if deg is None else scale(deg)
        for scale in (transport.teeth_of, transport.turns_of)
        for deg in found
    ]
    return InterlockMargin(lock.name, *followers, *found, *scaled, *by)


def interlock_margins(transport: Transport) -> tuple[InterlockMargin, ...]:
    """The margin of every interlock, in the file's order.

    >>> from mechlib.transports import load
    >>> found = interlock_margins(load("alder"))[3]
    >>> found.name, round(found.ahead_deg, 1), found.behind_deg
    ('tension lever and arms', 3.6, None)
    """
    return tuple(interlock_margin(transport, lock) for lock in transport.interlocks)


def _easier(shifts: Iterable[float | None]) -> float | None:
    """The smallest shift that makes them collide; where they collide, the smallest that parts them."""
    known = [deg for deg in shifts if deg is not None]
    return max((deg for deg in known if deg < 0), default=min(known, default=None))


def _limits(
    transport: Transport, lock: Interlock, first: str, second: str
) -> tuple[tuple[float | None, float | None], ...]:
    """How far the first may be ahead of the second and behind it, if the first is moved, if the second is."""
    runs = [steady(transport, sense) for sense in transport.senses]
    free, own, other = _free(transport, lock.must.arcs), [], []
    for run in runs:
        own += _shifts(run, first, lock.when.arcs, _not(run, lock.must))
        other += [(-high, -low) for low, high in _shifts(run, second, free, run.need_arcs(lock.when))]
    return tuple(
        (
            min((low for low, high in shut if high > 0), default=None),
            min((-high for low, high in shut if low < 0), default=None),
        )
        for shut in (merge(own), merge(other))
    )


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
