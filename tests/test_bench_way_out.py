"""The way out by hand: the small machine worked by hand, the shipped ones by sampling their files densely."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from second_way import SENSES, Machine
from small_machine import going_round, small, values

from mechlib.bench.way_out import long_run, obstacle_name, right_arcs, way_out
from mechlib.errors import MechError
from mechlib.transports import bent_lever, load, slip
from mechlib.transports.runs import Obstacle

near = pytest.approx
DATA = resources.files("mechlib.transports") / "data"
STEP = 0.01


def told(way):
    """Each move as (follower, where it begins, where it ends)."""
    return [(move.follower, round(move.begin_deg, 6), round(move.end_deg, 6)) for move in way.moves]


# ---- By hand: unloading, lever and hook lag by 3; contact A ends at 5, settle 1, coast 2 ----


def test_the_small_machine_from_its_far_end():
    way = way_out(small(), 110)
    assert (way.target, way.sense, way.aim_deg, way.stop_deg, way.turn_deg) == ("IN", "unloading", 2, 2, 108)
    assert told(way) == [("hook", 87, 67), ("latch", 65, 55), ("lever", 37, 17)]
    assert [(m.from_state, m.to_state) for m in way.moves] == [
        ("up", "down"),
        ("open", "shut"),
        ("on", "off"),
    ]
    assert way.blocked is None and way.wedged == () and way.play_deg == 3 and way.rests == ()
    assert way.sentence() == "From 110.0° to 2.0° in the unloading sense to IN."
    assert way.moves[0].sentence() == "hook: from up (20.0 mm) to down (0.0 mm), between 87.0° and 67.0°."
    assert [(at, stage.name) for at, stage in way.stages] == [(110, "whole travel")]


def test_part_of_a_move_and_nothing_to_turn():
    way = way_out(small(), 30)
    assert told(way) == [("lever", 30, 17)] and way.moves[0].from_state == "between"
    assert way.moves[0].from_mm == near(13) and way.turn_deg == 28
    assert way_out(small(), 16).turn_deg == 0 and way_out(small(), 16).moves == ()
    assert told(way_out(small(), 17.5)) == []  # half a millimetre is within the tolerance of "off"


def test_moves_that_join_are_told_as_one():
    followers = values()["follower"]
    halfway = {"move_to": {"mm": 10}, "until": {"deg": 30}, "law": "simple harmonic"}
    followers[0]["track"].insert(1, halfway)  # off at 20, 10 mm at 30, on at 40
    back = way_out(small(follower=followers), 110)
    assert told(back) == [("hook", 87, 67), ("latch", 65, 55), ("lever", 37, 17)]
    assert told(way_out(small(follower=followers), 0, "HALF")) == [("lever", 20, 40)]


def test_the_nearest_of_several_right_arcs_is_taken():
    # Right is the latch shut, up to 56, or open, from 64 on.  The aim is a tooth into the latter.
    modes = values()["mode"]
    modes[0]["needs"] = {"latch": ["shut", "open"]}
    machine = small(mode=modes)
    assert right_arcs(long_run(machine, "unloading"), "IN")[0] == near((-20, 56))
    assert way_out(machine, 60).aim_deg == near(74)


def test_up_the_travel_and_the_aim_without_a_stop_angle():
    way = way_out(small(), 0, "HALF")  # loading: contact B begins at 45, settle 1, coast 2
    assert (way.sense, way.aim_deg) == ("loading", 48)
    assert told(way) == [("lever", 20, 40)]
    assert way_out(small(), 60, "HALF").aim_deg == 52  # unloading: 55 − 1 − 2
    # Its code can't be read where it is right: then a tooth (10 degrees) into the arc from 39 to 56.
    off = small().with_faults(slip("switch", -8))
    assert right_arcs(long_run(off, "loading"), "HALF")[0] == near((39, 56))
    assert way_out(off, 0, "HALF").aim_deg == near(39 + 8.5)  # ... or to its middle if that is nearer


def test_a_mode_that_cannot_be_is_told():
    # The lever gear 12 teeth behind (120 degrees): the lever is never on between the stops.
    way = way_out(small().with_faults(slip("lever gear", -12)), 100, "OUT")
    assert way.aim_deg is None and way.turn_deg == 0 and way.moves == () and way.blocked is None
    assert way.sentence() == "No place of the cam is right for OUT."


def test_the_hook_out_of_step_bars_the_way_and_holds_what_stands_in_it():
    # The hook must be down wherever the latch isn't open (64 on).  Two teeth ahead it is up sooner.
    machine = small()
    pitch = machine.part("hook cam").pitch_deg
    ahead = machine.with_faults(slip("hook cam", 2))
    leaves = 70 + 1 - 2 * pitch  # in the loading sense: more than 1 mm up
    way = way_out(ahead, 110)
    assert way.blocked and way.blocked.name == "the interlock hook and latch"
    assert way.blocked.theta_deg == near(64) and way.stop_deg == near(64)
    assert way.sentence().endswith("where the interlock hook and latch bars the way to IN.")
    assert way.blocked.sentence() == "At 64.0° the interlock hook and latch bars the way."
    assert leaves < 64
    inside = way_out(ahead, 63.5)
    ((obstacle, out),) = inside.wedged
    assert obstacle.name == "hook and latch" and out == near(0.5)  # up is nearer than down
    assert inside.blocked and inside.turn_deg == 0
    eased = way_out(ahead, leaves + 0.25)  # unloading it lags by 3
    assert eased.wedged[0][1] == near(-3.25) and eased.blocked is None and eased.aim_deg == 2


def test_touching_is_not_standing_in_it():
    ahead = small().with_faults(slip("hook cam", 2))  # loading, hook and latch are shut from 11 to 64
    way = way_out(ahead, 11, "OUT")
    assert way.wedged == () and way.blocked.theta_deg == near(11) and way.turn_deg < 1e-6
    assert way_out(ahead, 11.001, "OUT").wedged[0][1] == near(-3.001, abs=1e-6)  # 3 of them are play


def test_at_an_end_stop_within_a_jam_it_stands_in_it():
    """Cedar's rack a tooth behind: drawer and lock are shut from about 20.5 up to the stop at 222."""
    behind = load("cedar").with_faults(slip("drawer rack", -1))
    before, at_stop = way_out(behind, 221.99), way_out(behind, 222.0)
    assert at_stop.wedged[0][0].name == "lock and drawer" and at_stop.blocked is None
    assert at_stop.turn_deg == near(before.turn_deg + 0.01)
    assert at_stop.wedged[0][1] == near(before.wedged[0][1] - 0.01)


