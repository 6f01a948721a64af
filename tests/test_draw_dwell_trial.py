"""The picture of a dwell: what it shows of machines worked by hand and by another way; it follows values."""

import math
import random
from itertools import product

import numpy as np
import pytest
from dwell_pictures import asked, bar_ends, drawn, maker, picture_of, spans, stop_lines
from second_way import SENSES, Machine
from share import times
from small_machine import going_round, small

from mechlib.bench import dwell_trial, trial_ranges
from mechlib.draw import dwell_trial as scene
from mechlib.draw.style import INK, VERMILLION
from mechlib.errors import MechError
from mechlib.transports import load

near = pytest.approx
ALDER = load("alder")
TO_FOLLOWER, TO_SWITCH, EDGE, COAST, AT_STOP = scene.KINDS
WALKS = [
    (ALDER, "PLAY", "reel idler"), (ALDER, "EJECT", "carriage"), (ALDER, "WIND", "loading arms"),
    (small(), "HALF", "latch"), (going_round(), "REST", "lever"), (maker(3, True)[1], None, None),
]  # fmt: skip


# ---- A picture that follows values ----


@pytest.mark.few(2)
@pytest.mark.parametrize("transport, mode, follower", WALKS, ids=lambda one: getattr(one, "name", str(one)))
def test_after_any_walk_the_picture_is_the_fresh_one(transport, mode, follower):
    mode, follower = (mode, follower) if mode else asked(transport)[0]
    controls, dice = trial_ranges(transport, mode, follower), random.Random(mode)
    walked = picture_of(transport, mode, follower)
    artists, limits = list(map(id, walked.figure.findobj())), [axes.axis() for axes in walked.figure.axes]
    for _ in range(12):
        name = dice.choice(list(controls))
        walked.set(**{name: dice.choice(controls[name].positions())})
    fresh = picture_of(transport, mode, follower, **walked.values)
    assert walked.frame() == fresh.frame()
    assert walked.frame(2) == fresh.frame(2)  # first asked for now: the line as it was must be the same
    assert list(map(id, walked.figure.findobj())) == artists
    assert [axes.axis() for axes in walked.figure.axes] == limits


def test_what_cannot_be_leaves_the_picture():
    picture = picture_of(ALDER, "PLAY", "reel idler", move_deg=5)
    before = picture.frame()
    assert picture.set(length_deg=36) == before
    assert picture.sentence.endswith("leaves nothing for a move beside it: it may be 34.00° long there")


def test_the_line_as_it_was_never_moves():
    artists, _ = drawn(small(), "HALF", "lever", length_deg=110)
    dashed = next(line for line in artists.line.axes.lines if line.get_linestyle() == "--")
    theta, y = dashed.get_data()
    assert np.interp([15, 25, 30, 45], theta, y) == near(artists.y(np.array([0, 5, 10, 20])), abs=0.6)


# ---- Worked by hand: see small_machine.py and test_bench_dwell_trial.py ----


def test_arcs_stops_and_rooms_of_the_small_machine():
    # The lever moves from 20 to 45 now, 0.8 mm a degree, and is right from 19 mm on; unloading it lags by 3.
    artists, _ = drawn(small(), "HALF", "lever", length_deg=110)
    assert artists.senses == ("loading", "unloading")
    low, high = artists.ends  # 40 beyond the stops at 48 and 52: to 92
    assert (low, high) == (8, 92)
    loading, unloading = artists.rows
    assert spans(loading.code) == spans(unloading.code) == [(45, 55)]
    assert spans(loading.right) == [(43.75, high)] and spans(unloading.right) == [(40.75, high)]
    assert [word.get_text() for row in artists.rows for word in (row.below, row.above)] == [
        "4.2°", "72.0°", "11.2°", "68.0°",
    ]  # fmt: skip
    assert {x for x, _, _ in stop_lines(artists)} == {48, 52}
    for row, theta, mark in ((loading, 48, ">"), (unloading, 52, "<")):
        assert list(row.mark.get_xdata()) == list(row.dot.get_xdata()) == [theta]
        assert row.mark.get_marker() == row.dot.get_marker() == mark and row.mark.get_color() == INK
        assert list(row.dot.get_ydata()) == near([artists.y(20)])
        assert row.below.get_position()[0] < theta < row.above.get_position()[0]
    theta, y = artists.line.get_data()
    assert np.interp([15, 30, 40, 50], theta, y) == near(artists.y(np.array([0, 8, 16, 20])), abs=0.6)
    assert (theta[0], theta[-1]) == (low, high)


