"""Meshes that skip a tooth as the drive presses on: which, which way, and how the change goes on then.

The small machine with its motor: 60 degrees a second without load, 60 N·mm over theta at most; all worked out
on paper.
"""

from __future__ import annotations

import pytest
from small_machine import ROUND_TEXT, driven, driven_values, small, spring
from test_transports_mode_change import told

from mechlib.transports import change, open_contact, slip
from mechlib.transports import outcomes as ends
from mechlib.transports.effort import effort
from mechlib.transports.files import transport_from
from mechlib.transports.mode_change import change_from
from mechlib.transports.outcomes import Stand

HOOK, LEVER, LATCH = "hook cam", "lever gear", "latch gear"


def jamming(hook=None, lever=None, motor=None, **changes):
    """A tooth ahead at the lever gear: the hook, at 61, hits the latch that opens at 64."""
    rows = {
        "hook_cam": {"slip_torque_Nmm": hook} if hook else {},
        "lever_gear": {"slip_torque_Nmm": lever} if lever else {},
    }
    return driven(motor=motor, **rows, **changes).with_faults(slip(LEVER, 1))


def test_a_mesh_skips_and_the_change_goes_on():
    """The lever gear falls back by the tooth that it was ahead: the change comes right, without a stop."""
    found = change(jamming(lever=5), "IN", "OUT")
    assert told(found) == [("loading", "OUT", -2, 98, ends.RIGHT)]
    assert found.skipped == ((LEVER, -1),) and found.time_s == pytest.approx(98 / 60)
    assert found.sentence() == (
        "IN to OUT: reached, standing at 98.0° with every follower right; on the way the lever gear skipped "
        "1 tooth and is further back now."
    )


def test_the_slipped_machine_is_the_one_that_goes_on():
    """The hook cam has 12 teeth to the turn of the drive, 30 degrees each: the hook then rises from 90 on."""
    found = change(jamming(hook=5), "IN", "OUT")
    assert found.skipped == ((HOOK, -1),) and found.stand.theta == pytest.approx(98)
    assert found.outcome == ends.SILENT_SENSOR and [w.name for w in found.wrong] == ["hook"]
    assert found.wrong[0].lift_mm == pytest.approx(8)


def test_the_weaker_mesh_skips():
    """Over theta the hook cam's torque counts 0.4, the lever gear's 0.5."""
    assert change(jamming(hook=10, lever=8.1), "IN", "OUT").skipped == ((HOOK, -1),)
    assert change(jamming(hook=10, lever=7.9), "IN", "OUT").skipped == ((LEVER, -1),)


def test_what_a_mesh_carries_already_brings_it_nearer():
    """20 N·mm of drag at the hook cam are 8 over theta and load both meshes."""
    own = {"drag_Nmm": 20}
    values = driven_values(hook_cam=own | {"slip_torque_Nmm": 30}, lever_gear={"slip_torque_Nmm": 20})
    both = transport_from(values, "driven.toml").with_faults(slip(LEVER, 1))
    assert change(both, "IN", "OUT").skipped == ((LEVER, -1),)  # 10 − 8 against 12 − 8
    for hook, skips in ((24, HOOK), (26, LEVER)):  # 9.6 or 10.4 against 20 − 10
        values = driven_values(hook_cam={"slip_torque_Nmm": hook}, lever_gear=own | {"slip_torque_Nmm": 40})
        lower = transport_from(values, "driven.toml").with_faults(slip(LEVER, 1))
        assert change(lower, "IN", "OUT").skipped == ((skips, -1),)


