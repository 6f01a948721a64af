"""What the pages say of themselves, read from their files without running anything."""

import json
import re
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from mechlib.errors import MechError
from mechlib.teaching.pages import page_of, pages, read_page, unread
from mechlib.teaching.records import Check, Guess

NOTEBOOKS = Path(__file__).resolve().parents[1] / "notebooks"
TOP = (
    "# Read a thing\n\nWhen you have worked through this page you will be able to\n\n- say one thing,\n"
    "- say another, and why.\n\n**You need:** a pencil. **Time:** about 40 minutes; take a break. Invented."
)
CODE = [
    "from mechlib.panels.exercise import exercise_box, predict_box",
    "from mechlib.teaching.trains import TRAINS",
    'question = "Which way " "round?"\nguess = predict_box(Prediction(question))\nguess',
    "exercise_box(TRAINS[0])",
    "exercise_box(TRAINS[1])",
    "%not python",
]


def page_file(folder: Path, name: str = "02_read.ipynb", top: str = TOP, code=CODE) -> Path:
    cells = [new_markdown_cell(top), *(new_code_cell(source) for source in code)]
    (folder / name).write_text(nbformat.writes(new_notebook(cells=cells)), encoding="utf-8")
    return folder / name


def test_a_page_says_what_it_is_and_what_there_is_to_do(tmp_path):
    page = read_page(page_file(tmp_path))
    assert (page.file, page.title, page.time) == ("02_read.ipynb", "Read a thing", "about 40 minutes")
    assert page.goals == ("say one thing", "say another, and why")
    assert (page.exercises, page.guesses, page.is_lesson) == (2, 1, True)
    assert page.sentence() == "Read a thing: about 40 minutes; 2 exercises, 1 to guess."
    by_check = page_of(Check("", "", "trains", "Any", 1, "right"), (page,))
    assert by_check is page and page_of(Guess("", "", "Which way round?", 1.0), (page,)) is page
    assert page_of(Check("", "", "solenoid", "Any", 1, "right"), (page,)) is None
    assert page_of(Guess("", "", "Which way?", 1.0), (page,)) is None


def test_what_a_page_does_not_say_is_empty(tmp_path):
    page = read_page(page_file(tmp_path, "00_bare.ipynb", "No title", []))
    assert (page.title, page.goals, page.time, page.lessons) == ("No title", (), "", ())
    assert (page.is_lesson, page.exercises) == (False, 0)
    assert not read_page(page_file(tmp_path, "20_words.ipynb")).is_lesson


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", '{"cells": 1}', '{"cells": [1]}', '{"cells": [{"cell_type": "code"}]}', "[" * 99999],
)
def test_a_damaged_page_is_refused_and_the_others_are_read(tmp_path, text):
    (tmp_path / "03_bad.ipynb").write_text(text)
    with pytest.raises(MechError, match="03_bad.ipynb"):
        read_page(tmp_path / "03_bad.ipynb")
    with pytest.raises(MechError, match="no pages"):
        pages(tmp_path)
    page_file(tmp_path)
    assert [page.file for page in pages(tmp_path)] == ["02_read.ipynb"]
    (told,) = unread(tmp_path)
    assert told.startswith("03_bad.ipynb can't be read as a page: left out.")


def test_a_copy_of_a_page_is_no_page(tmp_path):
    """JupyterLab calls them so: *Duplicate* in the list of files."""
    for name in ("02_read.ipynb", "02_read-Copy1.ipynb", "02_read-Copy12.ipynb"):
        page_file(tmp_path, name)
    assert [page.file for page in pages(tmp_path)] == ["02_read.ipynb"] and unread(tmp_path) == ()


def test_only_numbered_files_are_pages(tmp_path):
    with pytest.raises(MechError, match="two digits"):
        read_page(page_file(tmp_path, "notes.ipynb"))
    page_file(tmp_path)
    assert len(pages(tmp_path)) == 1


def test_every_lesson_says_its_goals_and_its_time():
    """Counted again from the bare text of the files."""
    for page in pages(NOTEBOOKS):
        cells = json.loads((NOTEBOOKS / page.file).read_text("utf-8"))["cells"]
        code = "\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
        assert page.exercises == len(re.findall(r"\bexercise_box\(", code)), page.file
        assert page.guesses == len(re.findall(r"\bpredict_box\(", code)), page.file
        assert page.time.startswith("about "), page.file
        assert page.is_lesson == bool(page.goals) or page.number >= 20, page.file
        if page.is_lesson:
            assert page.exercises >= 4 and page.guesses >= 1 and len(page.goals) >= 3, page.file
