"""A gear that is known, measured, must be found again; and rivals are told apart by the reading named."""

from math import cos, pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.errors import MechError
from mechlib.gears.measuring import (
    PIN_IN_MODULES,
    across_tips_mm,
    outside_mm,
    over_pins_mm,
    pin_centre_mm,
    pin_fault,
    span_mm,
    teeth_to_span,
)
from mechlib.gears.racks import FINE, ISO_53_A
from mechlib.gears.spur import Gear
from mechlib.gears.spur_mesh import tight_centre_mm
from mechlib.gears.unknown_gear import (
    CENTRE,
    OUTSIDE,
    PINS,
    SIZES,
    SPAN,
    Reading,
    identify,
    teeth_from_arc,
)

BY_NAME = {size.name: size for size in SIZES}
KNOWN = st.tuples(
    st.integers(10, 80), st.sampled_from(SIZES), st.floats(-0.4, 0.7), st.sampled_from([ISO_53_A, FINE])
)


def read(kind, teeth, module, rack, shift, size=None):
    """What a caliper would show on a gear that is known."""
    how = {OUTSIDE: across_tips_mm, SPAN: span_mm, PINS: over_pins_mm}[kind]
    return how(teeth, module, rack, *([] if size is None else [size]), shift)


@settings(max_examples=times(8, 60), deadline=None)
@given(KNOWN, st.floats(-1, 1), st.sets(st.sampled_from([OUTSIDE, SPAN, PINS]), min_size=1))
def test_a_known_gear_is_among_the_candidates_and_all_of_them_explain(gear, wobble, kinds):
    teeth, size, shift, rack = gear
    off = 0.02
    readings = []
    for kind in sorted(kinds):
        extra = {SPAN: teeth_to_span(teeth, rack, shift), PINS: round(1.728 * size.module_mm, 3)}.get(kind)
        if kind == PINS and pin_fault(teeth, size.module_mm, rack, extra, shift):
            return  # the micrometer would rest on the tips
        true = read(kind, teeth, size.module_mm, rack, shift, extra)
        if not 0.1 <= true + off <= 500:
            return
        readings.append(Reading(kind, true + 0.99 * wobble * off, off, extra))
    found = identify(teeth, readings, [ISO_53_A, FINE])
    mine = [c for c in found.candidates if c.size == size and c.rack == rack]
    assert mine and mine[0].low - 1e-9 <= shift <= mine[0].high + 1e-9
    for candidate in found.candidates:
        for reading in readings:
            for end in (candidate.low, candidate.high):
                size_mm, kind = candidate.size.module_mm, reading.kind
                if kind == PINS:  # at an end of its range they may be as low as the tips
                    here = 2 * pin_centre_mm(teeth, size_mm, candidate.rack, reading.size, end)
                    here = here * (cos(pi / 2 / teeth) if teeth % 2 else 1) + reading.size
                else:
                    here = read(kind, teeth, size_mm, candidate.rack, end, reading.size)
                short = 0.2 * size_mm if kind == OUTSIDE else 0  # tips may have been cut short
                assert reading.read_mm - off - 1e-6 <= here <= reading.read_mm + off + short + 1e-6
    shifts = [round(abs(candidate.shift), 6) for candidate in found.candidates]
    assert shifts == sorted(shifts)


@pytest.mark.parametrize("outside", [None, 22.0])
def test_pins_that_lie_below_the_tips_are_told(outside):
    """The micrometer rests on the tips, 22.0 mm; by the formula that is a 24 DP with a shift of −0.44."""
    readings = [Reading(PINS, 22.0, 0.02, 1.4), *([Reading(OUTSIDE, outside, 0.02)] if outside else [])]
    found = identify(20, readings, [ISO_53_A])
    assert found.candidates == () and found.on_tips.size.name == "module 1"
    assert found.sentence() == (
        "No standard size explains all readings. If it is module 1, pins of 1.40 mm lie 0.42 mm below the "
        "tips, and their reading says nothing: take pins of about 1.73 mm."
    )
    good = [Reading(PINS, over_pins_mm(20, 1, ISO_53_A, 1.73), 0.02, 1.73)]
    assert identify(20, good, [ISO_53_A]).on_tips is None
    thick = identify(40, [Reading(PINS, 55, 0.02, 6), Reading(OUTSIDE, 42, 0.02)], [ISO_53_A])
    assert "pins of 6.00 mm touch no flanks, but the tips" in thick.sentence()


