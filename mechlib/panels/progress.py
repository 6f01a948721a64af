"""The box on the start page that shows what a reader has done, and takes the name that a reader chooses."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from pathlib import Path

import ipywidgets as widgets

from mechlib.errors import MechError
from mechlib.panels.base import Told, spoken
from mechlib.panels.exercise import settled, typed
from mechlib.teaching.done import HEADER, done
from mechlib.teaching.pages import pages, unread
from mechlib.teaching.progress import Progress, here

# What stands for the box where no kernel runs: the same on every copy, whatever its reader has done.
TEXT = "What you have done, page by page: it is shown here once the cell has run."


class ProgressBox(Told):
    """What a reader has done, page by page; a box for the reader's name; a button to look again.

    Enter in the box takes the name, as its button does.  ``words`` says what is done in a sentence, ``table``
    page by page.  The text form of the box never changes.
    """

    def __init__(self, folder: Path, progress: Progress | None = None):
        super().__init__(TEXT)
        self.folder, self.progress = folder, progress or here()
        choose = settled(self._choose)
        self.name = typed("your name (may stay empty)", "", choose)
        self.name.value = self.progress.name
        self.name_button = widgets.Button(description="Use this name")
        self.look_button = widgets.Button(description="Look again")
        self.controls = {"name": self.name}
        self.note, self.table = widgets.HTML(), widgets.HTML()
        self.name_button.on_click(choose)
        self.look_button.on_click(lambda _: self.look())
        row = widgets.HBox([self.name, self.name_button, self.look_button], layout={"flex_flow": "row wrap"})
        self.children = (row, self.note, self.words, self.table)
        self.look()

    def look(self) -> None:
        """Read what is written down, and show it."""
        with self.watched():
            try:
                found = self.progress.read()
                result = done(found.records, pages(self.folder), self.progress.name)
            except MechError as refused:
                self.say(f"Not shown: {refused}.")
                return
            self.say(" ".join([result.sentence(), *found.troubles, *unread(self.folder)]))
            self.table.value = table_html("What is done, page by page", HEADER, result.table())

    def _choose(self) -> None:
        with self.watched():
            try:
                self.note.value = spoken(self.progress.choose_name(self.name.value))
            except MechError as refused:
                self.note.value = spoken(f"Not taken: {refused}.")
                return
            self.name.value = self.progress.name
            self.look()


def progress_box(folder: str = ".") -> ProgressBox:
    """Show what is done on the pages in ``folder``, as written down beside them.

    Raises nothing: what can't be read is said in the box.

    >>> progress_box("notebooks")
    What you have done, page by page: it is shown here once the cell has run.
    """
    return ProgressBox(Path(folder))


def table_html(caption: str, header: Iterable[str], rows: Iterable[tuple[str, ...]]) -> str:
    """Return a table for the page, or that there is nothing to show; its cells can't hold mark-up.

    >>> table_html("All", ("a", "b"), [("1 < 2", "x")]).count("&lt;")
    1
    """
    rows = list(rows)
    if not rows:
        return f"<strong>{escape(caption)}</strong><br>nothing yet"
    head = "".join(f'<th scope="col" style="{_CELL}">{escape(cell)}</th>' for cell in header)
    lines = [
        f'<tr><th scope="row" style="{_CELL} font-weight: normal">{escape(first)}</th>'
        + "".join(f'<td style="{_CELL}">{escape(cell)}</td>' for cell in others)
        + "</tr>"
        for first, *others in rows
    ]
    return (
        '<table style="border-collapse: collapse; line-height: 1.4">'
        f'<caption style="text-align: left; font-weight: bold">{escape(caption)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(lines)}</tbody></table>"
    )


_CELL = "text-align: left; vertical-align: top; padding: 0.15em 1.2em 0.15em 0;"
