"""The five exercises on a slipped tooth, worked again from the question's text alone, in exact fractions."""

import re
from fractions import Fraction

import exercise_rules as rules

from mechlib.teaching.slipped_tooth import (
    ABOVE,
    BELOW,
    CHAINED_MESH,
    CHART_SHIFT,
    DEGREES_A_TOOTH,
    DOES_IT_STAND,
    GAP_TO_TEETH,
    SLIPPED_TOOTH,
    STANDS,
)

PI = Fraction("3.14159265358979323846264338327950288")
ANY = None  # a slip that shows in the other field only


def found(pattern: str, question: str) -> list:
    """The numbers in a question as fractions, and the words for the sense as +1 or −1."""
    groups = re.search(pattern, question).groups()
    return [{"ahead": 1, "behind": -1}.get(g.removesuffix(" of")) or Fraction(g) for g in groups]


def degrees_a_tooth(question):
    own, mate = found(r"has (\d+) teeth .* gear of (\d+) teeth", question)
    return (360 / own,), {
        "upside down": (own / 360,),
        "the mate's teeth": (360 / mate,),
        "half a turn": (360 / own / 2,),
        "radians": (2 * PI / own,),
        "one too few": (360 / (own - 1),),
    }


def chart_shift(question):
    own, main, out, sense = found(
        r"gear of (\d+) .* has (\d+) teeth .* in (\d) teeth (ahead|behind)", question
    )
    earlier = out * sense
    return (-earlier / main * 360,), {
        "the part's own teeth": (-earlier / own * 360,),
        "degrees of the part": (earlier / own * 360,),
        "sense lost": (earlier / main * 360,),
        "only one tooth": (-sense / main * 360,),
        "teeth taken for degrees": (-earlier,),
    }


def chained_mesh(question):
    own, parent, speed, out, sense = found(
        r"gear of (\d+) .* has (\d+) teeth .* turns ([\d.]+) times .* in (\d) teeth (ahead|behind)", question
    )
    turns_of_parent = out * sense / parent
    return (-turns_of_parent / speed * 360,), {
        "the parent's speed left out": (-turns_of_parent * 360,),
        "the parent's speed upside down": (-turns_of_parent * speed * 360,),
        "the part's own teeth": (-out * sense / own / speed * 360,),
        "sense lost": (turns_of_parent / speed * 360,),
        "only one tooth": (-turns_of_parent / out / speed * 360,),
    }


def gap_to_teeth(question):
    own, mate, sense, gap, radius = found(
        r"gear of (\d+) .* gear of (\d+) .* stands (ahead of|behind) .* is ([\d.]+) mm.* of (\d+) mm",
        question,
    )
    turn = gap / (2 * PI * radius)
    assert abs(turn * own - round(turn * own)) < Fraction(1, 5)  # a gap that says clearly how many teeth
    answers = {
        "diameter for radius": turn / 2 * own,
        "the mate's teeth": turn * mate,
        "sense lost": -turn * own,
        "radians taken for turns": turn * 2 * PI * own,
        "millimetres taken for degrees": gap / 360 * own,
        "degrees taken for teeth": turn * 360,
    }
    return (round(sense * turn * own),), {name: (round(sense * wrong),) for name, wrong in answers.items()}


def does_it_stand(question):
    low, high, out, sense, tooth = found(
        r"are ([\d.]+)° down .* and ([\d.]+)° up .* in (\d) teeth (ahead|behind), .* is ([\d.]+)°", question
    )
    bottom, top = -low - sense * out * tooth, high - sense * out * tooth  # the arc moved; the stop angle is 0
    verdict = STANDS if bottom < 0 < top else ABOVE if top < 0 else BELOW
    left, wider = (top, -bottom) if sense > 0 else (-bottom, top)
    was, other = (high, low) if sense > 0 else (low, high)
    nearer, away = (ABOVE, BELOW) if sense > 0 else (BELOW, ABOVE)
    return (left, verdict), {
        "sense mixed up": (other - out * tooth, ANY),
        "the side that gets wider": (wider, ANY),
        "teeth taken for degrees": (was - out, ANY),
        "only one tooth": (was - tooth, ANY),
        "shift added": (was + out * tooth, ANY),
        "verdict against the margin": (left, nearer if verdict == STANDS else STANDS),
        "wrong edge": (left, away),
    }


WORKED = [
    (DEGREES_A_TOOTH, degrees_a_tooth, 2),
    (CHART_SHIFT, chart_shift, 1),
    (CHAINED_MESH, chained_mesh, 1),
    (GAP_TO_TEETH, gap_to_teeth, 0),
    (DOES_IT_STAND, does_it_stand, 1),
]


@rules.each_of(SLIPPED_TOOTH, WORKED)
class TestExercises(rules.KeepsTheRules):
    known = {"360", "57.3"}  # a turn and a radian: no answers


def test_two_decimals_are_asked_for_and_nothing_less_exact_is_right():
    for drawn in rules.draws(DEGREES_A_TOOTH):
        assert drawn.check(f"{drawn.right[0]:.2f}").right
        assert not drawn.check(f"{drawn.right[0] + 0.015:.2f}").right


def test_both_verdicts_and_both_senses_are_drawn():
    drawn = rules.draws(DOES_IT_STAND)
    counts = [sum(d.right[1] == verdict for d in drawn) for verdict in (STANDS, BELOW, ABOVE)]
    assert min(counts) > 30
    margins = [d.right[0] for d in drawn]
    assert min(abs(m) for m in margins) >= 0.9  # never so near the edge that rounding decides
    assert max(m for m in margins if m < 0) > -1.1 and min(m for m in margins if m > 0) < 1.1
    assert len({d.question for d in drawn}) > 190


def test_the_two_fields_of_a_deciding_exercise_are_told_apart():
    drawn = DOES_IT_STAND.draw(3)
    margin, verdict = drawn.right
    assert drawn.check([str(margin), ""]).words == "PLAY: nothing is chosen here yet."
    assert drawn.check(["", verdict]).words.startswith(
        "Margin left on the narrower side: nothing is filled in"
    )
    assert drawn.check([str(margin), "no idea"]).kind == "no such choice"
    feedback = drawn.check(["123.4", verdict])
    assert feedback.kind == "unrecognised" and feedback.words.startswith("PLAY: right. Margin left")
