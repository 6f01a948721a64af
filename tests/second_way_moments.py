"""A second way to what an intermittent contact makes of a machine: sets of arcs counted bit by bit."""

from __future__ import annotations

from dataclasses import replace

from mechlib.bench.checks import CONTACT, CURRENT, TIME, TRY
from mechlib.bench.readings import change_reading, reading
from mechlib.transports.mode_change import change_from, standing_start


def subsets(machine):
    """(machine with some arcs left, probability), for every set of arcs of its intermittent contacts."""
    arcs = [(name, at) for name, _ in machine.intermittent for at in range(len(machine.contact(name).closed))]
    passes = dict(machine.intermittent)
    for number in range(2 ** len(arcs)):
        left = {arc for bit, arc in enumerate(arcs) if number >> bit & 1}
        chance = 1.0
        for arc in arcs:
            chance *= passes[arc[0]] if arc in left else 1 - passes[arc[0]]
        yield with_arcs(machine, left), chance


def with_arcs(machine, left):
    """The machine of which the intermittent contacts have only these arcs, by contact and number."""
    some = dict(machine.intermittent)
    contacts = tuple(
        replace(
            one,
            closed=tuple(
                arc for at, arc in enumerate(one.closed) if one.name not in some or (one.name, at) in left
            ),
        )
        for one in machine.contacts
    )
    return replace(machine, contacts=contacts, intermittent=(), origin=machine.sound)


def label_chances(machine, sound, check) -> dict[str, float]:
    """The probability of each label of a check."""
    if not machine.intermittent:
        return {reading(machine, sound, check).label: 1.0}
    found: dict[str, float] = {}
    for moment, chance in subsets(machine):
        if check.kind in (TRY, TIME, CURRENT):
            ways = (standing_start(machine, check.start, sense) for sense in ("loading", "unloading"))
            if stand := next(filter(None, ways), None):
                went = change_from(moment, stand, check.start, check.target)
                label = change_reading(went, moment, sound, check).label
            else:
                label = "its start can't be reached"
        else:
            label = reading(moment if check.kind == CONTACT else machine, sound, check).label
        found[label] = found.get(label, 0.0) + chance
    return found
