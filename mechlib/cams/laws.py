"""Lift laws of cams on x = angle/length of the move (0 to 1), with a rise of 1.

A law is written down once, as the shape of its acceleration: a table of pieces, each a polynomial or
a sum of sines.  Velocity and position are its exact integrals and the jerk is its derivative; the scale
follows from position(1) = 1, so the peak factors of a law are results and never typed in.  A new law is
one more entry of ``LAWS``; ``polynomial`` and ``measured`` make laws for one cam.  Every law of ``LAWS``
rises all the way (it never turns back), which ``inverse`` relies on.

For a move of h mm in a length of B degrees: lift = h·s(x), slope = h/B·v(x) mm a degree.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property

import numpy as np

from mechlib.cams.pieces import QUARTER, Piece, Wave, end_value, extremes, integrated, jumps, spans
from mechlib.errors import MechError, check_number
from mechlib.say import listing, say

BACK = 1e-9  # a velocity below zero by less than this, for a unit of peak velocity, is rounding


@dataclass(frozen=True)
class Peaks:
    """Largest absolute velocity, acceleration and jerk of a law for unit rise and unit length."""

    velocity: float
    acceleration: float
    jerk: float


@dataclass(frozen=True)
class Law:
    """A lift law, from the ``shape`` of its acceleration (any scale) and its velocity at x = 0 on that scale.

    Raises MechError for a piece that is both a polynomial and sines, whose peaks have no closed form, and
    when first worked with if the law ends no higher than it starts.

    >>> round(LAWS["cycloidal"].position(0.25), 6), LAWS["cycloidal"].velocity(0.5)
    (0.090845, 2.0)
    """

    name: str
    shape: tuple[Piece, ...]
    start_velocity: float = 0.0

    def __post_init__(self):
        for number, piece in enumerate(self.shape, 1):
            if piece.waves and any(piece.poly):
                problem = "it must be a polynomial or sines, not both"
                raise MechError(f"piece {number} of the {self.name} law", problem)

    @cached_property
    def _curves(self) -> tuple[tuple[Piece, ...], ...]:
        """Position, velocity, acceleration and jerk, each as pieces."""
        velocity = integrated(self.shape, self.start_velocity)
        position = integrated(velocity, 0.0)
        rise = end_value(position)
        if not rise > 0:
            raise MechError(
                f"the {self.name} law ends at {rise:g} times its scale", "it must end above its start"
            )
        scale = 1.0 / rise
        jerk = tuple(piece.derivative() for piece in self.shape)
        curves = (position, velocity, self.shape, jerk)
        return tuple(tuple(piece.scaled(scale) for piece in curve) for curve in curves)

    @cached_property
    def starts(self) -> tuple[float, ...]:
        """Where its formula changes: the x at which each piece of it starts.

        >>> LAWS["constant acceleration"].starts
        (0.0, 0.5)
        """
        return tuple(piece.start for piece in self.shape)

    def pieces(self, order: int) -> tuple[Piece, ...]:
        """The pieces of its position (order 0), velocity (1), acceleration (2) or jerk (3) over x.

        >>> [piece.poly for piece in LAWS["constant velocity"].pieces(0)]
        [(0.0, 1.0, 0.0)]
        """
        return self._curves[order]

    def _evaluate(self, order: int, x):
        curve = self._curves[order]
        if isinstance(x, np.ndarray):
            if not ((x >= 0) & (x <= 1)).all():
                raise MechError(f"x of the {self.name} law", "every x must be from 0 to 1")
            if len(curve) == 1:
                return curve[0].value(x, np.sin)
            where = np.searchsorted(self.starts, x, side="right") - 1
            result = np.empty(x.shape)
            for index, piece in enumerate(curve):
                here = where == index
                result[here] = piece.value(x[here] - piece.start, np.sin)
            return result
        x = check_number(f"x of the {self.name} law", x, 0, 1)
        piece = curve[bisect_right(self.starts, x) - 1]
        return piece.value(x - piece.start)

    def position(self, x):
        """Lift s(x) for unit rise; ``x`` from 0 to 1, a number or a numpy array.

        Raises MechError outside 0..1.  Source: exact integral of the law's acceleration.

        >>> LAWS["3-4-5"].position(0.5)
        0.5
        """
        lift = self._evaluate(0, x)
        if not self.monotone:
            return lift
        return lift.clip(0.0, 1.0) if isinstance(lift, np.ndarray) else min(max(lift, 0.0), 1.0)

    def velocity(self, x):
        """Velocity v(x) = ds/dx for unit rise and length; ``x`` from 0 to 1, a number or a numpy array.

        At a step the value just after it.  Raises MechError outside 0..1.

        >>> LAWS["constant velocity"].velocity(0.3)
        1.0
        """
        return self._evaluate(1, x)

    def acceleration(self, x):
        """Acceleration a(x) = d²s/dx² for unit rise and length; ``x`` from 0 to 1, a number or an array.

        At a step the value just after it.  Raises MechError outside 0..1.

        >>> LAWS["constant acceleration"].acceleration(0.2), LAWS["constant acceleration"].acceleration(0.5)
        (4.0, -4.0)
        """
        return self._evaluate(2, x)

    def jerk(self, x):
        """Jerk j(x) = d³s/dx³ for unit rise and length; ``x`` from 0 to 1, a number or an array.

        At a step the value just after it; where the acceleration itself steps, the jerk has no bound, and
        this is its value beside the step.  Raises MechError outside 0..1.

        >>> round(LAWS["3-4-5"].jerk(0.0), 9)
        60.0
        """
        return self._evaluate(3, x)

    @cached_property
    def peaks(self) -> Peaks:
        """Peak factors: multiply by h/B, h/B² and h/B³ for a rise h in a length B.

        Infinite where a step of the curve below it (from or to a standing follower included) makes it so.

        >>> LAWS["constant acceleration"].peaks
        Peaks(velocity=2.0, acceleration=4.0, jerk=inf)
        """
        _, velocity, acceleration, jerk = self._curves
        smooth_velocity = not jumps(velocity)
        smooth = smooth_velocity and not jumps(acceleration)
        return Peaks(
            _largest_size(velocity),
            _largest_size(acceleration) if smooth_velocity else math.inf,
            _largest_size(jerk) if smooth else math.inf,
        )

    @cached_property
    def monotone(self) -> bool:
        """Whether the law never turns back: its smallest velocity is not below zero.

        >>> LAWS["cycloidal"].monotone
        True
        """
        slowest, fastest = extremes(self._curves[1])
        return slowest >= -BACK * fastest

    def sentence(self) -> str:
        """The peak factors in words, and whether the law turns back.

        >>> LAWS["constant acceleration"].sentence()
        'The constant acceleration law, for unit rise in unit length: peak velocity 2.000, peak acceleration \
4.000, peak jerk without bound; it never turns back.'
        """
        kinds = ("velocity", "acceleration", "jerk")
        factors = [(kind, getattr(self.peaks, kind)) for kind in kinds]
        words = ", ".join(
            f"peak {kind} {say(factor, digits=3) if math.isfinite(factor) else 'without bound'}"
            for kind, factor in factors
        )
        back = "it never turns back" if self.monotone else "it turns back on its way"
        return f"The {self.name} law, for unit rise in unit length: {words}; {back}."

    def inverse(self, s) -> float:
        """The x at which the lift is ``s`` (0 to 1): Newton's steps, halving the bracket where they leave it.

        Exact to 1e-13 or to what ``s`` itself tells, whichever is coarser: where the law
        is flat, near 0 and 1, a digit of ``s`` moves x far.  Raises MechError outside 0..1 and for a law
        that turns back, which may reach a lift at several x.

        >>> round(LAWS["simple harmonic"].inverse(0.25), 12)
        0.333333333333
        """
        s = check_number(f"lift of the {self.name} law", s, 0, 1)
        if not self.monotone:
            raise MechError(
                f"the {self.name} law turns back", "only a law that rises all the way has an inverse"
            )
        if s in (0.0, 1.0):
            return s
        index = bisect_right([piece.value(0.0) for piece in self._curves[0]], s) - 1
        piece, slope = self._curves[0][index], self._curves[1][index]
        low, high = 0.0, spans(self.shape)[index][1]
        u = 0.5 * high
        while low < u < high:
            error, rate = piece.value(u) - s, slope.value(u)
            low, high = (low, u) if error > 0 else (u, high)
            newton = u - error / rate if rate > 0 else low
            if abs(newton - u) <= 1e-16:
                break
            u = newton if low < newton < high else 0.5 * (low + high)
        return piece.start + u


def _largest_size(curve: tuple[Piece, ...]) -> float:
    return max(map(abs, extremes(curve)))


def _sine(start: float, omega: float, phase: float = 0.0) -> Piece:
    return Piece(start, waves=(Wave(1.0, omega, phase),))


_TABLE = (
    Law("constant velocity", (Piece(0.0, (0.0,)),), start_velocity=1.0),
    Law("constant acceleration", (Piece(0.0, (1.0,)), Piece(0.5, (-1.0,)))),
    Law("simple harmonic", (_sine(0.0, math.pi, QUARTER),)),
    # s = ½·[(1 − cos πx) − ¼·(1 − cos 2πx)]: a soft start; the push at the top is meant to go straight on
    # into a fall that mirrors it.  Rothbart, Cam Design Handbook, section 2.12, equations 2.61 to 2.64.
    Law(
        "double harmonic",
        (Piece(0.0, waves=(Wave(1.0, math.pi, QUARTER), Wave(-1.0, 2 * math.pi, QUARTER))),),
    ),
    Law("cycloidal", (_sine(0.0, 2 * math.pi),)),
    # A quarter of a fast sine, half of one three times slower, a quarter of the fast one.
    Law(
        "modified sine",
        (
            _sine(0.0, 4 * math.pi),
            _sine(1 / 8, 4 * math.pi / 3, QUARTER),
            _sine(7 / 8, 4 * math.pi, 3 * QUARTER),
        ),
    ),
    # Our definition: the modified sine law with its peak of velocity held through the middle half of the
    # move.  A quarter of a fast sine over 1/16, of one three times slower over 3/16, none over 1/2, and back.
    Law(
        "modified constant velocity",
        (
            _sine(0.0, 8 * math.pi),
            _sine(1 / 16, 8 * math.pi / 3, QUARTER),
            Piece(1 / 4, (0.0,)),
            _sine(3 / 4, 8 * math.pi / 3, 2 * QUARTER),
            _sine(15 / 16, 8 * math.pi, 3 * QUARTER),
        ),
    ),
    # Level at the top and at the bottom, with quarters of a sine instead of corners.
    Law(
        "modified trapezoidal",
        (
            _sine(0.0, 4 * math.pi),
            Piece(1 / 8, (1.0,)),
            _sine(3 / 8, 4 * math.pi, QUARTER),
            Piece(5 / 8, (-1.0,)),
            _sine(7 / 8, 4 * math.pi, 3 * QUARTER),
        ),
    ),
    # Slopes of 30·x²(1 − x)² and 140·x³(1 − x)³: at both ends velocity and acceleration (and jerk) vanish.
    Law("3-4-5", (Piece(0.0, (0.0, 60.0, -180.0, 120.0)),)),
    Law("4-5-6-7", (Piece(0.0, (0.0, 0.0, 420.0, -1680.0, 2100.0, -840.0)),)),
)

LAWS: dict[str, Law] = {entry.name: entry for entry in _TABLE}


def law(name: str) -> Law:
    """The lift law called ``name``.

    Raises MechError with the names that exist and the nearest one.

    >>> round(law("3-4-5").peaks.acceleration, 6)
    5.773503
    >>> law("cycloid")
    Traceback (most recent call last):
    mechlib.errors.MechError: law is 'cycloid': there is no such law; did you mean 'cycloidal'? The laws \
are constant velocity, constant acceleration, simple harmonic, double harmonic, cycloidal, modified sine, \
modified constant velocity, modified trapezoidal, 3-4-5 and 4-5-6-7
    """
    try:
        return LAWS[name]
    except (KeyError, TypeError):
        near = get_close_matches(str(name), LAWS, 1)
        hint = f"; did you mean {near[0]!r}?" if near else "."
        problem = f"there is no such law{hint} The laws are {listing(LAWS)}"
        raise MechError(f"law is {name!r}", problem) from None
