"""What Cedar's motions ask of its two motors, against the second way; faults of one motor or the other."""

from __future__ import annotations

import copy
import tomllib
from collections import Counter
from importlib import resources

import numpy as np
import pytest
from second_way import SENSES, Machine
from second_way_force import Forces
from test_transports_effort import check_legs, check_torques, with_row

from mechlib import transports as tr
from mechlib.errors import MechError
from mechlib.transports.effort import effort
from mechlib.transports.outcomes import JAMMED, NEVER_SEEN, RIGHT

CEDAR = tomllib.loads((resources.files("mechlib.transports") / "data" / "cedar.toml").read_text("utf-8"))
DRAWER, CAM = "drawer motor", "cam motor"


def with_motor(name: str, key: str, times: float):
    """A change of the file: one number of a motor, or of the belt of one, multiplied."""

    def put(values):
        rows = [row for row in values["motor"] + values["belt"] if name in (row.get("name"), row.get("of"))]
        row = next(row for row in rows if key in row)
        row[key] *= times

    return put


# A change of the file, the same as a fault in the library, and what ends some leg that works otherwise.
FAULTS = {
    "sound": ((), (), set()),
    "weak drawer motor": (
        (with_motor(DRAWER, "stall_torque_Nmm", 0.3),), (tr.weak_motor(30, DRAWER),), {"stalled", "too slow"},
    ),
    "weak cam motor": ((with_motor(CAM, "stall_torque_Nmm", 0.4),), (tr.weak_motor(40, CAM),), set()),
    "hopeless cam motor": (
        (with_motor(CAM, "stall_torque_Nmm", 0.3),), (tr.weak_motor(30, CAM),), {"stalled"},
    ),
    "low supply": (
        (with_motor(DRAWER, "stall_torque_Nmm", 0.5), with_motor(DRAWER, "no_load_rev_min", 0.5)),
        (tr.low_supply(3, DRAWER),), {"too slow"},
    ),
    "slack belt": ((with_motor(CAM, "inside_mm", 1.04),), (tr.slack_belt(4, CAM),), {"stalled"}),
    "glazed belt": ((with_motor(CAM, "friction", 0.2),), (tr.glazed_belt(0.088, CAM),), {"stalled"}),
    "hard grease": (
        (with_row("part", "lift sector", "drag_Nmm", 400.0),), (tr.hard_grease("lift sector", 400),),
        {"stalled"},
    ),
    "stiff lever": (
        (with_row("follower", "head plate", "friction_N", 3.0),), (tr.stiff_lever("head plate", 3),), set(),
    ),
}  # fmt: skip


def cedar(name: str) -> tuple[Machine, object]:
    changes, faults, _ = FAULTS[name]
    values = copy.deepcopy(CEDAR)
    for change in changes:
        change(values)
    return Machine(values), tr.load("cedar").with_faults(*faults)


@pytest.mark.parametrize("name", FAULTS)
def test_torques_of_cedar(name):
    check_torques(*cedar(name))


@pytest.mark.few(1)
@pytest.mark.slow
@pytest.mark.parametrize("name", FAULTS)
def test_changes_of_cedar(name):
    seen = check_legs(*cedar(name))
    assert seen["timed"] > 4 and {"stalled", "too slow"} & set(seen) == FAULTS[name][2], seen


# ---- One motor or the other ----


def test_a_fault_of_one_motor_leaves_the_other_alone():
    """A weak motor makes the legs of its own stage slower by what the file says, the other's not at all."""
    sound = tr.load("cedar")
    for motor, slow, same in ((DRAWER, (-147, -20), (0, 200)), (CAM, (0, 200), (-147, -20))):
        for sense in SENSES:
            weak = effort(sound.with_faults(tr.weak_motor(60, motor)), sense)
            before = effort(sound, sense)
            assert weak.seconds(*slow) > 1.02 * before.seconds(*slow)
            assert weak.seconds(*same) == pytest.approx(before.seconds(*same), rel=1e-12)


