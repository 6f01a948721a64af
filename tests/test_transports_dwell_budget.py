"""Dwell budgets worked out on paper."""

from dataclasses import replace
from math import hypot, inf

import pytest
from small_machine import going_round, small, values

from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.dwell_budget import (
    ALLOWANCES,
    STOPPED,
    budget_summary,
    budget_table,
    dwell_budget,
    mode_budgets,
)
from mechlib.transports.timing import THE_CODE

near = pytest.approx


def asked(budget):
    return {c.name: (c.low_deg, c.high_deg) for c in budget.contributions}


# ---- On paper ----


def test_a_budget_on_paper():
    # the lever is on from 39 of its gear on; it stands at 48, and at 52 + 3 of play when unloading
    found = dwell_budget(small(), "HALF", "lever", 1, 1.0, 0.5)
    assert asked(found) == {
        "lever gear, 1 tooth": (near(10), near(10)),
        "switch, 1 tooth": (near(10), near(10)),
        "contact edge": (near(1), near(1)),
        "coasting": (near(0.5), near(0.5)),
    }
    assert dict(found.fixed) == near(
        {"contact width": 10, "play of the lever gear": 3, "settling": -2, "coasting": -4}
    )
    low, high = found.low, found.high
    assert (low.side, low.sense, low.at_deg, low.there_deg) == ("below", "loading", near(48), near(9))
    assert (high.side, high.sense, high.at_deg, high.there_deg) == ("above", "unloading", near(55), inf)
    assert low.worst_deg == near(21.5) and low.rss_deg == near(hypot(10, 10, 1, 0.5))
    assert low.spare_deg == near(-12.5) and low.spare_rss_deg == near(9 - hypot(10, 10, 1, 0.5))
    assert found.needed_deg == near(7 + 43) and found.needed_rss_deg == near(7 + 2 * low.rss_deg)
    assert found.there_deg == inf and found.tight is low
    assert "needs 50.0° at worst, 35.4° by root-sum-square, and has no limit" in found.sentence()
    assert "12.5° short below the stop angle and no limit above the stop angle." in found.sentence()


def test_a_dwell_with_both_ends_has_a_length():
    # off up to 21 of the lever gear: give it a beginning at -39 of the track
    track = values()["follower"][0]["track"]
    move = {"move_to": "off", "until": {"deg": -38}, "law": "constant velocity"}
    track[:1] = [{"hold": "on", "until": {"deg": -58}}, move, track[0]]
    file = values()
    file["follower"][0]["track"] = track
    found = dwell_budget(small(**file), "IN", "lever", 0, 1.5, 0)
    # unloading, it stands at 2 + 3; the dwell is from -39 to 21
    assert (found.low.there_deg, found.high.there_deg) == (near(44), near(16))
    assert found.there_deg == near(60) and found.needed_deg == near(3) and found.fixed == ()
    assert "is 60.0°; at worst 42.5° to spare below" in found.sentence()
    assert found.tight is found.high


def test_every_mesh_of_the_follower_counts_with_its_own_pitch():
    found = dwell_budget(small(), "OUT", "hook", 2, 0, 0)
    assert asked(found) == {
        "lever gear, 2 teeth": (near(20), near(20)),
        "hook cam, 2 teeth": (near(60), near(60)),
        "switch, 2 teeth": (near(20), near(20)),
        "contact edge": (0, 0),
        "coasting": (0, 0),
    }


def test_a_mesh_that_moves_follower_and_contact_alike_asks_nothing():
    file = values()
    file["part"][0] |= {"meshes_with": "lever gear", "parent_teeth": 24}
    found = dwell_budget(small(**file), "HALF", "lever")
    assert asked(found)["lever gear, 1 tooth, as the contact"] == (0, 0)
    assert asked(found)["switch, 1 tooth"] == (near(30), near(30))
    # its play too: the contact's edges come as much earlier as the follower's
    assert dict(found.fixed) == near({"contact width": 10, "settling": -2, "coasting": -4})
    latch = dwell_budget(small(**file), "HALF", "latch")
    assert "lever gear, 1 tooth" in asked(latch) and latch.low.there_deg == inf
    assert dict(latch.fixed)["play of the lever gear"] == near(-3)


def test_a_cam_cannot_coast_by_less_than_nothing():
    coasting = {
        mode: asked(dwell_budget(small(), mode, "lever", 0, 0, 5))["coasting"] for mode in ("IN", "OUT")
    }
    assert coasting == {"IN": (near(5), near(2)), "OUT": (near(2), near(5))}  # unloading, loading


