"""The part-toothed main gear of a transport file, and the solenoid that releases it."""

from __future__ import annotations

from mechlib.drives.heating import Body
from mechlib.drives.solenoid import Solenoid
from mechlib.drives.thermal_cut_off import CutOff
from mechlib.errors import MechError
from mechlib.gears.part_toothed import ReleasedGear
from mechlib.say import say
from mechlib.transports.read_table import Table
from mechlib.transports.release import USUAL_TEETH, Release

STRETCHES = "the teeth, then the teeth missing after them, from the rest at 0 on: [[37, 3], [17, 3], …]"


def read_release(top: Table, drive: Table, main_teeth: int | None) -> Release | None:
    """The [part_toothed] gear and its [solenoid], if any; mistakes are kept in the reader."""
    table = top.table("part_toothed", "a [part_toothed] table", optional=True)
    if table is None:
        if top.has("solenoid"):
            right = "give a [part_toothed] gear, too, or leave it out"
            top.problem("solenoid", "there is nothing for it to release", right)
        return None
    _check_drive(drive)
    gear = _read_gear(table, main_teeth)
    latch = table.number("latch_deg", 0, 10, "degrees by which a rest may be off, either way")
    table.done()
    solenoid = _read_solenoid(top)
    if None in (gear, latch, solenoid):
        return None
    return Release(gear, latch, **solenoid)


def _check_drive(drive: Table) -> None:
    if not drive.has("cycle"):
        drive.problem("cycle", "it is missing", "a part-toothed gear goes round: write cycle = 360")
    if drive.has("coast"):
        right = "a part-toothed gear stands where its latch holds it: leave coast out"
        drive.problem("coast", "it doesn't coast", right)


def _read_gear(table: Table, main_teeth: int | None) -> ReleasedGear | None:
    stretches = table.items("stretches", STRETCHES)
    pinion = table.count("pinion_teeth", 6, 200, "the teeth of the pinion that drives it")
    kick = table.angle("kick")
    if None in (stretches, pinion, kick):
        return None
    try:
        gear = ReleasedGear(stretches, pinion, kick)
        kicks = [gear.kick(USUAL_TEETH, rest) for rest in range(len(gear.stretches))]
    except MechError as error:
        table.problem("stretches", str(error), f"write {STRETCHES}")
        return None
    if main_teeth is not None and gear.places != main_teeth:
        what = f"teeth and gaps come to {gear.places} places, but main_gear_teeth is {main_teeth}"
        table.problem("stretches", what, "count teeth and gaps once more, a gap in places for teeth")
    for found in kicks:
        if not found.runs_free:
            table.problem("stretches", found.sentence(), "count the missing teeth again")
        elif not found.meshes:
            table.problem("kick", found.sentence(), f"it must be above {say(found.free_deg, '°', 2)}")
    return gear


def _read_solenoid(top: Table) -> dict | None:
    """The fields of a Release that come from the [solenoid] table."""
    table = top.table("solenoid", "a [solenoid] table, for what releases the part-toothed gear")
    if table is None:
        return None
    before = len(table.reader.problems)
    volts = table.number("voltage_V", 0.1, 100, "V, when it releases")
    coil = [
        table.number("resistance_ohm", 0.05, 1e5, "Ω at 20 °C"),
        table.number("pull_N", 1e-3, 1e3, "N where its plunger starts"),
        table.number("at_current_A", 1e-4, 100, "A for that pull"),
        table.number("needed_N", 0, 1e3, "N to pull the latch off"),
    ]
    heat = [
        table.number("thermal_resistance_K_W", 0.01, 1e4, "K/W from winding to air"),
        table.number("time_constant_s", 0.1, 1e6, "s, of the winding"),
    ]
    release = table.number("release_s", 0, 10, "s from the command until the first tooth is in mesh")
    on = table.number("on_s", 1e-3, 10, "s for which it is on at each release")
    cut_off = _read_cut_off(table)
    table.done()
    if len(table.reader.problems) > before:
        return None
    solenoid = Solenoid(*coil, Body(*heat))
    if not (pull := solenoid.at(volts)).pulls:
        table.problem("needed_N", pull.sentence(), "a sound solenoid pulls the latch off when cold")
    return {
        "release_s": release,
        "on_s": on,
        "voltage_V": volts,
        "solenoid": solenoid,
        "cut_off": cut_off,
    }


def _read_cut_off(table: Table) -> CutOff | None:
    given = table.table("cut_off", "such as {rated_C = 115, holding_C = 90, limit_C = 200}", optional=True)
    if given is None:
        return None
    marks = [
        given.number(key, 0, 1000, f"°C, the {words}")
        for key, words in (
            ("rated_C", "functioning temperature"),
            ("holding_C", "holding temperature"),
            ("limit_C", "maximum temperature limit"),
        )
    ]
    given.done()
    if None in marks:
        return None
    try:
        return CutOff(*marks)
    except MechError as error:
        given.problem("rated_C", str(error), "read the cut-off's marking again")
        return None
