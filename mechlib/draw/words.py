"""Words that move: each letter set in type once, then only put down.

Setting a short label takes matplotlib about a millisecond and a sentence twenty, and a picture that follows a
slider may have dozens of them, new at every step.  Letters aren't: a `Word` composes its pixels of those of
its letters, which are kept, and keeps what it has composed.
"""

from __future__ import annotations

from functools import cache, lru_cache
from itertools import accumulate, pairwise
from math import ceil, floor
from unicodedata import category

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text

_EDGE = 2  # pixels around a letter, for one that leans out of its box
_GRID = 0.25  # pixels; a letter is kept for each place between two pixels
_JOINED = {"Lo", "Lm", "Mn", "Mc", "Me", "Cf"}  # kinds of letters that change or shift with their neighbours


class Word(Text):
    """A label for what moves: plain text without a frame, clipped to its axes.

    Made, moved and measured like any matplotlib text, and text in SVG and PDF files; in pixels it stands
    at whole pixels, within half a pixel of where plain text would.

    >>> from mechlib.draw.style import figure
    >>> Word.on(figure(300, 200).add_subplot(), 0.5, 0.5, "half load", ha="center").get_text()
    'half load'
    """

    @classmethod
    def on(cls, axes, x: float, y: float, text: str = "", **style) -> Word:
        """Add a word to the axes at a data position; ``style`` as for ``axes.text``, with ``transform``."""
        word = cls(x, y, text, parse_math=False, clip_on=True, **{"transform": axes.transData, **style})
        axes.add_artist(word)
        return word

    def draw(self, renderer) -> None:
        """Put the words down; in a file of lines, or turned, set them as text."""
        if not isinstance(renderer, RendererAgg) or self.get_rotation() or "\n" in self.get_text():
            super().draw(renderer)
            return
        if not self.get_visible() or not self.get_text():
            return
        letters, left, low = _stamp(
            self.get_text(),
            self.get_fontproperties().copy(),  # a key mustn't change with the word
            to_rgba(self.get_color(), self.get_alpha()),
            self.get_horizontalalignment(),
            self.get_verticalalignment(),
            renderer.dpi,
        )
        x, y = self.get_transform().transform(self.get_position())
        brush = renderer.new_gc()
        if self.clipbox is not None:
            brush.set_clip_rectangle(self.clipbox)
        renderer.draw_image(brush, round(x) + left, round(y) + low, letters)
        brush.restore()
        self.stale = False


def width_px(text: str, font: FontProperties, dpi: float) -> float:
    """Width of a text in pixels of that many to the inch, as matplotlib would measure it.

    Letters that it sets as one, such as ffi, stand singly here, which may be a pixel less.
    """
    return _face(font, dpi).pens(_pieces(text))[1] if text else 0.0


@lru_cache(maxsize=2000)
def _stamp(text: str, font: FontProperties, color, across: str, along: str, dpi: float):
    """Return the words as pixels, lowest row first, and where their lower left corner is from the anchor."""
    face, pieces = _face(font, dpi), _pieces(text)
    pens, end = face.pens(pieces)
    begin = {"left": 0.0, "center": -end / 2, "right": -end}[across]
    edges = [face.edges(piece) for piece in pieces]
    below, above = min(low for low, _ in edges), max(high for _, high in edges)
    up = {"bottom": -below, "center": -(below + above) / 2, "top": -above, "center_baseline": -above / 2}
    places = [
        face.put(piece, begin + pen, up.get(along, 0.0)) for piece, pen in zip(pieces, pens, strict=True)
    ]
    left, low = min(x for x, _, _ in places), min(y for _, y, _ in places)
    wide = max(x + ink.shape[1] for x, _, ink in places) - left
    tall = max(y + ink.shape[0] for _, y, ink in places) - low
    shade = np.zeros((tall, wide), np.uint8)
    for x, y, ink in places:
        under = shade[y - low : y - low + ink.shape[0], x - left : x - left + ink.shape[1]]
        np.maximum(under, ink, out=under)
    page = np.empty((tall, wide, 4), np.uint8)
    page[..., :3] = np.round(255 * np.array(color[:3]))
    page[..., 3] = np.round(color[3] * shade)
    return page, left, low


def _pieces(text: str) -> list[str]:
    """Return the letters of a text; all of it in one where they take their form from their neighbours."""
    return [text] if any(category(each) in _JOINED for each in text) else list(text)


class _Face:
    """A font at one size: its letters and the way from one to the next, each worked out once."""

    def __init__(self, font: FontProperties, dpi: float):
        self.font, self.desk, self.rule = font, Figure(dpi=dpi), RendererAgg(1, 1, dpi)
        self.step, self.wide = cache(self._step), cache(self._wide)
        self.edges, self.ink = cache(self._edges), cache(self._ink)

    def pens(self, pieces: list[str]) -> tuple[list[float], float]:
        """Where the pen sets each piece down, in pixels, and where it stands after the last."""
        pens = [*accumulate((self.step(*pair) for pair in pairwise(pieces)), initial=0.0)]
        return pens, pens[-1] + self.wide(pieces[-1])

    def put(self, piece: str, x: float, y: float) -> tuple[int, int, np.ndarray]:
        """Return a piece set down at a place, in pixels: its lower left corner, and its ink from 0 to 255."""
        x = round(x / _GRID) * _GRID
        left, low, ink = self.ink(piece, x - floor(x), y - floor(y))
        return floor(x) + left, floor(y) + low, ink

    def _step(self, piece: str, after: str) -> float:
        # between two digits, since a space at an end may not count
        return self.wide(f"0{piece}{after}0") - self.wide(f"0{after}0")

    def _wide(self, text: str) -> float:
        return self.rule.get_text_width_height_descent(text, self.font, False)[0]

    def _edges(self, piece: str) -> tuple[float, float]:
        """The lower and the upper edge of its line, from the pen's height."""
        words = Text(0, 0, piece, va="baseline", font=self.font, parse_math=False)
        words.set_figure(self.desk)  # a text asks its figure for the dpi and for nothing else
        box = words.get_window_extent(self.rule)
        return box.y0, box.y1

    def _ink(self, piece: str, x: float, y: float) -> tuple[int, int, np.ndarray]:
        wide, tall, low = map(ceil, self.rule.get_text_width_height_descent(piece, self.font, False))
        page = RendererAgg(wide + 2 * _EDGE, tall + 2 * _EDGE, self.desk.dpi)
        top = page.height - low - _EDGE - y  # counted downwards
        page.draw_text(page.new_gc(), x + _EDGE, top, piece, self.font, 0)
        return -_EDGE, -low - _EDGE, np.asarray(page.buffer_rgba())[::-1, :, 3].copy()


@lru_cache(maxsize=100)
def _face(font: FontProperties, dpi: float) -> _Face:
    return _Face(font, dpi)
