"""The live picture against fresh drawings, other encoders and its own promises."""

import io
import subprocess
import sys
from types import SimpleNamespace

import matplotlib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from matplotlib.collections import PolyCollection
from PIL import Image
from share import times

from mechlib.draw import style
from mechlib.draw.live import LivePicture, png
from mechlib.draw.words import Word
from mechlib.errors import MechError, check_number

SIZE = (320, 240)


def crank(turn_deg, arm_mm):
    """A crank pin's place, refused outside 0..360° and 5..20 mm."""
    turn = np.radians(check_number("turn_deg", turn_deg, 0, 360))
    arm = check_number("arm_mm", arm_mm, 5, 20)
    x, y = arm * np.cos(turn), arm * np.sin(turn)
    return SimpleNamespace(
        x=x, y=y, turn_deg=turn_deg, sentence=lambda: f"The pin stands {x:.2f} mm across, {y:.2f} mm up."
    )


class Crank:
    """Two axes; what moves overlaps, and isn't listed in the order in which it must be drawn."""

    def create(self, figure, result, **limits):
        plan, lift = figure.subplots(1, 2)
        plan.set(xlim=limits["across"], ylim=limits["across"], aspect="equal", title="plan")
        lift.set(xlim=(0, 360), ylim=limits["across"], xlabel="turn (°)")
        lift.axhspan(-5, 5, **style.FILLS[1]._asdict(), zorder=5)
        arm = plan.plot([], [], **style.LINES[0]._asdict())[0]
        dot = lift.plot([], [], "o", color=style.VERMILLION)[0]
        band = lift.axvspan(0, 360, **style.FILLS[3]._asdict())
        name = Word.on(plan, 0, 0, "pin", ha="center")
        value = lift.text(10, 20, "")
        foot = figure.text(0.7, 0.5, "", fontsize=30, color=style.ORANGE)
        return SimpleNamespace(
            arm=arm,
            dot=dot,
            band=band,
            name=name,
            value=value,
            foot=foot,
            moving=[foot, name, dot, value, band, arm],
        )

    def update(self, artists, result):
        artists.arm.set_data([0, result.x], [0, result.y])
        artists.dot.set_data([result.turn_deg], [result.y])
        artists.band.set_visible(result.y > 0)
        artists.name.set_position((result.x, result.y))
        artists.value.set_text(f"{result.y:.1f} mm")
        artists.foot.set_text("above" if result.y > 0 else "below")


def picture(scene=None, **values):
    start = {"turn_deg": 30, "arm_mm": 10} | values
    return LivePicture(crank, scene or Crank(), start, SIZE, {"across": (-24, 24)})


def pixels(frame):
    return np.asarray(Image.open(io.BytesIO(frame)).convert("RGBA"))


VALUES = st.fixed_dictionaries({"turn_deg": st.integers(0, 360), "arm_mm": st.floats(5, 20)})
BAD = st.fixed_dictionaries({"turn_deg": st.sampled_from([-1, 361, "far", float("nan")])})
STEPS = st.lists(st.one_of(VALUES, BAD, st.sampled_from([1, 2, "save"])), max_size=8)


@settings(max_examples=times(3, 25))
@given(STEPS, VALUES)
def test_after_any_walk_the_picture_is_the_fresh_one(tmp_path_factory, steps, end):
    walked = picture()
    for step in steps:
        if isinstance(step, dict):
            walked.set(**step)
        elif step == "save":
            walked.save(tmp_path_factory.mktemp("walk") / "crank.svg")
        else:
            walked.frame(scale=step)
    last, fresh = walked.set(**end), picture(**end)
    assert last == walked.frame() == fresh.frame()
    assert walked.frame(scale=2) == fresh.frame(scale=2)
    assert (walked.sentence, dict(walked.values)) == (fresh.sentence, end)


@settings(max_examples=times(3, 15))
@given(VALUES, st.sampled_from([1, 2]))
def test_the_picture_is_what_matplotlib_draws_in_one_go(tmp_path_factory, values, scale):
    shown = picture(**values)
    saved = shown.save(tmp_path_factory.mktemp("whole") / "crank.png", scale)
    assert np.array_equal(pixels(saved.read_bytes()), pixels(shown.frame(scale)))


def test_sizes_and_the_way_back_to_page_pixels():
    shown = picture()
    first = shown.frame()
    assert pixels(first).shape == (240, 320, 4)
    assert pixels(shown.frame(scale=2)).shape == (480, 640, 4)
    assert pixels(shown.frame(scale=3)).shape == (720, 960, 4)
    assert shown.frame() == first == shown.set(turn_deg=30)
    for scale in (0, 5, 1.5, "2"):
        with pytest.raises(MechError, match="scale"):
            shown.frame(scale)


def test_values_not_named_stay():
    shown = picture()
    shown.set(arm_mm=12)
    shown.set(turn_deg=90)
    assert dict(shown.values) == {"turn_deg": 90, "arm_mm": 12}
    assert shown.sentence == "The pin stands 0.00 mm across, 12.00 mm up."
    with pytest.raises(TypeError):
        shown.values["arm_mm"] = 3


def test_refused_values_leave_everything_but_the_sentence():
    shown = picture()
    before, result = shown.frame(), shown.result
    assert shown.set(turn_deg=400, arm_mm=6) == before == shown.frame()
    assert shown.sentence == "turn_deg is 400: it must be from 0 to 360"
    assert shown.result is result and dict(shown.values) == {"turn_deg": 30, "arm_mm": 10}
    shown.set(turn_deg=30)
    assert shown.sentence == result.sentence()


