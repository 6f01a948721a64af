"""The five exercises on trains and idlers, worked again from the question's text alone, in exact fractions.

Speeds are found by following teeth: at a mesh as many pass on the one wheel as on the other, and wheels on
one shaft turn alike.  Torques are found by following the power.
"""

import re
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.trains import COMPOUND, IDLERS, RACK, TRAINS, WHICH_TRAIN, WORM

PI = Fraction("3.14159265358979323846264338327950288")
ANY = None  # a slip that shows in the other field only
A, B = "train A", "train B"


def found(pattern: str, question: str) -> list:
    """The numbers in a question as fractions, and "gear" or "ring" as what the mesh does to the sense."""
    groups = re.search(pattern, question).groups()
    return [{"gear": -1, "ring": 1}.get(group) or Fraction(group.removeprefix("+")) for group in groups]


def follow(turns, *shafts, last=-1):
    """Turns of the last shaft; a shaft is (driven teeth, driving teeth), a lone wheel one number.

    ``last``: +1 if the last mesh is with a ring.
    """
    pairs = [shaft if isinstance(shaft, tuple) else (shaft, shaft) for shaft in shafts]
    for number, ((_, driver), (driven, _)) in enumerate(zip(pairs, pairs[1:], strict=False), 2):
        teeth_passed = turns * driver
        turns = teeth_passed / driven * (last if number == len(pairs) else -1)
    return turns


def compound(question):
    a, b, c, last, d = found(
        r"gear of (\d+) teeth .* gear of (\d+)\. .* gear of (\d+), .* a (gear|ring) of (\d+) on", question
    )
    right = follow(Fraction(1), a, (b, c), d, last=last)
    return (right,), {
        "ratio upside down": (1 / right,),
        "sign lost": (-right,),
        "taken for idlers": (follow(Fraction(1), a, b, d, last=last),),
        "second mesh upside down": (follow(Fraction(1), a, (b, d), c, last=last),),
        "first mesh only": (follow(Fraction(1), a, b),),
        "second mesh only": (follow(Fraction(1), c, d, last=last),),
    }


def through_idlers(question):
    a, speed, d = found(r"gear of (\d+) teeth turns at ([+]\d+) rev/min .* reel gear of (\d+)\.", question)
    between = re.search(r"idlers? of (.*) teeth", question).group(1)
    idlers = [Fraction(teeth) for teeth in re.findall(r"\d+", between)]
    assert ("An idler" in question or "an idler" in question) == (len(idlers) == 1)
    right = follow(speed, a, *idlers, d)
    sense = right / abs(right)
    return (right,), {
        "sign lost": (-right,),
        "ratio upside down": (sense * speed / (a / d),),
        "first mesh only": (follow(speed, a, idlers[0]),),
        "last mesh only": (follow(speed, idlers[-1], d),),
        "idler's teeth counted in": (sense * speed * a / sum(idlers, d),),
    }


def worm(question):
    starts, wheel, c, d, degrees = found(
        r"worm of (\d) starts .* wheel of (\d+) teeth\. .* gear of (\d+), .* ring of (\d+) teeth\. "
        r".* by (\d+)°",
        question,
    )
    shaft = degrees / 360 * d / c  # turns of the shaft between
    teeth = shaft * wheel  # teeth of the worm's wheel that must pass the worm
    return (teeth / starts,), {
        "starts forgotten": (teeth,),
        "starts the wrong way": (teeth * starts,),
        "worm and wheel only": (degrees / 360 * wheel / starts,),
        "second mesh upside down": (degrees / 360 * c / d * wheel / starts,),
        "a whole turn": (d / c * wheel / starts,),
    }


