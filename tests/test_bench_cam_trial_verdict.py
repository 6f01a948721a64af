"""What a tried cam is said to be worth, at each limit, and which settings are let in."""

import math
from dataclasses import replace

import numpy as np
import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st

from mechlib.bench.cam_trial import CONTROLS, FLAT, FOLLOWERS, ON_LEVER, ON_SLIDE, cam_trial
from mechlib.cams import LAWS
from mechlib.errors import MechError

DEFAULTS = {"law_name": "3-4-5", "kind": ON_SLIDE, "rise_mm": 8.0, "move_deg": 80, "dwell_deg": 40,
            "base_mm": 18.0, "roller_mm": 5.0, "offset_mm": 0.0, "angle_deg": 70}  # fmt: skip


def trial(**values):
    return cam_trial(**DEFAULTS | values)


def one_way(limit):
    then = f"turned back, the fall is a rise, and it would bind (limit {limit:.0f}°, common practice)."
    return f"It can be made and runs, but one way only: {then}"


@pytest.mark.parametrize(("kind", "limit"), [(ON_SLIDE, 30.0), (ON_LEVER, 45.0)])
def test_the_limit_of_the_pressure_angle_is_let_in_and_more_binds(kind, limit):
    """30° on a slide, 45° on a lever: common practice, no source."""
    one, runs = trial(kind=kind), "It can be made and runs."
    binds = f"The follower will bind: keep the pressure angle within {limit:.0f}° (common practice)."
    beyond = math.nextafter(limit, 90)
    assert one.usual_deg == limit
    for rise, fall, wanted in (
        (limit, 0.0, runs), (beyond, 0.0, binds), (0.0, limit, runs), (0.0, beyond, one_way(limit)),
        (limit, limit, runs), (5.0, beyond, one_way(limit)), (beyond, 5.0, binds), (beyond, beyond, binds),
    ):  # fmt: skip
        assert replace(one, leans_deg=(rise, fall)).verdict() == wanted


@pytest.mark.parametrize("offset", [8.0, 0.0, -8.0])
def test_the_push_leans_on_the_rise_as_the_offset_has_it_and_on_the_fall_the_other_way_round(offset):
    """tan α = (s′ − e)/(√(R0² − e²) + s) of a 3-4-5 move of 10 mm in 60°, R0 = 20 + 5 mm; a fine grid."""
    x = np.linspace(0, 1, 100_001)
    lift = 10 * (10 * x**3 - 15 * x**4 + 6 * x**5)
    slope = 10 * 30 * (x - x * x) ** 2 / math.radians(60)
    over = math.sqrt(25**2 - offset**2) + lift
    wanted = [np.degrees(np.arctan(abs(sign * slope - offset) / over)).max() for sign in (1, -1)]
    one = trial(rise_mm=10.0, move_deg=60, base_mm=20.0, offset_mm=offset)
    assert one.leans_deg == pytest.approx(wanted, abs=1e-6)
    assert max(one.leans_deg) == pytest.approx(abs(one.shape.pressure.value), abs=1e-9)
    if offset == 8.0:  # 42.6° on the fall
        assert one.leans_deg == pytest.approx((19.18, 42.65), abs=0.01) and one.verdict() == one_way(30)
    else:
        assert "The follower will bind" in one.verdict()


def test_a_cam_that_binds_by_the_tangent():
    """Half-way up a cycloidal move s′ = 2h/B: tan α = s′/(R0 + h/2), near its largest on a large cam."""
    for base, word in ((13.0, "bind"), (18.5, "runs")):
        one = trial(law_name="cycloidal", rise_mm=8.0, move_deg=60, base_mm=base)
        slope = 2 * 8 / math.radians(60)
        half_way = math.degrees(math.atan(slope / (base + 5 + 4)))
        assert abs(one.shape.pressure.value) >= half_way and word in one.verdict()
        assert (half_way > 30) == (word == "bind")


def test_what_cannot_be_made():
    undercut = trial(move_deg=20, rise_mm=20.0, base_mm=8.0, roller_mm=10.0)
    assert undercut.shape.undercut
    advice = "a larger base circle, a smaller roller, a longer move or less lift."
    assert undercut.verdict() == f"It can't be made so: take {advice}"
    crossing = replace(trial(), shape=replace(trial().shape, overlap_mm=0.5))
    assert crossing.shape.crosses and crossing.verdict() == undercut.verdict()
    flat = trial(kind=FLAT, move_deg=20, rise_mm=20.0, base_mm=8.0)
    assert flat.shape.undercut and "roller" not in flat.verdict()
    assert flat.verdict() == "It can't be made so: take a larger base circle, a longer move or less lift."


