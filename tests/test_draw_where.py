"""The picture of where the cam can stand: boxes at the plan's angles, nothing cut off, no trace of a walk."""

from __future__ import annotations

import random
from itertools import combinations

import numpy as np
import pytest
from crowded_chart import collisions, crowded, measured, words
from small_machine import going_round, small

from mechlib.bench.stuck_tape import stuck_tape
from mechlib.bench.where import sights_to_choose, where_it_stands
from mechlib.draw import LivePicture
from mechlib.draw import where as scene
from mechlib.draw.style import SMALL_PT, figure, look
from mechlib.transports import bent_lever, load, shipped, slip

near = pytest.approx
ALDER, BIRCH = load("alder"), load("birch")


def picture_of(transport, target=None, **seen):
    def compute(target, seen):
        return stuck_tape(transport, where_it_stands(transport, dict(seen)), target)

    return LivePicture(
        compute, scene, {"target": target, "seen": tuple(seen.items())}, scene.size_px(transport)
    )


def drawn(transport, standing, target=None):
    """The artists of a plan, on a figure of its own."""
    with look():
        made = figure(*scene.size_px(transport))
        artists = scene.create(made, stuck_tape(transport, standing, target))
        scene.update(artists, stuck_tape(transport, standing, target))
        made.canvas.draw()
    return artists


def spans(bars):
    return [near((min(p.vertices[:, 0]), max(p.vertices[:, 0])), abs=1e-9) for p in bars.get_paths()]


def test_the_small_machine_by_hand():
    made = drawn(small(), 110)
    assert spans(made.moves) == [(17, 37), (67, 87), (55, 65)]  # row by row
    # In the list four cautions, what must not be forced or pulled and the sense come before; what a spring
    # drives (the small machine has none) would come between.
    assert [word.get_text() for word in made.numbers[:4]] == ["8", "9", "10", ""]
    for (a, b), word in zip(((67, 87), (55, 65), (17, 37)), made.numbers, strict=False):
        assert word.get_position()[0] == near((a + b) / 2)
    assert list(made.marks["o"].get_xdata()) == [110] and list(made.marks["s"].get_xdata()) == [2]
    assert len(made.marks["X"].get_xdata()) == 0 and not made.stands.get_paths()
    assert spans(made.right) == [(-20, 18)]


@pytest.mark.parametrize("name", ["alder", "birch", "cedar"])
def test_a_box_has_the_number_of_its_step_in_the_list(name):
    """Alder's first move from 193.4 is 6.3 degrees wide, some 13 pixels: too few for the 12 of its step."""
    transport, beside = load(name), 0
    for standing in (where_it_stands(transport, {}), *np.linspace(*transport.ends, 9)[1:-1]):
        plan = stuck_tape(transport, standing)
        made = drawn(transport, standing)
        if not plan.way:
            continue
        lines = plan.text().splitlines()[1:]
        lefts = [min(p.vertices[:, 0]) for p in made.moves.get_paths()]
        rights = [max(p.vertices[:, 0]) for p in made.moves.get_paths()]
        tops = [min(p.vertices[:, 1]) for p in made.moves.get_paths()]
        pixel = made.axes.get_window_extent().width / (made.axes.get_xlim()[1] - made.axes.get_xlim()[0])
        for move, word in zip(plan.way.moves, made.numbers, strict=False):
            number, (x, y), half = word.get_text(), word.get_position(), word.get_window_extent().width / 2
            assert (
                f"{number:>2}. MOVES: " in lines[int(number) - 1] and move.states() in lines[int(number) - 1]
            )
            row = [k for k, top in enumerate(tops) if top < y < top + 15]
            within = any(lefts[k] < x < rights[k] for k in row)
            beside += not within
            for k in () if within else row:
                assert x + half / pixel < lefts[k] or x - half / pixel > rights[k]
    assert beside >= (name == "alder")


def test_arcs_seen_and_the_arrow():
    where = where_it_stands(small(), {"latch": "open", "contact A": "open"})
    made = drawn(small(), where)
    assert spans(made.stands) == [(64, 95), (105, 120)]
    assert spans(made.band) == [(64, 95), (105, 120)]
    assert spans(made.seen) == [(64, 120), (-20, -5), (5, 95), (105, 120)]
    shaft, head = made.arrow.get_segments()
    assert sorted(shaft[:, 0]) == [2, 120] and head[1, 0] < head[0, 0] == head[2, 0]  # it points down


def test_a_bar_a_jam_and_no_way():
    ahead = small().with_faults(slip("hook cam", 2))
    made = drawn(ahead, 110)
    assert list(made.marks["X"].get_xdata()) == [near(64)] and len(made.marks["s"].get_xdata()) == 0
    undecided = drawn(small(), where_it_stands(small(), {"contact B": "open"}), "HALF")
    assert not undecided.arrow.get_segments() and not undecided.moves.get_paths()
    assert all(len(line.get_xdata()) == 0 for line in undecided.marks.values())


def test_where_some_ways_are_barred_the_last_line_says_so_in_full():
    behind = ALDER.with_faults(slip("loading gear", -1))
    where = where_it_stands(behind, {"main brakes": "between", "pinch lever": "off"})
    made = drawn(behind, where)
    assert made.words.get_text() == stuck_tape(behind, where).short()
    assert not made.arrow.get_segments() and not made.moves.get_paths()


