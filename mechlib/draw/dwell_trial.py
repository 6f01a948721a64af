"""A dwell tried out: the follower's lift round one mode, where the cam stops, and the dwell's budget below.

A scene for the live picture; it shows a ``bench.dwell_trial.DwellTrial``.  What stands still, the limits of
theta, lift and budget too, comes from the transport as it is, so that nothing but the machine itself moves.
The finding in words is the trial's sentence, which stands below the picture.
"""

from __future__ import annotations

from math import ceil, isinf, remainder
from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection

from mechlib.bench.dwell_trial import DwellTrial
from mechlib.draw import page as paper
from mechlib.draw.style import BLUE, FAINT, FILLS, GRID, INK, PAPER, SKY_BLUE, TEXT_PT, VERMILLION, YELLOW
from mechlib.draw.style import SMALL_PT as SMALL
from mechlib.say import say
from mechlib.transports.arcs import intersect
from mechlib.transports.dwell_budget import COAST, EDGE, NO_LIMIT, SideBudget, dwell_budget
from mechlib.transports.model import LOADING, UNLOADING, Transport
from mechlib.transports.runs import Run, steady
from mechlib.transports.timing import arrival, arriving_senses

SIZE_PX = (980, 588)
CHART = (150, 56, 806, 300)  # left, top, width, height on the page; y is counted down in it
BUDGET = (150, 450, 566, 96)
NAMES = 16  # left edge of the names; what is written there ends before the axes
ROW, BAR, WORDS = 48, 11, 24  # the rows of the two senses; height of a bar; where a row's words stand
LOWEST, HIGHEST = 12, 186  # of the lift, in pixels above the axis
STATE = 14  # pixels between the names of two states
BEYOND_DEG = 40.0  # of theta, shown to either side of the mode
ASIDE = 0.08  # of the width, shown beyond an end stop: room for a number beside a stop
NUMBER = 58  # pixels, for a number beside a stop
POINTS = 400
KINDS = ("teeth to the follower", "teeth to the switch", "contact edge", "coasting", "at a stop or stage end")
NOT_READ = "its code can't be read before the end stop"
MARK = {LOADING: ">", UNLOADING: "<"}
DASHED = {"color": FAINT, "linestyle": (0, (4, 3))}


def window(transport: Transport, mode: str, follower: str) -> dict:
    """What stands still: limits of theta about the mode's stop angles, of lift and budget; the machine.

    >>> from mechlib.transports import load
    >>> shown = window(load("alder"), "PLAY", "reel idler")
    >>> shown["lift_mm"], shown["most_deg"], [round(deg, 1) for deg in shown["theta_deg"]]
    ((-6.2, 6.2), 25, [170.4, 253.4])
    """
    budget = dwell_budget(transport, mode, follower)  # refuses a mode whose code is never read
    stops = [arrival(transport, mode, sense).stand_deg for sense in _senses(transport, mode)]
    if transport.cyclic:  # both on the same turn
        stops = [stops[0] + remainder(stop - stops[0], transport.ends[1]) for stop in stops]
    theta = min(stops) - BEYOND_DEG, max(stops) + BEYOND_DEG
    if not transport.cyclic:
        (low, high), aside = transport.ends, ASIDE * (theta[1] - theta[0])
        theta = max(theta[0], low - aside), min(theta[1], high + aside)
    one = transport.follower(follower)
    levels = sorted([*one.programme.levels_mm, *(mm for _, mm in one.states)])
    room = 0.12 * (levels[-1] - levels[0])
    asked = max(_asked(side) for side in (budget.low, budget.high))
    lift = (levels[0] - room, levels[-1] + room)
    return {
        "theta_deg": theta,
        "lift_mm": lift,
        "most_deg": 5 * max(ceil(1.3 * asked / 5), 1),
        "was": transport,
    }


def _senses(transport: Transport, mode: str) -> tuple[str, ...]:
    """The senses in which a mode is reached."""
    return arriving_senses(transport)[mode]


def _asked(side: SideBudget) -> float:
    """How far the bars of a side reach."""
    return sum(deg for _, deg in side.items if deg > 0)


