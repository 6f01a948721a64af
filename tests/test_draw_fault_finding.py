"""The picture of a search: bars of the right length, brackets round groups, no trace of a walk."""

from __future__ import annotations

import random

import numpy as np
import pytest
from crowded_chart import collisions, measured, words

from mechlib.bench.checks import checks_of
from mechlib.bench.fault_search import fault_search
from mechlib.bench.observations import mark_seen, observed, tried
from mechlib.bench.readings import Reading, labels_of
from mechlib.bench.suspects import suspects
from mechlib.draw import LivePicture
from mechlib.draw import fault_finding as scene
from mechlib.draw.page import fitted
from mechlib.draw.style import SMALL_PT
from mechlib.transports import load, shipped

near = pytest.approx
DOGWOOD = load("dogwood")
COMPLAINT = tried("STOP", "OUT", "stands wrong", which="holder")
SEEN = [
    (),
    (COMPLAINT,),
    (tried("OUT", "PLAY", "motor held up, then powered off"),),
    (COMPLAINT, tried("PLAY", "OUT", "stands wrong", which="holder")),
    (COMPLAINT, mark_seen("mode switch", -3), mark_seen("mode switch", -3)),
]


def picture(search):
    return LivePicture(lambda search: search, scene, {"search": search}, scene.size_px())


def lengths(bars) -> list[float]:
    return [float(np.ptp(path.vertices[:, 0])) for path in bars.get_paths()]


@pytest.mark.parametrize("seen", SEEN, ids=len)
def test_bars_are_as_long_as_the_causes_are_probable(seen):
    search = fault_search(DOGWOOD, seen)
    made = picture(search)._sheets[1].artists
    shown = search.bars[: scene.ROWS]
    assert lengths(made.plain) == near([100 * bar.probability for bar in shown if not bar.group])
    assert lengths(made.grouped) == near([100 * bar.probability for bar in shown if bar.group])
    named = [name.get_text() for name in made.names]
    for bar, name in zip(shown, named, strict=False):
        assert name == bar.words or name.endswith("…") and bar.words.startswith(name[:-1].rstrip())
    assert named[len(shown) :] == [""] * (scene.ROWS - len(shown))
    rows = {group: sum(bar.group == group for bar in shown) for group in {bar.group for bar in shown} - {0}}
    heights = [float(np.ptp(np.asarray(line)[:, 1])) for line in made.brackets.get_segments()]
    assert sorted(heights) == near(sorted((n - 1) * scene.ROW + scene.BAR for n in rows.values()))
    assert sum(word.get_text() == scene.APART for word in made.apart) == len(rows)
    rest = len(search.finding.ranking) - len(shown)
    assert made.rest.get_text().startswith(f"and {rest} other" if rest else "")


@pytest.mark.parametrize("name", shipped())
def test_the_longest_name_of_a_pair_has_room(name):
    for one in suspects(load(name)):
        assert fitted(one.words, scene.LEFT - 28) == one.words


def test_it_says_what_comes_next_and_how_much_was_seen():
    made = picture(fault_search(DOGWOOD, [COMPLAINT]))._sheets[1].artists
    assert made.title.get_text() == "Dogwood: which fault is it, after 1 observation?"
    assert made.next.get_text().startswith("Next: ")
    assert "usual shares" in picture(fault_search(DOGWOOD))._sheets[1].artists.next.get_text()


def test_after_any_walk_the_picture_is_the_fresh_one():
    dice, walked = random.Random(4), picture(fault_search(DOGWOOD))
    artists = list(map(id, walked.figure.findobj()))
    limits = [axes.axis() for axes in walked.figure.axes]
    checks = checks_of(DOGWOOD)
    for _ in range(8):
        seen = []
        for check in dice.sample(checks, dice.randrange(4)):
            seen.append(observed(DOGWOOD, check, Reading(dice.choice(labels_of(DOGWOOD, check)))))
        search = fault_search(DOGWOOD, seen)
        walked.set(search=search)
    fresh = picture(search)
    assert walked.frame() == fresh.frame() and walked.frame(2) == fresh.frame(2)
    assert list(map(id, walked.figure.findobj())) == artists
    assert [axes.axis() for axes in walked.figure.axes] == limits


@pytest.mark.parametrize("seen", SEEN, ids=len)
def test_nothing_is_cut_off_and_no_letter_is_too_small(seen):
    drawn = picture(fault_search(DOGWOOD, seen))
    shown = words(drawn.figure)
    assert all(each.get_fontsize() >= SMALL_PT for each in shown)
    edges = measured(shown, drawn.figure.canvas.get_renderer())
    assert collisions(edges[0], *edges[1], scene.size_px()) == []
