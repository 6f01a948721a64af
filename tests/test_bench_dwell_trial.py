"""Another dwell: worked out on paper."""

import copy
import math
import tomllib
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from small_machine import going_round, small, values

from mechlib.bench.dwell_trial import AS_IT_IS, Lost, dwell_trial, trial_ranges
from mechlib.errors import MechError
from mechlib.transports import bent_lever, load, slip
from mechlib.transports.files import transport_from
from mechlib.transports.runs import steady
from mechlib.transports.timing import arrival, arriving_senses, mode_margin

near = pytest.approx
ALDER = load("alder")
TOML = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))


def rooms(trial):
    return {d.sense: (near(d.below_deg), near(d.above_deg)) for d in trial.distances}


# ---- On paper ----


def test_nothing_asked_changes_nothing():
    trial = dwell_trial(small(), "HALF", "lever")
    assert trial.transport == small() and trial.margin == mode_margin(small(), "HALF") == trial.before
    assert trial.lost == () and trial.elsewhere == () and trial.transport.sound is trial.transport
    assert dwell_trial(small(), "HALF", "lever", law_name=AS_IT_IS).transport == small()
    assert trial.sentence().startswith("HALF has a margin of 4.0° (it was 4.0°), ruled by the latch; ")
    assert "lever" in trial.sentence() and "12.5° short below the stop angle" in trial.sentence()
    assert "othing else lost margin" in trial.sentence() and "elsewhere" not in trial.sentence()


def test_another_length_on_paper():
    # on from 40 to 160, now from 45; 25 degrees for 20 mm, of which 1 mm counts as on: right from 43.75
    trial = dwell_trial(small(), "HALF", "lever", length_deg=110)
    assert rooms(trial) == {"loading": (48 - 43.75, 72), "unloading": (52 + 3 - 43.75, 68)}
    assert trial.budget.low.there_deg == near(4.25)
    assert trial.lost == ()  # OUT has its margin from the hook, IN gains
    assert mode_margin(trial.transport, "IN").margin_deg == near(21.25 - 5)


def test_another_place_on_paper():
    # the latch is shut from -30 to 55: moved by 2 up to 57, 8 degrees for 10 mm
    trial = dwell_trial(small(), "HALF", "latch", move_deg=2)
    assert rooms(trial) == {"loading": (68, 9.8), "unloading": (72, 5.8)}
    (lost,) = trial.lost  # the hook leaves at 71, at 68 when unloading; the latch opens at 64.2, not 64
    assert lost.name == "the interlock hook and latch"
    assert (lost.before_deg, lost.after_deg) == (near(4), near(3.8))
    assert lost.sentence() == "The interlock hook and latch goes from 4.0° to 3.8°."
    assert ". The interlock hook and latch lost margin." in trial.sentence()
    assert dwell_trial(small(), "HALF", "latch", move_deg=-2).lost == ()
    assert Lost("pair", math.inf, 2.0).sentence() == "Pair goes from no limit to 2.0°."


def test_another_law_on_paper():
    trial = dwell_trial(small(), "HALF", "lever", law_name="cycloidal")
    low, high = 0.5, 1.0  # s = x - sin(2 pi x) / 2 pi comes to 0.95, by halving
    for _ in range(60):
        x = (low + high) / 2
        low, high = (x, high) if x - math.sin(2 * math.pi * x) / (2 * math.pi) < 0.95 else (low, x)
    assert rooms(trial)["loading"] == (near(48 - (20 + 20 * x)), near(72))
    assert [s.law for s in trial.transport.follower("lever").programme.segments] == [
        "dwell", "cycloidal", "dwell"
    ]  # fmt: skip


