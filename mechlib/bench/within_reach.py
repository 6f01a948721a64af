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
ROUNDING = 1e-9  # of shares that add up to 1


@dataclass(frozen=True, eq=False)
class Ways:
    """Where changes lead, as truth values for each suspect and each of its machines.

    ``got``: [from, to, suspect, machine], one change after another; ``sure``: the same by changes alone that
    arrive each time; ``stands``: [mode, suspect, machine], whether a machine can stand in a mode at all.
    """

    modes: tuple[str, ...]
    got: np.ndarray
    sure: np.ndarray
    stands: np.ndarray

    def may_be_stuck(self, mode: str) -> np.ndarray:
        """Whether a machine can stand where no changes lead to ``mode`` for sure: [suspect, machine].

        What held the motor up is asked for once, so a contact that passes only sometimes may leave it stuck.
        """
        return (self.stands & ~self.sure[:, self.modes.index(mode)]).any(axis=0)

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
    """Where changes lead the suspects of these rows; all changes are worked out for them."""
    tries, modes = tries_of(foretold.transport), foretold.transport.mode_names
    foretold.foretell(tries, rows)
    place = {mode: at for at, mode in enumerate(modes)}
    shape = (len(modes), len(rows), len(foretold.machines))
    got, stands = np.zeros((len(modes), *shape), bool), np.zeros(shape, bool)
    sure = np.zeros_like(got)
    for check in tries:
        start, target, found = place[check.start], place[check.target], foretold.kept(check)
        arrives = _share(found, rows, lambda label: label in ARRIVES)
        got[start, target], sure[start, target] = arrives > 0, arrives > 1 - ROUNDING
        stands[start] |= _share(found, rows, lambda label: label != NOT_TRIED) > 0
    return Ways(modes, _one_after_another(got), _one_after_another(sure), stands)


def _one_after_another(led: np.ndarray) -> np.ndarray:
    """Where changes lead one after another, each mode to itself (Warshall 1962, from memory)."""
    led[range(len(led)), range(len(led))] = True
    for by in range(len(led)):
        led |= led[:, by, None] & led[None, by]
    return led


def _share(found: Foretold, rows, wanted) -> np.ndarray:
    """How often a machine reads what is ``wanted`` of a label, 0 to 1: [suspect, machine]."""
    shares, codes, _numbers = found.several(rows)
    labels = [wanted(label) for label, _detail in found.words]
    return (np.array([*labels, False])[codes] * shares).sum(axis=-1)  # no reading is the last
