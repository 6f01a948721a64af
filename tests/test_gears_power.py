"""Which output moves: least power, cases by hand, what tooth friction allows, and tables of states."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from planetary_makers import one_set
from scipy.optimize import linprog
from share import times

from mechlib.errors import MechError
from mechlib.gears import (
    Driven,
    Held,
    Load,
    Locked,
    Overdetermined,
    SelfLocking,
    State,
    double_pinion_set,
    gear_pair,
    simple_set,
    speeds,
    split,
    state_table,
    states,
    stepped_set,
)

SIMPLE = simple_set(16, 16, 48)
LOSSY = simple_set(16, 16, 48, mesh_efficiency=0.99)
SUN = Driven("sun", 120)
STANDING = [SIMPLE, gear_pair(20, 20, ("x", "y"))]
frictions = st.integers(1, 200)


@given(one_set(), frictions, frictions, st.sampled_from(["sun", "carrier", "ring"]), st.sampled_from([-1, 1]))
def test_without_losses_the_least_power_wins(one, first, second, source, sense):
    """Of all motions with the input at 1 the one that friction costs least, by linear programming."""
    outputs = [member for member in ("sun", "carrier", "ring") if member != source]
    factors = {m: float(f) for m, f in one.equation().items()}
    assume(all(factors.values()))  # with equal turns one output would turn whatever happens
    friction = [float(first), float(second)]
    # Unknowns: forward and backward speed of both outputs.
    row = [factors[outputs[0]], -factors[outputs[0]], factors[outputs[1]], -factors[outputs[1]]]
    costs = [friction[0], friction[0], friction[1], friction[1]]
    best = linprog(costs, A_eq=[row], b_eq=[-factors[source] * sense], method="highs")
    needs = [abs(friction[i] * factors[source] / factors[outputs[i]]) for i in (0, 1)]
    found = split(one, Driven(source, sense), {m: Load(f) for m, f in zip(outputs, friction, strict=True)})
    assert found.input_Nmm == pytest.approx(best.fun) == pytest.approx(min(needs))
    assert not found.as_block
    if needs[0] != pytest.approx(needs[1], rel=1e-6):
        assert found.turning == (outputs[needs.index(min(needs))],)
        moving, standing = found.way.moving, found.way.standing
        turned = best.x[0] - best.x[1] if moving == outputs[0] else best.x[2] - best.x[3]
        assert float(found.way.flow.speeds[moving]) == pytest.approx(turned)
        assert found.way.flow.speeds[standing] == 0


@settings(max_examples=times(25, 200))
@given(
    st.integers(8, 40),
    st.integers(8, 40),
    st.booleans(),
    st.sampled_from([0.9, 0.95, 0.99]),
    frictions,
    frictions,
)
def test_with_losses_exactly_what_friction_allows(first, second, internal, mesh, at_carrier, at_second):
    """Driven by the first wheel: torque shares by hand, with tooth friction from η0 to 1/η0 in a block."""
    if internal:
        one = simple_set(first, 8, first + second + 8, mesh_efficiency=mesh)
    else:
        one = stepped_set(first, 20, 20, second, mesh_efficiency=mesh, internal=(False, False))
    i0, eta = float(one.basic_ratio), mesh**2
    assume(i0 != 1)
    loads = {"carrier": Load(at_carrier), "ring": Load(at_second)}

    def second_moves():  # carrier stands: the first wheel drives the teeth
        need = at_second / abs(i0 * eta)
        return abs(1 - i0 * eta) * need <= at_carrier

    def carrier_moves():  # about the carrier the first wheel turns by i0/(i0 − 1) of its own turns
        sign = 1 if i0 / (i0 - 1) > 0 else -1
        share = 1 - i0 * eta**sign
        if share * (1 - i0) <= 0:  # the carrier would have to be helped on
            return False
        need = at_carrier / abs(share)
        return abs(i0 * eta**sign) * need <= at_second

    expected = [name for name, moves in (("carrier", carrier_moves), ("ring", second_moves)) if moves()]
    found = split(one, Driven("sun", 90), loads)
    if expected:
        assert set(found.turning) == set(expected) and not found.as_block
    else:
        kappa = at_second / (i0 * (at_carrier + at_second))
        assert eta - 1e-9 <= kappa <= 1 / eta + 1e-9
        assert found.as_block and found.turning == ("carrier", "ring") and found.way is None
        assert found.input_Nmm == at_carrier + at_second
        assert "as one block" in found.sentence()


def test_alder_gives_its_carriage_the_power_while_the_detent_holds():
    """By hand: the sun's torque is 3-fold on the ring and 4-fold on the carrier with the main cam."""
    carriage = {"ring": Load(friction_Nmm=60), "carrier": Load(friction_Nmm=40, detent_Nmm=80)}
    found = split(SIMPLE, SUN, carriage)
    way = found.way
    assert found.turning == ("ring",) and way.input_Nmm == found.input_Nmm == 20
    assert (way.load_Nmm, way.bears_Nmm, way.hold_Nmm, way.change_over_Nmm) == (60, 80, 120, 90)
    assert way.flow.speeds["ring"] == -40
    at_the_stop = split(SIMPLE, SUN, carriage | {"ring": Load(friction_Nmm=90.001)})
    assert at_the_stop.turning == ("carrier",) and at_the_stop.way.flow.speeds["carrier"] == 30
    assert at_the_stop.way.change_over_Nmm == pytest.approx(120.00133333)
    level = split(SIMPLE, SUN, carriage | {"ring": Load(friction_Nmm=90)})
    assert level.turning == ("ring", "carrier") and level.way is None and not level.as_block
    assert level.sentence() == (
        "ring and carrier are equally ready to move, for 30.0 N·mm at sun: this is the change-over."
    )


