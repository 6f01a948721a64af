"""Follow the power through one planetary set: what moves and why, what a hold bears, the other states."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isinf

from mechlib.errors import MechError
from mechlib.gears.exact import sign
from mechlib.gears.planetary import Driven, Held, Locked, PlanetarySet, Speeds, speeds
from mechlib.gears.planetary_torque import torques
from mechlib.gears.power import Load, PowerSplit, State, Way, split, state_table, states
from mechlib.say import columns, listing, say


@dataclass(frozen=True)
class PowerPath:
    """The way of the power through ``one`` set, with ``held`` held or, if None, as the loads decide.

    ``moving``: the output whose motion ``speeds`` shows; where both are equally ready, the first of them.
    ``input_Nmm``: torque that the set takes from what is driven; ``hold_Nmm``: torque on what is held, or on
    the output that stands by its own load.  ``free``: what the two loads decide between if nothing is held
    and the first wheel is driven.
    """

    one: PlanetarySet
    driven: Driven
    loads: Mapping[str, Load]
    held: str | None
    moving: str
    speeds: Speeds
    input_Nmm: float
    hold_Nmm: float
    free: PowerSplit

    def sentence(self) -> str:
        """What moves and why, for which torque, and what the hold must bear."""
        turned = say(float(self.speeds[self.moving]), "rev/min", 2, sign=True)
        if self.held is None:
            text = self.free.sentence()
            text = text[:1].upper() + text[1:]
            tied = self.free.way is None and not self.free.as_block
            return f"{text} Here {self.moving} does, at {turned}." if tied else text
        sense = sign(self.speeds[self.moving])
        load = say(self.loads[self.moving].needed_Nmm(sense), "N·mm")
        text = f"With {self.held} held the power can only go to {self.moving}: it moves at {turned} against "
        text += f"{load}, for {say(self.input_Nmm, 'N·mm')} at {self.driven.member}"
        if self.driven.member in self.loads:
            text += f", the load of {self.driven.member} itself not counted"
        return f"{text}; the hold on {self.held} bears {say(self.hold_Nmm, 'N·mm')}."

    @property
    def rows(self) -> tuple[State, ...]:
        """Each state of the set: one member held, all locked together, nothing held."""
        first, carrier, second = self.one.members
        at_first, at_second = (Driven(member, self.driven.rev_min) for member in (first, second))
        return (
            State(f"{second} held", at_first, carrier, (second,)),
            State(f"{carrier} held", at_first, second, (carrier,)),
            State(f"{first} held", at_second, carrier, (first,)),
            State("locked", at_first, carrier, (), ((first, carrier),)),
            State("nothing held", at_first, carrier),
        )

    def table(self) -> str:
        """All states for the same torque at the input, and both ways between which the loads decide."""
        found = states(self.one, self.rows, self.input_Nmm)
        head = f"Each state, with {say(self.input_Nmm, 'N·mm')} at what is driven:"
        below = f"Nothing held, {self.free.input} driven: the loads decide (N·mm):"
        names = ("moves", "stands", f"asks of {self.free.input}", "other bears", "other can bear",
                 "changes over at", "happens")  # fmt: skip
        ways = columns(names, map(_cells, self.free.ways), left=2)
        return "\n".join((head, state_table(found), "", below, ways))


def _cells(way: Way) -> tuple[str, ...]:
    """A row of the table of ways."""
    over = "never" if isinf(way.change_over_Nmm) else say(way.change_over_Nmm)
    torques = (say(torque) for torque in (way.input_Nmm, way.bears_Nmm, way.hold_Nmm))
    return (way.moving, way.standing, *torques, over, "yes" if way.stays else "no")


def follow(
    one: PlanetarySet, rev_min: float, loads: Mapping[str, Load], held: str | None = None
) -> PowerPath:
    """Follow the power from the driven member of a set to the output that moves.

    The first wheel is driven, or the second if the first is held.  With a member held the only output left
    turns against its load, and Σ T = 0 gives what the hold bears; with none held the output moves whose load
    the input overcomes with less torque (see ``split``).  ``one``: any set; ``rev_min``: speed of the driven
    member, signed, not 0; ``loads``: on the carrier and the second wheel; the load of one that is itself held
    or driven doesn't count; ``held``: a member or None.  Returns PowerPath.  Raises MechError for other
    members, if the input stands, and where ``split`` or ``torques`` do.

    >>> from mechlib.gears.planetary import simple_set
    >>> one, loads = simple_set(16, 16, 48), {"ring": Load(60), "carrier": Load(120)}
    >>> print(follow(one, 120, loads, "ring").sentence())
    With ring held the power can only go to carrier: it moves at +30.00 rev/min against 120.0 N·mm, for 30.0 \
N·mm at sun; the hold on ring bears 90.0 N·mm.
    """
    first, carrier, second = one.members
    if set(loads) != {carrier, second}:
        raise MechError(f"the loaded members are {listing(loads)}", f"they must be {carrier} and {second}")
    if held not in (None, *one.members):
        raise MechError(f"there is no {held!r} to hold", f"the members are {listing(one.members)}")
    driven = Driven(second if held == first else first, rev_min)
    if not driven.rev_min:
        raise MechError(f"{driven.member} stands still", "the input must turn")
    free = split(one, Driven(first, rev_min), loads)
    if held is None:
        return PowerPath(one, driven, loads, None, *_undisturbed(one, driven, free), free)
    moving = next(member for member in one.members if member not in (held, driven.member))
    conditions = (driven, Held(held))
    sense = sign(speeds(one, conditions)[moving])
    flow = torques(one, conditions, {moving: -sense * loads[moving].needed_Nmm(sense)})
    bears = abs(flow[driven.member]), abs(flow[held])
    return PowerPath(one, driven, loads, held, moving, flow.speeds, *bears, free)


def _undisturbed(one: PlanetarySet, driven: Driven, free: PowerSplit) -> tuple[str, Speeds, float, float]:
    """What moves, all speeds, the torque at the input and that on the standing output if nothing is held."""
    moving = free.turning[0]
    if free.as_block:
        turned = speeds(one, (driven, Locked(driven.member, moving)))
        return moving, turned, free.input_Nmm, 0.0
    way = next(way for way in free.ways if way.moving == moving)
    return moving, way.flow.speeds, way.input_Nmm, way.bears_Nmm
