"""The box in which a reader looks up a word."""

from __future__ import annotations

import ipywidgets as widgets

from mechlib.panels.base import Told, spoken
from mechlib.panels.progress import table_html
from mechlib.say import count
from mechlib.teaching.glossary import nearest_words, terms_with

TEXT = "Type a word, or a part of one, and its meaning shows here."
HEADER = ("word", "meaning", "explained on")
MOST = 12  # rows shown; more are no help


class GlossaryBox(Told):
    """A box for a word or a part of one; what contains it is shown below as it is typed."""

    def __init__(self, word: str = ""):
        super().__init__(TEXT)
        wide = {"style": {"description_width": "initial"}, "layout": {"width": "min(100%, 30em)"}}
        self.word = widgets.Text(word, description="word, or a part of one", **wide)
        self.controls = {"word": self.word}
        self.table = widgets.HTML()
        self.word.observe(lambda _: self.look(), "value")
        self.children = (self.word, self.words, self.table)
        self.look()

    def look(self) -> None:
        """Show what contains the word; nothing as long as none is asked for."""
        with self.watched():
            asked = self.word.value.strip()
            found = terms_with(asked) if asked else ()
            shown = found[:MOST]
            rows = [(t.word, t.meaning, f"page {t.page:02}" if t.page else "the start page") for t in shown]
            self.table.value = table_html("Words", HEADER, rows) if rows else ""
            near = nearest_words(asked) if asked and not found else ()
            better = f" Did you mean {' or '.join(near)}?" if near else ""
            more = f", the first {MOST} are shown" if len(found) > MOST else ""
            self.words.value = spoken(
                f"{count(len(found), 'word')} with “{asked}”{more}.{better}" if asked else TEXT
            )


def glossary_box(word: str = "") -> GlossaryBox:
    """Show the box to look up a word.  Raises nothing.

    >>> glossary_box("dwell")
    Type a word, or a part of one, and its meaning shows here.
    """
    return GlossaryBox(word)
