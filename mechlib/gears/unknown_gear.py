"""The gear in the hand: which size and profile shift explain what was read, and what to measure next.

Every standard size is tried.  A reading with its uncertainty leaves a range of profile shifts for each size;
the sizes that are left with some range for all readings are the candidates.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.measure_by import nearest_pin
from mechlib.gears.measuring import (
    CENTRE,
    DIAMETRAL_PITCHES,
    MODULES_I,
    MODULES_II,
    OUTSIDE,
    PINS,
    SHORT_TIPS,
    SPAN,
    module_of_pitch,
    pin_fault,
    pins_to_shift,
    shift_from_across_tips,
    shift_from_span,
)
from mechlib.gears.next_reading import NextReading, next_reading, stands_out
from mechlib.gears.racks import BasicRack, check_rack
from mechlib.gears.spur import TEETH
from mechlib.gears.spur_shift import shift_sum
from mechlib.say import columns, count, say

USUAL_SHIFT = (-0.5, 0.8)  # common practice, no source
ROOM = (
    0.1  # modules by which shafts stand further apart than where the teeth bind: common practice, no source
)
OFF_MM = (0.001, 5.0)


@dataclass(frozen=True)
class Size:
    """A standard size: ``name`` as the trade says it, its module in mm, the ``pitch`` of an inch size."""

    name: str
    module_mm: float
    pitch: int | None = None


SIZES = (
    *(Size(f"module {m:g}", m) for m in MODULES_I),
    *(Size(f"module {m:g}", m) for m in MODULES_II),
    *(Size(f"{p} DP", module_of_pitch(p), p) for p in DIAMETRAL_PITCHES),
)


@dataclass(frozen=True)
class Reading:
    """What was read.

    ``kind``: OUTSIDE (across the tips, the most that a caliper reads), SPAN (over ``size`` teeth), PINS (over
    two of ``size`` mm) or CENTRE (between the shafts of the gear and a mate of ``size`` teeth outside).
    ``read_mm`` 0.1 to 500, ``off_mm`` by which it may be off either way, 0.001 to 5.  Raises MechError for
    others.

    >>> Reading(SPAN, 7.65, 0.02, 3).words()
    'span over 3 teeth 7.650 mm'
    """

    kind: str
    read_mm: float
    off_mm: float
    size: float | None = None

    def __post_init__(self):
        if self.kind not in (kinds := (OUTSIDE, SPAN, PINS, CENTRE)):
            raise MechError(f"kind is {self.kind!r}", f"it must be one of: {', '.join(kinds)}")
        check_number(self.kind, self.read_mm, 0.1, 500, "mm")
        check_number("off_mm", self.off_mm, *OFF_MM, "mm")
        size = self.size
        if self.kind == SPAN:
            size = check_count("size", self.size, 1, TEETH[1], "the number of teeth spanned")
        elif self.kind == PINS:
            check_number("size", self.size, 0.05, 100, "mm", "the diameter of the pins")
        elif self.kind == CENTRE:
            size = check_count("size", self.size, *TEETH, "the teeth of the mate")
        object.__setattr__(self, "size", size)

    def words(self) -> str:
        """What was read, in words."""
        over = {
            SPAN: f" over {count(self.size or 0, 'tooth')}",
            PINS: f" of {self.size} mm",
            CENTRE: f" to a mate of {count(self.size or 0, 'tooth')}",
        }.get(self.kind, "")
        return f"{self.kind}{over} {say(self.read_mm, 'mm', 3)}"

    def shifts(self, teeth: int, module_mm: float, rack: BasicRack) -> tuple[float, float] | None:
        """The range of profile shifts that explains the reading; None where no gear of that size could."""
        low, high = self.read_mm - self.off_mm, self.read_mm + self.off_mm
        try:
            if self.kind == OUTSIDE:
                ends = [shift_from_across_tips(teeth, module_mm, rack, mm) for mm in (low, high)]
                return ends[0], ends[1] + SHORT_TIPS
            if self.kind == CENTRE:
                return self._shifts_at_the_mate(teeth, module_mm, rack)
            if self.kind == SPAN:
                if self.size > teeth:
                    return None
                ends = [shift_from_span(teeth, module_mm, rack, self.size, mm) for mm in (low, high)]
            else:
                ends = [pins_to_shift(teeth, module_mm, rack, self.size, mm) for mm in (low, high)]
                usual = ends[0] <= USUAL_SHIFT[1] and ends[1] >= USUAL_SHIFT[0]  # else it's out anyway
                if usual and self.pins_fault(teeth, module_mm, rack, *ends):
                    return None
        except MechError:
            return None
        return ends[0], ends[1]

    def pins_fault(self, teeth: int, module_mm: float, rack: BasicRack, low: float, high: float) -> str:
        """What keeps its pins from being read at shifts from ``low`` to ``high``, in words; empty if nothing.

        Tips may be cut short: then lower pins stand out, too.
        """
        told = ""  # of the least shift, tips whole
        for shift in (low, (low + high) / 2, high):
            usual = min(max(shift, USUAL_SHIFT[0]), USUAL_SHIFT[1])
            for tip in (0.0, -SHORT_TIPS):
                fault = pin_fault(teeth, module_mm, rack, self.size, usual, tip)
                if not fault:
                    return ""
                told = told or fault
        return told

    def _shifts_at_the_mate(self, teeth: int, module_mm: float, rack: BasicRack) -> tuple[float, float]:
        """The shafts tell the sum of both shifts, the mate's may be any usual one; teeth need some room."""
        nearest = module_mm * (teeth + self.size) * math.cos(rack.angle) / 2  # base circles touch
        most = self.read_mm + self.off_mm
        least = max(self.read_mm - self.off_mm - ROOM * module_mm, min(nearest, most))
        low, high = (shift_sum(teeth, self.size, module_mm, rack, mm) for mm in (least, most))
        return low - USUAL_SHIFT[1], high - USUAL_SHIFT[0]


