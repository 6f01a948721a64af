"""No text of the dwell's picture is cut off or lies on another or on a line, whatever is tried."""

import random
from itertools import product

import numpy as np
import pytest
from crowded_chart import Spacing, crowded, measured
from dwell_pictures import asked, maker, picture_of
from share import share, times
from small_machine import going_round, small

from mechlib.bench import trial_ranges
from mechlib.draw import dwell_trial as scene
from mechlib.draw.words import Word
from mechlib.transports import load

ALDER = load("alder")
TRANSPORTS = [small(), going_round(), crowded(), crowded(3, 3, 3, 0)]
TRANSPORTS += [maker(seed, cyclic)[1] for seed in range(3) for cyclic in (False, True)]


def faults(picture, spacing):
    """Texts cut off or on one another; numbers beside a stop that a line crosses or that leave the chart."""
    found, axes = spacing.faults(), picture.figure.axes[1]
    words = [word for word in picture.moving if isinstance(word, Word) and word.get_visible()]
    names, (x0, x1, y0, y1) = measured([word for word in words if word.axes is axes], spacing.renderer)
    left, right = axes.transData.transform([(x, 0) for x in axes.get_xlim()])[:, 0]
    found += [
        f"{name!r} leaves the chart"
        for name, a, b in zip(names, x0, x1, strict=True)
        if a < left or b > right
    ]
    (stops,) = [each for each in picture.moving if each.axes is axes and hasattr(each, "get_segments")]
    for line in stops.get_segments():
        (x, low), (_, high) = sorted(map(tuple, axes.transData.transform(line)), key=lambda end: end[1])
        crossed = (x0 < x) & (x < x1) & (y0 < high) & (low < y1)
        found += [f"a line crosses {names[at]!r}" for at in np.flatnonzero(crossed)]
    return found


def check(transport, mode, follower, dice, corners):
    controls = trial_ranges(transport, mode, follower)
    picture = picture_of(transport, mode, follower)
    spacing = Spacing(picture)
    assert faults(picture, spacing) == []
    ends = list(product(*((c.positions()[0], c.positions()[-1]) for c in controls.values())))
    for corner in dice.sample(ends, corners):
        picture.set(**dict(zip(controls, corner, strict=True)))
        assert faults(picture, spacing) == [], (mode, follower, corner)
    for _ in range(corners):
        point = {name: dice.choice(c.positions()) for name, c in controls.items()}
        picture.set(**point)
        assert faults(picture, spacing) == [], (mode, follower, point)


def test_it_sees_faults():
    picture = picture_of(small(), "HALF", "lever")
    spacing = Spacing(picture)
    assert faults(picture, spacing) == []
    word = next(m for m in picture.moving if isinstance(m, Word) and m.get_text() == "9.0°")
    x, y = word.get_position()
    word.set_position((x + 3, y))
    assert "a line crosses '9.0°'" in faults(picture, spacing)
    word.set_position((8.1, y))
    assert "'9.0°' leaves the chart" in faults(picture, spacing)


@pytest.mark.few(1)
@pytest.mark.parametrize("mode", ALDER.mode_names)
def test_no_text_of_alder_is_cut_off_or_overlaps(mode):
    dice = random.Random(mode)
    for need in dice.sample(ALDER.mode(mode).needs, 2):
        check(ALDER, mode, need.follower, dice, 3)


@pytest.mark.few(1)
@pytest.mark.parametrize("name", ["PLAY", "DOWN"])
def test_no_text_of_one_panel_at_any_corner(name):
    check(ALDER, name, {"PLAY": "reel idler", "DOWN": "carriage"}[name], random.Random(4), times(4, 32))


@pytest.mark.few(2)
@pytest.mark.parametrize("transport", TRANSPORTS, ids=lambda t: f"{t.name[:8]} of {len(t.followers)}")
def test_no_text_of_any_transport_is_cut_off_or_overlaps(transport):
    dice, pairs = random.Random(transport.name), asked(transport)
    for mode, follower in dice.sample(pairs, min(times(2, 4), len(pairs))):
        check(transport, mode, follower, dice, times(2, 4))


def test_names_stay_left_of_the_chart():
    for transport in (ALDER, crowded(), maker(1)[1]):
        for mode, follower in share(asked(transport)[::9], 3):
            picture = picture_of(transport, mode, follower)
            page = picture.figure.axes[0]
            names, (x0, x1, y0, y1) = measured(page.texts, picture.figure.canvas.get_renderer())
            left, top, _, height = scene.CHART
            beside = (scene.SIZE_PX[1] - y1 > top - 5) & (scene.SIZE_PX[1] - y0 < top + height + 5)
            assert beside.sum() >= 3 and (x0[beside] >= 0).all() and (x1[beside] < left).all()
            assert any("sense" in name for name in np.array(names)[beside])
