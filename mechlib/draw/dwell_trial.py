"""A dwell tried out: the follower's lift round one mode, where the cam stops, and the dwell's budget below.

A scene for the live picture; it shows a ``bench.dwell_trial.DwellTrial``.  The window on theta and on the lift
comes from the sound transport, so that nothing but the machine itself moves.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection

from mechlib.bench.dwell_trial import DwellTrial
from mechlib.draw import page as paper
from mechlib.draw.style import (
    BLUE,
    FAINT,
    FILLS,
    GRID,
    INK,
    PAPER,
    SKY_BLUE,
    SMALL_PT,
    TEXT_PT,
    VERMILLION,
    YELLOW,
)
from mechlib.draw.words import Word
from mechlib.say import listing, say
from mechlib.transports.arcs import intersect
from mechlib.transports.dwell_budget import COAST, EDGE
from mechlib.transports.model import LOADING, SENSE, Transport
from mechlib.transports.runs import steady
from mechlib.transports.timing import arrival

SIZE_PX = (980, 620)
CHART = (96, 56, 860, 258)  # left, top, width, height on the page; y is counted down in it
BUDGET = (96, 408, 620, 96)
BEYOND_DEG = 36.0  # of theta, shown to either side of the mode
MOST_DEG = 30.0  # of the budget's scale
POINTS = 400
KINDS = ("teeth, follower's side", "teeth, switch's side", "contact edge", "coasting", "rest")
MARK = {LOADING: ">", "unloading": "<"}


def window(transport: Transport, mode: str, follower: str) -> dict[str, tuple[float, float]]:
    """The limits of the picture: theta about the mode's stop angles, and the follower's lifts.

    >>> from mechlib.transports import load
    >>> window(load("alder"), "PLAY", "reel idler")["lift_mm"]
    (-6.2, 6.2)
    """
    stops = [came.stand_deg for sense in SENSE if (came := arrival(transport, mode, sense))]
    levels = transport.follower(follower).programme.levels_mm
    room = 0.12 * (levels[-1] - levels[0])
    low, high = transport.ends
    theta = max(min(stops) - BEYOND_DEG, low - 2.0), min(max(stops) + BEYOND_DEG, high + 2.0)
    return {"theta_deg": theta, "lift_mm": (levels[0] - room, levels[-1] + room)}


def create(figure, result: DwellTrial, theta_deg, lift_mm):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    title = f"{result.mode}: the {result.follower}, and where the cam comes to rest"
    paper.put(page, 16, 20, title, fontsize=TEXT_PT, fontweight="bold")
    made = SimpleNamespace(theta=np.linspace(*theta_deg, POINTS))
    axes = _axes(figure, CHART, xlim=theta_deg, ylim=(0, CHART[3]))
    axes.set_yticks([])
    axes.set_xlabel("θ in degrees of the main cam", fontsize=SMALL_PT, labelpad=2)
    _chart(axes, made, result, lift_mm)
    paper.put(page, 16, CHART[1] + 14, f"code of {result.mode}", room_px=78)
    paper.put(page, 16, CHART[1] + 52, "stands right", room_px=78)
    paper.put(page, 16, CHART[1] + 150, "lift (mm)", room_px=78)
    _budget(figure, page, made)
    made.words = [paper.word(page, 16, 552 + 21 * line) for line in range(3)]
    made.words[0].set(fontsize=TEXT_PT, fontweight="bold")
    moving = [made.code, made.right, made.line, made.stops, *made.marks, *made.rooms, *made.bars.values()]
    made.moving = [*moving, made.there, made.root, *made.amounts, *made.words]
    return made


def _axes(figure, box, **limits):
    left, top, width, height = box
    page_width, page_height = SIZE_PX
    place = (left / page_width, 1 - (top + height) / page_height, width / page_width, height / page_height)
    axes = figure.add_axes(place, zorder=1, **limits)
    axes.grid(True, axis="x", color=GRID)
    axes.tick_params(labelsize=SMALL_PT, length=3)
    return axes


def _chart(axes, made, result: DwellTrial, lift_mm) -> None:
    """Code and right arc as bars, the lift below them, the stop angles across."""
    height = CHART[3]
    low, high = lift_mm

    def y(mm):
        return 12 + (mm - low) / (high - low) * (height - 96)

    made.y = y
    for name, mm in result.transport.follower(result.follower).states:
        axes.axhline(y(mm), color=GRID, linewidth=0.8)
        left = axes.get_xlim()[0]
        axes.text(left, y(mm) + 2, f" {name}, {say(mm, 'mm')}", fontsize=SMALL_PT, color=FAINT, va="bottom")
    sound = result.transport.sound if result.transport.origin else result.transport
    axes.plot(made.theta, y(_lift(sound, result.follower, made.theta)), color=FAINT, linestyle=(0, (4, 3)))
    made.code = paper.bars(axes, facecolors=YELLOW, edgecolors=INK)
    made.right = paper.bars(axes, facecolors=SKY_BLUE, edgecolors=INK)
    (made.line,) = axes.plot([], [], color=BLUE, linewidth=2)
    made.stops = LineCollection([], colors=[INK], linewidths=1.2)
    axes.add_collection(made.stops, autolim=False)
    made.marks = [axes.plot([], [], MARK[sense], color=INK, markersize=9)[0] for sense in SENSE]
    made.rooms = [Word.on(axes, 0, 0, "", fontsize=SMALL_PT, va="center", ha="center") for _ in range(2)]


def _budget(figure, page, made) -> None:
    """Below and above the stop angle: what is asked of the dwell, in a bar, and what there is."""
    left, top, width, height = BUDGET
    axes = _axes(figure, BUDGET, xlim=(0, MOST_DEG), ylim=(2, 0))
    axes.set_yticks([0.5, 1.5], ["below", "above"], fontsize=TEXT_PT)
    axes.set_xlabel("degrees of dwell beyond the stop angle", fontsize=SMALL_PT, labelpad=2)
    title = "What may be off, added up at worst, and the dwell there is"
    paper.put(page, 16, top - 40, title, fontsize=TEXT_PT, fontweight="bold")
    made.bars = {}
    at = left
    for kind, fill in zip(KINDS, FILLS, strict=True):
        style = {"facecolors": fill.facecolor, "edgecolors": INK, "hatch": fill.hatch}
        made.bars[kind] = paper.bars(axes, **style)
        paper.bars(page, [(at, at + 18, top - 22, top - 10)], **style)
        paper.put(page, at + 23, top - 16, kind)
        at += 40 + paper.width_px(kind)
    made.there = LineCollection([], colors=[VERMILLION], linewidths=4)
    axes.add_collection(made.there, autolim=False)
    (made.root,) = axes.plot([], [], "D", color=PAPER, markeredgecolor=INK, markersize=8)
    x = left + width + 24
    made.amounts = [
        paper.word(page, x, top + height * (0.25 + 0.5 * side), fontsize=TEXT_PT) for side in (0, 1)
    ]
    page.hlines(top + height + 12, x, x + 22, color=VERMILLION, linewidth=4)
    paper.put(page, x + 28, top + height + 12, "dwell there is")
    page.plot([x + 12], [top + height + 34], "D", color=PAPER, markeredgecolor=INK, markersize=8)
    paper.put(page, x + 28, top + height + 34, "root-sum-square")


def _lift(transport: Transport, follower: str, theta) -> np.ndarray:
    """The follower's lift over theta in the loading sense."""
    one, run = transport.follower(follower), steady(transport, LOADING)
    at, places = zip(*run.knots[one.part], strict=True)
    return one.programme.lifts(np.interp(theta, at, places) + transport.advance_deg[one.part]) + one.bent_mm


