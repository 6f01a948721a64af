"""A still figure that enlarges one mode: the edge of its code, settling, coasting, the stop and its room."""

from __future__ import annotations

from typing import NamedTuple

from matplotlib.figure import Figure

from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, GRID, INK, ORANGE, SKY_BLUE, TEXT_PT, TITLE_PT, YELLOW, figure, look
from mechlib.errors import MechError
from mechlib.say import say
from mechlib.transports.arcs import EVERYWHERE, Arcs, holding, intersect
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Transport
from mechlib.transports.timing import THE_CODE, Arrival, Distance, arrival, mode_margin

SIZE_PX = (980, 450)
CHART = (212, 40, 752, 318)  # left, top, width, height on the page, in pixels; y is counted down in it
CODE_Y, STEPS_Y, RULING_Y, ROOM_Y, WORDS_Y, NEXT_Y = 18, 52, 206, 234, 254, 292
STEP, BAR = 28, 11  # from one step to the next; half the height of a bar
BESIDE = 0.8  # of the code's length, shown to either side of it
MARK = {LOADING: ">", UNLOADING: "<"}
ARROW = {"color": INK, "linewidth": 1.6, "shrinkA": 0, "shrinkB": 0, "mutation_scale": 14}
BIG = {"fontsize": TEXT_PT}


class CloseUp(NamedTuple):
    """What the figure shows of a mode that stands right; the two tightest followers, the ruling one first."""

    came: Arrival
    code: tuple[float, float]  # the arc on which the code is read
    edge_deg: float  # where the code begins, on the way
    tightest: tuple[Distance, ...]
    words: tuple[str, ...]  # how each of these must stand
    right: tuple[Arcs, ...]  # of theta, on which it does
    window: tuple[float, float]


def close_up(transport: Transport, mode: str, sense: str | None = None) -> CloseUp:
    """The numbers of the figure; without ``sense``, for the one that rules the mode's margin.

    Raises MechError where the mode is not reached in that sense, or doesn't stand right then.

    >>> from mechlib.transports import load
    >>> shown = close_up(load("alder"), "PLAY")
    >>> shown.edge_deg, round(shown.came.read_deg, 3), round(shown.came.stand_deg, 3)
    (208.0, 208.8, 210.4)
    """
    margin = mode_margin(transport, mode)
    sense = margin.sense if sense is None else sense
    found = sorted((d for d in margin.distances if d.sense == sense), key=lambda d: d.smaller[0])
    if not found:
        raise MechError(f"{mode} is never reached in the sense {sense!r}", f"choose {margin.sense!r}")
    if found[0].smaller[0] < 0:
        raise MechError(f"{mode} does not stand right", "this figure shows a mode that does")
    came = arrival(transport, mode, sense)
    travel = EVERYWHERE if transport.cyclic else (transport.ends,)
    code = holding(intersect(came.run.code_arcs(transport.mode(mode).code), travel), came.read_deg)
    tightest, by_name = tuple(found[:2]), {need.follower: need for need in transport.mode(mode).needs}
    needs = [by_name.get(distance.follower) for distance in tightest]  # None for the code itself
    beside = BESIDE * (code[1] - code[0])
    edges = [edge for d in tightest for edge in (came.stand_deg - d.below_deg, came.stand_deg + d.above_deg)]
    low, high = code[0] - beside, code[1] + beside
    shown = [min(max(edge, low), high) for edge in (*edges, *code)]
    pad = 0.05 * (max(shown) - min(shown))
    words = tuple(need.words if need else "it shows" for need in needs)
    right = tuple(intersect(came.run.need_arcs(need), travel) if need else (code,) for need in needs)
    edge = code[0] if transport.release else came.read_deg - SENSE[sense] * transport.settle_deg
    return CloseUp(came, code, edge, tightest, words, right, (min(shown) - pad, max(shown) + pad))


def mode_close_up(transport: Transport, mode: str, sense: str | None = None, scale: int = 1) -> Figure:
    """Return the figure of one mode; ``sense`` as for ``close_up``, ``scale`` 1 to 4 as for ``style.figure``.

    From the top down: where the code shows; step by step from its edge to the stop angle; where the two
    followers with the least room stand right; the room to either edge of the first.  Raises MechError as
    ``close_up``.

    >>> from mechlib.transports import load
    >>> mode_close_up(load("alder"), "PLAY").canvas.get_width_height()
    (980, 450)
    """
    shown = close_up(transport, mode, sense)
    with look():
        made = figure(*SIZE_PX, scale=scale)
        page = paper.sheet(made, SIZE_PX)
        axes = _axes(made, shown.window)
        _draw_bars(page, axes, mode, shown)
        _draw_steps(axes, transport, shown)
        _draw_room(axes, shown)
        _write(page, transport, mode, shown)
    return made


def _axes(made: Figure, window: tuple[float, float]):
    (left, top, wide, tall), (width, height) = CHART, SIZE_PX
    axes = made.add_axes((left / width, 1 - (top + tall) / height, wide / width, tall / height), zorder=1)
    axes.set(xlim=window, ylim=(tall, 0), yticks=[])
    axes.set_xlabel("θ (° of the main cam), rising in the loading sense →")
    axes.tick_params(labelsize=TEXT_PT)
    axes.spines["left"].set_visible(False)
    axes.grid(True, axis="x", color=GRID)
    return axes


