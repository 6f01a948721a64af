"""A gear in the hand: what was read is what is tried; jaws and pins stand on the drawn flanks."""

import math

import numpy as np
import pytest

from mechlib.bench.measured_gear import (
    CONTROLS,
    RACKS_TO_TRY,
    jaw_places,
    measured_gear,
    pin_angles_deg,
    pin_place_mm,
    turned_up_deg,
)
from mechlib.errors import MechError
from mechlib.gears.measuring import over_pins_mm, span_mm, teeth_to_span
from mechlib.gears.racks import ISO_53_A
from mechlib.gears.spur import Gear
from mechlib.gears.spur_outline import outline
from mechlib.gears.unknown_gear import SPAN, Reading

GEARS = [(20, 1.5, 0.0), (21, 1.5, 0.3), (16, 0.5, 0.5), (33, 0.8, -0.2), (11, 1.0, 0.5)]


def turned(gear, over):
    """The outline as it is drawn, as complex numbers."""
    points = outline(gear, 1e-4 * gear.module_mm)
    return (points[:, 0] + 1j * points[:, 1]) * np.exp(1j * math.radians(turned_up_deg(gear.teeth, over)))


@pytest.mark.parametrize(("teeth", "module", "shift"), GEARS)
def test_jaws_touch_the_drawn_flanks(teeth, module, shift):
    """At the height of the touch the outermost of the spanned teeth lie just between the jaws."""
    gear, over = Gear(teeth, module, ISO_53_A, shift), teeth_to_span(teeth, ISO_53_A, shift)
    read = span_mm(teeth, module, ISO_53_A, over, shift)
    ends, heights = jaw_places(gear, over, read)
    points = turned(gear, over)
    for end, height in zip(ends, heights, strict=True):
        assert np.min(abs(points - (end + 1j * height))) < 0.02 * module
    upper = points[points.imag > gear.root_mm / 2 * 0.2]
    spanned = upper[abs(upper.real) <= read / 2 + 1e-3 * module]
    assert np.max(abs(spanned.real)) == pytest.approx(read / 2, abs=0.01 * module)


@pytest.mark.parametrize(("teeth", "module", "shift"), GEARS)
def test_pins_touch_the_drawn_flanks_and_the_caliper_reads_what_it_should(teeth, module, shift):
    gear, pin = Gear(teeth, module, ISO_53_A, shift), 1.728 * module
    over = over_pins_mm(teeth, module, ISO_53_A, pin, shift)
    found = measured_gear(teeth, 0.01, pins_mm=round(over, 2), pin_mm=round(pin, 2))
    sizes = {one.size.module_mm for one in found.found.candidates}
    assert module in sizes
    centre = (over - pin) / 2 / (math.cos(math.pi / 2 / teeth) if teeth % 2 else 1)
    places = [complex(*pin_place_mm(angle, centre)) for angle in pin_angles_deg(teeth, 3)]
    assert abs(places[0] - places[1]) + pin == pytest.approx(over, abs=1e-9)
    points = turned(gear, 3)
    for place in places:  # both flanks are touched and none is cut
        assert np.min(abs(points - place)) == pytest.approx(pin / 2, abs=0.005 * module)


def test_what_wasnt_read_doesnt_count():
    alone = measured_gear(20, 0.05, outside_mm=34.9)
    assert [reading.kind for reading in alone.readings] == ["outside diameter"]
    assert alone.reading("span") is None and alone.pin_centre_mm() is None
    assert alone.table().splitlines()[:3] == [
        "counted: 20 teeth",
        "read: outside diameter 34.900 mm, ±0.05 mm",
        "tried: teeth cut to 20°, usual heights",  # the basic rack is never taken without a word
    ]
    with pytest.raises(MechError, match="nothing is measured yet"):
        measured_gear(20, 0.05)
    with pytest.raises(MechError, match="over"):
        measured_gear(20, 0.05, span_mm=12.0, over=0)


def test_a_reading_that_no_gear_has_leaves_none():
    found = measured_gear(20, 0.01, outside_mm=34.9, span_mm=3.0, over=3)
    assert found.gear is None and "No standard size explains all readings" in found.sentence()
    assert "try teeth cut to another basic rack" in found.sentence()


def test_more_racks_leave_more_and_the_old_inch_gear_is_found():
    few = measured_gear(24, 0.05, outside_mm=20.6, made_to="20°, usual heights")
    many = measured_gear(24, 0.05, outside_mm=20.6, made_to="any of these")
    assert set(few.found.candidates) <= set(many.found.candidates)
    assert set(RACKS_TO_TRY) == set(CONTROLS["made_to"].options)


def test_the_two_spans_that_are_advised_can_be_put_in():
    """12 teeth, module 0.5: spans of 2.298 and 3.774 mm, W = m·cos 20°·((k − ½)·π + 12·0.0149044)."""
    advice = measured_gear(12, 0.02, outside_mm=7.0).found.next_reading
    assert (advice.kind, advice.size, advice.pair) == ("span", 2, True)
    found = measured_gear(12, 0.02, outside_mm=7.0, span_mm=2.3, over=2, more_mm=3.77)
    assert [one.size.name for one in found.found.candidates] == ["module 0.5"]
    assert [reading.words() for reading in found.readings[1:]] == [
        "span over 2 teeth 2.300 mm",
        "span over 3 teeth 3.770 mm",
    ]


def test_one_tooth_between_the_jaws_is_one():
    found = measured_gear(55, 0.05, span_mm=12.35, over=1, centre_mm=40.0, mate=30)
    assert "read: span over 1 tooth 12.350 mm" in found.table()
    assert Reading(SPAN, 12.35, 0.05, 2).words() == "span over 2 teeth 12.350 mm"
