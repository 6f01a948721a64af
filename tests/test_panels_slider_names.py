"""The script is shown before a box with sliders, however deep they are, and before no other."""

import ipywidgets as widgets
import pytest

from mechlib.panels.base import Told
from mechlib.panels.slider_names import SCRIPT


@pytest.mark.parametrize("slider", [widgets.IntSlider, widgets.FloatSlider])
def test_a_box_with_a_slider_is_shown_after_the_script(slider, monkeypatch):
    shown = []
    monkeypatch.setattr("mechlib.panels.slider_names.display", lambda data, raw: shown.append(data))
    with pytest.raises(NotImplementedError):  # so that what shows any box goes on
        Told("a box", [widgets.HBox([slider()])])._ipython_display_()
    assert shown == [{"application/javascript": SCRIPT}]


def test_a_box_without_a_slider_brings_no_script(monkeypatch):
    monkeypatch.setattr("mechlib.panels.slider_names.display", pytest.fail)
    with pytest.raises(NotImplementedError):
        Told("a box", [widgets.HBox([widgets.Text()])])._ipython_display_()
