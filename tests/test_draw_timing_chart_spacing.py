"""No label of the timing chart is cut off or lies on another, whatever is chosen, on any transport."""

import itertools
import random

import numpy as np
import pytest
from crowded_chart import LONG, Spacing, crowded, picture_of, words
from matplotlib.text import Text
from share import share, times
from small_machine import small
from transport_makers import make

from mechlib.draw.page import fitted, sheet, width_px
from mechlib.draw.style import SMALL_PT, figure
from mechlib.transports import load
from mechlib.transports.files import transport_from


def test_spacing_sees_faults():
    picture = picture_of(small())
    spacing = Spacing(picture)
    assert spacing.faults() == []
    one, other = (m for m in picture.moving if isinstance(m, Text) and m.get_text() in ("shut", "down"))
    home = one.get_position()
    one.set_position(other.get_position())
    assert spacing.faults() == ["'down' and 'shut' overlap"]
    one.set_position((1075, home[1]))
    assert "is cut off" in spacing.faults()[0]


def test_no_label_of_alder_is_cut_off_or_overlaps_at_any_slip():
    alder = load("alder")
    picture = picture_of(alder)
    spacing, dice = Spacing(picture), random.Random(1)
    low, high = alder.ends
    for mesh, teeth in share(itertools.product(alder.mesh_names, range(-4, 5)), 7):
        picture.set(mesh=mesh, teeth=teeth, theta_deg=dice.choice([low, high, dice.uniform(low, high)]))
        assert spacing.faults() == [], (mesh, teeth)
    for theta in np.linspace(low, high, times(6, 60)):
        picture.set(theta_deg=theta)
        assert spacing.faults() == [], theta


@pytest.mark.parametrize("name", ["alder", "birch", "cedar", "dogwood"])
def test_no_tail_of_a_state_runs_into_the_state_below(name):
    """A text's box goes from its letters' tails to their tops: where boxes only touch, "y" and "f" meet."""
    transport = load(name)
    page = picture_of(transport).figure
    states = {state for follower in transport.followers for state, _ in follower.states}
    boxes = [t.get_window_extent() for t in words(page) if t.get_text() in states and t.get_ha() == "right"]
    boxes.sort(key=lambda box: -box.y1)
    assert len(boxes) == sum(len(follower.states) for follower in transport.followers)
    assert min(above.y0 - below.y1 for above, below in itertools.pairwise(boxes)) > 1.5  # pixels


@pytest.mark.few(2)
@pytest.mark.parametrize(
    "transport",
    [
        small(), crowded(), crowded(1, 1, 1, 0), crowded(2, 6, 6, 1),
        *(transport_from(make(seed, cyclic), "hazel.toml") for seed in range(3) for cyclic in (False, True)),
    ],
    ids=lambda transport: f"{transport.name[:8]} of {len(transport.followers)} and {len(transport.modes)}",
)  # fmt: skip
def test_no_label_of_any_transport_is_cut_off_or_overlaps(transport):
    picture = picture_of(transport)
    spacing, dice = Spacing(picture), random.Random(2)
    for mesh in transport.mesh_names[:3]:
        for teeth in (-4, -1, 1, 4):
            picture.set(mesh=mesh, teeth=teeth, theta_deg=dice.uniform(*transport.ends))
            assert spacing.faults() == [], (mesh, teeth)


def test_long_texts_are_shortened_to_their_room():
    for room in range(0, 200, 7):
        short = fitted(LONG, room)
        assert width_px(short) <= room and (short == "" or short.endswith("…"))
    assert fitted(LONG, 4000) == LONG and "$" in LONG  # and no dollar sign starts a formula
    axes = sheet(figure(400, 100), (400, 100))
    shown = axes.text(0, 50, LONG, fontsize=SMALL_PT, parse_math=False)
    assert shown.get_window_extent().width == pytest.approx(width_px(LONG), abs=1)
