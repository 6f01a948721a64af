"""Five exercises on gear trains and idlers, rising from counting to deciding.

Trains and numbers are invented.  Ratios are output over input; plus is the input's sense.
"""

from __future__ import annotations

import math

from mechlib.gears.read_train import train
from mechlib.gears.trains import drive, hand_turns
from mechlib.say import count, listing, say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

LAST = {"gear": "", "ring": "ring "}  # the last wheel in words, and as ``train`` reads it
OVER_LAST = {"gear": -1, "ring": 1}  # what its mesh does to the sense
TRAINS_AB = {
    "train A": "{a} :{gets} {i} :{gets} {d}",
    "train B": "{e} :{gets} {f}+{g} :{gets} {j} :{gets} {h}",
}


def _compound(n):
    return train(f"{n.a} : {n.b}+{n.c} : {LAST[n.last]}{n.d}").ratio


COMPOUND = Exercise(
    title="Ratio of a compound train",
    question="A motor gear of {a} teeth drives a gear of {b}. On the same shaft as that one sits a gear of "
    "{c}, which drives a {last} of {d} on the output. What is the ratio, output speed over motor speed? Plus "
    "if the output turns as the motor does, minus if the other way. Give four decimals or a fraction.",
    numbers={
        "a": range(10, 19),
        "b": range(24, 61),
        "c": range(10, 19),
        "d": range(40, 73),
        "last": tuple(LAST),
    },
    fields=(Number("Ratio", "", 0.00006, -400, 400),),
    right=_compound,
    slips=(
        Slip(
            "ratio upside down",
            lambda n: 1 / _compound(n),
            "the ratio is upside down: those are motor turns for one turn of the output.",
        ),
        Slip(
            "sign lost",
            lambda n: -_compound(n),
            "the size is right, the sense is not. Go from mesh to mesh: an outside one reverses the sense, "
            "one with a ring does not.",
        ),
        Slip(
            "taken for idlers",
            lambda n: -OVER_LAST[n.last] * n.a / n.d,
            "you took the wheels between for an idler. Two wheels of different size on one shaft do count: "
            "one is driven, the other drives.",
        ),
        Slip(
            "second mesh upside down",
            lambda n: -OVER_LAST[n.last] * n.a * n.d / (n.b * n.c),
            "the second mesh is upside down. Which of its two wheels drives, and which is driven?",
        ),
        Slip(
            "first mesh only",
            lambda n: -n.a / n.b,
            "that is the speed of the shaft between. Go on to the output.",
        ),
        Slip(
            "second mesh only",
            lambda n: OVER_LAST[n.last] * n.c / n.d,
            "that is the second mesh alone, as if the shaft between turned like the motor.",
        ),
    ),
    hints=(
        "Mark each wheel: does it drive, or is it driven?",
        "The size is the teeth of all drivers multiplied, over the teeth of all driven wheels multiplied.",
        "For the sense count the outside meshes: each reverses it.",
    ),
    because="Drivers {a} and {c} over driven {b} and {d}; each outside mesh reverses the sense.",
)


def _through_idlers(n) -> float:
    wheels = " : ".join(map(str, (n.a, *n.idlers, n.d)))
    return float(drive(train(wheels), n.speed, 0).speeds[-1])


def _idlers_said(n) -> str:
    if len(n.idlers) == 1:
        return f"an idler of {n.idlers[0]} teeth"
    return f"idlers of {listing(map(str, n.idlers))} teeth in turn, each on its own shaft"


THROUGH_IDLERS = {
    "a": range(12, 31),
    "first": range(16, 41),
    "second": range(16, 41),
    "third": range(16, 41),
    "many": (1, 2, 3),
    "d": range(32, 73),
    "speed": range(60, 301, 10),
    "idlers": lambda n: (n.first, n.second, n.third)[: n.many],
    "idlers_said": _idlers_said,
    "speed_said": lambda n: say(n.speed, "rev/min", 0, sign=True),
    "sense": lambda n: (-1) ** (n.many + 1),
}
IDLERS = Exercise(
    title="Speed and sense through idlers",
    question="A gear of {a} teeth turns at {speed_said} and drives, through {idlers_said}, a reel gear of "
    "{d}. All gears mesh on their outsides. How fast does the reel gear turn? Plus is the sense of the first "
    "gear. Answer to one decimal.",
    numbers=THROUGH_IDLERS,
    fields=(Number("Reel gear", "rev/min", 0.06, -4500, 4500),),
    right=_through_idlers,
    slips=(
        Slip(
            "sign lost",
            lambda n: -_through_idlers(n),
            "the size is right, the sense is not. Count the meshes, not the wheels: each reverses the sense.",
        ),
        Slip(
            "ratio upside down",
            lambda n: n.sense * n.speed * n.d / n.a,
            "the ratio is upside down. Does the larger wheel turn faster, or slower?",
        ),
        Slip(
            "first mesh only",
            lambda n: -n.speed * n.a / n.first,
            "you stopped at the first idler: that is its speed. Go on to the reel gear.",
        ),
        Slip(
            "last mesh only",
            lambda n: -n.speed * n.idlers[-1] / n.d,
            "that would be right if the last idler turned at the speed of the first gear. How fast does it "
            "turn?",
        ),
        Slip(
            "idler's teeth counted in",
            lambda n: n.sense * n.speed * n.a / (n.d + sum(n.idlers)),
            "you added the idlers' teeth to those of the reel gear. An idler passes on each tooth that it "
            "gets, so that its own number makes no difference.",
        ),
    ),
    hints=(
        "Follow a tooth: for each that the first gear moves on, how many does an idler move on, and the "
        "last?",
        "So the size hangs on the first and the last gear only. What do the idlers change?",
        "Count the meshes from the first gear to the last; each reverses the sense.",
    ),
    because="An idler's teeth drop out: {a} over {d}. It only adds a mesh, which reverses the sense.",
)


