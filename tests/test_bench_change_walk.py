"""The walk through changes: against every walk tried breadth first, and by what it must hold."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.bench.change_walk import change_walk
from mechlib.errors import MechError
from mechlib.transports import change_table, load, slip

MODES = "ABCDE"
PAIRS = st.sets(st.tuples(st.sampled_from(MODES), st.sampled_from(MODES)).filter(lambda p: p[0] != p[1]))


def least_changes(pairs: set, start: str) -> int:
    """The fewest changes of any walk that makes them all: every walk, breadth first."""
    bit = {pair: 1 << n for n, pair in enumerate(sorted(pairs))}
    everything, steps = (1 << len(bit)) - 1, 0
    reached = {(start, 0)}
    seen = set(reached)
    while not any(done == everything for _, done in reached):
        onward = {(to, done | bit.get((at, to), 0)) for at, done in reached for to in MODES if to != at}
        reached = onward - seen
        seen |= reached
        steps += 1
    return steps


@given(PAIRS.filter(lambda pairs: len(pairs) <= 9), st.sampled_from(MODES))
@settings(max_examples=times(19, 150))
def test_no_walk_is_shorter(pairs, start):
    walk = change_walk(sorted(pairs), start)
    assert walk[0] == start and pairs <= set(pairwise(walk))
    assert all(a != b for a, b in pairwise(walk))
    assert len(walk) - 1 == least_changes(pairs, start)


@pytest.mark.parametrize(
    ("pairs", "start", "walk"),
    [
        ([], "A", "A"),
        (["AB"], "A", "AB"),
        (["AB"], "C", "CAB"),
        (["AB"], "B", "BAB"),
        (["AB", "AB"], "A", "AB"),
        (["AB", "BA"], "B", "BAB"),
        (["AB", "BC", "CA"], "C", "CABC"),
        (["AB", "CD"], "C", "CDAB"),
        (["AB", "BA", "CD"], "C", "CDABA"),
    ],
)
def test_small_walks_by_hand(pairs, start, walk):
    assert "".join(change_walk([(p[0], p[1]) for p in pairs], start)) == walk


def test_all_changes_of_a_machine_are_one_round():
    names = load("alder").mode_names
    walk = change_walk([(a, b) for a in names for b in names if a != b], "DOWN")
    assert len(walk) == 57 and walk[0] == walk[-1] == "DOWN"  # a complete graph has a round through all


def test_what_fails_with_a_slip_is_all_tried():
    table = change_table(load("alder").with_faults(slip("brake cam", 2)))
    failing = {pair for pair, cell in table.items() if not cell.change.good}
    walk = change_walk(failing, "DOWN")
    assert failing <= set(pairwise(walk)) and len(walk) - 1 >= len(failing)


def test_a_change_to_itself():
    with pytest.raises(MechError, match="two different modes"):
        change_walk([("A", "A")], "A")
