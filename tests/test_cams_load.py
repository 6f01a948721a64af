"""A whole turn under load: closed forms of an eccentric, scipy's integrals and roots, numpy's equilibrium."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from second_way_statics import equilibrium, friction_power

from mechlib.cams import LAWS, Programme, Segment, polynomial
from mechlib.cams.force import Friction, Spring, push
from mechlib.cams.load import Cam, Energy, Load, cam_load, energy
from mechlib.cams.motion import Motion, motion
from mechlib.errors import MechError

SPRING = Spring(2, 0.15)
RUBS = Friction(0.08, 0.12, 8, 25, 4)


def track(rise="cycloidal", fall="3-4-5", lift=10.0):
    up, down = Segment(0, 90, 0, lift, rise), Segment(140, 230, lift, 0, fall)
    return Programme((up, Segment(90, 140, lift, lift), down, Segment(230, 360, 0, 0)), 360)


def eccentric(throw=4.0):
    up = Segment(0, 180, 0, 2 * throw, "simple harmonic")
    return Programme((up, Segment(180, 360, 2 * throw, 0, "simple harmonic")), 360)


@pytest.mark.parametrize("law", LAWS)
def test_every_law_stores_the_same_energy_on_a_rise(law):
    """C5: 2 N and 0.15 N/mm over 10 mm: 27.5 mJ, and all of it back on the fall."""
    segments = Segment(0, 70, 0, 10, law), Segment(70, 180, 10, 0, law)
    for cam in (Cam(20), Cam(12, drum=True), Cam(20, both_walls=True)):
        rise, turn = (energy(some, Load(SPRING), cam) for some in (segments[:1], segments))
        assert rise.put_in_mJ == pytest.approx(27.5, rel=1e-11)
        assert rise.stored_mJ == pytest.approx(27.5)
        assert rise.lost_mJ == pytest.approx(0, abs=1e-9)
        assert turn.put_in_mJ == pytest.approx(0, abs=1e-9) and turn.stored_mJ == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("drum", [True, False])
@pytest.mark.parametrize("constant", [1.5, -6.0])
def test_what_is_lost_is_the_work_of_friction(drum, constant):
    """Integrate size of force times speed of rubbing, from numpy's equilibrium, by scipy; both walls."""
    programme, cam = track(), Cam(22, drum, both_walls=True)
    load = Load(SPRING, mass_g=40, rev_min=200, constant_N=constant)
    rubs = Friction(0.08, 0.12, 8, 25, 4, 0.3)
    found, work = energy(programme.segments, load, cam, rubs), 0.0
    for segment in programme.segments:

        def power(angle, segment=segment):
            moves = motion(segment, angle)
            place = float(load.along(moves)), float(moves.slope_mm), float(cam.at(moves.lift_mm))
            return friction_power(*place, rubs, int(moves.way), drum)

        # Where the pin goes from wall to wall the power steps: there the integral is split.
        grid = np.linspace(segment.start_deg, segment.end_deg, 401)[1:-1]
        need = load.along(motion(segment, grid)) + motion(segment, grid).way * rubs.drag_N
        steps = grid[:-1][np.diff(np.sign(need)) != 0]
        work += math.radians(quad(power, segment.start_deg, segment.end_deg, points=steps, limit=400)[0])
    assert found.lost_mJ == pytest.approx(work, rel=1e-4) and work > 3
    assert found.stored_mJ == pytest.approx(0, abs=1e-9)


def test_stored_energy_counts_spring_weight_and_speed():
    segment = Segment(0, 60, 2, 8, "constant velocity")
    half = [Segment(0, 60, 2, 8, "constant acceleration")]
    load = Load(SPRING, 500, 60, 3.0)
    for segments in ([segment], half):
        found = energy(segments, load, Cam(20))
        assert found.stored_mJ == pytest.approx(2 * 6 + 0.075 * (64 - 4) + 3 * 6)
        assert found.put_in_mJ == pytest.approx(found.stored_mJ, rel=1e-10)
    # From standing to the middle, as a polynomial of its own whose end still moves: ½·m·v², v in m/s.
    law = LAWS["constant acceleration"]
    speed = 6 / math.radians(60) * law.velocity(0.5) * 2 * math.pi / 1000  # one turn a second
    up = motion(half[0], 30.0)
    assert 0.5 * load.inertia * up.slope_mm**2 == pytest.approx(0.5 * 0.5 * speed**2 * 1000)


def test_energy_with_a_speed_left_over():
    """A parabola that ends at speed: the mass keeps what it got there."""
    law = polynomial([(0, 0, 0), (0, 1, 0), (1, 0, 1)])  # s = x²
    load = Load(SPRING, 500, 60)
    found = energy([Segment(0, 60, 0, 6, law)], load, Cam(20))
    speed = 2 * 6 / math.radians(60) * 2 * math.pi / 1000
    assert found.stored_mJ == pytest.approx(SPRING.energy(0, 6) + 250 * speed**2)
    assert found.put_in_mJ == pytest.approx(found.stored_mJ, rel=1e-10)


