"""Every panel with a live picture that a notebook of the workbook makes, found by running the cells."""

from __future__ import annotations

import contextlib
import io
import json
import os
import shutil
import tempfile
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from mechlib.panels.base import Panel
from mechlib.ranges import Range

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = 12  # places of a slider that are tried before one is chosen


@dataclass(eq=False)
class Found:
    """A panel of a notebook, and the code of the cells up to the one that makes it."""

    notebook: str
    panel: Panel
    before: str
    cell: str

    @property
    def label(self) -> str:
        return f"{self.notebook[:2]} {type(self.panel).__name__}"

    @cached_property
    def slider(self) -> str | None:
        """The name of the slider that makes the most different pictures; None where there are only lists."""
        ranges = {name: each for name, each in self.panel.ranges.items() if isinstance(each, Range)}
        return max(
            ranges, key=lambda name: (self._pictures(name), len(ranges[name].positions())), default=None
        )

    def _pictures(self, name: str) -> int:
        """How many different pictures some places of a slider make."""
        picture, places = self.panel.picture, self.panel.ranges[name].positions()
        here, stride = dict(picture.values), -(-len(places) // SAMPLES)
        made = {picture.set(**{name: place}) for place in places[::stride]}
        picture.set(**here)
        return len(made)


def panels(chosen: list[str]) -> list[Found]:
    """Run the notebooks' code cells here and keep each panel with a live picture that one makes."""
    made, found, plain = [], [], Panel.__init__

    def noted(self, *args, **kwargs):
        plain(self, *args, **kwargs)
        made.append(self)

    Panel.__init__ = noted
    with tempfile.TemporaryDirectory() as place, contextlib.chdir(place):
        for folder in ("notebooks", "figures"):
            shutil.copytree(ROOT / folder, folder, ignore=shutil.ignore_patterns(".*", "progress"))
        os.chdir("notebooks")
        for path in sorted(Path().glob("*.ipynb")):
            if chosen and path.name[:2] not in chosen:
                continue
            names, before = {}, []
            for cell in json.loads(path.read_text("utf-8"))["cells"]:
                if cell["cell_type"] != "code":
                    continue
                code = "".join(cell["source"])
                with contextlib.redirect_stdout(io.StringIO()):
                    exec(code, names)  # the workbook's own cells
                found += [Found(path.name, panel, "\n".join(before), code) for panel in made]
                made.clear()
                before.append(code)
    Panel.__init__ = plain
    return found


def put(panel: Panel, values) -> None:
    """Move the controls as messages of the page would; those that stand right already send nothing."""
    for name, value in values.items():
        panel.controls[name].value = value
    if panel.error:
        raise panel.error
