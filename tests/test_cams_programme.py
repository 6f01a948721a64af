"""Programmes against a second reading of them: textbook formulas, dense sampling, a library root finder."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from mechlib.cams import Programme, Segment
from mechlib.errors import MechError

# Textbook formulas, written out anew.
FORMULAS = {
    "constant velocity": lambda x: x,
    "constant acceleration": lambda x: 2 * x * x if x < 0.5 else 1 - 2 * (1 - x) ** 2,
    "simple harmonic": lambda x: (1 - math.cos(math.pi * x)) / 2,
    "cycloidal": lambda x: x - math.sin(2 * math.pi * x) / (2 * math.pi),
    "3-4-5": lambda x: 10 * x**3 - 15 * x**4 + 6 * x**5,
}
OPEN = (
    Segment(10, 40, 2, 2),
    Segment(40, 70, 2, 8, "3-4-5"),
    Segment(70, 80, 8, 8),
    Segment(80, 100, 8, 0, "simple harmonic"),
    Segment(100, 130, 0, 5, "constant velocity"),
    Segment(130, 150, 5, 5),
)


def reference_lift(segments, x):
    """Lift at x by hand: find the segment by looking at each, and hold the ends."""
    x = min(max(x, segments[0].start_deg), segments[-1].end_deg)
    for s in segments:
        if s.start_deg <= x <= s.end_deg:
            if s.law == "dwell":
                return s.start_mm
            fraction = FORMULAS[s.law]((x - s.start_deg) / (s.end_deg - s.start_deg))
            return s.start_mm + (s.end_mm - s.start_mm) * fraction
    raise AssertionError(x)


@st.composite
def segment_rows(draw, closed=False):
    """Rows of segments: dwells and moves in any order; open ones begin and end in a dwell."""
    lifts = st.integers(0, 20).map(lambda n: n / 2)
    at, lift = draw(st.integers(-400, 400)) / 4, draw(lifts)
    first = lift
    rows = [] if closed else [Segment(at - 30, at, lift, lift)]
    for _ in range(draw(st.integers(1, 8))):
        end, to = at + draw(st.integers(1, 120)) / 4, draw(lifts)
        law = draw(st.sampled_from(sorted(FORMULAS)))
        rows.append(Segment(at, end, lift, to, "dwell" if to == lift else law))
        at, lift = end, to
    if closed:
        rows.append(Segment(at, at + 10, lift, first, "dwell" if first == lift else "cycloidal"))
    else:
        rows.append(Segment(at, at + 30, lift, lift))
    return tuple(rows)


ranges = st.tuples(st.integers(-4, 44), st.integers(0, 24)).map(lambda p: (p[0] / 4, (p[0] + p[1]) / 4))


def inside(arcs, x):
    return any(start <= x <= end for start, end in arcs)


def check_arcs(rows, arcs, low, high, grid):
    """Sorted and apart; each grid point inside or outside as its lift says; edges at the range's ends."""
    assert all(start <= end for start, end in arcs)
    assert all(a[1] < b[0] for a, b in zip(arcs, arcs[1:], strict=False))
    for x in grid:
        lift = reference_lift(rows, x)
        if min(abs(lift - low), abs(lift - high)) > 1e-9:
            assert inside(arcs, x) == (low < lift < high), (x, lift)
    for edge in (e for arc in arcs for e in arc if math.isfinite(e)):
        lift = reference_lift(rows, edge)
        assert min(abs(lift - low), abs(lift - high)) < 1e-9, (edge, lift)


@given(segment_rows(), ranges)
def test_arcs_of_an_open_programme_against_dense_sampling(rows, span):
    arcs = Programme(rows).arcs_within(*span)
    check_arcs(rows, arcs, *span, np.linspace(rows[0].start_deg - 50, rows[-1].end_deg + 50, 400))
    for lift, reach in ((rows[0].start_mm, -math.inf), (rows[-1].end_mm, math.inf)):
        assert inside(arcs, reach) == (span[0] <= lift <= span[1])


