"""Where the mark of a new gear, sector or rack goes, and what the rest that is left over does."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from mechlib.bench.other_teeth import DRIVEN, OtherTeeth, row_at, timed_at
from mechlib.errors import MechError, check_number
from mechlib.gears.spur import MODULE_MM
from mechlib.say import count, listing, say
from mechlib.transports.faults import split_gear
from mechlib.transports.model import MAIN_CAM, MAIN_GEAR, Transport

GEAR, SECTOR, RACK = "gear", "sector", "rack"
BASES = {
    GEAR: "its flat, key or pin",
    SECTOR: "its flat, key or pin, or an edge that both have",
    RACK: "its end, or a rib that both have",
}
LENGTH_MM = 500.0


@dataclass(frozen=True)
class Ring:
    """A row of teeth of a gear (sector, rack) of the chart on which marks stand.

    ``holder``: the main cam, an output or a timed part; ``speed``: the holder's over the main cam's, unsigned
    (of a rack: rolled up); ``own``: whether it meshes with its own parent by this row; ``meshes``: the timed
    parts that mesh with the row as its children; ``mate``: the gear whose mark is looked for; ``mates``: the
    other gears for which it has marks; ``others``: teeth of its other rows on which marks stand.
    """

    holder: str
    kind: str
    teeth: int
    speed: float
    own: bool
    meshes: tuple[str, ...]
    mate: str
    mates: tuple[str, ...]
    others: tuple[int, ...]

    @property
    def gear(self) -> str:
        """The holder as a gear."""
        return _as_gear(self.holder)

    @property
    def name(self) -> str:
        """The holder as a gear, and which row if there are others."""
        return f"{self.gear}, in its row of {self.teeth} teeth," if self.others else self.gear

    @property
    def unit(self) -> str:
        """What its mark is measured in."""
        return "mm" if self.kind == RACK else "°"

    @property
    def pitch_cam_deg(self) -> float:
        """Degrees of theta in which it goes on by one tooth."""
        return 360 / (self.teeth * self.speed)

    def sentence(self) -> str:
        """What is to be measured for the place of the mark."""
        what = f"on the old {self.name} from {BASES[self.kind]} to the middle of the tooth that is marked"
        new = "on the new one from there to the middle of its first tooth"
        sense = "along it, the way it goes when loading" if self.kind == RACK else "in its loading sense"
        units = "mm" if self.kind == RACK else "degrees"
        told = f"Measure {what} for the {self.mate}, and {new}, both {sense}, in {units}."
        return f"{told} If a gap is marked, take gaps both times."


def _as_gear(holder: str) -> str:
    return MAIN_GEAR if holder == MAIN_CAM else holder


@dataclass(frozen=True)
class MarkPlace:
    """Where the mark of a new gear goes, and how far that is from where it ought to be.

    ``tooth``: counted from the first tooth past the flat or end, which is 1, in the loading sense; ``off``
    (in the unit of the ring: ° or mm) and ``off_cam_deg``: by which ``moved``, the parts that stand off with
    all that hangs on them, then stand ahead (+) or behind (−); ``failing``: the mode changes that this alone
    would spoil.
    """

    ring: Ring
    tooth: int
    off: float
    off_cam_deg: float
    moved: tuple[str, ...]
    failing: tuple[tuple[str, str], ...]

    def sentence(self) -> str:
        """The tooth to mark, what is left over, and what else carries a mark."""
        ring = self.ring
        base = "its flat" if ring.kind == GEAR else "its first tooth"
        told = f"Mark tooth {self.tooth} of the new {ring.name} counted from {base} in the loading sense"
        told = told if ring.others else told.replace(" counted", ", counted")
        if abs(self.off_cam_deg) * ring.speed < 0.05:
            return f"{told}: it stands just where the old mark stood.{self._marks()}"
        if not self.failing:
            ends = "every mode change still works"
        else:
            instead = "have one cut that stands right" if ring.kind == RACK else "turn the gear on its shaft"
            ends = f"{count(len(self.failing), 'mode change')} would fail: {instead} instead"
        return f"{told}: {self._stands()}; {ends}.{self._marks()}"

    def _stands(self) -> str:
        """Which parts stand off, by how much of the gear that is marked and of the main cam."""
        way = "ahead" if self.off_cam_deg > 0 else "behind"
        off = say(abs(self.off), self.ring.unit, 2 if self.ring.kind == RACK else 1)
        of = "" if self.ring.own else f" of the {self.ring.gear}"
        named, cam = listing(f"the {part}" for part in self.moved), say(abs(self.off_cam_deg), "°")
        return f"{named} then {_does(self.moved)} {off}{of} {way}, {cam} of the main cam"

    def _marks(self) -> str:
        """The marks that go with this one, and those that don't."""
        said, ring = "", self.ring
        if ring.mates:
            marks = f"its mark{'s' if len(ring.mates) > 1 else ''}"
            mates = listing(f"the {mate}" for mate in ring.mates)
            said = f" Count {marks} for {mates} from this one, as on the old"
            said += f", so that the {listing(ring.meshes)} {_does(ring.meshes)} right." if ring.own else "."
        if ring.others:
            rows = f"{'rows' if len(ring.others) > 1 else 'row'} of {listing(map(str, ring.others))} teeth"
            said += f" Marks in its {rows} are found in the same way, by themselves."
        return said