def test_losses_shift_the_change_over():
    loads = {"ring": Load(60), "carrier": Load(120)}
    way = split(LOSSY, SUN, loads).way
    need = 60 / (3 * 0.9801)
    assert way.input_Nmm == pytest.approx(need)
    assert way.bears_Nmm == pytest.approx(need * (1 + 3 * 0.9801))
    assert way.change_over_Nmm == pytest.approx(120 / (1 + 3 * 0.9801) * 3 * 0.9801)


@pytest.mark.parametrize("speed", [120, -120, 0.5, -0.5])
def test_springs_help_one_way_and_hinder_the_other(speed):
    """A spring on the ring that pulls +: it hinders where the sun turns + (the ring −)."""
    loads = {"ring": Load(friction_Nmm=60, spring_Nmm=25), "carrier": Load(friction_Nmm=100, spring_Nmm=-30)}
    found = split(SIMPLE, Driven("sun", speed), loads)
    ring, carrier = (85, 130) if speed > 0 else (35, 70)
    first = ring / 3 < carrier / 4
    assert found.turning == ("ring" if first else "carrier",)
    assert found.way.load_Nmm == (ring if first else carrier)
    assert found.way.hold_Nmm == (carrier if first else ring)


def test_an_unloaded_output_always_moves_and_two_are_level():
    idle = split(SIMPLE, SUN, {"ring": Load(), "carrier": Load(1)})
    assert idle.turning == ("ring",) and idle.way.bears_Nmm == 0 and idle.way.change_over_Nmm == 0.75
    both = split(SIMPLE, SUN, {"ring": Load(), "carrier": Load()})
    assert both.turning == ("ring", "carrier") and not both.as_block


def test_a_train_before_the_set_and_a_further_hold():
    pair = gear_pair(20, 60, ("motor", "sun"))
    spare = simple_set(20, 20, 60, ("spare sun", "spare carrier", "spare ring"), "spare")
    others = [Held("spare sun"), Held("spare ring")]
    found = split(
        [pair, SIMPLE, spare], Driven("motor", -300), {"ring": Load(60), "carrier": Load(120)}, others
    )
    assert found.turning == ("ring",) and found.input_Nmm == pytest.approx(20 / 3)
    assert found.way.flow.speeds["ring"] == Fraction(-100, 3)


def test_an_output_that_feels_nothing_never_changes_over():
    """With i0·η0 = 1 the friction of the teeth takes from the carrier what it would have to bear."""
    one = stepped_set(81, 40, 40, 100, mesh_efficiency=0.9, internal=(False, False))
    found = split(one, SUN, {"carrier": Load(5), "ring": Load(40)})
    assert found.turning == ("ring",) and found.way.change_over_Nmm == math.inf and found.way.bears_Nmm == 0
    assert found.sentence().endswith("carrier stands and bears 0.0 N·mm of the 5.0 N·mm that it can.")


