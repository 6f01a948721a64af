"""The gear to be made: its data sheet, and what the allowances do to the outline, measured on the polygon."""

import math

import numpy as np
import pytest
from polygon_measures import over_pins_of, radius_of, span_of

from mechlib.bench.gear_to_make import moved_in, to_make
from mechlib.errors import MechError
from mechlib.gears.materials import MATERIALS
from mechlib.gears.racks import FINE, ISO_53_A, STUB_20
from mechlib.gears.spur import Gear, Ring

GEARS = [Gear(24, 0.5, FINE, 0.1), Gear(17, 0.8, ISO_53_A, 0.3), Gear(41, 0.3, FINE, -0.2)]
ids = [f"{gear.teeth} teeth" for gear in GEARS]


@pytest.mark.parametrize("gear", GEARS, ids=ids)
def test_the_outline_reads_what_the_sheet_says(gear):
    made = to_make(gear, 1.0, 3.0)
    points = made.outline_mm()
    # the drawn sides are chords within the flanks: by 0.002 modules at most, on either side
    off = 0.005 * gear.module_mm
    assert span_of(points, gear.teeth, made.over) == pytest.approx(made.span_mm, abs=off)
    assert over_pins_of(points, gear.teeth, made.pin_mm) == pytest.approx(made.over_pins_mm, abs=4 * off)
    assert radius_of(points) == pytest.approx(gear.tip_mm / 2, abs=off)


@pytest.mark.parametrize("gear", GEARS, ids=ids)
@pytest.mark.parametrize(("scale", "inset"), [(2.2, 0.0), (0.0, 0.015), (0.0, -0.015), (1.5, 0.02)])
def test_allowances_change_the_span_by_just_so_much(gear, scale, inset):
    made = to_make(gear, 1.0, 3.0, scale_percent=scale, inset_mm=inset)
    wanted = made.span_mm * (1 + scale / 100) - 2 * inset
    assert span_of(made.outline_mm(), gear.teeth, made.over) == pytest.approx(
        wanted, abs=0.005 * gear.module_mm
    )
    assert made.drawn_bore_mm == pytest.approx(1.0 * (1 + scale / 100) + 2 * inset)
    shrunk = radius_of(made.outline_mm())
    assert shrunk == pytest.approx(gear.tip_mm / 2 * (1 + scale / 100) - inset, abs=0.01 * gear.module_mm)


@pytest.mark.parametrize("gear", GEARS, ids=ids)
@pytest.mark.parametrize("inset", [0.02, -0.015])
def test_no_side_of_a_moved_outline_turns_round(gear, inset):
    plain, moved = (to_make(gear, 1.0, 3.0, inset_mm=by).outline_mm() for by in (0.0, inset))
    before, after = np.diff(plain, axis=0), np.diff(moved, axis=0)
    assert ((before * after).sum(axis=1) > 0).all()
    assert (moved[0] == moved[-1]).all() and np.isfinite(moved).all()


def test_a_square_moved_in_is_a_smaller_square():
    square = np.array([(0, 0), (4, 0), (4, 4), (0, 4), (0, 0)], float)
    assert moved_in(square, -1).tolist() == [[-1, -1], [5, -1], [5, 5], [-1, 5], [-1, -1]]


def test_the_sheet_tells_all_that_is_needed():
    made = to_make(GEARS[0], 2.0, 3.0, "nylon", 1.5, 0.02, "Idler of the take-up side")
    cells = dict(made.table().rows)
    assert cells["teeth"] == "24" and cells["module"] == "0.5000 mm" and cells["basic rack"] == FINE.name
    assert cells["profile shift coefficient"] == "+0.1000" and cells["pressure angle"] == "20.0°"
    assert cells["shrinkage, drawn larger by"] == "1.50%" and cells["edges drawn in by"] == "0.020 mm"
    assert cells["material"] == "nylon" and cells["bore"] == "2.00 mm" and cells["width"] == "3.00 mm"
    assert cells[f"span over {made.over} teeth"] == f"{made.span_mm:.3f} mm"
    assert (
        made.text().startswith("Idler of the take-up side\nData sheet") and "qualified people" in made.text()
    )
    assert f"{made.over_pins_mm:.3f} mm over two pins of 0.86 mm" in made.sentence()


