"""Lift laws for the second way: textbook accelerations, integrated twice by the trapezoidal rule.

Shapes over 0..1 from common cam textbooks, from memory.
"""

from __future__ import annotations

from functools import cache

import numpy as np


def _modified_sine(u):
    middle = np.sin(np.pi / 3 + 4 * np.pi * u / 3)
    return np.where(u < 1 / 8, np.sin(4 * np.pi * u), np.where(u <= 7 / 8, middle, np.sin(4 * np.pi * u)))


def _modified_trapezoidal(u):
    ends = [u < 1 / 8, u < 3 / 8, u < 5 / 8, u < 7 / 8]
    shapes = [np.sin(4 * np.pi * u), 1 + 0 * u, np.cos(4 * np.pi * (u - 3 / 8)), -1 + 0 * u]
    return np.select(ends, shapes, np.sin(4 * np.pi * u))


def _modified_constant_velocity(u):
    start = np.where(u < 1 / 16, np.sin(8 * np.pi * u), np.cos(8 * np.pi / 3 * (u - 1 / 16)))
    return np.where(u < 1 / 4, start, 0.0)


ACCELERATION = {
    "constant acceleration": lambda u: np.sign(0.5 - u),
    "simple harmonic": lambda u: np.cos(np.pi * u),
    "double harmonic": lambda u: np.cos(np.pi * u) - np.cos(2 * np.pi * u),
    "cycloidal": lambda u: np.sin(2 * np.pi * u),
    "modified sine": _modified_sine,
    "modified constant velocity": lambda u: (
        _modified_constant_velocity(u) - _modified_constant_velocity(1 - u)
    ),
    "modified trapezoidal": _modified_trapezoidal,
    "3-4-5": lambda u: u - 3 * u**2 + 2 * u**3,
    "4-5-6-7": lambda u: u**2 - 4 * u**3 + 5 * u**4 - 2 * u**5,
}


@cache
def lift_shape(law: str, count: int = 4001) -> tuple[np.ndarray, np.ndarray]:
    """Points (u, s) of a move from 0 to 1 over u from 0 to 1."""
    u = np.linspace(0, 1, count)
    if law == "constant velocity":
        return u, u

    def integral(y):
        return np.concatenate(([0], np.cumsum((y[1:] + y[:-1]) / 2))) / (count - 1)

    lift = integral(integral(ACCELERATION[law](u)))
    return u, lift / lift[-1]