def test_the_inertia_of_an_eccentric():
    """s = e(1 − cos θ): at the top the deceleration is e·ω²; contact is lost there first."""
    load = Load(SPRING, 80, 300)
    omega = 300 * 2 * math.pi / 60
    assert load.along(motion(eccentric().segments[0], 180.0)) == pytest.approx(
        2 + 0.15 * 8 - 0.080 * 0.004 * omega**2
    )
    first = math.sqrt((2 + 0.15 * 8) / (0.080 * 0.004)) * 60 / (2 * math.pi)
    found = cam_load(eccentric(), load, Cam(20))
    assert found.let_go_rev_min == pytest.approx(first, rel=1e-9)
    assert first > 300 and found.let_go == () and found.jams == ()
    for speed, lost in ((0.999 * first, False), (1.001 * first, True)):
        assert bool(cam_load(eccentric(), Load(SPRING, 80, speed), Cam(20)).let_go) == lost


def test_where_contact_is_lost():
    """2 + 0.15·s + m·ω²·e·cos θ < 0, with s = e(1 − cos θ), from both sides of the top."""
    load = Load(SPRING, 80, 1200)
    push_up = 0.080 * 0.004 * (1200 * 2 * math.pi / 60) ** 2
    start = brentq(lambda x: 2 + 0.6 * (1 - math.cos(x)) + push_up * math.cos(x), 0, math.pi)
    found = cam_load(eccentric(), load, Cam(20))
    ((low, high),) = found.let_go
    assert (low, high) == pytest.approx((math.degrees(start), 360 - math.degrees(start)), abs=1e-6)
    inside = (found.angle_deg > low) & (found.angle_deg < high)
    assert (found.push.contact_N[inside] == 0).all() and (found.push.torque_Nmm[inside] == 0).all()
    assert (found.push.contact_N[~inside] > 0).all() and (found.load_N[inside] < 0).all()
    assert found.sentence().endswith(f"loses contact with the cam from {low:.1f}° to {high:.1f}°.")
    with pytest.raises(MechError, match="the follower loses contact: give a stronger spring"):
        energy(eccentric().segments, load, Cam(20))
    groove = cam_load(eccentric(), load, Cam(20, both_walls=True))
    assert groove.let_go == found.let_go and (groove.push.contact_N >= 0).all()
    assert groove.push.contact_N[inside].min() > 0
    assert "the follower goes over to the outer wall from" in groove.sentence()
    assert energy(eccentric().segments, load, Cam(20, both_walls=True)).lost_mJ == pytest.approx(0, abs=1e-8)


def test_a_constant_force_and_drag_move_the_limit():
    """Drag holds the follower against the fall, so that the spring has less left: lost on the way down."""
    base = cam_load(track(), Load(SPRING, 50), Cam(20)).let_go_rev_min
    assert cam_load(track(), Load(SPRING, 50, constant_N=2), Cam(20)).let_go_rev_min > base
    dragged = cam_load(track(), Load(SPRING, 50), Cam(20), Friction(drag_N=1.5)).let_go_rev_min
    assert dragged < base
    fall, hold = track().segments[2], 0.0
    grid = np.linspace(140, 230, 20001)
    moves = motion(fall, grid)
    hold = SPRING.force(moves.lift_mm) - 1.5
    square = np.min(np.where(moves.bend_mm < 0, hold / (50e-6 * np.maximum(-moves.bend_mm, 1e-9)), np.inf))
    assert dragged == pytest.approx(math.sqrt(square) * 30 / math.pi, rel=1e-6)


def test_a_follower_that_hangs_in_hard_grease():
    """3 N of drag against 2 N to 3.5 N of spring: it stays up as soon as the spring is below 3 N."""
    found = cam_load(track(), Load(SPRING, 50), Cam(20), Friction(drag_N=3))
    ((start, end),) = found.let_go
    at = brentq(lambda x: track().lift(x) - 10 / 1.5, 140, 230)
    assert (start, end) == pytest.approx((at, 230), abs=1e-6)
    assert found.let_go_rev_min == 0
    assert found.sentence().endswith(f"loses contact with the cam from {start:.1f}° to 230.0°.")
    light = cam_load(track(), Load(SPRING), Cam(20), Friction(drag_N=1.9))
    assert light.let_go == () and math.isinf(light.let_go_rev_min)
    assert light.sentence().endswith("; the follower keeps contact.")
    groove = cam_load(track(), Load(SPRING), Cam(20, both_walls=True))
    assert groove.sentence().endswith("; the follower keeps to the inner wall.")


def test_at_a_corner_the_follower_is_thrown_off():
    corner = track("constant velocity")
    found = cam_load(corner, Load(SPRING, 5, 10), Cam(20))
    assert found.thrown_deg == (90,) and found.let_go_rev_min == 0 and found.let_go == ()
    assert found.sentence().endswith("; the follower loses contact with the cam at 90.0°.")
    for load in (Load(SPRING), Load(SPRING, 0, 10)):
        still = cam_load(corner, load, Cam(20))
        assert still.thrown_deg == () and math.isinf(still.let_go_rev_min)
    standing = cam_load(corner, Load(SPRING, 5), Cam(20))
    assert standing.thrown_deg == () and standing.let_go_rev_min == 0


