"""What the library computes for the handbook's spur gears."""

from __future__ import annotations

import math
from bisect import bisect

from mechlib.gears.measuring import MODULES_I, module_of_pitch, over_pins_mm, span_mm
from mechlib.gears.racks import FULL_DEPTH_14_5, ISO_53_A, BasicRack
from mechlib.gears.spur import Gear, involute, involute_angle
from mechlib.gears.spur_contact import base_pitch, contact, mesh_efficiency, rack_contact_ratio
from mechlib.gears.spur_mesh import mesh, tight_centre_mm
from mechlib.gears.spur_shift import centre_for_backlash, least_shift, shift_sum, shortened

INCH = 25.4


def computed() -> dict[tuple[str, str], float]:
    made = _printed_pairs() | _contacts() | _angles() | _measures() | _series()
    return made | _shifts() | _wide() | _paths()


def pair(z1, z2, rack=ISO_53_A, module=1.0, centre=None):
    return mesh(Gear(z1, module, rack), Gear(z2, module, rack), centre or module * (z1 + z2) / 2)


def _printed_pairs():
    plain = pair(12, 24, module=3)
    gears = Gear(12, 3, ISO_53_A, 0.6), Gear(24, 3, ISO_53_A, 0.36)
    centre = tight_centre_mm(*gears)
    gears = shortened(*gears, centre, 0.25)
    shifted = mesh(*gears, centre)
    found = {
        ("G1", "centre distance"): tight_centre_mm(plain.gear1, plain.gear2),
        ("G1", "reference diameter of 12"): plain.gear1.reference_mm,
        ("G1", "reference diameter of 24"): plain.gear2.reference_mm,
        ("G1", "contact ratio by the tip circles alone"): contact(plain).blind_ratio,
        ("G2", "working pressure angle"): shifted.working_angle_deg,
        ("G2", "involute of the working pressure angle"): involute(shifted.working_angle_deg),
        ("G2", "centre distance"): centre,
        ("G2", "centre distance modification coefficient"): (centre - 54) / 3,
        ("G3", "sum of the profile shifts"): shift_sum(12, 24, 3, ISO_53_A, 56.4999),
    }
    for at, (one, other) in enumerate(zip((plain.gear1, plain.gear2), gears, strict=True)):
        found |= {
            ("G1", f"base diameter of {one.teeth}"): one.base_mm,
            ("G1", f"tip diameter of {one.teeth}"): one.tip_mm,
            ("G1", f"root diameter of {one.teeth}"): one.root_mm,
            ("G2", f"working pitch diameter of {one.teeth}"): shifted.working_mm[at],
            ("G2", f"shortened tip diameter of {one.teeth}"): other.tip_mm,
            ("G2", f"root diameter of {one.teeth}"): other.root_mm,
        }
    return found


def _contacts():
    ratios = {
        ("G4", f"{z1} and {z2}"): contact(pair(z1, z2)).ratio
        for z1, z2 in ((17, 17), (20, 20), (25, 20), (30, 30), (40, 40), (60, 60))
    }
    ratios["G4", "20 and a rack"] = rack_contact_ratio(Gear(20, 1, ISO_53_A))

    def above_base(z1, z2):
        """Whether the tip of the larger gear touches the pinion above its base circle."""
        path = contact(pair(z1, z2))
        start = path.end_mm - path.blind_ratio * base_pitch(path.mesh)
        return start + z1 / 2 * math.sin(ISO_53_A.angle) >= 0

    def largest_mate(z1):
        return z1 - 1 + bisect(range(z1, 2000), False, key=lambda z2: not above_base(z1, z2))

    largest = {("G7", f"pinion of {z1}"): largest_mate(z1) for z1 in (13, 14, 15, 16, 17)}
    gears = [
        Gear(z, 4.5, ISO_53_A, x, (tip / 4.5 - z) / 2 - 1 - x)
        for z, x, tip in ((16, 0.1817, 82.46), (24, 0.1715, 118.36))
    ]
    tested = mesh(*gears, tight_centre_mm(*gears))
    return ratios | largest | {
        ("G18", "working pressure angle"): tested.working_angle_deg,
        ("G18", "tooth loss factor"): (1 - mesh_efficiency(tested, 0.1)) / 0.1,
    }  # fmt: skip


def _angles():
    found = {("G5", f"of {angle:g}°"): involute(angle) for angle in (14.5, 20, 25, 30)}
    for angle in (14.5, 20, 25):
        rack = BasicRack("straight", angle, 1.0, 1.0, 0.0, "straight down to one module")
        one, ten_more = least_shift(6, rack), least_shift(16, rack)
        found["G6", f"below, {angle:g}°"] = 6 + 10 * one / (one - ten_more)
    return found | {("G5", "angle of 0.0268197"): involute_angle(0.0268197)}


