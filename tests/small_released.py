"""A machine that is released from rest to rest, small enough to be worked out by hand.

36 places for teeth, 10 degrees each; gaps of 3.  From the middle of the last gap to that of the first it is
9 + 3 = 12 places, then 15 + 3 = 18, then 3 + 3 = 6: rests at 0, 120 and 300.  60 degrees a second, half a
second for each release: 2.5 s, 3.5 s and 1.5 s from rest to rest.  The lever is off up to 40 and from 350 on,
on from 80 to 310, half a millimetre a degree; its states reach 2 degrees into its moves.
"""

from __future__ import annotations

import tomllib

from small_machine import driven_values

from mechlib.transports.files import transport_from

TEXT = """
name = "Stepping"
invented = true
reference_mode = "REST"
[drive]
main_gear_teeth = 36
cycle = 360
speed_deg_s = 60
[part_toothed]
stretches = [[9, 3], [15, 3], [3, 3]]
pinion_teeth = 12
kick = {deg = 12}
latch_deg = 0.5
[solenoid]
voltage_V = 10
resistance_ohm = 20
pull_N = 4
at_current_A = 0.5
needed_N = 1
release_s = 0.5
on_s = 0.2
thermal_resistance_K_W = 30
time_constant_s = 100
cut_off = {rated_C = 100, holding_C = 80, limit_C = 200}
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
  {hold = "off", until = {deg = 40}},
  {move_to = "on", until = {deg = 80}, law = "constant velocity"},
  {hold = "on", until = {deg = 310}},
  {move_to = "off", until = {deg = 350}, law = "constant velocity"},
  {hold = "off", until = {deg = 360}},
]
[mode_switch]
part = "switch"
[[contact]]
name = "A"
closed = [[{deg = -9}, {deg = 12}], [{deg = 106}, {deg = 124}]]
[[contact]]
name = "B"
closed = [[{deg = 106}, {deg = 132}], [{deg = 293}, {deg = 311}]]
[[mode]]
name = "REST"
code = ["A"]
needs = {"lever" = "off"}
[[mode]]
name = "HALF"
code = ["A", "B"]
needs = {"lever" = "on"}
[[mode]]
name = "RUN"
code = ["B"]
needs = {"lever" = "on"}
[controller]
order = ["REST", "HALF", "RUN"]
time_out_s = 10
home = {sense = "loading", mode = "REST"}
"""


def values() -> dict:
    """The file's values, fresh to be changed by a test."""
    return tomllib.loads(TEXT)


def stepping(**control):
    """The machine; ``control`` replaces keys of its controller."""
    found = values()
    found["controller"] |= control
    return transport_from(found, "stepping.toml")


def stepping_driven():
    """The machine with the motor of the small one."""
    return transport_from(driven_values(TEXT), "stepping.toml")
