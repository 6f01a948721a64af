"""The lesson on cams in a real page, its panel moved from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.bench.cam_trial import CONTROLS
from mechlib.panels.cam_trial import cam_trial

LESSON = "04_shape_a_cam_and_its_dwell.ipynb"
# What is pressed, one step after the other, and the value that it should give.
STEPS = (
    ("law_name", "ArrowUp", "modified trapezoidal"),
    ("base_mm", "ArrowRight", 18.5),
    ("move_deg", "Home", 20),
    ("kind", "ArrowDown", "roller on a lever"),
    ("angle_deg", "End", 360),
    ("angle_deg", "ArrowLeft", 359),
)


def test_first_last_and_other_controls_move_picture_and_sentence(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    picture, sentence = panel.locator("> img"), panel.locator("[role=status]")
    assert {STEPS[0][0], STEPS[-1][0]} == {list(CONTROLS)[0], list(CONTROLS)[-1]}
    here = cam_trial()
    for name, key, value in STEPS:
        if name in ("law_name", "kind"):  # open the list first: the notebook takes a bare arrow for itself
            handle = panel.locator("select").nth(list(CONTROLS).index(name))
            handle.press("Alt+ArrowDown")
            handle.press(key)
            key = "Enter"
        else:
            handle = lesson.slider(CONTROLS[name].title)
        lesson.move(handle, key, picture)
        here.controls[name].value = value
        expect(sentence.first).to_have_text(here.text)
        expect(picture).to_have_attribute("title", here.text)
    box, place = picture.bounding_box(), panel.bounding_box()
    assert box["x"] + box["width"] <= place["x"] + place["width"]
    assert not [label for label in panel.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    assert here.error is None
    every_panel_follows(lesson)
