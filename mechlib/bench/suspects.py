"""Every fault that a transport can have, graded, singly and in pairs, weighed before anything is seen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations, islice

from mechlib.bench.severities import AHEAD, BEHIND, GRADES, slips
from mechlib.errors import MechError, check_count
from mechlib.say import listing
from mechlib.transports.bench_entries import FAULTS, MENDED_AS, NEW_BELT, SLACK_BELT
from mechlib.transports.bench_practice import (
    fault_places,
    how_often,
    repair_covers,
    repair_minutes,
)
from mechlib.transports.faults import IntermittentContact
from mechlib.transports.hardware import Cover
from mechlib.transports.model import Transport

SLIP, DIRTY, ELECTRONICS, NOTHING = "slip", "dirty contact", "electronics", "nothing"
CUT_OFF_OPEN = "cut-off open"
PAIR_PART = 0.1  # how often a machine with one fault has a second one besides; common practice, no source
USUAL_PAIRS = 40

# What a kind of fault is called where it is of something, and where it isn't.
WORDS = {
    "slip": "{of} slipped {way}",
    "split gear": "gear of the {of} split on its shaft",
    "clip gone": "clip of the {of} gone",
    "missing teeth": "teeth missing at the {of}",
    "bent lever": "{of} bent",
    "dirty contact": "contact {of} dirty",
    "intermittent contact": "contact {of} intermittent",
    "open contact": "contact {of} open",
    "slack belt": "{belt} slack",
    "glazed belt": "{belt} glazed",
    "weak motor": "{motor} weak",
    "low supply": "{supply} low",
    "hard grease": "grease hard on the {of}",
    "stiff lever": "{of} stiff",
    "dead solenoid": "solenoid dead",
    "cut-off open": "thermal cut-off open",
    "worn latch": "latch worn at the rest of {of}",
    "dead driver": "driver dead in the {of} sense",
    "electronics": "nothing mechanical: look to the electronics",
    "nothing": "no fault at all",
}
TO_DO = {ELECTRONICS: "look to the electronics", NOTHING: "prove every change"}  # where nothing is mended
DONE = {ELECTRONICS: "Looked to: the electronics", NOTHING: "Proved: every change"}


def _words(kind: str, of: str | None, way: str | None) -> str:
    """A fault in words; of several motors it is of one by name."""
    of_motor = f" of the {of}" if of else ""
    things = {"motor": of or "motor", "belt": f"belt{of_motor}", "supply": f"supply{of_motor}"}
    return WORDS[kind].format(of=of, way=way, **things)


@dataclass(frozen=True)
class Repair:
    """What is mended in one go: a kind of fault at one place; ``together``: all contacts cleaned at once.

    A belt that is slack and one that is glazed are both mended by a new one, of the kind "slack belt".
    """

    kind: str
    of: str | None = None
    together: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """In words, the way of a slip left out."""
        if len(self.together) > 1:
            return f"contacts {listing(self.together)} dirty"
        if self.kind == ELECTRONICS:
            return "a fault in the electronics"
        if self.kind == SLACK_BELT:
            return f"{_words(self.kind, self.of, None)} or glazed"
        return _words(self.kind, self.of, "off its mark")

    @property
    def done(self) -> str:
        """What was done once it is made, as the beginning of a sentence.

        >>> Repair("dirty contact", "A", ("A", "B")).done, Repair("slack belt").done
        ('Cleaned: contacts A and B', 'Fitted: a new belt')
        """
        if self.kind == SLACK_BELT:
            return f"Fitted: {self._belt}"
        if self.kind == DIRTY:
            return f"Cleaned: {self._contacts}"
        return DONE.get(self.kind) or f"Mended: {self.words}"

    @property
    def _contacts(self) -> str:
        named = self.together or (self.of,)
        return f"{'contacts' if len(named) > 1 else 'contact'} {listing(named)}"

    @property
    def _belt(self) -> str:
        return f"a new belt{f' of the {self.of}' if self.of else ''}"

    @property
    def to_do(self) -> str:
        """What it asks for.

        >>> Repair("dirty contact", "A", ("A", "B")).to_do, Repair("slack belt").to_do
        ('clean contacts A and B', 'fit a new belt')
        """
        if self.kind == SLACK_BELT:
            return f"fit {self._belt}"
        if self.kind == DIRTY:
            return f"clean {self._contacts}"
        return TO_DO.get(self.kind) or f"mend: {self.words}"


def to_do(repairs: tuple[Repair, ...]) -> str:
    """What these repairs ask for: mending, or what takes its place.

    >>> to_do((Repair("slack belt"), Repair("bent lever", "holder"))), to_do((Repair("nothing"),))
    ('fit a new belt; and mend: holder bent', 'prove every change')
    """
    return "; and ".join(one.to_do for one in repairs)


@dataclass(frozen=True)
class Cause:
    """What is found in the end: a kind of fault at one place, for a slip its way; all grades together."""

    kind: str
    of: str | None = None
    way: str | None = None

    @property
    def words(self) -> str:
        """In words."""
        return _words(self.kind, self.of, self.way)

    def sentence(self) -> str:
        """The finding."""
        return f"{self.words[0].upper()}{self.words[1:]}."


def together(causes: tuple[Cause, ...]) -> str:
    """One cause, or a pair of them, in words.

    >>> together((Cause("dirty contact", "A"), Cause("slack belt")))
    'contact A dirty together with belt slack'
    """
    return " together with ".join(cause.words for cause in causes)


@dataclass(frozen=True)
class Suspect:
    """One state that the machine can be in: its faults and their causes, with its weight.

    No faults stand for a sound machine: one with a fault in its electronics, or none at all.
    """

    faults: tuple
    causes: tuple[Cause, ...]
    weight: float

    @property
    def electronics(self) -> bool:
        """True if what the controller does may be anything."""
        return any(cause.kind == ELECTRONICS for cause in self.causes)

    @property
    def drawn_anew(self) -> bool:
        """True if a check may read otherwise when it is made again: a contact passes only sometimes."""
        return any(isinstance(fault, IntermittentContact) for fault in self.faults)

    @property
    def words(self) -> str:
        """The causes in words."""
        return together(self.causes)

    def sentence(self) -> str:
        """The faults with their degrees."""
        return " ".join(fault.sentence() for fault in self.faults) or self.causes[0].sentence()


@lru_cache(maxsize=32)
def suspects(transport: Transport, pairs: int = USUAL_PAIRS) -> tuple[Suspect, ...]:
    """Every fault of this transport in all its grades, then the ``pairs`` most likely pairs of them.

    Weights add up to 1.  A single fault's is that of its kind and place (``how_often``) times the share of
    its grade; a pair's is the product of both, times 0.1 (how often a machine has a second fault besides;
    common practice, no source).  Two grades of one cause make no pair, nor does "nothing" or the electronics;
    in a pair each cause stands with its middle grade.  ``pairs``: 0 to 2000.  Faults that the transport has
    already are left out.  Raises MechError.

    >>> from mechlib.transports import load
    >>> found = suspects(load("birch"), pairs=0)
    >>> round(sum(one.weight for one in found), 9), found[0].sentence()
    (1.0, 'The lever cam is 1 tooth ahead of its mark.')
    """
    check_count("pairs", pairs, 0, 2000)
    sound = transport.sound
    singles = _singles(sound)
    found = singles + _pairs(sound, singles, pairs)
    total = sum(one.weight for one in found)
    return tuple(replace(one, weight=one.weight / total) for one in found)


def causes_of(transport: Transport) -> tuple[Cause, ...]:
    """Every cause that a transport can have, once, in the order of ``bench_entries.FAULTS``.

    >>> from mechlib.transports import load
    >>> causes_of(load("birch"))[0].words
    'lever cam slipped ahead'
    """
    return tuple(dict.fromkeys(one.causes[0] for one in suspects(transport, 0)))


def repair_of(transport: Transport, cause: Cause) -> Repair:
    """How a cause is mended: both ways of a slip alike, and all contacts of one switch cleaned in one go.

    Any fault of a belt is mended by a new one.

    >>> from mechlib.transports import load
    >>> repair_of(load("alder"), Cause("dirty contact", "B")).words
    'contacts A, B, C and D dirty'
    """
    kind = SLACK_BELT if cause.kind in NEW_BELT else MENDED_AS.get(cause.kind, cause.kind)
    if kind != DIRTY:
        return Repair(kind, cause.of)
    carriers = {contact.name: contact.part for contact in transport.contacts}
    together = tuple(name for name, part in carriers.items() if part == carriers[cause.of])
    return Repair(kind, together[0], together)


def repair_time(transport: Transport, repair: Repair, off: frozenset[str] = frozenset()) -> float:
    """Minutes of a repair with the covers that aren't ``off`` yet.

    >>> from mechlib.transports import load
    >>> alder, mend = load("alder"), Repair("slip", "mode switch")
    >>> repair_time(alder, mend) - repair_time(alder, mend, frozenset({"bottom plate"}))
    4.0
    """
    covers = repair_covers(transport, repair.kind, repair.of)
    return repair_minutes(transport, repair.kind, repair.of) + covers_time(covers, off)


def covers_time(covers: tuple[Cover, ...], off: frozenset[str]) -> float:
    """Minutes for those covers that aren't off yet."""
    return sum((cover.minutes for cover in covers if cover.name not in off), 0.0)


