"""A search as it stands: find, next_checks and plan in one, and what a repair in vain leaves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_released import stepping_driven

from mechlib.bench.checks import CURRENT, LOOK, TRY, VOLTS, Check, checks_of, covers_for
from mechlib.bench.decisions import after_reading
from mechlib.bench.fault_finding import SHOWN, find
from mechlib.bench.fault_search import CAUTIONS, OFFERED, WORTH, fault_search, without
from mechlib.bench.next_check import next_checks, plan
from mechlib.bench.observations import looked_at, mark_seen, observed, tried
from mechlib.bench.predictions import predictions
from mechlib.bench.readings import WORKED, reading
from mechlib.bench.suspects import Cause, Repair, repair_of, suspects
from mechlib.errors import MechError
from mechlib.transports import load, slip

near = pytest.approx
DOGWOOD, ALDER = load("dogwood"), load("alder")
COMPLAINT = tried("STOP", "OUT", "stands wrong", which="holder")
BEHIND = (COMPLAINT, mark_seen("mode switch", -3), mark_seen("mode switch", -3))


def test_before_anything_is_seen_it_is_the_usual_shares():
    stands = fault_search(DOGWOOD)
    usual = {one.causes: 0.0 for one in suspects(DOGWOOD)}
    for one in suspects(DOGWOOD):
        usual[one.causes] += one.weight
    assert stands.finding.by_cause == near(usual)
    assert stands.step is None and stands.advice == () and stands.to_mend is None
    assert "Enter what the machine does" in stands.sentence() and "next check" not in stands.text()


def test_it_is_find_next_checks_and_plan_in_one():
    stands, found = fault_search(DOGWOOD, [COMPLAINT]), find(DOGWOOD, [COMPLAINT])
    assert stands.finding.by_cause == near(found.by_cause)
    one_by_one = next_checks(found, number=100)
    assert stands.step.words == plan(found, deep=1).words
    assert stands.step.expected_minutes == near(plan(found, deep=1).expected_minutes)
    assert stands.advice[0].check == stands.step.check
    others = [one.check for one in one_by_one if one.check != stands.step.check]
    assert [one.check for one in stands.advice[1:]] == others[: OFFERED - 1]
    assert all(one.check.words in stands.checks_text() for one in stands.advice)
    assert found.text() in stands.text() and stands.step.sentence() in stands.sentence()


def test_bars_put_side_by_side_what_is_not_told_apart():
    stands = fault_search(DOGWOOD, [COMPLAINT, tried("PLAY", "OUT", "stands wrong", which="holder")])
    bars = stands.bars
    assert sorted(bar.words for bar in bars) == sorted(
        one.words for one in stands.finding.ranking if one.probability >= SHOWN
    )
    in_groups = {bar.words: bar.group for bar in bars if bar.group}
    groups = [{one.words for one in group} for group in stands.finding.alike]
    assert in_groups and sorted(map(sorted, groups)) == sorted(
        sorted(words for words, at in in_groups.items() if at == number) for number in set(in_groups.values())
    )
    numbers = [bar.group for bar in bars]
    runs = [n for at, n in enumerate(numbers) if n and (at == 0 or numbers[at - 1] != n)]
    assert runs == list(range(1, len(runs) + 1))  # each group in one run, counted from the top
    assert {"mode switch slipped behind", "loading gear slipped ahead"} in groups


def test_marks_tell_apart_what_changes_do_not():
    stands = fault_search(DOGWOOD, BEHIND)
    assert stands.finding.first.causes == (Cause("slip", "mode switch", "behind"),)
    assert stands.finding.first.probability > 0.9


def test_the_steps_are_those_of_the_slip_found():
    stands = fault_search(DOGWOOD, BEHIND)
    assert stands.step.check is None and stands.step.repairs == (Repair("slip", "mode switch"),)
    steps = stands.repair_steps()
    assert all(one.bits_per_minute >= WORTH for one in stands.advice)
    assert [(move.part, move.teeth) for move in steps.moves] == [("mode switch", 3)]
    assert steps.text() in stands.text()
    belt = fault_search(DOGWOOD, [COMPLAINT, looked_at("holder", "bent"), looked_at("holder", "bent")])
    assert belt.to_mend.words == "holder bent" and belt.repair_steps() is None


def test_what_was_mended_in_vain_is_left_out_and_the_rest_keeps_its_proportions():
    found = find(DOGWOOD, [COMPLAINT])
    cleaned = repair_of(DOGWOOD, Cause("dirty contact", "B"))
    left = without(found, [cleaned])
    kinds = {"dirty contact", "intermittent contact"}  # of either, all contacts are cleaned
    dirty = [one for one in found.ranking if {cause.kind for cause in one.causes} <= kinds]
    gone = sum(one.probability for one in dirty)
    assert gone > 0.5 and sum(left.by_cause.values()) == near(1) and left.cells.sum() == near(1)
    assert left.by_cause == near(
        {one.causes: one.probability / (1 - gone) for one in found.ranking if one not in dirty}
    )
    stands = fault_search(DOGWOOD, [COMPLAINT], mended=(cleaned, cleaned))
    assert (
        stands.mended == (cleaned,) and "Cleaned: contacts A and B; and it still fails." in stands.sentence()
    )
    every = {repair_of(DOGWOOD, cause) for state in suspects(DOGWOOD) for cause in state.causes}
    with pytest.raises(MechError, match="no fault is left"):
        without(found, every)
    assert without(found, []) is found


def test_progress_rises_from_nought_to_one():
    told, again = [], []
    fresh = replace(DOGWOOD, name="Dogwood, not asked before")  # nothing of it is worked out
    fault_search(fresh, [COMPLAINT], progress=told.append)
    fault_search(fresh, [COMPLAINT], progress=again.append)
    assert told == sorted(told) and 0 < told[0] < told[-1] == 1 and again == []


def test_all_that_is_worked_out_is_worked_out_once():
    fresh = replace(DOGWOOD, name="Dogwood, asked once")
    stands = fault_search(fresh, [COMPLAINT])
    assert (
        stands.finding.foretold
        is find(fresh).foretold
        is predictions(fresh.with_faults(slip("mode switch", 1)))
    )


def test_what_was_worked_out_ahead_comes_at_once():
    """Then no later answer works out anything, and each is the one that it would have been."""
    fresh, told = replace(DOGWOOD, about="Of the same name, so that the same machines are drawn."), []
    parts = list(fault_search(fresh, [COMPLAINT]).ahead())
    assert parts == sorted(parts) and len(parts) == len(suspects(fresh)) and parts[-1] == 1
    for seen in (BEHIND, [tried("PLAY", "STOP", "worked")], [looked_at("holder", "bent")]):
        stands = fault_search(fresh, seen, progress=told.append)
        assert stands.text() == fault_search(DOGWOOD, seen).text()
    assert told == []


def test_unknown_covers_are_refused():
    with pytest.raises(MechError, match="no cover is called"):
        fault_search(DOGWOOD, [COMPLAINT], frozenset({"lid"}))


@pytest.mark.parametrize("fault", [slip("mode switch", -3), slip("mode switch", 2), slip("loading gear", 3)])
def test_a_hidden_slip_is_found_by_following_the_plan(fault):
    hidden, seen = DOGWOOD.with_faults(fault), []
    tries = [check for check in checks_of(DOGWOOD) if check.kind == TRY]
    complaint = next(check for check in tries if reading(hidden, DOGWOOD, check).label != WORKED)
    seen.append(observed(DOGWOOD, complaint, reading(hidden, DOGWOOD, complaint)))
    mended = []
    for _ in range(12):
        stands = fault_search(DOGWOOD, seen, mended=mended)
        if stands.step.check:
            check = stands.step.check
            seen.append(observed(DOGWOOD, check, reading(hidden, DOGWOOD, check)))
        elif Repair("slip", fault.mesh) in stands.step.repairs:
            break
        else:
            mended += stands.step.repairs
    assert Repair("slip", fault.mesh) in stands.step.repairs


def test_one_reading_by_hand():
    assert after_reading([0.5, 0.25, 0.25], [0, 1, 1]).tolist() == [0, 0.5, 0.5]
    one, two = np.array([0.9, 0.2]), np.array([0.3, 0.6])
    both = after_reading(after_reading([0.1, 0.9], one), two)
    assert both == near(after_reading(after_reading([0.1, 0.9], two), one))  # the order doesn't matter
    with pytest.raises(MechError, match="no cause gives"):
        after_reading([1, 0], [0, 1])


def test_a_sound_machine_is_to_be_proved_and_not_mended():
    seen = [observed(DOGWOOD, check, reading(DOGWOOD, DOGWOOD, check)) for check in checks_of(DOGWOOD)]
    stands = fault_search(DOGWOOD, seen)
    assert stands.step.repairs == (Repair("nothing"),) and stands.step.words == "prove every change"
    assert stands.step.minutes == 6  # of 3 modes each from both others, a minute each
    assert "mend" not in stands.step.sentence() and "all is done" in stands.step.sentence()
    again = fault_search(DOGWOOD, seen, mended=stands.step.repairs)
    assert "It was proved, and there is a fault." in again.sentence()
    assert "no fault at all" not in again.sentence()


def test_the_doubts_are_those_of_the_faults_that_are_left():
    """A worn contact explains all that was seen; once it was cleaned in vain, nothing mechanical does."""
    seen = [COMPLAINT, mark_seen("mode switch", -3), looked_at("holder", "as it should be")]
    found = find(DOGWOOD, seen)
    slipped = repair_of(DOGWOOD, Cause("slip", "mode switch", "behind"))
    left = without(found, [slipped])
    assert found.doubtful == () and left.doubtful == ((1,),)
    assert "look again" not in found.sentence() and "no. 2" in left.sentence()


def test_where_the_motor_was_held_up_it_is_to_cool_first():
    """The plan never names the very change that stalled the motor again; the caution is about the others."""
    stalled = tried("OUT", "PLAY", "motor held up, then powered off")
    stands = fault_search(DOGWOOD, [stalled, tried("OUT", "STOP", "worked")])
    assert stalled.check not in [stands.step.check, *(one.check for one in stands.advice)]
    assert CAUTIONS[2] in stands.cautions and CAUTIONS[2] in stands.text()
    ran_on = tried("OUT", "PLAY", "motor ran on, then powered off")
    assert CAUTIONS[2] not in fault_search(DOGWOOD, [ran_on]).cautions


def test_cautions_stand_where_they_are_needed():
    stuck = fault_search(stepping_driven(), [tried("REST", "HALF", "never moved")])
    kinds = {one.check.kind for one in stuck.advice}
    assert any("cut-off open" in one.causes[0].kind for one in stuck.finding.ranking[:5])
    assert CAUTIONS[1] in stuck.cautions and (CAUTIONS[0] in stuck.cautions) == bool(kinds & {VOLTS, CURRENT})
    live = next(one for one in next_checks(stuck.finding, number=100) if one.check.kind == VOLTS)
    assert replace(stuck, advice=(live,)).cautions == CAUTIONS[:2]
    assert all(words in stuck.text() for words in stuck.cautions)
    assert fault_search(DOGWOOD, [COMPLAINT]).cautions == ()
    told = " ".join(CAUTIONS)
    assert "cool" in CAUTIONS[2] and "only after a repair" in CAUTIONS[2]
    for word in ("qualified", "local rules", "never bridged", "why it opened", "same kind"):
        assert word in told


def test_covers_that_are_off_are_put_back_before_a_change_is_asked_for():
    """Under power every cover is on; volts are measured with those off that hide the motor."""
    seen = [tried("STOP", "PLAY", "never moved")]
    bare = fault_search(ALDER, seen, frozenset({"bottom plate", "top cover"}))
    assert bare.to_put_back(Check(TRY, start="STOP", target="PLAY")) == ("top cover", "bottom plate")
    assert bare.to_put_back(Check(LOOK, "belt")) == ()
    volts = Check(VOLTS, None, sense="loading")
    needed = {cover.name for cover in covers_for(ALDER, volts)}
    assert set(bare.to_put_back(volts)) == {"bottom plate", "top cover"} - needed
    assert CAUTIONS[3] in bare.cautions and CAUTIONS[3] in bare.text()
    assert CAUTIONS[3] not in fault_search(ALDER, seen).cautions
    assert "every cover on" in CAUTIONS[3] and "minutes" in CAUTIONS[3]


def test_after_a_repair_in_vain_the_rest_of_a_pair_is_mended_once():
    clip, clean = (
        repair_of(DOGWOOD, Cause(*one)) for one in (("clip gone", "loading gear"), ("dirty contact", "A"))
    )
    seen = [looked_at("loading gear", "clip gone", error_rate=0)] * 2
    stands = fault_search(DOGWOOD, seen, mended=[clip])
    assert stands.finding.first.causes[1].kind == "clip gone"
    mending = replace(stands, step=replace(stands.step, check=None, repairs=(clean,)))
    assert "clip of the loading gear gone" in mending.to_mend.words and mending.repair_steps() is None
    assert "Mended: clip of the loading gear gone; and it still fails." in stands.sentence()


def test_a_new_belt_in_vain_rules_out_the_slack_belt_and_the_glazed_one():
    """They are one repair, so they make no pair."""
    birch = load("birch")
    slack, glazed = Cause("slack belt"), Cause("glazed belt")
    new_belt = repair_of(birch, slack)
    assert repair_of(birch, glazed) == new_belt
    seen = [tried("STOP", mode, "motor held up, then powered off") for mode in ("PLAY", "PAUSE")]
    before, after = (fault_search(birch, seen, mended=vain) for vain in ((), (new_belt,)))
    assert {one.words for one in before.bars} >= {"belt slack", "belt glazed"}
    assert {one.words for one in after.bars}.isdisjoint({"belt slack", "belt glazed"})
    assert not any({slack, glazed} == set(one.causes) for one in before.finding.ranking)
