"""The five exercises on a gear in the hand, worked again from the question's text alone.

Whole numbers and fractions where they are rational; the span's shift by the rack's own geometry, which moves
each flank by the shift times the sine of its slope.
"""

import math
import re
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.measured_gear import (
    BASE_PITCH,
    BROKEN,
    DECIDE,
    MEASURED_GEAR,
    OUTSIDE,
    PITCH,
    WAYS,
)

ANY = None
INCH = Fraction(254, 10)


def found(pattern: str, question: str) -> list[Fraction]:
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def nearest(teeth: Fraction) -> int:
    return math.floor(teeth + Fraction(1, 2))


def broken(question):
    seen, angle = found(r"you see (\d+) sound teeth .* measure ([\d.]+)°", question)
    step = angle / (seen - 1)
    whole = nearest(360 / step)
    assert 2 * seen <= whole and angle < 180  # half of it has crumbled away
    return (whole,), {
        "teeth for gaps": (nearest(seen * 360 / angle),),
        "one step too few": (nearest((seen - 2) * 360 / angle),),
        "half a turn": (nearest(180 / step),),
        "what is missing": (max(whole - seen, 1),),
    }


def outside(question):
    teeth, read = found(r"A gear of (\d+) teeth of the usual heights, .* measures ([\d.]+) mm", question)
    return (read / (teeth + 2),), {
        "tips forgotten": (read / teeth,),
        "tips the wrong way": (read / (teeth - 2),),
        "one side only": (read / (teeth + 1),),
        "radius for diameter": (read / (2 * (teeth + 2)),),
        "upside down": ((teeth + 2) / read,),
    }


def pitch(question):
    teeth, each_inch = found(r"A gear of (\d+) teeth is stamped (\d+) DP", question)
    inches = (teeth + 2) / each_inch
    return (inches * INCH,), {
        "tips forgotten": (teeth / each_inch * INCH,),
        "one side only": (inches * INCH - INCH / each_inch,),
        "inches for millimetres": (inches,),
        "upside down": (INCH / inches,),
        "circular pitch": (math.pi * float(inches * INCH),),
    }


def base_pitch(question):
    over, first, second = found(r"Over (\d+) teeth .* reads ([\d.]+) mm, .* more ([\d.]+) mm", question)
    step, cosine = float(second - first), math.cos(math.radians(20))
    return (step / math.pi / cosine,), {
        "cosine forgotten": (step / math.pi,),
        "cosine the wrong way": (step / math.pi * cosine,),
        "π forgotten": (step / cosine,),
        "one span by its teeth": (float(second / (over + 1)) / math.pi / cosine,),
    }


def decide(question):
    pattern = (
        r"A gear of (\d+) teeth .* as (\d+) DP .* module ([\d.]+) with a profile shift of ([\d.]+) .* "
        r"span of ([\d.]+) modules .* read ([\d.]+) mm"
    )
    teeth, each_inch, module, shift, table, read = map(float, found(pattern, question))
    in_inches = 25.4 / each_inch * table
    slope = math.sin(math.radians(20))

    def metric(flanks, share=slope):
        """Each flank is moved out square to itself by the shift times the sine of the rack's slope."""
        return module * table + flanks * shift * share * module

    right = abs(metric(2) - in_inches)
    way, wrong = WAYS if abs(read - metric(2)) < abs(read - in_inches) else WAYS[::-1]
    return (right, way), {
        "the other one": (right, wrong),
        "shift forgotten": (abs(metric(0) - in_inches), ANY),
        "shift once": (abs(metric(1) - in_inches), ANY),
        "shift in full": (abs(metric(2, 1) - in_inches), ANY),
        "shift taken off": (abs(metric(-2) - in_inches), ANY),
    }


WORKED = [
    (BROKEN, broken, 0),
    (OUTSIDE, outside, 2),
    (PITCH, pitch, 2),
    (BASE_PITCH, base_pitch, 2),
    (DECIDE, decide, 3),
]


@rules.each_of(MEASURED_GEAR, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""


def test_the_answers_are_the_gears_that_were_drawn():
    """Module and teeth come back although the readings are rounded."""
    for seed in rules.SEEDS:
        drawn = BASE_PITCH.draw(seed)
        assert abs(drawn.right[0] - drawn.numbers["module"]) < 0.006
        assert abs(OUTSIDE.draw(seed).right[0] - OUTSIDE.draw(seed).numbers["module"]) < 0.002
        decided = DECIDE.draw(seed)
        assert decided.right[1] == decided.numbers["which"]


def test_every_case_is_drawn():
    rules.drawn_within(BROKEN, whole=(20, 72, 3), seen=(7, 14, 0))
    drawn = rules.draws(DECIDE)
    assert min(sum(d.right[1] == way for d in drawn) for way in WAYS) > 60
    assert all(len({each.question for each in rules.draws(e)}) > 40 for e in MEASURED_GEAR)