def test_the_time_over_the_border_is_that_of_both_motors():
    second = Forces(Machine(CEDAR), 1)
    both = second.travel(-100.0, 100.0)[0]
    found = effort(tr.load("cedar"), "loading")
    assert found.seconds(-100, 100) == pytest.approx(both, rel=5e-5)
    assert found.seconds(-100, -12) + found.seconds(-12, 100) == pytest.approx(both, rel=5e-5)


def test_a_dead_driver_of_one_motor():
    """The drawer goes in and the cam doesn't turn; or the cam turns back and the drawer stays in."""
    sound = tr.load("cedar")
    dead = sound.with_faults(tr.dead_driver("loading", CAM))
    found = tr.change(dead, "OPEN", "SHUT")
    assert found.outcome == RIGHT
    found = tr.change(dead, "OPEN", "WIND")
    assert found.outcome == NEVER_SEEN and found.legs[0].end_deg == -12
    assert "the cam motor doesn't turn; the drive stands at −12.0°" in found.why
    dead = sound.with_faults(tr.dead_driver("unloading", DRAWER))
    found = tr.change(dead, "PLAY", "OPEN")
    assert found.outcome == NEVER_SEEN and found.legs[0].end_deg == -12
    assert found.legs[0].time_s == sound.controller.time_out_s
    both = dead.with_faults(tr.dead_driver("unloading", CAM))
    found = tr.change(both, "PLAY", "SHUT")
    assert found.outcome == NEVER_SEEN and found.legs[0].end_deg == found.legs[0].start_deg


def test_the_motor_that_stalls_is_the_stages():
    sound = tr.load("cedar")
    for motor, left, below in ((DRAWER, 12, True), (CAM, 20, False)):
        found = tr.change(sound.with_faults(tr.weak_motor(left, motor)), "OPEN", "REWIND")
        assert found.outcome == JAMMED and (found.legs[0].end_deg < -12) == below
        assert "the motor stalls" in found.legs[0].why


@pytest.mark.parametrize(
    "fault, message",
    [
        (tr.weak_motor(60), "2 motors: say which one"),
        (tr.low_supply(4), "2 motors"),
        (tr.dead_driver("loading"), "2 motors"),
        (tr.weak_motor(60, "reel motor"), "no motor is called 'reel motor'"),
        (tr.slack_belt(2, DRAWER), "gives no belt for the drawer motor"),
        (tr.low_supply(7, CAM), "voltage_V is 7 V"),
    ],
)
def test_a_fault_names_its_motor(fault, message):
    with pytest.raises(MechError, match=message):
        tr.load("cedar").with_faults(fault)


def test_sentences_name_the_motor():
    assert tr.weak_motor(60, CAM).sentence() == "The cam motor has 60% of its torque left."
    assert tr.slack_belt(2, CAM).sentence() == "The belt of the cam motor has grown 2.0% longer."
    assert "drawer motor's driver" in tr.dead_driver("loading", DRAWER).sentence()


def test_both_motors_stop_for_good():
    """A leg's outcomes are those of the right motor, counted: with no belt left nothing of the cam moves."""
    loose = tr.load("cedar").with_faults(tr.slack_belt(20, CAM))
    seen = Counter(cell.change.outcome for cell in tr.change_table(loose).values())
    assert seen[RIGHT] == 2 and set(seen) <= {RIGHT, JAMMED}


@pytest.mark.parametrize("name", ["alder", "cedar"])
@pytest.mark.parametrize("sense", SENSES)
def test_the_most_that_a_motor_is_asked_for_is_that_of_the_torque_over_theta(name, sense):
    """Looked at more closely; where a motor doesn't turn, nothing is asked of it."""
    transport, twin = tr.load(name), copy.deepcopy(tr.load(name))  # alike, so that they share one effort
    found, (low, high) = effort(twin, sense), transport.ends
    for start, end in [(low, high), (low + 0.3, (low + high) / 2), (high - 7.7, high - 0.01)]:
        theta = np.linspace(start, end, 30_000)
        at = np.array([transport.motor_at(angle).name for angle in theta])
        asked = found.motor_Nmm(theta)
        for drive in transport.motors:
            here = asked[at == drive.name]
            most = found.most_Nmm(drive, start, end)
            assert most == (pytest.approx(here.max(), rel=2e-3) if len(here) else None)
