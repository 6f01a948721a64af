"""Followers of a disc cam: where they touch it, at which pressure angle, and how sharp the cam is there.

All of them stand in the same picture.  The cam's shaft is at the origin.  A translating follower moves up
along x = offset; a swinging one has its pivot at (pivot distance, 0) and is lifted upwards.  ``sense`` σ is 1
where the cam turns counter-clockwise and −1 where it turns clockwise: with 1 the top of the cam runs away
from the pivot, with −1 towards it.  Points are complex numbers x + iy in mm.

At lift 0 the follower stands on the base circle, as large as ``base_mm`` says.  With s, s′, s″ the lift and
its derivatives per radian, a roller's centre c and its direction of motion d, let c/d = Y − iE.  Then a
translating roller has Y = √(R0² − e²) + s and E = e, and a swinging one has Y = a·sin ψ and E = a·cos ψ − L:
at each moment it is a translating one with another offset.

    tan α = (s′ − σE)/Y                                                   pressure angle
    κ = (Y(Y − s″) + (s′ − σE)(2s′ + σs′²/L − σE)) / (Y² + (s′ − σE)²)^1.5   curvature of the pitch curve

(1/L = 0 for the translating one).  The pressure angle is that between the cam's push and the follower's
motion, positive where the push leans the way in which the cam's rim runs past.  Both are the closed forms of
the theory of envelopes, derived here; for the translating roller they are in every textbook of cams.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import cached_property
from typing import ClassVar, NamedTuple

import numpy as np

from mechlib.cams.motion import Motion
from mechlib.errors import MechError, check_number

LIMITS = {
    "base_mm": (0.1, 1000.0),
    "roller_mm": (0.05, 500.0),
    "offset_mm": (-500.0, 500.0),
    "pivot_mm": (1.0, 2000.0),
    "arm_mm": (1.0, 2000.0),
    "face_mm": (-500.0, 500.0),
}
TRANSLATING_LIMIT_DEG = 30.0  # common practice, no source
SWINGING_LIMIT_DEG = 45.0  # common practice, no source: 35° to 45°


class Stand(NamedTuple):
    """How a follower stands on its cam: floats, or arrays of one length.  Points and directions are complex.

    ``trace``: the roller's centre, or the foot of the perpendicular from the shaft to the flat face;
    ``contact``: where it touches; ``direction``: the roller's motion, or the flat face's normal, away from
    the cam; ``pressure_deg``: the pressure angle; ``tightness``: the larger, the sharper the cam bulges
    (the pitch curve's curvature in 1/mm, or for a flat face minus the outline's radius in mm).
    """

    trace: np.ndarray
    contact: np.ndarray
    direction: np.ndarray
    pressure_deg: np.ndarray
    tightness: np.ndarray

    @property
    def aside_mm(self) -> np.ndarray:
        """How far beside ``trace`` it touches, square to ``direction``: positive to the right of it.

        >>> float(FlatFace(base_mm=20).stand(Motion(0, 4, 6)).aside_mm)
        6.0
        """
        return np.real(1j * (self.contact - self.trace) * np.conj(self.direction))

    def turned(self, factor) -> Stand:
        """The same with every point and direction turned by a complex ``factor`` of size 1.

        >>> complex(FlatFace(base_mm=20).stand(Motion(0, 4, 6)).turned(-1j).contact)
        (24-6j)
        """
        points = (factor * self.trace, factor * self.contact, factor * self.direction)
        return Stand(*points, self.pressure_deg, self.tightness)


@dataclass(frozen=True, kw_only=True)
class Follower:
    """What all followers share: the base circle's radius ``base_mm`` and the ``sense`` of the cam (1 or −1).

    Raises MechError for a value out of its range in ``LIMITS`` or another sense.

    >>> FlatFace(base_mm=20, sense=2)
    Traceback (most recent call last):
    mechlib.errors.MechError: sense is 2: it must be 1 (counter-clockwise) or -1 (clockwise)
    """

    base_mm: float
    sense: int = 1

    usual_pressure_deg: ClassVar[float] = TRANSLATING_LIMIT_DEG

    def __post_init__(self):
        for name in (field.name for field in fields(self) if field.name in LIMITS):
            value = check_number(name, getattr(self, name), *LIMITS[name], unit="mm")
            object.__setattr__(self, name, value)
        if isinstance(self.sense, bool) or self.sense not in (1, -1):
            problem = "it must be 1 (counter-clockwise) or -1 (clockwise)"
            raise MechError(f"sense is {self.sense!r}", problem)

    def stand(self, motion: Motion) -> Stand:
        """How the follower stands on its cam with this motion: lift, slope and bend, floats or arrays.

        Points are where they are seen: the cam has turned, the follower's slide or pivot stands still.
        Raises MechError where the follower can't reach a lift.

        >>> stand = TranslatingRoller(base_mm=16, roller_mm=4).stand(Motion(90.0, 5.0, 0.0))
        >>> complex(stand.trace), complex(stand.contact), round(1 / float(stand.tightness), 9)
        (25j, 21j, 25.0)
        """
        return self._stand(motion.lift_mm, motion.slope_mm, motion.bend_mm)

    def _stand(self, lift, first, second) -> Stand:
        raise NotImplementedError


@dataclass(frozen=True, kw_only=True)
class _Roller(Follower):
    """A roller of radius ``roller_mm``, on whatever carries it."""

    roller_mm: float

    @property
    def prime_mm(self) -> float:
        """Radius R0 of the prime circle, on which the roller's centre stands at lift 0: base + roller."""
        return self.base_mm + self.roller_mm

    def radius_mm(self, tightness: float) -> float:
        """The outline's radius: 1/κ − r; positive where it bulges, negative where it is hollow, ∞ where flat.

        Where it is ``undercut`` this is no radius of the cam any more.

        >>> follower = TranslatingRoller(base_mm=16, roller_mm=4)
        >>> follower.radius_mm(0.1), follower.radius_mm(-0.1), follower.radius_mm(0.0)
        (6.0, -14.0, inf)
        """
        return 1 / tightness - self.roller_mm if tightness else math.inf

    def undercut(self, tightness: float) -> bool:
        """Whether the roller can't follow there: the pitch curve bulges with a radius of r or less.

        >>> follower = TranslatingRoller(base_mm=16, roller_mm=4)
        >>> follower.undercut(0.25), follower.undercut(0.24), follower.undercut(-0.3)
        (True, False, False)
        """
        return tightness * self.roller_mm >= 1

    def push(self, stand: Stand):
        """The direction of the cam's push as a complex number of size 1: from the contact to the centre.

        >>> follower = TranslatingRoller(base_mm=16, roller_mm=4)
        >>> complex(follower.push(follower.stand(Motion(0, 0, 0))))
        1j
        """
        return (stand.trace - stand.contact) / self.roller_mm

    def gap_mm(self, stand: Stand, points):
        """How far ``points`` (complex) are from the roller; negative inside it.

        >>> follower = TranslatingRoller(base_mm=16, roller_mm=4)
        >>> float(follower.gap_mm(follower.stand(Motion(0, 0, 0)), 17j))
        -1.0
        """
        return abs(points - stand.trace) - self.roller_mm

    def _rolling(self, height, offset, swing, trace, direction, first, second) -> Stand:
        """The module's formulas: ``height`` Y, ``offset`` σE, ``swing`` σ/L."""
        across = first - offset
        length = np.hypot(height, across)
        sharpness = height * (height - second) + across * (2 * first + swing * first**2 - offset)
        contact = trace - self.roller_mm * direction * (height + 1j * self.sense * across) / length
        pressure = np.degrees(np.arctan2(across, height))
        return Stand(trace, contact, direction, pressure, sharpness / length**3)


