"""A file in the form: all of it comes back, every change can be taken back, names are followed."""

from __future__ import annotations

import copy
import os
import random
import tomllib

import pytest

from mechlib.bench.own_asked import CHOSEN, TOP
from mechlib.bench.own_draft import EMPTY, OWN_FILE, Draft, values_from
from mechlib.bench.own_form import PAGES, SECTIONS
from mechlib.bench.own_typed import KINDS
from mechlib.bench.own_values import USES, names_in, put_at, shown, value_at
from mechlib.bench.own_words import file_text, in_words, place_words, places
from mechlib.errors import MechError
from mechlib.transports import load, shipped
from mechlib.transports.files import DATA, transport_from

FIELDS = [(section, field) for section in SECTIONS.values() for field in section.fields]


def each_box(draft: Draft):
    """Every box of the form: section, row, field."""
    for section in SECTIONS.values():
        for row in range(len(draft.tables(section))):
            yield from ((section, row if section.one else None, field) for field in section.fields)


@pytest.mark.few(2)
@pytest.mark.parametrize("name", shipped())
def test_a_file_typed_in_box_by_box_comes_back_equal(name):
    values = tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))
    draft = Draft(values)
    for section, row, field in each_box(draft):
        before = draft.value(section, row, field)
        if before is None:
            continue
        draft.put(section, row, field, None)
        assert draft.value(section, row, field) is None
        if field.kind in CHOSEN:
            again = before
        else:
            again, trouble = KINDS[field.kind].read(
                shown(draft.undo() and draft.tables(section)[row or 0], field), field.unit
            )
            assert trouble == ""
        draft.put(section, row, field, again)
    assert tomllib.loads(draft.text()) == draft.values == values
    assert transport_from(tomllib.loads(draft.text()), "x.toml") == load(name)


def test_dogwood_is_written_just_as_the_form_writes_it():
    assert (DATA / "dogwood.toml").read_text("utf-8") == file_text(values_from("dogwood"))


@pytest.mark.parametrize("section, field", FIELDS, ids=lambda some: getattr(some, "key", None) or some.table)
def test_every_box_is_a_key_that_load_knows(section, field):
    # readings instead of a track, and several motors, aren't Alder's
    name = {"same_within_mm": "dogwood", "motor": "cedar"}.get(field.key, "alder")
    junk = Draft(values_from(name))
    row = 0 if section.one else None
    junk.put(section, row, field, [None, 1j])  # nothing that could be right
    try:
        transport_from(junk.values, "x.toml")
    except MechError as refused:
        known = [problem for problem in refused.problems if "not known here" not in problem]
        assert any(field.path[-1] in problem or field.path[0] in problem for problem in known), refused
    else:
        pytest.fail("load didn't look at it")


def test_the_form_asks_for_all_that_the_shipped_files_have_in_its_tables():
    left = set()
    for name in shipped():
        draft = Draft(values_from(name))
        for section in SECTIONS.values():
            asked = {field.path[0] for field in section.fields}
            tables = (table for table in draft.tables(section) if section.table != TOP)
            left |= {f"{section.table}.{key}" for table in tables for key in table if key not in asked}
    assert left == {"controller.change", "controller.watch"}


def test_a_box_takes_its_own_unit_and_no_other():
    draft = Draft(values_from("alder"))
    draft.enter("follower 1", "counts as there within (mm)", "0.4 mm")
    assert draft.tables(SECTIONS["follower"])[0]["tolerance_mm"] == 0.4
    draft.enter("follower 1", "counts as there within (mm)", "0.04 cm")
    assert [(one.key, one.words) for one in draft.checked.remarks] == [
        ("tolerance_mm", "“0.04 cm” is in another unit: here it is mm")
    ]
    draft.enter("follower 1", "counts as there within (mm)", "2 teeth")
    section = SECTIONS["follower"]
    assert shown(draft.tables(section)[0], section.field("tolerance_mm")) == "2 teeth"
    units = {field.label: field.unit for _, field in FIELDS if field.kind == "number"}
    assert units["speed (°/s)"] == "°/s" and units["play (° of the part)"] == "°"
    assert units["friction (no unit)"] == units["teeth of the main gear"] == ""


def test_labels_differ_on_a_page_and_each_box_says_how_to_find_it():
    for page in PAGES:
        for section in page.sections:
            labels = [field.label for field in section.fields]
            assert len(set(labels)) == len(labels)
            assert all(field.help and len(field.help) <= 90 for field in section.fields)
    assert all(field.kind in (*KINDS, *CHOSEN) for _, field in FIELDS)


