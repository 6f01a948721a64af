"""The timing chart for print, in black and grey: followers, contacts and modes over theta."""

from __future__ import annotations

import numpy as np
from matplotlib.ticker import MultipleLocator

from mechlib.draw.page import bars
from mechlib.draw.print_sheet import fitted, put, width_pt
from mechlib.draw.style import FAINT, GRID, INK
from mechlib.draw.style import PAPER as WHITE
from mechlib.draw.theta_axes import theta_axes
from mechlib.transports.chart import Chart
from mechlib.transports.model import LOADING, UNLOADING, Follower, Transport

TICKS, STRIP, KEY, GAP = 12.0, 10.0, 12.0, 3.0  # heights in points, whatever the size of the letters
MOST_NAME, MOST_STATE = 84.0, 60.0
KEY_BOX, KEY_GAP = 14.0, 14.0  # widths: of a sign in the key; beside its words
RIGHT_GREY, CLOSED_GREY = "#DADADA", "#404040"
AXES = ("main gear (teeth)", "main cam, θ (°)")
AXIS_ROOM = 22.0  # for half of a number that stands at the very end of an axis
MARKS = {LOADING: ">", UNLOADING: "<"}
LEAST_STEP = 1.1  # from one name to the next, in sizes of the letters


def height(transport: Transport, size: float, stretch: float = 1.0) -> float:
    """Height of the chart in points; ``stretch`` makes its rows as many times higher.

    >>> from mechlib.transports import load
    >>> height(load("alder"), 8) > height(load("alder"), 7)
    True
    """
    rows = sum(_follower_height(follower, size) for follower in transport.followers)
    rows += (len(transport.contacts) + len(transport.modes)) * _row(size)
    stages = STRIP if len(transport.stages) > 1 else 0
    return rows * stretch + 2 * TICKS + stages + 2 * GAP + KEY


def _row(size: float) -> float:
    return 1.2 * size


def _follower_height(follower: Follower, size: float) -> float:
    return LEAST_STEP * size * max(len(follower.states), 2) + 0.3 * size


