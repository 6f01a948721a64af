"""The data sheet on paper: true scale, nothing off the page, the same bytes twice."""

from dataclasses import replace

import pytest
from matplotlib.patches import Circle, Polygon

from mechlib.bench.gear_to_make import CAUTIONS, to_make
from mechlib.draw.gear_sheet import drawn_scale, gear_sheet_pages
from mechlib.draw.print_sheet import save_pages
from mechlib.errors import MechError
from mechlib.gears.racks import FINE, ISO_53_A
from mechlib.gears.spur import Gear

MM = 72 / 25.4
GEARS = [
    to_make(Gear(24, 0.5, FINE, 0.1), 2.0, 3.0, "nylon", 1.5, 0.02, "Idler " + 20 * "very " + "long"),
    to_make(Gear(60, 1.5, ISO_53_A), 8.0, 10.0),
    to_make(Gear(120, 1.5, ISO_53_A), 8.0, 10.0),
    to_make(Gear(100, 10, ISO_53_A), 50.0, 90.0),
]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("made", "scale"), [*zip(GEARS, (1, 1, 0.5, 0.1), strict=True)])
def test_the_finished_outline_is_drawn_at_the_scale_that_it_says(made, scale, paper):
    (figure,) = gear_sheet_pages(made, paper)
    assert drawn_scale(made, paper) == scale
    (page,) = figure.axes
    (outline,) = [one for one in page.patches if isinstance(one, Polygon)]
    (bore,) = [one for one in page.patches if isinstance(one, Circle)]
    x = outline.get_xy()[:, 0]
    # without the allowances; an odd or an even count, the first tooth points to the right
    assert x.max() - bore.center[0] == pytest.approx(made.gear.tip_mm / 2 * scale * MM)
    assert bore.radius == pytest.approx(made.bore_mm / 2 * scale * MM)
    words = [text.get_text() for text in page.texts]
    said = "true scale" if scale == 1 else f"scale 1 : {round(1 / scale)}"
    (bar,) = [word for word in words if "lay a rule on the bar" in word]
    assert said in bar
    length = next(
        line[1, 0] - line[0, 0]
        for one in page.collections
        for line in one.get_segments()
        if line[0, 0] > 40 and line[1, 0] < 560 and one.get_linewidth()[0] == 1
    )
    assert length == pytest.approx(int(bar.split()[0]) * scale * MM)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_gear_too_large_for_a_tenth_is_refused(paper):
    """252 modules of 10, on a page that is at most 216 mm wide."""
    large = to_make(Gear(250, 10, ISO_53_A), 50.0, 90.0)
    with pytest.raises(MechError, match=rf"the gear is 2520 mm across: at a tenth there is room on {paper}"):
        gear_sheet_pages(large, paper)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("made", GEARS, ids=lambda made: f"{made.gear.teeth} teeth")
def test_nothing_runs_off_the_page_or_over_other_words(made, paper):
    (figure,) = gear_sheet_pages(made, paper)
    (page,) = figure.axes
    renderer = figure.canvas.get_renderer()
    boxes = [text.get_window_extent(renderer) for text in page.texts if text.get_text()]
    width, height = figure.bbox.width, figure.bbox.height
    assert all(b.x0 > 0 and b.x1 < width and b.y0 > 0 and b.y1 < height for b in boxes)
    for at, one in enumerate(boxes):
        assert not any(one.overlaps(other) for other in boxes[at + 1 :])


def test_sizes_and_cautions_are_on_it():
    (figure,) = gear_sheet_pages(GEARS[0])
    words = " ".join(text.get_text() for text in figure.axes[0].texts)
    for one in (
        f"{GEARS[0].span_mm:.3f} mm",
        f"{GEARS[0].over_pins_mm:.3f} mm",
        "1.50%",
        "0.020 mm",
        "nylon",
    ):
        assert one in words
    for caution in CAUTIONS:
        assert caution.split(":")[0].split(",")[0] in words
    (timed,) = gear_sheet_pages(replace(GEARS[0], timed=True))
    assert "no flat and no mark" in " ".join(text.get_text() for text in timed.axes[0].texts)
    assert "no mark" not in words


def test_it_is_saved_with_the_same_bytes_twice(tmp_path):
    paths = [
        save_pages(gear_sheet_pages(GEARS[0]), tmp_path / name, "Data sheet")[0]
        for name in ("a.svg", "b.svg")
    ]
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_another_paper_is_refused():
    with pytest.raises(MechError, match="A4 or Letter"):
        gear_sheet_pages(GEARS[0], "A0")