def update(made, result: DwellTrial) -> None:
    """Show another dwell."""
    transport, height = result.transport, CHART[3]
    run = steady(transport, LOADING)
    window_arcs = ((made.theta[0], made.theta[-1]),)
    need = next(n for n in transport.mode(result.mode).needs if n.follower == result.follower)
    code = intersect(run.code_arcs(transport.mode(result.mode).code), window_arcs)
    right = intersect(run.need_arcs(need), window_arcs)
    made.code.set_verts(paper.corners([(a, b, height - 22, height - 6) for a, b in code]))
    made.right.set_verts(paper.corners([(a, b, height - 60, height - 44) for a, b in right]))
    made.line.set_data(made.theta, made.y(_lift(transport, result.follower, made.theta)))
    _put_stops(made, result)
    _put_budget(made, result)
    lost = [one.sentence() for one in result.lost]
    lines = [result.verdict(), "Less margin: " + (" ".join(lost) if lost else "nothing else."), ""]
    if result.elsewhere:
        lines[2] = f"In {listing(result.elsewhere)} the power would go elsewhere."
    for word, line in zip(made.words, lines, strict=True):
        word.set_text(paper.fitted(line, SIZE_PX[0] - 40))


def _put_stops(made, result: DwellTrial) -> None:
    height, lines = CHART[3], []
    for mark, room, sense in zip(made.marks, made.rooms, SENSE, strict=True):
        found = [d for d in result.distances if d.sense == sense]
        came = arrival(result.transport, result.mode, sense)
        shown = bool(found and came)
        mark.set_visible(shown)
        room.set_text("")
        if not shown:
            continue
        theta = came.stand_deg
        lines.append([(theta, 6), (theta, height - 4)])
        mark.set_data([theta], [height - 33])
        distance = found[0]
        wrong = min(distance.below_deg, distance.above_deg) < 0
        mark.set_color(VERMILLION if wrong else INK)
        said = f"{say(distance.below_deg, '°')} | {say(distance.above_deg, '°')}"
        room.set(text=said, x=theta, y=height - 76 - 16 * (sense != LOADING), color=INK)
    made.stops.set_segments(lines)


def _put_budget(made, result: DwellTrial) -> None:
    sides = (result.budget.low, result.budget.high)
    boxes = {kind: [] for kind in KINDS}
    own = set(result.transport.chains[result.transport.follower(result.follower).part])
    for row, side in enumerate(sides):
        at = 0.0
        for name, deg in side.items:
            end = min(at + max(deg, 0.0), MOST_DEG)
            boxes[_kind(name, own)].append((at, end, row + 0.2, row + 0.8))
            at = end
    for kind, bar in made.bars.items():
        bar.set_verts(paper.corners(boxes[kind]))
    there = [min(max(side.there_deg, 0.0), MOST_DEG) for side in sides]
    made.there.set_segments([[(x, row + 0.08), (x, row + 0.92)] for row, x in enumerate(there)])
    made.root.set_data([min(side.rss_deg, MOST_DEG) for side in sides], [0.5, 1.5])
    for word, side in zip(made.amounts, sides, strict=True):
        word.set_text(
            f"{side.words().split(' the stop')[0].replace(' below', '').replace(' above', '')} at worst"
        )


def _kind(name: str, own: set[str]) -> str:
    """Which of ``KINDS`` a contribution belongs to."""
    if name == EDGE:
        return KINDS[2]
    if name == COAST:
        return KINDS[3]
    mesh, comma, _ = name.rpartition(",")
    if not comma:
        return KINDS[4]
    return KINDS[0] if mesh in own else KINDS[1]
