"""Choosing a pair: profile shifts for a centre distance, shortened tips, and teeth thinned for backlash.

Symbols as in ISO 21771, lengths in mm.  An allowance is what a tooth is thinner by, on the reference circle.
"""

from __future__ import annotations

import math
from dataclasses import replace

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.racks import BasicRack, check_rack
from mechlib.gears.spur import (
    MODULE_MM,
    ROUNDING,
    SHIFT,
    TEETH,
    Gear,
    Ring,
    crossing,
    involute,
)
from mechlib.gears.spur_mesh import base_distance_mm, check_pair, signed_teeth, tight_angle, tip_gap_mm

WORKING_ANGLE_DEG = (0.0, 60.0)
CLEARANCE = (0.0, 1.0)  # modules
TIP_THICKNESS = (0.0, 1.5)  # modules
THINNED_MM = (0.0, 5.0)


def shift_sum(
    teeth1: int, teeth2: int, module_mm: float, rack: BasicRack, centre_mm: float,
    backlash_mm: float = 0.0, internal: bool = False,
) -> float:  # fmt: skip
    """The sum of the profile shifts, x1 + x2, with which a pair has this backlash at a centre distance.

    x1 + x2 = ((z1 + z2)·(inv α_w − inv α) − |z1 + z2|·j/(2·a))/(2·tan α), cos α_w = m·|z1 + z2|·cos α/(2·a);
    z2 of a ring (``internal``) counts negative.  ``teeth1``, ``teeth2``: 6 to 2000, a ring's the larger;
    ``module_mm``: 0.05 to 50; ``centre_mm``: so that the working pressure angle is from 0 to 60°;
    ``backlash_mm``: circular, on the working pitch circles, 0 to 5.  How to share the sum is free, within
    ``least_shift`` and ``most_shift``.  Raises MechError for values out of range.
    Source: ISO 21771:2007, equations 62 and 63, gear pairs; ``tight_centre_mm`` leads back.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(shift_sum(12, 24, 3, ISO_53_A, 56.4999), 4)
    0.96
    """
    teeth1 = check_count("teeth1", teeth1, *TEETH)
    teeth2 = check_count("teeth2", teeth2, teeth1 + 1 if internal else TEETH[0], TEETH[1])
    module = check_number("module_mm", module_mm, *MODULE_MM, "mm")
    total = teeth1 - teeth2 if internal else teeth1 + teeth2
    base = module * abs(total) * math.cos(check_rack(rack).angle) / 2
    most = base / math.cos(math.radians(WORKING_ANGLE_DEG[1]))
    centre = check_number("centre_mm", centre_mm, base, most, "mm")
    backlash = check_number("backlash_mm", backlash_mm, *THINNED_MM, "mm")
    working = involute(math.degrees(math.acos(min(base / centre, 1.0))))
    rolled = total * (working - involute(rack.pressure_angle_deg)) - abs(total) * backlash / (2 * centre)
    return rolled / (2 * math.tan(rack.angle))


def least_shift(teeth: int, rack: BasicRack) -> float:
    """The profile shift from which a gear is not undercut: x = h_FfP − z·sin² α/2.

    ``teeth``: 6 to 2000.  Raises MechError out of range.  Source: ISO 21771, undercut.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(least_shift(12, ISO_53_A), 3), least_shift(18, ISO_53_A) < 0
    (0.298, True)
    """
    teeth = check_count("teeth", teeth, *TEETH)
    return check_rack(rack).form_depth - teeth * math.sin(rack.angle) ** 2 / 2


def most_shift(teeth: int, rack: BasicRack, tip_thickness: float = 0.0) -> float:
    """The profile shift at which the tip of a gear is as narrow as ``tip_thickness``, in modules.

    ``teeth``: 6 to 2000; ``tip_thickness``: 0 (the tooth is pointed) to 1.5; the tip isn't shortened.  The
    root of s_a(x) is found by halving; s_a = d_a·(s/d + inv α − inv α_a).  At most 1.5, the largest shift of
    a Gear, where the tip is wider even there.  Raises MechError out of range, and where the tip is
    narrower with the least shift already.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(most_shift(12, ISO_53_A), 3), round(most_shift(12, ISO_53_A, 0.2), 3)
    (0.82, 0.602)
    """
    teeth, rack = check_count("teeth", teeth, *TEETH), check_rack(rack)
    wanted = check_number("tip_thickness", tip_thickness, *TIP_THICKNESS, "modules")

    def narrower(shift: float) -> float:
        tip = teeth + 2 * (rack.addendum + shift)
        cosine = teeth * math.cos(rack.angle) / tip
        if cosine >= 1:  # below the base circle there is no involute, and the tooth is at its widest
            return -math.inf
        half = (math.pi / 2 + 2 * shift * math.tan(rack.angle)) / teeth
        half += involute(rack.pressure_angle_deg) - involute(math.degrees(math.acos(cosine)))
        return wanted - tip * half

    if narrower(SHIFT[0]) > 0:
        raise MechError(
            f"tip_thickness is {wanted:g} modules", f"no gear of {teeth} teeth has so wide a tip; use less"
        )
    return crossing(narrower, *SHIFT) if narrower(SHIFT[1]) > 0 else SHIFT[1]


