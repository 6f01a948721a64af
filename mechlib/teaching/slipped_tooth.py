"""Five exercises on a gear put in some teeth out, rising from counting to deciding.

Machines and numbers are invented.  Teeth out are positive where the part stands ahead in its own loading
sense: its events then come at smaller main-cam degrees.
"""

from __future__ import annotations

import math

from mechlib.bench.tooth_offset import chart_shift_deg, degrees_per_tooth, gap_from_mm, whole_teeth
from mechlib.say import count, say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

TEETH_OUT = (-3, -2, 2, 3)  # never one: then "forgot to multiply by the teeth" would not show
STANDS = "it still stands"
BELOW = "it fails: the stop angle now lies below the arc"
ABOVE = "it fails: the stop angle now lies above the arc"

SENSE = (
    "the size is right, the sign is not. A part that stands {how} does its work at another main-cam "
    "angle than it should: is that earlier or later, and which sign has that on the chart?"
)


def _how(n) -> str:
    return f"{count(abs(n.out), 'tooth')} {'ahead' if n.out > 0 else 'behind'}"


DEGREES_A_TOOTH = Exercise(
    title="Degrees a tooth",
    question="A loading gear has {teeth} teeth all the way round and meshes with a gear of {mate} teeth. "
    "How many degrees of the loading gear is one tooth? Answer to two decimals.",
    numbers={"teeth": range(18, 71), "mate": range(18, 91)},
    fields=(Number("One tooth", "°", 0.006, 0, 360),),
    right=lambda n: degrees_per_tooth(n.teeth),
    slips=(
        Slip(
            "upside down",
            lambda n: n.teeth / 360,
            "that is teeth for each degree; asked for is degrees for each tooth. Turn the division over.",
        ),
        Slip(
            "the mate's teeth",
            lambda n: 360 / n.mate,
            "that is one tooth of the other gear. The degrees asked for are the loading gear's own.",
        ),
        Slip(
            "half a turn",
            lambda n: 180 / n.teeth,
            "you shared out half a turn, or counted tooth and gap apart. From one tooth to the same "
            "point of the next is one tooth and one gap, and a whole turn is shared among all of them.",
        ),
        Slip(
            "radians",
            lambda n: 2 * math.pi / n.teeth,
            "that is the angle in radians; the question asks for degrees.",
        ),
        Slip(
            "one too few",
            lambda n: 360 / (n.teeth - 1),
            "you counted one tooth too few. That is right for posts along a fence; a gear closes on "
            "itself and has as many gaps as teeth.",
        ),
    ),
    hints=(
        "How far does the gear turn while every one of its teeth passes the mesh once?",
        "A whole turn is 360°. Among how many equal parts is it shared?",
        "The other gear's teeth don't come into it.",
    ),
    because="A whole turn is shared among the gear's own {teeth} teeth.",
)

CHART_SHIFT = Exercise(
    title="Shift on the chart: a part on the main gear",
    question="A pinch cam with a gear of {own} teeth is timed on the main gear, which has {parent} teeth "
    "and turns with the main cam. It was put in {how}. By how many main-cam degrees do its events move on "
    "the timing chart? Plus is towards larger degrees, minus towards smaller. Answer to one decimal.",
    numbers={"parent": range(36, 91), "own": range(18, 61), "out": TEETH_OUT, "how": _how},
    fields=(Number("Shift", "°", 0.06, -360, 360),),
    right=lambda n: chart_shift_deg(n.parent, n.out),
    slips=(
        Slip(
            "the part's own teeth",
            lambda n: -n.out * 360 / n.own,
            "you shared the turn among the part's own teeth. The chart runs in degrees of the main cam: "
            "which gear turns with it?",
        ),
        Slip(
            "degrees of the part",
            lambda n: n.out * 360 / n.own,
            "that is how far the part itself is turned, in its own degrees. The chart asks when its "
            "events come, in degrees of the main cam.",
        ),
        Slip("sense lost", lambda n: n.out * 360 / n.parent, SENSE),
        Slip(
            "only one tooth",
            lambda n: -math.copysign(360 / n.parent, n.out),
            "that is the shift for a single tooth. How many is the part out?",
        ),
        Slip(
            "teeth taken for degrees",
            lambda n: -n.out,
            "you wrote the teeth down as degrees. How many main-cam degrees is one tooth at this mesh?",
        ),
    ),
    hints=(
        "First find what one tooth at this mesh is worth in degrees of the main cam.",
        "While the main cam turns once, all the teeth of the gear that turns with it pass the mesh.",
        "Then multiply by the teeth out, and think which way: a part that stands ahead has done its work "
        "before the cam gets there.",
    ),
    because="One turn of the main cam takes {parent} teeth through the mesh, and the part was {how}.",
)

