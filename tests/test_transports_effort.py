"""What a motion asks of the motor, against the second way: energies differentiated, the ODE integrated.

Alder sound, slipped, bent and with every fault of its drive, and transports drawn from seeds; then general
laws of energy, and a few torques worked out on paper.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections import Counter
from importlib import resources

import numpy as np
import pytest
from second_way import SENSES, Machine
from second_way_changes import at_rest
from second_way_force import Forces
from share import times
from small_machine import driven, going_round_driven, small
from transport_makers import make_driven

from mechlib import transports as tr
from mechlib.transports.effort import effort
from mechlib.transports.files import transport_from
from mechlib.transports.outcomes import RIGHT, TOO_SLOW

ALDER = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))
FOUR_DIGITS = 5e-5
CLOSE_DEG = 0.02
A_RADIAN = 180 / np.pi


# ---- What is compared ----


def check_torques(machine: Machine, transport):
    """The torque of the motor, at angles all along the travel but for the very jumps."""
    for name, sense in SENSES.items():
        second, low, high = Forces(machine, sense), machine.low - 200, machine.high + 200
        if not machine.cycle:
            low, high = machine.low, machine.high
        theta = np.append(np.linspace(low, high, 1500), [low, high])
        theta = theta[np.min(abs(theta[:, None] - second.breaks), axis=1) > 1e-3]
        mine, torque = effort(transport, name), second.torque(theta)
        assert np.allclose(mine.motor_Nmm(theta), torque, rtol=0, atol=2e-4 * np.max(abs(torque)))
        load = second.cam(theta)
        assert np.allclose(mine.cam_Nmm(theta), load, rtol=0, atol=2e-4 * np.max(abs(load)))
        limits = [motor.limit_Nmm for motor in transport.motors]
        assert limits == pytest.approx(second.limits, rel=1e-9, abs=1e-12)
        for number, limit in enumerate(limits):
            going = (torque < 0.98 * limit) & (second.turning(theta) == number)
            assert mine.deg_s(theta)[going] == pytest.approx(second.speed(torque, number)[going], rel=0.02)


def check_legs(machine: Machine, transport) -> Counter:
    """Every leg of every change: its time, or where the motor stalled, or where the time-out found it."""
    seen, known = Counter(), {}
    for (start, _), cell in tr.change_table(transport).items():
        if cell.change.arrived is None:
            continue
        state = at_rest(machine, start, SENSES[cell.change.arrived]).state
        for run in cell.change.legs:
            sense, key = SENSES[run.leg.sense], (run.leg.sense, *np.round(list(state.values()), 6))
            way = known.setdefault(key, Forces(machine, sense, state))
            what = check_leg(way, run, transport) if run.end_deg != run.start_deg else "none"
            seen[what] += what != "coasted"
            state = {n: float(v[0]) for n, v in machine.at(run.end_deg, sense, state).items()}
            if machine.cycle:
                turns = run.end_deg // 360 * 360
                state = {name: angle - turns for name, angle in state.items()}
    return seen


def check_leg(way: Forces, run, transport) -> str:
    """Compare one leg; what it was."""
    read = run.end_deg - way.sense * transport.coast_deg
    if run.ended == RIGHT:
        if abs(read - told_reading(run)) > 0.06:
            return "coasted"  # not all the way: the reading is known to a digit only
        if starts_at_a_stall(way, run.start_deg):
            return "coasted"
        assert way.travel(run.start_deg, read) == (pytest.approx(run.time_s, rel=FOUR_DIGITS), None)
        return "timed"
    if "the belt slips" in run.why or "the motor stalls" in run.why:
        stalled = way.travel(run.start_deg, run.end_deg + 5 * way.sense)[1]
        assert abs(stalled - run.end_deg) < CLOSE_DEG
        return "stalled"
    if run.ended == TOO_SLOW and abs(run.end_deg - run.start_deg) < 700:
        time_out = transport.controller.time_out_s
        assert way.travel(run.start_deg, run.end_deg) == (pytest.approx(time_out, rel=FOUR_DIGITS), None)
        return "too slow"
    return run.ended


def starts_at_a_stall(way: Forces, start: float) -> bool:
    """Whether the motor has all but stalled where a leg begins: how long it creeps off is anybody's guess."""
    near = start + way.sense * np.linspace(1e-3, 0.5, 50)
    return bool((way.torque(near) > 0.99 * np.array(way.limits)[way.turning(near)]).any())


