"""What to measure a gear by: it must be readable on the gear itself, and left out where nothing is."""

import math

import pytest

from mechlib.gears.measure_by import nearest_pin, pin_for, span_for
from mechlib.gears.measuring import pin_centre_mm, pin_fault, span_mm
from mechlib.gears.racks import FINE, ISO_53_A, STUB_20
from mechlib.gears.spur import Gear

GEARS = [
    Gear(12, 0.5, FINE, 0.6), Gear(10, 1, ISO_53_A, 0.6), Gear(8, 0.5, FINE, -0.3), Gear(17, 3, STUB_20),
    Gear(40, 0.2, ISO_53_A), Gear(24, 1, ISO_53_A, 0.2, -0.3), Gear(200, 2, FINE, 0.5),
]  # fmt: skip


@pytest.mark.parametrize("gear", GEARS, ids=lambda gear: f"{gear.teeth} teeth")
def test_pins_touch_well_below_the_tips_and_stand_out(gear):
    pin, over = pin_for(gear), span_for(gear)
    given = gear.teeth, gear.module_mm, gear.rack, pin, gear.shift
    assert pin_fault(*given, gear.tip_alteration, 0.05) == ""
    string = math.sqrt(pin_centre_mm(*given) ** 2 - gear.base_mm**2 / 4) - pin / 2
    touch = 2 * math.hypot(string, gear.base_mm / 2)
    assert gear.form_mm <= touch <= gear.tip_mm - 0.1 * gear.module_mm + 1e-9
    jaws = math.hypot(gear.base_mm, span_mm(gear.teeth, gear.module_mm, gear.rack, over, gear.shift))
    assert over >= 2 and gear.form_mm < jaws < gear.tip_mm


def test_the_usual_pin_where_it_does_and_else_the_nearest():
    assert pin_for(Gear(24, 1, ISO_53_A)) == 1.73
    low = Gear(12, 0.5, FINE, 0.6)
    assert pin_for(low) == 0.93
    given = low.teeth, low.module_mm, low.rack, 0.92, low.shift
    assert pin_fault(*given, 0.0, 0.05).startswith("stand out by no more than")
    assert nearest_pin(lambda pin: pin < 0.8, 0.5) == 0.79 and nearest_pin(lambda pin: False, 0.5) is None
    assert nearest_pin(lambda pin: True, 1.0) == 1.73


def test_no_span_where_jaws_reach_no_flank():
    assert span_for(Gear(8, 0.5, STUB_20, -0.5)) is None
