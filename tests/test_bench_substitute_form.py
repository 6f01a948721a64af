"""The form for a broken gear: what it makes of what is typed, and what it says of what can't be."""

import math

import pytest

from mechlib.bench.broken_gear import Mate, Seat
from mechlib.bench.mark_place import mark_place
from mechlib.bench.other_teeth import DRIVEN, DRIVER
from mechlib.bench.substitute_form import (
    ASKED,
    BLANK,
    EXAMPLES,
    GROUPS,
    MEASURED,
    NO_MACHINE,
    ON,
    YES,
    case_of,
    filled,
    mark_of,
    ring_of,
)
from mechlib.errors import MechError
from mechlib.gears.racks import FINE, ISO_53_A, fine_pitch_rack
from mechlib.gears.spur import Gear
from mechlib.transports import load

IDLER, REEL = "idler between a pinion and a reel gear", "wheel of a take-up reel"
TIMED = "carriage gear of Alder, on its mark"


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_example_is_a_case_with_a_size_that_fits(example):
    case = case_of(filled(example))
    assert case.possible and case.teeth == int(EXAMPLES[example]["teeth"])
    assert set(filled(example)) == set(ASKED) and {one.group for one in ASKED.values()} == set(GROUPS)


def test_an_idler_by_hand():
    case = case_of(filled(IDLER, most_hub_mm="7,5"))
    assert case.mates == (Mate("pinion", 18, 10.56, True), Mate("reel gear", 48, 18.06, False))
    assert case.seat == Seat(2.0, 3.0, 7.5, None) and case.idler and case.width_mm == 3
    racks = [(one.size.module_mm, one.rack.name, one.low) for one in case.sizes]
    assert racks == [(0.5, FINE.name, 0.0), (0.5, "ISO 53 A", 0.0)]  # neither is assumed


def test_what_it_does_by_hand():
    case = case_of(filled(REEL, moves_tape=YES, clutch_after=YES))
    work = case.work
    assert (work.moves_tape, work.clutch_after, work.reel_torque_Nmm) == (True, True, 5)
    assert (work.reel.hub_mm, work.reel.radius_mm, work.torque_Nmm) == (11, 24, 20)
    timed = case_of(filled(TIMED)).work
    assert timed.timed and timed.transport.name == "Alder" and timed.reel is None
    driver = case_of(filled(TIMED, teeth="54", side=DRIVER, mate1_teeth="40", mate1_is=ON))
    assert driver.work.side == DRIVER and driver.teeth == 54


@pytest.mark.parametrize(
    "size, module, rack, shift",
    [("module 0.5", 0.5, FINE, 0.3), ("48 DP", 25.4 / 48, fine_pitch_rack(48), -0.1)],
)
def test_a_known_size_with_its_outside_gives_the_shift(size, module, rack, shift):
    outside = f"{Gear(24, module, rack, shift).tip_mm:.3f}"
    made = "20°, usual or fine teeth"
    case = case_of(
        filled(IDLER, size=size, outside_mm=outside, made_to=made, mate1_mm="11.5", mate2_mm="19.5")
    )
    fine = next(one for one in case.sizes if one.rack == rack)
    assert {one.size.name for one in case.sizes} == {size} and fine.low <= shift <= fine.high


def test_the_outside_alone_leaves_rivals():
    case = case_of(filled(IDLER, size=MEASURED, outside_mm="13.1"))
    assert {"module 0.5", "48 DP"} <= {one.size.name for one in case.sizes}


def test_a_span_counts_beside_the_outside_or_alone():
    """24 teeth, module 0.5: W = m·cos α·((k − ½)·π + z·inv α + 2·x·tan α), whatever the heights."""
    angle, shift = math.radians(20), 0.12
    turns = 2.5 * math.pi + 24 * (math.tan(angle) - angle) + 2 * shift * math.tan(angle)
    span = f"{0.5 * math.cos(angle) * turns:.3f}"
    typed = {"span_mm": span, "span_teeth": "3", "off_mm": "0.005", "mate1_mm": "11.5", "mate2_mm": "19.5"}
    alone = case_of(filled(IDLER, size=MEASURED, **typed))
    half = [one for one in alone.sizes if one.size.name == "module 0.5"]
    assert {one.rack for one in half} == {FINE, ISO_53_A}  # a span doesn't know how high teeth are
    assert all(one.low <= shift <= one.high and one.high - one.low < 0.04 for one in half)
    both = case_of(filled(IDLER, size=MEASURED, outside_mm=f"{0.5 * (24 + 2.2 + 2 * shift):.3f}", **typed))
    assert {one.rack for one in both.sizes if one.size.name == "module 0.5"} == {FINE}
    assert len(both.sizes) < len(alone.sizes)


