"""How much a tooth bears: Lewis' form factor from the real tooth, and the bending stress at its root.

A first look, not a rating: it leaves out wear, heat, impact, the notch at the fillet and that two teeth may
share the load.  For plastic gears it tells best how one gear compares with another.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from mechlib.errors import MechError, check_number
from mechlib.gears.spur import Gear

FORCE_N = (0.0, 1e5)
TORQUE_NMM = (0.0, 1e6)
WIDTH_MM = (0.1, 500.0)
FILLET_POINTS = 400


@lru_cache(maxsize=1024)
def lewis_factor(gear: Gear) -> float:
    """Lewis' form factor Y of an outside gear with the load at its tip, by its own fillet.

    The force at the tip, square to the flank, meets the middle of the tooth at the height of
    V = r_b/cos(φ_a), φ_a = √((d_a/d_b)² − 1) − ψ_b, ψ_b being half the tooth's angle at the base circle.  A
    beam of even strength is a parabola with its top at V; the widest one within the tooth touches the fillet
    where t²/l is least: Y = t²/(6·l·m), t the tooth's thickness there and l its distance from V.

    ``gear``: any Gear.  Returns Y, without unit.  Raises MechError for a ring, whose teeth need another way.
    Source: W. Lewis, Investigation of the strength of gear teeth, 1893, as in any handbook of machine design.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(lewis_factor(Gear(20, 1, ISO_53_A)), 2)
    0.31
    """
    if not isinstance(gear, Gear):
        raise MechError(f"Lewis' factor of a {type(gear).__name__.lower()}", "it is for outside gears")
    leans = gear.tip_roll - gear.half_angle(gear.base_mm / 2)
    top = gear.base_mm / 2 / math.cos(leans)
    points = gear.fillet(np.linspace(0.0, gear.fillet_end, FILLET_POINTS))
    thickness, length = 2 * points.imag, top - points.real
    return float((thickness**2 / (6 * length)).min() / gear.module_mm)


def tooth_stress_MPa(gear: Gear, force_N: float, width_mm: float) -> float:
    """Bending stress at the root of a tooth by Lewis: σ = F/(b·m·Y), in MPa.

    ``force_N`` F: along the pitch circle, 0 to 1e5; ``width_mm`` b: 0.1 to 500 of the narrower gear.  Raises
    MechError out of range, and as ``lewis_factor``.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(tooth_stress_MPa(Gear(20, 1, ISO_53_A), 10, 3), 1)
    10.6
    """
    force = check_number("force_N", force_N, *FORCE_N, "N")
    width = check_number("width_mm", width_mm, *WIDTH_MM, "mm")
    return force / (width * gear.module_mm * lewis_factor(gear))


def tooth_force_N(gear: Gear, torque_Nmm: float) -> float:
    """Force along the reference circle for a torque on the gear: F = 2·T/d.

    ``torque_Nmm``: 0 to 1e6.  Raises MechError out of range.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> tooth_force_N(Gear(20, 1, ISO_53_A), 50)
    5.0
    """
    return 2 * check_number("torque_Nmm", torque_Nmm, *TORQUE_NMM, "N·mm") / gear.reference_mm
