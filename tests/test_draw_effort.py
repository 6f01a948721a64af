"""The picture of a change against its motor: curves as sampled a second way, marks in place, words apart."""

import itertools
import random
import tomllib
from functools import partial
from importlib import resources

import numpy as np
import pytest
from crowded_chart import collisions, measured, words
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.text import Text
from second_way import Machine
from second_way_force import Forces
from share import share, times
from small_machine import EVEN_BELT, driven, going_round_driven, spring

from mechlib.bench.effort_trial import effort_ranges, effort_trial
from mechlib.draw import LivePicture
from mechlib.draw import effort as scene
from mechlib.draw import page as paper
from mechlib.draw.style import SMALL_PT, figure
from mechlib.errors import MechError
from mechlib.transports import load

ALDER = load("alder")
TOML = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))
LOADED_IDLER = {"stiff": "reel idler", "stiff_N": 10.0}
SETS = [
    {"start": "EJECT", "target": "PLAY"},
    {"start": "EJECT", "target": "PLAY", "grown_percent": 2.0},
    {"start": "EJECT", "target": "SLOW", "voltage_V": 7.0},
    {"start": "EJECT", "target": "PLAY", "stiff_N": 10.0},
    {"start": "PLAY", "target": "STOP", "stiff": "main brakes", "stiff_N": 10.0},
    {"start": "PLAY", "target": "EJECT", "voltage_V": 6.5, "grease_Nmm": 30},
    {"start": "EJECT", "target": "SLOW", "motor_percent": 20, "voltage_V": 6.0},
    {"start": "EJECT", "target": "SLOW", "grown_percent": 8.0},
    {"start": "STOP", "target": "PLAY", "stiff": "reel idler", "stiff_N": 10.0, "grease_Nmm": 100},
    {"start": "SLOW", "target": "DOWN", "friction_percent": 60},
    {"start": "EJECT", "target": "PLAY", "stiff": "reel idler", "stiff_N": 10.0, "grease_Nmm": 100},
    {"start": "EJECT", "target": "PLAY", "stiff": "carriage", "stiff_N": 10.0},
    {"start": "SLOW", "target": "DOWN", "greased": "loading gear", "grease_Nmm": 74} | LOADED_IDLER,
]
VALUES = st.fixed_dictionaries(
    {name: st.sampled_from(c.positions()) for name, c in effort_ranges(ALDER).items()}
)


def picture(machine=ALDER, **values):
    ranges = effort_ranges(machine)
    start = {name: control.default for name, control in ranges.items()} | values
    return LivePicture(partial(effort_trial, machine), scene, start, scene.SIZE_PX, scene.window(machine))


def drawn(values, machine=ALDER):
    """The artists of one drawing, and what they show."""
    result = effort_trial(machine, **values)
    made = scene.create(figure(*scene.SIZE_PX), result, **scene.window(machine))
    scene.update(made, result)
    return made, result


@pytest.mark.parametrize("sense, values", [(1, SETS[0]), (-1, {"start": "PLAY", "target": "STOP"})])
def test_curves_are_those_of_the_second_way(sense, values):
    made, _ = drawn(values)
    forces = Forces(Machine(TOML), sense)
    for curve in (made.torque.whole, made.torque.sound):
        theta, torque = curve.get_data()
        clear = np.min(abs(theta[:, None] - forces.breaks), axis=1) > 1e-3
        assert theta[0] == -118 and theta[-1] == 268 and np.all(np.diff(theta) <= 0.5)
        assert torque[clear] == pytest.approx(forces.torque(theta[clear]), abs=2e-3)
    for curve in (made.speed.whole, made.speed.sound):
        theta, speed = curve.get_data()
        assert speed[clear] == pytest.approx(forces.speed(forces.torque(theta[clear])), rel=2e-3)


def test_what_was_run_is_bold_and_ends_at_its_mark():
    made, result = drawn(SETS[1])
    for curve in (made.torque, made.speed):
        theta, values = curve.run.get_data()
        assert theta[0] == pytest.approx(result.leg.start_deg, abs=0.5)
        assert theta[-1] == pytest.approx(result.leg.end_deg, abs=0.5)
        assert curve.run.get_linewidth() > 2 * curve.whole.get_linewidth()
    (x, y) = made.at_end[scene.STALL_MARK].get_xydata()[0]
    assert (x, y) == (result.leg.end_deg, pytest.approx(result.transport.drive.limit_Nmm, abs=0.01))
    assert not any(len(line.get_xdata()) for mark, line in made.at_end.items() if mark != scene.STALL_MARK)
    theta, speed = made.speed.whole.get_data()
    stuck = speed == 0
    assert stuck.any() and theta[stuck][0] == pytest.approx(result.leg.end_deg, abs=0.5)


def test_each_ending_has_its_mark():
    for number, mark in ((0, "o"), (1, "X"), (2, "s"), (7, "X")):
        made, result = drawn(SETS[number])
        ((x, _),) = made.at_end[mark].get_xydata()
        assert x == result.leg.end_deg
    assert len({line.get_markerfacecolor() for line in made.at_end.values()}) == len(made.at_end) == 3