def test_a_cam_that_goes_round_takes_the_shorter_way():
    way = way_out(going_round(), 320)
    assert way.sense == "loading" and way.turn_deg == near(360 + (350 - 360 + 3) - 320)
    assert told(way) == [("lever", 320, 340)]
    back = way_out(going_round(), 130)
    assert back.sense == "unloading" and told(back) == [("lever", 130, 100)]
    assert way_out(going_round(), 5).turn_deg == 0


# ---- By dense sampling of the files ----


def moved(machine: Machine, follower: str, tolerance: float, theta, sense: int):
    """Stretches of theta (in the order of the way) on which a follower moves one way, and by how much."""
    lift = machine.lift(follower, machine.angles(theta, sense))
    steps = np.sign(np.where(np.abs(np.diff(lift)) > 1e-12, np.diff(lift), 0))
    found, at = [], 0
    for i in range(1, len(steps) + 1):
        if i == len(steps) or steps[i] != steps[at]:
            if steps[at] and abs(lift[i] - lift[at]) > tolerance + 1e-2:
                found.append((theta[at], theta[i], lift[at], lift[i]))
            at = i
    return found


def on_the_edge(move, data) -> bool:
    """True if a move is as long as the tolerance to which its follower is read: sampling can't tell."""
    row = next(row for row in data["follower"] if row["name"] == move.follower)
    return abs(move.to_mm - move.from_mm) <= row["tolerance_mm"] + 1e-2


def bars(machine: Machine, theta, sense: int):
    """The first angle at which two followers collide, for each pair that does, in order."""
    angles, found = machine.angles(theta, sense), []
    for row in machine.data.get("interlock", []):
        hit = np.flatnonzero(machine.collides(row, angles))
        found += [(hit[0], theta[hit[0]], row["name"])] if hit.size else []
    return [(at, name) for _, at, name in sorted(found)]


STARTS = [
    ("alder", {}, 266), ("alder", {}, 210.4), ("alder", {}, 176), ("alder", {}, 100.3), ("alder", {}, 40),
    ("alder", {}, -60), ("birch", {}, 240), ("birch", {}, 200), ("birch", {}, 33),
    ("birch", {"lever cam": 2}, 160), ("alder", {"loading gear": 1}, 210), ("alder", {"idler cam": 3}, 210),
    ("alder", {"brake cam": -2}, 200),
    ("alder", {"carriage gear": 1, "pinch cam": -2}, 220), ("alder", {"loading gear": -3}, 240),
]  # fmt: skip


