"""One motion of the drive in one sense: where every part stands, and what happens at which theta.

A part's place is piecewise linear in theta: it rises one for one where its stage drives it and stands
elsewhere; play holds it back after a reversal.  So every event is an exact theta, never a time step.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import inf

from mechlib.transports.arcs import TINY, Arcs, complement, holding, intersect, merge, repeated
from mechlib.transports.kept import Kept, Key, shared
from mechlib.transports.lost_drive import Knots, coming_off, past_missing_teeth, shifted, standing
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Need, Part, Transport


@dataclass(frozen=True)
class Obstacle:
    """Something that ends a motion where theta enters one of its arcs."""

    kind: str  # "interlock", "part stop", "elsewhere"; of a hand-over "not told", "too soon", "dead motor"
    name: str
    arcs: Arcs
    contact: str = ""  # that tells, or doesn't


@dataclass(frozen=True)
class Run:
    """The drive moving in one ``sense`` between ``low`` and ``high`` of theta.

    ``places`` are where the parts stand at the start; None means that play is taken up in this sense.
    """

    transport: Transport
    sense: str
    low: float
    high: float
    places: Mapping[str, float] | None = None

    @cached_property
    def knots(self) -> dict[str, Knots]:
        """For every root and part the corners of its place over theta."""
        return _KNOTS.of(self.motion, self._find_knots)

    @cached_property
    def motion(self) -> Key:
        """All that decides the knots."""
        places = self.places and tuple(self.places.items())
        return shared((self.transport.decides.gearing, self.sense, self.low, self.high, places))

    def _find_knots(self) -> dict[str, Knots]:
        transport = self.transport
        knots = {
            root.name: _root_knots(transport, root.name, self.low, self.high) for root in transport.roots
        }
        for part in transport.parts:
            followed = self._driven(part, knots[part.parent])
            if self.sense == "unloading" and part.play_deg:
                followed = shifted(followed, part.play_deg)
            if self.places is not None:
                followed = _held_back(followed, self.places[part.name], SENSE[self.sense])
            knots[part.name] = self._come_off(part.name, followed) if transport.off_at else followed
        return knots

    def _driven(self, part: Part, parent: Knots) -> Knots:
        """What drives a part: its parent, where no teeth are missing at its mesh."""
        missing = [(at, teeth) for name, at, teeth in self.transport.missing if name == part.name]
        if not missing:
            return parent
        ahead = self.transport.advance_deg[part.parent]  # a slipped parent takes its gap along
        kept = self.places is not None and self.transport.cyclic  # what earlier turns have lost
        start = self.places[part.name] + ahead if kept else None
        stands = shifted(parent, ahead)
        return shifted(past_missing_teeth(stands, part, missing, start, SENSE[self.sense]), -ahead)

    def _come_off(self, part: str, knots: Knots) -> Knots:
        """Where a part stands, some clips being gone; without ``places`` it came from afar."""
        cyclic, off_at = self.transport.cyclic, dict(self.transport.off_at)
        if part in self._off_before:
            return standing(knots, self._off_before[part])
        if part not in off_at or (self.places is None and self.sense == UNLOADING):
            return knots
        start = off_at[part] if cyclic else knots[0][1]
        if self.places is not None:
            start = self.places[part]
        return coming_off(knots, start, SENSE[self.sense], off_at[part], 360.0 if cyclic else None)

    @cached_property
    def _off_before(self) -> dict[str, float]:
        """For a run down from afar: where all stands that came off on the way up, and what hangs on it."""
        transport = self.transport
        if self.places is not None or self.sense != UNLOADING:
            return {}
        came = Run(transport, LOADING, *transport.ends)
        places = came.places_at(came.high)
        off = {part for part, at in transport.off_at if transport.cyclic or places[part] >= at - TINY}
        return {part: places[part] for part, chain in transport.chains.items() if off & set(chain)}

    def place(self, part: str, theta: float) -> float:
        """Where a part stands at ``theta``, without its slip."""
        return place_on(self.knots[part], theta)

    def places_at(self, theta: float) -> dict[str, float]:
        """Where every root and part stands at ``theta``, without slips; not to be written to."""
        return _PLACES.of((self.motion, theta), lambda: self._find_places(theta))

    def _find_places(self, theta: float) -> dict[str, float]:
        starts, lines = _LINES.of(self.motion, self._find_lines)
        i = max(bisect_right(starts, theta) - 1, 0)
        ahead = theta - starts[i]
        return {part: place + rate * ahead for part, place, rate in lines[i]}

    def _find_lines(self) -> tuple[list[float], list]:
        """Where parts start to move in another way; from there on the place of each and how fast it goes."""
        corners = sorted({theta for knots in self.knots.values() for theta, _ in knots})
        stands = [[(part, place_on(knots, at)) for part, knots in self.knots.items()] for at in corners]
        starts, lines, ends = [], [], zip(corners[1:], stands[1:], strict=True)
        for start, here, (end, there) in zip(corners, stands, ends, strict=False):
            if end - start > TINY:
                starts.append(start)
                both = zip(here, there, strict=True)
                lines.append([(part, x0, (x1 - x0) / (end - start)) for (part, x0), (_, x1) in both])
        return starts, lines

    def slipped_place(self, part: str, theta: float) -> float:
        """Where a part stands at ``theta``, slip included: what its tracks and contacts see."""
        return self.place(part, theta) + self.transport.advance_deg[part]

    def theta_arcs(self, part: str, arcs: Arcs, touching: bool = True) -> Arcs:
        """Arcs of a part's place (slip included) as arcs of theta, within this run.

        ``touching`` says whether a part that stands on the very edge of an arc counts as within it.
        """
        advance = self.transport.advance_deg[part]
        key = self.motion, part, advance, arcs, touching
        edge, cyclic = TINY if touching else -TINY, self.transport.cyclic
        return _ARCS.of(key, lambda: _mapped(self.knots[part], advance, arcs, edge, cyclic))

    def need_arcs(self, need: Need) -> Arcs:
        """Arcs of theta on which a follower stands in its range."""
        return self.theta_arcs(self.transport.follower(need.follower).part, need.arcs)

    @cached_property
    def codes(self) -> tuple[tuple[float, float, frozenset[str]], ...]:
        """Codes in turn over the run: (start, end, closed contacts), theta rising."""
        key = self.motion, self.transport.decides.shifts, self.transport.decides.closing
        return _CODES.of(key, self._find_codes)

    def _find_codes(self) -> tuple[tuple[float, float, frozenset[str]], ...]:
        edges = [
            (theta, contact.name)
            for contact in self.transport.contacts
            for arc in self.theta_arcs(contact.part, contact.closed)
            for theta in arc
        ]
        segments, closed, at = [], frozenset(), self.low
        for theta, contact in sorted(edges):
            if theta - at > TINY:
                segments.append((at, theta, closed))
                at = theta
            closed = closed ^ {contact}
        if self.high - at > TINY:
            segments.append((at, self.high, closed))
        return tuple(segments)

    def code_arcs(self, code: frozenset[str]) -> Arcs:
        """Arcs of theta on which just these contacts are closed."""
        return self._code_arcs.get(code, ())

    @cached_property
    def _code_arcs(self) -> dict[frozenset[str], Arcs]:
        key = self.motion, self.transport.decides.shifts, self.transport.decides.closing
        return _CODE_ARCS.of(key, self._find_code_arcs)

    def _find_code_arcs(self) -> dict[frozenset[str], Arcs]:
        found: dict[frozenset[str], list] = {}
        for start, end, closed in self.codes:
            found.setdefault(closed, []).append((start, end))
        return {code: merge(arcs) for code, arcs in found.items()}

    def code_at(self, theta: float) -> frozenset[str]:
        """The code that shows at ``theta``; on an edge, the one that the motion has just left."""
        segments = self.codes
        if self.sense == "loading":
            for _start, end, code in segments:
                if theta <= end + TINY:
                    return code
        for start, _end, code in reversed(segments):
            if theta >= start - TINY:
                return code
        return frozenset()

    @cached_property
    def obstacles(self) -> tuple[Obstacle, ...]:
        """Interlocks, stops of parts and failing stages, each with the arcs of theta that are shut."""
        key = self.motion, self.transport.decides.shifts, self.transport.decides.blocking
        return _OBSTACLES.of(key, self._find_obstacles)

    def _find_obstacles(self) -> tuple[Obstacle, ...]:
        transport, found = self.transport, []
        for lock in transport.interlocks:
            when = self.theta_arcs(
                transport.follower(lock.when.follower).part, lock.when.arcs, touching=False
            )
            shut = intersect(when, self._not(self.need_arcs(lock.must)))
            found.append(Obstacle("interlock", lock.name, shut))
        for part in transport.parts:
            low, high = part.low_stop_deg, part.high_stop_deg
            if low is not None or high is not None:
                allowed = ((-inf if low is None else low, inf if high is None else high),)
                shut = self._not(self.theta_arcs(part.name, allowed))
                found.append(Obstacle("part stop", part.name, shut))
        for stage in transport.stages:
            span = ((stage.start_deg, stage.end_deg),)
            if stage.solenoid and not transport.solenoid_pulls:
                found.append(Obstacle("elsewhere", stage.name, intersect(span, ((self.low, self.high),))))
            for need in stage.needs:
                shut = intersect(span, self._not(self.need_arcs(need)))
                found.append(Obstacle("elsewhere", stage.name, shut))
        return tuple(o for o in found if o.arcs)

    @cached_property
    def hand_overs(self) -> tuple[Obstacle, ...]:
        """Where the controller of several motors turns another one than the stage asks for, or a dead one.

        Told that a stage is done where it isn't ("too soon"), it stops short of the stage's end, and what the
        next motor then turns doesn't count as travel.  Without being told ("not told") it goes on with the
        motor of that stage, wherever in the next the drive stands.  A hand knows nothing of all this.
        """
        transport, found = self.transport, []
        for before in transport.stages:
            if told := before.hand_over(self.sense):
                contact, span = transport.contact(told.contact), (before.start_deg, before.end_deg)
                closed = self.theta_arcs(contact.part, contact.closed)
                here, push = intersect(closed, (span,)), told.push_on_deg
                if self.sense == LOADING:
                    soon, beyond = [(start + push, span[1]) for start, _ in here], (span[1], self.high)
                else:
                    soon, beyond = [(span[0], end - push) for _, end in here], (self.low, span[0])
                found.append(Obstacle("too soon", before.name, merge(soon), told.contact))
                missed = intersect((beyond,), self._not(closed))
                found.append(Obstacle("not told", before.name, missed, told.contact))
        for stage in transport.stages if len(transport.motors) > 1 else ():
            if self.sense in transport.motor_of(stage).dead_senses:
                span = ((stage.start_deg, stage.end_deg),)
                found.append(Obstacle("dead motor", stage.name, intersect(span, ((self.low, self.high),))))
        return tuple(o for o in found if o.arcs)

    def _not(self, arcs: Arcs) -> Arcs:
        return complement(arcs, self.low, self.high)


_KNOTS, _LINES, _PLACES, _ARCS = Kept(4096), Kept(4096), Kept(16384), Kept(32768)
_CODES, _CODE_ARCS, _OBSTACLES = Kept(4096), Kept(4096), Kept(4096)


def _mapped(knots: Knots, advance_deg: float, arcs: Arcs, edge: float, cyclic: bool) -> Arcs:
    """Arcs of a part's place as arcs of theta; ``edge``: how far off them it may stand."""
    if cyclic:
        arcs = repeated(arcs, 360.0, knots[0][1] + advance_deg - 1, knots[-1][1] + advance_deg + 1)
    found = []
    for (t0, x0), (t1, x1) in zip(knots, knots[1:], strict=False):
        x0, x1 = x0 + advance_deg, x1 + advance_deg
        for start, end in arcs:
            if x1 - x0 <= TINY:  # the part stands: its arcs hold all the way
                if start - edge <= x0 and x1 <= end + edge:
                    found.append((t0, t1))
            elif start < x1 and end > x0:
                found.append((t0 + max(start - x0, 0.0), min(t0 + end - x0, t1)))
    return merge(found)


