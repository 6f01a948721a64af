"""A substitute in mesh with one of its mates, turned by hand: where both stand, and where flanks touch."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import cos, radians, sin

from mechlib.bench.substitute import Substitute
from mechlib.bench.substitute_check import MateFound
from mechlib.errors import MechError
from mechlib.gears.spur import Gear
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_mesh import mesh_angle
from mechlib.ranges import Range
from mechlib.say import count, listing, say

TURN = Range("turn of the substitute", 0.0, 60.0, 0.5, 0.0, "°")


@dataclass(frozen=True)
class PairInMesh:
    """The substitute (gear 1, its shaft at 0, 0) and a mate (gear 2, to the right), at 20 °C.

    Both turn with gear 1 counter-clockwise, and flanks touch on the side on which power passes, so that all
    the backlash lies behind the teeth.  ``turn_deg``: gear 1; ``mate_deg``: gear 2; of the middle of the
    first tooth of their outlines.
    """

    row: Substitute
    found: MateFound
    turn_deg: float
    mate_deg: float

    @property
    def gears(self) -> tuple[Gear, Gear]:
        """The substitute and the mate."""
        return self.found.mesh.gear1, self.found.mesh.gear2

    @property
    def ratio(self) -> float:
        """Contact ratio as drawn, at 20 °C; 0 where no flanks touch."""
        return contact(self.found.mesh).ratio

    @cached_property
    def path_mm(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Both ends of the line on which flanks touch, in the order in which a pair of them goes along.

        From the pitch point up at the working pressure angle, towards the gear that is driven.  Where no
        flanks touch it is the gap that is left on it: the end comes before the start.
        """
        pair, along = self.found.mesh, contact(self.found.mesh)
        angle, pitch_mm = radians(pair.working_angle_deg), pair.working_mm[0] / 2
        ends = (along.start_mm, along.end_mm)
        if self.found.mate.drives:  # the other flanks touch: mirrored, and gone along from gear 2's side
            ends, across = (-ends[1], -ends[0]), -sin(angle)
        else:
            across = sin(angle)
        return tuple((pitch_mm + mm * across, mm * cos(angle)) for mm in ends)

    def sentence(self) -> str:
        """Which gears these are, their backlash, and whether they stay in touch."""
        one, other = self.gears
        own, its = count(one.teeth, "tooth"), f"the {self.found.mate.name} of {other.teeth}"
        if not self.ratio:
            return f"{own} beside {its}: no flanks touch at 20 °C; contact ratio {say(self.ratio, '', 2)}."
        what = f"{own} in mesh with {its}"
        gap = f"backlash {say(self.found.mesh.backlash_mm, 'mm', 3)} at 20 °C"
        ends = f"{say(self.found.least_mm, '', 3)} to {say(self.found.most_mm, 'mm', 3)} cold and warm"
        lost = ", so teeth lose touch" if self.found.ratio < 1 else ""
        return f"{what}: {gap}, {ends}; contact ratio at least {say(self.found.ratio, '', 2)}{lost}."


def pair_in_mesh(row: Substitute, mate: str = "", turn_deg: float = 0.0) -> PairInMesh:
    """A substitute in mesh with the mate of that name (the first if not given), turned by so much.

    ``turn_deg``: 0 to 60.  Raises MechError out of range, for a name that none of them has, and where the
    two don't mesh.

    >>> from mechlib.bench.broken_gear import Case, Mate, Seat, known_size
    >>> from mechlib.bench.substitute import substitutes
    >>> from mechlib.gears.racks import FINE
    >>> lost = Case(24, (known_size(0.5, FINE),), (Mate("pinion", 18, 10.56, True),), Seat(2.0))
    >>> pair_in_mesh(substitutes(lost).best).sentence()[:42]
    '24 teeth in mesh with the pinion of 18: ba'
    """
    turn = TURN.check("turn_deg", turn_deg)
    if row.judged is None or not row.judged.meshes:
        raise MechError(f"{row.name} doesn't mesh", row.sentence())
    found = [one for one in row.judged.meshes if mate in ("", one.mate.name)]
    if not found:
        names = listing(one.mate.name for one in row.judged.meshes)
        raise MechError(f"{row.name} doesn't mesh with a {mate!r}", f"it does with {names}")
    pair, lean = found[0].mesh, -1.0 if found[0].mate.drives else 1.0
    angle = mesh_angle(pair.gear1, pair.gear2, pair.centre_mm, turn, lean=lean)
    return PairInMesh(row, found[0], turn, angle)
