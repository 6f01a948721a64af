"""Cells and the clock against closed forms and scipy; closing in on a zero against scipy's root finder."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from mechlib.transports.clock import CELL_DEG, CLOSE_DEG, Clock, cells_between, closed_in


@pytest.mark.parametrize(
    "corners", [(0.0, 2.0), (-3.3, -0.07, 0.0, 0.06, 5.5), (0.0, 0.125, 0.25), (1.0, 1.0 + 2e-9)]
)
def test_cells_fill_the_way_and_are_cut_at_corners(corners):
    cells = cells_between(corners)
    assert (cells.edges[0], cells.edges[-1]) == (corners[0], corners[-1])
    assert set(corners) <= set(cells.edges.tolist()) and np.all(np.diff(cells.edges) > 0)
    assert np.max(np.diff(cells.edges)) <= CELL_DEG * 1.001 and np.all(np.diff(cells.theta) > -1e-9)
    low, middle, high = cells.each(cells.theta)
    assert np.allclose(low, cells.edges[:-1], rtol=0, atol=2e-10)
    assert np.allclose(high, cells.edges[1:], rtol=0, atol=2e-10)
    assert np.allclose(middle, (cells.edges[1:] + cells.edges[:-1]) / 2, rtol=0, atol=2e-10)


def test_a_cell_depends_on_the_corners_next_to_it_only():
    one, other = (
        cells_between(corners).edges for corners in ((0.03, 7.0, 9.0), (-4.0, 0.031, 7.0, 7.3, 9.9))
    )
    inside = [edges[(edges > 0.1) & (edges < 6.9)].tolist() for edges in (one, other)]
    assert inside[0] == inside[1] and len(inside[0]) > 50


FOUR_DIGITS = 5e-5


def stepping(theta):
    """A speed that steps at 1.3 and falls almost to nothing towards the end."""
    return np.where(theta < 1.3, 5 - np.sin(theta), (5.01 - theta) * (1 + 0.3 * np.cos(3 * theta)))


def test_the_clock_against_quadrature():
    cells = cells_between((0.0, 1.3, 5.0))
    clock = Clock(cells, stepping(cells.theta))
    for start, end in ((0.0, 5.0), (0.31, 0.32), (1.2999, 1.3001), (1.0, 3.777), (4.8, 5.0)):
        time = quad(
            lambda x: 1 / stepping(x), start, end, points=[1.3] if start < 1.3 < end else None, epsabs=1e-12
        )[0]
        assert clock.at(end) - clock.at(start) == pytest.approx(time, rel=FOUR_DIGITS, abs=1e-10)
        assert clock.theta_at(clock.at(end)) == pytest.approx(end, abs=1e-8)
    assert clock.theta_at(-1.0) == 0.0 and clock.theta_at(1e9) == 5.0


@pytest.mark.parametrize("excess, low, high", [
    (lambda x: x**3 - 2, 0.0, 2.0),
    (lambda x: 1 - np.exp(x), 3.0, -0.5),
    (lambda x: np.tanh(50 * (x - 0.9)), 0.0, 1.0),
])  # fmt: skip
def test_closing_in_against_brentq(excess, low, high):
    near, far = closed_in(excess, low, high)
    zero = brentq(excess, low, high, xtol=1e-14)
    assert abs(far - near) <= CLOSE_DEG and excess(near) < 0 <= excess(far)
    assert near == pytest.approx(zero, abs=2 * CLOSE_DEG)


@pytest.mark.parametrize("step", [0.1234567, 1e-9, 0.999999])
def test_closing_in_on_a_step(step):
    """No zero at all: it comes to where the sign changes, in a few dozen steps."""
    asked = []

    def excess(x):
        asked.append(x)
        return -3.0 if x < step else 0.001

    near, far = closed_in(excess, 0.0, 1.0)
    assert near < step <= far and far - near <= CLOSE_DEG and len(asked) < 400
