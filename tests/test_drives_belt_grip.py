"""The elastic belt, against differential equations of the belt and marks that run with it."""

from __future__ import annotations

import math

import pytest
from edges import check_edges
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from second_way_belt import BeltRound

from mechlib.drives.belt_grip import Belt, BeltDrive, Pulley, grip, tension_ratio
from mechlib.errors import MechError

BELT = Belt("square", 244, 1.2, 1.2)
DRIVE = BeltDrive(Pulley(10), Pulley(50), 80, BELT)

drives = st.builds(
    lambda d1, d2, gap, stretch, friction, groove, crossed: on_centres(
        d1, d2, gap, stretch, friction, groove, crossed
    ),
    st.floats(5, 60),
    st.floats(5, 60),
    st.floats(1.2, 4),
    st.floats(2, 15),
    st.floats(0.1, 0.9),
    st.sampled_from([180.0, 90.0, 60.0]),
    st.booleans(),
)


def on_centres(d1, d2, gap, stretch, friction, groove, crossed):
    """A drive whose belt is stretched by so many percent."""
    centres = gap * (d1 + d2 + 2) / 2
    loose = BeltDrive(Pulley(d1, groove), Pulley(d2), centres, Belt("square", 300, 1, 1), crossed)
    inside = loose.path.length_mm / (1 + stretch / 100) - math.pi
    belt = Belt("square", inside, 1, 1, modulus_MPa=4, friction=friction)
    return BeltDrive(Pulley(d1, groove), Pulley(d2), centres, belt, crossed)


@pytest.mark.parametrize(
    "friction, wrap, groove", [(0.6, 145, 180), (0.25, 400, 180), (0.3, 170, 60), (0.3, 170, 38)]
)
def test_grip_is_the_capstan_equation_integrated(friction, wrap, groove):
    """An element of the belt presses on each flank with T·dα/(2·sin(γ/2)) and rubs on both."""

    def rise(_, tension):
        return 2 * friction * tension / (2 * math.sin(math.radians(groove) / 2))

    done = solve_ivp(rise, (0, math.radians(wrap)), [1.0], rtol=1e-10, atol=1e-10)
    assert tension_ratio(friction, wrap, groove) == pytest.approx(done.y[0, -1], rel=1e-6)
    assert grip(friction, wrap, groove) == pytest.approx(math.log(done.y[0, -1]), rel=1e-6)


def test_a_rope_round_a_post_turn_by_turn():
    """Each turn multiplies by the same factor; flat unless a groove is given."""
    assert tension_ratio(0.3, 3 * 360) == pytest.approx(tension_ratio(0.3, 360) ** 3)
    assert grip(0.5, 180) == pytest.approx(math.pi / 2) == grip(0.5, 180, 180)
    assert tension_ratio(0.3, 0) == 1
    assert tension_ratio(3, math.degrees(699.9 / 3)) > 1e300


def second_way(drive):
    """The same belt for the second way."""
    belt, path, pulleys = drive.belt, drive.path, (drive.driver, drive.driven)
    rates = [belt.friction / math.sin(math.radians(pulley.groove_deg) / 2) for pulley in pulleys]
    sizes = path.driver_mm, path.driven_mm, drive.centres_mm, belt.inside_mm + math.pi * belt.thickness_mm
    return BeltRound(*sizes, belt.modulus_MPa * belt.area_mm2, rates, drive.crossed)


@given(drives)
def test_the_limit_is_where_the_ratio_is_reached(drive):
    wraps = [(drive.path.driver_wrap_deg, drive.driver.groove_deg), (drive.path.driven_wrap_deg, 180)]
    weakest = min(tension_ratio(drive.belt.friction, *wrap) for wrap in wraps)
    tight, slack = drive.slipping_N
    assert tight / slack == pytest.approx(weakest, rel=1e-6)
    assert drive.limit_N == pytest.approx(tight - slack)
    assert (tight, slack) == pytest.approx(second_way(drive).slipping(), rel=1e-5)
    assert drive.slip_torque_driver_Nmm == pytest.approx(drive.limit_N * (drive.driver.diameter_mm + 1) / 2)
    assert drive.slip_torque_driven_Nmm == pytest.approx(drive.limit_N * (drive.driven.diameter_mm + 1) / 2)
    below, above = (drive.carry(1000, part * drive.slip_torque_driven_Nmm) for part in (0.999, 1.001))
    assert not below.slips and above.slips and above.driven_rev_min is None
    assert (above.tight_N, above.slack_N) == (tight, slack)
    assert below.tight_N == pytest.approx(tight, rel=0.002) and slack < below.slack_N < drive.pretension_N


