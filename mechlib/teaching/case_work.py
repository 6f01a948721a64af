"""Work on a bench case: checks that cost minutes, covers that come off, repairs that are proved."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mechlib.bench.checks import CONTACT, LOOK, MARK, TRY, Check, checks_of, covers_for, minutes_for
from mechlib.bench.observations import Observation, holds_up
from mechlib.bench.outlook import HELD_BEFORE
from mechlib.bench.suspects import SLIP, Repair, repair_of, repair_time
from mechlib.errors import MechError, check_count
from mechlib.say import count, listing, say
from mechlib.teaching.bench_cases import MOST_TEETH, BenchCase, Hidden, Mend, repairs_to_choose, told
from mechlib.teaching.records import ONE_OF_TWO, RIGHT
from mechlib.transports.bench_entries import BELT, CUT_OFF, FAULTS, MODE, SOLENOID
from mechlib.transports.bench_practice import check_minutes, repair_covers
from mechlib.transports.model import Transport

WRONG_COUNT, OTHER_CAUSE = "right gear, wrong teeth", "another cause"
STILL_THERE = "works, but a fault is left"
DONE = (RIGHT, STILL_THERE)


@dataclass(frozen=True)
class Known:
    """What is known at one moment: what was seen and still holds, and what the repairs have told.

    ``ruled_out``: repairs that are made, or weren't it; ``wrong_teeth``: the gear was right, its teeth
    weren't; ``off``: the covers that are off.
    """

    seen: tuple[Observation, ...]
    ruled_out: tuple[Repair, ...] = ()
    wrong_teeth: tuple[Mend, ...] = ()
    off: frozenset[str] = frozenset()

    def fits(self, mends: tuple[Mend, ...]) -> bool:
        """Whether a machine that needs these repairs goes with what the repairs so far have told."""
        needed = {one.repair for one in mends}
        return needed.isdisjoint(self.ruled_out) and all(
            one.repair in needed and one not in mends for one in self.wrong_teeth
        )

    def after(self, mend: Mend, found: str, seen: tuple[Observation, ...], off: frozenset[str]) -> Known:
        """What is known once a repair was ``found`` to be so; what was ``seen`` and still holds."""
        if found == WRONG_COUNT:
            return Known(seen, self.ruled_out, (*self.wrong_teeth, mend), off)
        others = tuple(one for one in self.wrong_teeth if one.repair != mend.repair)
        return Known(seen, (*self.ruled_out, mend.repair), others, off)


def lasting(filed: Transport, seen: tuple[Observation, ...], repair: Repair) -> tuple[Observation, ...]:
    """What was seen that a repair leaves as it was: marks, contacts and parts that it doesn't concern.

    >>> from mechlib.bench.observations import looked_at, mark_seen
    >>> from mechlib.transports import load
    >>> seen = (mark_seen("lever cam", 1), looked_at("belt", "slack"))
    >>> [one.check.of for one in lasting(load("birch"), seen, Repair(SLIP, "lever cam"))]
    ['belt']
    """
    return tuple(
        one for one in seen
        if one.check.kind in (CONTACT, LOOK, MARK) and not _concerned(filed, one.check, repair)
    )  # fmt: skip


def _concerned(filed: Transport, check: Check, repair: Repair) -> bool:
    """Whether a repair may change what a check of one part reads; a belt or solenoid has several faults."""
    if check.of in (repair.of, *repair.together):
        return True
    if check.kind == LOOK:
        hung = {gear.name for gear in (*filed.roots, *filed.parts, *filed.followers)}
        return FAULTS[repair.kind] in (BELT, CUT_OFF, MODE, SOLENOID) and check.of not in hung
    carriers = {contact.name: contact.part for contact in filed.contacts}
    return repair.of in filed.chains[carriers[check.of] if check.kind == CONTACT else check.of]


@dataclass(frozen=True)
class Did:
    """One step of the work: the check or repair, its minutes, what came of it, what was known before, after.

    ``found``: of a repair, what it was found to be.
    """

    check: Check | None
    mend: Mend | None
    minutes: float
    result: str
    before: Known
    after: Known
    found: str = ""

    @property
    def words(self) -> str:
        """What was done."""
        return self.check.words if self.check else self.mend.to_do

    def sentence(self) -> str:
        """What was done, its minutes and what came of it."""
        return f"{self.words[0].upper()}{self.words[1:]} ({say(self.minutes, 'min')}): {self.result}."


class CaseWork:
    """A case at the bench, with the minutes spent: ask for checks, then mend what you think it is.

    Every repair is followed by a try of the changes.  A wrong one is taken back: only its minutes are lost.

    >>> from mechlib.teaching.bench_cases import bench_case
    >>> work = CaseWork(bench_case(1, 5))
    >>> work.check(next(one for one in checks_of(work.case.filed) if one.kind == "look at a mark"))
    'teeth off: 2 teeth ahead'
    >>> work.mend(work.named("slip", "lever cam", 2))
    'right'
    >>> work.sentence()
    'Case 5 of level 1: mended after 15.0 min, 1 check and 1 repair.'
    """

    def __init__(self, case: BenchCase):
        self.case, self.hidden = case, case.hidden
        self.known = Known((case.complaint(case.hidden),))
        self.did: list[Did] = []
        self.closed = ""  # what the last repair was found to be, once every change works
        self._times: dict[Check, int] = {self.known.seen[0].check: 1}

    @property
    def minutes(self) -> float:
        """The minutes spent so far."""
        return sum(one.minutes for one in self.did)

    def minutes_of(self, check: Check) -> float:
        """What a check would take now."""
        return minutes_for(self.case.filed, check, self.known.off)

    def minutes_to(self, repair: Repair) -> float:
        """What a repair would take now, with the try after it."""
        return repair_time(self.case.filed, repair, self.known.off) + check_minutes(self.case.filed, TRY)

    def check(self, check: Check) -> str:
        """Make a check and return what it read; MechError if it can't be asked for, or all is mended."""
        self._open()
        if check not in checks_of(self.case.filed):
            raise MechError(
                f"{check.words}: {self.case.filed.name} hasn't this check", "take one of its list"
            )
        time = self._times.get(check, 0)
        self._times[check] = time + 1
        seen, takes, before = self.case.read(check, time, self.hidden), self.minutes_of(check), self.known
        off = before.off | {cover.name for cover in covers_for(self.case.filed, check)}
        self.known = replace(before, seen=(*before.seen, seen), off=off)
        read = told(self.case.filed, seen)
        if holds_up(check, before.seen):
            read += f"; {HELD_BEFORE}"
        self.did.append(Did(check, None, takes, read, before, self.known))
        return read

    def named(self, kind: str, of: str, teeth: int = 0) -> Mend:
        """A repair by the words of ``repairs_to_choose``; MechError where there is none, or no teeth."""
        there = repairs_to_choose(self.case.filed, self.case.level.kinds).get(kind, {})
        if of not in there:
            raise MechError(
                f"{kind!r} of {of!r} can't be in {self.case.filed.name} here", "choose a fault from its list"
            )
        if kind != SLIP:
            return Mend(there[of])
        teeth = check_count("teeth", teeth, -MOST_TEETH, MOST_TEETH)
        if not teeth:
            raise MechError("teeth is 0", "say by how many the gear is out: ahead +, behind −")
        return Mend(there[of], teeth)

    def mend(self, mend: Mend) -> str:
        """Make a repair and prove the machine; return what it was found to be.

        "right" once no fault is left; else what was wrong, and the machine stands as before, unless one of
        two faults is mended, or every change works with a fault left.
        """
        self._open()
        before, filed = self.known, self.case.filed
        takes = self.minutes_to(mend.repair)
        covers = repair_covers(filed, mend.repair.kind, mend.repair.of)
        off = before.off | {cover.name for cover in covers}
        found, left, proof = self._proved(mend)
        seen = before.seen
        if found == ONE_OF_TWO:
            self.hidden, seen = left, (*lasting(filed, seen, mend.repair), proof)
            self._times[proof.check] = self._times.get(proof.check, 0) + 1
        self.known = before.after(mend, found, seen, off)
        self.closed = found if found in DONE else ""
        self.did.append(
            Did(None, mend, takes, self._result(found, mend, left, proof), before, self.known, found)
        )
        return found

    def _proved(self, mend: Mend) -> tuple[str, tuple[Hidden, ...], Observation | None]:
        """What a repair is found to be, the faults left after it, and the change that still fails."""
        left = self.case.after(self.hidden, mend)
        proof = self.case.proof(left)
        if not left:
            return RIGHT, left, proof
        if proof is None:
            return STILL_THERE, left, proof
        if set(left) < set(self.hidden):
            return ONE_OF_TWO, left, proof
        same = any(repair_of(self.case.filed, one.cause) == mend.repair for one in self.hidden)
        return (WRONG_COUNT if same else OTHER_CAUSE), left, proof

    def _result(self, found: str, mend: Mend, left: tuple[Hidden, ...], proof) -> str:
        if found == RIGHT:
            return "that was it: every change works, and the marks line up"
        if found == STILL_THERE:
            there = " ".join(one.sentence() for one in left)
            return f"every change works, but all isn't well: {there.rstrip('.')}"
        fails = f"{proof.check.words}: {told(self.case.filed, proof)}"
        if found == ONE_OF_TWO:
            return (
                f"that was a fault, and there is another; it still fails, {fails}; "
                "what changes did before counts no more"
            )
        moved = "set back as it stood" if mend.repair.kind == SLIP else "it wasn't that"
        return f"{found}; it still fails, {fails}; {moved}"

    def _open(self) -> None:
        if self.closed:
            raise MechError(f"{self.case.title} is closed: every change works", "open another case")

    def sentence(self) -> str:
        """How far the work is."""
        checks, mends = (
            sum(one.mend is None for one in self.did),
            sum(one.mend is not None for one in self.did),
        )
        state = {RIGHT: "mended", STILL_THERE: "closed, a fault left in it,"}.get(self.closed, "still open")
        work = f"{count(checks, 'check')} and {count(mends, 'repair')}"
        return f"{self.case.title}: {state} after {say(self.minutes, 'min')}, {work}."

    def text(self) -> str:
        """The log: complaint, every step with the clock, how far it is."""
        lines, clock = [self.case.level.sentence(), self.case.sentence()], 0.0
        for number, one in enumerate(self.did, 1):
            clock += one.minutes
            lines.append(f"{number}. [{say(clock, 'min')}] {one.sentence()}")
        return "\n".join([*lines, f"Covers off: {listing(sorted(self.known.off))}.", self.sentence()])
