"""The row that saves a gear to be made: what is in its files, and that it never writes over one."""

import re

import numpy as np
import pytest
from polygon_measures import over_pins_of, span_of
from test_panels_timing_card import here, said  # noqa: F401

from mechlib.bench.gear_to_make import to_make
from mechlib.draw.outline_file import dxf_text, svg_text
from mechlib.errors import MechError
from mechlib.gears.racks import FINE
from mechlib.gears.spur import Gear
from mechlib.panels.gear_to_make import make_gear

GEAR = Gear(18, 0.5, FINE, 0.1)


def test_it_tells_what_is_to_be_made():
    box = make_gear(GEAR, 2, 4)
    assert repr(box) == box.text == said(box.words) and box.error is None
    assert box.text.startswith(f"{box.gear.sentence()} Never put acetal under a laser: ")
    brass = make_gear(GEAR, 2, 4, "brass")
    assert brass.text == brass.gear.sentence()
    assert "The outline is drawn" not in box.text


@pytest.mark.parametrize(
    "scale, inset, percent, mm, told",
    [
        ("2,2", "0,02", 2.2, 0.02, "2.20% larger for shrinkage and with its edges further in by 0.020 mm."),
        ("0.6 %", "", 0.6, 0, "0.60% larger for shrinkage."),
        (" ", "−0,03 mm", 0, -0.03, "with its edges further out by 0.030 mm."),
    ],
)
def test_allowances_are_read_with_comma_or_point_and_told(scale, inset, percent, mm, told):
    box = make_gear(GEAR, 2, 4)
    box.scale.value, box.inset.value = scale, inset
    assert box.gear == to_make(GEAR, 2, 4, "acetal", percent, mm, box.title)
    assert f"{box.gear.sentence()} The outline is drawn {told} Never put" in said(box.words) == box.text


def test_the_usual_shrinkage_stands_beside_its_box():
    """2.2% for acetal and 1.5% for nylon, as the list says from which the materials are."""
    for made_of, words in (("acetal", "2.2%"), ("Nylon", "usual for nylon in a mould: 1.5%")):
        assert words in said(make_gear(GEAR, 2, 4, made_of).usual)
    assert said(make_gear(GEAR, 2, 4, "brass").usual) == "brass isn't moulded: 0"


def test_files_are_the_gears_and_none_is_written_over(here):  # noqa: F811
    box = make_gear(GEAR, 2, 4, name=" wheel ")
    for suffix, button in box.buttons.items():
        button.click()
        assert said(box.note) == f"Saved as wheel{suffix}." and box.error is None
    first = {path: path.read_bytes() for path in here.iterdir()}
    assert sorted(path.name for path in first) == ["wheel.dxf", "wheel.pdf", "wheel.svg"]
    assert (here / "wheel.svg").read_text() == svg_text(box.gear)
    assert (here / "wheel.dxf").read_text() == dxf_text(box.gear)
    box.scale.value = "1"
    for suffix, button in box.buttons.items():
        button.click()
        assert said(box.note) == f"Saved as wheel-2{suffix}."
    assert all(path.read_bytes() == content for path, content in first.items())
    assert (here / "wheel-2.svg").read_bytes() != first[here / "wheel.svg"]


def test_the_saved_outline_reads_as_the_sheet_says(here):  # noqa: F811
    box = make_gear(GEAR, 2, 4, name="wheel")
    box.buttons[".svg"].click()
    path = re.search(r'id="outline" d="M ([^Z]*) Z"', (here / "wheel.svg").read_text())[1]
    points = np.array([tuple(map(float, pair.split())) for pair in path.split(" L ")]) * (1, -1)
    points = np.vstack([points, points[:1]])
    assert span_of(points, 18, box.gear.over) == pytest.approx(box.gear.span_mm, abs=0.003)
    assert over_pins_of(points, 18, box.gear.pin_mm) == pytest.approx(box.gear.over_pins_mm, abs=0.006)


@pytest.mark.parametrize(
    "scale, inset, why",
    [
        ("11", "0", "“drawn larger, for shrinkage” is 11%: it must be from 0 to 10%"),
        ("0", "0.4", "“edges drawn in, for the printer's line” is 0.4 mm: for these tips"),
        ("0", "-0.4", "“edges drawn in, for the printer's line” is -0.4 mm"),
        ("some", "0", "drawn larger, for shrinkage: “some” is no number"),
        ("0", "0.1 %", "edges drawn in, for the printer's line: “0.1 %” is in another unit: here it is mm"),
        ("1.2.3", "0", "is no number"),
    ],
)
def test_what_cant_be_made_is_said_and_not_saved(here, scale, inset, why):  # noqa: F811
    box = make_gear(GEAR, 2, 4)
    box.scale.value, box.inset.value = scale, inset
    assert why in box.text
    box.buttons[".svg"].click()
    assert said(box.note).startswith("Not saved: ") and why in said(box.note) and box.error is None
    assert not list(here.iterdir())


def test_names_and_gears_that_cant_be(here):  # noqa: F811
    box = make_gear(GEAR, 2, 4, name="gone/wheel")
    for button in box.buttons.values():
        button.click()
        assert "no folder 'gone'" in said(box.note)
    box.name.value = "  "
    box.buttons[".svg"].click()
    assert said(box.note) == "Saved as gear.svg." and box.error is None
    with pytest.raises(MechError):
        make_gear(GEAR, 9, 4)
