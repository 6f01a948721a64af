"""The box that saves a transport's timing card, and the box that judges a proof sheet that was filled in."""

from __future__ import annotations

import io
from pathlib import Path

import ipywidgets as widgets

from mechlib.bench import judge, proof_csv
from mechlib.bench import timing_card as card_of
from mechlib.draw.style import look
from mechlib.draw.timing_card import save_card, timing_card_pages
from mechlib.errors import MechError
from mechlib.panels.base import Picture, Told, framed, spoken, unused
from mechlib.transports import load
from mechlib.transports.model import Transport

PAPERS = ("A4", "Letter")
PREVIEW_DPI = 96
_WIDE = {"description_width": "initial"}


def _loaded(transport: str | Path | Transport) -> Transport:
    return transport if isinstance(transport, Transport) else load(transport)


class TimingCardBox(Told):
    """The first page of a timing card, and a row that saves the card with its proof sheet.

    The text form is the card's sentence.  ``controls`` holds the widgets by name.
    """

    def __init__(self, transport: Transport):
        self.card = card_of(transport)
        super().__init__(self.card.sentence())
        name = f"{transport.name.lower().replace(' ', '_')}_timing_card.pdf"
        paper = widgets.Dropdown(options=PAPERS, description="paper", tooltip="paper", style=_WIDE)
        file_name = widgets.Text(name, description="file name (.pdf or .svg)", style=_WIDE)
        file_name.layout.width = "min(100%, 34em)"
        self.controls = {"paper": paper, "file_name": file_name}
        self.save_button = widgets.Button(description="Save card")
        self.save_button.on_click(self._save)
        paper.observe(self._show, "value")
        self.image = Picture(format="png", layout={"max_width": "100%", "width": "760px"})
        self.image.tooltip = f"First page of the card. {self.text}"
        self._show()
        self.say(self.text)
        row = widgets.HBox([paper, file_name, self.save_button], layout={"flex_flow": "row wrap"})
        self.note = widgets.HTML()
        self.children = (self.image, self.words, row, self.note)

    def _show(self, _=None) -> None:
        with self.watched(), look():
            page, png = timing_card_pages(self.card, self.controls["paper"].value)[0], io.BytesIO()
            page.savefig(png, format="png", dpi=PREVIEW_DPI)
            self.image.value = png.getvalue()

    def _save(self, _) -> None:
        with self.watched():
            path = Path(self.controls["file_name"].value.strip())
            try:
                saved = save_card(self.card, _unused(path), self.controls["paper"].value)
                self.note.value = spoken("Saved as " + ", ".join(str(file) for file in saved) + ".")
            except (MechError, OSError) as refused:
                self.note.value = spoken(f"Not saved: {refused}.")


def _unused(path: Path) -> Path:
    """Return the path, or one like it, so that no file is overwritten; of pictures each page has its own."""
    if path.suffix.lower() not in (".svg", ".png"):
        return unused(path)
    numbered = (path.with_stem(path.stem + more) for more in ("", *(f"_{at}" for at in range(2, 1000))))
    return next((one for one in numbered if not one.with_stem(f"{one.stem}-1").exists()), path)


class ProofBox(Told):
    """A proof sheet as text to be filled in, and a button that judges it.

    ``sheet`` is the text area, ``verdict`` what was said last, as text to select and copy.
    """

    def __init__(self, transport: Transport):
        self.transport = transport
        super().__init__(f"The proof sheet of {transport.name}: fill it in and press Judge.")
        self.sheet = widgets.Textarea(
            proof_csv(transport),
            description="proof sheet",
            tooltip="proof sheet, a line for each change: start, target, worked, time_s, remark",
            style=_WIDE,
            layout={"width": "min(100%, 52em)", "height": "14em"},
        )
        self.judge_button = widgets.Button(description="Judge")
        self.judge_button.on_click(self._judge)
        self._table = widgets.HTML(layout={"width": "auto"})
        self.verdict = ""
        self.say(self.text)
        self.children = (self.sheet, self.judge_button, self.words, self._table)

    def _judge(self, _) -> None:
        with self.watched():
            try:
                found = judge(self.transport, self.sheet.value)
            except MechError as refused:
                self.verdict = ""
                self.say("\n".join(refused.problems))
            else:
                self.verdict = found.text()
                self.say(found.sentence())
            self._table.value = framed(
                "each change with its finding", self.verdict, "max-height: 20em", "pre"
            )


def timing_card(transport: str | Path | Transport) -> TimingCardBox:
    """Return the box with the timing card of a transport: what ``load`` takes, or one that is loaded.

    Raises MechError as ``load`` does.

    >>> timing_card("alder").text[:18]
    'Alder: timing card'
    """
    return TimingCardBox(_loaded(transport))


def proof_sheet(transport: str | Path | Transport) -> ProofBox:
    """Return the box in which the proof sheet of a transport is filled in and judged.

    Raises MechError as ``load`` does.

    >>> box = proof_sheet("alder")
    >>> box.sheet.value = "DOWN, EJECT, yes, 1.6"
    >>> box.judge_button.click()
    >>> box.words.value[38:67]
    '1 of 56 mode changes proved; '
    """
    return ProofBox(_loaded(transport))
