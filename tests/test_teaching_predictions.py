"""Guesses kept, and set beside what happened."""

import math
import re

import pytest

from mechlib.errors import MechError
from mechlib.teaching import Prediction
from mechlib.teaching.predictions import GUESS_FIRST


def test_a_guess_is_kept_once_and_set_beside_what_happened():
    asked = Prediction("How far?", unit="°")
    kept = asked.committed(" −6,04 deg")
    assert (asked.guess, kept.guess) == (None, -6.04)
    assert kept.sentence() == "How far? Your guess: −6.0°."
    assert kept.compare(-4.5) == "You guessed −6.0°; it came out at −4.5°, which is 1.5° more."
    assert kept.compare(-9) == "You guessed −6.0°; it came out at −9.0°, which is 3.0° less."
    assert kept.compare(-6.06) == "You guessed −6.0°; it came out at −6.1°, which is 0.1° less."
    assert kept.compare(-6.01) == "You guessed −6.0°; it came out at −6.0°, as you thought."
    with pytest.raises(MechError, match="already kept"):
        kept.committed("3")
    for typed_in, words in (("", "nothing"), ("soon", "“soon”"), ("3 mm", "answered in mm")):
        with pytest.raises(MechError, match=words):
            asked.committed(typed_in)
    with pytest.raises(MechError, match="outcome is nan"):
        kept.compare(math.nan)


def test_a_thousand_isnt_kept_as_one():
    whole, parts = Prediction("How fast?", unit="rev/min", digits=0), Prediction("How long?", unit="mm")
    for typed_in in ("1,680", "1.680 rev/min", "1 680"):
        with pytest.raises(MechError, match="without a sign between: 1680"):
            whole.committed(typed_in)
    assert whole.committed("1680,5").guess == 1680.5 and whole.committed("1,5").guess == 1.5
    assert parts.committed("1,680").guess == 1.68


def test_one_of_a_thing_is_told_as_one():
    arcs = Prediction("How many?", unit="arcs", digits=0)
    assert arcs.committed("1").sentence() == "How many? Your guess: 1 arc."
    assert arcs.committed("4").compare(3) == "You guessed 4 arcs; it came out at 3 arcs, which is 1 arc less."
    assert arcs.committed("2 arcs").compare(1).endswith("it came out at 1 arc, which is 1 arc less.")
    assert arcs.committed("1 arc").compare(3).endswith("which is 2 arcs more.")
    turns = Prediction("How far?", unit="turns", digits=1)
    assert turns.committed("0,96").compare(3) == (
        "You guessed 1.0 turn; it came out at 3.0 turns, which is 2.0 turns more."
    )
    assert turns.committed("1.3").compare(2.3).endswith("which is 1.0 turn more.")
    assert Prediction("?", unit="cents").committed("-1").compare(1).startswith("You guessed −1.0 cent; it")


@pytest.mark.parametrize("unit", ["", "arcs", "teeth", "changes", "lines", "sizes"])
def test_a_count_is_whole_and_not_less_than_nought(unit):
    asked = Prediction("How many?", unit=unit, digits=0)
    for typed_in in ("½", "1.5", "2,4"):
        with pytest.raises(MechError, match="come whole"):
            asked.committed(typed_in)
    for typed_in in ("-6", "−0.5"):
        with pytest.raises(MechError, match="less than none"):
            asked.committed(typed_in)
    assert [asked.committed(typed_in).guess for typed_in in ("0", "6", "4/2")] == [0, 6, 2]


def test_what_is_measured_may_come_in_parts_and_have_a_sign():
    for unit in ("turns", "minutes"):
        assert Prediction("How many?", unit=unit, digits=0).committed("1.5").guess == 1.5
        with pytest.raises(MechError, match="less than none"):
            Prediction("How many?", unit=unit).committed("-1.5")
    for unit, digits in (("°", 0), ("%", 0), ("cents", 1), ("", 1)):
        assert Prediction("How far?", unit=unit, digits=digits).committed("-1.5").guess == -1.5


def test_without_a_guess_nothing_of_the_outcome_is_told():
    asked, which = Prediction("How far?", unit="°"), Prediction("Which way?", ("earlier", "later"))
    told = {asked.compare(outcome) for outcome in (2, 34.56, -7.5)}
    told |= {which.compare(outcome) for outcome in which.choices}
    assert told == {GUESS_FIRST}  # the same words, whatever happened
    assert not re.search(r"\d|earlier|later", GUESS_FIRST)
    with pytest.raises(MechError, match="outcome is nan"):
        asked.compare(math.nan)
    with pytest.raises(MechError, match="among the choices"):
        which.compare("sideways")


def test_a_guess_among_choices():
    asked = Prediction("Which way?", ("earlier", "later", "not at all"))
    kept = asked.committed("later")
    assert kept.compare("later") == "You guessed “later”; it came out as “later”, as you thought."
    assert (
        kept.compare("earlier") == "You guessed “later”; it came out as “earlier”, which is something else."
    )
    for answer in ("", "sideways", None):
        with pytest.raises(MechError):
            asked.committed(answer)
    with pytest.raises(MechError, match="among the choices"):
        kept.compare("sideways")
