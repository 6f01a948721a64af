"""Speeds of planetary trains: rolling wheels, the tabular method, least squares, and general laws."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import permutations

import numpy as np
import pytest
import sympy
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from planetary_makers import conditions, coupled, matrix_of, one_set, turns_of_second
from share import times

from mechlib.errors import MechError
from mechlib.gears import (
    Central,
    Driven,
    Held,
    Locked,
    Overdetermined,
    PlanetarySet,
    Undetermined,
    double_pinion_set,
    gear_pair,
    simple_set,
    speed_ratio,
    speeds,
    stepped_set,
)

SIMPLE = simple_set(16, 16, 48)
SUN, RING = Driven("sun", 120), Held("ring")


def velocity(centre, centre_velocity, rev_min, at):
    """Velocity of the point ``at`` of a wheel, in mm times rev/min; plane vectors are complex numbers."""
    return centre_velocity + 1j * float(rev_min) * (at - centre)


def wheels_laid_out(one):
    """Centres of the planets of a set with one or two in a position, in half modules, first met first."""
    first, second = one.first.teeth, one.second.teeth
    near, far = one.planets[0][0], one.planets[-1][1]
    r1 = first - near if one.first.internal else first + near
    r2 = second - far if one.second.internal else second + far
    if len(one.planets) == 1:
        return [complex(r1)]
    apart = one.planets[0][1] + one.planets[1][0]
    lead = math.acos((r1**2 + r2**2 - apart**2) / (2 * r1 * r2))
    return [complex(r1), r2 * complex(math.cos(lead), math.sin(lead))]


@pytest.mark.parametrize(
    "one",
    [
        SIMPLE,
        simple_set(17, 20, 57),
        double_pinion_set(20, 15, 16, 70),
        stepped_set(20, 30, 15, 65),
        stepped_set(30, 18, 24, 24, internal=(False, False)),
        stepped_set(60, 20, 25, 65, internal=(True, True)),
    ],
)
@pytest.mark.parametrize("given", [[SUN, RING], [SUN, Held("carrier")], [Held("sun"), Driven("carrier", -7)]])
def test_wheels_roll_on_each_other_without_slip(one, given):
    found = speeds(one, given)
    arms = wheels_laid_out(one)
    moves = [1j * float(found["carrier"]) * arm for arm in arms]
    spins = [planet.rev_min for planet in found.planets]
    middle = 0j
    for wheel, place in ((one.first, 0), (one.second, -1)):
        direction = arms[place] / abs(arms[place])
        touch = wheel.teeth * direction
        central = velocity(middle, 0j, found[wheel.member], touch)
        assert velocity(arms[place], moves[place], spins[place], touch) == pytest.approx(central, abs=1e-9)
    if len(arms) == 2:
        touch = arms[0] + (arms[1] - arms[0]) * one.planets[0][1] / abs(arms[1] - arms[0])
        inner, outer = (velocity(arms[i], moves[i], spins[i], touch) for i in (0, 1))
        assert inner == pytest.approx(outer, abs=1e-9)


@given(one_set(), st.integers(-9, 9), st.integers(-9, 9))
def test_the_tabular_method_gives_the_same(one, x, y):
    """Carrier fixed, first wheel turned x; then y turns added to everything."""
    driven = [Driven("carrier", y), Driven("sun", x + y)]
    found = speeds(one, driven)
    assert found["ring"] == y + x * turns_of_second(one)
    turned = Fraction(x)
    for place, (near, _) in enumerate(one.planets):
        driver = one.first.teeth if place == 0 else one.planets[place - 1][1]
        turned *= Fraction(driver, near) * (1 if place == 0 and one.first.internal else -1)
        assert found.planets[place].about_carrier == turned
        assert found.planets[place].rev_min == y + turned
        assert (found.planets[place].place, found.planets[place].set) == (place + 1, "set")


@settings(max_examples=times(19, 150))
@given(st.data())
def test_any_coupled_train_agrees_with_least_squares(data):
    sets = data.draw(coupled())
    given = data.draw(conditions(sets))
    left, right, members = matrix_of(sets, given)
    rank = np.linalg.matrix_rank(left, 1e-9)
    if np.linalg.matrix_rank(np.column_stack([left, right]), 1e-9) > rank:
        with pytest.raises(Overdetermined) as conflict:
            speeds(sets, given)
        check_conflict(sets, given, conflict.value.conditions)
    elif rank < len(members):
        with pytest.raises(Undetermined) as lack:
            speeds(sets, given)
        assert lack.value.missing == len(members) - rank
        _, _, rows = np.linalg.svd(left)
        loose = np.abs(rows[rank:]).max(axis=0) > 1e-9
        assert set(lack.value.members) == {m for m, open_ in zip(members, loose, strict=True) if open_}
    else:
        best = np.linalg.lstsq(left, right, rcond=None)[0]
        found = speeds(sets, given)
        assert [float(found[m]) for m in members] == pytest.approx(list(best), abs=1e-6, rel=1e-6)


def check_conflict(sets, given, named):
    """The named conditions conflict, and no longer do with any one left out."""
    assert all(any(one is condition for condition in given) for one in named)

    def agree(some):
        left, right, _ = matrix_of(sets, some)
        augmented = np.column_stack([left, right])
        return np.linalg.matrix_rank(augmented, 1e-9) == np.linalg.matrix_rank(left, 1e-9)

    assert not agree(list(named))
    for one in named:
        assert agree([other for other in named if other is not one])


def test_a_four_set_train_exactly_as_sympy():
    sets = [
        simple_set(24, 21, 66, ("in", "c1", "r1"), "1"),
        simple_set(26, 17, 60, ("r1", "c1", "r2"), "2"),
        double_pinion_set(28, 16, 17, 70, ("s3", "c3", "r2"), "3"),
        stepped_set(20, 30, 15, 65, ("s4", "out", "c3"), "4"),
    ]
    given = [Driven("in", 1500), Held("r1"), Held("s3"), Locked("s4", "c1")]
    n = {m: sympy.Symbol(m) for one in sets for m in one.members}
    willis = [
        sympy.Eq((n["in"] - n["c1"]) / (n["r1"] - n["c1"]), -sympy.Rational(66, 24)),
        sympy.Eq((n["r1"] - n["c1"]) / (n["r2"] - n["c1"]), -sympy.Rational(60, 26)),
        sympy.Eq((n["s3"] - n["c3"]) / (n["r2"] - n["c3"]), sympy.Rational(70, 28)),
        sympy.Eq((n["s4"] - n["out"]) / (n["c3"] - n["out"]), -sympy.Rational(30 * 65, 20 * 15)),
    ]
    fixed = {n["in"]: 1500, n["r1"]: 0, n["s3"]: 0, n["s4"]: n["c1"]}
    (answer,) = sympy.solve(
        [equation.subs(fixed) for equation in willis], [n[m] for m in ("c1", "r2", "c3", "out")], dict=True
    )
    found = speeds(sets, given)
    for member in ("c1", "r2", "c3", "out"):
        value = answer[n[member]]
        assert found[member] == Fraction(int(value.p), int(value.q))
    assert found["s4"] == found["c1"] and found["in"] == 1500


@given(st.data(), st.integers(-9, 9), st.integers(-9, 9))
def test_block_rotation_scale_and_superposition(data, extra, scale):
    sets = data.draw(coupled(most=3))
    given = data.draw(conditions(sets))
    try:
        found = speeds(sets, given)
    except MechError:
        assume(False)

    def driven(change):
        return [c if isinstance(c, Locked) else Driven(c.members[0], change(c)) for c in given]

    def old(c):
        return c.rev_min if isinstance(c, Driven) else 0

    turned = speeds(sets, driven(lambda c: old(c) + extra))
    assert all(turned[m] == n + extra for m, n in found.members.items())
    larger = speeds(sets, driven(lambda c: scale * old(c)))
    assert all(larger[m] == scale * n for m, n in found.members.items())
    assert [p.rev_min for p in larger.planets] == [scale * p.rev_min for p in found.planets]
    both = speeds(sets, driven(lambda c: (1 + scale) * old(c) + extra))
    assert all(both[m] == turned[m] + larger[m] for m in found.members)


@given(st.data())
def test_order_and_names_of_sets_and_conditions_do_not_matter(data):
    sets = data.draw(coupled(most=3))
    given = data.draw(conditions(sets))
    try:
        found = speeds(sets, given)
    except MechError as error:
        with pytest.raises(type(error)):
            speeds(sets[::-1], given[::-1])
        return
    assert speeds(sets[::-1], given[::-1]).members == found.members


@given(one_set(), st.sampled_from(list(permutations(("first", "second", "carrier")))))
def test_the_short_formula_for_one_set_agrees(one, places):
    names = {"first": "sun", "carrier": "carrier", "second": "ring"}
    source, output, held = (names[place] for place in places)
    if one.basic_ratio == 1:
        return
    found = speeds(one, [Driven(source, 1), Held(held)])
    assert speed_ratio(one.basic_ratio, places) == found[output]


def test_equal_turns_leave_the_carrier_without_a_speed():
    one = stepped_set(20, 20, 20, 20, internal=(False, False))
    with pytest.raises(MechError, match="the carrier has no definite speed"):
        speed_ratio(one.basic_ratio, ("first", "carrier", "second"))
    with pytest.raises(Overdetermined, match="sun driven at 1 rev/min and ring held; leave one out"):
        speeds(one, [Driven("sun", 1), Held("ring")])
    with pytest.raises(MechError, match="in some order"):
        speed_ratio(Fraction(-3), ("first", "first", "second"))


def test_locked_members_turn_as_a_block():
    found = speeds(SIMPLE, [SUN, Locked("sun", "carrier")])
    assert set(found.members.values()) == {120}
    assert (found.planets[0].rev_min, found.planets[0].about_carrier) == (120, 0)
    assert "about the carrier" in found.sentence()


def test_a_member_locked_to_the_frame_stands():
    assert speeds(SIMPLE, [SUN, Locked("ring", "frame")]) == speeds(SIMPLE, [SUN, RING])


def test_gear_pairs_couple_members_of_a_set():
    back = gear_pair(10, 40, ("shaft", "carrier"), "other", internal=True)
    sets = [SIMPLE, gear_pair(20, 50, ("sun", "shaft")), back]
    found = speeds(sets, [SUN])
    assert (found["shaft"], found["carrier"], found["frame"]) == (-48, -12, 0)
    assert found["ring"] == (4 * -12 - 120) / Fraction(3)


def test_alders_quotient():
    """With the carrier held the ring turns −4/3 times as fast as the carrier does with the ring held."""
    ring = speeds(SIMPLE, [SUN, Held("carrier")])["ring"]
    assert ring / speeds(SIMPLE, [SUN, RING])["carrier"] == Fraction(-4, 3)


@pytest.mark.parametrize(
    "given, words",
    [
        (
            [SUN],
            "1 more condition is needed; open speeds are carrier and ring; hold, drive or lock one of them",
        ),
        ([], "2 more conditions are needed; open speeds are sun, carrier and ring; hold, drive or lock some"),
        ([SUN, Held("pinion")], "pinion held: there is no pinion; the members are sun, carrier and ring"),
        ([SUN, RING, Held("sun")], "sun driven at 120 rev/min and sun held; leave one out"),
    ],
)
def test_messages_say_what_is_wrong_and_what_to_do(given, words):
    with pytest.raises(MechError, match=words):
        speeds(SIMPLE, given)


def test_one_open_member_is_named_alone():
    sets = [SIMPLE, simple_set(20, 20, 60, ("sun", "carrier", "other"), "second")]
    lone = [*sets, simple_set(20, 20, 60, ("sun", "carrier", "third"), "3"), gear_pair(20, 20, ("x", "y"))]
    with pytest.raises(Undetermined, match="open speeds are x and y"):
        speeds(lone, [SUN, RING])
    with pytest.raises(Undetermined) as lack:
        speeds(sets, [SUN])
    assert (lack.value.missing, lack.value.members) == (1, ("carrier", "ring", "other"))


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: simple_set(3, 16, 48), "teeth of sun in set is 3: it must be a whole number from 4 to 2000"),
        (lambda: simple_set(16, 3, 48), "planet teeth in set is 3"),
        (lambda: simple_set(16, 16, 2001), "teeth of ring in set is 2001"),
        (
            lambda: simple_set(16, 16, 16),
            "a ring must have more teeth than the wheel inside it, which has 16",
        ),
        (
            lambda: stepped_set(20, 20, 18, 60, internal=(True, True)),
            "teeth of sun in set is 20: a ring must",
        ),
        (lambda: simple_set(16, 16, 48, ("sun", "arm", "sun")), "need three names"),
        (lambda: simple_set(16, 16, 48, ("sun", "", "ring")), "need three names"),
        (lambda: simple_set(16, 16, 48, mesh_efficiency=1.01), "mesh_efficiency of set is 1.01"),
        (lambda: simple_set(16, 16, 48, mesh_efficiency=0.49), "mesh_efficiency of set is 0.49"),
        (lambda: gear_pair(20, 20, internal=True), "a ring must have more teeth"),
        (lambda: PlanetarySet("p", Central("a", 60, True), "c", Central("b", 50, True)), "a ring must"),
        (lambda: Driven("sun", math.nan), "speed of sun is nan"),
        (lambda: speeds([SIMPLE, SIMPLE], []), "each with a name of its own"),
        (lambda: speeds([], []), "at least one is needed"),
        (lambda: speeds(SIMPLE, [SUN, RING])["planet"], "there is no member 'planet'"),
        (lambda: speeds("set", [SUN, RING]), "a set is 's': make it with simple_set"),
        (lambda: speeds(3, [SUN, RING]), "a set is 3: make it with simple_set"),
        (lambda: speeds(SIMPLE, ["sun"]), "a condition is 'sun': give a list such as"),
        (lambda: speeds(SIMPLE, SUN), "the conditions are sun driven at .*: give a list such as"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


def test_whole_numbers_of_any_kind_count_teeth():
    assert simple_set(16.0, np.int64(16), 48.0) == simple_set(16, 16, 48)
    assert simple_set(16.0, 16, 48).basic_ratio == -3
    long = [gear_pair(np.int64(1999), np.int64(1013), (f"m{k}", f"m{k + 1}"), f"p{k}") for k in range(7)]
    found = speeds(long, [Driven("m0", 1)])
    assert found["m7"] == Fraction(-1999, 1013) ** 7  # numpy's own numbers would overflow on the way


def test_limits_are_let_in():
    assert simple_set(4, 4, 5, mesh_efficiency=0.5).basic_efficiency == Fraction(1, 4)
    assert simple_set(2000, 4, 2000).basic_ratio == -1


def test_sentences():
    assert speeds(SIMPLE, [SUN, RING]).sentence() == (
        "Sun +120.00 rev/min and carrier +30.00 rev/min; ring stands still; "
        "planet 1 of set −60.00 rev/min (−90.00 about the carrier)."
    )
    assert speeds(SIMPLE, [Held("sun"), RING]).sentence() == (
        "Nothing turns; sun, carrier and ring stand still; planet 1 of set 0.00 rev/min."
    )
    pair = speeds(gear_pair(20, 40), [Driven("driver", 1)])
    assert pair.sentence() == "Driver +1.00 rev/min and driven −0.50 rev/min."
    assert [str(c) for c in (RING, Driven("sun", 2.5), Locked("a", "b"))] == [
        "ring held",
        "sun driven at 2.5 rev/min",
        "a locked to b",
    ]
