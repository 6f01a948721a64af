"""The warming of a solenoid against scipy's ODE solver, pull by pull, with the resistance of warm copper."""

import math

import numpy as np
import pytest
from edges import check_edges
from scipy.integrate import solve_ivp

from mechlib.drives import Body, CutOff, Solenoid, solenoid_warming
from mechlib.errors import MechError

near = pytest.approx


def warming(one, volts, pull_s, pause_s, air, least_s=0):
    return solenoid_warming.warming(one, volts, pull_s, pause_s, air, least_s)


def coil(rth=22.0, tau=300.0, ohm=20.0):
    return Solenoid(ohm, 5, 0.5, 4, Body(rth, tau))


def solved(seconds, volts, pull_s, pause_s, air, rth=22.0, tau=300.0, ohm=20.0):
    """Temperatures at the start and at the end of each pull: θ' = (Rth·V²/R(θ) + air − θ)/τ, then without."""
    now, time, lows, highs = air, 0.0, [], []
    while time <= seconds:
        lows.append((time, now))
        for on, leg in ((1, pull_s), (0, pause_s)):

            def rate(_, y, on=on):
                watts = on * volts**2 / (ohm * (1 + (y - 20) / 254.5))
                return (rth * watts + air - y) / tau

            now = float(solve_ivp(rate, (0, leg), [now], rtol=1e-9, atol=1e-9).y[0, -1])
            time += leg
            if on:
                highs.append((time, now))
    return np.array(lows), np.array(highs)


CASES = [
    {"volts": 12, "pull_s": 2.0, "pause_s": 8.0, "air": 25.0},
    {"volts": 14, "pull_s": 9.0, "pause_s": 1.0, "air": 25.0},
    {"volts": 18, "pull_s": 20.0, "pause_s": 60.0, "air": 10.0, "tau": 60.0, "rth": 40.0, "ohm": 10.0},
    {"volts": 12, "pull_s": 20.0, "pause_s": 0.1, "air": 60.0, "tau": 60.0},
    {"volts": 12, "pull_s": 4.0, "pause_s": 4.0, "air": 40.0, "tau": 900.0},
]
FAST = [
    {"volts": 12, "pull_s": 0.5, "pause_s": 0.5, "air": 25.0},
    {"volts": 15, "pull_s": 1.0, "pause_s": 0.4, "air": 0.0, "tau": 60.0},
    {"volts": 12, "pull_s": 0.15, "pause_s": 0.05, "air": 25.0, "tau": 10.0},
]


def of(case):
    one = coil(**{key: case[key] for key in ("rth", "tau", "ohm") if key in case})
    return warming(one, case["volts"], case["pull_s"], case["pause_s"], case["air"])


@pytest.mark.parametrize("case", [*CASES, *FAST])
def test_by_an_ode_solver(case):
    lows, highs = solved(min(400, 8 * case.get("tau", 300)), **case)
    found = of(case)
    step, count = found.together, math.ceil(len(lows) / found.together)
    assert (step == 1) == (case in CASES)
    assert found.start_s[:count] == near(lows[::step, 0]) and found.end_s[:count] == near(highs[::step, 0])
    close = 0.05 if step == 1 else 0.15
    assert found.low_C[:count] == near(lows[::step, 1], abs=close)
    assert found.high_C[:count] == near(highs[::step, 1], abs=close)


@pytest.mark.parametrize("case", [CASES[1], CASES[2], FAST[1]])
@pytest.mark.parametrize("mark", [40, 60, 80])
def test_when_a_temperature_is_reached(case, mark):
    """The first pull in which the solver's curve passes it, and how far into the pull."""
    lows, highs = solved(400, **case)
    at = int(np.argmax(highs[:, 1] >= mark))
    found = of(case).seconds_to(mark)
    assert highs[at, 1] >= mark
    low, high = lows[at], highs[at]
    slack = 1.5 * (case["pull_s"] + case["pause_s"]) if case in FAST else 0.02 * case["pull_s"] + 0.05
    straight = low[0] + (mark - low[1]) / (high[1] - low[1]) * case["pull_s"]
    assert low[0] - slack <= found <= high[0] + slack
    if case not in FAST:  # the curve bends upwards from the straight line: it gets there no later
        assert straight - 0.15 * case["pull_s"] <= found <= straight + slack


