"""A class of readers, from their files: counted here by hand."""

import csv
import io
from dataclasses import replace

import pytest

from mechlib.errors import MechError
from mechlib.teaching.case_work import OTHER_CAUSE
from mechlib.teaching.class_table import class_table, table_of
from mechlib.teaching.pages import Page
from mechlib.teaching.records import CASES, GIVEN_UP, ONE_OF_TWO, Check, Guess, written

GEARS = Page("02_gears.ipynb", "Gears", (), "", ("trains",), 2, 1, frozenset({"Which way?"}))
BELTS = Page("07_belts.ipynb", "Belts", (), "", ("belts",), 1, 0, frozenset())
PAGES = (GEARS, BELTS)


def check(minute: int, reader: str, lesson: str, exercise: str, found: str, seed: int = 0) -> Check:
    return Check(f"2031-03-01T10:{minute:02}:00", reader, lesson, exercise, seed or minute, found)


ANN = [
    check(1, "Ann", "trains", "Worm", "empty"),
    check(2, "Ann", "trains", "Worm", "sign lost"),
    check(3, "Ann", "trains", "Worm", "sign lost"),
    check(4, "Ann", "trains", "Worm", "right"),
    check(5, "Ann", "trains", "Rack", "idler counted"),
    Guess("2031-03-01T10:00:00", "Ann", "Which way?", "later"),
    Guess("2031-03-01T10:00:30", "Ann", "Which way?", "later", "earlier"),
]
BEN = [
    check(1, "Ben", "trains", "Worm", "sign lost"),
    check(2, "Ben", "trains", "Rack", "idler counted"),
    check(3, "Ben", "belts", "Size", "right"),
    check(4, "Ben", "old lesson", "Gone", "right"),
]
NOBODY = [check(9, "", "belts", "Size", "wrong unit")]


@pytest.fixture
def folder(tmp_path):
    def put(name, records, more=""):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("".join(written(record) + "\n" for record in records) + more, encoding="utf-8")

    put("ann/progress/a.jsonl", ANN[:4])
    put("ann/progress/b.jsonl", ANN[3:], "torn")  # one record twice
    put("ben.jsonl", BEN)
    put("carrels/3/c.jsonl", NOBODY)
    put("rubbish.jsonl", [], "no progress at all")
    return tmp_path


def test_who_did_what(folder):
    table = class_table(folder, PAGES)
    assert table.who_rows() == [
        ("Ann", "Gears", "1 of 2", "1 of 1", "2031-03-01"),
        ("Ben", "Gears", "0 of 2", "0 of 1", "2031-03-01"),
        ("Ben", "Belts", "1 of 1", "0", "2031-03-01"),
        ("Ben", "(no page of this workbook)", "1", "0", "2031-03-01"),
        ("no name (carrels/3)", "Belts", "0 of 1", "0", "2031-03-01"),
    ]


def test_which_slips_recur_and_what_most_make_comes_first(folder):
    assert class_table(folder, PAGES).slip_rows() == [
        ("02", "Worm", "sign lost", "2", "3"),
        ("02", "Rack", "idler counted", "2", "2"),
    ]  # the wrong unit was given once


def test_what_many_make_comes_before_what_one_makes_often(tmp_path):
    often = [check(minute, "Ann", "trains", "Worm", "sign lost") for minute in range(5)]
    many = [check(9, reader, "trains", "Rack", "idler counted") for reader in ("Ann", "Ben")]
    (tmp_path / "a.jsonl").write_text("\n".join(written(record) for record in often + many))
    rows = class_table(tmp_path, PAGES).slip_rows()
    assert [row[2:] for row in rows] == [("idler counted", "2", "2"), ("sign lost", "1", "5")]


def test_where_people_stop(folder):
    assert class_table(folder, PAGES).stop_rows() == [("02", "Rack", "2"), ("07", "Size", "1")]


def test_who_stops_after_a_right_answer_is_seen_on_the_last_page():
    """The first page has two exercises: one right and nothing after it is a place where somebody stopped."""
    first = check(1, "Ann", "trains", "Worm", "right")
    assert table_of({first: "Ann"}, PAGES).stop_rows() == [("02", "after “Worm”", "1")]
    both = (first, check(2, "Ann", "trains", "Rack", "right"))
    assert table_of(dict.fromkeys(both, "Ann"), PAGES).stop_rows() == []
    on = (first, check(3, "Ann", "belts", "Size", "right"))
    assert table_of(dict.fromkeys(on, "Ann"), PAGES).stop_rows() == []  # went on to another page


def test_of_two_tries_in_one_minute_the_later_one_counts():
    first, second = (
        replace(check(5, "Ann", "trains", name, "sign lost"), at=f"2031-03-01T10:05:{second}")
        for name, second in (("Worm", "10.250"), ("Rack", "10.900"))
    )
    for records in ((first, second), (second, first)):
        assert table_of(dict.fromkeys(records, "Ann"), PAGES).stop_rows() == [("02", "Rack", "1")]


def test_bench_cases_are_no_exercises_and_giving_up_is_no_slip():
    cases = Page("14_cases.ipynb", "Cases", (), "", (CASES,), 0, 0, frozenset())
    found = (OTHER_CAUSE, ONE_OF_TWO, OTHER_CAUSE, "right", GIVEN_UP, GIVEN_UP, ONE_OF_TWO)
    records = [check(at, "Ann", CASES, "Bench case of level 3", each, 7) for at, each in enumerate(found)]
    table = table_of(dict.fromkeys(records, "Ann"), (cases,))
    assert table.slip_rows() == [("14", "Bench case of level 3", OTHER_CAUSE, "1", "2")]
    assert [(task.kind, task.tries) for task in table.tasks] == [("bench case", 5)]
    assert table.sentence().startswith("1 reader; 0 exercises right in all.")
    assert table.who_rows() == [("Ann", "Cases", "0, 1 case", "0", "2031-03-01")]
    left = [one for one in records if one.found != "right"]
    assert table_of(dict.fromkeys(left, "Ann"), (cases,)).stop_rows() == [
        ("14", "Bench case of level 3", "1")
    ]


