"""Five exercises on a solenoid and its thermal cut-off, from warm copper to what the cut-off will do.

All solenoids are invented.  Copper's resistance goes as 234.5 + θ, with θ in °C.
"""

from __future__ import annotations

from functools import partial
from itertools import product

from mechlib.drives.copper import ZERO_C, resistance_at, temperature_from
from mechlib.drives.heating import Body
from mechlib.drives.thermal_cut_off import CutOff
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

COLD_C = 20
COPPER = "The resistance of copper goes as 234.5 + temperature in °C. "
HOLDS, MAY, OPENS = VERDICTS = ("stays closed for ever", "may open, or not", "surely opens")


def _halves(low: int, high: int) -> tuple[float, ...]:
    return tuple(number / 2 for number in range(2 * low, 2 * high + 1))


WARM_OHM = Exercise(
    title="A warm winding",
    question=COPPER + "A solenoid has {ohm} Ω at 20 °C. What is its resistance at {warm} °C? Answer to one "
    "decimal.",
    numbers={"ohm": _halves(15, 60), "warm": range(60, 131)},
    fields=(Number("Winding", "Ω", 0.06, 0, 4900),),
    right=lambda n: resistance_at(n.ohm, n.warm, COLD_C),
    slips=(
        Slip(
            "ratio upside down",
            lambda n: n.ohm * (COLD_C - ZERO_C) / (n.warm - ZERO_C),
            "the ratio is upside down. Has warm copper more resistance than cold, or less?",
        ),
        Slip(
            "celsius alone",
            lambda n: n.ohm * n.warm / COLD_C,
            "you set the degrees Celsius themselves in ratio. The resistance doesn't come to nought where "
            "water freezes; count from far below.",
        ),
        Slip(
            "rise for temperature",
            lambda n: n.ohm * (n.warm - COLD_C - ZERO_C) / (COLD_C - ZERO_C),
            "you put the rise where the warm temperature belongs.",
        ),
        Slip(
            "cold end at nought",
            lambda n: n.ohm * (n.warm - ZERO_C) / -ZERO_C,
            "you took the cold resistance as if it had been measured where water freezes.",
        ),
    ),
    hints=(
        "Add 234.5 to both temperatures.",
        "The resistances are as these two sums.",
        "Warm copper has more resistance: multiply by the larger sum over the smaller one.",
    ),
    because="The resistances are as 234.5 and the one temperature to 234.5 and the other.",
)

HOW_HOT = Exercise(
    title="How hot is it?",
    question=COPPER + "Cold, at 20 °C, a solenoid has {ohm} Ω. It has worked hard. With the plug out, "
    "capacitors discharged and one wire off at its connector, a qualified colleague measures {now} Ω. How "
    "hot is its winding? Answer to one decimal.",
    numbers={
        "ohm": _halves(15, 60),
        "percent": range(12, 41),
        "now": lambda n: round(n.ohm * (1 + n.percent / 100), 1),
    },
    fields=(Number("Winding", "°C", 0.06, -300, 4900),),
    right=lambda n: temperature_from(n.now, n.ohm, COLD_C).temperature_C,
    slips=(
        Slip(
            "rise for temperature",
            lambda n: temperature_from(n.now, n.ohm, COLD_C).rise_K,
            "that is how much it has warmed up. Asked for is the temperature itself.",
        ),
        Slip(
            "start added twice",
            lambda n: temperature_from(n.now, n.ohm, COLD_C).temperature_C + COLD_C,
            "you added the cold temperature once too often: it is in the sum already.",
        ),
        Slip(
            "celsius alone",
            lambda n: n.now / n.ohm * COLD_C,
            "you set the degrees Celsius themselves in ratio. Count the temperatures from far below.",
        ),
        Slip(
            "ratio upside down",
            lambda n: n.ohm / n.now * (COLD_C - ZERO_C) + ZERO_C,
            "the ratio is upside down: your winding would be colder than it was.",
        ),
        Slip(
            "not taken off again",
            lambda n: n.now / n.ohm * (COLD_C - ZERO_C),
            "that is the sum with 234.5 in it. Take that off again.",
        ),
    ),
    hints=(
        "By what factor has the resistance grown?",
        "By the same factor grows 234.5 + temperature.",
        "At the end take the 234.5 off again.",
    ),
    because="By the factor of the resistances grows 234.5 + temperature.",
)


