"""Try a cam: out, dwell, back and dwell by one law; its outline, its four curves, what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from mechlib.cams import LAWS, Law, Programme, Segment, law
from mechlib.cams.disc import CamShape, cam_shape
from mechlib.cams.follower import FlatFace, Follower, SwingingRoller, TranslatingRoller
from mechlib.cams.motion import largest, motion
from mechlib.cams.outline import Curves, Standing, curves, standing
from mechlib.errors import MechError
from mechlib.ranges import Choice, Range
from mechlib.say import columns, listing, say

ON_SLIDE, ON_LEVER, FLAT = FOLLOWERS = ("roller on a slide", "roller on a lever", "flat face")
FIRST_DEG = 40.0  # of the turn: where the follower starts to move
PIVOT_MM, ARM_MM = 50.0, 45.0  # of the lever
POINTS = 91  # of each segment, both ends included
OUTLINE_DEG = 0.5
TINY = 1e-6  # of a curve for unit rise and length; less is rounding
PEAKS = ("velocity", "acceleration", "jerk")

CONTROLS: dict[str, Range | Choice] = {
    "law_name": Choice("law of the moves", tuple(LAWS), "3-4-5"),
    "kind": Choice("follower", FOLLOWERS, ON_SLIDE),
    "rise_mm": Range("lift of the move", 1.0, 20.0, 0.5, 8.0, "mm"),
    "move_deg": Range("length of each move", 20, 120, 1, 80, "°"),
    "dwell_deg": Range("dwell between them", 5, 60, 1, 40, "°"),
    "base_mm": Range("base circle, radius", 8.0, 40.0, 0.5, 18.0, "mm"),
    "roller_mm": Range("roller, radius", 1.0, 10.0, 0.5, 5.0, "mm"),
    "offset_mm": Range("slide beside the shaft", -12.0, 12.0, 0.5, 0.0, "mm"),
    "angle_deg": Range("the cam has turned", 0, 360, 1, 70, "°"),
}


@dataclass(frozen=True, eq=False)
class Motions:
    """The curves of a turn over ``angle_deg``, for unit rise in a move of unit length.

    ``rows`` are lift, velocity, acceleration and jerk, ``pressure_deg`` is the pressure angle; an angle at
    which one of them steps comes twice.  ``spikes_deg`` are, for acceleration and for jerk, the angles at
    which they have no bound, because a curve above steps there.
    """

    angle_deg: np.ndarray
    rows: tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]
    pressure_deg: np.ndarray
    spikes_deg: tuple[tuple[float, ...], tuple[float, ...]]


@dataclass(frozen=True, eq=False)
class CamTrial:
    """A cam with its follower, seen when it has turned by ``at.angle_deg``.

    ``leans_deg``: how far the push leans to either side at most, on the way out and on the way back.
    """

    law: Law
    rise_mm: float
    move_deg: float
    programme: Programme
    follower: Follower
    motions: Motions
    outline: Curves
    shape: CamShape
    leans_deg: tuple[float, float]
    at: Standing

    @property
    def values(self) -> tuple[float, ...]:
        """Lift, velocity, acceleration and jerk here, for unit rise in a move of unit length.

        Where one of them steps, its value just after.
        """
        angle = self.at.angle_deg
        segment = next(s for s in reversed(self.programme.segments) if s.start_deg <= angle)
        x = (angle - segment.start_deg) / (segment.end_deg - segment.start_deg)
        return tuple(_rows(self.law, segment, self.rise_mm, x).tolist())

    @property
    def rim_mm(self) -> float:
        """The largest distance of the cam's outline from its shaft."""
        return float(np.max(np.hypot(*self.outline.outline.T)))

    @property
    def usual_deg(self) -> float:
        """The pressure angle that is usually not exceeded with such a follower."""
        return self.follower.usual_pressure_deg

    def sentence(self) -> str:
        """Where the follower stands, how the moves run, and what is wrong with the cam."""
        return f"{self.at.sentence()} {self.peaks()} {self.shape.sentence()} {self.verdict()}"

    def peaks(self) -> str:
        """The peak factors of the law, in words."""
        found = [getattr(self.law.peaks, name) for name in PEAKS]
        said = ["∞" if np.isinf(peak) else say(peak, "", 2) for peak in found]
        words = listing(f"{name} {peak}" for name, peak in zip(PEAKS, said, strict=True))
        return f"Peak factors of the {self.law.name} law: {words}."

    def verdict(self) -> str:
        """Whether the cam can be made and will run, in words.

        Only a cam that pushes its follower out can jam it; turned back, it does so where it falls.
        """
        if np.isinf(self.law.peaks.acceleration):
            return "It knocks where the moves start and end: take a law whose velocity doesn't step."
        if self.at.pivot and self.rim_mm >= self.at.pivot[0]:
            advice = "the cam reaches the lever's pivot; take a smaller base circle or less lift"
            return f"It can't be made so: {advice}."
        if self.shape.undercut or self.shape.crosses:
            roller = "" if self.shape.face_mm else "a smaller roller, "
            return f"It can't be made so: take a larger base circle, {roller}a longer move or less lift."
        out, back = (lean > self.usual_deg for lean in self.leans_deg)
        limit = say(self.usual_deg, "°", 0)
        if out:
            return f"The follower will bind: keep the pressure angle within {limit} (common practice)."
        if back:
            then = f"turned back, the fall is a rise, and it would bind (limit {limit}, common practice)"
            return f"It can be made and runs, but one way only: {then}."
        return "It can be made and runs."


