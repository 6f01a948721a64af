"""Another dwell against the transport's file edited by hand and read anew."""

import copy
import tomllib
from importlib import resources

import pytest

from mechlib.bench.dwell_trial import dwell_trial
from mechlib.transports import interlock_margins, load, margins
from mechlib.transports.dwell_budget import dwell_budget
from mechlib.transports.files import transport_from

near = pytest.approx
ALDER = load("alder")
TOML = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))


def edited(follower, step, length, move, law, coast, arcs):
    """Alder's file with one hold of a track, the coasting and contact arcs changed by hand."""
    file = copy.deepcopy(TOML)
    track = next(row for row in file["follower"] if row["name"] == follower)["track"]
    start, end = track[step - 1]["until"]["deg"], track[step]["until"]["deg"]
    middle = (start + end) / 2 + move
    track[step - 1] |= {"until": {"deg": middle - length / 2}, "law": law}
    track[step] |= {"until": {"deg": middle + length / 2}}
    track[step + 1] |= {"law": law}
    file["drive"]["coast"] = {"deg": coast}
    for contact in file["contact"]:
        for arc in contact["closed"]:
            centre, half = (arc[0]["deg"] + arc[1]["deg"]) / 2, arcs.get((arc[0]["deg"], arc[1]["deg"]))
            if half:
                arc[:] = [{"deg": centre - half}, {"deg": centre + half}]
    return transport_from(file, "edited.toml")


@pytest.mark.parametrize(
    "mode, follower, step, arc, length, move, law, coast, contact",
    [
        ("PLAY", "reel idler", 6, (208, 216), 9.0, -1.0, "cycloidal", 1.6, 8.0),
        ("PLAY", "reel idler", 6, (208, 216), 4.5, 1.5, "3-4-5", 2.4, 6.0),
        ("WIND", "loading arms", 2, (54, 62), 9.0, 0.3, "simple harmonic", 0.7, 9.0),
        ("PAUSE", "pinch lever", 4, (174, 182), 24.0, 0.6, "modified sine", 2.0, 7.0),
        ("STOP", "main brakes", 4, (98, 106), 15.0, -0.4, "cycloidal", 1.0, 8.0),
    ],
)
def test_the_file_edited_by_hand_gives_the_same(mode, follower, step, arc, length, move, law, coast, contact):
    hand = edited(follower, step, length, move, law, coast, {arc: contact / 2})
    trial = dwell_trial(ALDER, mode, follower, length, move, law, coast, contact)
    for ours, theirs in zip(margins(trial.transport), margins(hand), strict=True):
        for one, other in zip(ours.distances, theirs.distances, strict=True):
            assert (one.follower, one.sense) == (other.follower, other.sense)
            assert (one.below_deg, one.above_deg) == (near(other.below_deg), near(other.above_deg))
    locks = [interlock_margins(machine) for machine in (ALDER, trial.transport, hand)]
    lost = {one.name: one for one in trial.lost}
    for before, ours, theirs in zip(*locks, strict=True):
        assert (ours.ahead_deg, ours.behind_deg) == (near(theirs.ahead_deg), near(theirs.behind_deg))
        assert (f"the interlock {ours.name}" in lost) == (theirs.margin_deg < before.margin_deg - 1e-6)
    for before, theirs in zip(margins(ALDER), margins(hand), strict=True):
        worse = theirs.margin_deg < before.margin_deg - 1e-6
        assert (theirs.mode in lost) == (worse and theirs.mode != mode)
    assert trial.budget.needed_deg == near(dwell_budget(hand, mode, follower).needed_deg)
    assert trial.budget.there_deg == near(dwell_budget(hand, mode, follower).there_deg)


def test_a_dwell_as_long_as_its_budget_bears_the_worst_case():
    """What the budget asks for is enough: cut it so, move it to the middle, and nothing is short."""
    steep = {"law_name": "constant velocity", "coast_deg": 0.6, "contact_deg": 4.0}
    allowed = {"teeth": 1, "switch_tolerance_deg": 0.5, "coast_spread_deg": 0.2}
    before = dwell_trial(ALDER, "PAUSE", "main brakes", **steep, **allowed).budget
    # the tolerance of lift lengthens the dwell by what it had; so cut the track by that much less
    cut = 13 + before.needed_deg - before.there_deg
    middle = (before.high.spare_deg - before.low.spare_deg) / 2
    after = dwell_trial(ALDER, "PAUSE", "main brakes", cut, -middle, **steep, **allowed).budget
    assert before.tight.spare_deg < 0 < after.low.spare_deg + after.high.spare_deg + 1.5
    assert after.low.worst_deg == near(before.low.worst_deg)
    assert abs(after.low.spare_deg) < 0.8 and abs(after.high.spare_deg) < 0.8
