"""The timing chart: what it shows of a machine worked by hand, and that it follows values exactly."""

import random

import numpy as np
import pytest
from crowded_chart import picture_of
from small_machine import small
from transport_makers import make

from mechlib.bench import slip_effect
from mechlib.draw import timing_chart
from mechlib.draw.style import figure
from mechlib.transports import load
from mechlib.transports.files import transport_from


def drawn(transport, mesh, teeth, theta_deg):
    """The rows, the margins and the grid of a chart, as artists."""
    result = slip_effect(transport, mesh, teeth, theta_deg)
    artists = timing_chart.create(figure(*timing_chart.size_px(transport)), result)
    timing_chart.update(artists, result)
    return artists.parts


# ---- A picture that follows values ----


def test_a_walk_ends_in_the_picture_drawn_fresh():
    alder, dice = load("alder"), random.Random(3)
    picture = picture_of(alder, "mode switch", 4)
    count, limits = len(picture.figure.findobj()), [axes.axis() for axes in picture.figure.axes]
    for _ in range(12):
        name = dice.choice(["mesh", "teeth", "theta_deg"])
        chosen = {"mesh": dice.choice(alder.mesh_names), "teeth": dice.randint(-4, 4),
                  "theta_deg": dice.uniform(*alder.ends)}  # fmt: skip
        picture.set(**{name: chosen[name]})
    fresh = picture_of(alder, *picture.values.values())
    assert picture.frame() == fresh.frame() and picture.frame(2) == fresh.frame(2)
    assert len(picture.figure.findobj()) == count
    assert [axes.axis() for axes in picture.figure.axes] == limits


def test_what_a_slip_cannot_be_leaves_the_picture():
    picture = picture_of(small(), "switch", 1, 30.0)
    before = picture.frame()
    assert picture.set(mesh="belt") == before and "no mesh is called 'belt'" in picture.sentence


# ---- What is drawn, against the machine worked by hand (see small_machine.py) ----


def xs(bars):
    """Where each bar begins and ends."""
    return sorted(tuple(np.round(path.get_extents().intervalx, 6)) for path in bars.get_paths())


@pytest.mark.parametrize("shift", [0, 1])
def test_contacts_codes_and_stops_of_the_small_machine(shift):
    rows, *_ = drawn(small(), "switch", -shift, 0)
    moved = 10 * shift  # 36 teeth in the main gear: 10 degrees a tooth
    arcs = [(-5, 5), (45, 55), (95, 105), (95, 105)]
    assert xs(rows.contacts) == [(a + moved, b + moved) for a, b in arcs]
    assert xs(rows.codes) == [(a + moved, b + moved) for a, b in arcs[:3]]
    # the code counts 1 degree behind its edge and the cam coasts 2 more
    loading, unloading = ({round(x - moved, 6) for x, _ in rows.stops[s].get_offsets()} for s in rows.stops)
    assert (loading, unloading) == ({48.0, 98.0}, {2.0, 52.0})


def test_margins_of_the_small_machine():
    # HALF stands at 48 and 52; the latch leaves "shut" at 56.  IN stands at 2; the lever, its play taken up
    # the other way, leaves "off" at 21 - 3.  OUT stands at 98; the hook is up from 89 on.
    rows, found, _ = drawn(small(), "switch", 0, 0)
    assert segments(rows) == [(*ends, "#000000") for ends in ((2, 18), (48, 56), (52, 56), (98, 89))]
    assert numbers(found) == {
        ("mode", "IN"): (None, 16), ("mode", "HALF"): (8, 4), ("mode", "OUT"): (9, None),
        ("interlock", "hook and latch"): (4, None),  # the hook leaves "down" at 71 - 3, the latch opens at 64
    }  # fmt: skip
    assert len(rows.wrong.get_offsets()) == 0 and found.hatch.get_segments() == []
    assert [w.get_text() for w in found.followers.values()] == [
        "not so reached", "lever", "latch", "latch", "hook", "not so reached", "+ hook", "no limit",
    ]  # fmt: skip


def test_margins_of_the_small_machine_with_its_switch_a_tooth_behind():
    # Every stop 10 later: HALF stands at 58 and 62, beyond 56; OUT at 108, nearer to the end stop at 120.
    rows, found, _ = drawn(small(), "switch", -1, 0)
    crosses = sorted(x for x, _ in rows.wrong.get_offsets())
    assert crosses == [58, 62]
    assert [s[:2] for s in segments(rows)] == [(12, 18), (58, 56), (62, 56), (108, 120)]
    assert len({colour for *_, colour in segments(rows)}) == 2
    shown = numbers(found)
    assert shown["mode", "HALF"] == (-2, -6) and shown["mode", "OUT"] == (12, None)
    bold = {row for row, word in found.numbers.items() if word.get_fontweight() == "bold"}
    assert bold == {("mode", "HALF", 0), ("mode", "HALF", 1)}
    below_zero = [path.get_extents().padded(0.01) for path in found.bad.get_paths()]
    for stroke in found.hatch.get_segments():
        assert any(box.contains(*stroke[0]) and box.contains(*stroke[1]) for box in below_zero)


