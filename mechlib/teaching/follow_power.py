"""Five exercises on following power through a planetary set, rising from counting to deciding.

Sets and numbers are invented, but every set can be put together: its planets are spaced equally and clear
each other.  Speeds are signed; plus is the sense named in the question.
"""

from __future__ import annotations

from mechlib.gears.planetary import Driven, Held, speeds
from mechlib.gears.power import Load, split
from mechlib.say import say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip
from mechlib.teaching.planetary_sets import A_SET, SET, a_set

MOVES = {"ring": "the ring moves, the carrier stands", "carrier": "the carrier moves, the ring stands"}
SPEEDS = range(100, 501, 20)  # rev/min

RING_TEETH = Exercise(
    title="Teeth of the ring",
    question="A planetary set has a sun of {sun} teeth and {planets} planets of {planet} teeth, all of one "
    "module and of the usual form. The planets run inside a ring. How many teeth must the ring have?",
    numbers=SET,
    fields=(Number("Ring", "teeth", 0, 4, 400, whole=True),),
    right=lambda n: n.ring,
    slips=(
        Slip(
            "one side only",
            lambda n: n.sun + n.planet,
            "you went from the middle to one side. A line right across the ring meets planets on both sides "
            "of the sun.",
        ),
        Slip(
            "every planet counted",
            lambda n: n.sun + n.planets * n.planet,
            "you counted every planet of the set. How many of them can a line right across the ring cut in "
            "the middle? More of them share the load, but they need no larger ring.",
        ),
        Slip(
            "everything doubled",
            lambda n: 2 * (n.sun + n.planet),
            "you doubled the sun as well. A line right across the ring crosses the sun once, from edge to "
            "edge.",
        ),
        Slip(
            "sun and planet mixed up",
            lambda n: 2 * n.sun + n.planet,
            "you took the sun on both sides and the planet in the middle. Which stands in the middle?",
        ),
        Slip(
            "the sun left out",
            lambda n: 2 * n.planet,
            "you counted only the planets. Between them lies the sun.",
        ),
    ),
    hints=(
        "With one module throughout, teeth are as good as diameters: count across instead of measuring.",
        "Draw a line right across the ring, through the middle of a planet. What does it cross on its way?",
        "The line crosses from the ring to the sun, over the sun, and from the sun to the ring again.",
    ),
    because="A line right across the ring crosses the sun once and the width of a planet on either side.",
)

CARRIER_HELD = Exercise(
    title="Carrier held: the ring's speed",
    question=A_SET + "The carrier is held, and the sun turns at {speed_said}. How fast does the ring turn? "
    "Plus is the sun's sense, minus the other. Answer to one decimal.",
    numbers={**SET, "speed": SPEEDS, "speed_said": lambda n: say(n.speed, "rev/min", 0, sign=True)},
    fields=(Number("Ring", "rev/min", 0.06, -4500, 4500),),
    right=lambda n: speeds(a_set(n), [Driven("sun", n.speed), Held("carrier")])["ring"],
    slips=(
        Slip(
            "ratio upside down",
            lambda n: -n.speed * n.ring / n.sun,
            "the ratio is upside down. The sun is the small wheel: does the large one turn faster, or "
            "slower?",
        ),
        Slip(
            "ring counted as external",
            lambda n: n.speed * n.sun / n.ring,
            "the size is right, the sense is not. Two outside meshes would give it; but the ring has its "
            "teeth inside. Which of the two meshes reverses the sense?",
        ),
        Slip(
            "planet teeth used",
            lambda n: -n.speed * n.sun / n.planet,
            "you stopped at the planet: that is how fast it turns. Go on to the ring.",
        ),
        Slip(
            "sun's teeth left out",
            lambda n: -n.speed * n.planet / n.ring,
            "you went from the planet to the ring as if the planet turned at the sun's speed. How fast does "
            "the planet turn?",
        ),
        Slip(
            "the ring held instead",
            lambda n: n.speed * n.sun / (n.sun + n.ring),
            "that is the carrier's speed when the ring is held. Here the carrier is held: the axes of the "
            "planets stand still.",
        ),
    ),
    hints=(
        "With the carrier held no axis moves: this is an ordinary train from sun over planet to ring.",
        "The planet is an idler. What do the teeth of an idler do to the ratio?",
        "For each mesh ask whether it reverses the sense: an outside one does, an inside one does not.",
    ),
    because="With the carrier held the planets are idlers: {sun} teeth drive {ring}, and only the mesh at "
    "the sun reverses.",
)

