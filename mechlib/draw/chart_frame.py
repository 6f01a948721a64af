"""The frame of the timing chart: a row for every follower, contact and mode, their names, and both axes.

Nothing here moves.  It knows where everything stands, and draws the machine with every mark right in grey.
"""

from __future__ import annotations

from functools import partial

import numpy as np
from matplotlib.collections import LineCollection

from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, GRID, INK
from mechlib.draw.theta_axes import theta_axes
from mechlib.transports.arcs import Arcs
from mechlib.transports.model import BETWEEN, Follower, Transport

STRIP, GAP, CONTACT, MODE = 16, 5, 15, 17  # heights in page pixels
STATE, EDGE = 15, 15  # from one named state to the next; room above and below a follower's line, together
TICKS = 20  # room for the numbers of either axis
NAMES = 22  # where names stand; before them the arrow of a row that moved
MOST_NAME, MOST_STATE, MOST_LIFT = 130, 90, 64
SOUND = "#8C8C8C"  # the machine with every mark right: thin and grey, behind
WIDEST_WORD = "code, right"  # that a mode's row shows at the cursor


def follower_height(follower: Follower) -> float:
    """Height of a follower's row: room for its line and for the name of every state beside it."""
    return STATE * max(len(follower.states) - 1, 1) + EDGE


def height(transport: Transport) -> float:
    """Height of all rows with both axes, in page pixels."""
    rows = sum(map(follower_height, transport.followers))
    rows += CONTACT * len(transport.contacts) + MODE * len(transport.modes)
    return 2 * TICKS + STRIP + rows + 2 * GAP


def state_places(follower: Follower, y_of, top: float, bottom: float) -> list[tuple[str, float]]:
    """Where each state's name stands in a row: beside its lift, moved only as far as its neighbours ask.

    ``y_of`` gives the height of a lift, ``top`` and ``bottom`` are the edges of the row.
    """
    ranked = sorted(follower.states, key=lambda state: state[1])
    places, lowest = [], bottom - EDGE / 2
    for at, (name, mm) in enumerate(ranked):
        highest = top + EDGE / 2 + STATE * (len(ranked) - 1 - at)  # leaves room for those above
        places.append((name, max(min(y_of(mm), lowest), highest)))
        lowest = places[-1][1] - STATE
    return places


