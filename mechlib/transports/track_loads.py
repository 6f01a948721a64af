"""What one track asks where its part moves along with theta: its lift and slope, spring and friction.

``theta`` is everywhere an angle or an array of them.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import lru_cache
from math import inf, pi

import numpy as np

from mechlib.cams.programme import Programme
from mechlib.transports.arcs import TINY, Arcs, intersect, repeated
from mechlib.transports.clock import Cells
from mechlib.transports.lost_drive import Knots
from mechlib.transports.model import Follower
from mechlib.transports.runs import place_on

A_RADIAN = 180.0 / pi  # degrees


def asked_Nmm(follower: Follower, theta, knots: Knots, advance_deg: float, sense: int):
    """N·mm over theta that a follower asks: spring and friction times the slope of its lift by the radian.

    ``knots`` of its part and how far it stands ahead; ``sense``: 1 or −1.  Positive loads stand against the
    motion.

    >>> from mechlib.transports import load
    >>> lever = load("alder").follower("pinch lever")
    >>> round(float(asked_Nmm(lever, 129.0, ((0.0, 0.0), (268.0, 268.0)), 0.0, 1)), 2)
    142.25
    """
    place = place_on(knots, theta) if isinstance(theta, float) else np.interp(theta, *np.array(knots).T)
    lift_mm, slope_mm = follower.programme.lift_and_slope(place + advance_deg)
    return _asked(follower, lift_mm, slope_mm * moving(theta, knots) * A_RADIAN, sense)


def _asked(follower: Follower, lift_mm, slope_mm, sense: int):
    """The same for a lift and its slope by the radian."""
    spring = follower.spring.force(lift_mm + follower.bent_mm)
    return sense * spring * slope_mm + follower.friction_N * abs(slope_mm)


def moving(theta, knots: Knots):
    """1 where a part moves along with theta, else 0.

    >>> moving(4.0, ((0.0, 0.0), (5.0, 5.0), (9.0, 5.0))), moving(6.0, ((0.0, 0.0), (5.0, 5.0), (9.0, 5.0)))
    (1.0, 0.0)
    """
    rising = _rising(knots)
    if isinstance(theta, float):
        return rising[bisect_right(knots, (theta, inf), 1, len(rising)) - 1]
    piece = np.searchsorted([start for start, _ in knots[1:-1]], theta, side="right")
    return np.array(rising)[piece]


@lru_cache(maxsize=4096)
def _rising(knots: Knots) -> tuple[float, ...]:
    return tuple(float(x1 - x0 > TINY) for (_, x0), (_, x1) in zip(knots, knots[1:], strict=False))


def track_pieces(programme: Programme, knots: Knots, advance_deg: float, cyclic: bool) -> list[float]:
    """The thetas at which the formula of a track changes, as often as its part comes round.

    >>> from mechlib.transports import load
    >>> detent = load("alder").follower("cam detent")
    >>> track_pieces(detent.programme, ((-16.0, 0.0), (0.0, 16.0)), -20.0, False)
    [-10.0, -1.0]
    """
    marks = [mark - advance_deg for mark in programme.pieces_deg]
    if cyclic:
        turns = range(int(knots[0][1] // 360.0) - 1, int(knots[-1][1] // 360.0) + 2)
        marks = [mark % 360.0 + 360.0 * turn for turn in turns for mark in marks]
    pairs = zip(knots, knots[1:], strict=False)
    return [t0 + mark - x0 for (t0, x0), (_, x1) in pairs for mark in marks if x0 < mark < x1]


@lru_cache(maxsize=8192)
def moves_of(programme: Programme, knots: Knots, advance_deg: float, cyclic: bool) -> Arcs:
    """Arcs of theta on which a track moves its follower: its part moves, and no dwell is under the follower.

    >>> from mechlib.transports import load
    >>> lever = load("alder").follower("pinch lever")
    >>> moves_of(lever.programme, ((100.0, 100.0), (150.0, 150.0), (170.0, 150.0)), -3.0, False)
    ((113.0, 146.0),)
    """
    found = []
    for (t0, x0), (_, x1) in zip(knots, knots[1:], strict=False):
        if x1 - x0 > TINY:
            low, high, moves = x0 + advance_deg, x1 + advance_deg, programme.moves_deg
            if cyclic:
                moves = repeated(moves, 360.0, low, high)
            found += [(t0 + a - low, t0 + b - low) for a, b in intersect(moves, ((low, high),))]
    return tuple(found)


def asked_on_cells(
    cells: Cells, follower: Follower, knots: Knots, advance_deg: float, sense: int, cyclic: bool
) -> np.ndarray:
    """``asked_Nmm`` at each place of the cells, looked at only where the track moves its follower."""
    asked, theta = np.zeros(cells.theta.shape), cells.theta
    moves = moves_of(follower.programme, knots, advance_deg, cyclic)
    ends = np.searchsorted(theta, moves).tolist()
    here = np.concatenate([np.arange(low, high) for low, high in ends])
    ahead = [place_on(knots, sum(arc) / 2) - sum(arc) / 2 + advance_deg for arc in moves]
    places = theta[here] + np.repeat(ahead, [high - low for low, high in ends])
    lift_mm, slope_mm = follower.programme.lift_and_slope(places)
    asked[here] = _asked(follower, lift_mm, slope_mm * A_RADIAN, sense)
    return asked


def dragged_on_cells(cells: Cells, knots: Knots, drag_Nmm: float) -> np.ndarray:
    """What the drag of a part asks at each place of the cells: nothing where it stands."""
    asked, theta = np.zeros(cells.theta.shape), cells.theta
    for (start, _), (end, _), rises in zip(knots, knots[1:], _rising(knots), strict=False):
        if rises:
            low, high = theta.searchsorted((start, end)).tolist()
            asked[low:high] = drag_Nmm
    return asked
