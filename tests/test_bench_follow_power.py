"""Following the power: speeds and torques of a simple set by the lever rule, and the rows beside them."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from planetary_makers import one_set

from mechlib.bench.follow_power import follow
from mechlib.errors import MechError
from mechlib.gears.planetary import simple_set, stepped_set
from mechlib.gears.power import Load

SIMPLE = simple_set(16, 16, 48)


def by_lever(sun, ring, held, speed, at_ring, at_arm):
    """What moves, its speed, the input's torque, the hold's: a lever with sun, ring and carrier on it.

    The carrier's point divides the lever from sun to ring as ring to sun; forces on the points are torques.
    """
    whole = sun + ring
    return {
        "ring": ("carrier", Fraction(speed * sun, whole), at_arm * sun / whole, at_arm * ring / whole),
        "carrier": ("ring", Fraction(-speed * sun, ring), at_ring * sun / ring, at_ring * whole / ring),
        "sun": ("carrier", Fraction(speed * ring, whole), at_arm * ring / whole, at_arm * sun / whole),
    }[held]  # fmt: skip


COUNTS = st.integers(8, 48)
LOADS = st.integers(0, 300)
SPEEDS = st.integers(-300, 300).filter(bool)


@given(COUNTS, COUNTS, st.sampled_from(["sun", "carrier", "ring"]), SPEEDS, LOADS, LOADS)
def test_a_held_member_by_the_lever(sun, planet, held, speed, at_ring, at_arm):
    ring = sun + 2 * planet
    loads = {"ring": Load(at_ring), "carrier": Load(at_arm)}
    found = follow(simple_set(sun, planet, ring), speed, loads, held)
    moving, turned, at_input, at_hold = by_lever(sun, ring, held, speed, at_ring, at_arm)
    assert (found.moving, found.speeds[moving], found.speeds[held]) == (moving, turned, 0)
    assert found.input_Nmm == pytest.approx(at_input) and found.hold_Nmm == pytest.approx(at_hold)
    told = found.sentence()
    assert f"With {held} held" in told and f"{at_hold:.1f} N·mm." in told
    assert ("the load of ring itself not counted" in told) == (held == "sun")


@given(COUNTS, COUNTS, SPEEDS, LOADS, LOADS)
def test_with_nothing_held_the_lighter_way_is_taken(sun, planet, speed, at_ring, at_arm):
    ring = sun + 2 * planet
    loads = {"ring": Load(at_ring), "carrier": Load(at_arm)}
    found = follow(simple_set(sun, planet, ring), speed, loads)
    ways = [by_lever(sun, ring, held, speed, at_ring, at_arm) for held in ("ring", "carrier")]
    level = at_arm * ring == at_ring * (sun + ring)
    moving, turned, at_input, at_hold = min(ways, key=lambda way: way[2])
    assert found.input_Nmm == pytest.approx(at_input)
    if level:
        assert found.sentence().endswith(f"Here {found.moving} does, at {found_speed(found)}.")
    else:
        assert (found.moving, found.speeds[moving]) == (moving, turned)
        assert found.hold_Nmm == pytest.approx(at_hold)
        assert found.sentence().startswith(f"{moving.capitalize()} moves at {found_speed(found)}")


def found_speed(found) -> str:
    return f"{float(found.speeds[found.moving]):+.2f} rev/min".replace("-", "−")


@given(
    one_set(),
    SPEEDS,
    st.sampled_from([None, "sun", "carrier", "ring"]),
    st.integers(1, 200),
    st.integers(1, 200),
)
def test_power_in_is_power_out_in_sets_of_any_kind(one, speed, held, first, second):
    loads = {"carrier": Load(first), "ring": Load(second)}
    try:
        found = follow(one, speed, loads, held)
    except MechError:
        assert one.basic_ratio == 1  # sun and ring always turn alike: no two outputs
        return
    goes_in = found.input_Nmm * abs(speed)
    assert goes_in == pytest.approx(loads[found.moving].friction_Nmm * abs(float(found.speeds[found.moving])))


def test_the_row_of_the_state_that_is_shown_gives_the_load():
    """The rows have the input's torque; the one that is shown must come back to the load on its output."""
    loads = {"ring": Load(77), "carrier": Load(130)}
    for held, output in (("ring", "130.0"), ("carrier", "77.0"), ("sun", "130.0")):
        found = follow(SIMPLE, -60, loads, held)
        lines = found.table().split("\n")
        row = next(line for line in lines if line.startswith(f"{held} held")).split()
        assert row[-2:] == [output, f"{found.hold_Nmm:.1f}"]


def test_the_table_by_hand():
    """The sun's torque comes threefold to the ring and fourfold to the carrier, of opposite senses."""
    lines = [
        line.split()
        for line in follow(SIMPLE, 120, {"ring": Load(60), "carrier": Load(120)}).table().split("\n")
    ]
    assert " ".join(lines[0]) == "Each state, with 20.0 N·mm at what is driven:"
    assert lines[2][-3:] == ["+30.00", "80.0", "60.0"]
    assert lines[3][-3:] == ["−40.00", "60.0", "80.0"]
    assert lines[4][-3:] == ["+90.00", "26.7", "6.7"]  # 20·4/3 and 20/3
    assert lines[5][-2:] == ["+120.00", "20.0"]
    assert lines[6][-1] == "free"
    assert lines[-2] == ["ring", "carrier", "20.0", "80.0", "120.0", "90.0", "yes"]
    assert lines[-1] == ["carrier", "ring", "30.0", "90.0", "60.0", "80.0", "no"]


def test_a_set_that_its_friction_locks_turns_as_a_block():
    one = stepped_set(20, 20, 20, 19, mesh_efficiency=0.9, internal=(False, False))
    found = follow(one, 50, {"carrier": Load(30), "ring": Load(600)})
    assert found.speeds["carrier"] == found.speeds["ring"] == 50 and found.input_Nmm == 630
    assert found.sentence().startswith("All turns as one block for 630.0 N·mm")
    assert "locked" in found.table()


def test_losses_and_springs_behind_a_hold():
    """With the ring held the carrier gets 1 + 3·η0 times the sun's torque; a spring helps one way only."""
    one = simple_set(16, 16, 48, mesh_efficiency=0.99)
    loads = {"ring": Load(60), "carrier": Load(friction_Nmm=100, spring_Nmm=25)}
    for speed, against in ((120, 75), (-120, 125)):
        found = follow(one, speed, loads, "ring")
        assert found.input_Nmm == pytest.approx(against / (1 + 3 * 0.99**2))
        assert found.hold_Nmm == pytest.approx(against - against / (1 + 3 * 0.99**2))
        assert f"against {against}.0 N·mm" in found.sentence()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"rev_min": 0}, "sun stands still: the input must turn"),
        ({"rev_min": 0, "held": "sun"}, "ring stands still: the input must turn"),
        ({"held": "worm"}, "there is no 'worm' to hold: the members are sun, carrier and ring"),
        ({"loads": {"ring": Load()}}, "the loaded members are ring: they must be carrier and ring"),
    ],
)
def test_what_cannot_be_followed(given, said):
    values = {"rev_min": 60, "loads": {"ring": Load(1), "carrier": Load(1)}} | given
    with pytest.raises(MechError, match=said):
        follow(SIMPLE, **values)
