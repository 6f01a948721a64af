"""Faults of what releases a part-toothed main gear; each makes a new transport."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mechlib.errors import MechError
from mechlib.transports.model import LOADING, Transport
from mechlib.transports.release import Release
from mechlib.transports.timing import arrival


@dataclass(frozen=True)
class CutOffOpen:
    """A thermal cut-off that has opened: the solenoid gets no current."""

    def put_in(self, transport: Transport) -> Transport:
        release = _release(transport)
        if release.cut_off is None:
            right = "add a cut_off to its [solenoid] or leave this out"
            raise MechError(f"{transport.name} gives no thermal cut-off", right)
        return transport.changed(release=replace(release, cut_off_open=True), solenoid_pulls=False)

    def sentence(self) -> str:
        return "The solenoid's thermal cut-off is open."


@dataclass(frozen=True)
class LatchWorn:
    """A latch that doesn't catch at the rest of one mode: the cam runs on to the next rest."""

    mode: str

    def put_in(self, transport: Transport) -> Transport:
        release, sound = _release(transport), transport.sound
        came = arrival(sound, sound.mode(self.mode).name, LOADING)
        return transport.changed(release=release.missing(sound.release.rests_deg.index(came.stand_deg)))

    def sentence(self) -> str:
        return f"The latch misses the rest of {self.mode}."


def _release(transport: Transport) -> Release:
    if transport.release is None:
        right = "this fault is for a part-toothed gear that a solenoid releases"
        raise MechError(f"{transport.name} has no latch to be released", right)
    return transport.release


def cut_off_open() -> CutOffOpen:
    """A thermal cut-off in the solenoid that has opened; find the cause before a new one is fitted.

    >>> cut_off_open().sentence()
    "The solenoid's thermal cut-off is open."
    """
    return CutOffOpen()


def latch_worn(mode: str) -> LatchWorn:
    """A latch so worn at the rest of ``mode`` that it doesn't catch there.

    One rest at least must be left: put in, it raises MechError otherwise, and for a mode that doesn't exist.

    >>> latch_worn("PAUSE").sentence()
    'The latch misses the rest of PAUSE.'
    """
    return LatchWorn(mode)
