"""Tracks given as readings, tooth by tooth, against scipy and the track that they were read from."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from small_machine import ROUND_TEXT, going_round, small, values

from mechlib.errors import MechError
from mechlib.transports.files import transport_from

# One tooth of the main gear is 10 degrees.  The small machine's lever, off up to 20 and on from 40.
LIFTS = [0.0, 0.04, 0.0, 0.0, 0.02, 0.0, 0.0, 0.0, 0.03, 10.4, 20.02, *[20.0] * 12]
READINGS = [[{"teeth": tooth}, lift] for tooth, lift in zip(range(-6, 17), LIFTS, strict=True)]


def lever(changes: dict, source=values) -> dict:
    """The machine's values with its lever's track replaced by readings; None takes a key away."""
    found = source()
    row = found["follower"][0]
    row.pop("track"), row.pop("track_from", None)
    row.update({"readings": READINGS, "same_within_mm": 0.05} | changes)
    return found


def round_values() -> dict:
    return tomllib.loads(ROUND_TEXT)


def problems_of(found: dict) -> str:
    with pytest.raises(MechError) as caught:
        transport_from(found, "mine.toml")
    return "\n".join(caught.value.problems)


def test_a_track_read_tooth_by_tooth():
    track = transport_from(lever({}), "mine.toml").followers[0].programme
    flat = [np.mean(LIFTS[:9])] * 9 + [10.4] + [np.mean(LIFTS[10:])] * 13
    reference = PchipInterpolator(np.arange(-60, 170, 10), flat)
    x = np.linspace(-60, 160, 441)
    assert track.lifts(x) == pytest.approx(reference(x), abs=1e-9)
    assert [(s.start_deg, s.end_deg) for s in track.segments] == [(-60, 20), (20, 40), (40, 160)]
    assert track.lift(-500) == track.lift(0) and track.lift(500) == track.lift(100)


def test_the_machine_with_readings_works_as_the_one_that_was_read():
    """Its modes stand in the same dwells; only the way between them is another law."""
    read, made = transport_from(lever({}), "mine.toml"), small()
    for one, other in zip(read.modes, made.modes, strict=True):
        for ours, theirs in zip(one.needs, other.needs, strict=True):
            assert np.array(ours.arcs) == pytest.approx(np.array(theirs.arcs), abs=3.0)


def test_a_track_that_goes_round_is_read_round():
    at = [30 * k for k in range(12)]
    lifts = [going_round().followers[0].programme.lift(angle) for angle in at]
    readings = [[{"deg": angle}, lift] for angle, lift in zip(at, lifts, strict=True)]
    found = lever({"readings": readings, "same_within_mm": 0}, round_values)
    track = transport_from(found, "mine.toml").followers[0].programme
    assert track.period_deg == 360
    assert track.lifts(np.array([*at, 360.0, 720.0])) == pytest.approx([*lifts, 0, 0], abs=1e-12)
    # It falls from 300 to 340, where no reading is: the dwell is known to begin at 360 only.
    assert lifts[10:] == [20.0, 5.0] and track.arcs_within(0, 0) == ((0, 90),)


@pytest.mark.parametrize(
    "changes, words",
    [
        ({"readings": None}, ["key readings", "it is"]),
        ({"readings": 3}, ["key readings", "the number 3", "[{teeth = 3}, 1.2]"]),
        ({"readings": []}, ["key readings", "the number of readings is 0"]),
        ({"readings": [[{"teeth": 0}, 1.0]]}, ["the number of readings is 1", "rising angles"]),
        ({"readings": [*READINGS, [{"teeth": 17}]]}, ["number 24 is no angle with a lift"]),
        ({"readings": [*READINGS, [{"teeth": 17}, 1, 2]]}, ["number 24 is no angle with a lift"]),
        ({"readings": [*READINGS, 4]}, ["number 24 is no angle with a lift"]),
        ({"readings": [*READINGS, [{"teeth": 17}, True]]}, ["number 24 is no angle with a lift"]),
        ({"readings": [*READINGS, [{"teeth": 17}, "20"]]}, ["number 24 is no angle with a lift"]),
        ({"readings": [*READINGS, [{"teeth": 17}, 500.1]]}, ["number 24 is no angle with a lift"]),
        ({"readings": [*READINGS, [{"teeth": 17}, -500.1]]}, ["number 24 is no angle with a lift"]),
        ({"readings": [*READINGS, [{"teeth": 17}, float("nan")]]}, ["number 24 is no angle with a lift"]),
        ({"readings": [*READINGS, [17, 20.0]]}, ["key readings", "17 is no angle", "{deg = 84}"]),
        ({"readings": [*READINGS, [{"teeth": 16}, 20.0]]}, ["angle 24 is 160", "larger"]),
        ({"readings": READINGS[:10]}, ["the last two readings are 0.03 and 10.4 mm", "dwell"]),
        ({"readings": READINGS[8:]}, ["the first two readings"]),
        ({"same_within_mm": -0.1}, ["same_within_mm", "from 0 to 5"]),
        ({"same_within_mm": 5.1}, ["same_within_mm", "from 0 to 5"]),
        ({"same_within_mm": "0.1"}, ["same_within_mm", "the text"]),
        ({"track": []}, ["key readings", "stands beside a track"]),
        ({"track_from": {"deg": -60}}, ["track_from", "not known"]),
    ],
)
def test_mistakes_in_readings_are_told(changes, words):
    told = problems_of(lever(changes))
    for word in ('"lever"', *words):
        assert word in told, told


def test_how_near_counts_as_the_same_must_be_said():
    found = lever({})
    found["follower"][0].pop("same_within_mm")
    assert "same_within_mm: it is missing" in problems_of(found)


def test_a_lift_at_the_limit_is_read():
    readings = [[{"teeth": tooth}, lift] for tooth, lift in ((-6, -500), (2, -500), (4, 500), (16, 500))]
    found = lever({"readings": readings})
    found["follower"][0]["states"] = {"off": -500, "on": 500}
    assert transport_from(found, "mine.toml").followers[0].programme.levels_mm == (-500, 500)
