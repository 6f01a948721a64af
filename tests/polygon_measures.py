"""Caliper and pins on a drawn gear: measured on the polygon alone, point by point."""

from __future__ import annotations

import math

import numpy as np


def radius_of(points) -> float:
    """How far the outermost corner is from the middle."""
    return float(np.hypot(*np.asarray(points).T).max())


def _dense(points, step: float) -> np.ndarray:
    """Corners, and points along the sides no further apart than ``step``; closed."""
    found = []
    for (x0, y0), (x1, y1) in zip(points, points[1:], strict=False):
        parts = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / step))
        for part in range(parts):
            found.append((x0 + (x1 - x0) * part / parts, y0 + (y1 - y0) * part / parts))
    return np.array(found)


def _around(points, middle: float, half: float) -> np.ndarray:
    """The points whose direction is within ``half`` of ``middle`` (radians)."""
    off = (np.arctan2(points[:, 1], points[:, 0]) - middle + math.pi) % (2 * math.pi) - math.pi
    return points[abs(off) < half]


def span_of(points, teeth: int, over: int) -> float:
    """Span over some teeth: two jaws are closed on a block of teeth, turned to where they come closest.

    They go half a tooth's height deep.  Tooth 0 has its middle on the x axis.
    """
    pitch, radii = 2 * math.pi / teeth, np.hypot(*np.asarray(points).T)
    block = _around(_dense(points, 0.02), (over - 1) * pitch / 2, over * pitch / 2)
    block = block[np.hypot(*block.T) > (radii.min() + radii.max()) / 2]
    best = math.inf
    for turn in np.linspace(-0.05, 0.05, 201) * pitch:
        across = (over - 1) * pitch / 2 + turn + math.pi / 2
        along = block @ (math.cos(across), math.sin(across))
        best = min(best, along.max() - along.min())
    return float(best)


def over_pins_of(points, teeth: int, pin: float) -> float:
    """Measure over two pins that are pushed down two spaces, opposite or nearest to it, until they touch."""
    dense, pitch = _dense(points, 0.002), 2 * math.pi / teeth
    centres = []
    for space in (0, teeth // 2):
        direction = (space + 0.5) * pitch
        near = _around(dense, direction, pitch)
        low, high = np.hypot(*np.asarray(points).T).min(), radius_of(points) + pin
        for _ in range(50):
            middle = (low + high) / 2
            place = middle * np.array([math.cos(direction), math.sin(direction)])
            free = np.hypot(*(near - place).T).min() >= pin / 2
            low, high = (low, middle) if free else (middle, high)
        centres.append(high * np.array([math.cos(direction), math.sin(direction)]))
    return float(np.hypot(*(centres[0] - centres[1])) + pin)
