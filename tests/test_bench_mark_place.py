"""The mark of a new gear, beside every tooth tried and gears turned here, and what the leftover does."""

import math

import pytest

from mechlib.bench.mark_place import mark_place, ring_at
from mechlib.bench.other_teeth import DRIVEN, DRIVER
from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.change_table import change_table
from mechlib.transports.faults import slip, split_gear

ALDER, CEDAR, BIRCH = load("alder"), load("cedar"), load("birch")


def failing(machine) -> list:
    return sorted(pair for pair, cell in change_table(machine).items() if not cell.change.good)


@pytest.mark.parametrize(("mark", "first"), [(91.7, 1.2), (0.0, 2.0), (359.0, 4.9), (180.0, 2.6), (2.5, 0.1)])
def test_the_mark_goes_to_the_nearest_tooth(mark, first):
    found = mark_place(ALDER, "mode switch", mark, first)
    teeth = [(first + 5 * at) % 360 for at in range(72)]  # where every tooth of the new gear stands
    gaps = [(mark - angle + 180) % 360 - 180 for angle in teeth]
    nearest = min(range(72), key=lambda at: abs(gaps[at]))
    assert found.tooth == nearest + 1 and found.moved == ("mode switch",)
    assert found.off == pytest.approx(gaps[nearest])
    assert found.off_cam_deg == pytest.approx(gaps[nearest] / (80 / 72))  # 80 teeth drive 72
    assert abs(found.off) <= 2.5 + 1e-9


def test_a_mark_between_two_teeth_can_cost_mode_changes():
    found = mark_place(ALDER, "mode switch", 92.4, 0.0)
    turned = ALDER.with_faults(split_gear("mode switch", found.off_cam_deg))
    assert sorted(found.failing) == failing(turned)
    assert found.off == pytest.approx(2.4) and "ahead" in found.sentence()
    behind = mark_place(ALDER, "mode switch", 92.6, 0.0)
    assert behind.tooth == found.tooth + 1 and "behind" in behind.sentence()


@pytest.mark.parametrize("share", [0.46, 0.54])
def test_what_a_drivers_leftover_spoils_is_found_and_told(share):
    """Cedar's drawer gear, 24 teeth: nearly half a tooth off, so that its rack no longer does."""
    found = mark_place(CEDAR, "drawer rack", (5 + share) * 15, 0, DRIVER)
    turned = CEDAR.with_faults(split_gear("drawer rack", found.off_cam_deg))
    assert sorted(found.failing) == failing(turned) != []
    assert found.off == pytest.approx((round(share) - share) * 15)
    assert f"{len(found.failing)} mode changes would fail: turn the gear on its shaft" in found.sentence()
    rack = mark_place(CEDAR, "drawer rack", (5 + share) * math.pi, 0, module_mm=1)
    assert rack.off_cam_deg == pytest.approx(-found.off_cam_deg)
    assert "mode changes would fail: have one cut that stands right instead" in rack.sentence()


def ahead_deg(driver_teeth: int, driven_teeth: int, mark: float, new_mark: float, new_is_driver: bool):
    """By how much a driven gear ends up ahead in its own degrees, both gears turned step by step.

    The driver's loading sense is counted positive, the driven gear turns the other way.  Teeth are labelled
    by their angle from the flat; at the mesh (angle 0 for the driver, 180 for the other) the marks meet.
    """
    driver = -(new_mark if new_is_driver else mark)  # the flat, with the mark at the mesh
    driven = 180 + (mark if new_is_driver else new_mark)  # its loading sense is backwards
    turn = -mark - driver  # on to where the sound driver stands at that moment
    driven -= turn * driver_teeth / driven_teeth
    return (180 + mark) - driven  # further on in its own loading sense than the sound one


