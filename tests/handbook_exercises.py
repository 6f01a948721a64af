"""What the drives give for exercises and tables that were read in print or on public pages."""

from __future__ import annotations

from math import pi

from mechlib.drives.belt_grip import tension_ratio
from mechlib.drives.belts import BeltPath, driven_speed
from mechlib.drives.capstan import speed_error, standard_speed
from mechlib.drives.copper import resistance_at
from mechlib.drives.motor import Motor

TURN_DEG = 360
INTERVALS = ((3, 2), (16, 15), (9, 8), (6, 5), (5, 4), (4, 3), (15, 8))
SPEEDS = {"15 in/s": "open reel 38", "7 1/2 in/s": "open reel 19", "3 3/4 in/s": "open reel 9.5",
          "1 7/8 in/s": "compact cassette"}  # fmt: skip


def computed() -> dict[tuple[str, str], float]:
    shafts = [150, 150]
    for creep in (0, 1):
        for driver, driven in ((750, 450), (900, 150)):
            shafts[creep] = driven_speed(shafts[creep], driver, driven, creep_percent=2 * creep)
    # A motor of 2 V at 100 rev/min has this constant; its resistance doesn't matter here.
    generator = Motor(2, 1, 1000 * 2 / (100 * pi / 30))
    found = {
        ("D14", "length"): BeltPath(160, 50, 1200).length_mm / 100,  # to a tenth of the size
        ("D15", "without slip"): shafts[0],
        ("D15", "with 2 % slip at each belt"): shafts[1],
        ("D16", "μ = 0.3, one turn"): tension_ratio(0.3, TURN_DEG),
        ("D16", "μ = 0.3, two turns"): tension_ratio(0.3, 2 * TURN_DEG),
        ("D16", "μ = 0.25, two and a half turns"): tension_ratio(0.25, 2.5 * TURN_DEG),
        ("D19", "resistance at 100 °C"): resistance_at(100, 100, 40),
        ("D20", "current"): generator.at(400).current_A,
    }
    found |= {("D17", f"{a} : {b}"): speed_error(a, b).cents for a, b in INTERVALS}
    return found | {("D18", key): standard_speed(name).mm_s / 10 for key, name in SPEEDS.items()}