RING_HELD = Exercise(
    title="Ring held: the carrier's speed",
    question=A_SET + "The ring is held, and the sun turns at {speed_said}. How fast does the carrier turn? "
    "Plus is the sun's sense, minus the other. Answer to one decimal.",
    numbers=CARRIER_HELD.numbers,
    fields=(Number("Carrier", "rev/min", 0.06, -4500, 4500),),
    right=lambda n: speeds(a_set(n), [Driven("sun", n.speed), Held("ring")])["carrier"],
    slips=(
        Slip(
            "ratio upside down",
            lambda n: n.speed * (n.sun + n.ring) / n.sun,
            "the ratio is upside down: that is how fast the sun would turn if you turned the carrier so. A "
            "carrier driven by the sun is the slow one.",
        ),
        Slip(
            "carrier forgotten",
            lambda n: -n.speed * n.sun / n.ring,
            "you treated the set as a train on fixed axes. Here the carrier takes the axes of the planets "
            "round: look at the speeds from the carrier, from which even the ring seems to turn.",
        ),
        Slip(
            "sign lost",
            lambda n: -n.speed * n.sun / (n.sun + n.ring),
            "the size is right, the sense is not. The sun pushes a planet at one side while the ring keeps "
            "its other side still: which way must the planet's axis go?",
        ),
        Slip(
            "ring counted as external",
            lambda n: n.speed * n.sun / (n.sun - n.ring),
            "you counted the ring as an outside gear. They are inside: seen from the carrier it turns "
            "against the sun, and the teeth add up.",
        ),
        Slip(
            "planet teeth used",
            lambda n: n.speed * n.sun / (n.sun + n.planet),
            "you put the planet's teeth where the ring's belong. The planet is only an idler between the "
            "two.",
        ),
        Slip(
            "the sun held instead",
            lambda n: n.speed * n.ring / (n.sun + n.ring),
            "that is the carrier's speed when the sun is held and the ring turns so. Here the ring is held, "
            "and the sun turns.",
        ),
    ),
    hints=(
        "Sit on the carrier. From there sun and ring are an ordinary train: what ratio has it, which sign?",
        "Seen from the carrier the sun turns at its speed less the carrier's, and the ring at nought less "
        "the carrier's.",
        "Set the one over the other equal to the ratio, and solve for the carrier's speed.",
    ),
    because="Seen from the carrier {sun} teeth drive {ring} the other way round; the ring's own speed is "
    "nought.",
)

ALL_THREE = Exercise(
    title="All three move: the ring's speed",
    question=A_SET + "Nothing is held: the sun turns at {speed_said} and the carrier at {carrier_said}. How "
    "fast does the ring turn? Signs as in these speeds. Answer to one decimal.",
    numbers={
        **CARRIER_HELD.numbers,
        "carrier": tuple(sense * size for sense in (-1, 1) for size in range(30, 91, 10)),
        "carrier_said": lambda n: say(n.carrier, "rev/min", 0, sign=True),
    },
    fields=(Number("Ring", "rev/min", 0.06, -4500, 4500),),
    right=lambda n: speeds(a_set(n), [Driven("sun", n.speed), Driven("carrier", n.carrier)])["ring"],
    slips=(
        Slip(
            "ratio upside down",
            lambda n: n.carrier - (n.speed - n.carrier) * n.ring / n.sun,
            "the ratio is upside down. Seen from the carrier the sun drives the ring: does the larger wheel "
            "turn faster, or slower?",
        ),
        Slip(
            "carrier forgotten",
            lambda n: -n.speed * n.sun / n.ring,
            "you left the carrier's motion out; that would be right with the carrier held. Take its speed "
            "from the others first, then treat the set as an ordinary train.",
        ),
        Slip(
            "carrier not added back",
            lambda n: -(n.speed - n.carrier) * n.sun / n.ring,
            "that is the ring's speed as seen from the carrier. The bench asks for its speed as seen from "
            "the frame.",
        ),
        Slip(
            "ring counted as external",
            lambda n: n.carrier + (n.speed - n.carrier) * n.sun / n.ring,
            "you counted the ring as an outside gear. Its mesh with the planet is an inside one: seen "
            "from the carrier, which way does the ring turn?",
        ),
        Slip(
            "planet teeth used",
            lambda n: n.carrier - (n.speed - n.carrier) * n.sun / n.planet,
            "you stopped at the planet: that is the planet's own speed. Go on to the ring.",
        ),
        Slip(
            "sign lost",
            lambda n: -n.carrier - (n.speed + n.carrier) * n.sun / n.ring,
            "you took the carrier's speed with the other sign. Look again which way it turns.",
        ),
        Slip(
            "carrier not taken away",
            lambda n: n.carrier - n.speed * n.sun / n.ring,
            "you added the carrier's speed at the end, but didn't take it away from the sun's at the "
            "beginning. How fast does the sun turn, seen from the carrier?",
        ),
    ),
    hints=(
        "Sit on the carrier. How fast does the sun turn, seen from there? Mind the signs when you take away.",
        "Seen from the carrier this is an ordinary train: the sun drives the ring, the planet is an idler.",
        "At the end step down from the carrier: add its speed again, with its sign.",
    ),
    because="Less the carrier's speed the set is an ordinary train; at the end the carrier's speed is added "
    "again.",
)


