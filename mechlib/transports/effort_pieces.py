"""The effort of a leg in pieces: its own while play is taken up, that of the whole travel everywhere else.

So what is worked out once for the whole travel serves every leg, wherever it starts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from mechlib.transports.arcs import TINY, Arcs, complement, merge
from mechlib.transports.effort import Effort, effort
from mechlib.transports.kept import Kept, Key
from mechlib.transports.lost_drive import Knots
from mechlib.transports.model import SENSE
from mechlib.transports.motor_drive import Stall
from mechlib.transports.outcomes import DIGITS
from mechlib.transports.runs import Run, place_on
from mechlib.transports.track_loads import moves_of

AT_STALL_DEG = 0.5  # a motor creeps up to the angle at which it stalls; so near it counts as stalled
_OWN, _APART, _MOVES, _PIECES = Kept(8192), Kept(4096), Kept(4096), Kept(256)


@dataclass(frozen=True)
class Way:
    """How long the way to an angle takes, the stall on it, and the time to where it counts as stalled."""

    seconds: float
    stall: Stall | None
    near_s: float


@dataclass(frozen=True, eq=False)
class EffortPieces:
    """The effort of ``run`` from ``start_deg`` on; ``whole``: that of the whole travel, play taken up."""

    run: Run
    start_deg: float
    whole: Effort
    _ways: dict[float, Way] = field(default_factory=dict, repr=False)
    _sums: list[tuple[float, Stall | None]] = field(default_factory=lambda: [(0.0, None)], repr=False)

    @cached_property
    def _pieces(self) -> tuple[tuple[float, float, Effort], ...]:
        """Where each piece starts and ends, and its effort, in the order of the motion."""
        run, sense = self.run, SENSE[self.run.sense]
        own = _apart(run, self.whole.run)
        arcs = [(low, high, False) for low, high in own]
        arcs += [(low, high, True) for low, high in complement(own, run.low, run.high)]
        ways = ((*arc[:2][::sense], arc[2]) for arc in sorted(arcs)[::sense])
        return tuple((a, b, self.whole if shared else self._own(a, b)) for a, b, shared in ways)

    def _before(self, number: int) -> tuple[float, Stall | None]:
        """How long the pieces before that of a number take, and the first stall on them."""
        for first, last, told in self._pieces[len(self._sums) - 1 : number]:
            seconds, stall = self._sums[-1]
            self._sums.append((seconds + told.seconds(first, last), stall or told.stall(first, last)))
        return self._sums[number]

    def _piece_at(self, theta: float) -> int:
        """The number of the piece that a motion to an angle ends in."""
        sense = SENSE[self.run.sense]
        for number, (_, last, _) in enumerate(self._pieces):
            if (last - theta) * sense >= 0:
                return number
        return len(self._pieces) - 1

    def _own(self, first: float, last: float) -> Effort:
        """The effort where play is taken up: it is the same wherever the same tracks and parts move."""
        run, transport, (low, high) = self.run, self.run.transport, sorted((first, last))
        key = Key((run.sense, low, high, transport.decides.losses, self._moving(low, high)))
        return _OWN.of(key, lambda: Effort(Run(transport, run.sense, low, high, run.places_at(first))))

    def _moving(self, low: float, high: float) -> tuple:
        """What moves on the way: parts from where to where, and tracks, each with the angle at its end."""
        followers, found = self.run.transport.followers, []
        for start, end, what, place in self._moves:
            if start < high and end > low:
                start, end = max(start, low), min(end, high)
                what = what if isinstance(what, str) else followers[what]
                found.append((what, start, end, place))
        return tuple(found)

    @cached_property
    def _moves(self) -> list[tuple[float, float, str | int, float]]:
        decides = self.run.transport.decides
        return _MOVES.of((self.run.motion, decides.shifts, decides.tracks), self._find_moves)

    def _find_moves(self) -> list[tuple[float, float, str | int, float]]:
        """From where to where a part moves, or a track moves the follower of a number.

        And where that part or track stands, theta left out, as it goes along with theta.
        """
        run, found = self.run, []
        advance, cyclic = run.transport.advance_deg, run.transport.cyclic
        for part, knots in run.knots.items():
            for (t0, x0), (t1, x1) in zip(knots, knots[1:], strict=False):
                if x1 - x0 > TINY:
                    found.append((t0, t1, part, 0.0))
        for number, one in enumerate(run.transport.followers):
            knots, ahead = run.knots[one.part], advance[one.part]
            for start, end in moves_of(one.programme, knots, ahead, cyclic):
                middle = (start + end) / 2
                found.append((start, end, number, round(place_on(knots, middle) + ahead - middle, DIGITS)))
        return found

    def way(self, far_deg: float) -> Way:
        """What comes on the way to an angle."""
        if far_deg not in self._ways:
            self._ways[far_deg] = self._find_way(far_deg)
        return self._ways[far_deg]

    def _find_way(self, far_deg: float) -> Way:
        number = self._piece_at(far_deg)
        first, _, told = self._pieces[number]
        stall = self._before(number)[1] or (self._goes(first, far_deg) and told.stall(first, far_deg))
        if not stall:
            return Way(self.seconds(far_deg), None, 0.0)
        near = stall.theta_deg - SENSE[self.run.sense] * AT_STALL_DEG
        return Way(self.seconds(far_deg), stall, self.seconds(near))

    def _goes(self, first: float, far_deg: float) -> bool:
        """Whether an angle lies ahead of another."""
        return (far_deg - first) * SENSE[self.run.sense] > 0

    def seconds(self, theta: float) -> float:
        """Time from the start to theta; 0 where that lies behind."""
        number = self._piece_at(theta)
        first, _, told = self._pieces[number]
        return self._before(number)[0] + (told.seconds(first, theta) if self._goes(first, theta) else 0.0)

    def after(self, seconds: float) -> float:
        """Theta that is reached so many seconds after the start; the end of the run if that comes sooner."""
        for first, last, told in self._pieces:
            takes = told.seconds(first, last)
            if takes > seconds:
                return told.after(first, seconds)
            seconds -= takes
        return last

    def stall(self, end: float) -> Stall | None:
        """The first theta on the way to ``end`` at which the motor can't go on."""
        return self.way(end).stall

    def skipping_mesh(self, chain: tuple[str, ...], theta: float) -> str | None:
        """The mesh that skips a tooth where the last part of a chain is held at ``theta``, if any."""
        here = self._pieces[self._piece_at(theta)][2]
        return here.skipping_mesh(chain, theta)


def effort_from(run: Run, start_deg: float) -> EffortPieces | None:
    """The effort of a leg along ``run`` from ``start_deg`` on; None where the file gives no motor."""
    transport = run.transport
    if transport.drive is None:
        return None
    key = run.motion, start_deg, transport.decides.mechanics
    return _PIECES.of(key, lambda: EffortPieces(run, start_deg, effort(transport, run.sense)))


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
    found = []
    for start, end in zip(angles, angles[1:], strict=False):
        (here, there), (before, after) = ([place_on(k, at) for at in (start, end)] for k in (knots, whole))
        moves = max(there - here, after - before) > TINY
        if moves and max(abs(here - before), abs(there - after)) > TINY:
            found.append((start, end))
    return found
