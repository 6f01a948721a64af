"""Lewis' form factor against a published table, and against a search that shares no code with it."""

import math

import numpy as np
import pytest

from mechlib.errors import MechError
from mechlib.gears.racks import FINE, ISO_53_A, ISO_53_C, BasicRack
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_outline import outline
from mechlib.gears.strength import lewis_factor, tooth_force_N, tooth_stress_MPa

# Form factors y = Y/π for use in the Lewis equation, 20° full depth, as printed with an exercise on
# adapala-academy.com, forum, "Determine necessary module, width of face, …": published.
PRINTED_Y = {
    12: 0.078, 13: 0.083, 14: 0.088, 15: 0.092, 16: 0.094, 17: 0.096, 18: 0.098, 19: 0.100, 20: 0.102,
    21: 0.104, 23: 0.106, 25: 0.108, 27: 0.111, 30: 0.114, 34: 0.118, 38: 0.122, 43: 0.126, 50: 0.130,
    60: 0.134, 75: 0.138, 100: 0.142, 150: 0.146, 300: 0.150,
}  # fmt: skip
# The full-depth tooth of that time was less deep: dedendum 1.157, as in Machinery's Handbook, from memory.
OLD_FULL_DEPTH = BasicRack("old full depth", 20, 1.0, 1.157, 0.3, "Machinery's Handbook, from memory")


@pytest.mark.parametrize("teeth", PRINTED_Y)
def test_the_factor_is_near_the_printed_one(teeth):
    printed = math.pi * PRINTED_Y[teeth]  # drawn and measured by hand in 1893
    assert lewis_factor(Gear(teeth, 1, OLD_FULL_DEPTH)) == pytest.approx(printed, rel=0.025)
    assert lewis_factor(Gear(teeth, 1, ISO_53_A)) == pytest.approx(printed, rel=0.055)


def by_brute_force(gear: Gear) -> float:
    """The widest parabola that stays in the drawn tooth: its points compared one by one with the outline."""
    points = outline(gear, 1e-4 * gear.module_mm)
    keep = abs(np.arctan2(points[:, 1], points[:, 0])) < math.pi / gear.teeth
    x, y = points[keep].T
    # the load: the tangent of the base circle through the corner of the tip, found from the outline alone
    corner = x + 1j * abs(y)
    tip = corner[
        np.argmax(abs(corner) - 1e-9 + (abs(abs(corner) - gear.tip_mm / 2) < 1e-9) * np.angle(corner))
    ]
    base = gear.base_mm / 2
    normal = np.angle(tip) - math.acos(base / abs(tip))  # where the string leaves the base circle
    top = base / math.cos(normal)
    below = x < top - 0.2 * gear.module_mm
    width = 2 * abs(y[below])
    best = np.inf
    for half, length in zip(width / 2, top - x[below], strict=True):
        best = min(best, (2 * half) ** 2 / (6 * length))
    return best / gear.module_mm


@pytest.mark.parametrize(
    "gear",
    [
        Gear(12, 1, ISO_53_A),
        Gear(24, 0.5, FINE, 0.2),
        Gear(60, 2, ISO_53_C),
        Gear(20, 1, ISO_53_A, 0.5, -0.1),
    ],
    ids=lambda gear: f"{gear.teeth} teeth",
)
def test_the_parabola_fits_the_drawn_tooth(gear):
    assert lewis_factor(gear) == pytest.approx(by_brute_force(gear), rel=2e-3)


def test_it_does_not_depend_on_the_module_and_grows_with_teeth_and_shift():
    assert lewis_factor(Gear(20, 0.5, ISO_53_A)) == pytest.approx(lewis_factor(Gear(20, 5, ISO_53_A)))
    factors = [lewis_factor(Gear(z, 1, ISO_53_A)) for z in (12, 20, 40, 100)]
    assert factors == sorted(factors)
    assert lewis_factor(Gear(12, 1, ISO_53_A, 0.4)) > lewis_factor(Gear(12, 1, ISO_53_A))


def test_stress_is_force_over_width_module_and_factor():
    gear = Gear(30, 0.5, ISO_53_A)
    assert tooth_stress_MPa(gear, 6.0, 3.0) == pytest.approx(6.0 / (3.0 * 0.5 * lewis_factor(gear)))
    assert tooth_stress_MPa(gear, 0, 3.0) == 0
    assert tooth_force_N(gear, 30.0) == 4.0  # on a radius of 7.5 mm


def test_the_limits_are_let_in():
    gear = Gear(20, 1, ISO_53_A)
    assert tooth_force_N(gear, 0.5) == 0.05 and tooth_force_N(gear, 1e6) == 1e5
    assert tooth_stress_MPa(gear, 0.5, 0.1) > tooth_stress_MPa(gear, 0.5, 500) > 0
    for force, width in ((100000.5, 1), (1, 0.09), (1, 500.5)):
        with pytest.raises(MechError):
            tooth_stress_MPa(gear, force, width)


@pytest.mark.parametrize(
    "call",
    [
        lambda: lewis_factor(Ring(60, 1, ISO_53_A, cutter_teeth=30)),
        lambda: tooth_stress_MPa(Gear(20, 1, ISO_53_A), -1, 3),
        lambda: tooth_stress_MPa(Gear(20, 1, ISO_53_A), 1, 0),
        lambda: tooth_force_N(Gear(20, 1, ISO_53_A), math.nan),
    ],
)
def test_bad_values_are_refused(call):
    with pytest.raises(MechError):
        call()
