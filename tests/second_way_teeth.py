"""Gear teeth a second way, without a formula for a tooth: cutters that take material away, step by step.

Nothing here calls mechlib.gears.  Lengths are in modules.  A point is asked whether any of many positions
of a cutter covers it; where the answer changes, by halving, is the outline.  Points are complex numbers.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import brentq
from scipy.spatial import cKDTree

HALVINGS = 30


def unwound(base_radius: float, turns_rad: float, corners: int = 40000) -> np.ndarray:
    """The end of a string as it comes off a polygon with so many corners on the base circle, from angle 0 on.

    The string swings about one corner until it lies along the next side, then about the next corner.
    """
    step = 2 * math.pi / corners
    side = 2 * base_radius * math.sin(step / 2)
    count = int(turns_rad / step)
    centres = base_radius * np.exp(1j * step * np.arange(1, count + 1))
    # After the swing about corner k the string, k sides long, points back along the side to come.
    back = np.exp(1j * (step * (np.arange(1, count + 1) + 0.5) - math.pi / 2))
    return centres + side * np.arange(1, count + 1) * back


class RackCutter:
    """One tooth of a rack that cuts an outside gear; pressure angle in degrees."""

    def __init__(self, teeth, shift, angle_deg, depth, rounding):
        self.teeth, self.radius, self.slope = teeth, teeth / 2, math.tan(math.radians(angle_deg))
        self.tip, self.shift, self.rounding = shift - depth, shift, rounding
        # The rounding touches the tip line and the flank: its centre is on the bisector of their corner.
        corner = math.pi / 4 + (self.tip - shift) * self.slope
        self.centre = corner - rounding * math.tan(math.radians(90 - angle_deg) / 2)
        self.straight = self.tip + rounding * (1 - math.sin(math.radians(angle_deg)))
        self.rolls = np.linspace(-9, 9, 3601) / self.radius  # angles at which the gear is asked

    def covers(self, points: np.ndarray) -> np.ndarray:
        """Whether any position of the cutter covers the points; a tooth's middle is on the real axis."""
        turned = points[:, None] * np.exp(1j * self.rolls)
        out = turned.real - self.radius
        across = abs(turned.imag - self.radius * self.rolls - math.pi / 2)
        # Half the width of the cutter's tooth; at its datum line that is a quarter of the pitch.
        flank = math.pi / 4 + (out - self.shift) * self.slope
        into = np.clip(self.tip + self.rounding - out, -self.rounding, self.rounding)
        round_tip = self.centre + np.sqrt(self.rounding**2 - into**2)
        width = np.where(out >= self.straight, flank, round_tip)
        return ((out >= self.tip) & (across <= width)).any(axis=1)

    def half_angles(self, radii: np.ndarray) -> np.ndarray:
        """Half the angle that is left of a tooth at each radius."""
        low, high = np.zeros_like(radii), np.full_like(radii, math.pi / self.teeth)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            cut = self.covers(radii * np.exp(1j * middle))
            low, high = np.where(cut, low, middle), np.where(cut, middle, high)
        return low


class PinionCutter:
    """One tooth of a pinion that cuts a ring; its flanks are a string unwound, its tip rounded to fit."""

    def __init__(self, ring_teeth, teeth, shift, angle_deg, depth, rounding):
        self.ring_teeth, self.teeth = ring_teeth, teeth
        angle = math.radians(angle_deg)
        self.base, self.tip = teeth / 2 * math.cos(angle), teeth / 2 + depth - shift
        width = math.pi / 2 - 2 * shift * math.tan(angle)
        roll = np.linspace(0, math.sqrt((self.tip / self.base) ** 2 - 1) + 0.3, 40001)
        flank = self.base * (1 + 1j * roll) * np.exp(-1j * roll)
        on_pitch = np.interp(teeth / 2, abs(flank), np.angle(flank))
        flank = flank * np.exp(1j * (width / teeth - on_pitch))  # upper side of a tooth on the x axis
        self.radii, self.angles = abs(flank), np.angle(flank)
        self.flank = flank
        if self._off(rounding, 0.0) < 0:  # no room: as large as fits
            rounding = brentq(lambda size: self._off(size, 0.0), 1e-4, rounding)
            self.at = 0.0
        else:
            on_flank = np.interp(self.tip - rounding, self.radii, self.angles)
            self.at = brentq(lambda at: self._off(rounding, at), 0, on_flank)
        self.rounding, self.centre = rounding, self.tip - rounding
        middle = self.centre * np.exp(1j * self.at)
        self.straight = self.radii[np.argmin(abs(flank - middle))]

    def _off(self, rounding, at):
        """Room between the flank and a rounding at an angle; the flank's points are 1e-4 apart."""
        centre = (self.tip - rounding) * np.exp(1j * at)
        return abs(self.flank - centre).min() - rounding

    def half_width(self, radius: np.ndarray) -> np.ndarray:
        """Half the angle of the tooth at a radius up to the tip."""
        safe = np.clip(radius, self.centre - self.rounding * 0.999, self.tip)
        cosine = (safe**2 + self.centre**2 - self.rounding**2) / (2 * safe * self.centre)
        round_tip = self.at + np.arccos(np.clip(cosine, -1, 1))
        return np.where(radius <= self.straight, np.interp(radius, self.radii, self.angles), round_tip)

    def half_angles(self, radii: np.ndarray) -> np.ndarray:
        """Half the angle of a ring's space at each radius."""
        centre = (self.ring_teeth - self.teeth) / 2
        rolls = np.linspace(-math.pi / 2, math.pi / 2, 6001)
        low, high = np.zeros_like(radii), np.full_like(radii, math.pi / self.ring_teeth)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            points = radii * np.exp(1j * middle)
            seen = points[:, None] * np.exp(1j * rolls * self.teeth / self.ring_teeth) - centre
            seen *= np.exp(-1j * rolls)
            cut = ((abs(seen) <= self.tip) & (abs(np.angle(seen)) <= self.half_width(abs(seen)))).any(axis=1)
            low, high = np.where(cut, middle, low), np.where(cut, high, middle)
        return low


def distances(points: np.ndarray, line: np.ndarray) -> np.ndarray:
    """Distance of points from the sides of a line of corners; for each those at the nearest corners."""
    corners = np.stack([line.real, line.imag], axis=1)
    tree = cKDTree(corners)
    _, nearest = tree.query(np.stack([points.real, points.imag], axis=1), k=min(12, len(line)))
    sides = np.clip(np.concatenate([nearest - 1, nearest], axis=1), 0, len(line) - 2)
    start, along = line[sides], line[sides + 1] - line[sides]
    place = ((points[:, None] - start) / along).real
    return abs(points[:, None] - start - np.clip(place, 0, 1) * along).min(axis=1)


def crossings(line: np.ndarray) -> int:
    """How many pairs of sides of a line of complex corners cross; neighbours only touch."""
    start, end = line[:-1], line[1:]

    def side(a, b, point):
        return ((b - a)[:, None] * (point[None, :] - a[:, None]).conj()).imag

    ends = np.sign(side(start, end, start)) * np.sign(side(start, end, end)) < 0
    both = ends & ends.T
    apart = abs(np.subtract.outer(np.arange(len(start)), np.arange(len(start)))) > 1
    return int((both & apart).sum() // 2)
