"""Five exercises on entering a machine of one's own, rising from counting teeth to deciding on a code.

Machines and numbers are invented.  Angles are teeth of the main gear or degrees of the main cam.
"""

from __future__ import annotations

from mechlib.say import say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

FIRST, SECOND, MEAN = "the first reading", "the second reading", "the middle of both"
OTHER = {FIRST: SECOND, SECOND: FIRST}
A, B, BOTH = "A alone", "B alone", "A and B"
ALONE = {"A": A, "B": B}
ONE = "one alone"

TEETH_TO_DEGREES = Exercise(
    title="Teeth into degrees",
    question="The main gear has {teeth} teeth. With every mark lined up you dot the tooth at the pointer. "
    "You turn in the loading sense; a lever begins to move when {gone} teeth have gone past the pointer. "
    "At how many degrees of the main cam is that? Answer to one decimal.",
    numbers={"teeth": range(40, 97), "gone": range(6, 36)},
    fields=(Number("Angle", "°", 0.06, 0, 4999),),
    right=lambda n: 360 * n.gone / n.teeth,
    slips=(
        Slip("teeth for degrees", lambda n: n.gone, "so many teeth it is. How many degrees is one tooth?"),
        Slip(
            "one tooth only",
            lambda n: 360 / n.teeth,
            "so much is one tooth. How many have gone past?",
        ),
        Slip(
            "the rest of the turn",
            lambda n: 360 * (n.teeth - n.gone) / n.teeth,
            "that is from there on to a whole turn. Where does counting begin?",
        ),
        Slip(
            "upside down",
            lambda n: 360 * n.teeth / n.gone,
            "that is more than a whole turn. Which number belongs below the line?",
        ),
    ),
    hints=(
        "All the teeth together are one turn.",
        "What part of all the teeth has gone past?",
        "Take that part of the degrees of a whole turn.",
    ),
    because="The teeth gone past, over all the teeth, times 360.",
)

TURNS_TO_TEETH = Exercise(
    title="Turns into teeth",
    question="You can't see the main gear, but you can turn the worm shaft, and it makes {ratio} turns for "
    "one turn of the main cam. The main gear has {teeth} teeth. From the marks on you count {turns_said} "
    "turns of the shaft until a contact closes. At which tooth is that? Answer to one decimal.",
    numbers={
        "ratio": range(20, 61, 2),
        "teeth": range(64, 101, 4),
        "quarters": range(9, 41),
        "turns": lambda n: n.quarters / 4,
        "turns_said": lambda n: say(n.turns, "", 2),
    },
    fields=(Number("Tooth", "teeth", 0.06, 0, 4999),),
    right=lambda n: n.turns * n.teeth / n.ratio,
    slips=(
        Slip(
            "turns for teeth",
            lambda n: n.turns,
            "so many turns it is. How many teeth is one turn of the shaft?",
        ),
        Slip(
            "upside down",
            lambda n: n.turns * n.ratio / n.teeth,
            "you have the ratio upside down. Is one turn of the shaft more than one tooth, or less?",
        ),
        Slip(
            "in degrees",
            lambda n: 360 * n.turns / n.ratio,
            "that is the angle in degrees. How many teeth is it?",
        ),
        Slip(
            "teeth for each turn",
            lambda n: n.teeth / n.ratio,
            "so many teeth go past in one turn of the shaft. How many turns were there?",
        ),
    ),
    hints=(
        "One turn of the main cam is all its teeth, and so many turns of the shaft.",
        "How many teeth go past in one turn of the shaft?",
        "Then as many times as the shaft was turned.",
    ),
    because="Turns counted, times teeth of the main gear, over the shaft's turns for one turn of the cam.",
)


