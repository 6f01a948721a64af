"""The exercises on a stuck tape, worked again from the question's text alone, with fractions and drawings."""

import math
import re
from collections import Counter
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.stuck_tape import (
    FIRST_TO_MOVE,
    LEVERS,
    SLACK,
    SNAPS,
    STAYS,
    STUCK_TAPE,
    TURNS_TO_GO,
    WHERE_IT_STANDS,
    WHICH_SNAPS,
)

ANY = None  # a slip that shows in the other field only


def found(pattern: str, question: str) -> list[Fraction]:
    """The numbers in a question as fractions; a real minus sign is read as one."""
    groups = re.search(pattern, question).groups()
    return [Fraction(group.replace("−", "-")) for group in groups]


def turns_to_go(question):
    start, out, ratio = found(r"cam at (\d+)°.* at (−\d+)°.* makes (\d+) turns", question)
    degree = ratio / 360  # turns of the shaft for a degree
    return (degree * (start - out),), {
        "sign lost": (degree * (start + out),),
        "to nought only": (degree * start,),
        "turns of the cam": ((start - out) / 360,),
        "ratio upside down": ((start - out) / ratio,),
    }


def common(first, second):
    """What two bars share, by stepping over tenths of a degree."""
    steps = range(int(10 * min(first[0], second[0])), int(10 * max(first[1], second[1])) + 1)
    inside = [
        Fraction(s, 10) for s in steps if all(low <= Fraction(s, 10) <= high for low, high in (first, second))
    ]
    return min(inside), max(inside)


def where_it_stands(question):
    low, high, first, last, play = found(
        r"from (\d+)° to (\d+)°, and .* from (\d+)° to (\d+)°\. .* comes ([\d.]+)° lower", question
    )
    after = {by: common((low - by, high - by), (first, last)) for by in (0, play / 2, play)}
    right = (min(a for a, _ in after.values()), max(b for _, b in after.values()))
    return right, {
        "play forgotten": after[0],
        "play the wrong way": common((low + play, high + play), (first, last)),
        "lever alone": (low - play, high),
        "contact alone": (first, last),
        "either of the two": (first, high),
    }


def slack(question):
    full, left, per, wide = found(
        r"from (\d+) mm of lift to (\d+) mm\..* drawn ([\d.]+) mm of tape.* is (\d+) mm across", question
    )
    loose, around = float(per * (full - left)), math.tau * float(wide) / 2
    return (loose / around,), {
        "lift for tape": (float(full - left) / around,),
        "all the lift": (float(per * full) / around,),
        "diameter for radius": (loose / (math.tau * float(wide)),),
        "round by its width": (loose / float(wide),),
    }


def which_snaps(question):
    lift, idle, rate, friction = found(
        r"stands ([\d.]+) mm up.* with ([\d.]+) N when .* and ([\d.]+) N more.* takes ([\d.]+) N", question
    )
    force = idle + lift * rate
    verdict, other = (SNAPS, STAYS) if force > friction else (STAYS, SNAPS)
    assert abs(force - friction) > force / 5
    return (force, verdict), {
        "lift forgotten": (idle, ANY),
        "first force forgotten": (force - idle, ANY),
        "rate for each lift": (idle + rate, ANY),
        "friction taken off": (force - friction, ANY),
        "verdict against the force": (force, other),
    }


def first_to_move(question):
    start, ratio = found(r"stands at (\d+)°.* makes (\d+) turns", question)
    bars = {name: tuple(found(rf"{name}(?: moves)? between (\d+)° and (\d+)°", question)) for name in LEVERS}
    below = {name: bar for name, bar in bars.items() if bar[1] < start}
    (above,) = set(bars) - set(below)
    at = start
    while not any(low <= at <= high for low, high in below.values()):
        at -= 1  # turn back degree by degree until something moves
    near = next(name for name, (low, high) in below.items() if low <= at <= high)
    (far,) = set(below) - {near}
    degree = ratio / 360
    return (degree * (start - at), near), {
        "loading sense": (degree * (bars[above][0] - start), above),
        "lower ends": (degree * (start - bars[far][0]), far),
        "where it ends": (degree * (start - bars[near][0]), ANY),
        "turns of the cam": ((start - at) / 360, ANY),
        "counted from nought": (degree * at, ANY),
    }


WORKED = [
    (TURNS_TO_GO, turns_to_go, 1),
    (WHERE_IT_STANDS, where_it_stands, 1),
    (SLACK, slack, 2),
    (WHICH_SNAPS, which_snaps, 1),
    (FIRST_TO_MOVE, first_to_move, 1),
]


@rules.each_of(STUCK_TAPE, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""

    known = {"360"}


def test_every_case_is_drawn():
    verdicts = Counter(each.right[1] for each in rules.draws(WHICH_SNAPS))
    assert min(verdicts[SNAPS], verdicts[STAYS]) > 60
    first = Counter(each.right[1] for each in rules.draws(FIRST_TO_MOVE))
    assert set(first) == set(LEVERS) and min(first.values()) > 40
    assert all(len({each.question for each in rules.draws(e)}) > 150 for e in STUCK_TAPE)


def test_numbers_come_from_all_of_their_spans():
    rules.drawn_within(TURNS_TO_GO, start=(120, 260, 5), out=(20, 115, 5), ratio=(60, 120, 4))
    rules.drawn_within(
        WHERE_IT_STANDS, first=(60, 180, 5), gap=(5, 15, 1), common=(5, 15, 1), more=(8, 25, 1)
    )
    rules.drawn_within(SLACK, full=(60, 90, 2), left=(8, 40, 2), per=(1.6, 2.5, 0.1), wide=(28, 76, 2))
    rules.drawn_within(WHICH_SNAPS, lift=(2.5, 8.5, 0.5), idle=(0.6, 3.0, 0.1), rate=(0.2, 0.9, 0.1))
    rules.drawn_within(FIRST_TO_MOVE, start=(120, 200, 5), to_near=(12, 30, 1), to_above=(4, 9, 1))
