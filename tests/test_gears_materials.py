"""The table of materials: every value has a source, and stands in the order that everybody knows."""

import pytest

from mechlib.errors import MechError
from mechlib.gears.materials import CAUTION, MATERIALS, material, usual_name


def test_every_material_says_where_its_values_are_from():
    for name, one in MATERIALS.items():
        assert one.name == name and "expansion: " in one.source and "strength: " in one.source
        assert ("shrinkage: " in one.source) == (one.shrinkage_percent is not None)
        assert 5e-6 < one.expansion_per_K < 2e-4 and 10 < one.bending_MPa < 200
        assert one.sentence().endswith(f"MPa. {CAUTION}")


def test_plastics_grow_more_than_metals_and_shrink_in_the_mould():
    plastics = [one for one in MATERIALS.values() if one.shrinkage_percent is not None]
    metals = [one for one in MATERIALS.values() if one.shrinkage_percent is None]
    assert {one.name for one in metals} == {"brass", "steel", "aluminium"}
    assert min(p.expansion_per_K for p in plastics) > 3 * max(m.expansion_per_K for m in metals)


def test_no_plastic_goes_under_a_laser_and_acetal_burns_unseen():
    for name, one in MATERIALS.items():
        words = " ".join(one.cautions)
        assert (f"Never put {name} under a laser" in words) == (one.shrinkage_percent is not None)
        assert ("hard to see" in words) == (name == "acetal")


def test_stress_in_psi_is_told_in_MPa():
    # 1 psi = 4.4482216 N over a square inch
    assert material("acetal").bending_MPa == pytest.approx(5000 * 4.4482216152605 / 25.4**2)
    assert material("acetal").expansion_per_K == 106.5e-6


def test_names_are_found_in_any_letters_and_by_their_short_forms():
    assert material(" ABS ").name == material("abs").name == "ABS"
    assert usual_name("PA 66") == usual_name("pa6") == "nylon" and usual_name("zinc ") == "zinc"
    for wrong in ("zinc", "", None, 3):
        with pytest.raises(MechError, match="acetal, nylon"):
            material(wrong)
