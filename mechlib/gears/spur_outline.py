"""The outline of a spur gear as a polygon: tips, flanks, fillets and roots, true to a stated tolerance."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from mechlib.errors import check_number
from mechlib.gears.spur import ROUNDING, Gear, Ring

MOST_DOUBLINGS = 12


def outline(gear: Gear | Ring, tolerance_mm: float) -> np.ndarray:
    """The outline of a gear or the toothed inside of a ring as an array of points (x, y) in mm.

    It is closed (the last point is the first), goes counter-clockwise about the origin and starts on the
    positive x axis, at the middle of a tooth's tip.  Every corner lies on the true outline, and no side is
    further from it than ``tolerance_mm`` (a hundred-thousandth to a tenth of the module).  The array is
    read-only, as it is kept for the next time.  Two outlines in mesh overlap by at most 1e-3 modules with a
    tolerance of 3e-4 (see ``spur_mesh``).  Raises MechError for a tolerance out of range.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> points = outline(Gear(20, 1, ISO_53_A), 0.01)
    >>> points[0].tolist(), bool((points[0] == points[-1]).all())
    ([11.0, 0.0], True)
    """
    low, high = 1e-5 * gear.module_mm, 0.1 * gear.module_mm
    return _outline(gear, check_number("tolerance_mm", tolerance_mm, low, high, "mm"))


@lru_cache(maxsize=256)
def _outline(gear: Gear | Ring, tolerance_mm: float) -> np.ndarray:
    half = _half_pitch(gear, tolerance_mm)
    pitch = 2 * math.pi / gear.teeth
    tooth = np.concatenate([half, np.conj(half)[-2:0:-1] * np.exp(1j * pitch)])
    turns = np.exp(1j * pitch * np.arange(gear.teeth))
    points = np.append((turns[:, None] * tooth).ravel(), tooth[0])
    made = np.stack([points.real, points.imag], axis=1)
    made.setflags(write=False)
    return made


def _half_pitch(gear: Gear | Ring, tolerance_mm: float) -> np.ndarray:
    """From the middle of a tooth's tip down its upper side to the middle of the space."""
    tip, root = gear.tip_mm / 2, gear.root_mm / 2
    root_angle = float(np.angle(gear.fillet(0.0)))
    pieces = (
        (lambda angle: tip * np.exp(1j * angle), 0.0, gear.half_angle(tip)),
        (gear.flank, gear.tip_roll, gear.form_roll),
        (gear.fillet, gear.fillet_end, 0.0),
        (lambda angle: root * np.exp(1j * angle), root_angle, math.pi / gear.teeth),
    )
    curves = [_sampled(curve, start, end, tolerance_mm) for curve, start, end in pieces]
    # Where one piece ends the next begins; a root without a flat is a piece without length.
    points = np.concatenate(curves)
    apart = abs(np.diff(points)) > ROUNDING * gear.module_mm
    return points[np.append(apart, True)]


def _sampled(curve, start: float, end: float, tolerance: float) -> np.ndarray:
    """Points of a curve, close enough that its middle between two of them is within tolerance of the chord.

    The middle is where a smooth short arc is furthest away, to first order; a tenth is kept in hand.
    """
    for doubling in range(1, MOST_DOUBLINGS):
        points = curve(np.linspace(start, end, 2 ** (doubling + 1) + 1))
        ends, middles = points[::2], points[1::2]
        chords = np.diff(ends)
        lengths = np.maximum(abs(chords), 1e-300)
        off = abs(((middles - ends[:-1]) * np.conj(chords)).imag) / lengths
        if off.max() <= 0.9 * tolerance:
            return ends
    return points