@given(segment_rows(closed=True), ranges)
def test_arcs_of_a_turning_programme_against_dense_sampling(rows, span):
    period = rows[-1].end_deg - rows[0].start_deg
    arcs = Programme(rows, period).arcs_within(*span)
    assert all(0 <= start < period and end - start <= period for start, end in arcs)
    if len(arcs) > 1:
        assert arcs[-1][1] - period < arcs[0][0]
    # The same arcs unrolled: three turns that cover the turn in which the rows are written.
    first_turn = math.floor(rows[0].start_deg / period) - 1
    unrolled = [(a + n * period, b + n * period) for n in range(first_turn, first_turn + 4) for a, b in arcs]
    for x in np.linspace(rows[0].start_deg, rows[-1].end_deg, 300):
        lift = reference_lift(rows, x)
        if min(abs(lift - span[0]), abs(lift - span[1])) > 1e-9:
            assert inside(unrolled, x) == (span[0] < lift < span[1]), (x, lift)


@given(segment_rows(), st.floats(-0.5, 10.5))
def test_angles_at_are_the_crossings(rows, lift):
    """Every move that straddles the lift crosses it once, where a library root finder says."""
    found = Programme(rows).angles_at(lift)
    expected = [
        optimize.brentq(lambda x: reference_lift([s], x) - lift, s.start_deg, s.end_deg, xtol=1e-13)  # noqa: B023
        for s in rows
        if min(s.start_mm, s.end_mm) + 1e-3 < lift < max(s.start_mm, s.end_mm) - 1e-3
    ]
    for angle in expected:
        assert min(abs(angle - other) for other in found) < 1e-9
    levels = {s.start_mm for s in rows} | {s.end_mm for s in rows}
    if min(abs(lift - level) for level in levels) > 1e-3:
        assert len(found) == len(expected)


@given(segment_rows(), st.floats(-200, 500))
def test_lift_follows_the_textbook_formulas(rows, x):
    assert Programme(rows).lift(x) == pytest.approx(reference_lift(rows, x), abs=1e-12)


@given(segment_rows())
def test_lifts_of_an_array_equal_single_lifts_and_join(rows):
    track = Programme(rows)
    x = np.linspace(rows[0].start_deg - 20, rows[-1].end_deg + 20, 301)
    assert track.lifts(x) == pytest.approx([track.lift(float(one)) for one in x], abs=1e-12)
    for row in rows[1:]:
        before = math.nextafter(row.start_deg, -math.inf)
        assert track.lift(before) == pytest.approx(track.lift(row.start_deg), abs=1e-9)


@given(segment_rows(), st.floats(0.01, 0.99), st.integers(0, 9))
def test_slope_is_the_difference_quotient(rows, fraction, index):
    row = rows[index % len(rows)]
    h = 1e-5 * (row.end_deg - row.start_deg)
    x = row.start_deg + fraction * (row.end_deg - row.start_deg)
    quotient = (reference_lift(rows, x + h) - reference_lift(rows, x - h)) / (2 * h)
    assert Programme(rows).slope(x) == pytest.approx(quotient, abs=1e-3 * (1 + abs(quotient)))


def test_a_programme_by_hand():
    track = Programme(OPEN)
    assert track.levels_mm == (0, 2, 5, 8)
    assert track.arcs_within(1.5, 2.5)[0][0] == -math.inf
    assert track.arcs_within(5, 5)[-1] == (130, math.inf)
    assert track.arcs_within(9, 12) == () and track.arcs_within(-3, -1) == ()
    assert track.arcs_within(-math.inf, math.inf) == ((-math.inf, math.inf),)
    # Half way up 3-4-5 is half way along; a quarter of 8 mm harmonic lies a third from its low end.
    assert track.arcs_within(5, 8)[0] == pytest.approx((55, 80 + 20 * math.acos(2 * 5 / 8 - 1) / math.pi))
    assert track.arcs_within(0, 2)[1] == pytest.approx((100 - 20 / 3, 112))
    # The lowest point is only touched, between two moves; a dwell is no single angle.
    assert track.arcs_within(-1, 0) == ((100, 100),) and track.angles_at(0) == (100,)
    assert track.angles_at(8) == ()
    assert track.angles_at(2) == pytest.approx((100 - 20 / 3, 112))
    assert track.slope(115) == pytest.approx(5 / 30) and track.slope(75) == 0 == track.slope(1000)
    assert track.slope(90) == pytest.approx(-8 / 20 * math.pi / 2)


def test_where_segments_join_the_slope_is_the_later_one():
    track = Programme(OPEN)
    assert track.slope(100) == pytest.approx(5 / 30)
    assert track.slope(130) == 0


