"""Find the fault: how probable every fault is after what was observed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import prod

import numpy as np

from mechlib.bench.checks import Check
from mechlib.bench.decisions import LEAST
from mechlib.bench.observations import Observation, checked
from mechlib.bench.predictions import Predictions, predictions
from mechlib.bench.suspects import USUAL_PAIRS, Cause, Suspect, together
from mechlib.bench.within_reach import tries_of, ways
from mechlib.errors import MechError
from mechlib.say import columns, listing, say
from mechlib.transports.model import Transport

EXPLAINED = 0.1  # of the most that an observation can have: below it a suspect doesn't explain it
ALIKE = 0.05  # likelihoods of two causes that differ by less than this part are the same
SHOWN = 0.005  # less probable causes aren't told
FEW = 5
ROUNDING = 1e-9  # probabilities that differ by less, relatively, are equal


@dataclass(frozen=True)
class Ranked:
    """A cause, or a pair of them, with its probability; ``likeliest`` is its likeliest grade."""

    causes: tuple[Cause, ...]
    probability: float
    likeliest: Suspect

    @property
    def words(self) -> str:
        """The causes in words."""
        return together(self.causes)

    def sentence(self) -> str:
        """The probability and the likeliest grade."""
        return f"{say(100 * self.probability, '%', 0)}: {self.likeliest.sentence()}"


@dataclass(frozen=True, eq=False)
class Finding:
    """What the observations say: ``ranking``, the most probable first.

    ``cells``: the probability of each suspect of ``foretold`` in each of its machines; ``alike``: groups of
    the ranked causes that nothing so far tells apart; ``doubtful``: where no fault explains all, the smallest
    groups of observations (by their number, from 0) without which some fault does; ``electronics``: whether
    a fault of the electronics, which may do anything that it is asked, explains all.
    """

    transport: Transport
    observations: tuple[Observation, ...]
    foretold: Predictions
    cells: np.ndarray
    ranking: tuple[Ranked, ...]
    alike: tuple[tuple[Ranked, ...], ...]
    doubtful: tuple[tuple[int, ...], ...]
    electronics: bool

    @property
    def probabilities(self) -> np.ndarray:
        """The probability of each suspect of ``foretold``."""
        return self.cells.sum(axis=1)

    @property
    def first(self) -> Ranked:
        """The most probable."""
        return self.ranking[0]

    @cached_property
    def by_cause(self) -> dict[tuple[Cause, ...], float]:
        """The probability of each cause or pair."""
        return {one.causes: one.probability for one in self.ranking}

    def sentence(self) -> str:
        """The most probable cause, what can't be told from it, and what doesn't go together."""
        first, name = self.first, self.transport.name
        if not self.observations:
            return f"Nothing is observed yet; most often on {name}: {self._most_often()}."
        percent = say(100 * first.probability, "%", 0)
        told = f"Most probable on {name}: {first.words} ({percent})"
        group = next((group for group in self.alike if first in group), ())
        others = [one.words for one in group if one is not first]
        if others:
            whole = say(100 * sum(one.probability for one in group), "%", 0)
            shown = listing([*others[:FEW], *(["others"] if len(others) > FEW else [])])
            told += f"; nothing so far tells it from: {shown} (with it {whole})"
        elif len(self.ranking) > 1 and self.ranking[1].probability > SHOWN:
            second = self.ranking[1]
            told += f", then {second.words} ({say(100 * second.probability, '%', 0)})"
        return f"{told}.{self._doubts()}"

    def _most_often(self) -> str:
        """The most probable causes, all that are equally probable."""
        level = self.first.probability * (1 - ROUNDING)
        most = [one.words for one in self.ranking if one.probability >= level]
        if len(most) == 1:
            return most[0]
        return f"{listing([*most[:FEW], *(['others'] if len(most) > FEW else [])])}, equally often"

    def _doubts(self) -> str:
        if not self.doubtful:
            return ""
        groups = (" and ".join(f"no. {number + 1}" for number in group) for group in self.doubtful[:FEW])
        none = "No mechanical fault" if self.electronics else "No fault"
        look = "look to the electronics, or again at" if self.electronics else "look again at"
        return f" {none} explains all that was observed: {look} {', or at '.join(groups)}."

    def text(self) -> str:
        """What was observed, the ranking, the groups and the sentence."""
        lines = [f"{number}. {one.sentence()}" for number, one in enumerate(self.observations, 1)]
        rows = [
            (one.words, say(100 * one.probability, "%")) for one in self.ranking if one.probability >= SHOWN
        ]
        lines.append(columns(("cause", "probability"), rows))
        for group in self.alike:
            lines.append(f"not told apart so far: {listing(one.words for one in group)}")
        return "\n".join([*lines, self.sentence()])


def find(
    transport: Transport,
    observations: Iterable[Observation] = (),
    pairs: int = USUAL_PAIRS,
    progress: Callable[[float], None] | None = None,
) -> Finding:
    """How probable every fault of a transport is after what was observed.

    Posterior ∝ weight · Π P(observation | fault): Bayes' rule, with every fault put into some machines that
    differ from the file as real ones do, its readings computed, and each observation wrong at its error rate.
    So the order of the observations doesn't matter, and one that contradicts the others isn't fatal.
    ``observations``: made by ``bench.observations``; ``pairs``: how many pairs of faults are looked at, 0 to
    2000; ``progress`` is told the part that is worked out, 0 to 1, as a check takes a while the first time.
    Faults that the transport has already are left out.  Raises MechError for what can't be observed on it.

    >>> from mechlib.bench.observations import looked_at, tried
    >>> from mechlib.transports import load
    >>> seen = [tried("STOP", "OUT", "stands wrong", which="holder"), looked_at("holder", "bent")]
    >>> find(load("dogwood"), seen).first.words
    'holder bent'
    """
    sound = transport.sound
    if isinstance(observations, Observation) or not isinstance(observations, Iterable):
        raise MechError(f"observations is {observations!r}", "give a list, [tried(…), looked_at(…)]")
    kept = tuple(checked(sound, one) for one in observations)
    foretold = predictions(sound, pairs)
    by_check: dict[Check, list[Observation]] = {}
    for one in kept:
        by_check.setdefault(one.check, []).append(one)
    stuck = any(one.away for one in kept)
    checks = (*by_check, *(tries_of(sound) if stuck else ()))
    foretold.foretell(tuple(dict.fromkeys(checks)), foretold.every_row, progress)
    logs = np.log(np.maximum(foretold.cells, LEAST))
    for same in by_check.values():
        logs += np.log(np.maximum(likelihood(foretold, same), LEAST))
    cells = np.exp(logs - logs.max()) * (foretold.cells > 0)
    cells /= cells.sum()
    ranking = _ranked(foretold, cells.sum(axis=1))
    each = _each(foretold, kept)
    alike, doubts = _alike(foretold, ranking, each), doubts_left(foretold, kept, foretold.every_row)
    return Finding(sound, kept, foretold, cells, ranking, alike, *doubts)


def likelihood(foretold: Predictions, same: Sequence[Observation]) -> np.ndarray:
    """The probability of what one check read, under each suspect in each machine.

    Whoever says that a mode can't be reached doesn't say where the machine stands instead: besides the
    machines that never get there (``predictions``), all agree that may be stuck on the way, whatever the
    check would read in that mode.
    """
    found = foretold.likelihood(same)
    said = [one for one in same if one.away]
    if not said:
        return found
    others = [one for one in same if not one.away]
    agreed = foretold.likelihood(others) if others else np.ones(found.shape)
    agreed = agreed * prod(foretold.best(one) for one in said)
    stuck = ways(foretold, foretold.every_row).may_be_stuck(said[0].away)
    return np.where(stuck, np.maximum(found, agreed), found)


def _each(foretold: Predictions, observations) -> np.ndarray:
    """The likelihood of each observation under each suspect, over its machines."""
    means = [(likelihood(foretold, [one]) * foretold.cells).sum(axis=1) / foretold.weights
             for one in observations]  # fmt: skip
    return np.array(means).reshape(len(observations), len(foretold.states))


def _ranked(foretold: Predictions, probabilities: np.ndarray) -> tuple[Ranked, ...]:
    total: dict[tuple, float] = {}
    likeliest: dict[tuple, tuple[float, int]] = {}
    for row, (state, probability) in enumerate(zip(foretold.states, probabilities, strict=True)):
        total[state.causes] = total.get(state.causes, 0.0) + float(probability)
        likeliest[state.causes] = max(likeliest.get(state.causes, (-1.0, 0)), (float(probability), -row))
    ranked = (
        Ranked(causes, probability, foretold.states[-likeliest[causes][1]])
        for causes, probability in total.items()
    )
    return tuple(sorted(ranked, key=lambda one: -one.probability))


def _alike(foretold: Predictions, ranking, each: np.ndarray) -> tuple[tuple[Ranked, ...], ...]:
    """Groups of causes whose observations all have the same likelihood, the grades weighed by their share."""
    if not len(each):
        return ()
    weights, rows = foretold.weights, {}
    for row, state in enumerate(foretold.states):
        rows.setdefault(state.causes, []).append(row)
    groups: list[tuple[np.ndarray, list[Ranked]]] = []
    for one in ranking:
        if one.probability < SHOWN:
            break
        of_it = rows[one.causes]
        mean = np.average(each[:, of_it], axis=1, weights=weights[of_it])
        for known, group in groups:
            if np.all(np.abs(known - mean) <= ALIKE * np.maximum(known, mean)):
                group.append(one)
                break
        else:
            groups.append((mean, [one]))
    return tuple(tuple(group) for _, group in groups if len(group) > 1)


def doubts_left(foretold: Predictions, observations, rows) -> tuple[tuple[tuple[int, ...], ...], bool]:
    """``doubtful`` and ``electronics`` of a ``Finding`` with only the suspects in these rows.

    A sound machine leaves no doubts where it explains all.  Electronics may do anything that they are asked:
    they only have to explain the rest.
    """
    if not len(observations):
        return (), False
    most = np.array([foretold.best(one) for one in observations])
    unexplained = _each(foretold, observations) < EXPLAINED * most[:, None]
    commanded = np.array([one.check.commanded for one in observations])
    states = [(row, foretold.states[row]) for row in rows]
    faults = [row for row, state in states if state.faults]
    whole = [row for row, state in states if not state.electronics and not unexplained[:, row].any()]
    dark = [row for row, state in states if state.electronics]
    electronics = any(not unexplained[~commanded, row].any() for row in dark)
    if whole or not faults:
        return (), electronics
    missed = unexplained[:, faults].sum(axis=0)
    fewest = unexplained[:, faults][:, missed == missed.min()].T
    return tuple(sorted({tuple(np.flatnonzero(column).tolist()) for column in fewest})), electronics
