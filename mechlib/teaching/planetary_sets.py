"""The planetary sets from which exercises draw: all can be put together, and are told in the same words."""

from __future__ import annotations

from mechlib.gears.planetary import simple_set
from mechlib.gears.planetary_fit import assembly

MODULE_MM = 0.5
MOST_RATIO = 6  # ring over sun; beyond it a wrong answer upside down is no speed that anyone would type


def _fits(sun: int, planet: int, planets: int) -> bool:
    ring = sun + 2 * planet
    return ring <= MOST_RATIO * sun and assembly(simple_set(sun, planet, ring), planets, MODULE_MM).fits


SETS = tuple(
    (sun, planet, planets)
    for sun in range(12, 31)
    for planet in range(13, 33)
    for planets in (3, 4)
    if sun != planet and _fits(sun, planet, planets)
)
SET = {
    "teeth": SETS,
    "sun": lambda n: n.teeth[0],
    "planet": lambda n: n.teeth[1],
    "planets": lambda n: n.teeth[2],
    "ring": lambda n: n.sun + 2 * n.planet,  # the planets lie between sun and ring on both sides
}
A_SET = "A planetary set has a sun of {sun} teeth, planets of {planet} and a ring of {ring}. "


def a_set(n):
    """The set with the drawn teeth."""
    return simple_set(n.sun, n.planet, n.ring)
