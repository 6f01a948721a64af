"""A mode change, leg by leg: what ends each run of the motor, where the cam stands, what the reader sees."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from mechlib.errors import MechError
from mechlib.say import say
from mechlib.transports.arcs import TINY, nearest, repeated
from mechlib.transports.kept import Kept
from mechlib.transports.leg_walk import Walk, standing
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Leg, Need, Transport
from mechlib.transports.outcomes import (
    FALSE_CODE,
    JAMMED,
    NO_START,
    ON_RETRY,
    RIGHT,
    SILENT_SENSOR,
    WRONG,
    Change,
    Stand,
    WrongFollower,
)
from mechlib.transports.timing import arrival, false_code, legs_between


def standing_start(transport: Transport, mode: str, sense: str = LOADING) -> Stand | None:
    """Where the cam stands in ``mode`` after an arrival in ``sense``; None if it cannot be reached so."""

    def find() -> Stand | None:
        came = arrival(transport, mode, sense)
        if came is None or not came.possible:
            return None
        return Stand(came.stand_deg, came.run.places_at(came.stand_deg), sense).rounded()

    return _STARTS.of((transport.decides.course, mode, sense), find)


def change(transport: Transport, start: str, target: str, arrived: str | None = None) -> Change:
    """What happens when ``target`` is asked for while the machine stands in ``start``.

    ``arrived`` is the sense in which ``start`` was reached; by default loading, unloading where that cannot
    be.  Raises MechError for a mode or sense that does not exist.

    >>> from mechlib.transports import load, slip
    >>> slipped = load("alder").with_faults(slip("mode switch", -1))
    >>> change(slipped, "STOP", "WIND").outcome
    'reached but wrong'
    """
    transport.mode(start), transport.mode(target)
    if arrived not in (None, *SENSE):
        raise MechError(f"arrived is {arrived!r}", f"it must be {LOADING!r} or {UNLOADING!r}")
    return _change(transport, start, target, arrived)


@lru_cache(maxsize=16384)
def _change(transport: Transport, start: str, target: str, arrived: str | None) -> Change:
    if stand := _start(transport, start, arrived):
        return change_from(transport, stand, start, target, stand.sense)
    sense = f" in the {arrived} sense" if arrived else ""
    return Change(
        start, target, NO_START, f"because {start} itself cannot be reached{sense}", (), None, False
    )


@lru_cache(maxsize=1024)
def _start(transport: Transport, mode: str, arrived: str | None) -> Stand | None:
    """Where the machine stands in a mode that was reached in one sense, by default in the first possible."""
    stands = (standing_start(transport, mode, sense) for sense in ((arrived,) if arrived else SENSE))
    return next((stand for stand in stands if stand), None)


def change_from(
    transport: Transport, stand: Stand, start: str, target: str, arrived: str | None = None
) -> Change:
    """The same from any stand; ``start`` and ``arrived`` only name how it came there."""
    machine = _Controller(transport, stand)
    machine.drive_to(target)
    return machine.finding(start, target, arrived)


_STARTS, _FOUND = Kept(16384), Kept(16384)


class _Controller:
    """The controller at work on one change: where the machine stands now and the legs so far."""

    def __init__(self, transport: Transport, stand: Stand):
        self.transport, self.stand = transport, stand
        self.walks: list[Walk] = []
        self.retried = False

    def drive_to(self, target: str) -> None:
        """Run the legs to ``target``, homing first where no code is known, with retries."""
        controller = self.transport.controller
        for attempt in range(controller.retries + 1):
            if attempt and not self._run_leg(controller.retry, "retry"):
                break
            self.retried = attempt > 0
            if (attempt and controller.retry.mode == target) or self._one_attempt(target):
                break

    def _one_attempt(self, target: str) -> bool:
        here = standing(self.transport, self.stand).shown
        if here is None:
            if not self._run_leg(self.transport.controller.home, "homing"):
                return False
            here = self.transport.controller.home.mode
            if here == target:
                return True  # its code has just been read, even if the cam coasted past it
        if here == target:
            return self._run_leg(Leg(self.stand.sense, target), "")
        return all(self._run_leg(leg, "") for leg in legs_between(self.transport, here, target))

    def _places_read(self) -> Mapping[str, float]:
        """Where the parts stood when the last code was read."""
        read = self.walks[-1].read
        return read[0].places_at(read[1]) if read else self.stand.places

    def _run_leg(self, leg: Leg, purpose: str) -> bool:
        """Run one leg and note how it went; True if its code was read."""
        found = standing(self.transport, self.stand).walk(leg, purpose)
        self.transport, self.stand = found.transport, found.stand
        self.walks.append(found)
        return found.leg.ended == RIGHT

    def finding(self, start: str, target: str, arrived: str | None) -> Change:
        """The end of the change: the leg that failed first, or how the machine stands in the target."""

        def ended(outcome, why, off=False, wrong=()):
            skips = tuple(skip for one in self.walks for skip in one.skipped)
            return Change(start, target, outcome, why, legs, self.stand, off, wrong, skips, arrived)

        legs, hit = tuple(one.leg for one in self.walks), self.walks[-1].hit
        if legs[-1].ended != RIGHT:
            failed = next(leg for leg in legs if leg.ended != RIGHT)
            on = f"{failed.purpose} leg" if failed.purpose else f"waiting for {failed.leg.mode}"
            return ended(failed.ended, f"{on}: {failed.why}", off=True)
        if hit:
            return ended(JAMMED, f"coasting after the code was read: {hit}")
        outcome, why, off, wrong = _found(self.transport, target, self.stand)
        if wrong and false_code(self.transport, target, self._places_read()):
            silent = silent_sensor(self.transport, target, self.stand.places)
            told = f"{_where(self.stand)}: {_words(wrong)}{f'; {silent}' if silent else ''}"
            return ended(FALSE_CODE, told, bool(silent), wrong)
        if outcome == RIGHT and self.retried:
            return ended(ON_RETRY, f"{why}, at the second try")
        return ended(outcome, why, off, wrong)


def _found(transport: Transport, mode: str, stand: Stand) -> tuple[str, str, bool, tuple[WrongFollower, ...]]:
    """The outcome for a machine that stands there, the words, whether it powers off, and what is wrong."""

    def find():
        wrong, silent = (way(transport, mode, stand.places) for way in (wrong_followers, silent_sensor))
        if silent:
            return SILENT_SENSOR, silent + (f": {_words(wrong)}" if wrong else ""), True, wrong
        if wrong:
            return WRONG, f"{_where(stand)}: {_words(wrong)}", False, wrong
        return RIGHT, f"{_where(stand)} with every follower right", False, wrong

    return _FOUND.of((transport.decides.standing, mode, stand), find)


def _where(stand: Stand) -> str:
    return f"standing at {say(stand.theta, '°')}"


def _words(wrong: tuple[WrongFollower, ...]) -> str:
    return "; ".join(one.words() for one in wrong)


def _off(transport: Transport, need: Need, places: Mapping[str, float]) -> float | None:
    """Degrees by which a follower's part is away from its range: 0 where right, None if it has no range."""
    part = transport.follower(need.follower).part
    place = places[part] + transport.advance_deg[part]
    arcs = repeated(need.arcs, 360.0, place - 360.0, place + 360.0) if transport.cyclic else need.arcs
    arc = nearest(arcs, place)
    off = max(arc[0] - place, place - arc[1]) if arc else None
    return 0.0 if off is not None and off <= TINY else off


def wrong_followers(
    transport: Transport, mode: str, places: Mapping[str, float]
) -> tuple[WrongFollower, ...]:
    """The followers that stand wrong for ``mode``, each with how far its part is from right."""
    wrong = []
    for need in transport.mode(mode).needs:
        off = _off(transport, need, places)
        if off != 0.0:
            follower = transport.follower(need.follower)
            place = places[follower.part] + transport.advance_deg[follower.part]
            wrong.append(
                WrongFollower(need.follower, follower.state(place), follower.lift(place), need.words, off)
            )
    return tuple(wrong)


def silent_sensor(transport: Transport, mode: str, places: Mapping[str, float]) -> str | None:
    """Words for the watch that misses its pulses in ``mode``, if any."""
    for watch in transport.controller.watches:
        if mode in watch.modes and any(_off(transport, need, places) != 0.0 for need in watch.needs):
            return f"after {say(watch.delay_s, 's')} without {watch.sensor}"
    return None
