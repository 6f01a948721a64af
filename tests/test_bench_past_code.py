"""A cam that comes to rest past its code: foretold, and as the controller then runs it."""

import pytest
from small_machine import small

from mechlib.bench.dwell_trial import dwell_trial
from mechlib.bench.past_code import PastCode
from mechlib.transports import change, load
from mechlib.transports.timing import arriving_senses

ALDER = load("alder")


@pytest.mark.parametrize(
    "values, past",
    [
        ({}, False),
        (
            {"contact_deg": 2.4},
            False,
        ),  # settling 0.8 and coasting 1.6: it rests on the last edge
        ({"contact_deg": 2.3}, True),
        ({"coast_deg": 7.2}, False),  # 8.0 wide
        ({"coast_deg": 7.3}, True),
    ],
)
def test_a_cam_that_comes_to_rest_past_its_code_homes_at_the_next_key(values, past):
    trial = dwell_trial(ALDER, "PLAY", "reel idler", **values)
    told = "PLAY comes to rest past its code: the next key makes it home, to EJECT."
    for words in (trial.verdict(), trial.sentence(), " ".join(trial.losses())):
        assert (told in words) == past
    for sense in ("loading", "unloading"):
        legs = change(trial.transport, "PLAY", "STOP", sense).legs
        assert [leg.leg.mode for leg in legs if leg.purpose == "homing"] == ["EJECT"] * past
    if "coast_deg" in values:  # it changes every mode: the list names those that a key would send home
        homing = {
            name
            for name in ALDER.mode_names
            for to in ALDER.mode_names
            for sense in arriving_senses(ALDER)[name]
            if name != to and any(leg.purpose for leg in change(trial.transport, name, to, sense).legs)
        }
        assert homing == {one.mode for one in trial.past}
        assert ("the cam also comes to rest in" in trial.sentence()) == (len(homing) > 1)


def test_past_its_code_in_one_sense_only_or_on_another_ones_code():
    assert PastCode("HALF", ("loading",), None, "IN").sentence() == (
        "HALF, reached in the loading sense, comes to rest past its code: the next key makes it home, to IN."
    )
    told = "HALF comes to rest past its code: the controller takes it for OUT."
    assert PastCode("HALF", (), "OUT", "IN").sentence() == told
    trial = dwell_trial(small(), "HALF", "latch", coast_deg=50)  # loading 46 to 96, where OUT's code shows
    assert ("loading",) in [one.senses for one in trial.past if one.mode == "HALF" and one.shown == "OUT"]
