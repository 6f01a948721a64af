"""A figure as a page: positions in page pixels, from the left and from the top, and words that fit.

A picture with rows of text and bars beside one another is laid out like a printed form.  So everything on it
stands at whole pixels, and a name that is too long for its column is shortened instead of being cut off.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text

from mechlib.draw import words
from mechlib.draw.hatched import HatchedBars
from mechlib.draw.style import PIXELS_PER_INCH, SMALL_PT, look
from mechlib.draw.words import Word


def sheet(page_figure: Figure, size_px: tuple[int, int]) -> Axes:
    """Return axes over the whole figure in which a unit is a page pixel, y counted downwards; no frame.

    >>> from mechlib.draw.style import figure
    >>> axes = sheet(figure(300, 200), (300, 200))
    >>> axes.transData.transform((10, 20)).tolist()  # from below, as matplotlib counts
    [10.0, 180.0]
    """
    width, height = size_px
    axes = page_figure.add_axes((0, 0, 1, 1), zorder=2)
    axes.set(xlim=(0, width), ylim=(height, 0), xticks=[], yticks=[])
    axes.set_axis_off()
    return axes


@lru_cache(maxsize=2000)
def width_px(text: str, size_pt: float = SMALL_PT, weight: str = "normal") -> float:
    """Width of a text in page pixels, whatever the scale of the picture.

    >>> width_px("half load") > width_px("half") > 0
    True
    """
    return words.width_px(text, _font(size_pt, weight), PIXELS_PER_INCH)


@lru_cache(maxsize=50)
def _font(size_pt: float, weight: str) -> FontProperties:
    with look():
        return FontProperties(size=size_pt, weight=weight)


def column_px(texts, most_px: float, weight: str = "normal") -> float:
    """Width of a column that holds all the texts, ``most_px`` at most."""
    return min(max((width_px(text, weight=weight) for text in texts), default=0.0), most_px)


def fitted(text: str, room_px: float, weight: str = "normal") -> str:
    """Return the text, shortened with "…" where it is wider than the room; "" where nothing fits.

    >>> fitted("loading arms", 200), fitted("loading arms", 45), fitted("loading arms", 3)
    ('loading arms', 'loadi…', '')
    """
    if width_px(text, weight=weight) <= room_px:
        return text
    for cut in range(len(text) - 1, 0, -1):
        if width_px(text[:cut] + "…", weight=weight) <= room_px:
            return text[:cut].rstrip() + "…"
    return ""


def put(axes: Axes, x: float, y: float, text: str, room_px: float = 4000, **style) -> Text:
    """Write a text that never changes, its middle at height ``y``, shortened to the room."""
    text = fitted(text, room_px, style.get("fontweight", "normal"))
    return axes.text(x, y, text, parse_math=False, **{"va": "center", "fontsize": SMALL_PT, **style})


def word(axes: Axes, x: float, y: float, **style) -> Word:
    """Add a text that will change, empty as yet, its middle at height ``y``."""
    return Word.on(axes, x, y, **{"va": "center", "fontsize": SMALL_PT, **style})


def corners(boxes) -> np.ndarray:
    """The corners of boxes (x0, x1, y0, y1), as a collection of polygons takes them.

    >>> corners([(0, 4, 1, 3)]).tolist()
    [[[0.0, 1.0], [4.0, 1.0], [4.0, 3.0], [0.0, 3.0]]]
    """
    x0, x1, y0, y1 = np.asarray(list(boxes), float).reshape(-1, 4).T
    return np.stack([np.stack([x0, x1, x1, x0], 1), np.stack([y0, y0, y1, y1], 1)], axis=2)


def bars(axes: Axes, boxes=(), **style) -> PolyCollection:
    """Add bars, as one artist; later ``set_verts(corners(boxes))`` shows others."""
    kind = HatchedBars if style.get("hatch") else PolyCollection
    made = kind(corners(boxes), **{"linewidths": 0.8, **style})
    axes.add_collection(made, autolim=False)
    return made
