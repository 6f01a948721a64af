"""What is said against a pair, and that each is said only where it is so."""

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from share import times

from mechlib.errors import MechError
from mechlib.gears.racks import ISO_53_A, ISO_53_D, RACKS
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_checks import findings
from mechlib.gears.spur_contact import contact, mesh_efficiency
from mechlib.gears.spur_heat import rise_to_bind_K, warmed
from mechlib.gears.spur_mesh import mesh, ring_for, tight_centre_mm


def gear(teeth, shift=0.0, tip=0.0, rack=ISO_53_A):
    return Gear(teeth, 1, rack, shift, tip)


def test_nothing_against_ordinary_pairs():
    assert findings(mesh(gear(20), gear(60), 40.05)) == ()
    assert findings(mesh(gear(18), ring_for(gear(18), 54), 17.95)) == ()
    assert findings(mesh(gear(12, 0.4), gear(24), 18.45)) == ()


def test_undercut_is_of_the_gear_that_has_it():
    said = findings(mesh(gear(24), gear(12), 18.05))
    assert said == (
        "Gear 2, a gear of 12 teeth, is undercut: its root is weak, and part of its flank is gone.",
    )


def test_narrow_tips():
    narrow = gear(12, 0.65)
    width = narrow.thickness_mm(narrow.tip_mm)
    assert findings(mesh(narrow, gear(40), 26.7))[0] == (
        f"Gear 1, a gear of 12 teeth, has narrow tips, {width:.3f} mm wide."
    )
    pair = mesh(narrow, gear(40), 26.7)
    assert any("narrow" in each for each in findings(pair, least_tip=width + 1e-6))
    assert not any("narrow" in each for each in findings(pair, least_tip=width - 1e-6))


def test_small_clearance_is_told_with_the_gear_whose_tips_are_long():
    pair = mesh(gear(20), gear(30, tip=0.25), 25.04)
    assert findings(pair) == (
        "The tips of a gear of 30 teeth clear the roots of a gear of 20 teeth by 0.040 mm.",
    )
    assert findings(pair, least_clearance=0.039) == ()


def test_limits_are_in_modules():
    one, other = Gear(20, 4, ISO_53_A), Gear(30, 4, ISO_53_A, 0, 0.2)
    pair = mesh(one, other, 100.0)
    assert findings(pair, least_clearance=0.049, least_backlash=0) == ()
    assert len(findings(pair, least_clearance=0.051, least_backlash=0)) == 1
    spare = mesh(one, Gear(30, 4, ISO_53_A), 100.1)
    share = spare.backlash_mm / 4
    assert findings(spare, least_backlash=share - 1e-6) == ()
    assert len(findings(spare, least_backlash=share + 1e-6)) == 1
    assert findings(mesh(gear(20), gear(60), 40.05), least_ratio=2.0)[-1].startswith(
        "The contact ratio is 1.6"
    )


def test_a_pair_without_backlash():
    tight = mesh(gear(20), gear(40), 30.0)
    assert findings(tight) == (
        "The backlash is 0.000 mm: a little warmer than the plate, or a little out of true, the teeth bind; "
        "rise_to_bind_K tells from how much warmer on.",
    )
    assert rise_to_bind_K(tight, (11e-5, 11e-5, 1.2e-5)) < 0.01  # so it is
    assert findings(mesh(gear(20), gear(40), 30.02))[0].startswith("The backlash is 0.015 mm")
    assert findings(mesh(gear(20), gear(40), 30.03)) == ()


def test_interference():
    pair = mesh(gear(16), Ring(48, 1, ISO_53_A, 0, 0, 30), 16.0)
    deep = contact(pair).dig_mm[0]
    assert (
        f"The tips of a ring of 48 teeth cut {deep:.3f} mm into the roots of a gear of 16 teeth."
        in findings(pair)
    )


def test_contact_ratio():
    rough = mesh(gear(12, rack=ISO_53_D), gear(12, rack=ISO_53_D), 12.1)
    ratio = contact(rough).ratio
    assert findings(rough)[-1] == f"The contact ratio is {ratio:.2f}: it runs roughly."
    assert findings(rough, least_ratio=ratio - 1e-6)[-1] != findings(rough)[-1]
    lost = mesh(gear(9, rack=ISO_53_D), gear(9, rack=ISO_53_D), 9.1)
    assert findings(lost)[-1].endswith(": teeth lose touch.")


@settings(max_examples=times(8, 60))
@given(
    st.integers(7, 60), st.integers(7, 120), st.floats(-0.4, 0.8), st.floats(-0.4, 0.8), st.floats(0, 2),
    st.sampled_from(list(RACKS.values())), st.floats(0.1, 3), st.booleans(),
)  # fmt: skip
def test_any_pair_that_meshes_is_judged(z1, z2, x1, x2, more, rack, module, internal):
    """Sane numbers and whole sentences, for every pair that isn't refused."""
    try:
        one = Gear(z1, module, rack, x1, -0.1)
        other = ring_for(one, z1 + z2) if internal else Gear(z2, module, rack, x2, -0.1)
        pair = mesh(one, other, tight_centre_mm(one, other) + more * module * (-0.1 if internal else 1))
    except MechError:
        assume(False)
    path = contact(pair)
    assert -1e-9 <= path.ratio <= max(path.blind_ratio, 0) + 1e-9
    assert all(0 <= deep < module for deep in path.dig_mm)
    assert all(said[0].isupper() and said.endswith(".") and "nan" not in said for said in findings(pair))
    warm = warmed(pair, (30, 30, 30), (1e-4, 1e-4, 2e-5))
    assert warm.least_mm <= warm.backlash_mm + 1e-9 and "nan" not in warm.sentence()
    if path.ratio >= 1:
        assert 0.5 < mesh_efficiency(pair, 0.3) < 1


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("least_ratio", 0.9),
        ("least_tip", -0.1),
        ("least_clearance", 1.1),
        ("least_tip", math.nan),
        ("least_backlash", 1.1),
    ],
)
def test_limits_out_of_range(name, wrong):
    with pytest.raises(MechError, match=name):
        findings(mesh(gear(20), gear(60), 40.05), **{name: wrong})
