"""Try a mode change against the motor: low supply, slack belt, hard grease, a stiff lever, a tired motor.

The change runs, is slow, or stalls; and for the leg that decides it, what every lever and gear asks of the
motor over theta, added up so that the shares and the train's own friction are the whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor, log10

import numpy as np

from mechlib.errors import MechError, check_number
from mechlib.ranges import Choice, Range
from mechlib.say import columns, say
from mechlib.transports.effort import Effort, effort
from mechlib.transports.force_faults import (
    glazed_belt,
    hard_grease,
    low_supply,
    slack_belt,
    stiff_lever,
    weak_motor,
)
from mechlib.transports.mode_change import change
from mechlib.transports.model import MAIN_CAM, SENSE, Transport
from mechlib.transports.motor_drive import MotorDrive
from mechlib.transports.motor_shares import FRICTION, Largest, at_cam_and_motor, largest
from mechlib.transports.outcomes import RIGHT, Change, LegRun
from mechlib.transports.timing import arrival
from mechlib.transports.track_loads import A_RADIAN

COARSE_DEG, FINE_DEG = 0.5, 0.01  # of theta, between the places at which the heaviest load is looked for
LEAST_SHARE_NMM = 0.005  # at the motor; less isn't told
LEAST_PERCENT = 10  # of friction or torque that a slider leaves


@dataclass(frozen=True)
class Share:
    """What one lever or gear asks: N·mm over theta, as at the main cam, and what comes of it at the motor."""

    name: str
    cam_Nmm: float
    motor_Nmm: float


@dataclass(frozen=True)
class Demand:
    """What is asked of the motor at one place, and who asks it, the largest share first.

    The train's own friction isn't among the shares; with it they add up to what is asked.
    """

    theta_deg: float
    asked_Nmm: float
    friction_Nmm: float
    shares: tuple[Share, ...]

    @property
    def largest(self) -> Largest:
        """Who asks most there, and whether that is more than half."""
        return largest({share.name: share.motor_Nmm for share in self.shares}, self.friction_Nmm)

    @property
    def heaviest(self) -> str:
        """Who asks most there."""
        return self.largest.names[0]

    def table(self) -> str:
        """The shares, those that help with a minus, then friction and sum, as columns."""
        rows = [(s.name, say(s.cam_Nmm, "N·mm"), say(s.motor_Nmm, "N·mm", 2)) for s in self.shares]
        rows.append((FRICTION, "", say(self.friction_Nmm, "N·mm", 2)))
        rows.append(("all together", "", say(self.asked_Nmm, "N·mm", 2)))
        return columns((f"at {say(self.theta_deg, '°')}", "at the main cam", "at the motor"), rows)


@dataclass(frozen=True, eq=False)
class EffortTrial:
    """A mode change of a transport with faults of its drive and loads, seen from the motor.

    ``leg`` is the one that decides: the first that failed, else the one that took longest.
    """

    transport: Transport
    change: Change

    @property
    def drive(self) -> MotorDrive:
        """The motor that is hardest pressed on the leg, with what lies behind it."""
        return self.transport.motor_at(self.worst_deg)

    @cached_property
    def leg(self) -> LegRun:
        """The leg that decides."""
        failed = [leg for leg in self.change.legs if leg.ended != RIGHT]
        return failed[0] if failed else max(self.change.legs, key=lambda leg: leg.time_s)

    @property
    def effort(self) -> Effort:
        """What moving in the sense of the leg asks of the motor, play taken up."""
        return effort(self.transport, self.leg.leg.sense)

    @cached_property
    def wanted_deg(self) -> float:
        """Where the leg's code would be read; where the leg ended if that isn't ahead."""
        came = arrival(self.transport, self.leg.leg.mode, self.leg.leg.sense)
        if came is None:
            return self.leg.end_deg
        sense, start = SENSE[self.leg.leg.sense], self.leg.start_deg
        way = (came.read_deg - start) * sense
        if self.transport.cyclic:
            way = way % 360 or 360  # the next time that it comes round
        return start + sense * way if way > 0 else self.leg.end_deg

    @cached_property
    def worst(self) -> Demand:
        """The place at which most is asked on the leg's whole way, whether it gets so far or not."""
        return self.at(self.worst_deg)

    @cached_property
    def worst_deg(self) -> float:
        """Theta of that place; of several motors' ways, where the most is asked of what there is."""
        low, high = sorted((self.leg.start_deg, self.wanted_deg))
        found = self._most(low, high, COARSE_DEG)
        return self._most(max(low, found - COARSE_DEG), min(high, found + COARSE_DEG), FINE_DEG)

    def at(self, theta_deg: float) -> Demand:
        """What is asked at any theta of the travel while the drive turns in the sense of the leg.

        Raises MechError outside the travel (on a cam that goes round: beyond two turns either way).

        >>> from mechlib.transports import load
        >>> effort_trial(load("alder"), "STOP", "PLAY").at(80).heaviest
        'loading arms'
        """
        low, high = (-720.0, 1080.0) if self.transport.cyclic else self.transport.ends
        theta = check_number("theta_deg", theta_deg, low, high, "°")
        at, friction = np.array([theta]), self.transport.motor_at(theta).friction_Nmm
        both = at_cam_and_motor(self.effort, at)
        shares = [Share(name, float(cam[0]), float(motor[0])) for name, (cam, motor) in both.items()]
        asked = friction + sum(share.motor_Nmm for share in shares)
        told = sorted((s for s in shares if abs(s.motor_Nmm) >= LEAST_SHARE_NMM), key=lambda s: -s.motor_Nmm)
        return Demand(theta % 360 if self.transport.cyclic else theta, asked, friction, tuple(told))

    def _most(self, low: float, high: float, step: float) -> float:
        """Theta of the largest torque of the motor from one angle to another, to a step."""
        theta = np.linspace(low, high, ceil((high - low) / step) + 1)
        asked = self.effort.motor_Nmm(theta)
        if len(self.transport.motors) > 1:
            asked = asked / np.maximum(self.effort.limit_Nmm(theta), LEAST_SHARE_NMM)
        return float(theta[np.argmax(asked)])

    @property
    def took(self) -> str:
        """How long the whole change took, in words."""
        return f"It {'takes' if self.change.good else 'ends after'} {say(self.change.time_s, 's')}."

    def demand(self) -> str:
        """What is asked at most on the leg's way, and what there is."""
        worst, drive = self.worst, self.drive
        there = say(drive.limit_Nmm, "N·mm", 2)
        can = f"the belt passes on {there}" if drive.belt_slips_first else f"the motor has {there}"
        asked = say(worst.asked_Nmm, "N·mm", 2)
        return (
            f"On the way to {self.leg.leg.mode} the {drive.name} is asked for {asked} at "
            f"most, at {say(worst.theta_deg, '°')}, {worst.largest.words('by')}; {can}."
        )

    def sentence(self) -> str:
        """The change's own sentence, its time, and what is asked of the motor beside what there is."""
        return f"{self.change.sentence()} {self.took} {self.demand()}"

    def meters(self) -> str:
        """Speed and current of the motor at the worst place: at most those at which belt or motor give in."""
        drive = self.drive
        return drive.motor.at(min(self.worst.asked_Nmm, drive.limit_Nmm)).sentence()

    def table(self) -> str:
        """The story of the change, leg by leg, and the shares at the worst place."""
        return f"{self.change.story()}\n\n{self.worst.table()}\n\n{self.meters()}"


