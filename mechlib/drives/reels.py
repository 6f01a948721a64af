"""Tape on a reel: pack, turns, speed of the reel, tension and clutch torque, winding time.

The tape of length L and thickness h fills the ring between hub and pack: π·(R² − r²) = L·h.  Air between the
turns counts with h.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from mechlib.errors import MechError, check_number
from mechlib.say import say

RADIUS_MM = (1.0, 500.0)
TAPE_MM = (0.003, 1.0)
LENGTH_MM = (0.0, 1e8)
SPEED_MM_S = (0.1, 100000.0)
SPEED_REV_MIN = (0.1, 50000.0)
FORCE_N = (0.0, 500.0)
TORQUE_NMM = (0.0, 1e5)


def tape_length(tape_mm_s: float, minutes: float) -> float:
    """Length in mm that plays for so long: v·t.  ``tape_mm_s``: 0.1 to 100 000; ``minutes``: 0 to 10 000.

    Raises MechError out of range.

    >>> tape_length(47.625, 30)
    85725.0
    """
    speed = check_number("tape_mm_s", tape_mm_s, *SPEED_MM_S, "mm/s")
    return speed * 60 * check_number("minutes", minutes, 0, 10000, "min")


@dataclass(frozen=True)
class Pack:
    """Tape on a hub: hub and outer radius and thickness of the tape in mm.

    ``hub_mm``: 1 to 500; ``radius_mm``: from there to 500; ``tape_mm``: 0.003 to 1.  Raises MechError
    otherwise.

    >>> pack_of(85725, 11, 0.018).sentence()
    'The pack holds 85.7 m in 763.4 turns; its radius is 24.74 mm.'
    """

    hub_mm: float
    radius_mm: float
    tape_mm: float

    def __post_init__(self):
        check_number("hub_mm", self.hub_mm, *RADIUS_MM, "mm")
        check_number("radius_mm", self.radius_mm, self.hub_mm, RADIUS_MM[1], "mm", "the hub lies within it")
        check_number("tape_mm", self.tape_mm, *TAPE_MM, "mm")

    @property
    def length_mm(self) -> float:
        """Tape on it: π·(R² − r²)/h."""
        return pi * (self.radius_mm**2 - self.hub_mm**2) / self.tape_mm

    @property
    def turns(self) -> float:
        """Turns of tape, (R − r)/h: each adds its thickness."""
        return (self.radius_mm - self.hub_mm) / self.tape_mm

    def reel_speed(self, tape_mm_s: float) -> float:
        """Speed of the reel in rev/min while tape runs at 0.1 to 100 000 mm/s: 60·v/(2π·R).

        >>> round(Pack(11, 22, 0.018).reel_speed(47.625), 2)
        20.67
        """
        return 30 * check_number("tape_mm_s", tape_mm_s, *SPEED_MM_S, "mm/s") / (pi * self.radius_mm)

    def torque(self, tension_N: float) -> float:
        """Torque in N·mm on the reel that gives a tension of 0 to 500 N: F·R.

        >>> Pack(11, 22, 0.018).torque(0.25)
        5.5
        """
        return check_number("tension_N", tension_N, *FORCE_N, "N") * self.radius_mm

    def tension(self, torque_Nmm: float) -> float:
        """Tension in N that a torque of 0 to 1e5 N·mm on the reel gives: T/R.

        >>> Pack(11, 22, 0.018).tension(5.5)
        0.25
        """
        return check_number("torque_Nmm", torque_Nmm, *TORQUE_NMM, "N·mm") / self.radius_mm

    def wound_on(self, length_mm: float) -> Pack:
        """The pack after so much tape came on (+) or went off (−): R2 = √(R² + L·h/π).

        ``length_mm``: −1e8 to 1e8.  Raises MechError where more goes off than there is, or it grows past
        500 mm.

        >>> round(Pack(11, 11, 0.018).wound_on(85725).radius_mm, 3)
        24.742
        """
        length = check_number("length_mm", length_mm, -LENGTH_MM[1], LENGTH_MM[1], "mm")
        left = self.radius_mm**2 + length * self.tape_mm / pi
        if left < self.hub_mm**2 * (1 - 1e-12):
            hint = f"there are only {self.length_mm:.6g} mm on the hub"
            raise MechError(f"length_mm is {length:g} mm", hint)
        return Pack(self.hub_mm, max(self.hub_mm, sqrt(max(0.0, left))), self.tape_mm)

    def sentence(self) -> str:
        """Length, turns and radius."""
        length, turns = say(self.length_mm / 1000, "m"), say(self.turns)
        return f"The pack holds {length} in {turns} turns; its radius is {say(self.radius_mm, 'mm', 2)}."


def pack_of(length_mm: float, hub_mm: float, tape_mm: float) -> Pack:
    """The pack that so much tape makes on a hub: R = √(r² + L·h/π).

    ``length_mm``: 0 to 1e8; ``hub_mm``: 1 to 500; ``tape_mm``: 0.003 to 1.  Raises MechError out of range.

    >>> round(pack_of(85725, 11, 0.018).turns, 1)
    763.4
    """
    check_number("length_mm", length_mm, *LENGTH_MM, "mm")
    return Pack(hub_mm, hub_mm, tape_mm).wound_on(length_mm)


@dataclass(frozen=True)
class Winding:
    """From one pack to a larger one: time in s, and the tape's speed at both ends in mm/s."""

    start: Pack
    end: Pack
    seconds: float
    start_mm_s: float
    end_mm_s: float

    def sentence(self) -> str:
        """Length, time and speeds."""
        length = say((self.end.length_mm - self.start.length_mm) / 1000, "m")
        speeds = f"{say(self.start_mm_s, '', 0)} to {say(self.end_mm_s, 'mm/s', 0)}"
        return f"{length} of tape are wound in {say(self.seconds, 's')}, at {speeds}."