@pytest.mark.parametrize(("mark", "first"), [(91.7, 1.2), (33.0, 3.9), (203.0, 0.0)])
def test_a_mark_too_far_on_puts_a_driven_gear_behind_and_a_driver_its_mate_ahead(mark, first):
    own = mark_place(ALDER, "carriage gear", mark, first)
    new = first + (own.tooth - 1) * 360 / 40
    assert own.off == pytest.approx(ahead_deg(54, 40, mark, new, False))
    driver = mark_place(ALDER, "carriage gear", mark, first, DRIVER)
    new = first + (driver.tooth - 1) * 360 / 54
    assert driver.off * 54 / 40 == pytest.approx(ahead_deg(54, 40, mark, new, True))
    assert driver.off_cam_deg == pytest.approx(driver.off / abs(ALDER.roots[1].speed))
    assert driver.moved == ("carriage gear",)
    told = driver.sentence()
    assert "stands just where" in told or f"{abs(driver.off):.1f}° of the transfer ring" in told
    assert "of the transfer ring" not in own.sentence()


def test_a_whole_tooth_of_a_driver_would_be_a_slip_of_what_hangs_on_it():
    """The pitch in which the leftover is counted is that by which a slip of one tooth shifts the rows."""
    slipped = ALDER.with_faults(slip("mode switch", 1)).advance_deg["mode switch"]
    assert ring_at(ALDER, "mode switch", DRIVER).pitch_cam_deg == pytest.approx(slipped)
    slipped = CEDAR.with_faults(slip("rocker gear", 1)).advance_deg["rocker gear"]
    assert ring_at(CEDAR, "rocker gear", DRIVER).pitch_cam_deg == pytest.approx(slipped)


def test_every_part_of_a_drivers_row_stands_off_with_all_that_hangs_on_it():
    """Mode switch and loading gear mesh with 80 teeth of Alder's main gear, the brake cam with 60 others."""
    found = mark_place(ALDER, "mode switch", 32.3, 1.0, DRIVER)  # teeth at 1 + 4.5·n: 32.5
    assert (found.tooth, found.moved) == (8, ("mode switch", "loading gear"))
    assert found.off == found.off_cam_deg == pytest.approx(0.2)
    assert found.ring.mates == ("loading gear",) and found.ring.others == (60,)
    far = mark_place(ALDER, "mode switch", 30.3, 1.0, DRIVER)  # 2.2 degrees from the nearest
    turned = ALDER.with_faults(*(split_gear(part, far.off_cam_deg) for part in far.moved))
    assert far.off_cam_deg == pytest.approx(-2.2 if far.tooth == 7 else 2.2)
    assert sorted(far.failing) == failing(turned)
    assert turned.advance_deg["pinch cam"] == pytest.approx(far.off_cam_deg)  # it hangs on the loading gear
    told = found.sentence()
    assert "the mode switch and the loading gear then stand 0.2° of the main gear ahead" in told
    assert "Count its mark for the loading gear from this one" in told and "its row of 60 teeth" in told


@pytest.mark.parametrize(("mesh", "side"), [("brake cam", DRIVEN), ("idler cam", DRIVER)])
def test_one_row_between_two_mates_leaves_the_next_part_right(mesh, side):
    """The brake cam's 50 teeth mesh with the main gear and with the idler cam: only the cam itself is off."""
    found = mark_place(ALDER, mesh, 33.0, 1.0, side)  # teeth at 1 + 7.2·n: the nearest at 29.8, 3.2 short
    assert (found.tooth, found.moved) == (5, ("brake cam",)) and found.off == pytest.approx(3.2)
    cam = 3.2 / (60 / 50)
    assert found.off_cam_deg == pytest.approx(cam)
    turned = ALDER.with_faults(split_gear("brake cam", cam), split_gear("idler cam", -cam))
    assert turned.advance_deg["idler cam"] == pytest.approx(0) and sorted(found.failing) == failing(turned)
    assert "so that the idler cam stands right" in found.sentence()


def test_a_main_gear_is_marked_from_the_mesh_that_drives_it_too():
    found = mark_place(CEDAR, "cam pinion", 31.7, 1.0)
    assert found == mark_place(CEDAR, "brake gear", 31.7, 1.0, DRIVER)
    assert found.moved == ("brake gear",) and found.ring.others == (30, 45)


