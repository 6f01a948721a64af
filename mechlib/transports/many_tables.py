"""Every change between two modes for many faulty states of one transport, told by ``change``.

What states have in common is worked out once: it is kept by what decides it, and states that shift the same
rows are taken one after the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import lru_cache

from mechlib.transports.change_table import pairs
from mechlib.transports.faults import Slip, SplitGear
from mechlib.transports.kept import keeping_all
from mechlib.transports.lost_drive_faults import ClipGone, MissingTeeth
from mechlib.transports.mode_change import change
from mechlib.transports.model import Transport
from mechlib.transports.outcomes import Change

MOST_STATES = 8192  # whose changes are kept
SHIFTING = (Slip, SplitGear, ClipGone, MissingTeeth)  # what moves rows over theta

Faults = tuple  # of one state, in the order in which they are put in
Changes = dict[tuple[str, str], Change]  # by start and target


def tables_of(
    transport: Transport, states: Iterable[Faults], progress: Callable[[int, int], None] | None = None
) -> dict[Faults, Changes]:
    """Every change from one mode to another in each state, by the faults of the state.

    ``states``: tuples of faults, () for the transport as it is; ``progress`` is called with how many are
    done, and of how many.  A state that was asked for before comes at once.  Raises MechError where faults
    can't be put in.

    >>> from mechlib.transports import load, slip, weak_motor
    >>> tables = tables_of(load("alder"), [(), (slip("mode switch", -1), weak_motor(80))])
    >>> [table["STOP", "WIND"].outcome for table in tables.values()]
    ['reached', 'reached but wrong']
    """
    wanted = list(dict.fromkeys(tuple(state) for state in states))
    found = {}
    with keeping_all():
        for state in sorted(wanted, key=_shifting):
            found[state] = _changes(transport, state)
            if progress:
                progress(len(found), len(wanted))
    return {state: found[state] for state in wanted}


@lru_cache(maxsize=MOST_STATES)
def _changes(transport: Transport, state: Faults) -> Changes:
    faulty = transport.with_faults(*state)
    return {pair: change(faulty, *pair) for pair in pairs(transport)}


def _shifting(state: Faults) -> list[str]:
    """What of a state shifts rows, as something to sort by."""
    return sorted(repr(fault) for fault in state if isinstance(fault, SHIFTING))
