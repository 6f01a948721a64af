"""The motor with belt and train: speed over torque, and what gives way first; worked out on paper."""

from __future__ import annotations

import numpy as np
import pytest
from second_way_belt import BeltRound
from small_machine import EVEN_BELT

from mechlib.drives.belt_grip import Belt, BeltDrive, Pulley
from mechlib.drives.motor import motor_from_line
from mechlib.transports.motor_drive import NO_SPRING, MotorDrive, Spring

MOTOR = motor_from_line(10, 600, 2)  # through 60 turns 60 degrees a second, 2 N·mm at most


def even_belt(**changes) -> BeltDrive:
    """Pulleys of 10 mm pitch diameter, belt stretched by a tenth: 0.5 N in each run."""
    row = EVEN_BELT | changes
    keys = ("kind", "inside_mm", "thickness_mm", "width_mm", "modulus_MPa", "friction")
    belt = Belt(*(row[key] for key in keys))
    return BeltDrive(Pulley(row["driver_mm"]), Pulley(row["driven_mm"]), row["centres_mm"], belt)


def test_springs():
    assert Spring(4, 3, 0.5).force(10) == 6 and Spring(4, 3, 0.5).force(2) == 2
    assert Spring(4, 3).force(np.array([0.0, 9.0])).tolist() == [3, 3]
    assert Spring(0, 0, 0) == NO_SPRING and NO_SPRING.force(7) == 0


def test_a_slack_spring_gives_no_force():
    """8.2 N at 6.5 mm and 2.5 N/mm: loose below 3.22 mm.  One that pushes on runs out."""
    lifts = np.array([0.0, 3.2, 3.24, 6.5])
    assert Spring(6.5, 8.2, 2.5).force(lifts) == pytest.approx([0, 0, 0.05, 8.2])
    assert Spring(1, -3, 0.5).force(lifts + 1) == pytest.approx([-3, -1.4, -1.38, 0])
    assert Spring(2, 0, 0.5).force(lifts) == pytest.approx([0, 0.6, 0.62, 2.25])  # just touches at 2 mm
    for spring in (Spring(6.5, 8.2, 2.5), Spring(1, -3, 0.5)):
        assert [spring.force(float(lift)) for lift in lifts] == pytest.approx(spring.force(lifts))


def test_the_motor_alone():
    drive = MotorDrive(MOTOR, 60)
    assert drive.limit_Nmm == pytest.approx(2) and not drive.belt_slips_first
    assert drive.deg_s(np.array([0.0, 0.5, 1.0, 2.0, -1.0])) == pytest.approx([60, 45, 30, 0, 90])
    assert (drive.efficiency, drive.back_efficiency, drive.friction_Nmm) == (1, 1, 0)
    assert drive.sentence().endswith(
        "It makes 60.0 turns for one of the main cam, and the motor stalls at 2.00 N·mm."
    )


SLIPS_AT = 2.649634  # N·mm: e^(μπ) = 3; by the second way 0.794890 N tight and 0.264963 N slack


def test_the_belt_gives_way_or_the_motor():
    drive = MotorDrive(MOTOR, 60, belt=even_belt())
    twice = BeltRound(10, 10, 20, 2 * (20 + 5 * np.pi) / 1.1, 5, [np.log(3) / np.pi] * 2)
    assert twice.slipping() == pytest.approx((0.794890, 0.264963), abs=1e-6)
    assert drive.belt.slip_torque_driver_Nmm == pytest.approx(SLIPS_AT)
    assert drive.limit_Nmm == pytest.approx(2) and not drive.belt_slips_first
    weak = MotorDrive(MOTOR, 60, belt=even_belt(modulus_MPa=2.5))
    assert weak.limit_Nmm == pytest.approx(SLIPS_AT / 2) and weak.belt_slips_first
    assert weak.sentence().endswith("and the belt slips at 1.32 N·mm.")


def test_creep_on_paper():
    """1 N·mm pulls 0.2 N.  Up to slipping the tight run grows by 0.294890 N of 0.529927, so by 0.111295 N."""
    drive = MotorDrive(MOTOR, 60, belt=even_belt())
    left = [(5.611295 - 0.2) / 5.611295, (5.388705 + 0.2) / 5.388705]
    assert drive.deg_s(np.array([1.0, -1.0])) == pytest.approx([30 * left[0], 90 * left[1]])


@pytest.mark.parametrize("torque", [0.0, 0.3, 1.1, 1.9])
@pytest.mark.parametrize("driven, inside", [(9.0, EVEN_BELT["inside_mm"]), (21.0, 80.0)])
def test_creep_as_the_belt_tells_it(torque, driven, inside):
    """The speed that ``BeltDrive.carry`` gives for the same pull, but for 3 % of the creep."""
    belt = even_belt(driven_mm=driven, inside_mm=inside)
    drive = MotorDrive(MOTOR, 60, belt=belt)
    rev_min = MOTOR.speed(torque)
    carried = belt.carry(rev_min, torque * belt.path.driven_mm / belt.path.driver_mm)
    left = carried.driven_rev_min / (rev_min * belt.ratio)
    off = 0.03 * carried.creep_percent / 100 + 1e-9
    assert drive.deg_s(np.array([torque]))[0] == pytest.approx(6 * rev_min / 60 * left, rel=off)


def test_a_loose_belt_carries_nothing():
    drive = MotorDrive(MOTOR, 60, belt=even_belt(inside_mm=130.0))
    assert drive.limit_Nmm == 0 and drive.belt_slips_first
