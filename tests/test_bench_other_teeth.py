"""Another tooth count at a mesh, against a transport file that is rewritten by hand and read anew."""

import tomllib
from dataclasses import replace

import pytest

from mechlib.bench.other_teeth import DRIVEN, DRIVER, other_teeth, teeth_at, timed_at, with_teeth
from mechlib.errors import MechError
from mechlib.say import say
from mechlib.transports import load
from mechlib.transports.change_table import change_table
from mechlib.transports.faults import slip
from mechlib.transports.files import DATA, transport_from
from mechlib.transports.model import LOADING
from mechlib.transports.runs import steady
from mechlib.transports.timing import margins

ALDER = load("alder")


def rewritten(part: str, new: int, stretched: dict[str, float], field: str = "teeth"):
    """Alder's file with another count in it, and the angles of some parts' tracks and contacts stretched."""
    values = tomllib.loads((DATA / "alder.toml").read_text(encoding="utf-8"))
    next(table for table in values["part"] if table["name"] == part)[field] = new

    def longer(angle, by):
        angle["deg"] *= by

    for follower in values["follower"]:
        by = stretched.get(follower["part"], 1.0)
        longer(follower["track_from"], by)
        for piece in follower["track"]:
            longer(piece["until"], by)
    for contact in values["contact"]:
        by = stretched.get(contact.get("part", "mode switch"), 1.0)
        for arc in contact["closed"]:
            for angle in arc:
                longer(angle, by)
    return transport_from(values, "rewritten.toml")


CASES = [  # mesh, side, new count, the file's field, and what stretches by what
    ("brake cam", DRIVEN, 52, "teeth", {"brake cam": 52 / 50}),  # the idler cam hangs on the same teeth
    ("loading gear", DRIVEN, 98, "teeth", {"loading gear": 0.98, "pinch cam": 0.98}),
    ("pinch cam", DRIVEN, 65, "teeth", {"pinch cam": 65 / 64}),
    ("pinch cam", DRIVER, 61, "parent_teeth", {"pinch cam": 60 / 61}),
    ("idler cam", DRIVEN, 61, "teeth", {"idler cam": 61 / 60}),
    ("mode switch", DRIVEN, 71, "teeth", {"mode switch": 71 / 72}),
]


@pytest.mark.parametrize(("mesh", "side", "new", "field", "stretched"), CASES)
def test_a_timed_part_with_another_count_is_as_its_rewritten_file(mesh, side, new, field, stretched):
    made = with_teeth(ALDER, mesh, side, new)
    file = rewritten(mesh, new, stretched, field)
    for one, other in zip(made.parts, file.parts, strict=True):
        assert (one.name, one.teeth, one.parent_teeth) == (other.name, other.teeth, other.parent_teeth)
        for name in ("speed", "parent_speed", "play_deg", "pitch_deg"):
            assert getattr(one, name) == pytest.approx(getattr(other, name)), (one.name, name)
    for one, other in zip(made.followers, file.followers, strict=True):
        for place in range(-150, 300, 7):
            assert one.lift(place) == pytest.approx(other.lift(place), abs=1e-9)
    for one, other in zip(margins(made), margins(file), strict=True):
        assert one.margin_deg == pytest.approx(other.margin_deg)
    ends = [{p: cell.change.outcome for p, cell in change_table(t).items()} for t in (made, file)]
    assert ends[0] == ends[1]


def test_only_the_rewritten_file_is_not_the_sound_machine():
    assert margins(rewritten("brake cam", 52, {"brake cam": 52 / 50})) != margins(ALDER)


@pytest.mark.parametrize(("mesh", "side", "new"), [case[:3] for case in CASES] + [("worm wheel", DRIVEN, 30)])
def test_there_and_back_gives_the_old_machine(mesh, side, new):
    old = teeth_at(ALDER, mesh, side)
    back = with_teeth(with_teeth(ALDER, mesh, side, new), mesh, side, old)
    assert teeth_at(back, mesh, side) == old
    for one, other in zip(margins(back), margins(ALDER), strict=True):
        assert one.margin_deg == pytest.approx(other.margin_deg)
    assert back.coast_deg == pytest.approx(ALDER.coast_deg)


