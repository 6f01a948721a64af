"""Part-toothed gears, against a count tooth by tooth and against circles drawn with a compass."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st

from mechlib.errors import MechError
from mechlib.gears import ReleasedGear, StepDriver
from mechlib.gears.part_toothed import Kick, Step, check_stretches
from mechlib.gears.racks import FINE, ISO_53_A
from mechlib.gears.spur import Gear

STRETCHES = st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=1, max_size=5).filter(
    lambda found: sum(map(sum, found)) >= 6
)


def rim_of(stretches) -> list[bool]:
    return [tooth for teeth, missing in stretches for tooth in [True] * teeth + [False] * missing]


# ---- As driver: the driven gear's teeth are counted one by one ----


@given(STRETCHES, st.integers(4, 60))
def test_a_driver_moves_the_gear_a_tooth_for_each_of_its_own(stretches, driven):
    drive, rim = StepDriver(stretches, driven), rim_of(stretches)
    counted, stood = 0, {0}
    for turn in range(1, driven + 1):
        for place, tooth in enumerate(rim):
            counted += tooth
            if not tooth:
                stood.add(counted % driven)
            turns = turn - 1 + Fraction(place + 1, len(rim))
            if turn < 3:
                assert drive.driven_turns(turns) == Fraction(-counted, driven)
        if counted % driven == 0:
            break
    assert drive.repeats_after == turn
    assert drive.stands == tuple(Fraction(teeth, driven) for teeth in sorted(stood))
    assert drive.mean_ratio == Fraction(-sum(rim), driven)
    assert drive.running_ratio == Fraction(-len(rim), driven)
    assert sum(drive.moves) + sum(drive.dwells) == 1
    assert -sum(drive.steps) == drive.mean_ratio


def test_half_a_tooth_is_half_a_tooth():
    drive = StepDriver(((4, 26),), 20)
    assert drive.driven_turns(Fraction(1, 60)) == Fraction(-1, 40) and drive.driven_turns(0) == 0
    assert drive.driven_turns(0.5) == Fraction(-4, 20)
    assert (drive.places, drive.teeth) == (30, 4)
    assert drive.mean_rev_min(-30) == 6
    check_edges(drive.driven_turns, 0, 1e6)
    check_edges(drive.mean_rev_min, -1e5, 1e5)


def test_a_driver_in_words():
    told = StepDriver(((4, 6), (3, 7)), 21).sentence()
    assert "4/21 of a turn and 1/7 of a turn" in told and "3/10 and 7/20 of the driver's turn" in told
    assert "after 3 turns of the driver" in told and "6 places" in told


@pytest.mark.parametrize(
    ("stretches", "words"),
    [
        (7, "write (teeth, teeth missing"),
        ([], "0 entries"),
        ([(4, 26, 1)], "1 entries"),
        ([(1, 1)] * 25, "25 entries"),
        ([(0, 9)], "teeth of stretch 1 is 0"),
        ([(4, 4), (3, 0)], "teeth missing after stretch 2 is 0"),
        ([(2, 3)], "places for teeth is 5"),
        ([(900, 101)], "places for teeth is 1001"),
    ],
)
def test_stretches_that_cannot_be(stretches, words):
    with pytest.raises(MechError, match=words.replace("(", r"\(")):
        check_stretches(stretches)


def test_whole_numbers_of_any_kind_count_teeth():
    assert StepDriver(((4.0, 26),), 20.0).steps == (Fraction(1, 5),)
    stretches = ((10, 2), (10, 2), (10, 2))
    given, plain = ReleasedGear(stretches, 10.0, 3, missed=[1.0]), ReleasedGear(stretches, 10, 3, missed=(1,))
    assert given == plain and given.step(0) == plain.step(0)


def test_stretches_that_just_can_be():
    assert check_stretches([(1, 1)] * 24) == ((1, 1),) * 24
    assert check_stretches([(1, 5)]) == ((1, 5),) and check_stretches([[999, 1]]) == ((999, 1),)


# ---- As driven gear: latch, spring and pinion played through place by place ----


def played(stretches, missed, start: int) -> tuple[int, Fraction]:
    """From one rest on, half a place at a time, until the pinion faces a gap's middle with a good latch."""
    halves = [tooth for tooth in rim_of(stretches) for _ in range(2)]
    ends = [i for i in range(len(halves)) if not halves[i] and halves[(i + 1) % len(halves)]]
    lengths = [2 * missing for _, missing in stretches]
    middles = [(end + 1 - length // 2) % len(halves) for end, length in zip(ends, lengths, strict=True)]
    rests = [middles[-1], *middles[:-1]]  # rest 0 stands before the first stretch
    at, moved = rests[start], 0
    while True:
        at, moved = (at + 1) % len(halves), moved + 1
        if at in rests and rests.index(at) not in missed:
            return rests.index(at), Fraction(360 * moved, len(halves))


@given(STRETCHES, st.data())
def test_every_release_goes_to_the_next_rest_that_holds(stretches, data):
    number = len(stretches)
    missed = data.draw(st.sets(st.integers(0, number - 1), max_size=number - 1))
    gear = ReleasedGear(stretches, 10, 1, tuple(missed))
    for rest in range(number):
        step = gear.step(rest)
        assert (step.end, step.deg) == played(stretches, missed, rest)
        assert gear.next_rest(rest) == step.end
        assert step.driver_turns == (step.deg - 1) / 360 * gear.places / 10
    whole = ReleasedGear(stretches, 10, 1)
    assert sum(whole.step(rest).deg for rest in range(number)) == 360
    assert [whole.rests_deg[rest + 1] - whole.rests_deg[rest] for rest in range(number - 1)] == [
        whole.step(rest).deg for rest in range(number - 1)
    ]
    assert whole.rests_deg[0] == 0


def test_a_missed_release_and_a_missed_latch():
    gear = ReleasedGear(((10, 2), (10, 2), (10, 2)), 10, 3)
    assert gear.after(1, [False, False]) == (1, 1)
    assert gear.after(0, [True] * 4) == (1, 2, 0, 1) and gear.after(0, []) == ()
    worn = ReleasedGear(((10, 2), (10, 2), (10, 2)), 10, 3, (1,))
    assert worn.after(0, [True, False, True]) == (2, 2, 0)
    assert worn.step(0).deg == 240 and worn.step(1).deg == 120
    assert "misses rest 1" in worn.sentence() and "misses" not in gear.sentence()
    with pytest.raises(MechError, match="holds at no rest"):
        ReleasedGear(((10, 2),), 10, 3, (0,))
    with pytest.raises(MechError, match="number of commands is 1001"):
        gear.after(0, [True] * 1001)
    assert len(gear.after(0, [True] * 1000)) == 1000


def test_edges_of_a_released_gear():
    stretches = ((10, 2), (10, 2), (10, 2))
    check_edges(lambda kick: ReleasedGear(stretches, 10, kick), 0, 90)
    check_edges(lambda teeth: ReleasedGear(stretches, teeth, 3), 4, 2000, whole=True)
    check_edges(lambda rest: ReleasedGear(stretches, 10, 3).step(rest), 0, 2, whole=True)
    check_edges(lambda rest: ReleasedGear(stretches, 10, 3, (rest,)), 0, 2, whole=True)
    short = ((2, 1), (30, 3))  # 4 of 36 places from rest 0 to rest 1: 40 degrees
    check_edges(lambda kick: ReleasedGear(short, 10, kick), 0, 40)


def test_time_of_a_step():
    step = ReleasedGear(((37, 3), (17, 3), (27, 3)), 12, 5).step(0)
    # 155 of 360 degrees are 38.75 of 90 places, the pinion's 12 teeth 3.229 times; 300 rev/min are 5 a second
    assert float(step.driver_turns) == pytest.approx(38.75 / 12)
    assert step.seconds(300) == pytest.approx(38.75 / 60)
    check_edges(step.seconds, 0.01, 1e5)
    told = Step(0, 1, Fraction(90), Fraction(1)).sentence()
    assert told == "From rest 0 to rest 1: 90.0°, 1.00 turn of the pinion."


# ---- The kick, with points of circles instead of the law of cosines ----


def reach_deg(wheel: Gear, pinion: Gear) -> float:
    """The largest angle on the wheel's tip circle at which a point lies within the pinion's tip circle."""
    centres = (wheel.reference_mm + pinion.reference_mm) / 2
    angle = np.linspace(0, math.pi / 2, 2_000_001)
    apart = np.hypot(wheel.tip_mm / 2 * np.cos(angle) - centres, wheel.tip_mm / 2 * np.sin(angle))
    return math.degrees(angle[apart <= pinion.tip_mm / 2].max())


@pytest.mark.parametrize("stretches", [((37, 3), (17, 4), (26, 3)), ((20, 2), (19, 5))])
@pytest.mark.parametrize("pinion", [10, 17])
def test_room_at_each_rest(stretches, pinion):
    gear = ReleasedGear(stretches, pinion, 5)
    wheel, mate = Gear(gear.places, 2.0, ISO_53_A), Gear(pinion, 2.0, ISO_53_A)
    tip = math.degrees(wheel.thickness_mm(wheel.tip_mm) / wheel.tip_mm)  # half its angle
    missing = [stretches[-1][1], *(gap for _, gap in stretches[:-1])]
    for rest, gap in enumerate(missing):
        middle = (gap + 1) * 180 / gear.places
        found = gear.kick(ISO_53_A, rest)
        assert found.free_deg == pytest.approx(middle - tip - reach_deg(wheel, mate), abs=1e-4)
        assert (found.rest, found.kick_deg) == (rest, 5)
        assert found.runs_free == (found.free_deg > 0) and found.meshes == (found.free_deg < 5)


def test_a_gap_too_small_and_a_kick_too_short():
    assert ReleasedGear(((37, 3), (17, 3), (27, 3)), 12, 1).kick(ISO_53_A).sentence() == (
        "With teeth of ISO 53 A: at rest 0 the pinion runs free by 1.7°; the kick of 1.0° ends 0.7° short of "
        "it: released, the gear stays where it is."
    )
    tight = ReleasedGear(((38, 2), (17, 3), (28, 2)), 12, 5)
    struck = tight.kick(ISO_53_A)
    assert not struck.runs_free and "more teeth must be missing" in struck.sentence()
    assert struck.sentence().startswith("With teeth of ISO 53 A: ")
    assert tight.kick(ISO_53_A, 2).runs_free
    ends = [Kick(0, free, kick, "") for free, kick in ((0.0, 5), (2.0, 2.0), (2.0, 2.1))]
    assert not ends[0].runs_free and not ends[1].meshes and ends[2].meshes
    check_edges(lambda rest: tight.kick(ISO_53_A, rest), 0, 2, whole=True)


def test_no_basic_rack_is_taken_unasked():
    """Higher teeth reach further, so that the pinion runs free by less."""
    gear = ReleasedGear(((37, 3), (17, 3), (27, 3)), 12, 5)
    with pytest.raises(TypeError, match="rack"):
        gear.kick()
    usual, fine = gear.kick(ISO_53_A), gear.kick(FINE)
    assert fine.free_deg < usual.free_deg and "fine mechanics" in fine.sentence()
