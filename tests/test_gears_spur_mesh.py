"""Pairs of spur gears: printed values, and outlines laid on one another and turned."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.path import Path
from scipy.optimize import brentq
from second_way_teeth import distances

from mechlib.errors import MechError
from mechlib.gears.racks import FINE, ISO_53_A, ISO_53_B, ISO_53_D, BasicRack
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_mesh import mesh, mesh_angle, ring_for, tight_centre_mm
from mechlib.gears.spur_outline import outline

TOLERANCE = 3e-4  # modules, of the outlines laid on one another
OVERLAP = 1e-3  # modules that they may overlap, at most
NEAR = 3.5  # modules around the pitch point within which they can touch


def placed(gear, angle_deg, centre, tolerance=TOLERANCE):
    """The outline of a gear turned and moved, as complex corners in modules."""
    points = outline(gear, tolerance * gear.module_mm) @ [1, 1j] / gear.module_mm
    return points * np.exp(1j * math.radians(angle_deg)) + centre


def lay(gear1, gear2, centre_mm, angle1, angle2, direction=0.0):
    """Overlap and smallest gap of two outlines, in modules, where gear 1 is at the origin."""
    way = np.exp(1j * math.radians(direction))
    away = -way if isinstance(gear2, Ring) else way
    one = placed(gear1, angle1, 0)
    other = placed(gear2, angle2, away * centre_mm / gear1.module_mm)
    meet = way * mesh(gear1, gear2, centre_mm).working_mm[0] / 2 / gear1.module_mm
    overlap, gap = 0.0, math.inf
    for points, polygon, gear in ((one, other, gear2), (other, one, gear1)):
        near = points[abs(points - meet) < NEAR]
        off = distances(near, polygon)
        shape = Path(np.stack([polygon.real, polygon.imag], axis=1))
        within = shape.contains_points(np.stack([near.real, near.imag], axis=1)) != isinstance(gear, Ring)
        overlap = max(overlap, off[within].max(initial=0.0))
        gap = min(gap, off.min())
    return overlap, gap


def turned(gear1, gear2, centre_mm, direction, lean, steps=12):
    """Overlap and gap at each of some angles of gear 1 over a pitch."""
    for angle in 5 + np.linspace(0, 360 / gear1.teeth, steps, endpoint=False):
        other = mesh_angle(gear1, gear2, centre_mm, angle, direction, lean)
        yield lay(gear1, gear2, centre_mm, angle, other, direction)


def gear(teeth, shift=0.0, rack=ISO_53_A, module=1.0, tip=0.0):
    return Gear(teeth, module, rack, shift, tip)


PAIRS = [
    (gear(20), gear(20), 20.0),
    (gear(12), gear(12), 12.0),  # both undercut
    (gear(9), gear(60), 34.5),
    (gear(17, 0.4, ISO_53_D), gear(30, -0.1, ISO_53_D), 23.9),
    (gear(14, 0.3, FINE, 0.4), gear(52, 0.0, FINE, 0.4), 13.4),
    (gear(30, -0.3, ISO_53_B), gear(23, 0.3, ISO_53_A), 26.6),
    (ring_for(gear(18), 54), gear(18), 18.0),
    (gear(18), ring_for(gear(18), 54), 17.95),
    (ring_for(gear(12), 36), gear(12), 12.0),
    (ring_for(gear(16, 0.2), 48), gear(16, 0.2), 16.0),
    (ring_for(gear(30, -0.2, ISO_53_D), 100), gear(30, -0.2, ISO_53_D), 34.9),
    (ring_for(gear(40, 0, FINE, 0.5), 80), gear(40, 0, FINE, 0.5), 9.98),
]


@pytest.mark.few(5)
@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: f"{pair[0].teeth}-{pair[1].teeth}")
@pytest.mark.parametrize("lean", [0, 1])
def test_turned_pairs_touch_and_never_overlap(pair, lean):
    half_gap = 0.0 if lean else mesh(*pair).normal_backlash_mm / 2 / pair[0].module_mm
    for overlap, gap in turned(*pair, direction=37.0, lean=lean):
        assert overlap < OVERLAP
        assert gap == pytest.approx(half_gap, abs=OVERLAP)


@pytest.mark.slow
@settings(max_examples=12)
@given(
    st.integers(8, 60), st.integers(8, 80), st.floats(-0.3, 0.5), st.floats(-0.3, 0.5), st.floats(0, 0.15),
    st.floats(-180, 180), st.sampled_from([-1, 0, 1]),
)  # fmt: skip
def test_outside_pairs_at_any_centre_distance(z1, z2, x1, x2, more, direction, lean):
    try:
        one, other = gear(z1, x1, tip=-0.15), gear(z2, x2, tip=-0.15)
        centre = tight_centre_mm(one, other) + more
        found = mesh(one, other, centre)
    except MechError:
        return
    if found.over_mm == (0, 0):
        for overlap, gap in turned(one, other, centre, direction, lean, steps=2):
            assert overlap < OVERLAP
            assert gap == pytest.approx(0 if lean else found.normal_backlash_mm / 2, abs=OVERLAP)


@pytest.mark.slow
@settings(max_examples=12)
@given(
    st.integers(10, 40), st.integers(18, 60), st.floats(-0.2, 0.4), st.floats(0, 0.1),
    st.sampled_from([-1, 0, 1]),
)  # fmt: skip
def test_pinions_in_rings_made_for_them(pinion_teeth, more_teeth, shift, less, lean):
    pinion = gear(pinion_teeth, shift)
    ring = ring_for(pinion, pinion_teeth + more_teeth)
    centre = tight_centre_mm(pinion, ring) - less
    assert centre + less == pytest.approx(more_teeth / 2, abs=1e-9)
    assert mesh(pinion, ring, more_teeth / 2).over_mm == (0, 0)
    for overlap, _ in turned(ring, pinion, centre, 100.0, lean, steps=2):
        assert overlap < OVERLAP


@pytest.mark.slow
@pytest.mark.parametrize(
    ("one", "other", "centre"),
    [
        (gear(20), gear(33, 0.2), 26.9),
        (gear(12, 0.5), gear(15), 14.0),
        (gear(20), ring_for(gear(20), 70), 24.8),
    ],
)
def test_backlash_is_the_angle_between_two_touches(one, other, centre):
    """Gear 2 is turned by halves until the outlines overlap, one way and the other."""
    middle = mesh_angle(one, other, centre, 3.0)
    ends = []
    for way in (-1, 1):
        free, stuck = 0.0, 360 / other.teeth / 2
        for _ in range(13):
            turn = (free + stuck) / 2
            overlap, _ = lay(one, other, centre, 3.0, middle + way * turn)
            free, stuck = (turn, stuck) if overlap < TOLERANCE else (free, turn)
        ends.append(free)
    found = mesh(one, other, centre)
    radius = found.working_mm[1] / 2
    assert ends[0] == pytest.approx(ends[1], abs=math.degrees(OVERLAP / radius))
    assert math.radians(sum(ends)) * radius == pytest.approx(found.backlash_mm, abs=2 * OVERLAP)
    for lean in (-1, 1):
        part = math.degrees(lean * found.backlash_mm / 2 / radius)
        assert mesh_angle(one, other, centre, 3.0, lean=lean) == pytest.approx(middle + part, abs=1e-9)


def test_profile_shifted_pair():
    """G2, G3: Elements of Metric Gear Technology, tables 4-3 and 4-4; recomputed."""
    one, other = (Gear(z, 3, ISO_53_A, x, 0.83329 - 0.96) for z, x in ((12, 0.6), (24, 0.36)))
    centre = tight_centre_mm(one, other)
    found = mesh(one, other, centre)
    assert f"{centre:.4f}" == "56.4999"
    assert f"{found.working_angle_deg:.4f}" == "26.0886"
    assert [f"{size:.3f}" for size in found.working_mm] == ["37.667", "75.333"]
    assert found.backlash_mm == pytest.approx(0, abs=1e-9)
    assert found.clearance_mm == pytest.approx((0.75, 0.75), abs=2e-4)  # a quarter of the module, as the rack


def test_internal_pair():
    """Elements of Metric Gear Technology, T-42, eq. 5-1 (published) at a stated centre distance."""
    pinion, ring = gear(18, module=2.0), ring_for(gear(18, module=2.0), 60)
    found = mesh(pinion, ring, 41.8)
    angle = math.degrees(math.acos((ring.base_mm - pinion.base_mm) / (2 * 41.8)))
    assert found.working_angle_deg == pytest.approx(angle, abs=1e-9)
    assert found.working_mm == pytest.approx((2 * 41.8 * 18 / 42, 2 * 41.8 * 60 / 42), abs=1e-9)
    assert found.normal_backlash_mm == pytest.approx(found.backlash_mm * math.cos(math.radians(angle)))
    assert mesh(ring, pinion, 41.8).backlash_mm == found.backlash_mm
    assert found.clearance_mm[0] == pytest.approx(ring.root_mm / 2 - 41.8 - pinion.tip_mm / 2)
    assert found.clearance_mm[1] == pytest.approx(ring.tip_mm / 2 - 41.8 - pinion.root_mm / 2)


def test_tight_centre_of_a_shifted_internal_pair():
    """The distance without backlash, found by a root finder on the widths of teeth at the working circles."""
    pinion, ring = gear(20, 0.3), Ring(70, 1, ISO_53_A, 0.2, -0.2, 40)

    def gap(centre):
        return mesh(pinion, ring, centre).backlash_mm - 1e-7

    tight = tight_centre_mm(pinion, ring)
    assert brentq(gap, 24.1, tight - 1e-9) == pytest.approx(tight, abs=1e-6)
    with pytest.raises(MechError, match="bind"):
        mesh(pinion, ring, tight + 0.01)


# G7: Norton; Shigley eq. 13-12: the largest gear that a 20° full-depth pinion meshes with without contact
# below its base circle; recomputed.
@pytest.mark.parametrize(("pinion_teeth", "largest"), [(13, 16), (14, 26), (15, 45), (16, 101)])
def test_where_contact_comes_to_the_base_circle(pinion_teeth, largest):
    for teeth, above in ((largest, True), (largest + 1, False)):
        pinion, wheel = gear(pinion_teeth), gear(teeth)
        found = mesh(pinion, wheel, (pinion_teeth + teeth) / 2)
        string = math.sqrt(pinion.form_mm**2 - pinion.base_mm**2) / 2 - found.over_mm[0]
        assert (string > 0) is above


def reach(found, at):
    """Unwound string of gear ``at`` where the mate's tip circle cuts the line of action, in the plane."""
    wheels = (found.gear1, found.gear2)
    wheel, mate = wheels[at], wheels[1 - at]
    away = -found.centre_mm if isinstance(found.gear2, Ring) else found.centre_mm
    centres = (0.0, away) if at == 0 else (away, 0.0)
    along = np.exp(1j * math.radians(90 - found.working_angle_deg))
    pitch_point = found.working_mm[0] / 2
    foot = ((centres[0] - pitch_point) * along.conjugate()).real  # of the wheel's centre on the line
    foot_of_mate = ((centres[1] - pitch_point) * along.conjugate()).real
    towards = math.copysign(1, -foot)  # from the wheel's base circle past the pitch point

    def beyond(string):
        return abs(pitch_point + (foot + towards * string) * along - centres[1]) - mate.tip_mm / 2

    # Outside the line comes nearer to the mate's centre as the string grows, with a ring it leads away.
    nearest = (foot_of_mate - foot) * towards
    return brentq(beyond, nearest, nearest + (30 if Ring in (type(wheel), type(mate)) else -30))


