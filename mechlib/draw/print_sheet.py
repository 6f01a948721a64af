"""A printed sheet: a page of paper in points, words that fit into their room, and saving for the printer.

A point is 1/72 inch.  Positions count from the left and from the top of the paper.  Widths of words are those
of the font itself, not of some screen's pixels, so that a page is laid out the same in every kind of file.
"""

from __future__ import annotations

import io
import os
import tempfile
from functools import lru_cache
from pathlib import Path

import matplotlib
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text
from matplotlib.textpath import TextToPath

from mechlib.draw.style import INK, look
from mechlib.draw.style import PAPER as WHITE
from mechlib.errors import MechError

POINTS_PER_INCH, MM_PER_INCH = 72.0, 25.4
# Width and height: ISO 216 (A4: 210 mm by 297 mm); ANSI/ASME Y14.1 size A (8.5 in by 11 in).  From memory.
PAPERS = {
    "A4": (210 / MM_PER_INCH * POINTS_PER_INCH, 297 / MM_PER_INCH * POINTS_PER_INCH),
    "Letter": (8.5 * POINTS_PER_INCH, 11 * POINTS_PER_INCH),
}
EDGE = 23.0  # left free all round: 8 mm; office printers need 4 to 6 mm (common practice, no source)
LEAST_PT = 6.5  # the smallest letters on paper
LINE = 1.18  # from one line of words to the next, in sizes of the letters
SCREEN_DPI = 144  # of a page saved as PNG

