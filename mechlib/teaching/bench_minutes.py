"""Four exercises on the minutes of checks and repairs, rising from counting covers to deciding.

Machines and numbers are invented.
"""

from __future__ import annotations

from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

AT_ONCE, CHECK = "mend the likeliest at once", "check first"
OTHER = {AT_ONCE: CHECK, CHECK: AT_ONCE}

UNDER_COVERS = Exercise(
    title="What do the checks take?",
    question="The bottom plate takes {plate} min to come off, the gear bridge under it {bridge} min more. "
    "You look at {marks} marks under the bridge, {look} min each. Then you ask for one mode change, {ask} "
    "min. All covers are still on. How many minutes is that in all?",
    numbers={
        "plate": range(3, 10),
        "bridge": range(4, 12),
        "marks": range(3, 6),
        "look": range(2, 5),
        "ask": range(1, 4),
    },
    fields=(Number("Minutes", "min", 0.05, 0, 999),),
    right=lambda n: n.plate + n.bridge + n.marks * n.look + n.ask,
    slips=(
        Slip(
            "covers for each mark",
            lambda n: n.marks * (n.plate + n.bridge + n.look) + n.ask,
            "you took the covers off anew for each mark. Do they go back on between two looks?",
        ),
        Slip(
            "covers forgotten",
            lambda n: n.marks * n.look + n.ask,
            "nothing came off. Where do the marks lie?",
        ),
        Slip(
            "bridge alone",
            lambda n: n.bridge + n.marks * n.look + n.ask,
            "the bridge came off, but what lies over it?",
        ),
        Slip(
            "one mark",
            lambda n: n.plate + n.bridge + n.look + n.ask,
            "you looked at a single mark. How many are there?",
        ),
        Slip(
            "change left out",
            lambda n: n.plate + n.bridge + n.marks * n.look,
            "the marks are seen. What was to be done after that?",
        ),
    ),
    hints=(
        "What must come off before the first mark can be seen?",
        "What must come off before the second one?",
        "Write a line for each thing that you do, with its minutes, and add the lines up.",
    ),
    because="Each cover once, each look and the change as often as they are made.",
)

MEND_AT_ONCE = Exercise(
    title="Mend the likeliest first",
    question="A fault is at one of two places: in {likely} of 100 such machines at the first, in the others "
    "at the second. Mending the first takes {first} min, the second {second} min, the try after it counted "
    "in. You mend the first, and where the machine still fails, the second. How many minutes is that on "
    "average? Answer to one decimal.",
    numbers={
        "likely": range(60, 91, 5),
        "first": range(10, 31),
        "second": range(10, 41),
        "rare": lambda n: 100 - n.likely,
    },
    fields=(Number("Minutes", "min", 0.06, 0, 999),),
    right=lambda n: n.first + n.rare * n.second / 100,
    slips=(
        Slip(
            "both in every machine",
            lambda n: n.first + n.second,
            "you mended the second place in every machine. In how many is it needed?",
        ),
        Slip(
            "first only where it helps",
            lambda n: (n.likely * n.first + n.rare * n.second) / 100,
            "you counted the first repair only where it helped. Are its minutes lost in the others?",
        ),
        Slip(
            "chances mixed up",
            lambda n: n.first + n.likely * n.second / 100,
            "you took the machines in which the first repair helps. Which ones go on to the second?",
        ),
        Slip("first alone", lambda n: n.first, "some machines still fail then. What about those?"),
    ),
    hints=(
        "Think of a hundred machines. In how many do you make the first repair?",
        "In how many of them do you make the second one?",
        "Add all the minutes of the hundred, and share them by a hundred.",
    ),
    because="The first repair in every machine, the second in the part that still fails.",
)


def _in_order(n, chances_right: bool = True) -> tuple[float, float]:
    """Minutes on average if the first place is mended first, and if the second is."""
    go_on = (n.rare, n.likely) if chances_right else (n.likely, n.rare)
    return n.first + go_on[0] * n.second / 100, n.second + go_on[1] * n.first / 100


def _mixed_up(n) -> float:
    """The better order, with the chances of the other one."""
    return _in_order(n, False)[_in_order(n)[0] > _in_order(n)[1]]


