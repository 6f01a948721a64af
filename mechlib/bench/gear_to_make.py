"""A gear to be made: its outline with the allowances of the way it is made, and what to check it by."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from mechlib.bench.timing_card import CardTable
from mechlib.errors import MechError, check_number
from mechlib.gears.materials import CAUTION, material
from mechlib.gears.measure_by import pin_for, span_for
from mechlib.gears.measuring import across_tips_mm, over_pins_mm, span_mm
from mechlib.gears.spur import Gear
from mechlib.gears.spur_outline import outline
from mechlib.say import count, listing, say

BORE_MM, WIDTH_MM = (0.1, 500.0), (0.1, 200.0)
SCALE_PERCENT, INSET_MM = (0.0, 10.0), (-0.5, 0.5)
TOLERANCE = 0.002  # modules, by which the outline's sides may leave the true curve
CAUTIONS = (
    "Eyes protected when cutting, boring and facing; clamp the gear, never hold it in the hand.",
    "Printing and casting resins: gloves, fresh air, and what the maker's data sheet says.",
    "Try it by hand first, plug pulled: a whole turn without a tight place.",
    CAUTION,
)
TIMED_CAUTION = (
    "The outline has no flat and no mark: give the gear both, with the mark as many teeth from the flat as "
    "on the old one, else every event moves."
)


@dataclass(frozen=True)
class GearToMake:
    """A gear with its bore and width, and the allowances for making it.

    ``scale_percent``: by how much the outline is drawn larger, since the part shrinks when it cools, 0 to 10;
    ``inset_mm``: by how much every edge is drawn further in, since a printer lays its line too wide (below 0:
    further out, for a cutter that takes too much), −0.5 to 0.5.  ``timed``: it is meshed on a mark.
    """

    gear: Gear
    bore_mm: float
    width_mm: float
    made_of: str
    scale_percent: float
    inset_mm: float
    title: str
    timed: bool = False

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind when making it."""
        return (*self.own_cautions, *CAUTIONS)

    @property
    def own_cautions(self) -> tuple[str, ...]:
        """What to mind with this gear and not with every other: for a timed place, and by its material."""
        return (*([TIMED_CAUTION] if self.timed else []), *material(self.made_of).cautions)

    @cached_property
    def over(self) -> int | None:
        """Teeth to span; None where the jaws touch no flanks."""
        return span_for(self.gear)

    @property
    def span_mm(self) -> float | None:
        """The span over so many teeth that the finished gear should read."""
        gear = self.gear
        return self.over and span_mm(gear.teeth, gear.module_mm, gear.rack, self.over, gear.shift)

    @cached_property
    def pin_mm(self) -> float | None:
        """Diameter of the pins, to a hundredth: see ``pin_for``; None where none can be read."""
        return pin_for(self.gear)

    @property
    def over_pins_mm(self) -> float | None:
        """What the finished gear should read over two such pins."""
        gear = self.gear
        given = gear.teeth, gear.module_mm, gear.rack, self.pin_mm, gear.shift, gear.tip_alteration
        return self.pin_mm and over_pins_mm(*given)

    @property
    def checks(self) -> tuple[tuple[str, float], ...]:
        """What it can be measured by besides its tips, in words, and what that should read in mm."""
        span = [(f"over {count(self.over, 'tooth')}", self.span_mm)] if self.over else []
        pins = [(f"over two pins of {say(self.pin_mm, 'mm', 2)}", self.over_pins_mm)] if self.pin_mm else []
        return (*span, *pins)

    @property
    def factor(self) -> float:
        """What lengths are drawn larger by."""
        return 1 + self.scale_percent / 100

    def finished_mm(self) -> np.ndarray:
        """The outline of the finished gear: points (x, y), closed, counter-clockwise."""
        return outline(self.gear, TOLERANCE * self.gear.module_mm)

    def outline_mm(self) -> np.ndarray:
        """The outline to be drawn, allowances included: points (x, y), closed, counter-clockwise."""
        points = self.finished_mm() * self.factor
        return moved_in(points, self.inset_mm) if self.inset_mm else points.copy()

    @property
    def drawn_bore_mm(self) -> float:
        """Diameter of the bore to be drawn, allowances included."""
        return self.bore_mm * self.factor + 2 * self.inset_mm

    def table(self) -> CardTable:
        """The data sheet as a table."""
        gear, rack = self.gear, self.gear.rack
        rows = (
            ("teeth", str(gear.teeth)),
            ("module", say(gear.module_mm, "mm", 4)),
            ("basic rack", rack.name),
            ("pressure angle", say(rack.pressure_angle_deg, "°", 1)),
            ("profile shift coefficient", say(gear.shift, "", 4, sign=True)),
            ("outside diameter", say(gear.tip_mm, "mm", 3)),
            *([("across the tips, at most", say(_across_mm(gear), "mm", 3))] if gear.teeth % 2 else []),
            ("root diameter", say(gear.root_mm, "mm", 3)),
            *((f"{'' if 'pins' in how else 'span '}{how}", say(read, "mm", 3)) for how, read in self.checks),
            ("bore", say(self.bore_mm, "mm", 2)),
            ("width", say(self.width_mm, "mm", 2)),
            ("material", self.made_of),
            ("shrinkage, drawn larger by", say(self.scale_percent, "%", 2)),
            ("edges drawn in by", say(self.inset_mm, "mm", 3)),
        )
        note = "All sizes are those of the finished gear at 20 °C; only the outline file has the allowances."
        return CardTable("Data sheet", ("what", "value"), rows, 1, note)

    def sentence(self) -> str:
        """The gear, and what to check it by."""
        gear = self.gear
        what = f"{count(gear.teeth, 'tooth')} of module {say(gear.module_mm, 'mm', 4)} ({gear.rack.name})"
        shift = f"profile shift {say(gear.shift, '', 3, sign=True)}"
        read = [across_tips(gear), *(f"{say(mm, 'mm', 3)} {how}" for how, mm in self.checks)]
        return f"{self.title}: {what}, {shift}; finished it should read {listing(read)}."

    @property
    def allowances(self) -> str:
        """What the outline has of them, in a sentence; "" where it has none."""
        side, inset = "in" if self.inset_mm > 0 else "out", say(abs(self.inset_mm), "mm", 3)
        larger = f"{say(self.scale_percent, '%', 2)} larger for shrinkage"
        drawn = [larger] if self.scale_percent else []
        drawn += [f"with its edges further {side} by {inset}"] if self.inset_mm else []
        return f"The outline is drawn {listing(drawn)}." if drawn else ""

    def text(self) -> str:
        """The data sheet as text, with the cautions below."""
        return "\n".join([self.title, self.table().text(), *self.cautions])