def told_reading(run) -> float:
    return float(re.search(r"code at (\S+)°", run.why)[1].replace("−", "-"))


# ---- Alder ----


def with_table(table: str, key: str, times: float):
    """A change of the file: one number multiplied."""
    return lambda values: values[table].__setitem__(key, values[table][key] * times)


def with_row(table: str, name: str, key: str, more: float):
    """A change of the file: so much added to one number of a named row."""

    def put(values):
        row = next(entry for entry in values[table] if entry["name"] == name)
        row[key] = row.get(key, 0.0) + more

    return put


def both(*changes):
    return lambda values: [change(values) for change in changes]


# A fault as a change of the file, or as a fault of the second way's machine, and the same in the library.
FAULTS = {
    "sound": (None, {}, ()),
    "weak motor": (with_table("motor", "stall_torque_Nmm", 0.2), {}, (tr.weak_motor(20),)),
    "hopelessly weak": (with_table("motor", "stall_torque_Nmm", 0.1), {}, (tr.weak_motor(10),)),
    "low supply": (
        both(with_table("motor", "stall_torque_Nmm", 0.5), with_table("motor", "no_load_rev_min", 0.5)),
        {}, (tr.low_supply(6),),
    ),
    "slack belt": (with_table("belt", "inside_mm", 1.03), {}, (tr.slack_belt(3),)),
    "glazed belt": (with_table("belt", "friction", 0.5), {}, (tr.glazed_belt(0.285),)),
    "hard grease": (
        with_row("part", "pinch cam", "drag_Nmm", 250.0), {}, (tr.hard_grease("pinch cam", 250),),
    ),
    "hard grease on the ring": (
        with_row("output", "transfer ring", "drag_Nmm", 150.0), {}, (tr.hard_grease("transfer ring", 150),),
    ),
    "stiff lever": (
        with_row("follower", "pinch lever", "friction_N", 4.0), {}, (tr.stiff_lever("pinch lever", 4),),
    ),
    "pinch cam out": (None, {"slips": {"pinch cam": 2}}, (tr.slip("pinch cam", 2),)),
    "loading gear out": (None, {"slips": {"loading gear": -1}}, (tr.slip("loading gear", -1),)),
    "carriage gear out": (None, {"slips": {"carriage gear": 1}}, (tr.slip("carriage gear", 1),)),
    "bent": (None, {"bends_mm": {"pinch lever": 1.5}}, (tr.bent_lever("pinch lever", 1.5),)),
}  # fmt: skip
STALL = {"hopelessly weak", "hard grease", "hard grease on the ring", "stiff lever"}
STALL |= {"slack belt", "glazed belt"}


def alder(name: str) -> tuple[Machine, object]:
    change, own, faults = FAULTS[name]
    values = copy.deepcopy(ALDER)
    if change:
        change(values)
    return Machine(values).with_faults(**own), tr.load("alder").with_faults(*faults)


@pytest.mark.parametrize("name", FAULTS)
def test_torques_of_alder(name):
    check_torques(*alder(name))


@pytest.mark.few(2)
@pytest.mark.slow
@pytest.mark.parametrize("name", ["sound", "pinch cam out", *sorted(STALL)])
def test_changes_of_alder(name):
    seen = check_legs(*alder(name))
    assert seen["timed"] > 4 and (seen["stalled"] > 0) == (name in STALL), seen


# ---- Transports drawn from seeds ----


@pytest.mark.few(1)
@pytest.mark.slow
@pytest.mark.parametrize("cyclic, first", [(False, 0), (False, 10), (False, 20), (True, 0)])
def test_drawn_transports(cyclic, first):
    seen, number = Counter(), times(3, 6 if cyclic else 10)
    for seed in range(first, first + number):
        values = make_driven(seed, cyclic)
        machine, transport = Machine(values), transport_from(values, "drawn.toml")
        check_torques(machine, transport)
        seen += check_legs(machine, transport)
    assert seen["timed"] > 2 * number and seen["stalled"] + seen["too slow"] > number // 2, seen


# ---- Energy ----