def wind(start: Pack, length_mm: float, rev_min: float) -> Winding:
    """Time in which a reel at constant speed takes up tape: each turn adds h, so t = (R2 − R1)/(h·n), exact.

    ``length_mm``: taken up, 0 to 1e8; ``rev_min``: of the taking reel, 0.1 to 50 000.  Raises MechError.

    >>> wind(Pack(11, 11, 0.018), 85725, 900).sentence()
    '85.7 m of tape are wound in 50.9 s, at 1037 to 2332 mm/s.'
    """
    check_number("length_mm", length_mm, *LENGTH_MM, "mm")
    speed = check_number("rev_min", rev_min, *SPEED_REV_MIN, "rev/min")
    end = start.wound_on(length_mm)
    seconds = 60 * (end.turns - start.turns) / speed
    first, last = (pi * pack.radius_mm * speed / 30 for pack in (start, end))
    return Winding(start, end, seconds, first, last)


@dataclass(frozen=True)
class TensionRange:
    """Tension at the pack that a constant torque gives, from the empty hub to the full pack, in N."""

    torque_Nmm: float
    empty_N: float
    full_N: float

    def sentence(self) -> str:
        """Tension at both ends and their ratio."""
        ends = f"{say(self.empty_N, 'N', 2)} on the empty hub, {say(self.full_N, 'N', 2)} on the full pack"
        return f"{say(self.torque_Nmm, 'N·mm')} give {ends}: {say(self.empty_N / self.full_N, '', 2)} to 1."


def tension_range(full: Pack, torque_Nmm: float) -> TensionRange:
    """Tension over the whole pack with a slipping clutch of constant torque: T/r at the hub down to T/R.

    ``full``: the full pack; ``torque_Nmm``: over 0 to 1e5.  Raises MechError out of range.

    >>> tension_range(Pack(11, 22, 0.018), 5.5).sentence()
    '5.5 N·mm give 0.50 N on the empty hub, 0.25 N on the full pack: 2.00 to 1.'
    """
    torque = check_number("torque_Nmm", torque_Nmm, 1e-6, TORQUE_NMM[1], "N·mm")
    return TensionRange(torque, torque / full.hub_mm, full.tension(torque))
