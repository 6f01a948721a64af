"""The lesson on finding a fault in a real page: entered, removed and checked from the keyboard alone."""

import lab
from playwright.sync_api import expect

from mechlib.bench.observations import tried
from mechlib.panels.fault_finding import fault_finding
from mechlib.panels.seen_form import CHOOSE

LESSON = "10_find_the_fault.ipynb"


def choose(handle, key: str) -> None:
    """Open a list, press a key in it, and take what it gives."""
    handle.press("Alt+ArrowDown")  # open the list first: the notebook takes a bare arrow for itself
    handle.press(key)
    handle.press("Enter")


def see_first_result(seen, here) -> None:
    """Choose the first result below the invitation to choose, in the page and in the panel here."""
    expect(seen.locator("option:checked")).to_have_text(CHOOSE)
    choose(seen, "ArrowDown")
    controls = here.form.controls
    controls["what"].value = controls["what"].options[1]
    expect(seen.locator("option:checked")).to_have_text(controls["what"].value)


def test_a_symptom_is_added_a_check_is_chosen_and_all_of_it_removed(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> .widget-vbox > img)").last
    picture, listed = panel.locator("img"), panel.locator("pre[aria-label^='what was seen']")
    here = fault_finding("dogwood", seen=[tried("OUT", "PLAY", "motor held up, then powered off")])
    expect(listed).to_have_js_property("textContent", here.ranking.listed)
    add = panel.get_by_role("button", name="Add what was seen")
    before = picture.get_attribute("src")
    seen = panel.locator(".widget-dropdown:has(label:text-is('what was seen')) select")
    see_first_result(seen, here)
    add.press("Enter")  # the first change in the lists worked
    here.form.add_button.click()
    expect(listed).to_have_text(here.ranking.listed)
    expect(picture).not_to_have_attribute("src", before)
    expect(picture).to_have_attribute("title", here.text)
    for number in (1, 0):
        panel.get_by_role("button", name=here.check_buttons[number].description, exact=True).press("Enter")
        here.check_buttons[number].click()
        for name in ("start", "target"):
            control = here.form.controls[name]
            chosen = panel.locator(f".widget-dropdown:has(label:text-is('{control.description}')) select")
            expect(chosen.locator("option:checked")).to_have_text(control.value)
    see_first_result(seen, here)
    sure = panel.locator(".widget-dropdown:has(label:text-is('how sure')) select")
    choose(sure, "ArrowDown")
    here.form.controls["sure"].value = "quite sure"
    expect(sure.locator("option:checked")).to_have_text("quite sure")
    add.press("Enter")
    here.form.add_button.click()
    expect(listed).to_have_text(here.ranking.listed)
    for number in (3, 2, 1):
        panel.get_by_role("button", name=f"Remove {number}").press("Enter")
        here.remove_buttons[number - 1].click()
        expect(listed).to_have_text(here.ranking.listed)
    expect(panel.get_by_text("Nothing is entered yet.")).to_be_visible()
    assert not [
        label for label in panel.locator(".widget-label:visible").all() if label.evaluate(lab.CUT_OFF)
    ]
    assert lesson.faults == [] and here.error is None
