"""One gear judged: each reason, limit and effect, beside sums made here."""

import math
from dataclasses import replace
from fractions import Fraction

import pytest

from mechlib.bench.broken_gear import Case, Mate, Seat, Work, known_size
from mechlib.bench.substitute_check import (
    CUT_DOWN,
    MARK_IT,
    MateFound,
    Offer,
    _if_the_shafts_are_off,
    effects_of,
    judge_offer,
    may_carry_Nmm,
)
from mechlib.drives.reels import Pack
from mechlib.gears.racks import FINE, FULL_DEPTH_14_5, ISO_53_A
from mechlib.gears.spur import Gear
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_heat import warmed
from mechlib.gears.spur_mesh import mesh
from mechlib.gears.spur_outline import outline
from mechlib.transports import load

PINION = Mate("pinion", 18, 10.56, True, off_mm=0.01)
GEAR = Gear(24, 0.5, FINE)
GOOD = Offer(GEAR, 2.0, 3.0, 5.0, "acetal")


def lost(mates=(PINION,), seat=Seat(2.0, 3.0, 6.0, 14.0), work=None, **fields) -> Case:  # noqa: B008
    return Case(
        24, (known_size(0.5, FINE),), tuple(mates), seat, work or Work(), **{"width_mm": 3.0, **fields}
    )


def judged(offer=GOOD, given=None, **fields):
    given = given or lost(**fields)
    return judge_offer(given, given.possible[0], offer)


def test_the_same_gear_again_fits_as_it_is():
    found = judged()
    assert (found.against, found.to_do, found.caveats) == ((), (), ())
    assert found.effects.none and found.bears == pytest.approx(1.0)
    assert found.effects.sentence() == "It changes nothing in the machine."
    (met,) = found.meshes
    assert met.sentence().startswith("With the pinion: backlash ") and met.ratio > 1.3


@pytest.mark.parametrize(
    ("offer", "seat", "words"),
    [
        (replace(GOOD, bore_mm=1.5), Seat(2.0), "bore it out from 1.50 to 2.00 mm"),
        (replace(GOOD, bore_mm=3.0), Seat(2.0), "bush its bore from 3.00 to 2.00 mm"),
        (replace(GOOD, width_mm=4.0), Seat(2.0, most_width_mm=3.0), "face it from 4.0 to 3.0 mm wide"),
        (replace(GOOD, hub_mm=6.0), Seat(2.0, most_hub_mm=5.0), "turn its hub from 6.0 to 5.0 mm"),
    ],
)
def test_work_to_be_done_is_told(offer, seat, words):
    found = judged(offer, seat=seat)
    assert found.against == () and len(found.to_do) == 1 and words in found.to_do[0]


def test_bores_within_the_fit_and_sizes_just_right_need_no_work():
    edge = replace(GOOD, bore_mm=2.019, width_mm=3.0, hub_mm=6.0)
    assert judged(edge).to_do == () and judged(replace(edge, bore_mm=1.981)).to_do == ()
    assert len(judged(replace(edge, bore_mm=2.021)).to_do) == 1


@pytest.mark.parametrize(
    ("offer", "fields", "words"),
    [
        (GOOD, {"seat": Seat(2.0, most_outside_mm=13.09)}, "13.10 mm across, there is room for 13.09"),
        (replace(GOOD, bore_mm=9.2), {"seat": Seat(9.2)}, "only 0.60 mm would be left"),
        (replace(GOOD, gear=replace(GEAR, shift=0.3)), {}, "with the pinion the teeth bind: "),
        (replace(GOOD, gear=Gear(20, 0.5, FINE)), {}, "teeth lose touch: contact ratio"),
        (GOOD, {"work": Work(warm_C=110)}, "warm it binds with the pinion"),
        (GOOD, {"work": Work(torque_Nmm=200)}, "the work asks 200.0 N·mm"),
        (replace(GOOD, gear=Gear(25, 0.5, FINE, -0.5)), {"work": Work(moves_tape=True)}, "4.00% too slow"),
    ],
)
def test_what_speaks_against_it(offer, fields, words):
    assert any(words in reason for reason in judged(offer, **fields).against)


