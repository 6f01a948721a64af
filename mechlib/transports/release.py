"""What releases a part-toothed main gear: its gaps, its latch, and the solenoid that pulls the latch off."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil, floor

from mechlib.drives.solenoid import Solenoid
from mechlib.drives.thermal_cut_off import CutOff
from mechlib.gears.part_toothed import ReleasedGear
from mechlib.gears.racks import ISO_53_A
from mechlib.say import listing, say

USUAL_TEETH = ISO_53_A  # a file doesn't say what its gears are cut to; whoever reckons with this says so


@dataclass(frozen=True)
class Release:
    """A main gear that its pinion drives from rest to rest, in the loading sense only, once for each release.

    ``latch_deg``: by how much a rest may be off, either way; ``release_s``: from the command to the first
    tooth in mesh; ``on_s``: how long the solenoid is on ``voltage_V`` each time.  Rests are in degrees of
    theta; the first of them, at 0, is that of the reference mode.

    >>> from mechlib.transports import load
    >>> load("birch").release.rests_deg
    (0.0, 160.0, 240.0)
    """

    gear: ReleasedGear
    latch_deg: float
    release_s: float
    on_s: float
    voltage_V: float
    solenoid: Solenoid
    cut_off: CutOff | None = None
    cut_off_open: bool = False

    @cached_property
    def rests_deg(self) -> tuple[float, ...]:
        """The rests at which the latch holds, from 0 to below 360 degrees."""
        missed = self.gear.missed
        return tuple(float(deg) for rest, deg in enumerate(self.gear.rests_deg) if rest not in missed)

    def rests_from(self, start_deg: float, end_deg: float) -> tuple[float, ...]:
        """Every such rest from one angle to another, both included, turn after turn.

        >>> from mechlib.transports import load
        >>> load("birch").release.rests_from(160, 600)
        (160.0, 240.0, 360.0, 520.0, 600.0)
        """
        found = []
        for rest in self.rests_deg:
            first, last = ceil((start_deg - rest) / 360.0), floor((end_deg - rest) / 360.0)
            found += [rest + 360.0 * turn for turn in range(first, last + 1)]
        return tuple(sorted(found))

    def driven_deg(self, start_deg: float, end_deg: float) -> float:
        """Degrees over which the pinion drives the gear from one angle on to another: all but the kicks.

        After each rest the gear is first turned by its kick, by a spring or a hand; only then is its first
        tooth in mesh.  From there on the pinion is taken to drive it to the next rest, as in
        ``ReleasedGear.step``.  Derived.

        >>> from mechlib.transports import load
        >>> load("birch").release.driven_deg(160, 360)
        190.0
        """
        kick = float(self.gear.kick_deg)
        rests = self.rests_from(start_deg - kick, end_deg)
        kicked = (min(rest + kick, end_deg) - max(rest, start_deg) for rest in rests)
        return end_deg - start_deg - sum(max(deg, 0.0) for deg in kicked)

    def missing(self, rest: int) -> Release:
        """The same with a latch that doesn't catch at one more rest, counted from 0.

        Raises MechError where none would be left.

        >>> from mechlib.transports import load
        >>> load("birch").release.missing(1).rests_deg
        (0.0, 240.0)
        """
        missed = tuple(sorted({*self.gear.missed, rest}))
        return replace(self, gear=replace(self.gear, missed=missed))

    def sentence(self) -> str:
        """Where the latch holds, and what a release takes."""
        rests = listing(say(deg, "°") for deg in self.rests_deg)
        takes = f"{say(self.release_s, 's', 2)} from the command into mesh"
        return f"The latch holds the cam at {rests}, ±{say(self.latch_deg, '°')}; a release takes {takes}."
