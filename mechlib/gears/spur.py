"""Spur gears with involute teeth: their sizes, how the tooth root is cut, and how two of them mesh.

Everything about a tooth follows from its basic rack, the straight toothed bar that is the counterpart of
every gear of a family.  An outside gear (`Gear`) is what that rack, with its tip rounded, cuts out of a
blank on which it rolls; an inside gear (`Ring`) is what a pinion with teeth of the same rack cuts out of a
ring.  So flanks and fillets need no formula of their own: each point of a cutter cuts where its normal
passes through the pitch point.

Symbols as in ISO 21771, lengths in mm, angles in degrees, tooth counts positive.  A positive profile shift
coefficient x makes the teeth of either kind thicker; on a ring it moves them inwards.

Within this module a point is a complex number, x + iy, in the frame of a wheel with the middle of a tooth on
the x axis, and describes the upper side of that tooth; ``inside`` is +1 for a gear, −1 for a ring.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.racks import BasicRack, check_rack

TEETH = (6, 2000)
MODULE_MM = (0.05, 50.0)
SHIFT = (-1.0, 1.5)
TIP_ALTERATION = (-1.0, 0.5)
ROUNDING = 1e-9  # lengths this far apart, in modules, are the same
STEPS = 60  # halvings of an interval: to the last digit


def involute(angle_deg: float) -> float:
    """The involute function inv α = tan α − α, in radians; ``angle_deg`` 0 to 89°.

    Source: ISO 21771, the involute function.  Raises MechError outside the range.

    >>> round(involute(20), 7)
    0.0149044
    """
    angle = math.radians(check_number("angle_deg", angle_deg, 0, 89, "°"))
    return math.tan(angle) - angle


def involute_angle(value: float) -> float:
    """The angle in degrees whose involute function is ``value``, in radians, 0 to 55.

    The inverse of ``involute``.  Raises MechError outside the range.

    >>> round(involute_angle(0.0268197), 4)
    24.135
    """
    value = check_number("value", value, 0, 55)
    return math.degrees(crossing(lambda angle: math.tan(angle) - angle - value, 0.0, math.radians(89)))


def crossing(rising, low: float, high: float) -> float:
    """Where a function turns positive between ``low`` and ``high``; an end where it doesn't."""
    for _ in range(STEPS):
        middle = (low + high) / 2
        low, high = (low, middle) if rising(middle) > 0 else (middle, high)
    return (low + high) / 2


