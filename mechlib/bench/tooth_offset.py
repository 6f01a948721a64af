"""Teeth at the marks: degrees a tooth, what a tooth out does to the chart, what a gap at the marks means."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import degrees

from mechlib.errors import MechError, check_count, check_number
from mechlib.say import count, say
from mechlib.transports.model import Transport

LEAST_TEETH, MOST_TEETH = 4, 2000
NO_WHOLE_NUMBER = 0.2  # teeth off a whole number from which the reader is warned: about what an eye can tell


def degrees_per_tooth(teeth: int) -> float:
    """Degrees that a gear turns from one tooth to the next: 360/z.

    ``teeth``: 4 to 2000.  Raises MechError for anything else.  Source: pitch angle, ISO 1122-1.

    >>> degrees_per_tooth(80)
    4.5
    """
    return 360.0 / check_count("teeth", teeth, LEAST_TEETH, MOST_TEETH)


def chart_shift_deg(parent_teeth: int, teeth_out: int, parent_speed: float = 1.0) -> float:
    """Shift on the timing chart, in main-cam degrees, of a part meshed ``teeth_out`` off its mark.

    The shift is −n·360/(z_parent·|ρ|): the parent turns one tooth in 360/z_parent of its own degrees, and
    one of its degrees is 1/|ρ| of the main cam's.  The part's own tooth count does not matter.

    ``parent_teeth``: the parent's teeth at this mesh, 4 to 2000.  ``teeth_out``: + ahead, − behind,
    −60 to 60.  ``parent_speed``: ρ, the parent's speed over the main cam's (1 for the main gear), 0.001 to
    1000 either way.  Returns degrees of theta, negative for events that come earlier in the loading sense.
    Raises MechError out of these ranges.  Derived from the definition of the gear ratio.

    >>> chart_shift_deg(80, 1), chart_shift_deg(60, -2, -0.8)
    (-4.5, 15.0)
    """
    teeth_out = check_count("teeth_out", teeth_out, -60, 60)
    speed = abs(check_number("parent_speed", parent_speed, -1000, 1000))
    check_number("the size of parent_speed", speed, 0.001, 1000, hint="a parent that stands has no ratio")
    return -teeth_out * degrees_per_tooth(parent_teeth) / speed + 0.0


def mesh_shift_deg(transport: Transport, mesh: str, teeth_out: int) -> float:
    """Shift on the chart of a timed part, and of all that hangs on it; 0 upstream of the main gear.

    >>> from mechlib.transports import load
    >>> mesh_shift_deg(load("alder"), "pinch cam", 1)
    -7.5
    """
    if mesh in {upstream.name for upstream in transport.upstream}:
        return 0.0
    part = transport.part(mesh)
    return chart_shift_deg(part.parent_teeth, teeth_out, part.parent_speed)


def gap_from_mm(gap_mm: float, radius_mm: float) -> float:
    """The angle, in degrees of the gear, of a gap between marks measured along the arc: gap/radius.

    ``gap_mm``: −500 to 500, + where the part's mark stands ahead; ``radius_mm``: of the circle on which the
    gap was measured (half its diameter), 0.5 to 500.  Raises MechError out of range, or if the gap is more
    than half a turn.  Source: definition of the radian.

    >>> round(gap_from_mm(1.5708, 20), 2)
    4.5
    """
    radius = check_number("radius_mm", radius_mm, 0.5, 500, "mm", "half the diameter")
    angle = degrees(check_number("gap_mm", gap_mm, -500, 500, "mm") / radius)
    if abs(angle) > 180:
        raise MechError(
            f"a gap of {gap_mm:g} mm at {radius:g} mm radius is {abs(angle):.0f}°",
            "two marks are at most half a turn apart; measure again",
        )
    return angle


def gap_from_teeth(gap_teeth: float, teeth: int) -> float:
    """The angle of a gap between marks counted in teeth of the gear, halves by eye: n·360/z.

    ``gap_teeth``: −60 to 60, + where the part's mark stands ahead; ``teeth``: 4 to 2000.  Raises MechError
    out of range, or if the gap is more than half a turn.  Derived.

    >>> gap_from_teeth(-1.5, 80)
    -6.75
    """
    angle = check_number("gap_teeth", gap_teeth, -60, 60) * degrees_per_tooth(teeth)
    if abs(angle) > 180:
        raise MechError(
            f"a gap of {gap_teeth:g} teeth of {teeth} is {abs(angle):.0f}°",
            "two marks are at most half a turn apart; count again",
        )
    return angle


@dataclass(frozen=True)
class GapReading:
    """What a gap at the marks means: the teeth as measured, the whole number next to it, and how far off."""

    gap_deg: float
    teeth: float
    whole: int

    @property
    def off(self) -> float:
        """Teeth by which the gap misses the whole number."""
        return self.teeth - self.whole

    @property
    def doubtful(self) -> bool:
        """True if the gap is no whole number of teeth."""
        return abs(self.off) > NO_WHOLE_NUMBER

    def sentence(self) -> str:
        gap = f"A gap of {say(self.gap_deg, '°', 2, sign=True)} is {say(self.teeth, 'teeth', 2, sign=True)}"
        if self.doubtful:
            return (
                f"{gap}: no whole number. Measure again, see that the cam stands exactly in the reference "
                "mode, and look for a gear split on its shaft or a worn hole."
            )
        if self.whole == 0:
            return f"{gap}: the mark is right."
        way = "ahead of" if self.whole > 0 else "behind"
        return f"{gap}: {count(abs(self.whole), 'tooth')} {way} the mark."


def whole_teeth(gap_deg: float, teeth: int) -> GapReading:
    """Whole teeth and sense from a gap seen at the marks of a gear, in degrees of that gear.

    ``gap_deg``: −180 to 180, + where the part's mark stands ahead in its loading sense; ``teeth``: of the
    gear on which the gap was read, 4 to 2000.  Raises MechError out of range.  A gap more than 0.2 teeth off
    a whole number is doubtful (common practice, no source).

    >>> whole_teeth(-9.2, 80).sentence()
    'A gap of −9.20° is −2.04 teeth: 2 teeth behind the mark.'
    """
    gap = check_number("gap_deg", gap_deg, -180, 180, "°")
    measured = gap / degrees_per_tooth(teeth)
    return GapReading(gap, measured, round(measured))


@dataclass(frozen=True)
class IdlerDropped:
    """What an idler, lifted and dropped back turned, does to the gear behind it (``teeth`` of that mesh)."""

    turned_teeth: int
    teeth: Fraction

    def sentence(self) -> str:
        back = f"Dropped back {count(abs(self.turned_teeth), 'tooth')} round"
        if self.teeth == 0:
            return (
                f"{back}, the idler changes no timing as long as its neighbours were held; its own mark "
                "may stand off."
            )
        return (
            f"{back}, the idler makes the gear behind it turn by {self.teeth} of a tooth of that mesh before "
            "the teeth fit: set both meshes on their marks again."
        )


def idler_dropped(
    turned_teeth: int, driven_side_teeth: int, driver_side_teeth: int | None = None
) -> IdlerDropped:
    """An idler lifted out and dropped back ``turned_teeth`` round, counted on its driver's side.

    A plain idler (one row of teeth) drops in the same anywhere: turned by whole teeth on one side it is
    turned by whole teeth on the other.  With two rows, n teeth of the one are n·z_driven/z_driver teeth of
    the other; what is left over a whole number is what the gear behind it must turn, at most half a tooth,
    for the teeth to fit.  ``turned_teeth``: −500 to 500; tooth counts 4 to 2000; raises MechError otherwise.
    Derived.

    >>> idler_dropped(3, 40).teeth, idler_dropped(1, 30, 20).teeth
    (Fraction(0, 1), Fraction(1, 2))
    """
    turned = check_count("turned_teeth", turned_teeth, -500, 500)
    driven = check_count("driven_side_teeth", driven_side_teeth, LEAST_TEETH, MOST_TEETH)
    driver = driven if driver_side_teeth is None else driver_side_teeth
    driver = check_count("driver_side_teeth", driver, LEAST_TEETH, MOST_TEETH)
    exact = Fraction(turned * driven, driver)
    left = exact - (exact + Fraction(1, 2)).__floor__()
    return IdlerDropped(turned, Fraction(1, 2) if left == Fraction(-1, 2) else left)
