"""Which of three trial cams will do?  The deciding exercise on the shape of a cam, and what it shares.

Cams and numbers are invented.  The follower is a roller on a slide that moves straight away from the shaft.
"""

from __future__ import annotations

import math
from functools import cache, partial
from itertools import permutations, product
from typing import NamedTuple

from mechlib.cams import LAWS, Programme, Segment
from mechlib.cams.follower import TRANSLATING_LIMIT_DEG, TranslatingRoller
from mechlib.cams.motion import Motion, largest
from mechlib.say import say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

KNOCKING = "constant velocity"
# They start from rest and are steepest in their middle, at half of the lift.
RESTING = ("simple harmonic", "cycloidal", "modified sine", "modified trapezoidal", "3-4-5", "4-5-6-7")
# Rise and length of the move, such that cams of small machines do it with any of the laws.
MOVES = tuple(
    (rise, length) for rise, lengths in ((2.0, range(22, 29)), (2.5, range(22, 30))) for length in lengths
)

TRIANGLE = (
    "Draw a right-angled triangle. One side is the distance from the shaft to the roller's centre; the "
    "other, square to it, how far the roller climbs in a radian (57.3°). The pressure angle is the one at "
    "the shaft."
)


def lean_deg(slope_mm: float, distance_mm: float) -> float:
    """The angle by which a push leans, tan α = slope/distance, by plain trigonometry.

    ``slope_mm`` mm a radian and ``distance_mm`` from the shaft to the roller's centre, above 0.  Returns
    degrees; raises nothing.  Source: the right-angled triangle that the hints describe.

    >>> round(lean_deg(10, 10), 9)
    45.0
    """
    return math.degrees(math.atan2(slope_mm, distance_mm))


# Three trial cams, of which two have a fault.
KNOCKS, BINDS, UNDERCUT, SOUND = "knocks", "binds", "undercut", "sound"
TWO_FAULTS = tuple(permutations((KNOCKS, BINDS, UNDERCUT), 2))
# How far each pushes, clear of the limit, and its roller's radius in parts of the tightest bend.
LEANS_DEG = {
    KNOCKS: range(10, 22),
    BINDS: range(32, 38),
    UNDERCUT: range(22, 28),
    SOUND: range(20, 27),
}
SHARES = {KNOCKS: (0.2, 0.3, 0.4), BINDS: (0.4, 0.5, 0.6), UNDERCUT: (1.1, 1.2), SOUND: (0.4, 0.5, 0.6)}
BASES_MM = 8, 25
ACROSS_MM = {KNOCKS: (4, 10), BINDS: (3, 10), UNDERCUT: (6, 16), SOUND: (3, 10)}
MOST_OF_BASE = 1.3  # a roller's diameter, in radii of the base circle
CAMS = ("cam A", "cam B", "cam C")
WHY = {
    KNOCKS: "how fast is its follower just before the move begins, and how fast just after?",
    BINDS: "hold that angle against the limit.",
    UNDERCUT: "can its roller go round the bends that its centre is asked to go round?",
}


class _Trial(NamedTuple):
    """A trial cam: its fault, law, slope in the middle (mm a radian), sizes, and tightest bend (mm)."""

    fault: str
    law: str
    climb: float
    base: float
    across: int
    bend: float

    def words(self) -> str:
        """What the question tells of it."""
        return (
            f"{self.law}; {say(self.climb, 'mm', 2)}; base circle {say(self.base, 'mm')}; roller "
            f"{say(self.across, 'mm', 0)}; bend {say(self.bend, 'mm')}"
        )


def _tightest_bend(law: str, rise: float, length: float, prime: float) -> float:
    """The smallest radius with which the way of the roller's centre bulges, corners at the ends left out."""
    follower = TranslatingRoller(base_mm=prime - 1, roller_mm=1)
    move = Segment(10, 10 + length, 0, rise, law)
    track = Programme((Segment(0, 10, 0, 0), move, Segment(move.end_deg, move.end_deg + 10, rise, rise)))
    return 1 / largest(lambda moves: follower.stand(moves).tightness, track).value


@cache
def _trials(fault: str, law: str, rise: float, length: float) -> tuple[_Trial, ...]:
    """Every cam with this fault whose sizes suit a small machine: they follow from the angle of its push."""
    climb, found = round(LAWS[law].peaks.velocity * rise / math.radians(length), 2), []
    for lean, share in product(LEANS_DEG[fault], SHARES[fault]):
        prime = round(2 * (climb / math.tan(math.radians(lean)) - rise / 2)) / 2
        bend = round(_tightest_bend(law, rise, length, prime), 1)
        low, high = ACROSS_MM[fault]
        across = math.ceil(2 * bend * share)
        if fault != UNDERCUT:
            across = min(across, high)
        cam = _Trial(fault, law, climb, prime - across / 2, across, bend)
        sized = BASES_MM[0] <= cam.base <= BASES_MM[1] and low <= across <= high
        if sized and across <= MOST_OF_BASE * cam.base:
            found.append(cam)
    return tuple(found)


