"""The margins beneath the timing chart: of every mode after an arrival in each sense, of every interlock."""

from __future__ import annotations

from math import ceil
from typing import NamedTuple

import numpy as np
from matplotlib.collections import LineCollection

from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, FILLS, GRID, INK, PAPER
from mechlib.say import say
from mechlib.transports.interlocks import InterlockMargin
from mechlib.transports.model import LOADING, UNLOADING, Transport
from mechlib.transports.timing import THE_CODE, Distance, ModeMargin

ROW, HEAD, LEFT, BAR = 15, 17, 8, 5  # heights in page pixels; BAR is half of a bar's
NUMBER, MOST_NAME, MOST_FOLLOWER = 58, 160, 110
LEAST_BAR = 30  # pixels that the longest bar should have to either side; names are shortened for it
MODE, INTERLOCK = "mode", "interlock"
HEADS = {
    MODE: ("mode margins", "reached in loading ▷  (a line: {rule})", "reached in unloading ◁"),
    INTERLOCK: ("interlock margins", "until they collide (+: ahead)", "the other way (−: behind)"),
}
SENSES = (LOADING, UNLOADING)
SIGNS = {"ahead": "+", "behind": "−"}
NO_LIMIT, NOT_SO_REACHED, NEVER = "no limit", "not so reached", "never"


class Shown(NamedTuple):
    """One bar with its words: the margin, its number, the follower that rules it; no bar: only the reason."""

    deg: float | None
    number: str
    follower: str


def ruling(margin: ModeMargin, sense: str) -> Distance | None:
    """The smallest distance of a mode after an arrival in ``sense``; None where it is never so reached."""
    return min((d for d in margin.distances if d.sense == sense), key=lambda d: d.smaller[0], default=None)


def height(transport: Transport) -> float:
    """Height of the block in page pixels."""
    interlocks = HEAD + ROW * len(transport.interlocks) if transport.interlocks else 0
    return HEAD + ROW * len(transport.modes) + interlocks


def scale_deg(transport: Transport) -> float:
    """Degrees at the end of a bar: two teeth of the widest pitch, rounded up; the same at any slip.

    >>> from mechlib.transports import load
    >>> scale_deg(load("alder"))  # 7.5° a tooth at its widest
    15.0
    """
    widest = max((part.pitch_deg for part in transport.parts), default=5.0)
    return 5.0 * ceil(2 * widest / 5)


