"""The two axes of a timing chart: teeth of the main gear above, degrees of the main cam below."""

from __future__ import annotations

from matplotlib.ticker import FuncFormatter, MaxNLocator

from mechlib.say import say
from mechlib.transports.model import Transport

MOST_STEPS = 14
TOOTH_STEPS = [1, 2, 3, 5, 10]
DEGREE_STEPS = [1, 1.5, 2, 3, 4.5, 6, 10]


def theta_axes(axes, transport: Transport, **ticks):
    """Number the axes of a chart over theta, and return the one in teeth.

    On it stand whole teeth only: it is teeth that are counted at the gear.  ``ticks`` go to ``tick_params``.
    """
    a_tooth = 360.0 / transport.main_teeth
    teeth = axes.secondary_xaxis("top", functions=(transport.teeth_of, lambda count: count * a_tooth))
    teeth.xaxis.set_major_locator(MaxNLocator(MOST_STEPS, steps=TOOTH_STEPS, integer=True, min_n_ticks=1))
    axes.xaxis.set_major_locator(MaxNLocator(MOST_STEPS, steps=DEGREE_STEPS))
    for each in (axes, teeth):
        each.xaxis.set_major_formatter(FuncFormatter(_figures))
        each.tick_params(**ticks)
    return teeth


def _figures(at: float, _) -> str:
    return say(at, "", 0 if at == int(at) else 1)
