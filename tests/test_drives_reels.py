"""Tape on a reel, against winding it turn by turn and against differential equations."""

from __future__ import annotations

import math

import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from mechlib.drives.reels import Pack, pack_of, tape_length, tension_range, wind
from mechlib.errors import MechError

packs = st.builds(
    lambda hub, more, tape: Pack(hub, hub + more, tape),
    st.floats(5, 30),
    st.floats(1, 30),
    st.floats(0.01, 0.1),
)


@given(packs)
def test_length_is_the_spiral(pack):
    """r = hub + h·φ/2π: the area under the spiral, and its length along the middle of the tape."""
    turns = pack.turns
    spiral = quad(
        lambda phi: math.hypot(
            pack.hub_mm + pack.tape_mm * phi / (2 * math.pi), pack.tape_mm / (2 * math.pi)
        ),
        0,
        2 * math.pi * turns,
        limit=200,
    )[0]
    assert pack.length_mm == pytest.approx(spiral, rel=1e-4)
    assert pack_of(pack.length_mm, pack.hub_mm, pack.tape_mm).radius_mm == pytest.approx(pack.radius_mm)


def test_turn_by_turn():
    """Rings of tape laid one on the other: 2π times the middle radius of each."""
    pack = Pack(11, 20, 0.02)
    assert pack.turns == pytest.approx(450)
    rings = sum(2 * math.pi * (11 + (turn + 0.5) * 0.02) for turn in range(450))
    assert pack.length_mm == pytest.approx(rings)


@given(packs, st.floats(0, 1))
def test_off_and_on_again(pack, part):
    length = part * pack.length_mm
    less = pack.wound_on(-length)
    assert less.length_mm == pytest.approx(pack.length_mm - length, abs=1e-6 * pack.length_mm)
    assert less.wound_on(length).radius_mm == pytest.approx(pack.radius_mm)
    assert pack.wound_on(-pack.length_mm).radius_mm == pytest.approx(pack.hub_mm)


@given(packs, st.floats(20, 500))
def test_a_reel_runs_as_fast_as_its_tape(pack, speed):
    """In one turn of the reel the tape moves on by the pack's circumference."""
    seconds = 60 / pack.reel_speed(speed)
    assert speed * seconds == pytest.approx(2 * math.pi * pack.radius_mm)


@pytest.mark.parametrize("hub, tape, length, rev_min", [(11, 0.018, 85725, 900), (13, 0.012, 200000, 2500)])
def test_winding_time_is_the_differential_equation(hub, tape, length, rev_min):
    """dL/dt = ω·R(L), until the length is reached."""

    def change(_, state):
        return [2 * math.pi * rev_min / 60 * math.sqrt(hub**2 + state[0] * tape / math.pi)]

    def enough(_, state):
        return state[0] - length

    enough.terminal = True
    done = solve_ivp(change, (0, 1000), [0.0], events=enough, rtol=1e-10, atol=1e-6)
    found = wind(Pack(hub, hub, tape), length, rev_min)
    assert found.seconds == pytest.approx(done.t_events[0][0], rel=1e-7)
    assert found.end_mm_s == pytest.approx(change(0, [length])[0])
    assert found.start_mm_s == pytest.approx(change(0, [0])[0])
    half = wind(Pack(hub, hub, tape), length / 2, rev_min)
    rest = wind(half.end, length / 2, rev_min)
    assert half.seconds + rest.seconds == pytest.approx(found.seconds) and rest.seconds < half.seconds


@given(packs, st.floats(0.1, 20))
def test_torque_and_tension_by_energy(pack, torque):
    """One turn: torque times 2π is tension times circumference."""
    tension = pack.tension(torque)
    assert torque * 2 * math.pi == pytest.approx(tension * 2 * math.pi * pack.radius_mm)
    assert pack.torque(tension) == pytest.approx(torque)
    found = tension_range(pack, torque)
    assert found.full_N == pytest.approx(tension)
    assert found.empty_N == pytest.approx(torque / pack.hub_mm) and found.empty_N > found.full_N


def test_playing_time():
    """30 minutes at 1⅞ in/s, counted in inches: 3375 in."""
    assert tape_length(1.875 * 25.4, 30) == pytest.approx(3375 * 25.4)


def test_sentences():
    assert Pack(11, 20, 0.02).sentence() == "The pack holds 43.8 m in 450.0 turns; its radius is 20.00 mm."
    found = wind(Pack(11, 11, 0.02), Pack(11, 20, 0.02).length_mm, 450)
    assert found.sentence() == "43.8 m of tape are wound in 60.0 s, at 518 to 942 mm/s."
    part = wind(Pack(11, 20, 0.02), 10000, 450)
    assert part.sentence().startswith("10.0 m of tape are wound in ")
    assert tension_range(Pack(10, 25, 0.02), 5).sentence() == (
        "5.0 N·mm give 0.50 N on the empty hub, 0.20 N on the full pack: 2.50 to 1."
    )


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: Pack(0, 20, 0.02), "hub_mm is 0 mm"),
        (
            lambda: Pack(11, 10.9, 0.02),
            "radius_mm is 10.9 mm: it must be from 11 to 500 mm; the hub lies within",
        ),
        (lambda: Pack(11, 20, 0), "tape_mm is 0 mm"),
        (lambda: Pack(11, 20, 0.02).wound_on(-43900), "there are only 43825.2 mm on the hub"),
        (lambda: Pack(11, 20, 0.02).wound_on(1e8), "radius_mm is 798.* mm"),
        (lambda: Pack(11, 20, 0.02).wound_on(math.inf), "length_mm is inf"),
        (lambda: Pack(11, 20, 0.02).reel_speed(0), "tape_mm_s is 0 mm/s"),
        (lambda: Pack(11, 20, 0.02).torque(-1), "tension_N is -1 N"),
        (lambda: Pack(11, 20, 0.02).tension(-1), "torque_Nmm is -1 N·mm"),
        (lambda: pack_of(-1, 11, 0.02), "length_mm is -1 mm"),
        (lambda: pack_of(100, "11", 0.02), "hub_mm is '11'"),
        (lambda: wind(Pack(11, 11, 0.02), -1, 900), "length_mm is -1 mm"),
        (lambda: wind(Pack(11, 11, 0.02), 100, 0), "rev_min is 0 rev/min"),
        (lambda: tension_range(Pack(11, 20, 0.02), 0), "torque_Nmm is 0 N·mm"),
        (lambda: tape_length(0, 30), "tape_mm_s is 0"),
        (lambda: tape_length(47, -1), "minutes is -1 min"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: Pack(x, 500, 0.02), 1, 500),
        (lambda x: Pack(11, x, 0.02), 11, 500),
        (lambda x: Pack(11, 20, x), 0.003, 1),
        (lambda x: pack_of(x, 300, 0.003), 0, 1e8),
        (lambda x: wind(Pack(11, 11, 0.02), 100, x), 0.1, 5e4),
        (Pack(11, 20, 0.02).reel_speed, 0.1, 1e5),
        (Pack(11, 20, 0.02).torque, 0, 500),
        (Pack(11, 20, 0.02).tension, 0, 1e5),
        (lambda x: tension_range(Pack(11, 20, 0.02), x), 1e-6, 1e5),
        (lambda x: tape_length(47, x), 0, 1e4),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
