"""Parts that lose their drive: worked out on paper, against the counting of teeth, and as laws.

The lever's gear hangs on the main gear, a tooth of which is 10 degrees; its play is 3.  The hook's cam hangs
on the lever's gear by 24 teeth of a gear that goes half as fast: 30 degrees a tooth.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_machine import ROUND_TEXT, driven, going_round, going_round_driven, small, spring
from small_released import stepping

from mechlib import transports as tr
from mechlib.bench.not_mended import not_mended
from mechlib.bench.where import where_it_stands
from mechlib.errors import MechError
from mechlib.gears.part_toothed import StepDriver
from mechlib.transports.lost_drive import coming_off, past_missing_teeth
from mechlib.transports.mode_change import change_from, standing_start
from mechlib.transports.model import Part
from mechlib.transports.runs import Run, steady
from mechlib.transports.timing import arrival


def lever_off(deg: float):
    return small().with_faults(tr.clip_gone("lever gear", deg))


# ---- A clip gone ----


def test_up_to_where_it_comes_off_it_follows():
    run = steady(lever_off(30), "loading")
    assert [run.place("lever gear", theta) for theta in (-20, 10, 30, 31, 120)] == [-20, 10, 30, 30, 30]
    assert [run.place("hook cam", theta) for theta in (10, 90)] == [10, 30]  # it hangs on it
    assert run.place("switch", 90) == 90


def test_on_the_way_back_it_stays():
    """It came off on the way up, so it stands all the way down; the play below it isn't taken up either."""
    run = steady(lever_off(30), "unloading")
    for part in ("lever gear", "hook cam"):
        assert [run.place(part, theta) for theta in (120, 30, -20)] == [30, 30, 30]


def test_where_it_never_comes_it_stays_on():
    """The highest place of its parent, come off at 60 itself, isn't high enough."""
    both = small().with_faults(tr.clip_gone("lever gear", 60), tr.clip_gone("hook cam", 70))
    assert steady(both, "unloading").place("hook cam", 0) == 60
    assert small().with_faults(tr.clip_gone("lever gear", 120)).off_at == (("lever gear", 120.0),)


def test_a_change_on_which_it_comes_off():
    """HALF's code begins at 45 and counts at 46, the cam comes to rest at 48; the lever at 30 is 10 mm up."""
    found = tr.change(lever_off(30), "IN", "HALF")
    assert found.outcome == "reached but wrong" and found.stand.theta == 48
    assert [(w.name, w.lift_mm, w.off_deg) for w in found.wrong] == [("lever", 10.0, 9.0)]
    back = change_from(lever_off(30), found.stand, "HALF", "IN")
    assert back.outcome == "reached but wrong" and back.stand.places["lever gear"] == 30  # for good


def test_a_change_before_it_comes_off():
    """Off at 110 only from the stop at 120 on: then hook and latch collide on the way down."""
    faulty = lever_off(110)
    assert all(cell.change.good for cell in tr.change_table(faulty).values())
    assert arrival(faulty, "HALF", "unloading").shut == "hook and latch"
    assert arrival(faulty, "HALF", "unloading").run.place("lever gear", 52) == 110


def test_coasting_past_it_counts():
    """OUT's code counts at 96; the cam coasts to 98 and takes the gear past 97."""
    found = tr.change(lever_off(97), "HALF", "OUT")
    assert found.stand.theta == 98 and found.stand.places["lever gear"] == 97


def test_a_code_that_shows_for_ever_is_never_read():
    """The switch comes off amid HALF's arc: read on the way up; on the way down there is no edge."""
    faulty = small().with_faults(tr.clip_gone("switch", 50))
    assert arrival(faulty, "HALF", "loading").stand_deg == 48
    assert arrival(faulty, "HALF", "unloading") is None and arrival(faulty, "OUT", "loading") is None
    assert tr.change(faulty, "HALF", "OUT").outcome == "ran to the end stop"


def test_what_has_come_off_asks_no_torque():
    """A spring that asks 30 N·mm over theta from 20 to 40 of the lever: from 30 on nothing asks anything."""
    sound = driven(lever=spring(30))
    whole, half = (tr.effort.effort(one, "loading").cam_Nmm([25, 35])
                   for one in (sound, sound.with_faults(tr.clip_gone("lever gear", 30))))  # fmt: skip
    assert whole == pytest.approx([30, 30]) and half == pytest.approx([30, 0])
    time = {one: tr.change(one, "IN", "HALF").time_s
            for one in (sound, sound.with_faults(tr.clip_gone("lever gear", 30)))}  # fmt: skip
    # 60 degrees a second without load, half of that at 30 of the 60 N·mm that the drive has
    assert list(time.values()) == pytest.approx([28 / 60 + 20 / 30, 38 / 60 + 10 / 30], abs=1e-6)