@pytest.mark.parametrize(("shift", "digits"), [(0.3, 2), (0.125, 4)])
def test_shafts_too_near_are_told_in_the_words_of_the_shop(shift, digits):
    """The distance without backlash: inv α_w = inv α + 2·tan α·(x1 + x2)/(z1 + z2), solved by halving."""
    angle, low, high = math.radians(20), math.radians(20), math.radians(30)
    wanted = math.tan(angle) - angle + 2 * math.tan(angle) * shift / 42
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if math.tan(middle) - middle > wanted else (middle, high)
    needed = 0.25 * 42 * math.cos(angle) / math.cos(low)
    (reason,) = judged(replace(GOOD, gear=replace(GEAR, shift=shift))).against
    apart = f"{needed:.{digits}f} mm from shaft to shaft, there are {10.56:.{digits}f} mm"
    assert reason == f"with the pinion the teeth bind: it would need {apart}"


def test_little_metal_round_the_bore_is_a_caveat_and_too_little_a_reason():
    height = 2.7 * 0.5  # 1.1 and 1.6 modules
    for share, spoken in ((0.49, "against"), (0.51, "caveats"), (1.19, "caveats"), (1.21, None)):
        bore = GEAR.root_mm - 2 * share * height
        found = judged(replace(GOOD, bore_mm=bore), seat=Seat(bore))
        assert [name for name in ("against", "caveats") if getattr(found, name)] == [spoken] * bool(spoken)


def test_a_metal_gear_between_plastic_plates_binds_in_the_cold():
    work = Work(cold_C=-40, warm_C=20, plate="acetal")
    found = judged(
        replace(GOOD, made_of="brass"),
        given=lost([replace(PINION, material="brass", centre_mm=10.52)], work=work),
    )
    assert any("cold it binds" in reason for reason in found.against)


def test_backlash_cold_and_warm_is_that_of_the_grown_gears():
    (met,) = judged(work=Work(cold_C=-10, warm_C=60)).meshes
    for state, at in ((met.cold, -10), (met.warm, 60)):
        grown, plate = 1 + 106.5e-6 * (at - 20), 1 + 11.7e-6 * (at - 20)
        # both gears grow alike: the mesh is the old one at another distance, seen in larger millimetres
        centre = 10.56 * plate / grown
        base = 0.25 * 42 * math.cos(math.radians(20))
        alpha = math.acos(base / centre)
        involutes = (math.tan(alpha) - alpha) - (math.tan(math.radians(20)) - math.radians(20))
        backlash = 2 * centre * involutes * grown
        assert state.backlash_mm == pytest.approx(backlash, abs=2e-5)
    assert met.least_mm == met.warm.least_mm < met.cold.least_mm == pytest.approx(met.most_mm)


def test_a_distance_that_may_be_smaller_is_a_caveat():
    """Warm it has 0.022 mm left; shafts 0.05 mm closer take 2 · 0.05 · tan 20° = 0.036 mm of it."""
    caveats = [judged(mates=[replace(PINION, off_mm=off)]).caveats for off in (0.02, 0.05)]
    assert judged().meshes[0].least_mm == pytest.approx(0.022, abs=0.002)
    assert caveats[0] == () and "if the shafts are only 10.51 mm apart" in caveats[1][0]


def test_a_distance_that_may_be_larger_is_a_caveat():
    """18 and 24 teeth of module 0.3, the larger shifted by 0.4: in touch at 6.45 mm, 0.2 mm further not."""
    gears = [Gear(24, 0.3, FINE, 0.4), Gear(18, 0.3, FINE)]
    pair = mesh(*gears, 6.45)
    still = warmed(pair, (0.0,) * 3, (0.0,) * 3)
    for off, told in ((0.1, False), (0.2, True)):
        met = MateFound(Mate("pinion", 18, 6.45, True, off_mm=off), pair, still, still)
        assert any("loses touch" in one for one in _if_the_shafts_are_off(met)) == told
    # 150 K warmer the plate takes the shafts 0.145 mm apart, nearly as much
    hot = warmed(pair, (0.0, 0.0, 150.0), (0.0, 0.0, 15e-5))
    met = MateFound(Mate("pinion", 18, 6.45, True, off_mm=0.1), pair, still, hot)
    assert met.ratio >= 1 and any("loses touch" in one for one in _if_the_shafts_are_off(met))


