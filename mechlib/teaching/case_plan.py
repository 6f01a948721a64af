"""The plan's work on a bench case, the score beside it, and a replay of what each check told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from mechlib.bench.fault_finding import Finding, Ranked, find
from mechlib.bench.next_check import Step, next_step, outlook, ranked_checks
from mechlib.bench.suspects import SLIP, Repair, Suspect, repair_of
from mechlib.errors import MechError
from mechlib.say import say
from mechlib.teaching.bench_cases import BenchCase, Mend, allowed
from mechlib.teaching.case_work import OTHER_CAUSE, RIGHT, WRONG_COUNT, CaseWork, Did, Known

MOST_STEPS = 40  # after which the plan is given up
AS_GOOD = 1.25  # of the plan's minutes: as good as the plan
SHOWN, LEAST = 3, 0.005  # causes of a ranking; less probable ones aren't told

Progress = Callable[[float], None] | None


def mends_of(case: BenchCase, suspect: Suspect) -> tuple[Mend, ...]:
    """The repairs that mend a suspect, each once; of a slip with its teeth."""
    found = []
    for place, cause in enumerate(suspect.causes):
        teeth = suspect.faults[place].teeth if cause.kind == SLIP else 0
        found.append(Mend(repair_of(case.filed, cause), teeth))
    return tuple(dict.fromkeys(found))


def finding(case: BenchCase, known: Known) -> Finding:
    """What was seen says so much, without the faults that the level hasn't, and those mended or tried.

    Raises MechError where nothing is left.
    """
    whole = find(case.filed, known.seen)
    tried = set(known.tried)
    open_ = np.array(
        [allowed(case.level, state) and tried.isdisjoint(mends_of(case, state))
         for state in whole.foretold.states]
    )  # fmt: skip
    cells = whole.cells * open_[:, None]
    if cells.sum() <= 0:
        raise MechError(f"{case.title}: every fault is ruled out", "look again at what was tried")
    cells = cells / cells.sum()
    return replace(whole, cells=cells, ranking=_ranking(whole, cells.sum(axis=1)), alike=(), doubtful=())


def _ranking(whole: Finding, probabilities: np.ndarray) -> tuple[Ranked, ...]:
    rows: dict[tuple, list[int]] = {}
    for row, state in enumerate(whole.foretold.states):
        if probabilities[row] > 0:
            rows.setdefault(state.causes, []).append(row)
    ranked = (
        Ranked(
            causes,
            float(probabilities[some].sum()),
            whole.foretold.states[max(some, key=lambda row: probabilities[row])],
        )
        for causes, some in rows.items()
    )
    return tuple(sorted(ranked, key=lambda one: -one.probability))


def planned(case: BenchCase, progress: Progress = None) -> CaseWork:
    """The work of the plan of least expected minutes on the same machine, reading the same.

    It takes the step of ``next_check.plan`` each time, knows what the level tells, and names of a repair the
    likeliest way and teeth.  It is left open where ``MOST_STEPS`` aren't enough.  ``progress`` is told the
    part done of foretelling, 0 to 1, anew for each step.

    >>> from mechlib.teaching.bench_cases import bench_case
    >>> planned(bench_case(1, 1)).closed
    'right'
    """
    work = CaseWork(case)
    while not work.closed and len(work.did) < MOST_STEPS:
        try:
            found = finding(case, work.known)
        except MechError:
            break
        step = _step(found, work.known, progress)
        if step.check:
            work.check(step.check)
            continue
        for mend in _likeliest(case, found, step.repairs):
            if not work.closed:
                work.mend(mend)
    return work


def _step(found: Finding, known: Known, progress: Progress) -> Step:
    look = outlook(found, progress)
    return next_step(look, known.off, look.probability)


def _likeliest(case: BenchCase, found: Finding, repairs: tuple[Repair, ...]) -> tuple[Mend, ...]:
    """The likeliest suspect that these repairs mend, with its way and teeth."""
    states = zip(found.probabilities, found.foretold.states, strict=True)
    fitting = [
        (chance, mends) for chance, mends in ((c, mends_of(case, state)) for c, state in states)
        if {one.repair for one in mends} == set(repairs)
    ]  # fmt: skip
    return max(fitting, key=lambda pair: pair[0])[1]


@dataclass(frozen=True)
class Score:
    """A reader's minutes beside the plan's on the same machine.

    ``wrong``: how many repairs were wrong; ``plan_minutes``: None where the plan didn't mend it.
    """

    title: str
    minutes: float
    wrong: int
    closed: str
    plan_minutes: float | None

    @property
    def ratio(self) -> float | None:
        """The reader's minutes over the plan's; None where one of them hasn't mended all."""
        return self.minutes / self.plan_minutes if self.closed == RIGHT and self.plan_minutes else None

    def sentence(self) -> str:
        """The minutes of both, and what to make of them."""
        plan = (
            f"the plan took {say(self.plan_minutes, 'min')}"
            if self.plan_minutes
            else "the plan didn't mend it"
        )
        if not self.closed:
            return f"{self.title}: given up after {say(self.minutes, 'min')}; {plan}."
        told = f"{self.title}: you took {say(self.minutes, 'min')}, {plan}"
        if self.ratio is not None:
            told += f", so {say(100 * self.ratio, '%', 0)} of its time: {self._verdict()}"
        if self.wrong:
            told += f". Wrong repairs: {self.wrong}"
        return f"{told}." if self.closed == RIGHT else f"{told}. It works, but a fault is left in it."

    def _verdict(self) -> str:
        if self.ratio < 1:
            return "less than the plan, which is best on average, not each time"
        return "as good as the plan" if self.ratio <= AS_GOOD else "see in the replay where the time went"


