"""Substitutes ranked: the whole spares bin gone through by sums of its own, and gears to be made."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mechlib.bench.broken_gear import Case, Mate, Seat, Work, broken_gear, known_size
from mechlib.bench.stock import read_stock, spares_bin
from mechlib.bench.substitute import (
    AFTER_WORK,
    CHANGES,
    FITS,
    NO,
    TO_MAKE,
    VERDICTS,
    _lost_mm,
    made_gear,
    substitutes,
)
from mechlib.errors import MechError
from mechlib.gears.racks import FINE, ISO_53_A, BasicRack
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_heat import warmed
from mechlib.gears.spur_mesh import mesh
from mechlib.gears.spur_outline import outline
from mechlib.gears.unknown_gear import OUTSIDE, Reading, identify

PINION = Mate("pinion", 18, 10.56, True)
SEAT = Seat(2.0, 3.0, 6.0, 14.0)
BIN = spares_bin()


def lost(*mates, sizes=None, teeth=24, seat=SEAT, work=None) -> Case:
    sizes = (known_size(0.5, FINE),) if sizes is None else sizes
    return Case(teeth, sizes, mates or (PINION,), seat, work or Work(moves_tape=True), width_mm=3.0)


FOUND = substitutes(lost(), BIN, more_teeth=3)
EVERY = (*FOUND.rows, *substitutes(lost(work=Work()), BIN, more_teeth=3).rows)


def test_every_gear_of_the_bin_is_told_once_and_the_best_come_first():
    assert sorted(row.stock.row for row in FOUND.rows if row.stock) == [gear.row for gear in BIN.gears]
    places = [VERDICTS.index(row.verdict) for row in FOUND.rows]
    assert places == sorted(places) and FOUND.best is FOUND.rows[0]
    assert [row.teeth for row in FOUND.rows if row.stock is None and row.verdict == TO_MAKE] == [24]


def test_a_gear_can_be_used_just_where_plain_sums_say_so():
    alpha = math.radians(20)
    working = math.acos(0.25 * 42 * math.cos(alpha) / 10.56)
    room = 42 * ((math.tan(working) - working) - (math.tan(alpha) - alpha)) / (2 * math.tan(alpha))
    usable = {row.stock.row for row in FOUND.usable if row.stock}
    for gear in BIN.gears:
        right = gear.module_mm == 0.5 and gear.pressure_angle_deg in (None, 20) and gear.count > 0
        # 24 teeth for the tape's sake; warm by 30 K it needs some 0.02 mm of backlash more: x about 0.055
        same = gear.teeth == 24 and (gear.shift or 0.0) < room - 0.055
        assert (gear.row in usable) == (right and same), gear.sentence()


def test_near_misses_are_refused_with_the_reason():
    reasons = {}
    for row in FOUND.of(NO):
        reasons.setdefault((row.teeth, row.size), []).extend(row.against)
    assert any("too far apart" in one and "5.8%" in one for one in reasons[24, "48 DP"])
    assert any("pressure angle is 14.5°" in one for one in reasons[24, "48 DP"])
    assert any("none is left" in one for one in reasons[24, "module 0.5"])
    assert any("4.35% too fast" in one for one in reasons[23, "module 0.5"])
    assert any("too close" in one for one in reasons[30, "64 DP"])


def test_what_fits_as_it_is_stands_before_what_must_be_worked_on():
    first = FOUND.best
    assert first.verdict == FITS and first.to_do == () and first.stock.bore_mm == 2
    assert all(row.to_do for row in FOUND.of(AFTER_WORK))
    assert "turn" not in FOUND.sentence() and "rough guide" in FOUND.sentence()


def test_where_nothing_but_speed_changes_it_is_said_and_ranked_after_gears_to_be_made():
    found = substitutes(lost(work=Work()), BIN)
    assert {row.teeth for row in found.of(CHANGES)} == {23, 25}
    changed = found.of(CHANGES)[0]
    assert changed.judged.effects.speed_ratio != 1 and "What follows runs at" in changed.sentence()


def test_the_tally_says_one_fits_and_two_fit():
    kinds = {verdict: next(row for row in EVERY if row.verdict == verdict) for verdict in VERDICTS}
    one = replace(FOUND, rows=tuple(kinds.values()))
    assert one.tally() == (
        "5 gears looked at: 1 fits, 1 fits after work, 1 to be made and 1 fits, but changes the machine."
    )
    two = replace(FOUND, rows=tuple(kinds.values()) * 2)
    assert two.tally() == (
        "10 gears looked at: 2 fit, 2 fit after work, 2 to be made and 2 fit, but change the machine."
    )


def test_an_idler_may_have_another_count():
    after = Mate("take-up gear", 30, 13.57, False)
    found = substitutes(lost(PINION, after), BIN)
    other = [row for row in found.usable if row.teeth == 23]
    assert other and all(row.judged.effects.none and row.verdict != CHANGES for row in other)
    assert all(len(row.judged.meshes) == 2 for row in other)


def test_a_rival_size_is_a_caveat_with_what_decides():
    old = BasicRack("an old rack", 14.5, 1.0, 1.157, 0.2, "invented")
    given = broken_gear(identify(24, [Reading(OUTSIDE, 13.05, 0.05)], [FINE, old]), [PINION], SEAT)
    assert [one.candidate.rack for one in given.possible if one.candidate.size.module_mm == 0.5] == [
        FINE,
        old,
    ]
    best = substitutes(given, BIN).best
    (caveat,) = [one for one in best.caveats if "wrong if the broken gear was" in one]
    assert "module 0.5 with 14.5°" in caveat
    assert given.next_reading is None or given.next_reading.sentence()[1:-1] in caveat


def test_a_rival_of_other_heights_is_a_caveat_of_its_own():
    given = lost(sizes=(known_size(0.5, FINE), known_size(0.5, ISO_53_A)))
    rows = substitutes(given, BIN).usable
    bought, made = (next(row for row in rows if (row.stock is None) == new) for new in (False, True))
    told = "Mind: the list doesn't say how high its teeth are: those of fine mechanics are taken, compare its"
    assert f"{told} outside diameter" in bought.sentence()
    (caveat,) = [one for one in made.caveats if "heights" in one]
    assert "if the mates' are ISO 53 A" in caveat
    assert not any("wrong if" in one for row in rows for one in row.caveats)
    like = BasicRack("same heights", 20, FINE.addendum, FINE.dedendum, 0.1, "invented")
    same = substitutes(lost(sizes=(known_size(0.5, FINE), known_size(0.5, like))), BIN).usable
    assert not any("high" in one or "heights" in one for row in same for one in row.caveats)


@pytest.mark.parametrize("rack", [FINE, ISO_53_A])
def test_the_heights_of_a_listed_gear_are_never_taken_without_a_word(rack):
    """With one basic rack only, too: the list says module, angle and shift, but not how high teeth are."""
    found = substitutes(lost(sizes=(known_size(0.5, rack),)), BIN)
    listed = [row for row in found.usable if row.stock]
    assert listed and all(row.gear.rack == rack for row in listed)
    for row in listed:
        assert row.sentence().count(f"those of {rack.name} are taken, compare its outside diameter") == 1
    refused = [row for row in found.of(NO) if row.stock]
    assert {bool(row.judged) for row in refused} == {True, False}
    for row in refused:  # one that was meshed was judged with these heights
        told = row.sentence().endswith(f"Its teeth are taken as those of {rack.name}.")
        assert told == bool(row.judged)
    line = (
        f"The list doesn't say how high teeth are: those of {rack.name} are taken; compare outside diameters."
    )
    assert found.text(40).count("how high") == 1 and line in found.text(40).splitlines()


def test_the_heights_of_a_gear_to_be_made_are_those_asked_for():
    made = substitutes(lost(sizes=(known_size(0.5, ISO_53_A),))).best
    assert made.taken == "" and "how high" not in made.sentence() and "ISO 53 A" in made.sentence()
    assert "how high" not in substitutes(lost()).text()


def test_a_list_without_a_shift_is_a_caveat():
    head, row = "teeth;module_mm;bore_mm;width_mm;count;material;pressure_angle_deg", "24;0,5;2;3;1;acetal"
    (bare,) = substitutes(lost(), read_stock(f"{head}\n{row};20"), make=False).rows
    assert bare.caveats[0] == "the list gives no shift: 0 is taken" and bare.gear.shift == 0
    (neither,) = substitutes(lost(), read_stock(f"{head}\n{row};"), make=False).rows
    assert neither.caveats[1] == "nor a shift: 0 is taken"
    (both,) = substitutes(lost(), read_stock(f"{head};shift\n{row};20;0"), make=False).rows
    assert not any("shift" in one for one in both.caveats)


def test_what_the_teeth_bear_is_never_told_without_what_to_mind():
    asked = substitutes(lost(work=Work(torque_Nmm=10)), BIN)
    safety = asked.best.judged.safety
    assert f"They may carry {safety:.1f} times what the work asks." in asked.best.sentence()
    for told in (asked.sentence(), asked.best.sentence(), asked.text(3), FOUND.best.sentence()):
        assert told.count("The strength is a rough guide") == 1


def test_an_odd_count_says_what_the_caliper_reads():
    """23 teeth: the largest distance between two points of the outline is less than the outside diameter."""
    row = next(row for row in FOUND.rows if row.teeth == 23 and row.judged and row.stock)
    whole = replace(row.gear, tip_alteration=0.0)
    tips = outline(whole, 1e-4) @ [1, 1j]
    largest = abs(tips[:, None] - tips[None, :]).max()
    assert f"It should read {largest:.2f} mm across its tips at most" in row.check()
    assert f"({whole.tip_mm:.2f} mm outside" in row.check() and largest < whole.tip_mm - 0.01


def test_the_growth_of_a_gear_to_be_made_counts_its_own_teeth():
    """A brass gear of 25 teeth for one of 24 beside a nylon mate of 15: 25/40 of the distance is brass."""
    at = Mate("mate", 15, 10.1, True, off_mm=0.0, material="nylon")
    case = Case(24, (known_size(0.5, FINE),), (at,), Seat(1.0), Work(warm_C=120), made_of="brass")
    base = 0.25 * 40 * math.cos(math.radians(20))
    grown = (19e-6 * 25 / 40 + 144e-6 * 15 / 40 - 11.7e-6) * 10.1 * 100
    lost_mm = _lost_mm(case, 25, at, 10.1, base)
    assert lost_mm == pytest.approx(2 * math.tan(math.acos(base / 10.1)) * grown, rel=1e-9)


def test_a_list_without_a_pressure_angle_is_a_caveat():
    stock = read_stock("teeth;module_mm;bore_mm;width_mm;count;material;shift\n24;0,5;2;3;1;acetal;0")
    (row,) = substitutes(lost(), stock, make=False).rows
    assert row.verdict == FITS and row.name == "row 2"
    assert row.caveats[0] == "the list gives no pressure angle: roll it on a mate first"


def test_what_it_should_read_is_told():
    # 24 teeth, module 0.5, tips 1.1 modules high; W = m·cos α·((k − ½)·π + z·inv α)
    involute = math.tan(math.radians(20)) - math.radians(20)
    span = 0.5 * math.cos(math.radians(20)) * (2.5 * math.pi + 24 * involute)
    assert FOUND.best.check() == f"It should read 13.10 mm across its tips and {span:.3f} mm over 3 teeth."
    assert FOUND.rows[-1].check() == ""


def test_the_table_has_a_row_each_and_the_reasons_below():
    lines = FOUND.text(8).splitlines()
    head = "gear size verdict teeth shift backlash mm tip mm contact bears speed"
    assert " ".join(lines[0].split()) == head
    assert lines[1].startswith(FOUND.best.name) and len(lines) > 9
    assert f" {FOUND.best.judged.meshes[0].clearance_mm:.3f} " in lines[1]
    assert any(line.startswith("5. ") and ": no, " in line for line in lines)
    assert FOUND.text() == FOUND.text(12)
    assert len(FOUND.text(10_000).splitlines()) > len(FOUND.rows)


def test_without_a_stock_and_without_making_there_is_nothing():
    none = substitutes(lost(), None, make=False)
    assert none.best is None and none.usable == () and "none can be used" in none.sentence()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: substitutes(lost(), BIN, more_teeth=4), "more_teeth"),
        (lambda: FOUND.text(0), "rows"),
        (lambda: substitutes(lost(Mate("pinion", 18, 20, True)), BIN), "no size"),
        (lambda: made_gear(lost(), lost().possible[0], 20), "its shift would be"),
    ],
)
def test_bad_values_are_refused(call, words):
    with pytest.raises(MechError, match=words):
        call()


@given(
    st.integers(10, 60), st.integers(10, 60), st.integers(-1, 1),
    st.floats(0.0, 0.6), st.sampled_from([FINE, ISO_53_A]), st.sampled_from([0.3, 0.5, 0.8]),
)  # fmt: skip
def test_a_gear_to_be_made_runs_at_any_distance_it_may_have(old, mate, more, apart, rack, module):
    centre = module * ((old + mate) / 2 + apart)
    at = Mate("mate", mate, centre, True, off_mm=0.02)
    given_case = Case(old, (known_size(module, rack),), (at,), Seat(1.0), Work())
    if not given_case.possible:
        return
    sound = given_case.possible[0]
    try:
        gear = made_gear(given_case, sound, old + more)
    except MechError:
        return
    for where in (centre - 0.02, centre, centre + 0.02):
        pair = mesh(gear, sound.mates[0], where)
        assert pair.backlash_mm > 0.03 * module and pair.clearance_mm[0] > 0.09 * module
    nearest = mesh(gear, sound.mates[0], centre - 0.02)
    assert nearest.backlash_mm < 0.04 * module + 0.02 * centre  # no more than it needs
    assert gear.thickness_mm(gear.tip_mm) >= 0.2 * module - 1e-9


@pytest.mark.parametrize("mate_shift", [-0.2, 0.0, 0.3])
@pytest.mark.parametrize(("cold", "warm"), [(20, 20), (20, 70), (-30, 20)])
@pytest.mark.parametrize("plate", ["steel", "nylon"])
def test_a_gear_to_be_made_keeps_its_backlash_where_it_has_least(plate, cold, warm, mate_shift):
    at = Mate("mate", 40, 0.25 * 64 + 0.5 * mate_shift + 0.05, True, mate_shift, off_mm=0.02)
    case = Case(24, (known_size(0.5, FINE),), (at,), Seat(1.0), Work(cold_C=cold, warm_C=warm, plate=plate))
    sound = case.possible[0]
    nearest = mesh(made_gear(case, sound, 24), sound.mates[0], at.centre_mm - 0.02)
    grows = (106.5e-6, 106.5e-6, 144e-6 if plate == "nylon" else 11.7e-6)
    left = min(warmed(nearest, (to - 20,) * 3, grows).least_mm for to in (cold, 20, warm))
    assert left == pytest.approx(0.04 * 0.5, abs=0.002)


def test_pointed_tips_of_a_gear_to_be_made_are_cut_wide_enough():
    at = Mate("mate", 60, 36.5 * 0.5, True, off_mm=0.0)
    case = Case(11, (known_size(0.5, FINE, 0.5),), (at,), Seat(0.5), Work(cold_C=20, warm_C=20))
    gear = made_gear(case, case.possible[0], 11)
    assert gear.shift > 0.8 and gear.tip_alteration < -0.3
    assert gear.thickness_mm(gear.tip_mm) >= 0.1


@pytest.mark.parametrize("module", [0.5, 2.0])
def test_tips_of_a_gear_to_be_made_clear_the_root_of_its_mate(module):
    rack = BasicRack("little clearance", 20, 1.0, 1.05, 0.1, "invented")
    at = Mate("mate", 30, 27.3 * module, True, off_mm=0.0)
    case = Case(24, (known_size(module, rack),), (at,), Seat(1.0), Work(cold_C=20, warm_C=20))
    gear = made_gear(case, case.possible[0], 24)
    gap = at.centre_mm - gear.tip_mm / 2 - (15 - 1.05) * module
    assert gap == pytest.approx(0.11 * module, abs=0.011 * module) and gap >= 0.0999 * module
    assert gear.tip_alteration < 0


def test_a_gear_to_be_made_never_binds_cold_or_warm():
    for plate, cold, warm in (("steel", 0, 60), ("acetal", -20, 40), ("brass", 5, 50)):
        found = substitutes(lost(work=Work(cold_C=cold, warm_C=warm, plate=plate)), None)
        made = next(row for row in found.rows if row.teeth == 24)
        assert made.verdict == TO_MAKE and min(m.least_mm for m in made.judged.meshes) > 0
        assert contact(made.judged.meshes[0].mesh).ratio > 1.2
