"""The lift laws against calculus done otherwise: sympy, numerical quadrature, differences, root finding."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError, fields

import numpy as np
import pytest
import sympy
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import integrate, optimize

from mechlib.cams import LAWS, Law, Piece, Wave, law
from mechlib.errors import MechError

X, A = sympy.symbols("x A", positive=True)
EIGHTH = sympy.Rational(1, 8)
PI = sympy.pi

# Each law's acceleration over x, as the trade describes it: (from, to, formula), the amplitude A left open.
# Constant velocity has none and is tested by itself.
ACCELERATIONS = {
    "constant acceleration": [(0, EIGHTH * 4, A), (EIGHTH * 4, 1, -A)],
    "simple harmonic": [(0, 1, A * sympy.cos(PI * X))],
    "double harmonic": [(0, 1, A * (sympy.cos(PI * X) - sympy.cos(2 * PI * X)))],
    "cycloidal": [(0, 1, A * sympy.sin(2 * PI * X))],
    "modified sine": [
        (0, EIGHTH, A * sympy.sin(4 * PI * X)),
        (EIGHTH, 7 * EIGHTH, A * sympy.cos(4 * PI / 3 * (X - EIGHTH))),
        (7 * EIGHTH, 1, -A * sympy.sin(4 * PI * (1 - X))),
    ],
    "modified constant velocity": [
        (0, EIGHTH / 2, A * sympy.sin(8 * PI * X)),
        (EIGHTH / 2, 2 * EIGHTH, A * sympy.cos(8 * PI / 3 * (X - EIGHTH / 2))),
        (2 * EIGHTH, 6 * EIGHTH, 0 * X),
        (6 * EIGHTH, 15 * EIGHTH / 2, -A * sympy.cos(8 * PI / 3 * (1 - X - EIGHTH / 2))),
        (15 * EIGHTH / 2, 1, -A * sympy.sin(8 * PI * (1 - X))),
    ],
    "modified trapezoidal": [
        (0, EIGHTH, A * sympy.sin(4 * PI * X)),
        (EIGHTH, 3 * EIGHTH, A),
        (3 * EIGHTH, 5 * EIGHTH, A * sympy.cos(4 * PI * (X - 3 * EIGHTH))),
        (5 * EIGHTH, 7 * EIGHTH, -A),
        (7 * EIGHTH, 1, -A * sympy.sin(4 * PI * (1 - X))),
    ],
}
# The peak factors as formulas: velocity, acceleration, jerk (oo where the acceleration has a step).
PEAKS = {
    "constant velocity": (1, sympy.oo, sympy.oo),
    "constant acceleration": (2, 4, sympy.oo),
    "simple harmonic": (PI / 2, PI**2 / 2, sympy.oo),
    "double harmonic": (3 * sympy.sqrt(3) * PI / 8, PI**2, sympy.oo),
    "cycloidal": (2, 2 * PI, 4 * PI**2),
    "modified sine": (4 * PI / (4 + PI), 4 * PI**2 / (4 + PI), 16 * PI**3 / (4 + PI)),
    "modified constant velocity": (
        8 * PI / (4 + 5 * PI),
        16 * PI**2 / (4 + 5 * PI),
        128 * PI**3 / (4 + 5 * PI),
    ),
    "modified trapezoidal": (2, 8 * PI / (2 + PI), 32 * PI**2 / (2 + PI)),
    "3-4-5": (sympy.Rational(15, 8), 10 / sympy.sqrt(3), 60),
    "4-5-6-7": (sympy.Rational(35, 16), 84 * sympy.sqrt(5) / 25, sympy.Rational(105, 2)),
}
NAMES = sorted(LAWS)
SMOOTH = [name for name, peaks in PEAKS.items() if peaks[2] != sympy.oo]
inside = st.floats(0, 1)
any_law = st.sampled_from([LAWS[name] for name in NAMES])


def polynomial(conditions: int):
    """The lowest polynomial with s(0)=0, s(1)=1 and that many derivatives zero at both ends."""
    s = sum(c * X**k for k, c in enumerate(sympy.symbols(f"c0:{2 * conditions + 2}")))
    equations = [s.subs(X, 0), s.subs(X, 1) - 1]
    equations += [sympy.diff(s, X, n).subs(X, at) for n in range(1, conditions + 1) for at in (0, 1)]
    return s.subs(sympy.solve(equations))


def pieces_from_scratch(name: str):
    """(from, to, s) of a law, A found from v(1) = 0 and s(1) = 1 by exact integration."""
    lift = speed = sympy.Integer(0)
    result = []
    for start, end, acceleration in ACCELERATIONS[name]:
        v = speed + sympy.integrate(acceleration, (X, start, X))
        s = lift + sympy.integrate(v, (X, start, X))
        lift, speed = s.subs(X, end), v.subs(X, end)
        result.append((start, end, s))
    assert sympy.simplify(speed) == 0  # it comes to rest by its shape alone
    amplitude = sympy.solve(lift - 1, A)[0]
    return [(start, end, s.subs(A, amplitude)) for start, end, s in result]


def exact_pieces(name: str):
    if name == "constant velocity":
        return [(0, 1, X)]
    if name in ("3-4-5", "4-5-6-7"):
        return [(0, 1, polynomial(2 if name == "3-4-5" else 3))]
    return pieces_from_scratch(name)


@pytest.mark.few(3)
@pytest.mark.parametrize("name", NAMES)
def test_all_four_curves_follow_from_the_textbook_shape(name):
    curve = law(name)
    for start, end, s in exact_pieces(name):
        for order, ours in enumerate((curve.position, curve.velocity, curve.acceleration, curve.jerk)):
            exact = sympy.lambdify(X, sympy.diff(s, X, order))
            for x in np.linspace(float(start), float(end), 9)[:-1]:
                assert ours(float(x)) == pytest.approx(float(exact(float(x))), abs=2e-12), (order, x)


@pytest.mark.parametrize("name", sorted(ACCELERATIONS))
@pytest.mark.parametrize("x", [0.07, 0.3, 0.5, 0.81, 1.0])
def test_position_is_the_double_integral_of_the_acceleration(name, x):
    """s(x) = ∫ (x − t)·a(t) dt by numerical quadrature of the library's own acceleration."""
    joins = [float(start) for start, _, _ in ACCELERATIONS[name][1:]]
    knots = [0.0, *(j for j in joins if j < x), x]
    total = sum(
        integrate.quad(lambda t: (x - t) * law(name).acceleration(t), a, b, epsabs=1e-13)[0]
        for a, b in zip(knots, knots[1:], strict=False)
    )
    assert law(name).position(x) == pytest.approx(total, abs=1e-11)


