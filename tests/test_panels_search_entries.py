"""What is entered of a machine: covers that follow it, how sure it was, repairs in vain, another machine."""

from __future__ import annotations

import pytest
from test_panels_fault_finding import BEHIND, DOGWOOD, enter, words

from mechlib.bench.checks import covers_for
from mechlib.bench.fault_search import fault_search
from mechlib.bench.observations import looked_at, mark_seen
from mechlib.errors import MechError
from mechlib.panels.fault_finding import fault_finding
from mechlib.panels.search_entries import Entered
from mechlib.panels.seen_form import FAIRLY
from mechlib.transports import load


def test_covers_of_entries_handed_over_are_off_and_go_on_with_them():
    panel = fault_finding("cedar", seen=[looked_at("rocker gear", "as it should be")])
    bare = {cover.name for cover in covers_for(panel.transport, panel.observations[0].check)}
    assert bare and {name for name, box in panel.cover_boxes.items() if box.value} == bare
    assert panel.entered.off == bare and panel.entered.by_hand == frozenset()
    margins = {box.layout.margin.split()[1] for box in panel.cover_boxes.values()}
    assert margins == {"1.5em"}  # on the right: else a box stands nearer to the name before it
    panel.remove_buttons[0].click()
    assert panel.entered.off == frozenset() and panel.error is None
    with pytest.raises(MechError, match="gearbox"):
        fault_finding("cedar", seen=[looked_at("gearbox", "bent")])


def test_another_machine_begins_anew_and_the_one_before_is_kept():
    panel = fault_finding("dogwood", BEHIND)
    panel.fails_button.click()
    text, entered = panel.text, panel.entered
    panel.machine.value = "Birch"
    assert panel.observations == [] and panel.text == fault_search(load("birch")).sentence()
    assert set(panel.cover_boxes) == {cover.name for cover in load("birch").covers}
    panel.cover_boxes["top cover"].value = True
    assert panel.entered.off == {"top cover"} and panel.error is None
    panel.machine.value = "Dogwood"
    assert (panel.text, panel.entered) == (text, entered) and len(panel.remove_buttons) == 3
    panel.machine.value = "Birch"
    assert panel.cover_boxes["top cover"].value and panel.error is None


def test_a_repair_in_vain_is_taken_back_and_all_can_begin_anew():
    panel = fault_finding("dogwood", BEHIND)
    before = panel.text
    assert panel.back_buttons == [] and not panel.anew_button.disabled
    panel.fails_button.click()
    assert "Mended: mode switch slipped off its mark; and it still fails." in words(panel.entries)
    (back,) = panel.back_buttons
    back.click()
    back.click()  # it is out already
    assert panel.text == before and panel.entered.mended == () and panel.error is None
    panel.fails_button.click()
    panel.anew_button.click()
    assert panel.entered == Entered(DOGWOOD) and panel.text == fault_finding("dogwood").text
    assert panel.anew_button.disabled and "Nothing is entered yet." in words(panel.entries)


def test_a_cover_that_came_off_for_an_entry_goes_on_with_it():
    """But not where it was ticked by hand, nor where another entry needs it off."""
    panel = fault_finding("alder", off=["top cover"])
    mark, again = mark_seen("brake cam"), mark_seen("brake cam")
    for seen in (mark, again):
        panel.add(seen)
    assert panel.entered.off == {"top cover", "bottom plate"}
    panel.remove_buttons[0].click()
    assert panel.entered.off == {"top cover", "bottom plate"}
    panel.remove_buttons[0].click()
    assert panel.entered.off == {"top cover"} and not panel.cover_boxes["bottom plate"].value


def test_how_sure_one_was_is_said_and_holds_for_one_entry():
    panel = fault_finding("dogwood")
    enter(panel, start="STOP", target="OUT", what="worked", sure="not sure")
    assert "worked (not sure)." in words(panel.entries)
    assert panel.form.controls["sure"].value == FAIRLY
    enter(panel, what="worked", sure="quite sure")
    enter(panel, what="worked")
    assert [one.sentence().partition("worked")[2] for one in panel.observations] == [
        " (not sure).", " (quite sure).", "."
    ]  # fmt: skip
