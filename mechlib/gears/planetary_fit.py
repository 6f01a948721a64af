"""Can the set be put together?  Spacing of the planets, room between them, and tooth counts for a ratio."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import acos, cos, hypot, inf, pi, sin

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.planetary import (
    PlanetarySet,
    as_sets,
    check_places,
    double_pinion_set,
    simple_set,
    speed_ratio,
    stepped_set,
)
from mechlib.gears.racks import ISO_53_A
from mechlib.say import count, listing, say

MOST_PLANETS = 24
MODULE_MM = (0.05, 50.0)
RACK = ISO_53_A  # told wherever the heights of teeth count
ADDENDUM, CLEARANCE = RACK.addendum, RACK.dedendum - RACK.addendum  # in modules
LEAST_PINION = 12
ROUNDING = 1e-9


@dataclass(frozen=True)
class Assembly:
    """How a set goes together with ``planets`` positions spaced equally.

    ``step_deg``: planets fit at multiples of this angle only, and ``spaced`` tells whether an equal share of
    a turn is one.  ``gap_mm``: the least room between tips of neighbouring positions, and of meshed pairs to
    the central wheel that they must miss; below 0 where they would touch.  ``mismatch_mm``: by how much the
    centre distance at the second wheel is larger than at the first, without profile shift.
    """

    planets: int
    step_deg: Fraction
    gap_mm: float
    mismatch_mm: float

    @property
    def spaced(self) -> bool:
        """Whether the planets can be spaced equally."""
        return (Fraction(360, self.planets) / self.step_deg).denominator == 1

    @property
    def clears(self) -> bool:
        """Whether there is room between neighbours."""
        return self.gap_mm > 0

    @property
    def fits(self) -> bool:
        """Whether all is well, without profile shift."""
        return self.spaced and self.clears and abs(self.mismatch_mm) < ROUNDING

    def sentence(self) -> str:
        """What holds and what doesn't."""
        step = say(float(self.step_deg), "°", 3)
        spaced = (
            "can be spaced equally" if self.spaced else f"can't be spaced equally (they fit every {step})"
        )
        room = f"clear each other by {say(self.gap_mm, 'mm', 2)}"
        if not self.clears:
            room = f"would run into each other by {say(-self.gap_mm, 'mm', 2)}"
        text = f"{count(self.planets, 'planet')} {spaced} and {room}, with tips of {RACK.name}"
        if abs(self.mismatch_mm) >= ROUNDING:
            text += (
                f"; centre distances differ by {say(abs(self.mismatch_mm), 'mm', 3)}: profile shift is needed"
            )
        return text + "."


def spacing_step_deg(one: PlanetarySet) -> Fraction:
    """The least angle in degrees between two places where equal planets can be put in: 360/|z2·(1 − u)·B|.

    With the first wheel held, a carrier that turns by φ turns the second wheel by (1 − u)·φ, u its turns for
    one of the first about the carrier.  A planet fits where that is a whole number of teeth; or, for a
    stepped planet, one of the teeth that the first wheel, turned on by whole teeth, leaves at the second: B
    is the denominator of Π z_far/z_near.  For simple sets this is 360/(z_sun + z_ring), for double pinions
    360/(z_ring − z_sun).  Raises MechError for a set without planets.  Source: Elements of Metric Gear
    Technology, eq. 13-5, for simple sets; derived for the others.

    >>> spacing_step_deg(simple_set(16, 16, 48))
    Fraction(45, 8)
    """
    as_sets([one])
    if not one.planets:
        raise MechError(f"{one.name} has no planets", "nothing is to be spaced")
    steps = Fraction(1)
    for near, far in one.planets:
        steps *= Fraction(far, near)
    return 360 / abs(one.second.teeth * (1 - one.turns[-1]) * steps.denominator)


