"""A mode change against its motor: torque asked over theta, speed below it, the legs, and the motor's line.

A scene for the live picture; it shows a ``bench.effort_trial.EffortTrial``.  The curves are those of the leg
that decides, over the whole travel in its sense; what it really ran is drawn bold.
"""

from __future__ import annotations

from functools import lru_cache
from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.ticker import NullFormatter

from mechlib.bench.effort_trial import EffortTrial, motor_shares
from mechlib.draw import effort_names
from mechlib.draw import page as paper
from mechlib.draw.style import (
    BLUE,
    FAINT,
    FILLS,
    GRID,
    INK,
    PAPER,
    SMALL_PT,
    TEXT_PT,
    VERMILLION,
)
from mechlib.draw.words import Word
from mechlib.say import say
from mechlib.transports.effort import Effort, effort
from mechlib.transports.model import SENSE, Transport
from mechlib.transports.motor_shares import FRICTION, friction
from mechlib.transports.outcomes import RIGHT
from mechlib.transports.runs import steady

SIZE_PX = (1000, 640)
TORQUE, SPEED, LEGS = (64, 70, 600, 200), (64, 294, 600, 96), (64, 414, 600, 90)  # left, top, width, height
LINE = (792, 70, 192, 184)
MOST_LEGS = 6  # homing, two legs, a retry, two legs
ROOM = 1.6  # of the torque's axis, above what the sound drive can give
STEP_DEG = 0.5
LAYERS = (FRICTION, "drag of the gears", "levers and slides")
RIGHT_MARK, STALL_MARK, SLOW_MARK = "o", "X", "s"
MARKS = {RIGHT_MARK: "code read, at rest", STALL_MARK: "can't go on", SLOW_MARK: "time-out on the way"}
DASHED = (0, (4, 3))
NAMES_PX = 2 + 2 * effort_names.LETTER  # above the highest that is drawn of a hump
MORE_NAMES = 4  # than levers: some stand at two humps
MARK_PX = 7  # from the middle of a mark to where a name may stand


def window(transport: Transport) -> dict[str, tuple[float, float]]:
    """The limits of the picture, from the sound machine: theta, torque, speed, and the motor's line.

    >>> from mechlib.transports import load
    >>> window(load("alder"))["theta_deg"]
    (-118.0, 268.0)
    """
    drives, (low, high) = transport.motors, transport.ends
    beyond = 360.0 if transport.cyclic else 0.0  # a leg may lead into the turn before or after
    return {
        "theta_deg": (low - beyond, high + beyond),
        "torque_Nmm": (0.0, ROOM * max(drive.limit_Nmm for drive in drives)),
        "speed_deg_s": (0.0, 1.06 * max(float(drive.deg_s(np.zeros(1))[0]) for drive in drives)),
        "stall_Nmm": (0.0, 1.06 * max(drive.motor.stall_torque_Nmm for drive in drives)),
        "rev_min": (0.0, 1.06 * max(drive.motor.no_load_rev_min for drive in drives)),
    }


def create(figure, result: EffortTrial, theta_deg, torque_Nmm, speed_deg_s, stall_Nmm, rev_min):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    low, high = theta_deg
    made = SimpleNamespace(theta=np.linspace(low, high, round((high - low) / STEP_DEG) + 1))
    torque = _axes(figure, TORQUE, xlim=theta_deg, ylim=torque_Nmm)
    speed = _axes(figure, SPEED, xlim=theta_deg, ylim=speed_deg_s)
    legs = _axes(figure, LEGS, xlim=theta_deg, ylim=(MOST_LEGS, 0))
    line = _axes(figure, LINE, xlim=stall_Nmm, ylim=rev_min)
    legs.set_yticks([])
    for axes in (torque, speed):
        axes.xaxis.set_major_formatter(NullFormatter())  # the legs below have the numbers
    legs.set_xlabel("θ in degrees of the main cam", labelpad=2)
    line.set_xlabel("torque of the motor (N·mm)", labelpad=2)
    _write(page, torque, result.transport.sound)
    made.cap = torque_Nmm[1] * (1 - NAMES_PX / TORQUE[3])  # humps are cut off there
    made.torque = _curves(torque)
    made.speed = _curves(speed)
    _fill(torque, made, result)
    _legs(legs, page, made)
    _motor(line, page, made)
    _key(page)
    x = TORQUE[0] + TORQUE[2] + 6
    made.limit_name = [paper.word(page, x, 0, fontweight=weight) for weight in ("normal", "bold")]
    made.words = [paper.word(page, 16, 576 + 21 * at) for at in range(3)]
    made.words[0].set(fontsize=TEXT_PT, fontweight="bold")
    curves = [each for curve in (made.torque, made.speed) for each in vars(curve).values()]
    moving = [*made.layers, *curves, made.limit, *made.at_end.values(), *made.names, *made.limit_name]
    moving += [made.arrows, *made.marks.values(), *made.told, made.motor_name]
    moving += [made.line_before, made.line, made.worked, made.belt]
    made.moving = [*moving, *made.words]
    return made


