"""The path of a belt, against the hull of two circles and a thread laid round them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.spatial import ConvexHull

from mechlib.drives.belts import BeltPath, driven_speed, path_for_length, pitch_diameter
from mechlib.errors import MechError

POINTS = np.linspace(0, 2 * math.pi, 3601)[:-1]

sizes = st.tuples(st.floats(3, 100), st.floats(3, 100), st.floats(1.01, 6)).map(
    lambda made: (made[0], made[1], made[2] * (made[0] + made[1]) / 2)
)


def circle(at, radius):
    return np.column_stack([at + radius * np.cos(POINTS), radius * np.sin(POINTS)])


@given(sizes)
def test_an_open_belt_is_the_hull_of_both_pulleys(made):
    driver, driven, centres = made
    path = BeltPath(driver, driven, centres)
    hull = ConvexHull(np.vstack([circle(0, driver / 2), circle(centres, driven / 2)]))
    assert path.length_mm == pytest.approx(hull.area, rel=1e-6)  # "area" of a plane hull is its perimeter
    corners = hull.points[hull.vertices]
    edges = np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1)
    assert path.span_mm == pytest.approx(max(edges), abs=0.002 * (driver + driven))
    on_driver = sum(hull.vertices < len(POINTS)) / len(POINTS) * 360
    on_driven = sum(hull.vertices >= len(POINTS)) / len(POINTS) * 360
    assert path.driver_wrap_deg == pytest.approx(on_driver, abs=0.25)
    assert path.driven_wrap_deg == pytest.approx(on_driven, abs=0.25)


def tangent_crossing(driver, driven, centres):
    """Length and wrap of a crossed belt: the points of contact where a line touches both, found by search."""
    r1, r2 = driver / 2, driven / 2

    def miss(angle):  # the line that touches pulley 1 at this angle, and its distance from the other centre
        normal = np.array([math.cos(angle), math.sin(angle)])
        return (centres * normal[0] - r1) - r2

    angle = brentq(miss, 0, math.pi / 2)
    first = r1 * np.array([math.cos(angle), math.sin(angle)])
    second = np.array([centres, 0]) - r2 * np.array([math.cos(angle), math.sin(angle)])
    wrap = 2 * math.pi - 2 * angle
    return 2 * np.linalg.norm(second - first) + wrap * (r1 + r2), math.degrees(wrap)


@given(sizes)
def test_a_crossed_belt_touches_both_pulleys(made):
    path = BeltPath(*made, crossed=True)
    length, wrap = tangent_crossing(*made)
    assert path.length_mm == pytest.approx(length, rel=1e-9)
    assert path.driver_wrap_deg == path.driven_wrap_deg == pytest.approx(wrap, rel=1e-9)
    assert path.length_mm > BeltPath(*made).length_mm


@given(sizes, st.booleans())
def test_centres_and_length_there_and_back(made, crossed):
    driver, driven, centres = made
    path = BeltPath(driver, driven, centres, crossed)
    back = path_for_length(path.length_mm, driver, driven, crossed)
    assert back.centres_mm == pytest.approx(centres, rel=1e-7) and back.crossed == crossed
    turned = BeltPath(driven, driver, centres, crossed)
    assert turned.length_mm == pytest.approx(path.length_mm)
    assert turned.driver_wrap_deg == pytest.approx(path.driven_wrap_deg)


def test_equal_pulleys_touching_pulleys_and_limits():
    equal = BeltPath(20, 20, 50)
    assert equal.length_mm == pytest.approx(100 + 20 * math.pi) and equal.driver_wrap_deg == 180
    touching = BeltPath(20, 20, 20, crossed=True)
    assert touching.length_mm == pytest.approx(40 * math.pi) and touching.driver_wrap_deg == 360
    assert path_for_length(touching.length_mm, 20, 20, True).centres_mm == pytest.approx(20)
    assert path_for_length(40 + 20 * math.pi, 20, 20).centres_mm == pytest.approx(20)
    usual = 2 * 80 + math.pi / 2 * 72 + 48**2 / 320
    assert BeltPath(12, 60, 80).length_mm - usual == pytest.approx(0.0555, abs=1e-4)


def test_sentences():
    assert BeltPath(12, 60, 80, True).sentence() == (
        "The crossed belt runs along 289.589 mm and lies round 233.5° of the driver and 233.5° "
        "of the driven pulley."
    )
    assert BeltPath(60, 12, 80).sentence() == (
        "The belt runs along 280.353 mm and lies round 214.9° of the driver and 145.1° of the driven pulley."
    )


@given(st.floats(-5000, 5000), st.floats(5, 90), st.floats(5, 90), st.floats(0, 3), st.floats(0, 10))
def test_the_middle_of_the_belt_runs_at_one_speed(rev_min, d1, d2, thick, creep):
    """v = ω·r of the middle line is the same on both pulleys, but for creep."""
    driven = driven_speed(rev_min, d1, d2, thick, creep)
    first, second = rev_min * (d1 / 2 + thick / 2), driven * (d2 / 2 + thick / 2)
    assert second == pytest.approx(first * (100 - creep) / 100)
    assert driven_speed(rev_min, d1, d2, thick, creep, crossed=True) == -driven
    assert pitch_diameter(d1, thick) == pytest.approx(2 * (d1 / 2 + thick / 2))


def test_no_thickness_and_no_creep_unless_given():
    assert driven_speed(100, 20, 50) == pytest.approx(40)


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: BeltPath(0, 60, 80), "driver_mm is 0 mm"),
        (lambda: BeltPath(12, 2001, 2000), "driven_mm is 2001 mm"),
        (lambda: BeltPath(12, 60, 35.9), "35.9 mm: it must be from 36 to 10000 mm; pulleys must not overlap"),
        (lambda: BeltPath(12, 60, math.inf), "centres_mm is inf"),
        (lambda: path_for_length(180, 12, 60), "180 mm: round pulleys that touch it is already 201.790 mm"),
        (lambda: path_for_length(0, 12, 60), "length_mm is 0 mm"),
        (lambda: path_for_length(200, "12", 60), "driver_mm is '12'"),
        (lambda: path_for_length(200, 12, 0), "driven_mm is 0 mm"),
        (lambda: driven_speed(None, 12, 60), "rev_min is None"),
        (lambda: driven_speed(100, 12, 60, -1), "thickness_mm is -1 mm"),
        (lambda: driven_speed(100, 12, 60, 0, 51), "creep_percent is 51%"),
        (lambda: driven_speed(100, 12, 0), "diameter_mm is 0 mm"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: pitch_diameter(x, 1), 1, 2000),
        (lambda x: pitch_diameter(10, x), 0, 20),
        (lambda x: BeltPath(10, 10, x), 10, 1e4),
        (lambda x: BeltPath(x, 10, 5000), 1, 2000),
        (lambda x: path_for_length(x, 1, 1), BeltPath(1, 1, 1).length_mm, 2e4),
        (lambda x: driven_speed(x, 10, 20), -1e6, 1e6),
        (lambda x: driven_speed(1, 10, 20, 0, x), 0, 50),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