@pytest.mark.parametrize("name", NAMES)
def test_peaks_are_the_exact_factors(name):
    peaks = law(name).peaks
    exact = [float(value) for value in PEAKS[name]]
    assert (peaks.velocity, peaks.acceleration, peaks.jerk) == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_peaks_are_reached_and_never_passed(name):
    curve, x = law(name), np.linspace(0, 1, 20001)
    for peak, values in (
        (curve.peaks.velocity, curve.velocity(x)),
        (curve.peaks.acceleration, curve.acceleration(x)),
        (curve.peaks.jerk, curve.jerk(x)),
    ):
        if math.isfinite(peak):
            assert np.abs(values).max() == pytest.approx(peak, rel=1e-6)
            assert np.abs(values).max() <= peak * (1 + 1e-12)


def test_peaks_of_a_piece_with_several_turning_points():
    """A shape that swings twice: the largest value stands in the middle of the row, not at its first hump."""
    twice = Law("twice", (Piece(0.0, waves=(Wave(1.0, 4 * math.pi),)),))
    assert twice.peaks.velocity == pytest.approx(2.0)  # s = x − sin(4πx)/(4π)
    assert twice.peaks.acceleration == pytest.approx(4 * math.pi)
    assert twice.peaks.jerk == pytest.approx(16 * math.pi**2)


