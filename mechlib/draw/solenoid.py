"""A solenoid that fires again and again: the warmth of its winding over time, and below it what it pulls.

A scene for the live picture; it shows a ``bench.solenoid_trial.SolenoidTrial``.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection

from mechlib.bench.solenoid_trial import MINUTES, SolenoidTrial
from mechlib.draw import page as paper
from mechlib.draw.style import (
    BLUE,
    FAINT,
    FILLS,
    GRID,
    INK,
    LINES,
    SKY_BLUE,
    SMALL_PT,
    TEXT_PT,
    VERMILLION,
    YELLOW,
)
from mechlib.drives.copper import TEMPERATURE_C, ZERO_C
from mechlib.drives.solenoid import COLD_C
from mechlib.say import say

SIZE_PX = (1000, 620)
LEFT, RIGHT = 64, 664
WARM_TOP, WARM_LOW, PULL_TOP, PULL_LOW = 46, 350, 408, 572
MOST_C, MOST_N = 280.0, 16.0  # the highest limit, 250 °C, runs below the strip
LABEL_X, LABEL_GAP, WORDS_X = RIGHT + 8, 17, 816
DASHED = (0, (5, 3))
STRIP_C = 16  # height of the strip that says when the cut-off opens
OPENS_MINUTES = 11  # room for the words on it
COOLING = 61  # points of the cooling curve


def create(figure, result: SolenoidTrial):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    made = SimpleNamespace()
    _warmth(figure, made)
    _pull(figure, made)
    paper.put(page, 16, 22, "warmth of the winding (°C)", fontsize=TEXT_PT, fontweight="bold")
    paper.put(page, 226, 22, "upper edge: a pull ends; lower edge: a pull begins", color=FAINT)
    paper.put(page, 16, PULL_TOP - 24, "pull at the start of each (N)", fontsize=TEXT_PT, fontweight="bold")
    paper.put(page, (LEFT + RIGHT) / 2, SIZE_PX[1] - 14, "minutes from the start", ha="center")
    made.names = [paper.word(page, LABEL_X, 0) for _ in range(3)]
    made.need = paper.word(page, LABEL_X, 0)
    made.words = [
        paper.word(page, WORDS_X, (WARM_TOP + 22 * line) if line < 6 else (PULL_TOP + 22 * (line - 6)))
        for line in range(13)
    ]
    for line in (0, 6):
        made.words[line].set_fontweight("bold")
    made.moving = [made.drop, made.span, made.band, made.beyond, made.edges, made.cooling, *made.marks,
                   made.opens, made.short, made.curve, made.dead, made.needed, made.high, *made.names,
                   made.need, *made.words]  # fmt: skip
    return made


def _axes(figure, top: float, low: float, most: float):
    width, height = SIZE_PX
    place = (LEFT / width, 1 - low / height, (RIGHT - LEFT) / width, (low - top) / height)
    axes = figure.add_axes(place, xlim=(0, MINUTES), ylim=(0, most), zorder=1)
    axes.tick_params(length=3, labelsize=SMALL_PT)
    axes.grid(True, color=GRID)
    return axes


def _warmth(figure, made) -> None:
    """The upper row: the ripple, what it would come to, the cooling after opening, the cut-off's marks."""
    axes = _axes(figure, WARM_TOP, WARM_LOW, MOST_C)
    made.span = PolyCollection([], facecolor=YELLOW, edgecolor=INK, linewidths=0.8, zorder=4)
    made.drop = LineCollection([], colors=FAINT, linewidths=1.0, linestyles=[(0, (1, 2))], zorder=1)
    made.band = PolyCollection([], facecolor=SKY_BLUE, edgecolor=BLUE, linewidths=0.8, zorder=2)
    made.beyond = LineCollection([], colors=FAINT, linewidths=1.4, linestyles=[DASHED], zorder=2)
    made.edges = LineCollection([], colors=BLUE, linewidths=1.0, zorder=3)
    for each in (made.span, made.drop, made.band, made.beyond, made.edges):
        axes.add_collection(each, autolim=False)
    (made.cooling,) = axes.plot([], [], color=BLUE, linewidth=2)
    styles = (LINES[2], LINES[1], LINES[4])
    made.marks = [
        axes.plot([0, MINUTES], [0, 0], color=style.color, linestyle=style.linestyle, linewidth=1.6)[0]
        for style in styles
    ]
    made.opens = paper.word(axes, 0, MOST_C - STRIP_C / 2, fontweight="bold", zorder=6)


