"""Measures of a gear beside measures taken on its flanks, drawn point by point, and beside printed values."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from share import times

from mechlib.errors import MechError
from mechlib.gears.measuring import (
    DIAMETRAL_PITCHES,
    MODULES_I,
    MODULES_II,
    across_tips_mm,
    base_pitch_mm,
    module_of_pitch,
    outside_mm,
    over_pins_mm,
    pin_centre_mm,
    pin_fault,
    shift_from_across_tips,
    shift_from_outside,
    shift_from_pins,
    shift_from_span,
    span_mm,
    teeth_to_span,
)
from mechlib.gears.racks import FINE, ISO_53_A, RACKS, BasicRack
from mechlib.gears.spur import Gear
from mechlib.gears.spur_outline import outline

STUB = BasicRack("narrow", 14.5, 1.0, 1.2, 0.1, "made up for this test")
GEARS = st.tuples(st.integers(10, 80), st.sampled_from([0.3, 1.0, 2.5]), st.floats(-0.3, 0.8))


def flank(teeth, module, alpha_deg, shift, roll):
    """Points of the right flank of a tooth whose middle lies on the y axis, by the string that unwinds."""
    alpha = math.radians(alpha_deg)
    base = module * teeth * math.cos(alpha) / 2
    half = (math.pi / 2 + 2 * shift * math.tan(alpha)) / teeth + math.tan(alpha) - alpha  # at the base circle
    # A string that leaves the base circle at an angle roll beyond where the flank starts.
    at = math.pi / 2 - half + roll
    return base * (np.cos(at) + roll * np.sin(at)), base * (np.sin(at) - roll * np.cos(at))


def turned(points, angle):
    x, y = points
    return x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle)


def span_by_jaws(teeth, module, alpha_deg, shift, over):
    """How far apart two parallel jaws stand that close on ``over`` teeth."""
    roll = np.linspace(0, 3, 60_001)
    outermost = turned(flank(teeth, module, alpha_deg, shift, roll), -math.pi * (over - 1) / teeth)
    return 2 * float(np.max(outermost[0]))  # the stack of teeth is symmetric about the y axis


def over_pins_by_lowering(teeth, module, alpha_deg, shift, pin):
    """Let a pin down the middle of a space until it touches the flank; measure over it and another."""
    roll = np.linspace(0, 2, 40_001)
    x, y = turned(flank(teeth, module, alpha_deg, shift, roll), math.pi / teeth)  # space on the y axis

    def clear(height):
        return float(np.min(np.hypot(x, y - height))) - pin / 2

    base = module * teeth * math.cos(math.radians(alpha_deg)) / 2
    height = brentq(clear, base, base + 10 * module, xtol=1e-12)
    gap = 2 * height if teeth % 2 == 0 else 2 * height * math.cos(math.pi / 2 / teeth)
    return gap + pin


@settings(max_examples=times(5, 40), deadline=None)
@given(GEARS, st.sampled_from([ISO_53_A, STUB]))
def test_span_is_what_jaws_close_on(gear, rack):
    teeth, module, shift = gear
    over = teeth_to_span(teeth, rack, shift)
    by_jaws = span_by_jaws(teeth, module, rack.pressure_angle_deg, shift, over)
    assert span_mm(teeth, module, rack, over, shift) == pytest.approx(by_jaws, abs=1e-6 * module * teeth)


@settings(max_examples=times(5, 40), deadline=None)
@given(GEARS, st.floats(1.6, 2.0), st.sampled_from([ISO_53_A, STUB]))
def test_over_pins_is_what_pins_stand_at(gear, size, rack):
    teeth, module, shift = gear
    assume(not pin_fault(teeth, module, rack, size * module, shift))
    lowered = over_pins_by_lowering(teeth, module, rack.pressure_angle_deg, shift, size * module)
    assert over_pins_mm(teeth, module, rack, size * module, shift) == pytest.approx(
        lowered, abs=2e-5 * module
    )


@settings(max_examples=times(8, 60), deadline=None)
@given(
    st.integers(9, 40),
    st.floats(-0.3, 0.7),
    st.floats(-0.3, 0.1),
    st.floats(1.2, 4.5),
    st.sampled_from([ISO_53_A, FINE, STUB]),
)
def test_pins_that_can_be_read_touch_the_flanks_of_the_outline_and_stand_out(teeth, shift, short, pin, rack):
    """Lower a pin into a space of the polygon: where it touches, and how far it stands out, is seen there."""
    try:
        gear = Gear(teeth, 1.0, rack, shift, short)
    except MechError:
        return
    assume(not gear.undercut)
    points = outline(gear, 1e-4) @ [1, 1j]
    up = points * np.exp(1j * (math.pi / 2 - math.pi / teeth))  # a space on the y axis

    def clear(height):
        return float(np.min(abs(up - 1j * height))) - pin / 2

    # from above down to the first touch
    heights = np.arange(gear.tip_mm / 2 + pin / 2 + 0.01, gear.root_mm / 2, -0.002)
    height = next((y for y in heights if clear(y) < 0), gear.root_mm / 2)
    touch = abs(up[np.argmin(abs(up - 1j * height))])
    both = 2 * height * (math.cos(math.pi / 2 / teeth) if teeth % 2 else 1) + pin
    stand_out = both - abs(points[:, None] - points[abs(points) > gear.tip_mm / 2 - 1e-6][None, :]).max()
    fault = pin_fault(teeth, 1.0, rack, pin, shift, short)
    room = 0.02
    if fault == "":
        assert gear.form_mm / 2 - room < touch <= gear.tip_mm / 2 and stand_out > -room
    elif fault.startswith("touch no flanks, but the tips"):
        assert touch > gear.tip_mm / 2 - room
    elif "below the tips" in fault:
        assert stand_out < room
    elif "fillets" in fault:
        assert touch < gear.form_mm / 2 + room


@settings(max_examples=times(5, 30), deadline=None)
@given(
    st.integers(9, 60), st.floats(-0.3, 0.5), st.floats(-0.4, 0.0), st.sampled_from([ISO_53_A, FINE, STUB])
)
def test_a_caliper_across_the_tips_reads_the_largest_distance_between_points_of_the_outline(
    teeth, shift, short, rack
):
    """Parallel jaws on a shape stand as far apart as its two points that are furthest apart, at most."""
    try:
        points = outline(Gear(teeth, 1.0, rack, shift, short), 1e-4) @ [1, 1j]
    except MechError:  # pointed, or cut through
        return
    tips = points[abs(points) > abs(points).max() - 1e-3]
    largest = abs(tips[:, None] - tips[None, :]).max()
    assert across_tips_mm(teeth, 1.0, rack, shift, short) == pytest.approx(largest, abs=3e-4)


def test_an_odd_count_reads_less_by_what_a_drawing_shows():
    """Three teeth of a ring of 21, without width at their tips: a chord of 2·r·cos(90°/21)."""
    corner = 23 / 2 * 1.5 * np.exp(2j * math.pi * np.array([0, 10, 11]) / 21)
    chord = abs(corner[0] - corner[1:]).max()
    full = outside_mm(21, 1.5, ISO_53_A)
    assert chord == pytest.approx(full * math.cos(math.pi / 42))
    assert chord < across_tips_mm(21, 1.5, ISO_53_A) < full
    assert across_tips_mm(20, 1.5, ISO_53_A) == outside_mm(20, 1.5, ISO_53_A)


@given(GEARS, st.sampled_from([ISO_53_A, FINE, STUB]))
def test_across_the_tips_leads_back_to_the_shift(gear, rack):
    teeth, module, shift = gear
    read = across_tips_mm(teeth, module, rack, shift)
    assert shift_from_across_tips(teeth, module, rack, read) == pytest.approx(shift, abs=1e-9)


@given(GEARS)
def test_readings_lead_back_to_the_shift(gear):
    teeth, module, shift = gear
    over, pin = teeth_to_span(teeth, ISO_53_A, shift), 1.75 * module
    assume(not pin_fault(teeth, module, ISO_53_A, pin, shift))
    back = (
        shift_from_span(teeth, module, ISO_53_A, over, span_mm(teeth, module, ISO_53_A, over, shift)),
        shift_from_pins(teeth, module, ISO_53_A, pin, over_pins_mm(teeth, module, ISO_53_A, pin, shift)),
        shift_from_outside(teeth, module, ISO_53_A, outside_mm(teeth, module, ISO_53_A, shift)),
    )
    assert back == pytest.approx((shift,) * 3, abs=1e-7)


@given(GEARS)
def test_the_jaws_touch_near_the_middle_of_the_flank(gear):
    teeth, module, shift = gear
    over = teeth_to_span(teeth, ISO_53_A, shift)
    if over == 1:
        return
    base = module * teeth * math.cos(ISO_53_A.angle)
    touched = math.hypot(base, span_mm(teeth, module, ISO_53_A, over, shift))
    wanted = module * (teeth + 2 * shift)
    other = [math.hypot(base, span_mm(teeth, module, ISO_53_A, k, shift)) for k in (over - 1, over + 1)]
    assert all(abs(touched - wanted) <= abs(one - wanted) + 0.12 * module for one in other)


def test_outside_diameter_is_that_of_the_gear():
    for rack in RACKS.values():
        made = Gear(23, 0.5, rack, shift=0.2)
        assert outside_mm(23, 0.5, rack, 0.2) == pytest.approx(made.tip_mm)
    assert outside_mm(20, 2, ISO_53_A, 0.1, -0.25) == pytest.approx(2 * (20 + 2 * 0.85))


def test_two_spans_tell_the_module_alone():
    for teeth, shift in ((17, 0.4), (40, -0.2)):
        spans = [span_mm(teeth, 0.8, ISO_53_A, k, shift) for k in (3, 4)]
        assert base_pitch_mm(*spans) == pytest.approx(math.pi * 0.8 * math.cos(math.radians(20)))


def test_series_rise_and_pitches_are_those_of_the_trade():
    for series in (MODULES_I, MODULES_II, DIAMETRAL_PITCHES[::-1]):
        assert list(series) == sorted(set(series))
    assert not set(MODULES_I) & set(MODULES_II)
    # Series I as JIS B 1701-2, DIN 780 (below 1 mm) and ISO 54 (from 1 mm) have it, from memory.
    assert {0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0} <= set(MODULES_I)
    usual = {4, 5, 6, 8, 10, 12, 16, 20, 24, 32, 40, 48, 64, 72, 80, 96, 120, 150, 200}  # from memory
    assert usual <= set(DIAMETRAL_PITCHES)
    assert module_of_pitch(module_of_pitch(1.7)) == pytest.approx(1.7)


@pytest.mark.parametrize(
    "call, said",
    [
        (lambda: outside_mm(5, 1, ISO_53_A), "teeth is 5"),
        (lambda: outside_mm(20, 0, ISO_53_A), "module_mm is 0"),
        (lambda: outside_mm(20, 1, ISO_53_A, 2), "shift is 2"),
        (lambda: outside_mm(20, 1, ISO_53_A, 0, -2), "tip_alteration is -2"),
        (lambda: span_mm(20, 1, ISO_53_A, 0), "over is 0"),
        (lambda: span_mm(20, 1, ISO_53_A, 21), "over is 21"),
        (lambda: over_pins_mm(20, 1, ISO_53_A, 0.06), "pin_mm is 0.06 mm: it would lie"),
        (lambda: over_pins_mm(20, 1, ISO_53_A, 1000), "pin_mm is 1000"),
        (
            lambda: over_pins_mm(40, 1, ISO_53_A, 30),
            "pin_mm is 30 mm: it would touch no flanks",
        ),
        (lambda: over_pins_mm(20, 1, ISO_53_A, 1.4), "pin_mm is 1.4 mm: it would lie 0.42 mm below the tips"),
        (lambda: over_pins_mm(20, 1, ISO_53_A, 1.7, 0, 0.5), "pin_mm is 1.7 mm: it would lie 0.35 mm below"),
        (lambda: pin_fault(20, 1, ISO_53_A, 1.7, out=1.1), "out is 1.1"),
        (lambda: pin_centre_mm(20, 1, ISO_53_A, 0.06), "pin_mm is 0.06 mm: it would lie on the bottom"),
        (
            lambda: shift_from_pins(20, 1, ISO_53_A, 1.4, 22),
            "pin_mm is 1.4 mm: with a shift of 0.44 it",
        ),
        (lambda: shift_from_pins(20, 1, ISO_53_A, 1.7, 18), "read_mm is 18 mm: the pins"),
        (lambda: shift_from_span(20, 1, ISO_53_A, 3, 0), "read_mm is 0"),
        (lambda: shift_from_outside(20, 1, ISO_53_A, "22"), "read_mm is '22'"),
        (lambda: shift_from_across_tips(21, 1, ISO_53_A, 0), "read_mm is 0"),
        (lambda: across_tips_mm(21, 1, ISO_53_A, 2), "shift is 2"),
        (lambda: base_pitch_mm(3, 3), "the spans are 3 and 3 mm"),
        (lambda: outside_mm(20, 1, None), "rack is None"),
        (lambda: teeth_to_span(20, "ISO 53 A"), "rack is 'ISO 53 A'"),
        (lambda: shift_from_pins(20, 1, "ISO 53 A", 1.7, 22.3), "rack is 'ISO 53 A'"),
        (lambda: module_of_pitch(0), "diametral_pitch is 0"),
    ],
)
def test_what_is_refused(call, said):
    with pytest.raises(MechError) as refused:
        call()
    assert str(refused.value).startswith(said)
