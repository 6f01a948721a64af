"""Followers against rulers, compasses, small steps and the four-bar linkage that stands for the cam."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq
from second_way_followers import (
    STEP,
    circle,
    crossing,
    flat_lever,
    flat_slide,
    signed_curvature,
    sliding_roller,
    swinging_roller,
    turned,
)

from mechlib.cams.follower import LIMITS, FlatFace, FlatLever, SwingingRoller, TranslatingRoller
from mechlib.cams.motion import Motion
from mechlib.errors import MechError

ANGLES = np.radians([0.0, 13.0, 77.0, 110.0, 171.0, 203.0, 248.0, 300.0, 331.0])
SENSES = (1, -1)
ROLLERS = {
    "in line": (TranslatingRoller(base_mm=21, roller_mm=5), sliding_roller(21, 5, 0)),
    "offset": (TranslatingRoller(base_mm=21, roller_mm=5, offset_mm=8), sliding_roller(21, 5, 8)),
    "offset left": (TranslatingRoller(base_mm=21, roller_mm=5, offset_mm=-6), sliding_roller(21, 5, -6)),
    "lever": (
        SwingingRoller(base_mm=21, roller_mm=5, pivot_mm=48, arm_mm=41),
        swinging_roller(21, 5, 48, 41),
    ),
    "long lever": (
        SwingingRoller(base_mm=21, roller_mm=5, pivot_mm=40, arm_mm=52),
        swinging_roller(21, 5, 40, 52),
    ),
}
FLATS = {
    "slide": (FlatFace(base_mm=40), flat_slide(40)),
    "lever": (FlatLever(base_mm=30, pivot_mm=60, arm_mm=45), flat_lever(30, 60, 45, 0)),
    "face near": (
        FlatLever(base_mm=30, pivot_mm=60, arm_mm=45, face_mm=7),
        flat_lever(30, 60, 45, 7),
    ),
    "face far": (
        FlatLever(base_mm=30, pivot_mm=60, arm_mm=45, face_mm=-9),
        flat_lever(30, 60, 45, -9),
    ),
}


def lift(t):
    """A smooth lift (mm) with rises, falls, bulges and a hollow."""
    return 5 + 3.1 * math.sin(t) - 1.3 * math.cos(2 * t + 0.4)


def moved(t) -> Motion:
    """The same with its derivatives."""
    slope = 3.1 * math.cos(t) + 2.6 * math.sin(2 * t + 0.4)
    return Motion(math.degrees(t), lift(t), slope, -3.1 * math.sin(t) + 5.2 * math.cos(2 * t + 0.4))


def xy(point) -> np.ndarray:
    return np.array([np.real(point), np.imag(point)])


def of_sense(follower, sense):
    return replace(follower, sense=sense)


rollers = pytest.mark.parametrize("name", ROLLERS)
flats = pytest.mark.parametrize("name", FLATS)
senses = pytest.mark.parametrize("sense", SENSES)
angles = pytest.mark.parametrize("t", ANGLES)


@rollers
@senses
@angles
def test_a_roller_touches_where_the_drawn_pitch_curve_says(name, sense, t):
    follower, place = ROLLERS[name]
    follower = of_sense(follower, sense)
    stand = follower.stand(moved(t))
    assert xy(stand.trace) == pytest.approx(place(lift(t)), abs=1e-9)
    # Seen from the cam at three places, then turned back into the picture.
    curve = [turned(turned(place(lift(u)), -sense * u), sense * t) for u in (t - STEP, t, t + STEP)]
    tangent = (curve[2] - curve[0]) / np.hypot(*(curve[2] - curve[0]))
    normal = np.array([-tangent[1], tangent[0]])
    normal *= np.sign(normal @ curve[1])
    assert xy(stand.contact) == pytest.approx(curve[1] - 5 * normal, abs=2e-5)
    assert xy(follower.push(stand)) == pytest.approx(normal, abs=4e-6)
    assert float(stand.tightness) == pytest.approx(signed_curvature(curve), abs=2e-6)
    # The angle from the follower's motion to the push, counted the way in which the rim runs.
    motion = place(lift(t) + 1e-4) - place(lift(t) - 1e-4)
    across = motion[0] * normal[1] - motion[1] * normal[0]
    angle = math.degrees(math.atan2(sense * across, motion @ normal))
    assert float(stand.pressure_deg) == pytest.approx(angle, abs=3e-4)
    assert xy(stand.direction) == pytest.approx(motion / np.hypot(*motion), abs=1e-7)


@rollers
@senses
@angles
def test_the_four_bar_linkage_moves_as_the_cam_does(name, sense, t):
    """A crank from the shaft to the centre of curvature and a rod of the radius of curvature, to the roller.

    The linkage stands for the cam up to the second derivative (any textbook of mechanisms).
    """
    follower, place = ROLLERS[name]
    follower = of_sense(follower, sense)
    stand = follower.stand(moved(t))
    radius = 1 / float(stand.tightness)
    pin = xy(stand.trace) - radius * xy(follower.push(stand))
    small = 2e-3

    def linkage(step):
        end = turned(pin, sense * step)
        return brentq(
            lambda up: np.hypot(*(place(up) - end)) - abs(radius), lift(t) - 0.1, lift(t) + 0.1, xtol=1e-14
        )

    ahead, behind = linkage(small), linkage(-small)
    assert (ahead - behind) / (2 * small) == pytest.approx(moved(t).slope_mm, abs=1e-4)
    assert (ahead - 2 * lift(t) + behind) / small**2 == pytest.approx(moved(t).bend_mm, abs=1e-3)


@pytest.mark.parametrize("name", ["in line", "offset", "offset left"])
@senses
@angles
def test_on_a_slide_the_push_passes_the_shaft_at_the_distance_of_the_slope(name, sense, t):
    follower = of_sense(ROLLERS[name][0], sense)
    stand = follower.stand(moved(t))
    push = (xy(stand.contact), xy(stand.trace))
    centre = crossing(push, (np.array([0.0, 0.0]), np.array([1.0, 0.0])))
    assert centre == pytest.approx([sense * moved(t).slope_mm, 0], abs=1e-9)


@pytest.mark.parametrize("name", ["lever", "long lever"])
@senses
@angles
def test_on_a_lever_the_push_divides_the_line_of_centres_as_the_speeds(name, sense, t):
    follower = of_sense(ROLLERS[name][0], sense)
    stand = follower.stand(moved(t))
    push = (xy(stand.contact), xy(stand.trace))
    centre = crossing(push, (np.array([0.0, 0.0]), np.array([1.0, 0.0])))[0]
    # Lifting turns the lever clockwise: a point at x moves up by its speed times (pivot − x).
    lever = moved(t).slope_mm / follower.arm_mm
    assert sense * centre == pytest.approx(lever * (follower.pivot_mm - centre), rel=1e-9, abs=1e-9)


@flats
@senses
@angles
def test_a_flat_face_touches_where_its_neighbouring_places_meet(name, sense, t):
    follower, place = FLATS[name]
    follower = of_sense(follower, sense)
    stand = follower.stand(moved(t))

    def seen(u):
        return tuple(turned(turned(point, -sense * u), sense * t) for point in place(lift(u)))

    def touched(u):  # by the lines just before and just after
        return crossing(seen(u - STEP / 8), seen(u + STEP / 8))

    assert xy(stand.contact) == pytest.approx(touched(t), abs=3e-5)
    curve = [touched(u) for u in (t - 4 * STEP, t, t + 4 * STEP)]
    radius = float(follower.radius_mm(stand.tightness))
    assert not follower.undercut(stand.tightness)
    assert radius == pytest.approx(circle(*curve)[1], rel=1e-3)
    one, two = place(lift(t))
    face = (two - one) / np.hypot(*(two - one))
    foot = one - (one @ face) * face
    assert xy(stand.trace) == pytest.approx(foot, abs=1e-9)
    assert xy(follower.push(stand)) == pytest.approx(foot / np.hypot(*foot), abs=1e-9)
    assert abs(float(stand.aside_mm)) == pytest.approx(np.hypot(*(xy(stand.contact) - foot)), abs=1e-9)


@flats
@senses
@angles
def test_the_pressure_angle_of_a_flat_face_is_that_of_the_point_touched(name, sense, t):
    follower, place = FLATS[name]
    follower = of_sense(follower, sense)
    stand = follower.stand(moved(t))
    contact = xy(stand.contact)
    # The touched point of the follower keeps its share of the two points that mark the face.
    one, two = place(lift(t))
    share = ((contact - one) @ (two - one)) / ((two - one) @ (two - one))
    low, high = ((1 - share) * a + share * b for a, b in (place(lift(t) - 1e-4), place(lift(t) + 1e-4)))
    motion, push = high - low, xy(stand.direction)
    across = motion[0] * push[1] - motion[1] * push[0]
    angle = math.degrees(math.atan2(sense * across, motion @ push))
    assert float(stand.pressure_deg) == pytest.approx(angle, abs=1e-5)


@rollers
def test_turning_the_other_way_is_the_same_cam_run_backwards(name):
    follower, _ = ROLLERS[name]
    forward = follower.stand(Motion(0, 4, 7, -3))
    backward = of_sense(follower, -1).stand(Motion(0, 4, -7, -3))
    assert complex(backward.contact) == pytest.approx(complex(forward.contact), abs=1e-12)
    assert float(backward.pressure_deg) == pytest.approx(-float(forward.pressure_deg), abs=1e-12)
    assert float(backward.tightness) == pytest.approx(float(forward.tightness), abs=1e-15)


@rollers
def test_at_lift_0_every_roller_stands_on_the_base_circle(name):
    follower, _ = ROLLERS[name]
    stand = follower.stand(Motion(0, 0, 0))
    assert abs(stand.trace) == pytest.approx(26, rel=1e-12)
    assert abs(stand.contact) == pytest.approx(21, rel=1e-12)
    assert float(stand.tightness) == pytest.approx(1 / 26, rel=1e-12)


def test_the_flank_of_a_tangent_cam_is_straight_and_its_pressure_angle_is_the_cam_angle():
    """A flank that touches the base circle: s = (r1 + r2)(1/cos θ − 1), as in textbooks of cams."""
    follower = TranslatingRoller(base_mm=30, roller_mm=17.5)
    for degrees in (0.0, 5.0, 14.0, 24.0, 31.0):
        t = math.radians(degrees)
        up, slope = 47.5 * (1 / math.cos(t) - 1), 47.5 * math.sin(t) / math.cos(t) ** 2
        stand = follower.stand(Motion(degrees, up, slope, 47.5 * (1 + math.sin(t) ** 2) / math.cos(t) ** 3))
        assert float(stand.pressure_deg) == pytest.approx(degrees, abs=1e-12)
        assert float(stand.tightness) == pytest.approx(0, abs=1e-15)
        # Seen from the cam the contact lies on the line y = 30.
        assert (complex(stand.contact) * np.exp(-1j * t)).imag == pytest.approx(30, abs=1e-12)


def test_radii_and_undercutting_at_their_borders():
    follower = TranslatingRoller(base_mm=16, roller_mm=4)
    assert follower.radius_mm(0.2) == pytest.approx(1, abs=1e-12)
    assert follower.radius_mm(-0.2) == pytest.approx(-9, abs=1e-12)
    assert follower.radius_mm(0.0) == math.inf
    assert follower.radius_mm(math.inf) == -4 and follower.undercut(math.inf)
    assert follower.undercut(0.25) and not follower.undercut(0.2499) and not follower.undercut(-9.0)
    face = FlatFace(base_mm=16)
    assert face.radius_mm(-3.0) == 3 and face.undercut(0.0) and not face.undercut(-1e-9)


def test_gaps_are_signed_distances():
    roller = TranslatingRoller(base_mm=16, roller_mm=4, offset_mm=0)
    stand = roller.stand(Motion(0, 5, 0))
    assert roller.gap_mm(stand, np.array([3 + 21j, 25j])) == pytest.approx([1, -4], abs=1e-12)
    face = FlatFace(base_mm=16)
    stand = face.stand(Motion(0, 5, 3))
    assert face.gap_mm(stand, np.array([9 + 20j, -2 + 23j])) == pytest.approx([1, -2], abs=1e-12)
    assert stand.aside_mm == pytest.approx(3)
    assert of_sense(face, -1).stand(Motion(0, 5, 3)).aside_mm == pytest.approx(-3)


def test_an_array_of_places_is_the_places_one_by_one():
    lifts, slopes, bends = np.array([0.0, 2.0, 5.0]), np.array([1.0, -4.0, 0.0]), np.array([0.5, 0.0, -2.0])
    for follower, _ in [*ROLLERS.values(), *FLATS.values()]:
        together = follower.stand(Motion(lifts, lifts, slopes, bends))
        for number in range(3):
            one = follower.stand(Motion(0.0, lifts[number], slopes[number], bends[number]))
            for name in ("trace", "contact", "direction", "pressure_deg", "tightness"):
                whole = np.broadcast_to(getattr(together, name), (3,))
                assert whole[number] == pytest.approx(getattr(one, name), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    "make, message",
    [
        (
            lambda: TranslatingRoller(base_mm=0.09, roller_mm=4),
            "base_mm is 0.09 mm: it must be from 0.1 to 1000",
        ),
        (lambda: TranslatingRoller(base_mm=9, roller_mm=0.04), "roller_mm is 0.04 mm"),
        (lambda: TranslatingRoller(base_mm=9, roller_mm=math.nan), "roller_mm is nan"),
        (lambda: TranslatingRoller(base_mm=9, roller_mm=True), "roller_mm is True"),
        (lambda: TranslatingRoller(base_mm=9, roller_mm=3, offset_mm=12), "less than base \\+ roller, 12 mm"),
        (
            lambda: TranslatingRoller(base_mm=9, roller_mm=3, offset_mm=-12),
            "less than base \\+ roller, 12 mm",
        ),
        (lambda: TranslatingRoller(base_mm=9, roller_mm=3, sense=0), "sense is 0: it must be 1 .* or -1"),
        (lambda: TranslatingRoller(base_mm=9, roller_mm=3, sense=True), "sense is True"),
        (lambda: SwingingRoller(base_mm=9, roller_mm=3, pivot_mm=30, arm_mm=18), "between 12 and 48 mm"),
        (lambda: SwingingRoller(base_mm=45, roller_mm=3, pivot_mm=30, arm_mm=18), "between 12 and 48 mm"),
        (lambda: SwingingRoller(base_mm=9, roller_mm=3, pivot_mm=0.5, arm_mm=18), "pivot_mm is 0.5 mm"),
        (lambda: FlatLever(base_mm=20, pivot_mm=20, arm_mm=20), "base \\+ face is 20 mm"),
        (lambda: FlatLever(base_mm=20, pivot_mm=50, arm_mm=20, face_mm=-20), "base \\+ face is 0 mm"),
        (lambda: FlatLever(base_mm=20, pivot_mm=50, arm_mm=0.9, face_mm=0), "arm_mm is 0.9 mm"),
    ],
)
def test_impossible_followers_are_refused(make, message):
    with pytest.raises(MechError, match=message):
        make()


@pytest.mark.parametrize(
    "follower, moves, message",
    [
        (TranslatingRoller(base_mm=9, roller_mm=3), Motion(0, -12, 0), "down to the shaft"),
        (FlatFace(base_mm=9), Motion(0, -9, 0), "down to the shaft"),
        (SwingingRoller(base_mm=9, roller_mm=3, pivot_mm=30, arm_mm=30), Motion(0, 83, 0), "swing through"),
        (SwingingRoller(base_mm=9, roller_mm=3, pivot_mm=30, arm_mm=30), Motion(0, -13, 0), "swing through"),
        (FlatLever(base_mm=20, pivot_mm=40, arm_mm=40), Motion(0, 42, 0), "turn past the cam"),
        (FlatLever(base_mm=20, pivot_mm=40, arm_mm=40), Motion(0, -21, 0), "turn past the cam"),
        (FlatLever(base_mm=20, pivot_mm=40, arm_mm=40), Motion(0, 0, -40), "turn past the cam"),
        (FlatLever(base_mm=20, pivot_mm=40, arm_mm=40, sense=-1), Motion(0, 0, 40), "turn past the cam"),
    ],
)
def test_lifts_out_of_reach_are_refused(follower, moves, message):
    with pytest.raises(MechError, match=message):
        follower.stand(moves)


def test_lifts_just_within_reach_are_not():
    assert np.isfinite(TranslatingRoller(base_mm=9, roller_mm=3).stand(Motion(0, -11.9, 0)).tightness)
    lever = SwingingRoller(base_mm=9, roller_mm=3, pivot_mm=30, arm_mm=30)
    assert lever.arm_deg(82) < 180 and np.isfinite(lever.stand(Motion(0, 82, 0)).tightness)
    assert lever.arm_deg(-12) > 0 and np.isfinite(lever.stand(Motion(0, -12, 0)).tightness)
    flat = FlatLever(base_mm=20, pivot_mm=40, arm_mm=40)
    assert np.isfinite(flat.stand(Motion(0, 41, -39)).tightness)


def test_a_lever_on_the_line_of_centres_is_refused():
    """An arm of 32 mm and an angle of exactly 0: no rounding hides the border."""
    rest = math.acos((32**2 + 32**2 - 12.0**2) / (2 * 32 * 32))
    with pytest.raises(MechError, match="swing through"):
        lever = SwingingRoller(base_mm=9, roller_mm=3, pivot_mm=32, arm_mm=32)
        lever.stand(Motion(0, -32 * rest, 0))
    with pytest.raises(MechError, match="turn past the cam"):
        FlatLever(base_mm=20, pivot_mm=40, arm_mm=32).stand(Motion(0, -32 * math.asin(20 / 40), 0))


def test_turning_turns_every_point_and_nothing_else():
    stand = TranslatingRoller(base_mm=16, roller_mm=4, offset_mm=3).stand(Motion(0, 4, 5, 6))
    turned_stand = stand.turned(1j)
    for name in ("trace", "contact", "direction"):
        assert complex(getattr(turned_stand, name)) == complex(1j * getattr(stand, name))
    assert turned_stand[3:] == stand[3:]


def test_the_ranges_let_their_ends_in_and_nothing_beyond():
    ends = {
        "base_mm": (0.1, 1000),
        "roller_mm": (0.05, 500),
        "offset_mm": (-500, 500),
        "pivot_mm": (1, 2000),
        "arm_mm": (1, 2000),
        "face_mm": (-500, 500),
    }
    assert {name: tuple(span) for name, span in LIMITS.items()} == ends
    assert FlatLever(base_mm=0.6, pivot_mm=1, arm_mm=1, face_mm=0.3).base_mm == 0.6


def test_usual_limits_of_the_pressure_angle():
    """30° on a slide, up to 45° on a lever: common practice, no source."""
    assert TranslatingRoller.usual_pressure_deg == FlatFace.usual_pressure_deg == 30
    assert SwingingRoller.usual_pressure_deg == FlatLever.usual_pressure_deg == 45
