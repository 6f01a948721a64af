"""Rules that every exercise must keep; each lesson's tests bring their own working of question and slips.

``worked`` reads a question's text and returns the right answers and, by name, those of each slip; None in an
answer stands for a slip that shows in the other field only.
"""

import re
from itertools import combinations, product

from mechlib.teaching import Number, OneOf

SEEDS = range(200)


def typed(answers, digits, missing=None):
    """Answers as a person writes them with the decimals asked for, decimal comma, real minus and all."""
    written = []
    for answer in answers:
        if not isinstance(answer, str | None):
            answer = f"{float(answer):.{digits}f}".replace("-", "−").replace(".", ",")
        written.append(missing if answer is None else answer)
    return written


def _options(drawn):
    return [option for field in drawn.fields if isinstance(field, OneOf) for option in field.options]


def right_is_right_and_each_slip_is_named(exercise, worked, digits):
    for seed in SEEDS:
        drawn = exercise.draw(seed)
        right, slips = worked(drawn.question)
        verdict = drawn.check(typed(right, digits))
        assert verdict.kind == "right", (drawn.question, right, drawn.right)
        assert verdict.sentence().startswith("Right. ")
        assert list(slips) == [slip.name for slip in drawn.slips]
        for slip in drawn.slips:
            for option in _options(drawn) or [None]:
                feedback = drawn.check(typed(slips[slip.name], digits, missing=option))
                assert (feedback.kind, feedback.words) == (slip.name, slip.feedback), (seed, drawn.question)
                assert feedback.sentence() == f"Not yet: {slip.feedback}"
        assert len({slip.feedback for slip in drawn.slips}) == len(slips)


def no_two_answers_are_alike(exercise, worked):
    for seed in SEEDS:
        right, slips = worked(exercise.draw(seed).question)
        for one, other in combinations((right, *slips.values()), 2):
            apart = abs(one[0] - other[0]) > 2 * exercise.fields[0].tolerance
            assert apart or (None not in one + other and one[1:] != other[1:]), (one, other)


def nothing_is_given_away(exercise, known=()):
    """No hint or feedback has a number that isn't in the question, or names one of the choices."""
    figures = re.compile(r"\d+(?:\.\d+)?")
    for seed in SEEDS:
        drawn = exercise.draw(seed)
        given = set(figures.findall(drawn.question)) | set(known)
        texts = (*drawn.hints, *(slip.feedback for slip in drawn.slips))
        assert all(set(figures.findall(text)) <= given for text in texts)
        assert not any(option in text for option, text in product(_options(drawn), texts))
        assert "{" not in drawn.question + "".join(texts) + drawn.because


def what_cannot_be_judged_is_sent_back(exercise, digits):
    drawn = exercise.draw(7)
    assert isinstance(drawn.fields[0], Number)
    others = [field.options[0] for field in drawn.fields[1:]]
    kinds = {
        "": "empty",
        "  ": "empty",
        "three": "not a number",
        "nan": "not a number",
        "-inf": "not a number",
        "1e400": "too large",
        "3 rad": "wrong unit",
        "5000": "out of sense",
        "__import__('os')": "not a number",
    }
    for text, kind in kinds.items():
        feedback = drawn.check([text, *others])
        assert feedback.kind == kind, text
        assert feedback.sentence().startswith("Not yet: ") and not feedback.right
    unit = drawn.fields[0].unit
    assert drawn.check([f"{typed(drawn.right, digits)[0]} {unit}", *drawn.right[1:]]).right