def _worm_turns(n) -> float:
    return float(hand_turns(train(f"worm {n.starts} : {n.wheel}+{n.c} : ring {n.d}"), n.degrees))


WORM = Exercise(
    title="Turns of the worm for degrees of the cam",
    question="A worm of {starts} starts drives a wheel of {wheel} teeth. On the wheel's shaft sits a gear of "
    "{c}, which drives the main cam by a ring of {d} teeth. How many turns must the worm be turned by hand "
    "to move the main cam by {degrees}°? Answer to two decimals; the sense is not asked.",
    numbers={
        "starts": (2, 3, 4),
        "wheel": range(20, 51),
        "c": range(12, 25),
        "d": range(48, 81),
        "degrees": range(15, 181, 5),
    },
    fields=(Number("Worm", "turns", 0.006, 0, 4500),),
    right=_worm_turns,
    slips=(
        Slip(
            "starts forgotten",
            lambda n: _worm_turns(n) * n.starts,
            "you took the worm for one with a single start. How many teeth of its wheel does it move on in "
            "one turn?",
        ),
        Slip(
            "starts the wrong way",
            lambda n: _worm_turns(n) * n.starts**2,
            "you multiplied by the starts. Does a worm with more starts need more turns, or fewer?",
        ),
        Slip(
            "worm and wheel only",
            lambda n: n.degrees / 360 * n.wheel / n.starts,
            "you left the second mesh out: that would turn the worm's wheel so far, but not the main cam.",
        ),
        Slip(
            "second mesh upside down",
            lambda n: n.degrees / 360 * n.wheel / n.starts * n.c / n.d,
            "the second mesh is upside down. The ring is the larger: must the shaft before it turn farther, "
            "or less far?",
        ),
        Slip(
            "a whole turn",
            lambda n: _worm_turns(n) * 360 / n.degrees,
            "that is for a whole turn of the main cam. What part of a turn is asked for?",
        ),
    ),
    hints=(
        "Go backwards from the main cam: what part of a turn shall it make?",
        "How far must the shaft before it turn for that, by the teeth of the second mesh?",
        "Each turn of the worm moves its wheel on by as many teeth as the worm has starts.",
    ),
    because="The part of a turn, times {d} over {c}, times {wheel} over {starts}.",
)


def _rack_mm(n) -> float:
    return abs(train(f"{n.a} : {n.b}+{n.pinion} : rack m{n.module}").travel_mm) * n.turns


RACK = Exercise(
    title="Travel of a rack",
    question="A gear of {a} teeth drives one of {b}. On the same shaft as that one a pinion of {pinion} "
    "teeth, module {module} mm, moves a rack. How far does the rack travel while the first gear makes "
    "{turns_said}? Answer to one decimal.",
    numbers={
        "a": range(12, 25),
        "b": range(30, 61),
        "pinion": range(12, 25),
        "module": (0.4, 0.5, 0.6, 0.8),
        "turns": (1, 1.5, 2, 2.5, 3, 4, 5),
        "turns_said": lambda n: count(n.turns, "turn", 1),
    },
    fields=(Number("Travel", "mm", 0.06, 0, 4500),),
    right=_rack_mm,
    slips=(
        Slip(
            "pi left out",
            lambda n: _rack_mm(n) / math.pi,
            "you multiplied by the diameter. In one turn the pinion rolls off its circumference.",
        ),
        Slip(
            "radius for diameter",
            lambda n: _rack_mm(n) / 2,
            "you worked with the radius. Teeth times module is the diameter; half of that is only the "
            "radius.",
        ),
        Slip(
            "first mesh left out",
            lambda n: _rack_mm(n) * n.b / n.a,
            "you let the pinion turn as far as the first gear. Which mesh lies between?",
        ),
        Slip(
            "first mesh upside down",
            lambda n: _rack_mm(n) * (n.b / n.a) ** 2,
            "the first mesh is upside down. The second gear is the larger: does its shaft turn farther than "
            "the first gear, or less far?",
        ),
        Slip(
            "module left out",
            lambda n: _rack_mm(n) / n.module,
            "you left the module out: that would be a rack of module one.",
        ),
        Slip(
            "tip circle",
            lambda n: _rack_mm(n) * (n.pinion + 2) / n.pinion,
            "you rolled the pinion on the circle over its tips. It rolls on its reference circle: teeth "
            "times module across.",
        ),
    ),
    hints=(
        "How many turns does the pinion make?",
        "In one turn it moves the rack on by all its teeth. How long is one tooth and gap along the rack?",
        "The pitch along a rack is π times the module.",
    ),
    because="Turns of the pinion, times {pinion} teeth, times the pitch of π times {module} mm.",
)


