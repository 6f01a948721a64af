"""Five exercises on a substitute gear, from the speed that it gives to the choice among four.

All gears are invented, with a pressure angle of 20°.
"""

from __future__ import annotations

from itertools import permutations
from math import log, log2

from mechlib.say import say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip
from mechlib.teaching.measured_gear import RIVALS

TAN = 0.364  # of 20°, as the question says it
GEARS = ("gear A", "gear B", "gear C", "gear D")
INCH, WORK, COUNT, SHIFTED = range(4)  # what the four of the last exercise are

NEW_SPEED = Exercise(
    title="Speed with the new wheel",
    question="A pinion of {pinion} teeth turns at {speed} rev/min and drives a wheel of {old} teeth. The "
    "wheel is broken, and one of {new} teeth goes in. How fast does the new wheel turn? Answer to one "
    "decimal.",
    numbers={
        "pinion": range(12, 25),
        "speed": range(60, 301, 5),
        "old": range(30, 61),
        "more": (-4, -3, -2, 2, 3, 4),
        "new": lambda n: n.old + n.more,
    },
    fields=(Number("Speed", "rev/min", 0.06, 0, 4999),),
    right=lambda n: n.speed * n.pinion / n.new,
    slips=(
        Slip(
            "old wheel",
            lambda n: n.speed * n.pinion / n.old,
            "so fast the old wheel turned. Which one is in the machine now?",
        ),
        Slip(
            "ratio upside down",
            lambda n: n.speed * n.new / n.pinion,
            "by that the wheel would be the quicker of the two. It has more teeth than the pinion.",
        ),
        Slip(
            "pinion forgotten",
            lambda n: n.speed * n.old / n.new,
            "you set the two wheels against one another, but the pinion's speed isn't the old wheel's.",
        ),
        Slip(
            "change the wrong way",
            lambda n: n.speed * n.pinion * n.new / n.old**2,
            "you began with the old wheel's speed, and then changed it the wrong way. More teeth on a driven "
            "wheel make it slower.",
        ),
    ),
    hints=(
        "Each second as many teeth of the wheel pass the mesh as teeth of the pinion.",
        "How many teeth of the pinion pass in a minute?",
        "Share them out over the teeth of the wheel that is in the machine now.",
    ),
    because="Teeth that pass in a minute, over the teeth of the wheel that is in now.",
)


def _off(factor: float) -> tuple[float, float]:
    """Percent and cents by which a speed is off."""
    return 100 * (factor - 1), 1200 * log2(factor)


TAPE_OFF = Exercise(
    title="How far off is the tape?",
    question="The wheel on a capstan has {old} teeth and is driven by a pinion. A wheel of {new} teeth is "
    "put in its place. By how many percent is the tape off, and by how many cents? Plus is too fast. An "
    "octave, a factor of 2, has 1200 cents. Answer both to two decimals.",
    numbers={
        "old": range(24, 61),
        "more": (-3, -2, -1, 1, 2, 3),
        "new": lambda n: n.old + n.more,
        "percent": lambda n: _off(n.old / n.new)[0],
        "cents": lambda n: _off(n.old / n.new)[1],
    },
    fields=(Number("Percent", "%", 0.006, -900, 900), Number("Cents", "cents", 0.006, -900, 900)),
    right=lambda n: (n.percent, n.cents),
    slips=(
        Slip(
            "ratio upside down",
            lambda n: _off(n.new / n.old),
            "you made the larger wheel the faster one. It is driven: does it turn faster or slower with more "
            "teeth?",
        ),
        Slip(
            "over the old count",
            lambda n: _off(2 - n.new / n.old),
            "you took the difference in teeth over the old count. The new speed over the old one is old "
            "count over new.",
        ),
        Slip(
            "sign lost",
            lambda n: (-n.percent, -n.cents),
            "the size is right, the sign isn't. Is the tape too fast or too slow?",
        ),
        Slip(
            "percent for cents",
            lambda n: (n.percent, 12 * n.percent),
            "the percent are right. For the cents you took 1200 times the part of one, but cents go by the "
            "logarithm to base 2.",
        ),
        Slip(
            "other logarithm",
            lambda n: (n.percent, 1200 * log(n.old / n.new)),
            "the percent are right. For the cents you took the natural logarithm: still to be divided by "
            "that of 2.",
        ),
    ),
    hints=(
        "By which factor is the new speed larger or smaller? The wheel is driven.",
        "What is more or less than one in that factor, in hundredths, is the percent.",
        "Cents: 1200 times the logarithm of that factor, over the logarithm of 2.",
    ),
    because="The factor is old count over new count; percent and cents both follow from it.",
)


