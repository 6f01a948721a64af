"""Drives: motor, belts, capstan, reels and clutch, solenoid and thermal cut-off."""

from mechlib.drives.belt_choice import (
    DECK_STRETCH,
    O_RING_STRETCH,
    BeltCandidate,
    WantedSize,
    choose_belt,
    wanted_size,
)
from mechlib.drives.belt_grip import Belt, BeltAtWork, BeltDrive, Pulley, grip, tension_ratio
from mechlib.drives.belts import BeltPath, driven_speed, path_for_length, pitch_diameter
from mechlib.drives.capstan import (
    STANDARD_SPEEDS,
    PinchGrip,
    SpeedError,
    StandardSpeed,
    capstan_speed,
    error_from_tone,
    pinch_grip,
    speed_error,
    standard_speed,
    tape_speed,
)
from mechlib.drives.clutch import Clutch, ClutchGrip
from mechlib.drives.copper import WindingTemperature, resistance_at, temperature_from
from mechlib.drives.heating import Body, RepeatedHeating, Step
from mechlib.drives.motor import DataCheck, Motor, MotorPoint, check_data, motor_from_line
from mechlib.drives.reels import Pack, TensionRange, Winding, pack_of, tape_length, tension_range, wind
from mechlib.drives.solenoid import Pull, Solenoid
from mechlib.drives.thermal_cut_off import CutOff, Opening, advice, opening

__all__ = [
    "DECK_STRETCH",
    "O_RING_STRETCH",
    "STANDARD_SPEEDS",
    "Belt",
    "BeltAtWork",
    "BeltCandidate",
    "BeltDrive",
    "BeltPath",
    "Body",
    "Clutch",
    "ClutchGrip",
    "CutOff",
    "DataCheck",
    "Motor",
    "MotorPoint",
    "Opening",
    "Pack",
    "PinchGrip",
    "Pull",
    "Pulley",
    "RepeatedHeating",
    "Solenoid",
    "SpeedError",
    "StandardSpeed",
    "Step",
    "TensionRange",
    "WantedSize",
    "Winding",
    "WindingTemperature",
    "advice",
    "capstan_speed",
    "check_data",
    "choose_belt",
    "driven_speed",
    "error_from_tone",
    "grip",
    "motor_from_line",
    "opening",
    "pack_of",
    "path_for_length",
    "pinch_grip",
    "pitch_diameter",
    "resistance_at",
    "speed_error",
    "standard_speed",
    "tape_length",
    "tape_speed",
    "temperature_from",
    "tension_range",
    "tension_ratio",
    "wanted_size",
    "wind",
]
