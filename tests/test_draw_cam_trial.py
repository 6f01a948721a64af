"""The picture of a cam: the drawn follower touches the drawn cam, curves stay inside, words have room."""

import functools
import itertools
import random
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.colors import to_rgba
from matplotlib.path import Path
from PIL import Image
from second_way_teeth import distances
from share import share, times

from mechlib.bench.cam_trial import CONTROLS, FLAT, ON_LEVER, ON_SLIDE
from mechlib.bench.cam_trial import cam_trial as compute
from mechlib.draw import LivePicture
from mechlib.draw import cam_trial as scene
from mechlib.draw import page as paper
from mechlib.draw.style import GRID, ORANGE, VERMILLION, figure
from mechlib.errors import MechError

DEFAULTS = {name: control.default for name, control in CONTROLS.items()}
PLACE_PX = scene.SQUARE / 2  # half the place of the cam, which is ±1 on its own axes
FINE = 0.003  # of that half: less than a pixel; the outline is drawn in straight pieces
SETS = [
    {},
    {"law_name": "constant velocity", "angle_deg": 130},
    {"law_name": "constant acceleration", "kind": ON_LEVER, "angle_deg": 220},
    {"kind": FLAT, "law_name": "modified trapezoidal", "rise_mm": 6.0, "angle_deg": 90},
    {"kind": FLAT, "base_mm": 40.0, "rise_mm": 20.0, "move_deg": 120, "dwell_deg": 5, "angle_deg": 200},
    {"kind": ON_LEVER, "rise_mm": 12.0, "base_mm": 30.0, "roller_mm": 8.0, "angle_deg": 140},
    {"offset_mm": -12.0, "base_mm": 40.0, "roller_mm": 1.0, "angle_deg": 340},
    {"offset_mm": 8.0, "base_mm": 20.0, "rise_mm": 10.0, "move_deg": 60, "angle_deg": 170},  # binds back
    {"offset_mm": 9.0, "base_mm": 24.0, "law_name": "4-5-6-7", "rise_mm": 1.0, "angle_deg": 0},
]
UNDERCUT = [
    {"move_deg": 20, "rise_mm": 20.0, "base_mm": 8.0, "roller_mm": 10.0, "angle_deg": 50},
    {"move_deg": 20, "rise_mm": 20.0, "base_mm": 8.0, "kind": FLAT, "angle_deg": 45},
    {"move_deg": 20, "rise_mm": 20.0, "base_mm": 40.0, "kind": ON_LEVER, "roller_mm": 10.0, "angle_deg": 131},
]
MOVING = {name: control.positions() for name, control in CONTROLS.items()}
VALUES = st.fixed_dictionaries({name: st.sampled_from(each) for name, each in MOVING.items()})


def picture(**values):
    return LivePicture(compute, scene, DEFAULTS | values, scene.SIZE_PX)


def new_drawing():
    return scene.create(figure(*scene.SIZE_PX), compute(**DEFAULTS))


one_drawing = functools.cache(new_drawing)  # to make one takes far longer than to change it


def drawn(values, made=None):
    """The artists of a drawing (always the same one, or ``made``), and what they show."""
    result = compute(**DEFAULTS | values)
    artists = made or one_drawing()
    scene.update(artists, result)
    return artists, result


def corners():
    """A setting at ends of the ranges for each law and follower, and some anywhere."""
    dice = random.Random(5)
    ends = {name: (each[0], each[-1]) for name, each in MOVING.items()}
    for law_name, kind in itertools.product(MOVING["law_name"], MOVING["kind"]):
        for source in (ends, ends, ends, MOVING):
            values = {name: dice.choice(each) for name, each in source.items()}
            yield values | {"law_name": law_name, "kind": kind}


@pytest.fixture(scope="module")
def settings_drawn():
    """All settings that are looked at, each drawn: what is checked of the artists is kept as numbers."""
    made, kept = None, []
    for values in [*SETS, *UNDERCUT, *share(corners(), 30)]:
        try:
            made, result = drawn(values, made)
        except MechError:
            assert abs(values["offset_mm"]) >= values["base_mm"] + values["roller_mm"]
            continue
        kept.append(SimpleNamespace(values=values, boxes=boxes(made), shapes=shapes(made), result=result))
    assert len(kept) > times(13, 100)
    return kept


