"""The way before a stand in one sense, however long it takes: codes, obstacles, where it comes to rest.

It is the same for machines that differ only in what they ask of the motor, and kept for all of them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from mechlib.say import say
from mechlib.transports.arcs import TINY
from mechlib.transports.kept import Kept
from mechlib.transports.model import SENSE, Transport
from mechlib.transports.obstacle_words import obstacle_words
from mechlib.transports.outcomes import Stand
from mechlib.transports.runs import Obstacle, Run, closed_contacts

_COURSES, _SHOWN = Kept(16384), Kept(16384)


@dataclass(frozen=True)
class Rest:
    """Where the drive comes to rest after its code was read, what it coasted into, and the words for it."""

    stand: Stand
    theta: float
    hit: str | None
    why: str


@dataclass(frozen=True, eq=False)
class Course:
    """The run from a stand to ``end_deg``, where the drive can't turn any further.

    For a cam that goes round: to where nothing new comes.
    """

    run: Run
    start_deg: float
    end_deg: float
    shown: str | None  # the mode whose code shows at the start
    _readings: dict = field(default_factory=dict, repr=False)
    _rests: dict = field(default_factory=dict, repr=False)

    @property
    def transport(self) -> Transport:
        """Any of the machines for which it is the same."""
        return self.run.transport

    @property
    def direction(self) -> int:
        return SENSE[self.run.sense]

    @cached_property
    def shut(self) -> tuple[float, Obstacle] | None:
        """The first obstacle on the way, and where it is met."""
        obstacles = self.run.obstacles + self.run.hand_overs
        met = [
            ((at - self.start_deg) * self.direction, number, at)
            for number, obstacle in enumerate(obstacles)
            for at in (arc[0] if self.direction > 0 else arc[1] for arc in obstacle.arcs)
            if (self.end_deg - at) * self.direction > TINY
        ]
        if not met:
            return None
        _, number, at = min(met)
        return at, obstacles[number]

    def reading(self, mode: str) -> float | None:
        """Theta at which the code of a mode counts: after its edge in motion, once it has stood.

        Wherever the drive can turn to, be it after the time-out.
        """
        if mode not in self._readings:
            self._readings[mode] = self._find_reading(mode)
        return self._readings[mode]

    def _find_reading(self, mode: str) -> float | None:
        direction, settle = self.direction, self.transport.settle_deg
        arcs = self.run.code_arcs(self.transport.mode(mode).code)
        for start, end in arcs if direction > 0 else reversed(arcs):
            edge = start if direction > 0 else end
            if abs(edge - self.start_deg) <= TINY and self.shown == mode:
                continue  # it showed before the motor turned: no edge
            read = edge + direction * settle
            if end - start >= settle - TINY and (self.end_deg - read) * direction >= -TINY:
                return read
        return None

    def rest(self, read_deg: float) -> Rest:
        """Where it comes to rest if it is switched off where the code was read."""
        if read_deg not in self._rests:
            self._rests[read_deg] = self._find_rest(read_deg)
        return self._rests[read_deg]

    def _find_rest(self, read: float) -> Rest:
        stop, hit = self._coasted(read)
        why = f"it reads the code at {say(read, '°')} and comes to rest at {say(stop, '°')}"
        if self.transport.release:
            why = f"the latch holds it at {say(stop % 360.0, '°')}, where the code shows"
        return Rest(self.stand_at(stop), stop, hit, why)

    def _coasted(self, read: float) -> tuple[float, str | None]:
        """The coasting angle on, or what it runs into, and the words for that."""
        stop, hit, direction = self.transport.coasted(read, self.run.sense), None, self.direction
        for obstacle in self.run.obstacles:
            for low, high in obstacle.arcs:
                at = low if direction > 0 else high
                if (at - read) * direction >= -TINY and (stop - at) * direction > TINY:
                    stop = at
                    if obstacle.kind != "elsewhere":
                        hit = obstacle_words(obstacle, at, self.transport)[1]
        return stop, hit

    def stand_at(self, theta: float) -> Stand:
        """How the machine stands at an angle; theta is counted within one turn of a cam that goes round."""
        places, turns = self.run.places_at(theta), 0.0
        if self.transport.cyclic:
            turns = theta // 360.0 * 360.0
            places = {name: place - turns for name, place in places.items()}
        return Stand(theta - turns, places, self.run.sense)


def course_to(transport: Transport, stand: Stand, sense: str, end_deg: float, far_deg: float) -> Course:
    """The course from a stand to ``end_deg``; it is followed to ``far_deg``."""

    def find() -> Course:
        low, high = sorted((stand.theta, far_deg))
        run = Run(transport, sense, low, high, stand.places)
        return Course(run, stand.theta, end_deg, mode_shown(transport, stand))

    return _COURSES.of((transport.decides.course, stand, sense, end_deg), find)


def mode_shown(transport: Transport, stand: Stand) -> str | None:
    """The mode whose code shows where the machine stands, if any."""

    def find() -> str | None:
        code = closed_contacts(transport, stand.places)
        return next((mode.name for mode in transport.modes if mode.code == code), None)

    return _SHOWN.of((transport.decides.course, stand), find)