def _pull(n, power: int = 2, upside_down: bool = False) -> float:
    ratio = n.ohm / n.warm_ohm
    return n.pull * (1 / ratio if upside_down else ratio) ** power


WARM_PULL = Exercise(
    title="What does it still pull?",
    question="On a constant {volts} V a solenoid pulls {pull} N when cold, with {ohm} Ω. Warm, it has "
    "{warm_ohm} Ω. With what force does it still pull? (Its iron is far from saturated.) "
    "Answer to two decimals.",
    numbers={
        "ohm": range(16, 49, 2),
        "volts": (12, 9, 15, 18),
        "percent": range(15, 41),
        "warm_ohm": lambda n: round(n.ohm * (1 + n.percent / 100), 1),
        "pull": _halves(2, 9),
    },
    fields=(Number("Pull", "N", 0.006, 0, 4900),),
    right=_pull,
    slips=(
        Slip(
            "square forgotten",
            lambda n: _pull(n, 1),
            "you let the pull shrink as the current does. It goes with the square of the current.",
        ),
        Slip(
            "ratio upside down",
            lambda n: _pull(n, upside_down=True),
            "the ratio is upside down. More resistance on the same voltage: more current, or less?",
        ),
        Slip(
            "upside down and no square",
            lambda n: _pull(n, 1, upside_down=True),
            "two things at once: more resistance lets less current through, and the pull goes with its "
            "square.",
        ),
        Slip(
            "current for force",
            lambda n: n.volts / n.warm_ohm,
            "that is the current in A. Asked for is the force.",
        ),
        Slip(
            "loss for what is left",
            lambda n: n.pull - _pull(n),
            "that is what the pull has lost. Asked for is what is left of it.",
        ),
    ),
    hints=(
        "The voltage stays. By what factor does the current shrink when the resistance grows?",
        "The pull goes with the square of the current.",
        "So multiply the cold pull by that factor, twice.",
    ),
    because="The current shrinks as the resistance grows, and the pull with the square of it.",
)


MOST_RISE = 90  # °C above the air
SECONDS = (1, 2, 3, 4, 5, 6, 8, 9)
# Watts while it pulls, seconds of pull and of pause, degrees for each watt.
BEATS = tuple(
    (power, on, off, rth)
    for power, on, off, rth in product(range(6, 19), SECONDS[:6], SECONDS, range(8, 21))
    if power * rth * on <= MOST_RISE * (on + off)
)


def _mean(n) -> float:
    return n.power * n.on / (n.on + n.off)


def _of_beat(at: int, n) -> int:
    return n.beat[at]


DUTY = Exercise(
    title="Again and again",
    question="A solenoid turns {power} W into heat while it pulls. It pulls for {on} s, then waits for "
    "{off} s, again and again. Each watt that lasts makes it {rth} °C warmer than the air. By how many °C "
    "does it get warmer in the end, on average? Answer to one decimal.",
    numbers={
        "beat": BEATS,
        **{name: partial(_of_beat, at) for at, name in enumerate(("power", "on", "off", "rth"))},
    },
    fields=(Number("Rise", "°C", 0.06, 0, 4900),),
    right=lambda n: Body(n.rth, 300).final_rise(_mean(n)),
    slips=(
        Slip(
            "duty forgotten",
            lambda n: n.rth * n.power,
            "so warm would it get if it pulled all the time.",
        ),
        Slip(
            "on over off",
            lambda n: n.rth * n.power * n.on / n.off,
            "you set the pull over the pause. It counts over the whole of one beat, pull and pause.",
        ),
        Slip(
            "pause for pull",
            lambda n: n.rth * n.power * n.off / (n.on + n.off),
            "you took the part of the time in which it waits. It is heated in the other part.",
        ),
        Slip(
            "watts for degrees",
            _mean,
            "that is the average heat in W. Asked for is how many degrees it makes.",
        ),
        Slip(
            "divided by the resistance",
            lambda n: _mean(n) / n.rth,
            "you divided. Each watt makes so many degrees: twice the watts, twice the degrees.",
        ),
    ),
    hints=(
        "How long is one beat, pull and pause together? For what part of it does it pull?",
        "That part is the duty. The average heat is the duty times the heat while it pulls.",
        "Then each watt makes so many degrees.",
    ),
    because="The heat on average is that of a pull times the duty, and each watt makes its degrees.",
)


