"""Curves in pieces on x from 0 to 1, each piece a polynomial and sines, with exact integrals and extremes.

The lift laws of ``mechlib.cams.laws`` are made of these.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from mechlib.errors import MechError

QUARTER = math.pi / 2
JUMP = 1e-9  # a smaller step between two pieces is rounding
MOST_MULTIPLE = 50


class Wave(NamedTuple):
    """One sine of a piece: amplitude·sin(omega·u + phase), omega in radians over the whole move, above 0.

    >>> Wave(2.0, math.pi, QUARTER).amplitude
    2.0
    """

    amplitude: float
    omega: float
    phase: float = 0.0


@dataclass(frozen=True)
class Piece:
    """One piece of a curve: Σ poly[k]·u^k + Σ amplitude·sin(omega·u + phase), with u = x − start.

    It reaches to the start of the next piece (the last one to x = 1).  Raises MechError unless every omega
    is above 0 and a whole multiple (up to 50) of the smallest: then the extremes have a closed form.

    >>> Piece(0.5, (1.0, 2.0)).value(0.25)
    1.5
    """

    start: float
    poly: tuple[float, ...] = ()
    waves: tuple[Wave, ...] = ()

    def __post_init__(self):
        slowest = min((wave.omega for wave in self.waves), default=1.0)
        for wave in self.waves:
            multiple = wave.omega / slowest if slowest > 0 else math.nan
            if not (multiple <= MOST_MULTIPLE and abs(multiple - round(multiple)) < 1e-9):
                raise MechError(
                    f"a sine of the piece at {self.start:g} has an omega of {wave.omega:g}",
                    f"it must be a whole multiple, up to {MOST_MULTIPLE}, of the piece's smallest, above 0",
                )

    def value(self, u, sin=math.sin):
        """The value at ``u`` after the start (a float, or an array with ``sin=np.sin``).

        >>> Piece(0.0, (1.0,), (Wave(2.0, math.pi),)).value(0.5)
        3.0
        """
        total = 0.0 * u
        for coefficient in reversed(self.poly):
            total = total * u + coefficient
        for wave in self.waves:
            total = total + wave.amplitude * sin(wave.omega * u + wave.phase)
        return total

    def scaled(self, factor: float) -> Piece:
        """The piece with every value times ``factor``.

        >>> Piece(0.0, (1.0, 2.0)).scaled(3.0).poly
        (3.0, 6.0)
        """
        waves = tuple(Wave(factor * a, omega, phase) for a, omega, phase in self.waves)
        return Piece(self.start, tuple(factor * c for c in self.poly), waves)

    def derivative(self) -> Piece:
        """The exact derivative; that of a sine is a sine a quarter of a turn ahead.

        >>> Piece(0.0, (1.0, 2.0, 3.0)).derivative().poly
        (2.0, 6.0)
        """
        waves = tuple(Wave(a * omega, omega, phase + QUARTER) for a, omega, phase in self.waves)
        return Piece(self.start, tuple(k * c for k, c in enumerate(self.poly))[1:], waves)

    def integral(self, initial: float) -> Piece:
        """The exact integral that has the value ``initial`` at the piece's start.

        >>> Piece(0.0, (2.0, 6.0)).integral(1.0).poly
        (1.0, 2.0, 3.0)
        """
        waves = tuple(Wave(a / omega, omega, phase - QUARTER) for a, omega, phase in self.waves)
        constant = initial - sum(wave.amplitude * math.sin(wave.phase) for wave in waves)
        return Piece(self.start, (constant, *(c / (k + 1) for k, c in enumerate(self.poly))), waves)

    def turning_points(self, length: float) -> list[float]:
        """Every u from 0 to ``length`` at which the slope is zero.

        The slope must be a polynomial or a sum of sines, not both.  Real parts of complex roots may come
        along: a caller who takes the largest value at any of these points is none the worse for a few too
        many.

        >>> Piece(0.0, (0.0, 1.0, -1.0)).turning_points(1.0)
        [0.5]
        """
        slope = self.derivative()
        if slope.waves:
            return _zeros(slope.waves, length)
        roots = np.polynomial.polynomial.polyroots(slope.poly or (0.0,))
        return sorted(float(root.real) for root in roots if 0 <= root.real <= length)


def _zeros(waves: tuple[Wave, ...], length: float) -> list[float]:
    """Where from 0 to ``length`` the sum of the sines is zero.

    With z = exp(i·base·u), a·sin(k·base·u + phase) is a·(z^k·e^(i·phase) − z^−k·e^(−i·phase))/2i: the sum
    becomes a polynomial in z, and a root on the unit circle is a zero.
    """
    base = min(wave.omega for wave in waves)
    multiples = [round(wave.omega / base) for wave in waves]
    top = max(multiples)
    polynomial = np.zeros(2 * top + 1, complex)
    for wave, k in zip(waves, multiples, strict=True):
        turned = wave.amplitude * complex(math.cos(wave.phase), math.sin(wave.phase))
        polynomial[top + k] += turned
        polynomial[top - k] -= turned.conjugate()
    angles = np.angle(np.polynomial.polynomial.polyroots(polynomial)) % (2 * math.pi)
    turns = range(math.floor(base * length / (2 * math.pi)) + 1)
    found = (float(angle + 2 * math.pi * turn) / base for angle in angles for turn in turns)
    return sorted(u for u in found if u <= length)


def spans(curve: tuple[Piece, ...]) -> list[tuple[Piece, float]]:
    """Each piece with its length.

    >>> [length for _, length in spans((Piece(0.0), Piece(0.25)))]
    [0.25, 0.75]
    """
    ends = (*(piece.start for piece in curve[1:]), 1.0)
    return [(piece, end - piece.start) for piece, end in zip(curve, ends, strict=True)]


def end_value(curve: tuple[Piece, ...]) -> float:
    """The value at x = 1.

    >>> end_value((Piece(0.0, (1.0, 2.0)),))
    3.0
    """
    piece, length = spans(curve)[-1]
    return piece.value(length)


def integrated(curve: tuple[Piece, ...], initial: float) -> tuple[Piece, ...]:
    """The continuous integral of a curve, ``initial`` at x = 0.

    >>> end_value(integrated((Piece(0.0, (1.0,)), Piece(0.5, (3.0,))), 10.0))
    12.0
    """
    result = []
    for piece, length in spans(curve):
        result.append(piece.integral(initial))
        initial = result[-1].value(length)
    return tuple(result)


def jumps(curve: tuple[Piece, ...]) -> bool:
    """Whether the curve, zero before 0 and after 1, has a step anywhere.

    >>> jumps((Piece(0.0, (0.0, 1.0)), Piece(0.5, (0.5, -1.0)))), jumps((Piece(0.0, (1.0,)),))
    (False, True)
    """
    before = 0.0
    for piece, length in spans(curve):
        if abs(piece.value(0.0) - before) > JUMP:
            return True
        before = piece.value(length)
    return abs(before) > JUMP


def extremes(curve: tuple[Piece, ...]) -> tuple[float, float]:
    """The smallest and the largest value: each at the end of a piece or where a slope is zero.

    >>> extremes((Piece(0.0, (0.0, 4.0, -4.0)),))
    (0.0, 1.0)
    """
    found = [
        piece.value(u) for piece, length in spans(curve) for u in (0.0, length, *piece.turning_points(length))
    ]
    return min(found), max(found)