@pytest.mark.parametrize("mode, was, lost", [("DOWN", 11.4, 4), ("EJECT", 2.2, 0)])
def test_a_follower_that_is_never_in_range_is_told_no_angle(mode, was, lost):
    trial = dwell_trial(ALDER, mode, "carriage", length_deg=0.2)
    need = next(n for n in trial.transport.mode(mode).needs if n.follower == "carriage")
    for sense in arriving_senses(trial.transport)[mode]:  # nowhere between the stops
        lifts = followers_at(trial.transport, sense, "carriage")
        assert not any(low <= lift <= high for lift in lifts for low, high in need.spans)
    assert trial.sentence().startswith(
        f"{mode} cannot stand right: the carriage is never in range between the stops (the margin was {was}°)"
    )
    never = [one.sentence() for one in trial.lost if one.never]
    assert len(never) == lost and "386" not in trial.sentence() + " ".join(trial.losses())
    assert (
        not never
        or never[0] == "WIND goes from 3.9° to none: the carriage is never in range between the stops."
    )


def followers_at(transport, sense, name):
    """The lift of a follower at every 0.05 degrees of the travel."""
    run, one = steady(transport, sense), transport.follower(name)
    theta = np.arange(transport.low_deg, transport.high_deg, 0.05)
    places = np.interp(theta, *zip(*run.knots[one.part], strict=True)) + transport.advance_deg[one.part]
    return one.programme.lifts(places) + one.bent_mm


def test_another_coasting_on_paper():
    trial = dwell_trial(small(), "HALF", "latch", coast_deg=0.5)
    assert arrival(trial.transport, "HALF", "loading").stand_deg == near(46.5)
    assert rooms(trial)["unloading"][1] == near(56 - 53.5) and trial.margin.margin_deg == near(2.5)
    assert [one.name for one in trial.lost] == ["IN", "OUT"]  # OUT 98 to 96.5, IN from 5 to 6.5: 21 away
    far = dwell_trial(small(), "HALF", "latch", coast_deg=15)  # loading, it stands at 61
    assert far.sentence().startswith("HALF stands wrong by 5.0° (it was 4.0°), ruled by the latch; the")


def test_another_width_of_contact_on_paper():
    trial = dwell_trial(small(), "HALF", "latch", contact_deg=14)
    assert {c.name: c.closed for c in trial.transport.contacts} == {
        "A": ((-5, 5), (95, 105)),
        "B": ((43, 57), (95, 105)),
    }
    assert rooms(trial) == {"loading": (66, 10), "unloading": (74, 2)}
    least = dwell_trial(small(), "HALF", "latch", contact_deg=17)  # 58.5 less 3: half a degree
    assert least.sentence().startswith("HALF has a margin of 0.5° (it was 4.0°)")
    both = dwell_trial(small(), "OUT", "hook", contact_deg=6)  # both contacts of the code
    assert {c.closed[1] for c in both.transport.contacts} == {(97, 103)}
    assert [c.closed[0] for c in both.transport.contacts] == [(-5, 5), (45, 55)]


def test_an_edge_of_another_contact_that_bounds_the_code_moves_too():
    contacts = [
        {"name": "A", "closed": [[{"deg": -5}, {"deg": 5}], [{"deg": 95}, {"deg": 105}]]},
        {"name": "B", "closed": [[{"deg": 45}, {"deg": 105}]]},
    ]
    modes = values()["mode"]
    modes[1]["needs"] = {"lever": "on"}
    machine = small(contact=contacts, mode=modes)  # HALF from 45 to 95, where A closes; OUT from 95 to 105
    trial = dwell_trial(machine, "HALF", "lever", contact_deg=44)
    assert [c.closed for c in trial.transport.contacts] == [((-5, 5), (92, 105)), ((48, 105),)]
    assert trial.transport.mode("OUT").code == {"A", "B"}


