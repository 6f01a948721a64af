"""Mode changes of the small machine, every angle and time worked out on paper."""

from dataclasses import replace

import pytest
from small_machine import going_round, small, values

from mechlib.errors import MechError
from mechlib.transports import (
    bent_lever,
    change,
    change_table,
    dead_solenoid,
    dirty_contact,
    load,
    open_contact,
    slip,
    slip_table,
    split_gear,
)
from mechlib.transports import outcomes as ends
from mechlib.transports.mode_change import change_from
from mechlib.transports.outcomes import Stand
from mechlib.transports.tables import change_signs, slip_grid


def told(found):
    """Legs as (sense, mode, from, to, ended)."""
    return [
        (leg.leg.sense, leg.leg.mode, round(leg.start_deg, 6), round(leg.end_deg, 6), leg.ended)
        for leg in found.legs
    ]


def test_straight_there():
    found = change(small(), "IN", "HALF")
    assert told(found) == [("loading", "HALF", -2, 48, ends.RIGHT)]
    assert (found.outcome, found.powered_off, found.time_s) == (ends.RIGHT, False, pytest.approx(4.8))
    assert found.sentence() == "IN to HALF: reached, standing at 48.0° with every follower right."


def test_the_other_start():
    assert change(small(), "IN", "HALF", arrived="unloading").legs[0].start_deg == pytest.approx(2)
    with pytest.raises(MechError, match="arrived is 'up'"):
        change(small(), "IN", "HALF", arrived="up")


def test_jam_at_an_interlock_then_retry_then_off():
    # ten degrees ahead, the hook leaves "down" at 61; the latch opens at 64 only
    found = change(small().with_faults(slip("lever gear", 1)), "IN", "OUT")
    assert told(found) == [
        ("loading", "OUT", -2, 61, ends.JAMMED),
        ("unloading", "IN", 61, 2, ends.RIGHT),
        ("loading", "OUT", 2, 61, ends.JAMMED),
    ]
    assert (found.outcome, found.powered_off, found.stand.theta) == (ends.JAMMED, True, pytest.approx(61))
    assert found.time_s == pytest.approx(20 + 5.7 + 20)
    assert "the hook and the latch collide at 61.0° (hook and latch)" in found.sentence()
    assert found.story().count("\n") == 3 and "Retry: the motor turns" in found.story()


def test_jam_on_the_way_back():
    # the latch shuts at 64 while the hook is still on its way: down at 58 with play taken up
    found = change(small().with_faults(slip("lever gear", 1)), "OUT", "IN")
    assert told(found)[0] == ("unloading", "IN", 98, 64, ends.JAMMED)
    assert found.stand.theta == pytest.approx(64) and found.powered_off


def test_reached_but_wrong():
    found = change(small().with_faults(slip("switch", 1)), "IN", "HALF")
    assert (found.outcome, found.stand.theta) == (ends.WRONG, pytest.approx(38))
    (wrong,) = found.wrong
    assert (wrong.name, wrong.state, wrong.needed) == ("lever", "between", "on")
    assert (wrong.lift_mm, wrong.off_deg) == (pytest.approx(18), pytest.approx(1))
    assert not found.powered_off


def test_pulses_missing():
    found = change(small().with_faults(slip("switch", 1)), "IN", "OUT")
    assert (found.outcome, found.powered_off) == (ends.SILENT_SENSOR, True)
    assert "after 3.0 s without pulses: hook at 18.00 mm (between)" in found.sentence()


def test_a_false_code():
    # dirt on A leaves B alone from 95 to 97: the code of HALF, read at 96
    found = change(small().with_faults(dirty_contact("A", 2)), "OUT", "HALF")
    assert told(found) == [("unloading", "HALF", 100, 94, ends.RIGHT)]
    assert found.outcome == ends.FALSE_CODE and [w.name for w in found.wrong] == ["latch"]


def test_dirt_shorter_than_settle_is_not_read():
    found = change(small().with_faults(dirty_contact("A", 0.9)), "OUT", "HALF")
    assert (found.outcome, found.stand.theta) == (ends.RIGHT, pytest.approx(52))


def test_end_stop_without_a_code():
    # without B the far arc of A alone reads as IN: the retry stops there, too
    found = change(small().with_faults(open_contact("B")), "IN", "HALF")
    assert told(found) == [
        ("loading", "HALF", -2, 120, ends.END_STOP),
        ("unloading", "IN", 120, 102, ends.RIGHT),
        ("loading", "HALF", 102, 120, ends.END_STOP),
    ]
    assert found.outcome == ends.END_STOP and found.powered_off


