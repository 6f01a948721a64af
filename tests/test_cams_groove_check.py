"""Soundness and lost motion of grooves: distances to a finely drawn centre line, with scipy's minimum."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from mechlib.cams import Programme, Segment
from mechlib.cams.groove import DrumGroove, FaceGroove, LeverGroove
from mechlib.cams.groove_check import LeastRadius, LostMotion, check_groove, least_radius, lost_motion
from mechlib.cams.motion import Motion
from mechlib.errors import MechError

KINDS = ("face", "lever", "drum")


def track(law="cycloidal", fall="3-4-5", lift=6.0, rise=70.0):
    ends = (20, 20 + rise, 150, 240, 380)
    lifts, laws = (0, lift, lift, 0, 0), (law, "dwell", fall, "dwell")
    rows = zip(ends, ends[1:], lifts, lifts[1:], laws, strict=False)
    return Programme(tuple(Segment(*row) for row in rows), 360)


def groove(kind, width=3.0, pin=3.0, radius=15, sense=1):
    if kind == "drum":
        return DrumGroove(radius, width, pin)
    if kind == "face":
        return FaceGroove(radius, width, pin, sense=sense)
    return LeverGroove(radius, width, pin, lever_mm=24, pivot_mm=30, sense=sense)


def centre(one, programme, angles):
    """The centre line where the cam stands at an angle or an array of them, from the lift alone."""
    lifts = programme.lifts(angles)
    return one.at(Motion(angles, lifts, 0.0 * lifts)).pin


def off_centre(one, programme, angle, lift):
    """Distance of a pin at an angle and lift from the centre line: scipy's minimum near there."""
    pin = one.at(Motion(angle, lift, 0.0)).pin
    grid = np.linspace(angle - 25, angle + 25, 401)
    nearest = grid[np.argmin(abs(centre(one, programme, grid) - pin))]
    found = minimize_scalar(
        lambda x: abs(centre(one, programme, x) - pin),
        bounds=(nearest - 0.2, nearest + 0.2),
        method="bounded",
        options={"xatol": 1e-10},
    )
    return found.fun


@pytest.mark.few(15)
@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("angle", [21.0, 40.0, 55.0, 88.0, 120.0, 170.0, 200.0, 239.0, 300.0])
def test_at_the_limits_of_the_lift_the_pin_touches_a_wall(kind, sense, angle):
    one, programme = groove(kind, 3.3, 3.0, sense=sense), track()
    found = lost_motion(one, programme, angle)
    for lift in (found.low_mm, found.high_mm):
        assert off_centre(one, programme, angle, lift) == pytest.approx(0.15, abs=1e-9)
    assert found.low_mm < programme.lift(angle) < found.high_mm
    for part in np.linspace(0.02, 0.98, 13):
        between = found.low_mm + part * (found.high_mm - found.low_mm)
        assert off_centre(one, programme, angle, between) < 0.15


@pytest.mark.few(12)
@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("angle", [24.0, 55.0, 87.0, 120.0, 200.0, 236.0, 300.0])
def test_a_standing_pin_is_free_between_the_angles_told(kind, sense, angle):
    one, programme = groove(kind, 3.3, 3.0, sense=sense), track()
    found = lost_motion(one, programme, angle)
    assert found.from_deg < angle < found.to_deg
    assert found.lost_deg == found.to_deg - found.from_deg
    for end in (found.from_deg, found.to_deg):
        assert off_centre(one, programme, end, found.lift_mm) == pytest.approx(0.15, abs=1e-8)
    for place in np.linspace(found.from_deg, found.to_deg, 15)[1:-1]:
        assert off_centre(one, programme, place, found.lift_mm) < 0.15


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("kind", KINDS)
def test_the_first_order_is_right_to_the_second(kind, sense):
    """The error is the term stated, and what is left over after it falls with the cube of the clearance."""
    programme = track()
    for angle in (30.0, 47.0, 80.0, 180.0, 215.0):
        rest = []
        for clearance in (0.04, 0.02):
            one = groove(kind, 3.0 + clearance, 3.0, sense=sense)
            found = lost_motion(one, programme, angle)
            slope, bend = programme.slope(angle), programme.bend(angle)
            moves = Motion(angle, found.lift_mm, slope * 180 / math.pi, bend * (180 / math.pi) ** 2)
            place = one.at(moves)
            alpha = math.radians(place.pressure_deg)
            assert found.half_mm == pytest.approx(clearance / 2 / math.cos(alpha), rel=1e-12)
            turn = clearance / abs(moves.slope_mm) / math.cos(alpha)
            assert found.turn_deg == pytest.approx(math.degrees(turn), rel=1e-12)
            assert found.lost_deg == pytest.approx(found.turn_deg, rel=0.02)
            told = abs(place.curvature_per_mm) * math.sin(alpha) ** 2 / (2 * math.cos(alpha))
            told += abs(math.tan(alpha)) / (2 * 24) if kind == "lever" else 0.0
            for lift, sign in ((found.low_mm, -1), (found.high_mm, 1)):
                rest.append(abs(lift - found.lift_mm - sign * found.half_mm))
                assert rest[-1] <= 1.05 * told * found.half_mm**2 + 1e-5 * clearance
        assert rest[2] < 0.3 * rest[0] + 1e-9 and rest[3] < 0.3 * rest[1] + 1e-9


