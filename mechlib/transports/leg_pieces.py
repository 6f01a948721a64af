"""A leg in pieces: where its parts go as on the whole travel, and where play is taken up first.

It is the same for machines that differ only in what they ask of the motor, and kept for all of them.
"""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.transports.arcs import TINY, Arcs, complement, merge
from mechlib.transports.kept import Kept, Key, shared
from mechlib.transports.lost_drive import Knots
from mechlib.transports.model import SENSE
from mechlib.transports.outcomes import DIGITS
from mechlib.transports.runs import Run, place_on
from mechlib.transports.track_loads import moves_of

_PIECES, _APART = Kept(8192), Kept(4096)


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of a leg from its ``first_deg`` to its ``last_deg`` in the order of the motion.

    ``moves``: which parts and tracks move from where to where, each with the angle at its end; None where
    they go as on the whole travel.  ``parts``: names of those parts; ``tracks``: numbers of the followers.
    """

    first_deg: float
    last_deg: float
    moves: Key | None = None
    parts: tuple[str, ...] = ()
    tracks: tuple[int, ...] = ()


def pieces_of(run: Run, whole: Run) -> tuple[Piece, ...]:
    """The pieces of a leg along ``run``, in the order of the motion; ``whole``: the whole travel."""

    def find() -> tuple[Piece, ...]:
        own, sense = _apart(run, whole), SENSE[run.sense]
        pieces = [_own(run, low, high) for low, high in own]
        pieces += [Piece(*arc[::sense]) for arc in complement(own, run.low, run.high)]
        return tuple(sorted(pieces, key=lambda piece: sense * piece.first_deg))

    decides = run.transport.decides
    return _PIECES.of((run.motion, decides.shifts, decides.tracks), find)


def _apart(run: Run, whole: Run) -> Arcs:
    """Arcs of theta on which some part moves otherwise in two runs; where it stands doesn't matter."""

    def find() -> Arcs:
        pairs = ((knots, whole.knots[part]) for part, knots in run.knots.items())
        return merge(arc for pair in pairs for arc in _moves_apart(*pair))

    return _APART.of((run.motion, whole.motion), find)


def _moves_apart(knots: Knots, whole: Knots) -> list[tuple[float, float]]:
    """The same for one part, within the first knots.

    >>> _moves_apart(((0, 3), (3, 3), (9, 9)), ((-9, -9), (9, 9)))
    [(0, 3)]
    """
    low, high = knots[0][0], knots[-1][0]
    angles = sorted({low, high, *(theta for theta, _ in (*knots, *whole) if low <= theta <= high)})
    stands = [(at, place_on(knots, at), place_on(whole, at)) for at in angles]
    found = []
    for (start, here, before), (end, there, after) in zip(stands, stands[1:], strict=False):
        moves = there - here > TINY or after - before > TINY
        if moves and (abs(here - before) > TINY or abs(there - after) > TINY):
            found.append((start, end))
    return found


def _own(run: Run, low: float, high: float) -> Piece:
    """The piece between two angles, with what moves there."""
    parts, tracks, moves = _parts(run, low, high), _tracks(run, low, high), []
    for start, end, what, place in (*parts, *tracks):
        moves.append((what, max(start, low), min(end, high), place))
    key = shared((run.sense, low, high, *moves))
    names, numbers = (tuple(dict.fromkeys(what for _, _, what, _ in found)) for found in (parts, tracks))
    return Piece(*(low, high)[:: SENSE[run.sense]], key, names, numbers)


def _parts(run: Run, low: float, high: float) -> list[tuple[float, float, str, float]]:
    """From where to where parts move that move between two angles; theta left out, all go along with it."""
    return [
        (t0, t1, part, 0.0)
        for part, knots in run.knots.items()
        for (t0, x0), (t1, x1) in zip(knots, knots[1:], strict=False)
        if t0 < high and t1 > low and x1 - x0 > TINY
    ]


def _tracks(run: Run, low: float, high: float) -> list[tuple[float, float, int, float]]:
    """From where to where tracks move their followers, told by number, that do so between two angles.

    And where each track stands, theta left out, as it goes along with theta.
    """
    found, advance, cyclic = [], run.transport.advance_deg, run.transport.cyclic
    for number, one in enumerate(run.transport.followers):
        knots, ahead = run.knots[one.part], advance[one.part]
        for start, end in moves_of(one.programme, knots, ahead, cyclic):
            if start < high and end > low:
                middle = (start + end) / 2
                found.append((start, end, number, round(place_on(knots, middle) + ahead - middle, DIGITS)))
    return found
