"""The form for a transport of one's own in a real page, from the keyboard: type, tick, add, undo, save."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.panels.own_transport import own_transport
from mechlib.transports import load

LESSON = "11_enter_your_own_transport.ipynb"


def box(form, label: str, nth: int = 0):
    """The input with a label."""
    row = form.locator(".widget-inline-hbox, .widget-dropdown, .widget-text, .widget-textarea").filter(
        has=form.page.get_by_text(label, exact=True)
    )
    return row.locator("input, textarea, select").nth(nth)


def told(form):
    """The line that says how the machine stands."""
    return form.locator("> .widget-html [role=status]").first


def with_three_contacts() -> str:
    return own_transport().text.replace("2 contacts", "3 contacts")


def type_and_take_back(form) -> None:
    here, stop = own_transport(), box(form, "stop in the loading sense")
    stop.fill("20")
    stop.press("Tab")
    here.enter("Main gear and travel", "stop in the loading sense", "20")
    expect(told(form)).to_have_text(here.text)
    expect(stop).to_have_value("20 teeth")  # what was understood
    expect(box(form, "coasting")).to_be_focused()  # and Tab goes on to the next box
    expect(form.get_by_role("button", name="modes ✗")).to_be_visible()
    form.get_by_role("button", name="Undo").press("Enter")
    expect(stop).to_have_value("37 teeth")
    expect(told(form)).to_have_text(own_transport().text)


def add_a_contact(form) -> None:
    form.get_by_role("button", name="contacts").press("Enter")
    form.get_by_role("button", name="Add a contact").press("Enter")
    expect(form.get_by_text("contact 3: no name yet")).to_be_visible()
    form.page.keyboard.type("C")  # the first box of what was added has the focus
    form.page.keyboard.press("Tab")
    expect(form.get_by_text("contact 3: C")).to_be_visible()
    form.page.keyboard.type("3 5")
    form.page.keyboard.press("Tab")
    expect(told(form)).to_have_text(with_three_contacts())


def tick_and_untick(form) -> None:
    form.get_by_role("button", name="modes").press("Enter")
    tick = form.get_by_label("contact C").first
    tick.press("Space")
    expect(form.get_by_text("these contacts never are closed together").first).to_be_visible()
    tick.press("Space")
    expect(told(form)).to_have_text(with_three_contacts())


def test_the_form_is_filled_in_by_keyboard(open_notebook, jupyter):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    forms = lesson.widgets(".widget-vbox:has(> .widget-hbox button:text('Read it in'))")
    expect(forms).to_have_count(2)  # the first is the one with mistakes
    form = forms.last
    type_and_take_back(form)
    add_a_contact(form)
    tick_and_untick(form)
    for page in ("machine", "parts", "followers", "motor"):
        form.get_by_role("button", name=page).press("Enter")
        expect(form.get_by_text(f"Page {page}: ✓")).to_be_visible()
        more = form.get_by_role("button", name="More…")
        for left in reversed(range(more.count())):
            more.first.press("Enter")  # it then says "Less"
            expect(more).to_have_count(left)
        assert not [label for label in form.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    save = form.get_by_role("button", name="Save the file")
    save.press("Enter")
    expect(form.get_by_text("Saved as my_machine.toml, in the folder notebooks, beside this")).to_be_visible()
    saved = load(jupyter.notebooks / "my_machine.toml")
    assert [contact.name for contact in saved.contacts] == ["A", "B", "C"]
    save.press("Enter")
    expect(form.get_by_text("my_machine-2.toml is free")).to_be_visible()
    every_panel_follows(lesson)
