"""Bars with a hatch against matplotlib's own: the same pixels, the same lines in a file."""

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.collections import PolyCollection
from share import times

from mechlib.draw.hatched import HatchedBars
from mechlib.draw.page import bars, corners
from mechlib.draw.style import FILLS, INK, YELLOW, figure, look

PLACES = st.floats(-6, 26).map(lambda place: round(place, 2))  # some beyond the axes
ROWS = st.lists(st.tuples(PLACES, PLACES), min_size=1, max_size=4)


def drawn(kind, boxes, scale=1, **style):
    """A figure of axes 0 to 20 each way, not at whole pixels, with the bars on it; and the bars."""
    with look():
        made = figure(233, 187, scale)
        axes = made.add_axes((0.13, 0.21, 0.7, 0.6), xlim=(0, 20), ylim=(20, 0))
        shown = kind(corners(boxes), **{"facecolors": YELLOW, "edgecolors": INK, "linewidths": 0.8, **style})
        axes.add_collection(shown, autolim=False)
        made.canvas.draw()
    return made, shown


def pixels(made):
    return np.asarray(made.canvas.buffer_rgba()).copy()


@settings(max_examples=times(5, 200))
@given(
    ROWS,
    st.floats(1, 4.5),
    st.sampled_from(["...", "..", "///", "\\\\\\", "xxx", "////"]),
    st.sampled_from([0.8, 1, 1.2, 2]),
    st.sampled_from([1, 2, 3]),
)
def test_the_pixels_are_those_of_matplotlib(rows, height, hatch, width, scale):
    boxes = [(*sorted(ends), 5 * row - 1, 5 * row - 1 + height) for row, ends in enumerate(rows)]
    style = {"hatch": hatch, "linewidths": width}
    ours, theirs = (pixels(drawn(kind, boxes, scale, **style)[0]) for kind in (HatchedBars, PolyCollection))
    assert np.array_equal(ours, theirs)


def test_bars_that_move_are_drawn_where_they_stand():
    """Each position after many others, since a mask that is kept could be that of a bar before."""
    made, shown = drawn(HatchedBars, [(2, 9, 3, 6)], hatch="...")
    for start in np.linspace(-3, 19, times(6, 40)):
        boxes = [(start, start + 5, 3, 6), (start / 2, start / 2 + 7, 10, 13)]
        shown.set_verts(corners(boxes))
        with look():
            made.canvas.draw()
        assert np.array_equal(pixels(made), pixels(drawn(PolyCollection, boxes, hatch="...")[0]))


@pytest.mark.parametrize("suffix", ["svg", "pdf"])
def test_a_file_of_lines_holds_lines(suffix):
    files = []
    for kind in (HatchedBars, PolyCollection):
        made, _ = drawn(kind, [(2, 9, 3, 6), (4, 17, 10, 13)], hatch="///")
        file, dated = io.BytesIO(), {"svg": "Date", "pdf": "CreationDate"}[suffix]
        with look():
            made.savefig(file, format=suffix, metadata={dated: None})
        files.append(file.getvalue().replace(kind.__name__.encode(), b"its kind"))
    assert files[0] == files[1]


def test_hidden_bars_and_none_leave_the_page_as_it_was():
    made, shown = drawn(HatchedBars, [(2, 9, 3, 6)], hatch="...")
    empty = pixels(drawn(HatchedBars, [], hatch="...")[0])
    assert not np.array_equal(pixels(made), empty)
    shown.set_visible(False)
    with look():
        made.canvas.draw()
    assert np.array_equal(pixels(made), empty)


def test_bars_of_a_page_are_of_this_kind_where_they_have_a_hatch():
    with look():
        axes = figure(200, 200).add_subplot()
    kinds = [type(bars(axes, facecolors=fill.facecolor, hatch=fill.hatch)) for fill in FILLS]
    assert kinds == [HatchedBars if fill.hatch else PolyCollection for fill in FILLS]