def test_a_range_edge_near_a_dwell_counts_as_the_dwell():
    """0.3 − 0.1 is 0.19999999999999998 and 0.1 + 0.2 is 0.30000000000000004."""
    track = Programme((Segment(0, 9, 0.2, 0.2), Segment(9, 20, 0.2, 0.3, "3-4-5"), Segment(20, 30, 0.3, 0.3)))
    assert track.arcs_within(0.0, 0.3 - 0.1) == ((-math.inf, 9.0),)
    assert track.arcs_within(0.1 + 0.2, 1.0) == ((20.0, math.inf),)
    assert track.arcs_within(0.1 + 0.2 + 1e-8, 1.0) == ()
    assert track.arcs_within(0.0, 0.2 - 1e-8) == ()
    # Outside the snap the edge is where the lift says, however near the dwell.
    edge = track.arcs_within(0.0, 0.2 + 1e-7)[0][1]
    assert 9 < edge < 10 and track.lift(edge) == pytest.approx(0.2 + 1e-7, abs=1e-15)


def test_joins_that_differ_by_rounding_are_made_equal():
    rows = (
        Segment(0, 0.1 + 0.2, 0, 0),
        Segment(0.3, 10, 5e-11, 0.1 + 0.2, "cycloidal"),
        Segment(10 - 1e-10, 20, 0.3, 0.3),
    )
    track = Programme(rows)
    for before, after in zip(track.segments, track.segments[1:], strict=False):
        assert before.end_deg == after.start_deg and before.end_mm == after.start_mm
    assert track.arcs_within(0, 0.3) == ((-math.inf, math.inf),)


def test_the_seam_of_a_turning_programme():
    rows = (
        Segment(30, 90, 0, 0),
        Segment(90, 150, 0, 6, "cycloidal"),
        Segment(150, 300, 6, 6),
        Segment(300, 390, 6, 0, "cycloidal"),
    )
    track = Programme(rows, 360)
    assert track.lift(120) == pytest.approx(3) and track.lift(120 - 720) == pytest.approx(3)
    assert track.lift(345) == pytest.approx(3) and track.lift(30) == track.lift(390) == 0
    assert track.arcs_within(0, 3) == (pytest.approx((345, 480)),)  # over the seam: beyond one turn
    assert track.arcs_within(3, 6) == (pytest.approx((120, 345)),)
    assert track.arcs_within(0, 0) == ((30, 90),)
    assert track.arcs_within(0, 6) == ((0, 360),)
    assert track.arcs_within(7, 8) == ()
    assert track.angles_at(3) == pytest.approx((120, 345))
    assert track.slope(345) == pytest.approx(-6 / 90 * 2) == track.slope(-15)


def test_a_turning_programme_that_touches_a_lift_at_its_seam_only():
    rows = (Segment(-90, 90, 0, 4, "3-4-5"), Segment(90, 270, 4, 0, "3-4-5"))
    track = Programme(rows, 360)
    assert track.arcs_within(-1, 0) == ((270, 270),) and track.angles_at(0) == (270,)
    assert track.arcs_within(0, 2) == (pytest.approx((180, 360)),)
    assert track.arcs_within(2, 4) == (pytest.approx((0, 180)),)


def test_a_dwell_that_goes_right_round():
    still = Programme((Segment(0, 360, 3, 3),), 360)
    assert still.arcs_within(2, 4) == ((0, 360),) and still.lift(12345) == 3


@pytest.mark.parametrize("x", [-1e-18, -1e-15, 360 - 1e-14, 720, 1e9])
def test_angles_at_the_edge_of_rounding_stay_in_the_turn(x):
    track = Programme((Segment(0, 180, 0, 4, "cycloidal"), Segment(180, 360, 4, 0, "cycloidal")), 360)
    assert 0 <= track.lift(x) <= 4
    assert track.lifts(np.array([x]))[0] == pytest.approx(track.lift(x), abs=1e-12)


@pytest.mark.parametrize("off", [-1e-18, -1e-14, 0, 1e-14])
def test_an_arc_that_starts_at_the_seam_up_to_rounding(off):
    rows = (Segment(off, 180, 3, 0, "cycloidal"), Segment(180, 360 + off, 0, 3, "cycloidal"))
    ((start, end),) = Programme(rows, 360).arcs_within(3, 4)
    assert 0 <= start < 360 and start == end


def test_segments_and_programmes_cannot_be_changed():
    track = Programme(OPEN)
    with pytest.raises(FrozenInstanceError):
        track.period_deg = 360
    with pytest.raises(FrozenInstanceError):
        track.segments[0].law = "3-4-5"


