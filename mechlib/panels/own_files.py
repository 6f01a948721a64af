"""The rows of the form that read a file into it and write one from it."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from mechlib.bench.own_draft import EMPTY, OWN_FILE, values_from
from mechlib.bench.own_toml import IsThere
from mechlib.errors import MechError
from mechlib.panels.base import framed, spoken, unused
from mechlib.transports.files import shipped

UNSAVED = "Not saved since the last change. Save it before you load this page again or close it."
ONE_LINE = "28px"  # kept for the note when it is empty, so that nothing below it moves
_INITIAL, _AUTO = {"description_width": "initial"}, {"width": "auto"}


class Files:
    """Reading a file into the form and writing one from it.

    ``form`` is the form: its ``draft`` is what is read and written, ``changed`` shows it anew.
    """

    def __init__(self, form):
        self.form = form
        self.source = widgets.Combobox(
            options=(EMPTY, *shipped()),
            description="start from (a name, or your file)",
            placeholder=OWN_FILE,
            style=_INITIAL,
        )
        self.source.layout.width = "min(100%, 32em)"
        self.read_button = widgets.Button(description="Read it in")
        self.read_button.on_click(lambda _: self._read())
        self.file = form.draft.file
        self.name = widgets.Text(self.file, description="file name (.toml)", style=_INITIAL)
        self.name.observe(lambda _: self._named(), "value")
        self.replace = widgets.Checkbox(description="replace it if it is there", indent=False, layout=_AUTO)
        self.replace.observe(lambda _: self._ticked(), "value")
        self.save_button = widgets.Button(description="Save the file")
        self.save_button.on_click(lambda _: self._save())
        self.show_button = widgets.Button(description="Show its text")
        self.show_button.on_click(lambda _: self._toggle())
        self.read_note = widgets.HTML()
        self.note = widgets.HTML(layout={"width": "auto", "min_height": ONE_LINE})
        self.as_text, self.open = widgets.HTML(layout={"width": "auto"}), False
        wrapped = {"flex_flow": "row wrap"}
        self.above = (widgets.HBox([self.source, self.read_button, self.read_note], layout=wrapped),)
        row = widgets.HBox([self.name, self.replace, self.save_button, self.show_button], layout=wrapped)
        self.below = (row, self.note, self.as_text)

    def show(self) -> None:
        """Bring the file's name and text in line with the draft, and say whether it is saved."""
        draft = self.form.draft
        if draft.file != self.file:
            self.file = self.name.value = draft.file
        self.note.value = "" if draft.saved else spoken(UNSAVED)
        self._show_text()

    def _show_text(self) -> None:
        text = self.form.draft.text() if self.open else ""
        self.as_text.value = framed("the text of the file", text, "max-height: 24em") if text else ""

    def _toggle(self) -> None:
        with self.form.watched():
            self.open = not self.open
            self.show_button.description = "Hide its text" if self.open else "Show its text"
            self._show_text()

    def _read(self) -> None:
        source = self.source.value.strip()
        with self.form.watched():
            try:
                values = values_from(source)
            except MechError as refused:
                self.read_note.value = spoken(f"Not read: {refused}.")
                return
            self.form.draft.replace(values, source)
            self.form.changed()
            self.read_note.value = spoken(
                f"Read from {source}. Undo brings back what was here. Remarks (after #) in it aren't kept."
            )

    def _save(self) -> None:
        with self.form.watched():
            path = Path(self.name.value.strip())
            try:
                saved = self.form.draft.save(path, self.replace.value)
            except IsThere as refused:
                self.note.value = spoken(f"Not saved: {refused}.{_holds(path)}{_free(path)}")
                return
            except MechError as refused:
                self.note.value = spoken(f"Not saved: {refused}.")
                return
            self.replace.value, self.file = False, self.form.draft.file
            self.note.value = spoken(self._saved(saved))

    def _named(self) -> None:
        self.replace.value = False  # it was ticked for a file of another name

    def _ticked(self) -> None:
        with self.form.watched():
            path = Path(self.name.value.strip())
            if self.replace.value and (holds := _holds(path)):
                self.note.value = spoken(f"{holds.strip()} Saving puts this machine in its place.")

    def _saved(self, path: Path) -> str:
        """What is said of a file that has just been written."""
        wrong = "" if self.form.draft.checked.transport else ", with all that is missing or wrong"
        folder = path.resolve().parent
        beside = ", beside this page" if folder == Path.cwd() else ""
        told = f"Saved as {path.name}{wrong}, in the folder {folder.name}{beside}."
        if path.stem in shipped():
            told += f" “{path.stem}” without .toml still means the machine that comes with the workbook."
        return told


def _holds(path: Path) -> str:
    """Which machine a file holds; "" where it holds none."""
    try:
        name = values_from(path).get("name", "a machine without a name") if path.suffix == ".toml" else ""
    except MechError:
        return ""
    return f" {path.name} holds {name}." if name else ""


def _free(path: Path) -> str:
    """Which name is free instead of one that is taken; "" where there is none so long."""
    try:
        return f" {unused(path)} is free."
    except OSError:
        return ""
