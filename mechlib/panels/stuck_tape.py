"""The panel of a stuck tape: choose what is seen; read where the cam can stand, and how to get it out."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from mechlib.bench.stuck_tape import StuckTape
from mechlib.bench.stuck_tape import stuck_tape as steps_of
from mechlib.bench.where import sights_to_choose, where_it_stands
from mechlib.draw import LivePicture
from mechlib.draw import where as scene
from mechlib.panels.base import ListedPanel
from mechlib.ranges import Choice, starts
from mechlib.transports import load
from mechlib.transports.model import Transport

NOT_SEEN = "not looked at"
TARGET = "mode wanted"


def controls(transport: Transport) -> dict[str, Choice]:
    """What can be chosen: the mode wanted, and how each follower and contact is seen.

    >>> list(controls(load("alder")))[:3]
    ['mode wanted', 'carriage', 'loading arms']
    """
    target = Choice(TARGET, transport.mode_names, transport.controller.home.mode)
    seen = sights_to_choose(transport).items()
    return {TARGET: target} | {name: Choice(name, (NOT_SEEN, *ways), NOT_SEEN) for name, ways in seen}


class StuckTapePanel(ListedPanel):
    """The panel; below the picture it lists the steps, as text to select and copy."""

    label = "steps to the mode wanted"
    height = "16em"

    @property
    def listed(self) -> str:
        """The steps, with the sentence first."""
        return self.picture.result.text()


def stuck_tape(
    transport: Transport | str | Path = "alder",
    target: str | None = None,
    seen: Mapping[str, str] | None = None,
) -> StuckTapePanel:
    """Return the panel of a stuck tape on a transport.

    ``transport``: one that was loaded, the name of a shipped one, or the path of a transport file.
    ``target``: the mode wanted (the one to which the controller homes if not given: the tape is out there).
    ``seen``: what is chosen at first, such as {"pinch lever": "ready", "contact C": "open"}.  Raises
    MechError for anything else, and for a file with mistakes.

    >>> stuck_tape("alder", seen={"loading arms": "half"}).text[:42]
    'The cam of Alder stands at 52.0° to 63.6°:'
    """
    machine = transport if isinstance(transport, Transport) else load(transport)
    choices = controls(machine)
    given = dict(seen or {}) | ({} if target is None else {TARGET: target})
    values = starts(choices, **given)

    def compute(**chosen) -> StuckTape:
        wanted = chosen.pop(TARGET)
        sights = {name: how for name, how in chosen.items() if how != NOT_SEEN}
        return steps_of(machine, where_it_stands(machine, sights), wanted)

    picture = LivePicture(compute, scene, values, scene.size_px(machine))
    return StuckTapePanel(picture, choices, name="stuck_tape")
