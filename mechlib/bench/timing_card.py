"""The timing card: all that the next person at the bench needs of a transport, with every mark right."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import ceil, copysign, floor

from mechlib.bench.hand_turn import shaft_deg
from mechlib.bench.mark_place import RACK
from mechlib.bench.marks import MarkPlace, mark_places, marked
from mechlib.errors import MechError
from mechlib.say import columns, count, listing, say
from mechlib.transports.arcs import TINY
from mechlib.transports.change_table import change_table
from mechlib.transports.chart import Chart, chart
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.model import LOADING, MAIN_CAM, UNLOADING, Transport
from mechlib.transports.outcomes import NO_START
from mechlib.transports.runs import steady
from mechlib.transports.timing import margins, slips_survived

CLOSED, OPEN, ON_EDGE = "●", "–", "edge"
NONE, HERE, FAILS, DIFFERS = "–", "", "×", "*"
CAUTIONS = (
    "No cover off under power: pull the plug, and give capacitors time.",
    "Leave live parts to qualified people; local codes and rules come first.",
    "Turn by hand gently, plug pulled; where it stops, look what touches.",
    "Let springs down before a gear is lifted: an arm that snaps back cuts.",
    "Ohmmeter: only unplugged, with the switch taken off its circuit.",
    "Never bridge a fuse, a thermal cut-off or any protective device.",
)


@dataclass(frozen=True)
class CardTable:
    """A table of the card, as words: a title, a header, rows, ``left`` columns of words, a note below.

    >>> print(CardTable("Times", ("mode", "s"), (("PLAY", "2.0"),), 1, "by hand").text())
    Times
    mode    s
    PLAY  2.0
    by hand
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: int
    note: str = ""

    def text(self) -> str:
        """The table as aligned columns, with its title above and its note below."""
        lines = [self.title, columns(self.header, self.rows, self.left), self.note]
        return "\n".join(line for line in lines if line)


@dataclass(frozen=True)
class Stretch:
    """A stretch of theta on which the same contacts are closed; ``mode`` is the one whose code they are."""

    low_deg: float
    high_deg: float
    closed: frozenset[str]
    mode: str | None


@dataclass(frozen=True, eq=False)
class TimingCard:
    """What stands on the card.  ``transport`` is the machine with every mark right."""

    transport: Transport
    title: str
    invented: str  # a note where the machine is invented, else ""
    keys: tuple[tuple[str, str], ...]
    chart: Chart
    stretches: tuple[Stretch, ...]
    marks: CardTable
    margins: CardTable
    interlocks: CardTable
    contacts: CardTable
    times: CardTable
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def tables(self) -> tuple[CardTable, ...]:
        """All tables that have rows, in the order of the card."""
        found = (self.marks, self.margins, self.contacts, self.times, self.interlocks)
        return tuple(table for table in found if table.rows)

    @cached_property
    def half_teeth(self) -> tuple[tuple[float, tuple[str, ...]], ...]:
        """For each half tooth between the ends: teeth, and what an ohmmeter reads at each contact.

        Each contact is "closed" ("●"), "open" ("–") or on its very "edge", where either may be read.

        >>> from mechlib.transports import load
        >>> teeth, read = timing_card(load("alder")).half_teeth[52]
        >>> teeth, read
        (0.0, ('●', '–', '–', '–', '–'))
        """
        a_half, (low, high) = 180.0 / self.transport.main_teeth, self.transport.ends
        numbers = range(ceil(low / a_half - TINY), floor(high / a_half + TINY) + 1)
        return tuple((n / 2, self._read_at(n * a_half)) for n in numbers)

    def _read_at(self, theta: float) -> tuple[str, ...]:
        here = [s for s in self.stretches if s.low_deg - TINY <= theta <= s.high_deg + TINY]
        found = []
        for contact in self.transport.contacts:
            closed = {contact.name in stretch.closed for stretch in here}
            found.append(ON_EDGE if len(closed) > 1 else CLOSED if True in closed else OPEN)
        return tuple(found)

    def half_tooth_text(self) -> str:
        """A line for each half tooth from end to end, to be ticked off with an ohmmeter."""
        transport = self.transport
        shaft = ("hand turns",) if transport.hand_shafts else ()
        a_tooth = 360.0 / transport.main_teeth
        header = ("teeth", *shaft, *(contact.name for contact in transport.contacts))
        rows = [
            (say(teeth, "", 1), *(say(_turns_to(transport, teeth * a_tooth), "", 2) for _ in shaft), *read)
            for teeth, read in self.half_teeth
        ]
        return columns(header, rows, left=0)

    def sentence(self) -> str:
        """What the card is of, and its tightest mode."""
        tight = min(margins(self.transport), key=lambda found: found.margin_deg)
        modes, changes = len(self.transport.modes), len(change_table(self.transport))
        what = f"{self.title}{f' ({self.invented})' if self.invented else ''}"
        return f"{what}: {count(modes, 'mode')}, {count(changes, 'mode change')}.  {tight.sentence()}"

    def text(self) -> str:
        """The whole card as text to be copied."""
        head = [self.title, self.invented, *(f"{name}: {words}" for name, words in self.keys)]
        cautions = ["Cautions", *(f"- {caution}" for caution in self.cautions)]
        blocks = [head, *([table.text()] for table in self.tables), cautions]
        return "\n\n".join("\n".join(line for line in block if line) for block in blocks)