def move(start, end, low, high, law="cycloidal"):
    return Segment(start, end, low, high, law)


@pytest.mark.parametrize(
    "rows, period, message",
    [
        ((), None, "no segment"),
        ((move(0, 9, 0, 1), Segment(9, 20, 1, 1)), None, "segment 1 is a move.*dwell"),
        ((Segment(0, 9, 0, 0), move(9, 20, 0, 1)), None, "segment 2 is a move.*dwell"),
        ((Segment(0, 9, 0, 0), Segment(9.5, 20, 0, 0)), None, "segment 2 starts at 9.5°.*9°.*segment 1 ends"),
        ((Segment(0, 9, 0, 0), Segment(8.5, 20, 0, 0)), None, "segment 2 starts at 8.5°"),
        (
            (Segment(0, 9, 0, 0), move(9, 20, 1, 2), Segment(20, 30, 2, 2)),
            None,
            "segment 2 .*lift of 1 mm.*0 mm, where segment 1 ends",
        ),
        ((Segment(0, 9, 0, 0), move(9, 20, 0, 2), Segment(20, 30, 3, 3)), None, "segment 3 .*3 mm.*2 mm"),
        ((Segment(0, 300, 0, 0),), 360, "segment 1 ends 300° after.*360°"),
        ((move(0, 180, 0, 1), Segment(180, 360, 1, 1)), 360, "segment 2 ends with a lift of 1 mm.*0 mm"),
        ((Segment(0, 360, 0, 0),), 0, "period_deg is 0 degrees"),
        ((Segment(0, 360, 0, 0),), math.nan, "period_deg"),
        (("a",), None, "'a' is no segment"),
        ((Segment(0, 9, 0, 0), (9, 20, 0, 0)), None, "is no segment"),
    ],
)
def test_bad_programmes_say_which_segment_and_why(rows, period, message):
    with pytest.raises(MechError, match=message):
        Programme(rows, period)


@pytest.mark.parametrize(
    "values, message",
    [
        ((10, 10, 0, 0), "end_deg is 10°.*start_deg, 10°"),
        ((10, 5, 0, 0), "end_deg is 5°"),
        ((0, 10, 0, 1), "the dwell's lift goes from 0 to 1 mm"),
        ((0, 10, 1, 1, "cycloidal"), "cycloidal move goes nowhere.*1 mm.*dwell"),
        ((0, 10, 0, 1, "cycliodal"), "did you mean 'cycloidal'"),
        ((0, 10, math.nan, 1), "start_mm"),
        ((0, math.inf, 1, 1), "end_deg"),
        (("0", 10, 1, 1), "start_deg"),
    ],
)
def test_bad_segments_are_refused(values, message):
    with pytest.raises(MechError, match=message):
        Segment(*values)


@pytest.mark.parametrize("span", [(3, 2), (math.nan, 2), (1, math.nan), ("1", 2), (None, 2)])
def test_bad_ranges_are_refused(span):
    with pytest.raises(MechError, match="the range is"):
        Programme(OPEN).arcs_within(*span)


@pytest.mark.parametrize("bad", [math.nan, math.inf, "12", None])
def test_bad_angles_and_lifts_are_refused(bad):
    track = Programme(OPEN)
    for method in (track.lift, track.slope, track.angles_at):
        with pytest.raises(MechError):
            method(bad)
    with pytest.raises(MechError, match="finite"):
        track.lifts(np.array([1.0, math.nan]))
    with pytest.raises(MechError, match="an angle is not a number"):
        track.lifts(["a"])


@pytest.mark.parametrize("segment", [Segment(0, 90, 3, 3), Segment(0, 90, 3, 5, "3-4-5")])
@pytest.mark.parametrize("bad", [math.nan, math.inf, "12", np.array([1.0, math.nan])])
def test_a_segment_refuses_angles_that_are_none(segment, bad):
    for quantity in (segment.lift, segment.slope, segment.bend):
        with pytest.raises(MechError):
            quantity(bad)


def test_a_dwell_alone_keeps_its_lift_at_any_angle():
    dwell = Segment(0, 90, 3, 3)
    assert (dwell.lift(500), dwell.slope(-500), dwell.bend(500)) == (3, 0, 0)
    assert dwell.lift(np.array([-1.0, 500.0])).tolist() == [3, 3]
