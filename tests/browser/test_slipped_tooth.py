"""The lesson on a slipped tooth in a real page, each control moved from the keyboard."""

import hashlib

import lab
import pytest
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.panels.slipped_tooth import slipped_tooth

LESSON = "01_see_how_one_tooth_shifts_the_timing.ipynb"
START = {"mesh": "mode switch", "teeth": 1, "theta_deg": 0.0}  # as the lesson calls the panel
# What is pressed, one step after the other, and the value that it should give.
STEPS = (
    ("teeth", "ArrowLeft", 0),
    ("teeth", "ArrowLeft", -1),
    ("mesh", "ArrowDown", "loading gear"),
    ("theta_deg", "ArrowRight", 0.5),
    ("theta_deg", "End", 268.0),
    ("teeth", "Home", -4),
    ("mesh", "ArrowUp", "mode switch"),
)
SHOWS = """async ([picture, wanted]) => {
    const file = await (await fetch(picture.src)).arrayBuffer();
    const sum = new Uint8Array(await crypto.subtle.digest('SHA-256', file));
    return Array.from(sum, byte => byte.toString(16).padStart(2, '0')).join('') === wanted;
}"""


@pytest.fixture(scope="module")
def lesson(chromium, jupyter):
    """The lesson, opened and run once for all tests here: they leave the mesh as they find it."""
    notebook = lab.OpenNotebook(chromium, jupyter, LESSON)
    notebook.run_all()
    yield notebook
    notebook.close()


def test_every_control_moves_picture_sentence_and_list(lesson):
    panel = lesson.widgets(".widget-vbox:has(> img)").first  # the card has a picture, too
    picture, sentence, listed = panel.locator("> img"), panel.locator("[role=status]"), panel.locator("pre")
    handles = {
        "mesh": panel.locator("select"),
        "teeth": lesson.slider("teeth ahead (+) / behind (−)"),
        "theta_deg": lesson.slider("cursor θ (°)"),
    }
    here = slipped_tooth("alder", **START)
    for name, key, value in (("teeth", None, START["teeth"]), *STEPS):
        if name == "mesh":  # open the list first: the notebook takes a bare arrow for itself
            handles[name].press("Alt+ArrowDown")
            handles[name].press(key)
            key = "Enter"
        if key:
            lesson.move(handles[name], key, picture)
        here.controls[name].value = value
        expect(sentence.first).to_have_text(here.text)
        expect(listed).to_have_text(here.listed)
        expect(listed).to_have_js_property("textContent", here.listed)  # line by line
        expect(picture).to_have_attribute("title", here.text)
        sharp = here.picture.frame(scale=2)  # to the byte, once the hand has come to rest
        wanted = hashlib.sha256(sharp).hexdigest()
        lesson.page.wait_for_function(SHOWS, arg=[picture.element_handle(), wanted])
    assert lesson.faults == [] and here.error is None


def test_the_panel_fits_its_place(lesson):
    panel = lesson.widgets(".widget-vbox:has(> img)").first  # the card has a picture, too
    lesson.page.wait_for_function("picture => picture.complete", arg=panel.locator("> img").element_handle())
    box, place = (panel.locator(at).bounding_box() for at in ("> img", "xpath=."))
    assert box["width"] == 1080 and box["x"] + box["width"] <= place["x"] + place["width"]
    labels = panel.locator(".widget-label")
    assert labels.count() >= 3
    assert not [label for label in labels.all() if label.evaluate(lab.CUT_OFF)]
    here, heights = slipped_tooth("alder", **START), set()
    for key, teeth in (("End", 4), ("ArrowLeft", 3), ("Home", -4)):
        lesson.move(lesson.slider("teeth ahead"), key, panel.locator("> img"))
        here.controls["teeth"].value = teeth
        expect(panel.locator("pre")).to_have_text(here.listed)
        heights.add(panel.locator("pre").evaluate("listed => listed.offsetHeight"))
    assert len(heights) == 1  # however many changes fail, the page doesn't jump
    every_panel_follows(lesson)
