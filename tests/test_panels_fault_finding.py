"""The panel that finds a fault: entries, removals, checks, covers, a repair that fails, another machine."""

from __future__ import annotations

import asyncio
import random
import re
from html import unescape

import pytest
from small_machine import values
from small_released import stepping_driven

from mechlib.bench.checks import LOOK, MARK, Check
from mechlib.bench.fault_search import CAUTIONS, Search, fault_search
from mechlib.bench.observations import SURE, checked, looked_at, mark_seen, tried
from mechlib.bench.suspects import suspects
from mechlib.errors import MechError
from mechlib.panels import fault_finding as room
from mechlib.panels.fault_finding import fault_finding
from mechlib.panels.search_entries import Entered
from mechlib.panels.seen_form import CHOOSE, ROW_PX
from mechlib.panels.timing_card import TimingCardBox
from mechlib.transports import load
from mechlib.transports.files import DATA, transport_from

DOGWOOD = load("dogwood")
COMPLAINT = tried("STOP", "OUT", "stands wrong", which="holder")
BEHIND = [COMPLAINT, mark_seen("mode switch", -3), mark_seen("mode switch", -3)]


def words(widget) -> str:
    """All that a widget and those in it say."""
    inside = " ".join(words(child) for child in getattr(widget, "children", ()))
    own = getattr(widget, "value", "") if widget.__class__.__name__ == "HTML" else ""
    return unescape(re.sub(r"<[^>]*>", "", own)) + inside


def enter(panel, **chosen) -> None:
    """Choose in the lists and press the button, as hands would."""
    for name, value in chosen.items():
        panel.form.controls[name].value = value
    panel.form.add_button.click()


def test_it_says_what_the_search_says():
    panel = fault_finding("dogwood")
    assert panel.text == fault_search(DOGWOOD).sentence() and panel.error is None
    assert "Nothing is entered yet." in words(panel.entries) and panel.check_buttons == []
    enter(panel, start="STOP", target="OUT", what="stands wrong", detail="holder")
    wanted = fault_search(DOGWOOD, panel.observations)
    assert [one.sentence() for one in panel.observations] == [COMPLAINT.sentence()]
    assert panel.text == panel.ranking.text == wanted.sentence()
    assert panel.ranking.listed.split() == wanted.text().split()
    frame = panel.ranking.children[-2].value  # sentences fill the box's width, tables keep their columns
    assert f'<span style="white-space: pre-wrap">1. {COMPLAINT.sentence()}</span>' in unescape(frame)
    assert f"\n{wanted.checks_text().splitlines()[0]}\n" in frame
    assert [b.description.split(": ")[-1] for b in panel.check_buttons] == [
        a.check.words for a in wanted.advice
    ]
    assert panel.check_buttons[0].description.startswith("▸ the plan: ")
    assert all(f"{a.bits_per_minute:.3f} bits a minute" in words(panel.checks) for a in wanted.advice)


def test_what_is_given_at_first_and_removed():
    panel = fault_finding("dogwood", BEHIND)
    assert len(panel.remove_buttons) == 3 and "3. Look at the mark of the mode switch" in words(panel.entries)
    panel.remove_buttons[1].click()
    assert panel.text == fault_search(DOGWOOD, [BEHIND[0], BEHIND[2]]).sentence()
    for _ in range(2):
        panel.remove_buttons[0].click()
    assert panel.observations == [] and panel.text == fault_finding("dogwood").text
    with pytest.raises(MechError):
        fault_finding("dogwood", [tried("STOP", "OUT", "exploded")])
    with pytest.raises(MechError):
        fault_finding("dogwood", off=["lid"])


def test_a_check_of_the_list_is_chosen_and_its_result_added():
    panel = fault_finding("dogwood", [COMPLAINT])
    for number, advice in enumerate(panel.search.advice):
        panel.check_buttons[number].click()
        assert panel.form.check == advice.check and panel.error is None
    check = Check(MARK, "mode switch")
    panel.form.show(check)
    assert panel.form.check == check
    enter(panel)
    assert "what was seen isn't chosen" in words(panel.form.note) and len(panel.observations) == 1
    enter(panel, what="teeth off")
    assert "Not added" in panel.form.note.value and len(panel.observations) == 1  # how many teeth?
    enter(panel, number="−3", sure="quite sure")
    assert panel.observations[-1] == checked(DOGWOOD, mark_seen("mode switch", -3, error_rate=SURE))
    assert panel.form.controls["number"].value == ""


