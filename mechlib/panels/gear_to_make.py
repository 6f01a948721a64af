"""The row that saves a gear to be made: its outline as SVG or DXF, and its data sheet."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import ipywidgets as widgets

from mechlib.bench.gear_to_make import GearToMake, to_make
from mechlib.bench.own_typed import read_number
from mechlib.draw.gear_sheet import gear_sheet_pages
from mechlib.draw.outline_file import save_outline
from mechlib.draw.print_sheet import save_pages
from mechlib.errors import MechError
from mechlib.gears.materials import material
from mechlib.gears.spur import Gear
from mechlib.panels.base import Told, by_label, spoken, unused
from mechlib.panels.exercise import settled, typed
from mechlib.say import say

LABELS = {
    "scale_percent": "drawn larger, for shrinkage",
    "inset_mm": "edges drawn in, for the printer's line",
}
OUTLINES, SHEET = (".svg", ".dxf"), ".pdf"
_WIDE = {"description_width": "initial"}


class MakeBox(Told):
    """Boxes for what the way of making adds, a name, and a button for each file; nothing is overwritten.

    ``gear`` is what is to be made, a ``GearToMake`` with what is filled in; MechError where that can't be.
    """

    def __init__(
        self, gear: Gear, bore_mm: float, width_mm: float, made_of: str, title: str, name: str,
        timed: bool = False,
    ):  # fmt: skip
        super().__init__(title)
        self.timed = timed
        self.given = (gear, bore_mm, width_mm, made_of)
        self.title = title
        self.scale = typed(LABELS["scale_percent"], "%", settled(self._shown))
        self.usual = widgets.HTML(spoken(_shrinks(made_of)))
        self.inset = typed(LABELS["inset_mm"], "mm", settled(self._shown))
        self.name = widgets.Text(name, description="file name, without ending")
        for box in (self.scale, self.inset, self.name):
            box.style, box.layout = _WIDE, {"width": "auto"}
        for box in (self.scale, self.inset):
            box.value = "0"
            box.observe(self._shown, "value")
        self.buttons = {}
        for suffix in (*OUTLINES, SHEET):
            what = "data sheet" if suffix == SHEET else "outline"
            button = widgets.Button(description=f"Save {what} ({suffix})", layout={"width": "auto"})
            button.on_click(settled(partial(self._save, suffix)))
            self.buttons[suffix] = button
        self.note = widgets.HTML()
        wrapped = {"flex_flow": "row wrap"}
        self.children = (
            self.words,
            widgets.HBox([self.scale, self.usual, self.inset], layout={**wrapped, "grid_gap": "0 1em"}),
            widgets.HBox([self.name, *self.buttons.values()], layout=wrapped),
            self.note,
        )
        self._shown()

    @property
    def gear(self) -> GearToMake:
        """What is to be made."""
        scale = _number("scale_percent", self.scale.value, "%")
        inset = _number("inset_mm", self.inset.value, "mm")
        return to_make(*self.given, scale, inset, self.title, self.timed)

    def _shown(self, _=None) -> None:
        with self.watched():
            try:
                gear = self.gear
                told = (gear.sentence(), gear.allowances, *gear.own_cautions)
                self.text = " ".join(filter(None, told))
            except MechError as refused:
                self.text = f"{by_label(refused, LABELS)}."
            self.say(self.text)

    def _save(self, suffix: str) -> None:
        with self.watched():
            try:
                path = unused(Path(f"{self.name.value.strip() or 'gear'}{suffix}"))
                if suffix == SHEET:
                    save_pages(gear_sheet_pages(self.gear), path, self.title)
                else:
                    save_outline(self.gear, path)
                self.note.value = spoken(f"Saved as {path}.")
            except (MechError, OSError) as refused:
                self.note.value = spoken(f"Not saved: {by_label(refused, LABELS)}.")


def _number(name: str, text: str, unit: str) -> float:
    """What was typed in a box, nothing being nought; MechError where that is no number."""
    read = read_number(text, unit)
    if read.trouble:
        raise MechError(LABELS[name], read.trouble)
    return read.value or 0


def _shrinks(made_of: str) -> str:
    """What is usual for a material, beside the box for it."""
    usual = material(made_of)
    if usual.shrinkage_percent is None:
        return f"{usual.name} isn't moulded: 0"
    return f"usual for {usual.name} in a mould: {say(usual.shrinkage_percent, '%', 1)}"


def make_gear(
    gear: Gear, bore_mm: float, width_mm: float, made_of: str = "acetal", name: str = "gear"
) -> MakeBox:
    """Return the box that saves a gear to be made; values and errors as for ``bench.gear_to_make.to_make``.

    >>> from mechlib.gears.racks import FINE
    >>> make_gear(Gear(24, 0.5, FINE), 2, 3).text[:35]
    'Gear to be made, 24 teeth: 24 teeth'
    """
    title = f"Gear to be made, {gear.teeth} teeth"
    to_make(gear, bore_mm, width_mm, made_of)
    return MakeBox(gear, bore_mm, width_mm, made_of, title, name)
