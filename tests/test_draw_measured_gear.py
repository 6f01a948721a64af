"""The picture of a gear in the hand: everything on its page, true to scale, no trace of a walk."""

import random

import numpy as np
import pytest

from mechlib.bench.measured_gear import CONTROLS, RACKS_TO_TRY, measured_gear
from mechlib.draw import LivePicture
from mechlib.draw import measured_gear as scene
from mechlib.draw import page as paper
from mechlib.draw.style import TEXT_PT, figure, look
from mechlib.errors import MechError
from mechlib.gears.measuring import over_pins_mm, span_mm, teeth_to_span
from mechlib.gears.racks import ISO_53_A, usual_racks
from mechlib.gears.unknown_gear import SIZES, USUAL_SHIFT

DEFAULTS = {name: control.default for name, control in CONTROLS.items()}


def readings(teeth, module):
    """All four readings of a gear without shift, as the panel gives them."""
    over, pin = teeth_to_span(teeth, ISO_53_A), round(1.7 * module, 2)
    return {
        "teeth": teeth,
        "outside_mm": (teeth + 2) * module,
        "span_mm": round(span_mm(teeth, module, ISO_53_A, over), 2),
        "over": over,
        "pins_mm": round(over_pins_mm(teeth, module, ISO_53_A, pin), 2),
        "pin_mm": pin,
        "centre_mm": round((teeth + 30) * module / 2 + 0.02, 2),
        "made_to": "any of these",
    }


def drawn(**values):
    result = measured_gear(**DEFAULTS | values)
    with look():
        made = figure(*scene.SIZE_PX)
        artists = scene.create(made, result)
        scene.update(artists, result)
        made.canvas.draw()
    return result, artists, made


@pytest.mark.parametrize(
    ("teeth", "module"), [(8, 1.0), (20, 1.5), (40, 0.5), (80, 0.5), (33, 0.8), (21, 1.25)]
)
def test_all_is_on_the_page_and_true_to_scale(teeth, module):
    result, artists, made = drawn(**readings(teeth, module))
    width, height = scene.SIZE_PX
    for artist in (a for a in artists.moving if hasattr(a, "get_paths")):
        for path in artist.get_paths():
            assert path.vertices.min() >= 0
            assert path.vertices[:, 0].max() <= width and path.vertices[:, 1].max() <= height
    renderer = made.canvas.get_renderer()
    boxes = [
        (word.get_text(), word.get_window_extent(renderer))
        for word in (*artists.labels, *artists.names, artists.more)
        if word.get_text()
    ]
    for text, box in boxes:
        assert box.x0 >= 0 and box.x1 <= width and box.y0 >= 0 and box.y1 <= height, text
    for at, (one, box) in enumerate(boxes):
        assert not any(box.overlaps(other) for _, other in boxes[at + 1 :]), one
    if result.gear:
        (x0, y0), (x1, _) = artists.scale.get_segments()[0]
        outline = artists.gear.get_paths()[0].vertices
        mm = float(artists.labels[0].get_text().split()[0])
        per_mm = (x1 - x0) / mm
        assert np.ptp(outline[:, 0]) / per_mm <= result.gear.tip_mm + 1e-6
        radius = np.hypot(*(outline - scene.MIDDLE).T).max()
        assert radius / per_mm == pytest.approx(result.gear.tip_mm / 2, rel=1e-6)


def test_names_are_whole_and_clear_of_the_bars():
    """The longest that there can be, and a bar at the lowest shift."""
    names = [
        f"{size.name} · {rack.name}"
        for size in SIZES
        for racks in RACKS_TO_TRY.values()
        for rack in usual_racks(racks, size.module_mm, size.pitch)
    ]
    for name in names:
        assert scene.NAMES + paper.width_px(name, TEXT_PT, "bold") < scene._x(USUAL_SHIFT[0]) - 4, name
    _, artists, _ = drawn(teeth=13, outside_mm=23.8, made_to="any of these")
    shown = [word.get_text() for word in artists.names]
    assert "module 1.75 · stub 20°" in shown and "module 1.5 · full depth 14.5°" in shown
    assert scene.SHIFTS[0] == USUAL_SHIFT[0]


@pytest.mark.parametrize(("teeth", "module"), [(20, 1.0), (21, 1.0), (13, 2.0), (40, 0.5)])
def test_the_line_over_pins_ends_at_their_outer_sides(teeth, module):
    pin = round(1.7 * module, 2)
    read = round(over_pins_mm(teeth, module, ISO_53_A, pin), 2)
    result, artists, _ = drawn(teeth=teeth, outside_mm=0.0, pins_mm=read, pin_mm=pin)
    line, *ticks = artists.lines.get_segments()
    pixels = scene.RADIUS / (result.gear.tip_mm / 2)
    along = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    assert np.hypot(*(line[1] - line[0])) == pytest.approx(read * pixels, rel=1e-6)
    pins = [path.vertices for path in artists.pins.get_paths()]
    assert max((points @ along).max() for points in pins) == pytest.approx(line[1] @ along, abs=1.5)
    assert min((points @ along).min() for points in pins) == pytest.approx(line[0] @ along, abs=1.5)
    assert len(ticks) == 2 and all(abs((tick[1] - tick[0]) @ along) < 1e-9 for tick in ticks)
    assert artists.labels[2].get_position()[1] > scene.MIDDLE[1] + scene.RADIUS + 10


def test_without_a_gear_it_says_so():
    _, artists, _ = drawn(outside_mm=34.9, span_mm=3.0)
    assert not artists.gear.get_paths() and "no standard gear" in artists.labels[0].get_text()


def test_a_walk_leaves_no_trace():
    stream = random.Random(3)
    picture = LivePicture(measured_gear, scene, DEFAULTS, scene.SIZE_PX)
    for _ in range(8):
        values = {name: stream.choice(control.positions()) for name, control in CONTROLS.items()}
        try:
            picture.set(**values)
        except MechError:
            continue
    last = DEFAULTS | readings(24, 1.0)
    picture.set(**last)
    assert picture.frame() == LivePicture(measured_gear, scene, last, scene.SIZE_PX).frame()
