"""The lesson on a substitute gear in a real page: turn, choose a row, upload a list, save an outline."""

import lab
from playwright.sync_api import expect
from walk import every_panel_follows

from mechlib.bench.stock import read_stock
from mechlib.panels.substitute import find_substitute

LESSON = "13_work_out_a_substitute_gear.ipynb"
TOO_WIDE = """list => {
    const style = getComputedStyle(list), pen = document.createElement('canvas').getContext('2d');
    pen.font = style.font;
    const room = list.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
    return [...list.options].map(one => one.text).filter(text => pen.measureText(text).width > room);
}"""
BROKEN_WORDS = """texts => texts.flatMap(text => {
    const walker = document.createTreeWalker(text, NodeFilter.SHOW_TEXT), range = document.createRange();
    const found = [];
    while (walker.nextNode()) {
        for (const word of walker.currentNode.data.matchAll(/[\\w.−]+/gu)) {
            range.setStart(walker.currentNode, word.index);
            range.setEnd(walker.currentNode, word.index + word[0].length);
            if (new Set([...range.getClientRects()].map(box => box.top)).size > 1) found.push(word[0]);
        }
    }
    return found;
})"""
OWN = "name;teeth;module_mm;bore_mm;width_mm;count\nshelf;24;0,5;2;3;1\nbad;x;0,5;2;3;1\n"


def test_the_panel_turns_tells_reads_and_saves(open_notebook, jupyter):
    lesson = open_notebook(LESSON)
    lesson.run_all()
    here = find_substitute("capstan wheel of a cassette deck")
    picture = lesson.widgets(".widget-vbox > img").first
    lists = lesson.page.locator(".widget-dropdown").filter(has_text="teeth are cut to").locator("select")
    printed = lesson.page.locator(".jp-RenderedText pre")
    assert printed.count() > 5 and printed.evaluate_all(BROKEN_WORDS) == []
    assert [one.evaluate(TOO_WIDE) for one in lists.all()] == [[]]
    slider = lesson.slider("turn of the substitute")
    for key in ("End", "PageDown", "ArrowLeft"):
        lesson.move(slider, key, picture)
    rows = lesson.page.locator(".widget-dropdown").filter(has=lesson.page.get_by_text("show", exact=True))
    rows.locator("select").select_option(index=6)
    here.row_list.value = 6
    expect(lesson.page.get_by_text(here.row.sentence(), exact=False).first).to_be_visible()
    list_file = {"name": "shelf.csv", "mimeType": "text/csv", "buffer": OWN.encode()}
    with lesson.page.expect_file_chooser() as chooser:
        lesson.page.locator("button", has_text="Upload a list").click()
    chooser.value.set_files(list_file)
    expect(lesson.page.get_by_text(f"Shelf.csv: {read_stock(OWN).sentence()}")).to_be_visible()
    expect(rows.locator("option").first).to_have_text("1. shelf, 24 teeth, module 0.5: fits")
    lesson.page.get_by_role("button", name="Save outline (.svg)").last.click()
    expect(lesson.page.get_by_text("Saved as gear_18_teeth.svg.")).to_be_visible()
    assert 'id="outline"' in (jupyter.notebooks / "gear_18_teeth.svg").read_text()
    assert not [label for label in lesson.page.locator(".widget-label").all() if label.evaluate(lab.CUT_OFF)]
    assert here.error is None
    every_panel_follows(lesson)
