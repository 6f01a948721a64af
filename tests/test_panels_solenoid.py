"""The panel of a solenoid: ends, corners and random points, its table, and what can't be."""

import random

import pytest
from listed_panel import ends_of, put
from share import times

from mechlib.bench.solenoid_trial import CONTROLS, DEFAULTS, trial
from mechlib.errors import MechError
from mechlib.panels.solenoid import solenoid

ENDS = ends_of(CONTROLS)


@pytest.fixture(scope="module")
def panel():
    return solenoid()


def check(panel, **values):
    """Put the values; the panel must tell what the library finds, or refuse and keep its frame."""
    values = DEFAULTS | values
    listed = put(panel, values)
    if not values["holding_C"] < values["rated_C"] < values["limit_C"]:
        assert panel.text.endswith("they must rise in this order")
        return
    found = trial(**values)
    assert panel.text == found.sentence()
    assert listed == panel.listed and listed.split() == found.table().split()
    assert max(map(len, listed.split("\n"))) <= 100


def test_both_ends_of_every_control(panel):
    for name, ends in ENDS.items():
        for end in ends:
            check(panel, **{name: end})


def test_corners_and_random_points(panel):
    stream = random.Random(8)
    for _ in range(times(2, 20)):
        check(panel, **{name: stream.choice(ends) for name, ends in ENDS.items()})
    for _ in range(times(2, 20)):
        check(panel, **{name: stream.choice(each.positions()) for name, each in CONTROLS.items()})
    check(panel)


def test_temperatures_that_do_not_rise_leave_the_picture(panel):
    check(panel, rated_C=100.0)
    before = bytes(panel.image.value)
    check(panel, rated_C=100.0, holding_C=100.0)
    assert bytes(panel.image.value) == before
    check(panel)


def test_the_advice_stands_below_every_picture(panel):
    check(panel, pull_s=9.0, pause_s=1.0)
    assert "Never bridge it" in panel.listed and "qualified people" in panel.listed
    check(panel)


def test_starts():
    assert solenoid(pull_s=9.0).text == trial(**DEFAULTS | {"pull_s": 9.0}).sentence()
    with pytest.raises(MechError, match="ohm can't be set here"):
        solenoid(ohm=3)
    with pytest.raises(MechError, match="must rise in this order"):
        solenoid(holding_C=120)
