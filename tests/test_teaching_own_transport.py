"""The exercises on one's own transport, worked again from the question's text alone."""

import re
from collections import Counter
from fractions import Fraction
from math import ceil

import exercise_rules as rules

from mechlib.teaching.own_transport import (
    BOTH,
    FIRST,
    MEAN,
    OWN_TRANSPORT,
    PLAY_AT_A_PART,
    READ_ON,
    SECOND,
    TEETH_TO_DEGREES,
    TURNS_TO_TEETH,
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
    (teeth,) = found(r"main gear has (\d+) teeth\. The loading gear meshes with it", question)
    first, second = found(r"at tooth ([\d.]+)\. Then .* at tooth ([\d.]+)\.", question)
    on, back = max(first, second), min(first, second)
    # Loading, the part lags behind by its play; the edge then comes later on the way up than on the way back.
    enter = FIRST if "loading sense" in question.partition(" Then ")[0] else SECOND
    assert enter == (FIRST if on == first else SECOND)
    assert Fraction(1, 10) <= on - back <= Fraction(3, 10)  # far less than the half pitch that a space is
    return (on - back, enter), {
        "the wrong way round": (back - on, ANY),
        "both together": (on + back, ANY),
        "in degrees": ((on - back) * 360 / teeth, ANY),
        "the place coming back": (on - back, SECOND if enter == FIRST else FIRST),
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
    pattern = (
        r"Contact (A|B) is closed from tooth (\d+) to (\d+), and again from (\d+) to (\d+)\. Contact (A|B) "
        r"is closed from (\d+) to (\d+)\. .* from tooth (\d+) to (\d+)\."
    )
    twice, *bars, once, on, off, right_from, right_to = re.search(pattern, question).groups()
    assert {twice, once} == {"A", "B"}
    *bars, on, off, right_from, right_to = map(int, (*bars, on, off, right_from, right_to))
    steps = [Fraction(n, 2) for n in range(1, 2 * bars[-1] + 4, 2)]  # the middle of each tooth
    alone = {"A": A, "B": B}
    names = {(True, False): alone[twice], (False, True): alone[once], (True, True): BOTH}
    codes = {at: names.get((bars[0] < at < bars[1] or bars[2] < at < bars[3], on < at < off)) for at in steps}
    shows = {code: [at for at in steps if codes[at] == code] for code in (A, B, BOTH)}
    # One code alone shows nowhere but where the levers stand right; another shows in two places.
    (code,) = (one for one in shows if all(right_from < at < right_to for at in shows[one]))
    (split,) = (one for one in shows if shows[one][-1] - shows[one][0] > len(shows[one]) - 1)
    (third,) = set(shows) - {code, split}
    return (len(shows[code]), code), {
        "a code in two places": (bars[3] - off, split),
        "where the levers aren't ready": (len(shows[third]), third),
        "counted both ends": (len(shows[code]) + 1, code),
        "a whole bar": (off - on, code),
        "another stretch": (bars[3] - bars[2] if code == BOTH else bars[2] - bars[1], code),
        "where the levers stand right": (right_to - right_from, code),
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


def test_no_choice_is_always_right():
    enter = Counter(each.right[1] for each in rules.draws(PLAY_AT_A_PART))
    assert set(enter) == {FIRST, SECOND} and min(enter.values()) > 60
    codes = Counter(each.right[1] for each in rules.draws(WHICH_CODE))
    assert set(codes) == {A, B, BOTH} and min(codes.values()) > 25


def test_numbers_come_from_all_of_their_spans():
    rules.drawn_within(TEETH_TO_DEGREES, teeth=(40, 96, 2), gone=(6, 35, 2))
    rules.drawn_within(TURNS_TO_TEETH, ratio=(20, 60, 2), teeth=(64, 100, 4), turns=(2.25, 10, 0.5))
    rules.drawn_within(PLAY_AT_A_PART, teeth=(40, 96, 2), on=(6, 30, 1), play=(0.1, 0.3, 0))
    rules.drawn_within(READ_ON, teeth=(40, 96, 2), last=(20, 35, 1), whole=(1, 5, 0))
    rules.drawn_within(WHICH_CODE, first=(2, 6, 0), gap=(4, 8, 0), lead=(2, 5, 0), both=(2, 5, 0))
