"""The exercises on minutes at the bench, worked again from the question's text alone, machine by machine."""

import re
from collections import Counter
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.bench_minutes import (
    AT_ONCE,
    BENCH_MINUTES,
    BESIDE_THE_PLAN,
    BREAK_EVEN,
    CHECK,
    CHECK_OR_MEND,
    UNDER_COVERS,
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
        "covers twice": (sum([*off, *looks, ask, *off]),),
        "covers forgotten": (sum([*looks, ask]),),
        "bridge alone": (sum([*off[1:], *looks, ask]),),
        "one mark": (sum([*off, look, ask]),),
        "change left out": (sum([*off, *looks]),),
    }


def beside_the_plan(question):
    """By the log, step by step, and the plan's part of it."""
    look, clean, ask, gear = found(
        r"first mark, (\d+) min.* contacts, (\d+) min; tried, (\d+) min.* gear, (\d+) min;", question
    )
    log = [look, clean, ask, look, gear, ask]
    plan = log[3:]

    def share(steps, of):
        return (Fraction(100 * sum(steps), sum(of)),)

    return share(log, plan), {
        "only what is more": share(log[:3], plan),
        "upside down": share(plan, log),
        "wrong repair left out": share(log[:1] + log[3:], plan),
        "a try left out": share(log[:-1], plan),
    }


def break_even(question):
    """Both ways at either end, machine by machine; between the ends each is a straight line."""
    first, second, check = found(
        r"first takes (\d+) min, the second (\d+) min.* check of (\d+) min", question
    )

    def saved(at_first):
        at_once = hundred(at_first, lambda it_is: first if it_is else first + second)
        return at_once - hundred(at_first, lambda it_is: check + (first if it_is else second))

    def crossing(at_none, at_all):
        return 100 * at_none / (at_none - at_all)

    right = crossing(saved(0), saved(100))
    assert saved(int(right)) >= 0 >= saved(int(right) + 1)
    return (right,), {
        "the other machines": (100 - right,),
        "beside the second repair": (crossing(Fraction(second - check), -check),),
        "beside both repairs": (crossing(Fraction(first + second - check), -check),),
        "upside down": (Fraction(100 * first, check),),
    }


def check_or_mend(question):
    likely, first, second = found(TWO_PLACES, question)
    (check,) = found(r"A check of (\d+) min", question)
    right = hundred(likely, lambda at_first: check + (first if at_first else second))
    at_once = hundred(likely, lambda at_first: first if at_first else first + second)
    other_way = hundred(likely, lambda at_first: second + (first if at_first else 0))
    assert abs(right - at_once) > 1 and likely > 50
    assert at_once < other_way  # mending the second at once is never the better way without the check
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
    (BESIDE_THE_PLAN, beside_the_plan, 0),
    (BREAK_EVEN, break_even, 1),
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
    rules.drawn_within(BESIDE_THE_PLAN, look=(2, 4, 0), clean=(6, 15, 1), gear=(4, 15, 1), ask=(1, 3, 0))
    rules.drawn_within(BREAK_EVEN, first=(16, 40, 2), second=(12, 40, 2), check=(3, 11, 0))
    rules.drawn_within(CHECK_OR_MEND, likely=(55, 70, 0), first=(16, 40, 2), second=(7, 46, 4))
