"""The blank proof sheet on paper: every change once, with boxes for worked, time and remark."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from mechlib.bench.proof import LEAST_S, TOLERANCE
from mechlib.bench.proof_sheet import ProofStep, proof_steps
from mechlib.bench.timing_card import TimingCard
from mechlib.draw.print_sheet import (
    EDGE,
    LEAST_PT,
    LINE,
    fitted,
    paper_size,
    put,
    put_lines,
    sheet,
    width_pt,
    wrapped,
)
from mechlib.draw.style import FAINT, INK, TITLE_PT, look
from mechlib.draw.style import PAPER as WHITE
from mechlib.say import say

SIZE, ABREAST, BETWEEN = 7.5, 2, 16.0  # letters; columns of changes on a page, and the room between them
LEAST_ROW, MOST_ROW = 17.0, 24.0  # high enough to write in
HEAD, FOOT, COLUMN_HEAD = 90.0, 32.0, 14.0
LEAST_REMARK = 44.0  # width of its column; a long name goes into several lines for it
NUMBER, EXPECTED, WORKED, TOOK = 21.0, 33.0, 42.0, 36.0  # widths of columns
BOX = 7.0
FIELDS = ("machine", "serial number", "date", "name")  # to be filled in by hand
HOW = (
    "Work down the numbers: each change begins where the last one ended.  ▸: first bring the machine to "
    "the mode in which it begins.  Tick yes or no, write down the seconds from the command to the rest, and "
    "what was seen or heard.  A change is too slow if it takes {percent} % (at least {least}) longer than "
    "expected: common practice.  Under power every cover is on.  Yes means that every lever stands right: "
    "look through the cassette's opening; for what is hidden pull the plug, wait, then take off a cover."
)
CLOSING = "The machine may be given back only when every change is proved."


def proof_sheet_pages(card: TimingCard, paper: str = "A4") -> list[Figure]:
    """Return the pages of the blank proof sheet of a card's machine: one for up to some seventy changes.

    ``paper``: "A4" or "Letter"; MechError for another.

    >>> from mechlib.bench.timing_card import timing_card
    >>> from mechlib.transports import load
    >>> len(proof_sheet_pages(timing_card(load("alder"))))
    1
    """
    width, height = paper_size(paper)
    room = height - 2 * EDGE - HEAD - FOOT - COLUMN_HEAD
    wide = (width - 2 * EDGE - BETWEEN) / ABREAST
    most = (wide - NUMBER - EXPECTED - WORKED - TOOK - LEAST_REMARK) / 2 - 5
    rows = [_Row(number, step, most) for number, step in enumerate(proof_steps(card.transport), 1)]
    columns = _columns(rows, room)
    names = max((width_pt(line, SIZE) for row in rows for line in (*row.start, *row.target)), default=0) + 5
    highest = max((sum(row.height for row in column) for column in columns), default=room)
    stretch = max(min(room / highest, MOST_ROW / LEAST_ROW), 1.0)
    pages = range(0, max(len(columns), 1), ABREAST)
    with look():
        made = []
        for number, first in enumerate(pages, 1):
            page = sheet(paper)
            _draw_head(page, card, width, f"page {number} of {len(pages)}")
            for at, column in enumerate(columns[first : first + ABREAST]):
                _Column(page, EDGE + at * (wide + BETWEEN), wide, names).draw(column, stretch)
            _draw_foot(page, width, height)
            made.append(page.figure)
    return made


class _Row:
    """A change as a row of the sheet: the lines of both names, and the least height."""

    def __init__(self, number: int, step: ProofStep, most: float):
        self.number, self.step = number, step
        self.start, self.target = (wrapped(name, most, SIZE) for name in (step.start, step.target))
        self.height = max(LEAST_ROW, max(len(self.start), len(self.target)) * LINE * SIZE + 4)


def _columns(rows: list[_Row], room: float) -> list[list[_Row]]:
    """Deal rows out in their order to as few pages as can be, in columns of about the same height."""
    pages = -(-len(_dealt(rows, room)) // ABREAST)
    limit = sum(row.height for row in rows) / max(pages * ABREAST, 1)
    while len(found := _dealt(rows, min(limit, room))) > pages * ABREAST:
        limit += 1.0
    return found


def _dealt(rows: list[_Row], room: float) -> list[list[_Row]]:
    """Fill column after column."""
    columns, left = [], 0.0
    for row in rows:
        if row.height > left:
            columns.append([])
            left = room
        columns[-1].append(row)
        left -= row.height
    return columns


class _Column:
    """A column of changes on a page."""

    def __init__(self, page, left: float, wide: float, names: float):
        self.page, self.top = page, EDGE + HEAD + COLUMN_HEAD
        widths = (NUMBER, names, names, EXPECTED, WORKED, TOOK)
        self.edges = [left + sum(widths[:at]) for at in range(len(widths) + 1)] + [left + wide]

    def draw(self, rows: list[_Row], stretch: float) -> None:
        """Headings, ruling and rows."""
        heads = ("", "from", "to", "about s", "worked", "took s", "remark")
        for x, head in zip(self.edges, heads, strict=False):
            put(self.page, x + 2, self.top - 5, head, LEAST_PT, bold=True)
        y, ends = self.top, (self.edges[0], self.edges[-1])
        for row in rows:
            self._row(y + row.height * stretch / 2, row)
            y += row.height * stretch
            self.page.hlines(y, *ends, color=FAINT, linewidth=0.5)
        self.page.vlines(self.edges, self.top, y, color=FAINT, linewidth=0.5)
        self.page.hlines(self.top, *ends, color=INK, linewidth=1)

    def _row(self, middle: float, row: _Row) -> None:
        sign = "" if row.step.joins else "▸"
        put(self.page, self.edges[1] - 3, middle, f"{sign}{row.number}", LEAST_PT, ha="right")
        for x, lines in zip(self.edges[1:], (row.start, row.target), strict=False):
            put_lines(self.page, x + 2, middle - len(lines) * LINE * SIZE / 2, lines, SIZE)
        if row.step.expected_s is None:
            room = self.edges[-1] - self.edges[3] - 6
            words = fitted(f"cannot work as filed: {row.step.why}", room, LEAST_PT)
            put(self.page, self.edges[3] + 3, middle, words, LEAST_PT, style="italic")
            return
        put(self.page, self.edges[4] - 4, middle, say(row.step.expected_s), SIZE, ha="right")
        for x, word in ((self.edges[4] + 2, "y"), (self.edges[4] + 22, "n")):
            _box(self.page, x, middle)
            put(self.page, x + BOX + 2, middle, word, LEAST_PT)


def _box(page, x: float, middle: float) -> None:
    page.add_patch(Rectangle((x, middle - BOX / 2), BOX, BOX, facecolor=WHITE, edgecolor=INK, linewidth=0.8))


def _draw_head(page, card: TimingCard, width: float, number: str) -> None:
    inner = width - 2 * EDGE
    right = width - EDGE
    note = ", ".join(word for word in (card.invented, number) if word)
    title = f"{card.transport.name}: proof sheet"
    room = inner - width_pt(note, SIZE) - 20
    put(page, EDGE, EDGE + 7, fitted(title, room, TITLE_PT, True), TITLE_PT, bold=True)
    put(page, right, EDGE + 7, note, SIZE, ha="right", style="italic")
    page.hlines(EDGE + 16, EDGE, right, color=INK, linewidth=1)
    step = (inner + BETWEEN) / len(FIELDS)
    for at, field in enumerate(FIELDS):
        x = EDGE + at * step
        begin = x + width_pt(field, SIZE) + 4
        put(page, x, EDGE + 36, field, SIZE)
        page.hlines(EDGE + 40, begin, x + step - BETWEEN, color=FAINT, linewidth=0.6)
    how = HOW.format(percent=say(100 * TOLERANCE, "", 0), least=say(LEAST_S, "s"))
    put_lines(page, EDGE, EDGE + 48, wrapped(how, inner, SIZE), SIZE)


def _draw_foot(page, width: float, height: float) -> None:
    y = height - EDGE - 10
    put(page, EDGE, y, CLOSING, SIZE, bold=True)
    x = EDGE + width_pt(CLOSING, SIZE, True) + 12
    for word in ("may be given back", "not yet"):
        _box(page, x, y)
        put(page, x + BOX + 3, y, word, SIZE)
        x += BOX + 17 + width_pt(word, SIZE)
    put(page, x, y, "signed", SIZE)
    page.hlines(y + 4, x + width_pt("signed", SIZE) + 4, width - EDGE, color=FAINT, linewidth=0.6)
