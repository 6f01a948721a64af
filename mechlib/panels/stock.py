"""The shop's stock list: the invented bin, a CSV file by its path, or one uploaded; bad rows are told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import ipywidgets as widgets

from mechlib.bench.stock import Stock, read_stock, spares_bin
from mechlib.errors import MechError
from mechlib.panels.base import Told
from mechlib.panels.exercise import settled, typed

INVENTED = "the invented spares bin"
NOTHING = "no list: gears to be made only"


class StockBox(Told):
    """A list of what is known, a box for a path with a button, and a button to upload a file.

    ``stock`` is the list in use, None for none; ``changed`` is called when another is taken.  A list that
    can't be read is told, and the one before stays.
    """

    def __init__(self, path: str = "", changed: Callable[[], None] | None = None):
        super().__init__("")
        self.stock: Stock | None = None
        self.changed = changed
        self.choice = widgets.ToggleButtons(
            options=(INVENTED, NOTHING),
            value=None,
            description="stock list",
            tooltip="stock list",
            style={"button_width": "auto"},
        )
        self.choice.observe(self._chosen, "value")
        read = settled(self._read)
        self.path = typed("or your own list: path of a .csv file", "", read)
        self.path.value = path
        self.read_button = widgets.Button(description="Read it")
        self.read_button.on_click(read)
        self.upload = widgets.FileUpload(accept=".csv", multiple=False, description="Upload a list")
        self.upload.layout.width = "auto"
        self.upload.observe(self._uploaded, "value")
        row = widgets.HBox([self.path, self.read_button, self.upload], layout={"flex_flow": "row wrap"})
        self.children = (self.choice, row, self.words)
        if path:
            self._read()
        else:
            self.choice.value = INVENTED

    def _chosen(self, change) -> None:
        if change["new"] is not None:
            with self.watched():
                self._take(change["new"], spares_bin() if change["new"] == INVENTED else None)

    def _read(self) -> None:
        path = self.path.value.strip()
        with self.watched():
            self._try(Path(path).name, lambda: read_stock(Path(path)) if path else _no_path())

    def _uploaded(self, _) -> None:
        for file in self.upload.value:  # one at most
            with self.watched():
                self._try(file["name"], lambda file=file: read_stock(bytes(file["content"])))

    def _try(self, name: str, read: Callable[[], Stock]) -> None:
        try:
            stock = read()
        except MechError as refused:
            self.text = f"Not read: {refused}."
            self.say(self.text)
            return
        self.choice.value = None
        self._take(name, stock)

    def _take(self, name: str, stock: Stock | None) -> None:
        self.stock = stock
        self.text = f"{name[:1].upper()}{name[1:]}: {stock.sentence()}" if stock else "No list is used."
        self.say(self.text)
        if self.changed:
            self.changed()


def _no_path() -> Stock:
    raise MechError("no path is given", "type the path of a .csv file, or upload it")


def stock_list(path: str | Path = "") -> StockBox:
    """Return the box with a stock list: the invented one, or that of a path.

    >>> stock_list()
    The invented spares bin: 150 rows of gears can be used.
    """
    return StockBox(str(path))
