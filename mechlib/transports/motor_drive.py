"""What turns the drive: the motor on its supply, the belt behind it, and the train down to the outputs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mechlib.drives.belt_grip import BeltDrive
from mechlib.drives.motor import Motor
from mechlib.say import say
from mechlib.transports.motor_shares import Largest

DEG_S = 6.0  # degrees a second in 1 rev/min


@dataclass(frozen=True)
class Spring:
    """The spring on a follower: the force in N at a lift, and how it grows with the lift.

    Positive pushes the follower back towards smaller lifts, and grows as the lift grows; negative pushes it
    on towards larger ones, and gets less.  A spring that has gone slack gives no force: it never turns round.
    """

    at_mm: float
    force_N: float
    rate_N_mm: float = 0.0

    def force(self, lift_mm):
        """Force in N at a lift (a number or an array).

        >>> Spring(0, 2, 0.15).force(10.0), Spring(6.5, 8, 2).force(0.0), Spring(0, -1, 0.5).force(1.5)
        (3.5, 0.0, -0.25)
        """
        force = self.force_N + self.rate_N_mm * (lift_mm - self.at_mm)
        if not self.rate_N_mm:
            return force
        least, most = (max, min) if isinstance(lift_mm, float) else (np.maximum, np.minimum)
        return least(force, 0.0) if self.force_N >= 0 else most(force, 0.0)


NO_SPRING = Spring(0.0, 0.0)


@dataclass(frozen=True)
class MotorDrive:
    """The motor with all that lies between it and the outputs.

    ``turns_per_cam_turn``: of the motor, unloaded, for one turn of the main cam (for a motor that turns
    something else: for as many degrees of theta); ``efficiency`` and
    ``back_efficiency``: of all meshes upstream of the stages, driving and driven back (0 where the load can't
    turn the motor, as through a worm); ``friction_Nmm``: of the train, felt at the motor; ``coasts``: what
    the file's coasting angle is multiplied by in its stages, 1 but for a train with other tooth counts.

    >>> from mechlib.drives.motor import motor_from_line
    >>> one = MotorDrive(motor_from_line(12, 3600, 8), 300, 0.5, 0.0, 0.4)
    >>> one.deg_s(np.array([0.0, 4.0])).round(6).tolist(), round(one.limit_Nmm, 6)
    ([72.0, 36.0], 8.0)
    """

    motor: Motor
    turns_per_cam_turn: float
    efficiency: float = 1.0
    back_efficiency: float = 1.0
    friction_Nmm: float = 0.0
    belt: BeltDrive | None = None
    dead_senses: tuple[str, ...] = ()
    name: str = "motor"
    coasts: float = 1.0

    @cached_property
    def limit_Nmm(self) -> float:
        """The torque that can't be had any more: the motor stalls, or the belt slips.

        Taken for a load that drives the motor on, too, though the belt then holds somewhat less.
        """
        stall = self.motor.stall_torque_Nmm
        return min(stall, self.belt.slip_torque_driver_Nmm) if self.belt else stall

    @property
    def belt_slips_first(self) -> bool:
        """Whether it is the belt that gives way before the motor stalls."""
        return self.limit_Nmm < self.motor.stall_torque_Nmm

    def deg_s(self, torque_Nmm: np.ndarray) -> np.ndarray:
        """Speed in degrees of theta a second at a torque of the motor, with the belt's creep."""
        rev_min = self.motor.no_load_rev_min * (1 - torque_Nmm / self.motor.stall_torque_Nmm)
        return DEG_S * rev_min / self.turns_per_cam_turn * (1 - self._creep(torque_Nmm))

    def _creep(self, torque_Nmm):
        """Part of the speed that the belt's stretching takes, as in ``BeltDrive.carry``.

        The tight run's tension is taken to grow evenly from rest to slipping: up to 3 % of the creep is off.
        """
        if self.belt is None:
            return 0.0
        pull, belt = torque_Nmm * (2 / self.belt.path.driver_mm), self.belt
        return pull / (belt.belt.stiffness_N + belt.pretension_N + self._tight_share * pull)

    @cached_property
    def _tight_share(self) -> float:
        """What part of the pull the tight run's tension grows by, on average up to where the belt slips."""
        tight, slack = self.belt.slipping_N
        return (tight - self.belt.pretension_N) / (tight - slack) if tight else 0.0

    def sentence(self) -> str:
        """What the motor and the belt can do."""
        which = "the belt slips" if self.belt_slips_first else "the motor stalls"
        turns = f"It makes {say(self.turns_per_cam_turn, 'turns')} for one of the main cam"
        return f"{self.motor.sentence()} {turns}, and {which} at {say(self.limit_Nmm, 'N·mm', 2)}."


@dataclass(frozen=True)
class Stall:
    """Where the motor can't go on: what is asked there, what can be had, what limits it, what asks most."""

    theta_deg: float
    asked_Nmm: float
    limit_Nmm: float
    belt_slips: bool
    heaviest: Largest

    def sentence(self) -> str:
        """The finding, as it stands in the story of a change."""
        where = say(self.theta_deg, "°")
        if self.limit_Nmm <= 0:
            return f"the belt hangs loose and pulls nothing: the drive stands at {where}"
        what, can = ("the belt slips", "it passes on") if self.belt_slips else ("the motor stalls", "it has")
        return (
            f"{what} at {where}: the load, {self.heaviest.words('from')}, asks more "
            f"than the {say(self.limit_Nmm, 'N·mm', 2)} that {can}"
        )
