"""The panel of a gear in the hand: ends, corners and random readings; the picture stays on its page."""

import random

import pytest
from listed_panel import ends_of, put
from share import times

from mechlib.bench.measured_gear import CONTROLS, measured_gear
from mechlib.errors import MechError
from mechlib.panels.measured_gear import gear_in_hand

ENDS = ends_of(CONTROLS)
DEFAULTS = {name: control.default for name, control in CONTROLS.items()}


@pytest.fixture(scope="module")
def panel():
    return gear_in_hand()


def check(panel, **values):
    """Put the values; the panel must tell what the library finds, or refuse and keep its frame."""
    values = DEFAULTS | values
    listed = put(panel, values)
    try:
        found = measured_gear(**values)
    except MechError as refused:
        assert "_mm" not in panel.text and panel.text.split(": ")[-1] == str(refused).split(": ")[-1]
        return
    assert panel.text == found.sentence() and listed == panel.listed == found.table()


def test_both_ends_of_every_control(panel):
    for name, ends in ENDS.items():
        for end in ends:
            check(panel, **{name: end})


def test_a_reading_that_none_can_be_is_told_in_words(panel):
    check(panel, span_mm=0.05)
    assert panel.text == "span is 0.05 mm: it must be from 0.1 to 500 mm"


def test_likely_and_unlikely_readings(panel):
    stream = random.Random(12)
    for _ in range(times(2, 12)):
        check(panel, **{name: stream.choice(each.positions()) for name, each in CONTROLS.items()})
    for teeth, module in ((20, 1.5), (40, 0.5), (12, 1.0)):
        check(panel, teeth=teeth, outside_mm=round((teeth + 2) * module, 2), pin_mm=round(1.7 * module, 2))
    check(panel)