@dataclass(frozen=True)
class _Wheel:
    """What a gear and a ring have in common."""

    teeth: int
    module_mm: float
    rack: BasicRack
    shift: float = 0.0
    tip_alteration: float = 0.0

    inside: ClassVar[int]  # where the material is: +1 inside the teeth, −1 outside

    def __post_init__(self):
        object.__setattr__(self, "teeth", check_count("teeth", self.teeth, *TEETH))
        check_number("module_mm", self.module_mm, *MODULE_MM, "mm")
        check_rack(self.rack)
        check_number("shift", self.shift, *SHIFT)
        check_number("tip_alteration", self.tip_alteration, *TIP_ALTERATION)

    @cached_property
    def reference_mm(self) -> float:
        """Reference diameter d = m·z."""
        return float(self.module_mm * self.teeth)

    @cached_property
    def base_mm(self) -> float:
        """Base diameter d_b = d·cos α."""
        return self.reference_mm * math.cos(self.rack.angle)

    @property
    def tip_mm(self) -> float:
        """Tip diameter d_a = d ± 2·m·(h_aP + x + k): plus for a gear, minus for a ring."""
        height = self.rack.addendum + self.shift + self.tip_alteration
        return self.reference_mm + self.inside * 2 * self.module_mm * height

    @property
    def root_mm(self) -> float:
        """Root diameter d_f = d ∓ 2·m·(h_fP − x): minus for a gear, plus for a ring."""
        return self.reference_mm - self.inside * 2 * self.module_mm * (self.rack.dedendum - self.shift)

    @cached_property
    def form_mm(self) -> float:
        """Root form diameter d_Ff: where the involute ends and the fillet begins."""
        return self.base_mm * math.hypot(1, self.form_roll)

    def thickness_mm(self, diameter_mm: float) -> float:
        """Tooth thickness along the arc of a circle, s_y = d_y·(s/d ± (inv α − inv α_y)).

        ``diameter_mm`` from the base diameter up; s = m·(π/2 + 2·x·tan α); plus for a gear, minus for a ring.
        It goes by the involute, whether or not the tooth reaches there.  Source: ISO 21771, tooth thickness.
        Raises MechError below the base circle, where there is no involute.

        >>> from mechlib.gears.racks import ISO_53_A
        >>> round(Gear(12, 10, ISO_53_A, shift=0.3).thickness_mm(120), 4)
        17.8918
        """
        high = 10 * self.reference_mm
        diameter = check_number("diameter_mm", diameter_mm, self.base_mm * (1 - ROUNDING), high, "mm")
        return float(diameter * self.half_angle(diameter / 2))

    def half_angle(self, radius):
        """Half the angle (radians) that a tooth fills at a radius by its involutes; also of an array."""
        roll = np.sqrt(np.maximum((2 * radius / self.base_mm) ** 2 - 1, 0))
        return self.base_angle - self.inside * (roll - np.arctan(roll))

    @cached_property
    def base_angle(self) -> float:
        """Half the angle of a tooth where its involutes meet the base circle."""
        half = (math.pi / 2 + 2 * self.shift * math.tan(self.rack.angle)) / self.teeth
        return half + self.inside * involute(self.rack.pressure_angle_deg)

    @property
    def tip_roll(self) -> float:
        """Roll angle (radians) of the involute at the tip: the unwound string over the base radius."""
        return math.sqrt(max((self.tip_mm / self.base_mm) ** 2 - 1, 0))

    def flank(self, roll):
        """Points of the flank at roll angles (radians): the end of a string unwound from the base circle."""
        turn = self.base_angle - self.inside * roll
        return self.base_mm / 2 * np.exp(1j * turn) * (1 + 1j * self.inside * roll)

    def _check_tip(self) -> None:
        """Refuse a tooth without a top, and one whose fillets would leave no flank."""
        name = f"a {type(self).__name__.lower()} of {self.teeth} teeth with shift {self.shift:g}"
        if self.half_angle(self.tip_mm / 2) <= 0:
            raise MechError(f"{name} has a pointed tip", "use less shift or a tip_alteration below 0")
        if self.inside * (self.tip_mm - self.form_mm) <= 0:
            raise MechError(f"{name} has no flank left above its fillet", "use more teeth or more shift")


