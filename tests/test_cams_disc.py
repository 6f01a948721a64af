"""Extremes and smallest base circles of disc cams against dense sampling and closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from mechlib.cams import LAWS, Law, Piece, Programme, Segment
from mechlib.cams.disc import cam_shape, smallest_base
from mechlib.cams.follower import FlatFace, FlatLever, SwingingRoller, TranslatingRoller
from mechlib.cams.motion import largest
from mechlib.cams.outline import curves
from mechlib.errors import MechError


def lobe(law="cycloidal", rise=8.0, up=80.0, down=100.0):
    """Up, stay, down, stay."""
    return Programme(
        (
            Segment(0, up, 0, rise, law),
            Segment(up, up + 40, rise, rise),
            Segment(up + 40, up + 40 + down, rise, 0, law),
            Segment(up + 40 + down, 360, 0, 0),
        ),
        360,
    )


SMOOTH = [
    "cycloidal",
    "modified sine",
    "modified trapezoidal",
    "3-4-5",
    "simple harmonic",
    "constant acceleration",
]
FOLLOWERS = [
    TranslatingRoller(base_mm=20, roller_mm=5),
    TranslatingRoller(base_mm=20, roller_mm=5, offset_mm=6, sense=-1),
    SwingingRoller(base_mm=20, roller_mm=5, pivot_mm=44, arm_mm=40),
    SwingingRoller(base_mm=20, roller_mm=5, pivot_mm=44, arm_mm=40, sense=-1),
    FlatFace(base_mm=40),
    FlatLever(base_mm=40, pivot_mm=80, arm_mm=70, face_mm=6),
]


def dense(programme, step=2e-3):
    """Angles (degrees), and lift, slope and bend per radian from the laws' own calls, for brute force."""
    angle, lift, slope, bend = [], [], [], []
    for s in programme.segments:
        length = math.radians(s.end_deg - s.start_deg)
        x = np.linspace(0, 1, round((s.end_deg - s.start_deg) / step) + 1)[1:-1]
        rise = s.end_mm - s.start_mm
        law = LAWS.get(s.law) if isinstance(s.law, str) else s.law
        angle.append(s.start_deg + x * (s.end_deg - s.start_deg))
        lift.append(s.start_mm + (rise * law.position(x) if law else 0 * x))
        slope.append(rise / length * law.velocity(x) if law else 0 * x)
        bend.append(rise / length**2 * law.acceleration(x) if law else 0 * x)
    return tuple(np.concatenate(part) for part in (angle, lift, slope, bend))


def height_and_offset(follower, lift):
    """The follower as one on a slide, at each lift: how high above the shaft and how far right of it."""
    reach = follower.base_mm + follower.roller_mm
    if isinstance(follower, TranslatingRoller):
        return math.sqrt(reach**2 - follower.offset_mm**2) + lift, follower.offset_mm + 0 * lift
    a, arm = follower.pivot_mm, follower.arm_mm
    psi = math.acos((a * a + arm * arm - reach**2) / (2 * a * arm)) + lift / arm
    return a * np.sin(psi), a * np.cos(psi) - arm


def brute_pressure(follower, programme):
    _, lift, slope, _ = dense(programme)
    height, offset = height_and_offset(follower, lift)
    return np.degrees(np.arctan((slope - follower.sense * offset) / height))


@pytest.mark.parametrize("law", SMOOTH)
@pytest.mark.parametrize("follower", FOLLOWERS[:4])
def test_the_extremes_of_the_pressure_angle_are_those_of_dense_sampling(law, follower):
    programme = lobe(law)
    brute = brute_pressure(follower, programme)
    shape = cam_shape(programme, follower)
    for found, here, which in (
        (shape.highest, brute.max(), np.argmax),
        (shape.lowest, brute.min(), np.argmin),
    ):
        assert found.value == pytest.approx(here, abs=1e-5)
        assert abs(found.value) >= abs(here) - 1e-9
        other = dense(programme)[0][which(brute)]
        assert abs(found.angle_deg - other) < 0.05 or abs(brute[which(brute)] - found.value) < 1e-7
    assert shape.pressure.value == max(found_value(shape), key=abs)


def found_value(shape):
    return shape.highest.value, shape.lowest.value


