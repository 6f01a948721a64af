"""Groove cams: a pin in a groove on the face of a disc, or round a drum; walls, pressure angle, lost motion.

Points are complex numbers in mm, on the disc itself (its middle 0, the follower at first to the right) or on
the drum's surface unrolled (to the right the way round it, R·θ; upwards the lift).  The pin's centre follows
the centre line z(θ); the walls are its offset curves z ± n·width/2, and a pin with clearance c keeps between
z ± n·c/2, with n the unit normal on the side to which the lift grows: there is the outer wall (on a drum the
upper one), on the other side the inner wall.

With u the unit vector in which lift moves the pin, dz/dθ = u·(a − iσb): a = s′ + what the cam's own turn
moves along u, b what it moves across u, σ = +1 or −1 the sense.  From this follow, exactly, for all kinds:
    tan α = a/b,  |dz/dθ| = √(a² + b²),  curvature κ = [t·(a² + b²) − (b·a′ − a·b′)]/(a² + b²)^(3/2)
with t how fast u turns against the cam.  κ > 0 where the centre of curvature is on the inner side.
Source: calculus of plane curves; envelope of a circle along a curve (two offset curves).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from mechlib.cams.motion import PER_RADIAN, Motion
from mechlib.errors import MechError, check_number
from mechlib.say import say

MOST_MM = 1000.0


class _Frame(NamedTuple):
    """What a kind of groove gives: z, u, σ, a, b, da/dθ, db/dθ and t of the module's docstring."""

    pin: complex | np.ndarray
    along: complex | np.ndarray
    sense: int
    a: float | np.ndarray
    b: float | np.ndarray
    a_rate: float | np.ndarray
    b_rate: float | np.ndarray
    turn: float | np.ndarray

    @property
    def speed(self):
        """|dz/dθ| in mm a radian."""
        return np.hypot(self.a, self.b)

    @property
    def normal(self):
        return self.along * (self.b + 1j * self.sense * self.a) / self.speed


@dataclass(frozen=True)
class Place:
    """One place of a groove, or an array of them: the pin's centre, the walls, how they slant and bend.

    ``pin``, ``outer`` and ``inner`` are points as the module's docstring says; ``pressure_deg`` is between
    the normal and the way of the lift, positive where the cam drives the lift up; ``curvature_per_mm`` is
    that of the centre line, positive where its centre is on the inner side.

    >>> from mechlib.cams.motion import Motion
    >>> FaceGroove(20, 4, 4).at(Motion(0.0, 5.0, 0.0)).outer
    (27+0j)
    """

    angle_deg: float | np.ndarray
    pin: complex | np.ndarray
    outer: complex | np.ndarray
    inner: complex | np.ndarray
    pressure_deg: float | np.ndarray
    curvature_per_mm: float | np.ndarray

    def sentence(self) -> str:
        """The place in words (of a single place, not of an array)."""
        bent = "is straight"
        if abs(self.curvature_per_mm) > 1e-9:
            side = "inner" if self.curvature_per_mm > 0 else "outer"
            bent = f"has a radius of {say(1 / abs(self.curvature_per_mm), 'mm', 2)} about its {side} side"
        where = f"At {say(self.angle_deg, '°')} the pressure angle is {say(self.pressure_deg, '°')}"
        return f"{where} and the groove {bent}."


