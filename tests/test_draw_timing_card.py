"""The card and the proof sheet on paper: nothing cut off, nothing on anything else, legible in grey."""

import re
from functools import cache, lru_cache
from io import BytesIO
from itertools import product

import matplotlib
import numpy as np
import pytest
from crowded_chart import LONG, collisions, crowded, measured, words
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.collections import Collection, PolyCollection
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text
from small_machine import going_round, small, values
from transport_makers import make

from mechlib.bench.proof_sheet import proof_steps
from mechlib.bench.timing_card import CardTable, timing_card
from mechlib.draw.print_sheet import PAPERS, fitted, paper_size, save_pages, width_pt, wrapped
from mechlib.draw.print_table import lay_out
from mechlib.draw.proof_sheet import proof_sheet_pages
from mechlib.draw.style import look
from mechlib.draw.timing_card import save_card, timing_card_pages
from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.files import transport_from

LEAST_PT = 6.5
IDS = "{0.name:.8}".format
SCALE = 2.0  # pixels a point, for measuring


def no_hinting():
    return matplotlib.rc_context({"text.hinting": "none"})


def faults(figure) -> list[str]:
    """Texts that are cut off or overlap, with the letters as they are printed."""
    figure.set_dpi(72 * SCALE)
    width, height = figure.get_size_inches() * 72 * SCALE
    with no_hinting():
        renderer = RendererAgg(16, 16, 72 * SCALE)  # only to measure with
        figure.draw(renderer)  # the numbers of the axes are set while drawing
        names, edges = measured(words(figure), renderer)
        trim = 0.1 * LEAST_PT * SCALE  # of each box's height: room that letters have above and below
        x0, x1, y0, y1 = edges
        return collisions(names, x0, x1, y0 + trim, y1 - trim, (width, height))


card_of = cache(timing_card)


@lru_cache(maxsize=4)
def card_pages(transport, paper="A4"):
    """The pages of a card, to look at; whoever moves something on them makes pages of its own."""
    return timing_card_pages(card_of(transport), paper)


@lru_cache(maxsize=4)
def sheet_pages(transport, paper="A4"):
    return proof_sheet_pages(card_of(transport), paper)


def all_pages(transport, paper):
    return card_pages(transport, paper) + sheet_pages(transport, paper)


def texts(pages) -> list[str]:
    return [text.get_text() for page in pages for text in page.findobj(Text)]


def luminance(color) -> float:
    """Relative luminance as WCAG 2.1 has it (section "relative luminance", constants from memory)."""
    channels = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(color)]
    return float(np.dot([0.2126, 0.7152, 0.0722], channels))


TRANSPORTS = [
    load("alder"), load("birch"), small(), going_round(), crowded(5, 9, 7, 2), crowded(1, 2, 2, 0),
    *(transport_from(make(seed, cyclic), "hazel.toml") for seed in range(3) for cyclic in (False, True)),
]  # fmt: skip


@pytest.mark.slow
@pytest.mark.few(2)
@pytest.mark.parametrize("paper", list(PAPERS))
@pytest.mark.parametrize("transport", TRANSPORTS, ids=lambda t: f"{t.name[:8]} of {len(t.modes)}")
def test_nothing_is_cut_off_or_overlaps(transport, paper):
    for page in all_pages(transport, paper):
        assert faults(page) == []
        assert min(text.get_fontsize() for text in page.findobj(Text) if text.get_text()) >= LEAST_PT


def test_the_eye_for_faults_sees_them():
    (page,) = timing_card_pages(timing_card(small()))
    one, other = (t for t in page.findobj(Text) if t.get_text() in ("Cautions", "Margins of the modes"))
    one.set_position(other.get_position())
    assert any("overlap" in fault for fault in faults(page))
    one.set_position((paper_size("A4")[0] - 5, 400))
    assert any("is cut off" in fault for fault in faults(page))


@pytest.mark.few(4)
@pytest.mark.parametrize(("name", "paper"), list(product(("alder", "birch", "cedar", "dogwood"), PAPERS)))
def test_each_goes_on_one_page(name, paper):
    transport = load(name)
    assert len(card_pages(transport, paper)) == len(sheet_pages(transport, paper)) == 1


@pytest.mark.parametrize("transport", [load("alder"), small(), crowded(3, 9, 7, 1)], ids=IDS)
def test_everything_on_the_card_is_on_the_paper(transport):
    card, numbers = card_of(transport), texts(card_pages(transport))
    told = " ".join(" ".join(numbers).split())
    for table in card.tables:
        for row in table.rows:
            for cell in row:
                first = cell.split()[:1]  # long cells go into several lines, each written on its own
                assert all(word in told for word in first), (table.title, cell)
    for table in card.tables:
        cells = [cell for row in table.rows for cell in row[table.left :] if cell]
        for cell in set(cells):
            assert numbers.count(cell) >= cells.count(cell), (table.title, cell)
    for caution in card.cautions:
        assert all(word in told for word in caution.split())


