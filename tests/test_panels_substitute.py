"""The panel of a substitute gear: examples, rows, random forms; and that all it shows is the ranking's."""

import random
from html import unescape

import ipywidgets as widgets
import pytest
from share import times
from test_panels_exercise import acted_before_it_is_typed, press_enter
from test_panels_timing_card import said

from mechlib.bench.other_teeth import DRIVER
from mechlib.bench.stock import read_stock, spares_bin
from mechlib.bench.substitute import FITS, NO, TO_MAKE, substitutes
from mechlib.bench.substitute_form import ASKED, BLANK, EXAMPLES, ON, case_of, filled, mark_of, ring_of
from mechlib.errors import MechError
from mechlib.gears.materials import CAUTION
from mechlib.panels.base import Picture
from mechlib.panels.substitute import MATE, MOST_ROWS, OWN, find_substitute

TIMED = "carriage gear of Alder, on its mark"
CAPSTAN = "capstan wheel of a cassette deck"


def shown(box) -> str:
    return unescape(box.ranking.value).split(">", 1)[1].removesuffix("</pre>")


@pytest.mark.few(3)
@pytest.mark.parametrize("example", EXAMPLES)
def test_every_example_shows_its_ranking_and_every_row(example):
    box = find_substitute(example)
    found = substitutes(case_of(filled(example)), spares_bin())
    assert (
        box.row_list.index == 0
        and box.found == found
        and shown(box) == found.text(MOST_ROWS)
        and box.form == filled(example)
    )
    assert said(box.words) == f"{found.given.sentence()} {found.tally()}" and CAUTION in box.text
    for number, row in enumerate(found.rows[: times(3, 6)]):
        box.row_list.value = number
        told = said(box.judgement)
        assert (
            box.row == row
            and box.row_list.index == number
            and told.startswith(row.sentence())
            and told in box.text
        )
        assert (box.pair is not None) == bool(row.judged and row.judged.meshes)
        assert (box.make is not None) == (row.stock is None and row.verdict != NO)
        assert told.count(CAUTION) == (row.verdict != NO)
        assert box.error is None and "nan" not in box.text
        if box.pair:
            names = [one.mate.name for one in row.judged.meshes]
            assert list(box.pair.controls[MATE].options) == names
            box.pair.controls[MATE].value = names[-1]
            box.pair.controls["turn_deg"].value = 20.0
            assert box.pair.picture.result.row == row and box.pair.error is None
        if box.make:
            assert box.make.gear.gear == row.gear and box.make.gear.bore_mm == found.given.seat.shaft_mm


def test_a_gear_of_the_same_count_for_a_timed_place_must_be_marked():
    box, seen = find_substitute(TIMED), []
    for number, row in enumerate(box.found.rows[:40]):
        if row.teeth == 40 and row.verdict != NO:
            box.row_list.value = number
            assert "mark it where the old one was marked" in said(box.judgement) and row.verdict != FITS
            assert box.make is None or "no flat and no mark" in box.make.text
            seen.append(row.verdict)
    assert TO_MAKE in seen


def test_a_timed_gear_shows_where_its_mark_goes_and_the_chart_of_another_count():
    box = find_substitute(TIMED)
    assert mark_of(filled(TIMED)).sentence() in said(box.judgement)
    charts = []
    for number, row in enumerate(box.found.rows[:7]):
        box.row_list.value = number
        times = [unescape(one.value) for one in box.place.children if isinstance(one, widgets.HTML)]
        other = row.judged and row.judged.effects.machine and row.teeth != 40
        assert len(times) == bool(other) and all(row.judged.effects.machine.text() in one for one in times)
        pictures = [one for one in box.place.children if isinstance(one, Picture)]
        if pictures:
            charts.append((row.teeth, pictures[0].tooltip))
            assert mark_of(filled(TIMED)).sentence() not in said(box.judgement)
    assert [teeth for teeth, _ in charts] == [
        row.teeth for row in box.found.rows[:7] if row.teeth in (39, 41)
    ]
    assert all(f"With {teeth} teeth for 40 at the carriage gear" in told for teeth, told in charts)


def test_a_gear_before_the_main_cam_shows_how_long_every_mode_change_takes():
    box = find_substitute("gear on Alder's sun gear shaft")
    box.row_list.value = next(n for n, row in enumerate(box.found.rows) if row.teeth == 17 and row.judged)
    (told,) = [one.value for one in box.place.children if isinstance(one, widgets.HTML)]
    machine = box.row.judged.effects.machine
    assert machine.text() in unescape(told) and "white-space: pre;" in told
    (start, target), before, after = machine.slowest
    assert f"{start} to {target}" in told and f"{before:.2f}" in told and f"{after:.2f}" in told
    assert not any(isinstance(one, Picture) for one in box.place.children) and box.error is None


