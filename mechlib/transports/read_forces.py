"""Springs, friction and meshes of a transport file: what a mode change asks of the motor.

All optional, and nothing is guessed: what isn't given costs no torque.
"""

from __future__ import annotations

from mechlib.transports.motor_drive import NO_SPRING, Spring
from mechlib.transports.read_table import Table

TORQUE = (0.0, 1e6)


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
