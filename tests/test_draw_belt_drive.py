"""The picture of a belt drive: true to scale, its widths are tensions, and nothing is cut off."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.bench.belt_trial import CONTROLS, DEFAULTS, trial
from mechlib.draw import LivePicture
from mechlib.draw import belt_drive as scene
from mechlib.draw import page as paper
from mechlib.draw.style import figure
from mechlib.errors import MechError

WIDTH, HEIGHT = scene.SIZE_PX
SETS = [
    {},
    {"inside_mm": 300.0},
    {"inside_mm": 120.0, "centres_mm": 120.0, "driven_mm": 90.0, "driver_mm": 20.0, "thickness_mm": 2.4},
    {"centres_mm": 40.0, "driver_mm": 5.0, "driven_mm": 30.0, "inside_mm": 420.0},
    {"friction": 0.05, "load_Nmm": 20.0},
    {"load_Nmm": 18.0, "kind": "flat", "inside_mm": 250.0},
    {"capstan_mm": 5.0, "standard": "microcassette", "motor_rev_min": 3600},
    {"capstan_mm": 1.5, "standard": "open reel 38", "motor_rev_min": 800},
]


def drawn(values):
    result = trial(**DEFAULTS | values)
    made = scene.create(figure(*scene.SIZE_PX), result)
    scene.update(made, result)
    return made, result


def polygons(shapes):
    return [path.vertices[:-1] @ (1, 1j) for path in shapes.get_paths()]


def lines(collection):
    return [np.asarray(segment) @ (1, 1j) for segment in collection.get_segments()]


@pytest.mark.parametrize("values", SETS)
def test_wheels_and_belt_are_true_to_scale(values):
    v = DEFAULTS | values
    made, _ = drawn(values)
    large, small = polygons(made.wheels)
    middles = [shape.real.min() + np.ptp(shape.real) / 2 for shape in (large, small)]
    assert middles[1] - middles[0] == pytest.approx(scene.SCALE * v["centres_mm"], abs=0.1)
    assert np.ptp(large.imag) == pytest.approx(scene.SCALE * v["driven_mm"], rel=2e-3)
    assert np.ptp(small.imag) == pytest.approx(scene.SCALE * v["driver_mm"], rel=2e-3)
    capstan, _ = polygons(made.shafts)
    assert np.ptp(capstan.real) == pytest.approx(scene.SCALE * v["capstan_mm"], rel=2e-3)
    # The belt's middle line lies half a thickness outside each wheel.
    for arc, middle, across in zip(lines(made.arcs), middles, (v["driven_mm"], v["driver_mm"]), strict=True):
        away = abs(arc - middle - 1j * scene.FLYWHEEL[1])
        assert away == pytest.approx(scene.SCALE * (across + v["thickness_mm"]) / 2, rel=2e-3)


@pytest.mark.parametrize("values", SETS)
def test_arcs_and_runs_make_one_closed_belt(values):
    made, result = drawn(values)
    around, inner = lines(made.arcs)
    ends = {complex(round(p.real, 6), round(p.imag, 6)) for p in (*around[[0, -1]], *inner[[0, -1]])}
    if result.drive.stretch_percent <= 0:
        runs = lines(made.hanging)
        assert not made.runs[0].get_paths() and not made.runs[1].get_paths()
        for run in runs:
            assert (run.imag - np.linspace(run[0].imag, run[-1].imag, len(run))).max() > 0  # hangs down
    else:
        runs = [polygon[:2] for shape in made.runs for polygon in polygons(shape)]
        assert not made.hanging.get_segments()
        total = sum(abs(np.diff(arc)).sum() for arc in (around, inner)) + sum(abs(a - b) for a, b in runs)
        assert total == pytest.approx(scene.SCALE * result.drive.path.length_mm, rel=1e-3)
    found = {complex(round(p.real, 6), round(p.imag, 6)) for run in runs for p in (run[0], run[-1])}
    assert found == ends


def test_a_hanging_run_is_longer_by_its_share():
    """The curve's own length against half of what the belt is too long, while it hangs only a little."""
    made, result = drawn({"inside_mm": 278.0})
    extra = (result.drive.belt.pitch_length_mm - result.drive.path.length_mm) * scene.SCALE / 2
    assert extra > 0
    level = lines(made.hanging)[0]
    straight = abs(level[-1] - level[0])
    assert abs(np.diff(level)).sum() - straight == pytest.approx(extra, rel=0.3)


