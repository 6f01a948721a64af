"""The exercises of each lesson, by the number of its page, in the order in which the page has them."""

from __future__ import annotations

from mechlib.teaching.bench_minutes import BENCH_MINUTES
from mechlib.teaching.dwell_timing import DWELL_TIMING
from mechlib.teaching.exercises import Exercise
from mechlib.teaching.fault_finding import FAULT_FINDING
from mechlib.teaching.follow_power import FOLLOW_POWER
from mechlib.teaching.measured_gear import MEASURED_GEAR
from mechlib.teaching.own_transport import OWN_TRANSPORT
from mechlib.teaching.powers_off import POWERS_OFF
from mechlib.teaching.shape_cam import SHAPE_CAM
from mechlib.teaching.slipped_tooth import SLIPPED_TOOTH
from mechlib.teaching.solenoid import SOLENOID
from mechlib.teaching.stuck_tape import STUCK_TAPE
from mechlib.teaching.substitute import SUBSTITUTE
from mechlib.teaching.tape_speed import TAPE_SPEED
from mechlib.teaching.trains import TRAINS

EXERCISES: dict[int, tuple[Exercise, ...]] = {
    1: SLIPPED_TOOTH,
    2: TRAINS,
    3: FOLLOW_POWER,
    4: SHAPE_CAM,
    5: DWELL_TIMING,
    6: POWERS_OFF,
    7: TAPE_SPEED,
    8: SOLENOID,
    9: STUCK_TAPE,
    10: FAULT_FINDING,
    11: OWN_TRANSPORT,
    12: MEASURED_GEAR,
    13: SUBSTITUTE,
    14: BENCH_MINUTES,
}