def test_a_result_is_chosen_for_each_check_and_never_added_twice():
    panel = fault_finding("dogwood", [COMPLAINT])
    controls = panel.form.controls
    assert controls["what"].value == CHOOSE
    panel.form.show(Check(MARK, "mode switch"))
    controls["what"].value = "lines up"
    panel.form.show(Check(MARK, "loading gear"))
    assert controls["what"].value == CHOOSE
    enter(panel, what="lines up")
    panel.form.add_button.click()  # a double click
    assert len(panel.observations) == 2 and "isn't chosen" in words(panel.form.note)
    panel.form.show(Check(LOOK, "holder"))
    assert panel.form.check == Check(LOOK, "holder") and controls["what"].value == CHOOSE


@pytest.mark.parametrize("typed, kept", [("2 teeth", 2), ("−1,5", -1.5), ("2°", None), ("2 mm", None)])
def test_teeth_of_a_mark_are_typed_in_teeth(typed, kept):
    panel = fault_finding("dogwood")
    panel.form.show(Check(MARK, "mode switch"))
    enter(panel, what="teeth off", number=typed)
    if kept is None:
        assert "the question asks for teeth" in panel.form.note.value and panel.observations == []
    else:
        assert panel.observations[0].read.number == kept


def test_presses_that_waited_do_what_they_were_made_for():
    """Two presses in a row, the second made before the page knew what came of the first."""
    panel = fault_finding("dogwood", [*BEHIND, looked_at("holder", "bent")])
    _, second, third, _ = panel.remove_buttons
    second.click()
    third.click()
    second.click()
    assert [one.sentence() for one in panel.observations] == [
        checked(DOGWOOD, one).sentence() for one in (COMPLAINT, looked_at("holder", "bent"))
    ]
    panel = fault_finding("dogwood", BEHIND)
    works, fails, step = panel.works_button, panel.fails_button, panel.search.step
    fails.click()
    fails.click()
    assert panel.entered.mended == step.repairs and panel.error is None
    works.click()
    assert "it was" not in words(panel.words)


def test_covers_ticked_in_a_row_all_count():
    panel = fault_finding("birch", off=["top cover"])
    boxes = list(panel.cover_boxes.items())[:3]
    for _, box in boxes:
        box.value = not box.value
    assert panel.entered.off == {name for name, box in boxes if box.value} and len(panel.entered.off) == 2
    old = panel.form
    panel.machine.value = "Dogwood"
    boxes[0][1].value = not boxes[0][1].value  # of a machine that is gone
    old.controls["what"].value = old.controls["what"].options[1]
    old.add_button.click()
    assert panel.entered.off == frozenset() and panel.observations == [] and panel.error is None


def test_a_machine_that_cant_be_taken_leaves_the_one_before(monkeypatch):
    panel = fault_finding("dogwood", [COMPLAINT])
    text, form = panel.text, panel.form

    def refuse(*_):
        raise MechError("no such machine works")

    with monkeypatch.context() as broken:
        broken.setattr(Entered, "search", refuse)
        panel.machine.value = "Birch"
    assert "no such machine works" in words(panel.words) and panel.error is None
    assert (panel.machine.value, panel.transport, panel.form, panel.text) == ("Dogwood", DOGWOOD, form, text)
    assert len(panel.observations) == 1 and not form.add_button.disabled


def test_a_machine_of_one_mode_has_no_change_to_enter():
    file = values()
    file["mode"], file["controller"]["order"] = file["mode"][:1], ["IN"]
    del file["controller"]["watch"]
    panel = fault_finding(transport_from(file, "one.toml"))
    enter(panel)
    assert "Not added" in panel.form.note.value and panel.error is None
    panel.form.show(Check(MARK, "switch"))
    enter(panel, what="lines up")
    assert len(panel.observations) == 1 and panel.error is None


@pytest.mark.parametrize("name", ["dogwood", "birch", "cedar"])
def test_every_kind_can_be_chosen_and_only_its_lists_are_shown(name):
    panel, dice = fault_finding(name), random.Random(5)
    controls = panel.form.controls
    for kind in controls["kind"].options:
        controls["kind"].value = kind
        for _ in range(6):
            shown = [one for one, control in controls.items() if control.layout.display != "none"]
            assert {"kind", "sure"} <= set(shown) and panel.error is None
            assert ROW_PX * len(shown) <= float(panel.form.lists.layout.min_height.removesuffix("px"))
            for one in shown[1:-1]:
                if one != "number":
                    left = [option for option in controls[one].options if option != CHOOSE]
                    controls[one].value = dice.choice(left)
            controls["number"].value = "2"
            if controls["what"].value == CHOOSE:  # it wasn't shown yet when the others were chosen
                with pytest.raises(MechError, match="isn't chosen"):
                    panel.form.observation()
            elif controls["start"].value != controls["target"].value:
                assert panel.form.observation().check == panel.form.check


