"""A second, independent way to a belt's tensions: the tension all round it, sampled, and its length counted.

Nothing of mechlib is used here.  A belt keeps its tension while it rests on a pulley; on the last piece of a
wrap it changes to that of the run that leaves, as fast as friction lets it.  So on the driver the tension is
the least, on the driven pulley the most of both.
"""

from __future__ import annotations

from math import acos, exp, pi, sqrt

import numpy as np
from scipy.optimize import brentq

POINTS = 20001  # on each wrap


class BeltRound:
    """Pitch diameters, centres and unstretched middle line in mm, E·A in N, friction per radian of each."""

    def __init__(self, driver, driven, apart, loose, stiffness, rates, crossed=False):
        self.radii, self.loose, self.stiffness, self.rates = (driver / 2, driven / 2), loose, stiffness, rates
        rise = (driven + driver if crossed else driven - driver) / 2
        half = acos(rise / apart)  # of the driver's wrap, open; may be above a right angle
        self.wraps = (2 * pi - 2 * half if crossed else 2 * half, 2 * pi - 2 * half)
        self.run = sqrt(apart**2 - rise**2)
        self.path = 2 * self.run + sum(np.multiply(self.radii, self.wraps))
        self.rest = max(0.0, stiffness * (self.path / loose - 1))
        self.ratio = exp(min(min(np.multiply(rates, self.wraps)), 300))

    def used(self, tight: float, slack: float) -> float:
        """Unstretched length of the belt with these tensions in its runs."""
        (at_driver, at_driven), done = (np.linspace(0, wrap, POINTS) for wrap in self.wraps), 0.0
        leaving = slack * np.exp(self.rates[0] * at_driver), tight * np.exp(-self.rates[1] * at_driven)
        for tension, angle, radius in (
            (np.minimum(tight, leaving[0]), at_driver, self.radii[0]),
            (np.maximum(slack, leaving[1]), at_driven, self.radii[1]),
        ):
            done += radius * np.trapezoid(1 / (1 + tension / self.stiffness), angle)
        return done + sum(self.run / (1 + tension / self.stiffness) for tension in (tight, slack))

    def slipping(self) -> tuple[float, float]:
        """Tensions of the tight and the slack run where the whole of one wrap creeps."""
        if not self.rest:
            return 0.0, 0.0
        high = self.rest
        while self.used(high, high / self.ratio) > self.loose:
            high *= 2
        tight = brentq(lambda t: self.used(t, t / self.ratio) - self.loose, self.rest, high, xtol=1e-12)
        return tight, tight / self.ratio

    def under(self, pull: float) -> tuple[float, float]:
        """The same where it pulls so much, short of slipping."""
        least = pull / (self.ratio - 1)
        slack = brentq(lambda t: self.used(t + pull, t) - self.loose, least, self.rest, xtol=1e-12)
        return slack + pull, slack
