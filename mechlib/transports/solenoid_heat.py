"""How warm the solenoid gets that releases a part-toothed gear, and whether its thermal cut-off opens."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.drives.heating import RepeatedHeating
from mechlib.drives.solenoid import Pull
from mechlib.drives.thermal_cut_off import Opening, advice, opening
from mechlib.errors import MechError, check_number
from mechlib.say import count, say
from mechlib.transports.mode_change import change
from mechlib.transports.model import Transport

CHANGES_PER_MINUTE = (0.01, 600.0)
AMBIENT_C = (-40.0, 85.0)


@dataclass(frozen=True)
class SolenoidHeat:
    """What one change, asked for again and again, does to the solenoid.

    ``warm``: the solenoid at the end, as warm as it gets; ``opening``: of its cut-off, None if it has none.
    """

    start: str
    target: str
    changes_per_minute: float
    releases: int
    heating: RepeatedHeating | None
    warm: Pull
    opening: Opening | None

    @property
    def opens(self) -> bool:
        """Whether the cut-off opens, or may."""
        return self.opening is not None and not self.opening.stays_closed

    def sentence(self) -> str:
        """How often it pulls, how warm it gets, whether it still pulls; with the caution where it opens."""
        asked = f"{self.start} to {self.target} {count(self.changes_per_minute, 'time', 1)} a minute"
        if not self.releases:
            return f"{asked}: the solenoid never pulls, and stays cold."
        asked = f"{asked}, {count(self.releases, 'release')} each"
        if self.opens:
            return f"{asked}. The solenoid's cut-off: {self.opening.sentence()} {advice()}"
        cut_off = f" Its cut-off: {self.opening.sentence()}" if self.opening else ""
        return f"{asked}: {self.warm.sentence()}{cut_off}"


def solenoid_heat(
    transport: Transport, start: str, target: str, changes_per_minute: float, ambient_C: float = 25.0
) -> SolenoidHeat:
    """The solenoid of a transport of which one change is asked for again and again, for a long time.

    Each change releases as often as ``change`` finds, each time for the file's on_s with the power of the
    cold winding, n·on_s in one go in each period of 60/``changes_per_minute``; both err on the hot side.
    ``changes_per_minute``: 0.01 to 600, no more than there is time for; ``ambient_C``: −40 to 85 °C.  Raises
    MechError for a transport without a part-toothed gear, and for values and modes that can't be.

    >>> from mechlib.transports import load, open_contact
    >>> solenoid_heat(load("birch"), "STOP", "PLAY", 2).opens
    False
    """
    often = check_number("changes_per_minute", changes_per_minute, *CHANGES_PER_MINUTE)
    ambient = check_number("ambient_C", ambient_C, *AMBIENT_C, "°C")
    release = transport.release
    if release is None:
        raise MechError(f"{transport.name} has no solenoid that releases a gear", "choose one that has")
    found, period = change(transport, start, target), 60.0 / often
    if (least := max(found.time_s, release.on_s * found.releases)) >= period:
        most = f"a change takes {say(least, 's')}: fewer than {say(60 / least)} fit in a minute"
        raise MechError(f"changes_per_minute is {often:g}", most)
    heating, peak, opened = None, ambient, None
    if found.releases:
        heating = release.solenoid.pulses(
            release.voltage_V, release.on_s * found.releases, period - release.on_s * found.releases
        )
        peak = ambient + heating.highest_K
        opened = opening(release.cut_off, heating, ambient) if release.cut_off else None
    warm = release.solenoid.at(release.voltage_V, peak)
    return SolenoidHeat(start, target, often, found.releases, heating, warm, opened)
