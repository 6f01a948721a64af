"""Pieces of curves against sympy, numerical differences and dense sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.cams import Piece, Wave
from mechlib.cams.pieces import end_value, extremes, integrated, jumps, spans
from mechlib.errors import MechError

X = sympy.symbols("x")
sizes = st.integers(-8, 8).map(lambda n: n / 4)
phases = st.integers(-6, 6).map(float)


@st.composite
def waves(draw):
    """One to three sines whose omegas are whole multiples of one; the first isn't nought."""
    base = draw(st.sampled_from([0.5, 1.0, math.pi, 4 * math.pi / 3, 7.0]))
    rows = draw(st.lists(st.tuples(sizes, st.integers(1, 4), phases), min_size=0, max_size=2))
    first = Wave(draw(st.sampled_from([-2.0, 0.5, 1.0])), base, draw(phases))
    return (first, *(Wave(size, base * k, phase) for size, k, phase in rows))


def exact(piece: Piece):
    """The piece as a sympy expression of x from its start."""
    total = sum(sympy.Float(c, 30) * X**k for k, c in enumerate(piece.poly))
    return total + sum(
        sympy.Float(w.amplitude, 30) * sympy.sin(sympy.Float(w.omega, 30) * X + sympy.Float(w.phase, 30))
        for w in piece.waves
    )


@settings(max_examples=times(4, 100))
@given(st.lists(sizes, max_size=4), waves(), st.floats(0, 1), st.sampled_from([-3.0, 0.5, 2.0]))
def test_value_scale_derivative_and_integral_as_sympy_has_them(poly, sines, u, factor):
    piece = Piece(0.25, tuple(poly), sines)
    formula = exact(piece)
    primitive = sympy.integrate(formula, X)
    room = 1e-11
    assert piece.value(u) == pytest.approx(float(formula.subs(X, u)), abs=room)
    assert float(piece.value(np.array([u]), np.sin)[0]) == pytest.approx(piece.value(u), abs=1e-12)
    assert piece.scaled(factor).value(u) == pytest.approx(factor * piece.value(u), abs=room)
    assert piece.derivative().value(u) == pytest.approx(float(sympy.diff(formula, X).subs(X, u)), abs=1e-9)
    whole = piece.integral(factor)
    risen = float((primitive.subs(X, u) - primitive.subs(X, 0)).evalf(25))
    assert whole.value(0.0) == pytest.approx(factor, abs=1e-12)
    assert whole.value(u) == pytest.approx(factor + risen, abs=room)
    for other in (piece.scaled(factor), piece.derivative(), whole):
        assert other.start == 0.25


def test_turning_points_lie_in_the_piece():
    assert Piece(0.3, waves=(Wave(2.0, 4 * math.pi),)).turning_points(0.5) == pytest.approx([1 / 8, 3 / 8])
    assert Piece(0.3, (5.0,), (Wave(2.0, math.pi, 0.2),)).turning_points(0.4) == []
    assert Piece(0.3, (5.0,), (Wave(2.0, math.pi, 0.2),)).turning_points(0.5) == pytest.approx(
        [0.5 - 0.2 / math.pi]
    )
    assert Piece(0.0, (0.0, 0.0, 1.0, -1.0)).turning_points(0.6) == pytest.approx([0])
    assert Piece(0.0, (0.0, 0.0, 1.0, -1.0)).turning_points(0.7) == pytest.approx([0, 2 / 3])
    assert Piece(0.0, (0.0, 0.0, -1.0, -1.0)).turning_points(0.7) == pytest.approx([0])
    assert Piece(0.0, (3.0,)).turning_points(1.0) == Piece(0.0, (3.0, 0.0)).turning_points(1.0) == []
    assert Piece(0.0, (0.0, 1.0, -1.0, 0.0, 0.0)).turning_points(1.0) == [0.5]


def test_turning_points_come_again_each_turn():
    """cos 4πu over three turns of the sine: every quarter but the ends."""
    found = Piece(0.0, waves=(Wave(1.0, 4 * math.pi, math.pi / 2 + 0.1),)).turning_points(1.4)
    expected = [(k - 0.1 / math.pi) / 4 for k in range(1, 6)]
    assert found == pytest.approx(expected)


