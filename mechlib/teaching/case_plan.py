"""The plan's work on a bench case, the score beside it, and a replay of what each check told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from mechlib.bench.checks import MARK, Check, covers_for, minutes_for
from mechlib.bench.decisions import Work, information_bits, minutes_after_check
from mechlib.bench.fault_finding import Finding, Ranked, find
from mechlib.bench.next_check import Step, next_step
from mechlib.bench.outlook import Outlook, outlook
from mechlib.bench.suspects import SLIP, Repair, Suspect, repair_of
from mechlib.errors import MechError
from mechlib.say import say
from mechlib.teaching.bench_cases import BenchCase, Level, Mend, allowed
from mechlib.teaching.case_work import OTHER_CAUSE, RIGHT, WRONG_COUNT, CaseWork, Did, Known
from mechlib.transports.bench_practice import check_minutes

MOST_STEPS = 40  # after which the plan is given up
ABOUT_AS_FAST = 1.25  # of the plan's minutes
ROUNDING_MIN = 1e-9  # minutes that differ by less are equal
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
    """What was seen says so much, without the faults that the level hasn't, and what repairs ruled out.

    Raises MechError where nothing is left.
    """
    whole = find(case.filed, known.seen)
    open_ = np.array(
        [allowed(case.level, state) and known.fits(mends_of(case, state)) for state in whole.foretold.states]
    )
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

    It takes the step of ``next_check.plan`` each time, knows what the level tells, looks at a mark before it
    sets that gear, and names of a repair the likeliest way and teeth.  A case's machine is put into the mode
    that is asked for, so the plan weighs changes from any.  It is left open where ``MOST_STEPS`` aren't
    enough.  ``progress`` is told the part done of foretelling, 0 to 1, anew for each step.

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
        step = _step(outlook(found, progress, anywhere=True), work.known)
        if step.check:
            work.check(step.check)
            continue
        for mend in _likeliest(case, found, step.repairs):
            if not work.closed:
                work.mend(mend)
    return work


def _step(look: Outlook, known: Known) -> Step:
    """The next step: that of ``next_check.plan``, but no gear is set by teeth that nobody has looked for.

    So setting a gear takes the look at its mark, too, unless that is the check being weighed.
    """
    marks = _unseen(look, known)
    step = next_step(replace(look, work=_with_looks(look, marks)), known.off, look.probability)
    for of, check in marks.items():
        off = known.off | {cover.name for cover in covers_for(look.finding.transport, check)}
        others = _with_looks(look, {name: mark for name, mark in marks.items() if name != of})
        table, bare = look.tables[check][1], others.without(look.off(off))
        takes = minutes_for(look.finding.transport, check, known.off)
        expected = takes + minutes_after_check(look.probability, table, look.unit_of, bare)
        to_be_set = any(one.kind == SLIP and one.of == of for one in step.repairs)
        if to_be_set or expected < step.expected_minutes - ROUNDING_MIN:
            step = Step(check, (), takes, expected, 1.0)
    return step


def _unseen(look: Outlook, known: Known) -> dict[str, Check]:
    """The marks not looked at since their gear was last set, each by its gear."""
    seen = Counter(one.check.of for one in known.seen if one.check.kind == MARK)
    wrong = Counter(one.repair.of for one in known.wrong_teeth)
    return {
        check.of: check for check in look.tables if check.kind == MARK and seen[check.of] <= wrong[check.of]
    }


def _with_looks(look: Outlook, marks: dict[str, Check]) -> Work:
    """The repairs' work, each gear set with the look at its mark where it is among ``marks``."""
    more = [
        sum(
            check_minutes(look.finding.transport, MARK, one.of)
            for one in repairs
            if one.kind == SLIP and one.of in marks
        )
        for repairs in look.units
    ]
    return replace(look.work, minutes=look.work.minutes + np.array(more, float))


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

    ``wrong``: how many repairs were wrong; ``plan_minutes``: None where the plan didn't mend it;
    ``by_trial``: more repairs were wrong than the plan's, or nothing was checked where the plan did;
    ``best``: whether the plan is best on average at this level, since it reckons as the cases are drawn.
    """

    title: str
    minutes: float
    wrong: int
    closed: str
    plan_minutes: float | None
    by_trial: bool = False
    best: bool = True

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
        trial = ", but by trial" if self.by_trial else ""
        if self.ratio < 1:
            average = "; the plan is best on average, not each time" if self.best else ""
            return f"less than the plan{trial}{average}"
        if self.ratio <= ABOUT_AS_FAST:
            return f"about as fast as the plan{trial}"
        return "see in the replay where the time went"


def score(work: CaseWork, plan: CaseWork) -> Score:
    """Set a reader's work beside the plan's."""
    wrong = _wrong(work)
    by_trial = wrong > _wrong(plan) or (_checks(work) == 0 < _checks(plan))
    minutes = plan.minutes if plan.closed == RIGHT else None
    best = not reckoned(work.case.level)
    return Score(work.case.title, work.minutes, wrong, work.closed, minutes, by_trial, best)


def _wrong(work: CaseWork) -> int:
    return sum(one.found in (WRONG_COUNT, OTHER_CAUSE) for one in work.did)


def _checks(work: CaseWork) -> int:
    return sum(one.check is not None for one in work.did)


def reckoned(level: Level) -> tuple[str, ...]:
    """What must be known of the percentages and the plan of a level; nothing where they fit its cases.

    >>> from mechlib.teaching.bench_cases import LEVELS
    >>> reckoned(LEVELS[1])
    ()
    """
    if not level.pairs:
        return ()
    return (
        "Percentages and plan reckon with two faults in about one machine in a hundred. Of the cases of "
        "this level about one in four has two. So two are more probable than they say, and the plan needn't "
        "be the best here.",
    )


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
    """What is most probable, of a slip by its teeth."""
    try:
        found = finding(case, known)
    except MechError:
        return "every fault is ruled out"
    chances: dict[str, float] = {}
    for chance, state in zip(found.probabilities, found.foretold.states, strict=True):
        words = _words(case, state)
        chances[words] = chances.get(words, 0.0) + float(chance)
    first = sorted(chances.items(), key=lambda one: -one[1])[:SHOWN]
    shown = [(words, chance) for words, chance in first if chance >= LEAST]
    rest = 1 - sum(chance for _, chance in shown)
    told = [f"{words} {_percent(chance)}" for words, chance in shown]
    return "; ".join([*told, *([f"the rest {_percent(rest)}"] if rest >= LEAST else [])])


def _words(case: BenchCase, suspect: Suspect) -> str:
    """A suspect's causes in words, a slip with its teeth."""
    return " together with ".join(
        Mend(repair_of(case.filed, cause), suspect.faults[place].teeth).words
        if cause.kind == SLIP
        else cause.words
        for place, cause in enumerate(suspect.causes)
    )


