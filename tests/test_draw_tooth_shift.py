"""The still figure of a gear dropped in a tooth on, and the stored pictures of the folder figures/."""

import runpy
from pathlib import Path

import numpy as np
import pytest
from crowded_chart import collisions, measured, words
from matplotlib.path import Path as Outline
from matplotlib.text import Annotation
from PIL import Image
from share import share
from small_machine import small

from mechlib.bench import slip_effect
from mechlib.draw.tooth_shift import gears_in_mesh, tooth_shift
from mechlib.errors import MechError
from mechlib.transports import load

ROOT = Path(__file__).resolve().parents[1]


@pytest.mark.parametrize(("parent", "teeth"), [(8, 30), (60, 64), (36, 72), (18, 20), (100, 80)])
def test_the_outlines_are_those_of_the_basic_rack(parent, teeth):
    # ISO 53: height 1 above and 1.25 below the pitch circle, teeth and spaces alike there, flanks at 20°
    outlines = gears_in_mesh(parent, teeth)
    for points, z, centre_y in zip(outlines, (parent, teeth), (parent / 2, -teeth / 2), strict=True):
        points = points @ (1, 1j) - 1j * centre_y
        assert abs(points).max() == pytest.approx(z / 2 + 1)
        assert abs(points).min() == pytest.approx(z / 2 - 1.25)
        out = abs(points) - z / 2
        at = np.flatnonzero(out[:-1] * out[1:] < 0)
        assert len(at) == 2 * z
        sides = points[at + 1] - points[at]
        lean = np.abs((np.angle(sides / points[at]) + np.pi / 2) % np.pi - np.pi / 2)
        assert np.degrees(lean) == pytest.approx(20, abs=2)  # straight sides between points of the outline
        crossed = points[at] + out[at] / (out[at] - out[at + 1]) * (points[at + 1] - points[at])
        widths = np.diff(np.unwrap(np.angle(crossed))) * z / 2
        assert widths == pytest.approx(np.pi / 2, abs=0.02)


@pytest.mark.parametrize(("driver", "driven"), [(60, 64), (36, 72), (18, 20), (100, 80)])
def test_teeth_fill_the_gaps_and_do_not_cut_into_one_another(driver, driven):
    above, below = gears_in_mesh(driver, driven)
    for one, other in ((above, below), (below, above)):
        near = one[np.abs(one).max(axis=1) < 12]
        assert _deepest(near, other) < 0.01  # modules: flanks touch, no more
        assert _deepest(near + (0.1, 0), other) > 0.04 and _deepest(near - (0.1, 0), other) > 0.04
    assert Outline(above).contains_point((0, 0)) and not Outline(below).contains_point((0, 0))
    assert above[np.abs(above[:, 0]) < 0.2, 1].min() == pytest.approx(-1)  # a tooth straight down


def _deepest(points, polygon):
    """How far inside the edge of a polygon the deepest of the points lies; 0 where all are outside."""
    start, along = polygon[:-1], np.diff(polygon, axis=0)
    depths = [0.0]
    for point in points[Outline(polygon).contains_points(points)]:
        share = np.clip(((point - start) * along).sum(axis=1) / (along**2).sum(axis=1), 0, 1)[:, None]
        depths.append(np.hypot(*(start + share * along - point).T).min())
    return max(depths)


