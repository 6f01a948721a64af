"""The grid of mode changes: from each mode (row) to each other (column), one sign for how it ends."""

from __future__ import annotations

from collections import Counter

import numpy as np
from matplotlib.collections import PathCollection
from matplotlib.path import Path
from matplotlib.transforms import IdentityTransform

from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, GRID, INK, ORANGE
from mechlib.say import say
from mechlib.transports.change_table import pairs
from mechlib.transports.model import Transport
from mechlib.transports.outcomes import (
    ELSEWHERE,
    END_STOP,
    FALSE_CODE,
    GOOD,
    JAMMED,
    NEVER_SEEN,
    NO_START,
    ON_RETRY,
    OUTCOMES,
    RIGHT,
    SILENT_SENSOR,
    TOO_SLOW,
    WRONG,
)

CELL, HEAD, KEY_ROW, LEFT = 17, 17, 15, 4
MOST_NAME, MOST_TARGET = 80, 70
TITLE = "mode changes, from (row) to (column)"
DIFFERS = "differs by way of arrival"
KEY_GAP, COUNT, SIGN = 18, 20, 22  # before the key; room for a number and a sign before a name in it
SIGN_SIZE = 16  # in square points, as matplotlib has it: a sign reaches 4 pt from its middle


def _strokes(*strokes) -> Path:
    """A sign drawn with a pen: each stroke a list of points in a square from −1 to 1, y upwards."""
    codes = [Path.LINETO if at else Path.MOVETO for stroke in strokes for at in range(len(stroke))]
    return Path([point for stroke in strokes for point in stroke], codes)


def _outline(*corners) -> Path:
    return Path([*corners, corners[0]], closed=True)


_TICK = [(-0.8, 0.1), (-0.25, -0.6), (0.85, 0.8)]
# Each outcome has a shape of its own, so that none is told by colour; the one that is filled is named below.
SIGNS: dict[str, Path] = {
    RIGHT: _strokes(_TICK),
    ON_RETRY: _strokes(_TICK, [(-0.9, -1), (0.9, -1)]),
    WRONG: _strokes([(-0.8, -0.8), (0.8, 0.8)], [(-0.8, 0.8), (0.8, -0.8)]),
    SILENT_SENSOR: _outline((0, -1), (1, 0), (0, 1), (-1, 0)),
    FALSE_CODE: _outline((-0.9, -0.8), (0.9, -0.8), (0, 0.9)),
    JAMMED: _outline((-0.8, -0.8), (0.8, -0.8), (0.8, 0.8), (-0.8, 0.8)),
    END_STOP: _strokes([(-1, 0), (0.5, 0)], [(0, 0.55), (0.5, 0), (0, -0.55)], [(0.9, 0.9), (0.9, -0.9)]),
    ELSEWHERE: _strokes([(-0.9, -0.7), (0.1, -0.7), (0.1, 0.9)], [(-0.4, 0.3), (0.1, 0.9), (0.6, 0.3)]),
    NEVER_SEEN: Path.circle((0, 0), 0.85),
    TOO_SLOW: _outline((-0.8, 0.9), (0.8, 0.9), (-0.8, -0.9), (0.8, -0.9)),  # an hourglass
    NO_START: _strokes([(-0.8, 0), (0.8, 0)]),
}
FILLED = {JAMMED}


def _names_px(transport: Transport) -> tuple[float, float]:
    """Width of the names of starts, and height of the names of targets, which are turned upright."""
    names = transport.mode_names
    return paper.column_px(names, MOST_NAME) + 8, paper.column_px(names, MOST_TARGET) + 8


def height(transport: Transport) -> float:
    """Height of grid and key in page pixels."""
    grid = _names_px(transport)[1] + CELL * len(transport.modes)
    return HEAD + max(grid, KEY_ROW * (len(OUTCOMES) + 1))


def width(transport: Transport) -> float:
    """Width of grid and key in page pixels."""
    key = max(paper.width_px(text) for text in (*OUTCOMES, DIFFERS))
    grid = _names_px(transport)[0] + CELL * len(transport.modes)
    return max(LEFT + grid + KEY_GAP + COUNT + SIGN + key, paper.width_px(TITLE, weight="bold")) + 8