def test_the_same_count_is_the_same_machine_and_faults_are_left_out():
    assert with_teeth(ALDER.with_faults(slip("mode switch", 2)), "mode switch", DRIVEN, 72) is ALDER
    other = with_teeth(ALDER.with_faults(slip("mode switch", 2)), "mode switch", DRIVEN, 71)
    assert other == with_teeth(ALDER, "mode switch", DRIVEN, 71) and other.sound is other


def test_an_output_s_row_counts_for_what_hangs_on_it():
    other = with_teeth(ALDER, "carriage gear", DRIVER, 55)
    assert other.roots[1].teeth == 55 and other.roots[0].teeth == 80
    factor = other.part("carriage gear").speed / ALDER.part("carriage gear").speed
    assert factor == pytest.approx(55 / 54)


@pytest.mark.parametrize(
    ("mesh", "side", "new", "slower"),
    [
        ("worm wheel", DRIVEN, 30, 30 / 24),
        ("worm wheel", DRIVER, 2, 1 / 2),
        ("sun gear shaft", DRIVER, 20, 0.9),
    ],
)
def test_upstream_only_the_speed_changes(mesh, side, new, slower):
    other = with_teeth(ALDER, mesh, side, new)
    turns = other.drive.turns_per_cam_turn / ALDER.drive.turns_per_cam_turn
    assert turns == pytest.approx(slower) and other.coast_deg == pytest.approx(ALDER.coast_deg / slower)
    assert (other.parts, other.followers, other.contacts) == (ALDER.parts, ALDER.followers, ALDER.contacts)


def test_a_machine_without_a_motor_gets_another_speed():
    plain = replace(ALDER, motors=(), speed_deg_s=70.0)
    assert with_teeth(plain, "worm wheel", DRIVEN, 28).speed_deg_s == pytest.approx(60.0)


def test_a_faster_train_is_told_in_seconds():
    found = other_teeth(ALDER, "worm wheel", DRIVEN, 26)
    (start, target), before, after = found.slowest
    assert not found.timed and not found.exact and found.failing == ()
    seconds = {pair: cell.change.time_s for pair, cell in change_table(ALDER).items()}
    assert before == max(seconds.values()) == seconds[start, target]
    # with more turns of the motor the load weighs less, so that it takes less than 26/24 as long
    assert 1 < after / before < 26 / 24
    assert f"takes {after:.2f} s; it was {before:.2f} s." in found.sentence()


@pytest.mark.parametrize(("mesh", "side", "new"), [("worm wheel", DRIVEN, 26), ("mode switch", DRIVER, 82)])
def test_every_mode_change_is_told_with_its_seconds_before_and_after(mesh, side, new):
    found = other_teeth(ALDER, mesh, side, new)
    tables = change_table(ALDER), change_table(with_teeth(ALDER, mesh, side, new))
    head, *rows = found.text().splitlines()
    assert head.split() == f"mode change {found.old_teeth} teeth, s {new} teeth, s difference, s".split()
    assert len(rows) == len(tables[0]) == 56
    fails = []
    for line, (start, target) in zip(rows, tables[0], strict=True):
        assert line.startswith(f"{start} to {target} ")
        before, after, more = line.removeprefix(f"{start} to {target} ").split()
        old, now = (table[start, target].change for table in tables)
        assert old.good and before == f"{old.time_s:.2f}"
        if now.good:
            assert after == f"{now.time_s:.2f}"
            off = float(more.replace("−", "-"))
            assert off == pytest.approx(now.time_s - old.time_s, abs=0.0051)
        else:
            assert (after, more) == ("fails", "-")
            fails.append((start, target))
    assert tuple(fails) == found.failing and bool(fails) == (new == 82)


def test_a_change_that_failed_before_is_told_as_such():
    back = other_teeth(with_teeth(ALDER, "mode switch", DRIVER, 82), "mode switch", DRIVER, 80)
    assert any(line.split()[-3] == "fails" for line in back.text().splitlines()[1:]) and back.failing == ()


