"""What the library computes for the handbook's drives, tapes and windings."""

from __future__ import annotations

from mechlib.drives import (
    DECK_STRETCH,
    O_RING_STRETCH,
    BeltPath,
    Body,
    Clutch,
    CutOff,
    driven_speed,
    motor_from_line,
    standard_speed,
    tape_length,
    temperature_from,
    tension_ratio,
)
from mechlib.gears import train


def computed() -> dict[tuple[str, str], float]:
    return _tapes() | _belts() | _motor_and_clutch() | _heat() | _worm()


def _tapes():
    cassette = standard_speed("compact cassette").mm_s
    return {
        ("D1", "tape speed"): cassette / 10,
        ("D2", "tape speed 625/50"): standard_speed("half-inch video 625/50").mm_s,
        ("D2", "tape speed 525/60"): standard_speed("half-inch video 525/60").mm_s,
        ("D3", "length in feet"): tape_length(cassette, 30) / 304.8,
        ("D3", "length in metres"): tape_length(cassette, 30) / 1000,
    }


def _belts():
    path = BeltPath(12, 60, 80)
    slipping = driven_speed(driven_speed(200, 800, 400, creep_percent=2.5), 1000, 200, creep_percent=2.5)
    return {
        ("D4", "without slip"): driven_speed(driven_speed(200, 800, 400), 1000, 200),
        ("D4", "with 2.5 % slip at each belt"): slipping,
        ("D5", "tension ratio"): tension_ratio(0.6, 5 * 360),
        ("D6", "path"): path.length_mm,
        ("D6", "wrap on the small pulley"): path.driver_wrap_deg,
        ("D7", "O-ring, least"): O_RING_STRETCH[0],
        ("D7", "O-ring, most"): O_RING_STRETCH[1],
        ("D7 decks", "least"): DECK_STRETCH[0],
        ("D7 decks", "most"): DECK_STRETCH[1],
    }


def _motor_and_clutch():
    peak = motor_from_line(12, 600, 325).peak_power()  # at any voltage: the line alone counts
    return {
        ("D11", "torque at 300 rev/min"): peak.torque_Nmm / 1000,
        ("D11", "speed at peak power"): peak.rev_min,
        ("D11", "peak power"): peak.power_out_W,
        ("D12", "pressure"): Clutch(20, 40, 0, friction_per_mm=0.01).for_torque(18850).peak_MPa,
    }


def _heat():
    body, cut_off = Body(15, 480), CutOff(115, 90, 200)
    return {
        ("D8", "temperature"): temperature_from(100, 80).temperature_C,
        ("D9", "final rise"): body.final_rise(6),
        ("D9", "rise after one time constant"): body.rise(6, 480),
        ("D9", "time to 60 K"): body.seconds_to(60, 6),
        ("D10", "opens below the rated temperature by at most"): cut_off.rated_C - cut_off.earliest_C,
    }


def _worm():
    return {
        ("D13", f"worm of {percent} %, driven back"): train(f"worm 1 :({percent} %) 30").back_efficiency
        for percent in (30, 50)
    }
