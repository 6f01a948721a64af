"""The axes of a timing chart: whole teeth above, whatever the gear."""

from __future__ import annotations

from dataclasses import replace

import pytest
from matplotlib.figure import Figure

from mechlib.draw.theta_axes import MOST_STEPS, theta_axes
from mechlib.transports import load


def drawn(machine, low, high):
    """The axis in teeth of a chart from a low to a high theta."""
    figure = Figure()
    axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
    axes.set_xlim(low, high)
    teeth = theta_axes(axes, machine)
    figure.draw_without_rendering()
    return teeth


@pytest.mark.parametrize(("low", "high"), [(-18, 300), (-118, 268), (0, 360), (-15, 277.5), (-3, 8)])
@pytest.mark.parametrize("count", [4, 36, 48, 60, 80, 90, 2000])
def test_whole_teeth_and_not_too_many(low, high, count):
    machine = load("dogwood")
    machine = replace(machine, roots=(replace(machine.roots[0], teeth=count), *machine.roots[1:]))
    teeth = drawn(machine, low, high)
    shown = [at for at in teeth.get_xticks() if machine.teeth_of(low) <= at <= machine.teeth_of(high)]
    assert shown == [round(at) for at in shown] and 1 <= len(shown) <= MOST_STEPS + 1
    assert "." not in "".join(label.get_text() for label in teeth.get_xticklabels())


def test_a_gear_of_60_teeth_is_counted_in_fives():
    ticks = drawn(load("cedar"), -18, 300).get_xticks()
    assert [at for at in ticks if 0 <= at <= 15] == [0, 5, 10, 15]
