"""The exercises on minutes at the bench, worked again from the question's text alone, machine by machine."""

import re
from collections import Counter
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.bench_minutes import (
    AT_ONCE,
    BENCH_MINUTES,
    CHECK,
    CHECK_OR_MEND,
    MEND_AT_ONCE,
    UNDER_COVERS,
    WHICH_FIRST,
)

ANY = None  # a slip that shows in the other field only
TWO_PLACES = r"in (\d+) of 100 .* first takes (\d+) min, the second (\d+) min"


def found(pattern, question):
    return [int(group) for group in re.search(pattern, question).groups()]


def hundred(of_first, minutes):
    """The mean over a hundred machines, so many with the fault at the first place; ``minutes`` of each."""
    return Fraction(sum(minutes(machine < of_first) for machine in range(100)), 100)


def what_the_checks_take(question):
    plate, bridge, marks, look, ask = found(
        r"takes (\d+) min .* it (\d+) min more\. .* (\d+) marks .*, (\d+) min each\. .* change, (\d+) min",
        question,
    )
    off, looks = [plate, bridge], [look] * marks
    return (sum([*off, *looks, ask]),), {
        "covers for each mark": (sum([*off * marks, *looks, ask]),),
        "covers forgotten": (sum([*looks, ask]),),
        "bridge alone": (sum([*off[1:], *looks, ask]),),
        "one mark": (sum([*off, look, ask]),),
        "change left out": (sum([*off, *looks]),),
    }


def mend_the_likeliest(question):
    likely, first, second = found(TWO_PLACES, question)
    return (hundred(likely, lambda at_first: first if at_first else first + second),), {
        "both in every machine": (first + second,),
        "first only where it helps": (hundred(likely, lambda at_first: first if at_first else second),),
        "chances mixed up": (hundred(likely, lambda at_first: first + second if at_first else first),),
        "first alone": (first,),
    }


def which_first(question):
    likely, first, second = found(TWO_PLACES, question)
    orders = (
        (hundred(likely, lambda at_first: first if at_first else first + second), first),
        (hundred(likely, lambda at_first: first + second if at_first else second), second),
    )
    (better, begun), (worse, _) = sorted(orders)
    other = first + second - begun
    mixed = hundred(100 - likely, lambda helped: begun if helped == (begun == first) else begun + other)
    return (better,), {
        "the other order": (worse,),
        "both in every machine": (first + second,),
        "each only where it helps": (hundred(likely, lambda at_first: first if at_first else second),),
        "chances mixed up": (mixed,),
    }


def check_or_mend(question):
    likely, first, second = found(TWO_PLACES, question)
    (check,) = found(r"A check of (\d+) min", question)
    right = hundred(likely, lambda at_first: check + (first if at_first else second))
    at_once = hundred(likely, lambda at_first: first if at_first else first + second)
    assert abs(right - at_once) > 1
    verdict, other = (CHECK, AT_ONCE) if right < at_once else (AT_ONCE, CHECK)
    return (right, verdict), {
        "check left out": (right - check, ANY),
        "both in every machine": (check + first + second, ANY),
        "chances mixed up": (hundred(likely, lambda at_first: check + (second if at_first else first)), ANY),
        "without the check": (at_once, ANY),
        "verdict against the minutes": (right, other),
    }


WORKED = [
    (UNDER_COVERS, what_the_checks_take, 0),
    (MEND_AT_ONCE, mend_the_likeliest, 1),
    (WHICH_FIRST, which_first, 1),
    (CHECK_OR_MEND, check_or_mend, 1),
]


@rules.each_of(BENCH_MINUTES, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""

    known = frozenset()


def test_both_verdicts_are_drawn():
    verdicts = Counter(drawn.right[1] for drawn in rules.draws(CHECK_OR_MEND))
    assert min(verdicts[CHECK], verdicts[AT_ONCE]) > 60
    assert all(len({drawn.question for drawn in rules.draws(each)}) > 150 for each in BENCH_MINUTES)


def test_numbers_come_from_all_of_their_spans():
    rules.drawn_within(UNDER_COVERS, plate=(3, 9, 0), bridge=(4, 11, 1), marks=(3, 5, 0), look=(2, 4, 0))
    rules.drawn_within(MEND_AT_ONCE, likely=(60, 90, 5), first=(10, 30, 2), second=(10, 40, 2))
    rules.drawn_within(CHECK_OR_MEND, likely=(40, 70, 5), first=(16, 40, 2), second=(10, 40, 2))