@dataclass(frozen=True, kw_only=True)
class TranslatingRoller(_Roller):
    """A roller on a slide that moves up along x = ``offset_mm`` (positive: to the right of the shaft).

    With ``sense`` 1 a positive offset makes the pressure angle of a rise smaller and that of a fall larger.
    Raises MechError where the offset isn't less than base + roller.

    >>> stand = TranslatingRoller(base_mm=16, roller_mm=4, offset_mm=12).stand(Motion(0, 4, 32))
    >>> round(float(stand.pressure_deg), 9)  # tan α = (32 − 12)/(16 + 4)
    45.0
    """

    offset_mm: float = 0.0

    def __post_init__(self):
        super().__post_init__()
        if abs(self.offset_mm) >= self.prime_mm:
            problem = f"it must be less than base + roller, {self.prime_mm:g} mm"
            raise MechError(f"offset_mm is {self.offset_mm:g} mm", problem)

    def _stand(self, lift, first, second):
        height = math.sqrt(self.prime_mm**2 - self.offset_mm**2) + lift
        if np.any(height <= 0):
            raise MechError("the roller would come down to the shaft", "take a larger base_mm")
        trace = self.offset_mm + 1j * height
        return self._rolling(height, self.sense * self.offset_mm, 0.0, trace, 1j, first, second)