def rack(question):
    a, b, pinion, module, turns = found(
        r"gear of (\d+) teeth drives one of (\d+)\. .* pinion of (\d+) teeth, module ([\d.]+) mm, .* makes "
        r"([\d.]+) turns?\?",
        question,
    )
    pinion_turns = abs(follow(turns, a, b))
    return (pinion_turns * PI * pinion * module,), {
        "pi left out": (pinion_turns * pinion * module,),
        "radius for diameter": (pinion_turns * PI * pinion * module / 2,),
        "first mesh left out": (turns * PI * pinion * module,),
        "first mesh upside down": (turns * b / a * PI * pinion * module,),
        "module left out": (pinion_turns * PI * pinion,),
        "tip circle": (pinion_turns * PI * (pinion * module + 2 * module),),
    }


def which_train(question):
    way = {"in": 1, "against": -1}[re.search(r"must turn (in|against) the motor's sense", question).group(1)]
    a, i, last, d, e, f, g, j, last_B, h, torque, percent = found(
        r"A: .* gear of (\d+) teeth .* idler of (\d+), .* a (gear|ring) of (\d+) on .* B: a motor gear of "
        r"(\d+) .* gear of (\d+); .* gear of (\d+) .* idler of (\d+), .* a (gear|ring) of (\d+) on "
        r".* gives (\d+) N·mm.* lets (\d+)% of",
        question,
    )
    assert last == last_B
    turns = {
        A: follow(Fraction(1), a, i, d, last=last),
        B: follow(Fraction(1), e, (f, g), j, h, last=last),
    }
    meshes = {A: 2, B: 3}
    gets = percent / 100
    gives = {name: torque * gets ** meshes[name] / abs(turns[name]) for name in turns}  # power over speed
    right, wrong = (A, B) if turns[A] * way > 0 else (B, A)
    assert turns[right] * way > 0 > turns[wrong] * way
    slow = abs(turns[right])
    return (gives[right], right), {
        "sign lost": (gives[wrong], wrong),
        "verdict against the torque": (gives[right], wrong),
        "torque of the other": (gives[wrong], right),
        "losses left out": (torque / slow, ANY),
        "idler without loss": (torque / slow * gets ** (meshes[right] - 1), ANY),
        "ratio upside down": (torque * slow * gets ** meshes[right], ANY),
        "losses the wrong way": (torque / slow / gets ** meshes[right], ANY),
    }


WORKED = [
    (COMPOUND, compound, 4),
    (IDLERS, through_idlers, 1),
    (WORM, worm, 2),
    (RACK, rack, 1),
    (WHICH_TRAIN, which_train, 1),
]


@rules.each_of(TRAINS, WORKED)
class TestExercises(rules.KeepsTheRules):
    known = {"360"}  # a turn: no answer


def test_a_ratio_may_be_answered_as_a_fraction():
    for seed in rules.SEEDS:
        drawn = COMPOUND.draw(seed)
        (ratio,), _ = compound(drawn.question)
        assert drawn.check(f"{ratio.numerator}/{ratio.denominator}").right


def test_every_case_is_drawn():
    drawn = rules.draws(WHICH_TRAIN)
    for last in ("gear", "ring"):
        for name in (A, B):
            assert sum((d.numbers["last"], d.right[1]) == (last, name) for d in drawn) > 25
    counted = [len(each.numbers["idlers"]) for each in rules.draws(IDLERS)]
    assert min(counted.count(many) for many in (1, 2, 3)) > 40
    ratios = [each.right[0] for each in rules.draws(COMPOUND)]
    assert min(sum(r > 0 for r in ratios), sum(r < 0 for r in ratios)) > 60
    assert all(len({each.question for each in rules.draws(e)}) > 190 for e in TRAINS)


def test_every_ring_is_large_enough_for_the_wheel_inside_it():
    """Ten teeth more, as handbooks ask of 20° internal gears; from memory."""
    for seed in rules.SEEDS:
        for exercise, inside in ((COMPOUND, "c"), (WORM, "c")):
            numbers = exercise.draw(seed).numbers
            assert numbers["d"] - numbers[inside] >= 10
        numbers = WHICH_TRAIN.draw(seed).numbers
        assert min(numbers["d"] - numbers["i"], numbers["h"] - numbers["j"]) >= 10
