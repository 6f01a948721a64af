"""Tape speed, against marks on the tape, musical intervals and the forces on a piece of tape."""

from __future__ import annotations

import math

import numpy as np
import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st

from mechlib.drives.capstan import (
    STANDARD_SPEEDS,
    PinchGrip,
    SpeedError,
    capstan_speed,
    error_from_tone,
    pinch_grip,
    speed_error,
    standard_speed,
    tape_speed,
)
from mechlib.errors import MechError


@given(st.floats(1, 20), st.floats(50, 5000), st.floats(0, 0.05))
def test_tape_speed_is_that_of_a_point_in_its_middle(diameter, rev_min, tape):
    """Follow the middle of the tape over a small angle of the capstan."""
    angle = rev_min * 2 * math.pi / 60 * 1e-4
    radius = diameter / 2 + tape / 2
    path = radius * np.column_stack([np.cos([0, angle / 2, angle]), np.sin([0, angle / 2, angle])])
    moved = sum(np.linalg.norm(np.diff(path, axis=0), axis=1))
    assert tape_speed(diameter, rev_min, tape) == pytest.approx(moved / 1e-4, rel=1e-3)
    assert capstan_speed(diameter, tape_speed(diameter, rev_min, tape), tape) == pytest.approx(rev_min)


def test_by_hand_and_bare_unless_the_tape_is_given():
    assert tape_speed(3, 600) == pytest.approx(30 * math.pi) == tape_speed(3, 600, 0)
    assert tape_speed(3, 600, 0.1) == pytest.approx(31 * math.pi)
    assert capstan_speed(3, 30 * math.pi) == pytest.approx(600)
    assert capstan_speed(3, 31 * math.pi, 0.1) == pytest.approx(600)


def test_cents_are_those_of_the_tempered_scale():
    """Twelve equal semitones to the octave, a hundred cents each (ISO 80000-8 and any music handbook)."""
    semitone = 2 ** (1 / 12)
    for steps in (-12, -1, 1, 7, 12):
        assert SpeedError(semitone**steps).cents == pytest.approx(100 * steps, abs=1e-9)
    assert error_from_tone(440, 440 / semitone).percent == pytest.approx(5.946309)


@given(st.floats(20, 60), st.floats(20, 60), st.floats(100, 10000))
def test_a_tone_tells_the_speed(speed, wanted, tone):
    """The wavelength on the tape is tone/wanted; read at another speed it gives another tone."""
    wavelength = wanted / tone
    found = speed_error(speed, wanted)
    assert found.tone(tone) == pytest.approx(speed / wavelength)
    assert error_from_tone(speed / wavelength, tone).cents == pytest.approx(found.cents, abs=1e-6)
    assert found.percent == pytest.approx(100 * (speed - wanted) / wanted, abs=1e-9)
    assert speed_error(wanted, speed).cents == pytest.approx(-found.cents, abs=1e-6)


def test_standard_speeds_hang_together():
    """Tape speeds halve from one to the next; the lengths of reels in play are made for that."""
    speeds = [STANDARD_SPEEDS[f"open reel {name}"].mm_s for name in ("38", "19", "9.5", "4.75")]
    assert [speed / speeds[-1] for speed in speeds] == [8, 4, 2, 1]
    assert speeds[0] == pytest.approx(381) and speeds[-1] == standard_speed("compact cassette").mm_s
    assert standard_speed("half-inch video 525/60").mm_s == 33.35
    assert standard_speed("microcassette").mm_s == pytest.approx(speeds[-1] / 2, rel=0.01)
    for one in STANDARD_SPEEDS.values():
        assert one.status in ("published", "memory") and len(one.source) > 5


def test_speed_errors_in_words():
    assert speed_error(50, 50).sentence() == "The tape runs at the right speed."
    assert speed_error(50.003, 50).sentence().startswith("The tape runs 0.01% too fast")
    assert speed_error(50.002, 50).sentence() == "The tape runs at the right speed."
    assert speed_error(49, 50).sentence() == "The tape runs 2.00% too slow, −35.0 cents."
    assert speed_error(51, 50).sentence() == "The tape runs 2.00% too fast, +34.3 cents."


