"""The plan's work on bench cases, the score, the replay."""

from __future__ import annotations

import pytest
from share import times

from mechlib.bench.checks import MARK, Check
from mechlib.bench.fault_finding import find
from mechlib.bench.suspects import DIRTY, ELECTRONICS, NOTHING, SLIP
from mechlib.teaching.bench_cases import bench_case
from mechlib.teaching.case_plan import AS_GOOD, MOST_STEPS, finding, planned, replay, score
from mechlib.teaching.case_work import RIGHT, STILL_THERE, CaseWork, Known

MARK_OF_SWITCH = Check(MARK, "mode switch")


def test_the_plan_mends_every_dogwood():
    cases = (bench_case(1, number) for number in range(1, 1 + times(40, 200)))
    works = [planned(case) for case in cases if case.filed.name == "Dogwood"]
    assert len(works) >= times(12, 60) and {work.closed for work in works} == {RIGHT}
    assert max(len(work.did) for work in works) <= 6 < MOST_STEPS
    wrong = sum(one.found not in ("", RIGHT) for work in works for one in work.did)
    assert wrong <= 0.05 * len(works)


def test_what_the_level_rules_out_and_what_was_tried_has_no_probability():
    work = CaseWork(bench_case(1, 7))
    found, whole = finding(work.case, work.known), find(work.case.filed, work.known.seen)
    kinds = {cause.kind for one in found.ranking for cause in one.causes}
    assert kinds.isdisjoint({NOTHING, ELECTRONICS, "bent lever"})
    assert all(len(one.causes) == 1 for one in found.ranking)
    assert sum(one.probability for one in found.ranking) == pytest.approx(1)
    # What is left keeps its proportions (Bayes' rule with other priors).
    for a, b in zip(found.ranking, found.ranking[1:], strict=False):
        shares = whole.by_cause[a.causes] / whole.by_cause[b.causes]
        assert a.probability / b.probability == pytest.approx(shares)
    tried = Known(
        work.known.seen, (work.named(DIRTY, "contacts A and B"), work.named(SLIP, "mode switch", 1))
    )
    after = finding(work.case, tried)
    assert DIRTY not in {one.causes[0].kind for one in after.ranking}
    teeth = {one.likeliest.faults[0].teeth for one in after.ranking if one.causes[0].of == "mode switch"
             and one.causes[0].way == "ahead"}  # fmt: skip
    assert teeth == {2}


def test_the_score_sets_both_clocks_side_by_side():
    case = bench_case(1, 7)
    plan, work = planned(case), CaseWork(case)
    given_up = score(work, plan)
    assert given_up.ratio is None and "given up after 0.0 min; the plan took 9.0 min." in given_up.sentence()
    work.mend(work.named(DIRTY, "contacts A and B"))
    work.mend(work.named(SLIP, "mode switch", 1))
    found = score(work, plan)
    assert (found.minutes, found.plan_minutes, found.wrong) == (18, 9, 1) and found.ratio == 2 > AS_GOOD
    assert found.sentence().endswith("so 200% of its time: see in the replay where the time went. "
                                     "Wrong repairs: 1.")  # fmt: skip
    assert "as good as the plan" in score(plan, plan).sentence()


def test_a_plan_that_leaves_a_fault_has_mended_nothing():
    """What works now but for a fault that is left is no measure for the reader's minutes."""
    case = bench_case(1, 7)
    work, plan = CaseWork(case), planned(case)
    work.mend(work.named(SLIP, "mode switch", 1))
    plan.closed = STILL_THERE
    found = score(work, plan)
    assert found.plan_minutes is None and found.ratio is None
    assert found.sentence() == "Case 7 of level 1: you took 7.0 min, the plan didn't mend it."


def test_a_lucky_reader_can_be_quicker_than_the_plan():
    case = bench_case(1, 20)
    work = CaseWork(case)
    work.mend(work.named(SLIP, "mode switch", case.hidden[0].fault.teeth))
    assert "best on average, not each time" in score(work, planned(case)).sentence()


def test_the_replay_tells_what_each_step_changed():
    work = CaseWork(bench_case(1, 7))
    work.check(MARK_OF_SWITCH)
    work.mend(work.named(SLIP, "mode switch", 1))
    lines = replay(work, advised=True).splitlines()
    assert [line.split()[0] for line in lines] == ["1.", "tells", "before:", "after:", "2.", "before:"]
    assert lines[1].endswith("the plan would do the same") and "mode switch slipped ahead 100%" in lines[3]
    assert lines[2] != lines[3].replace("after: ", "before:")
    first = finding(work.case, work.did[0].before).first
    assert f"{first.words} {100 * first.probability:.0f}%" in lines[2]


def test_a_check_that_tells_nothing_is_shown_as_such():
    work = CaseWork(bench_case(1, 7))
    work.check(MARK_OF_SWITCH)
    work.check(Check(MARK, "loading gear"))
    told = replay(work, advised=True).splitlines()[5]
    assert told.startswith("   tells 0.00 bits on average; the plan would mend: mode switch slipped off")
