"""The box of the stock list: what is read from a path or an upload, what is said of bad rows and files."""

from datetime import UTC, datetime

import pytest
from test_panels_exercise import acted_before_it_is_typed, press_enter

from mechlib.bench.stock import read_stock
from mechlib.panels.stock import INVENTED, NOTHING, stock_list

LIST = "teeth;module_mm;bore_mm;width_mm;count\n24;0,5;2;3;6\nx;0,5;2;3;6\n18;0,5;2;3\n"


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def uploaded(box, name, content):
    file = {"name": name, "type": "text/csv", "size": len(content), "content": memoryview(content)}
    box.upload.value = ({**file, "last_modified": datetime(2024, 1, 1, tzinfo=UTC)},)


def test_it_starts_with_the_invented_bin():
    box = stock_list()
    assert len(box.stock.gears) == 150 and box.choice.value == INVENTED and box.error is None
    assert repr(box) == "The invented spares bin: 150 rows of gears can be used."
    box.choice.value = NOTHING
    assert box.stock is None and box.text == "No list is used."


def test_a_list_by_its_path_tells_its_bad_rows_by_number(here):
    (here / "mine.csv").write_text(LIST)
    box = stock_list(here / "mine.csv")
    assert box.choice.value is None and box.stock == read_stock(LIST) and len(box.stock.gears) == 1
    assert "Mine.csv: 1 row of gears can be used; 2 rows can't: Row 3: teeth is 'x'" in box.text
    assert "Row 4: count is missing" in box.text and box.error is None


@pytest.mark.parametrize("act", [lambda box: press_enter(box.path), lambda box: box.read_button.click()])
def test_enter_and_the_button_wait_for_the_path(here, act):
    (here / "mine.csv").write_text(LIST)
    box = acted_before_it_is_typed(
        stock_list, act, lambda box: setattr(box.path, "value", "mine.csv"), lambda box: box.text
    )
    assert box.stock == read_stock(LIST) and box.error is None


def test_its_list_says_what_it_is():
    choice = stock_list().choice
    assert choice.description == choice.tooltip == "stock list"


def test_a_list_that_is_uploaded_takes_the_place_of_the_one_before():
    heard = []
    box = stock_list()
    box.changed = lambda: heard.append(box.stock)
    uploaded(box, "bench.csv", LIST.encode())
    assert box.stock == read_stock(LIST) and heard == [box.stock] and box.text.startswith("Bench.csv: 1 row")
    uploaded(box, "again.csv", LIST.replace("24", "25").encode("utf-16"))
    assert box.stock.gears[0].teeth == 25 and len(heard) == 2 and box.error is None
    box.choice.value = INVENTED
    assert len(box.stock.gears) == 150 and len(heard) == 3


@pytest.mark.parametrize("content", [b"", b"a;b\n1;2", b"\x00\x01", LIST[5:].encode()])
def test_what_cant_be_read_is_said_and_the_list_stays(content):
    box = stock_list()
    uploaded(box, "bad.csv", content)
    assert box.text.startswith("Not read: ") and len(box.stock.gears) == 150 and box.error is None


@pytest.mark.parametrize(
    "path, why", [("gone.csv", "can't read"), ("", "no path is given"), ("  ", "no path")]
)
def test_a_path_that_leads_nowhere_is_said(here, path, why):
    box = stock_list()
    box.path.value = path
    box.read_button.click()
    assert why in box.text and len(box.stock.gears) == 150 and box.error is None
