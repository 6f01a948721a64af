"""The box to look up a word, used as the page uses it."""

from test_panels_exercise import shown

from mechlib.panels.glossary import MOST, glossary_box


def test_what_is_typed_is_looked_up_at_once():
    box = glossary_box()
    assert shown(box) == repr(box) and box.table.value == ""
    box.word.value = "Worm "
    assert shown(box) == "4 words with “Worm”." and box.table.value.count("<tr>") == 5
    assert "page 01" in box.table.value
    box.word.value = "<b>"
    assert shown(box) == "0 words with “&lt;b&gt;”." and box.table.value == ""
    box.word.value = "solonoid"
    assert (
        shown(box).startswith("0 words with “solonoid”. Did you mean solenoid or ") and box.table.value == ""
    )
    box.word.value = "e"
    assert f"the first {MOST} are shown" in shown(box) and box.table.value.count("<tr>") == MOST + 1
    box.word.value = "dwell"
    assert "the start page" in box.table.value
    assert repr(box) == repr(glossary_box("cam")) and box.error is None
