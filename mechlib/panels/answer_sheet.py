"""The panel with the answer sheets, for trainers: a lesson and its numbers are chosen, the sheet is shown."""

from __future__ import annotations

from html import escape
from pathlib import Path

import ipywidgets as widgets

from mechlib.errors import MechError
from mechlib.panels.base import Told, spoken
from mechlib.panels.exercise import settled, typed
from mechlib.panels.text_file import save_text
from mechlib.say import count
from mechlib.teaching.answer_sheet import page_sheet
from mechlib.teaching.by_page import EXERCISES
from mechlib.teaching.exercises import MOST_SEED
from mechlib.teaching.pages import pages

_LOOK = {"style": {"description_width": "5em"}}


class AnswerSheets(Told):
    """A list of the lessons and a box for the numbers; below them the sheet, and a button to save it.

    The text form of the panel is the sheet.  ``controls`` holds list and boxes by name.
    """

    def __init__(self, page: int, numbers: int, notebooks: Path):
        super().__init__(page_sheet(page, numbers))
        titles = _titles(notebooks)
        lessons = [(f"{each:02} {titles.get(each, '')}".rstrip(), each) for each in EXERCISES]
        tip = "The numbers that stand in the box of the exercise"
        self.controls = {
            "lesson": widgets.Dropdown(
                options=lessons,
                value=page,
                description="lesson",
                layout={"width": "min(100%, 36em)"},
                **_LOOK,
            ),
            "numbers": widgets.BoundedIntText(
                numbers,
                min=0,
                max=MOST_SEED,
                description="numbers",
                tooltip=tip,
                layout={"width": "14em"},
                **_LOOK,
            ),
        }
        save = settled(self._save)
        self.file_name = typed("file name (.txt)", "", save)
        self.save_button = widgets.Button(description="Save as text")
        self.save_button.on_click(save)
        self.note = widgets.HTML()
        self.sheet = widgets.HTML(layout={"width": "auto"})
        for control in self.controls.values():
            control.observe(lambda _: self.look(), "value")
        wrap = {"flex_flow": "row wrap"}
        self.children = (
            widgets.HBox(list(self.controls.values()), layout=wrap),
            self.words,
            self.sheet,
            widgets.HBox([self.file_name, self.save_button, self.note], layout=wrap),
        )
        self.controls["file name"] = self.file_name
        self.look()

    def look(self) -> None:
        """Show the sheet of the lesson with the numbers."""
        with self.watched():
            page, numbers = self.controls["lesson"].value, self.controls["numbers"].value
            self.file_name.value, self.note.value = f"answers-{page:02}-{numbers}.txt", ""
            self.text = page_sheet(page, numbers)
            self.sheet.value = (
                '<pre tabindex="0" role="region" aria-label="answer sheet" style="max-height: 26em; '
                "overflow: auto; font-family: inherit; white-space: pre-wrap; line-height: 1.4; margin: 0; "
                f'padding: 0.4em; border: 1px solid #8C8C8C">{escape(self.text)}</pre>'
            )
            self.say(f"Page {page:02}, {count(len(EXERCISES[page]), 'exercise')} with the numbers {numbers}.")

    def _save(self) -> None:
        with self.watched():
            self.note.value = spoken(save_text(self.file_name.value, ".txt", self.text + "\n"))


def _titles(notebooks: Path) -> dict[int, str]:
    """The titles of the pages, by their numbers; none where the pages aren't there."""
    try:
        return {page.number: page.title for page in pages(notebooks)}
    except MechError:
        return {}


def answer_sheets(page: int = 1, numbers: int = 1, notebooks: str = ".") -> AnswerSheets:
    """Show the answer sheet of a lesson, opened at a page and the numbers (the seed) of its exercises.

    Parameters: ``page`` 1 to 14; ``numbers`` 0 to 10⁹; ``notebooks``, the folder of the pages (for titles).
    Raises MechError for a page without exercises, or other numbers.

    >>> answer_sheets(2, 7).text.splitlines()[0]
    'Page 02, exercise 1: Ratio of a compound train'
    """
    return AnswerSheets(page, numbers, Path(notebooks))