def test_refused_first_values_make_no_picture():
    with pytest.raises(MechError, match="arm_mm"):
        picture(arm_mm=50)


@pytest.mark.parametrize("error", [MechError("too far"), ZeroDivisionError("oops")])
@pytest.mark.parametrize("place", ["update", "draw", "sentence"])
def test_a_failure_half_way_changes_nothing(error, place):
    """Where the scene stumbles after moving half, or an artist when drawn, the next good picture is right."""

    class Stumbling(Crank):
        def create(self, figure, result, **limits):
            artists = super().create(figure, result, **limits)
            draw = artists.name.draw
            artists.name.draw = lambda renderer: stumble("draw") or draw(renderer)
            return artists

        def update(self, artists, result):
            artists.arm.set_data([0, result.x], [0, result.y])
            stumble("update", result)
            super().update(artists, result)

    stumbling = []

    def stumble(where, result=None):
        if where == place and stumbling and (result is None or result.turn_deg == 200):
            raise error

    def compute(**values):
        result = crank(**values)
        sentence = result.sentence
        result.sentence = lambda: stumble("sentence", result) or sentence()
        return result

    shown = LivePicture(compute, Stumbling(), {"turn_deg": 30, "arm_mm": 10}, SIZE, {"across": (-24, 24)})
    before, sharp = shown.frame(), shown.frame(scale=2)
    stumbling.append(True)
    if isinstance(error, MechError):
        assert shown.set(turn_deg=200) == before and shown.sentence == "too far"
    else:
        with pytest.raises(ZeroDivisionError):
            shown.set(turn_deg=200)
        assert shown.sentence == crank(30, 10).sentence()
    stumbling.clear()
    assert dict(shown.values) == {"turn_deg": 30, "arm_mm": 10}
    assert shown.frame() == before and shown.frame(scale=2) == sharp and shown.set() == before
    assert shown.set(turn_deg=200) == picture(turn_deg=200).frame()


def test_updates_add_and_remove_no_artist():
    shown = picture()
    before = [id(artist) for artist in shown.figure.findobj()]
    for turn in range(0, 361, 30):
        shown.set(turn_deg=turn)
        assert [id(artist) for artist in shown.figure.findobj()] == before
    assert len(shown.moving) == 6 and all(artist.get_animated() for artist in shown.moving)


def test_a_collection_with_nothing_in_it_costs_no_drawing():
    drawn = []

    class Noted(PolyCollection):
        def draw(self, renderer):
            drawn.append(len(self.get_paths()))
            super().draw(renderer)

    class Boxed(Crank):
        def create(self, figure, result, **limits):
            artists = super().create(figure, result, **limits)
            artists.box = artists.arm.axes.add_collection(Noted([]), autolim=False)
            artists.moving.append(artists.box)
            return artists

        def update(self, artists, result):
            super().update(artists, result)
            artists.box.set_verts([[(0, 0), (5, 0), (5, 5)]] if result.y > 0 else [])

    shown = picture(Boxed())
    drawn.clear()
    boxed, bare = shown.set(turn_deg=40), shown.set(turn_deg=220)
    assert drawn == [1]
    assert boxed != picture(turn_deg=40).frame() and bare == picture(turn_deg=220).frame()


def test_the_notebook_s_own_settings_change_nothing():
    sober = picture().set(turn_deg=100)
    with matplotlib.rc_context({"font.size": 22, "lines.linewidth": 6, "axes.facecolor": "red"}):
        assert picture().set(turn_deg=100) == sober
        assert matplotlib.rcParams["font.size"] == 22


@pytest.mark.parametrize("suffix", [".png", ".svg", ".pdf", ".PNG"])
def test_saved_pictures_are_the_same_bytes_and_carry_the_sentence(tmp_path, suffix):
    one = picture(turn_deg=90).save(tmp_path / f"one{suffix}")
    walked = picture()
    walked.set(turn_deg=90)
    walked.set(turn_deg=999)  # refused: what is saved is the picture and its own sentence
    assert walked.save(str(tmp_path / f"two{suffix}")).read_bytes() == one.read_bytes()
    told = "The pin stands 0.00 mm across, 10.00 mm up."
    if suffix.lower() == ".png":
        with Image.open(one) as image:
            assert image.size == (640, 480) and image.info["Description"] == told
    else:
        assert told.encode() in one.read_bytes()


def test_saving_elsewhere_or_as_something_else_is_refused(tmp_path):
    for name in ("crank.bmp", "crank", ""):
        with pytest.raises(MechError, match="must end in"):
            picture().save(tmp_path / name)
    with pytest.raises(OSError):
        picture().save(tmp_path / "nowhere" / "crank.png")
    assert not list(tmp_path.iterdir())


@given(arrays(np.uint8, st.tuples(st.integers(1, 40), st.integers(1, 40), st.just(4))))
def test_encoding_loses_nothing(drawing):
    frame = png(drawing)
    Image.open(io.BytesIO(frame)).verify()  # every chunk's checksum
    with Image.open(io.BytesIO(frame)) as image:
        assert image.mode == "RGBA" and np.array_equal(np.asarray(image), drawing)


def test_no_pyplot():
    asked = "import sys, mechlib.draw; print([name in sys.modules for name in sys.argv[1:]])"
    names = ["matplotlib.pyplot", "ipywidgets", "sympy", "matplotlib.figure"]
    told = subprocess.run([sys.executable, "-c", asked, *names], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[False, False, False, True]"
