"""Suspects: every fault that fits a transport and no other, weighed as the file says."""

from __future__ import annotations

from dataclasses import replace

import pytest
from small_machine import driven, going_round, small
from small_released import stepping

from mechlib.bench.severities import between_grades
from mechlib.bench.suspects import Cause, Repair, causes_of, repair_of, repair_time, suspects
from mechlib.errors import MechError
from mechlib.transports import intermittent_contact, load
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


def test_an_intermittent_contact_is_cleaned_as_a_dirty_one():
    alder = load("alder")
    dirty, sometimes = (
        repair_of(alder, Cause(kind, "C")) for kind in ("dirty contact", "intermittent contact")
    )
    assert dirty == sometimes and sometimes.together == ("A", "B", "C", "D")
    assert not any("dirty" in one.words and "intermittent" in one.words for one in suspects(alder)
                   if len({repair_of(alder, cause) for cause in one.causes}) == 1)  # fmt: skip


def test_contacts_with_too_many_arcs_are_no_suspects_together():
    """A has 6 arcs on the switch, B 6 on the hook cam: each may be intermittent, both together not."""
    arcs, first = tuple((10.0 * n, 10.0 * n + 5) for n in range(6)), small().contacts[0]
    contacts = replace(first, closed=arcs), replace(first, name="B", part="hook cam", closed=arcs)
    sound = replace(small(), contacts=contacts)
    found = [state for state in suspects(sound, 200) if state.drawn_anew]
    assert {state.causes[0].of for state in found} == {"A", "B"}
    assert not any({cause.kind for cause in state.causes} == {"intermittent contact"}
                   for state in found if len(state.causes) == 2)  # fmt: skip


def test_between_the_grades_a_contact_still_passes_only_sometimes():
    from random import Random

    for passes in (0.4, 0.7, 0.9):
        found = [
            between_grades(load("birch"), intermittent_contact("A", passes), Random(n)).passes
            for n in range(60)
        ]
        odds = [one / (1 - one) * (1 - passes) / passes for one in found]
        assert min(odds) < 0.8 and max(odds) > 1.25 and all(0.75 <= one <= 4 / 3 for one in odds)
        assert all(0 < one < 1 for one in found)


def test_numbers_that_make_no_sense_are_refused():
    with pytest.raises(MechError, match="pairs"):
        suspects(small(), -1)


def test_contacts_cleaned_together_are_told_together():
    assert Repair("dirty contact", None, ("A", "B")).words == "contacts A and B dirty"
    assert Repair("dirty contact", "A", ("A",)).words == "contact A dirty"


def test_a_place_between_grades_is_near():
    from random import Random

    from mechlib.transports import clip_gone

    alder = load("alder")
    low, high = alder.ends
    places = [between_grades(alder, clip_gone("pinch cam", 100.0), Random(n)).deg for n in range(40)]
    assert max(abs(place - 100.0) for place in places) <= 0.08 * (high - low) + 1e-9
