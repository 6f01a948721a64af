"""Fault finding: by Bayes' rule in plain loops, and the laws that any ranking must keep."""

from __future__ import annotations

import tomllib
from collections import Counter
from math import prod, sqrt
from random import Random

import numpy as np
import pytest
from second_way_moments import label_chances
from small_machine import TEXT, small

from mechlib.bench.checks import LOOK, MARK, Check, checks_of
from mechlib.bench.fault_finding import find
from mechlib.bench.observations import (
    checked,
    contact_read,
    contact_swept,
    looked_at,
    mark_seen,
    observed,
    timed,
    tried,
    volts_read,
)
from mechlib.bench.outlook import outlook
from mechlib.bench.predictions import ANY_RATE, OTHER, PLAIN, UNSEEN, predictions
from mechlib.bench.readings import NO_MODE, NOT_TRIED, Reading, change_reading, labels_of, reading
from mechlib.bench.suspects import Cause, suspects
from mechlib.errors import MechError
from mechlib.transports import load, slip
from mechlib.transports.files import transport_from
from mechlib.transports.intermittent import as_drawn
from mechlib.transports.mode_change import change_from, standing_start

SEEN = [
    tried("IN", "HALF", "stands wrong"),
    mark_seen("lever gear", -1),
    contact_swept("A", "closes"),
    looked_at("lever", "as it should be"),
]


def one_by_one(sound, observations):
    """The posterior of each suspect, in plain loops; of observations without numbers."""
    foretold = predictions(sound)
    found = []
    for row, state in enumerate(foretold.states):
        machines = foretold.faulty(row)
        own = []
        for one in observations:
            chance, error = 1 / len(labels_of(sound, one.check)), one.error_rate
            if state.electronics and one.check.commanded:
                error = 1 - (1 - error) * (1 - ANY_RATE)
            agree = [label_chances(machine, sound, one.check).get(one.read.label, 0) for machine in machines]
            exact = [(1 - error) * part + error * chance for part in agree]
            mean = sum(exact) / len(exact)
            if one.check.kind not in PLAIN:
                exact = [(1 - OTHER - UNSEEN) * e + OTHER * mean + UNSEEN * chance for e in exact]
            own.append(exact)
        found.append(state.weight * sum(map(prod, zip(*own, strict=True))) / len(machines))
    return np.array(found) / sum(found)


def test_bayes_rule_in_plain_loops():
    for seen in (SEEN[:1], SEEN[2:], SEEN):
        plain = [one for one in seen if one.read.number is None]
        assert find(small(), plain).probabilities == pytest.approx(one_by_one(small(), plain))


def test_a_load_is_put_into_machines_of_more_degrees():
    """Little tells loads apart: the degrees that are tried lie closer than those of a bent lever."""
    foretold = predictions(load("birch"))
    alike = {row: len(foretold.faulty(row)) for row, one in enumerate(foretold.states)}
    of_kind = {
        one.causes[0].kind: alike[row] for row, one in enumerate(foretold.states) if len(one.faults) == 1
    }
    bent = of_kind["bent lever"]
    loads = {"hard grease", "stiff lever", "weak motor", "low supply", "slack belt", "glazed belt"}
    assert {kind for kind, number in of_kind.items() if number > 2 * bent} == loads
    assert set(np.count_nonzero(foretold.cells, axis=1)) == set(alike.values())
    assert np.allclose(foretold.cells.sum(axis=1), foretold.weights)


def test_it_adds_up_and_the_order_does_not_matter():
    found, turned = find(small(), SEEN), find(small(), SEEN[::-1])
    assert found.probabilities.sum() == pytest.approx(1) and found.cells.min() >= 0
    assert turned.probabilities == pytest.approx(found.probabilities)
    assert sum(found.by_cause.values()) == pytest.approx(1)
    assert found.first.words == "lever gear slipped behind"


def test_nothing_observed_leaves_the_weights():
    found = find(small())
    assert found.probabilities == pytest.approx(found.foretold.weights)
    assert found.alike == found.doubtful == ()


def test_certain_where_only_one_fault_reads_so_and_nothing_errs():
    found = find(small(), [looked_at("hook cam", "clip gone", error_rate=0)], pairs=0)
    assert found.by_cause[Cause("clip gone", "hook cam"),] == pytest.approx(1)


def test_a_fault_shown_by_every_check_is_found():
    sound = small()
    checks = checks_of(sound)
    for state in [one for one in suspects(sound, 0) if one.faults and not one.drawn_anew][::7]:
        machine = sound.with_faults(*state.faults)
        found = find(sound, [observed(sound, check, reading(machine, sound, check)) for check in checks])
        assert found.first.causes == state.causes, (state.sentence(), found.sentence())


