"""Bench cases: a fault hidden by a case number, the complaint, and what every check of it reads.

The same level and number are the same case on every copy.  Nothing is typed in: complaint and readings are
computed from a machine in which the fault is.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from random import Random

from mechlib.bench.checks import TRY, Check, checks_of
from mechlib.bench.drawn_readings import drawn_reading, reading_chances
from mechlib.bench.observations import ERROR_RATE, SURE, Observation, observed
from mechlib.bench.predictions import ANY_RATE
from mechlib.bench.readings import (
    CLOSES,
    HELD_UP,
    LEAST_TEETH,
    NOT_TRIED,
    RAN_ON,
    READS,
    TEETH_OFF,
    WORKED,
    Reading,
    labels_of,
    reading,
    scale_of,
)
from mechlib.bench.severities import AHEAD, BEHIND, between_grades
from mechlib.bench.suspects import ELECTRONICS, NOTHING, SLIP, Cause, Repair, Suspect, repair_of, suspects
from mechlib.errors import MechError, check_count
from mechlib.say import count, listing, say
from mechlib.transports import load, slip
from mechlib.transports.alike import machines_alike
from mechlib.transports.bench_entries import SLACK_BELT
from mechlib.transports.model import Transport

MOST_NUMBER = 999_999
MOST_TEETH = 6  # by which a reader can say that a gear is out
DRAWS = 200  # for one case, until a fault shows
NUMBERED = (HELD_UP, RAN_ON, CLOSES, TEETH_OFF, READS)  # readings that have a number
SLACK_OR_GLAZED = "slack or glazed belt"  # what a new belt mends, as a reader names it
FINE = (WORKED, NOT_TRIED)  # what nobody complains of
COMMON = (
    *(SLIP, "dirty contact", "open contact", "slack belt", "glazed belt", "hard grease"),
    "stiff lever",
)


@dataclass(frozen=True)
class Level:
    """How hard a case is: the machines, the ``kinds`` of faults in them (none: all), and what is told wrong.

    ``differs``: the machine isn't quite as its file says, and a fault has any degree.  ``pairs``: how
    often two faults are drawn.  ``wrong``: the share of readings that are wrong.  All chosen to teach.
    """

    number: int
    transports: tuple[str, ...]
    kinds: tuple[str, ...] = ()
    differs: bool = False
    pairs: float = 0.0
    wrong: float = 0.0

    @property
    def title(self) -> str:
        """Its number and machines."""
        return f"Level {self.number}: {' or '.join(name.capitalize() for name in self.transports)}"

    def sentence(self) -> str:
        """What a reader may know of the cases of this level."""
        faults = "one fault, or two" if self.pairs else "one fault"
        if self.kinds:
            faults = f"one common fault ({', '.join(self.kinds[:-1])} or {self.kinds[-1]})"
        built = "not quite as its file says" if self.differs else "just as its file says"
        rate = f"about one in {say(1 / self.wrong, '', 0)} is wrong" if self.wrong else "all are right"
        return f"{self.title}, with {faults}, built {built}; of the readings {rate}."


LEVELS = {
    1: Level(1, ("dogwood", "birch"), COMMON),
    2: Level(2, ("birch", "alder"), differs=True),
    3: Level(3, ("alder", "birch", "cedar"), differs=True, pairs=1 / 3, wrong=ERROR_RATE),
}


@dataclass(frozen=True)
class Hidden:
    """One fault of a case: its cause, and the fault with its degree (None: in the electronics)."""

    cause: Cause
    fault: object | None

    def sentence(self) -> str:
        """The fault with its degree."""
        return self.fault.sentence() if self.fault else self.cause.sentence()


@dataclass(frozen=True)
class Mend:
    """A repair as a reader names it; for a slip with the teeth by which the gear stands ahead (+)."""

    repair: Repair
    teeth: int = 0

    @property
    def words(self) -> str:
        """In words."""
        if self.repair.kind != SLIP:
            return self.repair.words
        way = AHEAD if self.teeth > 0 else BEHIND
        return f"{self.repair.of} slipped {count(abs(self.teeth), 'tooth')} {way}"

    @property
    def to_do(self) -> str:
        """What it asks for, called as the plan calls it.

        >>> Mend(Repair("dirty contact", "A", ("A", "B"))).to_do, Mend(Repair("slip", "lever cam"), -2).to_do
        ('clean contacts A and B', 'mend: lever cam slipped 2 teeth behind')
        """
        return f"mend: {self.words}" if self.repair.kind == SLIP else self.repair.to_do


@dataclass(frozen=True)
class BenchCase:
    """A case: its level and number, the machine's file, the machine in hand without its faults, the faults.

    ``hidden`` holds the faults.  The methods take what is left of them, since repairs take some away.
    """

    level: Level
    number: int
    filed: Transport
    sound: Transport
    hidden: tuple[Hidden, ...]

    @property
    def title(self) -> str:
        """Level and number."""
        return f"Case {self.number} of level {self.level.number}"

    def read(
        self, check: Check, time: int, hidden: tuple[Hidden, ...], wrong: float | None = None
    ) -> Observation:
        """What a check reads the ``time``-th time (0 the first) with these faults; always the same.

        ``wrong``: the rate of wrong readings, else the level's.  A fault in the electronics lets every other
        command do anything; what a contact decides that passes only sometimes is drawn anew each time.
        """
        wrong = self.level.wrong if wrong is None else wrong
        draw = Random(f"{self.title}: {check.words}, {time}")
        whim, error = draw.random() < ANY_RATE, draw.random() < wrong
        electronic = any(one.cause.kind == ELECTRONICS for one in hidden)
        if error or (whim and electronic and check.commanded):
            read = _anything(self.filed, check, draw)
        else:
            read = drawn_reading(self.machine(hidden), self.filed, check, draw)
        return observed(self.filed, check, read, max(wrong, SURE))

    def machine(self, hidden: tuple[Hidden, ...]) -> Transport:
        """The machine in hand with these faults."""
        return self.sound.with_faults(*(one.fault for one in hidden if one.fault))

    def complaint(self, hidden: tuple[Hidden, ...]) -> Observation | None:
        """A change that fails with these faults, rightly told; None where every change works each time.

        One that fails only sometimes counts, as whoever uses the machine sees it fail in the end.
        """
        for seen in self._tries(hidden):
            if seen.read.label not in FINE:
                return seen
            ways = reading_chances(self.machine(hidden), self.filed, seen.check)
            if fails := [way for way in ways if way[0].label not in FINE]:
                return observed(self.filed, seen.check, max(fails, key=lambda way: way[1])[0], SURE)
        return None

    def proof(self, hidden: tuple[Hidden, ...]) -> Observation | None:
        """A change that fails after a repair, one whose start can't be reached too; None where all work."""
        not_tried = (seen for seen in self._tries(hidden) if seen.read.label == NOT_TRIED)
        return self.complaint(hidden) or next(not_tried, None)

    def _tries(self, hidden: tuple[Hidden, ...]) -> Iterator[Observation]:
        """Every change asked for once, in the order that belongs to this case, rightly told."""
        draw = Random(f"{self.title}: complaint")
        tries = [check for check in checks_of(self.filed) if check.kind == TRY]
        for check in sorted(tries, key=lambda _: draw.random()):
            yield self.read(check, 0, hidden, wrong=0.0)

    def after(self, hidden: tuple[Hidden, ...], mend: Mend) -> tuple[Hidden, ...]:
        """What is left of these faults after a repair; a gear moved that stood right is a new fault."""
        fits = [repair_of(self.filed, one.cause) == mend.repair for one in hidden]
        left = [one for one, fit in zip(hidden, fits, strict=True) if not fit]
        if mend.repair.kind != SLIP:
            return tuple(left)
        stood = sum(one.fault.teeth for one, fit in zip(hidden, fits, strict=True) if fit)
        return (*left, *_slipped(mend.repair.of, stood - mend.teeth))

    def sentence(self) -> str:
        """What a reader is told at the start."""
        seen = self.complaint(self.hidden)
        return (
            f"{self.title}, {self.filed.name}. The complaint: {seen.check.words}: {told(self.filed, seen)}."
        )


