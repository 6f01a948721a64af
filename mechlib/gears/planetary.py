"""Planetary sets, alone or coupled: exact speeds of all members and planets.

A set has two central wheels (suns or rings) and a carrier whose planets lead from the one to the other.
Members are known by name: two sets that name the same member share it.  With speeds taken about the carrier
every set is an ordinary train (Willis, Principles of Mechanism, 1841), hence
(n_first − n_carrier)/(n_second − n_carrier) = i0, the basic ratio, which the tooth counts give.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.exact import ONE, Contradiction, exact, solve
from mechlib.say import count, listing, say

LEAST_TEETH, MOST_TEETH = 4, 2000
LEAST_EFFICIENCY = 0.5
FRAME = "frame"  # the member that always stands
SUN_TO_RING = ("sun", "carrier", "ring")


class Undetermined(MechError):
    """Speeds that the conditions leave open: ``missing`` more conditions would settle the ``members``."""

    def __init__(self, missing: int, members: tuple[str, ...]):
        self.missing, self.members = missing, members
        more = f"{count(missing, 'more condition')} {'is' if missing == 1 else 'are'} needed"
        what = "speed is" if len(members) == 1 else "speeds are"
        hint = "hold, drive or lock one of them" if missing == 1 else "hold, drive or lock some of them"
        super().__init__("the train is undetermined", f"{more}; open {what} {listing(members)}; {hint}")


class Overdetermined(MechError):
    """Conditions that can't hold together; with any one of ``conditions`` left out the others could."""

    def __init__(self, conditions: tuple[Condition, ...]):
        self.conditions = conditions
        super().__init__("these can't hold together", f"{listing(map(str, conditions))}; leave one out")


@dataclass(frozen=True)
class Central:
    """A central wheel, a sun or (``internal``) a ring; ``member`` is the part that it turns with."""

    member: str
    teeth: int
    internal: bool = False


@dataclass(frozen=True)
class PlanetarySet:
    """One set: ``first`` and ``second`` central wheel, ``carrier``, and planets from the one to the other.

    ``planets`` lists the wheels of one planet position on the way from the first wheel to the second, each as
    (teeth towards the first, teeth towards the second).  One with equal numbers makes a simple set, two make
    meshed pairs (double pinion), one with different numbers is a stepped planet, none is a plain gear pair.
    Teeth: 4 to 2000, a ring has more than its mate.  ``mesh_efficiency``: of each mesh with the carrier held,
    0.5 to 1.  Raises MechError otherwise.  Whether the wheels fit together is the business of ``assembly``.

    >>> simple_set(16, 16, 48).basic_ratio
    Fraction(-3, 1)
    """

    name: str
    first: Central
    carrier: str
    second: Central
    planets: tuple[tuple[int, int], ...] = ()
    mesh_efficiency: float = 1.0

    def __post_init__(self):
        if len(set(self.members) - {""}) < 3:
            problem = "first wheel, carrier and second wheel need three names; use Locked to join two"
            raise MechError(f"{self.name} has the members {listing(self.members)}", problem)
        check_number(f"mesh_efficiency of {self.name}", self.mesh_efficiency, LEAST_EFFICIENCY, 1)
        for place in ("first", "second"):
            wheel = getattr(self, place)
            teeth = _teeth(f"teeth of {wheel.member} in {self.name}", wheel.teeth)
            object.__setattr__(self, place, Central(wheel.member, teeth, wheel.internal))
        each = tuple(tuple(_teeth(f"planet teeth in {self.name}", z) for z in both) for both in self.planets)
        object.__setattr__(self, "planets", each)
        chain = self.planets or ((self.second.teeth, self.first.teeth),)  # without planets they are mates
        for wheel, mate in ((self.first, chain[0][0]), (self.second, chain[-1][1])):
            if wheel.internal and wheel.teeth <= mate:
                problem = f"a ring must have more teeth than the wheel inside it, which has {mate}"
                raise MechError(f"teeth of {wheel.member} in {self.name} is {wheel.teeth}", problem)
        if not self.planets and self.first.internal and self.second.internal:
            raise MechError(self.name, "two rings don't mesh; put a planet between them")

    @property
    def members(self) -> tuple[str, str, str]:
        """Names of first wheel, carrier and second wheel."""
        return self.first.member, self.carrier, self.second.member

    @cached_property
    def turns(self) -> tuple[Fraction, ...]:
        """Turns of each planet, and last of the second wheel, for one of the first, all about the carrier.

        External meshes reverse the sense, internal ones don't.

        >>> simple_set(16, 16, 48).turns
        (Fraction(-1, 1), Fraction(-1, 3))
        """
        found, turned, driver, internal = [], Fraction(1), self.first.teeth, self.first.internal
        for near, far in self.planets:
            turned *= Fraction(driver, near if internal else -near)
            found.append(turned)
            driver, internal = far, False
        last = self.second.teeth if internal or self.second.internal else -self.second.teeth
        return (*found, turned * Fraction(driver, last))

    @cached_property
    def basic_ratio(self) -> Fraction:
        """i0 = (n_first − n_carrier)/(n_second − n_carrier): −z_ring/z_sun in a simple set."""
        return 1 / self.turns[-1]

    @cached_property
    def basic_efficiency(self) -> Fraction:
        """η0, the efficiency with the carrier held: that of one mesh to the power of the number of meshes.

        >>> float(simple_set(16, 16, 48, mesh_efficiency=0.99).basic_efficiency)
        0.9801
        """
        return exact("mesh_efficiency", self.mesh_efficiency) ** (len(self.planets) + 1)

    def equation(self) -> dict[str, Fraction]:
        """n_first − i0·n_second + (i0 − 1)·n_carrier = 0, as factors by member, in whole numbers."""
        ratio = self.basic_ratio
        over, under = ratio.numerator, ratio.denominator
        return {self.first.member: under, self.second.member: -over, self.carrier: over - under}