def test_a_leg_that_moves_at_its_time_out_is_not_held():
    """Slow on the way back, too: it turns until the time-out, short of the end stop at −118°."""
    made, result = drawn({"start": "EJECT", "target": "PLAY", "voltage_V": 3.0})
    back = result.change.legs[1]
    assert back.ended == "code never seen" and -118 < back.end_deg < back.start_deg
    assert len(made.marks[scene.SLOW_MARK].get_xdata()) == 2
    assert not len(made.marks[scene.STALL_MARK].get_xdata())


def test_layers_fill_what_is_asked():
    """The area of all layers is that below the curve; the lowest is the friction of the train."""
    for values in (SETS[0], SETS[4], SETS[5]):
        made, _ = drawn(values)
        theta, asked = made.torque.whole.get_data()
        areas = [shoelace(layer.get_paths()[0].vertices) for layer in made.layers]
        assert sum(areas) == pytest.approx(np.trapezoid(asked, theta), rel=1e-6)
        assert areas[0] == pytest.approx(0.5 * 386, rel=1e-6)
    made, _ = drawn(SETS[0])
    drags = shoelace(made.layers[1].get_paths()[0].vertices)
    greased, _ = drawn(SETS[0] | {"grease_Nmm": 40})  # the main cam turns on 284° of the travel
    more = shoelace(greased.layers[1].get_paths()[0].vertices) - drags
    upper = 40 / (288 * 0.35) / 0.9604 * 284  # less where a falling lever helps
    assert 0.8 * upper < more < 1.02 * upper


def shoelace(points) -> float:
    x, y = points.T
    return abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def test_names_stand_on_their_humps():
    made, result = drawn(SETS[0])
    found = {word.get_text(): word.get_position() for word in made.names if word.get_text()}
    theta, asked = made.torque.whole.get_data()
    assert set(found) == {"carriage", "cam detent", "loading arms", "pinch lever"}
    assert found["pinch lever"][0] == pytest.approx(result.worst.theta_deg, abs=0.5)
    for x, y in found.values():
        assert y > np.interp(x, theta, asked)
    back, _ = drawn(SETS[4])
    assert {word.get_text() for word in back.names} == {"", "carriage", "main brakes"}


def test_the_humps_that_matter_are_named():
    """That of the sentence and that on which the leg ended, whoever asks most elsewhere."""
    stiff = {"start": "EJECT", "target": "PLAY", "stiff_N": 10.0}
    tense = {"start": "WIND", "target": "SLOW", "stiff": "tension lever", "stiff_N": 5.0}
    for values, places in (
        (tense, {"pinch lever": 120.6}),
        (stiff | {"stiff": "main brakes"}, {"main brakes": 119.5}),
        (stiff | {"stiff": "main brakes"}, {"main brakes": 191.5}),
        (stiff | {"stiff": "reel idler"}, {"reel idler ↑ 6.46 N·mm": 135.1}),
    ):
        made, result = drawn(values)
        for name, theta in places.items():
            assert any(
                word.get_text() == name and word.get_position()[0] == pytest.approx(theta, abs=1)
                for word in made.names
            ), (name, theta)
            assert result.worst.largest.names[0] == name.split(" ↑")[0]


def test_a_hump_that_is_cut_off_says_how_high_it_is():
    made, _ = drawn({"start": "EJECT", "target": "PLAY", "stiff": "carriage", "stiff_N": 10.0})
    theta, asked = made.torque.whole.get_data()
    told = {word.get_text(): word.get_position() for word in made.names if "↑" in word.get_text()}
    assert set(told) == {"carriage ↑ 17.15 N·mm", "↑ 8.99"}
    assert asked.max() == made.cap < min(y for _, y in told.values())


def test_no_name_lies_across_a_hump():
    for values in SETS:
        made, _ = drawn(values)
        theta, asked = made.torque.whole.get_data()
        pixel = 386 / scene.TORQUE[2]
        for word in made.names:
            if word.get_text():
                (x, y), half = word.get_position(), paper.width_px(word.get_text()) / 2 * pixel
                assert y > asked[abs(theta - x) <= half].max(), (values, word.get_text())


def test_the_limit_and_its_name():
    for number, limit, first, second in (
        (0, 3.2530, "belt slips", "3.25 N·mm"),
        (6, 1.0, "motor stalls", "1.00 N·mm"),
        (7, 0.0, "belt", "loose"),
    ):
        made, _ = drawn(SETS[number])
        ((start, end),) = made.limit.get_segments()
        assert start == pytest.approx((-118, limit), abs=1e-4) and end == pytest.approx(
            (268, limit), abs=1e-4
        )
        assert [word.get_text() for word in made.limit_name] == [first, second]
        axes = made.limit.axes
        middle = np.mean([word.get_position()[1] for word in made.limit_name])
        y = scene.SIZE_PX[1] - axes.transData.transform((0, limit))[1]
        assert middle == pytest.approx(y, abs=0.6)
        assert made.belt.get_segments()[0][:, 0] == pytest.approx(limit, abs=1e-4)


