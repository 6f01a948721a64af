"""The still figure of a cam's groove: a pin that follows the drawn line makes the row."""

from dataclasses import replace

import numpy as np
import pytest
from crowded_chart import LONG, collisions, measured, words
from small_machine import small

from mechlib.cams.programme import Programme, Segment
from mechlib.draw.cam_groove import BEYOND, GROOVE, INNER, LENGTH, UNIT_PX, cam_groove, groove_of
from mechlib.errors import MechError
from mechlib.transports import load, slip


def axes_of(made):
    page = next(axes for axes in made.axes if axes.get_zorder() == 2)
    disc, row = (axes for axes in made.axes if axes is not page)
    return disc, row, row.child_axes[0], page


def widest_line(disc):
    """The whole groove as it is drawn: the first and longest line."""
    return disc.lines[0].get_xydata() @ (1, 1j)


def followed(line, turned_rad, pivot):
    """Radius at which a groove, turned counter-clockwise, meets the arc on which the lever's pin swings.

    By straight pieces of the drawn line; of several meetings that with a pin that is nearest to the top.
    """
    points = line * np.exp(1j * turned_rad)
    off = abs(points - pivot) - LENGTH
    at = np.flatnonzero(off[:-1] * off[1:] <= 0)
    share = off[at] / (off[at] - off[at + 1])
    met = points[at] + share * (points[at + 1] - points[at])
    return abs(min(met, key=lambda point: abs(np.angle(point / 1j))))


@pytest.mark.parametrize(
    ("follower", "speed", "reach", "move", "rise_mm"),
    # 3-4-5: 10x³ − 15x⁴ + 6x⁵; the numbers are those of the transport's file
    [("tension lever", 1.0, (-20, 270), (92, 130), (0, 8))],
)
def test_a_pin_that_follows_the_drawn_groove_makes_the_programme(follower, speed, reach, move, rise_mm):
    made = cam_groove(load("alder"), follower)
    disc, row, *_ = axes_of(made)
    line, cam = widest_line(disc), groove_of(load("alder"), follower)
    for place in np.linspace(reach[0] + 2, reach[1] - 2, 60):
        turned = -np.radians(speed * (place - cam.places[1]))  # on from where it is drawn, clockwise
        x = np.clip((place - move[0]) / (move[1] - move[0]), 0, 1)
        lift = rise_mm[1] * (10 * x**3 - 15 * x**4 + 6 * x**5)
        assert followed(line, turned, cam.pivot) == pytest.approx(INNER + lift / 8, abs=0.002), place
        theta, lifts = row.lines[0].get_xydata().T
        if -16 <= place <= 268:  # where the power goes to the main cam
            assert np.interp(place, theta, lifts) == pytest.approx(lift, abs=0.01)


@pytest.mark.parametrize("follower", ["loading arms", "pinch lever", "reel idler", "carriage"])
def test_followers_of_other_parts_turn_their_own_discs(follower):
    alder = load("alder")
    cam, made = groove_of(alder, follower), cam_groove(alder, follower)
    disc, *_ = axes_of(made)
    speed = alder.part(alder.follower(follower).part).speed
    levels = [mm for _, mm in alder.follower(follower).states]
    assert np.sign(cam.pivot.real) == -np.sign(speed)  # a disc that turns the other way is a mirror picture
    track = alder.follower(follower).programme
    low, high = track.segments[0].start_deg, track.segments[-1].end_deg
    for place in np.linspace(low + 2, high - 2, 25):
        turned = -np.radians(speed * (place - cam.places[1]))
        radius = INNER + (track.lift(place) - min(levels)) / (max(levels) - min(levels))
        assert followed(widest_line(disc), turned, cam.pivot) == pytest.approx(radius, abs=0.004), place


