"""Warm pairs: laws of similarity, and warm outlines turned until they touch."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.path import Path
from scipy.optimize import brentq
from second_way_teeth import distances
from share import times

from mechlib.errors import MechError
from mechlib.gears.racks import ISO_53_A
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_heat import rise_to_bind_K, warmed
from mechlib.gears.spur_mesh import mesh, ring_for
from mechlib.gears.spur_outline import outline
from mechlib.gears.spur_shift import thinned

PLASTIC, STEEL = 11e-5, 1.2e-5  # a kelvin; orders of size, common practice


def pair(z1=20, z2=30, more=0.08, module=1.0):
    centre = module * ((z1 + z2) / 2 + more)
    return mesh(Gear(z1, module, ISO_53_A), Gear(z2, module, ISO_53_A), centre)


@given(st.floats(-100, 200), st.floats(0, 3e-4))
def test_one_material_all_over_only_changes_the_scale(rise, by):
    cold = pair()
    warm = warmed(cold, (rise, rise, rise), (by, by, by))
    scale = 1 + rise * by
    assert warm.backlash_mm == pytest.approx(scale * cold.backlash_mm)
    assert warm.least_mm == pytest.approx(warm.backlash_mm, abs=1e-12)
    assert warm.clearance_mm == pytest.approx([scale * gap for gap in cold.clearance_mm])
    assert warm.centre_mm == pytest.approx(scale * cold.centre_mm)
    assert warm.ratio == pytest.approx(contact(cold).ratio)


def test_the_contact_ratio_of_a_warm_pair_by_its_tips_and_base_circles():
    """Gears of 20 and 30 teeth, one warmer than the other, wide enough apart for the tips to end contact."""
    rises, by = (60, 20, 30), (PLASTIC, PLASTIC, STEEL)
    warm = warmed(pair(more=0.5), rises, by)
    base, tip, pitch = [], [], []
    for teeth, rise in ((20, 60), (30, 20)):
        module = 1 + rise * PLASTIC
        base.append(teeth * module * math.cos(math.radians(20)) / 2)
        tip.append((teeth + 2) * module / 2)
        pitch.append(math.pi * module * math.cos(math.radians(20)))
    reach = sum(math.sqrt(t**2 - b**2) for t, b in zip(tip, base, strict=True))
    length = reach - math.sqrt((25.5 * (1 + 30 * STEEL)) ** 2 - sum(base) ** 2)
    assert warm.ratio == pytest.approx(length / max(pitch)) and pitch[0] > pitch[1]


def test_gears_of_one_material_are_as_good_as_a_centre_that_shrinks():
    """Seen in the scale of the gears, warm gears in a cold plate are cold gears closer together."""
    for cold in (pair(), mesh(Gear(18, 1, ISO_53_A), ring_for(Gear(18, 1, ISO_53_A), 54), 17.9)):
        warm = warmed(cold, (30, 30, 30), (PLASTIC, PLASTIC, STEEL))
        grown = 1 + 30 * PLASTIC
        closer = mesh(cold.gear1, cold.gear2, warm.centre_mm / grown)
        assert warm.backlash_mm == pytest.approx(grown * closer.backlash_mm, abs=1e-12)
        assert warm.least_mm == pytest.approx(warm.backlash_mm, abs=1e-12)


@pytest.mark.parametrize("rises", [(40, 10, 0), (0, 60, 20)])
def test_the_order_of_the_gears_does_not_matter(rises):
    pinion = Gear(18, 1, ISO_53_A)
    for cold in (pair(), mesh(pinion, ring_for(pinion, 54), 17.9)):
        back = mesh(cold.gear2, cold.gear1, cold.centre_mm)
        warm = warmed(cold, rises, (PLASTIC, STEEL, STEEL))
        other = warmed(back, (rises[1], rises[0], rises[2]), (STEEL, PLASTIC, STEEL))
        assert other.least_mm == pytest.approx(warm.least_mm, abs=1e-9)
        assert other.clearance_mm == pytest.approx(warm.clearance_mm[::-1])


def lay(one, other, centre, angle1, angle2):
    """How deep the outlines of two gears overlap."""
    away = -centre if isinstance(other, Ring) else centre
    first = outline(one, 2e-4) @ [1, 1j] * np.exp(1j * angle1)
    second = outline(other, 2e-4) @ [1, 1j] * np.exp(1j * angle2) + away
    meet, deepest = one.reference_mm / 2, 0.0
    for points, line, wheel in ((first, second, other), (second, first, one)):
        near = points[abs(points - meet) < 3.5]
        shape = Path(np.stack([line.real, line.imag], axis=1))
        inside = shape.contains_points(np.stack([near.real, near.imag], axis=1))
        within = near[inside != isinstance(wheel, Ring)]
        deepest = max(deepest, distances(within, line).max(initial=0.0))
    return deepest


def free_play(one, other, centre, places):
    """Angle through which gear 2 can be turned by hand, at places spread over a pitch of gear 1."""
    for angle in 2 * math.pi / one.teeth * np.arange(places) / places:
        outside = one.inside == other.inside
        on = angle * one.teeth / other.teeth
        middle = math.pi / other.teeth + (math.pi - on if outside else on)
        assert lay(one, other, centre, angle, middle) < 3e-4
        ends = []
        for way in (-1, 1):
            free, stuck = 0.0, math.pi / other.teeth
            for _ in range(13):
                turn = (free + stuck) / 2
                overlap = lay(one, other, centre, angle, middle + way * turn)
                free, stuck = (turn, stuck) if overlap < 3e-4 else (free, turn)
            ends.append(free)
        yield sum(ends)


@pytest.mark.few(1)
@pytest.mark.slow
@pytest.mark.parametrize(
    ("cold", "expansions"),
    [
        (pair(more=0.25), (PLASTIC, STEEL, STEEL)),
        (pair(more=0.25), (STEEL, PLASTIC, STEEL)),
        (mesh(Gear(18, 1, ISO_53_A), ring_for(Gear(18, 1, ISO_53_A), 54), 17.8), (STEEL, PLASTIC, STEEL)),
    ],
)
def test_least_backlash_is_what_warm_outlines_leave(cold, expansions):
    rises = (100, 100, 100)
    warm = warmed(cold, rises, expansions)
    one, other = (
        replace(wheel, module_mm=1 + rise * by)
        for wheel, rise, by in zip((cold.gear1, cold.gear2), rises, expansions, strict=False)
    )
    radius = warm.centre_mm * other.teeth / abs(one.inside * one.teeth + other.inside * other.teeth)
    plays = [turn * radius for turn in free_play(one, other, warm.centre_mm, 4)]
    assert warm.backlash_mm - warm.least_mm > 0.01  # the outlines are finer than this
    assert warm.least_mm - 5e-4 < min(plays) < warm.least_mm + 6e-3


def test_least_backlash_in_the_worst_place():
    """As above, at the one place where the teeth stand worst: a tooth of gear 1 on the line of centres."""
    cold = pair(more=0.25)
    warm = warmed(cold, (100, 100, 100), (STEEL, PLASTIC, STEEL))
    one, other = Gear(20, 1 + 100 * STEEL, ISO_53_A), Gear(30, 1 + 100 * PLASTIC, ISO_53_A)
    (play,) = (turn * warm.centre_mm * 30 / 50 for turn in free_play(one, other, warm.centre_mm, 1))
    assert warm.least_mm - 5e-4 < play < warm.least_mm + 4e-3 < warm.backlash_mm - 0.03


@settings(max_examples=times(4, 25))
@given(st.floats(0.02, 0.12), st.floats(5e-5, 2e-4), st.floats(5e-5, 2e-4))
def test_the_rise_at_which_it_binds(more, by1, by2):
    cold = pair(more=more)
    rise = rise_to_bind_K(cold, (by1, by2, STEEL))
    if rise is None:
        assert not warmed(cold, (200, 200, 200), (by1, by2, STEEL)).binds
        return
    root = brentq(lambda each: warmed(cold, (each,) * 3, (by1, by2, STEEL)).least_mm, 0, 200)
    assert rise == pytest.approx(root, abs=1e-6)
    assert not warmed(cold, (rise - 0.01,) * 3, (by1, by2, STEEL)).binds
    assert warmed(cold, (rise + 0.01,) * 3, (by1, by2, STEEL)).binds


def test_gears_that_no_longer_go_between_their_shafts_have_bound_before():
    """At 200 K their base circles need more than the shafts give: still they bind at some rise before."""
    by = (4e-4, 4e-4, 1e-5)
    cold = mesh(Gear(20, 0.5, ISO_53_A), Gear(60, 0.5, ISO_53_A), 20.05)
    with pytest.raises(MechError, match="to touch on their flanks"):
        warmed(cold, (200,) * 3, by)
    root = brentq(lambda rise: warmed(cold, (rise,) * 3, by).least_mm, 0, 100)
    assert rise_to_bind_K(cold, by) == pytest.approx(root, abs=1e-6)


def test_a_ring_that_outgrows_its_pinion_does_not_bind():
    pinion = Gear(30, 1, ISO_53_A)
    cold = mesh(pinion, ring_for(pinion, 60), 14.3)
    with pytest.raises(MechError, match="to touch on their flanks"):
        warmed(cold, (200,) * 3, (0.0, 1e-4, 0.0))
    assert rise_to_bind_K(cold, (0.0, 1e-4, 0.0)) is None
    with pytest.raises(MechError, match="expansion_per_K of gear 2"):
        rise_to_bind_K(cold, (0.0, 1e-3, 0.0))


def test_roots_bind_too():
    """A long tip comes to the mate's root while the flanks still have room."""
    one, other = Gear(40, 1, ISO_53_A), Gear(60, 1, ISO_53_A, 0, 0.24)
    cold = mesh(thinned(one, 0.1), thinned(other, 0.1), 49.99)
    by = (PLASTIC, PLASTIC, STEEL)
    rise = rise_to_bind_K(cold, by)
    root = brentq(lambda each: warmed(cold, (each,) * 3, by).clearance_mm[1], 0, 200)
    assert rise == pytest.approx(root, abs=1e-6)
    warm = warmed(cold, (rise + 1,) * 3, by)
    assert warm.clearance_mm[1] < 0 < warm.least_mm and warm.binds


