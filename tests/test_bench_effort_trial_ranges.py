"""A mode change tried against its motor: what can't be tried, what may be chosen, which lever is heaviest."""

from __future__ import annotations

from dataclasses import replace

import pytest
from edges import check_edges
from small_machine import EVEN_BELT, driven, driven_values, going_round_driven, small, spring

from mechlib import transports as tr
from mechlib.bench.effort_trial import effort_ranges, effort_trial, heaviest
from mechlib.errors import MechError
from mechlib.transports.files import transport_from

ALDER = tr.load("alder")


def narrow():
    """A latch that opens within six hundredths of a degree, about 55.5, with much force."""
    values = driven_values(latch={"spring": {"at_mm": 0, "force_N": 0.001}}, lever=spring(10))
    latch = next(row for row in values["follower"] if row["name"] == "latch")
    latch["track"] = [{"hold": "shut", "until": {"deg": 55.47}},
                      {"move_to": "open", "until": {"deg": 55.53}, "law": "constant velocity"},
                      {"hold": "open", "until": {"deg": 130}}]  # fmt: skip
    return transport_from(values, "narrow.toml")


def test_half_degrees_are_looked_at():
    """10 mm in 0.06° at 0.001 N are 9.5 N·mm, less than the lever's 10; at 0.002 N it is the latch."""
    machine = narrow()
    assert heaviest(machine) == "lever"
    heavy = machine.follower("latch")
    heavy = replace(heavy, spring=replace(heavy.spring, force_N=0.002))
    other = replace(machine, followers=tuple(heavy if f.name == "latch" else f for f in machine.followers))
    assert heaviest(other) == "latch"
    worst = effort_trial(other, "HALF", "OUT").worst
    assert worst.heaviest == "latch" and worst.theta_deg == pytest.approx(55.5, abs=0.04)


def test_a_lever_that_never_moves_has_a_range_too():
    still = driven(lever=spring(30)).follower("latch")
    still = replace(still, programme=replace(still.programme, segments=still.programme.segments[:1]))
    assert effort_ranges(driven().changed(followers=(still,)))["stiff_N"].high == 1


# ---- What can't be ----


def test_edges():
    for name, low, high in (
        ("grown_percent", 0, 50),
        ("friction_percent", 2, 100),
        ("motor_percent", 1, 100),
        ("voltage_V", 0.1, 12),
        ("grease_Nmm", 0, 1e5),
        ("stiff_N", 0, 1e4),
    ):
        check_edges(lambda value, name=name: effort_trial(ALDER, "DOWN", "EJECT", **{name: value}), low, high)


@pytest.mark.parametrize(
    ("machine", "given", "said"),
    [
        (ALDER.with_faults(tr.slip("pinch cam", 1)), {}, "this transport has faults"),
        (small(), {"start": "IN", "target": "OUT"}, "Small gives no motor"),
        (driven(), {"start": "IN", "target": "OUT", "grown_percent": 1}, "Small gives no belt"),
        (driven(), {"start": "IN", "target": "OUT", "friction_percent": 99}, "Small gives no belt"),
        (ALDER, {"target": "STOP"}, "from STOP to STOP the motor doesn't turn"),
        (ALDER, {"target": "PLAYING"}, "PLAYING"),
        (ALDER, {"greased": "worm"}, "no gear is called 'worm'"),
        (ALDER, {"stiff": "arm"}, "arm"),
    ],
)
def test_what_cannot_be_tried(machine, given, said):
    with pytest.raises(MechError, match=said):
        effort_trial(machine, **{"start": "STOP", "target": "PLAY"} | given)


def test_without_followers_or_motor():
    with pytest.raises(MechError, match="no followers"):
        heaviest(driven().changed(followers=()))
    with pytest.raises(MechError, match="Small gives no motor"):
        effort_ranges(small())


# ---- Ranges ----


def test_the_heaviest_counts_both_senses():
    """A lever that pushes on where the drive rises is heavy on the way back only."""
    assert heaviest(driven(lever=spring(-30), hook=spring(20))) == "lever"
    assert heaviest(driven(lever=spring(-19), hook=spring(20))) == "hook"


def test_ranges_on_paper():
    """2 N·mm through 60 turns and one half are 60 at the cam; 57.3 N·mm a newton at a millimetre a degree."""
    ranges = effort_ranges(driven(lever=spring(30)))
    assert list(ranges) == ["start", "target", "voltage_V", "motor_percent", "greased", "grease_Nmm", "stiff",
                            "stiff_N"]  # fmt: skip
    assert (ranges["start"].default, ranges["target"].default) == ("IN", "OUT")
    assert ranges["greased"].options == ("main cam", "switch", "lever gear", "hook cam")
    assert ranges["stiff"].default == "lever" and ranges["stiff"].options == ("lever", "hook", "latch")
    assert (ranges["voltage_V"].low, ranges["voltage_V"].high) == (pytest.approx(2.5), 10)
    assert (ranges["grease_Nmm"].high, ranges["grease_Nmm"].step) == (20, 0.4)  # 30, rounded down
    assert (ranges["stiff_N"].high, ranges["stiff_N"].step) == (1, 0.02)  # 1.047
    assert ranges["greased"].default == "main cam"
    rough = effort_ranges(driven(lever=spring(30), motor={"friction_Nmm": 0.4}))
    assert (rough["grease_Nmm"].high, rough["stiff_N"].high) == (20, 0.5)  # of 48: 24 and 0.84
    whole = effort_ranges(driven(lever=spring(30), motor={"stall_torque_Nmm": 4}))["grease_Nmm"]
    assert (whole.high, whole.step, whole.whole) == (50, 1, True)
    less = effort_ranges(driven(lever=spring(30), motor={"friction_Nmm": 0.4, "stall_torque_Nmm": 5.39}))
    assert less["grease_Nmm"].high == 50 and less["stiff_N"].high == 2  # 149.7: 74.9 and 2.61
    assert effort_ranges(driven(motor={"stall_torque_Nmm": 8}, lever=spring(1)))["grease_Nmm"].high == 100
    steep = effort_ranges(driven(lever=spring(30), motor={"stall_torque_Nmm": 0.8}))
    assert steep["grease_Nmm"].high == 10 and steep["stiff_N"].high == 0.2  # 12 and 0.419


def test_ranges_of_a_belt():
    ranges = effort_ranges(driven(belt=EVEN_BELT))
    assert (ranges["grown_percent"].high, ranges["friction_percent"].low) == (10, 10)
    assert (ranges["friction_percent"].step, ranges["friction_percent"].high) == (5, 100)
    assert ranges["motor_percent"].low == 10 and ranges["motor_percent"].step == 5
    tight = effort_ranges(driven(belt=EVEN_BELT | {"inside_mm": EVEN_BELT["inside_mm"] * 0.98}))
    assert tight["grown_percent"].high == 13
    assert list(ranges)[3:5] == ["grown_percent", "friction_percent"]
    loose = driven(belt=EVEN_BELT | {"inside_mm": EVEN_BELT["inside_mm"] * 1.0999})
    assert effort_ranges(loose)["grown_percent"].high == 1


@pytest.mark.parametrize("machine", [ALDER, driven(), driven(belt=EVEN_BELT), going_round_driven()])
def test_every_range_starts_sound_and_is_let_in(machine):
    ranges = effort_ranges(machine)
    values = {name: one.default for name, one in ranges.items()}
    assert effort_trial(machine, **values).transport == machine
    for name, one in ranges.items():
        for end in (one.positions()[0], one.positions()[-1]):
            if name not in ("start", "target"):
                assert "nan" not in effort_trial(machine, **values | {name: end}).sentence()