def test_a_lift_is_drawn_between_the_axis_and_the_rows():
    artists, _ = drawn(small(), "HALF", "lever")
    assert artists.y(-2.4) == near(scene.LOWEST) and artists.y(22.4) == near(scene.HIGHEST)
    names = {text.get_text(): text.get_position()[1] for text in artists.amounts[0].axes.texts}
    bottom = scene.CHART[1] + scene.CHART[3]
    assert bottom - names["off  0.0 mm"] == near(artists.y(0)) and bottom - names["on  20.0 mm"] == near(
        artists.y(20)
    )


def test_names_of_lifts_close_together_are_moved_apart():
    step, high = scene.STATE, scene.HIGHEST
    assert scene._apart([20, 50, 90]) == [20, 50, 90]
    assert scene._apart([20, 21, 90]) == [20, 20 + step, 90]
    assert scene._apart([high - 2, high - 1, high]) == [high - 2 * step, high - step, high]


def test_a_stop_that_is_wrong_is_marked_and_negative():
    # The latch leaves "shut" at 56; with 15 of coasting the loading stop is at 61, the unloading one at 39.
    artists, trial = drawn(small(), "HALF", "latch", coast_deg=15)
    loading, unloading = artists.rows
    assert (loading.mark.get_color(), unloading.mark.get_color()) == (VERMILLION, INK)
    assert loading.above.get_text() == "−5.0°" and unloading.above.get_text() == "17.0°"
    assert list(loading.dot.get_ydata()) == near([artists.y(6)])
    # there is −5 above, shown by a mark that points below 0; below, where the track goes on, no limit
    left, right, on = (list(zip(*marks.get_data(), strict=True)) for marks in artists.beyond)
    assert (left, right, on) == ([(0, 1.5)], [(artists.most_deg, 0.5)], [])
    assert artists.there.get_segments() == []
    assert artists.reasons[1].get_text().endswith("there is −5.0°") and math.isinf(trial.budget.low.there_deg)


def test_a_follower_that_stands_still_there_asks_for_nothing():
    """In Cedar's OPEN another motor than that of the head plate turns: nothing that is off there moves it."""
    artists, trial = drawn(load("cedar"), "OPEN", "head plate")
    assert trial.budget.low.worst_deg == trial.budget.high.worst_deg == 0 and artists.most_deg == 5


def test_the_budget_of_the_small_machine():
    # One tooth is 10 degrees: at the lever's gear, at the switch; contact edge 1, coasting 0.5.
    artists, trial = drawn(small(), "HALF", "lever", length_deg=110)
    assert artists.most_deg == 30  # 1.3 times 21.5, up to a multiple of 5
    for row in (0, 1):
        assert bar_ends(artists, row) == {
            TO_FOLLOWER: [(0, 10)], TO_SWITCH: [(10, 20)], EDGE: [(20, 21)], COAST: [(21, 21.5)], AT_STOP: []
        }  # fmt: skip
    assert [list(x) for x in artists.root.get_data()] == [[near(math.sqrt(201.25))] * 2, [0.5, 1.5]]
    (line,) = artists.there.get_segments()  # 48 − 43.75 below; above, the track has no end that matters
    assert list(line[:, 0]) == near([4.25, 4.25]) and 0 < line[0, 1] < line[1, 1] < 1
    assert list(artists.beyond[1].get_ydata()) == [1.5] and math.isinf(trial.budget.high.there_deg)
    assert [w.get_text() for w in (*artists.amounts, *artists.reasons)] == [
        "17.2° short at worst",
        "no limit at worst",
        "asked 21.5°, there is 4.2°",
        "asked 21.5°, there is no limit",
    ]


