"""The gear that broke: what it may have been, what it meshed with, where it sat and what it does there."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from mechlib.bench.mark_place import RACK, Ring, ring_at
from mechlib.bench.other_teeth import teeth_at, timed_at
from mechlib.drives.reels import Pack
from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.materials import material
from mechlib.gears.racks import BasicRack
from mechlib.gears.spur import MODULE_MM, SHIFT, TEETH, Gear
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_mesh import SpurMesh, mesh
from mechlib.gears.spur_shift import shift_sum, shortened
from mechlib.gears.unknown_gear import Candidate, Identified, NextReading, Size
from mechlib.say import listing
from mechlib.transports.model import Transport

CENTRE_MM, OFF_MM = (0.5, 500.0), (0.0, 1.0)
ROOM_MM = (0.1, 1000.0)
TEMPERATURE_C = (-40.0, 150.0)
LEAST_CONTACT = 1.0


@dataclass(frozen=True)
class Mate:
    """A gear that meshes with the broken one, and the distance of their shafts.

    ``teeth``: 6 to 2000; ``centre_mm``: 0.5 to 500, which may be off by ``off_mm``, 0 to 1; ``drives``: True
    where power comes from this gear, False where it goes on to it; ``shift``: its profile shift, −1 to 1.5;
    ``material`` of ``gears.materials``.  It has the broken gear's module and rack.  Raises MechError.
    """

    name: str
    teeth: int
    centre_mm: float
    drives: bool
    shift: float = 0.0
    off_mm: float = 0.05
    material: str = "acetal"

    def __post_init__(self):
        object.__setattr__(self, "teeth", check_count(f"teeth of the {self.name}", self.teeth, *TEETH))
        check_number(f"centre_mm to the {self.name}", self.centre_mm, *CENTRE_MM, "mm")
        check_number("off_mm", self.off_mm, *OFF_MM, "mm")
        check_number(f"shift of the {self.name}", self.shift, *SHIFT)
        material(self.material)

    def gear(self, size: Size, rack: BasicRack) -> Gear:
        """The mate as a gear of that size."""
        return Gear(self.teeth, size.module_mm, rack, self.shift)


@dataclass(frozen=True)
class Seat:
    """The room for the gear, at 20 °C: its shaft, and the most in width, hub and outside diameter, in mm.

    None where nothing limits it.  Raises MechError for numbers out of 0.1 to 1000.
    """

    shaft_mm: float
    most_width_mm: float | None = None
    most_hub_mm: float | None = None
    most_outside_mm: float | None = None

    def __post_init__(self):
        for name in ("shaft_mm", "most_width_mm", "most_hub_mm", "most_outside_mm"):
            if name == "shaft_mm" or getattr(self, name) is not None:
                check_number(name, getattr(self, name), *ROOM_MM, "mm")


@dataclass(frozen=True)
class Work:
    """What the gear does in the machine; leave out what isn't known.

    ``torque_Nmm``: at the gear.  ``cold_C``, ``warm_C``: −40 to 150 °C, between which it must run, on a plate
    of ``plate``.  ``moves_tape``: True where the capstan's speed follows from its ratio.  ``reel`` with
    ``reel_torque_Nmm``: a take-up reel that it drives and the torque there, which a slipping clutch between
    the two (``clutch_after``) keeps as it is.  ``transport``, ``mesh`` and ``side`` ("driver" or "driven"):
    the machine, and which gear of it this is.  Raises MechError for values out of range.
    """

    torque_Nmm: float | None = None
    cold_C: float = 5.0
    warm_C: float = 50.0
    plate: str = "steel"
    moves_tape: bool = False
    reel: Pack | None = None
    reel_torque_Nmm: float | None = None
    clutch_after: bool = False
    transport: Transport | None = None
    mesh: str = ""
    side: str = "driven"

    def __post_init__(self):
        if self.torque_Nmm is not None:
            check_number("torque_Nmm", self.torque_Nmm, 0, 1e6, "N·mm")
        check_number("cold_C", self.cold_C, *TEMPERATURE_C, "°C")
        check_number("warm_C", self.warm_C, self.cold_C, TEMPERATURE_C[1], "°C")
        material(self.plate)
        if (self.reel is None) != (self.reel_torque_Nmm is None):
            raise MechError("reel and reel_torque_Nmm", "give both or neither")
        if self.reel_torque_Nmm is not None:
            check_number("reel_torque_Nmm", self.reel_torque_Nmm, 1e-6, 1e5, "N·mm")
        if self.transport is not None:
            teeth_at(self.transport, self.mesh, self.side)

    @property
    def timed(self) -> bool:
        """Whether the gear keeps the marks: see ``other_teeth.timed_at``."""
        return self.transport is not None and timed_at(self.transport, self.mesh, self.side)

    @property
    def ring(self) -> Ring | None:
        """The row of teeth on which the gear's mark stands; None for one without."""
        return ring_at(self.transport, self.mesh, self.side) if self.timed else None


