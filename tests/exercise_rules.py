"""Rules that every exercise must keep; each lesson's tests bring their own working of question and slips.

    @rules.each_of(LESSON, [(EXERCISE, worked, digits), ...])
    class TestExercises(rules.KeepsTheRules):
        known = {"360"}

``worked`` reads a question's text and returns the right answers and, by name, those of each slip; None in an
answer stands for a slip that shows in the other fields only.  ``digits`` are the decimals asked for,
``known`` numbers that may stand in hints and feedback though the question doesn't have them.
"""

import re
from functools import cache
from itertools import combinations, product

import pytest
from share import share

from mechlib.teaching import Number, OneOf

SEEDS = range(200)
EPS = 1e-9  # more than a computer's rounding
_DRAWN: dict[int, tuple] = {}  # by identity, with the exercise itself: it has no other key
# What may stand in a box but can't be judged, and what it is then found to be.
NO_NUMBER = {
    **dict.fromkeys(("", "  ", None), "empty"),
    **dict.fromkeys(("three", "nan", "-inf", "1.2.3", "12 13", "__import__('os')"), "not a number"),
    **{"1e400": "too large", "3 rad": "wrong unit", "3 in": "wrong unit", "5000": "out of sense"},
}
NO_CHOICE = {**dict.fromkeys(("", None), "empty"), "perhaps": "no such choice"}


def typed(answers, digits, seed, missing=None):
    """Answers as a person writes them with the decimals asked for, real minus and all.

    With a decimal comma for an odd seed, a point for an even one.
    """
    written = []
    for answer in answers:
        if not isinstance(answer, str | None):
            answer = f"{float(answer):.{digits}f}".replace("-", "−").replace(".", ".,"[seed % 2])
        written.append(missing if answer is None else answer)
    return written


def _options(drawn):
    return [option for field in drawn.fields if isinstance(field, OneOf) for option in field.options]


def _apart(field, one, other):
    """Whether nothing that is typed or chosen can be taken for both answers."""
    if None in (one, other):
        return False
    return abs(one - other) > 2 * field.tolerance if isinstance(field, Number) else one != other


def draws(exercise) -> list:
    """The exercise drawn for each seed; drawn once, since some draws take a while."""
    if id(exercise) not in _DRAWN:
        _DRAWN[id(exercise)] = (exercise, [exercise.draw(seed) for seed in SEEDS])
    return _DRAWN[id(exercise)][1]


@cache
def by_hand(worked, question: str):
    """The right answer and the slips' as the test works them out; some take a tenth of a second."""
    return worked(question)


def drawn_within(exercise, **bounds):
    """Check that numbers are drawn from all of a span and from nowhere else: NAME=(low, high, slack)."""
    for name, (low, high, slack) in bounds.items():
        values = [drawn.numbers[name] for drawn in draws(exercise)]
        assert low <= min(values) <= low + slack, (name, min(values))
        assert high - slack <= max(values) <= high, (name, max(values))


def each_of(lesson, worked):
    """Run a class of tests for each exercise of a lesson, which must all be there, in order."""
    assert [exercise for exercise, _, _ in worked] == list(lesson)
    names = ("exercise", "worked", "digits")
    return pytest.mark.parametrize(names, worked, ids=[function.__name__ for _, function, _ in worked])


