"""Words that move: set in type once, then only put down.

Setting a short label takes matplotlib about half a millisecond, and a picture that follows a slider may have
dozens.  A `Word` keeps the pixels of what it has shown and puts them down again in a tenth of that time.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, floor

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text

_EDGE = 2  # pixels around a stamp, for letters that lean out of their box


class Word(Text):
    """A label for what moves: plain text without a frame, clipped to its axes.

    Made, moved and measured like any matplotlib text, and text in SVG and PDF files; in pixels it stands at
    whole pixels, within half a pixel of where plain text would.  A text shown for the first time costs as
    much as plain text (about 1 ms); one that is new at every step, such as a whole sentence, gains nothing.

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
        """Put the words down; in a file of lines, set them as text."""
        if not isinstance(renderer, RendererAgg):
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
            self.get_rotation(),
            renderer.dpi,
        )
        x, y = self.get_transform().transform(self.get_unitless_position())
        brush = renderer.new_gc()
        if self.clipbox is not None:
            brush.set_clip_rectangle(self.clipbox)
        renderer.draw_image(brush, round(x) + left, round(y) + low, letters)
        brush.restore()
        self.stale = False


@lru_cache(maxsize=2000)
def _stamp(text: str, font: FontProperties, color, across: str, along: str, rotation: float, dpi: float):
    """Return the words as pixels, lowest row first, and where their lower left corner is from the anchor."""
    words = Text(0, 0, text, color=color, ha=across, va=along, rotation=rotation, font=font, parse_math=False)
    words.set_figure(_desk(dpi))
    box = words.get_window_extent(RendererAgg(1, 1, dpi))
    left, low = floor(box.x0) - _EDGE, floor(box.y0) - _EDGE
    page = RendererAgg(ceil(box.x1) - left + _EDGE, ceil(box.y1) - low + _EDGE, dpi)
    words.set_position((-left, -low))
    words.draw(page)
    return np.asarray(page.buffer_rgba())[::-1].copy(), left, low


@lru_cache
def _desk(dpi: float) -> Figure:
    return Figure(dpi=dpi)  # a text asks its figure for the dpi and for nothing else
