"""What chance makes of contacts that pass only sometimes: every moment of such a machine, and its changes.

A moment says which arcs of these contacts pass and which don't.  Whether an arc passes is drawn once for each
change (each arc by itself), the one on which the wiper stands at the start, too, since a film grows on it
while it stands.  It holds for the whole change: on a retry or while homing the same arcs pass.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from math import prod
from random import Random

from mechlib.say import say
from mechlib.transports.mode_change import change, change_from, standing_start
from mechlib.transports.model import SENSE, Transport
from mechlib.transports.outcomes import Change

Moments = tuple[tuple[Transport, float], ...]


@dataclass(frozen=True)
class Chances:
    """Every different way in which a change can go, with its probability, the most probable first."""

    start: str
    target: str
    ways: tuple[tuple[Change, float], ...]

    @property
    def good(self) -> float:
        """The probability that the target is reached and all stands right."""
        return sum((chance for one, chance in self.ways if one.good), 0.0)

    def sentence(self) -> str:
        """How often it ends how."""
        ends: dict[str, float] = {}
        for one, chance in self.ways:
            ends[one.outcome] = ends.get(one.outcome, 0.0) + chance
        told = (f"{outcome} ({say(100 * chance, '%')})" for outcome, chance in ends.items())
        return f"{self.start} to {self.target}: {', or '.join(told)}."


@lru_cache(maxsize=4096)
def moments(transport: Transport) -> Moments:
    """Every combination of passing arcs, as an ordinary transport without the others, with its probability.

    Π over the arcs of p where it passes and 1 − p where it doesn't; they add up to 1.  A transport without
    such contacts has the one moment, itself.

    >>> from mechlib.transports import intermittent_contact, load
    >>> found = moments(load("birch").with_faults(intermittent_contact("A", 0.7)))
    >>> [(len(one.contact("A").closed), round(chance, 2)) for one, chance in found]
    [(2, 0.49), (1, 0.21), (1, 0.21), (0, 0.09)]
    """
    drawn = [(name, arc, passes) for name, passes in transport.intermittent
             for arc in transport.contact(name).closed]  # fmt: skip
    found = []
    for pattern in product((True, False), repeat=len(drawn)):
        gone = {(name, arc) for (name, arc, _), passing in zip(drawn, pattern, strict=True) if not passing}
        chance = prod(p if passing else 1 - p for (_, _, p), passing in zip(drawn, pattern, strict=True))
        found.append((_without(transport, gone), chance))
    return tuple(found)


def as_drawn(transport: Transport, draw: Random) -> Transport:
    """The machine of one moment: each arc passes or doesn't, as it is drawn.

    >>> from mechlib.transports import intermittent_contact, load
    >>> sometimes = load("birch").with_faults(intermittent_contact("A", 0.5))
    >>> sorted({len(as_drawn(sometimes, Random(n)).contact("A").closed) for n in range(20)})
    [0, 1, 2]
    """
    gone = {(name, arc) for name, passes in transport.intermittent
            for arc in transport.contact(name).closed if draw.random() >= passes}  # fmt: skip
    return _without(transport, gone)


def change_at(moment: Transport, usual: Transport, start: str, target: str) -> Change:
    """A change in one moment, from where the machine comes to stand in ``start`` while all its arcs pass.

    ``usual``: that machine.  From an arrival in the loading sense, unloading where that can't be.

    >>> from mechlib.transports import intermittent_contact, load, open_contact
    >>> birch = load("birch")
    >>> change_at(birch.with_faults(open_contact("A")), birch, "STOP", "PLAY").start
    'STOP'
    """
    usual.mode(start), usual.mode(target)
    return _change_at(moment, while_passing(usual), start, target)


@lru_cache(maxsize=65536)
def _change_at(moment: Transport, usual: Transport, start: str, target: str) -> Change:
    for sense in SENSE:
        if stand := standing_start(usual, start, sense):
            return change_from(moment, stand, start, target, sense)
    return change(usual, start, target)


def chances(transport: Transport, start: str, target: str) -> Chances:
    """Every different way in which a change can go, with its probability: the change in every moment.

    Σ over the ``moments`` in which it goes so; they add up to 1.  The machine stands where it stands after an
    arrival that read its code.  Raises MechError for a mode that doesn't exist.

    >>> from mechlib.transports import intermittent_contact, load
    >>> sometimes = load("dogwood").with_faults(intermittent_contact("A", 0.9))
    >>> chances(sometimes, "OUT", "STOP").sentence()
    'OUT to STOP: reached (81.0%), or ran to the end stop (19.0%).'
    """
    found: dict[Change, float] = {}
    for moment, chance in moments(transport):
        went = change_at(moment, transport, start, target)
        found[went] = found.get(went, 0.0) + chance
    ways = sorted(found.items(), key=lambda way: -way[1])
    return Chances(start, target, tuple(ways))


@lru_cache(maxsize=4096)
def while_passing(transport: Transport) -> Transport:
    """The machine as it is while all its contacts pass.

    >>> from mechlib.transports import intermittent_contact, load
    >>> while_passing(load("birch").with_faults(intermittent_contact("A", 0.5))) == load("birch")
    True
    """
    return _without(transport, set())


def _without(transport: Transport, gone: set) -> Transport:
    if not transport.intermittent:
        return transport
    contacts = tuple(
        replace(one, closed=tuple(arc for arc in one.closed if (one.name, arc) not in gone))
        for one in transport.contacts
    )
    return transport.changed(contacts=contacts, intermittent=())
