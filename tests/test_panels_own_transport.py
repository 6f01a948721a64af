"""The form as a reader fills it in: every widget moved, mistakes told."""

from __future__ import annotations

import random
import re
from html import unescape

import ipywidgets as widgets
import pytest
from share import times

from mechlib.bench.own_draft import EMPTY, Draft, values_from
from mechlib.bench.own_form import PAGES, SECTIONS
from mechlib.bench.own_typed import KINDS
from mechlib.bench.own_values import value_at
from mechlib.bench.own_words import place_words
from mechlib.errors import MechError
from mechlib.panels.own_fields import ANY, NOTHING
from mechlib.panels.own_transport import UNITS, OwnTransport, own_transport
from mechlib.transports import load, shipped


def words(html: widgets.HTML) -> str:
    return unescape(re.sub(r"<[^>]*>", "", html.value))


def rows(form: OwnTransport, table: str):
    page = next(page for page in PAGES if any(section.table == table for section in page.sections))
    return form.page(page.name).rows[table]


def box(form: OwnTransport, table: str, key: str, row: int = 0):
    one = rows(form, table)[row]
    if key not in one.boxes:
        one.more_button.click()
    return one.boxes[key]


def fill(form: OwnTransport, section, row: int, field, value) -> None:
    """Set the widgets of a box to a value, as hands would."""
    one = box(form, section.table, field.key, row)
    if field.kind in ("tick", "choice"):
        one.entry.value = value
    elif field.kind == "codes":
        for name in value:
            one.parts[name].value = True
    elif field.kind in ("needs", "need"):
        states = dict(form_names(form))
        for name, place in value.items():
            if field.kind == "need":
                one.parts["follower"].value = name
            which = "stands" if field.kind == "need" else name
            one.parts[which].value = place_words(place, states[name])
    else:
        one.entry.value = KINDS[field.kind].show(value)


def form_names(form: OwnTransport):
    return [(row["name"], tuple(row["states"])) for row in form.draft.values["follower"]]


def test_dogwood_filled_in_by_hand_from_an_empty_form():
    form, wanted = own_transport(EMPTY), Draft(values_from("dogwood"))
    for name in ("machine", "parts", "followers", "contacts", "modes", "interlocks", "controller"):
        page = form.page(name)
        for section in page.page.sections:
            for row, table in enumerate(wanted.tables(section)):
                while len(page.rows[section.table]) <= row:
                    page.add_buttons[section.table].click()
                for field in section.fields:
                    if (value := value_at(table, field)) is not None and field.key != "reference_mode":
                        fill(form, section, row, field, value)
    assert (
        form.text
        == "Dogwood: 1 blank to fill in. Once that is right, the form looks whether all goes together."
    )
    box(form, "", "reference_mode").entry.value = "OUT"
    assert form.error is None and form.draft.values == wanted.values
    assert form.transport() == load("dogwood") and form.text == wanted.checked.sentence()
    assert all(form.page(page.name).words.value.count("✓") for page in PAGES)


@pytest.mark.few(2)
@pytest.mark.parametrize("name", shipped())
def test_a_file_is_shown_and_nothing_of_it_changes(name):
    form = own_transport(name)
    for page in PAGES:
        form.turn_to(page.name)
        for made in form.page(page.name).rows.values():
            for one in made:
                one.open(True)
    assert form.error is None and form.draft.values == values_from(name) and form.transport() == load(name)
    assert form.text == form.draft.checked.sentence() and form.remarks.value == ""


def test_what_is_typed_is_shown_as_it_was_understood():
    form = own_transport()
    stop = box(form, "drive", "high_stop").entry
    stop.value = "36,5"
    assert stop.value == "36.5 teeth" and form.draft.values["drive"]["high_stop"] == {"teeth": 36.5}
    form.units.value = next(label for label, unit in UNITS.items() if unit == "turns")
    stop.value = "18.5"
    assert stop.value == "18.5 turns" and form.transport().high_deg == 277.5
    stop.value = "18,5 turns"  # the same again, written in another way
    assert stop.value == "18.5 turns"
    arcs = box(form, "contact", "closed", 1).entry
    arcs.value = "14 17 teeth\n30.4 to 34 teeth"
    assert arcs.value == "14 to 17 teeth\n30.4 to 34 teeth"
    for readings in ("", "1 2\n" * 30):
        box(form, "follower", "readings").entry.value = readings
        assert 2 <= box(form, "follower", "readings").entry.rows <= 14
    assert form.error is None


