"""The finished outline, taken as points only and rolled against its follower by brute force."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar
from second_way_followers import circle, flat_lever, flat_slide, sliding_roller, swinging_roller

from mechlib.cams import Programme, Segment
from mechlib.cams.follower import FlatFace, FlatLever, SwingingRoller, TranslatingRoller
from mechlib.cams.outline import check_disc, curves, overlap_mm, standing
from mechlib.errors import MechError

ROUND = Programme(
    (
        Segment(0, 40, 0, 0),
        Segment(40, 130, 0, 7, "modified sine"),
        Segment(130, 170, 7, 7),
        Segment(170, 230, 7, 3, "simple harmonic"),
        Segment(230, 360, 3, 0, "3-4-5"),
    ),
    360,
)
ROLLERS = {
    "in line": (TranslatingRoller(base_mm=22, roller_mm=4), sliding_roller(22, 4, 0)),
    "offset": (TranslatingRoller(base_mm=22, roller_mm=4, offset_mm=7), sliding_roller(22, 4, 7)),
    "lever": (
        SwingingRoller(base_mm=22, roller_mm=4, pivot_mm=45, arm_mm=38),
        swinging_roller(22, 4, 45, 38),
    ),
}
FLATS = {
    "slide": (FlatFace(base_mm=60), flat_slide(60)),
    "lever": (FlatLever(base_mm=40, pivot_mm=80, arm_mm=70, face_mm=5), flat_lever(40, 80, 70, 5)),
}
SENSES = (1, -1)
AT_DEG = (0.0, 20.0, 61.3, 88.0, 117.7, 150.0, 181.9, 203.0, 240.0, 299.5, 359.0)
CORNERED = Programme(
    (
        Segment(0, 60, 0, 0),
        Segment(60, 120, 0, 6, "constant velocity"),
        Segment(120, 200, 6, 6),
        Segment(200, 360, 6, 0, "cycloidal"),
    ),
    360,
)


def seen(points, degrees):
    """The cam's points when it has turned counter-clockwise by an angle."""
    z = (points[:, 0] + 1j * points[:, 1]) * np.exp(1j * math.radians(degrees))
    return np.stack([z.real, z.imag], axis=1)


def least(values):
    """The least of a smooth row of numbers, between them by a parabola through three."""
    low = int(np.argmin(values))
    before, here, after = values[low - 1], values[low], values[(low + 1) % len(values)]
    bend = before - 2 * here + after
    return here - (after - before) ** 2 / (8 * bend) if bend > 0 else here


def distance_from(outline, centre):
    squared = np.sum((outline[:-1] - centre) ** 2, axis=1)
    return math.sqrt(least(squared))


def let_down(gap):
    """The lift at which a follower, let down from far above, first touches."""
    high = 9.0
    while gap(high - 0.25) > 0:
        high -= 0.25
    return brentq(gap, high - 0.25, high, xtol=1e-12)


@pytest.mark.parametrize("sense", SENSES)
@pytest.mark.parametrize("name", ROLLERS)
def test_rolled_against_its_follower_the_outline_gives_back_the_lift(name, sense):
    follower, place = ROLLERS[name]
    outline = curves(ROUND, replace(follower, sense=sense), 0.05).outline
    for degrees in AT_DEG:
        points = seen(outline, sense * degrees)
        up = let_down(lambda lift, seen=points: distance_from(seen, place(lift)) - 4)
        assert up == pytest.approx(ROUND.lift(degrees), abs=1e-6)
        gaps = np.hypot(*(points - place(ROUND.lift(degrees))).T) - 4
        assert np.min(gaps) > -1e-9  # it touches and never cuts


@pytest.mark.parametrize("sense", SENSES)
@pytest.mark.parametrize("name", FLATS)
def test_laid_against_its_face_the_outline_gives_back_the_lift(name, sense):
    follower, place = FLATS[name]
    outline = curves(ROUND, replace(follower, sense=sense), 0.05).outline

    def gap(points, lift):
        one, two = place(lift)
        along = (two - one) / np.hypot(*(two - one))
        beneath = np.array([along[1], -along[0]])
        beneath = beneath if one @ beneath < 0 else -beneath
        return (points - one) @ beneath

    for degrees in AT_DEG:
        points = seen(outline, sense * degrees)[:-1]
        up = let_down(lambda lift, seen=points: least(gap(seen, lift)))
        assert up == pytest.approx(ROUND.lift(degrees), abs=1e-6)
        assert np.min(gap(points, ROUND.lift(degrees))) > -1e-9


