"""The exercises on powering off, worked again from the question's text alone, in exact fractions.

Torques go by the balance of work, speeds by similar triangles under the motor's line, times by turns.
"""

import re
from collections import Counter
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.power_off_causes import CAUSES, ELECTRONICS, SLIPPING, STIFF, SUPPLY, WORN
from mechlib.teaching.powers_off import (
    IN_TIME,
    IN_TIME_OR_NOT,
    LATE,
    MOTOR_TORQUE,
    POWERS_OFF,
    SPEED_AT_LOAD,
    WHAT_IS_WRONG,
    WHERE_IT_SLIPS,
)

ANY = None  # a slip that shows in the other field only


def found(pattern: str, question: str) -> list[Fraction]:
    """The numbers in a question as fractions."""
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def motor_torque(question):
    cam, turns, percent, friction = found(
        r"ask for (\d+) N·mm .* makes (\d+) turns .* pass on (\d+) % .* takes ([\d.]+) N·mm", question
    )
    arrives = percent / 100
    given = cam / arrives  # work for a radian of the cam; the motor turns by `turns` radians for it
    return (given / turns + friction,), {
        "losses forgotten": (cam / turns + friction,),
        "losses the wrong way": (cam * arrives / turns + friction,),
        "friction forgotten": (given / turns,),
        "friction sent through the train": (given / turns + friction / arrives,),
        "ratio forgotten": (given + friction,),
    }


def speed_at_load(question):
    idle, stall, torque = found(r"turns at (\d+) rev.* stalls at (\d+) N·mm.* for ([\d.]+) N·mm", question)
    lost = idle / stall * torque  # so much a N·mm
    return (idle - lost,), {
        "what is lost": (lost,),
        "no straight line": (idle * stall / (stall + torque),),
        "added": (idle + lost,),
        "load forgotten": (idle,),
    }


def where_it_slips(question):
    new, lost, first, start, last, end = found(
        r"more than ([\d.]+) N·mm .* lost (\d+) % .* from ([\d.]+) N·mm at (\d+)° to ([\d.]+) N·mm at (\d+)°",
        question,
    )
    left, degree = new - new * lost / 100, (end - start) / (last - first)  # degrees for a N·mm
    assert first < left < last < new  # it slips on the way, and did not when it was new
    on = (left - first) * degree
    return (start + on,), {
        "the new belt's limit": (start + (new - first) * degree,),
        "what it has lost": (start + (new - left - first) * degree,),
        "the first load forgotten": (start + left * degree,),
        "share of the last load": (start + (end - start) * left / last,),
        "the first angle forgotten": (on,),
        "counted from the end": (end - on,),
    }


def in_time_or_not(question):
    way, turns, speed, limit = found(
        r"is (\d+)° of .* makes (\d+) turns .* at (\d+) rev/min .* gives it ([\d.]+) s", question
    )
    minutes = turns * way / 360 / speed
    seconds = 60 * minutes
    assert not Fraction(9, 10) < seconds / limit < Fraction(11, 10)
    verdict, other = (IN_TIME, LATE) if seconds < limit else (LATE, IN_TIME)
    return (seconds, verdict), {
        "minutes for seconds": (minutes, ANY),
        "a whole turn of the cam": (60 * turns / speed, ANY),
        "degrees for turns": (60 * turns * way / speed, ANY),
        "verdict against the time": (seconds, other),
    }


def diagnosis(volts, now, usual, current, should, motor, ratio, worm) -> str:
    """The first along the way of the power that is off by more than a tenth."""
    if now < volts * Fraction(9, 10):
        return SUPPLY
    if current > usual * Fraction(11, 10):
        return STIFF
    if motor < should * Fraction(9, 10):
        return WORN
    return SLIPPING if worm < motor / ratio * Fraction(9, 10) else ELECTRONICS


def what_is_wrong(question):
    volts, idle, held, usual, ratio, now, current, motor, worm = found(
        r"should get (\d+) V\. .* turns at (\d+) rev.* still it draws (\d+) mA.* usually draws (\d+) mA.* "
        r"turns (\d) times .* measures ([\d.]+) V at the motor and (\d+) mA; the motor turns at (\d+) "
        r"rev/min and the worm shaft at (\d+) rev/min",
        question,
    )
    a_volt, a_mA = idle / volts, idle / held  # turns gained for a volt, lost for a mA
    should = a_volt * now - a_mA * current
    cause = diagnosis(volts, now, usual, current, should, motor, ratio, worm)
    others = {  # taken for the motor's fault, for the belt's, by misread meters, and what is left
        SUPPLY: (WORN, SLIPPING, STIFF, ELECTRONICS),
        STIFF: (WORN, SLIPPING, SUPPLY, ELECTRONICS),
        WORN: (SUPPLY, SLIPPING, STIFF, ELECTRONICS),
        SLIPPING: (WORN, STIFF, SUPPLY, ELECTRONICS),
        ELECTRONICS: (WORN, SLIPPING, STIFF, SUPPLY),
    }[cause]
    assert {cause, *others} == set(CAUSES)  # to each wrong choice there is something to say
    names = ("motor blamed", "belt blamed", "meters misread", "not all gone through")
    blamed = zip(names, others, strict=True)
    return (should, cause), {
        "load forgotten": (a_volt * now, ANY),
        "volts forgotten": (idle - a_mA * current, ANY),
        "loss made smaller with the volts": ((idle - a_mA * current) * now / volts, ANY),
        "what the load takes": (a_mA * current, ANY),
        **{name: (should, other) for name, other in blamed},
    }


WORKED = [
    (MOTOR_TORQUE, motor_torque, 2),
    (SPEED_AT_LOAD, speed_at_load, 0),
    (WHERE_IT_SLIPS, where_it_slips, 1),
    (IN_TIME_OR_NOT, in_time_or_not, 1),
    (WHAT_IS_WRONG, what_is_wrong, 0),
]


@rules.each_of(POWERS_OFF, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""

    known = {"360", "60"}


def test_every_case_is_drawn():
    verdicts = Counter(each.right[1] for each in rules.draws(IN_TIME_OR_NOT))
    assert min(verdicts[IN_TIME], verdicts[LATE]) > 60
    causes = Counter(each.right[1] for each in rules.draws(WHAT_IS_WRONG))
    assert set(causes) == set(CAUSES) and min(causes.values()) > 20
    assert all(len({each.question for each in rules.draws(e)}) > 150 for e in POWERS_OFF)


def test_the_usual_machine_is_believable():
    """What is drawn when all is right: a part of the held current, and a motor that still turns well."""
    for seed in rules.SEEDS:
        n = WHAT_IS_WRONG.draw(seed).numbers
        assert 0.17 < n["usual"] / n["stalled"] < 0.27 and n["current"] < 0.8 * n["stalled"]
        assert n["motor"] > 100 and n["worm"] > 30
    rules.drawn_within(MOTOR_TORQUE, cam=(80, 240, 10), turns=(200, 320, 10), friction=(0.3, 0.8, 0))
    rules.drawn_within(WHERE_IT_SLIPS, new=(2.8, 4.0, 0.1), lost=(22, 40, 1), length=(14, 30, 1))
