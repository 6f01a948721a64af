"""Many faulty states together, against each of them alone with nothing kept."""

from __future__ import annotations

import random

import pytest
from fault_states import graded, states
from plain_changes import plain_changes, same, same_changes
from small_machine import driven, going_round_driven, small
from transport_makers import make, make_driven

from mechlib import transports as tr
from mechlib.errors import MechError
from mechlib.transports.change_table import change_table, pairs
from mechlib.transports.files import transport_from
from mechlib.transports.many_tables import tables_of

SHIPPED = {"alder": (10, 14), "birch": (6, 6)}  # single faults and pairs that are compared


def check(transport, chosen):
    """Together, in one go, as each alone; the sample is mixed, so that much is shared and kept."""
    together = tables_of(transport, chosen)
    assert list(together) == list(dict.fromkeys(chosen))
    for state in random.Random(2).sample(chosen, len(chosen)):
        alone = plain_changes(transport, state)
        assert same_changes(alone, together[state]), state
        assert list(alone) == list(pairs(transport))


@pytest.mark.slow
@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_transports(name):
    transport, (singles, both) = tr.load(name), SHIPPED[name]
    every, draw = states(transport, 200), random.Random(3)
    one, two = ([state for state in every if len(state) == n] for n in (1, 2))
    check(transport, [(), *draw.sample(one, singles), *draw.sample(two, both)])


@pytest.mark.few(5)
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("cyclic", [False, True])
@pytest.mark.parametrize("maker", [make, make_driven])
def test_drawn_transports(maker, cyclic, seed):
    transport = transport_from(maker(seed, cyclic), "drawn.toml")
    every = states(transport, 40, seed)
    check(transport, [(), *random.Random(seed).sample(every[1:], 6)])


@pytest.mark.parametrize("maker", [small, driven, going_round_driven])
def test_every_grade_of_every_fault_of_a_small_machine(maker):
    """States that differ in one thing only: whatever is kept must know it."""
    transport = maker()
    check(transport, [(fault,) for grades in graded(transport) for fault in grades])


def test_it_is_the_table_of_changes():
    state = (tr.slip("lever gear", 1), tr.dirty_contact("A", 2))
    table = change_table(small().with_faults(*state))
    found = tables_of(small(), [state])[state]
    assert {pair: cell.change for pair, cell in table.items()} == found


def test_progress_and_what_was_asked_before(monkeypatch):
    told, chosen = [], [(tr.slip("switch", n),) for n in (1, 2, 3)]
    machine = small()
    first = tables_of(machine, iter([*chosen, chosen[0]]), lambda done, number: told.append((done, number)))
    assert told == [(1, 3), (2, 3), (3, 3)] and list(first) == chosen
    monkeypatch.setattr("mechlib.transports.many_tables.change", None)  # not asked again
    again = tables_of(small(), reversed(chosen))
    assert list(again) == chosen[::-1] and all(again[state] is first[state] for state in chosen)
    assert tables_of(machine, []) == {}


def test_order_of_states_and_faults_doesnt_matter():
    machine, one, other = driven(), tr.slip("lever gear", 1), tr.weak_motor(40)
    both = tables_of(machine, [(one, other), (other, one)])
    assert same_changes(both[one, other], both[other, one])


def test_faults_that_cant_be_put_in():
    with pytest.raises(MechError, match="no mesh is called 'nothing'"):
        tables_of(small(), [(tr.slip("nothing", 1),)])


def test_same_tells_apart():
    sound = tables_of(small(), [()])[()]["IN", "OUT"]
    assert same(sound, sound) and not same(sound, tables_of(small(), [()])[()]["IN", "HALF"])
    assert same(1.0, 1.0 + 1e-12) and not same(1.0, 1.0 + 1e-6) and not same((1.0,), (1.0, 2.0))
