"""Five exercises on how a dwell sets the timing of a mode, rising from counting to deciding.

Machines and numbers are invented.  Angles are main-cam degrees; coming in the loading sense the cam rises.
"""

from __future__ import annotations

import math

from mechlib.bench.tooth_offset import chart_shift_deg
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip
from mechlib.teaching.remedies import WHICH_REMEDY, in_degrees

BELOW, ABOVE = "below the stop angle", "above the stop angle"
OTHER = {BELOW: ABOVE, ABOVE: BELOW}


def _after(n, lag: float) -> float:
    """The angle that is ``lag`` past the edge at which the code begins, the way in which the cam comes."""
    return n.opens + n.way * lag


STOP_ANGLE = Exercise(
    title="Where does it stop?",
    question="The code of PLAY shows from {low_said} to {high_said} of the main cam. The controller believes "
    "it when it has stood for {settle_said}; then the cam coasts by {coast_said}. PLAY is reached in the "
    "{sense} sense, so that the angle {grows}. At which angle does the cam come to rest? Answer to one "
    "decimal.",
    numbers={
        "low": tuple(half / 2 for half in range(120, 500)),
        "width": tuple(half / 2 for half in range(12, 31)),
        "settle": tuple(tenth / 10 for tenth in range(4, 15)),
        "coast": tuple(tenth / 10 for tenth in range(8, 40)),
        "way": (1, -1),
        "high": lambda n: n.low + n.width,
        "opens": lambda n: n.low if n.way > 0 else n.high,
        "sense": lambda n: "loading" if n.way > 0 else "unloading",
        "grows": lambda n: "grows" if n.way > 0 else "gets smaller",
        **in_degrees("low", "high", "settle", "coast"),
    },
    fields=(Number("Stop angle", "°", 0.06, -100, 500, exact=True),),
    right=lambda n: _after(n, n.settle + n.coast),
    slips=(
        Slip(
            "coasting forgotten",
            lambda n: _after(n, n.settle),
            "that is where the controller believes the code and switches the motor off. Does the cam stand "
            "still at once?",
        ),
        Slip(
            "settling forgotten",
            lambda n: _after(n, n.coast),
            "you let the motor be switched off at the edge itself. How long must the code have stood before?",
        ),
        Slip(
            "taken away",
            lambda n: _after(n, -n.settle - n.coast),
            "you went from the right edge, but the wrong way. The cam goes on in the sense in which it came.",
        ),
        Slip(
            "the other sense",
            lambda n: _after(n, n.width - n.settle - n.coast),
            "that is where it would stop if it came in the other sense. Which edge of the code does it meet "
            "first?",
        ),
        Slip(
            "the far edge",
            lambda n: _after(n, n.width + n.settle + n.coast),
            "you counted from the edge at which the code is lost again. The controller has long seen it by "
            "then.",
        ),
        Slip(
            "from the middle of the code",
            lambda n: _after(n, n.width / 2 + n.settle + n.coast),
            "you counted from the middle of the code. The controller doesn't know where its middle is: what "
            "does it notice first?",
        ),
    ),
    hints=(
        "Draw the arc of the code on a line of angles, and an arrow for the sense in which the cam comes.",
        "Which of the two edges does the arrow meet first?",
        "From there first settling, then coasting, both on in the sense of the arrow.",
    ),
    because="From the edge that is met first, settling and coasting both carry the cam on in the {sense} "
    "sense.",
)


def _two_sided(n) -> tuple[float, str]:
    """The smaller of the two outer distances between stop angles and dwell, and its side."""
    return min((n.below, BELOW), (n.above, ABOVE))


def _one_stop(n) -> tuple[float, str]:
    """The same for the stop angle alone that does not rule."""
    stop = n.far_stop
    return min((stop - n.low, BELOW), (n.high - stop, ABOVE))