def boxes(made):
    """Left, right, middle and text of every line of words that moves, in page pixels."""
    found = []
    for line in (*made.values, *made.words, made.scale):
        if text := line.get_text():
            x, y = line.get_position()
            width = paper.width_px(text, line.get_fontsize(), line.get_fontweight())
            found.append((x, x + width + 2, y, text))
    return found


def shapes(made):
    """Every point of what moves in the place of the cam."""
    paths = [path for each in (made.cam, made.body) for path in each.get_paths()]
    parts = [path.vertices for path in paths]
    parts += [
        np.array(part)
        for each in (made.base, made.pitch, made.lines, made.push)
        for part in each.get_segments()
    ]
    return np.concatenate(parts)


@settings(max_examples=times(2, 6))
@given(st.lists(VALUES, max_size=3), VALUES)
def test_after_any_walk_the_picture_is_the_fresh_one(steps, end):
    try:
        compute(**end)
    except MechError:
        end = DEFAULTS
    walked = picture()
    artists = [id(artist) for artist in walked.figure.findobj()]
    for step in steps:
        walked.set(**step)
    assert walked.set(**end) == picture(**end).frame()
    assert [id(artist) for artist in walked.figure.findobj()] == artists


def test_nothing_is_cut_off_in_the_place_of_the_cam(settings_drawn):
    for shown in settings_drawn:
        assert np.max(abs(shown.shapes)) <= scene.VIEW, shown.values


def test_words_neither_overlap_nor_leave_the_page(settings_drawn):
    width, height = scene.SIZE_PX
    names = scene.ROW_LEFT - 44 - paper.width_px("pressure", 10)  # the leftmost of a row beside these words
    for shown in settings_drawn:
        for left, right, y, text in shown.boxes:
            assert 8 <= left < right <= width - 2 and 8 <= y <= height - 8, text
            if left < scene.ROW_LEFT:
                assert right < names - 4, text
        for (left, right, y, text), (left2, right2, y2, text2) in itertools.combinations(shown.boxes, 2):
            assert right <= left2 or right2 <= left or abs(y - y2) >= 15, (text, text2)


def test_the_key_has_room():
    made, _ = drawn({})
    page = made.scale.axes
    moving = (*made.values, *made.words, made.scale)
    found = [text.get_window_extent() for text in page.texts if text not in moving]
    assert len(found) == 11  # four of the key, six of the rows' names, one over the values
    assert not [pair for pair in itertools.combinations(found, 2) if pair[0].overlaps(pair[1])]
    ends = page.get_window_extent()
    assert all(ends.contains(*box.min) and ends.contains(*box.max) for box in found)


def test_a_line_is_whole_in_a_file_of_lines(tmp_path):
    live = picture()
    live.set(angle_deg=71)
    from_file = live.save(tmp_path / "cam.svg").read_text(encoding="utf-8")
    assert from_file.count("<text") == 0
    assert "<!-- The pressure angle goes from −21.9° to 21.9°. -->" in from_file


def test_what_is_found_is_told_in_full(settings_drawn):
    for shown in settings_drawn:
        result = shown.result
        said = " ".join(text for left, _, _, text in shown.boxes if left == scene.LEFT)
        assert result.shape.sentence() in said
        verdict, *advice = result.verdict().split(": ")
        assert verdict in said and all(f"{each[0].upper()}{each[1:]}" in said for each in advice)