def test_a_timed_part_is_told_with_what_fails():
    found = other_teeth(ALDER, "mode switch", DRIVER, 82)
    assert found.timed and len(found.failing) > 0
    table = change_table(found.after)
    assert all(not table[pair].change.good for pair in found.failing)
    assert f"{len(found.failing)} mode changes fail" in found.sentence()
    assert "the whole chart is drawn anew" in found.sentence()
    good = [pair for pair, cell in change_table(ALDER).items() if pair not in found.failing]
    assert found.slowest[1] == max(change_table(ALDER)[pair].change.time_s for pair in good)
    for machine, (deg, mode) in zip((found.before, found.after), found.least_margins, strict=True):
        assert deg == min(one.margin_deg for one in margins(machine))
        assert mode in [one.mode for one in margins(machine) if one.margin_deg == deg]
    (old, _), (new, mode) = found.least_margins
    assert f"the least margin is {say(new, '°')}, in {mode}; it was {say(old, '°')}." in found.sentence()
    assert other_teeth(ALDER, "mode switch", DRIVEN, 72).exact


def test_a_count_far_off_breaks_everything_and_still_has_a_sentence():
    assert "fail" in other_teeth(ALDER, "mode switch", DRIVEN, 20).sentence()
    assert other_teeth(ALDER, "worm wheel", DRIVEN, 500).sentence()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: with_teeth(ALDER, "brake cam", "left", 50), "side is 'left'"),
        (lambda: with_teeth(ALDER, "no such", DRIVEN, 50), "no mesh is called 'no such'"),
        (lambda: with_teeth(ALDER, "brake cam", DRIVEN, 3), "teeth is 3"),
        (lambda: with_teeth(ALDER, "brake cam", DRIVEN, 50.5), "whole number"),
        (lambda: with_teeth(load("birch"), "lever cam", DRIVEN, 59), "out of step"),
        (lambda: with_teeth(load("birch"), "flywheel pinion", DRIVEN, 91), "part-toothed"),
    ],
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(MechError, match=words):
        call()


# Cedar's main gear has 60 teeth in the row with which cam pinion and brake gear mesh, 45 in its lower row.
CEDAR, BIRCH = load("cedar"), load("birch")


def turns(transport, name):
    return transport.motor_named(name).turns_per_cam_turn


@pytest.mark.parametrize(
    ("mesh", "side", "new", "motor", "slower"),
    [
        ("drawer worm wheel", DRIVEN, 30, "drawer motor", 30 / 32),
        ("drawer motor pinion", DRIVER, 12, "drawer motor", 10 / 12),
        ("cam worm wheel", DRIVEN, 27, "cam motor", 27 / 24),
        ("cam pinion", DRIVER, 20, "cam motor", 18 / 20),
    ],
)
def test_of_several_motors_only_the_one_of_the_train_changes(mesh, side, new, motor, slower):
    other = with_teeth(CEDAR, mesh, side, new)
    for one in CEDAR.motors:
        by = slower if one.name == motor else 1.0
        assert turns(other, one.name) == pytest.approx(one.turns_per_cam_turn * by)
    assert (other.parts, other.followers, other.roots) == (CEDAR.parts, CEDAR.followers, CEDAR.roots)
    at = -100.0 if motor == "drawer motor" else 100.0  # within the stage of that motor, and of the other
    assert other.coasted(at, "loading") - at == pytest.approx(1.2 / slower)
    assert other.coasted(-at, "loading") + at == pytest.approx(1.2)
    assert other.coasted(at, "loading", 3.0) == at + 3.0


@pytest.mark.parametrize(("mesh", "side"), [("cam pinion", DRIVEN), ("brake gear", DRIVER)])
def test_the_main_gear_is_one_gear_from_whichever_mesh_it_is_looked_at(mesh, side):
    """59 teeth for 60: its motor makes 59/60 of the turns, the brake gear's row 59/60 of its turns."""
    other = with_teeth(CEDAR, mesh, side, 59)
    assert (other.main_teeth, teeth_at(other, "cam pinion", DRIVEN)) == (59, 59)
    assert teeth_at(other, "brake gear", DRIVER) == 59
    assert turns(other, "cam motor") == pytest.approx(215 * 59 / 60)
    assert turns(other, "drawer motor") == 240
    for part in CEDAR.parts:
        by = 59 / 60 if "brake gear" in CEDAR.chains[part.name] else 1.0
        assert other.part(part.name).speed == pytest.approx(part.speed * by), part.name
    back = with_teeth(other, mesh, side, 60)
    assert turns(back, "cam motor") == pytest.approx(215) and back.main_teeth == 60
    found = other_teeth(CEDAR, mesh, side, 59)
    assert found.timed and "the whole chart is drawn anew" in found.sentence()