def test_a_stop_takes_what_lies_beyond_it():
    # IN is reached at +2, unloading; the stop at -1 lets the cam go 3 further only
    machine = small().changed(low_deg=-1.0)
    found = dwell_budget(machine, "IN", "lever", 1, 1.0, 0.5)
    assert found.low.worst_deg == near(10 + 3) and asked(found)[STOPPED] == (near(13 - 14.5), 0)
    assert found.low.rss_deg == near(hypot(10, 3)) and found.high.worst_deg == near(21.5)
    high = dwell_budget(small().changed(high_deg=99.0), "OUT", "lever", 1, 1.0, 0.5)  # it stands at 98
    assert high.high.worst_deg == near(10 + 1) and asked(high)[STOPPED] == (0, near(1 - 2.5))
    beyond = small().changed(low_deg=2.5)  # the cam stops on the stop, 0.5 early
    assert dwell_budget(beyond, "IN", "lever", 0, 0, 5).low.worst_deg == 0
    assert dwell_budget(beyond, "IN", "lever", 0, 0, 2).high.worst_deg == near(1.5)


def test_the_code_must_be_met_and_read_between_the_stops():
    found = dwell_budget(small(), "IN", THE_CODE, 1, 1.0, 0.5)  # edge at 5, read at 4, stop at -20
    assert asked(found) == {"switch, 1 tooth": (near(10), near(10)), "contact edge": (near(1), near(1))}
    assert (found.low.there_deg, found.high.there_deg) == (near(24), near(115))
    assert found.high.side == "above" and found.low.side == "below"
    assert found.low.spare_deg == near(13) and found.there_deg == near(140)
    assert dict(found.fixed) == {"where the code is met and read": near(1)}
    assert found.sentence().startswith("IN: the arc on which its code can be read needs 23.0° at worst")
    out = dwell_budget(small(), "OUT", THE_CODE)  # loading: edge at 95, read at 96, stop at 120
    assert (out.low.there_deg, out.high.there_deg) == (near(115), near(24))


def test_a_cam_that_goes_round():
    # the lever is off from 338 over the seam to 102; REST is read at 351 and stands at 353
    found = dwell_budget(going_round(), "REST", "lever", 1, 0, 0)
    assert (found.low.there_deg, found.high.there_deg) == (near(15), near(109))
    assert found.there_deg == near(124) and found.needed_deg == near(20)
    both = going_round()
    home = replace(both.controller.home, sense="unloading")
    both = both.changed(controller=replace(both.controller, home=home))
    found = dwell_budget(both, "REST", "lever", 0, 0, 0)  # unloading: read at 9, stands at 7
    assert {found.low.sense, found.high.sense} == {"loading", "unloading"}
    assert found.needed_deg == near(14) and found.there_deg == near(124)
    assert dict(found.fixed) == near({"contact width": 20, "settling": -2, "coasting": -4})
    assert found.high.there_deg == near(95)


def test_stop_angles_that_cross():
    # 30 of coasting: loading stands at 76, unloading at 24
    found = dwell_budget(small().changed(coast_deg=30.0), "HALF", "latch", 0, 0, 0)
    assert found.low.sense == "unloading" and found.high.sense == "loading"
    assert dict(found.fixed) == near({"contact width": -10, "settling": 2, "coasting": 60})
    assert found.high.there_deg == near(56 - 76) and found.low.there_deg == inf
    assert "20.0° short above the stop angle" in found.sentence()


def test_nothing_off_asks_for_nothing_and_no_edge_is_said():
    track = [{"hold": "off", "until": {"deg": 360}}]
    machine = going_round(follower=[values_of_round() | {"track": track}], mode=[REST, RUN])
    found = dwell_budget(machine, "RUN", "lever", 0, 0, 0)
    assert found.there_deg == inf and found.needed_deg == 0
    assert "no limit below the stop angle and no limit above the stop angle" in found.sentence()


REST = {"name": "REST", "code": ["A"], "needs": {"lever": "off"}}
RUN = {"name": "RUN", "code": ["B"], "needs": {"lever": "off"}}


def values_of_round():
    return {"name": "lever", "part": "main cam", "tolerance_mm": 1, "states": {"off": 0}}


