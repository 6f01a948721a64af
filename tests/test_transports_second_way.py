"""Stop angles, margins and changes of mechlib.transports against the second way: dense sampling of the TOML.

Alder sound and under every kind of fault, and transports drawn from seeds.  Where the two ways end a change
differently, the second way tries again with its machine nudged: if its own answer turns over, the event was a
tie; ties are counted and must be rare.
"""

from __future__ import annotations

import copy
import random
from functools import cache
from importlib import resources

import pytest
from second_way import SENSES, Machine
from second_way_changes import change_table, legs_that_occur, nudged
from share import times
from transport_makers import make

from mechlib import transports as tr
from mechlib.transports.files import transport_from
from mechlib.transports.timing import arrival, arriving_senses, mode_margin

pytestmark = pytest.mark.slow  # not run for each mutant

CLOSE_DEG = 0.005
NUDGE_DEG = 0.03
TEETH = (-3, -2, -1, 1, 2, 3)


@cache
def alder() -> tuple[Machine, object]:
    text = (resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8")
    return Machine.from_toml(text), tr.load("alder")


@cache
def drawn(seed: int, cyclic: bool) -> tuple[Machine, object]:
    values = make(seed, cyclic)
    return Machine(values), transport_from(values, "drawn.toml")


def faulty(pair, kind: str, name: str = "", amount: float = 0) -> tuple[Machine, object]:
    """The same fault put in both ways."""
    machine, transport = pair
    second, fault = {
        "slip": lambda: ({"slips": {name: amount}}, tr.slip(name, amount)),
        "split": lambda: ({"splits": {name: amount}}, tr.split_gear(name, amount)),
        "bent": lambda: ({"bends_mm": {name: amount}}, tr.bent_lever(name, amount)),
        "dirty": lambda: ({"dirty_deg": {name: amount}}, tr.dirty_contact(name, amount)),
        "open": lambda: ({"open": (name,)}, tr.open_contact(name)),
        "solenoid": lambda: ({"dead_solenoid": True}, tr.dead_solenoid()),
    }[kind]()
    return machine.with_faults(**second), transport.with_faults(fault)


# ---- What is compared ----


def check_stops_and_margins(machine: Machine, transport):
    """Every stop angle, and every follower's distance to both edges of where it stands right."""
    for mode in transport.mode_names:
        margin = mode_margin(transport, mode)
        distances = {(d.sense, d.follower): d for d in margin.distances}
        assert {sense for sense, _ in distances} == set(occurring(machine)[mode])
        for sense in occurring(machine)[mode]:
            stop, came = machine.stop_angle(mode, SENSES[sense]), arrival(transport, mode, sense)
            if stop is None:
                found = distances.pop((sense, "code"))
                beyond = machine.beyond_stop(mode, SENSES[sense])
                assert found.never if beyond is None else near(-found.below_deg, beyond), (mode, sense)
                continue
            assert near(came.stand_deg, stop, machine.cycle), (mode, sense)
            for follower, pair in machine.margins(mode, SENSES[sense]).items():
                found = distances.pop((sense, follower))
                if pair is None:
                    assert found.never, (mode, sense, follower)
                elif not machine.cycle or min(pair) < 180:
                    assert near(found.below_deg, pair[0]) and near(found.above_deg, pair[1]), (mode, follower)
        assert not distances, "mechlib gives distances that the second way knows nothing of"
        assert margin.margin_deg == min(d.smaller[0] for d in margin.distances)


def near(first: float, second: float, cycle: float | None = None) -> bool:
    gap = abs(first - second)
    return min(gap, abs(gap - cycle)) < CLOSE_DEG if cycle else gap < CLOSE_DEG


def occurring(machine: Machine) -> dict[str, tuple]:
    """The senses in which a leg of some change, the home leg or the retry waits for each mode."""
    legs = legs_that_occur(machine)
    return {m: tuple(s for s in SENSES if (SENSES[s], m) in legs) for m in machine.modes}


def ties_among(machine: Machine, transport) -> int:
    """Compare how and where every change ends; the number of ties.  Fails where both ways truly disagree."""
    mine, theirs = change_table(machine), tr.change_table(transport)
    assert set(mine) == set(theirs)
    ends = {pair: (c.change.outcome, c.change.stand and c.change.stand.theta) for pair, c in theirs.items()}
    apart = [pair for pair in mine if not same_end(mine[pair], *ends[pair], machine.cycle)]
    if apart:
        tables = [change_table(other) for other in nudged(machine, NUDGE_DEG)]
        for pair in apart:
            turned = [t for t in tables if not same_end(mine[pair], *t[pair], machine.cycle, 1.0)]
            assert turned, (pair, mine[pair], theirs[pair].change.story())
    return len(apart)


def same_end(mine: tuple, outcome: str, theta: float | None, cycle: float | None, close: float = CLOSE_DEG):
    """True if a change ends in the same way, at nearly the same angle."""
    if mine[1] is None or theta is None:
        return mine[0] == outcome
    gap = abs(mine[1] - theta) % (cycle or 1e9)
    return mine[0] == outcome and min(gap, abs(gap - (cycle or 0))) < close


def check_interlocks(machine: Machine, transport):
    """Just short of a margin nothing collides, just past it they do; without one, nothing does so far off."""
    for row, lock in zip(machine.data["interlock"], tr.interlock_margins(transport), strict=True):
        collide = machine.clashes(row, 0.0)
        assert collide == (lock.margin_deg is not None and lock.margin_deg < 0), lock
        for way, shift in ((1, lock.ahead_deg), (-1, lock.behind_deg)):
            if collide:
                assert shift is None or not machine.clashes(row, way * (shift - 0.05), 0.004)
                continue
            free = 60.0 if shift is None else shift - 0.02
            tried = [free * k / 8 for k in range(1, 9)] if free > 0 else []
            assert not any(machine.clashes(row, way * s, 0.004) for s in tried), lock
            assert shift is None or machine.clashes(row, way * (shift + 0.02), 0.004), lock


# ---- Alder ----


def test_sound_alder():
    machine, transport = alder()
    check_stops_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0
    assert {outcome for outcome, _ in change_table(machine).values()} == {"reached"}


@pytest.mark.few(4)
@pytest.mark.parametrize("mesh", [row["name"] for row in alder()[0].data["part"]])
@pytest.mark.parametrize("teeth", TEETH)
def test_alder_with_a_slip(mesh, teeth):
    machine, transport = faulty(alder(), "slip", mesh, teeth)
    check_stops_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0


FAULTS = (
    [("open", name, 0) for name in "ABCDK"]
    + [("dirty", "A", 1.5), ("dirty", "B", 3.7), ("dirty", "C", 2.5), ("dirty", "D", 3.3)]
    + [("dirty", "K", 3.9)]
    + [("bent", "loading arms", -0.4), ("bent", "carriage", 2.0), ("bent", "pinch lever", -0.3)]
    + [("bent", "main brakes", 0.15), ("bent", "reel idler", -3.0), ("bent", "cam detent", 0.3)]
    + [("split", "loading gear", 6.1), ("split", "pinch cam", -13.3), ("split", "carriage gear", 1.9)]
    + [("split", "mode switch", -2.7), ("split", "brake cam", 25.0)]
)  # fmt: skip


@pytest.mark.few(3)
@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: " ".join(map(str, fault)))
def test_alder_with_another_fault(fault):
    machine, transport = faulty(alder(), *fault)
    check_stops_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0