def _slipped(of: str, teeth: int) -> tuple[Hidden, ...]:
    if not teeth:
        return ()
    return (Hidden(Cause(SLIP, of, AHEAD if teeth > 0 else BEHIND), slip(of, teeth)),)


def _anything(filed: Transport, check: Check, draw: Random) -> Reading:
    """Any reading that this check can have, each as likely as another."""
    labels, scale = labels_of(filed, check), scale_of(filed, check)
    label = labels[int(draw.random() * len(labels))]
    if scale is None or label not in NUMBERED:
        return Reading(label)
    number = scale.low + draw.random() * (scale.high - scale.low)
    if label == TEETH_OFF:  # whole teeth, and not none
        number = float(round(number)) if abs(number) > 1 - LEAST_TEETH else 1.0
    return Reading(label, None, number)


@lru_cache(maxsize=64)
def bench_case(level: int, number: int) -> BenchCase:
    """The case of a level (1 to 3) and a number (1 to 999999): the same on every copy.

    Faults come as often as they are met at the bench (``suspects``); those that show in no change are drawn
    again.  Of two faults each shows by itself, too.  Raises MechError.

    >>> bench_case(1, 1) is bench_case(1, 1)
    True
    >>> bench_case(1, 0)
    Traceback (most recent call last):
    mechlib.errors.MechError: number is 0: it must be a whole number from 1 to 999999
    """
    if level not in LEVELS:
        raise MechError(f"level is {level!r}", f"it must be {listing(map(str, LEVELS))}")
    chosen, number = LEVELS[level], check_count("number", number, 1, MOST_NUMBER)
    draw = Random(f"bench case {level} {number}")
    filed = load(chosen.transports[int(draw.random() * len(chosen.transports))])
    sound = filed
    if chosen.differs:
        (sound,) = machines_alike(filed, 1, level * (MOST_NUMBER + 1) + number)
    faults = [one for one in suspects(filed, 0) if allowed(chosen, one)]
    for _ in range(DRAWS):
        case = BenchCase(chosen, number, filed, sound, _drawn(chosen, filed, sound, faults, draw))
        if _shows(case):
            return case
    raise MechError(f"{case.title}: no fault shows", "take another number")


