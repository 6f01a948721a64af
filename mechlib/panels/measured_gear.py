"""The panel of a gear in the hand: what was counted and measured, and what it can be."""

from __future__ import annotations

from mechlib.bench.measured_gear import CONTROLS, measured_gear
from mechlib.draw import LivePicture
from mechlib.draw import measured_gear as scene
from mechlib.panels.base import ListedPanel
from mechlib.ranges import starts


class MeasuredGearPanel(ListedPanel):
    """The panel; below the picture stand readings and candidates, as text to select and copy."""

    label, height, font = "readings and the sizes that explain them", "12em", "monospace"

    @property
    def listed(self) -> str:
        """The table of what was found."""
        return self.picture.result.table()


def gear_in_hand(**values) -> MeasuredGearPanel:
    """Return the panel of an unknown gear.

    ``values``: where its controls start, by the names, units and ranges of ``mechlib.bench.measured_gear``'s
    ``CONTROLS``; a value not given starts at its default.  Raises MechError for other names, out of range,
    and where nothing is measured.

    >>> gear_in_hand(outside_mm=34.9, span_mm=12.17).text[:40]
    'Of 20 teeth it is most likely 16 DP with'
    """
    picture = LivePicture(measured_gear, scene, starts(CONTROLS, **values), scene.SIZE_PX)
    return MeasuredGearPanel(picture, CONTROLS, name="gear")