def _readings(n) -> str:
    """Both readings of the edge, in the order in which they were made."""
    if n.enter == FIRST:
        return (
            f"When you turn in the loading sense, a lever on the loading gear begins to rise at tooth "
            f"{n.on_said}. Then you turn back, and find it down again only at tooth {n.back_said}."
        )
    return (
        f"You turn back from further on, and a lever on the loading gear is down again at tooth "
        f"{n.back_said}. Then you turn in the loading sense, and it begins to rise only at tooth {n.on_said}."
    )


PLAY_AT_A_PART = Exercise(
    title="Two readings of one edge",
    question="The main gear has {teeth} teeth. The loading gear meshes with it. {readings} How much play has "
    "the loading gear, in teeth to one decimal, and which place do you enter for that edge?",
    numbers={
        "teeth": range(40, 97),
        "on_tenths": range(60, 301),
        "play_tenths": (1, 2, 3),  # a tooth fills half of its pitch: the room beside it is far less
        "enter": (FIRST, SECOND),
        "on": lambda n: n.on_tenths / 10,
        "play": lambda n: n.play_tenths / 10,
        "back": lambda n: (n.on_tenths - n.play_tenths) / 10,
        "on_said": lambda n: say(n.on),
        "back_said": lambda n: say(n.back),
        "readings": _readings,
    },
    fields=(Number("Play", "teeth", 0.06, -900, 900), OneOf("Enter", (FIRST, SECOND, MEAN))),
    right=lambda n: (n.play, n.enter),
    slips=(
        Slip(
            "the wrong way round",
            lambda n: (-n.play, None),
            "you took the larger from the smaller. Play is how far apart the two places are, never below "
            "nought.",
        ),
        Slip(
            "both together",
            lambda n: (n.on + n.back, None),
            "you added them. How far apart are the two places?",
        ),
        Slip(
            "in degrees",
            lambda n: (360 * n.play / n.teeth, None),
            "that is the play in degrees. How many teeth is it?",
        ),
        Slip(
            "the place coming back",
            lambda n: (n.play, OTHER[n.enter]),
            "the play is right. But the form is for the loading sense; the way back follows from the play.",
        ),
        Slip(
            "the middle",
            lambda n: (n.play, MEAN),
            "the play is right. But in the middle the edge never is. For which sense is the form?",
        ),
    ),
    hints=(
        "The same edge came at two places. Why?",
        "How far apart are they?",
        "Every angle in the form is for one and the same sense.",
    ),
    because="The distance of the two places is the play; the form wants what is read in the loading sense.",
)