def motor_shares(found: Effort, theta) -> dict[str, np.ndarray]:
    """What each follower, and the drag of each part, asks of the motor over theta, in N·mm.

    Each load goes up its chain of meshes and through stage and train, divided by an efficiency where the
    power comes from the motor and multiplied where the load drives; so the shares and the train's own
    friction add up to ``found.motor_Nmm(theta)``.  ``theta``: degrees, any shape of one dimension.

    >>> from mechlib.transports import load
    >>> found, theta = effort(load("alder"), "loading"), np.array([129.75])
    >>> sum(motor_shares(found, theta).values()).round(4) == (found.motor_Nmm(theta) - 0.5).round(4)
    array([ True])
    """
    both = at_cam_and_motor(found, np.asarray(theta, float))
    return {name: motor for name, (_, motor) in both.items()}


def chosen(transport: Transport, motor: str | None = None) -> MotorDrive:
    """The motor of that name; None: the one that turns the main cam.  Raises MechError where there is none.

    >>> from mechlib.transports import load
    >>> chosen(load("cedar")).name
    'cam motor'
    """
    if not transport.motors:
        raise MechError(f"{transport.name} gives no motor", "add a [motor] to its file, or take another")
    known = {drive.name: drive for drive in transport.motors}
    if motor is None:
        return transport.motor_of(next(stage for stage in transport.stages if MAIN_CAM in stage.drives))
    if motor not in known:
        raise MechError(f"no motor is called {motor!r}", "there is " + ", ".join(known))
    return known[motor]