def test_a_touching_turn_of_two_sines_is_found():
    """cos φ − cos 2φ, the double harmonic push: highest where cos φ = 1/4."""
    push = Piece(0.0, waves=(Wave(1.0, math.pi, math.pi / 2), Wave(-1.0, 2 * math.pi, math.pi / 2)))
    low, high = extremes((push,))
    assert (low, high) == pytest.approx((-2, 9 / 8), abs=1e-14)
    assert any(abs(u - math.acos(1 / 4) / math.pi) < 1e-12 for u in push.turning_points(1.0))


@given(st.lists(sizes, max_size=4), waves(), st.sampled_from([0.0, 0.375, 0.5]), st.booleans())
def test_extremes_are_those_of_dense_sampling(poly, sines, start, wavy):
    """Never passed, and reached to what a grid of 1/20000 can miss (half its square times the curvature)."""
    piece = Piece(0.0, (poly[0] if poly else 0.0,), sines) if wavy else Piece(0.0, tuple(poly))
    late = Piece(start, piece.poly, piece.waves)
    curve = (Piece(0.0, (0.5,)), late) if start else (late,)
    u = np.linspace(0, 1 - start, 20001)
    values = np.append(late.value(u, np.sin), [0.5] if start else [])
    low, high = extremes(curve)
    curvature = np.abs(late.derivative().derivative().value(u, np.sin)).max() + 1
    room = curvature / 20000**2
    assert values.min() - room <= low <= values.min() + 1e-12
    assert values.max() - 1e-12 <= high <= values.max() + room


def test_pieces_reach_to_the_next_one_and_the_last_to_the_end():
    curve = (Piece(0.0, (1.0,)), Piece(0.25, (2.0, 4.0)), Piece(0.75, (0.0, 8.0)))
    assert [length for _, length in spans(curve)] == [0.25, 0.5, 0.25]
    assert end_value(curve) == 2.0
    whole = integrated(curve, 5.0)
    # 5, then a quarter of 1, then half of 2 + 4u: 1 + 2·½², then 8u: 4·¼².
    assert [piece.value(0.0) for piece in whole] == [5.0, 5.25, 6.75] and end_value(whole) == 7.0


@pytest.mark.parametrize(
    "curve, steps",
    [
        ((Piece(0.0, (0.0, 1.0)), Piece(0.5, (0.5, -1.0))), False),
        ((Piece(0.0, (0.0, 1.0)), Piece(0.5, (0.5 + 1e-8, -1.0 - 2e-8))), True),
        ((Piece(0.0, (0.0, 1.0)), Piece(0.5, (0.5 + 1e-10, -1.0))), False),
        ((Piece(0.0, (0.0, 1.0)), Piece(0.5, (-0.5, 1.0))), True),
        ((Piece(0.0, (0.0, 1.0)),), True),
        ((Piece(0.0, (0.0, -1.0)),), True),
        ((Piece(0.0, (1.0, -1.0)),), True),
        ((Piece(0.0, (-1.0, 1.0)),), True),
        ((Piece(0.0, waves=(Wave(3.0, math.pi),)),), False),
    ],
)
def test_steps_are_seen_inside_and_at_both_ends(curve, steps):
    assert jumps(curve) == steps


@pytest.mark.parametrize(
    "omegas", [(0.0,), (-1.0,), (1.0, 1.5), (1.0, 51.0), (1.0, 0.0), (math.nan,), (2.0, math.inf)]
)
def test_sines_without_a_common_measure_are_refused(omegas):
    with pytest.raises(MechError, match="a sine of the piece at 0.5 has an omega.*whole multiple"):
        Piece(0.5, waves=tuple(Wave(1.0, omega) for omega in omegas))


def test_sines_with_a_common_measure_are_let_in():
    assert Piece(0.0, waves=tuple(Wave(1.0, omega) for omega in (0.3, 0.6, 15.0))).value(0.0) == 0
