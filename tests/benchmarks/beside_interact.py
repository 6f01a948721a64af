"""The figure of a live panel once more, as a notebook would show it under ``interact``."""

import matplotlib.pyplot as plt
from IPython import get_ipython
from ipywidgets import interact

from mechlib.draw import style
from mechlib.panels.base import Panel, _widgets


def beside_interact(panel: Panel) -> None:
    """Show sliders of the same ranges whose every step draws the panel's figure anew, inline."""
    get_ipython().run_line_magic("matplotlib", "inline")
    picture = panel.picture

    def redraw(**values):
        result = picture.compute(**values)
        with style.look():
            dpi = style.PIXELS_PER_INCH
            page = plt.figure(figsize=[px / dpi for px in picture.size_px], dpi=dpi)
            picture.scene.update(picture.scene.create(page, result, **picture.limits), result)
            plt.show()

    interact(redraw, **_widgets(panel.ranges, picture.values))