@pytest.mark.parametrize("teeth", [10, 12, 20])
@pytest.mark.parametrize("shift", [0, 0.3, 0.6])
def test_a_micrometer_on_the_tips_never_leads_to_another_size_unwarned(teeth, shift):
    for pin in (1.2, 1.4, 1.6, 1.73):
        if not pin_fault(teeth, 1, ISO_53_A, pin, shift):
            continue
        tips = across_tips_mm(teeth, 1, ISO_53_A, shift)
        found = identify(teeth, [Reading(PINS, tips, 0.02, pin)], [ISO_53_A])
        assert found.on_tips or BY_NAME["module 1"] in [one.size for one in found.candidates]


@pytest.mark.parametrize(
    "true, rival, off",
    [("16 DP", "module 1.5", 0.02), ("48 DP", "module 0.5", 0.005)],  # a caliper; a micrometer
)
def test_an_inch_gear_beside_its_metric_rival_and_the_span_that_decides(true, rival, off):
    """16 DP is module 1.5875, 48 DP module 0.5292 (exact: 25.4/P): an outside diameter alone is no proof."""
    teeth, one = 20, BY_NAME[true]
    first = [Reading(OUTSIDE, outside_mm(teeth, one.module_mm, ISO_53_A), off)]
    found = identify(teeth, first, [ISO_53_A])
    assert found.candidates[0].size == one and rival in [c.size.name for c in found.candidates]
    ask = found.next_reading
    assert ask is not None
    while len({c.size for c in found.candidates}) > 1:
        ask = found.next_reading
        told = read(ask.kind, teeth, one.module_mm, ISO_53_A, 0.0, ask.size)
        first.append(Reading(ask.kind, told, off, ask.size))
        found = identify(teeth, first, [ISO_53_A])
    assert found.candidates[0].size == one and len(first) <= 3
    assert "No other standard size" in found.sentence()


def test_the_reading_named_separates_the_first_from_every_other_size():
    off = 0.01
    found = identify(20, [Reading(OUTSIDE, 34.925, off)], [ISO_53_A])
    ask, first = found.next_reading, found.candidates[0]
    rivals = [c for c in found.candidates if c.size != first.size]
    assert rivals and ask.apart_mm > 2 * off
    mine = [read(ask.kind, 20, first.size.module_mm, ISO_53_A, x, ask.size) for x in (first.low, first.high)]
    gaps = []
    for rival in rivals:
        theirs = [
            read(ask.kind, 20, rival.size.module_mm, ISO_53_A, x, ask.size) for x in (rival.low, rival.high)
        ]
        gaps.append(max(theirs[0] - mine[1], mine[0] - theirs[1]))
    assert ask.apart_mm == pytest.approx(min(gaps))
    assert ask.sentence().startswith("Measure ")
    assert ask.sentence().endswith(f"differs by at least {ask.apart_mm:.3f} mm there.")


def test_pins_are_those_of_the_trade():
    """1.728 over the diametral pitch: Machinery's Handbook, as in the printed example G10."""
    assert pytest.approx(1.728, abs=1e-9) == PIN_IN_MODULES


def test_an_odd_count_is_read_as_a_caliper_reads_it():
    """21 teeth of module 1.5: 34.5 mm outside, of which a caliper shows 34.47; 34.5 would mean a shift."""
    for mm, low, high in ((34.466, -0.01, 0.01), (34.5, 0.005, 0.03)):
        (found,) = identify(21, [Reading(OUTSIDE, mm, 0.001)], [ISO_53_A], [BY_NAME["module 1.5"]]).candidates
        assert low < found.low < high


def test_shafts_that_were_measured_are_not_asked_for_again():
    span = Reading(SPAN, span_mm(20, 1.0, ISO_53_A, 3), 0.5, 3)
    shafts = Reading(CENTRE, 25.05, 1.5, 30)
    alone, both = (identify(20, some, [ISO_53_A]) for some in ([span], [span, shafts]))
    assert both.readings == (span, shafts) and len(both.candidates) > 1
    for found, words in ((alone, "measure its shaft's distance"), (both, "turn it with its mate through a")):
        assert found.next_reading is None and words in found.sentence()


def test_racks_may_depend_on_the_size():
    found = identify(24, [Reading(OUTSIDE, 13.1, 0.4)], lambda size: [FINE] if size.pitch else [ISO_53_A])
    assert {one.rack == FINE for one in found.candidates} == {True, False}
    assert all((one.rack == FINE) == (one.size.pitch is not None) for one in found.candidates)


def test_what_fits_nothing_says_so():
    found = identify(20, [Reading(OUTSIDE, 100.0, 0.01), Reading(SPAN, 3.0, 0.01, 3)], [ISO_53_A])
    assert found.candidates == () and found.next_reading is None
    assert found.sentence().startswith("No standard size explains all readings")


