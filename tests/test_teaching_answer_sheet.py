"""The trainer's sheet says what the exercise itself counts as right, and as which slip."""

import re

import pytest

from mechlib.errors import MechError
from mechlib.teaching import OneOf
from mechlib.teaching.answer_sheet import answer_sheet, page_sheet
from mechlib.teaching.by_page import EXERCISES
from mechlib.teaching.follow_power import FOLLOW_POWER
from mechlib.teaching.powers_off import POWERS_OFF
from mechlib.teaching.trains import TRAINS

SHEETS = [pytest.param(page, seed, id=f"page {page:02}, {seed}") for page in EXERCISES for seed in range(3)]


def flat(text: str) -> str:
    return " ".join(text.split())


def entries(drawn, said: str, answers) -> list[str]:
    """What the sheet says, as it would be typed; where a slip doesn't show, the right answer."""
    parts = iter(part.strip("“”") for part in said.split(" and ", len(drawn.fields) - 1))
    filled = zip(answers, drawn.right, strict=True)
    return [str(right) if answer is None else next(parts) for answer, right in filled]


@pytest.mark.parametrize(("page", "seed"), SHEETS)
def test_what_the_sheet_says_is_right_is_right_and_each_slip_is_that_slip(page, seed):
    sheet = page_sheet(page, seed)
    assert max(map(len, sheet.splitlines())) <= 96
    pieces = [flat(piece) for piece in sheet.split("\n\n")]
    for place, (exercise, piece) in enumerate(zip(EXERCISES[page], pieces, strict=True), 1):
        drawn = exercise.draw(seed)
        assert piece.startswith(f"Page {page:02}, exercise {place}: {exercise.title} ")
        assert flat(drawn.question) in piece and f"The way: {flat(drawn.because)} Slips:" in piece
        right = re.search(r" Right: (.*?)\. The way: ", piece)[1]
        assert drawn.check(entries(drawn, right, drawn.right)).right, (right, drawn.right)
        assert right.count("“") == sum(isinstance(field, OneOf) for field in exercise.fields)
        for slip in drawn.slips:
            said = piece.partition(f" - {slip.name}, ")[2].partition(f": {flat(slip.feedback)}")[0]
            assert drawn.check(entries(drawn, said, slip.answers)).words == slip.feedback, (slip, said)


def test_numbers_are_told_with_the_digits_that_are_asked_for():
    asked = (FOLLOW_POWER[0], TRAINS[0], TRAINS[1], TRAINS[2], POWERS_OFF[1])
    sheet = answer_sheet(asked, 3)
    digits = [len(found) for found in re.findall(r"^Right: −?\d+\.?(\d*)", sheet, re.M)]
    assert digits == [0, 4, 1, 2, 0]
    assert [line[:12] for line in sheet.splitlines() if line.startswith("Exercise")] == [
        f"Exercise {place}: " for place in range(1, 6)
    ]


def test_what_there_is_no_sheet_for_is_refused():
    with pytest.raises(MechError, match="seed"):
        answer_sheet(TRAINS, -1)
    for page in (0, 15, "2"):
        with pytest.raises(MechError, match="no exercises: give the number of a lesson, 1 to 14"):
            page_sheet(page, 1)