@pytest.mark.parametrize("law", ["cycloidal", "modified trapezoidal", "constant acceleration"])
@pytest.mark.parametrize("follower", FOLLOWERS)
def test_the_smallest_radii_are_those_of_circles_through_the_outline(law, follower):
    programme = lobe(law)
    shape = cam_shape(programme, follower)
    points = curves(programme, follower, 0.02).outline
    apart = np.append(True, np.hypot(*np.diff(points, axis=0).T) > 1e-6)
    z = (points[apart] @ np.array([1, 1j]))[:-1]
    before, after = np.roll(z, 8), np.roll(z, -8)
    # Four times the area over the product of the sides, positive where the way about the shaft is kept.
    area = ((z - before) * np.conj(after - z)).imag * follower.sense
    curvature = 2 * area / (abs(z - before) * abs(after - z) * abs(after - before))
    assert 1 / np.max(curvature) == pytest.approx(shape.sharpest.value, rel=0.01)
    if shape.hollow is None:
        assert np.min(curvature) > -1e-5
    else:
        assert -1 / np.min(curvature) == pytest.approx(shape.hollow.value, rel=0.01)
    assert not shape.undercut and shape.overlap_mm == 0 and not shape.crosses


def test_one_of_two_nearly_equal_peaks_is_found_exactly():
    """Two peaks in one segment, the higher one by 1e-9 but seen lower on any even grid."""
    only = Programme((Segment(0, 360, 0, 0),), 360)

    def bumps(moves):
        x = moves.angle_deg
        return np.exp(-(((x - 91.40625) / 9) ** 2)) + (1 + 1e-9) * np.exp(-(((x - 200.1) / 9) ** 2))

    found = largest(bumps, only)
    best = minimize_scalar(
        lambda x: -bumps(type("At", (), {"angle_deg": x})), bounds=(195, 205), method="bounded"
    )
    assert found.angle_deg == pytest.approx(best.x, abs=1e-4) and found.value == pytest.approx(
        -best.fun, abs=1e-14
    )
    assert found.value > 1


def test_extremes_reach_the_step_inside_a_law_from_either_side():
    """Constant acceleration: ρ = Rb + s + s″, least just after the step half-way, where s″ = −4h/B²."""
    up = Programme((Segment(0, 90, 0, 10, "constant acceleration"), Segment(90, 360, 10, 0, "3-4-5")), 360)
    radius = 40 + 5 - 4 * 10 / (math.pi / 2) ** 2
    shape = cam_shape(up, FlatFace(base_mm=40))
    assert shape.sharpest.value == pytest.approx(radius, abs=1e-7)
    assert shape.sharpest.angle_deg == pytest.approx(45, abs=1e-6)
    down = Programme((Segment(0, 90, 10, 0, "constant acceleration"), Segment(90, 360, 0, 10, "3-4-5")), 360)
    shape = cam_shape(down, FlatFace(base_mm=40))
    assert shape.sharpest.value == pytest.approx(radius, abs=1e-6)
    assert shape.sharpest.angle_deg == pytest.approx(45, abs=1e-6)


def test_a_slope_that_steps_up_is_a_hollow_of_the_roller_and_one_that_steps_down_undercuts():
    steep = lobe("constant velocity")
    shape = cam_shape(steep, TranslatingRoller(base_mm=20, roller_mm=5))
    assert shape.undercut and shape.sharpest.angle_deg == 80 and shape.sharpest.value == -5
    assert shape.hollow.value == 5 and shape.hollow.angle_deg == 0
    assert "undercut at 80.0°" in shape.sentence() and not shape.crosses
    hollow = Programme((Segment(0, 90, 6, 6), Segment(90, 180, 6, 0, "cycloidal"), Segment(180, 270, 0, 0)))
    assert not cam_shape(hollow, TranslatingRoller(base_mm=90, roller_mm=5)).undercut
    assert cam_shape(steep, FlatFace(base_mm=60)).undercut


def test_undercutting_begins_where_the_pitch_curve_is_as_sharp_as_the_roller():
    programme = lobe("cycloidal", 8, 40, 60)
    tightest = cam_shape(programme, TranslatingRoller(base_mm=10, roller_mm=0.1))
    pitch_radius = tightest.sharpest.value + 0.1  # of the same prime circle, 10.1 mm
    assert 1 < pitch_radius < 9
    for roller, undercut in ((pitch_radius * (1 - 1e-6), False), (pitch_radius * (1 + 1e-6), True)):
        shape = cam_shape(programme, TranslatingRoller(base_mm=10.1 - roller, roller_mm=roller))
        assert shape.undercut is undercut
        assert (shape.sharpest.value <= 0) is undercut


