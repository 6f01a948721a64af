"""Mistakes in the tables of a part-toothed gear and its solenoid: told with table, key and what is right."""

from __future__ import annotations

import pytest
from small_released import values
from test_transports_files import problems_of

from mechlib.drives.heating import Body
from mechlib.drives.solenoid import Solenoid
from mechlib.drives.thermal_cut_off import CutOff
from mechlib.transports.files import load, transport_from


def put(table: str, key: str, value):
    return lambda found: found[table].__setitem__(key, value)


def drop(table: str, key: str):
    return lambda found: found[table].pop(key)


def mesh(driver: int, driven: int) -> dict:
    return {"name": "pinion", "driver_teeth": driver, "driven_teeth": driven, "drives": "main gear"}


MISTAKES = {
    "no cycle": (drop("drive", "cycle"), ["[drive], key cycle", "missing", "cycle = 360"]),
    "it coasts": (put("drive", "coast", {"deg": 2}), ["[drive], key coast", "doesn't coast", "leave"]),
    "no solenoid": (lambda v: v.pop("solenoid"), ["key solenoid", "missing", "[solenoid] table"]),
    "no gear": (
        lambda v: v.pop("part_toothed"), ["key solenoid", "nothing for it to release", "[part_toothed]"],
    ),
    "settling": (
        lambda v: v["mode_switch"].__setitem__("settle", {"deg": 1}),
        ["[mode_switch], key settle", "cam stands", "leave settle out"],
    ),
    "places": (put("drive", "main_gear_teeth", 40), ["key stretches", "come to 36 places", "is 40", "count"]),
    "stretches in words": (put("part_toothed", "stretches", "9, 3"), ["stretches", "the text", "missing"]),
    "no gap": (put("part_toothed", "stretches", [[36, 0]]), ["key stretches", "after stretch 1 is 0"]),
    "gap too small": (
        put("part_toothed", "stretches", [[9, 3], [17, 1], [3, 3]]),
        ["key stretches", "at rest 2 the pinion's teeth strike", "count the missing teeth"],
    ),
    "kick too short": (
        put("part_toothed", "kick", {"deg": 0.5}), ["key kick", "short of it", "it must be above"],
    ),
    "kick too long": (put("part_toothed", "kick", {"deg": 80}), ["key stretches", "kick_deg is 80"]),
    "no kick": (drop("part_toothed", "kick"), ["[part_toothed], key kick", "missing"]),
    "no pinion": (drop("part_toothed", "pinion_teeth"), ["key pinion_teeth", "missing", "pinion"]),
    "no latch": (drop("part_toothed", "latch_deg"), ["key latch_deg", "missing", "either way"]),
    "latch too loose": (put("part_toothed", "latch_deg", 11), ["key latch_deg", "11", "0 to 10"]),
    "unknown key": (put("part_toothed", "gap", 3), ["[part_toothed], key gap", "not known"]),
    "solenoid too weak": (put("solenoid", "needed_N", 4.5), ["[solenoid], key needed_N", "too little"]),
    "no resistance": (drop("solenoid", "resistance_ohm"), ["key resistance_ohm", "missing"]),
    "on for ever": (put("solenoid", "on_s", 11), ["[solenoid], key on_s", "11", "0.001 to 10"]),
    "release too long": (put("solenoid", "release_s", 10.5), ["key release_s", "0 to 10"]),
    "unknown solenoid key": (put("solenoid", "on", 1), ["[solenoid], key on", "not known"]),
    "cut-off not rising": (
        lambda v: v["solenoid"]["cut_off"].__setitem__("holding_C", 120),
        ["key cut_off", "rise in this order", "marking"],
    ),
    "half a cut-off": (
        lambda v: v["solenoid"]["cut_off"].pop("limit_C"), ["cut_off, key limit_C", "missing", "maximum"],
    ),
    "home unloading": (
        lambda v: v["controller"]["home"].__setitem__("sense", "unloading"),
        ["key home, key sense", "unloading", "loading"],
    ),
    "another pinion upstream": (
        lambda v: v.__setitem__("upstream_mesh", [mesh(13, 36)]),
        ['[[upstream_mesh]] "pinion", key driver_teeth', "is 13", "it is 12", "count both once more"],
    ),
    "another wheel upstream": (
        lambda v: v.__setitem__("upstream_mesh", [mesh(12, 35)]),
        ['[[upstream_mesh]] "pinion", key driven_teeth', "is 35", "it is 36"],
    ),
    "code at no rest": (
        lambda v: v["contact"][0]["closed"].__setitem__(1, [{"deg": 90}, {"deg": 99}]),
        ['[[mode]] "HALF", key code', "shows at 0 of the rests at 0, 120 and 300 degrees", "one rest"],
    ),
    "code at two rests": (
        lambda v: v["contact"][1]["closed"].append([{"deg": -9}, {"deg": 9}]),
        ['[[mode]] "HALF", key code', "shows at 2 of the rests"],
    ),
    "another reference": (
        lambda v: v.__setitem__("reference_mode", "RUN"), ["reference_mode", "RUN does not show at 0"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", MISTAKES)
def test_mistakes_are_told(name):
    mistake, words = MISTAKES[name]
    own = values()
    mistake(own)
    found = problems_of(own)
    assert any(all(word in problem for word in words) for problem in found), "\n".join(found)


def test_what_is_read():
    release = transport_from(values(), "stepping.toml").release
    assert release.gear.stretches == ((9, 3), (15, 3), (3, 3)) and release.gear.pinion_teeth == 12
    assert (release.gear.kick_deg, release.latch_deg, release.release_s, release.on_s) == (12, 0.5, 0.5, 0.2)
    assert release.solenoid == Solenoid(20, 4, 0.5, 1, Body(30, 100)) and release.voltage_V == 10
    assert release.cut_off == CutOff(100, 80, 200) and not release.cut_off_open
    birch = load("birch")
    assert birch.coast_deg == 0 and birch.settle_deg == 0 and birch.cyclic and birch.invented


def test_limits_that_just_pass():
    own = values()
    own["part_toothed"] |= {"latch_deg": 10}
    own["solenoid"] |= {"needed_N": 4, "on_s": 10, "release_s": 0}
    assert transport_from(own, "own.toml").release.solenoid.needed_N == 4