def effort_trial(
    transport: Transport,
    start: str,
    target: str,
    voltage_V: float | None = None,
    grown_percent: float = 0.0,
    friction_percent: float = 100.0,
    motor_percent: float = 100.0,
    greased: str | None = None,
    grease_Nmm: float = 0.0,
    stiff: str | None = None,
    stiff_N: float = 0.0,
    motor: str | None = None,
) -> EffortTrial:
    """A mode change with faults of the drive and the loads, and what it asks of the motor.

    The motor (of several ``motor``; None: the one that turns the main cam) gets ``voltage_V`` (0.1 V to that
    of the file; None: that) and has ``motor_percent`` of its torque left (1 to 100 %); its belt has grown
    longer by ``grown_percent`` (0 to 50 %) and has ``friction_percent`` of its friction left (2 to 100 %);
    the gear ``greased`` (None: the main cam) asks ``grease_Nmm`` more (0 to 1e5 N·mm), the follower ``stiff``
    (None: the heaviest) ``stiff_N`` more (0 to 1e4 N).
    Raises MechError out of range, for unknown names, a transport without motor or with faults already, a
    fault of the belt where there is none, and where the motor needn't turn at all.

    >>> from mechlib.transports import load
    >>> effort_trial(load("alder"), "STOP", "PLAY", grown_percent=2).took
    'It ends after 17.6 s.'
    """
    if transport.sound is not transport:
        raise MechError("this transport has faults", "try the change on the sound one")
    drive = chosen(transport, motor)
    grip = check_number("friction_percent", friction_percent, 2, 100, "%")
    faults = [weak_motor(motor_percent, drive.name)]
    if voltage_V is not None:
        faults.append(low_supply(voltage_V, drive.name))
    if check_number("grown_percent", grown_percent, 0, 50, "%") > 0:
        faults.append(slack_belt(grown_percent, drive.name))
    if grip < 100:
        if drive.belt is None:
            raise MechError(f"{transport.name} gives no belt", "leave its friction at 100 %")
        faults.append(glazed_belt(drive.belt.belt.friction * grip / 100, drive.name))
    faults.append(hard_grease(greased or transport.roots[0].name, grease_Nmm))
    faults.append(stiff_lever(stiff or heaviest(transport), stiff_N))
    tried = transport.with_faults(*faults)
    found = change(tried, start, target)
    if not any(leg.start_deg != leg.end_deg or leg.ended != RIGHT for leg in found.legs):
        raise MechError(f"from {start} to {target} the motor doesn't turn", "choose another start or target")
    return EffortTrial(tried, found)