def test_the_place_of_the_mark():
    assert mark_of(filled(TIMED)) == mark_place(load("alder"), "carriage gear", 91, 2)
    assert mark_of(filled(TIMED, mesh=" carriage gear ", machine=" alder")) == mark_of(filled(TIMED))
    assert mark_of(filled(TIMED, mark="")) is None and mark_of(filled(TIMED, first_tooth="")) is None
    assert mark_of(filled(TIMED, machine=NO_MACHINE)) is None
    assert mark_of(filled("gear on Alder's sun gear shaft", mark="4", first_tooth="1")) is None
    for bad, why in (("four", "no number"), ("400", "0 to 360"), ("91 mm", "another unit: here it is °")):
        with pytest.raises(MechError, match=why):
            mark_of(filled(TIMED, mark=bad))


def test_the_place_of_a_drivers_mark():
    driver = filled(TIMED, teeth="54", side=DRIVER, mate1_teeth="40", mate1_is=ON)
    assert mark_of(driver) == mark_place(load("alder"), "carriage gear", 91, 2, DRIVER)
    assert ring_of(driver).holder == "transfer ring" and ring_of(driver).mate == "carriage gear"
    ring = filled(TIMED, machine="cedar", mesh="cam pinion", teeth="60", mark="31.7", first_tooth="1")
    assert mark_of(ring) == mark_place(load("cedar"), "cam pinion", 31.7, 1, DRIVEN)
    assert mark_of(ring | {"side": DRIVER}) is None and ring_of(ring | {"side": DRIVER}) is None


def test_the_mark_of_a_rack_is_measured_in_mm_and_needs_the_size_of_its_teeth():
    rack = filled(TIMED, machine="cedar", mesh="drawer rack", size="module 0.8", mark="31.7 mm")
    assert mark_of(rack) == mark_place(load("cedar"), "drawer rack", 31.7, 2, module_mm=0.8)
    with pytest.raises(MechError, match="tell the module too"):
        mark_of(rack | {"size": MEASURED})
    with pytest.raises(MechError, match="another unit: here it is mm"):
        mark_of(rack | {"mark": "31°"})
    with pytest.raises(MechError, match="the drawer rack is a rack: no gear stands in for it"):
        case_of(rack | {"teeth": "30"})


def test_all_that_is_missing_is_told_at_once():
    needed = [one.label for one in ASKED.values() if one.needed]
    with pytest.raises(MechError) as refused:
        case_of(BLANK)
    blank = [label for label in needed if label != "the caliper may be off by"]
    asked = [f"{label}: fill it in" for label in blank]
    outside = "outside, as the caliper reads it: fill it in, or the span, or choose the size of the teeth"
    assert refused.value.problems == (*asked, outside)


def test_what_is_wrong_is_told_of_every_group():
    wrong = {"size": MEASURED, "mate1_teeth": "3", "mate2_teeth": "", "shaft_mm": "0", "machine": "elm"}
    with pytest.raises(MechError) as refused:
        case_of(filled(IDLER, **wrong))
    told = "\n".join(refused.value.problems)
    for words in ("outside, as", "teeth of the pinion", "teeth of the second mate", "shaft_mm", "elm"):
        assert words in told


def test_racks_in_the_order_of_likelihood_whatever_the_size():
    """Fine mechanics up to module 0.6 only; fine pitch from 20 DP on; old and stub teeth behind the usual."""
    for size, names in (
        ("module 0.5", ["fine mechanics", "ISO 53 A", "full depth 14.5°", "stub 20°"]),
        ("module 1", ["ISO 53 A", "full depth 14.5°", "stub 20°"]),
        ("module 2", ["ISO 53 A", "full depth 14.5°", "stub 20°"]),
        ("48 DP", ["fine pitch 48 DP", "full depth 14.5°", "stub 20°"]),
        ("16 DP", ["ISO 53 A", "full depth 14.5°", "stub 20°"]),
    ):
        case = case_of(filled(IDLER, size=size, made_to="any of these"))
        assert [one.rack.name for one in case.sizes] == names
        assert {one.size.name for one in case.sizes} == {size}


