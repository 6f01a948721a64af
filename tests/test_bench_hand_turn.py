"""Turning the drive to the marks: worked out by hand on the small machine (18 turns, longest play 3)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_machine import going_round, small, values

from mechlib.bench.hand_turn import amount, to_reference
from mechlib.errors import MechError
from mechlib.transports import bent_lever, load, slip

# theta, degrees back (against the loading sense), degrees forward
TURNS = [(48, 51, 3), (120, 123, 3), (0, 3, 3), (-1, 2, 3), (-3, 0, 3), (-5, 0, 5), (-20, 0, 20)]


@pytest.mark.parametrize(("theta", "back", "forward"), TURNS)
def test_back_past_the_play_then_forward(theta, back, forward):
    found = to_reference(small(), theta)
    assert (found.back_deg, found.forward_deg, found.barred) == (back, forward, ())
    assert theta - found.back_deg + found.forward_deg == 0


def test_words():
    assert to_reference(small(), 57).sentence() == (
        "From 57.0° to 0° of the main cam: 3.0 turns of the crank against the loading sense, "
        "then 0.1 turns in the loading sense."
    )
    assert to_reference(small(), -20).words() == "1.0 turn of the crank in the loading sense"
    no_shaft = values()
    del no_shaft["hand_shaft"]
    assert amount(small(), 20) == "1.0 turn of the crank"
    assert to_reference(small(hand_shaft=[]), -20).words() == "20.0° of the main cam in the loading sense"


def test_no_play_beyond_the_low_stop():
    drive = values()["drive"] | {"low_stop": {"deg": -2}}
    found = to_reference(small(drive=drive), 10)
    assert (found.back_deg, found.forward_deg) == (12, 2)


@pytest.mark.parametrize(("theta", "forward"), [(0, 0), (90, 270), (359, 1), (360, 0)])
def test_a_cam_that_goes_round_is_turned_on(theta, forward):
    found = to_reference(going_round(), theta)
    assert (found.back_deg, found.forward_deg) == (0, forward)
    if not forward:
        assert found.words() == "nothing to turn"


def test_a_cam_that_goes_round_with_play():
    part = going_round().parts[0]
    row = {"name": part.name, "kind": "gear", "teeth": 36, "meshes_with": "main gear", "mark": "dot to dot"}
    played = going_round(part=[row | {"play_teeth": 0.4}])  # 4 degrees
    assert [(f.back_deg, f.forward_deg) for f in (to_reference(played, t) for t in (0, 359, 350))] == [
        (4, 4),
        (3, 4),
        (0, 10),
    ]


def test_what_bars_the_way():
    # One tooth of the hook cam is 30 degrees: the hook leaves "down" at 41, in the unloading sense at 38; the
    # latch is open from 64 only.
    out = small().with_faults(slip("hook cam", 1))
    assert to_reference(out, 100).barred == ("the interlock hook and latch bars the way at 64.0°",)
    assert to_reference(out, 60).barred == ("the interlock hook and latch bars the way at 60.0°",)
    assert to_reference(out, 38).barred == ()
    assert to_reference(out, 19).barred == ()  # 22 back, and the last 3 forward lie below 0
    assert to_reference(small(), 100).barred == ()
    told = to_reference(out, 100).sentence()
    assert "don't force it: the interlock hook and latch bars the way at 64.0°" in told
    back = small().with_faults(slip("switch", 1))
    assert to_reference(back, 100).barred == ()


def test_what_bars_the_way_in_the_loading_sense():
    alder = load("alder").with_faults(slip("loading gear", 8))  # arms start out at 8 - 36 degrees
    barred = to_reference(alder, -100).barred
    assert barred and all("arms and cassette bars the way at −" in words for words in barred)


def test_part_stops_and_stages_are_told():
    rows = values()["part"]
    rows[0] |= {"low_stop": {"deg": -25}, "high_stop": {"deg": 125}}
    out = small(part=rows).with_faults(slip("switch", 2))
    assert to_reference(out, 115).barred == ("the switch reaches its own stop at 115.0°",)
    bent = load("alder").with_faults(bent_lever("cam detent", 1))  # no longer seated: stage from -118 to -16
    assert to_reference(bent, -118).barred == ("the stage carriage loses the power at −118.0°",)
    assert to_reference(bent, -16).barred == () == to_reference(load("alder"), -118).barred


@given(st.floats(-118, 268))
def test_alder_ends_at_the_marks_with_play_taken_up(theta):
    alder = load("alder")
    found = to_reference(alder, theta)
    assert theta - found.back_deg + found.forward_deg == pytest.approx(0, abs=1e-9)
    play = max(sum(alder.part(p).play_deg for p in chain) for chain in alder.chains.values())
    assert found.forward_deg >= play - 1e-9 and found.back_deg >= 0


@pytest.mark.parametrize("theta", [-20.001, 120.001, float("nan"), "IN", None, True])
def test_bad_angles(theta):
    with pytest.raises(MechError):
        to_reference(small(), theta)
