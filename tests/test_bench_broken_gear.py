"""What the gear was: which sizes its shafts allow, by brute force too, and what another count does."""

from fractions import Fraction

import pytest

from mechlib.bench.broken_gear import Case, Mate, Seat, Work, broken_gear, known_size
from mechlib.bench.measured_gear import racks_of
from mechlib.drives.reels import Pack
from mechlib.errors import MechError
from mechlib.gears.racks import FINE, ISO_53_A, BasicRack
from mechlib.gears.spur import Gear
from mechlib.gears.spur_mesh import mesh, tight_centre_mm
from mechlib.gears.unknown_gear import OUTSIDE, Candidate, Reading, Size, identify
from mechlib.transports import load

SEAT = Seat(2.0)
PINION = Mate("pinion", 18, 10.56, True)


def lost(*mates, sizes=None, teeth=24, work=None, **fields) -> Case:
    sizes = (known_size(0.5, FINE),) if sizes is None else sizes
    return Case(teeth, sizes, mates or (PINION,), SEAT, work or Work(), **fields)


def test_the_distance_tells_48_DP_from_module_half():
    found = identify(24, [Reading(OUTSIDE, 13.1, 0.4)], [FINE])
    assert {"module 0.5", "48 DP"} <= {one.size.name for one in found.candidates}
    for centre, size in ((10.56, "module 0.5"), (21 * 25.4 / 48 + 0.05, "48 DP")):
        given = broken_gear(found, [Mate("pinion", 18, centre, True)], SEAT)
        names = [one.candidate.size.name for one in given.possible]
        assert size in names and len({"module 0.5", "48 DP"} & set(names)) == 1


def test_the_sizes_ruled_out_are_told():
    sizes = (known_size(0.5, FINE), known_size(25.4 / 48, FINE, name="48 DP"), known_size(0.4, FINE))
    said = lost(sizes=sizes).sentence()
    assert "taken to be cut alike" in said
    assert "rule out 48 DP (fine mechanics): its teeth would bind; module 0.4 (fine mechanics): its" in said
    assert said.startswith(
        "A gear of 24 teeth is missing beside the pinion (18 teeth); it is taken to have been module 0.5 "
        "with a pressure angle of 20.0° (fine mechanics) and no profile shift. Its mate is"
    )
    shifted = lost(sizes=[known_size(0.5, FINE, -0.1)]).sentence()
    assert "(fine mechanics) and a profile shift of −0.10. Its" in shifted
    none = lost(sizes=sizes[1:])
    assert none.possible == () and "no size fits" in none.sentence()


def test_of_two_racks_of_one_size_the_one_ruled_out_is_named():
    found = identify(24, [Reading(OUTSIDE, 13.1, 0.05)], racks_of("20°, usual or fine teeth"))
    said = broken_gear(found, [Mate("pinion", 18, 10.45, True)], SEAT).sentence()
    assert "; it most likely was module 0.5 with a pressure angle of 20.0° (fine mechanics)" in said
    assert "rule out module 0.5 (ISO 53 A): its teeth would bind; fine pitch 48 DP: its teeth would" in said


def test_whole_numbers_of_any_kind_count_teeth():
    assert Mate("pinion", 18.0, 10.56, True) == Mate("pinion", 18, 10.56, True)
    assert type(Mate("pinion", 18.0, 10.56, True).teeth) is int
    case = Case(24.0, (known_size(0.5, FINE),), (Mate("pinion", 18, 10.54, True),), Seat(2.0))
    assert case.speed_ratio(25) == Fraction(24, 25)


@pytest.mark.parametrize("centre", [10.40, 10.45, 10.5, 10.6, 10.75])
@pytest.mark.parametrize("off", [0.0, 0.05])
def test_the_shift_is_the_one_nearest_to_none_that_does_not_bind(centre, off):
    size = Candidate(Size("module 0.5", 0.5), FINE, -0.4, 0.4)
    mate = Mate("pinion", 18, centre, True, off_mm=off)
    (found,) = lost(mate, sizes=(size,)).possible
    other = Gear(18, 0.5, FINE)

    def runs(shift):
        try:
            mesh(Gear(24, 0.5, FINE, shift, -0.2), other, centre + off)
        except MechError:
            return False
        return True

    tried = [step / 1000 for step in range(0, -401, -1)]
    assert found.gear.shift == pytest.approx(next(shift for shift in tried if runs(shift)), abs=1.01e-3)


