"""What to measure a gear by: the span and the pins that touch its flanks, where there are any."""

from __future__ import annotations

import math
from collections.abc import Callable

from mechlib.gears.measuring import PIN_IN_MODULES, PIN_MM, pin_centre_mm, pin_fault, span_mm, teeth_to_span
from mechlib.gears.spur import Gear

LEAST_SPAN = 2  # teeth: over a single one the jaws stand too deep for most calipers; practice, no source
OUT = 0.05  # modules by which a pin stands out beyond the tips at least: common practice, no source
FURTHEST = 1.2  # modules from the usual pin: others don't stand in the space of a usual tooth


def span_for(gear: Gear) -> int | None:
    """The number of teeth to span on a gear: from two on, jaws on the flanks; None where there is none.

    That of ``teeth_to_span`` if it does, else one less, where tips are short.  The jaws touch on a circle of
    diameter √(d_b² + W²), which must lie between form circle and tip circle.

    >>> from mechlib.gears.racks import FINE, STUB_20
    >>> span_for(Gear(24, 0.5, FINE)), span_for(Gear(8, 0.5, STUB_20, -0.5))
    (3, None)
    """
    first = max(teeth_to_span(gear.teeth, gear.rack, gear.shift), LEAST_SPAN)
    for over in (first, max(first - 1, LEAST_SPAN)):
        at = math.hypot(gear.base_mm, span_mm(gear.teeth, gear.module_mm, gear.rack, over, gear.shift))
        if gear.form_mm < at < gear.tip_mm:
            return over
    return None


def pin_for(gear: Gear) -> float | None:
    """The diameter of pins to measure a gear over, in mm, to a hundredth; None where none can be read.

    Nearest to 1.728 modules among those that touch flanks above the form circle and stand out beyond the tips
    by more than 0.05 modules (common practice, no source).

    >>> from mechlib.gears.racks import FINE
    >>> pin_for(Gear(24, 0.5, FINE)), pin_for(Gear(12, 0.5, FINE, 0.6))
    (0.86, 0.93)
    """

    def does(pin: float) -> bool:
        given = gear.teeth, gear.module_mm, gear.rack, pin, gear.shift
        if pin_fault(*given, gear.tip_alteration, OUT):
            return False
        string = math.sqrt(pin_centre_mm(*given) ** 2 - (gear.base_mm / 2) ** 2) - pin / 2
        return string >= gear.form_roll * gear.base_mm / 2

    return nearest_pin(does, gear.module_mm)


def nearest_pin(does: Callable[[float], bool], module_mm: float) -> float | None:
    """The pin nearest to 1.728 modules that ``does``, in mm, to a hundredth; None where none within 1.2 does.

    >>> nearest_pin(lambda pin: pin > 0.9, 0.5)
    0.91
    """
    usual, step = round(PIN_IN_MODULES * module_mm, 2), max(0.01, round(module_mm / 100, 2))
    ways = range(math.ceil(FURTHEST * module_mm / step))
    tried = (round(usual + side * number * step, 2) for number in ways for side in (1, -1))
    return next((pin for pin in tried if PIN_MM[0] <= pin <= PIN_MM[1] and does(pin)), None)
