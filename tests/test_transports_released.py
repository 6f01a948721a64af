"""A part-toothed main gear from rest to rest, worked out by hand on the stepping machine."""

from __future__ import annotations

import pytest
from small_machine import going_round
from small_released import stepping

from mechlib import transports as tr
from mechlib.errors import MechError
from mechlib.transports import outcomes as ends
from mechlib.transports.effort import effort
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.mode_change import change_from, standing_start
from mechlib.transports.outcomes import Stand
from mechlib.transports.runs import closed_contacts
from mechlib.transports.timing import arrival, false_code, mode_margin


def told(found) -> list[tuple]:
    """Each leg: target, where from, where to, how it ended, releases."""
    return [(leg.leg.mode, leg.start_deg, leg.end_deg, leg.ended, leg.releases) for leg in found.legs]


def standing(theta: float, transport) -> Stand:
    return Stand(theta, dict.fromkeys(("main cam", "switch"), theta), "loading")


# ---- In order ----


@pytest.mark.parametrize(
    ("start", "target", "releases", "seconds", "stands"),
    [
        ("REST", "HALF", 1, 2.5, 120),
        ("REST", "RUN", 2, 6.0, 300),
        ("HALF", "RUN", 1, 3.5, 300),
        ("HALF", "REST", 2, 5.0, 0),
        ("RUN", "REST", 1, 1.5, 0),
        ("RUN", "HALF", 2, 4.0, 120),
    ],
)
def test_from_mode_to_mode(start, target, releases, seconds, stands):
    found = tr.change(stepping(), start, target)
    assert found.outcome == ends.RIGHT and found.stand.theta == stands
    assert found.releases == releases and found.time_s == pytest.approx(seconds)


def test_a_change_in_words():
    found = tr.change(stepping(), "RUN", "REST")
    assert found.legs[0].sentence() == (
        "The solenoid releases the cam 1 time from 300.0° on, waiting for REST; the latch holds it at 0.0°, "
        "where the code shows (1.5 s)."
    )
    assert found.sentence() == "RUN to REST: reached, standing at 0.0° with every follower right."


def test_rests_are_the_only_stops():
    machine = stepping()
    assert machine.senses == ("loading",)
    stands = [arrival(machine, mode, "loading") for mode in machine.mode_names]
    assert [(came.read_deg, came.stand_deg) for came in stands] == [(0, 0), (120, 120), (300, 300)]
    assert standing_start(machine, "HALF", "unloading") is None
    assert tr.change(machine, "HALF", "RUN", "unloading").outcome == ends.NO_START
    assert not any(cell.differs for cell in tr.change_table(machine).values())


def test_rests_on_the_way():
    release = stepping().release
    assert release.rests_from(0, 360) == (0, 120, 300, 360)
    assert release.rests_from(-60, 119.9) == (-60, 0) and release.rests_from(121, 299) == ()
    assert release.missing(1).rests_from(1, 700) == (300, 360, 660)
    assert "0.0°, 120.0° and 300.0°, ±0.5°" in release.sentence() and "0.50 s" in release.sentence()


def test_margins_reach_from_the_rest_to_the_edges():
    found = {mode: mode_margin(stepping(), mode) for mode in ("REST", "HALF", "RUN")}
    distances = {m: {d.follower: (d.below_deg, d.above_deg) for d in f.distances} for m, f in found.items()}
    assert distances["REST"]["code"] == pytest.approx((9, 12))
    assert distances["REST"]["lever"] == pytest.approx((12, 42))
    assert distances["HALF"]["code"] == pytest.approx((14, 4))
    assert distances["HALF"]["lever"] == pytest.approx((42, 192))
    assert distances["RUN"]["code"] == pytest.approx((7, 11))
    assert distances["RUN"]["lever"] == pytest.approx((222, 12))
    assert found["HALF"].margin_deg == pytest.approx(4) and found["HALF"].at_rest
    assert "the code would be first to stand wrong, above the stop angle" in found["HALF"].sentence()


def test_budgets_count_the_latch_and_the_switch():
    found = tr.dwell_budget(stepping(), "HALF", "code", teeth=1, switch_tolerance_deg=2, coast_spread_deg=9)
    assert dict(found.high.items) == {"switch, 1 tooth": 10, "contact edge": 2, "latch": 0.5}
    assert (found.high.there_deg, found.low.there_deg) == pytest.approx((4, 14))
    assert found.high.worst_deg == pytest.approx(12.5) and found.fixed_deg == 0
    lever = tr.dwell_budget(stepping(), "HALF", "lever")
    assert dict(lever.low.items) == {"latch": 0.5} and lever.low.there_deg == pytest.approx(42)
    assert [one.follower for one in tr.mode_budgets(stepping(), "RUN")] == ["lever", "code"]