def test_on_a_straight_slope_the_first_order_is_exact():
    programme = track("constant velocity")
    found = lost_motion(groove("drum", 3.4), programme, 55.0)
    alpha = math.atan(6 / math.radians(70) / 15)
    assert found.high_mm - 3 == pytest.approx(0.2 / math.cos(alpha), rel=1e-12)
    assert 3 - found.low_mm == pytest.approx(0.2 / math.cos(alpha), rel=1e-12)
    lost = math.degrees(0.4 / (15 * math.sin(alpha)))
    assert found.lost_deg == pytest.approx(lost, rel=1e-9)
    assert found.turn_deg == pytest.approx(lost, rel=1e-12)


@pytest.mark.parametrize("kind", ["face", "drum"])
def test_in_a_dwell_the_follower_floats_by_half_the_clearance(kind):
    found = lost_motion(groove(kind, 3.4), track(), 120.0)
    assert (found.low_mm, found.high_mm, found.half_mm) == pytest.approx((5.8, 6.2, 0.2), abs=1e-9)
    assert math.isinf(found.turn_deg) and found.from_deg < 90 and found.to_deg > 150


def test_a_lever_floats_more_in_a_dwell_when_it_is_askew():
    found = lost_motion(groove("lever", 3.4), track(), 300.0)
    swing = math.acos((24**2 + 30**2 - 15**2) / (2 * 24 * 30))
    alpha = math.atan((24 - 30 * math.cos(swing)) / (30 * math.sin(swing)))
    assert found.half_mm == pytest.approx(0.2 / math.cos(alpha)) and found.half_mm > 0.2


def test_without_clearance_nothing_is_lost():
    for kind in KINDS:
        found = lost_motion(groove(kind), track(), 55.0)
        assert found.low_mm == pytest.approx(3, abs=1e-9) == found.high_mm
        assert found.lost_deg == pytest.approx(0, abs=1e-7) and found.half_mm == found.turn_deg == 0


def test_round_the_seam_and_beyond_the_ends():
    programme = track()
    for turn in (-360, 0, 360, 720):
        found = lost_motion(groove("face", 3.4), programme, 10.0 + turn)
        assert (found.angle_deg, found.lift_mm) == (10.0 + turn, 0)
        # The dwell goes on over the seam; the track starts at 20°, and so 370° is its name for this place.
        assert 220 < found.from_deg < 240 and 380 < found.to_deg < 395
    ends = Programme((Segment(0, 30, 0, 0), Segment(30, 90, 0, 6, "3-4-5"), Segment(90, 120, 6, 6)))
    first = lost_motion(groove("drum", 3.4), ends, -50.0)
    assert first.from_deg == -math.inf and 30 < first.to_deg < 60
    last = lost_motion(groove("drum", 3.4), ends, 500.0)
    assert 60 < last.from_deg < 90 and last.to_deg == math.inf
    small = Programme((Segment(0, 180, 0, 0.05, "3-4-5"), Segment(180, 360, 0.05, 0, "3-4-5")), 360)
    never = lost_motion(groove("drum", 3.4), small, 90.0)
    assert (never.from_deg, never.to_deg) == (-math.inf, math.inf)
    assert "a follower that stands at 0.025 mm is never taken along." in never.sentence()


