"""What ends a run of the motor before its code is read: an obstacle, a stall, the time-out, the end stop."""

from __future__ import annotations

from mechlib.say import say
from mechlib.transports.ahead import Ahead, End
from mechlib.transports.model import Leg, Transport
from mechlib.transports.outcomes import END_STOP, NEVER_SEEN, TOO_SLOW


def first_end(ahead: Ahead, leg: Leg, read: float | None) -> End | None:
    """What ends the way before the leg's code is read; None if nothing does.

    ``read`` is where it would be read, None if nowhere.
    """
    if ahead.stop:
        return None if read is not None and ahead.before(read, ahead.stop.theta) else ahead.stop
    comes = read is not None and (ahead.shut is None or ahead.before(read, ahead.shut[0]))
    if comes and ahead.in_time(read):
        return None
    transport, limit = ahead.transport, ahead.limit_deg
    where = say(limit % 360.0 if transport.release else limit, "°")
    if comes:
        why = f"it has come to {where} when the time-out ends it, before the code of {leg.mode} is reached"
        return End(limit, TOO_SLOW, why, moving=True)
    if not transport.cyclic and limit in transport.ends:
        return _end_stop(limit, leg)
    why = f"it turns to {where} without reading the code of {leg.mode}, until the time-out"
    return End(limit, NEVER_SEEN, why, moving=True)


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
