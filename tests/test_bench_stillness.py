"""How long nothing moves on a way by hand: by hand on the small machine, and by stepping along the lifts."""

from __future__ import annotations

import numpy as np
import pytest
from small_machine import small

from mechlib.bench.stillness import still_deg, unseen_deg
from mechlib.bench.way_out import way_out
from mechlib.transports import load, slip

near = pytest.approx
ALDER, CEDAR = load("alder"), load("cedar")
STEP = 0.02  # degrees of the main cam


def test_the_small_machine_by_hand():
    # From 110 to 2.  Turning back the lever moves from 37 to 17 and the hook from 87 to 67 and 65 to 55, so
    # nothing moves for 23 degrees at first, then for 2, for 18 and, behind the last, for 15.
    way = way_out(small(), 110)
    assert still_deg(way, 110, 2) == near(23)
    assert still_deg(way, 80, 40) == near(18)
    assert still_deg(way, 30, 2) == near(15)
    assert still_deg(way, 86, 68) == 0.0
    # One mm a degree, and both count as off their place by more than 1 mm: seen after 1 degree and 3 of play.
    assert unseen_deg(way, 50, 2) == near(4)
    assert unseen_deg(way, 30, 2) is None


def test_a_way_with_no_move_is_all_still():
    way = way_out(small(), 5)
    assert not way.moves
    assert still_deg(way, way.start_deg, way.stop_deg) == near(way.turn_deg)
    assert unseen_deg(way, way.start_deg, way.stop_deg) is None


def _stepped(way):
    """By small steps, the longest time in which no lever visibly moves, and the longest till one is seen."""
    steps = int(way.turn_deg / STEP)
    thetas = np.linspace(way.start_deg, way.stop_deg, steps)
    moving, late = np.zeros(steps - 1, bool), 0
    for f in way.run.transport.followers:
        lifts = np.array([f.lift(way.run.slipped_place(f.part, theta)) for theta in thetas])
        signs = np.where(np.abs(np.diff(lifts)) < 1e-12, 0, np.sign(np.diff(lifts)))
        edges = [0, *(np.flatnonzero(np.diff(signs)) + 1), steps - 1]
        for first, last in zip(edges, edges[1:], strict=False):
            if signs[first] and abs(lifts[last] - lifts[first]) > f.tolerance_mm:
                moving[first:last] = True
                late = max(late, int(np.argmax(np.abs(lifts[first:] - lifts[first]) > f.tolerance_mm)))
    runs = np.split(moving, np.flatnonzero(np.diff(moving)) + 1)
    still = max((len(run) for run in runs if not run[0]), default=0)
    return still * way.turn_deg / (steps - 1), late * way.turn_deg / (steps - 1)


@pytest.mark.parametrize(
    ("machine", "start"),
    [(ALDER, 266), (ALDER, 190), (ALDER, 40), (CEDAR, 200), (ALDER.with_faults(slip("pinch cam", 2)), 130)],
)
def test_stepping_along_the_lifts_finds_the_same(machine, start):
    way = way_out(machine, start)
    still, late = _stepped(way)
    assert still > 3 and late > 3
    assert still_deg(way, way.start_deg, way.stop_deg) == near(still, abs=4 * STEP)
    unseen = unseen_deg(way, way.start_deg, way.stop_deg)
    assert unseen - way.play_deg == near(late, abs=4 * STEP)


def test_no_sooner_than_the_longest_that_a_move_of_the_stretch_takes():
    way = way_out(ALDER, 190)
    whole = unseen_deg(way, way.start_deg, way.stop_deg)
    parts = [unseen_deg(way, move.begin_deg, move.begin_deg) for move in way.moves]
    assert whole == near(max(parts)) and min(parts) > way.play_deg
