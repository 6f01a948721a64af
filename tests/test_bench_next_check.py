"""The next check and the plan: covers cost once, certainty needs no check, the plan is the least of all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_machine import small, values
from small_released import stepping_driven

from mechlib.bench.checks import CURRENT, LOOK, MARK, TRY, Check, checks_of, covers_for, minutes_for
from mechlib.bench.decisions import gathered, minutes_to_mend
from mechlib.bench.fault_finding import find
from mechlib.bench.next_check import (
    next_check,
    next_checks,
    next_step,
    plan,
    ranked_checks,
)
from mechlib.bench.observations import looked_at, mark_seen, observed, tried
from mechlib.bench.outlook import MOST_TIMES, outlook
from mechlib.bench.readings import NEVER_MOVED, NOT_TRIED, Reading, scale_of
from mechlib.bench.suspects import Cause, Repair, repair_of, repair_time
from mechlib.errors import MechError
from mechlib.transports import load

WRONG = [tried("IN", "HALF", "stands wrong", which="lever")]
COVERED = [
    {"name": "lid", "minutes": 5},
    {"name": "plate", "minutes": 3, "off_first": ["lid"]},
]


def covered():
    """The small machine with its lever gear under a lid and a plate."""
    parts = [dict(part) for part in values()["part"]]
    parts[1]["under"] = ["plate"]
    return small(part=parts, cover=COVERED)


def test_advice_tells_what_comes_off_and_costs_it_once():
    found = find(covered(), WRONG, pairs=0)
    look = next(one for one in next_checks(found, number=200) if one.check == Check(MARK, "lever gear"))
    assert look.covers == ("lid", "plate") and "Take off the lid and plate" in look.sentence()
    bare = next(
        one
        for one in next_checks(found, frozenset({"lid"}), number=200)
        if one.check == Check(MARK, "lever gear")
    )
    assert look.minutes - bare.minutes == 5 and look.bits == pytest.approx(bare.bits)
    assert bare.bits_per_minute > look.bits_per_minute


def test_the_best_comes_first_and_its_results_add_up():
    found = next_checks(find(small(), WRONG, pairs=0), number=50)
    rates = [one.bits_per_minute for one in found]
    assert rates == sorted(rates, reverse=True) and rates[-1] > 0
    for one in found:
        chances = [chance for _, chance in one.results]
        assert sum(chances) == pytest.approx(1) and chances == sorted(chances, reverse=True)


def test_a_check_told_by_hand():
    """Looking at the lever: a twentieth is read wrong, and half of that happens to be right."""
    found = find(small(), WRONG, pairs=0)
    look = outlook(found)
    results, table = look.tables[Check(LOOK, "lever")]
    assert [one.read.label for one in results] == ["as it should be", "bent"]
    words = ["bent" if unit[0].kind == "bent lever" and unit[0].of == "lever" else "" for unit in look.units]
    bent = np.array(words)[look.unit_of] == "bent"
    assert table[1][bent & (look.probability > 0)] == pytest.approx(0.975)
    assert table[1][~bent & (look.probability > 0)] == pytest.approx(0.025)


def test_what_is_certain_is_mended():
    sure = [mark_seen("lever gear", -1, error_rate=0), *WRONG]
    step = plan(find(small(), sure, pairs=0), deep=1)
    assert step.check is None and step.repairs == (Repair("slip", "lever gear"),)
    assert step.minutes == pytest.approx(
        repair_time(small(), step.repairs[0]) + minutes_for(small(), Check(TRY))
    )
    assert step.expected_minutes == pytest.approx(step.minutes, rel=0.05)


def test_the_plan_is_the_least_of_all_first_steps():
    """Every first step worked out the long way, by result, with the repairs in the best order after."""
    found = find(covered(), WRONG, pairs=0)
    look, off = outlook(found), frozenset({"lid"})
    step = next_step(look, off, look.probability)
    totals = {None: _mending(look, off, look.probability)}
    for check in checks_of(covered()):
        names = off | {cover.name for cover in covers_for(covered(), check)}
        after = 0.0
        for row in look.tables[check][1]:
            chance = float(row @ look.probability)
            if chance:
                after += chance * _mending(look, names, row * look.probability / chance)
        totals[check] = minutes_for(covered(), check, off) + after
    assert step.expected_minutes == pytest.approx(min(totals.values()))
    assert totals[step.check] == pytest.approx(step.expected_minutes)


def _mending(look, off, probability):
    by_unit = gathered(probability, look.unit_of, len(look.units))
    return float(minutes_to_mend(by_unit, look.work.without(look.off(off))))


def test_a_plan_goes_on_until_its_depth():
    step = plan(find(small(), WRONG, pairs=0), deep=2)
    chances = [chance for _, chance, _ in step.then]
    assert step.then and all(0 < chance <= 1 for chance in chances) and sum(chances) <= 1 + 1e-9
    assert all(then is not None and then.then == () or then.check for _, _, then in step.then)
    assert step.text().splitlines()[0].startswith(step.words) and "minute" in step.sentence()


def test_progress_is_told_and_rises_to_one():
    told = []
    fresh = replace(small(), name="Small, not asked before")  # nothing of it is worked out
    outlook(find(fresh, [looked_at("lever", "bent")], pairs=3), told.append)
    assert told == sorted(told) and told[-1] == 1


def test_nothing_more_to_tell():
    found = find(small(), [looked_at("lever", "bent", error_rate=0)], pairs=0)
    assert next_check(found) is None or next_check(found).bits < 0.05
    assert ranked_checks(outlook(found), frozenset()) == next_checks(found, number=500)


@pytest.mark.parametrize(
    ("call", "match"),
    [
        (lambda found: next_checks(found, frozenset({"roof"})), "roof"),
        (lambda found: next_checks(found, number=0), "number"),
        (lambda found: plan(found, deep=9), "deep"),
    ],
)
def test_what_makes_no_sense_is_refused(call, match):
    with pytest.raises(MechError, match=match):
        call(find(small(), WRONG, pairs=0))


def test_results_are_told_with_their_unit_and_not_rounded_away():
    sound = load("cedar")
    check = Check(CURRENT, "cam motor", start="OPEN", target="REWIND")
    step = scale_of(sound, check).step
    low, high = (observed(sound, check, Reading("reads", None, n * step)) for n in (1, 2))
    assert low.words != high.words and low.words.endswith(" A")
    assert low.words == f"reads {step:.2f} A"
    slow = find(stepping_driven(), [tried("REST", "HALF", "worked, but slowly")])
    told = [result.words for one in next_checks(slow, number=100) for result, _ in one.results]
    assert {words.split()[-1] for words in told if words.startswith("reads")} == {"s", "A", "V"}


def test_unknown_covers_are_told_in_the_order_of_the_file():
    with pytest.raises(MechError, match="there are lid and plate"):
        next_checks(find(covered(), WRONG, pairs=0), frozenset({"roof"}))


def test_what_has_held_the_motor_up_is_asked_for_once():
    """Neither to see it again, nor to time it or to measure at it; all else may be asked."""
    machine = stepping_driven()
    stalled = tried("REST", "HALF", "motor held up, then powered off")
    plain = tried("REST", "HALF", "never moved")
    stood = [tried(a, b, "worked") for a, b in (("HALF", "RUN"), ("RUN", "REST"))]
    for seen, asked in ((stalled, False), (plain, True)):
        checks = set(outlook(find(machine, [seen, *stood])).tables)
        of_it = {one for one in checks_of(machine) if (one.start, one.target) == ("REST", "HALF")}
        assert of_it and bool(of_it & checks) == asked
        assert set(checks_of(machine)) - of_it <= checks


def test_the_same_change_is_asked_again_where_a_contact_may_pass_only_sometimes():
    """Up to ``MOST_TIMES`` in all; and what it would read is not settled by what it has read."""
    worked, failed = tried("OUT", "HALF", "worked"), tried("OUT", "HALF", "never moved")
    seen = [worked, failed]
    look = outlook(find(small(), seen))
    again = {one.check: one for one in ranked_checks(look, frozenset())}[worked.check]
    by_label: dict = {}
    for one, chance in again.results:
        by_label[one.read.label] = by_label.get(one.read.label, 0) + chance
    assert again.bits > 0.02 and min(by_label[label] for label in ("worked", "never moved")) > 0.2
    for times in (3, 4):
        seen.append(worked)
        offered = outlook(find(small(), seen)).tables
        assert (worked.check in offered) == (times < MOST_TIMES)


def test_no_change_is_asked_for_in_a_mode_that_was_said_to_be_out_of_reach():
    away = tried("HALF", "OUT", NOT_TRIED)
    checks = outlook(find(small(), [away])).tables
    assert checks and not any(one.start == "HALF" for one in checks)
    assert any(one.start == "HALF" for one in outlook(find(small(), WRONG)).tables)


def test_no_change_is_asked_for_in_a_mode_that_a_dead_machine_does_not_get_to():
    """It stands in STOP, and so it can be asked there; in PLAY and PAUSE only if it moved."""
    birch = load("birch")
    dead = [tried("STOP", "PLAY", NEVER_MOVED), looked_at("belt", "as it should be")]
    assert {one.start for one in outlook(find(birch, dead)).tables} == {"STOP", None}
    moved = [tried("STOP", "PLAY", "worked"), looked_at("belt", "as it should be")]
    assert {one.start for one in outlook(find(birch, moved)).tables} == {"STOP", "PLAY", "PAUSE", None}


def test_of_a_pair_only_what_was_not_mended_yet_is_mended():
    dogwood = load("dogwood")
    found = find(dogwood, [looked_at("loading gear", "clip gone")] * 2)
    clip, clean = (
        repair_of(dogwood, Cause(*one)) for one in (("clip gone", "loading gear"), ("dirty contact", "A"))
    )
    assert (clean, clip) in outlook(found).units or (clip, clean) in outlook(found).units
    look = outlook(found, mended=[clip])
    assert (clean,) in look.units and not any(clip in unit for unit in look.units if len(unit) > 1)
