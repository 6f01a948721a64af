"""Shifts, tips and allowances of a pair: printed values, and what the pair then measures."""

import math

import numpy as np
import pytest
import sympy
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from share import times

from mechlib.errors import MechError
from mechlib.gears.measuring import span_mm
from mechlib.gears.racks import FINE, ISO_53_A, ISO_53_D, RACKS, STUB_20, BasicRack
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_mesh import mesh, ring_for, tight_centre_mm
from mechlib.gears.spur_outline import outline
from mechlib.gears.spur_shift import (
    allowance_backlash,
    centre_for_backlash,
    least_shift,
    most_shift,
    shift_sum,
    shortened,
    thinned,
    thinning_for,
)


def gear(teeth, shift=0.0, rack=ISO_53_A, tip=0.0):
    return Gear(teeth, 1, rack, shift, tip)


def test_sum_of_shifts_of_a_printed_pair():
    """G3: Elements of Metric Gear Technology, table 4-4; recomputed."""
    assert f"{shift_sum(12, 24, 3, ISO_53_A, 56.4999):.4f}" == "0.9600"


@settings(max_examples=times(8, 60))
@given(st.integers(10, 60), st.integers(10, 80), st.floats(-0.2, 0.6), st.floats(-0.2, 0.6))
def test_shifts_to_centre_and_back(z1, z2, x1, x2):
    try:
        one, other = gear(z1, x1, tip=-0.2), gear(z2, x2, tip=-0.2)
        centre = tight_centre_mm(one, other)
    except MechError:
        assume(False)
    assert shift_sum(z1, z2, 1, ISO_53_A, centre) == pytest.approx(x1 + x2, abs=1e-9)


@settings(max_examples=times(8, 60))
@given(st.integers(14, 40), st.integers(20, 60), st.floats(-0.2, 0.3), st.floats(0, 0.2), st.booleans())
def test_the_backlash_that_was_asked_for(z1, more, x1, backlash, internal):
    """The mesh measures it, by the widths of teeth at the working circles."""
    z2 = z1 + more if internal else 12 + more
    middle = (z2 - z1 if internal else z1 + z2) / 2
    for centre in (middle - 0.05, middle, middle + 0.05):
        rest = shift_sum(z1, z2, 1, ISO_53_A, centre, backlash, internal) - x1
        if internal:
            try:
                mate = Ring(z2, 1, ISO_53_A, rest, -0.4, z2 - 18)
            except MechError as refused:  # a small ring's cutter may be too small
                assume("lose its tips" not in str(refused))
                raise
        else:
            mate = gear(z2, rest, tip=-0.3)
        found = mesh(gear(z1, x1, tip=-0.3), mate, centre)
        assert found.backlash_mm == pytest.approx(backlash, abs=1e-9)


def test_undercut_begins_at_the_least_shift():
    for rack in RACKS.values():
        for teeth in (9, 12, 16, 20):
            least = least_shift(teeth, rack)
            tip = -0.5 if least > 0.3 else 0.0
            assert not Gear(teeth, 1, rack, least + 1e-9, tip).undercut
            assert Gear(teeth, 1, rack, least - 1e-9, tip).undercut
    # G6: no undercut from 17.10 teeth on where the straight flank goes down by one module; recomputed.
    rack = BasicRack("full depth", 20, 1.0, 1.0, 0.0, "invented")
    assert least_shift(17, rack) > 0 > least_shift(18, rack)
    assert 1 / (math.sin(rack.angle) ** 2 / 2) == pytest.approx(17.097, abs=5e-4)
    assert least_shift(12, rack) == pytest.approx(1 - 12 / 17.097, abs=1e-4)


@pytest.mark.parametrize("teeth", [8, 12, 20, 33])
@pytest.mark.parametrize("rack", [ISO_53_A, FINE, STUB_20])
def test_tips_are_pointed_from_the_most_shift_on(teeth, rack):
    most = most_shift(teeth, rack)
    if most == 1.5:
        assert rack is STUB_20 or teeth == 33
        Gear(teeth, 1, rack, 1.5)  # it isn't refused
        return
    nearly = Gear(teeth, 1, rack, most - 1e-6)
    assert 0 < nearly.thickness_mm(nearly.tip_mm) < 1e-4
    with pytest.raises(MechError, match="pointed"):
        Gear(teeth, 1, rack, most + 1e-6)
    wide = Gear(teeth, 1, rack, most_shift(teeth, rack, 0.25))
    half = outline(wide, 1e-4) @ [1, 1j]
    tips = abs(half) > wide.tip_mm / 2 - 1e-9
    chord = 2 * half[np.argmin(tips) - 1].imag  # at the last corner of the first tip
    assert chord == pytest.approx(0.25, abs=1e-3)  # the arc, but for its height


