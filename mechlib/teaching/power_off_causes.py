"""The exercise in which meters and speeds decide why a machine powers off.  All numbers are invented."""

from __future__ import annotations

from math import pi

from mechlib.drives.motor import Motor
from mechlib.say import say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

SUPPLY, STIFF = "the supply sags", "grease, a lever or the motor itself is stiff"
WORN = "the motor's brushes are worn"
SLIPPING, ELECTRONICS = "the belt slips", "the electronics give up too soon"
CAUSES = (SUPPLY, STIFF, WORN, SLIPPING, ELECTRONICS)
# What a hasty look takes each of them for: by the motor, by the belt, by the meters, and what is left.
TAKEN_FOR_MOTOR = dict.fromkeys(CAUSES, WORN) | {WORN: SUPPLY}
TAKEN_FOR_BELT = dict.fromkeys(CAUSES, SLIPPING) | {SLIPPING: STIFF}
MISREAD_METERS = dict.fromkeys(CAUSES, STIFF) | {STIFF: SUPPLY, SLIPPING: SUPPLY}
NOT_GONE_THROUGH = dict.fromkeys(CAUSES, ELECTRONICS) | {ELECTRONICS: SUPPLY}


def _speed(n, volts: float, current_mA: float) -> float:
    """Speed of the motor at its terminals' volts and a current, its own friction left out."""
    constant = 1000 * n.volts / (n.idle * pi / 30)
    motor = Motor(n.volts, 1000 * n.volts / n.stalled, constant)
    return motor.on(volts).speed(constant * current_mA / 1000)


def _near(value: float, percent: int, step: int) -> int:
    """A value as read off an instrument: a little off, and to a step."""
    return step * round(value * (1 + percent / 100) / step)


WHAT_IS_WRONG = Exercise(
    part_of="powers_off",
    title="What is wrong?",
    question="On the way to PLAY a machine powers off; its marks are right and its mode switch is clean. Its "
    "motor should get {volts} V. On {volts} V it turns at {idle} rev/min without load, and held still it "
    "draws {stalled} mA. On this way it usually draws {usual} mA. By the pulleys it turns {ratio} times for "
    "one turn of the worm shaft. Just before the power goes off, a qualified colleague measures {now_said} "
    "at the motor and {current} mA; the motor turns at {motor} rev/min and the worm shaft at {worm} rev/min. "
    "How fast should the motor turn with these volts and this current (leave its own friction out, answer "
    "in whole rev/min), and what is wrong?",
    numbers={
        "cause": CAUSES,
        "volts": (9, 12),
        "idle": range(2400, 4801, 100),
        "stalled": range(300, 481, 10),
        "ratio": (2, 3, 4),
        "share": range(18, 27),
        "much": range(220, 281, 10),  # percent of the usual current where something is stiff
        "less": range(40, 61, 2),  # percent that is left of volts or of a speed
        "off": (-2, -1, 1, 2),  # percent
        "usual": lambda n: round(n.stalled * n.share / 100),
        "now": lambda n: round(n.volts * (n.less + 10) / 100, 1) if n.cause == SUPPLY else n.volts - 0.2,
        "current": lambda n: _near(n.usual * (n.much / 100 if n.cause == STIFF else 1), n.off, 1),
        "right": lambda n: _speed(n, n.now, n.current),
        "motor": lambda n: _near(n.right * (n.less / 100 if n.cause == WORN else 1), n.off, 10),
        "shaft": lambda n: n.motor / n.ratio * (n.less / 100 if n.cause == SLIPPING else 1),
        "worm": lambda n: _near(n.shaft, -2, 5),  # a sound belt creeps a little
        "now_said": lambda n: say(n.now, "V"),
    },
    fields=(Number("Speed", "rev/min", 0.6, 0, 4900), OneOf("What is wrong", CAUSES)),
    right=lambda n: (n.right, n.cause),
    slips=(
        Slip(
            "load forgotten",
            lambda n: (n.idle * n.now / n.volts, None),
            "that is its speed without load on these volts. It draws current, so it is loaded: how large a "
            "part is this of the current that it draws when held?",
        ),
        Slip(
            "volts forgotten",
            lambda n: (_speed(n, n.volts, n.current), None),
            "you left it on its full volts. The speed without load goes with the volts.",
        ),
        Slip(
            "loss made smaller with the volts",
            lambda n: (n.now / n.volts * _speed(n, n.volts, n.current), None),
            "you let what the load takes away go with the volts, too. For each mA the motor loses the same "
            "speed, whatever its volts.",
        ),
        Slip(
            "what the load takes",
            lambda n: (n.idle * n.current / n.stalled, None),
            "that is what the load takes away. From which speed?",
        ),
        Slip(
            "motor blamed",
            lambda n: (n.right, TAKEN_FOR_MOTOR[n.cause]),
            "the speed is right. Now set it beside the measured speed of the motor, and the measured volts "
            "beside those that it should get.",
        ),
        Slip(
            "belt blamed",
            lambda n: (n.right, TAKEN_FOR_BELT[n.cause]),
            "the speed is right. Now look behind the motor: with its speed as measured, how fast should the "
            "worm shaft turn by the pulleys?",
        ),
        Slip(
            "meters misread",
            lambda n: (n.right, MISREAD_METERS[n.cause]),
            "the speed is right. Now read the meters again: volts beside those that it should get, current "
            "beside the usual one.",
        ),
        Slip(
            "not all gone through",
            lambda n: (n.right, NOT_GONE_THROUGH[n.cause]),
            "the speed is right. Now go through everything that was measured, and set each beside what it "
            "should be. Is one of them far off, or none?",
        ),
    ),
    hints=(
        "Without load the speed goes with the volts.",
        "The load takes away as large a part of the speed without load on full volts as the current is of "
        "the one drawn when held.",
        "Then go along the way of the power: volts, current, motor, worm shaft. Which is the first that "
        "isn't as it should be? If all are, nothing mechanical stops the machine.",
    ),
    because="Go along the way of the power: volts, current, motor, worm shaft. The first that isn't as it "
    "should be names the fault; if none is off, it is the electronics.",
)