def shortened(
    gear1: Gear | Ring, gear2: Gear | Ring, centre_mm: float, clearance: float
) -> tuple[Gear | Ring, Gear | Ring]:
    """The two gears of a pair with tips so short that a clearance is left at the mate's root.

    ``clearance`` c: 0 to 1 modules, for each tip; none is made longer.  For two gears of one rack, the
    clearance h_fP − h_aP, and no backlash, it comes to k = y − (x1 + x2), y = (a − m·(z1 + z2)/2)/m.  Raises
    MechError for values out of range, and tips that would have to be shortened by more than a module.
    Source: ISO 21771, tip alteration.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> pair = Gear(12, 3, ISO_53_A, 0.6, -0.1), Gear(24, 3, ISO_53_A, 0.36)
    >>> [round(gear.tip_mm, 3) for gear in shortened(*pair, 56.4999, 0.25)]
    [44.84, 79.4]
    """
    check_pair(gear1, gear2)
    centre = check_number("centre_mm", centre_mm, 0, 2 * (gear1.tip_mm + gear2.tip_mm), "mm")
    clearance = check_number("clearance", clearance, *CLEARANCE, "modules")

    def short(gear: Gear | Ring, mate: Gear | Ring) -> Gear | Ring:
        lacking = tip_gap_mm(gear, mate, centre) / gear.module_mm - clearance
        if lacking >= -ROUNDING:
            return gear
        return replace(gear, tip_alteration=gear.tip_alteration + lacking)

    return short(gear1, gear2), short(gear2, gear1)


def thinned(gear: Gear | Ring, by_mm: float) -> Gear | Ring:
    """The same gear cut deeper, until its teeth are ``by_mm`` thinner on the reference circle.

    Its cutter is set to x_E = x − A/(2·m·tan α), A the allowance; the tip stays where it was, the root comes
    deeper.  ``by_mm``: 0 to 5.  Raises MechError where nothing is left of such a tooth.
    Source: ISO 21771, generating profile shift coefficient.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> gear = Gear(20, 1, ISO_53_A)
    >>> thin = thinned(gear, 0.05)
    >>> round(gear.thickness_mm(20) - thin.thickness_mm(20), 9), thin.tip_mm == gear.tip_mm
    (0.05, True)
    """
    by = check_number("by_mm", by_mm, *THINNED_MM, "mm")
    deeper = by / (2 * gear.module_mm * math.tan(gear.rack.angle))
    return replace(gear, shift=gear.shift - deeper, tip_alteration=gear.tip_alteration + deeper)


def allowance_backlash(thinned_mm: float, rack: BasicRack, working_angle_deg: float) -> tuple[float, float]:
    """What an allowance adds to the backlash of a pair: circular and normal, in mm.

    Normal j_bn = A·cos α, along the line of action (a feeler gauge between the flanks); circular, on the
    working pitch circles, j_wt = j_bn/cos α_w.  ``thinned_mm`` A: what both gears' teeth together are thinner
    by, on their reference circles, 0 to 5; ``working_angle_deg``: 0 to 60.  Raises MechError out of range.
    Exact at any centre distance: both follow from s_y of ISO 21771, derived.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> [round(size, 4) for size in allowance_backlash(0.1, ISO_53_A, 20)]
    [0.1, 0.094]
    """
    thin = check_number("thinned_mm", thinned_mm, *THINNED_MM, "mm")
    working = check_number("working_angle_deg", working_angle_deg, *WORKING_ANGLE_DEG, "°")
    normal = thin * math.cos(check_rack(rack).angle)
    return normal / math.cos(math.radians(working)), normal


def thinning_for(normal_backlash_mm: float, rack: BasicRack) -> float:
    """What to thin both gears by together for a normal backlash: A = j_bn/cos α; see ``allowance_backlash``.

    ``normal_backlash_mm``: 0 to 4.  Raises MechError out of range.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(thinning_for(0.094, ISO_53_A), 3)
    0.1
    """
    return check_number("normal_backlash_mm", normal_backlash_mm, 0, 4, "mm") / math.cos(
        check_rack(rack).angle
    )


def centre_for_backlash(gear1: Gear | Ring, gear2: Gear | Ring, backlash_mm: float) -> float:
    """The centre distance at which a pair has a circular backlash, on its working pitch circles.

    Solved by halving: j = ±2·a·(inv α_w − inv α_t), a = |d_b1 ± d_b2|/(2·cos α_w), α_t without backlash; the
    upper sign outside, where gears move apart, the lower for a ring, where they move closer together.
    ``backlash_mm``: 0 to 5.  Raises MechError out of range, where the pair can't mesh (see
    ``tight_centre_mm``), and for a backlash that it can't have with a working angle from 0 to 60°.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(centre_for_backlash(Gear(12, 3, ISO_53_A), Gear(24, 3, ISO_53_A), 0.148), 3)
    54.2
    """
    backlash = check_number("backlash_mm", backlash_mm, *THINNED_MM, "mm")
    tight, base = tight_angle(gear1, gear2), base_distance_mm(gear1, gear2)
    outside = signed_teeth(gear1) + signed_teeth(gear2) > 0
    end = math.radians(WORKING_ANGLE_DEG[1]) if outside else 0.0

    def more_than_wanted(share: float) -> float:
        """Of the way from the tight angle to the last one."""
        angle = tight + share * (end - tight)
        rolled = abs(math.tan(angle) - angle - math.tan(tight) + tight)
        return 2 * base / math.cos(angle) * rolled - backlash

    if more_than_wanted(1.0) < 0:
        raise MechError(
            f"backlash_mm is {backlash:g} mm",
            f"these gears can have at most {more_than_wanted(1.0) + backlash:.3f} mm",
        )
    share = crossing(more_than_wanted, 0.0, 1.0)
    return base / math.cos(tight + share * (end - tight))
