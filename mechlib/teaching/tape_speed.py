"""Five exercises on belts, capstan and tape speed, from the capstan to the belt that is to be ordered.

All machines are invented.  Diameters of pulleys are those under the belt; a belt runs along its middle line.
"""

from __future__ import annotations

from math import log2, pi

from mechlib.drives.belts import driven_speed
from mechlib.drives.capstan import error_from_tone, tape_speed
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

WAYS = ("it runs faster", "it runs slower")
SEMITONE_PERCENT = 100 * (2 ** (1 / 12) - 1)
CENTS_IN_OCTAVE = 1200


def _tenths(low: int, high: int) -> tuple[float, ...]:
    return tuple(number / 10 for number in range(low, high + 1))


CAPSTAN = Exercise(
    title="Speed of the tape",
    question="A capstan of {capstan} mm diameter turns at {speed} rev/min. How fast does it move the tape? "
    "Leave the thickness of the tape out. Answer to one decimal.",
    numbers={"capstan": _tenths(18, 31), "speed": range(210, 491, 10)},
    fields=(Number("Tape", "mm/s", 0.06, 0, 4900),),
    right=lambda n: tape_speed(n.capstan, n.speed),
    slips=(
        Slip(
            "diameter for radius",
            lambda n: 2 * tape_speed(n.capstan, n.speed),
            "you took the diameter for the radius: the way round is π times the diameter, not twice that.",
        ),
        Slip(
            "radius for diameter",
            lambda n: tape_speed(n.capstan, n.speed) / 2,
            "you took the radius for the diameter. The way round a circle is π times what?",
        ),
        Slip(
            "π left out",
            lambda n: n.capstan * n.speed / 60,
            "you went straight across the capstan. In one turn the tape moves by the way round it.",
        ),
        Slip(
            "area for circumference",
            lambda n: pi * n.capstan**2 / 4 * n.speed / 60,
            "you took the area of the circle. The tape moves by the way round it.",
        ),
        Slip(
            "a minute's way",
            lambda n: 60 * tape_speed(n.capstan, n.speed),
            "that is how far the tape gets in a minute. Asked for is a second.",
        ),
    ),
    hints=(
        "How far does the tape get in one turn of the capstan?",
        "The way round a circle is π times its diameter.",
        "Multiply by the turns in a minute, then share it out over the seconds of a minute.",
    ),
    because="In one turn the tape moves by π times the diameter; so many turns a minute, over sixty.",
)


def _flywheel(n, part: float = 1.0) -> float:
    """Speed of the flywheel if this part of the thickness is added to each diameter."""
    return n.motor * (n.d1 + part * n.thick) / (n.d2 + part * n.thick)


FLYWHEEL = Exercise(
    title="Speed of the flywheel",
    question="A motor pulley of {d1} mm turns at {motor} rev/min. A belt {thick} mm thick drives a flywheel "
    "of {d2} mm; both diameters are measured under the belt. How fast does the flywheel turn? Leave creep "
    "out. Answer to one decimal.",
    numbers={
        "d1": range(14, 23),
        "d2": range(50, 73, 2),
        "thick": _tenths(10, 20),
        "motor": range(600, 901, 20),
    },
    fields=(Number("Flywheel", "rev/min", 0.06, 0, 4900),),
    right=lambda n: driven_speed(n.motor, n.d1, n.d2, n.thick),
    slips=(
        Slip(
            "ratio upside down",
            lambda n: n.motor * (n.d2 + n.thick) / (n.d1 + n.thick),
            "the ratio is upside down. The flywheel is the larger one: does it turn faster, or slower?",
        ),
        Slip(
            "thickness forgotten",
            lambda n: n.motor * n.d1 / n.d2,
            "you left the belt's thickness out. What keeps its length where the belt bends is its middle.",
        ),
        Slip(
            "half the thickness",
            lambda n: _flywheel(n, 0.5),
            "you added half a thickness to each diameter. The belt lies on both sides of a diameter.",
        ),
        Slip(
            "twice the thickness",
            lambda n: _flywheel(n, 2),
            "you measured over the outside of the belt. Its middle line counts.",
        ),
        Slip(
            "only one pulley thickened",
            lambda n: n.motor * (n.d1 + n.thick) / n.d2,
            "you added the thickness at the motor only. The belt lies round the flywheel, too.",
        ),
    ),
    hints=(
        "The belt runs equally fast everywhere. Which of the two must turn faster for that?",
        "The middle of the belt counts: half a thickness above the pulley, on either side of the shaft.",
        "So each diameter is larger by one thickness. Then the speeds are as the diameters, crosswise.",
    ),
    because="With the thickness added to both diameters, the speeds are as the diameters, crosswise.",
)