def test_an_outline_without_a_hollow_has_none():
    """An eccentric disc's pitch curve is near a circle: it bulges everywhere, and so does its outline."""
    parts = (Segment(0, 180, 0, 4, "simple harmonic"), Segment(180, 360, 4, 0, "simple harmonic"))
    shape = cam_shape(Programme(parts, 360), TranslatingRoller(base_mm=30, roller_mm=5))
    assert shape.hollow is None and "hollow" not in shape.sentence()
    assert 20 < shape.sharpest.value < 34


def test_the_face_is_touched_as_far_as_the_slope_goes_on_either_side():
    programme = lobe("cycloidal", 8, 80, 100)
    up, down = 2 * 8 / math.radians(80), 2 * 8 / math.radians(100)
    assert cam_shape(programme, FlatFace(base_mm=60)).face_mm == pytest.approx((down, up), rel=1e-9)
    assert cam_shape(programme, FlatFace(base_mm=60, sense=-1)).face_mm == pytest.approx((up, down), rel=1e-9)
    assert cam_shape(programme, FOLLOWERS[0]).face_mm is None


def test_a_simple_harmonic_turn_under_a_flat_face_is_an_eccentric_disc():
    """Up and down 50 mm in a turn over a base of 25 mm: a disc of radius 50 mm, 25 mm out of centre."""
    programme = Programme(
        (Segment(0, 180, 0, 50, "simple harmonic"), Segment(180, 360, 50, 0, "simple harmonic")), 360
    )
    follower = FlatFace(base_mm=25)
    shape = cam_shape(programme, follower)
    assert shape.sharpest.value == pytest.approx(50, rel=1e-12) and sum(shape.face_mm) == pytest.approx(50)
    assert np.hypot(*(curves(programme, follower, 1).outline - [0, -25]).T) == pytest.approx(50, rel=1e-9)


@pytest.mark.few(5)
@pytest.mark.parametrize("limit", [15.0, 30.0, 42.0])
@pytest.mark.parametrize("offset, sense", [(0.0, 1), (4.0, 1), (4.0, -1), (-4.0, 1)])
def test_the_smallest_base_of_a_slide_is_that_of_the_closed_form(limit, offset, sense):
    """√(R0² − e²) = max(|s′ − σe|/tan α − s), searched by scipy."""
    programme = lobe("3-4-5", 9, 70, 90)
    angle, lift, slope, _ = dense(programme, 5e-3)
    need = abs(slope - sense * offset) / math.tan(math.radians(limit)) - lift
    reach = math.hypot(np.max(need), offset)
    follower = TranslatingRoller(base_mm=99, roller_mm=4, offset_mm=offset, sense=sense)
    found = smallest_base(programme, follower, limit, None)
    assert found.base_mm == pytest.approx(reach - 4, rel=1e-7)
    assert found.base_mm >= (reach - 4) * (1 - 1e-12)
    assert found.limited_by == "pressure angle"
    assert abs(found.shape.pressure.value) == pytest.approx(limit, rel=1e-9)
    at = found.shape.pressure.angle_deg
    assert abs(at - angle[np.argmax(need)]) < 0.1 or offset == 0


def test_a_base_is_solved_to_a_billionth():
    """Constant velocity up in 90°: tan α = s′/(R0 + s) is largest at the foot, R0 = s′/tan α."""
    programme = Programme((Segment(0, 90, 0, 10, "constant velocity"), Segment(90, 360, 10, 0, "3-4-5")), 360)
    found = smallest_base(programme, TranslatingRoller(base_mm=9, roller_mm=2), 25, None)
    exact = 10 / (math.pi / 2) / math.tan(math.radians(25)) - 2
    assert found.base_mm == pytest.approx(exact, rel=1e-10)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("arm", [36.0, 44.0])
def test_the_smallest_base_of_a_lever_is_the_lower_end_of_its_window(sense, arm):
    """|α| ≤ A where ψ is between |δ − A| and δ + A, cos δ = (L + σs′)·cos A/a: from the tangent's formula."""
    programme, a, limit = lobe("cycloidal", 7, 70, 90), 48.0, math.radians(35)
    _, lift, slope, _ = dense(programme, 5e-3)
    delta = np.arccos((arm + sense * slope) * math.cos(limit) / a)
    low, high = np.max(abs(delta - limit) - lift / arm), np.min(delta + limit - lift / arm)
    assert low < high
    reach = math.sqrt(a * a + arm * arm - 2 * a * arm * math.cos(low))
    follower = SwingingRoller(base_mm=30, roller_mm=4, pivot_mm=a, arm_mm=arm, sense=sense)
    found = smallest_base(programme, follower, 35, None)
    assert found.base_mm == pytest.approx(reach - 4, rel=1e-6)
    assert abs(found.shape.pressure.value) == pytest.approx(35, rel=1e-9)