def test_a_sector_is_counted_from_its_first_tooth_and_not_round():
    found = mark_place(ALDER, "idler cam", 75.5, 40.0)  # of 60 teeth all round: six degrees each
    assert (found.tooth, found.moved) == (7, ("idler cam",)) and found.off == pytest.approx(-0.5)
    assert "counted from its first tooth" in found.sentence()
    assert mark_place(ALDER, "idler cam", 39.0, 40.0).tooth == 1  # the end tooth itself
    with pytest.raises(MechError, match="mark is 20 °: the new idler cam has its first tooth at 40 only"):
        mark_place(ALDER, "idler cam", 20.0, 40.0)


def test_a_rack_is_measured_in_mm_and_its_pitch_is_that_of_its_module():
    pitch = 0.8 * math.pi
    found = mark_place(CEDAR, "drawer rack", 3.0 + 4.25 * pitch, 3.0, module_mm=0.8)
    assert found.tooth == 5 and found.off == pytest.approx(0.25 * pitch)
    one = CEDAR.with_faults(slip("drawer rack", 1)).advance_deg["drawer rack"]
    assert found.off_cam_deg == pytest.approx(one / 4)
    assert "the drawer rack then stands 0.63 mm ahead" in found.sentence()
    # the drawer goes 72.256631 mm in 138 degrees: so far it goes in those degrees of the main cam
    drawer_mm = 72.256631 / 138 * one / 4
    module = drawer_mm * 4 / math.pi
    again = mark_place(CEDAR, "drawer rack", 3.0 + 4.25 * math.pi * module, 3.0, module_mm=module)
    assert again.off == pytest.approx(drawer_mm)
    with pytest.raises(MechError, match="the drawer rack is a rack: the file doesn't say its pitch"):
        mark_place(CEDAR, "drawer rack", 20, 3)
    with pytest.raises(MechError, match="has its first tooth at 9 only"):
        mark_place(CEDAR, "drawer rack", 3, 9, module_mm=0.8)


def test_what_is_to_be_measured_is_told_for_each_kind():
    for transport, mesh, side, words in (
        (ALDER, "carriage gear", DRIVEN, "old carriage gear from its flat, key or pin"),
        (ALDER, "carriage gear", DRIVER, "old transfer ring from its flat, key or pin"),
        (ALDER, "mode switch", DRIVER, "main gear, in its row of 80 teeth, from"),
        (ALDER, "mode switch", DRIVER, "tooth that is marked for the mode switch"),
        (ALDER, "idler cam", DRIVEN, "or an edge that both have"),
        (CEDAR, "drawer rack", DRIVEN, "both along it, the way it goes when loading, in mm"),
        (BIRCH, "lever cam", DRIVER, "marked for the lever cam"),
    ):
        assert words in ring_at(transport, mesh, side).sentence()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: mark_place(ALDER, "no such", 0, 0), "no mesh is called 'no such'"),
        (lambda: mark_place(ALDER, "mode switch", 0, 0, "left"), "side is 'left'"),
        (
            lambda: mark_place(ALDER, "worm wheel", 0, 0),
            "no mark stands on the driven gear of the worm wheel",
        ),
        (lambda: mark_place(CEDAR, "cam pinion", 0, 0, DRIVER), "no mark stands on the driver"),
        (lambda: mark_place(ALDER, "mode switch", 361, 0), "mark is 361"),
        (lambda: mark_place(ALDER, "mode switch", 10, 5.1), "first_tooth is 5.1"),
        (lambda: mark_place(ALDER, "mode switch", 10, 4.6, DRIVER), "first_tooth is 4.6"),
        (lambda: mark_place(CEDAR, "drawer rack", 501, 0, module_mm=0.8), "mark is 501"),
        (lambda: mark_place(CEDAR, "drawer rack", 5, 0, module_mm=0), "module_mm is 0"),
    ],
)
def test_what_cannot_be_is_refused(call, words):
    with pytest.raises(MechError, match=words):
        call()