def test_time_out_before_the_stop():
    found = change(small(controller=values()["controller"] | {"time_out_s": 4}), "IN", "OUT")
    assert told(found)[0] == ("loading", "OUT", -2, 38, ends.TOO_SLOW)
    assert found.outcome == ends.TOO_SLOW


def test_a_mode_that_cannot_be_reached_cannot_be_left():
    found = change(small().with_faults(open_contact("B")), "HALF", "IN")
    assert (found.outcome, found.legs, found.stand) == (ends.NO_START, (), None)


def test_homing_where_no_code_is_known():
    machine = small()
    stand = Stand(30.0, {"main cam": 30.0, "switch": 30.0, "lever gear": 30.0, "hook cam": 30.0}, "loading")
    found = change_from(machine, stand, "nowhere", "HALF")
    assert told(found) == [("unloading", "IN", 30, 2, ends.RIGHT), ("loading", "HALF", 2, 48, ends.RIGHT)]
    assert found.legs[0].purpose == "homing" and found.good


def test_a_code_that_shows_does_not_turn_the_motor():
    found = change(small(), "HALF", "HALF")
    assert told(found) == [("loading", "HALF", 48, 48, ends.RIGHT)] and found.time_s == 0
    assert found.legs[0].sentence() == "The code of HALF shows already, so the motor does not turn."


def test_route_of_the_file_and_turn_first():
    route = {
        "from": ["IN"],
        "to": "HALF",
        "legs": [
            {"sense": "loading", "mode": "OUT"},
            {"sense": "unloading", "mode": "HALF"},
            {"sense": "loading", "mode": "HALF", "turn_first": True},
        ],
    }
    found = change(small(controller=values()["controller"] | {"change": [route]}), "IN", "HALF")
    # the last leg starts inside its own code: no edge before the end stop
    assert told(found)[:3] == [
        ("loading", "OUT", -2, 98, ends.RIGHT),
        ("unloading", "HALF", 98, 52, ends.RIGHT),
        ("loading", "HALF", 52, 120, ends.END_STOP),
    ]


def test_a_retry_that_waits_for_the_target_itself():
    control = values()["controller"]
    control["retry"] = {"sense": "unloading", "mode": "HALF"}
    legs = [{"sense": "loading", "mode": "HALF"}, {"sense": "loading", "mode": "HALF", "turn_first": True}]
    control["change"] = [{"from": ["IN"], "to": "HALF", "legs": legs}]
    found = change(small(controller=control), "IN", "HALF")
    assert told(found)[2:] == [("unloading", "HALF", 120, 52, ends.RIGHT)]
    assert found.outcome == ends.ON_RETRY and "second try" in found.sentence()


def test_coasting_into_an_interlock_on_the_way_is_left_behind():
    control = values()["controller"] | {"home": {"sense": "loading", "mode": "HALF"}}
    machine = small(controller=control).with_faults(split_gear("hook cam", 24.0))  # "down" is left at 47
    places = {name: 20.0 for name in ("main cam", "switch", "lever gear", "hook cam")}
    found = change_from(machine, Stand(20.0, places, "loading"), "nowhere", "IN")
    assert told(found) == [("loading", "HALF", 20, 47, ends.RIGHT), ("unloading", "IN", 47, 2, ends.RIGHT)]
    assert found.outcome == ends.RIGHT


def test_coasting_ends_at_the_end_stop():
    found = change(small(drive=values()["drive"] | {"high_stop": {"deg": 97}}), "IN", "OUT")
    assert (found.outcome, found.stand.theta) == (ends.RIGHT, 97)


def test_coasting_into_an_interlock():
    machine = small().with_faults(split_gear("hook cam", 24.0))
    found = change(machine, "IN", "HALF")  # hook leaves at 47, read at 46, rest at 48
    assert (found.outcome, found.stand.theta) == (ends.JAMMED, pytest.approx(47))
    assert "coasting after the code was read" in found.sentence() and not found.powered_off


def test_a_part_at_its_own_stop():
    parts = values()["part"]
    parts[1]["high_stop"] = {"deg": 125}  # ten degrees ahead, it is reached at 115
    machine = small(part=parts, interlock=[]).with_faults(slip("lever gear", 1), open_contact("B"))
    found = change(machine, "IN", "HALF")
    assert (found.outcome, found.legs[0].end_deg) == (ends.JAMMED, pytest.approx(115))
    assert "the lever gear reaches its own stop at 115.0°" in found.sentence()