def test_tips_that_would_dig_into_a_root_are_taken_as_cut_short():
    rack = BasicRack("little clearance", 20, 1.0, 1.05, 0.1, "invented")
    for module in (0.5, 2.0):
        own, mate = Gear(24, module, rack, 0.6), Gear(30, module, rack, 0.8)
        tight = tight_centre_mm(own, mate)
        near, far = tight + 0.001, tight + 0.05 * module
        mates = tuple(Mate(f"at {at}", 30, at, True, 0.8, off_mm=0) for at in (far, near))
        size = known_size(module, rack, 0.6)
        (found,) = Case(24, (size,), mates, Seat(1.0)).possible
        # the nearer mate's root: its tip comes just to it
        assert found.gear.tip_mm / 2 == pytest.approx(near - (15 - 1.05 + 0.8) * module)
        assert found.gear.tip_alteration < 0 and found.gear.shift == pytest.approx(0.6)
        for made, at in zip(found.mates, (far, near), strict=True):
            assert made.tip_mm / 2 == pytest.approx(at - (12 - 1.05 + 0.6) * module)


def test_with_two_mates_the_nearer_one_rules():
    wide, near = Mate("reel gear", 30, 13.7, False), Mate("pinion", 18, 10.45, True, off_mm=0)
    size = Candidate(Size("module 0.5", 0.5), FINE, -0.5, 0.5)
    both, alone = (lost(*mates, sizes=(size,)).possible[0].gear for mates in ((wide, near), (near,)))
    assert both.shift == alone.shift < 0


def test_the_speed_goes_by_which_side_drives():
    after = Mate("capstan gear", 30, 13.56, False)
    assert lost(PINION).speed_ratio(25) == Fraction(24, 25)
    assert lost(after).speed_ratio(25) == Fraction(25, 24)
    idler = lost(PINION, after)
    assert idler.idler and idler.speed_ratio(25) == 1
    assert not lost(PINION).idler


def test_work_at_a_timed_mesh_is_known_from_the_machine():
    alder = load("alder")
    assert Work(transport=alder, mesh="mode switch").timed
    assert not Work(transport=alder, mesh="worm wheel").timed and not Work().timed
    cedar = load("cedar")  # the cam pinion's wheel is the main gear, with which timed parts mesh
    assert [Work(transport=cedar, mesh="cam pinion", side=side).timed for side in ("driver", "driven")] == [
        False,
        True,
    ]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: lost(sizes=()), "no sizes"),
        (lambda: Case(24, (known_size(0.5, FINE),), (), SEAT), "no mates"),
        (lambda: lost(teeth=5), "teeth is 5"),
        (lambda: lost(width_mm=0), "width_mm"),
        (lambda: lost(made_of="cheese"), "material is 'cheese'"),
        (lambda: Mate("pinion", 18, -1, True), "centre_mm"),
        (lambda: Mate("pinion", 2, 10, True), "teeth of the pinion"),
        (lambda: Mate("pinion", 18, 10, True, off_mm=2), "off_mm"),
        (lambda: Mate("pinion", 18, 10, True, material="wax"), "material"),
        (lambda: Seat(0), "shaft_mm"),
        (lambda: Seat(2, most_hub_mm=float("nan")), "most_hub_mm"),
        (lambda: Work(torque_Nmm=-1), "torque_Nmm"),
        (lambda: Work(cold_C=30, warm_C=20), "warm_C"),
        (lambda: Work(plate="air"), "material"),
        (lambda: Work(reel=Pack(11, 22, 0.018)), "both or neither"),
        (lambda: Work(transport=load("alder"), mesh="nothing"), "no mesh"),
        (lambda: lost(work=Work(transport=load("alder"), mesh="mode switch")), "has 72"),
        (lambda: known_size(0, FINE), "module_mm"),
        (lambda: broken_gear(identify(24, [Reading(OUTSIDE, 400, 0.1)], [FINE]), [PINION], SEAT), "no sizes"),
    ],
)
def test_bad_cases_are_refused(call, words):
    with pytest.raises(MechError, match=words):
        call()


def test_a_size_that_is_known_has_its_shift_alone():
    size = known_size(1.5875, ISO_53_A, 0.2, "16 DP")
    assert (size.size.name, size.low, size.high, size.shift) == ("16 DP", 0.2, 0.2, 0.2)
