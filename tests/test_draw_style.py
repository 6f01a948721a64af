"""The look: contrast, colour blindness, grey, sizes; and words that move against plain text."""

import itertools
from functools import partial

import matplotlib
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from share import times

from mechlib.draw import style
from mechlib.draw.page import width_px
from mechlib.draw.words import Word
from mechlib.errors import MechError

PUBLISHED = {  # Okabe and Ito's set of eight as red, green, blue; from memory
    "BLACK": (0, 0, 0),
    "ORANGE": (230, 159, 0),
    "SKY_BLUE": (86, 180, 233),
    "GREEN": (0, 158, 115),
    "YELLOW": (240, 228, 66),
    "BLUE": (0, 114, 178),
    "VERMILLION": (213, 94, 0),
    "PURPLE": (204, 121, 167),
}

# Red, green, blue (linear) as a person without red or without green cones sees them: G. M. Machado, M. M.
# Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation of Color Vision Deficiency",
# IEEE TVCG 15 (2009), severity 1.0; from memory.
CONES_MISSING = {
    "none": np.eye(3),
    "red": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "green": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
}


def linear(color) -> np.ndarray:
    """Red, green, blue proportional to light (IEC 61966-2-1, sRGB)."""
    coded = np.array(to_rgb(color))
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def contrast(one, other) -> float:
    """Contrast ratio (W3C, WCAG 2.2, "relative luminance" and "contrast ratio")."""
    low, high = sorted(linear(color) @ [0.2126, 0.7152, 0.0722] for color in (one, other))
    return (high + 0.05) / (low + 0.05)


def lab(light) -> np.ndarray:
    """CIE 1976 L*a*b* of linear sRGB light, white D65 (ISO/CIE 11664-4)."""
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    ratio = (to_xyz @ np.clip(light, 0, 1)) / (to_xyz @ np.ones(3))
    x, y, z = np.where(ratio > 216 / 24389, np.cbrt(ratio), (24389 / 27 * ratio + 16) / 116)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


@pytest.mark.parametrize("name", PUBLISHED)
def test_colours_are_the_published_ones(name):
    assert to_rgb(getattr(style, name)) == pytest.approx([part / 255 for part in PUBLISHED[name]], abs=1e-9)


def test_lines_and_letters_have_enough_contrast_with_the_paper():
    # WCAG 2.2: 1.4.11 asks 3:1 for graphics, 1.4.3 asks 4.5:1 for text.
    assert min(contrast(line.color, style.PAPER) for line in style.LINES) >= 3
    assert min(contrast(color, style.PAPER) for color in (style.INK, style.FAINT)) >= 4.5
    assert min(contrast(style.INK, fill.facecolor) for fill in style.FILLS) >= 4.5


@pytest.mark.parametrize("missing", CONES_MISSING)
def test_colours_differ_for_every_eye(missing):
    for colors in ([line.color for line in style.LINES], [fill.facecolor for fill in style.FILLS]):
        seen = [lab(CONES_MISSING[missing] @ linear(color)) for color in colors]
        apart = [np.linalg.norm(one - other) for one, other in itertools.combinations(seen, 2)]
        assert min(apart) > 10  # about ten times what is just seen side by side


def test_nothing_is_told_by_colour_alone():
    assert len({line.linestyle for line in style.LINES}) == len(style.LINES)
    assert len({fill.hatch for fill in style.FILLS}) == len(style.FILLS)


def test_no_letters_below_nine_points():
    with style.look():
        made = style.figure(600, 400)
        axes = made.add_subplot(title="title", xlabel="drive (°)", ylabel="lift (mm)")
        axes.plot([0, 1], [0, 1], label="pinch lever")
        axes.legend()
        made.canvas.draw()
        sizes = [text.get_fontsize() for text in made.findobj(matplotlib.text.Text) if text.get_text()]
    assert len(sizes) > 10 and min(sizes) >= style.SMALL_PT == 9


@given(st.integers(100, 4000), st.integers(1, 4))
def test_a_figure_has_exactly_the_pixels_asked_for(size, scale):
    made = style.figure(size, 4100 - size, scale)
    assert made.canvas.get_width_height() == (size * scale, (4100 - size) * scale)


@pytest.mark.parametrize("size", [(99, 300), (300, 4001), (300.5, 300), ("wide", 300), (300, 300, 5)])
def test_a_figure_of_no_sensible_size_is_refused(size):
    with pytest.raises(MechError):
        style.figure(*size)


def drawn(kind, x, **form):
    """The pixels of a label of that kind on an empty figure, and the box that it claims."""
    with style.look():
        made = style.figure(300, 200, form.pop("scale"))
        axes = made.add_axes((0, 0, 1, 1))
        axes.set_axis_off()
        add = Word.on if kind is Word else partial(Axes.text, parse_math=False)
        label = add(axes, x, 0.5, form.pop("text"), **form)
        made.canvas.draw()
        return np.asarray(made.canvas.buffer_rgba())[..., :3].astype(int), label.get_window_extent()


