"""The five exercises on the shape of a cam, worked again from the question's text alone.

A pressure angle is measured on the way of the roller's centre as seen from the cam, drawn as points: the
angle between what is square to that way and the line from the shaft.
"""

import cmath
import math
import re
from fractions import Fraction

import exercise_rules as rules
import pytest
from scipy.optimize import brentq

from mechlib.cams import LAWS, Programme, Segment
from mechlib.cams.disc import cam_shape
from mechlib.cams.follower import TranslatingRoller
from mechlib.teaching.cam_speed import PEAK_VELOCITY
from mechlib.teaching.shape_cam import LEAST_BASE, PRESSURE_ANGLE, READ_A_MOVE, SHAPE_CAM
from mechlib.teaching.trial_cams import BINDS, CAMS, KNOCKS, RESTING, SOUND, UNDERCUT, WHICH_CAM

ANY = None  # a slip that shows in the other field only
SQRT5 = math.sqrt(5)
# Peaks of velocity and acceleration for unit rise and length: Norton, Cam Design and Manufacturing Handbook,
# and any other textbook of cams; written from memory.
PEAKS = {
    "simple harmonic": (math.pi / 2, math.pi**2 / 2),
    "cycloidal": (2, 2 * math.pi),
    "modified sine": (4 * math.pi / (4 + math.pi), 4 * math.pi**2 / (4 + math.pi)),
    "modified trapezoidal": (2, 8 * math.pi / (2 + math.pi)),
    "3-4-5": (15 / 8, 10 / math.sqrt(3)),
    "4-5-6-7": (35 / 16, 84 / (5 * SQRT5)),
}


def found(pattern: str, question: str) -> list[Fraction]:
    """The numbers in a question as fractions."""
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def pressure(climb, distance) -> float:
    """The pressure angle in degrees: ``climb`` mm a radian at a ``distance`` from the shaft in mm."""
    step = 1e-5
    before, after = ((distance + climb * x) * cmath.exp(1j * x) for x in (-step, step))
    square_to_it = (after - before) / 1j
    return abs(math.degrees(cmath.phase(square_to_it)))


def read_a_move(question):
    start, end, first, last, at = found(
        r"at (\d+)° .* at (\d+)°\. .* from ([\d.]+) mm to ([\d.]+) mm, .* at (\d+)°\?", question
    )
    left, over = end - at, at - start  # the lift as a mean of both ends, weighted by what is left and over
    up = 1 if last > first else -1
    return ((first * left + last * over) / (left + over),), {
        "angle counted from nought": ((first * (end - at) + last * at) / end,),
        "shared over a whole turn": (first + (last - first) * over / 360,),
        "the rest of the move": ((first * over + last * left) / (left + over),),
        "the first lift forgotten": (abs(last - first) * over / (left + over),),
        "the larger lift for the way": (first + up * max(first, last) * over / (left + over),),
    }


def peak_velocity(question):
    law = re.match(r"A (.*) move of", question).group(1)
    rise, length, speed, velocity, acceleration = found(
        r"of ([\d.]+) mm takes (\d+)° .* at (\d+) rev/min\. .* is ([\d.]+), .* ([\d.]+)\. How", question
    )
    assert [float(velocity), float(acceleration)] == pytest.approx(PEAKS[law], abs=0.00051)
    seconds = length / 360 / speed * 60  # that the move takes
    even = rise / seconds
    return (even * velocity,), {
        "peak factor left out": (even,),
        "the acceleration's factor": (even * acceleration,),
        "length over rise": (velocity * 360 * speed / 60 * length / rise,),
        "minutes for seconds": (even * velocity * 60,),
        "turns for degrees": (even * velocity / 360,),
        "speed left out": (velocity * rise / length,),
        "radians for degrees": (float(even * velocity) * 2 * math.pi / 360,),
    }


def pressure_angle(question):
    across, base, lift, slope = map(
        float,
        found(
            r"of (\d+) mm diameter .* of (\d+) mm radius\. .* lift is ([\d.]+) mm, .* by ([\d.]+) mm",
            question,
        ),
    )
    climb, centre = slope / math.radians(1), base + across / 2
    right = pressure(climb, centre + lift)
    return (right,), {
        "upside down": (pressure(centre + lift, climb),),
        "slope left for one degree": (pressure(slope, centre + lift),),
        "calculator in radians": (math.atan(climb / (centre + lift)),),
        "lift forgotten": (pressure(climb, centre),),
        "roller forgotten": (pressure(climb, base + lift),),
        "diameter for radius": (pressure(climb, base + across + lift),),
    }


