"""Teeth at the marks, against exact fractions and a gear train turned tooth by tooth."""

from fractions import Fraction
from math import gcd

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_machine import small, values

from mechlib.bench import (
    chart_shift_deg,
    degrees_per_tooth,
    gap_from_mm,
    gap_from_teeth,
    idler_dropped,
    mark_places,
    mark_table,
    marks_meet,
    mesh_shift_deg,
    whole_teeth,
)
from mechlib.errors import MechError
from mechlib.transports import load, slip
from mechlib.transports.chart import chart

teeth = st.integers(4, 400)


@given(teeth)
def test_degrees_per_tooth(z):
    assert Fraction(degrees_per_tooth(z)).limit_denominator(10**6) == Fraction(360, z)


@given(parent=teeth, own=teeth, root=teeth, upper=teeth, n=st.integers(-6, 6))
def test_shift_of_a_chained_part_by_turning_the_train(parent, own, root, upper, n):
    # Main gear (root teeth) -> part (own teeth, upper row of `upper` teeth) -> child.  A child n teeth ahead
    # on the upper row stands where it would had the upper row turned n teeth more: turn that back to the cam.
    upper_row_turns = Fraction(n, upper)
    cam_turns = upper_row_turns * Fraction(own, root)
    speed = -root / own
    assert chart_shift_deg(upper, n, speed) == pytest.approx(float(-360 * cam_turns), abs=1e-9)


def test_the_parts_own_teeth_do_not_matter():
    parts = [p | ({"teeth": 48} if p["name"] == "switch" else {}) for p in values()["part"]]
    assert mesh_shift_deg(small(part=parts), "switch", 1) == mesh_shift_deg(small(), "switch", 1) == -10


def test_shift_shows_on_the_chart():
    alder = load("alder")
    for mesh in alder.mesh_names:
        shift = mesh_shift_deg(alder, mesh, 1)
        before, after = chart(alder), chart(alder.with_faults(slip(mesh, 1)))
        for row, moved in zip(before.followers, after.followers, strict=True):
            expected = shift if mesh in alder.chains[row.part] else 0.0
            for (_, _, old), (_, _, new) in zip(row.states, moved.states, strict=True):
                inside = [
                    (a, b)
                    for a, b in zip(old, new, strict=False)
                    if -90 < a[0] < 250 and mesh != "carriage gear"
                ]
                for old_arc, new_arc in inside:
                    assert new_arc[0] - old_arc[0] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    "gap, z, whole, doubtful",
    [
        (0.1, 80, 0, False),
        (4.4, 80, 1, False),
        (-9.2, 80, -2, False),
        (2.25, 80, 0, True),
        (6.75, 80, 2, True),
        (-5.6, 80, -1, True),
        (180, 80, 40, False),
    ],
)
def test_whole_teeth(gap, z, whole, doubtful):
    found = whole_teeth(gap, z)
    assert (found.whole, found.doubtful) == (whole, doubtful)
    assert ("no whole number" in found.sentence()) == doubtful
    assert found.teeth == pytest.approx(gap * z / 360)


def test_gap_measured_along_the_arc():
    # a full turn along the arc is 2·pi·r: 1/80 of it is one tooth of 80
    circumference = 2 * 3.141592653589793 * 18.0
    assert gap_from_mm(circumference / 80, 18.0) == pytest.approx(4.5)
    with pytest.raises(MechError, match="half a turn"):
        gap_from_mm(60, 18.0)


@given(first=teeth, second=teeth)
def test_marks_meet_by_counting(first, second):
    found = marks_meet(first, second)
    assert found.first_turns * first == found.second_turns * second
    # counted: whole turns of the first until the second has made whole turns, too
    counted = next(n for n in range(1, second + 1) if n * first % second == 0)
    assert found.first_turns == counted == second // gcd(first, second)


def test_marks_meet_against_the_published_pairs():
    # Hayes, American Scientist, July-August 2000: 11x30 and 21x22 hunt (every tooth meets every other)
    for first, second in ((11, 30), (21, 22)):
        assert marks_meet(first, second).first_turns == second