# Words stay words in the file: TrueType in PDF; in SVG by the name of their font, which is wider than most
# that a viewer would take instead.  On a screen no letter is moved to whole pixels: all are as in print.
_RULES = {"pdf.fonttype": 42, "svg.fonttype": "none", "text.hinting": "none"}
_MEASURE = TextToPath()
_FONT = "DejaVu Sans"  # that comes with matplotlib, and is the first choice in ``style.look``
_FONTS = {
    bold: FontProperties(family=_FONT, weight=weight, size=100)
    for bold, weight in ((False, "normal"), (True, "bold"))
}


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height of a paper in points, upright; MechError for one that isn't known.

    >>> paper_size("Letter")
    (612.0, 792.0)
    """
    try:
        return PAPERS[paper]
    except (KeyError, TypeError):
        raise MechError(f"paper is {paper!r}", "it must be " + " or ".join(PAPERS)) from None


class SheetFigure(Figure):
    """A figure that is drawn the same whatever the notebook has set, with its words as words.

    >>> isinstance(sheet("A4").figure, SheetFigure)
    True
    """

    def draw(self, renderer) -> None:
        """Draw the page."""
        with look(), matplotlib.rc_context(_RULES):
            super().draw(renderer)


def sheet(paper: str) -> Axes:
    """Return axes over a new page in which a unit is a point, y counted downwards; no frame.

    >>> [float(end) for end in sheet("Letter").get_ylim()]
    [792.0, 0.0]
    """
    width, height = paper_size(paper)
    made = SheetFigure((width / POINTS_PER_INCH, height / POINTS_PER_INCH), dpi=SCREEN_DPI, facecolor=WHITE)
    FigureCanvasAgg(made)
    page = made.add_axes((0, 0, 1, 1), zorder=2)
    page.set(xlim=(0, width), ylim=(height, 0), xticks=[], yticks=[])
    page.set_axis_off()
    return page


def width_pt(text: str, size: float, bold: bool = False) -> float:
    """Width of words in points.

    >>> round(width_pt("WIND", 14) / width_pt("WIND", 7), 3)
    2.0
    """
    return _width_at_100(text, bold) * size / 100


@lru_cache(maxsize=20000)  # a page is tried in letters of several sizes
def _width_at_100(text: str, bold: bool) -> float:
    return _MEASURE.get_text_width_height_descent(text, _FONTS[bold], False)[0]


def fitted(text: str, room: float, size: float, bold: bool = False) -> str:
    """The words, shortened with "…" where they are wider than the room; "" where nothing fits.

    >>> fitted("loading arms", 80, 7), fitted("loading arms", 28, 7)
    ('loading arms', 'loadi…')
    """
    if width_pt(text, size, bold) <= room:
        return text
    for cut in range(len(text) - 1, 0, -1):
        if width_pt(text[:cut] + "…", size, bold) <= room:
            return text[:cut].rstrip() + "…"
    return ""


def wrapped(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """The words in lines no wider than the room; a single word that is wider is broken.

    >>> wrapped("notch to the tooth with a dot", 70, 7)
    ['notch to the tooth', 'with a dot']
    """
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if width_pt(longer, size, bold) <= room:
            line = longer
            continue
        lines += [line] if line else []
        while width_pt(word, size, bold) > room and len(word) > 1:
            shorter = range(len(word) - 1, 1, -1)
            cut = next((n for n in shorter if width_pt(word[:n], size, bold) <= room), 1)
            lines.append(word[:cut])
            word = word[cut:]
        line = word
    return [*lines, line]


def put(page: Axes, x: float, y: float, text: str, size: float, bold: bool = False, **style) -> Text:
    """Write words with their middle at height ``y``."""
    weight = "bold" if bold else "normal"
    style = {"va": "center_baseline", "color": INK, **style}
    return page.text(x, y, text, fontsize=size, fontweight=weight, parse_math=False, **style)


def put_lines(page: Axes, x: float, top: float, lines, size: float, **style) -> float:
    """Write lines below one another from ``top``; return where the next would begin.

    >>> round(put_lines(sheet("A4"), 30, 40, ["one", "two"], 10), 1)
    63.6
    """
    for at, line in enumerate(lines):
        put(page, x, top + (at + 0.5) * LINE * size, line, size, **style)
    return top + len(lines) * LINE * size


def place_to_save(path) -> Path:
    """Return the path of a file of pages; MechError for another suffix or a folder that isn't there.

    >>> place_to_save("card.doc")
    Traceback (most recent call last):
    mechlib.errors.MechError: the file name 'card.doc': it must end in .pdf, .svg or .png
    """
    path = Path(path)
    if path.suffix.lower() not in (".pdf", ".svg", ".png"):
        raise MechError(f"the file name {path.name!r}", "it must end in .pdf, .svg or .png")
    if not path.parent.is_dir():
        raise MechError(f"there is no folder {str(path.parent)!r}", "make it first, or name another")
    return path


def save_pages(pages: list[Figure], path, title: str) -> tuple[Path, ...]:
    """Write pages to a file, and return what was written: one .pdf, or an .svg or .png for each page.

    Of several, each is named after its page: ``card-1.svg``, ``card-2.svg``.  The same pages give the same
    bytes.  A file is there whole or not at all.  Raises MechError as ``place_to_save``.

    >>> save_pages([], "no such folder/card.pdf", "a card")
    Traceback (most recent call last):
    mechlib.errors.MechError: there is no folder 'no such folder': make it first, or name another
    """
    path = place_to_save(path)
    kind = path.suffix.lower()
    with look(), matplotlib.rc_context(_RULES):
        if kind == ".pdf":
            made = {path: _as_pdf(pages, title)}
        else:
            numbered = [path.with_stem(f"{path.stem}-{number}") for number in range(1, len(pages) + 1)]
            told = {"Title": title, **({"Date": None} if kind == ".svg" else {})}
            made = {name: _as_picture(page, kind, told) for name, page in zip(numbered, pages, strict=True)}
    for name, content in made.items():
        write_whole(name, content)
    return tuple(made)


def _as_pdf(pages: list[Figure], title: str) -> bytes:
    held = io.BytesIO()
    with PdfPages(held, metadata={"Title": title, "CreationDate": None}) as document:
        for page in pages:
            document.savefig(page)
    return held.getvalue()


def _as_picture(page: Figure, kind: str, told: dict) -> bytes:
    held = io.BytesIO()
    page.savefig(held, format=kind[1:], metadata=told)
    return held.getvalue()


def write_whole(path: Path, content: bytes) -> None:
    """Write beside the file first, then put it in its place."""
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(beside, 0o644)
        os.replace(beside, path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
