"""The figure of a live panel once more, as a notebook would show it under ``interact``."""

import matplotlib.pyplot as plt
from IPython import get_ipython
from ipywidgets import VBox, interact

from mechlib.draw import style
from mechlib.panels.base import Panel, _widgets


def beside_interact(box: VBox) -> None:
    """Show sliders of the same ranges whose every step draws the panel's figure anew, inline.

    ``box``: the panel, or what holds it.
    """
    get_ipython().run_line_magic("matplotlib", "inline")
    panel = _panel_in(box)
    picture = panel.picture

    def redraw(**values):
        result = picture.compute(**values)
        with style.look():
            dpi = style.PIXELS_PER_INCH
            page = plt.figure(figsize=[px / dpi for px in picture.size_px], dpi=dpi)
            picture.scene.update(picture.scene.create(page, result, **picture.limits), result)
            plt.show()

    interact(redraw, **_widgets(panel.ranges, picture.values))


def _panel_in(box) -> Panel | None:
    if isinstance(box, Panel) and box.ranges:
        return box
    return next(filter(None, map(_panel_in, getattr(box, "children", ()))), None)