@dataclass(frozen=True)
class _Groove:
    """What all grooves have in common."""

    radius_mm: float
    width_mm: float
    pin_mm: float

    def __post_init__(self):
        check_number("radius_mm", self.radius_mm, 0.1, MOST_MM, "mm")
        check_number("width_mm", self.width_mm, 0.05, MOST_MM, "mm")
        hint = "the pin must enter the groove"
        check_number("pin_mm", self.pin_mm, 0.01, self.width_mm, "mm", hint)

    @property
    def clearance_mm(self) -> float:
        """Width of the groove less the diameter of the pin, in mm.

        >>> FaceGroove(20, 4.5, 4).clearance_mm
        0.5
        """
        return self.width_mm - self.pin_mm

    def _frame(self, motion: Motion) -> _Frame:
        raise NotImplementedError

    def at(self, motion: Motion) -> Place:
        """Centre line, both walls, pressure angle and curvature where the follower moves like this.

        The walls are z ± n·width/2.  ``motion``: of numbers or of arrays.  Returns Place; raises MechError
        for a lift that the groove can't have (nearer to the middle than half its width; beyond the lever).

        >>> from mechlib.cams.motion import Motion
        >>> round(DrumGroove(20, 4, 4).at(Motion(0.0, 0.0, 20.0)).pressure_deg, 9)
        45.0
        """
        frame = self._frame(motion)
        half = 0.5 * self.width_mm * frame.normal
        bent = frame.turn * frame.speed**2 - (frame.b * frame.a_rate - frame.a * frame.b_rate)
        return Place(
            motion.angle_deg,
            _plain(frame.pin),
            _plain(frame.pin + half),
            _plain(frame.pin - half),
            _plain(np.degrees(np.arctan2(frame.a, frame.b))),
            _plain(bent / frame.speed**3),
        )

    def limits(self, motion: Motion) -> tuple[tuple, tuple]:
        """The lowest and the highest lift that the clearance lets the pin have, as two curves over angle.

        Returns (angles in degrees, lifts in mm) for the pin against the inner wall and against the outer
        one: the curves z ∓ n·c/2, read where they meet the pin's own path.  The angles are those at which
        the follower has these lifts, near the angles of ``motion``, not equal to them.

        >>> from mechlib.cams.motion import Motion
        >>> DrumGroove(20, 4.5, 4).limits(Motion(0.0, 5.0, 0.0))
        ((0.0, 4.75), (0.0, 5.25))
        """
        frame = self._frame(motion)
        play = 0.5 * self.clearance_mm * frame.normal
        met = [self._met(frame.pin + side * play, motion, frame) for side in (-1, 1)]
        low, high = ((_plain(angle), _plain(lift)) for angle, lift in met)
        return low, high

    def _met(self, point, motion: Motion, frame: _Frame) -> tuple:
        """At which angle (degrees) the pin's own path runs through a point of the cam, and the lift there."""
        raise NotImplementedError


@dataclass(frozen=True)
class FaceGroove(_Groove):
    """A groove in the face of a disc, for a pin that is led straight away from its middle.

    ``radius_mm``: of the pin's centre at lift 0 (0.1 to 1000); ``width_mm``: of the groove (0.05 to 1000);
    ``pin_mm``: diameter of the pin or roller, at most the width.  ``sense``: 1 where the disc turns
    counter-clockwise as drawn, −1 clockwise.  a = s′, b = radius + s, t = 1: tan α = s′/(radius + s).
    Raises MechError for values out of range.

    >>> from mechlib.cams.motion import Motion
    >>> round(FaceGroove(15, 4, 4).at(Motion(0.0, 5.0, 20.0)).pressure_deg, 9)
    45.0
    """

    sense: int = 1

    def __post_init__(self):
        super().__post_init__()
        _check_sense(self.sense)

    def _frame(self, motion: Motion) -> _Frame:
        from_middle = self.radius_mm + motion.lift_mm
        _check_clear_of_middle(self, from_middle)
        along = np.exp(-1j * self.sense * np.radians(motion.angle_deg))
        rates = motion.bend_mm, motion.slope_mm
        return _Frame(from_middle * along, along, self.sense, motion.slope_mm, from_middle, *rates, 1.0)

    def _met(self, point, motion, frame):
        beside = np.angle(point / frame.along)
        return motion.angle_deg - self.sense * PER_RADIAN * beside, abs(point) - self.radius_mm