def test_no_gear_has_so_wide_a_tip():
    with pytest.raises(MechError, match=r"tip_thickness is 1\.5 modules: no gear of 8 teeth"):
        most_shift(8, ISO_53_A, 1.5)
    assert most_shift(2000, ISO_53_A) == 1.5


def test_shortened_tips_of_a_printed_pair():
    """G2: Elements of Metric Gear Technology, table 4-3; recomputed: y 0.83329, k = y − (x1 + x2)."""
    pair = Gear(12, 3, ISO_53_A, 0.6), Gear(24, 3, ISO_53_A, 0.36)
    centre = tight_centre_mm(*pair)
    assert f"{(centre - 54) / 3:.5f}" == "0.83329"
    cut = shortened(*pair, centre, 0.25)
    assert [f"{wheel.tip_mm:.3f}" for wheel in cut] == ["44.840", "79.400"]
    assert [wheel.tip_alteration for wheel in cut] == pytest.approx([0.83329 - 0.96] * 2, abs=5e-6)
    assert mesh(*cut, centre).clearance_mm == pytest.approx((0.75, 0.75))


@pytest.mark.parametrize(
    ("one", "other", "centre"),
    [
        (gear(20, 0.3), gear(30, 0.2), 25.55),
        (gear(18, 0.2), Ring(54, 1, ISO_53_A, 0.1, -0.2, 36), 17.5),
        (Ring(60, 1, ISO_53_D, 0.2, -0.1, 40), gear(30, rack=ISO_53_D), 14.6),
    ],
)
def test_shortening_leaves_the_clearance_and_never_lengthens(one, other, centre):
    for clearance in (0.1, 0.25, 0.45):
        short = shortened(one, other, centre, clearance)
        left = mesh(*short, centre).clearance_mm
        for before, after, gap in zip((one, other), short, left, strict=True):
            assert after.tip_alteration <= before.tip_alteration
            at_least = clearance - 1e-9
            assert gap >= at_least
            assert gap == pytest.approx(clearance) or after == before
    assert shortened(*short, centre, 0.45) == short


@pytest.mark.parametrize("wheel", [gear(30, 0.2), gear(17, 0.4, ISO_53_D)])
def test_a_thinned_gear_reads_smaller_over_its_span(wheel):
    """The span is smaller by A·cos α; the root is deeper by A/(2·tan α), as the cutter went in."""
    thin = thinned(wheel, 0.06)
    spans = [
        span_mm(each.teeth, 1, each.rack, 4, each.shift) - 0.06 * math.cos(wheel.rack.angle) * part
        for each, part in ((wheel, 1), (thin, 0))
    ]
    assert spans[0] == pytest.approx(spans[1], abs=1e-12)
    assert thin.tip_mm == pytest.approx(wheel.tip_mm, abs=1e-12)
    assert wheel.root_mm - thin.root_mm == pytest.approx(0.06 / math.tan(wheel.rack.angle))
    assert thinned(wheel, 0) == wheel


@pytest.mark.parametrize(
    ("one", "other", "centre"),
    [
        (gear(20), gear(30), 25.02),
        (gear(14, 0.4), gear(40, 0.1), 27.49),
        (gear(18), ring_for(gear(18), 54), 17.98),
    ],
)
def test_backlash_of_an_allowance(one, other, centre):
    before = mesh(one, other, centre)
    after = mesh(thinned(one, 0.03), thinned(other, 0.05), centre)
    circular, normal = allowance_backlash(0.08, ISO_53_A, before.working_angle_deg)
    assert after.backlash_mm - before.backlash_mm == pytest.approx(circular, abs=1e-9)
    assert after.normal_backlash_mm - before.normal_backlash_mm == pytest.approx(normal, abs=1e-9)
    assert thinning_for(normal, ISO_53_A) == pytest.approx(0.08, abs=1e-12)


