"""How warm the solenoid gets that releases a part-toothed gear, and whether its thermal cut-off opens."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mechlib.drives.heating import STEP_S
from mechlib.drives.solenoid import Pull
from mechlib.drives.solenoid_warming import Warming, warming
from mechlib.drives.thermal_cut_off import CutOff, Opening, advice
from mechlib.errors import MechError, check_number
from mechlib.say import count, say
from mechlib.transports.mode_change import change, change_from
from mechlib.transports.model import Transport
from mechlib.transports.release import Release

CHANGES_PER_MINUTE = (0.01, 600.0)
AMBIENT_C = (-40.0, 85.0)


@dataclass(frozen=True)
class SolenoidHeat:
    """What one change and the way back, asked for again and again, do to the solenoid.

    ``releases``: there and back; ``warming``: with all pulls of a round in one go, None if it never pulls;
    ``warm``: the solenoid at the end, as warm as it gets; ``opening``: of its cut-off, None if it has none.
    """

    start: str
    target: str
    changes_per_minute: float
    releases: int
    warming: Warming | None
    warm: Pull
    opening: Opening | None

    @property
    def opens(self) -> bool:
        """Whether the cut-off opens, or may."""
        return self.opening is not None and not self.opening.stays_closed

    def sentence(self) -> str:
        """How often it pulls, how warm it gets, whether it still pulls; with the caution where it opens."""
        asked = f"{self.start} to {self.target} and back {count(self.changes_per_minute, 'time', 1)} a minute"
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

    After each change the machine is sent back; each way releases as often as ``change`` finds, each time for
    the file's on_s.  Warm copper takes less current.  When in a round of 60/``changes_per_minute`` seconds
    the pulls come isn't looked at.  So the cut-off's times are bounds: until when it holds and when it may
    open, with all pulls in one go; by when it has surely opened, with the pulls spread over the round.
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
    releases, least = _there_and_back(transport, start, target)
    period = 60.0 / often
    if (least := max(least, release.on_s * releases)) >= period:
        most = f"there and back takes {say(least, 's')}: fewer than {say(60 / least)} fit in a minute"
        raise MechError(f"changes_per_minute is {often:g}", most)
    warmed, peak, opened = None, ambient, None
    if releases:
        warmed = _pulled(release, releases, 1, period, ambient)
        peak = warmed.peak_C
        spread = _pulled(release, 1, releases, period, ambient)
        opened = _bounds(release.cut_off, warmed, spread) if release.cut_off else None
    warm = release.solenoid.at(release.voltage_V, peak)
    return SolenoidHeat(start, target, often, releases, warmed, warm, opened)


def _there_and_back(transport: Transport, start: str, target: str) -> tuple[int, float]:
    """Releases and seconds of a change and of the way back from where it ends."""
    there = change(transport, start, target)
    if there.stand is None:
        return there.releases, there.time_s
    back = change_from(transport, there.stand, target, start)
    return there.releases + back.releases, there.time_s + back.time_s


def _pulled(release: Release, at_once: int, times: int, period_s: float, ambient_C: float) -> Warming:
    """The winding under so many pulls in one go, so many times in each period, evenly spread."""
    pull = release.on_s * at_once
    pause = max(period_s / times - pull, STEP_S[0])
    return warming(release.solenoid, release.voltage_V, pull, pause, ambient_C, 0)


def _bounds(cut_off: CutOff, soonest: Warming, latest: Warming) -> Opening:
    """The cut-off's times: the first two of the one winding, the last of the other, which warms up later."""
    return replace(soonest.opening(cut_off), latest_s=latest.seconds_to(cut_off.rated_C))
