"""Assembly: planets put in tooth by tooth, circles sampled for room, and tooth counts found by trying all."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.errors import MechError
from mechlib.gears import (
    Central,
    Driven,
    Held,
    PlanetarySet,
    assembly,
    double_pinion_set,
    gear_pair,
    simple_set,
    spacing_step_deg,
    speeds,
    stepped_set,
    tooth_counts,
)
from mechlib.gears.planetary_fit import tip_mm

THREE_IN_A_ROW = PlanetarySet("set", Central("a", 20), "c", Central("b", 90, True), ((12, 12),) * 3)
SUN_IN = ("first", "carrier", "second")


def fits_at(one, turn):
    """Whether planets as they stand at 0 also fit at ``turn`` (a part of a turn), trying every tooth of each.

    A planet carried to ``turn`` may then turn on its pin by any number of teeth of its first wheel, as long
    as the tooth phases at all its meshes (with external mates their sum, with rings their difference) are
    whole numbers away from those at 0.
    """

    def spins(driver_phase, near, external):
        """Turns of a planet wheel on its pin that suit a driver whose teeth moved by this phase there."""
        phase = -driver_phase if external else driver_phase
        return [(tooth + phase) / Fraction(near) for tooth in range(near)]

    # Seen from the arm a central wheel has turned back by ``turn``: its tooth phase at the mesh moved.
    phases = [-turn * one.first.teeth]
    internal = one.first.internal
    for near, far in one.planets:
        phases = [spin * far for phase in phases for spin in spins(phase, near, not internal)]
        internal = False
    second = -turn * one.second.teeth
    sign = -1 if one.second.internal else 1
    return any((second + sign * phase).denominator == 1 for phase in phases)


@settings(max_examples=times(8, 60))
@given(st.integers(8, 14), st.integers(8, 14), st.integers(8, 14), st.integers(22, 40), st.integers(0, 3))
def test_planets_go_in_at_every_step_and_nowhere_else(a, b, c, ring, kind):
    one = (
        simple_set(a, b, ring),
        double_pinion_set(a, b, c, ring),
        stepped_set(a, b, c, ring),
        stepped_set(a, b, c, ring - 14, internal=(False, False)),
    )[kind]
    if one.basic_ratio == 1:
        return
    step = spacing_step_deg(one) / 360
    inside = [Fraction(part, 7) * step for part in range(1, 7)]
    assert all(fits_at(one, n * step) for n in range(1, 6))
    assert not any(fits_at(one, part) for part in [*inside, step / 2, step / 3, 3 * step / 2])


@pytest.mark.parametrize("planets", range(1, 13))
def test_equal_spacing_is_the_rule_of_the_handbook(planets):
    assert assembly(simple_set(16, 16, 48), planets, 1).spaced == ((16 + 48) % planets == 0)
    assert assembly(double_pinion_set(20, 15, 16, 70), planets, 1).spaced == ((70 - 20) % planets == 0)
    timed = (65 * 30 + 20 * 15) % (planets * math.gcd(30, 15)) == 0
    assert assembly(stepped_set(20, 30, 15, 65), planets, 1).spaced == timed


def circle(centre, radius):
    angles = np.linspace(0, 2 * np.pi, 1500)
    return np.column_stack([centre[0] + radius * np.cos(angles), centre[1] + radius * np.sin(angles)])


def room(one_circle, other_centre, other_radius):
    """Least distance of sampled points of a circle from another one, from outside."""
    return min(np.hypot(*(one_circle - other_centre).T)) - other_radius


def at(radius, angle):
    return np.array([radius * math.cos(angle), radius * math.sin(angle)])


@pytest.mark.parametrize("planets", range(2, 9))
@pytest.mark.parametrize(
    "one, second_module", [(simple_set(16, 16, 48), None), (stepped_set(24, 30, 15, 40), 1.5)]
)
def test_room_between_neighbours(one, second_module, planets):
    first = 0.5
    second = second_module or first
    gaps = []
    for wheel, teeth, module in (
        (one.first, one.planets[0][0], first),
        (one.second, one.planets[0][1], second),
    ):
        arm = module * (wheel.teeth + (-teeth if wheel.internal else teeth)) / 2
        tip = module * (teeth + 2) / 2
        gaps.append(room(circle(at(arm, 0), tip), at(arm, 2 * math.pi / planets), tip))
    found = assembly(one, planets, first, second_module)
    assert found.gap_mm == pytest.approx(min(gaps), abs=1e-3)
    assert found.clears == (min(gaps) > 0)
    assert found.mismatch_mm == pytest.approx(
        second * (one.second.teeth - one.planets[0][1]) / 2
        - first * (one.first.teeth + one.planets[0][0]) / 2
    )


@pytest.mark.parametrize("teeth", [(20, 15, 16, 70), (20, 18, 14, 70), (14, 14, 14, 50), (30, 12, 13, 66)])
@pytest.mark.parametrize("planets", [1, 3, 4])
def test_room_around_meshed_pairs(teeth, planets):
    """Circles in mm, sampled: neighbours, the ring over the inner pinion, the sun under the outer."""
    sun, inner, outer, ring = teeth
    module = 0.8
    near, far = module * (sun + inner) / 2, module * (ring - outer) / 2
    leads = np.linspace(0, math.pi, 200001)
    apart = np.hypot(far * np.cos(leads) - near, far * np.sin(leads))
    lead = leads[np.argmin(np.abs(apart - module * (inner + outer) / 2))]
    tips = module * (inner / 2 + 1), module * (outer / 2 + 1)
    gaps = [module * (ring / 2 - 1) - near - tips[0], far - tips[1] - module * (sun / 2 + 1)]
    for turn in range(1, planets):
        for (r, a, tip), (s, b, other) in product([(near, 0, tips[0]), (far, lead, tips[1])], repeat=2):
            gaps.append(room(circle(at(r, a), tip), at(s, b + 2 * math.pi * turn / planets), other))
    assert assembly(double_pinion_set(*teeth), planets, module).gap_mm == pytest.approx(min(gaps), abs=2e-3)


def test_a_lone_planet_has_all_the_room_there_is():
    assert assembly(simple_set(16, 16, 48), 1, 1).gap_mm == math.inf


def all_simple(ratio, planets, largest, tolerance):
    """Teeth of all simple sets for ring held and sun in, by trying every number."""
    for sun, planet in product(range(12, largest), repeat=2):
        ring = sun + 2 * planet
        if ring > largest:
            continue
        got = sun / (sun + ring)
        spaced = (sun + ring) % planets == 0
        clear = (sun + planet) * math.sin(math.pi / planets) > planet + 2 or planets == 1
        if abs(got / ratio - 1) <= tolerance + 1e-12 and spaced and clear:
            yield sun, planet, ring


@pytest.mark.parametrize("ratio, tolerance", [(1 / 4, 0.0), (0.27, 0.03), (Fraction(2, 9), 0.001)])
@pytest.mark.parametrize("planets", [3, 4])
def test_simple_sets_are_those_found_by_trying_all(ratio, tolerance, planets):
    size = (90 + 2.5) * 0.5
    found = tooth_counts(ratio, SUN_IN, planets, 0.5, size, tolerance)
    assert {c.teeth for c in found} == set(all_simple(float(ratio), planets, 90, tolerance)) and found
    errors = [abs(c.error) for c in found]
    assert errors == sorted(errors) or max(errors) < 1e-9
    for candidate in found:
        assert (
            candidate.size_mm == pytest.approx((candidate.teeth[2] + 2.5) * 0.5) and candidate.size_mm <= size
        )
        turned = speeds(candidate.set, [Driven("sun", 1), Held("ring")])["carrier"]
        assert candidate.ratio == turned and candidate.error == pytest.approx(
            float(turned) / ratio - 1, abs=1e-12
        )


def test_stepped_sets_are_those_found_by_trying_all():
    wanted, largest = Fraction(1, 9), 62
    tried = set()
    for sun, near, far in product(range(12, largest), repeat=3):
        ring = sun + near + far
        if ring > largest or near == far or 1 / (1 + Fraction(near * ring, sun * far)) != wanted:
            continue
        spaced = (ring * near + sun * far) % (3 * math.gcd(near, far)) == 0
        if spaced and (sun + near) * math.sin(math.pi / 3) > max(near, far) + 2:
            tried.add((sun, near, far, ring))
    found = tooth_counts(wanted, SUN_IN, 3, 1.0, largest + 2.5, 0, "stepped")
    assert {c.teeth for c in found} == tried and tried
    assert found[0].sentence().startswith("Teeth ") and "ratio 1/9 (exact)" in found[0].sentence()


def test_double_pinions_have_the_most_room():
    found = tooth_counts(Fraction(-2, 5), SUN_IN, 3, 1.0, 60, 0, "double pinion")
    assert found
    for candidate in found:
        sun, *_, ring = candidate.teeth
        assert Fraction(ring, sun) == Fraction(7, 2) and (ring - sun) % 3 == 0
        for inner, outer in product(range(12, ring // 2), repeat=2):
            try:
                other = assembly(double_pinion_set(sun, inner, outer, ring), 3, 1.0)
            except MechError:
                continue
            assert other.gap_mm <= candidate.assembly.gap_mm + 1e-9
    (only,) = tooth_counts(Fraction(-2, 5), SUN_IN, 3, 1.0, 44.5, 0, "double pinion")
    assert only.teeth[0] == 12 and only.size_mm == 44.5  # as large as may be
    suns = {candidate.teeth[0] for candidate in found}
    assert 12 in suns and max(candidate.teeth[-1] for candidate in found) <= 57


def test_the_edges_of_what_fits():
    touching = stepped_set(34, 16, 16, 40, internal=(True, True))  # two planets whose tips just touch
    assert assembly(touching, 2, 1).gap_mm == 0 and not assembly(touching, 2, 1).clears
    at_edge = {c.teeth for c in tooth_counts(0.25, SUN_IN, 4, 1, 49, 0.125)}
    assert (18, 14, 46) in at_edge  # 9/32 is an eighth more than 1/4


def test_other_holds_and_least_teeth():
    found = tooth_counts(Fraction(4, 3), ("carrier", "second", "first"), 3, 1.0, 63, 0, least_teeth=18)
    assert {c.teeth for c in found} == {(18, 18, 54)}  # of z, z, 3z only this can carry three planets
    assert tooth_counts(0.5, SUN_IN, 3, 1.0, 60) == []  # a simple set can't: the ring would equal the sun


@pytest.mark.parametrize(
    "make, words",
    [
        (
            lambda: assembly(simple_set(16, 16, 48), 0, 1),
            "planets is 0: it must be a whole number from 1 to 24",
        ),
        (lambda: assembly(simple_set(16, 16, 48), 25, 1), "planets is 25"),
        (lambda: assembly("set", 3, 1), "a set is 'set'"),
        (lambda: assembly(simple_set(16, 16, 48), 3, 0.04), "module_mm is 0.04 mm"),
        (lambda: assembly(simple_set(16, 16, 48), 3, 1, 51), "second_module_mm is 51 mm"),
        (lambda: assembly(double_pinion_set(20, 15, 16, 70), 3, 1, 0.5), "a meshed pair of one module"),
        (lambda: assembly(THREE_IN_A_ROW, 3, 1), "at most a meshed pair"),
        (
            lambda: assembly(double_pinion_set(20, 10, 10, 70), 3, 1),
            "15.00 mm and 30.00 mm from the axis can't mesh",
        ),
        (lambda: spacing_step_deg(gear_pair(20, 40)), "pair has no planets"),
        (lambda: tooth_counts(0, SUN_IN, 3, 1, 60), "ratio is 0: the output must turn"),
        (lambda: tooth_counts(0.25, SUN_IN, 3, 1, 60, 0.3), "tolerance is 0.3"),
        (lambda: tooth_counts(0.25, SUN_IN, 3, 1, 0.5), "size_mm is 0.5 mm"),
        (lambda: tooth_counts(0.25, SUN_IN, 3, 1, 60, least_teeth=5), "least_teeth is 5"),
        (lambda: tooth_counts(0.25, SUN_IN, 3, 1, 60, kind="bevel"), "simple, double pinion and stepped"),
        (lambda: tooth_counts(0.25, ("sun", "carrier", "ring"), 3, 1, 60), "in some order"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


def test_sentences():
    assert assembly(simple_set(16, 16, 48), 3, 0.5).sentence() == (
        "3 planets can't be spaced equally (they fit every 5.625°) and clear each other by 4.86 mm, "
        "with tips of ISO 53 A."
    )
    assert assembly(simple_set(16, 16, 48), 8, 0.5).sentence() == (
        "8 planets can be spaced equally and would run into each other by 2.88 mm, with tips of ISO 53 A."
    )
    shifted = assembly(stepped_set(100, 20, 20, 99, internal=(False, False)), 3, 1)
    assert shifted.sentence().endswith("centre distances differ by 0.500 mm: profile shift is needed.")
    assert not shifted.fits and tip_mm(16, 0.5) == 4.5
    (near,) = tooth_counts(0.2499, SUN_IN, 4, 0.5, 20, 0.001)
    told = "Teeth 12, 12 and 36: ratio 1/4 (+0.040% off), 19.2 mm across, with teeth of ISO 53 A."
    assert near.sentence() == told
