"""The plan's work on bench cases, the score, the replay."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from share import times

from mechlib.bench.checks import CURRENT, MARK, TRY, Check
from mechlib.bench.fault_finding import find
from mechlib.bench.outlook import MOST_TIMES, outlook
from mechlib.bench.readings import HELD_UP
from mechlib.bench.suspects import DIRTY, ELECTRONICS, NOTHING, SLIP, Suspect, suspects
from mechlib.teaching.bench_cases import LEVELS, bench_case
from mechlib.teaching.case_plan import (
    ABOUT_AS_FAST,
    MOST_STEPS,
    _step,
    finding,
    mends_of,
    planned,
    reckoned,
    replay,
    score,
)
from mechlib.teaching.case_work import OTHER_CAUSE, RIGHT, STILL_THERE, WRONG_COUNT, CaseWork, Known
from mechlib.transports import load

MARK_OF_SWITCH = Check(MARK, "mode switch")


def _faults(case):
    """The hidden faults and causes of a case."""
    return tuple(one.fault for one in case.hidden), tuple(one.cause for one in case.hidden)


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
    cleaned = Known(work.known.seen, (work.named(DIRTY, "contacts A and B").repair,))
    after = finding(work.case, cleaned)
    assert {one.causes[0].kind for one in after.ranking} == {SLIP, "open contact"}


def test_right_gear_and_wrong_teeth_leave_that_gear_alone_with_its_other_teeth():
    """Said at once: with this complaint the switch was improbable, and now it is certain."""
    work = CaseWork(bench_case(1, 20))
    assert work.mend(work.named(SLIP, "mode switch", 3)) == WRONG_COUNT
    found = finding(work.case, work.known)
    left = [state for chance, state in zip(found.probabilities, found.foretold.states, strict=True) if chance]
    assert {state.causes[0].of for state in left} == {"mode switch"}
    assert {state.faults[0].teeth for state in left} == {-3, -2, -1, 1, 2}
    before, after = replay(work).splitlines()[1:3]
    assert before.startswith("   before: contact B dirty 94%") and "contact" not in after


def test_another_cause_rules_out_all_teeth_of_the_gear():
    work = CaseWork(bench_case(1, 5))
    assert work.mend(work.named(SLIP, "switch rotor", 1)) == OTHER_CAUSE
    left = {one.causes[0] for one in finding(work.case, work.known).ranking}
    assert "switch rotor" not in {cause.of for cause in left if cause.kind == SLIP}


@pytest.mark.parametrize("number", [5, 113, 141])
def test_the_plan_sets_no_gear_by_teeth_that_it_has_not_seen(number):
    """Birches whose lever cam is out by 2, −3 and 3 teeth: the complaint alone speaks for another number."""
    plan = planned(bench_case(1, number))
    assert plan.closed == RIGHT and [one.found for one in plan.did] == ["", RIGHT]
    assert plan.did[0].check == Check(MARK, "lever cam")


@pytest.mark.slow
def test_the_plan_leaves_no_fault_and_names_no_wrong_teeth_in_any_slipped_gear_of_level_1():
    cases = (bench_case(1, number) for number in range(1, 1 + times(150, 1200)))
    works = [planned(case) for case in cases if case.hidden[0].cause.kind == SLIP]
    assert len(works) > 5 and {work.closed for work in works} == {RIGHT}
    for work in works:
        last = work.did[-1].mend.repair.of
        assert last in {one.check.of for one in work.did if one.check and one.check.kind == MARK}
        assert WRONG_COUNT not in {one.found for one in work.did}


def test_after_wrong_teeth_the_plan_looks_at_the_mark_again():
    """On level 3 a look may have been read wrongly; a second setting isn't made by the first look."""
    work = CaseWork(bench_case(1, 20))
    work.check(MARK_OF_SWITCH)
    work.mend(work.named(SLIP, "mode switch", 3))
    work.check(MARK_OF_SWITCH)
    assert replay(work, advised=True).splitlines()[-3].endswith("the plan would do the same")


