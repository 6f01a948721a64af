"""Sizes of spur gears against printed values, and their teeth against cutters stepped around a blank."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq
from second_way_teeth import PinionCutter, RackCutter, distances, unwound

from mechlib.errors import MechError
from mechlib.gears.racks import (
    FINE,
    FULL_DEPTH_14_5,
    ISO_53_A,
    ISO_53_B,
    ISO_53_C,
    ISO_53_D,
    RACKS,
    STUB_20,
    BasicRack,
    fine_pitch_rack,
    usual_racks,
)
from mechlib.gears.spur import Gear, Ring, involute, involute_angle
from mechlib.gears.spur_outline import outline

TOLERANCE = 1e-4  # modules, of the outlines compared here
STEPPED = 5e-5  # modules, what the steps of the cutters may leave standing


def half_pitch(gear, tolerance=TOLERANCE):
    """The corners of an outline, complex, from the middle of a tooth to that of the space."""
    points = outline(gear, tolerance) @ [1, 1j]
    return points[: int(np.argmax(np.angle(points) >= math.pi / gear.teeth - 1e-12)) + 1]


def full_depth(angle_deg):
    """A rack whose straight flank goes down by one module."""
    dedendum = 1 + 0.3 * (1 - math.sin(math.radians(angle_deg)))
    return BasicRack("full depth", angle_deg, 1.0, dedendum, 0.3, "invented")


# G5: Machinery's Handbook, table of involute functions; recomputed.
@pytest.mark.parametrize(
    ("angle", "printed"), [(14.5, "0.0055448"), (20, "0.0149044"), (25, "0.0299753"), (30, "0.0537515")]
)
def test_involute_function(angle, printed):
    assert f"{involute(angle):.7f}" == printed
    assert involute_angle(float(printed)) == pytest.approx(angle, abs=1e-4)


def test_inverse_involute():
    assert f"{involute_angle(0.0268197):.4f}" == "24.1350"  # G5, as above
    for value in (0, 1e-9, 1e-3, 0.1, 1, 54):
        solved = brentq(lambda angle, value=value: math.tan(angle) - angle - value, 0, 1.5533)
        assert involute_angle(value) == pytest.approx(math.degrees(solved), abs=1e-6)
        assert involute(involute_angle(value)) == pytest.approx(value, abs=1e-12, rel=1e-12)


def test_sizes_of_a_standard_pair():
    """G1: Elements of Metric Gear Technology, table 4-1; recomputed."""
    printed = {12: "36.000 33.829 42.000 28.500", 24: "72.000 67.658 78.000 64.500"}
    for teeth, sizes in printed.items():
        gear = Gear(teeth, 3, ISO_53_A)
        found = (gear.reference_mm, gear.base_mm, gear.tip_mm, gear.root_mm)
        assert " ".join(f"{size:.3f}" for size in found) == sizes


def test_sizes_with_profile_shift_and_shortened_tips():
    """G2: Elements of Metric Gear Technology, table 4-3; recomputed.  k = y − (x1 + x2)."""
    for teeth, shift, tip, root in ((12, 0.6, "44.840", "32.100"), (24, 0.36, "79.400", "66.660")):
        gear = Gear(teeth, 3, ISO_53_A, shift, tip_alteration=0.83329 - 0.96)
        assert (f"{gear.tip_mm:.3f}", f"{gear.root_mm:.3f}") == (tip, root)


def test_chord_of_a_tooth_measured_on_the_outline():
    """Elements of Metric Gear Technology, T-81, table 10-1 (published): m 10, z 12, x 0.3."""
    gear = Gear(12, 10, ISO_53_A, shift=0.3)
    half = half_pitch(gear, 1e-4)
    side = half[::-1]
    angle = np.interp(gear.reference_mm / 2, abs(side), np.angle(side))
    assert f"{2 * angle * 60:.4f}" == f"{gear.thickness_mm(120):.4f}" == "17.8918"
    assert 2 * 60 * math.sin(angle) == pytest.approx(17.8256, abs=1.5e-4)
    assert abs(half[0]) - 60 * math.cos(angle) == pytest.approx(13.6657, abs=1.5e-4)


@pytest.mark.parametrize(
    ("angle", "limit"),
    [(20, "17.10"), (14.5, "31.90"), (25, "11.20")],  # G6: Mott, Machine Elements, 4th ed. p. 320 for 14.5°
)
def test_undercut_limits(angle, limit):
    rack = full_depth(angle)
    below = math.floor(float(limit))
    assert Gear(below, 1, rack).undercut and not Gear(below + 1, 1, rack).undercut
    # The shift at which ten teeth are just not undercut gives the limit: 1 − x = 10/limit.
    low, high = -0.3, 0.8
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if Gear(10, 1, rack, middle, -0.3).undercut else (low, middle)
    assert f"{10 / (1 - low):.2f}" == limit


def test_trimming_of_rings_by_small_cutters():
    """Elements of Metric Gear Technology, T-45, table 5-3a and the sentence below it (published).

    The smallest ring for each cutter; of these, cutters of 15 to 22 teeth interfere with the ring's involute.
    """
    for cutter, teeth in ((15, 34), (16, 34), *((cutter, cutter + 18) for cutter in range(17, 23))):
        with pytest.raises(MechError, match="would lose its tips to the cutter"):
            Ring(teeth, 1, ISO_53_A, cutter_teeth=cutter)
    for cutter in (24, 25, 27, 28, 30, 31, 32, 33, 34, 38, 40, 42, 44, 48, 50, 56, 60, 64, 66, 80, 96, 100):
        assert Ring(cutter + 18, 1, ISO_53_A, cutter_teeth=cutter).cutter_teeth == cutter


def test_flank_is_a_string_unwound():
    ring = Ring(60, 1, ISO_53_D, 0.1, 0, 30)
    for gear in (Gear(25, 2, ISO_53_A, 0.2), Gear(40, 0.5, FINE, -0.3), ring):
        string = unwound(gear.base_mm / 2, 1.2)
        low, high = sorted((gear.form_mm / 2, gear.tip_mm / 2))
        radii = np.linspace(low + 1e-4, high - 1e-4, 40)
        turn = np.interp(radii, abs(string), np.unwrap(np.angle(string)))
        half = half_pitch(gear, 1e-4 * gear.module_mm)
        outwards = half if gear is ring else half[::-1]
        mine = np.interp(radii, abs(outwards), np.angle(outwards))
        # The string winds on where the tooth of a gear narrows, and a ring's tooth widens.
        leans = mine - turn if gear is ring else mine + turn
        assert np.ptp(leans) * gear.tip_mm / 2 < 2e-4 * gear.module_mm
        assert gear.thickness_mm(2 * radii[20]) == pytest.approx(2 * radii[20] * mine[20], abs=2e-4)


GEARS = [(12, 0, ISO_53_A), (8, 0, ISO_53_A), (6, -0.5, ISO_53_A), (10, 0.5, ISO_53_C), (17, 0.3, FINE),
         (20, 0.4, ISO_53_D), (60, -0.5, FINE), (33, 1.2, ISO_53_B), (14, 0, full_depth(14.5)),
         (15, 0, BasicRack("sharp", 20, 1.0, 1.25, 0.0, "invented"))]  # fmt: skip


@pytest.mark.parametrize(("teeth", "shift", "rack"), GEARS)
def test_gear_is_what_a_rack_cuts(teeth, shift, rack):
    gear = Gear(teeth, 1, rack, shift)
    half = half_pitch(gear)
    cutter = RackCutter(teeth, shift, rack.pressure_angle_deg, rack.dedendum, rack.fillet)
    radii = np.linspace(gear.root_mm / 2 + 0.03, gear.tip_mm / 2 - TOLERANCE, 40)
    cut = radii * np.exp(1j * cutter.half_angles(radii))
    ridges = STEPPED if rack.fillet else 5e-4  # a sharp corner leaves ridges as high as half a step
    assert distances(cut, half).max() < TOLERANCE + ridges
    untouched = abs(cutter.half_angles(np.array([gear.root_mm / 2 - 1e-6]))[0] - math.pi / teeth)
    assert untouched < 1e-9  # nothing is cut below the root circle
    # Above the form circle the tooth is as thick as its involutes, below it another curve takes over.
    thick = np.array([gear.form_mm / 2 + 2e-3, gear.form_mm / 2 - 0.05])
    pure = [gear.half_angle(radius) for radius in thick]
    found = cutter.half_angles(thick)
    assert abs(found[0] - pure[0]) * thick[0] < STEPPED + 1e-5
    assert abs(found[1] - pure[1]) * thick[1] > 1e-4 or thick[1] < gear.base_mm / 2


RINGS = [(48, 30, 0, 0, ISO_53_A), (48, 16, 0, -0.25, ISO_53_A), (60, 30, 0.3, 0, ISO_53_D),
         (100, 50, -0.4, 0, ISO_53_B), (36, 18, 0, -0.4, ISO_53_A), (80, 62, 0, -0.2, FINE)]  # fmt: skip


@pytest.mark.few(3)
@pytest.mark.parametrize(("teeth", "cutter_teeth", "shift", "tip", "rack"), RINGS)
def test_ring_is_what_a_pinion_cuts(teeth, cutter_teeth, shift, tip, rack):
    ring = Ring(teeth, 1, rack, shift, tip, cutter_teeth)
    cutter = PinionCutter(teeth, cutter_teeth, shift, rack.pressure_angle_deg, rack.dedendum, rack.fillet)
    radii = np.linspace(ring.tip_mm / 2 + TOLERANCE, ring.root_mm / 2 - 0.03, 25)
    cut = radii * np.exp(1j * (math.pi / teeth - cutter.half_angles(radii)))
    assert distances(cut, half_pitch(ring)).max() < TOLERANCE + STEPPED
    assert cutter.half_angles(np.array([ring.root_mm / 2 + 1e-6]))[0] < 1e-9
    # Up to the form circle it is an involute, beyond it isn't.
    thick = np.array([ring.form_mm / 2 - 2e-3, ring.form_mm / 2 + 0.1])
    found = math.pi / teeth - cutter.half_angles(thick)
    off = abs(found - ring.half_angle(thick)) * thick
    assert off[0] < STEPPED + 1e-5 and off[1] > 1e-3


def test_a_ring_has_the_spaces_of_its_pinion():
    """At every radius that both reach, the tooth of a ring and that of a gear fill the pitch."""
    ring, gear = Ring(60, 2, ISO_53_A, 0.3, cutter_teeth=30), Gear(60, 2, ISO_53_A, -0.3)
    for diameter in (114, 117, 120, 123):
        pitch = math.pi * diameter / 60
        assert ring.thickness_mm(diameter) + gear.thickness_mm(diameter) == pytest.approx(pitch, abs=1e-12)
    assert ring.thickness_mm(120) == pytest.approx(math.pi + 4 * 0.3 * math.tan(math.radians(20)), abs=1e-12)


@given(
    st.integers(6, 2000), st.floats(0.05, 50), st.sampled_from(list(RACKS.values())), st.floats(-1, 1.5),
    st.floats(-0.5, 0),
)  # fmt: skip
def test_all_lengths_go_with_the_module(teeth, module, rack, shift, tip):
    try:
        one = Gear(teeth, 1, rack, shift, tip)
    except MechError:
        with pytest.raises(MechError):
            Gear(teeth, module, rack, shift, tip)
        return
    gear = Gear(teeth, module, rack, shift, tip)
    for name in ("reference_mm", "base_mm", "tip_mm", "root_mm", "form_mm"):
        assert getattr(gear, name) == pytest.approx(module * getattr(one, name), rel=1e-6)
    assert gear.root_mm < gear.form_mm + 1e-9 * module and gear.form_mm < gear.tip_mm
    assert gear.form_mm >= gear.base_mm * (1 - 1e-12) or not math.isclose(gear.form_mm, gear.tip_mm)
    assert gear.thickness_mm(gear.tip_mm) > 0


@given(st.integers(24, 200), st.integers(8, 120), st.floats(-0.5, 0.5), st.floats(-0.4, 0))
def test_every_ring_accepted_is_whole(teeth, cutter, shift, tip):
    try:
        ring = Ring(teeth, 1, ISO_53_A, shift, tip, cutter)
    except MechError:
        assume(False)
    assert ring.base_mm <= ring.tip_mm * (1 + 1e-9) and ring.tip_mm < ring.form_mm < ring.root_mm
    meet = ring.fillet(ring.fillet_end), ring.flank(ring.form_roll)
    assert abs(meet[0] - meet[1]) < 1e-9


def test_racks():
    iso = {f"ISO 53 {kind}" for kind in "ABCD"}
    assert set(RACKS) == iso | {"fine mechanics", "full depth 14.5°", "stub 20°"}
    for name, rack in RACKS.items():
        assert "memory" in rack.source  # none was read in the standard itself
        assert rack.pressure_angle_deg == (14.5 if "14.5" in name else 20)
        assert rack.addendum < rack.dedendum and name == rack.name
    # Type A: the fillet begins where the mate's tip reaches.  Type D: the largest fillet with two digits.
    assert ISO_53_A.form_depth == pytest.approx(ISO_53_A.addendum, abs=5e-5)
    with pytest.raises(MechError, match="no room"):
        BasicRack("deep", 20, 1.0, 1.4, 0.40, "invented")
    assert BasicRack("deep", 20, 1.0, 1.4, 0.39, "invented") != ISO_53_D


def test_whole_depths_of_inch_racks():
    """Whole depths in modules: 2.157 full depth, 1.8 stub; fine pitch 2.2/P + 0.002 inch (from memory)."""
    depths = [rack.addendum + rack.dedendum for rack in (FULL_DEPTH_14_5, STUB_20)]
    assert depths == pytest.approx([2.157, 1.8])
    for pitch in (20, 64, 200):
        gear = Gear(40, 25.4 / pitch, fine_pitch_rack(pitch))
        assert (gear.tip_mm - gear.root_mm) / 2 / 25.4 == pytest.approx(2.2 / pitch + 0.002)
    for wrong in (19, 201, "48"):
        with pytest.raises(MechError, match="diametral_pitch"):
            fine_pitch_rack(wrong)


def test_racks_stand_in_the_order_of_likelihood_and_only_where_they_are_used():
    """Fine mechanics up to module 0.6 (DIN 58400), fine pitch from 20 DP on (AGMA 1003); both from memory."""
    every = (ISO_53_A, STUB_20, FINE, FULL_DEPTH_14_5)
    metric, inch = (ISO_53_A, STUB_20, FULL_DEPTH_14_5), (STUB_20, FULL_DEPTH_14_5)
    assert usual_racks(every, 0.6) == (FINE, *metric)
    assert usual_racks(every, 0.61) == usual_racks(every, 2.0) == metric
    assert usual_racks(every, 25.4 / 19, 19) == metric
    assert usual_racks(every, 25.4 / 20, 20) == (fine_pitch_rack(20), *inch)
    assert usual_racks(every, 25.4 / 48, 48) == (fine_pitch_rack(48), *inch)
    assert usual_racks((FINE,), 25.4 / 48, 48) == ()


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"teeth": 5}, "teeth is 5: it must be a whole number from 6 to 2000"),
        ({"teeth": 12.5}, "teeth is 12.5"),
        ({"teeth": True}, "teeth is True"),
        ({"module_mm": 0}, "module_mm is 0 mm: it must be from 0.05 to 50 mm"),
        ({"module_mm": "1"}, "module_mm is '1'"),
        ({"shift": 2}, "shift is 2"),
        ({"shift": float("nan")}, "shift is nan"),
        ({"tip_alteration": -1.5}, "tip_alteration is -1.5"),
        ({"rack": "ISO 53 A"}, "rack is 'ISO 53 A': give a BasicRack, such as ISO_53_A, or RACKS"),
        ({"rack": None}, "rack is None: give a BasicRack"),
        ({"rack": "ISO 53"}, "with a name of: ISO 53 A, ISO 53 B"),
        ({"teeth": 8, "shift": 0.9}, "8 teeth with shift 0.9 has a pointed tip: use less shift"),
        ({"teeth": 6, "shift": -1}, "6 teeth with shift -1"),
        ({"teeth": 20, "tip_alteration": -1, "shift": -1}, "no flank left"),
    ],
)
def test_gears_that_cannot_be(values, said):
    with pytest.raises(MechError, match=said.replace(".", r"\.")):
        Gear(**{"teeth": 20, "module_mm": 1, "rack": ISO_53_A, **values})


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"cutter_teeth": 0}, "cutter_teeth is 0: it must be a whole number from 6 to 59"),
        ({"cutter_teeth": 60}, "cutter_teeth is 60"),
        ({"cutter_teeth": 9, "rack": FINE}, "the cutter is pointed"),
        ({"cutter_teeth": 20, "teeth": 40}, "would lose its tips to the cutter"),
        ({"cutter_teeth": 54}, "would be hit by it at the tips"),
        ({"teeth": 30, "cutter_teeth": 15}, "tips within the base circle"),
    ],
)
def test_rings_that_cannot_be(values, said):
    with pytest.raises(MechError, match=said):
        Ring(**{"teeth": 60, "module_mm": 1, "rack": ISO_53_A, "cutter_teeth": 30, **values})


def test_whole_numbers_of_any_kind_count_teeth():
    gear, ring = Gear(20.0, 1, ISO_53_A), Ring(np.int64(60), 1, ISO_53_A, cutter_teeth=30.0)
    assert (type(gear.teeth), type(ring.teeth), type(ring.cutter_teeth)) == (int, int, int)
    assert (gear.teeth, ring.teeth, ring.cutter_teeth) == (20, 60, 30)


def test_a_ring_at_the_limit_of_its_cutter():
    """Tips where the line of action touches the cutter's base circle; a hair more and they are lost."""
    angle = math.radians(20)
    tip = math.hypot(24 * math.cos(angle), 16 * math.sin(angle))
    ring = Ring(48, 1, ISO_53_A, 0, 23 - tip, cutter_teeth=16)
    assert ring.tip_mm / 2 == pytest.approx(tip, abs=1e-12)
    with pytest.raises(MechError, match="would lose its tips"):
        Ring(48, 1, ISO_53_A, 0, 23 - tip + 1e-6, cutter_teeth=16)


def test_other_bad_values():
    for wrong in (18, 201, "20"):
        with pytest.raises(MechError, match="diameter_mm"):
            Gear(20, 1, ISO_53_A).thickness_mm(wrong)
    for wrong in (-1, 90, float("inf"), "20"):
        with pytest.raises(MechError, match="angle_deg"):
            involute(wrong)
    with pytest.raises(MechError, match="value"):
        involute_angle(-1e-9)
    for name, wrong in (("pressure_angle_deg", 9), ("addendum", 2), ("dedendum", 0.9), ("fillet", -0.1)):
        values = {"pressure_angle_deg": 20, "addendum": 1, "dedendum": 1.25, "fillet": 0.3, name: wrong}
        with pytest.raises(MechError, match=name):
            BasicRack("wrong", **values, source="invented")