@pytest.mark.parametrize(
    ("one", "other", "centre", "over"),
    [
        (gear(12), gear(40), 26.1, (True, False)),
        (gear(12), gear(12), 12.0, (True, True)),
        (gear(16), Ring(60, 1, ISO_53_A, 0, 0, 40), 22.0, (True, False)),
        (Ring(80, 1, ISO_53_A, 0, -0.4, 24), gear(50, 0, ISO_53_A, 1.0, 0.15), 15.0, (True, False)),
    ],
)
def test_reach_of_the_tip_is_where_its_circle_cuts_the_line_of_action(one, other, centre, over):
    found = mesh(one, other, centre)
    for at, wheel in enumerate((one, other)):
        form = math.sqrt(max(wheel.form_mm**2 - wheel.base_mm**2, 0)) / 2
        beyond = (reach(found, at) - form) * (1 if isinstance(wheel, Ring) else -1)
        assert found.over_mm[at] == pytest.approx(max(beyond, 0), abs=1e-7)
        assert (found.over_mm[at] > 0) is over[at]


@pytest.mark.slow
def test_tips_of_pinion_and_ring():
    """Elements of Metric Gear Technology, T-45: trochoid interference is avoided if z2 − z1 > 9 (published).

    Outlines show it below that; what they overlap above is contact beyond the ring's involute.
    """
    for teeth in range(42, 121, 13):
        ring = Ring(teeth, 1, ISO_53_A, cutter_teeth=teeth - 18)
        assert mesh(gear(teeth - 10), ring, 5.0).backlash_mm == pytest.approx(0, abs=1e-9)
        with pytest.raises(MechError, match="hit those of"):
            mesh(gear(teeth - 7), ring, 3.5)
    ring = Ring(60, 1, ISO_53_A, cutter_teeth=38)
    overlaps = {10: 0.0, 7: 0.0}
    for less in overlaps:
        pinion = gear(60 - less)
        for angle in np.linspace(0, 360 / pinion.teeth, 8, endpoint=False):
            one = placed(pinion, angle, less / 2, 2e-3)
            other = placed(ring, 3 + angle * pinion.teeth / 60, 0, 2e-3)
            shape = Path(np.stack([other.real, other.imag], axis=1))
            outside = one[~shape.contains_points(np.stack([one.real, one.imag], axis=1))]
            overlaps[less] = max(overlaps[less], distances(outside, other).max(initial=0.0))
    assert overlaps[10] < 0.02 < 0.03 < overlaps[7]


