"""Tracks looked at in many places at once, against the same track looked at angle by angle."""

from __future__ import annotations

import numpy as np
import pytest

from mechlib.cams.laws import LAWS
from mechlib.cams.programme import Programme, Segment
from mechlib.cams.sampling import Table


def lobe(law) -> tuple[Segment, ...]:
    return (
        Segment(0, 30, 2, 2), Segment(30, 75, 2, 9, law), Segment(75, 80, 9, 9),
        Segment(80, 95.5, 9, 4, "cycloidal"), Segment(95.5, 130, 4, 2, law), Segment(130, 200, 2, 2),
    )  # fmt: skip


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize("period", [None, 200])
def test_every_law_against_single_angles(law, period):
    track = Programme(lobe(law), period)
    ends = [end for segment in track.segments for end in (segment.start_deg, segment.end_deg)]
    angles = np.concatenate((np.random.default_rng(3).uniform(-90, 460, 300), ends, track.pieces_deg))
    lifts, slopes = track.lift_and_slope(angles)
    single = np.array([track.lift_and_slope(float(angle)) for angle in angles])
    assert np.allclose(lifts, single[:, 0], rtol=0, atol=1e-12)
    assert np.allclose(slopes, single[:, 1], rtol=0, atol=1e-12)


def test_slopes_are_those_of_the_lifts():
    table, angles = Table(lobe("3-4-5")), np.linspace(31, 129, 400)
    below, above = (table.lift_and_slope(angles + step)[0] for step in (-1e-4, 1e-4))
    assert np.allclose(table.lift_and_slope(angles)[1], (above - below) / 2e-4, atol=2e-3)


def test_a_track_of_one_dwell():
    lift, slope = Table((Segment(0, 90, 3, 3),)).lift_and_slope(np.array([0.0, 45.0, 90.0]))
    assert lift.tolist() == [3.0] * 3 and slope.tolist() == [0.0] * 3