def _percent(part: float) -> str:
    return say(100 * part, "%", 0)


def _advice(case: BenchCase, one: Did, progress: Progress) -> str:
    """What the plan would have done instead, and what both tell."""
    try:
        found = finding(case, one.before)
    except MechError:
        return "every fault was ruled out"
    look = outlook(found, progress, anywhere=True)
    step, told = _step(look, one.before), _told(case, look, one)
    if step.check == one.check:
        return f"{told}; the plan would do the same"
    other = f"{step.words} ({say(step.minutes, 'min')})"
    if step.check:
        other += f", which tells {say(_bits(case, look, step.check), 'bits', 2)}"
    return f"{told}; the plan would {other}"


def _told(case: BenchCase, look: Outlook, one: Did) -> str:
    """What a check tells on average, or why it isn't weighed."""
    if one.check in look.tables:
        return f"tells {say(_bits(case, look, one.check), 'bits', 2)} on average"
    return f"not weighed, as {look.left_out[one.check]}"


def _bits(case: BenchCase, look: Outlook, check: Check) -> float:
    """What a check tells on average of the repairs, a gear's teeth with them, in bits."""
    of_each = [mends_of(case, look.finding.foretold.states[row]) for row in look.rows]
    different = list(dict.fromkeys(of_each))
    machines = len(look.probability) // len(of_each)
    unit_of = np.repeat([different.index(mends) for mends in of_each], machines)
    return information_bits(look.probability, look.tables[check][1], unit_of, len(different))