WHICH_FIRST = Exercise(
    title="Which place first?",
    question="A fault is at one of two places: in {likely} of 100 such machines at the first, in the others "
    "at the second. Mending the first takes {first} min, the second {second} min, the try counted in. You "
    "may begin at either place, and go on to the other where the machine still fails. Begin where it takes "
    "less on average: how many minutes is that? Answer to one decimal.",
    numbers={
        "likely": range(55, 81, 5),
        "first": range(16, 41),
        "second": range(4, 21),
        "rare": lambda n: 100 - n.likely,
    },
    fields=(Number("Minutes", "min", 0.06, 0, 999),),
    right=lambda n: min(_in_order(n)),
    slips=(
        Slip(
            "the other order",
            lambda n: max(_in_order(n)),
            "that is the other order. Work both out, and take the smaller.",
        ),
        Slip(
            "both in every machine",
            lambda n: n.first + n.second,
            "you mended both places in every machine. In how many is the second repair needed?",
        ),
        Slip(
            "each only where it helps",
            lambda n: (n.likely * n.first + n.rare * n.second) / 100,
            "you counted each repair only where it helps. Do you know beforehand where that is?",
        ),
        Slip(
            "chances mixed up",
            _mixed_up,
            "the order is right. In how many machines does the repair that you begin with not help?",
        ),
    ),
    hints=(
        "Begin at the first place: so many minutes in every machine, and the second repair in the others.",
        "Now begin at the second place, and work out the same.",
        "A quick repair may come first although it helps less often: what counts is chance for each minute.",
    ),
    because="Begin with the repair that has more chance for each of its minutes.",
)

CHECK_OR_MEND = Exercise(
    title="Check first, or mend?",
    question="A fault is at one of two places: in {likely} of 100 such machines at the first, in the others "
    "at the second. Mending the first takes {first} min, the second {second} min, the try counted in. A "
    "check of {check} min shows for certain which place it is. How many minutes on average are check and "
    "repair together? And is that less than to mend the first at once and the second where it still "
    "fails? Answer to one decimal, then decide.",
    numbers={
        "likely": range(40, 71, 5),
        "first": range(16, 41),
        "second": range(10, 41),
        "share": (0.3, 0.5, 1.6, 2.0),
        "rare": lambda n: 100 - n.likely,
        "check": lambda n: round(n.share * n.rare * n.first / 100),
        "checked": lambda n: n.check + (n.likely * n.first + n.rare * n.second) / 100,
        "at_once": lambda n: n.first + n.rare * n.second / 100,
        "verdict": lambda n: CHECK if n.checked < n.at_once else AT_ONCE,
    },
    fields=(Number("Minutes", "min", 0.06, 0, 999), OneOf("On average less", (AT_ONCE, CHECK))),
    right=lambda n: (n.checked, n.verdict),
    slips=(
        Slip(
            "check left out",
            lambda n: (n.checked - n.check, None),
            "the repairs are right. Was the check free?",
        ),
        Slip(
            "both in every machine",
            lambda n: (n.check + n.first + n.second, None),
            "after the check you know the place. Do you still make both repairs?",
        ),
        Slip(
            "chances mixed up",
            lambda n: (n.check + (n.rare * n.first + n.likely * n.second) / 100, None),
            "which of the two repairs is needed more often?",
        ),
        Slip(
            "without the check",
            lambda n: (n.at_once, None),
            "that is the way without the check. What does the check save?",
        ),
        Slip(
            "verdict against the minutes",
            lambda n: (n.checked, OTHER[n.verdict]),
            "the minutes are right. Work the other way out, too, and compare the two.",
        ),
    ),
    hints=(
        "Think of a hundred machines. How many checks do you make?",
        "After the check, how many machines need the first repair, and how many the second?",
        "For the other way: the first repair in every machine, the second in those that still fail.",
    ),
    because="A check pays if it takes less than the minutes of wrong repairs that it saves on average.",
)

BENCH_MINUTES = (UNDER_COVERS, MEND_AT_ONCE, WHICH_FIRST, CHECK_OR_MEND)
