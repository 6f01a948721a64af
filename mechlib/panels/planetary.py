"""The panel of a planetary set: choose teeth, hold, speed and loads, and follow the power as it turns."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace

from mechlib.bench.follow_power import PowerPath, follow
from mechlib.draw import LivePicture, planetary
from mechlib.draw.planetary_view import View, view
from mechlib.gears.planetary import simple_set
from mechlib.gears.power import Load
from mechlib.panels.base import ListedPanel
from mechlib.ranges import Choice, Range, starts

NONE = "none"

CONTROLS: dict[str, Range | Choice] = {
    "sun": Range("teeth of the sun", 8, 48, 1, 16),
    "planet": Range("teeth of each planet", 8, 40, 1, 16),
    "planets": Range("number of planets", 1, 6, 1, 4),
    "held": Choice("held (none: the loads decide)", (NONE, "sun", "carrier", "ring"), NONE),
    "rev_min": Range("input speed", -300, 300, 5, 120, "rev/min"),
    "ring_Nmm": Range("load at the ring", 0, 300, 1, 60, "N·mm"),
    "carrier_Nmm": Range("load at the carrier", 0, 300, 1, 120, "N·mm"),
    "seconds": Range("time", 0.0, 2.0, 0.005, 0.0, "s"),
}


@dataclass(frozen=True)
class Shown:
    """What the panel shows: the way of the power, and the picture of it."""

    path: PowerPath
    view: View

    def sentence(self) -> str:
        """The finding."""
        return self.path.sentence()


SCENE = SimpleNamespace(
    create=lambda figure, result: planetary.create(figure, result.view),
    update=lambda artists, result: planetary.update(artists, result.view),
)


def shown(sun: int, planet: int, planets: int, held: str, rev_min, ring_Nmm, carrier_Nmm, seconds) -> Shown:
    """The panel's compute: values as in ``CONTROLS``, ring = sun + 2·planet.

    Raises MechError where the planets don't go in, and if the input stands.

    >>> shown(16, 16, 4, "ring", 120, 60, 120, 0.5).view.carrier_deg
    90.0
    """
    one = simple_set(sun, planet, sun + 2 * planet)
    loads = {"ring": Load(ring_Nmm), "carrier": Load(carrier_Nmm)}
    path = follow(one, rev_min, loads, None if held == NONE else held)
    fixed = [path.held] if path.held else []
    return Shown(path, view(one, path.speeds, planets, seconds, [path.driven.member], fixed, path.sentence()))


class PlanetaryPanel(ListedPanel):
    """The panel; below the picture stand the states of the set, as text to select and copy."""

    label, height, font = "states of the set", "15em", "monospace"

    @property
    def listed(self) -> str:
        """What each state of the set does, and the two ways between which the loads decide."""
        return self.picture.result.path.table()


def planetary_set(**values) -> PlanetaryPanel:
    """Return the panel that follows the power through a planetary set of sun, equal planets and ring.

    ``values``: where its controls start, by the names, units and ranges in ``CONTROLS``: ``sun`` and
    ``planet`` teeth (the ring has sun + 2·planet), number of ``planets``, the ``held`` member or "none",
    ``rev_min`` of the input (the sun, but the ring if the sun is held), the loads ``ring_Nmm`` and
    ``carrier_Nmm``, and the time ``seconds`` after the start.  A value not given starts at its default.
    Raises MechError for other names, out of range, and for a set that can't be put together or stands.

    >>> planetary_set(ring_Nmm=100)
    Carrier moves at +30.00 rev/min for 30.0 N·mm at sun; ring stands and bears 90.0 N·mm of the 100.0 \
N·mm that it can; the power changes over when carrier asks for 133.3 N·mm.
    """
    picture = LivePicture(shown, SCENE, starts(CONTROLS, **values), planetary.SIZE_PX)
    return PlanetaryPanel(picture, CONTROLS, name="planetary_set")
