"""Five exercises on finding a fault, rising from counting machines to deciding what to mend first.

Shares, minutes and machines are invented.
"""

from __future__ import annotations

from itertools import permutations, product
from math import log2

from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

REPAIRS = CLEAN, GEAR, BELT = ("clean the contacts", "set the gear on its mark", "fit a new belt")
# Minutes as they are usual at a bench (common practice, no source): of a repair soon done, and of the gear.
SOON, LONG = range(8, 16), range(25, 46)
APART = 1.15  # by so much at least differ two repairs' cases for a minute


def _times(n) -> tuple[int, int, int]:
    """Minutes of the best, the most probable and the quickest repair.

    The best comes out clearly first and the most probable clearly last in cases for a minute.
    """
    fits = [
        (middle, long, short)
        for middle, long, short in product(SOON, LONG, SOON)
        if short < middle
        and n.good / middle > APART * n.quick / short
        and n.quick / short > APART * n.likely / long
    ]
    return fits[int(n.pick * len(fits))]


ONE_RULED_OUT = Exercise(
    title="One cause is ruled out",
    question="In its book a shop has {total} decks that failed like the one on the bench. {dirty} of them "
    "had dirty contacts, {slack} a slack belt, all others something else. You have read the contacts, and "
    "you are sure: they are clean. How probable is the slack belt now, in %? Answer to one decimal.",
    numbers={
        "total": range(50, 91),
        "dirty": range(8, 21),
        "slack": range(5, 15),
        "others": lambda n: n.total - n.dirty - n.slack,
    },
    fields=(Number("Slack belt", "%", 0.06, 0, 900),),
    right=lambda n: 100 * n.slack / (n.total - n.dirty),
    slips=(
        Slip(
            "nothing ruled out",
            lambda n: 100 * n.slack / n.total,
            "so it was before you read the contacts. Of which decks can yours still be one?",
        ),
        Slip(
            "the wrong one",
            lambda n: 100 * n.dirty / n.total,
            "that is what you have just ruled out. What was asked for?",
        ),
        Slip(
            "something else",
            lambda n: 100 * n.others / (n.total - n.dirty),
            "that is the share of all that is something else. What was asked for?",
        ),
        Slip(
            "against the others",
            lambda n: 100 * n.slack / n.others,
            "you set the slack belts beside the others only. The slack belts count among those left, too.",
        ),
    ),
    hints=(
        "Cross out the decks with dirty contacts: yours is none of them.",
        "How many decks are left in the book?",
        "What part of those left had a slack belt?",
    ),
    because="The slack belts, over all that is left.",
)

ONE_READING = Exercise(
    title="What one reading does",
    question="Of decks with this complaint {share}% have a glazed belt. You look at the belt and judge it "
    "glazed. With a glazed belt you judge so in {hit} of 100 cases, with a good one by mistake in {false} of "
    "100. How probable is a glazed belt now, in %? Answer to one decimal.",
    numbers={
        "share": range(10, 41),
        "hit": range(70, 97),
        "false": range(5, 26),
        "both": lambda n: n.share * n.hit,
        "mistakes": lambda n: (100 - n.share) * n.false,
    },
    fields=(Number("Glazed belt", "%", 0.06, 0, 900),),
    right=lambda n: 100 * n.both / (n.both + n.mistakes),
    slips=(
        Slip(
            "share forgotten",
            lambda n: 100 * n.hit / (n.hit + n.false),
            "that would be so if half of the decks had a glazed belt. How many have one?",
        ),
        Slip(
            "the eye alone",
            lambda n: n.hit,
            "so often you judge a glazed belt right. How many good belts do you judge glazed besides?",
        ),
        Slip(
            "both at once",
            lambda n: n.both / 100,
            "so many of all decks are glazed and judged so. But you know that yours was judged so.",
        ),
        Slip(
            "all that are judged so",
            lambda n: (n.both + n.mistakes) / 100,
            "so many are judged glazed, rightly or by mistake. What part of them is rightly?",
        ),
    ),
    hints=(
        "Think of a great many decks. How many are glazed and judged glazed?",
        "How many are good, and judged glazed by mistake?",
        "Yours is one of both heaps together. What part of them is the first heap?",
    ),
    because="Glazed and judged so, over all that are judged so: Bayes' rule.",
)

BITS_A_MINUTE = Exercise(
    title="Bits for a minute",
    question="{causes} causes are left, all equally probable. A check sorts them into {groups} groups of "
    "equal size; you will know in which group the fault is. It takes {minutes} minutes. How many bits does "
    "it tell for a minute? Answer to two decimals.",
    numbers={
        "causes": (16, 32, 64),
        "groups": (2, 4, 8),
        "minutes": range(3, 15),
        "bits": lambda n: log2(n.groups),
    },
    fields=(Number("It tells", "bits a minute", 0.006, 0, 900),),
    right=lambda n: n.bits / n.minutes,
    slips=(
        Slip(
            "groups for bits",
            lambda n: n.groups / n.minutes,
            "you divided the groups by the minutes. How often must you halve to get so many groups?",
        ),
        Slip(
            "all causes",
            lambda n: log2(n.causes) / n.minutes,
            "so much would a check tell that finds the one cause. This one tells the group only.",
        ),
        Slip(
            "what is left",
            lambda n: log2(n.causes / n.groups) / n.minutes,
            "that is still open after the check. How much has it told?",
        ),
        Slip(
            "not for a minute",
            lambda n: n.bits,
            "so many bits the whole check tells. How long does it take?",
        ),
        Slip(
            "upside down",
            lambda n: n.minutes / n.bits,
            "those are minutes for a bit. Which was asked for?",
        ),
    ),
    hints=(
        "A bit is one halving: a question with two answers, both equally probable.",
        "How many halvings make the groups? Count: two, then twice as many, and so on.",
        "Share the bits out over the minutes.",
    ),
    because="The halvings that make the groups, over the minutes.",
)

