"""Every notebook in a real page: no error, nothing fetched from outside, every panel follows its controls.

A lesson that has a test of its own is run and its panels are walked there, so that it is opened only once.
"""

import re
from pathlib import Path

import lab
import pytest
from nbformat.v4 import new_code_cell, new_notebook
from refresh_notebooks import canonical
from walk import every_panel_follows

FAULTY_CELLS = [
    "import sys; print('a warning', file=sys.stderr)",
    "from IPython.display import HTML, Javascript; HTML('<img src=\"https://example.invalid/x.png\">')",
    "Javascript('console.error(\"a broken script\")')",
    "1 / 0",
    "print('never run')",
]


def walked_elsewhere() -> set[str]:
    """The lessons that end their own test with this walk."""
    sources = [path.read_text("utf-8") for path in Path(__file__).parent.glob("test_*.py")]
    walks = [
        re.search(r'^LESSON = "([^"]+)"$.*^    every_panel_follows\(lesson\)$', each, re.M | re.S)
        for each in sources
    ]
    return {found[1] for found in walks if found}


EVERY = {path.name for path in (lab.ROOT / "notebooks").glob("*.ipynb")}


@pytest.mark.parametrize("name", sorted(EVERY - walked_elsewhere()))
def test_notebook_runs_in_a_page(name, open_notebook):
    notebook = open_notebook(name)
    notebook.run_all()
    every_panel_follows(notebook)


def test_the_others_are_walked_in_tests_of_their_own():
    assert 10 < len(walked_elsewhere()) < len(EVERY) and walked_elsewhere() < EVERY


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
