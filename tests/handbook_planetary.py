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


def computed() -> dict[tuple[str, str], float]:
    return _simple() | _exercises() | _coupled() | _maccord() | _efficiencies() | _trains()


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
