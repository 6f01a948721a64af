"""Torques and efficiency: tooth forces, virtual work, every choice of signs in floats, the power balance."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from planetary_makers import coupled, one_set, turns_of_second
from share import times

from mechlib.errors import MechError
from mechlib.gears import (
    Driven,
    Held,
    Locked,
    SelfLocking,
    Undetermined,
    double_pinion_set,
    efficiency,
    gear_pair,
    simple_set,
    speeds,
    stepped_set,
    torques,
)

WATT = 2 * np.pi / 60 / 1000  # N·mm at one rev/min
SIMPLE = simple_set(16, 16, 48)
LOSSY = simple_set(16, 16, 48, mesh_efficiency=0.99)
SUN, RING = Driven("sun", 120), Held("ring")
losses = st.sampled_from([1.0, 0.995, 0.98, 0.95, 0.9])


def test_tooth_forces_on_a_planet():
    """A planet is a lever: equal forces F at sun and ring, 2F at its pin, at the radii of module 0.5 mm."""
    force, module = 3.0, 0.5
    found = torques(simple_set(20, 30, 80), [SUN, RING], {"sun": force * 20 * module / 2}, ["carrier"])
    assert found["ring"] == pytest.approx(force * 80 * module / 2)
    assert found["carrier"] == pytest.approx(-2 * force * (20 + 30) * module / 2)
    assert found.loss_W == 0 and found.holds == ("ring",)


@given(one_set(), st.integers(-50, 50), st.sampled_from(list(permutations(("sun", "carrier", "ring")))))
def test_virtual_work_of_a_set_without_losses(one, load, roles):
    """Move two members a little, one after the other: the three torques do no work."""
    source, output, held = roles
    try:
        found = torques(one, [Driven(source, 10), Held(held)], {output: load})
    except MechError:
        assume(False)
    for moved in ((1, 0), (0, 1)):
        turned = speeds(one, [Driven("sun", moved[0]), Driven("carrier", moved[1])])
        work = sum(found[member] * float(turned[member]) for member in roles)
        assert work == pytest.approx(0, abs=1e-9 * (1 + abs(load)))
    assert found[output] == load and found.loss_W == 0


def closed_efficiency(i0, eta, places):
    """Power out over power in of one set in floats, for both ways that the teeth can carry it."""
    turned = {places[2]: 0.0, places[0]: 1.0}
    unit = {"first": 1.0, "second": -i0, "carrier": i0 - 1}
    turned[places[1]] = -unit[places[0]] / unit[places[1]]
    through = []
    for sign in (1, -1):
        second = -i0 * eta**sign
        share = {"first": 1.0, "second": second, "carrier": -1 - second}
        if not share[places[0]]:
            continue
        torque = {place: part / share[places[0]] for place, part in share.items()}  # 1 at the input
        if torque["first"] * (turned["first"] - turned["carrier"]) * sign >= 0:
            through.append(-torque[places[1]] * turned[places[1]])
    return max(through, default=0.0)


@settings(max_examples=times(25, 200))
@given(one_set(efficiency=losses), st.sampled_from(list(permutations(("first", "carrier", "second")))))
def test_efficiency_of_one_set_for_every_hold_and_way(one, places):
    i0 = 1 / turns_of_second(one)
    assume(i0 != 1)
    names = {"first": "sun", "carrier": "carrier", "second": "ring"}
    source, output, held = (names[place] for place in places)
    found = efficiency(one, [Driven(source, 50), Held(held)], source, output)
    eta = one.mesh_efficiency ** (len(one.planets) + 1)
    expected = closed_efficiency(float(i0), eta, places)
    assert found.efficiency == pytest.approx(max(expected, 0.0), abs=1e-9)
    assert found.self_locking == (found.efficiency == 0)
    if found.flow:
        assert found.flow.balance_W == pytest.approx(0, abs=1e-9 * max(1, found.circulation))
        assert found.flow.loss_W == pytest.approx(1 - found.efficiency, abs=1e-9 * max(1, found.circulation))
        assert found.flow.powers_W[source] == pytest.approx(1)


def flows_in_floats(sets, turned, loads, unknown):
    """Every choice of signs that brings itself out: torques from outside by member, by least squares."""
    members = list(turned)
    at = {member: place for place, member in enumerate(members)}
    free = [m for m in members if m not in unknown]
    for signs in product((1, -1), repeat=len(sets)):
        columns = np.zeros((len(members), len(sets)))
        for column, (one, sign) in enumerate(zip(sets, signs, strict=True)):
            eta = one.mesh_efficiency ** (len(one.planets) + 1)
            block = turned[one.first.member] == turned[one.carrier]
            second = -(1 if block else eta**sign) / float(turns_of_second(one))
            columns[at[one.first.member], column] += 1
            columns[at[one.second.member], column] += second
            columns[at[one.carrier], column] += -1 - second
        left = columns[[at[m] for m in free]]
        right = np.array([loads.get(m, 0.0) for m in free])
        if np.linalg.matrix_rank(left, 1e-9) < len(sets):
            yield None
            continue
        first = np.linalg.lstsq(left, right, rcond=None)[0] if len(left) else np.zeros(0)
        if not np.allclose(left @ first, right, atol=1e-7):
            yield None
            continue
        about = [float(turned[one.first.member] - turned[one.carrier]) for one in sets]
        if all(s * t * n >= -1e-9 for s, t, n in zip(signs, first, about, strict=True)):
            yield columns @ first


@settings(max_examples=times(15, 120))
@given(st.data())
def test_any_coupled_train_takes_a_flow_that_agrees_with_itself(data):
    sets = data.draw(coupled(most=3, efficiency=losses))
    members = sorted({member for one in sets for member in one.members})
    fixed = data.draw(st.permutations(members))[: len(members) - len(sets)]
    assume(len(fixed) < len(members))
    conditions = [Driven(fixed[0], 10), *(Held(m) for m in fixed[1:])] if fixed else []
    output = data.draw(st.sampled_from([m for m in members if m not in fixed]))
    try:
        turned = speeds(sets, conditions)
    except MechError:
        assume(False)
    assume(all(abs(n) < 1e6 for n in turned.members.values()))
    load = -5.0 if turned[output] > 0 else 5.0
    possible = list(flows_in_floats(sets, dict(turned.members), {output: load}, fixed))
    assume(not any(outside is None for outside in possible))
    if not possible:
        with pytest.raises(SelfLocking):
            torques(sets, conditions, {output: load})
        return
    found = torques(sets, conditions, {output: load})
    mine = [found.members[m] for m in turned.members]
    scale = max(1.0, *(abs(t) for t in mine))
    assert any(np.allclose(mine, other, atol=1e-6 * scale) for other in possible)
    power = sum(t * float(n) for t, n in zip(mine, turned.members.values(), strict=True)) * WATT
    assert found.loss_W >= 0
    tooth = max(1.0, *found.tooth_power_W.values())
    assert found.loss_W == pytest.approx(power, abs=1e-9 * tooth) and found.balance_W == pytest.approx(
        0, abs=1e-9 * tooth
    )
    for branch in found.branches:
        assert branch.power_W == pytest.approx(branch.torque_Nmm * float(turned[branch.member]) * WATT)


def test_torques_grow_with_the_load_and_turn_round_with_the_motion():
    one = torques(LOSSY, [SUN, RING], {"carrier": -40})
    more = torques(LOSSY, [SUN, RING], {"carrier": -120})
    back = torques(LOSSY, [Driven("sun", -120), RING], {"carrier": 40})
    for member in one.outside:
        assert more[member] == pytest.approx(3 * one[member])
        assert back[member] == pytest.approx(-one[member])
    assert one.signs == {"set": 1} == back.signs
    helped = torques(LOSSY, [SUN, RING], {"carrier": 40})  # the load drives: less comes back than was needed
    assert helped.signs == {"set": -1} and -helped["sun"] < one["sun"]
    assert helped["sun"] == pytest.approx(-40 / (1 + 3 / 0.9801))
    assert one["sun"] == pytest.approx(40 / (1 + 3 * 0.9801))


def test_a_block_loses_nothing():
    found = torques(LOSSY, [SUN, Locked("sun", "ring")], {"carrier": -40})
    assert found.loss_W == 0 and found.signs == {"set": 0} and found.tooth_power_W == {"set": 0}
    assert found["sun"] == pytest.approx(40) and found["ring"] == 0
    assert (found.members["sun"], found.members["ring"]) == (pytest.approx(10), pytest.approx(30))
    assert found.locks == {Locked("sun", "ring"): pytest.approx(30)}
    assert found.powers_W["carrier"] == pytest.approx(-40 * 120 * WATT)
    whole = efficiency(LOSSY, [SUN, Locked("carrier", "sun")], "sun", "ring")
    assert (whole.efficiency, whole.ratio, whole.circulation) == (1, 1, pytest.approx(4 / 3))


def test_what_locks_pass():
    """Two sets in series: 10 at the sun are 40 at the carrier, which turns the second sun, and 160 out."""
    sets = [
        simple_set(16, 16, 48, ("sun", "c1", "r1"), "1"),
        simple_set(20, 20, 60, ("s2", "out", "r2"), "2"),
    ]
    locks = [Locked("s2", "c1"), Locked("r2", "frame"), Locked("x", "out")]
    sets.append(gear_pair(20, 40, ("x", "y"), "3"))
    found = torques(sets, [Driven("sun", 100), Held("r1"), *locks], {"sun": 10}, ["y"])
    assert found.locks == {
        locks[0]: pytest.approx(-40),  # the sun takes what the carrier gives
        locks[1]: pytest.approx(-120),
        locks[2]: pytest.approx(-160),
    }
    assert found.outside == pytest.approx({"sun": 10, "r1": 30, "frame": -360, "y": 320})
    assert found.members["c1"] == pytest.approx(-40) and found["c1"] == 0
    assert found.balance_W == pytest.approx(0, abs=1e-12)
    for words in (
        "; the frame bears 360.0 N·mm; the hold on r1 bears 30.0",
        "; s2 locked to c1 passes 40.0 N·mm; ",
    ):
        assert words in found.sentence()


def test_a_lock_to_the_frame_is_a_hold():
    found = torques(SIMPLE, [SUN, Locked("ring", "frame")], {"carrier": -40})
    assert (found["frame"], found.powers_W["frame"], found["ring"]) == (30, 0, 0)
    assert found.locks == {Locked("ring", "frame"): -30}
    assert found.balance_W == pytest.approx(0, abs=1e-12)


def test_small_loads_and_none_at_all():
    stuck = stepped_set(20, 20, 20, 19, mesh_efficiency=0.9, internal=(False, False))
    slow = [Driven("sun", Fraction(1, 100)), RING]
    with pytest.raises(SelfLocking, match="no power flow agrees"):
        torques(stuck, slow, {"sun": 0.001}, ["carrier"])
    assert set(torques(stuck, slow, {"sun": 0}, ["carrier"]).members.values()) == {0}


def test_three_locks_in_a_ring_leave_open_what_each_passes():
    sets = [SIMPLE, gear_pair(20, 40, ("x", "y"), "2"), gear_pair(20, 40, ("v", "w"), "3")]
    locks = [Locked("carrier", "x"), Locked("x", "v"), Locked("v", "carrier")]
    given = [SUN, RING, *locks]
    assert speeds(sets, given)["w"] == -15
    with pytest.raises(MechError, match="carrier locked to x twice over: what each lock passes is open"):
        torques(sets, given, {"y": 10, "w": 10})
    chain = torques(sets, given[:-1], {"y": 10, "w": 10})
    assert chain.locks == {locks[0]: pytest.approx(10), locks[1]: pytest.approx(5)}


def wolfrom(eta):
    """Ring 48 held, ring 50 for output, a stepped planet 16 and 18 driven by a sun 16: 1/50 of its speed."""
    return [
        simple_set(16, 16, 48, ("sun", "carrier", "held"), "first", eta),
        stepped_set(48, 16, 18, 50, ("held", "carrier", "out"), "second", eta, internal=(True, True)),
    ]


def test_power_goes_in_circles_in_a_set_of_high_ratio():
    """By hand: put 1 in at the sun; teeth carry ever more round and round than comes out."""
    given = [Driven("sun", 100), Held("held")]
    found = efficiency(wolfrom(0.98), given, "sun", "out")
    eta = 0.98**2
    u = Fraction(48, 16) * Fraction(18, 50)  # turns of ring 50 for one of ring 48, about the carrier
    out = Fraction(1, 4) * (1 - u)
    assert found.ratio == out == Fraction(-1, 50)
    # With 1 at the sun the first set turns the carrier with 1 + 3η0.  In the second set the held ring pushes
    # the teeth (its torque and its motion about the carrier are both −): T_out = −η0/u·T_held.
    held = -(1 + 3 * eta) / (1 - eta / float(u))
    assert found.efficiency == pytest.approx(-(-eta / float(u) * held) * float(out))
    assert found.flow["held"] == pytest.approx((held + 3 * eta) * found.flow["sun"])
    assert found.circulation == pytest.approx(1) and found.flow.tooth_power_W["first"] == pytest.approx(0.75)
    about = Fraction(-1, 4)  # of the held ring, for one turn of the sun
    assert found.tooth_power == pytest.approx(0.75 + held * float(about))
    assert "the teeth carry 9.51 times what is put in." in found.sentence()
    assert efficiency(wolfrom(1.0), given, "sun", "out").efficiency == pytest.approx(1)


def test_power_goes_round_a_loop_of_two_sets():
    """Sun and carrier, turned by the first set, nearly cancel in the second: by hand, without losses.

    n_out = 25 − 75·20/64 = 100/64 for 100 at the sun.  A torque of 0.64 there gives 1 W, and 0.2 on the
    second set's sun is 20 W that come back to the input: with the 1 W put in, 21 W go round by the first set.
    """
    sets = [SIMPLE, simple_set(20, 22, 64, ("sun", "carrier", "out"), "second")]
    given = [Driven("sun", 100), Held("ring")]
    found = efficiency(sets, given, "sun", "out")
    assert found.ratio == Fraction(1, 64) and found.efficiency == pytest.approx(1)
    power = {(b.set, b.member): b.power_W for b in found.flow.branches}
    assert power["second", "sun"] == pytest.approx(-20) and power["second", "carrier"] == pytest.approx(21)
    assert power["set", "sun"] == pytest.approx(21) and power["set", "carrier"] == pytest.approx(-21)
    assert found.circulation == pytest.approx(21)
    assert found.sentence().endswith("put in, and power goes in circles, up to 21.00 times.")


def test_turned_from_behind_it_locks_itself_when_losses_are_large():
    given = [Driven("sun", 100), Held("held")]
    assert not efficiency(wolfrom(0.98), given, "out", "sun").self_locking
    stuck = efficiency(wolfrom(0.95), given, "out", "sun")
    assert stuck.self_locking and (stuck.efficiency, stuck.flow) == (0, None)
    assert (stuck.circulation, stuck.tooth_power) == (0, 0)
    assert (
        stuck.sentence() == "From out to sun no power comes through: turned from there, the set locks itself."
    )
    assert efficiency(wolfrom(0.95), given, "sun", "out").efficiency > 0.3


@pytest.mark.parametrize("mesh, locks", [(0.9, True), (0.95, False)])
def test_the_edge_of_self_locking(mesh, locks):
    """Second wheel held, first to carrier: power comes through as long as i0 < η0, 0.81 or 0.9025 here."""
    one = stepped_set(20, 20, 20, 17, mesh_efficiency=mesh, internal=(False, False))
    assert float(one.basic_ratio) == 0.85
    assert efficiency(one, [SUN, RING], "sun", "carrier").self_locking == locks
    exactly = stepped_set(100, 40, 40, 81, mesh_efficiency=0.9, internal=(False, False))
    assert efficiency(exactly, [SUN, RING], "sun", "carrier").self_locking


def test_gear_pairs_and_their_frame():
    pair = gear_pair(20, 50, ("motor", "sun"), mesh_efficiency=0.97)
    found = torques([pair, LOSSY], [Driven("motor", -300), RING], {"motor": -10}, ["carrier"])
    sun = 10 * 2.5 * 0.97
    assert found["sun"] == pytest.approx(0, abs=1e-12)
    assert found["carrier"] == pytest.approx(-sun * (1 + 3 * 0.9801))
    assert found["frame"] == pytest.approx(10 + sun)
    assert [b.torque_Nmm for b in found.branches if b.member == "sun"] == pytest.approx([-sun, sun])


def test_messages():
    with pytest.raises(MechError, match="the torques given can't balance: ask for one torque more"):
        torques(LOSSY, [SUN, RING], {"sun": 10, "carrier": -10})
    with pytest.raises(MechError, match="the torques in set, sun, carrier and ring are open: give one"):
        torques(LOSSY, [SUN, RING], {}, ["carrier"])
    with pytest.raises(MechError, match="there is no member 'pinion'"):
        torques(LOSSY, [SUN, RING], {"pinion": 10})
    with pytest.raises(MechError, match="torque on sun is nan"):
        torques(LOSSY, [SUN, RING], {"sun": float("nan")}, ["carrier"])
    with pytest.raises(Undetermined):
        torques(LOSSY, [SUN], {"carrier": -10})
    with pytest.raises(MechError, match="ring stands still: input and output must both turn"):
        efficiency(LOSSY, [SUN, RING], "sun", "ring")
    with pytest.raises(MechError, match="ring driven as well: with two inputs use torques"):
        efficiency(LOSSY, [SUN, Driven("ring", 5)], "sun", "carrier")
    with pytest.raises(MechError, match="there is no member 'x'"):
        torques(LOSSY, [SUN, RING], {"carrier": -10})["x"]


def test_two_inputs_and_an_idle_set():
    found = torques(double_pinion_set(20, 15, 16, 70), [SUN, Driven("ring", 30)], {"carrier": -10})
    assert found["sun"] == pytest.approx(10 / (1 - 3.5)) and found["ring"] == pytest.approx(
        -3.5 * found["sun"]
    )
    idle = torques(LOSSY, [SUN, RING], {})
    assert (
        set(idle.members.values()) == {0}
        and idle.sentence() == "The hold on ring bears 0.0 N·mm; lost 0.000 W."
    )


def test_sentences():
    found = torques(LOSSY, [SUN, RING], {"sun": 10}, ["carrier"])
    assert found.sentence() == (
        "Sun takes in 10.0 N·mm (0.126 W); carrier gives 39.4 N·mm (0.124 W); "
        "the hold on ring bears 29.4 N·mm; lost 0.002 W."
    )
    plain = efficiency(LOSSY, [SUN, RING], "sun", "carrier")
    assert plain.sentence() == (
        "From sun to carrier 98.5% of the power comes through; the teeth carry 0.75 times what is put in."
    )
