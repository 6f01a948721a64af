"""The boxes of the timing card and of the proof sheet: what they show, save, judge and refuse."""

import io
from html import unescape

import pytest
from PIL import Image
from small_machine import small

from mechlib.bench import judge, proof_csv
from mechlib.bench import timing_card as card_of
from mechlib.errors import MechError
from mechlib.panels.timing_card import proof_sheet, timing_card
from mechlib.transports import load


@pytest.fixture(scope="module")
def box_of_small():
    """Shared: it draws a page before it can be used."""
    return timing_card(small())


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def said(widget) -> str:
    """What a line of words says."""
    return unescape(
        widget.value.removeprefix('<div role="status" aria-live="polite">').removesuffix("</div>")
    )


def test_the_card_tells_its_sentence_and_shows_its_page():
    box = timing_card("alder")
    assert box.error is None
    assert repr(box) == box.text == said(box.words) == card_of(load("alder")).sentence()
    page = Image.open(io.BytesIO(box.image.value))
    assert page.width / page.height == pytest.approx(210 / 297, abs=0.002)
    box.controls["paper"].value = "Letter"
    page = Image.open(io.BytesIO(box.image.value))
    assert page.width / page.height == pytest.approx(8.5 / 11, abs=0.002) and box.error is None


@pytest.mark.parametrize("name, files", [("card.pdf", 1), ("card.svg", 2)])
def test_saving_writes_card_and_sheet_and_never_over_a_file(here, box_of_small, name, files):
    box = box_of_small
    box.controls["file_name"].value = f"  {name} "
    box.save_button.click()
    first = {path: path.read_bytes() for path in here.iterdir()}
    assert len(first) == files and box.error is None
    assert all(path.name in said(box.note) for path in first)
    box.save_button.click()
    assert {"card.pdf": "card-2.pdf", "card.svg": "card_2-1.svg"}[name] in said(box.note)
    assert all(path.read_bytes() == content for path, content in first.items())


@pytest.mark.parametrize(
    "name, why", [("card.txt", ".pdf"), ("", ".pdf"), ("gone/card.pdf", "no folder 'gone'")]
)
def test_what_cant_be_saved_is_said(here, box_of_small, name, why):
    box = box_of_small
    box.controls["file_name"].value = name
    box.save_button.click()
    assert said(box.note).startswith("Not saved: ") and why in said(box.note)
    assert list(here.iterdir()) == [] and box.error is None


def test_the_sheet_starts_blank_and_judges_what_is_filled_in():
    machine = load("alder")
    box = proof_sheet(machine)
    assert box.sheet.value == proof_csv(machine)
    box.judge_button.click()
    assert said(box.words) == judge(machine, []).sentence() and box.error is None
    filled = "DOWN, WIND, yes, 0.8\nWIND, STOP, no, , squeals"
    box.sheet.value = filled
    box.judge_button.click()
    found = judge(machine, filled)
    assert said(box.words) == found.sentence() and box.verdict == found.text()
    assert "squeals" in unescape(box._table.value)


def test_a_row_that_cant_be_read_is_named_and_the_old_verdict_goes():
    box = proof_sheet("alder")
    box.judge_button.click()
    assert box.verdict
    box.sheet.value = "DOWN, WIND, perhaps, 0.8\nDOWN, NOWHERE, yes, 1\n<b>"
    box.judge_button.click()
    assert "row 1" in said(box.words) and "row 2" in said(box.words) and "row 3" in said(box.words)
    assert box.verdict == "" and box.error is None and "<b>" not in box.words.value


def test_a_transport_that_isnt_there_is_refused():
    for make in (timing_card, proof_sheet):
        with pytest.raises(MechError):
            make("no such machine")
