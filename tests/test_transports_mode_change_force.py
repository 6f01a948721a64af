"""Mode changes of the small machine with its motor: times and stalls worked out on paper.

60 degrees a second without load; the drive has 60 N·mm over theta, and at half of that half the speed.
"""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from small_machine import (
    EVEN_BELT,
    ROUND_TEXT,
    driven,
    driven_values,
    going_round,
    going_round_driven,
    spring,
)
from test_transports_mode_change import told

from mechlib.transports import (
    change,
    dead_driver,
    load,
    low_supply,
    open_contact,
    slack_belt,
    slip,
    split_gear,
    weak_motor,
)
from mechlib.transports import outcomes as ends
from mechlib.transports.effort import effort
from mechlib.transports.mode_change import change_from
from mechlib.transports.outcomes import Stand


def waiting(seconds: float, **changes):
    """The machine with its motor and another time-out."""
    control = driven_values()["controller"] | {"time_out_s": seconds}
    return driven(controller=control, **changes)


# ---- Times ----


def test_without_load():
    found = change(driven(), "IN", "HALF")
    assert told(found) == [("loading", "HALF", -2, 48, ends.RIGHT)]
    assert found.outcome == ends.RIGHT and found.time_s == pytest.approx(48 / 60)


def test_half_the_speed_over_the_rise():
    found = change(driven(lever=spring(30)), "IN", "HALF")
    assert found.outcome == ends.RIGHT and found.time_s == pytest.approx(28 / 60 + 20 / 30)
    back = change(driven(lever=spring(30)), "HALF", "IN")  # 48 to 4; the falling flank doesn't help
    assert back.time_s == pytest.approx(44 / 60)
    helped = change(driven(lever=spring(30), motor={"back_efficiency": 0.8}), "HALF", "IN")
    assert helped.time_s == pytest.approx(24 / 60 + 20 / (60 * 1.2))  # 0.4 N·mm of 2 at the motor


def test_train_friction_slows_it():
    found = change(driven(motor={"friction_Nmm": 0.5}), "IN", "HALF")
    assert found.time_s == pytest.approx(48 / 45)


def test_a_low_supply_and_a_weak_motor():
    assert change(driven().with_faults(low_supply(5)), "IN", "HALF").time_s == pytest.approx(48 / 30)
    weak = driven(lever=spring(30)).with_faults(weak_motor(75))  # 1 N·mm of 1.5
    assert change(weak, "IN", "HALF").time_s == pytest.approx(28 / 60 + 20 / 20)


def test_too_slow():
    found = change(waiting(1.0, lever=spring(30)), "IN", "HALF")
    at = 20 + 30 * (1 - 22 / 60)  # 22 degrees at 60 a second, the rest at 30
    assert told(found)[0] == ("loading", "HALF", -2, round(at, 6), ends.TOO_SLOW)
    assert (found.outcome, found.powered_off) == (ends.TOO_SLOW, True)
    assert "before the code of HALF is reached" in found.sentence()
    assert [leg.time_s for leg in found.legs][0] == 1.0


def test_a_time_out_that_is_just_met():
    whole = 28 / 60 + 20 / 30
    assert change(waiting(whole, lever=spring(30)), "IN", "HALF").outcome == ends.RIGHT
    assert change(waiting(whole + 1e-4, lever=spring(30)), "IN", "HALF").outcome == ends.RIGHT
    short = change(waiting(whole - 1e-4, lever=spring(30)), "IN", "HALF")
    assert told(short)[0] == ("loading", "HALF", -2, pytest.approx(46 - 60e-4), ends.TOO_SLOW)


def test_too_slow_on_the_way_back():
    found = change(waiting(0.5), "HALF", "IN")
    assert told(found)[0] == ("unloading", "IN", 48, 18, ends.TOO_SLOW)


