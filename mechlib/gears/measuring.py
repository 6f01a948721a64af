"""What calipers and micrometers read on a spur gear: outside diameter, span over teeth, over two pins.

Symbols as in ISO 21771, lengths in mm.  The teeth may have a profile shift x (in modules); backlash makes a
gear thinner, which reads like a smaller x.  Every formula here is for external gears with involute teeth.
"""

from __future__ import annotations

import math

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.racks import BasicRack, check_rack
from mechlib.gears.spur import MODULE_MM, TEETH, involute, involute_angle

OUTSIDE, SPAN, PINS, CENTRE = "outside diameter", "span", "over pins", "centre distance"  # what can be read
SHORT_TIPS = 0.1  # modules that tips may be cut short by: common practice, no source
PIN_IN_MODULES = 1.728  # usual for pins on external gears: common practice, no source
SHIFT = (-1.0, 1.5)
TIP_ALTERATION = (-1.0, 0.5)
PIN_MM = (0.05, 100.0)
INCH_MM = 25.4
BOTTOM = "lie on the bottom of the space"
NO_CHANGE = 1e-12  # of a shift, from one try to the next
TRIES = 20  # of which each leaves at most a fifth of the error, for 7 teeth and more

# Modules in mm and diametral pitches in teeth an inch.  Source: ISO 54:1996, series I and II from 1 mm; below
# 1 mm the series I common to JIS B 1701-2 and DIN 780, all from memory.  Diametral pitches: common practice.
MODULES_I = (0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
MODULES_II = (0.25, 0.35, 0.45, 0.55, 0.7, 0.75, 0.9, 1.125, 1.375, 1.75, 2.25, 2.75, 3.5, 4.5, 5.5, 7.0, 9.0)
DIAMETRAL_PITCHES = (
    200,
    180,
    150,
    120,
    100,
    96,
    80,
    72,
    64,
    48,
    40,
    36,
    32,
    24,
    20,
    18,
    16,
    14,
    12,
    10,
    8,
    6,
    5,
    4,
    3,
)


def module_of_pitch(diametral_pitch: float) -> float:
    """The module in mm of a diametral pitch (teeth for each inch of diameter): m = 25.4/P.

    ``diametral_pitch``: 0.5 to 500.  Raises MechError out of range.  The same formula leads back.

    >>> module_of_pitch(16), round(module_of_pitch(48), 5)
    (1.5875, 0.52917)
    """
    return INCH_MM / check_number("diametral_pitch", diametral_pitch, 0.5, 500, "teeth an inch")


def outside_mm(
    teeth: int, module_mm: float, rack: BasicRack, shift: float = 0.0, tip_alteration: float = 0.0
) -> float:
    """Outside (tip) diameter: d_a = m·(z + 2·(h_aP + x + k)); k is the tip alteration, negative if cut short.

    ``teeth``: 6 to 2000; ``module_mm``: 0.05 to 50; ``shift``: −1 to 1.5; ``tip_alteration``: −1 to 0.5.
    Raises MechError out of range.  Source: ISO 21771, tip diameter.  An odd count has no two opposite tips:
    a caliper reads less there, see ``across_tips_mm``.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> outside_mm(24, 3, ISO_53_A)
    78.0
    """
    teeth, module, shift = _checked(teeth, module_mm, rack, shift)
    tip_alteration = check_number("tip_alteration", tip_alteration, *TIP_ALTERATION)
    return module * (teeth + 2 * (rack.addendum + shift + tip_alteration))


def across_tips_mm(
    teeth: int, module_mm: float, rack: BasicRack, shift: float = 0.0, tip_alteration: float = 0.0
) -> float:
    """What flat jaws read across the tips at most: d_a, for an odd count d_a·cos(90°/z − ψ_a).

    ψ_a is half the angle that a tooth fills at its tip, from 0 to 90°/z.  Tips are arcs of the tip circle;
    a jaw square to a line stands off by r_a·cos of the angle from that line to the nearest arc.  A line that
    lies φ beside the middle of a tooth lies 180°/z − φ beside one on the other side, so that the
    jaws stand r_a·(cos(φ − ψ_a) + cos(180°/z − φ − ψ_a)) apart: most at φ = 90°/z.  Arguments and errors as
    for ``outside_mm``.  Source: derived; tooth thickness as in ISO 21771.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> across_tips_mm(20, 1.5, ISO_53_A), outside_mm(21, 1.5, ISO_53_A)
    (33.0, 34.5)
    >>> round(across_tips_mm(21, 1.5, ISO_53_A), 2)
    34.47
    """
    outside = outside_mm(teeth, module_mm, rack, shift, tip_alteration)
    if teeth % 2 == 0:
        return outside
    return outside * _odd_share(teeth, rack, shift, outside / module_mm)


def _odd_share(teeth: int, rack: BasicRack, shift: float, outside: float) -> float:
    """What flat jaws read on an odd count, over its outside diameter, which is given in modules."""
    at = math.acos(min(teeth * math.cos(rack.angle) / outside, 1.0))
    half = (math.pi / 2 + 2 * shift * math.tan(rack.angle)) / teeth
    half += involute(rack.pressure_angle_deg) - (math.tan(at) - at)
    return math.cos(max(math.pi / 2 / teeth - max(half, 0.0), 0.0))


def span_mm(teeth: int, module_mm: float, rack: BasicRack, over: int, shift: float = 0.0) -> float:
    """Span over ``over`` teeth: W_k = m·cos α·((k − ½)·π + z·inv α) + 2·x·m·sin α.

    ``over``: 1 to z; the jaws must touch the flanks, see ``teeth_to_span``; others as for ``outside_mm``.
    Raises MechError out of range.  Source: ISO 21771, base tangent length.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(span_mm(24, 3, ISO_53_A, 4, 0.4), 4)
    32.8266
    """
    teeth, module, shift = _checked(teeth, module_mm, rack, shift)
    over = check_count("over", over, 1, teeth)
    flank = (over - 0.5) * math.pi + teeth * involute(rack.pressure_angle_deg)
    return module * (math.cos(rack.angle) * flank + 2 * shift * math.sin(rack.angle))


def base_pitch_mm(first_mm: float, second_mm: float) -> float:
    """The base pitch from the spans over k and over k + 1 teeth: p_b = W_(k+1) − W_k = π·m·cos α.

    It depends neither on the tooth count nor on the shift, so it tells the module by itself.  Both 0.01 to
    2000 mm, the second larger.  Raises MechError otherwise.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> pitch = base_pitch_mm(span_mm(24, 3, ISO_53_A, 3), span_mm(24, 3, ISO_53_A, 4))
    >>> round(pitch / (math.pi * math.cos(math.radians(20))), 9)
    3.0
    """
    first = check_number("first_mm", first_mm, 0.01, 2000, "mm")
    second = check_number("second_mm", second_mm, 0.01, 2000, "mm")
    if second <= first:
        raise MechError(f"the spans are {first:g} and {second:g} mm", "the second is over one tooth more")
    return second - first


def teeth_to_span(teeth: int, rack: BasicRack, shift: float = 0.0) -> int:
    """The number of teeth at which the jaws touch near the middle of the flanks.

    They touch on a circle of diameter d + 2·x·m if k = z/π·(tan α_x − inv α − 2·x/z·tan α) + ½, where
    cos α_x = z·cos α/(z + 2·x).  ``teeth`` and ``shift`` as for ``outside_mm``; at least 1.  Raises MechError
    out of range.  Source: ISO 21771, number of teeth for the base tangent length.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> [teeth_to_span(z, ISO_53_A) for z in (12, 24, 40)], teeth_to_span(24, ISO_53_A, 0.4)
    ([2, 3, 5], 4)
    """
    teeth, _, shift = _checked(teeth, MODULE_MM[0], rack, shift)  # of any module
    ratio = teeth * math.cos(rack.angle) / (teeth + 2 * shift)
    if ratio >= 1:
        return 1
    at = math.acos(ratio)
    exact = math.tan(at) - involute(rack.pressure_angle_deg) - 2 * shift / teeth * math.tan(rack.angle)
    return max(1, round(teeth / math.pi * exact + 0.5))


def over_pins_mm(
    teeth: int, module_mm: float, rack: BasicRack, pin_mm: float, shift: float = 0.0,
    tip_alteration: float = 0.0,
) -> float:  # fmt: skip
    """Measure over two pins in opposite spaces (for an odd count in spaces nearest to opposite).

    inv φ = d_p/(m·z·cos α) − π/(2·z) + inv α + 2·x·tan α/z; M = m·z·cos α/cos φ + d_p, the first term times
    cos(90°/z) for an odd z.  ``pin_mm``: 0.05 to 100; others as for ``outside_mm``.  Raises MechError out of
    range, and for pins that touch no flanks or don't stand out beyond the tips, see ``pin_fault``.
    Source: ISO 21771, dimension over balls.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(over_pins_mm(20, 1, ISO_53_A, 1.7), 4)
    22.2941
    """
    if fault := pin_fault(teeth, module_mm, rack, pin_mm, shift, tip_alteration):
        raise MechError(f"pin_mm is {pin_mm:g} mm", f"it would {fault}")
    centre = pin_centre_mm(teeth, module_mm, rack, pin_mm, shift)
    return 2 * centre * (math.cos(math.pi / (2 * teeth)) if teeth % 2 else 1.0) + pin_mm


def pin_centre_mm(teeth: int, module_mm: float, rack: BasicRack, pin_mm: float, shift: float = 0.0) -> float:
    """How far from the middle of the gear a pin stands that lies in a space, whether it can be read or not.

    m·z·cos α/(2·cos φ), see ``over_pins_mm``, as if flanks reached everywhere.  Arguments and source as
    there; raises MechError out of range, and for a pin that would fall to the bottom of the space.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(2 * pin_centre_mm(20, 1, ISO_53_A, 1.7) + 1.7, 4)
    22.2941
    """
    teeth, module, shift = _checked(teeth, module_mm, rack, shift)
    pin = check_number("pin_mm", pin_mm, *PIN_MM, "mm")
    base = module * teeth * math.cos(rack.angle)
    value = pin / base - math.pi / (2 * teeth) + involute(rack.pressure_angle_deg)
    value += 2 * shift * math.tan(rack.angle) / teeth
    if value <= 0:
        raise MechError(f"pin_mm is {pin:g} mm", f"it would {BOTTOM}; take a thicker one")
    return base / 2 / math.cos(math.radians(involute_angle(value)))


def pin_fault(
    teeth: int, module_mm: float, rack: BasicRack, pin_mm: float, shift: float = 0.0,
    tip_alteration: float = 0.0, out: float = 0.0,
) -> str:  # fmt: skip
    """What keeps two pins from being read on a gear, in words; empty where they can be.

    A pin at r from the middle touches where the unwound string is √(r² − r_b²) − d_p/2 long: that must be
    below the tip, and above the fillet, (r·sin α − m·(h_FfP − x)/sin α) or, undercut, the base circle.  Both
    pins together must stand out by more than ``out`` modules on each side of what a caliper reads across the
    tips.  Tips are as high as the rack has them, with ``tip_alteration`` k; ``out`` from 0 to 1, others and
    errors as in ``pin_centre_mm``.  Source: ISO 21771, roll angles; the rest is derived.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> [pin_fault(20, 1, ISO_53_A, pin) for pin in (1.7, 1.4, 4)]
    ['', 'lie 0.42 mm below the tips', 'touch no flanks, but the tips']
    """
    across = across_tips_mm(teeth, module_mm, rack, shift, tip_alteration)
    tip = outside_mm(teeth, module_mm, rack, shift, tip_alteration) / 2
    out = check_number("out", out, 0, 1, "modules") * module_mm
    check_number("pin_mm", pin_mm, *PIN_MM, "mm")
    try:
        centre = pin_centre_mm(teeth, module_mm, rack, pin_mm, shift)
    except MechError:
        return BOTTOM
    base = module_mm * teeth / 2 * math.cos(rack.angle)
    string, sine = math.sqrt(max(centre**2 - base**2, 0.0)) - pin_mm / 2, math.sin(rack.angle)
    fillet = module_mm * (teeth / 2 * sine - (rack.form_depth - shift) / sine)
    if string > math.sqrt(max(tip**2 - base**2, 0.0)):
        return "touch no flanks, but the tips"
    beyond = centre * (math.cos(math.pi / (2 * teeth)) if teeth % 2 else 1.0) + (pin_mm - across) / 2
    if beyond <= 0:
        return f"lie {-beyond:.2f} mm below the tips"
    if string < max(fillet, 0.0):
        return "touch no flanks, but the fillets"
    return "" if beyond > out else f"stand out by no more than {beyond:.3f} mm"


def shift_from_span(teeth: int, module_mm: float, rack: BasicRack, over: int, read_mm: float) -> float:
    """The profile shift that the span over ``over`` teeth tells: x = (W − W at x = 0)/(2·m·sin α).

    ``read_mm``: 0.01 to 2000.  Raises MechError out of range.  Backlash is in it: a gear thinned by j reads
    as smaller by j·cos α in the span.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(shift_from_span(24, 3, ISO_53_A, 4, 32.8266), 3)
    0.4
    """
    read = check_number("read_mm", read_mm, 0.01, 2000, "mm")
    plain = span_mm(teeth, module_mm, rack, over)
    return (read - plain) / (2 * module_mm * math.sin(rack.angle))


def shift_from_pins(teeth: int, module_mm: float, rack: BasicRack, pin_mm: float, read_mm: float) -> float:
    """The profile shift that the measure over two pins tells: the formula of ``over_pins_mm`` solved for x.

    ``read_mm``: 0.01 to 2000.  Raises MechError out of range, and if the pins can't stand so low, or touch no
    flanks or don't stand out beyond the tips at that shift, see ``pin_fault``.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(shift_from_pins(20, 1, ISO_53_A, 1.7, 22.2941), 4)
    0.0
    """
    shift = pins_to_shift(teeth, module_mm, rack, pin_mm, read_mm)
    if SHIFT[0] <= shift <= SHIFT[1] and (fault := pin_fault(teeth, module_mm, rack, pin_mm, shift)):
        raise MechError(f"pin_mm is {pin_mm:g} mm", f"with a shift of {shift:.2f} it would {fault}")
    return shift


def pins_to_shift(teeth: int, module_mm: float, rack: BasicRack, pin_mm: float, read_mm: float) -> float:
    """The same as ``shift_from_pins`` as if flanks reached everywhere and no tip were in the way.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(pins_to_shift(20, 1, ISO_53_A, 1.4, 22.0), 2), pin_fault(20, 1, ISO_53_A, 1.4, 0.44)
    (0.44, 'lie 0.44 mm below the tips')
    """
    teeth, module, _ = _checked(teeth, module_mm, rack, 0.0)
    pin, read = (
        check_number("pin_mm", pin_mm, *PIN_MM, "mm"),
        check_number("read_mm", read_mm, 0.01, 2000, "mm"),
    )
    base = module * teeth * math.cos(rack.angle)
    centre = (read - pin) / (math.cos(math.pi / (2 * teeth)) if teeth % 2 else 1.0)
    if centre <= base:
        problem = "the pins would have to lie within the base circle; check module, teeth and pins"
        raise MechError(f"read_mm is {read:g} mm", problem)
    value = involute(math.degrees(math.acos(base / centre)))
    value += math.pi / (2 * teeth) - pin / base - involute(rack.pressure_angle_deg)
    return value * teeth / (2 * math.tan(rack.angle))


def shift_from_outside(teeth: int, module_mm: float, rack: BasicRack, read_mm: float) -> float:
    """The profile shift that the outside diameter tells, if no tip was cut short: x = (d_a/m − z)/2 − h_aP.

    ``read_mm``: 0.01 to 2000.  Raises MechError out of range.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(shift_from_outside(12, 3, ISO_53_A, 45.6), 6)
    0.6
    """
    teeth, module, _ = _checked(teeth, module_mm, rack, 0.0)
    return (check_number("read_mm", read_mm, 0.01, 2000, "mm") / module - teeth) / 2 - rack.addendum


def shift_from_across_tips(teeth: int, module_mm: float, rack: BasicRack, read_mm: float) -> float:
    """The profile shift that a caliper across the tips tells, if no tip was cut short.

    The formula of ``across_tips_mm`` solved for x: the cosine hardly depends on it, so that each try with the
    last x is several times nearer.  ``read_mm``: 0.01 to 2000.  Raises MechError out of range.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> round(shift_from_across_tips(21, 1.5, ISO_53_A, across_tips_mm(21, 1.5, ISO_53_A, 0.3)), 6)
    0.3
    """
    shift = shift_from_outside(teeth, module_mm, rack, read_mm)
    for _ in range(TRIES if teeth % 2 else 0):
        outside = read_mm / module_mm / _odd_share(teeth, rack, shift, teeth + 2 * (rack.addendum + shift))
        before, shift = shift, (outside - teeth) / 2 - rack.addendum
        if abs(shift - before) < NO_CHANGE:
            break
    return shift


def _checked(teeth: int, module_mm: float, rack: BasicRack, shift: float) -> tuple[int, float, float]:
    check_rack(rack)
    return (
        check_count("teeth", teeth, *TEETH),
        check_number("module_mm", module_mm, *MODULE_MM, "mm"),
        check_number("shift", shift, *SHIFT),
    )
