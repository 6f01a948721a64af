"""The lesson on dwell and mode timing in a real page, its panel moved from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.bench import trial_ranges
from mechlib.panels.dwell_trial import dwell_trial
from mechlib.transports import load

LESSON = "05_see_how_dwell_sets_mode_timing.ipynb"
ASKED = ("PLAY", "reel idler")
# What is pressed, one step after the other, and the value that it should give.
STEPS = (
    ("length_deg", "End", 36),
    ("length_deg", "ArrowLeft", 35.8),
    ("contact_deg", "End", 48),
    ("coast_deg", "Home", 0),
    ("length_deg", "Home", 0.2),
    ("move_deg", "ArrowRight", 0.2),
    ("law_name", "ArrowDown", "constant velocity"),
)


def test_every_kind_of_control_moves_picture_sentence_and_list(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    picture, sentence, listed = panel.locator("> img"), panel.locator("[role=status]"), panel.locator("pre")
    controls, here = trial_ranges(load("alder"), *ASKED), dwell_trial("alder", *ASKED)
    for name, key, value in STEPS:
        handle = panel.locator("select") if name == "law_name" else lesson.slider(controls[name].title)
        if name == "law_name":  # open the list first: the notebook takes a bare arrow for itself
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
