"""The motor line, against its differential equation, energy balance and plain search."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sympy
from edges import check_edges
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from share import times

from mechlib.drives.motor import Motor, MotorPoint, check_data, motor_from_line
from mechlib.errors import MechError

MOTOR = Motor(9, 15, 12, 0.4)
TURN = 2 * math.pi / 60  # rad/s of 1 rev/min

motors = st.builds(
    Motor, st.floats(1, 60), st.floats(0.5, 200), st.floats(1, 200), st.sampled_from([0.0, 0.05, 0.3])
).filter(lambda motor: motor.stall_torque_Nmm > 0.05 and 10 < motor.no_load_rev_min < 9e4)


def run_up(motor, torque_Nmm, start=0.0):
    """Speed in rev/min that it settles at: both equations of a motor, integrated in time (SI)."""
    k, friction, load = motor.constant_Nmm_A / 1000, motor.friction_Nmm / 1000, torque_Nmm / 1000
    inertia = 1e-6
    settle = inertia * motor.resistance_ohm / k**2

    def change(_, state):
        current = (motor.voltage_V - k * state[0]) / motor.resistance_ohm
        return [(k * current - load - friction * np.tanh(state[0] / 1e-3)) / inertia]

    done = solve_ivp(change, (0, 40 * settle), [start], method="LSODA", rtol=1e-9, atol=1e-9)
    return done.y[0, -1] / TURN


@pytest.mark.parametrize("volts", [9, -9, 4.5])
@pytest.mark.parametrize("torque", [0.0, 2.0, -2.0, 9.5, -9.5])
def test_speed_is_where_the_motor_settles(volts, torque):
    motor = MOTOR.on(volts)
    assert motor.speed(torque) == pytest.approx(run_up(motor, torque), rel=1e-4, abs=0.05)


@pytest.mark.parametrize("torque, stands", [(6.79, False), (6.81, True), (7.59, True), (7.61, False)])
def test_friction_holds_it_for_twice_its_torque(torque, stands):
    """Stall torque 12·9/15 − 0.4 = 6.8; it turns back beyond 7.6."""
    assert (MOTOR.speed(torque) == 0) == stands
    assert MOTOR.stall_torque_Nmm == pytest.approx(6.8)
    if not stands:
        assert math.copysign(1, MOTOR.speed(torque)) == (1 if torque < 7 else -1)
    assert MOTOR.on(-9).speed(-torque) == -MOTOR.speed(torque)


@given(motors, st.floats(-1.5, 0.999))
def test_energy_is_conserved(motor, part):
    """What stays in the motor is I²R in the winding and friction torque times speed."""
    torque = part * motor.stall_torque_Nmm
    for sense in (1, -1):
        point = motor.on(sense * motor.voltage_V).at(sense * torque)
        winding = point.current_A**2 * motor.resistance_ohm
        rubbing = motor.friction_Nmm / 1000 * abs(point.rev_min) * TURN
        assert point.heat_W == pytest.approx(winding + rubbing, rel=1e-6, abs=1e-9)
        assert point.power_out_W == pytest.approx(point.torque_Nmm / 1000 * point.rev_min * TURN)
        assert math.copysign(1, point.rev_min) == sense
        motored = motor.constant_Nmm_A * point.current_A
        assert motored == pytest.approx(sense * (torque + motor.friction_Nmm), rel=1e-6, abs=1e-6)


@settings(max_examples=times(5, 40))
@given(motors)
def test_peaks_are_found_by_plain_search(motor):
    torques = np.linspace(0, motor.stall_torque_Nmm, 401)[:-1]
    points = [motor.at(torque) for torque in torques]
    peak, best = motor.peak_power(), motor.best_efficiency()
    powers = [point.power_out_W for point in points]
    assert peak.power_out_W == pytest.approx(max(powers), rel=1e-6)
    assert peak.power_out_W >= max(powers) * (1 - 1e-12)
    if motor.friction_Nmm:
        assert best.efficiency == pytest.approx(max(point.efficiency for point in points), rel=5e-3)
        ratio = motor.friction_Nmm / motor.constant_Nmm_A / motor.stall_current_A
        assert best.efficiency == pytest.approx((1 - math.sqrt(ratio)) ** 2, rel=1e-6)
    else:
        assert best.torque_Nmm == 0 and best.efficiency == 0
    back = motor.on(-motor.voltage_V)
    assert back.peak_power().power_out_W == pytest.approx(peak.power_out_W)
    assert back.best_efficiency().torque_Nmm == -best.torque_Nmm


@given(motors)
def test_the_line_gives_the_motor_back(motor):
    line = motor_from_line(motor.voltage_V, motor.no_load_rev_min, motor.stall_torque_Nmm, motor.friction_Nmm)
    assert line.resistance_ohm == pytest.approx(motor.resistance_ohm, rel=1e-6)
    assert line.constant_Nmm_A == pytest.approx(motor.constant_Nmm_A, rel=1e-6)
    for part in (0.0, 0.25, 1.0):
        torque = part * motor.stall_torque_Nmm
        speed = motor.no_load_rev_min * (1 - part)
        assert motor.speed(torque) == pytest.approx(speed, rel=1e-6, abs=1e-6 * motor.no_load_rev_min)


def test_the_formulas_by_algebra():
    """The two equations of a motor, solved by sympy for current and speed."""
    current, omega = sympy.symbols("I omega")
    k, friction = sympy.Rational(12, 1000), sympy.Rational(4, 10000)
    for torque in (0, sympy.Rational(34, 10000)):
        electrical, mechanical = 9 - 15 * current - k * omega, k * current - friction - torque
        solved = sympy.solve([electrical, mechanical], [current, omega])
        point = MOTOR.at(float(torque * 1000))
        assert point.current_A == pytest.approx(float(solved[current]))
        assert point.rev_min == pytest.approx(float(solved[omega]) / TURN)


def test_stalled_switched_off_and_too_weak():
    stalled = MOTOR.at(7)
    assert (stalled.rev_min, stalled.current_A) == (0, pytest.approx(0.6))
    assert stalled.efficiency == 0 and stalled.heat_W == pytest.approx(5.4)
    words = "At 7.00 N·mm the motor stands still and draws 0.600 A: all 5.40 W turn into heat."
    assert stalled.sentence() == words
    off, weak, just = MOTOR.on(0), MOTOR.on(0.5), MOTOR.on(0.501)
    assert off.stall_torque_Nmm == off.no_load_rev_min == off.peak_power().power_out_W == 0
    assert weak.stall_torque_Nmm == weak.no_load_rev_min == 0 and just.stall_torque_Nmm > 0
    assert weak.best_efficiency().torque_Nmm == 0 == weak.best_efficiency().efficiency
    assert weak.sentence() == "On 0.5 V it doesn't start: its own friction holds it."
    assert MOTOR.on(-9).stall_torque_Nmm == -MOTOR.stall_torque_Nmm
    assert MOTOR.on(-9).stall_current_A == -0.6
    assert off.speed(0.41) < 0 < off.speed(-0.41) and off.speed(0.4) == 0 == off.speed(-0.4)


def test_a_load_that_drives_it():
    point = MOTOR.at(-8)
    assert point.rev_min > MOTOR.no_load_rev_min and point.current_A < 0 and point.efficiency == 0
    assert point.power_out_W < 0
    assert point.sentence() == (
        "At −8.00 N·mm the motor turns at +14722 rev/min, driven by its load, with 0.633 A; "
        "6.63 W turn into heat."
    )


def test_a_point_in_words():
    assert MotorPoint(9.0, 3.4, 3381.7, 0.3167).sentence() == (
        "At 3.40 N·mm the motor turns at +3382 rev/min and draws 0.317 A: 1.20 W out of 2.85 W, 42%."
    )
    assert MOTOR.at(0).sentence().endswith("0.00 W out of 0.30 W, 0%.")


def test_a_warm_winding():
    """100 K more in copper is 39 % more resistance: the stall torque falls, the speed hardly."""
    warm = MOTOR.warmed(120)
    assert warm.resistance_ohm == pytest.approx(15 * 354.5 / 254.5)
    assert warm.stall_current_A == pytest.approx(0.6 / 1.393, rel=1e-4)
    assert warm.no_load_rev_min == pytest.approx(MOTOR.no_load_rev_min, rel=0.03)
    assert MOTOR.warmed(120, 120) == MOTOR == warm.warmed(20, 120)


def test_no_friction_unless_given():
    assert Motor(9, 15, 12) == Motor(9, 15, 12, 0) and motor_from_line(9, 6000, 5).friction_Nmm == 0


@given(motors)
def test_sound_data_agree(motor):
    idle = motor.at(0)
    found = check_data(
        motor.voltage_V, motor.resistance_ohm, idle.rev_min, idle.current_A, motor.stall_torque_Nmm
    )
    assert found.from_speed_Nmm_A == pytest.approx(motor.constant_Nmm_A, rel=1e-6)
    assert found.from_stall_Nmm_A == pytest.approx(motor.constant_Nmm_A, rel=1e-6)
    assert found.fitting_ohm == pytest.approx(motor.resistance_ohm, rel=1e-4)
    assert found.agrees and abs(found.apart_percent) < 1e-3


@pytest.mark.parametrize("stall, agrees", [(6.1, False), (6.2, True), (7.4, True), (7.5, False)])
def test_wrong_data_are_told(stall, agrees):
    """The speed says 12.0072 N·mm/A (8.505 V at 708.32 rad/s); 10 % either way is 6.127 to 7.489 N·mm."""
    found = check_data(9, 15, 6764, 0.033, stall)
    assert found.agrees == agrees
    assert found.apart_percent == pytest.approx(100 * (stall / (0.567 * 12.0072) - 1), abs=0.01)
    fitted = check_data(9, found.fitting_ohm, 6764, 0.033, stall)
    assert fitted.apart_percent == pytest.approx(0, abs=1e-9)
    assert found.fitting_ohm < 9 / 0.033


def test_data_in_words():
    assert check_data(9, 15, 6764, 0.033, 6.8).sentence() == (
        "The constant is 12.01 N·mm/A from the speed and 11.99 N·mm/A from the stall torque, −0.1%: "
        "the data agree."
    )
    wrong = check_data(9, 15, 6764, 0.033, 5)
    assert "8.82 N·mm/A from the stall torque, −26.6%: they don't agree; with 19." in wrong.sentence()
    assert "Ω they would, so the resistance or a torque is wrong, or was" in wrong.sentence()


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: Motor(101, 15, 12), "voltage_V is 101 V"),
        (lambda: Motor(9, 0, 12), "resistance_ohm is 0 Ω"),
        (lambda: Motor(9, 15, -12), "constant_Nmm_A is -12 N·mm/A"),
        (lambda: Motor(9, 15, 12, -0.1), "friction_Nmm is -0.1 N·mm"),
        (lambda: MOTOR.speed(2e5), "torque_Nmm is 200000 N·mm"),
        (lambda: MOTOR.at(math.nan), "torque_Nmm is nan"),
        (lambda: MOTOR.on("9"), "voltage_V is '9'"),
        (lambda: MOTOR.warmed(400), "to_C is 400 °C"),
        (lambda: motor_from_line(0, 6000, 5), "voltage_V is 0 V"),
        (lambda: motor_from_line(9, 0, 5), "no_load_rev_min is 0 rev/min"),
        (lambda: motor_from_line(9, 6000, 0), "stall_torque_Nmm is 0 N·mm"),
        (lambda: motor_from_line(9, 6000, 5, -1), "friction_Nmm is -1 N·mm"),
        (lambda: check_data(9, 15, 6764, -0.1, 5), "no_load_current_A is -0.1.*below nought"),
        (lambda: check_data(9, 15, 6764, 0.6, 5), "0.6 A: stalled it draws 0.600 A; without load"),
        (lambda: check_data(9, 15, 6764, 0.03, None), "stall_torque_Nmm is None"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: Motor(x, 15, 12), -100, 100),
        (lambda x: Motor(9, x, 12), 0.01, 1e4),
        (lambda x: Motor(9, 15, x), 0.01, 1e4),
        (lambda x: Motor(9, 15, 12, x), 0, 1e5),
        (MOTOR.speed, -1e5, 1e5),
        (lambda x: motor_from_line(x, 6000, 1 if x < 50 else 5), 0.1, 100),
        (lambda x: motor_from_line(0.5, x, 1), 1, 1e5),
        (lambda x: motor_from_line(*((0.1, 6000) if x < 1 else (100, 600)), x), 1e-3, 1e5),
        (lambda x: check_data(9, x, 6764, 0, 5), 0.01, 1e4),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
