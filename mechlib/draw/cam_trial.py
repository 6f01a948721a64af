"""A cam that turns under its follower; beside it, under one cursor, lift and all that follows from it.

A scene for the live picture; it shows a ``bench.CamTrial``.  The cam is drawn to fill its place, with a scale
bar; the curves are for unit rise in a move of unit length, so that laws can be compared.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection

from mechlib.bench.cam_trial import PEAKS, CamTrial
from mechlib.cams import LAWS
from mechlib.draw import page as paper
from mechlib.draw.style import (
    BLUE,
    FAINT,
    GRID,
    INK,
    ORANGE,
    PAPER,
    SKY_BLUE,
    SMALL_PT,
    TEXT_PT,
    VERMILLION,
)
from mechlib.say import say

SIZE_PX = (1060, 620)
SQUARE, TOP = 440, 44  # pixels: the place of the cam, and where it starts
LEFT, LINES, HIGH = 16, 6, 20  # of the words below it
VIEW = 1.0  # half the width of that place; lengths on it are in units of ``_reach``
ROW_LEFT, ROW_RIGHT, ROW_TOP, ROW_HIGH, ROW_GAP = 636, 946, 34, 96, 14
ROOM = 1.12  # above and below the largest value of any law
HIGHEST = {
    name: ROOM * max(peak for law in LAWS.values() if np.isfinite(peak := getattr(law.peaks, name)))
    for name in ("velocity", "acceleration", "jerk")
}
ROWS = (
    ("lift", (-0.08, 1.08)),
    ("velocity", (-HIGHEST["velocity"], HIGHEST["velocity"])),
    ("acceleration", (-HIGHEST["acceleration"], HIGHEST["acceleration"])),
    ("jerk", (-HIGHEST["jerk"], HIGHEST["jerk"])),
    ("pressure angle", (-90.0, 90.0)),
)
DASHED, DOTTED = (0, (4, 3)), (0, (1, 2))
CIRCLE = np.exp(1j * np.linspace(0, 2 * np.pi, 73))
GUIDE, STEM, PIN = 0.05, 0.012, 0.022
ARROW = 0.2
BARS_MM, LONGEST_BAR = (5, 10, 20, 50), 100  # of the scale; in pixels


def create(figure, result: CamTrial):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    width, height = SIZE_PX
    at = (0, 1 - (TOP + SQUARE) / height, SQUARE / width, SQUARE / height)
    axes = figure.add_axes(at, xlim=(-VIEW, VIEW), ylim=(-VIEW, VIEW), zorder=1)
    axes.set_axis_off()
    made = SimpleNamespace(values=[])
    made.cam = _shapes(axes, 1, facecolors=SKY_BLUE, edgecolors=INK, linewidths=1.4)
    made.base = LineCollection([], colors=INK, linewidths=0.9, linestyles=[DASHED], zorder=2)
    made.pitch = LineCollection([], colors=FAINT, linewidths=1.2, linestyles=[DOTTED], zorder=3)
    made.lines = LineCollection([], colors=INK, linewidths=1.6, zorder=4)
    made.body = _shapes(axes, 5, edgecolors=INK, linewidths=1.2)
    made.push = LineCollection([], colors=VERMILLION, linewidths=2.4, zorder=6)
    (made.dots,) = axes.plot([], [], "o", color=INK, markersize=3, zorder=7)
    for lines in (made.base, made.pitch, made.lines, made.push):
        axes.add_collection(lines, autolim=False)
    _write(page, made)
    made.rows = [_row(figure, number, limits) for number, (_, limits) in enumerate(ROWS)]
    made.usual = LineCollection([], colors=INK, linewidths=0.9, linestyles=[DASHED])
    made.rows[-1].axes.add_collection(made.usual, autolim=False)
    _cursor_words(page, made)
    moving = [made.cam, made.base, made.pitch, made.lines, made.body, made.push, made.dots]
    for row in made.rows:
        moving += [row.curve, row.spikes, row.cursor, row.dot]
    made.moving = [*moving, made.usual, made.bar, *made.values, *made.words, made.scale]
    return made


def _shapes(axes, order: int, **style) -> PolyCollection:
    shapes = PolyCollection([], zorder=order, **style)
    axes.add_collection(shapes, autolim=False)
    return shapes


def _write(page, made) -> None:
    """The words round the cam: key above, what is found below, the scale."""
    y = 22
    for x, text, color, dashes in (
        (LEFT, "base circle", INK, DASHED),
        (126, "path of the roller's centre", FAINT, DOTTED),
        (326, "push of the cam", VERMILLION, "-"),
    ):
        page.hlines(y, x, x + 26, color=color, linestyles=[dashes], linewidth=1.6)
        paper.put(page, x + 32, y, text)
    paper.put(page, 478, y, "the cam turns ↺")
    below = TOP + SQUARE + 14
    made.words = [paper.word(page, LEFT, below + HIGH * line) for line in range(LINES)]
    made.words[0].set(fontweight="bold", fontsize=TEXT_PT)
    made.bar = LineCollection([], colors=INK, linewidths=1.6)
    page.add_collection(made.bar, autolim=False)
    made.scale = paper.word(page, LEFT, TOP + SQUARE - 24, color=FAINT)


def _row(figure, number: int, limits) -> SimpleNamespace:
    """One row of curves with its own axes; what moves in it."""
    width, height = SIZE_PX
    top = ROW_TOP + number * (ROW_HIGH + ROW_GAP)
    place = (
        ROW_LEFT / width,
        1 - (top + ROW_HIGH) / height,
        (ROW_RIGHT - ROW_LEFT) / width,
        ROW_HIGH / height,
    )
    axes = figure.add_axes(place, xlim=(0, 360), ylim=limits, zorder=1)
    last = number == len(ROWS) - 1
    axes.set_xticks(range(0, 361, 60), [f"{deg}°" for deg in range(0, 361, 60)] if last else [""] * 7)
    axes.locator_params(axis="y", nbins=4 if last else 3)
    axes.tick_params(length=3, labelsize=SMALL_PT)
    axes.grid(True, color=GRID)
    axes.axhline(0, color=FAINT, linewidth=0.8)
    (curve,) = axes.plot([], [], color=BLUE, linewidth=1.8)
    spikes = LineCollection([], colors=VERMILLION, linewidths=1.8, linestyles=[(0, (4, 2))])
    axes.add_collection(spikes, autolim=False)
    (cursor,) = axes.plot([0, 0], limits, color=INK, linewidth=1)
    (dot,) = axes.plot([0], [0], "o", color=VERMILLION, markersize=6, clip_on=False)
    return SimpleNamespace(axes=axes, curve=curve, spikes=spikes, cursor=cursor, dot=dot, limits=limits)


def _cursor_words(page, made) -> None:
    """Names at the left of the rows, the values at the cursor at their right."""
    for number, (name, _) in enumerate(ROWS):
        middle = ROW_TOP + number * (ROW_HIGH + ROW_GAP) + ROW_HIGH / 2
        first, *second = name.split(" ")
        paper.put(page, ROW_LEFT - 44, middle - 16 * bool(second), first, ha="right", fontsize=TEXT_PT)
        if second:
            paper.put(page, ROW_LEFT - 44, middle, second[0], ha="right", fontsize=TEXT_PT)
        style = {"fontsize": TEXT_PT, "fontweight": "bold"}, {"color": FAINT}, {"color": FAINT}
        made.values += [
            paper.word(page, ROW_RIGHT + 10, middle + dy, **s)
            for dy, s in zip((-18, 0, 18), style, strict=True)
        ]
    paper.put(page, ROW_RIGHT + 10, ROW_TOP - 16, "at the cursor", color=FAINT)


def update(made, result: CamTrial) -> None:
    """Show another cam, or the same turned on."""
    unit = 1 / _reach(result)
    _put_cam(made, result, unit)
    _put_follower(made, result, unit)
    _put_curves(made, result)
    _put_words(made, result, unit)


def _reach(result: CamTrial) -> float:
    """The length in mm that fills half the place of the cam."""
    reach = 1.28 * max(result.rim_mm, result.follower.base_mm + result.rise_mm + 2 * _roller(result))
    return max(reach, 1.05 * (result.at.pivot[0] if result.at.pivot else 0.0))


def _roller(result: CamTrial) -> float:
    return getattr(result.follower, "roller_mm", 2.0)


def _points(curve: np.ndarray, turn: complex, unit: float) -> np.ndarray:
    turned = (curve[:, 0] + 1j * curve[:, 1]) * turn * unit
    return np.stack([turned.real, turned.imag], axis=1)


def _xy(points) -> np.ndarray:
    points = np.atleast_1d(points)
    return np.stack([points.real, points.imag], axis=1)


def _put_cam(made, result: CamTrial, unit: float) -> None:
    turn = np.exp(1j * np.radians(result.at.turn_deg))
    made.cam.set_verts([_points(result.outline.outline, turn, unit), _xy(PIN * 1.6 * CIRCLE)])
    made.cam.set_facecolors([SKY_BLUE, PAPER])
    made.base.set_segments([_xy(result.follower.base_mm * unit * CIRCLE)])
    has_roller = hasattr(result.follower, "roller_mm")
    made.pitch.set_segments([_points(result.outline.pitch, turn, unit)] if has_roller else [])


def _put_follower(made, result: CamTrial, unit: float) -> None:
    at = result.at
    trace, contact, push, direction = (
        unit * complex(*p) for p in (at.trace, at.contact, at.push, at.direction)
    )
    push, direction = push / abs(push), direction / abs(direction)
    if at.pivot is not None:
        pivot = unit * complex(*at.pivot)
        line, fixed = [pivot, trace], [_xy(pivot + PIN * 1.4 * CIRCLE)]
    else:
        line, aside = [trace, complex(trace.real, VIEW)], STEM * 3 + GUIDE / 2
        fixed = [_box(trace.real + x, GUIDE / 2, VIEW - 0.16, VIEW - 0.04) for x in (-aside, aside)]
    if hasattr(result.follower, "roller_mm"):
        body = _xy(trace + result.follower.roller_mm * unit * CIRCLE)
    else:
        face = max(result.shape.face_mm) * unit + 0.06
        body = _box(trace.real, face, trace.imag, trace.imag + 0.05)
    made.body.set_verts([*fixed, body])
    made.body.set_facecolors([*(GRID for _ in fixed), ORANGE])
    made.lines.set_segments([_xy(line)])
    tip = contact + ARROW * push
    barb = [tip + 0.05 * push * np.exp(1j * np.pi * turn) for turn in (0.86, -0.86)]
    made.push.set_segments([_xy([contact, tip]), _xy([barb[0], tip, barb[1]])])
    made.dots.set_data(*_xy([trace if hasattr(result.follower, "roller_mm") else 0j, 0j]).T)


def _box(x: float, half: float, low: float, high: float) -> np.ndarray:
    return np.array([(x - half, low), (x + half, low), (x + half, high), (x - half, high)])


def _put_curves(made, result: CamTrial) -> None:
    angle, motions = result.at.angle_deg, result.motions
    curves = (*motions.rows, motions.pressure_deg)
    values = (*result.values, result.at.pressure_deg)
    spikes = ((), (), *motions.spikes_deg, ())
    for row, curve, value, ends in zip(made.rows, curves, values, spikes, strict=True):
        row.curve.set_data(motions.angle_deg, curve)
        row.spikes.set_segments([[(x, row.limits[0]), (x, row.limits[1])] for x in ends])
        row.cursor.set_xdata([angle, angle])
        row.dot.set_data([angle], [value])
    made.usual.set_segments([[(0, limit), (360, limit)] for limit in (-result.usual_deg, result.usual_deg)])


def _put_words(made, result: CamTrial, unit: float) -> None:
    _, velocity, acceleration, jerk = result.values
    rise, length = result.rise_mm, result.move_deg
    peaks = [getattr(result.law.peaks, name) for name in PEAKS]
    peaks = ["peak ∞" if np.isinf(peak) else f"peak {say(peak, '', 2)}" for peak in peaks]
    here = (
        (say(result.at.lift_mm, "mm", 2), f"of {say(rise, 'mm')}", ""),
        (say(velocity, "", 2), f"{say(velocity * rise / length, '', 3)} mm/°", peaks[0]),
        (say(acceleration, "", 2), f"{say(acceleration * rise / length**2, '', 4)} mm/°²", peaks[1]),
        (say(jerk, "", 1), "", peaks[2]),
        (say(result.at.pressure_deg, "°"), f"usually ≤ {say(result.usual_deg, '°', 0)}", ""),
    )
    for line, text in zip(made.values, (text for row in here for text in row), strict=True):
        line.set_text(text)
    verdict, *advice = result.verdict().split(": ")
    found = [f"{sentence}." for sentence in result.shape.sentence().rstrip(".").split(". ")]
    lines = [verdict, *(f"{text[0].upper()}{text[1:]}" for text in advice), *found]
    for line, text in zip(made.words, [*lines, *[""] * (LINES - len(lines))], strict=True):
        line.set_text(text)
    pixels = 0.5 * SQUARE * unit
    length = max(mm for mm in BARS_MM if mm * pixels <= LONGEST_BAR)
    y, end = TOP + SQUARE - 8, LEFT + length * pixels
    made.bar.set_segments([[(LEFT, y), (end, y)], *([(x, y - 4), (x, y + 4)] for x in (LEFT, end))])
    made.scale.set_text(say(length, "mm", 0))
