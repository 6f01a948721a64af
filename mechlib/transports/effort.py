"""What a motion asks of the motor: torque over theta, how fast it goes, where it stalls, how long it takes.

The load is worked out from the cams' slopes and the followers' springs, part by part down the tree of
meshes, and then back through the stage's train to the motor.  Torques at the cam are energies for a radian
of theta, so that stages that drive something else than the main cam need no special case.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import pi

import numpy as np

from mechlib.transports.arcs import TINY
from mechlib.transports.model import SENSE, Follower, Transport
from mechlib.transports.motor_drive import MotorDrive, Stall
from mechlib.transports.runs import Run, steady

MOST_TURNS = 3  # of a cam that goes round: by then all play is taken up and every code was met
CELL_DEG = 0.125  # of theta: so fine that the time has four digits even next to a stall
PLACES = np.array([1e-9, 0.5, 1 - 1e-9])  # of Simpson's rule in a cell, the outer two just inside it
WEIGHTS = np.array([1, 4, 1]) / 6
CLOSE_DEG = 1e-11  # to which an angle of theta is found by halving
A_RADIAN = 180.0 / pi  # degrees


@dataclass(frozen=True, eq=False)
class Effort:
    """A motion of the drive, seen from the motor; ``effort`` makes it for transports that have a motor.

    A part that stands still, as its stage doesn't drive it or until its play is taken up, asks nothing.
    """

    run: Run

    @property
    def transport(self) -> Transport:
        return self.run.transport

    def loads(self, theta) -> dict[str, np.ndarray]:
        """N·mm over theta (energy for a radian of it) of each follower, and of the drag of each part.

        ``theta``: degrees, any shape of one dimension.  Positive loads stand against the motion.
        """
        theta, sense = np.asarray(theta, float), SENSE[self.run.sense]
        found = {}
        for follower in self.transport.followers:
            place, moving = self._place(follower.part, theta)
            found[follower.name] = moving * _asked(follower, place, sense)
        for name, drag in self.transport.drags:
            found[f"drag of the {name}"] = self._place(name, theta)[1] * drag
        return found

    def _place(self, part: str, theta) -> tuple[np.ndarray, np.ndarray]:
        """Where a part stands (slip included), and 1 where it moves along with theta, else 0."""
        at, places = np.array(self.run.knots[part], float).T
        place = np.interp(theta, at, places) + self.transport.advance_deg[part]
        piece = np.clip(np.searchsorted(at, theta, side="right") - 1, 0, len(at) - 2)
        rising = np.diff(places) > TINY
        return place, rising[piece].astype(float)

    def carried(self, theta) -> dict[str, np.ndarray]:
        """What each part and output carries, in N·mm over theta: its own loads and those of its children.

        Where a part drives its parent (a falling flank), only what its mesh lets through helps.
        """
        loads, transport = self.loads(theta), self.transport
        at = {name: np.zeros(np.shape(theta)) for name in transport.chains}
        for follower in transport.followers:
            at[follower.part] += loads[follower.name]
        for name, _ in transport.drags:
            at[name] += loads[f"drag of the {name}"]
        for part in reversed(transport.parts):  # children stand after their parents
            load, passes = at[part.name], part.mesh_efficiency
            at[part.parent] += np.where(load > 0, load / passes, load * passes)
        return at

    def cam_Nmm(self, theta) -> np.ndarray:
        """What stands against the motion at all outputs together, in N·mm over theta."""
        at = self.carried(theta)
        return sum(at[root.name] for root in self.transport.roots)

    def motor_Nmm(self, theta) -> np.ndarray:
        """Torque that the motion asks of the motor, N·mm; the train's own friction included.

        Below 0 where a load that the train lets through drives the motor on; what helps beyond the limit of
        motor and belt is lost.
        """
        theta, cam = np.asarray(theta, float), self.cam_Nmm(theta)
        forward, back = self._stage_efficiencies(theta)

        def asked(drive: MotorDrive, cam, forward, back):
            needed = cam / (drive.turns_per_cam_turn * drive.efficiency * forward)
            helped = cam * drive.back_efficiency * back / drive.turns_per_cam_turn
            return np.maximum(drive.friction_Nmm + np.where(cam > 0, needed, helped), -drive.limit_Nmm)

        return self.by_motor(theta, asked, cam, forward, back)

    def by_motor(self, theta, work: Callable, *arrays) -> np.ndarray:
        """``work(drive, *arrays)`` at each theta with the motor that turns there, arrays along with theta."""
        motors = self.transport.motors
        if len(motors) == 1:
            return np.broadcast_to(work(motors[0], *arrays), np.shape(theta))
        found, names = np.empty(np.shape(theta)), [motor.name for motor in motors]
        turns = np.zeros(np.shape(theta), int)
        for stage in self.transport.stages:
            turns[theta >= stage.start_deg] = names.index(stage.motor)
        for number, motor in enumerate(motors):
            here = turns == number
            found[here] = work(motor, *(array[here] for array in arrays))
        return found

    def limit_Nmm(self, theta) -> np.ndarray:
        """The torque that can't be had any more of the motor that turns at each theta, N·mm."""
        return self.by_motor(theta, lambda drive: drive.limit_Nmm)

    def _stage_efficiencies(self, theta) -> tuple[np.ndarray, np.ndarray]:
        forward, back = np.ones(theta.shape), np.ones(theta.shape)
        for stage in self.transport.stages:  # the last of them holds its own end, too
            here = theta >= stage.start_deg
            forward[here], back[here] = stage.efficiency, stage.back_efficiency
        return forward, back

    def skipping_mesh(self, chain: tuple[str, ...], theta: float) -> str | None:
        """The mesh that skips a tooth where the last part of a chain is held at ``theta``; None if all hold.

        The more the drive presses, the more each mesh of the chain carries: that one skips which needs the
        least, if the drive can give as much on top of its other loads.
        """
        drive, place = self.transport.motor_at(theta), np.array([theta])
        at, (forward, _) = self.carried(place), self._stage_efficiencies(place)
        can = (drive.limit_Nmm - drive.friction_Nmm) * drive.turns_per_cam_turn * drive.efficiency * forward
        needed, passes = {}, 1.0  # of the outputs, and how much of it comes to the mesh
        for part in map(self.transport.part, chain):
            passes *= part.mesh_efficiency
            if part.slip_torque_Nmm is not None:
                needed[part.name] = (part.slip_torque_Nmm * abs(part.speed) - at[part.name][0]) / passes
        weakest = min(needed, key=needed.get, default=None)
        spare = can[0] - sum(at[root.name][0] for root in self.transport.roots)
        return weakest if weakest is not None and needed[weakest] < spare else None

    @cached_property
    def _edges(self) -> np.ndarray:
        """Edges of the cells of theta over which the time is integrated; every load is smooth in a cell."""
        edges = {self.run.low, self.run.high, *(s.start_deg for s in self.transport.stages)}
        edges.update(theta for knots in self.run.knots.values() for theta, _ in knots)
        for follower in self.transport.followers:
            knots, advance = self.run.knots[follower.part], self.transport.advance_deg[follower.part]
            marks = _marks(follower, knots[0][1] + advance, knots[-1][1] + advance, self.transport.cyclic)
            for (theta, place), (_, next_place) in zip(knots, knots[1:], strict=False):
                met = (mark - advance for mark in marks if place < mark - advance < next_place)
                edges.update(theta + mark - place for mark in met)
        edges = sorted(e for e in edges if self.run.low <= e <= self.run.high)
        spans = zip(edges, edges[1:], strict=False)
        cells = [np.linspace(a, b, int((b - a) / CELL_DEG) + 2)[:-1] for a, b in spans]
        return np.concatenate([*cells, [edges[-1]]])

    @cached_property
    def _inside(self) -> np.ndarray:
        """Simpson's places in every cell, a row a cell."""
        return self._edges[:-1, None] + np.diff(self._edges)[:, None] * PLACES

    @cached_property
    def _asked_inside(self) -> np.ndarray:
        """The torque asked of the motor at each of these places, N·mm."""
        return self.motor_Nmm(self._inside.ravel()).reshape(self._inside.shape)

    @cached_property
    def _limit_inside(self) -> np.ndarray:
        """What can't be had any more at each of these places, N·mm."""
        return self.limit_Nmm(self._inside)

    @cached_property
    def _slowness(self) -> np.ndarray:
        """Seconds for a degree of theta at each of these places; 0 where the motor can't go on."""
        stuck = self._asked_inside >= self._limit_inside

        def slowness(drive: MotorDrive, asked):
            return 1.0 / drive.deg_s(asked)

        return np.where(
            stuck, 0.0, self.by_motor(self._inside, slowness, np.where(stuck, 0.0, self._asked_inside))
        )

    @cached_property
    def _clock(self) -> np.ndarray:
        """Seconds from the low end of the run to each edge; where the motor stalls no time is counted."""
        return np.concatenate(([0.0], np.cumsum(np.diff(self._edges) * (self._slowness @ WEIGHTS))))

    def _clock_at(self, theta: float) -> float:
        """The clock at any theta: that of the edge below, and what lies under the cell's parabola."""
        cell = min(max(bisect_right(self._edges, theta) - 1, 0), len(self._edges) - 2)
        first, middle, last = self._slowness[cell]
        length = self._edges[cell + 1] - self._edges[cell]
        x = (theta - self._edges[cell]) / length
        under = first + x / 2 * (4 * middle - 3 * first - last) + x**2 * 2 / 3 * (first - 2 * middle + last)
        return float(self._clock[cell] + length * x * under)

    def deg_s(self, theta) -> np.ndarray:
        """Speed of the drive in degrees of theta a second; 0 where the motor can't go on."""
        theta, asked = np.asarray(theta, float), self.motor_Nmm(theta)
        goes = asked < self.limit_Nmm(theta)
        speed = self.by_motor(theta, lambda drive, asked: drive.deg_s(asked), np.where(goes, asked, 0.0))
        return np.where(goes, speed, 0.0)

    def seconds(self, start: float, end: float) -> float:
        """Time from one theta to another, ∫dθ/speed; what lies beyond a stall is for ``stall`` to tell."""
        return abs(self._clock_at(end) - self._clock_at(start))

    def after(self, start: float, seconds: float) -> float:
        """Theta that is reached so many seconds after ``start``; the end of the run if that comes sooner."""
        then = self._clock_at(start) + SENSE[self.run.sense] * seconds
        cell = bisect_right(self._clock, then) - 1
        if not 0 <= cell < len(self._clock) - 1:
            return float(self._edges[0 if cell < 0 else -1])
        low, high = map(float, self._edges[cell : cell + 2])
        while high - low > CLOSE_DEG:
            middle = (low + high) / 2
            low, high = (middle, high) if self._clock_at(middle) < then else (low, middle)
        return high

    def stall(self, start: float, end: float) -> Stall | None:
        """The first theta on the way from ``start`` to ``end`` at which the motor can't go on."""
        sense, stuck = SENSE[self.run.sense], self._asked_inside >= self._limit_inside
        if abs(end - start) <= TINY or not np.any(stuck):
            return None
        if self._held(start + sense * TINY):
            return self._stall(start, start + sense * TINY)
        held = self._inside[stuck]
        held = held[((held - start) * sense > 0) & ((end - held) * sense > 0)]
        if not held.size:
            return None
        first = float(held[np.argmin(held * sense)])
        free = first - sense * min(CELL_DEG, abs(first - start))
        while abs(first - free) > CLOSE_DEG:  # many places at once: each asks for all loads
            between = np.linspace(free, first, 65)
            at = int(np.argmax((self.motor_Nmm(between) >= self.limit_Nmm(between))[1:])) + 1
            free, first = float(between[at - 1]), float(between[at])
        return self._stall(free, first)

    def _held(self, theta: float) -> bool:
        """Whether the motor can't go on at one theta."""
        at = np.array([theta])
        return bool(self.motor_Nmm(at)[0] >= self.limit_Nmm(at)[0])

    def _stall(self, free: float, held: float) -> Stall:
        """It stands where it was free last, so that it can turn back from there."""
        drive = self.transport.motor_at(held)
        asked = float(self.motor_Nmm(np.array([held]))[0])
        return Stall(free, asked, drive.limit_Nmm, drive.belt_slips_first, self._heaviest(held))

    def _heaviest(self, theta: float) -> str:
        """What asks most of the drive at one theta."""
        drive, loads = self.transport.motor_at(theta), self.loads(np.array([theta]))
        if drive.friction_Nmm >= drive.limit_Nmm:
            return "train's own friction"
        return max(loads, key=lambda name: loads[name][0])


