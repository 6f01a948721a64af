"""The panel of a belt drive: motor, pulleys, belt, capstan and load, and how fast the tape runs."""

from __future__ import annotations

from mechlib.bench.belt_trial import CONTROLS, trial
from mechlib.draw import LivePicture
from mechlib.draw import belt_drive as scene
from mechlib.panels.base import ListedPanel
from mechlib.ranges import starts


class BeltPanel(ListedPanel):
    """The panel; below the picture stand tensions, losses and belts to order, as text to select and copy."""

    label, height, font = "tensions, losses and belts to order", "30em", "monospace"

    @property
    def listed(self) -> str:
        """The table of the trial."""
        return self.picture.result.table()


def belt_drive(**values) -> BeltPanel:
    """Return the panel of a motor that drives a flywheel and its capstan by a belt.

    ``values``: where its controls start, by the names, units and ranges of ``mechlib.bench.belt_trial``'s
    ``CONTROLS``; a value not given starts at its default.  Raises MechError for other names, out of range,
    and for pulleys that overlap.

    >>> print(belt_drive(inside_mm=300).text.split(": ")[0])
    The belt is 24.2 mm longer than its path
    """
    picture = LivePicture(trial, scene, starts(CONTROLS, **values), scene.SIZE_PX)
    return BeltPanel(picture, CONTROLS, name="belt")
