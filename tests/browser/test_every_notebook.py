"""Every notebook in a real page: no error, nothing fetched from outside, every panel follows its controls.

Of each panel (exercises are some, too) the first and the last control is moved from the keyboard: of sliders
and lists where there are any, else of boxes to type in, which end with Enter.
"""

import shutil

import lab
import pytest
from nbformat.v4 import new_code_cell, new_notebook
from refresh_notebooks import canonical

FAULTY_CELLS = [
    "import sys; print('a warning', file=sys.stderr)",
    "from IPython.display import HTML, Javascript; HTML('<img src=\"https://example.invalid/x.png\">')",
    "Javascript('console.error(\"a broken script\")')",
    "1 / 0",
    "print('never run')",
]


# The outermost boxes, and how many controls each has that can be used now; what changes there when they are:
# the picture or the words below it, in a form without a picture also what is typed or chosen.
PANELS = """() => {
  const shown = each => each.offsetParent && !each.disabled;
  const boxes = [...document.querySelectorAll(".jp-OutputArea-output .widget-vbox")]
    .filter(box => !box.parentElement.closest(".widget-vbox"));
  return boxes.map((box, at) => {
    const find = query => [...box.querySelectorAll(query)].filter(shown);
    let controls = find(".noUi-handle, select");
    if (!controls.length) controls = find("input[type=radio]");
    if (!controls.length) controls = find("input[type=text], input[type=number], textarea");
    box.dataset.panel = at;
    controls.forEach((each, number) => { each.dataset.control = number; });
    return controls.length;
  });
}"""
SHOWN = """at => {
  const box = document.querySelector(`[data-panel="${at}"]`);
  const seen = query => [...box.querySelectorAll(query)];
  const typed = seen("img").length ? [] : seen("input, select, textarea");
  return box.textContent + seen("img").map(each => each.src) + typed.map(each => [each.value, each.checked]);
}"""
CHANGED = f"([at, before]) => ({SHOWN})(at) !== before"
# A slider's handle has no name of its own (ipywidgets gives none); the words beside it say what it is.
NAMELESS = """() => [...document.querySelectorAll(
  ".jp-OutputArea-output :is(input, select, textarea, button, .widget-slider)"
)].filter(each => each.offsetParent && !(
    each.labels?.length || each.textContent.trim() || each.title || each.ariaLabel
    || each.closest(".widget-radio")
  )).map(each => each.outerHTML.slice(0, 120))"""


def act(control) -> None:
    """Move a control one step from the keyboard; a box gets something to read, and Enter."""
    kind = control.evaluate("each => each.className.includes('noUi-handle') ? 'slider' : each.type")
    if kind == "slider":
        at_end = control.get_attribute("aria-valuenow") == control.get_attribute("aria-valuemax")
        control.press("ArrowLeft" if at_end else "ArrowRight")
    elif kind == "select-one":  # open the list first: the notebook takes a bare arrow for itself
        last = control.evaluate("each => each.selectedIndex === each.options.length - 1")
        for key in ("Alt+ArrowDown", "ArrowUp" if last else "ArrowDown", "Enter"):
            control.press(key)
    elif kind == "radio":
        control.press("Space")
    else:
        control.press("End")
        control.press("7")
        control.press("Enter")


@pytest.fixture
def nothing_done(jupyter):
    """What is done here isn't there for the tests of progress."""
    yield
    shutil.rmtree(jupyter.notebooks / "progress", ignore_errors=True)


@pytest.mark.parametrize("name", sorted(path.name for path in (lab.ROOT / "notebooks").glob("*.ipynb")))
def test_notebook_runs_in_a_page(name, nothing_done, open_notebook):
    notebook = open_notebook(name)
    notebook.run_all()
    page = notebook.page
    assert page.evaluate(NAMELESS) == []
    for at in range(len(page.evaluate(PANELS))):
        for first in (True, False):
            number = page.evaluate(PANELS)[at]
            if not number or number == 1 and not first:
                continue
            before = page.evaluate(SHOWN, at)
            act(page.locator(f'[data-panel="{at}"] [data-control="{0 if first else number - 1}"]'))
            page.wait_for_function(CHANGED, arg=[at, before])
            notebook.come_to_rest()  # a form may be another after its first control was moved
    assert notebook.faults == []


def test_faults_in_a_page_are_seen(jupyter, open_notebook):
    faulty = new_notebook(cells=[new_code_cell(source) for source in FAULTY_CELLS])
    (jupyter.notebooks / "faulty.ipynb").write_text(canonical(faulty), encoding="utf-8")
    notebook = open_notebook("faulty.ipynb")
    notebook.run_all()
    faults = "\n".join(notebook.faults)
    assert "code cell 1, on the error stream: a warning" in faults
    assert "asked for something from outside: https://example.invalid/x.png" in faults
    assert "error on the console: a broken script" in faults
    assert "code cell 4: ZeroDivisionError" in faults
    assert "code cell 5 was not run" in faults
