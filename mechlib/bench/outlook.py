"""What can be done next: the suspects left, what mends each, and what each check worth making would read."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from mechlib.bench.checks import Check, checks_of
from mechlib.bench.decisions import Work, work
from mechlib.bench.fault_finding import Finding
from mechlib.bench.observations import Observation, holds_up
from mechlib.bench.suspects import NOTHING, Repair, Suspect, repair_of
from mechlib.bench.within_reach import ARRIVES, ways
from mechlib.transports.bench_practice import check_minutes, repair_covers, repair_minutes
from mechlib.transports.model import Transport

KEPT = 0.99  # of the probability: rarer suspects aren't asked what a check would read
LEAST_ROWS, MOST_ROWS = 20, 100  # of them, however it is shared
LIKELY = 0.5  # that a mode is got to: a change from one less likely isn't proposed
MOST_TIMES = 4  # that a check is made: again, it tells of what is drawn anew, and of wrong readings
# Of a change, and of a check that asks for it.
HELD_BEFORE = "it has held the motor up: at the bench ask for it again only after a repair, the motor cooled"


@dataclass(frozen=True, eq=False)
class Outlook:
    """What can be done now: the suspects left, what mends each, and what each check would read.

    ``units``: the repairs, by row of ``work``; ``unit_of``: which of them mends each suspect (both of a
    pair's count as one).  ``probability``, ``unit_of`` and the columns of ``tables`` (by check, the
    likelihood of each result) are those of a suspect in a machine; ``rows``: the suspects, as in ``finding``.
    ``left_out``: why each of the other checks isn't weighed.
    """

    finding: Finding
    rows: np.ndarray
    probability: np.ndarray
    units: tuple[tuple[Repair, ...], ...]
    unit_of: np.ndarray
    work: Work
    cover_names: tuple[str, ...]
    tables: dict[Check, tuple[tuple[Observation, ...], np.ndarray]]
    left_out: dict[Check, str]

    def off(self, covers: frozenset[str]) -> np.ndarray:
        """Covers by name as truth values."""
        return np.array([name in covers for name in self.cover_names], bool)


def outlook(
    finding: Finding,
    progress: Callable[[float], None] | None = None,
    mended: Iterable[Repair] = (),
    anywhere: bool = False,
) -> Outlook:
    """What ``next_checks`` and ``plan`` need of a finding; ``progress`` is told the part done, 0 to 1.

    ``mended``: repairs already made; of a pair only the other one is left to mend.  ``anywhere``: the machine
    can be put into any mode, but for those said to be out of reach; else it has to get there by changes.
    """
    foretold, rows = finding.foretold, _rows(finding.probabilities)
    of_each = [_left(finding.transport, foretold.states[row], frozenset(mended)) for row in rows]
    units = tuple(dict.fromkeys(of_each))
    cells = finding.cells[rows].ravel()
    names = tuple(cover.name for cover in finding.transport.covers)
    unit_of = np.repeat([units.index(repairs) for repairs in of_each], finding.cells.shape[1])
    checks = checks_of(finding.transport)
    foretold.foretell(checks, rows, progress)
    left_out, tables = _left_out(finding, rows, anywhere), {}
    for check in checks:
        if check not in left_out:
            earlier = [one for one in finding.observations if one.check == check]
            tables[check] = foretold.table(check, rows, earlier)
    needs = _work(finding, units, names)
    return Outlook(finding, rows, cells / cells.sum(), units, unit_of, needs, names, tables, left_out)


def _left(transport: Transport, state: Suspect, mended: frozenset[Repair]) -> tuple[Repair, ...]:
    """What mends a suspect, without what was mended already; all of it where that would be nothing."""
    needed = dict.fromkeys(repair_of(transport, cause) for cause in state.causes)
    return tuple(one for one in needed if one not in mended) or tuple(needed)


def _left_out(finding: Finding, rows: np.ndarray, anywhere: bool) -> dict[Check, str]:
    """The checks that aren't weighed, and why; those already made are: a contact may pass only sometimes.

    Not those made ``MOST_TIMES``, nor those that ask again for a change that has held the motor up: it would
    heat up.  Nor a change whose start is out of reach.
    """
    made = Counter(one.check for one in finding.observations)
    said = {one.away for one in finding.observations if one.away}
    away = set() if anywhere else _hardly_reached(finding, rows)
    found = {}
    for check in checks_of(finding.transport):
        if holds_up(check, finding.observations):
            found[check] = HELD_BEFORE
        elif made[check] >= MOST_TIMES:
            found[check] = f"it was made {MOST_TIMES} times before"
        elif check.start in said:
            found[check] = f"{check.start} can't be reached, as was seen before"
        elif check.start in away:
            found[check] = f"the machine hardly gets to {check.start}"
    return found


def _hardly_reached(finding: Finding, rows: np.ndarray) -> set[str]:
    """The modes that probably no change leads to from any mode that the machine has stood in.

    As long as none is known, it may stand in each.
    """
    tried = [one for one in finding.observations if one.check.start and not one.away]
    stood = {one.check.start for one in tried}
    stood |= {one.check.target for one in tried if one.read.label in ARRIVES}
    if not stood:
        return set()
    led, cells = ways(finding.foretold, rows), finding.cells[rows]
    chances = {mode: (cells * led.reached(mode, stood)).sum() / cells.sum() for mode in led.modes}
    return {mode for mode, chance in chances.items() if chance < LIKELY}


def _rows(probabilities: np.ndarray) -> np.ndarray:
    """The suspects that hold nearly all the probability."""
    order = np.argsort(-probabilities, kind="stable")
    enough = int(np.searchsorted(np.cumsum(probabilities[order]), KEPT)) + 1
    return np.sort(order[: min(max(enough, LEAST_ROWS), MOST_ROWS)])


def _work(finding: Finding, units, names: tuple[str, ...]) -> Work:
    """The repairs' minutes, a try of a change after each included, and their covers; proving is all tries."""
    transport, minutes, covers = finding.transport, [], []
    again = check_minutes(transport, "try a change")
    for repairs in units:
        takes = sum(repair_minutes(transport, one.kind, one.of) for one in repairs)
        minutes.append(takes + (again if repairs[0].kind != NOTHING else 0.0))
        needed = {cover.name for one in repairs for cover in repair_covers(transport, one.kind, one.of)}
        covers.append([name in needed for name in names])
    shape = np.array(covers, bool).reshape(len(units), len(names))
    return work(minutes, shape, [cover.minutes for cover in transport.covers])
