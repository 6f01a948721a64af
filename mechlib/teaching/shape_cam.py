"""Five exercises on the shape of a cam, rising from counting to deciding.

Cams and numbers are invented.  Lifts are mm, angles degrees of the cam; the follower is a roller on a slide
that moves straight away from the shaft.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

from mechlib.cams import LAWS, Segment
from mechlib.cams.follower import TRANSLATING_LIMIT_DEG, TranslatingRoller
from mechlib.cams.motion import PER_RADIAN, Motion
from mechlib.say import say
from mechlib.teaching.cam_speed import PEAK_VELOCITY
from mechlib.teaching.exercises import Exercise, Number, Slip
from mechlib.teaching.trial_cams import KNOCKING, RESTING, TRIANGLE, WHICH_CAM, lean_deg

USUAL_BASE_MM = 10, 25  # radius of the base circle in a small machine


def _part(n) -> float:
    """The lift of the move so far, in parts of its length."""
    return (n.at - n.start) / n.length


READ_A_MOVE = Exercise(
    title="Read a move",
    question="A lever's track starts a move at {start}° of the main cam and ends it at {end}°. Meanwhile the "
    "lift goes from {low_said} to {high_said}, at one even speed (the law is called constant velocity). What "
    "is the lift at {at}°? Answer to two decimals.",
    numbers={
        "start": range(20, 241),
        "length": range(16, 61, 2),
        "part": range(2, 15),
        "end": lambda n: n.start + n.length,
        "at": lambda n: n.start + n.length * n.part // 16,
        "from_mm": tuple(half / 2 for half in range(2, 9)),
        "way_mm": tuple(sense * half / 2 for sense in (-1, 1) for half in range(3, 11)),
        "first": lambda n: n.from_mm + max(-n.way_mm, 0),
        "last": lambda n: n.first + n.way_mm,
        "low_said": lambda n: say(n.first, "mm"),
        "high_said": lambda n: say(n.last, "mm"),
    },
    fields=(Number("Lift", "mm", 0.012, -100, 100),),
    right=lambda n: Segment(n.start, n.end, n.first, n.last, KNOCKING).lift(n.at),
    slips=(
        Slip(
            "angle counted from nought",
            lambda n: n.first + n.way_mm * n.at / n.end,
            "you counted the angles from nought. The move doesn't begin there: how far is it into the move, "
            "and how long is the move?",
        ),
        Slip(
            "shared over a whole turn",
            lambda n: n.first + n.way_mm * (n.at - n.start) / 360,
            "you shared the way over a whole turn of the cam. It is done between the start and the end of "
            "this move.",
        ),
        Slip(
            "the rest of the move",
            lambda n: n.last - n.way_mm * _part(n),
            "you counted from the wrong end: so much would be left if the move ran backwards. With which "
            "lift does it begin?",
        ),
        Slip(
            "the first lift forgotten",
            lambda n: abs(n.way_mm) * _part(n),
            "that is how far the lever has gone since the move began. With which lift did it begin, and "
            "does it go up or down?",
        ),
        Slip(
            "the larger lift for the way",
            lambda n: n.first + math.copysign(max(n.first, n.last), n.way_mm) * _part(n),
            "you took the larger lift for the way. How far is it from the one lift to the other?",
        ),
    ),
    hints=(
        "How many degrees long is the move? How many of them are over?",
        "At one even speed the lift is shared out like the degrees: after half of them half the way is done.",
        "Then add that to the lift with which the move begins, or take it away if the lever goes down.",
    ),
    because="At one even speed the lift is shared out like the degrees, from the start of the move on.",
)


SO_SMALL = (
    "so small a figure comes of the slope for one degree where that for a radian belongs, of stopping at the "
    "tangent, which is not an angle yet, or of a calculator that is set to radians (RAD) instead of degrees "
    "(DEG)."
)

PRESSURE_ANGLE = Exercise(
    title="Which way does it push?",
    question="A roller of {across_said} diameter runs on a cam with a base circle of {base_said} radius. It "
    "sits on a slide that moves straight away from the shaft. At one place the lift is {lift_said}, and it "
    "grows by {slope_said} for each degree of the cam. How large is the pressure angle there? Answer to one "
    "decimal.",
    numbers={
        "base": range(8, 25),
        "across": range(4, 11),
        "lift": tuple(half / 2 for half in range(3, 15)),
        "slope": tuple(hundredth / 100 for hundredth in range(10, 36)),
        "base_said": lambda n: say(n.base, "mm", 0),
        "across_said": lambda n: say(n.across, "mm", 0),
        "lift_said": lambda n: say(n.lift, "mm"),
        "slope_said": lambda n: say(n.slope, "mm", 2),
        "distance": lambda n: n.base + n.across / 2 + n.lift,
        "climb": lambda n: n.slope * PER_RADIAN,
    },
    fields=(Number("Pressure angle", "°", 0.06, -90, 90),),
    right=lambda n: float(
        TranslatingRoller(base_mm=n.base, roller_mm=n.across / 2)
        .stand(Motion(0, n.lift, n.climb))
        .pressure_deg
    ),
    slips=(
        Slip(
            "upside down",
            lambda n: lean_deg(n.distance, n.climb),
            "the triangle is upside down. On a very large cam with the same slope: is the push straighter "
            "there, or does it lean more?",
        ),
        Slip(
            "slope left for one degree",
            lambda n: lean_deg(n.slope, n.distance),
            SO_SMALL,
        ),
        Slip(
            "calculator in radians",
            lambda n: math.radians(lean_deg(n.climb, n.distance)),
            SO_SMALL,
        ),
        Slip(
            "lift forgotten",
            lambda n: lean_deg(n.climb, n.distance - n.lift),
            "you forgot the lift: it takes the roller farther from the shaft than the base circle.",
        ),
        Slip(
            "roller forgotten",
            lambda n: lean_deg(n.climb, n.distance - n.across / 2),
            "you went to the edge of the cam only. What is lifted is the roller's centre.",
        ),
        Slip(
            "diameter for radius",
            lambda n: lean_deg(n.climb, n.distance + n.across / 2),
            "you added the whole roller. From the edge of the cam to the roller's centre it is less.",
        ),
    ),
    hints=(
        "How far is the roller's centre from the shaft at this place? Three things add up to it.",
        "How far would the roller climb if the cam turned by one radian (57.3°) at this slope?",
        TRIANGLE + " Measure it, or let a calculator find the angle whose tangent is the one side over the "
        "other.",
    ),
    because="The slope for a radian over the distance to the roller's centre is the tangent of the angle.",
)


TANGENT = math.tan(math.radians(TRANSLATING_LIMIT_DEG))


def _least(n, factor: float) -> float:
    """The distance to the roller's centre at which the push leans by the limit."""
    return factor * n.rise / n.length * PER_RADIAN / TANGENT