def test_renaming_everything_changes_nothing():
    text = TEXT
    for old, new in (("lever gear", "zz wheel"), ("hook cam", "aa cam"), ("switch", "mm rotor")):
        text = text.replace(f'"{old}"', f'"{new}"')
    renamed = transport_from(tomllib.loads(text), "small.toml")
    seen = [tried("IN", "HALF", "stands wrong"), mark_seen("zz wheel", -1), contact_swept("A", "closes"),
            looked_at("lever", "as it should be")]  # fmt: skip
    assert find(renamed, seen).probabilities == pytest.approx(find(small(), SEEN).probabilities)


def test_contradictions_are_pointed_out_and_are_not_fatal():
    clash = [looked_at("hook cam", "clip gone"), looked_at("lever gear", "clip gone"), mark_seen("switch", 1)]
    found = find(small(), clash, pairs=0)
    assert len(found.doubtful) == 3 and all(len(group) == 2 for group in found.doubtful)
    assert "look again" in found.sentence() and np.isfinite(found.cells).all()
    assert find(small(), clash * 40, pairs=0).probabilities.sum() == pytest.approx(1)
    assert find(small(), SEEN).doubtful == ()


def test_an_unsure_observation_tells_less():
    unsure, sure = (
        find(small(), [mark_seen("switch", 1).surely(rate)]).by_cause[Cause("slip", "switch", "ahead"),]
        for rate in (0.4, 0.01)
    )
    before = find(small()).by_cause[Cause("slip", "switch", "ahead"),]
    assert before < unsure < sure


def test_what_nothing_tells_apart_is_one_group():
    """Slips elsewhere read alike at a cam that is as it should be."""
    found = find(small(), [looked_at("hook cam", "as it should be")])
    group = next(group for group in found.alike if any(one.causes[0].kind == "slip" for one in group))
    assert {Cause("slip", part, way) for part in ("switch", "lever gear") for way in ("ahead", "behind")} <= {
        one.causes[0] for one in group
    }
    assert not any(one.causes[0] == Cause("clip gone", "hook cam") for one in group)


def test_every_label_of_a_check_together_is_certain():
    foretold = predictions(small())
    for check in (Check(LOOK, "hook cam"), Check("read a contact", "A", mode="OUT")):
        labels = labels_of(small(), check)
        total = sum(foretold.likelihood([observed(small(), check, Reading(label))]) for label in labels)
        assert total[foretold.cells > 0] == pytest.approx(1)


def test_a_repeat_lessens_errors_of_reading_but_not_those_of_the_file():
    """What is foretold of a change may be wrong for this machine however often it is tried."""
    cause = (Cause("slip", "switch", "ahead"),)
    one, two, many = (find(small(), [mark_seen("switch", 1)] * n).by_cause[cause] for n in (1, 2, 6))
    assert one < two < many and many > 0.95
    seen, foretold = tried("IN", "HALF", "worked at the second try"), predictions(small())
    faults = [row for row, state in enumerate(foretold.states) if state.faults]
    last, again = (find(small(), [seen] * n).probabilities[faults].min() for n in (8, 16))
    assert again == pytest.approx(last, rel=0.1) and last > 0


def test_electronics_explain_what_no_fault_does_every_time():
    labels = ("stands wrong", "worked", "never moved", "worked", "motor ran on, then powered off")
    found = find(small(), [tried("IN", "HALF", label) for label in labels])
    assert found.first.causes[0].kind == "electronics"


@pytest.mark.parametrize(
    ("wrong", "match"),
    [
        (tried("IN", "NOWHERE", "worked"), "NOWHERE"),
        (tried("IN", "IN", "worked"), "another mode"),
        (tried("IN", "OUT", "exploded"), "exploded"),
        (tried("IN", "OUT", "stands wrong", which="nobody"), "nobody"),
        (looked_at("belt", "slack"), "belt"),
        (volts_read("loading", 9), "can't have"),
        (timed("IN", "OUT", 9999), "the number"),
        ("worked", "make it with"),
    ],
)
def test_what_cant_be_observed_is_refused(wrong, match):
    with pytest.raises(MechError, match=match):
        find(small(), [wrong])


def test_numbers_that_cant_be_are_refused_within_round_limits():
    cedar, alder = load("cedar"), load("alder")
    with pytest.raises(MechError, match=r"it must be from 0 to \d+ s"):
        checked(cedar, timed("SHUT", "PLAY", -3))
    with pytest.raises(MechError, match="it must be from 0 to 240 s"):
        checked(cedar, timed("SHUT", "PLAY", 9000))
    with pytest.raises(MechError, match="from 0 to"):
        checked(alder, contact_swept("A", "closes", -1))
    minus, plus = (checked(alder, volts_read("unloading", volts)) for volts in (-9, 9))
    assert minus == plus  # the sign tells the sense that was asked for
    for seen in (mark_seen("mode switch", -3), tried("STOP", "PLAY", "stands wrong", at_deg=-20)):
        assert checked(alder, seen).read.number == seen.read.number