def test_legs_as_told():
    made, result = drawn(SETS[1])
    legs = result.change.legs
    told = ["loading to PLAY: jammed, 8.0 s", "unloading to DOWN: reached, 1.6 s"]
    assert [word.get_text() for word in made.told] == [*told, told[0], "", "", ""]
    ways = [part for part in made.arrows.get_segments() if len(part) == 2 and part[0][1] == part[1][1]]
    assert [tuple(part[:, 0]) for part in ways] == [(leg.start_deg, leg.end_deg) for leg in legs]
    heads = [part for part in made.arrows.get_segments() if len(part) == 3]
    assert [np.sign(head[1, 0] - head[0, 0]) for head in heads] == [1, -1, 1]
    assert len(made.marks["X"].get_xdata()) == 2 and len(made.marks["o"].get_xdata()) == 1


def test_the_motor_line():
    made, result = drawn(SETS[2])
    assert made.line.get_xydata().tolist() == [
        [0, pytest.approx(2391.67, abs=0.01)],
        [pytest.approx(5.8333, abs=1e-4), 0],
    ]
    torques, speeds = made.worked.get_data()
    assert torques[0] == pytest.approx(0.5) and torques[1] == pytest.approx(result.worst.asked_Nmm, abs=1e-3)
    motor = result.transport.drive.motor
    assert speeds == pytest.approx([motor.speed(torque) for torque in torques])
    nothing, _ = drawn(SETS[7])
    assert len(nothing.worked.get_xdata()) <= 2 and np.all(nothing.worked.get_xdata() == 0)


@settings(max_examples=times(2, 5), deadline=None)
@given(st.lists(VALUES, max_size=2), VALUES)
def test_after_any_walk_the_picture_is_the_fresh_one(steps, end):
    if end["start"] == end["target"]:
        end = end | {"start": "EJECT", "target": "PLAY"}
    walked = picture()
    artists = [id(artist) for artist in walked.figure.findobj()]
    for step in steps:
        walked.set(**step)
    assert walked.set(**end) == picture(**end).frame()
    assert [id(artist) for artist in walked.figure.findobj()] == artists


def shown_values():
    """What is looked at, then the ends of all ranges mixed by chance."""
    dice = random.Random(3)
    yield from SETS
    for _ in range(times(2, 25)):
        values = {name: dice.choice(c.positions()[:: len(c.positions()) - 1]) for name, c in RANGES.items()}
        values |= {name: dice.choice(RANGES[name].positions()) for name in ("start", "greased", "stiff")}
        yield values | {"target": "PLAY" if values["start"] != "PLAY" else "EJECT"}


RANGES = effort_ranges(ALDER)


def test_words_and_curves_have_room():
    live = picture()
    renderer = live.figure.canvas.get_renderer()
    moving = set(live.moving)
    still = measured([t for t in words(live.figure) if t not in moving], renderer)
    texts = [each for each in live.moving if isinstance(each, Text)]
    assert collisions(still[0], *still[1], scene.SIZE_PX) == []
    assert all(text.get_fontsize() >= SMALL_PT for text in words(live.figure))
    for values in shown_values():
        live.set(**{name: c.default for name, c in RANGES.items()} | values)
        names, edges = measured(texts, renderer)
        both = np.concatenate([still[1], edges], axis=1)
        faults = [f for f in collisions(still[0] + names, *both, scene.SIZE_PX)]
        assert faults == [], values
        for line in [each for each in live.moving if hasattr(each, "get_xydata")]:
            (low, high), (bottom, top) = line.axes.get_xlim(), sorted(line.axes.get_ylim())
            points = line.get_xydata()
            assert (
                np.all(np.isfinite(points))
                and np.all(points >= (low, bottom))
                and np.all(points <= (high, top))
            )


@pytest.mark.few(2)
@pytest.mark.parametrize(
    "machine",
    [
        driven(lever=spring(30)),
        driven(lever=spring(30), belt=EVEN_BELT),
        going_round_driven(lever=spring(80)),
    ],
    ids=["line", "belt", "round"],
)
def test_other_machines(machine):
    live = picture(machine)
    for start, target in share(itertools.permutations(machine.mode_names, 2), 3):
        frame = live.set(start=start, target=target, stiff_N=0)
        assert live.sentence.startswith(f"{start} to {target}: ") and frame == live.frame()
    assert live.set(start=target) == frame and live.sentence.endswith("choose another start or target")


def test_the_window():
    assert scene.window(going_round_driven())["theta_deg"] == (-360, 720)
    found = scene.window(driven())
    assert found["theta_deg"] == (-20, 120) and found["torque_Nmm"] == (0, 3.2)
    assert found["speed_deg_s"] == (0, pytest.approx(63.6)) and found["stall_Nmm"] == (0, pytest.approx(2.12))
    assert found["rev_min"] == (0, pytest.approx(636))


def test_refused_values_leave_the_picture():
    live = picture(start="EJECT", target="PLAY")
    before = live.frame()
    assert live.set(target="EJECT") == before and "doesn't turn" in live.sentence
    with pytest.raises(MechError):
        picture(start="PLAY", target="PLAY")
