"""Motion over the cam angle in radians: differences of the lift, scipy's minimum and its roots."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from mechlib.cams import LAWS, Programme, Segment
from mechlib.cams.motion import (
    Corner,
    Extreme,
    Motion,
    all_largest,
    arcs_below,
    corners,
    largest,
    motion,
    root,
    sampled,
)
from mechlib.errors import MechError

RISE = Segment(20, 100, 1, 9, "cycloidal")
TRACK = Programme((Segment(0, 20, 1, 1), RISE, Segment(100, 150, 9, 9), Segment(150, 240, 9, 1, "3-4-5"),
                   Segment(240, 360, 1, 1)), 360)  # fmt: skip


def lobe(law="constant velocity"):
    return Programme((Segment(0, 90, 0, 8, law), Segment(90, 360, 8, 0, law)), 360)


@pytest.mark.parametrize("law", LAWS)
def test_slope_and_bend_are_differences_of_the_lift(law):
    segment, step = Segment(-30, 60, 2, 7, law), math.radians(1e-2)
    for angle in (-21.3, 7.7, 41.0):
        lifts = [segment.lift(angle + math.degrees(k * step)) for k in (-1, 0, 1)]
        found = motion(segment, angle)
        assert found.lift_mm == lifts[1] and found.angle_deg == angle and found.way == 1
        assert found.slope_mm == pytest.approx((lifts[2] - lifts[0]) / (2 * step), rel=1e-5)
        second = (lifts[2] - 2 * lifts[1] + lifts[0]) / step**2
        assert found.bend_mm == pytest.approx(second, rel=1e-4, abs=1e-5)


def test_the_way_is_that_of_the_lift():
    assert motion(Segment(0, 10, 5, 2, "3-4-5"), 4.0).way == -1
    still = motion(Segment(0, 10, 5, 5), np.array([1.0, 2.0]))
    for values, wanted in ((still.way, 0), (still.slope_mm, 0), (still.bend_mm, 0), (still.lift_mm, 5)):
        assert values.tolist() == [wanted, wanted]


@pytest.mark.parametrize("name", ["angle_deg", "lift_mm", "slope_mm", "bend_mm"])
@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_motion_is_finite(name, bad):
    good = {"angle_deg": 0.0, "lift_mm": 0.0, "slope_mm": 0.0, "bend_mm": 0.0}
    with pytest.raises(MechError, match=f"{name} of the motion: it must be finite"):
        Motion(**good | {name: bad})
    assert Motion(**good).way == Motion(0.0, 0.0, 0.0).bend_mm == 0


@pytest.mark.parametrize("law", LAWS)
def test_several_quantities_have_the_extremes_of_each_alone(law):
    quantities = (lambda m: m.slope_mm, lambda m: -m.bend_mm, lambda m: m.lift_mm * m.slope_mm)
    found = all_largest(lambda m: [quantity(m) for quantity in quantities], lobe(law))
    assert found == [largest(quantity, lobe(law)) for quantity in quantities]


def test_samples_have_both_ends_of_every_segment():
    found = sampled(lobe(), 3)
    assert found.angle_deg.tolist() == [0, 45, 90, 90, 225, 360]
    assert found.way.tolist() == [1, 1, 1, -1, -1, -1]
    assert np.ptp(found.slope_mm[:3]) < 1e-12 and found.slope_mm[2] > 0 > found.slope_mm[3]
    assert len(sampled(lobe()).angle_deg) == 130


def test_the_largest_value_is_where_scipy_finds_it():
    def quantity(moves):
        return moves.slope_mm * (3 + moves.lift_mm)

    def downwards(x):
        return -float(quantity(motion(RISE, x)))

    best = minimize_scalar(downwards, bounds=(20, 100), method="bounded", options={"xatol": 1e-9})
    found = largest(quantity, TRACK)
    assert found.value == pytest.approx(-best.fun, rel=1e-12)
    assert found.angle_deg == pytest.approx(best.x, abs=1e-5)


def test_of_equal_values_the_first_is_told_and_ends_count():
    assert largest(lambda moves: moves.lift_mm, lobe()) == Extreme(8, 90)
    assert largest(lambda moves: -moves.lift_mm, lobe()) == Extreme(0, 0)
    assert largest(lambda moves: abs(moves.slope_mm), lobe()).angle_deg == 0
    step = largest(lambda moves: -moves.slope_mm, lobe())
    assert step.value == pytest.approx(8 / math.radians(270), rel=1e-12) and step.angle_deg == 90
    assert largest(lambda moves: moves.way, lobe()) == Extreme(1, 0)
    # So near that rounding could have done it, and not so near.
    for much, at in ((4e-11, 0), (6e-11, 90)):
        assert largest(lambda moves, much=much: 1 - much * moves.way, lobe()).angle_deg == at


@pytest.mark.parametrize("top", [0.3, 0.7, 44.1, 89.3, 89.7])
def test_a_peak_in_the_first_or_last_space_of_the_grid_is_found(top):
    found = largest(lambda moves: 5 - (moves.angle_deg - top) ** 2, lobe())
    assert found.value == pytest.approx(5, abs=1e-12) and found.angle_deg == pytest.approx(top, abs=1e-6)


def test_infinite_values_are_compared_as_well():
    fall = largest(lambda moves: np.where(moves.way > 0, -math.inf, moves.lift_mm), lobe())
    assert fall == Extreme(8, 90)
    assert largest(lambda moves: np.where(moves.way < 0, math.inf, 0.0), lobe()).value == math.inf


def test_arcs_below_end_where_scipy_finds_the_roots():
    up = brentq(lambda x: RISE.lift(x) - 4, 20, 100, xtol=1e-13)
    down = brentq(lambda x: TRACK.lift(x) - 4, 150, 240, xtol=1e-13)
    (arc,) = arcs_below(lambda moves: 4 - moves.lift_mm, TRACK)
    assert arc == pytest.approx((up, down), abs=1e-7)
    (arc,) = arcs_below(lambda moves: moves.lift_mm - 4, TRACK)
    assert arc == pytest.approx((down, up + 360), abs=1e-7)


def test_arcs_at_the_edges():
    assert arcs_below(lambda moves: moves.lift_mm + 1, TRACK) == ()
    assert arcs_below(lambda moves: moves.lift_mm - 10, TRACK) == ((0.0, 360.0),)
    assert arcs_below(lambda moves: moves.lift_mm - 1 - 1e-10, TRACK) == ()
    assert arcs_below(lambda moves: moves.way - 1.0 + 1e-10, TRACK) == ((100.0, 380.0),)
    two = arcs_below(lambda moves: 0.5 - abs(moves.way), TRACK)
    assert two == ((20.0, 100.0), (150.0, 240.0))
    ((start, end),) = arcs_below(lambda moves: moves.lift_mm - 0.05, lobe())  # less than a space of the grid
    assert (start, end) == pytest.approx((360 - 0.05 / 8 * 270, 360 + 0.05 / 8 * 90), abs=1e-6)
    whole = Programme((Segment(5, 30, 0, 0), Segment(30, 60, 0, 3, "3-4-5"), Segment(60, 70, 3, 3)))
    first, last = arcs_below(lambda moves: abs(moves.way) - 1.0, whole)
    assert first == (5.0, 30.0) and last == (60.0, 70.0)  # no seam without a period


def test_several_arcs_in_one_segment_and_over_the_seam():
    def quantity(moves):
        lift = moves.lift_mm
        return (lift - 1) * (lift - 2) * (lift - 4) * (lift - 6) * (lift - 7)

    found = arcs_below(quantity, lobe())  # lifts below 1, from 2 to 4 and from 6 to 7
    ups = [(22.5, 45.0), (67.5, 78.75)]
    downs = [(90 + 33.75, 90 + 67.5), (225, 292.5), (326.25, 360 + 11.25)]
    assert len(found) == 5 and np.array(found) == pytest.approx(np.array(ups + downs), abs=1e-6)


def test_a_narrow_arc_is_not_missed():
    peak = largest(lambda moves: moves.slope_mm, TRACK)
    (arc,) = arcs_below(lambda moves: peak.value - 1e-4 - moves.slope_mm, TRACK)
    assert arc[0] < peak.angle_deg < arc[1]
    assert 0.1 < arc[1] - arc[0] < 80 / 64
    (arc,) = arcs_below(lambda moves: abs(moves.angle_deg - 33.3) - 0.01, lobe())  # between two of the grid
    assert arc == pytest.approx((33.29, 33.31), abs=1e-6)


@pytest.mark.parametrize("ends", [(1, 4), (4, 1)])
@pytest.mark.parametrize("falls", [1, -1])
def test_root_narrows_to_the_last_digits(falls, ends):
    assert root(lambda x: falls * (x**3 - 5), *ends) == pytest.approx(5 ** (1 / 3), rel=1e-13)


def test_corners_are_where_the_slope_steps():
    up, down = 8 / math.radians(90), -8 / math.radians(270)
    seam, top = corners(lobe())
    assert seam == pytest.approx(Corner(0, down, up)) and top == pytest.approx(Corner(90, up, down))
    sides = Segment(0, 90, 0, 2, "constant velocity"), Segment(90, 180, 2, 0, "constant velocity")
    even = Programme(sides, 180)
    assert [corner.angle_deg for corner in corners(even)] == [0, 90]
    straight = Segment(30, 60, 1, 2, "constant velocity"), Segment(60, 90, 2, 3, "constant velocity")
    split = Programme((Segment(0, 30, 1, 1), *straight, Segment(90, 99, 3, 3)))
    assert [corner.angle_deg for corner in corners(split)] == [30, 90]
    round_about = Programme(
        (*straight, Segment(90, 360, 3, 1, "constant velocity"), Segment(360, 390, 1, 1)), 360
    )
    assert [corner.angle_deg for corner in corners(round_about)] == [30, 90, 360]
    assert corners(TRACK) == () and corners(lobe("3-4-5")) == ()
    ramp = Segment(30, 60, 0, 3, "constant velocity")
    track = Programme((Segment(0, 30, 0, 0), ramp, Segment(60, 70, 3, 3)))
    assert [corner.angle_deg for corner in corners(track)] == [30, 60]
