"""Grooves on disc and drum: sympy's derivatives of the pin's path as the cam sees it, distances, mirrors."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sympy as sp
from hypothesis import given, settings
from hypothesis import strategies as st

from mechlib.cams.groove import DrumGroove, FaceGroove, LeverGroove
from mechlib.cams.motion import Motion
from mechlib.errors import MechError

TURN, LIFT = sp.symbols("turn lift", real=True)


def grooves(sense=1, width=4.0, pin=4.0):
    return {
        "face": FaceGroove(20, width, pin, sense=sense),
        "lever": LeverGroove(20, width, pin, lever_mm=30, pivot_mm=34, sense=sense),
        "drum": DrumGroove(20, width, pin),
    }


def path(kind, sense):
    """The pin in the machine, by lift, and what turns it into the cam's view, all in sympy."""
    if kind == "drum":
        return sp.I * LIFT, 0, 20 * TURN
    turned = sp.exp(-sp.I * sense * TURN)
    if kind == "face":
        return 20 + LIFT, turned, 0
    # The pin stands where two circles meet, and is turned about the pivot from there, away from the middle.
    x = sp.Rational(20**2 - 30**2 + 34**2, 2 * 34)
    start = x + sp.I * sp.sqrt(20**2 - x**2)
    return 34 + (start - 34) * sp.exp(-sp.I * LIFT / 30), turned, 0


def by_sympy(kind, sense, law, at):
    """Centre, unit normal to the lift's side, pressure angle (degrees) and curvature, from z(θ) alone."""
    pin, turned, along = path(kind, sense)
    centre = (pin * turned if turned else pin).subs(LIFT, law) + along
    lift_way = sp.diff(pin, LIFT) * (turned or 1)
    values = [centre, sp.diff(centre, TURN), sp.diff(centre, TURN, 2), lift_way.subs(LIFT, law)]
    z, first, second, way = (complex(value.subs(TURN, at).evalf(30)) for value in values)
    normal = 1j * first / abs(first)
    normal = normal if (normal * way.conjugate()).real > 0 else -normal
    bend = (first.conjugate() * second).imag / abs(first) ** 3  # positive: centre on the left of the path
    bend = -bend if (normal / (1j * first)).real > 0 else bend
    pressure = math.degrees(math.acos(min(1.0, (normal * way.conjugate()).real / abs(way))))
    return z, normal, pressure, bend


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("kind", ["face", "lever", "drum"])
@pytest.mark.parametrize(
    "law", [3 + 2 * TURN + TURN**2 / 2, 6 - 5 * TURN**2 + TURN**3, 4 + 4 * sp.sin(3 * TURN)]
)
def test_the_formulas_are_those_of_the_plane_curve(kind, sense, law):
    for at in (-0.4, 0.0, 0.7):
        lift, slope, bend = (float(sp.diff(law, TURN, n).subs(TURN, at)) for n in range(3))
        place = grooves(sense)[kind].at(Motion(math.degrees(at), lift, slope, bend))
        z, normal, pressure, curvature = by_sympy(kind, sense, law, at)
        assert place.pin == pytest.approx(z, abs=1e-12)
        assert place.outer == pytest.approx(z + 2 * normal, abs=1e-12)
        assert place.inner == pytest.approx(z - 2 * normal, abs=1e-12)
        assert abs(place.pressure_deg) == pytest.approx(pressure, abs=1e-5)
        assert place.curvature_per_mm == pytest.approx(curvature, rel=1e-10, abs=1e-13)


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("kind", ["face", "lever", "drum"])
def test_a_positive_pressure_angle_drives_the_lift_up(kind, sense):
    """Hold the pin's path and turn the cam a little: the normal says how much lift is gained."""
    groove, small = grooves(sense)[kind], 1e-6
    for slope in (-15.0, -3.0, 0.0, 6.0, 22.0):
        here = groove.at(Motion(0.0, 3.0, slope))
        normal = (here.outer - here.inner) / abs(here.outer - here.inner)
        step = groove.at(Motion(0.0, 3.0 + small, 0.0)).pin - here.pin
        across = small * (1j * sense * here.pin if kind != "drum" else -groove.radius_mm)
        # What the cam's point at the pin moves along the normal, over what lift moves along it.
        gained = (across * normal.conjugate()).real / (step * normal.conjugate()).real
        assert gained == pytest.approx(slope, abs=1e-3)
        seen = math.degrees(np.angle(normal / (step / abs(step)))) * (sense if kind != "drum" else 1)
        assert here.pressure_deg == pytest.approx(seen, abs=1e-4)


def test_the_lever_as_a_right_triangle():
    """Middle, pivot and pin 30-40-50: the lift is straight away from the middle, as with a straight guide."""
    moves = Motion(25.0, 0.0, 12.0, 7.0)
    lever = LeverGroove(30, 3, 3, lever_mm=40, pivot_mm=50).at(moves)
    face = FaceGroove(30, 3, 3).at(moves)
    assert lever.pressure_deg == pytest.approx(face.pressure_deg)
    assert face.pressure_deg == pytest.approx(math.degrees(math.atan(0.4)))


