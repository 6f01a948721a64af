"""Interval arithmetic against plain counting on a fine grid."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mechlib.transports.arcs import complement, holding, intersect, merge, nearest, repeated

ends = st.integers(-60, 60)
arc_sets = st.lists(st.tuples(ends, ends).filter(lambda e: e[0] < e[1]), max_size=6).map(merge)
GRID = [n + 0.5 for n in range(-70, 70)]  # never on an edge


def on(arcs):
    return {x for x in GRID if any(start < x < end for start, end in arcs)}


@given(st.lists(st.tuples(ends, ends).filter(lambda e: e[0] < e[1]), max_size=6))
def test_merge(arcs):
    merged = merge(arcs)
    assert on(merged) == on(arcs)
    assert all(a[1] < b[0] for a, b in zip(merged, merged[1:], strict=False))


@given(arc_sets, arc_sets)
def test_intersect_and_complement(first, second):
    assert on(intersect(first, second)) == on(first) & on(second)
    assert on(complement(first, -70, 70)) == set(GRID) - on(first)
    assert complement(complement(first)) == first


@given(arc_sets, st.sampled_from(GRID))
def test_holding_and_nearest(arcs, x):
    assert (holding(arcs, x) is not None) == (x in on(arcs))
    if arcs:
        distance = min(max(start - x, x - end, 0) for start, end in arcs)
        start, end = nearest(arcs, x)
        assert max(start - x, x - end, 0) == distance
    else:
        assert nearest(arcs, x) is None


@given(st.integers(0, 359), st.integers(1, 359), st.integers(-900, 900))
def test_repeated(start, width, x):
    arcs = repeated(((start, start + width),), 360, -1000, 1000)
    assert (holding(arcs, x + 0.5) is not None) == ((x + 0.5 - start) % 360 < width)


def test_touching_arcs_have_nothing_in_common():
    assert intersect(((0, 5),), ((5, 9),)) == ()
    assert merge([(0, 5), (5, 9)]) == ((0, 9),)
    assert complement((), -inf, inf) == ((-inf, inf),)
    assert holding(((0, 5),), 5) == (0, 5)
    assert merge([(3, 3)]) == ()
    assert complement(((0, 5),), 0, 5) == ()


@pytest.mark.parametrize("low, high, expected", [(-5, 3, ((-5, 0),)), (2, 3, ()), (4, 9, ((5, 9),))])
def test_complement_between(low, high, expected):
    assert complement(((0, 5),), low, high) == expected
