"""Trying a cam: curves by textbook shapes and sums, the outline by circles held against it."""

import math

import numpy as np
import pytest
from matplotlib.path import Path
from second_way_followers import flat_slide, sliding_roller, swinging_roller
from second_way_laws import ACCELERATION, lift_shape
from second_way_teeth import distances

from mechlib.bench.cam_trial import FLAT, ON_LEVER, ON_SLIDE, cam_trial, law_table
from mechlib.cams import LAWS

DEFAULTS = {"law_name": "3-4-5", "kind": ON_SLIDE, "rise_mm": 8.0, "move_deg": 80, "dwell_deg": 40,
            "base_mm": 18.0, "roller_mm": 5.0, "offset_mm": 0.0, "angle_deg": 70}  # fmt: skip
COUNT = 4001  # points of the second way in a move
SETS = [
    {},
    {"offset_mm": 9.0, "law_name": "cycloidal", "base_mm": 22.0},
    {"offset_mm": -7.5, "roller_mm": 2.0, "law_name": "modified sine"},
    {"kind": ON_LEVER, "rise_mm": 12.0, "move_deg": 110, "dwell_deg": 20},
    {"kind": ON_LEVER, "base_mm": 30.0, "roller_mm": 8.0, "law_name": "4-5-6-7"},
    {"kind": FLAT, "base_mm": 34.0, "move_deg": 95},
    {"kind": FLAT, "base_mm": 40.0, "rise_mm": 5.0, "law_name": "simple harmonic", "dwell_deg": 5},
]


def trial(**values):
    return cam_trial(**DEFAULTS | values)


def numeric(name):
    """Lift, velocity and acceleration of a law over u, from its textbook acceleration by sums alone."""
    u, lift = lift_shape(name, COUNT)
    if name == "constant velocity":
        return u, lift, np.ones_like(u), np.zeros_like(u)
    shape = ACCELERATION[name](u)
    speed = np.concatenate(([0], np.cumsum((shape[1:] + shape[:-1]) / 2))) / (COUNT - 1)
    scale = np.sum((speed[1:] + speed[:-1]) / 2) / (COUNT - 1)
    return u, lift, speed / scale, shape / scale


def expected(name, move, dwell, angle):
    """Lift, velocity and acceleration at an angle, with the layout written down once more."""
    u, lift, speed, bend = numeric(name)
    back = 40 + move + dwell
    if 40 <= angle < 40 + move:
        x, sign, start = (angle - 40) / move, 1, 0
    elif back <= angle < back + move:
        x, sign, start = (angle - back) / move, -1, 1
    else:
        return (1.0 if 40 + move <= angle < back else 0.0), 0.0, 0.0
    return start + sign * np.interp(x, u, lift), *(sign * np.interp(x, u, row) for row in (speed, bend))


@pytest.mark.parametrize("name", LAWS)
def test_the_values_at_the_cursor_by_sums(name):
    for move, dwell in ((80, 40), (37, 11)):
        for angle in (
            0,
            13,
            40,
            45,
            61,
            62,
            75,
            77,
            85,
            118,
            119,
            125,
            131,
            165,
            170,
            190,
            205,
            238,
            300,
            360,
        ):
            wanted = expected(name, move, dwell, angle)
            if name == "constant acceleration" and angle in (40, 160):
                wanted = *wanted[:2], math.copysign(4, wanted[2])  # just after the step
            found = trial(law_name=name, move_deg=move, dwell_deg=dwell, angle_deg=angle).values
            assert found[:3] == pytest.approx(wanted, abs=2e-3), (angle, wanted)


@pytest.mark.parametrize("name", LAWS)
def test_each_row_is_the_slope_of_the_one_above(name):
    """All four rows of a turn: a step of each is the mean of the next over it, times its length."""
    for move, dwell, rise in ((80, 40, 8.0), (23, 59, 1.0)):
        one = trial(law_name=name, move_deg=move, dwell_deg=dwell, rise_mm=rise)
        angle = one.motions.angle_deg
        assert angle[0] == 0 and angle[-1] == 360 and np.all(np.diff(angle) >= 0)
        length = np.diff(angle) / move
        inner = length > 1e-9  # the others are steps
        for above, below in zip(one.motions.rows, one.motions.rows[1:], strict=False):
            mean = (below[1:] + below[:-1]) / 2
            error = np.diff(above)[inner] - (mean * length)[inner]
            assert np.max(abs(error)) < 1e-3 * max(np.ptp(above), 1)
        lift = one.motions.rows[0]
        assert lift[0] == lift[-1] == 0 and np.max(lift) == 1 and np.min(lift) == 0
        inside = (angle > 40 + move) & (angle < 40 + move + dwell)
        assert np.all(lift[inside] == 1) and np.any(inside)