@dataclass(frozen=True)
class LeverGroove(_Groove):
    """A groove in the face of a disc, for a pin at the end of a lever.

    ``radius_mm``, ``width_mm``, ``pin_mm``: as for FaceGroove, radius at lift 0.  ``lever_mm``: from the pin
    to the pivot; ``pivot_mm``: from the pivot to the disc's middle (both 0.1 to 1000).  The lift is measured
    along the pin's arc, so that a force at the pin times the lift is its work.  The pivot is at
    +``pivot_mm``, the pin above that line; ``sense`` 1: the disc turns counter-clockwise and its surface
    moves past the pin away from the pivot, −1 towards it.  With ψ the angle at the pivot,
    cos ψ0 = (p² + l² − radius²)/(2pl) and ψ = ψ0 + s/l: a = s′ + σ(l − p·cos ψ), b = p·sin ψ, t = 1 + σs′/l.
    Raises MechError for values out of range and for lengths that make no triangle.

    >>> from mechlib.cams.motion import Motion
    >>> groove = LeverGroove(30, 4, 4, lever_mm=40, pivot_mm=50)
    >>> round(groove.at(Motion(0.0, 0.0, 30.0)).pressure_deg, 6)
    45.0
    """

    lever_mm: float = 0.0
    pivot_mm: float = 0.0
    sense: int = 1

    def __post_init__(self):
        super().__post_init__()
        _check_sense(self.sense)
        for name in ("lever_mm", "pivot_mm"):
            check_number(name, getattr(self, name), 0.1, MOST_MM, "mm")
        least, most = abs(self.pivot_mm - self.lever_mm), self.pivot_mm + self.lever_mm
        if not least < self.radius_mm < most:
            problem = f"with this lever and pivot the pin can stand between {least:g} and {most:g} mm only"
            raise MechError(f"radius_mm is {self.radius_mm:g} mm", problem)

    def _swing(self, from_middle):
        """ψ at a distance from the middle of the disc, by the law of cosines."""
        square = self.pivot_mm**2 + self.lever_mm**2 - from_middle**2
        return np.arccos(np.clip(square / (2 * self.pivot_mm * self.lever_mm), -1, 1))

    def _pin(self, swing):
        return self.pivot_mm - self.lever_mm * np.exp(-1j * swing)

    def _frame(self, motion: Motion) -> _Frame:
        pivot, lever, sense = self.pivot_mm, self.lever_mm, self.sense
        swing = self._swing(self.radius_mm) + motion.lift_mm / lever
        if not np.all((swing > 0) & (swing < math.pi)):
            problem = "give less lift, or a longer lever"
            raise MechError("the lift swings the lever over the disc's middle", problem)
        back = np.exp(-1j * sense * np.radians(motion.angle_deg))
        pin, along = self._pin(swing), 1j * np.exp(-1j * swing)
        _check_clear_of_middle(self, abs(pin))
        a = motion.slope_mm + sense * (lever - pivot * np.cos(swing))
        b, swing_rate = pivot * np.sin(swing), motion.slope_mm / lever
        a_rate = motion.bend_mm + sense * b * swing_rate
        b_rate = pivot * np.cos(swing) * swing_rate
        return _Frame(pin * back, along * back, sense, a, b, a_rate, b_rate, 1 + sense * swing_rate)

    def _met(self, point, motion, frame):
        swing = self._swing(abs(point))
        back = np.exp(-1j * self.sense * np.radians(motion.angle_deg))
        beside = np.angle(point / (self._pin(swing) * back))
        lift = self.lever_mm * (swing - self._swing(self.radius_mm))
        return motion.angle_deg - self.sense * PER_RADIAN * beside, lift


@dataclass(frozen=True)
class DrumGroove(_Groove):
    """A groove round a drum, for a pin square to its surface that is led along the drum's axis.

    ``radius_mm``: of the drum where the pin bears (0.1 to 1000; the depth of the groove is small against it:
    at its bottom it is steeper); ``width_mm`` and ``pin_mm``: as for FaceGroove.  On the surface unrolled at
    this radius a = s′, b = R, t = 0: tan α = s′/R, κ = −R·s″/(R² + s′²)^(3/2).
    Raises MechError for values out of range.

    >>> from mechlib.cams.motion import Motion
    >>> round(DrumGroove(10, 4, 4).at(Motion(0.0, 0.0, 0.0, -50.0)).curvature_per_mm, 9)
    0.5
    """

    def _frame(self, motion: Motion) -> _Frame:
        pin = self.radius_mm * np.radians(motion.angle_deg) + 1j * motion.lift_mm
        return _Frame(pin, 1j, 1, motion.slope_mm, self.radius_mm, motion.bend_mm, 0.0, 0.0)

    def _met(self, point, motion, frame):
        return PER_RADIAN * point.real / self.radius_mm, point.imag


def _plain(value):
    """A value of Python's own where numpy made a single one."""
    return np.asarray(value).item() if np.ndim(value) == 0 else value


def _check_sense(sense: int) -> None:
    if sense not in (1, -1):
        raise MechError(f"sense is {sense!r}", "it must be 1 (counter-clockwise) or −1 (clockwise)")


def _check_clear_of_middle(groove: _Groove, from_middle) -> None:
    least = float(np.min(from_middle))
    if least <= groove.width_mm / 2:
        problem = f"a groove {groove.width_mm:g} mm wide must keep further off than half its width"
        raise MechError(f"the pin comes within {least:g} mm of the disc's middle", problem)