def test_tip_room_and_contact_ratio_are_the_least_of_cold_and_warm():
    """Both gears of acetal grow alike, so that warm it is the same mesh at another distance, enlarged."""
    (met,) = judged(work=Work(cold_C=-10, warm_C=60)).meshes
    for state, at in ((met.cold, -10), (met.warm, 60)):
        grown, plate = 1 + 106.5e-6 * (at - 20), 1 + 11.7e-6 * (at - 20)
        centre = 10.56 * plate / grown
        room = centre - (24 + 2.2) * 0.25 - (18 - 3.2) * 0.25  # tips 1.1 modules out, roots 1.6 in
        assert min(state.clearance_mm) == pytest.approx(room * grown, abs=1e-4)
        seen = mesh(GEAR, Gear(18, 0.5, FINE), centre) if at < 20 else None
        radii = [(0.25 * z * math.cos(math.radians(20)), 0.25 * (z + 2.2)) for z in (24, 18)]
        reach = sum(math.sqrt(tip**2 - base**2) for base, tip in radii)
        length = reach - math.sqrt(centre**2 - sum(base for base, _ in radii) ** 2)
        blind = length / (math.pi * 0.5 * math.cos(math.radians(20)))
        assert state.ratio <= blind + 1e-9  # less where contact would leave the involute
        assert seen is None or state.ratio == pytest.approx(contact(seen).ratio, abs=1e-6)
    assert met.ratio == met.cold.ratio < met.warm.ratio
    assert met.clearance_mm == min(met.warm.clearance_mm) < min(met.cold.clearance_mm)
    cold, warm = (min(state.clearance_mm) for state in (met.cold, met.warm))
    assert f"from tip to root {cold:.3f} mm cold, {warm:.3f} mm warm" in met.sentence()
    assert f"contact ratio at least {met.ratio:.2f}" in met.sentence()


def test_teeth_that_lose_touch_only_cold_or_warm_are_refused_with_the_words():
    """Brass gears between nylon plates, which take the shafts apart: in touch at 20 degrees only."""
    size = known_size(0.3, FINE, 0.4)
    at = Mate("pinion", 18, 6.575, True, off_mm=0.0, material="brass")
    given = Case(24, (size,), (at,), Seat(1.0), Work(warm_C=150, plate="nylon"), made_of="brass")
    found = judge_offer(given, given.possible[0], Offer(Gear(24, 0.3, FINE, 0.4), 1.0, 2.0, 0.0, "brass"))
    (met,) = found.meshes
    assert contact(met.mesh).ratio >= 1 > met.warm.ratio == met.ratio
    assert found.against == (f"with the pinion teeth lose touch warm: contact ratio {met.ratio:.2f}",)


def test_tips_are_cut_for_the_nearest_that_the_shafts_may_stand():
    """Tips 0.065 mm from a root at 10.56 mm, where 0.05 are enough: shafts 0.05 mm nearer they aren't."""
    tall = Gear(24, 0.5, ISO_53_A, 0.0, 2 * (10.56 - 0.065 - 7.75 / 2) - 13)
    sized = Case(24, (known_size(0.5, ISO_53_A),), (replace(PINION, off_mm=0.05),), Seat(2.0))
    assert tall.tip_mm / 2 + Gear(18, 0.5, ISO_53_A).root_mm / 2 == pytest.approx(10.56 - 0.065)
    found = judged(replace(GOOD, gear=tall), given=sized)
    assert "turn its outside down" in found.to_do[0]
    assert judged(replace(GOOD, gear=tall), given=Case(24, sized.sizes, (PINION,), Seat(2.0))).to_do == ()


def test_a_root_that_is_reached_with_the_shafts_nearest_is_a_caveat():
    pair = mesh(Gear(24, 0.5, ISO_53_A, 0.0, 0.4), Gear(18, 0.5, ISO_53_A), 10.7)
    still = warmed(pair, (0.0,) * 3, (0.0,) * 3)
    gap = min(still.clearance_mm)
    assert 0 < gap < still.least_mm / (2 * math.tan(math.radians(pair.working_angle_deg)))
    for off, told in ((gap - 0.01, False), (gap + 0.01, True)):
        met = MateFound(Mate("pinion", 18, 10.7, True, off_mm=off), pair, still, still)
        assert any("binds with the pinion" in one for one in _if_the_shafts_are_off(met)) == told