def _axes(figure, box, **limits):
    left, top, width, height = box
    page_width, page_height = SIZE_PX
    place = (left / page_width, 1 - (top + height) / page_height, width / page_width, height / page_height)
    axes = figure.add_axes(place, zorder=1, **limits)
    axes.grid(True, color=GRID)
    axes.tick_params(labelsize=SMALL_PT, length=3)
    return axes


def _write(page, torque, transport: Transport) -> None:
    """Titles, and the modes where their codes show."""
    title = f"{transport.name}: what the change asks of the motor, and what it gets"
    paper.put(page, 16, 18, title, fontsize=TEXT_PT, fontweight="bold")
    for x, y, text in (
        (16, 42, "torque asked of the motor (N·mm), the modes, and which lever asks most at a hump"),
        (16, SPEED[1] - 10, "speed of the drive (°/s)"),
        (16, LEGS[1] - 10, "the legs, one after the other"),
    ):
        paper.put(page, x, y, text, fontweight="bold")
    run, (left, right) = steady(transport, "loading"), torque.get_xlim()
    px, written = TORQUE[2] / (right - left), -1e9
    middles = [(sum(arc) / 2, mode.name) for mode in transport.modes
               for arc in run.code_arcs(mode.code) if left <= max(arc[0], left) < right]  # fmt: skip
    for theta, name in sorted((min(max(theta, left), right), name) for theta, name in middles):
        x, wide = TORQUE[0] + (theta - left) * px, paper.width_px(name) / 2
        if x - wide > written + 4:
            paper.put(page, x, TORQUE[1] - 12, name, ha="center")
            page.vlines(x, TORQUE[1] - 5, TORQUE[1] - 1, color=INK, linewidth=1)
            written = x + wide


def _curves(axes) -> SimpleNamespace:
    """As it was, as it is over the whole travel, and bold the part that was run."""
    styles = ((FAINT, DASHED, 1.1), (BLUE, "-", 1.1), (BLUE, "-", 3))
    lines = [axes.plot([], [], color=c, linestyle=s, linewidth=w)[0] for c, s, w in styles]
    return SimpleNamespace(**dict(zip(("sound", "whole", "run"), lines, strict=True)))


def _fill(axes, made, result: EffortTrial) -> None:
    """The layers below the curve, the limit, names at the humps, and where the leg ended."""
    made.layers = []
    for fill in FILLS[: len(LAYERS)]:
        style = {"facecolors": fill.facecolor, "hatch": fill.hatch, "edgecolors": FAINT, "linewidths": 0}
        layer = PolyCollection([], **style)
        axes.add_collection(layer, autolim=False)
        made.layers.append(layer)
    made.limit = LineCollection([], colors=[VERMILLION], linewidths=2.2, linestyles=[(0, (6, 2))])
    axes.add_collection(made.limit, autolim=False)
    made.at_end = {mark: axes.plot([], [], mark, **_mark(mark, 11))[0] for mark in MARKS}
    style = {"fontsize": SMALL_PT, "va": "bottom"}
    made.names = [Word.on(axes, 0, 0, ha="center", **style)
                  for _ in range(len(result.transport.followers) + MORE_NAMES)]  # fmt: skip


def _mark(mark: str, size: float) -> dict:
    face = {RIGHT_MARK: INK, STALL_MARK: VERMILLION, SLOW_MARK: PAPER}[mark]
    return {"markersize": size, "markerfacecolor": face, "markeredgecolor": INK, "clip_on": False}


def _legs(axes, page, made) -> None:
    made.arrows = LineCollection([], colors=[INK], linewidths=1.6)
    axes.add_collection(made.arrows, autolim=False)
    made.marks = {mark: axes.plot([], [], mark, **_mark(mark, 8))[0] for mark in MARKS}
    left, top, width, height = LEGS
    places = [top + height * (at + 0.5) / MOST_LEGS for at in range(MOST_LEGS)]
    made.told = [paper.word(page, left + width + 12, y) for y in places]


