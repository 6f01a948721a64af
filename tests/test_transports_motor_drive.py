"""The motor with belt and train: speed over torque, and what gives way first; worked out on paper."""

from __future__ import annotations

import numpy as np
import pytest
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


def test_a_belt_that_slips_on_paper():
    """e^(μπ) = 3: tight run 0.75 N, slack 0.25, so 0.5 N pull on a radius of 5 mm: 2.5 N·mm."""
    drive = MotorDrive(MOTOR, 60, belt=even_belt())
    assert drive.belt.slip_torque_driver_Nmm == pytest.approx(2.5)
    assert drive.limit_Nmm == pytest.approx(2) and not drive.belt_slips_first
    weak = MotorDrive(MOTOR, 60, belt=even_belt(modulus_MPa=2.5))
    assert weak.limit_Nmm == pytest.approx(1.25) and weak.belt_slips_first
    assert weak.sentence().endswith("and the belt slips at 1.25 N·mm.")


def test_creep_on_paper():
    """1 N·mm pulls 0.2 N: 0.6 N tight and 0.4 N slack, and 5 N would stretch the belt by as much again."""
    drive = MotorDrive(MOTOR, 60, belt=even_belt())
    assert drive.deg_s(np.array([1.0, -1.0])) == pytest.approx([30 * 5.4 / 5.6, 90 * 5.6 / 5.4])


@pytest.mark.parametrize("torque", [0.0, 0.3, 1.1, 1.9])
@pytest.mark.parametrize("driven, inside", [(9.0, EVEN_BELT["inside_mm"]), (21.0, 80.0)])
def test_creep_as_the_belt_tells_it(torque, driven, inside):
    """The same speed as ``BeltDrive.carry`` gives for the torque at the driven pulley."""
    belt = even_belt(driven_mm=driven, inside_mm=inside)
    drive = MotorDrive(MOTOR, 60, belt=belt)
    rev_min = MOTOR.speed(torque)
    carried = belt.carry(rev_min, torque * belt.path.driven_mm / belt.path.driver_mm)
    left = carried.driven_rev_min / (rev_min * belt.ratio)
    assert drive.deg_s(np.array([torque]))[0] == pytest.approx(6 * rev_min / 60 * left)


def test_a_loose_belt_carries_nothing():
    drive = MotorDrive(MOTOR, 60, belt=even_belt(inside_mm=130.0))
    assert drive.limit_Nmm == 0 and drive.belt_slips_first