def place_on(knots: Knots, theta: float) -> float:
    """The place at ``theta`` between knots; beyond them on their last line.

    >>> place_on(((0, 0), (10, 10), (30, 10)), 4), place_on(((0, 0), (10, 10), (30, 10)), 20)
    (4.0, 10.0)
    """
    i = bisect_right(knots, (theta, inf), 1, len(knots) - 1) - 1
    (t0, x0), (t1, x1) = knots[i], knots[i + 1]
    return x0 if t1 == t0 else x0 + (x1 - x0) * (theta - t0) / (t1 - t0)


def steady(transport: Transport, sense: str, beyond: float = 0.0) -> Run:
    """The run over the whole travel with play taken up in ``sense``; ``beyond`` adds degrees at both ends."""
    low, high = transport.ends
    if transport.cyclic:
        low, high = low - 360.0, high + (720.0 if transport.missing else 360.0)  # codes may come a turn later
    return Run(transport, sense, low - beyond, high + beyond)


def _root_knots(transport: Transport, root: str, low: float, high: float) -> Knots:
    """A root's place over theta: 0 at theta = 0, rising in the stages that drive it."""
    if transport.cyclic:
        return ((low, low), (high, high))
    first, last = transport.stages[0], transport.stages[-1]
    corners = sorted({low, high, 0.0, *(s.end_deg for s in transport.stages[:-1])})
    places, at = [0.0], 0.0
    for t0, t1 in zip(corners, corners[1:], strict=False):
        middle = (t0 + t1) / 2
        stage = next(
            (s for s in transport.stages if s.start_deg <= middle < s.end_deg),
            first if middle < first.start_deg else last,
        )
        at += (t1 - t0) * (root in stage.drives)
        places.append(at)
    zero = places[corners.index(0.0)]
    return tuple((t, x - zero) for t, x in zip(corners, places, strict=True) if low <= t <= high)


def _held_back(knots: Knots, start: float, sense: int) -> Knots:
    """What follows ``knots`` through play, standing at ``start`` first: it moves on only when pushed."""
    held = []
    for (t0, x0), (_, x1) in zip(knots, knots[1:], strict=False):
        held.append((t0, max(x0, start) if sense > 0 else min(x0, start)))
        if x0 + TINY < start < x1 - TINY:
            held.append((t0 + start - x0, start))
    t1, x1 = knots[-1]
    held.append((t1, max(x1, start) if sense > 0 else min(x1, start)))
    return tuple(held)


def closed_contacts(transport: Transport, places: Mapping[str, float]) -> frozenset[str]:
    """The contacts that are closed where the parts stand at ``places`` (edges of arcs included)."""

    def closed(contact) -> bool:
        place = places[contact.part] + transport.advance_deg[contact.part]
        if transport.cyclic:
            arcs = contact.closed
            return any((place - start + TINY) % 360.0 <= end - start + 2 * TINY for start, end in arcs)
        return holding(contact.closed, place) is not None

    return frozenset(contact.name for contact in transport.contacts if closed(contact))
