"""What to measure a gear by: it must be readable on the gear itself, and left out where nothing is."""

import math

import pytest

from mechlib.gears.measure_by import nearest_pin, pin_for, span_for
from mechlib.gears.measuring import pin_centre_mm, pin_fault, span_mm, teeth_to_span
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
    assert gear.form_mm <= touch <= gear.tip_mm
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


def test_pins_keep_clear_of_where_undercut_has_taken_the_flank():
    gear = Gear(6, 1, ISO_53_A, -0.5)
    assert pin_for(gear) == 2.45

    def string(pin):
        return math.sqrt(pin_centre_mm(6, 1, ISO_53_A, pin, -0.5) ** 2 - gear.base_mm**2 / 4) - pin / 2

    form = math.sqrt(gear.form_mm**2 - gear.base_mm**2) / 2
    assert string(2.44) < form <= string(2.45)
    assert pin_fault(6, 1, ISO_53_A, 2.44, -0.5, 0.0, 0.05) == ""


def test_the_largest_and_the_smallest_pins_are_those_that_can_be_reckoned():
    tried = []
    nearest_pin(lambda pin: bool(tried.append(pin)), 50)
    assert 90 < max(tried) <= 100 and len(tried) > 100
    tried.clear()
    nearest_pin(lambda pin: bool(tried.append(pin)), 20)
    assert tried[2] == pytest.approx(tried[0] + 0.2)  # a large pin isn't ground to the hundredth
    tried.clear()
    nearest_pin(lambda pin: bool(tried.append(pin)), 0.05)
    assert min(tried) == 0.05 and len(tried) < 20
    tried.clear()
    nearest_pin(lambda pin: bool(tried.append(pin)), 1)
    assert tried[:4] == [1.73, 1.73, 1.74, 1.72] and max(tried) == 2.92 and min(tried) == 0.54
    assert all(pin == round(pin, 2) for pin in tried)


def test_one_tooth_less_where_tips_are_short():
    short = Gear(6, 1, ISO_53_A, 1.5, -0.8)
    assert teeth_to_span(6, ISO_53_A, 1.5) == 3 and span_for(short) == 2
    assert teeth_to_span(12, FINE, -0.5) == 1 and span_for(Gear(12, 1, FINE, -0.5)) == 2


def test_no_span_where_jaws_reach_no_flank():
    assert span_for(Gear(8, 0.5, STUB_20, -0.5)) is None
