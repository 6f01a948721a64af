"""What comes off before a gear can be reached: against orders worked out by hand and by trying all."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times
from small_machine import small

from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.covers import access_of, covers_over, removal_order
from mechlib.transports.hardware import Cover


def names(covers) -> list[str]:
    return [cover.name for cover in covers]


@given(st.integers(0, 2**15 - 1), st.sets(st.integers(0, 5)), st.permutations(range(6)))
@settings(max_examples=times(8, 60))
def test_order_by_trying_every_order(edges, wanted, filed):
    # cover i may wait for any cover j < i; the file lists them in any order
    pairs = [(i, j) for i in range(6) for j in range(i)]
    first = {i: [j for n, (a, j) in enumerate(pairs) if a == i and edges >> n & 1] for i in range(6)}
    covers = tuple(Cover(f"c{i}", 1.0, tuple(f"c{j}" for j in first[i])) for i in filed)
    closure = set(wanted)
    for i in range(5, -1, -1):
        closure |= set(first[i]) if i in closure else set()
    found = [
        int(c.name[1:]) for c in removal_order(replace(small(), covers=covers), [f"c{i}" for i in wanted])
    ]
    right = [o for o in permutations(closure) if all(o.index(j) < o.index(i) for i in o for j in first[i])]
    assert tuple(found) in right


def test_alders_covers_by_hand():
    alder = load("alder")
    assert names(covers_over(alder, "carriage gear")) == ["top cover", "cassette carriage"]
    assert names(covers_over(alder, "mode switch")) == ["bottom plate"]
    assert names(covers_over(alder, "main gear")) == ["bottom plate", "gear bridge"]
    assert covers_over(alder, "main cam") == covers_over(alder, "main gear", "transfer ring", "mode switch")
    both = covers_over(alder, "pinch cam", "carriage gear")
    assert sorted(names(both)) == ["bottom plate", "cassette carriage", "gear bridge", "top cover"]
    assert sum(cover.minutes for cover in both) == 3 + 8 + 4 + 3
    assert covers_over(alder) == () == removal_order(alder, [])


def test_a_file_that_says_nothing():
    assert covers_over(small(), "switch", "main gear") == ()
    access = access_of(small(), "switch")
    assert (access.under, access.lift_minutes, access.secured_by, access.caution) == ((), None, None, None)


def test_how_a_gear_is_reached():
    alder = load("alder")
    assert access_of(alder, "main gear") == access_of(alder, "main cam")
    assert (access_of(alder, "brake cam").secured_by, access_of(alder, "brake cam").lift_minutes) == (
        "screw",
        3,
    )
    assert access_of(alder, "transfer ring").lift_minutes == 12


@pytest.mark.parametrize("gear", ["worm wheel", "carriage", "", None, 3, ["pinch cam"]])
def test_gears_that_are_not_there(gear):
    with pytest.raises(MechError, match="main gear"):
        covers_over(load("alder"), gear)


def test_covers_that_are_not_there():
    with pytest.raises(MechError, match="bottom plate"):
        removal_order(load("alder"), ["lid"])
    with pytest.raises(MechError, match="none"):
        removal_order(small(), ["lid"])