@pytest.mark.parametrize("values", [SETS[0], SETS[4], SETS[5], {"inside_mm": 262.5, "load_Nmm": 8.0}])
def test_runs_are_as_wide_as_their_tension_and_outside(values):
    made, result = drawn(values)
    tensions = (result.at_work.tight_N, result.at_work.slack_N)
    for shape, tension, side in zip(made.runs, tensions, (-1, 1), strict=True):
        start, end, far, near = polygons(shape)[0]
        wanted = min(max(scene.N_PX * tension, scene.THIN), scene.WIDEST)
        assert abs(near - start) == pytest.approx(wanted) == pytest.approx(abs(far - end))
        assert np.sign((near - start).imag) == side  # y counts downwards: the tight run is the upper one
        assert ((near - start) / (end - start)).real == pytest.approx(0, abs=1e-9)
    assert made.labels[4].get_text() == f"tight: {tensions[0]:.2f} N"
    assert made.labels[5].get_text() == f"slack: {tensions[1]:.2f} N"


@pytest.mark.parametrize("values", SETS)
def test_bars_and_markers_stand_for_their_values(values):
    made, result = drawn(values)
    a_Nmm = (scene.BAR_RIGHT - scene.BAR_LEFT) / 50
    for bar, value in ((made.holds, result.drive.slip_torque_driven_Nmm), (made.load, result.load_Nmm)):
        assert np.ptp(polygons(bar)[0].real) == pytest.approx(min(value, 50) * a_Nmm)
    assert made.loaded.get_text().endswith(": it slips") == result.at_work.slips
    assert ("more than" in made.held.get_text()) == (result.drive.slip_torque_driven_Nmm >= 50)
    middle, percent = 500, (scene.SCALE_RIGHT - scene.SCALE_LEFT) / 12
    tip = polygons(made.ideal)[0][0].real
    assert tip == pytest.approx(middle + percent * max(-6, min(6, result.ideal.percent)))
    if result.error is None:
        assert not made.here.get_paths() and made.found.get_text().startswith("not determined")
    else:
        tip = polygons(made.here)[0][0].real
        assert tip == pytest.approx(middle + percent * max(-6, min(6, result.error.percent)))


def test_cents_stand_where_their_ratio_is():
    made, _ = drawn({})
    axes = made.found.axes
    marks = {t.get_text(): t.get_position()[0] for t in axes.texts}
    percent = (scene.SCALE_RIGHT - scene.SCALE_LEFT) / 12
    for text, ratio in (("+100 cents", 2 ** (1 / 12)), ("−100 cents", 2 ** (-1 / 12)), ("0 cents", 1)):
        assert marks[text] == pytest.approx(500 + percent * 100 * (ratio - 1))


@pytest.mark.parametrize("values", SETS)
def test_everything_has_room(values):
    made, _ = drawn(values)
    for word in (*made.labels, *made.words, made.held, made.loaded, made.found):
        wide = paper.width_px(word.get_text(), word.get_fontsize(), word.get_fontweight())
        x, y = word.get_position()
        left = x - wide * {"left": 0, "center": 0.5, "right": 1}[word.get_horizontalalignment()]
        assert left >= 0 and left + wide <= WIDTH and 8 <= y <= HEIGHT - 8, word.get_text()
        if word in made.labels:
            assert left + wide < scene.WORDS, word.get_text()
    shapes = (made.wheels, made.shafts, *made.runs, made.holds, made.load, made.here, made.ideal)
    for polygon in (p for shape in shapes for p in polygons(shape)):
        assert polygon.real.min() > 0 and polygon.real.max() < WIDTH and polygon.imag.min() > 0
        assert polygon.imag.max() < HEIGHT


def test_the_labels_say_wraps():
    made, _ = drawn({})
    wrap = 180 - 2 * math.degrees(math.asin((60 - 11.4) / 160))
    assert made.labels[3].get_text() == f"{wrap:.0f}°" and made.labels[2].get_text() == f"{360 - wrap:.0f}°"
    assert made.words[2].get_text() == "stretch 7.2%: right"
    assert drawn({"inside_mm": 270.0})[0].words[2].get_text().endswith("too little")
    assert drawn({"inside_mm": 240.0})[0].words[2].get_text().endswith("too much")


POSITIONS = {name: control.positions() for name, control in CONTROLS.items()}
VALUES = st.fixed_dictionaries({name: st.sampled_from(each) for name, each in POSITIONS.items()})


def shown(values):
    try:
        return trial(**values)
    except MechError:
        return None


@settings(max_examples=times(3, 10))
@given(st.lists(VALUES, max_size=3), VALUES)
def test_after_any_walk_the_picture_is_the_fresh_one(steps, end):
    end = end if shown(end) else DEFAULTS
    walked = LivePicture(trial, scene, DEFAULTS, scene.SIZE_PX)
    artists = [id(artist) for artist in walked.figure.findobj()]
    for step in steps:
        walked.set(**step)
    fresh = LivePicture(trial, scene, end, scene.SIZE_PX)
    assert walked.set(**end) == fresh.frame()
    assert [id(artist) for artist in walked.figure.findobj()] == artists
