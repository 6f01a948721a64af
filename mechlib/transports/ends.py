"""What ends a run of the motor before its code is read: an obstacle, a stall, the time-out, the end stop."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.say import say
from mechlib.transports.ahead import Ahead
from mechlib.transports.model import Leg, Transport
from mechlib.transports.obstacle_words import obstacle_words
from mechlib.transports.outcomes import END_STOP, JAMMED, NEVER_SEEN, TOO_SLOW
from mechlib.transports.runs import Obstacle


@dataclass(frozen=True)
class End:
    """Where a motion ends, its outcome (one of OUTCOMES), the words for it, and what stands in the way."""

    theta: float
    outcome: str
    why: str
    obstacle: Obstacle | None = None


def first_end(ahead: Ahead, leg: Leg, read: float | None) -> End | None:
    """What ends the way before the leg's code is read; None if nothing does.

    ``read`` is where it would be read, None if nowhere.
    """
    transport, shut = ahead.transport, ahead.shut
    far = ahead.end_deg if read is None else read
    if shut and not ahead.before(far, shut[0]):
        far = shut[0]
    stall = ahead.stall_before(far)
    if stall:
        return (
            None
            if far == read and ahead.before(read, stall.theta_deg)
            else End(stall.theta_deg, JAMMED, stall.sentence())
        )
    if ahead.in_time(far):
        if far == read:
            return None
        if shut and far == shut[0]:
            at, obstacle = shut
            return End(at, *obstacle_words(obstacle, at, transport), obstacle)
    limit = ahead.limit_deg
    where = say(limit % 360.0 if transport.release else limit, "°")
    if far == read:
        why = f"it has come to {where} when the time-out ends it, before the code of {leg.mode} is reached"
        return End(limit, TOO_SLOW, why)
    if not transport.cyclic and limit in transport.ends:
        return _end_stop(limit, leg)
    why = f"it turns to {where} without reading the code of {leg.mode}, until the time-out"
    return End(limit, NEVER_SEEN, why)


def at_the_end(theta: float, leg: Leg, transport: Transport) -> End:
    """What happens where the drive can't move in the leg's sense: it stands there until the time-out."""
    if transport.dead_in(leg.sense):
        where = f"it stands at {say(theta, '°')} until the time-out"
        return End(theta, NEVER_SEEN, f"the motor doesn't turn in the {leg.sense} sense; {where}")
    if transport.release:
        cause = "its cut-off is open" if transport.release.cut_off_open else "it doesn't pull"
        where = f"it stands at {say(theta, '°')} until the time-out"
        return End(theta, NEVER_SEEN, f"the solenoid never released the cam, since {cause}; {where}")
    return _end_stop(theta, leg)


def _end_stop(theta: float, leg: Leg) -> End:
    why = (
        f"it runs to the end stop at {say(theta, '°')} without reading the code of {leg.mode} and stalls "
        "there until the time-out"
    )
    return End(theta, END_STOP, why)
