"""The picture of a change against two motors: the limits, the line and the name of the right one."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.figure import Figure

from mechlib.bench.effort_trial import effort_trial
from mechlib.draw import effort as scene
from mechlib.draw import page as paper
from mechlib.transports import load

CEDAR = load("cedar")
DRAWER, CAM = CEDAR.motors


@pytest.fixture
def made():
    width, height = scene.SIZE_PX
    figure = Figure(figsize=(width / 100, height / 100), dpi=100)
    return scene.create(figure, trial("OPEN", "REWIND"), **scene.window(CEDAR))


def trial(start, target, **faults):
    return effort_trial(CEDAR, start, target, **faults)


def test_each_stage_has_its_own_limit(made):
    scene.update(made, trial("OPEN", "REWIND", motor="drawer motor", motor_percent=60))
    (left, right) = made.limit.axes.get_xlim()
    expected = [[(left, 0.6 * DRAWER.limit_Nmm), (-12, 0.6 * DRAWER.limit_Nmm)],
                [(-12, CAM.limit_Nmm), (right, CAM.limit_Nmm)]]  # fmt: skip
    assert np.array(made.limit.get_segments()) == pytest.approx(np.array(expected))


@pytest.mark.parametrize(
    "start, target, motor, name",
    [("PLAY", "REWIND", CAM, "cam motor"), ("SHUT", "OPEN", DRAWER, "drawer motor")],
)
def test_the_line_is_that_of_the_motor_that_is_pressed(made, start, target, motor, name):
    result = trial(start, target)
    scene.update(made, result)
    assert made.motor_name.get_text() == f"{name}: rev/min over torque"
    assert paper.width_px(made.motor_name.get_text()) < 246  # what is left of the page beside the chart
    line = np.array(made.line.get_data())
    assert line == pytest.approx(
        np.array([[0, motor.motor.stall_torque_Nmm], [motor.motor.no_load_rev_min, 0]])
    )
    worked = made.worked.get_data()[0]
    theta = np.linspace(*sorted((result.leg.start_deg, result.leg.end_deg)), 4001)
    asked = result.effort.motor_Nmm(theta)[(theta < -12) == (motor is DRAWER)]
    assert worked == pytest.approx([asked.min(), asked.max()], abs=0.03)
    assert result.drive.name == name and name in result.sentence()


def test_the_faults_are_of_the_motor_named():
    for motor in (DRAWER, CAM):
        found = trial("OPEN", "REWIND", motor=motor.name, voltage_V=5.0).transport.motors
        assert {each.name: each.motor.voltage_V for each in found} == {
            each.name: 5.0 if each is motor else 6.0 for each in CEDAR.motors
        }
