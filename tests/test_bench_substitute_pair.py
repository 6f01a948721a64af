"""A substitute in mesh: measured on the drawn outlines, which know nothing of the formulas of a mesh."""

from __future__ import annotations

import math

import numpy as np
import pytest
from edges import check_edges
from matplotlib.path import Path
from second_way_teeth import distances

from mechlib.bench.stock import spares_bin
from mechlib.bench.substitute import substitutes
from mechlib.bench.substitute_form import case_of, filled
from mechlib.bench.substitute_pair import pair_in_mesh
from mechlib.errors import MechError
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_outline import outline

near = pytest.approx
FOUND = substitutes(case_of(filled("idler between a pinion and a reel gear")), spares_bin())
TOLERANCE = 0.0005  # modules
MATES = [
    ("pinion", -1),
    ("reel gear", 1),
]  # and which way, seen from above, the mate is free to go: + is back
FINE = 0.001  # mm


def lines(pair, more_deg=0.0):
    """Both outlines where the pair has them, as complex numbers; the mate turned on by so much."""
    placed = []
    for gear, angle, x in zip(
        pair.gears,
        (pair.turn_deg, pair.mate_deg + more_deg),
        (0, pair.found.mesh.centre_mm),
        strict=True,
    ):
        points = outline(gear, TOLERANCE * gear.module_mm)
        placed.append((points[:, 0] + 1j * points[:, 1]) * np.exp(1j * math.radians(angle)) + x)
    return placed


def overlap_and_gap(pair, more_deg=0.0):
    """How deep one is in the other, the smallest gap between them, and the corners that are inside."""
    one, other = lines(pair, more_deg)
    deep, gap, inside = 0.0, math.inf, []
    for points, line in ((one, other), (other, one)):
        close = points[abs(points - pair.found.mesh.working_mm[0] / 2) < 4 * pair.gears[0].module_mm]
        off = distances(close, line)
        within = Path(np.stack([line.real, line.imag], 1)).contains_points(
            np.stack([close.real, close.imag], 1)
        )
        deep, gap = max(deep, off[within].max(initial=0.0)), min(gap, off.min())
        inside.append(close[within & (off > off[within].max(initial=0.0) / 2)])
    return deep, gap, np.concatenate(inside)


@pytest.mark.few(16)
@pytest.mark.parametrize("row", FOUND.rows[:4], ids=lambda row: f"{row.name} {row.teeth}")
@pytest.mark.parametrize("mate, way", MATES)
@pytest.mark.parametrize("turn", [0.0, 4.5, 33.0, 60.0])
def test_flanks_touch_and_all_the_backlash_lies_behind(row, mate, way, turn):
    """The mate can be turned away from the touching flank by just the backlash, and no further."""
    pair = pair_in_mesh(row, mate, turn)
    deep, gap, _ = overlap_and_gap(pair)
    assert deep < FINE and gap < FINE
    backlash = math.degrees(pair.found.mesh.backlash_mm / (pair.found.mesh.working_mm[1] / 2))
    deep, gap, _ = overlap_and_gap(pair, -way * backlash)
    assert deep < FINE and gap < FINE
    deep, gap, _ = overlap_and_gap(pair, -way * backlash / 2)
    assert deep == 0 and gap == near(pair.found.mesh.normal_backlash_mm / 2, abs=FINE)
    assert overlap_and_gap(pair, way * backlash / 2)[0] > 5 * FINE


@pytest.mark.parametrize("mate, way", MATES)
def test_where_flanks_touch_lies_on_the_path(mate, way):
    """Pressed into one another a little, the outlines overlap on the red line only."""
    for turn in np.linspace(0, 15, 7):
        pair = pair_in_mesh(FOUND.best, mate, float(round(turn, 3)))
        (x0, y0), (x1, y1) = pair.path_mm
        _, _, inside = overlap_and_gap(pair, way * 0.02)
        assert len(inside)
        off = abs((x1 - x0) * (inside.imag - y0) - (y1 - y0) * (inside.real - x0)) / math.hypot(
            x1 - x0, y1 - y0
        )
        assert off.max() < 0.3 * pair.gears[0].module_mm
        assert y0 - 0.2 < inside.imag.min() and inside.imag.max() < y1 + 0.2


def test_the_path_is_as_long_as_the_contact_ratio_says_and_lies_within_the_tips():
    for mate, _ in MATES:
        pair = pair_in_mesh(FOUND.best, mate)
        one, other = pair.gears
        start, end = (complex(*at) for at in pair.path_mm)
        own, its = (start, end) if pair.found.mate.drives else (end, start)
        assert abs(own) <= one.tip_mm / 2 + 1e-9
        assert abs(its - pair.found.mesh.centre_mm) <= other.tip_mm / 2 + 1e-9
        assert abs(end - start) == near(contact(pair.found.mesh).ratio * math.pi * one.base_mm / one.teeth)
        assert start.imag < 0 < end.imag


def test_what_is_said():
    pair = pair_in_mesh(FOUND.best, "reel gear", 10)
    assert pair.sentence().startswith("23 teeth in mesh with the reel gear of 48: backlash 0.077 mm at 20 °C")
    assert pair_in_mesh(FOUND.best).found.mate.name == "pinion"


@pytest.mark.parametrize("teeth, way", [(22, 1), (20, 1), (18, -1)])
def test_teeth_that_lose_touch_are_told(teeth, way):
    """Between the shafts of 24: gears too small for them, until no flanks touch at all."""
    row = next(row for row in FOUND.rows if row.stock and row.teeth == teeth)
    for mate, _ in MATES:
        pair = pair_in_mesh(row, mate)
        (_, y0), (_, y1) = pair.path_mm
        assert (y1 - y0) * way > 0 and pair.ratio < 1
        said = "so teeth lose touch." if way > 0 else "no flanks touch at 20 °C; contact ratio 0.00."
        assert pair.sentence().endswith(said)
        tips = [gear.tip_mm / 2 for gear in pair.gears]
        assert (sum(tips) > pair.found.mesh.centre_mm) == (way > 0)
    assert "lose touch" not in pair_in_mesh(FOUND.best).sentence()


def test_what_cant_be_is_refused():
    check_edges(lambda turn: pair_in_mesh(FOUND.best, turn_deg=turn), 0, 60)
    with pytest.raises(MechError, match="a 'worm'"):
        pair_in_mesh(FOUND.best, "worm")
    with pytest.raises(MechError, match="doesn't mesh"):
        pair_in_mesh(FOUND.rows[-1])
