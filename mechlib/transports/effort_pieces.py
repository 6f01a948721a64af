"""The effort of a leg in pieces: its own while play is taken up, that of the whole travel everywhere else.

So what is worked out once for the whole travel serves every leg, wherever it starts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from mechlib.transports.effort import Effort, effort
from mechlib.transports.kept import Kept
from mechlib.transports.leg_pieces import Piece, pieces_of
from mechlib.transports.model import SENSE
from mechlib.transports.motor_drive import Stall
from mechlib.transports.runs import Run

AT_STALL_DEG = 0.5  # a motor creeps up to the angle at which it stalls; so near it counts as stalled
_OWN, _PIECES = Kept(8192), Kept(256)


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
        return tuple(
            (piece.first_deg, piece.last_deg, self._own(piece) if piece.moves else self.whole)
            for piece in pieces_of(self.run, self.whole.run)
        )

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

    def _own(self, piece: Piece) -> Effort:
        """The effort where play is taken up: it is the same wherever the same tracks and parts move."""
        run, transport = self.run, self.run.transport
        drags, followers = dict(transport.drags), transport.followers
        asks = tuple(map(drags.get, piece.parts)), tuple(followers[track] for track in piece.tracks)

        def find() -> Effort:
            low, high = sorted((piece.first_deg, piece.last_deg))
            return Effort(Run(transport, run.sense, low, high, run.places_at(piece.first_deg)))

        return _OWN.of((piece.moves, transport.decides.train, asks), find)

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