def allowed(level: Level, suspect: Suspect) -> bool:
    """Whether a case of this level can be so: what a reader is told, and the plan may use.

    >>> allowed(LEVELS[1], Suspect((), (Cause("nothing"),), 1.0))
    False
    """
    kinds = {cause.kind for cause in suspect.causes}
    return (
        NOTHING not in kinds
        and (not level.kinds or kinds <= set(level.kinds))
        and (len(suspect.causes) == 1 or level.pairs > 0)
    )


def _drawn(level: Level, filed, sound, faults: list[Suspect], draw: Random) -> tuple[Hidden, ...]:
    chosen = [_by_weight(faults, draw)]
    if draw.random() < level.pairs and not chosen[0].electronics:
        mended = repair_of(filed, chosen[0].causes[0])
        others = [one for one in faults if not one.electronics and repair_of(filed, one.causes[0]) != mended]
        chosen.append(_by_weight(others, draw))
    return tuple(
        Hidden(one.causes[0], _degree(level, sound, one.faults[0], draw) if one.faults else None)
        for one in chosen
    )


def _by_weight(faults: list[Suspect], draw: Random) -> Suspect:
    left = draw.random() * sum(one.weight for one in faults)
    for one in faults:
        left -= one.weight
        if left < 0:
            break
    return one


def _degree(level: Level, sound: Transport, fault, draw: Random):
    return between_grades(sound, fault, draw) if level.differs else fault


def _shows(case: BenchCase) -> bool:
    """Whether every fault shows, alone and with the other; not where this machine can't have one."""
    parts = {case.hidden, *((one,) for one in case.hidden)}
    try:
        return all(case.complaint(part) for part in parts)
    except MechError:
        return False


def repairs_to_choose(transport: Transport, kinds: tuple[str, ...] = ()) -> dict[str, dict[str, Repair]]:
    """Everything that a reader can name: by kind of fault, by what it is of in words, the repair.

    ``kinds``: only these kinds of faults (none: all).

    >>> list(repairs_to_choose(load("dogwood"))["slip"])
    ['mode switch', 'loading gear']
    >>> list(repairs_to_choose(load("dogwood"), COMMON))
    ['slip', 'dirty contact', 'open contact']
    """
    found: dict[str, dict[str, Repair]] = {}
    for one in suspects(transport, 0):
        repair = repair_of(transport, one.causes[0])
        if repair.kind != NOTHING and (not kinds or repair.kind in kinds):
            kind = SLACK_OR_GLAZED if repair.kind == SLACK_BELT else repair.kind
            found.setdefault(kind, {})[_of_what(repair)] = repair
    return found


def _of_what(repair: Repair) -> str:
    if len(repair.together) > 1:
        return f"contacts {listing(repair.together)}"
    return repair.of or "the machine's only one"


def checks_by_kind(transport: Transport) -> dict[str, tuple[Check, ...]]:
    """Every check worth asking for, by its kind.

    >>> list(checks_by_kind(load("dogwood")))
    ['try a change', 'read a contact', 'look at a mark', 'look at a part', 'time a change']
    """
    found: dict[str, tuple[Check, ...]] = {}
    for check in checks_of(transport):
        found[check.kind] = (*found.get(check.kind, ()), check)
    return found


def told(transport: Transport, observation: Observation) -> str:
    """What a check read, with its unit; beside what is measured, what it reads on a machine as in the file.

    >>> from mechlib.bench.observations import contact_swept, mark_seen
    >>> told(load("alder"), mark_seen("pinch cam", -1))
    'teeth off: 1 tooth behind'
    >>> told(load("cedar"), contact_swept("P", "closes", 11.0))
    'closes, over 11.0° of the main cam in all (18.0° by its file)'
    """
    read, check = observation.read, observation.check
    words = f"{read.label} ({read.detail})" if read.detail else read.label
    if read.number is None:
        return words
    unit = scale_of(transport, check).unit
    if read.label == TEETH_OFF:
        teeth = abs(read.number)
        whole = count(teeth, "tooth") if teeth == round(teeth) else say(teeth, "teeth")
        return f"{words}: {whole} {AHEAD if read.number > 0 else BEHIND}"
    if check.kind == TRY:
        return f"{words}, standing at {say(read.number, unit)} of the main cam"
    filed = reading(transport, transport, check).number
    if read.label == CLOSES:
        return (
            f"{words}, over {say(read.number, unit)} of the main cam in all ({say(filed, unit)} by its file)"
        )
    return f"{words} {say(read.number, unit, 2)} ({say(filed, unit, 2)} by its file)"
