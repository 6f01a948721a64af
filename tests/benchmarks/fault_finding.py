"""Print how well fault finding does on machines that differ from their file, beside three simpler policies.

A fault is put into a machine that differs from the file (angles by up to 1.5°, motor and springs by up to 15
%, the fault's own degree by up to 15 %), a change that fails is told, and checks follow, a twentieth of them
read wrong. Counted: how often the true cause is first, and among the first three, after three, five and eight
best checks; and the minutes until it is mended, beside: clean the switch first, checks in the file's order,
checks at random. All policies draw the same conclusions from what they see; they differ in what they check,
and the three mend what has reached the probability (of two tried, the better for each) at which they stop
checking.

Run from the root: .venv/bin/python tests/benchmarks/fault_finding.py [transport …] [--faults 60] [--seed 1]
[--machines 1].  Each fault is put into so many machines, one a seed, from the seed given on: the share found
differs by one or two percent from seed to seed.  The first minutes go into foretelling every check for
every fault (a progress line shows it).
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from dataclasses import fields, replace
from random import Random

import numpy as np

from mechlib.bench.checks import LOOK, MARK, TRY, Check, checks_of, covers_for, minutes_for
from mechlib.bench.drawn_readings import drawn_reading, reading_chances
from mechlib.bench.fault_finding import find
from mechlib.bench.next_check import next_step, outlook, ranked_checks
from mechlib.bench.observations import observed
from mechlib.bench.predictions import predictions
from mechlib.bench.readings import NOT_TRIED, WORKED, Reading, labels_of, reading, scale_of
from mechlib.bench.suspects import NOTHING, Cause, Repair, repair_of, repair_time, suspects
from mechlib.errors import MechError
from mechlib.transports import load, shipped
from mechlib.transports.bench_practice import check_minutes, repair_covers
from mechlib.transports.faults import LEAST_PASSES, MOST_PASSES, IntermittentContact
from mechlib.transports.files import DATA, transport_from
from mechlib.transports.read_table import parse

WRONG = 0.05
AFTER = (3, 5, 8)
ENOUGH = (0.5, 0.8)  # probabilities at which the simpler policies mend
MOST_STEPS = 60
ROUNDS = 5  # of tries, until a contact that passes only sometimes shows
PLAN = "the plan"


# ---- A machine that differs from its file: the file's numbers are changed, and it is read again ----


def differing(name: str, draw: Random, tries: int = 200):
    sound = load(name)
    for _ in range(tries):
        values = parse(DATA / f"{name}.toml")
        _shake(sound, values, draw)
        try:
            machine = transport_from(values, f"{name}.toml")
        except MechError:  # it wouldn't work when new: not sold
            continue
        if all(reading(machine, sound, check).label == WORKED for check in tries_of(sound)):
            return machine
    raise SystemExit(f"no machine like {name} works")


def _shake(sound, values: dict, draw: Random):
    def by():
        return 1 + draw.uniform(-0.15, 0.15)

    def turn(angle: dict, off_deg: float):
        """Move an angle of the file, whichever of its units it is in."""
        angle["deg"] = angle["deg"] if "deg" in angle else _degrees(sound, angle)
        angle["deg"] += off_deg
        for unit in ("teeth", "turns", "of"):
            angle.pop(unit, None)

    for follower in values["follower"]:
        for piece in follower.get("track", [])[:-1]:
            turn(piece["until"], draw.uniform(-1.5, 1.5))
        off = draw.uniform(-1.5, 1.5)
        for angle, _ in follower.get("readings", [])[1:-1]:  # the first and the last are the travel's ends
            turn(angle, off)
        if "spring" in follower:
            share = by()
            for key in ("force_N", "rate_N_mm"):
                if key in follower["spring"]:
                    follower["spring"][key] *= share
        if "friction_N" in follower:
            follower["friction_N"] *= by()
    moved: dict = {}
    for contact in values["contact"]:
        for edge in (edge for arc in contact["closed"] for edge in arc):
            key = contact.get("part"), *sorted(edge.items())
            turn(edge, moved.setdefault(key, draw.uniform(-1.5, 1.5)))
    motors = values.get("motor", [])
    for motor in motors if isinstance(motors, list) else [motors]:
        motor["no_load_rev_min"] *= by()
        motor["stall_torque_Nmm"] *= by()


def _degrees(sound, angle: dict) -> float:
    if "teeth" in angle:
        return 360 * angle["teeth"] / sound.main_teeth
    shaft = next(one for one in sound.hand_shafts if angle.get("of") in (one.name, None))
    return 360 * angle["turns"] / shaft.turns_per_cam_turn


def tries_of(sound) -> list[Check]:
    return [check for check in checks_of(sound) if check.kind == TRY]


def worse(fault, draw: Random):
    """The fault with its degrees, where it has any, up to 15 % more or less."""
    if isinstance(fault, IntermittentContact):  # fails so much more or less
        passes = 1 - (1 - fault.passes) * (1 + draw.uniform(-0.15, 0.15))
        return replace(fault, passes=min(max(passes, LEAST_PASSES), MOST_PASSES))
    degrees = {f.name: getattr(fault, f.name) for f in fields(fault)}
    return replace(
        fault, **{k: v * (1 + draw.uniform(-0.15, 0.15)) for k, v in degrees.items() if isinstance(v, float)}
    )


def faulty(machine, state, draw: Random):
    """With the faults worse or less bad than their grade, where this machine can have them so."""
    try:
        return machine.with_faults(*(worse(fault, draw) for fault in state.faults))
    except MechError:
        return machine.with_faults(*state.faults)


# ---- One hidden machine at the bench ----


class Bench:
    """A hidden machine: it answers checks, some of them wrongly, and knows whether a repair mends it."""

    def __init__(self, name: str, state, draw: Random):
        self.sound, self.state, self.draw = load(name), state, draw
        self.machine = faulty(differing(name, draw), state, draw)
        self.repairs = {repair_of(self.sound, cause) for cause in state.causes}

    def read(self, check: Check, may_err: bool = True):
        any_ = self.state.electronics and check.commanded and self.draw.random() < 0.5
        wrong = may_err and self.draw.random() < WRONG
        if any_ or wrong:
            return observed(self.sound, check, self._at_random(check))
        read = drawn_reading(self.machine, self.sound, check, self.draw)
        return observed(self.sound, check, read)

    def _at_random(self, check: Check) -> Reading:
        scale, label = scale_of(self.sound, check), self.draw.choice(labels_of(self.sound, check))
        return Reading(label, None, scale and self.draw.uniform(scale.low, scale.high))

    def complaint(self):
        """A change that fails, told rightly; None where none does in a few rounds of all."""
        tries = tries_of(self.sound)
        rounds = ROUNDS if self.machine.intermittent else 1
        for check in (one for _ in range(rounds) for one in self.draw.sample(tries, len(tries))):
            seen = self.read(check, may_err=False)
            if seen.read.label not in (WORKED, NOT_TRIED):
                return seen
        return None


def best_checks(bench: Bench, complaint) -> dict[int, int]:
    """The rank of the true cause (1 the first) after so many best checks."""
    seen, off, ranks = [complaint], frozenset(), {}
    for number in range(max(AFTER) + 1):
        found = find(bench.sound, seen)
        ranks[number] = 1 + [one.causes for one in found.ranking].index(bench.state.causes)
        if number == max(AFTER):
            break
        advice = next(iter(ranked_checks(outlook(found), off)), None)
        if advice is None:
            return {n: ranks.get(n, ranks[number]) for n in (0, *AFTER)}
        seen.append(bench.read(advice.check))
        off |= {cover.name for cover in covers_for(bench.sound, advice.check)}
    return ranks


class Clock:
    """The minutes spent, the covers off, the repairs tried."""

    def __init__(self, bench: Bench, complaint):
        self.bench, self.seen = bench, [complaint]
        self.minutes, self.off, self.mended = 0.0, frozenset(), set()
        self.told: dict = {}  # by check: how often made, and the logarithm of what it told
        self.found = 0.0  # minutes until the right repair was begun

    def check(self, check: Check) -> None:
        self.minutes += minutes_for(self.bench.sound, check, self.off)
        self.off |= {cover.name for cover in covers_for(self.bench.sound, check)}
        self.seen.append(self.bench.read(check))

    def mend(self, repair: Repair) -> bool:
        """Mend and try; True if it was that."""
        if self.bench.repairs <= self.mended | {repair}:
            self.found = self.minutes
        again = check_minutes(self.bench.sound, TRY)
        self.minutes += repair_time(self.bench.sound, repair, self.off) + again
        self.off |= {cover.name for cover in repair_covers(self.bench.sound, repair.kind, repair.of)}
        self.mended.add(repair)
        return self.bench.repairs <= self.mended

    def units(self) -> dict[Repair, float]:
        """Probabilities of the repairs not yet tried; what each check told is worked out once."""
        foretold, sound = predictions(self.bench.sound), self.bench.sound
        for check in {one.check for one in self.seen}:
            same = [one for one in self.seen if one.check == check]
            if len(same) != self.told.get(check, (0,))[0]:
                self.told[check] = len(same), np.log(np.maximum(foretold.likelihood(same), 1e-300))
        logs = np.log(np.maximum(foretold.cells, 1e-300)) + sum(logs for _, logs in self.told.values())
        by_state = np.exp(logs - logs.max()).sum(axis=1)
        found: dict[Repair, float] = {}
        for state, chance in zip(foretold.states, by_state, strict=True):
            repair = repair_of(sound, state.causes[0])
            if repair not in self.mended:
                found[repair] = found.get(repair, 0.0) + float(chance)
        total = sum(found.values())
        return {repair: chance / total for repair, chance in found.items()}


def planned(bench: Bench, complaint) -> tuple[float, float]:
    """Minutes to find and to mend with the plan of least expected minutes."""
    clock = Clock(bench, complaint)
    for _ in range(MOST_STEPS):
        look = outlook(find(bench.sound, clock.seen))
        tried = [all(one in clock.mended for one in unit) for unit in look.units]
        left = look.probability * ~np.array(tried)[look.unit_of]
        if left.sum() <= 0:
            break
        step = next_step(look, clock.off, left / left.sum())
        if step.check:
            clock.check(step.check)
        elif all([clock.mend(one) for one in step.repairs]) or bench.repairs <= clock.mended:
            return clock.found, clock.minutes
    return by_probability(clock)


def by_probability(clock: Clock) -> tuple[float, float]:
    """Nothing left to check: mend in the order of probability until it works."""
    while units := clock.units():
        if clock.mend(max(units, key=units.get)):
            break
    return clock.found, clock.minutes


def simple(
    bench: Bench, complaint, order: list[Check], enough: float, first: tuple[Repair, ...] = ()
) -> tuple[float, float]:
    """Minutes of a policy that checks in a fixed order and mends what has become probable enough."""
    clock = Clock(bench, complaint)
    for repair in first:
        if clock.mend(repair):
            return clock.found, clock.minutes
    for check in order:
        units = clock.units()
        best = max(units, key=units.get)
        if units[best] >= enough and clock.mend(best):
            return clock.found, clock.minutes
        clock.check(check)
    return by_probability(clock)


# ---- Everything together ----


def warm_up(name: str) -> None:
    foretold = predictions(load(name))
    start = time.perf_counter()

    def show(part: float) -> None:
        passed = time.perf_counter() - start
        print(f"\r  foretelling {part:4.0%}, {passed:5.0f} s", end="", file=sys.stderr, flush=True)

    foretold.foretell(checks_of(load(name)), foretold.every_row, show)
    number, seconds = len(foretold.states), time.perf_counter() - start
    checks = len(checks_of(load(name)))
    print(f"\r  {number} suspects, {checks} checks foretold in {seconds:.0f} s          ")


def run(name: str, number: int, seeds: range) -> None:
    print(name)
    warm_up(name)
    sound, draw = load(name), Random(f"{name} {seeds[0]}")
    singles = [one for one in suspects(sound, 0) if one.causes[0].kind != NOTHING]
    chosen = singles if number >= len(singles) else draw.sample(singles, number)
    ranks, minutes, silent, missed, by_seed = [], [], [], [], []
    hidden = [(seed, state) for seed in seeds for state in chosen]
    for done, (seed, state) in enumerate(hidden, 1):
        bench = Bench(name, state, Random(f"{name} {seed} {state.sentence()}"))
        complaint = bench.complaint()
        if complaint is None:
            silent.append(state)
            continue
        rank = best_checks(bench, complaint)
        ranks.append(rank)
        by_seed.append((seed, rank[AFTER[-1]] == 1))
        if rank[AFTER[-1]] > 1:
            missed.append((state, complaint, rank[AFTER[-1]]))
        minutes.append(policies(bench, complaint))
        print(f"\r  fault {done} of {len(hidden)}", end="", file=sys.stderr, flush=True)
    print("\r", end="", file=sys.stderr)
    report(ranks, minutes, silent, missed)
    for seed in seeds:
        first = [found for one, found in by_seed if one == seed]
        print(f"  seed {seed}: first after {AFTER[-1]} checks {sum(first)} of {len(first)}")
    groups(name)


def policies(bench: Bench, complaint) -> dict[str, tuple[float, float]]:
    sound = bench.sound
    checks = [check for check in checks_of(sound)]
    shuffled = bench.draw.sample(checks, len(checks))
    switch = next(contact.name for contact in sound.contacts if contact.part == sound.switch_part)
    contacts = (repair_of(sound, Cause("dirty contact", switch)),)
    found = {PLAN: planned(bench, complaint)}
    for enough in ENOUGH:
        found[f"clean the switch first, {enough}"] = simple(bench, complaint, checks, enough, contacts)
        found[f"checks in file order, {enough}"] = simple(bench, complaint, checks, enough)
        found[f"checks at random, {enough}"] = simple(bench, complaint, shuffled, enough)
    return found


def report(ranks, minutes, silent, missed) -> None:
    total = len(ranks)
    print(f"  {total} faults with a complaint; {len(silent)} silent ones left out")
    for after in (0, *AFTER):
        first = sum(rank[after] == 1 for rank in ranks) / total
        three = sum(rank[after] <= 3 for rank in ranks) / total
        print(f"  after {after} checks: first {first:4.0%}, among the first three {three:4.0%}")
    for what, index in (("find", 0), ("mend", 1)):
        means = {policy: statistics.mean(one[policy][index] for one in minutes) for policy in minutes[0]}
        for policy, mean in means.items():
            print(f"  {policy:32} {mean:6.1f} min to {what} it")
        rival = min(mean for policy, mean in means.items() if policy != PLAN)
        print(f"  the plan takes {means[PLAN] / rival:.0%} of the best rival's minutes to {what} it")
    for state, complaint, rank in missed:
        print(f"  missed (place {rank}): {state.sentence()} complaint: {complaint.sentence()}")


def groups(name: str) -> None:
    """What symptoms, and symptoms with marks, can tell apart, in the machine as filed."""
    sound = load(name)
    for kinds, words in (((TRY,), "symptoms alone"), ((TRY, MARK), "symptoms and marks"),
                         ((TRY, MARK, LOOK), "and parts looked at")):  # fmt: skip
        checks, found = [c for c in checks_of(sound) if c.kind in kinds], {}
        for state in suspects(sound, 0):
            machine = sound.with_faults(*state.faults)
            seen = tuple(
                frozenset((r.label, r.detail) for r, _ in reading_chances(machine, sound, check))
                for check in checks
            )
            found.setdefault(seen, set()).add(state.causes[0])
        alone = sum(len(causes) == 1 for causes in found.values())
        largest = max(map(len, found.values()))
        print(f"  {words}: {len(found)} groups of states, {alone} of one cause; largest {largest} causes")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("transports", nargs="*", default=None)
    parser.add_argument("--faults", type=int, default=60, help="how many faults are drawn of each transport")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--machines", type=int, default=1, help="how many hidden machines have each fault")
    chosen = parser.parse_args()
    for name in chosen.transports or shipped():
        run(name, chosen.faults, range(chosen.seed, chosen.seed + chosen.machines))


if __name__ == "__main__":
    main()
