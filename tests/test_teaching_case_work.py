"""Work on a bench case: minutes with covers counted once, repairs proved, the log."""

from __future__ import annotations

import random

import pytest
from share import times

from mechlib.bench.checks import CONTACT, LOOK, MARK, TRY, Check, checks_of
from mechlib.bench.drawn_readings import reading_chances
from mechlib.bench.observations import observed
from mechlib.bench.readings import LINES_UP, NOT_TRIED, WORKED, reading
from mechlib.bench.suspects import DIRTY, SLIP, repair_of, suspects
from mechlib.errors import MechError
from mechlib.teaching.bench_cases import (
    LEVELS,
    SLACK_OR_GLAZED,
    BenchCase,
    Hidden,
    Mend,
    bench_case,
    repairs_to_choose,
)
from mechlib.teaching.case_work import (
    ONE_OF_TWO,
    OTHER_CAUSE,
    RIGHT,
    STILL_THERE,
    WRONG_COUNT,
    CaseWork,
    lasting,
)
from mechlib.transports import load
from mechlib.transports.files import DATA
from mechlib.transports.read_table import parse

LEVER, ROTOR = Check(MARK, "lever cam"), Check(MARK, "switch rotor")


def minutes_by_the_file(name: str, covers: list[str]) -> float:
    """Minutes of covers, read from the file's own text."""
    entries = {one["name"]: one["minutes"] for one in parse(DATA / f"{name}.toml")["cover"]}
    return sum(entries[cover] for cover in covers)


def test_a_cover_is_taken_off_once():
    work = CaseWork(bench_case(1, 5))
    alone = work.minutes_of(ROTOR)
    work.check(LEVER)
    assert alone - work.minutes_of(ROTOR) == minutes_by_the_file("birch", ["rear cover"])
    assert work.known.off == {"rear cover", "flywheel bracket"}
    first = work.minutes
    work.check(LEVER)
    assert work.minutes - first == first - minutes_by_the_file("birch", list(work.known.off))


def test_a_wrong_repair_costs_its_minutes_and_leaves_the_machine_as_it_was():
    work = CaseWork(bench_case(1, 7))
    before, complaint = work.hidden, work.known.seen
    dirty = work.mend(work.named(DIRTY, "contacts A and B"))
    assert dirty == OTHER_CAUSE and work.minutes == 11 and not work.closed
    assert work.hidden == before and work.known.seen == complaint
    assert work.mend(work.named(SLIP, "mode switch", -1)) == WRONG_COUNT and work.hidden == before
    assert work.did[-1].result.endswith("set back as it stood")
    assert work.mend(work.named(SLIP, "mode switch", 1)) == RIGHT == work.closed
    assert [one.kind for one in work.did[1].after.ruled_out] == [DIRTY]
    assert [one.teeth for one in work.did[1].after.wrong_teeth] == [-1]
    clocks = [float(line.split("[")[1].split(" min")[0]) for line in work.text().splitlines() if "[" in line]
    assert clocks == [11.0, 18.0, 25.0] and clocks[-1] == work.minutes


def test_what_works_by_luck_is_told_apart_from_what_is_mended():
    work = CaseWork(bench_case(1, 5))
    assert work.mend(work.named(SLIP, "lever cam", 1)) == STILL_THERE == work.closed
    assert "all isn't well: The lever cam is 1 tooth ahead of its mark." in work.text()
    assert "closed, a fault left in it, after" in work.sentence() and "mended" not in work.sentence()


@pytest.mark.parametrize("teeth", [2, -2])
def test_a_machine_whose_changes_cannot_be_tried_is_not_said_to_work(teeth):
    """The lever cam is 2 teeth out; with the rotor moved, too, no change can so much as begin."""
    work = CaseWork(case := bench_case(1, 5))
    mend = work.named(SLIP, "switch rotor", teeth)
    machine = case.machine(case.after(case.hidden, mend))
    tries = [check for check in checks_of(case.filed) if check.kind == TRY]
    assert {reading(machine, case.filed, check).label for check in tries} == {NOT_TRIED}
    assert work.mend(mend) == OTHER_CAUSE and not work.closed and work.hidden == case.hidden
    told = work.did[-1].result
    assert "its start can't be reached; set back as it stood" in told and "lever cam" not in told


@pytest.mark.slow
@pytest.mark.parametrize("level", LEVELS)
def test_what_is_said_to_work_works_in_every_change(level):
    """Every gear set by up to 3 teeth in some cases: what closes a case leaves no change that fails."""
    for number in range(1, 1 + times(6, 25)):
        case = bench_case(level, number)
        for repair in repairs_to_choose(case.filed)[SLIP].values():
            for teeth in (-3, -2, -1, 1, 2, 3):
                work = CaseWork(case)
                if work.mend(mend := Mend(repair, teeth)) != STILL_THERE:
                    continue
                machine = case.machine(case.after(case.hidden, mend))
                tries = [check for check in checks_of(case.filed) if check.kind == TRY]
                assert {reading(machine, case.filed, check).label for check in tries} == {WORKED}


@pytest.mark.parametrize(
    ("number", "of", "teeth"), [(7, "mode switch", 1), (5, "lever cam", 2), (5, "lever cam", 1)]
)
def test_marks_are_said_to_line_up_only_where_they_all_do(number, of, teeth):
    """Each mark is read on the machine as the repair leaves it."""
    work = CaseWork(case := bench_case(1, number))
    mend = work.named(SLIP, of, teeth)
    work.mend(mend)
    left = case.sound.with_faults(*(one.fault for one in case.after(case.hidden, mend)))
    marks = [check for check in checks_of(case.filed) if check.kind == MARK]
    off = [check.of for check in marks if reading(left, case.filed, check).label != LINES_UP]
    assert ("the marks line up" in work.did[-1].result) == (not off) and len(marks) > 1