def test_which_measurement_is_meant_is_told_for_either_side():
    box = find_substitute(TIMED)
    assert said(box.to_measure) == ring_of(filled(TIMED)).sentence()
    assert "old carriage gear from its flat" in said(box.to_measure)
    turned = {"side": DRIVER, "teeth": "54", "mate1_teeth": "40", "mate1_is": ON, "first_tooth": ""}
    for key, text in turned.items():
        box.controls[key].value = text
    box.look_button.click()
    assert "old transfer ring from its flat" in said(box.to_measure) and "Mark tooth" not in box.text
    box.controls["first_tooth"].value = "2"
    box.look_button.click()
    place = mark_of(box.form).sentence()
    assert "of the transfer ring" in place and place in box.text and box.error is None
    box.controls["first_tooth"].value = "8"
    box.look_button.click()
    assert "No place for its mark: first_tooth is 8" in said(box.words) and box.found
    assert not find_substitute(CAPSTAN).to_measure.value


def test_the_mark_of_a_rack_is_placed_though_no_gear_stands_in_for_it():
    box = find_substitute(TIMED, machine="cedar", mesh="drawer rack", teeth="30", mark="31.7")
    assert box.found is None and "the drawer rack is a rack: no gear stands in for it" in said(box.words)
    assert "in mm" in said(box.to_measure)
    place = mark_of(box.form).sentence()
    assert said(box.judgement) == place and box.text.endswith(place) and "mm" in place
    box.controls["machine"].value = "elm"
    box.look_button.click()
    assert said(box.words).count("elm") == 1 and box.judgement.value == "" and box.error is None


def test_what_is_typed_counts_after_look_and_what_cant_be_is_told():
    box = find_substitute(CAPSTAN)
    box.controls["mate1_mm"].value = "10.7"
    box.look_button.click()
    assert box.found == substitutes(case_of(filled(CAPSTAN, mate1_mm="10.7")), spares_bin())
    box.controls["teeth"].value, box.controls["shaft_mm"].value = "many", ""
    box.look_button.click()
    assert "“many” is no number" in box.text and "its shaft: fill it in" in box.text
    assert box.found is box.row is box.pair is box.make is None and box.error is None
    assert (box.ranking.value, box.judgement.value, box.place.children) == ("", "", ())
    assert box.row_list.options == ()
    box.controls["teeth"].value, box.controls["shaft_mm"].value = "24", "2"
    box.look_button.click()
    assert box.found and box.row == box.found.rows[0]


@pytest.mark.parametrize(
    "act", [lambda box: press_enter(box.controls["teeth"]), lambda box: box.look_button.click()]
)
def test_enter_and_the_button_wait_for_what_was_typed_last(act):
    box = acted_before_it_is_typed(
        lambda: find_substitute(CAPSTAN),
        act,
        lambda box: setattr(box.controls["teeth"], "value", "many"),
        lambda box: box.text,
    )
    assert box.found is None and "many" in box.text and box.error is None


def test_another_example_and_empty_boxes():
    box = find_substitute()
    assert box.form == BLANK and "teeth of the broken gear: fill it in" in box.text and box.error is None
    for example in (CAPSTAN, TIMED, CAPSTAN):
        box.example.value = example
        assert box.form == filled(example) and box.found.given == case_of(filled(example))
    box.example.value = OWN
    assert box.form == BLANK and box.found is None and box.error is None


def test_the_readers_own_list_is_looked_through_at_once(tmp_path):
    text = "name;teeth;module_mm;bore_mm;width_mm;count\nshelf;24;0,5;2;3;1\nbad;x;0,5;2;3;1\n"
    (tmp_path / "mine.csv").write_text(text)
    box = find_substitute(CAPSTAN, tmp_path / "mine.csv")
    assert "Row 3" in said(box.stock.words)
    assert box.found == substitutes(case_of(filled(CAPSTAN)), read_stock(text))
    box.stock.choice.value = "the invented spares bin"
    assert box.found == substitutes(case_of(filled(CAPSTAN)), spares_bin()) and box.error is None


def test_random_forms_never_bring_it_down():
    box, dice = find_substitute(CAPSTAN), random.Random(5)
    texts = (
        "",
        "0",
        "-3",
        "2",
        "7,5",
        "24",
        "1e9",
        "999",
        "alder",
        "idler cam",
        "x" * 300,
        "½",
        "nan",
        "10.56",
    )
    for _ in range(times(4, 20)):
        key = dice.choice(list(ASKED))
        box.controls[key].value = dice.choice(ASKED[key].options or texts)
        box.look_button.click()
        assert box.error is None and box.text and "nan " not in box.text.replace("“nan”", "")
        if dice.random() < 0.3:
            box.example.value = OWN
            box.example.value = dice.choice(list(EXAMPLES))


def test_the_stored_form_has_words_and_a_picture():
    stored = find_substitute(CAPSTAN)._repr_mimebundle_()
    assert stored["text/plain"] == find_substitute(CAPSTAN).text and stored["image/png"].startswith("iVBOR")
    assert "image/png" not in find_substitute()._repr_mimebundle_()


def test_what_cant_be_asked():
    for bad in ({"example": "lathe"}, {"colour": "red"}, {"size": "9 DP"}):
        with pytest.raises(MechError):
            find_substitute(**bad)
