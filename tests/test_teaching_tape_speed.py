"""The five exercises on belts and tape speed, worked again from the question's text alone.

Turns, lengths and ratios in exact fractions where they are rational; cents by counting up in semitones and
hundredths of them instead of by a logarithm.
"""

import math
import re
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.tape_speed import BELT_SIZE, CAPSTAN, CENTS, FLYWHEEL, OTHER_BELT, TAPE_SPEED, WAYS

FASTER, SLOWER = WAYS
ANY = None


def found(pattern: str, question: str) -> list[Fraction]:
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def around(diameter) -> float:
    """The way round a circle, as a polygon of very many sides."""
    sides = 100_000
    return sides * float(diameter) * math.sin(math.radians(180 / sides))


def capstan(question):
    across, turns = found(r"capstan of ([\d.]+) mm diameter turns at (\d+) rev/min", question)
    in_a_minute = around(across) * int(turns)
    return (in_a_minute / 60,), {
        "diameter for radius": (in_a_minute / 30,),
        "radius for diameter": (in_a_minute / 120,),
        "π left out": (across * turns / 60,),
        "area for circumference": (around(across) * float(across) / 4 * int(turns) / 60,),
        "a minute's way": (in_a_minute,),
    }


def flywheel(question):
    pattern = r"pulley of (\d+) mm turns at (\d+) .* belt ([\d.]+) mm thick drives a flywheel of (\d+) mm"
    small, motor, thick, large = found(pattern, question)
    belt = (small + thick) * motor  # what the middle of the belt makes in a minute, over π
    return (belt / (large + thick),), {
        "ratio upside down": ((large + thick) * motor / (small + thick),),
        "thickness forgotten": (small * motor / large,),
        "half the thickness": ((small + thick / 2) * motor / (large + thick / 2),),
        "twice the thickness": ((small + 2 * thick) * motor / (large + 2 * thick),),
        "only one pulley thickened": (belt / large,),
    }


def belt_size(question):
    pattern = r"a path of (\d+) mm\. The belt is ([\d.]+) mm thick and shall be stretched by (\d+) %"
    path, thick, percent = found(pattern, question)
    table = path * 100 / (100 + percent)  # stretched by so many hundredths of itself it is the path
    assert table * percent / 100 + table == path
    rim = around(thick)  # the middle line as a circle is thick/2 further out all round: 2π·thick/2
    return (float(table) - rim,), {
        "stretch of the wrong base": (float(path - path * percent / 100) - rim,),
        "stretched instead of shortened": (float(path + path * percent / 100) - rim,),
        "thickness forgotten": (table,),
        "two thicknesses": (table - 2 * thick,),
        "thickness added": (float(table) + rim,),
        "stretch forgotten": (float(path) - rim,),
    }


def counted(ratio: float) -> float:
    """Cents of a ratio, by halving between one octave down and one up: 2^(cents/1200) rises with cents."""
    low, high = -1200.0, 1200.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if 2 ** (middle / 1200) < ratio else (low, middle)
    return low


def cents(question):
    tone, heard = found(r"tone of (\d+) Hz is recorded\. The machine plays it at (\d+) Hz", question)
    percent = float((heard - tone) * 100 / tone)
    return (counted(float(heard / tone)),), {
        "ratio upside down": (counted(float(tone / heard)),),
        "percent for cents": (percent,),
        "octave shared out evenly": (12 * percent,),
        "semitone shared out evenly": (percent / (2 ** (1 / 12) - 1),),
        "hertz for cents": (heard - tone,),
    }


def other_belt(question):
    pattern = r"pulley of (\d+) mm and a flywheel of (\d+) mm .* belt ([\d.]+) mm thick\. .* is ([\d.]+) mm"
    small, large, old, new = found(pattern, question)

    def change(at_motor, at_flywheel, weight=1):
        before = (small + weight * old) / (large + weight * old)
        after = (small + weight * at_motor) / (large + weight * at_flywheel)
        return before, after, 100 * (after - before) / before

    before, after, percent = change(new, new)
    way, wrong = (FASTER, SLOWER) if new > old else (SLOWER, FASTER)
    return (abs(percent), way), {
        "the other way": (abs(percent), wrong),
        "motor pulley only": (abs(change(new, old)[2]), ANY),
        "flywheel only": (abs(change(old, new)[2]), ANY),
        "percent of the wrong base": (abs(100 * (after - before) / after), ANY),
        "half the thickness": (abs(change(new, new, Fraction(1, 2))[2]), ANY),
    }


WORKED = [
    (CAPSTAN, capstan, 1),
    (FLYWHEEL, flywheel, 1),
    (BELT_SIZE, belt_size, 1),
    (CENTS, cents, 1),
    (OTHER_BELT, other_belt, 2),
]


@rules.each_of(TAPE_SPEED, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""


def test_every_case_is_drawn():
    drawn = rules.draws(OTHER_BELT)
    assert min(sum(d.right[1] == way for d in drawn) for way in WAYS) > 60
    assert all((d.right[1] == FASTER) == (d.numbers["new"] > d.numbers["old"]) for d in drawn)
    errors = [each.right[0] for each in rules.draws(CENTS)]
    assert min(sum(error > 0 for error in errors), sum(error < 0 for error in errors)) > 60
    assert all(len({each.question for each in rules.draws(e)}) > 100 for e in TAPE_SPEED)


def test_the_slips_that_apprentices_make_most_are_known():
    names = {slip.name for exercise in TAPE_SPEED for slip in exercise.slips}
    assert names >= {"diameter for radius", "ratio upside down", "thickness forgotten"}
    assert names >= {"percent of the wrong base", "octave shared out evenly"}


def test_the_size_of_a_change_is_asked_for_without_a_sign():
    """The page's guess counts slower as minus; here the choice says it."""
    drawn = next(each for each in rules.draws(OTHER_BELT) if each.right[1] == SLOWER)
    assert "without a sign" in drawn.question
    found = drawn.check([f"−{drawn.right[0]:.2f} %", SLOWER])
    assert found.kind == "out of sense" and "without a minus sign" in found.words
