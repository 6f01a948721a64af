"""The panel of a dwell: its length and place, the law beside it, the coasting, the width of the contact."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from mechlib.bench import dwell_trial as compute
from mechlib.bench import trial_ranges
from mechlib.draw import LivePicture
from mechlib.draw import dwell_trial as scene
from mechlib.panels.base import ListedPanel
from mechlib.ranges import starts
from mechlib.transports import load
from mechlib.transports.model import Transport


class DwellPanel(ListedPanel):
    """The panel; below the picture stand the dwell's budget and who pays for it, as text to copy."""

    label, height, font = "dwell budget, and what lost margin", "18em", "monospace"

    @property
    def listed(self) -> str:
        """The budget of the follower's dwell, row by row, then each mode and interlock with less margin."""
        result = self.picture.result
        return "\n".join([result.budget.table(), "", *result.losses()])


def dwell_trial(transport: str | Path | Transport, mode: str, follower: str, **values) -> DwellPanel:
    """Return the panel that tries another dwell for one follower in one mode of a transport.

    ``transport``: one that is loaded, or what ``load`` takes; ``values``: where the controls start, by the
    names of ``trial_ranges``.  Raises MechError as these do, and for a follower that stands on no dwell.

    >>> print(dwell_trial("alder", "PLAY", "reel idler", length_deg=10, move_deg=-1).text.split(",")[0])
    PLAY has a margin of 6.2° (it was 3.8°)
    """
    machine = transport if isinstance(transport, Transport) else load(transport)
    controls = trial_ranges(machine, mode, follower)
    picture = LivePicture(
        partial(compute, machine, mode, follower),
        scene,
        starts(controls, **values),
        scene.SIZE_PX,
        limits=scene.window(machine, mode, follower),
    )
    return DwellPanel(picture, controls, name="dwell")
