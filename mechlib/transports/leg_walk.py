"""One leg of the motor as the controller runs it: teeth skipped on the way, what ends it, where it stands."""

from __future__ import annotations

from typing import NamedTuple

from mechlib.transports.ahead import Ahead, End, look_ahead
from mechlib.transports.course import mode_shown
from mechlib.transports.ends import at_the_end, first_end
from mechlib.transports.faults import slip
from mechlib.transports.kept import Kept
from mechlib.transports.model import SENSE, Leg, Transport
from mechlib.transports.outcomes import RIGHT, LegRun, Stand
from mechlib.transports.released import look_ahead_released
from mechlib.transports.runs import Run

_STANDING = Kept(256)
MOST_SKIPS = 20  # of teeth in one leg; a mesh that goes on skipping doesn't get the machine anywhere


class Walk(NamedTuple):
    """How a leg went, and how it leaves the machine."""

    transport: Transport  # with the teeth that were skipped on the way
    stand: Stand
    leg: LegRun
    hit: str | None = None  # what the cam coasted into
    read: tuple[Run, float] | None = None  # the run and theta at which the motor read its code
    skipped: tuple[tuple[str, int], ...] = ()  # meshes that skipped a tooth on the way


class Standing:
    """A machine where it stands, and the legs from there, each walked once.

    ``shown``: the mode whose code shows, None if none does.
    """

    def __init__(self, transport: Transport, stand: Stand):
        self.transport, self.stand = transport, stand
        self.shown = mode_shown(transport, stand)
        self._walks: dict[tuple[Leg, str], Walk] = {}
        self._ahead: dict[tuple[str, float], Ahead | None] = {}

    def walk(self, leg: Leg, purpose: str = "") -> Walk:
        """One leg from here.

        >>> from mechlib.transports import load
        >>> alder = load("alder")
        >>> here = standing(alder, Stand(0.0, dict.fromkeys(alder.chains, 0.0), "loading"))
        >>> found = here.walk(Leg("loading", "STOP"))
        >>> found.leg.ended, found.stand.sense
        ('reached', 'loading')
        """
        key = leg, purpose
        if key not in self._walks:
            self._walks[key] = _Walker(self, leg, purpose).go()
        return self._walks[key]

    def ahead(self, sense: str, left_s: float) -> Ahead | None:
        """What lies ahead in one sense with so much time left; None where the drive can't move at all."""
        key = sense, left_s
        if key not in self._ahead:
            look = look_ahead_released if self.transport.release else look_ahead
            dead = self.transport.dead_in(sense)
            self._ahead[key] = None if dead else look(self.transport, self.stand, sense, left_s)
        return self._ahead[key]


def standing(transport: Transport, stand: Stand) -> Standing:
    """A machine at a stand; kept, as the changes of a machine have most of their legs in common.

    The stand is rounded, so that what lies ahead is looked at once for all ways to come here.
    """
    here = stand.rounded()
    return _STANDING.of((transport, here), lambda: Standing(transport, here))


class _Walker:
    """The machine on one leg: where it stands now, the time that is left, and the teeth skipped so far."""

    def __init__(self, here: Standing, leg: Leg, purpose: str):
        self.here, self.stand, self.leg, self.purpose = here, here.stand, leg, purpose
        self.left_s = here.transport.controller.time_out_s
        self.skipped: list[tuple[str, int]] = []
        self.releases = 0 if here.transport.release else None  # of a part-toothed gear

    def go(self) -> Walk:
        """Run until the code is read or something ends the leg before."""
        start, leg = self.stand.theta, self.leg
        if self.here.shown == leg.mode and not leg.turn_first:
            return self._walk(LegRun(leg, self.purpose, start, start, RIGHT, "", 0.0))
        for skips in range(MOST_SKIPS + 1):
            ahead = self.here.ahead(leg.sense, self.left_s)
            read = ahead.reading(leg.mode) if ahead else None
            end = first_end(ahead, leg, read) if ahead else self._at_the_end()
            if end is None:
                return self._arrived(start, ahead, read)
            if ahead:
                self.stand = ahead.course.stand_at(end.theta)
                self._release(ahead, end.theta)
            mesh = ahead.skipping_mesh(end.obstacle, end.theta) if end.obstacle else None
            if mesh is None or skips == MOST_SKIPS:
                break
            self.left_s -= ahead.seconds(end.theta)
            self._skip(mesh, -SENSE[leg.sense])
        how = end.outcome, end.why, self.here.transport.controller.time_out_s, self.releases, end.moving
        return self._walk(LegRun(leg, self.purpose, start, end.theta, *how))

    def _at_the_end(self) -> End:
        return at_the_end(self.stand.theta, self.leg, self.here.transport)

    def _release(self, ahead: Ahead, theta: float) -> None:
        """Count the releases on the way to ``theta``."""
        if self.releases is not None:
            self.releases += ahead.releases(theta)

    def _skip(self, mesh: str, teeth: int) -> None:
        """A part that is held while its parent is driven on skips a tooth: it falls back in that sense."""
        self.here = standing(self.here.transport.with_faults(slip(mesh, teeth)), self.stand)
        self.skipped.append((mesh, teeth))

    def _arrived(self, start: float, ahead: Ahead, read: float) -> Walk:
        """The code was read: switch off and coast."""
        rest = ahead.course.rest(read)
        seconds = self.here.transport.controller.time_out_s - self.left_s + ahead.seconds_to(read)
        self.stand = rest.stand
        self._release(ahead, rest.theta)
        how = RIGHT, rest.why, seconds, self.releases
        leg = LegRun(self.leg, self.purpose, start, rest.theta, *how)
        return self._walk(leg, rest.hit, (ahead.run, read))

    def _walk(self, leg: LegRun, hit: str | None = None, read: tuple[Run, float] | None = None) -> Walk:
        return Walk(self.here.transport, self.stand, leg, hit, read, tuple(self.skipped))
