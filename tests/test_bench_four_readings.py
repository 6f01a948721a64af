"""The four readings, worked out beside the module: the motor by its straight line, the belt by ``carry``."""

from __future__ import annotations

import re

import pytest

from mechlib.bench.effort_trial import effort_trial
from mechlib.bench.four_readings import four_readings, shaft_rev_min
from mechlib.transports import load

near = pytest.approx
ALDER, CEDAR = load("alder"), load("cedar")
FAULTS = {
    "in order": {},
    "low supply": {"voltage_V": 8},
    "hard grease": {"grease_Nmm": 60},
    "worn motor": {"motor_percent": 50},
    "slack belt": {"grown_percent": 2},
    "dead motor": {"motor_percent": 10},
}
TRIALS = {name: effort_trial(ALDER, "EJECT", "PLAY", **fault) for name, fault in FAULTS.items()}


@pytest.mark.parametrize("name", ["in order", "low supply", "hard grease", "worn motor"])
def test_the_worm_shaft_turns_as_the_belt_carries_it(name):
    """From the torque at the motor to that at the worm's pulley: by the pitch diameters, creep apart."""
    trial = TRIALS[name]
    volts, percent = FAULTS[name].get("voltage_V", 12), FAULTS[name].get("motor_percent", 100)
    idle, stall = 4100 * volts / 12, 10 * volts / 12 * percent / 100
    motor = idle * (1 - trial.worst.asked_Nmm / stall)
    belt = trial.drive.belt
    at_work = belt.carry(motor, trial.worst.asked_Nmm * belt.path.driven_mm / belt.path.driver_mm)
    assert shaft_rev_min(trial) == near(motor / 3 * (1 - at_work.creep_percent / 100), rel=1e-4)
    assert 0.89 < shaft_rev_min(trial) / (motor / 3) < 0.93  # a belt near its limit creeps by so much


def test_a_belt_that_slips_lets_the_shaft_stand_and_a_stalled_motor_stands_itself():
    assert shaft_rev_min(TRIALS["slack belt"]) == shaft_rev_min(TRIALS["dead motor"]) == 0
    lines = four_readings(TRIALS).splitlines()
    assert re.fullmatch(r"slack belt +12\.0 V +84 mA +3137 rev/min +stands", lines[5])
    assert re.fullmatch(r"dead motor +12\.0 V +36 mA +stands +stands", lines[6])


def test_the_rows():
    lines = four_readings(TRIALS).splitlines()
    assert lines[0].split() == ["volts", "at", "the", "motor", "current", "motor", "worm", "shaft"]
    assert [line.split("  ")[0] for line in lines[1:]] == list(FAULTS)
    assert re.fullmatch(r"low supply +8\.0 V +91 mA +1688 rev/min +\d+ rev/min", lines[2])
    # 358 mA at 10 N·mm, so 3.17 N·mm draw 113 mA.
    assert re.fullmatch(r"hard grease +12\.0 V +113 mA +2800 rev/min +\d+ rev/min", lines[3])


def test_where_a_machine_has_no_belt_or_two_motors():
    trial = effort_trial(CEDAR, "OPEN", "PLAY")
    drive, shaft = trial.drive, CEDAR.hand_shafts[0].name
    assert shaft in four_readings({"": trial}).splitlines()[0]
    turns = CEDAR.turns_of(360) / drive.turns_per_cam_turn
    motor = drive.motor.at(trial.worst.asked_Nmm).rev_min
    assert shaft_rev_min(trial) == near(abs(motor) * turns, rel=0.03)
