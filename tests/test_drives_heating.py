"""Warming up and cooling down, against the differential equation and plain stepping."""

from __future__ import annotations

import math

import pytest
from edges import check_edges
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from share import times

from mechlib.drives.heating import Body, RepeatedHeating, Step
from mechlib.errors import MechError

BODY = Body(15, 480)
FIRING = RepeatedHeating(BODY, (Step(20, 3), Step(0, 7)))

heatings = st.builds(
    RepeatedHeating,
    st.builds(Body, st.floats(1, 50), st.floats(5, 500)),
    st.lists(
        st.builds(Step, st.sampled_from([0.0, 2.0, 7.0, 20.0]), st.floats(0.5, 60)), min_size=1, max_size=4
    ).map(tuple),
    st.sampled_from([0.0, 0.0, 30.0, 400.0, -20.0]),
)


def integrated(heating, seconds):
    """Rises at the start and at every end of a step, by an ODE solver with heat capacity and resistance."""
    capacity = heating.body.time_constant_s / heating.body.resistance_K_W
    rises, times, now = [heating.start_K], [0.0], heating.start_K
    while times[-1] < seconds:
        for step in heating.steps:

            def flow(_, state, power=step.power_W):
                return [(power - state[0] / heating.body.resistance_K_W) / capacity]

            now = solve_ivp(flow, (0, step.seconds), [now], rtol=1e-10, atol=1e-10).y[0, -1]
            rises.append(now)
            times.append(times[-1] + step.seconds)
    return times, rises


@pytest.mark.parametrize("start", [0.0, 150.0, -30.0])
def test_one_step_is_the_differential_equation(start):
    capacity = 480 / 15
    done = solve_ivp(lambda _, d: [(6 - d[0] / 15) / capacity], (0, 700), [start], rtol=1e-10, atol=1e-10)
    assert BODY.rise(6, 700, start) == pytest.approx(done.y[0, -1], rel=1e-7)


@given(st.floats(0.5, 40), st.floats(0.02, 0.98), st.sampled_from([0.0, 10.0, -25.0]))
def test_time_to_a_rise_brings_it_there(power, part, start):
    final = BODY.final_rise(power)
    wanted = start + part * (final - start)
    found = BODY.seconds_to(wanted, power, start)
    if final > start:
        assert BODY.rise(power, found, start) == pytest.approx(wanted)
        assert found == pytest.approx(480 * math.log((final - start) / (final - wanted)))
    else:
        assert found == 0


def test_never_reached_and_reached_at_the_start():
    assert BODY.seconds_to(90, 6) is None and BODY.seconds_to(90.001, 6) is None
    assert BODY.seconds_to(89.999, 6) > 0
    assert (
        BODY.seconds_to(20, 0, 20) == 0 == BODY.seconds_to(19, 0, 20) and BODY.seconds_to(20.1, 0, 20) is None
    )
    assert BODY.rise(6, 0, 12) == 12


@settings(max_examples=times(5, 30))
@given(heatings)
def test_repeated_heating_is_the_differential_equation(heating):
    times, rises = integrated(heating, min(4 * heating.period_s, 300))
    for time, rise in zip(times, rises, strict=True):
        assert heating.rise(time) == pytest.approx(rise, rel=1e-6, abs=1e-6)
    middle = (times[0] + times[1]) / 2
    assert heating.rise(middle) == pytest.approx(first_rise(heating, middle), rel=1e-9, abs=1e-9)


def first_rise(heating, seconds):
    return heating.body.rise(heating.steps[0].power_W, seconds, heating.start_K)


@settings(max_examples=times(5, 40))
@given(heatings)
def test_the_steady_ripple_repeats_itself_and_loses_what_it_takes(heating):
    steady = heating.steady
    assert steady[-1] == pytest.approx(steady[0], rel=1e-9, abs=1e-9)
    assert (heating.trough_K, heating.peak_K) == (min(steady), max(steady))
    far = 60 * heating.body.time_constant_s
    assert heating.rise(math.ceil(far / heating.period_s) * heating.period_s) == pytest.approx(
        steady[0], rel=1e-6, abs=1e-6
    )
    assert heating.trough_K - 1e-9 <= heating.mean_W * heating.body.resistance_K_W <= heating.peak_K + 1e-9
    taken = sum(step.power_W * step.seconds for step in heating.steps)
    assert heating.mean_W * sum(step.seconds for step in heating.steps) == pytest.approx(taken)


