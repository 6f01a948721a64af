"""What is typed into the form, as people type it, and what is shown for a value; both ways."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from mechlib.bench.own_typed import KINDS, UNITS, figures, number
from mechlib.cams import LAWS

AMOUNTS = some.integers(-9999, 9999) | some.integers(-(10**7), 10**7).map(lambda n: n / 1000)
NAMES = some.text("abcxyzÄß-'() 47", min_size=1, max_size=12).map(lambda text: " ".join(text.split()) or "x")
ANGLES = some.one_of(
    some.builds(lambda n, unit: {unit: n}, AMOUNTS, some.sampled_from(sorted(UNITS))),
    some.builds(
        lambda n, of: {"turns": n, "of": of}, AMOUNTS, some.sampled_from(["worm shaft", "crank", "7"])
    ),
)
STATES = some.sampled_from(["off", "half up", "take-up"]) | AMOUNTS.map(lambda mm: {"mm": mm})
STEPS = some.one_of(
    some.builds(lambda state, at: {"hold": state, "until": at}, STATES, ANGLES),
    some.builds(
        lambda state, at, law: {"move_to": state, "until": at, "law": law},
        STATES,
        ANGLES,
        some.sampled_from(sorted(LAWS)),
    ),
)
VALUES = {
    "text": NAMES,
    "number": AMOUNTS,
    "angle": ANGLES,
    "names": some.lists(NAMES | some.just("a, b"), min_size=1, max_size=4),
    "states": some.dictionaries(some.sampled_from(["off", "half up", "take-up", "7"]), AMOUNTS, min_size=1),
    "readings": some.lists(some.tuples(ANGLES, AMOUNTS).map(list), min_size=1, max_size=4),
    "arcs": some.lists(some.tuples(ANGLES, ANGLES).map(list), min_size=1, max_size=4),
    "track": some.lists(STEPS, min_size=1, max_size=4),
}
JUNK = some.one_of(
    some.none() | some.booleans() | some.floats() | some.integers() | some.text(max_size=9),
    some.lists(
        some.integers() | some.text(max_size=5) | some.dictionaries(some.text(max_size=3), some.integers())
    ),
    some.dictionaries(some.text(max_size=5), some.integers() | some.lists(some.none())),
)


def test_every_kind_has_values_here():
    assert set(VALUES) == set(KINDS)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_what_is_shown_reads_back_as_the_same_value(kind):
    @given(VALUES[kind], some.sampled_from(["", *UNITS]))
    def there_and_back(value, unit):
        text = KINDS[kind].show(value)
        assert KINDS[kind].read(text, unit) == (value, ""), text

    there_and_back()


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_whatever_stands_in_a_file_can_be_shown(kind):
    @given(JUNK)
    def shown(value):
        assert isinstance(KINDS[kind].show(value), str)

    shown()


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_whatever_is_typed_stays_and_gives_the_same_trouble_again(kind):
    @given(some.text(max_size=20) | some.text("0123456789 .,;:-toumdegh\n°", max_size=25))
    def typed(text):
        read = KINDS[kind].read(text, "teeth")
        unit = "teeth" if kind == "number" else ""
        again = KINDS[kind].read(KINDS[kind].show(read.value, unit), unit)
        assert again.value == read.value and again.trouble == read.trouble
        assert (read.value is None) <= (
            not text.strip(" \n;,\t\r\f\v\x1c\x1d\x1e\x1f\x85\xa0") or not read.trouble
        )

    typed()


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("14", {"teeth": 14}),
        ("14,5 teeth", {"teeth": 14.5}),
        ("1 Tooth", {"teeth": 1}),
        ("−3t", {"teeth": -3}),
        ("84°", {"deg": 84}),
        ("+84.25 deg", {"deg": 84.25}),
        ("3.5 turns", {"turns": 3.5}),
        (".5 turns of  worm shaft", {"turns": 0.5, "of": "worm shaft"}),
    ],
)
def test_angles_as_people_write_them(typed, value):
    assert KINDS["angle"].read(typed, "teeth") == (value, "")


@pytest.mark.parametrize(
    "typed", ["x", "14 mm", "14 15", "1..5", "1e3", "14 teeth of", "teeth 14", "1/2", "--3"]
)
def test_what_is_no_angle(typed):
    read = KINDS["angle"].read(typed, "teeth")
    assert read.value == typed and "14 teeth, 84° or 3.5 turns" in read.trouble


def test_an_angle_without_a_unit_where_none_is_known():
    assert KINDS["angle"].read("14", "").trouble


@pytest.mark.parametrize(
    ("typed", "arcs"),
    [
        ("10 to 25", [["teeth", 10, 25]]),
        ("10 25; 30 35", [["teeth", 10, 25], ["teeth", 30, 35]]),
        ("10 to 25°\n-3 until 4.5 turns", [["deg", 10, 25], ["turns", -3, 4.5]]),
        ("−10 to −2 teeth", [["teeth", -10, -2]]),
        ("0,5…1,5", [["teeth", 0.5, 1.5]]),
        ("17-20; 22–25 teeth; 26 - 27", [["teeth", 17, 20], ["teeth", 22, 25], ["teeth", 26, 27]]),
        (
            "-20 -17; -3 - -2; -3--2; 84°-90°",
            [["teeth", -20, -17], ["teeth", -3, -2], ["teeth", -3, -2], ["deg", 84, 90]],
        ),
        ("from 17 to 20; From 0,5-1,5", [["teeth", 17, 20], ["teeth", 0.5, 1.5]]),
    ],
)
def test_arcs_as_people_write_them(typed, arcs):
    value = [[{unit: low}, {unit: high}] for unit, low, high in arcs]
    assert KINDS["arcs"].read(typed, "teeth") == (value, "")


def test_a_unit_at_either_end_of_an_arc_counts_for_both():
    for typed in ("10 teeth to 25", "10 to 25 teeth", "10 teeth to 25 teeth"):
        assert KINDS["arcs"].read(typed, "deg").value == [[{"teeth": 10}, {"teeth": 25}]]
    crank = [[{"turns": 1, "of": "crank"}, {"turns": 2, "of": "crank"}]]
    for typed in ("1 turn of crank to 2", "1 to 2 turns of crank"):
        assert KINDS["arcs"].read(typed, "deg").value == crank


def test_a_state_with_two_lifts_is_told_and_nothing_is_lost():
    read = KINDS["states"].read("off 0 mm\noff 2 mm\non 5", "")
    assert read.value == {"off": 0, "off 2 mm": "", "on": 5}
    assert read.trouble == "“off” stands there twice: give it one lift"
    assert KINDS["states"].read(KINDS["states"].show(read.value), "") == read
    assert "can't be read" in KINDS["states"].read("off\noff 2\noff 3", "").trouble


def test_arcs_in_two_units():
    assert KINDS["arcs"].read("3 turns to 84 deg", "teeth").value == [[{"turns": 3}, {"deg": 84}]]


def test_readings_as_people_write_them():
    lines = "14 6.5\n15 teeth: 3 mm;16,5   2,25\n\n3.5 turns of worm shaft = 7\n −2, -1"
    value = [
        [{"teeth": 14}, 6.5],
        [{"teeth": 15}, 3],
        [{"teeth": 16.5}, 2.25],
        [{"turns": 3.5, "of": "worm shaft"}, 7],
        [{"teeth": -2}, -1],
    ]
    assert KINDS["readings"].read(lines, "teeth") == (value, "")


def test_a_line_that_cannot_be_read_is_kept_in_its_place_and_told():
    read = KINDS["readings"].read("1 0\n14,6\n3 ?\n4 2", "teeth")
    assert read.value == [[{"teeth": 1}, 0], "14,6", "3 ?", [{"teeth": 4}, 2]]
    assert "“14,6” can't be read, nor can 1 more" in read.trouble and "14 teeth: 6.5 mm" in read.trouble


def test_states_and_tracks_as_people_write_them():
    assert KINDS["states"].read("off 0\nhalf up = 3,5 mm\npressed: 6", "").value == {
        "off": 0,
        "half up": 3.5,
        "pressed": 6,
    }
    read = KINDS["track"].read("off until 40\nto 3.2 mm until 57.4 deg, modified sine", "teeth")
    assert read.value == [
        {"hold": "off", "until": {"teeth": 40}},
        {"move_to": {"mm": 3.2}, "until": {"deg": 57.4}, "law": "modified sine"},
    ]
    assert KINDS["track"].read("to on until 57", "teeth").value == [{"hold": "to on", "until": {"teeth": 57}}]
    assert "cycloidal" in KINDS["track"].read("to on until 57, fast", "teeth").trouble


def test_numbers_with_their_unit():
    right = [
        ("6,5 mm", "mm", 6.5),
        ("6.5 Millimetres", "mm", 6.5),
        ("0.5 Nmm", "N·mm", 0.5),
        ("12V", "V", 12),
    ]
    right += [
        ("12V", "V", 12),
        ("-3", "mm", -3),
        ("24 teeth", "", 24),
        ("5 N/mm²", "MPa, N/mm²", 5),
        ("20 deg", "°", 20),
        ("0.5 N⋅mm", "N·mm", 0.5),
        ("21 ° C", "°C", 21),
        ("21 degrees", "°C", 21),
        ("‐3 m m", "mm", -3),
        ("4 mins", "minutes", 4),
    ]
    for text, unit, value in right:
        assert KINDS["number"].read(text, unit) == (value, ""), text
    for text, unit in (
        ("1.2 cm", "mm"),
        ("0.5 in", "mm"),
        ("3 N", "N·mm"),
        ("12 V", ""),
        ("4 mm", "N/mm"),
        ("4 K", "°C"),
    ):
        read = KINDS["number"].read(text, unit)
        assert read.value == text and "is in another unit" in read.trouble and unit in read.trouble
    assert all(KINDS["number"].read(text, "").trouble for text in ("six", "6 7", "6.5.4", "6 =", "1e5"))
    assert [number(f"{dash}4") for dash in "-‐‑‒–—―−－"] == [-4] * 9
    assert (number("−0,5"), figures(-2.0), figures(0.125)) == (-0.5, "−2", "0.125")
