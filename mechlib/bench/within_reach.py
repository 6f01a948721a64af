"""Which modes a machine gets to by the changes that its faults leave it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from mechlib.bench.checks import TRY, Check, checks_of
from mechlib.bench.foretold import Foretold
from mechlib.bench.predictions import Predictions
from mechlib.bench.readings import NOT_TRIED, SECOND_TRY, SLOW, STANDS_WRONG, THEN_OFF, WORKED
from mechlib.transports.model import Transport

ARRIVES = (WORKED, SECOND_TRY, SLOW, STANDS_WRONG, THEN_OFF)  # the code of the mode asked for was read


@dataclass(frozen=True, eq=False)
class Ways:
    """Where changes lead, as truth values for each suspect and each of its machines.

    ``got``: [from, to, suspect, machine], one change after another; ``stands``: [mode, suspect, machine],
    whether a machine can stand in a mode at all.
    """

    modes: tuple[str, ...]
    got: np.ndarray
    stands: np.ndarray

    def may_be_stuck(self, mode: str) -> np.ndarray:
        """Whether a machine can stand where no changes lead to ``mode``: [suspect, machine]."""
        return (self.stands & ~self.got[:, self.modes.index(mode)]).any(axis=0)

    def reached(self, mode: str, stood: Iterable[str]) -> np.ndarray:
        """Whether changes lead to ``mode`` from any of the modes that it ``stood`` in: [suspect, machine]."""
        begun = [self.modes.index(one) for one in stood]
        return self.got[begun, self.modes.index(mode)].any(axis=0)


def tries_of(transport: Transport) -> tuple[Check, ...]:
    """Every change that can be asked for.

    >>> from mechlib.transports import load
    >>> len(tries_of(load("dogwood")))
    6
    """
    return tuple(check for check in checks_of(transport) if check.kind == TRY)


def ways(foretold: Predictions, rows) -> Ways:
    """Where changes lead the suspects of these rows; all changes are worked out for them.

    A change that arrives only sometimes counts, since it can be asked for again.
    """
    tries, modes = tries_of(foretold.transport), foretold.transport.mode_names
    foretold.foretell(tries, rows)
    place = {mode: at for at, mode in enumerate(modes)}
    shape = (len(modes), len(rows), len(foretold.machines))
    got, stands = np.zeros((len(modes), *shape), bool), np.zeros(shape, bool)
    for check in tries:
        start, target, found = place[check.start], place[check.target], foretold.kept(check)
        got[start, target] = _any_read(found, rows, lambda label: label in ARRIVES)
        stands[start] |= _any_read(found, rows, lambda label: label != NOT_TRIED)
    got[range(len(modes)), range(len(modes))] = True
    for by in range(len(modes)):  # by way of one mode after another (Warshall 1962, from memory)
        got |= got[:, by, None] & got[None, by]
    return Ways(modes, got, stands)


def _any_read(found: Foretold, rows, wanted) -> np.ndarray:
    """Whether a machine reads, if only sometimes, what is ``wanted`` of a label: [suspect, machine]."""
    shares, codes, _numbers = found.several(rows)
    labels = [wanted(label) for label, _detail in found.words]
    return (np.array([*labels, False])[codes] & (shares > 0)).any(axis=-1)  # no reading is the last