CHAINED_MESH = Exercise(
    title="Shift on the chart: a part that hangs on another",
    question="A reel idler's cam with a gear of {own} teeth is not on the main gear: it is timed on the "
    "loading gear, which has {parent} teeth at that mesh and turns {speed} times for each turn of the main "
    "cam, {way}. The idler's cam was put in {how}. By how many main-cam degrees do its events move on the "
    "timing chart (plus: to larger degrees)? Answer to one decimal.",
    numbers={
        "parent": range(30, 81),
        "own": range(18, 61),
        "rho": (-2.5, -2, -1.6, -1.5, -1.25, -0.8, -0.75, -0.6, 0.6, 0.75, 0.8, 1.25, 1.5, 1.6, 2, 2.5),
        "out": TEETH_OUT,
        "how": _how,
        "speed": lambda n: say(abs(n.rho), "", 2),
        "way": lambda n: "in the opposite sense" if n.rho < 0 else "in the same sense",
    },
    fields=(Number("Shift", "°", 0.06, -360, 360),),
    right=lambda n: chart_shift_deg(n.parent, n.out, n.rho),
    slips=(
        Slip(
            "the parent's speed left out",
            lambda n: -n.out * 360 / n.parent,
            "those are degrees of the loading gear. It does not turn at the main cam's speed: how far "
            "does the main cam turn meanwhile?",
        ),
        Slip(
            "the parent's speed upside down",
            lambda n: -n.out * 360 / n.parent * abs(n.rho),
            "you used the parent's speed the wrong way up. Does a loading gear that turns {speed} times "
            "as far need more of the main cam for one tooth, or less?",
        ),
        Slip(
            "the part's own teeth",
            lambda n: -n.out * 360 / (n.own * abs(n.rho)),
            "you counted in the part's own teeth. The gear that carries the time to this mesh is the one "
            "that it hangs on.",
        ),
        Slip(
            "sense lost",
            lambda n: n.out * 360 / (n.parent * abs(n.rho)),
            SENSE + " Which way round the loading gear turns doesn't matter: ahead is counted in the part's "
            "own loading sense.",
        ),
        Slip(
            "only one tooth",
            lambda n: -math.copysign(360 / (n.parent * n.rho), n.out),
            "that is the shift for a single tooth. How many is the part out?",
        ),
    ),
    hints=(
        "Which gear's teeth pass this mesh, and how many of its degrees is one of them?",
        "Turn those degrees of the loading gear into degrees of the main cam with the loading gear's speed.",
        "A faster parent spends less of the main cam on a tooth. Then multiply by the teeth out and set "
        "the sign.",
    ),
    because="A tooth of the loading gear, in main-cam degrees, times the teeth out; the part was {how}.",
)


def _gap_mm(n) -> float:
    """The gap as a ruler shows it: the whole teeth's arc, a little misread, to a tenth of a millimetre."""
    return round(abs(n.out) * math.radians(degrees_per_tooth(n.own)) * n.radius + n.misread, 1)


def _nearest(n, gap_deg: float, teeth: int) -> int:
    return round(math.copysign(gap_deg * teeth / 360, n.out))


GAP_TO_TEETH = Exercise(
    title="From a gap at the marks to whole teeth",
    question="The main cam stands in its reference mode. The mark of a carriage gear of {own} teeth, which "
    "meshes with a gear of {mate} teeth, stands {side} the pointer in its loading sense. Along the arc the "
    "gap is {gap}, measured at a radius of {radius} mm from the shaft. How many teeth out is the carriage "
    "gear? Give a whole number, plus for ahead, minus for behind.",
    numbers={
        "own": range(24, 45),
        "mate": range(18, 73),
        "radius": range(10, 23),
        "out": (-5, -4, -3, -2, 2, 3, 4, 5),
        "misread": (-0.2, -0.1, 0.0, 0.1, 0.2),
        "gap_mm": _gap_mm,
        "gap": lambda n: say(n.gap_mm, "mm"),
        "side": lambda n: "ahead of" if n.out > 0 else "behind",
    },
    fields=(Number("Stands out by", "teeth", 0, -400, 400, whole=True),),
    right=lambda n: whole_teeth(gap_from_mm(math.copysign(n.gap_mm, n.out), n.radius), n.own).whole,
    slips=(
        Slip(
            "diameter for radius",
            lambda n: _nearest(n, math.degrees(n.gap_mm / (2 * n.radius)), n.own),
            "you divided by the diameter. An arc divided by its radius is the angle (in radians).",
        ),
        Slip(
            "the mate's teeth",
            lambda n: _nearest(n, math.degrees(n.gap_mm / n.radius), n.mate),
            "you counted in the other gear's teeth. The gap was measured on the carriage gear: how many "
            "degrees is one of its own?",
        ),
        Slip(
            "sense lost",
            lambda n: -_nearest(n, math.degrees(n.gap_mm / n.radius), n.own),
            "the count is right, the sense is not. Read again on which side of the pointer the mark stands.",
        ),
        Slip(
            "radians taken for turns",
            lambda n: _nearest(n, 360 * n.gap_mm / n.radius, n.own),
            "arc divided by radius is an angle in radians, not a part of a turn. How many radians make a "
            "turn?",
        ),
        Slip(
            "millimetres taken for degrees",
            lambda n: _nearest(n, n.gap_mm, n.own),
            "you read the millimetres as degrees. How many degrees they are hangs on the radius.",
        ),
        Slip(
            "degrees taken for teeth",
            lambda n: _nearest(n, math.degrees(n.gap_mm / n.radius), 360),
            "those are the degrees of the gap. How many degrees of this gear is one tooth?",
        ),
    ),
    hints=(
        "First the angle: a gap as long as the radius is one radian, about 57.3°.",
        "Then degrees a tooth of the gear that carries the mark.",
        "Divide one by the other. A ruler is never exact: take the nearest whole number, then set the sign.",
    ),
    because="The gap as an angle, divided by the degrees a tooth of the gear that carries the mark.",
)