def test_sights_that_do_not_go_together_are_told_in_the_last_line():
    where = where_it_stands(ALDER, {"loading arms": "home", "tension lever": "on"})
    made = drawn(ALDER, where)
    assert made.words.get_text() == stuck_tape(ALDER, where).short()
    assert "Look again at the loading arms, or at the tension lever" in made.words.get_text()
    assert spans(made.stands) == list(where.arcs) and made.seen.get_paths()
    assert not made.arrow.get_segments() and not made.moves.get_paths()


@pytest.mark.parametrize(("part", "teeth", "theta"), [("drawer rack", -1, 222), ("rocker gear", 2, 102)])
def test_what_is_to_be_turned_out_of_a_jam_has_room_in_the_last_line(part, teeth, theta):
    jammed = load("cedar").with_faults(slip(part, teeth))
    told = drawn(jammed, theta).words.get_text()
    plan = stuck_tape(jammed, theta)
    assert told == plan.short() and "…" not in told and told.startswith("It stands jammed in the interlock")
    assert f". Turn {plan.branches[0].turns()} in the unloading sense, " in told


def test_a_cam_that_goes_round_is_drawn_in_one_turn():
    made = drawn(BIRCH, 300)
    assert list(made.marks["s"].get_xdata()) == [360]
    low, high = made.axes.get_xlim()
    assert (low, high) == (0, 360)
    wrapped = drawn(going_round(), 320)
    shafts = [segment for segment in wrapped.arrow.get_segments() if len(segment) == 2]
    assert all(0 <= x <= 360 for segment in shafts for x in segment[:, 0])


WALKS = [ALDER, ALDER.with_faults(slip("idler cam", 3)), BIRCH, small(), going_round(), crowded(3, 4, 4, 1)]


@pytest.mark.few(2)
@pytest.mark.parametrize("transport", WALKS, ids=lambda transport: f"{transport.name[:8]}{transport.slips}")
def test_after_any_walk_the_picture_is_the_fresh_one(transport):
    walked, dice = picture_of(transport), random.Random(3)
    artists = list(map(id, walked.figure.findobj()))
    limits = [axes.axis() for axes in walked.figure.axes]
    choices, seen = sights_to_choose(transport), {}
    for _ in range(12):
        name = dice.choice(list(choices))
        seen[name] = dice.choice(choices[name])
        if len(seen) > 3:
            seen.pop(next(iter(seen)))
        walked.set(seen=tuple(seen.items()), target=dice.choice(transport.mode_names))
    fresh = picture_of(transport, walked.values["target"], **seen)
    assert walked.frame() == fresh.frame() and walked.frame(2) == fresh.frame(2)
    assert list(map(id, walked.figure.findobj())) == artists
    assert [axes.axis() for axes in walked.figure.axes] == limits


@pytest.mark.few(3)
@pytest.mark.parametrize("transport", WALKS, ids=lambda transport: f"{transport.name[:8]}{transport.slips}")
def test_nothing_is_cut_off_and_no_letter_is_too_small(transport):
    seen = {name: ways[0] for name, ways in list(sights_to_choose(transport).items())[:2]}
    for picture in (picture_of(transport), picture_of(transport, **seen)):
        shown = words(picture.figure)
        assert all(each.get_fontsize() >= SMALL_PT for each in shown)
        edges = measured(shown, picture.figure.canvas.get_renderer())
        assert collisions(edges[0], *edges[1], scene.size_px(transport)) == []
    names = [follower.name for follower in transport.followers]
    tops = [scene._rows(transport)[name] for name in names]
    assert tops == sorted(tops)


FOUR = [*map(load, shipped()), crowded(3, 4, 4, 1), ALDER.with_faults(bent_lever("pinch lever", 3))]


@pytest.mark.parametrize("transport", FOUR, ids=lambda transport: f"{transport.name[:8]}{transport.slips}")
def test_every_height_has_the_name_of_its_state(transport):
    made = drawn(transport, where_it_stands(transport, {}))
    shown = [word for word in words(made.axes.figure) if word.get_text()]
    boxes = [word.get_window_extent() for word in shown]
    left = made.axes.get_window_extent().x0
    beside = [(word, box) for word, box in zip(shown, boxes, strict=True) if left - 12 < box.x1 < left]
    assert len(beside) == sum(len(follower.states) for follower in transport.followers)
    for one, other in combinations([box for box in boxes if box.x1 < left], 2):
        assert not one.overlaps(other)
    dots = made.axes.transData.transform
    for follower, line in zip(transport.followers, made.chart.followers, strict=True):
        y_of, top = scene._height_of(made, follower), made.rows[follower.name]
        ends = [y_of(float(mm)) for mm in (np.max(line.lift_mm), np.min(line.lift_mm))]
        assert top + scene.BOX[1] < ends[0] <= ends[1] < top + scene._lever_height(follower) - 9
        low = top + scene._lever_height(follower)
        here = [(w, b) for w, b in beside if dots((0, top))[1] > (b.y0 + b.y1) / 2 > dots((0, low))[1]]
        ranked = sorted(follower.states, key=lambda state: -state[1])
        for (word, box), (state, mm) in zip(sorted(here, key=lambda one: -one[1].y0), ranked, strict=True):
            assert state.startswith(word.get_text().rstrip("…"))
            assert (box.y0 + box.y1) / 2 == near(dots((0, y_of(mm)))[1], abs=10)
