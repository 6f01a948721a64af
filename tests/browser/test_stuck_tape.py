"""The lesson on a stuck tape in a real page, its lists moved from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.panels.stuck_tape import stuck_tape

LESSON = "09_get_a_stuck_tape_out_by_hand.ipynb"
# Which list, what is pressed in it, and the value that it should give.
STEPS = (
    ("mode wanted", "ArrowDown", "DOWN"),
    ("pinch lever", "ArrowDown", "pressed"),
    ("contact C", "ArrowUp", "closed"),
    ("loading arms", "ArrowDown", "home"),  # doesn't go together with the rest
)


def test_every_list_moves_picture_sentence_and_steps(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> img)")
    picture, sentence, listed = panel.locator("> img"), panel.locator("[role=status]"), panel.locator("pre")
    here = stuck_tape("alder", seen={"pinch lever": "ready", "contact C": "open"})
    for name, key, value in STEPS:
        handle = panel.locator("select").nth(list(here.controls).index(name))
        handle.press("Alt+ArrowDown")  # open the list first: the notebook takes a bare arrow for itself
        handle.press(key)
        lesson.move(handle, "Enter", picture)
        here.controls[name].value = value
        expect(sentence.first).to_have_text(here.text)
        expect(listed).to_have_js_property("textContent", here.listed)
        expect(picture).to_have_attribute("title", here.text)
    assert not [label for label in panel.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    assert here.error is None
    every_panel_follows(lesson)
