"""Try a cam: out, dwell, back and dwell by one law; its outline, its four curves, what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from mechlib.cams import LAWS, Law, Programme, Segment, law
from mechlib.cams.disc import CamShape, cam_shape
from mechlib.cams.follower import FlatFace, Follower, SwingingRoller, TranslatingRoller
from mechlib.cams.motion import sampled
from mechlib.cams.outline import Curves, Standing, curves, standing
from mechlib.errors import MechError
from mechlib.ranges import Choice, Range
from mechlib.say import columns, listing, say

ON_SLIDE, ON_LEVER, FLAT = FOLLOWERS = ("roller on a slide", "roller on a lever", "flat face")
FIRST_DEG = 40.0  # of the turn: where the follower starts to move
PIVOT_MM, ARM_MM = 50.0, 45.0  # of the lever
POINTS = 91  # of each segment, both ends included
OUTLINE_DEG = 1.0
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
    """The four curves of a turn over ``angle_deg``, for unit rise in a move of unit length.

    ``rows`` are lift, velocity, acceleration and jerk; ``spikes_deg`` are, for acceleration and for jerk,
    the angles at which they have no bound because the curve before steps there.
    """

    angle_deg: np.ndarray
    rows: tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]
    spikes_deg: tuple[tuple[float, ...], tuple[float, ...]]


@dataclass(frozen=True, eq=False)
class CamTrial:
    """A cam with its follower, seen when it has turned by ``at.angle_deg``."""

    law: Law
    rise_mm: float
    move_deg: float
    programme: Programme
    follower: Follower
    motions: Motions
    outline: Curves
    pressure_deg: np.ndarray
    shape: CamShape
    at: Standing

    @property
    def values(self) -> tuple[float, ...]:
        """Lift, velocity, acceleration and jerk here, for unit rise in a move of unit length."""
        angle = self.at.angle_deg % 360.0
        return tuple(float(np.interp(angle, self.motions.angle_deg, row)) for row in self.motions.rows)

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
        """Whether the cam can be made and will run, in words."""
        if self.shape.undercut or self.shape.crosses:
            advice = "take a larger base circle, a smaller roller, a longer move or less lift"
            return f"It can't be made so: {advice}."
        if abs(self.shape.pressure.value) > self.usual_deg:
            limit = say(self.usual_deg, "°", 0)
            return f"The follower will bind: keep the pressure angle within {limit} (common practice)."
        if np.isinf(self.law.peaks.acceleration):
            return "It knocks where the moves start and end."
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
    motions = _motions(law(law_name), programme)
    outline = curves(programme, follower, OUTLINE_DEG)
    pressure = follower.stand(sampled(programme, POINTS)).pressure_deg
    return {
        "law": law(law_name),
        "rise_mm": rise_mm,
        "move_deg": move_deg,
        "programme": programme,
        "follower": follower,
        "motions": motions,
        "outline": outline,
        "pressure_deg": pressure,
        "shape": cam_shape(programme, follower),
    }


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


def _motions(one: Law, programme: Programme) -> Motions:
    x = np.linspace(0, 1, POINTS)
    angles, rows = [], []
    move = np.array([one.position(x), one.velocity(x), one.acceleration(x), one.jerk(x)])
    for segment in programme.segments:
        angles.append(np.linspace(segment.start_deg, segment.end_deg, POINTS))
        if segment.is_dwell:
            rows.append(np.array([[1.0 * (segment.start_mm > 0)], [0.0], [0.0], [0.0]]) * np.ones(POINTS))
        else:
            rising = segment.end_mm > segment.start_mm
            rows.append(move if rising else np.array([[1.0], [0.0], [0.0], [0.0]]) - move)
    whole = np.concatenate(rows, axis=1)
    return Motions(np.concatenate(angles), tuple(whole), _spikes(one, programme))


def _spikes(one: Law, programme: Programme) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Where acceleration, and where jerk, have no bound: where velocity, or acceleration, steps."""
    moves = [segment for segment in programme.segments if not segment.is_dwell]

    def at(places) -> tuple[float, ...]:
        return tuple(s.start_deg + x * (s.end_deg - s.start_deg) for s in moves for x in places)

    return at(_steps(one, one.velocity)), at(_steps(one, one.acceleration))


def _steps(one: Law, curve) -> list[float]:
    """The x of 0 to 1 at which a curve of a law steps, from and to a standing follower included."""
    ends = [x for x in (0.0, 1.0) if abs(curve(x)) > 1e-9]
    inner = [piece.start for piece in one.shape if piece.start]
    return ends + [x for x in inner if abs(curve(x) - curve(np.nextafter(x, 0))) > 1e-6]
