"""The lesson on the solenoid in a real page, its panel moved from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.panels.solenoid import CONTROLS, solenoid

LESSON = "08_know_the_solenoid_and_its_cut_off.ipynb"
# What is pressed, one step after the other, and the value that it should give.
STEPS = (
    ("pull_s", "ArrowRight", 2.1),
    ("needed_N", "End", 8.0),
    ("ambient_C", "ArrowLeft", 24.0),
    ("voltage_V", "End", 18.0),
    ("pause_s", "Home", 0.1),
)


def test_every_control_moves_picture_sentence_and_list(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    picture, sentence, listed = panel.locator("> img"), panel.locator("[role=status]"), panel.locator("pre")
    here = solenoid()
    for name, key, value in STEPS:
        lesson.move(lesson.slider(CONTROLS[name].title), key, picture)
        here.controls[name].value = value
        expect(sentence.first).to_have_text(here.text)
        expect(listed).to_have_text(here.listed)  # waits; then with every space
        expect(listed).to_have_js_property("textContent", here.listed)
        expect(picture).to_have_attribute("title", here.text)
    assert not [label for label in panel.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    assert here.error is None
    every_panel_follows(lesson)
