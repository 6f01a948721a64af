"""The exercises on a substitute gear, worked again from the question's text alone, and beside the library."""

import math
import re
from collections import Counter
from fractions import Fraction

import exercise_rules as rules
import pytest

from mechlib.bench.broken_gear import Case, Mate, Seat, Work, known_size
from mechlib.bench.stock import read_stock
from mechlib.bench.substitute import FITS, NO, substitutes
from mechlib.gears.racks import ISO_53_A
from mechlib.gears.spur import Gear
from mechlib.gears.spur_mesh import mesh
from mechlib.teaching.substitute import (
    DECIDE,
    GEARS,
    MORE_BACKLASH,
    NEW_SPEED,
    SUBSTITUTE,
    TAPE_OFF,
    WIDER,
)

ANY = None  # a slip that shows in the other field only


def found(pattern, question):
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def new_speed(question):
    pinion, speed, old, new = found(
        r"of (\d+) teeth turns at (\d+) .* of (\d+) teeth\. .* one of (\d+) teeth", question
    )
    passing = pinion * speed
    return (passing / new,), {
        "old wheel": (passing / old,),
        "ratio upside down": (speed / (pinion / new),),
        "pinion forgotten": (speed / (new / old),),
        "change the wrong way": (passing / old * new / old,),
    }


def tape_off(question):
    old, new = found(r"has (\d+) teeth.* of (\d+) teeth is put", question)
    factor = old / new
    percent, octaves = 100 * factor - 100, math.log(factor) / math.log(2)
    return (percent, 1200 * octaves), {
        "ratio upside down": (100 / factor - 100, -1200 * octaves),
        "over the old count": (100 - 100 / factor, 1200 * math.log(2 - 1 / factor) / math.log(2)),
        "sign lost": (100 - 100 * factor, -1200 * octaves),
        "percent for cents": (percent, 1200 * (factor - 1)),
        "other logarithm": (percent, 1200 * math.log(factor)),
    }


def wider(question):
    broken, module, mate, centre = found(
        r"of (\d+) teeth, module ([\d.]+) mm, .* of (\d+) teeth\. .* are ([\d.]+) mm apart", question
    )
    radii = [module * teeth / 2 for teeth in (broken, mate)]
    more = centre - sum(radii)
    return (more, more / module), {
        "diameters for radii": (more - sum(radii), (more - sum(radii)) / module),
        "tips counted in": (more - module, more / module - 1),
        "one gear only": (more + radii[0], (more + radii[0]) / module),
        "modules upside down": (more, module / more),
        "times the module": (more, module * more),
    }


def more_backlash(question):
    had, moved, slope = found(r"have ([\d.]+) mm of .* apart by ([\d.]+) mm.* is ([\d.]+\d)\.", question)
    return (had + moved * slope * 2,), {
        "one flank only": (had + moved * slope,),
        "tangent forgotten": (had + moved + moved,),
        "old backlash forgotten": (moved * slope * 2,),
        "wrong way": (had - moved * slope * 2,),
        "divided": (had + 2 * (moved / slope),),
    }


OFFER = r"(\d+) teeth, (module [\d.]+|\d+ DP), (no profile shift|profile shift \+0\.4), bore ([\d.]+) mm"


def offers(question):
    return {f"gear {letter}": re.search(f"gear {letter}: {OFFER}", question).groups() for letter in "ABCD"}


def decide(question):
    old, module, shaft = found(r"broken: (\d+) teeth, module ([\d.]+) mm.* shaft of ([\d.]+) mm", question)
    (new,) = found(r"the one of (\d+) teeth", question)
    kinds = {}
    for gear, (teeth, size, shift, bore) in offers(question).items():
        if "DP" in size:
            kinds["nearly the same size"] = gear
        elif int(teeth) != old:
            kinds["other count"] = gear
        elif not shift.startswith("no"):
            kinds["thicker teeth"] = gear
        else:
            kinds["right"] = gear
            assert Fraction(bore) < shaft and size == f"module {float(module)}"
    percent = 100 * old / new - 100
    return (percent, kinds.pop("right")), {
        "ratio upside down": (100 * new / old - 100, ANY),
        "sign lost": (-percent, ANY),
        **{name: (percent, kinds[name]) for name in ("nearly the same size", "other count", "thicker teeth")},
    }