def _inside(n) -> float:
    return n.path / (1 + n.stretch / 100) - pi * n.thick


BELT_SIZE = Exercise(
    title="Size of the belt",
    question="On a machine the middle of a belt has a path of {path} mm. The belt is {thick} mm thick and "
    "shall be stretched by {stretch} % of its length on the table. How long must it be round the "
    "inside, on the table? Answer to one decimal.",
    numbers={"path": range(180, 361, 5), "thick": _tenths(10, 20), "stretch": (5, 6, 7, 8, 9, 10)},
    fields=(Number("Belt", "mm", 0.06, 1, 4900),),
    right=_inside,
    slips=(
        Slip(
            "stretch of the wrong base",
            lambda n: n.path * (1 - n.stretch / 100) - pi * n.thick,
            "you took the percent of the path. They are percent of the belt as it lies on the table.",
        ),
        Slip(
            "stretched instead of shortened",
            lambda n: n.path * (1 + n.stretch / 100) - pi * n.thick,
            "your belt is longer than its path: it would hang loose.",
        ),
        Slip(
            "thickness forgotten",
            lambda n: n.path / (1 + n.stretch / 100),
            "that is the length of the middle line. Belts are measured round the inside.",
        ),
        Slip(
            "two thicknesses",
            lambda n: n.path / (1 + n.stretch / 100) - 2 * n.thick,
            "you took two thicknesses off, as for a diameter across. This is a length round a circle.",
        ),
        Slip(
            "thickness added",
            lambda n: n.path / (1 + n.stretch / 100) + pi * n.thick,
            "you went from the middle outwards. The inside of the belt is the shorter one.",
        ),
        Slip(
            "stretch forgotten",
            lambda n: n.path - pi * n.thick,
            "this belt would lie on its pulleys without any tension. It must be shorter.",
        ),
    ),
    hints=(
        "First find the middle line as it lies on the table: stretched by so much, it has to fill the path.",
        "The path is the middle line times one and the stretch. So divide.",
        "Laid out as a circle, the inside has a diameter smaller by one thickness: π thicknesses less round.",
    ),
    because="The path over one and the stretch is the middle line; the inside is π thicknesses shorter.",
)

CENTS = Exercise(
    title="Error by ear, in cents",
    question="On a test tape a tone of {tone} Hz is recorded. The machine plays it at {heard} Hz. By how "
    "many cents is it off? Plus is too fast. Answer to one decimal.",
    numbers={
        "tone": (1000, 3000, 3150),
        "promille": tuple(sense * size for sense in (-1, 1) for size in range(20, 56)),
        "heard": lambda n: round(n.tone * (1 + n.promille / 1000)),
        "percent": lambda n: 100 * (n.heard / n.tone - 1),
    },
    fields=(Number("Error", "cents", 0.06, -4900, 4900),),
    right=lambda n: error_from_tone(n.heard, n.tone).cents,
    slips=(
        Slip(
            "ratio upside down",
            lambda n: CENTS_IN_OCTAVE * log2(n.tone / n.heard),
            "the ratio is upside down. Is the tone that you hear too high, or too low?",
        ),
        Slip(
            "percent for cents",
            lambda n: n.percent,
            "that is the error in percent. Cents are counted another way: so many to an octave.",
        ),
        Slip(
            "octave shared out evenly",
            lambda n: CENTS_IN_OCTAVE / 100 * n.percent,
            "you shared the octave out evenly, as if it were a hundred percent of cents. Equal steps to the "
            "ear are equal ratios: take the logarithm.",
        ),
        Slip(
            "semitone shared out evenly",
            lambda n: 100 * n.percent / SEMITONE_PERCENT,
            "you shared a semitone out evenly. That is near, but cents go by the logarithm of the ratio.",
        ),
        Slip(
            "hertz for cents",
            lambda n: n.heard - n.tone,
            "that is the difference in Hz. What counts is how many times as high the tone is.",
        ),
    ),
    hints=(
        "Set up the ratio: what is heard over what is recorded.",
        "An octave is a ratio of two. How many octaves is your ratio? That is its logarithm to base two.",
        "On a calculator: ln of the ratio over ln of two. An octave has twelve semitones of a hundred each.",
    ),
    because="Cents are twelve hundred times the logarithm to base two of heard over recorded.",
)