def test_a_window_of_bases_narrower_than_the_first_steps_is_found():
    """Near the least limit that can be kept only bases within a thousandth of each other are left."""
    programme, a, arm = lobe("cycloidal", 8, 80, 100), 44.0, 30.0
    _, lift, slope, _ = dense(programme, 5e-3)

    def window(limit):
        """Lower and upper end of ψ at lift 0, as above."""
        delta = np.arccos((arm + slope) * math.cos(limit) / a)
        return np.max(abs(delta - limit) - lift / arm), np.min(delta + limit - lift / arm)

    limit = brentq(lambda x: window(x)[1] - window(x)[0] - 5e-5, math.radians(5), math.radians(40))
    low, high = (math.sqrt(a * a + arm * arm - 2 * a * arm * math.cos(psi)) - 5 for psi in window(limit))
    assert 0 < high / low - 1 < 2e-3
    follower = SwingingRoller(base_mm=20, roller_mm=5, pivot_mm=a, arm_mm=arm)
    found = smallest_base(programme, follower, math.degrees(limit), None)
    assert found.base_mm == pytest.approx(low, rel=1e-6) and found.limited_by == "pressure angle"
    with pytest.raises(MechError, match=f"the best, it is {math.degrees(limit):.1f}°"):
        smallest_base(programme, follower, math.degrees(limit) * 0.995, None)


@pytest.mark.parametrize("least", [0.0, 3.0, 12.0])
def test_the_smallest_base_under_a_flat_face_is_that_of_the_closed_form(least):
    """Rb = ρ − min(s + s″)."""
    programme = lobe("cycloidal", 8, 70, 90)
    _, lift, _, bend = dense(programme)
    found = smallest_base(programme, FlatFace(base_mm=9), radius_mm=least)
    assert found.base_mm == pytest.approx(least - np.min(lift + bend), rel=1e-7)
    assert found.limited_by == "radius" and found.shape.sharpest.value == pytest.approx(least, abs=1e-9)


@pytest.mark.parametrize("follower", FOLLOWERS[:4])
def test_the_smallest_base_for_a_radius_leaves_just_that_radius(follower):
    programme = lobe("cycloidal", 8, 50, 90)
    found = smallest_base(programme, follower, 90, 3.0)
    assert found.limited_by == "radius"
    assert found.shape.sharpest.value == pytest.approx(3, rel=1e-9)
    larger = cam_shape(programme, replace(follower, base_mm=found.base_mm * 1.001))
    smaller = cam_shape(programme, replace(follower, base_mm=found.base_mm * 0.999))
    assert smaller.sharpest.value < 3 < larger.sharpest.value
    # By circles through the drawn outline.
    z = curves(programme, found.follower, 0.02).outline @ np.array([1, 1j])
    z = z[np.append(True, abs(np.diff(z)) > 1e-6)][:-1]
    before, after = np.roll(z, 8), np.roll(z, -8)
    area = ((z - before) * np.conj(after - z)).imag * follower.sense
    assert 1 / np.max(2 * area / (abs(z - before) * abs(after - z) * abs(after - before))) == pytest.approx(
        3, rel=0.02
    )


def test_the_harder_limit_decides():
    programme = lobe("cycloidal", 8, 70, 90)
    roller = TranslatingRoller(base_mm=9, roller_mm=4)
    alone = [smallest_base(programme, roller, 30, None), smallest_base(programme, roller, 90, 9.0)]
    both = smallest_base(programme, roller, 30, 9.0)
    assert both.base_mm == pytest.approx(max(one.base_mm for one in alone), rel=1e-9)
    assert smallest_base(programme, roller).base_mm == smallest_base(programme, roller, 30, 0.0).base_mm
    lever = SwingingRoller(base_mm=20, roller_mm=5, pivot_mm=44, arm_mm=40)
    assert smallest_base(programme, lever).base_mm == smallest_base(programme, lever, 45, 0.0).base_mm