def test_a_change_into_itself_and_bad_numbers_are_told():
    panel = fault_finding("dogwood")
    enter(panel, start="STOP", target="STOP")
    assert "Not added" in panel.form.note.value and panel.observations == []
    enter(panel, target="PLAY", what="motor held up, then powered off", number="half way")
    assert "half way" in panel.form.note.value and panel.observations == []
    enter(panel, number="")
    assert panel.form.note.value == "" and panel.observations[0].read.number is None


def test_what_does_not_go_together_is_said_at_its_entry():
    panel = fault_finding("dogwood", [looked_at("holder", "bent"), looked_at("loading gear", "split")])
    doubtful = {n for group in panel.search.finding.doubtful for n in group}
    for number, row in enumerate(panel.entries.children):
        assert ("Look again" in words(row)) == (number in doubtful)


def test_a_repair_its_steps_the_card_and_one_that_fails():
    panel = fault_finding("dogwood", BEHIND)
    assert panel.search.repair_steps().text().split()[-9:] == panel.ranking.listed.split()[-9:]
    assert "The steps stand in the list below." in words(panel.repair)
    panel.card_button.click()
    assert panel.error is None and isinstance(panel.card.children[0], TimingCardBox)
    panel.works_button.click()
    told = words(panel.words)
    assert "Most probably it was: mode switch slipped behind." in told
    assert "Put every cover on, then prove" in told  # under power every cover is on
    mended = panel.search.step.repairs
    panel.fails_button.click()
    assert panel.entered.mended == mended and panel.error is None
    assert panel.text == fault_search(DOGWOOD, BEHIND, mended=mended).sentence()


def test_with_covers_off_a_change_asks_to_put_them_back():
    panel = fault_finding("birch", [tried("STOP", "PLAY", "worked")], off=["top cover"])
    rows = [words(row) for row in panel.checks.children if "bits a minute" in words(row)]
    for advice, told in zip(panel.search.advice, rows, strict=True):
        assert ("first put back the top cover" in told) == bool(panel.search.to_put_back(advice.check))
    assert any("first put back" in told for told in rows) and CAUTIONS[3] in words(panel.checks)


def test_a_file_of_ones_own(tmp_path):
    own = tmp_path / "mine.toml"
    text = (DATA / "dogwood.toml").read_text("utf-8").replace('name = "Dogwood"', 'name = "Mine"')
    own.write_text(text, "utf-8")
    panel = fault_finding(own)
    assert panel.machine.value == "Mine" and "Alder" in panel.machine.options and "on Mine" in panel.text
    panel.add(looked_at("holder", "bent"))
    assert panel.search.finding.first.words == "holder bent" and panel.error is None


def test_progress_is_shown_while_it_works_out():
    panel, seen = fault_finding("dogwood"), []
    panel.bar.observe(lambda change: seen.append((change.new, panel.bar.layout.display)), "value")
    panel.form.add_button.observe(lambda change: seen.append(change.new), "disabled")
    panel.add(looked_at("holder", "bent"))
    assert (
        seen[0] is True
        and seen[-1] is False
        and panel.bar.layout.display == "none"
        and not panel.form.add_button.disabled
    )
    assert Check(LOOK, "holder") == panel.observations[0].check


def test_cautions_stand_below_the_checks():
    panel = fault_finding(stepping_driven(), [tried("REST", "HALF", "never moved")])
    assert panel.search.cautions
    assert all(caution in words(panel.checks) for caution in panel.search.cautions)
    start = fault_finding(stepping_driven())  # the form offers every check already
    assert start.search.cautions and all(caution in words(start.checks) for caution in start.search.cautions)


def test_while_the_reader_looks_later_answers_are_worked_out(monkeypatch):
    """A suspect at a time, so that all else goes on: from the first answer or choice of a machine on, anew
    with each; nothing before, since the page may only have been opened."""
    done, ahead = {}, Search.ahead

    def counted(search):
        for part in ahead(search):
            done.setdefault(search, []).append(part)
            yield part

    async def until(search, many):
        async with asyncio.timeout(60):
            while len(done.get(search, ())) < many:
                await asyncio.sleep(0)

    async def look_on():
        panel = fault_finding("dogwood")
        await asyncio.sleep(0.1)
        assert not done
        panel.add(COMPLAINT)
        first, shown = panel.search, panel.text
        await until(first, 3)
        panel.add(BEHIND[1])
        second, many = panel.search, len(suspects(DOGWOOD))
        await until(second, many)
        assert len(done[first]) < many and done[second][0] == 1 / many and done[second][-1] == 1
        panel.remove(BEHIND[1])
        assert panel.text == shown and panel.error is None
        panel.machine.value = "Birch"
        await until(panel.search, 3)
        assert panel.search.transport == load("birch") and panel.observations == [] and len(done) <= 4

    monkeypatch.setattr(Search, "ahead", counted)
    monkeypatch.setattr(room, "BREATH_S", 0.001)
    asyncio.run(look_on())
