"""Faults of what drives the cam and of what stands against it; each makes a new transport.

Faults of a motor, its driver or its belt take the motor's name, which is needed where there are several.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from mechlib.errors import MechError, check_number
from mechlib.say import listing, say
from mechlib.transports.model import SENSE, Transport
from mechlib.transports.motor_drive import MotorDrive


@dataclass(frozen=True)
class WeakMotor:
    """A motor that has lost part of its stall torque; its speed without load stays."""

    left_percent: float
    motor: str | None = None

    def put_in(self, transport: Transport) -> Transport:
        drive = _drive(transport, self.motor)
        weaker = replace(
            drive.motor,
            resistance_ohm=drive.motor.resistance_ohm * 100 / self.left_percent,
            friction_Nmm=drive.motor.friction_Nmm * self.left_percent / 100,
        )
        return _with(transport, replace(drive, motor=weaker))

    def sentence(self) -> str:
        return f"The {_motor(self)} has {say(self.left_percent, '%', 0)} of its torque left."


@dataclass(frozen=True)
class LowSupply:
    """A supply that gives the motor less than it should."""

    voltage_V: float
    motor: str | None = None

    def put_in(self, transport: Transport) -> Transport:
        drive = _drive(transport, self.motor)
        if self.voltage_V > drive.motor.voltage_V:
            right = f"a sagging supply gives at most the {drive.motor.voltage_V:g} V of the file"
            raise MechError(f"voltage_V is {self.voltage_V:g} V", right)
        return _with(transport, replace(drive, motor=drive.motor.on(self.voltage_V)))

    def sentence(self) -> str:
        return f"The {_motor(self)} gets {say(self.voltage_V, 'V')}."


@dataclass(frozen=True)
class SlackBelt:
    """A belt that has grown longer."""

    percent: float
    motor: str | None = None

    def put_in(self, transport: Transport) -> Transport:
        drive = _belted(transport, self.motor)
        belt = replace(drive.belt, belt=drive.belt.belt.slackened(self.percent))
        return _with(transport, replace(drive, belt=belt))

    def sentence(self) -> str:
        return f"The {_belt(self)} has grown {say(self.percent, '%')} longer."


@dataclass(frozen=True)
class GlazedBelt:
    """A belt with less friction on its pulleys."""

    friction: float
    motor: str | None = None

    def put_in(self, transport: Transport) -> Transport:
        drive = _belted(transport, self.motor)
        belt = replace(drive.belt, belt=drive.belt.belt.glazed(self.friction))
        return _with(transport, replace(drive, belt=belt))

    def sentence(self) -> str:
        return f"The {_belt(self)}'s friction is down to {say(self.friction, '', 2)}."


@dataclass(frozen=True)
class HardGrease:
    """Grease gone hard on one gear: so much more friction torque, in N·mm at that gear."""

    gear: str
    more_Nmm: float

    def put_in(self, transport: Transport) -> Transport:
        _driven(transport)
        gears = {gear.name for gear in (*transport.roots, *transport.parts)}
        if self.gear not in gears:
            raise MechError(f"no gear is called {self.gear!r}", f"there are {listing(sorted(gears))}")

        def stiffer(all_of):
            return tuple(
                replace(g, drag_Nmm=g.drag_Nmm + self.more_Nmm) if g.name == self.gear else g for g in all_of
            )

        return transport.changed(roots=stiffer(transport.roots), parts=stiffer(transport.parts))

    def sentence(self) -> str:
        return f"The grease on the {self.gear} has gone hard: {say(self.more_Nmm, 'N·mm')} more."


@dataclass(frozen=True)
class StiffLever:
    """A lever that is stiff on its pivot or rubs: so much more friction, in N at the follower."""

    follower: str
    more_N: float

    def put_in(self, transport: Transport) -> Transport:
        _driven(transport)
        old = transport.follower(self.follower)
        new = replace(old, friction_N=old.friction_N + self.more_N)
        return transport.changed(followers=tuple(new if f is old else f for f in transport.followers))

    def sentence(self) -> str:
        return f"The {self.follower} is stiff: {say(self.more_N, 'N')} more."


@dataclass(frozen=True)
class DeadDriver:
    """A driver output that gives nothing in one sense of the motor."""

    sense: str
    motor: str | None = None

    def put_in(self, transport: Transport) -> Transport:
        drive = _drive(transport, self.motor)
        dead = tuple(dict.fromkeys((*drive.dead_senses, self.sense)))
        return _with(transport, replace(drive, dead_senses=dead))

    def sentence(self) -> str:
        return f"The {_motor(self)}'s driver gives nothing in the {self.sense} sense."


def _driven(transport: Transport) -> None:
    if not transport.motors:
        raise MechError(f"{transport.name} gives no motor", "add a [motor] to its file or leave this out")


def _drive(transport: Transport, motor: str | None) -> MotorDrive:
    """The motor of that name; without a name the only one."""
    _driven(transport)
    names = [drive.name for drive in transport.motors]
    if motor is None and len(names) > 1:
        raise MechError(f"{transport.name} has {len(names)} motors", f"say which one: {listing(names)}")
    if motor is not None and motor not in names:
        raise MechError(f"no motor is called {motor!r}", f"there is {listing(names)}")
    return next(drive for drive in transport.motors if motor in (None, drive.name))


def _belted(transport: Transport, motor: str | None) -> MotorDrive:
    drive = _drive(transport, motor)
    if drive.belt is None:
        of = f" for the {motor}" if motor else ""
        raise MechError(f"{transport.name} gives no belt{of}", "add a [belt] to its file or leave this out")
    return drive


def _with(transport: Transport, drive: MotorDrive) -> Transport:
    """The transport with this motor instead of the one of its name."""
    return transport.changed(motors=tuple(drive if d.name == drive.name else d for d in transport.motors))


def _motor(fault) -> str:
    return fault.motor or "motor"


def _belt(fault) -> str:
    return f"belt of the {fault.motor}" if fault.motor else "belt"


def weak_motor(left_percent: float, motor: str | None = None) -> WeakMotor:
    """A motor with ``left_percent`` of its torque, 1 to 100, as worn brushes leave it: more resistance.

    Its speed without load stays, and its torque for an ampere.  A weak magnet is another fault: the one
    grows, the other falls.

    >>> weak_motor(60).sentence()
    'The motor has 60% of its torque left.'
    """
    return WeakMotor(check_number("left_percent", left_percent, 1, 100, "%"), motor)


def low_supply(voltage_V: float, motor: str | None = None) -> LowSupply:
    """A supply of ``voltage_V``, 0.1 V to that of the file.

    >>> low_supply(7.5).sentence()
    'The motor gets 7.5 V.'
    """
    return LowSupply(check_number("voltage_V", voltage_V, 0.1, 100, "V"), motor)


def slack_belt(percent: float, motor: str | None = None) -> SlackBelt:
    """A belt grown longer by ``percent``, 0 to 50.

    >>> slack_belt(4).sentence()
    'The belt has grown 4.0% longer.'
    """
    return SlackBelt(check_number("percent", percent, 0, 50, "%"), motor)


def glazed_belt(friction: float, motor: str | None = None) -> GlazedBelt:
    """A belt whose friction on its pulleys is ``friction``, 0.01 to 3.

    >>> glazed_belt(0.3).sentence()
    "The belt's friction is down to 0.30."
    """
    return GlazedBelt(check_number("friction", friction, 0.01, 3), motor)


def hard_grease(gear: str, more_Nmm: float) -> HardGrease:
    """Hard grease on a timed part, the main cam or another output: ``more_Nmm`` at that gear, 0 to 1e5.

    >>> hard_grease("main cam", 40).sentence()
    'The grease on the main cam has gone hard: 40.0 N·mm more.'
    """
    return HardGrease(gear, check_number("more_Nmm", more_Nmm, 0, 1e5, "N·mm"))


def stiff_lever(follower: str, more_N: float) -> StiffLever:
    """A follower that asks ``more_N`` against its motion, 0 to 1e4.

    >>> stiff_lever("pinch lever", 4).sentence()
    'The pinch lever is stiff: 4.0 N more.'
    """
    return StiffLever(follower, check_number("more_N", more_N, 0, 1e4, "N"))


def dead_driver(sense: str, motor: str | None = None) -> DeadDriver:
    """A driver output that is dead in the "loading" or the "unloading" sense.

    >>> dead_driver("unloading").sentence()
    "The motor's driver gives nothing in the unloading sense."
    """
    if sense not in SENSE:
        raise MechError(f"sense is {sense!r}", f"it must be {listing(SENSE)}")
    return DeadDriver(sense, motor)
