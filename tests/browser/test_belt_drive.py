"""The lesson on belts and tape speed in a real page, its panel moved from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.panels.belt_drive import CONTROLS, belt_drive

LESSON = "07_set_belts_capstan_and_tape_speed.ipynb"
# What is pressed, one step after the other, and the value that it should give.
STEPS = (
    ("load_Nmm", "ArrowRight", 2.6),
    ("thickness_mm", "ArrowRight", 1.3),
    ("friction", "Home", 0.05),
    ("load_Nmm", "End", 25.0),
    ("kind", "ArrowDown", "flat"),
)


def test_every_kind_of_control_moves_picture_sentence_and_list(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    picture, sentence, listed = panel.locator("> img"), panel.locator("[role=status]"), panel.locator("pre")
    here = belt_drive()
    for name, key, value in STEPS:
        choice = name == "kind"
        handle = panel.locator("select").first if choice else lesson.slider(CONTROLS[name].title)
        if choice:  # open the list first: the notebook takes a bare arrow for itself
            handle.press("Alt+ArrowDown")
            handle.press(key)
            key = "Enter"
        lesson.move(handle, key, picture)
        here.controls[name].value = value
        expect(sentence.first).to_have_text(here.text)
        expect(listed).to_have_text(here.listed)  # waits; then with every space
        expect(listed).to_have_js_property("textContent", here.listed)
        expect(picture).to_have_attribute("title", here.text)
    assert not [label for label in panel.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    assert here.error is None
    every_panel_follows(lesson)
