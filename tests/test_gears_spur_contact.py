"""Path of contact, interference and efficiency: printed values, teeth laid on one another, forces summed."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from matplotlib.path import Path
from second_way_teeth import distances
from share import times

from mechlib.errors import MechError
from mechlib.gears.racks import FINE, ISO_53_A, ISO_53_C, ISO_53_D
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_contact import base_pitch, contact, mesh_efficiency, rack_contact_ratio
from mechlib.gears.spur_mesh import mesh, mesh_angle, ring_for, tight_centre_mm
from mechlib.gears.spur_outline import outline

FINELY = 4e-5  # modules, tolerance of the outlines laid on one another
TOUCH = 1.2e-4  # modules apart: two outlines that touch


def gear(teeth, shift=0.0, rack=ISO_53_A, tip=0.0):
    return Gear(teeth, 1, rack, shift, tip)


def corners(wheel, tolerance):
    return outline(wheel, tolerance) @ [1, 1j]


def one_tooth(wheel, tolerance):
    """The corners of the tooth on the x axis, from the middle of a space to the next."""
    points = corners(wheel, tolerance)
    half = points[: (len(points) - 1) // wheel.teeth // 2 + 1]
    return np.concatenate([np.conj(half[:0:-1]), half])


def laid(one, other, centre, angle, tolerance):
    """One tooth of gear 1 and those of gear 2 that it can meet, their flanks touching on one side."""
    away = -centre if isinstance(other, Ring) else centre
    turned = math.radians(mesh_angle(one, other, centre, angle, lean=1.0))
    pitch = 2 * math.pi / other.teeth
    facing = round(((math.pi if one.inside == other.inside else 0.0) - turned) / pitch)
    tooth = one_tooth(other, tolerance)[1:]
    teeth = np.concatenate([tooth * np.exp(1j * pitch * (facing + near)) for near in range(-2, 3)])
    return one_tooth(one, tolerance) * np.exp(1j * math.radians(angle)), teeth * np.exp(1j * turned) + away


def turned_while_touching(one, other, centre, steps=30):
    """Pitches through which gear 1 turns while one of its teeth touches: that is the contact ratio."""
    touching = 0
    for angle in np.arange(-1.6, 1.6, 1 / steps) * 360 / one.teeth:
        tooth, others = laid(one, other, centre, angle, FINELY)
        near = others[abs(others - tooth.mean()) < 2.5]
        gaps = distances(tooth, others).min(), distances(near, tooth).min(initial=1.0)
        touching += min(gaps) < TOUCH
    return touching / steps


@pytest.mark.few(2)
@pytest.mark.slow
@pytest.mark.parametrize(
    ("one", "other", "centre"),
    [
        (gear(12), gear(24), 18.05),  # with backlash, so that teeth touch on one side only
        (gear(20), gear(30), 25.1),
        (gear(9), gear(12), 10.55),
        (gear(18), ring_for(gear(18), 40, 22), 10.95),
    ],
)
def test_contact_ratio_is_how_long_a_tooth_touches(one, other, centre):
    found = contact(mesh(one, other, centre))
    # Just before and after, the gap is smaller than can be told from touching.
    assert -0.03 < turned_while_touching(one, other, centre) - found.ratio < 0.08


def test_the_blind_formula_is_right_where_teeth_are_whole_and_wrong_where_they_are_undercut():
    """G1: Elements of Metric Gear Technology, table 4-1, 12 and 24 teeth of module 3; recomputed."""
    undercut = contact(mesh(Gear(12, 3, ISO_53_A), Gear(24, 3, ISO_53_A), 54))
    assert f"{undercut.blind_ratio:.3f}" == "1.511"
    assert undercut.ratio < 1.3 and undercut.dig_mm == (0, 0)
    assert undercut.sentence() == (
        "1.27 pairs of teeth are in contact on average (by the tip circles alone it would be 1.51)."
    )
    whole = contact(mesh(gear(20), gear(30), 25))
    assert whole.ratio == pytest.approx(whole.blind_ratio, abs=1e-12)
    assert whole.sentence() == "1.61 pairs of teeth are in contact on average."


def in_the_plane(found):
    """Where the tip circles cut the line of action, from the pitch point on, by geometry in the plane."""
    one, other, centre = found.gear1, found.gear2, found.centre_mm
    away = -centre if isinstance(other, Ring) else centre
    along = np.exp(1j * math.radians(90 - found.working_angle_deg))
    pitch_point = found.working_mm[0] / 2
    steps = np.linspace(-6, 6, 240001)
    line = pitch_point + steps * along  # it leads outwards on gear 1
    tips = [steps[np.argmin(abs(abs(line - at) - wheel.tip_mm / 2) + 1e3 * far)] for wheel, at, far in (
        (one, 0, steps < 0 if one.inside > 0 else steps > 0),
        (other, away, steps > 0 if one.inside > 0 else steps < 0),
    )]  # fmt: skip
    return min(tips), max(tips)


@pytest.mark.parametrize(
    ("one", "other", "centre"),
    [
        (gear(20), gear(33, 0.2), 26.9),
        (gear(40, 0, FINE), gear(60, 0, FINE), 50.1),
        (gear(18), ring_for(gear(18), 54), 17.95),
        (ring_for(gear(18), 54), gear(18), 17.95),
    ],
)
def test_ends_are_where_the_tip_circles_cut_the_line_of_action(one, other, centre):
    found = mesh(one, other, centre)
    path = contact(found)
    assert (path.start_mm, path.end_mm) == pytest.approx(in_the_plane(found), abs=1e-4)
    assert path.length_mm == pytest.approx(path.blind_ratio * base_pitch(found), abs=1e-9)


PAIRS = [
    (gear(12), gear(24), 18.0),
    (gear(14, 0.3), gear(52, 0.1), 33.5),
    (gear(18), ring_for(gear(18), 54), 17.95),
    (gear(16), Ring(48, 1, ISO_53_A, 0, 0, 30), 16.0),
]


@pytest.mark.parametrize("pair", PAIRS)
def test_seen_from_the_other_gear(pair):
    one, other, centre = pair
    path, back = contact(mesh(one, other, centre)), contact(mesh(other, one, centre))
    assert back.ratio == pytest.approx(path.ratio, abs=1e-9)
    assert back.blind_ratio == pytest.approx(path.blind_ratio, abs=1e-9)
    assert back.dig_mm == pytest.approx(path.dig_mm[::-1], rel=0.02)
    sign = 1 if isinstance(other, Ring) else -1  # a ring's own outwards is the pinion's outwards
    ends = sorted((sign * path.start_mm, sign * path.end_mm))
    assert (back.start_mm, back.end_mm) == pytest.approx(ends, abs=1e-9)


def overlap(one, other, centre, places=120):
    """How deep tips of gear 2 come into a tooth of gear 1, in modules, over a turn through four pitches."""
    deepest = 0.0
    for angle in np.linspace(-2, 2, places) * 360 / one.teeth:
        tooth, others = laid(one, other, centre, angle, 1e-4)
        near = others[abs(others - tooth.mean()) < 4]
        shape = Path(np.stack([tooth.real, tooth.imag], axis=1))
        within = near[shape.contains_points(np.stack([near.real, near.imag], axis=1))]
        deepest = max(deepest, distances(within, tooth).max(initial=0.0))
    return deepest


@pytest.mark.slow
@pytest.mark.parametrize(
    ("one", "other", "centre"),
    [
        (gear(20), gear(300, tip=0.24), 160.0),  # tips longer than the rack's, on a large wheel
        (gear(14, 0.5), gear(200, -0.5, tip=0.24), 107.0),
        (gear(16), Ring(48, 1, ISO_53_A, 0, 0, 30), 16.0),
    ],
)
def test_interference_is_what_the_outlines_overlap(one, other, centre):
    found = contact(mesh(one, other, centre))
    assert found.dig_mm[0] > 0.01 and found.dig_mm[1] == 0
    assert overlap(one, other, centre) == pytest.approx(found.dig_mm[0], rel=0.06)
    assert "into the roots of a gear of" in found.sentence()


def test_interference_in_a_few_places():
    """As above, near where it is deepest."""
    pinion, ring = gear(16), Ring(48, 1, ISO_53_A, 0, 0, 30)
    found = contact(mesh(pinion, ring, 16.0))
    assert overlap(pinion, ring, 16.0, places=21) == pytest.approx(found.dig_mm[0], rel=0.1)
    back = contact(mesh(ring, pinion, 16.0))
    assert back.dig_mm[::-1] == pytest.approx(found.dig_mm, rel=0.01)


def test_no_interference_where_the_roots_are_deep_or_undercut():
    assert contact(mesh(gear(20, rack=ISO_53_D), gear(30, rack=ISO_53_D), 25)).dig_mm == (0, 0)
    assert contact(mesh(gear(9), gear(60), 34.5)).dig_mm == (0, 0)
    sharp = contact(mesh(gear(20, rack=ISO_53_C), gear(30, tip=0.05, rack=ISO_53_C), 25))
    assert sharp.dig_mm == (0, 0) and sharp.ratio == pytest.approx(sharp.blind_ratio)


def test_gears_too_far_apart_have_no_contact():
    path = contact(mesh(gear(20), gear(30), 27.5))
    assert path.blind_ratio < 0 and path.length_mm == path.ratio == 0
    with pytest.raises(MechError, match=r"the contact ratio is 0\.000: below 1 teeth lose touch"):
        mesh_efficiency(path.mesh, 0.1)


def by_forces(found, friction, places=4000):
    """Mean output over input power at a steady input torque, from the forces of equal pairs of teeth.

    Friction acts across the line of action; its lever about each centre is the unwound string.
    """
    path = contact(found)
    pitch = base_pitch(found)
    radius1, radius2 = found.gear1.base_mm / 2, found.gear2.base_mm / 2
    sine = math.sin(math.radians(found.working_angle_deg))
    turn = -1 if isinstance(found.gear2, Ring) else 1
    powers = []
    for first in path.start_mm + pitch * (np.arange(places) + 0.5) / places:
        at = np.arange(first, path.end_mm, pitch)
        string1 = found.working_mm[0] / 2 * sine + at
        string2 = found.working_mm[1] / 2 * sine - turn * at
        across = friction * np.sign(at)
        torque1 = (radius1 + across * string1).mean()
        torque2 = (radius2 + across * string2).mean()
        powers.append(torque2 / torque1 * radius1 / radius2)
    return np.mean(powers)


@pytest.mark.parametrize(
    ("one", "other", "centre"),
    [
        (gear(20), gear(40), 30.0),
        (gear(12), gear(24), 18.0),
        (gear(60), gear(60), 60.3),
        (gear(18), ring_for(gear(18), 54), 18.0),
        (gear(20, 0.9, tip=-0.2), gear(40, -0.9), 30.0),  # the pitch point lies near the end of the path
        (gear(80, 0, FINE), gear(120, 0, FINE), 100.0),  # at least two pairs touch at any time
    ],
)
def test_efficiency_by_forces(one, other, centre):
    found = mesh(one, other, centre)
    loss = 1 - mesh_efficiency(found, 1e-4)
    assert loss == pytest.approx(1 - by_forces(found, 1e-4), rel=2e-3)
    assert 1 - mesh_efficiency(found, 0.2) == pytest.approx(2000 * loss, rel=1e-9)
    assert mesh_efficiency(mesh(other, one, centre), 0.1) == pytest.approx(mesh_efficiency(found, 0.1))
    assert mesh_efficiency(found, 0) == 1


@settings(max_examples=times(5, 40))
@given(st.integers(17, 90), st.integers(17, 90), st.floats(0, 0.4), st.floats(0, 0.4))
def test_efficiency_is_the_tooth_loss_factor_of_the_standard(z1, z2, x1, x2):
    """ISO/TR 14179-2, after Ohlendorf (from memory): H_v = π·(1/z1 + 1/z2)·(1 − ε_α + ε1² + ε2²)."""
    one, other = gear(z1, x1, tip=-0.1), gear(z2, x2, tip=-0.1)
    found = mesh(one, other, tight_centre_mm(one, other))
    path = contact(found)
    part1, part2 = path.end_mm / base_pitch(found), -path.start_mm / base_pitch(found)
    assume(1 <= path.ratio <= 2 and 0 < part1 < 1 and 0 < part2 < 1)
    loss = math.pi * (1 / z1 + 1 / z2) * (1 - path.ratio + part1**2 + part2**2)
    assert mesh_efficiency(found, 0.1) == pytest.approx(1 - 0.1 * loss, abs=1e-12)


@pytest.mark.parametrize("wrong", [-0.01, 0.51, math.nan, "0.1"])
def test_friction_out_of_range(wrong):
    with pytest.raises(MechError, match="friction"):
        mesh_efficiency(mesh(gear(20), gear(30), 25), wrong)


def test_all_lengths_go_with_the_module():
    small, large = (
        contact(mesh(Gear(16, m, ISO_53_A), Ring(48, m, ISO_53_A, 0, 0, 30), 16 * m)) for m in (0.3, 6.0)
    )
    for name in ("start_mm", "end_mm", "length_mm"):
        assert getattr(large, name) == pytest.approx(20 * getattr(small, name))
    assert large.dig_mm == pytest.approx((20 * small.dig_mm[0], 0))
    assert large.ratio == pytest.approx(small.ratio)


@pytest.mark.parametrize("rack", [ISO_53_A, ISO_53_D, FINE])
@pytest.mark.parametrize(("teeth", "shift"), [(12, 0.0), (12, 0.4), (20, 0.0), (31, -0.3), (60, 0.5)])
def test_a_rack_is_what_ever_larger_gears_come_near_to(teeth, shift, rack):
    """Richardson: what is missing halves when the mate's teeth double, so 2·ε(2z) − ε(z) is the limit."""
    one = gear(teeth, shift, rack)
    mates = (gear(number, 0.0, rack) for number in (1000, 2000))
    near, nearer = (contact(mesh(one, mate, tight_centre_mm(one, mate))).ratio for mate in mates)
    assert rack_contact_ratio(one) == pytest.approx(2 * nearer - near, abs=2e-4)


def test_only_an_outside_gear_runs_on_a_rack():
    with pytest.raises(MechError, match="the gear is a Ring"):
        rack_contact_ratio(ring_for(gear(20), 60))
