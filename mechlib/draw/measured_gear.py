"""A gear with the caliper on it, as the readings have it, and beside it the sizes that explain them.

A scene for the live picture; it shows a ``bench.measured_gear.MeasuredGear``.  The gear is the likeliest one,
drawn as large as the page allows; a bar tells the scale.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection

from mechlib.bench.measured_gear import (
    MeasuredGear,
    jaw_places,
    pin_angles_deg,
    pin_place_mm,
    turned_up_deg,
)
from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, GRID, INK, ORANGE, SKY_BLUE, TEXT_PT, TITLE_PT, VERMILLION, YELLOW
from mechlib.gears.spur_outline import outline
from mechlib.gears.unknown_gear import OUTSIDE, PINS, SPAN, USUAL_SHIFT
from mechlib.say import say

SIZE_PX = (1000, 560)
MIDDLE, RADIUS = (250, 258), 176  # pixels: of the gear
JAW, OVERHANG = 12, 34  # width of a jaw, and how far it stands out beyond the tips
SHIFTS = (-0.5, -0.25, 0.0, 0.25, 0.5, 0.75)
BAR_MM = (0.5, 1, 2, 5, 10)
ROWS, FIRST_ROW, ROW = 9, 120, 34
NAMES, AXIS, AXIS_END = 478, 716, 976  # the longest name ends before the axis
TICK = 12  # either way, at the ends of the line over pins
CIRCLE = np.exp(1j * np.linspace(0, 2 * np.pi, 61))


def create(figure, result: MeasuredGear):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    made = SimpleNamespace()
    paper.put(page, 16, 20, "the likeliest gear, the caliper on it", fontsize=TITLE_PT, fontweight="bold")
    paper.put(page, NAMES, 20, "sizes that explain the readings", fontsize=TITLE_PT, fontweight="bold")
    made.gear = _shapes(page, 1, facecolors=SKY_BLUE, edgecolors=INK, linewidths=1.2)
    made.shaft = _shapes(page, 2, facecolors="#FFFFFF", edgecolors=INK, linewidths=1.2)
    made.pins = _shapes(page, 3, facecolors=ORANGE, edgecolors=INK, linewidths=1.2)
    made.jaws = _shapes(page, 4, facecolors=YELLOW, edgecolors=INK, linewidths=1.2, hatch="...")
    made.lines = LineCollection([], colors=[VERMILLION], linewidths=1.8, zorder=5)
    page.add_collection(made.lines, autolim=False)
    made.scale = LineCollection([], colors=[INK], linewidths=2.4, zorder=5)
    page.add_collection(made.scale, autolim=False)
    made.labels = [paper.word(page, 0, 0, ha="center", fontsize=TEXT_PT, zorder=6) for _ in range(4)]
    _axis(page)
    made.bars = _shapes(page, 3, facecolors=SKY_BLUE, edgecolors=INK, linewidths=1)
    made.names = [
        paper.word(
            page, NAMES, FIRST_ROW + ROW * row, fontsize=TEXT_PT, fontweight="bold" if row == 0 else "normal"
        )
        for row in range(ROWS)
    ]
    made.more = paper.word(page, NAMES, FIRST_ROW + ROW * ROWS, color=FAINT)
    made.moving = [made.gear, made.shaft, made.pins, made.jaws, made.lines, made.scale, made.bars]
    made.moving += [*made.labels, *made.names, made.more]
    return made


def _shapes(page, order: int, **style) -> PolyCollection:
    shapes = PolyCollection([], zorder=order, **style)
    page.add_collection(shapes, autolim=False)
    return shapes


def _axis(page) -> None:
    """The scale of profile shifts above the rows."""
    paper.put(page, NAMES, 62, "size, and the profile shifts that are left (modules)", color=FAINT)
    low, high = FIRST_ROW - 20, FIRST_ROW + ROW * ROWS - 16
    for shift in SHIFTS:
        page.vlines(_x(shift), low, high, color=INK if shift == 0 else GRID, linewidth=1)
        paper.put(
            page, _x(shift), low - 10, say(shift, "", 2 if shift % 0.5 else 1, sign=shift != 0), ha="center"
        )


def _x(shift: float) -> float:
    """Where a shift stands on the scale."""
    low, high = USUAL_SHIFT
    return AXIS + (shift - low) / (high - low) * (AXIS_END - AXIS)


def update(made, result: MeasuredGear) -> None:
    """Show other readings."""
    _show_sizes(made, result)
    for word in made.labels:
        word.set_text("")
    for shapes in (made.gear, made.shaft, made.pins, made.jaws):
        shapes.set_verts([])
    made.lines.set_segments([])
    made.scale.set_segments([])
    if result.gear is None:
        made.labels[0].set(x=MIDDLE[0], y=MIDDLE[1], text="no standard gear explains these readings")
        return
    pixels = RADIUS / (result.gear.tip_mm / 2)
    _show_gear(made, result, pixels)
    _show_span(made, result, pixels)
    _show_pins(made, result, pixels)
    _show_outside(made, result, pixels)


def _on_page(points_mm, pixels: float) -> np.ndarray:
    """Points in mm from the gear's middle, y upwards, as pixels of the page."""
    points = np.asarray(points_mm, float).reshape(-1, 2)
    return np.stack([MIDDLE[0] + pixels * points[:, 0], MIDDLE[1] - pixels * points[:, 1]], axis=1)


