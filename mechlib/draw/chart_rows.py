"""The rows of the timing chart: followers, switch contacts and modes over theta, and the cursor's column."""

from __future__ import annotations

import numpy as np
from matplotlib.collections import LineCollection

from mechlib.draw import page as paper
from mechlib.draw.chart_frame import STRIP, Frame
from mechlib.draw.margins import ruling
from mechlib.draw.style import BLUE, FAINT, FILLS, INK, ORANGE, PAPER, VERMILLION
from mechlib.say import say
from mechlib.transports.arcs import holding
from mechlib.transports.model import BETWEEN, LOADING, SENSE, UNLOADING
from mechlib.transports.timing import BELOW

ARROWS = 10  # where the arrow of a row that moved stands
CONTACT_FILL, RIGHT_FILL = "#404040", "#E4E4E4"
STOP_MARK = {LOADING: ">", UNLOADING: "<"}


class ChartRows:
    """Draws the rows below ``top_px`` on a page; ``moving`` are the artists that ``update`` sets."""

    def __init__(self, page, result, top_px: float):
        self.page, self.transport = page, result.transport.sound
        self.frame = Frame(page, self.transport, result.sound, top_px)
        self._make_rows(self.frame.axes)
        self._make_cursor(self.frame.axes)

    def _make_rows(self, axes) -> None:
        self.moved = paper.bars(axes, facecolors=ORANGE, alpha=0.18, edgecolors="none")
        self.right = paper.bars(axes, facecolors=RIGHT_FILL, edgecolors=FAINT)
        self.contacts = paper.bars(axes, facecolors=CONTACT_FILL, edgecolors=INK)
        self.codes = paper.bars(axes, facecolors=FILLS[0].facecolor, edgecolors=INK)
        self.lines = LineCollection([], colors=BLUE, linewidths=1.7)
        self.margins = LineCollection([], linewidths=1.6)
        for lines in (self.lines, self.margins):
            axes.add_collection(lines, autolim=False)
        stop = {"s": 26, "zorder": 3, "facecolors": PAPER, "edgecolors": INK, "linewidths": 1}
        self.stops = {sense: axes.scatter([], [], marker=mark, **stop) for sense, mark in STOP_MARK.items()}
        self.wrong = axes.scatter([], [], s=46, marker="x", color=VERMILLION, linewidths=2, zorder=4)
        self.arrows = {way: self.page.scatter([], [], s=46, marker=way, color=INK) for way in "<>"}
        self.moving = [self.moved, self.right, self.contacts, self.codes, self.lines, self.margins]
        self.moving += [*self.stops.values(), self.wrong, *self.arrows.values()]

    def _make_cursor(self, axes) -> None:
        """The cursor, a dot on every follower's line, and the column that reads them."""
        frame = self.frame
        self.cursor = axes.axvline(0, color=INK, linewidth=1)
        (self.dots,) = axes.plot([], [], "o", color=INK, markersize=4.5, zorder=3)
        self.states = {row: paper.word(self.page, frame.right + 8, frame.middle(*row)) for row in frame.bands}
        self.lifts = {
            f.name: paper.word(self.page, frame.width - 8, frame.middle("follower", f.name), ha="right")
            for f in self.transport.followers
        }
        self.reading = paper.word(self.page, frame.right + 8, frame.top + STRIP / 2, fontweight="bold")
        self.moving += [self.cursor, self.dots, *self.states.values(), *self.lifts.values(), self.reading]

    def update(self, result) -> None:
        """Show a result: its slipped chart, its margins, and what stands at its cursor."""
        chart, boxes = result.chart, self.frame.boxes
        self.lines.set_segments(self.frame.lines(chart))
        self.contacts.set_verts(
            paper.corners(
                box for row in chart.contacts for box in boxes("contact", row.name, row.closed, 4.5, 3)
            )
        )
        self.codes.set_verts(
            paper.corners(box for row in chart.modes for box in boxes("mode", row.name, row.code, 3.5, 3.5))
        )
        self.right.set_verts(
            paper.corners(box for row in chart.modes for box in boxes("mode", row.name, row.right, 6.5, 6.5))
        )
        self._mark_moved(result)
        self._show_stops(result)
        self._read_cursor(chart, result.theta_deg)

    def _mark_moved(self, result) -> None:
        """Tint the rows of the parts that moved, and point an arrow the way they went."""
        moved = result.moved if result.shift_deg else frozenset()
        carriers = {("follower", f.name): f.part for f in self.transport.followers}
        carriers |= {("contact", c.name): c.part for c in self.transport.contacts}
        contacts = {c.name for c in self.transport.contacts if c.part in moved}
        rows = [row for row, part in carriers.items() if part in moved]
        rows += [("mode", mode.name) for mode in self.transport.modes if mode.code & contacts]
        low, high = self.frame.axes.get_xlim()
        self.moved.set_verts(paper.corners((low, high, *self.frame.bands[row]) for row in rows))
        for way, shows in (("<", result.shift_deg < 0), (">", result.shift_deg > 0)):
            places = [(ARROWS, self.frame.middle(*row)) for row in rows if shows]
            self.arrows[way].set_offsets(np.reshape(places, (-1, 2)))

    def _show_stops(self, result) -> None:
        """Where each mode stops, and from there its margin to the edge that rules it; a cross where wrong."""
        stops, wrong, lines, colours = {sense: [] for sense in SENSE}, [], [], []
        margins = {margin.mode: margin for margin in result.margins}
        turns = (-360.0, 0.0, 360.0) if self.transport.cyclic else (0.0,)  # arcs wrap; the axes clip the rest
        for row in result.chart.modes:
            for sense, stop in row.stops:
                y = self.frame.middle("mode", row.name) + (-3.5 if sense == LOADING else 3.5)
                ruled = ruling(margins[row.name], sense)
                margin, side = ruled.smaller
                edge = stop if ruled.never else stop - margin if side == BELOW else stop + margin
                for turn in turns:
                    at, end = stop + turn, edge + turn
                    stops[sense].append((at, y))
                    wrong += [(at, y)] if margin < 0 else []
                    lines += [[(at, y), (end, y)], [(end, y - 4), (end, y + 4)]]
                    colours += [INK if margin >= 0 else VERMILLION] * 2
        for sense, places in stops.items():
            self.stops[sense].set_offsets(np.reshape(places, (-1, 2)))
        self.wrong.set_offsets(np.reshape(wrong, (-1, 2)))
        self.margins.set_segments(lines)
        self.margins.set_color(colours)

    def _read_cursor(self, chart, theta: float) -> None:
        """What each row shows where the cursor stands."""
        self.cursor.set_xdata([theta, theta])
        self.reading.set_text(f"θ = {say(theta, '°')}")
        dots = []
        for row in chart.followers:
            mm = float(np.interp(theta, chart.theta_deg, row.lift_mm))
            state = next((name for name, _, arcs in row.states if holding(arcs, theta)), BETWEEN)
            self.states["follower", row.name].set_text(paper.fitted(state, self.frame.states_px))
            self.lifts[row.name].set_text(say(mm, "mm"))
            dots.append(self.frame.y(row.name, mm))
        self.dots.set_data([theta] * len(dots), dots)
        for row in chart.contacts:
            self.states["contact", row.name].set_text("closed" if holding(row.closed, theta) else "open")
        for row in chart.modes:
            shows = {"code": holding(row.code, theta), "right": holding(row.right, theta)}
            self.states["mode", row.name].set_text(", ".join(word for word in shows if shows[word]))
