"""What a cam track asks of its follower: dwells and moves over the angle, and where a lift lies in a range.

Angles are degrees of the part that carries the track, lifts are millimetres.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, replace
from functools import cached_property
from numbers import Real

import numpy as np

from mechlib.cams.laws import Law, law
from mechlib.cams.pieces import Piece
from mechlib.cams.sampling import Table
from mechlib.errors import MechError, check_number
from mechlib.say import say

DWELL = "dwell"
CLOSE = 1e-9  # degrees or mm that count as equal where segments join and where a range ends at a level


@dataclass(frozen=True)
class Segment:
    """One dwell (``law="dwell"``, equal lifts) or one move of a track, from ``start_deg`` to ``end_deg``.

    ``law`` is "dwell", a name of ``mechlib.cams.LAWS``, or a law of its own, such as one through measured
    points; x of the law runs from 0 at ``start_deg`` to 1.
    Raises MechError for numbers that aren't finite, no length, a dwell that moves or a move that doesn't,
    and for a law that turns back on its way.

    >>> Segment(10, 40, 0, 5, "cycloidal").lift(25)
    2.5
    """

    start_deg: float
    end_deg: float
    start_mm: float
    end_mm: float
    law: str | Law = DWELL

    def __post_init__(self):
        for name in ("start_deg", "end_deg", "start_mm", "end_mm"):
            object.__setattr__(self, name, check_number(name, getattr(self, name)))
        if self.end_deg - self.start_deg <= CLOSE:
            raise MechError(f"end_deg is {self.end_deg:g}°", f"it must exceed start_deg, {self.start_deg:g}°")
        if not (self.is_dwell or self._law.monotone):
            problem = "a move rises or falls all the way; split it where it turns, or choose another law"
            raise MechError(f"the {self._law.name} law turns back", problem)
        still = abs(self.end_mm - self.start_mm) <= CLOSE
        if self.is_dwell and not still:
            raise MechError(
                f"the dwell's lift goes from {self.start_mm:g} to {self.end_mm:g} mm",
                "a dwell keeps its lift; for a move, name its law",
            )
        if still and not self.is_dwell:
            problem = f"it stays at {self.start_mm:g} mm; for that, write {DWELL!r} as its law"
            raise MechError(f"the {self._law.name} move goes nowhere", problem)

    @property
    def is_dwell(self) -> bool:
        return self.law == DWELL

    @cached_property
    def _law(self) -> Law:
        return self.law if isinstance(self.law, Law) else law(self.law)

    def sentence(self) -> str:
        """Where it is and what it does.

        >>> Segment(10, 40, 0, 5, "cycloidal").sentence()
        'From 10.0° to 40.0° a move from 0.0 mm to 5.0 mm, cycloidal.'
        """
        where, at = f"From {say(self.start_deg, '°')} to {say(self.end_deg, '°')}", say(self.start_mm, "mm")
        if self.is_dwell:
            return f"{where} a dwell at {at}."
        return f"{where} a move from {at} to {say(self.end_mm, 'mm')}, {self._law.name}."

    @property
    def pieces_deg(self) -> tuple[float, ...]:
        """Where each piece of its law starts, in degrees.

        >>> Segment(10, 40, 6, 0, "constant acceleration").pieces_deg
        (10.0, 25.0)
        """
        starts = (0.0,) if self.is_dwell else self._law.starts
        return tuple(self.start_deg + start * (self.end_deg - self.start_deg) for start in starts)

    def law_pieces(self, order: int) -> tuple[Piece, ...]:
        """The pieces of its law's position (order 0) or velocity (1), for a move.

        >>> [piece.start for piece in Segment(10, 40, 6, 0, "constant acceleration").law_pieces(1)]
        [0.0, 0.5]
        """
        return self._law.pieces(order)

    def _x(self, x_deg):
        return (_checked(x_deg) - self.start_deg) / (self.end_deg - self.start_deg)

    def lift(self, x_deg):
        """Lift in mm at ``x_deg`` (a number or a numpy array), start_mm + rise·s(x).

        A dwell keeps its lift at any angle.  Raises MechError for an angle outside a move or not finite.

        >>> Segment(10, 40, 6, 0, "constant velocity").lift(20)
        4.0
        """
        if self.is_dwell:
            return self.start_mm + 0.0 * _checked(x_deg)
        return self.start_mm + (self.end_mm - self.start_mm) * self._law.position(self._x(x_deg))

    def slope(self, x_deg: float) -> float:
        """Slope of the lift at ``x_deg`` in mm a degree, rise/length·v(x); of a dwell 0 at any angle.

        Raises MechError for an angle outside a move or not finite.

        >>> Segment(10, 40, 6, 0, "constant velocity").slope(20)
        -0.2
        """
        if self.is_dwell:
            _checked(x_deg)
            return 0.0
        rise, length = self.end_mm - self.start_mm, self.end_deg - self.start_deg
        return rise / length * self._law.velocity(self._x(x_deg))

    def bend(self, x_deg):
        """Second derivative of the lift at ``x_deg`` in mm a degree², rise/length²·a(x); as ``slope``.

        >>> Segment(0, 10, 0, 5, "constant acceleration").bend(2)
        0.2
        """
        if self.is_dwell:
            _checked(x_deg)
            return 0.0
        rise, length = self.end_mm - self.start_mm, self.end_deg - self.start_deg
        return rise / length**2 * self._law.acceleration(self._x(x_deg))

    def arc_within(self, low_mm: float, high_mm: float) -> tuple[float, float] | None:
        """The closed arc (degrees) of this segment on which low_mm ≤ lift ≤ high_mm, or None.

        >>> Segment(10, 40, 6, 0, "constant velocity").arc_within(2, 9)
        (10.0, 30.0)
        """
        rising = self.end_mm > self.start_mm
        bottom, top = (self.start_mm, self.end_mm) if rising else (self.end_mm, self.start_mm)
        if low_mm > top or high_mm < bottom:
            return None
        if self.is_dwell:
            return self.start_deg, self.end_deg
        at_low, at_high = self._angle(max(low_mm, bottom)), self._angle(min(high_mm, top))
        return (at_low, at_high) if rising else (at_high, at_low)

    def _angle(self, lift_mm: float) -> float:
        """Where in the move the lift is ``lift_mm``; its own ends come back exactly, so that arcs join."""
        if lift_mm == self.start_mm:
            return self.start_deg
        if lift_mm == self.end_mm:
            return self.end_deg
        x = self._law.inverse((lift_mm - self.start_mm) / (self.end_mm - self.start_mm))
        return min(self.start_deg + x * (self.end_deg - self.start_deg), self.end_deg)


@dataclass(frozen=True)
class Programme:
    """The lift of one follower over the angle of its track: segments that join without a gap or a step.

    An open programme (``period_deg=None``) starts and ends in a dwell, and the follower keeps that lift
    beyond.  With a period the segments fill one turn and the last joins the first.
    Raises MechError that names the segment (counted from 1) and what is wrong with it.

    >>> track = Programme((Segment(0, 30, 0, 0), Segment(30, 60, 0, 6, "constant velocity"),
    ...                    Segment(60, 90, 6, 6)))
    >>> track.lift(45), track.lift(500), track.slope(40), track.angles_at(1.5)
    (3.0, 6.0, 0.2, (37.5,))
    >>> track.arcs_within(0, 3)
    ((-inf, 45.0),)
    """

    segments: tuple[Segment, ...]
    period_deg: float | None = None

    def __post_init__(self):
        segments = _joined(_levelled(tuple(self.segments)))
        if self.period_deg is None:
            for number, segment in ((1, segments[0]), (len(segments), segments[-1])):
                if not segment.is_dwell:
                    raise MechError(
                        f"segment {number} is a move",
                        "a programme with two ends starts and ends in a dwell, whose lift holds beyond",
                    )
        else:
            period = check_number("period_deg", self.period_deg, 1e-3, unit="degrees")
            object.__setattr__(self, "period_deg", period)
            segments = _closed(segments, period)
        object.__setattr__(self, "segments", segments)

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:  # kept, since programmes are in the keys of caches
        return hash((self.segments, self.period_deg))

    @cached_property
    def _table(self) -> Table:
        return Table(self.segments)

    @cached_property
    def _starts(self) -> tuple[float, ...]:
        return tuple(segment.start_deg for segment in self.segments)

    @cached_property
    def levels_mm(self) -> tuple[float, ...]:
        """The lifts (mm) at which segments start or end, each once, lowest first.

        >>> Programme((Segment(0, 9, 3, 3), Segment(9, 20, 3, 1, "3-4-5"), Segment(20, 30, 1, 1))).levels_mm
        (1.0, 3.0)
        """
        return tuple(sorted({lift for s in self.segments for lift in (s.start_mm, s.end_mm)}))

    @property
    def rests_mm(self) -> tuple[float, ...]:
        """The lifts (mm) at which it dwells, each once, lowest first.

        >>> Programme((Segment(0, 9, 3, 3), Segment(9, 20, 3, 1, "3-4-5"), Segment(20, 30, 1, 1))).rests_mm
        (1.0, 3.0)
        """
        return tuple(sorted({segment.start_mm for segment in self.segments if segment.is_dwell}))

    @cached_property
    def pieces_deg(self) -> tuple[float, ...]:
        """Where the formula of the lift changes, in degrees, rising; the start and the end are among them.

        >>> rise = Segment(9, 20, 3, 1, "constant acceleration")
        >>> Programme((Segment(0, 9, 3, 3), rise, Segment(20, 30, 1, 1))).pieces_deg
        (0.0, 9.0, 14.5, 20.0, 30.0)
        """
        inner = (start for segment in self.segments for start in segment.pieces_deg)
        return (*inner, self.segments[-1].end_deg)

    @cached_property
    def moves_deg(self) -> tuple[tuple[float, float], ...]:
        """Arcs (start, end) in degrees of all that isn't a dwell, those that touch made one.

        >>> Programme((Segment(0, 9, 3, 3), Segment(9, 20, 3, 1, "3-4-5"), Segment(20, 30, 1, 1))).moves_deg
        ((9.0, 20.0),)
        """
        return tuple(_merged((s.start_deg, s.end_deg) for s in self.segments if not s.is_dwell))

    def _folded(self, x_deg):
        """The angle (or array) brought into the segments: wrapped, or held at an open programme's end."""
        start, end = self._starts[0], self.segments[-1].end_deg
        if self.period_deg is not None:
            x_deg = start + (x_deg - start) % self.period_deg
        return np.clip(x_deg, start, end) if isinstance(x_deg, np.ndarray) else min(max(x_deg, start), end)

    def _at(self, x_deg: float) -> tuple[Segment, float]:
        x_deg = self._folded(check_number("angle", x_deg, unit="degrees"))
        return self.segments[bisect_right(self._starts, x_deg) - 1], x_deg

    def lift(self, x_deg: float) -> float:
        """Lift in mm at any angle (degrees).  Raises MechError for an angle that is no finite number.

        >>> Programme((Segment(0, 90, 3, 3),)).lift(-200)
        3.0
        """
        segment, x_deg = self._at(x_deg)
        return segment.lift(x_deg)

    def slope(self, x_deg: float) -> float:
        """Slope of the lift in mm a degree at any angle; where two segments join, that of the later one.

        Raises MechError for an angle that is no finite number.

        >>> Programme((Segment(0, 90, 3, 3),)).slope(45)
        0.0
        """
        segment, x_deg = self._at(x_deg)
        return segment.slope(x_deg)

    def bend(self, x_deg: float) -> float:
        """Second derivative of the lift in mm a degree² at any angle; where it steps, its value just after.

        Raises MechError for an angle that is no finite number.

        >>> Programme((Segment(0, 90, 3, 3),)).bend(45)
        0.0
        """
        segment, x_deg = self._at(x_deg)
        return segment.bend(x_deg)

    def lifts(self, x_deg: np.ndarray) -> np.ndarray:
        """``lift`` of a whole array of angles (degrees) at once, for pictures.

        Raises MechError if any angle is no finite number.

        >>> Programme((Segment(0, 90, 3, 3),)).lifts(np.array([10.0, 500.0])).tolist()
        [3.0, 3.0]
        """
        return self._over(x_deg, Segment.lift)[0]

    def slopes(self, x_deg: np.ndarray) -> np.ndarray:
        """``slope`` of a whole array of angles (degrees) at once, in mm a degree.

        Raises MechError if any angle is no finite number.

        >>> Programme((Segment(0, 90, 3, 3),)).slopes(np.array([10.0, 500.0])).tolist()
        [0.0, 0.0]
        """
        return self._over(x_deg, Segment.slope)[0]

    def lift_and_slope(self, x_deg):
        """``lift`` and ``slope`` at once, of an angle (degrees) or a whole array of them.

        Raises MechError if any angle is no finite number.

        >>> Programme((Segment(0, 90, 3, 3),)).lift_and_slope(10.0)
        (3.0, 0.0)
        """
        if isinstance(x_deg, np.ndarray):
            return self._table.lift_and_slope(self._folded(_finite(x_deg)))
        segment, x_deg = self._at(x_deg)
        return segment.lift(x_deg), segment.slope(x_deg)

    def _over(self, x_deg, *quantities) -> tuple[np.ndarray, ...]:
        """Quantities of the segments over a whole array of angles."""
        x_deg = self._folded(_finite(x_deg))
        where = np.searchsorted(self._starts, x_deg, side="right") - 1
        results = tuple(np.empty(x_deg.shape) for _ in quantities)
        for index in np.flatnonzero(np.bincount(where.ravel())):
            here, segment = where == index, self.segments[index]
            for result, quantity in zip(results, quantities, strict=True):
                result[here] = quantity(segment, x_deg[here])
        return results

    def arcs_within(self, low_mm: float, high_mm: float) -> tuple[tuple[float, float], ...]:
        """The closed arcs (start, end) in degrees on which low_mm ≤ lift ≤ high_mm, sorted and apart.

        Either bound may be infinite; a bound within 1e-9 mm of one of ``levels_mm`` counts as that level.
        A lift that is reached at one angle only gives an arc of no length.  In an open programme
        an end dwell in the range reaches to −inf or +inf.  With a period every arc starts in
        [0, period) and one over the seam ends beyond the period; the whole turn is (0, period).
        Raises MechError if low_mm > high_mm or either is no number.

        >>> lobe = Programme((Segment(0, 180, 0, 0), Segment(180, 270, 0, 8, "3-4-5"),
        ...                   Segment(270, 360, 8, 0, "3-4-5")), period_deg=360)
        >>> lobe.arcs_within(4, 9), lobe.arcs_within(-1, 4)
        (((225.0, 315.0),), ((315.0, 585.0),))
        """
        if not (isinstance(low_mm, Real) and isinstance(high_mm, Real) and low_mm <= high_mm):
            raise MechError(f"the range is {low_mm!r} to {high_mm!r} mm", "give a low and a high number")
        low_mm, high_mm = self._level(low_mm), self._level(high_mm)
        found = (segment.arc_within(low_mm, high_mm) for segment in self.segments)
        arcs = _merged(arc for arc in found if arc is not None)
        return self._opened(arcs) if self.period_deg is None else self._wrapped(arcs)

    def angles_at(self, lift_mm: float) -> tuple[float, ...]:
        """The single angles (degrees, sorted) at which the follower passes or just reaches ``lift_mm``.

        A dwell at that lift is no single angle: it shows in ``arcs_within``.  With a period, angles are in
        [0, period).  Raises MechError for a lift that is no finite number.

        >>> lobe = Programme((Segment(0, 90, 0, 8, "3-4-5"), Segment(90, 180, 8, 0, "3-4-5"),
        ...                   Segment(180, 360, 0, 0)), period_deg=360)
        >>> lobe.angles_at(4), lobe.angles_at(8), lobe.angles_at(0)
        ((45.0, 135.0), (90.0,), ())
        """
        lift_mm = check_number("lift", lift_mm, unit="mm")
        return tuple(start for start, end in self.arcs_within(lift_mm, lift_mm) if start == end)

    def _level(self, lift_mm: float) -> float:
        """``lift_mm``, or the level that it means: 2.5 − 0.2 isn't quite 2.3 in binary numbers."""
        index = bisect_right(self.levels_mm, lift_mm - CLOSE)
        if index < len(self.levels_mm) and self.levels_mm[index] - lift_mm <= CLOSE:
            return self.levels_mm[index]
        return lift_mm

    def _opened(self, arcs: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
        start, end = self._starts[0], self.segments[-1].end_deg
        return tuple((-math.inf if a == start else a, math.inf if b == end else b) for a, b in arcs)

    def _wrapped(self, arcs: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
        start, end, period = self._starts[0], self.segments[-1].end_deg, self.period_deg
        if arcs and arcs[0] == (start, end):
            return ((0.0, period),)
        if arcs and arcs[0][0] == start and arcs[-1][1] == end:
            arcs = [*arcs[1:-1], (arcs[-1][0], arcs[0][1] + period)]
        # Twice: the remainder of a tiny negative angle is rounded up to the period itself.
        turned = ((a % period % period, b - a) for a, b in arcs)
        return tuple(sorted((a, a + length) for a, length in turned))


def _checked(x_deg):
    """The angle or array of angles, if every one is a finite number."""
    return _finite(x_deg) if isinstance(x_deg, np.ndarray) else check_number("angle", x_deg, unit="degrees")


def _finite(x_deg) -> np.ndarray:
    try:
        x_deg = np.asarray(x_deg, float)
    except (TypeError, ValueError):
        raise MechError("an angle is not a number", "every angle must be a number of degrees") from None
    if not np.all(np.isfinite(x_deg)):
        raise MechError("an angle is not a finite number", "every angle must be a number of degrees")
    return x_deg


def _levelled(segments: tuple[Segment, ...]) -> tuple[Segment, ...]:
    """The segments with lifts that differ by rounding only made equal, so that == works from here on."""
    if not segments:
        raise MechError("the programme has no segment", "give at least one dwell")
    for segment in segments:
        if not isinstance(segment, Segment):
            raise MechError(f"{segment!r} is no segment", "write Segment(start, end, lift, lift, law)")
    level, level_of = -math.inf, {}
    for lift in sorted({lift for s in segments for lift in (s.start_mm, s.end_mm)}):
        level = level_of[lift] = level if lift - level <= CLOSE else lift
    return tuple(replace(s, start_mm=level_of[s.start_mm], end_mm=level_of[s.end_mm]) for s in segments)


def _joined(segments: tuple[Segment, ...]) -> tuple[Segment, ...]:
    """The segments, checked for gaps and steps, each starting exactly where the one before ends."""
    result = [segments[0]]
    for number, segment in enumerate(segments[1:], start=2):
        before = result[-1]
        if abs(segment.start_deg - before.end_deg) > CLOSE:
            raise MechError(
                f"segment {number} starts at {segment.start_deg:g}°",
                f"it must start at {before.end_deg:g}°, where segment {number - 1} ends",
            )
        if segment.start_mm != before.end_mm:
            raise MechError(
                f"segment {number} starts with a lift of {segment.start_mm:g} mm",
                f"it must start with {before.end_mm:g} mm, where segment {number - 1} ends",
            )
        result.append(replace(segment, start_deg=before.end_deg))
    return tuple(result)


def _closed(segments: tuple[Segment, ...], period_deg: float) -> tuple[Segment, ...]:
    """The segments, checked to fill one turn and to end with the lift that they start with."""
    first, last = segments[0], segments[-1]
    length = last.end_deg - first.start_deg
    if abs(length - period_deg) > CLOSE:
        raise MechError(
            f"segment {len(segments)} ends {length:g}° after segment 1 starts",
            f"the segments must fill the period of {period_deg:g}° exactly",
        )
    if last.end_mm != first.start_mm:
        raise MechError(
            f"segment {len(segments)} ends with a lift of {last.end_mm:g} mm",
            f"it must end with {first.start_mm:g} mm, where segment 1 starts the next turn",
        )
    return (*segments[:-1], replace(last, end_deg=first.start_deg + period_deg))


def _merged(arcs) -> list[tuple[float, float]]:
    """Arcs that come in order, with those that touch made one."""
    result: list[tuple[float, float]] = []
    for start, end in arcs:
        if result and start <= result[-1][1]:
            result[-1] = (result[-1][0], end)
        else:
            result.append((start, end))
    return result
