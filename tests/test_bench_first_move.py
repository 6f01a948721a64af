"""What moves first, and whether it shows the sense: against turning the machine bit by bit."""

from __future__ import annotations

import random

import pytest
from share import times
from small_machine import small

from mechlib.bench.first_move import first_moves
from mechlib.bench.stuck_tape import stuck_tape
from mechlib.bench.way_out import way_out
from mechlib.bench.where import sights_to_choose, where_it_stands
from mechlib.transports import load, shipped
from mechlib.transports.model import SENSE
from mechlib.transports.runs import Run, steady

BIT_DEG, FAR_DEG = 0.25, 45.0


def seen_first(transport, sense, theta, lie, far):
    """Turned on bit by bit, the play as after a run in the sense ``lie``: what is off its place first."""
    if far < BIT_DEG:
        return set()
    places = steady(transport, lie).places_at(theta)
    end = theta + SENSE[sense] * far
    run = Run(transport, sense, min(theta, end), max(theta, end), places)
    lifts = {f: f.lift(run.slipped_place(f.part, theta)) for f in transport.followers}
    for bit in range(1, int(far / BIT_DEG) + 1):
        at = theta + SENSE[sense] * bit * BIT_DEG
        now = {f: f.lift(run.slipped_place(f.part, at)) - mm for f, mm in lifts.items()}
        if moved := {(f.name, by > 0) for f, by in now.items() if abs(by) > f.tolerance_mm}:
            return moved
    return set()


def far_from(transport, sense, theta):
    if transport.cyclic:
        return FAR_DEG
    return min(FAR_DEG, abs(transport.ends[SENSE[sense] > 0] - theta))


def check(transport, way, arcs):
    told = first_moves(way, arcs)
    known = {(first.follower, first.rising) for first in told}
    senses = transport.senses
    dice = random.Random(f"{transport.name} {arcs}")
    places = [edge for arc in arcs for edge in arc]
    places += [dice.uniform(*dice.choice(arcs)) for _ in range(times(6, 30))]
    for theta in places if told else ():
        for lie in senses:
            left = (way.stop_deg - theta) * SENSE[way.sense]  # below nought it is past the mode already
            on = min(far_from(transport, way.sense, theta), left if left >= 0 else FAR_DEG)
            assert seen_first(transport, way.sense, theta, lie, on) <= known, (theta, lie)
            for wrong in set(senses) - {way.sense}:
                back = seen_first(transport, wrong, theta, lie, far_from(transport, wrong, theta))
                assert not back or back - known, (theta, lie)
    return told


@pytest.mark.few(2)
@pytest.mark.parametrize("name", shipped())
def test_it_holds_from_every_place_that_was_not_ruled_out(name):
    transport, told = load(name), 0
    for seen, ways in sights_to_choose(transport).items():
        for how in ways:
            where = where_it_stands(transport, {seen: how})
            for target in (None, transport.mode_names[1]):  # out, and one in the midst of the travel
                plan = stuck_tape(transport, where, target)
                if plan.way is None or not plan.way.moves:
                    continue
                firsts = check(transport, plan.way, where.arcs)
                (words,) = [step.words for step in plan.steps if step.kind == "sense"]
                assert all(first.words() in words for first in firsts)
                assert ("does not tell the sense" in words) == (not firsts) == ("turn back" not in words)
                told += bool(firsts)
    assert told or transport.cyclic  # Birch's levers are seen alike on both sides of a mode


@pytest.mark.few(2)
@pytest.mark.parametrize("name", shipped())
def test_it_holds_where_the_place_is_known(name):
    transport = load(name)
    low, high = transport.ends
    told = []
    for theta in range(int(low) + 1, int(high), 11):
        way = way_out(transport, theta)
        if way.moves:
            told.append(check(transport, way, ((theta, theta),)))
    assert sum(map(bool, told)) > 0.7 * len(told)


@pytest.mark.parametrize(
    ("name", "seen"),
    [
        ("alder", {"reel idler": "between"}),  # four arcs: it goes to take-up or to centre
        ("birch", {"reel idler": "between"}),
        ("alder", {}),
        ("alder", {"pinch lever": "pressed", "contact D": "open"}),
    ],
)
def test_where_it_is_not_the_same_nobody_is_sent_the_wrong_way(name, seen):
    plan = stuck_tape(load(name), where_it_stands(load(name), seen))
    kinds = [step.kind for step in plan.steps]
    sense, count = (plan.steps[kinds.index(kind)].words for kind in ("sense", "count"))
    assert "depends on where the cam stands" in sense and "don't turn: ask somebody" in sense
    assert "turn back" not in sense and count.endswith("Count on from the first move that you see.")


def test_a_lever_that_moves_alike_either_way_tells_nothing():
    # In PAUSE the brakes are on, and off in the modes on both sides.
    plan = stuck_tape(load("alder"), "PAUSE")
    (sense,) = [step.words for step in plan.steps if step.kind == "sense"]
    assert sense.startswith("The first move does not tell the sense here: a lever may move first, and alike")
    assert "the unloading sense" in sense


def test_the_small_machine_by_hand():
    # At 80 the hook comes down; at 110 it stands up, and so does the latch: the hook comes down first.
    for theta in (80, 110):
        (first,) = first_moves(way_out(small(), theta), ((theta, theta),))
        assert (first.follower, first.rising, first.to_state) == ("hook", False, "down")
        assert first.words() == "the hook, to down (0.0 mm)"