READ_ON = Exercise(
    title="Read the mistake",
    question="The main gear has {teeth} teeth. You have read a lever's lift at every tooth, the last time at "
    "tooth {last}. The form says: “it ends at {end_said}°; it must end at {need_said}° or above: the travel "
    "and a tooth beyond”. How many more teeth must you read, at the least?",
    numbers={
        "teeth": range(40, 97),
        "last": range(20, 36),
        "whole": range(1, 6),
        "part": (0.2, 0.3, 0.4, 0.6, 0.7, 0.8),
        "end_tenths": lambda n: round(3600 * n.last / n.teeth),
        "need_tenths": lambda n: round(3600 * (n.last + n.whole + n.part) / n.teeth),
        "end_said": lambda n: say(n.end_tenths / 10),
        "need_said": lambda n: say(n.need_tenths / 10),
    },
    fields=(Number("More teeth", "teeth", 0.4, 0, 4999, whole=True),),
    right=lambda n: n.whole + 1,
    slips=(
        Slip(
            "one too few",
            lambda n: n.whole,
            "that comes close, but is it at the angle asked for, or just below it?",
        ),
        Slip(
            "degrees for teeth",
            lambda n: -(-(n.need_tenths - n.end_tenths) // 10),  # up to the next whole one
            "so many degrees are missing. How many teeth is that?",
        ),
        Slip(
            "counted from nought",
            lambda n: n.last + n.whole + 1,
            "that is the tooth at which you may stop. How many more is it than you have?",
        ),
        Slip(
            "to the end of the turn",
            lambda n: n.teeth - n.last,
            "that is all the rest of the gear. What is the least that the form asks for?",
        ),
    ),
    hints=(
        "How many degrees are missing?",
        "How many degrees is one tooth?",
        "Readings come at whole teeth, and the last one must not fall short.",
    ),
    because="The degrees that are missing, over the degrees of one tooth, up to the next whole tooth.",
)


def _wrong_code(n) -> str:
    """The code that shows in one place, too, but not only where the levers stand right."""
    return ALONE[n.once] if n.code == BOTH else BOTH


WHICH_CODE = Exercise(
    title="Choose the code",
    question="Contact {twice} is closed from tooth {first} to {off}, and again from {on} to {last}. "
    "Contact {once} is closed from {once_on} to {once_off}. In PLAY the levers stand right from tooth "
    "{from_tooth} to {to_tooth}. Which code shows in one place only, and only where the levers stand right? "
    "How many teeth long is that stretch, from where it begins to where it ends?",
    numbers={
        "first": range(2, 7),
        "wide": range(3, 7),
        "gap": range(4, 9),
        "lead": range(2, 6),
        "both": range(2, 6),
        "tail": range(2, 7),
        "twice": ("A", "B"),  # the contact with two bars; its second one ends last
        "ready": (BOTH, ONE),  # where the levers stand right: as on both bars, or before the second
        "once": lambda n: "B" if n.twice == "A" else "A",
        "code": lambda n: BOTH if n.ready == BOTH else ALONE[n.once],
        "off": lambda n: n.first + n.wide,
        "once_on": lambda n: n.off + n.gap,
        "on": lambda n: n.once_on + n.lead,
        "once_off": lambda n: n.on + n.both,
        "last": lambda n: n.once_off + n.tail,
        "from_tooth": lambda n: (n.on if n.ready == BOTH else n.once_on) - 1,
        "to_tooth": lambda n: (n.last if n.ready == BOTH else n.on) + 1,
        "long": lambda n: n.both if n.ready == BOTH else n.lead,
        "other_long": lambda n: n.both + n.tail if n.ready == BOTH else n.gap + n.lead,
    },
    fields=(Number("Length", "teeth", 0.06, 0, 900), OneOf("Code", (A, B, BOTH))),
    right=lambda n: (n.long, n.code),
    slips=(
        Slip(
            "a code in two places",
            lambda n: (n.tail, ALONE[n.twice]),
            "that code shows in two places. What would it do at the other one?",
        ),
        Slip(
            "where the levers aren't ready",
            lambda n: (n.lead if n.ready == BOTH else n.both, _wrong_code(n)),
            "that code shows in one place. Do the levers stand right there, from its beginning to its end?",
        ),
        Slip(
            "counted both ends",
            lambda n: (n.long + 1, n.code),
            "the code is right. But you counted the tooth at either end: it is steps from the one to the "
            "other, as on a ruler.",
        ),
        Slip(
            "a whole bar",
            lambda n: (n.lead + n.both, n.code),
            "the code is right. But so long contact {once} is closed altogether. On how much of that does "
            "the code show?",
        ),
        Slip(
            "another stretch",
            lambda n: (n.other_long, n.code),
            "the code is right, but you took another stretch. Where does this code begin, and where does it "
            "end?",
        ),
        Slip(
            "where the levers stand right",
            lambda n: (n.to_tooth - n.from_tooth, n.code),
            "the code is right. But so long the levers stand right. How long does the code show?",
        ),
    ),
    hints=(
        "Draw the bars of both contacts under one another.",
        "Where is the one closed, where the other, where are both?",
        "Go through the three codes. In how many places does each show, and do the levers stand right there?",
    ),
    because="It shows in one place only, where the levers stand right; where it ends, less where it begins, "
    "is its length.",
)

OWN_TRANSPORT = (TEETH_TO_DEGREES, TURNS_TO_TEETH, READ_ON, PLAY_AT_A_PART, WHICH_CODE)