def test_the_lower_row_of_the_main_gear_leaves_its_pinion_alone():
    (child,) = (part.name for part in CEDAR.parts if part.parent_teeth == 45)
    other = with_teeth(CEDAR, child, DRIVER, 46)
    assert (other.main_teeth, teeth_at(other, "cam pinion", DRIVEN)) == (60, 60)
    assert other.motors == CEDAR.motors


def test_which_gears_keep_the_marks():
    kept = [("cam pinion", DRIVEN), ("brake gear", DRIVER), ("brake gear", DRIVEN)]
    free = [("cam pinion", DRIVER), ("cam worm wheel", DRIVEN), ("drawer worm wheel", DRIVEN)]
    assert all(timed_at(CEDAR, *one) for one in kept) and not any(timed_at(CEDAR, *one) for one in free)
    assert not timed_at(BIRCH, "flywheel pinion", DRIVER)


def test_another_pinion_at_a_part_toothed_gear_is_that_of_its_releases():
    """From rest 0 to 160 degrees of 90 places the spring kicks 5 degrees: the pinion moves 38.75 places."""
    for teeth in (11, 13):
        other = with_teeth(BIRCH, "flywheel pinion", DRIVER, teeth)
        assert other.release.gear.pinion_teeth == teeth
        assert other.release.gear.step(0).driver_turns == pytest.approx(155 / 360 * 90 / teeth)
        assert other.drive.turns_per_cam_turn == pytest.approx(48.26 * 12 / teeth)
    with pytest.raises(MechError, match="a pinion of .* won't do: With teeth of ISO 53 A: at rest"):
        with_teeth(BIRCH, "flywheel pinion", DRIVER, 150)


def unsaid(name):
    """A shipped file that doesn't say what its upstream meshes drive."""
    transport = load(name)
    return replace(transport, upstream=tuple(replace(one, drives="") for one in transport.upstream))


@pytest.mark.parametrize(
    ("name", "mesh", "side", "new"),
    [
        ("cedar", "cam pinion", DRIVEN, 59),
        ("cedar", "brake gear", DRIVER, 59),
        ("birch", "flywheel pinion", DRIVER, 13),
    ],
)
def test_where_the_file_does_not_say_what_is_driven_nothing_is_guessed(name, mesh, side, new):
    with pytest.raises(MechError, match='say in the file which one it is: drives = "main gear" or'):
        with_teeth(unsaid(name), mesh, side, new)
    assert with_teeth(unsaid("cedar"), "drawer worm wheel", DRIVEN, 30).main_teeth == 60


def test_a_gear_between_may_have_the_main_gears_count():
    between = tuple(replace(one, drives="a gear between") for one in CEDAR.upstream)
    other = with_teeth(replace(CEDAR, upstream=between), "cam pinion", DRIVEN, 59)
    assert other.main_teeth == 60 and other.parts == CEDAR.parts
    assert turns(other, "cam motor") == pytest.approx(215 * 59 / 60)


@pytest.mark.parametrize("teeth", [44, 51])
def test_a_code_that_would_only_show_past_the_end_stop_fails_and_is_told(teeth):
    """EJECT's contact closes at its part's own angles: with so many teeth only past where the cam stops."""
    found = other_teeth(ALDER, "carriage gear", DRIVEN, teeth)
    assert not steady(found.after, LOADING).code_arcs(found.after.mode("EJECT").code)
    names = set(found.after.mode_names)
    assert {(start, "EJECT") for start in names - {"EJECT"}} <= set(found.failing)
    margin, mode = found.least_margins[1]
    assert mode == "EJECT" and margin < 0 and "mode changes fail" in found.sentence()
