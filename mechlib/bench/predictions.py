"""What every suspect would let each check read, in machines that differ from the file as real ones do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from random import Random

import numpy as np

from mechlib.bench.checks import LOOK, MARK, VOLTS, Check
from mechlib.bench.decisions import LEAST
from mechlib.bench.drawn_readings import reading_chances
from mechlib.bench.foretold import NONE, Foretold
from mechlib.bench.observations import Observation
from mechlib.bench.readings import Reading, Scale, labels_of, scale_of
from mechlib.bench.severities import between_grades
from mechlib.bench.suspects import USUAL_PAIRS, Suspect, suspects
from mechlib.errors import MechError
from mechlib.transports.alike import machines_alike
from mechlib.transports.kept import keeping_all
from mechlib.transports.model import Transport

MACHINES = 6  # into which each suspect is put
MACHINES_FOR_PAIRS = 2
MACHINES_FOR_LOADS = 14  # since a weak drive and a heavy load read nearly alike; chosen by trial
LOADS = ("hard grease", "stiff lever", "weak motor", "low supply", "slack belt", "glazed belt")
FAR_OFF = 0.2  # of numbers that are anywhere, since a fault's degree isn't known; chosen by trial
ANY_RATE = 0.5  # of what is asked of a controller with a fault in its electronics; no source
OTHER = 0.3  # how often the machine in hand reads as another of those drawn; chosen by trial
UNSEEN = 0.05  # and as none of them; chosen by trial
PLAIN = (LOOK, MARK, VOLTS)
NO_STEP = -999.0  # no number


@dataclass(frozen=True, eq=False)
class Predictions:
    """Foretold readings of a transport: a row a suspect, a column a machine; kept once worked out."""

    transport: Transport
    states: tuple[Suspect, ...]
    machines: tuple[Transport, ...]
    _faulty: dict = field(default_factory=dict, repr=False)
    _kept: dict[Check, Foretold] = field(default_factory=dict, repr=False)
    _scales: dict = field(default_factory=dict, repr=False)

    @cached_property
    def weights(self) -> np.ndarray:
        """The weight of each suspect before anything is seen."""
        return np.array([state.weight for state in self.states])

    @cached_property
    def electronic(self) -> np.ndarray:
        """Whether each suspect is a fault of the electronics."""
        return np.array([state.electronics for state in self.states])

    @cached_property
    def anew(self) -> np.ndarray:
        """Whether what a check reads is drawn anew each time, for each suspect."""
        return np.array([state.drawn_anew for state in self.states])

    @cached_property
    def every_row(self) -> np.ndarray:
        """The rows of all suspects."""
        return np.arange(len(self.states))

    @cached_property
    def cells(self) -> np.ndarray:
        """The weight of each suspect in each machine; 0 where it isn't put into so many."""
        there = np.array([[column < len(self.faulty(row)) for column in range(len(self.machines))]
                          for row in self.every_row])  # fmt: skip
        return self.weights[:, None] * there / np.maximum(there.sum(axis=1, keepdims=True), 1)

    def likelihood(self, observations: Sequence[Observation], rows=None) -> np.ndarray:
        """The probability of what one check read, once or again, under each suspect in each machine.

        What it should read is that of the machine itself, or that of another with the same fault (``OTHER``),
        since the machine in hand is none of these, or anything (``UNSEEN``); a number may be anywhere
        (``FAR_OFF``).  Each reading of it is wrong at its error rate, independently.  What eye and meter tell
        at once (``PLAIN``) has no such doubts.  Where a contact passes only sometimes, what it should read is
        drawn anew for each reading: Π over the readings of Σ share · probability.
        """
        rows = self.every_row if rows is None else np.asarray(rows)
        self.foretell((observations[0].check,), rows)
        found, anew = np.empty((len(rows), len(self.machines))), self.anew[rows]
        for some, likelihood in ((~anew, self._the_same), (anew, self._drawn_anew)):
            if some.any():
                found[some] = likelihood(observations, rows[some])
        return found

    def _the_same(self, observations: Sequence[Observation], rows) -> np.ndarray:
        """The likelihood where a machine should read the same each time."""
        kept = self._kept[observations[0].check]
        own = self._as_foretold(observations, rows, kept.codes[rows], kept.numbers[rows])
        anything = self._anything(observations, rows)
        return _in_hand(observations[0].check, own, anything, kept.codes[rows] != NONE)

    def _drawn_anew(self, observations: Sequence[Observation], rows) -> np.ndarray:
        """The likelihood where what it should read is drawn for each reading."""
        shares, codes, numbers = self._kept[observations[0].check].several(rows)
        flat, own = (len(rows), -1), 1.0
        for one in observations:
            each = self._as_foretold([one], rows, codes.reshape(flat), numbers.reshape(flat))
            own = own * (shares * each.reshape(shares.shape)).sum(axis=-1)
        anything = self._anything(observations, rows)
        return _in_hand(observations[0].check, own, anything, shares.sum(axis=-1) > 0)

    def _as_foretold(self, observations: Sequence[Observation], rows, codes, numbers) -> np.ndarray:
        """The same where it should read what is foretold, or for a number, with that label anywhere."""
        read, elsewhere = np.ones(codes.shape), np.zeros(codes.shape)
        for one in observations:
            read *= self._read(one, rows, self._agreeing(one, codes, numbers))
        if observations[0].check.kind in PLAIN or all(one.plus_minus is None for one in observations):
            return read
        for true in _different(observations):
            alike = self._label_agrees(true, codes) * self.room(true)
            for one in observations:
                alike *= self._read(one, rows, np.full((len(rows), 1), one.read == true.read))
            elsewhere += alike
        return (1 - FAR_OFF) * read + FAR_OFF * elsewhere

    def _anything(self, observations: Sequence[Observation], rows) -> np.ndarray:
        """The same where what it should read is drawn by chance: one of those read, or none of them."""
        left, found = 1.0, np.zeros((len(rows), 1))
        for true in (*_different(observations), None):
            chance = max(left, 0.0) if true is None else self.by_chance(true)
            left -= chance
            alike = np.full((len(rows), 1), chance)
            for one in observations:
                match = np.full((len(rows), 1), true is not None and one.read == true.read)
                alike *= self._read(one, rows, match)
            found += alike
        return found

    def _read(self, observation: Observation, rows, match) -> np.ndarray:
        """From whether it agrees: mixed with errors, and with anything where it is the electronics."""
        chance = self.by_chance(observation)
        wrong = np.full((len(rows), 1), observation.error_rate)
        if observation.check.commanded:
            wrong[self.electronic[rows]] = 1 - (1 - observation.error_rate) * (1 - ANY_RATE)
        return (1 - wrong) * match + wrong * chance

    def table(self, check: Check, rows, earlier: Sequence[Observation] = ()):
        """Every result that a check can have, and its likelihood for each suspect and machine.

        Returns the results and an array with a row a result and a column a cell, row by row of
        ``cells[rows]``; numbers go in steps of the check's scale, columns add up to 1.  ``earlier``: what it
        has read before.
        """
        rows = np.asarray(rows)
        results = self._results(check, rows)
        found = np.array([self.likelihood((*earlier, one), rows).ravel() for one in results])
        return results, found / np.maximum(found.sum(axis=0), LEAST)

    def _label_agrees(self, observation: Observation, codes) -> np.ndarray:
        """Whether label and detail are those that were read."""
        read, words = observation.read, self._kept[observation.check].words
        like = [label == read.label and (read.detail is None or read.detail == detail)
                for label, detail in words]  # fmt: skip
        return np.array([*like, False])[codes]  # NONE is the last

    def _agreeing(self, observation: Observation, codes, numbers) -> np.ndarray:
        """For each suspect and machine the probability that it reads so, errors apart."""
        match, number = self._label_agrees(observation, codes), observation.read.number
        if number is None or observation.plus_minus is None:
            return match
        spread = self.scale(observation.check).spread
        within = _within(number, observation.plus_minus, np.nan_to_num(numbers), spread)
        return match * np.where(np.isnan(numbers), self.room(observation), within)

    def room(self, observation: Observation) -> float:
        """The part of a number's range that is as good as the one read; 1 where none was read."""
        scale = self.scale(observation.check)
        if observation.plus_minus is None or scale is None:
            return 1.0
        return min(2 * observation.plus_minus / (scale.high - scale.low), 1.0)

    def by_chance(self, observation: Observation) -> float:
        """That a wrong observation is just this one: labels evenly, numbers over the range."""
        return self.room(observation) / len(labels_of(self.transport, observation.check))

    def best(self, observation: Observation) -> float:
        """The most that an observation can have: where a machine reads just that."""
        wrong = observation.error_rate
        return 1 - wrong + wrong * self.by_chance(observation)

    def scale(self, check: Check) -> Scale | None:
        """How finely the number of a check is read."""
        if check not in self._scales:
            self._scales[check] = scale_of(self.transport, check)
        return self._scales[check]

    def foretell(self, checks, rows, progress: Callable[[float], None] | None = None) -> None:
        """Work out all these checks, so that the changes of a machine are worked out together.

        One drawn machine with all its faults after the other, since its tracks are the same in most of them.
        """
        shape = (len(self.states), len(self.machines))
        for check in checks:
            if check not in self._kept:
                self._kept[check] = Foretold(*shape)
        kept = [(check, self._kept[check]) for check in checks if not self._kept[check].done[rows].all()]
        if not kept:
            return
        left = {row: [(check, found) for check, found in kept if not found.done[row]] for row in rows}
        work = [(column, row) for column in range(shape[1]) for row, new in left.items()
                if new and column < len(self.faulty(row))]  # fmt: skip
        with keeping_all():
            for done, (column, row) in enumerate(work, 1):
                machine = self.faulty(row)[column]
                for check, found in left[row]:
                    found.put(row, column, reading_chances(machine, self.transport, check))
                if progress:
                    progress(done / len(work))
        for row, new in left.items():
            for _, found in new:
                found.done[row] = True

    def kept(self, check: Check) -> Foretold:
        """What was worked out of a check so far."""
        return self._kept[check]

    def faulty(self, row: int) -> tuple[Transport, ...]:
        """The machines with the faults of one suspect, their degrees a little different in each."""
        if row not in self._faulty:
            state, draw = self.states[row], Random(f"{self.transport.name} {row}")
            machines = self.machines[: _machines_for(state)]
            self._faulty[row] = tuple(_put_in(machine, state.faults, draw) for machine in machines)
        return self._faulty[row]

    def _results(self, check: Check, rows) -> tuple[Observation, ...]:
        """The different results that the suspects of ``rows`` let a check have, each once."""
        self.foretell((check,), rows)
        scale, (_shares, codes, numbers) = self.scale(check), self._kept[check].several(rows)
        steps = np.zeros(codes.shape) if scale is None else np.round((numbers - scale.low) / scale.step)
        pairs = np.stack([codes, np.nan_to_num(steps, nan=NO_STEP)], axis=-1)[codes != NONE]
        words = {code: word for word, code in self._kept[check].words.items()}
        found = []
        for code, step in np.unique(pairs, axis=0):
            number = None if scale is None or step == NO_STEP else float(scale.low + step * scale.step)
            plus_minus = None if number is None else scale.step / 2
            found.append(Observation(check, Reading(*words[int(code)], number), plus_minus))
        return tuple(found)


