"""The steps of a re-timing: what each says, against numbers worked out by hand and what the file says."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from importlib import resources

import pytest
from small_machine import going_round, small, values

from mechlib import transports as tr
from mechlib.bench import retiming
from mechlib.bench.retiming_close import closing_steps
from mechlib.transports.files import transport_from

ALDER = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))


def words_of(plan, kind: str) -> list[str]:
    return [step.sentence() for step in plan.steps if step.kind == kind]


def test_the_loading_gear_step_by_step():
    plan = retiming(tr.load("alder").with_faults(tr.slip("loading gear", 1)), "PLAY")
    assert plan.lifts == ("loading gear",) and plan.minutes == 4 + 3 + 3 and plan.untimed == ()
    assert words_of(plan, "cover off") == ["Take off the bottom plate (4 min with putting it back)."]
    assert words_of(plan, "bearing off") == [
        "Take off the gear bridge (3 min with putting it back). The gear bridge holds the upper ends of the "
        "shafts of loading gear, pinch cam and main gear: don't turn the drive while it is off."
    ]
    assert words_of(plan, "bearing on") == ["Put back the gear bridge."]
    assert words_of(plan, "cover on") == ["Put back the bottom plate."]
    (bring,) = words_of(plan, "bring")
    # the loading gear lies under the bridge, out of reach
    assert (
        "Turn the drive by hand, gently," in bring and "Leave the gear bridge on for this: it holds" in bring
    )
    assert "From 210.4° to 0°" in bring
    assert "low end stop it is 31.5 turns of the worm shaft" in bring  # 118/360·96
    assert "mark of the mode switch is right: slot in the rotor" in bring
    assert words_of(plan, "lift") == [
        "Lift the loading gear (held by a clip) off the main gear and the pinch cam."
    ]
    assert words_of(plan, "turn along") == [
        "The pinch cam turns along by 3.4° back, against its loading sense."
    ]
    (move,) = words_of(plan, "move")
    assert move.startswith("The loading gear goes 1 tooth back, against its loading sense (3.6° of its own)")
    assert move.endswith("the other way round than the main gear.")  # an external mesh
    (marks,) = words_of(plan, "marks")
    assert marks.split("\n")[1:] == [
        "loading gear: round hole to the round hole in the main gear",
        "pinch cam: notch to the tooth with a dot on the loading gear's upper row",
    ]
    cause = " ".join(words_of(plan, "cause"))
    assert "The loading gear: is its clip gone" in cause and "The main gear: is its clip" in cause
    assert "Turn the loading gear and the pinch cam by hand: where grease has gone hard" in cause
    (hand,) = words_of(plan, "by hand")
    assert "71.5 turns" in hand and "102.9 turns" in hand and "31.5 turns" in hand  # 268, 386, 118 of 360·96
    assert plan.sentence().endswith(f"then try {len(plan.changes_to_try)} changes that failed.")
    assert "about 10 min" in plan.sentence()


def test_what_is_tried_and_looked_at_again():
    plan = retiming(tr.load("alder").with_faults(tr.slip("loading gear", 1)))
    first, every = words_of(plan, "try")
    assert first.startswith("Try what failed") and first.endswith(f"in one go: {' → '.join(plan.walk)}.")
    names = tr.load("alder").mode_names
    assert every.endswith(f": {' → '.join((*names, *names[-2::-1]))}.")
    checks = words_of(plan, "check")
    (marks,) = words_of(plan, "marks again")
    assert "marks meet every 4 turns" in marks and ALDER["part"][1]["mark"] in marks  # 80 on 100: lcm 400
    tight = [one for one in tr.margins(tr.load("alder")) if one.margin_deg < 360 / 80]  # a tooth of the gear
    tight.sort(key=lambda one: one.margin_deg)
    told = [f"Watch, for it has little room: {one.sentence()}" for one in tight]
    assert checks[: len(told)] == told and len(told) == 4
    (springs,) = words_of(plan, "springs")  # the arms pull the tape, the pinch cam hangs on the loading gear
    assert springs.startswith("Let down or unhook the spring of the loading arms and the pinch lever;")
    assert words_of(retiming(tr.load("alder").with_faults(tr.slip("mode switch", 1))), "springs") == []
    locks = {check.split(":")[0] for check in checks[4:]}
    assert locks == {
        "Interlock arms and cassette",
        "Interlock pinch lever and guide",
        "Interlock tension lever and arms",
    }


SHIPPED = sorted(path.name[:-5] for path in (resources.files("mechlib.transports") / "data").iterdir())


@pytest.mark.parametrize("name", SHIPPED)
def test_no_hand_is_in_it_under_power_and_no_plug_is_in_with_a_cover_off(name):
    """For each part of each machine: what comes off goes on before power; then the plug comes out."""
    sound = tr.load(name)
    for part in sound.parts:
        plan = retiming(sound.with_faults(tr.slip(part.name, 1)))
        kinds = [step.kind for step in plan.steps]
        power, out = kinds.index("power"), kinds.index("plug out")
        assert kinds[:2] == ["tape", "caution"]  # what the machine can still do itself, then the plug
        assert "mains plug" in plan.steps[1].words and "mains plug" in plan.steps[out].words
        on_mains = plan.steps[power:out]
        assert kinds[power + 1] == "look" and {step.kind for step in on_mains} == {
            "power",
            "look",
            "try",
            "check",
        }
        assert not any("by hand" in step.words or "Take off" in step.words for step in on_mains)
        off, on = (
            [
                step.words.split(" (")[0].partition(".")[0].split(" the ")[1]
                for step in plan.steps
                if step.kind in kinds_of_cover
            ]
            for kinds_of_cover in (("cover off", "bearing off"), ("bearing on", "cover on"))
        )
        assert off == on[::-1] and "every cover must be on" in plan.steps[power].words.lower()
        assert all(
            at < power for at, kind in enumerate(kinds) if kind in ("cover on", "bearing on", "by hand")
        )
        assert all(at > out for at, kind in enumerate(kinds) if kind in ("marks again", "close"))
        (again,) = words_of(plan, "marks again")
        assert f"{part.name}: {part.mark}" in again and all(cover in again for cover in off)
        assert kinds[-1] == "close"


def test_the_cassette_goes_in_for_the_trial_only():
    plan = retiming(tr.load("alder").with_faults(tr.slip("mode switch", 1)))
    told = [("Put in a cassette" in step.words, "ake" in step.words and "cassette out" in step.words)
            for step in plan.steps if step.kind in ("power", "plug out")]  # fmt: skip
    assert told == [(True, False), (False, True)] and "still in, get it out by hand" in plan.steps[2].words


def test_the_machine_brings_the_tape_out_before_the_plug_comes_out_where_it_can():
    late = tr.load("alder").with_faults(tr.slip("loading gear", -1))

    def told(*standing, machine=late):
        (step,) = words_of(retiming(machine, *standing), "tape")
        return step.removeprefix("Cassette or tape in the machine? ")

    ask, never = "As long as it has power, with every cover on, ask for EJECT", "Don't ask for EJECT under"
    # from STOP on arms and tension lever meet on the way back, as on the way there
    assert told() == (
        f"{ask}, and take it out. As it is, the machine gets there from DOWN and WIND. From STOP, REVIEW, "
        "PAUSE, PLAY and SLOW it doesn't: don't ask for it there. Where it stands in no mode, ask once. "
        "Once it is out, the machine stands in EJECT."
    )
    anew = "Once it is out, the machine stands in EJECT: make this list anew from there."
    assert told("WIND") == f"{ask}, and take it out. {anew}"
    assert told("PLAY").startswith(never) and told("PLAY").endswith(anew) and told(98.0).endswith(anew)
    assert told(98.0).startswith(f"{ask} once") and told("EJECT") == "Take it out now, with every cover on."
    assert "doesn't" not in told(machine=tr.load("alder").with_faults(tr.slip("mode switch", 1)))
    assert told(machine=tr.load("alder").with_faults(tr.slip("carriage gear", 1))).startswith(never)


def test_where_no_mode_can_be_reached_the_angle_is_asked_for():
    plan = retiming(tr.load("birch").with_faults(tr.slip("switch rotor", 2)))
    (bring,) = words_of(plan, "bring")
    assert "line up (STOP):\nfrom anywhere else" in bring and words_of(plan, "move")


def test_the_way_to_the_marks_from_no_mode():
    plan = retiming(tr.load("alder").with_faults(tr.slip("loading gear", -1)))
    (bring,), (out,) = words_of(plan, "bring"), words_of(plan, "bring open")
    assert "as the next steps say.\nfrom anywhere else, as after a jam: how far is told by this" in bring
    assert "anywhere else" not in out
    plan = retiming(tr.load("alder").with_faults(tr.slip("loading gear", -1)), 98.0)
    (bring,) = words_of(plan, "bring")  # 98° and the play, at 96 turns a round
    assert "From 98.0° to 0° of the main cam: 26.4 turns" in bring and "anywhere else" not in bring


def test_the_round_begins_where_the_walk_ended():
    for walk, first in ((("DOWN", "EJECT"), "DOWN"), (("EJECT", "DOWN"), "EJECT"), (("DOWN",), "EJECT")):
        steps = closing_steps(tr.load("alder"), ("brake cam",), (), walk)
        tries = [step.words for step in steps if step.kind == "try"]
        assert tries[0].startswith("Try what failed" if len(walk) > 1 else "Go once through every mode")
        assert tries[-1].split(": ")[1].split(" → ")[0] == first and len(tries) == len(walk)


def test_the_way_to_the_marks_from_every_mode():
    plan = retiming(small().with_faults(tr.slip("lever gear", 1)))
    (bring,) = words_of(plan, "bring")
    # the cam comes to stand at 48 in HALF and at 98 in OUT; the play of 3 is a sixth of a turn
    assert "from HALF: 2.5 turns of the crank against the loading sense, then 0.1 turns" in bring
    assert "from OUT: don't turn yet, for the interlock" in bring and "bars the way" in bring
    assert "mark of the switch is right: dot to dot" in bring
    (out,) = words_of(plan, "bring open")  # the rest of the way with the gear out
    assert out.startswith(
        "If the drive doesn't stand at the marks yet: turn the drive by hand, with the lever"
    )
    assert "from OUT: 5.0 turns" in out and "from HALF" not in out and "Force nothing" in out
    every = small().with_faults(tr.slip("lever gear", 1), tr.slip("switch", 1))
    assert "No other mark on the main gear is right" in words_of(retiming(every), "bring")[0]
    lost = small().with_faults(tr.slip("switch", 5))
    assert "from IN" not in words_of(retiming(lost), "bring")[0]


def test_cautions_stand_first_and_a_gears_own_at_its_lift():
    plan = retiming(tr.load("alder").with_faults(tr.slip("pinch cam", 1)))
    cautions, (lift,) = words_of(plan, "caution"), words_of(plan, "lift")
    assert [step.kind for step in plan.steps[1:5]] == ["caution"] * 3 + ["cover off"]
    assert "mains plug" in cautions[0] and "qualified" in cautions[0]
    assert lift == (
        "Mind: the pinch lever's spring pulls on it: unhook the spring first, eyes protected. Then lift the "
        "pinch cam (held by a clip) off the loading gear."
    )


@pytest.mark.parametrize(
    ("mesh", "words"),
    [
        ("mode switch", "snap hooks"),
        ("brake cam", "screw"),
        ("idler cam", "clip"),
        ("carriage gear", "screw"),
    ],
)
def test_the_cause_by_what_secures_the_part(mesh, words):
    plan = retiming(tr.load("alder").with_faults(tr.slip(mesh, 1)))
    first = words_of(plan, "cause")[0]
    assert first.startswith(f"The {mesh}: ") and words in first


def test_a_cause_is_told_once():
    plan = retiming(tr.load("alder").with_faults(tr.slip("brake cam", 1), tr.slip("mode switch", 1)))
    cause = words_of(plan, "cause")
    assert len(set(cause)) == len(cause) == 5  # three gears, two meshes


def test_a_part_on_a_moved_one_is_told_its_own_turn_and_the_teeth_as_the_cause():
    out = tr.load("alder").with_faults(tr.slip("loading gear", -1), tr.slip("pinch cam", 2))
    plan = retiming(out, 0.0)
    gear, pinch = words_of(plan, "move")
    assert gear.startswith("The loading gear goes 1 tooth on")
    # 1 of 100 teeth on is 0.6 of the 60 of the upper row; 2 back from there are 1.4 of 64 teeth: 7.875°
    assert pinch.startswith("The pinch cam turns by 7.9° of its own, 1.4 of its teeth, back, against its")
    assert "On the loading gear, which turns as well, that makes 2 teeth back." in pinch
    assert "pinch cam 2 teeth back on the loading gear;" in plan.sentence()
    stays = tr.load("alder").with_faults(tr.slip("loading gear", 5), tr.slip("pinch cam", -3))
    assert words_of(retiming(stays, 0.0), "move")[1].startswith("The pinch cam stays as it stands. On the")


def test_a_bridge_that_waits_for_a_lid_and_one_that_lies_on_it():
    """What lies on a cover that holds shafts, and must come off after it, waits with it."""
    rows = values()["part"]
    rows[0] |= {"under": ["tray"], "lift_minutes": 0}
    covers = [
        {"name": "lid", "minutes": 1},
        {"name": "bridge", "minutes": 1, "off_first": ["lid"], "holds": "the end of the crank"},
        {"name": "tray", "minutes": 1, "off_first": ["bridge"]},
    ]
    plan = retiming(small(part=rows, cover=covers).with_faults(tr.slip("switch", 1)))
    assert words_of(plan, "cover off") == ["Take off the lid (1 min with putting it back)."]
    assert [words.split(" (")[0] for words in words_of(plan, "bearing off")] == [
        "Take off the bridge",
        "Take off the tray",
    ]
    assert words_of(plan, "bearing on") == ["Put back the tray.", "Put back the bridge."]
    assert "Leave the bridge and the tray on for this: the bridge holds the end" in words_of(plan, "bring")[0]


def test_the_bridge_goes_on_for_turning_with_a_gear_out():
    (out,) = words_of(
        retiming(tr.load("alder").with_faults(tr.slip("loading gear", -1)), "PLAY"), "bring open"
    )
    assert out.startswith("Now first put the gear bridge on again (it holds the upper ends")
    assert "take it off again after the turning; turn the drive by hand, with the loading gear out," in out


def test_half_minutes_are_told():
    rows = values()["part"]
    rows[0] |= {"under": ["lid"], "lift_minutes": 0}
    lidded = small(part=rows, cover=[{"name": "lid", "minutes": 1.5}]).with_faults(tr.slip("switch", 1))
    assert words_of(retiming(lidded), "cover off") == ["Take off the lid (1.5 min with putting it back)."]
    assert retiming(lidded).untimed == () and retiming(lidded).minutes == 1.5


def test_a_cam_that_goes_round():
    plan = retiming(going_round().with_faults(tr.slip("switch", 1)), 90)
    assert "270.0° of the main cam in the loading sense" in words_of(plan, "bring")[0]
    assert "low end stop" not in words_of(plan, "bring")[0]
    assert "two turns of the main cam (720.0° of the main cam)" in words_of(plan, "by hand")[0]


def test_a_rack():
    rows = values()["part"]
    rows[2] |= {"kind": "rack"}
    plan = retiming(small(part=rows).with_faults(tr.slip("hook cam", -1)))
    assert "way round" not in words_of(plan, "move")[0]
    (marks,) = words_of(plan, "marks again")  # a rack's meet once
    assert marks.split("\n")[1:] == [f"hook cam: {rows[2]['mark']}"]
    gear = retiming(small().with_faults(tr.slip("hook cam", -1)))
    assert "the same way round as the main gear" in words_of(gear, "move")[0]  # two external meshes
    assert (
        "(if it goes round, the marks meet every 4 turns only)" in words_of(gear, "marks again")[0]
    )  # 24 on 30


LEFT = {
    "split": (tr.split_gear("pinch cam", -3), "The pinch cam has turned on its shaft by −3.0°"),
    "bent": (tr.bent_lever("reel idler", -0.3), "The reel idler is bent by −0.30 mm"),
    "dirty": (tr.dirty_contact("A", 0.5), "Contact A is dirty: each arc is short by 0.5°"),
    "open": (tr.open_contact("K"), "Contact K never closes"),
    "intermittent": (
        tr.intermittent_contact("K", 0.6),
        "Contact K is intermittent: each of its arcs passes 60",
    ),
}


@pytest.mark.parametrize("fault", LEFT)
def test_what_retiming_cannot_mend_is_told(fault):
    put_in, words = LEFT[fault]
    for faults in ([put_in], [put_in, tr.slip("brake cam", 1)]):
        plan = retiming(tr.load("alder").with_faults(*faults))
        assert len(plan.left) == 1 and plan.left[0].startswith(words)
        assert plan.sentence().endswith("Re-timing alone won't do.")
        assert [words in step for step in words_of(plan, "mend too")] == [True]
        assert plan.repaired == tr.load("alder").with_faults(put_in)
    assert retiming(tr.load("alder").with_faults(tr.slip("brake cam", 1))).left == ()


def test_a_contact_so_dirty_that_arcs_are_gone_and_a_dead_solenoid():
    rows = [dict(row) for row in ALDER["contact"]]
    rows[0]["closed"] = [[{"deg": -4}, {"deg": 1}], [{"deg": 54}, {"deg": 62}]]
    alder = transport_from(ALDER | {"contact": rows}, "mine.toml")
    plan = retiming(alder.with_faults(tr.dirty_contact("A", 3)))
    assert plan.left == ("Contact A misses some of its arcs.",)
    stages = [dict(row) for row in ALDER["stage"]]
    stages[0]["solenoid"] = True
    pulled = transport_from(ALDER | {"stage": stages}, "mine.toml")
    assert retiming(pulled).left == ()
    assert retiming(pulled.with_faults(tr.dead_solenoid())).left == ("The solenoid does not pull.",)


def test_what_runs_stiff_or_gives_too_little_is_told():
    alder = tr.load("alder")
    roots = (replace(alder.roots[0], drag_Nmm=alder.roots[0].drag_Nmm + 1), *alder.roots[1:])
    stiff = "The main gear runs stiff: its grease may have gone hard."
    assert retiming(alder.changed(roots=roots)).left == (stiff,)
    followers = (*alder.followers[:-1], replace(alder.followers[-1], friction_N=9.0))
    assert retiming(alder.changed(followers=followers)).left == ("The cam detent is stiff.",)
    weak = "Motor, supply, belt or driver do not give what they should."
    driven = alder.changed(motors=(replace(alder.drive, friction_Nmm=3.0),), followers=followers)
    assert retiming(driven).left == ("The cam detent is stiff.", weak)
