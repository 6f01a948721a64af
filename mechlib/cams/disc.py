"""Is this disc cam a good one?  Largest pressure angle, sharpest radius, undercutting, smallest base circle.

Usual limits of the pressure angle are common practice, no source: 30° for a follower on a slide, 35° to 45°
for one on a lever.  Every extreme is found by ``mechlib.cams.motion.largest``, so that it is exact to
rounding and not to a grid.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from mechlib.cams.follower import LIMITS, Follower
from mechlib.cams.motion import Extreme, Motion, all_largest, corners, largest, sampled
from mechlib.cams.outline import check_disc, overlap_mm
from mechlib.cams.programme import Programme
from mechlib.errors import MechError, check_number
from mechlib.say import say

BASES = 600  # that are tried first, each larger than the one before by the same ratio
FEW_BASES = 9  # between two of them: each round narrows the place 4 times
BASE_ROUNDS = 16
HALVINGS = 45
BARELY = 1e-9  # of a base circle: by so much it is made smaller to see what limits it
CROSSING_MM = 1e-3  # a smaller overlap is that of the sampled points


@dataclass(frozen=True)
class CamShape:
    """The judgement on a disc cam and its follower.

    ``highest`` and ``lowest`` pressure angle (degrees); ``sharpest``: the outline's smallest radius (mm)
    where it bulges, or None if it does so nowhere; ``hollow``: its smallest radius where it is hollow, or
    None: a cutter must be smaller than that.  Each has its value and the cam angle.  ``undercut``: the
    follower can't follow at the sharpest place; ``overlap_mm``: how deep it would stand in the outline
    somewhere; ``face_mm``: how far a flat face is touched left and right of ``trace`` (None for a roller).
    """

    highest: Extreme
    lowest: Extreme
    sharpest: Extreme | None
    hollow: Extreme | None
    undercut: bool
    overlap_mm: float
    face_mm: tuple[float, float] | None

    @property
    def pressure(self) -> Extreme:
        """The pressure angle that is farthest from 0, with its sign, and where."""
        return self.highest if self.highest.value >= -self.lowest.value else self.lowest

    @property
    def crosses(self) -> bool:
        """Whether the outline crosses itself though no place of it is too sharp."""
        return not self.undercut and self.overlap_mm > CROSSING_MM

    def sentence(self) -> str:
        """The finding in plain sentences.

        >>> from mechlib.cams import Segment
        >>> from mechlib.cams.follower import TranslatingRoller
        >>> lobe = Programme((Segment(0, 90, 0, 4, "3-4-5"), Segment(90, 360, 4, 0, "3-4-5")), 360)
        >>> print(cam_shape(lobe, TranslatingRoller(base_mm=9, roller_mm=3)).sentence())
        The pressure angle goes from −6.5° to 19.0°. The outline's smallest radius where it bulges is 6.89 \
mm, at 69.2°.
        """
        said = [_angle_words(self.highest.value, self.lowest.value)]
        if self.undercut:
            at = say(self.sharpest.angle_deg, "°")
            said.append(f"The cam is undercut at {at}: the follower can't keep to its lift there.")
        elif self.sharpest is not None:
            radius, at = say(self.sharpest.value, "mm", 2), say(self.sharpest.angle_deg, "°")
            said.append(f"The outline's smallest radius where it bulges is {radius}, at {at}.")
        if self.hollow is not None:
            radius, at = say(self.hollow.value, "mm", 2), say(self.hollow.angle_deg, "°")
            said.append(f"Its narrowest hollow has a radius of {radius}, at {at}: no cutter may be larger.")
        if self.crosses:
            depth = say(self.overlap_mm, "mm", 2)
            said.append(f"The outline crosses itself: the follower would stand {depth} deep in it.")
        if self.face_mm is not None:
            left, right = (say(value, "mm", 2) for value in self.face_mm)
            said.append(f"The face is touched up to {left} left and {right} right of its middle.")
        return " ".join(said)


def _angle_words(highest: float, lowest: float) -> str:
    low, high = say(lowest, "°"), say(highest, "°")
    said = f"is {high} everywhere" if low == high else f"goes from {low} to {high}"
    return f"The pressure angle {said}."


def cam_shape(programme: Programme, follower: Follower) -> CamShape:
    """The largest pressure angles, smallest radii and undercutting of a disc cam for this follower.

    Formulas: see ``mechlib.cams.follower``.  A place where the slope of the lift steps down is a bulge of
    radius 0 of the pitch curve, one where it steps up a hollow of radius 0.
    Raises MechError where the follower can't reach a lift, or for a programme that isn't one turn at most.

    >>> from mechlib.cams import Segment
    >>> from mechlib.cams.follower import FlatFace
    >>> up, down = Segment(0, 60, 0, 10, "simple harmonic"), Segment(60, 120, 10, 0, "simple harmonic")
    >>> shape = cam_shape(Programme((up, down, Segment(120, 360, 0, 0)), 360), FlatFace(base_mm=36))
    >>> round(shape.sharpest.value, 9), round(shape.sharpest.angle_deg, 3), shape.undercut
    (1.0, 60.0, False)
    >>> [round(reach, 9) for reach in shape.face_mm]
    [15.0, 15.0]
    """
    check_disc(programme)

    flat = not hasattr(follower, "roller_mm")
    parts = ("tightness", "pressure_deg", "aside_mm") if flat else ("tightness", "pressure_deg")

    def up_and_down(moves: Motion) -> list[np.ndarray]:
        stand = follower.stand(moves)
        return [sign * getattr(stand, part) for part in parts for sign in (1, -1)]

    most = all_largest(up_and_down, programme)
    least = [Extreme(-found.value, found.angle_deg) for found in most[1::2]]
    tightest, loosest = _with_corners(most[0], least[0], programme)
    bulges = flat or tightest.value > 0
    hollow = not flat and loosest.value < 0
    return CamShape(
        most[2],
        least[1],
        Extreme(follower.radius_mm(tightest.value), tightest.angle_deg) if bulges else None,
        Extreme(-follower.radius_mm(loosest.value), loosest.angle_deg) if hollow else None,
        follower.undercut(tightest.value),
        overlap_mm(programme, follower),
        (0.0 - least[2].value, 0.0 + most[4].value) if flat else None,
    )


def _with_corners(tightest: Extreme, loosest: Extreme, programme: Programme) -> tuple[Extreme, Extreme]:
    for corner in corners(programme):
        # The first of several equal ones is told, as everywhere.
        if corner.after_mm > corner.before_mm:
            loosest = min(loosest, Extreme(-math.inf, corner.angle_deg), key=_value)
        else:
            tightest = max(tightest, Extreme(math.inf, corner.angle_deg), key=_value)
    return tightest, loosest


def _value(extreme: Extreme) -> float:
    return extreme.value


@dataclass(frozen=True)
class SmallestBase:
    """The smallest base circle within the limits: the follower with it, what limits it, and the cam's shape.

    ``limited_by``: "pressure angle", "radius" or "reach" (a smaller one doesn't reach, or is out of range).
    """

    follower: Follower
    limited_by: str
    shape: CamShape

    @property
    def base_mm(self) -> float:
        """Radius of that base circle."""
        return self.follower.base_mm

    def sentence(self) -> str:
        """The finding in one sentence.

        >>> from mechlib.cams import Segment
        >>> from mechlib.cams.follower import FlatFace
        >>> up, down = Segment(0, 60, 0, 10, "simple harmonic"), Segment(60, 360, 10, 0, "3-4-5")
        >>> lobe = Programme((up, down), 360)
        >>> print(smallest_base(lobe, FlatFace(base_mm=99)).sentence())
        The smallest base circle has a radius of 35.000 mm; it is limited by the radius at 60.0° of the cam.
        """
        said = f"The smallest base circle has a radius of {say(self.base_mm, 'mm', 3)}; it is limited by "
        if self.limited_by == "reach":
            return said + "the follower's reach."
        at = self.shape.pressure if self.limited_by == "pressure angle" else self.shape.sharpest
        return f"{said}the {self.limited_by} at {say(at.angle_deg, '°')} of the cam."


def smallest_base(
    programme: Programme,
    follower: Follower,
    pressure_deg: float | None = None,
    radius_mm: float | None = 0.0,
) -> SmallestBase:
    """The smallest base circle that keeps a disc cam within both limits; the follower's own is not used.

    |α| ≤ ``pressure_deg`` (1° to 90°, where 90° asks for nothing; without it 30° for a slide, 45° for a
    lever: common practice, no source) and an outline that bulges with at least ``radius_mm`` (0 to 500 mm;
    0: just not undercut; None asks for nothing).  Larger base circles are right too, as far as a lever
    reaches.  Solved to 1e-12 of the radius.  Raises MechError with the reason where there is none.

    >>> from mechlib.cams import Segment
    >>> from mechlib.cams.follower import TranslatingRoller
    >>> lobe = Programme((Segment(0, 90, 0, 8, "cycloidal"), Segment(90, 360, 8, 0, "cycloidal")), 360)
    >>> round(smallest_base(lobe, TranslatingRoller(base_mm=99, roller_mm=4), 30).base_mm, 6)
    10.007556
    """
    check_disc(programme)
    usual = follower.usual_pressure_deg
    pressure = check_number("pressure_deg", usual if pressure_deg is None else pressure_deg, 1, 90, "°")
    if radius_mm is not None:
        check_number("radius_mm", radius_mm, 0, 500, "mm")
        _refuse_bulging_corners(programme)
    limits = {"pressure angle": pressure, "radius": radius_mm}
    rough = partial(_excess, follower, limits, _sampled_most(programme))
    exact = partial(_excess, follower, limits, lambda quantity: largest(quantity, programme).value)
    low, high = _bracket(rough, exact, limits)
    base = _least_that_fits(exact, low, high)
    beyond, limited_by = exact(base * (1 - BARELY))
    found = replace(follower, base_mm=base)
    return SmallestBase(found, limited_by if beyond > 0 else "reach", cam_shape(programme, found))


def _refuse_bulging_corners(programme: Programme) -> None:
    for corner in corners(programme):
        if corner.after_mm < corner.before_mm:
            raise MechError(
                f"the slope of the lift steps down at {corner.angle_deg:g}°",
                "no base circle rounds that corner; take a law that starts and ends without a step, "
                "or radius_mm=None to ask for the pressure angle alone",
            )


def _sampled_most(programme: Programme) -> Callable:
    moves = sampled(programme)
    return lambda quantity: float(np.max(quantity(moves)))


def _excess(follower: Follower, limits: dict, most: Callable, base_mm: float) -> tuple[float, str]:
    """By how much a base circle is beyond its limits (0 or less: it fits), and which is the worse one."""
    try:
        tried = replace(follower, base_mm=base_mm)
        pressure = most(lambda moves: abs(tried.stand(moves).pressure_deg))
        tightness = most(lambda moves: tried.stand(moves).tightness)
    except MechError:
        return math.inf, "reach"
    beyond = [(pressure / limits["pressure angle"] - 1, "pressure angle")]
    if limits["radius"] is not None:
        radius = math.inf if tightness <= 0 and hasattr(tried, "roller_mm") else tried.radius_mm(tightness)
        beyond.append(((limits["radius"] - radius) / base_mm, "radius"))
    return max(beyond)


def _bracket(rough: Callable, exact: Callable, limits: dict) -> tuple[float, float]:
    """A base circle that doesn't fit and one from which on the larger do (the same, if the least fits)."""
    bases = np.geomspace(*LIMITS["base_mm"], BASES).tolist()
    tried = np.array([rough(base)[0] for base in bases])
    fitting = np.flatnonzero(tried <= 0)
    if not fitting.size:
        near = _around(bases, int(np.argmin(tried)))
        return near[0], _best_between(exact, limits, *near)
    missing = np.flatnonzero(tried[: fitting[-1]] > 0)
    low = bases[missing[-1]] if missing.size else bases[0]
    # The grid is a little kinder than the truth, so a base that just fits it may not fit.
    return low, next(base for base in bases if base >= low and exact(base)[0] <= 0)


def _least_that_fits(exact: Callable, low: float, high: float) -> float:
    """The border between a base circle that doesn't fit and one that does, by halving, from above."""
    for _ in range(HALVINGS if high > low else 0):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if exact(middle)[0] <= 0 else (middle, high)
    return high


def _around(row, place: int) -> tuple[float, float]:
    """The neighbours of a place in a row of numbers, or the place itself at an end."""
    return float(row[max(place - 1, 0)]), float(row[place : place + 2][-1])


def _best_between(exact: Callable, limits: dict, low: float, high: float) -> float:
    """The base circle that is least beyond its limits; where it is beyond them all the same, say why."""
    for _ in range(BASE_ROUNDS):
        bases = np.linspace(low, high, FEW_BASES).tolist()
        best = int(np.argmin([exact(base)[0] for base in bases]))
        low, high = _around(bases, best)
    excess, name = exact(bases[best])
    if excess <= 0:
        return bases[best]
    if name == "reach":
        raise MechError("no base circle lets the follower reach every lift", "take a longer arm or less lift")
    at_best = f"with one of {bases[best]:.3g} mm, the best, it is"
    if name == "radius":
        left = say(limits[name] - excess * bases[best], "mm", 2)
        raise MechError(f"no base circle makes the outline's radius {limits[name]:g} mm", f"{at_best} {left}")
    angle = say(limits[name] * (1 + excess), "°")
    hint = "let the move take more of the turn, or change offset, arm or pivot"
    problem = f"no base circle keeps the pressure angle within {limits[name]:g}°"
    raise MechError(problem, f"{at_best} {angle}; {hint}")
