"""Two spur gears in mesh at a given centre distance: what is left between them, and how they must stand.

Outlines true to 3e-4 modules, laid on one another as ``mesh_angle`` says and turned through a pitch, overlap
nowhere by more than 1e-3 modules, and leave a gap of half the backlash within that (tests: twelve places).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.spur import ROUNDING, TEETH, Gear, Ring, involute, involute_angle, tips_pass
from mechlib.say import listing, say

CUTTER_GAP = 18  # by which a ring has more teeth than the cutter, see ring_for


@dataclass(frozen=True)
class SpurMesh:
    """Two gears at a centre distance.

    ``working_angle_deg``: working pressure angle α_w; ``backlash_mm``: circular, along the working pitch
    circles; ``clearance_mm``: from the tip of gear 1 to the root of gear 2, and the other way;
    ``over_mm``: for gear 1 and gear 2, how far (along the line of action) the mate's tip reaches beyond where
    its involute begins, 0 where it doesn't.
    """

    gear1: Gear | Ring
    gear2: Gear | Ring
    centre_mm: float
    working_angle_deg: float
    backlash_mm: float
    clearance_mm: tuple[float, float]
    over_mm: tuple[float, float]

    @property
    def normal_backlash_mm(self) -> float:
        """Backlash along the line of action, as a feeler gauge finds it: j_bn = j_wt·cos α_w."""
        return self.backlash_mm * math.cos(math.radians(self.working_angle_deg))

    @property
    def working_mm(self) -> tuple[float, float]:
        """Working pitch diameters: 2·a·z/(z1 + z2), with the difference of the tooth counts for a ring."""
        per_tooth = 2 * self.centre_mm / abs(signed_teeth(self.gear1) + signed_teeth(self.gear2))
        return per_tooth * self.gear1.teeth, per_tooth * self.gear2.teeth

    def sentence(self) -> str:
        """The mesh in one sentence."""
        angle, backlash = say(self.working_angle_deg, "°", 2), say(self.backlash_mm, "mm", 3)
        found = (
            f"{told(self.gear1).capitalize()} and {told(self.gear2)}, module {self.gear1.module_mm:g} mm, "
            f"at {say(self.centre_mm, 'mm', 3)}: working pressure angle {angle}, backlash {backlash}"
        )
        gears = [f"gear {at}" for at, over in enumerate(self.over_mm, 1) if over > 0]
        return f"{found}; contact leaves the involute of {listing(gears)}." if gears else f"{found}."


def told(gear: Gear | Ring) -> str:
    """A gear as it is named in a sentence."""
    return f"{'a ring' if isinstance(gear, Ring) else 'a gear'} of {gear.teeth} teeth"


def signed_teeth(gear: Gear | Ring) -> int:
    """The tooth count as ISO 21771 has it: negative for a ring."""
    return gear.inside * gear.teeth


def tight_centre_mm(gear1: Gear | Ring, gear2: Gear | Ring) -> float:
    """The centre distance at which two gears mesh without backlash.

    inv α_w = inv α + 2·tan α·(x1 + x2)/(z1 + z2); a = m·|z1 + z2|/2·cos α/cos α_w; z of a ring counts
    negative.  Raises MechError for gears that can't mesh: two rings, a ring that isn't larger, another module
    or pressure angle, and shifts for which there is no such distance.  Source: ISO 21771, gear pairs.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(tight_centre_mm(Gear(12, 3, ISO_53_A, shift=0.6), Gear(24, 3, ISO_53_A, shift=0.36)), 4)
    56.4999
    """
    return base_distance_mm(gear1, gear2) / math.cos(tight_angle(gear1, gear2))


def tight_angle(gear1: Gear | Ring, gear2: Gear | Ring) -> float:
    """Working pressure angle without backlash, in radians; see ``tight_centre_mm``."""
    check_pair(gear1, gear2)
    angle, teeth = gear1.rack.angle, signed_teeth(gear1) + signed_teeth(gear2)
    at = involute(math.degrees(angle)) + 2 * math.tan(angle) * (gear1.shift + gear2.shift) / teeth
    if at < 0:
        raise MechError(
            f"the shifts {gear1.shift:g} and {gear2.shift:g} don't go together",
            "there is no centre distance without backlash; change their sum",
        )
    return math.radians(involute_angle(at))


def base_distance_mm(gear1: Gear | Ring, gear2: Gear | Ring) -> float:
    """The least centre distance: base circles touch, or lie one in the other; a_w·cos α_w."""
    return abs(gear1.inside * gear1.base_mm + gear2.inside * gear2.base_mm) / 2


def check_pair(gear1: Gear | Ring, gear2: Gear | Ring) -> None:
    """Refuse two gears that can't be a pair at any centre distance, and what is no gear."""
    for gear in (gear1, gear2):
        if not isinstance(gear, Gear | Ring):
            raise MechError(f"a gear of the pair is {gear!r}", "give a Gear or a Ring")
    rings = [gear for gear in (gear1, gear2) if isinstance(gear, Ring)]
    if len(rings) == 2:
        raise MechError("two rings can't mesh", "one of the two must be an outside gear")
    if rings and signed_teeth(gear1) + signed_teeth(gear2) >= 0:
        raise MechError(f"a ring of {rings[0].teeth} teeth", "it must have more teeth than the gear inside")
    if gear1.module_mm != gear2.module_mm:
        raise MechError(f"modules {gear1.module_mm:g} and {gear2.module_mm:g} mm", "a pair has the same")
    if gear1.rack.angle != gear2.rack.angle:
        angles = f"{gear1.rack.pressure_angle_deg:g} and {gear2.rack.pressure_angle_deg:g}°"
        raise MechError(f"pressure angles {angles}", "a pair has the same")


