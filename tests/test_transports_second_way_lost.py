"""Gears that come off and meshes with teeth missing, against the second way: walked in small steps."""

from __future__ import annotations

import random
import tomllib
from functools import cache
from importlib import resources

import pytest
from second_way_lost import LostMachine, LostReleasedMachine
from share import times
from test_transports_second_way import check_stops_and_margins, ties_among
from test_transports_second_way_released import check_rests_and_margins
from transport_makers import make

from mechlib import transports as tr
from mechlib.transports.files import transport_from
from mechlib.transports.runs import steady

pytestmark = pytest.mark.slow  # not run for each mutant


@cache
def shipped(name: str):
    values = tomllib.loads(
        (resources.files("mechlib.transports") / "data" / f"{name}.toml").read_text("utf-8")
    )
    kind = LostReleasedMachine if name == "birch" else LostMachine
    return kind(values), tr.load(name)


def faulty(pair, off_at: dict, missing: dict):
    """The same faults put in both ways."""
    machine, transport = pair
    faults = [tr.clip_gone(part, deg) for part, deg in off_at.items()]
    faults += [tr.missing_teeth(part, *gap) for part, gaps in missing.items() for gap in gaps]
    return machine.with_faults(off_at=off_at, missing=missing), transport.with_faults(*faults)


ALDERS = [
    ({"pinch cam": 150}, {}),
    ({"mode switch": 100}, {}),
    ({"loading gear": 80}, {}),
    ({"carriage gear": -40}, {}),
    ({"brake cam": 120}, {}),  # the idler cam hangs on it
    ({}, {"pinch cam": [(120, 1)]}),
    ({}, {"mode switch": [(60, 1), (160, 2)]}),
    ({}, {"loading gear": [(-5, 2)]}),  # stands in the gap with its mark right
    ({}, {"brake cam": [(100, 1)]}),
    ({}, {"carriage gear": [(-70, 1)]}),
    ({"idler cam": 140}, {"brake cam": [(40, 2)]}),
]


@pytest.mark.few(1)
@pytest.mark.parametrize("faults", ALDERS, ids=str)
def test_alder(faults):
    pair = faulty(shipped("alder"), *faults)
    check_stops_and_margins(*pair)
    assert ties_among(*pair) == 0


@pytest.mark.few(1)
@pytest.mark.parametrize("part, teeth", [("pinch cam", 1), ("mode switch", -1), ("loading gear", 2)])
def test_alder_with_a_slip_besides(part, teeth):
    machine, transport = faulty(shipped("alder"), {"pinch cam": 200}, {"loading gear": [(30, 1)]})
    machine, transport = machine.with_faults(slips={part: teeth}), transport.with_faults(tr.slip(part, teeth))
    check_stops_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0


@pytest.mark.few(1)
@pytest.mark.parametrize("teeth", [2, -1])
def test_a_gap_on_a_gear_that_slipped(teeth):
    """Alder's brake cam drives the idler cam: the gap sits on its teeth, wherever those have slipped to."""
    pair = faulty(shipped("alder"), {}, {"idler cam": [(100, 1)], "brake cam": [(40, 1)]})
    machine, transport = (
        pair[0].with_faults(slips={"brake cam": teeth}),
        pair[1].with_faults(tr.slip("brake cam", teeth)),
    )
    check_stops_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0


BIRCHES = [
    ({"lever cam": 200}, {}),
    ({"lever cam": 5}, {}),
    ({"switch rotor": 160}, {}),
    ({}, {"lever cam": [(100, 1)]}),
    ({}, {"lever cam": [(20, 1), (175, 1)]}),
    ({}, {"switch rotor": [(100, 1)]}),
    ({}, {"switch rotor": [(300, 2)]}),
]


@pytest.mark.few(3)
@pytest.mark.parametrize("faults", BIRCHES, ids=str)
def test_birch(faults):
    pair = faulty(shipped("birch"), *faults)
    check_rests_and_margins(*pair)
    assert ties_among(*pair) == 0


def drawn_faults(seed: int, pair) -> list[tuple[dict, dict]]:
    """A clip gone, and teeth missing, each somewhere on the way of a part of a drawn transport."""
    rng, transport = random.Random(f"lost {seed}"), pair[1]
    run = steady(transport, "loading")

    def somewhere(name: str) -> float:
        name = "main cam" if name == "main gear" else name
        low, high = (0, 360) if transport.cyclic else (run.knots[name][0][1], run.knots[name][-1][1])
        return round(rng.uniform(low, high), 3)

    clip, mesh = (rng.choice(transport.parts) for _ in range(2))
    return [
        ({clip.name: somewhere(clip.name)}, {}),
        ({}, {mesh.name: [(somewhere(mesh.parent), rng.randint(1, 3))]}),
    ]


@pytest.mark.few(2)
@pytest.mark.parametrize("cyclic, first", [(False, 0), (False, 10), (True, 0)])
def test_drawn_transports(cyclic, first):
    ties = cells = 0
    for seed in range(first, first + times(2, 5)):
        values = make(seed, cyclic)
        pair = LostMachine(values), transport_from(values, "drawn.toml")
        for faults in drawn_faults(seed, pair):
            machine, transport = faulty(pair, *faults)
            check_stops_and_margins(machine, transport)
            ties += ties_among(machine, transport)
            cells += len(machine.modes) * (len(machine.modes) - 1)
    assert ties <= max(cells / 200, 1)