def segments(rows):
    """Each margin line: from the stop angle to the edge, and its colour."""
    lines = rows.margins.get_segments()
    colours = rows.margins.get_colors()
    pairs = [(line, hexed(colour)) for line, colour in zip(lines, colours, strict=True)]
    return sorted((*np.round(line[:, 0], 6), colour) for line, colour in pairs if line[0, 1] == line[1, 1])


def hexed(colour):
    return "#" + "".join(f"{round(255 * part):02x}" for part in colour[:3])


def numbers(found):
    """For each row of margins the two numbers, checked with the lengths of the bars in the picture."""
    lengths = {}
    for bars in (found.good, found.bad):
        for path in bars.get_paths():
            (zero, end), y = path.vertices[:2, 0], path.get_extents().intervaly.mean()
            lengths[round(y, 3), found.zeros.index(zero)] = (end - zero) / found.half * found.scale
    shown = {}
    for (kind, name, way), y in found.rows.items():
        length = lengths.get((round(y, 3), way))
        text = found.numbers[kind, name, way].get_text()
        assert (text == "") == (length is None)
        number = round(float(text[:-1].replace("−", "-")), 6) if text else None
        if text and abs(number) <= found.scale:
            assert length == pytest.approx(number, abs=0.051)
        shown[kind, name] = (*shown.get((kind, name), ()), number)
    return shown


@pytest.mark.parametrize(
    ("theta", "follower", "state", "lift"),
    [(30, "lever", "between", "10.0 mm"), (50, "lever", "on", "20.0 mm"), (90, "hook", "up", "20.0 mm"),
     (60, "latch", "between", "5.0 mm"), (0, "latch", "shut", "0.0 mm")],
)  # fmt: skip
def test_the_cursor_reads_the_followers(theta, follower, state, lift):
    rows, *_ = drawn(small(), "switch", 0, theta)
    assert rows.states["follower", follower].get_text() == state
    assert rows.lifts[follower].get_text() == lift
    assert rows.reading.get_text() == f"θ = {theta}.0°" and set(rows.cursor.get_xdata()) == {theta}
    assert set(rows.dots.get_xdata()) == {theta} and len(rows.dots.get_xdata()) == 3


def test_the_cursor_reads_contacts_and_modes():
    rows, *_ = drawn(small(), "switch", -1, 60)  # B is closed from 55 to 65, HALF is right up to 56
    shown = {row: word.get_text() for row, word in rows.states.items() if row[0] != "follower"}
    assert shown == {("contact", "A"): "open", ("contact", "B"): "closed", ("mode", "IN"): "",
                     ("mode", "HALF"): "code", ("mode", "OUT"): ""}  # fmt: skip
    rows, *_ = drawn(small(), "switch", 0, 50)
    assert rows.states["mode", "HALF"].get_text() == "code, right"


def test_the_lines_of_a_slipped_gear_move_and_the_grey_ones_stay():
    rows, *_ = drawn(small(), "lever gear", 1, 0)  # 10 degrees earlier; the hook hangs on it, not the latch
    grey = next(c for c in rows.frame.axes.collections if len(c.get_segments()) == 3 and c is not rows.lines)
    for name, line, before, ahead in zip(
        ("lever", "hook", "latch"), rows.lines.get_segments(), grey.get_segments(), (10, 10, 0), strict=True
    ):
        theta = np.linspace(0, 100, 11)
        now, then = (np.interp(at, *each.T) for at, each in ((theta, line), (theta + ahead, before)))
        assert now == pytest.approx(then, abs=0.2), name  # pixels; a line has a point every 0.2 degrees
        low, high = rows.frame.bands["follower", name]
        assert low < line[:, 1].min() < line[:, 1].max() < high


@pytest.mark.parametrize(("teeth", "way"), [(1, "<"), (-2, ">")])
def test_rows_that_moved_are_marked_the_way_they_went(teeth, way):
    for mesh, moved in (
        ("lever gear", [("follower", "lever"), ("follower", "hook")]),
        ("hook cam", [("follower", "hook")]),
        ("switch", [("contact", "A"), ("contact", "B"), ("mode", "IN"), ("mode", "HALF"), ("mode", "OUT")]),
        ("motor pinion", []),
    ):
        rows, *_ = drawn(small(), mesh, teeth, 0)
        marked = {y for _, y in rows.arrows[way].get_offsets()}
        assert marked == {rows.frame.middle(*row) for row in moved}, mesh
        assert len(rows.arrows["><"[way == ">"]].get_offsets()) == 0
        assert len(rows.moved.get_paths()) == len(moved)


def test_a_chart_that_goes_round_shows_a_margin_across_the_seam():
    ring = transport_from(make(3, cyclic=True), "hazel.toml")
    rows, *_ = drawn(ring, ring.mesh_names[0], -1, 0)
    ends = np.array([(a, b) for a, b, _ in segments(rows)])
    assert ((ends < 0).any(axis=1) & (ends > 0).any(axis=1)).any()  # one line crosses 0
    for shift in (-360, 360):  # and all is drawn again a turn on
        again = {(round(a, 4), round(b, 4)) for a, b in ends + shift}
        assert len(again & {(round(a, 4), round(b, 4)) for a, b in ends}) >= len(ends) // 3