def stepped(heating, wanted, seconds):
    """First time at which a rise is reached, by going from step to step with plain exponentials."""
    now, passed, body = heating.start_K, 0.0, heating.body
    if now >= wanted:
        return 0.0
    while passed < seconds:
        for step in heating.steps:
            final = step.power_W * body.resistance_K_W
            end = final + (now - final) * math.exp(-step.seconds / body.time_constant_s)
            if end >= wanted:
                return passed + body.time_constant_s * math.log((final - now) / (final - wanted))
            now, passed = end, passed + step.seconds
    return None


@settings(max_examples=times(25, 200))
@given(heatings, st.floats(0.05, 1.2))
def test_first_time_of_a_rise_is_found_by_stepping(heating, part):
    wanted = part * heating.peak_K
    found, plain = heating.seconds_to(wanted), stepped(heating, wanted, 40 * heating.body.time_constant_s)
    if plain is None:
        assert found is None or found > 20 * heating.body.time_constant_s
    else:
        assert found == pytest.approx(plain, rel=1e-6, abs=1e-6)


def test_the_highest_rise_may_be_the_first_one():
    """20 W for 3 s from 90 K: the first peak is higher than any later one; from 400 K the start is."""
    warm = RepeatedHeating(BODY, FIRING.steps, 90.0)
    peak = 300 + (90 - 300) * math.exp(-3 / 480)
    assert warm.highest_K == pytest.approx(peak) and peak > warm.peak_K
    assert RepeatedHeating(BODY, FIRING.steps, 400.0).highest_K == 400
    assert FIRING.highest_K == FIRING.peak_K
    assert warm.seconds_to(peak - 0.01) < 3 and warm.seconds_to(peak + 0.01) is None
    assert warm.seconds_to(warm.peak_K + 0.2) < 3


def test_by_hand_and_in_words():
    """Geometric series: peak 300·(1 − e^(−3/480))/(1 − e^(−10/480)), trough e^(−7/480) of it."""
    peak = 300 * (1 - math.exp(-3 / 480)) / (1 - math.exp(-10 / 480))
    assert FIRING.peak_K == pytest.approx(peak)
    assert FIRING.trough_K == pytest.approx(peak * math.exp(-7 / 480))
    assert FIRING.start_K == 0 and FIRING.period_s == 10 and FIRING.mean_W == 6
    assert FIRING.sentence() == "The rise ends between 89.3 K and 90.7 K, at 6.00 W on average."
    assert FIRING.rise(3) == pytest.approx(300 * (1 - math.exp(-3 / 480))) and FIRING.rise(0) == 0
    assert RepeatedHeating(BODY, (Step(1, 1),) * 20).mean_W == 1


def test_a_rise_reached_just_at_an_end():
    """The first peak itself is reached at 3 s, the rise at the start at once, a final rise at the end."""
    assert FIRING.seconds_to(BODY.rise(20, 3)) == pytest.approx(3)
    assert RepeatedHeating(BODY, (Step(0, 7), Step(20, 3)), 50.0).seconds_to(50) == 0
    assert RepeatedHeating(Body(10, 1), (Step(5, 500),)).seconds_to(50) == pytest.approx(500)
    assert RepeatedHeating(Body(10, 1), (Step(5, 500),)).seconds_to(50.001) is None


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: Body(0, 480), "resistance_K_W is 0 K/W"),
        (lambda: Body(15, 0), "time_constant_s is 0 s"),
        (lambda: BODY.final_rise(-1), "power_W is -1 W"),
        (lambda: BODY.rise(6, -1), "seconds is -1 s"),
        (lambda: BODY.rise(6, 1, math.nan), "start_K is nan"),
        (lambda: BODY.seconds_to("60", 6), "rise_K is '60'"),
        (lambda: BODY.seconds_to(60, 6, -301), "start_K is -301 K"),
        (lambda: Step(-1, 1), "power_W is -1 W"),
        (lambda: Step(1, 0), "seconds is 0 s"),
        (lambda: RepeatedHeating(BODY, ()), "the pattern has 0 steps: it must have 1 to 20"),
        (lambda: RepeatedHeating(BODY, (Step(1, 1),) * 21), "the pattern has 21 steps"),
        (lambda: RepeatedHeating(BODY, (Step(1, 1),), math.inf), "start_K is inf"),
        (lambda: FIRING.rise(-1), "seconds is -1 s"),
        (lambda: FIRING.seconds_to(None), "rise_K is None"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: Body(x, 480), 0.01, 1e4),
        (lambda x: Body(15, x), 0.1, 1e6),
        (BODY.final_rise, 0, 1e4),
        (lambda x: BODY.rise(6, x), 0, 1e7),
        (lambda x: BODY.rise(6, 1, x), -300, 1e5),
        (lambda x: Step(x, 1), 0, 1e4),
        (lambda x: Step(1, x), 1e-4, 1e7),
        (FIRING.rise, 0, 1e7),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
