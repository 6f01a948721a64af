"""Every printed value of the handbook is set beside what the library or plain counting gives."""

from __future__ import annotations

import importlib
import math
import tomllib
from dataclasses import FrozenInstanceError, replace
from functools import cache
from pathlib import Path

import pytest

import mechlib.handbook
from mechlib.errors import MechError
from mechlib.handbook import STATUSES, compare, count_by_status, table, tolerance, values
from mechlib.handbook.compare import parse

TOML = Path(mechlib.handbook.__file__).with_name("values.toml")


def turns_until_the_same_teeth_meet(z1: int, z2: int) -> tuple[int, int]:
    """Count tooth by tooth until tooth 0 of both gears meet again."""
    passed = 1
    while passed % z1 or passed % z2:
        passed += 1
    return passed // z1, passed // z2


@cache  # not while tests are collected: it takes seconds
def computed() -> dict[tuple[str, str], float]:
    found = {}
    for z1, z2 in ((11, 30), (21, 22), (20, 30)):
        for gear, turns in enumerate(turns_until_the_same_teeth_meet(z1, z2), 1):
            found["R3", f"{z1} × {z2}, turns of gear {gear}"] = turns
    for module in sorted(Path(__file__).parent.glob("handbook_*.py")):
        found |= importlib.import_module(module.stem).computed()
    return found


def test_every_printed_value_is_computed_and_nothing_else():
    assert set(values()) == set(computed())


@pytest.mark.parametrize("id, key", sorted(values()))
def test_computed_agrees_with_the_print_except_where_a_note_says_so(id, key):
    comparison = compare(id, key, computed()[id, key])
    assert comparison.agrees == (comparison.value.note == ""), comparison.sentence()


@pytest.mark.parametrize("id, key", sorted(values()))
def test_a_unit_more_in_the_last_place_would_not_agree(id, key):
    value = values()[id, key]
    if math.isinf(value.number):
        assert not compare(id, key, 1e12).agrees
        return
    step = 1e-6 * max(1, abs(value.number)) if value.exact else 10.0**-value.digits
    for wrong in (value.number + 0.6 * step, value.number - 0.6 * step):
        assert not compare(id, key, wrong).agrees
    room = 1e-10 if value.exact else 0.4 * step
    for right in (value.number + room, value.number - room):
        assert compare(id, key, right).agrees


def test_the_file_holds_strings_sources_and_known_states():
    for entry in tomllib.loads(TOML.read_text("utf-8"))["value"]:
        assert len(entry["source"]) > 10 and entry["status"] in STATUSES and entry["rows"]
        for row in entry["rows"]:
            assert isinstance(row["printed"], str)
            assert set(row) <= {"key", "printed", "unit", "exact", "note"}


def test_the_counts_are_those_of_the_file():
    text = TOML.read_text("utf-8")
    assert sum(count_by_status().values()) == text.count("printed =")
    assert list(count_by_status()) == list(STATUSES)
    assert count_by_status()["memory"] == sum(v.status == "memory" for v in values().values())


@pytest.mark.parametrize(
    "printed, room", [("4.945", 0.0005), ("60", 0.5), ("0.10", 0.005), ("-3.5", 0.05), ("1200.0", 0.05)]
)
def test_tolerance_is_half_a_unit_in_the_last_printed_place(printed, room):
    assert tolerance(printed) == pytest.approx(room, rel=1e-12)


@pytest.mark.parametrize("printed, room", [("0.5", 1e-9), ("1", 1e-9), ("40", 4e-8), ("-1.875", 1.875e-9)])
def test_an_exact_value_leaves_room_for_rounding_only(printed, room):
    assert tolerance(printed, exact=True) == pytest.approx(room, rel=1e-9)


def test_the_edge_of_the_tolerance_still_agrees():
    assert compare("C2", "peak velocity out", 0.385).agrees
    assert compare("C2", "peak velocity out", 0.395).agrees
    assert not compare("C2", "peak velocity out", 0.3951).agrees


def test_infinity_agrees_with_infinity_only():
    assert compare("law simple harmonic", "peak jerk", math.inf).agrees
    assert not compare("law simple harmonic", "peak jerk", -math.inf).agrees
    assert not compare("law cycloidal", "peak jerk", math.inf).agrees