def without_losses(values: dict) -> dict:
    """The same machine with no friction, every efficiency 1, and a motor that nothing stalls."""
    motor = values["motor"] | {"train_efficiency": 1, "back_efficiency": 1, "friction_Nmm": 0}
    values = copy.deepcopy(values) | {"motor": motor | {"voltage_V": 100, "stall_torque_Nmm": 1e3}}
    for table in ("belt", "how_often", "check", "repair"):  # what is said of the belt goes with it
        values.pop(table, None)
    for row in values.get("planetary_set", []):
        row["mesh_efficiency"] = 1
    for row in (values["drive"], *values.get("output", []), *values["part"], *values["follower"]):
        for key in ("drag_Nmm", "mesh_efficiency", "friction_N"):
            row.pop(key, None)
    return values


def works_mJ(found, low: float, high: float) -> tuple[float, float]:
    """Work over a travel at the outputs and at the motor, N·mm; summed up finely."""
    theta = low + (np.arange(200_000) + 0.5) * (high - low) / 200_000
    a_step = np.radians(high - low) / 200_000
    turns = found.transport.drive.turns_per_cam_turn
    return np.sum(found.cam_Nmm(theta)) * a_step, np.sum(found.motor_Nmm(theta)) * a_step * turns


def stored(transport, sense: str, theta: float) -> float:
    """Energy in all springs, N·mm, from the lifts."""
    total, run = 0.0, effort(transport, sense).run
    for follower in transport.followers:
        spring = follower.spring
        far = follower.lift(run.slipped_place(follower.part, theta)) - spring.at_mm
        force, way = spring.force_N + spring.rate_N_mm * far, 1 if spring.force_N >= 0 else -1
        if spring.rate_N_mm:  # none is left in a spring that has gone slack
            total += force**2 / (2 * spring.rate_N_mm) * (way * force > 0)
        else:
            total += spring.force_N * far
    return total


@pytest.mark.few(2)
@pytest.mark.parametrize("seed", [None, 0, 3, 6])
def test_without_losses_work_is_what_the_springs_store(seed):
    """Over any rise it is the difference of the springs' energy; there and back it is nothing."""
    transport = transport_from(without_losses(make_driven(seed) if seed is not None else ALDER), "drawn.toml")
    low, high = transport.ends
    there, back = effort(transport, "loading"), effort(transport, "unloading")
    for a, b in ((low, high), (low / 2, high / 3)):
        rise = stored(transport, "loading", b) - stored(transport, "loading", a)
        assert works_mJ(there, a, b) == (pytest.approx(rise, abs=0.02), pytest.approx(rise, abs=0.02))
        fall = stored(transport, "unloading", a) - stored(transport, "unloading", b)
        assert works_mJ(back, a, b) == (pytest.approx(fall, abs=0.02), pytest.approx(fall, abs=0.02))
    if not any(part.play_deg for part in transport.parts):
        assert works_mJ(there, low, high)[1] + works_mJ(back, low, high)[1] == pytest.approx(0, abs=0.02)


def test_friction_is_paid_both_ways():
    """With friction only, each way costs force times distance, and nothing helps."""
    machine = driven(lever={"friction_N": 3}, hook={"friction_N": 2})
    for sense in SENSES:
        assert works_mJ(effort(machine, sense), -20, 120)[0] == pytest.approx(3 * 20 + 2 * 20, abs=0.02)


# ---- Torques on paper: the small machine's lever rises by 1 mm a degree from 20 to 40 degrees ----

UP = 30 / A_RADIAN  # N, a spring that asks 30 N·mm over theta where the lift rises by 1 mm a degree


def test_a_spring_on_paper():
    found = effort(driven(lever={"spring": {"at_mm": 5, "force_N": UP, "rate_N_mm": UP / 10}}), "loading")
    theta = np.array([19.0, 21.0, 25.0, 35.0, 39.0, 41.0])
    assert found.loads(theta)["lever"] == pytest.approx([0, 18, 30, 60, 72, 0])
    assert found.cam_Nmm(theta) == pytest.approx([0, 18, 30, 60, 72, 0])
    assert found.motor_Nmm(theta) == pytest.approx(np.array([0, 18, 30, 60, 72, 0]) / 60 / 0.5)
    bent = effort(found.transport.with_faults(tr.bent_lever("lever", 10)), "loading")
    assert bent.loads(theta)["lever"] == pytest.approx([0, 48, 60, 90, 102, 0])


