"""The five exercises on a planetary set, worked again from the question's text alone, in exact fractions.

Speeds are found by the tabular method (all locked and turned together, then the carrier turned back), torques
by the balance of power and the balance of torques; neither is what the library does.
"""

import re
from fractions import Fraction

import exercise_rules as rules

from mechlib.gears import assembly, simple_set
from mechlib.teaching.follow_power import (
    ALL_THREE,
    CARRIER_HELD,
    FOLLOW_POWER,
    MOVES,
    RING_HELD,
    RING_TEETH,
    WHICH_MOVES,
)
from mechlib.teaching.planetary_sets import MODULE_MM, SETS

RING_MOVES, CARRIER_MOVES = MOVES["ring"], MOVES["carrier"]
TEETH = r"sun of (\d+) teeth, planets of (\d+) and a ring of (\d+)\. "
SIGNED = r"([+−]\d+) rev/min"
ANY = None  # a slip that shows in the other field only


def found(pattern: str, question: str) -> list[Fraction]:
    """The numbers in a question as fractions."""
    return [Fraction(group.replace("−", "-")) for group in re.search(pattern, question).groups()]


def table(sun: Fraction, ring: Fraction, carrier_turns: Fraction, sun_back: Fraction):
    """Speeds of sun, carrier and ring: all turn as one, then the sun alone turns with the carrier fixed.

    ``ring`` is counted negative for an external wheel.
    """
    return carrier_turns + sun_back, carrier_turns, carrier_turns - sun_back * sun / ring


def ring_teeth(question):
    sun, planets, planet = found(r"sun of (\d+) teeth and (\d) planets of (\d+) teeth", question)
    centres = (sun + planet) / 2  # in modules; the ring's pitch radius is a planet's radius farther out
    return (2 * (centres + planet / 2),), {
        "one side only": (2 * centres,),
        "every planet counted": (sun + planets * planet,),
        "everything doubled": (4 * centres,),
        "sun and planet mixed up": (2 * (centres + sun / 2),),
        "the sun left out": (2 * planet,),
    }


def carrier_held(question):
    sun, planet, ring, speed = found(TEETH + r"The carrier is held, and the sun turns at " + SIGNED, question)
    right = table(sun, ring, Fraction(0), speed)[2]
    carrier_if_ring_held = speed / (1 + ring / sun)
    assert table(sun, ring, carrier_if_ring_held, speed - carrier_if_ring_held)[2] == 0
    return (right,), {
        "ratio upside down": (-speed / (sun / ring),),
        "ring counted as external": (table(sun, -ring, Fraction(0), speed)[2],),
        "planet teeth used": (-speed / planet * sun,),
        "sun's teeth left out": (-speed / ring * planet,),
        "the ring held instead": (carrier_if_ring_held,),
    }


def ring_held(question):
    sun, planet, ring, speed = found(TEETH + r"The ring is held, and the sun turns at " + SIGNED, question)
    right = speed / (1 + ring / sun)
    assert table(sun, ring, right, speed - right) == (speed, right, 0)
    external = speed / (1 - ring / sun)
    assert table(sun, -ring, external, speed - external) == (speed, external, 0)
    return (right,), {
        "ratio upside down": (speed * (1 + ring / sun),),
        "carrier forgotten": (-speed / ring * sun,),
        "sign lost": (-right,),
        "ring counted as external": (external,),
        "planet teeth used": (speed / (1 + planet / sun),),
        "the sun held instead": (speed / (1 + sun / ring),),
    }


def all_three(question):
    pattern = TEETH + r"Nothing is held: the sun turns at " + SIGNED + " and the carrier at " + SIGNED
    sun, planet, ring, speed, carrier = found(pattern, question)
    seen = speed - carrier  # the sun's speed as seen from the carrier
    return (table(sun, ring, carrier, seen)[2],), {
        "ratio upside down": (table(ring, sun, carrier, seen)[2],),
        "carrier forgotten": (table(sun, ring, Fraction(0), speed)[2],),
        "carrier not added back": (table(sun, ring, Fraction(0), seen)[2],),
        "ring counted as external": (table(sun, -ring, carrier, seen)[2],),
        "planet teeth used": (table(sun, planet, carrier, seen)[2],),
        "sign lost": (table(sun, ring, -carrier, speed + carrier)[2],),
        "carrier not taken away": (table(sun, ring, Fraction(0), speed)[2] + carrier,),
    }


