"""The path of a belt round two pulleys: length, wrap, centre distance and speed ratio.

Diameters here are those of the belt's middle line (pitch line), which keeps its length where the belt
bends: what the belt's inside lies on, plus the belt's thickness.  For each pulley: ``pitch_diameter``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, degrees, pi, sqrt

from mechlib.errors import MechError, check_number
from mechlib.say import say

DIAMETER_MM = (1.0, 2000.0)
CENTRES_MM = (1.0, 10000.0)
THICKNESS_MM = (0.0, 20.0)
CREEP_PERCENT = (0.0, 50.0)


def pitch_diameter(diameter_mm: float, thickness_mm: float) -> float:
    """Diameter of the middle line of a belt on a pulley: d + t.

    ``diameter_mm``: where the inside of the belt lies (bottom of a flat groove), 1 to 2000 mm;
    ``thickness_mm``: of the belt, 0 to 20 mm (of a round belt its diameter).  Raises MechError out of
    range.

    >>> pitch_diameter(10.8, 1.2)
    12.0
    """
    diameter = check_number("diameter_mm", diameter_mm, *DIAMETER_MM, "mm")
    return diameter + check_number("thickness_mm", thickness_mm, *THICKNESS_MM, "mm")


@dataclass(frozen=True)
class BeltPath:
    """A belt round a driver and a driven pulley, open or crossed.

    ``driver_mm``, ``driven_mm``: pitch diameters, 1 to 2000 mm; ``centres_mm``: at least half their sum
    (more for a crossed belt, which passes between them), up to 10 000 mm.  Raises MechError otherwise.

    >>> BeltPath(12, 60, 80).sentence()
    'The belt runs along 280.353 mm and lies round 145.1° of the driver and 214.9° of the driven pulley.'
    """

    driver_mm: float
    driven_mm: float
    centres_mm: float
    crossed: bool = False

    def __post_init__(self):
        check_number("driver_mm", self.driver_mm, *DIAMETER_MM, "mm")
        check_number("driven_mm", self.driven_mm, *DIAMETER_MM, "mm")
        touching = (self.driver_mm + self.driven_mm) / 2
        check_number("centres_mm", self.centres_mm, touching, CENTRES_MM[1], "mm", "pulleys must not overlap")

    @property
    def _rise_mm(self) -> float:
        """What a straight run rises from one pulley to the other, across its own direction, doubled."""
        return self.driven_mm + (self.driver_mm if self.crossed else -self.driver_mm)

    @property
    def _lean(self) -> float:
        """Angle β in radians between a straight run and the line of centres."""
        return asin(self._rise_mm / (2 * self.centres_mm))

    @property
    def driver_wrap_deg(self) -> float:
        """Degrees of the driver that the belt lies round: 180° − 2β open, 180° + 2β crossed."""
        return 180 + degrees(2 * self._lean) * (1 if self.crossed else -1)

    @property
    def driven_wrap_deg(self) -> float:
        """Degrees of the driven pulley that the belt lies round: 180° + 2β."""
        return 180 + degrees(2 * self._lean)

    @property
    def span_mm(self) -> float:
        """Length of one straight run, C·cos β."""
        return sqrt(self.centres_mm**2 - (self._rise_mm / 2) ** 2)

    @property
    def length_mm(self) -> float:
        """Length along the belt's middle line, exact: two straight runs and two arcs.

        With sin β = (d2 ∓ d1)/2C:  L = 2C·cos β + d1/2·(π ∓ 2β) + d2/2·(π + 2β); − open, + crossed.
        """
        arcs = self.driver_mm * self.driver_wrap_deg + self.driven_mm * self.driven_wrap_deg
        return 2 * self.span_mm + arcs * pi / 360

    def sentence(self) -> str:
        """Length and wraps."""
        kind = "The crossed belt" if self.crossed else "The belt"
        return (
            f"{kind} runs along {say(self.length_mm, 'mm', 3)} and lies round "
            f"{say(self.driver_wrap_deg, '°')} of the driver and {say(self.driven_wrap_deg, '°')} "
            "of the driven pulley."
        )


def path_for_length(length_mm: float, driver_mm: float, driven_mm: float, crossed: bool = False) -> BeltPath:
    """The path whose length is given: its centre distance by halving, as L rises with C.

    ``length_mm``: along the pitch line; at least that with the pulleys touching.  Raises MechError otherwise.

    >>> round(path_for_length(280.352855, 12, 60).centres_mm, 6)
    80.0
    """
    length = check_number("length_mm", length_mm, 1, 2 * CENTRES_MM[1], "mm")
    driver = check_number("driver_mm", driver_mm, *DIAMETER_MM, "mm")
    low = (driver + check_number("driven_mm", driven_mm, *DIAMETER_MM, "mm")) / 2
    shortest = BeltPath(driver_mm, driven_mm, low, crossed).length_mm
    if length < shortest:
        least = f"round pulleys that touch it is already {say(shortest, 'mm', 3)}"
        raise MechError(f"length_mm is {length:g} mm", f"{least}; a longer belt or smaller pulleys")
    high = length / 2  # two straight runs alone are no longer than the belt
    while low < (middle := (low + high) / 2) < high:
        if BeltPath(driver_mm, driven_mm, middle, crossed).length_mm < length:
            low = middle
        else:
            high = middle
    return BeltPath(driver_mm, driven_mm, high, crossed)


def driven_speed(
    rev_min: float,
    driver_mm: float,
    driven_mm: float,
    thickness_mm: float = 0.0,
    creep_percent: float = 0.0,
    crossed: bool = False,
) -> float:
    """Speed of the driven pulley: n2 = n1·(d1 + t)/(d2 + t)·(1 − creep/100), turned round by a crossed belt.

    ``rev_min``: of the driver, −1e6 to 1e6; diameters under the belt, 1 to 2000 mm; ``thickness_mm``: 0 to
    20 mm; ``creep_percent``: what elastic creep or slip takes, 0 to 50 %.  Raises MechError out of range.

    >>> round(driven_speed(2400, 10.8, 58.8, 1.2), 3), driven_speed(200, 80, 40, creep_percent=2.5)
    (480.0, 390.0)
    """
    rev_min = check_number("rev_min", rev_min, -1e6, 1e6, "rev/min")
    left = 1 - check_number("creep_percent", creep_percent, *CREEP_PERCENT, "%") / 100
    ratio = pitch_diameter(driver_mm, thickness_mm) / pitch_diameter(driven_mm, thickness_mm)
    return rev_min * ratio * left * (-1 if crossed else 1)
