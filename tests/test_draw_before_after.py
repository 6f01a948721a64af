"""The chart before and after another count: the tracks of both machines, each as its own chart has them."""

from __future__ import annotations

import numpy as np
import pytest
from crowded_chart import collisions, measured, words

from mechlib.bench.other_teeth import DRIVEN, other_teeth
from mechlib.draw import LivePicture, before_after
from mechlib.draw.chart_frame import SOUND
from mechlib.draw.style import SMALL_PT
from mechlib.transports import load
from mechlib.transports.chart import chart

ALDER = load("alder")


def drawn(mesh, teeth):
    machines = other_teeth(ALDER, mesh, DRIVEN, teeth)
    picture = LivePicture(lambda: machines, before_after, {}, before_after.size_px(machines))
    return machines, picture


@pytest.mark.parametrize("mesh, teeth", [("carriage gear", 42), ("mode switch", 70), ("brake cam", 48)])
def test_before_in_grey_and_after_in_blue(mesh, teeth):
    machines, picture = drawn(mesh, teeth)
    rows = picture._sheets[1].artists.rows
    frame = rows.frame
    for shown, wanted in zip(rows.lines.get_segments(), frame.lines(chart(machines.after)), strict=True):
        assert np.allclose(shown, wanted)
    before = frame.lines(chart(machines.before))
    grey = [
        path.vertices
        for lines in frame.axes.collections
        if lines is not rows.lines and len(lines.get_paths()) == len(before)
        for path in lines.get_paths()
    ] + [np.column_stack(line.get_data()) for line in frame.axes.lines]
    for wanted in before:
        assert any(len(one) == len(wanted) and np.allclose(one, wanted) for one in grey), SOUND
    assert not all(map(np.array_equal, before, frame.lines(chart(machines.after)))) or mesh == "mode switch"


@pytest.mark.parametrize("mesh, teeth", [("carriage gear", 42), ("mode switch", 70)])
def test_no_words_are_small_cut_off_or_on_one_another(mesh, teeth):
    machines, picture = drawn(mesh, teeth)
    shown = [word for word in words(picture.figure) if word.get_text()]
    assert all(word.get_fontsize() >= SMALL_PT for word in shown)
    assert any(f"{teeth} teeth (blue)" in word.get_text() for word in shown)
    edges = measured(shown, picture.figure.canvas.get_renderer())
    assert collisions(edges[0], *edges[1], before_after.size_px(machines)) == []
