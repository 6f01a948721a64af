"""Whether a groove cam is sound, what its clearance loses, and the smallest radius for a pressure angle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mechlib.cams.groove import DrumGroove, FaceGroove, LeverGroove
from mechlib.cams.motion import CLOSE, PER_RADIAN, POINTS, Motion, arcs_below, corners, largest, root
from mechlib.cams.programme import Programme
from mechlib.errors import check_number
from mechlib.say import listing, say

Groove = FaceGroove | LeverGroove | DrumGroove
TINY = 1e-12  # mm: what rounding makes of no clearance at all


@dataclass(frozen=True)
class GrooveCheck:
    """The worst places of a groove on its whole track; see ``check_groove``.

    ``pressure_deg`` keeps its sign.  ``inner_mm`` and ``outer_mm`` are the smallest radii of the walls where
    they bulge into the groove (infinite where they never do, negative where the wall is cut away), and
    ``cut`` holds (wall, start, end) of each arc in degrees on which a wall is cut away.
    """

    pressure_deg: float
    pressure_at_deg: float
    inner_mm: float
    inner_at_deg: float
    outer_mm: float
    outer_at_deg: float
    cut: tuple[tuple[str, float, float], ...]
    corners_deg: tuple[float, ...]

    @property
    def sound(self) -> bool:
        """Whether both walls stand all along the track."""
        return not self.cut

    def sentence(self) -> str:
        """The finding in words."""
        place = say(self.pressure_at_deg, "°")
        worst = f"The largest pressure angle is {say(self.pressure_deg, '°')}, at {place}"
        if self.sound:
            return f"{worst}; {self._walls()}."
        arcs = [
            f"the {wall} wall at {say(start, '°')}" + (f" to {say(end, '°')}" if end > start else "")
            for wall, start, end in self.cut
        ]
        knocks = f"; the slope steps at {listing(say(at, '°') for at in self.corners_deg)}"
        return f"{worst}; undercut: {listing(arcs)}{knocks if self.corners_deg else ''}."

    def _walls(self) -> str:
        radii = {"inner": (self.inner_mm, self.inner_at_deg), "outer": (self.outer_mm, self.outer_at_deg)}
        told = [
            f"the {wall} wall's smallest radius is {say(radius, 'mm', 2)}, at {say(at, '°')}"
            for wall, (radius, at) in radii.items()
            if math.isfinite(radius)
        ]
        return listing(told) if told else "no wall bulges into the groove"


def check_groove(groove: Groove, programme: Programme) -> GrooveCheck:
    """The largest pressure angle, the sharpest places of both walls, and where a wall is undercut.

    A wall that bulges into the groove has the radius 1/|κ| − width/2; where that isn't positive, the cutter
    that makes the groove takes the wall away and the pin isn't held.  Where the slope of the
    lift steps, the centre line has a corner and the wall in its inside is cut.
    Returns GrooveCheck; raises MechError where the groove can't have a lift of the programme.
    Source: offset curves, radius of curvature ρ ∓ d.

    >>> from mechlib.cams.programme import Segment
    >>> track = Programme((Segment(0, 90, 0, 6, "cycloidal"), Segment(90, 180, 6, 6),
    ...                    Segment(180, 270, 6, 0, "cycloidal"), Segment(270, 360, 0, 0)), 360)
    >>> check_groove(DrumGroove(15, 4, 4), track).sentence()
    "The largest pressure angle is 27.0°, at 45.0°; the inner wall's smallest radius is 13.95 mm, at 69.7° \
and the outer wall's smallest radius is 13.95 mm, at 20.3°."
    """
    half = groove.width_mm / 2
    up = largest(lambda motion: groove.at(motion).pressure_deg, programme)
    down = largest(lambda motion: -groove.at(motion).pressure_deg, programme)
    # Flanks alike but for rounding: the rise is told.
    worst = up if up.value >= down.value - CLOSE else down._replace(value=-down.value)
    found, cut = {}, []
    steps = corners(programme)
    for wall, side in (("inner", 1), ("outer", -1)):
        sharpest = largest(lambda motion, side=side: side * groove.at(motion).curvature_per_mm, programme)
        radius = 1 / sharpest.value - half if sharpest.value > TINY else math.inf
        found[wall] = radius, sharpest.angle_deg
        arcs = arcs_below(lambda m, side=side: 1 - side * half * groove.at(m).curvature_per_mm, programme)
        cut += [(wall, start, end) for start, end in arcs]
        for step in steps:
            if side * (step.before_mm - step.after_mm) > 0:
                cut.append((wall, step.angle_deg, step.angle_deg))
                found[wall] = -half, step.angle_deg
    where = tuple(step.angle_deg for step in steps)
    return GrooveCheck(*worst, *found["inner"], *found["outer"], tuple(cut), where)


@dataclass(frozen=True)
class LostMotion:
    """What a groove's clearance loses at one place; see ``lost_motion``.

    ``low_mm`` and ``high_mm``: between these lifts the pin is free while the cam stands; ``half_mm``: half of
    that to first order.  ``from_deg`` and ``to_deg``: between these the cam turns while the pin stands at
    ``lift_mm`` (infinite where it never takes the pin along); ``turn_deg``: that turn to first order.
    """

    angle_deg: float
    lift_mm: float
    low_mm: float
    high_mm: float
    half_mm: float
    from_deg: float
    to_deg: float
    turn_deg: float

    @property
    def lost_deg(self) -> float:
        """By how much the cam turns on a reversal before the follower comes along, in degrees."""
        return self.to_deg - self.from_deg

    def sentence(self) -> str:
        """The finding in words."""
        floats = (
            f"At {say(self.angle_deg, '°')} the lift can be anything from {say(self.low_mm, 'mm', 3)} to "
            f"{say(self.high_mm, 'mm', 3)}"
        )
        if math.isinf(self.lost_deg):
            return f"{floats}; a follower that stands at {say(self.lift_mm, 'mm', 3)} is never taken along."
        lost = say(self.lost_deg, "°", 2)
        return f"{floats}; when the drive reverses there, the cam turns {lost} before the follower does."


def lost_motion(groove: Groove, programme: Programme, angle_deg: float) -> LostMotion:
    """How far the clearance c leaves the lift open at an angle, and what turn of the cam a reversal loses.

    To first order the lift is free within ±δ = ±(c/2)/cos α (±c/2 in a dwell, unless a lever leads the
    pin askew) and the turn lost is c/(s′·cos α) radians.  The lifts and angles returned are exact: where
    the pin's path meets the curves z ± n·c/2, on which the pin's centre runs when it touches a wall.
    A lift differs from the first order by δ²·|κ|·sin²α/(2·cos α), plus δ²·|tan α|/(2l) on a lever l, and
    terms in c³: by nothing where the groove is straight.  The turn is far from its first order near the ends
    of a move, where the slope changes much within it.
    ``angle_deg``: any.  Where the slope steps, the curves beside the step count.  Returns LostMotion; raises
    MechError for an angle that is no number or a lift that the groove can't have.

    >>> from mechlib.cams.programme import Segment
    >>> rise = Segment(30, 90, 0, 6, "cycloidal")
    >>> track = Programme((Segment(0, 30, 0, 0), rise, Segment(90, 120, 6, 6)))
    >>> lost_motion(DrumGroove(20, 4.1, 4), track, 60).sentence()
    'At 60.0° the lift can be anything from 2.942 mm to 3.058 mm; when the drive reverses there, the cam \
turns 0.58° before the follower does.'
    """
    angle = check_number("angle_deg", angle_deg, unit="°")
    if programme.period_deg is not None:
        start = programme.segments[0].start_deg
        angle = start + (angle - start) % programme.period_deg
    here = _motion(programme, angle)
    half = groove.clearance_mm / 2 / math.cos(math.radians(groove.at(here).pressure_deg))
    low, high = (_lift_at(groove, programme, angle, wall) for wall in (0, 1))
    ends = [_held_until(groove, programme, angle, here.lift_mm, way) for way in (-1, 1)]
    turn = PER_RADIAN * 2 * half / abs(here.slope_mm) if here.slope_mm else math.inf
    return LostMotion(angle_deg, here.lift_mm, low, high, half, *ends, turn)


def _motion(programme: Programme, angle_deg) -> Motion:
    if isinstance(angle_deg, np.ndarray):
        return Motion(angle_deg, programme.lifts(angle_deg), PER_RADIAN * programme.slopes(angle_deg))
    return Motion(angle_deg, programme.lift(angle_deg), PER_RADIAN * programme.slope(angle_deg))


def _lift_at(groove: Groove, programme: Programme, angle: float, wall: int) -> float:
    """The lift of a pin against the inner (0) or outer (1) wall at an angle.

    It touches the wall beside the point of the groove that belongs to this angle: that point is looked for.
    """

    def beyond(places: np.ndarray) -> np.ndarray:
        return groove.limits(_motion(programme, places))[wall][0] - angle

    reach = 1.0
    while (beyond(np.array([angle - reach, angle + reach])) * [-1, 1] < 0).any():
        reach *= 2
    place = root(beyond, angle - reach, angle + reach)
    return groove.limits(_motion(programme, place))[wall][1]


def _held_until(groove: Groove, programme: Programme, angle: float, lift: float, way: int) -> float:
    """How far the cam turns one way until a wall takes along a pin that stands at a lift (degrees)."""

    def pushed(places: np.ndarray) -> np.ndarray:
        (_, low), (_, high) = groove.limits(_motion(programme, places))
        return np.maximum(low - lift, lift - high) - TINY

    ahead = _places(programme, angle, way)
    taken = pushed(ahead) > 0
    if not taken.any():
        return way * math.inf
    first = int(np.argmax(taken))
    place = root(pushed, ahead[max(first - 1, 0)], ahead[first])
    low, high = groove.limits(_motion(programme, place))
    return low[0] if low[1] - lift > lift - high[1] else high[0]


def _places(programme: Programme, angle: float, way: int) -> np.ndarray:
    """Angles from one on, one way, to the end of the track or once round: every join and a grid between."""
    grid = np.concatenate([np.linspace(s.start_deg, s.end_deg, POINTS) for s in programme.segments])
    if programme.period_deg is not None:
        turns = (-programme.period_deg, 0.0, programme.period_deg)
        grid = np.concatenate([grid + turn for turn in turns])
        grid = grid[abs(grid - angle) <= programme.period_deg]
    ahead = way * np.unique(way * grid)
    return np.concatenate([[angle], ahead[way * (ahead - angle) > 0]])


@dataclass(frozen=True)
class LeastRadius:
    """The smallest radius that keeps a pressure angle; see ``least_radius``.

    ``radius_mm``: of the pin's centre at lift 0 on a disc, or of the drum; ``mean_mm``: in the middle of the
    lift; ``angle_deg``: the place that rules.
    """

    limit_deg: float
    radius_mm: float
    mean_mm: float
    angle_deg: float
    drum: bool

    def sentence(self) -> str:
        """The finding in words."""
        what = "radius of the drum" if self.drum else "radius of the groove at lift 0"
        return (
            f"For at most {say(self.limit_deg, '°')} of pressure angle the {what} must be at least "
            f"{say(self.radius_mm, 'mm', 2)}; the place that rules is at {say(self.angle_deg, '°')}."
        )


def least_radius(programme: Programme, limit_deg: float, drum: bool = False) -> LeastRadius:
    """The smallest radius of a straight-led groove cam for a limit of its pressure angle.

    Drum: R = max |s′|/tan α; face of a disc: radius at lift 0 = max(|s′|/tan α − s).  ``limit_deg``: 1 to 80;
    30° is the usual limit for a follower in a guide (common practice, no source).  The width of the groove
    asks for more where the result is small.  Returns LeastRadius; raises MechError for a limit out of range.
    Source: tan α = s′/(radius + s), tan α = s′/R.

    >>> from mechlib.cams.programme import Segment
    >>> track = Programme((Segment(0, 180, 0, 6, "cycloidal"), Segment(180, 360, 6, 0, "cycloidal")), 360)
    >>> least_radius(track, 45, drum=True).sentence()
    'For at most 45.0° of pressure angle the radius of the drum must be at least 3.82 mm; the place that \
rules is at 90.0°.'
    """
    slant = math.tan(math.radians(check_number("limit_deg", limit_deg, 1, 80, "°")))
    taken = 0.0 if drum else 1.0
    found = largest(lambda motion: abs(motion.slope_mm) / slant - taken * motion.lift_mm, programme)
    levels = programme.levels_mm
    mean = found.value + taken * (levels[0] + levels[-1]) / 2
    return LeastRadius(limit_deg, found.value, mean, found.angle_deg, drum)
