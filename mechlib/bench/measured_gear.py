"""The gear in the hand, measured: which sizes explain the readings, what the likeliest looks like."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import cos, radians, sin

from mechlib.errors import MechError
from mechlib.gears.measuring import pin_centre_mm
from mechlib.gears.racks import FINE, FULL_DEPTH_14_5, ISO_53_A, STUB_20, BasicRack, usual_racks
from mechlib.gears.spur import Gear
from mechlib.gears.unknown_gear import CENTRE, OUTSIDE, PINS, SPAN, Identified, Reading, Size, identify
from mechlib.ranges import Choice, Range

NOT_READ = 0.0  # a slider at its low end: not measured
RACKS_TO_TRY: dict[str, tuple[BasicRack, ...]] = {
    "20°, usual heights": (ISO_53_A,),
    "20°, usual or fine teeth": (ISO_53_A, FINE),
    "14.5° (old inch gears)": (FULL_DEPTH_14_5,),
    "20° stub teeth": (STUB_20,),
    "any of these": (ISO_53_A, FINE, FULL_DEPTH_14_5, STUB_20),
}
CONTROLS: dict[str, Range | Choice] = {
    "teeth": Range("teeth, counted", 8, 80, 1, 20),
    "off_mm": Range("the caliper may be off by", 0.01, 0.2, 0.01, 0.05, "mm"),
    "outside_mm": Range(
        "outside, as a caliper reads it, 0 if not measured", NOT_READ, 60.0, 0.01, 34.9, "mm"
    ),
    "span_mm": Range("span over some teeth, 0 if not measured", NOT_READ, 40.0, 0.01, NOT_READ, "mm"),
    "over": Range("teeth between the jaws at the span", 1, 12, 1, 3),
    "more_mm": Range("span over one tooth more, 0 if not measured", NOT_READ, 50.0, 0.01, NOT_READ, "mm"),
    "pins_mm": Range("over two pins, 0 if not measured", NOT_READ, 60.0, 0.01, NOT_READ, "mm"),
    "pin_mm": Range("diameter of the pins", 0.3, 6.0, 0.01, 2.6, "mm"),
    "centre_mm": Range("shaft to shaft of its mate, 0 if not measured", NOT_READ, 80.0, 0.01, NOT_READ, "mm"),
    "mate": Range("teeth of that mate", 8, 120, 1, 30),
    "made_to": Choice("teeth are cut to", tuple(RACKS_TO_TRY), "20°, usual heights"),
}


def racks_of(made_to: str) -> Callable[[Size], tuple[BasicRack, ...]]:
    """What tells for each size the racks that a name of ``RACKS_TO_TRY`` stands for, the likeliest first.

    >>> [rack.name for rack in racks_of("20°, usual or fine teeth")(Size("", 0.5))]
    ['fine mechanics', 'ISO 53 A']
    """
    racks = RACKS_TO_TRY[made_to]
    return lambda size: usual_racks(racks, size.module_mm, size.pitch)


@dataclass(frozen=True)
class MeasuredGear:
    """What was read on a gear of ``teeth`` teeth, and what it can be; ``made_to``: which teeth were tried."""

    teeth: int
    readings: tuple[Reading, ...]
    found: Identified
    made_to: str

    @cached_property
    def gear(self) -> Gear | None:
        """The likeliest candidate as a gear; None where there is none, or no such gear can be made."""
        for one in self.found.candidates[:1]:
            try:
                return Gear(self.teeth, one.size.module_mm, one.rack, one.shift)
            except MechError:
                return None
        return None

    def reading(self, kind: str) -> Reading | None:
        """What was read of this kind, if it was."""
        return next((reading for reading in self.readings if reading.kind == kind), None)

    def pin_centre_mm(self) -> float | None:
        """How far from the middle of the likeliest gear its pins stand; None without pins or gear."""
        reading = self.reading(PINS)
        if reading is None or self.gear is None:
            return None
        gear = self.gear
        try:
            return pin_centre_mm(self.teeth, gear.module_mm, gear.rack, reading.size, gear.shift)
        except MechError:
            return None

    def sentence(self) -> str:
        """The likeliest, the rivals, and what decides."""
        return self.found.sentence()

    def table(self) -> str:
        """The count, what was read and which teeth were tried, a line each, and every candidate."""
        read = [f"read: {reading.words()}, ±{reading.off_mm:g} mm" for reading in self.readings]
        tried = f"tried: teeth cut to {self.made_to}"
        return "\n".join([f"counted: {self.teeth} teeth", *read, tried, self.found.table()])


def measured_gear(
    teeth: int, off_mm: float, outside_mm: float = NOT_READ, span_mm: float = NOT_READ, over: int = 3,
    more_mm: float = NOT_READ, pins_mm: float = NOT_READ, pin_mm: float = 2.6,
    centre_mm: float = NOT_READ, mate: int = 30, made_to: str = "20°, usual heights",
) -> MeasuredGear:  # fmt: skip
    """What a gear can be, from any of five readings; 0 stands for one that wasn't made.

    ``teeth``, ``off_mm``, which is by how much each reading may be off, and the readings in the ranges of
    ``CONTROLS``; ``made_to``: a name of ``RACKS_TO_TRY``.  Every standard module and diametral pitch is tried
    (``gears.unknown_gear.identify``).  Raises MechError out of range, and where nothing was read.

    >>> found = measured_gear(20, 0.05, outside_mm=34.9)
    >>> [one.size.name for one in found.found.candidates], found.gear.tip_mm
    (['16 DP', 'module 1.5'], 34.925)
    >>> measured_gear(20, 0.02, outside_mm=34.9, span_mm=12.17).sentence()[:40]
    'Of 20 teeth it is most likely 16 DP with'
    """
    given = {"teeth": teeth, "off_mm": off_mm, "outside_mm": outside_mm, "span_mm": span_mm, "over": over}
    given |= {"more_mm": more_mm, "pins_mm": pins_mm, "pin_mm": pin_mm, "centre_mm": centre_mm}
    given |= {"mate": mate, "made_to": made_to}
    for name, value in given.items():
        CONTROLS[name].check(name, value)
    spans = ((SPAN, span_mm, over), (SPAN, more_mm, over + 1))
    reads = ((OUTSIDE, outside_mm, None), *spans, (PINS, pins_mm, pin_mm), (CENTRE, centre_mm, mate))
    reads = [(kind, mm, size) for kind, mm, size in reads if mm > NOT_READ]
    if not reads:
        raise MechError("nothing is measured yet", "give at least one reading: the outside diameter, say")
    readings = tuple(Reading(kind, mm, off_mm, size) for kind, mm, size in reads)
    return MeasuredGear(teeth, readings, identify(teeth, readings, racks_of(made_to)), made_to)


def jaw_places(gear: Gear, over: int, span_mm: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where the jaws touch at a span, in mm from the middle, with the spanned teeth upwards.

    Both flanks are touched on the tangent to the base circle, half the span to either side.  ISO 21771, base
    tangent length.

    >>> from mechlib.gears.measuring import span_mm
    >>> gear = Gear(20, 1, ISO_53_A)
    >>> (left, right), (_, high) = jaw_places(gear, 3, span_mm(20, 1, ISO_53_A, 3))
    >>> round(right - left, 4), round(high, 4)
    (7.6604, 9.3969)
    """
    return (-span_mm / 2, span_mm / 2), (gear.base_mm / 2, gear.base_mm / 2)


