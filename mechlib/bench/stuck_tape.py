"""Getting a stuck tape out by hand: from where the machine stands, the steps in the order of what happens."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.bench.hand_turn import amount
from mechlib.bench.retiming_steps import Step
from mechlib.bench.stuck_tape_opening import (
    doubtful_steps,
    met_words,
    opening_steps,
    undecided_steps,
    unsure_steps,
)
from mechlib.bench.stuck_tape_steps import SHOWN_DEG, turning_steps
from mechlib.bench.way_out import Way, obstacle_name, way_out
from mechlib.bench.ways_from import Branch, branch, branches, say_each, what_tells
from mechlib.bench.where import Where
from mechlib.errors import MechError, check_number
from mechlib.say import count, listing, say
from mechlib.transports.arcs import TINY, Arcs, merge
from mechlib.transports.mode_change import standing_start
from mechlib.transports.model import SENSE, Transport

TOLD = 3  # of things worth a look, in the sentence


@dataclass(frozen=True, eq=False)
class StuckTape:
    """How the tape is got out by hand: ``steps`` in order, along ``way``.

    ``where``: what is known of where the cam stands, None if that was given; the way is then from
    the furthest possible place, and ``at_least_deg`` from the nearest.  ``look_at``: what to look at
    first, where the sense of turning is not decided yet, or what bars the way, or to look at again where
    the sights don't go together; ``way`` is None then.  ``branches``: the places where it may stand by what
    bars the way from there; none where the sights don't go together.
    """

    transport: Transport
    target: str
    way: Way | None
    where: Where | None
    at_least_deg: float
    look_at: tuple[str, ...]
    steps: tuple[Step, ...]
    branches: tuple[Branch, ...]

    @property
    def slack_mm(self) -> float:
        """Tape that comes loose on the way, as far as the file says."""
        moves = self.way.moves if self.way else ()
        return sum(move.free_mm for move in moves if move.free_mm and move.free_mm > 0)

    @property
    def move_numbers(self) -> tuple[int, ...]:
        """For each move of the way the number of its step in the list.

        >>> from mechlib.transports import load
        >>> stuck_tape(load("alder"), "DOWN").move_numbers
        (10, 12, 13)
        """
        return tuple(number for number, step in enumerate(self.steps, 1) if step.kind == "moves")

    def sentence(self) -> str:
        """Where it stands, if that was worked out; then which way to turn, how far, and what stops it."""
        found = [self.where.sentence()] if self.where else []
        return " ".join([*found, self.turning()])

    def turning(self) -> str:
        """Which way to turn, how far, and what stops it; from which places, where that is not one answer."""
        way = self.way
        if self._doubtful():
            return " ".join(["Don't turn yet.", *map(met_words, self.where.jams)])
        if way is None:
            told = self._undecided()
            return told if self._either_way() else f"{told} {say_each(self.branches)}"
        if way.aim_deg is None or way.turn_deg <= TINY or (way.blocked and way.turn_deg < SHOWN_DEG):
            return self._nothing_to_turn()
        told = f"Turn {self.branches[0].turns()} in the {way.sense} sense"
        if way.wedged:
            told = f"{self._jammed()}: {self._eased()} of the way ease that. {told}"
        if way.blocked:
            at = say(way.blocked.theta_deg, "°")
            return f"{told}, and no further: at {at} {way.blocked.name} bars the way."
        slack = f"; {say(self.slack_mm, 'mm', 0)} of tape comes loose on it" if self.slack_mm else ""
        return f"{told}, to {self.target}: {count(len(way.moves), 'lever move')}{slack}."

    def short(self) -> str:
        """The same on one line: what the places and the jam are is left to the sentence and the steps."""
        if self._doubtful():
            jam = " It may be a jam." if self.where.jams else ""
            again = f"Look again at {self.where.again()}.{jam}"
            return f"Don't turn yet: what was seen does not go together. {again}"
        if self.way is None:
            return self._undecided()
        if not self.way.wedged or self.way.turn_deg < SHOWN_DEG:
            return self.turning()
        end = "and no further" if self.way.blocked else f"to {self.target}"
        turn = f"Turn {self.branches[0].turns()} in the {self.way.sense} sense, {end}."
        return f"{self._jammed()}. {turn}"

    def _nothing_to_turn(self) -> str:
        way, target, name = self.way, self.target, self.transport.name
        if way.aim_deg is None:
            return f"Turning can't bring {name} to {target}: a part must be lifted first."
        if not way.blocked:
            return f"{name} stands where {target} does: nothing is to be turned."
        told = f"{self._jammed()}: ease that first; then " if way.wedged else "Don't turn: "
        return f"{told}{way.blocked.name} bars the way to {target} at once."

    def _undecided(self) -> str:
        few = self.look_at[:TOLD]
        look = listing(f"the {name}" for name in few) if few else "one more lever or contact"
        if self._either_way():
            return f"Which way to turn for {self.target} is not decided: look at {look} first."
        free = any(not one.way.blocked for one in self.branches)
        barred = "from some of these places only" if free else "from all of these places, not at one angle"
        return f"Don't turn yet: the way to {self.target} is barred {barred}. Look at {look} first."

    def _doubtful(self) -> bool:
        return self.where is not None and bool(self.where.doubtful)

    def _either_way(self) -> bool:
        return len({sense for one in self.branches for sense in one.senses}) > 1

    def _jammed(self) -> str:
        jammed = listing(obstacle_name(obstacle) for obstacle, _ in self.way.wedged)
        return f"It {'may stand' if self.where else 'stands'} jammed in {jammed}"

    def _eased(self) -> str:
        way = self.way
        most = max(way.shaft_deg(way.start_deg + out) for _, out in way.wedged)
        turns = amount(self.transport, most).partition(" of the ")[0]
        return f"{'at most ' if self.where else ''}the first {turns}"

    def text(self) -> str:
        """The sentence, then the steps as a numbered list."""
        lines = [self.sentence()]
        lines += [
            f"{number:2}. {step.kind.upper()}: {step.words}" for number, step in enumerate(self.steps, 1)
        ]
        return "\n".join(lines)


def stuck_tape(transport: Transport, standing: str | float | Where, target: str | None = None) -> StuckTape:
    """The steps that bring a machine by hand to a mode, such as the one in which the tape is out.

    ``standing``: where it stands: a mode, theta in degrees between the stops (0 to 360 where the cam goes
    round), or what ``where_it_stands`` found; then the way is given from the furthest place possible;
    where it is barred from some places only, or not by one thing, or where what was seen does not go
    together, none is given, but what to look at.
    ``target``: the mode wanted; by default the one to which the controller homes, in which the tape can be
    taken out.  In any other it is still in, and the steps say so.  Slips and other faults of
    the transport are taken as they are.  Returns a StuckTape; raises MechError for a mode that doesn't exist
    or can't be reached, an angle beyond the stops, or a Where of another transport.  Derived; cautions and
    the words about tape: common practice, no source.

    >>> from mechlib.transports import load
    >>> stuck_tape(load("alder"), "DOWN").sentence()
    'Turn 30.5 turns of the worm shaft in the unloading sense, to EJECT: 3 lever moves.'
    """
    target = transport.mode(transport.controller.home.mode if target is None else target).name
    where = standing if isinstance(standing, Where) else None
    if where and where.transport != transport:
        raise MechError(f"it was worked out for {where.transport.name}", "give one of this transport")
    if where and where.doubtful:
        look = tuple(dict.fromkeys(name for group in where.doubtful for name in group))
        steps = (*opening_steps(transport, None), *doubtful_steps(where))
        return StuckTape(transport, target, None, where, 0.0, look, steps, ())
    kinds = branches(where, target) if where else (_from_one(transport, standing, target),)
    senses = {sense for one in kinds for sense in one.senses}
    if len(senses) > 1 or len(kinds) > 1:
        look = what_tells(where, *_sides(kinds, sorted(senses)))
        then = undecided_steps(target, look) if len(senses) > 1 else unsure_steps(target, look, kinds)
        steps = (*opening_steps(transport, None), *then)
        return StuckTape(transport, target, None, where, 0.0, look, steps, kinds)
    way, least = kinds[0].way, kinds[0].at_least_deg
    steps = (*opening_steps(transport, way, where), *turning_steps(way, way.turn_deg - least))
    return StuckTape(transport, target, way, where, least, (), steps, kinds)


def _from_one(transport: Transport, standing, target: str) -> Branch:
    """The way from one place."""
    theta = _start(transport, standing)
    return branch([((theta, theta), way_out(transport, theta, target))])


def _sides(kinds: tuple[Branch, ...], senses: list[str]) -> tuple[Arcs, Arcs]:
    """The places that a look must tell apart: by the sense to turn in, else what is free from the rest."""
    if len(senses) > 1:
        return tuple(merge(arc for one in kinds for arc in one.sides.get(sense, ())) for sense in senses)
    return kinds[-1].arcs, merge(arc for one in kinds[:-1] for arc in one.arcs)


def _start(transport: Transport, standing) -> float:
    """Theta where it stands."""
    if not isinstance(standing, str):
        return check_number("standing", standing, *transport.ends, "°", "or give the name of a mode")
    transport.mode(standing)
    for sense in SENSE:
        if stand := standing_start(transport, standing, sense):
            return stand.theta
    raise MechError(
        f"{standing} cannot be reached by {transport.name} as it is", "give the angle of the main cam instead"
    )