def _teeth(name: str, teeth) -> int:
    return check_count(name, teeth, LEAST_TEETH, MOST_TEETH)


def simple_set(
    sun: int, planet: int, ring: int, members=SUN_TO_RING, name="set", mesh_efficiency=1.0
) -> PlanetarySet:
    """A sun, planets that each mesh with sun and ring, and a ring: i0 = −z_ring/z_sun.

    ``members``: names of sun, carrier and ring.  Other values and errors as in PlanetarySet.

    >>> speeds(simple_set(16, 16, 48), [Driven("sun", 1), Held("ring")])["carrier"]
    Fraction(1, 4)
    """
    first, carrier, second = members
    ends = Central(first, sun), carrier, Central(second, ring, internal=True)
    return PlanetarySet(name, *ends, ((planet, planet),), mesh_efficiency)


def double_pinion_set(
    sun: int, inner: int, outer: int, ring: int, members=SUN_TO_RING, name="set", mesh_efficiency=1.0
) -> PlanetarySet:
    """A set whose planets are meshed pairs, ``inner`` at the sun, ``outer`` at the ring: i0 = +z_ring/z_sun.

    >>> double_pinion_set(20, 15, 16, 70).basic_ratio
    Fraction(7, 2)
    """
    first, carrier, second = members
    ends = Central(first, sun), carrier, Central(second, ring, internal=True)
    return PlanetarySet(name, *ends, ((inner, inner), (outer, outer)), mesh_efficiency)


def stepped_set(
    first: int, near: int, far: int, second: int, members=SUN_TO_RING, name="set", mesh_efficiency=1.0,
    internal=(False, True),
) -> PlanetarySet:  # fmt: skip
    """A set whose planets have two rows of teeth, ``near`` at the first central wheel, ``far`` at the second.

    ``internal``: whether first and second central wheel are rings.  For a sun and a ring
    i0 = −(z_near·z_ring)/(z_sun·z_far).

    >>> stepped_set(20, 30, 15, 65).basic_ratio
    Fraction(-13, 2)
    """
    ends = Central(members[0], first, internal[0]), members[1], Central(members[2], second, internal[1])
    return PlanetarySet(name, *ends, ((near, far),), mesh_efficiency)