def test_a_cam_that_goes_round():
    # off from 340 over the seam to 100: 120 about 40; now 100 from 350 to 90, falling from 300 to 350
    trial = dwell_trial(going_round(), "REST", "lever", length_deg=100)
    assert rooms(trial) == {"loading": (353 - 347.5, 90 + 2.5 + 7)}
    assert trial.transport.follower("lever").programme.lift(355) == near(0)
    assert trial.transport.follower("lever").programme.lift(325) == near(10)
    run = dwell_trial(going_round(), "RUN", "lever", length_deg=150, move_deg=1)  # 146 to 296
    assert rooms(run) == {"loading": (173 - 143.7, 296 + 2.2 - 173)}
    with pytest.raises(MechError, match="it may be 198.00° long there"):  # 101 to 339, about 240
        dwell_trial(going_round(), "RUN", "lever", length_deg=199, move_deg=20)
    with pytest.raises(MechError, match="it may be 178.00° long there"):  # -59 to 139, about 30
        dwell_trial(going_round(), "REST", "lever", length_deg=179, move_deg=-10)
    wide = dwell_trial(going_round(), "REST", "lever", contact_deg=24)
    assert arrival(wide.transport, "REST", "loading").stand_deg == near(348 + 3)
    with pytest.raises(MechError, match="contact_deg is 340°: it must be from 1.1 to 339.8°"):
        dwell_trial(going_round(), "REST", "lever", contact_deg=340)
    assert trial_ranges(going_round(), "REST", "lever")["contact_deg"].span() == "1.2° to 60.0°"


# ---- What can't be ----


def test_the_greatest_length_is_said():
    # on from 40 to 160, its move begins at 20 and keeps 1 degree: 100 ± 79
    assert dwell_trial(small(), "HALF", "lever", length_deg=158).transport
    with pytest.raises(MechError, match="158.10° long, moved by 0.00°, leaves nothing.*may be 158.00° long"):
        dwell_trial(small(), "HALF", "lever", length_deg=158.1)
    with pytest.raises(MechError, match="may be 156.00° long there"):
        dwell_trial(small(), "HALF", "lever", length_deg=158, move_deg=-1)
    # the hook is up from 90, its move begins at 70; shut up to 55, its move ends at 65
    assert dwell_trial(small(), "HALF", "latch", length_deg=2 * (64 - 12.5)).transport
    with pytest.raises(MechError, match="may be 103.00° long"):
        dwell_trial(small(), "HALF", "latch", length_deg=2 * (64 - 12.5) + 0.1)
    file = values()
    file["follower"][2]["track"][0]["until"] = {"deg": 64.5}  # a move of half a degree may stay so
    assert dwell_trial(small(**file), "HALF", "latch").transport
    with pytest.raises(MechError, match="leaves nothing"):
        dwell_trial(small(**file), "HALF", "latch", move_deg=0.1)
    file["follower"][0]["track"][0]["until"] = {"deg": 39.5}
    assert dwell_trial(small(**file), "HALF", "lever").transport
    with pytest.raises(MechError, match="leaves nothing"):
        dwell_trial(small(**file), "HALF", "lever", move_deg=-0.1)
    with pytest.raises(MechError, match="move it less"):
        dwell_trial(ALDER, "PLAY", "reel idler", length_deg=1, move_deg=23)


@pytest.mark.parametrize(
    "given, message",
    [
        ({"length_deg": 0}, "length_deg"),
        ({"length_deg": math.nan}, "length_deg"),
        ({"move_deg": 31}, "move_deg is 31°"),
        ({"coast_deg": -0.1}, "coast_deg"),
        ({"coast_deg": 61}, "coast_deg"),
        ({"contact_deg": 1.0}, "contact_deg is 1°: it must be from 1.1 to 89.8°"),
        ({"contact_deg": 90}, "contact_deg is 90°"),
        ({"contact_deg": "wide"}, "contact_deg"),
        ({"law_name": "bouncing"}, "there is no such law"),
        ({"teeth": 99}, "teeth is 99"),
    ],
)
def test_what_is_out_of_range_is_refused(given, message):
    with pytest.raises(MechError, match=message):
        dwell_trial(small(), "HALF", "lever", **given)


def test_a_contact_that_hides_a_code_is_refused():
    with pytest.raises(MechError, match="contact 20.00° wide the code of EJECT never shows"):
        dwell_trial(ALDER, "EJECT", "carriage", contact_deg=20)  # it would close beyond the low stop
    with pytest.raises(MechError, match="code of EJECT never shows"):
        dwell_trial(ALDER, "DOWN", "carriage", contact_deg=34)  # closed still where the main cam waits
    assert dwell_trial(ALDER, "DOWN", "carriage", contact_deg=31).transport