@lru_cache(maxsize=256)
def mesh(gear1: Gear | Ring, gear2: Gear | Ring, centre_mm: float) -> SpurMesh:
    """Two gears at the centre distance ``centre_mm``, one of them a ring or none.

    cos α_w = |d_b1 ± d_b2|/(2·a); circular backlash j_wt = π·d_w1/z1 − s_w1 − s_w2.  Raises MechError where
    they can't mesh: see ``tight_centre_mm``; base circles that don't reach each other, teeth that bind at the
    flanks or at the roots, and tips of a pinion and a ring that hit one another.
    Source: ISO 21771, gear pairs.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(mesh(Gear(12, 3, ISO_53_A), Gear(24, 3, ISO_53_A), 54.2).backlash_mm, 3)
    0.148
    """
    check_pair(gear1, gear2)
    total = signed_teeth(gear1) + signed_teeth(gear2)
    base = base_distance_mm(gear1, gear2)
    centre = check_number("centre_mm", centre_mm, base, 2 * (gear1.tip_mm + gear2.tip_mm), "mm")
    angle = math.acos(min(base / centre, 1.0))
    backlash = play_mm(gear1, gear2, centre)
    if backlash < -ROUNDING * gear1.module_mm:
        raise MechError(
            f"at {centre:.4f} mm the teeth bind, by {-backlash:.4f} mm",
            f"without backlash the centre distance is {tight_centre_mm(gear1, gear2):.4f} mm",
        )
    clearance = tuple(tip_gap_mm(*pair, centre) for pair in ((gear1, gear2), (gear2, gear1)))
    if min(clearance) < -ROUNDING * gear1.module_mm:
        raise MechError(
            f"at {centre:.4f} mm a tip digs {-min(clearance):.4f} mm into the mate's root",
            "use a tip_alteration below 0",
        )
    string = math.copysign(centre * math.sin(angle), total)
    over = tuple(_over(*pair, string) for pair in ((gear1, gear2), (gear2, gear1)))
    found = SpurMesh(gear1, gear2, centre, math.degrees(angle), max(backlash, 0.0), clearance, over)
    _check_tips(found)
    return found


def play_mm(gear1: Gear | Ring, gear2: Gear | Ring, centre: float) -> float:
    """What the teeth leave of the pitch on the working pitch circles; below 0 they don't fit."""
    pitch = 2 * math.pi * centre / abs(signed_teeth(gear1) + signed_teeth(gear2))
    return pitch - sum(gear.thickness_mm(pitch * gear.teeth / math.pi) for gear in (gear1, gear2))


def tip_gap_mm(tip_gear: Gear | Ring, root_gear: Gear | Ring, centre: float) -> float:
    """From the tip of one gear to the root of the other, on the line of centres; below 0 they collide."""
    tip, root = tip_gear.tip_mm / 2, root_gear.root_mm / 2
    return centre - tip - root if tip_gear.inside == root_gear.inside else abs(tip - root) - centre


