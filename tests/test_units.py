"""Units and dashes as people write them: what is the same is taken for the same, and nothing else is."""

import unicodedata
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mechlib.units import DASHES, UNITS, alike, known, with_plain_minus

# Written out by hand, for each unit; no name is built from the table.
WRITTEN = {
    "°": "° º ˚ deg Degrees",
    "teeth": "teeth;tooth;T",
    "mm": "mm;m m;millimetres",
    "turns": "turns;revolution;revolutions;rev;revs",
    "rev/min": "rev/min;revs/min;rev / min;revolutions per minute;rpm;RPM;r/min;turns a minute;rev∕min",
    "N": "N;newtons",
    "N·mm": "N·mm;N⋅mm;N∙mm;N * mm;N mm;Nmm;N · mm",
    "s": "s;sec;secs;seconds",
    "min": "min;mins;minute;minutes",
    "%": "%;percent;per cent;％",
    "Ω": "Ω;\N{OHM SIGN};ohms",
    "°C": "°C;° C;ºC;℃;deg C;degC;degrees Celsius;celsius;degrees C",
    "cents": "cents;cent",
    "mm/s": "mm/s;mm / s;mm/sec;mm per second;millimetres a second",
    "bits a minute": "bits a minute;bit/min;bits per minute;bits/min;bit / minute;bits for a minute",
    "cases for a minute": "cases for a minute;cases per minute;cases/min;case/min;cases a minute",
    "bits": "bits;bit",
    "cases": "cases;case",
    "modules": "modules;module",
    "K": "K;\N{KELVIN SIGN};kelvin;kelvins",
    "cm": "cm;centimetres",
    "in": 'in;inch;"',
    "rad": "rad;radians",
}


def spellings(unit: str) -> list[str]:
    return WRITTEN[unit].split(";" if ";" in WRITTEN[unit] else " ")


@pytest.mark.parametrize("unit", UNITS)
def test_every_spelling_is_known_for_its_unit_and_for_no_other(unit):
    for written in (*spellings(unit), *UNITS[unit]):
        assert known(written) == unit, written
        assert [other for other in UNITS if alike(written) == alike(other)] == [unit]


def test_what_is_no_unit_of_the_table_stays_unknown():
    odd = (
        "",
        "apples",
        "mm/min",
        "m/s",
        "min/rev",
        "s/mm",
        "N/mm",
        "mm·N·s",
        "/",
        "per",
        "A",
        "bits/s",
        "²",
    )
    assert [written for written in odd if known(written)] == []
    assert not [pair for pair in combinations(odd[:-1], 2) if alike(pair[0]) == alike(pair[1])]


@given(st.text())
def test_any_text_can_be_asked_for(text):
    assert alike(alike(text)) == alike(text) and known(text) in ("", *UNITS)


def test_every_dash_that_people_take_for_a_minus_is_one():
    named = [chr(code) for code in range(0x2010, 0x2016)] + ["\u2212", "\uff0d"]
    assert sorted(DASHES) == sorted(named)
    assert all(unicodedata.category(dash) in ("Pd", "Sm") for dash in DASHES)
    assert with_plain_minus("".join(named) + "-½+") == "-" * 9 + "½+"
