"""Which way the power goes: one input with two outputs, and the states of a set with holds and clutches.

A planetary set with two outputs divides torque in a fixed proportion and leaves the motion open: the output
whose load asks for less of the input turns, the other stands.  What keeps it (a detent, a brake, friction)
must bear the torque that the set puts on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import copysign, inf, isinf

from mechlib.errors import MechError, check_number
from mechlib.gears.exact import sign
from mechlib.gears.planetary import (
    Condition,
    Driven,
    Held,
    Locked,
    PlanetarySet,
    Undetermined,
    as_conditions,
    as_sets,
    speeds,
)
from mechlib.gears.planetary_torque import SelfLocking, Torques, torques
from mechlib.say import columns, listing, say

MOST_NMM = 1e7
TIE = 1e-9  # relative: loads closer to the change-over than this are on it


@dataclass(frozen=True)
class Load:
    """What an output must be turned against, in N·mm, each 0 to 1e7 but the spring.

    ``friction_Nmm`` resists either way; ``detent_Nmm`` comes on top until the output has left its seat;
    ``spring_Nmm`` (−1e7 to 1e7) pulls in the + sense if it is +.  Raises MechError out of range, or if the
    spring alone would move the output.
    """

    friction_Nmm: float = 0.0
    detent_Nmm: float = 0.0
    spring_Nmm: float = 0.0

    def __post_init__(self):
        check_number("friction_Nmm", self.friction_Nmm, 0, MOST_NMM, "N·mm")
        check_number("detent_Nmm", self.detent_Nmm, 0, MOST_NMM, "N·mm")
        check_number("spring_Nmm", self.spring_Nmm, -MOST_NMM, MOST_NMM, "N·mm")
        if abs(self.spring_Nmm) > self.friction_Nmm + self.detent_Nmm:
            problem = "it must be no more than friction and detent together, else the output runs by itself"
            raise MechError(f"spring_Nmm is {self.spring_Nmm:g} N·mm", problem)

    def needed_Nmm(self, sense: int) -> float:
        """Torque that moves the output in the + (1) or − (−1) sense.

        >>> Load(friction_Nmm=20, detent_Nmm=30, spring_Nmm=15).needed_Nmm(-1)
        65
        """
        return self.friction_Nmm + self.detent_Nmm - sense * self.spring_Nmm


@dataclass(frozen=True)
class Way:
    """What happens if one output moves and the other stands: the input's torque, and what the other bears.

    ``load_Nmm``: what the moving output is turned against; ``bears_Nmm``: torque on the standing one, which
    its own load keeps still up to ``hold_Nmm``; ``change_over_Nmm``: the load on the moving output at which
    the standing one gives way instead (infinite if the set puts no torque on that).
    """

    moving: str
    standing: str
    input_Nmm: float
    load_Nmm: float
    bears_Nmm: float
    hold_Nmm: float
    change_over_Nmm: float
    flow: Torques

    @property
    def stays(self) -> bool:
        """Whether the standing output stays where it is."""
        return self.bears_Nmm <= self.hold_Nmm * (1 + TIE)


@dataclass(frozen=True)
class PowerSplit:
    """Which of two outputs moves: ``turning`` names it; it names both at the change-over and ``as_block``.

    ``ways``: what each output would do if it moved alone, without those that can't be moved at all.
    ``as_block``: the friction of the teeth locks the set, and all turns together.  ``input_Nmm``: torque that
    the input needs.
    """

    input: str
    turning: tuple[str, ...]
    as_block: bool
    input_Nmm: float
    ways: tuple[Way, ...]

    @property
    def way(self) -> Way | None:
        """The way that the power takes, if it is a single one."""
        return next((way for way in self.ways if self.turning == (way.moving,)), None)

    def sentence(self) -> str:
        """Which output moves, how fast, what the other's hold bears, and when the power would change over."""
        torque = f"{say(self.input_Nmm, 'N·mm')} at {self.input}"
        if self.as_block:
            return f"All turns as one block for {torque}: the friction of the teeth locks the set."
        way = self.way
        if way is None:
            return (
                f"{listing(self.turning)} are equally ready to move, for {torque}: this is the change-over."
            )
        turned = say(float(way.flow.speeds[way.moving]), "rev/min", 2, sign=True)
        text = f"{way.moving} moves at {turned} for {torque}; {way.standing} stands and bears "
        text += f"{say(way.bears_Nmm, 'N·mm')} of the {say(way.hold_Nmm, 'N·mm')} that it can"
        if not isinf(way.change_over_Nmm):
            text += f"; the power changes over when {way.moving} asks for {say(way.change_over_Nmm, 'N·mm')}"
        return text[:1].upper() + text[1:] + "."


