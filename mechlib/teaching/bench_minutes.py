"""Four exercises on the minutes of checks and repairs, rising from counting covers to deciding.

Machines and numbers are invented.
"""

from __future__ import annotations

from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

AT_ONCE, CHECK = "mend the first at once", "check first"
OTHER = {AT_ONCE: CHECK, CHECK: AT_ONCE}

UNDER_COVERS = Exercise(
    title="What do the checks take?",
    question="The plug is out. The bottom plate takes {plate} min to take off and to put on again, the gear "
    "bridge under it {bridge} min more. Both are still on. You look at {marks} marks under the bridge, "
    "{look} min each. Both covers go on again, and the plug in. Then you ask for one mode change, {ask} min. "
    "How many minutes is that in all?",
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
            "covers twice",
            lambda n: 2 * (n.plate + n.bridge) + n.marks * n.look + n.ask,
            "you counted each cover twice. What do the minutes of a cover hold already?",
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
        "What must come off before the second one? And what goes on again before the change?",
        "Write a line for each thing that you do, with its minutes, and add the lines up.",
    ),
    because="Each cover once, off and on again; each look and the change as often as they are made.",
)

BESIDE_THE_PLAN = Exercise(
    title="Beside the plan",
    question="The log of a case: looked at the first mark, {look} min, it lines up. Cleaned the contacts, "
    "{clean} min; tried, {ask} min, it fails as before. Looked at the second mark, {look} min, it is a tooth "
    "out. Set that gear, {gear} min; tried, {ask} min, it works. The plan looked at the second mark at once, "
    "and went on from there as you did. How many percent of its time did you take? Answer in whole percent.",
    numbers={
        "look": range(2, 5),
        "clean": range(6, 16),
        "gear": range(4, 16),
        "ask": range(1, 4),
        "plan": lambda n: n.look + n.gear + n.ask,
        "more": lambda n: n.look + n.clean + n.ask,
    },
    fields=(Number("Of the plan's time", "%", 0.5, 0, 2000),),
    right=lambda n: 100 * (n.plan + n.more) / n.plan,
    slips=(
        Slip(
            "only what is more",
            lambda n: 100 * n.more / n.plan,
            "so much longer than the plan you took. How much is it in all?",
        ),
        Slip(
            "upside down",
            lambda n: 100 * n.plan / (n.plan + n.more),
            "that is the plan's time beside yours. Which was asked for?",
        ),
        Slip(
            "wrong repair left out",
            lambda n: 100 * (n.plan + n.look) / n.plan,
            "you left out the repair that didn't help. Are its minutes, and those of the try, not gone?",
        ),
        Slip(
            "a try left out",
            lambda n: 100 * (n.plan + n.more - n.ask) / n.plan,
            "you counted a single try. After which steps was the machine tried?",
        ),
    ),
    hints=(
        "Write down your steps with their minutes, then those of the plan.",
        "Every repair is followed by a try, a wrong one too.",
        "Your minutes over those of the plan: what part is that?",
    ),
    because="Your minutes over those of the plan: what is above a hundred is the way round.",
)

BREAK_EVEN = Exercise(
    title="When does the check pay?",
    question="A fault is at one of two places. Mending the first takes {first} min, the second {second} min, "
    "the try counted in. A check of {check} min shows for certain which place it is. Without it you would "
    "mend the first at once, and the second where it still fails. In how many percent of such machines must "
    "it be the first place, so that both ways take equally long on average? Answer to one decimal.",
    numbers={"first": range(16, 41), "second": range(12, 41), "check": range(3, 12)},
    fields=(Number("At the first place", "%", 0.06, 0, 2000),),
    right=lambda n: 100 * (1 - n.check / n.first),
    slips=(
        Slip(
            "the other machines",
            lambda n: 100 * n.check / n.first,
            "in so many it is the second place then. Which ones were asked for?",
        ),
        Slip(
            "beside the second repair",
            lambda n: 100 * (1 - n.check / n.second),
            "the second repair is made in the same machines either way. Which one can the check save?",
        ),
        Slip(
            "beside both repairs",
            lambda n: 100 * (1 - n.check / (n.first + n.second)),
            "no check saves both repairs. Which one is made in vain without it?",
        ),
        Slip(
            "upside down",
            lambda n: 100 * n.first / n.check,
            "more than all machines can't be. What is to be divided by what?",
        ),
    ),
    hints=(
        "Which repair is sometimes made in vain, if you don't check? In which machines?",
        "Think of a hundred machines. How many such repairs take as long as a hundred checks?",
        "Those are the machines with the fault at the second place. In how many is it at the first?",
    ),
    because="The checks then take as long as the first repairs that are made in vain without them.",
)

CHECK_OR_MEND = Exercise(
    title="Check first, or mend?",
    question="A fault is at one of two places: in {likely} of 100 such machines at the first, in the others "
    "at the second. Mending the first takes {first} min, the second {second} min, the try counted in. A "
    "check of {check} min shows for certain which place it is. How many minutes on average are check and "
    "repair together? And is that less than to mend the first at once and the second where it still "
    "fails? Answer to one decimal, then decide.",
    numbers={
        "likely": range(55, 71, 5),
        "first": range(16, 41),
        "longer": range(14),
        "share": (0.3, 0.5, 1.6, 2.0),
        "rare": lambda n: 100 - n.likely,
        # so much that nobody would rather begin with the second: chances over minutes
        "second": lambda n: n.first * n.rare // n.likely + 1 + n.longer,
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

BENCH_MINUTES = (UNDER_COVERS, BESIDE_THE_PLAN, BREAK_EVEN, CHECK_OR_MEND)