def least_base(question):
    across, rise, length, velocity, limit = map(
        float,
        found(
            r"of (\d+) mm diameter .* by ([\d.]+) mm in (\d+)° .* velocity of ([\d.]+); .* angle of (\d+)°",
            question,
        ),
    )

    def distance(factor):
        climb = factor * rise / math.radians(length)
        return brentq(lambda mm: pressure(climb, mm) - limit, 0.1, 1000, xtol=1e-9)

    whole = distance(velocity)
    assert limit == 30
    return (whole - across / 2 - rise / 2,), {
        "peak factor left out": (distance(1) - across / 2 - rise / 2,),
        "distance for the base circle": (whole,),
        "lift forgotten": (whole - across / 2,),
        "the whole lift": (whole - across / 2 - rise,),
        "roller forgotten": (whole - rise / 2,),
        "diameter for radius": (whole - across - rise / 2,),
        "slope left for one degree": (whole * math.pi / 180 - across / 2 - rise / 2,),
        "calculator in radians": (whole * math.tan(math.pi / 6) / math.tan(30) - across / 2 - rise / 2,),
        "times the tangent": (whole / 3 - across / 2 - rise / 2,),  # tan² 30° is a third
    }


EACH = r"{}: ([^;]+); ([\d.]+) mm; base circle ([\d.]+) mm; roller (\d+) mm; bend ([\d.]+) mm\."


def which_cam(question):
    rise, limit = map(float, found(r"by ([\d.]+) mm in .* beyond (\d+)°", question))
    angles, sound = {}, []
    for letter, name in zip("ABC", CAMS, strict=True):
        law, *numbers = re.search(EACH.format(letter), question).groups()
        climb, base, across, bend = map(float, numbers)
        assert 8 <= base <= 25 and 3 <= across <= 16 and across <= 1.3 * base  # of a small machine
        angles[name] = pressure(climb, base + across / 2 + rise / 2)
        if law in PEAKS and across / 2 < bend and angles[name] <= limit:
            sound.append((name, climb, base, across))
    ((name, climb, base, across),) = sound  # exactly one will do
    centre = base + across / 2
    wrong = [(angles[other], other) for other in CAMS if other != name]
    return (angles[name], name), {
        "a cam with a fault": wrong[0],
        "the other cam with a fault": wrong[1],
        "upside down": (pressure(centre + rise / 2, climb), ANY),
        "lift forgotten": (pressure(climb, centre), ANY),
        "the whole lift": (pressure(climb, centre + rise), ANY),
        "roller forgotten": (pressure(climb, base + rise / 2), ANY),
        "diameter for radius": (pressure(climb, base + across + rise / 2), ANY),
        "calculator in radians": (math.atan(climb / (centre + rise / 2)), ANY),
    }


WORKED = [
    (READ_A_MOVE, read_a_move, 2),
    (PEAK_VELOCITY, peak_velocity, 1),
    (PRESSURE_ANGLE, pressure_angle, 1),
    (LEAST_BASE, least_base, 1),
    (WHICH_CAM, which_cam, 1),
]


@rules.each_of(SHAPE_CAM, WORKED)
class TestExercises(rules.KeepsTheRules):
    known = {"360", "60", "57.3"}  # a turn, a minute and a radian: no answers
    alike = (
        {"slope left for one degree", "calculator in radians"},
        {"speed left out", "radians for degrees"},
    )


def test_the_speed_left_out_is_never_told_to_be_radians_alone():
    words = set()
    for drawn in rules.draws(PEAK_VELOCITY):
        n = drawn.numbers
        words.add(drawn.check(f"{n['factor'] * n['rise'] / n['length']:.1f}").words)
    assert len(words) == 2 and all("for one degree of the cam" in each for each in words)


def test_stopping_at_the_tangent_is_told_as_the_small_figure_it_is():
    for exercise in (PRESSURE_ANGLE, WHICH_CAM):
        for drawn in rules.draws(exercise):
            tangent = f"{math.tan(math.radians(drawn.right[0])):.2f}"
            assert "stopping at the tangent" in drawn.check([tangent, *drawn.right[1:]]).words


def test_a_base_circle_below_nought_is_told_its_slip_and_not_its_sign():
    for drawn in rules.draws(LEAST_BASE):
        (slip,) = (one for one in drawn.slips if one.name == "slope left for one degree")
        assert slip.answers[0] < 0  # as 57.3 left out makes it in every draw
        assert drawn.check(f"−{-slip.answers[0]:.1f}").words == slip.feedback


