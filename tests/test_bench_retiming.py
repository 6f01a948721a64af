"""Re-timing: its moves undo every slip, its steps stand in order and say what was computed."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from second_way import Machine
from share import share
from small_machine import small, values
from transport_makers import make

from mechlib import transports as tr
from mechlib.bench import retiming
from mechlib.errors import MechError
from mechlib.transports.change_table import change_table
from mechlib.transports.faults import Slip
from mechlib.transports.files import transport_from
from mechlib.transports.hardware import Access

ALDER = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))

KINDS = ("tape", "caution", "cover off", "bring", "springs", "bearing off", "lift", "bring open", "cause",
         "mend too", "by marks", "turn along", "move", "marks", "secure", "bearing on", "springs on",
         "cover on", "by hand", "power", "look", "try", "check", "plug out", "marks again",
         "close")  # fmt: skip


def words_of(plan, kind: str) -> list[str]:
    return [step.sentence() for step in plan.steps if step.kind == kind]


def ends(transport) -> dict:
    """How every change ends, and where."""
    return {
        pair: (
            cell.change.outcome,
            cell.change.why,
            cell.change.stand and cell.change.stand.theta,
            cell.differs,
        )
        for pair, cell in change_table(transport).items()
    }


def check_plan(data: dict, transport, plan):
    """What every plan must hold; the slips are put in and taken out by the second way, too."""
    slips = dict(transport.slips)
    timed = [row["name"] for row in data["part"]]
    assert {move.part for move in plan.moves} == set(slips) & set(timed)
    assert all(move.teeth == -slips[move.part] for move in plan.moves)
    left = {part: slips.get(part, 0) for part in timed}
    for move in plan.moves:
        left[move.part] += move.teeth
    machine = Machine(data)
    assert [p.shift for p in machine.with_faults(slips=left).parts] == [p.shift for p in machine.parts]
    parents = {"main gear": "main cam"}
    lifted = set(plan.lifts)
    for row in data["part"]:
        if row["name"] in slips:
            assert {row["name"], parents.get(row["meshes_with"], row["meshes_with"])} & lifted
    kinds = list(dict.fromkeys(step.kind for step in plan.steps))
    assert kinds == [kind for kind in KINDS if kind in kinds]
    numbers = [int(n) for n in re.findall(r"^ ?(\d+)\. ", plan.text(), re.MULTILINE)]
    assert numbers == list(range(1, len(plan.steps) + 1)) and plan.text().startswith(plan.sentence())
    if not plan.moves:
        assert plan.steps == () and "Nothing is to be re-timed" in plan.sentence()
        return
    assert {"caution", "lift", "cause", "marks", "secure", "by hand", "try"} <= set(kinds)
    assert ("bring" in kinds) == ("move" in kinds) and {"bring", "bring open"} & set(kinds)
    assert ("bring open" in kinds) == ("by marks" in kinds)
    failed = {pair for pair, cell in change_table(transport).items() if not cell.change.good}
    assert set(plan.changes_to_try) == failed <= set(pairwise(plan.walk))
    assert plan.walk[0] == transport.reference_mode


SLOW = pytest.mark.slow


@pytest.mark.parametrize("number", [1, pytest.param(2, marks=SLOW), pytest.param(3, marks=SLOW)])
def test_alders_slips_are_set_right(number):
    sound = tr.load("alder")
    table, margins, locks = ends(sound), tr.margins(sound), tr.interlock_margins(sound)
    ways = [(1,), (-2,)] if number == 1 else [(1, -1), (2, 2)] if number == 2 else [(1, -1, 1)]
    for meshes in share(combinations(sound.mesh_names, number), 5):
        for teeth in ways:
            slipped = sound.with_faults(*map(tr.slip, meshes, teeth))
            plan = retiming(slipped)
            check_plan(ALDER, slipped, plan)
            assert tr.margins(plan.repaired) == margins and tr.interlock_margins(plan.repaired) == locks
            assert ends(plan.repaired) == table


@given(st.integers(0, 59), st.lists(st.integers(-2, 2), min_size=6, max_size=6), st.booleans())
@settings(max_examples=12, deadline=None)
def test_drawn_slips_are_set_right(seed, teeth, cyclic):
    data = make(seed, cyclic)
    sound = transport_from(data, "drawn.toml")
    faults = [tr.slip(part.name, n) for part, n in zip(sound.parts, teeth, strict=False)]
    plan = retiming(sound.with_faults(*faults))
    check_plan(data, sound.with_faults(*faults), plan)
    assert plan.repaired == sound and tr.margins(plan.repaired) == tr.margins(sound)


def test_a_part_that_is_ahead_is_moved_back():
    machine = Machine(ALDER)
    for name in [row["name"] for row in ALDER["part"]]:
        ahead = machine.with_faults(slips={name: 1})
        shift = next(part.shift for part in ahead.parts if part.name == name)
        (move,) = retiming(tr.load("alder").with_faults(tr.slip(name, 1))).moves
        assert shift > 0 > move.teeth and move.own_deg < 0
        (move,) = retiming(tr.load("alder").with_faults(tr.slip(name, -1))).moves
        assert move.teeth == 1 and move.own_deg > 0


def test_where_it_stands():
    slipped = tr.load("alder").with_faults(tr.slip("mode switch", 1))
    assert "From 205.9° to 0°" in words_of(retiming(slipped, "PLAY"), "bring")[0]  # 4.5 degrees early
    assert "From −100.0° to 0°" in words_of(retiming(slipped, -100), "bring")[0]
    assert "From −11" in words_of(retiming(slipped, "EJECT"), "bring")[0]  # reached unloading only
    for wrong in (-118.1, 268.1, "REWIND", True, float("nan"), [1]):
        with pytest.raises(MechError):
            retiming(slipped, wrong)
    with pytest.raises(MechError, match="cannot be reached"):
        retiming(small().with_faults(tr.slip("switch", 5)), "IN")


def test_a_file_that_gives_no_minutes():
    plan = retiming(small().with_faults(tr.slip("switch", 1)))
    assert plan.untimed == ("switch",) and plan.minutes == 0 and plan.lifts == ("switch",)
    assert "the file gives no minutes for lifting the switch" in plan.sentence()
    assert "min for covers" not in plan.sentence()
    assert words_of(plan, "cover off") == [] == words_of(plan, "cover on")
    assert words_of(plan, "cause")[0] == "The switch: what keeps it on its shaft, and did that let it rise?"
    assert words_of(plan, "lift") == ["Lift the switch off the main gear."]
    assert small().part("switch").access == Access()


def test_a_sound_machine_and_a_slip_that_times_nothing():
    assert retiming(tr.load("alder")).steps == ()
    plan = retiming(tr.load("alder").with_faults(tr.slip("worm wheel", 3)))
    assert plan.steps == () == plan.lifts == plan.walk == plan.changes_to_try
    assert "no timing depends on the worm wheel" in plan.sentence()
    both = tr.load("alder").with_faults(tr.slip("worm wheel", 3), tr.slip("idler cam", 1))
    assert [move.part for move in retiming(both).moves] == ["idler cam"]


def test_a_slip_that_no_change_shows_is_set_right_too():
    rows = values()["part"]
    plan = retiming(small(part=[*rows, rows[0] | {"name": "oil pump"}]).with_faults(tr.slip("oil pump", 2)))
    assert plan.moves[0].teeth == -2 and plan.changes_to_try == () and plan.walk == ("IN",)
    assert len(words_of(plan, "try")) == 1 and "No change failed" in plan.sentence()


def test_slips_beyond_what_one_fault_may_say():
    far = tr.load("alder").with_faults(Slip("mode switch", 60), Slip("mode switch", 60))
    assert retiming(far).moves[0].teeth == -120 and retiming(far).repaired == tr.load("alder")
