"""Linear equations solved exactly, one substitution after another."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from fractions import Fraction
from numbers import Rational

from mechlib.errors import check_number

ONE = ""  # stands for the number 1: its factor is the constant of an equation
Expression = dict[Hashable, Rational]


class Contradiction(ArithmeticError):
    """An equation that says 0 = 1 once the others are put into it."""


def exact(name: str, value) -> Fraction:
    """Return a number as the fraction that it was typed as: 0.1 is 1/10, not its nearest binary number.

    Raises MechError for anything but a finite number.

    >>> exact("speed", 0.1), exact("speed", Fraction(1, 3))
    (Fraction(1, 10), Fraction(1, 3))
    """
    check_number(name, value)
    return Fraction(value) if isinstance(value, Rational) else Fraction(repr(float(value)))


def sign(number: Rational) -> int:
    """Return 1, 0 or −1.

    >>> sign(Fraction(-1, 3)), sign(0)
    (-1, 0)
    """
    return (number > 0) - (number < 0)


def solve(equations: Iterable[Mapping[Hashable, Rational]]) -> dict[Hashable, Expression]:
    """Solve equations Σ factor·unknown + factor of ONE = 0 exactly.

    Each equation is solved for one unknown, which is then replaced wherever it stands.  Returns each such
    unknown as {ONE: constant, other unknown: factor}: with no other unknown its value is known, else the
    others are open.  Unknowns that are open themselves are not among the keys.  Equations that say nothing
    new are passed over; raises Contradiction for one that can't hold.  Gauss-Jordan elimination.

    >>> solve([{"x": 1, "y": 2, ONE: -5}, {"x": 1, "y": -1, ONE: 1}])
    {'x': {'': Fraction(1, 1)}, 'y': {'': Fraction(2, 1)}}
    """
    found: dict[Hashable, Expression] = {}
    for equation in equations:
        row = {unknown: factor for unknown, factor in equation.items() if factor}
        for unknown in [one for one in row if one in found]:
            _replace(row, unknown, found[unknown])
        pivot = next((unknown for unknown in row if unknown != ONE), None)
        if pivot is None:
            if row:
                raise Contradiction
            continue
        divisor = -row.pop(pivot)
        row = {unknown: Fraction(factor, divisor) for unknown, factor in row.items()}
        for expression in found.values():
            if pivot in expression:
                _replace(expression, pivot, row)
        found[pivot] = row
    return found


def _replace(expression: Expression, unknown: Hashable, row: Expression) -> None:
    """Put ``row`` in the place of ``unknown``; what comes to nothing is left out."""
    times = expression.pop(unknown)
    for name, factor in row.items():
        summed = expression.get(name, 0) + times * factor
        if summed:
            expression[name] = summed
        else:
            expression.pop(name)