def test_contacts_close_over_the_seam_and_on_their_edges():
    """A from -9 to 12 and 106 to 124, B from 106 to 132 and 293 to 311, turn after turn."""
    machine = stepping()
    for theta, closed in [(-9, "A"), (-9.1, ""), (12, "A"), (12.1, ""), (351, "A"), (350.9, ""), (371, "A"),
                          (732.1, ""), (106, "AB"), (105.9, ""), (-228, "B"), (-227.9, ""), (484, "AB"),
                          (484.1, "B"), (671, "B"), (671.1, "")]:  # fmt: skip
        assert closed_contacts(machine, standing(theta, machine).places) == set(closed), theta


# ---- The time-out, looked at while the cam stands ----


@pytest.mark.parametrize(
    ("seconds", "outcome", "stands", "releases"),
    [(2.5, ends.TOO_SLOW, 120, 1), (2.501, ends.RIGHT, 300, 2), (6.0, ends.RIGHT, 300, 2)],
)
def test_a_step_that_was_begun_in_time_is_finished(seconds, outcome, stands, releases):
    found = tr.change(stepping(time_out_s=seconds), "REST", "RUN")
    assert (found.outcome, found.stand.theta, found.releases) == (outcome, stands, releases)


@pytest.mark.parametrize(
    ("seconds", "stands", "releases"),
    # A turn takes 7.5 s and 3 releases; three turns are looked at, all others are counted.
    [
        (10, 120, 4), (7.5, 0, 3), (7.501, 120, 4), (22.5, 0, 9), (22.4, 0, 9), (22.6, 120, 10), (30, 0, 12),
        (97.5, 0, 39), (97.6, 120, 40), (99.9, 120, 40), (101, 300, 41), (600, 0, 240),
    ],
)  # fmt: skip
def test_a_code_that_never_shows(seconds, stands, releases):
    machine = stepping(time_out_s=seconds).with_faults(tr.split_gear("switch", 0.0), tr.open_contact("B"))
    found = tr.change(machine, "REST", "RUN")
    assert (found.outcome, found.stand.theta, found.releases) == (ends.NEVER_SEEN, stands, releases)
    assert found.powered_off and f"it turns to {stands}.0° without reading the code of RUN" in found.why


# ---- What goes wrong ----


def test_a_solenoid_that_does_not_pull():
    for fault, cause in ((tr.dead_solenoid(), "it doesn't pull"), (tr.cut_off_open(), "its cut-off is open")):
        found = tr.change(stepping().with_faults(fault), "HALF", "RUN")
        assert told(found) == [("RUN", 120, 120, ends.NEVER_SEEN, 0)]
        assert found.releases == 0 and found.time_s == 10
        assert f"the solenoid never released the cam, since {cause}" in found.why
        assert found.legs[0].sentence().startswith("The controller waits for RUN from 120.0° on; ")


def test_between_two_rests_no_release_is_needed():
    """The pinion takes the cam along all the same: 60 degrees, a second."""
    machine = stepping()
    for broken, releases in ((machine, 0), (machine.with_faults(tr.dead_solenoid()), 0)):
        found = change_from(broken, standing(60.0, machine), "60", "REST")
        on = found.legs[-1]
        if broken is machine:  # no code shows there: it homes, by way of 120 and 300
            assert [leg.purpose for leg in found.legs] == ["homing"]
            assert (on.releases, on.time_s) == (2, pytest.approx(1 + 3.5 + 1.5))
        else:
            assert (on.ended, on.end_deg, on.releases) == (ends.NEVER_SEEN, 120, releases)
    reached = change_from(machine.with_faults(tr.dead_solenoid()), standing(115.0, machine), "115", "HALF")
    assert reached.outcome == ends.RIGHT and reached.stand.theta == 115  # the code shows already


def test_a_latch_that_misses():
    worn = stepping().with_faults(tr.latch_worn("HALF"))
    found = tr.change(worn, "REST", "RUN")
    assert told(found) == [("RUN", 0, 300, ends.RIGHT, 1)] and found.time_s == pytest.approx(5.5)
    found = tr.change(worn, "REST", "HALF")  # 5.5, 7 and 12.5 s
    assert told(found) == [("HALF", 0, 660, ends.NEVER_SEEN, 3)] and found.stand.theta == 300
    assert tr.change(worn, "HALF", "RUN").outcome == ends.NO_START
    margin = mode_margin(worn, "HALF")
    assert margin.never and margin.margin_deg == -360
    assert (margin.distances[0].below_deg, margin.distances[0].above_deg) == (-360, -360)
    assert margin.sentence() == "HALF cannot stand right: code never in range between the stops."