FORMS = st.fixed_dictionaries(
    {
        "text": st.text("pinchgjy 0.5°−+θ$_^", min_size=1, max_size=12),
        "ha": st.sampled_from(["left", "center", "right"]),
        "va": st.sampled_from(["baseline", "bottom", "center", "top", "center_baseline"]),
        "fontsize": st.sampled_from([9, 10, 12]),
        "color": st.sampled_from([style.INK, style.VERMILLION]),
        "rotation": st.sampled_from([0, 90]),
        "scale": st.sampled_from([1, 2]),
    }
)


@settings(max_examples=times(5, 40))
@given(FORMS)
def test_words_are_plain_text_to_the_pixel_where_the_place_is_whole(form):
    word, box = drawn(Word, 0.5, **form)
    text, text_box = drawn(None, 0.5, **form)
    assert np.abs(word - text).max() <= 1  # one step of 255: blended twice
    assert box.extents == pytest.approx(text_box.extents)


@settings(max_examples=times(5, 40))
@given(FORMS, st.floats(0.4, 0.6))
def test_words_stay_within_half_a_pixel_of_plain_text_elsewhere(form, x):
    def middle(pixels):
        ink = 255.0 * 3 - pixels.sum(axis=2)
        return (ink * np.arange(ink.shape[1])).sum() / ink.sum() if ink.any() else 0.0

    word, text = (drawn(kind, x, **form)[0] for kind in (Word, None))
    assert middle(word) == pytest.approx(middle(text), abs=0.6)  # letters fade a little unevenly at an edge


LINES_OF_TEXT = (
    "AV To Ty r. y, LT 'Tape'",  # letters that move towards each other
    "Stops at −12.5° (¾ of 0.35 mm): pinch lever…",
    "كامة محدبة 凸轮",  # letters that take their form from their neighbours
    "n̈ a\u0301b",  # marks that stand on the letter before
    " leading, trailing ",
)


@pytest.mark.parametrize("text", LINES_OF_TEXT)
@pytest.mark.parametrize(("size", "weight"), [(9, "normal"), (12, "bold")])
@pytest.mark.filterwarnings("ignore:Glyph")  # that the one font which comes along doesn't have
def test_a_line_of_words_is_as_wide_as_plain_text_and_looks_like_it(text, size, weight):
    form = {"text": text, "scale": 1, "fontsize": size, "fontweight": weight, "ha": "left"}
    (word, _), (plain, box) = drawn(Word, 0.05, **form), drawn(None, 0.05, **form)
    assert width_px(text, size, weight) == pytest.approx(box.width, abs=0.02)
    ink, plain_ink = (255.0 * 3 - pixels.sum(axis=2) for pixels in (word, plain))
    assert ink.sum() == pytest.approx(plain_ink.sum(), rel=0.02)
    shift = np.abs(np.cumsum(ink.sum(axis=0)) - np.cumsum(plain_ink.sum(axis=0))).sum() / plain_ink.sum()
    assert shift < 0.1  # pixels sideways, on average


def test_letters_that_plain_text_sets_as_one_are_as_wide_to_a_pixel():
    for text in ("fitted", "a stiff flap", "office"):
        _, box = drawn(None, 0.05, text=text, scale=1, fontsize=10)
        assert width_px(text, 10) == pytest.approx(box.width, abs=1.02)


def test_a_word_keeps_up_with_every_change():
    with style.look():
        made = style.figure(300, 200)
        word = Word.on(made.add_subplot(), 0.2, 0.5, "stop")
        made.canvas.draw()
        before = bytes(made.canvas.buffer_rgba())
        changes = (
            {"text": "play"},
            {"color": style.BLUE},
            {"fontsize": 12},
            {"x": 0.4},
            {"alpha": 0.5},
            {"fontweight": "bold"},
            {"ha": "right"},
            {"va": "top"},
            {"rotation": 90},
            {"visible": False},
        )
        for change in changes:
            word.set(**change)
            made.canvas.draw()
            after = bytes(made.canvas.buffer_rgba())
            assert after != before, change
            before = after


def test_a_word_doesn_t_leave_its_axes():
    pixels, _ = drawn(Word, 0.5, text="clip", scale=1)
    assert (pixels < 255).any()
    with style.look():
        made = style.figure(300, 200)
        axes = made.add_axes((0, 0, 0.5, 1))
        axes.set_axis_off()
        Word.on(axes, 1.0, 0.5, "half of it", ha="center")
        made.canvas.draw()
        page = np.asarray(made.canvas.buffer_rgba())[..., :3]
    assert (page[:, :150] < 255).any() and (page[:, 152:] == 255).all()
