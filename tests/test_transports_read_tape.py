"""The [tape] table of a transport file: what it gives, and each mistake by its key."""

from __future__ import annotations

import pytest
from small_machine import small

from mechlib.errors import MechError
from mechlib.transports import load

TAPE = {
    "mm_per_mm": {"lever": 2.5, "hook": 0},
    "wind_in": "left reel",
    "sense": "clockwise, seen from above",
    "free": {"latch": "open"},
}


def test_all_of_it():
    tape = small(tape=TAPE).tape
    assert tape.mm_per_mm == (("lever", 2.5), ("hook", 0.0))
    assert (tape.wind_in, tape.sense) == ("left reel", "clockwise, seen from above")
    assert [(need.follower, need.words) for need in tape.free] == [("latch", "open")]


def test_what_may_be_left_out():
    assert small().tape is None and load("birch").tape is None
    few = small(tape={"mm_per_mm": {"lever": 20}, "wind_in": "reel", "sense": "to the left"}).tape
    assert few.free == () and few.mm_per_mm == (("lever", 20.0),)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"mm_per_mm": {"laver": 1}}, "there is no follower 'laver'"),
        ({"mm_per_mm": {"lever": -0.1}}, "key lever"),
        ({"mm_per_mm": {"lever": 20.1}}, "key lever"),
        ({"mm_per_mm": {"lever": "two"}}, "key lever"),
        ({"mm_per_mm": 2}, "key mm_per_mm"),
        ({"wind_in": 3}, "key wind_in"),
        ({"sense": ""}, "key sense"),
        ({"free": {"latch": "ajar"}}, "it has no state 'ajar'"),
        ({"colour": "brown"}, "colour"),
    ],
)
def test_mistakes_are_told(changes, told):
    with pytest.raises(MechError) as refused:
        small(tape=TAPE | changes)
    assert told in str(refused.value) and len(refused.value.problems) == 1


@pytest.mark.parametrize("missing", ["mm_per_mm", "wind_in", "sense"])
def test_what_must_be_there(missing):
    with pytest.raises(MechError, match=missing):
        small(tape={key: value for key, value in TAPE.items() if key != missing})