def test_just_enough_is_to_spare():
    found = dwell_budget(small(), "HALF", "latch", 0, 4.0, 0)
    assert found.high.spare_deg == near(0, abs=1e-9) and "0.0° to spare above" in found.sentence()


def test_settling_and_coasting_both_ways():
    found = dwell_budget(small().changed(settle_deg=1.5, coast_deg=0.75), "HALF", "latch", 0, 0, 0)
    assert dict(found.fixed) == near({"contact width": 10, "settling": -3, "coasting": -1.5})


def test_what_may_be_given():
    assert {name: (c.span(), c.default) for name, c in ALLOWANCES.items()} == {
        "teeth": ("0 to 6", 1),
        "switch_tolerance_deg": ("0.0° to 10.0°", 1.0),
        "coast_spread_deg": ("0.0° to 10.0°", 0.5),
    }
    assert all(control.step in (1, 0.1) for control in ALLOWANCES.values())


def test_what_cannot_be_asked():
    with pytest.raises(MechError, match="HALF does not ask for a follower 'hook': it has lever, latch, code"):
        dwell_budget(small(), "HALF", "hook")
    with pytest.raises(MechError, match="it has lever$"):
        dwell_budget(going_round(), "RUN", THE_CODE)
    with pytest.raises(MechError, match="no mode is called"):
        dwell_budget(small(), "PLAY", "lever")
    for name, control in ALLOWANCES.items():
        for wrong in (control.low - 1, control.high + 1, float("nan"), "1"):
            with pytest.raises(MechError, match=name):
                dwell_budget(small(), "HALF", "lever", **{name: wrong})
        for end in (control.low, control.high):
            assert dwell_budget(small(), "HALF", "lever", **{name: end}).needed_deg > 0
    dead = small().changed(contacts=())
    with pytest.raises(MechError, match="the code of HALF never shows"):
        dwell_budget(dead, "HALF", "lever")
    lost = small().mode("HALF")
    lost = replace(lost, needs=tuple(replace(need, arcs=()) for need in lost.needs))
    with pytest.raises(MechError, match="the lever is never on"):
        dwell_budget(small().changed(modes=(lost,)), "HALF", "lever")
    still = replace(small().controller, order=("HALF",), routes=(), retry=None)
    with pytest.raises(MechError, match="no change ends in HALF"):
        dwell_budget(small().changed(controller=still), "HALF", "lever")


def test_tables_hold_the_same_numbers():
    lines = [" ".join(line.split()) for line in budget_table(small(), "HALF").splitlines()]
    assert "lever switch, 1 tooth 10.0° 10.0° 20.0°" in lines
    assert "lever contact width 10.0°" in lines
    assert "lever worst case 21.5° 21.5° 50.0°" in lines
    assert "lever root-sum-square 14.2° 14.2° 35.4°" in lines
    assert "lever there is 9.0° no limit no limit" in lines
    assert "lever to spare at worst −12.5° no limit" in lines
    # the latch, cut in the main cam, has 4 above and needs 11.5
    header, _, half, _ = budget_summary(small()).splitlines()
    assert header == "mode  ruled by  side   worst case  root-sum-square  there is  to spare"
    assert half == "HALF  lever     below       21.5°            14.2°      9.0°    −12.5°"
    assert "tooth" not in budget_table(going_round(), "RUN", teeth=0).replace("0 teeth", "")
    assert [b.follower for b in mode_budgets(going_round(), "RUN")] == ["lever"]


def test_a_code_met_on_another_arc_from_either_side_has_no_length():
    """Cedar tells SHUT by contact IN on the way up and by contact H on the way down."""
    found = dwell_budget(load("cedar"), "SHUT", THE_CODE)
    assert found.on_two_arcs and "another one from either side" in found.sentence()
    rows = found.table().splitlines()[1:]
    assert all(len(row.split("°")) == 3 for row in rows) and "met and read" not in found.table()
    assert not dwell_budget(load("cedar"), "PLAY", THE_CODE).on_two_arcs


def test_a_part_that_stands_sees_only_its_own_play():
    carriage = load("alder").part("carriage gear")
    found = dwell_budget(load("alder"), "WIND", "carriage")
    assert dict(found.fixed) == near({"play of the carriage gear": carriage.play_deg})
    assert asked(found)["mode switch, 1 tooth"] == (0, 0)
    assert found.low.at_deg == near(0) and found.high.at_deg == near(carriage.play_deg)