class Margins:
    """Draws the block from ``top_px`` down and up to ``right_px``; ``moving`` is what ``update`` sets."""

    def __init__(self, page, result, top_px: float, right_px: float):
        self.page, self.transport = page, result.transport.sound
        locks = [lock.name for lock in self.transport.interlocks]
        heads = [paper.width_px(head[0], weight="bold") for head in HEADS.values()]
        self.names_px = max(paper.column_px([*self.transport.mode_names, *locks], MOST_NAME), *heads)
        left = LEFT + self.names_px + 8
        self.column = (right_px - left) / 2
        room = self.column - NUMBER - 20 - 2 * LEAST_BAR
        followers = [f"{SIGNS['ahead']} {f.name}" for f in self.transport.followers] + [THE_CODE, NO_LIMIT]
        most = max(min(MOST_FOLLOWER, room), paper.width_px(NOT_SO_REACHED))
        self.followers_px = paper.column_px([*followers, NOT_SO_REACHED], most)
        self.half = (self.column - NUMBER - self.followers_px - 20) / 2  # the longest bar
        self.zeros = [left + at * self.column + self.half for at in (0, 1)]
        self.scale = scale_deg(self.transport)
        self.rule = next((step for step in (5.0, 10.0, 20.0) if self.scale <= 4 * step), 40.0)
        self.rows: dict[tuple[str, str, int], float] = {}
        self._draw_block(MODE, self.transport.mode_names, top_px)
        if locks:
            self._draw_block(INTERLOCK, locks, top_px + HEAD + ROW * len(self.transport.modes))
        self._make_moving()

    def _draw_block(self, kind: str, names, top: float) -> None:
        """Headings, names and ruling of one block."""
        bottom = top + HEAD + ROW * len(names)
        places = (LEFT, *(zero - self.half for zero in self.zeros))
        rooms = (self.names_px, self.column - 8, self.column - 8)
        for x, text, room in zip(places, HEADS[kind], rooms, strict=True):
            text = text.format(rule=say(self.rule, "°", 0))
            paper.put(self.page, x, top + HEAD / 2 + 1, text, room, fontweight="bold")
        for at, name in enumerate(names):
            y = top + HEAD + ROW * (at + 0.5)
            paper.put(self.page, LEFT, y, name, self.names_px)
            self.rows |= {(kind, name, way): y for way in (0, 1)}
        lines = np.arange(-self.scale, self.scale + self.rule, self.rule)
        rule = lines[lines <= self.scale] / self.scale * self.half
        for zero in self.zeros:
            self.page.vlines(zero + rule, top + HEAD, bottom, color=GRID, linewidth=0.6)
            self.page.vlines(zero, top + HEAD, bottom, color=INK, linewidth=1)

    def _make_moving(self) -> None:
        page = self.page
        self.good = paper.bars(page, facecolors=FILLS[0].facecolor, edgecolors=INK)
        self.bad = paper.bars(page, facecolors=FILLS[1].facecolor, edgecolors=INK)
        self.hatch = LineCollection([], colors=INK, linewidths=0.7)
        page.add_collection(self.hatch, autolim=False)
        arrow = {"s": 30, "facecolors": PAPER, "edgecolors": INK, "linewidths": 0.8}
        self.beyond = {way: page.scatter([], [], marker=way, **arrow) for way in "<>"}
        self.numbers, self.followers = {}, {}
        for row, y in self.rows.items():
            x = self.zeros[row[2]] + self.half + 8 + NUMBER
            self.numbers[row] = paper.word(page, x, y, ha="right")
            self.followers[row] = paper.word(page, x + 8, y)
        self.moving = [self.good, self.bad, self.hatch, *self.beyond.values()]
        self.moving += [*self.numbers.values(), *self.followers.values()]

    def update(self, result) -> None:
        """Show the margins of a result."""
        ways = tuple(enumerate(SENSES))
        shown = {(MODE, m.mode, way): _of_mode(m, sense) for m in result.margins for way, sense in ways}
        locks = result.interlocks
        shown |= {(INTERLOCK, lock.name, way): _of_interlock(lock, way) for lock in locks for way in (0, 1)}
        good, bad, beyond = [], [], {"<": [], ">": []}
        for row, y in self.rows.items():
            deg, number, follower = shown[row]
            self.numbers[row].set_text(number)
            self.numbers[row].set_fontweight("bold" if deg is not None and deg < 0 else "normal")
            self.followers[row].set_text(paper.fitted(follower, self.followers_px))
            self.followers[row].set_color(FAINT if deg is None else INK)
            if deg is None:
                continue
            zero = self.zeros[row[2]]
            end = zero + max(-1.0, min(deg / self.scale, 1.0)) * self.half
            (good if deg >= 0 else bad).append((zero, end, y - BAR, y + BAR))
            if abs(deg) > self.scale:
                beyond[">" if deg > 0 else "<"].append((end, y))
        self.good.set_verts(paper.corners(good))
        self.bad.set_verts(paper.corners(bad))
        self.hatch.set_segments([line for bar in bad for line in _strokes(*bar)])
        for way, places in beyond.items():
            self.beyond[way].set_offsets(np.reshape(places, (-1, 2)))


def _strokes(right: float, left: float, y0: float, y1: float) -> list:
    """Slanting strokes across a bar: matplotlib's own hatch takes ten times as long to draw."""
    tall = y1 - y0
    strokes = []
    for foot in np.arange(right - 3.0, left - tall, -5.0):  # each leans to the right by the bar's height
        x0, x1 = max(foot, left), min(foot + tall, right)
        strokes.append([(x0, y1 - (x0 - foot)), (x1, y1 - (x1 - foot))])
    return strokes


def _of_mode(margin: ModeMargin, sense: str) -> Shown:
    ruled = ruling(margin, sense)
    if ruled is None:
        return Shown(None, "", NOT_SO_REACHED)
    deg = ruled.smaller[0]
    return Shown(deg, NEVER if ruled.never else say(deg, "°"), ruled.ruled_by)


def _of_interlock(margin: InterlockMargin, way: int) -> Shown:
    by, side, deg = margin.ways[way]
    return Shown(None, "", NO_LIMIT) if deg is None else Shown(deg, say(deg, "°"), f"{SIGNS[side]} {by}")