def _draw_bars(page, axes, mode: str, shown: CloseUp) -> None:
    """The bars of the code and of the followers, each with its name to the left."""
    rows = [(CODE_Y, f"the code of {mode}", "shows", (shown.code,))]
    followers = zip((RULING_Y, NEXT_Y), shown.tightest, shown.words, shown.right, strict=False)
    rows += [(y, distance.follower, f"right: {words}", arcs) for y, distance, words, arcs in followers]
    for (y, name, what, arcs), color in zip(rows, (SKY_BLUE, ORANGE, YELLOW), strict=False):
        boxes = [(start, end, y - BAR, y + BAR) for start, end in arcs]
        paper.bars(axes, boxes, facecolors=color, edgecolors=INK)
        for up, text, weight in ((-8, name, "bold"), (8, what, "normal")):
            words = {"ha": "right", "fontweight": weight, **BIG}
            paper.put(page, CHART[0] - 10, CHART[1] + y + up, text, 170, **words)


def _draw_steps(axes, transport: Transport, shown: CloseUp) -> None:
    """From the edge of the code to the stop angle: a step a line, its words beside it."""
    came = shown.came
    edge, read, stand = shown.edge_deg, came.read_deg, came.stand_deg
    steps = _steps_to_a_rest(edge, stand) if transport.release else _steps_to_a_stop(edge, read, stand)
    low, high = shown.window
    right = stand - low < high - stand  # where there is more room for words
    px = (high - low) / CHART[2]
    for at, (start, end, text) in enumerate(steps):
        y = STEPS_Y + at * STEP
        if start != end:
            axes.annotate("", (end, y), (start, y), arrowprops={"arrowstyle": "-|>", **ARROW})
        elif at < len(steps) - 1:
            axes.plot(start, y, "o", color=INK, markersize=6)
        x = (max(start, end) + 14 * px) if right else (min(start, end) - 14 * px)
        paper.put(axes, x, y, text, 420, ha="left" if right else "right", **BIG)
    lowest = (NEXT_Y if len(shown.tightest) > 1 else RULING_Y) + BAR
    for theta, start, end in (
        (edge, CODE_Y + BAR, STEPS_Y + STEP),
        (read, STEPS_Y + STEP, STEPS_Y + 3 * STEP),
        (stand, STEPS_Y + 3 * STEP, lowest),
    ):
        axes.plot((theta, theta), (start, end), color=FAINT, linewidth=1, linestyle=(0, (4, 2)))
    last = STEPS_Y + (len(steps) - 1) * STEP
    axes.plot(stand, last, MARK[came.sense], color=INK, markersize=11, zorder=4)


def _steps_to_a_stop(edge: float, read: float, stand: float) -> tuple:
    """From where to where, with the words for it."""
    return (
        (edge, edge, f"1  edge of the code: {say(edge, '°')}"),
        (edge, read, f"2  settle: the code must stand for {say(abs(read - edge), '°')}"),
        (read, read, f"3  read at {say(read, '°')}: the motor is switched off"),
        (read, stand, f"4  coast: the cam still turns {say(abs(stand - read), '°')}"),
        (stand, stand, f"5  stop angle: {say(stand, '°')}"),
    )


def _steps_to_a_rest(edge: float, stand: float) -> tuple:
    """The same for a part-toothed gear, which its latch holds at the rest."""
    return (
        (edge, edge, f"1  edge of the code: {say(edge, '°')}"),
        (edge, stand, f"2  the cam goes on by {say(stand - edge, '°')}"),
        (stand, stand, f"3  rest: the latch holds at {say(stand, '°')}, the code is read"),
    )


def _draw_room(axes, shown: CloseUp) -> None:
    """Arrows from the stop angle to both edges of the ruling follower's arc, or to the end of the picture."""
    stand, ruling = shown.came.stand_deg, shown.tightest[0]
    px = (shown.window[1] - shown.window[0]) / CHART[2]
    for room, way, word in ((ruling.below_deg, -1, "room below"), (ruling.above_deg, 1, "room above")):
        end = min(max(stand + way * room, shown.window[0]), shown.window[1])
        axes.annotate("", (end, ROOM_Y), (stand, ROOM_Y), arrowprops={"arrowstyle": "-|>", **ARROW})
        text = f"{word} {say(room, '°')}"
        paper.put(
            axes,
            stand + way * 7 * px,
            WORDS_Y,
            text,
            ha="left" if way > 0 else "right",
            fontweight="bold",
            **BIG,
        )


def _write(page, transport: Transport, mode: str, shown: CloseUp) -> None:
    """Title and what to see in words."""
    (room, side), follower = shown.tightest[0].smaller, shown.tightest[0].follower
    title = f"{mode} close up, reached in the {shown.came.sense} sense"
    paper.put(page, 16, 18, title, 700, fontweight="bold", fontsize=TITLE_PT)
    wrong = f"Past it the mode is wrong ({follower}), though its code may show."
    if follower == THE_CODE:
        wrong = "Past it the code isn't read."
    tooth = say(360.0 / transport.main_teeth, "°")
    for y, text in (
        (
            SIZE_PX[1] - 32,
            f"margin: the smallest room, here {say(room, '°')}, {side} the stop angle.  {wrong}",
        ),
        (SIZE_PX[1] - 13, f"One tooth of the main gear is {tooth}.  {transport.name} is invented."),
    ):
        paper.put(page, 16, y, text, 860, **BIG)