def test_the_values_beside_the_rows():
    """By hand: a 3-4-5 move of 8 mm in 80°, a quarter of it done."""
    made, _ = drawn({"angle_deg": 60})
    shown = [line.get_text() for line in made.values]
    x = 0.25
    lift = 10 * x**3 - 15 * x**4 + 6 * x**5
    speed, bend, jerk = 30 * (x - x * x) ** 2, 60 * x - 180 * x**2 + 120 * x**3, 60 - 360 * x + 360 * x * x
    wanted = [f"{8 * lift:.2f} mm", "of 8.0 mm", "", f"{speed:.2f}", f"{speed / 10:.3f} mm/°", "peak 1.88"]
    wanted += [
        f"{bend:.2f}",
        f"{bend * 8 / 6400:.4f} mm/°²",
        "peak 5.77",
        f"{jerk:.1f}".replace("-", "−"),
        "",
    ]
    assert shown[:12] == [*wanted, "peak 60.00"]
    slope = 8 * speed / np.radians(80)
    tangent = np.degrees(np.arctan(slope / (23 + 8 * lift)))
    assert shown[12:] == [f"{tangent:.1f}°", "usually ≤ 30°", ""]
    knock, _ = drawn({"law_name": "constant velocity"})
    shown = [line.get_text() for line in knock.values]
    assert [shown[5], shown[8], shown[11]] == ["peak 1.00", "peak ∞", "peak ∞"]


@pytest.mark.parametrize("values", SETS)
def test_the_drawn_cam_touches_the_drawn_follower(values):
    made, result = drawn(values)
    cam = made.cam.get_paths()[0].vertices
    outline = cam @ (1, 1j)
    *fixed, body = (path.vertices for path in made.body.get_paths())
    if values.get("kind") == FLAT:
        face = np.min(body[:, 1])
        assert abs(np.max(outline.imag) - face) < FINE
        touched = outline.real[np.argmax(outline.imag)]
        assert np.min(body[:, 0]) < touched < np.max(body[:, 0])
    else:
        rim = body @ (1, 1j)
        assert np.min(distances(rim, outline)) < FINE
        inside = rim[Path(cam).contains_points(body)]
        assert not len(inside) or np.max(distances(inside, outline)) < FINE
    assert len(fixed) == (1 if result.at.pivot else 2)
    start, tip = made.push.get_segments()[0] @ (1, 1j)
    assert distances(np.array([start]), outline)[0] < FINE and abs(tip - start) == pytest.approx(scene.ARROW)
    # It pushes away from the cam: a little along, the arrow is outside.
    ahead = start + 0.1 * (tip - start)
    assert not Path(cam).contains_point((ahead.real, ahead.imag))


@pytest.mark.few(3)
@pytest.mark.parametrize("values", SETS)
def test_sizes_on_the_page_by_the_scale_bar(values):
    """The bar's own words and length give the scale by which base circle, roller and rim are measured."""
    made, _ = drawn(values)
    whole = DEFAULTS | values
    bar = made.bar.get_segments()[0]
    words = made.scale.get_text()
    pixels = (bar[1][0] - bar[0][0]) / float(words.removesuffix(" mm"))
    assert 40 <= bar[1][0] - bar[0][0] <= 100 and words.endswith(" mm")

    def size(points):
        return np.ptp(points[:, 0]) / 2 * PLACE_PX / pixels

    assert size(made.base.get_segments()[0]) == pytest.approx(whole["base_mm"], rel=1e-3)
    if whole["kind"] != FLAT:
        assert size(made.body.get_paths()[-1].vertices) == pytest.approx(whole["roller_mm"], rel=1e-3)
    far = np.max(np.hypot(*made.cam.get_paths()[0].vertices.T)) * PLACE_PX / pixels
    if whole["kind"] == ON_SLIDE and not whole["offset_mm"]:
        assert far == pytest.approx(whole["base_mm"] + whole["rise_mm"], rel=5e-3)  # a corner has a loop
    if whole["kind"] == ON_LEVER:
        pivot, end = made.lines.get_segments()[0] * PLACE_PX / pixels
        assert pivot == pytest.approx((50, 0), rel=1e-3) and np.hypot(*(end - pivot)) == pytest.approx(
            45, rel=1e-3
        )


