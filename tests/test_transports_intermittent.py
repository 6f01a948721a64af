"""Contacts that pass only sometimes: probabilities on paper, and by drawing moment after moment."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan, sqrt
from random import Random

import pytest
from second_way_moments import subsets
from small_machine import going_round, small
from small_released import stepping

from mechlib.errors import MechError
from mechlib.transports import change, dirty_contact, intermittent_contact, load, open_contact
from mechlib.transports.change_table import pairs
from mechlib.transports.intermittent import (
    as_drawn,
    chances,
    change_at,
    moments,
    while_passing,
)
from mechlib.transports.mode_change import change_from, standing_start
from mechlib.transports.outcomes import END_STOP, FALSE_CODE, RIGHT

P, Q = 0.7, 0.9
DRAWS = 1500


def ends(start, target, *faults):
    """The probability of each outcome on the small machine, with where it stands then, to a degree."""
    found = {}
    for way, chance in chances(small().with_faults(*faults), start, target).ways:
        key = way.outcome, round(way.stand.theta)
        found[key] = found.get(key, 0.0) + chance
    return found


# A closes at IN and OUT, B at HALF and OUT; IN is A alone, HALF B alone, OUT both. Arrivals in the loading
# sense rest 2 degrees behind the reading, 1 behind the edge: IN at −2, HALF at 48, OUT at 98.
A, B = intermittent_contact("A", P), intermittent_contact("B", Q)


@pytest.mark.parametrize(
    ("start", "target", "faults", "expected"),
    [
        # two arcs on the way: without the first no code shows, and homing goes to the lower stop past IN;
        # without the second OUT never shows, and it goes to the upper stop, twice
        ("IN", "OUT", (A,), {(RIGHT, 98): P * P, (END_STOP, 120): P * (1 - P), (END_STOP, -20): 1 - P}),
        # the arc of HALF is passed on the way and doesn't matter; that of OUT does
        ("IN", "OUT", (B,), {(RIGHT, 98): Q, (END_STOP, 120): 1 - Q}),
        (
            "IN",
            "OUT",
            (A, B),
            {(RIGHT, 98): P * P * Q, (END_STOP, 120): P * (1 - P * Q), (END_STOP, -20): 1 - P},
        ),
        # without A the code of OUT looks like that of HALF: it stays where it is, the latch open
        ("OUT", "HALF", (A,), {(RIGHT, 52): P, (FALSE_CODE, 98): 1 - P}),
        # whether it believes OUT or HALF, IN lies the same way: only A at IN matters
        ("OUT", "IN", (A,), {(RIGHT, 2): P, (END_STOP, -20): 1 - P}),
        # without B at HALF it homes to IN first and comes from there
        ("HALF", "OUT", (B,), {(RIGHT, 98): Q, (END_STOP, 120): 1 - Q}),
        ("IN", "HALF", (), {(RIGHT, 48): 1.0}),
    ],
)
def test_on_paper(start, target, faults, expected):
    assert ends(start, target, *faults) == pytest.approx(expected)


def test_ways_that_end_alike_are_told_apart_by_their_legs():
    found = chances(small().with_faults(B), "HALF", "OUT")
    assert [chance for way, chance in found.ways if way.good] == pytest.approx([Q * Q, Q * (1 - Q)])
    assert found.good == pytest.approx(Q)
    assert found.sentence() == "HALF to OUT: reached (90.0%), or ran to the end stop (10.0%)."


@pytest.mark.parametrize("sound", [small(), going_round(), stepping(), load("dogwood"), load("cedar")],
                         ids=lambda one: one.name)  # fmt: skip
def test_probabilities_add_up_and_moments_are_every_subset(sound):
    draw = Random(sound.name)
    for contact in sound.contacts:
        machine = sound.with_faults(intermittent_contact(contact.name, P))
        found = moments(machine)
        assert sum(chance for _, chance in found) == pytest.approx(1)
        assert {(m.contacts, round(c, 9)) for m, c in found} == {
            (m.contacts, round(c, 9)) for m, c in subsets(machine)
        }
        assert all(not moment.intermittent and moment.sound == sound for moment, _ in found)
        for pair in draw.sample(list(pairs(sound)), 2):
            assert sum(chance for _, chance in chances(machine, *pair).ways) == pytest.approx(1)


@pytest.mark.parametrize(
    ("sound", "start", "target"),
    [(small(), "IN", "OUT"), (small(), "OUT", "HALF"), (load("dogwood"), "OUT", "PLAY"),
     (load("birch"), "STOP", "PLAY")],
)  # fmt: skip
def test_drawing_moment_after_moment_comes_to_the_same(sound, start, target):
    machine, draw = sound.with_faults(A, B, dirty_contact("A", 0.2)), Random(f"{sound.name} {target}")
    stand, seen = standing_start(while_passing(machine), start), {}
    for _ in range(DRAWS):
        way = change_from(as_drawn(machine, draw), stand, start, target, "loading")
        seen[way] = seen.get(way, 0) + 1
    found = dict(chances(machine, start, target).ways)
    assert set(seen) <= set(found)
    for way, chance in found.items():
        bound = 4.5 * sqrt(chance * (1 - chance) / DRAWS) + 1e-12
        assert abs(seen.get(way, 0) / DRAWS - chance) <= bound, (way.sentence(), chance)


def test_everything_else_takes_it_as_it_is_while_it_passes():
    sound = small()
    machine = sound.with_faults(A)
    assert machine != sound and while_passing(machine) == sound and moments(sound) == ((sound, 1),)
    assert all(change(machine, *pair) == change(sound, *pair) for pair in pairs(sound))
    assert chances(sound, "IN", "OUT").ways == ((change(sound, "IN", "OUT"), 1.0),)
    nowhere = sound.with_faults(open_contact("A"))
    assert change_at(nowhere, nowhere, "IN", "OUT") == change(nowhere, "IN", "OUT")


def test_faults_of_contacts_go_together():
    sound = small()
    both = sound.with_faults(A, intermittent_contact("A", 0.5))
    assert dict(both.intermittent) == pytest.approx({"A": 0.35})
    assert [len(one.contact("A").closed) for one, _ in moments(sound.with_faults(open_contact("A"), A))] == [
        0
    ]
    narrow = {
        c for one, _ in moments(sound.with_faults(A, dirty_contact("A", 1))) for c in one.contact("A").closed
    }
    assert narrow == {(-4, 4), (96, 104)}


@pytest.mark.parametrize("passes", [0, 1, -0.1, 1.1, nan, inf, "half", None, True])
def test_what_is_no_such_probability_is_refused(passes):
    with pytest.raises(MechError, match="passes is"):
        intermittent_contact("A", passes)


@pytest.mark.parametrize("name", ["Z", "", None, 3])
def test_unknown_contacts_and_modes_are_refused(name):
    with pytest.raises(MechError, match="no contact is called"):
        small().with_faults(intermittent_contact(name, P))
    with pytest.raises(MechError, match="no mode is called"):
        chances(small().with_faults(A), "IN", name)


def test_too_many_arcs_are_refused():
    sound = small()
    many = tuple((10.0 * n, 10.0 * n + 5) for n in range(9))
    wide = replace(sound, contacts=(replace(sound.contacts[0], closed=many), sound.contacts[1]))
    assert len(moments(wide.with_faults(A))) == 512
    with pytest.raises(MechError, match="have 11 arcs, more than 10"):
        wide.with_faults(A, B)
