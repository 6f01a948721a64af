"""The grid of mode changes: a shape for every end, in the right place, told without colour."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from crowded_chart import picture_of
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.collections import PathCollection
from matplotlib.transforms import Affine2D, IdentityTransform
from small_machine import small

from mechlib.bench import slip_effect
from mechlib.draw import change_grid, timing_chart
from mechlib.draw.style import figure
from mechlib.transports import change, load, slip
from mechlib.transports.outcomes import OUTCOMES


def grid_of(transport, mesh, teeth):
    result = slip_effect(transport, mesh, teeth, 0)
    artists = timing_chart.create(figure(*timing_chart.size_px(transport)), result)
    timing_chart.update(artists, result)
    return result, artists.parts[2]


def inked(path, filled):
    """The pixels of a sign, black on white, without colour."""
    page = RendererAgg(25, 25, 72)
    brush = page.new_gc()
    brush.set_linewidth(2)
    placed = Affine2D().scale(9).translate(12.5, 12.5)
    page.draw_path(brush, path, placed, (0, 0, 0, 1) if filled else None)
    return np.asarray(page.buffer_rgba())[..., 3] > 127


def test_each_end_has_a_shape_of_its_own():
    assert set(change_grid.SIGNS) == set(OUTCOMES)
    shapes = {end: inked(path, end in change_grid.FILLED) for end, path in change_grid.SIGNS.items()}
    for end, pixels in shapes.items():
        assert pixels.sum() > 25, end
        rows, columns = np.nonzero(pixels)
        assert rows.min() > 0 and rows.max() < 24 and columns.min() > 0 and columns.max() < 24, end
    for one, other in combinations(OUTCOMES, 2):
        unlike = (shapes[one] ^ shapes[other]).sum()
        assert unlike > 0.3 * min(shapes[one].sum(), shapes[other].sum()), (one, other)


SLIPS = [("switch", -1), ("lever gear", 2), ("hook cam", -3), ("switch", 4)]


@pytest.mark.parametrize(("mesh", "teeth"), SLIPS)
def test_every_change_stands_in_its_cell(mesh, teeth):
    machine = small()
    _, grid = grid_of(machine, mesh, teeth)
    faulty = machine.with_faults(slip(mesh, teeth))
    failing = {tuple(np.round(p.vertices[:4].mean(axis=0), 6)) for p in grid.failing.get_paths()}
    for (x, y), path in zip(grid.signs.get_offsets(), grid.signs.get_paths(), strict=True):
        column, row = int((x - grid.left) // change_grid.CELL), int((y - grid.top) // change_grid.CELL)
        start, target = ("IN", "HALF", "OUT")[row], ("IN", "HALF", "OUT")[column]
        ended = change(faulty, start, target)
        assert path is change_grid.SIGNS[ended.outcome], (start, target)
        works = ended.outcome in ("reached", "reached on retry")
        assert ((round(x, 6), round(y, 6)) in failing) != works


def test_the_key_counts_every_end():
    result, grid = grid_of(load("alder"), "loading gear", -1)
    counted = {end: int(word.get_text() or 0) for end, word in grid.counts.items()}
    assert list(counted) == list(OUTCOMES) and sum(counted.values()) == len(result.table)
    for end, number in counted.items():
        assert number == sum(cell.change.outcome == end for cell in result.table.values())
    assert sum(number > 0 for number in counted.values()) > 1


def test_a_change_that_depends_on_the_way_of_arrival_is_marked():
    result, grid = grid_of(small(), "switch", 0)
    for marked in ({("IN", "OUT"), ("OUT", "HALF")}, set()):
        table = {pair: replace(cell, differs=pair in marked) for pair, cell in result.table.items()}
        grid.update(replace(result, table=table))
        cells = {(int((x - grid.left) // change_grid.CELL), int((y - grid.top) // change_grid.CELL))
                 for x, y in grid.differing.get_offsets()}  # fmt: skip
        assert cells == ({(2, 0), (1, 2)} if marked else set())  # column, row


def test_signs_are_as_large_as_their_cells_allow():
    picture = picture_of(small())
    signs = [artist for artist in picture.moving if isinstance(artist, PathCollection)]
    sizes = [s.get_sizes()[0] for s in signs if s.get_transform() == IdentityTransform() and s.get_paths()]
    px = 2 * np.sqrt(change_grid.SIGN_SIZE) * 96 / 72
    assert change_grid.SIGN_SIZE in sizes and 9 < px < change_grid.CELL - 4
