"""A belt drive true to scale, with its tensions; below it what it holds, and how far off the tape's speed is.

A scene for the live picture; it shows a ``bench.belt_trial.BeltTrial``.  Both pulleys turn clockwise, so that
the upper run goes towards the motor and is the tight one.  The runs are drawn as wide as their tension.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection

from mechlib.bench.belt_trial import CONTROLS, BeltTrial
from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, FILLS, GRID, INK, ORANGE, PAPER, TEXT_PT, VERMILLION
from mechlib.drives import DECK_STRETCH, SpeedError
from mechlib.say import say

SIZE_PX = (1000, 640)
SCALE = 3.4  # pixels a millimetre, the same for every drive
FLYWHEEL = (180, 222)  # pixels: its middle
N_PX, WIDEST, THIN = 12, 30, 2  # pixels a newton; a run at most and at least
MOTOR_SHAFT_MM, BAR_MM = 2.0, 10  # only drawn
WORDS = 716  # where the words beside the drive start
SAG_MOST = 90  # pixels
BAR_LEFT, BAR_RIGHT, HOLDS_Y, LOAD_Y, BAR_HIGH = 150, 650, 452, 478, 16
MOST_NMM = 2 * CONTROLS["load_Nmm"].high  # of the bars
SCALE_LEFT, SCALE_RIGHT, SCALE_Y = 60, 940, 566
MOST_PERCENT = 6
MARKS_CENTS = (-100, -50, 0, 50, 100)
CIRCLE = np.exp(1j * np.linspace(0, 2 * np.pi, 91))
TIGHT, SLACK = FILLS[0], FILLS[1]
DASHED = (0, (4, 3))


def create(figure, result: BeltTrial):
    """Draw everything on an empty figure of ``SIZE_PX``; return the artists for ``update``."""
    page = paper.sheet(figure, SIZE_PX)
    made = SimpleNamespace()
    _belt(page, made)
    _limits(page, made)
    _speed(page, made)
    paper.put(page, 16, 20, "both turn clockwise ↻; true to scale, the runs as wide as their tension")
    page.hlines(404, 600, 600 + BAR_MM * SCALE, color=INK, linewidth=1.6)
    paper.put(page, 608 + BAR_MM * SCALE, 404, say(BAR_MM, "mm", 0), color=FAINT)
    made.moving = [made.wheels, made.rays, made.shafts, made.arcs, *made.runs, made.hanging,
                   made.holds, made.load, made.here, made.ideal, *made.labels, *made.words,
                   made.held, made.loaded, made.found]  # fmt: skip
    return made


def _belt(page, made) -> None:
    """Wheels and belt, and the words at them and beside them."""
    made.wheels = _shapes(page, 1, facecolors=[GRID, GRID], edgecolors=INK, linewidths=1.2)
    made.rays = _lines(page, 2, colors=FAINT, linewidths=1, linestyles=[DASHED])
    made.shafts = _shapes(page, 3, facecolors=[ORANGE, PAPER], edgecolors=INK, linewidths=1.2)
    made.arcs = _lines(page, 4, colors=INK, linewidths=3.4)
    made.runs = [
        _shapes(page, 5, facecolor=fill.facecolor, hatch=fill.hatch, edgecolor=INK, linewidths=1)
        for fill in (TIGHT, SLACK)
    ]
    made.hanging = _lines(page, 5, colors=VERMILLION, linewidths=3, linestyles=[DASHED])
    sides = ("right", "left", "center", "left", "left", "left")
    made.labels = [paper.word(page, 0, 0, ha=side, fontsize=TEXT_PT) for side in sides]
    weights = ["bold" if line in (2, 7) else "normal" for line in range(10)]
    made.words = [
        paper.word(page, WORDS, 56 + 24 * line, fontsize=TEXT_PT, fontweight=weight)
        for line, weight in enumerate(weights)
    ]


def _shapes(page, order: int, **style) -> PolyCollection:
    shapes = PolyCollection([], zorder=order, **style)
    page.add_collection(shapes, autolim=False)
    return shapes


def _lines(page, order: int, **style) -> LineCollection:
    lines = LineCollection([], zorder=order, capstyle="butt", **style)
    page.add_collection(lines, autolim=False)
    return lines


def _limits(page, made) -> None:
    """The bars of what the belt holds and of the load on it."""
    paper.put(page, 16, HOLDS_Y - 26, "torque at the flywheel", fontsize=TEXT_PT, fontweight="bold")
    for y, name in ((HOLDS_Y, "the belt holds"), (LOAD_Y, "the load asks")):
        paper.put(page, BAR_LEFT - 10, y, name, ha="right")
    page.vlines(BAR_LEFT, HOLDS_Y - 12, LOAD_Y + 12, color=INK, linewidth=1)
    made.holds = paper.bars(page, facecolor=TIGHT.facecolor, edgecolor=INK)
    made.load = paper.bars(page, facecolor=SLACK.facecolor, hatch=SLACK.hatch, edgecolor=INK)
    made.held, made.loaded = (paper.word(page, 0, y) for y in (HOLDS_Y, LOAD_Y))


def _speed(page, made) -> None:
    """The scale of the tape's speed: percent above, cents below."""
    paper.put(page, 16, SCALE_Y - 44, "speed of the tape", fontsize=TEXT_PT, fontweight="bold")
    made.found = paper.word(page, 162, SCALE_Y - 44, fontsize=TEXT_PT)
    page.hlines(SCALE_Y, SCALE_LEFT, SCALE_RIGHT, color=INK, linewidth=1.2)
    for percent in range(-MOST_PERCENT, MOST_PERCENT + 1):
        x = _place(percent)
        page.vlines(x, SCALE_Y - 7, SCALE_Y, color=INK, linewidth=1)
        paper.put(page, x, SCALE_Y - 17, say(percent, "%", 0, sign=True), ha="center")
    for cents in MARKS_CENTS:
        x = _place(100 * (2 ** (cents / 1200) - 1))
        page.vlines(x, SCALE_Y, SCALE_Y + 7, color=INK, linewidth=1)
        paper.put(page, x, SCALE_Y + 38, f"{say(cents, '', 0, sign=True)} cents", ha="center", color=FAINT)
    made.here = _shapes(page, 6, facecolors=VERMILLION, edgecolors=INK, linewidths=1)
    made.ideal = _shapes(page, 5, facecolors=PAPER, edgecolors=INK, linewidths=1.2)
    key_y = SIZE_PX[1] - 14
    page.fill(*_marker(24, key_y - 8, 5).T, facecolor=VERMILLION, edgecolor=INK)
    paper.put(page, 36, key_y, "as it runs")
    page.fill(*_marker(130, key_y - 8, 5).T, facecolor=PAPER, edgecolor=INK)
    paper.put(page, 142, key_y, "if the belt lost nothing; at the end of the scale: further off still")


