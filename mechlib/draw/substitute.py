"""A substitute in mesh with a mate: both gears whole, and beside them the teeth that mesh, much larger.

A scene for the live picture; it shows a ``bench.substitute_pair.PairInMesh``.  The teeth are to scale in both
views, and bars tell the scales; the holes only mark the shafts, since a mate's bore isn't known.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection

from mechlib.bench.substitute_pair import PairInMesh
from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, INK, ORANGE, PAPER, SKY_BLUE, TITLE_PT, VERMILLION
from mechlib.gears.spur import Gear
from mechlib.gears.spur_outline import outline
from mechlib.say import say

SIZE_PX = (1000, 480)
HEAD, FOOT, EDGE = 40, 52, 16
WHOLE = (EDGE, 560)  # from left to right, of the view of both gears
NEAR = (584, SIZE_PX[0] - EDGE)  # and of the view of the teeth that touch
CLOSE = 5.8  # modules across the near view
TOLERANCE = (0.02, 0.002)  # modules by which sides may leave the true curve: both views
SHAFT = 0.16  # of the root circle
BAR_MM = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100)
MOST_BAR = 110
SIGNS = "blue: substitute, orange and hatched: mate; dot: the first tooth"
CIRCLE = np.exp(1j * np.linspace(0, 2 * np.pi, 121))


def create(figure, result: PairInMesh):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    paper.put(page, WHOLE[0], 18, "substitute and mate, teeth to scale", fontsize=TITLE_PT, fontweight="bold")
    paper.put(page, NEAR[0], 18, "the teeth close up, 20 °C", fontsize=TITLE_PT, fontweight="bold")
    made = SimpleNamespace(views=[_View(figure, *ends) for ends in (WHOLE, NEAR)])
    y = SIZE_PX[1] - 14
    made.names = paper.word(page, WHOLE[0], y - 20)
    made.gap = paper.word(page, NEAR[0], y - 20)
    paper.put(page, WHOLE[0], y, SIGNS, color=FAINT)
    made.moving = [artist for view in made.views for artist in view.moving] + [made.names, made.gap]
    return made


def update(made, result: PairInMesh) -> None:
    """Show another pair, or the same turned."""
    one, other = result.gears
    centre = result.found.mesh.centre_mm
    made.views[0].show(result, *_whole(one, other, centre), TOLERANCE[0])
    middle = sum(complex(*end) for end in result.path_mm) / 2
    made.views[1].show(result, middle, (NEAR[1] - NEAR[0]) / (CLOSE * one.module_mm), TOLERANCE[1])
    mate = paper.fitted(f"{result.found.mate.name}, {other.teeth} teeth", 240)
    told = f"substitute, {one.teeth} teeth, and {mate}: {say(centre, 'mm', 2)} from shaft to shaft"
    made.names.set_text(paper.fitted(told, WHOLE[1] - WHOLE[0]))
    made.gap.set_text(_touch(result))


def _touch(result: PairInMesh) -> str:
    """What the red line is, if there is one, and what of the teeth can't be seen from it."""
    if not result.ratio:
        return f"no flanks touch: contact ratio {say(result.ratio, '', 2)}"
    if result.ratio < 1:
        return f"red: where flanks touch, for a while only (contact ratio {say(result.ratio, '', 2)})"
    gap = say(result.found.mesh.backlash_mm, "mm", 3)
    return f"red: where flanks touch; behind the teeth {gap} of backlash"


def _whole(one: Gear, other: Gear, centre: float) -> tuple[complex, float]:
    """Middle (mm from the substitute's shaft) and pixels for a mm at which both gears go in."""
    wide, high = (one.tip_mm + other.tip_mm) / 2 + centre, max(one.tip_mm, other.tip_mm)
    room = WHOLE[1] - WHOLE[0], SIZE_PX[1] - HEAD - FOOT
    return complex(centre + (other.tip_mm - one.tip_mm) / 2) / 2, 0.96 * min(room[0] / wide, room[1] / high)


class _View:
    """One view: two gears, their shafts, pitch circles and marks, the line on which flanks touch, a bar."""

    def __init__(self, figure, left: float, right: float):
        width, height = SIZE_PX
        self.wide, self.high = right - left, height - HEAD - FOOT
        place = (left / width, FOOT / height, self.wide / width, self.high / height)
        axes = figure.add_axes(place, zorder=3)
        axes.set(xlim=(0, self.wide), ylim=(self.high, 0), xticks=[], yticks=[], facecolor=PAPER)
        for spine in axes.spines.values():
            spine.set(visible=True, color=FAINT)
        style = {"edgecolors": INK, "linewidths": 1.1}
        self.gears = [
            PolyCollection([], facecolors=SKY_BLUE, **style),
            PolyCollection([], facecolors=ORANGE, hatch="///", **style),
        ]
        self.shafts = PolyCollection([], facecolors=PAPER, zorder=3, **style)
        self.circles = LineCollection([], colors=FAINT, linestyles=(0, (5, 3)), linewidths=0.9, zorder=4)
        self.path = LineCollection([], colors=VERMILLION, linewidths=2.6, zorder=6)
        self.bar = LineCollection([], colors=INK, linewidths=2.6, zorder=6)
        for one in (*self.gears, self.shafts, self.circles, self.path, self.bar):
            axes.add_collection(one, autolim=False)
        (self.marks,) = axes.plot([], [], "o", color=INK, markersize=5, zorder=5, linestyle="none")
        self.label = paper.word(axes, 14, self.high - 26, zorder=7)
        self.moving = [*self.gears, self.shafts, self.circles, self.marks, self.path, self.bar, self.label]

    def show(self, result: PairInMesh, middle: complex, pixels: float, tolerance: float) -> None:
        """Show the pair with that place (mm from the substitute's shaft) in the middle, at that scale."""

        def placed(points) -> np.ndarray:
            points = pixels * (np.asarray(points, complex) - middle)
            return np.stack([self.wide / 2 + points.real, self.high / 2 - points.imag], axis=1)

        shown = zip(
            result.gears, (0.0, result.found.mesh.centre_mm), (result.turn_deg, result.mate_deg), strict=True
        )
        shafts, circles, marks = [], [], []
        for number, (gear, x, angle) in enumerate(shown):
            points = outline(gear, tolerance * gear.module_mm)
            turn = np.exp(1j * np.radians(angle))
            self.gears[number].set_verts([placed((points[:, 0] + 1j * points[:, 1]) * turn + x)])
            shafts.append(placed(SHAFT * gear.root_mm / 2 * CIRCLE + x))
            circles.append(placed(result.found.mesh.working_mm[number] / 2 * CIRCLE + x))
            marks.append(placed([turn * (gear.tip_mm / 2 - 0.6 * gear.module_mm) + x])[0])
        self.shafts.set_verts(shafts)
        self.circles.set_segments(circles)
        self.marks.set_data(*np.transpose(marks))
        self.path.set_segments([placed([complex(*end) for end in result.path_mm])] if result.ratio else [])
        mm = max((mm for mm in BAR_MM if mm * pixels <= MOST_BAR), default=BAR_MM[0])
        self.bar.set_segments([[(14, self.high - 12), (14 + mm * pixels, self.high - 12)]])
        self.label.set_text(say(mm, "mm", 1 if mm < 1 else 0))