def test_faults_in_hand_are_left_out_and_text_tells_all():
    found = find(small().with_faults(slip("switch", 1)), SEEN)
    assert found.transport == small()
    assert found.text().count("\n") > 6 and found.text().endswith(found.sentence())


def test_a_likelihood_is_a_probability():
    from mechlib.bench.observations import checked
    from mechlib.transports import change

    seconds = change(load("dogwood"), "STOP", "PLAY").time_s
    for off in (0.0, 1.0):
        seen = checked(load("dogwood"), timed("STOP", "PLAY", seconds + off))
        found = predictions(load("dogwood")).likelihood([seen])
        assert found.min() >= 0 and found.max() <= 1


def everything(sound, machine):
    return [observed(sound, check, reading(machine, sound, check)) for check in checks_of(sound)]


def test_a_sound_machine_leaves_no_doubt():
    """No fault explains that every change works and every mark lines up; no fault at all does."""
    found = find(load("dogwood"), everything(load("dogwood"), load("dogwood")))
    assert found.first.causes == (Cause("nothing"),) and found.doubtful == ()
    assert "look again" not in found.sentence()


def test_what_only_the_electronics_explain_is_told_so():
    odd = [tried("IN", "HALF", label) for label in ("stands wrong", "worked", "never moved")]
    found = find(small(), odd)
    assert found.electronics and found.doubtful
    assert (
        "No mechanical fault explains all that was observed: look to the electronics, or" in found.sentence()
    )
    marks = [looked_at("hook cam", "clip gone"), looked_at("lever gear", "clip gone"), mark_seen("switch", 1)]
    found = find(small(), marks, pairs=0)  # what the eye sees has nothing to do with the electronics
    assert not found.electronics and "No fault explains all" in found.sentence()


def test_a_pair_reads_as_one_cause_in_a_list():
    found = find(load("dogwood"), [tried("OUT", "PLAY", "never moved")])
    pairs = [one for one in found.ranking if len(one.causes) == 2]
    assert all(one.words == " together with ".join(cause.words for cause in one.causes) for one in pairs)
    told = find(load("dogwood"), [tried("OUT", "PLAY", "stands wrong")])
    group = next(group for group in told.alike if told.first in group)
    whole = 100 * sum(one.probability for one in group)
    assert f"(with it {whole:.0f}%)" in told.sentence()


# ---- A contact that passes only sometimes ----

WORKED = tried("OUT", "HALF", "worked")
FAILED = tried("OUT", "HALF", "never moved")  # without A the code of OUT is that of HALF already


def test_works_sometimes_is_an_intermittent_contact_and_no_contradiction():
    found = find(small(), [WORKED, WORKED, WORKED, FAILED])
    assert found.first.causes == (Cause("intermittent contact", "A"),), found.sentence()
    assert found.doubtful == () and "look again" not in found.sentence()
    once = find(small(), [FAILED]).by_cause[found.first.causes]
    assert once < found.first.probability
    apart = find(small(), [WORKED, FAILED] * 2).by_cause[found.first.causes]
    assert apart > 0.7  # nothing else can do so again and again, but the electronics


def test_repeats_are_drawn_one_by_one():
    """Π over the readings of Σ over the moments, in plain loops, for one grade in each of its machines."""
    sound, foretold = small(), predictions(small())
    seen, error = [WORKED, FAILED, WORKED], WORKED.error_rate
    found, chance = foretold.likelihood(seen), 1 / len(labels_of(small(), WORKED.check))
    same, other = 1 - error + error * chance, error * chance
    anything = chance * (same**2 * other + other**2 * same) + (1 - 2 * chance) * other**3
    rows = [row for row, state in enumerate(foretold.states) if state.drawn_anew and len(state.causes) == 1]
    assert len(rows) == 6  # three grades of two contacts
    for row in rows:
        own = []
        for machine in foretold.faulty(row):
            labels = label_chances(machine, sound, WORKED.check)
            each = [(1 - error) * labels.get(one.read.label, 0) + other for one in seen]
            own.append(prod(each))
        mean = sum(own) / len(own)
        expected = [(1 - OTHER - UNSEEN) * one + OTHER * mean + UNSEEN * anything for one in own]
        assert found[row, : len(own)] == pytest.approx(expected)


