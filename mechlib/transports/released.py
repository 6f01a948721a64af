"""What lies ahead of a part-toothed main gear: it goes from rest to rest, a release for each.

The controller looks at the code and at its clock while the cam stands at a rest: if it is not the code that
it waits for, and the time-out has not come, it releases the cam again.  So a step once begun is finished.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil

from mechlib.transports.ahead import Ahead
from mechlib.transports.arcs import TINY
from mechlib.transports.course import course_to
from mechlib.transports.effort import MOST_TURNS, Stall
from mechlib.transports.model import Transport
from mechlib.transports.outcomes import Stand
from mechlib.transports.runs import closed_contacts


@dataclass(frozen=True, eq=False)
class ReleasedAhead(Ahead):
    """The steps from a stand on; from one in between two rests the first of them needs no release."""

    @cached_property
    def rests(self) -> tuple[float, ...]:
        """The rests that lie ahead, in turn."""
        return self.transport.release.rests_from(self.start_deg + TINY, self.end_deg + TINY)

    @cached_property
    def _released_at(self) -> tuple[float, ...]:
        return self.transport.release.rests_from(self.start_deg - TINY, self.end_deg - TINY)

    def _count(self, theta: float) -> int:
        return sum(rest < theta - TINY for rest in self._released_at)

    def releases(self, theta: float) -> int:
        """How often the cam is released on the way to ``theta``; to the time-out over all turns.

        Where it doesn't get away from its rest it was released all the same.
        """
        more = self._limit[1] if theta == self.limit_deg else 0
        return max(self._count(theta), self._count(self.start_deg + 2 * TINY)) + more

    def seconds(self, theta: float) -> float:
        """Time from the start to ``theta``, the releases included."""
        return super().seconds(theta) + self._count(theta) * self.transport.release.release_s

    @cached_property
    def _limit(self) -> tuple[float, int]:
        """The rest at which the time-out is noticed, and the releases in whole turns left out before it.

        Past the last of ``MOST_TURNS`` turns every further turn is alike.
        """
        if not self.transport.solenoid_pulls:  # it comes to the next rest, no further
            return self.end_deg, 0
        late = self._first_late(self.start_deg, self.time_s)
        if late is not None:
            return late, 0
        last = self.end_deg - 360.0
        before, turn = self.seconds(last), self.seconds(self.end_deg) - self.seconds(last)
        turns = ceil((self.time_s - before) / turn - TINY) - 1
        late = self._first_late(last, self.time_s - turns * turn)
        return (self.end_deg if late is None else late), turns * len(self.transport.release.rests_deg)

    def _first_late(self, start: float, time_s: float) -> float | None:
        ahead = (rest for rest in self.rests if rest > start + TINY)
        return next((rest for rest in ahead if self.seconds(rest) >= time_s - TINY), None)

    @cached_property
    def limit_deg(self) -> float:
        """The rest at which the time-out is noticed."""
        return self._limit[0]

    def seconds_to(self, far_deg: float) -> float:
        """The same; its steps are looked at one by one."""
        return self.seconds(far_deg)

    def stall_before(self, far_deg: float) -> Stall | None:
        """Where the load stops the motor, in a step that was begun in time."""
        return self._stall if self._stall and self.before(self._stall.theta_deg, far_deg) else None

    @cached_property
    def _stall(self) -> Stall | None:
        found = self._effort.stall(self.end_deg) if self._effort else None
        return found if found and self.before(found.theta_deg, self.limit_deg) else None

    def reading(self, mode: str) -> float | None:
        """The first rest ahead at which the code of a mode shows."""
        code = self.transport.mode(mode).code
        shown = ((rest, closed_contacts(self.transport, self.run.places_at(rest))) for rest in self.rests)
        return next((rest for rest, closed in shown if closed == code), None)


def look_ahead_released(transport: Transport, stand: Stand, sense: str, time_s: float) -> Ahead | None:
    """What lies ahead of a stand; None where the cam stands at a rest and the solenoid doesn't pull."""
    theta, end = stand.theta, stand.theta + MOST_TURNS * 360.0
    if not transport.solenoid_pulls:
        start = transport.release.rests_from(theta - TINY, end)[0]
        if start - theta <= TINY:
            return None
        end = start
    return ReleasedAhead(transport, course_to(transport, stand, sense, end, end), time_s)