@dataclass(frozen=True, kw_only=True)
class SwingingRoller(_Roller):
    """A roller on a lever: pivot ``pivot_mm`` from the shaft, roller's centre ``arm_mm`` from the pivot.

    The lift is the arc in mm on which the roller's centre travels, so the lever turns by lift/arm radians.
    ψ is the angle at the pivot between shaft and roller; at lift 0, cos ψ = (a² + L² − R0²)/(2aL).
    Raises MechError where pivot, arm and base + roller don't make a triangle.

    >>> lever = SwingingRoller(base_mm=16, roller_mm=4, pivot_mm=40, arm_mm=40)
    >>> round(lever.arm_deg(0), 6), round(lever.arm_deg(10), 6)
    (28.955024, 43.278969)
    """

    pivot_mm: float
    arm_mm: float

    usual_pressure_deg: ClassVar[float] = SWINGING_LIMIT_DEG

    def __post_init__(self):
        super().__post_init__()
        low, high = abs(self.pivot_mm - self.arm_mm), self.pivot_mm + self.arm_mm
        if not low < self.prime_mm < high:
            problem = f"with this pivot and arm it must be between {low:g} and {high:g} mm"
            raise MechError(f"base + roller is {self.prime_mm:g} mm", problem)

    @cached_property
    def _rest(self) -> float:
        a, arm = self.pivot_mm, self.arm_mm
        return math.acos((a**2 + arm**2 - self.prime_mm**2) / (2 * a * arm))

    def arm_deg(self, lift_mm: float) -> float:
        """The angle ψ in degrees at the pivot between the shaft and the roller's centre.

        >>> round(SwingingRoller(base_mm=16, roller_mm=4, pivot_mm=40, arm_mm=20).arm_deg(0), 6)
        Traceback (most recent call last):
        mechlib.errors.MechError: base + roller is 20 mm: with this pivot and arm it must be between 20 and \
60 mm
        """
        return math.degrees(self._rest + lift_mm / self.arm_mm)

    def _stand(self, lift, first, second):
        a, arm = self.pivot_mm, self.arm_mm
        psi = self._rest + lift / arm
        if np.any((psi <= 0) | (psi >= math.pi)):
            problem = "take a longer arm, another base_mm or less lift"
            raise MechError("the lever would swing through the line from its pivot to the shaft", problem)
        outward = np.exp(-1j * psi)
        offset = self.sense * (a * np.cos(psi) - arm)
        trace, swing = a - arm * outward, self.sense / arm
        return self._rolling(a * np.sin(psi), offset, swing, trace, 1j * outward, first, second)


@dataclass(frozen=True, kw_only=True)
class _Flat(Follower):
    """A flat face; its outline's radius is found directly, and it can touch no hollow."""

    def radius_mm(self, tightness: float) -> float:
        """The outline's radius: minus the tightness.  A flat face makes no hollow outline.

        >>> FlatFace(base_mm=20).radius_mm(-12.5)
        12.5
        """
        return -tightness

    def undercut(self, tightness: float) -> bool:
        """Whether the face can't follow there: the radius would be 0 or less.

        >>> FlatFace(base_mm=20).undercut(0.0), FlatFace(base_mm=20).undercut(-0.1)
        (True, False)
        """
        return tightness >= 0

    def push(self, stand: Stand):
        """The direction of the cam's push as a complex number of size 1: square to the face.

        >>> FlatFace(base_mm=20).push(FlatFace(base_mm=20).stand(Motion(0, 0, 0)))
        1j
        """
        return stand.direction

    def gap_mm(self, stand: Stand, points):
        """How far ``points`` (complex) are from the face's line; negative beyond it.

        >>> follower = FlatFace(base_mm=20)
        >>> float(follower.gap_mm(follower.stand(Motion(0, 0, 0)), 7 + 18j))
        2.0
        """
        return np.real((stand.trace - points) * np.conj(stand.direction))


