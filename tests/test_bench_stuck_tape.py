"""Getting a stuck tape out: the whole plan, against the small machine by hand and what the files say."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from importlib import resources

import pytest
from small_machine import going_round, small

from mechlib.bench.stuck_tape import stuck_tape
from mechlib.bench.way_out import way_out
from mechlib.bench.where import where_it_stands
from mechlib.errors import MechError
from mechlib.transports import change, load, shipped, slip

near = pytest.approx
ALDER, BIRCH = load("alder"), load("birch")
DATA = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text())


def kinds(plan):
    return [step.kind for step in plan.steps]


def test_the_small_machine_by_hand():
    # 18 turns of the crank for one turn of the cam: from 110 to 2 are 108 degrees, 5.4 turns.
    plan = stuck_tape(small(), 110)
    assert plan.sentence() == "Turn 5.4 turns of the crank in the unloading sense, to IN: 3 lever moves."
    assert plan.target == "IN" and plan.where is None and plan.slack_mm == 0 and plan.look_at == ()
    words = [step.words for step in plan.steps if step.kind == "moves"]
    assert words[0] == "After 1.1 turns (23.0°): hook from up (20.0 mm) to down (0.0 mm), until 2.1 turns."
    assert words[2].startswith("After 3.6 turns (73.0°): lever from on")
    assert plan.text().splitlines()[0] == plan.sentence()
    assert plan.text().splitlines()[1].startswith(" 1. CAUTION: Pull the mains plug")


def test_a_mode_stands_for_where_it_is_reached():
    # OUT, loading: contact codes A and B from 95, settle 1, coast 2.
    assert stuck_tape(small(), "OUT").way.start_deg == near(98)
    assert stuck_tape(small(), "IN").way.start_deg == near(-5 + 1 + 2)
    assert stuck_tape(ALDER, "EJECT").way.start_deg < -110  # reached in the unloading sense only
    assert stuck_tape(ALDER, "EJECT").sentence() == "Alder stands where EJECT does: nothing is to be turned."


def test_tape_that_comes_loose_is_lift_times_what_the_file_says():
    arms = next(row for row in DATA["follower"] if row["name"] == "loading arms")
    per_mm = DATA["tape"]["mm_per_mm"]["loading arms"]
    whole = per_mm * (arms["states"]["loaded"] - arms["states"]["home"])
    plan = stuck_tape(ALDER, "PLAY")
    assert plan.slack_mm == near(whole) and f"{whole:.0f} mm of tape comes loose on it." in plan.sentence()
    assert stuck_tape(ALDER, 0, "STOP").slack_mm == 0  # there it is drawn out
    assert "of tape is drawn out" in stuck_tape(ALDER, 0, "STOP").text()
    half = per_mm * (arms["states"]["half"] - arms["states"]["home"])
    assert stuck_tape(ALDER, "WIND").slack_mm == near(half, abs=0.01)


def test_where_the_tape_stays_in_nobody_is_told_to_take_it_out():
    plan = stuck_tape(ALDER, where_it_stands(ALDER, {"loading arms": "half"}), "PLAY")
    arms = next(row for row in DATA["follower"] if row["name"] == "loading arms")
    drawn = DATA["tape"]["mm_per_mm"]["loading arms"] * (arms["states"]["loaded"] - arms["states"]["home"])
    told = plan.steps[-2].words
    assert f"{drawn:.0f} mm of it is drawn out. It can be taken out in EJECT" in told
    assert plan.steps[-1].words.startswith("Don't put a machine back to work because PLAY stands right")
    homing = replace(ALDER.controller, home=replace(ALDER.controller.home, mode="WIND"))
    half = DATA["tape"]["mm_per_mm"]["loading arms"] * (arms["states"]["half"] - arms["states"]["home"])
    told = stuck_tape(replace(ALDER, controller=homing), 10).steps[-2].words
    assert f"{half:.0f} mm of it is drawn out. Never cut the tape" in told  # even there it isn't out


def test_from_what_is_seen_the_way_is_from_the_furthest_place():
    where = where_it_stands(small(), {"latch": "open", "contact A": "open"})  # 64 to 95 and 105 to 120
    plan = stuck_tape(small(), where)
    assert plan.where is where and plan.way.start_deg == 120 and plan.at_least_deg == near(62)
    assert plan.sentence().endswith(
        "Turn 3.1 to 5.9 turns of the crank in the unloading sense, to IN: 3 lever moves."
    )
    assert plan.sentence().startswith("The cam of Small stands at 64.0° to 95.0° or 105.0° to 120.0°")
    count = next(step.words for step in plan.steps if step.kind == "count")
    assert "it may be 2.8 turns of the crank on already" in count


def test_where_the_sense_is_not_decided_it_tells_nobody_to_turn():
    where = where_it_stands(small(), {"contact B": "open"})
    plan = stuck_tape(small(), where, "HALF")
    assert plan.way is None and not {"moves", "stop", "sense"} & set(kinds(plan))
    assert kinds(plan)[-1] == "look" and plan.steps[-1].words.startswith(
        "Don't turn yet: HALF may lie either way"
    )
    assert "Which way to turn for HALF is not decided: look at" in plan.sentence()
    assert plan.slack_mm == 0 and plan.at_least_deg == 0
    # The target in the middle of an arc: both ends lie beside it.
    anywhere = stuck_tape(small(), where_it_stands(small(), {}), "HALF")
    assert anywhere.way is None
    # ... and an arc that lies within the target's needs no turning.
    there = stuck_tape(
        small(), where_it_stands(small(), {"contact B": "closed", "contact A": "open"}), "HALF"
    )
    assert there.way.turn_deg == 0


def test_only_what_was_not_seen_and_does_tell_is_to_be_looked_at():
    plan = stuck_tape(ALDER, where_it_stands(ALDER, {"main brakes": "off"}), "STOP")
    assert plan.look_at[:3] == ("loading arms", "pinch lever", "tension lever")
    for name in plan.look_at:
        for how in (state for state, _ in ALDER.follower(name).states if not name.startswith("contact")):
            seen = where_it_stands(ALDER, {"main brakes": "off", name: how})
            if not seen.doubtful:
                assert stuck_tape(ALDER, seen, "STOP").way is not None, (name, how)


def test_nothing_known_of_a_cam_that_goes_round_one_way():
    plan = stuck_tape(BIRCH, where_it_stands(BIRCH, {}))
    assert plan.way.sense == "loading" and plan.at_least_deg == 0
    assert 330 < plan.way.turn_deg < 360  # just past where STOP is right, it goes nearly all the way round
    assert stuck_tape(going_round(), where_it_stands(going_round(), {})).way is None


DOUBTFUL = [  # the last with nothing of an interlock
    ({"loading arms": "home", "tension lever": "on"}, "EJECT", "tension lever and arms"),
    ({"main brakes": "on", "reel idler": "supply", "contact A": "closed"}, "REVIEW", "idler and brakes"),
    (
        {"loading arms": "between", "tension lever": "on", "pinch lever": "off"},
        "EJECT",
        "tension lever and arms",
    ),
    ({"loading arms": "home", "contact C": "closed"}, "EJECT", None),
]


@pytest.mark.parametrize(("seen", "target", "lock"), DOUBTFUL, ids=str)
def test_sights_that_do_not_go_together_give_no_way(seen, target, lock):
    where = where_it_stands(ALDER, seen)
    plan = stuck_tape(ALDER, where, target)
    assert where.doubtful and where.arcs  # they are shown, though no way is
    assert plan.way is None and plan.branches == () and plan.slack_mm == 0
    assert set(plan.look_at) == {name for group in where.doubtful for name in group}
    assert set(kinds(plan)) == {"caution", "force", "train", "look", "tape"}
    assert plan.turning().startswith("Don't turn yet.") and "Turn " not in plan.turning()
    assert plan.short().startswith("Don't turn yet: what was seen does not go together. Look again at the ")
    jam = f"stand in each other's way ({lock}): it may be a jam."
    assert (jam in plan.turning()) == (jam in plan.text().partition("\n")[2]) == bool(lock)
    assert plan.short().endswith("It may be a jam.") == bool(lock)


def test_a_way_that_is_barred_ends_where_the_levers_meet():
    plan = stuck_tape(small().with_faults(slip("hook cam", 2)), 110)
    assert plan.sentence() == (
        "Turn 2.3 turns of the crank in the unloading sense, and no further: at 64.0° the interlock hook and "
        "latch bars the way."
    )
    last = next(step.words for step in plan.steps if step.kind == "stop")
    assert "After 2.3 turns (46.0°) stop: the hook and the latch meet (hook and latch)." in last
    assert "The cause is the hook cam: on its mark the way is free." in last
    assert last.endswith("ask somebody who knows the machine before a gear is lifted.")
    assert kinds(plan)[-1] == "tape" and "after" not in kinds(plan)


MIXED = [
    ("alder", "loading gear", -1, {"main brakes": "between", "pinch lever": "off"}, (True, True)),
    ("birch", "lever cam", -3, {"reel idler": "centre", "head plate": "in"}, (True, True)),
    ("cedar", "lift sector", -3, {"contact H": "open", "contact IN": "closed"}, (True, True)),
    ("cedar", "rocker gear", 2, {"drawer": "in", "reel rocker": "between"}, (True, None)),
    ("cedar", "drawer rack", -1, {"reel rocker": "reverse", "head plate": "back"}, (False, True)),
]  # fmt: skip


@pytest.mark.parametrize(("name", "part", "teeth", "seen", "expected"), MIXED, ids=str)
def test_free_and_barred_ways_have_each_its_own_range(name, part, teeth, seen, expected):
    transport = load(name).with_faults(slip(part, teeth))
    where = where_it_stands(transport, seen)
    plan = stuck_tape(transport, where)
    assert (plan.way is None) == expected[0]
    if expected[1]:
        assert any(not one.way.blocked for one in plan.branches)
    for low, high in where.arcs:
        for i in range(40):
            theta = low + (high - low) * (i + 0.5) / 40
            way = way_out(transport, theta, plan.target)
            (here,) = (one for one in plan.branches if any(a <= theta <= b for a, b in one.arcs))
            assert (way.blocked and way.blocked.name) == (here.way.blocked and here.way.blocked.name)
            assert here.at_least_deg - 1e-4 <= way.turn_deg <= here.way.turn_deg + 1e-4


def test_where_some_ways_are_barred_nobody_is_told_to_turn():
    behind = ALDER.with_faults(slip("loading gear", -1))
    seen = {"main brakes": "between", "pinch lever": "off"}
    plan = stuck_tape(behind, where_it_stands(behind, seen))
    assert plan.short() == (
        "Don't turn yet: the way to EJECT is barred from some of these places only. "
        "Look at the loading arms and the tension lever first."
    )
    assert plan.turning().removeprefix(plan.short()) == (
        " From 112.3° to 120.6° the interlock tension lever and arms bars it at 98.6°, after 3.6 to 5.9 "
        "turns of the worm shaft; from 21.3° to 44.3° or 70.3° to 89.3° it is free, 36.6 to 54.7 turns of "
        "the worm shaft in the unloading sense."
    )
    assert not {"moves", "stop", "sense", "count"} & set(kinds(plan)) and kinds(plan)[-1] == "tape"
    assert "Where nothing more can be seen, don't turn: ask somebody" in plan.text()
    for name in plan.look_at:  # the look that is asked for decides it
        for how, _ in ALDER.follower(name).states:
            again = where_it_stands(behind, seen | {name: how})
            assert again.doubtful or stuck_tape(behind, again).way is not None


def test_barred_from_everywhere_but_not_by_one_thing():
    ahead = load("cedar").with_faults(slip("rocker gear", 2))
    plan = stuck_tape(ahead, where_it_stands(ahead, {"drawer": "in", "head plate": "between"}))
    lock = "the interlock rocker and brakes"
    assert plan.way is None and "is barred from all of these places, not at one angle" in plan.short()
    # Unloading it is shut from 98.60 to 107.31; loading, the play taken up, to 107.67: 103.14 is half-way.
    assert f"From 103.1° to 107.3° it stands jammed in {lock}: {lock} bars it at once; from" in plan.turning()
    assert f"{lock} bars it at 21.0°, after 8.2 to 18.3 turns" in plan.turning()


def test_where_no_single_look_tells_it_says_so():
    seen = {"loading arms": "between", "tension lever": "between"}
    behind = ALDER.with_faults(slip("loading gear", -1))
    plan = stuck_tape(behind, where_it_stands(behind, seen))
    assert plan.look_at == () and plan.short().endswith("Look at one more lever or contact first.")


def test_standing_in_a_jam_is_eased_from_the_nearer_side():
    machine = small().with_faults(slip("hook cam", 2))
    plan = stuck_tape(machine, 63.5)
    lock = "the interlock hook and latch"
    wanted = f"It stands jammed in {lock}: ease that first; then {lock} bars the way to IN at once."
    assert plan.sentence() == wanted
    relief = next(step.words for step in plan.steps if step.kind == "relieve")
    assert relief.startswith("It is jammed here: the hook and the latch stand in each other's way")
    assert "they part after 0.0 turns of the crank in the loading sense" in relief
    eased = stuck_tape(machine, 11.25)
    # From 11.25 to the edge at 8 are 3.25 degrees, 0.2 turns, and to 2 they are 9.25, 0.5 turns.
    assert eased.sentence() == (
        f"It stands jammed in {lock}: the first 0.2 turns of the way ease that. "
        "Turn 0.5 turns of the crank in the unloading sense, to IN: 1 lever move."
    )
    relief = next(step.words for step in eased.steps if step.kind == "relieve")
    assert "0.2 turns of the crank in the unloading sense, which are the first turns of the way" in relief
    assert kinds(eased).index("sense") < kinds(eased).index("relieve") < kinds(eased).index("stop")


def test_the_case_of_the_lesson_can_come_about():
    """Alder's idler cam three teeth ahead: PLAY isn't reached from below, but left it ends in that jam."""
    slipped = ALDER.with_faults(slip("idler cam", 3))
    below = ALDER.mode_names[: ALDER.mode_names.index("PLAY")]
    assert all(change(slipped, mode, "PLAY").outcome == "jammed" for mode in below)
    assert "without take-up reel pulses" in change(slipped, "SLOW", "PLAY").sentence()  # so it powers off
    left = change(slipped, "PLAY", "STOP")
    assert left.outcome == "jammed" and left.stand.theta == near(194.5, abs=0.05)
    assert stuck_tape(slipped, 210).way.stop_deg == near(left.stand.theta)


def test_no_place_of_the_cam_will_do():
    plan = stuck_tape(small().with_faults(slip("lever gear", -12)), 100, "OUT")
    assert plan.sentence() == "Turning can't bring Small to OUT: a part must be lifted first."
    assert "moves" not in kinds(plan) and "lever on and hook up" in plan.text()


@pytest.mark.few(2)
@pytest.mark.parametrize("name", shipped())
def test_every_place_of_every_transport_gives_a_plan(name):
    transport = load(name)
    low, high = transport.ends
    for theta in range(int(low), int(high) + 1, 7):
        for target in transport.mode_names:
            plan = stuck_tape(transport, theta, target)
            assert plan.way.blocked is None and plan.way.wedged == () and "nan" not in plan.text()
            assert kinds(plan)[:4] == ["caution"] * 4 and kinds(plan)[-1] == "after"
            out = target == transport.controller.home.mode
            text = plan.text()
            assert ("take it out. " in text) == ("because the tape is out" in text) == out
            assert ("The tape is still in the machine" in text) == (not out)
            assert " tape are " not in text and " tape come " not in text


@pytest.mark.parametrize(
    ("standing", "told"),
    [
        (121, "standing is 121°"),
        (-20.5, "or give the name of a mode"),
        (float("nan"), "standing is nan"),
        ("PLAY", "no mode is called 'PLAY'"),
        (where_it_stands(going_round(), {}), "it was worked out for Round"),
    ],
)
def test_refusals(standing, told):
    with pytest.raises(MechError) as refused:
        stuck_tape(small(), standing)
    assert told in str(refused.value)


def test_a_mode_that_cannot_be_reached_is_refused():
    with pytest.raises(MechError, match="HALF cannot be reached by Small as it is"):
        stuck_tape(small().with_faults(slip("switch", -20)), "HALF")
    with pytest.raises(MechError, match="no mode is called 'GONE'"):
        stuck_tape(small(), 0, "GONE")
