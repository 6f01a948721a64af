"""The panel of a mode change against its motor: supply, belt, motor, grease and a stiff lever to spoil."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from mechlib.bench.effort_trial import effort_ranges
from mechlib.bench.effort_trial import effort_trial as compute
from mechlib.draw import LivePicture
from mechlib.draw import effort as scene
from mechlib.panels.base import ListedPanel
from mechlib.ranges import starts
from mechlib.transports import load
from mechlib.transports.model import Transport


class EffortPanel(ListedPanel):
    """The panel; below the picture stand the story of the change and who asks what at the worst place."""

    label, height, font = "story of the change, and shares at the worst place", "24em", "monospace"

    @property
    def listed(self) -> str:
        """The story of the change, the shares at the worst place, and what the meters would show."""
        return self.picture.result.table()


def effort_trial(
    transport: str | Path | Transport = "alder", motor: str | None = None, **values
) -> EffortPanel:
    """Return the panel that tries a mode change against the motor of a transport.

    ``transport``: one that is loaded, or what ``load`` takes; ``motor``: of several the one whose faults can
    be chosen (None: the one that turns the main cam); ``values``: where the controls start, by the names
    of ``effort_ranges``.  Raises MechError as that does, and for a change in which nothing turns.

    >>> print(effort_trial("alder", start="STOP", target="PLAY", grown_percent=2).text.split(":")[1])
     jammed, waiting for PLAY
    """
    machine = transport if isinstance(transport, Transport) else load(transport)
    controls = effort_ranges(machine, motor)
    picture = LivePicture(
        partial(compute, machine, motor=motor),
        scene,
        starts(controls, **values),
        scene.SIZE_PX,
        limits=scene.window(machine),
    )
    return EffortPanel(picture, controls, name="effort")