def heaviest(transport: Transport) -> str:
    """The follower that asks for the largest torque anywhere on the travel, in either sense.

    Raises MechError for a transport without followers.

    >>> from mechlib.transports import load
    >>> heaviest(load("alder"))
    'pinch lever'
    """
    if not transport.followers:
        raise MechError(f"{transport.name} has no followers", "choose another transport")
    loads = _loads(transport)
    return max((follower.name for follower in transport.followers), key=lambda name: np.max(loads[name]))


def _loads(transport: Transport) -> dict[str, np.ndarray]:
    """Each load over the whole travel, in both senses."""
    low, high = transport.ends
    theta = np.linspace(low, high, ceil((high - low) / COARSE_DEG) + 1)
    both = [effort(transport, sense).loads(theta) for sense in SENSE]
    return {name: np.concatenate([loads[name] for loads in both]) for name in both[0]}


def effort_ranges(transport: Transport, motor: str | None = None) -> dict[str, Range | Choice]:
    """What may be chosen for ``effort_trial`` of that motor, by its names, starting from a sound machine.

    Grease goes up to about half, and the stiffness of the heaviest lever up to about the whole of what the
    motor can move.  Without a belt its two values are left out.  Raises MechError without a motor.

    >>> from mechlib.transports import load
    >>> [one.span() for one in effort_ranges(load("alder")).values() if isinstance(one, Range)]
    ['3.0 V to 12.0 V', '0.0% to 8.0%', '10% to 100%', '10% to 100%', '0 N·mm to 100 N·mm', '0.0 N to 10.0 N']
    """
    drive = chosen(transport, motor)
    modes, lever = transport.mode_names, heaviest(transport)
    room = (drive.limit_Nmm - drive.friction_Nmm) * drive.turns_per_cam_turn * drive.efficiency
    stiffer = transport.with_faults(stiff_lever(lever, 1))
    a_newton = float(np.max(_loads(stiffer)[lever] - _loads(transport)[lever])) or A_RADIAN  # N·mm
    volts, gears = drive.motor.voltage_V, [g.name for g in (*transport.roots, *transport.parts)]
    found = {
        "start": Choice("start from", modes, modes[0]),
        "target": Choice("ask for", modes, modes[-1]),
        "voltage_V": Range(
            "supply at the motor", volts - 0.1 * floor(7.5 * volts + 1e-9), volts, 0.1, volts, "V"
        ),
        "grown_percent": None,
        "friction_percent": None,
        "motor_percent": Range("torque that the motor has left", LEAST_PERCENT, 100, 5, 100, "%"),
        "greased": Choice("hard grease on", tuple(gears), gears[0]),
        "grease_Nmm": _from_nought("hard grease asks", _round(room / 2), "N·mm"),
        "stiff": Choice("stiff lever", tuple(f.name for f in transport.followers), lever),
        "stiff_N": _from_nought("stiff lever asks", _round(room / a_newton), "N"),
    }
    if drive.belt:
        top = float(max(ceil(drive.belt.stretch_percent - 1e-6), 1))
        found["grown_percent"] = Range("belt has grown longer by", 0.0, top, 0.1, 0.0, "%")
        found["friction_percent"] = Range("friction that the belt has left", LEAST_PERCENT, 100, 5, 100, "%")
    return {name: control for name, control in found.items() if control}


def _round(most: float) -> float:
    """The largest of 1, 2, 5, 10, 20, 50… that isn't above a number; and their like below 1."""
    scale = 10.0 ** floor(log10(most))
    return scale * max(n for n in (1, 2, 5) if n * scale <= most * (1 + 1e-9))


def _from_nought(label: str, top: float, unit: str) -> Range:
    """Fifty steps up from nought; whole numbers where the steps are."""
    step = top / 50
    if step >= 1:
        return Range(label, 0, round(top), round(step), 0, unit)
    return Range(label, 0.0, top, step, 0.0, unit)