def test_leaving_the_involute_is_told():
    standard = mesh(gear(12), gear(24), 18.0)
    assert standard.over_mm[0] > 0 and standard.over_mm[1] == 0
    assert standard.sentence() == (
        "A gear of 12 teeth and a gear of 24 teeth, module 1 mm, at 18.000 mm: working pressure angle "
        "20.00°, backlash 0.000 mm; contact leaves the involute of gear 1."
    )
    free = mesh(gear(20), gear(24), 22.1)
    assert free.sentence().endswith(f"backlash {free.backlash_mm:.3f} mm.")
    ring = Ring(48, 1, ISO_53_A, 0, 0, 30)  # its tips are not shortened: they reach into the pinion's root
    assert mesh(ring, gear(16), 16.0).over_mm[1] > 0
    overlaps = [overlap for overlap, _ in turned(ring, gear(16), 16.0, 0.0, 0, steps=12)]
    assert max(overlaps) > OVERLAP


def test_reaching_too_far_by_a_hair_is_told():
    for module in (0.05, 1.0, 40.0):
        pinion = gear(18, module=module)
        ring = ring_for(pinion, 54)
        longer = Ring(54, module, ISO_53_A, 0, ring.tip_alteration + 1e-7, 36)
        assert mesh(pinion, ring, 18 * module).over_mm == (0, 0)
        assert 0 < mesh(pinion, longer, 18 * module).over_mm[0] < 1e-5 * module


