"""The chart of power flow: arrows as wide as T·ω worked out by hand, a balance, and words with room."""

from math import pi
from typing import NamedTuple

import numpy as np
import pytest
from crowded_chart import collisions, measured, words
from matplotlib.collections import PolyCollection
from matplotlib.patches import Polygon
from matplotlib.text import Text

from mechlib.bench.follow_power import follow
from mechlib.draw.power_flow import flow_of, power_flow
from mechlib.errors import MechError
from mechlib.gears import Driven, Held, Locked, simple_set, stepped_set, torques
from mechlib.gears.planetary import FRAME
from mechlib.gears.power import Load

ETA = 0.97
SET = simple_set(16, 16, 48, mesh_efficiency=ETA)
LOADS = {"ring": Load(60), "carrier": Load(80)}
LONG = "a member with a name of $a_b^c$ that fits nowhere"


def watts(torque_Nmm, rev_min):
    """P = T·ω, in SI units."""
    return torque_Nmm / 1000 * rev_min * 2 * pi / 60


class Arrow(NamedTuple):
    """Width of the shaft, where it points, and what it is: "in", "out" or "lost"."""

    wide: float
    points: tuple[float, float]
    kind: str


def arrows(made):
    """Every arrow by what is written in the box at its outer end, or "lost"; chart by chart from the left."""
    found, labels = {}, made.findobj(Text)
    for polygon in made.findobj(Polygon):
        corners = polygon.get_xy()[:-1]
        tail, tip = (corners[0] + corners[-1]) / 2, corners[3]
        kind = "lost" if tip[1] < tail[1] else "in" if tail[0] % 490 < 245 else "out"
        outer = tail[0] - 44 if kind == "in" else tip[0] + 44
        names = [t.get_text() for t in labels if t.get_position() == pytest.approx((outer, tail[1]))]
        arrow = Arrow(np.hypot(*(corners[0] - corners[-1])), tuple(tip - tail), kind)
        found.setdefault(tail[0] // 490, {})["lost" if kind == "lost" else names[0]] = arrow
    return [found[at] for at in sorted(found)]


def boxes(made):
    """Left, right, lower and upper edge of every box, in pixels of the canvas."""
    (axes,) = made.axes
    for bars in made.findobj(PolyCollection):
        corners = [axes.transData.transform(path.vertices) for path in bars.get_paths()]
        yield from ((*np.sort(c[:, 0])[[0, -1]], *np.sort(c[:, 1])[[0, -1]]) for c in corners)


def texts(made):
    return [text.get_text() for text in words(made)]


def by_hand(held):
    """Torque and speed at sun, at the output, torque on the hold: teeth counted, loss at both meshes.

    Carrier held: the ring turns at −100·16/48 and the sun gives its torque through two meshes.  Ring held:
    the carrier turns at 100·16/(16 + 48); seen from it the teeth carry power from the sun on (the sun is
    driven and turns faster than the carrier), so the ring gets 3·η²·T and the carrier gives (1 + 3·η²)·T.
    """
    if held == "carrier":
        sun = 60 / (3 * ETA**2)
        return (sun, 100), (60, -100 / 3), 60 + sun
    sun = 80 / (1 + 3 * ETA**2)
    return (sun, 100), (80, 25), 3 * ETA**2 * sun


def test_arrows_are_as_wide_as_the_powers_and_balance():
    made = power_flow([follow(SET, 100, LOADS, held) for held in ("carrier", "ring")])
    assert made.canvas.get_width_height()[0] == 980
    wanted, holds = [], []
    for held, output in (("carrier", "ring"), ("ring", "carrier")):
        (torque, speed), (load, turned), bears = by_hand(held)
        into, out = watts(torque, speed), watts(load, abs(turned))
        wanted.append({"sun": into, output: out, "lost": into - out})
        holds.append(bears)
    found = arrows(made)
    scale = found[0]["sun"].wide / wanted[0]["sun"]  # one for both charts
    for chart, powers in zip(found, wanted, strict=True):
        assert {name: arrow.wide / scale for name, arrow in chart.items()} == pytest.approx(powers)
        assert [arrow.kind for arrow in chart.values()] == ["in", "out", "lost"]
        for arrow in chart.values():  # to the right, or up and out: y is counted down
            assert (np.sign(arrow.points) == ((0, -1) if arrow.kind == "lost" else (1, 0))).all()
    shown = texts(made)
    for powers, bears in zip(wanted, holds, strict=True):
        assert {f"{1000 * power:.1f} mW" for power in powers.values()} | {f"bears {bears:.1f} N·mm"} <= set(
            shown
        )
    (at_sun, _), _, _ = by_hand("carrier")
    assert {f"{at_sun:.1f} N·mm", "+100.00 rev/min", "−33.33 rev/min", "+25.00 rev/min"} <= set(shown)
    assert {"carrier held: from sun to ring", "ring held: from sun to carrier"} <= set(shown)
    assert shown.count("no power: it stands") == 2


def test_what_stands_by_its_own_load():
    made = power_flow(follow(simple_set(16, 16, 48), 120, {"ring": Load(60), "carrier": Load(120)}))
    (chart,), shown = arrows(made), texts(made)
    # without loss 60/3 at the sun; ring at −120/3; the carrier bears both
    assert chart.keys() == {"sun", "ring"} and chart["sun"].wide == pytest.approx(chart["ring"].wide)
    assert {"nothing is lost", "bears 80.0 N·mm", "by its own load", "stands"} <= set(shown)
    assert "nothing held: from sun to ring" in shown and f"{1000 * watts(20, 120):.1f} mW" in shown


def block():
    """A set of nearly equal wheels whose teeth rub so much that sun, carrier and ring turn as one."""
    one = stepped_set(20, 20, 20, 19, mesh_efficiency=0.9, internal=(False, False))
    return follow(one, 50, {"carrier": Load(30), "ring": Load(600)})


def test_a_set_that_turns_as_a_block():
    assert block().free.as_block
    made = power_flow(block())
    (chart,), shown = arrows(made), texts(made)
    shares = {"sun": 1, "carrier": 30 / 630, "ring": 600 / 630}  # all at the speed of the sun
    assert {name: arrow.wide / chart["sun"].wide for name, arrow in chart.items()} == pytest.approx(shares)
    assert shown.count("+50.00 rev/min") == 3 and {"630.0 N·mm", "nothing is lost"} <= set(shown)
    assert f"{watts(630, 50):.3f} W" in shown
    assert flow_of(block()).title == "nothing held: from sun to carrier and ring"


def coupled():
    """Two sets with the sun in common, the carrier of the first on the ring of the second."""
    front = simple_set(30, 20, 70, ("sun", LONG, "front ring"), "front", 0.98)
    rear = simple_set(20, 20, 60, ("sun", "output", LONG), "rear", 0.98)
    return torques([front, rear], [Driven("sun", 1500), Held("front ring")], {"output": -400})


def braked():
    one = simple_set(16, 16, 48, name=f"set of {LONG}")
    given = {"carrier": -1234.5, "sun": 200}
    return torques(one, [Driven("sun", 9000), Driven("ring", 9000), Locked("sun", "carrier")], given)


def long_names():
    one = simple_set(16, 16, 48, [f"{at} {LONG}" for at in "ABC"], mesh_efficiency=0.9)
    return torques(one, [Driven(one.carrier, 7), Held(f"C {LONG}")], {f"A {LONG}": -0.5})


def to_frame():
    return torques(SET, [Driven("sun", -12000), Locked("ring", FRAME)], {"carrier": 25000})


def four_in_a_row():
    names = [(f"shaft {at}", f"shaft {'BCDE'['ABCD'.index(at)]}", f"ring {at}") for at in "ABCD"]
    row = [simple_set(16, 16, 48, three, f"set {three[0][-1]}", 0.98) for three in names]
    return torques(row, [Driven("shaft A", 6000), *(Held(ring) for _, _, ring in names)], {"shaft E": -2000})


def two_holds():
    front = simple_set(30, 20, 70, ("sun", "arm", "front ring"), "front", 0.9)
    rear = simple_set(20, 20, 60, ("rear sun", "output", "rear ring"), "rear", 0.9)
    held = [Held("front ring"), Held("rear ring"), Locked("arm", "rear sun")]
    return torques([front, rear], [Driven("sun", 3000), *held], {"output": -80000})


CASES = {
    "both": lambda: [follow(SET, 100, LOADS, "carrier"), follow(SET, -100, LOADS, "sun")],
    "free": lambda: [follow(SET, 100, LOADS), follow(SET, 0.5, LOADS, "ring")],
    "block": block,
    "lossy": lambda: follow(simple_set(16, 16, 48, mesh_efficiency=0.5), 900, LOADS, "carrier"),
    "coupled": lambda: [coupled(), two_holds()],
    "holds": two_holds,
    "four": four_in_a_row,
    "inputs": braked,
    "names": lambda: [long_names(), long_names()],
    "frame": lambda: [to_frame(), to_frame()],
}


@pytest.mark.few(7)
@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("scale", [1, 2])
def test_words_have_room_and_the_widths_balance(case, scale):
    made = power_flow(CASES[case](), scale)
    made.canvas.draw()
    shown = words(made)
    renderer, size = made.canvas.get_renderer(), made.canvas.get_width_height()
    names, edges = measured(shown, renderer)
    assert len(names) > 8 and collisions(names, *edges, size) == []
    assert min(text.get_fontsize() for text in shown if text.get_text()) >= 10
    assert not any("…" in name for name in names if any(letter.isdigit() for letter in name))
    for x0, x1, y0, y1 in edges.T:  # no word on an arrow
        for box in (arrow.get_window_extent(renderer) for arrow in made.findobj(Polygon)):
            assert x1 <= box.x0 + 1 or box.x1 <= x0 + 1 or y1 <= box.y0 + 1 or box.y1 <= y0 + 1
        for box in boxes(made):  # in a box or beside it, never across its edge
            beside = x1 <= box[0] + 1 or box[1] <= x0 + 1 or y1 <= box[2] + 1 or box[3] <= y0 + 1
            assert beside or (box[0] < x0 and x1 < box[1] and box[2] < y0 and y1 < box[3])
    for left, right, low, high in boxes(made):
        assert left > 0 and right < size[0] and low > 0 and high < size[1]
    most = 0
    for chart in arrows(made):
        total = dict.fromkeys(("in", "out", "lost"), 0.0)
        for arrow in chart.values():
            total[arrow.kind] += arrow.wide
            most = max(most, arrow.wide)
        assert total["in"] == pytest.approx(total["out"] + total["lost"])
    assert most == pytest.approx(44)


def test_several_sets_holds_and_the_frame():
    made = power_flow(two_holds())
    shown = texts(made)
    assert {"front", "rear", "front ring", "rear ring", "held"} <= set(shown)
    assert shown.count("no power: it stands") == 2
    assert "front ring and rear ring held: from sun to output" in shown
    (chart,) = arrows(made)
    # both with their ring held: 1 + η²·z_ring/z_sun is the torque ratio, 1 + z_ring/z_sun that of the speeds
    ratio = (1 + 0.81 * 70 / 30) * (1 + 0.81 * 3) / ((1 + 70 / 30) * (1 + 3))
    assert chart["output"].wide / chart["sun"].wide == pytest.approx(ratio)
    assert chart["lost"].wide / chart["sun"].wide == pytest.approx(1 - ratio)
    assert {"frame", "fixed", "ring locked to frame: from sun to carrier"} <= set(
        texts(power_flow(to_frame()))
    )


def test_what_cannot_be_shown_is_refused():
    path = follow(SET, 100, LOADS, "ring")
    for wrong in ("ring", None, 3, [path, "ring"]):
        with pytest.raises(MechError, match="has no power flow"):
            power_flow(wrong)
    for several in ([], [path] * 3):
        with pytest.raises(MechError, match="one to 2 go beside one another"):
            power_flow(several)
    with pytest.raises(MechError, match="no power comes in"):
        flow_of(follow(SET, 100, {"ring": Load(0), "carrier": Load(0)}, "ring"))
    with pytest.raises(MechError, match="scale"):
        power_flow(path, 0)