ON_AVERAGE = Exercise(
    title="How long on average?",
    question="It is either dirty contacts, in {share} of 100 cases, or else a slipped gear. Cleaning takes "
    "{clean} minutes, setting the gear {set_} minutes, each with the try afterwards. You clean first, and "
    "set the gear only if it still fails. How many minutes does it take on average? Answer to two decimals.",
    numbers={"share": range(20, 86), "clean": range(4, 16), "set_": range(16, 46)},
    fields=(Number("On average", "min", 0.006, 0, 900),),
    right=lambda n: n.clean + (100 - n.share) * n.set_ / 100,
    slips=(
        Slip(
            "always both",
            lambda n: n.clean + n.set_,
            "that is how long it takes if cleaning doesn't help. How often is that?",
        ),
        Slip(
            "only the right one",
            lambda n: (n.share * n.clean + (100 - n.share) * n.set_) / 100,
            "you clean only where that helps. But you can't know that: you clean every time.",
        ),
        Slip(
            "the wrong share",
            lambda n: n.clean + n.share * n.set_ / 100,
            "you set the gear where cleaning has helped. In how many cases has it not?",
        ),
        Slip(
            "the other order",
            lambda n: n.set_ + n.share * n.clean / 100,
            "that is for setting the gear first. What do you do first here?",
        ),
    ),
    hints=(
        "What do you do in every case, whatever it is?",
        "In how many of 100 cases must you go on?",
        "Add to the first minutes the part of the second ones that is needed on average.",
    ),
    because="Cleaning every time, and setting the gear in that part of the cases in which it still fails.",
)

MEND_FIRST = Exercise(
    title="What first?",
    question="Nothing more can be checked. Three repairs are left, and one of them will help. {a_name}: "
    "helps in {a_share} of 100 cases, {a_min} minutes. {b_name}: {b_share} of 100, {b_min} minutes. "
    "{c_name}: {c_share} of 100, {c_min} minutes. After each you try whether it works. What do you do "
    "first, so that it takes the fewest minutes on average, and how many cases in 100 does that one help "
    "for each of its minutes? Answer to two decimals.",
    numbers={
        "order": ((CLEAN, GEAR, BELT), (BELT, GEAR, CLEAN)),  # the best, the most probable, the quickest
        "places": tuple(permutations(range(3))),
        "likely": range(48, 55),
        "good": range(30, 35),
        "quick": lambda n: 100 - n.likely - n.good,
        "pick": tuple(part / 997 for part in range(997)),
        "shares": lambda n: (n.good, n.likely, n.quick),
        "times": _times,
        "middle": lambda n: n.times[0],
        "long": lambda n: n.times[1],
        "short": lambda n: n.times[2],
        **{
            f"{letter}_{what}": (lambda n, at=at, source=source: getattr(n, source)[n.places[at]])
            for at, letter in enumerate("abc")
            for what, source in (("share", "shares"), ("min", "times"))
        },
        **{
            f"{letter}_name": (lambda n, at=at: n.order[n.places[at]].capitalize())
            for at, letter in enumerate("abc")
        },
    },
    fields=(Number("It helps", "cases for a minute", 0.006, 0, 900), OneOf("First", REPAIRS)),
    right=lambda n: (n.good / n.middle, n.order[0]),
    slips=(
        Slip(
            "the most probable",
            lambda n: (n.likely / n.long, n.order[1]),
            "you took the one that helps most often. It also takes longest: set cases beside minutes.",
        ),
        Slip(
            "the quickest",
            lambda n: (n.quick / n.short, n.order[2]),
            "you took the quickest. It seldom helps: set cases beside minutes.",
        ),
        Slip(
            "upside down",
            lambda n: (n.long / n.likely, n.order[1]),
            "you divided minutes by cases and took the largest. Which way round is it?",
        ),
        Slip(
            "not for a minute",
            lambda n: (n.good, n.order[0]),
            "that is the right one, but so often it helps in all. How often for each minute?",
        ),
    ),
    hints=(
        "Neither the most probable nor the quickest must come first.",
        "For each repair, divide the cases in which it helps by its minutes.",
        "The largest number comes first.",
    ),
    because="The largest probability over minutes comes first: so the average is the smallest.",
)

FAULT_FINDING = (ONE_RULED_OUT, ONE_READING, BITS_A_MINUTE, ON_AVERAGE, MEND_FIRST)
