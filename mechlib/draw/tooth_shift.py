"""A still figure that explains θ, ρ and "ahead": a gear dropped in a tooth on, and its row on the chart."""

from __future__ import annotations

from math import pi

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon

from mechlib.draw import page as paper
from mechlib.draw.chart_frame import SOUND
from mechlib.draw.style import BLUE, FAINT, GRID, INK, PAPER, TEXT_PT, figure, look
from mechlib.errors import MechError
from mechlib.gears.racks import ISO_53_A
from mechlib.gears.spur import Gear
from mechlib.gears.spur_mesh import mesh_angle
from mechlib.gears.spur_outline import outline
from mechlib.say import count, say

SIZE_PX = (980, 384)
GEARS, CHART = (10, 36, 450, 270), (560, 62, 400, 218)  # left, top, width, height on the page, in pixels
VIEW = 9.0  # modules shown to the left and right of the mesh, and one more for each tooth out
WINDOW_DEG = (40.0, 60.0)  # of θ shown before and after the place where the follower begins to move
TOLERANCE = 0.005  # modules, a tenth of a pixel, within which the outlines are true
FILL = ("#E4E4E4", "#D6EBF8")  # of the parent and of the part
ARROW = {"arrowstyle": "-|>", "color": INK, "linewidth": 1.4, "shrinkA": 0, "shrinkB": 0}


def gears_in_mesh(parent_teeth: int, teeth: int) -> tuple[np.ndarray, np.ndarray]:
    """The outlines of two gears of module 1 that mesh without backlash at (0, 0), the parent above.

    Each is an array of points (x, y).  A tooth of the parent points straight down, into a gap of the other.
    Profiles: involutes cut by the basic rack A of ISO 53.  Raises MechError for fewer than 6 teeth.

    >>> above, _ = gears_in_mesh(60, 64)
    >>> round(float(above[:, 1].min()), 9)  # that tooth's tip
    -1.0
    """
    above, below = Gear(parent_teeth, 1, ISO_53_A), Gear(teeth, 1, ISO_53_A)
    down = -90.0
    up = mesh_angle(above, below, (parent_teeth + teeth) / 2, down, down)
    return _placed(above, down, parent_teeth / 2), _placed(below, up, -teeth / 2)


def _placed(gear: Gear, turned_deg: float, centre_y: float) -> np.ndarray:
    points = outline(gear, TOLERANCE) @ (1, 1j) * np.exp(1j * np.radians(turned_deg)) + 1j * centre_y
    return np.stack([points.real, points.imag], axis=1)


def tooth_shift(effect, follower: str, scale: int = 1) -> Figure:
    """Return the figure for a slip: left the mesh and its marks, right the follower's row before and after.

    ``effect`` is a SlipEffect with teeth out at the mesh of two gears; ``follower`` one whose row moved;
    ``scale`` 1 to 4, as for ``style.figure``.  Raises MechError for what it can't show: a mesh upstream of
    the main gear, an inside mesh or a rack, no tooth out or more than three, a follower that stays where it
    was.

    >>> from mechlib.bench import slip_effect
    >>> from mechlib.transports import load
    >>> tooth_shift(slip_effect(load("alder"), "pinch cam", 1), "pinch lever").canvas.get_width_height()
    (980, 384)
    """
    transport = effect.transport.sound
    part = transport.part(effect.mesh)
    if part.kind == "rack" or part.speed * part.parent_speed > 0:
        raise MechError(f"the mesh of the {part.name}", "this figure shows two gears that mesh outside")
    if not 1 <= abs(effect.teeth) <= 3:
        raise MechError(f"teeth is {effect.teeth}", "this figure shows 1 to 3 teeth ahead or behind")
    if transport.follower(follower).part not in effect.moved:
        raise MechError(f"the {follower} stays where it was", "choose one that hangs on the slipped part")
    with look():
        made = figure(*SIZE_PX, scale=scale)
        page = paper.sheet(made, SIZE_PX)
        _draw_gears(_axes(made, GEARS), part, effect.teeth)
        _draw_row(_axes(made, CHART), effect, follower)
        _write(page, transport, part, effect, follower)
    return made


def _axes(made: Figure, place):
    (left, top, wide, tall), (width, height) = place, SIZE_PX
    return made.add_axes((left / width, 1 - (top + tall) / height, wide / width, tall / height), zorder=1)


