"""The panel of a change against its motor: ends, corners and random points, its list, and what can't be."""

import random
from html import unescape

import pytest
from share import times
from small_machine import EVEN_BELT, driven, small, spring

from mechlib.bench.effort_trial import effort_ranges
from mechlib.bench.effort_trial import effort_trial as compute
from mechlib.errors import MechError
from mechlib.panels.effort import effort_trial
from mechlib.transports import load

ALDER = load("alder")
RANGES = effort_ranges(ALDER)
DEFAULTS = {name: control.default for name, control in RANGES.items()}
ENDS = {name: (control.positions()[0], control.positions()[-1]) for name, control in RANGES.items()}


@pytest.fixture(scope="module")
def panel():
    return effort_trial("alder")


def check(panel, **values):
    """Put the values; the panel must tell what the library finds, or refuse and keep its frame."""
    values, before = DEFAULTS | values, bytes(panel.image.value)
    for name, value in values.items():
        panel.controls[name].value = value
    assert panel.error is None
    page = panel.children[-2].value
    listed = unescape(page[page.index(">") + 1 : page.index("</pre>")])
    assert panel.text == panel.image.tooltip == repr(panel) and "nan" not in panel.text + listed
    if values["start"] == values["target"]:
        assert panel.text.endswith("the motor doesn't turn: choose another start or target")
        return
    found = compute(ALDER, **values)
    assert panel.text == found.sentence() and listed == panel.listed == found.table()
    assert panel.text.startswith(found.change.sentence()) and before


def test_the_controls(panel):
    told = {name: (each.description, each.value) for name, each in effort_trial("alder").controls.items()}
    assert told == {
        "start": ("start from", "EJECT"),
        "target": ("ask for", "SLOW"),
        "voltage_V": ("supply at the motor (V)", 12),
        "grown_percent": ("belt has grown longer by (%)", 0),
        "friction_percent": ("friction that the belt has left (%)", 100),
        "motor_percent": ("torque that the motor has left (%)", 100),
        "greased": ("hard grease on", "main cam"),
        "grease_Nmm": ("hard grease asks (N·mm)", 0),
        "stiff": ("stiff lever", "pinch lever"),
        "stiff_N": ("stiff lever asks (N)", 0),
    }


def test_both_ends_of_every_control(panel):
    for name, ends in ENDS.items():
        for end in ends:
            check(panel, **{name: end})


def test_corners_and_random_points(panel):
    stream = random.Random(7)
    for _ in range(times(2, 5)):
        check(panel, **{name: stream.choice(ends) for name, ends in ENDS.items()})
    for _ in range(times(2, 5)):
        check(panel, **{name: stream.choice(each.positions()) for name, each in RANGES.items()})
    check(panel)


def test_the_same_mode_twice_leaves_the_picture(panel):
    check(panel, start="PLAY", target="STOP")
    before, listed = bytes(panel.image.value), panel.listed
    panel.controls["target"].value = "PLAY"
    assert bytes(panel.image.value) == before and panel.listed == listed
    assert panel.text == "from PLAY to PLAY the motor doesn't turn: choose another start or target"
    check(panel)


def test_one_more_slack_stops_it_at_the_pinch_lever(panel):
    """The belt is let out until the change fails: at the steep of the pinch lever, as the load is there."""
    check(panel, start="EJECT", target="PLAY", grown_percent=1.5)
    assert ": reached, " in panel.text
    check(panel, start="EJECT", target="PLAY", grown_percent=1.7)
    assert ": jammed, " in panel.text and "most of it from the pinch lever" in panel.text


@pytest.mark.parametrize("belt", [None, EVEN_BELT])
def test_other_machines(belt):
    panel = effort_trial(driven(lever=spring(30), belt=belt), start="IN", target="HALF")
    assert ("grown_percent" in panel.controls) == (belt is not None)
    panel.controls["stiff_N"].value = panel.ranges["stiff_N"].high
    assert panel.error is None and "most of it by the lever" in panel.text


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"start": "SLOW"}, "doesn't turn"),
        ({"voltage_V": 12.1}, "voltage_V is 12.1 V"),
        ({"stiff": "arm"}, "stiff is 'arm'"),
        ({"belt": 1}, "belt can't be set here"),
    ],
)
def test_what_it_cannot_start_with(given, said):
    with pytest.raises(MechError, match=said):
        effort_trial("alder", **given)


def test_a_machine_without_motor():
    with pytest.raises(MechError, match="Small gives no motor"):
        effort_trial(small())


def test_the_list_is_reached_from_the_keyboard(panel):
    page = panel.children[-2].value
    assert 'tabindex="0"' in page and "height: 24em" in page and "monospace" in page


def test_the_picture_can_be_saved(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = effort_trial("alder", target="PLAY", grown_percent=2.0)
    panel.file_name.value = "effort.svg"
    panel.save_button.click()
    saved = (tmp_path / "effort.svg").read_text(encoding="utf-8")
    assert panel.error is None and "the belt slips at" in saved
