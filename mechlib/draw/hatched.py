"""Bars with a hatch: the pattern is drawn once, then only laid down.

For each bar matplotlib first draws the pattern itself, which for dots takes it two milliseconds.  But that
is always the same, and stands still on the page while the bars move over it.
"""

from __future__ import annotations

from copy import copy
from functools import lru_cache
from math import ceil, floor

import numpy as np
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.collections import PolyCollection
from matplotlib.path import Path
from matplotlib.transforms import Affine2D, IdentityTransform, TransformedPath

_CLEAR = (0, 0, 0, 0)
_UNIT = Path.unit_rectangle()  # a clip path must live on: matplotlib tells two apart by where they are kept


class HatchedBars(PolyCollection):
    """Upright boxes apart from one another, with one face, one hatch and one outline.

    Pixel by pixel what a PolyCollection draws; in SVG and PDF files it is one.

    >>> HatchedBars([[(0, 0), (4, 0), (4, 2), (0, 2)]], hatch="///").get_hatch()
    '///'
    """

    def draw(self, renderer) -> None:
        """Fill the bars, lay the pattern down in them, and draw their outlines."""
        if not isinstance(renderer, RendererAgg):
            super().draw(renderer)
            return
        if not self.get_visible():
            return
        (face,), (ink,), (wide,) = self.get_facecolor(), self.get_hatchcolor(), self.get_linewidth()
        pattern = _pattern(self.get_hatch(), tuple(ink), self.get_hatch_linewidth(), renderer.dpi)
        up = Affine2D().scale(1, -1).translate(0, renderer.height)
        on_page = self.get_transform() + up  # counted downwards, as where bars are set to whole pixels
        brush = renderer.new_gc()
        brush.set_clip_rectangle(self.clipbox)
        brush.set_linewidth(0)
        brush.set_snap(False)  # it is done
        for path in self.get_paths():
            bar = path.cleaned(on_page, stroke_width=renderer.points_to_pixels(wide), snap=None).vertices[:4]
            (left, top), (right, low) = bar.min(axis=0), bar.max(axis=0)
            place = Affine2D().scale(right - left, low - top).translate(left, top) + up
            brush.set_clip_path(None)
            renderer.draw_path(brush, _UNIT, place, tuple(face))
            brush.set_clip_path(TransformedPath(_UNIT, place))
            _lay(pattern, (left, right, top, low), renderer, brush)
        brush.restore()
        outlines = copy(self)
        outlines.set_facecolor(_CLEAR)
        outlines.set_hatch("")
        PolyCollection.draw(outlines, renderer)
        self.stale = False


def _lay(pattern: np.ndarray, box, renderer, brush) -> None:
    """Lay the pattern on the pixels of a box, as far as the brush's clip path lets it."""
    left, right, top, low = box
    left, top = max(floor(left), 0), max(floor(top), 0)
    columns = np.arange(left, min(ceil(right), int(renderer.width))) % len(pattern)
    rows = np.arange(top, min(ceil(low), int(renderer.height))) % len(pattern)
    if len(rows) and len(columns):
        inside = pattern.take(rows[::-1], axis=0).take(columns, axis=1)
        renderer.draw_image(brush, left, renderer.height - top - len(rows), inside)


@lru_cache(maxsize=100)
def _pattern(hatch: str, ink: tuple, width_pt: float, dpi: float) -> np.ndarray:
    """The pixels of an inch each way, after which the pattern comes again."""
    side = int(dpi)
    page = RendererAgg(side, side, dpi)
    brush = page.new_gc()
    brush.set_linewidth(0)
    brush.set_hatch(hatch)
    brush.set_hatch_color(ink)
    brush.set_hatch_linewidth(width_pt)
    page.draw_path(brush, Path(side * Path.unit_rectangle().vertices), IdentityTransform())
    return np.array(page.buffer_rgba())