def split(
    sets: PlanetarySet | Iterable[PlanetarySet],
    driven: Driven,
    loads: Mapping[str, Load],
    others: Iterable[Condition] = (),
) -> PowerSplit:
    """Which of two loaded outputs a driven set moves.

    For each output in turn, the torques are found with its load on it and the other output held: that happens
    if the other's own load can bear what its hold bears then.  Without losses it is the output whose load
    needs less torque at the input.  With losses a set with 0 < i0 may find that neither load can keep its
    output still: then the friction of the teeth locks it.  ``driven``: the input and its speed, not 0;
    ``loads``: the two outputs, detents included while they sit; ``others``: conditions for further members.
    Returns PowerSplit.  Raises MechError if the input stands, without two outputs that it can turn, or where
    ``torques`` does.

    >>> from mechlib.gears.planetary import simple_set
    >>> loads = {"ring": Load(friction_Nmm=60), "carrier": Load(friction_Nmm=40, detent_Nmm=80)}
    >>> found = split(simple_set(16, 16, 48), Driven("sun", 120), loads)
    >>> found.turning, found.way.bears_Nmm, found.way.change_over_Nmm
    (('ring',), 80.0, 90.0)
    """
    sets, others = as_sets(sets), as_conditions(others)
    if not isinstance(driven, Driven):
        raise MechError(f"driven is {driven!r}", 'write the input and its speed as in Driven("sun", 120)')
    if len(loads) != 2 or driven.member in loads:
        raise MechError(f"the loaded outputs are {listing(loads)}", "two are needed, and not the input")
    if not driven.rev_min:
        raise MechError(f"{driven.member} stands still", "the input must turn")
    first, second = loads
    pairs = ((first, second), (second, first))
    ways = tuple(way for pair in pairs if (way := _way(sets, driven, others, loads, *pair)))
    if staying := [way for way in ways if way.stays]:
        turning = tuple(way.moving for way in staying)
        return PowerSplit(driven.member, turning, False, staying[0].input_Nmm, ways)
    if len(sets) > 1 or others or not ways:
        problem = "give the train less loss, or turn it from another member"
        raise SelfLocking("the friction of the teeth locks the train between its two outputs", problem)
    together = sum(load.needed_Nmm(sign(driven.rev_min)) for load in loads.values())
    return PowerSplit(driven.member, tuple(loads), True, together, ways)


def _way(sets, driven: Driven, others, loads: Mapping[str, Load], moving: str, standing: str) -> Way | None:
    """The way with one output moving and the other held, or None if the input can't move it so."""
    conditions = (driven, Held(standing), *others)
    sense = sign(speeds(sets, conditions)[moving])
    if not sense:
        raise MechError(f"{moving} stands even with {standing} held", "name outputs that the input can turn")
    try:  # 1 N·mm against the motion; all grows with the load
        one = torques(sets, conditions, {moving: -sense})
    except SelfLocking:
        return None
    load = loads[moving].needed_Nmm(sense)
    hold = loads[standing].needed_Nmm(-sign(one[standing]))
    flow = torques(sets, conditions, {moving: -sense * load})
    change_over = hold / abs(one[standing]) if one[standing] else inf
    bears, needs = abs(flow[standing]), abs(flow[driven.member])
    return Way(moving, standing, needs, load, bears, hold, change_over, flow)