@pytest.mark.parametrize(("name", "slips", "start"), STARTS, ids=str)
def test_moves_and_bars_are_those_of_the_file(name, slips, start):
    data = tomllib.loads((DATA / f"{name}.toml").read_text())
    machine = Machine(data).with_faults(slips=slips)
    way = way_out(load(name).with_faults(*(slip(m, n) for m, n in slips.items())), start)
    sense = SENSES[way.sense]
    assert sense == (1 if name == "birch" else -1)
    aimed = np.arange(start, way.aim_deg, sense * STEP)
    met = bars(machine, aimed, sense)
    assert (way.blocked is None) == (not met)
    if met:
        assert way.blocked.obstacle.name == met[0][1] and way.stop_deg == near(met[0][0], abs=2 * STEP)
    theta = aimed[(aimed - way.stop_deg) * sense <= 0]
    wanted = {}
    for row in data["follower"]:
        wanted[row["name"]] = moved(machine, row["name"], row["tolerance_mm"], theta, sense)
    for follower, rows in wanted.items():
        found = [m for m in way.moves if m.follower == follower and not on_the_edge(m, data)]
        assert len(found) == len(rows), (follower, found, rows)
        for move, (begin, end, first, last) in zip(found, rows, strict=True):
            assert (move.begin_deg, move.end_deg) == near((begin, end), abs=0.2)
            assert (move.from_mm, move.to_mm) == near((first, last), abs=0.02)
    begins = [move.begin_deg * sense for move in way.moves]
    assert begins == sorted(begins)


@pytest.mark.parametrize(("name", "slips", "start"), STARTS, ids=str)
def test_everything_stands_right_at_the_aim(name, slips, start):
    machine = Machine(tomllib.loads((DATA / f"{name}.toml").read_text())).with_faults(slips=slips)
    way = way_out(load(name).with_faults(*(slip(m, n) for m, n in slips.items())), start)
    here = machine.at(way.aim_deg, SENSES[way.sense])
    assert all(
        machine.right(way.target, follower, here)[0] for follower in machine.modes[way.target]["needs"]
    )


def test_springs_and_tape_are_those_of_the_file():
    data = tomllib.loads((DATA / "alder.toml").read_text())
    rows = {row["name"]: row for row in data["follower"]}
    for move in way_out(load("alder"), 210.4).moves:
        row = rows[move.follower]
        spring = row.get("spring", {"at_mm": 0, "force_N": 0})
        way = np.sign(move.from_mm - move.to_mm)  # towards smaller lifts the spring helps
        forces = [
            way * (spring["force_N"] + spring.get("rate_N_mm", 0) * (mm - spring["at_mm"]))
            for mm in (move.from_mm, move.to_mm)
        ]
        assert (move.push_begin_N, move.push_end_N) == near(forces, abs=1e-9)
        assert move.pushed_on == (max(forces) > row.get("friction_N", 0))
        drawn = data["tape"]["mm_per_mm"].get(move.follower)
        assert move.free_mm == (None if drawn is None else near(drawn * (move.from_mm - move.to_mm)))
    loading = [move for move in way_out(load("alder"), 0, "STOP").moves if move.follower == "loading arms"]
    assert sum(move.free_mm for move in loading) == near(-2.1 * 78)


def test_the_reel_is_free_where_the_brakes_are_off():
    machine = Machine(tomllib.loads((DATA / "alder.toml").read_text()))
    move = next(m for m in way_out(load("alder"), 210.4).moves if m.free_mm)
    wanted = machine.arcs(
        lambda t: machine.within("main brakes", "off", machine.lift("main brakes", machine.angles(t, -1))),
        -118,
        268,
    )
    inside = [arc for arc in move.reel_free if arc[0] >= -118 and arc[1] <= 268]
    assert inside == [near(arc, abs=1e-3) for arc in wanted[: len(inside)]]
    assert way_out(small(), 110).moves[0].reel_free is None


def test_stages_and_rests():
    way = way_out(load("alder"), 100)
    assert [(at, stage.name) for at, stage in way.stages] == [(100, "cam"), (-16, "carriage")]
    assert [(at, stage.name) for at, stage in way_out(load("alder"), -60).stages] == [(-60, "carriage")]
    assert [(at, s.name) for at, s in way_out(load("alder"), -60, "STOP").stages] == [
        (-60, "carriage"),
        (-16, "cam"),
    ]
    assert way_out(load("birch"), 100).rests == (160, 240, 360)
    assert way_out(load("birch"), 160).rests == (160, 240, 360)
    assert way_out(load("birch"), 240).sense == "loading" and way_out(load("birch"), 240).aim_deg == 360
    assert [at for at, _ in way_out(load("alder"), -15.5).stages] == [-15.5, -16]


