"""Decisions: by hand, against every order by brute force, and against the best of all policies."""

from __future__ import annotations

from functools import cache
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from mechlib.bench.decisions import (
    bits,
    gathered,
    information_bits,
    minutes_after_check,
    minutes_to_mend,
    order_of_repair,
    work,
)

MINUTES = st.floats(1, 60)


def told_one_by_one(order, probability, minutes, covers, cover_minutes):
    """Minutes to the repair for one order, the faults gone through one at a time."""
    total = 0.0
    for fault, chance in enumerate(probability):
        spent, off = 0.0, set()
        for unit in order:
            spent += minutes[unit] + sum(cover_minutes[c] for c in covers[unit] - off)
            off |= covers[unit]
            if unit == fault:
                break
        total += chance * spent
    return total


@given(st.lists(st.tuples(st.floats(0.01, 1), MINUTES), min_size=2, max_size=5))
def test_probability_over_cost_beats_every_other_order(drawn):
    """Heckerman, Breese and Rommelse 1995, from memory: for one fault and fixed costs no order is better."""
    chances = np.array([chance for chance, _ in drawn])
    chances, minutes = chances / chances.sum(), [m for _, m in drawn]
    none = [set() for _ in drawn]
    best = min(
        told_one_by_one(order, chances, minutes, none, []) for order in permutations(range(len(drawn)))
    )
    order = order_of_repair(chances, work(minutes))
    assert told_one_by_one(order, chances, minutes, none, []) == pytest.approx(best)
    assert float(minutes_to_mend(chances, work(minutes))) == pytest.approx(best)


@given(
    st.lists(st.tuples(st.floats(0.01, 1), MINUTES, st.sets(st.integers(0, 2))), min_size=2, max_size=5),
    st.randoms(use_true_random=False),
)
def test_covers_cost_once_in_any_order(drawn, random):
    chances = np.array([one[0] for one in drawn])
    chances, minutes, covers = chances / chances.sum(), [one[1] for one in drawn], [one[2] for one in drawn]
    order = list(range(len(drawn)))
    random.shuffle(order)
    units = work(minutes, [[c in need for c in range(3)] for need in covers], [4, 3, 8])
    expected = told_one_by_one(order, chances, minutes, covers, [4, 3, 8])
    assert float(minutes_to_mend(chances, units, order)) == pytest.approx(expected)


def test_rows_side_by_side_and_covers_that_are_off():
    units = work([10, 4], [[True, False], [True, True]], [5, 2])
    rows = minutes_to_mend([[0.5, 0.5], [1.0, 0.0]], units)
    # the second has the better share a minute (0.5/11 to 0.5/15): 11, then 10 in half of the cases
    assert rows.tolist() == pytest.approx([11 + 0.5 * 10, 15])
    assert float(minutes_to_mend([1.0, 0.0], units.without(np.array([True, False])))) == pytest.approx(10)


def test_bits_by_hand():
    assert float(bits([1.0, 0.0])) == 0 and float(bits([0.25] * 4)) == pytest.approx(2)
    # a test that is wrong in a tenth of the cases tells 1 - H(0.1) of an even chance (Shannon 1948)
    noisy = np.array([[0.9, 0.1], [0.1, 0.9]])
    assert information_bits([0.5, 0.5], noisy, [0, 1], 2) == pytest.approx(1 - 0.4689955935892812)
    # two states that one repair mends aren't worth telling apart
    assert information_bits([0.5, 0.5], np.eye(2), [0, 0], 1) == 0


def drawn_problem(seed):
    """A small problem: states, units, checks as (table, minutes), all drawn."""
    draw = np.random.default_rng(seed)
    states, units = 4, 3
    probability = draw.dirichlet(np.ones(states))
    unit_of = np.array([0, 1, 2, draw.integers(0, 3)])
    checks = [(draw.dirichlet(np.full(2, 0.3), states).T, float(draw.uniform(0.5, 3))) for _ in range(3)]
    return probability, unit_of, work(draw.uniform(3, 20, units)), checks


def best_of_all(probability, unit_of, units, checks):
    """The least expected minutes over every policy: each check once, mending in any order at any time."""

    @cache
    def best(left: tuple, unused: tuple) -> float:
        joint = np.array(left)
        if joint.sum() < 1e-12:
            return 0.0
        found = []
        for unit in set(unit_of[joint > 0]):
            after = np.where(unit_of == unit, 0, joint)
            found.append(float(units.minutes[unit]) * joint.sum() + best(tuple(after), unused))
        for i in unused:
            table, takes = checks[i]
            rest = tuple(j for j in unused if j != i)
            found.append(takes * joint.sum() + sum(best(tuple(row * joint), rest) for row in table))
        return min(found)

    return best(tuple(probability), tuple(range(len(checks))))


def ours(probability, unit_of, units, checks):
    """What looking one check ahead takes on average, followed to the end."""
    unused = list(range(len(checks)))

    def follow(joint, unused) -> float:
        if joint.sum() < 1e-12:
            return 0.0
        now = joint / joint.sum()
        by_unit = gathered(now, unit_of, len(units.minutes))
        least, chosen = float(minutes_to_mend(by_unit, units)), None
        for i in unused:
            expected = checks[i][1] + minutes_after_check(now, checks[i][0], unit_of, units)
            if expected < least - 1e-9:
                least, chosen = expected, i
        if chosen is None:
            first = int(order_of_repair(by_unit, units)[0])
            return float(units.minutes[first]) * joint.sum() + follow(
                np.where(unit_of == first, 0, joint), unused
            )
        table, takes = checks[chosen]
        rest = [j for j in unused if j != chosen]
        return takes * joint.sum() + sum(follow(row * joint, rest) for row in table)

    return follow(probability, unused)


def test_looking_one_check_ahead_is_near_the_best_of_all_policies():
    pairs = [(ours(*problem), best_of_all(*problem)) for problem in map(drawn_problem, range(40))]
    assert all(mine >= best - 1e-9 for mine, best in pairs)
    assert sum(mine for mine, _ in pairs) < 1.05 * sum(best for _, best in pairs)
    assert sum(abs(mine - best) < 1e-9 for mine, best in pairs) > 20


def test_without_checks_it_is_the_best_of_all_policies():
    for seed in range(20):
        probability, unit_of, units, _ = drawn_problem(seed)
        by_unit = gathered(probability, unit_of, 3)
        expected = best_of_all(probability, unit_of, units, [])
        assert float(minutes_to_mend(by_unit, units)) == pytest.approx(expected)
