"""Does the cam come to rest past its mode's code?  Then the controller doesn't know where it stands."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.say import listing
from mechlib.transports.course import mode_shown
from mechlib.transports.mode_change import standing_start
from mechlib.transports.model import SENSE, Transport
from mechlib.transports.timing import arriving_senses


@dataclass(frozen=True)
class PastCode:
    """A mode whose code no longer shows where the cam comes to rest.

    ``senses``: in which the mode is then reached, none for all of them; ``shown``: the other mode whose code
    shows there, if any; ``home``: the mode to which the controller homes.
    """

    mode: str
    senses: tuple[str, ...]
    shown: str | None
    home: str

    def sentence(self) -> str:
        """Where it comes to rest, and what the controller makes of it."""
        reached = f", reached in the {listing(self.senses)} sense," if self.senses else ""
        then = f"the controller takes it for {self.shown}"
        if self.shown is None:
            then = f"the next key makes it home, to {self.home}"
        return f"{self.mode}{reached} comes to rest past its code: {then}."


def past_code(transport: Transport, mode: str) -> tuple[PastCode, ...]:
    """Where a mode comes to rest with its code no longer showing; nothing where it shows in every sense.

    The codes are read as the controller reads them before it turns the motor.  A mode that can't be reached
    in a sense is left out there.  Raises MechError for an unknown mode.

    >>> from dataclasses import replace
    >>> from mechlib.transports import load
    >>> far = replace(load("alder"), coast_deg=7.6)
    >>> past_code(load("alder"), "PLAY"), [found.home for found in past_code(far, "PLAY")]
    ((), ['EJECT'])
    """
    transport.mode(mode)
    reached = [sense for sense in SENSE if sense in arriving_senses(transport)[mode]]
    found: dict[str | None, list[str]] = {}
    for sense in reached:
        stand = standing_start(transport, mode, sense)
        if stand and (shown := mode_shown(transport, stand)) != mode:
            found.setdefault(shown, []).append(sense)
    home = transport.controller.home.mode
    return tuple(
        PastCode(mode, () if senses == reached else tuple(senses), shown, home)
        for shown, senses in found.items()
    )
