"""Laws and tracks through readings, against scipy's monotone interpolation and the law that was measured."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from mechlib.cams import LAWS, Programme, Segment, law, measured, programme_from_readings
from mechlib.errors import MechError


@st.composite
def rows(draw, least=3):
    """Readings of one move: places that rise by a quarter or more, lifts that all rise."""
    count = draw(st.integers(least, 9))
    at = np.cumsum([draw(st.integers(-40, 40))] + [draw(st.integers(1, 40)) for _ in range(count - 1)]) / 4
    lift = np.cumsum([draw(st.integers(-9, 9))] + [draw(st.integers(1, 60)) for _ in range(count - 1)]) / 16
    return at, lift


@st.composite
def tracks(draw, closed=False):
    """Readings at even steps, in sixteenths of a mm, with dwells, moves and turns in any order."""
    count = draw(st.integers(4, 24))
    step = draw(st.sampled_from([2.0, 7.5, 9.0]))
    lifts = [draw(st.integers(0, 20))]
    for _ in range(count - 1):
        lifts.append(lifts[-1] if draw(st.booleans()) else draw(st.integers(0, 20)))
    if not closed:
        lifts = [lifts[0], *lifts, lifts[-1]]
    start = draw(st.integers(-100, 100))
    return [start + step * k for k in range(len(lifts))], [lift / 16 for lift in lifts], step


def pchip_standing_at_its_ends(at, lift):
    """scipy's curve through the move with a standing point on either side, which makes its end slopes 0."""
    at, lift = np.asarray(at, float), np.asarray(lift, float)
    return PchipInterpolator([at[0] - 1, *at, at[-1] + 1], [lift[0], *lift, lift[-1]])


@given(rows(least=2), st.booleans(), st.floats(0, 1))
def test_a_measured_law_is_the_monotone_cubic_of_scipy(points, falling, x):
    at, lift = points
    lift = -lift if falling else lift
    curve, reference = measured(zip(at, lift, strict=True)), pchip_standing_at_its_ends(at, lift)
    length, rise = at[-1] - at[0], lift[-1] - lift[0]
    there = at[0] + x * length
    assert curve.position(x) == pytest.approx((float(reference(there)) - lift[0]) / rise, abs=1e-11)
    speed = float(reference(there, 1)) * length / rise
    assert curve.velocity(x) == pytest.approx(speed, abs=1e-9)


@given(rows(least=2))
def test_it_passes_through_every_point_without_overshoot(points):
    at, lift = points
    curve = measured(zip(at, lift, strict=True))
    x, s = (at - at[0]) / (at[-1] - at[0]), (lift - lift[0]) / (lift[-1] - lift[0])
    assert curve.position(x) == pytest.approx(s, abs=1e-12)
    assert curve.monotone
    for (x0, s0), (x1, s1) in pairwise(zip(x, s, strict=True)):
        between = curve.position(np.linspace(x0, x1, 31))
        assert np.all(between >= s0 - 1e-12) and np.all(between <= s1 + 1e-12)
        assert np.all(np.diff(between) > -1e-14)
    assert curve.velocity(0.0) == 0 and curve.velocity(1.0) == pytest.approx(0, abs=1e-9)
    for knot in x[1:-1]:
        for curves, room in ((curve.position, 1e-12), (curve.velocity, 1e-9)):
            assert curves(math.nextafter(knot, 0)) == pytest.approx(curves(float(knot)), abs=room)


@given(rows(least=2), st.floats(0, 1))
def test_the_inverse_finds_the_place(points, s):
    curve = measured(zip(*points, strict=True))
    assert curve.position(curve.inverse(s)) == pytest.approx(s, abs=1e-13)


@given(rows(least=2), st.floats(0.05, 20), st.floats(-30, 30))
def test_units_and_origin_dont_matter(points, factor, offset):
    at, lift = points
    one = measured(zip(at, lift, strict=True))
    other = measured(zip(at * factor + offset, -3 * lift + offset, strict=True))
    x = np.linspace(0, 1, 41)
    assert other.position(x) == pytest.approx(one.position(x), abs=1e-9)


