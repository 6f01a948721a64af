"""Another tooth count at a mesh, against a transport file that is rewritten by hand and read anew."""

import tomllib
from dataclasses import replace

import pytest

from mechlib.bench.other_teeth import DRIVEN, DRIVER, mark_place, other_teeth, teeth_at, with_teeth
from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.change_table import change_table
from mechlib.transports.faults import slip, split_gear
from mechlib.transports.files import DATA, transport_from
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
    assert f"takes {after:.2f} s for {before:.2f} s" in found.sentence()


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
        (lambda: mark_place(ALDER, "no such", 0, 0), "no timed part"),
        (lambda: mark_place(ALDER, "idler cam", 0, 0), "is a sector"),
        (lambda: mark_place(ALDER, "mode switch", 361, 0), "mark_deg"),
        (lambda: mark_place(ALDER, "mode switch", 10, 5.1), "first_tooth_deg"),
    ],
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(MechError, match=words):
        call()


@pytest.mark.parametrize(("mark", "first"), [(91.7, 1.2), (0.0, 2.0), (359.0, 4.9), (180.0, 2.6), (2.5, 0.1)])
def test_the_mark_goes_to_the_nearest_tooth(mark, first):
    found = mark_place(ALDER, "mode switch", mark, first)
    teeth = [(first + 5 * at) % 360 for at in range(72)]  # where every tooth of the new gear stands
    gaps = [(mark - angle + 180) % 360 - 180 for angle in teeth]
    nearest = min(range(72), key=lambda at: abs(gaps[at]))
    assert found.tooth == nearest + 1
    assert found.off_part_deg == pytest.approx(gaps[nearest])
    assert found.off_cam_deg == pytest.approx(gaps[nearest] / (80 / 72))  # 80 teeth drive 72
    assert abs(found.off_part_deg) <= 2.5 + 1e-9


def test_a_mark_between_two_teeth_can_cost_mode_changes():
    found = mark_place(ALDER, "mode switch", 92.4, 0.0)
    turned = ALDER.with_faults(split_gear("mode switch", found.off_cam_deg))
    bad = [pair for pair, cell in change_table(turned).items() if not cell.change.good]
    assert sorted(found.failing) == sorted(bad)
    assert found.off_part_deg == pytest.approx(2.4) and "ahead" in found.sentence()
    behind = mark_place(ALDER, "mode switch", 92.6, 0.0)
    assert behind.tooth == found.tooth + 1 and "behind" in behind.sentence()
