"""The still figure that enlarges one mode, against numbers worked out by hand and from the file."""

import tomllib
from importlib import resources

import numpy as np
import pytest
from crowded_chart import collisions, crowded, measured, words
from matplotlib.collections import PolyCollection
from matplotlib.text import Annotation
from scipy.optimize import brentq
from small_machine import small

from mechlib.draw.mode_close_up import close_up, mode_close_up
from mechlib.errors import MechError
from mechlib.transports import load, slip
from mechlib.transports.timing import arriving_senses


def axes_of(made):
    page = next(axes for axes in made.axes if axes.get_zorder() == 2)
    return next(axes for axes in made.axes if axes is not page), page


def arrows(axes):
    """Start and end of every arrow, in degrees, from the top down."""
    found = sorted(axes.findobj(Annotation), key=lambda arrow: arrow.xy[1])
    return [(arrow.get_position()[0], arrow.xy[0]) for arrow in found]


def bars(axes):
    return [path.vertices[[0, 1], 0].tolist() for c in axes.findobj(PolyCollection) for path in c.get_paths()]


@pytest.mark.parametrize(
    ("sense", "edge", "read", "stand", "below", "above"),
    # By hand: contact B closes from 45 to 55; settle 1, coast 2.  The lever is on (20 ± 1 mm, a degree a mm)
    # from 39 on, with play 3 from 36 on when unloading; the latch is shut (0 ± 1 mm) up to 56.
    [("loading", 45, 46, 48, 48 - 39, 56 - 48), ("unloading", 55, 54, 52, 52 - 36, 56 - 52)],
)
def test_the_steps_of_the_small_machine(sense, edge, read, stand, below, above):
    made = mode_close_up(small(), "HALF", sense)
    axes, page = axes_of(made)
    settle, coast, room_below, room_above = arrows(axes)
    assert settle == pytest.approx((edge, read)) and coast == pytest.approx((read, stand))
    shown = close_up(small(), "HALF", sense)
    lever = next(d for d in shown.tightest if d.follower == "lever")
    latch = next(d for d in shown.tightest if d.follower == "latch")
    assert (lever.below_deg, latch.above_deg) == pytest.approx((below, above))
    assert shown.tightest[0] == min(lever, latch, key=lambda d: min(d.below_deg, d.above_deg))
    assert room_below[0] == room_above[0] == pytest.approx(stand)
    texts = [text.get_text() for text in axes.texts]
    assert f"5  stop angle: {stand}.0°" in texts and f"1  edge of the code: {edge}.0°" in texts
    assert any(f"here {above}.0°, above the stop angle" in text.get_text() for text in page.texts)
    assert bars(axes)[0] == pytest.approx([45, 55])
    marks = {line.get_marker(): line.get_xydata()[0, 0] for line in axes.lines if len(line.get_xydata()) == 1}
    assert marks[">" if sense == "loading" else "<"] == pytest.approx(stand)


def test_play_of_alder_from_its_file():
    file = tomllib.loads(resources.files("mechlib.transports").joinpath("data/alder.toml").read_text("utf-8"))
    (code,) = [
        [end["deg"] for end in arc]
        for arc in next(c for c in file["contact"] if c["name"] == "D")["closed"]
        if arc in next(c for c in file["contact"] if c["name"] == "C")["closed"]
    ]
    read = code[0] + file["mode_switch"]["settle"]["deg"]
    stand = read + file["drive"]["coast"]["deg"]
    idler = next(f for f in file["follower"] if f["name"] == "reel idler")
    starts = [idler["track_from"]["deg"]] + [stretch["until"]["deg"] for stretch in idler["track"]]
    at = next(n for n, stretch in enumerate(idler["track"]) if stretch.get("hold") == "take-up")
    least = 1 - idler["tolerance_mm"] / idler["states"]["take-up"]

    def lacking(x):  # cycloidal: x − sin(2πx)/2π of the rise; general handbook formula, from memory
        return x - np.sin(2 * np.pi * x) / (2 * np.pi) - least

    x = brentq(lacking, 0, 1)
    begins = starts[at - 1] + x * (starts[at] - starts[at - 1])
    ends = starts[at + 2] - x * (starts[at + 2] - starts[at + 1])
    made = mode_close_up(load("alder"), "PLAY")
    axes, page = axes_of(made)
    assert arrows(axes) == [
        pytest.approx(pair) for pair in ((code[0], read), (read, stand), (stand, begins), (stand, ends))
    ]
    assert bars(axes)[:2] == [pytest.approx(code), pytest.approx([begins, ends])]
    texts = {text.get_text() for text in axes.texts}
    assert {f"room below {stand - begins:.1f}°", f"room above {ends - stand:.1f}°"} <= texts
    labels = [text.get_text() for text in page.texts]
    assert {"the code of PLAY", "reel idler", "pinch lever", "right: take-up", "right: pressed"} <= set(
        labels
    )
    ordered = sorted((t for t in axes.texts if t.get_text()[:1].isdigit()), key=lambda t: t.get_position()[1])
    wanted = ["edge of the code", "settle: the code must stand", "read", "coast", "stop angle"]
    assert len(ordered) == 5
    for number, (text, word) in enumerate(zip(ordered, wanted, strict=True), 1):
        assert text.get_text().startswith(f"{number}  {word}")


