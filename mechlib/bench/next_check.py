"""What to check next, and when to mend instead: most told per minute, least minutes to the repair."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from mechlib.bench.checks import Check, covers_for, known_covers, minutes_for
from mechlib.bench.decisions import (
    Work,
    gathered,
    information_bits,
    minutes_after_check,
    minutes_to_mend,
    order_of_repair,
)
from mechlib.bench.fault_finding import Finding
from mechlib.bench.observations import Observation
from mechlib.bench.outlook import KEPT, Outlook, outlook
from mechlib.bench.suspects import NOTHING, Repair, to_do
from mechlib.errors import check_count
from mechlib.say import count, listing, say

LEAST_BITS = 1e-4  # a check that tells less isn't worth naming


@dataclass(frozen=True)
class Advice:
    """A check worth making: the bits that it tells on average of the repair, its minutes, covers included.

    ``results``: what it can read, the likeliest first, each with its probability.
    """

    check: Check
    bits: float
    minutes: float
    covers: tuple[str, ...]
    results: tuple[tuple[Observation, float], ...]

    @property
    def bits_per_minute(self) -> float:
        """What it tells for its time."""
        return self.bits / self.minutes

    def sentence(self) -> str:
        """What to check, what comes off for it, what it takes and tells."""
        off = f"take off the {listing(self.covers)} and " if self.covers else ""
        told = f"{off}{self.check.words}"
        return f"{told[0].upper()}{told[1:]}: {say(self.minutes, 'min')}, tells {say(self.bits, 'bits', 2)}."


def next_checks(
    finding: Finding,
    off: frozenset[str] = frozenset(),
    number: int = 5,
    progress: Callable[[float], None] | None = None,
) -> tuple[Advice, ...]:
    """The checks that tell most per minute, the best first; none where nothing tells anything more.

    Bits: the entropy of the repair that is needed, less what is left of it on average after the check
    (Shannon 1948; Lindley 1956).  Minutes: the check's, and those of the covers that must still come
    off.  ``off``: names of the covers that are off already; ``number``: 1 to 500.  ``progress`` is told the
    part that is worked out, 0 to 1. Raises MechError for covers that the transport doesn't have.

    >>> from mechlib.bench.fault_finding import find
    >>> from mechlib.bench.observations import tried
    >>> from mechlib.transports import load
    >>> found = find(load("dogwood"), [tried("STOP", "PLAY", "never moved")])
    >>> next_checks(found, number=1)[0].check.words
    'ask for PLAY in OUT'
    """
    check_count("number", number, 1, 500)
    look = outlook(finding, progress)
    return ranked_checks(look, known_covers(finding.transport, off))[:number]


def next_check(finding: Finding, off: frozenset[str] = frozenset()) -> Advice | None:
    """The check that tells most per minute; None where nothing tells anything more (see ``next_checks``)."""
    return next(iter(next_checks(finding, off, 1)), None)


def ranked_checks(look: Outlook, off: frozenset[str]) -> tuple[Advice, ...]:
    """Every check that tells something, the most per minute first."""
    found = []
    for check, (results, table) in look.tables.items():
        told = information_bits(look.probability, table, look.unit_of, len(look.units))
        if told < LEAST_BITS:
            continue
        minutes = minutes_for(look.finding.transport, check, off)
        covers = tuple(c.name for c in covers_for(look.finding.transport, check) if c.name not in off)
        chances = table @ look.probability
        order = np.argsort(-chances, kind="stable")
        likely = tuple((results[i], float(chances[i])) for i in order)
        found.append(Advice(check, told, minutes, covers, likely))
    return tuple(sorted(found, key=lambda one: -one.bits_per_minute))


# ---- The plan of least minutes to the repair ----


@dataclass(frozen=True)
class Step:
    """What to do next: a check or a repair, its minutes, and the minutes to the end on average.

    ``then``: the likeliest results with their probability and what to do then; for a repair, where it didn't
    help.
    """

    check: Check | None
    repairs: tuple[Repair, ...]
    minutes: float
    expected_minutes: float
    probability: float
    then: tuple[tuple[str, float, Step | None], ...] = ()

    @property
    def words(self) -> str:
        """What to do."""
        return self.check.words if self.check else to_do(self.repairs)

    def sentence(self) -> str:
        """What to do, how long it takes, and what is left on average."""
        todo = f"{self.words[0].upper()}{self.words[1:]} ({say(self.minutes, 'min')})"
        done = "all is done" if NOTHING in (one.kind for one in self.repairs) else "the repair is done"
        return f"{todo}; on average {done} after {count(self.expected_minutes, 'minute')}."

    def text(self, deep: int = 0) -> str:
        """The plan as an indented list."""
        lines = [f"{'  ' * deep}{self.words} ({say(self.minutes, 'min')})"]
        for words, chance, step in self.then:
            lines.append(f"{'  ' * deep}- {words} ({say(100 * chance, '%', 0)})")
            if step:
                lines.append(step.text(deep + 1))
        return "\n".join(lines)


FEW_RESULTS = 4  # that a plan goes into


def plan(finding: Finding, off: frozenset[str] = frozenset(), deep: int = 2,
         progress: Callable[[float], None] | None = None) -> Step:  # fmt: skip
    """The plan of least expected minutes to the repair, looking one check ahead at each step.

    Mending at once takes, on average, Σ minutes · P(not mended yet) in the order of probability over minutes;
    that is compared with each check's minutes plus the same afterwards, averaged over its results, and the
    least is done (Heckerman, Breese and Rommelse 1995, from memory).  Each repair is followed by a
    try.  ``deep``: steps that are worked out in advance, 1 to 4.  Raises MechError.

    >>> from mechlib.bench.fault_finding import find
    >>> from mechlib.bench.observations import tried
    >>> from mechlib.transports import load
    >>> found = find(load("dogwood"), [tried("STOP", "PLAY", "never moved")])
    >>> plan(found, deep=1).words
    'ask for PLAY in OUT'
    """
    check_count("deep", deep, 1, 4)
    look = outlook(finding, progress)
    return next_step(look, known_covers(finding.transport, off), look.probability, deep)


def next_step(look: Outlook, off: frozenset[str], probability: np.ndarray, deep: int = 1) -> Step:
    """The step of least expected minutes for these probabilities of the suspects in ``look``."""
    ready = look.work.without(look.off(off))
    by_unit = gathered(probability, look.unit_of, len(look.units))
    least, chosen = float(minutes_to_mend(by_unit, ready)), None
    for check, (_results, table) in look.tables.items():
        takes = minutes_for(look.finding.transport, check, off)
        if takes >= least:
            continue
        bare = look.work.without(look.off(off | _covers(look, check)))
        expected = takes + minutes_after_check(probability, table, look.unit_of, bare)
        if expected < least - 1e-9:
            least, chosen = expected, check
    if chosen is None:
        return _repair_step(look, off, probability, by_unit, ready, least, deep)
    takes = minutes_for(look.finding.transport, chosen, off)
    return Step(chosen, (), takes, least, 1.0, _branches(look, off, probability, chosen, deep))


def _covers(look: Outlook, check: Check) -> frozenset[str]:
    return frozenset(cover.name for cover in covers_for(look.finding.transport, check))


def _repair_step(look, off, probability, by_unit, ready: Work, least: float, deep: int) -> Step:
    first = int(order_of_repair(by_unit, ready)[0])
    minutes = float(ready.minutes[first] + ready.covers[first] @ ready.cover_minutes)
    left = np.where(look.unit_of == first, 0.0, probability)
    then = ()
    if deep > 1 and left.sum() > 1 - KEPT:
        bare = off | {name for name, on in zip(look.cover_names, look.work.covers[first], strict=True) if on}
        step = next_step(look, frozenset(bare), left / left.sum(), deep - 1)
        then = (("it fails as before", float(left.sum()), step),)
    return Step(None, look.units[first], minutes, least, float(by_unit[first]), then)


def _branches(look: Outlook, off, probability, check: Check, deep: int):
    results, table = look.tables[check]
    joint = table * probability
    chances = joint.sum(axis=1)
    found = []
    for i in np.argsort(-chances, kind="stable")[:FEW_RESULTS]:
        if chances[i] < LEAST_BITS:
            break
        after = joint[i] / chances[i]
        step = next_step(look, off | _covers(look, check), after, deep - 1) if deep > 1 else None
        found.append((results[i].words, float(chances[i]), step))
    return tuple(found)
