"""The box in which a trainer looks at a class: a folder of progress files as three tables, and as CSV."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from mechlib.errors import MechError
from mechlib.panels.base import Told, spoken, unused
from mechlib.panels.exercise import settled, typed
from mechlib.panels.progress import table_html
from mechlib.teaching.class_table import TABLES, ClassTable, class_table
from mechlib.teaching.pages import pages, unread

TEXT = "The class at a glance: give the folder with the progress files and press Read."


class ClassBox(Told):
    """A box for a folder; who did what, which slips recur and where people stop; a button to save as CSV.

    ``result`` is the table read last (None before).  The text form of the box never changes.
    """

    def __init__(self, folder: str, notebooks: Path):
        super().__init__(TEXT)
        self.notebooks = notebooks
        self.result: ClassTable | None = None
        read, save = settled(self.read), settled(self._save)
        self.place = typed("folder with progress files", "", read)
        self.file_name = typed("file name (.csv)", "", save)
        self.place.value, self.file_name.value = folder, "class.csv"
        self.controls = {"folder": self.place, "file name": self.file_name}
        self.read_button = widgets.Button(description="Read")
        self.save_button = widgets.Button(description="Save as CSV", disabled=True)
        self.note, self.tables = widgets.HTML(), widgets.HTML()
        self.read_button.on_click(read)
        self.save_button.on_click(save)
        wrap = {"flex_flow": "row wrap"}
        self.children = (
            widgets.HBox([self.place, self.read_button], layout=wrap),
            self.words,
            self.tables,
            widgets.HBox([self.file_name, self.save_button, self.note], layout=wrap),
        )

    def read(self) -> None:
        """Read the folder and show the tables, or say why not."""
        with self.watched():
            self.result, self.tables.value, self.note.value = None, "", ""
            try:
                self.result = class_table(Path(self.place.value.strip()), pages(self.notebooks))
            except MechError as refused:
                self.say(f"Not read: {refused}.")
            else:
                self.say(" ".join([self.result.sentence(), *self.result.troubles, *unread(self.notebooks)]))
                rows = (self.result.who_rows(), self.result.slip_rows(), self.result.stop_rows())
                shown = zip(TABLES, rows, strict=True)
                self.tables.value = "<br>".join(table_html(t, header, r) for (t, header, _), r in shown)
            self.save_button.disabled = self.result is None

    def _save(self) -> None:
        with self.watched():
            if self.result is None:  # Enter in the box, with nothing read yet
                return
            try:
                path = Path(self.file_name.value.strip())
                if path.suffix != ".csv":
                    raise MechError(f"the file name is {path.name or 'empty'}", "it must end in .csv")
                # The mark at the front tells spreadsheets that it is UTF-8.
                with open(unused(path), "x", encoding="utf-8-sig", newline="") as file:
                    file.write(self.result.csv())
                self.note.value = spoken(f"Saved as {file.name}.")
            except (MechError, OSError, ValueError) as refused:
                self.note.value = spoken(f"Not saved: {refused}.")


def class_box(folder: str = "class", notebooks: str = ".") -> ClassBox:
    """Show a class: ``folder`` has the progress files, ``notebooks`` the pages of the workbook.

    Raises nothing: what can't be read is said in the box.

    >>> class_box()
    The class at a glance: give the folder with the progress files and press Read.
    """
    return ClassBox(folder, Path(notebooks))