def cam_trial(
    law_name: str,
    kind: str,
    rise_mm: float,
    move_deg: float,
    dwell_deg: float,
    base_mm: float,
    roller_mm: float,
    offset_mm: float,
    angle_deg: float,
) -> CamTrial:
    """A disc cam that moves its follower out and back by one law, with a dwell between, in one turn.

    The follower rests up to 40°, moves out over ``move_deg``, dwells, moves back over the same length and
    rests.  Values and ranges as in ``CONTROLS``; the lever's pivot is 50 mm from the shaft and its arm 45 mm
    long; ``roller_mm`` means nothing to a flat face, ``offset_mm`` to a lever or a flat face.
    Raises MechError for other values, and where slide and base circle don't fit.

    >>> trial = cam_trial("3-4-5", ON_SLIDE, 8, 80, 40, 18, 5, 0, 80)
    >>> round(trial.at.lift_mm, 6), trial.shape.undercut
    (4.0, False)
    """
    given = (law_name, kind, rise_mm, move_deg, dwell_deg, base_mm, roller_mm, offset_mm, angle_deg)
    for (name, control), value in zip(CONTROLS.items(), given, strict=True):
        control.check(name, value)
    trial = _made(law_name, kind, rise_mm, move_deg, dwell_deg, base_mm, roller_mm, offset_mm)
    return CamTrial(**trial, at=standing(trial["programme"], trial["follower"], angle_deg))


def law_table() -> str:
    """The peak factors of every law, and what a lever feels where a move starts and ends.

    >>> print(law_table().splitlines()[1])
    constant velocity           knocks                  1.00                  ∞          ∞
    """
    rows = []
    for one in LAWS.values():
        peaks = [getattr(one.peaks, name) for name in PEAKS]
        feels = "knocks" if np.isinf(peaks[1]) else "jolts" if np.isinf(peaks[2]) else "runs smoothly"
        rows.append((one.name, feels, *("∞" if np.isinf(peak) else say(peak, "", 2) for peak in peaks)))
    return columns(("law", "the lever", *(f"peak {name}" for name in PEAKS)), rows, left=2)


@lru_cache(maxsize=64)
def _made(law_name, kind, rise_mm, move_deg, dwell_deg, base_mm, roller_mm, offset_mm) -> dict:
    """All of a trial that doesn't depend on the angle."""
    programme = _programme(law_name, rise_mm, move_deg, dwell_deg)
    follower = _follower(kind, base_mm, roller_mm, offset_mm)
    return {
        "law": law(law_name),
        "rise_mm": rise_mm,
        "move_deg": move_deg,
        "programme": programme,
        "follower": follower,
        "motions": _motions(law(law_name), programme, follower),
        "outline": curves(programme, follower, OUTLINE_DEG),
        "shape": cam_shape(programme, follower),
        "leans_deg": tuple(
            _lean_deg(way, follower) for way in (programme.segments[:3], programme.segments[2:])
        ),
    }