@dataclass(frozen=True, kw_only=True)
class FlatFace(_Flat):
    """A flat face square to its slide: it touches s′ beside the slide's line, α = 0, ρ = Rb + s + s″.

    The touching point is on the side where the rim rises; an offset of the slide changes nothing.

    >>> stand = FlatFace(base_mm=20).stand(Motion(0, 4, 6, 1.5))
    >>> complex(stand.contact), stand.pressure_deg, stand.tightness
    ((6+24j), 0.0, -25.5)
    """

    def _stand(self, lift, first, second):
        height = self.base_mm + lift
        if np.any(height <= 0):
            raise MechError("the face would come down to the shaft", "take a larger base_mm")
        trace = 1j * height
        return Stand(trace, trace + self.sense * first, 1j, 0.0 * first, -(height + second))


@dataclass(frozen=True, kw_only=True)
class FlatLever(_Flat):
    """A flat face on a lever with its pivot ``pivot_mm`` from the shaft.

    ``face_mm`` f is the distance from the pivot to the face's line, positive where the face lies nearer the
    cam.  The lift is an arc in mm, measured ``arm_mm`` from the pivot: the lever turns by lift/arm radians.
    ψ is the face's angle against the line from pivot to shaft; at lift 0, a·sin ψ = Rb + f.  With
    h = a·sin ψ − f and m = 1 + σψ′ (it must be positive), ρ = h + a(ψ″·cos ψ − m·ψ′²·sin ψ)/m³ and
    tan α = −σf/x, x the distance along the face from beside the pivot to the touching point (envelope of a
    line, derived here).  Raises MechError where the face doesn't reach the base circle.

    >>> stand = FlatLever(base_mm=20, pivot_mm=40, arm_mm=40, face_mm=0).stand(Motion(0, 0, 0))
    >>> round(float(abs(stand.contact)), 9), round(float(stand.tightness), 9), bool(stand.pressure_deg == 0)
    (20.0, -20.0, True)
    """

    pivot_mm: float
    arm_mm: float
    face_mm: float = 0.0

    usual_pressure_deg: ClassVar[float] = SWINGING_LIMIT_DEG

    def __post_init__(self):
        super().__post_init__()
        if not 0 < self.base_mm + self.face_mm < self.pivot_mm:
            problem = f"it must be more than 0 and less than the pivot's distance, {self.pivot_mm:g} mm"
            raise MechError(f"base + face is {self.base_mm + self.face_mm:g} mm", problem)

    @cached_property
    def _rest(self) -> float:
        return math.asin((self.base_mm + self.face_mm) / self.pivot_mm)

    def _stand(self, lift, first, second):
        a, face, sense = self.pivot_mm, self.face_mm, self.sense
        psi, first, second = self._rest + lift / self.arm_mm, first / self.arm_mm, second / self.arm_mm
        height, turning = a * np.sin(psi) - face, 1 + sense * first
        if np.any((psi >= math.pi / 2) | (height <= 0) | (turning <= 0)):
            problem = "take a longer arm, another base_mm or a gentler move"
            raise MechError("the face would turn past the cam", problem)
        aside = -sense * a * np.cos(psi) * first / turning
        direction = 1j * np.exp(-1j * psi)
        radius = height + a * (second * np.cos(psi) - turning * first**2 * np.sin(psi)) / turning**3
        pressure = np.degrees(np.arctan2(-sense * face, aside + a * np.cos(psi)))
        return Stand(height * direction, (height + 1j * aside) * direction, direction, pressure, -radius)
