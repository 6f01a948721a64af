"""A polynomial lift law from its boundary conditions, solved exactly in fractions."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import perm
from numbers import Rational

from mechlib.cams.laws import Law
from mechlib.cams.pieces import Piece
from mechlib.errors import MechError, check_count, check_number

MOST_CONDITIONS = 12  # a higher degree loses more than 1e-9 of its acceleration to rounding


def polynomial_coefficients(conditions: Iterable[tuple]) -> tuple[Fraction, ...]:
    """The coefficients c0, c1, … of the polynomial s(x) = Σ c_k·x^k that meets the conditions.

    A condition is (x, order, value): the derivative of that order (0 the lift, 1 the velocity, 2 the
    acceleration, 3 the jerk, …) has that value at x.  x is from 0 to 1, the order less than the number of
    conditions, of which there are 2 to 12; n of them make a polynomial of degree n − 1.
    Each is one linear equation, Σ k!/(k − order)!·x^(k − order)·c_k = value, solved exactly: give fractions
    to get fractions.
    Raises MechError for too few or too many conditions, one that stands twice or against another, and
    conditions that no polynomial of that degree, or more than one, meets.
    Source: Rothbart, Cam Design Handbook, chapter 4 (polynomial cam curves).

    >>> [str(c) for c in polynomial_coefficients([(0, 0, 0), (0, 1, 0), (1, 0, 1), (1, 1, 0)])]
    ['0', '0', '3', '-2']
    """
    checked = _checked(list(conditions))
    count = len(checked)
    rows = [
        [perm(k, order) * x ** (k - order) if k >= order else Fraction(0) for k in range(count)] + [value]
        for (x, order), value in checked.items()
    ]
    return _solved(rows)


def polynomial(conditions: Iterable[tuple]) -> Law:
    """The lift law of a polynomial that meets the conditions (x, order, value) for unit rise in unit length.

    The conditions are those of ``polynomial_coefficients``; they must make s(0) = 0 and s(1) = 1.  As in the
    trade, the law is named by its powers.  It may turn back on its way: ``monotone`` tells, and a track
    refuses such a law.
    Raises MechError as ``polynomial_coefficients`` does, and for other ends.

    >>> ends_at_rest = [(x, order, 0) for x in (0, 1) for order in (1, 2)]
    >>> polynomial([(0, 0, 0), (1, 0, 1), *ends_at_rest]).name
    '3-4-5 polynomial'
    """
    coefficients = polynomial_coefficients(conditions)
    for x, wanted, found in ((0, 0, coefficients[0]), (1, 1, sum(coefficients))):
        if found != wanted:
            raise MechError(
                f"the conditions make the lift {float(found):g} at x = {x}",
                f"it must be {wanted} there: put ({x}, 0, {wanted}) among them",
            )
    acceleration = tuple(float(perm(k, 2) * c) for k, c in enumerate(coefficients))[2:]
    name = "-".join(str(k) for k, c in enumerate(coefficients) if c) + " polynomial"
    return Law(name, (Piece(0.0, acceleration or (0.0,)),), start_velocity=float(coefficients[1]))


def _checked(conditions: list[tuple]) -> dict[tuple[Fraction, int], Fraction]:
    """The conditions as {(x, order): value}, in exact numbers."""
    count = check_count("the number of conditions", len(conditions), 2, MOST_CONDITIONS)
    found: dict[tuple[Fraction, int], Fraction] = {}
    for number, condition in enumerate(conditions, 1):
        if not isinstance(condition, (tuple, list)) or len(condition) != 3:
            raise MechError(f"condition {number} is {condition!r}", "write (x, order of derivative, value)")
        x = _exact(f"x of condition {number}", condition[0], 0, 1)
        hint = "each order up to the highest that is asked for wants a condition"
        order = check_count(f"the order of condition {number}", condition[1], 0, count - 1, hint)
        value = _exact(f"the value of condition {number}", condition[2], -1e6, 1e6)
        if (x, order) in found:
            against = "stands twice" if found[x, order] == value else "contradicts another"
            raise MechError(f"condition {number} {against}", "give each derivative one value at each x")
        found[x, order] = value
    return found


def _exact(name: str, value, low: float, high: float) -> Fraction:
    number = check_number(name, value, low, high)
    return Fraction(value if isinstance(value, Rational) else number)


def _solved(rows: list[list[Fraction]]) -> tuple[Fraction, ...]:
    """The solution of equations, each a row of coefficients and the right-hand side (Gauss and Jordan)."""
    count = len(rows)
    for column in range(count):
        pivot = next((row for row in rows[column:] if row[column]), None)
        if pivot is None:
            raise MechError(
                f"the {count} conditions don't settle a polynomial of degree {count - 1}",
                "give the lower derivatives at an x before the higher ones, the lift first, or another x",
            )
        rows.remove(pivot)
        pivot = [entry / pivot[column] for entry in pivot]
        rows = [[entry - row[column] * own for entry, own in zip(row, pivot, strict=True)] for row in rows]
        rows.insert(column, pivot)
    return tuple(row[-1] for row in rows)
