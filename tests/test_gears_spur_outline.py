"""The outline as a polygon: closed, simple, true to its tolerance, for every gear that can be."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from second_way_teeth import crossings, distances
from share import times

from mechlib.errors import MechError
from mechlib.gears.racks import FINE, ISO_53_A, ISO_53_D, RACKS
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_mesh import ring_for
from mechlib.gears.spur_outline import outline

SHIFTS = (-0.5, -0.25, 0.0, 0.3, 0.55, 0.8)


def corners(gear, tolerance=3e-3):
    return outline(gear, tolerance * gear.module_mm) @ [1, 1j]


def check_simple(gear):
    """One half pitch stays in its own wedge and doesn't cross itself, so the whole doesn't either."""
    points = corners(gear)
    per_tooth = (len(points) - 1) // gear.teeth
    assert (len(points) - 1) % gear.teeth == 0 and points[0] == points[-1]
    half = points[: per_tooth // 2 + 1]
    angles = np.angle(half)
    assert angles.min() >= 0 and angles.max() <= math.pi / gear.teeth + 1e-12
    assert angles[0] == 0 and angles[-1] == pytest.approx(math.pi / gear.teeth, abs=1e-12)
    assert (angles[1:-1] > 1e-6).all() and crossings(half) == 0
    # The other half is its mirror image, and each tooth is the one before, turned.
    other = np.conj(half)[::-1] * np.exp(2j * math.pi / gear.teeth)
    assert abs(points[per_tooth // 2 : per_tooth + 1] - other).max() < 1e-9
    on = points[:-per_tooth] * np.exp(2j * math.pi / gear.teeth)
    assert abs(points[per_tooth:] - on).max() < 1e-9 * abs(points).max()
    assert abs(np.diff(points)).min() > 1e-9


@pytest.mark.parametrize("rack", [ISO_53_A, ISO_53_D, FINE], ids=lambda rack: rack.name)
def test_every_gear_from_6_to_200_teeth_is_simple_or_refused(rack):
    refused = []
    for teeth in (*range(6, 19), 21, 25, 33, 63, 121, 200):
        for shift in SHIFTS:
            try:
                check_simple(Gear(teeth, 1, rack, shift))
            except MechError as error:
                refused.append((teeth, shift, str(error)))
    # Only small gears are refused: pointed by much shift, or cut through by undercut.
    assert all(teeth < 25 for teeth, _, _ in refused)
    for _, shift, message in refused:
        assert "pointed" in message or (shift < 0 and ("undercut" in message or "no flank" in message))
    assert len(refused) < 40


@settings(max_examples=times(5, 40))
@given(st.integers(8, 60), st.integers(18, 80), st.floats(-0.4, 0.4), st.sampled_from(list(RACKS.values())))
def test_every_ring_is_simple_or_refused(teeth, more, shift, rack):
    try:
        ring = ring_for(Gear(teeth, 1, rack, shift), teeth + more)
    except MechError:
        return
    check_simple(ring)


@pytest.mark.parametrize("gear", [Gear(7, 1, ISO_53_A), Gear(15, 1, ISO_53_A, 0.3), Gear(12, 0.4, FINE)])
def test_whole_outline_does_not_cross_itself(gear):
    assert crossings(outline(gear, 0.02 * gear.module_mm) @ [1, 1j]) == 0


GEARS = [Gear(20, 2, ISO_53_A), Gear(8, 1, ISO_53_A), Gear(40, 0.3, FINE, -0.4),
         Ring(60, 1, ISO_53_D, 0.2, -0.1, 40)]  # fmt: skip


@pytest.mark.parametrize("gear", GEARS)
@pytest.mark.parametrize("tolerance", [3e-2, 3e-3, 3e-4])
def test_tolerance_is_kept(gear, tolerance):
    """Every point of a much finer outline lies within the tolerance; every corner lies on it."""
    exact, coarse = corners(gear, 1e-5), corners(gear, tolerance)
    first = exact[: (len(exact) - 1) // gear.teeth + 1]
    near = coarse[: (len(coarse) - 1) // gear.teeth + 1]
    assert distances(first, near).max() <= tolerance * gear.module_mm
    assert distances(near, first).max() <= 1.1e-5 * gear.module_mm
    assert len(coarse) < len(exact)


def test_sense_size_and_start():
    gear, ring = Gear(30, 2, ISO_53_A, 0.1), Ring(60, 2, ISO_53_A, 0, 0, 30)
    for wheel in (gear, ring):
        points = corners(wheel)
        x, y = points.real, points.imag
        area = np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) / 2
        low, high = sorted((wheel.tip_mm, wheel.root_mm))
        assert math.pi / 4 * low**2 < area < math.pi / 4 * high**2  # above zero: counter-clockwise
        assert abs(points).min() == pytest.approx(low / 2) and abs(points).max() == pytest.approx(high / 2)
        assert points[0] == wheel.tip_mm / 2
        # Area of a tooth and a space, by strips between circles: twice the sum of r·ψ(r)·dr.
        half = points[: (len(points) - 1) // wheel.teeth // 2 + 1]
        inner = half if isinstance(wheel, Ring) else half[::-1]
        radii = np.linspace(low / 2, high / 2, 20001)
        filled = np.interp(radii, abs(inner), np.angle(inner))
        if isinstance(wheel, Ring):
            filled = math.pi / wheel.teeth - filled
        strips = 2 * wheel.teeth * np.trapezoid(radii * filled, radii)
        assert area == pytest.approx(math.pi / 4 * low**2 + strips, rel=1e-4)


def test_kept_and_not_to_be_written():
    gear = Gear(20, 1, ISO_53_A)
    points = outline(gear, 0.01)
    assert points is outline(Gear(20, 1.0, ISO_53_A), 0.01) and points.shape[1] == 2
    with pytest.raises(ValueError, match="read-only"):
        points[0] = 0


@pytest.mark.parametrize("wrong", [0, 1e-6, 0.11, math.nan, "0.01", True])
def test_tolerances_that_cannot_be(wrong):
    with pytest.raises(MechError, match="tolerance_mm"):
        outline(Gear(20, 1, ISO_53_A), wrong)
