"""The timing card on paper: chart, marks, margins, contacts, times and cautions, one page to be pinned up."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from matplotlib.figure import Figure

from mechlib.bench.timing_card import CardTable, TimingCard
from mechlib.draw.card_chart import CardChart
from mechlib.draw.card_chart import height as chart_height
from mechlib.draw.print_sheet import (
    EDGE,
    LEAST_PT,
    LINE,
    fitted,
    paper_size,
    place_to_save,
    put,
    put_lines,
    save_pages,
    sheet,
    width_pt,
    wrapped,
)
from mechlib.draw.print_table import Laid, draw_rows, lay_out
from mechlib.draw.proof_sheet import proof_sheet_pages
from mechlib.draw.style import FAINT, INK, TITLE_PT, look
from mechlib.errors import MechError

SIZES = (9.0, 8.5, 8.0, 7.5, 7.0, LEAST_PT)  # of the letters: the first that gets all on one page
MOST_STRETCH = 1.7  # by which the rows of the chart grow where there is room
HEAD, FOOT, APART, BETWEEN = 20.0, 12.0, 6.0, 14.0  # title, page number, between blocks, between columns


class Piece(NamedTuple):
    """Some rows of a table and where they stand."""

    page: int
    laid: Laid
    left: float
    top: float
    rows: range


class Spot(NamedTuple):
    """A free place on a page, from top to bottom."""

    page: int
    left: float
    top: float
    bottom: float


class Plan(NamedTuple):
    """Where everything stands; ``free`` is what is left over below, on the first page."""

    size: float
    chart_top: float
    pieces: tuple[Piece, ...]
    pages: int
    free: float


def timing_card_pages(card: TimingCard, paper: str = "A4") -> list[Figure]:
    """Return the pages of a timing card: one, if all goes on one in letters of 6.5 pt or more.

    ``paper``: "A4" or "Letter".  A machine with very many rows gets further pages; nothing is left out.
    Raises MechError for another paper, or a chart that is higher than the page.

    >>> from mechlib.bench.timing_card import timing_card
    >>> from mechlib.transports import load
    >>> len(timing_card_pages(timing_card(load("alder")), "Letter"))
    1
    """
    plans = (_plan(card, paper, size) for size in SIZES)
    plan = next((plan for plan in plans if plan and plan.pages == 1), None) or _plan(card, paper, LEAST_PT)
    if plan is None:
        name = card.transport.name
        raise MechError(f"the chart of {name} is higher than the page", "save the live chart instead")
    rows = chart_height(card.transport, plan.size, 1.0) - chart_height(card.transport, plan.size, 0.0)
    stretch = min(1 + max(plan.free, 0.0) / rows, MOST_STRETCH)
    plan = _plan(card, paper, plan.size, stretch)
    with look():
        pages = [sheet(paper) for _ in range(plan.pages)]
        right = paper_size(paper)[0] - EDGE
        _draw_head(pages[0], card, plan.size, right)
        CardChart(pages[0], card.transport, card.chart, (EDGE, right, plan.chart_top), plan.size, stretch)
        for piece in plan.pieces:
            title = piece.laid.table.title + (", continued" if piece.rows.start else "")
            draw_rows(pages[piece.page], piece.laid, piece.left, piece.top, piece.rows, title)
        for number, page in enumerate(pages, 1):
            _draw_foot(page, card.title, f"page {number} of {plan.pages}", paper)
    return [page.figure for page in pages]


def save_card(card: TimingCard, path, paper: str = "A4") -> tuple[Path, ...]:
    """Save the card and its proof sheet; return the files: one .pdf, or an .svg (or .png) for each page.

    ``path`` names the file; its suffix decides.  The same card gives the same bytes.  Raises MechError as
    ``timing_card_pages``, and for another suffix or a folder that isn't there.

    >>> from mechlib.bench.timing_card import timing_card
    >>> from mechlib.transports import load
    >>> save_card(timing_card(load("alder")), "no such folder/card.pdf")
    Traceback (most recent call last):
    mechlib.errors.MechError: there is no folder 'no such folder': make it first, or name another
    """
    path = place_to_save(path)  # before the seconds that drawing takes
    pages = timing_card_pages(card, paper) + proof_sheet_pages(card, paper)
    return save_pages(pages, path, card.title)


# ---- Planning ----


def _plan(card: TimingCard, paper: str, size: float, stretch: float = 1.0) -> Plan | None:
    """Where everything stands in letters of this size; None where the chart alone is higher than the page."""
    width, height = paper_size(paper)
    inner, bottom = width - 2 * EDGE, height - EDGE - FOOT
    chart_top = EDGE + _head_height(card, size, inner)
    top = chart_top + chart_height(card.transport, size, stretch) + APART
    if top - APART > bottom:
        return None
    wide = [laid for table in (card.marks, card.margins) for laid in lay_out(table, inner, size)]
    spots = _spots([EDGE], Spot(0, EDGE, top, bottom))
    pieces, at = _flow(wide, spots, next(spots))
    half = (inner - BETWEEN) / 2
    tables = [card.contacts, card.interlocks, card.times, _cautions(card)]
    narrow = [laid for table in tables if table.rows for laid in lay_out(table, half, size)]
    lefts = [EDGE, EDGE + half + BETWEEN]
    cut, tall = _shared_out(narrow)
    if at.top + tall <= at.bottom:
        for left, column in zip(lefts, (narrow[:cut], narrow[cut:]), strict=True):
            spot = at._replace(left=left)
            pieces += _flow(column, iter(()), spot)[0]
        end = at._replace(top=at.top + tall)
    else:
        spots = _spots(lefts, at)
        more, end = _flow(narrow, spots, next(spots))
        pieces += more
    pages = end.page + 1
    return Plan(size, chart_top, tuple(pieces), pages, end.bottom - end.top if pages == 1 else 0.0)


def _shared_out(blocks: list[Laid]) -> tuple[int, float]:
    """Share blocks out to two columns: how many go into the first, and the height of the higher one."""

    def tall(column) -> float:
        return sum(laid.height + APART for laid in column) - APART

    cuts = range(len(blocks) + 1)
    return min(((cut, max(tall(blocks[:cut]), tall(blocks[cut:]))) for cut in cuts), key=lambda c: c[1])


def _spots(lefts: list[float], first: Spot) -> Iterator[Spot]:
    """The free places from the first one on: column by column, page by page."""
    page, top = first.page, first.top
    while True:
        for left in lefts:
            yield Spot(page, left, top, first.bottom)
        page, top = page + 1, EDGE + HEAD


def _flow(blocks: list[Laid], spots: Iterator[Spot], at: Spot) -> tuple[list[Piece], Spot]:
    """Place blocks below one another, their rows parted between spots where they must be."""
    pieces = []
    for laid in blocks:
        first, last = 0, len(laid.cells)
        while first < last:
            stop = _rows_that_fit(laid, first, at.bottom - at.top)
            if stop == first:  # not even one row: on to the next free place
                at = next(spots)
                continue
            pieces.append(Piece(at.page, laid, at.left, at.top, range(first, stop)))
            used = laid.head + sum(laid.row_height(row) for row in range(first, stop))
            at = at._replace(top=at.top + used + (laid.foot if stop == last else 0) + APART)
            first = stop
    return pieces, at


def _rows_that_fit(laid: Laid, first: int, room: float) -> int:
    """One behind the last row that goes into the room; the note stays with the last row."""
    room -= laid.head
    for row in range(first, len(laid.cells)):
        room -= laid.row_height(row)
        if room < (laid.foot if row == len(laid.cells) - 1 else 0) - 1e-6:
            return row
    return len(laid.cells)


def _cautions(card: TimingCard) -> CardTable:
    rows = tuple((str(number), caution) for number, caution in enumerate(card.cautions, 1))
    return CardTable("Cautions", ("", ""), rows, 2)


# ---- Head and foot ----


def _keys(card: TimingCard, size: float, inner: float) -> list[str]:
    """The lines of the key numbers; each number stays whole where it fits into a line."""
    lines, line = [], ""
    for name, words in card.keys:
        told = f"{name}: {words}"
        longer = f"{line}   |   {told}" if line else told
        if width_pt(longer, size) <= inner:
            line = longer
            continue
        *full, line = [*([line] if line else []), *wrapped(told, inner, size)]
        lines += full
    return [*lines, line]


def _head_height(card: TimingCard, size: float, inner: float) -> float:
    return HEAD + len(_keys(card, size, inner)) * LINE * size + APART


def _draw_head(page, card: TimingCard, size: float, right: float) -> None:
    inner = right - EDGE
    note = width_pt(card.invented, size)
    put(page, EDGE, EDGE + 7, fitted(card.title, inner - note - 20, TITLE_PT, True), TITLE_PT, bold=True)
    put(page, right, EDGE + 7, card.invented, size, ha="right", style="italic")
    page.hlines(EDGE + HEAD - 4, EDGE, right, color=INK, linewidth=1)
    put_lines(page, EDGE, EDGE + HEAD, _keys(card, size, inner), size)


def _draw_foot(page, title: str, words: str, paper: str) -> None:
    width, height = paper_size(paper)
    y = height - EDGE - 3
    room = width - 2 * EDGE - width_pt(words, LEAST_PT) - 20
    put(page, EDGE, y, fitted(title, room, LEAST_PT), LEAST_PT, color=FAINT)
    put(page, width - EDGE, y, words, LEAST_PT, ha="right", color=FAINT)