def test_every_law_and_both_ways_are_drawn():
    for exercise in (PEAK_VELOCITY, LEAST_BASE):
        assert {each.numbers["law"] for each in rules.draws(exercise)} == set(RESTING) == set(PEAKS)
    ways = [each.numbers["way_mm"] for each in rules.draws(READ_A_MOVE)]
    assert min(sum(way > 0 for way in ways), sum(way < 0 for way in ways)) > 60
    assert all(len({each.question for each in rules.draws(e)}) > 190 for e in SHAPE_CAM)


def test_the_numbers_drawn_are_those_of_a_small_machine():
    rules.drawn_within(
        READ_A_MOVE, start=(20, 240, 9), length=(16, 60, 2), first=(1, 9, 0.5), last=(1, 9, 0.5)
    )
    rules.drawn_within(PEAK_VELOCITY, rise=(3, 7, 0.5), length=(24, 50, 1), speed=(5, 15, 1))
    rules.drawn_within(PRESSURE_ANGLE, base=(8, 24, 1), across=(4, 10, 1), lift=(1.5, 7, 0.5))
    rules.drawn_within(PRESSURE_ANGLE, slope=(0.1, 0.35, 0.02))
    rules.drawn_within(LEAST_BASE, rise=(4, 8, 0.5), length=(30, 60, 1), across=(4, 8, 0))
    rules.drawn_within(WHICH_CAM, rise=(2, 2.5, 0), length=(22, 29, 0))
    bases = [each.right[0] for each in rules.draws(LEAST_BASE)]
    assert 10 <= min(bases) < 11.5 and 23.5 < max(bases) <= 25


def test_the_laws_drawn_are_steepest_in_their_middle_at_half_of_the_lift():
    for name in RESTING:
        assert LAWS[name].position(0.5) == pytest.approx(0.5, abs=1e-12)
        assert LAWS[name].velocity(0.5) == pytest.approx(PEAKS[name][0], abs=1e-12)
        assert LAWS[name].velocity(0.0) == 0


def test_the_base_circle_found_pushes_at_the_limit_in_the_middle_and_no_more_than_a_little_beyond_before_it():
    for seed in range(20):
        drawn = LEAST_BASE.draw(seed)
        n, roller = drawn.numbers, drawn.numbers["across"] / 2
        follower = TranslatingRoller(base_mm=drawn.right[0], roller_mm=roller)
        highest = cam_shape(turn(n["law"], n["rise"], n["length"]), follower).highest
        assert 30 < highest.value < 32.5 and highest.angle_deg < 10 + n["length"] / 2


def turn(law: str, rise: float, length: float) -> Programme:
    """The move after a dwell of 10°, and a long way down again."""
    top = 10 + length
    parts = Segment(0, 10, 0, 0), Segment(10, top, 0, rise, law), Segment(top, 200, rise, rise)
    return Programme((*parts, Segment(200, 360, rise, 0, "cycloidal")), 360)


def test_each_trial_cam_has_its_fault_and_no_other_all_along_its_move():
    """The whole cam is judged here, not only the middle of its move."""
    drawn = [WHICH_CAM.draw(seed).numbers for seed in range(25)]
    for n in drawn:
        for cam in n["cams"]:
            follower = TranslatingRoller(base_mm=cam.base, roller_mm=cam.across / 2)
            shape = cam_shape(turn(cam.law, n["rise"], n["length"]), follower)
            assert (LAWS[cam.law].peaks.acceleration == math.inf) == (cam.fault == KNOCKS)
            assert (shape.pressure.value > 30.5) == (cam.fault == BINDS)
            assert (cam.across / 2 > cam.bend + 0.4) == (cam.fault == UNDERCUT)
            if cam.fault != KNOCKS:  # its corners are undercut by any roller: they are left out there
                assert shape.undercut == (cam.fault == UNDERCUT)
                assert shape.sharpest.value + cam.across / 2 == pytest.approx(cam.bend, abs=0.051)


def test_every_fault_and_every_place_is_drawn():
    drawn = [each.numbers for each in rules.draws(WHICH_CAM)]
    for place in range(3):
        for fault in (KNOCKS, BINDS, UNDERCUT, SOUND):
            assert sum(n["faults"][place] == fault for n in drawn) > 20
