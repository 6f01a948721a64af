"""Where a part's gear takes no drive from its parent: it has come off its shaft, or teeth are missing there.

Works on knots, (theta, place) with theta rising, as ``runs`` does.  Friction holds what isn't driven where it
stands.
"""

from __future__ import annotations

from math import ceil, floor

from mechlib.transports.arcs import TINY
from mechlib.transports.model import Part

Knots = tuple[tuple[float, float], ...]


def past_missing_teeth(
    knots: Knots, part: Part, missing, start_deg: float | None = None, sense: int = 1
) -> Knots:
    """What drives ``part`` while its parent stands at ``knots``: it stands still while a gap goes by.

    All places here have the parent's slip in them: the gap sits on its teeth.  ``missing``: pairs of the
    parent's place at which a gap starts and the teeth missing from there on; each comes again with every
    turn of the parent.  The part is on its mark where its parent stands at 0.  With ``start_deg``, the place
    of the part where the motion starts, whole teeth that it has lost or gained in earlier turns are kept.

    >>> part = Part("arm gear", "gear", 36, "main gear", 36, 1.0, 1.0, "dot to dot")
    >>> past_missing_teeth(((0, 0.0), (100, 100.0)), part, [(50, 2)])
    ((0, 0.0), (50.0, 50.0), (70.0, 50.0), (100, 80.0))
    """
    pitch, turn = part.pitch_deg, part.parent_teeth * part.pitch_deg

    def lost(place: float) -> float:
        gaps = ((at, teeth * pitch) for at, teeth in missing)
        return sum(_within(place - at, width, turn) - _within(-at, width, turn) for at, width in gaps)

    def driven(knot: tuple[float, float]) -> tuple[float, float]:
        return knot[0], knot[1] - lost(knot[1])

    edges = [edge for at, teeth in missing for edge in (at, at + teeth * pitch)]
    found = [driven(knots[0])]
    for (t0, x0), (t1, x1) in zip(knots, knots[1:], strict=False):
        inside = {x for edge in edges for x in _every(edge, turn, x0 + TINY, x1 - TINY)}
        found += [driven((t0 + x - x0, x)) for x in sorted(inside)] + [driven((t1, x1))]
    if start_deg is None:
        return tuple(found)
    ahead = floor((start_deg - found[0 if sense > 0 else -1][1] + TINY) / pitch) * pitch
    return tuple((theta, place + ahead) for theta, place in found)


def coming_off(
    knots: Knots, start_deg: float, sense: int, at_deg: float, turn_deg: float | None = None
) -> Knots:
    """Where a part stands that would stand at ``knots`` if its clip weren't gone: it comes off at ``at_deg``.

    Then it stands, whichever way its parent turns.  It is off already where it starts at ``at_deg`` or, with
    end stops, further on: there it can't have come otherwise.  ``turn_deg`` is for a cam that goes round: the
    turn after which its places come again.

    >>> coming_off(((0, 0), (100, 100)), 0, 1, 60)
    ((0, 0), (60, 60), (100, 60))
    >>> coming_off(((0, 0), (100, 100)), 60, -1, 60)
    ((0, 60), (100, 60))
    """
    off = _comes_off_at(start_deg, sense, at_deg, turn_deg)
    if off is None:
        return knots
    if off == start_deg:
        return standing(knots, start_deg)
    found = [knots[0]]
    for (t0, x0), (t1, x1) in zip(knots, knots[1:], strict=False):
        if x0 + TINY < off < x1 - TINY:
            found.append((t0 + off - x0, off))
        found.append((t1, x1))
    limit = min if sense > 0 else max
    return tuple((theta, limit(place, off)) for theta, place in found)


def shifted(knots: Knots, by_deg: float) -> Knots:
    """The same, so many degrees further on.

    >>> shifted(((0, 0), (100, 100)), 30)
    ((0, 30), (100, 130))
    """
    return tuple((theta, place + by_deg) for theta, place in knots) if by_deg else knots


def standing(knots: Knots, place_deg: float) -> Knots:
    """A part that stands at one place all along.

    >>> standing(((0, 0), (100, 100)), 30)
    ((0, 30), (100, 30))
    """
    return tuple((theta, place_deg) for theta, _ in knots)


def _comes_off_at(start_deg: float, sense: int, at_deg: float, turn_deg: float | None) -> float | None:
    """The place at which it comes off on the way; its start where it is off, None where it stays on."""
    if turn_deg is None:
        further = at_deg if sense > 0 else None
        return start_deg if start_deg >= at_deg - TINY else further
    way = (at_deg - start_deg) * sense % turn_deg
    return start_deg if min(way, turn_deg - way) <= TINY else start_deg + sense * way


def _within(ahead: float, width: float, turn: float) -> float:
    """How much of the way from the start of the gap on lies within gaps, one a turn; below 0 behind it."""
    turns, rest = divmod(ahead, turn)
    return turns * width + min(rest, width)


def _every(edge: float, turn: float, low: float, high: float) -> list[float]:
    """Every place from ``low`` to ``high`` at which the edge of a gap comes by."""
    return [edge + turn * n for n in range(ceil((low - edge) / turn), floor((high - edge) / turn) + 1)]