def test_a_cam_that_goes_round_has_lost_it_long_since():
    loose = going_round().with_faults(tr.clip_gone("switch", 180))
    for sense in ("loading", "unloading"):
        run = steady(loose, sense)
        assert {run.place("switch", theta) for theta in (-300, 0, 100, 400)} == {180}
    assert tr.change(loose, "REST", "RUN").outcome == "cannot start"
    stuck = stepping().with_faults(tr.clip_gone("switch", 120))  # the code of HALF for ever
    assert tr.change(stuck, "HALF", "RUN").outcome == "code never seen"


def test_the_same_turns_later():
    """Standing at its place less whole turns it is off; elsewhere it still has the way there to go."""
    line = ((0, 0), (720, 720))
    assert coming_off(line, -300, 1, 60, 360) == ((0, -300), (720, -300))
    assert coming_off(line, 0, 1, 60, 360) == ((0, 0), (60, 60), (720, 60))
    assert coming_off(line, 720, -1, 60, 360) == ((0, 420), (420, 420), (720, 720))


# ---- Teeth missing ----


def teeth_missing(part: str, at_deg: float, teeth: int):
    return small().with_faults(tr.missing_teeth(part, at_deg, teeth))


def test_while_the_gap_goes_by_it_stands():
    run = steady(teeth_missing("lever gear", 30, 1), "loading")
    assert [run.place("lever gear", t) for t in (-20, 30, 35, 40, 48, 120)] == [-20, 30, 30, 30, 38, 110]
    down = steady(teeth_missing("lever gear", 30, 1), "unloading")  # with its play of 3
    assert [down.place("lever gear", t) for t in (120, 48, 40, 30, 25)] == [113, 41, 33, 33, 28]


def test_a_gap_below_the_marks_puts_it_ahead():
    run = steady(teeth_missing("lever gear", -15, 1), "loading")
    assert [run.place("lever gear", t) for t in (-20, -15, -10, -5, 0, 50)] == [-10, -5, -5, -5, 0, 50]
    across = steady(teeth_missing("lever gear", -4, 1), "loading")  # in the gap where the marks line up
    assert [across.place("lever gear", t) for t in (-10, -4, 0, 6, 16)] == [-6, 0, 0, 0, 10]


@pytest.mark.parametrize("teeth, gap", [(0, (50, 80)), (1, (40, 70)), (-2, (70, 100))])
def test_a_gap_slips_with_its_gear(teeth, gap):
    """The lever's gear a tooth (10 degrees) ahead brings its gap to the hook's cam 10 degrees earlier."""
    faults = [tr.missing_teeth("hook cam", 50, 1), tr.slip("lever gear", teeth)]
    for order in (faults, faults[::-1]):
        run = steady(small().with_faults(*(one for one in order if teeth or one is faults[0])), "loading")
        start, end = gap
        moved = [run.place("hook cam", theta) for theta in (0, start, (start + end) / 2, end, 110)]
        assert moved == [0, start, start, start, 80]
        seen = [run.slipped_place("hook cam", theta) for theta in (0, start, end)]
        assert seen == [10 * teeth, 50, 50]  # really it stands where the gap left it


def test_a_slip_of_the_part_itself_leaves_the_gap_where_it_is():
    """Two teeth (60 degrees) ahead of the gear that has the gap."""
    faulty = teeth_missing("hook cam", 50, 1).with_faults(tr.slip("hook cam", 2))
    run = steady(faulty, "loading")
    assert [run.slipped_place("hook cam", theta) for theta in (0, 50, 80, 90)] == [60, 110, 110, 120]


def test_results_are_shared_only_where_the_gap_is_as_far():
    """Slips elsewhere leave the way of the parts as it is; one of the gear with the gap doesn't."""
    gap = teeth_missing("hook cam", 50, 1)
    shared = gap.decides.gearing
    assert gap.with_faults(tr.slip("switch", 1)).decides.gearing == shared
    assert gap.with_faults(tr.slip("lever gear", 1)).decides.gearing != shared
    assert small().with_faults(tr.slip("lever gear", 1)).decides.gearing == small().decides.gearing