def test_foretold_of_an_intermittent_contact_is_how_often_a_hidden_machine_reads_so():
    """Frequencies of a machine drawn moment by moment, beside what is foretold of it."""
    sound, draw = small(), Random(3)
    foretold = predictions(sound)
    row = next(row for row, state in enumerate(foretold.states) if state.drawn_anew)
    machine, check, number = foretold.faulty(row)[0], WORKED.check, 1500
    stand = standing_start(machine, check.start)
    seen = Counter()
    for _ in range(number):
        moment = as_drawn(machine, draw)
        went = change_from(moment, stand, check.start, check.target)
        seen[change_reading(went, moment, sound, check).label] += 1
    foretold.foretell((check,), [row])
    shares, codes, _ = (part[0, 0] for part in foretold._kept[check].several([row]))
    for (label, _), code in foretold._kept[check].words.items():
        chance = shares[codes == code].sum()
        assert abs(seen[label] / number - chance) <= 4.5 * sqrt(chance * (1 - chance) / number)


def test_a_contact_read_with_a_meter_passes_each_time_anew():
    """Open once and closed twice at the same place: no machine that stays the same does so."""
    seen = [contact_read("A", "OUT", what) for what in ("closed", "open", "closed", "open")]
    found = find(small(), seen)
    assert found.first.causes == (Cause("intermittent contact", "A"),) and found.doubtful == ()


@pytest.mark.slow
def test_a_start_out_of_reach_speaks_against_no_fault_that_lets_it_be_so():
    """Whoever says so doesn't say where the machine stands: a dead solenoid, a belt that slips on the way."""
    birch, alder = load("birch"), load("alder")
    dead = [tried("STOP", "PLAY", "never moved"), looked_at("belt", "as it should be")]
    solenoid = (Cause("dead solenoid"),)
    before, after = (find(birch, [*dead, *more]) for more in ([], [tried("PLAY", "PAUSE", NOT_TRIED)]))
    assert after.by_cause[solenoid] > before.by_cause[solenoid] > 0.4 and after.doubtful == ()
    held = [tried("EJECT", mode, "motor held up, then powered off") for mode in ("PLAY", "STOP")]
    slack = (Cause("slack belt"),)
    before, after = (find(alder, [*held, *more]) for more in ([], [tried("STOP", "EJECT", NOT_TRIED)]))
    assert after.by_cause[slack] == pytest.approx(before.by_cause[slack], rel=0.05)
    assert find(birch, [tried("PLAY", "PAUSE", NOT_TRIED)]).by_cause[(Cause("nothing"),)] < 0.01


def test_a_start_out_of_reach_is_taken_back_by_a_try_of_the_same_change():
    """A wrong entry isn't fatal: what both entries say of one change is weighed together."""
    seen = [tried("PLAY", "PAUSE", NOT_TRIED), tried("PLAY", "PAUSE", "worked")]
    told = find(load("birch"), seen)
    assert told.probabilities.sum() == pytest.approx(1) and np.all(told.cells >= 0)


def test_a_mark_in_a_mode_out_of_reach_says_the_same_as_a_change_that_begins_there():
    dead = [tried("STOP", "PLAY", "never moved"), looked_at("belt", "as it should be")]
    away = observed(load("birch"), Check(MARK, "lever cam", mode="PLAY"), Reading(NO_MODE))
    before, after = (find(load("birch"), [*dead, *more]) for more in ([], [away]))
    solenoid = (Cause("dead solenoid"),)
    assert after.by_cause[solenoid] > before.by_cause[solenoid] > 0.4 and after.doubtful == ()
    assert away.away == "PLAY" and not any(one.start == "PLAY" for one in outlook(after).tables)


def test_a_start_out_of_reach_agrees_with_a_contact_that_passes_only_sometimes():
    """What held the motor up is asked for once, so it may be stuck though the next try could get it on."""
    dogwood = load("dogwood")
    seen = [tried("OUT", "PLAY", "motor held up, then powered off"), tried("STOP", "PLAY", NOT_TRIED)]
    before, after = find(dogwood, seen[:1]).by_cause, find(dogwood, seen).by_cause
    for contact in ("A", "B"):
        sometimes = (Cause("intermittent contact", contact),)
        assert after[sometimes] > before[sometimes] > 0.1


def test_causes_that_are_equally_frequent_are_all_named():
    most = max(one.probability for one in find(load("dogwood")).ranking)
    names = [one.words for one in find(load("dogwood")).ranking if one.probability > 0.999 * most]
    assert names == ["contact A dirty", "contact B dirty"]
    assert find(load("dogwood")).sentence() == (
        "Nothing is observed yet; most often on Dogwood: contact A dirty and contact B dirty, equally often."
    )
    assert find(load("alder")).sentence() == "Nothing is observed yet; most often on Alder: belt slack."
