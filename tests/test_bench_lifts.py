"""Which gears to lift and how they move: against every set of lifts tried, and trains turned in fractions."""

from __future__ import annotations

import copy
import random
import tomllib
from fractions import Fraction
from importlib import resources
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times
from small_machine import small, values
from transport_makers import make

from mechlib.bench.lifts import (
    fewest_lifts,
    gear_name,
    lifting_minutes,
    moves,
    slipped_parts,
    turns_along,
    untimed,
)
from mechlib.errors import MechError
from mechlib.transports import load, slip
from mechlib.transports.files import transport_from

ALDER = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))


def with_covers(seed: int) -> dict:
    """A drawn transport with covers and minutes, some of them left out."""
    rng, data = random.Random(f"covers {seed}"), copy.deepcopy(make(seed))
    data["cover"] = [{"name": f"c{i}", "minutes": rng.randint(0, 6)} for i in range(4)]
    for i, cover in enumerate(data["cover"]):
        cover["off_first"] = [f"c{j}" for j in range(i) if rng.random() < 0.4]
    for row in (data["drive"], *data.get("output", []), *data["part"]):
        row["under"] = [f"c{i}" for i in range(4) if rng.random() < 0.3]
        if rng.random() < 0.8:
            row["lift_minutes"] = rng.randint(0, 9)
    return data


def parent_of(row: dict) -> str:
    return "main cam" if row["meshes_with"] == "main gear" else row["meshes_with"]


def minutes_by_hand(data: dict, lifts) -> int:
    rows = {row["name"]: row for row in (*data.get("output", []), *data["part"])}
    rows["main cam"] = data["drive"]
    opened = {row["name"] for row in data["part"] if parent_of(row) in lifts}  # their marks must be seen
    off = {cover for gear in {*lifts, *opened} for cover in rows[gear].get("under", [])}
    for cover in reversed(data.get("cover", [])):  # each waits only for ones above it in the file
        off |= set(cover.get("off_first", [])) if cover["name"] in off else set()
    time = sum(cover["minutes"] for cover in data.get("cover", []) if cover["name"] in off)
    return time + sum(rows[gear].get("lift_minutes", 0) for gear in lifts)


def least_effort(data: dict, slipped: dict) -> tuple:
    """The least of all sets of gears: lifts, those without minutes, minutes, whether the main gear is one."""
    rows = {row["name"]: row for row in (*data.get("output", []), *data["part"])} | {
        "main cam": data["drive"]
    }
    edges = [(row["name"], parent_of(row)) for row in data["part"] if slipped.get(row["name"])]
    return min(
        (
            n,
            sum("lift_minutes" not in rows[g] for g in lifts),
            minutes_by_hand(data, lifts),
            "main cam" in lifts,
        )
        for n in range(len(rows) + 1)
        for lifts in combinations(rows, n)
        if all(set(edge) & set(lifts) for edge in edges)
    )


def slipped_machine(data: dict, slips: dict):
    return transport_from(data, "drawn.toml").with_faults(*(slip(p, n) for p, n in slips.items()))


def check_lifts(data: dict, slips: dict):
    transport = slipped_machine(data, slips)
    lifts = fewest_lifts(transport)
    found = (
        len(lifts),
        len(untimed(transport, lifts)),
        lifting_minutes(transport, lifts),
        "main cam" in lifts,
    )
    assert found == least_effort(data, slips)
    for row in data["part"]:
        assert not slips.get(row["name"]) or {row["name"], parent_of(row)} & set(lifts)


@given(st.integers(0, 59), st.integers(0, 2**6 - 1))
@settings(max_examples=times(8, 60), deadline=None)
def test_no_other_lifts_are_fewer_or_quicker(seed, which):
    data = with_covers(seed)
    check_lifts(data, {row["name"]: 1 for i, row in enumerate(data["part"]) if which >> i & 1})