def test_a_slip_upstream_changes_nothing():
    machine, transport = alder()
    for mesh in transport.upstream:
        slipped = transport.with_faults(tr.slip(mesh.name, 2))
        check_stops_and_margins(machine, slipped)
        assert ties_among(machine, slipped) == 0


def test_a_jam_while_coasting():
    """The switch a little ahead and the arms behind: the code is read before the levers collide."""
    splits = {"mode switch": 1.0, "loading gear": -5.0}
    machine = alder()[0].with_faults(splits=splits)
    transport = alder()[1].with_faults(*(tr.split_gear(*split) for split in splits.items()))
    assert ties_among(machine, transport) == 0
    found = tr.change(transport, "WIND", "STOP")
    assert found.outcome == "jammed" and not found.powered_off


def test_homing_to_the_very_mode_asked_for():
    """No code at the start; home is the target, its code is read and coasted past: that is the end of it."""
    values = copy.deepcopy(alder()[0].data)
    values["controller"]["home"]["mode"] = "DOWN"
    machine = Machine(values).with_faults(dirty_deg={"A": 3.0, "C": 3.0})
    dirt = (tr.dirty_contact("A", 3.0), tr.dirty_contact("C", 3.0))
    transport = transport_from(values, "alder.toml").with_faults(*dirt)
    assert ties_among(machine, transport) == 0
    found = tr.change(transport, "PAUSE", "DOWN")
    assert found.outcome == "reached" and [leg.purpose for leg in found.legs] == ["homing"]


