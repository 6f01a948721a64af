"""The exercises on finding a fault, worked again from the question's text alone."""

import math
import re
from collections import Counter
from fractions import Fraction
from itertools import permutations

import exercise_rules as rules

from mechlib.teaching.fault_finding import (
    BITS_A_MINUTE,
    FAULT_FINDING,
    GEAR,
    MEND_FIRST,
    ON_AVERAGE,
    ONE_READING,
    ONE_RULED_OUT,
    REPAIRS,
)


def found(pattern: str, question: str) -> list[Fraction]:
    """The numbers in a question as fractions."""
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def one_ruled_out(question):
    """By a book of decks, crossed out one by one."""
    total, dirty, slack = map(int, found(r"has (\d+) decks .* bench\. (\d+) of them .*, (\d+) a", question))
    book = ["dirty"] * dirty + ["slack"] * slack + ["else"] * (total - dirty - slack)
    left = [deck for deck in book if deck != "dirty"]

    def share(what, of):
        return Fraction(100 * of.count(what), len(of))

    return (share("slack", left),), {
        "nothing ruled out": (share("slack", book),),
        "the wrong one": (share("dirty", book),),
        "something else": (share("else", left),),
        "against the others": (Fraction(100 * book.count("slack"), book.count("else")),),
    }


def one_reading(question):
    """By odds: they are multiplied by how many times as often a glazed belt is judged so."""
    share, hit, false = found(r"complaint (\d+)%.* in (\d+) of 100 cases.* in (\d+) of 100", question)
    odds = share / (100 - share) * hit / false
    judged = share * hit / 100 + (100 - share) * false / 100
    return (100 * odds / (1 + odds),), {
        "share forgotten": (100 * (hit / false) / (1 + hit / false),),
        "the eye alone": (hit,),
        "both at once": (share * hit / 100,),
        "all that are judged so": (judged,),
    }


def halvings(number) -> int:
    return 0 if number == 1 else 1 + halvings(number / 2)


def bits_a_minute(question):
    """By halving until one is left."""
    causes, groups, minutes = found(r"^(\d+) causes .* into (\d+) groups .* takes (\d+) minutes", question)
    told = halvings(groups)
    return (told / minutes,), {
        "groups for bits": (groups / minutes,),
        "all causes": (halvings(causes) / minutes,),
        "what is left": ((halvings(causes) - told) / minutes,),
        "not for a minute": (told,),
        "upside down": (minutes / told,),
    }


def on_average(question):
    """By a hundred cases, each with its minutes."""
    share, clean, setting = found(
        r"in (\d+) of 100 cases.* takes (\d+) minutes, .* gear (\d+) minutes", question
    )
    cases = [True] * int(share) + [False] * int(100 - share)

    def mean(minutes):
        return sum(minutes(dirty) for dirty in cases) / 100

    return (mean(lambda dirty: clean if dirty else clean + setting),), {
        "always both": (clean + setting,),
        "only the right one": (mean(lambda dirty: clean if dirty else setting),),
        "the wrong share": (mean(lambda dirty: clean + setting if dirty else clean),),
        "the other order": (mean(lambda dirty: setting + clean if dirty else setting),),
    }


def mend_first(question):
    """By all six orders, each with its minutes on average."""
    each = {}
    for name in REPAIRS:
        each[name] = found(rf"(?i){name}: (?:helps in )?(\d+) of 100(?: cases)?, (\d+) minutes", question)

    def average(order):
        spent, total = 0, 0
        for name in order:
            spent += each[name][1]
            total += each[name][0] * spent
        return total / 100

    for name in REPAIRS:  # as long as it takes to do just that
        low, high = (25, 45) if name == GEAR else (8, 15)
        assert low <= each[name][1] <= high
    orders = sorted(permutations(REPAIRS), key=average)
    assert average(orders[0]) < average(orders[1])
    first = orders[0][0]
    likeliest = max(REPAIRS, key=lambda name: each[name][0])
    quickest = min(REPAIRS, key=lambda name: each[name][1])
    assert len({first, likeliest, quickest}) == 3

    def rate(name):
        return each[name][0] / each[name][1]

    rates = sorted(map(rate, REPAIRS))
    assert all(high > low * 11 / 10 for low, high in zip(rates, rates[1:], strict=False))  # none nearly ties
    assert max(REPAIRS, key=lambda name: 1 / rate(name)) == likeliest
    return (rate(first), first), {
        "the most probable": (rate(likeliest), likeliest),
        "the quickest": (rate(quickest), quickest),
        "upside down": (1 / rate(likeliest), likeliest),
        "not for a minute": (each[first][0], first),
    }


WORKED = [
    (ONE_RULED_OUT, one_ruled_out, 1),
    (ONE_READING, one_reading, 1),
    (BITS_A_MINUTE, bits_a_minute, 2),
    (ON_AVERAGE, on_average, 2),
    (MEND_FIRST, mend_first, 2),
]


@rules.each_of(FAULT_FINDING, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""

    known = {"100"}


def test_every_case_is_drawn():
    first = Counter(each.right[1] for each in rules.draws(MEND_FIRST))
    assert set(first) == set(REPAIRS) - {GEAR} and min(first.values()) > 70
    bits = Counter(each.numbers["groups"] for each in rules.draws(BITS_A_MINUTE))
    assert set(bits) == {2, 4, 8} and min(bits.values()) > 30
    wide = [e for e in FAULT_FINDING if e is not BITS_A_MINUTE]
    assert all(len({each.question for each in rules.draws(e)}) > 150 for e in wide)


def test_numbers_come_from_all_of_their_spans():
    rules.drawn_within(ONE_RULED_OUT, total=(50, 90, 3), dirty=(8, 20, 2), slack=(5, 14, 2))
    rules.drawn_within(ONE_READING, share=(10, 40, 3), hit=(70, 96, 3), false=(5, 25, 3))
    rules.drawn_within(BITS_A_MINUTE, minutes=(3, 14, 1), bits=(1, 3, 0))
    rules.drawn_within(ON_AVERAGE, share=(20, 85, 5), clean=(4, 15, 1), set_=(16, 45, 3))
    rules.drawn_within(MEND_FIRST, likely=(48, 54, 0), good=(30, 34, 0))
    rules.drawn_within(MEND_FIRST, long=(25, 45, 2), middle=(9, 15, 0), short=(8, 14, 1))
    assert math.isclose(sum(MEND_FIRST.draw(3).numbers["shares"]), 100)
