"""A search for a fault as it stands: what was seen and mended, what is left, what to do next."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from mechlib.bench.checks import CURRENT, VOLTS, Check, checks_of, covers_for, known_covers
from mechlib.bench.fault_finding import SHOWN, Finding, Ranked, doubts_left, find
from mechlib.bench.next_check import Advice, Step, next_step, outlook, ranked_checks
from mechlib.bench.observations import Observation, checked
from mechlib.bench.readings import HELD_UP
from mechlib.bench.retiming import Retiming, retiming
from mechlib.bench.suspects import CUT_OFF_OPEN, ELECTRONICS, NOTHING, SLIP, Repair, repair_of
from mechlib.errors import MechError
from mechlib.say import columns, count, listing, say
from mechlib.transports.model import Transport

OFFERED = 5  # checks that are offered at once
WORTH = 0.005  # bits a minute: what tells less isn't offered
RANKED = 0.3  # of the work, about, when the causes are ranked and the checks aren't yet
LIVE = (ELECTRONICS, "low supply", "dead driver")  # repairs for which something is measured with power on
# Where a check is made under power, where it may be the cut-off, where the motor was held up, where covers
# are off (common practice, no source).
CAUTIONS = (
    "Volts and current are measured under power: only by people qualified for it, and as local rules allow; "
    "else leave the check out.",
    "A thermal cut-off that has opened is never bridged: find out why it opened, and replace it by one of "
    "the same kind and rating.",
    "A change has held the motor up: let it cool before you ask for any other. Ask for that one again only "
    "after a repair.",
    "A change is asked for with every cover on: put back what is off, and take out its tick. The minutes of "
    "such a check don't count that.",
)


@dataclass(frozen=True)
class Bar:
    """One cause that is left; ``group`` numbers those that nothing tells apart, from 1 (0: in none)."""

    words: str
    probability: float
    group: int

    def sentence(self) -> str:
        """The cause and its probability."""
        return f"{self.words}: {say(100 * self.probability, '%')}."


@dataclass(frozen=True, eq=False)
class Search:
    """Where a search stands: the finding, the covers that are off, the repairs that didn't help.

    ``advice``: checks worth making, that of the plan first; ``step``: what the plan does next, a check or a
    repair.  Both are empty as long as nothing was seen.
    """

    finding: Finding
    off: frozenset[str]
    mended: tuple[Repair, ...]
    advice: tuple[Advice, ...]
    step: Step | None

    @property
    def transport(self) -> Transport:
        """The sound machine as its file has it."""
        return self.finding.transport

    @property
    def bars(self) -> tuple[Bar, ...]:
        """The causes left, those that aren't told apart side by side, the most probable first."""
        group_of = {one.causes: n for n, group in enumerate(self.finding.alike, 1) for one in group}
        blocks: dict = {}
        for one in self.finding.ranking:
            if one.probability >= SHOWN:
                blocks.setdefault(group_of.get(one.causes, one.causes), []).append(one)
        numbers: dict = {}
        for key, block in blocks.items():
            if isinstance(key, int) and len(block) > 1:
                numbers[key] = len(numbers) + 1
        return tuple(
            Bar(one.words, one.probability, numbers.get(key, 0))
            for key, block in blocks.items()
            for one in block
        )

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to beware of with the checks offered and the causes left."""
        repairs = self.step.repairs if self.step else ()
        checks = (
            [one.check for one in self.advice] if self.step else checks_of(self.transport)
        )  # any may be made
        live = any(check.kind in (VOLTS, CURRENT) for check in checks)
        live |= any(one.kind in LIVE for one in repairs)
        left = (one.causes for one in self.finding.ranking if one.probability >= SHOWN)
        cut_off = any(cause.kind == CUT_OFF_OPEN for causes in left for cause in causes)
        hot = any(one.read.label == HELD_UP for one in self.finding.observations)
        bare = bool(repairs and self.off) or any(map(self.to_put_back, checks))
        return tuple(words for words, here in zip(CAUTIONS, (live, cut_off, hot, bare), strict=True) if here)

    def to_put_back(self, check: Check) -> tuple[str, ...]:
        """The covers that are put back before a check, in the order of the file: it is made under power."""
        if not check.commanded:
            return ()
        bare = {cover.name for cover in covers_for(self.transport, check)}
        return tuple(c.name for c in self.transport.covers if c.name in self.off - bare)

    @property
    def to_mend(self) -> Ranked | None:
        """The likeliest cause that the repair of the plan mends; None where a check comes first."""
        if self.step is None or self.step.check:
            return None
        wanted, gone = set(self.step.repairs), set(self.mended)
        return next(
            one for one in self.finding.ranking if _repairs(self.transport, one.causes) - gone == wanted
        )

    def repair_steps(self) -> Retiming | None:
        """The steps of re-timing, where the repair of the plan sets a slipped gear on its mark."""
        found = self.to_mend
        if found is None or all(one.kind != SLIP for one in self.step.repairs):
            return None
        left = (
            fault for fault, cause in zip(found.likeliest.faults, found.likeliest.causes, strict=True)
            if repair_of(self.transport, cause) not in self.mended
        )  # fmt: skip
        return retiming(self.transport.with_faults(*left))

    def ahead(self) -> Iterator[float]:
        """Work out what every check reads, the likeliest suspects first; gives the part done after each.

        Answers need less and less of it: once it is done they come at once.
        """
        foretold, checks = self.finding.foretold, checks_of(self.transport)
        rows = np.argsort(-self.finding.probabilities, kind="stable")
        for done, row in enumerate(rows, 1):
            foretold.foretell(checks, [row])
            yield done / len(rows)

    def sentence(self) -> str:
        """What is most probable, what was mended in vain, and what to do next."""
        told = self.finding.sentence()
        told += "".join(f" {words}" for words in self._in_vain())
        if self.step is None:
            return f"{told} Enter what the machine does, and which check to make next is worked out."
        told += f" Next: {self.step.sentence()}"
        return " ".join([told, *self.cautions]) if self.step.repairs else told

    def _in_vain(self) -> tuple[str, ...]:
        """What was mended, if anything; a machine that still fails has a fault."""
        mended = [one.done for one in self.mended if one.kind != NOTHING]
        told = (f"{'; '.join(mended)}; and it still fails.",) if mended else ()
        proved = len(mended) < len(self.mended)
        return (*told, "It was proved, and there is a fault.") if proved else told

    def checks_text(self) -> str:
        """The checks offered, as a table."""
        rows = [
            (one.check.words, say(one.bits_per_minute, "", 3), say(one.minutes), say(one.bits, "", 2),
             listing(one.covers) if one.covers else "nothing")
            for one in self.advice
        ]  # fmt: skip
        return columns(("next check", "bits a minute", "minutes", "bits", "to take off first"), rows)

    def text(self) -> str:
        """Everything, to be copied: what was seen, the ranking, the checks, the plan, the repair's steps."""
        parts = [self.finding.text()]
        if self.off:
            parts.append(f"Off already: {listing(sorted(self.off))}.")
        parts.extend(self._in_vain())
        if self.advice:
            parts.append(self.checks_text())
        if self.step:
            parts.append(f"The plan: {self.step.sentence()}")
        parts.extend(f"Caution: {words}" for words in self.cautions)
        if steps := self.repair_steps():
            parts.append(steps.text())
        return "\n\n".join(parts)


