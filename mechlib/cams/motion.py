"""A follower's motion by the turn of its cam in radians, and where a quantity of it is largest or negative.

Programmes are written in degrees; geometry and forces ask for ds/dθ and d²s/dθ² with θ in radians.  Every
segment is looked at by itself, both its ends included, so that a step between two of them is never smoothed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from mechlib.cams.programme import Programme, Segment
from mechlib.errors import MechError

PER_RADIAN = 180 / math.pi
CLOSE = 1e-9
POINTS = 65  # of a segment, and again of what is left of it: a root narrows 64 times each round
GRID = 129  # points of a segment in which peaks are looked for
NEAR = 10  # a peak of the grid that is lower than the highest by more than a 10th of its range can't win
CLOSER = 257  # points, each time a peak is closed in on: it gets 128 times narrower
ROUNDS = 4
TIE = 1e-10  # of the value: peaks that are equal but for rounding


@dataclass(frozen=True)
class Motion:
    """Lift and its derivatives at one cam angle, or at an array of them.

    ``lift_mm``; ``slope_mm`` ds/dθ in mm a radian; ``bend_mm`` d²s/dθ² in mm a radian²; ``way`` 1 while the
    follower rises, −1 while it falls, 0 in a dwell.

    >>> Motion(90.0, 5.0, 4.0).bend_mm
    0.0
    """

    angle_deg: float | np.ndarray
    lift_mm: float | np.ndarray
    slope_mm: float | np.ndarray
    bend_mm: float | np.ndarray = 0.0
    way: float | np.ndarray = 0.0

    def __post_init__(self):
        for name in ("angle_deg", "lift_mm", "slope_mm", "bend_mm"):
            if not np.isfinite(getattr(self, name)).all():
                raise MechError(f"{name} of the motion", "it must be finite numbers only")


class Corner(NamedTuple):
    """A place where the slope steps: its angle, and the slope (mm a radian) just before and just after."""

    angle_deg: float
    before_mm: float
    after_mm: float


class Extreme(NamedTuple):
    """A largest value and the cam angle (degrees) at which it is first met."""

    value: float
    angle_deg: float


def motion(segment: Segment, angle_deg) -> Motion:
    """The motion in a segment at an angle or an array of them (degrees, in the segment, ends included).

    ds/dθ = 180/π·slope, d²s/dθ² = (180/π)²·rise/length²·a(x) of the segment's law.
    Raises MechError for an angle outside a move.

    >>> motion(Segment(0, 90, 0, 10, "constant acceleration"), 45.0).slope_mm * math.pi / 2
    20.0
    """
    zero = 0.0 * angle_deg
    slope, bend = zero + segment.slope(angle_deg), zero + segment.bend(angle_deg)
    way = zero + np.sign(segment.end_mm - segment.start_mm)
    return Motion(angle_deg, segment.lift(angle_deg), PER_RADIAN * slope, PER_RADIAN**2 * bend, way)


def sampled(programme: Programme, points: int = POINTS) -> Motion:
    """The motion at ``points`` angles of each segment, both ends included: joins come twice, as steps do.

    >>> sampled(Programme((Segment(0, 90, 3, 3),)), 3).angle_deg.tolist()
    [0.0, 45.0, 90.0]
    """
    parts = [motion(s, np.linspace(s.start_deg, s.end_deg, points)) for s in programme.segments]
    names = ("angle_deg", "lift_mm", "slope_mm", "bend_mm", "way")
    return Motion(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


def largest(quantity: Callable[[Motion], np.ndarray], programme: Programme) -> Extreme:
    """The largest value of a quantity on a programme, and where; of equal ones the first is told.

    ``quantity`` takes a Motion of arrays and returns an array.  It is searched on a grid in each segment, and
    every peak of the grid that could be the highest is closed in on: the value is exact to rounding where the
    quantity has one peak in two spaces of the grid, a 64th of a segment.

    >>> rise = Segment(0, 60, 0, 6, "cycloidal")
    >>> lobe = Programme((rise, Segment(60, 360, 6, 0, "3-4-5")), 360)
    >>> found = largest(lambda motion: motion.slope_mm, lobe)
    >>> round(found.value * math.pi / 3, 9), round(found.angle_deg, 6)
    (12.0, 30.0)
    """
    return _highest(lambda moves: [quantity(moves)], programme.segments)[0]


def all_largest(quantities: Callable[[Motion], Sequence[np.ndarray]], programme: Programme) -> list[Extreme]:
    """As ``largest`` for several quantities in one search; ``quantities`` returns an array for each.

    >>> lobe = Programme((Segment(0, 90, 0, 6, "cycloidal"), Segment(90, 360, 6, 0, "3-4-5")), 360)
    >>> up, down = all_largest(lambda moves: (moves.slope_mm, -moves.slope_mm), lobe)
    >>> [round(found.angle_deg, 3) for found in (up, down)]
    [45.0, 225.0]
    """
    return _highest(quantities, programme.segments)


def _highest(quantities, segments: tuple[Segment, ...]) -> list[Extreme]:
    grids = [_on_a_grid(quantities, s, s.start_deg, s.end_deg, GRID) for s in segments]
    found = []
    for number in range(len(grids[0][1])):
        every = np.concatenate([values[number] for _, values in grids])
        enough = top = np.max(every)
        if np.isfinite(top):
            enough -= max(np.ptp(every[np.isfinite(every)]) / NEAR, TIE * (1 + abs(top)))
        peaks = [
            _closed_in(quantities, number, segment, at, values[number], place)
            for segment, (at, values) in zip(segments, grids, strict=True)
            for place in _peaks(values[number], enough)
        ]
        top = max(one.value for one in peaks)
        found.append(next(one for one in peaks if math.isclose(one.value, top, rel_tol=TIE, abs_tol=TIE)))
    return found


def _peaks(values: np.ndarray, enough: float) -> np.ndarray:
    climbs = np.append(True, values[1:] > values[:-1])
    sinks = np.append(values[:-1] >= values[1:], True)
    return np.flatnonzero(climbs & sinks & (values >= enough))


def _on_a_grid(quantities, segment: Segment, low: float, high: float, points: int):
    at = np.linspace(low, high, points)
    return at, [values + 0.0 * at for values in quantities(motion(segment, at))]


def _closed_in(quantities, number: int, segment: Segment, at, values: np.ndarray, place: int) -> Extreme:
    for _ in range(ROUNDS):
        low, high = max(place - 1, 0), min(place + 1, len(at) - 1)
        if values[low] == values[place] == values[high]:
            break
        at, every = _on_a_grid(quantities, segment, at[low], at[high], CLOSER)
        values = every[number]
        place = int(np.argmax(values))
    return Extreme(float(values[place]), float(at[place]))


def arcs_below(
    quantity: Callable[[Motion], np.ndarray], programme: Programme
) -> tuple[tuple[float, float], ...]:
    """The arcs (start, end), in degrees, on which a quantity is negative (below −1e-9), sorted and apart.

    With a period, an arc over the seam ends beyond the last segment.  ``quantity`` as for ``largest``.

    >>> rise = Segment(0, 90, 0, 8, "constant velocity")
    >>> lobe = Programme((rise, Segment(90, 360, 8, 0, "constant velocity")), 360)
    >>> [[round(end, 6) for end in arc] for arc in arcs_below(lambda motion: motion.lift_mm - 4, lobe)]
    [[225.0, 405.0]]
    """
    arcs: list[tuple[float, float]] = []
    for segment in programme.segments:
        for start, end in _negative(lambda m: quantity(m) + CLOSE, segment):
            if arcs and start <= arcs[-1][1]:
                start = arcs.pop()[0]
            arcs.append((start, end))
    first, last = programme.segments[0].start_deg, programme.segments[-1].end_deg
    if programme.period_deg and len(arcs) > 1 and arcs[0][0] == first and arcs[-1][1] == last:
        arcs = [*arcs[1:-1], (arcs[-1][0], arcs[0][1] + programme.period_deg)]
    return tuple(arcs)


def _negative(quantity, segment: Segment) -> Iterator[tuple[float, float]]:
    """Arcs of one segment; its lowest place is looked at too: no narrow one slips through the grid."""
    lowest = _highest(lambda m: [-quantity(m)], (segment,))[0].angle_deg
    at = np.union1d(np.linspace(segment.start_deg, segment.end_deg, POINTS), lowest)
    below = quantity(motion(segment, at)) < 0
    edges = np.flatnonzero(np.diff(below))
    ends = [root(lambda x: quantity(motion(segment, x)), at[edge], at[edge + 1]) for edge in edges]
    ends = ([float(at[0])] if below[0] else []) + ends + ([float(at[-1])] if below[-1] else [])
    return zip(ends[::2], ends[1::2], strict=True)


def root(function: Callable[[np.ndarray], np.ndarray], low: float, high: float) -> float:
    """Where a function of arrays first changes sign between two places, in any order, with other signs.

    >>> abs(root(lambda x: x * x - 2, 0.0, 2.0) - math.sqrt(2)) < 1e-13
    True
    """
    while abs(high - low) > 1e-14 * (1 + abs(high)):
        at = np.linspace(low, high, POINTS)
        below = function(at) < 0
        first = int(np.argmax(below == below[-1]))
        low, high = at[max(first - 1, 0)], at[first]
    return float(high)


def corners(programme: Programme) -> tuple[Corner, ...]:
    """Where the slope steps from one segment to the next: what follows there is knocked, however slowly.

    >>> rise = Segment(30, 60, 0, 3, "constant velocity")
    >>> track = Programme((Segment(0, 30, 0, 0), rise, Segment(60, 90, 3, 3)))
    >>> [corner.angle_deg for corner in corners(track)]
    [30.0, 60.0]
    """
    segments = programme.segments
    pairs = list(zip(segments, segments[1:], strict=False))
    if programme.period_deg:
        pairs = [(segments[-1], segments[0]), *pairs]
    found = []
    for one, other in pairs:
        before, after = PER_RADIAN * one.slope(one.end_deg), PER_RADIAN * other.slope(other.start_deg)
        if abs(after - before) > CLOSE:
            found.append(Corner(other.start_deg, before, after))
    return tuple(found)
