"""The panel of a solenoid: supply, winding, beat, surroundings and cut-off, and what becomes of it."""

from __future__ import annotations

import textwrap

from mechlib.bench.solenoid_trial import CONTROLS, trial
from mechlib.draw import LivePicture
from mechlib.draw import solenoid as scene
from mechlib.panels.base import ListedPanel
from mechlib.ranges import starts

WIDTH = 96  # columns of the text below the picture


class SolenoidPanel(ListedPanel):
    """The panel; below the picture stand the warming and the cut-off, as text to select and copy."""

    label, height, font = "warming, pull and cut-off", "20em", "monospace"

    @property
    def listed(self) -> str:
        """The table of the trial, in lines that fit."""
        lines = self.picture.result.table().split("\n")
        return "\n".join(textwrap.fill(line, WIDTH) if len(line) > WIDTH else line for line in lines)


def solenoid(**values) -> SolenoidPanel:
    """Return the panel of a solenoid that fires again and again, with a cut-off in its winding.

    ``values``: where its controls start, by the names, units and ranges of ``mechlib.bench.solenoid_trial``'s
    ``CONTROLS``; a value not given starts at its default.  Raises MechError for other names, out of range,
    and for temperatures of the cut-off that don't rise.

    >>> print(solenoid(pull_s=9).text.split(". ")[0])
    It pulls for 52.9% of the time and at first turns 3.74 W into heat on average
    """
    picture = LivePicture(trial, scene, starts(CONTROLS, **values), scene.SIZE_PX)
    return SolenoidPanel(picture, CONTROLS, name="solenoid")