def test_a_code_that_is_nowhere_is_never_seen():
    found = change(waiting(1.5).with_faults(open_contact("B")), "IN", "HALF")
    assert told(found)[0] == ("loading", "HALF", -2, 88, ends.NEVER_SEEN)
    found = change(driven().with_faults(open_contact("B")), "IN", "HALF")
    assert told(found)[0] == ("loading", "HALF", -2, 120, ends.END_STOP)


# ---- Stalls ----


def test_a_stall_at_the_foot_of_the_rise():
    found = change(driven(lever=spring(60.001)), "IN", "HALF")
    assert told(found) == [
        ("loading", "HALF", -2, 20, ends.JAMMED),
        ("unloading", "IN", 20, 2, ends.RIGHT),
        ("loading", "HALF", 2, 20, ends.JAMMED),
    ]
    assert (found.outcome, found.powered_off) == (ends.JAMMED, True)
    assert found.time_s == pytest.approx(20 + 16 / 60 + 20)
    assert found.sentence() == (
        "IN to HALF: jammed, waiting for HALF: the motor stalls at 20.0°: the load, most of it from the "
        "lever, asks more than the 2.00 N·mm that it has; the machine powers off, standing at 20.0°."
    )
    assert change(driven(lever=spring(59.9)), "IN", "OUT").legs[0].ended == ends.TOO_SLOW  # it creeps
    assert change(driven(lever=spring(-60.001)), "HALF", "IN").stand.theta == pytest.approx(37)  # play 3


def test_a_stall_beyond_the_code_is_not_met():
    """The hook rises from 70 on; HALF is read at 46."""
    heavy = driven(hook={"friction_N": 2})
    assert change(heavy, "IN", "HALF").good
    assert change(heavy, "IN", "OUT").stand.theta == pytest.approx(70)


def test_a_stall_after_the_time_out_is_not_met():
    heavy = {"hook": {"friction_N": 2}}
    assert change(waiting(1.1, **heavy), "IN", "OUT").outcome == ends.TOO_SLOW  # 64 degrees
    assert change(waiting(1.25, **heavy), "IN", "OUT").outcome == ends.JAMMED  # it would come to 73


@pytest.mark.parametrize("seconds, ended", [(0.74, ends.TOO_SLOW), (0.76, ends.JAMMED)])
def test_creeping_up_to_a_stall(seconds, ended):
    """T = 1 + x/5 at x degrees of the rise: the stall at 25 is never quite reached, 24.5 after 0.750 s."""
    lever = {"spring": {"at_mm": 0, "force_N": pi / 6, "rate_N_mm": pi / 30}}
    found = change(waiting(seconds, lever=lever), "IN", "HALF")
    assert found.legs[0].ended == ended and 24 < found.legs[0].end_deg <= 25
    assert found.legs[0].end_deg == pytest.approx(25) or ended == ends.TOO_SLOW


def test_standing_at_the_end_stop():
    """OUT is read at 96 and the stop is at 97; from there a leg in the loading sense can't move at all."""
    route = {"from": ["OUT"], "to": "HALF", "legs": [{"sense": "loading", "mode": "HALF"}]}
    control = driven_values()["controller"] | {"change": [route]}
    machine = driven(controller=control, drive={"high_stop": {"deg": 97}})
    assert told(change(machine, "OUT", "HALF"))[0] == ("loading", "HALF", 97, 97, ends.END_STOP)
    dead = change(machine.with_faults(dead_driver("loading")), "OUT", "HALF")
    assert told(dead)[0] == ("loading", "HALF", 97, 97, ends.NEVER_SEEN)


def test_the_first_of_two_obstacles():
    """The levers collide at 61, and at 115 the lever gear would reach its own stop."""
    machine = driven(lever_gear={"high_stop": {"deg": 125}}).with_faults(slip("lever gear", 1))
    assert told(change(machine, "IN", "OUT"))[0][3:] == (61, ends.JAMMED)


