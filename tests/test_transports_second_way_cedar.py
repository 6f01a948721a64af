"""Cedar, whose drawer and cam have a motor each, against the second way: stops, margins, changes, interlocks.

Sound, with every single slip by one to three teeth, and with other faults, those of hand-overs among them.
"""

from __future__ import annotations

from collections import Counter
from functools import cache
from importlib import resources

import pytest
from second_way import Machine
from second_way_changes import change_table
from test_transports_second_way import check_interlocks, check_stops_and_margins, faulty, ties_among

from mechlib import transports as tr

pytestmark = pytest.mark.slow  # not run for each mutant


@cache
def cedar() -> tuple[Machine, object]:
    text = (resources.files("mechlib.transports") / "data" / "cedar.toml").read_text("utf-8")
    return Machine.from_toml(text), tr.load("cedar")


def outcomes(machine: Machine) -> Counter:
    return Counter(outcome for outcome, _ in change_table(machine).values())


def test_sound_cedar():
    machine, transport = cedar()
    check_stops_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0
    assert set(outcomes(machine)) == {"reached"}


@pytest.mark.few(4)
@pytest.mark.parametrize("mesh", [row["name"] for row in cedar()[0].data["part"]])
@pytest.mark.parametrize("teeth", (-3, -2, -1, 1, 2, 3))
def test_cedar_with_a_slip(mesh, teeth):
    machine, transport = faulty(cedar(), "slip", mesh, teeth)
    check_stops_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0


FAULTS = (
    [("open", name, 0) for name in ("H", "P", "Q", "R", "IN", "OUT")]
    + [("dirty", "H", 1.7), ("dirty", "H", 9.0), ("dirty", "IN", 1.1), ("dirty", "IN", 2.8)]
    + [("dirty", "OUT", 2.0), ("dirty", "P", 3.9), ("dirty", "Q", 2.2), ("dirty", "R", 4.2)]
    + [("bent", "drawer", 1.5), ("bent", "cassette lift", 0.7), ("bent", "head plate", -0.3)]
    + [("bent", "brake slide", 0.25), ("bent", "reel rocker", -1.0), ("bent", "drawer lock", 0.4)]
    + [("split", "switch slide", -13.5), ("split", "switch slide", 9.1), ("split", "drawer rack", 3.3)]
    + [("split", "drawer rack", -2.6), ("split", "lift sector", -11.0), ("split", "pinch sector", 9.4)]
    + [("split", "brake gear", 14.2), ("split", "rocker gear", -9.7)]
)  # fmt: skip


@pytest.mark.few(4)
@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: " ".join(map(str, fault)))
def test_cedar_with_another_fault(fault):
    machine, transport = faulty(cedar(), *fault)
    check_stops_and_margins(machine, transport)
    assert ties_among(machine, transport) == 0


def test_a_slip_upstream_changes_nothing():
    machine, transport = cedar()
    for mesh in transport.upstream:
        assert ties_among(machine, transport.with_faults(tr.slip(mesh.name, 2))) == 0


@pytest.mark.parametrize("mesh, teeth", [("", 0), ("lift sector", 1), ("pinch sector", 3)])
def test_interlocks_of_cedar(mesh, teeth):
    check_interlocks(*(faulty(cedar(), "slip", mesh, teeth) if teeth else cedar()))
