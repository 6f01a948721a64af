"""Five exercises on why a machine powers off on its way, rising from one torque to deciding what is wrong.

Machines and numbers are invented.  Torques are N·mm, angles degrees of the main cam, speeds rev/min.
"""

from __future__ import annotations

from mechlib.drives.motor import motor_from_line
from mechlib.say import say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip
from mechlib.teaching.power_off_causes import WHAT_IS_WRONG
from mechlib.transports.motor_drive import DEG_S

IN_TIME, LATE = "it gets there in time", "the time-out comes first"
OTHER = {IN_TIME: LATE, LATE: IN_TIME}

MOTOR_TORQUE = Exercise(
    title="What is asked of the motor?",
    question="At one place of a mode change, levers and gears ask for {cam_said} at the main cam. The motor "
    "makes {turns} turns for one of the cam. Belt, worm and gears pass on {percent} % of the work that they "
    "are given. Besides, the train has friction that takes {friction_said} of the motor itself. What torque "
    "is asked of the motor? Answer to two decimals.",
    numbers={
        "cam": range(80, 241, 5),
        "turns": range(200, 321, 4),
        "percent": range(30, 51),
        "tenths": range(3, 9),
        "friction": lambda n: n.tenths / 10,
        "part": lambda n: n.percent / 100,
        "cam_said": lambda n: say(n.cam, "N·mm", 0),
        "friction_said": lambda n: say(n.friction, "N·mm"),
    },
    fields=(Number("Torque", "N·mm", 0.006, 0, 4900),),
    right=lambda n: n.cam / (n.turns * n.part) + n.friction,
    slips=(
        Slip(
            "losses forgotten",
            lambda n: n.cam / n.turns + n.friction,
            "you let the train pass on everything. Part of what the motor gives is lost on the way, so must "
            "it give more, or less?",
        ),
        Slip(
            "losses the wrong way",
            lambda n: n.cam / n.turns * n.part + n.friction,
            "you made the torque smaller by the losses. The cam must get its share in full: what the train "
            "loses comes on top.",
        ),
        Slip(
            "friction forgotten",
            lambda n: n.cam / (n.turns * n.part),
            "that is for the cam alone. What does the train's own friction take?",
        ),
        Slip(
            "friction sent through the train",
            lambda n: (n.cam / n.turns + n.friction) / n.part,
            "you sent the friction through the train as well. It is told as the motor feels it already.",
        ),
        Slip(
            "ratio forgotten",
            lambda n: n.cam / n.part + n.friction,
            "you left the ratio out. The motor turns many times for one turn of the cam; for the same work "
            "it needs as many times less torque.",
        ),
    ),
    hints=(
        "Work is torque times turning. The motor turns further than the cam: by how much less torque could "
        "it do with, if nothing were lost?",
        "Only a part of what the motor gives arrives. Which number, made smaller by that part, gives the one "
        "that you have?",
        "At the end add what the train takes for itself.",
    ),
    because="Torque at the cam, over the motor's turns for one of the cam, over the part that arrives; the "
    "train's friction on top.",
)

SPEED_AT_LOAD = Exercise(
    title="How fast does it still turn?",
    question="A motor turns at {idle} rev/min without load, and stalls at {stall_said}. Its line is "
    "straight. Now it is asked for {torque_said}. How fast does it turn? Answer in whole rev/min.",
    numbers={
        "idle": range(1500, 2801, 50),
        "stall": range(6, 15),
        "part": range(12, 68),
        "torque": lambda n: round(n.stall * n.part / 100, 1),
        "stall_said": lambda n: say(n.stall, "N·mm", 0),
        "torque_said": lambda n: say(n.torque, "N·mm"),
    },
    fields=(Number("Speed", "rev/min", 0.6, 0, 4900),),
    right=lambda n: motor_from_line(12, n.idle, n.stall).speed(n.torque),
    slips=(
        Slip(
            "what is lost",
            lambda n: n.idle * n.torque / n.stall,
            "that is the speed that the load takes away. What is left?",
        ),
        Slip(
            "no straight line",
            lambda n: n.idle / (1 + n.torque / n.stall),
            "with that rule the motor would never stall. On a straight line each N·mm takes the same number "
            "of turns away, until none is left.",
        ),
        Slip(
            "added",
            lambda n: n.idle * (1 + n.torque / n.stall),
            "you let the load make the motor faster. Which way does the line fall?",
        ),
        Slip(
            "load forgotten",
            lambda n: n.idle,
            "that is its speed without any load.",
        ),
    ),
    hints=(
        "Draw the line: the speed without load on the upright axis, the torque that stalls it on the other.",
        "How large a part of the torque that stalls it is it asked for?",
        "The same part of its speed is lost.",
    ),
    because="The line is straight: with a part of the stall torque the same part of the speed is lost.",
)


def _at(n, limit: float) -> float:
    """The angle at which an evenly rising load comes to a limit."""
    return n.start + (limit - n.first) / (n.last - n.first) * n.length


