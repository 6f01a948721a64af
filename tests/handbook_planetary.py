"""What the library computes for the handbook's trains and planetary sets."""

from __future__ import annotations

from fractions import Fraction

from mechlib.gears import (
    Central,
    Driven,
    Held,
    Locked,
    PlanetarySet,
    assembly,
    double_pinion_set,
    efficiency,
    gear_pair,
    simple_set,
    spacing_step_deg,
    speeds,
    stepped_set,
    train,
)

SUNS = (False, False)

# Gearboxes of coupled sets.  The planets' teeth aren't printed; they change neither speeds nor losses here.
A, B = Held("sun 1 and 2"), Held("ring 1")
C, D, E = Locked("in", "sun 4"), Locked("carrier 3", "out"), Locked("sun 3", "sun 4")
FOUR_SETS_GEARS = {
    "1st gear": (A, B, C),
    "2nd gear": (A, B, E),
    "3rd gear": (B, C, E),
    "4th gear": (B, D, E),
    "5th gear": (B, C, D),
    "6th gear": (C, D, E),
    "7th gear": (A, C, D),
    "8th gear": (A, D, E),
    "reverse": (A, B, D),
}
SMALL, LARGE, LARGE_IN = Locked("ring", "small sun"), Locked("ring", "large sun"), Locked("in", "large sun")
CARRIER, STOP, LARGE_STOP = Locked("in", "arm"), Held("arm"), Held("large sun")
SHARED_RING_GEARS = {
    "1st gear": (SMALL, STOP),
    "2nd gear": (SMALL, LARGE_STOP),
    "3rd gear": (SMALL, LARGE),
    "4th gear": (SMALL, LARGE_IN),
    "5th gear": (SMALL, CARRIER),
    "6th gear": (LARGE_IN, CARRIER),
    "7th gear": (LARGE, CARRIER),
    "8th gear": (CARRIER, LARGE_STOP),
    "reverse": (LARGE, STOP),
    "second reverse": (LARGE_IN, STOP),
}


def computed() -> dict[tuple[str, str], float]:
    return _simple() | _exercises() | _coupled() | _maccord() | _efficiencies() | _trains() | _published()


def _simple():
    one, sun, ring = simple_set(16, 16, 48), Driven("sun", 1), Driven("ring", 1)
    found = {
        ("P1", "ring held, sun to carrier"): speeds(one, [sun, Held("ring")])["carrier"],
        ("P1", "sun held, ring to carrier"): speeds(one, [ring, Held("sun")])["carrier"],
        ("P1", "carrier held, sun to ring, turns of the sun for one"): speeds(one, [ring, Held("carrier")])[
            "sun"
        ],
        ("P2", "most planets that clear each other"): max(
            n for n in range(1, 25) if assembly(one, n, 1).clears
        ),
        ("P12", "ring"): speeds(simple_set(20, 20, 60), [Driven("carrier", 1), Held("sun")])["ring"],
    }
    steps = 360 / spacing_step_deg(one)
    return found | {("P2", f"steps left over with {n} planets"): steps % n for n in (2, 3, 4, 5, 8)}


def _exercises():
    third = speeds(simple_set(32, 20, 72), [Driven("carrier", 18), Held("ring")])
    eighth = speeds(simple_set(20, 30, 80), [Driven("sun", -100), Held("ring")])
    sixth = speeds(simple_set(23, 16, 55), [Driven("carrier", 100), Held("sun")])
    return {
        ("P3", "sun"): third["sun"],
        ("P3", "planet"): third.planets[0].rev_min,
        ("P6", "ring"): sixth["ring"],
        ("P8", "arm"): eighth["carrier"],
        ("P8", "planet"): eighth.planets[0].rev_min,
    }


def _coupled():
    sets = [
        simple_set(28, 18, 64, ("C and D", "arm", "A"), "A E C"),
        simple_set(26, 28, 82, ("C and D", "arm", "B"), "B F D"),
    ]
    fourth = speeds(sets, [Driven("arm", -100), Held("A")])
    paradox = [
        stepped_set(100, 20, 20, teeth, ("100", "arm", str(teeth)), f"to {teeth}", internal=SUNS)
        for teeth in (99, 101)
    ]
    fifth = speeds(paradox, [Driven("arm", 100), Held("100")])
    opposite = PlanetarySet("C A", Central("C", 100), "frame", Central("H", 10), ((12, 12),))
    slow = [gear_pair(100, 10, ("C", "E"), "C D"), opposite]
    slow.append(stepped_set(61, 49, 41, 51, ("E", "arm", "H"), "E F G H", internal=SUNS))
    return {
        ("P4", "annulus B"): fourth["B"],
        ("P4", "annulus B, more digits"): fourth["B"],
        ("P5", "sun 99"): fifth["99"],
        ("P5", "sun 101"): fifth["101"],
        ("P11", "arm turns for one of C"): abs(speeds(slow, [Driven("C", 1)])["arm"]),
    }