def test_the_switch_a_tooth_out():
    """10 degrees ahead, B alone shows at 120: RUN's code; behind, none shows there."""
    machine = stepping()
    ahead, behind = (machine.with_faults(tr.slip("switch", teeth)) for teeth in (1, -1))
    found = tr.change(ahead, "REST", "RUN")
    assert found.stand.theta == 120 and found.outcome == ends.RIGHT  # the lever is right, though it is HALF
    places = standing(120.0, ahead).places
    assert closed_contacts(ahead, places) == {"B"} and false_code(ahead, "RUN", places)
    assert arrival(ahead, "RUN", "loading").stand_deg == 300  # there it shows, too, and is no false one
    assert arrival(ahead, "HALF", "loading") is None
    assert mode_margin(ahead, "HALF").margin_deg == pytest.approx(-6)
    told_so = "HALF cannot be reached: its code shows 6.0° (0.6 teeth of the main gear) away from its rest."
    assert mode_margin(ahead, "HALF").sentence() == told_so
    assert arrival(behind, "HALF", "loading").stand_deg == 120
    assert arrival(behind, "RUN", "loading") is None
    assert mode_margin(behind, "RUN").margin_deg == pytest.approx(-3)
    assert tr.slips_survived(machine, "HALF", "switch").ahead == 0
    assert tr.slips_survived(machine, "HALF", "switch").behind == 1
    assert tr.slips_survived(machine, "REST", "switch").ahead == 1


def test_an_own_code_is_preferred_to_a_false_one():
    """With A open, two rests show the code {B}: the one that always does counts."""
    machine = stepping().with_faults(tr.open_contact("A"))
    assert arrival(machine, "RUN", "loading").stand_deg == 300
    assert tr.change(machine, "RUN", "REST").outcome == ends.NEVER_SEEN


def test_faults_that_do_not_fit():
    for fault in (tr.cut_off_open(), tr.latch_worn("REST"), tr.dead_solenoid()):
        with pytest.raises(MechError, match="Round has no"):
            going_round().with_faults(fault)
    worn = stepping().with_faults(tr.latch_worn("HALF"), tr.latch_worn("RUN"), tr.latch_worn("RUN"))
    assert worn.release.rests_deg == (0,)
    with pytest.raises(MechError, match="holds at no rest"):
        worn.with_faults(tr.latch_worn("REST"))
    with pytest.raises(MechError, match="no mode is called 'PLAY'"):
        worn.with_faults(tr.latch_worn("PLAY"))


# ---- Birch: load, jams and interlocks ----


def test_a_false_code_in_a_mode_that_is_watched_powers_off():
    """PLAY is read at a rest where no reel turns, and the watch asks for its pulses."""
    found = tr.change(tr.load("birch").with_faults(tr.slip("switch rotor", 1)), "STOP", "PLAY")
    assert found.outcome == ends.FALSE_CODE and found.powered_off and found.stand.theta == pytest.approx(160)
    assert "after 2.0 s without take-up reel pulses; the machine powers off" in found.sentence()


def test_birch_stalls_in_a_step_that_was_begun_in_time():
    weak = tr.load("birch").with_faults(tr.weak_motor(20))
    stall = effort(weak, "loading").stall(0.0, 160.0)
    found = tr.change(weak, "STOP", "PAUSE")
    assert told(found)[0][2:] == (stall.theta_deg, ends.JAMMED, 1)
    at = pytest.approx(stall.theta_deg)
    assert told(found)[1] == ("STOP", at, at, ends.JAMMED, 0)  # in mesh: no release


def test_birch_jams_in_its_first_step_only_once_it_was_released():
    loose = tr.load("birch").with_faults(tr.slack_belt(8))
    found = tr.change(loose, "STOP", "PLAY")
    assert (found.outcome, found.stand.theta, found.legs[0].releases) == (ends.JAMMED, 0, 1)


def test_interlocks_of_a_cam_that_goes_round():
    """The lock is shut from 2.8 of its 3 mm on, the heads are down up to 0.15 of 7 mm: sampled, no seam."""
    birch = tr.load("birch")
    found = next(margin for margin in interlock_margins(birch) if margin.name == "heads and eject")
    turn = [k / 100 for k in range(36000)]
    shut = [at for at in turn if birch.follower("eject lock").programme.lift(at) >= 2.8]
    out = [at for at in turn if birch.follower("head plate").programme.lift(at) > 0.15]
    assert found.ahead_deg == pytest.approx(out[0] - shut[0], abs=0.03)
    assert found.behind_deg == pytest.approx(shut[-1] - out[-1], abs=0.03)
    jammed = birch.with_faults(tr.split_gear("lever cam", -out[0] + shut[0] - 0.1))
    assert tr.change(jammed, "STOP", "PLAY").why.endswith(f"at {out[0]:.1f}° (heads and eject)")