def test_power_that_goes_elsewhere():
    stage = {
        "name": "all",
        "from": {"deg": -20},
        "to": {"deg": 120},
        "drives": ["main cam"],
        "through": "gears",
        "held": "nothing",
        "solenoid": True,
    }
    sound = small(stage=[stage])
    assert change(sound, "IN", "OUT").good
    found = change(sound.with_faults(dead_solenoid()), "IN", "OUT")
    assert told(found)[0] == ("loading", "OUT", -2, -2, ends.ELSEWHERE)
    assert found.outcome == ends.ELSEWHERE and "stage all" in found.sentence()
    with pytest.raises(MechError, match="no solenoid"):
        small().with_faults(dead_solenoid())


def test_bent_lever_stands_wrong():
    found = change(small().with_faults(bent_lever("latch", 2)), "IN", "HALF")
    assert (found.outcome, [w.name for w in found.wrong]) == (ends.WRONG, ["latch"])
    assert found.wrong[0].off_deg is None and "never shut" in found.sentence()


def test_a_slipped_switch_reads_its_own_arc():
    # four teeth ahead B closes from 130: read at 131, at rest at 133, where the lever is at 16.5 mm
    found = change(going_round().with_faults(slip("switch", 4)), "REST", "RUN")
    assert (found.outcome, found.stand.theta) == (ends.WRONG, pytest.approx(133))
    assert found.wrong[0].lift_mm == pytest.approx(16.5)


def test_table_and_signs():
    table = change_table(small())
    assert len(table) == 6 and all(cell.change.good and not cell.differs for cell in table.values())
    assert change_signs(small()) == "=.. .=. ..="
    jammed = small().with_faults(slip("lever gear", 1))
    assert change_signs(jammed) == "=.j .=j jj="
    assert slip_grid(small()).splitlines()[0].split()[0] == "slip"


def test_a_cell_is_marked_where_the_other_start_ends_otherwise():
    # from 48 the code of IN is 44 degrees away, 4.4 s; from 52 it is 48, too long for 4.6 s
    cell = change_table(small(controller=values()["controller"] | {"time_out_s": 4.6}))["HALF", "IN"]
    assert cell.change.good and cell.differs
    assert ":" in change_signs(small(controller=values()["controller"] | {"time_out_s": 4.6}))


def test_slips_row_by_row():
    rows = {(row.mesh, row.teeth): row for row in slip_table(small())}
    assert rows["motor pinion", 1].silent and rows["motor pinion", 1].margin_of == ""
    row = rows["lever gear", 1]
    assert not row.silent and set(row.failing) == {
        ("IN", "OUT"),
        ("HALF", "OUT"),
        ("OUT", "IN"),
        ("OUT", "HALF"),
    }
    assert row.sentence() == "The lever gear is 1 tooth ahead of its mark: 2 reached and 4 jammed."


class TestAlder:
    """What the demo promises its lessons: one tooth shows, and yet not everything fails."""

    alder = load("alder")

    def test_sound(self):
        table = change_table(self.alder)
        assert len(table) == 56
        assert all(cell.change.good and not cell.differs for cell in table.values())

    def test_every_single_tooth(self):
        upstream = {mesh.name for mesh in self.alder.upstream}
        for row in slip_table(self.alder):
            assert row.silent == (row.mesh in upstream), row.sentence()
            assert len(row.failing) < 56, row.sentence()

    def test_kinds_of_failure(self):
        outcomes = {outcome for row in slip_table(self.alder) for outcome, _ in row.counts}
        assert {ends.WRONG, ends.SILENT_SENSOR, ends.JAMMED, ends.END_STOP} <= outcomes

    def test_first_on_then_back(self):
        assert [leg.leg.mode for leg in change(self.alder, "PLAY", "STOP").legs] == ["SLOW", "STOP"]


def test_what_stands_a_hair_off_is_not_told_as_nought():
    """The pinch lever is 0.0025 mm outside its tolerance: wrong, so the words can't say 0.0°."""
    found = change(load("alder").with_faults(slip("pinch cam", -1)), "DOWN", "REVIEW")
    assert found.outcome == "reached but wrong" and 0 < found.wrong[0].off_deg < 0.05
    assert "(between), less than 0.1° of the cam from pressed" in found.sentence()
    told = [replace(found.wrong[0], off_deg=deg).words() for deg in (0.049, 0.05, 0.1)]
    assert [words.partition("), ")[2].partition(" of the cam")[0] for words in told] == (
        ["less than 0.1°", "0.1°", "0.1°"]
    )
