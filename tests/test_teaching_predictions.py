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
