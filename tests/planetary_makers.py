"""Random planetary sets, coupled trains and conditions, and their equations written down a second time."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from hypothesis import strategies as st

from mechlib.gears import Central, Driven, Held, Locked, PlanetarySet

MEMBERS = tuple("ABCDEFG")
teeth = st.integers(8, 60)
lossless = st.just(1.0)


@st.composite
def one_set(draw, members=("sun", "carrier", "ring"), name="set", efficiency=lossless):
    """A set of any kind: up to three planet wheels in a chain, each end a sun or a ring."""
    planets = tuple((draw(teeth), draw(teeth)) for _ in range(draw(st.integers(0, 3))))
    internal = (draw(st.booleans()), draw(st.booleans()))
    if not planets and internal[0]:
        internal = (False, internal[1])
    first, second = draw(teeth), draw(teeth)
    if internal[0]:
        first += planets[0][0]
    if internal[1]:
        second += planets[-1][1] if planets else first
    ends = Central(members[0], first, internal[0]), members[1], Central(members[2], second, internal[1])
    return PlanetarySet(name, *ends, planets, draw(efficiency))


@st.composite
def coupled(draw, most=4, efficiency=lossless):
    """Up to ``most`` sets whose members are drawn from a few names, so that they share some."""
    number = draw(st.integers(1, most))
    sets = []
    for place in range(number):
        members = draw(st.permutations(MEMBERS[: number + 3]).map(lambda names: tuple(names[:3])))
        sets.append(draw(one_set(members, f"set {place}", efficiency)))
    return sets


@st.composite
def conditions(draw, sets):
    """About as many conditions as these sets need, mostly for different members."""
    members = sorted({member for one in sets for member in one.members})
    order, found = draw(st.permutations(members)), []
    needed = len(members) - len(sets) + draw(st.sampled_from([0, 0, 0, 0, -1, 1, 2]))
    for place in range(max(0, needed)):
        member, other = order[place % len(order)], order[place - 1]
        kind = draw(st.integers(0, 3))
        if kind == 0:
            found.append(Locked(member, other))
        else:
            found.append(Held(member) if kind == 1 else Driven(member, draw(st.integers(-20, 20))))
    return found


def turns_of_second(one: PlanetarySet) -> Fraction:
    """Turns of the second wheel for one of the first with the carrier held, by counting meshes and teeth."""
    wheels = [one.first.teeth, *(z for planet in one.planets for z in planet), one.second.teeth]
    drivers, driven = wheels[::2], wheels[1::2]
    external = len(one.planets) + 1 - one.first.internal - one.second.internal
    ratio = Fraction((-1) ** external)
    for driver, follower in zip(drivers, driven, strict=True):
        ratio *= Fraction(driver, follower)
    return ratio


def matrix_of(sets, given):
    """Both sides of n_second − n_carrier = u·(n_first − n_carrier), and of the conditions, as floats."""
    members = sorted({member for one in sets for member in one.members})
    at = {member: place for place, member in enumerate(members)}
    left, right = np.zeros((len(sets) + len(given), len(members))), np.zeros(len(sets) + len(given))
    for row, one in zip(left, sets, strict=False):
        u = float(turns_of_second(one))
        row[at[one.first.member]] -= u
        row[at[one.second.member]] += 1
        row[at[one.carrier]] += u - 1
    for number, condition in enumerate(given, len(sets)):
        left[number, at[condition.members[0]]] = 1
        if isinstance(condition, Locked):
            left[number, at[condition.second]] = -1
        if isinstance(condition, Driven):
            right[number] = condition.rev_min
    return left, right, members
