"""A mode change tried against its motor: shares, the worst place and the deciding leg, found a second way."""

from __future__ import annotations

import copy
import tomllib
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from edges import check_edges
from second_way import SENSES, Machine
from second_way_force import Forces
from small_machine import driven, going_round_driven, spring

from mechlib import transports as tr
from mechlib.bench.effort_trial import (
    FRICTION,
    Demand,
    Share,
    effort_trial,
    motor_shares,
)
from mechlib.transports.effort import effort

TOML = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))
ALDER = tr.load("alder")
ANYWHERE = np.random.default_rng(6).uniform(-117, 267, 400)
SPOILT = {"grown_percent": 1.5, "stiff_N": 3.0, "grease_Nmm": 40.0, "greased": "pinch cam", "voltage_V": 9.0}


def spoilt_values() -> dict:
    """The file with the same faults written into it."""
    values = copy.deepcopy(TOML)
    values["belt"]["inside_mm"] *= 1.015
    for key in ("no_load_rev_min", "stall_torque_Nmm"):
        values["motor"][key] *= 9 / 12
    named = {row["name"]: row for row in (*values["part"], *values["follower"])}
    named["pinch lever"]["friction_N"] += 3
    named["pinch cam"]["drag_Nmm"] += 40
    return values


CASES = {"sound": ({}, TOML), "spoilt": (SPOILT, spoilt_values())}
each_case = pytest.mark.parametrize("case", CASES)


# ---- Shares ----


@each_case
@pytest.mark.parametrize("sense", SENSES)
def test_shares_and_friction_are_the_whole(case, sense):
    given, values = CASES[case]
    found = effort(effort_trial(ALDER, "EJECT", "SLOW", **given).transport, sense)
    whole = 0.5 + sum(motor_shares(found, ANYWHERE).values())
    assert whole == pytest.approx(found.motor_Nmm(ANYWHERE), abs=1e-12)
    assert whole == pytest.approx(Forces(Machine(values), SENSES[sense]).torque(ANYWHERE), abs=2e-3)


@pytest.mark.parametrize("back", [0.0, 0.4])
@pytest.mark.parametrize("sense", SENSES)
def test_a_share_is_what_a_little_more_of_the_load_adds(back, sense):
    """Torques go with the loads: a thousandth more of one spring and its friction adds that of its share."""
    transport = ALDER.changed(motors=(replace(ALDER.drive, back_efficiency=back),))
    found, more = effort(transport, sense), 1e-3
    shares, signs = motor_shares(found, ANYWHERE), set()
    for follower in transport.followers:
        strong = follower.spring
        strong = replace(strong, force_N=strong.force_N * (1 + more), rate_N_mm=strong.rate_N_mm * (1 + more))
        new = replace(follower, spring=strong, friction_N=follower.friction_N * (1 + more))
        other = transport.changed(followers=tuple(new if f is follower else f for f in transport.followers))
        added = effort(other, sense).motor_Nmm(ANYWHERE) - found.motor_Nmm(ANYWHERE)
        smooth = abs(found.cam_Nmm(ANYWHERE)) > 1  # not where a sign is about to change
        assert added[smooth] / more == pytest.approx(shares[follower.name][smooth], abs=1e-6)
        signs |= set(np.sign(shares[follower.name][smooth]))
    for name, drag in transport.drags:
        assert np.all(shares[f"drag of the {name}"] >= 0) and drag > 0
    assert signs == {-1.0, 0.0, 1.0}


def test_shares_on_paper():
    """60 turns and half of it lost: 30 N·mm up a mesh of 0.8 are 1.25 at the motor; 10 of drag at ρ 1/2."""
    machine = driven(lever_gear={"mesh_efficiency": 0.8, "drag_Nmm": 10}, lever=spring(30),
                     motor={"back_efficiency": 0.4})  # fmt: skip
    up = motor_shares(effort(machine, "loading"), [25.0])
    assert up["lever"] == pytest.approx(30 / 0.8 / 60 / 0.5) and up["hook"] == 0
    assert up["drag of the lever gear"] == pytest.approx(5 / 0.8 / 60 / 0.5)
    down = motor_shares(effort(machine, "unloading"), [25.0])  # 25 N·mm drive the mesh, the train, the motor
    assert down["lever"] == pytest.approx(-30 * 0.8 * 0.4 / 60)
    assert down["drag of the lever gear"] == pytest.approx(5 * 0.8 * 0.4 / 60)


