"""The lesson on powering off in a real page, its panel moved from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.bench.effort_trial import effort_ranges
from mechlib.panels.effort import effort_trial
from mechlib.transports import load

LESSON = "06_see_why_it_powers_off.ipynb"
# What is pressed, one step after the other, and the value that it should give.
STEPS = (
    ("grown_percent", "ArrowRight", 0.1),
    ("grown_percent", "End", 8.0),
    ("grown_percent", "Home", 0.0),
    ("voltage_V", "Home", 3.0),
    ("voltage_V", "End", 12.0),
    ("stiff_N", "End", 10.0),
    ("target", "ArrowDown", "SLOW"),
)


def test_every_kind_of_control_moves_picture_sentence_and_list(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    picture, sentence, listed = panel.locator("> img"), panel.locator("[role=status]"), panel.locator("pre")
    here, ranges = effort_trial("alder", start="EJECT", target="PLAY"), effort_ranges(load("alder"))
    for name, key, value in STEPS:
        handle = panel.locator("select").nth(1) if name == "target" else lesson.slider(ranges[name].title)
        if name == "target":  # open the list first: the notebook takes a bare arrow for itself
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