def sun_and_hold(sun, ring, load, ring_moves):
    """Sizes of the torques on the sun and on what stands, by power in = power out and torques that add to 0.

    The sun turns at +1 with a torque that drives it; the load acts against the output's motion.
    """
    out = table(sun, ring, Fraction(0), Fraction(1))[2] if ring_moves else 1 / (1 + ring / sun)
    on_output = load if out < 0 else -load
    on_sun = -on_output * out
    return on_sun, abs(on_sun + on_output)


def which_moves(question):
    pattern = TEETH + r".* takes (\d+) N·mm at the ring .* takes (\d+) N·mm at the carrier"
    sun, planet, ring, ring_load, carrier_load = found(pattern, question)
    cases = {
        RING_MOVES: sun_and_hold(sun, ring, ring_load, True),
        CARRIER_MOVES: sun_and_hold(sun, ring, carrier_load, False),
    }
    right, wrong = sorted(cases, key=lambda moving: cases[moving][0])
    at_sun, bears = cases[right]
    standing_load, moving_load = ring_load, carrier_load
    if right == RING_MOVES:
        standing_load, moving_load = carrier_load, ring_load
    assert bears < standing_load and cases[wrong][1] > moving_load  # the one stands, the other could not
    wrong_ring = {
        teeth: sun_and_hold(sun, teeth, moving_load, right == RING_MOVES) for teeth in (-ring, planet)
    }
    return (bears, right), {
        "the other output": (cases[wrong][1], wrong),
        "torque of the other case": (cases[wrong][1], right),
        "verdict against the torque": (bears, wrong),
        "carrier forgotten": (moving_load, ANY),
        "what it can bear": (standing_load, ANY),
        "the sun's torque": (at_sun, ANY),
        "ring counted as external": (wrong_ring[-ring][1], ANY),
        "planet teeth used": (wrong_ring[planet][1], ANY),
    }


WORKED = [
    (RING_TEETH, ring_teeth, 0),
    (CARRIER_HELD, carrier_held, 1),
    (RING_HELD, ring_held, 1),
    (ALL_THREE, all_three, 1),
    (WHICH_MOVES, which_moves, 1),
]


@rules.each_of(FOLLOW_POWER, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""


def test_the_slips_that_apprentices_make_most_are_known():
    names = {slip.name for exercise in FOLLOW_POWER for slip in exercise.slips}
    assert names >= {"ratio upside down", "sign lost", "carrier forgotten", "planet teeth used"}
    assert "ring counted as external" in names


def test_every_set_drawn_can_be_put_together():
    assert len(SETS) > 200
    for sun, planet, planets in SETS:
        assert (2 * sun + 2 * planet) % planets == 0  # (z_sun + z_ring)/N is whole: spaced equally
        assert assembly(simple_set(sun, planet, sun + 2 * planet), planets, MODULE_MM).fits


def test_every_case_is_drawn():
    drawn = rules.draws(WHICH_MOVES)
    assert min(sum(d.right[1] == moves for d in drawn) for moves in MOVES.values()) > 60
    smaller_stands = 0  # it isn't enough to look for the smaller load
    for d in drawn:
        smaller = RING_MOVES if d.numbers["ring_load"] < d.numbers["carrier_load"] else CARRIER_MOVES
        smaller_stands += smaller != d.right[1]
    assert smaller_stands > 20
    senses = rules.draws(ALL_THREE)
    assert min(sum(d.right[0] > 0 for d in senses), sum(d.numbers["carrier"] > 0 for d in senses)) > 10
    assert all(len({each.question for each in rules.draws(e)}) > 100 for e in FOLLOW_POWER)


def test_nothing_is_decided_near_the_change_over():
    for seed in rules.SEEDS:
        sun, _, ring, *loads = found(
            TEETH + r".* takes (\d+) N·mm at the ring .* takes (\d+) N·mm at", WHICH_MOVES.draw(seed).question
        )
        at_ring, at_carrier = loads[0] / ring, loads[1] / (sun + ring)
        assert max(at_ring, at_carrier) / min(at_ring, at_carrier) > Fraction(6, 5)
