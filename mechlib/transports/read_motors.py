"""The motors and belts of a transport file: what there is to turn the drive.

All optional: a file without a [motor] gives the measured speed instead.  Where there are several, each is a
[[motor]] with a name, a [[belt]] says which one it is "of", and every stage names its own.
"""

from __future__ import annotations

from mechlib.drives.belt_grip import KINDS, Belt, BeltDrive, Pulley
from mechlib.drives.motor import motor_from_line
from mechlib.errors import MechError
from mechlib.transports.motor_drive import MotorDrive
from mechlib.transports.read_forces import TORQUE
from mechlib.transports.read_table import Table, unique_name

ONLY = "motor"  # the name of one that needs none


def read_motors(top: Table) -> tuple[MotorDrive, ...]:
    """The motors with the trains and belts behind them, if any; mistakes are kept in the reader."""
    tables, names = _named(top)
    belts = _read_belts(top, [name for name in names if name])
    if not tables and belts:
        top.problem("belt", "there is no motor", "give a [motor] table, too, or leave the belt out")
    read = [_read_motor(table, name, belts.get(name)) for table, name in zip(tables, names, strict=True)]
    return tuple(motor for motor in read if motor)


def _named(top: Table) -> tuple[list[Table], list[str | None]]:
    """The tables of the motors and their names."""
    if not several(top):
        table = top.table("motor", "a [motor] table", optional=True)
        return ([table], [ONLY]) if table else ([], [])
    tables, names = top.tables("motor", "[[motor]] tables"), []
    for table in tables:
        names.append(unique_name(table, names, "a motor"))
    if not tables:
        top.problem("motor", "there is none", "give a [motor] table, or several [[motor]] tables")
    return tables, names


def motor_names(top: Table) -> list[str]:
    """The names of the motors that a file writes as a list, be they right otherwise or not."""
    rows = top.value["motor"] if several(top) else []
    return [row["name"] for row in rows if isinstance(row, dict) and isinstance(row.get("name"), str)]


def several(top: Table) -> bool:
    """Whether the file writes its motors as a list, each with a name."""
    return isinstance(top.value.get("motor"), list)


def _read_motor(table: Table, name: str | None, belt: BeltDrive | None) -> MotorDrive | None:
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
        return MotorDrive(motor_from_line(*line), turns, forward, back, friction or 0.0, belt, name=name)
    except MechError as error:
        table.problem("stall_torque_Nmm", str(error), "measure voltage, speed and stall torque again")
        return None


def _read_belts(top: Table, motors: list[str]) -> dict[str, BeltDrive | None]:
    """The belts, by the motor that each is of."""
    if not several(top):
        table = top.table("belt", "a [belt] table", optional=True)
        return {ONLY: _read_belt(table)} if table else {}
    belts = {}
    for table in top.tables("belt", '[[belt]] tables, each with of = "…", a motor', optional=True):
        motor = table.choice("of", motors)
        if motor in belts:
            table.problem("of", f"the {motor} has a belt already", "give a motor one belt at most")
        belts[motor] = _read_belt(table)
    return belts


def _read_belt(table: Table) -> BeltDrive | None:
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