def _does(names: tuple[str, ...]) -> str:
    return "stands" if len(names) == 1 else "stand"


def ring_at(transport: Transport, mesh: str, side: str = DRIVEN) -> Ring:
    """The row of teeth on which a mark stands, at one side of a mesh.

    Raises MechError for a mesh or side that there isn't, where no mark stands, and where the file doesn't say
    whether an upstream mesh drives the main gear.

    >>> from mechlib.transports import load
    >>> ring_at(load("cedar"), "pinch sector", "driver").meshes, ring_at(load("cedar"), "drawer rack").unit
    (('pinch sector',), 'mm')
    """
    sound = transport.sound
    if not timed_at(sound, mesh, side):
        raise MechError(f"no mark stands on the {side} gear of the {mesh}", "it may be meshed at any tooth")
    holder, teeth = row = row_at(sound, mesh, side)
    roots = {root.name: root for root in sound.roots}
    part = None if holder in roots else sound.part(holder)
    own = part is not None and part.teeth == teeth
    meshes = tuple(one.name for one in sound.parts if (one.parent, one.parent_teeth) == row)
    mates = (_as_gear(part.parent), *meshes) if own else meshes
    mate = mesh if mesh in meshes else mates[0]
    rows = {one.parent_teeth for one in sound.parts if one.parent == holder} | {part.teeth if part else teeth}
    return Ring(
        holder,
        part.kind if part else GEAR,
        teeth,
        abs(part.speed if part else roots[holder].speed),
        own,
        meshes,
        mate,
        tuple(name for name in mates if name != mate),
        tuple(sorted(rows - {teeth})),
    )


def mark_place(
    transport: Transport, mesh: str, mark: float, first_tooth: float, side: str = DRIVEN,
    module_mm: float | None = None,
) -> MarkPlace:  # fmt: skip
    """Which tooth of an unmarked gear, sector or rack of the same count gets the mark at a mesh.

    ``mark``: from the flat (key, pin) of the old one to the middle of its marked tooth, in its loading sense,
    0 to 360 degrees of its own; ``first_tooth``: from the flat of the new one to the middle of its first
    tooth, 0 to one pitch; of a sector 0 to 360 degrees.  Of a rack both in mm from the end, 0 to 500, and
    ``module_mm`` tells its pitch π·m.  ``side``: which gear of the mesh is new.

    The nearest tooth is marked; what is left is at most half a pitch.  A mark too far on at the part's own
    mesh leaves the part behind, but what meshes with the same teeth stays; at a driver it puts every part
    ahead that meshes with that row.  What that does is computed with those parts turned by it, and for this
    row alone.  Raises MechError as ``ring_at`` does, for a place before the first tooth of a sector or rack,
    without the module of a rack, and for values out of range.

    >>> from mechlib.transports import load
    >>> print(mark_place(load("alder"), "mode switch", 90, 0).sentence()[:36])
    Mark tooth 19 of the new mode switch
    >>> mark_place(load("alder"), "carriage gear", 30, 2, "driver").moved
    ('carriage gear',)
    """
    ring = ring_at(transport, mesh, side)
    pitch = _pitch(ring, module_mm)
    longest = LENGTH_MM if ring.kind == RACK else 360.0
    mark = check_number("mark", mark, 0, longest, ring.unit)
    if ring.kind == GEAR:
        first = check_number("first_tooth", first_tooth, 0, pitch, "°", "it is less than one pitch")
    else:
        first = check_number("first_tooth", first_tooth, 0, longest, ring.unit)
    steps = round((mark - first) / pitch)
    if ring.kind != GEAR and steps < 0:
        raise MechError(
            f"mark is {mark:g} {ring.unit}", f"the new {ring.gear} has its first tooth at {first:g} only"
        )
    tooth = steps % ring.teeth + 1 if ring.kind == GEAR else steps + 1
    ahead = first + steps * pitch - mark  # of the new mark, from where the old one was
    return _placed(transport.sound, ring, mesh, side, tooth, ahead, ahead / pitch * ring.pitch_cam_deg)


def _pitch(ring: Ring, module_mm: float | None) -> float:
    if ring.kind != RACK:
        return 360 / ring.teeth
    if module_mm is None:
        raise MechError(f"the {ring.gear} is a rack", "the file doesn't say its pitch: tell the module too")
    return pi * check_number("module_mm", module_mm, *MODULE_MM, "mm")


def _placed(
    sound: Transport, ring: Ring, mesh: str, side: str, tooth: int, ahead: float, cam: float
) -> MarkPlace:
    """The place with what follows from a mark that lies ``ahead``, ``cam`` in main-cam degrees."""
    moved = {ring.holder: -cam} if ring.own else dict.fromkeys(ring.meshes, cam)
    stay = dict.fromkeys(ring.meshes, cam) if ring.own else {}  # against their parent, which stands off
    turns = [split_gear(part, deg) for part, deg in (moved | stay).items() if abs(deg) > 1e-9]
    turned = sound.with_faults(*turns) if turns else sound
    failing = OtherTeeth(mesh, side, ring.teeth, ring.teeth, sound, turned).failing
    sign = -1 if ring.own else 1
    return MarkPlace(ring, tooth, sign * ahead, sign * cam, tuple(moved), failing)