def _over(result: MeasuredGear) -> int:
    reading = result.reading(SPAN)
    return int(reading.size) if reading else 3


def _show_gear(made, result: MeasuredGear, pixels: float) -> None:
    gear = result.gear
    turn = np.exp(1j * np.radians(turned_up_deg(gear.teeth, _over(result))))
    points = outline(gear, 0.01 * gear.module_mm)
    turned = (points[:, 0] + 1j * points[:, 1]) * turn
    made.gear.set_verts([_on_page(np.stack([turned.real, turned.imag], axis=1), pixels)])
    shaft = 0.16 * gear.root_mm / 2 * CIRCLE
    made.shaft.set_verts([_on_page(np.stack([shaft.real, shaft.imag], axis=1), pixels)])
    mm = max((mm for mm in BAR_MM if mm * pixels <= 120), default=BAR_MM[0])
    made.scale.set_segments([[(24, 532), (24 + mm * pixels, 532)]])
    made.labels[0].set(x=24 + mm * pixels / 2, y=516, text=say(mm, "mm", 1 if mm < 1 else 0))


def _show_span(made, result: MeasuredGear, pixels: float) -> None:
    """Two jaws on the outer flanks, and the line between the places that they touch."""
    reading = result.reading(SPAN)
    if reading is None:
        return
    (left, right), (high, _) = jaw_places(result.gear, _over(result), reading.read_mm)
    ends = _on_page([(left, high), (right, high)], pixels)
    top = MIDDLE[1] - RADIUS - OVERHANG
    low = ends[0, 1] + 10
    inner = [(ends[0, 0], -JAW), (ends[1, 0], JAW)]
    made.jaws.set_verts([[(x, top), (x + wide, top), (x + wide, low), (x, low)] for x, wide in inner])
    made.lines.set_segments([ends])
    words = f"{say(reading.read_mm, 'mm', 2)} over {_over(result)}"
    made.labels[1].set(x=MIDDLE[0], y=top - 10, text=words)


def _show_pins(made, result: MeasuredGear, pixels: float) -> None:
    """Both pins, the line over their outer sides, as long as it was read, and the words below the gear."""
    reading, centre = result.reading(PINS), result.pin_centre_mm()
    if reading is None or centre is None:
        return
    pin = reading.size / 2 * CIRCLE
    places = [pin_place_mm(angle, centre) for angle in pin_angles_deg(result.teeth, _over(result))]
    made.pins.set_verts([_on_page(np.stack([pin.real + x, pin.imag + y], axis=1), pixels) for x, y in places])
    words = f"{say(reading.read_mm, 'mm', 2)} over two pins of {say(reading.size, 'mm', 2)}"
    y = MIDDLE[1] + RADIUS + (64 if result.reading(OUTSIDE) else 26)
    made.labels[2].set(x=MIDDLE[0], y=y, text=words)
    one, other = _on_page(places, pixels)
    along = (one - other) / np.hypot(*(one - other))
    half, tick = along * reading.read_mm / 2 * pixels, TICK * np.array([-along[1], along[0]])
    ends = [(one + other) / 2 + half, (one + other) / 2 - half]
    ticks = [[end - tick, end + tick] for end in ends]
    made.lines.set_segments([*made.lines.get_segments(), ends, *ticks])


def _show_outside(made, result: MeasuredGear, pixels: float) -> None:
    """The outside diameter below the gear, as long as it was read."""
    reading = result.reading(OUTSIDE)
    if reading is None:
        return
    half, y = reading.read_mm / 2 * pixels, MIDDLE[1] + RADIUS + 26
    x0, x1 = MIDDLE[0] - half, MIDDLE[0] + half
    ticks = [[(x, y - 8), (x, y + 8)] for x in (x0, x1)]
    made.lines.set_segments([*made.lines.get_segments(), [(x0, y), (x1, y)], *ticks])
    made.labels[3].set(x=MIDDLE[0], y=y + 16, text=f"{say(reading.read_mm, 'mm', 2)} outside")


def _show_sizes(made, result: MeasuredGear) -> None:
    found = result.found.candidates
    boxes = []
    for row, word in enumerate(made.names):
        text = "" if row or found else "none"
        if row < len(found):
            one, y = found[row], FIRST_ROW + ROW * row
            text = f"{one.size.name} · {one.rack.name}"
            middle, half = (_x(one.low) + _x(one.high)) / 2, max((_x(one.high) - _x(one.low)) / 2, 2)
            boxes.append((middle - half, middle + half, y - 9, y + 9))
        word.set_text(text)
    made.bars.set_verts(paper.corners(boxes))
    left = len(found) - ROWS
    made.more.set_text(f"and {left} more, less likely" if left > 0 else "")