def test_the_groove_is_as_wide_as_it_should_be_and_the_lever_as_long():
    made = cam_groove(load("alder"), "tension lever")
    disc, *_ = axes_of(made)
    made.canvas.draw()
    (x0, y0), (x1, y1) = disc.transData.transform([(0, 0), (1, 1)])
    assert (x1 - x0, y1 - y0) == pytest.approx((UNIT_PX, UNIT_PX))  # the same scale both ways
    across = [line.get_linewidth() / 72 * made.dpi / UNIT_PX for line in disc.lines[:2]]
    assert across[1] == pytest.approx(GROOVE) and across[1] < across[0] < across[1] + 0.06
    levers = [line.get_xydata() for line in disc.lines if len(line.get_xydata()) == 2]
    assert len(levers) == 3  # the faint one; edge and fill of the other
    for pin, end in levers:
        assert np.hypot(*(end - pin)) == pytest.approx(LENGTH + BEYOND)
    radii = [np.hypot(*pin) for pin, _ in levers]
    assert radii == pytest.approx([INNER, INNER + 1, INNER + 1])  # slack, then on


@pytest.mark.parametrize("follower", ["tension lever", "loading arms"])
def test_both_positions_have_the_same_signs_on_both_sides(follower):
    alder = load("alder")
    cam = groove_of(alder, follower)
    disc, row, strip, page = axes_of(cam_groove(alder, follower))
    assert sorted(text.get_text() for text in disc.texts if text.get_text().isdigit()) == ["1", "1", "2"]
    for name, place in zip("12", cam.places, strict=True):
        (at,) = (text.get_position() for text in row.texts if text.get_text() == name)
        assert at == pytest.approx(
            (place, alder.follower(follower).lift(place))
        )  # driven: theta is the place
    assert {text.get_text() for text in strip.texts} == {"dwell", "move"}
    states = [alder.follower(follower).state(place) for place in cam.places]
    assert any(f"1: {states[0]}    2: {states[1]}" in text.get_text() for text in page.texts)
    (theta, lift) = row.lines[0].get_xydata().T
    for box in strip.patches:  # a stretch is blue where the row is level
        inside = (theta > box.get_x()) & (theta < box.get_x() + box.get_width())
        level = np.ptp(lift[inside]) < 1e-9
        assert level == (box.get_facecolor()[:3] != (1.0, 1.0, 1.0))


@pytest.mark.few(3)
@pytest.mark.parametrize(
    "follower", ["tension lever", "loading arms", "pinch lever", "reel idler", "carriage", "cam detent"]
)
def test_words_have_room_and_are_large(follower):
    made = cam_groove(load("alder"), follower)
    made.canvas.draw()
    shown = words(made)
    names, edges = measured(shown, made.canvas.get_renderer())
    assert len(names) > 20 and collisions(names, *edges, made.canvas.get_width_height()) == []
    assert min(text.get_fontsize() for text in shown if text.get_text()) >= 10


def test_a_slip_or_another_machine_makes_no_difference_to_the_way():
    alder = load("alder")
    assert groove_of(alder.with_faults(slip("loading gear", 2)), "loading arms") == groove_of(
        alder, "loading arms"
    )
    cam_groove(small(), "hook")
    cam_groove(small(), "latch")


def with_follower(changed):
    """The small machine with one follower more, or with another lever."""
    return replace(small(), followers=(*small().followers, changed))


def test_a_long_name_is_shortened():
    made = cam_groove(with_follower(replace(small().follower("latch"), name=LONG)), LONG)
    made.canvas.draw()
    names, edges = measured(words(made), made.canvas.get_renderer())
    assert collisions(names, *edges, made.canvas.get_width_height()) == []


def test_what_cannot_be_shown_is_refused():
    with pytest.raises(MechError, match=r"396\.0° long"):
        cam_groove(load("alder"), "main brakes")  # 330° of the main cam, 1.2 times as fast
    with pytest.raises(MechError, match="no follower"):
        cam_groove(load("alder"), "spoon")
    lever = small().follower("lever")
    with pytest.raises(MechError, match="never moves"):
        cam_groove(with_follower(replace(lever, programme=Programme((Segment(-60, 160, 20, 20),)))), "lever")
