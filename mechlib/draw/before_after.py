"""The timing chart of a machine in which a gear got another count: as it was in grey, as it is in blue.

A scene for a picture that doesn't move; it shows a ``bench.other_teeth.OtherTeeth``.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

from mechlib.bench.other_teeth import OtherTeeth
from mechlib.bench.slip_effect import slip_effect
from mechlib.draw import chart_frame
from mechlib.draw import page as paper
from mechlib.draw.chart_rows import ChartRows

WIDTH, TITLE, EDGE = 1080, 26, 8


def size_px(machines: OtherTeeth) -> tuple[int, int]:
    """Width and height in page pixels: it grows with the rows of the chart.

    >>> from mechlib.bench.other_teeth import DRIVEN, other_teeth
    >>> from mechlib.transports import load
    >>> size_px(other_teeth(load("alder"), "idler cam", DRIVEN, 61))[0]
    1080
    """
    return WIDTH, round(TITLE + chart_frame.height(machines.after) + EDGE)


def create(figure, machines: OtherTeeth):
    """Draw everything on an empty figure of ``size_px``; nothing in it moves."""
    page = paper.sheet(figure, size_px(machines))
    before, after = (
        slip_effect(machine, machine.mesh_names[0], 0, machine.ends[0])
        for machine in (machines.before, machines.after)
    )
    told = f"{machines.new_teeth} teeth (blue) for {machines.old_teeth} (grey) at the {machines.mesh}"
    paper.put(page, 8, TITLE / 2, f"{machines.after.name}: {told}", WIDTH - 16, fontweight="bold")
    rows = ChartRows(page, replace(after, sound=before.chart), TITLE)
    rows.update(after)
    return SimpleNamespace(rows=rows, moving=[])


def update(artists, machines: OtherTeeth) -> None:
    """Nothing moves."""
