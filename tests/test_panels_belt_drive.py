"""The panel of a belt drive: ends, corners and random points, its table, and what can't be."""

import random

import pytest
from listed_panel import ends_of, put
from share import times

from mechlib.bench.belt_trial import CONTROLS, DEFAULTS, trial
from mechlib.errors import MechError
from mechlib.panels.belt_drive import belt_drive

ENDS = ends_of(CONTROLS)


@pytest.fixture(scope="module")
def panel():
    return belt_drive()


def check(panel, **values):
    """Put the values; the panel must tell what the library finds, or refuse and keep its frame."""
    values = DEFAULTS | values
    listed = put(panel, values)
    if values["centres_mm"] < (values["driver_mm"] + values["driven_mm"]) / 2 + values["thickness_mm"]:
        assert panel.text.startswith("“distance of the shafts” is ")
        assert panel.text.endswith("pulleys must not overlap")
        return
    found = trial(**values)
    assert panel.text == found.sentence() and listed == panel.listed == found.table()


def test_both_ends_of_every_control(panel):
    for name, ends in ENDS.items():
        for end in ends:
            check(panel, **{name: end})


def test_corners_and_random_points(panel):
    stream = random.Random(7)
    for _ in range(times(2, 20)):
        check(panel, **{name: stream.choice(ends) for name, ends in ENDS.items()})
    for _ in range(times(2, 20)):
        check(panel, **{name: stream.choice(each.positions()) for name, each in CONTROLS.items()})
    check(panel)


def test_pulleys_that_overlap_leave_the_picture(panel):
    check(panel, driven_mm=90.0)
    before = bytes(panel.image.value)
    check(panel, driven_mm=90.0, centres_mm=40.0)
    assert bytes(panel.image.value) == before
    check(panel)


def test_all_lines_are_seen_and_the_stock_list_is_called_invented(panel):
    check(panel)
    lines = panel.listed.splitlines()
    assert "An invented stock list, the best first:" in lines
    assert 1.4 * len(lines) + 0.8 <= float(panel.height.removesuffix("em"))  # lines and the frame's padding


def test_starts():
    assert belt_drive(inside_mm=300.0).text == trial(**DEFAULTS | {"inside_mm": 300.0}).sentence()
    with pytest.raises(MechError, match="speed can't be set here"):
        belt_drive(speed=3)
    with pytest.raises(MechError, match="load_Nmm is 26"):
        belt_drive(load_Nmm=26)
    with pytest.raises(MechError, match="must not overlap"):
        belt_drive(centres_mm=40.0, driven_mm=90.0)