def _motor(axes, page, made) -> None:
    """The motor's line as it was, as it is, where it worked on the leg, and where the belt slips."""
    made.motor_name = paper.word(page, LINE[0] - 38, 42, fontweight="bold")
    (made.line_before,) = axes.plot([], [], color=FAINT, linestyle=DASHED)
    (made.line,) = axes.plot([], [], color=BLUE, linewidth=1.4)
    (made.worked,) = axes.plot([], [], color=BLUE, linewidth=5, solid_capstyle="butt")
    made.belt = LineCollection([], colors=[VERMILLION], linewidths=2.2, linestyles=[(0, (6, 2))])
    axes.add_collection(made.belt, autolim=False)


def _key(page) -> None:
    left, y = LINE[0], LINE[1] + LINE[3] + 52
    for fill, name in zip(FILLS, LAYERS, strict=False):
        box = [(left, left + 24, y - 6, y + 6)]
        paper.bars(page, box, facecolors=fill.facecolor, hatch=fill.hatch, edgecolors=INK)
        paper.put(page, left + 32, y, name)
        y += 17
    for color, style, width, name in ((BLUE, "-", 3, "run on this leg"), (FAINT, DASHED, 1.1, "in order"),
                                      (VERMILLION, (0, (6, 2)), 2.2, "what there is")):  # fmt: skip
        page.hlines(y, left, left + 24, color=color, linestyles=[style], linewidth=width)
        paper.put(page, left + 32, y, name)
        y += 17
    x = TORQUE[0]
    for mark, name in MARKS.items():
        page.plot([x], [552], mark, **_mark(mark, 8))
        paper.put(page, x + 10, 552, name)
        x += 34 + paper.width_px(name)


def update(made, result: EffortTrial) -> None:
    """Show another change, or the same with other faults."""
    theta, leg = made.theta, result.leg
    shares = motor_shares(result.effort, theta)
    asked = friction(result.effort, theta) + sum(shares.values())
    start, end = sorted((leg.start_deg, leg.end_deg))
    ran = (theta >= start) & (theta <= end)
    sound = _sound(result.transport.sound, leg.leg.sense, len(theta), made.torque.whole.axes.get_xlim())
    speed = _speed(result.effort, theta, asked)
    highest = made.cap, made.speed.whole.axes.get_ylim()[1]
    for curve, values, before, top in zip(
        (made.torque, made.speed), (asked, speed), sound, highest, strict=True
    ):
        values = np.clip(values, 0, top)
        curve.sound.set_data(theta, np.clip(before, 0, top))
        curve.whole.set_data(theta, values)
        curve.run.set_data(theta[ran], values[ran])
    _put_layers(made, result, asked, shares)
    _put_limit(made, result)
    _put_names(made, result, asked, shares)
    _put_legs(made, result)
    _put_motor(made, result, asked[ran & (result.effort.by_motor(theta, lambda d: d == result.drive) > 0)])
    lines = (f"{result.change.start} to {result.change.target}: {result.change.outcome}. {result.took}",
             f"{result.change.why[:1].upper()}{result.change.why[1:]}.", result.demand())  # fmt: skip
    for word, line in zip(made.words, lines, strict=True):
        word.set_text(paper.fitted(line, SIZE_PX[0] - 36))


def _speed(found: Effort, theta, asked) -> np.ndarray:
    """Degrees of theta a second where so much is asked; 0 where the motor can't go on."""
    goes = asked < found.limit_Nmm(theta)
    speed = found.by_motor(theta, lambda drive, asked: drive.deg_s(asked), np.where(goes, asked, 0.0))
    return np.where(goes, speed, 0.0)


@lru_cache(maxsize=8)
def _sound(transport: Transport, sense: str, count: int, span) -> tuple[np.ndarray, np.ndarray]:
    """Torque and speed of the machine in order; they don't change while a slider moves."""
    theta, found = np.linspace(*span, count), effort(transport, sense)
    asked = found.motor_Nmm(theta)
    return asked, _speed(found, theta, asked)


def _put_layers(made, result: EffortTrial, asked, shares) -> None:
    """Each layer between the one below it and its own top, none of them above what is asked."""
    drags = sum((shares[f"drag of the {name}"] for name, _ in result.transport.drags), np.zeros(asked.shape))
    bare = friction(result.effort, made.theta)
    tops = (0 * asked, bare, bare + drags, asked)
    edges = [np.clip(np.minimum(edge, asked), 0, made.cap) for edge in tops]
    for layer, low, high in zip(made.layers, edges, edges[1:], strict=False):
        there = np.stack([made.theta, high], 1)
        back = np.stack([made.theta, low], 1)[::-1]
        layer.set_verts([np.concatenate([there, back])])