@pytest.mark.parametrize("number", [1, 2, 3])
def test_alders_lifts_for_all_singles_pairs_and_triples(number):
    for names in combinations([row["name"] for row in ALDER["part"]], number):
        check_lifts(ALDER, dict.fromkeys(names, -1))


def test_a_gear_without_minutes_is_not_taken_for_a_quick_one():
    rows = values()["part"]
    rows[0]["lift_minutes"] = 50
    out = small(part=rows).with_faults(slip("switch", 1))
    assert fewest_lifts(out) == ("switch",) and untimed(out, ("main cam", "switch")) == ("main cam",)


def drive_says(**keys):
    """The small machine with minutes for its main gear; switch and lever gear hang on it."""
    rows = values()["part"]
    rows[0]["lift_minutes"], rows[1]["lift_minutes"] = 2, 3
    return small(part=rows, drive=values()["drive"] | keys)


def test_equal_lifts_are_settled_by_minutes_then_not_by_the_main_gear():
    both = (slip("switch", 1), slip("lever gear", 1))
    assert fewest_lifts(drive_says(lift_minutes=90).with_faults(*both)) == ("main cam",)  # fewest comes first
    one = slip("switch", 1)
    assert fewest_lifts(drive_says(lift_minutes=1).with_faults(one)) == ("main cam",)
    assert fewest_lifts(drive_says(lift_minutes=2).with_faults(one)) == ("switch",)
    assert fewest_lifts(drive_says(lift_minutes=3).with_faults(one)) == ("switch",)
    assert fewest_lifts(small().with_faults(slip("hook cam", 1))) == ("lever gear",)  # first in the file


def test_the_drive_can_be_turned_where_outputs_stay_in():
    both = load("alder").with_faults(slip("loading gear", -1), slip("brake cam", 1))
    assert fewest_lifts(both) == ("main cam",)
    assert fewest_lifts(both, roots_too=False) == ("loading gear", "brake cam")
    drawer = load("cedar").with_faults(slip("drawer rack", 1), slip("lift sector", 1))
    assert fewest_lifts(drawer, roots_too=False) == ("drawer rack", "lift sector")


def test_nothing_out_nothing_lifted():
    for transport in (load("alder"), load("alder").with_faults(slip("worm wheel", 2))):
        assert fewest_lifts(transport) == () == moves(transport) == slipped_parts(transport)
        assert turns_along(transport, ()) == () and lifting_minutes(transport, ()) == 0


def test_most_meshes_at_once():
    row = values()["part"][0]
    rows = values()["part"] + [row | {"name": f"gear {i}"} for i in range(10)]
    machine = small(part=rows)
    twelve = machine.with_faults(*(slip(part.name, 1) for part in machine.parts[:12]))
    assert fewest_lifts(twelve)[0] == "main cam" and len(slipped_parts(twelve)) == 12
    with pytest.raises(MechError, match="13 meshes.*at most 12"):
        fewest_lifts(twelve.with_faults(slip(machine.parts[12].name, 1)))


def test_what_is_ahead_goes_back():
    found = {m.part: m for m in moves(load("alder").with_faults(slip("brake cam", 2), slip("pinch cam", -1)))}
    assert (found["brake cam"].teeth, found["pinch cam"].teeth) == (-2, 1)
    assert found["brake cam"].own_deg == pytest.approx(-2 * 7.2)  # 50 teeth
    assert found["pinch cam"].own_deg == pytest.approx(5.625)  # 64 teeth
    assert (found["brake cam"].parent_teeth, found["pinch cam"].parent_teeth) == (60, 60)
    assert (found["brake cam"].way, found["pinch cam"].way) == ("back", "on")
    assert "2 teeth back, against its loading sense (14.4° of its own)" in found["brake cam"].sentence()
    assert (
        "1 tooth on, in its loading sense (5.6° of its own), on the loading" in found["pinch cam"].sentence()
    )