def test_peaks_of_a_measured_law():
    """Two points make 3x² − 2x³: peaks 3/2 and 6; the acceleration steps, so the jerk has no bound."""
    peaks = measured([(10, 2), (40, 8)]).peaks
    assert (peaks.velocity, peaks.acceleration, peaks.jerk) == pytest.approx((1.5, 6, math.inf))


@pytest.mark.parametrize("name", sorted(LAWS))
@pytest.mark.parametrize("points", [9, 13, 25])
def test_readings_of_a_known_law_give_it_back_nearly(name, points):
    """Between readings it is off by little, and four times less for twice as many of them."""
    x = np.linspace(0, 1, points)
    curve = measured(zip(x, law(name).position(x), strict=True))
    fine = np.linspace(0, 1, 501)
    off = np.abs(curve.position(fine) - law(name).position(fine)).max()
    # Constant velocity starts with a step of speed, which a curve from standstill rounds off.
    assert off < (0.5 / points if name == "constant velocity" else 1.2 / points**2)


@given(tracks(), st.floats(-0.1, 1.1))
def test_a_track_is_the_monotone_cubic_of_scipy_throughout(readings, share):
    at, lifts, _ = readings
    track = programme_from_readings(at, lifts, 0)
    reference = PchipInterpolator(at, lifts)
    x = at[0] + share * (at[-1] - at[0])
    inside = min(max(x, at[0]), at[-1])
    assert track.lift(x) == pytest.approx(float(reference(inside)), abs=1e-9)
    assert track.lifts(np.array(at)) == pytest.approx(lifts, abs=1e-12)
    if at[0] < x < at[-1]:
        assert track.slope(x) == pytest.approx(float(reference(x, 1)), abs=1e-8)


@given(tracks())
def test_dwells_are_flat_and_every_move_goes_one_way(readings):
    at, lifts, _ = readings
    track = programme_from_readings(at, lifts, 0)
    for before, after in pairwise(range(len(at))):
        if lifts[before] == lifts[after]:
            assert np.all(track.lifts(np.linspace(at[before], at[after], 9)) == lifts[before])
    for one, two in pairwise(track.segments):
        assert not (one.is_dwell and two.is_dwell)
        rises = (one.end_mm - one.start_mm) * (two.end_mm - two.start_mm)
        assert rises <= 0
    assert {lift for s in track.segments for lift in (s.start_mm, s.end_mm)} <= set(lifts)


@given(tracks(), st.integers(0, 80), st.integers(0, 40))
def test_the_arcs_are_where_scipy_says_the_lift_is(readings, low, span):
    """Bounds off every reading, so that none lies on a dwell."""
    at, lifts, _ = readings
    low, high = low / 64 + 1 / 100, (low + span) / 64 + 1 / 90
    arcs = programme_from_readings(at, lifts, 0).arcs_within(low, high)
    reference = PchipInterpolator(at, lifts)
    for x in np.linspace(at[0], at[-1], 301):
        lift = float(reference(x))
        if min(abs(lift - low), abs(lift - high)) > 1e-9:
            assert any(a <= x <= b for a, b in arcs) == (low < lift < high)


@given(tracks(closed=True), st.integers(0, 23))
def test_a_turning_track_may_be_read_from_any_tooth(readings, first):
    at, lifts, step = readings
    period = step * len(at)
    track = programme_from_readings(at, lifts, 0, period)
    # The second way: three turns in a row, of which the middle one can't feel the ends.
    long_at = [at[0] + step * k for k in range(-len(at), 2 * len(at) + 1)]
    reference = PchipInterpolator(long_at, [*(lifts * 3), lifts[0]])
    x = np.linspace(at[0], at[0] + period, 97)
    assert track.lifts(x) == pytest.approx(reference(x), abs=1e-9)
    first %= len(at)
    other = programme_from_readings(
        [*at[first:], *(a + period for a in at[:first])], lifts[first:] + lifts[:first], 0, period
    )
    assert other.lifts(x) == pytest.approx(track.lifts(x), abs=1e-9)
    assert len(other.segments) == len(track.segments)