def test_drags_and_meshes_on_paper():
    """ρ is 1/2 for the lever gear and 0.4 for the hook cam, which hangs on it."""
    machine = driven(
        drive={"drag_Nmm": 7},
        lever_gear={"drag_Nmm": 10, "mesh_efficiency": 0.8},
        hook_cam={"drag_Nmm": 20, "mesh_efficiency": 0.5},
    )
    for sense in SENSES:
        found = effort(machine, sense)
        carried = found.carried(found.loads(np.array([0.0])))
        assert carried["hook cam"] == pytest.approx(20 * 0.4)
        assert carried["lever gear"] == pytest.approx(10 * 0.5 + 8 / 0.5)
        assert found.cam_Nmm(np.array([0.0])) == pytest.approx(7 + 21 / 0.8)
        assert found.loads(np.array([0.0]))["drag of the hook cam"] == pytest.approx(8)


@pytest.mark.parametrize("back, torque, speed", [(0, 0.4, 48), (0.5, 0.15, 55.5), (1, -0.1, 63)])
def test_a_falling_flank_on_paper(back, torque, speed):
    """30 N·mm at the lever drive it on: nothing of it, a half or all comes to the motor, 1/60 as much."""
    machine = driven(motor={"back_efficiency": back, "friction_Nmm": 0.4}, lever={"spring": _constant(UP)})
    found, theta = effort(machine, "unloading"), np.array([27.0])
    assert found.motor_Nmm(theta) == pytest.approx(torque) and found.deg_s(theta) == pytest.approx(speed)


def test_what_helps_too_much_is_lost():
    """1200 N·mm come to 20 at the motor, which holds 2: it turns at twice its speed without load."""
    machine = driven(motor={"back_efficiency": 1}, lever={"spring": _constant(1200 / A_RADIAN)})
    found = effort(machine, "unloading")
    assert found.motor_Nmm(np.array([27.0])) == -2 and found.deg_s(np.array([27.0])) == 120


def test_a_helping_load_loses_in_its_mesh():
    part = {"mesh_efficiency": 0.6, "drag_Nmm": 0}
    machine = driven(lever_gear=part, lever={"spring": _constant(UP)})
    assert effort(machine, "unloading").cam_Nmm(np.array([27.0])) == pytest.approx(-30 * 0.6)
    assert effort(machine, "loading").cam_Nmm(np.array([27.0])) == pytest.approx(30 / 0.6)


def _constant(force: float) -> dict:
    return {"at_mm": 0, "force_N": force}


# ---- Along the way ----


def test_time_on_paper_in_any_part_of_the_way():
    """Two teeth ahead the lever rises from 0 to 20; at half speed there, at full speed before and after."""
    found = effort(driven(lever={"spring": _constant(UP)}).with_faults(tr.slip("lever gear", 2)), "loading")
    for start in (-19.3, -0.01, 0.0, 0.02, 7.77, 19.99):
        for end in (20.01, 20.0, 31.2, 119.97):
            fast = max(0, -start) + end - 20
            assert found.seconds(start, end) == pytest.approx(
                fast / 60 + (20 - max(start, 0)) / 30, abs=1e-10
            )


def test_time_in_a_slope_on_paper():
    """The torque grows by k from t: ∫dθ/(60·(1 − T/2)) is a logarithm."""
    machine = driven(lever={"spring": {"at_mm": 0, "force_N": UP / 3, "rate_N_mm": UP / 15}})
    found = effort(machine, "loading")  # T = 1/3 + x/15 at x degrees of the rise
    for start, end in ((20.0, 40.0), (20.013, 20.051), (33.33, 39.99), (38.01, 38.02)):
        left = [2 - (1 / 3 + (at - 20) / 15) for at in (start, end)]
        assert found.seconds(start, end) == pytest.approx(15 * np.log(left[0] / left[1]) / 30, rel=1e-7)
        assert found.after(start, found.seconds(start, end)) == pytest.approx(end, abs=1e-9)


def test_the_ends_of_the_way():
    found, back = effort(driven(), "loading"), effort(driven(), "unloading")
    assert found.after(-20, 0.0005) == pytest.approx(-19.97) and back.after(-19.97, 0.0004) == pytest.approx(
        -19.994
    )
    assert found.after(119.9, 1) == 120 and back.after(-19.97, 1) == -20
    assert found.after(119.97, 0.0004) == pytest.approx(119.994)


