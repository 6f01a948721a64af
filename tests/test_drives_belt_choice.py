"""Which belt to order, against trying sizes one after the other."""

from __future__ import annotations

import math

import numpy as np
import pytest
from edges import check_edges
from hypothesis import given, settings
from hypothesis import strategies as st
from share import times

from mechlib.drives.belt_choice import DECK_STRETCH, O_RING_STRETCH, choose_belt, wanted_size
from mechlib.drives.belt_grip import Belt, BeltDrive, Pulley
from mechlib.errors import MechError


def drive(inside=250.0, thick=1.2, **more):
    return BeltDrive(Pulley(10.8), Pulley(58.8), 80, Belt("square", inside, thick, thick, **more))


@settings(max_examples=times(5, 30))
@given(st.floats(0.6, 3), st.floats(1, 8), st.floats(0, 8))
def test_wanted_size_is_found_by_trying(thick, low, more):
    high = low + more
    found = wanted_size(drive(thick=thick), (low, high))
    for inside, stretch in (
        (found.inside_mm, (low + high) / 2),
        (found.smallest_mm, high),
        (found.largest_mm, low),
    ):
        assert drive(inside, thick).stretch_percent == pytest.approx(stretch, abs=1e-9)
    sizes = np.arange(200, 290, 0.5)
    fit = [size for size in sizes if low <= drive(size, thick).stretch_percent <= high]
    if fit:
        assert found.smallest_mm <= min(fit) <= found.smallest_mm + 0.5
        assert found.largest_mm - 0.5 <= max(fit) <= found.largest_mm


def test_wanted_size_in_words():
    """Path 280.3529 mm; at 7.5 % it is 260.7934 mm of belt, 257.0234 mm round inside."""
    found = wanted_size(drive())
    assert DECK_STRETCH == (5, 10) and O_RING_STRETCH == (8, 12)
    assert found.inside_mm == pytest.approx(280.352855 / 1.075 - 1.2 * math.pi)
    assert found.sentence() == (
        "Order a belt of 257.0 mm round inside (81.8 mm across, 128.5 mm folded flat); "
        "251.1 to 263.2 mm will do."
    )


STOCK = {
    "long": Belt("square", 264, 1.2, 1.2),
    "good": Belt("square", 258, 1.2, 1.2),
    "better": Belt("square", 257, 1.2, 1.2),
    "short": Belt("square", 250, 1.2, 1.2),
    "loose": Belt("square", 290, 1.2, 1.2),
    "thick": Belt("square", 256, 2.0, 2.0),
    "glazed": Belt("square", 257.5, 1.2, 1.2, friction=0.05),
}


def test_a_stock_list_is_put_in_order():
    found = choose_belt(drive(), STOCK, torque_Nmm=10)
    assert [one.name for one in found[:2]] == ["better", "good"]
    assert [one.name for one in found if one.fits] == ["better", "good"]
    assert found[-1].name == "loose" and len(found) == len(STOCK)
    faults = {one.name: one.faults for one in found}
    assert faults["long"] == ("4.7% of stretch is too little",)
    assert faults["short"] == ("10.5% of stretch is too much",)
    assert faults["loose"] == ("it hangs loose", "it slips before 10.0 N·mm")
    assert faults["glazed"] == ("it slips before 10.0 N·mm",)
    speed = 100 * (12.8 / 60.8 / 0.2 - 1)
    assert faults["thick"] == (f"its thickness changes the speed by +{speed:.1f}%",)
    assert {one.name: one.speed_percent for one in found}["thick"] == pytest.approx(speed)
    assert [abs(one.drive.stretch_percent - 7.5) for one in found[2:6]] == sorted(
        abs(one.drive.stretch_percent - 7.5) for one in found[2:6]
    )


def test_a_belt_hardly_stretched_is_not_called_loose():
    size = wanted_size(drive(), (0.5, 0.5)).inside_mm
    found = choose_belt(drive(), {"long": Belt("square", size, 1.2, 1.2)})[0]
    assert found.faults == ("0.5% of stretch is too little",)


def test_edges_are_let_in_and_no_torque_is_asked_unless_given():
    exact = wanted_size(drive(), (6, 6)).inside_mm
    stretch = drive(exact).stretch_percent
    one = {"a": Belt("square", exact, 1.2, 1.2)}
    assert choose_belt(drive(), one, (stretch, stretch))[0].fits
    slip = drive(exact).slip_torque_driven_Nmm
    assert choose_belt(drive(), one, torque_Nmm=slip)[0].fits
    assert not choose_belt(drive(), one, torque_Nmm=slip * 1.0001)[0].fits
    slippery = choose_belt(drive(), {"oily": Belt("square", 257, 1.2, 1.2, friction=0.01)})[0]
    assert slippery.fits and slippery.drive.slip_torque_driven_Nmm < 1


@pytest.mark.parametrize(
    "thick, fits", [(1.22, True), (1.35, True), (1.36, False), (1.06, True), (1.05, False)]
)
def test_another_thickness_may_change_the_speed_by_one_percent(thick, fits):
    """(10.8 + t)/(58.8 + t) is 1 % above 0.2 at t = 1.3504, and 1 % below at t = 1.0504."""
    size = wanted_size(drive(thick=thick)).inside_mm
    found = choose_belt(drive(), {"x": Belt("square", size, thick, thick)})[0]
    assert found.fits == fits


def test_in_words():
    found = choose_belt(drive(), {"A": STOCK["short"]}, torque_Nmm=500)[0]
    slip = drive(250).slip_torque_driven_Nmm
    assert found.sentence() == (
        "A doesn't fit (10.5% of stretch is too much and it slips before 500.0 N·mm): stretch 10.5%, "
        f"slips at {slip:.1f} N·mm, speed 0.00%."
    )
    assert choose_belt(drive(), {"B": STOCK["good"]})[0].sentence().startswith("B fits: stretch 7.1%, slips")


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: wanted_size(drive(), (0, 5)), "stretch in % is 0%"),
        (lambda: wanted_size(drive(), (5, 61)), "stretch in % is 61%"),
        (lambda: wanted_size(drive(), (10, 5)), "stretch from 10 to 5 %: write the smaller number first"),
        (lambda: choose_belt(drive(), {}), "the stock list is empty"),
        (lambda: choose_belt(drive(), STOCK, torque_Nmm=-1), "torque_Nmm is -1"),
        (lambda: choose_belt(drive(), STOCK, (10, 5)), "write the smaller number first"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: wanted_size(drive(), (x, x)), 0.1, 60),
        (lambda x: choose_belt(drive(), STOCK, torque_Nmm=x), 0, 1e6),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)


def test_a_belt_too_thick_to_go_between_the_pulleys_is_left_out():
    drive = BeltDrive(Pulley(5), Pulley(72), 39.0, Belt("square", 180, 0.4, 0.4))
    stock = {"thin": Belt("square", 170, 0.4, 0.4), "thick": Belt("square", 170, 1.2, 1.2)}
    assert [one.name for one in choose_belt(drive, stock)] == ["thin"]