def _change(n, flywheel: float = 1.0, motor: float = 1.0, part: float = 1.0) -> float:
    """Change of the tape's speed in percent; the factors put the other thickness on at one pulley only."""
    more = part * (n.new - n.old)
    d1, d2 = n.d1 + part * n.old, n.d2 + part * n.old
    return 100 * ((d1 + motor * more) / d1 * d2 / (d2 + flywheel * more) - 1)


def _told(percent: float) -> tuple[float, str]:
    return abs(percent), WAYS[percent < 0]


OTHER_BELT = Exercise(
    title="Another thickness",
    question="A machine with a motor pulley of {d1} mm and a flywheel of {d2} mm (under the belt) ran at the "
    "right speed with a belt {old} mm thick. Someone has fitted one that is {new} mm thick, and just as "
    "tight. Does the tape run faster or slower than before, and by how many percent of the right speed? "
    "Answer to two decimals, without a sign.",
    numbers={
        "d1": range(8, 15),
        "d2": range(50, 73, 2),
        "old": _tenths(10, 18),
        "step": (-0.6, -0.5, -0.4, 0.4, 0.5, 0.6),
        "new": lambda n: round(n.old + n.step, 1),
    },
    fields=(Number("Change", "%", 0.006, 0, 100), OneOf("Tape", WAYS)),
    right=lambda n: _told(_change(n)),
    slips=(
        Slip(
            "the other way",
            lambda n: _told(_change(n))[:1] + _told(-_change(n))[1:],
            "the size is right, the way is not. On which of the two pulleys does the same bit of thickness "
            "count for more?",
        ),
        Slip(
            "motor pulley only",
            lambda n: (abs(_change(n, flywheel=0)), None),
            "you changed the diameter at the motor only. The flywheel's grows or shrinks by the same bit.",
        ),
        Slip(
            "flywheel only",
            lambda n: (abs(_change(n, motor=0)), None),
            "you changed the diameter at the flywheel only. The motor pulley's changes by the same bit, and "
            "it is the smaller one.",
        ),
        Slip(
            "percent of the wrong base",
            lambda n: (abs(100 * (1 - 1 / (1 + _change(n) / 100))), None),
            "you took the percent of the new speed. The right speed is the hundred percent.",
        ),
        Slip(
            "half the thickness",
            lambda n: (abs(_change(n, part=0.5)), None),
            "you added half a thickness to each diameter. The belt lies on both sides of a diameter.",
        ),
    ),
    hints=(
        "Work out the ratio of the two diameters twice: with the old belt and with the new one.",
        "Each diameter counts to the middle of the belt: one thickness more than under it.",
        "The new ratio over the old one, less one, is the change.",
    ),
    because="A bit of thickness counts for more on the small motor pulley than on the large flywheel, so a "
    "thicker belt runs faster and a thinner one slower.",
)

TAPE_SPEED = (CAPSTAN, FLYWHEEL, BELT_SIZE, CENTS, OTHER_BELT)
