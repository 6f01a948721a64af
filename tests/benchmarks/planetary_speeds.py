"""Print how fast a coupled four-set train is solved beside sympy, and how long a slider's step takes.

Both solve the same equations, of sets, conditions and planets, and their answers are compared.
Run from the root: .venv/bin/python tests/benchmarks/planetary_speeds.py
"""

import statistics
import time

import sympy

from mechlib.gears import Driven, Held, Locked, double_pinion_set, simple_set, speeds, stepped_set, torques


def four_sets() -> tuple[list, list]:
    """Four sets of all three kinds, coupled by shared members and a lock: a power-split train."""
    sets = [
        simple_set(24, 21, 66, ("input", "carrier 1", "ring 1"), "first"),
        simple_set(26, 17, 60, ("ring 1", "carrier 1", "ring 2"), "second"),
        double_pinion_set(28, 16, 17, 70, ("sun 3", "carrier 3", "ring 2"), "third"),
        stepped_set(20, 30, 15, 65, ("sun 4", "output", "carrier 3"), "fourth"),
    ]
    return sets, [Driven("input", 1500), Held("ring 1"), Held("sun 3"), Locked("sun 4", "carrier 1")]


def equations(sets: list, conditions: list) -> tuple[list, list, dict]:
    """The same problem for sympy: its equations, its unknowns, and the symbol of each member."""
    members = {member: sympy.Symbol(member) for one in sets for member in one.members}
    found, planets = [], []
    for one in (*sets, *conditions):
        terms = (
            (members[m] if m else 1) * sympy.Rational(f.numerator, f.denominator)
            for m, f in one.equation().items()
        )
        found.append(sum(terms))
    for one in sets:
        first, carrier = members[one.first.member], members[one.carrier]
        for place, turns in enumerate(one.turns[:-1]):
            planet = sympy.Symbol(f"planet {place} of {one.name}")
            planets.append(planet)
            ratio = sympy.Rational(turns.numerator, turns.denominator)
            found.append(planet - carrier - ratio * (first - carrier))
    return found, [*members.values(), *planets], members


def milliseconds(*calls, rounds: int) -> list[float]:
    """Median time of each call, taken turn and turn about, so that other work on the machine strikes all."""
    times = [[] for _ in calls]
    for _ in range(rounds):
        for call, mine in zip(calls, times, strict=True):
            start = time.perf_counter()
            call()
            mine.append(1000 * (time.perf_counter() - start))
    return [statistics.median(mine) for mine in times]


def fresh_answer():
    """Build the sets anew each time, so that nothing is kept from before, and solve."""
    return speeds(*four_sets())


def slider_step():
    """What moving a slider asks for: a set with new tooth counts, and all its speeds."""
    return speeds(simple_set(16, 16, 48), [Driven("sun", 120.5), Held("ring")])


def loaded_step():
    """The same with torques and losses."""
    one = simple_set(16, 16, 48, mesh_efficiency=0.98)
    return torques(one, [Driven("sun", 120.5), Held("ring")], {"carrier": -40})


def main() -> None:
    sets, conditions = four_sets()
    system, unknowns, symbols = equations(sets, conditions)
    ours = speeds(sets, conditions)
    theirs = sympy.solve(system, unknowns, dict=True)[0]
    for member, symbol in symbols.items():
        assert theirs[symbol] == sympy.Rational(ours[member].numerator, ours[member].denominator), member

    exact, symbolic = milliseconds(fresh_answer, lambda: sympy.solve(system, unknowns, dict=True), rounds=40)
    print(f"four coupled sets, {len(unknowns)} unknowns, solved exactly (median of 40)")
    print(f"  mechlib      {exact:8.3f} ms, building the sets included")
    print(f"  sympy.solve  {symbolic:8.3f} ms, equations given; {symbolic / exact:.0f} times as long")
    plain, loaded = milliseconds(slider_step, loaded_step, rounds=400)
    print("one step of a slider, simple set (median of 400)")
    print(f"  new set and its speeds            {plain:.3f} ms")
    print(f"  new set, speeds, torques, losses  {loaded:.3f} ms")


if __name__ == "__main__":
    main()