def fault_search(
    transport: Transport,
    observations: Iterable[Observation] = (),
    off: frozenset[str] = frozenset(),
    mended: Iterable[Repair] = (),
    progress: Callable[[float], None] | None = None,
) -> Search:
    """Where a search for a fault stands: ``find``, ``next_checks`` and ``plan`` in one go.

    ``off``: names of the covers that are off; ``mended``: repairs after which it failed as before, so that
    what they mend is left out.  ``progress`` is told the part that is worked out, 0 to 1; the first call for
    a machine takes long, later ones a little as long as its ``ahead`` isn't worked out.  Raises MechError for
    what can't be observed, for unknown covers, and where no fault is left.

    >>> from mechlib.bench.observations import tried
    >>> from mechlib.transports import load
    >>> stands = fault_search(load("dogwood"), [tried("STOP", "PLAY", "never moved")])
    >>> stands.finding.first.words
    'contact A intermittent'
    """
    sound, mended = transport.sound, tuple(dict.fromkeys(mended))
    kept = tuple(checked(sound, one) for one in observations)
    off = known_covers(sound, off)
    if not kept:
        return Search(without(find(sound), mended), off, mended, (), None)
    finding = without(find(sound, kept, progress=_part(progress, 0.0, RANKED)), mended)
    look = outlook(finding, _part(progress, RANKED, 1.0), mended)
    step = next_step(look, off, look.probability)
    ranked = ranked_checks(look, off)
    worth = [one for one in ranked if one.check == step.check or one.bits_per_minute >= WORTH]
    worth.sort(key=lambda one: one.check != step.check)
    return Search(finding, off, mended, tuple(worth[:OFFERED]), step)


def _part(progress: Callable[[float], None] | None, start: float, end: float):
    """``progress`` for a piece of the work, from ``start`` to ``end`` of the whole."""
    return progress and (lambda done: progress(start + (end - start) * done))


def without(finding: Finding, mended: Iterable[Repair]) -> Finding:
    """The finding without the faults that these repairs mend.

    >>> from mechlib.bench.suspects import Cause
    >>> from mechlib.transports import load
    >>> dogwood = load("dogwood")
    >>> cleaned = repair_of(dogwood, Cause("dirty contact", "A"))
    >>> without(find(dogwood), [cleaned]).first.words == find(dogwood).first.words
    False
    """
    gone = set(mended)
    if not gone:
        return finding
    transport = finding.transport
    kept = tuple(one for one in finding.ranking if not _repairs(transport, one.causes) <= gone)
    stay = np.array([not _repairs(transport, state.causes) <= gone for state in finding.foretold.states])
    cells = finding.cells * stay[:, None]
    total = cells.sum()
    if total <= 0:
        told = count(len(finding.observations), "observation")
        raise MechError(
            "no fault is left that was not mended", f"look again at the {told}, or take a repair back"
        )
    scaled = {one.causes: replace(one, probability=one.probability / total) for one in kept}
    groups = (tuple(scaled[one.causes] for one in group if one.causes in scaled) for group in finding.alike)
    alike = tuple(group for group in groups if len(group) > 1)
    doubtful, electronics = doubts_left(finding.foretold, finding.observations, np.flatnonzero(stay))
    return replace(
        finding, cells=cells / total, ranking=tuple(scaled.values()), alike=alike,
        doubtful=doubtful, electronics=electronics,
    )  # fmt: skip


def _repairs(transport: Transport, causes) -> set[Repair]:
    return {repair_of(transport, cause) for cause in causes}
