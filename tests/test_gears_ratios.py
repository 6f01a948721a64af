"""Trains for a ratio: against plain loops in exact fractions, continued fractions, and printed sequences."""

import itertools
from fractions import Fraction
from math import gcd, prod

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.errors import MechError
from mechlib.gears.ratios import RatioTrain, best_pair, brocot, trains_for

FRACTIONS = st.builds(Fraction, st.integers(1, 400), st.integers(1, 400))
FEW_COUNTS = st.sets(st.integers(4, 40), min_size=1, max_size=6)


def by_loops(wanted, stages, teeth, tolerance, reverted=False, hunting=False) -> set:
    """Every train as a sorted tuple of stages, found by trying all of them."""
    found = set()
    for rows in itertools.product(itertools.product(teeth, repeat=2), repeat=stages):
        ratio = Fraction(prod(a for a, _ in rows), prod(b for _, b in rows))
        if abs(ratio - wanted) > Fraction(tolerance) * wanted:
            continue
        if (hunting and any(gcd(a, b) > 1 for a, b in rows)) or (
            reverted and len({a + b for a, b in rows}) > 1
        ):
            continue
        found.add(tuple(sorted(rows)))
    return found


def as_set(found) -> set:
    return {tuple(sorted(train.stages)) for train in found.best}


@settings(max_examples=times(8, 60), deadline=None)
@given(
    FRACTIONS,
    st.integers(1, 3),
    FEW_COUNTS,
    st.sampled_from([0, 1e-4, 0.01, 0.1]),
    st.booleans(),
    st.booleans(),
)
def test_every_train_is_found_once(wanted, stages, teeth, tolerance, reverted, hunting):
    teeth = sorted(teeth)[: 6 if stages < 3 else 3]
    found = trains_for(wanted, stages, teeth, tolerance, reverted, hunting, most=10_000)
    assert as_set(found) == by_loops(wanted, stages, teeth, tolerance, reverted, hunting)
    assert found.total == len(found.best) == len(as_set(found))


@settings(max_examples=times(5, 30), deadline=None)
@given(FEW_COUNTS, st.integers(1, 3), st.data())
def test_a_train_that_exists_is_found_exactly(teeth, stages, data):
    rows = [
        (data.draw(st.sampled_from(sorted(teeth))), data.draw(st.sampled_from(sorted(teeth))))
        for _ in range(stages)
    ]
    wanted = Fraction(prod(a for a, _ in rows), prod(b for _, b in rows))
    assert tuple(sorted(rows)) in as_set(trains_for(wanted, stages, teeth, 0, most=10_000))


def test_the_best_come_first_and_the_rest_are_counted():
    everything = trains_for("0.31415", 2, range(12, 40), 1e-3, most=10_000)
    few = trains_for("0.31415", 2, range(12, 40), 1e-3, most=7)
    assert few.total == everything.total > 50
    assert few.best == everything.best[:7] == tuple(sorted(everything.best, key=RatioTrain.rank))[:7]
    assert list(everything.best) == sorted(everything.best, key=RatioTrain.rank)
    off = [abs(train.ratio - Fraction("0.31415")) for train in everything.best]
    assert off == sorted(off)
    assert trains_for(2, 1, (12, 13), 0.05).sentence() == "No train is within 5.0000% of 2.000000."


def test_two_stages_of_12_to_120_teeth_are_all_tried():
    wanted = Fraction(71, 678)
    found = trains_for(wanted, tolerance=1e-4)
    # A count of its own: for each first pair the second drivers that fit each second driven gear.
    teeth, seen = np.arange(12, 121), set()
    c, d = teeth[:, None], teeth[None, :]
    for a, b in itertools.product(range(12, 121), repeat=2):
        off = abs(a * c * wanted.denominator - b * d * wanted.numerator)
        near = 10_000 * off <= b * d * wanted.numerator
        seen |= {
            tuple(sorted([(a, b), (row + 12, column + 12)])) for row, column in np.argwhere(near).tolist()
        }
    assert found.total == len(seen) and as_set(found) <= seen
    assert found.best[0].ratio == wanted


def test_brocots_way_is_that_in_print():
    """Hayes, American Scientist, July-August 2000: first rows read there, the rest recomputed."""
    way = brocot(Fraction(191, 23))
    assert [f.numerator for f in way] == [8, 9, 17, 25, 33, 58, 83, 108, 191]
    assert [f.denominator for f in way] == [1, 1, 2, 3, 4, 7, 10, 13, 23]


@given(FRACTIONS)
def test_no_simpler_fraction_is_nearer_than_the_best_on_the_way(target):
    way = brocot(target, 10_000)
    assert way[-1] == target
    for limit in {f.denominator for f in way}:
        nearest = min(abs(Fraction(max(round(target * d), 1), d) - target) for d in range(1, limit + 1))
        assert min(abs(f - target) for f in way if f.denominator <= limit) == nearest


