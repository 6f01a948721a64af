"""How an elastic belt's tensions go together: the balance of length between fixed centres.

On each pulley the belt rests at the tension of the run that comes to it, and creeps on the last piece of its
wrap, where the tension changes to that of the run that leaves.  Where it slips, one wrap creeps as a whole.
All of it together, each piece over 1 + its stretch, is as long as the belt was.  Sources: Euler 1762 and
Eytelwein 1808 for the tension round a pulley; Johnson, Contact Mechanics (1985), section 8.2, for rest and
creep; from memory.
"""

from __future__ import annotations

from math import exp, log, radians

from mechlib.drives.belts import BeltPath

NEAR = 1e-9  # of a stretch, at which Newton's steps end

Stretches = tuple[float, float]  # of the tight and of the slack run; 1 is 100 %


def stretches_at(path: BeltPath, loose_mm: float, rates: tuple[float, float], exponent: float) -> Stretches:
    """Stretch of the tight and of the slack run at T1/T2 = e^exponent; 0 for a belt that hangs loose.

    ``loose_mm``: the unstretched middle line; ``rates``: exponent of the grip per radian on the driver and on
    the driven pulley, μ/sin(γ/2); ``exponent``: 0 (at rest) to that of the smaller grip (slipping).

    >>> [round(stretch, 4) for stretch in stretches_at(BeltPath(11.2, 51.2, 80), 250, (0.6, 0.6), 1.5)]
    [0.0983, 0.0219]
    """
    mean = path.length_mm / loose_mm - 1
    if mean <= 0:
        return 0.0, 0.0
    tight_mm, slack_mm, creep_mm = _pieces(path, rates, exponent)
    part = exp(-exponent)
    evenly = tight_mm + part * slack_mm + (1 - part) * creep_mm
    old, new = 0.0, mean * path.length_mm / evenly  # at most the right one, as 1/(1 + x) is hollow upwards
    while new > old * (1 + NEAR):
        old, tight, slack = new, 1 + new, 1 + part * new
        used = tight_mm / tight + slack_mm / slack + creep_mm * (exponent - log(tight / slack))
        fall = tight_mm / tight**2 + part * slack_mm / slack**2 + creep_mm * (1 / tight - part / slack)
        new = old + (used - loose_mm) / fall
    return new, part * new


def _pieces(path: BeltPath, rates: tuple[float, float], exponent: float) -> tuple[float, float, float]:
    """Mm of the path at the tight run's tension, at the slack one's, and of creep to 1 of the exponent."""
    on_driver, on_driven = path.driver_mm / 2 / rates[0], path.driven_mm / 2 / rates[1]
    rest_on_driver = path.driver_mm / 2 * radians(path.driver_wrap_deg) - on_driver * exponent
    rest_on_driven = path.driven_mm / 2 * radians(path.driven_wrap_deg) - on_driven * exponent
    return path.span_mm + rest_on_driver, path.span_mm + rest_on_driven, on_driver + on_driven


def stretches_under(
    path: BeltPath, loose_mm: float, rates: tuple[float, float], most: float, difference: float
) -> Stretches:
    """Stretch of both runs, so far apart as the pull asks: the exponent by halving from 0 to ``most``.

    The other arguments as for ``stretches_at``; beyond what ``most`` holds, its stretches.

    >>> tight, slack = stretches_under(BeltPath(11.2, 51.2, 80), 250, (0.6, 0.6), 1.5, 0.05)
    >>> round(tight, 4), round(slack, 4)
    (0.0829, 0.0329)
    """
    low, high = 0.0, most
    while low < (middle := (low + high) / 2) < high:
        tight, slack = stretches_at(path, loose_mm, rates, middle)
        low, high = (middle, high) if tight - slack < difference else (low, middle)
    return stretches_at(path, loose_mm, rates, high)