def test_turn_after_turn_with_a_slipped_gear():
    """The switch two teeth ahead: its gap, 90 to 100, comes by at 70; a tooth lost before stays lost."""
    arm = {"name": "arm gear", "kind": "gear", "teeth": 36, "meshes_with": "switch", "mark": "dot to dot"}
    sound = going_round(part=[*tomllib.loads(ROUND_TEXT)["part"], arm])
    faulty = sound.with_faults(tr.missing_teeth("arm gear", 90, 1), tr.slip("switch", 2))
    run = steady(faulty, "loading")
    assert [run.place("arm gear", t) for t in (0, 70, 80, 420, 430, 440, 500)] == [
        0,
        70,
        70,
        410,
        420,
        420,
        480,
    ]
    again = Run(faulty, "loading", 0, 400, run.places_at(0) | {"arm gear": -10.0})
    assert [again.place("arm gear", t) for t in (0, 70, 80, 100)] == [-10, 60, 60, 80]


def test_changes_with_a_tooth_missing():
    """At HALF the lever has come to 38 instead of 48, a degree short of where it is right."""
    faulty = teeth_missing("lever gear", 30, 1)
    found = tr.change(faulty, "IN", "HALF")
    assert [(w.name, w.lift_mm, w.off_deg) for w in found.wrong] == [("lever", 18.0, 1.0)]
    back = change_from(faulty, found.stand, "HALF", "IN")
    assert back.outcome == "reached" and back.stand.places["lever gear"] == 5  # 2, and its play: nothing lost
    # from above it comes to rest at 52: 52 − 10 + 3 = 45, right
    assert tr.change(faulty, "OUT", "HALF").outcome == "reached"
    assert tr.change(faulty, "HALF", "OUT").outcome == "reached, then powered off"  # the hook at 88, not 89


def test_two_teeth_of_the_second_mesh():
    """60 degrees of the lever's gear, from 50 on."""
    found = tr.change(teeth_missing("hook cam", 50, 2), "HALF", "OUT")
    assert found.stand.places["hook cam"] == 50 and found.outcome == "reached, then powered off"


def test_turn_after_turn_it_falls_further_behind():
    """REST's code begins at 350 of the switch, RUN's at 170; each is read 1 later, and 2 more are coasted."""
    faulty = going_round().with_faults(tr.missing_teeth("switch", 90, 1))
    first = tr.change(faulty, "REST", "RUN", "loading")
    assert [leg.end_deg - leg.start_deg for leg in first.legs] == [190]  # from 363, the gap once on the way
    assert standing_start(faulty, "RUN").theta == 183 and standing_start(faulty, "REST").theta == 363
    here, at = standing_start(faulty, "RUN"), []
    for target in ("REST", "RUN", "REST", "RUN"):
        here = change_from(faulty, here, "RUN", target).stand
        at.append(here.theta)
    assert at == pytest.approx([3, 193, 13, 203])


@given(st.integers(6, 60), st.integers(1, 5), st.integers(4, 80), st.fractions(0, 4))
def test_as_a_part_toothed_gear_does(teeth, missing, driven_teeth, turns):
    """A main gear with a gap, as ``gears.part_toothed`` counts it, from its first tooth on."""
    places = teeth + missing
    part = Part("arm gear", "gear", driven_teeth, "main gear", places, 1.0, -places / driven_teeth, "dot")
    gear = StepDriver(((teeth, missing),), driven_teeth)
    at = 360.0 * teeth / places
    (_, start), *_, (_, end) = past_missing_teeth(((0, 0), (1, 360.0 * float(turns))), part, [(at, missing)])
    wanted = -gear.driven_turns(turns) * Fraction(driven_teeth, places) * 360
    assert start == 0 and end == pytest.approx(float(wanted), abs=1e-6)