def turned_in_fractions(data: dict, slips: dict) -> dict:
    """Teeth of its own by which each part turns, parents first, to lose every slip while the drive stands.

    A part is n teeth out where it has turned n teeth of the mesh more than its parent's teeth there have.
    """
    rows, turned = {row["name"]: row for row in data["part"]}, {}
    count = {"main gear": data["drive"]["main_gear_teeth"]}
    count |= {row["name"]: row["teeth"] for row in data.get("output", [])}
    turned |= dict.fromkeys(count, Fraction(0))
    while len(turned) < len(rows) + len(count):
        for name, row in rows.items():
            parent = row["meshes_with"]
            if name not in turned and parent in turned:
                own = count.get(parent) or rows[parent]["teeth"]
                at_mesh = turned[parent] * Fraction(row.get("parent_teeth", own), own)
                turned[name] = at_mesh - slips.get(name, 0)
    return turned


@given(st.integers(0, 59), st.lists(st.integers(-3, 3), min_size=6, max_size=6))
@settings(max_examples=times(6, 40), deadline=None)
def test_what_turns_along_by_turning_the_train(seed, teeth):
    data = make(seed)
    slips = {row["name"]: n for row, n in zip(data["part"], teeth, strict=False) if n}
    transport = slipped_machine(data, slips)
    lifts = fewest_lifts(transport)
    turned = turned_in_fractions(data, slips)
    found = {turn.part: turn for turn in turns_along(transport, lifts)}
    for part in transport.parts:
        if part.name in found:
            assert found[part.name].own_teeth == pytest.approx(float(turned[part.name]), abs=1e-9)
            assert found[part.name].own_deg == pytest.approx(float(turned[part.name]) * 360 / part.teeth)
        elif part.name not in lifts:  # it keeps its meshes all the way to the drive, and stands right
            assert turned[part.name] == 0
            assert not {p for name in transport.chains[part.name] for p in (name, part.parent)} & set(lifts)


def test_what_stays_and_what_turns():
    out = load("alder").with_faults(slip("loading gear", 1), slip("pinch cam", 1))
    assert turns_along(out, ("pinch cam",)) == ()
    (pinch,) = turns_along(out, ("loading gear",))
    assert turns_along(out, ("loading gear", "pinch cam")) == (pinch,)  # lifted or not, it must turn
    # the loading gear is one of its 100 teeth ahead: 0.6 of the 60 of its upper row; and one more of those
    assert pinch.own_teeth == pytest.approx(-1.6) and "back, against" in pinch.sentence()
    # 5 teeth of the loading gear are 3 of its upper row: 5 ahead and 3 behind leave the pinch cam in place
    out = load("alder").with_faults(slip("loading gear", 5), slip("pinch cam", -3))
    (pinch,) = turns_along(out, ("loading gear",))
    assert pinch.sentence() == "The pinch cam stays as it stands."
    (idler,) = turns_along(load("alder").with_faults(slip("brake cam", -1)), ("brake cam",))
    assert idler.sentence() == "The idler cam turns along by 6.0° on, in its loading sense."


def test_a_rack_is_told_in_teeth():
    rows = values()["part"]
    rows[2] |= {"kind": "rack"}
    rack = small(part=rows)
    assert "°" not in moves(rack.with_faults(slip("hook cam", 1)))[0].sentence()
    (turn,) = turns_along(rack.with_faults(slip("lever gear", 3)), ("lever gear",))
    assert turn.sentence() == "The hook cam turns along by 1.0 of its teeth back, against its loading sense."


def test_names_at_the_bench():
    assert (gear_name("main cam"), gear_name("arm")) == ("main gear", "arm")


def test_minutes_count_each_cover_once():
    alder = load("alder")
    assert lifting_minutes(alder, ("pinch cam",)) == 4 + 3 + 2.5
    assert lifting_minutes(alder, ("pinch cam", "loading gear", "main cam")) == 4 + 3 + 2.5 + 3 + 9
    with pytest.raises(MechError):
        lifting_minutes(alder, ("worm wheel",))