def test_a_whole_turn_away_a_move_is_still_found():
    """Only the top of one short lobe moves the pin off its place: seen from either side of it."""
    up, down = Segment(0, 20, 0, 1, "3-4-5"), Segment(20, 40, 1, 0, "3-4-5")
    lobe = Programme((up, down, Segment(40, 360, 0, 0)), 360)
    for angle in (45.0, 200.0, 355.0):
        found = lost_motion(groove("drum", 3.4), lobe, angle)
        assert 30 < found.from_deg < 40 and 360 < found.to_deg < 370


def wall_is_cut(one, programme, sign):
    """Brute force: is a point of the wall nearer than half the width to any of the centre line?"""
    angles = np.linspace(20, 380, 4001)[:-1]
    slopes = programme.slopes(angles) * 180 / math.pi
    place = one.at(Motion(angles, programme.lifts(angles), slopes))
    wall, cut = place.outer if sign > 0 else place.inner, []
    for number, point in enumerate(wall):
        near = np.roll(place.pin, 300 - number)[:600]
        if abs(near - point).min() < one.width_mm / 2 * (1 - 1e-4):
            cut.append(angles[number])
    return cut


@pytest.mark.parametrize("kind", ["face", "lever"])
@pytest.mark.parametrize(
    "lift, rise, width, walls",
    [(4.0, 70.0, 5.0, set()), (7.0, 45.0, 12.0, {"outer"}), (7.0, 45.0, 13.0, {"inner", "outer"})],
)
def test_undercut_as_brute_force_finds_it(kind, lift, rise, width, walls):
    one, programme = groove(kind, width), track("simple harmonic", "cycloidal", lift, rise)
    found = check_groove(one, programme)
    assert {wall for wall, _, _ in found.cut} == walls
    for wall, sign in (("inner", -1), ("outer", 1)):
        arcs = [(start, end) for name, start, end in found.cut if name == wall]
        cut = wall_is_cut(one, programme, sign)
        assert bool(cut) == bool(arcs)
        # A wall that is cut at a cusp is cut a little way to both sides of it as well.
        assert all(min(abs(np.array(cut) - (start + end) / 2)) < 1 for start, end in arcs)
    assert found.sound == (not found.cut)


def circle_through(one, two, three):
    """Radius of the circle through three points."""
    sides = abs(two - three), abs(three - one), abs(one - two)
    area = abs(((two - one) * (three - one).conjugate()).imag) / 2
    return math.prod(sides) / (4 * area)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("kind", KINDS)
def test_the_smallest_radius_of_a_wall_is_that_of_its_points(kind, sense):
    one, programme = groove(kind, 2.0, 2.0, sense=sense), track()
    found = check_groove(one, programme)
    assert found.sound and found.corners_deg == ()
    walls = (found.inner_mm, found.inner_at_deg, "inner"), (found.outer_mm, found.outer_at_deg, "outer")
    for radius, at, wall in walls:
        if math.isinf(radius):
            continue
        near = at + np.array([-0.02, 0.0, 0.02])
        place = one.at(Motion(near, programme.lifts(near), programme.slopes(near) * 180 / math.pi))
        assert circle_through(*getattr(place, wall)) == pytest.approx(radius, rel=1e-3)
        # No sharper place of that wall that bulges into the groove, by the bend of the walls' own points.
        angles = np.linspace(20, 380, 20001)
        place = one.at(Motion(angles, programme.lifts(angles), programme.slopes(angles) * 180 / math.pi))
        line, other = getattr(place, wall), place.pin
        steps, toward = np.diff(line), (other - line)[1:-1]
        turned = np.angle(steps[1:] / steps[:-1])
        bulges = (1j * steps[:-1] * turned * toward.conjugate()).real < 0
        assert 1 / (abs(turned) / abs(steps[:-1]))[bulges].max() == pytest.approx(radius, rel=0.01)


def test_the_largest_pressure_angle_keeps_its_sign():
    found = check_groove(groove("face"), track())
    angles = np.linspace(20, 380, 36001)
    place = groove("face").at(Motion(angles, track().lifts(angles), track().slopes(angles) * 180 / math.pi))
    assert found.pressure_deg == pytest.approx(place.pressure_deg.max(), abs=1e-5)
    assert found.pressure_at_deg == pytest.approx(angles[place.pressure_deg.argmax()], abs=0.02)
    steep = check_groove(groove("face"), track(fall="cycloidal", rise=110.0))
    assert steep.pressure_deg < 0 and 150 < steep.pressure_at_deg < 240
    even = Programme((Segment(0, 180, 6, 0, "cycloidal"), Segment(180, 360, 0, 6, "cycloidal")), 360)
    assert check_groove(groove("drum"), even).pressure_deg > 0


