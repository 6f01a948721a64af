"""The chart of power flow: arrows as wide as T·ω worked out by hand, a balance, and words with room."""

from math import pi

import pytest
from crowded_chart import collisions, measured, words
from matplotlib.patches import Polygon

from mechlib.bench.follow_power import follow
from mechlib.draw.power_flow import flow_of, power_flow
from mechlib.errors import MechError
from mechlib.gears import Central, Driven, Held, Locked, PlanetarySet, simple_set, torques
from mechlib.gears.planetary import FRAME
from mechlib.gears.power import Load

ETA = 0.97
SET = simple_set(16, 16, 48, mesh_efficiency=ETA)
LOADS = {"ring": Load(60), "carrier": Load(80)}
LONG = "a member with a name of $a_b^c$ that fits nowhere"


def watts(torque_Nmm, rev_min):
    """P = T·ω, in SI units."""
    return torque_Nmm / 1000 * rev_min * 2 * pi / 60


def arrows(made):
    """Width of each arrow's shaft by what flows there, chart by chart from the left, and where it points."""
    found = {}
    for arrow in made.findobj(Polygon):
        if (name := arrow.get_gid() or "").startswith("power "):
            corners = arrow.get_xy()[:-1]
            tail, tip = (corners[0] + corners[-1]) / 2, corners[3]
            wide = sum((corners[0] - corners[-1]) ** 2) ** 0.5
            found.setdefault(tail[0] // 490, {})[name[6:]] = wide, tuple(tip - tail)
    return [found[at] for at in sorted(found)]


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
    scale = found[0]["sun"][0] / wanted[0]["sun"]  # one for both charts
    for chart, powers in zip(found, wanted, strict=True):
        assert {name: wide / scale for name, (wide, _) in chart.items()} == pytest.approx(powers)
        assert chart["sun"][0] == pytest.approx(sum(w for name, (w, _) in chart.items() if name != "sun"))
        assert all(dx > 0 and dy == 0 for name, (_, (dx, dy)) in chart.items() if name != "lost")
        assert chart["lost"][1][1] < 0  # y is counted down: up and out
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
    assert chart.keys() == {"sun", "ring"} and chart["sun"][0] == pytest.approx(chart["ring"][0])
    assert {"nothing is lost", "bears 80.0 N·mm", "by its own load", "stands"} <= set(shown)
    assert "nothing held: from sun to ring" in shown and f"{1000 * watts(20, 120):.1f} mW" in shown


def test_a_set_that_turns_as_a_block():
    # i0 = 70/69, loss ten per cent a mesh: the teeth lock it, and the input bears both loads at its own speed
    ends = Central("left", 69), "arm", Central("right", 70)
    path = follow(PlanetarySet("near one", *ends, ((40, 40),), 0.9), 50, {"arm": Load(7), "right": Load(5)})
    assert path.free.as_block
    made = power_flow(path)
    (chart,) = arrows(made)
    assert {name: wide / chart["left"][0] for name, (wide, _) in chart.items()} == pytest.approx(
        {"left": 1, "arm": 7 / 12, "right": 5 / 12}
    )
    assert "nothing held: from left to arm and right" in texts(made)


def coupled():
    """Two sets with the sun in common, the first carrier on the second ring; rear ring and carrier as outputs."""
    front = simple_set(30, 20, 70, ("sun", LONG, "front ring"), "front", 0.98)
    rear = simple_set(20, 20, 60, ("sun", "output", LONG), "rear", 0.98)
    return torques([front, rear], [Driven("sun", 1500), Held("front ring")], {"output": -400})


def braked():
    one = simple_set(16, 16, 48, name=f"set of {LONG}")
    given = {"carrier": -1234.5, "sun": 200}
    return torques(one, [Driven("sun", 9000), Driven("ring", 9000), Locked("sun", "carrier")], given)


def to_frame():
    return torques(SET, [Driven("sun", -12000), Locked("ring", FRAME)], {"carrier": 25000})


def two_holds():
    front = simple_set(30, 20, 70, ("sun", "arm", "front ring"), "front", 0.9)
    rear = simple_set(20, 20, 60, ("rear sun", "output", "rear ring"), "rear", 0.9)
    held = [Held("front ring"), Held("rear ring"), Locked("arm", "rear sun")]
    return torques([front, rear], [Driven("sun", 3000), *held], {"output": -80000})


CASES = {
    "both": lambda: [follow(SET, 100, LOADS, "carrier"), follow(SET, -100, LOADS, "sun")],
    "free": lambda: [follow(SET, 100, LOADS), follow(SET, 0.5, LOADS, "ring")],
    "block": lambda: follow(
        PlanetarySet("b", Central("a", 69), "c", Central("d", 70), ((40, 40),), 0.9),
        5,
        {"c": Load(7), "d": Load(5)},
    ),
    "lossy": lambda: follow(simple_set(16, 16, 48, mesh_efficiency=0.5), 900, LOADS, "carrier"),
    "coupled": lambda: [coupled(), two_holds()],
    "inputs": braked,
    "frame": lambda: [to_frame(), to_frame()],
}


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
    solid = [arrow for arrow in made.findobj(Polygon) if (arrow.get_gid() or "").startswith("power ")]
    for x0, x1, y0, y1 in edges.T:  # no word on an arrow
        for box in (arrow.get_window_extent(renderer) for arrow in solid):
            assert x1 <= box.x0 + 1 or box.x1 <= x0 + 1 or y1 <= box.y0 + 1 or box.y1 <= y0 + 1
    for chart in arrows(made):
        left = min(tip for _, (tip, _) in chart.values())
        assert left >= 0 and max(wide for wide, _ in chart.values()) <= 44 + 1e-9


def test_several_sets_holds_and_the_frame():
    made = power_flow(two_holds())
    shown = texts(made)
    assert {"front", "rear", "front ring", "rear ring", "held"} <= set(shown)
    assert shown.count("no power: it stands") == 2
    (chart,) = arrows(made)
    # both with their ring held: 1 + η²·z_ring/z_sun is the torque ratio, 1 + z_ring/z_sun that of the speeds
    ratio = (1 + 0.81 * 70 / 30) * (1 + 0.81 * 3) / ((1 + 70 / 30) * (1 + 3))
    assert chart["output"][0] / chart["sun"][0] == pytest.approx(ratio)
    assert chart["lost"][0] / chart["sun"][0] == pytest.approx(1 - ratio)
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
