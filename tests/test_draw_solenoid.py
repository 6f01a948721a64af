"""The picture of a solenoid's warming: its curves are the law's, marks stand right, nothing is cut off."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.bench.solenoid_trial import CONTROLS, DEFAULTS, trial
from mechlib.draw import LivePicture
from mechlib.draw import page as paper
from mechlib.draw import solenoid as scene
from mechlib.draw.style import figure
from mechlib.errors import MechError

OPENS = {"pull_s": 9.0, "pause_s": 1.0}
SETS = [
    {},
    OPENS,
    {"pull_s": 7.0, "pause_s": 3.0},
    {"pull_s": 0.1, "pause_s": 0.1, "voltage_V": 18.0, "resistance_ohm": 10.0},
    {"pull_s": 6.0, "pause_s": 4.0, "needed_N": 5.0},
    {"needed_N": 8.0, "holding_C": 130.0, "rated_C": 131.0, "limit_C": 140.0},
    {"pull_s": 20.0, "pause_s": 60.0, "voltage_V": 18.0, "resistance_ohm": 10.0, "resistance_K_W": 40.0},
    {"pull_s": 9.0, "pause_s": 1.0, "time_constant_s": 900.0, "limit_C": 250.0},
    {"voltage_V": 4.0, "resistance_ohm": 60.0},
]


def drawn(values):
    result = trial(**DEFAULTS | values)
    made = scene.create(figure(*scene.SIZE_PX), result)
    scene.update(made, result)
    return made, result


def test_the_ripple_is_the_law():
    made, result = drawn({"pull_s": 20.0, "pause_s": 20.0, "resistance_K_W": 15.0})
    (edge,) = made.edges.get_segments()
    assert len(edge) > 100
    assert np.diff(edge[:, 0]) == pytest.approx(20 / 60)  # 20 s of pull, 20 s of pause
    assert np.all(np.diff(edge[:, 1]) * np.resize([1, -1], len(edge) - 1) > 0)  # up, down, up, down
    assert edge[2][1] == pytest.approx(25 + (edge[1][1] - 25) * np.exp(-20 / 300))
    assert edge[::2, 1] == pytest.approx([result.warming.at(60 * minutes) for minutes in edge[::2, 0]])
    band = made.band.get_paths()[0].vertices
    assert band[:, 1].max() == pytest.approx(edge[:, 1].max())
    assert not drawn({"pull_s": 0.1, "pause_s": 0.1})[0].edges.get_segments()


def test_after_opening_it_cools_and_is_dead():
    made, result = drawn(OPENS)
    latest = result.opening.latest_s
    t, cooled = made.cooling.get_data()
    assert 60 * t[0] == pytest.approx(latest) and cooled[0] == 115 and t[-1] == 40
    # a time constant later the rise has come down to 1/e of what it was
    later = np.interp(t[0] + 300 / 60, t, cooled)
    assert later - 25 == pytest.approx(90 / np.e, rel=1e-2)
    for band in (made.band.get_paths()[0].vertices, made.edges.get_segments()[0]):
        assert band[:, 0].max() == pytest.approx(latest / 60) and band[:, 1].max() <= 115 + 1e-9
    goes_on = made.beyond.get_segments()[0]
    assert tuple(goes_on[0]) == pytest.approx((latest / 60, 115)) and np.all(np.diff(goes_on[:, 1]) > 0)
    assert set(made.dead.get_ydata()[1:]) == {0} and made.curve.get_xdata().max() <= latest / 60
    plain = drawn({})[0]
    assert not len(plain.cooling.get_xdata()) and not plain.beyond.get_segments()
    assert not len(plain.dead.get_xdata()) and plain.opens.get_text() == ""


def test_when_it_opens_is_marked():
    made, result = drawn(OPENS)
    strip = made.span.get_paths()[0].vertices
    assert strip[:, 0].min() == pytest.approx(result.opening.earliest_s / 60)
    assert strip[:, 0].max() == pytest.approx(result.opening.latest_s / 60)
    assert made.opens.get_text() == "opens here"
    may, result = drawn(SETS[2])
    strip = may.span.get_paths()[0].vertices
    assert strip[:, 0].min() == pytest.approx(result.opening.earliest_s / 60) and strip[:, 0].max() == 40
    assert may.opens.get_text() == "may open from here on"


@pytest.mark.parametrize("values", SETS)
def test_pull_and_need(values):
    made, result = drawn(values)
    v = DEFAULTS | values
    minutes, pull = made.curve.get_data()
    for at in (0, len(minutes) // 2, len(minutes) - 1):
        warm = min(result.warming.at(60 * minutes[at]), 300)
        amps = v["voltage_V"] / (v["resistance_ohm"] * (1 + (warm - 20) / 254.5))
        assert pull[at] == pytest.approx(5 * (amps / 0.5) ** 2)
    assert set(made.needed.get_ydata()) == {v["needed_N"]}
    short = made.short.get_paths()
    assert bool(short) == bool(np.any(pull < v["needed_N"]))
    if short:
        heights = short[0].vertices[:, 1]
        assert heights.max() == v["needed_N"] and heights.min() == pytest.approx(pull.min())
    assert bool(made.high.get_text()) == (pull.max() > scene.MOST_N)
    for mark, name in zip(made.marks, ("holding_C", "rated_C", "limit_C"), strict=True):
        assert set(mark.get_ydata()) == {v[name]}


@pytest.mark.parametrize("values", SETS)
def test_words_have_room(values):
    made, _ = drawn(values)
    width, height = scene.SIZE_PX
    for words, right in ((made.names, scene.WORDS_X), ([made.need], scene.WORDS_X), (made.words, width)):
        for word in words:
            x, y = word.get_position()
            wide = paper.width_px(word.get_text(), word.get_fontsize(), word.get_fontweight())
            assert x + wide < right and 8 < y < height - 8, word.get_text()
    heights = sorted(word.get_position()[1] for word in made.names)
    assert min(np.diff(heights)) >= scene.LABEL_GAP - 1e-9
    minute = (scene.RIGHT - scene.LEFT) / 40
    wide = paper.width_px(made.opens.get_text(), 9, "bold") / minute
    x = made.opens.get_position()[0]
    left = x - wide if made.opens.get_horizontalalignment() == "right" else x
    assert left > 0 and left + wide < 40


@pytest.mark.parametrize(
    ("values", "cut_off", "pull"),
    [
        (SETS[0], "the cut-off stays closed", "pulls enough"),
        (SETS[1], "the cut-off opens", "dead once open"),
        (SETS[2], "the cut-off may open", "warm: too little"),
        (SETS[5], "the cut-off stays closed", "never pulls in"),
    ],
)
def test_verdicts_in_words(values, cut_off, pull):
    made, _ = drawn(values | ({"needed_N": 3.0} if values == OPENS else {}))
    assert made.words[0].get_text() == cut_off and made.words[6].get_text() == pull


def test_too_weak_at_any_warmth_gives_no_temperature():
    made, _ = drawn({"voltage_V": 4.0, "resistance_ohm": 60.0, "needed_N": 8.0})
    assert [word.get_text() for word in made.words[-2:]] == ["too weak at", "any warmth"]
    made, result = drawn({"needed_N": 6.0})
    assert [word.get_text() for word in made.words[-2:]] == ["too little from", f"{result.weak_C:.0f} °C"]


def test_the_words_on_the_strip_clear_the_highest_limit():
    made, _ = drawn(OPENS | {"limit_C": CONTROLS["limit_C"].high})
    figure_ = made.opens.figure
    box = made.opens.get_window_extent(figure_.canvas.get_renderer())
    line = made.marks[2].axes.transData.transform((0, CONTROLS["limit_C"].high))[1]
    assert made.opens.get_text() == "opens here" and box.y0 > line + 1


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