@dataclass(frozen=True)
class State:
    """A row of a table of states: what is driven, held and ``engaged`` (locked in pairs), and the output."""

    name: str
    driven: Driven
    output: str
    held: tuple[str, ...] = ()
    engaged: tuple[tuple[str, str], ...] = ()

    @property
    def conditions(self) -> tuple[Condition, ...]:
        """The same, as ``speeds`` wants it."""
        return (self.driven, *map(Held, self.held), *(Locked(*pair) for pair in self.engaged))


@dataclass(frozen=True)
class StateFound:
    """What a state does: speed of the output (rev/min, None if free), torque that it gives, what holds bear.

    ``note`` is "free", "stands" or "locks itself" where no power comes out.
    """

    state: State
    rev_min: Fraction | None
    output_Nmm: float
    holds_Nmm: Mapping[str, float]
    note: str = ""

    def sentence(self) -> str:
        """Which way the output turns, how fast, with what torque."""
        text, output = f"{self.state.name}: {self.state.output}", say(self.output_Nmm, "N·mm")
        if self.note:
            return f"{text} {'is free' if self.note == 'free' else self.note}."
        text += f" turns at {say(float(self.rev_min), 'rev/min', 2, sign=True)} with {output}"
        holds = [f"{member} bears {say(torque, 'N·mm')}" for member, torque in self.holds_Nmm.items()]
        return text + (f"; the hold on {listing(holds)}." if holds else ".")


def states(
    sets: PlanetarySet | Iterable[PlanetarySet], rows: Iterable[State], input_Nmm: float
) -> tuple[StateFound, ...]:
    """What each state does when its input is driven with ``input_Nmm`` (0 to 1e7) in the sense of its motion.

    A state that leaves its output's speed open is free: nothing holds.  Raises MechError for a state whose
    conditions conflict, or which holds its input.

    >>> from mechlib.gears.planetary import simple_set
    >>> low = State("low", Driven("sun", 100), "carrier", held=("ring",))
    >>> states(simple_set(16, 16, 48), [low], 10)[0].sentence()
    'low: carrier turns at +25.00 rev/min with 40.0 N·mm; the hold on ring bears 30.0 N·mm.'
    """
    torque = check_number("input_Nmm", input_Nmm, 0, MOST_NMM, "N·mm")
    return tuple(_state(as_sets(sets), row, torque) for row in rows)


def _state(sets, row: State, torque: float) -> StateFound:
    if not row.driven.rev_min:
        raise MechError(f"{row.driven.member} stands still in the state {row.name}", "the input must turn")
    try:
        turned = speeds(sets, row.conditions)[row.output]
    except Undetermined as error:
        if row.output in error.members:
            return StateFound(row, None, 0.0, {}, "free")
        raise
    if not turned:
        return StateFound(row, turned, 0.0, {}, "stands")
    given = {row.driven.member: copysign(torque, row.driven.rev_min)}
    try:
        flow = torques(sets, row.conditions, given, [row.output])
    except SelfLocking:
        return StateFound(row, Fraction(0), 0.0, {}, "locks itself")
    holds = {member: abs(flow[member]) for member in row.held}
    return StateFound(row, turned, abs(flow[row.output]), holds)


def state_table(found: Iterable[StateFound]) -> str:
    """The states as aligned text: state, held, engaged, driven, output, speed, torque, what the holds bear.

    >>> from mechlib.gears.planetary import simple_set
    >>> row = State("low", Driven("sun", 100), "carrier", held=("ring",))
    >>> print(state_table(states(simple_set(16, 16, 48), [row], 10)))
    state  held  engaged  driven  output   rev/min  N·mm  hold bears
    low    ring  none     sun     carrier   +25.00  40.0        30.0
    """
    lines = []
    for one in found:
        engaged = listing(f"{first} to {second}" for first, second in one.state.engaged)
        turned = one.note or say(float(one.rev_min), "", 2, sign=True)
        torque = "" if one.note else say(one.output_Nmm, "")
        holds = " ".join(say(torque, "") for torque in one.holds_Nmm.values())
        names = (one.state.name, listing(one.state.held), engaged, one.state.driven.member, one.state.output)
        lines.append((*names, turned, torque, holds))
    header = ("state", "held", "engaged", "driven", "output", "rev/min", "N·mm", "hold bears")
    return columns(header, lines, left=5)
