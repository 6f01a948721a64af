"""Every panel of a notebook that has been run in a page follows its controls.

Of each panel (exercises are some, too) the first and the last control is moved from the keyboard: of sliders
and lists where there are any, else of boxes to type in, which end with Enter.
"""

import shutil

import lab

# The outermost boxes, and how many controls each has that can be used now; what changes there when they are:
# the picture or the words below it, in a form (a picture stands deeper there) also what is typed or chosen.
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
  const typed = seen(":scope > img").length ? [] : seen("input, select, textarea");
  return box.textContent + seen("img").map(each => each.src) + typed.map(each => [each.value, each.checked]);
}"""
CHANGED = f"([at, before]) => ({SHOWN})(at) !== before"
NAMELESS = """() => [...document.querySelectorAll(
  ".jp-OutputArea-output :is(input, select, textarea, button, .noUi-handle, .widget-readout)"
)].filter(each => each.offsetParent && !(
    each.labels?.length || each.title || each.ariaLabel || each.matches("button") && each.textContent.trim()
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


def every_panel_follows(notebook: lab.OpenNotebook) -> None:
    """Move each panel; nothing has gone wrong in the page so far, and nothing does then."""
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
    # What was done here isn't there for the tests of progress.
    shutil.rmtree(notebook.served.notebooks / "progress", ignore_errors=True)
