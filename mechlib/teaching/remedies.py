"""Which remedy is the first that is enough?  The deciding exercise on the timing of a dwell.

The machine and its numbers are invented.  Angles are main-cam degrees.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import product

from mechlib.say import say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

STEADY, MOVE, NARROW, LENGTHEN = REMEDIES = (
    "make coasting steadier",
    "move the dwell",
    "narrow the contact",
    "lengthen the dwell",
)
NOT_ENOUGH = {
    STEADY: "coasting is only one part of what must be borne. Does that gain as much as is short?",
    MOVE: "what moving gives to one side it takes from the other. Has the other side as much to spare?",
    NARROW: "a narrower contact gives each side half of it. Is that as much as is short?",
}
NOT_THE_FIRST = {
    MOVE: "before you shift anything on the track, look at what stands above that on the list.",
    NARROW: "before you touch the contact, look at what stands above that on the list.",
    LENGTHEN: "a longer dwell takes its degrees from the moves beside it. Something above it on the list "
    "will do.",
}


def in_degrees(*names: str) -> dict[str, Callable]:
    """For each of these drawn numbers a phrase for the texts, called ``NAME_said``, with one decimal.

    Returns entries for the numbers of an exercise; raises nothing.

    >>> from types import SimpleNamespace
    >>> in_degrees("coast")["coast_said"](SimpleNamespace(coast=1.6))
    '1.6°'
    """
    return {f"{name}_said": partial(_said, name) for name in names}


def _said(name: str, n) -> str:
    return say(vars(n)[name], "°")


def _first_enough(short: float, spare: float, gain: float, half: float) -> str:
    """The first remedy on the list that is enough by itself.

    ``short`` on one side and ``spare`` on the other (negative where that is short too), both at worst;
    steadier coasting gains ``gain`` on each side, a narrower contact ``half``.
    """
    if gain >= max(short, -spare):
        return STEADY
    if spare >= short:
        return MOVE
    return NARROW if half >= max(short, -spare) else LENGTHEN


def _clear(short: float, spare: float, gain: float, half: float) -> bool:
    """Whether no remedy is only just enough or only just not, and one side is clearly the narrower one."""
    return short > -spare and not {short, -spare} & {gain, half} and spare != short


HALVES = tuple(half / 2 for half in range(1, 9))
CASES = {
    remedy: tuple(
        case
        for case in product(HALVES, [*HALVES, *(-half for half in HALVES)], HALVES[:6], HALVES[:6])
        if _clear(*case) and _first_enough(*case) == remedy
    )
    for remedy in REMEDIES
}


def _short(n) -> float:
    """What is short on the narrower side, at worst."""
    return n.need - min(n.first - n.low, n.high - n.second)


def _why(which: int, n) -> str:
    """What to say to another remedy: it is not enough, or one before it on the list is."""
    other = n.others[which]
    earlier = REMEDIES.index(other) < REMEDIES.index(n.remedy)
    return (NOT_ENOUGH if earlier else NOT_THE_FIRST)[other]


def _other(name: str, which: int) -> Slip:
    """The right shortage with one of the three other remedies."""
    words = "what is short is right, but " + f"{{why_{which}}}"
    return Slip(name, lambda n: (_short(n), n.others[which]), words)


WHICH_REMEDY = Exercise(
    part_of="dwell_timing",
    title="Which remedy is enough?",
    question="You are drawing a new machine; nothing has been made yet. "
    "The brake stands right from {low_said} to {high_said}. In PLAY the cam comes to rest at "
    "{first_said} when loading and at {second_said} when unloading. Each side must bear, at worst, all of "
    "these together: one tooth of the brake cam, {tooth_said}; the contact's edge, {edge_said}; coasting, "
    "{spread_said}. By "
    "how much is the side with less room short? And what is the first on this list that is enough by itself? "
    "1. Make coasting steadier: better grease and belt leave {mended_said} of those {spread_said}. 2. Move "
    "the dwell to the best place. 3. Narrow the contact by {narrowed_said}, half of it at each edge. 4. "
    "Lengthen the dwell. Answer to one decimal.",
    numbers={
        "remedy": REMEDIES,
        "pick": range(max(map(len, CASES.values()))),
        "case": lambda n: CASES[n.remedy][n.pick % len(CASES[n.remedy])],
        "low_side": (True, False),
        "low": tuple(half / 2 for half in range(200, 500)),
        "tooth": (4.5, 5.0, 6.0, 7.2, 7.5, 8.0),
        "edge": tuple(tenth / 10 for tenth in range(5, 16)),
        "mended": tuple(tenth / 10 for tenth in range(2, 8)),
        "apart": tuple(tenth / 10 for tenth in range(70, 121)),  # wider than any contact is narrowed
        "spread": lambda n: n.mended + n.case[2],
        "narrowed": lambda n: 2 * n.case[3],
        "need": lambda n: n.tooth + n.edge + n.spread,
        "below": lambda n: n.need - n.case[0] if n.low_side else n.need + n.case[1],
        "above": lambda n: n.need + n.case[1] if n.low_side else n.need - n.case[0],
        "first": lambda n: n.low + n.below,
        "second": lambda n: n.first + n.apart,
        "high": lambda n: n.second + n.above,
        "others": lambda n: tuple(remedy for remedy in REMEDIES if remedy != n.remedy),
        **{f"why_{which}": partial(_why, which) for which in range(3)},
        **in_degrees("low", "high", "first", "second", "tooth", "edge", "spread", "mended", "narrowed"),
    },
    fields=(Number("Short by", "°", 0.06, -360, 360, exact=True), OneOf("First that is enough", REMEDIES)),
    right=lambda n: (_short(n), n.remedy),
    slips=(
        _other("another remedy", 0),
        _other("yet another remedy", 1),
        _other("the third other remedy", 2),
        Slip(
            "the side with more room",
            lambda n: (n.need - max(n.below, n.above), None),
            "you looked at the side with more room. Where is there less?",
        ),
        Slip(
            "one stop angle only",
            lambda n: (_short(n) - n.apart, None),
            "you measured from the far stop angle. To each end of the arc the nearer one counts.",
        ),
        Slip(
            "coasting steadier already",
            lambda n: (_short(n) - n.spread + n.mended, None),
            "you reckoned with the steadier coasting already. What is short without it?",
        ),
        Slip(
            "tooth forgotten",
            lambda n: (_short(n) - n.tooth, None),
            "you forgot the tooth. All three may be off at once.",
        ),
        Slip(
            "what must be borne",
            lambda n: (n.need, None),
            "that is what each side must bear. How much of it has the narrower side already?",
        ),
        Slip(
            "the room there is",
            lambda n: (n.need - _short(n), None),
            "that is the room on the narrower side. How much more must it bear?",
        ),
    ),
    hints=(
        "Add up what each side must bear. Then the room below the lower stop angle, and above the upper one.",
        "Steadier coasting helps both sides alike. Moving takes from one what it gives to the other. A "
        "contact that is narrower brings the two stop angles nearer to each other.",
        "Go down the list and see after each whether both sides now have what they must bear.",
    ),
    because="On the list it is the first after which both sides bear all three at once.",
)
