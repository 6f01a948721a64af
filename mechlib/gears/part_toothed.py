"""Gears with teeth on part of the rim: one that drives now and then, and one that is released step by step.

Such a gear is written as its stretches in turn, each as (teeth, teeth missing after them): ((4, 26),) is a
gear with places for 30 teeth that has 4.  Angles count its own tooth places, so they come out as exact
fractions of a turn.  Where the power changes over, at the first and last tooth of a stretch, the real flanks
touch a little sooner and part a little later than counted here, by less than a tooth (see ``kick``).
The rules follow from counting teeth: derived.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import acos, degrees, gcd

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.racks import BasicRack
from mechlib.gears.spur import Gear
from mechlib.say import count, listing, say

PLACES = (6, 1000)  # for teeth on the whole rim
MATE_TEETH = (4, 2000)
MOST_STRETCHES = 24
REV_MIN = (0.01, 1e5)
MOST_RELEASES = 1000
FULL_TURN = 360

Stretches = tuple[tuple[int, int], ...]


def check_stretches(stretches) -> Stretches:
    """The stretches as a tuple of (teeth, teeth missing); 1 to 24 of them, 6 to 1000 places in all.

    Each has at least 1 tooth and 1 tooth missing.  Raises MechError otherwise.

    >>> check_stretches([(4, 26)])
    ((4, 26),)
    """
    right = "write (teeth, teeth missing after them) for each, such as ((37, 3), (17, 3))"
    try:
        pairs = [tuple(pair) for pair in stretches]
    except TypeError:
        raise MechError(f"stretches is {stretches!r}", right) from None
    if not 1 <= len(pairs) <= MOST_STRETCHES or any(len(pair) != 2 for pair in pairs):
        raise MechError(f"stretches has {len(pairs)} entries", right)
    found = []
    for number, (teeth, missing) in enumerate(pairs, 1):
        one = check_count(f"teeth of stretch {number}", teeth, 1, PLACES[1])
        found.append((one, check_count(f"teeth missing after stretch {number}", missing, 1, PLACES[1])))
    check_count("the number of places for teeth", sum(map(sum, found)), *PLACES)
    return tuple(found)


@dataclass(frozen=True)
class _PartToothed:
    stretches: Stretches

    def __post_init__(self):
        object.__setattr__(self, "stretches", check_stretches(self.stretches))

    @property
    def places(self) -> int:
        """Places for teeth on the whole rim, with and without a tooth."""
        return sum(teeth + missing for teeth, missing in self.stretches)

    @property
    def teeth(self) -> int:
        """Teeth that are there."""
        return sum(teeth for teeth, _ in self.stretches)


@dataclass(frozen=True)
class StepDriver(_PartToothed):
    """A part-toothed gear that turns on and on and moves a full gear now and then.

    ``stretches``: see ``check_stretches``; ``driven_teeth`` z: 4 to 2000, on the full gear.  A stretch of n
    teeth out of N places moves it by n/z of a turn, while the driver makes n/N of its own; then it dwells.
    The driven gear must be held in its dwell.  External gears: it turns the other way.  Raises MechError.

    >>> drive = StepDriver(((4, 26),), 20)
    >>> drive.steps, drive.dwells, drive.repeats_after
    ((Fraction(1, 5),), (Fraction(13, 15),), 5)
    """

    driven_teeth: int

    def __post_init__(self):
        super().__post_init__()
        object.__setattr__(self, "driven_teeth", check_count("driven_teeth", self.driven_teeth, *MATE_TEETH))

    @property
    def steps(self) -> tuple[Fraction, ...]:
        """Turns of the driven gear by each stretch, n/z."""
        return tuple(Fraction(teeth, self.driven_teeth) for teeth, _ in self.stretches)

    @property
    def moves(self) -> tuple[Fraction, ...]:
        """Turns of the driver while each stretch drives, n/N."""
        return tuple(Fraction(teeth, self.places) for teeth, _ in self.stretches)

    @property
    def dwells(self) -> tuple[Fraction, ...]:
        """Turns of the driver after each stretch while the driven gear stands."""
        return tuple(Fraction(missing, self.places) for _, missing in self.stretches)

    @property
    def mean_ratio(self) -> Fraction:
        """Turns of the driven gear for one of the driver, dwells and all: −Σn/z."""
        return -Fraction(self.teeth, self.driven_teeth)

    @property
    def running_ratio(self) -> Fraction:
        """The same while teeth are in mesh: −N/z."""
        return -Fraction(self.places, self.driven_teeth)

    @property
    def repeats_after(self) -> int:
        """Turns of the driver until the driven gear stands as at first: z/gcd(Σn, z)."""
        return self.driven_teeth // gcd(self.teeth, self.driven_teeth)

    @cached_property
    def stands(self) -> tuple[Fraction, ...]:
        """Where the driven gear dwells, in turns round from the first dwell, each place once, in order."""
        at = Fraction(0)
        found = {at}
        for _ in range(self.repeats_after):
            for step in self.steps:
                at = (at + step) % 1
                found.add(at)
        return tuple(sorted(found))

    def driven_turns(self, driver_turns: Fraction | float) -> Fraction:
        """Turns of the driven gear (− : the other way) after so many of the driver, from a first tooth on.

        ``driver_turns``: 0 to 1e6; exact for a Fraction or whole number.  Raises MechError out of range.

        >>> StepDriver(((4, 26),), 20).driven_turns(Fraction(7, 6))
        Fraction(-2, 5)
        """
        check_number("driver_turns", driver_turns, 0, 1e6, "turns")
        whole, rest = divmod(Fraction(driver_turns), 1)
        found = whole * self.mean_ratio
        for move, dwell in zip(self.moves, self.dwells, strict=True):
            found += min(max(rest, Fraction(0)), move) * self.running_ratio
            rest -= move + dwell
        return found

    def mean_rev_min(self, driver_rev_min: float) -> float:
        """Mean speed of the driven gear at a speed of the driver, −1e5 to 1e5 rev/min; signed.

        >>> StepDriver(((4, 26),), 20).mean_rev_min(60)
        -12.0
        """
        return check_number("driver_rev_min", driver_rev_min, -1e5, 1e5, "rev/min") * float(self.mean_ratio)

    def sentence(self) -> str:
        """Motion and dwell of a turn, and when the pattern repeats."""
        each = listing(f"{step} of a turn" for step in self.steps)
        stands = listing(map(str, self.dwells))
        return (
            f"In each turn of the driver ({self.teeth} of {self.places} teeth) the gear of "
            f"{self.driven_teeth} moves on by {each}, and stands for {stands} of the driver's turn; it "
            f"stands as at first after {count(self.repeats_after, 'turn')} of the driver, and in "
            f"{count(len(self.stands), 'place')} in all."
        )


@dataclass(frozen=True)
class Step:
    """One release: from one rest to another, in degrees of the gear and turns of its pinion."""

    start: int
    end: int
    deg: Fraction
    driver_turns: Fraction

    def seconds(self, driver_rev_min: float) -> float:
        """Time at a speed of the pinion, 0.01 to 1e5 rev/min, from mesh to rest; the kick's own time apart.

        >>> Step(0, 1, Fraction(160), Fraction(5, 2)).seconds(300)
        0.5
        """
        return float(60 * self.driver_turns) / check_number("driver_rev_min", driver_rev_min, *REV_MIN)

    def sentence(self) -> str:
        """From where to where, and how far the pinion turns for it."""
        turns = count(float(self.driver_turns), "turn", 2)
        rests = f"From rest {self.start} to rest {self.end}"
        return f"{rests}: {say(float(self.deg), '°')}, {turns} of the pinion."


@dataclass(frozen=True)
class ReleasedGear(_PartToothed):
    """A gear with gaps, driven by a pinion that always turns, and held by a latch in the middle of each gap.

    ``stretches``: see ``check_stretches``; ``pinion_teeth``: 4 to 2000; ``kick_deg``: by which a spring turns
    the released gear into mesh, 0 to 90°, less than any step.  Rests are counted from 0 in the order in which
    they come; the first stretch follows rest 0.  ``missed``: rests at which the latch doesn't catch; one at
    least must hold.  Raises MechError.

    >>> gear = ReleasedGear(((37, 3), (17, 3), (13, 17)), 12, 5)
    >>> [float(deg) for deg in gear.rests_deg], gear.next_rest(2)
    ([0.0, 188.0, 268.0], 0)
    >>> gear.step(1).sentence()
    'From rest 1 to rest 2: 80.0°, 1.56 turns of the pinion.'
    """

    pinion_teeth: int
    kick_deg: float
    missed: tuple[int, ...] = ()

    def __post_init__(self):
        super().__post_init__()
        object.__setattr__(self, "pinion_teeth", check_count("pinion_teeth", self.pinion_teeth, *MATE_TEETH))
        least = float(min(self._apart))
        check_number("kick_deg", self.kick_deg, 0, min(90, least), "°", "it is less than the shortest step")
        object.__setattr__(self, "missed", tuple(self._check(rest) for rest in self.missed))
        if len(set(self.missed)) >= len(self.stretches):
            raise MechError("the latch holds at no rest", "it would turn for ever: leave a rest that holds")

    @cached_property
    def _apart(self) -> tuple[Fraction, ...]:
        """Degrees from each rest to the next: from the middle of one gap to that of the next."""
        gaps = [missing for _, missing in self.stretches]
        before = [gaps[-1], *gaps[:-1]]
        places = (
            teeth + Fraction(first + last, 2)
            for (teeth, last), first in zip(self.stretches, before, strict=True)
        )
        return tuple(FULL_TURN * place / self.places for place in places)

    @cached_property
    def rests_deg(self) -> tuple[Fraction, ...]:
        """The angle of every rest, from rest 0 in the sense in which the gear turns."""
        return tuple(sum(self._apart[:rest], Fraction(0)) for rest in range(len(self._apart)))

    def _check(self, rest: int) -> int:
        hint = "rests are counted from 0"
        return check_count("rest", rest, 0, len(self.stretches) - 1, hint)

    def next_rest(self, rest: int) -> int:
        """The rest at which the latch catches next, after a release at ``rest``.

        >>> ReleasedGear(((10, 2), (10, 2), (10, 2)), 10, 3, missed=(1,)).next_rest(0)
        2
        """
        return self.step(rest).end

    def step(self, rest: int) -> Step:
        """One release at ``rest``: angle, and turns of the pinion, (degrees − kick)/360·N/z.

        A missed latch lets the gear run on through the gap, carried by its spring, to the next rest.
        """
        here, number = self._check(rest), len(self.stretches)
        deg = self._apart[here]
        end = (here + 1) % number
        while end in self.missed:
            deg += self._apart[end]
            end = (end + 1) % number
        turned = (deg - Fraction(self.kick_deg)) / FULL_TURN
        return Step(here, end, deg, turned * self.places / self.pinion_teeth)

    def after(self, start: int, pulls) -> tuple[int, ...]:
        """The rest after each command, from ``start``; ``pulls``: for each whether the solenoid pulled.

        A missed release leaves the gear where it stands.  At most 1000 commands.  Raises MechError.

        >>> ReleasedGear(((10, 2), (10, 2), (10, 2)), 10, 3).after(0, [True, False, True])
        (1, 1, 2)
        """
        pulls, here, found = list(pulls), self._check(start), []
        check_count("the number of commands", len(pulls), 0, MOST_RELEASES)
        for pulled in pulls:
            here = self.next_rest(here) if pulled else here
            found.append(here)
        return tuple(found)

    def kick(self, rack: BasicRack, rest: int = 0) -> Kick:
        """Whether the pinion runs free at a rest, and whether the kick takes the first tooth into mesh.

        Tooth and pinion can touch where both lie within both tip circles: the lead of the first tooth at its
        tip has to come to cos γ = (r_a² + a² − r_a1²)/(2·a·r_a) before the line of centres, with the centres
        a = m·(z + N)/2 apart (no profile shift; the module falls out).  In the middle of a gap of n teeth it
        stands (n + 1)/2 places less half a tooth's tip before that line.  ``rack``: as for ``Gear``;
        ``rest``: from 0 on.  Raises MechError for a rest or teeth that can't be.

        >>> from mechlib.gears.racks import ISO_53_A
        >>> gear = ReleasedGear(((37, 3), (17, 3), (27, 3)), 12, 5)
        >>> gear.kick(ISO_53_A).sentence()[:64]
        'With teeth of ISO 53 A: at rest 0 the pinion runs free by 1.7°; '
        """
        here = self._check(rest)
        wheel, pinion = (Gear(teeth, 1.0, rack) for teeth in (self.places, self.pinion_teeth))
        tip, mate = wheel.tip_mm / 2, pinion.tip_mm / 2
        centres = (wheel.reference_mm + pinion.reference_mm) / 2
        reach = degrees(acos((tip**2 + centres**2 - mate**2) / (2 * centres * tip)))
        half_tip = degrees(float(wheel.half_angle(tip)))
        missing = self.stretches[here - 1][1]
        first = (missing + 1) / 2 * FULL_TURN / self.places
        return Kick(here, first - half_tip - reach, float(self.kick_deg), rack.name)

    def sentence(self) -> str:
        """Teeth, rests and steps."""
        rests = listing(say(float(deg), "°") for deg in self.rests_deg)
        steps = listing(say(float(deg), "°") for deg in self._apart)
        missed = listing(map(str, self.missed))
        worn = f"; the latch misses rest {missed}" if self.missed else ""
        return f"{self.teeth} of {self.places} teeth; it rests at {rests} and goes on by {steps}{worn}."


@dataclass(frozen=True)
class Kick:
    """A gear at a rest: ``free_deg`` from its first tooth to the pinion's reach, and its spring's kick.

    ``cut_to``: the basic rack that the teeth are taken to be cut to.
    """

    rest: int
    free_deg: float
    kick_deg: float
    cut_to: str

    @property
    def runs_free(self) -> bool:
        """Whether the pinion turns past without touching a tooth."""
        return self.free_deg > 0

    @property
    def meshes(self) -> bool:
        """Whether the kick takes the first tooth into the pinion's reach."""
        return self.kick_deg > self.free_deg

    def sentence(self) -> str:
        """Whether the pinion runs free at rest, and how far the kick goes, with which teeth."""
        at = f"With teeth of {self.cut_to}: at rest {self.rest}"
        if not self.runs_free:
            return (
                f"{at} the pinion's teeth strike the gear's, {say(-self.free_deg, '°')} deep: "
                "more teeth must be missing."
            )
        kick = f"{at} the pinion runs free by {say(self.free_deg, '°')}; the kick of "
        kick += f"{say(self.kick_deg, '°')} "
        deep = self.kick_deg - self.free_deg
        if self.meshes:
            return f"{kick}takes the first tooth {say(deep, '°')} into its reach."
        return f"{kick}ends {say(-deep, '°')} short of it: released, the gear stays where it is."