def _trial(n, place: int) -> _Trial:
    """The cam in this place."""
    fault = n.faults[place]
    law = KNOCKING if fault == KNOCKS else n.laws[place]
    trials = _trials(fault, law, n.rise, n.length)
    return trials[n.picks[place] % len(trials)]


def _pushes(n, cam: _Trial) -> float:
    """Its pressure angle in the middle of the move, where half of the lift is done."""
    follower = TranslatingRoller(base_mm=cam.base, roller_mm=cam.across / 2)
    return float(follower.stand(Motion(0, n.rise / 2, cam.climb)).pressure_deg)


def _wrong(name: str, which: int) -> Slip:
    """One of the two cams with a fault, chosen with its own angle."""
    return Slip(
        name,
        lambda n: (_pushes(n, n.cams[n.wrong[which]]), CAMS[n.wrong[which]]),
        "the angle is right for the one that you chose, but it will not do: {why_" + str(which) + "}",
    )


WHICH_CAM = Exercise(
    part_of="shape_cam",
    title="Which cam will do?",
    question="Three trial cams lift a roller on a slide by {rise_said} in {length}°. Known of each are its "
    "law; by how much it climbs in a radian, in the middle of its move; the base circle's radius; the "
    "roller's diameter; and the radius of the tightest bend that the roller's centre must go round, the very "
    "ends of the move left out. A: {said_0}. B: {said_1}. C: {said_2}. The slide binds beyond {limit}°, "
    "and it must not knock. Only one will do. Which, and what is its pressure angle in the middle of the "
    "move, where half of the lift is done? Answer to one decimal.",
    numbers={
        "move": MOVES,
        "rise": lambda n: n.move[0],
        "length": lambda n: n.move[1],
        "pair": TWO_FAULTS,
        "sound": (0, 1, 2),
        "laws": tuple(permutations(RESTING, 3)),
        "picks": tuple(product(range(24), repeat=3)),
        "limit": (say(TRANSLATING_LIMIT_DEG, "", 0),),
        "rise_said": lambda n: say(n.rise, "mm"),
        "faults": lambda n: (*n.pair[: n.sound], SOUND, *n.pair[n.sound :]),
        "cams": lambda n: tuple(_trial(n, place) for place in range(3)),
        "good": lambda n: n.cams[n.sound],
        "distance": lambda n: n.good.base + n.good.across / 2 + n.rise / 2,
        "wrong": lambda n: tuple(place for place in range(3) if place != n.sound),
        "why_0": lambda n: WHY[n.pair[0]],
        "why_1": lambda n: WHY[n.pair[1]],
        **{f"said_{place}": partial(lambda place, n: n.cams[place].words(), place) for place in range(3)},
    },
    fields=(Number("Its pressure angle", "°", 0.06, -90, 90), OneOf("Which will do", CAMS)),
    right=lambda n: (_pushes(n, n.good), CAMS[n.sound]),
    slips=(
        _wrong("a cam with a fault", 0),
        _wrong("the other cam with a fault", 1),
        Slip(
            "upside down",
            lambda n: (lean_deg(n.distance, n.good.climb), None),
            "the triangle is upside down: the wider the way to the shaft, the less the push leans.",
        ),
        Slip(
            "lift forgotten",
            lambda n: (lean_deg(n.good.climb, n.distance - n.rise / 2), None),
            "you forgot the lift that is done by then.",
        ),
        Slip(
            "the whole lift",
            lambda n: (lean_deg(n.good.climb, n.distance + n.rise / 2), None),
            "you took the whole lift. How much of it is done in the middle of the move?",
        ),
        Slip(
            "roller forgotten",
            lambda n: (lean_deg(n.good.climb, n.good.base + n.rise / 2), None),
            "you went to the edge of the cam only. What is lifted is the roller's centre.",
        ),
        Slip(
            "diameter for radius",
            lambda n: (lean_deg(n.good.climb, n.distance + n.good.across / 2), None),
            "you added the whole roller. From the edge of the cam to the roller's centre it is less.",
        ),
        Slip(
            "calculator in radians",
            lambda n: (math.radians(lean_deg(n.good.climb, n.distance)), None),
            "so small a figure comes of stopping at the tangent, or of a calculator that is set to radians "
            "(RAD) instead of degrees (DEG).",
        ),
    ),
    hints=(
        "There are three ways to fail: the velocity jumps, the push leans too far, or the roller is larger "
        "than a bend that its centre must go round. Strike out what you can without reckoning.",
        "A roller cuts its own way where its radius (not its diameter) is larger than the bend's.",
        TRIANGLE + " The lift at the place counts too.",
    ),
    because="It starts from rest, its roller is smaller than the tightest bend, and its push stays within "
    "{limit}°.",
)