def _split(n):
    loads = {"ring": Load(friction_Nmm=n.ring_load), "carrier": Load(friction_Nmm=n.carrier_load)}
    return split(a_set(n), Driven("sun", 100), loads)  # without losses the speed makes no difference


def _bears(n, ring: int) -> float:
    """What the standing output bears if the ring had ``ring`` teeth; negative for an external wheel."""
    part, whole = abs(ring), abs(n.sun + ring)
    return n.way.load_Nmm * (whole / part if n.way.moving == "ring" else part / whole)


WHICH_MOVES = Exercise(
    title="Which output moves?",
    question=A_SET + "The sun is driven. The ring works the main cam, which takes {ring_said} at the ring to "
    "move; the carrier works the carriage, which takes {carrier_said} at the carrier. Neither is held "
    "otherwise; leave the losses in the teeth out. Which of the two moves, and what torque must the load on "
    "the other bear to keep it still? Answer to one decimal.",
    numbers={
        **SET,
        "ring_load": range(20, 121, 5),
        "factor": (0.5, 0.6, 0.7, 0.8, 1.25, 1.4, 1.6, 2),  # never near the change-over, which is at 1
        "carrier_load": lambda n: round(n.ring_load * (1 - 1 / a_set(n).basic_ratio) * n.factor),
        "ring_said": lambda n: say(n.ring_load, "N·mm", 0),
        "carrier_said": lambda n: say(n.carrier_load, "N·mm", 0),
        "way": lambda n: _split(n).way,
        "other": lambda n: next(way for way in _split(n).ways if way.moving != n.way.moving),
    },
    fields=(
        Number("Torque on the one that stands", "N·mm", 0.06, 0, 4500),
        OneOf("What moves", tuple(MOVES.values())),
    ),
    right=lambda n: (n.way.bears_Nmm, MOVES[n.way.moving]),
    slips=(
        Slip(
            "the other output",
            lambda n: (n.other.bears_Nmm, MOVES[n.other.moving]),
            "you let the wrong output move: what would stand then can't bear that torque. Don't compare the "
            "loads with each other, but what each of them asks for at the sun.",
        ),
        Slip(
            "torque of the other case",
            lambda n: (n.other.bears_Nmm, MOVES[n.way.moving]),
            "you chose the right output to move, but worked the torque out for the other case. Start from "
            "the load that moves.",
        ),
        Slip(
            "verdict against the torque",
            lambda n: (n.way.bears_Nmm, MOVES[n.other.moving]),
            "the torque is right, but the verdict does not go with it. From which load did you work it out?",
        ),
        Slip(
            "carrier forgotten",
            lambda n: (n.way.load_Nmm, None),
            "you passed the moving load straight on, as if only two members took part. Sun, ring and carrier "
            "all do: the torques on the three balance.",
        ),
        Slip(
            "what it can bear",
            lambda n: (n.other.load_Nmm, None),
            "that is what the one that stands can bear, the most before it would move. Asked for is what it "
            "bears now: start from the load that moves.",
        ),
        Slip(
            "the sun's torque",
            lambda n: (n.way.input_Nmm, None),
            "that is the torque with which the sun must be driven. Asked for is the torque on the output "
            "that stands.",
        ),
        Slip(
            "ring counted as external",
            lambda n: (_bears(n, -n.ring), None),
            "you counted the ring as an outside gear. Sun and ring push the planets the same way, so "
            "that their torques add up at the carrier.",
        ),
        Slip(
            "planet teeth used",
            lambda n: (_bears(n, n.planet), None),
            "you put the planet's teeth where the ring's belong. A planet only passes the force on from "
            "tooth to tooth.",
        ),
    ),
    hints=(
        "Torques go as teeth: what acts at the sun acts at the ring as many times over as the ring has more "
        "teeth. The carrier takes both together.",
        "Work out for each load by itself the torque that it asks for at the sun. The smaller one wins.",
        "Then go from the load that moves to the one that stands, by teeth, and see that it can bear it.",
    ),
    because="The load that asks for less at the sun moves; torques are as {sun} at the sun to {ring} at the "
    "ring, and the carrier bears their sum.",
)

FOLLOW_POWER = (RING_TEETH, CARRIER_HELD, RING_HELD, ALL_THREE, WHICH_MOVES)