class ChangeGrid:
    """Draws the grid and its key from the upper left corner given; ``moving`` is what ``update`` sets."""

    def __init__(self, page, result, top_px: float, left_px: float):
        self.page, self.names = page, result.transport.mode_names
        name_px, target_px = _names_px(result.transport)
        self.left, self.top = left_px + LEFT + name_px, top_px + HEAD + target_px
        paper.put(page, left_px + LEFT, top_px + HEAD / 2, TITLE, fontweight="bold")
        self.pairs = pairs(result.transport)
        self._draw_names(left_px + LEFT, name_px, target_px)
        self._draw_key(self.left + CELL * len(self.names) + KEY_GAP, top_px + HEAD)
        self.failing = paper.bars(page, facecolors=ORANGE, alpha=0.35, edgecolors="none")
        self.signs = self._signs([self._middle(pair) for pair in self.pairs])
        self.differing = self._signs([], marker=_outline((0.2, 1), (1, 1), (1, 0.2)))
        self.moving = [self.failing, self.signs, self.differing, *self.counts.values()]

    def _middle(self, pair) -> tuple[float, float]:
        row, column = (self.names.index(name) + 0.5 for name in pair)
        return self.left + CELL * column, self.top + CELL * row

    def _signs(self, places, marker: Path | None = None) -> PathCollection:
        made = PathCollection(
            [marker] if marker else [],
            (SIGN_SIZE,),
            offsets=np.reshape(places, (-1, 2)),
            offset_transform=self.page.transData,
            facecolors=INK if marker else "none",
            edgecolors=INK,
        )
        made.set_transform(IdentityTransform())  # a sign's size is in points, whatever the axes
        self.page.add_collection(made, autolim=False)
        return made

    def _draw_names(self, left: float, name_px: float, target_px: float) -> None:
        end = CELL * len(self.names)
        for at, name in enumerate(self.names):
            middle = CELL * (at + 0.5)
            paper.put(self.page, left, self.top + middle, name, name_px - 8)
            paper.put(
                self.page,
                self.left + middle,
                self.top - 5,
                name,
                target_px - 8,
                rotation=90,
                va="bottom",
                ha="center",
            )
            x, y = self._middle((name, name))
            half = CELL / 2
            box = (x - half, x + half, y - half, y + half)
            paper.bars(self.page, [box], facecolors=GRID, edgecolors="none")
        steps = np.arange(len(self.names) + 1) * CELL
        self.page.hlines(self.top + steps, self.left, self.left + end, color=FAINT, linewidth=0.5)
        self.page.vlines(self.left + steps, self.top, self.top + end, color=FAINT, linewidth=0.5)

    def _draw_key(self, left: float, top: float) -> None:
        self.counts = {}
        rows = [(outcome, top + KEY_ROW * (at + 0.5)) for at, outcome in enumerate(OUTCOMES)]
        x = left + COUNT + SIGN / 2
        for outcome, y in rows:
            self.counts[outcome] = paper.word(self.page, left + COUNT - 2, y, ha="right")
            paper.put(self.page, left + COUNT + SIGN, y, outcome)
        dress(self._signs([(x, y) for _, y in rows]), OUTCOMES)
        y = top + KEY_ROW * (len(OUTCOMES) + 0.5)
        half = CELL / 2 - 1
        paper.bars(self.page, [(x - half, x + half, y - half, y + half)], facecolors="none", edgecolors=FAINT)
        self._signs([(x, y)], marker=_outline((0.2, 1), (1, 1), (1, 0.2)))
        paper.put(self.page, left + COUNT + SIGN, y, DIFFERS)

    def update(self, result) -> None:
        """Show how every change of a result ends."""
        ends = [result.table[pair].change.outcome for pair in self.pairs]
        dress(self.signs, ends)
        half = CELL / 2 - 0.5
        failing = [self._middle(pair) for pair, end in zip(self.pairs, ends, strict=True) if end not in GOOD]
        self.failing.set_verts(paper.corners((x - half, x + half, y - half, y + half) for x, y in failing))
        differing = [self._middle(pair) for pair in self.pairs if result.table[pair].differs]
        self.differing.set_offsets(np.reshape(differing, (-1, 2)))
        counts = Counter(ends)
        for outcome, word in self.counts.items():
            word.set_text(say(counts[outcome], "", 0) if counts[outcome] else "")


def dress(signs: PathCollection, ends) -> None:
    """Give every sign of a collection the shape and weight of its outcome."""
    signs.set_paths([SIGNS[end] for end in ends])
    signs.set_facecolors([INK if end in FILLED else "none" for end in ends])
    signs.set_edgecolors([FAINT if end in GOOD else INK for end in ends])
    signs.set_linewidths([1.1 if end in GOOD else 1.5 for end in ends])
