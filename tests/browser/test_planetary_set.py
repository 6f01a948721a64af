"""The lesson on planetary sets in a real page, its panel moved from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.panels.planetary import CONTROLS, planetary_set

LESSON = "03_follow_power_through_a_planetary_set.ipynb"
# What is pressed, one step after the other, and the value that it should give.
STEPS = (
    ("ring_Nmm", "End", 300),
    ("rev_min", "ArrowLeft", 115),
    ("seconds", "End", 2.0),
    ("planets", "ArrowLeft", 3),
    ("held", "ArrowDown", "sun"),
)


def test_every_kind_of_control_moves_picture_sentence_and_list(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    picture, sentence, listed = panel.locator("> img"), panel.locator("[role=status]"), panel.locator("pre")
    here = planetary_set()
    for name, key, value in STEPS:
        handle = panel.locator("select") if name == "held" else lesson.slider(CONTROLS[name].title)
        if name == "held":  # open the list first: the notebook takes a bare arrow for itself
            handle.press("Alt+ArrowDown")
            handle.press(key)
            key = "Enter"
        lesson.move(handle, key, picture)
        here.controls[name].value = value
        expect(sentence.first).to_have_text(here.text)
        expect(listed).to_have_js_property("textContent", here.listed)
        expect(picture).to_have_attribute("title", here.text)
    assert not [label for label in panel.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    assert here.error is None
    every_panel_follows(lesson)