ROOM = Exercise(
    title="How much room is there?",
    question="In PLAY the reel idler stands right from {low_said} to {high_said}. Reached in the loading "
    "sense the cam comes to rest at {up_said}, in the unloading sense at {down_said}. How large is the "
    "margin, and on which side is it so small? Answer to one decimal.",
    numbers={
        "low": tuple(half / 2 for half in range(200, 500)),
        "below": tuple(tenth / 10 for tenth in range(10, 90)),
        "apart": tuple(tenth / 10 for tenth in range(8, 60)),
        "above": tuple(tenth / 10 for tenth in range(10, 90)),
        "crossed": (False, True, False),  # long coasting carries both past each other
        "first": lambda n: n.low + n.below,
        "second": lambda n: n.first + n.apart,
        "high": lambda n: n.second + n.above,
        "length": lambda n: n.high - n.low,
        "stop": lambda n: n.first if n.below < n.above else n.second,
        "far_stop": lambda n: n.second if n.below < n.above else n.first,
        "up": lambda n: n.second if n.crossed else n.first,
        "down": lambda n: n.first if n.crossed else n.second,
        **in_degrees("low", "high", "up", "down"),
    },
    fields=(Number("Margin", "°", 0.06, -360, 360, exact=True), OneOf("Side", (BELOW, ABOVE))),
    right=_two_sided,
    slips=(
        Slip(
            "the whole arc",
            lambda n: (n.length, None),
            "that is the whole arc on which the idler stands right. How far may the cam be off from where "
            "it stops?",
        ),
        Slip(
            "half of the arc",
            lambda n: (n.length / 2, None),
            "you halved the arc, as if the cam stopped in its very middle. Does it?",
        ),
        Slip(
            "one stop angle only",
            _one_stop,
            "you looked at one stop angle only. PLAY can be reached in both senses, and must hold in both.",
        ),
        Slip(
            "the roomier side",
            lambda n: max((n.below, BELOW), (n.above, ABOVE)),
            "that is the side with more room. A mode is lost where there is least.",
        ),
        Slip(
            "side against the margin",
            lambda n: (_two_sided(n)[0], OTHER[_two_sided(n)[1]]),
            "the margin is right, the side is not. Which edge of the arc is it that lies so near?",
        ),
        Slip(
            "from the middle of the arc",
            lambda n: (abs(n.stop - (n.low + n.high) / 2), None),
            "that is how far the cam stops from the middle. It is the edges that count.",
        ),
        Slip(
            "between the stop angles",
            lambda n: (n.apart, None),
            "that is how far the two stop angles are apart. How far are they from the edges?",
        ),
    ),
    hints=(
        "Draw the arc on which the idler stands right, and both stop angles in it.",
        "Each stop angle has two distances, down to one edge and up to the other: four in all.",
        "The margin is the smallest of the four.",
    ),
    because="Of the four distances from a stop angle to an edge this one is the smallest.",
)


def _tooth(n, teeth: int) -> float:
    return abs(chart_shift_deg(teeth, 1))


SWITCH, CAM = "the rotor of the mode switch", "the brake cam"

ONE_TOOTH = Exercise(
    title="One tooth less",
    question="In PLAY there are {below_said} from the lower edge of the brake's arc up to the stop angle, "
    "and {above_said} from there to the upper edge. Now {what}, a gear of {own} teeth, is put in one tooth "
    "{how}. It meshes with a gear of {parent} teeth that turns with the main cam. How much is left on the "
    "side that gets narrower (with a minus if the brake now stands wrong), and which side is it? Answer to "
    "one decimal.",
    numbers={
        "what": (SWITCH, CAM),
        "ahead": (1, -1),
        "parent": (36, 40, 45, 48, 60, 72, 80),  # one tooth is so many halves of a degree
        "own": (*range(20, 36), 42, 54),
        # never a whole tooth, so that the verdict doesn't hang on nought
        "below": tuple(half / 2 + 0.3 for half in range(6, 31)),
        "above": tuple(half / 2 + 0.3 for half in range(6, 31)),
        "how": lambda n: "ahead" if n.ahead > 0 else "behind",
        # The dwell of a cam put in ahead comes earlier; of a switch put in ahead the stop angle does.
        "side": lambda n: BELOW if (n.what == SWITCH) == (n.ahead > 0) else ABOVE,
        "narrower": lambda n: n.below if n.side == BELOW else n.above,
        "wider": lambda n: n.above if n.side == BELOW else n.below,
        **in_degrees("below", "above"),
    },
    fields=(
        Number("Left on that side", "°", 0.06, -360, 360, exact=True),
        OneOf("Narrower side", (BELOW, ABOVE)),
    ),
    right=lambda n: (n.narrower - _tooth(n, n.parent), n.side),
    slips=(
        Slip(
            "the other side",
            lambda n: (n.wider - _tooth(n, n.parent), OTHER[n.side]),
            "you moved it the wrong way, or the wrong thing. A part that is ahead does its work at smaller "
            "angles: is it the stop angle that goes there, or the arc?",
        ),
        Slip(
            "its own teeth",
            lambda n: (n.narrower - _tooth(n, n.own), None),
            "you shared the turn among its own teeth. Which of the two gears turns with the main cam?",
        ),
        Slip(
            "a tooth for a degree",
            lambda n: (n.narrower - 1, None),
            "you took a degree off. How many degrees is one tooth at this mesh?",
        ),
        Slip(
            "the side that gets wider",
            lambda n: (n.wider + _tooth(n, n.parent), None),
            "that is what there is on the side that gets wider.",
        ),
        Slip(
            "the tooth added",
            lambda n: (n.narrower + _tooth(n, n.parent), None),
            "you added the tooth on the side that gets narrower.",
        ),
        Slip(
            "half a tooth",
            lambda n: (n.narrower - _tooth(n, n.parent) / 2, None),
            "you took half a tooth off, as if both sides shared it. The whole tooth goes one way.",
        ),
        Slip(
            "side against the rest",
            lambda n: (n.narrower - _tooth(n, n.parent), OTHER[n.side]),
            "what is left is right, the side does not go with it.",
        ),
    ),
    hints=(
        "How many degrees of the main cam is one tooth? Only the gear that turns with it counts.",
        "Which moves: the stop angle (by the switch) or the arc (by the follower's gear)? Which way?",
        "If the stop angle goes down, the room under it shrinks. If the arc goes down, its upper edge "
        "comes nearer.",
    ),
    because="One tooth of {parent} goes from this side, and the other side gains it.",
)


