"""Birch, which a solenoid releases from rest to rest, against the second way: sound and with faults."""

from __future__ import annotations

import copy
import tomllib
from functools import cache
from importlib import resources

import pytest
from second_way_changes import change_table, legs_that_occur
from second_way_force import Forces
from second_way_released import ReleasedMachine
from test_transports_second_way import check_interlocks, near, ties_among

from mechlib import transports as tr
from mechlib.transports.files import transport_from
from mechlib.transports.timing import arrival, arriving_senses, mode_margin

pytestmark = pytest.mark.slow  # not run for each mutant

TEXT = (resources.files("mechlib.transports") / "data" / "birch.toml").read_text("utf-8")


@cache
def birch() -> tuple[ReleasedMachine, object]:
    return ReleasedMachine(tomllib.loads(TEXT)), tr.load("birch")


def check_rests_and_margins(machine, transport):
    """Every rest, and from it the distances to wrong of the code and of every follower."""
    assert legs_that_occur(machine) == {(1, mode) for mode in machine.modes}
    assert set(arriving_senses(transport).values()) == {("loading",)}
    for mode in transport.mode_names:
        stop, came = machine.stop_angle(mode, 1), arrival(transport, mode, "loading")
        assert (stop is None) == (came is None), mode
        assert came is None or near(came.stand_deg, stop)
        assert arrival(transport, mode, "unloading") is None
        wanted = {"code": machine.code_margin(mode)} | (machine.margins(mode, 1) if came else {})
        margin = mode_margin(transport, mode)
        assert [d.follower for d in margin.distances] == list(wanted)
        for found in margin.distances:
            pair = wanted[found.follower]
            assert found.sense == "loading" and found.never == (pair is None)
            if pair and min(pair) < 180:
                assert near(found.below_deg, pair[0]) and near(found.above_deg, pair[1]), (mode, found)
        assert margin.margin_deg == min(d.smaller[0] for d in margin.distances)


def test_the_rests_are_the_middles_of_the_gaps():
    machine, transport = birch()
    assert machine.rests == list(transport.release.rests_deg) == [0, 160, 240]
    stands = [arrival(transport, mode, "loading").stand_deg for mode in ("STOP", "PAUSE", "PLAY")]
    assert stands == [0, 160, 240]


def test_sound_birch():
    check_rests_and_margins(*birch())
    assert ties_among(*birch()) == 0
    assert {outcome for outcome, _ in change_table(birch()[0]).values()} == {"reached"}


def test_times_of_the_sound_changes():
    """Motor line, belt and springs integrated by an ODE solver, and a release for each step."""
    machine, transport = birch()
    tried = [("STOP", "PAUSE", 1), ("STOP", "PLAY", 2), ("PLAY", "STOP", 1), ("PLAY", "PAUSE", 2)]
    for start, target, releases in tried:
        found, theta = tr.change(transport, start, target), machine.stop_angle(start, 1)
        seconds = sum(machine.step_seconds(step, theta) for step in range(releases))
        assert found.releases == releases
        assert found.time_s == pytest.approx(seconds, rel=1e-4)
        assert 0.3 < found.time_s < 2


@pytest.mark.few(5)
@pytest.mark.parametrize("part", ["lever cam", "switch rotor"])
@pytest.mark.parametrize("teeth", [-3, -2, -1, 1, 2, 3])
def test_birch_with_a_slip(part, teeth):
    machine, transport = birch()
    machine, transport = machine.with_faults(slips={part: teeth}), transport.with_faults(tr.slip(part, teeth))
    check_rests_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0


