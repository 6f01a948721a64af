"""What a reader has done, summed up page by page."""

from dataclasses import replace

from mechlib.teaching.done import done
from mechlib.teaching.pages import Page
from mechlib.teaching.records import Check, Guess

GEARS = Page("02_gears.ipynb", "Gears", (), "", ("trains",), 2, 1, frozenset({"Which way?"}))
BELTS = Page("07_belts.ipynb", "Belts", (), "", ("belts",), 1, 0, frozenset())
START = Page("00_start.ipynb", "Start", (), "", (), 0, 0, frozenset())
PAGES = (START, GEARS, BELTS)


def check(day: int, lesson: str, exercise: str, found: str, reader: str = "") -> Check:
    return Check(f"2031-03-{day:02}T10:00:00", reader, lesson, exercise, 1, found)


def guess(day: int, question: str, reader: str = "") -> Guess:
    return Guess(f"2031-03-{day:02}T10:00:00", reader, question, 1.0)


def test_nothing_done_yet():
    result = done([], PAGES)
    assert result.table() == (
        ("Gears", "0 of 2", "0 of 1", "not begun"),
        ("Belts", "0 of 1", "0", "not begun"),
    )
    assert result.sentence() == "You: 0 of 3 exercises right; guesses made: 0. Go on with: Gears."
    assert result.rows[0].sentence() == "Gears: not begun."


def test_an_exercise_counts_once_and_only_when_right_and_of_this_reader():
    records = [
        check(1, "trains", "Worm", "sign lost"),
        check(2, "trains", "Worm", "right"),
        check(3, "trains", "Worm", "right"),
        check(4, "trains", "Rack", "empty"),
        check(5, "belts", "Size", "right", "Ann"),
        check(6, "unknown", "Size", "right"),
        guess(2, "Which way?"),
        guess(3, "Which way?"),
        guess(4, "What else?"),
    ]
    result = done(records, PAGES)
    assert result.table()[0] == ("Gears", "1 of 2", "1 of 1", "2031-03-04")
    assert result.rows[0].sentence() == (
        "Gears: 1 of 2 exercises right, 1 of 1 guesses made, last on 2031-03-04."
    )
    assert result.table()[1] == ("Belts", "0 of 1", "0", "not begun")
    assert done(records, PAGES, "Ann").table()[1] == ("Belts", "1 of 1", "0", "2031-03-05")
    assert done(records, PAGES, "Ann").sentence().startswith("Ann: 1 of 3 exercises right; guesses made: 0.")


def test_go_on_with_the_page_begun_last_then_with_the_first_open_one():
    begun = [check(1, "belts", "Size", "slip"), check(2, "trains", "Worm", "right")]
    assert done(begun, PAGES).next_page is GEARS
    assert done([*begun, check(3, "belts", "Size", "slip")], PAGES).next_page is BELTS
    finished = [*begun, check(3, "trains", "Rack", "right")]
    assert done(finished, PAGES).next_page is BELTS
    result = done([*finished, check(4, "belts", "Size", "right")], PAGES)
    assert result.next_page is None and "Every exercise came right once" in result.sentence()


def test_bench_cases_are_counted_apart_from_exercises():
    page = Page("14_cases.ipynb", "Cases", (), "", ("bench_cases", "minutes"), 2, 0, frozenset())
    records = [
        check(1, "minutes", "Covers", "right"),
        *(
            check(day, "bench_cases", "Bench case of level 1", found)
            for day, found in ((2, "right"), (3, "right"))
        ),
        replace(check(4, "bench_cases", "Bench case of level 2", "right"), seed=9),
        check(5, "bench_cases", "Bench case of level 3", "another cause"),
    ]
    result = done(records, (page,))
    assert (result.rows[0].right, result.rows[0].cases, result.rows[0].finished) == (1, 2, False)
    assert result.table() == (("Cases", "1 of 2, 2 cases", "0", "2031-03-05"),)
    assert result.sentence() == "You: 1 of 2 exercises right; guesses made: 0. Go on with: Cases."
    told = "Cases: 1 of 2 exercises right, 2 cases mended, 0 guesses made, last on 2031-03-05."
    assert result.rows[0].sentence() == told


def test_a_page_without_boxes_shows_up_once_something_is_written_for_it():
    cases = Page("14_cases.ipynb", "Cases", (), "", ("cases",), 0, 0, frozenset())
    assert len(done([], (*PAGES, cases)).rows) == 2
    rows = done([check(1, "cases", "Case", "right")], (*PAGES, cases)).table()
    assert rows[-1] == ("Cases", "1", "0", "2031-03-01")
    assert "Cases" in done([check(1, "cases", "Case", "right")], (*PAGES, cases)).text()
