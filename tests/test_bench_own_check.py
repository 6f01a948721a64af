"""Mistakes told in the words of the form, at the box where they are: nothing of the file's grammar shows."""

from __future__ import annotations

import copy
import re

import pytest
import test_transports_files as told_by_load

from mechlib.bench.own_check import AFTER, Remark, check
from mechlib.bench.own_draft import EMPTY, Draft, values_from
from mechlib.bench.own_form import PAGES, SECTIONS
from mechlib.bench.own_typed import KINDS
from mechlib.errors import MechError
from mechlib.transports import shipped
from mechlib.transports.files import transport_from

GRAMMAR = re.compile(r"[\[\]{}=]|\w_\w|\bkey\b")  # brackets, keys with a line, "key teeth"


def by_hand(remark: Remark, values: dict) -> bool:
    """Whether a remark is on something that no box of the form can have put into the file."""
    section = SECTIONS.get(remark.table)
    field = section.field(remark.key) if section and remark.page else None
    if field is None:
        return True
    table = Draft(values).tables(section)[remark.row or 0]
    value = table
    for key in field.path:
        value = value.get(key) if isinstance(value, dict) else None
    kind = KINDS.get(field.kind)
    return kind is not None and kind.read(kind.show(value), "").value != value


@pytest.mark.parametrize("mistake", told_by_load.MISTAKES)
def test_every_mistake_that_load_tells_is_told_here(mistake):
    spoil, _ = told_by_load.MISTAKES[mistake]
    values = copy.deepcopy(told_by_load.ALDER)
    spoil(values)
    found = check(values)
    assert found.transport is None and found.remarks and "nan" not in found.sentence()
    for remark in found.remarks:
        assert remark.sentence() in found.text()
        assert by_hand(remark, values) or not GRAMMAR.search(remark.words), remark
    with pytest.raises(MechError) as refused:
        transport_from(values, "my.toml")
    assert found.half_way == str(refused.value).endswith(AFTER)


@pytest.mark.parametrize(
    ("mistake", "page", "table", "row", "key", "words"),
    [
        ("missing key", "parts", "part", 2, "teeth", "to fill in"),
        ("missing mode switch", "contacts", "mode_switch", None, "part", "to fill in"),
        ("missing modes", "modes", "mode", None, "", "at least one mode"),
        ("text for a number", "parts", "part", 3, "teeth", "“fifty” is no number"),
        ("count huge", "machine", "drive", None, "main_gear_teeth", "from 4 to 2000"),
        ("stops the wrong way round", "machine", "drive", None, "high_stop", "(−44.44 teeth), below 0"),
        ("no such parent", "parts", "part", 2, "meshes_with", "did you mean 'loading gear'"),
        ("play given twice", "parts", "part", 2, "play_teeth", "give “play (° of the part)” or"),
        ("part twice", "parts", "part", 6, "name", "is there already"),
        ("same code", "modes", "mode", 5, "code", "STOP has the same"),
        ("arc backwards", "contacts", "contact", 0, "closed", "the smaller angle first"),
        ("unknown law", "followers", "follower", 2, "track", "there is no"),
        ("track too short", "followers", "follower", 3, "track", "274.4° (60.97 teeth) or above"),
        ("needs an unknown state", "modes", "mode", 3, "needs", "pinch lever: it has no state 'of'"),
        ("mode that stands wrong", "modes", "mode", 3, "", "22.9° (5.10 teeth) out"),
        ("interlock with itself", "interlocks", "interlock", 2, "must", "same follower"),
        ("home sense", "controller", "controller", None, "home.sense", "there is loading and unloading"),
        ("reference mode elsewhere", "machine", "", None, "reference_mode", "at 0.0° (0.00 teeth)"),
        ("covers in a ring", "covers", "cover", 2, "off_first", "wait for one another"),
        ("no end contact", "", "", None, "", '[[stage]] "carriage", key end_contact'),
    ],
)  # fmt: skip
def test_where_a_mistake_is_told(mistake, page, table, row, key, words):
    values = copy.deepcopy(told_by_load.ALDER)
    told_by_load.MISTAKES[mistake][0](values)
    remarks = [r for r in check(values).remarks if (r.page, r.table, r.row, r.key) == (page, table, row, key)]
    assert len(remarks) == 1 and words in remarks[0].words
    assert remarks[0].open == (words in ("to fill in", "at least one mode"))


@pytest.mark.parametrize("name", shipped())
def test_a_shipped_file_is_right(name):
    found = check(values_from(name))
    assert found.remarks == () and found.transport is not None
    assert found.sentence().startswith(f"{found.transport.name} is right: ")


