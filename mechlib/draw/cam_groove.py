"""A still figure that explains a cam: a disc with a groove, the lever whose pin follows it, and its row.

The groove is the one that moves this lever by the follower's programme, exactly: its pin swings about the
pivot and is r from the middle of the disc, r = base radius + lift.  A transport file says nothing of radii,
so the disc is drawn in proportion to the lift; all lengths below are in units of the whole lift.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from mechlib.draw import page as paper
from mechlib.draw.style import (
    BLUE,
    FAINT,
    GRID,
    INK,
    PAPER,
    SKY_BLUE,
    TEXT_PT,
    TITLE_PT,
    YELLOW,
    figure,
    look,
)
from mechlib.errors import MechError
from mechlib.say import say
from mechlib.transports.arcs import intersect
from mechlib.transports.chart import chart
from mechlib.transports.model import Follower, Transport
from mechlib.transports.runs import steady

SIZE_PX = (980, 470)
DISC, ROW = (8, 34, 452, 372), (540, 84, 424, 262)  # left, top, width, height on the page, in pixels
UNIT_PX = 40  # on the page, for the whole lift
INNER, RIM = (
    2.5,
    4.05,
)  # radius at the lowest lift, which is a whole lift less than at the highest; of the disc
GROOVE, PIN, LEVER, THIN = 0.36, 0.30, 0.34, 0.7  # widths; the last of an outline, in points
LENGTH, BEYOND = 4.7, 1.4  # of the lever from pin to pivot, and beyond
ASIDE_DEG = 15.0  # of the part's place from the end of the move to the positions 1 and 2
LEAST_LABEL_DEG = 20.0  # of the disc's turn: a shorter stretch has no word on it
POINTS = 1500
DWELL, MOVE, BODY = SKY_BLUE, PAPER, "#E4E4E4"
BIG = {"fontsize": TEXT_PT}


class Groove(NamedTuple):
    """The groove and its lever; points of the picture are complex, in whole lifts, the disc's middle 0.

    ``way``: 1 where the disc turns clockwise in the loading sense, else −1; ``places``: the part's places at
    positions 1 and 2, in main-cam degrees.  The disc is shown at position 2.
    """

    follower: Follower
    way: int
    turn: float  # of the disc, in degrees for each degree of its place
    places: tuple[float, float]

    @property
    def levels_mm(self) -> tuple[float, float]:
        """The lowest and the highest lift."""
        levels = self.follower.programme.levels_mm
        return levels[0], levels[-1]

    @property
    def base(self) -> float:
        """Base radius: that of the groove where the lift is 0."""
        low, high = self.levels_mm
        return INNER - low / (high - low)

    @property
    def pivot(self) -> complex:
        """The lever's pivot, level with the middle of the pin's way so that the pin moves up and down."""
        return complex(-self.way * LENGTH, INNER + 0.5)

    def pin(self, place_deg):
        """Where the pin stands when the part is at a place or an array of them."""
        low, high = self.levels_mm
        radius = self.base + self.follower.programme.lifts(place_deg) / (high - low)
        far = abs(self.pivot)
        between = np.arccos((far**2 + radius**2 - LENGTH**2) / (2 * far * radius))  # law of cosines
        return radius * np.exp(1j * (np.angle(self.pivot) - self.way * between))

    def groove(self, place_deg, at_deg: float | None = None):
        """The middle of the groove where it meets the pin at a place, with the disc at ``at_deg``."""
        at_deg = self.places[1] if at_deg is None else at_deg
        back = np.radians(self.way * self.turn * (np.asarray(place_deg) - at_deg))
        return self.pin(place_deg) * np.exp(1j * back)


def groove_of(transport: Transport, follower: str) -> Groove:
    """The groove of a follower and two places to show: before and after its highest move.

    Raises MechError for a follower that never moves or whose track goes round its disc more than once.

    >>> from mechlib.transports import load
    >>> groove_of(load("alder"), "tension lever").places
    (77.0, 145.0)
    """
    found = transport.sound.follower(follower)
    track, part = found.programme.segments, found.part
    speeds = {each.name: each.speed for each in (*transport.roots, *transport.parts)}
    moves = [at for at, segment in enumerate(track) if not segment.is_dwell]
    if not moves:
        raise MechError(f"the {follower} never moves", "choose a follower with a move in its track")
    turned = (track[-1].end_deg - track[0].start_deg) * abs(speeds[part])
    if turned > 360.0 + 1e-6:
        raise MechError(
            f"the track of the {follower} is {say(turned, '°')} long on its own part",
            "a groove of more than 360° would cross itself; choose another follower",
        )
    most = max(moves, key=lambda at: abs(track[at].end_mm - track[at].start_mm))
    before, after = (
        min(ASIDE_DEG, (track[at].end_deg - track[at].start_deg) / 2) if 0 <= at < len(track) else 0.0
        for at in (most - 1, most + 1)
    )
    places = track[most].start_deg - before, track[most].end_deg + after
    return Groove(found, 1 if speeds[part] > 0 else -1, abs(speeds[part]), places)


def cam_groove(transport: Transport, follower: str, scale: int = 1) -> Figure:
    """Return the figure of one follower's groove and of its row, with the same two positions on both.

    ``follower``: one with a track of its own; ``scale`` 1 to 4, as for ``style.figure``.  The machine is
    shown sound, turning in the loading sense.  Raises MechError as ``groove_of``.

    >>> from mechlib.transports import load
    >>> cam_groove(load("alder"), "tension lever").canvas.get_width_height()
    (980, 470)
    """
    cam = groove_of(transport, follower)
    with look():
        made = figure(*SIZE_PX, scale=scale)
        page = paper.sheet(made, SIZE_PX)
        _draw_disc(_axes(made, DISC), cam)
        _draw_row(_axes(made, ROW), transport.sound, cam)
        _write(page, transport, cam)
    return made


def _axes(made: Figure, place):
    (left, top, wide, tall), (width, height) = place, SIZE_PX
    return made.add_axes((left / width, 1 - (top + tall) / height, wide / width, tall / height), zorder=1)


def _draw_disc(axes, cam: Groove) -> None:
    """The disc with its groove, the lever in both positions, and their words."""
    wide, tall = DISC[2] / UNIT_PX, DISC[3] / UNIT_PX
    lever_end = LENGTH + BEYOND + LEVER
    middle = cam.way * (RIM - lever_end + 0.1) / 2
    axes.set(xlim=(middle - wide / 2, middle + wide / 2), ylim=(4.75 - tall, 4.75), xticks=[], yticks=[])
    axes.set_axis_off()
    for radius, fill in ((RIM, BODY), (0.3, PAPER)):
        axes.add_patch(Circle((0, 0), radius, facecolor=fill, edgecolor=INK))
    track = cam.follower.programme.segments
    whole = cam.groove(np.linspace(track[0].start_deg, track[-1].end_deg, POINTS))
    _stroke(axes, whole, GROOVE, DWELL)
    for segment in track:
        if not segment.is_dwell:
            places = np.linspace(segment.start_deg, segment.end_deg, POINTS)
            _stroke(axes, cam.groove(places), GROOVE, MOVE, edge=False)
        if (segment.end_deg - segment.start_deg) * cam.turn >= LEAST_LABEL_DEG:
            middle_deg = (segment.start_deg + segment.end_deg) / 2
            before, at, after = cam.groove(middle_deg + np.array([-0.1, 0.0, 0.1]))
            inwards = 1j * cam.way * (after - before) / abs(after - before)
            word = "dwell" if segment.is_dwell else "move"
            _say(axes, at + 0.85 * inwards, word, bbox={"facecolor": BODY, "edgecolor": BODY, "pad": 1})
    dashes = {"linestyle": (0, (6, 3)), "linewidth": 0.8, "zorder": 2.5}
    axes.add_patch(Circle((0, 0), cam.base, fill=False, edgecolor=FAINT, **dashes))
    first, second = (cam.pin(place) for place in cam.places)
    _lever(axes, cam, first, faint=True)
    _lever(axes, cam, second)
    _symbol(axes, "1", cam.groove(cam.places[0]))
    _symbol(axes, "1", first - 0.55j)
    _symbol(axes, "2", second + 0.62j)
    _turning(axes, cam)


def _stroke(axes, points, width: float, fill: str, edge: bool = True) -> None:
    """A band of a real width along a line, with round ends, or straight ones where it has no edge."""
    points_wide = width * UNIT_PX * 0.75  # a page pixel is 0.75 pt
    style = {"solid_capstyle": "round" if edge else "butt", "solid_joinstyle": "round"}
    if edge:
        axes.plot(points.real, points.imag, color=INK, linewidth=points_wide + 2 * THIN, **style)
    axes.plot(points.real, points.imag, color=fill, linewidth=points_wide, **style)


def _lever(axes, cam: Groove, pin: complex, faint: bool = False) -> None:
    """The lever from its pin over the pivot to its far end."""
    along = (cam.pivot - pin) / LENGTH
    ends = np.array([pin, cam.pivot + BEYOND * along])
    pin_edge = {"edgecolor": FAINT, "facecolor": PAPER, "linestyle": (0, (3, 2))}
    if faint:
        axes.plot(ends.real, ends.imag, color=FAINT, linewidth=1.6, dashes=(5, 3))
    else:
        _stroke(axes, ends, LEVER, YELLOW)
        pin_edge = {"edgecolor": INK, "facecolor": INK}
        axes.add_patch(
            Circle((cam.pivot.real, cam.pivot.imag), 0.13, edgecolor=INK, facecolor=PAPER, zorder=3)
        )
        _say(axes, cam.pivot - 0.75j, "pivot")
        _say(axes, cam.pivot + cam.way * 1.1 + 0.85j, "lever")
        _say(axes, pin + cam.way * 0.35 + 0.62j, "pin", ha="left" if cam.way > 0 else "right")
    axes.add_patch(Circle((pin.real, pin.imag), PIN / 2, zorder=3, **pin_edge))


def _say(axes, at: complex, text: str, **style) -> None:
    paper.put(axes, at.real, at.imag, text, **{"ha": "center", **BIG, **style})


def _symbol(axes, text: str, at: complex) -> None:
    """A number in a ring: the same on the disc and on the row."""
    axes.plot(
        at.real,
        at.imag,
        "o",
        markersize=14,
        markerfacecolor=PAPER,
        markeredgecolor=INK,
        zorder=4,
        clip_on=False,
    )
    paper.put(
        axes, at.real, at.imag, text, ha="center", va="center_baseline", zorder=5, fontweight="bold", **BIG
    )


def _turning(axes, cam: Groove) -> None:
    """The arrow of the loading sense, outside the rim, below and on the side away from the lever."""
    angles = np.radians(np.linspace(-35, -65, 30))
    path = (RIM + 0.28) * np.exp(1j * angles)
    path = path if cam.way > 0 else -path.conj()
    axes.plot(path[:-1].real, path[:-1].imag, color=INK, linewidth=2)
    tip, before = ((point.real, point.imag) for point in (path[-1], path[-2]))
    arrow = {
        "arrowstyle": "-|>",
        "color": INK,
        "linewidth": 2,
        "shrinkA": 0,
        "shrinkB": 0,
        "mutation_scale": 20,
    }
    axes.annotate("", tip, before, arrowprops=arrow)


def _draw_row(axes, transport: Transport, cam: Groove) -> None:
    """The follower's row over theta while its part is driven, its stretches named on a strip above."""
    run, part = steady(transport, "loading"), cam.follower.part
    theta, places = np.array(run.knots[part]).T
    driven = np.flatnonzero(np.diff(places) > 0)
    low = max(theta[driven[0]], transport.ends[0])
    high = min(theta[driven[-1] + 1], transport.ends[1])
    low, high = low - 0.03 * (high - low), high + 0.03 * (high - low)
    row = next(r for r in chart(transport).followers if r.name == cam.follower.name)
    (bottom, top), thetas = cam.levels_mm, chart(transport).theta_deg
    room = (top - bottom) * np.array([-0.18, 0.22])
    axes.set(xlim=(low, high), ylim=(bottom + room[0], top + room[1]))
    axes.set_xlabel("θ (° of the main cam), rising in the loading sense →")
    axes.set_ylabel(f"{paper.fitted(cam.follower.name, 130)}: lift (mm)", parse_math=False)
    axes.tick_params(labelsize=TEXT_PT)
    axes.grid(True, axis="y", color=GRID)
    axes.plot(thetas, row.lift_mm, color=BLUE, linewidth=2.4)
    px = ROW[2] / (high - low)
    strip = axes.inset_axes((0, 1.02, 1, 24 / ROW[3]))
    strip.set(xlim=(low, high), ylim=(0, 1), xticks=[], yticks=[])
    strip.set_axis_off()
    for segment in cam.follower.programme.segments:
        fill, word = (DWELL, "dwell") if segment.is_dwell else (MOVE, "move")
        arcs = run.theta_arcs(part, ((segment.start_deg, segment.end_deg),))
        for start, end in intersect(arcs, ((low, high),)):
            strip.axvspan(start, end, facecolor=fill, edgecolor=INK, linewidth=0.8)
            if segment.is_dwell:
                axes.axvspan(start, end, facecolor=fill, alpha=0.22)
            if (end - start) * px > 44:
                paper.put(strip, (start + end) / 2, 0.47, word, ha="center", **BIG)
    for name, place in zip("12", cam.places, strict=True):
        at = float(np.interp(place, places[driven[0] :], theta[driven[0] :]))
        _symbol(axes, name, complex(at, cam.follower.lift(place)))


def _write(page, transport: Transport, cam: Groove) -> None:
    """Titles, and what to see in words."""
    name, part = cam.follower.name, cam.follower.part
    first, second = (cam.follower.state(place) for place in cam.places)
    low, high = cam.levels_mm
    left, right, below = DISC[0], ROW[0] - 50, DISC[1] + DISC[3]
    base = say(cam.base * (high - low), "mm", 0)
    for x, text in (
        (left, f"A cam: a disc with a groove ({part})"),
        (right, f"The row that it makes ({name})"),
    ):
        paper.put(page, x, 18, text, 340, fontweight="bold", fontsize=TITLE_PT)
    paper.put(
        page, right, 43, f"1: {first}    2: {second}    (the same two positions on the left)", 420, **BIG
    )
    for x, y, text in (
        (left, below + 14, "groove's radius = base radius (dashed circle) + lift"),
        (left, below + 32, "arrow: the loading sense.   dashed lever: before, at 1"),
        (left, below + 50, f"{transport.name} is invented; base radius {base}, chosen for the picture"),
        (right, below + 14, "dwell: the radius stays, so the lever rests while the cam turns"),
        (right, below + 32, "move: the radius changes, so the lever moves"),
    ):
        paper.put(page, x, y, text, 425, **BIG)