def _taken(n) -> float:
    """Degrees by which the slip moves the arc, either way."""
    return abs(chart_shift_deg(n.parent, n.out))


def _left(n) -> float:
    """The margin left on the side that gets narrower."""
    return n.narrower - _taken(n)


def _over(n, nearer: bool = True) -> str:
    """The failure over the edge that comes nearer to the stop angle, or over the other one."""
    return ABOVE if (n.out > 0) == nearer else BELOW


DOES_IT_STAND = Exercise(
    title="Does the mode still stand?",
    question="In PLAY the brake lever stands right over an arc of the main cam. From the stop angle there "
    "are {low} down to the arc's lower edge and {high} up to its upper edge. The cam that moves the lever "
    "is put in {how}, at a mesh where one tooth is {pitch_said} of the main cam; the mode switch is on its "
    "marks, so the stop angle stays. How much margin is left on the side that gets narrower (with a minus "
    "if the stop angle is now outside the arc)? And does PLAY still stand right? If not, on which side of "
    "the arc does the stop angle lie now? Answer to one decimal.",
    numbers={
        "parent": (36, 40, 45, 48, 50, 60, 72, 80),
        "out": TEETH_OUT,
        "spare": tuple(side * half / 2 for side in (-1, 1) for half in range(2, 13)),
        "wider": tuple(half / 2 for half in range(12, 51)),
        "pitch": lambda n: degrees_per_tooth(n.parent),
        "narrower": lambda n: round(n.spare + _taken(n), 1),
        "how": _how,
        "pitch_said": lambda n: say(n.pitch, "°"),
        "low": lambda n: say(n.wider if n.out > 0 else n.narrower, "°"),
        "high": lambda n: say(n.narrower if n.out > 0 else n.wider, "°"),
    },
    fields=(
        Number("Margin left on the narrower side", "°", 0.06, -360, 360),
        OneOf("PLAY", (STANDS, BELOW, ABOVE)),
    ),
    right=lambda n: (_left(n), STANDS if _left(n) > 0 else _over(n)),
    slips=(
        Slip(
            "sense mixed up",
            lambda n: (n.wider - _taken(n), None),
            "you moved the arc the wrong way. Does a cam that stands {how} move its lever at smaller "
            "main-cam degrees, or at larger? The whole arc goes that way, and the stop angle stays.",
        ),
        Slip(
            "the side that gets wider",
            lambda n: (n.wider + _taken(n), None),
            "that is the margin on the side that gets wider. A mode is lost over the edge that comes nearer.",
        ),
        Slip(
            "teeth taken for degrees",
            lambda n: (n.narrower - abs(n.out), None),
            "you took teeth away from degrees. How many degrees are the teeth at this mesh?",
        ),
        Slip(
            "only one tooth",
            lambda n: (n.narrower - n.pitch, None),
            "that would be left after a single tooth. How many is it out?",
        ),
        Slip(
            "shift added",
            lambda n: (n.narrower + _taken(n), None),
            "you added the shift to the margin of the side that gets narrower.",
        ),
        Slip(
            "verdict against the margin",
            lambda n: (_left(n), _over(n) if _left(n) > 0 else STANDS),
            "the margin is right, but the verdict does not go with it. What does its sign say: is the "
            "stop angle still within the arc?",
        ),
        Slip(
            "wrong edge",
            lambda n: (_left(n), _over(n, nearer=False)),
            "the margin is right, but the edge that you name is the one that moves away from the stop angle.",
        ),
    ),
    hints=(
        "How many main-cam degrees does the arc move, and which way does a part that stands {how} move it?",
        "The stop angle stays where it is: one edge comes nearer to it, the other moves away.",
        "Take the shift from the margin on the side of the nearer edge. What does it mean if the result is "
        "below nought?",
    ),
    because="The arc moved, the stop angle did not; what counts is the edge that came nearer.",
)

SLIPPED_TOOTH = (DEGREES_A_TOOTH, CHART_SHIFT, CHAINED_MESH, GAP_TO_TEETH, DOES_IT_STAND)
