"""Five exercises on a gear in the hand, from counting a broken one to deciding between two sizes.

All gears are invented, cut to a pressure angle of 20° with an addendum of one module.
"""

from __future__ import annotations

from itertools import product
from math import cos, hypot, pi, radians, sin

from mechlib.gears.measuring import (
    INCH_MM,
    base_pitch_mm,
    module_of_pitch,
    outside_mm,
    span_mm,
    teeth_to_span,
)
from mechlib.gears.racks import ISO_53_A
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

COS, SIN = cos(radians(20)), sin(radians(20))
MODULES = (0.5, 0.6, 0.8, 1.0, 1.25, 1.5)
PITCHES = (16, 20, 24, 32, 40, 48, 64)
LEAST_APART_MM = 0.06  # what a caliper tells for certain
WAYS = ("in millimetres", "in inches")
# A module and the diametral pitch that is easily taken for it.
RIVALS = ((0.5, 48), (0.6, 40), (1.0, 24), (1.5, 16))


def _nearest(teeth: float) -> int:
    return int(teeth + 0.5)


BROKEN = Exercise(
    title="Teeth of a broken gear",
    question="Half of a gear or more has crumbled away. Along an arc you see {seen} sound teeth side by "
    "side. From the middle of the first to the middle of the last you measure {angle}° at the shaft. How "
    "many teeth had the whole gear?",
    numbers={
        "whole": range(20, 73),
        "most": range(7, 15),
        "seen": lambda n: min(n.most, n.whole // 2),  # the other half is gone
        "angle": lambda n: round(360 * (n.seen - 1) / n.whole, 1),
    },
    fields=(Number("Teeth", "teeth", 0.5, 1, 500, whole=True),),
    right=lambda n: n.whole,
    slips=(
        Slip(
            "teeth for gaps",
            lambda n: _nearest(360 * n.seen / n.angle),
            "you counted the teeth. From the first middle to the last there is one step less than teeth.",
        ),
        Slip(
            "one step too few",
            lambda n: _nearest(360 * (n.seen - 2) / n.angle),
            "you took two teeth off. How many steps lead from the first tooth to the last?",
        ),
        Slip(
            "half a turn",
            lambda n: _nearest(180 * (n.seen - 1) / n.angle),
            "that is how many fit into half a turn. The gear goes all the way round.",
        ),
        Slip(
            "what is missing",
            lambda n: max(_nearest(360 * (n.seen - 1) / n.angle) - n.seen, 1),
            "those are the teeth that aren't among the ones you see. Asked for is the whole gear.",
        ),
    ),
    hints=(
        "Count steps, from the middle of a tooth to the middle of the next.",
        "How many degrees is one step?",
        "How many such steps make a whole turn? It comes out near a whole number; take that.",
    ),
    because="Steps over degrees, times the degrees of a whole turn; teeth come whole.",
)

OUTSIDE = Exercise(
    title="Module from the outside",
    question="A gear of {teeth} teeth of the usual heights, cut without profile shift, measures {outside} mm "
    "over the tips. What is its module? Answer to two decimals.",
    numbers={
        "teeth": range(16, 49, 2),
        "module": MODULES,
        "outside": lambda n: round(outside_mm(n.teeth, n.module, ISO_53_A), 2),
    },
    fields=(Number("Module", "mm", 0.006, 0, 100),),
    right=lambda n: n.outside / (n.teeth + 2),
    slips=(
        Slip(
            "tips forgotten",
            lambda n: n.outside / n.teeth,
            "you divided by the teeth alone. The tips stand one module out beyond the reference circle, on "
            "either side.",
        ),
        Slip(
            "tips the wrong way",
            lambda n: n.outside / (n.teeth - 2),
            "the tips stand outside the reference circle, so the diameter over them is larger, not smaller.",
        ),
        Slip(
            "one side only",
            lambda n: n.outside / (n.teeth + 1),
            "you added one module. A diameter goes over the tips on both sides.",
        ),
        Slip(
            "radius for diameter",
            lambda n: n.outside / 2 / (n.teeth + 2),
            "you took half the reading. The module goes with the diameter.",
        ),
        Slip(
            "upside down",
            lambda n: (n.teeth + 2) / n.outside,
            "that is teeth for each mm. The module is mm for each tooth.",
        ),
    ),
    hints=(
        "The reference circle has one module of diameter for each tooth.",
        "How far do the tips stand out beyond it, on both sides together, counted in modules?",
        "So the reading is a whole number of modules. How many?",
    ),
    because="Over the tips there are as many modules as teeth, and two more.",
)

PITCH = Exercise(
    title="An inch gear",
    question="A gear of {teeth} teeth is stamped {pitch} DP, which means {pitch} teeth for each inch (25.4 "
    "mm) of reference diameter. Its teeth are of the usual heights, without profile shift. What must the "
    "caliper read over the tips? Answer to two decimals.",
    numbers={"teeth": range(14, 61, 2), "pitch": PITCHES},
    fields=(Number("Outside", "mm", 0.006, 0, 4900),),
    right=lambda n: outside_mm(n.teeth, module_of_pitch(n.pitch), ISO_53_A),
    slips=(
        Slip(
            "tips forgotten",
            lambda n: INCH_MM * n.teeth / n.pitch,
            "that is the reference diameter. The caliper lies on the tips.",
        ),
        Slip(
            "one side only",
            lambda n: INCH_MM * (n.teeth + 1) / n.pitch,
            "you added the tips on one side. The caliper goes over both.",
        ),
        Slip(
            "inches for millimetres",
            lambda n: (n.teeth + 2) / n.pitch,
            "that is in inches. The caliper reads mm.",
        ),
        Slip(
            "upside down",
            lambda n: INCH_MM * n.pitch / (n.teeth + 2),
            "you divided the wrong way round. More teeth make a larger gear, more teeth an "
            "inch a smaller one.",
        ),
        Slip(
            "circular pitch",
            lambda n: pi * INCH_MM * (n.teeth + 2) / n.pitch,
            "there is a π too many: that goes round the gear, not across it.",
        ),
    ),
    hints=(
        "How long is the piece of diameter that belongs to one tooth? So many of them make an inch.",
        "That piece is the module.",
        "Over the tips there are two more modules than teeth.",
    ),
    because="An inch over the pitch is the module; over the tips there are two more of them than teeth.",
)


def _spans(n) -> tuple[float, float]:
    return tuple(round(span_mm(n.teeth, n.module, ISO_53_A, n.over + more), 2) for more in (0, 1))


BASE_PITCH = Exercise(
    title="Two spans",
    question="The tips of a gear are worn, so the outside diameter says nothing. Over {over} teeth the "
    "caliper reads {first} mm, over one tooth more {second} mm. The pressure angle is 20°, whose cosine is "
    "0.9397. What is the module? Answer to two decimals.",
    numbers={
        "teeth": range(22, 61),
        "module": MODULES,
        "over": lambda n: teeth_to_span(n.teeth, ISO_53_A),
        "first": lambda n: _spans(n)[0],
        "second": lambda n: _spans(n)[1],
    },
    fields=(Number("Module", "mm", 0.006, 0, 100),),
    right=lambda n: base_pitch_mm(n.first, n.second) / (pi * COS),
    slips=(
        Slip(
            "cosine forgotten",
            lambda n: (n.second - n.first) / pi,
            "the jaws step along the base circle, which is smaller than the reference circle by the cosine.",
        ),
        Slip(
            "cosine the wrong way",
            lambda n: (n.second - n.first) * COS / pi,
            "you multiplied by the cosine. The reference circle is larger than the base circle.",
        ),
        Slip(
            "π forgotten",
            lambda n: (n.second - n.first) / COS,
            "that is the way from tooth to tooth round the gear. The module goes across: "
            "there is a π between.",
        ),
        Slip(
            "one span by its teeth",
            lambda n: n.second / (n.over + 1) / (pi * COS),
            "you shared one span out over its teeth. It holds one space less than teeth: only the "
            "difference of two spans is a whole step.",
        ),
    ),
    hints=(
        "What has been added from the first reading to the second? One tooth and one space.",
        "That step, along the base circle, is π modules times the cosine.",
        "So divide the difference by both.",
    ),
    because="One step on the base circle is π times the module times the cosine of the pressure angle, "
    "whatever the profile shift.",
)


def _shift(module: float, pitch: int, teeth: int) -> float:
    """The shift with which the smaller module is as large outside as the inch gear without shift."""
    return round((module_of_pitch(pitch) / module - 1) * (teeth + 2) / 2, 2)


def _told_apart() -> list[tuple[float, int, int, int]]:
    """Rivals with a tooth count and a span that a caliper can tell apart, the jaws well below both tips."""
    found = []
    for (module, pitch), teeth in product(RIVALS, range(12, 23)):
        over = teeth_to_span(teeth, ISO_53_A, shift := _shift(module, pitch, teeth))
        inch, metric = module_of_pitch(pitch), module
        spans = span_mm(teeth, inch, ISO_53_A, over), span_mm(teeth, metric, ISO_53_A, over, shift)
        touched = hypot(spans[0], inch * teeth * COS), inch * (teeth + 2)
        if abs(spans[0] - spans[1]) >= LEAST_APART_MM and touched[0] < touched[1] - 0.2 * inch:
            found.append((module, pitch, teeth, over))
    return found


def _span_metric(n, shifts: float = 1.0, factor: float = 2 * SIN) -> float:
    return n.module * (n.unit + shifts * factor * n.shift)


def _answers(n, metric: float, inch: float) -> tuple[float, str]:
    """The distance of both spans, and the size whose span is nearer to what was read."""
    near = WAYS[abs(n.read - metric) > abs(n.read - inch)]
    return abs(inch - metric), near


def _inch(n) -> float:
    return module_of_pitch(n.pitch) * n.unit


DECIDE = Exercise(
    title="Which of the two?",
    question="A gear of {teeth} teeth measures as much outside as {pitch} DP (25.4 mm over {pitch}) without "
    "profile shift; but module {module} with a profile shift of {shift} would measure the same. Over {over} "
    "teeth a table gives a span of {unit} modules without shift; a shift adds twice the shift times 0.3420 "
    "modules. How far apart are the spans of the two, and which one is it, if you read {read} mm? Answer to "
    "three decimals.",
    numbers={
        "rivals": _told_apart(),
        "module": lambda n: n.rivals[0],
        "pitch": lambda n: n.rivals[1],
        "teeth": lambda n: n.rivals[2],
        "over": lambda n: n.rivals[3],
        "shift": lambda n: _shift(n.module, n.pitch, n.teeth),
        "unit": lambda n: round(span_mm(n.teeth, 1.0, ISO_53_A, n.over), 4),
        "which": WAYS,
        "read": lambda n: round(_span_metric(n) if n.which == WAYS[0] else _inch(n), 2),
    },
    fields=(
        Number("Apart", "mm", 0.0016, 0, 100),
        OneOf("It was cut", WAYS),
    ),
    right=lambda n: _answers(n, _span_metric(n), _inch(n)),
    slips=(
        Slip(
            "the other one",
            lambda n: (
                abs(_inch(n) - _span_metric(n)),
                WAYS[n.which == WAYS[0]],
            ),
            "the distance is right. Now hold the reading against both spans: to which is it nearer?",
        ),
        Slip(
            "shift forgotten",
            lambda n: (abs(_inch(n) - _span_metric(n, 0)), None),
            "you left the profile shift out. It makes the teeth thicker, and the span with them.",
        ),
        Slip(
            "shift once",
            lambda n: (abs(_inch(n) - _span_metric(n, 0.5)), None),
            "you counted the shift once. It thickens the spanned teeth at both outer flanks.",
        ),
        Slip(
            "shift in full",
            lambda n: (abs(_inch(n) - _span_metric(n, factor=2.0)), None),
            "you added twice the shift itself. At a slanting flank only part of it counts, as "
            "the question says.",
        ),
        Slip(
            "shift taken off",
            lambda n: (abs(_inch(n) - _span_metric(n, -1)), None),
            "you took the shift off. This shift is positive: the teeth are thicker.",
        ),
    ),
    hints=(
        "Work out both spans in mm. Each is a number of modules times its own module.",
        "For the inch gear: what is its module?",
        "For the other: add what the shift makes to the number of the table, before you multiply.",
    ),
    because="Outside they agree, but over the teeth they don't: that reading decides.",
)

MEASURED_GEAR = (BROKEN, OUTSIDE, PITCH, BASE_PITCH, DECIDE)
