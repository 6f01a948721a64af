"""The trainer's sheet says what the exercise itself counts as right."""

import re

import pytest

from mechlib.errors import MechError
from mechlib.teaching import OneOf
from mechlib.teaching.answer_sheet import answer_sheet
from mechlib.teaching.follow_power import FOLLOW_POWER
from mechlib.teaching.powers_off import POWERS_OFF
from mechlib.teaching.stuck_tape import STUCK_TAPE
from mechlib.teaching.trains import TRAINS


@pytest.mark.parametrize("exercises", [TRAINS, STUCK_TAPE], ids=["trains", "stuck tape"])
@pytest.mark.parametrize("seed", range(5))
def test_what_the_sheet_says_is_right_is_right(exercises, seed):
    sheet = answer_sheet(exercises, seed)
    rights = re.findall(r"^Right: (.*?)\.$", sheet, re.M | re.S)
    for exercise, right in zip(exercises, rights, strict=True):
        drawn = exercise.draw(seed)
        entries = [part.strip("“”") for part in right.replace("\n", " ").split(" and ")]
        assert drawn.check(entries).right, (right, drawn.right)
        assert " ".join(drawn.question.split()) in " ".join(sheet.split())
        assert all(slip.name in " ".join(sheet.split()) for slip in drawn.slips)
        assert sum(isinstance(field, OneOf) for field in exercise.fields) == right.count("“")
    assert max(map(len, sheet.splitlines())) <= 96


def test_numbers_are_told_with_the_digits_that_are_asked_for():
    asked = (FOLLOW_POWER[0], TRAINS[0], TRAINS[1], TRAINS[2], POWERS_OFF[1])
    sheet = answer_sheet(asked, 3)
    digits = [len(found) for found in re.findall(r"^Right: −?\d+\.?(\d*)", sheet, re.M)]
    assert digits == [0, 4, 1, 2, 0]


def test_a_bad_seed_is_refused():
    with pytest.raises(MechError, match="seed"):
        answer_sheet(TRAINS, -1)
