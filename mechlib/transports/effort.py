"""What a motion asks of the motor: torque over theta, how fast it goes, where it stalls, how long it takes.

The load is worked out from the cams' slopes and the followers' springs, part by part down the tree of
meshes, and then back through the stage's train to the motor.  Torques at the cam are energies for a radian
of theta, so that stages that drive something else than the main cam need no special case.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from mechlib.transports.arcs import TINY, Arcs
from mechlib.transports.branch_loads import cam_on_cells, passed
from mechlib.transports.clock import Cells, Clock, cells_between, closed_in
from mechlib.transports.kept import Kept
from mechlib.transports.model import SENSE, Follower, Transport
from mechlib.transports.motor_drive import MotorDrive, Stall
from mechlib.transports.motor_shares import largest_at
from mechlib.transports.runs import Run, steady
from mechlib.transports.track_loads import asked_Nmm, moves_of, moving, track_pieces

MOST_TURNS = 3  # of a cam that goes round: by then all play is taken up and every code was met
_EFFORTS, _CORNERS = Kept(64), Kept(4096)


@dataclass(frozen=True, eq=False)
class Effort:
    """A motion of the drive, seen from the motor; ``effort`` makes it for transports that have a motor.

    A part that stands still, as its stage doesn't drive it or until its play is taken up, asks nothing.
    ``theta`` is anywhere an angle or an array of them.
    """

    run: Run
    _stalls: dict = field(default_factory=dict, repr=False)

    @property
    def transport(self) -> Transport:
        return self.run.transport

    def loads(self, theta) -> dict[str, np.ndarray]:
        """N·mm over theta (energy for a radian of it) of each follower, and of the drag of each part.

        Positive loads stand against the motion.
        """
        run, advance, sense = self.run, self.transport.advance_deg, SENSE[self.run.sense]
        followers = self.transport.followers
        found = {one.name: 0.0 for one in followers}
        if isinstance(theta, float):
            followers = [one for start, end, one in self._moved if start <= theta <= end]
        for one in followers:
            found[one.name] = asked_Nmm(one, theta, run.knots[one.part], advance[one.part], sense)
        for name, drag in self.transport.drags:
            found[f"drag of the {name}"] = moving(theta, run.knots[name]) * drag
        return found

    def carried(self, loads: dict[str, np.ndarray]) -> dict[str, np.ndarray]:
        """What each part and output carries of these loads, in N·mm: its own and those of its children.

        Where a part drives its parent (a falling flank), only what its mesh lets through helps.
        """
        transport = self.transport
        at = dict.fromkeys(transport.chains, 0.0)
        for follower in transport.followers:
            at[follower.part] = at[follower.part] + loads[follower.name]
        for name, _ in transport.drags:
            at[name] = at[name] + loads[f"drag of the {name}"]
        for part in reversed(transport.parts):  # children stand after their parents
            passes = part.mesh_efficiency
            at[part.parent] = at[part.parent] + passed(at[part.name], 1 / passes, passes)
        return at

    def cam_Nmm(self, theta) -> np.ndarray:
        """What stands against the motion at all outputs together, in N·mm over theta."""
        return self._cam(self.loads(theta))

    def _cam(self, loads) -> np.ndarray:
        at = self.carried(loads)
        return sum(at[root.name] for root in self.transport.roots)

    def motor_Nmm(self, theta, loads: dict[str, np.ndarray] | None = None) -> np.ndarray:
        """Torque that the motion asks of the motor, N·mm; the train's own friction included.

        Below 0 where a load that the train lets through drives the motor on; what helps beyond the limit of
        motor and belt is lost.  ``loads``: those over theta, where they are known already.
        """
        cam = self._cam(self.loads(theta) if loads is None else loads)
        return self._motor(theta, cam, *self._stage_efficiencies(theta))

    def _motor(self, theta, cam, *efficiencies) -> np.ndarray:
        def asked(drive: MotorDrive, cam, forward, back):
            load = passed(cam, 1 / (drive.efficiency * forward), drive.back_efficiency * back)
            return np.maximum(drive.friction_Nmm + load / drive.turns_per_cam_turn, -drive.limit_Nmm)

        return self.by_motor(theta, asked, cam, *efficiencies)

    def by_motor(self, theta, work: Callable, *arrays) -> np.ndarray:
        """``work(drive, *arrays)`` at each theta with the motor that turns there, arrays along with theta."""
        motors = self.transport.motors
        if len(motors) == 1 or isinstance(theta, float):
            return work(motors[0] if len(motors) == 1 else self.transport.motor_at(theta), *arrays)
        found, names = np.empty(np.shape(theta)), [motor.name for motor in motors]
        turns = np.zeros(np.shape(theta), int)
        for stage in self.transport.stages:
            turns[theta >= stage.start_deg] = names.index(stage.motor)
        for number, motor in enumerate(motors):
            here = turns == number
            found[here] = work(motor, *(np.broadcast_to(array, here.shape)[here] for array in arrays))
        return found

    def most_Nmm(self, drive: MotorDrive, low: float, high: float) -> float | None:
        """The largest torque asked of one motor from ``low`` to ``high`` of theta; None if it doesn't turn.

        It is looked for at the places of the cells, 1/16° apart.
        """
        first, last = self._cells.theta.searchsorted((low, high)).tolist()
        theta, asked = self._cells.theta[first:last], self._asked[first:last]
        turns = np.broadcast_to(self.by_motor(theta, lambda one: one.name == drive.name), theta.shape)
        return float(asked[turns > 0].max()) if turns.any() else None

    def limit_Nmm(self, theta) -> np.ndarray:
        """The torque that can't be had any more of the motor that turns at each theta, N·mm."""
        return self.by_motor(theta, lambda drive: drive.limit_Nmm)

    def _stage_efficiencies(self, theta) -> tuple[np.ndarray, np.ndarray]:
        both = [(stage.efficiency, stage.back_efficiency) for stage in self.transport.stages] or [(1.0, 1.0)]
        starts = [stage.start_deg for stage in self.transport.stages[1:]]  # the last holds its own end, too
        if isinstance(theta, float):
            return both[bisect_right(starts, theta)]
        forward, back = np.array(both)[np.searchsorted(starts, theta, side="right")].T
        return forward, back

    def skipping_mesh(self, chain: tuple[str, ...], theta: float) -> str | None:
        """The mesh that skips a tooth where the last part of a chain is held at ``theta``; None if all hold.

        The more the drive presses, the more each mesh of the chain carries: that one skips which needs the
        least, if the drive can give as much on top of its other loads.
        """
        drive, parts = self.transport.motor_at(theta), [self.transport.part(name) for name in chain]
        if all(part.slip_torque_Nmm is None for part in parts):
            return None
        at, (forward, _) = self.carried(self.loads(theta)), self._stage_efficiencies(theta)
        can = (drive.limit_Nmm - drive.friction_Nmm) * drive.turns_per_cam_turn * drive.efficiency * forward
        needed, passes = {}, 1.0  # of the outputs, and how much of it comes to the mesh
        for part in parts:
            passes *= part.mesh_efficiency
            if part.slip_torque_Nmm is not None:
                needed[part.name] = (part.slip_torque_Nmm * abs(part.speed) - at[part.name]) / passes
        weakest = min(needed, key=needed.get, default=None)
        spare = can - sum(at[root.name] for root in self.transport.roots)
        return weakest if weakest is not None and needed[weakest] < spare else None

    @cached_property
    def _moves(self) -> tuple[Arcs, ...]:
        """For each follower the arcs of theta on which its track moves it."""
        knots, advance, cyclic = self.run.knots, self.transport.advance_deg, self.transport.cyclic
        followers = self.transport.followers
        return tuple(moves_of(one.programme, knots[one.part], advance[one.part], cyclic) for one in followers)

    @cached_property
    def _moved(self) -> list[tuple[float, float, Follower]]:
        """From where to where a track moves its follower."""
        both = zip(self.transport.followers, self._moves, strict=True)
        return [(start - TINY, end + TINY, one) for one, moves in both for start, end in moves]

    @cached_property
    def _cells(self) -> Cells:
        """Cells between the corners of theta; every load is smooth in a cell."""
        decides = self.transport.decides
        return cells_between(_CORNERS.of((self.run.motion, decides.shifts, decides.tracks), self._corners))

    def _corners(self) -> tuple[float, ...]:
        run, advance, cyclic = self.run, self.transport.advance_deg, self.transport.cyclic
        found = {run.low, run.high, *(s.start_deg for s in self.transport.stages)}
        found.update(theta for knots in run.knots.values() for theta, _ in knots)
        for one, moves in zip(self.transport.followers, self._moves, strict=True):
            if moves:
                found.update(track_pieces(one.programme, run.knots[one.part], advance[one.part], cyclic))
        return _apart(theta for theta in found if run.low <= theta <= run.high)

    @cached_property
    def _asked(self) -> np.ndarray:
        """The torque asked of the motor at each place of the cells, N·mm."""
        cells, stages = self._cells, self.transport.stages
        if (stages, "stages") not in cells.carried:
            cells.carried[stages, "stages"] = self._stage_efficiencies(cells.theta)
        cam = cam_on_cells(self.run, cells) + np.zeros(cells.theta.shape)
        return self._motor(cells.theta, cam, *cells.carried[stages, "stages"])

    @cached_property
    def _stuck(self) -> list[int]:
        """The places of the cells at which the motor can't go on, by number in the order of the motion."""
        stuck = self._asked >= self.limit_Nmm(self._cells.theta)
        return np.flatnonzero(stuck[:: SENSE[self.run.sense]]).tolist()

    @cached_property
    def _clock(self) -> Clock:
        """Its time; where the motor stalls none is counted."""
        return Clock(self._cells, self._speed(self._cells.theta, self._asked))

    def deg_s(self, theta) -> np.ndarray:
        """Speed of the drive in degrees of theta a second; 0 where the motor can't go on."""
        theta = np.asarray(theta, float)
        return self._speed(theta, self.motor_Nmm(theta))

    def _speed(self, theta, asked) -> np.ndarray:
        goes = asked < self.limit_Nmm(theta)
        if goes.all():
            return self.by_motor(theta, lambda drive, asked: drive.deg_s(asked), asked)
        speed = self.by_motor(theta, lambda drive, asked: drive.deg_s(asked), np.where(goes, asked, 0.0))
        return np.where(goes, speed, 0.0)

    def seconds(self, start: float, end: float) -> float:
        """Time from one theta to another, ∫dθ/speed; what lies beyond a stall is for ``stall`` to tell."""
        return abs(self._clock.at(end) - self._clock.at(start))

    def after(self, start: float, seconds: float) -> float:
        """Theta that is reached so many seconds after ``start``; the end of the run if that comes sooner."""
        return self._clock.theta_at(self._clock.at(start) + SENSE[self.run.sense] * seconds)

    @cached_property
    def _way(self) -> np.ndarray:
        """The places of the cells in the order of the motion, counted along it."""
        sense = SENSE[self.run.sense]
        return sense * self._cells.theta[::sense]

    def stall(self, start: float, end: float) -> Stall | None:
        """The first theta on the way from ``start`` to ``end`` at which the motor can't go on."""
        if abs(end - start) <= TINY or not self._stuck:
            return None
        sense, way, stuck = SENSE[self.run.sense], self._way, self._stuck
        step = start + sense * TINY
        ahead = int(way.searchsorted(step * sense))
        if self._holds(step, ahead):
            return self._kept_stall((start, step), lambda: (start, step))
        first = bisect_left(stuck, ahead)
        if first == len(stuck) or end * sense <= way[stuck[first]]:
            return None
        place = stuck[first]
        free = step if place == ahead else sense * way.item(place - 1)
        held = sense * way.item(place)
        return self._kept_stall((free, held), lambda: closed_in(self._too_much, free, held))

    def _holds(self, theta: float, ahead: int) -> bool:
        """Whether the motor can't go on at theta, which lies just before the place of that number."""
        first = bisect_left(self._stuck, ahead - 1)
        beside = len({ahead - 1, ahead}.intersection(self._stuck[first : first + 2]))
        return self._too_much(theta) >= 0 if beside == 1 else beside == 2

    def _too_much(self, theta: float) -> float:
        """By how much the load asks more than the motor has, N·mm."""
        return float(self.motor_Nmm(theta)) - self.transport.motor_at(theta).limit_Nmm

    def _kept_stall(self, between: tuple[float, float], where: Callable[[], tuple[float, float]]) -> Stall:
        """The stall between two angles, for whichever leg comes there; ``where``: closer ones."""
        if between not in self._stalls:
            self._stalls[between] = self._stall(*where())
        return self._stalls[between]

    def _stall(self, free: float, held: float) -> Stall:
        """It stands where it was free last, so that it can turn back from there."""
        drive, asked = self.transport.motor_at(held), float(self.motor_Nmm(held))
        return Stall(free, asked, drive.limit_Nmm, drive.belt_slips_first, largest_at(self, held))


def _apart(angles) -> tuple[float, ...]:
    """Angles, rising, without those that all but meet the one before."""
    kept: list[float] = []
    for angle in sorted(angles):
        if not kept or angle - kept[-1] > TINY:
            kept.append(angle)
    return tuple(kept)


def effort(transport: Transport, sense: str) -> Effort | None:
    """What moving in one sense asks of the motor, over the whole travel; None where the file gives no motor.

    Play is taken up.  A cam that goes round is followed over as many turns as a leg can have.  Transports
    that are alike in all that bears on it share one.

    >>> from mechlib.transports import load
    >>> found = effort(load("alder"), "loading")
    >>> found.stall(-118, 268), 0 < found.seconds(0, 100) < found.seconds(0, 200)
    (None, True)
    """
    if transport.drive is None:
        return None
    return _EFFORTS.of((transport.decides.mechanics, sense), lambda: Effort(_whole(transport, sense)))


def _whole(transport: Transport, sense: str) -> Run:
    if transport.cyclic:
        return Run(transport, sense, -360.0 * MOST_TURNS, 360.0 * (MOST_TURNS + 1))
    return steady(transport, sense)
