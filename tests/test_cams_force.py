"""Spring, contact force, guide and torque: against the equilibrium solved by numpy, quadrature, and print."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq
from second_way_statics import equilibrium
from share import times

from mechlib.cams.force import Friction, Spring, push
from mechlib.errors import MechError

FREE = Friction()
frictions = st.builds(
    Friction,
    contact=st.sampled_from([0.0, 0.05, 0.2, 0.6]),
    guide=st.sampled_from([0.0, 0.1, 0.3]),
    overhang_mm=st.floats(0, 40),
    bearing_mm=st.floats(5, 60),
    pin_mm=st.floats(0, 8),
    drag_N=st.sampled_from([0.0, 0.7]),
)


@given(
    frictions,
    st.integers(-90, 90).map(lambda tenths: tenths / 10),
    st.floats(-30, 30),
    st.floats(8, 40),
    st.booleans(),
    st.booleans(),
)
@example(Friction(0.6, 0.3, 40, 5, 8), 5.0, 30.0, 8.0, False, False)
@example(Friction(0.2, 0.3, 40, 30, 8), -5.0, -10.0, 20.0, False, False)
@settings(deadline=None, max_examples=times(38, 300))
def test_the_equilibrium_of_the_follower(friction, load, slope, radius, drum, standing):
    """``way`` is 0 only where the follower stands; then the guide rubs neither way."""
    way = 0 if standing else int(np.sign(slope))
    slope = 0.0 if standing else slope
    found = push(load, slope, radius, friction, way, drum, both_walls=True)
    other = equilibrium(load, slope, radius, friction, way, drum)
    if other is None or math.isinf(found.contact_N):
        assert other is None and found.share <= 0
        assert found.torque_Nmm == found.guide_N == found.contact_N == math.inf
        return
    contact, near, far, torque = other
    assert found.contact_N == pytest.approx(contact, rel=1e-9, abs=1e-9) and found.contact_N >= 0
    assert found.guide_N == pytest.approx(abs(near) + abs(far), rel=1e-9, abs=1e-9)
    assert found.torque_Nmm == pytest.approx(torque, rel=1e-9, abs=1e-8)
    open_cam = push(load, slope, radius, friction, way, drum)
    if load + way * friction.drag_N < 0:
        assert (open_cam.contact_N, open_cam.guide_N, open_cam.torque_Nmm, open_cam.share) == (0, 0, 0, 1)
    else:
        assert open_cam == found


@given(st.floats(0, 9), st.floats(-30, 30), st.floats(8, 40), st.booleans())
def test_without_friction_the_torque_is_force_times_slope(load, slope, radius, drum):
    found = push(load, slope, radius, FREE, int(np.sign(slope)), drum)
    assert found.torque_Nmm == pytest.approx(load * slope, abs=1e-9)
    assert found.contact_N == pytest.approx(load * math.hypot(radius, slope) / radius)


def test_friction_asks_more_of_a_rise_and_gives_back_less_on_a_fall():
    rubs = Friction(0.15, 0.15, 10, 20, 4)
    for slope in (4.0, 8.0):
        free = push(3.0, slope, 20.0, FREE, 1).torque_Nmm
        up = push(3.0, slope, 20.0, rubs, 1).torque_Nmm
        down = push(3.0, -slope, 20.0, rubs, -1).torque_Nmm
        assert up > free and -free < down < up
    gentle = push(3.0, -1.0, 20.0, rubs, -1).torque_Nmm
    assert gentle > 0  # a flank flatter than the friction angle doesn't drive the cam


def test_arrays_are_done_place_by_place():
    slopes, ways = np.array([5.0, 0.0, -5.0]), np.array([1.0, 0.0, -1.0])
    rubs = Friction(0.1, 0.1, 10, 20, 4, 0.5)
    found = push(np.array([3.0, 3.0, 0.2]), slopes, np.full(3, 20.0), rubs, ways)
    for place, load in enumerate((3.0, 3.0, 0.2)):
        single = push(load, float(slopes[place]), 20.0, rubs, int(ways[place]))
        assert type(single.contact_N) is float
        for name in ("contact_N", "guide_N", "torque_Nmm", "share"):
            assert getattr(found, name)[place] == pytest.approx(getattr(single, name), rel=1e-14)
    assert found.contact_N[2] == 0


@given(frictions)
@settings(deadline=None)
def test_jamming_begins_where_no_force_moves_the_follower(friction):
    limit = friction.jams_at_deg
    for off, jams in ((-1e-4, False), (1e-4, True)):
        angle = math.radians(limit + off)
        if 0 < angle < math.pi / 2:
            found = push(5.0, 20 * math.tan(angle), 20.0, friction, 1)
            assert math.isinf(found.contact_N) == jams
            assert (equilibrium(5.0, 20 * math.tan(angle), 20.0, friction, 1) is None) == jams
    assert 0 <= limit <= 90


def test_at_the_very_limit_it_jams():
    edge = Friction(contact=0.5, guide=2, overhang_mm=0, pin_mm=0)
    assert edge.shares(0.0, 1) == (0.5, 0, 0.5) and edge.jams_at_deg == pytest.approx(0, abs=1e-12)
    assert push(1.0, 0.0, 20.0, edge, 1).contact_N == math.inf
    assert push(1.0, 0.0, 0.5, edge, 0).contact_N == 1


def test_what_is_not_given_is_nought():
    assert Friction() == Friction(0, 0, 0, 20, 0, 0) and Spring(1, 2) == Spring(1, 2, 1)


def test_a_fall_and_a_dwell_never_jam_and_an_unloaded_follower_neither():
    stiff = Friction(0.3, 0.4, 40, 10, 8)
    assert stiff.jams_at_deg == 0
    assert math.isinf(push(1.0, 0.5, 20.0, stiff, 1).torque_Nmm)
    assert push(1.0, -0.5, 20.0, stiff, -1).contact_N < 1
    assert push(1.0, 0.0, 20.0, stiff, 0).contact_N == pytest.approx(1)
    assert push(0.0, 0.5, 20.0, stiff, 1).contact_N == 0


@pytest.mark.parametrize("mu, printed", [(0.10, 73), (0.15, 66)])
def test_the_printed_limits(mu, printed):
    """Rothbart, Cam Design Handbook, eq. 6.8: tan α = B/(μ·(2A + B)); A = B gives 73° and 66°."""
    assert round(Friction(guide=mu, overhang_mm=12, bearing_mm=12).jams_at_deg) == printed


def test_the_limit_of_a_thick_pin_by_halving():
    friction = Friction(0.3, 0.2, 5, 20, 10)

    def share(angle):
        return friction.shares(angle, 1)[1]

    assert math.radians(friction.jams_at_deg) == pytest.approx(brentq(share, 0, 1.5, xtol=1e-14), abs=1e-12)
    assert FREE.jams_at_deg == pytest.approx(90) and Friction(contact=0.2).jams_at_deg < 79


@given(st.floats(0, 20), st.floats(0, 5), st.floats(0.2, 3), st.floats(-8, 8), st.floats(-8, 8))
@settings(deadline=None)
def test_spring_energy_is_the_integral_of_the_force(preload, rate, ratio, start, end):
    rate = 0.0 if rate < 1e-3 else rate
    spring = Spring(preload, rate, ratio)
    slack = [-preload / rate / ratio] if rate else []
    points = [at for at in slack if min(start, end) < at < max(start, end)]
    work = quad(spring.force, start, end, points=points or None)[0]
    assert spring.energy(start, end) == pytest.approx(work, rel=1e-7, abs=1e-7)
    assert spring.force(np.array([start, end])).tolist() == [spring.force(start), spring.force(end)]
    assert spring.force(start) >= 0


def test_the_arm_ratio_counts_once_for_the_force_and_twice_for_the_rate():
    """Half the arm: the spring is stretched half as far and its force at the pin is half."""
    assert Spring(4, 2, 0.5).force(3) == pytest.approx((4 + 2 * 1.5) / 2)
    assert type(Spring(4, 2).force(3)) is float


@pytest.mark.parametrize(
    "make, message",
    [
        (lambda: Spring(-1, 1), "preload_N is -1 N: it must be from 0 to 1000 N"),
        (lambda: Spring(1, -1), "rate_N_mm is -1 N/mm"),
        (lambda: Spring(1, 1, 0), "ratio is 0"),
        (lambda: Spring(math.nan, 1), "preload_N is nan"),
        (lambda: Friction(contact=-0.1), "contact is -0.1"),
        (lambda: Friction(guide=2.1), "guide is 2.1"),
        (lambda: Friction(overhang_mm=-1), "overhang_mm is -1 mm"),
        (lambda: Friction(bearing_mm=0), "bearing_mm is 0 mm"),
        (lambda: Friction(pin_mm=-1), "pin_mm is -1 mm"),
        (lambda: Friction(drag_N=-1), "drag_N is -1 N"),
        (lambda: push(1.0, 1.0, 0.0), "radius_mm is not positive"),
        (lambda: push(1.0, 1.0, np.array([1.0, -1.0])), "radius_mm is not positive"),
        (lambda: push(math.nan, 1.0, 5.0), "load_N"),
        (lambda: push(1.0, math.inf, 5.0), "slope_mm"),
        (lambda: push(1.0, 1.0, 20.0, way=math.nan), "way is none of -1, 0 and 1"),
        (lambda: push(1.0, 1.0, 20.0, way=7), "way is none of"),
        (lambda: push(1.0, 1.0, 20.0, way=np.array([1, 0, 0.5])), "way is none of"),
        (lambda: Friction(0.1).shares(math.nan, 1), "slant is not finite"),
        (lambda: Friction(0.1).shares(0.1, 2), "way is none of"),
        (lambda: Spring(2, 0.1).force(math.nan), "lift_mm is not finite"),
        (lambda: Spring(2, 0.1).force(np.array([1.0, math.inf])), "lift_mm is not finite"),
        (lambda: Spring(2, 0.1).energy(0, math.nan), "lift_mm is not finite"),
    ],
)
def test_bad_input_is_refused(make, message):
    with pytest.raises(MechError, match=message):
        make()