class CardChart:
    """Draws a chart on a page from ``top`` down, between ``left`` and ``right``, all in points."""

    def __init__(self, page, transport: Transport, chart: Chart, place, size: float, stretch: float = 1.0):
        self.page, self.transport, self.chart, self.size = page, transport, chart, size
        self.left, self.right, self.top = place
        self.row = _row(size) * stretch
        self.stretch = stretch
        names = [f.name for f in transport.followers] + list(transport.mode_names)
        names += [f"contact {c.name}" for c in transport.contacts]
        self.names = min(max(width_pt(name, size, True) for name in names), MOST_NAME)
        states = [name for f in transport.followers for name, _ in f.states]
        states += [self._code(name) for name in transport.mode_names]
        self.states = min(max(width_pt(state, size) for state in states), MOST_STATE)
        column = max(self.names + self.states + 14, *(width_pt(axis, size) + AXIS_ROOM for axis in AXES))
        self.inner = self.left + column
        self.first = self.top + TICKS + (STRIP if len(transport.stages) > 1 else 0)
        rows = height(transport, size, stretch) - KEY - TICKS
        self.bottom = self.top + rows
        self.axes = self._make_axes()
        self._draw_stages()
        y = self._draw_followers(self.first) + GAP
        self.axes.axhline(y - GAP / 2, color=INK, linewidth=0.6)
        y = self._draw_contacts(y) + GAP
        self.axes.axhline(y - GAP / 2, color=INK, linewidth=0.6)
        self._draw_modes(y)
        self._draw_key(self.bottom + TICKS + KEY / 2)

    def _code(self, mode: str) -> str:
        return "+".join(sorted(self.transport.mode(mode).code))

    def _make_axes(self):
        width, tall = self.page.get_xlim()[1], self.page.get_ylim()[0]
        box = (self.inner / width, 1 - self.bottom / tall, (self.right - self.inner) / width)
        axes = self.page.figure.add_axes((*box, (self.bottom - self.top - TICKS) / tall), zorder=1)
        low, high = self.chart.low_deg, self.chart.high_deg
        axes.set(xlim=(low, high), ylim=(self.bottom, self.top + TICKS), yticks=[])
        axes.spines[["top", "right"]].set_visible(True)
        axes.grid(True, axis="x", color=GRID, linewidth=0.4)
        teeth = theta_axes(axes, self.transport, length=3, pad=1.5, labelsize=self.size)
        if self.transport.teeth_of(high - low) <= 200:
            teeth.xaxis.set_minor_locator(MultipleLocator(1))
            teeth.tick_params(which="minor", length=1.5)
        for y, text in zip((self.top, self.bottom), AXES, strict=True):
            put(self.page, self.left, y + TICKS / 2, text, self.size)
        return axes

    def _draw_stages(self) -> None:
        """Name the stages of the power path, where there are several, and rule a line between them."""
        low, high = self.chart.low_deg, self.chart.high_deg
        pt = (self.right - self.inner) / (high - low)
        for stage in self.transport.stages if len(self.transport.stages) > 1 else ():
            start, end = max(stage.start_deg, low), min(stage.end_deg, high)
            x = self.inner + ((start + end) / 2 - low) * pt
            text = fitted(f"stage: {stage.name}", (end - start) * pt - 6, self.size)
            style = {"ha": "center", "style": "italic", "color": FAINT}
            put(self.page, x, self.top + TICKS + STRIP / 2, text, self.size, **style)
            if start > low:
                self.axes.axvline(start, color=FAINT, linewidth=0.8, linestyle=(0, (2, 2)))

    def _name(self, y: float, name: str, state: str = "", bold: bool = True) -> None:
        """Names of a row, left of the axes."""
        size = self.size
        put(self.page, self.left, y, fitted(name, self.names, size, bold), size, bold=bold)
        put(self.page, self.inner - 5, y, fitted(state, self.states, size), size, ha="right")

    def _draw_followers(self, y: float) -> float:
        for row, follower in zip(self.chart.followers, self.transport.followers, strict=True):
            tall = _follower_height(follower, self.size) * self.stretch
            lifts = [*row.lift_mm, *(mm for _, mm in follower.states)]
            low, span = min(lifts), max(max(lifts) - min(lifts), 1e-6)
            pad = 0.5 * LEAST_STEP * self.size + 0.15 * self.size
            base, per_mm = y + tall - pad, (tall - 2 * pad) / span
            heights = {name: base - (mm - low) * per_mm for name, mm in follower.states}
            levels, ends = list(heights.values()), (self.chart.low_deg, self.chart.high_deg)
            self.axes.hlines(levels, *ends, GRID, linewidth=0.4)
            lifted = base - (row.lift_mm - low) * per_mm
            self.axes.plot(self.chart.theta_deg, lifted, color=INK, linewidth=1.2)
            self._name(y + tall / 2, follower.name)
            places = _apart(levels, LEAST_STEP * self.size, y + tall - pad)
            for name, at in zip(heights, places, strict=True):
                self._name(at, "", name)
            y += tall
            self.axes.axhline(y, color=FAINT, linewidth=0.4)
        return y

    def _draw_contacts(self, y: float) -> float:
        for row in self.chart.contacts:
            self._name(y + self.row / 2, f"contact {row.name}", bold=False)
            self._bars(y, row.closed, 0.2, facecolors=CLOSED_GREY)
            y += self.row
        return y

    def _draw_modes(self, y: float) -> None:
        for row in self.chart.modes:
            self._name(y + self.row / 2, row.name, self._code(row.name))
            self._bars(y, row.right, 0.08, facecolors=RIGHT_GREY, linewidths=0.4)
            self._bars(y, row.code, 0.24, facecolors=WHITE, linewidths=0.8)
            for sense, stop in row.stops:
                up = 0.3 if sense == LOADING else 0.7
                self._mark(self.axes, stop, y + up * self.row, sense)
            y += self.row

    def _bars(self, y: float, arcs, inset: float, **style) -> None:
        boxes = [(start, end, y + inset * self.row, y + (1 - inset) * self.row) for start, end in arcs]
        bars(self.axes, boxes, **{"edgecolors": INK, "linewidths": 0.6, **style})

    def _mark(self, axes, x: float, y: float, sense: str) -> None:
        style = {"facecolors": WHITE, "edgecolors": INK, "linewidths": 0.8, "zorder": 3, "clip_on": False}
        axes.scatter([x], [y], s=(0.45 * self.row) ** 2, marker=MARKS[sense], **style)

    def _draw_key(self, y: float) -> None:
        """One line that explains the signs."""
        boxes = {"contact closed": CLOSED_GREY, "code shows": WHITE, "every follower right": RIGHT_GREY}
        marks = {f"stop, {sense}": sense for sense in MARKS}
        wide = sum(KEY_BOX + KEY_GAP + width_pt(text, self.size) for text in (*boxes, *marks))
        x, half = min(self.inner, self.right - wide), 0.4 * self.size
        for text in (*boxes, *marks):
            if text in boxes:
                box = [(x, x + KEY_BOX, y - half, y + half)]
                bars(self.page, box, edgecolors=INK, linewidths=0.6, facecolors=boxes[text])
            else:
                self._mark(self.page, x + KEY_BOX - 4, y, marks[text])
            put(self.page, x + KEY_BOX + 3, y, text, self.size)
            x += KEY_BOX + KEY_GAP + width_pt(text, self.size)


def _apart(wanted: list[float], step: float, lowest: float) -> list[float]:
    """Heights a step apart at least, each as near to the wanted one as its neighbours let it; none below."""
    order = np.argsort(wanted)[::-1]  # from the lowest on the page upwards
    highest = lowest - step * (len(wanted) - 1)
    found, floor = [0.0] * len(wanted), lowest
    for rank, at in enumerate(order):
        ceiling = highest + step * (len(wanted) - 1 - rank)  # leaves room for those above
        found[at] = max(min(wanted[at], floor), ceiling)
        floor = found[at] - step
    return found
