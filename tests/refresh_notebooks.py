"""Run the notebooks and store their outputs in the one form that makes no needless differences.

    .venv/bin/python tests/refresh_notebooks.py                         every notebook
    .venv/bin/python tests/refresh_notebooks.py notebooks/NAME.ipynb    only those named
    .venv/bin/python tests/refresh_notebooks.py --check                 run and compare, write nothing

Kept: sources, cell ids, tags, counts, printed text, and of a panel its picture and its sentence, so that a
notebook reads well where no kernel runs.  Dropped: the live widget (its id is new on every run), times,
the kernel's version and all other metadata.  A second run therefore gives the same bytes.
"""

import argparse
import os
import sys
import time
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError
from strictness import KERNEL_WARNINGS
from traitlets.config import Config

NOTEBOOKS = Path(__file__).resolve().parents[1] / "notebooks"
KERNEL = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"


def canonical(notebook: nbformat.NotebookNode) -> str:
    """Return the notebook as the text that is stored: see the top of this file."""
    notebook = nbformat.from_dict(notebook)
    notebook.metadata = {"kernelspec": dict(KERNEL), "language_info": {"name": "python"}}
    for cell in notebook.cells:
        tags = cell.metadata.get("tags")
        cell.metadata = {"tags": tags} if tags else {}
        for output in cell.get("outputs", []):
            if "data" in output:
                output.metadata = {}
                output.data.pop(WIDGET_VIEW, None)
    nbformat.validate(notebook)
    return nbformat.writes(notebook).rstrip("\n") + "\n"


def executed(path: Path) -> str:
    """Run a notebook in a fresh kernel, in its own folder, and return its canonical text."""
    notebook = nbformat.read(path, as_version=4)
    client = NotebookClient(
        notebook,
        timeout=60,
        kernel_name=KERNEL["name"],
        resources={"metadata": {"path": str(path.parent)}},
        record_timing=False,
        coalesce_streams=True,  # else one print can come in two pieces, or not, from run to run
        config=Config({"KernelManager": {"transport_encryption": "auto"}}),
    )
    client.execute()
    return canonical(notebook)


def refresh(path: Path, write: bool = True) -> bool:
    """Run one notebook, store it unless ``write`` is False, and return whether it was up to date."""
    print(f"{path.name}: running ...", end=" ", flush=True)
    start = time.perf_counter()
    new = executed(path)
    same = new == path.read_text(encoding="utf-8")
    if write and not same:
        path.write_text(new, encoding="utf-8")
    outcome = "up to date" if same else "refreshed" if write else "DIFFERS from what is stored"
    print(f"{outcome} ({time.perf_counter() - start:.1f} s)")
    return same


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("notebooks", nargs="*", type=Path, help="the notebooks to run (none named: all)")
    parser.add_argument("--check", action="store_true", help="run and compare; write nothing")
    chosen = parser.parse_args(arguments)
    os.environ["PYTHONWARNINGS"] = KERNEL_WARNINGS
    os.environ["MECHLIB_PROGRESS"] = "off"
    failed = []
    for path in chosen.notebooks or sorted(NOTEBOOKS.glob("*.ipynb")):
        try:
            same = refresh(path.resolve(), write=not chosen.check)
        except CellExecutionError as error:
            print(f"STOPPED, nothing stored\n{error}")
            same = False
            failed.append(path.name)
        if chosen.check and not same and path.name not in failed:
            failed.append(path.name)
    if failed:
        print("not in order:", ", ".join(failed))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
