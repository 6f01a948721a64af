"""The panel of a bench case: what its buttons do, what it shows, what it writes down."""

from __future__ import annotations

import random
from html import unescape

import pytest

from mechlib.bench.checks import MARK, Check
from mechlib.bench.suspects import SLIP
from mechlib.errors import MechError
from mechlib.panels.bench_case import GIVE_UP, SEE, bench_case_panel
from mechlib.panels.bench_case import BenchCasePanel as Panel
from mechlib.teaching.bench_cases import LEVELS, SLACK_OR_GLAZED, bench_case
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
    assert "about as fast as the plan" in panel.words.value and panel.score_button.disabled
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
    check, takes = panel.controls["check"], panel.check_takes
    panel.controls["kind of check"].value = MARK
    assert check.options[0][0].startswith("8.0 min: look at the mark")  # in sight in a narrow list, too
    assert takes.value == "It takes 8.0 min. To come off first: the rear cover and flywheel bracket."
    panel.check_button.click()
    assert check.options[0][0].startswith("2.0 min: ") and check.options[1][0].startswith("4.0 min: ")
    assert check.value == Check(MARK, "lever cam")
    assert takes.value == "It takes 2.0 min. To come off first: nothing more."
    check.value = Check(MARK, "switch rotor")
    assert takes.value == "It takes 4.0 min. To come off first: the switch plate."


def test_a_repair_is_priced_before_it_is_paid():
    """What every repair is said to take is what the clock then shows, covers off or not."""
    for kind, of in ((SLIP, "lever cam"), ("dirty contact", "contacts A and B"), (SLACK_OR_GLAZED, None)):
        for look_first in (False, True):
            panel = bench_case_panel(1, 5)
            if look_first:
                panel.controls["kind of check"].value = MARK
                panel.check_button.click()
            panel.controls["kind of fault"].value = kind
            if of:
                panel.controls["of"].value = of
            panel.controls["teeth"].value = -3
            before, covers = panel.work.minutes, panel.work.known.off
            label = next(words for words, value in panel.controls["of"].options
                         if value == panel.controls["of"].value)  # fmt: skip
            told = panel.mend_takes.value
            panel.mend_button.click()
            takes = f"{panel.work.minutes - before:.1f} min"
            assert label.startswith(f"{takes}: ") and told.startswith(f"It takes {takes}.")
            assert all(cover in told for cover in panel.work.known.off - covers) and panel.error is None


def test_only_faults_of_the_level_are_offered():
    offered = set(bench_case_panel(1, 5).controls["kind of fault"].options)
    assert offered <= {*LEVELS[1].kinds, SLACK_OR_GLAZED}
    assert "electronics" in bench_case_panel(2, 1).controls["kind of fault"].options


def test_a_change_that_held_the_motor_up_is_marked_before_it_is_asked_for_again():
    panel = bench_case_panel(1, 5)
    held = panel.work.known.seen[0].check
    assert panel.controls["check"].value != held and "cool" not in panel.check_takes.value
    panel.controls["check"].value = held
    assert "only after a repair, the motor cooled" in panel.check_takes.value


@pytest.mark.parametrize("typed", ["2.7", "1e3", "-5", "0", "", "1000000", "seven"])
def test_what_is_typed_is_opened_or_refused_and_never_something_else(typed):
    panel = bench_case_panel(1, 7)
    before = panel.text
    panel.controls["number"].value = typed
    panel.open_button.click()
    assert "Not opened: " in panel.words.value and panel.text == before and panel.error is None
    panel.controls["number"].value = " 27 "
    panel.open_button.click()
    assert panel.text == CaseWork(bench_case(1, 27)).text()


def test_the_level_is_told_in_full_as_it_is_chosen():
    panel = bench_case_panel(1, 7)
    for level in LEVELS:
        panel.controls["level"].value = level
        assert unescape(panel.level_words.value) == LEVELS[level].sentence()


def test_giving_up_closes_the_case_and_another_opens_it_anew(tmp_path):
    panel = Panel(1, 7, Progress(tmp_path))
    panel.score_button.click()
    assert panel.check_button.disabled and "given up after 0.0 min" in panel.words.value
    assert found_in(tmp_path) == [("Bench case of level 1", 7, GIVEN_UP)]
    panel.controls["level"].value, panel.controls["number"].value = 2, "1"
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
