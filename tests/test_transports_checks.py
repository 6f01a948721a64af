"""What a whole file must not contradict: the order of the modes, the time-out, the tracks."""

from __future__ import annotations

import copy
from dataclasses import replace
from itertools import permutations

import pytest
from small_machine import driven, going_round, going_round_driven, small, values
from small_released import stepping

from mechlib.errors import MechError
from mechlib.transports import change, load, shipped
from mechlib.transports.checks import contradictions, hasty
from mechlib.transports.files import transport_from
from mechlib.transports.outcomes import TOO_SLOW
from mechlib.transports.timing import arriving_senses


def with_controller(machine, **changes):
    return replace(machine, controller=replace(machine.controller, **changes))


@pytest.mark.parametrize("name", shipped())
def test_a_shipped_transport_contradicts_nothing(name):
    assert contradictions(load(name)) == [*hasty(load(name))] == []


@pytest.mark.parametrize("order", [*permutations(("IN", "HALF", "OUT"))])
def test_the_order_of_modes_is_that_of_their_codes_or_changes_fail(order):
    machine = with_controller(small(), order=order)
    ((place, what, right),) = contradictions(machine) or [("", "", "")]
    good = all(change(machine, *pair).good for pair in permutations(order, 2))
    assert good == (not place) == (order == ("IN", "HALF", "OUT"))
    if not good:
        assert place == "[controller], key order" and right.endswith("codes come so: IN, HALF, OUT")
        first, later = what.split(" stands before ")[0], what.split(" stands before ")[1].split(",")[0]
        assert order.index(first) < order.index(later) and (later, first) != ("OUT", "IN")


def test_modes_that_change_by_legs_of_their_own_may_stand_in_any_order():
    ways = [("HALF", "OUT", "loading"), ("OUT", "HALF", "unloading")]
    own = [{"from": [one], "to": two, "legs": [{"sense": sense, "mode": two}]} for one, two, sense in ways]
    controller = values()["controller"] | {"order": ["IN", "OUT", "HALF"]}
    machine = small(controller=controller | {"change": own})
    assert all(change(machine, *pair).good for pair in permutations(machine.mode_names, 2))
    with pytest.raises(MechError, match="OUT stands before HALF"):
        small(controller=controller | {"change": own[:1]})


def test_where_the_cam_goes_round_the_order_does_not_matter():
    for machine in (going_round(), stepping()):
        assert contradictions(with_controller(machine, order=machine.controller.order[::-1])) == []


MACHINES = {
    "small": small,
    "driven": driven,
    "going round": going_round,
    "going round, driven": going_round_driven,
    "stepping": stepping,
} | {name: lambda name=name: load(name) for name in shipped()}


@pytest.mark.parametrize("name", MACHINES)
def test_the_time_out_is_too_short_from_where_a_change_is_too_slow(name):
    machine = MACHINES[name]()
    came = arriving_senses(machine)
    pairs = [(*pair, sense) for pair in permutations(machine.mode_names, 2) for sense in came[pair[0]]]
    longest = max(leg.time_s for way in pairs for leg in change(machine, *way).legs)
    for share in (0.3, 0.9, 0.99, 1.001, 1.2):
        quick = with_controller(machine, time_out_s=longest * share)
        late = any(leg.ended == TOO_SLOW for way in pairs for leg in change(quick, *way).legs)
        found = list(hasty(quick))
        assert [place for place, _, _ in found] == ["[controller], key time_out_s"] * late
        assert late == (share < (0.5 if machine.release else 1))  # a release that has begun is waited for
        assert all(what.endswith(f"keeps the motor on for {longest:.1f} s") for _, what, _ in found)


def test_a_way_longer_than_any_time_out_is_told_as_well():
    machine = replace(small(), speed_deg_s=0.05)
    ((place, what, _),) = list(hasty(machine))
    assert place == "[controller], key time_out_s" and what.endswith("on for more than 600.0 s")


def test_on_the_main_cam_a_track_goes_to_the_stop_and_no_tooth_beyond():
    spoiled = copy.deepcopy(values())
    spoiled["follower"][2]["track"][-1]["until"] = {"deg": 110}  # of the latch, on the main cam
    spoiled["follower"][0]["track"][-1]["until"] = {"deg": 120}  # of the lever, behind one mesh
    with pytest.raises(MechError) as refused:
        transport_from(spoiled, "mine.toml")
    lever, latch = sorted(refused.value.problems, key=lambda problem: "latch" in problem)
    assert latch.endswith("it ends at 110 degrees; it must end at 120 or above: the main cam's travel")
    assert lever.endswith("133 or above: the lever gear's travel and a tooth beyond")
    spoiled["follower"][2]["track"][-1]["until"] = {"deg": 120}
    spoiled["follower"][0]["track"][-1]["until"] = {"deg": 133}
    assert transport_from(spoiled, "mine.toml").name == "Small"
