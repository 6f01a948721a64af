"""The box for a wanted ratio: which gears give it, in one to three stages."""

from __future__ import annotations

import ipywidgets as widgets

from mechlib.errors import MechError
from mechlib.gears.ratios import RatiosFound, trains_for
from mechlib.panels.base import Told, framed
from mechlib.panels.exercise import settled, typed

ROWS = 40  # shown; the sentence says how many there are
STAGES = {"one": 1, "two": 2, "three": 3}
LABELS = {
    "ratio": "wanted ratio, such as 191/23 or 8.304",
    "least": "fewest teeth",
    "most": "most teeth",
    "off": "it may be off by",
}


class RatiosBox(Told):
    """Boxes for ratio, tooth counts and stages, a button, and the table of trains, to select and copy.

    ``controls`` holds the widgets by name; ``found`` is what was found last, None where nothing could be.
    """

    def __init__(self, ratio: str, least: str, most: str, off: str, stages: int, hunting: bool):
        super().__init__("")
        given = {"ratio": ratio, "least": least, "most": most, "off": off}
        find = settled(self.find)
        self.controls = {
            name: typed(label, "%" if name == "off" else "", find) for name, label in LABELS.items()
        }
        for name, text in given.items():
            self.controls[name].value = text
        self.controls["stages"] = widgets.Dropdown(
            options=STAGES, value=stages, description="stages", tooltip="stages"
        )
        self.controls["hunting"] = widgets.Checkbox(
            hunting, description="each tooth meets all of its mate's (hunting)", indent=False
        )
        self.controls["reverted"] = widgets.Checkbox(
            False, description="first and last shaft in one line, one module", indent=False
        )
        for box in self.controls.values():
            box.layout = {"width": "auto", "max_width": "34em"}
            box.style.description_width = "initial"
        self.find_button = widgets.Button(description="Find gears")
        self.find_button.on_click(find)
        self._table = widgets.HTML(layout={"width": "auto"})
        self.found: RatiosFound | None = None
        wrapped = {"flex_flow": "row wrap"}
        boxes = list(self.controls.values())
        self.children = (
            widgets.HBox(boxes[:4], layout=wrapped),
            widgets.HBox([*boxes[4:], self.find_button], layout=wrapped),
            self.words,
            self._table,
        )
        self.find()

    def find(self) -> None:
        """Look for trains with what is filled in."""
        with self.watched():
            self.found = None
            try:
                self.found = self._found()
                self.text = self.found.sentence()
            except MechError as refused:
                self.text = f"{refused}."
            self.say(self.text)
            table = self.found.table(ROWS) if self.found and self.found.total else ""
            self._table.value = framed("trains found", table, wrap="pre") if table else ""

    def _found(self) -> RatiosFound:
        given = {name: box.value for name, box in self.controls.items()}
        least, most = (_whole(LABELS[name], given[name]) for name in ("least", "most"))
        if least > most:
            raise MechError(f"{LABELS['least']} is {least}", f"it must be at most {most}, the most teeth")
        return trains_for(
            given["ratio"].strip().replace(",", "."),
            given["stages"],
            range(least, most + 1),
            _percent(given["off"]) / 100,
            reverted=given["reverted"],
            hunting=given["hunting"],
        )


def _whole(label: str, text: str) -> int:
    if not text.strip().isdecimal() or not 1 <= len(text.strip()) <= 4:
        raise MechError(f"{label} is {text[:20]!r}", "write a whole number, 4 to 2000")
    return int(text)


def _percent(text: str) -> float:
    try:
        return float(text.replace(",", ".").rstrip(" %"))
    except ValueError:
        raise MechError(f"{LABELS['off']} is {text[:20]!r}", "write percent, such as 0.01") from None


def find_ratio(
    ratio: str = "191/23", least: int = 12, most: int = 120, off_percent: float = 0.01, stages: int = 2,
    hunting: bool = False,
) -> RatiosBox:  # fmt: skip
    """Return the box that finds gears for a ratio.

    Where the boxes start: ``ratio`` as text; ``least`` and ``most`` teeth, 4 to 2000; ``off_percent``, 0 to
    10; ``stages``, 1 to 3; ``hunting``: no pair may have a common factor.  What can't be is told in the box.

    >>> find_ratio("1/6", 12, 72, 0, 1).text[:48]
    '1 train within 0.0000% of 0.166667, 1 of them ex'
    """
    if stages not in STAGES.values():
        raise MechError(f"stages is {stages!r}", "it must be 1, 2 or 3")
    return RatiosBox(str(ratio), str(least), str(most), f"{off_percent:g}", stages, bool(hunting))