def test_cutters_of_rings():
    """18 fewer teeth than the ring, but half of them and the pinion's count at least."""
    found = [ring_for(gear(pinion), teeth).cutter_teeth for pinion, teeth in ((20, 60), (45, 60), (10, 30))]
    assert found == [42, 45, 15]
    assert ring_for(gear(20), 60, cutter_teeth=25).cutter_teeth == 25


def test_angles():
    one, other = gear(20), gear(30)
    for direction in (0, 45, -120):
        start = mesh_angle(one, other, 25, direction, direction)
        assert (start - direction - 180) * 30 / 360 % 1 == pytest.approx(0.5)  # a space towards gear 1
        assert mesh_angle(one, other, 25, direction + 9, direction) == pytest.approx(start - 6)
    ring = ring_for(one, 60)
    start = mesh_angle(one, ring, 20, 0)
    assert mesh_angle(one, ring, 20, 9) == pytest.approx(start + 3)
    teeth_on = mesh_angle(ring, one, 20, start) * 20 / 360
    assert teeth_on == pytest.approx(round(teeth_on), abs=1e-9)


SHALLOW = BasicRack("other angle", 25, 1.0, 1.25, 0.2, "invented")


@pytest.mark.parametrize(
    ("one", "other", "centre", "said"),
    [
        (gear(20), 20, 22, "a gear of the pair is 20: give a Gear or a Ring"),
        (gear(20), gear(20, module=1.25), 22, "modules 1 and 1.25 mm"),
        (gear(20), gear(20, rack=SHALLOW), 20, "pressure angles 20 and 25°"),
        (ring_for(gear(20), 60), ring_for(gear(20), 60), 20, "two rings can't mesh"),
        (ring_for(gear(20), 60), gear(60), 20, "a ring of 60 teeth: it must have more teeth"),
        (gear(20), gear(20), 18, "centre_mm is 18 mm: it must be from 18.7939 to 88 mm"),
        (gear(20), gear(20), 19.9, "at 19.9000 mm the teeth bind, by 0.0710 mm"),
        (gear(20), gear(20), float("nan"), "centre_mm is nan"),
        (gear(20, -0.6, tip=0.5), gear(20, -0.6, tip=0.5), 18.9, "a tip digs"),
        (gear(55), Ring(61, 1, ISO_53_A, 0, 0, 48), 3, "the tips of a gear of 55 teeth hit"),
    ],
)
def test_pairs_that_cannot_mesh(one, other, centre, said):
    with pytest.raises(MechError, match=said.replace(".", r"\.")):
        mesh(one, other, centre)


def test_other_bad_values():
    with pytest.raises(MechError, match="don't go together"):
        tight_centre_mm(gear(10, -0.3), gear(12, -0.3))
    for name, wrong in (("lean", 1.1), ("lean", "0"), ("angle1_deg", math.inf), ("direction_deg", math.nan)):
        values = {"angle1_deg": 0, name: wrong}
        with pytest.raises(MechError, match=name):
            mesh_angle(gear(20), gear(20), 20, **values)
    for teeth in (20, 2001, 30.5):
        with pytest.raises(MechError, match="teeth"):
            ring_for(gear(20), teeth)