class Frame:
    """The rows below ``top_px`` of a page; ``axes`` are over theta across and page pixels down.

    ``bands`` gives the upper and lower edge of each row, keyed by kind ("follower", "contact" or "mode") and
    name; ``left`` and ``right`` are the edges of the axes.
    """

    def __init__(self, page, transport: Transport, sound, top_px: float):
        self.page, self.transport, self.top = page, transport, top_px + TICKS
        self.width = float(page.get_xlim()[1])
        self.bands: dict[tuple[str, str], tuple[float, float]] = {}
        self._scales: dict[str, tuple[float, float, float]] = {}
        self._set_columns()
        self._place_rows()
        self.axes = self._make_axes(sound.low_deg, sound.high_deg)
        self._draw_stages(sound.low_deg, sound.high_deg)
        self._draw_followers(sound)
        self._draw_contacts_and_modes(sound)

    def y(self, follower: str, mm):
        """Height on the page of a lift in the follower's row."""
        base, low_mm, px_per_mm = self._scales[follower]
        return base - (mm - low_mm) * px_per_mm

    def lines(self, chart) -> list[np.ndarray]:
        """The points of every follower's line, those left out that lie on a straight stretch."""
        found = []
        for row in chart.followers:
            y = self.y(row.name, row.lift_mm)
            bends = np.abs(np.diff(y, 2)) > 1e-6  # pixels: theta rises in equal steps
            kept = np.concatenate([[True], bends, [True]])
            found.append(np.column_stack([chart.theta_deg[kept], y[kept]]))
        return found

    def boxes(self, kind: str, name: str, arcs: Arcs, above: float, below: float):
        """A box over each arc, from ``above`` pixels over the middle of the row to ``below`` under it."""
        middle = self.middle(kind, name)
        return [(start, end, middle - above, middle + below) for start, end in arcs]

    def middle(self, kind: str, name: str) -> float:
        """Height of the middle of a row."""
        return sum(self.bands[kind, name]) / 2

    def _set_columns(self) -> None:
        transport = self.transport
        names = [f.name for f in transport.followers] + [f"contact {c.name}" for c in transport.contacts]
        names += transport.mode_names
        self.names_px = paper.column_px(names, MOST_NAME, "bold")
        states = [name for f in transport.followers for name, _ in f.states] + [BETWEEN]
        self.states_px = paper.column_px(states, MOST_STATE)
        self.left = NAMES + self.names_px + 10 + self.states_px + 8
        self.right = self.width - max(self.states_px, paper.width_px(WIDEST_WORD)) - MOST_LIFT - 16

    def _place_rows(self) -> None:
        y = self.top + STRIP
        for follower in self.transport.followers:
            tall = follower_height(follower)
            lifts = [*follower.programme.levels_mm, *(mm for _, mm in follower.states)]
            px_per_mm = (tall - EDGE) / max(max(lifts) - min(lifts), 1e-6)
            self._scales[follower.name] = (y + tall - EDGE / 2, min(lifts), px_per_mm)
            self.bands["follower", follower.name] = (y, y + tall)
            y += tall
        y += GAP
        for contact in self.transport.contacts:
            self.bands["contact", contact.name] = (y, y + CONTACT)
            y += CONTACT
        y += GAP
        for name in self.transport.mode_names:
            self.bands["mode", name] = (y, y + MODE)
            y += MODE
        self.bottom = y

    def _make_axes(self, low: float, high: float):
        page_height = self.page.get_ylim()[0]
        x, wide = self.left / self.width, (self.right - self.left) / self.width
        place = (x, 1 - self.bottom / page_height, wide, (self.bottom - self.top) / page_height)
        axes = self.page.figure.add_axes(place, zorder=1)
        axes.set(xlim=(low, high), ylim=(self.bottom, self.top), yticks=[])
        axes.spines[["top", "right"]].set_visible(True)
        axes.grid(True, axis="x", color=GRID, linewidth=0.5)
        theta_axes(axes, self.transport, length=3, pad=2)
        for y, text in ((self.top - 9, "main gear (teeth)"), (self.bottom + 11, "main cam, θ (°)")):
            paper.put(self.page, NAMES, y, text, self.left - NAMES - 16)
        return axes

    def _draw_stages(self, low: float, high: float) -> None:
        """Name the stages of the power path, where there are several, and rule a line between them."""
        px = (self.right - self.left) / (high - low)
        for stage in self.transport.stages if len(self.transport.stages) > 1 else ():
            start, end = max(stage.start_deg, low), min(stage.end_deg, high)
            x, y = self.left + ((start + end) / 2 - low) * px, self.top + STRIP / 2
            words = {"ha": "center", "color": FAINT, "style": "italic"}
            paper.put(self.page, x, y, f"stage: {stage.name}", (end - start) * px - 8, **words)
            if start > low:
                self.axes.axvline(start, color=FAINT, linewidth=0.9, linestyle=(0, (2, 3)))

    def _draw_followers(self, sound) -> None:
        guides = []
        for follower in self.transport.followers:
            name = ("follower", follower.name)
            paper.put(self.page, NAMES, self.middle(*name), follower.name, self.names_px, fontweight="bold")
            y_of = partial(self.y, follower.name)
            for state, y in state_places(follower, y_of, *self.bands[name]):
                paper.put(self.page, self.left - 8, y, state, self.states_px, ha="right")
            levels = [self.y(follower.name, mm) for _, mm in follower.states]
            guides += [[(sound.low_deg, y), (sound.high_deg, y)] for y in levels]
            self.axes.axhline(self.bands[name][1], color=FAINT, linewidth=0.5)
        self.axes.add_collection(LineCollection(guides, colors=GRID, linewidths=0.7), autolim=False)
        grey = LineCollection(self.lines(sound), colors=SOUND, linewidths=1.0)
        self.axes.add_collection(grey, autolim=False)

    def _draw_contacts_and_modes(self, sound) -> None:
        grey = []
        for row in sound.contacts:
            middle = self.middle("contact", row.name)
            paper.put(self.page, NAMES, middle, f"contact {row.name}", self.names_px)
            grey += self.boxes("contact", row.name, row.closed, -4, 6)
        for row in sound.modes:
            middle, code = self.middle("mode", row.name), "+".join(sorted(self.transport.mode(row.name).code))
            paper.put(self.page, NAMES, middle, row.name, self.names_px, fontweight="bold")
            paper.put(self.page, self.left - 8, middle, code, self.states_px, ha="right")
            grey += self.boxes("mode", row.name, row.code, -5.5, 7.5)
        paper.bars(self.axes, grey, facecolors=SOUND, edgecolors="none")
        for kind in ("contact", "mode"):
            first = min(top for (other, _), (top, _) in self.bands.items() if other == kind)
            self.axes.axhline(first - GAP / 2, color=INK, linewidth=0.6)
