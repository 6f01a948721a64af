"""Getting a stuck tape out by hand: from where the machine stands, the steps in the order of what happens."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.bench.hand_turn import amount
from mechlib.bench.retiming_steps import Step
from mechlib.bench.stuck_tape_steps import SHOWN_DEG, opening_steps, turning_steps, undecided_steps
from mechlib.bench.way_out import Way, long_run, obstacle_name, right_arcs, way_out
from mechlib.bench.where import Where, telling
from mechlib.errors import MechError, check_number
from mechlib.say import count, listing, say
from mechlib.transports.arcs import TINY, holding
from mechlib.transports.mode_change import standing_start
from mechlib.transports.model import SENSE, Transport

BESIDE_DEG = 1e-6  # of the edge of an arc
TOLD = 3  # of things worth a look, in the sentence


@dataclass(frozen=True, eq=False)
class StuckTape:
    """How the tape is got out by hand: ``steps`` in order, along ``way``.

    ``where``: what is known of where the cam stands, None if that was given; the way is then from
    the furthest possible place, and ``at_least_deg`` from the nearest.  ``look_at``: what to look at
    first, where the sense of turning is not decided yet; ``way`` is None then.
    """

    transport: Transport
    target: str
    way: Way | None
    where: Where | None
    at_least_deg: float
    look_at: tuple[str, ...]
    steps: tuple[Step, ...]

    @property
    def slack_mm(self) -> float:
        """Tape that comes loose on the way, as far as the file says."""
        moves = self.way.moves if self.way else ()
        return sum(move.free_mm for move in moves if move.free_mm and move.free_mm > 0)

    def sentence(self) -> str:
        """Where it stands, if that was worked out; then which way to turn, how far, and what stops it."""
        found = [self.where.sentence()] if self.where else []
        return " ".join([*found, self.turning()])

    def turning(self) -> str:
        """Which way to turn, how far, and what stops it."""
        if self.way is None:
            look = (
                listing(f"the {name}" for name in self.look_at[:TOLD])
                if self.look_at
                else "one more lever or contact"
            )
            return f"Which way to turn for {self.target} is not decided: look at {look} first."
        if self.way.aim_deg is None:
            return f"Turning can't bring {self.transport.name} to {self.target}: a part must be lifted first."
        if self.way.turn_deg <= TINY and not self.way.blocked:
            return f"{self.transport.name} stands where {self.target} does: nothing is to be turned."
        if self.way.blocked and self.way.turn_deg < SHOWN_DEG:
            jammed = self._jammed()
            told = f"{jammed}: ease that first; then " if jammed else "Don't turn: "
            return f"{told}{self.way.blocked.name} bars the way to {self.target} at once."
        turn = f"urn {self._turns()} in the {self.way.sense} sense"
        told = f"{self._jammed()}: ease that first, then t{turn}" if self.way.wedged else f"T{turn}"
        if self.way.blocked:
            at = say(self.way.blocked.theta_deg, "°")
            return f"{told}, and no further: at {at} {self.way.blocked.name} bars the way."
        slack = f"; {say(self.slack_mm, 'mm', 0)} of tape comes loose on it" if self.slack_mm else ""
        return f"{told}, to {self.target}: {count(len(self.way.moves), 'lever move')}{slack}."

    def _turns(self) -> str:
        way, far = self.way, self.way.shaft_deg(self.way.stop_deg)
        turns = amount(self.transport, far)
        unsure = way.turn_deg - self.at_least_deg
        if unsure <= TINY:
            return turns
        least = far - way.shaft_deg(way.start_deg + SENSE[way.sense] * unsure)
        return f"{amount(self.transport, least).partition(' ')[0]} to {turns}"

    def _jammed(self) -> str:
        if not self.way.wedged:
            return ""
        jammed = listing(obstacle_name(obstacle) for obstacle, _ in self.way.wedged)
        return f"It {'may stand' if self.where else 'stands'} jammed in {jammed}"

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
    round), or what ``where_it_stands`` found; then the way is given from the furthest place possible.
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
    starts = _starts(transport, standing, target)
    ways = [way_out(transport, theta, target) for theta in starts]
    moving = [way for way in ways if way.turn_deg > TINY or way.blocked]
    senses = {way.sense for way in moving}
    if len(senses) > 1:
        look = _look_at(transport, where, moving)
        steps = (*opening_steps(transport, None, where), *undecided_steps(target, look))
        return StuckTape(transport, target, None, where, 0.0, look, steps)
    way = max(ways, key=lambda one: one.turn_deg)
    least = min(one.turn_deg for one in ways)
    steps = (*opening_steps(transport, way, where), *turning_steps(way, way.turn_deg - least))
    return StuckTape(transport, target, way, where, least, (), steps)


def _starts(transport: Transport, standing, target: str) -> tuple[float, ...]:
    """Theta where it stands; of arcs both ends, and what of them lies just beside the places aimed at."""
    if isinstance(standing, Where):
        if standing.transport != transport:
            raise MechError(f"it was worked out for {standing.transport.name}", "give one of this transport")
        ends = [end for arc in standing.arcs for end in arc]
        for sense in transport.senses:
            for low, high in right_arcs(long_run(transport, sense), target):
                ends += [theta for theta in (low - BESIDE_DEG, high + BESIDE_DEG) if _among(standing, theta)]
        return tuple(sorted(set(ends)))
    if not isinstance(standing, str):
        return (check_number("standing", standing, *transport.ends, "°", "or give the name of a mode"),)
    transport.mode(standing)
    for sense in SENSE:
        if stand := standing_start(transport, standing, sense):
            return (stand.theta,)
    raise MechError(
        f"{standing} cannot be reached by {transport.name} as it is", "give the angle of the main cam instead"
    )


def _among(where: Where, theta: float) -> bool:
    """Whether an angle, within the travel, is a place on which it can stand."""
    low, high = where.transport.ends
    return low <= theta <= high and holding(where.arcs, theta) is not None


def _look_at(transport: Transport, where: Where, ways: list[Way]) -> tuple[str, ...]:
    """What not yet seen looks different on the two sides of the target."""
    sides = {}
    for way in ways:
        arc = holding(where.arcs, way.start_deg)
        sides.setdefault(way.sense, []).append(arc)
    first, second = (tuple(sorted(set(arcs))) for arcs in sides.values())
    seen = {sight.name for sight in where.sights}
    return tuple(name for name in telling(transport, first, second) if name not in seen)