def to_make(
    gear: Gear, bore_mm: float, width_mm: float, made_of: str = "acetal",
    scale_percent: float = 0.0, inset_mm: float = 0.0, title: str = "Gear to be made",
    timed: bool = False,
) -> GearToMake:  # fmt: skip
    """A gear to be made, checked.

    ``bore_mm``: so that at least half a tooth's height is left below the teeth; ``width_mm``: 0.1 to 200;
    ``made_of``: of ``gears.materials``, which tells the usual shrinkage of what is moulded;
    ``scale_percent``, ``inset_mm`` and ``timed``: see GearToMake; the inset at most a sixth of the tip's
    width, and outwards half the fillet's radius.  Raises MechError otherwise.

    >>> from mechlib.gears.racks import FINE
    >>> print(to_make(Gear(24, 0.5, FINE), 2, 3).sentence()[:62])
    Gear to be made: 24 teeth of module 0.5000 mm (fine mechanics)
    """
    if not isinstance(gear, Gear):
        raise MechError(f"the gear is a {type(gear).__name__}", "outlines are made of outside gears only")
    height = gear.module_mm * (gear.rack.addendum + gear.rack.dedendum)
    bore = check_number(
        "bore_mm", bore_mm, BORE_MM[0], gear.root_mm - height, "mm", "teeth need a rim below them"
    )
    width = check_number("width_mm", width_mm, *WIDTH_MM, "mm")
    scale = check_number("scale_percent", scale_percent, *SCALE_PERCENT, "%")
    inset = check_number("inset_mm", inset_mm, *INSET_MM, "mm")
    high, low = gear.thickness_mm(gear.tip_mm) / 6, -gear.rack.fillet * gear.module_mm / 2
    if not low <= inset <= high:
        limits = f"for these tips and fillets it must be from {low:.3f} to {high:.3f} mm"
        raise MechError(f"inset_mm is {inset:g} mm", limits)
    return GearToMake(gear, bore, width, material(made_of).name, scale, inset, str(title), timed)


def across_tips(gear: Gear) -> str:
    """What a caliper reads across the tips, in words; of an odd count, whose outside diameter it can't read.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> across_tips(Gear(20, 1.5, ISO_53_A))
    '33.00 mm across its tips'
    >>> across_tips(Gear(21, 1.5, ISO_53_A))
    '34.47 mm across its tips at most (34.50 mm outside, but no two tips lie opposite)'
    """
    read = f"{say(_across_mm(gear), 'mm', 2)} across its tips"
    if gear.teeth % 2 == 0:
        return read
    return f"{read} at most ({say(gear.tip_mm, 'mm', 2)} outside, but no two tips lie opposite)"


def _across_mm(gear: Gear) -> float:
    return across_tips_mm(gear.teeth, gear.module_mm, gear.rack, gear.shift, gear.tip_alteration)


def moved_in(points: np.ndarray, by_mm: float) -> np.ndarray:
    """A closed counter-clockwise outline with every side moved in by ``by_mm``, corners kept sharp.

    Each corner goes along the bisector of its two sides, by/cos of half the turn; so a side keeps its
    direction.  Small against the outline's bends, as a check of the caller's.

    >>> moved_in(np.array([(0, 0), (4, 0), (4, 4), (0, 4), (0, 0)], float), 1).tolist()[0]
    [1.0, 1.0]
    """
    corners = points[:-1, 0] + 1j * points[:-1, 1]
    sides = np.roll(corners, -1) - corners
    inward = 1j * sides / abs(sides)
    before = np.roll(inward, 1)
    moved = corners + by_mm * (before + inward) / (1 + (before * inward.conj()).real)
    moved = np.append(moved, moved[0])
    return np.stack([moved.real, moved.imag], axis=1)
