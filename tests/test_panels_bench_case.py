"""The panel of a bench case: what its buttons do, what it shows, what it writes down."""

from __future__ import annotations

import random
from html import unescape

import pytest

from mechlib.bench.checks import MARK, Check
from mechlib.errors import MechError
from mechlib.panels.bench_case import GIVE_UP, SEE, bench_case_panel
from mechlib.panels.bench_case import BenchCasePanel as Panel
from mechlib.teaching.bench_cases import bench_case
from mechlib.teaching.case_work import CaseWork
from mechlib.teaching.progress import Progress
from mechlib.teaching.records import GIVEN_UP


def shown(box) -> str:
    page = box.value
    return unescape(page[page.index(">") + 1 : page.index("</pre>")])


def found_in(folder) -> list[tuple[str, int, str]]:
    return [(one.exercise, one.seed, one.found) for one in Progress(folder).read().records]


def test_a_case_from_complaint_to_replay(tmp_path):
    panel = Panel(1, 7, Progress(tmp_path))
    controls, alone = panel.controls, CaseWork(bench_case(1, 7))
    assert panel.text == shown(panel.log_text) == alone.text() and panel.score_button.description == GIVE_UP
    controls["kind of check"].value = MARK
    controls["check"].value = Check(MARK, "mode switch")
    panel.check_button.click()
    alone.check(Check(MARK, "mode switch"))
    assert panel.text == alone.text() and "Clock: 2.0 min." in panel.clock.value
    controls["kind of fault"].value, controls["of"].value = "slip", "mode switch"
    panel.mend_button.click()
    assert "teeth is 0" in panel.words.value and panel.work.minutes == 2
    controls["teeth"].value = 1
    panel.mend_button.click()
    alone.mend(alone.named("slip", "mode switch", 1))
    assert panel.text == shown(panel.log_text) == alone.text() and panel.score_button.description == SEE
    assert panel.check_button.disabled and panel.mend_button.disabled
    panel.score_button.click()
    assert "as good as the plan" in panel.words.value and panel.score_button.disabled
    told = shown(panel.replay_text)
    assert told.startswith("What was wrong: The mode switch is 1 tooth ahead of its mark.")
    assert told.index("YOUR STEPS") < told.index("THE PLAN'S STEPS") and panel.error is None
    assert found_in(tmp_path) == [("Bench case of level 1", 7, "right")]


def test_the_teeth_are_asked_for_a_slip_alone():
    panel = bench_case_panel(1, 7)
    for kind in panel.controls["kind of fault"].options:
        panel.controls["kind of fault"].value = kind
        assert (panel.controls["teeth"].layout.display is None) == (kind == "slip")
        assert panel.controls["of"].value is not None
    assert panel.error is None


def test_prices_fall_once_covers_are_off():
    panel = bench_case_panel(1, 5)
    panel.controls["kind of check"].value = MARK
    assert "(8.0 min, the rear cover and flywheel bracket off first)" in panel.controls["check"].options[0][0]
    panel.check_button.click()
    assert "(2.0 min)" in panel.controls["check"].options[0][0]
    assert "(4.0 min, the switch plate off first)" in panel.controls["check"].options[1][0]
    assert panel.controls["check"].value == Check(MARK, "lever cam")


def test_giving_up_closes_the_case_and_another_opens_it_anew(tmp_path):
    panel = Panel(1, 7, Progress(tmp_path))
    panel.score_button.click()
    assert panel.check_button.disabled and "given up after 0.0 min" in panel.words.value
    assert found_in(tmp_path) == [("Bench case of level 1", 7, GIVEN_UP)]
    panel.controls["level"].value, panel.controls["number"].value = 2, 1
    panel.open_button.click()
    assert panel.text == CaseWork(bench_case(2, 1)).text() and panel.replay_text.value == ""
    assert not panel.check_button.disabled and not panel.score_button.disabled and panel.error is None


@pytest.mark.parametrize("level, number", [(1, 5), (2, 2), (3, 2)])
def test_random_walks_leave_no_error(level, number):
    panel, dice = bench_case_panel(level, number), random.Random(3)
    for _ in range(25):
        kind = dice.choice(panel.controls["kind of check"].options)
        panel.controls["kind of check"].value = kind
        panel.controls["check"].value = dice.choice(panel.controls["check"].options)[1]
        panel.check_button.click()
        assert panel.error is None and "nan" not in panel.text and "None" not in panel.text
    assert len(panel.work.did) == 25


def test_what_is_no_case_is_refused():
    for level, number in ((0, 1), (1, 0), (1, 10**6), (4, 1)):
        with pytest.raises(MechError):
            bench_case_panel(level, number)
