"""Faults of motor, supply, belt, grease and levers: what each does to the drive, and what it refuses."""

from __future__ import annotations

from dataclasses import replace
from math import log, pi

import pytest
from second_way_belt import BeltRound
from small_machine import EVEN_BELT, driven, small

from mechlib.drives.motor import motor_from_line
from mechlib.errors import MechError
from mechlib.transports import (
    dead_driver,
    glazed_belt,
    hard_grease,
    low_supply,
    slack_belt,
    slip,
    stiff_lever,
    weak_motor,
)

BELTED = driven(belt=EVEN_BELT)  # 10 V, 600 rev/min, 2 N·mm; the belt slips at 2.65 N·mm


def test_a_weak_motor_keeps_its_speed_and_loses_torque():
    motor = BELTED.with_faults(weak_motor(40)).drive.motor
    assert motor.no_load_rev_min == pytest.approx(600) and motor.stall_torque_Nmm == pytest.approx(0.8)
    twice = BELTED.with_faults(weak_motor(40), weak_motor(50)).drive.motor
    assert twice.stall_torque_Nmm == pytest.approx(0.4)
    assert BELTED.with_faults(weak_motor(100)).drive.motor.stall_torque_Nmm == pytest.approx(2)


def test_a_weak_motor_draws_the_usual_current_for_its_load():
    """From T = k·I and V = k·ω0: V·I = T·ω0, where the motor's own friction isn't known."""
    for percent in (100, 40):
        at = BELTED.with_faults(weak_motor(percent)).drive.motor.at(0.5)
        assert at.current_A == pytest.approx(0.5 * 600 * pi / 30 / 1000 / 10)


def test_a_weak_magnet_is_another_fault():
    """It draws more for the same load, and is faster than a good motor's straight line at that current."""
    good = BELTED.drive.motor
    weak = replace(good, constant_Nmm_A=0.8 * good.constant_Nmm_A).at(0.5)
    assert weak.current_A == pytest.approx(good.at(0.5).current_A / 0.8)
    assert weak.rev_min > 1.2 * 600 * (1 - weak.current_A / good.stall_current_A)


def test_a_weak_motor_with_friction_of_its_own():
    """A motor whose own friction is known loses both in step: the line stays through the same speed."""
    drive = replace(BELTED.drive, motor=motor_from_line(10, 600, 2, 0.3))
    motor = BELTED.changed(motors=(drive,)).with_faults(weak_motor(40)).drive.motor
    assert motor.no_load_rev_min == pytest.approx(600) and motor.stall_torque_Nmm == pytest.approx(0.8)


def test_a_low_supply_takes_speed_and_torque():
    motor = BELTED.with_faults(low_supply(4)).drive.motor
    assert motor.no_load_rev_min == pytest.approx(240) and motor.stall_torque_Nmm == pytest.approx(0.8)
    assert BELTED.with_faults(low_supply(10)).drive.motor == BELTED.drive.motor
    with pytest.raises(MechError, match="voltage_V is 10.1 V.*at most the 10 V of the file"):
        BELTED.with_faults(low_supply(10.1))


def test_a_slack_belt_loses_tension():
    """A tenth of stretch: grown by 5 % of its inside length, the middle line by a little less than that."""
    belt = BELTED.with_faults(slack_belt(5)).drive.belt
    middle = EVEN_BELT["inside_mm"] * 1.05 + pi
    assert belt.pretension_N == pytest.approx(5 * ((40 + 10 * pi) / middle - 1))
    assert BELTED.with_faults(slack_belt(0)).drive.limit_Nmm == BELTED.drive.limit_Nmm
    assert BELTED.with_faults(slack_belt(50)).drive.limit_Nmm == 0


def test_a_glazed_belt_slips_sooner():
    """Without the half of its friction e^(μπ) is √3; the tensions are those of the second way."""
    drive = BELTED.with_faults(glazed_belt(EVEN_BELT["friction"] / 2)).drive
    tight, slack = BeltRound(10, 10, 20, (40 + 10 * pi) / 1.1, 5, [log(3) / 2 / pi] * 2).slipping()
    assert drive.belt.limit_N == pytest.approx(tight - slack) and tight == pytest.approx(3**0.5 * slack)
    assert drive.belt.pretension_N == pytest.approx(0.5)


def test_hard_grease_adds_drag():
    found = dict(driven(drive={"drag_Nmm": 3}).with_faults(hard_grease("main cam", 4)).drags)
    assert found == {"main cam": 7}
    found = dict(BELTED.with_faults(hard_grease("hook cam", 10), hard_grease("hook cam", 5)).drags)
    assert found == {"hook cam": pytest.approx(15 * 0.4)}
    assert dict(BELTED.with_faults(hard_grease("lever gear", 10)).drags) == {"lever gear": pytest.approx(5)}
    with pytest.raises(MechError, match="no gear is called 'hook'.*hook cam.*main cam"):
        BELTED.with_faults(hard_grease("hook", 5))


def test_a_stiff_lever_adds_friction():
    rubbing = driven(hook={"friction_N": 2}).with_faults(stiff_lever("hook", 1.5))
    assert rubbing.follower("hook").friction_N == 3.5 and rubbing.follower("lever").friction_N == 0
    with pytest.raises(MechError, match="no follower is called 'hok'"):
        BELTED.with_faults(stiff_lever("hok", 1))


def test_dead_drivers():
    both = BELTED.with_faults(*(dead_driver(s) for s in ("loading", "unloading", "loading")))
    assert both.drive.dead_senses == ("loading", "unloading") and BELTED.drive.dead_senses == ()
    with pytest.raises(MechError, match="sense is 'up'.*loading and unloading"):
        dead_driver("up")


FAULTS = [weak_motor(50), low_supply(5), slack_belt(1), glazed_belt(0.2), hard_grease("main cam", 1),
          stiff_lever("lever", 1), dead_driver("loading")]  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: type(fault).__name__)
def test_each_makes_another_transport_that_knows_the_sound_one(fault):
    faulty = BELTED.with_faults(slip("switch", 1), fault)
    assert faulty != BELTED.with_faults(slip("switch", 1)) and faulty.sound == BELTED
    assert faulty.slips == (("switch", 1),)
    with pytest.raises(MechError, match="Small gives no motor.*add a \\[motor\\]"):
        small().with_faults(fault)


@pytest.mark.parametrize("fault", [slack_belt(1), glazed_belt(0.2)])
def test_no_belt_to_be_slack(fault):
    with pytest.raises(MechError, match="Small gives no belt.*add a \\[belt\\]"):
        driven().with_faults(fault)


LIMITS = [
    (weak_motor, 1, 100), (low_supply, 0.1, 100), (slack_belt, 0, 50), (glazed_belt, 0.01, 3),
    (lambda x: hard_grease("main cam", x), 0, 1e5), (lambda x: stiff_lever("lever", x), 0, 1e4),
]  # fmt: skip


@pytest.mark.parametrize("make, low, high", LIMITS)
def test_limits(make, low, high):
    make(low), make(high)
    for bad in (low - 0.01, high * 1.01, float("nan"), float("inf"), "much", None, True):
        with pytest.raises(MechError):
            make(bad)