def test_sentences():
    cold = pair(more=0.1)
    warm = warmed(cold, (20, 20, 20), (PLASTIC, PLASTIC, STEEL))
    assert warm.sentence() == (
        f"At +20 K the least backlash goes from {cold.backlash_mm:.3f} mm to {warm.least_mm:.3f} mm."
    )
    unequal = warmed(cold, (50, 20, -10), (PLASTIC, PLASTIC, STEEL)).sentence()
    assert unequal.startswith("At +50 K, +20 K and −10 K (plate) the least backlash goes from ")
    assert (
        warmed(pair(more=0.01), (60, 60, 60), (PLASTIC, PLASTIC, STEEL))
        .sentence()
        .endswith(": the teeth bind.")
    )


def test_a_ring_that_outgrows_its_pinion():
    pinion = Gear(30, 1, ISO_53_A)
    cold = mesh(pinion, ring_for(pinion, 60), 14.3)
    with pytest.raises(MechError, match=r"warm, the centre distance is 14\.334 mm: these gears then need"):
        warmed(cold, (0, 200, 200), (STEEL, PLASTIC, STEEL))


@pytest.mark.parametrize(
    ("rise", "by", "said"),
    [
        ((40, 40), (0, 0, 0), "rise_K is"),
        (40, (0, 0, 0), "rise_K is 40: give three numbers"),
        ((40, 40, 201), (0, 0, 0), "rise_K of the plate is 201 K"),
        ((40, math.nan, 40), (0, 0, 0), "rise_K of gear 2 is nan"),
        ((40, 40, 40), (-1e-6, 0, 0), "expansion_per_K of gear 1 is -1e-06"),
        ((40, 40, 40), (0, 0, 1e-3), "expansion_per_K of the plate is 0.001"),
    ],
)
def test_bad_values(rise, by, said):
    with pytest.raises(MechError, match=said):
        warmed(pair(), rise, by)