def _sum(n, coast: float) -> float:
    return n.cam + n.switch + n.contact + coast


def _root(n, coast: float) -> float:
    return math.hypot(n.cam, n.switch, n.contact, coast)


def _dwells(n, coast: float) -> tuple[float, float]:
    """The dwell for the worst case, and by root-sum-square on each side."""
    return n.apart + 2 * _sum(n, coast), n.apart + 2 * _root(n, coast)


ADD_IT_UP = Exercise(
    title="Add it up",
    question="In PLAY the cam comes to rest at {first_said} in one sense and at {second_said} in the other. "
    "The brake must bear, either way: its cam one tooth out, {cam_said}; the mode switch one tooth out, "
    "{switch_said}; the edge of the contact off by {contact_said}. The cam usually coasts by {coast_said}, "
    "but that can be {spread_said} more or less. How long must the whole arc be on which the brake stands "
    "right, with both its sides: for the worst case, and with the root-sum-square of each side? Answer to "
    "one decimal.",
    numbers={
        "first": tuple(half / 2 for half in range(200, 500)),
        "apart": tuple(tenth / 10 for tenth in range(15, 70)),
        "cam": (4.5, 5.0, 6.0, 7.2, 7.5, 8.0, 9.0),
        "switch": (4.5, 5.0, 6.0, 7.2, 7.5, 8.0, 9.0),
        "contact": tuple(tenth / 10 for tenth in range(5, 21)),
        "coast": tuple(tenth / 10 for tenth in range(22, 40)),
        "spread": tuple(tenth / 10 for tenth in range(3, 16)),
        "second": lambda n: n.first + n.apart,
        **in_degrees("first", "second", "cam", "switch", "contact", "coast", "spread"),
    },
    fields=(
        Number("Worst case", "°", 0.06, 0, 360, exact=True),
        Number("Root-sum-square", "°", 0.06, 0, 360),
    ),
    right=lambda n: _dwells(n, n.spread),
    slips=(
        Slip(
            "one side only",
            lambda n: (n.apart + _sum(n, n.spread), n.apart + _root(n, n.spread)),
            "you added it on one side only. What can be off can be off either way.",
        ),
        Slip(
            "distance of the stop angles left out",
            lambda n: (2 * _sum(n, n.spread), 2 * _root(n, n.spread)),
            "you forgot that the arc must hold both stop angles: it begins before the one and ends after "
            "the other.",
        ),
        Slip(
            "distance of the stop angles under the root",
            lambda n: (_dwells(n, n.spread)[0], math.hypot(n.apart, 2 * _root(n, n.spread))),
            "the worst case is right. But you put the distance of the stop angles under the root: it isn't "
            "left to chance, it is always there in full.",
        ),
        Slip(
            "both sides under one root",
            lambda n: (_dwells(n, n.spread)[0], n.apart + math.sqrt(2) * _root(n, n.spread)),
            "the worst case is right. But you put both sides under one root: each must bear it by itself.",
        ),
        Slip(
            "boxes changed over",
            lambda n: _dwells(n, n.spread)[::-1],
            "you changed the two boxes over. Which of the two ways asks for more?",
        ),
        Slip(
            "the whole coasting",
            lambda n: _dwells(n, n.coast),
            "you took all of the coasting. That it coasts is certain, and is in the stop angles already. "
            "What of it may be off?",
        ),
    ),
    hints=(
        "Two kinds: what is certain, and what may be off either way. The stop angles already hold the first.",
        "For one side: add up what may be off; and for the other answer square each, add, take the root.",
        "The arc needs that below the lower stop angle, that above the upper one, and all between.",
    ),
    because="Twice what may be off on a side, and the distance of the stop angles in full.",
)

DWELL_TIMING = (STOP_ANGLE, ADD_IT_UP, ROOM, ONE_TOOTH, WHICH_REMEDY)