class KeepsTheRules:
    """The tests of one exercise."""

    known = frozenset()
    alike = ()  # slips of which the same may be said, since they can't always be told apart: sets of names

    def test_it_has_four_slips_and_three_hints_at_least(self, exercise, worked, digits):
        assert len(exercise.slips) >= 4 and len(exercise.hints) >= 3 and exercise.because

    def test_right_is_right_and_each_slip_is_named_for_every_seed(self, exercise, worked, digits):
        for drawn in draws(exercise):
            right, slips = by_hand(worked, drawn.question)
            verdict = drawn.check(typed(right, digits, drawn.seed))
            assert verdict.kind == "right", (drawn.question, right, drawn.right)
            assert verdict.sentence().startswith("Right. ")
            assert list(slips) == [slip.name for slip in drawn.slips]
            for slip in drawn.slips:
                for option in _options(drawn) or [None]:
                    feedback = drawn.check(typed(slips[slip.name], digits, drawn.seed, missing=option))
                    assert feedback.words == slip.feedback, (drawn.seed, drawn.question)
                    assert feedback.kind == slip.name or {feedback.kind, slip.name} in self.alike
                    assert feedback.sentence() == f"Not yet: {slip.feedback}"
            for one, other in combinations(drawn.slips, 2):
                assert one.feedback != other.feedback or {one.name, other.name} in self.alike

    def test_no_answer_with_three_figures_is_taken_for_another_slip(self, exercise, worked, digits):
        """Only where it is that slip to the digits asked for."""
        for drawn in draws(exercise):
            right, slips = by_hand(worked, drawn.question)
            for name, answers in {"right": right, **slips}.items():
                shown = (
                    own if answer is None else answer for answer, own in zip(answers, right, strict=True)
                )
                figures = [one if isinstance(one, str) else float(f"{float(one):.3g}") for one in shown]
                found = drawn.check(figures).kind
                if found not in {name, "right", "rounding", "unrecognised", "not whole"}:
                    slip = next(each for each in drawn.slips if each.name == found)
                    assert all(
                        answer is None or field.agrees(one, answer)
                        for field, one, answer in zip(exercise.fields, figures, slip.answers, strict=True)
                    ), (name, found, drawn.question)

    def test_no_two_answers_can_be_taken_for_each_other(self, exercise, worked, digits):
        for drawn in draws(exercise):
            right, slips = by_hand(worked, drawn.question)
            said = {slip.name: slip.feedback for slip in drawn.slips} | {"right": ""}
            for one, other in combinations({"right": right, **slips}.items(), 2):
                apart = any(map(_apart, exercise.fields, one[1], other[1]))
                assert apart or said[one[0]] == said[other[0]], (one, other)

    def test_no_answer_lies_between_two_roundings(self, exercise, worked, digits):
        """Whoever rounds up and whoever rounds down write the same, with the decimals asked for."""
        for drawn in draws(exercise):
            right, _ = by_hand(worked, drawn.question)
            up, down = (
                typed([a if isinstance(a, str | None) else a + by for a in right], digits, drawn.seed)
                for by in (EPS, -EPS)
            )
            assert [text.strip("−-") for text in up] == [text.strip("−-") for text in down], drawn.question

    def test_neither_hint_nor_feedback_gives_anything_away(self, exercise, worked, digits):
        """None has a number that isn't in the question, or names one of the choices."""
        figures = re.compile(r"\d+(?:\.\d+)?")
        for drawn in share(draws(exercise), 40):
            given = set(figures.findall(drawn.question)) | set(self.known)
            texts = (*drawn.hints, *(slip.feedback for slip in drawn.slips))
            assert all(set(figures.findall(text)) <= given for text in texts)
            assert not any(option in text for option, text in product(_options(drawn), texts))
            assert "{" not in drawn.question + "".join(texts) + drawn.because

    def test_what_cannot_be_judged_is_sent_back_in_every_box_for_every_seed(self, exercise, worked, digits):
        assert isinstance(exercise.fields[0], Number)
        for drawn in draws(exercise):
            answers = typed(drawn.right, digits, drawn.seed)
            for at, field in enumerate(drawn.fields):
                for entry, kind in (NO_NUMBER if isinstance(field, Number) else NO_CHOICE).items():
                    feedback = drawn.check([*answers[:at], entry, *answers[at + 1 :]])
                    assert feedback.kind == kind, (entry, drawn.question)
                    assert feedback.sentence().startswith("Not yet: ") and not feedback.right

    def test_a_unit_after_the_number_does_no_harm_unless_it_is_another(self, exercise, worked, digits):
        """With a decimal point and with a comma; and no question asks for centimetres."""
        for drawn, mark in product(draws(exercise), (0, 1)):
            pairs = list(zip(drawn.fields, typed(drawn.right, digits, mark), strict=True))
            for unit, right in ((None, True), ("cm", False)):
                answers = [
                    f"{text} {unit or field.unit}" if isinstance(field, Number) else text
                    for field, text in pairs
                ]
                found = drawn.check(answers)
                assert found.right == right and (right or found.kind == "wrong unit"), answers