def test_an_obstacle_before_the_stall_and_after_it():
    """The hook leaves "down" at 61 where the lever gear is a tooth ahead, and collides; it rises from 60."""
    jam = driven(hook={"friction_N": 0.4}).with_faults(slip("lever gear", 1))
    assert "collide at 61.0°" in change(jam, "IN", "OUT").why
    stall = driven(hook={"friction_N": 2}).with_faults(slip("lever gear", 1))
    found = change(stall, "IN", "OUT")
    assert found.stand.theta == pytest.approx(60) and "most of it from the hook" in found.why


def test_a_belt_that_slips():
    """2.65 N·mm hold; with half the modulus it is 1.32, and 1.4 are asked for."""
    belted = driven(lever=spring(42), belt=EVEN_BELT)
    assert change(belted, "IN", "HALF").good
    half = driven(lever=spring(42), belt=EVEN_BELT | {"modulus_MPa": 2.5})
    found = change(half, "IN", "HALF")
    assert found.stand.theta == pytest.approx(20)
    assert "the belt slips at 20.0°" in found.why and "the 1.32 N·mm that it passes on" in found.why


def test_creep_takes_its_time():
    """1 N·mm pulls 0.2 N through the belt, as worked out in ``test_transports_motor_drive``."""
    found = change(driven(lever=spring(30), belt=EVEN_BELT), "IN", "HALF")
    assert found.time_s == pytest.approx(28 / 60 + 20 / (30 * 5.411295 / 5.611295))


def test_a_loose_belt_and_a_train_that_is_too_stiff():
    loose = driven(belt=EVEN_BELT).with_faults(slack_belt(12))
    found = change(loose, "IN", "HALF")
    assert told(found)[0] == ("loading", "HALF", -2, pytest.approx(-2), ends.JAMMED)
    assert "the belt hangs loose and pulls nothing: the drive stands at −2.0°" in found.sentence()
    for helped in (0, 1):  # whatever would help it on
        stiff = driven(motor={"friction_Nmm": 2, "back_efficiency": helped}, lever=spring(30))
        found = change(stiff, "IN", "HALF")
        assert found.stand.theta == pytest.approx(-2)
        assert "most of it from the train's own friction" in found.why
    assert change(driven(motor={"friction_Nmm": 1.99}), "IN", "HALF").outcome == ends.TOO_SLOW


def test_a_retry_after_a_stall_goes_home():
    """From a stall the retry turns back and reads IN; the second try stalls where the first did."""
    control = driven_values()["controller"] | {"retry": {"sense": "unloading", "mode": "IN", "times": 1}}
    found = change(driven(controller=control, lever=spring(61)), "IN", "HALF")
    assert [leg.purpose for leg in found.legs] == ["", "retry", ""] and found.outcome == ends.JAMMED


def test_a_retry_that_reaches_the_target_after_a_stall():
    control = driven_values()["controller"] | {"retry": {"sense": "unloading", "mode": "HALF"}}
    found = change(driven(controller=control, hook={"friction_N": 2}), "HALF", "OUT")
    assert told(found) == [
        ("loading", "OUT", 48, 70, ends.JAMMED),
        ("unloading", "HALF", 70, 52, ends.RIGHT),
        ("loading", "OUT", 52, 70, ends.JAMMED),
    ]


# ---- A dead driver ----


def test_a_dead_driver():
    found = change(driven().with_faults(dead_driver("loading")), "IN", "HALF")
    assert told(found)[0] == ("loading", "HALF", -2, -2, ends.NEVER_SEEN)
    assert found.outcome == ends.NEVER_SEEN and found.powered_off and found.legs[0].time_s == 20
    assert "the motor doesn't turn in the loading sense" in found.sentence()
    assert found.story().startswith("The controller asks for the loading sense at −2.0° and waits for HALF;")
    machine = driven().with_faults(dead_driver("unloading"))
    assert change(machine, "IN", "HALF").good and change(machine, "IN", "IN").good
    found = change(machine, "HALF", "IN")
    assert found.outcome == ends.NEVER_SEEN and found.stand.theta == pytest.approx(48)


