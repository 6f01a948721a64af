"""How long nothing moves on a way by hand, and how long a move that has begun may still not be seen."""

from __future__ import annotations

from mechlib.bench.way_out import LeverMove, Way
from mechlib.transports.arcs import merge
from mechlib.transports.model import SENSE

HALVINGS = 40  # of a move, to find where it shows


def still_deg(way: Way, first_deg: float, last_deg: float) -> float:
    """The longest stretch on end in which none of the way's moves goes on, in degrees of the main cam.

    Only stretches count that reach between ``first_deg`` and ``last_deg``, theta in the order of the way.
    The stretch before the first move and the one behind the last count, too.  Derived.

    >>> from mechlib.bench.way_out import way_out
    >>> from mechlib.transports import load
    >>> way = way_out(load("alder"), 190)
    >>> round(still_deg(way, way.start_deg, way.stop_deg), 1)
    13.0
    """
    spans = [sorted((move.begin_deg, move.end_deg)) for move in way.moves]
    low, high = sorted((way.start_deg, way.stop_deg))
    near, far = sorted((first_deg, last_deg))
    longest, free_from = 0.0, low
    for begin, end in (*merge(map(tuple, spans)), (high, high)):
        if begin > near and free_from < far:
            longest = max(longest, begin - free_from)
        free_from = max(free_from, end)
    return longest


def unseen_deg(way: Way, first_deg: float, last_deg: float) -> float | None:
    """How far a move that is due may be turned on before it shows: play, then the gentle start of its track.

    It shows once its lever is off its place by more than its tolerance.  The largest of the moves that are
    due between ``first_deg`` and ``last_deg`` counts; None where none is.  Derived.

    >>> from mechlib.bench.way_out import way_out
    >>> from mechlib.transports import load
    >>> way = way_out(load("alder"), 190)
    >>> round(unseen_deg(way, way.start_deg, way.stop_deg), 1)
    6.9
    """
    near, far = sorted((first_deg, last_deg))
    due = [move for move in way.moves if near <= move.begin_deg <= far]
    return way.play_deg + max(_shows_after(way, move) for move in due) if due else None


def _shows_after(way: Way, move: LeverMove) -> float:
    """Degrees from where a move begins to where it shows; on the way there its lift rises or falls only."""
    follower = way.run.transport.follower(move.follower)
    hidden, shown = 0.0, abs(move.end_deg - move.begin_deg)
    for _ in range(HALVINGS):
        middle = (hidden + shown) / 2
        theta = move.begin_deg + SENSE[way.sense] * middle
        lift = follower.lift(way.run.slipped_place(follower.part, theta))
        seen = abs(lift - move.from_mm) > follower.tolerance_mm
        hidden, shown = (hidden, middle) if seen else (middle, shown)
    return shown