def test_what_helps_too_much_is_shared_out_too():
    machine = driven(motor={"back_efficiency": 1}, lever=spring(1200))
    assert motor_shares(effort(machine, "unloading"), [27.0])["lever"] == pytest.approx(-2)


def test_no_load_has_no_share():
    shares = motor_shares(effort(driven(), "loading"), [0.0, 30.0])
    assert all(share.tolist() == [0, 0] for share in shares.values())


# ---- The worst place ----


@each_case
@pytest.mark.parametrize(("start", "target"), [("EJECT", "PLAY"), ("PLAY", "EJECT"), ("STOP", "PAUSE")])
def test_the_worst_place_is_that_of_dense_sampling(case, start, target):
    given, values = CASES[case]
    trial = effort_trial(ALDER, start, target, **given)
    machine = Machine(values)
    sense = 1 if trial.leg.leg.sense == "loading" else -1
    (read,) = machine.readings(target, sense)
    assert trial.wanted_deg == pytest.approx(read, abs=0.05)
    theta = np.arange(min(trial.leg.start_deg, read), max(trial.leg.start_deg, read), 0.02)
    torque = Forces(machine, sense).torque(theta)
    worst = trial.worst
    assert worst.asked_Nmm == pytest.approx(torque.max(), abs=1e-3)
    assert worst.theta_deg == pytest.approx(theta[np.argmax(torque)], abs=0.3)
    at = Forces(machine, sense).loads(np.array([worst.theta_deg]))
    named = {(name if isinstance(name, str) else f"drag of the {name[0]}"): float(load[0])
             for name, (_, load) in at.items()}  # fmt: skip
    assert worst.heaviest == max(named, key=named.get)
    assert all(share.cam_Nmm == pytest.approx(named[share.name], abs=0.05) for share in worst.shares)
    told = sum(share.motor_Nmm for share in worst.shares) + worst.friction_Nmm
    assert told == pytest.approx(worst.asked_Nmm, abs=0.01)
    assert [s.motor_Nmm for s in worst.shares] == sorted((s.motor_Nmm for s in worst.shares), reverse=True)


def test_a_narrow_worst_place_is_found_to_the_hundredth():
    worst = effort_trial(ALDER, "STOP", "PLAY").worst
    near = worst.theta_deg + np.linspace(-1, 1, 20001)
    torque = effort(ALDER, "loading").motor_Nmm(near)
    assert worst.theta_deg == pytest.approx(near[np.argmax(torque)], abs=0.0051)


def test_the_worst_place_is_on_the_way():
    """The spring grows over the rise from 20 to 40, so that most is asked at its end."""
    machine = driven(lever={"spring": {"at_mm": 0, "force_N": 0.1, "rate_N_mm": 0.01}})
    worst = effort_trial(machine, "IN", "HALF").worst
    assert worst.theta_deg == pytest.approx(40, abs=0.011) and worst.heaviest == "lever"
    assert worst.asked_Nmm == pytest.approx(0.3 * 180 / np.pi / 30, rel=1e-3)
    assert effort_trial(machine, "HALF", "OUT").worst == Demand(pytest.approx(52, abs=9), 0, 0, ())


def test_who_is_the_heaviest():
    lever, drag = Share("lever", 30, 0.4), Share("drag of the gear", 9, 0.1)
    assert Demand(1, 0.9, 0.4, (lever, drag)).heaviest == "lever"
    assert Demand(1, 0.91, 0.41, (lever, drag)).heaviest == FRICTION
    assert Demand(1, 0.5, 0.5, ()).heaviest == FRICTION
    assert Demand(1, 0.9, 0.4, (lever, drag)).largest.words("by") == (
        "the largest shares by the lever and the train's own friction"
    )
    assert Demand(1, 0.8, 0.3, (lever, drag)).largest.words("by") == "the largest share by the lever"  # half
    assert Demand(1, 0.79, 0.29, (lever, drag)).largest.words("by") == "most of it by the lever"
    helps = Share("hook", -9, -0.3)  # half of what is asked, though the whole comes to less
    assert Demand(1, 0.6, 0.4, (lever, drag, helps)).largest.half is False
    assert Demand(12.34, 0.9, 0.4, (lever, drag)).table().splitlines() == [
        "at 12.3°              at the main cam  at the motor",
        "lever                       30.0 N·mm     0.40 N·mm",
        "drag of the gear             9.0 N·mm     0.10 N·mm",
        "train's own friction                      0.40 N·mm",
        "all together                              0.90 N·mm",
    ]


