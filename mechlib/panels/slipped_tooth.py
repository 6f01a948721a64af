"""The panel of a slipped tooth: choose a mesh, put it teeth out, and see chart, margins and changes."""

from __future__ import annotations

from math import ceil, floor
from pathlib import Path

from mechlib.bench import slip_effect
from mechlib.draw import LivePicture, timing_chart
from mechlib.errors import MechError
from mechlib.panels.base import ListedPanel
from mechlib.ranges import Choice, Range, starts
from mechlib.transports import load
from mechlib.transports.model import Transport
from mechlib.transports.outcomes import JAMMED, NO_START

STEP_DEG = 0.5  # of the cursor
BEYOND_A_JAM = (
    "Each change begins where the machine would stop in its mode, even if a jam bars the way to there. Then "
    "it tells of a machine that stood there when the gear slipped."
)
CANNOT_START = "Cannot start: nowhere on its travel would the machine stop in that mode."


def controls(transport: Transport) -> dict[str, Range | Choice]:
    """What can be moved on the panel of a transport: the mesh, the teeth out there, the cursor.

    >>> [control.title for control in controls(load("alder")).values()]
    ['mesh', 'teeth ahead (+) / behind (−)', 'cursor θ (°)']
    """
    if not transport.mesh_names:
        raise MechError(f"{transport.name} has no mesh that could be a tooth out", "choose another transport")
    low, high = transport.ends
    low, high = STEP_DEG * ceil(low / STEP_DEG), STEP_DEG * floor(high / STEP_DEG)
    return {
        "mesh": Choice("mesh", transport.mesh_names, transport.mesh_names[0]),
        "teeth": Range("teeth ahead (+) / behind (−)", -4, 4, 1, 0),
        "theta_deg": Range("cursor θ", low, high, STEP_DEG, min(max(0.0, low), high), "°"),
    }


def _ready(transport: Transport, teeth: Range):
    """The panel's compute: all slips of a mesh are worked out once, when it is chosen."""
    done: set[str] = set()

    def compute(mesh: str, **chosen):
        if mesh not in done:
            for n in teeth.positions():
                slip_effect(transport, mesh, n)  # what is slow in it is kept by the library
            done.add(mesh)
        return slip_effect(transport, mesh, **chosen)

    return compute


class SlippedTooth(ListedPanel):
    """The panel; below the picture it lists every change that fails, as text to select and copy.

    Where one jams or can't start, it says what that means for the changes from the other modes.
    """

    label = "mode changes that fail"

    @property
    def listed(self) -> str:
        """Each change that fails, told in a sentence, one a line, and what holds for their starts."""
        result = self.picture.result
        failing = [result.table[pair].change for pair in result.failing]
        lines, ends = [change.sentence() for change in failing], {change.outcome for change in failing}
        lines += [BEYOND_A_JAM] if JAMMED in ends else []
        lines += [CANNOT_START] if NO_START in ends else []
        return "\n".join(lines) if lines else "Every mode change works."


def slipped_tooth(
    transport: Transport | str | Path = "alder",
    mesh: str | None = None,
    teeth: int = 0,
    theta_deg: float | None = None,
) -> SlippedTooth:
    """Return the panel of one slipped tooth on a transport.

    ``transport``: one that was loaded, the name of a shipped one, or the path of a transport file.
    ``mesh``: one of ``transport.mesh_names`` (the first if not given).  ``teeth`` out at that mesh, −4 to 4,
    ahead (+) or behind (−).  ``theta_deg``: where the cursor stands, within the travel, in main-cam degrees
    (0 if not given).  Raises MechError for anything else, and for a file with mistakes.

    >>> slipped_tooth("alder", mesh="worm wheel", teeth=2).listed
    'Every mode change works.'
    """
    machine = transport if isinstance(transport, Transport) else load(transport)
    given = {"mesh": mesh, "teeth": teeth, "theta_deg": theta_deg}
    ranges = controls(machine)
    values = starts(ranges, **{name: value for name, value in given.items() if value is not None})
    size = timing_chart.size_px(machine)
    picture = LivePicture(_ready(machine, ranges["teeth"]), timing_chart, values, size)
    return SlippedTooth(picture, ranges, name="slipped_tooth")