FAULTS = {
    "no pull": ({"dead_solenoid": True}, tr.dead_solenoid()),
    "cut-off": ({"dead_solenoid": True}, tr.cut_off_open()),
    "latch at STOP": ({"worn": (0,)}, tr.latch_worn("STOP")),
    "latch at PAUSE": ({"worn": (1,)}, tr.latch_worn("PAUSE")),
    "latch at PLAY": ({"worn": (2,)}, tr.latch_worn("PLAY")),
    "A open": ({"open": ("A",)}, tr.open_contact("A")),
    "B open": ({"open": ("B",)}, tr.open_contact("B")),
    "A dirty": ({"dirty_deg": {"A": 5.5}}, tr.dirty_contact("A", 5.5)),
    "B dirty": ({"dirty_deg": {"B": 8.5}}, tr.dirty_contact("B", 8.5)),
    "idler bent": ({"bends_mm": {"reel idler": -0.4}}, tr.bent_lever("reel idler", -0.4)),
    "brakes bent": ({"bends_mm": {"main brakes": 0.3}}, tr.bent_lever("main brakes", 0.3)),
    "cam split": ({"splits": {"lever cam": 9.5}}, tr.split_gear("lever cam", 9.5)),
    "rotor split": ({"splits": {"switch rotor": -81.0}}, tr.split_gear("switch rotor", -81.0)),
}


@pytest.mark.few(5)
@pytest.mark.parametrize("name", FAULTS)
def test_birch_with_another_fault(name):
    (second, fault), (machine, transport) = FAULTS[name], birch()
    machine, transport = machine.with_faults(**second), transport.with_faults(fault)
    check_rests_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0


def test_a_worn_latch_in_a_hurry():
    """Two faults and a time-out that one turn does not fit into: too slow is told from never seen."""
    values = copy.deepcopy(birch()[0].data)
    values["controller"]["time_out_s"] = 0.7
    del values["controller"]["retry"]
    machine, transport = ReleasedMachine(values), transport_from(values, "birch.toml")
    assert ties_among(machine, transport) == 0
    assert tr.change(transport, "STOP", "PAUSE").outcome == "reached"
    assert tr.change(transport, "STOP", "PLAY").outcome == "reached"  # released in time, at 0.65 s
    assert tr.change(transport, "PLAY", "PAUSE").outcome == "reached"
    values["controller"]["time_out_s"] = 0.5
    machine, transport = ReleasedMachine(values), transport_from(values, "birch.toml")
    assert ties_among(machine, transport) == 0
    assert tr.change(transport, "STOP", "PLAY").outcome == "too slow"
    worn = machine.with_faults(worn=(1,)), transport.with_faults(tr.latch_worn("PAUSE"))
    assert ties_among(*worn) == 0


@pytest.mark.parametrize("teeth", [0, -1, 1])
def test_interlocks_of_birch(teeth):
    machine, transport = birch()
    if teeth:
        machine = machine.with_faults(slips={"lever cam": teeth})
        transport = transport.with_faults(tr.slip("lever cam", teeth))
    check_interlocks(machine, transport)


def test_where_a_weak_motor_stalls():
    data = copy.deepcopy(birch()[0].data)
    data["motor"]["stall_torque_Nmm"] *= 0.2
    seconds, stalled = Forces(ReleasedMachine(data), 1).travel(0.0, 160.0)
    found = tr.change(birch()[1].with_faults(tr.weak_motor(20)), "STOP", "PAUSE")
    assert found.outcome == "jammed" and found.stand.theta == pytest.approx(stalled, abs=0.01)
    assert found.legs[0].releases == 1 and seconds > 0


@pytest.mark.parametrize("part", ["lever cam", "switch rotor"])
def test_slips_survived_by_birch(part):
    machine, transport = birch()
    for mode in transport.mode_names:
        survival = tr.slips_survived(transport, mode, part)
        for way, claimed in ((-1, survival.behind), (1, survival.ahead)):
            last = 4 if claimed is None else min(claimed, 4)
            stands = [_stands_right(machine, mode, part, way * n) for n in range(1, last + 2)]
            rest = [False] if claimed is not None and claimed <= 4 else stands[last:]
            assert stands == [True] * last + rest, (mode, part, way, claimed)


def _stands_right(machine, mode: str, part: str, teeth: int) -> bool:
    slipped = machine.with_faults(slips={part: teeth})
    pairs = [slipped.code_margin(mode)]
    if slipped.stop_angle(mode, 1) is not None:
        pairs += slipped.margins(mode, 1).values()
    return all(pair is not None and min(pair) >= 0 for pair in pairs)