WHERE_IT_SLIPS = Exercise(
    title="Where does the belt slip?",
    question="When it was new, a belt slipped when more than {new_said} was asked of the motor. With age it "
    "has lost {lost} % of that. On the way to PLAY the load rises evenly, from {first_said} at {start}° to "
    "{last_said} at {end}°. At which angle does the belt slip? Answer to one decimal.",
    numbers={
        "new": tuple(tenth / 10 for tenth in range(28, 41)),
        "lost": range(22, 41),
        "low": range(30, 61, 2),
        "high": range(104, 123, 2),
        "start": range(60, 181),
        "length": range(14, 31),
        "left": lambda n: n.new * (100 - n.lost) / 100,
        "first": lambda n: round(n.left * n.low / 100, 2),
        "last": lambda n: round(n.left * n.high / 100, 2),
        "end": lambda n: n.start + n.length,
        "new_said": lambda n: say(n.new, "N·mm"),
        "first_said": lambda n: say(n.first, "N·mm", 2),
        "last_said": lambda n: say(n.last, "N·mm", 2),
    },
    fields=(Number("Angle", "°", 0.06, -900, 900),),
    right=lambda n: _at(n, n.left),
    slips=(
        Slip(
            "the new belt's limit",
            lambda n: _at(n, n.new),
            "you took the belt as it was when new. What does it still pass on?",
        ),
        Slip(
            "what it has lost",
            lambda n: _at(n, n.new * n.lost / 100),
            "you took what the belt has lost for what it has left.",
        ),
        Slip(
            "the first load forgotten",
            lambda n: n.start + n.left / (n.last - n.first) * n.length,
            "you let the load rise from nought. How much is asked at the start already, and how much more "
            "may be asked before the belt slips?",
        ),
        Slip(
            "share of the last load",
            lambda n: n.start + n.left / n.last * n.length,
            "you shared the way out as if the load began at nought and ended at its last value.",
        ),
        Slip(
            "the first angle forgotten",
            lambda n: _at(n, n.left) - n.start,
            "so far is it from where the load begins to rise. At which angle is that?",
        ),
        Slip(
            "counted from the end",
            lambda n: n.end - (_at(n, n.left) - n.start),
            "you counted from the wrong end: the load rises from the first angle on.",
        ),
    ),
    hints=(
        "What does the belt pass on now? Take off what it has lost.",
        "How much may the load rise from its first value until then? How much does it rise altogether?",
        "The load rises evenly: the same part of the degrees is over as of the rise.",
    ),
    because="The load rises evenly, so the part of the rise that the belt bears is the part of the degrees "
    "that it gets on.",
)

IN_TIME_OR_NOT = Exercise(
    title="Does it get there in time?",
    question="The way to PLAY is {way}° of the main cam. The motor makes {turns} turns for one turn of the "
    "cam, and under load it runs at {speed} rev/min on this way. The controller gives it {limit_said}. How "
    "long does the way take, to one decimal, and does it get there in time?",
    numbers={
        "way": range(150, 331, 5),
        "turns": range(240, 321, 8),
        "speed": range(1300, 3001, 50),
        "factor": (0.6, 0.75, 0.85, 1.2, 1.35, 1.6),  # never near the edge
        "seconds": lambda n: n.way / (DEG_S * n.speed / n.turns),
        "limit": lambda n: round(n.seconds * n.factor, 1),
        "limit_said": lambda n: say(n.limit, "s"),
        "verdict": lambda n: IN_TIME if n.seconds < n.limit else LATE,
    },
    fields=(Number("Time", "s", 0.06, 0, 4999), OneOf("In time?", (IN_TIME, LATE))),
    right=lambda n: (n.seconds, n.verdict),
    slips=(
        Slip(
            "minutes for seconds",
            lambda n: (n.seconds / 60, None),
            "that is the time in minutes, as the speed is told in turns a minute.",
        ),
        Slip(
            "a whole turn of the cam",
            lambda n: (n.seconds * 360 / n.way, None),
            "so long a whole turn of the cam would take. How much of a turn is the way?",
        ),
        Slip(
            "degrees for turns",
            lambda n: (n.seconds * 360, None),
            "you took each degree for a whole turn.",
        ),
        Slip(
            "verdict against the time",
            lambda n: (n.seconds, OTHER[n.verdict]),
            "the time is right, but the verdict doesn't go with it. Set it beside what the controller gives.",
        ),
    ),
    hints=(
        "How many turns does the motor make on this way? A turn of the cam has 360°.",
        "How many turns does it make in a second? A minute has 60 s.",
        "The turns of the way over the turns in a second; then set that beside the controller's patience.",
    ),
    because="Turns of the motor on the way, over its turns in a second, against the time-out.",
)

POWERS_OFF = (MOTOR_TORQUE, SPEED_AT_LOAD, WHERE_IT_SLIPS, IN_TIME_OR_NOT, WHAT_IS_WRONG)