def _draw_gears(axes, part, teeth: int) -> None:
    """Both gears around the mesh, which is at (0, 0): the parent above, the part below."""
    wide = VIEW + abs(teeth)
    high = wide * GEARS[3] / GEARS[2]  # the same scale both ways
    axes.set(xlim=(-wide, wide), ylim=(-high, high), xticks=[], yticks=[])
    axes.spines[["top", "right"]].set_visible(True)
    above, below = part.parent_teeth / 2, part.teeth / 2
    way = 1 if part.parent_speed < 0 else -1  # seen so that a positive speed turns clockwise; at the mesh: x
    outlines = gears_in_mesh(part.parent_teeth, part.teeth)
    for corners, radius, y, fill in zip(outlines, (above, below), (above, -below), FILL, strict=True):
        axes.add_patch(Polygon(corners, facecolor=fill, edgecolor=INK, linewidth=1))
        pitch = {"radius": radius, "fill": False, "edgecolor": FAINT, "linestyle": (0, (8, 3))}
        axes.add_patch(Circle((0, y), linewidth=0.8, **pitch))
    slipped = way * teeth * 2 * pi / part.teeth
    deep = below - 2.1  # the part's mark lies below the gap that belongs to the parent's marked tooth
    at = (deep * np.sin(slipped), deep * np.cos(slipped) - below)
    axes.plot(0, 0.25, "o", color=INK, markersize=9)
    axes.plot(0, deep - below, "^", markersize=10, markerfacecolor=PAPER, markeredgecolor=INK)
    axes.plot(*at, "^", color=INK, markersize=10)
    apart = count(abs(teeth), "tooth")
    paper.put(axes, at[0] / 2, deep - below - 1.4, apart, ha="center")
    for radius, y, side in ((above - 3.2, above, -1), (below - 4.6, -below, 1)):
        turns = way * np.radians(np.linspace(-5.5, 5.5, 30)) * 30 / radius
        path = np.stack([radius * np.sin(turns), y + side * radius * np.cos(turns)], 1)
        axes.plot(*path[:-1].T, color=INK, linewidth=1.4)
        axes.annotate("", path[-1], path[-2], arrowprops={**ARROW, "mutation_scale": 16})


def _draw_row(axes, effect, follower: str) -> None:
    """The follower's line where it first moves, before and after, and the arrow from one to the other."""
    charts = (effect.sound, effect.chart)
    lift, slipped = (next(r.lift_mm for r in each.followers if r.name == follower) for each in charts)
    theta = effect.sound.theta_deg
    begins = theta[np.argmax(np.abs(lift - lift[0]) > 0.01 * np.ptp(lift))]
    low, high = begins - WINDOW_DEG[0], begins + WINDOW_DEG[1]
    axes.set(xlim=(low, high), xlabel="θ (° of the main cam), rising in the loading sense →")
    axes.set_ylabel(f"{follower} (mm)")
    axes.grid(True, color=GRID)
    axes.plot(theta, lift, color=SOUND, linewidth=1.6, dashes=(6, 2))
    axes.plot(theta, slipped, color=BLUE, linewidth=2)
    seen = lift[(theta >= low) & (theta <= high)]
    room = 0.12 * np.ptp(seen)
    axes.set_ylim(seen.min() - room, seen.max() + room)
    half = (lift[0] + seen[np.argmax(np.abs(seen - lift[0]))]) / 2
    start, end = (_first_at(theta, line, half) for line in (lift, slipped))
    axes.annotate("", (end, half), (start, half), arrowprops={**ARROW, "mutation_scale": 14})


def _first_at(theta, line, level: float) -> float:
    """Theta at which a line first crosses a level."""
    above = line > level
    at = int(np.argmax(above != above[0]))
    return float(np.interp(0.0, *_rising(line[at - 1 : at + 1] - level, theta[at - 1 : at + 1])))


def _rising(values, theta):
    return (values, theta) if values[0] < values[1] else (values[::-1], theta[::-1])


def _write(page, transport, part, effect, follower: str) -> None:
    """What the figure says in words: titles, the key of both sides, the sum."""
    n, way = abs(effect.teeth), "ahead of" if effect.teeth > 0 else "behind"
    parent, speed, shift = part.parent, say(abs(part.parent_speed), "", 2), say(effect.shift_deg, "°")
    side = "left" if effect.shift_deg < 0 else "right"
    left, right, top, bottom = GEARS[0], CHART[0] - 40, GEARS[1], GEARS[1] + GEARS[3]
    total = f"{say(-effect.teeth, '', 0)} × 360° / ({part.parent_teeth} × {speed}) = {shift}"
    for x, y, text in (
        (left + 8, top + 14, f"{parent}: z = {part.parent_teeth} teeth at this mesh, |ρ| = {speed}"),
        (left + 8, bottom - 14, f"{part.name}: {part.teeth} teeth"),
        (left, bottom + 18, f"● {parent}'s mark    {part.name}'s mark: △ where it belongs, ▲ where it is"),
        (left, bottom + 36, "arrows: loading sense; where they meet, both edges move the same way"),
        (left, bottom + 54, "ahead: further on in its own loading sense, so its events come at smaller θ"),
        (right, 42, "dashed: with the mark right    full line: as it is"),
        (right, bottom + 36, f"shift = −n × 360° / (z × |ρ|) = {total}"),
        (right, bottom + 54, f"ρ: speed of the {parent} over the main cam's.  {transport.name} is invented."),
    ):
        paper.put(page, x, y, text, 500 if x < right else 450)
    for x, text in (
        (left, f"The {part.name} is {count(n, 'tooth')} {way} its mark"),
        (right, f"The row of the {follower} moves by {shift}, to the {side}"),
    ):
        paper.put(page, x, 18, text, 450, fontweight="bold", fontsize=TEXT_PT)