@dataclass(frozen=True)
class SoundGear:
    """One size that the broken gear may have had, sound, in mesh with its mates at the largest distances.

    ``mates`` are the gears that it ran with; ``meshes`` is empty where it can't have run there, and ``why``
    then says so.
    """

    candidate: Candidate
    gear: Gear | None
    mates: tuple[Gear, ...]
    meshes: tuple[SpurMesh, ...]
    why: str = ""

    @property
    def fits(self) -> bool:
        """Whether such a gear could have run between these shafts."""
        return bool(self.meshes)


@dataclass(frozen=True)
class Case:
    """A broken gear with its mates, seat and work.

    ``teeth``: its count, 6 to 2000; ``sizes``: what it may have been, the likeliest first, with the range of
    profile shifts, as ``unknown_gear.identify`` finds them (or ``known_size``); ``mates``: at least one;
    ``width_mm`` and ``made_of``: its own.  Raises MechError for values out of range, without a size or a
    mate, for a count that isn't the machine's, and for a rack.
    """

    teeth: int
    sizes: tuple[Candidate, ...]
    mates: tuple[Mate, ...]
    seat: Seat
    work: Work = Work()
    width_mm: float | None = None
    made_of: str = "acetal"
    next_reading: NextReading | None = None

    def __post_init__(self):
        object.__setattr__(self, "teeth", check_count("teeth", self.teeth, *TEETH))
        if not self.sizes or not self.mates:
            missing = "sizes" if not self.sizes else "mates"
            raise MechError(
                f"there are no {missing}", "give at least one; identify or known_size finds sizes"
            )
        if self.width_mm is not None:
            check_number("width_mm", self.width_mm, *ROOM_MM, "mm")
        material(self.made_of)
        work = self.work
        if work.transport is not None and teeth_at(work.transport, work.mesh, work.side) != self.teeth:
            filed = teeth_at(work.transport, work.mesh, work.side)
            raise MechError(f"teeth is {self.teeth}", f"the {work.side} of the {work.mesh} has {filed}")
        if work.ring and work.ring.kind == RACK:
            raise MechError(
                f"the {work.ring.gear} is a rack", "no gear stands in for it; have one cut as long as the old"
            )

    @cached_property
    def explained(self) -> tuple[SoundGear, ...]:
        """Every size, with whether the distances of the shafts allow it."""
        return tuple(_sound(self, size) for size in self.sizes)

    @property
    def possible(self) -> tuple[SoundGear, ...]:
        """The sizes that are left, the likeliest first."""
        return tuple(one for one in self.explained if one.fits)

    @property
    def idler(self) -> bool:
        """Whether power comes and goes by its teeth, so that its count doesn't change the ratio."""
        return {mate.drives for mate in self.mates} == {True, False}

    def speed_ratio(self, teeth: int) -> Fraction:
        """Speed of what follows with another count, over the speed before.

        z_new/z_old for a gear that drives, z_old/z_new for one that is driven, 1 for an idler.
        ``teeth``: 6 to 2000, else MechError.

        >>> from mechlib.gears.racks import FINE
        >>> driver = Mate("pinion", 18, 10.54, True)
        >>> Case(24, (known_size(0.5, FINE),), (driver,), Seat(2.0)).speed_ratio(25)
        Fraction(24, 25)
        """
        teeth = check_count("teeth", teeth, *TEETH)
        if self.idler:
            return Fraction(1)
        driven = self.mates[0].drives
        return Fraction(self.teeth, teeth) if driven else Fraction(teeth, self.teeth)

    def sentence(self) -> str:
        """What the gear was, and which sizes the distances of the shafts rule out."""
        around = listing(f"the {mate.name} ({mate.teeth} teeth)" for mate in self.mates)
        told = f"A gear of {self.teeth} teeth is missing beside {around}"
        if not self.possible:
            return f"{told}; no size fits between them: count and measure again."
        first, *rivals = self.possible
        out = [f"{one.candidate.name}: {one.why}" for one in self.explained if not one.fits]
        alike = "mate is" if len(self.mates) == 1 else "mates are"
        was = "is taken to have been" if first.candidate.chosen else "most likely was"
        told += f"; it {was} {first.candidate.sentence()} Its {alike} taken to be cut alike."
        if out:
            told += f" The distances rule out {'; '.join(out)}."
        if not rivals:
            return told
        names = listing(one.candidate.name for one in rivals)
        decides = f" {self.next_reading.sentence()}" if self.next_reading else ""
        return f"{told} It may have been {names} as well.{decides}"


