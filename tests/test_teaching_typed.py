"""Reading numbers as people type them."""

import math
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from mechlib.teaching import read_number
from mechlib.teaching.typed import without_thousands
from mechlib.units import UNITS

MINUSES = "-‐‑‒–—―−－"


@given(st.text())
def test_reading_never_raises_and_never_lets_nonsense_through(text):
    for unit in ("", "°", "teeth"):
        reading = read_number(text, unit)
        assert (reading.value is None) == bool(reading.kind) == bool(reading.words)
        assert reading.kind or math.isfinite(reading.value)


@given(st.text(alphabet="0123456789.,+-−–/⁄½¼ eE°mteh\t\N{NO-BREAK SPACE}", max_size=12))
def test_reading_near_numbers_never_raises(text):
    assert read_number(text, "°").kind in ("", "empty", "not a number", "too large", "wrong unit")


@given(
    st.decimals(-10_000, 10_000, places=3),
    st.sampled_from(MINUSES),
    st.sampled_from(".,"),
    st.sampled_from(["", " ", "\t"]),
    st.sampled_from([*UNITS.items()]),
)
def test_reading_gives_back_the_number_written(number, minus, mark, space, unit):
    name, others = unit
    for ending in ("", name, *others):
        text = f"{space}{number}{space}{ending} ".replace("-", minus + space).replace(".", mark, 1)
        assert read_number(text, name).value == float(number), text


@given(st.integers(0, 99), st.integers(0, 99), st.integers(1, 99), st.sampled_from(["", "+", "−"]))
def test_reading_fractions(whole, top, under, sign):
    exact = (-1 if sign == "−" else 1) * (whole + Fraction(top, under))
    assert read_number(f"{sign}{whole} {top}/{under}").value == float(exact) or math.isclose(
        read_number(f"{sign}{whole} {top}/{under}").value, exact, rel_tol=1e-15
    )
    assert read_number(f"{sign}{top} / {under}").value == float(Fraction(top, under)) * (
        -1 if sign == "−" else 1
    )


def test_single_readings():
    same = {
        "1½": 1.5,
        "−½": -0.5,
        "12,5°": 12.5,
        "+2": 2,
        "1e2": 100,
        "3.": 3,
        ",5": 0.5,
        "12.5 deg.": 12.5,
        "7": 7,
    }
    assert {text: read_number(text, "°").value for text in same} == same
    for text in (
        "1,234.5",
        "3 4",
        "2*3",
        "1-1/2",
        "0x10",
        "1_000",
        "٣",
        "10²3",
        "3٣",
        "12°30'",
        "--2",
        "1/0",
        "9" * 61,
        "=",
    ):
        assert read_number(text, "°").kind == "not a number", text
    assert read_number(None).kind == "empty" and read_number(2.5).value == 2.5
    assert read_number(math.nan).kind == read_number(True).kind == "not a number"


def test_every_other_unit_is_refused_by_name():
    for asked in UNITS:
        for written in UNITS:
            reading = read_number(f"3 {written}", asked)
            good = written == asked or (asked, written) == ("°C", "°")
            assert reading.value == 3 if good else reading.kind == "wrong unit"
            assert good or reading.words.startswith(f"you answered in {UNITS[written][0]}; ")
    assert read_number("3 teeth", "").words == "you answered in teeth; the question asks for a plain number"
    assert read_number("3 apples", "mm").kind == "wrong unit"


def test_units_with_spaces_and_by_other_names():
    for text, unit in (
        ("0.22 bit/min", "bits a minute"),
        ("0,22 bits per minute", "bits a minute"),
        ("3.78 cases/min", "cases for a minute"),
        ("19 mins", "min"),
        ("19 min", "minutes"),
        ("75.5 ° C", "°C"),
        ("75.5℃", "°C"),
        ("75.5 ºC", "°C"),
        ("41.4 revolutions", "turns"),
        ("1200 revs/min", "rev/min"),
        ("1200 rev / min.", "rev/min"),
        ("12 mm / s", "mm/s"),
        ("1/2 N⋅mm", "N·mm"),
    ):
        found = read_number(text, unit)
        assert not found.kind and found.value == read_number(text.split()[0].rstrip("℃")).value, text
    wrong = [
        ("12 mm/min", "mm/s"),
        ("3 K", "°C"),
        ("3 min", "s"),
        ("3 / min", "min"),
        ("3 bits", "bits a minute"),
    ]
    wrong += [("3 N", "N·mm"), ("3 mm·s", "mm/s"), ("3 modules", "mm"), ("3 modules", ""), ("3 s/mm", "mm/s")]
    assert all(read_number(text, unit).kind == "wrong unit" for text, unit in wrong)
    assert (
        read_number("3 K", "°C", ("K",)).value == 3 and read_number("3 s", "°C", ("K",)).kind == "wrong unit"
    )


@given(
    st.integers(1000, 10**9),
    st.sampled_from(" ,.'’\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}"),
    st.booleans(),
)
def test_thousands_set_apart(number, mark, minus):
    """Python's own grouping in threes is undone; what is read as a number all the same is a decimal."""
    sign = "−" * minus
    text = f"{sign}{number:,}".replace(",", mark)
    assert without_thousands(f"{text} rev/min") == without_thousands(text) == f"{'-' * minus}{number}"
    read = read_number(text)
    if read.kind:
        assert read.words.endswith(f"; write thousands without a sign between: {sign}{number}")
    else:
        assert abs(read.value) == number / 1000 < 1000 and mark in ",."


def test_what_is_not_set_apart_in_thousands():
    others = ["1680", "1.68", "1.6800", "0,680", "1.680.5", "1,68,000", "1680.000", "1.", "three"]
    assert {without_thousands(text) for text in (*others, "12 13", "1 680 4", "", None, 2.5)} == {""}
    assert without_thousands("1,234.5 mm") == "1234.5" and without_thousands("1.234,5") == "1234,5"
    assert without_thousands("1" + ",000" * 20) == ""  # nobody means that: it isn't repeated at length
    assert read_number("1.680").value == 1.68
    assert "thousands" not in read_number("12 13").words + read_number("1.2.3").words