def _wider(n, needed: float) -> tuple[float, float]:
    """By how much the shafts stand wider than that, in mm and in modules."""
    return n.centre - needed, (n.centre - needed) / n.module


WIDER = Exercise(
    title="How much wider do the shafts stand?",
    question="A broken gear of {broken} teeth, module {module} mm, ran with a mate of {mate} teeth. Their "
    "shafts are {centre} mm apart. By how many mm is that wider than two gears without profile shift ask "
    "for, and how many modules is that? Answer both to three decimals.",
    numbers={
        "module": (0.4, 0.5, 0.6, 0.8),
        "broken": range(14, 26),
        "mate": range(30, 61),
        "twentieths": range(2, 13),
        "sum": lambda n: n.broken + n.mate,
        "wider": lambda n: n.module * n.twentieths / 20,
        "centre": lambda n: round(n.module * n.sum / 2 + n.wider, 3),
    },
    fields=(Number("Wider by", "mm", 0.0006, -900, 900), Number("In modules", "", 0.0006, -900, 900)),
    right=lambda n: (n.wider, n.wider / n.module),
    slips=(
        Slip(
            "diameters for radii",
            lambda n: _wider(n, n.module * n.sum),
            "you added the two diameters. From shaft to shaft there is half of each.",
        ),
        Slip(
            "tips counted in",
            lambda n: _wider(n, n.module * (n.sum + 2) / 2),
            "you counted tips as well. The teeth reach into one another: take the reference circles.",
        ),
        Slip(
            "one gear only",
            lambda n: _wider(n, n.module * n.mate / 2),
            "you took off the mate alone. The broken gear takes room, too.",
        ),
        Slip(
            "modules upside down",
            lambda n: (n.wider, n.module / n.wider),
            "the first is right. Then you divided the module by it: how many modules go into it?",
        ),
        Slip(
            "times the module",
            lambda n: (n.wider, n.wider * n.module),
            "the first is right. Then you multiplied: to count in modules, do you multiply or divide?",
        ),
    ),
    hints=(
        "A reference diameter is the module times the teeth.",
        "Without shift the shafts stand half of both reference diameters apart.",
        "Take that off, and see how many modules the rest makes.",
    ),
    because="The shafts less half of the module times all teeth; over the module, it is in modules.",
)

MORE_BACKLASH = Exercise(
    title="Backlash of shafts further apart",
    question="Two gears with a pressure angle of 20° have {backlash} mm of backlash. Someone moves the "
    "shafts apart by {apart} mm. How much backlash have they then, about? The tangent of 20° is 0.364. "
    "Answer to three decimals.",
    numbers={
        "hundredths": range(2, 10),
        "apart_hundredths": range(4, 21),
        "backlash": lambda n: say(n.hundredths / 100, "", 2),
        "apart": lambda n: say(n.apart_hundredths / 100, "", 2),
        "had": lambda n: n.hundredths / 100,
        "moved": lambda n: n.apart_hundredths / 100,
    },
    fields=(Number("Backlash", "mm", 0.0006, -900, 900),),
    right=lambda n: n.had + 2 * n.moved * TAN,
    slips=(
        Slip(
            "one flank only",
            lambda n: n.had + n.moved * TAN,
            "a tooth has two flanks, and the gap opens at both.",
        ),
        Slip(
            "tangent forgotten",
            lambda n: n.had + 2 * n.moved,
            "you let the gap open by all of the way. The flanks are steep: only a part of it counts.",
        ),
        Slip(
            "old backlash forgotten",
            lambda n: 2 * n.moved * TAN,
            "that is what comes on top. What did they have before?",
        ),
        Slip(
            "wrong way",
            lambda n: n.had - 2 * n.moved * TAN,
            "you took it off. Do shafts further apart give more room between teeth, or less?",
        ),
        Slip(
            "divided",
            lambda n: n.had + 2 * n.moved / TAN,
            "you divided by the tangent. The gap opens by less than the shafts move, not by more.",
        ),
    ),
    hints=(
        "Shafts further apart: is there more backlash, or less?",
        "At one flank the gap opens by the way of the shafts times the tangent.",
        "Count both flanks of a tooth, and what there was before.",
    ),
    because="What there was, and twice the way of the shafts times the tangent of the pressure angle.",
)