def test_inside_the_first_pull_by_the_solver():
    case = CASES[2]
    lows, _ = solved(20, **case)
    fine = solve_ivp(
        lambda _, y: (40 * 18**2 / (10 * (1 + (y - 20) / 254.5)) + 10 - y) / 60, (0, 20), [10.0],
        dense_output=True, rtol=1e-9, atol=1e-9,
    )  # fmt: skip
    for seconds in (3.0, 9.0, 17.0):
        assert of(case).seconds_to(float(fine.sol(seconds)[0])) == near(seconds, abs=0.02)
    assert len(lows) == 1


def test_marks_that_are_never_reached_or_at_once():
    found = of(CASES[0])
    assert found.seconds_to(25.0) == near(0) and found.seconds_to(found.peak_C) > 0
    assert found.seconds_to(found.peak_C + 0.01) is None
    assert found.peak_C == max(found.high_C) == near(found.high_C[-1], abs=0.01)


def test_held_all_the_time_it_comes_to_where_a_held_solenoid_does():
    one = coil()
    found = warming(one, 12, 100, 0.01, 25)
    assert found.peak_C == near(one.held(12, 25).winding_C, abs=0.05)
    assert found.high_C[-1] == near(found.peak_C)


def test_the_opening_of_a_cut_off():
    found = of(CASES[1])
    opening = found.opening(CutOff(115, 90, 200))
    assert opening.held_until_s == found.seconds_to(90) < found.seconds_to(105) == opening.earliest_s
    assert opening.latest_s == found.seconds_to(115) and opening.peak_C == found.peak_C
    assert of(CASES[0]).opening(CutOff(115, 90, 200)).stays_closed


def test_how_far_it_is_followed():
    assert of(CASES[0]).start_s[-1] == near(3000)  # ten time constants
    longer = warming(coil(), 12, 2, 8, 25, 4000)
    assert longer.start_s[-1] == near(4000)
    assert of(FAST[0]).together == 3 and of(FAST[1]).together == 2  # within 3 s
    assert of(FAST[2]).together == 2  # within a twentieth of 10 s
    assert warming(coil(tau=900), 12, 0.5, 0.5, 25).together == 9  # within a hundredth of 900 s
    assert len(of(FAST[0]).start_s) == 1001


def test_between_pulls_and_in_words():
    found = of(CASES[0])
    assert found.at(0) == 25 and found.at(15) == near((found.low_C[1] + found.low_C[2]) / 2)
    assert found.at(1e6) == found.low_C[-1]
    told = f"The winding settles between {found.low_C[-1]:.1f} and {found.high_C[-1]:.1f} °C."
    assert found.sentence() == told


def test_what_is_refused():
    check_edges(lambda value: warming(coil(), value, 2, 8, 25), 0, 400)
    check_edges(lambda value: warming(coil(), 1, value, 8, 25), 1e-4, 1e4)
    check_edges(lambda value: warming(coil(), 1, 2, value, 25), 1e-4, 1e4)
    check_edges(lambda value: warming(coil(), 1, 2, 8, value), -40, 150)
    check_edges(lambda value: warming(coil(), 1, 2, 800, 25, value), 0, 1e5)
    check_edges(lambda value: of(CASES[0]).at(value), 0, 1e7)
    check_edges(lambda value: of(CASES[0]).seconds_to(value), -300, 1e5)
    with pytest.raises(MechError, match="voltage_V is nan"):
        warming(coil(), math.nan, 2, 8, 25)
