"""Setting a slipped transport right: what to lift, the steps in order, and what to try and look at after."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.bench.change_walk import change_walk
from mechlib.bench.lifts import Move, fewest_lifts, gear_name, lifting_minutes, moves, turns_along, untimed
from mechlib.bench.not_mended import not_mended
from mechlib.bench.retiming_bring import ways_to_marks
from mechlib.bench.retiming_close import closing_steps
from mechlib.bench.retiming_steps import Step, opening_steps, tape_step
from mechlib.errors import MechError, check_number
from mechlib.say import count, listing, say
from mechlib.transports.change_table import change_table
from mechlib.transports.faults import Slip
from mechlib.transports.mode_change import standing_start
from mechlib.transports.model import SENSE, Transport


@dataclass(frozen=True, eq=False)
class Retiming:
    """How to set a transport right: ``lifts``, then ``moves`` at their meshes, told in ``steps``.

    ``minutes`` are for covers and lifting, ``untimed`` the gears for whose lifting the file gives none.
    ``changes_to_try`` failed with the slip, ``walk`` is a chain of modes through all of them.  ``left`` tells
    what re-timing can't mend, ``repaired`` is the transport after it.
    """

    transport: Transport
    lifts: tuple[str, ...]
    moves: tuple[Move, ...]
    minutes: float
    untimed: tuple[str, ...]
    changes_to_try: tuple[tuple[str, str], ...]
    walk: tuple[str, ...]
    left: tuple[str, ...]
    repaired: Transport
    steps: tuple[Step, ...]

    def sentence(self) -> str:
        """What is to be set, in one sentence, and what re-timing leaves."""
        found = " ".join([self._setting(), *self.left])
        return found + (" Re-timing alone won't do." if self.left else "")

    def _setting(self) -> str:
        silent = [mesh for mesh, _ in self.transport.slips if mesh not in self.transport.chains]
        if not self.moves:
            why = "every timed part stands on its mark"
            if silent:
                why += f", and no timing depends on the {listing(silent)} between motor and main gear"
            return f"Nothing is to be re-timed on {self.transport.name}: {why}."
        gears = listing(f"the {gear_name(gear)}" for gear in self.lifts)
        work = listing(self._work(move) for move in self.moves)
        told = f"Lift {gears}; set {work}; {self._time()}"
        if not self.changes_to_try:
            return f"{told}. No change failed."
        return f"{told}; then try {count(len(self.changes_to_try), 'change')} that failed."

    def _work(self, move: Move) -> str:
        """A move in short; where the parent is moved, too, with what the teeth are counted on."""
        told = f"the {move.part} {count(abs(move.teeth), 'tooth')} {move.way}"
        above = set(self.transport.chains[move.part]) - {move.part}
        on_moved = above & {other.part for other in self.moves}
        return f"{told} on the {gear_name(move.parent)}" if on_moved else told

    def _time(self) -> str:
        told = [f"about {say(self.minutes, 'min', 0)} for covers and lifting"] if self.minutes else []
        if self.untimed:
            gears = listing(f"the {gear_name(gear)}" for gear in self.untimed)
            told.append(f"the file gives no minutes for lifting {gears}")
        return "; ".join(told) or "no time for covers and lifting"

    def text(self) -> str:
        """The steps as a numbered list, and the sentence first."""
        lines = [self.sentence()]
        for number, step in enumerate(self.steps, 1):
            first, *more = step.words.split("\n")
            lines += [f"{number:2}. {first}", *("    " + line for line in more)]
        return "\n".join(lines)


def retiming(transport: Transport, standing: str | float | None = None) -> Retiming:
    """The steps that set every slipped mesh of a transport right, computed from its slips.

    ``standing`` is where the machine stands: a mode, or theta in degrees between the ends of the chart;
    left out, the way to the marks is given from every mode.  Gears are lifted as ``fewest_lifts`` finds;
    where the way to the marks is barred until they are out, the main gear stays in, for it must be turned.
    Raises MechError for a mode that does not exist or can't be reached with the slip, an angle beyond the
    stops, or more than 12 slipped meshes.

    >>> from mechlib.transports import load, slip
    >>> plan = retiming(load("alder").with_faults(slip("loading gear", 1)))
    >>> plan.lifts, [(move.part, move.teeth) for move in plan.moves], plan.minutes
    (('loading gear',), [('loading gear', -1)], 10.0)
    >>> retiming(load("alder")).sentence()
    'Nothing is to be re-timed on Alder: every timed part stands on its mark.'
    """
    theta = _standing_deg(transport, standing)
    found = moves(transport)
    ways = ways_to_marks(transport, theta) if found else ()
    lifts = fewest_lifts(transport, roots_too=not any(way.barred for _, way in ways))
    turns = turns_along(transport, lifts)
    repaired = transport.with_faults(*(Slip(move.part, move.teeth) for move in found))
    failed = tuple(pair for pair, cell in change_table(transport).items() if not cell.change.good)
    walk = change_walk(failed, transport.reference_mode) if found else ()
    left = not_mended(transport)
    steps = tuple(Step("mend too", f"Re-timing does not mend this; see to it as well: {s}") for s in left)
    if found:
        opening = opening_steps(transport, lifts, found, turns, ways)
        open_by = 1 + max(at for at, step in enumerate(opening) if step.kind in ("lift", "bring", "cause"))
        steps = opening[:open_by] + steps + opening[open_by:]  # known causes, too, before gears mesh again
        steps = (tape_step(transport, standing), *steps, *closing_steps(repaired, lifts, found, walk))
    return Retiming(
        transport,
        lifts,
        found,
        lifting_minutes(transport, lifts),
        untimed(transport, lifts),
        failed if found else (),
        walk,
        left,
        repaired,
        steps,
    )


def _standing_deg(transport: Transport, standing: str | float | None) -> float | None:
    if standing is None:
        return None
    if not isinstance(standing, str):
        return check_number("standing", standing, *transport.ends, "°", "or give the name of a mode")
    transport.mode(standing)
    for sense in SENSE:
        if stand := standing_start(transport, standing, sense):
            return stand.theta
    raise MechError(
        f"{standing} cannot be reached by {transport.name} as it is", "give the angle of the main cam instead"
    )