def _offer(n, kind: int) -> str:
    """One of the four gears, in words."""
    teeth = n.new if kind == COUNT else n.old
    size = f"{n.pitch} DP" if kind == INCH else f"module {n.module}"
    shift = "profile shift +0.4" if kind == SHIFTED else "no profile shift"
    bore = say(n.shaft - 0.5 if kind == WORK else n.shaft, "mm")
    return f"{teeth} teeth, {size}, {shift}, bore {bore}"


def _letter(n, kind: int) -> str:
    return GEARS[n.order.index(kind)]


DECIDE = Exercise(
    title="Which of the four?",
    question="The wheel on a capstan is broken: {old} teeth, module {module} mm, no profile shift, on a "
    "shaft of {shaft_said}. A pinion drives it. The shafts stand as far apart as gears without profile shift "
    "ask for, with a tenth of a module to spare. Up to 1.5% of the tape's speed is tolerated. In the bin lie "
    "gear A: {a}; gear B: {b}; gear C: {c}; gear D: {d}. A gear may be bored out. By how many percent would "
    "the one of {new} teeth put the tape off (plus is too fast, two decimals), and which one do you take?",
    numbers={
        "rivals": RIVALS[:3],  # the fourth is too coarse for a capstan
        "order": tuple(permutations(range(4))),
        "old": range(24, 51),
        "more": (-2, -1, 1, 2),
        "shaft": (2.0, 2.5, 3.0, 4.0),
        "module": lambda n: n.rivals[0],
        "pitch": lambda n: n.rivals[1],
        "new": lambda n: n.old + n.more,
        "percent": lambda n: 100 * (n.old / n.new - 1),
        "shaft_said": lambda n: say(n.shaft, "mm"),
        "a": lambda n: _offer(n, n.order[0]),
        "b": lambda n: _offer(n, n.order[1]),
        "c": lambda n: _offer(n, n.order[2]),
        "d": lambda n: _offer(n, n.order[3]),
    },
    fields=(Number("Tape off by", "%", 0.006, -900, 900), OneOf("Take", GEARS)),
    right=lambda n: (n.percent, _letter(n, WORK)),
    slips=(
        Slip(
            "ratio upside down",
            lambda n: (100 * (n.new / n.old - 1), None),
            "the percent go the wrong way: the wheel is driven, so more teeth make it slower.",
        ),
        Slip(
            "sign lost",
            lambda n: (-n.percent, None),
            "the size of the percent is right, their sign isn't.",
        ),
        Slip(
            "nearly the same size",
            lambda n: (n.percent, _letter(n, INCH)),
            "count and bore are right, but its teeth stand a little further apart. After a few they bind.",
        ),
        Slip(
            "other count",
            lambda n: (n.percent, _letter(n, COUNT)),
            "you have worked out yourself how far off the tape would be. Set that beside what is tolerated.",
        ),
        Slip(
            "thicker teeth",
            lambda n: (n.percent, _letter(n, SHIFTED)),
            "a positive profile shift makes thicker teeth. There is only a tenth of a module to spare.",
        ),
    ),
    hints=(
        "The percent: old count over new count, and what that is more or less than one.",
        "Which of them has another count, which another size of teeth, which thicker teeth?",
        "What can be put right with a drill, and what can't?",
    ),
    because="A bore can be made larger. Size, count and thickness of teeth can't be changed.",
)

SUBSTITUTE = (NEW_SPEED, TAPE_OFF, WIDER, MORE_BACKLASH, DECIDE)
