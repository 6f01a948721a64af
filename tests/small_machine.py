"""A transport small enough to be worked out by hand: constant velocity, one degree a mm, round numbers.

Main gear 36 teeth: 10 degrees a tooth.  Travel -20 to 120.  The switch's arcs are 10 degrees wide around
0, 50 and 100; a code counts after 1 degree and the cam coasts 2 more.  The lever's part has play 3.
"""

from __future__ import annotations

import tomllib
from math import log, pi

from mechlib.transports.files import transport_from

TEXT = """
name = "Small"
invented = true
reference_mode = "IN"
[drive]
main_gear_teeth = 36
low_stop = {deg = -20}
high_stop = {deg = 120}
coast = {deg = 2}
speed_deg_s = 10
[[hand_shaft]]
name = "crank"
turns_per_cam_turn = 18
[[upstream_mesh]]
name = "motor pinion"
driver_teeth = 9
driven_teeth = 45
[[part]]
name = "switch"
kind = "gear"
teeth = 36
meshes_with = "main gear"
mark = "dot to dot"
[[part]]
name = "lever gear"
kind = "gear"
teeth = 72
meshes_with = "main gear"
play_part_deg = 1.5
mark = "dot to dot"
[[part]]
name = "hook cam"
kind = "sector"
teeth = 30
meshes_with = "lever gear"
parent_teeth = 24
mark = "notch to dot"
[[follower]]
name = "lever"
part = "lever gear"
tolerance_mm = 1
states = {off = 0, on = 20}
track_from = {deg = -60}
track = [
  {hold = "off", until = {deg = 20}},
  {move_to = "on", until = {deg = 40}, law = "constant velocity"},
  {hold = "on", until = {deg = 160}},
]
[[follower]]
name = "hook"
part = "hook cam"
tolerance_mm = 1
states = {down = 0, up = 20}
track_from = {deg = -100}
track = [
  {hold = "down", until = {deg = 70}},
  {move_to = "up", until = {deg = 90}, law = "constant velocity"},
  {hold = "up", until = {deg = 260}},
]
[[follower]]
name = "latch"
part = "main cam"
tolerance_mm = 1
states = {shut = 0, open = 10}
track_from = {deg = -30}
track = [
  {hold = "shut", until = {deg = 55}},
  {move_to = "open", until = {deg = 65}, law = "constant velocity"},
  {hold = "open", until = {deg = 130}},
]
[mode_switch]
part = "switch"
settle = {deg = 1}
[[contact]]
name = "A"
closed = [[{deg = -5}, {deg = 5}], [{deg = 95}, {deg = 105}]]
[[contact]]
name = "B"
closed = [[{deg = 45}, {deg = 55}], [{deg = 95}, {deg = 105}]]
[[mode]]
name = "IN"
code = ["A"]
needs = {"lever" = "off", "hook" = "down"}
[[mode]]
name = "HALF"
code = ["B"]
needs = {"lever" = "on", "latch" = "shut"}
[[mode]]
name = "OUT"
code = ["A", "B"]
needs = {"lever" = "on", "hook" = "up"}
[[interlock]]
name = "hook and latch"
while = {"hook" = ["up", "between"]}
must = {"latch" = "open"}
[controller]
order = ["IN", "HALF", "OUT"]
time_out_s = 20
home = {sense = "unloading", mode = "IN"}
retry = {sense = "unloading", mode = "IN", times = 1}
[[controller.watch]]
sensor = "pulses"
modes = ["OUT"]
delay_s = 3
needs = {"hook" = "up"}
"""


def values() -> dict:
    """The file's values, fresh to be changed by a test."""
    return tomllib.loads(TEXT)


def small(**changes):
    """The small machine; ``changes`` replace top-level tables."""
    return transport_from(values() | changes, "small.toml")


ROUND_TEXT = """
name = "Round"
invented = true
reference_mode = "REST"
[drive]
main_gear_teeth = 36
cycle = 360
coast = {deg = 2}
speed_deg_s = 60
[[part]]
name = "switch"
kind = "gear"
teeth = 36
meshes_with = "main gear"
mark = "dot to dot"
[[follower]]
name = "lever"
part = "main cam"
tolerance_mm = 1
states = {off = 0, on = 20}
track = [
  {hold = "off", until = {deg = 100}},
  {move_to = "on", until = {deg = 140}, law = "constant velocity"},
  {hold = "on", until = {deg = 300}},
  {move_to = "off", until = {deg = 340}, law = "constant velocity"},
  {hold = "off", until = {deg = 360}},
]
[mode_switch]
part = "switch"
settle = {deg = 1}
[[contact]]
name = "A"
closed = [[{deg = 350}, {deg = 370}]]
[[contact]]
name = "B"
closed = [[{deg = 170}, {deg = 190}]]
[[mode]]
name = "REST"
code = ["A"]
needs = {"lever" = "off"}
[[mode]]
name = "RUN"
code = ["B"]
needs = {"lever" = "on"}
[controller]
order = ["REST", "RUN"]
time_out_s = 10
home = {sense = "loading", mode = "REST"}
"""


def going_round(**changes):
    """A cam that goes round: half a millimetre a degree, two modes half a turn apart."""
    return transport_from(tomllib.loads(ROUND_TEXT) | changes, "round.toml")


# 600 rev/min without load through 60 turns are 60 degrees a second; 2 N·mm at most, and half of it is lost:
# the drive has 60 N·mm over theta.
MOTOR = {
    "voltage_V": 10,
    "no_load_rev_min": 600,
    "stall_torque_Nmm": 2,
    "turns_per_cam_turn": 60,
    "train_efficiency": 0.5,
    "back_efficiency": 0,
}


# Two pulleys of 10 mm in the belt's middle, 20 mm apart: a path of 40 + 10π mm, a tenth longer than the belt.
# With E·A = 5 N it has 0.5 N in each run, and e^(μπ) = 3: it slips at 0.5 N, 2.5 N·mm.
EVEN_BELT = {
    "kind": "flat",
    "inside_mm": (40 + 10 * pi) / 1.1 - pi,
    "thickness_mm": 1,
    "width_mm": 1,
    "modulus_MPa": 5,
    "friction": log(3) / pi,
    "driver_mm": 9,
    "driven_mm": 9,
    "centres_mm": 20,
}


def driven_values(text: str = TEXT, motor=None, drive=None, belt=None, **rows) -> dict:
    """The file's values with the motor; ``rows`` add keys to a part or follower (_ for a blank)."""
    found = tomllib.loads(text) | {"motor": MOTOR | (motor or {})} | ({"belt": belt} if belt else {})
    del found["drive"]["speed_deg_s"]
    found["drive"] |= drive or {}
    for row in (*found["part"], *found["follower"]):
        row |= rows.pop(row["name"].replace(" ", "_"), {})
    return found | rows


def spring(load_Nmm: float) -> dict:
    """A follower's spring that asks for this load where the lift rises by 1 mm a degree."""
    return {"spring": {"at_mm": 0, "force_N": load_Nmm * pi / 180}}


def driven(**changes):
    """The small machine with a motor; see ``driven_values``."""
    return transport_from(driven_values(**changes), "driven.toml")


def going_round_driven(**changes):
    """The cam that goes round, with the motor of the small machine."""
    return transport_from(driven_values(ROUND_TEXT, **changes), "round.toml")