@pytest.mark.few(1)
@pytest.mark.parametrize("kind", [ON_SLIDE, ON_LEVER, FLAT])
def test_the_cam_turns_counter_clockwise_by_its_angle(kind):
    start, _ = drawn({"kind": kind, "angle_deg": 0}, new_drawing())
    for angle in (1, 90, 213, 360):
        made, _ = drawn({"kind": kind, "angle_deg": angle})
        for each, name in ((made.cam, "cam"), (made.pitch, "pitch")):
            if name == "pitch" and kind == FLAT:
                assert not each.get_segments() and not start.pitch.get_segments()
                continue
            before = (start.cam if name == "cam" else start.pitch).get_paths()[0].vertices @ (1, 1j)
            after = each.get_paths()[0].vertices @ (1, 1j)
            assert np.max(abs(after - before * np.exp(1j * np.radians(angle)))) < 1e-9


@pytest.mark.few(4)
@pytest.mark.parametrize("values", [*SETS, *UNDERCUT])
def test_cursor_dots_and_spikes(values):
    made, result = drawn(values)
    angle = values.get("angle_deg", 70)
    shown = (*result.values, result.at.pressure_deg)
    for row, value, (_, limits) in zip(made.rows, shown, scene.ROWS, strict=True):
        assert list(row.cursor.get_xdata()) == [angle, angle] and tuple(row.cursor.get_ydata()) == limits
        assert [float(each[0]) for each in row.dot.get_data()] == pytest.approx([angle, value])
        x, y = row.curve.get_data()
        between = np.searchsorted(x, [angle - 1e-9, angle + 1e-9]).clip(1, len(x) - 1)
        near = y[between[0] - 1 : between[1] + 1]
        assert np.min(near) - 0.05 <= value <= np.max(near) + 0.05  # the dot is on its curve
        assert limits[0] < np.min(y) and np.max(y) < limits[1] and x[0] == 0 and x[-1] == 360
    spikes = [[part[0][0] for part in row.spikes.get_segments()] for row in made.rows]
    assert spikes == [[], [], *(list(each) for each in result.motions.spikes_deg), []]
    usual = [part[0][1] for part in made.usual.get_segments()]
    assert usual == ([-45, 45] if values.get("kind") == ON_LEVER else [-30, 30])


def test_fixed_and_moving_parts_are_told_apart():
    for values, fixed in (({}, 2), ({"kind": ON_LEVER}, 1), ({"kind": FLAT}, 2)):
        made, _ = drawn(values)
        colors = [tuple(color) for color in made.body.get_facecolors()]
        assert colors == [to_rgba(GRID)] * fixed + [to_rgba(ORANGE)]
        dots = made.dots.get_xydata()
        assert tuple(dots[1]) == (0, 0) and (tuple(dots[0]) == (0, 0)) == (values.get("kind") == FLAT)


def test_curves_of_all_laws_keep_within_their_rows():
    for name in MOVING["law_name"]:
        result = compute(**DEFAULTS | {"law_name": name})
        for row, (_, (low, high)) in zip(result.motions.rows, scene.ROWS, strict=False):
            assert low < np.min(row) and np.max(row) < high


def test_refused_settings_leave_the_picture():
    live = picture(base_mm=8.0, roller_mm=6.0, offset_mm=12.0)
    before = live.frame()
    assert live.set(roller_mm=4.0) == before and "it must be less than base + roller, 12 mm" in live.sentence
    assert live.set(rise_mm=21.0) == before and live.sentence.startswith("rise_mm is 21")
    assert live.set(law_name="cubic") == before


def test_the_cursor_is_seen_in_the_pixels(tmp_path):
    """The dot's colour stands at the cursor's place of the first row, in the sharp picture too."""
    for scale in (1, 2):
        live = picture(law_name="cycloidal", angle_deg=300)
        path = live.save(tmp_path / f"cam{scale}.png", scale)
        x = scene.ROW_LEFT + 300 / 360 * (scene.ROW_RIGHT - scene.ROW_LEFT)
        low, high = scene.ROWS[0][1]
        y = scene.ROW_TOP + scene.ROW_HIGH * (high / (high - low))
        pixel = np.asarray(Image.open(path).convert("RGB"))[round(y * scale), round((x + 2) * scale)]
        assert pixel.tolist() == [round(255 * part) for part in to_rgba(VERMILLION)[:3]]