def test_a_look_is_credited_with_the_teeth_that_it_tells():
    """The lever cam is nearly certain; by how many teeth it is out is what the look tells."""
    work = CaseWork(bench_case(1, 5))
    work.check(Check(MARK, "lever cam"))
    _step, told, before, after = replay(work, advised=True).splitlines()
    assert 0.4 < float(told.split()[1]) < 1.0 and told.endswith("the plan would do the same")
    assert "lever cam slipped 2 teeth ahead 8" in before and "lever cam slipped 3 teeth ahead" in before
    assert after == "   after:  lever cam slipped 2 teeth ahead 100%"


def test_a_look_before_setting_pays_from_16_slipped_switches_in_100():
    """By hand: 2 minutes in each that isn't slipped, 11 saved in each that is; 100 - n times 2 is 11 n."""
    work = CaseWork(bench_case(1, 7))
    found = finding(work.case, work.known)
    look = outlook(found)
    slipped = look.unit_of == [unit[0].of for unit in look.units].index("mode switch")
    dirty = look.unit_of == [unit[0].kind for unit in look.units].index(DIRTY)
    for share, first in ((0.145, None), (0.165, MARK_OF_SWITCH)):
        weights = np.where(slipped, look.probability / look.probability[slipped].sum() * share, 0.0)
        weights += np.where(dirty, look.probability / look.probability[dirty].sum() * (1 - share), 0.0)
        assert _step(replace(look, probability=weights), work.known).check == first


def test_a_change_that_held_the_motor_up_is_said_not_to_be_weighed():
    work = CaseWork(bench_case(1, 5))
    again = work.known.seen[0].check
    assert work.known.seen[0].read.label == HELD_UP
    assert work.check(again).endswith(
        "it has held the motor up: at the bench ask for it again only after a repair, the motor cooled"
    )
    told = replay(work, advised=True).splitlines()[1]
    assert told.startswith("   not weighed, as it has held the motor up") and "bits on average" not in told


def test_every_check_that_a_case_lets_one_read_is_weighed():
    """A case's machine is put into the mode asked from, also where no change would lead it there."""
    for level, check in (
        (1, Check(TRY, start="STOP", target="PAUSE")),
        (2, Check(CURRENT, start="STOP", target="PLAY")),
    ):
        work = CaseWork(bench_case(level, 5))
        work.check(check)
        assert check not in outlook(finding(work.case, work.did[0].before)).tables
        assert replay(work, advised=True).splitlines()[1].startswith("   tells ")


def test_a_check_is_said_not_to_be_weighed_for_its_reason():
    work = CaseWork(bench_case(1, 7))
    for _ in range(MOST_TIMES + 1):
        work.check(MARK_OF_SWITCH)
    told = replay(work, advised=True).splitlines()[-3]
    assert told.startswith("   not weighed, as it was made 4 times before;")


def test_the_score_sets_both_clocks_side_by_side():
    case = bench_case(1, 7)
    plan, work = planned(case), CaseWork(case)
    given_up = score(work, plan)
    assert given_up.ratio is None and "given up after 0.0 min; the plan took 9.0 min." in given_up.sentence()
    work.mend(work.named(DIRTY, "contacts A and B"))
    work.mend(work.named(SLIP, "mode switch", 1))
    found = score(work, plan)
    assert (found.minutes, found.plan_minutes, found.wrong) == (18, 9, 1) and found.ratio == 2 > ABOUT_AS_FAST
    assert found.sentence().endswith("so 200% of its time: see in the replay where the time went. "
                                     "Wrong repairs: 1.")  # fmt: skip
    assert score(plan, plan).sentence().endswith("100% of its time: about as fast as the plan.")


