"""The lesson on an unknown gear in a real page, its panel moved from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.bench.measured_gear import CONTROLS
from mechlib.panels.measured_gear import gear_in_hand

LESSON = "12_measure_an_unknown_gear.ipynb"
# What is pressed, one step after the other, and the value that it should give.
STEPS = (("teeth", "ArrowRight", 21), ("outside_mm", "ArrowLeft", 34.89), ("made_to", "ArrowDown", None))


def test_first_and_last_control_move_picture_sentence_and_list(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    picture, sentence, listed = panel.locator("> img"), panel.locator("[role=status]"), panel.locator("pre")
    here = gear_in_hand(outside_mm=34.9)
    for name, key, value in STEPS:
        handle = lesson.slider(CONTROLS[name].title) if value else panel.locator("select").first
        if value is None:  # open the list first: the notebook takes a bare arrow for itself
            handle.press("Alt+ArrowDown")
            handle.press(key)
            key, value = "Enter", CONTROLS[name].options[1]
        lesson.move(handle, key, picture)
        here.controls[name].value = value
        expect(sentence.first).to_have_text(here.text)
        expect(listed).to_have_text(here.listed)
    assert not [label for label in panel.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    assert here.error is None
    every_panel_follows(lesson)


def test_a_number_typed_beside_a_slider_may_have_a_comma(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    number = (
        panel.locator(".widget-slider")
        .filter(has_text=CONTROLS["outside_mm"].title)
        .locator(".widget-readout")
    )
    here = gear_in_hand(outside_mm=34.9)
    for typed, value in (("34,62", 34.62), ("34,75", 34.75), ("34.8", 34.8)):
        number.fill(typed)
        number.blur() if value == 34.75 else number.press("Enter")  # or to another place in the page
        here.controls["outside_mm"].value = value
        expect(panel.locator("[role=status]").first).to_have_text(here.text)
        expect(number).to_have_text(f"{value:.2f}")
    assert lesson.faults == []
