"""The order of the proof sheet: every change once, and as many joined as can be."""

import pytest
from small_machine import small, values
from transport_makers import make

from mechlib.bench.proof import read_results
from mechlib.bench.proof_sheet import proof_csv, proof_steps
from mechlib.transports import change, load, shipped
from mechlib.transports.files import transport_from
from mechlib.transports.mode_change import change_from
from mechlib.transports.model import LOADING, UNLOADING


@pytest.mark.parametrize(
    "transport",
    [
        load("alder"),
        small(),
        *(transport_from(make(seed, cyclic), "hazel.toml") for seed in range(6) for cyclic in (False, True)),
    ],
    ids=lambda transport: transport.name,
)
def test_the_sheet_holds_every_change_once_and_joins_what_it_can(transport):
    steps, names = proof_steps(transport), transport.mode_names
    pairs = [(step.start, step.target) for step in steps]
    assert sorted(pairs) == sorted((a, b) for a in names for b in names if a != b)
    for before, step in zip([None, *steps], steps, strict=False):
        found = change(transport, step.start, step.target)
        follows = before is not None and before.target == step.start
        assert step.joins == (follows and step.expected_s is not None)
        assert (step.expected_s is None) == (not found.good)
    good = [step for step in steps if step.expected_s is not None]
    if len(good) == len(steps):  # as many leave each mode as arrive there: one round trip
        assert sum(not step.joins for step in steps) == 1 and steps[0].start == transport.reference_mode
        assert steps[-1].target == steps[0].start


@pytest.mark.parametrize("name", shipped())
def test_each_time_is_from_where_the_step_before_left_the_machine(name):
    """Walked stand by stand, without asking in which sense a mode was reached."""
    transport = load(name)
    first, *rest = proof_steps(transport)
    stands = [
        change(transport, mode, first.start).stand for mode in transport.mode_names if mode != first.start
    ]
    here = next(stand for stand in stands if stand)  # however the machine was brought to where it begins
    begun = {stand.sense: change_from(transport, stand, first.start, first.target).time_s for stand in stands}
    assert first.expected_s == pytest.approx(begun.get(LOADING, begun.get(UNLOADING)), abs=1e-6)
    for step in (first, *rest):
        found = change_from(transport, here, step.start, step.target)
        assert step.joins or step == first
        assert step == first or step.expected_s == pytest.approx(found.time_s, abs=1e-6)
        here = found.stand


def test_the_small_machine_by_hand():
    """Codes at 46 and 96 loading, 54 and 4 unloading, coast 2, 10°/s; IN is reached unloading only, at 2."""
    times = {(step.start, step.target): step.expected_s for step in proof_steps(small())}
    assert times["IN", "HALF"] == pytest.approx((46 - 2) / 10)
    assert times["IN", "OUT"] == pytest.approx((96 - 2) / 10)
    assert times["HALF", "OUT"] == pytest.approx((96 - 52) / 10)  # HALF was reached from OUT, at 54 − 2


def test_what_cannot_work_comes_last_and_says_why():
    file = values()
    file["controller"]["time_out_s"] = 4.6  # from IN to OUT the drive takes 9.8 s, from HALF to OUT 4.8 s
    steps = proof_steps(transport_from(file, "slow.toml"))
    assert steps[-1].expected_s is None and steps[-1].why and steps[0].expected_s is not None
    assert steps[-1].why in steps[-1].sentence()
    assert [s.expected_s is None for s in steps] == sorted(s.expected_s is None for s in steps)


def test_the_blank_sheet_as_csv_is_read_as_nothing_tried():
    text = proof_csv(load("alder"))
    assert len(text.splitlines()) == 57
    assert read_results(load("alder"), text) == ()
    filled_in = text.replace("DOWN,EJECT,,,", "DOWN,EJECT,yes,1.7,whirrs")
    (result,) = read_results(load("alder"), filled_in)
    assert (result.pair, result.worked) == (("DOWN", "EJECT"), True)
    assert (result.time_s, result.remark) == (1.7, "whirrs")