def _over(gear: Gear | Ring, mate: Gear | Ring, string: float) -> float:
    """How far the mate's tip reaches beyond where the involute of ``gear`` begins, along the line of action.

    The unwound strings of both gears make up the line of action, ``string``, between the base circles.
    """
    reached = gear.inside * (string - mate.inside * mate.tip_roll * mate.base_mm / 2)
    beyond = gear.inside * (gear.form_roll * gear.base_mm / 2 - reached)
    return beyond if beyond > ROUNDING * gear.module_mm else 0.0


def _check_tips(found: SpurMesh) -> None:
    """Refuse a pinion in a ring whose tips hit one another."""
    pinion, ring = sorted((found.gear1, found.gear2), key=lambda gear: -gear.inside)
    if isinstance(ring, Ring):
        lean = found.backlash_mm / max(found.working_mm)  # half of it, at the radius of the ring
        if not tips_pass(pinion, ring, found.centre_mm, lean):
            raise MechError(
                f"the tips of {told(pinion)} hit those of {told(ring)}",
                "use a ring with more teeth, or a tip_alteration below 0",
            )


def mesh_angle(
    gear1: Gear | Ring,
    gear2: Gear | Ring,
    centre_mm: float,
    angle1_deg: float,
    direction_deg: float = 0.0,
    lean: float = 0.0,
) -> float:
    """The angle at which gear 2 stands when gear 1 stands at ``angle1_deg``.

    An angle is that of the middle of one tooth (the first of the outline), counter-clockwise, from a fixed
    line.  ``direction_deg``: where the two mesh, seen from the centre of gear 1.  That is where the centre of
    gear 2 is, but for a ring as gear 2, whose centre is the other way.  ``lean``, −1 to 1: with 0 the
    backlash is split, half on either side of gear 2's teeth; with ±1 it is turned on (+1 counter-clockwise)
    until flanks touch.
    External: φ2 = δ + 180° + 180°/z2 − (φ1 − δ)·z1/z2; internal: φ2 = δ + 180°/z2 + (φ1 − δ)·z1/z2.

    Raises MechError where the gears can't mesh, see ``mesh``, and for a lean out of range.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> pinion, wheel = Gear(20, 1, ISO_53_A), Gear(40, 1, ISO_53_A)
    >>> mesh_angle(pinion, wheel, 30, 0), mesh_angle(pinion, wheel, 30, 18)
    (184.5, 175.5)
    """
    found = mesh(gear1, gear2, centre_mm)
    lean = check_number("lean", lean, -1, 1)
    direction = check_number("direction_deg", direction_deg)
    turned = (check_number("angle1_deg", angle1_deg) - direction) * gear1.teeth / gear2.teeth
    outside = gear1.inside == gear2.inside
    middle = direction + 180 / gear2.teeth + (180 - turned if outside else turned)
    return middle + math.degrees(lean * found.backlash_mm / found.working_mm[1])


def ring_for(pinion: Gear, teeth: int, cutter_teeth: int | None = None) -> Ring:
    """A ring in which a pinion runs at the reference centre distance, m·(z − z_pinion)/2, without backlash.

    ``teeth``: tooth count of the ring; ``cutter_teeth``: that of its cutter; if not given, 18 fewer than the
    ring's, the most that can be fed in without trimming (Elements of Metric Gear Technology, table 5-3a), but
    no fewer than half the ring's and the pinion's.  Its shift is minus the pinion's.  Its tips end where
    contact comes to the start of the pinion's involute: d_a = 2·√(r_b² + (a·sin α + t_F)²), t_F the unwound
    string there.  Raises MechError where there is no such ring.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(ring_for(Gear(18, 1, ISO_53_A), 54).tip_alteration, 3)
    -0.145
    """
    teeth = check_count("teeth", teeth, pinion.teeth + 1, TEETH[1], "more than the pinion has")
    module, angle = pinion.module_mm, pinion.rack.angle
    base = module * teeth * math.cos(angle) / 2
    string = module * (teeth - pinion.teeth) / 2 * math.sin(angle) + pinion.form_roll * pinion.base_mm / 2
    height = teeth / 2 - math.hypot(base, string) / module
    alteration = min(height - (pinion.rack.addendum - pinion.shift), 0.0)
    cutter = max(pinion.teeth, teeth // 2, teeth - CUTTER_GAP) if cutter_teeth is None else cutter_teeth
    return Ring(teeth, module, pinion.rack, -pinion.shift, alteration, cutter)