def test_gears_that_grow_beyond_their_shafts_are_refused_with_the_reason():
    """20 teeth shifted by −0.4 and 30, of 14.5° and nylon: at 150 °C the base circles have no room."""
    size = known_size(1.0, FULL_DEPTH_14_5, -0.4)
    at = Mate("wheel", 30, 24.55, True, material="nylon")
    given = Case(20, (size,), (at,), Seat(4.0), Work(warm_C=150), made_of="nylon")
    found = judge_offer(given, given.possible[0], Offer(given.possible[0].gear, 4, 5, 0, "nylon"))
    assert found.meshes == () and any("with the wheel, warm, the centre" in one for one in found.against)


def test_slack_is_told_in_mm():
    found = judged(mates=[replace(PINION, centre_mm=10.75)])
    assert any(one.startswith("it is slack: 0.2") for one in found.caveats)


def test_high_tips_are_cut_short_until_they_clear_the_root():
    tall = replace(GEAR, rack=ISO_53_A, tip_alteration=0.45)
    sized = Case(24, (known_size(0.5, ISO_53_A),), (PINION,), Seat(2.0))
    found = judged(replace(GOOD, gear=tall), given=sized)
    assert "turn its outside down from 13.45 to" in found.to_do[0]
    gap = 10.55 - found.offer.gear.tip_mm / 2 - Gear(18, 0.5, ISO_53_A).root_mm / 2
    assert gap == pytest.approx(0.1 * 0.5) and found.meshes


def test_tips_that_cant_be_cut_so_short_are_told_where_nothing_else_speaks_against_it(monkeypatch):
    """They stand over 2 modules too high here only with a clearance that nobody asks for."""
    wide = replace(GOOD, gear=Gear(30, 0.5, FINE))
    (reason,) = judged(wide, seat=Seat(2.0)).against
    assert reason.startswith("with the pinion the teeth bind: ")
    reasons = judged(wide, seat=Seat(2.0, most_outside_mm=14.0)).against
    assert [one.split(":")[0] for one in reasons] == [
        "with the pinion the teeth bind",
        "it is 16.10 mm across, there is room for 14.00 mm",
    ]
    monkeypatch.setattr("mechlib.bench.substitute_check.CLEARANCE", 3.0)
    gap = 10.55 - GEAR.tip_mm / 2 - Gear(18, 0.5, FINE).root_mm / 2
    (reason,) = judged().against
    assert reason == f"its tips are {1.5 - gap:.2f} mm too high: so much can't be turned off"


def test_undercut_is_told_only_of_a_gear_that_replaces_one_without():
    deep, stiff = known_size(0.5, FINE), known_size(0.5, ISO_53_A)
    for size, undercut in ((deep, True), (stiff, False)):
        given = Case(24, (size,), (PINION,), Seat(2.0))
        gear = Gear(24, 0.5, size.rack)
        assert gear.undercut == undercut
        assert not any("undercut" in one for one in judged(replace(GOOD, gear=gear), given=given).caveats)
    low = known_size(0.5, ISO_53_A, -0.35)
    given = Case(24, (low,), (replace(PINION, centre_mm=10.4),), Seat(2.0))
    fewer = judged(replace(GOOD, gear=Gear(24, 0.5, ISO_53_A, -0.45)), given=given)
    assert any("undercut" in one for one in fewer.caveats)


def test_the_strength_is_set_beside_that_of_the_broken_gear():
    half = judged(replace(GOOD, width_mm=1.5))
    assert half.bears == pytest.approx(0.5) and "its teeth bear 50% of" in half.caveats[0]
    wide = judged(replace(GOOD, width_mm=6.0))  # faced down to 3 mm
    assert wide.bears == pytest.approx(1.0)
    brass = judged(replace(GOOD, made_of="brass"))
    assert brass.bears == pytest.approx(40 / (5000 * 6.894757e-3))
    assert judged(width_mm=None).bears is None
    strange = judged(replace(GOOD, made_of="zinc"))
    assert strange.bears is None and "made of zinc" in strange.caveats[-1]


