"""Bench cases: the same on every copy, a complaint in each, readings that follow from the fault."""

from __future__ import annotations

import pytest
from edges import check_edges
from share import times

from mechlib.bench.checks import LOOK, MARK, TRY, Check, checks_of
from mechlib.bench.observations import ERROR_RATE, SURE
from mechlib.bench.readings import LINES_UP, NOT_TRIED, TEETH_OFF, WORKED, labels_of, reading
from mechlib.bench.suspects import ELECTRONICS, NOTHING, SLIP, Cause, Repair, Suspect, repair_of, suspects
from mechlib.errors import MechError
from mechlib.teaching.bench_cases import (
    LEVELS,
    MOST_NUMBER,
    SLACK_OR_GLAZED,
    BenchCase,
    Hidden,
    Mend,
    allowed,
    bench_case,
    checks_by_kind,
    repairs_to_choose,
    told,
)
from mechlib.transports import change, intermittent_contact, load, slip

NUMBERS = range(1, 1 + times(20, 200))
# What these cases hide: if a drawing changes, everybody's numbers mean other cases.
PINNED = {
    (1, 4): ("Dogwood", "Contact A is dirty: each arc is short by 6.0° at both ends."),
    (1, 5): ("Birch", "The lever cam is 2 teeth ahead of its mark."),
    (1, 7): ("Dogwood", "The mode switch is 1 tooth ahead of its mark."),
    (2, 1): ("Birch", "The solenoid does not pull."),
    (2, 2): ("Alder", "Nothing mechanical: look to the electronics."),
    (2, 4): ("Alder", "The pinch cam has turned on its shaft by −9.5° of the main cam."),
    (3, 2): (
        "Cedar",
        "The grease on the rocker gear has gone hard: 253.5 N·mm more. "
        "Contact P is dirty: each arc is short by 2.2° at both ends.",
    ),
    (3, 1): (
        "Birch",
        "Contact A is intermittent: each of its arcs passes 90 times in a hundred. "
        "The lever cam is 1 tooth behind its mark.",
    ),
    (3, 5): ("Alder", "Contact A is dirty: each arc is short by 3.0° at both ends."),
}


@pytest.mark.parametrize("level, number", PINNED)
def test_a_number_is_the_same_case_on_every_copy(level, number):
    case = bench_case(level, number)
    hidden = " ".join(one.sentence() for one in case.hidden)
    assert (case.filed.name, hidden) == PINNED[level, number]
    bench_case.cache_clear()
    again = bench_case(level, number)
    assert again is not case and again == case and again.sentence() == case.sentence()


def fails(case, hidden) -> set[tuple[str, str]]:
    """The changes that fail, asked of the simulation itself."""
    machine, names = case.machine(hidden), case.filed.mode_names
    pairs = [(a, b) for a in names for b in names if a != b and change(case.filed, a, b).good]
    return {pair for pair in pairs if reading(machine, case.filed, Check(TRY, None, *pair)).label
            not in (WORKED, NOT_TRIED)}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("level", LEVELS)
def test_every_case_has_a_complaint_that_is_no_working_change(level):
    names, pairs = set(), 0
    for number in NUMBERS:
        case = bench_case(level, number)
        names.add(case.filed.name.lower())
        pairs += len(case.hidden) == 2
        for part in {case.hidden, *((one,) for one in case.hidden)}:
            seen = case.complaint(part)
            assert seen.check.kind == TRY and seen.read.label not in (WORKED, NOT_TRIED)
        assert allowed(case.level, Suspect((), tuple(one.cause for one in case.hidden), 1.0))
        assert "nan" not in case.sentence() and case.complaint(()) is None
    assert names == set(LEVELS[level].transports)
    assert (
        (0.1 < pairs / len(NUMBERS) < 0.35) if level == 3 else pairs == 0
    )  # many pairs are drawn again: each must show


@pytest.mark.parametrize("level, number", [(1, 5), (1, 7), (2, 1), (2, 4), (3, 3)])
def test_the_complaint_is_one_of_the_changes_that_fail(level, number):
    case = bench_case(level, number)
    seen = case.complaint(case.hidden)
    assert (seen.check.start, seen.check.target) in fails(case, case.hidden)
    assert not fails(case, ())


def test_readings_are_those_of_the_machine_and_the_same_each_time():
    case = bench_case(1, 7)
    machine = load("dogwood").with_faults(slip("mode switch", 1))
    for check in checks_of(case.filed):
        seen = case.read(check, 0, case.hidden)
        assert seen == case.read(check, 3, case.hidden)
        assert seen.read == reading(machine, case.filed, check) and seen.error_rate == SURE


def test_a_twentieth_of_the_readings_of_level_3_are_wrong():
    case = bench_case(3, 3)
    right = {check: reading(case.machine(case.hidden), case.filed, check) for check in checks_of(case.filed)}
    seen = [(check, case.read(check, time, case.hidden)) for check in right for time in range(30)]
    other = sum(one.read != right[check] for check, one in seen)
    assert 0.02 < other / len(seen) < 0.08 and {one.error_rate for _, one in seen} == {ERROR_RATE}
    assert all(one.read.label in labels_of(case.filed, check) for check, one in seen)
    marks = [one.read for check, one in seen if check.kind == MARK and one.read.label == TEETH_OFF]
    assert all(read.number and read.number == round(read.number) for read in marks)


