"""Where the letters of sun and planet stand on the picture of a set: clear of arms, arrows, dots and signs.

All places are complex numbers in the picture's own length, with the axis of the set at nought.
"""

from __future__ import annotations

import numpy as np

from mechlib.draw.planetary_view import View

FREE = np.exp(-1.1j)  # the direction to which no arrow on a body ever gets: the lower right
ROOM = 0.037  # of a letter's middle from any line; more than half an arm, so that it is never within one
APART = 0.014  # between two places that are tried further and further out
GAP = 0.03  # from the letter's middle to its leader
TURN = 0.3  # radians between two places that are tried on a planet


class Lines:
    """What the letters must clear: lines from corner to corner."""

    def __init__(self, lines):
        edges = [np.array([line[:-1], line[1:]]) for line in map(np.asarray, lines)]
        self.starts, ends = np.concatenate(edges, axis=1)
        self.along = ends - self.starts
        self.squares = np.maximum(abs(self.along) ** 2, 1e-12)

    def room(self, at: complex) -> float:
        """The distance of a place from the nearest of the lines."""
        share = ((at - self.starts) * self.along.conj()).real / self.squares
        return float(min(abs(self.starts + np.clip(share, 0, 1) * self.along - at)))


def on_sun(result: View, places, on_body: float, lines: Lines) -> tuple[complex, list[complex]]:
    """Where the sun's letter stands, and its leader: empty where it stands on the sun.

    ``places``: where the picture has everything; ``on_body``: where on the sun it stands, of the root radius.
    It stands between two arms.  A sun that has no room gets it outside, between two planets, with a leader
    to a tooth.
    """
    ways = _between_arms(places.pins)
    inside = [on_body * places.sun_root * way for way in ways]
    for at in inside:
        if abs(at) >= places.hub + ROOM and lines.room(at) >= ROOM:
            return at, []
    for at in _outside(places, ways):
        if lines.room(at) >= ROOM:
            return at, [at * (1 - GAP / abs(at)), _tooth(result, places, at)]
    return max(inside, key=lines.room), []


def on_planet(pin: complex, radius: float, lines: Lines) -> complex:
    """Where the planet's letter stands: to the lower right, or as near to that as there is room."""
    turns = sorted(np.arange(-10, 11) * TURN, key=abs)
    tried = [pin + radius * FREE * np.exp(1j * turn) for turn in turns]
    clear = (at for at in tried if lines.room(at) >= ROOM)
    return next(clear, None) or max(tried, key=lines.room)


def _between_arms(pins) -> list[complex]:
    """Directions between neighbouring arms, the middles first, then the quarters; the nearest to FREE."""
    angles = np.sort(np.angle(pins))
    gaps = np.diff(angles, append=angles[0] + 2 * np.pi)
    ways = []
    for shares in ((0.5,), (0.25, 0.75)):
        found = [np.exp(1j * (angles + share * gaps)) for share in shares]
        ways += sorted(np.concatenate(found), key=lambda way: abs(way - FREE))
    return ways


def _outside(places, ways):
    """Places outside the sun, from its tips outwards, that are clear of the planets and of the ring."""
    for way in ways:
        for radius in np.arange(places.sun_tip + ROOM, places.ring_tip - ROOM, APART):
            if min(abs(places.pins - radius * way)) >= places.planet_tip + ROOM:
                yield radius * way


def _tooth(result: View, places, at: complex) -> complex:
    """The middle of the sun's tooth that is nearest to a place."""
    pitch, turned = 2 * np.pi / result.teeth[0], np.radians(result.sun_deg)
    way = turned + round((np.angle(at) - turned) / pitch) * pitch
    return (places.sun_root + places.sun_tip) / 2 * np.exp(1j * way)