def test_every_change_is_taken_back_one_by_one():
    dice, draft = random.Random(5), Draft(values_from("alder"))
    kept = [copy.deepcopy(draft.values)]
    for _ in range(60):
        section, row, field = dice.choice(list(each_box(draft)))
        change = dice.choice(["put", "put", "empty", "add", "remove"])
        if change == "add" and section.one:
            draft.add(section)
        elif change == "remove" and section.one:
            draft.remove(section, row)
        else:
            draft.put(
                section, row, field, None if change == "empty" else dice.choice(["x", 7, ["A"], {"deg": 3}])
            )
        assert draft.checked.sentence() and tomllib.loads(draft.text()) == draft.values
        kept.append(copy.deepcopy(draft.values))
    while kept:
        assert draft.values == kept.pop()
        assert draft.undo() == bool(kept)
    assert draft.checked.transport == load("alder")


@pytest.mark.parametrize("table", USES)
@pytest.mark.parametrize("name", shipped())
def test_another_name_is_followed_everywhere(name, table):
    draft, sound = Draft(values_from(name)), load(name)
    section = SECTIONS[table]
    for row, one in enumerate(draft.tables(section)):
        draft.put(section, row, section.field("name"), f"renamed {one['name']}")
    assert draft.checked.remarks == ()
    if len(draft.tables(section)):
        assert draft.transport() != sound and draft.text().count("renamed") > len(draft.tables(section))
    for row, one in enumerate(draft.tables(section)):
        draft.put(section, row, section.field("name"), one["name"].removeprefix("renamed "))
    assert draft.transport() == sound


def test_a_name_that_two_have_is_not_followed():
    draft = Draft(values_from("dogwood"))
    draft.enter("contact 2", "name", "A")  # now there are two, and B is gone
    draft.enter("contact 2", "name", "C")
    assert [mode["code"] for mode in draft.values["mode"]] == [["A"], ["A", "B"], ["B"]]


def test_entering_by_words():
    draft = Draft()
    draft.enter("Main gear and travel", "stop in the loading sense", "40,5")
    draft.enter("Main gear and travel", "stop in the unloading sense", "-2", "turns")
    draft.enter("Controller", "lost: it turns", "unloading")
    assert draft.values == {
        "drive": {"high_stop": {"teeth": 40.5}, "low_stop": {"turns": -2}},
        "controller": {"home": {"sense": "unloading"}},
    }
    draft.enter("Controller", "lost: it turns", None)
    draft.enter("Main gear and travel", "stop in the loading sense", "")
    assert draft.values == {"drive": {"low_stop": {"turns": -2}}}
    for where, label in (("part 1", "teeth"), ("The machine", "nome"), ("The machine", "invented")):
        with pytest.raises(MechError, match="there is"):
            draft.enter(where, label, "1")


def test_a_list_that_becomes_empty_is_taken_out():
    draft = Draft()
    draft.add(SECTIONS["cover"])
    assert draft.values == {"cover": [{}]}
    draft.remove(SECTIONS["cover"], 0)
    assert draft.values == {}


def test_what_cannot_be_read_is_refused_and_what_is_wrong_is_read(tmp_path):
    for wrong in ("elder", "", "gone.toml", str(tmp_path), "a\0.toml"):
        with pytest.raises(MechError):
            values_from(wrong)
    path = tmp_path / "x.toml"
    path.write_text("[drive\n")
    with pytest.raises(MechError, match="line 1"):
        values_from(path)
    path.write_text('name = 3\npart = "none"\n[drive]\ncoast = true\n')
    draft = Draft(values_from(path))
    assert draft.checked.transport is None and draft.tables(SECTIONS["part"]) == []
    with pytest.raises(MechError) as refused:
        draft.transport()
    assert len(refused.value.problems) == len(draft.checked.remarks)


def test_what_would_be_lost_is_known(tmp_path):
    draft = Draft(values_from("dogwood"), "dogwood")
    assert draft.saved and draft.file == OWN_FILE
    draft.enter("The machine", "name", "Elm")
    assert not draft.saved
    elm = str(draft.save(tmp_path / "elm.toml"))
    assert draft.saved and draft.file == elm
    draft.undo()
    assert not draft.saved and draft.file == elm  # Dogwood is not what stands in that file
    draft.replace(values_from(elm), elm)
    draft.enter("The machine", "name", "Ash")
    draft.replace(values_from("birch"), "birch")
    assert draft.saved and draft.file == OWN_FILE
    draft.undo()
    assert not draft.saved and draft.file == elm
    draft.undo()
    assert draft.saved