def test_a_dwelling_disc_bulges_on_its_inner_side_only():
    still = Programme((Segment(0, 90, 3, 3),))
    found = check_groove(FaceGroove(17, 4, 4), still)
    assert (found.inner_mm, found.outer_mm, found.pressure_deg) == (pytest.approx(18), math.inf, 0)
    assert found.sentence().endswith("; the inner wall's smallest radius is 18.00 mm, at 0.0°.")
    drum = check_groove(DrumGroove(17, 4, 4), still)
    assert (drum.inner_mm, drum.outer_mm) == (math.inf, math.inf)
    assert drum.sentence().endswith("; no wall bulges into the groove.")


def test_a_corner_cuts_the_wall_in_its_inside():
    ramp = Segment(30, 60, 0, 3, "constant velocity")
    found = check_groove(DrumGroove(20, 4, 4), Programme((Segment(0, 30, 0, 0), ramp, Segment(60, 70, 3, 3))))
    assert found.cut == (("inner", 60, 60), ("outer", 30, 30)) and not found.sound
    assert found.corners_deg == (30, 60)
    assert (found.inner_mm, found.inner_at_deg, found.outer_mm, found.outer_at_deg) == (-2, 60, -2, 30)
    assert found.sentence().endswith(
        "undercut: the inner wall at 60.0° and the outer wall at 30.0°; the slope steps at 30.0° and 60.0°."
    )


def test_the_edge_of_undercutting():
    """Constant acceleration round a drum: κ = R·s″/(R² + s′²)^1.5 is greatest where it starts, s″/R²."""
    rise = Segment(0, 90, 0, 10, "constant acceleration")
    programme = Programme((rise, Segment(90, 360, 10, 0, "3-4-5")), 360)
    sharpest = 15**2 / (4 * 10 / (math.pi / 2) ** 2)
    for off, sound in ((-1e-4, True), (1e-4, False)):
        found = check_groove(DrumGroove(15, 2 * sharpest + off, 1), programme)
        assert found.sound == sound
        assert found.outer_mm == pytest.approx(-off / 2, abs=1e-9) and found.outer_at_deg == 0
        assert found.inner_mm == pytest.approx(-off / 2, abs=1e-9)
        assert found.inner_at_deg == pytest.approx(90, abs=1e-5)  # as flat as that
    start, end = found.cut[1][1:]
    assert found.cut[1][0] == "outer" and start == 0 and 0 < end < 1
    told = "undercut: the inner wall at 89.9° to 90.0° and the outer wall at 0.0° to 0.1°."
    assert found.sentence().endswith(told)


@pytest.mark.parametrize("drum", [True, False])
@pytest.mark.parametrize("limit", [20.0, 30.0, 50.0])
def test_with_the_least_radius_the_limit_is_just_kept(drum, limit):
    found = least_radius(track(), limit, drum)
    kind = DrumGroove if drum else FaceGroove
    worst = check_groove(kind(found.radius_mm, 0.1, 0.1), track())
    assert worst.pressure_deg == pytest.approx(limit, abs=1e-7)
    assert worst.pressure_at_deg == pytest.approx(found.angle_deg, abs=1e-4)
    angles = np.linspace(20, 380, 36001)
    slopes = abs(track().slopes(angles)) * 180 / math.pi
    need = slopes / math.tan(math.radians(limit)) - (0 if drum else track().lifts(angles))
    assert found.radius_mm == pytest.approx(need.max(), rel=1e-6)
    assert found.mean_mm == pytest.approx(found.radius_mm + (0 if drum else 3))
    assert found.limit_deg == limit and found.drum == drum


def test_the_sentence_of_a_least_radius():
    told = LeastRadius(30, 9, 12, 45, False).sentence()
    assert "radius of the groove at lift 0 must be at least 9.00 mm" in told
    with pytest.raises(MechError, match="limit_deg is 81°"):
        least_radius(track(), 81)


def test_bad_angles_are_refused():
    for bad in (math.nan, "5", None):
        with pytest.raises(MechError, match="angle_deg"):
            lost_motion(groove("drum"), track(), bad)


def test_lost_turn_is_the_difference():
    assert LostMotion(5, 1, 0.9, 1.1, 0.1, 4.0, 6.5, 2.4).lost_deg == 2.5