def create(figure, result: DwellTrial, theta_deg, lift_mm, most_deg, was: Transport):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    made = SimpleNamespace(ends=theta_deg, most_deg=most_deg)
    made.px_deg = (theta_deg[1] - theta_deg[0]) / CHART[2]
    made.senses = _senses(was, result.mode)
    title = f"{result.mode}: the {result.follower}, and where the cam comes to rest"
    room = (SIZE_PX[0] - 2 * NAMES) * SMALL / TEXT_PT  # rooms are counted for small letters
    paper.put(page, NAMES, 16, title, room, fontsize=TEXT_PT, fontweight="bold")
    axes = _axes(figure, CHART, xlim=theta_deg, ylim=(0, CHART[3]))
    axes.set_yticks([])
    axes.set_xlabel("θ (° of the main cam), rising in the loading sense →", fontsize=SMALL, labelpad=2)
    _end_stops(axes, was)
    _lifts(page, axes, made, was, result.follower, lift_mm)
    _rows(page, axes, made, result.mode)
    _budget(figure, page, made)
    rows = [artist for row in made.rows for artist in vars(row).values()]
    made.moving = [made.line, made.stops, *rows, *made.bars.values(), made.there, made.root, *made.beyond]
    made.moving += [*made.amounts, *made.reasons]
    return made


def _axes(figure, box, **limits):
    left, top, width, height = box
    page_width, page_height = SIZE_PX
    place = (left / page_width, 1 - (top + height) / page_height, width / page_width, height / page_height)
    axes = figure.add_axes(place, zorder=1, **limits)
    axes.grid(True, axis="x", color=GRID)
    axes.tick_params(labelsize=SMALL, length=3)
    return axes


def _end_stops(axes, was: Transport) -> None:
    """Hatch what lies beyond an end stop."""
    low, high = axes.get_xlim()
    for start, end in () if was.cyclic else ((low, was.low_deg), (was.high_deg, high)):
        if start < end:
            axes.axvspan(start, end, facecolor=PAPER, edgecolor=GRID, hatch="////", linewidth=0)
            axes.text((start + end) / 2, HIGHEST / 2, "end stop", rotation=90, ha="center", va="center",
                      fontsize=SMALL, color=FAINT, backgroundcolor=PAPER)  # fmt: skip


def _lifts(page, axes, made, was: Transport, follower: str, lift_mm) -> None:
    """The named lifts, the line as it was, and the line that moves."""
    low, high = lift_mm
    made.y = lambda mm: LOWEST + (mm - low) / (high - low) * (HIGHEST - LOWEST)
    start, end = axes.get_xlim()
    if not was.cyclic:
        start, end = max(start, was.low_deg), min(end, was.high_deg)
    made.theta = np.linspace(start, end, POINTS)
    states = sorted(was.follower(follower).states, key=lambda state: state[1])
    heights = _apart([float(made.y(mm)) for _, mm in states])
    for (name, mm), height in zip(states, heights, strict=True):
        axes.axhline(made.y(mm), color=GRID, linewidth=0.8)
        number = say(mm, "mm")
        name = paper.fitted(name, CHART[0] - NAMES - 16 - paper.width_px(number))
        paper.put(page, CHART[0] - 6, CHART[1] + CHART[3] - height, f"{name}  {number}", ha="right")
    axes.plot(made.theta, made.y(_lift(steady(was, LOADING), follower, made.theta)), **DASHED)
    (made.line,) = axes.plot([], [], color=BLUE, linewidth=2)


def _apart(heights: list[float]) -> list[float]:
    """Rising heights of names, moved up until each has room above the one before, but none too high."""
    placed: list[float] = []
    for at, height in enumerate(heights):
        highest = HIGHEST - STATE * (len(heights) - 1 - at)  # leaves room for those above
        placed.append(max(min(height, highest), placed[-1] + STATE if placed else 0.0))
    return placed


