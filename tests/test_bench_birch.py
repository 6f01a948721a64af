"""What the bench says of Birch, whose cam is released from rest to rest: hand turns, card, re-timing."""

from __future__ import annotations

from math import pi, sin

import pytest
from scipy.optimize import brentq

from mechlib import bench
from mechlib import transports as tr
from mechlib.bench.hand_turn import to_reference
from mechlib.bench.not_mended import not_mended
from mechlib.errors import MechError


def test_turned_by_hand_it_only_goes_on():
    birch = tr.load("birch")
    for theta, turns in ((0, 0), (160, 200 / 48), (240, 2.5), (359, 1 / 48)):
        found = to_reference(birch, theta)
        assert found.back_deg == 0 and birch.turns_of(found.forward_deg) == pytest.approx(turns)
    # Of the 200 degrees five at 160 and five at 240 are pushed, not turned: 190/48.
    assert to_reference(birch, 160).words() == "4.0 turns of the flywheel in the loading sense"
    assert to_reference(birch, 240).words() == "2.4 turns of the flywheel in the loading sense"


def test_the_shaft_turns_as_often_as_the_pinion_of_a_step():
    """The same turns as counted for the gear by itself, rest by rest."""
    release = tr.load("birch").release
    for rest, start in enumerate(release.rests_deg):
        step = release.gear.step(rest)
        turned = release.driven_deg(start, start + float(step.deg)) / 360 * 7.5
        assert turned == pytest.approx(float(step.driver_turns))
    assert release.driven_deg(241, 250) == 5 and release.driven_deg(241, 243) == 0


def test_the_card_counts_no_push_as_a_turn():
    # The contacts' ends at 8, 152 and 232 degrees: less one kick, one, and two; 48 degrees a turn.
    rows = {(row[0], row[1]): row for row in bench.timing_card(tr.load("birch")).contacts.rows}
    assert rows["STOP", "0.00"][4] == f"{3 / 48:.2f}" and rows["PAUSE", "38.00"][3] == f"{147 / 48:.2f}"
    assert rows["PLAY", "58.00"][3] == f"{222 / 48:.2f}"


def test_the_card_tells_the_rests():
    card = bench.timing_card(tr.load("birch"))
    assert dict(card.keys)["cam"] == (
        "released by the solenoid, it goes from rest to rest: 0.0°, 160.0° and 240.0°, each ±0.6°; there its "
        "code is read"
    )
    assert "×" not in card.times.text() and "–" not in card.times.text()


def test_retiming_tells_how_to_turn_and_what_is_left():
    birch = tr.load("birch")
    slipped = birch.with_faults(tr.slip("lever cam", -1), tr.latch_worn("PAUSE"))
    found = bench.retiming(slipped, "STOP")
    assert [(move.part, move.teeth) for move in found.moves] == [("lever cam", 1)]
    words = [step.words for step in found.steps]
    assert sum("pull the solenoid's plunger by hand" in one for one in words) == 2
    assert any("The latch misses the rest of PAUSE." in one for one in words)
    assert not_mended(birch) == ()
    assert not_mended(birch.with_faults(tr.cut_off_open())) == (tr.cut_off_open().sentence(),)
    assert not_mended(birch.with_faults(tr.dead_solenoid())) == (tr.dead_solenoid().sentence(),)


def test_a_proof_hints_at_the_slip():
    sheet = [("STOP", "PLAY", "no"), ("PAUSE", "PLAY", "no"), ("PLAY", "STOP", "yes", 0.5)]
    sheet += [("STOP", "PAUSE", "yes"), ("PAUSE", "STOP", "yes"), ("PLAY", "PAUSE", "yes")]
    hints = bench.judge(tr.load("birch"), sheet).hints
    assert [(hint.mesh, hint.teeth, hint.off) for hint in hints] == [("lever cam", -1, 0)]


def test_a_latch_lets_nothing_coast():
    birch = tr.load("birch")
    with pytest.raises(MechError, match="a latch lets nothing coast"):
        bench.dwell_trial(birch, "PLAY", "reel idler", coast_deg=1)
    # The idler moves cycloidally from 216 on; it counts as in from 2.7 of 3 mm on, the rest is at 240.
    part = brentq(lambda u: u - sin(2 * pi * u) / (2 * pi) - 0.9, 0, 1)
    found = bench.dwell_trial(birch, "PLAY", "reel idler", move_deg=-2)
    assert found.before.margin_deg == pytest.approx(24 - 28 * part)
    assert found.margin.margin_deg == pytest.approx(24 - 26 * part)
