"""Lift laws and tracks from measured points: the lift read at each tooth, with a caliper.

Between the readings of a move runs a monotone cubic: it passes through every one, never overshoots it, and
leaves a dwell and reaches the next at no speed.  A dwell lies at the mean of its readings.  Where it
truly ends is known to one step of the readings only.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import groupby, pairwise

from mechlib.cams.laws import Law
from mechlib.cams.pieces import Piece
from mechlib.cams.programme import CLOSE, DWELL, Programme, Segment
from mechlib.errors import MechError, check_count, check_number

MOST_SPREAD_MM = 5.0
MOST_MM = 1e4
MOST_DEG = 1e5
MOST_READINGS = 1000

Reading = tuple[float, float]  # place and lift


def measured(points: Iterable[Reading]) -> Law:
    """The law of one move through measured points (place, lift), from standstill to standstill.

    Between two points runs the cubic with these slopes at its ends: none at the first and the last point,
    else the weighted harmonic mean (w1 + w2)/(w1/d1 + w2/d2) of the slopes d1, d2 of the straight lines
    before and after, w1 = h1 + 2·h2, w2 = 2·h1 + h2 for steps h1, h2.  Such a cubic rises all the way.
    Places in any unit, each larger than the one before; lifts in any unit, all rising or all falling.  The
    law runs over x = 0 … 1 from the first lift (0) to the last (1), a fall too.
    Raises MechError for fewer than two points, places that don't rise and lifts that stand still or turn.
    Source: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300–304, from memory.

    >>> law = measured([(0, 0.0), (3, 1.2), (6, 4.8), (9, 6.0)])
    >>> round(law.position(1 / 3), 9), round(law.position(2 / 3), 9), law.velocity(0.0), law.monotone
    (0.2, 0.8, 0.0, True)
    """
    points = _checked(points, "place")
    (first, start), (last, end) = points[0], points[-1]
    if start == end:
        raise MechError(f"the lift ends where it starts, at {start:g}", "the points of one move rise or fall")
    knots = [((place - first) / (last - first), (lift - start) / (end - start)) for place, lift in points]
    for number, ((_, low), (_, high)) in enumerate(pairwise(knots), 2):
        if high <= low:
            raise MechError(
                f"point {number} stands still or turns back",
                "the points of one move all rise or all fall; programme_from_readings splits a track",
            )
    slopes = _slopes(knots)
    return Law("measured", tuple(_acceleration(*k) for k in _spans(knots, slopes)), slopes[0])


def programme_from_readings(
    angles_deg: Iterable[float],
    lifts_mm: Iterable[float],
    same_within_mm: float,
    period_deg: float | None = None,
) -> Programme:
    """The track through readings of the lift: dwells, and moves each with a measured law of its own.

    Neighbouring readings that lie within ``same_within_mm`` (0 to 5 mm: what the caliper can tell) of each
    other, all of them, are one dwell at their mean (the longest such run first); every other step is part of
    a move.  A move slower than that from one reading to the next is seen as short dwells: read it at wider
    steps.  At most 1000 readings.
    ``angles_deg`` rise; with ``period_deg`` the last is less than a period after the first, and the track
    closes on the first reading.  Without, it starts and ends in a dwell.
    Raises MechError for readings that don't fit together.

    >>> track = programme_from_readings([0, 9, 18, 27, 36, 45], [0.0, 0.02, 1.0, 4.9, 6.01, 5.99], 0.05)
    >>> [(s.start_deg, s.end_deg, round(s.end_mm, 9)) for s in track.segments]
    [(0.0, 9.0, 0.01), (9.0, 36.0, 6.0), (36.0, 45.0, 6.0)]
    >>> round(track.lift(18), 9), round(track.lift(27), 9)
    (1.0, 4.9)
    """
    angles_deg, lifts_mm = list(angles_deg), list(lifts_mm)
    if len(angles_deg) != len(lifts_mm):
        raise MechError(
            f"there are {len(angles_deg)} angles and {len(lifts_mm)} lifts", "give one lift for each angle"
        )
    readings = _checked(zip(angles_deg, lifts_mm, strict=True), "angle", " degrees")
    same_within_mm = check_number("same_within_mm", same_within_mm, 0, MOST_SPREAD_MM, "mm")
    if period_deg is not None:
        period_deg = check_number("period_deg", period_deg, 1e-3, unit="degrees")
        level = _closed(readings, period_deg, same_within_mm)
    else:
        level = _levelled(readings, same_within_mm)
        for name, end in (("first", slice(2)), ("last", slice(-2, None))):
            if _sense(level[end]):
                one, other = readings[end]
                raise MechError(
                    f"the {name} two readings are {one[1]:g} and {other[1]:g} mm",
                    "a track with two ends starts and ends in a dwell: read on until the lift stands still",
                )
    return Programme(tuple(_segments(level)), period_deg)


def _checked(readings: Iterable[Reading], place: str, unit: str = "") -> list[Reading]:
    """The readings as numbers, in order of their place; ``unit`` is told behind a place."""
    found: list[Reading] = []
    for number, reading in enumerate(readings, 1):
        try:
            at, lift = reading
        except (TypeError, ValueError):
            raise MechError(f"point {number} is {reading!r}", f"write ({place}, lift)") from None
        at = check_number(f"{place} {number}", at, -MOST_DEG, MOST_DEG)
        if found and at - found[-1][0] <= CLOSE:
            raise MechError(
                f"{place} {number} is {at:g}{unit}",
                f"it must be larger than the one before, {found[-1][0]:g}{unit}",
            )
        found.append((at, check_number(f"lift {number}", lift, -MOST_MM, MOST_MM, "mm")))
    check_count("the number of readings", len(found), 2, MOST_READINGS)
    return found


def _slopes(knots: list[Reading]) -> list[float]:
    """The slope at each knot of a rising row: none at its ends."""
    steps = [(after[0] - before[0], after[1] - before[1]) for before, after in pairwise(knots)]
    inner = [
        3 * (h1 + h2) / ((h1 + 2 * h2) * h1 / rise1 + (2 * h1 + h2) * h2 / rise2)
        for (h1, rise1), (h2, rise2) in pairwise(steps)
    ]
    return [0.0, *inner, 0.0]


def _spans(knots: list[Reading], slopes: list[float]):
    """For each step: where it starts, its length and rise, the slopes at its ends."""
    for (before, after), ends in zip(pairwise(knots), pairwise(slopes), strict=True):
        yield before[0], after[0] - before[0], after[1] - before[1], *ends


def _acceleration(start: float, length: float, rise: float, slope: float, end_slope: float) -> Piece:
    """The straight line that is the second derivative of the cubic with these ends."""
    mean = rise / length
    at_start = (6 * mean - 4 * slope - 2 * end_slope) / length
    return Piece(start, (at_start, 6 * (slope + end_slope - 2 * mean) / length**2))


def _levelled(readings: list[Reading], same_within_mm: float) -> list[Reading]:
    """The readings with each run that counts as a dwell set to its mean.

    The longest run comes first, and of equally long ones the closest together.  Taken from left to right
    instead, the last reading of a move would draw in half of the dwell behind it.
    """
    if len(readings) < 2:
        return readings
    lifts = [lift for _, lift in readings]
    runs = [lifts[first : _run_end(lifts, first, same_within_mm)] for first in range(len(lifts))]
    first = max(range(len(runs)), key=lambda index: (len(runs[index]), min(runs[index]) - max(runs[index])))
    after = first + len(runs[first])
    mean = sum(runs[first]) / len(runs[first])
    if len(runs[first]) < 2:
        return readings
    before, level = readings[:first], [(at, mean) for at, _ in readings[first:after]]
    return [*_levelled(before, same_within_mm), *level, *_levelled(readings[after:], same_within_mm)]


def _run_end(lifts: list[float], first: int, spread: float) -> int:
    """Behind the last of the lifts that, from the first on, lie within the spread of one another."""
    low = high = lifts[first]
    for index in range(first, len(lifts)):
        low, high = min(low, lifts[index]), max(high, lifts[index])
        if high - low > spread + CLOSE:
            return index
    return len(lifts)


def _closed(readings: list[Reading], period_deg: float, same_within_mm: float) -> list[Reading]:
    """One turn of levelled readings that starts, and a period later ends, where a move or a dwell begins."""
    length = readings[-1][0] - readings[0][0]
    if length >= period_deg - CLOSE:
        raise MechError(
            f"the last angle is {length:g}° after the first",
            f"it must be less than the period of {period_deg:g}° after it",
        )
    count = len(readings)
    # From the reading behind the largest step, so that no dwell lies over the seam while runs are found.
    seam = max(range(count), key=lambda index: abs(readings[index][1] - readings[index - 1][1]))
    readings = _levelled(_turned(readings, seam, period_deg), same_within_mm)
    senses = [_sense(step) for step in pairwise([*readings, readings[0]])]
    seam = next((index for index in range(count) if senses[index] != senses[index - 1]), 0)
    readings = _turned(readings, seam, period_deg)
    return [*readings, (readings[0][0] + period_deg, readings[0][1])]


def _turned(readings: list[Reading], first: int, period_deg: float) -> list[Reading]:
    return readings[first:] + [(at + period_deg, lift) for at, lift in readings[:first]]


def _sense(step: Sequence[Reading]) -> int:
    """1 for a step up, −1 for a step down, 0 for none."""
    rise = step[1][1] - step[0][1]
    return 0 if abs(rise) <= CLOSE else int(math.copysign(1, rise))


def _segments(readings: list[Reading]):
    for sense, steps in groupby(pairwise(readings), key=_sense):
        steps = list(steps)
        points = [steps[0][0], *(after for _, after in steps)]
        (start, low), (end, high) = points[0], points[-1]
        yield Segment(start, end, low, high, measured(points) if sense else DWELL)