def test_a_cam_that_is_released_is_turned_to_a_rest():
    """Birch rests at 0, 160 and 240, or a little behind: PAUSE, right from 280 to 298, too, is at 160."""
    birch = load("birch")
    for target, rest in (("STOP", 0), ("PAUSE", 160), ("PLAY", 240)):
        for start in np.arange(0.25, 360, 1.5):
            way = way_out(birch, float(start), target)
            there = (start - rest + 180) % 360 - 180
            on = 0 if 0 <= there <= birch.release.latch_deg else (rest - start) % 360
            assert way.turn_deg == near(on, abs=1e-9), (target, start)
    assert way_out(birch, 240, "PAUSE").stop_deg == 520 and way_out(birch, 240, "PAUSE").rests == (
        240,
        360,
        520,
    )
    missing = replace(birch, release=birch.release.missing(1))  # no latch catches at 160
    assert way_out(missing, 100, "PAUSE").stop_deg not in (160, 520)


def test_a_detent_that_is_bent_sends_the_power_elsewhere():
    machine = load("alder").with_faults(bent_lever("cam detent", 0.5))
    way = way_out(machine, 100)
    assert [met.obstacle.name for met in way.elsewhere] == ["carriage"]
    assert way.elsewhere[0].theta_deg == near(-16) and way.blocked is None
    barred = way_out(machine.with_faults(slip("idler cam", 3)), 210)
    assert barred.blocked and barred.elsewhere == ()  # it doesn't get that far
    standing = way_out(machine, -16)
    assert [met.theta_deg for met in standing.elsewhere] == [-16]


def test_what_is_left_behind_can_bar_the_way_again():
    """Cedar's rocker gear two teeth ahead: from within the one jam of rocker and brakes it meets the next."""
    data = tomllib.loads((DATA / "cedar.toml").read_text())
    machine = Machine(data).with_faults(slips={"rocker gear": 2})
    way = way_out(load("cedar").with_faults(slip("rocker gear", 2)), 102)
    row = next(row for row in data["interlock"] if row["name"] == "rocker and brakes")
    theta = np.arange(102, 0, -STEP)
    hit = machine.collides(row, machine.angles(theta, -1))
    out = theta[np.flatnonzero(~hit)[0]]
    again = theta[(theta < out) & hit][0]
    assert hit[0] and 102 + way.wedged[0][1] == near(out, abs=2 * STEP)
    assert way.blocked and way.stop_deg == near(again, abs=2 * STEP)


@pytest.mark.parametrize(
    ("name", "part", "teeth", "lock", "theta", "turns", "shaft"),
    [
        ("alder", "idler cam", 3, "idler and brakes", 194, 0.22, 96),
        ("alder", "idler cam", 3, "idler and brakes", 192, 0.76, 96),
        ("alder", "idler cam", 3, "idler and brakes", 191.2, -0.90, 96),  # on the way: no play is left
        ("cedar", "rocker gear", -2, "rocker and brakes", 66.5, 0.27, 80),
        ("cedar", "rocker gear", 2, "rocker and brakes", 106, 0.37, 80),
    ],
)
def test_a_jam_is_eased_after_the_play_is_taken_up(name, part, teeth, lock, theta, turns, shaft):
    """Turned from where the parts stand after the unloading sense, step by step, until the two part."""
    data = tomllib.loads((DATA / f"{name}.toml").read_text())
    machine = Machine(data).with_faults(slips={part: teeth})
    row = next(row for row in data["interlock"] if row["name"] == lock)
    stands, found = machine.angles(np.array([theta]), -1), []
    for sense in (1, -1):
        turned = theta + sense * np.arange(0, 15, STEP)
        hit = machine.collides(row, machine.angles(turned, sense, stands))
        assert hit[0]
        found.append(turned[np.flatnonzero(~hit)[0]] - theta)
    way = way_out(load(name).with_faults(slip(part, teeth)), theta)
    assert way.sense == "unloading" and way.wedged[0][1] == near(min(found, key=abs), abs=2 * STEP)
    assert way.wedged[0][1] / 360 * shaft == near(turns, abs=0.01)


def test_names_of_obstacles_and_refusals():
    assert obstacle_name(Obstacle("elsewhere", "carriage", ())) == "the stage carriage"
    assert obstacle_name(Obstacle("interlock", "a and b", ())) == "the interlock a and b"
    for start in (-20.1, 120.1, float("nan"), "IN"):
        with pytest.raises(MechError):
            way_out(small(), start)
    assert way_out(small(), -20).turn_deg == 0 and way_out(small(), 120).turn_deg == 118
    with pytest.raises(MechError, match="no mode is called 'GONE'"):
        way_out(small(), 0, "GONE")


def test_what_stands_half_way_does_not_move():
    """Cedar's drawer goes evenly from end to end: while the cam turns it stands, and only then it moves."""
    way = way_out(load("cedar"), 128)
    drawer = [move for move in way.moves if move.follower == "drawer"]
    assert [(near(move.begin_deg), near(move.end_deg)) for move in drawer] == [(-12, way.stop_deg)]
    assert way.moves[0].follower != "drawer"