def gear_pair(
    driver: int, driven: int, members=("driver", "driven"), name="pair", mesh_efficiency=1.0, internal=False
) -> PlanetarySet:
    """Two wheels on fixed axes, to couple members of sets: a set with the frame for carrier and no planets.

    ``internal``: the second is a ring.

    >>> speeds(gear_pair(20, 40), [Driven("driver", 10)])["driven"]
    Fraction(-5, 1)
    """
    ends = Central(members[0], driver), FRAME, Central(members[1], driven, internal)
    return PlanetarySet(name, *ends, (), mesh_efficiency)


@dataclass(frozen=True)
class Held:
    """``member`` is kept from turning."""

    member: str

    @property
    def members(self) -> tuple[str, ...]:
        return (self.member,)

    def equation(self) -> dict[str, Fraction]:
        return {self.member: 1}

    def __str__(self):
        return f"{self.member} held"


@dataclass(frozen=True)
class Driven:
    """``member`` is turned at ``rev_min``, signed; any number, kept as it was typed (0.1 is 1/10)."""

    member: str
    rev_min: float | Fraction

    def __post_init__(self):
        object.__setattr__(self, "rev_min", exact(f"speed of {self.member}", self.rev_min))

    @property
    def members(self) -> tuple[str, ...]:
        return (self.member,)

    def equation(self) -> dict[str, Fraction]:
        return {self.member: 1, ONE: -self.rev_min}

    def __str__(self):
        return f"{self.member} driven at {float(self.rev_min):g} rev/min"


@dataclass(frozen=True)
class Locked:
    """Two members turn as one: joined for good, or by an engaged clutch."""

    first: str
    second: str

    @property
    def members(self) -> tuple[str, ...]:
        return (self.first, self.second)

    def equation(self) -> dict[str, Fraction]:
        return {self.first: 1, self.second: -1}

    def __str__(self):
        return f"{self.first} locked to {self.second}"


Condition = Held | Driven | Locked


@dataclass(frozen=True)
class PlanetSpeed:
    """A planet wheel: its set, its place in the chain from the first wheel (1 …), its two speeds."""

    set: str
    place: int
    rev_min: Fraction
    about_carrier: Fraction


@dataclass(frozen=True)
class Speeds:
    """Exact speeds in rev/min of all members by name, and of all planet wheels."""

    members: Mapping[str, Fraction]
    planets: tuple[PlanetSpeed, ...]

    def __getitem__(self, member: str) -> Fraction:
        if member not in self.members:
            raise MechError(f"there is no member {member!r}", f"the members are {listing(self.members)}")
        return self.members[member]

    def sentence(self) -> str:
        """What turns, which way and how fast; standing members are named last."""
        turning = [f"{m} {_speed(n)}" for m, n in self.members.items() if n]
        standing = [m for m, n in self.members.items() if not n and m != FRAME]
        text = listing(turning) if turning else "nothing turns"
        if standing:
            text += f"; {listing(standing)} {'stands' if len(standing) == 1 else 'stand'} still"
        for planet in self.planets:
            text += f"; planet {planet.place} of {planet.set} {_speed(planet.rev_min)}"
            if planet.about_carrier != planet.rev_min:
                text += f" ({say(float(planet.about_carrier), '', 2, sign=True)} about the carrier)"
        return text[:1].upper() + text[1:] + "."


def _speed(rev_min: Fraction) -> str:
    return say(float(rev_min), "rev/min", 2, sign=True)


def as_sets(sets: PlanetarySet | Iterable[PlanetarySet]) -> tuple[PlanetarySet, ...]:
    """Return one set or several as a tuple; raises MechError for none, for anything else, for equal names."""
    try:
        several = (sets,) if isinstance(sets, PlanetarySet) else tuple(sets)
    except TypeError:
        several = (sets,)
    if other := [one for one in several if not isinstance(one, PlanetarySet)]:
        raise MechError(f"a set is {other[0]!r}", "make it with simple_set, stepped_set or the like")
    names = [one.name for one in several]
    if not names or len(set(names)) < len(names):
        problem = "at least one is needed, each with a name of its own"
        raise MechError(f"the sets are {listing(names)}", problem)
    return several


