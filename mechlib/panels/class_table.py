"""The box in which a trainer looks at a class: a folder of progress files as three tables, and as a file."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from mechlib.errors import MechError
from mechlib.panels.base import Told, spoken
from mechlib.panels.exercise import settled, typed
from mechlib.panels.progress import table_html
from mechlib.panels.text_file import save_text
from mechlib.teaching.class_table import TABLES, ClassTable, class_table
from mechlib.teaching.pages import pages, unread

TEXT = "The class at a glance: give the folder with the progress files and press Read."


class ClassBox(Told):
    """A box for a folder; who did what, which slips recur and where people stop; buttons to save.

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
        tip = "The three tables, to print; the same name with .txt"
        self.text_button = widgets.Button(description="Save as text", tooltip=tip, disabled=True)
        self.note, self.tables = widgets.HTML(), widgets.HTML()
        self.read_button.on_click(read)
        self.save_button.on_click(save)
        self.text_button.on_click(settled(self._save_text))
        wrap = {"flex_flow": "row wrap"}
        self.children = (
            widgets.HBox([self.place, self.read_button], layout=wrap),
            self.words,
            self.tables,
            widgets.HBox([self.file_name, self.save_button, self.text_button, self.note], layout=wrap),
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
            self.save_button.disabled = self.text_button.disabled = self.result is None

    def _save(self) -> None:
        if self.result:  # else Enter in the box, with nothing read yet
            self._keep(self.file_name.value, ".csv", self.result.csv())

    def _save_text(self) -> None:
        name = self.file_name.value.strip().removesuffix(".csv")
        self._keep(f"{name}.txt" if name else "", ".txt", self.result.text() + "\n")

    def _keep(self, name: str, ending: str, text: str) -> None:
        with self.watched():
            self.note.value = spoken(save_text(name, ending, text))


def class_box(folder: str = "class", notebooks: str = ".") -> ClassBox:
    """Show a class: ``folder`` has the progress files, ``notebooks`` the pages of the workbook.

    Raises nothing: what can't be read is said in the box.

    >>> class_box()
    The class at a glance: give the folder with the progress files and press Read.
    """
    return ClassBox(folder, Path(notebooks))
