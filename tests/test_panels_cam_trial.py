"""The panel of a cam: ends, corners and random points, what it says, and settings that don't fit."""

import itertools
import math
import random

import pytest
from share import share, times

from mechlib.bench.cam_trial import CONTROLS, FOLLOWERS, ON_SLIDE
from mechlib.bench.cam_trial import cam_trial as trial
from mechlib.errors import MechError
from mechlib.panels.cam_trial import cam_trial

DEFAULTS = {"law_name": "3-4-5", "kind": ON_SLIDE, "rise_mm": 8.0, "move_deg": 80, "dwell_deg": 40,
            "base_mm": 18.0, "roller_mm": 5.0, "offset_mm": 0.0, "angle_deg": 70}  # fmt: skip
SLIDERS = [name for name in CONTROLS if name not in ("law_name", "kind")]
ENDS = {name: (control.positions()[0], control.positions()[-1]) for name, control in CONTROLS.items()}


@pytest.fixture(scope="module")
def panel():
    return cam_trial()


def put(panel, **values):
    """Set every control (those not named to their defaults)."""
    for name, value in (DEFAULTS | values).items():
        panel.controls[name].value = value
    return panel


def check(panel, **values) -> bool:
    """Put the values; the panel must tell what the library finds, or refuse and keep its frame."""
    values = DEFAULTS | values
    put(panel, **values)
    assert panel.error is None
    assert panel.text == panel.image.tooltip == repr(panel) and "nan" not in panel.text
    fits = values["kind"] != ON_SLIDE or abs(values["offset_mm"]) < values["base_mm"] + values["roller_mm"]
    if not fits:
        prime = values["base_mm"] + values["roller_mm"]
        assert panel.text.endswith(f"it must be less than base + roller, {prime:g} mm")
        assert dict(panel.picture.values) != values
        return False
    assert panel.text == trial(**values).sentence() and dict(panel.picture.values) == values
    assert panel.image.value == panel.picture.frame()
    return True


def test_the_controls(panel):
    told = {name: (each.description, each.value) for name, each in cam_trial().controls.items()}
    assert told == {
        "law_name": ("law of the moves", "3-4-5"),
        "kind": ("follower", "roller on a slide"),
        "rise_mm": ("lift of the move (mm)", 8),
        "move_deg": ("length of each move (°)", 80),
        "dwell_deg": ("dwell between them (°)", 40),
        "base_mm": ("base circle, radius (mm)", 18),
        "roller_mm": ("roller, radius (mm)", 5),
        "offset_mm": ("slide beside the shaft (mm)", 0),
        "angle_deg": ("the cam has turned (°)", 70),
    }
    for name in SLIDERS:
        each = panel.controls[name]
        assert (each.min, each.max) == ENDS[name] and each.step == CONTROLS[name].step


@pytest.mark.few(4)
@pytest.mark.parametrize("name", SLIDERS)
def test_both_ends_of_every_slider_with_each_follower(panel, name):
    for kind, end in itertools.product(FOLLOWERS, ENDS[name]):
        assert check(panel, kind=kind, **{name: end})


def test_every_law_with_each_follower(panel):
    for law_name, kind in share(itertools.product(CONTROLS["law_name"].options, FOLLOWERS), 9):
        assert check(panel, law_name=law_name, kind=kind, angle_deg=137)


def test_corners(panel):
    dice, number = random.Random(2), times(8, 30)
    corners = dice.sample(list(itertools.product(*(ENDS[name] for name in SLIDERS))), number)
    shown = [
        check(panel, kind=FOLLOWERS[at % 3], law_name=dice.choice(CONTROLS["law_name"].options), **values)
        for at, values in enumerate(dict(zip(SLIDERS, corner, strict=True)) for corner in corners)
    ]
    assert 0.6 * number < sum(shown) < number


def test_random_points(panel):
    dice, number = random.Random(1), times(6, 24)
    points = [{name: dice.choice(each.positions()) for name, each in CONTROLS.items()} for _ in range(number)]
    assert sum(check(panel, **point) for point in points) > 0.8 * number


def test_what_does_not_fit_keeps_the_old_frame(panel):
    frame, sentence = put(panel, base_mm=8.0, roller_mm=4.5, offset_mm=12.0).image.value, panel.text
    panel.controls["roller_mm"].value = 4.0
    assert panel.text == "“slide beside the shaft” is 12 mm: it must be less than base + roller, 12 mm"
    assert panel.image.value == frame and panel.error is None
    panel.controls["angle_deg"].value = 200  # still it doesn't fit
    assert panel.image.value == frame
    panel.controls["angle_deg"].value = 70
    panel.controls["roller_mm"].value = 4.5
    assert panel.text == sentence and panel.image.value == frame


def test_each_control_that_counts_changes_the_picture(panel):
    others = {"law_name": "cycloidal", "kind": FOLLOWERS[1], "rise_mm": 8.5, "move_deg": 81, "dwell_deg": 41,
              "base_mm": 18.5, "roller_mm": 5.5, "offset_mm": 0.5, "angle_deg": 71}  # fmt: skip
    start = put(panel).image.value
    for name, value in others.items():
        assert put(panel, **{name: value}).image.value != start, name
    for kind, idle in ((FOLLOWERS[1], ["offset_mm"]), (FOLLOWERS[2], ["offset_mm", "roller_mm"])):
        same = put(panel, kind=kind).image.value
        for name, value in list(others.items())[2:]:
            assert (put(panel, kind=kind, **{name: value}).image.value == same) == (name in idle), name


def test_what_it_says(panel):
    assert "It can be made and runs." in put(panel).text
    assert "It knocks" in put(panel, law_name="constant velocity").text
    assert "The follower will bind" in put(panel, move_deg=55).text
    assert "the follower can't keep to its lift" in put(panel, move_deg=20, roller_mm=10.0).text
    assert (
        "the cam reaches the lever's pivot" in put(panel, kind=FOLLOWERS[1], base_mm=40.0, rise_mm=15.0).text
    )


def test_where_it_starts():
    panel = cam_trial(law_name="cycloidal", kind=FOLLOWERS[2], rise_mm=5.0, base_mm=30.0, angle_deg=80)
    assert panel.controls["base_mm"].value == 30 and panel.controls["move_deg"].value == 80
    assert panel.text.startswith("At 80.0° of the cam the lift is 2.50 mm and the pressure angle 0.0°.")


@pytest.mark.parametrize(
    "values",
    [{"rise_mm": 0.5}, {"move_deg": 121}, {"kind": "spring"}, {"law_name": "cubic"}, {"angle_deg": math.nan},
     {"base_mm": 8.0, "roller_mm": 4.0, "offset_mm": 12.0}, {"turn": 3}],
    ids=str,
)  # fmt: skip
def test_what_it_cannot_start_with(values):
    with pytest.raises(MechError):
        cam_trial(**values)


def test_the_picture_can_be_saved(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = cam_trial(kind=FOLLOWERS[1])
    for name in ("cam.png", "cam.svg"):
        panel.file_name.value = name
        panel.save_button.click()
        assert panel.error is None and (tmp_path / name).stat().st_size > 10_000
    assert "Peak factors of the 3-4-5 law" in (tmp_path / "cam.svg").read_text(encoding="utf-8")