@dataclass(frozen=True)
class Gear(_Wheel):
    """An outside spur gear, cut by its basic rack.

    ``teeth`` z: 6 to 2000; ``module_mm`` m: 0.05 to 50 mm; ``rack``: its basic rack, of ``racks.RACKS`` or
    your own; ``shift``: the profile shift coefficient x, −1 to 1.5; ``tip_alteration``: k, in modules, −1 to
    0.5, below 0 for a shortened tip.  Raises MechError for values out of range, for a pointed tip, and where
    undercut cuts through the tooth.

    Source: ISO 21771, sizes of a cylindrical gear; the fillet by the law of gearing from the rack of ISO 53.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> gear = Gear(12, 3, ISO_53_A)
    >>> [round(size, 3) for size in (gear.reference_mm, gear.base_mm, gear.tip_mm, gear.root_mm)]
    [36.0, 33.829, 42.0, 28.5]
    >>> gear.undercut, Gear(18, 3, ISO_53_A).undercut
    (True, False)
    """

    inside = 1

    def __post_init__(self):
        super().__post_init__()
        self._check_tip()
        if self.undercut and self.fillet(np.linspace(0, self.fillet_end, 200)).imag.min() <= 0:
            name = f"a gear of {self.teeth} teeth with shift {self.shift:g}"
            raise MechError(f"{name} is cut through by undercut", "use more teeth or more shift")

    @property
    def undercut(self) -> bool:
        """Whether the cutter takes away some of the involute: z < 2·(h_FfP − x)/sin² α."""
        return self._cut_roll < 0

    @property
    def _cut_roll(self) -> float:
        """Roll angle of the last point that the rack's flank cuts; below 0 it is cut away again."""
        sine = math.sin(self.rack.angle)
        radius, depth = self.reference_mm / 2, self.module_mm * (self.rack.form_depth - self.shift)
        return (radius * sine - depth / sine) / (self.base_mm / 2)

    def fillet(self, normal):
        """Points of the fillet, cut by the rounded tip of the rack; ``normal``: its direction, in radians.

        0 is the end at the root circle, π/2 − α where the rack's rounding meets its straight flank.
        """
        rack, module, radius = self.rack, self.module_mm, self.reference_mm / 2
        out = module * (self.shift - rack.dedendum + rack.fillet * (1 - np.cos(normal)))
        along = module * (rack.fillet_centre - rack.fillet * np.sin(normal))
        contact = out * np.tan(normal)  # there the normal passes through the pitch point
        return (radius + out + 1j * contact) * np.exp(-1j * (contact - along) / radius)

    @cached_property
    def fillet_end(self) -> float:
        """Direction of the normal where the fillet meets the flank."""
        straight = math.pi / 2 - self.rack.angle
        if not self.undercut:
            return straight

        def outside_base(normal):
            return abs(self.fillet(normal)) - self.base_mm / 2

        def outside_tooth(normal):
            point = self.fillet(normal)
            return np.angle(point) - self.half_angle(abs(point))

        return crossing(outside_tooth, crossing(outside_base, 0.0, straight), straight)

    @cached_property
    def form_roll(self) -> float:
        """Roll angle at which the involute begins."""
        if not self.undercut:
            return self._cut_roll
        return math.sqrt(max((2 * abs(self.fillet(self.fillet_end)) / self.base_mm) ** 2 - 1, 0))


@dataclass(frozen=True)
class _Cutter(_Wheel):
    """The pinion that cuts a ring: its teeth are as high as the rack is deep, and their tips are rounded."""

    inside = 1

    @property
    def tip_mm(self) -> float:
        return self.reference_mm + 2 * self.module_mm * (self.rack.dedendum + self.shift)

    @cached_property
    def rounding_mm(self) -> float:
        """Radius of the rounded tip: that of the rack's fillet, less where the tooth is too narrow for it."""
        most = self.module_mm * self.rack.fillet
        return most if self._room(most) >= 0 else crossing(lambda radius: -self._room(radius), 0.0, most)

    def _room(self, radius: float) -> float:
        """Angle by which a rounding's centre stands off the middle of the tooth; below 0 it doesn't fit.

        The centre is on an involute ``radius`` deeper than the flank; within the base circle there is none.
        """
        centre = self.tip_mm / 2 - radius
        return self.half_angle(centre) - 2 * radius / self.base_mm if 2 * centre >= self.base_mm else -1.0

    @property
    def centre(self) -> tuple[float, float]:
        """Radius and angle of the rounding's centre."""
        return self.tip_mm / 2 - self.rounding_mm, max(self._room(self.rounding_mm), 0.0)

    @property
    def form_string_mm(self) -> float:
        """Length of the unwound string where flank and rounding meet."""
        return math.sqrt(self.centre[0] ** 2 - (self.base_mm / 2) ** 2) + self.rounding_mm


