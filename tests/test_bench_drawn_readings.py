"""What an intermittent contact lets a check read: by counting subsets, and as often as it comes."""

from __future__ import annotations

from math import sqrt
from random import Random

import pytest
from second_way_moments import label_chances
from small_machine import driven, small

from mechlib.bench.checks import CONTACT, MARK, TRY, Check, checks_of
from mechlib.bench.drawn_readings import drawn_reading, reading_chances
from mechlib.bench.readings import reading
from mechlib.bench.suspects import suspects
from mechlib.errors import MechError
from mechlib.transports import intermittent_contact, load, slip

P = 0.7
DRAWS = 1500


def by_label(found):
    labels = {}
    for read, chance in found:
        labels[read.label] = labels.get(read.label, 0.0) + chance
    return labels


@pytest.mark.parametrize(
    "sound", [small(), driven(), load("dogwood"), load("birch")], ids=lambda one: one.name
)
def test_every_check_as_subsets_make_it(sound):
    for contact in sound.contacts:
        machine = sound.with_faults(intermittent_contact(contact.name, P))
        for check in checks_of(sound):
            found = by_label(reading_chances(machine, sound, check))
            assert found == pytest.approx(label_chances(machine, sound, check)), check.words


def test_a_contact_with_a_meter():
    """A closes over 10 degrees at IN and at OUT: both, one or none of them over the travel."""
    sound = small()
    machine = sound.with_faults(intermittent_contact("A", P))
    at_in = dict(reading_chances(machine, sound, Check(CONTACT, "A", mode="IN")))
    assert {read.label: chance for read, chance in at_in.items()} == pytest.approx(
        {"closed": P, "open": 1 - P}
    )
    swept = {}
    for read, chance in reading_chances(machine, sound, Check(CONTACT, "A")):
        swept[read.number and round(read.number, 6)] = chance
    assert swept == pytest.approx({20: P * P, 10: 2 * P * (1 - P), None: (1 - P) ** 2})
    other = reading_chances(machine, sound, Check(CONTACT, "B"))
    assert [chance for _, chance in other] == pytest.approx([1])


def test_other_machines_and_checks_read_the_same_each_time():
    sound = small()
    for state in [one for one in suspects(sound, 5) if not one.drawn_anew][::9]:
        machine = sound.with_faults(*state.faults)
        for check in checks_of(sound)[::4]:
            assert reading_chances(machine, sound, check) == ((reading(machine, sound, check), 1.0),)
    both = sound.with_faults(intermittent_contact("A", P), slip("lever gear", 1))
    mark = Check(MARK, "lever gear", mode="IN")
    assert reading_chances(both, sound, mark) == ((reading(both, sound, mark), 1.0),)


def test_drawn_as_often_as_it_comes():
    sound, draw = load("dogwood"), Random(4)
    machine = sound.with_faults(intermittent_contact("B", P))
    check = Check(TRY, start="PLAY", target="STOP")
    found = dict(reading_chances(machine, sound, check))
    seen = [drawn_reading(machine, sound, check, draw) for _ in range(DRAWS)]
    assert len(found) > 2 and set(seen) <= set(found)
    for read, chance in found.items():
        bound = 4.5 * sqrt(chance * (1 - chance) / DRAWS)
        assert abs(seen.count(read) / DRAWS - chance) <= bound, read


def test_a_check_that_cant_be_is_refused():
    sound = small()
    machine = sound.with_faults(intermittent_contact("A", P))
    with pytest.raises(MechError, match="no mode"):
        reading_chances(machine, sound, Check(TRY, start="IN", target="NOWHERE"))