@given(st.integers(0, 2**32 - 1), st.floats(0.01, 0.07))
def test_readings_with_the_calipers_error_give_the_dwells_of_the_track(seed, error):
    """A known track read each 6° with an error of up to ±error: its three dwells come out, flat and near.

    The smallest step of a move next to a dwell is 0.29 mm, four times the largest error.
    """
    true = Programme(
        (
            Segment(0, 60, 1, 1),
            Segment(60, 90, 1, 9, "modified sine"),
            Segment(90, 150, 9, 9),
            Segment(150, 180, 9, 4, "3-4-5"),
            Segment(180, 240, 4, 4),
        )
    )
    at = np.arange(0, 241, 6)
    rng = np.random.default_rng(seed)
    lifts = true.lifts(at) + rng.uniform(-error, error, at.size)
    track = programme_from_readings(at, lifts, 2 * error)
    for ours, exact in zip(track.segments, true.segments, strict=True):
        assert (ours.start_deg, ours.end_deg) == (exact.start_deg, exact.end_deg)
        assert (ours.start_mm, ours.end_mm) == pytest.approx((exact.start_mm, exact.end_mm), abs=error)
    assert np.abs(track.lifts(at) - true.lifts(at)).max() <= error + 1e-12


def test_a_track_by_hand():
    at = [0, 9, 18, 27, 36, 45, 54, 63, 72]
    lifts = [0.00, 0.04, 0.02, 1.5, 4.0, 5.02, 4.98, 3.0, 3.0]
    track = programme_from_readings(at, lifts, 0.04)
    spans = [(s.start_deg, s.end_deg, s.start_mm, s.end_mm) for s in track.segments]
    expected = [(0, 18, 0.02, 0.02), (18, 45, 0.02, 5), (45, 54, 5, 5), (54, 63, 5, 3), (63, 72, 3, 3)]
    assert np.array(spans) == pytest.approx(np.array(expected))
    assert track.lift(27) == pytest.approx(1.5) and track.lift(36) == pytest.approx(4.0)
    assert track.lift(58.5) == pytest.approx(4.0)  # half way between two standstills
    # Slopes in the move: the steps rise by 1.48, 2.5 and 1.0 in 9° each, so the means are harmonic.
    assert track.slope(27) == pytest.approx(2 / (9 / 1.48 + 9 / 2.5))
    assert track.slope(36) == pytest.approx(2 / (9 / 2.5 + 9 / 1.0))
    assert track.slope(18) == track.slope(45) == 0


def test_uneven_steps_weigh_the_longer_neighbour_less():
    """Steps of 3 and 6 with slopes 1 and 1/2: weights 3 + 12 and 6 + 6, 27/(15/1 + 12/½) = 9/13."""
    curve = measured([(0, 0), (3, 3), (9, 6)])
    assert curve.velocity(1 / 3) == pytest.approx(9 / 13 * 9 / 6, rel=1e-12)


@pytest.mark.parametrize(
    "spread, dwells",
    [(0.0, [(0, 1), (4, 5)]), (0.1, [(0, 1), (2, 3), (4, 5)]), (0.099, [(0, 1), (4, 5)])],
)
def test_how_near_is_the_same(spread, dwells):
    track = programme_from_readings([0, 1, 2, 3, 4, 5], [0, 0, 2.0, 2.1, 6, 6], spread)
    assert [(s.start_deg, s.end_deg) for s in track.segments if s.is_dwell] == dwells


def test_a_dwell_holds_all_its_readings_within_the_spread():
    """A creep of 0, 0.04, 0.09: neighbours are within 0.05 of each other, all of them aren't."""
    track = programme_from_readings([0, 1, 2, 3, 4], [0, 0, 0.04, 0.09, 0.09], 0.05)
    spans = [(s.start_deg, s.end_deg, s.is_dwell) for s in track.segments]
    assert spans == [(0, 2, True), (2, 3, False), (3, 4, True)]
    assert track.levels_mm == pytest.approx((0.04 / 3, 0.09))


