"""The box for a ratio: what it shows is what the search finds, and what can't be is said."""

from fractions import Fraction
from html import unescape

import pytest
from test_panels_exercise import acted_before_it_is_typed, press_enter

from mechlib.errors import MechError
from mechlib.gears.ratios import trains_for
from mechlib.panels.ratios import ROWS, find_ratio


def test_it_shows_what_is_found():
    box = find_ratio()
    found = trains_for("191/23", 2, range(12, 121), 1e-4)
    assert box.found == found and repr(box) == box.text == found.sentence() and box.error is None
    assert unescape(box._table.value).split(">", 1)[1].removesuffix("</pre>") == found.table(ROWS)


def test_every_box_counts():
    box = find_ratio("1/6", 12, 72, 0, 1)
    assert box.found.total == 1
    box.controls["most"].value = "36"
    box.find_button.click()
    assert box.found.total == 0 and box._table.value == "" and box.text.startswith("No train")
    box.controls["stages"].value = 2
    box.find()
    assert box.found.total and all(train.ratio == Fraction(1, 6) for train in box.found.best)
    box.controls["hunting"].value, box.controls["off"].value = True, "1"
    box.find()
    assert box.found.best and all(train.hunts for train in box.found.best)
    box.controls["hunting"].value, box.controls["reverted"].value = False, True
    box.find()
    assert all(len({a + b for a, b in train.stages}) == 1 for train in box.found.best)
    for name, text in {"ratio": " 8,304 ", "off": "0,1 %", "least": "10"}.items():
        box.controls[name].value = text
    box.find()
    assert box.found.wanted == Fraction("8.304") and box.found.tolerance == 0.001 and box.error is None


@pytest.mark.parametrize(
    "name, text, why",
    [
        ("ratio", "", "191/23"), ("ratio", "0", "ratio"), ("ratio", "1/0", "ratio"), ("ratio", "x", "ratio"),
        ("ratio", "1e400", "1e-06 to 1e+06"), ("ratio", "1e30000000", "1e-06 to 1e+06"),
        ("least", "", "whole number"), ("least", "3", "4"), ("least", "9.5", "whole number"),
        ("most", "11", "at most 11"), ("most", "9999", "2000"), ("most", "600", "tooth counts"),
        ("off", "", "percent"), ("off", "50", "0.1"), ("off", "-1", "tolerance"),
    ],
)  # fmt: skip
def test_what_cant_be_is_said(name, text, why):
    box = find_ratio()
    box.controls[name].value = text
    box.find_button.click()
    assert why in box.text and box.found is None and box._table.value == "" and box.error is None


def test_three_stages_want_fewer_counts():
    box = find_ratio(stages=3)
    assert "give fewer tooth counts" in box.text and box.error is None
    with pytest.raises(MechError):
        find_ratio(stages=4)


@pytest.mark.parametrize(
    "act", [lambda box: press_enter(box.controls["least"]), lambda box: box.find_button.click()]
)
def test_enter_and_the_button_wait_for_what_was_typed_last(act):
    box = acted_before_it_is_typed(
        find_ratio,
        act,
        lambda box: setattr(box.controls["least"], "value", "60"),
        lambda box: box.found.total,
    )
    assert box.found == trains_for("191/23", 2, range(60, 121), 1e-4)