@given(drives, st.floats(0, 0.99), st.floats(-3000, 3000))
def test_marks_on_the_belt_pass_every_place_equally_often(drive, part, rev_min):
    """Marks 1 mm apart on the loose belt: so many a second pass the driver as the driven pulley."""
    done = drive.carry(rev_min, part * drive.slip_torque_driven_Nmm)
    stiff = 4 * 1.0 * 1.0
    driver_rim = rev_min / 60 * math.pi * (drive.driver.diameter_mm + 1)
    driven_rim = done.driven_rev_min / 60 * math.pi * (drive.driven.diameter_mm + 1)
    driven_rim *= -1 if drive.crossed else 1
    marks = driver_rim / (1 + done.tight_N / stiff)
    assert driven_rim / (1 + done.slack_N / stiff) == pytest.approx(marks, rel=1e-9, abs=1e-9)
    assert done.driven_rev_min == pytest.approx(rev_min * drive.ratio * (1 - done.creep_percent / 100))
    assert done.pull_N * (drive.driven.diameter_mm + 1) / 2 == pytest.approx(
        part * drive.slip_torque_driven_Nmm
    )
    assert done.tight_N - done.slack_N == pytest.approx(done.pull_N)
    assert drive.ratio == pytest.approx(
        (drive.driver.diameter_mm + 1) / (drive.driven.diameter_mm + 1) * (-1 if drive.crossed else 1)
    )


@given(drives, st.floats(0.01, 0.99))
def test_below_the_limit_the_belt_keeps_its_length(drive, part):
    """The tension all round, pieces of creep included, uses up just the belt that there is."""
    done = drive.carry(1000, part * drive.slip_torque_driven_Nmm)
    assert (done.tight_N, done.slack_N) == pytest.approx(second_way(drive).under(done.pull_N), rel=1e-4)


@pytest.mark.parametrize(
    "d1, d2, centres, inside, friction, most_N",
    [
        (10, 50, 80, 244, 0.6, 0.68),
        (10, 50, 80, 240, 0.6, 0.88),
        (10, 50, 40, 165, 0.6, 1.19),
        (10, 60, 40, 187, 0.9, 1.48),
        (60, 10, 40, 187, 0.9, 0.81),  # the large one driving: more of the belt is tight
    ],
)
def test_limits_that_both_runs_sharing_alike_would_get_wrong(d1, d2, centres, inside, friction, most_N):
    drive = BeltDrive(Pulley(d1), Pulley(d2), centres, Belt("square", inside, 1.2, 1.2, 5, friction))
    tight, slack = second_way(drive).slipping()
    assert drive.limit_N == pytest.approx(tight - slack, rel=1e-6) == pytest.approx(most_N, abs=0.005)


def test_a_stiff_belt_on_equal_pulleys_slips_as_on_paper():
    """T1 = 3·T2: 2 runs of 40 mm, and 2 arcs of 10π mm on which it falls as e^(−θ·ln 3/π): 2/3/ln 3 of T1.

    A stretch of a millionth leaves out that a stretched belt is longer.
    """
    inside = (80 + 20 * math.pi) / (1 + 1e-6) - math.pi
    friction = math.log(3) / math.pi
    drive = BeltDrive(Pulley(19), Pulley(19), 40, Belt("flat", inside, 1, 1, 1e4, friction))
    rest = 1e4 * 1e-6
    tight = rest * (80 + 20 * math.pi) / (40 * (1 + 1 / 3) + 20 * math.pi * (2 / 3) / math.log(3))
    assert drive.slipping_N == pytest.approx((tight, tight / 3), rel=1e-5)


def test_with_hardly_any_friction_both_runs_stay_as_they_are():
    """The usual assumption T1 + T2 = 2·T0 is right where the grip is small."""
    drive = BeltDrive(Pulley(19), Pulley(19), 40, Belt("flat", 134, 1, 1, 5, 0.01))
    assert drive.limit_N == pytest.approx(2 * drive.pretension_N * math.tanh(drive.grip / 2), rel=1e-3)
    assert drive.slipping_N == pytest.approx((drive.pretension_N,) * 2, rel=0.02)


def test_stretch_and_tension_by_hand():
    """Pitch diameters 11.2 and 51.2 mm at 80 mm; the loose belt is 244 + 1.2π = 247.770 mm along it."""
    lean = math.asin(20 / 80)
    length = 160 * math.cos(lean) + 5.6 * (math.pi - 2 * lean) + 25.6 * (math.pi + 2 * lean)
    assert DRIVE.path.length_mm == pytest.approx(length)
    stretch = length / 247.769911 - 1
    assert DRIVE.stretch_percent == pytest.approx(100 * stretch, rel=1e-6)
    assert DRIVE.pretension_N == pytest.approx(5 * 1.44 * stretch, rel=1e-6)
    assert Belt("round", 244, 1.2, 1.2).area_mm2 == pytest.approx(math.pi * 0.36)
    assert Belt("flat", 244, 0.5, 4, 10).stiffness_N == pytest.approx(20)
    assert (BELT.modulus_MPa, BELT.friction) == (5, 0.6)


def test_just_at_the_limit_it_holds():
    even = BeltDrive(Pulley(7), Pulley(31), 80, Belt("square", 190, 1, 1))  # 32 mm: halves without rounding
    at_limit = even.carry(100, even.slip_torque_driven_Nmm)
    assert at_limit.pull_N == at_limit.limit_N > 0 and not at_limit.slips


