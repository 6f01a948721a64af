"""How often faults are met and what checks and repairs take: what a file says, else what is usual."""

from __future__ import annotations

import copy
from dataclasses import replace

import pytest
from small_machine import driven_values, small
from small_released import stepping
from test_transports_read_motors import CEDAR

from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.bench_entries import CHECKS, FAULTS, MENDED_AS
from mechlib.transports.bench_practice import (
    USUAL_CHECK_MINUTES,
    USUAL_REPAIR_MINUTES,
    USUAL_WEIGHTS,
    check_covers,
    check_minutes,
    check_places,
    fault_places,
    how_often,
    repair_covers,
    repair_minutes,
)
from mechlib.transports.files import transport_from

COVERS = [{"name": "lid", "minutes": 2}, {"name": "plate", "minutes": 3, "off_first": ["lid"]}]


def names(covers) -> list[str]:
    return [cover.name for cover in covers]


def test_every_kind_has_its_usual_numbers():
    assert set(USUAL_WEIGHTS) == {*USUAL_REPAIR_MINUTES, *MENDED_AS, "nothing"} == set(FAULTS)
    assert set(USUAL_CHECK_MINUTES) == set(CHECKS)
    assert min(USUAL_WEIGHTS.values()) > 0


def test_which_faults_a_machine_can_have():
    here = small()  # no motor, no belt, no solenoid
    assert fault_places(here, "slip") == ("switch", "lever gear", "hook cam")
    assert fault_places(here, "hard grease") == ("main cam", "switch", "lever gear", "hook cam")
    assert fault_places(here, "bent lever") == ("lever", "hook", "latch")
    assert fault_places(here, "electronics") == fault_places(here, "nothing") == (None,)
    none = ("weak motor", "low supply", "slack belt", "dead driver", "dead solenoid", "cut-off open")
    assert all(fault_places(here, kind) == () and how_often(here, kind) == 0 for kind in none)
    assert fault_places(stepping(), "worn latch") == ("REST", "HALF", "RUN")
    assert fault_places(stepping(), "cut-off open") == (None,)
    assert fault_places(load("alder"), "dead driver") == ("loading", "unloading")
    assert fault_places(load("birch"), "dead driver") == ("loading",)
    assert check_places(here, "volts at the motor") == ()
    assert check_places(stepping(), "look at a part") == ("main cam", "switch", "lever", "solenoid")


def test_weights_are_shared_by_the_places_without_one():
    """10 for the whole kind, of which no more than two places have a share; 7 for the third."""
    said = [{"fault": "slip", "weight": 10}, {"fault": "slip", "of": "switch", "weight": 7}]
    here = small(how_often=said)
    assert [how_often(here, "slip", part) for part in ("switch", "lever gear", "hook cam")] == [7, 5, 5]
    assert how_often(here, "slip") == 17
    assert how_often(small(), "slip", "switch") == USUAL_WEIGHTS["slip"] / 3
    assert how_often(small(how_often=[{"fault": "electronics", "weight": 3}]), "electronics") == 3
    assert here.how_often[0].source == "common practice, no source"


def test_minutes_of_the_place_come_before_those_of_the_kind():
    said = [
        {"kind": "look at a mark", "minutes": 4},
        {"kind": "look at a mark", "of": "switch", "minutes": 0.5},
        {"kind": "look at a mark", "of": "hook cam", "under": ["lid"]},
    ]
    here = small(cover=COVERS, check=said)
    marks = [check_minutes(here, "look at a mark", part) for part in ("switch", "lever gear", "hook cam")]
    assert marks == [0.5, 4, 4]
    assert check_minutes(here, "try a change") == USUAL_CHECK_MINUTES["try a change"]


def test_a_repair_lifts_the_gear():
    values = driven_values(switch={"lift_minutes": 4})
    here = transport_from(values, "small.toml")
    usual = USUAL_REPAIR_MINUTES["slip"]
    assert repair_minutes(here, "slip", "switch") == usual + 4
    assert usual < repair_minutes(here, "slip", "hook cam") == repair_minutes(here, "slip", "lever gear")
    assert repair_minutes(here, "slip") == usual
    values["repair"] = [
        {"fault": "slip", "of": "switch", "minutes": 9},
        {"fault": "weak motor", "minutes": 2},
    ]
    here = transport_from(values, "small.toml")
    assert repair_minutes(here, "slip", "switch") == 9 and repair_minutes(here, "weak motor") == 2