def test_what_may_just_be():
    assert dwell_trial(small(), "HALF", "lever", move_deg=30, coast_deg=60, contact_deg=89.8).transport
    assert dwell_trial(small(), "HALF", "lever", coast_deg=0, contact_deg=1.1).margin.margin_deg > 0


def test_what_has_no_dwell_or_has_faults_is_refused():
    with pytest.raises(MechError, match="this transport has faults"):
        dwell_trial(small().with_faults(slip("switch", 1)), "HALF", "lever")
    with pytest.raises(MechError, match="the code has no dwell"):
        dwell_trial(small(), "HALF", "code")
    with pytest.raises(MechError, match="does not ask for a follower 'hook'"):
        dwell_trial(small(), "HALF", "hook")
    file = values()
    file["mode"][1]["needs"] = {"lever": ["on", "between"]}
    file["follower"][0]["track"][0]["until"] = {"deg": 30}
    file["follower"][0]["track"][1]["until"] = {"deg": 70}
    assert dwell_trial(small(**file), "HALF", "lever").transport  # in the move, which leads to a dwell
    file["mode"][1]["needs"] = {"lever": "between"}
    with pytest.raises(MechError, match="in HALF the lever stands on no dwell"):
        dwell_trial(small(**file), "HALF", "lever")


def test_a_dwell_beyond_what_suits_is_not_taken():
    file = values()
    file["follower"][0]["track"] = [
        {"hold": "off", "until": {"deg": 30}},
        {"move_to": "on", "until": {"deg": 70}, "law": "constant velocity"},  # here it stands
        {"hold": "on", "until": {"deg": 75}},
        {"move_to": {"mm": 10}, "until": {"deg": 80}, "law": "constant velocity"},
        {"hold": {"mm": 10}, "until": {"deg": 160}},
    ]
    file["mode"][1]["needs"] = {"lever": "between"}
    file["mode"][2]["needs"] = {"hook": "up"}
    with pytest.raises(MechError, match="in HALF the lever stands on no dwell"):
        dwell_trial(small(**file), "HALF", "lever")


def test_of_contacts_on_two_parts_the_narrower_arc_bounds_the_code():
    for closed, moved in (((40.0, 70.0), "B"), ((47.0, 51.0), "L")):
        code = {"name": "L", "part": "lever gear", "closed": [[{"deg": edge} for edge in closed]]}
        modes = values()["mode"]
        modes[1] |= {"code": ["B", "L"], "needs": {"lever": "on"}}
        contacts = values()["contact"]
        contacts[1]["closed"] = contacts[1]["closed"][:1]
        modes[2]["code"] = ["M"]
        contacts.append({"name": "M", "closed": [[{"deg": 95}, {"deg": 105}]]})
        contacts[0]["closed"] = contacts[0]["closed"][:1]
        machine = small(contact=[*contacts, code], mode=modes)
        now = trial_ranges(machine, "HALF", "lever")["contact_deg"].default
        trial = dwell_trial(machine, "HALF", "lever", contact_deg=now + 1)
        pairs = zip(machine.contacts, trial.transport.contacts, strict=True)
        assert [new.name for old, new in pairs if old != new] == [moved]
        assert dwell_trial(machine, "HALF", "lever", contact_deg=now).transport == machine


def test_edges_that_all_but_meet_stay_where_they_are():
    a, b = small().contacts
    a = replace(a, closed=(*a.closed, (55.05, 58.0)))  # 0.05 above the code of HALF
    close = replace(small(), contacts=(a, b))
    assert dwell_trial(close, "HALF", "lever", contact_deg=10).transport.contacts == (a, b)
    with pytest.raises(MechError, match="it must be from 1.1 to 10°"):
        dwell_trial(close, "HALF", "lever", contact_deg=10.05)


