"""What a whole turn asks of a cam: torque, where contact is lost, where the follower jams, and the energy."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from mechlib.cams.force import RUBBING_FREE, Friction, Push, Spring, push
from mechlib.cams.motion import CLOSE, Extreme, Motion, arcs_below, corners, largest, motion, sampled
from mechlib.cams.programme import Programme, Segment
from mechlib.errors import MechError, check_number
from mechlib.say import listing, say

RAD_S = math.pi / 30  # of one rev/min
NEWTONS = 1e-6  # g·mm/s² in N
GAUSS_POINTS, GAUSS_PIECES = 8, 64  # pieces a multiple of 8: laws change their formula at eighths


@dataclass(frozen=True)
class Load:
    """What acts on a follower along its path: Q = spring + constant + m·s″·ω², at the pin.

    ``spring``; ``mass_g``: of all that moves with the pin, referred to it (0 to 10000); ``rev_min``: of the
    cam (0 to 3000); ``constant_N``: a steady force against the lift, such as weight (−1000 to 1000).
    Raises MechError for values out of range.

    >>> Load(Spring(2, 0.15), constant_N=1).along(Motion(0.0, 10.0, 0.0))
    4.5
    """

    spring: Spring
    mass_g: float = 0.0
    rev_min: float = 0.0
    constant_N: float = 0.0

    def __post_init__(self):
        check_number("mass_g", self.mass_g, 0, 10000, "g")
        check_number("rev_min", self.rev_min, 0, 3000, "rev/min")
        check_number("constant_N", self.constant_N, -1000, 1000, "N")

    @property
    def inertia(self) -> float:
        """m·ω² in N for each mm (a radian²) of s″."""
        return NEWTONS * self.mass_g * (RAD_S * self.rev_min) ** 2

    def standing(self, motion: Motion):
        """Q in N with the cam turning very slowly."""
        return self.spring.force(motion.lift_mm) + self.constant_N

    def along(self, motion: Motion):
        """Q in N at the cam's speed."""
        return self.standing(motion) + self.inertia * motion.bend_mm


@dataclass(frozen=True)
class Cam:
    """What forces need to know of a cam with a follower that is led straight.

    ``radius_mm``: of the pin's centre at lift 0, or of the drum (0.1 to 1000); ``drum``: the lift goes along
    the axis; ``both_walls``: a groove, which pulls as well as pushes.  Raises MechError for a radius out of
    range.

    >>> Cam(15).at(5), Cam(15, drum=True).at(5)
    (20, 15.0)
    """

    radius_mm: float
    drum: bool = False
    both_walls: bool = False

    def __post_init__(self):
        check_number("radius_mm", self.radius_mm, 0.1, 1000, "mm")

    def at(self, lift_mm):
        """Distance in mm from the axis to the pin's centre at a lift."""
        return self.radius_mm + (0.0 if self.drum else lift_mm)


@dataclass(frozen=True)
class CamLoad:
    """Forces and torque over a track; see ``cam_load``.

    Arrays over ``angle_deg``: ``load_N`` and the ``push``.  ``most`` and ``least``: the largest and
    the smallest torque in N·mm with their angles.  ``let_go``: arcs on which the load draws the pin off the
    cam (in a groove: over to the outer wall); ``thrown_deg``: corners at which it is thrown off; ``jams``:
    arcs on which it jams in its guide; ``let_go_rev_min``: the cam's speed at which it is first drawn off.
    """

    cam: Cam
    rev_min: float
    angle_deg: np.ndarray
    load_N: np.ndarray
    push: Push
    most: Extreme
    least: Extreme
    let_go: tuple[tuple[float, float], ...]
    thrown_deg: tuple[float, ...]
    jams: tuple[tuple[float, float], ...]
    let_go_rev_min: float

    def sentence(self) -> str:
        """The finding in words."""
        if self.jams:
            return f"The follower jams in its guide {_arcs(self.jams)}: no torque moves it on."
        torque = f"The cam needs at most {say(self.most.value, 'N·mm')}, at {say(self.most.angle_deg, '°')}"
        if self.least.value < -CLOSE:
            torque += f", and is driven by up to {say(-self.least.value, 'N·mm')}"
            torque += f", at {say(self.least.angle_deg, '°')}"
        return f"{torque}; {self._contact()}."

    def _contact(self) -> str:
        leaves = "goes over to the outer wall" if self.cam.both_walls else "loses contact with the cam"
        keeps = "keeps to the inner wall" if self.cam.both_walls else "keeps contact"
        if self.let_go:
            return f"the follower {leaves} {_arcs(self.let_go)}"
        if self.thrown_deg:
            return f"the follower {leaves} at {listing(say(at, '°') for at in self.thrown_deg)}"
        if math.isinf(self.let_go_rev_min):
            return f"the follower {keeps}"
        return f"the follower {keeps} up to {say(self.let_go_rev_min, 'rev/min', 0)}"


def _arcs(arcs) -> str:
    return listing(f"from {say(start, '°')} to {say(end, '°')}" for start, end in arcs)


