"""The row that saves a gear to be made: its outline as SVG or DXF, and its data sheet."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from mechlib.bench.gear_to_make import GearToMake, to_make
from mechlib.draw.gear_sheet import gear_sheet_pages
from mechlib.draw.outline_file import save_outline
from mechlib.draw.print_sheet import save_pages
from mechlib.errors import MechError
from mechlib.gears.materials import material
from mechlib.gears.spur import Gear
from mechlib.panels.base import Told, spoken, unused
from mechlib.say import say

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
        self.scale = widgets.FloatText(0.0, step=0.1, description="drawn larger, for shrinkage (%)")
        self.usual = widgets.HTML(spoken(_shrinks(made_of)))
        self.inset = widgets.FloatText(
            0.0, step=0.01, description="edges drawn in, for the printer's line (mm)"
        )
        self.name = widgets.Text(name, description="file name, without ending")
        for box in (self.scale, self.inset, self.name):
            box.style, box.layout.width = _WIDE, "auto"
            box.observe(self._shown, "value")
        self.buttons = {}
        for suffix in (*OUTLINES, SHEET):
            what = "data sheet" if suffix == SHEET else "outline"
            button = widgets.Button(description=f"Save {what} ({suffix})", layout={"width": "auto"})
            button.on_click(lambda _, suffix=suffix: self._save(suffix))
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
        return to_make(*self.given, self.scale.value, self.inset.value, self.title, self.timed)

    def _shown(self, _=None) -> None:
        with self.watched():
            try:
                self.text = " ".join([self.gear.sentence(), *self.gear.own_cautions])
            except MechError as refused:
                self.text = f"{refused}."
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
                self.note.value = spoken(f"Not saved: {refused}.")


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
