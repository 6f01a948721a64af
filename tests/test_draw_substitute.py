"""The picture of a substitute in mesh: to scale, nothing cut off, no trace of a walk."""

from __future__ import annotations

import random
from functools import cache

import numpy as np
import pytest
from crowded_chart import collisions, measured, words
from matplotlib.text import Text

from mechlib.bench.broken_gear import Case, Mate, Seat, known_size
from mechlib.bench.stock import spares_bin
from mechlib.bench.substitute import substitutes
from mechlib.bench.substitute_form import EXAMPLES, case_of, filled
from mechlib.bench.substitute_pair import TURN, pair_in_mesh
from mechlib.draw import LivePicture
from mechlib.draw import substitute as scene
from mechlib.draw.style import SMALL_PT
from mechlib.gears.racks import ISO_53_A
from mechlib.gears.spur_outline import outline

near = pytest.approx


@cache  # not while tests are collected: it takes seconds
def found_for(name):
    return substitutes(case_of(filled(name)), spares_bin())


@cache
def shown():
    rows = [row for name in EXAMPLES for row in found_for(name).rows[:7]]
    return [row for row in rows if row.judged and row.judged.meshes]


def picture_of(row, mate="", turn=0.0):
    values = {"row": row, "mate": mate, "turn_deg": turn}
    return LivePicture(lambda **v: pair_in_mesh(**v), scene, values, scene.SIZE_PX)


def test_both_views_are_to_scale():
    pair = pair_in_mesh(found_for("wheel of a take-up reel").best, turn_deg=12)
    picture = picture_of(pair.row, turn=12.0)
    for view in picture._sheets[1].artists.views:
        one, other = (gear.get_paths()[0].vertices for gear in view.gears)
        shafts = [
            (path.vertices.min(axis=0) + path.vertices.max(axis=0)) / 2 for path in view.shafts.get_paths()
        ]
        pixels = np.hypot(*(shafts[1] - shafts[0])) / pair.found.mesh.centre_mm
        for points, shaft, gear in zip((one, other), shafts, pair.gears, strict=True):
            assert 2 * np.hypot(*(points - shaft).T).max() == near(pixels * gear.tip_mm, rel=2e-3)
        bar = view.bar.get_segments()[0]
        mm = float(view.label.get_text().split()[0])
        assert (
            bar[1, 0] - bar[0, 0] == near(mm * pixels, rel=1e-3) and bar[1, 0] - bar[0, 0] <= scene.MOST_BAR
        )
    near_one = picture._sheets[1].artists.views[1].gears[0].get_paths()[0].vertices
    gear = pair.gears[0]
    assert len(near_one) >= len(outline(gear, 0.002 * gear.module_mm))


def test_the_whole_view_holds_both_gears_and_the_near_one_the_path():
    for row in shown():
        for found in row.judged.meshes:
            views = picture_of(row, found.mate.name)._sheets[1].artists.views
            for gear in views[0].gears:
                x, y = gear.get_paths()[0].vertices.T
                assert x.min() >= 0 and x.max() <= views[0].wide and y.min() >= 0 and y.max() <= views[0].high
            path = views[1].path.get_segments()
            assert len(path) == (pair_in_mesh(row, found.mate.name).ratio > 0)
            if not path:
                continue
            x, y = path[0].T
            assert x.min() >= 0 and x.max() <= views[1].wide, row.sentence()
            assert y.min() >= 0 and y.max() <= views[1].high, row.sentence()


def test_no_red_line_where_no_flanks_touch():
    found = found_for("capstan wheel of a cassette deck").rows
    for teeth, lines, told in (
        (24, 1, "red: where flanks touch; behind the teeth 0.045 mm of backlash"),
        (22, 1, "red: where flanks touch, for a while only (contact ratio 0.74)"),
        (18, 0, "no flanks touch: contact ratio 0.00"),
    ):
        row = next(row for row in found if row.stock and row.teeth == teeth and row.judged)
        made = picture_of(row)._sheets[1].artists
        assert [len(view.path.get_segments()) for view in made.views] == [lines, lines]
        assert made.gap.get_text() == told


def extreme(teeth, mate, module):
    """A gear at an end of what a case may hold, with a long name."""
    name = "second pinion of the loading motor's reduction box, upper row of teeth"
    size, centre = known_size(module, ISO_53_A, 0.0), module * ((teeth + mate) / 2 + 0.2)
    case = Case(teeth, (size,), (Mate(name, mate, centre, True),), Seat(0.5))
    return next(row for row in substitutes(case, more_teeth=0).rows if row.gear)


@pytest.mark.parametrize("which", [*range(6), (12, 300, 0.2), (300, 12, 3), (40, 41, 1)], ids=str)
def test_no_words_are_small_cut_off_or_on_one_another(which):
    picture = picture_of(shown()[which] if isinstance(which, int) else extreme(*which), turn=7.5)
    told = [word for word in words(picture.figure) if word.get_text()]
    assert all(word.get_fontsize() >= SMALL_PT for word in told)
    edges = measured(told, picture.figure.canvas.get_renderer())
    assert collisions(edges[0], *edges[1], scene.SIZE_PX) == []
    assert all(isinstance(word, Text) for word in told)


def test_a_walk_leaves_no_trace():
    dice, row = random.Random(3), found_for("idler between a pinion and a reel gear").best
    walked = picture_of(row)
    for _ in range(12):
        values = {"mate": dice.choice(("pinion", "reel gear")), "turn_deg": dice.choice(TURN.positions())}
        frame = walked.set(row=dice.choice([one for one in shown() if len(one.judged.meshes) == 2]), **values)
    fresh = LivePicture(pair_in_mesh, scene, dict(walked.values), scene.SIZE_PX)
    assert frame == fresh.frame()
