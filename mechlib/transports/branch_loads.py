"""What stands against a motion over cells of theta, branch by branch of the train, kept with the cells.

A branch is a part with all that hangs on it.  Machines with other loads elsewhere share what a branch asks.
"""

from __future__ import annotations

import numpy as np

from mechlib.transports.clock import Cells
from mechlib.transports.kept import Key, shared
from mechlib.transports.model import SENSE
from mechlib.transports.runs import Run
from mechlib.transports.track_loads import asked_on_cells, dragged_on_cells, moves_of


def cam_on_cells(run: Run, cells: Cells):
    """N·mm against the motion at all outputs together, at each place of the cells; 0.0 where nothing is."""
    keys = _keys(run)
    return sum(_carried(keys[root.name], cells) for root in run.transport.roots if root.name in keys)


def passed(load, against: float, along: float):
    """What a mesh passes on of a load: more of one that stands against the motion, less of one that helps.

    ``against`` is 1 at least, ``along`` 1 at most: so it is the larger of both.

    >>> passed(2.0, 1.25, 0.8), passed(-2.0, 1.25, 0.8), passed(np.array([2.0, -2.0]), 1.25, 0.8).tolist()
    (2.5, -1.6, [2.5, -1.6])
    """
    if isinstance(load, float):
        return max(load * against, load * along)
    return np.maximum(load * against, load * along)


def _keys(run: Run) -> dict[str, Key]:
    """For each root and part on which something asks, what decides it.

    The sense, its drag, its knots, how far it stands ahead, its moving followers, and its branches, each with
    the efficiency of its mesh.
    """
    transport, sense, drags = run.transport, SENSE[run.sense], dict(run.transport.drags)
    moved: dict[str, list] = {}
    for one in transport.followers:
        if moves_of(one.programme, run.knots[one.part], transport.advance_deg[one.part], transport.cyclic):
            moved.setdefault(one.part, []).append(one)
    keys: dict[str, Key] = {}
    branches: dict[str, list] = {}
    parents = {part.name: (part.parent, part.mesh_efficiency) for part in transport.parts}
    for gear in (*reversed(transport.parts), *transport.roots):  # children stand after their parents
        name = gear.name
        if not (name in moved or name in drags or name in branches):
            continue
        stands = run.knots[name], transport.advance_deg[name], transport.cyclic
        asks = tuple(moved.get(name, ())), tuple(branches.get(name, ()))
        keys[name] = shared((sense, drags.get(name, 0.0), *stands, *asks))
        if name in parents:
            parent, passes = parents[name]
            branches.setdefault(parent, []).append((keys[name], passes))
    return keys


def _carried(key: Key, cells: Cells):
    """What a root or part carries: its own loads, and what its branches pass on to it."""
    if key not in cells.carried:
        sense, drag, knots, advance_deg, cyclic, followers, branches = key.parts
        total = dragged_on_cells(cells, knots, drag) if drag else 0.0
        for one in followers:
            total = total + asked_on_cells(cells, one, knots, advance_deg, sense, cyclic)
        for branch, passes in branches:
            total = total + passed(_carried(branch, cells), 1 / passes, passes)
        cells.carried[key] = total
    return cells.carried[key]
