"""Trains on fixed axes: tooth by tooth, a worm's thread in space, energy, and play felt by turning back."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.errors import MechError
from mechlib.gears import (
    Driven,
    Mesh,
    Train,
    Wheel,
    drive,
    drive_back,
    gear_pair,
    hand_turns,
    play,
    speeds,
    train,
)

ALDER = train("worm 1 :(40 %, 0.5°) 24+18 :(98 %, 0.4°) 18+16 :(97 %, 0.3°) 48")


@st.composite
def trains(draw):
    """A random train as text, with the (kind, teeth) of both wheels and (efficiency, play) of every mesh."""
    text, pairs, numbers = "", [], []
    last = draw(st.integers(1, 5))
    ends_in_rack = draw(st.booleans())
    for place in range(1, last + 1):
        driver = draw(st.sampled_from(["gear", "worm", "worm left"])) if place < 3 else "gear"
        a = draw(st.integers(8, 40)) if driver == "gear" else draw(st.integers(1, 4))
        kind = "gear" if driver != "gear" else draw(st.sampled_from(["gear", "ring"]))
        kind = "rack" if place == last and ends_in_rack and driver == "gear" else kind
        b = 0 if kind == "rack" else draw(st.integers(8, 40)) + (a if kind == "ring" else 0)
        percent, loose = draw(st.integers(40, 100)), draw(st.integers(0, 20)) / 10
        unit = "mm" if kind == "rack" else "°"
        name = {"gear": f"{a}", "worm": f"worm {a}", "worm left": f"worm {a} left"}[driver]
        other = {"gear": f"{b}", "ring": f"ring {b}", "rack": "rack m0.5"}[kind]
        text += f"{'+' if text else ''}{name} :({percent} %, {loose} {unit}) {other}"
        pairs.append(((driver, a), (kind, b)))
        numbers.append((percent / 100, loose))
    return text, pairs, numbers


def teeth_moved(pairs, turns):
    """Follow the teeth from mesh to mesh: turns of the last wheel, or teeth of a rack."""
    for (driver, a), (kind, b) in pairs:
        passed = turns * a  # teeth that go by at the mesh, seen as + where the driver turns +
        if kind == "rack":
            return passed
        same = kind == "ring" or driver == "worm"
        turns = passed / Fraction(b) * (1 if same else -1)
    return turns


@given(trains())
def test_ratio_and_sense_tooth_by_tooth(made):
    text, pairs, _ = made
    one = train(text)
    assert one.ratio == teeth_moved(pairs, 1) and one.ratios[0] == 1
    assert one.ratios == tuple(teeth_moved(pairs[:n], 1) for n in range(len(pairs) + 1))
    found = drive(one, Fraction(-7, 2), 0)
    assert found.speeds == tuple(Fraction(-7, 2) * ratio for ratio in one.ratios)


def test_plain_and_internal_meshes_agree_with_gear_pairs():
    for text, internal in (("13 : 47", False), ("13 : ring 47", True)):
        pair = speeds(gear_pair(13, 47, internal=internal), [Driven("driver", 1)])
        assert train(text).ratio == pair["driven"]
    assert train("ring 47 : 13").ratio == Fraction(47, 13)


def test_an_idler_changes_the_sense_only():
    assert train("12 : 30 : 40").ratio == -train("12 : 40").ratio
    assert train("12 : 30+30 : 40") == train("12 : 30 : 40")
    assert str(train("12 : 30+30 : 40+9:ring 50")) == "12 : 30 : 40+9 : ring 50"


@pytest.mark.parametrize("hand, starts", [("right", 1), ("left", 1), ("right", 3)])
def test_a_worm_turns_its_wheel_as_its_thread_moves(hand, starts):
    """Turn a screw in space: where its thread crosses the top of the wheel, it takes the teeth along.

    The worm lies along x on top of the wheel, which faces +z; + is anticlockwise seen from +x and from +z.
    The points of a right-hand thread are (p·a, r·cos a, r·sin a).
    """
    teeth, module, angle = 30, 0.8, 0.1
    lead = starts * math.pi * module / (2 * math.pi) * (1 if hand == "right" else -1)

    def crossing(turned):
        """Where the thread, turned by this angle about +x, meets the lowest line of the worm (angle π)."""
        around = np.linspace(0, 2 * math.pi, 2_000_001)
        seen = (around + turned) % (2 * math.pi)  # + about x moves y to z: cos a, sin a to a + turned
        return lead * around[np.argmin(np.abs(seen - math.pi))]

    moved = crossing(angle) - crossing(0)
    wheel = -moved / (teeth * module / 2)  # a point on top of the wheel moves to −x for a + turn
    word = f"worm {starts} left" if hand == "left" else f"worm {starts}"
    assert wheel / angle == pytest.approx(float(train(f"{word} : {teeth}").ratio), rel=1e-4)


def test_a_rack_moves_by_its_pitch_a_tooth():
    one = train("10 :(100 %) 20+14 :(100 %) rack m0.6")
    assert one.ratio == -7 and one.travel_mm == pytest.approx(-0.5 * math.pi * 14 * 0.6)
    assert one.sentence() == "One turn of the input moves the rack 13.195 mm to the left."
    found = drive(one, 30, 10)
    force = 10 * 2 / (14 * 0.6 / 2)
    assert found.force_N == pytest.approx(force)
    assert found.torques_Nmm == pytest.approx((10, -20))
    words = f"The rack moves at −6.60 mm/s and pushes with {force:.2f} N; 0.0% of the power is lost."
    assert found.sentence() == words
    assert hand_turns(one, 2.5) == pytest.approx(2.5 / one.travel_mm)


@given(trains(), st.integers(1, 100), st.integers(-50, 50))
def test_power_out_is_power_in_less_every_loss(made, torque, rev_min):
    text, _, numbers = made
    one = train(text)
    found = drive(one, rev_min, torque)
    left = torque * abs(rev_min) * math.prod(efficiency for efficiency, _ in numbers)
    if one.ends_in_rack:
        out = found.force_N * abs(float(found.speeds[0]) * one.travel_mm) / (2 * math.pi)
        assert len(found.torques_Nmm) == len(one.meshes)
    else:
        out = found.torques_Nmm[-1] * float(found.speeds[-1])
        assert len(found.torques_Nmm) == len(one.meshes) + 1
    assert out == pytest.approx(left)
    assert one.efficiency == pytest.approx(math.prod(efficiency for efficiency, _ in numbers))
    assert all(t * n >= 0 for t, n in zip(found.torques_Nmm, found.speeds, strict=False))


def wedge(lead, friction):
    """Efficiency of a screw with a lead angle, driving and driven back, from forces on an inclined plane."""
    push = np.array([math.cos(lead), math.sin(lead)])  # along the thread
    normal = np.array([-math.sin(lead), math.cos(lead)])
    mu = math.tan(friction)
    up = normal - mu * push  # force on the nut's side while it is pushed up: friction against the motion
    down = normal + mu * push
    forward = up[1] * math.tan(lead) / -up[0]
    back = -down[0] / (down[1] * math.tan(lead))
    return forward, back


@pytest.mark.parametrize("lead", [3.0, 8.0, 20.0])
@pytest.mark.parametrize("friction", [1.0, 4.0, 12.0])
def test_a_worm_driven_back_rubs_like_a_screw(lead, friction):
    forward, back = wedge(math.radians(lead), math.radians(friction))
    worm, wheel = Wheel("worm", 1, lead_deg=lead), Wheel("gear", 30)
    assert Mesh(worm, wheel, forward).back_efficiency == pytest.approx(max(0, back))
    locks = friction >= lead
    assert (train(f"worm 1 (lead {lead}°) :({100 * forward:.9f} %) 30").locked_by is not None) == locks
    if not locks:
        assert Mesh(wheel, worm, back).back_efficiency == pytest.approx(forward)


@pytest.mark.parametrize("percent, back", [(40, 0), (50, 0), (51, 2 - 1 / 0.51), (80, 0.75)])
def test_a_worm_of_unknown_lead_locks_itself_up_to_one_half(percent, back):
    one = train(f"worm 1 :({percent} %) 30")
    assert one.back_efficiency == pytest.approx(back, abs=1e-8) and (one.locked_by is None) == (back > 0)
    assert train("30 :(60 %) worm 1").back_efficiency == pytest.approx(1 / (2 - 0.6), abs=1e-8)


def test_driving_back():
    open_train = train("12 :(90 %) 36+10 :(80 %) 40")
    found = drive_back(open_train, 60)
    assert found.torque_Nmm == pytest.approx(60 / 12 * 0.72)
    assert (
        found.sentence() == "Driven from the output, the input gives 3.60 N·mm; 28.0% of the power is lost."
    )
    rack = drive_back(train("20 :(90 %) rack m0.5"), 8)
    assert rack.torque_Nmm == pytest.approx(8 * 5 * 0.9)
    stuck = drive_back(ALDER, 60)
    assert stuck.torque_Nmm == 0
    assert stuck.sentence() == "Driven from the output nothing moves: worm 1 : 24 locks itself."
    two = train("worm 1 :(30 %) 24+worm 2 :(40 %) 30")
    assert str(two.locked_by) == "worm 2 : 30"


def turned_back(one, numbers, steps=400):
    """Turn the input on, then back, in small steps, every driven wheel lagging within its play: both ends."""
    at = [0.0] * (len(one.meshes) + 1)
    path = [n / 50 for n in range(steps)] + [(steps - n) / 50 for n in range(2 * steps)]
    for turns in path:
        at[0] = turns
        for k, (mesh, (_, loose)) in enumerate(zip(one.meshes, numbers, strict=True)):
            scale = math.pi * 0.5 if mesh.driven.kind == "rack" else 360  # mm of a rack, degrees of a wheel
            wanted, half = at[k] * float(mesh.ratio) * scale, loose / 2
            now = at[k + 1] * scale
            at[k + 1] = min(max(now, wanted - half), wanted + half) / scale
        yield at[0], at[-1] * (math.pi * 0.5 if one.ends_in_rack else 360)


@settings(max_examples=times(4, 25))
@given(trains())
def test_play_is_what_is_felt_by_turning_back(made):
    """The output follows a line on the way there and another on the way back: their distance is the play."""
    text, _, numbers = made
    one = train(text)
    scale = one.travel_mm if one.ends_in_rack else 360 * float(one.ratio)
    offsets = [end - scale * turns for turns, end in turned_back(one, numbers)]
    found = play(one)
    if found.input_turns < 7:  # else the play of the first meshes isn't taken up on so short a way
        assert found.total == pytest.approx(max(offsets) - min(offsets), abs=1e-6 + 1e-9 * abs(scale))
        assert found.input_turns == pytest.approx(found.total / abs(scale))
    assert len(found.parts) == len(one.meshes) and found.total == pytest.approx(sum(found.parts))


def test_play_by_hand():
    found = play(ALDER)
    assert found.parts == pytest.approx((0.5 / 3, 0.4 / 3, 0.3)) and found.total == pytest.approx(0.6)
    assert found.input_turns == pytest.approx(0.6 / 360 * 72)
    assert found.sentence() == (
        "Play at the output 0.600°, the largest share from 16 : 48 (0.300°); a reversal costs 0.120 input "
        "turns."
    )  # just half isn't most
    assert play(train("12 : 24")).sentence() == "No mesh of the train is given any play."
    rack = play(train("12 :(1.8°) 24+20 :(0.05 mm) rack m0.5"))
    assert rack.parts == pytest.approx((1.8 / 360 * 10 * math.pi, 0.05))


def test_hand_turns_are_exact():
    assert hand_turns(ALDER, 10) == Fraction(10 * 72, 360)
    assert hand_turns(train("12 : 18"), 0.1) == Fraction(-1, 2400)


@pytest.mark.parametrize(
    "text, words",
    [
        ("12", "'12' has no mesh: write a : between two wheels that mesh"),
        ("", "'' in the train can't be read"),
        ("12 : 3O", "'3O' in the train can't be read: write 24, ring 60, worm 1 or rack m0.5"),
        ("12 : 30 left", "30 left: only a worm has a hand"),
        ("12+14 : 30", "only a shaft between two meshes has two wheels"),
        ("12 : 30+14", "only a shaft between two meshes has two wheels"),
        ("12 : 30+14+15 : 30", "'30\\+14\\+15' in the train: a shaft has one driven wheel and one driver"),
        ("12 : ring 12", "12 : ring 12: a ring must have more teeth"),
        ("ring 40 : ring 60", "only a plain gear meshes"),
        ("worm 1 : ring 40", "worm 1 : ring 40: only a plain gear meshes"),
        ("rack m0.5 : 20", "a rack ends a train; write the train from the gear's side"),
        ("20 : rack m0.5 : 20", "a rack ends a train"),
        ("20 : rack m0.5+20 : 30", "a rack ends a train"),
        ("20 : rack m0.01", "module of rack m0.01 is 0.01 mm"),
        ("worm 0 : 20", "starts of worm 0 is 0"),
        ("worm 13 : 20", "starts of worm 13 is 13: it must be a whole number from 1 to 12"),
        ("3 : 20", "teeth of 3 is 3: it must be a whole number from 4 to 2000"),
        ("8 : ring 9", "teeth of ring 9 is 9: it must be a whole number from 10"),
        ("worm 1 (lead 61°) : 20", "lead angle of worm 1 is 61°"),
        ("worm 1 (lead 0.4°) : 20", "lead angle of worm 1 is 0.4°"),
        ("8 : ring 2001", "teeth of ring 2001 is 2001"),
        ("12 :(4 %) 20", "efficiency of 12 : 20 is 0.04"),
        ("12 :(46°) 20", "play of 12 : 20 is 46"),
        ("12 :(98) 20", "'98' in the train can't be read: write it as in \\(98 %, 0.4 °\\)"),
        ("12 :(0.1 mm) 20", "'0.1 mm' in the train can't be read"),
        ("12 :(1°) rack m1", "'1°' in the train can't be read: write it as in \\(98 %, 0.4 mm\\)"),
    ],
)
def test_what_is_wrong_in_a_train_is_named(text, words):
    with pytest.raises(MechError, match=words):
        train(text)


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: Wheel("bevel", 20), "wheel is a 'bevel': it must be one of: gear, ring, worm and rack"),
        (lambda: Wheel("worm", 1, "up"), "hand of worm 1 is 'up'"),
        (lambda: Wheel("gear", 20, lead_deg=5), "20: only a worm has a hand and a lead angle"),
        (lambda: Wheel("rack", 1, module_mm=1), "teeth of rack m1 is 1"),
        (lambda: Wheel("rack", 0), "module of rack is None"),
        (lambda: train(5), "the train is 5: write it as text"),
        (lambda: drive("12 : 36", 9, 1), "the train is '12 : 36': read it from a line first"),
        (lambda: drive_back(None, 1), "the train is None"),
        (lambda: play("12 : 36"), "the train is '12 : 36'"),
        (lambda: hand_turns("12 : 36", 1), "the train is '12 : 36'"),
        (lambda: Mesh(12, Wheel("gear", 36)), "a wheel of the mesh is 12"),
        (lambda: Train(("12 : 36",)), "the meshes are \\('12 : 36',\\)"),
        (lambda: Train(()), "the train has 0 meshes: it must have 1 to 40"),
        (lambda: Train((ALDER.meshes[1],) * 41), "the train has 41 meshes"),
        (lambda: ALDER.travel_mm, "ends in a gear: only a rack has a travel"),
        (lambda: drive(ALDER, 100, -1), "torque_Nmm is -1 N·mm"),
        (lambda: drive(ALDER, math.nan, 1), "rev_min is nan"),
        (lambda: drive_back(ALDER, -1), "load is -1 N·mm"),
        (lambda: hand_turns(ALDER, "10"), "amount is '10'"),
        (lambda: hand_turns(train("20 : rack m1"), None), "amount is None"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


def test_slow_and_standing_trains_keep_the_sense_of_their_torque():
    pair = train("10 : 20")
    assert drive(pair, Fraction(1, 2), 5).torques_Nmm == (5, -10) == drive(pair, 0, 5).torques_Nmm
    assert drive(pair, -1, 5).torques_Nmm == (-5, 10)


def test_what_is_not_said_is_reckoned_without_loss_and_play():
    mesh = Mesh(Wheel("gear", 12), Wheel("gear", 36))
    assert (mesh.efficiency, mesh.passes, mesh.back_efficiency, mesh.play) == (None, 1, 1, 0)
    assert train("12 : 36") == Train((mesh,))


def test_friction_that_is_not_given_is_not_told_as_none():
    bare = train("worm 1 : 24+18 : 54")
    words = "The output turns at −41.67 rev/min with at most 144.0 N·mm: friction isn't given."
    assert drive(bare, 3000, 2).sentence() == words
    half = train("worm 1 :(40 %) 24+18 : 54")
    words = "at most 57.6 N·mm: the friction of 18 : 54 isn't given, elsewhere 60.0% of the power is lost."
    assert drive(half, 3000, 2).sentence().endswith(words)
    assert drive(half, 3000, 2).sentence().count("at most") == 1
    back = drive_back(train("12 : 36"), 60)
    assert back.torque_Nmm == 20
    assert back.sentence().endswith("the input gives at most 20.00 N·mm: friction isn't given.")
    rack = drive(train("20 : rack m0.5"), 60, 5).sentence()
    assert rack.endswith("pushes with at most 1.00 N: friction isn't given.")
    assert drive(train("12 :(100 %) 36"), 90, 10).sentence().endswith("; 0.0% of the power is lost.")


def test_a_worm_without_a_percentage_is_not_told_to_be_driven_back():
    bare = train("worm 1 : 24+18 : 54")
    words = r"whether worm 1 : 24 can be driven back depends on its friction: write .* worm 1 :\(40 %\) 24"
    with pytest.raises(MechError, match=words):
        drive_back(bare, 100)
    with pytest.raises(MechError, match="depends on its friction"):
        _ = bare.back_efficiency
    assert bare.locked_by is None
    locked = train("worm 1 : 24+worm 2 :(40 %) 30")  # the second stops it, whatever the first does
    assert str(locked.locked_by) == "worm 2 : 30" and drive_back(locked, 100).torque_Nmm == 0
    driven = drive(train("30 : worm 1"), 60, 5).sentence()
    assert driven.endswith("friction isn't given; whether 30 can turn worm 1 depends on that.")
    assert "can turn" not in drive(bare, 60, 5).sentence()


def test_whole_numbers_of_any_kind_count_teeth():
    floats, plain = Mesh(Wheel("gear", 12.0), Wheel("gear", np.int64(36))), train("12 : 36").meshes[0]
    assert floats == plain and floats.ratio == Fraction(-1, 3) and str(floats) == "12 : 36"
    assert type(floats.driver.teeth) is int and type(floats.driven.teeth) is int


def test_limits_are_let_in():
    assert len(Train((ALDER.meshes[1],) * 40).ratios) == 41
    assert train("worm 1 (lead 0.5°) : 20").ratio == Fraction(1, 20)
    edge = train("worm 12 left (lead 60) :(5 %, 45°) 2000+4 : ring 10")
    assert edge.ratio == -Fraction(12, 2000) * Fraction(4, 10) and edge.efficiency == 0.05


def test_sentences():
    assert ALDER.sentence() == "One turn of the input gives 1/72 of a turn of the output, in the same sense."
    assert (
        train("48 : 16").sentence()
        == "One turn of the input gives 3 turns of the output, the other way round."
    )
    assert (
        train("16 : 16").sentence()
        == "One turn of the input gives 1 turn of the output, the other way round."
    )
    found = drive(ALDER, 7200, 2)
    assert (
        found.sentence() == "The output turns at +100.00 rev/min with 54.8 N·mm; 62.0% of the power is lost."
    )
