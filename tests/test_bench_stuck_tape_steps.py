"""The steps in words: what stands before what, and that each number is that of the way."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from small_machine import small, values

from mechlib.bench.stillness import still_deg, unseen_deg
from mechlib.bench.stuck_tape import stuck_tape
from mechlib.bench.stuck_tape_opening import CAUTIONS, opening_steps, undecided_steps
from mechlib.bench.stuck_tape_steps import turning_steps
from mechlib.bench.way_out import way_out
from mechlib.bench.where import where_it_stands
from mechlib.transports import bent_lever, load, slip
from mechlib.transports.model import Tape

near = pytest.approx
ALDER, BIRCH = load("alder"), load("birch")


def words(steps, kind):
    return [step.words for step in steps if step.kind == kind]


def test_cautions_come_before_anything_is_turned():
    told = " ".join(CAUTIONS)
    for thing in (
        "mains plug",
        "capacitors",
        "thermal cut-off",
        "drum",
        "spring",
        "qualified",
        "local rules",
    ):
        assert thing in told
    for transport in (ALDER, BIRCH, small()):
        steps = opening_steps(transport, way_out(transport, 100), None)
        assert [step.words for step in steps[:4]] == list(CAUTIONS)
        assert all(step.sentence() == step.words for step in steps)


@pytest.mark.parametrize("start", [266, 210.4, 176, 120])
def test_every_driven_lever_is_told_before_it_moves(start):
    way = way_out(ALDER, start)
    steps = turning_steps(way)
    held = [i for i, step in enumerate(steps) if step.kind == "hold back"]
    driven = [move for move in way.moves if move.push_begin_N > move.friction_N]
    assert len(held) == len(driven) > 2
    for at, move in zip(held, driven, strict=True):
        assert f"The spring of the {move.follower} drives" in steps[at].words
        assert f"{move.push_begin_N:.1f} N at first and {move.push_end_N:.1f} N at the end" in steps[at].words
        later = next(
            step for step in steps[at:] if step.kind == "moves" and f": {move.follower} " in step.words
        )
        assert move.states() in later.words


def test_the_turns_rise_and_are_those_of_the_shaft():
    way = way_out(ALDER, 210.4)
    moves = words(turning_steps(way), "moves")
    pairs = [re.match(r"After ([\d.]+) turns \(([\d.]+)°\): ", text).groups() for text in moves]
    turns = [float(turn) for turn, _ in pairs]
    assert turns == sorted(turns) and len(turns) == len(way.moves)
    for (turn, deg), move in zip(pairs, way.moves, strict=True):
        on = 210.4 - move.begin_deg
        assert float(deg) == near(on, abs=0.051) and float(turn) == near(on / 360 * 96, abs=0.051)
    stop = words(turning_steps(way), "stop")[0]
    assert stop.startswith("Stop after 87.0 turns of the worm shaft (326.2°).")
    assert "EJECT stands right: carriage out and loading arms home" in stop
    # The low stop is at −118, the way ends at −115.8: 2.2 degrees are 0.6 turns.
    assert f"The end stop is {(118 + way.stop_deg) / 360 * 96:.1f} turns of the worm shaft further on" in stop


def test_the_end_stop_named_is_that_of_the_sense():
    up = words(turning_steps(way_out(ALDER, 0, "SLOW")), "stop")[0]
    left = 268 - way_out(ALDER, 0, "SLOW").stop_deg
    assert f"The end stop is {left / 360 * 96:.1f} turns" in up
    assert "end stop" not in words(turning_steps(way_out(BIRCH, 200)), "stop")[0]


def test_loaded_springs_are_told_too():
    steps = turning_steps(way_out(ALDER, 176))
    drawn = [text for text in words(steps, "moves") if "drawn up" in text]
    assert "pinch lever from ready" in drawn[1] and drawn[1].endswith(
        "Its spring is drawn up to 8.2 N: the shaft gets stiffer."
    )
    assert all("loading arms" not in text for text in drawn)  # its friction is more than the tape's pull


def test_the_train_says_why_nothing_is_pulled():
    assert words(opening_steps(ALDER, None, None), "train")[0].endswith(
        "the cam can't turn this train back, so pulling there only bends something."
    )
    assert "keep hold of the shaft" in words(opening_steps(BIRCH, None, None), "train")[0]
    assert "is not in the file" in words(opening_steps(small(), None, None), "train")[0]
    assert words(opening_steps(small(), None, None), "train")[0].startswith("Turn the crank only")
    none = small(hand_shaft=[])
    assert words(opening_steps(none, None, None), "train")[0].startswith(
        "Turn the shaft next to the motor only"
    )


def test_how_the_sense_is_told():
    told = words(opening_steps(small(), way_out(small(), 110), None), "sense")[0]
    assert told.startswith(
        "Turning in the unloading sense, the first to move is the hook, from up (20.0 mm) to down"
    )
    assert ", after 1.1 turns. " in told and told.endswith(
        "Up to 0.1 turns may pass as play."
    )  # 3 of 20 degrees
    at_once = words(opening_steps(small(), way_out(small(), 80), None), "sense")[0]
    assert ", after" not in at_once
    assert not words(opening_steps(small(), way_out(small(), 5), None), "sense")


def test_tape_by_the_reel_and_where_it_is_held():
    steps = words(turning_steps(way_out(ALDER, 210.4)), "tape")
    first = way_out(ALDER, 210.4).moves
    arms = [move for move in first if move.free_mm]
    each = arms[0].free_mm / ((arms[0].begin_deg - arms[0].end_deg) / 360 * 96)
    assert f"92 mm of tape comes loose, about {each:.1f} mm for each turn." in steps[0]
    assert "turn the take-up reel clockwise, seen from above" in steps[0]
    assert "It needs the main brakes off, so it turns freely only" in steps[0]
    # Of the first move the reel is free at the end, of the second at the beginning.
    assert "Before that let the loops hang" in steps[0] and "After that" not in steps[0]
    assert "After that: every few turns stop" in steps[1] and "Before that" not in steps[1]
    assert all(text.count("To wind in, stop turning; then turn the") == 1 for text in steps[:2])
    brakes, arms_end = (
        next(move for move in first if move.from_mm == 0 and move.end_deg < 70),
        arms[0].end_deg,
    )
    on, end = ((210.4 - theta) / 360 * 96 for theta in (brakes.end_deg, arms_end))
    told = re.search(r"only from ([\d.]+) turns to ([\d.]+) turns: stop there", steps[0]).groups()
    assert float(told[1]) == near(end, abs=0.051) and on - 2 < float(told[0]) < on  # right a little before
    with_needs = ALDER.tape

    def braked(free):
        machine = replace(ALDER, tape=Tape(with_needs.mm_per_mm, "left reel", "to the left", free))
        return words(turning_steps(way_out(machine, 210.4)), "tape")[0]

    off = [need for mode in ALDER.modes for need in mode.needs]
    home = next(n for n in off if (n.follower, n.words) == ("carriage", "down"))
    out = next(n for n in off if (n.follower, n.words) == ("carriage", "out"))
    assert braked((home,)).endswith("every few turns: it turns freely here (the carriage down).")
    assert "It is held here: it needs the carriage out. Every few turns stop, lift" in braked((out,))
    assert braked(()).endswith("Where it doesn't turn freely, find what holds it.")


def test_without_a_tape_table_no_number_is_invented():
    steps = words(turning_steps(way_out(BIRCH, 200)), "tape")
    assert len(steps) == 1 and "Wind in what still hangs loose by hand at a reel" in steps[0]
    assert "Never cut the tape" in steps[0]


def test_stages_rests_and_a_detent_that_does_not_seat():
    stages = words(turning_steps(way_out(ALDER, 100)), "stage")
    assert stages[0].startswith("From the start the shaft drives main cam; held: ring.")
    assert stages[1].startswith("After 30.9 turns (116.0°) the shaft drives transfer ring; held: carrier")
    assert "only with the cam detent seated" in stages[1]
    assert not words(turning_steps(way_out(small(), 100)), "stage")
    latches = words(turning_steps(way_out(BIRCH, 160)), "latch")
    assert [text.partition(" the latch")[0] for text in latches] == [
        "From the start",
        "After 1.6 turns (80.0°)",  # five of the 80 degrees are the kick: 75/360·7.5
    ]
    for told, (first, last) in zip(stages, ((100, -16), (-16, -115.8)), strict=True):
        _still_and_late(told, way_out(ALDER, 100), first, last)
    bent = ALDER.with_faults(bent_lever("cam detent", 0.5))
    told = words(turning_steps(way_out(bent, 100)), "stage")
    assert len(told) == 3 and told[2].startswith(
        "After 30.9 turns (116.0°) stop: as the machine is, the power"
    )


def _still_and_late(told, way, first, last):
    """The two numbers of a stage, in turns of the worm shaft, 96 to a turn of the cam."""
    still, late = re.search(
        r"Up to ([\d.]+) turns on end .* is due does not show within ([\d.]+) turns, stop", told
    ).groups()
    assert float(still) == near(still_deg(way, first, last) / 360 * 96, abs=0.051)
    assert float(late) == near(unseen_deg(way, first, last) / 360 * 96, abs=0.051)
    return float(still), float(late)


def turned_by_the_flywheel(rests, start, kick=5.0, turns=7.5, steps=100):
    """Turns of Birch's shaft up to each hundredth of a degree on; none while a rest's push goes on."""
    told, out = [0.0], start % 360
    for i in range(int(720 * steps)):
        at = out + (i + 0.5) / steps
        pushed = any(0 < (at - rest) % 360 < kick for rest in rests)
        told.append(told[-1] + (0 if pushed else turns / 360 / steps))
    return told


@pytest.mark.parametrize("start", [240, 160, 200, 162, 358])
def test_the_push_into_mesh_is_no_turn_of_the_shaft(start):
    way = way_out(BIRCH, start)
    steps = (*opening_steps(BIRCH, way, None), *turning_steps(way))
    told = turned_by_the_flywheel((0, 160, 240), start)
    for text in words(steps, "moves"):
        until = re.search(r" until ([\d.]+) turn", text).group(1)
        begun = re.match(r"After ([\d.]+) turns? \(([\d.]+)°\)", text)
        turn, deg = begun.groups() if begun else (0, 0)
        assert float(turn) == near(told[round(float(deg) * 100)], abs=0.052)
        move = next(m for m in way.moves if f": {m.follower} {m.states()}" in text)
        assert float(until) == near(told[round((move.end_deg - start) * 100)], abs=0.052)
    stop = words(steps, "stop")[0]
    all_turns = told[round(way.turn_deg * 100)]
    assert float(re.match(r"Stop after ([\d.]+) turns?", stop).group(1)) == near(all_turns, abs=0.052)
    assert "push the gear on with a wooden stick until the latch catches. Now STOP" in stop
    assert f"{all_turns:.1f} turns of the flywheel" in stuck_tape(BIRCH, start).turning() or start == 358
    pushed = [text for text in words(steps, "latch") if "until its first tooth is in mesh" in text]
    begun = [text.startswith("The gear stands short of its mesh") for text in pushed]
    assert begun == {240: [False], 160: [False] * 2, 200: [False], 162: [True, False], 358: []}[start]


def test_where_no_rest_will_do_the_hand_holds_the_cam():
    plan = stuck_tape(BIRCH, "PLAY", "PAUSE")
    # From 240 to the 160 of the next turn are 280 degrees, five of them the push at 240, five that at 360.
    assert plan.turning().startswith(f"Turn {270 / 360 * 7.5:.1f} turns of the flywheel in the loading sense")
    assert "No rest is here" not in plan.text() and words(plan.steps, "latch")[1].startswith(
        "After 2.4 turns"
    )
    missing = replace(BIRCH, release=BIRCH.release.missing(1))  # no latch catches at 160
    told = words(stuck_tape(missing, 90, "PAUSE").steps, "stop")[0]
    assert told.endswith(
        "No rest is here, and no latch holds the cam: keep hold of the shaft until all is done."
    )
    assert "No rest is here" not in stuck_tape(ALDER, 190).text()


def test_from_what_is_seen_the_nearest_place_is_counted_without_pushes_too():
    where = where_it_stands(BIRCH, {"pinch lever": "pressed"})  # from before the rest at 240 to behind it
    (low, high), told = where.arcs[0], turned_by_the_flywheel((0, 160, 240), where.arcs[0][0])
    plan = stuck_tape(BIRCH, where)
    most, least = (
        told[round((360 - low) * 100)],
        told[round((360 - low) * 100)] - told[round((high - low) * 100)],
    )
    assert plan.turning().startswith(f"Turn {least:.1f} to {most:.1f} turns of the flywheel")
    assert f"it may be {most - least:.1f} turns of the flywheel on already" in words(plan.steps, "count")[0]


def test_when_nothing_moves_an_unsure_start_has_a_last_word():
    where = where_it_stands(ALDER, {"pinch lever": "ready", "contact C": "open"})
    plan = stuck_tape(ALDER, where)
    told = words(plan.steps, "stage")[0]
    still, late = _still_and_late(told, plan.way, plan.way.start_deg, -16)
    last = float(re.search(r"nothing at all moves for ([\d.]+) turns, stop, too\.$", told).group(1))
    assert last == near(still + late, abs=0.11)
    assert all("at all" not in text for text in words(turning_steps(way_out(ALDER, 190)), "stage"))
    # Where no lever begins to move there is nothing to wait for.
    assert words(stuck_tape(load("cedar"), "OPEN").steps, "stage")[0].endswith(
        "No lever of this list begins to move here."
    )


def test_unsure_starts_are_told_once():
    where = where_it_stands(ALDER, {"pinch lever": "ready", "contact C": "open"})
    assert len(words(stuck_tape(ALDER, where).steps, "count")) == 1
    assert not words(turning_steps(way_out(ALDER, 176)), "count")


def test_sights_that_do_not_go_together_end_in_looks():
    where = where_it_stands(ALDER, {"loading arms": "home", "contact C": "closed"})
    steps = stuck_tape(ALDER, where).steps
    assert [step.kind for step in steps[4:]] == ["force", "train", "look", "look", "tape"]
    assert steps[6].words == f"Don't turn yet. {where.sentence()}"
    assert "look again at the loading arms, or at the contact C" in steps[6].words
    assert "believe your eyes: a gear has slipped, or a lever is bent. Don't turn anything." in steps[7].words


def test_where_no_mark_frees_the_way_a_gear_must_come_off():
    # The latch is bent by −5 mm, so it is never open; the hook leaves "down" at 71.
    bent = small().with_faults(bent_lever("latch", -5))
    stop = words(turning_steps(way_out(bent, 60, "OUT")), "stop")[0]
    assert stop.startswith("After 0.6 turns (11.0°) stop: the hook and the latch meet (hook and latch).")
    assert stop.endswith(
        "must come free of its gear: the hook cam and the main gear, springs unhooked first."
    )
    at_once = words(turning_steps(way_out(bent, 71, "OUT")), "stop")[0]
    assert at_once.startswith("Stop at once: the hook and the latch meet")


def test_a_jam_is_eased_to_the_nearer_side():
    ahead = small().with_faults(slip("hook cam", 2))  # shut from 11 to 64 loading, from 8 unloading
    for start, sense in ((60, "loading"), (12, "unloading")):
        told = words(opening_steps(ahead, way_out(ahead, start), None), "relieve")[0]
        assert f"of the crank in the {sense} sense" in told
        assert "can't do it, lift a gear: eyes protected" in told
    where = where_it_stands(ahead, {"latch": (8.0, 8.5)})  # 63 to 63.5
    assert words(stuck_tape(ahead, where).steps, "relieve")[0].startswith("It may be jammed here")
    turned = replace(BIRCH, interlocks=BIRCH.interlocks[:1]).with_faults(slip("lever cam", -4))
    one_way = [way_out(turned, theta) for theta in range(0, 360, 2)]
    told = [words(opening_steps(turned, way, None), "relieve") for way in one_way if way.wedged]
    assert told and any("this train turns one way only" in text for texts in told for text in texts)


@pytest.mark.parametrize(
    ("name", "part", "teeth", "theta"), [("alder", "idler cam", -2, 161), ("cedar", "rocker gear", 2, 106)]
)
def test_the_sense_of_easing_is_shown_before_anything_is_eased(name, part, teeth, theta):
    plan = stuck_tape(load(name).with_faults(slip(part, teeth)), theta)
    told = [step.kind for step in plan.steps]
    assert told.index("sense") < told.index("relieve") < told.index("stop") and plan.way.turn_deg == 0
    assert words(plan.steps, "sense")[0].startswith("Turning in the loading sense, the first to move is the ")
    assert (
        "in the loading sense. If it gets harder, you turn the wrong way" in words(plan.steps, "relieve")[0]
    )
    assert words(plan.steps, "stop")[0].startswith("Once they are apart, stop: on the way to ")


def test_so_short_an_easing_shows_nothing():
    ahead = small().with_faults(slip("hook cam", 2))  # from 63.5 to 64 are less than the play
    told = words(stuck_tape(ahead, 63.5).steps, "sense")[0]
    assert told.startswith("So short a turn as eases the jam may move nothing to be seen. An arrow beside")
    assert "that shows the loading sense" in told


def test_easing_on_the_way_is_part_of_its_turns():
    plan = stuck_tape(load("cedar").with_faults(slip("drawer rack", -1)), 60)
    eased, all_of_it = plan.way.wedged[0][1] / 360 * 80, plan.way.turn_deg / 360 * 80
    assert (
        f"jammed in the interlock lock and drawer: the first {-eased:.1f} turns of the way" in plan.turning()
    )
    assert f"Turn {all_of_it:.1f} turns of the worm shaft in the unloading sense" in plan.turning()
    assert "which are the first turns of the way and count as such" in words(plan.steps, "relieve")[0]


def test_a_part_at_its_own_stop():
    # The switch stops at −21 of its own.  Three teeth (30 degrees) behind it gets there at theta 9.
    parts = values()["part"]
    parts[0]["low_stop"] = {"deg": -21}
    behind = small(part=parts).with_faults(slip("switch", -3))
    way = way_out(behind, 100)
    assert way.blocked.name == "the switch's own stop" and way.stop_deg == near(9)
    stop = words(turning_steps(way), "stop")[0]
    assert (
        "stop: the switch comes to its own stop." in stop
        and "The cause is the switch: on its mark the way is free" in stop
    )
    jammed = words(opening_steps(behind, way_out(behind, 5), None), "relieve")[0]
    assert jammed.startswith(
        "It is jammed here: the switch is beyond its own stop. Ease it first: they part after 0.2"
    )


def test_undecided_says_what_to_look_at():
    assert undecided_steps("IN", ("a", "b", "c", "d"))[0].words.endswith(
        "Look at the a, the b and the c, and choose what you see."
    )
    assert "Look at one more lever or contact" in undecided_steps("IN", ())[0].words
