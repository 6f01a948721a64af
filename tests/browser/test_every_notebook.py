"""Every notebook, opened and run in a real page: no error, and nothing fetched from outside the machine."""

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


@pytest.mark.parametrize("name", sorted(path.name for path in (lab.ROOT / "notebooks").glob("*.ipynb")))
def test_notebook_runs_in_a_page(name, open_notebook):
    notebook = open_notebook(name)
    notebook.run_all()
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