def test_electronics_do_anything_on_command_and_leave_the_rest_right():
    case = bench_case(2, 2)
    assert case.hidden[0].cause.kind == ELECTRONICS and case.machine(case.hidden) == case.sound
    commanded = [c for c in checks_of(case.filed) if c.kind == TRY]
    labels = {case.read(check, 1, case.hidden).read.label for check in commanded}
    works = sum(case.read(check, 1, case.hidden).read.label == WORKED for check in commanded)
    assert len(labels) > 4 and 0.35 < works / len(commanded) < 0.75
    for check in (c for c in checks_of(case.filed) if c.kind == MARK):
        assert case.read(check, 1, case.hidden).read.label == LINES_UP


def test_what_a_repair_leaves():
    case = bench_case(1, 7)
    assert case.after(case.hidden, Mend(Repair(SLIP, "mode switch"), 1)) == ()
    (left,) = case.after(case.hidden, Mend(Repair(SLIP, "mode switch"), -2))
    assert left == Hidden(Cause(SLIP, "mode switch", "ahead"), slip("mode switch", 3))
    two = case.after(case.hidden, Mend(Repair(SLIP, "loading gear"), 1))
    assert two == (*case.hidden, Hidden(Cause(SLIP, "loading gear", "behind"), slip("loading gear", -1)))
    dirty = bench_case(1, 4)
    assert dirty.after(dirty.hidden, Mend(repair_of(dirty.filed, Cause("dirty contact", "B")))) == ()
    assert dirty.after(dirty.hidden, Mend(Repair("bent lever", "holder"))) == dirty.hidden


def test_a_slip_moved_back_by_too_little_is_a_smaller_slip():
    case = bench_case(1, 5)
    left = case.after(case.hidden, Mend(Repair(SLIP, "lever cam"), 1))
    assert case.machine(left) == load("birch").with_faults(slip("lever cam", 1))


@pytest.mark.parametrize("name", ["alder", "birch", "dogwood"])
def test_everything_can_be_named_and_asked(name):
    transport = load(name)
    every = {repair for some in repairs_to_choose(transport).values() for repair in some.values()}
    assert every == {
        repair_of(transport, cause)
        for one in suspects(transport)
        for cause in one.causes
        if cause.kind != NOTHING
    }
    common = repairs_to_choose(transport, LEVELS[1].kinds)
    assert set(common) <= {*LEVELS[1].kinds, SLACK_OR_GLAZED} and SLIP in common
    assert all(common[kind] == repairs_to_choose(transport)[kind] for kind in common)
    assert sum(checks_by_kind(transport).values(), ()) == tuple(
        sorted(checks_of(transport), key=lambda check: list(checks_by_kind(transport)).index(check.kind))
    )


def test_readings_are_told_with_their_unit():
    case = bench_case(1, 5)
    assert told(case.filed, case.complaint(case.hidden)).endswith(", standing at 331.1° of the main cam")
    said = {check.kind: told(case.filed, case.read(check, 0, case.hidden)) for check in checks_of(case.filed)}
    assert said[LOOK] == "as it should be" and said["volts at the motor"].endswith(" V by its file)")
    assert said["time a change"].endswith(" s by its file)")
    assert said["motor current"].endswith(" A by its file)")
    assert said["read a contact"].startswith("closes, over ") and said["read a contact"].count("°") == 2


def test_beside_what_is_measured_stands_what_a_sound_machine_reads():
    """Each measured check of each machine, read on the machine of its file."""
    for name in ("alder", "birch", "cedar", "dogwood"):
        filed, hidden = load(name), ()
        case = BenchCase(LEVELS[2], 1, filed, filed, hidden)
        for check in checks_of(filed):
            read = case.read(check, 0, hidden)
            words = told(filed, read)
            if check.kind in (TRY, LOOK, MARK):
                assert "by its file" not in words
            else:
                value = words.removesuffix(" by its file)").split("(")[1]
                assert words.split("(")[0].count(value) == 1, words


def test_level_1_says_which_faults_are_common_and_its_cases_have_no_others():
    said = LEVELS[1].sentence()
    assert all(kind in said for kind in LEVELS[1].kinds) and "open contact" in said
    for number in range(1, 40):
        assert bench_case(1, number).hidden[0].cause.kind in said


def sometimes(passes: float) -> BenchCase:
    """Dogwood with contact B passing only sometimes."""
    hidden = Hidden(Cause("intermittent contact", "B"), intermittent_contact("B", passes))
    return BenchCase(LEVELS[1], 1, load("dogwood"), load("dogwood"), (hidden,))


def test_an_intermittent_contact_reads_as_often_as_it_passes_and_the_same_on_every_copy():
    case, check = sometimes(0.7), Check(TRY, start="STOP", target="PLAY")
    seen = [case.read(check, time, case.hidden) for time in range(400)]
    assert seen[:50] == [sometimes(0.7).read(check, time, case.hidden) for time in range(50)]
    worked = sum(one.read.label == WORKED for one in seen) / len(seen)
    assert abs(worked - 0.7) < 4 * (0.7 * 0.3 / len(seen)) ** 0.5  # only B at PLAY matters


def test_what_fails_seldom_is_a_complaint_all_the_same_until_it_is_cleaned():
    case = sometimes(0.99)
    seen = case.complaint(case.hidden)
    assert seen.read.label not in (WORKED, NOT_TRIED)
    left = case.after(case.hidden, Mend(repair_of(case.filed, Cause("dirty contact", "A"))))
    assert left == () and case.complaint(left) is None


def test_bad_levels_and_numbers_are_refused():
    check_edges(lambda number: bench_case(1, int(number)), 1, MOST_NUMBER, whole=True)
    for level in (0, 4, "1", None):
        with pytest.raises(MechError, match="it must be 1, 2 and 3"):
            bench_case(level, 1)
    assert [level.sentence().split(":")[0] for level in LEVELS.values()] == ["Level 1", "Level 2", "Level 3"]