def test_one_size_and_two_racks():
    module, teeth = 0.5, 30
    spans = [Reading(SPAN, span_mm(teeth, module, FINE, k), 0.005, k) for k in (3, 4, 5)]
    found = identify(teeth, spans, [ISO_53_A, FINE])
    assert {c.size.name for c in found.candidates} == {"module 0.5"} and len(found.candidates) == 2
    assert "differ in the basic rack" in found.sentence()
    assert len(found.table(1).splitlines()) == 2


@given(st.integers(8, 120), st.integers(1, 40), st.floats(-0.9, 0.9))
def test_teeth_from_an_arc(teeth, counted, off):
    angle = 360 * counted / teeth
    if not 2 <= angle + off <= 360:
        return
    found = teeth_from_arc(counted, angle + off, 1.0)
    assert teeth in found
    near = [abs(z - 360 * counted / (angle + off)) for z in found]
    assert near == sorted(near)
    assert all(360 * counted / (angle + off + 1) <= z + 1e-6 for z in found)


@pytest.mark.parametrize(
    "call, said",
    [
        (lambda: Reading("weight", 3, 0.01), "kind is 'weight'"),
        (lambda: Reading(OUTSIDE, 0, 0.01), "outside diameter is 0 mm"),
        (lambda: Reading(OUTSIDE, 3, 0), "off_mm is 0"),
        (lambda: Reading(SPAN, 3, 0.01), "size is None"),
        (lambda: Reading(PINS, 3, 0.01, 0), "size is 0"),
        (lambda: identify(5, [Reading(OUTSIDE, 3, 0.01)], [ISO_53_A]), "teeth is 5"),
        (lambda: identify(20, [22.0], [ISO_53_A]), "a reading is 22.0"),
        (lambda: identify(20, [Reading(OUTSIDE, 3, 0.01)], ["ISO 53 A"]), "rack is 'ISO 53 A'"),
        (lambda: identify(20, [], [ISO_53_A]), "there are no readings"),
        (lambda: identify(20, [Reading(OUTSIDE, 3, 0.01)], []), "there are no racks"),
        (lambda: teeth_from_arc(0, 60), "counted is 0"),
        (lambda: teeth_from_arc(3, 0), "angle_deg is 0"),
        (lambda: teeth_from_arc(3, 61, 0), "3 pitches in 61°: would be 17.70 teeth"),
    ],
)
def test_what_is_refused(call, said):
    with pytest.raises(MechError) as refused:
        call()
    assert str(refused.value).startswith(said)


def test_whole_numbers_of_any_kind_count_teeth():
    assert Reading(SPAN, 7.65, 0.02, 3.0).words() == "span over 3 teeth 7.650 mm"


def test_a_span_over_more_teeth_than_there_are_fits_nothing():
    assert Reading(SPAN, 9.0, 0.01, 30).shifts(20, 1.0, ISO_53_A) is None


@settings(max_examples=times(5, 40), deadline=None)
@given(KNOWN, st.integers(12, 60), st.floats(-0.3, 0.6), st.floats(0, 0.09), st.floats(-1, 1))
def test_the_shafts_of_a_known_pair_leave_the_gear_among_the_candidates(gear, mate, other, room, wobble):
    """Shafts as far apart as where the teeth bind, and some room more; the mate's shift isn't known."""
    teeth, size, shift, rack = gear
    try:
        pair = [Gear(z, size.module_mm, rack, x) for z, x in ((teeth, shift), (mate, other))]
        centre = tight_centre_mm(*pair) + room * size.module_mm + 0.02 * wobble
        reading = Reading(CENTRE, centre, 0.021, mate)
    except MechError:  # a pointed tip, or shafts out of range
        return
    found = reading.shifts(teeth, size.module_mm, rack)
    assert found[0] - 1e-9 <= shift <= found[1] + 1e-9
    assert size in {one.size for one in identify(teeth, [reading], [rack]).candidates}


def test_shafts_rule_out_sizes_that_the_outside_leaves():
    """20 teeth, 34 mm outside: 16 DP or module 1.5; shafts 37.55 mm from a mate of 30: module 1.5 with room.

    For 16 DP the shafts would stand at 39.69 mm without shift, and 37.55 mm would ask for a sum of shifts
    of −1.2 (39.69 − 37.55 = 2.14 mm = 1.35 modules): no usual pair has that.
    """
    outside = Reading(OUTSIDE, 34.0, 0.05)
    assert {"module 1.5"} < {one.size.name for one in identify(20, [outside], [ISO_53_A]).candidates}
    shafts = Reading(CENTRE, 37.55, 0.05, 30)
    assert shafts.words() == "centre distance to a mate of 30 teeth 37.550 mm"
    names = {one.size.name for one in identify(20, [outside, shafts], [ISO_53_A]).candidates}
    assert "module 1.5" in names and "16 DP" not in names
    with pytest.raises(MechError, match="the teeth of the mate"):
        Reading(CENTRE, 37.55, 0.05)
