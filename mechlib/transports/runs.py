"""One motion of the drive in one sense: where every part stands, and what happens at which theta.

A part's place is piecewise linear in theta: it rises one for one where its stage drives it and stands
elsewhere; play holds it back after a reversal.  So every event is an exact theta, never a time step.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import inf

from mechlib.transports.arcs import TINY, Arcs, complement, holding, intersect, merge, repeated
from mechlib.transports.model import LOADING, SENSE, Need, Transport

Knots = tuple[tuple[float, float], ...]  # (theta, place), theta rising


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
    _theta_arcs: dict = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def knots(self) -> dict[str, Knots]:
        """For every root and part the corners of its place over theta."""
        transport = self.transport
        knots = {
            root.name: _root_knots(transport, root.name, self.low, self.high) for root in transport.roots
        }
        for part in transport.parts:
            followed = knots[part.parent]
            if self.sense == "unloading" and part.play_deg:
                followed = tuple((theta, place + part.play_deg) for theta, place in followed)
            if self.places is not None:
                followed = _held_back(followed, self.places[part.name], SENSE[self.sense])
            knots[part.name] = followed
        return knots

    def place(self, part: str, theta: float) -> float:
        """Where a part stands at ``theta``, without its slip."""
        knots = self.knots[part]
        i = min(max(bisect_right(knots, (theta, inf)) - 1, 0), len(knots) - 2)
        (t0, x0), (t1, x1) = knots[i], knots[i + 1]
        return x0 if t1 == t0 else x0 + (x1 - x0) * (theta - t0) / (t1 - t0)

    def places_at(self, theta: float) -> dict[str, float]:
        """Where every root and part stands at ``theta``, without slips."""
        return {part: self.place(part, theta) for part in self.knots}

    def agrees(self, places: Mapping[str, float], theta: float) -> bool:
        """Whether every root and part stands at ``theta`` of this run as it does in ``places``."""
        return all(abs(self.place(part, theta) - place) <= TINY for part, place in places.items())

    def slipped_place(self, part: str, theta: float) -> float:
        """Where a part stands at ``theta``, slip included: what its tracks and contacts see."""
        return self.place(part, theta) + self.transport.advance_deg[part]

    def theta_arcs(self, part: str, arcs: Arcs, touching: bool = True) -> Arcs:
        """Arcs of a part's place (slip included) as arcs of theta, within this run.

        ``touching`` says whether a part that stands on the very edge of an arc counts as within it.
        """
        key = (part, arcs, touching)
        if key not in self._theta_arcs:
            self._theta_arcs[key] = self._mapped(part, arcs, TINY if touching else -TINY)
        return self._theta_arcs[key]

    def _mapped(self, part: str, arcs: Arcs, edge: float) -> Arcs:
        advance = self.transport.advance_deg[part]
        knots = self.knots[part]
        if self.transport.cyclic:
            arcs = repeated(arcs, 360.0, knots[0][1] + advance - 1, knots[-1][1] + advance + 1)
        found = []
        for (t0, x0), (t1, x1) in zip(knots, knots[1:], strict=False):
            x0, x1 = x0 + advance, x1 + advance
            for start, end in arcs:
                if x1 - x0 <= TINY:  # the part stands: its arcs hold all the way
                    if start - edge <= x0 and x1 <= end + edge:
                        found.append((t0, t1))
                elif start < x1 and end > x0:
                    found.append((t0 + max(start - x0, 0.0), min(t0 + end - x0, t1)))
        return merge(found)

    def need_arcs(self, need: Need) -> Arcs:
        """Arcs of theta on which a follower stands in its range."""
        return self.theta_arcs(self.transport.follower(need.follower).part, need.arcs)

    @cached_property
    def codes(self) -> tuple[tuple[float, float, frozenset[str]], ...]:
        """Codes in turn over the run: (start, end, closed contacts), theta rising."""
        edges: list[tuple[float, str]] = []
        for contact in self.transport.contacts:
            for start, end in self.theta_arcs(contact.part, contact.closed):
                edges += [(start, contact.name), (end, contact.name)]
        edges.sort()
        segments, closed, at = [], frozenset(), self.low
        for theta, contact in edges:
            if theta - at > TINY:
                segments.append((at, theta, closed))
                at = theta
            closed = closed ^ {contact}
        if self.high - at > TINY:
            segments.append((at, self.high, closed))
        return tuple(segments)

    def code_arcs(self, code: frozenset[str]) -> Arcs:
        """Arcs of theta on which just these contacts are closed."""
        return merge((start, end) for start, end, closed in self.codes if closed == code)

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


def steady(transport: Transport, sense: str, beyond: float = 0.0) -> Run:
    """The run over the whole travel with play taken up in ``sense``; ``beyond`` adds degrees at both ends."""
    low, high = transport.ends
    if transport.cyclic:
        low, high = low - 360.0, high + 360.0
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
