"""Draw every picture of this folder anew: ``python figures/make.py``.

The same versions of the libraries give the same bytes.  A folder named behind the command is filled
instead, and of pictures named behind that only those are drawn.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from mechlib.bench import dwell_trial, slip_effect
from mechlib.bench.belt_trial import DEFAULTS as BELT
from mechlib.bench.belt_trial import trial as try_belt
from mechlib.bench.cam_trial import CONTROLS
from mechlib.bench.cam_trial import cam_trial as try_cam
from mechlib.bench.effort_trial import effort_trial
from mechlib.bench.follow_power import follow
from mechlib.bench.measured_gear import measured_gear
from mechlib.bench.other_teeth import DRIVEN, other_teeth
from mechlib.bench.solenoid_trial import DEFAULTS as COIL
from mechlib.bench.solenoid_trial import trial as try_solenoid
from mechlib.bench.timing_card import timing_card
from mechlib.draw import (
    LivePicture,
    before_after,
    belt_drive,
    cam_trial,
    effort,
    planetary,
    solenoid,
    timing_chart,
)
from mechlib.draw import dwell_trial as dwell_scene
from mechlib.draw import measured_gear as gear_scene
from mechlib.draw.cam_groove import cam_groove
from mechlib.draw.mode_close_up import mode_close_up
from mechlib.draw.planetary_view import view
from mechlib.draw.power_flow import power_flow
from mechlib.draw.proof_sheet import proof_sheet_pages
from mechlib.draw.timing_card import timing_card_pages
from mechlib.draw.tooth_shift import tooth_shift
from mechlib.gears.planetary import simple_set
from mechlib.gears.power import Load
from mechlib.ranges import starts
from mechlib.transports import load

HERE = Path(__file__).resolve().parent
SCALE = 2  # sharp on fine screens and in print
PRINT_DPI = 240  # of a page of paper


def chart(path: Path, mesh: str, teeth: int, theta_deg: float) -> None:
    """Draw the timing chart of Alder with some teeth out at a mesh."""
    alder = load("alder")
    values = {"mesh": mesh, "teeth": teeth, "theta_deg": theta_deg}
    picture = LivePicture(
        lambda **chosen: slip_effect(alder, **chosen), timing_chart, values, timing_chart.size_px(alder)
    )
    picture.save(path, SCALE)


def planetary_set(path: Path) -> None:
    """Draw a set whose loads decide: the ring turns and the carrier stands."""
    one, loads = simple_set(16, 16, 48), {"ring": Load(60), "carrier": Load(120)}
    found = follow(one, 120, loads)
    shown = view(one, found.speeds, 4, 0.035, [found.driven.member], told=found.sentence())
    LivePicture(lambda: shown, planetary, {}, planetary.SIZE_PX).save(path, SCALE)


def power_flows(path: Path) -> None:
    """Draw the power through the set of Alder's carriage, with the carrier held and with the ring held."""
    one, loads = simple_set(16, 16, 48, mesh_efficiency=0.97), {"ring": Load(60), "carrier": Load(80)}
    power_flow([follow(one, 100, loads, held) for held in ("carrier", "ring")], SCALE).savefig(path)


def trial_of_a_cam(path: Path) -> None:
    """Draw the cam with which its lesson begins, turned by 70°."""
    LivePicture(try_cam, cam_trial, starts(CONTROLS, angle_deg=70), cam_trial.SIZE_PX).save(path, SCALE)


def against_the_motor(path: Path) -> None:
    """Draw Alder on its way from EJECT to PLAY, all in order, against its motor."""
    alder = load("alder")
    shown = effort_trial(alder, "EJECT", "PLAY")
    LivePicture(lambda: shown, effort, {}, effort.SIZE_PX, effort.window(alder)).save(path, SCALE)


def dwell(path: Path) -> None:
    """Draw the dwell of Alder's reel idler in PLAY, and its budget, as they are."""
    alder, asked = load("alder"), ("PLAY", "reel idler")
    shown, limits = dwell_trial(alder, *asked), dwell_scene.window(alder, *asked)
    LivePicture(lambda: shown, dwell_scene, {}, dwell_scene.SIZE_PX, limits).save(path, SCALE)


def solenoid_again_and_again(path: Path) -> None:
    """Draw a solenoid that fires nine seconds in ten, until its cut-off opens."""
    values = COIL | {"pull_s": 9.0, "pause_s": 1.0}
    LivePicture(try_solenoid, solenoid, values, solenoid.SIZE_PX).save(path, SCALE)


def caliper_on_a_gear(path: Path) -> None:
    """Draw the gear of the lesson on measuring, with three readings taken on it."""
    read = {"teeth": 20, "off_mm": 0.05, "outside_mm": 34.9, "span_mm": 16.85, "over": 4, "pins_mm": 35.53}
    LivePicture(measured_gear, gear_scene, read | {"pin_mm": 2.74}, gear_scene.SIZE_PX).save(path, SCALE)


def other_teeth_at_a_mesh(path: Path) -> None:
    """Draw the chart of Alder with a carriage gear of 44 teeth for 40: as it was, and as it would be."""
    machines = other_teeth(load("alder"), "carriage gear", DRIVEN, 44)
    LivePicture(lambda: machines, before_after, {}, before_after.size_px(machines)).save(path, SCALE)


def printed(pages_of: Callable, path: Path) -> None:
    """Draw the first page of Alder's timing card, or of its blank proof sheet, on A4."""
    pages_of(timing_card(load("alder")))[0].savefig(path, dpi=PRINT_DPI)


def tooth_out(path: Path) -> None:
    """Draw what one tooth at the pinch cam does to the pinch lever."""
    tooth_shift(slip_effect(load("alder"), "pinch cam", 1), "pinch lever", SCALE).savefig(path)


def belt_running(path: Path) -> None:
    """Draw the belt drive with which its lesson begins."""
    LivePicture(try_belt, belt_drive, BELT, belt_drive.SIZE_PX).save(path, SCALE)


PICTURES: dict[str, Callable[[Path], None]] = {
    "alder_chart.png": lambda path: chart(path, "mode switch", 0, 210.0),
    "slipped_tooth.png": lambda path: chart(path, "loading gear", -1, 94.5),
    "cam_trial.png": trial_of_a_cam,
    "against_the_motor.png": against_the_motor,
    "cam_groove.png": lambda path: cam_groove(load("alder"), "tension lever", SCALE).savefig(path),
    "dwell_trial.png": dwell,
    "mode_close_up.png": lambda path: mode_close_up(load("alder"), "PLAY", scale=SCALE).savefig(path),
    "belt_drive.png": lambda path: LivePicture(try_belt, belt_drive, BELT, belt_drive.SIZE_PX).save(
        path, SCALE
    ),
    "planetary_set.png": planetary_set,
    "solenoid.png": solenoid_again_and_again,
    "power_flow.png": power_flows,
    "tooth_shift.png": tooth_out,
    "measured_gear.png": caliper_on_a_gear,
    "other_teeth.png": other_teeth_at_a_mesh,
    "timing_card.png": lambda path: printed(timing_card_pages, path),
    "proof_sheet.png": lambda path: printed(proof_sheet_pages, path),
}


def main(folder: str | Path = HERE, *names: str) -> None:
    """Draw all pictures, or those named, into a folder."""
    for name in names or PICTURES:
        PICTURES[name](Path(folder, name))


if __name__ == "__main__":
    main(*sys.argv[1:])