# ---- A cam that goes round ----


def test_round_and_round():
    """From −7 to the code at 171: 40 degrees of it at half speed."""
    machine = going_round_driven(lever=spring(2 * 30))
    found = change(machine, "REST", "RUN")
    assert found.good and found.time_s == pytest.approx(138 / 60 + 40 / 30)
    found = change(machine, "RUN", "REST")  # from 173 to 351; the falling flank doesn't help
    assert found.good and found.time_s == pytest.approx(178 / 60)


@pytest.mark.parametrize("seconds, at", [(10, 153), (30, 153), (3.5, 163), (31, 213), (60, 353), (20, 353)])
def test_a_code_that_never_comes_round(seconds, at):
    """A turn takes 320/60 + 40/30 = 6 2/3 s: from −7 the time-out finds it after so many turns and a rest.

    10 s are a turn and 3.333 s: 107 degrees in 1.783, 40 in 1.333, 13 in the rest; 60 s are nine turns.
    """
    machine = going_round_driven(
        lever=spring(2 * 30),
        controller=driven_values(ROUND_TEXT)["controller"] | {"time_out_s": seconds},
    ).with_faults(open_contact("B"))
    found = change_from(machine, Stand(-7.0, {"main cam": -7.0, "switch": -7.0}, "loading"), "REST", "RUN")
    assert found.outcome == ends.NEVER_SEEN and found.stand.theta == pytest.approx(at)


@pytest.mark.parametrize("sense, at", [("loading", 143), ("unloading", 203)])
def test_a_code_that_never_comes_round_at_a_measured_speed(sense, at):
    """20.5 s at 60 degrees a second are three turns and 150 degrees: from −7 on, or back."""
    route = {"from": ["REST"], "to": "RUN", "legs": [{"sense": sense, "mode": "RUN"}]}
    control = driven_values(ROUND_TEXT)["controller"] | {"time_out_s": 20.5, "change": [route]}
    machine = going_round(controller=control).with_faults(open_contact("B"))
    found = change_from(machine, Stand(-7.0, {"main cam": -7.0, "switch": -7.0}, sense), "REST", "RUN")
    assert found.outcome == ends.NEVER_SEEN and found.stand.theta == pytest.approx(at)


def test_a_stall_on_the_way_round():
    machine = going_round_driven(lever=spring(2 * 61))
    found = change(machine, "REST", "RUN")
    assert found.outcome == ends.JAMMED and found.stand.theta == pytest.approx(100)
    assert change(machine, "RUN", "REST").good


# ---- Alder ----


def test_alder_takes_a_believable_time():
    """One to some six seconds for each change, and slower and slower on a sagging supply."""
    alder = load("alder")
    times = [change(alder.with_faults(low_supply(v)), "EJECT", "PLAY").time_s for v in (12, 10, 8)]
    assert 3 < times[0] < 6 and times[0] < times[1] < times[2]
    assert change(alder.with_faults(split_gear("pinch cam", 40.0)), "EJECT", "PLAY").outcome == ends.JAMMED


def test_a_stall_a_twentieth_of_a_degree_before_the_code_is_met():
    """Nearer to the code than the places at which the load is looked at, 1/16 of a degree apart."""
    alder = load("alder").with_faults(slip("pinch cam", 2), slack_belt(3.94))
    code, stall = 149.0, 149.0505
    asked, limit = effort(alder, "unloading").motor_Nmm(np.array([stall + 1e-3, stall - 1e-3])), alder.drive
    assert asked[0] < limit.limit_Nmm < asked[1]
    (leg, *_) = change(alder, "PAUSE", "REVIEW").legs
    assert leg.ended == ends.JAMMED and code < leg.end_deg == pytest.approx(stall, abs=1e-3)
