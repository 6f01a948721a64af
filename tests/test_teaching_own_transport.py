"""The exercises on one's own transport, worked again from the question's text alone."""

import re
from collections import Counter
from fractions import Fraction
from math import ceil

import exercise_rules as rules

from mechlib.teaching.own_transport import (
    BOTH,
    LOADING,
    MEAN,
    OWN_TRANSPORT,
    PLAY_AT_A_PART,
    READ_ON,
    TEETH_TO_DEGREES,
    TURNS_TO_TEETH,
    UNLOADING,
    WHICH_CODE,
    A,
    B,
)

ANY = None  # a slip that shows in the other field only


def found(pattern: str, question: str) -> list[Fraction]:
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def teeth_to_degrees(question):
    teeth, gone = found(r"has (\d+) teeth.* when (\d+) teeth have", question)
    one = Fraction(360) / teeth
    return (one * gone,), {
        "teeth for degrees": (gone,),
        "one tooth only": (one,),
        "the rest of the turn": (360 - one * gone,),
        "upside down": (360 / (gone / teeth),),
    }


def turns_to_teeth(question):
    ratio, teeth, turns = found(r"makes (\d+) turns.* has (\d+) teeth.* count ([\d.]+) turns", question)
    part = turns / ratio  # of a turn of the main cam
    return (part * teeth,), {
        "turns for teeth": (turns,),
        "upside down": (turns / (teeth / ratio),),
        "in degrees": (part * 360,),
        "teeth for each turn": (teeth / ratio,),
    }


def play_at_a_part(question):
    teeth, on, back = found(r"has (\d+) teeth.* rise at tooth ([\d.]+) .* at tooth ([\d.]+)\.", question)
    return (on - back, LOADING), {
        "half of it": ((on - back) / 2, ANY),
        "both together": (on + back, ANY),
        "in degrees": ((on - back) * 360 / teeth, ANY),
        "the place coming back": (on - back, UNLOADING),
        "the middle": (on - back, MEAN),
    }


def read_on(question):
    teeth, last, end, need = found(
        r"has (\d+) teeth.* at tooth (\d+)\..* at ([\d.]+)°; .* at ([\d.]+)° or", question
    )
    pitch = Fraction(360) / teeth
    assert abs(last * pitch - end) <= Fraction(1, 20)
    more = 0
    while (last + more) * pitch < need:
        more += 1  # read tooth by tooth until it is enough
    return (more,), {
        "one too few": (more - 1,),
        "degrees for teeth": (ceil(need - end),),
        "counted from nought": (last + more,),
        "to the end of the turn": (teeth - last,),
    }


def which_code(question):
    first, off, on, last, b_on, b_off, right_from, right_to = map(
        int,
        re.search(
            r"from tooth (\d+) to (\d+), and again from (\d+) to (\d+)\. .* from (\d+) to (\d+)\. "
            r".* from tooth (\d+) to (\d+)\.",
            question,
        ).groups(),
    )
    steps = [Fraction(n, 2) for n in range(1, 2 * last + 4, 2)]  # the middle of each tooth
    codes = {
        at: {(True, False): A, (False, True): B, (True, True): BOTH}.get(
            (first < at < off or on < at < last, b_on < at < b_off)
        )
        for at in steps
    }
    right = [at for at in steps if right_from < at < right_to]
    fits = {
        code: [at for at in steps if codes[at] == code]
        for code in (A, B, BOTH)
        if all(right_from < at < right_to for at in steps if codes[at] == code)
    }
    ((code, shown),) = fits.items()  # one code alone shows nowhere but where the levers stand right
    return (len(shown), code), {
        "a code in two places": (sum(codes[at] == A for at in right), A),
        "where the levers aren't ready": (sum(codes[at] == B for at in steps), B),
        "all of B": (b_off - b_on, BOTH),
        "all of A": (last - on, BOTH),
    }


WORKED = [
    (TEETH_TO_DEGREES, teeth_to_degrees, 1),
    (TURNS_TO_TEETH, turns_to_teeth, 1),
    (READ_ON, read_on, 0),
    (PLAY_AT_A_PART, play_at_a_part, 1),
    (WHICH_CODE, which_code, 0),
]


@rules.each_of(OWN_TRANSPORT, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""

    known = {"360"}


def test_questions_differ():
    for exercise in OWN_TRANSPORT:
        assert len({each.question for each in rules.draws(exercise)}) > 150
    more = Counter(each.right[0] for each in rules.draws(READ_ON))
    assert set(more) == {2, 3, 4, 5, 6} and min(more.values()) > 15


def test_numbers_come_from_all_of_their_spans():
    rules.drawn_within(TEETH_TO_DEGREES, teeth=(40, 96, 2), gone=(6, 35, 2))
    rules.drawn_within(TURNS_TO_TEETH, ratio=(20, 60, 2), teeth=(64, 100, 4), turns=(2.25, 10, 0.5))
    rules.drawn_within(PLAY_AT_A_PART, teeth=(40, 96, 2), on=(6, 30, 1), play=(0.4, 0.8, 0))
    rules.drawn_within(READ_ON, teeth=(40, 96, 2), last=(20, 35, 1), whole=(1, 5, 0))
    rules.drawn_within(WHICH_CODE, a_first=(2, 6, 0), gap=(4, 8, 0), lead=(2, 5, 0), both=(2, 5, 0))