def test_a_guess_that_was_as_fast_is_said_to_be_a_guess():
    case = bench_case(1, 20)
    work = CaseWork(case)
    for teeth in (3, -4, -3):
        work.mend(work.named(SLIP, "mode switch", teeth))
    told = score(work, planned(case)).sentence()
    assert told.endswith("105% of its time: about as fast as the plan, but by trial. Wrong repairs: 2.")


def test_a_plan_that_leaves_a_fault_has_mended_nothing():
    """What works now but for a fault that is left is no measure for the reader's minutes."""
    case = bench_case(1, 7)
    work, plan = CaseWork(case), planned(case)
    work.mend(work.named(SLIP, "mode switch", 1))
    plan.closed = STILL_THERE
    found = score(work, plan)
    assert found.plan_minutes is None and found.ratio is None
    assert found.sentence() == "Case 7 of level 1: you took 7.0 min, the plan didn't mend it."


def test_level_3_says_with_how_many_pairs_the_percentages_reckon():
    """About one in a hundred by the plan's suspects, about one in four by the cases themselves."""
    (said,) = reckoned(LEVELS[3])
    assert "in about one machine in a hundred" in said and "about one in four has two" in said
    assert reckoned(LEVELS[1]) == reckoned(LEVELS[2]) == ()
    for name in LEVELS[3].transports:
        pairs = sum(one.weight for one in suspects(load(name)) if len(one.causes) == 2)
        assert 0.005 < pairs < 0.02
    count = times(60, 400)
    two = sum(len(bench_case(3, number).hidden) == 2 for number in range(1, 1 + count))
    assert abs(two / count - 0.25) < 0.1


def test_a_lucky_reader_can_be_quicker_than_the_plan():
    case = bench_case(1, 20)
    work = CaseWork(case)
    work.mend(work.named(SLIP, "mode switch", case.hidden[0].fault.teeth))
    told = score(work, planned(case)).sentence()
    assert "less than the plan, but by trial; the plan is best on average, not each time" in told


def test_level_3_is_not_told_that_the_plan_is_best():
    """The line below the score says that it needn't be."""
    quick = CaseWork(bench_case(3, 1))
    for mend in mends_of(quick.case, Suspect(*_faults(quick.case), 1.0)):
        quick.mend(mend)
    slow = replace(score(quick, quick), plan_minutes=2 * quick.minutes)
    assert slow.sentence().endswith("so 50% of its time: less than the plan.")
    assert reckoned(quick.case.level) and slow.best is False


def test_a_repair_is_called_the_same_by_the_plan_and_in_the_log():
    work = CaseWork(bench_case(1, 7))
    work.mend(work.named(DIRTY, "contacts A and B"))
    assert work.did[0].words == "clean contacts A and B" == work.did[0].mend.repair.to_do
    assert work.did[0].sentence().startswith("Clean contacts A and B (11.0 min): another cause")


def test_the_replay_tells_what_each_step_changed():
    work = CaseWork(bench_case(1, 7))
    work.check(MARK_OF_SWITCH)
    work.mend(work.named(SLIP, "mode switch", 1))
    lines = replay(work, advised=True).splitlines()
    assert [line.split()[0] for line in lines] == ["1.", "tells", "before:", "after:", "2.", "before:"]
    assert (
        lines[1].endswith("the plan would do the same")
        and "mode switch slipped 1 tooth ahead 100%" in lines[3]
    )
    assert lines[2] != lines[3].replace("after: ", "before:")
    first = finding(work.case, work.did[0].before).first
    assert f"{first.words} {100 * first.probability:.0f}%" in lines[2]


def test_a_check_that_tells_nothing_is_shown_as_such():
    work = CaseWork(bench_case(1, 7))
    work.check(MARK_OF_SWITCH)
    work.check(Check(MARK, "loading gear"))
    told = replay(work, advised=True).splitlines()[5]
    assert told.startswith("   tells 0.00 bits on average; the plan would mend: mode switch slipped off")
