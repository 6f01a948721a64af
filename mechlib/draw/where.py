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
from mechlib.draw.chart_frame import EDGE as STATE_EDGE
from mechlib.draw.chart_frame import MOST_NAME, MOST_STATE, STATE, state_places
from mechlib.draw.style import FAINT, GRID, INK, ORANGE, SKY_BLUE, TITLE_PT, YELLOW
from mechlib.say import say
from mechlib.transports.arcs import Arcs, intersect, merge, repeated
from mechlib.transports.chart import chart
from mechlib.transports.model import SENSE, Follower, Transport

WIDE, EDGE, GAP = 1000, 16, 10  # pixels: the page, its margins, between names and states
TOP, STANDS, WAY = 48, 26, 30  # title and legend; the rows "can stand" and "way"
CONTACT_ROW = 24  # height of a contact's row
BOX, LINE_TOP = (1, 15), 19  # in a lever's row, from its top
SEEN, LEVER_END = 3, 11  # below the lowest lift of its line: what was seen, and the row's end
ON_CONTACT = (14, 20)  # what was seen of a contact, from the top of its row
BELOW = 70  # axis and the last line
EDGES, DIGIT = 5, 5  # pixels that a move needs for its number: at its edges, and for each digit
BOLD = "bold"
BESIDE = 2  # between a narrow box and its number
HEAD = 6  # half the height of the arrow's head


def size_px(transport: Transport) -> tuple[int, int]:
    """Width and height of the picture of a transport, which has a row for each follower and contact.

    >>> from mechlib.transports import load
    >>> size_px(load("alder"))
    (1000, 669)
    """
    rows = sum(map(_lever_height, transport.followers)) + CONTACT_ROW * len(transport.contacts)
    return WIDE, TOP + STANDS + WAY + rows + BELOW


def _lever_height(follower: Follower) -> int:
    return _line_low(follower) + LEVER_END


def _line_low(follower: Follower) -> int:
    """Where the lowest lift is drawn, from the top of the row: there is room for the name of every state."""
    return LINE_TOP + STATE * max(len(follower.states) - 1, 1)


def _columns(transport: Transport) -> tuple[float, float]:
    """Widths of the column of names and of that of states; the axes begin behind them."""
    names = [*_rows(transport), "can stand", "way"]
    states = [state for follower in transport.followers for state, _ in follower.states]
    return paper.column_px(names, MOST_NAME), paper.column_px(states, MOST_STATE)


def create(figure: Figure, result: StuckTape):
    """Draw everything on an empty figure of ``size_px``; return the artists for ``update``."""
    transport = result.transport
    width, height = size_px(transport)
    page = paper.sheet(figure, (width, height))
    tall = height - TOP - BELOW
    names_px, states_px = _columns(transport)
    left = EDGE + names_px + GAP + states_px + GAP
    frame = (left / width, BELOW / height, (width - left - EDGE) / width, tall / height)
    axes = figure.add_axes(frame, zorder=1, xlim=transport.ends, ylim=(tall, 0), yticks=[])
    axes.set_xlabel("θ (° of the main cam), rising in the loading sense")
    axes.grid(True, axis="x", color=GRID)
    axes.spines["left"].set_visible(False)
    made = SimpleNamespace(axes=axes, transport=transport, rows=_rows(transport), left=left)
    made.chart = chart(transport, transport.senses[-1])
    made.pixel = (transport.ends[1] - transport.ends[0]) / (width - left - EDGE)  # in degrees
    _write(page, made, names_px, states_px)
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
    made.words = paper.word(page, EDGE, height - 14)
    made.moving = [made.band, made.stands, made.right, made.seen, made.moves, made.arrow]
    made.moving += [*made.marks.values(), *made.numbers, made.words]
    return made


def _rows(transport: Transport) -> dict[str, float]:
    """The top of each row by its name, in pixels below the top of the axes."""
    at, rows = float(STANDS + WAY), {}
    for follower in transport.followers:
        rows[follower.name] = at
        at += _lever_height(follower)
    for contact in transport.contacts:
        rows[CONTACT + contact.name] = at
        at += CONTACT_ROW
    return rows