SLIPS = [("", 0), ("loading gear", 1), ("brake cam", -1), ("carriage gear", 2)]


@pytest.mark.few(2)
@pytest.mark.parametrize("mesh, teeth", SLIPS)
def test_interlocks_of_alder(mesh, teeth):
    check_interlocks(*(faulty(alder(), "slip", mesh, teeth) if teeth else alder()))


@pytest.mark.few(2)
@pytest.mark.parametrize("mesh", [row["name"] for row in alder()[0].data["part"]])
def test_slips_survived(mesh):
    """Slip by slip until the second way finds a follower wrong at some stop angle, or no stop angle."""
    machine, transport = alder()
    for mode in transport.mode_names:
        survival = tr.slips_survived(transport, mode, mesh)
        for step, claimed in ((-1, survival.behind), (1, survival.ahead)):
            last = 4 if claimed is None else min(claimed, 4)
            stands = [stands_right(machine, mode, mesh, step * n) for n in range(1, last + 2)]
            expected = [True] * last + ([False] if claimed is not None and claimed <= 4 else stands[last:])
            assert stands == expected, (mode, mesh, step, claimed)


def stands_right(machine: Machine, mode: str, mesh: str, teeth: int) -> bool:
    slipped = machine.with_faults(slips={mesh: teeth})
    for sense in occurring(machine)[mode]:
        if slipped.stop_angle(mode, SENSES[sense]) is None:
            return False
        pairs = slipped.margins(mode, SENSES[sense]).values()
        if any(pair is None or min(pair) < 0 for pair in pairs):
            return False
    return True


# ---- Transports drawn from seeds ----


def faults_for(seed: int, pair) -> list[tuple]:
    """Two faults of different kinds for a drawn transport, and a dead solenoid where it has one."""
    rng, machine = random.Random(seed), pair[0]
    part, contact = rng.choice(machine.parts).name, rng.choice(machine.contacts)[0]
    kinds = [
        ("slip", part, rng.choice(TEETH)),
        ("split", part, rng.uniform(-20, 20)),
        ("bent", rng.choice(list(machine.tracks)), rng.uniform(-3, 3)),
        ("dirty", contact, rng.uniform(0.3, 6)),
        ("open", contact, 0),
    ]
    solenoid = any(row.get("solenoid") for row in machine.data.get("stage", []))
    return rng.sample(kinds, 2) + [("solenoid",)] * solenoid


@pytest.mark.few(2)
@pytest.mark.parametrize("cyclic, first", [(False, 0), (False, 10), (False, 20), (True, 0)])
def test_drawn_transports(cyclic, first):
    ties = cells = 0
    for seed in range(first, first + times(2, 10)):
        pair = drawn(seed, cyclic)
        for machine, transport in [pair, *(faulty(pair, *fault) for fault in faults_for(seed, pair))]:
            check_stops_and_margins(machine, transport)
            ties += ties_among(machine, transport)
            cells += len(machine.modes) * (len(machine.modes) - 1)
        if not cyclic and seed % 2:
            check_interlocks(*pair)
    assert ties <= max(cells / 200, 1)


def test_senses_that_can_occur():
    for machine, transport in [alder(), drawn(0, False), drawn(1, False), drawn(0, True)]:
        assert arriving_senses(transport) == occurring(machine)