def _put_limit(made, result: EffortTrial) -> None:
    drive, leg = result.drive, result.leg
    limit, levels = drive.limit_Nmm, _limits(made, result)
    made.limit.set_segments([[(left, level), (right, level)] for left, right, level in levels])
    gives = ("belt slips" if drive.belt_slips_first else "motor stalls", say(limit, "N·mm", 2))
    top = made.limit.axes.get_ylim()[1]
    y = TORQUE[1] + TORQUE[3] * (1 - limit / top)
    for word, text, dy in zip(
        made.limit_name, gives if limit > 0 else ("belt", "loose"), (-7, 7), strict=True
    ):
        word.set(text=text, y=y + dy)
    mark = _ended(leg)
    at = float(np.clip(result.effort.motor_Nmm(np.array([leg.end_deg]))[0], 0, made.cap))
    for each, line in made.at_end.items():
        line.set_data([leg.end_deg] if each == mark else [], [at] if each == mark else [])


def _limits(made, result: EffortTrial) -> list[tuple[float, float, float]]:
    """From where to where, as drawn, which limit holds; alike ones that meet are one."""
    (left, right), found = made.limit.axes.get_xlim(), []
    for stage in result.transport.stages:
        level = result.transport.motor_of(stage).limit_Nmm
        if found and found[-1][2] == level:
            continue
        if found:
            found[-1] = (found[-1][0], stage.start_deg, found[-1][2])
        found.append((stage.start_deg if found else left, right, level))
    return found


def _ended(leg) -> str:
    if leg.ended == RIGHT:
        return RIGHT_MARK
    return SLOW_MARK if leg.moving else STALL_MARK


def _put_names(made, result: EffortTrial, asked, shares) -> None:
    """Names at the humps, clear of the limit and of the mark where the leg ended."""
    axes, theta = made.limit.axes, made.theta
    (left, right), (_, top) = axes.get_xlim(), axes.get_ylim()
    up, across = top / TORQUE[3], (right - left) / TORQUE[2]  # of a pixel
    taken = [(a, b, limit - up, limit + 2 * up) for a, b, limit in _limits(made, result)]  # by those lines
    x, y = made.at_end[_ended(result.leg)].get_xydata()[0]
    taken.append((x - MARK_PX * across, x + MARK_PX * across, y - MARK_PX * up, y + MARK_PX * up))
    named = effort_names.humps(result, theta, asked, shares, top, made.cap)
    drawn = np.clip(asked, 0, made.cap)
    effort_names.put(made.names, named, theta, drawn, taken, axes, TORQUE[3], TORQUE[2])


def _put_legs(made, result: EffortTrial) -> None:
    """An arrow a leg, the mark of its end, and words beside it."""
    moved, segments, ends = result.change.legs[:MOST_LEGS], [], {mark: [] for mark in MARKS}
    for row, leg in enumerate(moved):
        y, sense = row + 0.5, SENSE[leg.leg.sense]
        segments.append([(leg.start_deg, y), (leg.end_deg, y)])
        segments.append([(leg.start_deg, y - 0.3), (leg.start_deg, y + 0.3)])
        middle = (leg.start_deg + leg.end_deg) / 2
        segments.append([(middle - 4 * sense, y - 0.25), (middle, y), (middle - 4 * sense, y + 0.25)])
        ends[_ended(leg)].append((leg.end_deg, y))
    made.arrows.set_segments(segments)
    for mark, line in made.marks.items():
        line.set_data(*zip(*ends[mark], strict=True) if ends[mark] else ([], []))
    for row, word in enumerate(made.told):
        word.set_text("")
        if row < len(moved):
            leg = moved[row]
            text = f"{leg.leg.sense} to {leg.leg.mode}: {leg.ended}, {say(leg.time_s, 's')}"
            word.set_text(paper.fitted(text, SIZE_PX[0] - LEGS[0] - LEGS[2] - 20))


def _put_motor(made, result: EffortTrial, asked) -> None:
    drive, before = result.drive, result.transport.sound.motor_at(result.worst_deg).motor
    title = f"the {drive.name}: rev/min over its torque"
    if len(result.transport.motors) > 1:
        title = f"{drive.name}: rev/min over torque"
    made.motor_name.set_text(paper.fitted(title, SIZE_PX[0] - LINE[0] + 34))
    made.line_before.set_data([0, before.stall_torque_Nmm], [before.no_load_rev_min, 0])
    stall, idle = drive.motor.stall_torque_Nmm, drive.motor.no_load_rev_min
    made.line.set_data([0, stall], [idle, 0])
    worked = np.array([])
    if asked.size:
        worked = np.clip([np.min(asked), np.max(asked)], 0, drive.limit_Nmm)
    made.worked.set_data(worked, idle * (1 - worked / stall) if stall else worked)
    limit = drive.limit_Nmm
    made.belt.set_segments([[(limit, 0), (limit, made.line.axes.get_ylim()[1])]])
