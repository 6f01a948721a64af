"""Where the cam can stand and the way out by hand: a strip of theta with what was seen and what will move.

A scene for the live picture; it shows a ``bench.stuck_tape.StuckTape``.  Lines and contact bars are those of
the transport with its slips, in the unloading sense where it has one; they don't depend on what was seen.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure

from mechlib.bench.stuck_tape import StuckTape
from mechlib.bench.way_out import long_run, right_arcs
from mechlib.bench.where import CONTACT
from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, GRID, INK, ORANGE, SKY_BLUE, TITLE_PT, YELLOW
from mechlib.say import say
from mechlib.transports.arcs import Arcs, intersect, merge, repeated
from mechlib.transports.chart import chart
from mechlib.transports.model import SENSE, Transport

WIDE, LEFT, RIGHT = 1000, 190, 16  # pixels: the page, the names, the margin
TOP, STANDS, WAY = 48, 26, 30  # title and legend; the rows "can stand" and "way"
LEVER, CONTACT_ROW = 42, 24  # heights of the rows below
BOX, LINE_TOP, LINE_LOW, SEEN = (1, 15), 18, 31, (34, 40)  # in a lever's row, from its top
BELOW = 70  # axis and the last line
EDGES, DIGIT = 5, 5  # pixels that a move needs for its number: at its edges, and for each digit
BOLD = "bold"
BESIDE = 2  # between a narrow box and its number
HEAD = 6  # half the height of the arrow's head


def size_px(transport: Transport) -> tuple[int, int]:
    """Width and height of the picture of a transport, which has a row for each follower and contact.

    >>> from mechlib.transports import load
    >>> size_px(load("alder"))
    (1000, 588)
    """
    rows = LEVER * len(transport.followers) + CONTACT_ROW * len(transport.contacts)
    return WIDE, TOP + STANDS + WAY + rows + BELOW


def create(figure: Figure, result: StuckTape):
    """Draw everything on an empty figure of ``size_px``; return the artists for ``update``."""
    transport = result.transport
    width, height = size_px(transport)
    page = paper.sheet(figure, (width, height))
    tall = height - TOP - BELOW
    frame = (LEFT / width, BELOW / height, (width - LEFT - RIGHT) / width, tall / height)
    axes = figure.add_axes(frame, zorder=1, xlim=transport.ends, ylim=(tall, 0), yticks=[])
    axes.set_xlabel("θ (° of the main cam), rising in the loading sense")
    axes.grid(True, axis="x", color=GRID)
    axes.spines["left"].set_visible(False)
    made = SimpleNamespace(axes=axes, transport=transport, rows=_rows(transport))
    _write(page, made)
    _draw_lines(axes, made)
    made.band = paper.bars(axes, facecolors="none", edgecolors=FAINT, linestyles=[(0, (4, 3))], zorder=0)
    made.stands = paper.bars(axes, facecolors=SKY_BLUE, edgecolors=INK, zorder=2)
    made.right = paper.bars(axes, facecolors=YELLOW, edgecolors=INK, hatch="...", zorder=2)
    made.seen = paper.bars(axes, facecolors=SKY_BLUE, edgecolors=INK, zorder=3)
    made.moves = paper.bars(axes, facecolors=ORANGE, edgecolors=INK, zorder=1)
    made.arrow = LineCollection([], colors=INK, linewidths=1.8, zorder=5)
    axes.add_collection(made.arrow, autolim=False)
    made.marks = {
        mark: axes.plot([], [], mark, color=INK, markersize=8, linestyle="none", zorder=6, clip_on=False)[0]
        for mark in ("o", "s", "X")
    }
    most = sum(len(f.programme.segments) + 1 for f in transport.followers)
    style = {"ha": "center", "fontweight": BOLD, "zorder": 7}
    made.numbers = [paper.word(axes, 0, 0, **style) for _ in range(most)]
    made.words = paper.word(page, 16, height - 14)
    made.moving = [made.band, made.stands, made.right, made.seen, made.moves, made.arrow]
    made.moving += [*made.marks.values(), *made.numbers, made.words]
    return made


def _rows(transport: Transport) -> dict[str, float]:
    """The top of each row by its name, in pixels below the top of the axes."""
    at, rows = float(STANDS + WAY), {}
    for follower in transport.followers:
        rows[follower.name] = at
        at += LEVER
    for contact in transport.contacts:
        rows[CONTACT + contact.name] = at
        at += CONTACT_ROW
    return rows


def _write(page, made) -> None:
    name = made.transport.name
    title = f"{name}: where the cam can stand, and the way by hand"
    paper.put(page, 16, 15, title, 700, fontweight="bold", fontsize=TITLE_PT)
    legend = (
        "blue: can be, by what was seen (in a row: by that)    yellow, dotted: the mode stands right    "
        "orange: a lever moves, with its step's number"
    )
    paper.put(page, 16, 35, legend, WIDE - 32)
    rows = {"can stand": STANDS / 2, "way": STANDS + WAY / 2}
    rows |= {n: y + (LEVER if not n.startswith(CONTACT) else CONTACT_ROW) / 2 for n, y in made.rows.items()}
    for row, y in rows.items():
        paper.put(page, LEFT - 12, TOP + y, row, LEFT - 24, ha="right")


def _draw_lines(axes, made) -> None:
    """The lift of every follower, and where contacts close; a ruling above every row."""
    transport, segments, boxes = made.transport, [], []
    drawn = chart(transport, transport.senses[-1])
    for row in drawn.followers:
        top, (low, high) = made.rows[row.name], (float(np.min(row.lift_mm)), float(np.max(row.lift_mm)))
        share = (row.lift_mm - low) / ((high - low) or 1.0)
        y = top + LINE_LOW - share * (LINE_LOW - LINE_TOP)
        segments.append(np.stack([drawn.theta_deg, y], 1))
    for row in drawn.contacts:
        top = made.rows[CONTACT + row.name]
        boxes += [(start, end, top + 5, top + 12) for start, end in row.closed]
    axes.add_collection(LineCollection(segments, colors=INK, linewidths=1.5, zorder=2.5), autolim=False)
    paper.bars(axes, boxes, facecolors="#FFFFFF", edgecolors=INK, hatch="////", zorder=2.5)
    for top in (STANDS, *made.rows.values()):
        axes.axhline(top, color=GRID, linewidth=0.8, zorder=0)


# ---- What moves ----


def update(made, result: StuckTape) -> None:
    """Show another place, other sights or another target."""
    low, high = made.axes.get_ylim()
    arcs = result.where.arcs if result.where else ()
    made.stands.set_verts(paper.corners((a, b, 6, STANDS - 6) for a, b in arcs))
    made.band.set_verts(paper.corners((a, b, high, low) for a, b in arcs))
    made.seen.set_verts(paper.corners(_seen(made, result)))
    right = right_arcs(_right_run(result), result.target)
    right = [arc for a, b in right for arc in _folded(result.transport, a, b)]
    made.right.set_verts(paper.corners((a, b, STANDS + 5, STANDS + WAY - 5) for a, b in right))
    _put_way(made, result)
    _put_moves(made, result)
    made.words.set_text(paper.fitted(result.short(), WIDE - 32))


def _right_run(result: StuckTape):
    return result.way.run if result.way else long_run(result.transport, result.transport.senses[-1])


def _folded(transport: Transport, start: float, end: float) -> Arcs:
    """A stretch of theta within the picture; in one turn, in pieces, where the cam goes round."""
    low, high = transport.ends
    if transport.cyclic:
        return repeated(((start, end),), 360.0, low, high)
    return ((max(start, low), min(end, high)),)


def _seen(made, result: StuckTape) -> list[tuple[float, float, float, float]]:
    boxes = []
    for name, arcs in (result.where.alone if result.where else {}).items():
        top = made.rows[name]
        low, high = (top + 14, top + 20) if name.startswith(CONTACT) else (top + SEEN[0], top + SEEN[1])
        boxes += [(start, end, low, high) for start, end in arcs]
    return boxes


def _put_way(made, result: StuckTape) -> None:
    """The arrow from where it stands (the furthest place) to where turning ends, and a mark at either end."""
    way, segments, ends = result.way, [], {mark: [] for mark in made.marks}
    y = STANDS + WAY / 2
    if way:
        pixel = (made.axes.get_xlim()[1] - made.axes.get_xlim()[0]) / (WIDE - LEFT - RIGHT)
        sense = SENSE[way.sense]
        low, high = sorted((way.start_deg, way.stop_deg))
        for a, b in _folded(made.transport, low, high) if high > low else ():
            segments.append([(a, y), (b, y)])
            middle = (a + b) / 2
            back = middle - sense * HEAD * pixel
            segments.append([(back, y - HEAD), (middle, y), (back, y + HEAD)])
        ends["o"].append(_shown(made.transport, way.start_deg))
        if way.aim_deg is None or way.blocked:
            ends["X"].append(_shown(made.transport, way.stop_deg))
        elif high > low:
            ends["s"].append(_shown(made.transport, way.stop_deg))
    made.arrow.set_segments(segments)
    for mark, line in made.marks.items():
        line.set_data(ends[mark], [y] * len(ends[mark]))


def _shown(transport: Transport, theta: float) -> float:
    low, high = transport.ends
    return theta if low <= theta <= high else theta % 360.0


def _put_moves(made, result: StuckTape) -> None:
    """A box for each move in its follower's row, with the number of its step in the list."""
    moves, taken = result.way.moves if result.way else (), {name: [] for name in made.rows}
    for move in moves:
        taken[move.follower] += _folded(made.transport, *sorted((move.begin_deg, move.end_deg)))
    boxes = [
        (a, b, made.rows[name] + BOX[0], made.rows[name] + BOX[1]) for name in taken for a, b in taken[name]
    ]
    made.moves.set_verts(paper.corners(boxes))
    for word in made.numbers[len(moves) :]:
        word.set_text("")
    for number, move, word in zip(result.move_numbers if moves else (), moves, made.numbers, strict=False):
        pieces, text = _folded(made.transport, *sorted((move.begin_deg, move.end_deg))), say(number, "", 0)
        at = _number_at(made, max(pieces, key=lambda piece: piece[1] - piece[0]), text, taken[move.follower])
        word.set(text="" if at is None else text, x=at or 0.0, y=made.rows[move.follower] + sum(BOX) / 2)


def _number_at(made, box: tuple[float, float], text: str, taken: list) -> float | None:
    """The theta at which a box's number stands: within it, else beside it; None where there is no room.

    ``taken``: the stretches of its row where nothing more can stand; its own is added.
    """
    low, high = made.axes.get_xlim()
    pixel = (high - low) / (WIDE - LEFT - RIGHT)
    if (box[1] - box[0]) / pixel >= EDGES + DIGIT * len(text):
        return sum(box) / 2
    wide, gap = paper.width_px(text, weight=BOLD) * pixel, BESIDE * pixel
    for start in (box[1] + gap, box[0] - gap - wide):
        end = start + wide
        if low <= start and end <= high and not intersect(merge(taken), ((start, end),)):
            taken.append((start, end))
            return start + wide / 2
    return None
