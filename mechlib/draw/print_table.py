"""Tables on a printed sheet: columns as wide as their words, long words in several lines, never cut off."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.bench.timing_card import CardTable
from mechlib.draw.print_sheet import LINE, fitted, put, put_lines, width_pt, wrapped
from mechlib.draw.style import FAINT, GRID, INK
from mechlib.errors import MechError

GAP = 5.0  # between two columns
LEAST_WORDS = 34.0  # a column of words is not made narrower than this
MOST_UPRIGHT = 70.0  # length of a heading that stands upright
AIR = 0.16  # above and below the words of a row, together, in sizes of the letters


@dataclass(frozen=True)
class Laid:
    """A table laid out for a width and a size of letters: how wide each column is, and how high each row."""

    table: CardTable
    size: float
    width: float
    widths: tuple[float, ...]
    upright: bool  # the headings of the columns of numbers stand upright
    heads: tuple[list[str], ...]  # the lines of every heading over words
    cells: tuple[tuple[list[str], ...], ...]  # the lines of every cell
    note: tuple[str, ...]

    @property
    def line(self) -> float:
        """Height of a line of words."""
        return LINE * self.size

    @property
    def head(self) -> float:
        """Height of title and headings."""
        if not any(self.table.header):
            return 1.4 * self.line
        lines = max(map(len, self.heads), default=1) * self.line
        return 1.4 * self.line + (max(self._upright_head, lines) if self.upright else lines)

    @property
    def _upright_head(self) -> float:
        numbers = self.table.header[self.table.left :]
        return min(max(width_pt(h, self.size, True) for h in numbers), MOST_UPRIGHT) + 4

    def row_height(self, row: int) -> float:
        """Height of one row."""
        return max(map(len, self.cells[row])) * self.line + AIR * self.size

    @property
    def foot(self) -> float:
        """Height of the note, with the room below the table."""
        return len(self.note) * self.line + 0.4 * self.size

    @property
    def height(self) -> float:
        """Height of the whole table."""
        return self.head + sum(map(self.row_height, range(len(self.cells)))) + self.foot


def lay_out(table: CardTable, width: float, size: float) -> tuple[Laid, ...]:
    """Lay a table out in a width: one, or several with some of its columns each where it is too wide.

    Long words go into several lines first; then the headings of the numbers stand upright; then the columns
    are dealt out, the first one repeated.  Raises MechError where even one column of numbers doesn't fit.

    >>> table = CardTable("Times", ("from", "PLAY", "STOP"), (("PLAY", "", "2.0"),), 1)
    >>> len(lay_out(table, 200, 7)), lay_out(table, 200, 7)[0].upright, lay_out(table, 60, 7)[0].upright
    (1, False, True)
    """
    for upright in (False, True):
        widths = _widths(table, width, size, upright)
        if widths:
            return (_laid(table, width, size, widths, upright),)
    numbers = len(table.header) - table.left
    if numbers < 2:
        raise MechError(f"the table {table.title!r} is too wide for the page", "choose a larger paper")
    half = table.left + (numbers + 1) // 2
    first = [tuple(row[:half]) for row in (table.header, *table.rows)]
    second = [(row[0], *row[half:]) for row in (table.header, *table.rows)]
    parts = (
        CardTable(table.title, first[0], tuple(first[1:]), table.left),
        CardTable(f"{table.title}, continued", second[0], tuple(second[1:]), 1, table.note),
    )
    return tuple(laid for part in parts for laid in lay_out(part, width, size))


def _widths(table: CardTable, width: float, size: float, upright: bool) -> tuple[float, ...] | None:
    """Width of every column, or None where the numbers leave too little room for the words."""
    found = []
    for at, column in enumerate(zip(*table.rows, strict=True)):
        head = table.header[at]
        tall = upright and at >= table.left
        found.append(max(LINE * size if tall else width_pt(head, size, True),
                         *(width_pt(cell, size, at == 0) for cell in column)) + GAP)  # fmt: skip
    room = width - sum(found[table.left :])
    words = found[: table.left]
    if sum(words) <= room:
        return tuple(found)
    if not words or room < LEAST_WORDS * len(words):
        return None
    return (*_shared(words, room), *found[table.left :])


def _shared(wanted: list[float], room: float) -> list[float]:
    """Cut the widest down to one width so that all go into the room."""
    left, share = room, {}
    for at in sorted(range(len(wanted)), key=wanted.__getitem__):
        share[at] = min(wanted[at], left / (len(wanted) - len(share)))
        left -= share[at]
    return [share[at] for at in range(len(wanted))]


def _laid(table: CardTable, width: float, size: float, widths, upright: bool) -> Laid:
    def lines(at: int, cell: str) -> list[str]:
        return wrapped(cell, widths[at] - GAP, size, at == 0) if at < table.left else [cell]

    cells = tuple(tuple(lines(at, cell) for at, cell in enumerate(row)) for row in table.rows)
    heads = tuple(
        wrapped(head, wide - GAP, size, True) or [""]
        for head, wide in zip(table.header[: table.left], widths, strict=False)
    )
    note = wrapped(table.note, width, size) if table.note else []
    return Laid(table, size, width, tuple(widths), upright, heads, cells, tuple(note))


def draw_rows(page, laid: Laid, left: float, top: float, rows: range, title: str) -> float:
    """Draw some rows of a table with title and headings, and the note below the last; return the foot."""
    size, line = laid.size, laid.line
    put(page, left, top + 0.6 * line, fitted(title, laid.width, size + 0.5, True), size + 0.5, bold=True)
    y = top + laid.head
    wide = sum(laid.widths)
    _draw_heads(page, laid, left, y)
    page.hlines(y, left, left + wide, color=INK, linewidth=0.8)
    for row in rows:
        x, tall = left, laid.row_height(row)
        for at, (lines, width) in enumerate(zip(laid.cells[row], laid.widths, strict=True)):
            numbers = at >= laid.table.left
            style = {"ha": "right"} if numbers else {"bold": at == 0}
            put_lines(page, x + width - GAP if numbers else x, y + AIR / 2 * size, lines, size, **style)
            x += width
        y += tall
        page.hlines(y, left, left + wide, color=GRID, linewidth=0.5)
    if rows.stop < len(laid.cells):
        return y
    put_lines(page, left, y + 0.2 * size, laid.note, size, color=FAINT)
    return y + laid.foot


def _draw_heads(page, laid: Laid, left: float, y: float) -> None:
    size, x = laid.size, left
    for at, (head, width) in enumerate(zip(laid.table.header, laid.widths, strict=True)):
        if at < laid.table.left:
            lines = laid.heads[at]
            put_lines(page, x, y - (0.1 + len(lines)) * laid.line, lines, size, bold=True)
        elif laid.upright:
            text = fitted(head, MOST_UPRIGHT, size, True)
            style = {"rotation": 90, "va": "bottom", "ha": "center"}
            put(page, x + (width - GAP) / 2, y - 2, text, size, bold=True, **style)
        else:
            put(page, x + width - GAP, y - 0.6 * laid.line, head, size, bold=True, ha="right")
        x += width