@pytest.mark.parametrize("transport", [load("alder"), small(), crowded(2, 12, 10, 0)], ids=IDS)
def test_every_change_is_on_the_proof_sheet(transport):
    pages = sheet_pages(transport)
    told = texts(pages)
    steps = proof_steps(transport)
    for number, step in enumerate(steps, 1):
        assert told.count(("" if step.joins else "▸") + str(number)) >= 1
    for name in transport.mode_names:
        if " a" not in name:  # not broken into lines
            assert told.count(name) == 2 * (len(transport.modes) - 1)
    assert told.count("y") == told.count("n") == len(steps)
    for field in ("machine", "serial number", "date", "name"):
        assert told.count(field) == len(pages)


def test_a_change_that_cannot_work_says_so_on_the_sheet():
    file = values()
    file["controller"]["time_out_s"] = 4.6
    told = texts(proof_sheet_pages(timing_card(transport_from(file, "slow.toml"))))
    assert any(text.startswith("cannot work as filed: ") for text in told)


def test_the_chart_shows_the_arcs_of_the_small_machine():
    (page,) = card_pages(small())
    chart = next(axes for axes in page.axes if axes.get_xlim() == (-20, 120))
    paths = [path for bars in chart.findobj(PolyCollection) for path in bars.get_paths()]
    bars = [path.vertices[[0, 1], 0].tolist() for path in paths]
    # by hand: contacts A and B; the code of OUT; the lever is on and the latch shut from 39 to 56 (HALF)
    for arc in ([-5, 5], [45, 55], [95, 105], [39, 56]):
        assert any(bar == pytest.approx(arc) for bar in bars), arc
    stops = sorted(c.get_offsets()[0, 0] for c in chart.collections if len(c.get_offsets()) == 1)
    offsets = [at for at in stops if at]
    assert offsets == pytest.approx([2, 48, 52, 98])  # IN is only reached unloading, OUT only loading
    lever = next(line for line in chart.lines if len(line.get_xdata()) > 100)
    theta, lift = lever.get_xdata(), lever.get_ydata()
    assert lift[theta < 20] == pytest.approx(lift[0]) and lift[theta > 40] == pytest.approx(lift[-1])
    assert lift[0] > lift[-1]  # y counts downwards: on is above off
    assert np.interp(30, theta, lift) == pytest.approx((lift[0] + lift[-1]) / 2)


@pytest.mark.slow
def test_in_grey_nothing_is_lost():
    """Words and lines that tell something have the contrast of WCAG 2.1, 1.4.3: 4.5 to 1 (from memory)."""
    for page in all_pages(load("alder"), "A4"):
        for text in page.findobj(Text):
            assert 1.05 / (luminance(text.get_color()) + 0.05) >= 4.5
        drawn = page.findobj(Collection)
        colours = [c for one in drawn for c in [*one.get_facecolors(), *one.get_edgecolors()]]
        colours += [line.get_color() for line in page.findobj(Line2D)]
        for colour in colours:  # nothing is told by a colour: all are greys
            red, green, blue = to_rgb(colour)
            assert red == green == blue
        page.set_dpi(72)
        held = BytesIO()
        page.savefig(held, format="raw")
        pixels = np.frombuffer(held.getvalue(), np.uint8).reshape(-1, 4)[:, :3].astype(int)
        assert np.ptp(pixels, axis=1).max() <= 2
    fills = [luminance(c) for c in ("#404040", "#DADADA", "#FFFFFF")]
    assert min(abs(a - b) for i, a in enumerate(fills) for b in fills[:i]) > 0.2


def test_paper_sizes():
    # ISO 216: 210 mm by 297 mm; ANSI/ASME Y14.1, size A: 8.5 in by 11 in (both from memory)
    for paper, size_mm in {"A4": (210, 297), "Letter": (215.9, 279.4)}.items():
        (page,) = card_pages(small(), paper)
        assert page.get_size_inches() * 25.4 == pytest.approx(size_mm)
    for wrong in ("A5", "a4", None, []):
        with pytest.raises(MechError, match="must be A4 or Letter"):
            timing_card_pages(card_of(small()), wrong)


# ---- Files ----