@pytest.mark.parametrize(
    "motor, meshes, most",
    [
        ({}, {}, 60),
        ({"friction_Nmm": 0.2}, {}, 54),
        ({"train_efficiency": 0.4}, {}, 48),
        ({}, {"lever_gear": {"mesh_efficiency": 0.5}, "hook_cam": {"mesh_efficiency": 0.8}}, 24),
        ({}, {"drive": {"drag_Nmm": 12}}, 48),
        ({}, {"lever_gear": {"drag_Nmm": 24}}, 48),
    ],
)
def test_no_skip_where_the_drive_is_too_weak(motor, meshes, most):
    """The drive's 60 N·mm over theta, less what is lost and carried, must exceed 0.4 of the slip torque."""
    for slip_torque, skips in ((most / 0.4 - 0.1, ((HOOK, -1),)), (most / 0.4 + 0.1, ())):
        rows = {name: dict(row) for name, row in meshes.items()}
        rows.setdefault("hook_cam", {})["slip_torque_Nmm"] = slip_torque
        found = change(driven(motor=motor, **rows).with_faults(slip(LEVER, 1)), "IN", "OUT")
        assert found.skipped == skips, (slip_torque, found.sentence())
        assert (found.outcome == ends.JAMMED) == (not skips)


def test_a_set_in_the_stage_loses_its_part():
    """Sun driven, ring held, 48 : 16 teeth: (1 + 3·0.9²)/4 of the power comes to the carrier."""
    one = {"name": "set", "sun": 16, "planet": 16, "ring": 48, "mesh_efficiency": 0.9}
    stage = {"name": "all", "from": {"deg": -20}, "to": {"deg": 120}, "drives": ["main cam"],
             "through": "set", "driven": "sun", "held": "ring", "turns": "carrier"}  # fmt: skip
    passes = (1 + 3 * 0.81) / 4
    for most, skips in ((passes * 60 / 0.4 - 0.1, 1), (passes * 60 / 0.4 + 0.1, 0)):
        found = change(jamming(hook=most, planetary_set=[one], stage=[stage]), "IN", "OUT")
        assert len(found.skipped) == skips
    whole = driven(lever=spring(30), planetary_set=[one], stage=[stage])
    assert change(whole, "IN", "HALF").time_s == pytest.approx(28 / 60 + 20 / (60 * (1 - 0.5 / passes)))
    for theta in (-20.0, 119.0, 120.0):
        assert effort(whole, "loading").motor_Nmm([theta])[0] == 0


def test_the_part_that_is_held_skips_ahead_in_the_unloading_sense():
    """A latch on a part of its own: on the way back it shuts at 64 onto the hook, down at 58 only."""
    values = driven_values(hook_cam={"slip_torque_Nmm": 1})
    gear = {"name": LATCH, "kind": "gear", "teeth": 36, "meshes_with": "main gear", "mark": "dot to dot"}
    values["part"].append(gear | {"slip_torque_Nmm": 5})
    values["follower"][2]["part"] = LATCH
    machine = transport_from(values, "driven.toml").with_faults(slip(LEVER, 1))
    found = change(machine, "OUT", "IN")
    assert found.skipped == ((LATCH, 1),) and found.good and found.time_s == pytest.approx(94 / 60)
    assert "the latch gear skipped 1 tooth and is further on now" in found.sentence()
    found = change(machine, "IN", "OUT")  # on the way there it is the hook that is held
    assert found.skipped == ((HOOK, -1),)


def test_a_held_cam_jams():
    """On the way back the latch is held, whose track is cut in the main cam: no mesh can skip."""
    found = change(jamming(hook=1, lever=1), "OUT", "IN")
    assert found.outcome == ends.JAMMED and found.skipped == () and found.stand.theta == pytest.approx(64)


def test_a_part_at_its_own_stop_skips():
    """A tooth behind at its low stop, on the way to an IN that can't be read: it skips ahead, and goes on."""
    lever = {"low_stop": {"deg": -24}, "high_stop": {"deg": 125}, "slip_torque_Nmm": 5}
    machine = driven(lever_gear=lever, interlock=[]).with_faults(slip(LEVER, -1), open_contact("A"))
    found = change(machine, "HALF", "IN")  # at -24 where the drive is at -17
    assert (found.skipped, found.legs[0].ended) == (((LEVER, 1),), ends.END_STOP)
    ahead = driven(lever_gear=lever, interlock=[]).with_faults(slip(LEVER, 1), open_contact("B"))
    found = change(ahead, "IN", "HALF")
    assert (found.skipped[0], found.legs[0].ended) == ((LEVER, -1), ends.END_STOP)
    assert change(driven(lever_gear=lever | {"slip_torque_Nmm": 121}, interlock=[]).with_faults(
        slip(LEVER, 1), open_contact("B")), "IN", "HALF").legs[0].ended == ends.JAMMED  # fmt: skip