ALDER = load("alder")


@pytest.mark.few(5)
@pytest.mark.parametrize(
    ("mode", "sense"), [(mode, sense) for mode in ALDER.mode_names for sense in arriving_senses(ALDER)[mode]]
)
def test_words_have_room_and_are_large_for_every_mode(mode, sense):
    made = mode_close_up(ALDER, mode, sense)
    made.canvas.draw()
    shown = words(made)
    names, edges = measured(shown, made.canvas.get_renderer())
    assert len(names) > 15 and collisions(names, *edges, made.canvas.get_width_height()) == []
    assert not any("…" in name for name in names)
    assert min(text.get_fontsize() for text in shown if text.get_text()) >= 10
    axes, _ = axes_of(made)
    low, high = axes.get_xlim()
    assert all(low <= at <= high for arrow in arrows(axes) for at in arrow)
    first, last = ALDER.ends
    assert all(first - 1e-9 <= edge <= last + 1e-9 for bar in bars(axes) for edge in bar)  # between the stops


def test_long_names_are_shortened():
    machine = crowded(3, 4, 4, 1)
    for mode in (machine.mode_names[1], machine.mode_names[3]):
        made = mode_close_up(machine, mode)
        made.canvas.draw()
        names, edges = measured(words(made), made.canvas.get_renderer())
        assert collisions(names, *edges, made.canvas.get_width_height()) == []


def test_without_a_sense_the_ruling_one_is_shown():
    assert close_up(ALDER, "PLAY").came.sense == "loading"  # 3.8° against 6.2°
    assert close_up(ALDER, "PLAY", "unloading").came.sense == "unloading"
    assert close_up(ALDER, "WIND").came.sense == "unloading"  # 3.9° against 4.1°


def test_what_cannot_be_shown_is_refused():
    with pytest.raises(MechError, match="never reached in the sense 'loading'"):
        mode_close_up(ALDER, "EJECT", "loading")  # the first of the order of modes
    with pytest.raises(MechError, match="does not stand right"):
        mode_close_up(ALDER.with_faults(slip("idler cam", -1)), "PLAY")
    with pytest.raises(MechError, match="no mode"):
        mode_close_up(ALDER, "SPIN")


def test_a_rest_of_birch_from_its_file():
    """PAUSE: A shows from 152 to 165 and B a little longer; the latch holds at 160, and the code rules."""
    made = mode_close_up(load("birch"), "PAUSE")
    axes, page = axes_of(made)
    goes_on, below, above = arrows(axes)
    assert goes_on == pytest.approx((152, 160))
    assert (below, above) == (pytest.approx((160, 152)), pytest.approx((160, 165)))
    texts = [text.get_text() for text in axes.texts]
    assert "3  rest: the latch holds at 160.0°, the code is read" in texts
    assert bars(axes)[:2] == [pytest.approx([152, 165])] * 2
    words = "here 5.0°, above the stop angle.  Past it the code isn't read."
    assert any(words in text.get_text() for text in page.texts)
    shown = close_up(load("birch"), "PLAY")
    assert [found.follower for found in shown.tightest] == ["reel idler", "code"]
