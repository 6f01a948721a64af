"""The panel of a gear in the hand: ends, corners and random readings; the picture stays on its page."""

import random
from html import unescape

import pytest

from mechlib.bench.measured_gear import CONTROLS, measured_gear
from mechlib.errors import MechError
from mechlib.panels.measured_gear import gear_in_hand

ENDS = {name: (control.positions()[0], control.positions()[-1]) for name, control in CONTROLS.items()}
DEFAULTS = {name: control.default for name, control in CONTROLS.items()}


@pytest.fixture(scope="module")
def panel():
    return gear_in_hand()


def check(panel, **values):
    """Put the values; the panel must tell what the library finds, or refuse and keep its frame."""
    values = DEFAULTS | values
    for name, value in values.items():
        panel.controls[name].value = value
    assert panel.error is None
    page = panel.children[-2].value
    listed = unescape(page[page.index(">") + 1 : page.index("</pre>")])
    assert panel.text == panel.image.tooltip == repr(panel) and "nan" not in panel.text + listed
    try:
        found = measured_gear(**values)
    except MechError as refused:
        assert panel.text == str(refused)
        return
    assert panel.text == found.sentence() and listed == panel.listed == found.table()


def test_both_ends_of_every_control(panel):
    for name, ends in ENDS.items():
        for end in ends:
            check(panel, **{name: end})


def test_likely_and_unlikely_readings(panel):
    stream = random.Random(12)
    for _ in range(12):
        check(panel, **{name: stream.choice(each.positions()) for name, each in CONTROLS.items()})
    for teeth, module in ((20, 1.5), (40, 0.5), (12, 1.0)):
        check(panel, teeth=teeth, outside_mm=round((teeth + 2) * module, 2), pin_mm=round(1.7 * module, 2))
    check(panel)