def _place(percent: float) -> float:
    """Where an error stands on the scale; beyond it, at its end."""
    part = (min(max(percent, -MOST_PERCENT), MOST_PERCENT) + MOST_PERCENT) / (2 * MOST_PERCENT)
    return SCALE_LEFT + part * (SCALE_RIGHT - SCALE_LEFT)


def _marker(x: float, y: float, half: float) -> np.ndarray:
    return np.array([(x, y), (x - half, y + 2 * half), (x + half, y + 2 * half)])


def update(made, result: BeltTrial) -> None:
    """Show another belt drive."""
    _put_drive(made, result)
    _put_words(made, result)
    held, load = min(result.drive.slip_torque_driven_Nmm, MOST_NMM), result.load_Nmm
    for bar, value, y in ((made.holds, held, HOLDS_Y), (made.load, load, LOAD_Y)):
        end = BAR_LEFT + value / MOST_NMM * (BAR_RIGHT - BAR_LEFT)
        bar.set_verts(paper.corners([(BAR_LEFT, end, y - BAR_HIGH / 2, y + BAR_HIGH / 2)]))
        (made.held if y == HOLDS_Y else made.loaded).set_x(end + 8)
    more = "" if held < MOST_NMM else " (more than there is room for)"
    made.held.set_text(say(result.drive.slip_torque_driven_Nmm, "N·mm") + more)
    made.loaded.set_text(say(load, "N·mm") + (": it slips" if result.at_work.slips else ""))
    made.ideal.set_verts([_marker(_place(result.ideal.percent), SCALE_Y + 4, 8)])
    error = result.error
    made.here.set_verts([_marker(_place(error.percent), SCALE_Y, 6)] if error else [])
    made.found.set_text(_told(result, error))


def _told(result: BeltTrial, error: SpeedError | None) -> str:
    wanted = say(result.wanted.mm_s, "mm/s", 2)
    if error is None:
        return f"not determined: the belt slips; it should be {wanted}"
    off = f"{say(error.percent, '%', 2, sign=True)}, {say(error.cents, 'cents', 1, sign=True)}"
    return f"{say(result.tape_mm_s, 'mm/s', 2)}; it should be {wanted}: {off}"