def as_conditions(conditions: Iterable[Condition]) -> tuple[Condition, ...]:
    """Return the conditions as a tuple; raises MechError for anything but a list of Held, Driven, Locked."""
    right = 'give a list such as [Held("ring"), Driven("sun", 100)]'
    try:
        several = tuple(conditions)
    except TypeError:
        raise MechError(f"the conditions are {conditions}", right) from None
    if other := [one for one in several if not isinstance(one, Condition)]:
        raise MechError(f"a condition is {other[0]!r}", right)
    return several


def speeds(sets: PlanetarySet | Iterable[PlanetarySet], conditions: Iterable[Condition]) -> Speeds:
    """Exact speeds of every member and planet of one set, or of sets coupled by members that they share.

    Each set gives n_first − i0·n_second + (i0 − 1)·n_carrier = 0, each condition one more equation; a member
    without condition is free.  ``sets``: one or more, names all different; ``conditions``: Held, Driven and
    Locked for members that exist.  Returns rev/min.  Raises Undetermined (a MechError) with the number of
    conditions missing and the members left open, or Overdetermined with as few conflicting ones as can be.
    Source: Willis, Principles of Mechanism, 1841.

    >>> print(speeds(simple_set(16, 16, 48), [Driven("sun", 1), Held("carrier")]).sentence())
    Sun +1.00 rev/min and ring −0.33 rev/min; carrier stands still; planet 1 of set −1.00 rev/min.
    """
    sets, conditions = as_sets(sets), as_conditions(conditions)
    members = dict.fromkeys(member for one in sets for member in one.members)
    for condition in conditions:
        for member in condition.members:
            if member not in members and member != FRAME:
                problem = f"there is no {member}; the members are {listing(members)}"
                raise MechError(str(condition), problem)
    try:
        found = _solved(sets, conditions)
    except Contradiction:
        raise Overdetermined(_conflict(sets, conditions)) from None
    unsettled = tuple(m for m in members if set(found.get(m, (m,))) - {ONE})
    if unsettled:
        missing = sum(member not in found for member in members)
        raise Undetermined(missing, unsettled)
    turned = {member: Fraction(found[member].get(ONE, 0)) for member in members}
    return Speeds(turned, tuple(planet for one in sets for planet in _planets(one, turned)))


def _solved(sets, conditions):
    given = [Held(FRAME), *conditions, *sets]
    return solve(one.equation() for one in given)


def _conflict(sets, conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
    """Leave out, one by one, every condition without which the others still conflict."""
    left = list(conditions)
    for condition in conditions:
        fewer = [one for one in left if one is not condition]
        try:
            _solved(sets, fewer)
        except Contradiction:
            left = fewer
    return tuple(left)


def _planets(one: PlanetarySet, turned: Mapping[str, Fraction]) -> Iterable[PlanetSpeed]:
    carrier = turned[one.carrier]
    first = turned[one.first.member] - carrier
    for place, turns in enumerate(one.turns[:-1], 1):
        yield PlanetSpeed(one.name, place, carrier + turns * first, turns * first)


def check_places(places: tuple[str, str, str]) -> None:
    """Raise MechError unless ``places`` are "first", "carrier" and "second" in some order."""
    if sorted(places) != ["carrier", "first", "second"]:
        problem = "input, output and held are first, second and carrier in some order"
        raise MechError(f"places are {places!r}", problem)


def speed_ratio(basic_ratio, places: tuple[str, str, str] = ("first", "second", "carrier")):
    """Speed of the output for one turn of the input, of a single set with one member held.

    ``places``: which of "first", "carrier" and "second" is input, output and held.  From
    n_first − i0·n_second + (i0 − 1)·n_carrier = 0 with the held one at 0.  ``basic_ratio``: i0, not 0.
    Returns a number of i0's kind, exact for a Fraction.  Raises MechError for other places, and for i0 = 1
    with the carrier as output, which then has no definite speed.

    >>> speed_ratio(Fraction(-3), ("first", "carrier", "second"))
    Fraction(1, 4)
    """
    check_places(places)
    factors = {"first": 1, "second": -basic_ratio, "carrier": basic_ratio - 1}
    if not factors[places[1]]:
        raise MechError("the basic ratio is 1", "the carrier has no definite speed; choose other teeth")
    return -factors[places[0]] / factors[places[1]]