def turned_up_deg(teeth: int, over: int) -> float:
    """The turn that brings the spanned teeth of an outline to the top: a tooth there for an odd count.

    >>> turned_up_deg(20, 3), turned_up_deg(20, 4)
    (90.0, 99.0)
    """
    return 90.0 if over % 2 else 90.0 + 180.0 / teeth


def pin_angles_deg(teeth: int, over: int) -> tuple[float, float]:
    """The spaces for two pins, as near as can be to left and right, in degrees from the right.

    The second is opposite the first, for an odd count half a pitch short of it.

    >>> pin_angles_deg(20, 3), pin_angles_deg(21, 3)
    ((-9.0, 171.0), (-4.285714285714292, 167.1428571428571))
    """
    pitch, first_space = 360.0 / teeth, turned_up_deg(teeth, over) + 180.0 / teeth
    right = first_space + pitch * round((0.0 - first_space) / pitch)
    left = right + pitch * (teeth // 2)
    return right, left


def pin_place_mm(angle_deg: float, centre_mm: float) -> tuple[float, float]:
    """The middle of a pin, in mm from that of the gear.

    >>> [round(mm, 6) for mm in pin_place_mm(180, 5)]
    [-5.0, 0.0]
    """
    return centre_mm * cos(radians(angle_deg)), centre_mm * sin(radians(angle_deg))