def test_the_rows_have_ninety_parts_a_segment_and_both_sides_of_a_step():
    assert len(trial().motions.angle_deg) == 5 * 91
    for name, inner in (("constant acceleration", 1), ("modified trapezoidal", 4)):
        motions = trial(law_name=name).motions
        extra = inner if name == "constant acceleration" else 2 * inner  # a half is among the 90ths
        assert len(motions.angle_deg) == 5 * (91 + extra)
    middle = trial(law_name="constant acceleration", angle_deg=80).motions
    at = np.flatnonzero(abs(middle.angle_deg - 80) < 1e-9)
    assert middle.rows[2][at].tolist() == [4.0, -4.0]


def stepped(name):
    """Where in a move velocity and acceleration step, from their textbook shapes, both sides of a point."""
    if name == "constant velocity":
        return {0.0, 1.0}, set()
    _, _, _, bend = numeric(name)
    shape, scale = (
        ACCELERATION[name],
        np.max(abs(bend)) / np.max(abs(ACCELERATION[name](np.linspace(0, 1, 999)))),
    )
    places = np.linspace(0, 1, 1601)  # sixteenths, tenths and halves are among them
    sides = [
        np.where((at > 0) & (at < 1), shape(np.clip(at, 0, 1)) * scale, 0.0)
        for at in (places - 1e-7, places + 1e-7)
    ]
    return set(), set(places[abs(sides[1] - sides[0]) > 1e-3].tolist())


@pytest.mark.parametrize("name", LAWS)
def test_spikes_stand_where_the_curve_above_steps(name):
    velocity, acceleration = stepped(name)
    for move, dwell in ((80, 40), (20, 5), (115, 60)):
        found = trial(law_name=name, move_deg=move, dwell_deg=dwell).motions.spikes_deg
        for spikes, places in zip(found, (velocity, velocity | acceleration), strict=True):
            wanted = [start + x * move for start in (40, 40 + move + dwell) for x in sorted(places)]
            assert spikes == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("name", LAWS)
def test_peaks_in_words_and_in_the_table(name):
    _, _, speed, bend = numeric(name)
    velocity, acceleration = stepped(name)
    jerk = np.diff(bend) * (COUNT - 1)
    peaks = [np.max(speed), math.inf if velocity else np.max(abs(bend)),
             math.inf if velocity | acceleration else np.max(abs(jerk))]  # fmt: skip
    words = trial(law_name=name).peaks()
    assert words.startswith(f"Peak factors of the {name} law: velocity ")
    told = words.rstrip(".").replace(",", "").replace(" and", "").split("velocity ")[-1].split()[::2]
    row = next(line for line in law_table().splitlines()[1:] if line.startswith(f"{name}  ")).split("  ")
    cells = [cell.strip() for cell in row if cell.strip()]
    assert cells[2:] == told
    for text, peak in zip(told, peaks, strict=True):
        if math.isinf(peak):
            assert text == "∞"
        else:
            assert float(text) == pytest.approx(peak, rel=6e-3, abs=6e-3)
    feels = "knocks" if velocity else "jolts" if acceleration else "runs smoothly"
    assert cells[:2] == [name, feels]


def test_the_table_is_aligned():
    head, *rows = law_table().splitlines()
    assert len(rows) == len(LAWS) and {len(row) for row in rows} == {len(head)}
    assert head.startswith("law                         the lever      peak velocity")
    assert rows[0] == "constant velocity           knocks                  1.00                  ∞          ∞"


def follower_of(kind, base_mm, roller_mm, offset_mm, **_):
    if kind == ON_SLIDE:
        return sliding_roller(base_mm, roller_mm, offset_mm)
    return swinging_roller(base_mm, roller_mm, 50, 45) if kind == ON_LEVER else flat_slide(base_mm)