@given(*[st.floats(0, 5)] * 3, st.floats(0.05, 1), st.floats(0, 1))
def test_pinch_from_the_balance_of_the_tape(force, supply, take_up, friction, drag):
    """Forces along the tape: supply and the roller's drag back, take-up on; friction makes up the rest."""
    found = pinch_grip(force, friction, supply, take_up, drag)
    rubbing = supply + drag - take_up
    assert found.pull_N == pytest.approx(rubbing, abs=1e-12)
    assert found.slips == (not -friction * force <= found.pull_N <= friction * force)
    assert found.margin_N == pytest.approx(friction * force - abs(rubbing), abs=1e-12)


def test_pinch_in_words_and_at_its_edge():
    assert pinch_grip(4, 0.25, 1.5, 0.5) == PinchGrip(1, 1) and not PinchGrip(1, 1).slips
    assert PinchGrip(1, 1.001).slips and PinchGrip(1, -1.001).slips and not PinchGrip(1, -1).slips
    assert pinch_grip(1, 0.25, 0.75, 0.25).sentence() == (
        "The tape slips: it is pulled with 0.50 N backwards, by the supply reel; the capstan holds 0.25 N."
    )
    assert pinch_grip(4, 0.25, 0.25, 0.25).sentence() == (
        "The capstan holds while the tape is pulled with less than 1.00 N; now 0.00 N, "
        "backwards, by the supply reel."
    )
    assert "forwards, by the take-up reel" in pinch_grip(4, 0.25, 0.25, 0.5).sentence()


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: tape_speed(0.4, 100), "diameter_mm is 0.4 mm"),
        (lambda: tape_speed(2, 0), "rev_min is 0 rev/min"),
        (lambda: tape_speed(2, 100, 0.2), "tape_mm is 0.2 mm"),
        (lambda: capstan_speed(2, 0), "tape_mm_s is 0 mm/s"),
        (lambda: speed_error(0, 47), "tape_mm_s is 0"),
        (lambda: speed_error(47, math.nan), "wanted_mm_s is nan"),
        (lambda: error_from_tone(0, 3000), "heard_Hz is 0 Hz"),
        (lambda: error_from_tone(3000, "3 kHz"), "recorded_Hz is '3 kHz'"),
        (lambda: SpeedError(1).tone(0), "recorded_Hz is 0"),
        (lambda: SpeedError(0), "ratio is 0"),
        (lambda: SpeedError(math.nan), "ratio is nan"),
        (lambda: standard_speed("wire"), "no standard speed 'wire': there are compact cassette, half-inch"),
        (lambda: pinch_grip(-1, 0.3, 0, 0), "force_N is -1 N"),
        (lambda: pinch_grip(1, 0, 0, 0), "friction is 0"),
        (lambda: pinch_grip(1, 0.3, -1, 0), "supply_N is -1 N"),
        (lambda: pinch_grip(1, 0.3, 0, -1), "take_up_N is -1 N"),
        (lambda: pinch_grip(1, 0.3, 0, 0, -1), "roller_drag_N is -1 N"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: tape_speed(x, 100), 0.5, 50),
        (SpeedError, 1e-5, 1e5),
        (lambda x: tape_speed(2, x), 1, 5e4),
        (lambda x: tape_speed(2, 100, x), 0, 0.1),
        (lambda x: capstan_speed(2, x), 0.1, 1e4),
        (lambda x: speed_error(47, x), 0.1, 1e4),
        (lambda x: error_from_tone(x, 3000), 1, 1e5),
        (lambda x: pinch_grip(x, 0.3, 0, 0), 0, 500),
        (lambda x: pinch_grip(1, x, 0, 0), 0.01, 3),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
