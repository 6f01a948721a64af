"""The timing card against the file read a second way, and against numbers worked out by hand."""

import tomllib
from importlib import resources

import numpy as np
import pytest
from crowded_chart import crowded
from second_way import Machine
from small_machine import going_round, small, values
from transport_makers import make

from mechlib.bench.timing_card import CLOSED, OPEN, CardTable, timing_card
from mechlib.transports import load, slip
from mechlib.transports.change_table import change_table
from mechlib.transports.files import DATA, transport_from

ALDER = tomllib.loads(resources.files("mechlib.transports").joinpath("data/alder.toml").read_text("utf-8"))
FILES = [values(), ALDER, *(make(seed, cyclic) for seed in range(3) for cyclic in (False, True))]


def card_of(file):
    return timing_card(transport_from(file, "file.toml"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file["name"])
def test_every_half_tooth_reads_as_the_file_says(file):
    card, machine = card_of(file), Machine(file)
    a_tooth = 360 / file["drive"]["main_gear_teeth"]
    teeth = np.array([at for at, _ in card.half_teeth])
    assert np.diff(teeth) == pytest.approx(0.5) and 0 in teeth
    assert (teeth[0] - 0.5) * a_tooth < machine.low <= teeth[0] * a_tooth + 1e-9
    assert teeth[-1] * a_tooth - 1e-9 <= machine.high < (teeth[-1] + 0.5) * a_tooth
    near = 1e-3  # degrees: on an edge the reading is neither
    codes = [machine.code(machine.angles(teeth * a_tooth + off, 1)) for off in (-near, near)]
    bits = {contact["name"]: machine._bits([contact["name"]]) for contact in file["contact"]}
    for at, (_, read) in enumerate(card.half_teeth):
        if at in (0, len(teeth) - 1):
            continue  # one of the two lies beyond the end
        for (name, bit), said in zip(bits.items(), read, strict=True):
            seen = {bool(code[at] & bit) for code in codes}
            assert said == ("edge" if len(seen) > 1 else CLOSED if True in seen else OPEN), (teeth[at], name)


def test_contacts_of_the_small_machine_by_hand():
    # 10° a tooth; A closes over −5..5 and 95..105, B over 45..55 and 95..105; a crank turn has two teeth.
    card = timing_card(small())
    assert [s.low_deg for s in card.stretches] == pytest.approx([-20, -5, 5, 45, 55, 95, 105])
    assert [s.high_deg for s in card.stretches] == pytest.approx([-5, 5, 45, 55, 95, 105, 120])
    assert [s.mode for s in card.stretches] == [None, "IN", None, "HALF", None, "OUT", None]
    assert card.contacts.header == ("code of", "teeth from", "to", "turns from", "to", "A", "B")
    assert card.contacts.rows == (
        ("IN", "−0.50", "0.50", "−0.25", "0.25", "●", "–"),
        ("HALF", "4.50", "5.50", "2.25", "2.75", "–", "●"),
        ("OUT", "9.50", "10.50", "4.75", "5.25", "●", "●"),
    )
    read = dict(card.half_teeth)
    assert len(read) == 29 and min(read) == -2 and max(read) == 12
    assert read[0] == ("●", "–") and read[-0.5] == ("edge", "–") == read[0.5] and read[1] == ("–", "–")
    assert read[9.5] == ("edge", "edge") and read[10] == ("●", "●")
    lines = card.half_tooth_text().splitlines()
    assert lines[0].split() == ["teeth", "hand", "turns", "A", "B"]
    assert lines[1].split() == ["−2.0", "−1.00", "–", "–"] and lines[5].split() == ["0.0", "0.00", "●", "–"]


def test_times_of_the_small_machine_by_hand():
    # 10°/s.  A code counts 1° behind its edge, the cam rests 2° further on.  Loading: IN is read at −4, HALF
    # at 46, OUT at 96, and they rest at −2, 48 and 98; unloading: IN is read at 4, HALF at 54.
    card = timing_card(small())
    rows = {row[0]: row[1:] for row in card.times.rows}
    reads = {("IN", "HALF"): 46 - -2, ("HALF", "OUT"): 96 - 48, ("IN", "OUT"): 96 - -2}
    reads |= {("OUT", "HALF"): 98 - 54, ("OUT", "IN"): 98 - 4, ("HALF", "IN"): 48 - 4}
    names = ("IN", "HALF", "OUT")
    for (start, target), deg in reads.items():
        assert rows[start][names.index(target)] == f"{deg / 10:.1f}", (start, target)
    assert [rows[name][at] for at, name in enumerate(names)] == ["", "", ""]


def test_margins_and_survival_of_the_small_machine_by_hand():
    # HALF rests at 48 and, unloading, 52; the lever is on from 39 (36 with play 3), the latch shut up to 56
    half = timing_card(small()).margins.rows[1]
    assert half[:5] == ("HALF", "latch, above, unloading", "4.0°", "0.40", "0.20")
    header = timing_card(small()).margins.header
    survived = dict(zip(header[5:], half[5:], strict=True))
    # the latch is cut in the main cam: 4° above, 48 − 39 = 9° below are less than a tooth of the switch, 10°;
    # the lever gear, 10° a tooth: behind, its rows come 10° later, 9° are too few; ahead, it never lets go
    assert survived == {"switch": "0/0", "lever gear": "0/any", "hook cam": "any/any"}


def test_racks_of_cedar_are_told_in_teeth():
    card = timing_card(load("cedar")).marks
    rows = {row[0]: row[2:] for row in card.rows}
    wind = card.header.index("WIND") - 2
    assert rows["switch slide, teeth"][wind] == "3.1"  # 37.6 degrees of 30 teeth
    assert rows["drawer rack, teeth"][card.header.index("OPEN") - 2] == "−22.5"
    assert rows["lift sector"][card.header.index("OPEN") - 2] == "−135°"
    assert "Of a rack: its teeth." in card.note and "rack" not in timing_card(small()).marks.note


def test_marks_of_the_small_machine_by_hand():
    marks = {row[0]: row for row in timing_card(small()).marks.rows}
    # stop angles 48 and 98; the lever gear (72 teeth on 36) turns half as far as the cam
    assert marks["main cam"][3:] == ("48°", "98°") and marks["switch"][3:] == ("48°", "98°")
    assert marks["lever gear"][1:] == ("dot to dot", marks["lever gear"][2], "24°", "49°")


def test_key_numbers_by_hand():
    keys = dict(timing_card(small()).keys)
    assert keys["main gear"] == "36 teeth, 10.00° a tooth"
    assert keys["travel"] == "−20.0° to 120.0°: 140.0°, 14.0 teeth"
    assert keys["crank"] == "0.50 turns a tooth, 7.0 from end to end"  # 18 · 140/360
    assert keys["reference mode"].startswith("IN:") and keys["time-out"] == "20.0 s"
    assert keys["cam"] == "10.0°/s, coasts 2.0°; a code counts after 1.0°"
    assert dict(timing_card(going_round()).keys)["travel"] == "one turn after the other, 36.0 teeth each"


def test_a_cam_that_goes_round():
    card = timing_card(going_round())
    read = dict(card.half_teeth)
    assert min(read) == 0 and max(read) == 36 and read[0] == ("●", "–") == read[36] and read[18] == ("–", "●")
    assert "turns from" not in card.contacts.header and card.interlocks not in card.tables


def test_the_card_leaves_faults_out_and_says_what_is_invented():
    alder = load("alder")
    sound, slipped = timing_card(alder), timing_card(alder.with_faults(slip("pinch cam", 1)))
    assert sound.text() == slipped.text()
    assert "invented" in sound.sentence() and sound.text().splitlines()[1] == sound.invented != ""
    assert timing_card(crowded(2, 3, 3, 0)).invented == ""


def test_text_holds_every_table_and_caution():
    card = timing_card(load("alder"))
    text = card.text()
    assert all(table.text() in text for table in card.tables) and len(card.tables) == 5
    assert all(caution in text for caution in card.cautions)
    told = " ".join(card.cautions).lower()
    for word in ("plug", "capacitors", "springs", "never bridge", "local codes", "qualified"):
        assert word in told
    assert "no cover off under power" in told


def test_a_way_of_its_own_is_told():
    """Else nobody sees why the shorter way takes longer."""
    for name, told in (("alder", "PLAY to STOP by SLOW"), ("cedar", "OPEN to PLAY by SHUT")):
        assert told in timing_card(load(name)).times.note
    assert " by " not in timing_card(load("birch")).times.note


def test_changes_that_cannot_work_are_marked():
    values_ = values()
    values_["controller"]["time_out_s"] = 4.5  # IN to OUT takes 9.8 s
    card = card_of(values_)
    rows = {row[0]: row[1:] for row in card.times.rows}
    assert rows["IN"][2] == "×" and "× does not end right" in card.times.note
    assert "×" not in timing_card(small()).times.note


def test_changes_that_end_otherwise_from_the_other_sense_are_marked():
    transport = transport_from(make(11), "hazel.toml")
    card, table = timing_card(transport), change_table(transport)
    differ = {pair for pair, cell in table.items() if cell.differs and cell.change.good}
    targets = card.times.header[1:]
    starred = {
        (row[0], target)
        for row in card.times.rows
        for target, cell in zip(targets, row[1:], strict=True)
        if cell.endswith("*")
    }
    assert starred == differ != set() and "* ends otherwise" in card.times.note
    assert "*" not in timing_card(small()).times.note


def test_the_text_of_the_small_machine_is_set_in_columns():
    lines = timing_card(small()).text().splitlines()
    for line in (
        "part        mark          IN  HALF  OUT",
        "hook cam    notch to dot  2°   19°  39°",
        "HALF  latch, above, unloading       4.0°   0.40   0.20     0/0       0/any   any/any",
        "OUT            9.50  10.50        4.75  5.25  ●  ●",
        "HALF  4.4        4.8",
        "hook and latch  hook +4.0°         no limit",
    ):
        assert line in lines, line
    assert [table.left for table in timing_card(small()).tables] == [2, 2, 1, 1, 3]  # columns of words
    lines = timing_card(small()).half_tooth_text().splitlines()
    assert lines[:2] == ["teeth  hand turns     A     B", " −2.0       −1.00     –     –"]


def test_hand_turns_are_those_of_the_first_shaft():
    file = values()
    turns = {"crank": 3600, "worm": 7}
    file["hand_shaft"] = [{"name": name, "turns_per_cam_turn": n} for name, n in turns.items()]
    card = card_of(file)
    assert [name for name, _ in card.keys if name in ("crank", "worm")] == ["crank", "worm"]
    assert "turns of the crank;" in card.margins.note and "worm" not in card.margins.note
    # 10 turns a degree: half a tooth of 10° is 50, and the latch's margin of 4° is 40
    assert card.half_tooth_text().splitlines()[1].split()[:2] == ["−2.0", "−200.00"]
    assert card.half_tooth_text().splitlines()[-1].split()[:2] == ["12.0", "1200.00"]
    assert card.margins.rows[1][4] == "40.00" and card.contacts.rows[0][3] == "−50.00"


def test_a_table_as_text():
    table = CardTable("T", ("a", "b"), (("one", "2"),), 1)
    assert table.text() == "T\na    b\none  2"


def test_each_motor_turns_to_its_hand_over_and_is_told_there_in_both_senses():
    told = dict(timing_card(load("cedar")).keys)["motors"]
    assert told == "drawer motor to −12.0° (IN tells, back H), then cam motor"
    text = (DATA / "cedar.toml").read_text("utf-8")
    cut = text.replace(  # the cam's stage in two, of one motor
        'name = "cam"\nfrom = {deg = -12}',
        'name = "first"\nfrom = {deg = -12}\nto = {deg = 100}\nmotor = "cam motor"\ndrives = ["main cam"]\n'
        'through = "as below"\nheld = "the drawer"\n'
        'hand_over = {unloading = {contact = "H", push_on = {deg = 20}}}\n\n'
        '[[stage]]\nname = "cam"\nfrom = {deg = 100}',
    )
    at = cut.index('name = "cam"\nfrom')
    over = 'hand_over = {unloading = {contact = "H", push_on = {deg = 20}}}\n'
    cut = cut[:at] + cut[at:].replace(over, "", 1)
    assert dict(timing_card(transport_from(tomllib.loads(cut), "x.toml")).keys)["motors"] == told


def test_an_end_stop_is_named_where_it_ends_the_room():
    assert timing_card(load("dogwood")).margins.rows[0][1] == "end stop, below, unloading"
