"""What lies ahead of a leg: how far the drive can turn, how far it comes in time, where it stalls."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import inf

from mechlib.transports.arcs import TINY, holding, repeated
from mechlib.transports.course import Course, course_to
from mechlib.transports.effort import MOST_TURNS
from mechlib.transports.effort_pieces import EffortPieces, effort_from
from mechlib.transports.model import SENSE, Transport
from mechlib.transports.motor_drive import Stall
from mechlib.transports.obstacle_words import obstacle_words
from mechlib.transports.outcomes import JAMMED, Stand
from mechlib.transports.runs import Obstacle, Run

JUST_BEFORE_DEG = 1e-6  # an obstacle, where the loads are those of the way to it


@dataclass(frozen=True)
class End:
    """Where a motion ends, its outcome (one of OUTCOMES), the words for it, and what stands in the way.

    ``moving``: the drive is still on its way there when the time-out comes.
    """

    theta: float
    outcome: str
    why: str
    obstacle: Obstacle | None = None
    moving: bool = False


@dataclass(frozen=True, eq=False)
class Ahead:
    """A course, and what of it a machine reaches in ``time_s``."""

    transport: Transport
    course: Course
    time_s: float

    @property
    def run(self) -> Run:
        return self.course.run

    @property
    def direction(self) -> int:
        return self.course.direction

    @property
    def start_deg(self) -> float:
        return self.course.start_deg

    @property
    def end_deg(self) -> float:
        return self.course.end_deg

    @property
    def shut(self) -> tuple[float, Obstacle] | None:
        """The first obstacle on the way, and where it is met."""
        return self.course.shut

    def reading(self, mode: str) -> float | None:
        """Theta at which the code of a mode counts, None if nowhere."""
        return self.course.reading(mode)

    @cached_property
    def _effort(self) -> EffortPieces | None:
        """None where the file gives no motor."""
        run = self.run
        return effort_from(Run(self.transport, run.sense, run.low, run.high, run.places), self.start_deg)

    def before(self, theta: float, other: float) -> bool:
        """Whether ``theta`` is reached no later than ``other``."""
        return (other - theta) * self.direction >= -TINY

    def seconds(self, theta: float) -> float:
        """Time from the start to ``theta``."""
        if self._effort is None:
            return abs(theta - self.start_deg) / self.transport.speed_deg_s
        return self._effort.seconds(theta)

    def seconds_to(self, far_deg: float) -> float:
        """Time from the start to where the way ends."""
        return self._effort.way(far_deg).seconds if self._effort else self.seconds(far_deg)

    def in_time(self, theta: float) -> bool:
        """Whether ``theta`` is reached before the time-out, if nothing stops the drive on the way."""
        return self.seconds_to(theta) <= self.time_s or self.before(theta, self.limit_deg)

    @cached_property
    def limit_deg(self) -> float:
        """Where the drive is at the time-out; a cam that goes round is counted down to its last turns."""
        if not self.transport.cyclic and self.seconds_to(self.end_deg) <= self.time_s:
            return self.end_deg
        if self._effort:
            far = self._effort.after(self.time_s)
        else:
            reach = min(self.transport.speed_deg_s * self.time_s, 1e9)
            far = self.start_deg + self.direction * reach
        far = max(far, self.end_deg) if self.direction < 0 else min(far, self.end_deg)
        if self.transport.cyclic and abs(far - self.end_deg) <= TINY:
            return self._turned_on()
        return far

    def _turned_on(self) -> float:
        """Where in the last of ``MOST_TURNS`` turns it is at the time-out: every further turn is alike."""
        last = self.end_deg - self.direction * 360.0
        before = self.seconds(last)
        left = (self.time_s - before) % (self.seconds(self.end_deg) - before)
        if self._effort is None:
            return last + self.direction * left * self.transport.speed_deg_s
        return self._effort.after(before + left)

    def stall_before(self, far_deg: float) -> Stall | None:
        """Where the load stops the motor on the way to an angle, if it gets that far in time."""
        if self._effort is None:
            return None
        begun = self.start_deg + self.direction * 2 * TINY  # a motor that can't start stalls, shut or not
        way = self._effort.way(begun if self.before(far_deg, begun) else far_deg)
        return way.stall if way.near_s <= self.time_s else None

    @cached_property
    def stop(self) -> End | None:
        """What stops the drive, whatever it waits for; None where only the time-out or an end does."""
        far = self.shut[0] if self.shut else self.end_deg
        if stall := self.stall_before(far):
            return End(stall.theta_deg, JAMMED, stall.sentence())
        if self.shut and self.in_time(far):
            at, obstacle = self.shut
            return End(at, *obstacle_words(obstacle, at, self.transport), obstacle)
        return None

    def skipping_mesh(self, obstacle: Obstacle, theta: float) -> str | None:
        """The mesh that skips a tooth when this obstacle stops the drive at ``theta``; None if all hold."""
        if self._effort is None or obstacle.kind not in ("interlock", "part stop"):
            return None
        chain = self.transport.chains[_held(self.run, obstacle, theta)]
        return self._effort.skipping_mesh(chain, theta - self.direction * JUST_BEFORE_DEG)


def _held(run: Run, obstacle: Obstacle, theta: float) -> str:
    """The part that an obstacle holds: at its own stop, or the one whose follower moves into the other."""
    if obstacle.kind == "part stop":
        return obstacle.name
    lock = next(lock for lock in run.transport.interlocks if lock.name == obstacle.name)
    part, arcs = run.transport.follower(lock.must.follower).part, lock.must.arcs
    place = run.slipped_place(part, theta)
    if run.transport.cyclic:
        arcs = repeated(arcs, 360.0, place - 360.0, place + 360.0)
    leaves = holding(arcs, place)  # it stands right still: what comes next is that it leaves
    return part if leaves else run.transport.follower(lock.when.follower).part


def look_ahead(transport: Transport, stand: Stand, sense: str, time_s: float) -> Ahead | None:
    """What lies ahead of a stand in one sense; None where the drive stands at its end stop already."""
    theta, direction = stand.theta, SENSE[sense]
    low, high = (-inf, inf) if transport.cyclic else transport.ends
    end = theta + direction * MOST_TURNS * 360.0
    if not transport.cyclic:
        end = high if direction > 0 else low
    if abs(end - theta) <= TINY:
        return None
    far = min(max(end + direction * transport.coast_deg, low), high)  # room to coast past a late code
    return Ahead(transport, course_to(transport, stand, sense, end, far), time_s)