def test_of_two_faults_the_second_is_looked_for_anew():
    """The first case of two faults of which one is a slip, whichever it is."""
    cases = (bench_case(3, number) for number in range(1, 100))
    case = next(
        one for one in cases if len(one.hidden) == 2 and SLIP in {each.cause.kind for each in one.hidden}
    )
    slip_, other = sorted(case.hidden, key=lambda one: one.cause.kind != SLIP)
    work = CaseWork(case)
    work.check(Check(MARK, slip_.cause.of))
    found = work.mend(work.named(SLIP, slip_.cause.of, slip_.fault.teeth))
    assert found == ONE_OF_TWO and work.hidden == (other,) and not work.closed
    (complaint,) = work.known.seen  # the mark that was looked at is another now
    assert "what changes did before counts no more" in work.did[-1].result
    assert complaint == case.complaint((other,)) and complaint.read.label != WORKED
    rest = case.sound.with_faults(other.fault)
    assert complaint.read in dict(reading_chances(rest, case.filed, complaint.check))
    assert work.mend(Mend(repair_of(case.filed, other.cause))) == RIGHT


def test_what_was_seen_of_other_parts_still_holds_after_the_first_of_two_repairs():
    """Level 3, case 1: contact A intermittent, lever cam a tooth behind."""
    work = CaseWork(bench_case(3, 1))
    looks = [check for check in checks_of(work.case.filed) if check.kind == LOOK]
    changes = [check for check in checks_of(work.case.filed) if check.kind == TRY]
    for check in (*looks, changes[0], LEVER, ROTOR):
        work.check(check)
    seen = work.known.seen
    assert work.mend(work.named(SLIP, "lever cam", -1)) == ONE_OF_TWO
    *kept, proof = work.known.seen
    assert [one.check for one in kept if one.check.kind == LOOK] == [c for c in looks if c.of != "lever cam"]
    assert {one.check.kind for one in kept} <= {LOOK, MARK} and set(kept) <= set(seen)
    assert LEVER not in [one.check for one in kept] and proof.check.kind == TRY


@pytest.mark.slow
@pytest.mark.parametrize("name", ["birch", "alder", "cedar"])
def test_what_is_kept_after_a_repair_reads_the_same_before_and_after(name):
    """Pairs of faults drawn by lot; each mark, contact and part is read with both and with one."""
    filed, dice, kept = load(name), random.Random(14), 0
    faults = [one for one in suspects(filed, 0) if one.faults]
    for first, second in (dice.sample(faults, 2) for _ in range(times(40, 300))):
        repair = repair_of(filed, first.causes[0])
        if repair == repair_of(filed, second.causes[0]):
            continue
        both, left = filed.with_faults(*first.faults, *second.faults), filed.with_faults(*second.faults)
        for check in (one for one in checks_of(filed) if one.kind in (CONTACT, LOOK, MARK)):
            read = dict(reading_chances(both, filed, check))
            if lasting(filed, (observed(filed, check, next(iter(read))),), repair):
                kept += 1
                assert read == dict(reading_chances(left, filed, check)), (check.words, first.sentence())
    assert kept > 100


def test_a_check_made_again_may_read_otherwise_only_by_its_error():
    work = CaseWork(bench_case(1, 7))
    check = Check(MARK, "mode switch")
    assert {work.check(check) for _ in range(5)} == {"teeth off: 1 tooth ahead"}
    sometimes = bench_case(3, 3)
    check = next(check for check in checks_of(sometimes.filed) if check.kind == MARK)
    other = CaseWork(sometimes)
    read = [other.check(check) for _ in range(60)]
    assert read == [CaseWork(sometimes).check(check)] + read[1:] and len(set(read)) > 1


def test_a_new_belt_mends_a_glazed_one_as_well_as_a_slack_one():
    case = bench_case(2, 9)
    assert [one.cause.kind for one in case.hidden] == ["glazed belt"]
    work = CaseWork(case)
    (of,) = repairs_to_choose(case.filed)[SLACK_OR_GLAZED]
    assert work.mend(work.named(SLACK_OR_GLAZED, of)) == RIGHT
    assert work.did[0].sentence().startswith("Fit a new belt (13.0 min): that was it")


def test_what_cannot_be_done_is_refused():
    work = CaseWork(bench_case(1, 7))
    with pytest.raises(MechError, match="Dogwood hasn't this check"):
        work.check(Check(LOOK, "belt"))
    for kind, of, teeth in ((SLIP, "mode switch", 0), (SLIP, "belt", 1), (SLACK_OR_GLAZED, "belt", 0),
                            ("bent lever", "holder", 0), (SLIP, "mode switch", 7),
                            (SLIP, "mode switch", 0.5)):  # fmt: skip
        with pytest.raises(MechError):
            work.named(kind, of, teeth)
    assert work.minutes == 0 and work.did == []
    work.mend(work.named(SLIP, "mode switch", 1))
    for act in (lambda: work.check(checks_of(work.case.filed)[0]), lambda: work.mend(work.did[0].mend)):
        with pytest.raises(MechError, match="is closed"):
            act()


def test_a_repair_is_named_so_that_another_can_make_it():
    work = CaseWork(bench_case(1, 7))
    assert work.named(SLIP, "mode switch", -2).words == "mode switch slipped 2 teeth behind"
    assert isinstance(work.case, BenchCase) and isinstance(work.hidden[0], Hidden)
    assert work.named(DIRTY, "contacts A and B") == Mend(work.named(DIRTY, "contacts A and B").repair)
    assert load("dogwood").name in work.text()