@dataclass(frozen=True)
class Candidate:
    """A size that explains all readings, with the range of profile shifts that it leaves."""

    size: Size
    rack: BasicRack
    low: float
    high: float

    @property
    def shift(self) -> float:
        """The shift of the range that is nearest to none."""
        return min(max(0.0, self.low), self.high)

    @property
    def chosen(self) -> bool:
        """Whether the shift was chosen: readings leave a range."""
        return self.low == self.high

    @property
    def name(self) -> str:
        """Size and rack in short: of one size there are several racks."""
        size, rack = self.size.name, self.rack.name
        return rack if size in rack else f"{size} ({rack})"

    def sentence(self) -> str:
        """Size, pressure angle and shift."""
        angle = say(self.rack.pressure_angle_deg, "°", 1)
        span = f"{say(self.low, '', 2, sign=True)} to {say(self.high, '', 2, sign=True)}"
        shift = f"a profile shift of {say(self.low, '', 2, sign=True) if self.chosen else span}"
        made = f"{self.size.name} with a pressure angle of {angle} ({self.rack.name})"
        return f"{made} and {'no profile shift' if self.chosen and not self.low else shift}."


@dataclass(frozen=True)
class PinsOnTips:
    """A size on which the pins that were taken can't be read, and pins that can; None where there are none.

    ``fault``: what such pins do there, see ``measuring.pin_fault``.
    """

    size: Size
    pin_mm: float
    fault: str
    take_mm: float | None

    def sentence(self) -> str:
        """What the pins do on that size, and which ones to take."""
        take = f"take pins of about {say(self.take_mm, 'mm', 2)}" if self.take_mm else "take a span instead"
        pins = f"pins of {say(self.pin_mm, 'mm', 2)} {self.fault}"
        return f"If it is {self.size.name}, {pins}, and their reading says nothing: {take}."


@dataclass(frozen=True)
class Identified:
    """The candidates for a gear, the likeliest first, and the reading that would decide between them.

    ``readings``: what they explain; ``on_tips``: see PinsOnTips, None where there is no sign of that.
    """

    teeth: int
    candidates: tuple[Candidate, ...]
    next_reading: NextReading | None
    readings: tuple[Reading, ...] = ()
    on_tips: PinsOnTips | None = None

    def sentence(self) -> str:
        """The likeliest, the rivals and what decides."""
        on_tips = f" {self.on_tips.sentence()}" if self.on_tips else ""
        if not self.candidates and on_tips:
            return f"No standard size explains all readings.{on_tips}"
        if not self.candidates:
            return (
                "No standard size explains all readings: count the teeth again, try teeth cut to another "
                "basic rack, and look for worn or cut tips, helical teeth or a size of the maker's own."
            )
        first, *rivals = self.candidates
        told = f"Of {self.teeth} teeth it is most likely {first.sentence()}"
        if not rivals:
            return f"{told} No other standard size explains the readings.{on_tips}"
        others = f"{count(len(rivals), 'rival')}, the next {rivals[0].size.name} ({rivals[0].rack.name})."
        return f"{told} There {'is' if len(rivals) == 1 else 'are'} {others} {self._decides()}{on_tips}"

    def _decides(self) -> str:
        if self.next_reading is not None:
            return self.next_reading.sentence()
        if len({one.size for one in self.candidates}) == 1:
            return "They are of one size and differ in the basic rack: measure the root, or try a mate."
        if any(reading.kind == CENTRE for reading in self.readings):
            return "No other reading tells them apart: turn it with its mate through a whole turn."
        return "No other reading of the gear alone tells them apart: measure its shaft's distance to a mate."

    def table(self, rows: int = 12) -> str:
        """The candidates as a text table."""
        shown = [
            (
                c.size.name,
                say(c.size.module_mm, "mm", 4),
                c.rack.name,
                say(c.low, "", 2, True),
                say(c.high, "", 2, True),
            )
            for c in self.candidates[: check_count("rows", rows, 1, 1000)]
        ]
        return columns(("size", "module", "basic rack", "shift from", "to"), shown)