def test_below_a_page_it_is_told_where_else_something_is_wrong():
    form = own_transport()
    machine, modes = form.page("machine"), form.page("modes")
    box(form, "drive", "high_stop").entry.value = "20"
    assert machine.words.value.count("✓ nothing missing, nothing wrong. Elsewhere in the form: ✗ modes.") == 1
    assert "1 wrong" in modes.words.value and "Elsewhere" not in modes.words.value
    box(form, "drive", "high_stop").entry.value = "37"
    assert "Elsewhere" not in machine.words.value and form.error is None


def test_a_mistake_is_told_beside_its_box_on_its_page_and_in_the_list():
    form = own_transport()
    teeth = box(form, "part", "teeth", 1)
    help_text = words(teeth.note)
    teeth.entry.value = "many"
    told = "“many” is no number: write it in figures, such as 12 or 12.5"
    assert words(teeth.note) == f"✗ {told}" and teeth.entry.value == "many"
    assert "1 wrong" in form.page("parts").words.value
    assert (
        words(form.remarks) == f"page parts, part 2, teeth: {told}"
        and form.text == form.told().split("\n")[0]
    )
    assert form.page_buttons["parts"].description == "parts ✗"
    assert form.page_buttons["machine"].description == "▸ machine"
    teeth.entry.value = ""
    assert words(teeth.note) == f"○ to fill in: {help_text}"
    assert form.page_buttons["parts"].description == "parts ○"
    with pytest.raises(MechError, match="to fill in"):
        form.transport()
    teeth.entry.value = "36"
    assert words(teeth.note) == help_text and form.remarks.value == "" and form.transport() == load("dogwood")


def test_a_mistake_on_no_box_stands_at_the_head_of_its_table():
    form = own_transport()
    form.enter("contact 2", "closed", "14 to 17 teeth; 27.4 to 34 teeth")
    assert words(rows(form, "mode")[2].note).startswith(
        "✗ reached in the loading sense, the head plate stands"
    )
    assert words(rows(form, "mode")[1].note) == ""


def test_a_mistake_in_a_hidden_box_opens_it():
    form = own_transport()
    one = rows(form, "part")[0]
    assert not one.opened
    form.enter("part 1", "teeth of the other gear here", "1")
    assert one.opened and words(one.boxes["parent_teeth"].note).startswith("✗ it is 1")
    one.more_button.click()  # a mistake can't be hidden
    assert one.opened
    form.enter("part 1", "teeth of the other gear here", "")
    one.more_button.click()
    assert not one.opened and one.hidden.layout.display == "none"


def test_rows_are_added_and_removed_and_taken_back():
    form = own_transport()
    page = form.page("contacts")
    page.add_buttons["contact"].click()
    assert [words(one.head) for one in page.rows["contact"]] == [
        "contact 1: A",
        "contact 2: B",
        "contact 3: no name yet",
    ]
    box(form, "contact", "name", 2).entry.value = "C"
    box(form, "contact", "closed", 2).entry.value = "3 to 5"
    codes = box(form, "mode", "code", 0)
    assert list(codes.parts) == ["A", "B", "C"] and [part.value for part in codes.parts.values()] == [
        True,
        False,
        False,
    ]
    page.rows["contact"][0].remove_button.click()
    assert [words(one.head) for one in page.rows["contact"]] == ["contact 1: B", "contact 2: C"]
    assert box(form, "contact", "closed", 1).entry.value == "3 to 5 teeth"
    box(form, "contact", "name", 1).entry.value = "D"  # the box knows that it has moved up
    assert form.draft.values["contact"][1] == {"name": "D", "closed": [[{"teeth": 3}, {"teeth": 5}]]}
    assert list(codes.parts) == ["B", "D", "A"]  # A is still asked for
    for _ in range(5):
        form.undo_button.click()
    assert form.draft.values == values_from("dogwood") and form.transport() == load("dogwood")
    assert len(page.rows["contact"]) == 2 and form.error is None
    form.undo_button.click()
    assert words(form.words) == "There is nothing to take back."


def test_a_table_removed_twice_takes_no_other_with_it():
    """A double click: the second press comes when the table is gone."""
    form = own_transport()
    gone, stays = form.page("contacts").rows["contact"]
    gone.remove_button.click()
    gone.remove_button.click()
    assert form.page("contacts").rows["contact"] == [stays] and form.error is None
    assert [row["name"] for row in form.draft.values["contact"]] == ["B"]


