"""A bench case in a real page, worked from the keyboard."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.bench.checks import Check
from mechlib.teaching.bench_cases import bench_case
from mechlib.teaching.case_work import CaseWork

LESSON = "14_solve_bench_cases.ipynb"
# The last line of what scrolls is within its frame, though the first isn't.
END_IN_SIGHT = """each => {
  const range = document.createRange(), text = each.firstChild, frame = each.getBoundingClientRect();
  range.setStart(text, text.length - 1);
  range.setEnd(text, text.length);
  return each.scrollHeight > each.clientHeight && range.getBoundingClientRect().bottom <= frame.bottom;
}"""


def choose(panel, label, times):
    """Open a list by its label and go down so many entries: the notebook takes a bare arrow for itself."""
    row = panel.locator(".widget-dropdown").filter(has=panel.page.locator(f'label:text-is("{label}")'))
    row.locator("select").press("Alt+ArrowDown")
    for _ in range(times):
        row.locator("select").press("ArrowDown")
    row.locator("select").press("Enter")


def test_a_case_is_worked_from_the_keyboard(open_notebook):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    panel = lesson.widgets(".widget-vbox:has(> .widget-hbox button:text-is('Open this case'))")
    log = panel.get_by_role("region", name="log of the case")
    here = CaseWork(bench_case(1, 40))
    expect(log).to_have_js_property("textContent", here.text())
    choose(panel, "kind of check", 1)
    expect(panel.locator("select").nth(2)).to_contain_text("read contact A")
    for _ in range(5):  # more than the log shows at once
        panel.get_by_role("button", name="Make this check").press("Enter")
        here.check(Check("read a contact", "A"))
        expect(log).to_have_text(here.text())
    choose(panel, "kind of fault", 2)
    expect(panel.locator("select").nth(4)).to_contain_text("A")
    panel.get_by_role("button", name="Mend it and prove it").press("Enter")
    here.mend(here.named("open contact", "A"))
    expect(log).to_have_text(here.text())
    panel.get_by_role("button", name="See the score and the replay").press("Enter")
    replay = panel.get_by_role("region", name="score and replay")
    expect(replay).to_contain_text("THE PLAN'S STEPS")
    assert log.evaluate(END_IN_SIGHT)
    assert not [label for label in panel.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    every_panel_follows(lesson)
