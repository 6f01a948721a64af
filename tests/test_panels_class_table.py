"""The trainer's box, used as the page uses it."""

import csv

import pytest
from test_panels_exercise import press_enter, shown
from test_panels_progress import said
from test_teaching_pages import page_file

from mechlib.panels.class_table import ClassBox, class_box
from mechlib.teaching.records import Check, written


@pytest.fixture
def box(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    page_file(tmp_path)
    (tmp_path / "class").mkdir()
    slips = [Check(f"2031-03-01T10:00:0{at}", "Änn <b>", "trains", "Worm", at, "sign lost") for at in (1, 2)]
    (tmp_path / "class" / "a.jsonl").write_text("\n".join(map(written, slips)), encoding="utf-8")
    (tmp_path / "class" / "b.jsonl").write_text("rubbish")
    return class_box()


def test_it_reads_a_folder_into_three_tables(box, tmp_path):
    assert repr(box) == "The class at a glance: give the folder with the progress files and press Read."
    assert box.save_button.disabled and box.tables.value == ""
    (tmp_path / "03_torn.ipynb").write_text("torn")
    box.read_button.click()
    assert "03_torn.ipynb can&#x27;t be read as a page: left out" in shown(box)
    assert shown(box).startswith("1 reader; 0 exercises right in all. Most made: “sign lost” (Worm).")
    assert "b.jsonl holds no progress" in shown(box)
    assert box.tables.value.count("<table") == 3
    assert "Änn &lt;b&gt;" in box.tables.value and not box.save_button.disabled and box.error is None


def test_a_folder_that_is_not_there_is_said_and_nothing_old_left(box):
    box.read_button.click()
    box.place.value = "nowhere"
    box.read_button.click()
    assert shown(box).startswith("Not read: there is no folder “nowhere”")
    assert box.tables.value == "" and box.result is None and box.save_button.disabled
    lost = ClassBox("class", box.notebooks / "none")
    lost.read_button.click()
    assert shown(lost).startswith("Not read: no pages")


def test_enter_does_what_the_buttons_do(box, tmp_path):
    press_enter(box.file_name)
    assert not (tmp_path / "class.csv").exists() and box.note.value == ""  # nothing is read yet
    press_enter(box.place)
    press_enter(box.file_name)
    assert (tmp_path / "class.csv").exists() and box.error is None


def test_it_saves_csv_and_never_over_another_file(box, tmp_path):
    box.read_button.click()
    for name in ("class.csv", "class-2.csv"):
        box.save_button.click()
        assert said(box.note) == f"Saved as {name}."
        with open(tmp_path / name, encoding="utf-8-sig", newline="") as file:
            assert [row["reader"] for row in csv.DictReader(file)] == ["Änn <b>"]
    for bad in ("class.txt", "", "none/class.csv", "a\0.csv"):
        box.file_name.value = bad
        box.save_button.click()
        assert said(box.note).startswith("Not saved: ") and box.error is None


def test_the_three_tables_are_saved_as_text_to_print(box, tmp_path):
    assert box.text_button.disabled
    box.read_button.click()
    for name in ("class.txt", "class-2.txt"):
        box.text_button.click()
        assert said(box.note) == f"Saved as {name}."
        assert (tmp_path / name).read_text("utf-8-sig") == box.result.text() + "\n"
    box.file_name.value = ""
    box.text_button.click()
    assert said(box.note).startswith("Not saved: ") and box.error is None
    box.place.value = "nowhere"
    box.read_button.click()
    assert box.text_button.disabled