@settings(max_examples=times(5, 40))
@given(st.integers(14, 40), st.integers(20, 60), st.floats(0, 0.15), st.booleans())
def test_centre_for_a_backlash(z1, more, backlash, internal):
    one = gear(z1, 0.1, tip=-0.2)
    other = Ring(z1 + more, 1, ISO_53_A, 0, -0.4, z1 + more - 18) if internal else gear(more, tip=-0.2)
    centre = centre_for_backlash(one, other, backlash)
    assert mesh(one, other, centre).backlash_mm == pytest.approx(backlash, abs=1e-9)
    assert (centre <= tight_centre_mm(one, other) + 1e-9) is internal or backlash < 1e-9


def test_backlash_of_a_wider_centre_to_first_order():
    """Elements of Metric Gear Technology, eq. 14-2 and 14-3: j_n = 2·Δa·sin α, j = 2·Δa·tan α (published)."""
    a, a0, alpha = sympy.symbols("a a_0 alpha", positive=True)
    working = sympy.acos(a0 * sympy.cos(alpha) / a)
    backlash = 2 * a * (sympy.tan(working) - working - sympy.tan(alpha) + alpha)
    slope = sympy.diff(backlash, a).subs(a, a0)
    assert float(slope.subs({alpha: 0.3, a0: 7})) == pytest.approx(2 * math.tan(0.3))
    assert float(slope.subs({alpha: 0.4, a0: 3})) == pytest.approx(2 * math.tan(0.4))
    one, other = gear(20), gear(30)
    wide = mesh(one, other, 25 + 1e-4)
    assert wide.backlash_mm / 1e-4 == pytest.approx(2 * math.tan(ISO_53_A.angle), rel=1e-3)
    assert wide.normal_backlash_mm / 1e-4 == pytest.approx(2 * math.sin(ISO_53_A.angle), rel=1e-3)
    assert f"{(centre_for_backlash(one, other, 1e-4) - 25) / 1e-4:.3f}" == "1.374"


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: shift_sum(12.5, 24, 3, ISO_53_A, 54), "teeth1 is 12.5"),
        (lambda: shift_sum(24, 24, 3, ISO_53_A, 54, internal=True), "teeth2 is 24: .* number from 25"),
        (lambda: shift_sum(12, 24, 0, ISO_53_A, 54), "module_mm is 0"),
        (lambda: shift_sum(12, 24, 3, ISO_53_A, 50), "it must be from 50.7434 to 101.487 mm"),
        (lambda: shift_sum(12, 24, 3, ISO_53_A, math.nan), "centre_mm is nan"),
        (lambda: shift_sum(12, 24, 3, ISO_53_A, 54, -0.1), "backlash_mm is -0.1"),
        (lambda: shift_sum(12, 24, 3, "ISO 53 A", 54), "rack is 'ISO 53 A'"),
        (lambda: least_shift(20, None), "rack is None"),
        (lambda: most_shift(20, None), "rack is None"),
        (lambda: thinning_for(0.1, None), "rack is None"),
        (lambda: allowance_backlash(0.1, None, 20), "rack is None"),
        (lambda: least_shift(5, ISO_53_A), "teeth is 5"),
        (lambda: most_shift(5, ISO_53_A), "teeth is 5"),
        (lambda: most_shift(20, ISO_53_A, -0.1), "tip_thickness is -0.1"),
        (lambda: shortened(gear(20), Gear(20, 2, ISO_53_A), 30, 0.2), "modules 1 and 2 mm"),
        (lambda: shortened(gear(20), gear(20), 20, 1.1), "clearance is 1.1"),
        (lambda: shortened(gear(20), gear(20), 18, 0.25), "tip_alteration is -2"),
        (lambda: thinned(gear(20), -0.1), "by_mm is -0.1"),
        (lambda: thinned(gear(12), 1.0), "12 teeth with shift -1.37|shift is -1.37"),
        (lambda: allowance_backlash(6, ISO_53_A, 20), "thinned_mm is 6"),
        (lambda: allowance_backlash(0.1, ISO_53_A, 61), "working_angle_deg is 61"),
        (lambda: thinning_for("0.1", ISO_53_A), "normal_backlash_mm is '0.1'"),
        (lambda: centre_for_backlash(gear(20), gear(20), -1), "backlash_mm is -1"),
        (lambda: centre_for_backlash(gear(20), ring_for(gear(20), 60), 0.6), "can have at most 0.56"),
    ],
)  # fmt: skip
def test_bad_values(call, said):
    with pytest.raises(MechError, match=said):
        call()
