"""A solenoid tried: its pull by Ohm's law, where it settles by bisection, and what is told about it."""

import math

import numpy as np
import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st

from mechlib.bench.solenoid_trial import AT_A, CONTROLS, DEFAULTS, MINUTES, PULL_N, trial
from mechlib.errors import MechError

near = pytest.approx
HOT = {"pull_s": 9.0, "pause_s": 1.0, "voltage_V": 14.0}  # far past every mark


def made(**values):
    return trial(**DEFAULTS | values)


def test_duty_and_heat():
    one = made()
    assert one.duty == near(0.2)
    ohm = 20 * (1 + 5 / 254.5)  # at 25 °C
    assert one.cold.power_W == near(144 / ohm)
    assert f"It pulls for 20.0% of the time and at first turns {144 / ohm / 5:.2f} W" in one.sentence()
    assert one.ambient_C == 25 and one.warming.start_s[-1] >= MINUTES * 60
    assert one.opening == one.warming.opening(one.opening.cut_off)
    assert MINUTES == 40 and 2400 <= made(time_constant_s=60.0).warming.start_s[-1] < 2400 + 10


def newtons(volts, ohm_20, celsius):
    amps = volts / (ohm_20 + ohm_20 * (celsius - 20) / 254.5)
    return 5.0 * amps * amps / 0.25


def test_the_pull_by_ohms_law():
    assert (PULL_N, AT_A) == (5.0, 0.5)
    one = made()
    assert one.cold.pull_N == near(newtons(12, 20, 25))
    last = one.warming.low_C[-1]
    assert one.warm.winding_C == last < one.opening.peak_C
    assert one.warm.pull_N == near(newtons(12, 20, last))
    opened = made(**HOT)
    assert opened.opening.surely_opens
    start = max(at for at in opened.warming.start_s if at <= opened.opening.latest_s)
    assert opened.warm.winding_C == opened.warming.at(start) < 115
    assert opened.warm.pull_N == near(newtons(14, 20, opened.warming.at(start)))


def test_the_pull_is_judged_where_the_plunger_starts():
    """During a long pull the winding gets warmer, but then the plunger is in."""
    one = made(pull_s=20.0, pause_s=50.0, needed_N=5.3)
    assert newtons(12, 20, one.opening.peak_C) < 5.3 < newtons(12, 20, max(one.warming.low_C))
    assert one.verdict() == "It pulls 6.93 N cold and 5.36 N warm, and needs 5.3 N: that does."


def test_from_where_on_it_pulls_too_little():
    for needed in (2.5, 4.0, 6.5):
        weak = made(needed_N=needed).weak_C
        assert newtons(12, 20, weak) == near(needed)
    assert made(needed_N=0.5).weak_C is None  # past 300 °C
    assert not made(needed_N=0.5).too_weak and not made(needed_N=7.0).too_weak
    weak = {"voltage_V": 4.0, "resistance_ohm": 60.0, "needed_N": 8.0}
    assert newtons(4, 60, -60) < 8 and made(**weak).too_weak and made(**weak).weak_C is None
    assert made(**weak).sentence().endswith("even the first pull is 0.09 N. It is too weak at any warmth.")
    assert "It is too weak at any warmth." in made(**weak).table() and "any warmth" not in made().table()
    just = 5 * (12 / (20 * (234.5 + 300) / 254.5)) ** 2 / 0.25  # too little from 300 °C on
    assert made(needed_N=math.floor(10 * just) / 10).weak_C is None
    more = math.ceil(10 * just) / 10
    assert newtons(12, 20, made(needed_N=more).weak_C) == near(more)


def test_verdicts():
    assert made().verdict() == "It pulls 6.93 N cold and 5.66 N warm, and needs 4.0 N: that does."
    never = made(needed_N=7.0)
    assert never.verdict() == "It never pulls in: it needs 7.0 N, and even the first pull is 6.93 N."
    tired = made(needed_N=5.0, pull_s=6.0, pause_s=4.0)
    assert tired.verdict() == "It needs 5.0 N. Cold it pulls 6.93 N; from 70.9 °C on it pulls too little."
    assert made(**HOT).verdict().endswith("with its cut-off open it is dead.")