def _singles(sound: Transport) -> list[Suspect]:
    found = []
    for kind in FAULTS:
        for of in fault_places(sound, kind):
            often = how_often(sound, kind, of)
            for cause, grades in _graded(sound, kind, of):
                worked = [(fault, share) for fault, share in grades if _possible(sound, fault)]
                found += [Suspect((fault,), (cause,), often * share) for fault, share in worked]
            if kind in (ELECTRONICS, NOTHING):
                found.append(Suspect((), (Cause(kind),), often))
    return [one for one in found if one.weight > 0]


def _graded(sound: Transport, kind: str, of: str | None) -> list[tuple[Cause, tuple]]:
    """The causes of a kind at one place with their grades; a slip has two, of half the weight each."""
    if kind == SLIP:
        return [
            (Cause(kind, of, way), [(fault, share / 2) for fault, share in slips(sound, of, way)])
            for way in (AHEAD, BEHIND)
        ]
    return [(Cause(kind, of), GRADES[kind](sound, of))] if kind in GRADES else []


def _possible(sound: Transport, *faults) -> bool:
    """Whether this transport can have the faults: the last latch, for one, can't be worn."""
    try:
        sound.with_faults(*faults)
    except MechError:
        return False
    return True


def _pairs(sound: Transport, singles: list[Suspect], number: int) -> list[Suspect]:
    by_cause: dict[Cause, list[Suspect]] = {}
    for one in singles:
        if one.faults:
            by_cause.setdefault(one.causes[0], []).append(one)
    middle = [
        replace(grades[len(grades) // 2], weight=sum(one.weight for one in grades))
        for grades in by_cause.values()
    ]
    total = sum(one.weight for one in singles)
    middle.sort(key=lambda one: -one.weight)
    likely = sorted(
        ((a.weight * b.weight, a, b) for a, b in combinations(middle[: 2 * number], 2)
         if repair_of(sound, a.causes[0]) != repair_of(sound, b.causes[0])),
        key=lambda pair: -pair[0],
    )  # fmt: skip
    pairs = (
        Suspect(a.faults + b.faults, a.causes + b.causes, PAIR_PART * weight / total)
        for weight, a, b in likely
        if _possible(sound, *a.faults, *b.faults)
    )
    return list(islice(pairs, number))
