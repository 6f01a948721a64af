"""How long a motion takes: seconds over theta, summed up in narrow cells."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from math import ceil, floor

import numpy as np

CELL_DEG = 0.125  # of theta: so fine that the time has four digits even next to a stall
LEAST_DEG_S = 1e-3  # a speed at which nothing gets anywhere before a time-out
NODES, WEIGHTS = np.polynomial.legendre.leggauss(6)
NODES, WEIGHTS = (NODES + 1) / 2, WEIGHTS / 2  # of Gauss's rule from 0 to 1
SHARES = np.array([(1 - NODES) * (1 - 2 * NODES), 4 * NODES * (1 - NODES), NODES * (2 * NODES - 1)]).T
RULE = tuple(zip(NODES.tolist(), WEIGHTS.tolist(), strict=True))
APART = 1e-3  # of a cell: a multiple that is nearer to a corner doesn't cut
INSIDE_DEG = 1e-10  # by which the places next to a corner are off it
CLOSE_DEG = 1e-11  # to which an angle of theta is found by halving


@dataclass(frozen=True, eq=False)
class Cells:
    """Cells of theta, and the places at which a quantity is looked at: the ends and the middle of each.

    ``edges`` of the cells; ``theta``: all places in turn; ``first``: where in it each cell starts.
    Where a quantity may step, at a corner, two places stand just beside it.  ``carried``: what was found at
    these places, for machines to share.
    """

    edges: np.ndarray
    theta: np.ndarray
    first: np.ndarray
    carried: dict = field(default_factory=dict, repr=False)

    @cached_property
    def edges_deg(self) -> list[float]:
        """The edges as a list, which is quicker to look up."""
        return self.edges.tolist()

    def each(self, values: np.ndarray) -> np.ndarray:
        """The values at the three places of every cell, a column a cell."""
        return values.take(self._three)

    @cached_property
    def _three(self) -> np.ndarray:
        return self.first + np.arange(3)[:, None]


@lru_cache(maxsize=64)
def cells_between(corners: tuple[float, ...]) -> Cells:
    """Cells from the first corner to the last, cut at each corner and at every multiple of ``CELL_DEG``.

    The corners rise.  So a cell depends on the corners next to it only.

    >>> found = cells_between((0.0, 0.2, 0.25))
    >>> found.edges.tolist(), found.theta.round(6).tolist(), found.first.tolist()
    ([0.0, 0.125, 0.2, 0.25], [0.0, 0.0625, 0.125, 0.1625, 0.2, 0.2, 0.225, 0.25], [0, 2, 5])
    """
    at = np.array(corners)
    multiples = CELL_DEG * np.arange(ceil(at[0] / CELL_DEG), floor(at[-1] / CELL_DEG) + 1)
    above = np.searchsorted(at, multiples).clip(1, len(at) - 1)
    far = np.minimum(multiples - at[above - 1], at[above] - multiples) >= APART * CELL_DEG
    edges = np.sort(np.concatenate((at, multiples[far])))
    cut = np.searchsorted(edges, at)
    number, before = np.arange(len(edges) - 1), np.zeros(len(edges) - 1, int)
    before[cut[1:-1]] = 1  # a corner has a place on either side
    first = 2 * number + np.cumsum(before)
    theta = np.empty(first[-1] + 3)
    theta[first], theta[first + 2] = edges[:-1], edges[1:]
    theta[first + 1] = (edges[:-1] + edges[1:]) / 2
    theta[first[cut[:-1]]] += INSIDE_DEG
    theta[first[cut[1:] - 1] + 2] = at[1:] - INSIDE_DEG
    return Cells(edges, theta, first)


def closed_in(excess: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """Two angles next to each other between which ``excess`` comes to 0; below 0 at ``low`` and at the first.

    Regula falsi with the value at an end that stays halved (the Illinois rule), so that both ends move.

    >>> [round(angle, 9) for angle in closed_in(lambda x: x * x - 2, 0.0, 2.0)]
    [1.414213562, 1.414213562]
    """
    at_low, at_high, stayed = excess(low), excess(high), 0
    while abs(high - low) > CLOSE_DEG:
        angle = low + (high - low) * at_low / (at_low - at_high)
        near, far = sorted((low, high))
        angle = min(max(angle, near + CLOSE_DEG / 4), far - CLOSE_DEG / 4)
        value = excess(angle)
        if value < 0:
            low, at_low = angle, value
            at_high, stayed = (at_high / 2 if stayed < 0 else at_high), -1
        else:
            high, at_high = angle, value
            at_low, stayed = (at_low / 2 if stayed > 0 else at_low), 1
    return low, high


@dataclass(frozen=True, eq=False)
class Clock:
    """Seconds over theta: the integral of 1/speed; ``deg_s``: the speed at the places of the cells.

    In a cell the speed, which is as smooth as the torque, goes as a parabola through its three places; the
    time, which isn't, follows by Gauss's rule.  A cell with a place where the motor can't go on takes none.
    """

    cells: Cells
    deg_s: np.ndarray
    _known: dict[float, float] = field(default_factory=dict, repr=False)

    @cached_property
    def _speeds(self) -> np.ndarray:
        return self.cells.each(self.deg_s)

    @cached_property
    def _at_edges(self) -> np.ndarray:
        """Seconds from the first edge to each."""
        slowness = WEIGHTS @ (1 / np.maximum(SHARES @ self._speeds, LEAST_DEG_S))
        slowness[(self._speeds <= 0).any(axis=0)] = 0.0
        return np.concatenate(([0.0], np.cumsum(np.diff(self.cells.edges) * slowness)))

    def at(self, theta: float) -> float:
        """Seconds from the first edge to theta.

        >>> round(Clock(cells_between((0.0, 2.0)), np.full(33, 2.0)).at(1.7), 9)
        0.85
        """
        if theta not in self._known:
            self._known[theta] = self._find(theta)
        return self._known[theta]

    def _find(self, theta: float) -> float:
        edges = self.cells.edges_deg
        cell = bisect_right(edges, theta, 1, len(edges) - 1) - 1
        first, middle, last = speeds = self._speeds[:, cell].tolist()
        before = self._at_edges.item(cell)
        if min(speeds) <= 0:
            return before
        ahead, slowness = theta - edges[cell], 1 / max(first, LEAST_DEG_S)
        if not first == middle == last:
            x = ahead / (edges[cell + 1] - edges[cell])
            rise, bend = (4 * middle - 3 * first - last) * x, 2 * (first - 2 * middle + last) * x * x
            slowness = 0.0
            for node, weight in RULE:
                slowness += weight / max(first + node * (rise + node * bend), LEAST_DEG_S)
        return before + ahead * slowness

    def theta_at(self, seconds: float) -> float:
        """Theta at which the clock shows so many seconds; the first or last edge where it never does.

        >>> round(Clock(cells_between((0.0, 2.0)), np.full(33, 2.0)).theta_at(0.85), 9)
        1.7
        """
        cell = bisect_right(self._at_edges, seconds) - 1
        if not 0 <= cell < len(self._at_edges) - 1:
            return float(self.cells.edges[0 if cell < 0 else -1])
        low, high = map(float, self.cells.edges[cell : cell + 2])
        while high - low > CLOSE_DEG:
            middle = (low + high) / 2
            low, high = (middle, high) if self.at(middle) < seconds else (low, middle)
        return high