def test_what_is_known_of_mates_plate_and_temperatures_counts():
    usual = case_of(filled(IDLER))
    assert [(mate.shift, mate.material, mate.off_mm) for mate in usual.mates] == [(0, "acetal", 0.05)] * 2
    assert (usual.work.cold_C, usual.work.warm_C, usual.work.plate) == (5, 50, "steel")
    empty = filled(IDLER, mate1_shift="", mate2_shift=" ", cold_C="", warm_C="")
    assert case_of(empty) == usual
    typed = {"mate1_shift": "+0,2", "mate2_shift": "−0.1", "mate1_made_of": "brass", "mate2_made_of": "nylon"}
    typed |= {"plate": "ABS", "cold_C": "-10 °C", "warm_C": "40", "off_mm": "0.02"}
    known = case_of(filled(IDLER, **typed))
    assert [(mate.shift, mate.material) for mate in known.mates] == [(0.2, "brass"), (-0.1, "nylon")]
    assert (known.work.cold_C, known.work.warm_C, known.work.plate) == (-10, 40, "ABS")
    assert {mate.off_mm for mate in known.mates} == {0.02}


def test_another_unit_is_refused_with_words():
    with pytest.raises(MechError, match="its shaft: “0.2 cm” is in another unit: here it is mm"):
        case_of(filled(IDLER, shaft_mm="0.2 cm"))
    assert case_of(filled(IDLER, shaft_mm="2 mm", teeth="24 teeth")) == case_of(filled(IDLER))


def test_the_outside_of_an_odd_count_is_what_the_caliper_reads():
    """23 teeth, module 0.5 of fine mechanics: 12.6 mm outside, of which a caliper reads 12.59."""
    case = case_of(
        filled(IDLER, teeth="23", outside_mm="12.587", off_mm="0.001", mate1_mm="10.4", mate2_mm="17.9")
    )
    fine = next(one for one in case.sizes if one.rack == FINE)
    assert -0.01 < fine.low < 0.01


@pytest.mark.parametrize(
    "typed, why",
    [
        ({"teeth": "forty"}, "teeth of the broken gear: “forty” is no number"),
        ({"teeth": "2"}, "teeth"),
        ({"teeth": "24.5"}, "whole number"),
        ({"shaft_mm": "0"}, "shaft_mm"),
        ({"mate2_teeth": ""}, "teeth of the second mate: fill it in"),
        ({"mate1_teeth": "3"}, "teeth of the pinion"),
        ({"size": MEASURED}, "caliper reads it: fill it in, or the span, or choose the size"),
        ({"outside_mm": "40"}, "24 teeth, outside diameter 40.000 mm: no such size explains that"),
        ({"span_mm": "9", "span_teeth": "3"}, "span over 3 teeth 9.000 mm: no such size explains that"),
        ({"span_mm": "3.86"}, "teeth between the jaws: fill it in, or leave the span out"),
        ({"span_teeth": "3"}, "span over some teeth: fill it in, or leave the span out"),
        ({"span_mm": "3.86", "span_teeth": "2.5"}, "whole number"),
        ({"off_mm": "9", "outside_mm": "13.1"}, "off_mm"),
        ({"width_mm": "5000"}, "width_mm"),
        ({"torque_Nmm": "−1"}, "torque_Nmm"),
        ({"mate1_shift": "much"}, "first mate, profile shift: “much” is no number"),
        ({"cold_C": "40", "warm_C": "20"}, "warm_C"),
        ({"reel_torque_Nmm": "5"}, "radius of its hub"),
        ({"reel_torque_Nmm": "5", "reel_hub_mm": "20", "reel_full_mm": "11"}, "radius_mm"),
        ({"machine": "elm"}, "elm"),
        ({"machine": "alder", "mesh": "horn"}, "no mesh is called 'horn'"),
        ({"machine": "alder", "mesh": "carriage gear"}, "has 40"),
    ],
)
def test_what_cant_be_is_said(typed, why):
    with pytest.raises(MechError, match=why):
        case_of(filled(IDLER, **typed))


def test_the_form_itself():
    for bad in (
        lambda: filled("lathe"),
        lambda: filled(IDLER, colour="red"),
        lambda: filled(IDLER, size="9 DP"),
    ):
        with pytest.raises(MechError):
            bad()
    assert filled() == BLANK and filled(REEL, teeth="41")["teeth"] == "41"