def identify(
    teeth: int,
    readings: Iterable[Reading],
    racks: Iterable[BasicRack] | Callable[[Size], Iterable[BasicRack]],
    sizes: Iterable[Size] = SIZES,
) -> Identified:
    """Which standard sizes explain all readings of a gear of ``teeth`` teeth, made to one of the ``racks``.

    Profile shifts from −0.5 to 0.8 are looked at, and tips cut short by up to a tenth of a module.  Those
    with the smallest shift come first, among equal ones in the order of ``sizes``: module series I, series
    II, diametral pitches; then in that of the racks.  ``teeth``: 6 to 2000; at least one reading, rack and
    size.  ``racks`` may also tell for each size which ones to try.  Raises MechError otherwise.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> found = identify(20, [Reading(OUTSIDE, 34.9, 0.05)], [ISO_53_A])
    >>> [candidate.size.name for candidate in found.candidates][:2]
    ['16 DP', 'module 1.5']
    """
    teeth = check_count("teeth", teeth, *TEETH)
    readings, sizes = tuple(readings), tuple(sizes)
    tried = [(size, check_rack(rack)) for size, some in _racks_by_size(racks, sizes) for rack in some]
    for name, given in (("readings", readings), ("sizes", sizes), ("racks", tried)):
        if not given:
            raise MechError(f"there are no {name}", "give at least one")
    if other := [one for one in readings if not isinstance(one, Reading)]:
        raise MechError(f"a reading is {other[0]!r}", "make it as in Reading(OUTSIDE, 34.9, 0.05)")
    found = _explaining(teeth, readings, tried)
    taken, off = ((reading.kind, reading.size) for reading in readings), min(one.off_mm for one in readings)
    ask = next_reading(teeth, found, taken, off)
    return Identified(teeth, tuple(found), ask, readings, _on_tips(teeth, readings, tried, found))


def _explaining(teeth: int, readings: tuple[Reading, ...], tried) -> list[Candidate]:
    """The sizes and racks that explain all readings, the likeliest first."""
    found = []
    for size, rack in tried:
        low, high = USUAL_SHIFT
        for reading in readings:
            ends = reading.shifts(teeth, size.module_mm, rack)
            low, high = (max(low, ends[0]), min(high, ends[1])) if ends else (math.inf, -math.inf)
            if low > high:
                break  # most sizes fail at the first
        else:
            found.append(Candidate(size, rack, low, high))
    return sorted(found, key=lambda one: round(abs(one.shift), 6))


def _on_tips(teeth: int, readings: tuple[Reading, ...], tried, found) -> PinsOnTips | None:
    """The likeliest size on which the pins can't be read, where the readings leave room for it.

    With other readings, what these explain, if nothing explains all.  With pins alone, what would have its
    tips where the pins were measured: then the micrometer rested on them.
    """
    pins = next((one for one in readings if one.kind == PINS), None)
    others = tuple(one for one in readings if one.kind != PINS)
    if pins is None or (others and found):
        return None
    alone = (Reading(OUTSIDE, pins.read_mm, pins.off_mm),)
    for one in _explaining(teeth, others or alone, tried):
        module = one.size.module_mm
        fault = pins.pins_fault(teeth, module, one.rack, one.low, one.high)
        if fault and one.size not in [each.size for each in found]:
            good = nearest_pin(lambda pin, one=one: stands_out(teeth, one, pin), module)
            return PinsOnTips(one.size, pins.size, fault, good)
    return None


def _racks_by_size(racks, sizes: tuple[Size, ...]) -> list[tuple[Size, tuple[BasicRack, ...]]]:
    """Every size with the racks to try."""
    given = None if callable(racks) else tuple(racks)
    return [(size, tuple(racks(size)) if given is None else given) for size in sizes]


def teeth_from_arc(counted: int, angle_deg: float, off_deg: float = 1.0) -> tuple[int, ...]:
    """Tooth counts that a damaged gear can have, from ``counted`` pitches along an arc of ``angle_deg``.

    z = 360°·counted/angle, for every angle within ± ``off_deg``.  ``counted``: 1 to 999 pitches (from tooth
    to tooth, so one less than the teeth seen); ``angle_deg``: 1 to 360; ``off_deg``: 0 to 20.  Returns them
    with the likeliest first.  Raises MechError out of range, and where no whole number fits.

    >>> teeth_from_arc(7, 63, 2.0)
    (40, 39, 41)
    """
    pitches = check_count("counted", counted, 1, 999)
    angle = check_number("angle_deg", angle_deg, 1, 360, "°")
    off = check_number("off_deg", off_deg, 0, 20, "°")
    exact = 360 * pitches / angle
    low, high = 360 * pitches / (angle + off), 360 * pitches / max(angle - off, 1e-9)
    near = range(max(math.ceil(low - 1e-9), TEETH[0]), min(math.floor(high + 1e-9), TEETH[1]) + 1)
    if not near:
        raise MechError(
            f"{pitches} pitches in {angle:g}°", f"would be {exact:.2f} teeth in all; count or measure again"
        )
    return tuple(sorted(near, key=lambda z: (abs(z - exact), z)))
