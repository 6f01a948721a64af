"""Planetary sets under load: torques on all members and holds, efficiency, and power that goes in circles.

Each set has one unknown, the torque t on its first central wheel.  By the basic-efficiency method the others
follow from it: T_second = −i0·η0^w·t and T_carrier = −(t + T_second), with η0 the efficiency with the carrier
held and w the sign of t·(n_first − n_carrier), +1 where the teeth carry power from the first wheel to the
second.  w depends on the torques and they on it: a choice of signs is right when it brings itself out again.
Only motion about the carrier rubs teeth, so a set that turns as a block loses nothing.
Sources: Merritt, Gear Trains (Pitman, 1947), and Müller, Epicyclic Drive Trains (Wayne State, 1982), for the
method, both from memory.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import product
from math import pi

from mechlib.errors import MechError
from mechlib.gears.exact import ONE, Contradiction, exact, sign, solve
from mechlib.gears.planetary import (
    FRAME,
    Condition,
    Driven,
    Held,
    Locked,
    PlanetarySet,
    Speeds,
    as_conditions,
    as_sets,
    speeds,
)
from mechlib.say import listing, say

WATTS = pi / 30 / 1000  # W for 1 N·mm at 1 rev/min


class SelfLocking(MechError):
    """No power comes out where it should, however hard the input is turned."""


class Unbalanced(MechError):
    """The torques given are too few or too many for a balance."""


@dataclass(frozen=True)
class Branch:
    """One member of one set: the torque on it from outside this set, and the power that comes in by it."""

    set: str
    member: str
    torque_Nmm: float
    power_W: float


@dataclass(frozen=True)
class Torques:
    """Torques in N·mm and powers in W of sets in motion; + torque turns in the + sense, + power comes in.

    ``outside``: what motors, loads and holds put on members, ``powers_W``: the power that they bring in.
    ``members``: what the sets of each member take up together; it differs from ``outside`` by what passes
    ``locks``: the torque that the first member of each Locked gives to its second.  ``branches``: one for
    each member of each set.  ``tooth_power_W``: power that goes into the teeth of each set, as seen from its
    carrier; ``loss_W``: Σ (1 − η0)·tooth power; ``signs``: w of each set, 0 where its teeth carry nothing.
    """

    speeds: Speeds
    holds: tuple[str, ...]
    outside: Mapping[str, float]
    members: Mapping[str, float]
    locks: Mapping[Locked, float]
    powers_W: Mapping[str, float]
    branches: tuple[Branch, ...]
    tooth_power_W: Mapping[str, float]
    signs: Mapping[str, int]
    loss_W: float

    def __getitem__(self, member: str) -> float:
        """Torque on a member from motor, load or hold; 0 where nothing of the kind acts."""
        if member not in self.members and member not in self.outside:
            raise MechError(f"there is no member {member!r}", f"the members are {listing(self.members)}")
        return self.outside.get(member, 0.0)

    @property
    def balance_W(self) -> float:
        """All powers that come in, less the loss: 0 but for rounding."""
        return sum(self.powers_W.values()) - self.loss_W

    def sentence(self) -> str:
        """Who drives, who is driven, what the holds bear, what is lost."""
        words = []
        for member, torque in self.outside.items():
            power, amount = self.powers_W[member], say(abs(torque), "N·mm")
            if member == FRAME or member in self.holds:
                words.append(f"{'the frame' if member == FRAME else f'the hold on {member}'} bears {amount}")
            elif torque:
                verb = "takes in" if power > 0 else "gives" if power < 0 else "bears"
                words.append(f"{member} {verb} {amount} ({say(abs(power), 'W', 3)})")
        words += [f"{lock} passes {say(abs(torque), 'N·mm')}" for lock, torque in self.locks.items()]
        text = "; ".join([*words, f"lost {say(self.loss_W, 'W', 3)}"])
        return text[:1].upper() + text[1:] + "."


@dataclass(frozen=True)
class Efficiency:
    """How much of the power put in at ``input`` comes out at ``output``, with the flow for 1 W put in.

    ``efficiency`` is 0 and ``flow`` None where the set locks itself.
    """

    input: str
    output: str
    efficiency: float
    ratio: Fraction
    flow: Torques | None

    @property
    def self_locking(self) -> bool:
        """Whether no power comes out."""
        return self.flow is None

    @property
    def circulation(self) -> float:
        """The largest power in any branch over the power put in; above 1, power goes in circles."""
        return max(abs(branch.power_W) for branch in self.flow.branches) if self.flow else 0.0

    @property
    def tooth_power(self) -> float:
        """The power that all teeth carry, as seen from their carriers, over the power put in."""
        return sum(self.flow.tooth_power_W.values()) if self.flow else 0.0

    def sentence(self) -> str:
        """Efficiency in per cent, and whether power goes in circles or the set locks itself."""
        way = f"From {self.input} to {self.output}"
        if self.self_locking:
            return f"{way} no power comes through: turned from there, the set locks itself."
        text = f"{way} {say(100 * self.efficiency, '%')} of the power comes through; the teeth carry "
        text += f"{say(self.tooth_power, '', 2)} times what is put in"
        if self.circulation > 1 + 1e-9:
            text += f", and power goes in circles, up to {say(self.circulation, '', 2)} times"
        return text + "."


def torques(
    sets: PlanetarySet | Iterable[PlanetarySet],
    conditions: Iterable[Condition],
    given: Mapping[str, float],
    asked: Collection[str] = (),
) -> Torques:
    """Torques on all members of sets that move as ``conditions`` say, and the power through every branch.

    ``given``: known torques in N·mm from outside, signed: a load on a member that turns + is negative.
    ``asked``: members that turn under a torque yet to be found (an output, if the input's torque is given).
    Members held, and driven ones without a given torque, are always asked; nothing else acts from outside.
    Solves T_second = −i0·η0^w·T_first and T_first + T_second + T_carrier = 0 for all sets at once, with signs
    w that agree with the power flow.  An asked member that isn't driven must take power out: if several flows
    agree, that decides.  Returns Torques.  Raises SelfLocking (a MechError) if no flow agrees, MechError if
    the torques given are too few or too many; and what ``speeds`` raises.

    >>> from mechlib.gears.planetary import simple_set
    >>> one = simple_set(16, 16, 48, mesh_efficiency=0.99)
    >>> found = torques(one, [Driven("sun", 100), Held("ring")], {"sun": 10}, asked=["carrier"])
    >>> [round(found[member], 3) for member in ("sun", "carrier", "ring")]
    [10.0, -39.403, 29.403]
    """
    sets, conditions = as_sets(sets), as_conditions(conditions)
    turned = speeds(sets, conditions)
    driven = {c.member for c in conditions if isinstance(c, Driven)}
    outputs = [member for member in asked if member not in driven]
    return _torques(sets, conditions, turned, given, {*asked, *driven} - set(given), outputs)


def efficiency(
    sets: PlanetarySet | Iterable[PlanetarySet], conditions: Iterable[Condition], input: str, output: str
) -> Efficiency:
    """Efficiency from one input to one output, by the basic-efficiency method: η = −P_output/P_input.

    ``conditions``: as for ``speeds``; only ``input`` and ``output`` turn against a torque, all other members
    are held, locked or free.  Power that goes in circles is counted.  Returns Efficiency; raises MechError if
    input or output stands still, and what ``torques`` raises except for self-locking, a result here.

    >>> from mechlib.gears.planetary import simple_set
    >>> one = simple_set(16, 16, 48, mesh_efficiency=0.99)
    >>> efficiency(one, [Driven("sun", 100), Held("ring")], "sun", "carrier").sentence()
    'From sun to carrier 98.5% of the power comes through; the teeth carry 0.75 times what is put in.'
    """
    sets, conditions = as_sets(sets), as_conditions(conditions)
    turned = speeds(sets, conditions)
    if input == output:
        raise MechError(f"{input} is input and output", "they must be two members")
    for member in (input, output):
        if not turned[member]:
            raise MechError(f"{member} stands still", "input and output must both turn")
    driven = [c.member for c in conditions if isinstance(c, Driven) and c.rev_min]
    if others := [member for member in driven if member not in (input, output)]:
        raise MechError(f"{listing(others)} driven as well", "with two inputs use torques()")
    ratio = turned[output] / turned[input]
    try:
        given = {input: 1 / (WATTS * float(turned[input]))}
        flow = _torques(sets, conditions, turned, given, {output}, [output])
    except SelfLocking:
        return Efficiency(input, output, 0.0, ratio, None)
    through = -flow.powers_W[output]  # of 1 W
    return Efficiency(input, output, through, ratio, flow if through else None)


def _torques(sets, conditions, turned: Speeds, given, asked: set[str], outputs) -> Torques:
    for member in (*given, *asked):
        turned[member]  # raises for a member that isn't there
    known = {member: exact(f"torque on {member}", torque) for member, torque in given.items()}
    for signs, firsts, outside in _flows(sets, conditions, turned, known, asked):
        if all(outside[member] * turned[member] <= 0 for member in outputs):
            return _result(sets, conditions, turned, signs, firsts, outside)
    problem = "no power flow agrees with these speeds and loads"
    raise SelfLocking(problem, "the set locks itself; turn it from another member or take a lower ratio")


def _flows(sets, conditions, turned: Speeds, known, asked) -> Iterator[tuple[tuple, tuple, dict]]:
    """Yield signs, torques on the first wheels and torques from outside for each flow that brings itself out.

    The signs that come out when all teeth carry power from first to second wheel are tried first, then those
    ever less like them.
    """
    about = [turned[one.first.member] - turned[one.carrier] for one in sets]
    moving = [number for number, turns in enumerate(about) if turns]

    @cache
    def flow(signs):
        try:
            firsts, outside = _balance(sets, conditions, signs, known, asked)
        except Unbalanced as error:
            return error
        return tuple(sign(t * n) for t, n in zip(firsts, about, strict=True)), firsts, outside

    start = flow(tuple(int(number in moving) for number in range(len(sets))))
    balanced = False
    for signs in _choices(len(sets), moving, () if isinstance(start, Unbalanced) else start[0]):
        found = flow(signs)
        if not isinstance(found, Unbalanced):
            balanced = True
            if all(found[0][number] in (signs[number], 0) for number in moving):
                yield found
    if not balanced:
        raise found


def _choices(number: int, moving: list[int], start: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Every choice of signs for the sets that move about their carriers, those most like ``start`` first."""
    for changes in sorted(product((1, -1), repeat=len(moving)), key=lambda some: some.count(-1)):
        signs = [0] * number
        for place, change in zip(moving, changes, strict=True):
            signs[place] = -change if start and start[place] < 0 else change
        yield tuple(signs)


def _balance(sets, conditions, signs, known, asked) -> tuple[tuple[Fraction, ...], dict[str, Fraction]]:
    """Solve the balance of torques for given signs: torques on the first wheels, torques from outside."""
    piece_of = _pieces(sets, conditions)
    held = {FRAME, *(c.member for c in conditions if isinstance(c, Held))}
    sums = {piece: {} for piece in dict.fromkeys(piece_of.values())}
    for number, one in enumerate(sets):
        for member, share in _shares(one, signs[number]).items():
            row = sums[piece_of[member]]
            row[number] = row.get(number, 0) + share
    for member, torque in known.items():
        row = sums[piece_of[member]]
        row[ONE] = row.get(ONE, 0) - torque
    sought = [member for member in piece_of if member in held or member in asked]
    for member in sought:
        sums[piece_of[member]][member] = -1
    try:
        found = solve(sums.values())
    except Contradiction:
        problem = "the torques given can't balance"
        raise Unbalanced(problem, "ask for one torque more, or give one less") from None
    unknown = {number: one.name for number, one in enumerate(sets)} | {member: member for member in sought}
    if unsettled := [name for key, name in unknown.items() if set(found.get(key, (key,))) - {ONE}]:
        problem = "give one torque more, or leave out a hold, a lock or an asked torque"
        raise Unbalanced(f"the torques in {listing(dict.fromkeys(unsettled))} are open", problem)
    outside = {member: found[member].get(ONE, 0) for member in sought}
    return tuple(found[number].get(ONE, 0) for number in range(len(sets))), known | outside


def _pieces(sets, conditions) -> dict[str, str]:
    """Each member with the name of the piece that it is part of: members locked together are one."""
    piece_of = {FRAME: FRAME} | {member: member for one in sets for member in one.members}
    for condition in conditions:
        if isinstance(condition, Locked):
            old, new = piece_of[condition.first], piece_of[condition.second]
            piece_of = {member: new if piece == old else piece for member, piece in piece_of.items()}
    return piece_of


def _shares(one: PlanetarySet, way: int) -> dict[str, Fraction]:
    """Torques on the members of a set for 1 on its first wheel."""
    second = -one.basic_ratio * one.basic_efficiency**way
    return {one.first.member: Fraction(1), one.carrier: -(1 + second), one.second.member: second}


def _result(sets, conditions, turned: Speeds, signs, firsts, outside) -> Torques:
    branches, members, teeth, loss = [], dict.fromkeys(turned.members, Fraction(0)), {}, 0.0
    for one, way, first in zip(sets, signs, firsts, strict=True):
        for member, share in _shares(one, way).items():
            torque = share * first
            members[member] += torque
            power = float(torque * turned[member]) * WATTS
            branches.append(Branch(one.name, member, float(torque), power))
        at_first = abs(first * (turned[one.first.member] - turned[one.carrier]))
        goes_in = at_first / one.basic_efficiency if way == -1 else at_first
        teeth[one.name] = float(goes_in) * WATTS
        loss += float(goes_in * (1 - one.basic_efficiency)) * WATTS
    outside = {m: torque for m, torque in outside.items() if torque or m in members}
    powers = {m: float(torque * turned.members.get(m, 0)) * WATTS for m, torque in outside.items()}
    passed = {m: members.get(m, 0) - outside.get(m, 0) for m in {FRAME, *members}}
    return Torques(
        turned,
        tuple(c.member for c in conditions if isinstance(c, Held)),
        {member: float(torque) for member, torque in outside.items()},
        {member: float(torque) for member, torque in members.items()},
        _locks([c for c in conditions if isinstance(c, Locked)], passed),
        powers,
        tuple(branches),
        teeth,
        dict(zip(teeth, signs, strict=True)),
        loss,
    )


def _locks(locks: list[Locked], passed: Mapping[str, Fraction]) -> dict[Locked, float]:
    """Torque from first to second member of each lock: all that members on the second's side get by locks."""
    found = {}
    for lock in locks:
        side = {lock.second}
        others = [other.members for other in locks if other is not lock]
        while more := {m for pair in others if side & set(pair) for m in pair} - side:
            side |= more
        if lock.first in side:
            raise MechError(f"{lock} twice over", "what each lock passes is open; leave one out")
        found[lock] = float(sum(passed[member] for member in side))
    return found
