"""What was observed at the bench: a check, what it read, how exactly, and how surely."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import ceil, floor, log10

from mechlib.bench.checks import CONTACT, CURRENT, LOOK, MARK, TIME, TRY, VOLTS, Check
from mechlib.bench.readings import (
    HELD_UP,
    LINES_UP,
    OUT_OF_REACH,
    READS,
    TEETH_OFF,
    Reading,
    Scale,
    labels_of,
    number_words,
    scale_of,
)
from mechlib.errors import MechError, check_number
from mechlib.say import listing
from mechlib.transports.bench_practice import check_places
from mechlib.transports.model import Transport

ERROR_RATE = 0.05  # of observations that are wrong; common practice, no source
SURE, UNSURE = 0.01, 0.25  # error rates of somebody who is sure, and who isn't
MOST_ERROR = 0.9


@dataclass(frozen=True)
class Observation:
    """A check and what it read; ``plus_minus`` in the unit of the number, ``error_rate`` from 0 to 0.9.

    A detail or number of None was not looked at.
    """

    check: Check
    read: Reading
    plus_minus: float | None = None
    error_rate: float = ERROR_RATE

    @property
    def words(self) -> str:
        """What was seen."""
        words = self.read.label
        if self.read.detail:
            words += f" ({self.read.detail})"
        if self.read.number is not None:
            words += f" {number_words(self.check, self.read.number, 2 * (self.plus_minus or 0.5))}"
        return words

    @property
    def away(self) -> str | None:
        """The mode that the machine didn't get to, so that the check wasn't made; None where it was.

        >>> tried("PLAY", "STOP", "its start can't be reached").away, tried("PLAY", "STOP", "worked").away
        ('PLAY', None)
        """
        return (self.check.start or self.check.mode) if self.read.label in OUT_OF_REACH else None

    def sentence(self) -> str:
        """What was done and what was seen, and how surely where that isn't as usual."""
        sure = " (not sure)" if self.error_rate >= UNSURE else ""
        sure = " (quite sure)" if self.error_rate <= SURE else sure
        return f"{self.check.sentence().removesuffix('.')}: {self.words}{sure}."

    def surely(self, error_rate: float) -> Observation:
        """The same with another error rate."""
        return replace(self, error_rate=check_number("error_rate", error_rate, 0, MOST_ERROR))


def holds_up(check: Check, seen: Iterable[Observation]) -> bool:
    """Whether a check asks again for a change that has held the motor up, which heats it.

    >>> holds_up(Check(TIME, start="STOP", target="PLAY"), [tried("STOP", "PLAY", HELD_UP)])
    True
    """
    held = {(one.check.start, one.check.target) for one in seen if one.read.label == HELD_UP}
    return (check.start, check.target) in held


def tried(start: str, target: str, what: str, which: str | None = None, at_deg: float | None = None,
          plus_minus_deg: float | None = None, error_rate: float = ERROR_RATE) -> Observation:  # fmt: skip
    """A change was asked for: ``what`` happened (a label of ``labels_of``).

    ``which`` follower stood wrong, if somebody looked; ``at_deg`` where the drive stood then in main-cam
    degrees (teeth counted times 360/teeth of the main gear), if that was found out.

    >>> tried("STOP", "PLAY", "stands wrong", which="pinch lever").sentence()
    'Ask for PLAY in STOP: stands wrong (pinch lever).'
    """
    check = Check(TRY, start=start, target=target)
    return _observed(check, Reading(what, which, at_deg), plus_minus_deg, error_rate)


def timed(start: str, target: str, seconds: float, error_rate: float = ERROR_RATE) -> Observation:
    """The seconds that a change took, up to its end however it ended.

    >>> timed("STOP", "PLAY", 3.2).sentence()
    'Time STOP to PLAY: reads 3.2 s.'
    """
    return _observed(Check(TIME, start=start, target=target), Reading(READS, None, seconds), None, error_rate)


def contact_read(contact: str, mode: str, what: str, error_rate: float = ERROR_RATE) -> Observation:
    """A contact read with a meter, the drive turned by hand to where a mode stops: "open" or "closed"."""
    return _observed(Check(CONTACT, contact, mode=mode), Reading(what), None, error_rate)


def contact_swept(contact: str, what: str, closed_deg: float | None = None,
                  error_rate: float = ERROR_RATE) -> Observation:  # fmt: skip
    """A contact read by hand over the travel: "never closes", or "closes" over ``closed_deg``."""
    return _observed(Check(CONTACT, contact), Reading(what, None, closed_deg), None, error_rate)