def test_where_the_marks_stand():
    places = {p.part: p for p in mark_places(small(), "HALF")}  # stands at 48 (loading)
    assert places["main cam"].turned_deg == pytest.approx(48)
    assert places["lever gear"].turned_deg == pytest.approx(24)  # 36 into 72 teeth
    assert places["hook cam"].turned_deg == pytest.approx(48 * 0.5 * 24 / 30)
    ahead = {p.part: p for p in mark_places(small().with_faults(slip("lever gear", 1)), "HALF")}
    assert ahead["lever gear"].turned_deg - places["lever gear"].turned_deg == pytest.approx(
        5
    )  # a tooth of 72
    wrapped = next(p for p in mark_places(load("alder"), "SLOW") if p.part == "brake cam")
    assert wrapped.turned_deg > 180 and wrapped.apart_deg == pytest.approx(wrapped.turned_deg - 360)


@pytest.mark.parametrize("mode, part, pinion", [("OPEN", "drawer rack", 24), ("WIND", "switch slide", 30)])
def test_a_rack_is_told_in_its_teeth(mode, part, pinion):
    """As many as the gear that drives it has gone on by, whatever turn that is; the play is a twentieth."""
    cedar = load("cedar")
    places = {place.part: place for place in mark_places(cedar, mode)}
    driver = places[cedar.part(part).parent]
    teeth = driver.turned_deg * pinion / 360
    assert places[part].teeth_on == pytest.approx(teeth, abs=0.1)
    said = f"{teeth:+.1f}".replace("-", "−") if mode == "WIND" else "−22.5"
    assert places[part].sentence() == f"In {mode} the {part} has gone {said} teeth from its mark."


def test_a_rack_or_sector_never_comes_round():
    cedar = load("cedar")
    rows = {line.split("  ")[0]: line.split() for line in mark_table(cedar).splitlines()}
    assert rows["switch slide, teeth"][3:] == ["-", "−1.0", "−1.0", "3.1", "6.8", "10.5", "14.2", "17.7"]
    assert rows["drawer rack, teeth"][4:6] == ["−22.5", "−0.1"]
    assert rows["lift sector"][2:4] == ["-", "−135°"] and rows["brake gear"][2] == "5"
    idler = next(p for p in mark_places(load("alder"), "SLOW") if p.part == "idler cam")  # a sector
    assert (
        idler.turned_deg > 180 and idler.apart_deg == idler.turned_deg and "shorter" not in idler.sentence()
    )


def test_mark_table():
    rows = {line.split("  ")[0]: line.split() for line in mark_table(small()).splitlines()}
    # stands at 2 in IN (unloading: the play of 3 is still to come), 48 in HALF, 98 in OUT; half as fast,
    # (2 + 3)/2 = 2.5; 72 teeth on 36 meet every turn
    assert rows["lever gear"][2:] == ["1", "2°", "24°", "49°"]
    assert rows["hook cam"][2:] == ["-", "2°", "19°", "39°"]  # a sector
    never = small().with_faults(slip("switch", 5))
    assert mark_table(never).splitlines()[1].split()[2] == "-"


def test_gap_counted_in_teeth():
    assert gap_from_teeth(3, 40) == pytest.approx(27)
    with pytest.raises(MechError, match="half a turn"):
        gap_from_teeth(21, 40)


def test_where_the_marks_stand_in_a_mode_never_reached():
    with pytest.raises(MechError, match="cannot be reached"):
        mark_places(small().with_faults(slip("switch", 5)), "IN")


@given(turned=st.integers(-40, 40), driver=teeth, driven=teeth)
def test_an_idler_dropped_back(turned, driver, driven):
    found = idler_dropped(turned, driven, driver)
    assert -Fraction(1, 2) < found.teeth <= Fraction(1, 2)
    left = Fraction(turned * driven, driver) - found.teeth
    assert left.denominator == 1  # the rest is whole teeth, which fit as they are
    assert idler_dropped(turned, driven).teeth == 0


@pytest.mark.parametrize(
    "call",
    [
        lambda: degrees_per_tooth(3),
        lambda: degrees_per_tooth(80.5),
        lambda: degrees_per_tooth("80"),
        lambda: degrees_per_tooth(float("nan")),
        lambda: chart_shift_deg(80, 0.5),
        lambda: chart_shift_deg(80, 1, 0),
        lambda: chart_shift_deg(80, 1, float("inf")),
        lambda: gap_from_mm(1, 0),
        lambda: gap_from_mm(None, 5),
        lambda: whole_teeth(181, 80),
        lambda: marks_meet(0, 20),
        lambda: idler_dropped(10**400, 20),
        lambda: mesh_shift_deg(small(), "no such", 1),
        lambda: slip("switch", 1.5),
        lambda: slip("switch", 1e308),
    ],
)
def test_bad_values_are_told(call):
    with pytest.raises(MechError):
        call()
