"""Which lever can be the first to move, wherever the cam may stand and whatever way the play lies."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from math import inf

from mechlib.bench.way_out import LeverMove, Way, lever_moves, long_run
from mechlib.say import say
from mechlib.transports.arcs import TINY, Arcs, holding
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Follower
from mechlib.transports.runs import Run

STEP_DEG = 2.0  # between the places tried within an arc
LEAST_STEPS, HALVINGS = 8, 14
BESIDE_DEG = 1e-6  # of the edge of a move
MOST_FIRST = 3  # levers of which one is the first: more nobody watches
ONE_TURN = 360.0


@dataclass(frozen=True)
class First:
    """A follower that can be the first to move, whether it rises, and the state to which it goes."""

    follower: str
    rising: bool
    to_state: str
    to_mm: float = field(compare=False)

    def words(self) -> str:
        """The lever and where it goes."""
        return f"the {self.follower}, to {self.to_state} ({say(self.to_mm, 'mm')})"


def first_moves(way: Way, arcs: Arcs) -> tuple[First, ...]:
    """What moves first, if that shows the sense from every place; empty where it doesn't.

    ``arcs``: theta where the cam may stand, the start of the way among them.  There may be a few
    levers of which one is the first; empty where there are more than three, or where one of them may move
    alike, and first, in the wrong sense.  From each place the play may lie either way or between, for each
    follower by itself; a lever can be the first as long as no other has to show before it begins.  Places
    are tried two degrees apart, at the ends of the arcs, and where moves begin and end.  Derived.

    >>> from mechlib.bench.way_out import way_out
    >>> from mechlib.transports import load
    >>> way = way_out(load("alder"), 231)
    >>> [(first.follower, first.to_state) for first in first_moves(way, ((222, 231),))]
    [('reel idler', 'take-up')]
    >>> first_moves(way, ((152, 160), (222, 231)))
    ()
    """
    found: dict[First, None] = {}
    far = min(arc[0] for arc in arcs) if way.sense == LOADING else max(arc[1] for arc in arcs)
    ahead = lever_moves(way.run, far, way.stop_deg)
    beyond = lever_moves(way.run, way.stop_deg, _end(way.run, way.stop_deg))  # from places right already
    for theta in _places((*ahead, *beyond), arcs):
        past = (theta - way.stop_deg) * SENSE[way.sense] > 0
        found |= dict.fromkeys(firsts(way.run, beyond if past else ahead, theta))
        if len(found) > MOST_FIRST:
            return ()
    other, back = _back(way, arcs)
    if any(found.keys() & firsts(other, back, theta) for theta in _places(back, arcs)):
        return ()
    return tuple(found)


def _back(way: Way, arcs: Arcs) -> tuple[Run, tuple[LeverMove, ...]]:
    """The run in the wrong sense, and all that moves on it, from the place from which most of it comes."""
    transport, unloading = way.run.transport, way.sense == UNLOADING
    run = long_run(transport, LOADING if unloading else UNLOADING)
    near = min(arc[0] for arc in arcs) if unloading else max(arc[1] for arc in arcs)
    return run, lever_moves(run, near, _end(run, near))


def _end(run: Run, theta: float) -> float:
    """The end stop in the sense of a run, or a turn further on where the cam goes round."""
    if run.transport.cyclic:
        return theta + SENSE[run.sense] * ONE_TURN
    return run.high if run.sense == LOADING else run.low


def _places(moves: tuple[LeverMove, ...], arcs: Arcs) -> Iterator[float]:
    """Places to try: ends first, then the edges of moves from both sides, then all of the arcs."""
    for arc in arcs:
        yield from arc
    for edge in [edge for move in moves for edge in (move.begin_deg, move.end_deg)]:
        for theta in (edge - BESIDE_DEG, edge + BESIDE_DEG):
            if holding(arcs, theta) is not None:
                yield theta
    for low, high in arcs:
        steps = max(LEAST_STEPS, int((high - low) / STEP_DEG)) if high - low > TINY else 0
        yield from (low + (high - low) * step / steps for step in range(1, steps))


def firsts(run: Run, moves: tuple[LeverMove, ...], theta: float) -> set[First]:
    """All that can be the first to move from one place in the sense of the run.

    ``moves``: what moves from there on, or from further back.  Derived.

    >>> from mechlib.transports import load
    >>> run = long_run(load("alder"), "unloading")
    >>> [first.follower for first in firsts(run, lever_moves(run, 231, 100), 231)]
    ['reel idler']
    """
    direction, ahead, latest = SENSE[run.sense], [], (inf, None, None)
    for name in dict.fromkeys(move.follower for move in moves):
        follower, own = run.transport.follower(name), [move for move in moves if move.follower == name]
        play = sum(run.transport.part(p).play_deg for p in run.transport.chains.get(follower.part, ()))
        early, late = (_next(run, follower, own, _held(run, follower, theta, lag)) for lag in (0.0, play))
        if early is None:
            continue
        last = own.index(late[1]) if late else len(own) - 1
        ahead += [(early[0], early[1])]
        ahead += [(move.begin_deg * direction, move) for move in own[own.index(early[1]) + 1 : last + 1]]
        if late and late[0] < latest[0]:
            latest = (late[0], late[1], follower)
    shown = _shown(run, *latest) if latest[1] else inf
    return {_first(move) for begin, move in ahead if begin <= shown + TINY}


def _first(move: LeverMove) -> First:
    return First(move.follower, move.to_mm > move.from_mm, move.to_state, move.to_mm)


def _held(run: Run, follower: Follower, theta: float, lag: float) -> float:
    """Theta up to which a follower stands still, so much play being left to be taken up."""
    if lag <= TINY:
        return theta
    knots, direction = run.knots[follower.part], SENSE[run.sense]
    place = run.place(follower.part, theta) + direction * lag
    for (t0, x0), (t1, x1) in pairwise(knots):
        if x1 - x0 > TINY and x0 - TINY <= place <= x1 + TINY:
            return t0 + (place - x0) / (x1 - x0) * (t1 - t0)
    return direction * inf


def _next(run: Run, follower: Follower, own: list[LeverMove], theta: float):
    """The first move of a follower that is left after theta and can be seen; how far along it begins."""
    direction = SENSE[run.sense]
    for move in own:
        begin = max(move.begin_deg * direction, theta * direction)
        if begin < move.end_deg * direction - TINY:
            lift = follower.lift(run.slipped_place(follower.part, begin * direction))
            if abs(move.to_mm - lift) > follower.tolerance_mm:
                return begin, move
    return None


def _shown(run: Run, begin: float, move: LeverMove, follower: Follower) -> float:
    """How far along a move that begins there is to be seen for certain."""
    direction = SENSE[run.sense]
    start = follower.lift(run.slipped_place(follower.part, begin * direction))
    hidden, shown = begin, move.end_deg * direction
    for _ in range(HALVINGS):
        middle = (hidden + shown) / 2
        lift = follower.lift(run.slipped_place(follower.part, middle * direction))
        hidden, shown = (hidden, middle) if abs(lift - start) > follower.tolerance_mm else (middle, shown)
    return shown
