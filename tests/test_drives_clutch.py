"""The friction clutch, against integrals of pressure times friction times radius."""

from __future__ import annotations

import math

import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from mechlib.drives.clutch import Clutch
from mechlib.errors import MechError

clutches = st.builds(
    lambda inner, more, *rest: Clutch(inner, inner + more, *rest),
    st.floats(2, 30),
    st.floats(0.5, 40),
    st.floats(0.01, 1),
    st.sampled_from([0.0, 0.002, 0.01]),
    st.integers(1, 6),
    st.booleans(),
)


@given(clutches, st.floats(0.1, 50))
def test_torque_is_the_integral_over_the_ring(clutch, force):
    found = clutch.pressed(force)

    def pressure(r):
        return found.peak_MPa * (clutch.inner_mm / r if clutch.worn else 1)

    def ring(r):
        return pressure(r) * 2 * math.pi * r

    ends = (clutch.inner_mm, clutch.outer_mm)
    assert quad(ring, *ends)[0] == pytest.approx(force, rel=1e-7)
    torque = quad(lambda r: ring(r) * (clutch.friction + clutch.friction_per_mm * r) * r, *ends)[0]
    assert found.torque_Nmm == pytest.approx(clutch.faces * torque, rel=1e-7)
    assert clutch.for_torque(found.torque_Nmm).force_N == pytest.approx(force)


@given(clutches)
def test_a_new_clutch_holds_more_than_a_worn_one(clutch):
    pair = [Clutch(clutch.inner_mm, clutch.outer_mm, clutch.friction, worn=worn).lever_mm for worn in (0, 1)]
    assert pair[0] > pair[1]
    middle = (clutch.inner_mm + clutch.outer_mm) / 2
    assert pair[1] == pytest.approx(clutch.friction * middle)


def test_by_hand():
    """Uniform pressure: 2/3·(ro³ − ri³)/(ro² − ri²) = 2/3·875/75 = 7.7778 mm for 5 and 10 mm."""
    new = Clutch(5, 10, 0.3)
    assert new.lever_mm == pytest.approx(0.3 * 7.777778) and not new.worn
    assert new == Clutch(5, 10, 0.3, 0, 1, False)
    assert (
        new.sentence()
        == "The clutch, new (uniform pressure), holds 2.333 N·mm for every newton that presses it."
    )
    worn = Clutch(5, 10, 0.3, faces=2, worn=True)
    assert (
        worn.sentence()
        == "The clutch, run in (uniform wear), holds 4.500 N·mm for every newton that presses it."
    )
    assert worn.pressed(1.5).sentence() == (
        "Pressed with 1.50 N the clutch holds 6.75 N·mm; the pressure is at most 0.00955 MPa."
    )
    assert new.pressed(0).torque_Nmm == 0 == new.for_torque(0).force_N


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: Clutch(0, 10, 0.3), "inner_mm is 0 mm"),
        (lambda: Clutch(5, 501, 0.3), "outer_mm is 501 mm"),
        (lambda: Clutch(5, 5, 0.3), "outer_mm is 5 mm: it must be more than 5 mm"),
        (lambda: Clutch(5, 10, 0), "friction is 0: without friction no clutch holds"),
        (lambda: Clutch(5, 10, -0.1), "friction is -0.1"),
        (lambda: Clutch(5, 10, 0, 1.1), "friction_per_mm is 1.1"),
        (lambda: Clutch(5, 10, 0.3, faces=0), "faces is 0"),
        (lambda: Clutch(5, 10, 0.3).pressed(-1), "force_N is -1 N"),
        (lambda: Clutch(5, 10, 0.3).for_torque(math.nan), "torque_Nmm is nan"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: Clutch(min(x, 5), max(x, 5.5), 0.3), 0.5, 500),
        (lambda x: Clutch(5, 10, x, 0.01), 0, 3),
        (lambda x: Clutch(5, 10, 0.3, x), 0, 1),
        (Clutch(5, 10, 0.3).pressed, 0, 1e6),
        (Clutch(400, 500, 3, 1, 20).for_torque, 0, 1e9),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)


def test_one_to_twenty_faces():
    check_edges(lambda n: Clutch(5, 10, 0.3, faces=n), 1, 20, whole=True)