def _maccord():
    three = [
        stepped_set(20, 20, 20, teeth, ("20", "arm", str(teeth)), f"to {teeth}", internal=SUNS)
        for teeth in (19, 21)
    ]
    equal = stepped_set(20, 20, 20, 20, ("20", "arm", "equal"), "to equal", internal=SUNS)
    turned = speeds([*three, equal], [Driven("arm", 1), Held("20")])
    one = speeds(simple_set(20, 20, 60), [Driven("carrier", 1), Held("sun")])
    idler = speeds(double_pinion_set(20, 15, 20, 80), [Driven("carrier", 1), Held("sun")])
    crank = [
        simple_set(30, 15, 60, ("crank", "arm", "ring"), "A F"),
        double_pinion_set(60, 20, 10, 160, ("upper sun", "arm", "none"), "A' F'"),
    ]
    fig21 = speeds(crank, [Driven("crank", 1), Held("ring"), Locked("crank", "upper sun")])
    return {
        ("P7", "arm turns for one of the 19"): 1 / turned["19"],
        ("P7", "turns of the 20"): turned["equal"],
        ("P7", "arm turns for one of the 21"): 1 / turned["21"],
        ("P9", "wheel next to the sun"): one.planets[0].rev_min,
        ("P9", "wheel behind an idler"): idler.planets[1].rev_min,
        ("P10", "crank turns for one of the arm"): 1 / fig21["arm"],
        ("P10", "turns of the 10 in the arm for one of the crank"): fig21.planets[-1].about_carrier,
    }


def _efficiencies():
    one = simple_set(16, 16, 48, mesh_efficiency=0.99)
    ring, sun = [Driven("sun", 100), Held("ring")], [Driven("ring", 100), Held("sun")]
    carrier = [Driven("sun", 100), Held("carrier")]
    high = stepped_set(100, 20, 20, 99, ("100", "arm", "99"), mesh_efficiency=0.99, internal=SUNS)
    arm = [Driven("arm", 100), Held("100")]
    return {
        ("P13", "ring held, sun to carrier"): efficiency(one, ring, "sun", "carrier").efficiency,
        ("P13", "ring held, carrier to sun"): efficiency(one, ring, "carrier", "sun").efficiency,
        ("P13", "sun held, ring to carrier"): efficiency(one, sun, "ring", "carrier").efficiency,
        ("P13", "carrier held, sun to ring"): efficiency(one, carrier, "sun", "ring").efficiency,
        ("P14", "arm to sun 99"): efficiency(high, arm, "arm", "99").efficiency,
        ("P14", "sun 99 to arm"): efficiency(high, arm, "99", "arm").efficiency,
    }


def _trains():
    first, second = train("worm 1 : 100").ratio, train("worm 1 : 101").ratio
    return {
        ("R2", "6/200 · 5/216, turns in for one out"): 1 / train("6 : 200+5 : 216").ratio,
        ("R2", "6/72 · 6/60 · 5/60, turns in for one out"): -1 / train("6 : 72+6 : 60+5 : 60").ratio,
        ("R4", "worm turns until one wheel is a turn ahead"): Fraction(1) / (first - second),
    }


def _published():
    """Gearboxes whose tooth counts, ratios and efficiencies are printed."""
    teeth = ((48, 96), (48, 96), (69, 111), (23, 85))
    lossy = {basic: _four_sets(teeth, basic) for basic in (0.98, 0.97)}
    other = _four_sets(((37, 73), (46, 86), (41, 79), (25, 89)))
    found = {}
    for gear, engaged in FOUR_SETS_GEARS.items():
        conditions = [Driven("in", 1), *engaged]
        found["P15", gear] = 1 / speeds(lossy[0.98], conditions)["out"]
        found["P17", gear] = 1 / speeds(other, conditions)["out"]
        for basic, sets in lossy.items():
            found["P16", f"{gear}, η0 = {basic}"] = efficiency(sets, conditions, "in", "out").efficiency
    for gear, engaged in SHARED_RING_GEARS.items():
        conditions = [Driven("in", 1), Held("sun"), *engaged]
        found["P18", gear] = 1 / speeds(_shared_ring(), conditions)["out"]
    return found


def _four_sets(teeth, basic=1):
    """Four sets of sun and ring; basic: efficiency of each set with its carrier held, by two equal meshes."""
    members = (
        ("sun 1 and 2", "carrier 1", "ring 1"),
        ("sun 1 and 2", "in", "sun 3"),
        ("sun 3", "carrier 3", "sun 4"),
        ("sun 4", "out", "carrier 1"),
    )
    return [
        simple_set(sun, (ring - sun) // 2, ring, names, f"set {number}", mesh_efficiency=basic**0.5)
        for number, ((sun, ring), names) in enumerate(zip(teeth, members, strict=True), 1)
    ]


def _shared_ring():
    """A double-pinion set before two sets, single and double-pinion, that share arm and ring."""
    return [
        double_pinion_set(38, 20, 20, 82, ("sun", "in", "ring"), "in front"),
        simple_set(34, 20, 74, ("large sun", "arm", "out"), "large"),
        double_pinion_set(30, 20, 20, 74, ("small sun", "arm", "out"), "small"),
    ]