@pytest.mark.slow
def test_pdf_and_svg_hold_words_and_the_same_bytes_each_time(tmp_path):
    files = []
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        card, names = card_of(small()), ("card.pdf", "c.svg")
        files.append([path for name in names for path in save_card(card, tmp_path / folder / name)])
    assert [path.name for path in files[0]] == ["card.pdf", "c-1.svg", "c-2.svg"]
    for one, two in zip(*files, strict=True):
        assert one.read_bytes() == two.read_bytes()
    pdf = files[0][0].read_bytes()
    assert pdf.startswith(b"%PDF-") and len(re.findall(rb"/Type /Page\b", pdf)) == 2
    assert b"/FontFile2" in pdf and b"/Subtype /Type3" not in pdf  # TrueType, embedded
    assert b"CreationDate" not in pdf
    svg = files[0][1].read_text("utf-8")
    assert "Margins of the modes</text>" in svg and "<dc:date>" not in svg
    assert re.search(r'width="595\.\d+pt"', svg) and "Small: proof sheet" in files[0][2].read_text("utf-8")
    assert sorted(path.name for path in (tmp_path / "one").iterdir()) == ["c-1.svg", "c-2.svg", "card.pdf"]


def test_nothing_is_left_behind_where_saving_fails(tmp_path, monkeypatch):
    path = tmp_path / "card.pdf"
    path.write_bytes(b"old")
    pages = [Figure()]

    def broken(*_):
        raise OSError("the disc is full")

    monkeypatch.setattr("mechlib.draw.print_sheet.os.replace", broken)
    with pytest.raises(OSError, match="disc is full"):
        save_pages(pages, path, "card")
    assert path.read_bytes() == b"old" and list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("card.doc", "must end in .pdf, .svg or .png"),
        ("card", "must end in"),
        ("no/card.pdf", "there is no folder"),
    ],
)
def test_a_name_that_cannot_be_saved_is_refused(tmp_path, name, wrong):
    with pytest.raises(MechError, match=wrong):
        save_pages([], tmp_path / name, "card")


def test_a_chart_higher_than_the_page_is_refused():
    with pytest.raises(MechError, match="higher than the page"):
        timing_card_pages(timing_card(crowded(22, 3, 3, 0)))


# ---- Words and tables ----


def test_words_are_as_wide_as_the_font_says():
    with look(), no_hinting():
        renderer, figure = RendererAgg(10, 10, 720), Figure(dpi=720)
        for text in ("loading arms", "−118.0°", "MODE 3", LONG):
            for bold in (False, True):
                weight = "bold" if bold else "normal"
                shown = figure.text(0, 0, text, fontsize=7, fontweight=weight, parse_math=False)
                wide = shown.get_window_extent(renderer).width / 10
                assert width_pt(text, 7, bold) == pytest.approx(wide, rel=0.01)


def test_words_go_into_their_room():
    for room in range(3, 200, 7):
        short, lines = fitted(LONG, room, 7), wrapped(LONG, room, 7)
        assert width_pt(short, 7) <= room and (short == "" or short.endswith("…"))
        assert "".join(lines).replace(" ", "") == LONG.replace(" ", "")  # nothing is lost
        assert all(width_pt(line, 7) <= room or len(line) == 1 for line in lines)
    assert wrapped("", 50, 7) == [""] and fitted(LONG, 4000, 7) == LONG


@pytest.mark.parametrize("name", ["alder", "birch", "cedar", "dogwood"])
def test_no_heading_of_a_shipped_card_is_shortened(name):
    """Long headings over words go into several lines."""
    card = timing_card(load(name))
    drawn = " ".join(text.get_text() for page in timing_card_pages(card, "A4") for text in words(page))
    for table in card.tables:
        for head in table.header[: table.left]:
            assert all(word in drawn.split() for word in head.split()), head
    assert "…" not in drawn


@pytest.mark.parametrize("columns", [1, 6, 14, 40])
@pytest.mark.parametrize("width", [260, 540])
def test_a_table_of_any_width_is_laid_out_whole(columns, width):
    header = ("part", "mark", *(f"MODE {at}" for at in range(columns)))
    rows = tuple((f"gear {row}", LONG, *(f"−{100 + row}.{at}°" for at in range(columns))) for row in range(3))
    laid = lay_out(CardTable("Marks", header, rows, 2, "a note"), width, 7)
    assert all(sum(one.widths) <= width + 1e-6 for one in laid)
    shown = [cell for one in laid for row in one.table.rows for cell in row[one.table.left :]]
    assert sorted(shown) == sorted(cell for row in rows for cell in row[2:])
    assert {row[0] for one in laid for row in one.table.rows} == {"gear 0", "gear 1", "gear 2"}
    assert [bool(one.note) for one in laid] == [False] * (len(laid) - 1) + [True]