def test_peaks_of_a_law_that_is_not_symmetrical():
    """v = 60·x²(1 − x)³, largest at x = 2/5: 60·(2/5)²·(3/5)³ = 2.0736."""
    skew = Law("skew", (Piece(0.0, (0.0, 2.0, -9.0, 12.0, -5.0)),))
    assert skew.peaks.velocity == pytest.approx(2.0736, rel=1e-12)
    x = np.linspace(0, 1, 100001)
    assert skew.peaks.acceleration == pytest.approx(np.abs(skew.acceleration(x)).max(), rel=1e-8)
    assert skew.peaks.jerk == pytest.approx(120)  # at x = 0, where a = 120x − …
    assert skew.inverse(skew.position(0.4)) == pytest.approx(0.4, abs=1e-13)


@given(any_law, st.floats(0.001, 0.999))
def test_each_curve_is_the_slope_of_the_one_before(curve, x):
    h = 1e-5
    assume(all(abs(x - piece.start) > 2 * h for piece in curve.shape))
    for below, above, room in (
        (curve.position, curve.velocity, 1e-7),
        (curve.velocity, curve.acceleration, 1e-6),
        (curve.acceleration, curve.jerk, 1e-5),
    ):
        assert (below(x + h) - below(x - h)) / (2 * h) == pytest.approx(above(x), abs=room)


@given(any_law, inside)
def test_the_second_half_mirrors_the_first(curve, x):
    assume(curve.name != "double harmonic")
    assert curve.position(x) + curve.position(1 - x) == pytest.approx(1, abs=1e-13)
    assert curve.acceleration(x) == pytest.approx(-curve.acceleration(1 - x), abs=1e-9) or any(
        abs(at - piece.start) < 1e-9 for at in (x, 1 - x) for piece in curve.shape
    )


@given(inside)
def test_the_double_harmonic_law_is_lower_than_its_mirror(x):
    """It starts softly and ends hard: s(x) + s(1 − x) = 1 − ½·sin² πx."""
    curve = law("double harmonic")
    total = curve.position(x) + curve.position(1 - x)
    assert total == pytest.approx(1 - math.sin(math.pi * x) ** 2 / 2, abs=1e-13)


def test_the_double_harmonic_law_as_printed():
    """Displacement, velocity, acceleration: Rothbart, Cam Design Handbook, equations 2.61 to 2.63."""
    curve = law("double harmonic")
    for x in np.linspace(0, 1, 41):
        angle = math.pi * x
        lift = ((1 - math.cos(angle)) - (1 - math.cos(2 * angle)) / 4) / 2
        assert curve.position(float(x)) == pytest.approx(lift, abs=1e-14)
        speed = math.pi / 2 * (math.sin(angle) - math.sin(2 * angle) / 2)
        assert curve.velocity(float(x)) == pytest.approx(speed, abs=1e-13)
        push = math.pi**2 / 2 * (math.cos(angle) - math.cos(2 * angle))
        assert curve.acceleration(float(x)) == pytest.approx(push, abs=1e-12)


def test_the_modified_constant_velocity_law_keeps_its_speed_through_the_middle_half():
    curve, peak = law("modified constant velocity"), law("modified constant velocity").peaks.velocity
    middle = np.linspace(0.25, 0.75, 101)
    assert curve.velocity(middle) == pytest.approx(peak, abs=1e-12)
    assert np.all(curve.acceleration(middle[:-1]) == pytest.approx(0, abs=1e-12))
    assert curve.velocity(0.2499) < peak * (1 - 1e-7) > curve.velocity(0.7501)
    assert curve.velocity(0.24) < peak * (1 - 1e-4) > curve.velocity(0.76)


