"""Which check tells most, in which order to mend, and when to stop checking: numbers in, numbers out.

States of a machine have probabilities; each is mended by one unit of work, and a unit may mend several
states. Work needs covers off, and a cover that is off costs nothing more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mechlib.errors import MechError

LEAST = 1e-300  # probability that is still looked at


@dataclass(frozen=True, eq=False)
class Work:
    """Units of work: ``minutes`` of each, by row the covers that it needs, and the minutes of each cover."""

    minutes: np.ndarray
    covers: np.ndarray
    cover_minutes: np.ndarray

    def without(self, off: np.ndarray) -> Work:
        """The same where some covers are off already; ``off``: a truth value for each cover."""
        return Work(self.minutes, self.covers & ~off, self.cover_minutes)


def work(minutes, covers=None, cover_minutes=()) -> Work:
    """Units of work from plain numbers; without covers where none are given.

    >>> work([3, 5]).minutes.tolist()
    [3.0, 5.0]
    """
    minutes = np.asarray(minutes, float)
    if covers is None:
        covers = np.zeros((len(minutes), len(cover_minutes)), bool)
    return Work(minutes, np.asarray(covers, bool), np.asarray(cover_minutes, float))


def order_of_repair(probability, units: Work) -> np.ndarray:
    """The order in which to mend: the largest probability per minute first.

    With one fault and no covers this order takes the least time on average.  Source: Heckerman, Breese and
    Rommelse, Decision-theoretic troubleshooting, Communications of the ACM 38 (1995), from memory.

    >>> order_of_repair([0.5, 0.3, 0.2], work([50, 10, 5])).tolist()
    [2, 1, 0]
    """
    whole = units.minutes + units.covers @ units.cover_minutes
    return np.argsort(-np.asarray(probability, float) / np.maximum(whole, 1e-9), axis=-1, kind="stable")


def minutes_to_mend(probability, units: Work, order=None) -> np.ndarray:
    """Minutes on average until the fault is mended, unit after unit in an order, tried after each.

    Σ (minutes of a unit, with the covers still on) · (probability that none before it
    mended).  ``probability``: of the unit that mends, in its last axis; rows of it are worked out side by
    side.  ``order``: as ``order_of_repair`` by default.

    >>> float(minutes_to_mend([0.5, 0.5], work([10, 4])))
    9.0
    """
    probability = np.asarray(probability, float)
    order = order_of_repair(probability, units) if order is None else np.asarray(order)
    found = np.take_along_axis(probability, order, axis=-1)
    before = np.cumsum(found, axis=-1) - found
    needed = units.covers[order]
    off = np.logical_or.accumulate(needed, axis=-2)
    newly = off.copy()
    newly[..., 1:, :] &= ~off[..., :-1, :]
    takes = units.minutes[order] + newly @ units.cover_minutes
    left = np.clip(probability.sum(axis=-1, keepdims=True) - before, 0.0, None)
    return (takes * left).sum(axis=-1)


def gathered(probability, unit_of, number: int) -> np.ndarray:
    """Probabilities of states, in the last axis, added up by unit.

    >>> gathered([0.5, 0.2, 0.3], [0, 1, 0], 2).tolist()
    [0.8, 0.2]
    """
    probability = np.asarray(probability, float)
    belongs = np.zeros((probability.shape[-1], number))
    belongs[np.arange(len(unit_of)), unit_of] = 1.0
    return probability @ belongs


def bits(probability) -> np.ndarray:
    """Entropy of a distribution in its last axis, −Σ p·log2 p (Shannon 1948).

    >>> float(bits([0.5, 0.25, 0.25]))
    1.5
    """
    probability = np.asarray(probability, float)
    return -(probability * np.log2(np.maximum(probability, LEAST))).sum(axis=-1)


def information_bits(probability, likelihood, unit_of, number: int) -> float:
    """What a check tells on average about the unit, H(unit) − Σ P(result)·H(unit | result), in bits.

    ``probability``: of each state; ``likelihood``: a row a result, a column a state, each column adding up to
    1.

    >>> information_bits([0.5, 0.5], [[1, 0], [0, 1]], [0, 1], 2)
    1.0
    """
    joint = np.asarray(likelihood, float) * np.asarray(probability, float)
    results = joint.sum(axis=1)
    units = gathered(joint, unit_of, number)
    after = units / np.maximum(results[:, None], LEAST)
    before = bits(units.sum(axis=0))
    return float(max(before - (results * bits(after)).sum(), 0.0))


def minutes_after_check(probability, likelihood, unit_of, units: Work) -> float:
    """Minutes to mend on average once a check's result is known, its own minutes apart.

    >>> minutes_after_check([0.5, 0.5], [[1, 0], [0, 1]], [0, 1], work([10, 4]))
    7.0
    """
    joint = np.asarray(likelihood, float) * np.asarray(probability, float)
    return float(minutes_to_mend(gathered(joint, unit_of, len(units.minutes)), units).sum())


def after_reading(probability, likelihood) -> np.ndarray:
    """Probabilities of causes after one reading, p·P(reading | cause) over their sum: Bayes' rule.

    ``probability``: of each cause before, ``likelihood``: how often each gives this reading.  Raises
    MechError where none of them can give it.

    >>> after_reading([0.3, 0.7], [0.9, 0.1]).round(3).tolist()
    [0.794, 0.206]
    """
    joint = np.asarray(probability, float) * np.asarray(likelihood, float)
    if not joint.sum() > 0:
        raise MechError("a reading that no cause gives", "look again, or think of another cause")
    return joint / joint.sum()