def cam_load(programme: Programme, load: Load, cam: Cam, friction: Friction = RUBBING_FREE) -> CamLoad:
    """Contact force and torque over a whole track, turned in the sense of rising angles.

    Contact is lost where Q + drag (against the motion) is negative: what the follower does
    between there and its landing isn't computed, and in that arc force and torque are 0.  The speed at which
    that begins is √(hold/(m·|s″|)) at its smallest, hold = Q of the standing cam with its drag.
    Returns CamLoad; raises MechError where the pin would come to the cam's axis.

    >>> track = Programme((Segment(0, 90, 0, 10, "cycloidal"), Segment(90, 180, 10, 10),
    ...                    Segment(180, 270, 10, 0, "cycloidal"), Segment(270, 360, 0, 0)), 360)
    >>> cam_load(track, Load(Spring(2, 0.15), mass_g=50), Cam(20)).sentence()
    'The cam needs at most 36.0 N·mm, at 49.6°, and is driven by up to 36.0 N·mm, at 220.4°; the follower \
keeps contact up to 490 rev/min.'
    """

    def hold(moves):
        return load.standing(moves) + moves.way * friction.drag_N

    def pushed(moves):
        arms = cam.at(moves.lift_mm), friction, moves.way, cam.drum, cam.both_walls
        return push(load.along(moves), moves.slope_mm, *arms)

    over = sampled(programme)
    found = pushed(over)
    most = largest(lambda moves: pushed(moves).torque_Nmm, programme)
    least = largest(lambda moves: -pushed(moves).torque_Nmm, programme)
    let_go = arcs_below(lambda moves: hold(moves) + load.inertia * moves.bend_mm, programme)
    jams = arcs_below(lambda moves: pushed(moves).share, programme)
    knocks = tuple(one.angle_deg for one in corners(programme) if one.after_mm < one.before_mm)
    return CamLoad(
        cam,
        load.rev_min,
        over.angle_deg,
        load.along(over),
        found,
        most,
        least._replace(value=-least.value),
        let_go,
        knocks if load.inertia else (),
        jams,
        0.0 if knocks and load.mass_g else _let_go_speed(programme, load, hold),
    )


def _let_go_speed(programme: Programme, load: Load, hold) -> float:
    """The least speed (rev/min) at which mass draws the follower off its cam: 0 where it lets go unmoved."""
    if arcs_below(hold, programme):
        return 0.0
    # mm of s″ for each newton that holds; a nanonewton stands for none.
    worst = largest(lambda moves: -moves.bend_mm / np.maximum(hold(moves), CLOSE), programme).value
    inertia = NEWTONS * load.mass_g * max(worst, 0.0)
    return 1 / (RAD_S * math.sqrt(inertia)) if inertia else math.inf


@dataclass(frozen=True)
class Energy:
    """Where energy goes, in mJ: put in by the cam, stored in spring, mass and weight, rubbed away.

    >>> Energy(30.0, 27.5).lost_mJ
    2.5
    """

    put_in_mJ: float
    stored_mJ: float

    @property
    def lost_mJ(self) -> float:
        """What friction turns to heat."""
        return self.put_in_mJ - self.stored_mJ

    def sentence(self) -> str:
        """The finding in words."""
        return (
            f"The cam puts in {say(self.put_in_mJ, 'mJ', 2)}: {say(self.stored_mJ, 'mJ', 2)} are stored and "
            f"{say(self.lost_mJ, 'mJ', 2)} are lost to friction."
        )


def energy(segments: Iterable[Segment], load: Load, cam: Cam, friction: Friction = RUBBING_FREE) -> Energy:
    """Energy over some segments of a track: put in is ∫T dθ, by Gauss's rule; stored follows from both ends.

    stored = ΔU of the spring + constant·Δs + ½·m·ω²·Δ(s′²).  Knocks at corners between segments aren't in it.
    Returns Energy; raises MechError where contact is lost or the follower jams: then the sum has no meaning.

    >>> energy([Segment(0, 90, 0, 10, "3-4-5")], Load(Spring(2, 0.15)), Cam(20)).sentence()
    'The cam puts in 27.50 mJ: 27.50 mJ are stored and 0.00 mJ are lost to friction.'
    """
    put_in = stored = 0.0
    for segment in segments:
        moves, weights = _gauss(segment)
        arms = cam.at(moves.lift_mm), friction, moves.way, cam.drum, cam.both_walls
        found = push(load.along(moves), moves.slope_mm, *arms)
        if np.isinf(found.contact_N).any():
            raise MechError("the follower jams", "give less pressure angle, less friction or a longer guide")
        if not cam.both_walls and (load.along(moves) + moves.way * friction.drag_N < -CLOSE).any():
            raise MechError("the follower loses contact", "give a stronger spring or less speed")
        put_in += float(found.torque_Nmm @ weights)
        start, end = (motion(segment, at) for at in (segment.start_deg, segment.end_deg))
        stored += load.spring.energy(segment.start_mm, segment.end_mm)
        stored += load.constant_N * (segment.end_mm - segment.start_mm)
        stored += 0.5 * load.inertia * (end.slope_mm**2 - start.slope_mm**2)
    return Energy(put_in, stored)


def _gauss(segment: Segment) -> tuple[Motion, np.ndarray]:
    """The motion at the points of Gauss's rule in pieces of a segment, and their weights in radians."""
    points, weights = np.polynomial.legendre.leggauss(GAUSS_POINTS)
    edges = np.linspace(segment.start_deg, segment.end_deg, GAUSS_PIECES + 1)
    middles, half = (edges[1:] + edges[:-1]) / 2, (edges[1] - edges[0]) / 2
    at = (middles[:, None] + half * points).ravel()
    return motion(segment, at), np.radians(half) * np.tile(weights, GAUSS_PIECES)
