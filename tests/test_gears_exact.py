"""Exact elimination against sympy, and numbers kept as they were typed."""

from __future__ import annotations

from fractions import Fraction

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from mechlib.errors import MechError
from mechlib.gears.exact import ONE, Contradiction, exact, sign, solve

NAMES = ("a", "b", "c", "d")
rows = st.lists(st.integers(-3, 3), min_size=5, max_size=5)


def as_equations(matrix):
    return [dict(zip((*NAMES, ONE), row, strict=True)) for row in matrix]


@given(st.lists(rows, min_size=1, max_size=6))
def test_it_answers_as_sympy_does(matrix):
    left, right = sympy.Matrix([row[:4] for row in matrix]), sympy.Matrix([-row[4] for row in matrix])
    solvable = left.rank() == left.row_join(right).rank()
    if not solvable:
        with pytest.raises(Contradiction):
            solve(as_equations(matrix))
        return
    found = solve(as_equations(matrix))
    assert len(found) == left.rank()
    symbols = sympy.symbols(NAMES)
    by_name = dict(zip(NAMES, symbols, strict=True)) | {ONE: sympy.Integer(1)}
    value = {
        by_name[name]: sum(by_name[n] * sympy.Rational(f.numerator, f.denominator) for n, f in row.items())
        for name, row in found.items()
    }
    assert not {n for row in found.values() for n in row} & set(found)  # only open ones are left over
    for equation in left * sympy.Matrix(symbols) - right:
        assert sympy.expand(equation.subs(value, simultaneous=True)) == 0


def test_unknowns_of_any_kind_and_factors_of_nothing():
    assert solve([{("t", 1): 2, "x": 0, ONE: -3}]) == {("t", 1): {ONE: Fraction(3, 2)}}
    assert solve([{}, {"x": 0, ONE: 0}]) == {}


@pytest.mark.parametrize(
    "typed, kept",
    [
        (0.1, Fraction(1, 10)),
        (-2, Fraction(-2)),
        (Fraction(22, 7), Fraction(22, 7)),
        (1e-7, Fraction(1, 10**7)),
    ],
)
def test_a_number_is_kept_as_it_was_typed(typed, kept):
    assert exact("x", typed) == kept


@pytest.mark.parametrize(
    "number, is_", [(Fraction(1, 9), 1), (2, 1), (0, 0), (Fraction(-1, 9), -1), (-2, -1)]
)
def test_signs(number, is_):
    assert sign(number) == is_


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), "3", None, True])
def test_what_is_no_number_is_refused(bad):
    with pytest.raises(MechError, match="speed"):
        exact("speed", bad)