@given(st.sampled_from(["face", "lever"]), st.floats(-180, 180), st.floats(0, 8), st.floats(-20, 20))
@settings(deadline=None)
def test_the_other_sense_is_the_mirror_or_the_reversed_lift(kind, angle, lift, slope):
    """Turned the other way a disc with the same lift is the mirror image; a straight guide can't tell."""
    one, other = (grooves(s)[kind].at(Motion(angle, lift, slope, 3.0)) for s in (1, -1))
    back = grooves(1)[kind].at(Motion(-angle, lift, -slope, 3.0))
    if kind == "face":
        assert other.pin == pytest.approx(one.pin.conjugate())
        assert other.outer == pytest.approx(one.outer.conjugate())
        assert other.pressure_deg == pytest.approx(one.pressure_deg)
    assert other.pin == pytest.approx(back.pin) and other.inner == pytest.approx(back.inner)
    assert other.pressure_deg == pytest.approx(-back.pressure_deg)
    assert other.curvature_per_mm == pytest.approx(back.curvature_per_mm)


def test_a_circle_and_a_helix():
    place = FaceGroove(20, 5, 5).at(Motion(np.array([0.0, 90.0]), np.full(2, 4.0), np.zeros(2)))
    assert abs(place.outer).tolist() == pytest.approx([26.5] * 2)
    assert abs(place.inner).tolist() == pytest.approx([21.5] * 2)
    assert place.curvature_per_mm == pytest.approx([1 / 24] * 2) and place.pressure_deg.tolist() == [0, 0]
    helix = DrumGroove(10, 3, 3).at(Motion(0.0, 0.0, 10.0))
    assert helix.pressure_deg == pytest.approx(45) and helix.curvature_per_mm == 0
    assert helix.outer == pytest.approx(1.5 * complex(-1, 1) / math.sqrt(2))


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("kind", ["face", "lever", "drum"])
def test_limits_are_where_the_shrunk_pin_touches(kind, sense):
    """Put the pin at the lift and angle told: it is half the clearance off the centre line's own point."""
    groove = grooves(sense, 4.6, 4.0)[kind]
    moves = Motion(40.0, 5.0, 11.0)
    here = groove.at(moves)
    for (angle, lift), wall in zip(groove.limits(moves), (here.inner, here.outer), strict=True):
        pin = groove.at(Motion(angle, lift, 0.0)).pin
        assert abs(pin - here.pin) == pytest.approx(0.3, abs=1e-12)
        assert abs(pin - wall) == pytest.approx(2.0, abs=1e-12)
    (_, low), (_, high) = groove.limits(moves)
    assert low < 5 < high
    assert groove.clearance_mm == pytest.approx(0.6)


def test_a_lever_that_reaches_its_ends_is_refused():
    lever = LeverGroove(20, 1, 1, lever_mm=30, pivot_mm=34)
    start = math.acos((34**2 + 30**2 - 20**2) / (2 * 34 * 30))
    most = 30 * (math.pi - start)
    assert lever.at(Motion(0.0, most - 0.01, 0.0)).pin.real == pytest.approx(64, abs=1e-3)
    for lift in (most + 0.01, -30 * start - 0.01):
        with pytest.raises(MechError, match="over the disc's middle"):
            lever.at(Motion(0.0, lift, 0.0))
    with pytest.raises(MechError, match="between 4 and 64 mm only"):
        LeverGroove(64, 1, 1, lever_mm=30, pivot_mm=34)
    with pytest.raises(MechError, match="between 4 and 64 mm only"):
        LeverGroove(4, 1, 1, lever_mm=30, pivot_mm=34)


def test_a_groove_keeps_clear_of_the_middle():
    for groove in (FaceGroove(10, 4, 4), LeverGroove(10, 4, 4, lever_mm=30, pivot_mm=31)):
        with pytest.raises(MechError, match="must keep further off than half its width"):
            groove.at(Motion(0.0, -8.2, 0.0))
    face = FaceGroove(10, 4, 4)
    assert face.at(Motion(0.0, -7.99, 0.0)).inner == pytest.approx(0.01)
    with pytest.raises(MechError, match="within 2 mm"):
        face.at(Motion(0.0, -8.0, 0.0))
    with pytest.raises(MechError, match="within 1 mm"):
        face.at(Motion(np.zeros(2), np.array([0.0, -9.0]), np.zeros(2)))


@pytest.mark.parametrize(
    "make, message",
    [
        (lambda: FaceGroove(0, 4, 4), "radius_mm is 0 mm"),
        (lambda: DrumGroove(1001, 4, 4), "radius_mm is 1001 mm"),
        (lambda: DrumGroove(20, 0, 4), "width_mm is 0 mm"),
        (lambda: DrumGroove(20, 4, 4.1), "pin_mm is 4.1 mm: it must be from 0.01 to 4 mm; the pin"),
        (lambda: FaceGroove(20, 4, 4, sense=0), "sense is 0"),
        (lambda: LeverGroove(20, 4, 4, 30, 34, sense=2), "sense is 2"),
        (lambda: LeverGroove(20, 4, 4), "lever_mm is 0 mm"),
        (lambda: LeverGroove(20, 4, 4, 30), "pivot_mm is 0 mm"),
    ],
)
def test_bad_sizes_are_refused(make, message):
    with pytest.raises(MechError, match=message):
        make()


def test_sentences():
    drum = DrumGroove(10, 4, 4)
    slope = drum.at(Motion(0.0, 0.0, 10.0)).sentence()
    assert slope == "At 0.0° the pressure angle is 45.0° and the groove is straight."
    crest = drum.at(Motion(0.0, 0.0, 0.0, -50.0)).sentence()
    assert crest.endswith("has a radius of 2.00 mm about its inner side.")
    assert "2.00 mm about its outer side" in drum.at(Motion(0.0, 0.0, 0.0, 50.0)).sentence()
