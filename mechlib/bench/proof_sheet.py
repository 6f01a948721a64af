"""The proof sheet: every mode change once, in an order that can be walked from one end to the other."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from mechlib.bench.change_walk import change_walk
from mechlib.say import say
from mechlib.transports.change_table import change_table
from mechlib.transports.mode_change import change
from mechlib.transports.model import Transport
from mechlib.transports.outcomes import Change
from mechlib.transports.timing import arriving_senses

HEADER = ("start", "target", "worked", "time_s", "remark")


@dataclass(frozen=True)
class ProofStep:
    """One row of the sheet; ``joins`` is False where the machine must be brought to ``start`` first.

    ``expected_s``: from where the step before leaves the machine; None for a change that does not end right
    even with every mark right; ``why`` then says how it ends.
    """

    start: str
    target: str
    expected_s: float | None
    why: str
    joins: bool

    def sentence(self) -> str:
        """The step in words."""
        first = "" if self.joins else f"Bring the machine to {self.start} first.  "
        ends = f"about {say(self.expected_s, 's')}" if self.expected_s is not None else self.why
        return f"{first}{self.start} to {self.target}: {ends}."


def proof_steps(transport: Transport) -> tuple[ProofStep, ...]:
    """Every change from one mode to another once, each starting where the last one ended.

    Begins in the reference mode.  The time is that from where the step before left the machine; where it is
    brought to the start, from an arrival as the controller makes it (loading if it does).  ``change_table``
    takes every start in the loading sense.  Changes that do not end right even with every mark right come
    last, each on its own.  ``transport``: any; faults are left out.

    >>> from mechlib.transports import load
    >>> steps = proof_steps(load("alder"))
    >>> len(steps), steps[0].sentence()[:47], steps[1].joins
    (56, 'Bring the machine to DOWN first.  DOWN to EJECT', True)
    """
    sound = transport.sound
    changes = {pair: cell.change for pair, cell in change_table(sound).items()}
    left = [pair for pair, found in changes.items() if found.good]
    steps, here, came = [], None, ""
    for pair in pairwise(change_walk(left, sound.reference_mode)):
        if pair in left:  # else the walk only goes there for what comes next
            left.remove(pair)
            joins = pair[0] == here
            found = _from_there(sound, changes[pair], came if joins else "")
            steps.append(ProofStep(*pair, found.time_s, "", joins))
            here, came = pair[1], found.stand.sense
    steps += [
        ProofStep(*pair, None, found.outcome, False) for pair, found in changes.items() if not found.good
    ]
    return tuple(steps)


def _from_there(transport: Transport, usual: Change, came: str) -> Change:
    """The change from its start reached in that sense, or as it can be; the usual one if that fails."""
    senses = (came,) if came else arriving_senses(transport)[usual.start]
    found = (change(transport, usual.start, usual.target, sense) for sense in senses)
    return next((one for one in found if one.good), usual)


def proof_csv(transport: Transport) -> str:
    """The blank proof sheet as CSV text, to be filled in and given to ``judge``.

    >>> from mechlib.transports import load
    >>> proof_csv(load("alder")).splitlines()[:2]
    ['start,target,worked,time_s,remark', 'DOWN,EJECT,,,']
    """
    rows = [HEADER, *((step.start, step.target, "", "", "") for step in proof_steps(transport))]
    return "\n".join(",".join(_quoted(cell) for cell in row) for row in rows) + "\n"


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if set(cell) & set(',;"\t\n') else cell
