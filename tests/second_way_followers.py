"""Followers for the second way: positions only, from rulers and compasses; all else by small steps.

Nothing here knows a derivative, an envelope or a curvature formula.  A follower is a function that puts it
into the picture at a lift; turned back by the cam's angle it is seen from the cam.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import brentq

STEP = 1e-3  # radians between the places from which directions and circles are taken


def turned(point, angle):
    """A point (x, y) turned about the origin, counter-clockwise."""
    x, y = point
    return np.array([x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle)])


def sliding_roller(base, roller, offset):
    """Roller's centre by the lift: straight up along x = offset, from the circle of radius base + roller."""
    rest = brentq(lambda y: math.hypot(offset, y) - (base + roller), 0, base + roller)
    return lambda lift: np.array([offset, rest + lift])


def swinging_roller(base, roller, pivot, arm):
    """Roller's centre by the lift along its arc about (pivot, 0), above the line to the shaft."""

    def at(angle):  # of the lever against the line from pivot to shaft
        return np.array([pivot, 0.0]) + arm * np.array([-math.cos(angle), math.sin(angle)])

    rest = brentq(lambda angle: np.hypot(*at(angle)) - (base + roller), 0, math.pi)
    return lambda lift: at(rest + lift / arm)


def flat_slide(base):
    """Two points of a level face by the lift."""
    return lambda lift: (np.array([-50.0, base + lift]), np.array([50.0, base + lift]))


def flat_lever(base, pivot, arm, face):
    """Two points of the face of a lever about (pivot, 0), the face nearer to the shaft by ``face``."""

    def at(angle):
        along = np.array([-math.cos(angle), math.sin(angle)])
        below = np.array([-math.sin(angle), -math.cos(angle)])
        corner = np.array([pivot, 0.0]) + face * below
        return corner, corner + 100 * along

    def distance(angle):
        one, two = at(angle)
        along = (two - one) / np.hypot(*(two - one))
        return abs(one[0] * along[1] - one[1] * along[0])

    rest = brentq(lambda angle: distance(angle) - base, math.asin(max(face / pivot, 0)), math.pi / 2)
    return lambda lift: at(rest + lift / arm)


def circle(one, two, three):
    """Centre and radius of the circle through three points."""
    rows = np.array([two - one, three - one])
    centre = one + np.linalg.solve(2 * rows, np.sum(rows**2, axis=1))
    return centre, float(np.hypot(*(one - centre)))


def signed_curvature(points, middle=1):
    """Curvature (1/mm) of a closed curve about the origin, at the middle one of three points; bulging: +."""
    tangent = points[2] - points[0]
    outward = np.array([-tangent[1], tangent[0]])
    outward = outward * np.sign(outward @ points[middle]) if abs(outward @ points[middle]) > 0 else outward
    doubled = np.cross(np.append(points[1] - points[0], 0), np.append(points[2] - points[1], 0))[2]
    if abs(doubled) < 1e-15:
        return 0.0
    centre, radius = circle(*points)
    return (1 if (points[1] - centre) @ outward > 0 else -1) / radius


def crossing(first, second):
    """Where two lines meet, each given by two points."""
    (p, q), (r, s) = first, second
    matrix = np.array([q - p, r - s]).T
    return p + np.linalg.solve(matrix, r - p)[0] * (q - p)
