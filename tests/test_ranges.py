"""Ranges and choices: bounds, steps, words."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mechlib.errors import MechError
from mechlib.ranges import Choice, Range, starts


@given(st.integers(-500, 500), st.integers(1, 400), st.integers(1, 50), st.integers(0, 3), st.data())
def test_positions_lead_from_end_to_end(low, steps, step, decimals, data):
    unit = Fraction(1, 10**decimals)
    exact = [low * unit + at * step * unit for at in range(steps + 1)]
    number = int if decimals == 0 else float
    default = data.draw(st.sampled_from(exact))
    made = Range("x", number(exact[0]), number(exact[-1]), number(step * unit), number(default))
    assert made.positions() == pytest.approx([float(at) for at in exact], abs=1e-9)
    assert made.positions()[0] == made.low and made.positions()[-1] == made.high
    assert made.whole == (decimals == 0) and made.digits <= max(decimals, 1)
    assert all(made.check("x", at) == at for at in made.positions())
    assert all(type(made.check("x", at)) is number for at in made.positions())
    for outside in (made.low - 1e-3, made.high + 1e-3, float("nan"), "3", None, True):
        with pytest.raises(MechError, match="x "):
            made.check("x", outside)


@given(st.integers(-999, 999), st.integers(1, 99), st.integers(0, 4))
def test_digits_show_every_position_exactly(low, step, decimals):
    scale = 10**decimals
    made = Range("x", low / scale, (low + 7 * step) / scale, step / scale, low / scale)
    for at, shown in enumerate(f"{position:.{made.digits}f}" for position in made.positions()):
        assert Fraction(shown) == Fraction(low + at * step, scale)


@pytest.mark.parametrize(
    "numbers",
    [
        (1, 1, 1, 1),
        (2, 1, 1, 1),
        (0, 1, 0, 0),
        (0, 1, -1, 0),
        (0, 1, 0.3, 0),
        (0, 3, 1, 0.5),
        (0, 3, 1, 4),
        (0, float("inf"), 1, 0),
        (0, 3, float("nan"), 0),
        ("0", 3, 1, 0),
        (0, 3, 1, None),
    ],
)
def test_a_range_that_doesn_t_work_is_refused(numbers):
    with pytest.raises(MechError, match="range"):
        Range("bad one", *numbers)


def test_half_teeth_are_refused_in_a_whole_range():
    with pytest.raises(MechError, match="whole number from −3 to 3|whole number from -3 to 3"):
        Range("teeth ahead", -3, 3, 1, 0).check("teeth", 1.5)


@pytest.mark.parametrize("options, default", [((), "a"), (("a", "a"), "a"), (("a", "b"), "c")])
def test_a_choice_that_doesn_t_work_is_refused(options, default):
    with pytest.raises(MechError, match="choice"):
        Choice("part", options, default)


def test_start_values_are_given_or_default_and_checked():
    controls = {"n": Range("teeth ahead", -3, 3, 1, 1), "part": Choice("part", ("a", "b"), "a")}
    assert starts(controls) == {"n": 1, "part": "a"}
    assert starts(controls, part="b", n=-3) == {"n": -3, "part": "b"}
    for wrong in ({"n": 4}, {"part": "c"}, {"teeth": 1}):
        with pytest.raises(MechError):
            starts(controls, **wrong)