def _write(page, made, names_px: float, states_px: float) -> None:
    """Title, legend, and left of each row its name and, of a lever, the names of its states."""
    name = made.transport.name
    title = f"{name}: where the cam can stand, and the way by hand"
    paper.put(page, EDGE, 15, title, 700, fontweight=BOLD, fontsize=TITLE_PT)
    legend = (
        "blue: can be, by what was seen (in a row: by that)    yellow, dotted: the mode stands right    "
        "orange: a lever moves, with its step's number"
    )
    paper.put(page, EDGE, 35, legend, WIDE - 2 * EDGE)
    rows = {"can stand": STANDS / 2, "way": STANDS + WAY / 2}
    for follower in made.transport.followers:
        top = made.rows[follower.name] + LINE_TOP - STATE_EDGE / 2
        end = made.rows[follower.name] + _line_low(follower) + STATE_EDGE / 2
        rows[follower.name] = (top + end) / 2
        for state, y in state_places(follower, _height_of(made, follower), top, end):
            paper.put(page, made.left - GAP, TOP + y, state, states_px, ha="right")
    rows |= {n: y + CONTACT_ROW / 2 for n, y in made.rows.items() if n not in rows}
    for row, y in rows.items():
        paper.put(page, EDGE, TOP + y, row, names_px)


def _height_of(made, follower: Follower):
    """What gives the height in the axes of a follower's lift."""
    line = next(row.lift_mm for row in made.chart.followers if row.name == follower.name)
    lifts = [float(np.min(line)), float(np.max(line)), *(mm for _, mm in follower.states)]
    base = made.rows[follower.name] + _line_low(follower)
    px_per_mm = (_line_low(follower) - LINE_TOP) / ((max(lifts) - min(lifts)) or 1.0)
    return lambda mm: base - (mm - min(lifts)) * px_per_mm


def _draw_lines(axes, made) -> None:
    """The lift of every follower over thin lines at its states, and where contacts close; rows ruled off."""
    transport, segments, guides, boxes = made.transport, [], [], []
    for row in made.chart.followers:
        follower = transport.follower(row.name)
        y_of = _height_of(made, follower)
        segments.append(np.stack([made.chart.theta_deg, y_of(row.lift_mm)], 1))
        guides += [[(theta, y_of(mm)) for theta in transport.ends] for _, mm in follower.states]
    for row in made.chart.contacts:
        top = made.rows[CONTACT + row.name]
        boxes += [(start, end, top + 5, top + 12) for start, end in row.closed]
    axes.add_collection(LineCollection(guides, colors=GRID, linewidths=0.7, zorder=0), autolim=False)
    axes.add_collection(LineCollection(segments, colors=INK, linewidths=1.5, zorder=2.5), autolim=False)
    paper.bars(axes, boxes, facecolors="#FFFFFF", edgecolors=INK, hatch="////", zorder=2.5)
    for top in (STANDS, *made.rows.values()):
        axes.axhline(top, color=FAINT, linewidth=0.5, zorder=0)


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
    made.words.set_text(paper.fitted(result.short(), WIDE - 2 * EDGE))


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
        if not name.startswith(CONTACT):
            top += _line_low(made.transport.follower(name)) + SEEN - ON_CONTACT[0]
        low, high = (top + edge for edge in ON_CONTACT)
        boxes += [(start, end, low, high) for start, end in arcs]
    return boxes


def _put_way(made, result: StuckTape) -> None:
    """The arrow from where it stands (the furthest place) to where turning ends, and a mark at either end."""
    way, segments, ends = result.way, [], {mark: [] for mark in made.marks}
    y = STANDS + WAY / 2
    if way:
        sense = SENSE[way.sense]
        low, high = sorted((way.start_deg, way.stop_deg))
        for a, b in _folded(made.transport, low, high) if high > low else ():
            segments.append([(a, y), (b, y)])
            middle = (a + b) / 2
            back = middle - sense * HEAD * made.pixel
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
    if (box[1] - box[0]) / made.pixel >= EDGES + DIGIT * len(text):
        return sum(box) / 2
    wide, gap = paper.width_px(text, weight=BOLD) * made.pixel, BESIDE * made.pixel
    for start in (box[1] + gap, box[0] - gap - wide):
        end = start + wide
        if low <= start and end <= high and not intersect(merge(taken), ((start, end),)):
            taken.append((start, end))
            return start + wide / 2
    return None
