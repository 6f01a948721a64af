"""Motor, belt, springs and friction of a transport file: what a mode change asks and what there is.

All optional: a file without a [motor] gives the measured speed instead.  Nothing is guessed: what isn't
given costs no torque.
"""

from __future__ import annotations

from mechlib.drives.belt_grip import KINDS, Belt, BeltDrive, Pulley
from mechlib.drives.motor import motor_from_line
from mechlib.errors import MechError
from mechlib.transports.motor_drive import NO_SPRING, MotorDrive, Spring
from mechlib.transports.read_table import Table

TORQUE = (0.0, 1e6)


def read_motor(top: Table) -> MotorDrive | None:
    """The [motor], the train behind it and the [belt], if any; mistakes are kept in the reader."""
    table = top.table("motor", "a [motor] table", optional=True)
    belt = _read_belt(top)
    if table is None:
        if belt:
            top.problem("belt", "there is no motor", "give a [motor] table, too, or leave the belt out")
        return None
    before = len(table.reader.problems)
    line = (
        table.number("voltage_V", 0.1, 100, "V, of its supply"),
        table.number("no_load_rev_min", 1, 1e5, "rev/min without load at that voltage"),
        table.number("stall_torque_Nmm", 1e-3, 1e5, "N·mm when held still"),
    )
    turns = table.number("turns_per_cam_turn", 1e-3, 1e6, "turns of the motor for one of the main cam")
    forward = table.number("train_efficiency", 0.01, 1, "of the train, without the stages' planetary sets")
    back = table.number("back_efficiency", 0, 1, "of the train driven back by the cam; 0 behind a worm")
    friction = table.number("friction_Nmm", *TORQUE, "N·mm that the bare train asks for", optional=True)
    table.done()
    if len(table.reader.problems) > before:
        return None
    try:
        return MotorDrive(motor_from_line(*line), turns, forward, back, friction or 0.0, belt)
    except MechError as error:
        table.problem("stall_torque_Nmm", str(error), "measure voltage, speed and stall torque again")
        return None


def _read_belt(top: Table) -> BeltDrive | None:
    table = top.table("belt", "a [belt] table", optional=True)
    if table is None:
        return None
    before = len(table.reader.problems)
    kind = table.choice("kind", KINDS)
    sizes = [
        table.number(key, low, high, unit)
        for key, low, high, unit in (
            ("inside_mm", 5, 1e4, "mm round its inside, unstretched"),
            ("thickness_mm", 0.05, 20, "mm"),
            ("width_mm", 0.05, 50, "mm"),
            ("modulus_MPa", 0.1, 1e4, "MPa"),
            ("friction", 0.01, 3, "on its pulleys"),
        )
    ]
    pulleys = [
        Pulley(*given) if None not in given else None
        for given in (
            (
                table.number(f"{end}_mm", 1, 2000, "mm under the belt"),
                table.number(f"{end}_groove_deg", 20, 180, "between its flanks", optional=True) or 180.0,
            )
            for end in ("driver", "driven")
        )
    ]
    centres = table.number("centres_mm", 1, 1e4, "mm")
    table.done()
    if len(table.reader.problems) > before:
        return None
    try:
        return BeltDrive(*pulleys, centres, Belt(kind, *sizes))
    except MechError as error:
        table.problem("centres_mm", str(error), "measure the belt and its pulleys again")
        return None


def read_spring(table: Table) -> dict:
    """What stands against a follower, as fields of a Follower: its spring and its friction."""
    friction = table.number("friction_N", 0, 1e4, "N against its motion", optional=True) or 0.0
    spring = NO_SPRING
    if given := table.table("spring", "such as {at_mm = 0, force_N = 2, rate_N_mm = 0.1}", optional=True):
        at = given.number("at_mm", -500, 500, "mm of lift")
        force = given.number("force_N", -1e4, 1e4, "N there, positive towards smaller lifts")
        rate = given.number("rate_N_mm", 0, 1e4, "N for each mm of lift", optional=True) or 0.0
        given.done()
        spring = NO_SPRING if None in (at, force) else Spring(at, force, rate)
    return {"spring": spring, "friction_N": friction}


def read_drag(table: Table) -> float:
    """The friction torque of a gear with its shaft, in N·mm at that gear."""
    return table.number("drag_Nmm", *TORQUE, "N·mm at this gear", optional=True) or 0.0


def read_mesh(table: Table) -> dict:
    """What a timed part's mesh lets through and bears, and its drag, as fields of a Part."""
    passes = table.number("mesh_efficiency", 0.05, 1, "of its mesh with the gear it hangs on", optional=True)
    return {
        "mesh_efficiency": 1.0 if passes is None else passes,
        "slip_torque_Nmm": table.number("slip_torque_Nmm", 1e-3, 1e6, "N·mm at this part", optional=True),
        "drag_Nmm": read_drag(table),
    }