@pytest.mark.parametrize("sense", SENSES)
@pytest.mark.parametrize("name", [*ROLLERS, *FLATS])
def test_how_it_stands_agrees_with_the_curves(name, sense):
    follower = replace(({**ROLLERS, **{"lever": ROLLERS["lever"]}} | FLATS)[name][0], sense=sense)
    made = curves(ROUND, follower, 0.5)
    for degrees in AT_DEG[1:-1]:
        at = standing(ROUND, follower, degrees)
        assert at.turn_deg == sense * degrees and at.lift_mm == ROUND.lift(degrees)
        number = int(np.argmin(abs(made.angle_deg - degrees)))
        if abs(made.angle_deg[number] - degrees) < 1e-9:
            assert seen(made.pitch, at.turn_deg)[number] == pytest.approx(at.trace, abs=1e-9)
            assert seen(made.outline, at.turn_deg)[number] == pytest.approx(at.contact, abs=1e-9)
        assert math.hypot(*at.direction) == pytest.approx(1) and math.hypot(*at.push) == pytest.approx(1)
        assert at.pivot == ((follower.pivot_mm, 0.0) if hasattr(follower, "pivot_mm") else None)
        # A circle through three points of the finely drawn outline has the radius that is told.
        fine = curves(ROUND, follower, 0.02)
        near = int(np.argmin(abs(fine.angle_deg - degrees)))
        three = fine.outline[near - 4], fine.outline[near], fine.outline[near + 4]
        centre, radius = circle(*three)
        sign = 1 if np.hypot(*centre) < np.hypot(*three[1]) or (centre @ three[1]) < 0 else -1
        if radius < 500:
            assert at.radius_mm == pytest.approx(sign * radius, rel=0.02)


def test_how_it_stands_in_numbers():
    """SHM of 8 mm in 90°: half-way up s′ = (π/2)·8/(π/2) = 8 mm a radian, s″ = 0; worked by hand."""
    lobe = Programme(
        (Segment(0, 90, 0, 8, "simple harmonic"), Segment(90, 360, 8, 0, "simple harmonic")), 360
    )
    at = standing(lobe, TranslatingRoller(base_mm=16, roller_mm=4), 45)
    assert at.trace == pytest.approx((0, 24)) and at.angle_deg == 45
    assert at.pressure_deg == pytest.approx(math.degrees(math.atan(8 / 24)), rel=1e-12)
    sixth = 640**1.5 / (576 + 2 * 64) - 4
    assert at.radius_mm == pytest.approx(sixth, rel=1e-12)
    push = np.array([-8, 24]) / math.sqrt(640)  # it leans to the left, where the rim runs
    assert at.push == pytest.approx(push) and at.contact == pytest.approx(np.array([0, 24]) - 4 * push)
    assert at.sentence() == "At 45.0° of the cam the lift is 4.00 mm and the pressure angle 18.4°."


def test_curves_of_a_cam_that_goes_round_close_and_start_where_the_follower_stands():
    made = curves(ROUND, ROLLERS["in line"][0], 1)
    assert made.outline[0] == pytest.approx(made.outline[-1], abs=1e-9)
    assert made.pitch[0] == pytest.approx([0, 26]) and made.outline[0] == pytest.approx([0, 22])
    assert made.outline.shape == made.pitch.shape == (361, 2)
    assert np.diff(made.angle_deg) == pytest.approx(np.ones(360))
    # The cam turns counter-clockwise, so what comes a quarter later is a quarter clockwise.
    quarter = int(np.argmin(abs(made.angle_deg - 90)))
    assert made.pitch[quarter][0] > 0 and abs(made.pitch[quarter][1]) < 1e-9


def test_a_part_of_a_turn_gives_a_part_of_a_cam():
    part = Programme((Segment(-20, 10, 0, 0), Segment(10, 60, 0, 5, "3-4-5"), Segment(60, 90, 5, 5)))
    made = curves(part, ROLLERS["in line"][0], 0.7)
    assert made.angle_deg[0] == -20 and made.angle_deg[-1] == 90
    assert np.hypot(*made.outline[0]) == pytest.approx(22) and np.hypot(*made.outline[-1]) == pytest.approx(
        27
    )


def test_a_hollow_corner_is_an_arc_of_the_roller_and_a_flat_for_a_face():
    made = curves(CORNERED, TranslatingRoller(base_mm=22, roller_mm=4), 1)
    here = made.outline[made.angle_deg == 60]
    assert len(here) == 17
    place = made.pitch[made.angle_deg == 60]
    assert np.ptp(place, axis=0) == pytest.approx([0, 0], abs=1e-12)
    assert np.hypot(*(here - place).T) == pytest.approx(np.full(17, 4.0))
    turn = np.degrees(np.ptp(np.unwrap(np.arctan2(*(here - place).T))))
    slope = 6 / math.radians(60)
    assert turn == pytest.approx(math.degrees(math.atan(slope / 26)), rel=1e-9)
    flat = curves(CORNERED, FlatFace(base_mm=60), 1)
    straight = flat.outline[flat.angle_deg == 60]
    assert np.hypot(*(straight[-1] - straight[0])) == pytest.approx(slope, rel=1e-9)