def known_size(module_mm: float, rack: BasicRack, shift: float = 0.0, name: str = "") -> Candidate:
    """A size that is known, for a Case: module, rack and profile shift.

    ``name``: as the trade says it ("48 DP"); if not given it says the module.  Raises MechError out of range.

    >>> from mechlib.gears.racks import FINE
    >>> known_size(0.5, FINE).size.name
    'module 0.5'
    """
    module, shift = (
        check_number("module_mm", module_mm, *MODULE_MM, "mm"),
        check_number("shift", shift, *SHIFT),
    )
    return Candidate(Size(name or f"module {module:g}", module), rack, shift, shift)


def broken_gear(found: Identified, mates, seat: Seat, work: Work | None = None, **fields) -> Case:
    """A Case from what ``unknown_gear.identify`` found; other fields as for Case.

    Raises MechError as Case does, and where nothing was found.
    """
    told = {"work": work} if work else {}
    return Case(
        found.teeth, found.candidates, tuple(mates), seat, **told, next_reading=found.next_reading, **fields
    )


def _sound(given: Case, candidate: Candidate) -> SoundGear:
    """The broken gear of one size: with the shift in its range nearest to none that doesn't bind."""
    module, rack = candidate.size.module_mm, candidate.rack
    try:
        mates = tuple(mate.gear(candidate.size, rack) for mate in given.mates)
        most = min(
            shift_sum(given.teeth, mate.teeth, module, rack, mate.centre_mm + mate.off_mm) - mate.shift
            for mate in given.mates
        )
        if most < candidate.low:
            return SoundGear(candidate, None, mates, (), "its teeth would bind")
        gear = Gear(given.teeth, module, rack, min(candidate.shift, most - 1e-9))
        gear, mates, meshes = _run(gear, mates, given.mates)
        if min(contact(one).ratio for one in meshes) < LEAST_CONTACT:
            return SoundGear(candidate, None, mates, (), "its teeth would hardly reach their mates")
    except MechError as error:
        return SoundGear(candidate, None, (), (), str(error))
    return SoundGear(candidate, gear, mates, meshes)


def _run(gear: Gear, mates, given) -> tuple[Gear, tuple[Gear, ...], tuple[SpurMesh, ...]]:
    """A gear with its mates at their largest distances, and all tips cut short where they would dig in.

    They ran together once, so that tips which would be too high must have been made shorter.
    """
    centres = [one.centre_mm + one.off_mm for one in given]
    for mate, centre in zip(mates, centres, strict=True):
        gear, _ = shortened(gear, mate, centre, 0.0)
    cut = tuple(shortened(gear, *pair, 0.0)[1] for pair in zip(mates, centres, strict=True))
    return gear, cut, tuple(mesh(gear, *pair) for pair in zip(cut, centres, strict=True))