def _put_drive(made, result: BeltTrial) -> None:
    """Pulleys, belt and tensions; in complex numbers, x to the right and y downwards, in pixels."""
    path = result.drive.path
    flywheel = complex(*FLYWHEEL)
    motor = flywheel + SCALE * path.centres_mm
    thick = result.drive.belt.thickness_mm
    wheels = ((flywheel, path.driven_mm), (motor, path.driver_mm))
    made.wheels.set_verts([_xy(at + SCALE * (d - thick) / 2 * CIRCLE) for at, d in wheels])
    shafts = ((flywheel, result.capstan_mm), (motor, MOTOR_SHAFT_MM))
    made.shafts.set_verts([_xy(at + SCALE * d / 2 * CIRCLE) for at, d in shafts])
    lean = np.radians(path.driven_wrap_deg - 180) / 2
    # From its middle each wheel is touched a quarter turn from the runs, which lean by β.
    up = np.exp(-1j * (np.pi / 2 - lean))
    ends = [(at + SCALE * d / 2 * up, at + SCALE * d / 2 * np.conj(up)) for at, d in wheels]
    rays = [(at, end) for (at, _), pair in zip(wheels, ends, strict=True) for end in pair]
    made.rays.set_segments([_xy(ray) for ray in rays])
    around = np.linspace(np.pi / 2 - lean, 3 * np.pi / 2 + lean, 61)
    inner = np.linspace(-(np.pi / 2 - lean), np.pi / 2 - lean, 61)
    made.arcs.set_segments(
        [
            _xy(flywheel + SCALE * path.driven_mm / 2 * np.exp(1j * around)),
            _xy(motor + SCALE * path.driver_mm / 2 * np.exp(1j * inner)),
        ]
    )
    runs = list(zip(*ends, strict=True))
    loose = max(0.0, result.drive.belt.pitch_length_mm - path.length_mm) * SCALE / 2
    made.hanging.set_segments([_xy(_hanging(*run, loose)) for run in runs] if loose else [])
    tensions = (result.at_work.tight_N, -result.at_work.slack_N)  # outwards is up, then down
    for shape, run, tension in zip(made.runs, runs, tensions, strict=True):
        shape.set_verts([] if loose else [_xy(_band(*run, tension))])
    _put_labels(made, result, wheels, runs)


def _band(start: complex, end: complex, tension_N: float) -> np.ndarray:
    """A run with its tension as width, on the outside of the belt; the sign says which side that is."""
    wide = np.copysign(min(max(N_PX * abs(tension_N), THIN), WIDEST), tension_N)
    out = -1j * (end - start) / abs(end - start) * wide
    return np.array([start, end, end + out, start + out])


def _hanging(start: complex, end: complex, longer: float) -> np.ndarray:
    """A run that hangs: a shallow curve so much longer than the straight line, sag = √(3·s·Δ/8)."""
    t = np.linspace(0, 1, 31)
    sag = min(np.sqrt(3 * abs(end - start) * longer / 8), SAG_MOST)
    return start + t * (end - start) + 4j * sag * t * (1 - t)


def _xy(points) -> np.ndarray:
    points = np.asarray(points)
    return np.stack([points.real, points.imag], axis=1)


def _put_labels(made, result: BeltTrial, wheels, runs) -> None:
    """Names and wraps at the wheels, tensions at the runs."""
    path, work = result.drive.path, result.at_work
    (flywheel, large), (motor, small) = wheels
    loose = result.drive.stretch_percent <= 0
    up, down = ((run[0] + run[1]) / 2 for run in runs)
    shift = WIDEST + 16
    texts = (
        (flywheel + 1j * (SCALE * large / 2 + 18), "flywheel and capstan"),
        (motor + SCALE * small / 2 + 14, "motor"),
        (flywheel - SCALE * large / 4, say(path.driven_wrap_deg, "°", 0)),
        (motor + SCALE * small / 2 + 14 + 16j, say(path.driver_wrap_deg, "°", 0)),
        (up - 1j * shift, f"hangs: {say(0, 'N', 2)}" if loose else f"tight: {say(work.tight_N, 'N', 2)}"),
        (down + 1j * shift, "" if loose else f"slack: {say(work.slack_N, 'N', 2)}"),
    )
    for word, (at, text) in zip(made.labels, texts, strict=True):
        word.set_position((at.real, at.imag))
        word.set_text(text)


def _put_words(made, result: BeltTrial) -> None:
    drive, size = result.drive, result.size
    low, high = DECK_STRETCH
    stretch = drive.stretch_percent
    fits = "too little" if stretch < low else "too much" if stretch > high else "right"
    lines = (
        f"path of the belt {say(drive.path.length_mm, 'mm')}",
        f"belt on the table {say(drive.belt.pitch_length_mm, 'mm')} (middle)",
        f"stretch {say(stretch, '%')}: {fits}",
        f"usual {say(low, '%', 0)} to {say(high, '%', 0)}",
        f"tension at rest {say(drive.pretension_N, 'N', 2)}",
        f"on each bearing {say(result.bearing_N, 'N', 2)}",
        "creep: it slips" if result.at_work.slips else f"creep {say(result.at_work.creep_percent, '%', 2)}",
        f"order {say(size.inside_mm, 'mm')} round inside",
        f"{say(size.smallest_mm)} to {say(size.largest_mm, 'mm')} will do",
        "" if result.at_work.slips else f"flywheel {say(result.at_work.driven_rev_min, 'rev/min')}",
    )
    for word, text in zip(made.words, lines, strict=True):
        word.set_text(text)
