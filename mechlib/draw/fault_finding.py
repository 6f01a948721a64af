"""Which fault it is, as bars: a cause a row, those that nothing tells apart so far hatched and in a bracket.

A scene for the live picture; it shows a ``bench.fault_search.Search`` of any transport.
"""

from __future__ import annotations

from types import SimpleNamespace

from matplotlib.collections import LineCollection
from matplotlib.figure import Figure

from mechlib.bench.fault_search import Search
from mechlib.draw import page as paper
from mechlib.draw.style import FAINT, GRID, INK, ORANGE, SKY_BLUE, TITLE_PT
from mechlib.say import count, say

WIDE, LEFT, RIGHT = 1000, 530, 130  # pixels: the page, the names (room for a pair's), the brackets
TOP, ROW, BELOW = 56, 26, 74  # title and legend; a row; axis and the last line
ROWS = 12
BAR = 16  # height of a bar
MOST = 118  # % at the right end: room for the number beside the longest bar
APART = "not told apart"


def size_px() -> tuple[int, int]:
    """Width and height of the picture."""
    return WIDE, TOP + ROWS * ROW + BELOW


def create(figure: Figure, result: Search):
    """Draw everything on an empty figure of ``size_px``; return the artists for ``update``."""
    width, height = size_px()
    page = paper.sheet(figure, (width, height))
    frame = (LEFT / width, BELOW / height, (width - LEFT - RIGHT) / width, ROWS * ROW / height)
    axes = figure.add_axes(frame, zorder=1, xlim=(0, MOST), ylim=(ROWS * ROW, 0), yticks=[])
    axes.set_xticks(range(0, 101, 10))
    axes.set_xlabel("probability after what was seen (%)")
    axes.grid(True, axis="x", color=GRID)
    legend = "blue: one cause    orange, hatched, in a bracket: causes that nothing seen so far tells apart"
    paper.put(page, 16, 38, legend, WIDE - 32)
    made = SimpleNamespace(axes=axes, page=page)
    made.title = paper.word(page, 16, 16, fontweight="bold", fontsize=TITLE_PT)
    made.plain = paper.bars(axes, facecolors=SKY_BLUE, edgecolors=INK, zorder=2)
    made.grouped = paper.bars(axes, facecolors=ORANGE, edgecolors=INK, hatch="///", zorder=2)
    made.names = [paper.word(page, LEFT - 12, _middle(row), ha="right") for row in range(ROWS)]
    made.numbers = [paper.word(axes, 0, _middle(row) - TOP, zorder=3) for row in range(ROWS)]
    made.brackets = LineCollection([], colors=INK, linewidths=1.4, zorder=3)
    page.add_collection(made.brackets, autolim=False)
    made.apart = [paper.word(page, WIDE - RIGHT + 20, 0) for _ in range(ROWS // 2)]
    made.rest = paper.word(page, 16, height - 34, color=FAINT)
    made.next = paper.word(page, 16, height - 14)
    made.moving = [made.title, made.plain, made.grouped, *made.names, *made.numbers]
    made.moving += [made.brackets, *made.apart, made.rest, made.next]
    return made


def _middle(row: int) -> float:
    """The height of a row's middle on the page."""
    return TOP + (row + 0.5) * ROW


def update(made, result: Search) -> None:
    """Show another state of the search."""
    bars = result.bars
    shown = bars[:ROWS]
    seen = count(len(result.finding.observations), "observation")
    made.title.set_text(
        paper.fitted(f"{result.transport.name}: which fault is it, after {seen}?", WIDE - 32, "bold")
    )
    boxes: dict[bool, list] = {False: [], True: []}
    for row, (name, number) in enumerate(zip(made.names, made.numbers, strict=True)):
        if row >= len(shown):
            name.set_text("")
            number.set_text("")
            continue
        percent, middle = 100 * shown[row].probability, _middle(row) - TOP
        boxes[bool(shown[row].group)].append((0, percent, middle - BAR / 2, middle + BAR / 2))
        name.set_text(paper.fitted(shown[row].words, LEFT - 28))
        number.set(text=say(percent, "%"), x=percent + 1)
    made.plain.set_verts(paper.corners(boxes[False]))
    made.grouped.set_verts(paper.corners(boxes[True]))
    _put_brackets(made, shown)
    made.rest.set_text(_rest(result, len(shown)))
    made.next.set_text(paper.fitted(_next(result), WIDE - 32))


def _put_brackets(made, shown) -> None:
    left, right = WIDE - RIGHT + 4, WIDE - RIGHT + 12
    lines, words = [], list(made.apart)
    for group in sorted({bar.group for bar in shown} - {0}):
        rows = [row for row, bar in enumerate(shown) if bar.group == group]
        top, low = _middle(rows[0]) - BAR / 2, _middle(rows[-1]) + BAR / 2
        lines.append([(left, top), (right, top), (right, low), (left, low)])
        if words:
            words.pop(0).set(text=APART, y=(top + low) / 2)
    for word in words:
        word.set_text("")
    made.brackets.set_segments(lines)


def _rest(result: Search, shown: int) -> str:
    """What the picture has no row for."""
    others = len(result.finding.ranking) - shown
    left = 1 - sum(bar.probability for bar in result.bars[:shown])
    return f"and {count(others, 'other')}, {say(100 * max(left, 0.0), '%')} together" if others > 0 else ""


def _next(result: Search) -> str:
    return (
        f"Next: {result.step.sentence()}"
        if result.step
        else "Nothing is seen yet: these are the usual shares."
    )