@pytest.mark.parametrize(
    ("mesh", "follower", "teeth", "shift"),
    [("pinch cam", "pinch lever", 1, -360 / (60 * 0.8)), ("loading gear", "loading arms", -2, 2 * 360 / 80),
     ("brake cam", "reel idler", 3, -3 * 360 / 60)],
)  # fmt: skip
def test_the_arrow_is_as_long_as_the_shift_and_the_mark_as_far_off(mesh, follower, teeth, shift):
    alder = load("alder")
    gears, row, page = _three(tooth_shift(slip_effect(alder, mesh, teeth), follower))
    (arrow,) = (a for a in row.findobj(Annotation))
    (end, _), (start, _) = arrow.xy, arrow.get_position()
    assert end - start == pytest.approx(shift, abs=0.02)
    (x0, x1), (y0, y1), box = gears.get_xlim(), gears.get_ylim(), gears.get_window_extent()
    assert box.width / (x1 - x0) == pytest.approx(box.height / (y1 - y0))  # the same scale both ways
    assert "both edges move the same way" in " ".join(text.get_text() for text in page.texts)
    hollow, solid = (line.get_xydata()[0] for line in gears.lines if line.get_marker() == "^")
    z = alder.part(mesh).teeth
    radius = z / 2 - 2.1
    turned = np.arctan2(solid[0], solid[1] + z / 2)
    assert np.hypot(solid[0], solid[1] + z / 2) == pytest.approx(radius)
    assert hollow[0] == 0 and abs(turned) == pytest.approx(2 * np.pi * abs(teeth) / z)
    # the arrow on the part points where "ahead" is: the mark lies there if teeth > 0, else the other way
    way = np.sign(gears.findobj(Annotation)[-1].xy[0])
    assert np.sign(turned) == way * np.sign(teeth)
    assert any(f"= {str(round(shift, 1)).replace('-', '−')}°" in text.get_text() for text in page.texts)


def _three(made):
    page = next(axes for axes in made.axes if axes.get_zorder() == 2)
    return *(axes for axes in made.axes if axes is not page), page


@pytest.mark.parametrize(
    ("mesh", "follower", "teeth"), [("pinch cam", "pinch lever", -3), ("mode switch", "carriage", 1),
                                    ("idler cam", "reel idler", 2), ("worm wheel", "pinch lever", 1),
                                    ("pinch cam", "pinch lever", 0), ("pinch cam", "pinch lever", 4)],
)  # fmt: skip
def test_words_have_room_or_the_slip_is_refused(mesh, follower, teeth):
    effect = slip_effect(load("alder"), mesh, teeth)
    if (mesh, teeth) not in (("pinch cam", -3), ("idler cam", 2)):
        with pytest.raises(MechError):
            tooth_shift(effect, follower)
        return
    made = tooth_shift(effect, follower)
    made.canvas.draw()
    names, (x0, x1, y0, y1) = measured(words(made), made.canvas.get_renderer())
    assert len(names) > 20 and collisions(names, x0, x1, y0, y1, made.canvas.get_width_height()) == []


def test_meshes_that_cannot_be_shown_so_are_refused():
    effect = slip_effect(small(), "lever gear", 1)
    tooth_shift(effect, "hook")  # hangs on the lever gear
    with pytest.raises(MechError, match="latch stays where it was"):
        tooth_shift(effect, "latch")


def opened(path):
    """Its size, its brightness from 0 to 255, and what drew it."""
    with Image.open(path) as picture:
        return picture.size, np.asarray(picture.convert("L"), float), picture.info["Software"]


def test_the_stored_figures_are_what_the_command_draws(tmp_path):
    make = runpy.run_path(str(ROOT / "figures" / "make.py"))
    assert sorted(make["PICTURES"]) == sorted(path.name for path in (ROOT / "figures").glob("*.png"))
    names = share(sorted(make["PICTURES"]), 3)
    make["main"](tmp_path, *names)
    assert names == sorted(path.name for path in tmp_path.iterdir())
    for name in names:
        (size, stored, by), (drawn_size, drawn, drawn_by) = (
            opened(at / name) for at in (ROOT / "figures", tmp_path)
        )
        assert size == drawn_size and size[0] >= 1900
        away = abs(stored - drawn)
        if by == drawn_by:  # another processor may round a line's edge the other way
            assert (away > 8).mean() < 2e-5, name
        assert away.mean() < (4 if by == drawn_by else 8), name  # other versions set words a little aside
        assert 0.02 < (stored < 128).mean() < 0.5, name