def test_a_wrong_file_is_saved_and_read_again(tmp_path):
    draft = Draft(values_from(EMPTY))
    draft.enter("part 1", "teeth", "many")
    assert not draft.saved
    path = draft.save(tmp_path / "x.toml")
    assert draft.saved and values_from(path) == draft.values
    with pytest.raises(MechError, match="already"):
        draft.save(path)
    draft.enter("part 1", "teeth", "36")
    draft.save(path, replace=True)
    assert values_from(path)["part"] == [{"teeth": 36}] and os.listdir(tmp_path) == ["x.toml"]


def test_places_in_words_and_back():
    states = ("off", "ready", "pressed")
    for words, value in places(states).items():
        assert place_words(value, states) == words
    assert place_words(["ready", "pressed"], states) == "ready or pressed"
    assert place_words({"from_mm": 1, "to_mm": 2.5}, states) == "1 to 2.5 mm"
    assert places(()) == {"between": "between"}


def test_what_a_box_holds_in_words():
    values = values_from("alder")
    names = names_in(values)
    told = {
        (section.table, field.key): in_words(value_at(table, field), field, names)
        for section, field in FIELDS
        for table in Draft(values).tables(section)[:1]
    }
    assert told["contact", "closed"] == "−4 to 4°; 54 to 62°"
    assert told["mode", "needs"] == "carriage out, loading arms home"
    assert told["interlock", "while"] == "loading arms not home"
    assert told["interlock", "must"] == "carriage 89 to 93 mm"
    assert told["", "invented"] == "yes" and told["part", "parent_teeth"] == ""


def test_put_at_takes_out_what_is_empty_around():
    home = SECTIONS["controller"].field("home.sense")
    table = {"home": {"sense": "loading"}, "order": []}
    put_at(table, home, None)
    assert table == {"order": []}
    put_at(table, home, None)
    put_at(table, home, "unloading")
    assert table == {"order": [], "home": {"sense": "unloading"}}


def test_what_a_box_holds_though_it_is_of_another_kind():
    names = names_in(values_from("alder"))
    for _, field in FIELDS:
        for odd in ("text", 3, True, 1.5, [], ["x"], [[1]], {"a": 1}, {}, float("nan")):
            assert isinstance(in_words(odd, field, names), str)


def test_the_name_of_a_hand_shaft_is_followed_into_every_angle():
    values = values_from("alder")
    values["drive"]["coast"] = {"turns": 0.02, "of": "crank"}
    values["contact"][0]["closed"][0][0] = {"turns": -0.1, "of": "crank"}
    values["hand_shaft"] = [{"name": name, "turns_per_cam_turn": 8} for name in ("worm shaft", "crank")]
    draft = Draft(values)
    draft.enter("shaft 2", "name", "handle")
    assert draft.values["drive"]["coast"] == {"turns": 0.02, "of": "handle"}
    assert draft.values["contact"][0]["closed"][0][0] == {"turns": -0.1, "of": "handle"}
    assert "crank" not in draft.text()
    planetary = [stage.get("turns") for stage in draft.values["stage"]]
    assert planetary == [stage.get("turns") for stage in values_from("alder")["stage"]]


def test_what_an_entry_is_of_follows_only_a_name_of_its_own_sort():
    values = values_from("birch")
    mode = values["mode"][0]["name"]
    values["contact"][0]["name"] = mode  # a contact and a mode of one name
    values["how_often"] = [
        {"fault": "worn latch", "of": mode, "weight": 2},
        {"fault": "open contact", "of": mode, "weight": 3},
    ]
    values["repair"] = [{"fault": "worn latch", "of": mode, "minutes": 5}, {"fault": ["odd"], "of": mode}]
    draft = Draft(values)
    draft.enter("mode 1", "name", "REST")
    assert [row["of"] for row in draft.values["how_often"]] == ["REST", mode]
    assert [row["of"] for row in draft.values["repair"]] == ["REST", mode]
    draft.enter("contact 1", "name", "Z")
    assert [row["of"] for row in draft.values["how_often"]] == ["REST", "Z"]