def test_needs_that_a_file_has_wrong_are_replaced():
    values = values_from("dogwood")
    values["mode"][0]["needs"] = "down"
    form = OwnTransport(Draft(values))
    name, part = next(iter(box(form, "mode", "needs").parts.items()))
    part.value = part.options[1]
    assert list(form.draft.values["mode"][0]["needs"]) == [name] and form.error is None


def test_another_name_shows_in_every_list():
    form = own_transport()
    box(form, "follower", "name", 1).entry.value = "heads"
    assert list(box(form, "mode", "needs").parts) == ["holder", "heads"]
    assert box(form, "interlock", "while").parts["follower"].value == "heads"
    assert form.draft.checked.remarks == ()


def test_places_are_chosen():
    form = own_transport()
    needs = box(form, "mode", "needs", 2)
    assert needs.parts["holder"].options == (ANY, "out", "in", "not out", "not in", "between")
    needs.parts["holder"].value = "not out"
    assert form.draft.values["mode"][2]["needs"]["holder"] == ["in", "between"]
    needs.parts["holder"].value = ANY
    assert form.draft.values["mode"][2]["needs"] == {"head plate": "up"}
    needs.parts["head plate"].value = ANY
    assert "needs" not in form.draft.values["mode"][2] and "to fill in" in words(needs.note)
    pair = box(form, "interlock", "must")
    pair.parts["follower"].value = "head plate"
    assert pair.parts["stands"].value == NOTHING and "to fill in" in words(pair.note)
    pair.parts["stands"].value = "down"
    assert "the same follower" in words(pair.note)
    pair.parts["follower"].value = NOTHING
    assert "must" not in form.draft.values["interlock"][0]
    choice = box(form, "follower", "part", 0).entry
    choice.value = NOTHING
    assert "part" not in form.draft.values["follower"][0]
    tick = box(form, "", "invented").entry
    tick.value = False
    assert "invented" not in form.draft.values and form.error is None


def test_what_the_lists_do_not_have_is_kept_and_shown():
    form = own_transport("alder")
    assert box(form, "interlock", "must").parts["stands"].value == "89 to 93 mm"
    form.enter("part 3", "meshes with", "lost gear")
    entry = box(form, "part", "meshes_with", 2).entry
    assert entry.value == "lost gear" and "there is no 'lost gear'" in words(
        box(form, "part", "meshes_with", 2).note
    )


def test_any_walk_of_hands_leaves_no_fault():
    dice, form = random.Random(3), own_transport()
    for step in range(times(13, 60)):
        name = dice.choice([page.name for page in PAGES])
        form.turn_to(name)
        page = form.page(name)
        made = [one for some in page.rows.values() for one in some]
        act = dice.random()
        if act < 0.1 and page.add_buttons:
            dice.choice(list(page.add_buttons.values())).click()
        elif act < 0.15 and made:
            dice.choice([one.remove_button for one in made if one.section.one] or [form.undo_button]).click()
        elif act < 0.25:
            form.undo_button.click()
        elif made:
            entry = dice.choice(list(dice.choice(made).boxes.values())).entry
            touch(dice, entry)
        assert form.error is None and page.error is None
        if step % 12:
            continue
        fresh = OwnTransport(Draft(form.draft.values))
        assert [fresh.page(page.name).text for page in PAGES] == [form.page(page.name).text for page in PAGES]
        assert fresh.told() == form.told()


def touch(dice: random.Random, entry: widgets.Widget) -> None:
    if isinstance(entry, widgets.VBox):
        touch(dice, dice.choice(entry.children[1:] or (entry.children[0],)))
    elif isinstance(entry, widgets.Checkbox):
        entry.value = not entry.value
    elif isinstance(entry, widgets.Dropdown):
        entry.value = dice.choice(entry.options)
    elif isinstance(entry, widgets.Text | widgets.Textarea):
        entry.value = dice.choice(["", "7", "x", "3 to 5", "2 teeth: 1 mm\n9 teeth: 4", "−1,5°", "<b>&"])


def test_every_box_has_a_label_and_a_description():
    form = own_transport("birch")
    for page in PAGES:
        for one in (one for some in form.page(page.name).rows.values() for one in some):
            one.open(True)
            for made in one.boxes.values():
                parts = list(made.parts.values()) if hasattr(made, "parts") else [made.entry]
                assert all(part.description and part.tooltip for part in parts), made.field.label


def test_pages_by_name():
    form = own_transport()
    assert form.page("parts") is form.page("parts")
    with pytest.raises(MechError, match="machine, parts"):
        form.page("part")
    with pytest.raises(MechError):
        own_transport("elder")
    assert {section.table for page in PAGES for section in page.sections} == set(SECTIONS)