@given(FRACTIONS)
def test_the_convergents_of_the_continued_fraction_lie_on_the_way(target):
    way, (a, b), (h, k) = (
        set(brocot(target, 10_000)),
        (target.numerator, target.denominator),
        ((1, 0), (0, 1)),
    )
    while b:
        digit = a // b
        h, k = (digit * h[0] + h[1], h[0]), (digit * k[0] + k[1], k[0])
        assert Fraction(h[0], k[0]) in way or h[0] == 0
        a, b = b, a % b


@settings(max_examples=times(8, 60), deadline=None)
@given(FRACTIONS, st.integers(4, 30), st.integers(0, 30))
def test_the_best_pair_is_the_best_of_all(wanted, least, more):
    teeth = range(least, least + more + 1)
    nearest = min(abs(Fraction(a, b) - wanted) for a in teeth for b in teeth)
    found = best_pair(wanted, least, least + more)
    assert abs(found.ratio - wanted) == nearest and set(found.stages[0]) <= set(teeth)


def test_words():
    train = RatioTrain(Fraction(1, 6), ((12, 36), (11, 20)))
    assert train.sentence() == "12 : 36 + 11 : 20 turns 11/60 = 0.183333 for one, +10.0000% off."
    assert (train.teeth, train.hunts, RatioTrain(Fraction(1), ((11, 20),)).hunts) == (79, False, True)
    table = trains_for("1/6", 2, (10, 12, 20, 36), 0).table(1).splitlines()
    assert table[0].split() == ["driver", ":", "driven", "ratio", "off", "teeth", "hunts"] and len(table) == 2


@pytest.mark.parametrize(
    "call, said",
    [
        (lambda: trains_for(0), "ratio is 0"),
        (lambda: trains_for(2e6), "ratio is 2e+06"),
        (lambda: trains_for("three"), "ratio is 'three'"),
        (lambda: trains_for("1/0"), "ratio is '1/0'"),
        (lambda: trains_for(True), "ratio is True"),
        (lambda: trains_for(float("nan")), "ratio is nan"),
        (lambda: trains_for("1e30000000"), "ratio is 1e30000000: it must be from 1e-06 to 1e+06"),
        (lambda: best_pair("1E+100_000_000"), "ratio is 1E+100_000_000: it must be from 1e-06"),
        (lambda: brocot("1e-400000000"), "ratio is 1e-400000000: it must be from 1e-06"),
        (lambda: trains_for("1e30"), "ratio is 1e+30: it must be from 1e-06 to 1e+06"),
        (lambda: trains_for("1e-101"), "ratio is 1e-101: it must be from 1e-06 to 1e+06"),
        (lambda: trains_for(Fraction(10**400, 3)), "ratio is far too large: it must be at most 1e+06"),
        (lambda: trains_for("9" * 5000), "ratio has 5000 signs: write at most 60"),
        (lambda: trains_for("1e_5"), "ratio is '1e_5'"),
        (lambda: trains_for("  "), "ratio is '  '"),
        (lambda: trains_for(2, 4), "stages is 4"),
        (lambda: trains_for(2, teeth=(3, 12)), "teeth is 3"),
        (lambda: trains_for(2, teeth=()), "there are 0 tooth counts"),
        (lambda: trains_for(2, 1, teeth=range(4, 405)), "there are 401 tooth counts"),
        (lambda: trains_for(2, 3), "109 tooth counts make 11881 pairs"),
        (lambda: trains_for(2, tolerance=0.2), "tolerance is 0.2"),
        (lambda: trains_for(2, tolerance=-1e-9), "tolerance is -1e-09"),
        (lambda: trains_for(2, most=0), "most is 0"),
        (lambda: best_pair(2, 20, 10), "there are 0 tooth counts"),
        (lambda: brocot(2, 0), "most_terms is 0"),
    ],
)
def test_what_is_refused(call, said):
    with pytest.raises(MechError) as refused:
        call()
    assert str(refused.value).startswith(said)


def test_a_ratio_may_be_written_with_a_power_of_ten():
    assert best_pair("5e-1", 10, 20).stages == best_pair("1/2", 10, 20).stages == ((10, 20),)
    assert brocot("0." + "0" * 50 + "3e51")[-1] == 3


def test_the_way_can_be_cut_and_decimals_are_exact():
    assert [str(f) for f in brocot("0.1", 4)] == ["1", "1/2", "1/3", "1/4"]
    assert brocot(3) == (Fraction(3),)
    assert trains_for("0.1", 1, (12, 120), 0).total == 1
    assert trains_for("0.1", 1, range(4, 404), 0).total == 37  # 4 : 40 to 40 : 400


def test_brocots_way_within_a_tooth_limit_has_the_best_pair():
    """Every pair within the limit is tried: none is nearer than the nearest fraction of the way."""
    for wanted in (Fraction(191, 23), Fraction(1000, 739), Fraction(355, 113)):
        way = brocot(wanted, most_teeth=60)
        pairs = (Fraction(a, b) for a in range(1, 61) for b in range(1, 61))
        assert min(abs(one - wanted) for one in way) == min(abs(pair - wanted) for pair in pairs)
    assert brocot(7, most_teeth=6) == ()