def _lean_deg(way: tuple[Segment, ...], follower: Follower) -> float:
    """The largest pressure angle to either side in one move and the dwells about it."""
    return largest(lambda moves: abs(follower.stand(moves).pressure_deg), Programme(way)).value


def _programme(law_name: str, rise_mm: float, move_deg: float, dwell_deg: float) -> Programme:
    top, back = FIRST_DEG + move_deg, FIRST_DEG + move_deg + dwell_deg
    return Programme(
        (
            Segment(0, FIRST_DEG, 0, 0),
            Segment(FIRST_DEG, top, 0, rise_mm, law_name),
            Segment(top, back, rise_mm, rise_mm),
            Segment(back, back + move_deg, rise_mm, 0, law_name),
            Segment(back + move_deg, 360, 0, 0),
        ),
        360,
    )


def _follower(kind: str, base_mm: float, roller_mm: float, offset_mm: float) -> Follower:
    if kind == ON_SLIDE:
        return TranslatingRoller(base_mm=base_mm, roller_mm=roller_mm, offset_mm=offset_mm)
    if kind == ON_LEVER:
        return SwingingRoller(base_mm=base_mm, roller_mm=roller_mm, pivot_mm=PIVOT_MM, arm_mm=ARM_MM)
    if kind == FLAT:
        return FlatFace(base_mm=base_mm)
    raise MechError(f"kind is {kind!r}", f"it must be one of: {', '.join(FOLLOWERS)}")


def _motions(one: Law, programme: Programme, follower: Follower) -> Motions:
    steps = [piece.start for piece in one.shape if piece.start]
    x = np.union1d(np.linspace(0, 1, POINTS), [*steps, *np.nextafter(steps, 0)])  # both sides of a step
    angles = [s.start_deg + x * (s.end_deg - s.start_deg) for s in programme.segments]
    moves = [motion(s, at) for s, at in zip(programme.segments, angles, strict=True)]
    rise_mm = max(programme.levels_mm)
    return Motions(
        np.concatenate(angles),
        tuple(np.concatenate([_rows(one, s, rise_mm, x) for s in programme.segments], axis=1)),
        np.concatenate([follower.stand(one_move).pressure_deg for one_move in moves]),
        _spikes(one, programme),
    )


def _rows(one: Law, segment: Segment, rise_mm: float, x) -> np.ndarray:
    """Lift, velocity, acceleration and jerk at ``x`` (0 to 1, a number or an array) of a segment."""
    rows = np.array([one.position(x), one.velocity(x), one.acceleration(x), one.jerk(x)])
    rows *= (segment.end_mm - segment.start_mm) / rise_mm  # 1 out, -1 back, 0 in a dwell
    rows[0] += segment.start_mm / rise_mm
    return rows


def _spikes(one: Law, programme: Programme) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Where acceleration, and where jerk, have no bound: where velocity, or one of both, steps."""
    moves = [segment for segment in programme.segments if not segment.is_dwell]

    def at(places: set[float]) -> tuple[float, ...]:
        return tuple(s.start_deg + x * (s.end_deg - s.start_deg) for s in moves for x in sorted(places))

    knocks = _steps(one, one.velocity)
    return at(knocks), at(knocks | _steps(one, one.acceleration))


def _steps(one: Law, curve) -> set[float]:
    """The x of 0 to 1 at which a curve of a law steps, from and to a standing follower included."""
    ends = {x for x in (0.0, 1.0) if abs(curve(x)) > TINY}
    inner = [piece.start for piece in one.shape if piece.start]
    return ends | {x for x in inner if abs(curve(x) - curve(np.nextafter(x, 0))) > TINY}