def _less(n, distance: float) -> float:
    """A distance less what lies between base circle and roller's centre."""
    return distance - n.across / 2 - n.rise / 2


def _smallest(n) -> float:
    """The radius of the base circle asked for."""
    return _less(n, _least(n, n.factor))


def _length(n) -> int:
    """A length of the move for which a cam of the usual size will do."""
    fits = [
        length
        for length in range(30, 61)
        if USUAL_BASE_MM[0] <= _smallest(SimpleNamespace(**vars(n) | {"length": length})) <= USUAL_BASE_MM[1]
    ]
    return fits[n.pick % len(fits)]


LEAST_BASE = Exercise(
    title="How large must it be?",
    question="A slide with a roller of {across_said} diameter is to be lifted by {rise_said} in {length}° of "
    "the cam. The law is {law}, with a peak velocity of {velocity}; it is steepest in the middle of its "
    "move, where half of the lift is done. What is the least radius of the base circle for a pressure "
    "angle of {limit}° there? Answer to one decimal.",
    numbers={
        "law": RESTING,
        "rise": tuple(half / 2 for half in range(8, 17)),
        "across": range(4, 9),
        "limit": (say(TRANSLATING_LIMIT_DEG, "", 0),),
        "rise_said": lambda n: say(n.rise, "mm"),
        "across_said": lambda n: say(n.across, "mm", 0),
        "velocity": lambda n: say(LAWS[n.law].peaks.velocity, "", 3),
        "factor": lambda n: float(n.velocity),
        "pick": range(1000),
        "length": _length,
    },
    fields=(Number("Base circle, radius", "mm", 0.06, -100, 400),),  # below 0 where a slip leads there
    right=_smallest,
    slips=(
        Slip(
            "peak factor left out",
            lambda n: _less(n, _least(n, 1)),
            "you took the slope of an even speed. At its steepest place the law is steeper, by its peak "
            "velocity.",
        ),
        Slip(
            "distance for the base circle",
            lambda n: _least(n, n.factor),
            "that is the distance from the shaft to the roller's centre. What lies between the base circle "
            "and there?",
        ),
        Slip(
            "lift forgotten",
            lambda n: _least(n, n.factor) - n.across / 2,
            "you forgot the lift that is done at this place: it lies between base circle and roller.",
        ),
        Slip(
            "the whole lift",
            lambda n: _least(n, n.factor) - n.across / 2 - n.rise,
            "you took the whole lift off. How much of it is done at the steepest place?",
        ),
        Slip(
            "roller forgotten",
            lambda n: _least(n, n.factor) - n.rise / 2,
            "you forgot the roller: the distance goes to its centre.",
        ),
        Slip(
            "diameter for radius",
            lambda n: _least(n, n.factor) - n.across - n.rise / 2,
            "you took the whole roller off. The distance goes only as far as its centre.",
        ),
        Slip(
            "slope left for one degree",
            lambda n: _less(n, _least(n, n.factor / PER_RADIAN)),
            "a base circle can't be less than nothing. So little comes of the slope for one degree where "
            "that for a radian belongs.",
        ),
        Slip(
            "calculator in radians",
            lambda n: _less(n, _least(n, n.factor) * TANGENT / math.tan(TRANSLATING_LIMIT_DEG)),
            "a base circle can't be less than nothing. Your calculator is set to radians (RAD) instead of "
            "degrees (DEG): the tangent of this angle is more than nothing.",
        ),
        Slip(
            "times the tangent",
            lambda n: _less(n, _least(n, n.factor) * TANGENT**2),
            "you multiplied by the tangent. Slope ÷ distance is the tangent: what is slope ÷ tangent?",
        ),
    ),
    hints=(
        "First the slope at the steepest place: millimetres a degree at an even speed, times the law's peak "
        "velocity, times 57.3 for a radian.",
        TRIANGLE + " Here the angle is given: which distance goes with it?",
        "From that distance take off what lies between base circle and roller's centre.",
    ),
    because="The slope for a radian over the limit's tangent is the distance; roller and half the lift come "
    "off. A little before the middle the push leans some more, so a careful maker goes a little larger.",
)

SHAPE_CAM = (READ_A_MOVE, PEAK_VELOCITY, PRESSURE_ANGLE, LEAST_BASE, WHICH_CAM)
