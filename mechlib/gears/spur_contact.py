"""Where two spur gears touch: the path of contact, its contact ratio, interference, and what sliding costs.

Places on the path are lengths along the line of action in mm, counted from the pitch point, positive where
the touching point is further out on gear 1.  Symbols as in ISO 21771.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from mechlib.errors import MechError, check_number
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_mesh import SpurMesh, mesh_angle, signed_teeth, told
from mechlib.say import listing, say

FRICTION = (0.0, 0.5)
CLOSE = 1e-5  # modules; what the sampling of a tip's path may miss
TIP_PLACES, FILLET_PLACES = 4001, 801


@dataclass(frozen=True)
class Contact:
    """The path of contact of a pair.

    ``start_mm`` and ``end_mm``: its ends, where both gears have an involute; ``blind_ratio``: the contact
    ratio by the tip circles alone, as handbooks reckon it; ``dig_mm``: for gear 1 and gear 2, how deep the
    tips of the mate would cut into its fillet (interference), 0 where they pass.
    """

    mesh: SpurMesh
    start_mm: float
    end_mm: float
    blind_ratio: float
    dig_mm: tuple[float, float]

    @property
    def length_mm(self) -> float:
        """Length of the path of contact; 0 where the involutes don't meet at all."""
        return max(self.end_mm - self.start_mm, 0.0)

    @property
    def ratio(self) -> float:
        """Contact ratio ε_α = g_α/p_b: how many pairs of teeth touch, on average."""
        return self.length_mm / base_pitch(self.mesh)

    def sentence(self) -> str:
        """The contact in one sentence."""
        found = f"{say(self.ratio, '', 2)} pairs of teeth are in contact on average"
        if self.blind_ratio - self.ratio > 0.005:
            found += f" (by the tip circles alone it would be {say(self.blind_ratio, '', 2)})"
        dug = [
            f"the tips of {told(mate)} would cut {say(deep, 'mm', 3)} into the roots of {told(gear)}"
            for gear, mate, deep in _both_ways(self)
            if deep > 0
        ]
        return f"{found}; {listing(dug)}." if dug else f"{found}."


def _both_ways(found: Contact):
    gears = (found.mesh.gear1, found.mesh.gear2)
    return zip(gears, gears[::-1], found.dig_mm, strict=True)


def base_pitch(found: SpurMesh) -> float:
    """Base pitch p_b = π·d_b/z in mm, the same for both gears of a pair.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> from mechlib.gears.spur_mesh import mesh
    >>> round(base_pitch(mesh(Gear(20, 1, ISO_53_A), Gear(30, 1, ISO_53_A), 25)), 4)
    2.9521
    """
    return math.pi * found.gear1.base_mm / found.gear1.teeth


@lru_cache(maxsize=256)
def contact(found: SpurMesh) -> Contact:
    """The path of contact of a pair in mesh.

    On the line of action the unwound strings t1, t2 of both gears make up its length between the base
    circles, t1 ± t2 = a·sin α_w.  Contact lasts while each is between its tip, √(r_a² − r_b²), and the end
    of its involute at the fillet: ε_α = g_α/p_b.  The tip circles alone give the usual formula.
    Source: ISO 21771, path of contact and transverse contact ratio.

    Takes what ``mesh`` returns, which has refused pairs that can't mesh; raises nothing more.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> from mechlib.gears.spur_mesh import mesh
    >>> pair = contact(mesh(Gear(12, 3, ISO_53_A), Gear(24, 3, ISO_53_A), 54))
    >>> round(pair.blind_ratio, 3), round(pair.ratio, 3)
    (1.511, 1.275)
    """
    one, other = found.gear1, found.gear2
    tip1, form1 = _strings(one)
    string = math.copysign(
        found.centre_mm * math.sin(math.radians(found.working_angle_deg)),
        signed_teeth(one) + signed_teeth(other),
    )
    # Strings of gear 2, told as strings of gear 1.
    tip2, form2 = (one.inside * (string - other.inside * end) for end in _strings(other))
    pitch_point = found.working_mm[0] / 2 * math.sin(math.radians(found.working_angle_deg))
    start = max(min(tip1, form1), min(tip2, form2)) - pitch_point
    end = min(max(tip1, form1), max(tip2, form2)) - pitch_point
    blind = one.inside * (tip1 - tip2) / base_pitch(found)
    dig = tuple(
        _dig(*pair, found.centre_mm) if over > 0 else 0.0
        for pair, over in zip(((one, other), (other, one)), found.over_mm, strict=True)
    )
    return Contact(found, start, end, blind, dig)


