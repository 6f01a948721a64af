"""Another dwell at both ends of every slider, at corners and at random: a result or a clear message."""

import math
import random
from itertools import product

import pytest
from small_machine import going_round, small, values
from transport_makers import make

from mechlib.bench.dwell_trial import AS_IT_IS, _around, dwell_trial, trial_ranges
from mechlib.cams import LAWS
from mechlib.errors import MechError
from mechlib.ranges import Range
from mechlib.transports import load
from mechlib.transports.files import transport_from

ALDER = load("alder")
ASKED = [(mode, need.follower) for mode in ALDER.mode_names for need in ALDER.mode(mode).needs]


def finite(trial):
    numbers = [d for one in trial.margin.distances for d in (one.below_deg, one.above_deg)]
    numbers += [trial.budget.needed_deg, trial.margin.margin_deg, *(one.after_deg for one in trial.lost)]
    return all(map(math.isfinite, numbers)) and not math.isnan(trial.budget.there_deg)


def check_sliders(transport, mode, follower, draw, corners):
    controls = trial_ranges(transport, mode, follower)
    given = {name: control.default for name, control in controls.items()}
    assert finite(dwell_trial(transport, mode, follower, **given))
    for name, control in controls.items():
        for value in (control.positions()[0], control.positions()[-1]):
            tried(transport, mode, follower, given | {name: value})
    corner = list(product(*((c.positions()[0], c.positions()[-1]) for c in controls.values())))
    for ends in draw.sample(corner, corners):
        tried(transport, mode, follower, dict(zip(controls, ends, strict=True)))
    for _ in range(corners):
        tried(transport, mode, follower, {n: draw.choice(c.positions()) for n, c in controls.items()})


def tried(transport, mode, follower, given):
    """A result with finite numbers and a sentence, or a message that says what would be right."""
    try:
        trial = dwell_trial(transport, mode, follower, **given)
    except MechError as error:
        assert ": " in str(error)
    else:
        assert finite(trial) and trial.sentence().endswith(".") and "nan" not in trial.sentence()


@pytest.mark.few(4)
@pytest.mark.parametrize("mode, follower", ASKED)
def test_every_slider_gives_a_result_or_a_message(mode, follower):
    check_sliders(ALDER, mode, follower, random.Random(f"{mode} {follower}"), 3)


@pytest.mark.parametrize("mode, follower", [("IN", "lever"), ("HALF", "latch"), ("OUT", "hook")])
def test_sliders_of_the_small_machine(mode, follower):
    check_sliders(small(), mode, follower, random.Random(mode), 12)


@pytest.mark.parametrize("mode", ["REST", "RUN"])
def test_sliders_of_a_cam_that_goes_round(mode):
    check_sliders(going_round(), mode, "lever", random.Random(mode), 12)


@pytest.mark.slow
@pytest.mark.few(2)
@pytest.mark.parametrize("cyclic", [False, True])
@pytest.mark.parametrize("seed", range(4))
def test_sliders_of_any_machine(seed, cyclic):
    machine, draw, tried_on = transport_from(make(seed, cyclic), "drawn.toml"), random.Random(seed), 0
    for mode in machine.mode_names:
        for need in machine.mode(mode).needs:
            try:
                trial_ranges(machine, mode, need.follower)
            except MechError as error:
                assert "dwell" in str(error) or "stands still" in str(error)
                continue
            check_sliders(machine, mode, need.follower, draw, 3)
            tried_on += 1
    assert tried_on


@pytest.mark.parametrize("mode, follower", ASKED)
def test_ends_of_the_sliders_are_clean_numbers(mode, follower):
    for control in trial_ranges(ALDER, mode, follower).values():
        if isinstance(control, Range):  # Alder's angles are tenths of degrees
            for at in (control.low, control.high, control.default):
                assert at == float(f"{at:.1f}")


def test_ranges_start_from_what_there_is():
    controls = trial_ranges(small(), "HALF", "latch")
    assert {name: control.default for name, control in controls.items()} == {
        "length_deg": 85.0, "move_deg": 0.0, "law_name": AS_IT_IS, "coast_deg": 2.0, "contact_deg": 10.0
    }  # fmt: skip
    assert controls["law_name"].options == (AS_IT_IS, *LAWS)
    spans = {name: control.span() for name, control in controls.items() if name != "law_name"}
    assert spans == {
        "length_deg": "0.2° to 103.0°",  # to 64, about 12.5
        "move_deg": "−30.0° to 9.0°",
        "coast_deg": "0.0° to 10.0°",
        "contact_deg": "1.2° to 50.0°",  # 40 wider than it is
    }
    assert trial_ranges(ALDER, "EJECT", "carriage")["contact_deg"].span() == "1.0° to 93.0°"
    assert trial_ranges(ALDER, "PAUSE", "pinch lever")["length_deg"].span() == "0.2° to 50.0°"
    assert _around("no room", 1.0, 1.0, 1.1, 0.2).positions() == (1.0, 1.2)
    assert _around("down only", 1.0, 0.8, 1.0, 0.2).positions() == (0.8, 1.0)
    near_by = [*values()["contact"], {"name": "C", "closed": [[{"deg": 60}, {"deg": 61}]]}]
    contact = trial_ranges(small(contact=near_by), "HALF", "latch")["contact_deg"]
    assert contact.span() == "1.2° to 19.8°"  # 55 to 60, less 0.1 on both sides
    hook = trial_ranges(small(), "OUT", "hook")["move_deg"]
    assert hook.span() == "−19.0° to 30.0°"
    with pytest.raises(MechError, match="the code has no dwell"):
        trial_ranges(small(), "HALF", "code")