def test_a_helping_load_through_a_set():
    """Driven back from the carrier with the ring held, 4/(1 + 3/0.9²) of the power comes to the sun."""
    one = {"name": "set", "sun": 16, "planet": 16, "ring": 48, "mesh_efficiency": 0.9}
    stage = {"name": "all", "from": {"deg": -20}, "to": {"deg": 120}, "drives": ["main cam"],
             "through": "set", "driven": "sun", "held": "ring", "turns": "carrier"}  # fmt: skip
    motor = {"back_efficiency": 0.5, "friction_Nmm": 1}
    machine = driven(motor=motor, planetary_set=[one], stage=[stage], lever={"spring": _constant(UP)})
    asked = effort(machine, "unloading").motor_Nmm(np.array([27.0]))
    assert asked == pytest.approx(1 - 30 * 0.5 / 60 * 4 / (1 + 3 / 0.81))


@pytest.mark.parametrize("sense", SENSES)
def test_after_turns_seconds_round(sense):
    found = effort(tr.load("alder"), sense)
    way = (-110.0, 250.0) if sense == "loading" else (250.0, -110.0)
    whole = found.seconds(*way)
    for part in (0.0, 0.1, 0.37, 0.8, 1.0):
        assert found.seconds(way[0], found.after(way[0], part * whole)) == pytest.approx(part * whole)
    assert found.after(way[0], 1e6) == (268 if sense == "loading" else -118)
    assert found.seconds(*way) == pytest.approx(found.seconds(way[0], 17) + found.seconds(17, way[1]))


def test_stalls_on_paper():
    """The lever asks for a little more than the 60 N·mm that the drive has, from 20 (17 with play) to 40."""
    strong = driven(lever={"spring": _constant(-60.001 / A_RADIAN)})
    back, there = effort(strong, "unloading"), effort(strong, "loading")
    assert there.stall(-20, 120) is None and there.seconds(20, 40) == pytest.approx(1 / 3)
    assert back.stall(120, -20).theta_deg == pytest.approx(37, abs=1e-6)  # play held the lever until then
    there = effort(driven(lever={"spring": _constant(60.001 / A_RADIAN)}), "loading")
    assert there.stall(-20, 120).theta_deg == pytest.approx(20, abs=1e-6)
    assert there.stall(-20, 19.99) is None and there.stall(40, 120) is None
    assert there.stall(33, 120).theta_deg == pytest.approx(33, abs=1e-6)  # it can't even start
    assert there.stall(33, 33) is None and there.stall(20, 120).asked_Nmm > 2
    assert there.stall(20, 120).theta_deg == 20 and back.stall(37, -20).theta_deg == 37
    assert there.deg_s(np.array([10.0, 30.0])).tolist() == [60, 0]
    almost = effort(driven(lever={"spring": _constant(59.4 / A_RADIAN)}), "loading")
    assert almost.stall(-20, 120) is None and almost.seconds(20, 40) == pytest.approx(20 / 0.6)


def test_a_stall_in_a_slope_on_paper():
    """The spring grows by 6 N·mm a millimetre from 30: the drive's 60 are reached 5 degrees on."""
    machine = driven(lever={"spring": {"at_mm": 0, "force_N": UP, "rate_N_mm": 6 / A_RADIAN}})
    found = effort(machine, "loading").stall(-20, 120)
    assert found.theta_deg == pytest.approx(25, abs=1e-6) and found.asked_Nmm == pytest.approx(2)
    assert found.sentence() == (
        "the motor stalls at 25.0°: the load, most of it from the lever, asks more than the 2.00 N·mm "
        "that it has"
    )


def test_a_cam_that_goes_round_asks_the_same_in_every_turn():
    found = effort(going_round_driven(lever={"spring": _constant(2 * UP)}), "loading")
    theta = np.array([99.0, 101.0, 139.0, 141.0, 301.0])
    for turn in (-720, 0, 360, 1080):
        assert found.motor_Nmm(theta + turn) == pytest.approx([0, 1, 1, 0, 0])
    assert found.seconds(-7, 353) == pytest.approx(320 / 60 + 40 / 30)
    for turn in (-1080, -360, 720, 1080):  # as far as three turns from any start
        for start, end in ((99.97, 140.02), (7.3, 351.1), (120.03, 120.06)):
            slow = min(end, 140) - max(start, 100)
            expected = (end - start - slow) / 60 + slow / 30
            assert found.seconds(start + turn, end + turn) == pytest.approx(expected, abs=1e-10)


def test_a_file_with_a_measured_speed_has_no_effort():
    assert effort(small(), "loading") is None