def assembly(
    one: PlanetarySet, planets: int, module_mm: float, second_module_mm: float | None = None
) -> Assembly:
    """Whether ``planets`` equal planets can be spaced equally, clear each other, and mesh at both ends.

    Spacing: 360°/N is a whole number of ``spacing_step_deg``.  Room: for N > 1, 2·r·sin(π/N) against the sum
    of the tip radii, z/2 + 1 modules.  Centre distances without profile shift: (z_sun + z_planet)/2 or
    (z_ring − z_planet)/2 modules.  ``one``: a set with one or two wheels in each planet position;
    ``planets``: 1 to 24; ``module_mm``: 0.05 to 50 mm, at the first wheel; ``second_module_mm``: of a
    stepped planet's other row, if it differs.  Raises MechError out of range, and for a meshed pair whose
    pinions don't reach each other.  Source: Elements of Metric Gear Technology, eq. 13-5 to 13-9.

    >>> assembly(simple_set(16, 16, 48), 4, 0.5).sentence()
    '4 planets can be spaced equally and clear each other by 2.31 mm, with tips of ISO 53 A.'
    """
    number = check_count("planets", planets, 1, MOST_PLANETS)
    first = check_number("module_mm", module_mm, *MODULE_MM, "mm")
    second = first if second_module_mm is None else second_module_mm
    second = check_number("second_module_mm", second, *MODULE_MM, "mm")
    step = spacing_step_deg(one)
    if len(one.planets) > 2 or (len(one.planets) == 2 and first != second):
        raise MechError(f"the planets of {one.name}", "at most a meshed pair of one module can be laid out")
    near, far = _radius(one.first, one.planets[0][0], first), _radius(one.second, one.planets[-1][1], second)
    if len(one.planets) == 2:
        return Assembly(number, step, _pair_gap(one, number, first, near, far), 0.0)
    tips = [tip_mm(one.planets[0][0], first), tip_mm(one.planets[0][1], second)]
    gap = min(2 * r * sin(pi / number) - 2 * tip for r, tip in zip((near, far), tips, strict=True))
    return Assembly(number, step, gap if number > 1 else inf, far - near)


def tip_mm(teeth: int, module_mm: float) -> float:
    """Tip radius of a standard wheel, (z/2 + 1)·m, in mm."""
    return (teeth / 2 + ADDENDUM) * module_mm


def _radius(central, teeth: int, module_mm: float) -> float:
    """Centre distance of a planet from the main axis without profile shift."""
    return (central.teeth - teeth if central.internal else central.teeth + teeth) / 2 * module_mm


def _pair_gap(one: PlanetarySet, number: int, module_mm: float, near: float, far: float) -> float:
    """Least room of a meshed pair: to the pairs beside it, and to the central wheel that each must miss."""
    (inner, _), (outer, _) = one.planets
    apart = (inner + outer) / 2 * module_mm
    if not abs(near - far) < apart < near + far:
        problem = f"pinions {say(near, 'mm', 2)} and {say(far, 'mm', 2)} from the axis can't mesh"
        raise MechError(f"the meshed pair of {one.name}", problem + "; take other tooth counts")
    lead = acos((near**2 + far**2 - apart**2) / (2 * near * far))
    tips = tip_mm(inner, module_mm), tip_mm(outer, module_mm)
    gaps = [_miss(one.second, near, tips[0], module_mm), _miss(one.first, far, tips[1], module_mm)]
    places = [(near, 0.0, tips[0]), (far, lead, tips[1])]
    for turn in range(1, number):
        for r, at, tip in places:
            for other, start, other_tip in places:
                angle = start + 2 * pi * turn / number - at
                gaps.append(hypot(other * cos(angle) - r, other * sin(angle)) - tip - other_tip)
    return min(gaps)


def _miss(central, r: float, tip: float, module_mm: float) -> float:
    """Room between a pinion and the central wheel that it doesn't mesh with."""
    if central.internal:
        return (central.teeth / 2 - ADDENDUM) * module_mm - r - tip
    return r - tip - tip_mm(central.teeth, module_mm)


@dataclass(frozen=True)
class Candidate:
    """Tooth counts found for a ratio; ``size_mm``: the diameter that they need, across the ring's roots."""

    set: PlanetarySet
    ratio: Fraction
    error: float
    size_mm: float
    assembly: Assembly

    @property
    def teeth(self) -> tuple[int, ...]:
        """First wheel, planet wheels, second wheel."""
        planets = [z for near, far in self.set.planets for z in ((near,) if near == far else (near, far))]
        return (self.set.first.teeth, *planets, self.set.second.teeth)

    def sentence(self) -> str:
        """Tooth counts, ratio, error and size."""
        off = "exact" if abs(self.error) < ROUNDING else f"{say(100 * self.error, '%', 3, sign=True)} off"
        text = f"Teeth {listing(map(str, self.teeth))}: ratio {self.ratio} ({off})"
        return f"{text}, {say(self.size_mm, 'mm')} across, with teeth of {RACK.name}."


