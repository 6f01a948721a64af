"""Put the index of all pages, as they name themselves, into the start page and the README.

    .venv/bin/python tests/refresh_index.py

Title, goals and time are read from each notebook's first cell (mechlib/teaching/pages.py).
"""

from __future__ import annotations

import re
from pathlib import Path

import nbformat
from refresh_notebooks import NOTEBOOKS, canonical

from mechlib.teaching.pages import Page, pages

README = NOTEBOOKS.parent / "README.md"
START = NOTEBOOKS / "00_start_here.ipynb"
_PLACE = re.compile(r"(<!-- pages -->\n).*?(<!-- end of pages -->)", re.S)


def row(page: Page, folder: str) -> str:
    """One line of the index: a link, what the reader will be able to do, the time."""
    link = f"[{page.title}]({folder}{page.file})"
    return f"| {page.number} | {link} | {'; '.join(page.goals)} | {page.time} |"


def minutes(time: str) -> int:
    """The minutes that a page gives as its time.

    >>> minutes("about 2 hours"), minutes("about 40 minutes")
    (120, 40)
    """
    number, unit = re.search(r"(\d+) (hour|minute)", time).groups()
    return int(number) * (60 if unit == "hour" else 1)


def index(folder: str = "") -> str:
    """The index as a table, then the pages that are no lessons."""
    found = pages(NOTEBOOKS)
    lessons = [page for page in found if page.is_lesson]
    lines = ["| | lesson | you will be able to | time |", "|---|---|---|---|"]
    lines += [row(page, folder) for page in lessons]
    total = round(sum(minutes(page.time) for page in lessons) / 60)
    lines += ["", f"All {len(lessons)} lessons together take about {total} hours."]
    others = [page for page in found if page.number and not page.is_lesson]
    if others:
        lines += ["", "And besides: " + ", ".join(f"[{p.title}]({folder}{p.file})" for p in others) + "."]
    return "\n".join(lines)


def refreshed_readme(text: str) -> str:
    """The README's text with the index as it is now."""
    return _PLACE.sub(lambda m: f"{m[1]}\n{index('notebooks/')}\n\n{m[2]}", text)


def refreshed_start(text: str) -> str:
    """The start page, as stored, with the index as it is now."""
    notebook = nbformat.reads(text, as_version=4)
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            cell.source = _PLACE.sub(lambda m: f"{m[1]}\n{index()}\n\n{m[2]}", cell.source)
    return canonical(notebook)


def _refresh(path: Path, new: str) -> None:
    print(f"{path.name}: {'up to date' if path.read_text('utf-8') == new else 'refreshed'}")
    path.write_text(new, "utf-8")


if __name__ == "__main__":
    _refresh(README, refreshed_readme(README.read_text("utf-8")))
    _refresh(START, refreshed_start(START.read_text("utf-8")))
