"""How every picture looks: colours, line styles, hatches and letters, and the one way to make a figure.

Nothing is told by colour alone: each line of ``LINES`` has dashes of its own and each fill of ``FILLS`` a
hatch of its own, so that a picture reads on a grey printout and for colour-blind eyes.

Source of the colours: M. Okabe and K. Ito, "Color Universal Design: how to make figures and presentations
that are friendly to colorblind people" (University of Tokyo and Jikei Medical School, 2002, revised 2008),
the set of eight; values from memory.  Its light ones (orange, sky blue, yellow) have too little contrast
with white for a line and are used for filled areas with an outline only.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import NamedTuple

import matplotlib.style
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from mechlib.errors import check_count

BLACK = "#000000"
ORANGE = "#E69F00"
SKY_BLUE = "#56B4E9"
GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
PURPLE = "#CC79A7"

PAPER = "#FFFFFF"
INK = BLACK  # outlines and words
FAINT = "#6B6B6B"  # words and lines of second rank; still readable on white
GRID = "#D0D0D0"  # ruling that only guides the eye


class Line(NamedTuple):
    """A line style: a colour and the dashes that tell it from the others in grey."""

    color: str
    linestyle: str | tuple


class Fill(NamedTuple):
    """A fill: a face colour with a black outline, and the hatch that tells it from the others in grey."""

    facecolor: str
    hatch: str
    edgecolor: str = INK


LINES = (
    Line(BLUE, "-"),
    Line(VERMILLION, (0, (6, 2))),
    Line(GREEN, (0, (1.5, 1.5))),
    Line(PURPLE, (0, (7, 2, 1.5, 2))),
    Line(BLACK, (0, (7, 2, 1.5, 2, 1.5, 2))),
)
FILLS = (
    Fill(SKY_BLUE, ""),
    Fill(ORANGE, "///"),
    Fill(YELLOW, "..."),
    Fill(PURPLE, "\\\\\\"),
    Fill(PAPER, "xxx"),
)

SMALL_PT = 9  # the smallest letters anywhere
TEXT_PT = 10
TITLE_PT = 12

PIXELS_PER_INCH = 96  # CSS: 1 px is 1/96 in, so that 9 pt here is 9 pt in the page; w/96*96 == w exactly

_RULES = {
    "font.size": TEXT_PT,
    "axes.labelsize": TEXT_PT,
    "axes.titlesize": TITLE_PT,
    "figure.titlesize": TITLE_PT,
    "xtick.labelsize": SMALL_PT,
    "ytick.labelsize": SMALL_PT,
    "legend.fontsize": SMALL_PT,
    "axes.edgecolor": INK,
    "axes.linewidth": 0.8,
    "axes.axisbelow": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "grid.color": GRID,
    "grid.linewidth": 0.6,
    "lines.linewidth": 1.6,
    "hatch.linewidth": 0.6,
    "svg.hashsalt": "mechlib",  # the same picture gives the same file, byte for byte
}


def look() -> AbstractContextManager:
    """Return a context in which matplotlib follows this module, whatever the notebook has set.

    >>> import matplotlib
    >>> with look():
    ...     matplotlib.rcParams["xtick.labelsize"]
    9.0
    """
    return matplotlib.style.context(["default", _RULES])


def figure(width_px: int, height_px: int, scale: int = 1) -> Figure:
    """Return an empty figure of that many page pixels, with a canvas that draws it in memory.

    ``width_px`` and ``height_px``: 100 to 4000; ``scale`` 1 to 4 makes as many times more pixels each way for
    sharp screens and print.  Raises MechError outside these.

    >>> figure(980, 700, scale=2).canvas.get_width_height()
    (1960, 1400)
    """
    width = check_count("width_px", width_px, 100, 4000)
    height = check_count("height_px", height_px, 100, 4000)
    scale = check_count("scale", scale, 1, 4)
    inches = (width / PIXELS_PER_INCH, height / PIXELS_PER_INCH)
    made = Figure(figsize=inches, dpi=PIXELS_PER_INCH * scale, facecolor=PAPER)
    FigureCanvasAgg(made)
    return made