def _measures():
    module = module_of_pitch(12)
    inch = pair(11, 18, module=module)
    thick = Gear(12, 10, ISO_53_A, shift=0.3)
    half = thick.thickness_mm(120) / 120
    return {
        ("G8", "span"): span_mm(24, 3, ISO_53_A, 4, 0.4),
        ("G9", "measure"): over_pins_mm(20, 1, ISO_53_A, 1.7),
        ("G10", "measure"): over_pins_mm(32, INCH / 4, ISO_53_A, 1.728 * INCH / 4) / INCH,
        ("G11", "tooth thickness"): inch.gear1.thickness_mm(inch.gear1.reference_mm) / INCH,
        ("G11", "centre distance"): inch.centre_mm / INCH,
        ("G11", "base diameter of 11"): inch.gear1.base_mm / INCH,
        ("G11", "base diameter of 18"): inch.gear2.base_mm / INCH,
        **{("G12", f"{pitch:g} DP"): module_of_pitch(pitch) for pitch in (48, 64, 50.8, 31.75, 25.4)},
        ("G14", "thickness along the arc"): thick.thickness_mm(120),
        ("G14", "half the tooth's angle"): math.degrees(half),
        ("G14", "chord"): 120 * math.sin(half),
        ("G14", "height above the chord"): thick.tip_mm / 2 - 60 * math.cos(half),
    }


def _series():
    """G13: every module of series I below 1 mm, so that one more or fewer is a key too many or missing."""
    below, above = ([m for m in MODULES_I if (m < 1) == small] for small in (True, False))
    return {
        ("G13", f"{side} 1 mm, number {at}"): module
        for side, modules in (("below", below), ("from", above[:4]))
        for at, module in enumerate(modules, 1)
    }


def _shifts():
    """G15 is helical: its transverse section is a spur pair with a rack that is stretched by 1/cos β."""
    normal, transverse = math.radians(20), math.radians(21.2990642859)
    stretch = math.tan(transverse) / math.tan(normal)
    rack = BasicRack("transverse", math.degrees(transverse), 1.0, 1.25, 0.2, "stretched")
    base_slope = math.asin(math.sqrt(1 - stretch**-2) * math.cos(normal))
    working = math.acos(3.5 * stretch * 61 / 2 * math.cos(transverse) / 116.5)
    circular = 0.03 / math.cos(base_slope) / math.cos(working)
    sums = [shift_sum(31, 30, 3.5 * stretch, rack, 116.5, backlash) * stretch for backlash in (0, circular)]
    return {
        ("G15", "without backlash"): sums[0],
        ("G15", "with backlash"): sums[1],
        # Printed as the shift of a gear that would fill the ring's spaces.
        ("G17", "profile shift of the ring"): -shift_sum(16, 24, 3, ISO_53_A, 13.1683, internal=True),
    }


def _wide():
    little, sixth = 1e-5, module_of_pitch(6)
    found = {
        ("G16", f"{rack.pressure_angle_deg:g}°"): (
            centre_for_backlash(Gear(40, 1, rack), Gear(40, 1, rack), little) - 40
        )
        / little
        for rack in (FULL_DEPTH_14_5, ISO_53_A)
    }
    far = pair(19, 37, module=sixth, centre=1.02 * 28 * sixth)
    half = module_of_pitch(2)
    return found | {
        ("G20", "working pressure angle"): pair(16, 40, module=half, centre=28.5 * half).working_angle_deg,
        ("G21", "angle of the pinion"): 60 * math.degrees(2 * far.backlash_mm / far.working_mm[0]),
    }


def _paths():
    low = BasicRack("low", 20, 10 / 12, 1.25, 0.2, "addendum of 10 mm with a module of 12 mm")
    path = contact(pair(17, 49, module=6))
    slides = (1 + 17 / 49) / 51
    found = {("G19", "30 and 80, length"): contact(pair(30, 80, low, 12)).length_mm}
    for teeth, gear in ((17, path.mesh.gear1), (49, path.mesh.gear2)):
        turn = math.degrees(2 * path.length_mm / gear.base_mm)
        found["G19", f"17 and 49, turn of {teeth} with a pair"] = turn
    return found | {
        ("G19", "17 and 49, sliding over rolling at the start"): -path.start_mm * slides,
        ("G19", "17 and 49, sliding over rolling at the end"): path.end_mm * slides,
    }
