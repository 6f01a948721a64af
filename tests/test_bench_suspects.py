"""Suspects: every fault that fits a transport and no other, weighed as the file says."""

from __future__ import annotations

import pytest
from small_machine import driven, going_round, small
from small_released import stepping

from mechlib.bench.suspects import Cause, Repair, causes_of, repair_of, repair_time, suspects
from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.bench_entries import FAULTS
from mechlib.transports.bench_practice import fault_places, how_often

MACHINES = [small(), driven(), going_round(), stepping(), load("alder"), load("birch")]
NEEDS_MOTOR = {"hard grease", "stiff lever"}


@pytest.mark.parametrize("sound", MACHINES, ids=lambda one: one.name)
def test_every_fault_that_fits_and_no_other(sound):
    expected = {
        (kind, of)
        for kind in FAULTS
        for of in fault_places(sound, kind)
        if sound.drive or kind not in NEEDS_MOTOR
    }
    assert {(cause.kind, cause.of) for cause in causes_of(sound)} == expected


@pytest.mark.parametrize("sound", MACHINES, ids=lambda one: one.name)
def test_weights_add_up_and_are_those_of_the_file(sound):
    found = suspects(sound, 0)
    assert sum(one.weight for one in found) == pytest.approx(1)
    total = {}
    for one in found:
        key = one.causes[0].kind, one.causes[0].of
        total[key] = total.get(key, 0) + one.weight
    scale = 1 / sum(how_often(sound, kind, of) for kind, of in total)
    for (kind, of), weight in total.items():
        assert weight == pytest.approx(scale * how_often(sound, kind, of))


@pytest.mark.parametrize("sound", MACHINES, ids=lambda one: one.name)
def test_each_makes_another_machine(sound):
    for one in suspects(sound, 10):
        machine = sound.with_faults(*one.faults)
        assert (machine == sound) == (not one.faults)
        assert one.sentence() and one.words


def test_pairs_are_of_two_repairs_the_likeliest_first():
    singles, found = suspects(load("birch"), 0), suspects(load("birch"), 30)
    pairs = [one for one in found if len(one.causes) == 2]
    assert len(pairs) == 30 and len(found) == len(singles) + 30
    birch = load("birch")
    assert all(repair_of(birch, a) != repair_of(birch, b) for a, b in (one.causes for one in pairs))
    assert [one.weight for one in pairs] == sorted((one.weight for one in pairs), reverse=True)
    weights = {}
    for one in singles:
        weights[one.causes[0]] = weights.get(one.causes[0], 0) + one.weight
    kept = sum(one.weight for one in found if len(one.causes) == 1)  # what pairs leave of the whole
    for one in pairs:
        a, b = one.causes
        assert one.weight == pytest.approx(0.1 * weights[a] * weights[b] * kept)


def test_repairs_and_their_minutes():
    alder = load("alder")
    ahead, behind = (repair_of(alder, Cause("slip", "pinch cam", way)) for way in ("ahead", "behind"))
    assert ahead == behind == Repair("slip", "pinch cam")
    cleaned = {name: repair_of(alder, Cause("dirty contact", name)) for name in "ABCDK"}
    assert cleaned["A"] == cleaned["D"] != cleaned["K"]  # K is on the carriage
    bare = repair_time(alder, Repair("slip", "pinch cam"), frozenset({"bottom plate", "gear bridge"}))
    assert repair_time(alder, Repair("slip", "pinch cam")) == bare + 4 + 3


def test_numbers_that_make_no_sense_are_refused():
    with pytest.raises(MechError, match="pairs"):
        suspects(small(), -1)


def test_contacts_cleaned_together_are_told_together():
    assert Repair("dirty contact", None, ("A", "B")).words == "contacts A and B dirty"
    assert Repair("dirty contact", "A", ("A",)).words == "contact A dirty"


def test_a_place_between_grades_is_near():
    from random import Random

    from mechlib.bench.severities import between_grades
    from mechlib.transports import clip_gone

    alder = load("alder")
    low, high = alder.ends
    places = [between_grades(alder, clip_gone("pinch cam", 100.0), Random(n)).deg for n in range(40)]
    assert max(abs(place - 100.0) for place in places) <= 0.08 * (high - low) + 1e-9