def test_what_fits_has_no_overlap():
    for follower, _ in [*ROLLERS.values(), *FLATS.values()]:
        for sense in SENSES:
            assert overlap_mm(ROUND, replace(follower, sense=sense), 2.0) == 0


def test_an_undercut_cam_is_overlapped_by_the_roller_on_the_other_side_of_the_corner():
    """Worked for the corner at 120°: a spiral comes up to 32 mm, a circle goes on."""
    found = overlap_mm(CORNERED, TranslatingRoller(base_mm=22, roller_mm=4), 0.25)
    slope = 6 / math.radians(60)
    lean = math.atan(slope / 32)
    from_spiral = (
        math.hypot(32 - 4 * math.cos(lean), 4 * math.sin(lean)) - 28
    )  # into the roller on the circle

    def apart(back):  # the circle's first point from the roller on the spiral
        return abs(28 - (32 - slope * back) * np.exp(1j * back))

    into_circle = 4 - minimize_scalar(apart, bounds=(0, 0.3), method="bounded").fun
    assert 0.05 < from_spiral < 0.1 and found == pytest.approx(max(from_spiral, into_circle), abs=3e-4)


def test_an_outline_that_crosses_itself_is_found_though_no_place_is_too_sharp():
    """A long finger, thinner than the roller needs: every place is round enough, but both flanks cross."""
    thin = Programme(
        (
            Segment(0, 30, 0, 60, "cycloidal"),
            Segment(30, 55, 60, 60),
            Segment(55, 85, 60, 0, "cycloidal"),
            Segment(85, 360, 0, 0),
        ),
        360,
    )
    assert overlap_mm(thin, TranslatingRoller(base_mm=0.5, roller_mm=3)) > 0.1
    assert overlap_mm(thin, TranslatingRoller(base_mm=300, roller_mm=3), 2.0) == 0


@pytest.mark.parametrize(
    "call, message",
    [
        (lambda f: curves(ROUND, f, 0.009), "step_deg is 0.009 degrees: it must be from 0.01 to 30"),
        (lambda f: curves(ROUND, f, 31), "step_deg is 31"),
        (lambda f: overlap_mm(ROUND, f, math.nan), "step_deg is nan"),
        (lambda f: overlap_mm(ROUND, f, 0.24), "step_deg is 0.24 degrees: it must be from 0.25 to 30"),
        (lambda f: standing(ROUND, f, math.inf), "angle_deg is inf"),
        (lambda f: curves(Programme((Segment(0, 90, 3, 3),), 90), f), "period is 90°: a disc cam's is 360°"),
        (lambda f: standing(Programme((Segment(0, 720, 3, 3),), 720), f, 0), "period is 720°"),
        (lambda f: overlap_mm(Programme((Segment(0, 361, 3, 3),)), f), "361° long"),
        (lambda f: curves(Programme((Segment(0, 90, -30, -30),)), f), "down to the shaft"),
    ],
)
def test_what_can_be_no_disc_cam_is_refused(call, message):
    with pytest.raises(MechError, match=message):
        call(TranslatingRoller(base_mm=22, roller_mm=4))


def test_a_full_turn_without_a_period_is_a_disc_cam():
    check_disc(Programme((Segment(0, 360, 3, 3),)))
    check_disc(Programme((Segment(100, 460, 3, 3),)))
    with pytest.raises(MechError, match="361° long"):
        check_disc(Programme((Segment(-200, 161, 3, 3),)))
    assert len(curves(Programme((Segment(0, 360, 3, 3),)), FlatFace(base_mm=9), 30).angle_deg) == 13


def test_without_a_step_curves_take_half_a_degree_and_overlaps_one():
    roller = TranslatingRoller(base_mm=22, roller_mm=4)
    assert np.diff(curves(ROUND, roller).angle_deg) == pytest.approx(np.full(720, 0.5))
    assert overlap_mm(CORNERED, roller) == overlap_mm(CORNERED, roller, 1) != overlap_mm(CORNERED, roller, 2)


def test_where_it_is_undercut_the_sentence_says_so():
    sharp = Programme((Segment(0, 40, 0, 20, "cycloidal"), Segment(40, 360, 20, 0, "3-4-5")), 360)
    at = standing(sharp, FlatFace(base_mm=10), 30)
    assert at.undercut and at.radius_mm < 0
    assert at.sentence() == "At 30.0° of the cam the lift should be 18.18 mm, but the cam is undercut."
