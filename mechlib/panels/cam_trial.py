"""The panel of a cam: choose law, follower and sizes, turn it, and see what the follower does."""

from __future__ import annotations

from mechlib.bench.cam_trial import CONTROLS
from mechlib.bench.cam_trial import cam_trial as compute
from mechlib.draw import LivePicture
from mechlib.draw import cam_trial as scene
from mechlib.panels.base import Panel
from mechlib.ranges import starts


def cam_trial(**values) -> Panel:
    """Return the panel of a disc cam that moves its follower out and back, with a dwell between.

    ``values``: where its controls start, by the names, units and ranges of ``mechlib.bench.cam_trial``'s
    ``CONTROLS``; a value not given starts at its default.  Raises MechError for other names, out of range,
    and where slide and base circle don't fit.

    >>> print(cam_trial(angle_deg=80).text.split(". ")[0])
    At 80.0° of the cam the lift is 4.00 mm and the pressure angle 21.7°
    """
    picture = LivePicture(compute, scene, starts(CONTROLS, **values), scene.SIZE_PX)
    return Panel(picture, CONTROLS, name="cam")
