"""What a check can read on a machine whose contacts pass only sometimes: drawn anew each time it is made."""

from __future__ import annotations

from random import Random

from mechlib.bench.checks import CONTACT, Check
from mechlib.bench.readings import CHANGE_READERS, Reading, change_reading, reading
from mechlib.transports.intermittent import chances, moments
from mechlib.transports.model import Transport


def reading_chances(machine: Transport, filed: Transport, check: Check) -> tuple[tuple[Reading, float], ...]:
    """Every different reading of a check on a machine, with its probability; they add up to 1.

    Σ over the moments of the machine's contacts (``transports.intermittent``); a machine without an
    intermittent contact has the one reading of ``readings.reading``.  So has a check that no contact decides.
    Raises MechError for a check that this machine can't have.

    >>> from mechlib.transports import intermittent_contact, load
    >>> birch = load("birch")
    >>> sometimes = birch.with_faults(intermittent_contact("A", 0.8))
    >>> [(one.label, round(chance, 2))
    ...  for one, chance in reading_chances(sometimes, birch, Check(CONTACT, "A", mode="STOP"))]
    [('closed', 0.8), ('open', 0.2)]
    """
    if not machine.intermittent:
        return ((reading(machine, filed, check), 1.0),)
    found: dict[Reading, float] = {}
    for read, chance in _drawn(machine, filed, check):
        found[read] = found.get(read, 0.0) + chance
    return tuple(found.items())


def _drawn(machine: Transport, filed: Transport, check: Check):
    if check.kind in CHANGE_READERS:
        ways = chances(machine, check.start, check.target).ways
        return [(change_reading(way, machine, filed, check), chance) for way, chance in ways]
    if check.kind == CONTACT:
        return [(reading(moment, filed, check), chance) for moment, chance in moments(machine)]
    return [(reading(machine, filed, check), 1.0)]


def drawn_reading(machine: Transport, filed: Transport, check: Check, draw: Random) -> Reading:
    """One reading of a check, drawn as often as it comes; nothing is drawn where there is only one.

    >>> from random import Random
    >>> from mechlib.transports import intermittent_contact, load
    >>> birch = load("birch")
    >>> sometimes = birch.with_faults(intermittent_contact("A", 0.5))
    >>> look = Check(CONTACT, "A", mode="STOP")
    >>> sorted({drawn_reading(sometimes, birch, look, Random(n)).label for n in range(9)})
    ['closed', 'open']
    """
    found = reading_chances(machine, filed, check)
    if len(found) == 1:
        return found[0][0]
    readings, weights = zip(*found, strict=True)
    return draw.choices(readings, weights)[0]