def test_each_case_has_its_line_and_giving_up_shows():
    """Number 7 was given up, opened again and mended as the plan said; 8 mended; 9 given up for good."""
    cases = Page("14_cases.ipynb", "Cases", (), "", (CASES,), 4, 0, frozenset())
    found = [(7, OTHER_CAUSE), (7, GIVEN_UP), (7, "right"), (8, "right"), (8, GIVEN_UP), (9, OTHER_CAUSE)]
    found += [(9, GIVEN_UP), (10, OTHER_CAUSE)]
    records = [
        check(at, "Ann", CASES, "Bench case of level 1", each, n) for at, (n, each) in enumerate(found)
    ]
    table = table_of(dict.fromkeys(records, "Ann"), (cases,))
    rows = list(csv.DictReader(io.StringIO(table.csv())))
    assert [(row["task"], row["tries"], row["outcome"]) for row in rows] == [
        ("Bench case of level 1, number 7", "2", "right, given up first"),
        ("Bench case of level 1, number 8", "1", "right"),
        ("Bench case of level 1, number 9", "1", "given up"),
        ("Bench case of level 1, number 10", "1", "not yet right"),
    ]
    assert table.who_rows() == [("Ann", "Cases", "0 of 4, 1 case, 2 given up", "0", "2031-03-01")]
    assert table.slip_rows() == [("14", "Bench case of level 1", OTHER_CAUSE, "1", "3")]
    assert table.stop_rows() == [("14", "Bench case of level 1", "1")]


def test_what_cannot_be_judged_is_no_slip_and_the_same_answer_again_counts_once():
    unread = ("not a number", "too large", "wrong unit", "rounding", "thousands", "empty")
    found = [each for each in unread for _ in range(2)] + ["sign lost"] * 3 + ["unrecognised"] * 2
    records = [check(at, "Ann", "trains", "Worm", each, 1) for at, each in enumerate(found)]
    table = table_of(dict.fromkeys(records, "Ann"), PAGES)
    assert [task.slips for task in table.tasks] == [(("unrecognised", 2), ("sign lost", 1))]
    assert table.tasks[0].tries == len(found) - 2  # nothing filled in is no try


def test_one_name_from_two_folders_is_two_people(tmp_path):
    """But one person's two folders within one, or a copy of a file, are no two people."""
    here = {"first/day 1": ANN[:2], "first/day 2": ANN[2:4], "second": ANN[4:], "copied": BEN, "ben": BEN}
    for name, records in here.items():
        (tmp_path / name).mkdir(parents=True)
        (tmp_path / name / "a.jsonl").write_text("".join(written(one) + "\n" for one in records), "utf-8")
    table = class_table(tmp_path, PAGES)
    assert [reader.reader for reader in table.readers] == ["Ann (first)", "Ann (second)", "Ben"]
    first, second, _ = table.readers
    assert (first.rows[0].right, second.rows[0].right, second.rows[0].guesses) == (1, 0, 1)


def test_damaged_files_are_told_and_the_rest_is_used(folder):
    table = class_table(folder, PAGES)
    assert [trouble.split(" ")[0] for trouble in table.troubles] == ["rubbish.jsonl", "ann/progress/b.jsonl:"]
    assert table.sentence() == (
        "3 readers; 3 exercises right in all. Most made: “sign lost” (Worm). 2 troubles in reading."
    )
    assert table.text().endswith(table.troubles[-1])
    assert all(title in table.text() for title in ("Who did what", "Which slips recur", "Where people stop"))


def test_each_task_is_told_and_written_as_csv(folder):
    table = class_table(folder, PAGES)
    rows = list(csv.DictReader(io.StringIO(table.csv())))
    assert len(rows) == len(table.tasks) == 8
    worm = next(row for row in rows if (row["reader"], row["task"]) == ("Ann", "Worm"))
    assert (worm["page"], worm["kind"], worm["tries"], worm["outcome"]) == (
        "02 Gears",
        "exercise",
        "3",
        "right",
    )
    assert (worm["slips"], worm["last on"]) == ("sign lost × 2", "2031-03-01 10:04")
    asked = next(row for row in rows if row["kind"] == "guess")
    assert (asked["task"], asked["outcome"]) == ("Which way?", "guessed later, came earlier")
    gone = next(row for row in rows if row["task"] == "Gone")
    assert gone["page"] == "(no page of this workbook)"
    assert table.tasks[1].sentence() == "Ann, “Worm”: right (3 tries). Slips: sign lost × 2."


def test_no_cell_is_a_formula_for_a_spreadsheet(tmp_path):
    evil = check(1, '=HYPERLINK("x")', "trains", "+1", "@slip")
    (tmp_path / "e.jsonl").write_text(written(evil))
    (row,) = csv.DictReader(io.StringIO(class_table(tmp_path, PAGES).csv()))
    assert row["reader"] == '\'=HYPERLINK("x")' and row["task"] == "'+1" and row["slips"] == "'@slip × 1"


def test_an_empty_folder_gives_an_empty_table_and_none_an_error(tmp_path):
    table = class_table(tmp_path, PAGES)
    assert (table.readers, table.tasks, table.troubles) == ((), (), ())
    assert table.text().count("nothing yet") == 3
    assert table.sentence() == "0 readers; 0 exercises right in all."
    with pytest.raises(MechError, match="there is no folder"):
        class_table(tmp_path / "none", PAGES)