@pytest.mark.parametrize(
    "gear",
    [Gear(12, 0.5, FINE, 0.6), Gear(10, 1, ISO_53_A, 0.6), Gear(8, 0.5, FINE, -0.3), Gear(11, 1, FINE)],
)
def test_what_the_sheet_says_can_be_read(gear):
    """On the polygon: jaws and anvils rest on what they shall rest on, not on tips or in the fillets."""
    made = to_make(gear, 0.3, 3.0)
    points, off = made.outline_mm(), 0.005 * gear.module_mm
    assert over_pins_of(points, gear.teeth, made.pin_mm) == pytest.approx(made.over_pins_mm, abs=4 * off)
    tips = points @ [1, 1j]
    across = abs(tips[:, None] - tips[None, :]).max()
    assert made.over_pins_mm > across + 2 * 0.05 * gear.module_mm - off
    assert made.over >= 2 and f"over {made.over} teeth" in made.sentence()
    touched = math.hypot(gear.base_mm, made.span_mm)
    assert gear.form_mm < touched < gear.tip_mm
    if touched > (gear.root_mm + gear.tip_mm) / 2:  # so deep go the jaws of the polygon's caliper
        assert span_of(points, gear.teeth, made.over) == pytest.approx(made.span_mm, abs=off)


def test_what_cannot_be_read_is_left_out():
    low = to_make(Gear(8, 0.5, STUB_20, -0.5), 0.3, 3)
    assert low.over is None and low.span_mm is None
    assert "span" not in low.text() and "over two pins of 1.00 mm" in low.text()
    assert low.sentence().endswith("4.30 mm across its tips and 5.225 mm over two pins of 1.00 mm.")


def test_for_a_timed_place_it_says_that_flat_and_mark_are_missing():
    plain, timed = (to_make(GEARS[0], 2.0, 3.0, timed=place) for place in (False, True))
    assert "no flat and no mark" in timed.text() and "no mark" not in plain.text()
    assert timed.cautions[1:] == plain.cautions


@pytest.mark.parametrize("name", MATERIALS)
def test_the_sheet_of_a_plastic_gear_keeps_it_from_the_laser(name):
    plastic = name not in ("brass", "steel", "aluminium")
    for timed in (False, True):
        told = to_make(GEARS[0], 2.0, 3.0, name, timed=timed).text()
        assert (f"Never put {name} under a laser" in told) == plastic and told.count(" laser") == plastic


def test_an_odd_count_says_what_a_caliper_reads_of_it():
    for gear in GEARS:
        made, tips = to_make(gear, 1.0, 3.0), to_make(gear, 1.0, 3.0).finished_mm() @ [1, 1j]
        read = abs(tips[:, None] - tips[None, :]).max()
        assert f"{read:.2f} mm across its tips" in made.sentence()
        cells = dict(made.table().rows)
        assert (
            ("across the tips, at most" in cells)
            == ("outside, but" in made.sentence())
            == (gear.teeth % 2 == 1)
        )
        if gear.teeth % 2:
            assert float(cells["across the tips, at most"].split()[0]) == pytest.approx(read, abs=0.002)
            assert cells["outside diameter"] == f"{gear.tip_mm:.3f} mm"


def test_widths_and_pins_have_their_limits():
    assert to_make(GEARS[0], 2, 0.1).width_mm == 0.1 and to_make(GEARS[0], 0.1, 200).bore_mm == 0.1
    assert [to_make(gear, 1, 3).pin_mm for gear in GEARS] == [0.86, 1.38, 0.52]  # 1.728 modules


def test_the_usual_shrinkage_may_be_drawn():
    shrinks = [one.shrinkage_percent for one in MATERIALS.values() if one.shrinkage_percent]
    for percent in shrinks:
        assert to_make(GEARS[0], 2, 3, scale_percent=percent).factor == 1 + percent / 100


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: to_make(Ring(60, 1, ISO_53_A, cutter_teeth=30), 2, 3), "outside gears"),
        (lambda: to_make(GEARS[0], 9.3, 3), "bore_mm"),
        (lambda: to_make(GEARS[0], 2, 0), "width_mm"),
        (lambda: to_make(GEARS[0], 2, 3, "cheese"), "material"),
        (lambda: to_make(GEARS[0], 2, 3, scale_percent=11), "scale_percent"),
        (lambda: to_make(GEARS[0], 2, 3, inset_mm=0.1), "inset_mm"),
        (lambda: to_make(GEARS[0], 2, 3, inset_mm=-0.06), "inset_mm"),
        (lambda: to_make(GEARS[0], 2, 3, inset_mm=math.nan), "inset_mm"),
    ],
)
def test_what_cannot_be_made_is_refused(call, words):
    with pytest.raises(MechError, match=words):
        call()