def test_what_sticks_is_said():
    one = stepped_set(20, 20, 20, 19, mesh_efficiency=0.9, internal=(False, False))
    loads = {"carrier": Load(30), "ring": Load(600)}
    assert split(one, SUN, loads).as_block
    assert (
        split(one, Driven("sun", -1), {"carrier": Load(30), "ring": Load(600, spring_Nmm=100)}).input_Nmm
        == 730
    )
    assert split(one, SUN, {"carrier": Load(30), "ring": Load(600, spring_Nmm=100)}).input_Nmm == 530
    with pytest.raises(SelfLocking, match="locks the train between its two outputs"):
        split([one, gear_pair(20, 20, ("motor", "sun"))], Driven("motor", 9), loads)
    with pytest.raises(SelfLocking, match="locks the train between its two outputs"):
        split([one, gear_pair(20, 20)], SUN, loads, [Held("driver")])


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: Load(-1), "friction_Nmm is -1 N·mm: it must be from 0 to 1e\\+07 N·mm"),
        (lambda: Load(10000000.5), "friction_Nmm is 1e\\+07"),
        (lambda: Load(1, -1), "detent_Nmm is -1"),
        (lambda: Load(1, 1, math.nan), "spring_Nmm is nan"),
        (lambda: Load(10, 5, -15.1), "the output runs by itself"),
        (lambda: split(SIMPLE, SUN, {"ring": Load()}), "the loaded outputs are ring: two are needed"),
        (lambda: split(SIMPLE, SUN, {"ring": Load(), "sun": Load()}), "two are needed, and not the input"),
        (
            lambda: split(STANDING, SUN, {"y": Load(), "ring": Load()}, [Held("x")]),
            "y stands even with ring held",
        ),
        (lambda: split(SIMPLE, Driven("sun", 0), {"ring": Load(), "carrier": Load()}), "the input must turn"),
        (
            lambda: states(SIMPLE, [State("off", Driven("sun", 0), "ring", ("carrier",))], 5),
            "in the state off",
        ),
        (lambda: states(SIMPLE, [], -5), "input_Nmm is -5"),
        (
            lambda: split(SIMPLE, "sun", {"ring": Load(), "carrier": Load()}),
            "driven is 'sun': write the input",
        ),
        (lambda: split(SIMPLE, SUN, {"ring": Load(), "carrier": Load()}, ["x"]), "a condition is 'x'"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


def test_springs_up_to_friction_and_detent_are_let_in():
    assert Load(10, 5, -15).needed_Nmm(-1) == 0 and Load(10, 5, -15).needed_Nmm(1) == 30


ROWS = [
    State("low", SUN, "carrier", held=("ring",)),
    State("back", Driven("sun", -120), "ring", held=("carrier",)),
    State("straight", SUN, "ring", engaged=(("sun", "carrier"),)),
    State("neutral", SUN, "carrier"),
    State("parked", SUN, "ring", held=("ring",)),
]


def test_states_of_a_set():
    low, back, straight, neutral, parked = states(LOSSY, ROWS, 10)
    assert (low.rev_min, back.rev_min, straight.rev_min, neutral.rev_min) == (30, 40, 120, None)
    assert low.output_Nmm == pytest.approx(10 * (1 + 3 * 0.9801))
    assert low.holds_Nmm == {"ring": pytest.approx(29.403)}
    assert back.output_Nmm == pytest.approx(29.403) and back.holds_Nmm == {"carrier": pytest.approx(39.403)}
    assert straight.output_Nmm == pytest.approx(10) and straight.holds_Nmm == {}
    assert (neutral.note, parked.note, parked.rev_min) == ("free", "stands", 0)
    assert (neutral.output_Nmm, parked.output_Nmm) == (0, 0)
    assert [one.sentence() for one in (low, neutral, parked)] == [
        "low: carrier turns at +30.00 rev/min with 39.4 N·mm; the hold on ring bears 29.4 N·mm.",
        "neutral: carrier is free.",
        "parked: ring stands.",
    ]
    assert straight.sentence() == "straight: ring turns at +120.00 rev/min with 10.0 N·mm."


def test_the_table_of_states():
    assert state_table(states(SIMPLE, ROWS, 10)).split("\n") == [
        "state     held     engaged         driven  output   rev/min  N·mm  hold bears",
        "low       ring     none            sun     carrier   +30.00  40.0        30.0",
        "back      carrier  none            sun     ring      +40.00  30.0        40.0",
        "straight  none     sun to carrier  sun     ring     +120.00  10.0",
        "neutral   none     none            sun     carrier     free",
        "parked    ring     none            sun     ring      stands",
    ]


def test_a_state_that_locks_itself_or_conflicts():
    one = stepped_set(20, 20, 20, 19, mesh_efficiency=0.9, internal=(False, False))
    (stuck,) = states(one, [State("up", SUN, "carrier", held=("ring",))], 10)
    assert (stuck.note, stuck.sentence()) == ("locks itself", "up: carrier locks itself.")
    assert (stuck.rev_min, stuck.output_Nmm) == (0, 0)
    with pytest.raises(Overdetermined):
        states(SIMPLE, [State("both", SUN, "carrier", held=("ring", "carrier"))], 10)
    loose = [SIMPLE, gear_pair(20, 20)]
    with pytest.raises(MechError, match="open speeds are driver and driven"):
        states(loose, [State("low", SUN, "carrier", held=("ring",))], 10)


def test_states_agree_with_speeds():
    pinions = double_pinion_set(20, 15, 16, 70)
    for row in ROWS[:3]:
        given = [row.driven, *map(Held, row.held), *(Locked(*pair) for pair in row.engaged)]
        (found,) = states(pinions, [row], 1)
        assert found.rev_min == speeds(pinions, given)[row.output] and row.conditions == tuple(given)
        assert found.output_Nmm == pytest.approx(abs(float(row.driven.rev_min / found.rev_min)))