def test_an_empty_form_asks_for_each_thing_once_and_finds_no_mistake():
    found = check(values_from(EMPTY))
    assert found.mistakes == () and found.half_way and "wrong" not in found.text()
    assert len({(r.table, r.row, r.key) for r in found.remarks}) == len(found.remarks)
    asked = {(r.page, r.table) for r in found.remarks}
    assert {page.name for page in PAGES} - {page for page, _ in asked} == {"interlocks", "motor", "covers"}
    keys = {remark.key for remark in found.remarks if remark.table == "follower"}
    assert keys == {"name", "part", "states", "tolerance_mm", "readings"}
    assert all(remark.key for remark in found.remarks)


def told(spoil) -> list[tuple[str, str, str]]:
    """Page, key and words of what is told of Dogwood once it is spoiled."""
    values = copy.deepcopy(values_from("dogwood"))
    spoil(values)
    return [(remark.page, remark.key, remark.words) for remark in check(values).remarks]


def test_a_lift_misread_is_told_once_where_it_was_typed_and_no_angle_is_blamed():
    def misread(values, rest, place):
        holder = values["follower"][0]
        holder["states"]["in"], holder["tolerance_mm"] = place, 0.5
        holder["readings"] = [[at, rest if lift == 30 else lift] for at, lift in holder["readings"]]

    passing = "in (30 mm, within 0.5) is met in passing only; it rests at 0 and 31 mm: "
    once = [("followers", "states", passing + "correct this lift, or what was read")]
    assert told(lambda values: misread(values, 31, 30)) == once
    assert told(lambda values: misread(values, 31, 30) or values.pop("interlock")) == once
    assert told(lambda values: misread(values, 30.4, 30)) == []
    never = "holder: it never is in: it rests at 0 and 30.2 mm; correct its lifts or what is asked of it"
    assert told(lambda values: misread(values, 30.2, 31))[0] == ("modes", "needs", never)


def test_a_time_out_too_short_is_told_here_and_the_file_is_read_all_the_same():
    ((page, key, words),) = told(lambda values: values["controller"].update(time_out_s=0.5))
    assert (page, key) == ("controller", "time_out_s")
    assert words.startswith("it is 0.5 s, but PLAY to OUT keeps the motor on for 2.5 s; ")
    transport_from(values_from("dogwood") | {"controller": values_from("dogwood")["controller"]
                   | {"time_out_s": 0.5}}, "my.toml")  # fmt: skip


@pytest.mark.parametrize("needs", [None, {}])
def test_a_mode_in_which_nothing_matters_is_asked_for_one_follower(needs):
    def empty(values):
        values["mode"][2].pop("needs") if needs is None else values["mode"][2].update(needs=needs)

    ((page, key, words),) = told(empty)
    assert (page, key) == ("modes", "needs") and "one follower" in words and "leave out" not in words


def test_nothing_at_all_is_an_empty_machine():
    assert {r.words for r in check({}).remarks if not r.key} == {
        f"to fill in: at least one {one}" for one in ("follower", "contact", "mode")
    }


def test_an_entry_that_cannot_be_read_is_told_once_whatever_the_name():
    draft = Draft(values_from("dogwood"))
    draft.enter("part 2", "name", 'the "new" gear')
    draft.enter("part 2", "teeth", "-40")
    draft.enter("part 2", "play (of a tooth)", "0,1 mm")
    assert [(r.row, r.key) for r in draft.checked.remarks] == [(1, "play_teeth"), (1, "teeth")]


@pytest.mark.parametrize(
    ("where", "label", "typed", "words"),
    [
        ("Main gear and travel", "stop in the loading sense", "-50", "(−50.00 teeth), below 0; loading"),
        ("Main gear and travel", "stop in the unloading sense", "3", "put a minus before it"),
        (
            "follower 2",
            "readings",
            "0 0; 20 0; 22 1; 21 3",
            "it must be larger than the one before, 165.0° (22",
        ),
        ("follower 2", "readings", "0 0; 20 0; 9 turns 1", "say of which, such as 3.5 turns of worm shaft"),
        ("contact 1", "closed", "20 to 17", "give the smaller angle first"),
    ],
)
def test_mistakes_are_told_in_words_of_the_bench(where, label, typed, words):
    draft = Draft(values_from("dogwood"))
    draft.values["hand_shaft"].append({"name": "flywheel", "turns_per_cam_turn": 40})
    draft.enter(where, label, typed)
    told = [remark for remark in draft.checked.remarks if words in remark.words]
    assert len(told) == 1 and not GRAMMAR.search(told[0].words)
    assert not any(word in told[0].words for word in ("theta", "seam", "_"))


def test_a_name_with_a_colon_a_comma_or_quotes_in_it_is_found_again():
    for odd in ("lever: left, key 2", 'the "big" one', '5" gear', 'a", key teeth: b', "n" * 70, "[[part]] 1"):
        values = copy.deepcopy(told_by_load.ALDER)
        values["part"][2] |= {"name": odd, "teeth": 1}
        found = [remark for remark in check(values).remarks if remark.table == "part"]
        assert [(r.row, r.key) for r in found] == [(2, "teeth")]
