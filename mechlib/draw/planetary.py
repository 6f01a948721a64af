"""A planetary set with true teeth, seen along its axis: a scene for the live picture.

It shows a ``planetary_view.View``.  Sun, planets, ring and carrier stand at their angles; each that turns
bears an arrow as long as it is fast, the driven one a filled arrow, the held one a ground symbol; beside the
set stand the speeds.  The set is drawn to fill its place, whatever the tooth counts.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection

from mechlib.draw import page as paper
from mechlib.draw.planetary_letters import FREE, Lines, on_planet, on_sun
from mechlib.draw.planetary_view import CARRIER, PLANET, RING, ROLES, SUN, View
from mechlib.draw.style import FAINT, INK, ORANGE, PAPER, SKY_BLUE, TEXT_PT, VERMILLION, YELLOW
from mechlib.draw.words import Word
from mechlib.gears.spur_outline import outline
from mechlib.say import count, say

SIZE_PX = (980, 640)
SQUARE = 640  # pixels: the place of the set, at the left
VIEW = 1.12  # half the width of that place, in radii of the rim; so are all lengths below but the last
PIXELS = SQUARE / 2 / VIEW  # in such a radius
RIM = 2.4  # modules of material outside the roots of the ring
FINENESS = 0.01  # modules: tolerance of the outlines, a tenth of a pixel and less
FACE = {SUN: ORANGE, CARRIER: YELLOW, RING: "#DDDDDD", PLANET: SKY_BLUE}
LETTER = {SUN: "S", CARRIER: "C", RING: "R", PLANET: "P"}
FASTEST = 2.6  # radians that the arrow of the fastest part spans, others less in proportion
HEAD, BARB = 0.055, 0.017  # length of an arrow's head, and how far it stands out on either side
PLAIN, BOLD = 0.007, 0.018  # half the width of its shaft
ARM, PIN, HUB, GROUND = 0.03, 0.032, 0.06, 0.05
ON_BODY = 0.7  # of the root radius: where arrow and letter stand on sun and planet
# Page pixels: top of the table, height of a row, tops of key and foot; below, where the columns stand.
TABLE, ROW, KEY, FOOT = 96, 34, 276, 572
LEFT, NAME = 650, 684
COLUMNS = {"name": (NAME, "left"), "teeth": (806, "right"), "speed": (890, "right"), "state": (898, "left")}


def create(figure, result: View):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    width, height = SIZE_PX
    axes = figure.add_axes((0, 1 - SQUARE / height, SQUARE / width, SQUARE / height), zorder=1)
    axes.set(xlim=(-VIEW, VIEW), ylim=(-VIEW, VIEW))
    axes.set_axis_off()
    made = SimpleNamespace(bodies={}, cells={})
    for order, role in enumerate((RING, SUN, PLANET, CARRIER), 1):
        made.bodies[role] = _shapes(axes, order, facecolors=FACE[role], edgecolors=INK)
    made.bodies[RING].set_facecolors([FACE[RING], PAPER])  # a disc, and the toothed hole in it
    made.dots = axes.scatter([], [], s=16, color=INK, zorder=6)
    made.arrows = _shapes(axes, 7, facecolors=INK, edgecolors=PAPER)
    made.driven = _shapes(axes, 8, facecolors=VERMILLION, edgecolors=INK)
    made.plates = _shapes(axes, 9, facecolors=PAPER, edgecolors=FAINT)
    made.grounds = LineCollection([], colors=INK, linewidths=1.6, zorder=10)
    made.leader = LineCollection([], colors=INK, linewidths=1.0, zorder=10)
    for lines in (made.grounds, made.leader):
        axes.add_collection(lines, autolim=False)
    style = {"ha": "center", "va": "center", "fontsize": TEXT_PT, "fontweight": "bold", "zorder": 11}
    made.letters = {role: Word.on(axes, 0, 0, LETTER[role], **style) for role in ROLES}
    _write_table(page, made)
    _write_key(page)
    moving = [*made.bodies.values(), made.dots, made.arrows, made.driven, made.plates, made.grounds]
    words = [*made.letters.values(), *made.cells.values(), made.title, *made.foot]
    made.moving = [*moving, made.leader, *words]
    return made


def _shapes(axes, order: int, **style) -> PolyCollection:
    made = PolyCollection([], linewidths=0.8, zorder=order, **style)
    axes.add_collection(made, autolim=False)
    return made


def _write_table(page, made) -> None:
    """The table of parts: what never changes, and a cell for each thing that does."""
    made.title = paper.word(page, LEFT, 28, fontweight="bold", fontsize=TEXT_PT)
    made.foot = [paper.word(page, LEFT, FOOT + 20 * at) for at in range(3)]
    for (x, side), head in zip(COLUMNS.values(), ("part", "teeth", "rev/min", ""), strict=True):
        paper.put(page, x, TABLE - ROW / 2, head, ha=side, color=FAINT)
    for at, role in enumerate((SUN, PLANET, RING, CARRIER)):
        y = TABLE + ROW * (at + 0.5)
        page.hlines(y - ROW / 2, LEFT, SIZE_PX[0] - 8, color=FAINT, linewidth=0.5)
        paper.bars(page, [(LEFT, LEFT + 24, y - 11, y + 11)], facecolors=FACE[role], edgecolors=INK)
        paper.put(page, LEFT + 12, y, LETTER[role], ha="center", fontsize=TEXT_PT, fontweight="bold")
        for column, (x, side) in COLUMNS.items():
            made.cells[role, column] = paper.word(page, x, y, ha=side)


def _write_key(page) -> None:
    """What the signs mean; a straight arrow is the key of a bent one."""
    lines = ("driven", "turns, by this angle in the same time", "held", "a marked tooth, to follow by eye")
    rows = [(KEY + 26 * at, text) for at, text in enumerate(lines)]
    for (y, _), half, face in zip(rows, (BOLD, PLAIN), (VERMILLION, INK), strict=False):
        shaft, wide, head = (size * PIXELS for size in (half, half + BARB, HEAD))
        tip, neck = LEFT + 36, LEFT + 36 - head
        corners = [(LEFT, y - shaft), (neck, y - shaft), (neck, y - wide), (tip, y), (neck, y + wide),
                   (neck, y + shaft), (LEFT, y + shaft)]  # fmt: skip
        page.add_collection(PolyCollection([corners], facecolors=face, edgecolors=INK, linewidths=0.8))
    sign = np.array(_ground(0)) * PIXELS
    strokes = [[(LEFT + 18 + z.real, rows[2][0] - 8 - z.imag) for z in stroke] for stroke in sign]
    page.add_collection(LineCollection(strokes, colors=INK, linewidths=1.6), autolim=False)
    page.scatter([LEFT + 18], [rows[3][0]], s=16, color=INK)
    for y, text in rows:
        paper.put(page, LEFT + 42, y, text)


def update(made, result: View) -> None:
    """Show another set, or the same at other angles."""
    places = _Places(result)
    _put_bodies(made, places)
    _put_arrows(made, result, places)
    _put_signs(made, result, places)
    _fill_table(made, result)


class _Places:
    """Where everything stands, as complex numbers in radii of the rim."""

    def __init__(self, result: View):
        self.rim_mm = result.wheels[2].root_mm / 2 + RIM * result.module_mm
        directions = result.directions_deg
        self.pins = result.centre_mm / self.rim_mm * np.exp(1j * np.radians(directions))
        turned = [result.sun_deg, result.ring_deg, *(result.planet_deg(each) for each in directions)]
        self.turns = np.exp(1j * np.radians(turned))
        self.centres = np.array([0, 0, *self.pins])
        sun, planet, ring = result.wheels
        self.wheels = (sun, ring, *[planet] * result.planets)
        self.roots = {SUN: self.scaled(sun.root_mm), PLANET: self.scaled(planet.root_mm)}
        self.between = (sun.teeth + planet.teeth / 2) / (
            sun.teeth + planet.teeth
        )  # of the way to a pin: no dot
        self.sun_root, self.sun_tip = self.roots[SUN], self.scaled(sun.tip_mm)
        self.planet_tip, self.ring_tip = self.scaled(planet.tip_mm), self.scaled(ring.tip_mm)
        self.hub = HUB
        self.rim = (1 + self.scaled(ring.root_mm)) / 2  # the middle of the rim

    def scaled(self, diameter_mm: float) -> float:
        return diameter_mm / 2 / self.rim_mm

    def outlines(self) -> list[np.ndarray]:
        """The outline of the sun, the ring and each planet where it stands."""
        tolerance = FINENESS * self.wheels[0].module_mm
        points = (outline(wheel, tolerance) @ (1, 1j) / self.rim_mm for wheel in self.wheels)
        return [at + turn * line for at, turn, line in zip(self.centres, self.turns, points, strict=True)]

    def marks(self) -> np.ndarray:
        """The foot of the first tooth of each wheel: there the dots of two that mesh stay apart."""
        radii = [self.scaled(wheel.root_mm) for wheel in self.wheels]
        return self.centres + np.array(radii) * self.turns


def _pairs(points) -> np.ndarray:
    points = np.asarray(points)
    return np.stack([points.real, points.imag], axis=-1)


def _put(shapes: PolyCollection, outlines) -> None:
    shapes.set_verts([_pairs(points) for points in outlines])


def _put_bodies(made, places: _Places) -> None:
    sun, ring, *planets = places.outlines()
    disc = np.exp(2j * np.pi * np.arange(181) / 180)
    _put(made.bodies[RING], [disc, ring])
    _put(made.bodies[SUN], [sun])
    _put(made.bodies[PLANET], planets)
    half = 1j * ARM / abs(places.pins[0])
    arms = [pin * np.array([-half, 1 - half, 1 + half, half]) for pin in places.pins]
    _put(made.bodies[CARRIER], [*arms, *(pin + PIN * disc for pin in places.pins), HUB * disc])
    made.dots.set_offsets(_pairs(places.marks()))


def _arrow(centre: complex, radius: float, start: float, span: float, half: float) -> np.ndarray:
    """A bent arrow about a centre, from the angle ``start`` on by ``span`` (radians, signed)."""
    sense, neck = np.sign(span), max(abs(span) - HEAD / radius, 0)
    bend = start + sense * np.linspace(0, neck, 2 + int(neck * 20))
    head = start + sense * (neck + HEAD / radius)
    turn = np.concatenate([bend, bend[-1:], [head], bend[-1:], bend[::-1]])
    side, barb = np.full(len(bend), half), half + BARB
    return centre + (radius + np.concatenate([side, [barb, 0, -barb], -side])) * np.exp(1j * turn)


def _put_arrows(made, result: View, places: _Places) -> None:
    """An arrow for every part that turns; all show how far it gets in the same time."""
    fastest = max(abs(speed) for speed in result.rev_min.values())
    plain, driven = [], []
    for role, speed in result.rev_min.items():
        if not speed:
            continue
        span, centre, start = FASTEST * speed / fastest, 0, np.pi / 2 - np.sign(speed) * 0.3
        if role == CARRIER:
            radius, start = abs(places.pins[0]), np.angle(places.pins[0]) + np.sign(speed) * 2 * PIN
        elif role == RING:
            radius = places.rim
        else:
            radius = ON_BODY * places.roots[role]
            centre = places.pins[-1] if role == PLANET else 0
        bold = role in result.driven
        (driven if bold else plain).append(_arrow(centre, radius, start, span, BOLD if bold else PLAIN))
    _put(made.arrows, plain)
    _put(made.driven, driven)


def _ground(at: complex) -> list[list[complex]]:
    """The sign for "fixed to the frame": a post, a bar, and strokes beneath it."""
    bar = at - 0.8j * GROUND
    strokes = [[bar + x * GROUND, bar + (x - 0.4 - 0.5j) * GROUND] for x in (-0.6, 0.2, 1.0)]
    return [[at, bar], [bar - GROUND, bar + GROUND], *strokes]


def _put_signs(made, result: View, places: _Places) -> None:
    """Ground signs, on a plate so that they are seen on teeth, then the letter of each part."""
    feet = {SUN: -0.4j * places.roots[SUN], RING: -1j, CARRIER: places.pins[0], PLANET: places.pins[-1]}
    held = [feet[role] for role in ROLES if role in result.held]
    plate = np.array([-1.6 - 1.5j, 1.3 - 1.5j, 1.3 - 0.1j, -1.6 - 0.1j]) * GROUND
    _put(made.plates, [foot + plate for foot in held])
    made.grounds.set_segments([_pairs(stroke) for foot in held for stroke in _ground(foot)])
    _put_letters(made, result, places)


def _put_letters(made, result: View, places: _Places) -> None:
    seen = [made.bodies[CARRIER], made.arrows, made.driven, made.plates]
    outlines = [path.vertices @ (1, 1j) for each in seen for path in each.get_paths()]
    lines = Lines([*outlines, *([dot, dot] for dot in places.marks())])
    letter, leader = on_sun(result, places, ON_BODY, lines)
    made.leader.set_segments([_pairs(leader)] if leader else [])
    letters = {
        SUN: letter,
        RING: FREE * places.rim,
        CARRIER: places.between * places.pins[0],
        PLANET: on_planet(places.pins[-1], ON_BODY * places.roots[PLANET], lines),
    }
    for role, at in letters.items():
        made.letters[role].set_position((at.real, at.imag))


def _fill_table(made, result: View) -> None:
    sun, planet, ring = result.teeth
    room = COLUMNS["teeth"][0] - NAME - 40
    for role, teeth in ((SUN, sun), (PLANET, planet), (RING, ring), (CARRIER, 0)):
        speed = result.rev_min[role]
        turns = "turns" if speed else "stands"
        state = "driven" if role in result.driven else "held" if role in result.held else turns
        texts = {
            "name": paper.fitted(result.names[role], room),
            "teeth": say(teeth, "", 0) if teeth else "",
            "speed": say(speed, "", 2, sign=True),
            "state": state,
        }
        for column, text in texts.items():
            made.cells[role, column].set_text(text)
    made.title.set_text(f"Planetary set, {count(result.planets, 'planet')}")
    step, hole = say(360 / (sun + ring), "°", 3), result.wheels[2]
    shorter = say(-hole.tip_alteration * hole.module_mm, "mm", 2)
    feet = (
        f"module {say(hole.module_mm, 'mm', 2)}, planet shafts {say(result.centre_mm, 'mm', 2)} off axis",
        f"teeth by {hole.rack.name}, those of the ring {shorter} shorter",
        "" if result.equally_spaced else f"not spaced equally: planets go in every {step}",
    )
    for word, text in zip(made.foot, feet, strict=True):
        word.set_text(text)
