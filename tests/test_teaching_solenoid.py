"""The five exercises on a solenoid and its cut-off, worked again from their text in exact fractions."""

import re
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.solenoid import (
    CUT_OFF,
    DUTY,
    HOLDS,
    HOW_HOT,
    MAY,
    OPENS,
    SOLENOID,
    VERDICTS,
    WARM_OHM,
    WARM_PULL,
)

ANY = None
FAR_BELOW = Fraction("234.5")  # where the line of copper's resistance comes to nought: IEC 60028, from memory
OHM_A_DEGREE = 1 / (FAR_BELOW + 20)  # of each ohm at 20 °C: 0.39 %


def found(pattern: str, question: str) -> list[Fraction]:
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def warm_ohm(question):
    ohm, warm = found(r"has ([\d.]+) Ω at 20 °C\. What is its resistance at (\d+) °C", question)
    each = ohm * OHM_A_DEGREE
    return (ohm + each * (warm - 20),), {
        "ratio upside down": (ohm * ohm / (ohm + each * (warm - 20)),),
        "celsius alone": (ohm / 20 * warm,),
        "rise for temperature": (ohm + each * (warm - 40),),
        "cold end at nought": (ohm + ohm / FAR_BELOW * warm,),
    }


def how_hot(question):
    ohm, now = found(r"solenoid has ([\d.]+) Ω\. .* one wire off .* colleague measures ([\d.]+)", question)
    rise = (now - ohm) / (ohm * OHM_A_DEGREE)
    return (20 + rise,), {
        "rise for temperature": (rise,),
        "start added twice": (40 + rise,),
        "celsius alone": (20 * now / ohm,),
        "ratio upside down": (20 - (now - ohm) / (now * OHM_A_DEGREE),),
        "not taken off again": (20 + rise + FAR_BELOW,),
    }


def warm_pull(question):
    volts, pull, ohm, warm = found(
        r"constant (\d+) V a solenoid pulls ([\d.]+) N when cold, with (\d+) Ω\. Warm, it has ([\d.]+) Ω",
        question,
    )
    left = pull * ohm * ohm / (warm * warm)
    return (left,), {
        "square forgotten": (pull * ohm / warm,),
        "ratio upside down": (pull * pull / left,),
        "upside down and no square": (pull / ohm * warm,),
        "current for force": (volts / warm,),
        "loss for what is left": (pull - left,),
    }


def duty(question):
    power, on, off, rth = found(
        r"turns (\d+) W into heat while it pulls\. It pulls for (\d) s, then waits for (\d) s.* it (\d+) °C",
        question,
    )
    joules = power * on  # of one beat
    watts = joules / (on + off)
    return (watts * rth,), {
        "duty forgotten": (power * rth,),
        "on over off": (joules / off * rth,),
        "pause for pull": (power * rth - watts * rth,),
        "watts for degrees": (watts,),
        "divided by the resistance": (watts / rth,),
    }


def cut_off(question):
    rated, holding, watts, rth, air = found(
        r"functioning temperature of (\d+) °C and a holding temperature of (\d+) °C.* with ([\d.]+) W on .* "
        r"winding (\d+) °C warmer than the air, which has (\d+) °C",
        question,
    )
    hot = air + watts * rth
    verdict = OPENS if hot >= rated else MAY if hot > holding else HOLDS
    near, far = {HOLDS: (MAY, OPENS), MAY: (HOLDS, OPENS), OPENS: (MAY, HOLDS)}[verdict]
    return (hot, verdict), {
        "air forgotten": (watts * rth, ANY),
        "air taken off": (watts * rth - air, ANY),
        "watts divided": (air + watts / rth, ANY),
        "verdict against the temperature": (hot, near),
        "two steps off": (hot, far),
    }


WORKED = [
    (WARM_OHM, warm_ohm, 1),
    (HOW_HOT, how_hot, 1),
    (WARM_PULL, warm_pull, 2),
    (DUTY, duty, 1),
    (CUT_OFF, cut_off, 1),
]


@rules.each_of(SOLENOID, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""

    known = frozenset({"234.5"})


def test_every_case_is_drawn_and_none_is_near_a_mark():
    drawn = rules.draws(CUT_OFF)
    assert min(sum(d.right[1] == verdict for d in drawn) for verdict in VERDICTS) > 30
    for d in drawn:
        marks = (d.numbers["holding"], d.numbers["rated"])
        assert min(abs(d.right[0] - mark) for mark in marks) > 4 and d.numbers["watts"] > 0
    assert all(len({each.question for each in rules.draws(e)}) > 100 for e in SOLENOID)


def test_a_winding_that_is_fired_again_and_again_gets_no_hotter_than_one_lives_through():
    rises = [each.right[0] for each in rules.draws(DUTY)]
    assert max(rises) <= 90 and min(rises) < 20 and sum(rise > 60 for rise in rises) > 30
    rules.drawn_within(DUTY, power=(6, 18, 1), on=(1, 6, 0), off=(1, 9, 0), rth=(8, 20, 1))


def test_the_slips_that_apprentices_make_most_are_known():
    names = {slip.name for exercise in SOLENOID for slip in exercise.slips}
    assert names >= {"ratio upside down", "square forgotten", "duty forgotten", "rise for temperature"}
    assert names >= {"air forgotten", "on over off"}