def test_what_falls_away_at_a_stop_covers_the_bars():
    # IN with a contact 2 wide: read at 0, coasting 9.5 to -9.5; 10.5 are left to the stop at -20 of 11.5.
    artists, trial = drawn(small(), "IN", "lever", contact_deg=2, coast_deg=9.5)
    assert bar_ends(artists, 0)[AT_STOP] == [(near(20.5), near(21.5))]
    assert trial.budget.low.worst_deg == near(20.5) and artists.reasons[0].get_text().startswith(
        "asked 20.5°"
    )


def test_what_a_stage_adds_follows_the_bars():
    # DOWN about 0, its contact 31.6 wide: read at -15, coasting 4.3, stopped at -10.7.  A tooth at the switch
    # (4.5), edge and coasting bring it to -16.7; the carriage stands still down to -16, then moves 0.7.
    artists, _ = drawn(ALDER, "DOWN", "carriage", contact_deg=31.6, coast_deg=4.3)
    assert ALDER.stages[0].end_deg == -16 and ALDER.part("mode switch").pitch_deg == 4.5
    assert bar_ends(artists, 0)[AT_STOP] == [(near(5), near(5.7))] and bar_ends(artists, 0)[TO_SWITCH] == []


def test_what_goes_on_beyond_the_scale_is_marked():
    artists, trial = drawn(small(), "HALF", "lever", {"most_deg": 12})
    assert bar_ends(artists, 0) == {
        TO_FOLLOWER: [(0, 10)],
        TO_SWITCH: [(10, 12)],
        EDGE: [],
        COAST: [],
        AT_STOP: [],
    }
    assert list(artists.beyond[2].get_xdata()) == [12, 12] and list(artists.beyond[2].get_ydata()) == [
        0.75,
        1.75,
    ]
    assert len(artists.root.get_xdata()) == 0 and trial.budget.low.rss_deg > 12
    exact, _ = drawn(small(), "HALF", "lever", {"most_deg": 21.5})
    assert len(exact.beyond[2].get_xdata()) == 0 and len(exact.root.get_xdata()) == 2


def test_a_stop_out_of_sight_is_told():
    artists, _ = drawn(small(), "HALF", "lever", {"theta_deg": (60.0, 100.0)})
    assert [row.above.get_text() for row in artists.rows] == ["it stops at 48.0°", "it stops at 52.0°"]
    assert not any(part.get_visible() for row in artists.rows for part in (row.mark, row.dot, row.below))
    assert stop_lines(artists) == []
    narrow, _ = drawn(small(), "HALF", "lever", {"theta_deg": (48.0, 100.0)})  # no room for its number
    assert [row.mark.get_visible() for row in narrow.rows] == [False, True]


def test_a_code_that_cannot_be_read_is_told_and_comes_back():
    # EJECT's contact closes around −139.5; 43.8 wide its edge is at −117.6, and 0.8 on is past the stop.
    picture = picture_of(ALDER, "EJECT", "carriage", contact_deg=43.8)
    assert picture.sentence.startswith("EJECT stands wrong") and "ruled by the code" in picture.sentence
    shown = [word.get_text() for word in picture.moving if hasattr(word, "get_text")]
    assert "its code can't be read before the end stop" in shown
    assert picture.set(contact_deg=53.0) == picture_of(ALDER, "EJECT", "carriage").frame()


def test_both_stops_of_a_cam_that_goes_round_are_on_one_turn():
    # REST: read at 351 and at 9, 2 of coasting: 353 and 7, which is 367.
    controller = {"order": ["REST", "RUN"], "time_out_s": 9, "home": {"sense": "unloading", "mode": "REST"}}
    artists, trial = drawn(going_round(controller=controller), "REST", "lever")
    assert artists.ends == (near(353 - 40), near(367 + 40))
    assert {round(x, 6) for x, _, _ in stop_lines(artists)} == {353, 367}
    assert spans(artists.rows[0].code) == [(350, 370)]
    later, _ = drawn(going_round(controller=controller), "REST", "lever", contact_deg=12, coast_deg=10)
    assert {round(x, 6) for x, _, _ in stop_lines(later)} == {365, 355}  # 354 + 11; 366 − 11


