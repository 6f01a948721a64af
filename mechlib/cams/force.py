"""Forces at a cam: spring, mass and friction, the torque they ask of the cam, lost contact, jamming.

Along its path the follower needs Q = spring + constant load + m·s″·ω² + drag (against the motion).  With the
pressure angle α, tan α = s′/r, friction μ between cam and pin, and a guide of length b whose near end is the
overhang a from the pin, the contact force N follows from the balance of the follower (pin radius p):
    sideways  N·(sin α + μ·cos α) = X1 − X2            along  N·(cos α − μ·sin α) = Q ± μg·(|X1| + |X2|)
    moments   b·X2 = a·N·(sin α + μ·cos α) + p·μ·N
X1 and X2 are the guide's near and far reactions, + for a rise and − for a fall.  So N = Q/D with a D that
depends on shape and friction alone; D ≤ 0 on a rise: the guide holds the follower faster than the cam pushes,
it jams.  The cam's torque is T = N·(r·(sin α + μ·cos α) − p·μ) on a disc, without the last term round a drum;
without friction T = Q·ds/dθ.  The stem is thin against the overhang.  A roller counts as a pin with
μ = (friction in its bore)·(bore radius)/(roller radius).
Source: statics of a rigid follower; the same jam limit is in Rothbart, Cam Design Handbook, eq. 6.8.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mechlib.errors import MechError, check_number


def _check_finite(name: str, values) -> None:
    if not np.all(np.isfinite(values)):
        raise MechError(f"{name} is not finite", "give a number of newtons, millimetres or radians")


@dataclass(frozen=True)
class Spring:
    """The spring that keeps a follower on its cam: F = ratio·max(0, preload + rate·ratio·lift) at the pin.

    ``preload_N``: the spring's own force at lift 0 (0 to 1000); ``rate_N_mm`` (0 to 1000); ``ratio``: the
    spring's arm over the pin's arm on a lever (0.01 to 100).  A spring that has gone slack gives no force.
    Raises MechError for values out of range.

    >>> Spring(2, 0.15).force(10), Spring(2, 0.15, ratio=0.5).force(10)
    (3.5, 1.375)
    """

    preload_N: float
    rate_N_mm: float
    ratio: float = 1.0

    def __post_init__(self):
        check_number("preload_N", self.preload_N, 0, 1000, "N")
        check_number("rate_N_mm", self.rate_N_mm, 0, 1000, "N/mm")
        check_number("ratio", self.ratio, 0.01, 100)

    def force(self, lift_mm):
        """Force at the pin, in N, at a lift or an array of lifts (mm).  Raises MechError if one isn't finite.

        >>> Spring(2, 0.5).force(-10)
        0.0
        """
        _check_finite("lift_mm", lift_mm)
        force = self.ratio * np.maximum(0.0, self.preload_N + self.rate_N_mm * self.ratio * lift_mm)
        return force if np.ndim(lift_mm) else float(force)

    def energy(self, from_mm: float, to_mm: float) -> float:
        """Energy in mJ that the spring takes up between two lifts: mean force·lift, (F2² − F1²)/(2·rate).

        >>> round(Spring(2, 0.15).energy(0, 10), 9)
        27.5
        """
        first, last = self.force(from_mm), self.force(to_mm)
        if self.rate_N_mm == 0:
            return first * (to_mm - from_mm)
        return (last - first) * (last + first) / (2 * self.rate_N_mm * self.ratio**2)


@dataclass(frozen=True)
class Friction:
    """Friction of a follower that is led straight; all nought unless given.

    ``contact``: coefficient between cam and pin, or of a roller as the module says (0 to 2); ``guide``: that
    of the guide (0 to 2); ``overhang_mm``: from the pin's centre to the near end of the guide (0 to 500);
    ``bearing_mm``: the guide's length (0.1 to 500); ``pin_mm``: diameter of pin or roller (0 to 200);
    ``drag_N``: a constant force against the motion, such as hard grease (0 to 1000).
    Raises MechError for values out of range.

    >>> round(Friction(guide=0.1, overhang_mm=20, bearing_mm=20).jams_at_deg, 1)
    73.3
    """

    contact: float = 0.0
    guide: float = 0.0
    overhang_mm: float = 0.0
    bearing_mm: float = 20.0
    pin_mm: float = 0.0
    drag_N: float = 0.0

    def __post_init__(self):
        check_number("contact", self.contact, 0, 2)
        check_number("guide", self.guide, 0, 2)
        check_number("overhang_mm", self.overhang_mm, 0, 500, "mm")
        check_number("bearing_mm", self.bearing_mm, 0.1, 500, "mm")
        check_number("pin_mm", self.pin_mm, 0, 200, "mm")
        check_number("drag_N", self.drag_N, 0, 1000, "N")

    def shares(self, slant, way, side=1):
        """For each newton of contact force, at pressure angles (radians): sideways, D, |X1| + |X2|.

        ``way``: 1 rising, −1 falling, 0 standing (then the guide rubs neither way); ``side``: 1 where
        the inner wall pushes, −1 where the outer one pulls: then angle and way are those of the mirror image,
        but the guide isn't, so that the friction turns the follower the other way about its pin.
        Raises MechError for an angle that isn't finite and another ``way``.

        >>> Friction().shares(0.0, 1)
        (0.0, 1.0, 0.0)
        """
        _check_finite("slant", slant)
        if not np.all(way * way * way == way):  # -1, 0 and 1 only
            raise MechError("way is none of -1, 0 and 1", "1 is rising, -1 falling, 0 standing")
        sin, cos = (np.sin(slant), np.cos(slant)) if np.ndim(slant) else (math.sin(slant), math.cos(slant))
        sideways, along = sin + self.contact * cos, cos - self.contact * sin
        turning = side * self.contact * self.pin_mm / 2
        far = (self.overhang_mm * sideways + turning) / self.bearing_mm
        guide = abs(sideways + far) + abs(far)
        return sideways, along - way * self.guide * guide, guide

    @property
    def jams_at_deg(self) -> float:
        """The pressure angle (degrees) from which a rising follower jams in its guide; 90 without friction.

        With g = μg·(2a + b)/b and h = 2·μg·μ·p/b: the root of
        (1 − gμ)·cos α − (μ + g)·sin α = h, arctan((1 − gμ)/(μ + g)) for a thin pin.
        Nought where it jams even on a flat cam that moves it up.
        """
        g = self.guide * (2 * self.overhang_mm + self.bearing_mm) / self.bearing_mm
        turning = self.guide * self.contact * self.pin_mm / self.bearing_mm
        with_cos, with_sin = 1 - g * self.contact, self.contact + g
        size = math.hypot(with_cos, with_sin)
        if turning >= size:
            return 0.0
        return max(0.0, math.degrees(math.acos(turning / size) - math.atan2(with_sin, with_cos)))


RUBBING_FREE = Friction()


@dataclass(frozen=True)
class Push:
    """What a cam must give at one place, or at an array of places; see ``push``.

    ``contact_N`` is never negative; ``torque_Nmm`` positive where the cam must be driven, negative where
    it is; both are infinite where the follower jams.  ``guide_N``: the sum of the guide's two reactions.
    ``share``: D of the module's docstring, 0 or less where the follower jams, 1 where there is no load.
    """

    contact_N: float | np.ndarray
    guide_N: float | np.ndarray
    torque_Nmm: float | np.ndarray
    share: float | np.ndarray


def push(
    load_N, slope_mm, radius_mm, friction: Friction = RUBBING_FREE, way=0, drum=False, both_walls=False
) -> Push:
    """Contact force and cam torque for a load along the follower's path, by the module's balance.

    ``load_N``: what the follower needs, Q without drag; ``slope_mm``: ds/dθ in mm a radian of the turn that
    is made; ``radius_mm``: from the cam's axis to the pin's centre, or of the drum; ``way``: 1 rising, −1
    falling, 0 standing.  Numbers or arrays.  Where the load is negative an open cam gives nothing, and a
    groove (``both_walls``) pulls with its outer wall.
    Returns Push; raises MechError for numbers that aren't finite, a radius that isn't positive, another way.

    >>> push(3.0, 4.0, 20.0).torque_Nmm, round(push(3.0, -4.0, 20.0, Friction(0.1), -1).torque_Nmm, 3)
    (12.0, -5.882)
    """
    for name, values in (("load_N", load_N), ("slope_mm", slope_mm), ("radius_mm", radius_mm)):
        _check_finite(name, values)
    if not np.all(np.asarray(radius_mm) > 0):
        raise MechError("radius_mm is not positive", "the pin must stand off the cam's axis")
    load = load_N + way * friction.drag_N
    side = np.where(np.asarray(load) < 0, -1.0, 1.0)
    sideways, share, guide = friction.shares(side * np.arctan2(slope_mm, radius_mm), side * way, side)
    load = abs(load) if both_walls else np.maximum(load, 0.0)
    share = np.where(load > 0, share, 1.0)
    jams = share <= 0
    contact = np.where(jams, math.inf, load / np.where(jams, 1.0, share))
    arm = radius_mm * sideways - (0.0 if drum else side * friction.contact * friction.pin_mm / 2)
    with np.errstate(invalid="ignore"):  # infinite force times no arm, replaced at once
        torque = np.where(jams, math.inf, contact * arm)
        guide = np.where(jams, math.inf, contact * guide)
    found = (contact, guide, torque, share)
    return Push(*(value if np.ndim(value) else value.item() for value in found))