def test_the_cut_off_in_the_four_ways():
    """Where it settles under pulls that follow fast: Δ·R(θ)/R20 = Rth·V²·duty/R20, solved by bisection."""
    for pull_s, pause_s, word in (
        (2.0, 8.0, "It stays closed"),
        (6.0, 4.0, "It may open in the long run"),
        (7.0, 3.0, "It may open from"),
        (9.0, 1.0, "It opens between"),
    ):
        one = made(pull_s=pull_s, pause_s=pause_s)
        assert word in one.sentence(), one.sentence()
        low, high = 0.0, 300.0
        for _ in range(60):
            rise = (low + high) / 2
            gets = 22 * 7.2 * pull_s / 10 / (1 + (rise + 5) / 254.5)
            low, high = (rise, high) if gets > rise else (low, rise)
        assert one.opening.peak_C == near(25 + low, abs=1.2)


def test_the_table():
    rows = made().table().split("\n\n")
    lines = rows[0].split("\n")
    assert lines[0].split() == ["after", "winding", "resistance", "current", "pull"]
    assert lines[1].split() == ["0", "min", "25.0", "°C", "20.4", "Ω", "0.588", "A", "6.93", "N"]
    assert [line.split(" ")[0] for line in lines[1:]] == ["0", "1", "2", "5", "10", "20", "40"]
    now = made().warming.at(600)
    assert f"{now:.1f} °C" in lines[5] and f"{newtons(12, 20, now):.2f} N" in lines[5]
    assert "holds up to 90.0 °C, opens between 105.0 and 115.0 °C" in rows[1]
    assert "Never bridge it" in rows[2] and "Find and mend that cause first" in rows[2]
    dead = made(**HOT).table()
    after = [minutes for minutes in (0, 1, 2, 5, 10, 20, 40) if 60 * minutes > made(**HOT).opening.latest_s]
    assert dead.count("cut-off open") == 4 * len(after) > 0


# ---- Ranges ----


POSITIONS = {name: control.positions() for name, control in CONTROLS.items()}


@given(st.fixed_dictionaries({name: st.sampled_from(each) for name, each in POSITIONS.items()}))
def test_any_setting_is_finite_or_refused(values):
    if not values["holding_C"] < values["rated_C"] < values["limit_C"]:
        with pytest.raises(MechError, match="they must rise in this order"):
            trial(**values)
        return
    one = trial(**values)
    told = one.sentence() + one.table()
    assert "nan" not in told and "inf" not in told
    assert np.all(np.isfinite(one.warming.low_C)) and np.all(one.warming.high_C >= one.ambient_C)
    assert one.warm.pull_N <= one.cold.pull_N * (1 + 1e-12)
    listed = [float(row.split()[-2]) for row in one.table().split("\n")[1:8] if row.endswith(" N")]
    assert listed[0] == near(one.cold.pull_N, abs=0.006) and min(listed) >= one.warm.pull_N - 0.006


def test_the_ranges():
    ends = {
        "voltage_V": (4, 18), "resistance_ohm": (10, 60), "pull_s": (0.1, 20), "pause_s": (0.1, 60),
        "resistance_K_W": (4, 40), "time_constant_s": (60, 900), "ambient_C": (0, 60), "needed_N": (0.5, 8),
        "rated_C": (80, 150), "holding_C": (60, 130), "limit_C": (140, 250),
    }  # fmt: skip
    wide = {"holding_C": 60.0, "rated_C": 135.0, "limit_C": 250.0}
    for name, (low, high) in ends.items():
        around = wide | ({"limit_C": 200.0} if name == "rated_C" else {})
        check_edges(lambda value, name=name, around=around: made(**around | {name: value}), low, high)
    assert {name: control.default for name, control in CONTROLS.items()} == {
        "voltage_V": 12, "resistance_ohm": 20, "pull_s": 2, "pause_s": 8, "resistance_K_W": 22,
        "time_constant_s": 300, "ambient_C": 25, "needed_N": 4, "rated_C": 115, "holding_C": 90,
        "limit_C": 200,
    }  # fmt: skip
    fine = {"voltage_V", "pull_s", "pause_s", "needed_N"}
    steps = {"resistance_ohm": 0.5, "resistance_K_W": 0.5, "time_constant_s": 10, "limit_C": 5}
    for name, control in CONTROLS.items():
        assert control.step == (0.1 if name in fine else steps.get(name, 1)), name
    with pytest.raises(MechError, match="must rise"):
        made(holding_C=120.0)
    with pytest.raises(MechError, match="pull_s is nan"):
        made(pull_s=math.nan)
