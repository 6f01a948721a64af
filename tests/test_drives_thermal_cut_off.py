"""The thermal cut-off, against firing a solenoid pulse by pulse."""

from __future__ import annotations

import math

import pytest
from edges import check_edges
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.drives.heating import Body, RepeatedHeating, Step
from mechlib.drives.thermal_cut_off import CutOff, Opening, advice, opening
from mechlib.errors import MechError

CUT_OFF = CutOff(115, 90, 200)


def firing(power=20.0, on_s=3.0, off_s=7.0, start_K=0.0):
    return RepeatedHeating(Body(15, 480), (Step(power, on_s), Step(0, off_s)), start_K)


def pulse_by_pulse(heating, ambient, mark):
    """First time at which the winding is as hot as a mark, in steps of 10 ms by Euler's method."""
    rise, time, step_s = heating.start_K, 0.0, 0.01
    on, period = heating.steps[0].seconds, heating.period_s
    while time < 4000:
        if ambient + rise >= mark:
            return time
        power = heating.steps[0].power_W if time % period < on - step_s / 2 else 0
        rise += (power * heating.body.resistance_K_W - rise) / heating.body.time_constant_s * step_s
        time = round(time + step_s, 6)
    return None


@pytest.mark.parametrize("power", [20, 40])
def test_times_are_those_of_firing_pulse_by_pulse(power):
    found = opening(CUT_OFF, firing(power), 30)
    for time, mark in ((found.held_until_s, 90), (found.earliest_s, 105), (found.latest_s, 115)):
        assert time == pytest.approx(pulse_by_pulse(firing(power), 30, mark), abs=0.5)
    assert found.held_until_s < found.earliest_s < found.latest_s
    assert found.surely_opens and not found.stays_closed


def power_for(peak_C, ambient=25.0):
    """The power whose steady ripple comes to a temperature: the peak is proportional to it."""
    return (peak_C - ambient) / firing(1.0).peak_K


@pytest.mark.parametrize(
    "peak, marks", [(89.9, 0), (90.1, 1), (104.9, 1), (105.1, 2), (114.9, 2), (115.1, 3), (199, 3), (201, 3)]
)
def test_what_the_steady_ripple_passes(peak, marks):
    found = opening(CUT_OFF, firing(power_for(peak)))
    times = [found.held_until_s, found.earliest_s, found.latest_s]
    assert sum(time is not None for time in times) == marks and found.peak_C == pytest.approx(peak)
    assert (found.stays_closed, found.surely_opens) == (marks == 0, marks == 3)
    assert found.passes_limit == (peak > 200)


@settings(max_examples=times(6, 50))
@given(st.floats(1, 60), st.floats(0.5, 10), st.floats(0.5, 20), st.floats(0, 45))
def test_hotter_never_opens_later(power, on_s, off_s, ambient):
    cold = opening(CUT_OFF, firing(power, on_s, off_s), ambient)
    hot = opening(CUT_OFF, firing(power * 1.1, on_s, off_s), ambient)
    warm = opening(CUT_OFF, firing(power, on_s, off_s), ambient + 5)
    started = opening(CUT_OFF, firing(power, on_s, off_s, 20), ambient)
    for name in ("held_until_s", "earliest_s", "latest_s"):
        time = getattr(cold, name)
        for other in (hot, warm, started):
            assert time is None or getattr(other, name) <= time + 1e-6
    assert hot.peak_C >= cold.peak_C


def test_a_start_that_is_already_hot():
    found = opening(CUT_OFF, firing(start_K=100), 25)
    assert found.latest_s == found.earliest_s == found.held_until_s == 0 and found.peak_C > 125
    assert opening(CUT_OFF, firing()).peak_C == pytest.approx(25 + firing().peak_K)


def test_it_never_opens_below_its_holding_temperature():
    close = CutOff(115, 108, 200)
    assert (CUT_OFF.earliest_C, close.earliest_C) == (105, 108)
    assert CutOff(115, 90, 200, 5).earliest_C == 110 and CUT_OFF.tolerance_K == 10
    found = opening(close, firing(40))
    assert found.earliest_s == found.held_until_s < found.latest_s


def test_sentences():
    assert CUT_OFF.sentence() == (
        "It holds up to 90.0 °C, opens between 105.0 and 115.0 °C, and must not see more than 200.0 °C."
    )
    cold, long, maybe, sure, burns = (
        opening(CUT_OFF, firing(power_for(peak))) for peak in (80, 100, 110, 150, 250)
    )
    assert cold.sentence() == "It stays closed: the winding comes to 80.0 °C, and it holds up to 90.0 °C."
    held = f"it surely holds for {long.held_until_s / 60:.1f} min"
    assert long.sentence() == (
        f"It may open in the long run: {held}, but 100.0 °C is more than the 90.0 °C for ever."
    )
    assert maybe.sentence() == (
        f"It may open from {maybe.earliest_s / 60:.1f} min on, as the winding comes to 110.0 °C; "
        f"it surely holds for {maybe.held_until_s / 60:.1f} min."
    )
    assert sure.sentence() == (
        f"It opens between {sure.earliest_s / 60:.1f} min and {sure.latest_s / 60:.1f} min after the start; "
        f"it surely holds for {sure.held_until_s / 60:.1f} min."
    )
    assert burns.sentence().endswith("min; if the heat went on it would see 250.0 °C, more than its limit.")
    assert "between 60 s and 2.0 min after" in Opening(CUT_OFF, 30.0, 60.0, 120.0, 150.0).sentence()
    assert "between 4.8 s and 5.3 s after" in Opening(CUT_OFF, 4.0, 4.8, 5.3, 150.0).sentence()
    assert "between 3.02 min and 3.04 min" in Opening(CUT_OFF, 4.0, 181.2, 182.4, 150.0).sentence()
    assert "It opens 5.0 s after the start" in Opening(CUT_OFF, 4.0, 5.01, 5.04, 150.0).sentence()
    quick = opening(CUT_OFF, firing(400))
    assert f"{quick.earliest_s:.0f}" == f"{quick.latest_s:.0f}"  # both would read alike
    assert f"It opens between {quick.earliest_s:.1f} s and {quick.latest_s:.1f} s" in quick.sentence()


def test_the_advice_never_bridges():
    text = advice().lower()
    for words in ("never bridge", "cause first", "same rating", "qualified people", "local rules", "unplug"):
        assert words in text
    assert text.count("bridge") == 1 and "short" not in text and "bypass" not in text


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: CutOff(39, 30, 200), "rated_C is 39 °C"),
        (lambda: CutOff(115, -1, 200), "holding_C is -1 °C"),
        (lambda: CutOff(115, 90, 1001), "limit_C is 1001 °C"),
        (lambda: CutOff(115, 90, 200, 11), "tolerance_K is 11 K"),
        (lambda: CutOff(115, 115, 200), "are 115, 115 and 200 °C: they must rise in this order"),
        (lambda: CutOff(115, 90, 115), "are 90, 115 and 115 °C: they must rise"),
        (lambda: opening(CUT_OFF, firing(), 151), "ambient_C is 151 °C"),
        (lambda: opening(CUT_OFF, firing(), math.nan), "ambient_C is nan"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: CutOff(x, 30, 500), 40, 400),
        (lambda x: CutOff(115, 90, 200, x), 0, 10),
        (lambda x: opening(CUT_OFF, firing(), x), -40, 150),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