def _rows(page, axes, made, mode: str) -> None:
    """A row for each sense: where the code shows, where the follower is right, the room about the stop."""
    made.rows, made.tops = [], []
    for at, sense in enumerate(made.senses):
        top = CHART[3] - 4 - ROW * at
        paper.put(page, NAMES, CHART[1] + CHART[3] - top + BAR, f"{sense} sense", CHART[0] - NAMES - 6)
        row = SimpleNamespace(
            code=paper.bars(axes, facecolors=YELLOW, edgecolors=INK, hatch=".."),
            right=paper.bars(axes, facecolors=SKY_BLUE, edgecolors=INK),
            mark=axes.plot([], [], MARK[sense], color=INK, markersize=8, zorder=3)[0],
            dot=axes.plot([], [], MARK[sense], color=INK, markersize=6, zorder=3)[0],
            below=paper.word(axes, 0, 0, ha="right"),
            above=paper.word(axes, 0, 0, ha="left"),
        )
        made.rows.append(row)
        made.tops.append(top)
    made.stops = LineCollection([], colors=[INK], linewidths=1.2)
    axes.add_collection(made.stops, autolim=False)
    signs = [("box", YELLOW, f"code of {mode}", ".."), ("box", SKY_BLUE, "stands right", "")]
    signs += [("line", BLUE, "lift, loading sense", "-"), ("line", FAINT, "as it was", DASHED["linestyle"])]
    _key(page, CHART[0], 40, signs)


def _key(page, x: float, y: float, signs) -> None:
    """A line that explains signs, from the left on: a box with its hatch, a line with its dashes, a mark."""
    for kind, color, words, look in signs:
        wide = 26 if kind == "line" else 18
        if kind == "box":
            paper.bars(page, [(x, x + wide, y - 6, y + 6)], facecolors=color, edgecolors=INK, hatch=look)
        elif kind == "line":
            page.plot([x, x + wide], [y, y], color=color, linestyle=look, linewidth=2)
        else:
            page.plot([x + wide / 2], [y], look, color=color, markeredgecolor=INK, markersize=8)
        words = paper.fitted(words, 190)
        paper.put(page, x + wide + 5, y, words)
        x += wide + 18 + paper.width_px(words)


def _budget(figure, page, made) -> None:
    """Below and above the stop angle: what is asked of the dwell, in a bar, and what there is."""
    left, top, width, height = BUDGET
    axes = _axes(figure, BUDGET, xlim=(0, made.most_deg), ylim=(2, 0))
    axes.set_yticks([0.5, 1.5], ["below", "above"], fontsize=TEXT_PT)
    axes.tick_params(axis="y", length=0, pad=12)  # room for a mark that points below 0
    axes.set_xlabel("degrees of the arc beyond the stop angle", fontsize=SMALL, labelpad=2)
    title = "What may be off, added up at worst, and the arc there is"
    paper.put(page, NAMES, top - 40, title, fontsize=TEXT_PT, fontweight="bold")
    made.bars = {
        kind: paper.bars(axes, facecolors=fill.facecolor, edgecolors=INK, hatch=fill.hatch)
        for kind, fill in zip(KINDS, FILLS, strict=True)
    }
    signs = [("box", fill.facecolor, kind, fill.hatch) for kind, fill in zip(KINDS, FILLS, strict=True)]
    signs += [("line", VERMILLION, "arc there is", "-"), ("mark", PAPER, "root-sum-square", "D")]
    _key(page, NAMES + 8, top - 16, signs)
    made.there = LineCollection([], colors=[VERMILLION], linewidths=4)
    axes.add_collection(made.there, autolim=False)
    (made.root,) = axes.plot([], [], "D", color=PAPER, markeredgecolor=INK, markersize=8)
    style = {"linestyle": "none", "markersize": 10, "clip_on": False, "markeredgecolor": INK}
    made.beyond = [axes.plot([], [], mark, color=VERMILLION, **style)[0] for mark in "<>"]
    made.beyond.append(axes.plot([], [], ">", color=INK, **style)[0])
    x, half = left + width + 24, height / 2
    made.amounts = [paper.word(page, x, top + half * (side + 0.3), fontsize=TEXT_PT) for side in (0, 1)]
    made.reasons = [paper.word(page, x, top + half * (side + 0.7)) for side in (0, 1)]


def _lift(run: Run, follower: str, theta) -> np.ndarray:
    """The follower's lift over theta."""
    one = run.transport.follower(follower)
    places = np.interp(theta, *zip(*run.knots[one.part], strict=True))
    return one.programme.lifts(places + run.transport.advance_deg[one.part]) + one.bent_mm


def update(made, result: DwellTrial) -> None:
    """Show another dwell."""
    run = steady(result.transport, LOADING)
    made.line.set_data(made.theta, made.y(_lift(run, result.follower, made.theta)))
    lines = []
    for row, top, sense in zip(made.rows, made.tops, made.senses, strict=True):
        lines += _put_row(made, row, top, sense, result)
    made.stops.set_segments(lines)
    _put_budget(made, result)


