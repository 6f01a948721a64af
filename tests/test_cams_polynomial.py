"""Polynomial laws against sympy, scipy's interpolation with derivatives, and those printed in a handbook."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import KroghInterpolator
from share import times

from mechlib.cams import Programme, Segment, law, polynomial, polynomial_coefficients
from mechlib.errors import MechError

X = sympy.symbols("x")
ENDS = [(0, 0, 0), (1, 0, 1)]


def at_rest(orders: int) -> list[tuple]:
    """Both ends with that many derivatives at nought."""
    return ENDS + [(x, order, 0) for order in range(1, orders + 1) for x in (0, 1)]


@st.composite
def hermite(draw):
    """Rational conditions, at each x the derivatives from the lift up: (x, order, value), 2 to 9 of them."""
    places = draw(st.lists(st.fractions(0, 1, max_denominator=8), min_size=1, max_size=3, unique=True))
    values = st.fractions(-3, 3, max_denominator=6)
    most = 9 // len(places)
    rows = [(x, n, draw(values)) for x in places for n in range(draw(st.integers(1, most)))]
    if len(rows) == 1:
        rows.append((rows[0][0], 1, draw(values)))
    return draw(st.permutations(rows))


@pytest.mark.parametrize("orders, name", [(2, "3-4-5"), (3, "4-5-6-7")])
def test_the_two_of_the_trade_come_out(orders, name):
    ours, known = polynomial(at_rest(orders)), law(name)
    assert ours.name == name + " polynomial"
    x = np.linspace(0, 1, 101)
    for method in ("position", "velocity", "acceleration", "jerk"):
        assert getattr(ours, method)(x) == pytest.approx(getattr(known, method)(x), abs=1e-10)
    for kind in ("velocity", "acceleration", "jerk"):
        assert getattr(ours.peaks, kind) == pytest.approx(getattr(known.peaks, kind), rel=1e-12)
    assert ours.monotone and ours.inverse(0.3) == pytest.approx(known.inverse(0.3), abs=1e-13)


def test_ends_at_rest_give_the_binomial_formula():
    """With m derivatives at nought at both ends: Σ C(m+k, k)·C(2m+1, m−k)·(−1)^k·x^(m+1+k)."""
    for m in range(6):
        found = polynomial_coefficients(at_rest(m))
        formula = [0] * (m + 1)
        formula += [(-1) ** k * math.comb(m + k, k) * math.comb(2 * m + 1, m - k) for k in range(m + 1)]
        assert found == tuple(formula)


@settings(max_examples=times(15, 100))
@given(hermite())
def test_every_condition_is_met_exactly(conditions):
    found = polynomial_coefficients(conditions)
    assert len(found) == len(conditions)
    formula = sum(sympy.Rational(c.numerator, c.denominator) * X**k for k, c in enumerate(found))
    for x, order, value in conditions:
        at = sympy.Rational(x.numerator, x.denominator)
        exact = sympy.diff(formula, X, order).subs(X, at)
        assert exact == sympy.Rational(value.numerator, value.denominator)


@given(hermite(), st.floats(0, 1))
def test_a_library_interpolation_gives_the_same(conditions, x):
    rows = sorted(conditions)
    reference = KroghInterpolator([float(at) for at, _, _ in rows], [float(value) for *_, value in rows])
    ours = np.polynomial.Polynomial([float(c) for c in polynomial_coefficients(conditions)])
    sizes = 1 + sum(abs(float(c)) for c in polynomial_coefficients(conditions))
    assert ours(x) == pytest.approx(float(reference(x)), abs=1e-8 * sizes)


def test_conditions_in_between_and_gaps_in_the_orders():
    """From standstill through a third of the lift at half way, with a given speed there."""
    conditions = [(0, 0, 0), (0, 1, 0), (Fraction(1, 2), 0, Fraction(1, 3)), (0.5, 1, 1), (1, 0, 1)]
    curve = polynomial(conditions)
    assert curve.position(0.5) == pytest.approx(1 / 3, abs=1e-14)
    assert curve.velocity(0.5) == pytest.approx(1, abs=1e-13) and curve.velocity(0) == 0
    # A gap: the acceleration is asked for, the velocity isn't. s = x³ + c1·x, s″(1) = 6.
    assert polynomial_coefficients([(0, 0, 0), (1, 0, 1), (1, 2, 6), (0, 2, 0)]) == (0, 0, 0, 1)
    assert polynomial([(0, 0, 0), (1, 0, 1), (1, 2, 6), (0, 2, 0)]).name == "3 polynomial"


def test_a_start_at_speed_and_the_straight_line():
    straight = polynomial(ENDS)
    assert straight.peaks == law("constant velocity").peaks
    assert straight.position(0.3) == pytest.approx(0.3, abs=1e-15) and straight.velocity(0.3) == 1
    curve = polynomial([*ENDS, (0, 1, 0.5)])
    assert curve.velocity(0) == pytest.approx(0.5, abs=1e-15)
    assert curve.position(0.5) == pytest.approx(0.5 * 0.5 + 0.5 * 0.25, abs=1e-15)


def test_floats_are_taken_at_their_exact_worth():
    assert polynomial_coefficients([(0, 0, 0), (1, 0, 0.1)]) == (0, Fraction(0.1))
    assert polynomial_coefficients([(0, 0, 0), (1, 0, Fraction(1, 10))]) == (0, Fraction(1, 10))
    assert polynomial_coefficients([(0, 0, 0), (1, 0, -2)]) == (0, -2)
    assert polynomial_coefficients([(0, 0, -1e6), (0, 1, 1e6)]) == (-1000000, 1000000)


@pytest.mark.parametrize("orders", [1, 2, 3, 4, 5])
def test_high_degrees_keep_nine_digits_at_their_ends(orders):
    curve = polynomial(at_rest(orders))
    assert curve.position(1.0) == pytest.approx(1, abs=1e-12)
    assert curve.velocity(1.0) == pytest.approx(0, abs=1e-11)
    if orders > 1:
        assert curve.acceleration(1.0) == pytest.approx(0, abs=1e-9)
        assert math.isfinite(curve.peaks.jerk)
    if orders > 2:
        assert curve.jerk(1.0) == pytest.approx(0, abs=1e-8)
    x = np.linspace(0, 1, 501)
    assert np.all(np.diff(curve.position(x)) > -1e-13) and curve.monotone


def test_a_polynomial_that_turns_back_says_so_and_no_track_takes_it():
    """A velocity of 3 asked for at both ends: s = 3x − 6x² + 4x³ dips in the middle? Its v = 3(1 − 2x)²."""
    touching = polynomial([*ENDS, (0, 1, 3), (1, 1, 3)])
    assert touching.monotone and Segment(0, 10, 0, 5, touching).lift(5) == pytest.approx(2.5)
    back = polynomial([*ENDS, (0, 1, Fraction(31, 10)), (1, 1, Fraction(31, 10))])
    assert not back.monotone and "turns back on its way" in back.sentence()
    x = np.linspace(0, 1, 2001)
    assert back.velocity(x).min() == pytest.approx(back.velocity(0.5), abs=1e-9) and back.velocity(0.5) < 0
    with pytest.raises(MechError, match="1-2-3 polynomial law turns back.*rises or falls all the way"):
        Segment(0, 10, 0, 5, back)
    with pytest.raises(MechError, match="turns back"):
        back.inverse(0.5)
    over = polynomial([*ENDS, (1, 1, -1)])
    assert over.position(np.array([0.75]))[0] > 1 and over.position(0.75) == pytest.approx(9 / 8)


def test_a_polynomial_moves_a_follower():
    curve = polynomial([*ENDS, (0, 1, 0), (0, 2, 0), (1, 1, 0)])  # 4x³ − 3x⁴
    track = Programme((Segment(0, 9, 2, 2), Segment(9, 29, 2, 7, curve), Segment(29, 40, 7, 7)))
    assert track.lift(19) == pytest.approx(2 + 5 * (4 / 8 - 3 / 16))
    assert track.slope(19) == pytest.approx(5 / 20 * (12 / 4 - 12 / 8))
    assert track.arcs_within(2, 2 + 5 * 5 / 16)[0][1] == pytest.approx(19, abs=1e-9)


# Printed in Rothbart, Cam Design Handbook, page 445: figures 13.24 and 13.25, as falls y from the nose.
@pytest.mark.parametrize(
    "conditions, printed",
    [
        (
            [(0, 1, 0), (0, 3, 0), (1, 1, 0), (1, 2, 0)],
            (0, 0, Fraction(10, 3), 0, -5, Fraction(8, 3)),
        ),
        (
            [(0, 1, 0), (0, 3, 0), (0, 4, 0), (1, 1, 0), (1, 2, 0)],
            (0, 0, Fraction(5, 2), 0, 0, -4, Fraction(5, 2)),
        ),
    ],
)
def test_polynomials_for_a_rise_that_goes_straight_on_into_a_fall(conditions, printed):
    assert polynomial_coefficients([*ENDS, *conditions]) == printed


def test_the_eighth_degree_polynomial_as_printed():
    """Page 100 of the same: 6.09755x³ − 20.78040x⁵ + 26.73155x⁶ − 13.60965x⁷ + 2.56095x⁸.

    Which conditions it stems from isn't printed there.  It starts without a push or a fourth derivative and
    ends with its third and fourth derivatives at nought; its first coefficient is taken from the print.
    """
    start = [(0, 1, 0), (0, 2, 0), (0, 3, 6 * Fraction("6.09755")), (0, 4, 0)]
    end = [(1, 1, 0), (1, 3, 0), (1, 4, 0)]
    found = [float(c) for c in polynomial_coefficients([*ENDS, *start, *end])]
    assert found == pytest.approx([0, 0, 0, 6.09755, 0, -20.78040, 26.73155, -13.60965, 2.56095], abs=1e-12)
    assert polynomial([*ENDS, *start, *end]).monotone


@pytest.mark.parametrize(
    "conditions, message",
    [
        ([], "the number of conditions is 0: .*from 2 to 12"),
        ([(0, 0, 0)], "the number of conditions is 1"),
        (at_rest(5) + [(0.5, 0, 0.5)], "the number of conditions is 13"),
        ([*ENDS, (0, 0, 0)], "condition 3 stands twice"),
        ([*ENDS, (Fraction(1), 0, 1.0)], "condition 3 stands twice"),
        ([*ENDS, (1, 0, 2)], "condition 3 contradicts another.*one value"),
        ([*ENDS, (1.5, 0, 2)], "x of condition 3 is 1.5: it must be from 0 to 1"),
        ([*ENDS, (-0.5, 0, 2)], "x of condition 3"),
        ([*ENDS, (0, 3, 0)], "the order of condition 3 is 3: .*from 0 to 2; each order"),
        ([*ENDS, (0, -1, 0)], "the order of condition 3"),
        ([*ENDS, (0, 1.5, 0)], "the order of condition 3"),
        ([*ENDS, (0, 1, math.nan)], "the value of condition 3"),
        ([*ENDS, (0, 1, "0")], "the value of condition 3"),
        ([*ENDS, (0, 1, 1000000.5)], "the value of condition 3 is 1e.06"),
        ([*ENDS, (0, 1, -1000000.5)], "the value of condition 3 is -1e.06"),
        ([*ENDS, (0, 1)], "condition 3 is .*write .x, order"),
        ([*ENDS, 7], "condition 3 is 7"),
        # s(1) − s(0) of any parabola is its slope half way: the three settle nothing.
        ([*ENDS, (0.5, 1, 1)], "3 conditions don't settle a polynomial of degree 2"),
        ([*ENDS, (0.5, 1, 2)], "3 conditions don't settle"),
        ([(0, 1, 0), (1, 1, 0)], "2 conditions don't settle"),
    ],
)
def test_bad_conditions_are_refused(conditions, message):
    for function in (polynomial, polynomial_coefficients):
        with pytest.raises(MechError, match=message):
            function(conditions)


@pytest.mark.parametrize(
    "conditions, message",
    [
        ([(0, 0, 0.25), (1, 0, 1)], r"the lift 0.25 at x = 0: it must be 0 there: put \(0, 0, 0\)"),
        ([(0, 0, 0), (1, 0, 2)], r"the lift 2 at x = 1: it must be 1 there: put \(1, 0, 1\)"),
        ([(0, 0, 0), (0, 1, 3)], "the lift 3 at x = 1"),
    ],
)
def test_a_law_goes_from_nought_to_one(conditions, message):
    with pytest.raises(MechError, match=message):
        polynomial(conditions)
    assert len(polynomial_coefficients(conditions)) == 2