def rack_contact_ratio(gear: Gear) -> float:
    """Contact ratio of a gear with a straight rack made to the same basic rack: a tray's, say.

    The gear rolls on its reference circle; the rack's reference line is x·m off that.  From the pitch point
    contact reaches (h_aP − x)·m/sin α to the rack's tips on one side, and on the other the gear's tip, or the
    rack's fillet where that comes first; on neither side further than the gear's involute.
    Source: ISO 21771, transverse contact ratio, with one gear of endlessly many teeth.

    Raises MechError for what is no outside gear.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> [round(rack_contact_ratio(Gear(teeth, 1, ISO_53_A)), 3) for teeth in (20, 12)]
    [1.769, 1.275]
    """
    if not isinstance(gear, Gear):
        raise MechError(f"the gear is a {type(gear).__name__}", "only an outside gear runs on a rack")
    rack, (tip, form) = gear.rack, _strings(gear)
    pitch_point = gear.reference_mm / 2 * math.sin(rack.angle)
    heights = rack.addendum - gear.shift, rack.form_depth + gear.shift
    down, up = (height * gear.module_mm / math.sin(rack.angle) for height in heights)
    start, end = max(form, pitch_point - down), min(tip, pitch_point + up)
    return max(end - start, 0.0) * gear.teeth / (math.pi * gear.base_mm)


def _strings(gear: Gear | Ring) -> tuple[float, float]:
    """Unwound string at the tip, and where the involute ends at the fillet."""
    return gear.tip_roll * gear.base_mm / 2, gear.form_roll * gear.base_mm / 2


def _dig(gear: Gear | Ring, mate: Gear | Ring, centre: float) -> float:
    """How deep the tips of a mate cut into the fillets of a gear while their flanks touch.

    The corner of the mate's tip next to the gear's first tooth is followed in the frame of the gear; the
    mate leans so that it is at the flank of that tooth.
    """
    turned = np.linspace(-2, 2, TIP_PLACES) * 360 / gear.teeth
    start = mesh_angle(gear, mate, centre, 0.0, lean=-1.0)
    each = (mesh_angle(gear, mate, centre, 1.0, lean=-1.0) - start) * turned
    away = -centre if isinstance(mate, Ring) else centre
    radius = mate.tip_mm / 2
    corner = away + radius * np.exp(1j * (np.radians(start + each) - mate.half_angle(radius)))
    seen = corner * np.exp(-1j * np.radians(turned))
    seen = abs(seen) * np.exp(1j * abs(np.angle(seen)))  # mirrored to the upper side of the tooth

    fillet = gear.fillet(np.linspace(0, gear.fillet_end, FILLET_PLACES))
    rising = fillet[np.argsort(abs(fillet))]
    within = (abs(rising[0]) < abs(seen)) & (abs(seen) < abs(rising[-1]))
    within &= np.angle(seen) < np.interp(abs(seen), abs(rising), np.angle(rising))
    if not within.any():
        return 0.0
    deep = float(abs(seen[within][:, None] - fillet).min(axis=1).max())
    return deep if deep > CLOSE * gear.module_mm else 0.0


def mesh_efficiency(found: SpurMesh, friction: float) -> float:
    """Efficiency of a pair, 0 to 1: what the sliding of the flanks leaves of the power.

    η = 1 − μ·|1/r_b1 ± 1/r_b2|·∫ w·|s| ds/p_b over the path of contact; s is the distance from the pitch
    point, w = 1/n the load on one of the n pairs that touch at a time.  For contact ratios from 1 to 2 with
    single contact around the pitch point this is 1 − μ·π·(1/z1 + 1/z2)·(1 − ε_α + ε1² + ε2²).
    ``friction``: coefficient of friction μ of the flanks, 0 to 0.5, the same all along; it is taken as too
    small to change the load.  Bearings and stirred grease come on top.

    Raises MechError for a friction out of range and a contact ratio below 1, where teeth lose touch.
    Source: the tooth loss factor after Ohlendorf, in ISO/TR 14179-2 and Niemann/Winter, Maschinenelemente
    II (from memory), here with its integral for any contact ratio.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> from mechlib.gears.spur_mesh import mesh
    >>> round(mesh_efficiency(mesh(Gear(20, 1, ISO_53_A), Gear(40, 1, ISO_53_A), 30), 0.1), 4)
    0.9834
    """
    friction = check_number("friction", friction, *FRICTION)
    path = contact(found)
    if path.ratio < 1:
        raise MechError(
            f"the contact ratio is {path.ratio:.3f}",
            "below 1 teeth lose touch; there is no steady efficiency",
        )
    radii = [gear.inside * gear.base_mm / 2 for gear in (found.gear1, found.gear2)]
    slide = abs(1 / radii[0] + 1 / radii[1])
    return 1 - friction * slide * _mean_slide(path.start_mm, path.end_mm, base_pitch(found))


def _mean_slide(start: float, end: float, pitch: float) -> float:
    """∫ w·|s| ds/p_b: straight between the places where a pair comes or goes, and the pitch point."""
    steps = pitch * np.arange(math.ceil((end - start) / pitch))
    places = np.unique(np.clip(np.concatenate([start + steps, end - steps, [0.0]]), start, end))
    middle = (places[1:] + places[:-1]) / 2
    pairs = 1 + np.floor((middle - start) / pitch) + np.floor((end - middle) / pitch)
    return float(np.sum(np.diff(places) * (abs(places[1:]) + abs(places[:-1])) / 2 / pairs) / pitch)