def test_what_comes_off_first():
    """The gear's own covers, then what the entry adds; each once, in the order in which they come off."""
    values = driven_values(switch={"under": ["plate"]}) | {"cover": COVERS}
    values["check"] = [{"kind": "look at a part", "of": "lever", "under": ["lid"]}]
    values["repair"] = [{"fault": "open contact", "under": ["lid"]}]
    here = transport_from(values, "small.toml")
    assert names(check_covers(here, "look at a mark", "switch")) == ["lid", "plate"]
    assert check_covers(here, "look at a mark", "hook cam") == () == check_covers(here, "try a change")
    assert names(check_covers(here, "look at a part", "lever")) == ["lid"]
    assert names(repair_covers(here, "bent lever", "lever")) == ["lid"]
    assert repair_covers(here, "bent lever", "hook") == ()
    assert names(repair_covers(here, "dirty contact", "A")) == ["lid", "plate"]  # they sit on the switch
    assert repair_covers(here, "intermittent contact", "A") == repair_covers(here, "dirty contact", "A")
    minutes = [repair_minutes(load("alder"), f"{kind} contact", "B") for kind in ("dirty", "intermittent")]
    assert minutes == [8, 8]  # Alder's own entry for a dirty contact
    assert names(repair_covers(here, "hard grease", "switch")) == ["lid", "plate"]
    assert check_covers(here, "read a contact", "A") == ()
    assert names(repair_covers(load("birch"), "slack belt")) == ["rear cover", "flywheel bracket"]
    assert names(repair_covers(load("alder"), "glazed belt")) == ["bottom plate"]


def test_minutes_alone_leave_the_covers_of_the_kind():
    """An entry of its own for the minutes says nothing of covers; one that says "none" does."""
    said = [
        {"kind": "look at a part", "under": ["plate"]},
        {"kind": "look at a part", "of": "lever", "minutes": 6},
        {"kind": "look at a part", "of": "hook", "under": []},
    ]
    here = small(cover=COVERS, check=said)
    lids = [names(check_covers(here, "look at a part", thing)) for thing in ("lever", "latch", "hook")]
    assert lids == [["lid", "plate"], ["lid", "plate"], []]
    assert check_minutes(here, "look at a part", "lever") == 6
    assert names(repair_covers(here, "bent lever", "lever")) == ["lid", "plate"]


def test_of_several_motors_each_belt_is_reached_as_it_is_looked_at():
    values = copy.deepcopy(CEDAR)
    values["belt"] = [values["belt"][0], values["belt"][0] | {"of": "drawer motor"}]
    inner = values["cover"][0]["name"]
    values["check"] = [{"kind": "look at a part", "of": "belt of the cam motor", "under": [inner]}]
    here = transport_from(values, "cedar.toml")
    assert fault_places(here, "slack belt") == ("drawer motor", "cam motor")
    assert inner in names(repair_covers(here, "slack belt", "cam motor"))
    assert repair_covers(here, "slack belt", "drawer motor") == ()


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (lambda m: how_often(m, "rust"), "no fault is called 'rust'"),
        (lambda m: how_often(m, None), "no fault is called None"),
        (lambda m: how_often(m, "slip", "lever"), "there is switch"),
        (lambda m: how_often(m, "electronics", "switch"), "it needs no name"),
        (lambda m: check_minutes(m, "smell"), "no check is called 'smell'"),
        (lambda m: check_minutes(m, "motor current"), "can't be in this transport"),
        (lambda m: check_covers(m, "read a contact", "Z"), "there is A"),
        (lambda m: repair_minutes(m, "slack belt"), "can't be in this transport"),
        (lambda m: repair_covers(m, "slip", "lever"), "there is switch"),
    ],
)
def test_what_there_is_not(asked, told):
    with pytest.raises(MechError, match=told):
        asked(small())


def test_that_nothing_is_wrong_is_proved_by_every_change():
    """3 modes: 6 changes."""
    assert repair_minutes(small(), "nothing") == 6 * USUAL_CHECK_MINUTES["try a change"]
    slow = small(check=[{"kind": "try a change", "minutes": 2.5}])
    assert repair_minutes(slow, "nothing") == 15
    assert repair_minutes(small(repair=[{"fault": "nothing", "minutes": 4}]), "nothing") == 4


def test_the_work_of_a_new_belt_is_told_at_either_fault_of_a_belt():
    birch = load("birch")
    told = tuple(one for one in birch.repairs if one.kind != "slack belt")
    here = replace(birch, repairs=told)
    assert repair_minutes(here, "slack belt") == repair_minutes(birch, "glazed belt") == 6
    assert repair_covers(here, "slack belt") == repair_covers(birch, "glazed belt")
