"""A pair of spur gears that is warmer or colder than when it was measured: what is left of its backlash.

Gears, and the plate that holds their shafts, grow by (1 + α·ΔT), each by its own material.  Which material
has which coefficient is not said here: it is a parameter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from mechlib.errors import MechError, check_number
from mechlib.gears.spur import Gear, Ring, crossing
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_mesh import SpurMesh, base_distance_mm, play_mm, signed_teeth, tip_gap_mm
from mechlib.say import say

RISE_K = (-100.0, 200.0)
EXPANSION_PER_K = (0.0, 5e-4)
MEMBERS = ("gear 1", "gear 2", "the plate")


@dataclass(frozen=True)
class WarmMesh:
    """A pair at another temperature.

    ``cold``: the pair as measured; ``rise_K``: by how much gear 1, gear 2 and the plate are warmer than then;
    ``centre_mm`` and ``clearance_mm``: warm, as in SpurMesh; ``backlash_mm``: circular, by the widths of
    teeth on the working pitch circles; ``least_mm``: what is left in the worst place on the way through a
    pitch, smaller where the gears grow differently and their pitches no longer fit.  Below 0 teeth bind.
    ``ratio``: the contact ratio, by the larger of both base pitches.
    """

    cold: SpurMesh
    rise_K: tuple[float, float, float]
    expansion_per_K: tuple[float, float, float]
    centre_mm: float
    backlash_mm: float
    least_mm: float
    clearance_mm: tuple[float, float]
    ratio: float

    @property
    def binds(self) -> bool:
        """Whether teeth bind, at the flanks or at the roots."""
        return min(self.least_mm, *self.clearance_mm) < 0

    def sentence(self) -> str:
        """The warm pair in one sentence."""
        rises = [say(rise, "K", 0, sign=True) for rise in self.rise_K]
        where = rises[0] if len(set(rises)) == 1 else f"{rises[0]}, {rises[1]} and {rises[2]} (plate)"
        change = f"from {say(self.cold.backlash_mm, 'mm', 3)} to {say(self.least_mm, 'mm', 3)}"
        found = f"At {where} the least backlash goes {change}"
        return f"{found}: the teeth bind." if self.binds else f"{found}."


def warmed(
    found: SpurMesh, rise_K: tuple[float, float, float], expansion_per_K: tuple[float, float, float]
) -> WarmMesh:
    """A pair when gear 1, gear 2 and the plate are warmer by ``rise_K`` than when it was measured.

    Every length of a gear grows by 1 + α·ΔT, the centre distance with the plate.  Backlash by the widths of
    teeth is 2·π·a/|z1 ± z2| − s_w1 − s_w2 with the warm sizes.  Where one gear has grown more than the other,
    so has its base pitch, and teeth that touch nearer to its tip meet earlier, by the difference a pitch; the
    least backlash is with teeth on both sides at the end of the path of contact.  ``rise_K``: −100 to 200 K
    each; ``expansion_per_K``: linear expansion coefficients of gear 1, gear 2 and the plate, 0 to 5e-4 a
    kelvin.  Plastics that take up water swell besides.  Raises MechError for values out of range, and where
    the warm base circles no longer reach each other.
    Source: linear expansion with the tooth thickness of ISO 21771, derived.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> from mechlib.gears.spur_mesh import mesh
    >>> pair = mesh(Gear(20, 0.5, ISO_53_A), Gear(60, 0.5, ISO_53_A), 20.05)
    >>> print(warmed(pair, (40, 40, 40), (11e-5, 11e-5, 1.2e-5)).sentence())
    At +40 K the least backlash goes from 0.037 mm to −0.021 mm: the teeth bind.
    """
    rises = _checked("rise_K", rise_K, RISE_K, "K")
    by = _checked("expansion_per_K", expansion_per_K, EXPANSION_PER_K, "a kelvin")
    one, other, centre = _grown(found, rises, by)
    if centre < base_distance_mm(one, other):
        raise MechError(
            f"warm, the centre distance is {centre:.3f} mm",
            f"these gears then need more than {base_distance_mm(one, other):.3f} mm to touch on their flanks",
        )
    backlash = play_mm(one, other, centre)
    clearance = tip_gap_mm(one, other, centre), tip_gap_mm(other, one, centre)
    least, ratio = _least(one, other, centre), _ratio(one, other, centre)
    return WarmMesh(found, rises, by, centre, backlash, least, clearance, ratio)


def _grown(found: SpurMesh, rises, expansions) -> tuple[Gear | Ring, Gear | Ring, float]:
    """Both gears and the centre distance at another temperature."""
    by1, by2, plate = (1 + rise * by for rise, by in zip(rises, expansions, strict=True))
    one, other = (
        replace(gear, module_mm=gear.module_mm * by) for gear, by in ((found.gear1, by1), (found.gear2, by2))
    )
    return one, other, found.centre_mm * plate


def _checked(name: str, values, limits: tuple[float, float], unit: str) -> tuple[float, float, float]:
    if not isinstance(values, tuple | list) or len(values) != len(MEMBERS):
        raise MechError(f"{name} is {values!r}", "give three numbers, for gear 1, gear 2 and the plate")
    one, other, plate = (
        check_number(f"{name} of {member}", value, *limits, unit)
        for member, value in zip(MEMBERS, values, strict=True)
    )
    return one, other, plate


def _least(gear: Gear | Ring, other: Gear | Ring, centre: float) -> float:
    """Least circular backlash of two gears whose base pitches may differ.

    Seen with a tooth of ``gear`` on the line of centres, in the middle of a space: the unwound strings of
    the flanks that face each other, r_b·(α_w + ψ_b), leave a gap on the line between the base circles; it is
    the same on the other side.  A pair of teeth further along has a gap that is smaller by what the base
    pitch of the one exceeds that of the other; it is smallest where the longer pitch ends, at a tip.
    """
    angle = math.acos(base_distance_mm(gear, other) / centre)
    string = math.copysign(centre * math.sin(angle), signed_teeth(gear) + signed_teeth(other))
    offsets = 0.0, math.pi / other.teeth
    strings = [
        each.base_mm / 2 * (angle + each.inside * (each.base_angle - offset))
        for each, offset in zip((gear, other), offsets, strict=True)
    ]
    gap = string - gear.inside * strings[0] - other.inside * strings[1]
    pitches = [math.pi * each.base_mm / each.teeth for each in (gear, other)]
    at = 0 if pitches[0] > pitches[1] else 1
    longer = (gear, other)[at]
    run = longer.inside * (longer.tip_roll * longer.base_mm / 2 - strings[at]) / pitches[at]
    return 2 * (gap - abs(pitches[0] - pitches[1]) * run) / math.cos(angle)


def _ratio(gear: Gear | Ring, other: Gear | Ring, centre: float) -> float:
    """Contact ratio of two gears that have grown: the path of contact over the larger base pitch."""
    angle = math.degrees(math.acos(base_distance_mm(gear, other) / centre))
    length = contact(SpurMesh(gear, other, centre, angle, 0.0, (0.0, 0.0), (0.0, 0.0))).length_mm
    return length / max(math.pi * each.base_mm / each.teeth for each in (gear, other))


def rise_to_bind_K(found: SpurMesh, expansion_per_K: tuple[float, float, float]) -> float | None:
    """The rise of temperature, the same for gears and plate, at which a pair begins to bind.

    Found by halving, from 0 to 200 K, see ``warmed``; None where it doesn't bind up to there.  Where the warm
    base circles of two outside gears no longer reach between the shafts, the teeth have bound before; a ring
    that outgrows its pinion hangs loose.  Raises MechError for coefficients out of range.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> from mechlib.gears.spur_mesh import mesh
    >>> pair = mesh(Gear(20, 0.5, ISO_53_A), Gear(60, 0.5, ISO_53_A), 20.05)
    >>> round(rise_to_bind_K(pair, (11e-5, 11e-5, 1.2e-5)), 1), rise_to_bind_K(pair, (1e-5, 1e-5, 1e-5))
    (25.5, None)
    """
    by = _checked("expansion_per_K", expansion_per_K, EXPANSION_PER_K, "a kelvin")
    outside = found.gear1.inside == found.gear2.inside

    def tight(rise: float) -> float:
        one, other, centre = _grown(found, (rise,) * 3, by)
        if centre < base_distance_mm(one, other):
            return math.inf if outside else -math.inf
        warm = warmed(found, (rise,) * 3, by)
        return -min(warm.least_mm, *warm.clearance_mm)

    return crossing(tight, 0.0, RISE_K[1]) if tight(RISE_K[1]) > 0 else None