def test_a_cam_that_reaches_the_levers_pivot():
    said = "It can't be made so: the cam reaches the lever's pivot; take a smaller base circle or less lift."
    assert trial(kind=ON_LEVER, base_mm=40.0, rise_mm=12.0).verdict() == said
    one = trial(kind=ON_LEVER)
    rim = float(np.max(np.hypot(*one.outline.outline.T)))
    for pivot, wanted in ((rim, said), (math.nextafter(rim, 99), "It can be made and runs.")):
        assert replace(one, at=replace(one.at, pivot=(pivot, 0.0))).verdict() == wanted
    assert (
        trial(kind=ON_SLIDE, base_mm=40.0, rise_mm=20.0, move_deg=120).verdict() == "It can be made and runs."
    )


@pytest.mark.parametrize("kind", FOLLOWERS)
def test_a_law_that_steps_in_velocity_knocks_whatever_else(kind):
    for base in (8.0, 18.0, 40.0):
        told = trial(law_name="constant velocity", kind=kind, base_mm=base).verdict()
        assert told == "It knocks where the moves start and end: take a law whose velocity doesn't step."
    assert "knocks" not in trial(law_name="constant acceleration", kind=kind).verdict()


def test_the_sentence_tells_all():
    one = trial()
    parts = (one.at.sentence(), one.peaks(), one.shape.sentence(), one.verdict())
    assert one.sentence() == " ".join(parts)
    assert one.sentence().startswith("At 70.0° of the cam the lift is 2.20 mm")


POSITIONS = {name: control.positions() for name, control in CONTROLS.items()}


@given(st.fixed_dictionaries({name: st.sampled_from(each) for name, each in POSITIONS.items()}))
def test_any_setting_is_finite_or_refused(values):
    fits = values["kind"] != ON_SLIDE or abs(values["offset_mm"]) < values["base_mm"] + values["roller_mm"]
    if not fits:
        with pytest.raises(MechError, match="it must be less than base \\+ roller"):
            cam_trial(**values)
        return
    one = cam_trial(**values)
    for numbers in (
        *one.motions.rows,
        one.motions.pressure_deg,
        one.outline.outline,
        one.values,
        one.at.trace,
    ):
        assert np.all(np.isfinite(numbers))
    assert "nan" not in one.sentence() and "inf" not in one.sentence()
    assert np.max(abs(one.motions.pressure_deg)) < 90


def test_the_ranges():
    assert {name: each.default for name, each in CONTROLS.items()} == DEFAULTS
    ends = {name: (each.low, each.high, each.step, each.unit) for name, each in list(CONTROLS.items())[2:]}
    assert ends == {
        "rise_mm": (1, 20, 0.5, "mm"), "move_deg": (20, 120, 1, "°"), "dwell_deg": (5, 60, 1, "°"),
        "base_mm": (8, 40, 0.5, "mm"), "roller_mm": (1, 10, 0.5, "mm"), "offset_mm": (-12, 12, 0.5, "mm"),
        "angle_deg": (0, 360, 1, "°"),
    }  # fmt: skip
    assert CONTROLS["law_name"].options == tuple(LAWS) and CONTROLS["kind"].options == FOLLOWERS
    for name, (low, high, step, _) in ends.items():
        check_edges(lambda value, name=name: trial(**{name: value}), low, high, whole=step == 1)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"law_name": "cubic"}, "law_name is 'cubic': it must be one of: constant velocity"),
        ({"kind": "mushroom"}, "kind is 'mushroom': it must be one of: roller on a slide"),
        ({"rise_mm": math.nan}, "rise_mm is nan"),
        ({"move_deg": 45.5}, "move_deg is 45.5: it must be a whole number"),
        ({"base_mm": 8.0, "roller_mm": 4.0, "offset_mm": -12.0}, "it must be less than base"),
        ({"base_mm": 8.0, "roller_mm": 4.0, "offset_mm": 12.0}, "it must be less than base"),
    ],
)
def test_what_is_refused(values, said):
    with pytest.raises(MechError, match=said):
        trial(**values)
    assert trial(base_mm=8.0, roller_mm=4.5, offset_mm=12.0).at.trace[0] == 12
    for kind in (ON_LEVER, FLAT):  # the offset means nothing to them
        plain = trial(kind=kind, base_mm=8.0, roller_mm=4.0)
        assert trial(kind=kind, base_mm=8.0, roller_mm=4.0, offset_mm=12.0).at == plain.at
