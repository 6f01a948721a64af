"""The panel with the answer sheets, used as the page uses it."""

from html import escape

import pytest
from test_panels_exercise import press_enter, shown
from test_panels_progress import said
from test_teaching_pages import NOTEBOOKS, page_file

from mechlib.errors import MechError
from mechlib.panels.answer_sheet import answer_sheets
from mechlib.panels.exercise import exercise_box
from mechlib.teaching.answer_sheet import page_sheet
from mechlib.teaching.by_page import EXERCISES


def test_every_lesson_is_in_the_list_by_number_and_title():
    panel = answer_sheets(notebooks=str(NOTEBOOKS))
    labels = [label for label, _ in panel.controls["lesson"].options]
    assert len(labels) == len(EXERCISES) and labels[1] == "02 Read a gear train"
    assert panel.controls["lesson"].description == "lesson"
    assert panel.controls["numbers"].description == "numbers"


def test_the_sheet_is_that_of_the_lesson_and_the_numbers_chosen(tmp_path):
    page_file(tmp_path)
    panel = answer_sheets(notebooks=str(tmp_path))
    assert [label for label, _ in panel.controls["lesson"].options][:3] == ["01", "02 Read a thing", "03"]
    assert repr(panel) == page_sheet(1, 1)
    panel.controls["lesson"].value = 14
    panel.controls["numbers"].value = 7
    assert panel._repr_mimebundle_()["text/plain"] == page_sheet(14, 7)
    assert escape(page_sheet(14, 7)) in panel.sheet.value
    assert shown(panel) == "Page 14, 4 exercises with the numbers 7." and panel.error is None
    assert exercise_box(EXERCISES[14][0], 7).text in " ".join(panel.text.split())


def test_without_the_pages_there_are_still_their_numbers(tmp_path):
    panel = answer_sheets(notebooks=str(tmp_path / "none"))
    assert [label for label, _ in panel.controls["lesson"].options][:2] == ["01", "02"]


@pytest.mark.parametrize(("page", "numbers"), [(0, 1), (99, 1), (1, -1), (1, 10**9 + 1)])
def test_what_there_is_no_sheet_for_is_refused(page, numbers):
    with pytest.raises(MechError):
        answer_sheets(page, numbers)


def test_the_last_numbers_can_be_had(tmp_path):
    panel = answer_sheets(1, 10**9, str(tmp_path))
    assert panel.text == page_sheet(1, 10**9) and panel.error is None


def test_the_sheet_is_saved_as_text_and_never_over_another_file(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = answer_sheets(notebooks=str(tmp_path))
    panel.controls["lesson"].value, panel.controls["numbers"].value = 2, 7
    for name in ("answers-02-7.txt", "answers-02-7-2.txt"):
        panel.save_button.click()
        assert said(panel.note) == f"Saved as {name}."
        assert (tmp_path / name).read_text("utf-8-sig") == page_sheet(2, 7) + "\n"
    panel.controls["numbers"].value = 8
    assert panel.note.value == "" and panel.controls["file name"].value == "answers-02-8.txt"
    for bad in ("sheet.pdf", "", "none/sheet.txt", "a\0.txt"):
        panel.controls["file name"].value = bad
        press_enter(panel.controls["file name"])
        assert said(panel.note).startswith("Not saved: ") and panel.error is None