def test_only_senses_that_occur_have_a_row_and_beyond_a_stop_is_hatched():
    artists, _ = drawn(ALDER, "EJECT", "carriage")
    assert artists.senses == ("unloading",)
    ((stop, _, _),), (low, high) = stop_lines(artists), artists.ends
    assert high == near(stop + 40) and low == near(ALDER.low_deg - 0.08 * 80)
    assert artists.theta[0] == ALDER.low_deg and artists.theta[-1] == high
    assert "end stop" in [text.get_text() for text in artists.line.axes.texts]
    inside, _ = drawn(ALDER, "PLAY", "reel idler")
    assert "end stop" not in [text.get_text() for text in inside.line.axes.texts]


# ---- By another way: second_way.py samples what mechlib computes ----


@pytest.mark.few(3)
@pytest.mark.parametrize("cyclic", [False, True])
@pytest.mark.parametrize("seed", range(3))
def test_arcs_and_stops_of_drawn_transports(seed, cyclic):
    coast = {"deg": 0.7 * seed}
    values, transport = maker(seed, cyclic, coast=coast)
    machine = Machine(values)
    for mode, follower in asked(transport)[seed::3]:
        artists, _ = drawn(transport, mode, follower)
        low, high = artists.theta[0], artists.theta[-1]
        heights = []
        for sense, row in zip(artists.senses, artists.rows, strict=True):
            stop = machine.stop_angle(mode, SENSES[sense])
            turns = (row.mark.get_xdata()[0] - stop) / 360 if cyclic else row.mark.get_xdata()[0] - stop
            assert turns == near(round(turns) if cyclic else 0, abs=1e-4)
            heights += [y for x, *ends in stop_lines(artists) for y in ends if x == row.mark.get_xdata()[0]]

            right, code = sampled(machine, mode, follower, SENSES[sense], low, high)
            assert spans(row.right) == right and spans(row.code) == code
        assert min(heights) >= 0 and max(heights) <= scene.CHART[3]
        theta, y = artists.line.get_data()
        lift = machine.lift(follower, machine.angles(theta, 1))
        assert y == near(artists.y(lift), abs=0.2)  # pixels


def sampled(machine, mode, follower, way, low, high):
    """Arcs on which the follower is right and on which the code shows, moving that way."""
    bits = machine._bits(machine.modes[mode]["code"])
    tests = (
        lambda theta: machine.right(mode, follower, machine.angles(theta, way)),
        lambda theta: machine.code(machine.angles(theta, way)) == bits,
    )
    found = [machine.arcs(test, low, high) for test in tests]
    return [[(near(a, abs=1e-3), near(b, abs=1e-3)) for a, b in arcs] for arcs in found]


TRANSPORTS = [ALDER, small(), going_round()]
TRANSPORTS += [maker(seed, cyclic)[1] for seed in range(3) for cyclic in (False, True)]


@pytest.mark.few(3)
@pytest.mark.parametrize("transport", TRANSPORTS, ids=lambda t: t.name)
def test_the_bars_add_up_to_the_worst_case(transport):
    dice = random.Random(transport.name)
    for mode, follower in asked(transport):
        controls = trial_ranges(transport, mode, follower)
        ends = list(product(*((c.positions()[0], c.positions()[-1]) for c in controls.values())))
        artists, trial = drawn(transport, mode, follower, {"most_deg": 500})
        for corner in [None, *dice.sample(ends, times(1, 4))]:
            if corner:
                try:
                    trial = dwell_trial(transport, mode, follower, **dict(zip(controls, corner, strict=True)))
                except MechError:
                    continue
                scene.update(artists, trial)
            for row, side in enumerate((trial.budget.low, trial.budget.high)):
                found = bar_ends(artists, row)
                at = 0.0
                for start, end in sorted(arc for kind in scene.KINDS[:4] for arc in found[kind]):
                    assert start == near(at, abs=1e-9)
                    at = end
                for start, end in found[AT_STOP]:  # from there on, or back from there
                    assert near(at, abs=1e-9) in (start, end)
                    at = start if end == near(at, abs=1e-9) else end
                assert at == near(side.worst_deg, abs=1e-8)