def _pull(figure, made) -> None:
    """The lower row: pull, force to overcome, and where the pull is too little."""
    axes = _axes(figure, PULL_TOP, PULL_LOW, MOST_N)
    fill = FILLS[1]
    made.short = PolyCollection([], facecolor=fill.facecolor, hatch=fill.hatch, edgecolor=INK, linewidths=0)
    axes.add_collection(made.short, autolim=False)
    (made.curve,) = axes.plot([], [], color=BLUE, linewidth=2)
    (made.dead,) = axes.plot([], [], color=BLUE, linewidth=2.4, linestyle=":")
    made.high = paper.word(axes, MINUTES - 0.4, MOST_N - 1.4, ha="right")
    (made.needed,) = axes.plot([0, MINUTES], [0, 0], color=VERMILLION, linestyle=DASHED, linewidth=1.8)


def update(made, result: SolenoidTrial) -> None:
    """Show another solenoid."""
    _put_warmth(made, result)
    _put_pull(made, result)
    _put_words(made, result)


def _until(result: SolenoidTrial) -> tuple[float, bool]:
    """The seconds for which it is fired within what is shown, and whether the cut-off then opens."""
    latest = result.opening.latest_s
    opens = latest is not None and latest <= MINUTES * 60
    return (latest if opens else MINUTES * 60), opens


def _put_warmth(made, result: SolenoidTrial) -> None:
    course = result.warming
    stop, opens = _until(result)
    begin, end = course.start_s / 60, course.end_s / 60
    starts, ends, after = begin <= stop / 60, end <= stop / 60, end >= stop / 60
    closed = np.array([(stop / 60, result.opening.cut_off.rated_C)] if opens else []).reshape(-1, 2)
    top = np.stack([end[ends], course.high_C[ends]], axis=1)
    below = np.stack([begin[starts], course.low_C[starts]], axis=1)
    made.band.set_verts([np.concatenate([below[:1], top, closed, below[::-1]])])
    zigzag = np.stack(
        [np.stack([begin, end], 1).ravel(), np.stack([course.low_C, course.high_C], 1).ravel()], 1
    )
    drawn = np.concatenate([zigzag[zigzag[:, 0] <= stop / 60], closed])
    made.edges.set_segments([drawn] if course.together == 1 else [])
    goes_on = np.stack([end[after], course.high_C[after]], axis=1)
    made.beyond.set_segments([np.concatenate([closed, goes_on])] if opens else [])
    _put_cooling(made, result, stop, opens)
    _put_marks(made, result, stop)


def _put_cooling(made, result: SolenoidTrial, stop: float, opens: bool) -> None:
    """What the winding does once its cut-off is open."""
    t = np.linspace(stop, MINUTES * 60, COOLING if opens else 0)
    rise = result.opening.cut_off.rated_C - result.ambient_C
    tau = result.warming.body.time_constant_s
    made.cooling.set_data(t / 60, result.ambient_C + rise * np.exp(-(t - stop) / tau))