def test_the_end_of_a_move_draws_no_dwell_apart():
    """From left to right 4.18 would take the next three readings with it and leave the last two over."""
    lifts = [9, 9, 4.18, 4.05, 4.09, 4.03, 3.95, 3.96]
    track = programme_from_readings(range(8), lifts, 0.15)
    assert [(s.start_deg, s.end_deg) for s in track.segments if s.is_dwell] == [(0, 1), (3, 7)]
    mirrored = programme_from_readings(range(8), lifts[::-1], 0.15)
    assert [(s.start_deg, s.end_deg) for s in mirrored.segments if s.is_dwell] == [(0, 4), (6, 7)]


def test_of_runs_as_long_the_closest_together_is_taken():
    """0, 0.05, 0.06 with a spread of 0.05: the last two are nearer to each other than the first two."""
    track = programme_from_readings([0, 1, 2, 3, 4], [2, 2, 0.05, 0.06, 0.06], 0.05)
    assert track.segments[-1].start_deg == 2
    track = programme_from_readings([0, 1, 2, 3, 4, 5, 6], [2, 2, 0, 0.05, 0.06, 2, 2], 0.05)
    assert [s.start_deg for s in track.segments if s.is_dwell] == [0, 3, 5]
    track = programme_from_readings([0, 1, 2, 3, 4, 5, 6], [2, 2, 0, 0.01, 0.06, 2, 2], 0.05)
    assert [s.start_deg for s in track.segments if s.is_dwell] == [0, 2, 5]


