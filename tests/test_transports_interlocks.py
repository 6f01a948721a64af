"""Interlocks: what the margins say, tried with parts that are really out by so much."""

from dataclasses import replace
from itertools import permutations

import pytest
from small_machine import small, values

from mechlib.transports import change, interlock_margins, load, slip, split_gear
from mechlib.transports.interlocks import InterlockMargin
from mechlib.transports.runs import steady

SHIPPED = ("alder", "birch", "cedar", "dogwood")
CLOSE_DEG = 0.05
# Where no mode change gets as far: another interlock stops it before, or the codes went with the part.
NOT_REACHED = {
    ("birch", "pinch lever and heads", "behind"),
    ("cedar", "lock and drawer", "behind"),
    ("cedar", "lock and drawer", "ahead"),
}


def jams(machine, name: str) -> int:
    """The number of mode changes that jam at this interlock."""
    found = [change(machine, *pair) for pair in permutations(machine.mode_names, 2)]
    return sum(one.outcome == "jammed" and one.why.endswith(f"({name})") for one in found)


def meets(machine, name: str) -> bool:
    """True if the two collide anywhere between the stops."""
    return any(o.name == name for sense in machine.senses for o in steady(machine, sense).obstacles)


def mesh_out(transport, margin, by: str, way: str) -> tuple[str, int]:
    """The mesh to be put out and its sign: the other part's, the other way, if it can't be out alone."""
    other = margin.second if by == margin.first else margin.first
    sign = 1 if way == "ahead" else -1
    part, against = (transport.follower(name).part for name in (by, other))
    alone = transport.chains[part] and part not in transport.chains[against]
    return (part, sign) if alone else (against, -sign)


@pytest.mark.parametrize("name", SHIPPED)
def test_the_part_that_is_named_makes_them_collide_at_that_amount_and_not_before(name):
    transport = load(name)
    for margin in interlock_margins(transport):
        for by, way, deg in margin.ways:
            if deg is None:
                continue
            mesh, sign = mesh_out(transport, margin, by, way)
            less, more = (
                transport.with_faults(split_gear(mesh, sign * (deg + apart)))
                for apart in (-CLOSE_DEG, CLOSE_DEG)
            )
            assert not meets(less, margin.name) and meets(more, margin.name), (margin.name, way)
            assert jams(less, margin.name) == 0
            reached = (name, margin.name, way) not in NOT_REACHED
            assert bool(jams(more, margin.name)) == reached, (margin.name, way)


@pytest.mark.parametrize("mesh, least", [("carriage gear", -2), ("loading gear", 7)])
def test_either_part_of_arms_and_cassette_in_whole_teeth(mesh, least):
    """The carriage moves while the main cam stands: the arms bear far more than the carriage does."""
    alder = load("alder")
    for teeth in (least, least - (1 if least > 0 else -1)):
        assert bool(jams(alder.with_faults(slip(mesh, teeth)), "arms and cassette")) == (teeth == least)
    margin = next(m for m in interlock_margins(alder) if m.name == "arms and cassette")
    assert margin.ways == (("carriage", "behind", margin.margin_deg), ("carriage", "ahead", None))
    assert 5.0 < margin.margin_deg < 10.0  # one tooth of the carriage gear, and two
    assert "with the carriage against the loading arms 8.0°" in margin.sentence()
    assert margin.sentence().endswith(" behind.")


def test_each_way_names_its_own_part_in_the_sentence():
    margin = InterlockMargin("gate", "bolt", "gate", 3.0, 5.0, 0.3, 0.5, 1.0, 2.0, "bolt", "gate")
    assert margin.sentence() == (
        "gate: they collide with the bolt against the gate 3.0° (0.3 teeth of the main gear) ahead"
        " or with the gate against the bolt 5.0° (0.5 teeth of the main gear) ahead."
    )
    same = replace(margin, behind_by="bolt").sentence()
    assert same.count("with the") == 1 and same.endswith("(0.5 teeth of the main gear) behind.")


@pytest.mark.parametrize(
    "one, other", [({"hook": "up"}, {"latch": "open"}), ({"latch": "shut"}, {"hook": "down"})]
)
def test_a_part_takes_along_what_hangs_on_it(one, other):
    """Of two parts in one chain only the lower one, the hook's, can be out against the other."""
    file = values()
    file["follower"][2] |= {"part": "lever gear"}
    file["follower"][2]["track"][-1]["until"] = {"deg": 160}
    machine = small(**file | {"interlock": [{"name": "lock", "while": one, "must": other}]})
    (margin,) = interlock_margins(machine)
    tried = 0
    for by, way, deg in margin.ways:
        mesh, sign = mesh_out(machine, margin, by, way)
        assert mesh == "hook cam"
        if deg is not None:
            out = [machine.with_faults(split_gear(mesh, sign * (deg + d))) for d in (-0.01, 0.01)]
            assert [meets(one, "lock") for one in out] == [False, True]
            tried += 1
    assert tried


def test_a_sound_machine_that_collides_is_told_by_the_easier_part():
    """Parts that turn in different stages: the smallest shift that parts them again, of either."""
    alder = load("alder").with_faults(slip("carriage gear", -2))
    margin = next(m for m in interlock_margins(alder) if m.name == "arms and cassette")
    by, way, deg = margin.ways[0]
    assert (by, way) == ("carriage", "behind") and deg < 0
    mended = [alder.with_faults(split_gear("carriage gear", -deg + apart)) for apart in (-0.05, 0.05)]
    assert [meets(one, margin.name) for one in mended] == [True, False]