def mark_seen(part: str, teeth: float = 0, mode: str | None = None,
              error_rate: float = ERROR_RATE) -> Observation:  # fmt: skip
    """A part's mark, ``teeth`` ahead (+) or behind (−) of its parent's; 0 where they line up.

    >>> mark_seen("pinch cam", -1).sentence()
    'Look at the mark of the pinch cam, the drive turned to 0 by hand: teeth off −1.'
    """
    read = (
        Reading(TEETH_OFF, None, float(check_number("teeth", teeth, -60, 60))) if teeth else Reading(LINES_UP)
    )
    return _observed(Check(MARK, part, mode=mode), read, None, error_rate)


def looked_at(thing: str, what: str, error_rate: float = ERROR_RATE) -> Observation:
    """Something looked at, felt and turned by hand: a gear, a lever, the belt, the solenoid."""
    return _observed(Check(LOOK, thing), Reading(what), None, error_rate)


def volts_read(
    sense: str, volts: float, error_rate: float = ERROR_RATE, motor: str | None = None
) -> Observation:
    """Volts at the motor (of several, by name) while it is asked to turn in a sense, without their sign."""
    return _observed(Check(VOLTS, motor, sense=sense), Reading(READS, None, volts), None, error_rate)


def current_read(
    start: str, target: str, amperes: float, error_rate: float = ERROR_RATE, motor: str | None = None
) -> Observation:
    """The largest steady current of the motor (of several, by name) during a change, in A."""
    check = Check(CURRENT, motor, start=start, target=target)
    return _observed(check, Reading(READS, None, amperes), None, error_rate)


def observed(
    transport: Transport, check: Check, read: Reading, error_rate: float = ERROR_RATE
) -> Observation:
    """What a check read, with the usual exactness of its number, checked against the transport."""
    return checked(transport, _observed(check, read, None, error_rate))


def checked(transport: Transport, observation: Observation) -> Observation:
    """The observation with its exactness filled in; MechError where this transport can't give it."""
    if not isinstance(observation, Observation):
        raise MechError(
            f"an observation is {observation!r}", "make it with tried(…), looked_at(…) and the like"
        )
    check, read = observation.check, observation.read
    _check_check(transport, check)
    labels = labels_of(transport, check)
    if read.label not in labels:
        raise MechError(f"{check.words}: it read {read.label!r}", f"it must be {listing(labels)}")
    if read.detail is not None:
        transport.follower(read.detail)
    scale = scale_of(transport, check)
    if read.number is None or scale is None:
        return replace(observation, read=replace(read, number=None), plus_minus=None)
    if check.kind in (VOLTS, CURRENT):  # the sign only tells the sense
        read = replace(read, number=abs(read.number))
    low, high = _limits(check.kind, scale)
    check_number(f"{check.words}: the number", read.number, low, high, scale.unit)
    return replace(observation, read=read, plus_minus=observation.plus_minus or scale.step / 2)


def _limits(kind: str, scale: Scale) -> tuple[float, float]:
    """Between them a number is odd at most, beyond them a slip of the pen; in two figures.

    An angle and teeth have two senses; of all else there can't be less than none.
    """
    room = 10 * (scale.high - scale.low)
    low = -_rounded_up(room - scale.low) if kind in (TRY, MARK) else 0.0
    return low, _rounded_up(scale.high + room)


def _rounded_up(number: float) -> float:
    step = 10.0 ** (floor(log10(abs(number) or 1.0)) - 1)
    return ceil(number / step) * step


def _observed(check: Check, read: Reading, plus_minus: float | None, error_rate: float) -> Observation:
    check_number("error_rate", error_rate, 0, MOST_ERROR)
    number = None if read.number is None else check_number(check.words, read.number, -1e6, 1e6)
    if plus_minus is not None:
        check_number("plus_minus_deg", plus_minus, 0.1, 360, "°")
    return Observation(check, replace(read, number=number), plus_minus, float(error_rate))


def _check_check(transport: Transport, check: Check) -> None:
    places = check_places(transport, check.kind)
    if not places:
        raise MechError(f"{check.words}: {transport.name} can't have this check", "leave it out")
    if check.of not in places:
        raise MechError(f"{check.words}: {check.of!r} isn't there", f"there is {listing(map(str, places))}")
    for mode in (check.start, check.target, check.mode):
        if mode is not None:
            transport.mode(mode)
    if check.kind in (TRY, TIME, CURRENT) and check.start == check.target:
        raise MechError(f"a change goes from {check.start} to {check.start}", "it ends in another mode")
    if check.kind == VOLTS and check.sense not in transport.senses:
        raise MechError(f"sense is {check.sense!r}", f"it must be {listing(transport.senses)}")


def results_to_choose(transport: Transport, check: Check) -> tuple[tuple[str, ...], Scale | None]:
    """What a reader may say of a check: its labels, and the scale of its number if it has one.

    >>> from mechlib.transports import load
    >>> results_to_choose(load("alder"), Check(LOOK, "belt"))
    (('as it should be', 'slack', 'glazed'), None)
    """
    _check_check(transport, check)
    return labels_of(transport, check), scale_of(transport, check)