def score(work: CaseWork, plan: CaseWork) -> Score:
    """Set a reader's work beside the plan's."""
    wrong = sum(one.found in (WRONG_COUNT, OTHER_CAUSE) for one in work.did)
    minutes = plan.minutes if plan.closed == RIGHT else None
    return Score(work.case.title, work.minutes, wrong, work.closed, minutes)


def replay(work: CaseWork, advised: bool = False, progress: Progress = None) -> str:
    """Step by step: what was known before, what it told, what was known after.

    ``advised``: say at each check what the plan would have done there, and the bits that both tell on
    average.
    """
    lines = []
    for number, one in enumerate(work.did, 1):
        lines.append(f"{number}. {one.sentence()}")
        if advised and one.check:
            lines.append(f"   {_advice(work.case, one, progress)}")
        lines.append(f"   before: {_known(work.case, one.before)}")
        if not (one.mend and work.closed and one is work.did[-1]):
            lines.append(f"   after:  {_known(work.case, one.after)}")
    return "\n".join(lines)


def _known(case: BenchCase, known: Known) -> str:
    """The first of the ranking."""
    try:
        ranking = finding(case, known).ranking
    except MechError:
        return "every fault is ruled out"
    shown = [one for one in ranking[:SHOWN] if one.probability >= LEAST]
    rest = 1 - sum(one.probability for one in shown)
    told = [f"{one.words} {_percent(one.probability)}" for one in shown]
    return "; ".join([*told, *([f"the rest {_percent(rest)}"] if rest >= LEAST else [])])


def _percent(part: float) -> str:
    return say(100 * part, "%", 0)


def _advice(case: BenchCase, one: Did, progress: Progress) -> str:
    """What the plan would have done instead, and what both tell."""
    try:
        found = finding(case, one.before)
    except MechError:
        return "every fault was ruled out"
    look = outlook(found, progress)
    step = next_step(look, one.before.off, look.probability)
    bits = {advice.check: advice.bits for advice in ranked_checks(look, one.before.off)}
    told = f"tells {say(bits.get(one.check, 0.0), 'bits', 2)} on average"
    if step.check == one.check:
        return f"{told}; the plan would do the same"
    other = f"{step.words} ({say(step.minutes, 'min')})"
    if step.check:
        other += f", which tells {say(bits.get(step.check, 0.0), 'bits', 2)}"
    return f"{told}; the plan would {other}"