def test_sentences_say_both_values_the_verdict_and_the_status():
    wrong = compare("law table", "simple harmonic peak acceleration", math.pi**2 / 2)
    assert wrong.sentence() == (
        "A well-known printed table of cam laws, simple harmonic peak acceleration: computed 4.9348, "
        "printed 4.945; they differ: theory gives π²/2 = 4.9348 (memory)."
    )
    assert wrong.source == values()["law table", "simple harmonic peak acceleration"].source
    right = compare("C2", "peak acceleration out", 6.168503)
    assert "computed 6.17 m/s², printed 6.17 m/s²; they agree (published)" in right.sentence()
    assert compare("law simple harmonic", "peak jerk", math.inf).computed_text == "∞"


def test_a_difference_always_shows():
    for off in (1e-3, 1e-5, 1e-7):
        comparison = compare("law 3-4-5", "peak jerk", 60 + off)
        assert not comparison.agrees
        assert float(comparison.computed_text) != 60


def test_the_table_is_narrow_aligned_and_complete():
    comparisons = [compare(id, key, number) for (id, key), number in computed().items()]
    lines = table(comparisons).split("\n")
    assert (
        max(map(len, lines)) == 96
    )  # the widest that is allowed: one name here is long enough to be wrapped
    body = lines[1 : lines.index("")]
    rows = [line for line in body if line.endswith("]")]
    assert len(rows) == len(comparisons)
    verdicts = {line.rfind("agrees" if "agrees" in line else "differs") for line in rows}
    assert len(verdicts) == 1  # one column
    for comparison, row in zip(comparisons, rows, strict=True):
        numbers = row.split(" [")[0].split()
        assert comparison.computed_text in numbers and comparison.published in numbers
        mark = row.rsplit(" ", 1)[1]
        start = next(i for i, line in enumerate(lines) if line.startswith(mark))
        assert comparison.source[:40] in lines[start]
        assert f"({comparison.status})" in " ".join(lines[start : start + 2])
    notes = " ".join(line.strip() for line in lines)
    assert all(c.value.note in notes for c in comparisons)


def test_an_empty_table_is_only_a_heading():
    assert table([]).split("\n")[0].split() == ["value", "computed", "printed"]


ENTRY = """
[[value]]
id = "Z"
what = "thing"
inputs = "none"
source = "nowhere in particular"
status = "derived"
rows = [{ key = "a", printed = "1.5" }]
"""


def test_a_good_entry_is_read():
    value = parse(ENTRY)["Z", "a"]
    assert (value.number, value.digits, value.unit, value.exact) == (1.5, 1, "", False)
    assert replace(value, printed="∞").number == math.inf
    for thing, name in ((value, "printed"), (compare("C3", "peak velocity", 1), "agrees")):
        with pytest.raises(FrozenInstanceError):
            setattr(thing, name, True)


@pytest.mark.parametrize(
    "old, new, message",
    [
        ('"derived"', '"certain"', "'Z', 'a'.*status is 'certain'.*published, recomputed"),
        ('source = "nowhere in particular"', "", "'Z', 'a'.*source"),
        ('inputs = "none"', 'inputs = "none"\ncolour = "red"', "'Z', 'a'.*colour"),
        ('"1.5"', '"about one"', "'Z', 'a'.*about one"),
        ('"1.5"', '"nan"', "'Z', 'a'.*must be a number"),
        ('"1.5"', "1.5", "'Z', 'a'.*number as a string"),
        ('"1.5" }', '"1.5" }, { key = "a", printed = "2" }', "'Z', 'a'.*twice"),
    ],
)
def test_bad_entries_are_refused(old, new, message):
    assert old in ENTRY
    with pytest.raises(MechError, match=message):
        parse(ENTRY.replace(old, new))


def test_unknown_values_are_refused_with_what_there_is():
    with pytest.raises(MechError, match="the entries are .*C2"):
        compare("C99", "peak velocity", 1)
    with pytest.raises(MechError, match="'C3' has peak velocity and peak acceleration"):
        compare("C3", "peak speed", 1)


@pytest.mark.parametrize("bad", [math.nan, "1.0", None, True])
def test_a_computed_value_must_be_a_number(bad):
    with pytest.raises(MechError, match="it must be a number"):
        compare("C3", "peak velocity", bad)