WORKED = [
    (NEW_SPEED, new_speed, 1),
    (TAPE_OFF, tape_off, 2),
    (WIDER, wider, 3),
    (MORE_BACKLASH, more_backlash, 3),
    (DECIDE, decide, 2),
]


@rules.each_of(SUBSTITUTE, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""

    known = {"1200", "2"}


def test_every_case_is_drawn():
    chosen = Counter(each.right[1] for each in rules.draws(DECIDE))
    assert set(chosen) == set(GEARS) and min(chosen.values()) > 30
    assert all(len({each.question for each in rules.draws(e)}) > 100 for e in SUBSTITUTE)


def test_numbers_come_from_all_of_their_spans():
    rules.drawn_within(NEW_SPEED, pinion=(12, 24, 1), speed=(60, 300, 10), old=(30, 60, 2), more=(-4, 4, 0))
    rules.drawn_within(TAPE_OFF, old=(24, 60, 2), more=(-3, 3, 0))
    rules.drawn_within(
        WIDER, module=(0.4, 0.8, 0), broken=(14, 25, 1), mate=(30, 60, 2), twentieths=(2, 12, 1)
    )
    rules.drawn_within(MORE_BACKLASH, hundredths=(2, 9, 0), apart_hundredths=(4, 20, 1))
    rules.drawn_within(DECIDE, old=(24, 50, 2), more=(-2, 2, 0), shaft=(2.0, 4.0, 0), module=(0.5, 1.0, 0))


@pytest.mark.parametrize("seed", [1, 7, 40])
def test_backlash_grows_as_the_teeth_themselves_have_it(seed):
    """The rule of twice the tangent beside the real mesh of two gears of a coarse module."""
    drawn = MORE_BACKLASH.draw(seed).numbers
    one, other = Gear(40, 2, ISO_53_A), Gear(60, 2, ISO_53_A)
    centre = 100 + drawn["had"] / (2 * math.tan(math.radians(20)))
    grown = mesh(one, other, centre + drawn["moved"]).backlash_mm
    assert MORE_BACKLASH.draw(seed).right[0] == pytest.approx(grown, abs=0.004)


@pytest.mark.parametrize("seed", range(0, 200, 25))
def test_the_library_decides_alike(seed):
    """The four gears as a stock list, looked at by the whole search."""
    drawn = DECIDE.draw(seed)
    lines = ["name;teeth;module_mm;diametral_pitch;bore_mm;width_mm;count;shift;pressure_angle_deg"]
    for name, (teeth, size, shift, bore) in offers(drawn.question).items():
        module, pitch = (size.split()[1], "") if "module" in size else ("", size.split()[0])
        lines.append(f"{name};{teeth};{module};{pitch};{bore};4;1;{'0.4' if '+' in shift else '0'};20")
    module, old, shaft = (drawn.numbers[key] for key in ("module", "old", "shaft"))
    mate = Mate("pinion", 20, module * ((20 + old) / 2 + 0.1), True, off_mm=0.01 * module)
    size = known_size(module, ISO_53_A)
    case = Case(old, (size,), (mate,), Seat(shaft), Work(cold_C=20, warm_C=20, moves_tape=True))
    rows = {row.name: row for row in substitutes(case, read_stock("\n".join(lines)), make=False).rows}
    right = drawn.right[1]
    assert {name for name, row in rows.items() if row.verdict == NO} == set(GEARS) - {right}
    assert rows[right].verdict != FITS and "bore it out" in rows[right].to_do[0]
