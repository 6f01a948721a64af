"""The tables for fault finding: what they give, and each mistake by its table and key."""

from __future__ import annotations

import pytest
from small_machine import driven, small
from small_released import values
from test_transports_bench_practice import COVERS

from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.bench_entries import BenchTime, HowOften
from mechlib.transports.files import transport_from


def test_all_of_it():
    here = small(
        cover=COVERS,
        how_often=[{"fault": "slip", "of": "switch", "weight": 2.5, "source": "counted here"}],
        check=[
            {"kind": "try a change", "minutes": 0.1},
            {"kind": "read a contact", "of": "A", "under": ["lid"]},
        ],
        repair=[{"fault": "bent lever", "of": "hook", "minutes": 12, "under": ["plate"]}],
    )
    assert here.how_often == (HowOften("slip", "switch", 2.5, "counted here"),)
    assert here.checks == (
        BenchTime("try a change", None, 0.1),
        BenchTime("read a contact", "A", None, ("lid",)),
    )
    assert here.repairs == (BenchTime("bent lever", "hook", 12, ("plate",)),)


def test_what_may_be_left_out():
    assert small().how_often == small().checks == small().repairs == ()
    assert load("alder").how_often and load("birch").checks and load("birch").repairs


@pytest.mark.parametrize(
    ("table", "row", "told"),
    [
        ("how_often", {"fault": "rust", "weight": 1}, "key fault: there is no 'rust'"),
        ("how_often", {"weight": 1}, "key fault: it is missing"),
        ("how_often", {"fault": "slip"}, "key weight: it is missing"),
        ("how_often", {"fault": "slip", "weight": 0}, "key weight"),
        ("how_often", {"fault": "slip", "weight": "often"}, "key weight"),
        ("how_often", {"fault": "slip", "weight": 1, "source": ""}, "key source"),
        ("how_often", {"fault": "slip", "of": "swich", "weight": 1}, "did you mean 'switch'"),
        ("how_often", {"fault": "slip", "of": "lever", "weight": 1}, "there is no timed part 'lever'"),
        ("how_often", {"fault": "bent lever", "of": "switch", "weight": 1}, "there is no follower 'switch'"),
        ("how_often", {"fault": "electronics", "of": "switch", "weight": 1}, "leave of out"),
        ("how_often", {"fault": "slack belt", "weight": 1}, "this machine has no belt"),
        ("how_often", {"fault": "worn latch", "weight": 1}, "this machine has no mode with a rest"),
        ("how_often", {"fault": "slip", "weight": 1, "colour": 2}, "colour"),
        ("check", {"kind": "smell", "minutes": 1}, "key kind: there is no 'smell'"),
        ("check", {"kind": "try a change"}, "neither minutes nor covers"),
        ("check", {"kind": "try a change", "minutes": -1}, "key minutes"),
        ("check", {"kind": "try a change", "minutes": 0}, "it must be from 0.1 to 600 minutes"),
        ("check", {"kind": "try a change", "under": ["roof"]}, "key under"),
        ("check", {"kind": "read a contact", "of": "Z", "minutes": 1}, "there is no contact 'Z'"),
        ("check", {"kind": "motor current", "minutes": 1}, "this machine has no motor"),
        ("repair", {"fault": "open contact", "of": "lever", "minutes": 1}, "there is no contact 'lever'"),
        ("repair", {"fault": "slip", "minutes": 601}, "key minutes"),
        ("repair", {"fault": "intermittent contact", "minutes": 1}, "there is no 'intermittent contact'"),
        ("repair", {"kind": "slip", "minutes": 1}, "key fault: it is missing"),
    ],
)
def test_mistakes_are_told(table, row, told):
    with pytest.raises(MechError) as refused:
        small(**{"cover": COVERS, table: [row]})
    assert told in str(refused.value) and f"[[{table}]] number 1" in str(refused.value)


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("how_often", {"fault": "slip", "of": "switch", "weight": 1}),
        ("how_often", {"fault": "nothing", "weight": 1}),
        ("check", {"kind": "try a change", "minutes": 1}),
        ("repair", {"fault": "slip", "of": "switch", "minutes": 1}),
    ],
)
def test_twice_the_same_is_refused(table, row):
    with pytest.raises(MechError, match=r"number 2, .*already"):
        small(**{table: [row, row]})


def test_what_needs_a_motor_or_a_latch():
    assert driven(how_often=[{"fault": "dead driver", "of": "unloading", "weight": 1}]).how_often
    worn = values() | {"how_often": [{"fault": "worn latch", "of": "HALF", "weight": 2}]}
    assert transport_from(worn, "stepping.toml").how_often[0].of == "HALF"
    with pytest.raises(MechError, match="no mode with a rest 'OPEN'"):
        transport_from(
            values() | {"how_often": [{"fault": "worn latch", "of": "OPEN", "weight": 2}]}, "s.toml"
        )