def test_what_is_asked_anywhere():
    """Coming down, the pinch lever's spring turns the cam, and the worm lets nothing of it through."""
    trial = effort_trial(ALDER, "PLAY", "STOP")
    assert trial.at(129.7) == Demand(129.7, 0.5, 0.5, ())
    up = effort_trial(ALDER, "STOP", "PLAY").at(129.7)
    assert up.asked_Nmm == pytest.approx(effort(ALDER, "loading").motor_Nmm(np.array([129.7]))[0])
    check_edges(trial.at, -118, 268)
    check_edges(effort_trial(going_round_driven(), "REST", "RUN").at, -720, 1080)


def test_small_shares_are_left_out():
    """0.15 N·mm at the cam are 0.005 at the motor."""
    for load, told in ((0.1501, 1), (0.1499, 0)):
        assert len(effort_trial(driven(lever=spring(load)), "IN", "HALF").worst.shares) == told


# ---- The leg that decides ----


def test_the_first_leg_that_failed_decides_else_the_longest():
    there = effort_trial(ALDER, "PLAY", "STOP")  # on to SLOW first, then back
    assert [leg.leg.sense for leg in there.change.legs] == ["loading", "unloading"]
    assert there.leg is there.change.legs[1] and there.effort.run.sense == "unloading"
    late = effort_trial(ALDER, "EJECT", "SLOW", voltage_V=7.0)
    assert [leg.ended for leg in late.change.legs] == ["too slow", "reached", "reached"]
    assert late.leg is late.change.legs[0]
    back = effort_trial(ALDER, "PLAY", "STOP", grown_percent=2.2)
    assert back.leg is back.change.legs[1] and back.leg.ended == "jammed"


def test_the_change_is_that_of_the_faulty_machine():
    faults = (tr.weak_motor(60), tr.low_supply(9), tr.slack_belt(1), tr.glazed_belt(0.57 * 80 / 100),
              tr.hard_grease("brake cam", 12), tr.stiff_lever("reel idler", 2))  # fmt: skip
    given = {"voltage_V": 9, "grown_percent": 1, "friction_percent": 80, "motor_percent": 60,
             "greased": "brake cam", "grease_Nmm": 12, "stiff": "reel idler", "stiff_N": 2}  # fmt: skip
    trial, other = effort_trial(ALDER, "STOP", "PLAY", **given), ALDER.with_faults(*faults)
    assert trial.change.story() == tr.change(other, "STOP", "PLAY").story()
    assert trial.transport.drive == other.drive and trial.transport.followers == other.followers
    assert effort_trial(ALDER, "STOP", "PLAY").transport == ALDER
    named = effort_trial(ALDER, "STOP", "PLAY", grease_Nmm=30, stiff_N=1).transport
    assert named.roots[0].drag_Nmm == 48 and named.follower("pinch lever").friction_N == 1.3


def test_wanted_on_a_cam_that_goes_round():
    """RUN is read at 171, coming from 353 of the turn before; REST at 351, and at 351 again a turn on."""
    machine = going_round_driven()
    trial = effort_trial(machine, "REST", "RUN")
    assert trial.leg.start_deg == 353 and trial.wanted_deg == 360 + 171
    assert effort_trial(machine, "RUN", "REST").wanted_deg == 351
    worst = effort_trial(going_round_driven(lever=spring(40)), "REST", "RUN").worst
    assert 100 <= worst.theta_deg <= 140 and worst.heaviest == "lever"  # on the turn after


def test_wanted_where_the_code_is_not_ahead():
    """Not found on the way to DOWN, as it has been passed: then the way is what was run."""
    trial = effort_trial(ALDER, "PLAY", "EJECT")
    passed = replace(trial.leg, start_deg=-117.9)
    trial.__dict__["leg"] = passed
    assert trial.wanted_deg == passed.end_deg
    near = effort_trial(ALDER, "STOP", "PLAY")
    near.__dict__["leg"] = replace(near.leg, start_deg=208.5)
    assert near.wanted_deg == pytest.approx(208.8)


def test_the_worst_place_is_not_before_the_start_nor_beyond_the_end():
    """The highest hump stands at 129.7: of a way from 131 on, or up to 128, the worst place is that end."""
    late, early = (effort_trial(ALDER, "STOP", "PLAY") for _ in range(2))
    late.__dict__["leg"] = replace(late.leg, start_deg=131.0)
    early.__dict__["wanted_deg"] = 128.0
    assert (late.worst.theta_deg, early.worst.theta_deg) == (131, 128)