def timing_card(transport: Transport) -> TimingCard:
    """Everything that stands on the timing card of a transport.

    Faults are left out: the card tells how the machine has to be.  The angles are for the loading sense with
    play taken up; the expected times are those of ``transports.change``.  ``transport``: any; returns a
    TimingCard.  Raises nothing of its own.

    >>> from mechlib.transports import load
    >>> card = timing_card(load("alder"))
    >>> card.keys[0]
    ('reference mode', 'DOWN: every mark lined up, θ = 0')
    >>> card.contacts.rows[1][:3]  # teeth of the main gear between which DOWN's contact is closed
    ('DOWN', '−0.89', '0.89')
    """
    sound = transport.sound
    stretches = _stretches(sound)
    return TimingCard(
        sound,
        f"{sound.name}: timing card",
        "an invented transport, for training" if sound.invented else "",
        _keys(sound),
        chart(sound),
        stretches,
        _marks(sound),
        _margins(sound),
        _interlocks(sound),
        _contacts(sound, stretches),
        _times(sound),
    )


def _keys(transport: Transport) -> tuple[tuple[str, str], ...]:
    low, high = transport.ends
    teeth = say(transport.teeth_of(high - low), "teeth")
    travel = f"{say(low, '°')} to {say(high, '°')}: {say(high - low, '°')}, {teeth}"
    a_tooth = 360.0 / transport.main_teeth
    keys = [
        ("reference mode", f"{transport.reference_mode}: every mark lined up, θ = 0"),
        ("main gear", f"{count(transport.main_teeth, 'tooth')}, {say(a_tooth, '°', 2)} a tooth"),
        ("travel", f"one turn after the other, {teeth} each" if transport.cyclic else travel),
    ]
    for shaft in transport.hand_shafts:
        turns = shaft.turns_per_cam_turn
        each, all_way = say(turns / transport.main_teeth, "", 2), say(turns * (high - low) / 360.0)
        ends = "a turn of the cam" if transport.cyclic else "from end to end"
        keys.append((shaft.name, f"{each} turns a tooth, {all_way} {ends}"))
    if len(transport.motors) > 1:
        keys.append(("motors", _motors_in_turn(transport)))
    speed = transport.speed_deg_s  # None where it follows from motor and load
    moved = f"{say(speed, '°')}/s, " if speed else ""
    coasts = {one.name: say(transport.coast_deg * one.coasts, "°") for one in transport.motors}
    if len(set(coasts.values())) > 1:
        moved += f"coasts {listing(f'{deg} after the {name}' for name, deg in coasts.items())}"
    else:
        moved += f"coasts {next(iter(coasts.values()), say(transport.coast_deg, '°'))}"
    moved += f"; a code counts after {say(transport.settle_deg, '°')}"
    if release := transport.release:
        rests = listing(say(deg, "°") for deg in release.rests_deg)
        moved = f"released by the solenoid, it goes from rest to rest: {rests}, each ±"
        moved += f"{say(release.latch_deg, '°')}; there its code is read"
    keys.append(("cam", moved))
    keys.append(("time-out", say(transport.controller.time_out_s, "s")))
    return tuple(keys)


def _motors_in_turn(transport: Transport) -> str:
    """Which motor turns up to where, and the contact that tells the controller so, there and back."""
    told = []
    for stage, after in pairwise(transport.stages):
        there, back = stage.hand_over(LOADING), after.hand_over(UNLOADING)
        tells = [f"{there.contact} tells"] if there else []
        tells += [f"back {back.contact}"] if back else []
        if tells:  # else the same motor goes on
            told.append(f"{stage.motor} to {say(stage.end_deg, '°')} ({', '.join(tells)})")
    return ", then ".join([*told, transport.stages[-1].motor])


def _marks(transport: Transport) -> CardTable:
    """The place of each mark in each mode: θ for the main cam, for the others how far they stand apart."""
    names = transport.mode_names
    found = {mode: _places_or_none(transport, mode) for mode in names}

    def told(words: Callable[[dict[str, MarkPlace]], str]):
        return (words(places) if places else NONE for places in found.values())

    rows = [("main cam", "its angle θ", *told(lambda at: say(at[MAIN_CAM].turned_deg, "°", 0)))]
    for part in transport.parts:
        rows.append((marked(part), part.mark, *told(lambda at, name=part.name: at[name].amount())))
    note = (
        "Degrees of the part by which its mark stands on (−: short) in its own loading sense, reached in the "
        "loading sense if it can be."
    )
    if any(part.kind == RACK for part in transport.parts):
        note += "  Of a rack: its teeth."
    return CardTable("Marks: where each points in each mode", ("part", "mark", *names), tuple(rows), 2, note)