def test_the_safety_is_what_it_may_carry_over_what_is_asked():
    found = judged(work=Work(torque_Nmm=20))
    assert found.safety == pytest.approx(may_carry_Nmm(GEAR, 3.0, "acetal") / 20)
    assert judged().safety is None


def test_what_a_gear_may_carry_by_bending_its_drawn_tooth():
    # a cantilever from the root circle, loaded at the tip: a lower bound for Lewis' parabola, within a third
    points = outline(GEAR, 1e-3)
    near = abs(abs(points[:, 0] + 1j * points[:, 1]) - GEAR.root_mm / 2 - 0.3) < 0.02
    foot = abs(points[near & (abs(points[:, 1]) < 1)][:, 1]).min()
    arm = GEAR.tip_mm / 2 - GEAR.root_mm / 2 - 0.3
    force = 5000 * 6.894757e-3 * 3.0 * (2 * foot) ** 2 / (6 * arm)
    assert may_carry_Nmm(GEAR, 3.0, "acetal") == pytest.approx(force * 6.0, rel=0.35)


def test_the_tape_runs_off_by_the_ratio():
    effects = effects_of(lost(work=Work(moves_tape=True)), 25)
    assert effects.speed_ratio == Fraction(24, 25) and effects.tape.percent == pytest.approx(-4)
    assert effects.tape.cents == pytest.approx(1200 * math.log2(0.96))
    assert "24/25 of its speed, −4.00%" in effects.sentence()


def test_the_reel_pulls_harder_where_it_turns_slower_unless_a_clutch_slips():
    pack = Pack(11, 22, 0.018)
    for clutch, torque in ((False, 5.5 * 25 / 24), (True, 5.5)):
        work = Work(reel=pack, reel_torque_Nmm=5.5, clutch_after=clutch)
        before, after = effects_of(lost(work=work), 25).reel
        assert (before.torque_Nmm, before.empty_N) == (5.5, 0.5)
        assert after.torque_Nmm == pytest.approx(torque) and after.full_N == pytest.approx(torque / 22)
        said = effects_of(lost(work=work), 25).sentence()
        assert said.endswith(
            f"At the reel {after.sentence()} Before it was 5.5 N·mm, with 0.50 N and 0.25 N."
        )


def timed(mesh, side, teeth, centre=16.06):
    given = Case(
        teeth, (known_size(0.5, FINE),), (Mate("other", 40, centre, True),), Seat(3.0),
        Work(transport=load("alder"), mesh=mesh, side=side),
    )  # fmt: skip
    return given, lambda z: judged(
        Offer(Gear(z, 0.5, FINE, -0.6 * (z > teeth)), 3, 3, 0, "acetal"), given=given
    )


def test_at_a_timed_mesh_only_the_same_count_will_do():
    given, look = timed("mode switch", "driven", 72, 28.12)
    assert look(72).against == () and MARK_IT in look(72).to_do
    assert MARK_IT not in look(73).to_do
    reasons = look(73).against
    assert any("meshed on marks and needs 72 teeth exactly" in reason for reason in reasons)
    assert effects_of(given, 73).machine.timed


def test_a_whole_gear_for_a_sector_must_be_cut_down():
    _, look = timed("idler cam", "driven", 60, 25.12)
    assert look(60).against == () and look(60).to_do[-2:] == (CUT_DOWN, MARK_IT)
    assert CUT_DOWN not in timed("mode switch", "driven", 72, 28.12)[1](72).to_do


def test_upstream_another_count_is_judged_by_the_mode_changes():
    given, look = timed("worm wheel", "driven", 24)
    effects = effects_of(given, 25)
    assert look(24).against == () and MARK_IT not in look(24).to_do
    assert not effects.none and effects.machine.failing == ()
    assert "the chart stays and the speed changes" in effects.sentence()


def test_a_machine_that_cannot_be_is_a_reason_against():
    work = Work(transport=load("birch"), mesh="lever cam")
    given = Case(60, (known_size(0.5, FINE),), (Mate("main gear", 60, 30.06, True),), Seat(3.0), work)
    found = judged(Offer(Gear(61, 0.5, FINE, -0.6), 3, 3, 0, "acetal"), given=given)
    assert any("out of step" in reason for reason in found.against)
