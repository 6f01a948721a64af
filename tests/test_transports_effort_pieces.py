"""A leg in pieces, its play taken up first, against the same leg worked out on its own as one run."""

from __future__ import annotations

import numpy as np
import pytest
from transport_makers import make_driven

from mechlib import transports as tr
from mechlib.transports.effort import Effort
from mechlib.transports.effort_pieces import AT_STALL_DEG, effort_from
from mechlib.transports.files import transport_from
from mechlib.transports.model import SENSE
from mechlib.transports.runs import Run, steady

FAULTS = {
    "sound": (),
    "slipped": (tr.slip("loading gear", -1), tr.split_gear("brake cam", 3.1)),
    "bent and stiff": (tr.bent_lever("main brakes", 0.4), tr.stiff_lever("pinch lever", 3)),
    "weak": (tr.weak_motor(15),),
    "clip gone": (tr.clip_gone("brake cam", 120.0),),
    "missing teeth": (tr.missing_teeth("pinch cam", 130.0, 1),),
}


def turned_back(transport, sense: str, theta: float) -> Run:
    """The way on in ``sense`` from where the other sense has come to."""
    came = steady(transport, next(other for other in SENSE if other != sense))
    low, high = (theta, came.high) if sense == "loading" else (came.low, theta)
    return Run(transport, sense, low, high, came.places_at(theta))


def check(transport, thetas):
    stalls = 0
    for sense, direction in SENSE.items():
        for theta in map(float, thetas):
            run = turned_back(transport, sense, theta)
            pieces, whole = effort_from(run, theta), Effort(run)
            for far in map(float, np.linspace(theta, (run.low, run.high)[::direction][1], 6)[1:]):
                stall, alone = pieces.stall(far), whole.stall(theta, far)
                assert (stall is None) == (alone is None), (sense, theta, far)
                if stall is None:
                    assert pieces.seconds(far) == pytest.approx(whole.seconds(theta, far), rel=2e-5, abs=1e-9)
                    way = pieces.way(far)
                    assert (way.seconds, way.stall) == (pytest.approx(pieces.seconds(far)), None)
                    assert pieces.after(way.seconds / 2) == pytest.approx(
                        whole.after(theta, way.seconds / 2), abs=2e-3
                    )
                    continue
                stalls += 1
                assert stall.theta_deg == pytest.approx(alone.theta_deg, abs=1e-8)
                assert stall.heaviest == alone.heaviest
                near = stall.theta_deg - direction * AT_STALL_DEG
                before = 0.0 if (near - theta) * direction < 0 else whole.seconds(theta, near)
                assert pieces.way(far).near_s == pytest.approx(before, rel=2e-4, abs=1e-9)
    return stalls


@pytest.mark.parametrize("name", FAULTS)
def test_alder(name):
    stalls = check(tr.load("alder").with_faults(*FAULTS[name]), (-100.3, -20.0, -16.0, 5.5, 131.0, 210.4))
    assert (stalls > 0) == (name in ("weak", "bent and stiff"))


@pytest.mark.parametrize("seed", range(5))
def test_drawn_transports(seed):
    transport = transport_from(make_driven(seed), "drawn.toml")
    low, high = transport.ends
    check(transport, np.random.default_rng(seed).uniform(low + 1, high - 1, 4))


def test_machines_in_which_the_same_moves_share_what_takes_up_play():
    """The pinch lever stands all the way from 10 to 90 degrees: there it doesn't matter how stiff it is."""
    alder = tr.load("alder")
    stiff, greased = tr.stiff_lever("pinch lever", 2), tr.hard_grease("main cam", 40)
    one, same, other = (
        effort_from(turned_back(machine, "loading", 10.0), 10.0)
        for machine in (alder, alder.with_faults(stiff), alder.with_faults(greased))
    )
    own = [pieces._pieces[0][2] for pieces in (one, same, other)]
    assert own[0] is own[1] and own[0] is not own[2] and own[0] is not one.whole
    assert one.way(90.0).seconds == pytest.approx(same.way(90.0).seconds, rel=1e-12)
    assert one.way(200.0).seconds < same.way(200.0).seconds and one.way(90.0) == one.way(90.0)


def test_a_file_with_a_measured_speed_has_none():
    birch = tr.load("birch")
    measured = birch.changed(motors=(), speed_deg_s=60.0)
    assert effort_from(steady(measured, "loading"), 0.0) is None