def turned(point, deg):
    return complex(*point) * np.exp(1j * math.radians(deg))


@pytest.mark.parametrize("values", SETS)
def test_the_outline_touches_every_place_of_the_follower_and_stays_out_of_it(values):
    """The follower stands by ruler and compasses at the lift of the second way, turned about the cam."""
    values = DEFAULTS | values
    one = cam_trial(**values)
    outline = one.outline.outline @ (1, 1j)
    place, roller = follower_of(**values), values["roller_mm"]
    for angle in range(0, 360, 3):
        lift = (
            values["rise_mm"]
            * expected(values["law_name"], values["move_deg"], values["dwell_deg"], angle)[0]
        )
        if values["kind"] == FLAT:
            height = (turned((0, 1), -angle).conjugate() * outline).real
            gap = place(lift)[0][1] - np.max(height)
        else:
            centre = turned(place(lift), -angle)
            assert not Path(one.outline.outline).contains_point((centre.real, centre.imag))
            gap = distances(np.array([centre]), outline)[0] - roller
        assert abs(gap) < 5e-3, (angle, gap)


def test_the_outline_is_fine_and_its_rim_is_its_farthest_point():
    one = trial()
    assert len(one.outline.outline) >= 720 and np.max(np.diff(one.outline.angle_deg)) <= 0.5
    assert one.rim_mm == pytest.approx(18 + 8, abs=1e-9)
    assert trial(kind=FLAT, base_mm=25.0).rim_mm >= 33


@pytest.mark.parametrize("values", SETS)
def test_where_the_follower_stands_and_how_it_is_pushed(values):
    """Place from ruler and compasses; the push by the outline's nearest point, against small steps of it."""
    for angle in (20, 53, 70, 88, 140, 200, 222):
        wanted = DEFAULTS | values | {"angle_deg": angle}
        at = cam_trial(**wanted).at
        lift, slope, _ = expected(wanted["law_name"], wanted["move_deg"], wanted["dwell_deg"], angle)
        assert at.lift_mm == pytest.approx(wanted["rise_mm"] * lift, abs=1e-4) and at.angle_deg == angle
        place = follower_of(**wanted)
        if wanted["kind"] == FLAT:
            beside = wanted["rise_mm"] * slope / math.radians(wanted["move_deg"])
            assert at.contact == pytest.approx((beside, wanted["base_mm"] + at.lift_mm), abs=2e-2)
            assert at.pressure_deg == 0
            continue
        assert at.trace == pytest.approx(place(at.lift_mm), abs=1e-6)
        outline = np.array([turned(point, angle) for point in cam_trial(**wanted).outline.outline])
        centre = complex(*at.trace)
        nearest = outline[np.argmin(abs(outline - centre))]
        ahead = complex(*(place(at.lift_mm + 1e-4) - place(at.lift_mm - 1e-4)))
        # Counter-clockwise is the way of the rim at the top.
        assert at.pressure_deg == pytest.approx(math.degrees(np.angle((centre - nearest) / ahead)), abs=2)
        assert complex(*at.contact) == pytest.approx(nearest, abs=0.2)


@pytest.mark.parametrize("values", SETS)
def test_the_row_of_pressure_angles_goes_through_what_the_cursor_tells(values):
    one = trial(**values)
    for angle in (5, 55, 95, 130, 180, 230, 355):
        found = np.interp(angle, one.motions.angle_deg, one.motions.pressure_deg)
        assert found == pytest.approx(trial(**values, angle_deg=angle).at.pressure_deg, abs=2e-2)
    assert np.max(one.motions.pressure_deg) == pytest.approx(one.shape.highest.value, abs=2e-2)
    assert np.min(one.motions.pressure_deg) == pytest.approx(one.shape.lowest.value, abs=2e-2)


def test_turning_the_cam_works_out_nothing_anew():
    one, other = trial(angle_deg=10), trial(angle_deg=200)
    assert one.shape is other.shape and one.outline is other.outline and one.motions is other.motions
    assert one.at != other.at and trial(rise_mm=8.5).shape is not one.shape