def tooth_counts(
    ratio: float | Fraction,
    places: tuple[str, str, str],
    planets: int,
    module_mm: float,
    size_mm: float,
    tolerance: float = 0.0,
    kind: str = "simple",
    least_teeth: int = LEAST_PINION,
) -> list[Candidate]:
    """All tooth counts of a sun-to-ring set that give ``ratio`` within a size, the most exact first.

    ``ratio``: output speed over input speed, signed; ``places``: which of "first" (sun), "carrier" and
    "second" (ring) is input, output and held; ``planets``: 1 to 24, spaced equally and clear of each other;
    ``size_mm``: the ring's root diameter, (z_ring + 2.5)·m, may be at most this, 1 to 500 modules;
    ``tolerance``: relative, 0 to 0.2; ``kind``: "simple", "double pinion" (of each sun and ring the pinions
    with most room) or "stepped" (two rows of one module); ``least_teeth``: 6 to 60, for every wheel.
    Standard centre distances throughout.  Returns [] if there are none; raises MechError for values out of
    range.

    >>> tooth_counts(Fraction(1, 4), ("first", "carrier", "second"), 4, 0.5, 26)[-1].teeth
    (16, 16, 48)
    """
    check_number("ratio", ratio, -1000, 1000)
    room = max(check_number("tolerance", tolerance, 0, 0.2), ROUNDING)
    check_number("module_mm", module_mm, *MODULE_MM, "mm")
    check_number("size_mm", size_mm, module_mm, 500 * module_mm, "mm")
    least = check_count("least_teeth", least_teeth, 6, 60)
    if kind not in KINDS:
        raise MechError(f"kind is {kind!r}", f"it must be one of: {listing(KINDS)}")
    check_places(places)
    if not ratio:
        raise MechError("ratio is 0", "the output must turn")
    found = []
    largest = int(size_mm / module_mm - 2 * (ADDENDUM + CLEARANCE) + ROUNDING)
    for basic_ratio, make, teeth in KINDS[kind](least, largest):
        if abs(speed_ratio(basic_ratio, places) / ratio - 1) <= room:
            one = make(*teeth) if kind != "double pinion" else make(planets, least, *teeth)
            fit = one and assembly(one, planets, module_mm)
            if fit and fit.fits:
                got = speed_ratio(one.basic_ratio, places)
                across = (one.second.teeth + 2 * (ADDENDUM + CLEARANCE)) * module_mm
                found.append(Candidate(one, got, float(got / ratio) - 1, across, fit))
    return sorted(found, key=lambda c: (abs(c.error) > ROUNDING and abs(c.error), c.size_mm, c.teeth))


def _simple(least: int, largest: int) -> Iterator[tuple]:
    for sun in range(least, largest):
        for planet in range(least, (largest - sun) // 2 + 1):
            ring = sun + 2 * planet
            yield -ring / sun, simple_set, (sun, planet, ring)


def _stepped(least: int, largest: int) -> Iterator[tuple]:
    for sun in range(least, largest):
        for near in range(least, largest - sun):
            for far in range(least, largest - sun - near + 1):
                ring = sun + near + far
                if near != far:
                    yield -near * ring / (sun * far), stepped_set, (sun, near, far, ring)


def _double_pinion(least: int, largest: int) -> Iterator[tuple]:
    for sun in range(least, largest):
        for ring in range(sun + 2 * least, largest + 1):
            yield ring / sun, _roomiest_pair, (sun, ring)


def _roomiest_pair(planets: int, least: int, sun: int, ring: int) -> PlanetarySet | None:
    """The double-pinion set whose pinions have most room, or None if none reach each other.

    They do with more than half of z_ring − z_sun teeth together, and each misses the other's central wheel by
    its tips with less than half of z_ring − z_sun − 4.
    """
    half, pinions = (ring - sun) // 2, range(least, (ring - sun - 4 + 1) // 2)
    pairs = [
        double_pinion_set(sun, inner, outer, ring)
        for inner in pinions
        for outer in pinions
        if inner + outer > half
    ]

    def room(one: PlanetarySet) -> float:
        (inner, _), (outer, _) = one.planets
        return _pair_gap(one, planets, 1.0, (sun + inner) / 2, (ring - outer) / 2)

    return max(pairs, key=room, default=None)


KINDS = {"simple": _simple, "double pinion": _double_pinion, "stepped": _stepped}
