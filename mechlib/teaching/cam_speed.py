"""How fast does the follower go at most?  The second exercise on the shape of a cam.

Cams and numbers are invented.
"""

from __future__ import annotations

import math
from functools import partial

from mechlib.cams import LAWS
from mechlib.say import say
from mechlib.teaching.exercises import Exercise, Number, Slip
from mechlib.teaching.trial_cams import RESTING


def _mm_a_second(n, factor: float, degrees_a_second: float) -> float:
    return factor * n.rise / n.length * degrees_a_second


ONLY_A_DEGREE = (
    "that is how far the follower goes for one degree of the cam. How many degrees does it turn in a second?"
)
IN_RADIANS = "you counted the cam's speed in radians and the length of the move in degrees. Use one of them."
ONE_OF_BOTH = (
    "either that is how far the follower goes for one degree of the cam, and its speed is left out; or you "
    "counted the cam's speed in radians. How many degrees does it turn in a second?"
)


def _too_slow(words: str, n) -> str:
    """What is said to one of two slips; words for both where a typed value could be either."""
    left_out, radians = (_mm_a_second(n, n.factor, by) for by in (1, math.radians(6 * n.speed)))
    return ONE_OF_BOTH if FASTEST.clashes(left_out, radians) else words


FASTEST = Number("Fastest", "mm/s", 0.06, 0, 4900)

PEAK_VELOCITY = Exercise(
    part_of="shape_cam",
    title="How fast at most?",
    question="A {law} move of {rise_said} takes {length}° of a cam that turns at {speed} rev/min. The law's "
    "peak velocity is {velocity}, its peak acceleration {acceleration}. How fast does the follower go at its "
    "fastest place? Answer in mm/s to one decimal.",
    numbers={
        "law": RESTING,
        "rise": tuple(half / 2 for half in range(6, 15)),
        "length": range(24, 51),
        "speed": range(5, 16),
        "rise_said": lambda n: say(n.rise, "mm"),
        "velocity": lambda n: say(LAWS[n.law].peaks.velocity, "", 3),
        "acceleration": lambda n: say(LAWS[n.law].peaks.acceleration, "", 3),
        "factor": lambda n: float(n.velocity),  # as it is told
        "left_out": partial(_too_slow, ONLY_A_DEGREE),
        "in_radians": partial(_too_slow, IN_RADIANS),
    },
    fields=(FASTEST,),
    right=lambda n: _mm_a_second(n, n.factor, 6 * n.speed),
    slips=(
        Slip(
            "peak factor left out",
            lambda n: _mm_a_second(n, 1, 6 * n.speed),
            "that is the speed if it were even all the way. The law starts and ends gently: by how much "
            "must it be faster in between?",
        ),
        Slip(
            "the acceleration's factor",
            lambda n: _mm_a_second(n, float(n.acceleration), 6 * n.speed),
            "you took the factor of the acceleration. Asked for is a velocity.",
        ),
        Slip(
            "length over rise",
            lambda n: n.factor * n.length / n.rise * 6 * n.speed,
            "rise and length are upside down. How many millimetres for each degree, not degrees for each "
            "millimetre.",
        ),
        Slip(
            "minutes for seconds",
            lambda n: _mm_a_second(n, n.factor, 360 * n.speed),
            "that is how far it would go in a minute. Asked for are millimetres in a second.",
        ),
        Slip(
            "turns for degrees",
            lambda n: _mm_a_second(n, n.factor, n.speed / 60),
            "you went on with turns in a second. The move's length is in degrees: how many of them does "
            "the cam turn in a second?",
        ),
        Slip(
            "speed left out",
            lambda n: _mm_a_second(n, n.factor, 1),
            "{left_out}",
        ),
        Slip(
            "radians for degrees",
            lambda n: _mm_a_second(n, n.factor, math.radians(6 * n.speed)),
            "{in_radians}",
        ),
    ),
    hints=(
        "How many millimetres for each degree would it be at one even speed?",
        "At its fastest place the law goes faster than that, by its peak velocity.",
        "How many degrees does the cam turn in a second? A turn is 360°, a minute 60 s.",
    ),
    because="Millimetres a degree at an even speed, times the law's peak velocity, times the degrees in a "
    "second.",
)
