"""The solenoid, against the differential equation of a winding that warms up on a constant voltage."""

from __future__ import annotations

import math

import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from mechlib.drives.heating import Body
from mechlib.drives.solenoid import Solenoid
from mechlib.errors import MechError

SOLENOID = Solenoid(24, 5, 0.5, 3, Body(12, 300))


@pytest.mark.parametrize("volts, ambient", [(12, 25.0), (15, 40.0), (6, -10.0)])
def test_held_it_settles_where_heating_and_cooling_balance(volts, ambient):
    """C·dθ/dt = V²/R(θ) − (θ − θa)/Rth with R from copper's coefficient 1/254.5 at 20 °C."""

    def change(_, state):
        ohm = 24 * (1 + (state[0] - 20) / 254.5)
        return [(volts**2 / ohm - (state[0] - ambient) / 12) / (300 / 12)]

    done = solve_ivp(change, (0, 300 * 30), [ambient], rtol=1e-10, atol=1e-10, method="LSODA")
    found = SOLENOID.held(volts, ambient)
    assert found.winding_C == pytest.approx(done.y[0, -1], rel=1e-6)
    assert found.power_W * 12 == pytest.approx(found.winding_C - ambient)


def test_it_is_heated_from_25_degrees_unless_told():
    assert SOLENOID.held(12) == SOLENOID.held(12, 25)
    assert SOLENOID.held(0, 31).winding_C == 31 and SOLENOID.held(0).current_A == 0


@given(st.floats(1, 30), st.floats(-20, 150))
def test_current_power_and_pull(volts, winding):
    found, cold = SOLENOID.at(volts, winding), SOLENOID.at(volts)
    ohm = 24 * (1 + (winding - 20) / 254.5)
    assert found.current_A == pytest.approx(volts / ohm)
    assert found.power_W == pytest.approx(found.current_A**2 * ohm)
    assert found.pull_N == pytest.approx(20 * found.current_A**2)
    assert found.margin_N == pytest.approx(found.pull_N - 3)
    assert (found.pull_N <= cold.pull_N) == (winding >= 20) or winding == pytest.approx(20)
    assert cold.winding_C == 20


def test_the_least_current_just_pulls():
    least = SOLENOID.least_current_A
    assert least == pytest.approx(math.sqrt(0.15))
    assert SOLENOID.at(least * 24 * 1.0001).pulls and not SOLENOID.at(least * 24 * 0.9999).pulls
    assert Solenoid(24, 5, 0.5, 5, Body(12, 300)).at(12).pulls
    assert Solenoid(24, 5, 0.5, 0, Body(12, 300)).least_current_A == 0


def test_pulses_heat_with_the_cold_winding():
    """12 V on 24 Ω are 6 W: on for 1 of 5 s, 1.2 W; warm copper would draw less."""
    train = SOLENOID.pulses(12, 1, 4)
    assert [(step.power_W, step.seconds) for step in train.steps] == [(6, 1), (0, 4)]
    assert train.mean_W == pytest.approx(1.2) and train.body == SOLENOID.body and train.start_K == 0
    held = SOLENOID.pulses(12, 2, 3, hold_V=6, pull_s=0.25)
    assert [(step.power_W, step.seconds) for step in held.steps] == [(6, 0.25), (1.5, 1.75), (0, 3)]
    assert held.mean_W == pytest.approx((1.5 + 2.625) / 5)
    assert SOLENOID.pulses(12, 2, 3, 6).steps[0].seconds == 0.1


def test_the_power_of_the_cold_winding_errs_on_the_hot_side():
    """The true winding, whose resistance follows its temperature through ten pulses, stays cooler."""
    now = 0.0
    for _ in range(10):
        for volts, seconds in ((12, 20), (0, 10)):

            def change(_, state, volts=volts):
                ohm = 24 * (1 + (state[0] + 25 - 20) / 254.5)
                return [(volts**2 / ohm * 12 - state[0]) / 300]

            now = solve_ivp(change, (0, seconds), [now], rtol=1e-9, atol=1e-9).y[0, -1]
    safe = SOLENOID.pulses(12, 20, 10).rise(300)
    assert now < safe < 1.25 * now


def test_sentences():
    assert SOLENOID.sentence() == "It pulls in from 0.387 A on: 9.3 V when cold, more when warm."
    warm = SOLENOID.at(12, 110).sentence()
    assert warm == "At 110.0 °C it draws 0.369 A (4.43 W) and pulls 2.73 N: 0.27 N too little."
    assert SOLENOID.at(12).sentence().endswith("pulls 5.00 N: 2.00 N more than it needs.")


def test_what_would_burn_is_refused():
    """300 °C from 25 °C takes 275/12 W: V² = 22.917·24·534.5/254.5, 33.98 V."""
    limit = math.sqrt(275 / 12 * 24 * 534.5 / 254.5)
    assert SOLENOID.held(limit * 0.9999).winding_C == pytest.approx(300, abs=0.1)
    with pytest.raises(MechError, match="held on it the winding would burn; take less, or pulses"):
        SOLENOID.held(limit * 1.0001)


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: Solenoid(0, 5, 0.5, 3, Body(12, 300)), "resistance_ohm is 0 Ω"),
        (lambda: Solenoid(24, 0, 0.5, 3, Body(12, 300)), "pull_N is 0 N"),
        (lambda: Solenoid(24, 5, 0, 3, Body(12, 300)), "at_current_A is 0 A"),
        (lambda: Solenoid(24, 5, 0.5, -1, Body(12, 300)), "needed_N is -1 N"),
        (lambda: SOLENOID.at(-1), "voltage_V is -1 V"),
        (lambda: SOLENOID.at(12, 301), "to_C is 301 °C"),
        (lambda: SOLENOID.held(math.nan), "voltage_V is nan"),
        (lambda: SOLENOID.held(12, 151), "ambient_C is 151 °C"),
        (lambda: SOLENOID.pulses(12, 0, 1), "seconds is 0 s"),
        (
            lambda: SOLENOID.pulses(12, 1, 1, 6, 1.5),
            "pull_s is 1.5 s: it must be from 0.0001 to 1 s; the pull",
        ),
        (lambda: SOLENOID.pulses(12, 1, 1, 401), "voltage_V is 401 V"),
        (lambda: SOLENOID.pulses(12, 1, 1, 6, 1), "seconds is 0 s"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: Solenoid(x, 5, 0.5, 3, Body(12, 300)), 0.05, 1e5),
        (lambda x: Solenoid(24, x, 0.5, 3, Body(12, 300)), 0.001, 1000),
        (lambda x: Solenoid(24, 5, x, 3, Body(12, 300)), 1e-4, 100),
        (lambda x: Solenoid(24, 5, 0.5, x, Body(12, 300)), 0, 1000),
        (SOLENOID.at, 0, 400),
        (lambda x: SOLENOID.held(1, x), -60, 150),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