@pytest.mark.parametrize("drum", [True, False])
def test_the_whole_turn_place_by_place(drum):
    """Torque and contact force over the turn, and their largest values, from numpy's equilibrium."""
    load, cam = Load(SPRING, 30, 120, 0.5), Cam(18, drum)
    found = cam_load(track(), load, cam, RUBS)
    for place in range(0, len(found.angle_deg), 7):
        segment = track().segments[place // 65]
        moves = motion(segment, float(found.angle_deg[place]))
        forces = float(load.along(moves)), float(moves.slope_mm), float(cam.at(moves.lift_mm))
        contact, _, _, torque = equilibrium(*forces, RUBS, int(moves.way), drum)
        assert found.load_N[place] == pytest.approx(forces[0])
        assert found.push.contact_N[place] == pytest.approx(contact, rel=1e-9)
        assert found.push.torque_Nmm[place] == pytest.approx(torque, rel=1e-9, abs=1e-9)
    assert found.most.value >= found.push.torque_Nmm.max() > 0.99 * found.most.value
    assert found.least.value <= found.push.torque_Nmm.min() < 0.99 * found.least.value < 0
    assert 0 < found.most.angle_deg < 90 and 140 < found.least.angle_deg < 230
    assert found.rev_min == 120 and found.cam == cam


def test_where_a_follower_jams():
    sticky = Friction(0.2, 0.3, 30, 15)
    steep = track(lift=16.0)
    found = cam_load(steep, Load(SPRING), Cam(8), sticky)
    ((start, end),) = found.jams

    def past(angle):
        slope = steep.slope(angle) * 180 / math.pi
        return math.degrees(math.atan(slope / (8 + steep.lift(angle)))) - sticky.jams_at_deg

    top = max(np.linspace(1, 89, 200), key=past)
    assert start == pytest.approx(brentq(past, 1, top), abs=1e-5)
    assert end == pytest.approx(brentq(past, top, 89), abs=1e-5)
    assert found.most.value == math.inf
    assert found.sentence() == (
        f"The follower jams in its guide from {start:.1f}° to {end:.1f}°: no torque moves it on."
    )
    with pytest.raises(MechError, match="the follower jams: give less pressure angle"):
        energy(steep.segments, Load(SPRING), Cam(8), sticky)
    # Nothing to carry, nothing to jam.
    assert cam_load(steep, Load(Spring(0, 0)), Cam(8), sticky).jams == ()


def test_a_cam_that_only_ever_must_be_driven():
    heavy = Friction(contact=0.8, guide=0.1)
    found = cam_load(track(lift=4.0), Load(SPRING), Cam(30), heavy)
    assert found.least.value > 0 and "driven by" not in found.sentence()


def test_radius_at_a_lift_and_the_load():
    assert Cam(10).at(3) == 13 and Cam(10, drum=True).at(3) == 10
    assert Cam(10).at(np.array([1.0, 2.0])).tolist() == [11, 12]
    moves = Motion(0.0, 4.0, 9.0, -50.0)
    load = Load(SPRING, 20, 90, -0.5)
    assert load.standing(moves) == pytest.approx(2.1)
    assert load.along(moves) == pytest.approx(2.1 - 0.020 * 0.050 * (90 * math.pi / 30) ** 2)
    assert push(load.along(moves), 9.0, 14.0).torque_Nmm == pytest.approx(9 * load.along(moves))


def test_a_follower_that_rests_without_any_force_is_not_lost():
    segments = Segment(0, 60, 0, 0), Segment(60, 90, 0, 4, "3-4-5")
    assert energy(segments, Load(Spring(0, 0.5)), Cam(20)).put_in_mJ == pytest.approx(4)
    still = cam_load(Programme(segments[:1]), Load(Spring(0, 0.5), 10, 100), Cam(20))
    assert still.let_go == () and math.isinf(still.let_go_rev_min)


def test_sentences_of_energy():
    assert Energy(30, 27.5).sentence() == (
        "The cam puts in 30.00 mJ: 27.50 mJ are stored and 2.50 mJ are lost to friction."
    )


@pytest.mark.parametrize(
    "make, message",
    [
        (lambda: Load(SPRING, -1), "mass_g is -1 g"),
        (lambda: Load(SPRING, 1, -1), "rev_min is -1 rev/min"),
        (lambda: Load(SPRING, constant_N=math.inf), "constant_N is inf"),
        (lambda: Cam(0), "radius_mm is 0 mm"),
        (lambda: cam_load(track(lift=-10.0), Load(SPRING), Cam(9)), "radius_mm is not positive"),
    ],
)
def test_bad_input_is_refused(make, message):
    with pytest.raises(MechError, match=message):
        make()