@given(st.floats(-20, 110), st.integers(1, 4), st.floats(-20, 120), st.floats(-20, 120))
def test_there_and_back_nothing_is_lost(at, teeth, start, turned):
    """From any stand on the main gear to another and back, with the play taken up again."""
    faulty = teeth_missing("lever gear", round(at, 3), teeth)
    low, high = sorted((start, turned))
    if high - low < 0.01:
        return
    before = steady(faulty, "loading").places_at(low)
    up = Run(faulty, "loading", low, high, before)
    down = Run(faulty, "unloading", low, high, up.places_at(high)).places_at(low)
    again = Run(faulty, "loading", low - 30, high, down).places_at(high)
    assert again == pytest.approx(up.places_at(high))
    assert before["lever gear"] - 1e-9 <= down["lever gear"] <= before["lever gear"] + 3 + 1e-9


# ---- Put in and told ----


def test_faults_add_up():
    twice = small().with_faults(tr.clip_gone("hook cam", 80), tr.clip_gone("hook cam", 60))
    assert twice.off_at == (("hook cam", 60.0),)  # where it comes first
    gaps = [tr.missing_teeth("lever gear", 60, 2), tr.missing_teeth("lever gear", 80, 1)]
    both, turned = small().with_faults(*gaps), small().with_faults(*gaps[::-1])
    assert both == turned and both.sound == small() and both != small()
    assert steady(both, "loading").place("lever gear", 120) == 90


def test_what_is_told():
    assert tr.missing_teeth("hook cam", 50, 1).sentence().endswith("1 tooth is missing from 50.0° on.")
    faulty = small().with_faults(tr.clip_gone("hook cam", 80), tr.missing_teeth("lever gear", 60, 2))
    assert not_mended(faulty) == (
        "The clip of the hook cam is gone: its gear comes off at 80.0°.",
        "Where the lever gear is driven, 2 teeth are missing from 60.0° on.",
    )


def test_such_a_part_tells_nothing_of_where_the_cam_stands():
    seen = {"lever": "on"}
    assert where_it_stands(lever_off(30), seen).arcs == ((-20, 120),)
    assert where_it_stands(small(), seen).arcs == ((36, 120),)  # from 39 on, and 3 of play
    latch = where_it_stands(lever_off(30), seen | {"latch": "open"}).arcs
    assert latch == where_it_stands(small(), {"latch": "open"}).arcs


def test_no_budget_for_it():
    for faulty in (lever_off(30), teeth_missing("lever gear", 30, 1)):
        with pytest.raises(MechError, match="lost its drive"):
            tr.dwell_budget(faulty, "HALF", "lever")


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        (lambda: tr.clip_gone("hook cam", float("nan")), "deg is nan"),
        (lambda: tr.clip_gone("hook cam", "much"), "must be a number"),
        (lambda: tr.clip_gone("hook cam", -20.5), "moves from -20° to 120°"),
        (lambda: tr.clip_gone("main gear", 20), "no timed part"),
        (lambda: tr.missing_teeth("hook cam", 121, 1), "lever gear moves from -20° to 120°"),
        (lambda: tr.missing_teeth("hook cam", 20, 24), "has 24 at this mesh"),
        (lambda: tr.missing_teeth("hook cam", 20, 0), "teeth is 0"),
        (lambda: tr.missing_teeth("hook cam", 20, 1.5), "whole number"),
        (lambda: tr.missing_teeth("hooks", 20, 1), "no timed part"),
    ],
)
def test_faults_that_cannot_be(fault, told):
    with pytest.raises(MechError, match=told):
        small().with_faults(fault())


@pytest.mark.parametrize("at, teeth", [(60, 1), (79, 1), (51, 1), (0, 7), (100, 33)])
def test_gaps_that_overlap(at, teeth):
    """There are two teeth missing from 60 to 80; the last of these goes round the gear."""
    with pytest.raises(MechError, match=r"missing there already"):
        teeth_missing("lever gear", 60, 2).with_faults(tr.missing_teeth("lever gear", at, teeth))


def test_gaps_side_by_side():
    faulty = teeth_missing("lever gear", 60, 2)
    assert faulty.with_faults(tr.missing_teeth("lever gear", 50, 1), tr.missing_teeth("lever gear", 80, 1))
    with pytest.raises(MechError, match="one at least must be left"):
        faulty.with_faults(tr.missing_teeth("lever gear", 80, 34))


def test_a_mesh_with_a_tooth_of_play_that_goes_round():
    switch = going_round_driven().part("switch")
    loose = replace(going_round_driven(), parts=(replace(switch, play_deg=switch.pitch_deg),))
    with pytest.raises(MechError, match="a tooth of play or more"):
        loose.with_faults(tr.missing_teeth("switch", 90, 1))