@dataclass(frozen=True)
class Ring(_Wheel):
    """An inside spur gear, cut by a pinion cutter that rolls on its reference circle.

    ``teeth``, ``module_mm``, ``rack``, ``shift`` and ``tip_alteration`` as for a Gear; ``cutter_teeth``:
    tooth count of the cutter, 6 to ``teeth`` − 1.  The cutter is the counterpart of the ring (its shift −x),
    and its tip is rounded as the rack's, or as far as there is room.  Raises MechError for values out of
    range, a tip within the base circle, and a cutter that is pointed or would spoil the tips of the ring.

    Source: ISO 21771, sizes of a cylindrical gear (there z is negative); the fillet by the law of gearing.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> ring = Ring(60, 3, ISO_53_A, cutter_teeth=30)
    >>> [round(size, 3) for size in (ring.reference_mm, ring.base_mm, ring.tip_mm, ring.root_mm)]
    [180.0, 169.145, 174.0, 187.5]
    """

    cutter_teeth: int = 0
    inside = -1

    def __post_init__(self):
        super().__post_init__()
        cutter_teeth = check_count("cutter_teeth", self.cutter_teeth, TEETH[0], self.teeth - 1)
        object.__setattr__(self, "cutter_teeth", cutter_teeth)
        name = f"a ring of {self.teeth} teeth cut by a cutter of {self.cutter_teeth}"
        if self.tip_mm < self.base_mm * (1 - ROUNDING):
            raise MechError(f"{name} has its tips within the base circle", "use a tip_alteration below 0")
        cutter = self._cutter
        if cutter.half_angle(cutter.tip_mm / 2) <= 0:
            raise MechError(f"{name} can't be made: the cutter is pointed", "use one with more teeth")
        self._check_tip()
        if self.tip_roll * self.base_mm / 2 < self._cutting_mm * math.sin(self.rack.angle) * (1 - ROUNDING):
            raise MechError(
                f"{name} would lose its tips to the cutter",
                "use a cutter with more teeth, or a tip_alteration below 0",
            )
        if not tips_pass(cutter, self, self._cutting_mm):
            raise MechError(f"{name} would be hit by it at the tips", "use a cutter with fewer teeth")

    @cached_property
    def _cutter(self) -> _Cutter:
        return _Cutter(self.cutter_teeth, self.module_mm, self.rack, -self.shift)

    @property
    def _cutting_mm(self) -> float:
        """Centre distance at which the cutter ends its work."""
        return (self.reference_mm - self._cutter.reference_mm) / 2

    def fillet(self, normal):
        """Points of the fillet, cut by the rounded tip of the cutter; ``normal``: its direction, in radians.

        0 is the end at the root circle, π/2 − α where the cutter's rounding meets its flank.
        """
        cutter, pitch_radius = self._cutter, self._cutter.reference_mm / 2
        radius, angle = cutter.centre
        # The normal passes through the pitch point when the cutter has turned this far.
        turned = normal - angle - np.arcsin(pitch_radius * np.sin(normal) / radius)
        rounding = radius * np.exp(1j * (angle + turned)) + cutter.rounding_mm * np.exp(1j * normal)
        point = self._cutting_mm + rounding
        space = point * np.exp(-1j * turned * self.cutter_teeth / self.teeth)  # upper side of a space
        return np.conj(space) * np.exp(1j * math.pi / self.teeth)

    @property
    def fillet_end(self) -> float:
        """Direction of the normal where the fillet meets the flank."""
        return math.pi / 2 - self.rack.angle

    @property
    def form_roll(self) -> float:
        """Roll angle at which the involute ends, towards the root."""
        string = self._cutting_mm * math.sin(self.rack.angle) + self._cutter.form_string_mm
        return string / (self.base_mm / 2)


def tips_pass(pinion: _Wheel, ring: Ring, centre_mm: float, lean: float = 0.0) -> bool:
    """Whether the tips of a pinion leave and enter the spaces of a ring without hitting its tips.

    Where the tip circles cross, the tip of the ring's tooth must have gone by before that of the pinion:
    (θ1 − ψ_a1)·z1/z2 + π/z2 − ψ_a2 ≥ θ2, ψ_a being half the tooth's angle at the tip.  ``lean`` (radians at
    the ring) is how far they may stand off the middle.  Source: Elements of Metric Gear Technology, T-45,
    eq. 5-6 and 5-7 ("trochoid interference"), published; written with angles of teeth.
    """
    radius1, radius2 = pinion.tip_mm / 2, ring.tip_mm / 2
    cos1 = (radius2**2 - radius1**2 - centre_mm**2) / (2 * centre_mm * radius1)
    cos2 = (radius2**2 - radius1**2 + centre_mm**2) / (2 * centre_mm * radius2)
    if abs(cos1) >= 1:  # the tip circles don't cross: the pinion's lies within the ring's, or around it
        return cos1 > 0
    turn = math.acos(cos1) - pinion.half_angle(radius1)
    opening = math.pi / ring.teeth - ring.half_angle(radius2)
    return bool(turn * pinion.teeth / ring.teeth + opening - lean >= math.acos(cos2))
