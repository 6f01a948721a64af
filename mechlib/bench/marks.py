"""Where the timing marks stand in every mode, and how often two of them meet."""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd

from mechlib.bench.mark_place import GEAR, RACK
from mechlib.bench.tooth_offset import LEAST_TEETH, MOST_TEETH
from mechlib.errors import MechError, check_count
from mechlib.say import columns, count, say
from mechlib.transports.model import LOADING, Part, Transport
from mechlib.transports.timing import arrival, arriving_senses


@dataclass(frozen=True)
class MarkPlace:
    """How far a part has gone from its mark in a mode, and where the mark then points.

    ``turned_deg`` counts in the part's own degrees and loading sense; a rack counts as the gear of ``teeth``
    teeth that it would be if it were rolled up.
    """

    mode: str
    part: str
    kind: str
    teeth: int
    turned_deg: float

    @property
    def apart_deg(self) -> float:
        """The angle by which its mark stands away from where it lines up.

        Of a gear −180 to 180, the shorter way round; a sector or rack never comes round, so as it has turned.
        """
        return (self.turned_deg + 180.0) % 360.0 - 180.0 if self.kind == GEAR else self.turned_deg

    @property
    def teeth_on(self) -> float:
        """Teeth by which it has gone on from its mark (−: it stands short)."""
        return self.turned_deg * self.teeth / 360.0

    def amount(self) -> str:
        """How far its mark stands on: of a rack in teeth, a number alone; else in degrees."""
        return say(self.teeth_on) if self.kind == RACK else say(self.apart_deg, "°", 0)

    def sentence(self) -> str:
        """How far it has gone, and of a gear the shorter way round."""
        start = f"In {self.mode} the {self.part} has"
        if self.kind == RACK:
            return f"{start} gone {say(self.teeth_on, 'teeth', sign=True)} from its mark."
        turned = f"{start} turned {say(self.turned_deg, '°', sign=True)} from its mark"
        if self.kind != GEAR or abs(self.turned_deg) <= 180:
            return f"{turned}."
        return f"{turned}: the shorter way round that is {say(self.apart_deg, '°', sign=True)}."


def mark_places(transport: Transport, mode: str) -> tuple[MarkPlace, ...]:
    """Where the mark of the main gear and of every timed part stands in a mode, slips included.

    The cam stands where an arrival in the loading sense leaves it (unloading where no change arrives so).
    Of a rack its teeth are told.  Raises MechError for a mode that does not exist or cannot be reached.

    >>> from mechlib.transports import load
    >>> mark_places(load("alder"), "DOWN")[0].sentence()
    'In DOWN the main cam has turned −1.6° from its mark.'
    >>> mark_places(load("cedar"), "WIND")[4].sentence()
    'In WIND the switch slide has gone +3.1 teeth from its mark.'
    """
    transport.mode(mode)
    for sense in sorted(arriving_senses(transport)[mode], key=(LOADING, "unloading").index):
        came = arrival(transport, mode, sense)
        if came is not None and came.possible:
            break
    else:
        raise MechError(f"{mode} cannot be reached by {transport.name} as it is", "mend its faults first")
    gears = [(root, GEAR, root.teeth) for root in transport.roots]
    gears += [(part, part.kind, part.teeth) for part in transport.parts]
    return tuple(
        MarkPlace(mode, g.name, kind, teeth, came.run.slipped_place(g.name, came.stand_deg) * abs(g.speed))
        for g, kind, teeth in gears
    )


def marked(part: Part) -> str:
    """A part's name at the head of a row of ``MarkPlace.amount``: with the unit where that isn't degrees."""
    return f"{part.name}, teeth" if part.kind == RACK else part.name


@dataclass(frozen=True)
class MarksMeet:
    """After how many turns the marks of two meshing gears stand together again."""

    first_teeth: int
    second_teeth: int
    first_turns: int
    second_turns: int

    def sentence(self) -> str:
        return (
            f"Gears of {self.first_teeth} and {self.second_teeth} teeth bring their marks together again "
            f"after {count(self.first_turns, 'turn')} of the first and {count(self.second_turns, 'turn')} "
            "of the second; in between, marks apart mean nothing."
        )


def marks_meet(first_teeth: int, second_teeth: int) -> MarksMeet:
    """Turns until the same teeth of two gears meet again: z2/gcd(z1, z2) of gear 1, z1/gcd of gear 2.

    Both tooth counts from 4 to 2000; raises MechError otherwise.  A pair without a common factor hunts:
    every tooth meets every other before it repeats.  Source: Hayes, American Scientist, July-August 2000.

    >>> meet = marks_meet(80, 100)
    >>> meet.first_turns, meet.second_turns
    (5, 4)
    """
    first = check_count("first_teeth", first_teeth, LEAST_TEETH, MOST_TEETH)
    second = check_count("second_teeth", second_teeth, LEAST_TEETH, MOST_TEETH)
    common = gcd(first, second)
    return MarksMeet(first, second, second // common, first // common)


def mark_table(transport: Transport) -> str:
    """For every mode how far each mark stands from where it lines up, and how often it meets its parent's.

    The first column of numbers is the turns of the part after which its mark and its parent's meet again,
    counted from the reference mode; "-" stands where a mode can't be reached, and for a sector or rack, which
    doesn't go round.  Degrees of the part; of a rack teeth, as its name then says.

    >>> from mechlib.transports import load
    >>> print(mark_table(load("alder")).splitlines()[1])
    mode switch             10   −18°   −2°   63°  112°    160°  −164°  −126°   −88°
    """
    found = {mode: _places_or_none(transport, mode) for mode in transport.mode_names}
    rows = []
    for part in transport.parts:
        meet = marks_meet(part.teeth, part.parent_teeth)
        turns = str(meet.first_turns) if part.kind == GEAR else "-"
        apart = [places[part.name].amount() if places else "-" for places in found.values()]
        rows.append((marked(part), turns, *apart))
    return columns(("mark of", "meets after", *found), rows)


def _places_or_none(transport: Transport, mode: str) -> dict[str, MarkPlace] | None:
    try:
        return {place.part: place for place in mark_places(transport, mode)}
    except MechError:
        return None