def _asked(follower: Follower, place, sense: int) -> np.ndarray:
    """N·mm over theta that a follower asks while its part moves: spring and friction times the slope."""
    slope = follower.programme.slopes(place) * A_RADIAN
    spring = follower.spring.force(follower.programme.lifts(place) + follower.bent_mm)
    return sense * spring * slope + follower.friction_N * np.abs(slope)


def _marks(follower: Follower, low: float, high: float, cyclic: bool) -> list[float]:
    """Where the segments of a follower's track start and end, as often as the part comes round."""
    programme = follower.programme
    marks = [programme.segments[0].start_deg, *(segment.end_deg for segment in programme.segments)]
    if not cyclic:
        return marks
    turns = range(int(low // 360.0) - 1, int(high // 360.0) + 2)
    return [mark + 360.0 * turn for turn in turns for mark in marks]


@lru_cache(maxsize=256)
def effort(transport: Transport, sense: str) -> Effort | None:
    """What moving in one sense asks of the motor, over the whole travel; None where the file gives no motor.

    Play is taken up.  A cam that goes round is followed over as many turns as a leg can have.

    >>> from mechlib.transports import load
    >>> found = effort(load("alder"), "loading")
    >>> found.stall(-118, 268), 0 < found.seconds(0, 100) < found.seconds(0, 200)
    (None, True)
    """
    if transport.drive is None:
        return None
    if transport.cyclic:
        return Effort(Run(transport, sense, -360.0 * MOST_TURNS, 360.0 * (MOST_TURNS + 1)))
    return Effort(steady(transport, sense))