def test_the_modified_constant_velocity_law_is_the_modified_sine_law_with_a_middle_put_in():
    """Its first quarter is the first half of modified sine, drawn together to half the length."""
    ours, sine = law("modified constant velocity"), law("modified sine")
    for x in np.linspace(0.02, 0.25, 12):
        ratio = ours.velocity(x) / ours.peaks.velocity
        assert ratio == pytest.approx(sine.velocity(2 * x) / sine.peaks.velocity, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_the_velocity_adds_up_to_the_rise(name):
    knots = [*(piece.start for piece in law(name).shape), 1.0]
    total = sum(
        integrate.quad(law(name).velocity, a, math.nextafter(b, 0), epsabs=1e-13)[0]
        for a, b in zip(knots, knots[1:], strict=False)
    )
    assert total == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_curves_join_without_a_step(name):
    curve = law(name)
    curves = [curve.position, curve.velocity] + [curve.acceleration] * (name in SMOOTH)
    for piece in curve.shape[1:]:
        before = math.nextafter(piece.start, 0)
        for values in curves:
            assert values(before) == pytest.approx(values(piece.start), abs=1e-9)


@pytest.mark.parametrize("name", SMOOTH)
def test_smooth_laws_start_and_end_at_rest_without_a_push(name):
    for end in (0.0, 1.0):
        assert law(name).velocity(end) == pytest.approx(0, abs=1e-12)
        assert law(name).acceleration(end) == pytest.approx(0, abs=1e-11)


@pytest.mark.parametrize("name", NAMES)
def test_every_law_rises_from_0_to_1_and_never_turns_back(name):
    curve, x = law(name), np.linspace(0, 1, 5001)
    assert curve.position(0) == 0 and curve.position(1) == pytest.approx(1, abs=1e-15)
    assert np.all(np.diff(curve.position(x)) > -1e-15)
    assert np.all(curve.velocity(x) > -1e-12) and curve.monotone
    near = np.geomspace(1e-17, 0.1, 2001)
    for lifts in (curve.position(near), curve.position(1 - near)):
        assert np.all((lifts >= 0) & (lifts <= 1))
    assert all(0 <= curve.position(float(x)) <= 1 for x in np.concatenate([near, 1 - near])[::20])
    assert (curve.inverse(0), curve.inverse(1)) == (0, 1)


@given(any_law, inside)
def test_inverse_finds_the_lift_again(curve, s):
    x = curve.inverse(s)
    assert 0 <= x <= 1
    assert curve.position(x) == pytest.approx(s, abs=2e-14)  # a hundred roundings


@given(any_law, inside)
def test_inverse_of_position_is_the_angle(curve, x):
    """To 1e-13, or to the angle over which the lift changes in its 15th digit."""
    back = curve.inverse(curve.position(x))
    room = 1e-13 + 2e-14 / max(curve.velocity(x), 1e-12)
    assert back == pytest.approx(x, abs=room) or curve.position(back) == pytest.approx(
        curve.position(x), abs=4e-15
    )


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("s", [1e-6, 0.02, 0.37, 0.5, 0.731, 0.999])
def test_inverse_agrees_with_a_library_root_finder(name, s):
    root = optimize.brentq(lambda x: law(name).position(x) - s, 0, 1, xtol=1e-15, rtol=1e-15)
    assert law(name).inverse(s) == pytest.approx(root, abs=5e-13)


@pytest.mark.parametrize(
    "name, closed_form",
    [
        ("constant velocity", lambda s: s),
        ("constant acceleration", lambda s: math.sqrt(s / 2) if s < 0.5 else 1 - math.sqrt((1 - s) / 2)),
        ("simple harmonic", lambda s: math.acos(1 - 2 * s) / math.pi),
    ],
)
@given(s=st.floats(1e-3, 1 - 1e-3))
def test_inverse_against_closed_forms(name, closed_form, s):
    assert law(name).inverse(s) == pytest.approx(closed_form(s), abs=1e-13)


@pytest.mark.parametrize("name", NAMES)
def test_an_array_gives_what_numbers_give(name):
    x = np.concatenate([np.linspace(0, 1, 101), [piece.start for piece in law(name).shape]])
    for method in (law(name).position, law(name).velocity, law(name).acceleration, law(name).jerk):
        assert method(x) == pytest.approx([method(float(one)) for one in x], abs=1e-12)
        assert method(x.reshape(-1, 1)).shape == (x.size, 1)
    assert isinstance(law(name).position(0.25), float)


@pytest.mark.parametrize("bad", [-0.01, 1.01, math.nan, math.inf, "half", None, True])
@pytest.mark.parametrize("method", ["position", "velocity", "acceleration", "jerk", "inverse"])
def test_bad_numbers_are_refused(method, bad):
    with pytest.raises(MechError, match="3-4-5 law"):
        getattr(law("3-4-5"), method)(bad)


@pytest.mark.parametrize("bad", [[0.5, 1.5], [-0.1], [math.nan, 0.2]])
def test_bad_arrays_are_refused(bad):
    with pytest.raises(MechError, match="from 0 to 1"):
        law("cycloidal").position(np.array(bad))


@pytest.mark.parametrize("name", ["", "dwell", None, ["3-4-5"], "no such thing"])
def test_unknown_laws_are_refused_with_the_list(name):
    with pytest.raises(MechError, match="there is no such law.*constant velocity.* and 4-5-6-7"):
        law(name)


def test_a_misspelt_law_gets_the_nearest_name():
    with pytest.raises(MechError, match="did you mean 'modified trapezoidal'"):
        law("modified trapezium")


def test_laws_cannot_be_changed():
    for thing in (law("3-4-5"), law("3-4-5").shape[0], law("3-4-5").peaks):
        with pytest.raises(FrozenInstanceError):
            setattr(thing, fields(thing)[0].name, 1)


def test_a_piece_that_is_both_sine_and_polynomial_is_refused():
    with pytest.raises(MechError, match="piece 2 of the odd law"):
        Law("odd", (Piece(0.0, (1.0,)), Piece(0.5, (0.0, 1.0), (Wave(1.0, 3.0),))))
    assert Law("even", (Piece(0.0, (0.0,), (Wave(1.0, 3.0),)),)).monotone  # a polynomial of nought is none


@pytest.mark.parametrize("share, monotone", [(-0.01, True), (0.0, True), (0.01, False), (0.5, False)])
def test_a_law_that_turns_back_says_so(share, monotone):
    """v = sin²(πx)·… shifted down by a share of its peak: below zero at both ends."""
    shape = (Piece(0.0, waves=(Wave(1.0, 2 * math.pi),)),)  # v = (1 − cos 2πx)/2π, at most 1/π
    curve = Law("shifted", shape, start_velocity=-share / math.pi)
    x = np.linspace(0, 1, 1001)
    assert curve.monotone == monotone == bool(np.all(curve.velocity(x) >= -1e-12))
    assert (curve.position(x).min() < -1e-6) == (not monotone)
    assert (curve.position(x).max() > 1 + 1e-6) == (not monotone)
    assert (min(curve.position(float(one)) for one in x) < -1e-6) == (not monotone)
    if monotone:
        assert "never turns back" in curve.sentence()
    else:
        assert "turns back on its way" in curve.sentence()
        with pytest.raises(MechError, match="shifted law turns back"):
            curve.inverse(0.5)


@pytest.mark.parametrize("shape", [(-1.0,), (0.0,)])
def test_a_law_that_doesnt_rise_is_refused(shape):
    with pytest.raises(MechError, match="must end above its start"):
        Law("sunk", (Piece(0.0, shape),)).position(0.5)


def test_the_sentence_says_the_peak_factors():
    assert law("double harmonic").sentence() == (
        "The double harmonic law, for unit rise in unit length: peak velocity 2.041, "
        "peak acceleration 9.870, peak jerk without bound; it never turns back."
    )
    assert "peak velocity 1.275, peak acceleration 8.013, peak jerk 201.381" in (
        law("modified constant velocity").sentence()
    )