def _train(n, which: str, percent: float = 100):
    """One of the two trains, with the percentage that each mesh lets through."""
    path, _, last = TRAINS_AB[which].format(gets=f"({percent} %)", **vars(n)).rpartition(" ")
    return train(f"{path} {LAST[n.last]}{last}")


def _torque(n, which: str, percent: float) -> float:
    """Torque at the reel by one of the two trains, without its sign."""
    return abs(drive(_train(n, which, percent), 100, n.torque).torques_Nmm[-1])


def _chosen(n, wanted: bool = True) -> str:
    """The train that turns the reel as it must, or the other."""
    return next(one for one in TRAINS_AB if ((_train(n, one).ratio < 0) == n.against) == wanted)


TWO_TRAINS = {
    "against": (False, True),
    "way": lambda n: "against the motor's sense" if n.against else "in the motor's sense",
    "last": tuple(LAST),
    "a": range(10, 19),
    "i": range(16, 33),
    "d": range(50, 81),
    "e": range(10, 19),
    "f": range(20, 37),
    "g": range(12, 19),
    "j": range(16, 27),
    "h": range(40, 61),
    "torque": range(5, 21),
    "percent": range(88, 97),
    "choice": _chosen,
    "other": lambda n: _chosen(n, wanted=False),
    "gives": lambda n: _torque(n, n.choice, n.percent),
    "other_gives": lambda n: _torque(n, n.other, n.percent),
    "lossless": lambda n: _torque(n, n.choice, 100),
}
WHICH_TRAIN = Exercise(
    title="Which train is it?",
    question="A reel must turn {way}. Two trains would fit. A: a motor gear of {a} teeth drives an idler of "
    "{i}, which drives a {last} of {d} on the reel. B: a motor gear of {e} drives a gear of {f}; on its "
    "shaft a gear of {g} drives an idler of {j}, which drives a {last} of {h} on the reel. The motor gives "
    "{torque} N·mm, and each mesh lets {percent}% of the power through. Which train turns the reel as it "
    "must, and with what torque? Answer to one decimal.",
    numbers=TWO_TRAINS,
    fields=(Number("Torque at the reel", "N·mm", 0.06, 0, 4500), OneOf("Train", tuple(TRAINS_AB))),
    right=lambda n: (n.gives, n.choice),
    slips=(
        Slip(
            "sign lost",
            lambda n: (n.other_gives, n.other),
            "the torque goes with the train that you chose, but that one turns the reel the wrong way. Count "
            "the outside meshes.",
        ),
        Slip(
            "verdict against the torque",
            lambda n: (n.gives, n.other),
            "the torque is right, but not for the train that you chose.",
        ),
        Slip(
            "torque of the other",
            lambda n: (n.other_gives, n.choice),
            "the train is right, but you worked out the torque of the other one.",
        ),
        Slip(
            "losses left out",
            lambda n: (n.lossless, None),
            "that would be the torque without losses. How many meshes does the power go through?",
        ),
        Slip(
            "idler without loss",
            lambda n: (n.gives * 100 / n.percent, None),
            "you counted one mesh too few. An idler doesn't change the ratio, but it has two meshes, and the "
            "power pays at both.",
        ),
        Slip(
            "ratio upside down",
            lambda n: (n.gives * (n.torque / n.lossless) ** 2, None),
            "the ratio is upside down. The reel turns more slowly than the motor: is its torque larger, or "
            "smaller?",
        ),
        Slip(
            "losses the wrong way",
            lambda n: (n.lossless**2 / n.gives, None),
            "you divided by the losses. Does friction leave more torque at the reel, or less?",
        ),
    ),
    hints=(
        "First the sense: count the meshes of each train; an outside one reverses it, one with a ring does "
        "not.",
        "Then the torque without losses: it grows as the speed falls. An idler's teeth drop out.",
        "Last the losses: the power shrinks at every mesh, those of the idler too.",
    ),
    because="The sense settles which train it is; its torque grows as the speed falls, and shrinks at each "
    "mesh.",
)

TRAINS = (COMPOUND, IDLERS, WORM, RACK, WHICH_TRAIN)
