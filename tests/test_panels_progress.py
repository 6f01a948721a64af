"""The box on the start page, used as the page uses it."""

from test_panels_exercise import press_enter, shown
from test_teaching_pages import page_file

from mechlib.panels.progress import ProgressBox, progress_box, table_html
from mechlib.teaching.progress import Progress

CONSTANT = "What you have done, page by page: it is shown here once the cell has run."


def box_of(tmp_path):
    page_file(tmp_path)
    return ProgressBox(tmp_path, Progress(tmp_path / "progress"))


def said(widget) -> str:
    return widget.value.removeprefix('<div role="status" aria-live="polite">').removesuffix("</div>")


def test_its_text_form_never_changes(tmp_path):
    box = box_of(tmp_path)
    before = box._repr_mimebundle_()["text/plain"]
    Progress(tmp_path / "progress").checked("trains", "Worm", 1, "right")
    box.look_button.click()
    assert before == repr(box) == repr(progress_box("nowhere")) == CONSTANT


def test_it_shows_what_is_done_and_looks_again(tmp_path):
    box = box_of(tmp_path)
    assert shown(box) == "You: 0 of 2 exercises right; guesses made: 0. Go on with: Read a thing."
    other = Progress(tmp_path / "progress")
    other.checked("trains", "Worm", 1, "right")
    other.guessed("Which way round?", "left")
    assert "1 of 2" not in box.table.value
    box.look_button.click()
    assert shown(box).startswith("You: 1 of 2 exercises right; guesses made: 1.")
    assert ">1 of 2<" in box.table.value and ">1 of 1<" in box.table.value and box.error is None


def test_a_name_starts_a_count_of_its_own(tmp_path):
    Progress(tmp_path / "progress").checked("trains", "Worm", 1, "right")
    box = box_of(tmp_path)
    box.name.value = " Ann <b> "
    box.name_button.click()
    assert said(box.note) == "From now on you are “Ann &lt;b&gt;” here." and box.name.value == "Ann <b>"
    assert shown(box).startswith("Ann &lt;b&gt;: 0 of 2")
    box.name.value = "x" * 41
    press_enter(box.name)
    assert said(box.note).startswith("Not taken: ") and box.error is None
    assert box_of(tmp_path).name.value == "Ann <b>"


def test_what_cannot_be_read_or_written_is_said(tmp_path):
    (tmp_path / "progress").mkdir()
    (tmp_path / "progress" / "old.jsonl").write_text("rubbish")
    assert "old.jsonl holds no progress" in shown(box_of(tmp_path))
    (tmp_path / "03_torn.ipynb").write_text("torn")
    assert "03_torn.ipynb can&#x27;t be read as a page: left out" in shown(box_of(tmp_path))
    lost = ProgressBox(tmp_path / "none", Progress(None))
    assert shown(lost).startswith("Not shown: no pages in") and lost.error is None
    lost.name_button.click()
    assert "switched off" in lost.note.value


def test_a_table_can_be_read_out_by_rows_and_columns():
    html = table_html("All", ("page", "done"), [("<i>", "1 of 2")])
    assert html.count('scope="col"') == 2 and html.count('scope="row"') == 1 and "<caption" in html
    assert "&lt;i&gt;" in html
    assert table_html("A < B", ("page",), []) == "<strong>A &lt; B</strong><br>nothing yet"
