"""What to measure a gear by: the span and the pins that touch its flanks, where there are any."""

from __future__ import annotations

import math
from collections.abc import Callable

from mechlib.gears.measuring import PIN_IN_MODULES, pin_centre_mm, pin_fault, span_mm, teeth_to_span
from mechlib.gears.spur import Gear

LEAST_SPAN = 2  # teeth: over a single one the jaws stand too deep for most calipers; practice, no source
OUT = 0.05  # modules by which a pin stands out beyond the tips at least: common practice, no source
BELOW = (
    0.05  # modules below the tip's edge, which may be rounded, where it touches: common practice, no source
)
PINS_TRIED = (1.3, 2.8)  # modules: what can stand in the space of a usual tooth
STEPS = 150  # pins tried, but none finer than a hundredth of a mm


def span_for(gear: Gear) -> int | None:
    """The number of teeth to span on a gear: from two on, jaws on the flanks; None where there is none.

    That of ``teeth_to_span`` if it does, else the nearest.  The jaws touch on a circle of diameter
    √(d_b² + W²), which must lie between form circle and tip circle.

    >>> from mechlib.gears.racks import FINE, STUB_20
    >>> span_for(Gear(24, 0.5, FINE)), span_for(Gear(8, 0.5, STUB_20, -0.5))
    (3, None)
    """
    first = teeth_to_span(gear.teeth, gear.rack, gear.shift)
    for over in (first, first + 1, first - 1):
        if not LEAST_SPAN <= over <= gear.teeth:
            continue
        at = math.hypot(gear.base_mm, span_mm(gear.teeth, gear.module_mm, gear.rack, over, gear.shift))
        if gear.form_mm < at < gear.tip_mm:
            return over
    return None


def pin_for(gear: Gear) -> float | None:
    """The diameter of pins to measure a gear over, in mm, to a hundredth; None where none can be read.

    Nearest to 1.728 modules among those that touch flanks, 0.05 modules or more below the tip, and stand out
    beyond the tips by more than that (common practice, no source).

    >>> from mechlib.gears.racks import FINE
    >>> pin_for(Gear(24, 0.5, FINE)), pin_for(Gear(12, 0.5, FINE, 0.6))
    (0.86, 0.93)
    """
    form = math.sqrt(max(gear.form_mm**2 - gear.base_mm**2, 0.0)) / 2
    edge = gear.tip_mm - 2 * BELOW * gear.module_mm
    high = math.sqrt(max(edge**2 - gear.base_mm**2, 0.0)) / 2

    def does(pin: float) -> bool:
        given = gear.teeth, gear.module_mm, gear.rack, pin, gear.shift
        if pin_fault(*given, gear.tip_alteration, OUT):
            return False
        return form <= math.sqrt(pin_centre_mm(*given) ** 2 - (gear.base_mm / 2) ** 2) - pin / 2 <= high

    return nearest_pin(does, gear.module_mm)


def nearest_pin(does: Callable[[float], bool], module_mm: float) -> float | None:
    """The pin nearest to 1.728 modules that ``does``, in mm, to a hundredth; None where none does.

    >>> nearest_pin(lambda pin: pin > 0.9, 0.5)
    0.91
    """
    low, high = (share * module_mm for share in PINS_TRIED)
    usual, step = round(PIN_IN_MODULES * module_mm, 2), max(0.01, round((high - low) / STEPS, 2))
    ways = range(math.ceil((high - low) / step))
    tried = (round(usual + side * number * step, 2) for number in ways for side in (1, -1))
    return next((pin for pin in tried if low <= pin <= high and does(pin)), None)
