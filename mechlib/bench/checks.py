"""What a bench can check on a transport, what must come off for it, and how long it takes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from mechlib.bench.suspects import covers_time
from mechlib.errors import MechError
from mechlib.say import listing
from mechlib.transports.bench_practice import check_covers, check_minutes, check_places
from mechlib.transports.change_table import change_table
from mechlib.transports.hardware import Cover
from mechlib.transports.model import Transport

TRY, CONTACT, MARK, LOOK = "try a change", "read a contact", "look at a mark", "look at a part"
TIME, VOLTS, CURRENT = "time a change", "volts at the motor", "motor current"
COMMANDED = (TRY, TIME, VOLTS, CURRENT)  # what depends on the controller and its driver


@dataclass(frozen=True)
class Check:
    """One check: its ``kind`` (one of ``bench_entries.CHECKS``), what it is of, and what is asked for.

    ``start`` and ``target`` of a change; ``mode`` at which a contact or a mark is looked at (None: a contact
    over the whole travel, a mark where the drive stands at 0 by hand); ``sense`` in which the motor is to
    turn.
    """

    kind: str
    of: str | None = None
    start: str | None = None
    target: str | None = None
    mode: str | None = None
    sense: str | None = None

    @property
    def commanded(self) -> bool:
        """True if it asks the controller for something, not the eye, the hand or a meter alone."""
        return self.kind in COMMANDED

    @property
    def words(self) -> str:
        """What to do, in words."""
        if self.kind == TRY:
            return f"ask for {self.target} in {self.start}"
        if self.kind == TIME:
            return f"time {self.start} to {self.target}"
        if self.kind == CURRENT:
            return f"measure the {self.of or 'motor'}'s current from {self.start} to {self.target}"
        if self.kind == VOLTS:
            return f"measure the volts at the {self.of or 'motor'}, {self.sense} sense asked for"
        if self.kind == LOOK:
            return f"look at the {self.of}"
        where = f"where {self.mode} stops" if self.mode else None
        if self.kind == MARK:
            return f"look at the mark of the {self.of}, {where or 'the drive turned to 0 by hand'}"
        return f"read contact {self.of} {where or 'while turning by hand through the whole travel'}"

    def sentence(self) -> str:
        """What to do."""
        return f"{self.words[0].upper()}{self.words[1:]}."


def covers_for(transport: Transport, check: Check) -> tuple[Cover, ...]:
    """What comes off before a check, in order.

    >>> from mechlib.transports import load
    >>> [cover.name for cover in covers_for(load("alder"), Check(MARK, "brake cam"))]
    ['bottom plate']
    """
    return check_covers(transport, check.kind, check.of)


def known_covers(transport: Transport, off) -> frozenset[str]:
    """The names of covers that are off; MechError for one that the transport doesn't have.

    >>> from mechlib.transports import load
    >>> known_covers(load("dogwood"), ["lid"])
    Traceback (most recent call last):
    mechlib.errors.MechError: no cover is called 'lid': there are none
    """
    names = [cover.name for cover in transport.covers]
    if unknown := [name for name in off if name not in names]:
        raise MechError(f"no cover is called {unknown[0]!r}", f"there are {listing(names)}")
    return frozenset(off)


def minutes_for(transport: Transport, check: Check, off: frozenset[str] = frozenset()) -> float:
    """Minutes of a check with the covers that aren't ``off`` yet.

    >>> from mechlib.transports import load
    >>> alder, look = load("alder"), Check(MARK, "brake cam")
    >>> minutes_for(alder, look) - minutes_for(alder, look, frozenset({"bottom plate"}))
    4.0
    """
    own = check_minutes(transport, check.kind, check.of)
    return own + covers_time(covers_for(transport, check), off)


@lru_cache(maxsize=32)
def checks_of(transport: Transport) -> tuple[Check, ...]:
    """Every check worth proposing: changes tried and timed, marks, contacts, parts looked at, the motor.

    In the order of the file.  A contact is read over the whole travel, a mark at 0; the current is taken over
    the longest way in each sense.

    >>> from mechlib.transports import load
    >>> found = checks_of(load("birch"))
    >>> found[0].sentence(), found[-1].sentence()
    ('Ask for PAUSE in STOP.', "Measure the motor's current from STOP to PLAY.")
    """
    sound = transport.sound
    works = [pair for pair, cell in change_table(sound).items() if cell.change.good]
    found = [Check(TRY, start=start, target=target) for start, target in works]
    found += [Check(CONTACT, of) for of in check_places(sound, CONTACT)]
    found += [Check(MARK, of) for of in check_places(sound, MARK)]
    found += [Check(LOOK, of) for of in check_places(sound, LOOK)]
    found += [Check(TIME, start=start, target=target) for start, target in works]
    if sound.drive:
        found += [
            Check(VOLTS, of, sense=sense) for of in check_places(sound, VOLTS) for sense in sound.senses
        ]
        longest = _longest(sound, works)
        found += [
            Check(CURRENT, of, start=a, target=b) for of in check_places(sound, CURRENT) for a, b in longest
        ]
    return tuple(found)


def _longest(sound: Transport, works: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """The pair of modes that lie furthest apart, there and back."""
    first, last = sound.mode_names[0], sound.mode_names[-1]
    return [pair for pair in ((first, last), (last, first)) if pair in works][: len(sound.senses)]