@pytest.mark.parametrize(
    "friction, lever, grease, told",
    [  # N·mm at the motor, of which it has 2; the spring in N·mm at the cam, 30 times as much
        (1.1, 30, 0, "most of it {} the train's own friction"),  # 1.1 of 2.1
        (0.9, 30, 9, "the largest share {} the lever"),  # 1.0 of 2.2
        (0.9, 24, 15, "the largest share {} the train's own friction"),  # 0.9 of 2.2
        (0.1, 39, 39, "the largest shares {} the lever and the drag of the main cam"),  # 1.3 of 2.7 each
        (0.1, 15, 48, "most of it {} the drag of the main cam"),  # 1.6 of 2.2
    ],
)
def test_the_stall_and_the_worst_place_name_the_same(friction, lever, grease, told):
    """All is asked alike on the whole rise from 20 on, so that the motor stalls where most is asked."""
    machine = driven(motor={"friction_Nmm": friction}, lever=spring(lever))
    trial = effort_trial(machine, "IN", "HALF", greased="main cam", grease_Nmm=grease)
    assert f"the motor stalls at 20.0°: the load, {told.format('from')}, asks more" in trial.change.why
    assert f", {told.format('by')}; the motor has 2.00 N·mm." in trial.demand()


def test_the_train_s_own_friction_is_the_largest_share_but_not_most():
    trial = effort_trial(tr.load("birch"), "STOP", "PLAY")
    birch = tomllib.loads((resources.files("mechlib.transports") / "data" / "birch.toml").read_text("utf-8"))
    friction = birch["motor"]["friction_Nmm"]
    found = Forces(Machine(birch), 1).loads(np.array([trial.worst.theta_deg]))
    at = np.array([float(load[0]) for _, load in found.values()])
    others = at * (trial.worst.asked_Nmm - friction) / at.sum()  # much the same losses on every way up
    assert others.max() < 0.95 * friction and friction < 0.45 * trial.worst.asked_Nmm
    assert "the largest share by the train's own friction" in trial.demand()


# ---- In words ----


def test_sentences():
    sound = effort_trial(ALDER, "EJECT", "PLAY")
    assert sound.sentence() == (
        f"{sound.change.sentence()} It takes 4.6 s. On the way to PLAY the motor is asked for 2.55 N·mm at "
        "most, at 129.7°, most of it by the pinch lever; the belt passes on 3.25 N·mm."
    )
    assert sound.meters() == ALDER.drive.motor.at(sound.worst.asked_Nmm).sentence()
    assert sound.table() == f"{sound.change.story()}\n\n{sound.worst.table()}\n\n{sound.meters()}"
    slipping = effort_trial(ALDER, "EJECT", "PLAY", grown_percent=2)
    assert "It ends after 17.6 s. On the way to PLAY" in slipping.sentence()
    assert slipping.meters().startswith("At 2.35 N·mm the motor turns at +3137 rev/min")
    stalled = effort_trial(ALDER, "EJECT", "PLAY", motor_percent=20)
    assert stalled.demand().endswith("the motor has 2.00 N·mm.")
    assert (
        stalled.meters()
        == "At 2.00 N·mm the motor stands still and draws 0.072 A: all 0.86 W turn into heat."
    )
    loose = effort_trial(ALDER, "EJECT", "PLAY", grown_percent=8)
    assert loose.demand().endswith("the belt passes on 0.00 N·mm.") and loose.worst.asked_Nmm > 2.5


# ---- What fails first ----


def first_failing(name: str, values) -> set[tuple[str, str]]:
    """The changes that fail at the first of the values at which any does; loaded or unloaded alike."""
    pairs = [(a, b) for a in ALDER.mode_names for b in ALDER.mode_names if a != b]
    for value in values:
        failed = {
            pair for pair in pairs if effort_trial(ALDER, *pair, **{name: value}).leg.ended != "reached"
        }
        if failed:
            return failed
    raise AssertionError("nothing fails")


@pytest.mark.slow
def test_low_volts_fail_on_the_longest_way_and_a_slack_belt_on_the_heaviest():
    longest = first_failing("voltage_V", np.arange(8.4, 7.4, -0.1).round(1))
    assert longest == {("EJECT", "SLOW")}
    heavy = first_failing("grown_percent", np.arange(1.4, 2.4, 0.1).round(1))
    crosses = {(a, b) for a, b in heavy if {a, b} <= {"REVIEW", "PAUSE", "PLAY", "SLOW", "STOP", "DOWN"}}
    assert ("PLAY", "STOP") in crosses and ("EJECT", "DOWN") not in heavy and ("DOWN", "WIND") not in heavy