def _in_hand(check: Check, own: np.ndarray, anything, there: np.ndarray) -> np.ndarray:
    """The likelihood for the machine in hand: as one of those drawn, as another, or anything."""
    if check.kind in PLAIN:
        return own * there
    others = (own * there).sum(axis=1, keepdims=True) / np.maximum(there.sum(axis=1, keepdims=True), 1)
    return ((1 - OTHER - UNSEEN) * own + OTHER * others + UNSEEN * anything) * there


def _different(observations: Sequence[Observation]) -> list[Observation]:
    """One observation of each that read the same."""
    return list({(one.read, one.plus_minus): one for one in observations}.values())


def _machines_for(state: Suspect) -> int:
    """Into how many machines a suspect is put."""
    if len(state.faults) > 1:
        return MACHINES_FOR_PAIRS
    return MACHINES_FOR_LOADS if state.causes[0].kind in LOADS else MACHINES


def _put_in(machine: Transport, faults: tuple, draw: Random) -> Transport:
    """A degree between the grades, or the grade itself where this machine can't have the other."""
    try:
        return machine.with_faults(*(between_grades(machine, fault, draw) for fault in faults))
    except MechError:
        return machine.with_faults(*faults)


def _within(number: float, plus_minus: float, foretold: np.ndarray, spread: float) -> np.ndarray:
    """The probability that a reading lies so near: its errors spread as a logistic curve."""

    def below(at: float) -> np.ndarray:
        return 1 / (1 + np.exp(np.clip((foretold - at) / (0.55 * spread), -60, 60)))

    return below(number + plus_minus) - below(number - plus_minus)


def predictions(transport: Transport, pairs: int = USUAL_PAIRS) -> Predictions:
    """The predictions of a transport, faults left out; whatever was worked out once is there at once."""
    return _predictions(transport.sound, pairs)


@lru_cache(maxsize=8)
def _predictions(sound: Transport, pairs: int) -> Predictions:
    return Predictions(sound, suspects(sound, pairs), machines_alike(sound, MACHINES_FOR_LOADS))
