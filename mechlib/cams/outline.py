"""The shape of a disc cam: pitch curve and working outline, and where the follower stands on it at an angle.

The cam's own coordinates are those of the picture at cam angle 0; at angle θ the cam has turned by σθ, so a
point of the picture has the cam coordinates z·exp(−iσθ).  Every point is computed from the follower's closed
form.  Where the slope of the lift steps, the follower rests at one place while the touching point runs on:
the curve is drawn there with the slopes in between (an arc of the roller's radius, or a straight piece for a
flat face), where it steps up a part of the cam, where it steps down a loop that can't be made.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from mechlib.cams.follower import Follower, Stand
from mechlib.cams.motion import PER_RADIAN, Corner, Motion, corners, motion
from mechlib.cams.programme import Programme
from mechlib.errors import MechError, check_number
from mechlib.say import say

TURN_DEG = 360.0
CLOSE = 1e-9
STEPS_DEG = (0.01, 30.0)
CORNER_POINTS = 17
GAP_STEP_DEG = 1.0
GAP_STEPS_DEG = (0.25, 30.0)  # finer ones would fill the memory: every place is held against every point


class Curves(NamedTuple):
    """A disc cam sampled: ``angle_deg``, and for each the points (x, y) of ``pitch`` curve and ``outline``.

    Both are arrays (n, 2) in mm in the cam's coordinates, closed for a cam that goes round.  The pitch curve
    of a flat face is that of the foot of the perpendicular from the shaft to the face.
    """

    angle_deg: np.ndarray
    pitch: np.ndarray
    outline: np.ndarray


@dataclass(frozen=True)
class Standing:
    """Where the follower stands at one cam angle, as seen: points (x, y) in mm, the shaft at (0, 0).

    ``turn_deg`` is the angle by which the cam's own coordinates are turned counter-clockwise in the picture.
    ``trace`` is the roller's centre or the flat face's foot, ``direction`` the unit vector of the roller's
    motion or the face's normal, ``push`` that of the cam's push, ``pivot`` a lever's pivot or None;
    ``radius_mm`` the outline's radius where it bulges or is hollow (negative), infinite where it is flat.

    >>> from mechlib.cams import Segment
    >>> from mechlib.cams.follower import FlatFace
    >>> standing(Programme((Segment(0, 90, 3, 3),)), FlatFace(base_mm=20), 45).contact
    (0.0, 23.0)
    """

    angle_deg: float
    turn_deg: float
    lift_mm: float
    trace: tuple[float, float]
    contact: tuple[float, float]
    direction: tuple[float, float]
    push: tuple[float, float]
    pivot: tuple[float, float] | None
    pressure_deg: float
    radius_mm: float
    undercut: bool

    def sentence(self) -> str:
        """The finding in one sentence.

        >>> from mechlib.cams import Segment
        >>> from mechlib.cams.follower import FlatFace
        >>> print(standing(Programme((Segment(0, 90, 3, 3),)), FlatFace(base_mm=20), 45).sentence())
        At 45.0° of the cam the lift is 3.00 mm and the pressure angle 0.0°.
        """
        place = f"At {say(self.angle_deg, '°')} of the cam"
        if self.undercut:
            return f"{place} the lift should be {say(self.lift_mm, 'mm', 2)}, but the cam is undercut."
        pressure = say(self.pressure_deg, "°")
        return f"{place} the lift is {say(self.lift_mm, 'mm', 2)} and the pressure angle {pressure}."


def standing(programme: Programme, follower: Follower, angle_deg: float) -> Standing:
    """Where the follower stands when the cam has turned by ``angle_deg`` (any angle, in degrees).

    Source: the closed forms of ``mechlib.cams.follower``.
    Raises MechError for an angle that is no finite number, or where the follower can't reach a lift.

    >>> from mechlib.cams import Segment
    >>> from mechlib.cams.follower import TranslatingRoller
    >>> rise = Programme((Segment(0, 90, 0, 9, "cycloidal"), Segment(90, 360, 9, 0, "cycloidal")), 360)
    >>> at = standing(rise, TranslatingRoller(base_mm=16, roller_mm=4), 45)
    >>> at.trace, round(at.pressure_deg, 3)  # tan α = 2·9/(π/2)/24.5
    ((0.0, 24.5), 25.066)
    """
    angle_deg = check_number("angle_deg", angle_deg, unit="degrees")
    check_disc(programme)
    lift = programme.lift(angle_deg)
    slope, bend = PER_RADIAN * programme.slope(angle_deg), PER_RADIAN**2 * programme.bend(angle_deg)
    stand = follower.stand(Motion(angle_deg, lift, slope, bend))
    pivot = getattr(follower, "pivot_mm", None)
    tightness = float(stand.tightness)
    return Standing(
        angle_deg,
        follower.sense * angle_deg,
        lift,
        *(_pair(point) for point in (stand.trace, stand.contact, stand.direction, follower.push(stand))),
        None if pivot is None else (pivot, 0.0),
        float(stand.pressure_deg),
        follower.radius_mm(tightness),
        follower.undercut(tightness),
    )


def curves(programme: Programme, follower: Follower, step_deg: float = 0.5) -> Curves:
    """The cam's pitch curve and outline, a point at most every ``step_deg`` (0.01° to 30°) of each segment.

    z = c·exp(−iσθ), and for the outline the touching point in place of c.  A programme without a period gives
    the part of the cam over its segments.  Source: envelope theory, see ``mechlib.cams.follower``.
    Raises MechError for a step out of range, a programme of another period than 360° or of more than a turn,
    or where the follower can't reach a lift.

    >>> from mechlib.cams import Segment
    >>> from mechlib.cams.follower import TranslatingRoller
    >>> still, roller = Programme((Segment(0, 360, 3, 3),), 360), TranslatingRoller(base_mm=17, roller_mm=5)
    >>> curves(still, roller, 30).outline.round(9)[::3].tolist()  # clockwise, as the cam turns beneath
    [[0.0, 20.0], [20.0, 0.0], [0.0, -20.0], [-20.0, -0.0], [-0.0, 20.0]]
    """
    check_disc(programme)
    moves = sweep(programme, check_number("step_deg", step_deg, *STEPS_DEG, unit="degrees"))
    stand = on_the_cam(follower, moves)
    # Where one segment ends the next begins: a point that comes twice is kept once.
    apart = np.append(True, abs(np.diff(stand.trace)) + abs(np.diff(stand.contact)) > CLOSE)
    both = (np.stack([at.real, at.imag], axis=1)[apart] for at in (stand.trace, stand.contact))
    return Curves(moves.angle_deg[apart], *both)


def on_the_cam(follower: Follower, moves: Motion) -> Stand:
    """How the follower stands at each of the ``moves``, in the cam's own coordinates.

    >>> from mechlib.cams.follower import FlatFace
    >>> complex(on_the_cam(FlatFace(base_mm=20), Motion(90.0, 0.0, 0.0)).trace.round(9))
    (20+0j)
    """
    turn = np.exp(-1j * follower.sense * np.radians(moves.angle_deg))
    return follower.stand(moves).turned(turn)


def overlap_mm(programme: Programme, follower: Follower, step_deg: float = GAP_STEP_DEG) -> float:
    """How deep the follower would stand in the cam's outline somewhere, in mm: what is cut away there.

    0 where everything fits.  Brute force: the gap between the follower at every ``step_deg`` (0.25° to 30°)
    and every point of the outline.  It also finds an outline that crosses itself, which no radius tells.
    Raises MechError as ``curves``.

    >>> from mechlib.cams import Segment
    >>> from mechlib.cams.follower import TranslatingRoller
    >>> overlap_mm(Programme((Segment(0, 360, 3, 3),), 360), TranslatingRoller(base_mm=17, roller_mm=5))
    0.0
    """
    check_disc(programme)
    moves = sweep(programme, check_number("step_deg", step_deg, *GAP_STEPS_DEG, unit="degrees"))
    stand = on_the_cam(follower, moves)
    places = stand._replace(trace=stand.trace[:, None], direction=stand.direction[:, None])
    least = float(np.min(follower.gap_mm(places, stand.contact)))
    return max(-least, 0.0) if least < -CLOSE else 0.0


def check_disc(programme: Programme) -> None:
    """Refuse, with a MechError, a programme that no disc cam can carry: not one turn, or more than one.

    >>> from mechlib.cams import Segment
    >>> check_disc(Programme((Segment(0, 90, 3, 3),), 90))
    Traceback (most recent call last):
    mechlib.errors.MechError: the programme's period is 90°: a disc cam's is 360°, one turn
    """
    period = programme.period_deg
    if period is not None and abs(period - TURN_DEG) > CLOSE:
        raise MechError(f"the programme's period is {period:g}°", "a disc cam's is 360°, one turn")
    length = programme.segments[-1].end_deg - programme.segments[0].start_deg
    if length > TURN_DEG + CLOSE:
        raise MechError(f"the programme is {length:g}° long", "a disc cam has room for one turn, 360°")


def sweep(programme: Programme, step_deg: float) -> Motion:
    """The motion over all segments, both ends of each included, and over the corners between them.

    >>> from mechlib.cams import Segment
    >>> sweep(Programme((Segment(0, 90, 3, 3),)), 45.0).angle_deg.tolist()
    [0.0, 45.0, 90.0]
    """
    at_corner = {corner.angle_deg: corner for corner in corners(programme)}
    parts = []
    for segment in programme.segments:
        if segment.start_deg in at_corner:
            parts.append(_swinging_over(at_corner[segment.start_deg], segment.start_mm))
        count = max(math.ceil((segment.end_deg - segment.start_deg) / step_deg - CLOSE), 1)
        parts.append(motion(segment, np.linspace(segment.start_deg, segment.end_deg, count + 1)))
    names = ("angle_deg", "lift_mm", "slope_mm", "bend_mm")
    return Motion(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


def _swinging_over(corner: Corner, lift_mm: float) -> Motion:
    slopes = np.linspace(corner.before_mm, corner.after_mm, CORNER_POINTS)
    still = 0.0 * slopes
    return Motion(corner.angle_deg + still, lift_mm + still, slopes, still)


def _pair(point) -> tuple[float, float]:
    return float(np.real(point)), float(np.imag(point))