def test_a_slack_and_a_glazed_belt():
    slack = BeltDrive(Pulley(10), Pulley(50), 80, BELT.slackened(3))
    assert slack.belt.inside_mm == pytest.approx(244 * 1.03)
    assert 0 < slack.limit_N < DRIVE.limit_N and slack.grip == DRIVE.grip
    glazed = BeltDrive(Pulley(10), Pulley(50), 80, BELT.glazed(0.15))
    assert glazed.pretension_N == DRIVE.pretension_N
    assert glazed.grip == pytest.approx(DRIVE.grip / 4) and glazed.limit_N < DRIVE.limit_N
    loose = BeltDrive(Pulley(10), Pulley(50), 80, BELT.slackened(10))
    assert loose.stretch_percent < 0 and loose.pretension_N == loose.limit_N == 0
    over = 244 * 1.1 + 1.2 * math.pi - DRIVE.path.length_mm
    assert (
        loose.sentence()
        == f"The belt is {over:.1f} mm longer than its path: it hangs loose and pulls nothing."
    )
    assert loose.carry(100, 0).slips and loose.carry(100, 1).slips
    assert loose.carry(100, 1).sentence() == "The belt slips: it would have to pull 0.04 N and holds 0.00 N."
    assert loose.carry(100, 0).sentence() == ("The belt slips even without a load: it holds nothing.")
    assert BELT.slackened(0) == BELT and BELT.slackened(50).inside_mm == 366


def test_sentences():
    words = DRIVE.carry(2400, 10).sentence()
    pull = 20 / 51.2
    tight, slack = second_way(DRIVE).under(pull)
    assert f"pulls {pull:.2f} N of the {DRIVE.limit_N:.2f} N that it holds: {tight:.2f} N in the" in words
    assert f"{slack:.2f} N in the slack one, creep" in words and words.endswith(" at the driven pulley.")
    assert Belt("round", 314.159265, 2, 2).sentence() == (
        "A round belt, 314.2 mm round inside (100.0 mm across, 157.1 mm folded), 2.00 mm thick."
    )
    assert BELT.sentence().endswith("(77.7 mm across, 122.0 mm folded), 1.20 × 1.20 mm.")


@pytest.mark.parametrize(
    "make, words",
    [
        (lambda: grip(0, 180), "friction is 0"),
        (lambda: grip(0.5, -1), "wrap_deg is -1°"),
        (lambda: grip(0.5, 180, 181), "groove_deg is 181°: it must be from 20 to 180°"),
        (lambda: tension_ratio(3, 36000), "friction times wrap is 1884.*from 0 to 700; take fewer turns"),
        (lambda: tension_ratio(3, math.degrees(700.1 / 3)), "friction times wrap is 700.1"),
        (lambda: Belt("toothed", 244, 1, 1), "'toothed': it must be one of: square, flat and round"),
        (lambda: Belt("round", 244, 1, 2), "width_mm is 2 mm: a round belt is as wide as it is thick"),
        (lambda: Belt("flat", 4, 1, 2), "inside_mm is 4 mm"),
        (lambda: Belt("flat", 244, 0, 2), "thickness_mm is 0 mm"),
        (lambda: Belt("flat", 244, 1, 51), "width_mm is 51 mm"),
        (lambda: Belt("flat", 244, 1, 2, 0), "modulus_MPa is 0 MPa"),
        (lambda: BELT.glazed(0), "friction is 0"),
        (lambda: BELT.slackened(51), "percent is 51%"),
        (lambda: BELT.slackened(-1), "percent is -1%"),
        (lambda: Pulley(0.5), "diameter_mm is 0.5 mm"),
        (lambda: Pulley(10, 10), "groove_deg is 10°"),
        (lambda: BeltDrive(Pulley(10), Pulley(50), 30, BELT), "centres_mm is 30 mm: it must be from 31.2"),
        (lambda: DRIVE.carry(math.nan, 1), "rev_min is nan"),
        (lambda: DRIVE.carry(100, -1), "torque_Nmm is -1 N·mm"),
    ],
)
def test_bad_values_are_refused(make, words):
    with pytest.raises(MechError, match=words):
        make()


@pytest.mark.parametrize(
    "call, low, high",
    [
        (lambda x: grip(x, 180), 0.01, 3),
        (lambda x: grip(0.5, x), 0, 36000),
        (lambda x: grip(0.5, 180, x), 20, 180),
        (lambda x: Belt("flat", x, 1, 1), 5, 1e4),
        (lambda x: Belt("flat", 244, x, 1), 0.05, 20),
        (lambda x: Belt("flat", 244, 1, x), 0.05, 50),
        (lambda x: Belt("flat", 244, 1, 1, x), 0.1, 1e4),
        (lambda x: Belt("flat", 244, 1, 1, 5, x), 0.01, 3),
        (lambda x: Pulley(x), 1, 2000),
        (lambda x: Pulley(10, x), 20, 180),
        (BELT.slackened, 0, 50),
        (lambda x: DRIVE.carry(x, 1), -1e6, 1e6),
        (lambda x: DRIVE.carry(1, x), 0, 1e6),
    ],
)
def test_limits_are_let_in_and_no_more(call, low, high):
    check_edges(call, low, high)