def test_of_several_dwells_that_suit_the_one_stood_on_is_taken():
    file = values()
    file["mode"][1]["needs"]["lever"] = ["off", "between", "on"]
    trial = dwell_trial(small(**file), "HALF", "lever", length_deg=110)
    segments = trial.transport.follower("lever").programme.segments
    assert [s.start_deg for s in segments] == [-60, 20, 45]
    assert " no limit below the stop angle" in trial.sentence()


def test_a_short_dwell_close_by_is_not_the_one_stood_on():
    file = values()
    steps = (("on", 30), ("off", 36), ("off", 38), ("on", 40), ("on", 160))
    file["follower"][0]["track"] = [
        {"move_to": state, "until": {"deg": at}, "law": "constant velocity"}
        if at in (36, 40)
        else {"hold": state, "until": {"deg": at}}
        for state, at in steps
    ]
    file["mode"][0]["needs"] = {"hook": "down"}
    file["mode"][1]["needs"] = {"lever": ["off", "between", "on"]}
    assert trial_ranges(small(**file), "HALF", "lever")["length_deg"].default == near(120)


def test_a_follower_that_never_moves_has_no_dwell_to_change():
    for machine, mode in ((small, "HALF"), (going_round, "RUN")):
        whole = machine().follower("lever")
        need = next(n for n in machine().mode(mode).needs if n.follower == "lever")
        dwell = whole.programme.segments[-1]
        dwell = replace(dwell, start_deg=dwell.end_deg - 360, start_mm=20, end_mm=20, law="dwell")
        still = replace(whole, programme=replace(whole.programme, segments=(dwell,)))
        modes = tuple(
            replace(m, needs=(replace(need, arcs=still.arcs(need.spans)),)) if m.name == mode else m
            for m in machine().modes
        )
        others = tuple(f for f in machine().followers if f.name != "lever")
        stuck = replace(machine(), followers=(still, *others), modes=modes)
        with pytest.raises(MechError, match="stands still all the way"):
            dwell_trial(stuck, mode, "lever")


def test_dwells_in_a_row_are_one():
    file = values()
    file["follower"][0]["track"][2:] = [
        {"hold": "on", "until": {"deg": 60}},
        {"hold": "on", "until": {"deg": 160}},
    ]
    segments = dwell_trial(small(**file), "HALF", "lever", length_deg=110).transport.follower("lever")
    assert [s.start_deg for s in segments.programme.segments] == [-60, 20, 45]


def test_a_stage_that_the_dwell_no_longer_holds_for_is_told():
    file = copy.deepcopy(TOML)
    file["mode"][0]["needs"]["cam detent"] = "seated"
    machine = transport_from(file, "alder.toml")
    # seated up to -14; the main cam sits at -16 in that stage.  2/13 of the move lift it by 0.14 mm
    assert dwell_trial(machine, "EJECT", "cam detent", move_deg=-4).elsewhere == ()
    trial = dwell_trial(machine, "EJECT", "cam detent", move_deg=-8)  # 6/17 lift it by 0.7 mm
    assert trial.elsewhere == ("carriage",)
    assert trial.sentence().endswith("n carriage the power goes elsewhere.")


def test_a_bent_lever_keeps_its_dwell():
    bent = replace(small().follower("lever"), bent_mm=0.5)
    machine = replace(small(), followers=(bent, *small().followers[1:]))
    trial = dwell_trial(machine, "HALF", "lever", length_deg=110)
    assert rooms(trial)["loading"][0] == near(48 - (45 - 1.5 * 1.25))
    assert trial.transport.follower("lever").bent_mm == 0.5


def test_a_bent_lever_that_suits_only_bent():
    half = small().mode("HALF")
    needs = tuple(replace(n, spans=((20.2, 25.0),)) if n.follower == "lever" else n for n in half.needs)
    modes = tuple(replace(half, needs=needs) if m.name == "HALF" else m for m in small().modes)
    bent = replace(replace(small(), modes=modes).with_faults(bent_lever("lever", 0.5)), origin=None)
    assert rooms(dwell_trial(bent, "HALF", "lever"))["loading"][0] == near(48 - 39.7)