def _places_or_none(transport: Transport, mode: str) -> dict[str, MarkPlace] | None:
    try:
        return {place.part: place for place in mark_places(transport, mode)}
    except MechError:  # the mode can't be reached
        return None


def _margins(transport: Transport) -> CardTable:
    rows = []
    for margin in margins(transport):
        ruled = f"{margin.ruled_by}, {margin.side}, {margin.sense}"
        survived = (slips_survived(transport, margin.mode, part.name) for part in transport.parts)
        teeth = ("/".join("any" if n is None else str(n) for n in (s.behind, s.ahead)) for s in survived)
        rows.append((margin.mode, ruled, *_amounts(transport, margin.margin_deg), *teeth))
    header = ("mode", "ruled by, side, reached in", "margin", "teeth", *_shaft(transport))
    parts = tuple(part.name for part in transport.parts)
    shaft = "".join(f", turns of the {one.name}" for one in transport.hand_shafts[:1])
    note = (
        f"Margin in degrees θ, teeth of the main gear{shaft}; under each part: teeth of slip behind/ahead of "
        "its mark that the mode survives."
    )
    return CardTable("Margins of the modes", (*header, *parts), tuple(rows), 2, note)


def _shaft(transport: Transport) -> tuple[str, ...]:
    return ("turns",) if transport.hand_shafts else ()


def _turns_to(transport: Transport, theta: float) -> float:
    """Turns of the first hand shaft from the reference mode to theta, below 0 where it lies before it."""
    return copysign(transport.turns_of(shaft_deg(transport, 0.0, theta)), theta)


def _amounts(transport: Transport, deg: float) -> tuple[str, ...]:
    turns = (say(transport.turns_of(deg), "", 2) for _ in _shaft(transport))
    return (say(deg, "°"), say(transport.teeth_of(deg), "", 2), *turns)


def _interlocks(transport: Transport) -> CardTable:
    def amount(by: str, way: str, deg: float | None) -> str:
        return "no limit" if deg is None else f"{by} {'+' if way == 'ahead' else '−'}{say(deg, '°')}"

    rows = tuple((m.name, *(amount(*out) for out in m.ways)) for m in interlock_margins(transport))
    header = ("interlock", "they collide with", "or with")
    note = "Degrees θ by which its part must be ahead (+) or behind (−)."
    return CardTable("Margins of the interlocks", header, rows, 3, note)


def _stretches(transport: Transport) -> tuple[Stretch, ...]:
    """What is closed, stretch by stretch, from end to end in the loading sense."""
    low, high = transport.ends
    names = {mode.code: mode.name for mode in transport.modes}
    found: list[Stretch] = []
    for start, end, closed in steady(transport, LOADING).codes:
        start, end = max(start, low), min(end, high)
        if end - start > TINY:
            found.append(Stretch(start, end, closed, names.get(closed)))
    return tuple(found)


def _contacts(transport: Transport, stretches: tuple[Stretch, ...]) -> CardTable:
    shaft = _shaft(transport)
    rows = []
    for stretch in stretches:
        if not stretch.closed:
            continue
        ends = stretch.low_deg, stretch.high_deg
        teeth = (say(transport.teeth_of(deg), "", 2) for deg in ends)
        turns = (say(_turns_to(transport, deg), "", 2) for deg in ends if shaft)
        read = (CLOSED if c.name in stretch.closed else OPEN for c in transport.contacts)
        rows.append((stretch.mode or NONE, *teeth, *turns, *read))
    header = ("code of", "teeth from", "to", *(("turns from", "to") if shaft else ()))
    header += tuple(contact.name for contact in transport.contacts)
    title = "Contacts by the ohmmeter"
    note = (
        f"{CLOSED} closed, {OPEN} open at every half tooth between the edges; in no row: all open.  "
        "Main-gear teeth from the reference mode; turn in the loading sense only."
    )
    if transport.release and shaft:
        note += "  The push into mesh is no turn."
    return CardTable(title, header, tuple(rows), 1, note)


def _times(transport: Transport) -> CardTable:
    table, names = change_table(transport), transport.mode_names

    def cell(start: str, target: str) -> str:
        if start == target:
            return HERE
        found = table[start, target]
        if not found.change.good:
            return NONE if found.change.outcome == NO_START else FAILS
        return say(found.change.time_s) + (DIFFERS if found.differs else "")

    cells = {(start, target): cell(start, target) for start in names for target in names}
    rows = tuple((start, *(cells[start, target] for target in names)) for start in names)
    key = {
        FAILS: f"{FAILS} does not end right even so",
        NONE: f"{NONE} its start cannot be reached",
        DIFFERS: f"{DIFFERS} ends otherwise if its start was reached in the other sense",
    }
    notes = ["Start reached in the loading sense where it can"]
    for start, target, legs in transport.controller.routes:
        if len(legs) > 1:
            notes.append(f"{start} to {target} by {listing(leg.mode for leg in legs[:-1])}")
    notes += [words for sign, words in key.items() if any(text.endswith(sign) for text in cells.values())]
    title = "Expected times (s), from row to column"
    return CardTable(title, ("from", *names), rows, 1, "; ".join(notes) + ".")