def _put_marks(made, result: SolenoidTrial, stop: float) -> None:
    """The three temperatures of the cut-off, and when it opens."""
    opening, cut_off, earliest = result.opening, result.opening.cut_off, result.opening.earliest_s
    temperatures = (cut_off.holding_C, cut_off.rated_C, cut_off.limit_C)
    for mark, temperature in zip(made.marks, temperatures, strict=True):
        mark.set_ydata([temperature, temperature])
    end = stop / 60
    seen = earliest is not None and earliest / 60 < MINUTES
    start = earliest / 60 if seen else 0.0
    made.span.set_verts(paper.corners([(start, end, MOST_C - STRIP_C, MOST_C)]) if seen else [])
    made.drop.set_segments([[(x, 0), (x, MOST_C)] for x in (start, end)] if seen else [])
    inside, before = end - start > OPENS_MINUTES, start > OPENS_MINUTES
    made.opens.set_horizontalalignment("left" if inside or not before else "right")
    made.opens.set_x(start + 0.4 if inside else start - 0.4 if before else end + 0.4)
    told = "opens here" if opening.surely_opens else "may open from here on"
    made.opens.set_text(told if seen else "")
    names = ("holding", "functioning", "maximum")
    places = _spread([_y(temperature) for temperature in temperatures])
    for word, name, at, value in zip(made.names, names, places, temperatures, strict=True):
        word.set_y(at)
        word.set_text(f"{name} {say(value, '°C', 0)}")


def _y(temperature: float) -> float:
    return WARM_LOW - temperature / MOST_C * (WARM_LOW - WARM_TOP)


def _spread(places: list[float]) -> list[float]:
    """Places of labels, pushed upwards where they would run into the one below."""
    found = []
    for place in places:  # from below upwards; y counts downwards
        found.append(min([place, *(low - LABEL_GAP for low in found[-1:])]))
    return found


def _put_pull(made, result: SolenoidTrial) -> None:
    course = result.warming
    stop, dead = _until(result)
    live = course.start_s <= stop
    minutes, winding = course.start_s[live] / 60, np.minimum(course.low_C[live], TEMPERATURE_C[1])
    # The pull goes with the current squared, so with the resistance squared the other way round.
    cold = result.solenoid.at(result.voltage_V).pull_N
    pull = cold * ((COLD_C - ZERO_C) / (winding - ZERO_C)) ** 2
    made.curve.set_data(minutes, pull)
    needed = result.cold.needed_N
    made.needed.set_ydata([needed, needed])
    lower = np.minimum(pull, needed)
    edge = np.concatenate([minutes, minutes[::-1]])
    shape = np.stack([edge, np.concatenate([lower, np.full(len(lower), needed)])], 1)
    made.short.set_verts([shape] if len(minutes) > 1 and np.any(pull < needed) else [])
    made.dead.set_data([stop / 60, stop / 60, MINUTES] if dead else [], [pull[-1], 0, 0] if dead else [])
    made.high.set_text("the pull is off the top" if pull.max() > MOST_N else "")
    made.need.set_y(PULL_LOW - needed / MOST_N * (PULL_LOW - PULL_TOP))
    made.need.set_text(f"needed {say(needed, 'N')}")


def _too_little(result: SolenoidTrial) -> tuple[str, str]:
    """From what warmth on it pulls too little, in two lines."""
    if result.too_weak:
        return "too weak at", "any warmth"
    return ("", "") if result.weak_C is None else ("too little from", say(result.weak_C, "°C", 0))


def _put_words(made, result: SolenoidTrial) -> None:
    opening, cold, warm = result.opening, result.cold, result.warm
    verdict = "warm: too little" if cold.pulls else "never pulls in"
    if warm.pulls:
        verdict = "dead once open" if opening.surely_opens else "pulls enough"
    state = "stays closed" if opening.stays_closed else "opens" if opening.surely_opens else "may open"
    lines = (
        f"the cut-off {state}",
        f"duty {say(100 * result.duty, '%')}",
        f"at first {say(result.duty * cold.power_W, 'W', 2)}",
        f"would come to {say(opening.peak_C, '°C', 0)}",
        f"around it {say(result.ambient_C, '°C', 0)}",
        "",
        verdict,
        "cold:",
        f"{say(cold.current_A, 'A', 3)}, {say(cold.pull_N, 'N', 2)}",
        f"warm ({say(warm.winding_C, '°C', 0)}):",
        f"{say(warm.current_A, 'A', 3)}, {say(warm.pull_N, 'N', 2)}",
        *_too_little(result),
    )
    for word, text in zip(made.words, lines, strict=True):
        word.set_text(text)