def _put_row(made, row, top: float, sense: str, result: DwellTrial) -> list:
    """Show one sense; return the pieces of the line at its stop angle."""
    transport, came = result.transport, arrival(result.transport, result.mode, sense)
    mode = transport.mode(result.mode)
    need = next(n for n in mode.needs if n.follower == result.follower)
    arcs, shown = (came.run.code_arcs(mode.code), came.run.need_arcs(need)), (made.theta[0], made.theta[-1])
    code, right = (intersect(each, (shown,)) for each in arcs)
    row.code.set_verts(paper.corners((a, b, top - BAR, top) for a, b in code))
    row.right.set_verts(paper.corners((a, b, top - 2 * BAR, top - BAR) for a, b in right))
    theta, (low, high) = came.stand_deg, made.ends
    if transport.cyclic:  # on the turn that is shown
        theta = (low + high) / 2 + remainder(theta - (low + high) / 2, transport.ends[1])
    found = next((d for d in result.distances if d.sense == sense), None)
    here = found is not None and low + NUMBER * made.px_deg < theta < high - NUMBER * made.px_deg
    for artist in (row.mark, row.dot, row.below):
        artist.set_visible(here)
    if not here:
        row.above.set(text=NOT_READ if found is None else f"it stops at {say(theta, '°')}")
        row.above.set(x=low + 5 * made.px_deg, y=top - WORDS - 7)
        return []
    lift = float(made.y(_lift(came.run, result.follower, [came.stand_deg])[0]))
    for mark, height in ((row.mark, top - BAR), (row.dot, lift)):
        mark.set(data=([theta], [height]), color=VERMILLION if found.smaller[0] < 0 else INK)
    for word, deg, way in ((row.below, found.below_deg, -1), (row.above, found.above_deg, 1)):
        said = "never" if found.never else say(deg, "°")
        word.set(text=said, x=theta + 5 * way * made.px_deg, y=top - WORDS - 7)
    others = [other for other in made.tops if other < top]  # their words are left free
    edges = [top + 2, *(y for other in others for y in (other - WORDS, other - WORDS - 15)), 4]
    return [[(theta, a), (theta, b)] for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _put_budget(made, result: DwellTrial) -> None:
    sides, most = (result.budget.low, result.budget.high), made.most_deg
    boxes = {kind: [] for kind in KINDS}
    own = set(result.transport.chains[result.transport.follower(result.follower).part])
    for row, side in enumerate(sides):
        at = 0.0
        for name, deg in side.items:  # what falls away at a stop covers the end of the others
            start, at = at, at + deg
            ends = sorted((min(start, most), min(at, most)))
            if ends[0] < ends[1]:
                boxes[_kind(name, own)].append((*ends, row + 0.2, row + 0.8))
    for kind, bar in made.bars.items():
        bar.set_verts(paper.corners(boxes[kind]))
    there = [(side.there_deg, row) for row, side in enumerate(sides)]
    inside = [(x, row) for x, row in there if 0 <= x <= most]
    made.there.set_segments([[(x, row + 0.08), (x, row + 0.92)] for x, row in inside])
    off = [[row for x, row in there if x < 0], [row for x, row in there if x > most]]
    off.append([row for row, side in enumerate(sides) if _asked(side) > most])
    for marks, rows, x, y in zip(made.beyond, off, (0, most, most), (0.5, 0.5, 0.75), strict=True):
        marks.set_data([x] * len(rows), [row + y for row in rows])
    roots = [(side.rss_deg, row + 0.5) for row, side in enumerate(sides) if side.rss_deg <= most]
    made.root.set_data([x for x, _ in roots], [y for _, y in roots])
    for amount, reason, side in zip(made.amounts, made.reasons, sides, strict=True):
        amount.set_text(f"{side.amount()} at worst")
        is_there = NO_LIMIT if isinf(side.there_deg) else say(side.there_deg, "°")
        reason.set_text(f"asked {say(side.worst_deg, '°')}, there is {is_there}")


def _kind(name: str, own: set[str]) -> str:
    """Which of ``KINDS`` a contribution belongs to; a tooth out is named after its mesh, with a comma."""
    mesh, comma, _ = name.rpartition(",")
    if comma:
        return KINDS[0] if mesh in own else KINDS[1]
    return {EDGE: KINDS[2], COAST: KINDS[3]}.get(name, KINDS[4])
