"""Where one motor takes over from another: Cedar's drawer and cam, with the angles worked out on paper.

The drawer's contact IN closes 2.5 degrees before the drawer's end at -12, and 6 are pushed on; the slide's
contact H closes at 4 on the way back (0.36 lower, by the slide's play), and 20 are pushed on.
"""

from __future__ import annotations

import copy

import pytest
from test_transports_read_motors import CEDAR

from mechlib import transports as tr
from mechlib.transports.files import transport_from
from mechlib.transports.mode_change import change_from, standing_start
from mechlib.transports.outcomes import ELSEWHERE, JAMMED, NEVER_SEEN, ON_RETRY, RIGHT
from mechlib.transports.runs import steady
from mechlib.transports.timing import arrival

BORDER, PLAY = -12.0, 0.03 * 12


def cedar(*faults):
    return tr.load("cedar").with_faults(*faults)


def first_leg(transport, start: str, target: str):
    found = tr.change(transport, start, target)
    return found.legs[0], found.outcome


def test_in_order_nothing_is_in_the_way():
    for sense in ("loading", "unloading"):
        assert steady(cedar(), sense).hand_overs == ()
    assert steady(tr.load("alder").with_faults(tr.open_contact("K")), "loading").hand_overs == ()


def test_without_the_drawers_contact_the_cam_is_never_turned():
    """Dirty by 2.6 degrees IN closes 0.1 beyond the drawer's end; by 2.4 it closes 0.1 before it."""
    leg, outcome = first_leg(cedar(tr.dirty_contact("IN", 2.6)), "OPEN", "WIND")
    assert (outcome, leg.end_deg, leg.time_s, leg.moving) == (NEVER_SEEN, BORDER, 6.0, False)
    assert "contact IN does not tell that the stage drawer is done: the drawer motor goes on" in leg.why
    leg, _ = first_leg(cedar(tr.dirty_contact("IN", 2.4)), "OPEN", "WIND")
    assert leg.end_deg > 30


def test_a_drawer_told_in_too_soon_stays_short_of_its_end():
    """Ahead by d the rack closes IN at -14.5 - d: 6 on is short of the end if d is above 3.5."""
    leg, outcome = first_leg(cedar(tr.split_gear("drawer rack", 3.55)), "OPEN", "WIND")
    assert leg.ended == ELSEWHERE and leg.end_deg == pytest.approx(-14.5 - 3.55 + 6)
    assert "contact IN has told too soon that the stage drawer is done" in leg.why
    assert outcome == ON_RETRY  # it pushes on again
    assert first_leg(cedar(tr.split_gear("drawer rack", 3.45)), "OPEN", "WIND")[1] == RIGHT


def test_a_cam_told_back_too_soon_stays_short_of_its_end():
    """Behind by d the slide closes H at 4 + d less its play; 20 on is short of the end if that is above 8.

    Asked again it pushes on again.
    """
    leg, outcome = first_leg(cedar(tr.split_gear("switch slide", -9.0)), "PLAY", "OPEN")
    assert outcome == ELSEWHERE and leg.end_deg == pytest.approx(4 + 9 - PLAY - 20)
    found = tr.change(cedar(tr.split_gear("switch slide", -8.0)), "PLAY", "OPEN")
    assert [run.ended for run in found.legs] == [ELSEWHERE, RIGHT, RIGHT] and found.outcome == ON_RETRY
    assert first_leg(cedar(tr.split_gear("switch slide", -4.3)), "PLAY", "OPEN")[1] == RIGHT
    leg, outcome = first_leg(cedar(tr.slip("switch slide", 2)), "REVIEW", "OPEN")
    assert outcome == NEVER_SEEN and leg.end_deg == BORDER and "contact H does not tell" in leg.why


def test_the_contact_matters_wherever_the_drive_stands_beyond():
    """From the middle of the cam's stage, loading: without IN it is the drawer's motor that turns."""
    sound = cedar()
    stand = standing_start(sound, "PAUSE")
    found = change_from(cedar(tr.open_contact("IN")), stand, "PAUSE", "PLAY")
    assert found.legs[0].end_deg == found.legs[0].start_deg or found.legs[0].purpose == "homing"
    obstacles = steady(cedar(tr.open_contact("IN")), "loading").hand_overs
    assert [(o.kind, o.name, o.contact, o.arcs) for o in obstacles] == [
        ("not told", "drawer", "IN", ((BORDER, 222.0),))
    ]
    obstacles = steady(cedar(tr.open_contact("H")), "unloading").hand_overs
    assert [(o.kind, o.name, o.arcs) for o in obstacles] == [("not told", "cam", ((-150.0, BORDER),))]


def test_coasting_ends_at_the_other_motors_stage():
    """IN dirty by 1.1 closes at -13.4; read at -12.5, 1.2 on would be -11.3, in the cam's stage."""
    came = arrival(cedar(tr.dirty_contact("IN", 1.1)), "SHUT", "loading")
    assert came.read_deg == pytest.approx(-12.5) and came.stand_deg == BORDER
    found = tr.change(cedar(tr.dirty_contact("IN", 1.1)), "OPEN", "SHUT")
    assert found.stand.theta == BORDER and found.good
    sound = cedar()
    assert sound.coasted(-12.5, "loading") == BORDER and sound.coasted(-12.5, "unloading") == -13.7
    assert sound.coasted(-11.5, "unloading") == BORDER and sound.coasted(BORDER, "loading") == -10.8
    assert sound.coasted(221.9, "loading") == 222 and sound.coasted(-149.9, "unloading") == -150


def test_names_with_braces_are_told_as_they_stand():
    values = copy.deepcopy(CEDAR)
    values["stage"][0]["name"] = "drawer {in} {}"
    faulty = transport_from(values, "cedar.toml").with_faults(tr.dirty_contact("IN", 2.6))
    leg, _ = first_leg(faulty, "OPEN", "WIND")
    assert "contact IN does not tell that the stage drawer {in} {} is done: the drawer motor" in leg.why


def test_a_hand_knows_nothing_of_hand_overs():
    """Without IN the motor can't do it; the way by hand is free."""
    from mechlib.bench.way_out import way_out

    way = way_out(cedar(tr.open_contact("IN"), tr.open_contact("H")), 128.0, "OPEN")
    assert way.blocked is None and way.stop_deg < -140


def test_a_jam_comes_before_a_hand_over_that_fails():
    """A bent lift meets the drawer's frame on the way out; nothing is said of contacts."""
    found = tr.change(cedar(tr.slip("lift sector", 2), tr.dirty_contact("IN", 2.6)), "OPEN", "SHUT")
    assert found.outcome == JAMMED and "contact" not in found.why