def test_a_thousand_readings_are_taken_and_no_more():
    steps = [k // 2 for k in range(1000)]
    track = programme_from_readings(range(1000), steps, 0)
    assert sum(s.is_dwell for s in track.segments) == 500
    with pytest.raises(MechError, match="the number of readings is 1001"):
        programme_from_readings(range(1001), [0] * 1001, 0)


def test_a_dwell_over_the_seam_is_one():
    track = programme_from_readings(range(0, 360, 36), [1, 1.02, 5, 5, 5, 5, 5, 3, 1.01, 0.99], 0.05, 360)
    dwells = [s for s in track.segments if s.is_dwell]
    assert len(dwells) == 2 and {s.end_deg - s.start_deg for s in dwells} == {144, 108}
    assert track.arcs_within(1.0, 1.005) == ((288, 396),) and track.lift(0) == pytest.approx(1.005)
    assert track.lift(252) == pytest.approx(3)


@pytest.mark.parametrize("first", range(12))
def test_where_reading_begins_doesnt_matter_with_the_calipers_error_either(first):
    at = [30 * k for k in range(12)]
    lifts = [1.00, 1.03, 0.99, 1.02, 4.1, 7.98, 8.02, 8.01, 7.99, 8.03, 5.0, 0.98]
    turned = [*at[first:], *(a + 360 for a in at[:first])], lifts[first:] + lifts[:first]
    track = programme_from_readings(*turned, 0.06, 360)
    dwells = sorted(
        (s.start_deg % 360, s.end_deg - s.start_deg, s.start_mm) for s in track.segments if s.is_dwell
    )
    low, high = (1.00 + 1.03 + 0.99 + 1.02 + 0.98) / 5, (7.98 + 8.02 + 8.01 + 7.99 + 8.03) / 5
    assert np.array(dwells) == pytest.approx(np.array([(150, 120, high), (330, 120, low)]))
    assert len(track.segments) == 4


def test_readings_out_of_order_are_told_in_degrees():
    told = "angle 3 is 36 degrees: it must be larger than the one before, 48 degrees"
    with pytest.raises(MechError, match=told):
        programme_from_readings([0, 48, 36], [0, 0, 1], 0)


def test_a_turning_track_that_stands_still():
    track = programme_from_readings([0, 90, 180], [2, 2, 2], 0, 360)
    assert track.arcs_within(2, 2) == ((0, 360),) and len(track.segments) == 1
    assert track.segments[0].start_deg == 0


@pytest.mark.parametrize(
    "points, message",
    [
        ([], "the number of readings is 0: .*from 2"),
        ([(0, 1)], "the number of readings is 1"),
        ([(0, 1), (0, 2)], "place 2 is 0: it must be larger than the one before, 0"),
        ([(0, 1), (5, 2), (4, 3)], "place 3 is 4"),
        ([(0, 1), (5, 1)], "ends where it starts, at 1"),
        ([(0, 1), (5, 3), (6, 3), (7, 4)], "point 3 stands still or turns back"),
        ([(0, 1), (5, 3), (6, 2), (7, 4)], "point 3 stands still or turns back"),
        ([(0, 9), (5, 3), (6, 4), (7, 1)], "point 3 stands still or turns back"),
        ([(0, 9), (5, 12), (7, 1)], "point 2 stands still or turns back"),
        ([(0, 1), (5, math.nan)], "lift 2"),
        ([(0, 1), ("5", 2)], "place 2"),
        ([(0, 1), 5], r"point 2 is 5: write \(place, lift\)"),
        ([(0, 1), (5, 6, 7)], "point 2 is"),
        ([(0, 1), (100000.5, 2)], "place 2 is 100"),
        ([(-100000.5, 1), (0, 2)], "place 1 is -100"),
        ([(0, 1), (5, 10000.5)], "lift 2 is 10000.5 mm"),
        ([(0, 1), (5, -10000.5)], "lift 2 is -10000.5 mm"),
    ],
)
def test_points_that_are_no_move_are_refused(points, message):
    with pytest.raises(MechError, match=message):
        measured(points)


def test_a_small_rise_far_up_keeps_its_digits():
    lifts = [9999.0, 9999.0001, 9999.0004]
    exact = (lifts[1] - lifts[0]) / (lifts[2] - lifts[0])
    assert measured(zip((0, 1, 2), lifts, strict=True)).position(0.5) == pytest.approx(exact, abs=1e-13)


def test_the_limits_are_let_in():
    assert measured([(-1e5, -1e4), (1e5, 1e4)]).position(0.5) == 0.5
    assert len(programme_from_readings([0, 1], [0, 5.0], 5).segments) == 1


@pytest.mark.parametrize(
    "at, lifts, spread, period, message",
    [
        ([0, 1, 2], [0, 0], 0, None, "3 angles and 2 lifts"),
        ([0, 1, 1], [0, 0, 0], 0, None, "angle 3 is 1.*degrees"),
        ([0, 1, 2], [0, 0, 1], 0, None, "the last two readings are 0 and 1 mm.*ends in a dwell"),
        ([0, 1, 2], [1, 0, 0], 0, None, "the first two readings are 1 and 0 mm.*starts"),
        ([0, 1], [0, 0], -0.1, None, "same_within_mm is -0.1 mm"),
        ([0, 1], [0, 0], 5.1, None, "same_within_mm is 5.1 mm"),
        ([0, 1], [0, 0], math.nan, None, "same_within_mm"),
        ([0, 1], [0, None], 0, None, "lift 2"),
        ([0, 360], [0, 0], 0, 360, "the last angle is 360° after the first.*less than the period of 360°"),
        ([0, 1], [0, 0], 0, 0, "period_deg is 0 degrees"),
        ([0], [0], 0, 360, "the number of readings is 1"),
    ],
)
def test_readings_that_are_no_track_are_refused(at, lifts, spread, period, message):
    with pytest.raises(MechError, match=message):
        programme_from_readings(at, lifts, spread, period)


@given(tracks(), st.floats(0, 1.5))
def test_any_spread_gives_a_track_near_the_readings(readings, spread):
    at, lifts, _ = readings
    try:
        track = programme_from_readings(at, lifts, spread)
    except MechError as error:
        assume("dwell" not in str(error))
        raise
    off = np.abs(track.lifts(np.array(at)) - lifts)
    assert off.max() <= spread + 1e-9
