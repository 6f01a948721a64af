"""The data sheet of a gear to be made, as a page: outline at true scale, sizes, and what to check it by."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon

from mechlib.bench.gear_to_make import GearToMake
from mechlib.draw.outline_file import bar_mm
from mechlib.draw.print_sheet import (
    EDGE,
    LINE,
    MM_PER_INCH,
    POINTS_PER_INCH,
    fitted,
    paper_size,
    put,
    put_lines,
    sheet,
    wrapped,
)
from mechlib.draw.print_table import draw_rows, lay_out
from mechlib.draw.style import FAINT, INK, TITLE_PT, look
from mechlib.errors import MechError
from mechlib.say import say

SIZE = 9.0  # letters
MM = POINTS_PER_INCH / MM_PER_INCH  # points in a millimetre
MOST_HIGH = 0.42  # of the page, for the outline
HEAD = 34.0
SCALES = (1.0, 0.5, 0.2, 0.1)


def gear_sheet_pages(gear: GearToMake, paper: str = "A4") -> list[Figure]:
    """Return the page of a gear's data sheet: finished sizes, the finished outline, and a scale bar.

    The outline is at true scale where the page has room, else at half, a fifth or a tenth, which is said.
    ``paper``: "A4" or "Letter"; MechError for another, and for a gear that is too large for a tenth.

    >>> from mechlib.bench.gear_to_make import to_make
    >>> from mechlib.gears.racks import FINE
    >>> from mechlib.gears.spur import Gear
    >>> len(gear_sheet_pages(to_make(Gear(24, 0.5, FINE), 2, 3)))
    1
    """
    width, height = paper_size(paper)
    inner = width - 2 * EDGE
    scale = drawn_scale(gear, paper)
    with look():
        page = sheet(paper)
        put(page, EDGE, EDGE + 8, fitted(gear.title, inner, TITLE_PT, True), TITLE_PT, bold=True)
        page.hlines(EDGE + 18, EDGE, width - EDGE, color=INK, linewidth=1)
        y = _draw_outline(page, gear, scale, width / 2, EDGE + HEAD)
        table = lay_out(gear.table(), inner * 0.7, SIZE)[0]
        y = draw_rows(page, table, EDGE, y + 10, range(len(table.cells)), gear.table().title)
        for words in (gear.sentence(), *gear.cautions):
            y = put_lines(page, EDGE, y + 4, wrapped(words, inner, SIZE), SIZE)
        put(page, EDGE, height - EDGE, "Measured by:                              Date:", SIZE, color=FAINT)
    return [page.figure]


def drawn_scale(gear: GearToMake, paper: str = "A4") -> float:
    """The scale at which the outline goes on a paper: 1 where there is room.

    ``paper``: as for ``gear_sheet_pages``, whose errors it raises.
    """
    width, height = paper_size(paper)
    room = min(width - 2 * EDGE, MOST_HIGH * height) / MM
    tip_mm = gear.gear.tip_mm
    scale = next((scale for scale in SCALES if tip_mm * scale <= room), None)
    if scale is None:
        right = f"at a tenth there is room on {paper} for {say(room / SCALES[-1], 'mm', 0)}"
        raise MechError(f"the gear is {say(tip_mm, 'mm', 0)} across", f"{right}; save the outline instead")
    return scale


def _draw_outline(page, gear: GearToMake, scale: float, middle: float, top: float) -> float:
    """The outline with its bore and the bar below it; return the foot."""
    by, radius = MM * scale, gear.gear.tip_mm / 2 * MM * scale
    y = top + radius
    page.add_patch(
        Polygon(gear.finished_mm() * by + (middle, y), closed=True, fill=False, edgecolor=INK, linewidth=0.5)
    )
    page.add_patch(Circle((middle, y), gear.bore_mm / 2 * by, fill=False, edgecolor=INK, linewidth=0.5))
    bar = bar_mm(gear)
    foot = y + radius + 12
    page.hlines(foot, middle - bar * by / 2, middle + bar * by / 2, color=INK, linewidth=1)
    told = "true scale" if scale == 1 else f"scale 1 : {1 / scale:g}"
    words = f"{bar} mm, {told}: lay a rule on the bar before you trust the print"
    put(page, middle, foot + LINE * SIZE, words, SIZE, ha="center")
    return foot + 2 * LINE * SIZE