def test_where_nothing_limits_the_smallest_that_reaches_is_told():
    still = Programme((Segment(0, 360, 2, 2),), 360)
    found = smallest_base(still, TranslatingRoller(base_mm=9, roller_mm=2))
    assert found.base_mm == pytest.approx(0.1) and found.limited_by == "reach"
    assert found.sentence().endswith("limited by the follower's reach.")
    lever = smallest_base(still, SwingingRoller(base_mm=20, roller_mm=5, pivot_mm=44, arm_mm=30), 90, None)
    assert lever.base_mm == pytest.approx(44 - 30 - 5, rel=1e-9) and lever.limited_by == "reach"


def test_a_published_exercise_with_a_least_radius():
    """y = 4(2πθ − θ²) under a flat face, radius 40 mm or more: base circle 48.0 mm (GATE 2020 ME 38)."""
    slowing = Law("slowing", (Piece(0.0, (-2.0,)),), start_velocity=2.0)
    gaining = Law("gaining", (Piece(0.0, (2.0,)),))
    top = 4 * math.pi**2
    programme = Programme((Segment(0, 180, 0, top, slowing), Segment(180, 360, top, 0, gaining)), 360)
    assert programme.lift(60) == pytest.approx(4 * (2 * math.pi * math.pi / 3 - (math.pi / 3) ** 2))
    assert smallest_base(programme, FlatFace(base_mm=9), radius_mm=40).base_mm == pytest.approx(48, abs=1e-6)


@pytest.mark.parametrize(
    "call, message",
    [
        (lambda: smallest_base(lobe(), FOLLOWERS[0], 0.9), "pressure_deg is 0.9°: it must be from 1 to 90°"),
        (lambda: smallest_base(lobe(), FOLLOWERS[0], 91), "pressure_deg is 91°"),
        (lambda: smallest_base(lobe(), FOLLOWERS[0], 30, -1), "radius_mm is -1 mm"),
        (lambda: smallest_base(lobe(), FOLLOWERS[0], 30, 501), "radius_mm is 501 mm"),
        (lambda: smallest_base(lobe("constant velocity"), FOLLOWERS[0]), "steps down at 80°.*radius_mm=None"),
        (
            lambda: smallest_base(lobe("cycloidal", 20, 30, 90), FOLLOWERS[3], 20, None),
            "no base circle keeps the pressure angle within 20°: with one of .* mm, the best, it is .*°; let",
        ),
        (
            lambda: smallest_base(lobe("cycloidal", 8, 80, 90), FOLLOWERS[2], 90, 300.0),
            "no base circle makes the outline's radius 300 mm: with one of .* mm, the best, it is .* mm",
        ),
        (
            lambda: smallest_base(lobe("cycloidal", 150, 80, 90), FOLLOWERS[2], 90, None),
            "no base circle lets the follower reach every lift: take a longer arm",
        ),
        (lambda: cam_shape(Programme((Segment(0, 90, 3, 3),), 90), FOLLOWERS[0]), "period is 90°"),
        (lambda: smallest_base(Programme((Segment(0, 400, 3, 3),)), FOLLOWERS[0]), "400° long"),
    ],
)
def test_what_cannot_be_is_told_with_the_reason(call, message):
    with pytest.raises(MechError, match=message):
        call()


def test_sentences_tell_what_matters():
    shape = cam_shape(lobe("cycloidal", 8, 50, 60), TranslatingRoller(base_mm=22, roller_mm=5))
    said = shape.sentence()
    assert f"{shape.highest.value:.1f}°" in said and f"{-shape.lowest.value:.1f}°" in said
    assert (
        f"bulges is {shape.sharpest.value:.2f} mm" in said
        and f"radius of {shape.hollow.value:.2f} mm" in said
    )
    flat = cam_shape(lobe("cycloidal", 8, 80, 100), FlatFace(base_mm=60)).sentence()
    assert (
        flat.startswith("The pressure angle is 0.0° everywhere.")
        and "9.17 mm left and 11.46 mm right" in flat
    )
    crossed = replace(shape, overlap_mm=0.25)
    assert crossed.crosses and "crosses itself: the follower would stand 0.25 mm deep" in crossed.sentence()
    assert not replace(shape, overlap_mm=0.001).crosses and not replace(crossed, undercut=True).crosses
    base = smallest_base(lobe("cycloidal", 8, 80, 100), TranslatingRoller(base_mm=22, roller_mm=5), 20, None)
    assert (
        "limited by the pressure angle at" in base.sentence() and f"{base.base_mm:.3f} mm" in base.sentence()
    )
