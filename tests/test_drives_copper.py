"""Copper windings, against a fit through the published resistivity of annealed copper."""

from __future__ import annotations

import math

import numpy as np
import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st

from mechlib.drives.copper import resistance_at, temperature_from
from mechlib.errors import MechError

# Resistivity of annealed copper in nΩ·m at °C: handbook table (CRC Handbook, copper), from memory.
RESISTIVITY = {0: 15.43, 20: 16.78, 27: 17.25, 127: 24.02}


def test_the_line_follows_the_resistivity_of_copper():
    for degrees, value in RESISTIVITY.items():
        assert resistance_at(16.78, degrees) == pytest.approx(value, rel=0.01)
    slope, at_nought = np.polyfit(list(RESISTIVITY), list(RESISTIVITY.values()), 1)
    assert resistance_at(at_nought, 100, 0) == pytest.approx(at_nought + 100 * slope, rel=0.01)


def test_temperature_coefficient_is_that_of_the_standard():
    """IEC 60028: 0.00393 of the resistance at 20 °C for a kelvin."""
    assert resistance_at(1000, 21) - 1000 == pytest.approx(3.93, abs=0.005)


@given(st.floats(0.01, 1e5), st.floats(-50, 250), st.floats(-50, 250))
def test_there_and_back(ohm, start, end):
    warm = resistance_at(ohm, end, start)
    found = temperature_from(warm, ohm, start)
    assert found.temperature_C == pytest.approx(end, abs=1e-9)
    assert found.rise_K == pytest.approx(end - start, abs=1e-9)
    assert resistance_at(warm, start, end) == pytest.approx(ohm)


def test_by_hand():
    assert resistance_at(50, 100) == pytest.approx(50 * 334.5 / 254.5)
    assert resistance_at(50, 0, 40) == pytest.approx(50 * 234.5 / 274.5)
    assert resistance_at(50, 20) == 50
    cooler = temperature_from(45, 50, 30)
    assert cooler.temperature_C == pytest.approx(0.9 * 264.5 - 234.5)
    assert cooler.sentence() == "The winding is at 3.6 °C on average, 26.4 K below the first reading."
    assert temperature_from(40, 80, 114.5).temperature_C == -60
    assert temperature_from(80, 40, 32.75).temperature_C == 300
    same = temperature_from(50, 50)
    assert same.sentence() == "The winding is at 20.0 °C on average, 0.0 K above the first reading."
    assert temperature_from(534.5, 254.5).temperature_C == pytest.approx(300)


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: resistance_at(0, 20), "resistance_ohm is 0 Ω"),
        (lambda: resistance_at(8, 301), "to_C is 301 °C: it must be from -60 to 300 °C"),
        (lambda: resistance_at(8, 20, -61), "from_C is -61 °C"),
        (lambda: resistance_at("8", 20), "resistance_ohm is '8'"),
        (lambda: temperature_from(100, math.nan), "cold_ohm is nan"),
        (lambda: temperature_from(100, 40), "copper would be at 402 °C; measure both again"),
        (lambda: temperature_from(10, 40), "copper would be at −171 °C"),
        (lambda: temperature_from(40, 40, 400), "cold_C is 400"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: resistance_at(x, 20), 1e-3, 1e6),
        (lambda x: resistance_at(8, x), -60, 300),
        (lambda x: resistance_at(8, 20, x), -60, 300),
        (lambda x: temperature_from(x, x), 1e-3, 1e6),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