def _verdict(n, winding_C: float) -> str:
    """What a cut-off does at a temperature that lasts."""
    if winding_C <= n.cut_off.holding_C:
        return HOLDS
    return MAY if winding_C < n.cut_off.rated_C else OPENS


def _wrong(n, winding_C: float) -> str:
    """The verdict next to the right one."""
    found = _verdict(n, winding_C)
    return {HOLDS: MAY, MAY: HOLDS, OPENS: MAY}[found]


def _end(n) -> float:
    return n.air + n.rth * n.watts


CUT_OFF = Exercise(
    title="Will it open?",
    question="In a solenoid sits a thermal cut-off with a functioning temperature of {rated} °C and a "
    "holding temperature of {holding} °C. A dirty mode switch makes the solenoid fire without end, with "
    "{watts} W on average. Each watt that lasts makes the winding {rth} °C warmer than the air, which has "
    "{air} °C. How hot does the winding get, and what does the cut-off do if that lasts? Answer to one "
    "decimal.",
    numbers={
        "rated": (100, 110, 115, 120, 130),
        "below": (20, 25, 30, 35),
        "holding": lambda n: n.rated - n.below,
        "air": range(18, 36),
        "rth": range(9, 21),
        # aimed above, between and below the two temperatures in turn, never near one
        "part": (-0.9, -0.6, 0.35, 0.5, 0.65, 1.6, 2.0),
        "watts": lambda n: round((n.holding + n.part * n.below - n.air) / n.rth, 1),
        "cut_off": lambda n: CutOff(n.rated, n.holding, n.rated + 60),
    },
    fields=(Number("Winding", "°C", 0.06, -300, 4900), OneOf("Cut-off", VERDICTS)),
    right=lambda n: (_end(n), _verdict(n, _end(n))),
    slips=(
        Slip(
            "air forgotten",
            lambda n: (_end(n) - n.air, None),
            "you left out the warmth of the air: the winding gets so much warmer than the air.",
        ),
        Slip(
            "air taken off",
            lambda n: (_end(n) - 2 * n.air, None),
            "you took the warmth of the air off. The winding starts there.",
        ),
        Slip(
            "watts divided",
            lambda n: (n.air + n.watts / n.rth, None),
            "you divided. Each watt makes so many degrees: twice the watts, twice the degrees.",
        ),
        Slip(
            "verdict against the temperature",
            lambda n: (_end(n), _wrong(n, _end(n))),
            "the temperature is right, but the verdict doesn't go with it. What does each of the two "
            "temperatures of a cut-off promise?",
        ),
        Slip(
            "two steps off",
            lambda n: (_end(n), {HOLDS: OPENS, MAY: OPENS, OPENS: HOLDS}[_verdict(n, _end(n))]),
            "the temperature is right. Set it beside both temperatures of the cut-off again.",
        ),
    ),
    hints=(
        "Watts times degrees for each watt is the rise. Where does the winding start?",
        "Up to its holding temperature a cut-off stays closed however long it lasts.",
        "At its functioning temperature it has opened, every one of its kind. Of a warmth that lasts between "
        "the two nothing is promised.",
    ),
    because="The rise comes on top of the air's warmth. Up to the holding temperature the cut-off stays "
    "closed, from the functioning temperature on it is open; where the warmth lasts between them, nobody can "
    "promise either.",
)

SOLENOID = (WARM_OHM, HOW_HOT, WARM_PULL, DUTY, CUT_OFF)