def test_time_runs_on_while_teeth_skip():
    control = driven_values()["controller"]
    found = change(jamming(lever=5, controller=control | {"time_out_s": 98 / 60 + 1e-6}), "IN", "OUT")
    assert found.good and found.skipped
    found = change(jamming(lever=5, controller=control | {"time_out_s": 1.5}), "IN", "OUT")
    assert found.skipped == ((LEVER, -1),) and told(found)[0][3:] == (88, ends.TOO_SLOW)
    assert found.legs[0].time_s == 1.5


def test_at_most_twenty_teeth_skip():
    """Every ten degrees the lever gear, far ahead, reaches its stop again."""
    lever = {"high_stop": {"deg": 125}, "slip_torque_Nmm": 5}
    control = driven_values()["controller"]
    del control["retry"]
    free = driven(lever_gear=lever, interlock=[], controller=control)
    places = {name: -2.0 for name in ("main cam", "switch", LEVER, HOOK)}

    def turned_on(teeth):
        machine = free.with_faults(slip(LEVER, teeth), open_contact("B"))
        return change_from(machine, Stand(-2.0, places, "loading"), "nowhere", "HALF")

    # at 120 the lever gear may be none ahead and stand at 120; at the start 12 teeth (125 + 2 = 127 degrees)
    found = turned_on(20)
    assert len(found.skipped) == 20 and found.legs[0].ended == ends.END_STOP
    assert "the lever gear skipped 20 teeth" in found.sentence()
    found = turned_on(21)
    assert len(found.skipped) == 20 and found.legs[0].ended == ends.JAMMED
    assert found.legs[0].end_deg == pytest.approx(115)


@pytest.mark.parametrize(
    "teeth, start, target, at, skipped",
    [(7, "REST", "RUN", 173, ((HOOK, -1),)), (-3, "RUN", "REST", 302, ())],
)
def test_a_cam_that_goes_round(teeth, start, target, at, skipped):
    """The hook is up from 200 to 280, while the lever must be on, as it is from 138 to 302.

    Seven teeth ahead it rises at 130 and is held, six ahead at 140; three teeth late it is down at 310, and
    the lever is held, whose track is cut in the main cam.
    """
    values = driven_values(ROUND_TEXT)
    gear = {"name": HOOK, "kind": "gear", "teeth": 36, "meshes_with": "main gear", "mark": "dot to dot"}
    values["part"].append(gear | {"slip_torque_Nmm": 5})
    steps = [("hold", "down", 200), ("move_to", "up", 230), ("hold", "up", 250), ("move_to", "down", 280)]
    law = {"hold": {}, "move_to": {"law": "constant velocity"}}
    track = [
        {how: state, "until": {"deg": at}} | law[how] for how, state, at in [*steps, ("hold", "down", 360)]
    ]
    hook = {"name": "hook", "part": HOOK, "tolerance_mm": 1, "states": {"down": 0, "up": 15}, "track": track}
    values["follower"].append(hook)
    values["interlock"] = [
        {"name": "hook and lever", "while": {"hook": ["up", "between"]}, "must": {"lever": "on"}}
    ]
    found = change(transport_from(values, "round.toml").with_faults(slip(HOOK, teeth)), start, target)
    assert found.skipped == skipped and found.legs[0].end_deg == pytest.approx(at)
    assert (found.legs[0].ended == ends.RIGHT) == bool(skipped)


def test_a_measured_speed_and_no_motor():
    """Nothing skips, stalls or slows down: springs and slip torques are left aside."""
    values = driven_values(lever=spring(100), hook_cam={"slip_torque_Nmm": 1})
    del values["motor"]
    values["drive"]["speed_deg_s"] = 10
    machine = transport_from(values, "small.toml").with_faults(slip(LEVER, 1))
    plain = small().with_faults(slip(LEVER, 1))
    for start, target in (("IN", "OUT"), ("IN", "HALF"), ("OUT", "IN")):
        mine, other = change(machine, start, target), change(plain, start, target)
        assert (told(mine), mine.time_s, mine.skipped) == (told(other), other.time_s, ())
