"""Machines like the one of a file: off by no more than is said, alike where the file is, and sound."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from small_machine import going_round, small

from mechlib.cams.programme import Programme
from mechlib.errors import MechError
from mechlib.transports import change_table, load
from mechlib.transports.alike import _follower, machines_alike


@pytest.mark.parametrize("sound", [load("birch"), small(), going_round()], ids=lambda one: one.name)
def test_off_by_no_more_than_said(sound):
    for machine in machines_alike(sound, 3):
        for filed, built in zip(sound.followers, machine.followers, strict=True):
            for a, b in zip(filed.programme.segments, built.programme.segments, strict=True):
                assert abs(a.end_deg - b.end_deg) <= 1.5 + 1e-9
                assert (a.start_mm, a.end_mm) == (b.start_mm, b.end_mm)
            assert (
                abs(built.spring.force_N - filed.spring.force_N) <= 0.15 * abs(filed.spring.force_N) + 1e-12
            )
        for filed, built in zip(sound.contacts, machine.contacts, strict=True):
            for a, b in zip(filed.closed, built.closed, strict=True):
                assert max(abs(a[0] - b[0]), abs(a[1] - b[1])) <= 1.5 + 1e-9
        if sound.drive:
            share = machine.drive.motor.stall_torque_Nmm / sound.drive.motor.stall_torque_Nmm
            assert 0.85 - 1e-9 <= share <= 1.15 + 1e-9


class Pushed:
    """A draw that gives what is wanted, in degrees, then what leaves springs as they are."""

    def __init__(self, *off_deg: float):
        self.off = list(off_deg)

    def uniform(self, low: float, high: float) -> float:
        return self.off.pop(0) if self.off else 0.0


@pytest.mark.parametrize(
    ("ends", "off", "wanted"),
    [
        ((10, 10.6, 11.2), (1.5, -1.0, -1.5), (11.5, 12.0, 12.5)),  # each pushes the next one on
        ((18.4, 19.0, 19.5), (1.5, 0.5, 0.5), (18.5, 19.0, 19.5)),  # the last stays, and pushes back
        ((10, 12, 14), (1.0, 0.0, -1.0), (11, 12, 13)),
    ],
)
def test_corners_stay_in_order_and_the_ends_where_they_are(ends, off, wanted):
    here = small().follower("latch")
    corners = (0.0, *ends, 20.0)
    piece = here.programme.segments[0]
    track = tuple(replace(piece, start_deg=a, end_deg=b) for a, b in pairwise(corners))
    built = _follower(replace(here, programme=Programme(track)), Pushed(*off)).programme.segments
    assert [built[0].start_deg, *(one.end_deg for one in built)] == pytest.approx([0, *wanted, 20])


def test_edges_that_are_one_in_the_file_stay_one():
    for machine in machines_alike(small(), 5):
        a, b = (contact.closed for contact in machine.contacts)
        assert a[1] == b[1]  # 95 to 105 in both
    machine = machines_alike(load("alder"), 1)[0]
    a, b = (contact.closed for contact in machine.contacts[:2])
    assert a[1] == b[0]


def test_they_work_and_differ_and_come_again():
    sound = load("birch")
    first = machines_alike(sound, 2, seed=5)
    assert all(cell.change.good for machine in first for cell in change_table(machine).values())
    assert first[0] != first[1] and first == machines_alike(load("birch"), 2, seed=5)
    assert machines_alike(sound, 1, seed=6)[0] not in first
    assert all(machine.sound is machine for machine in first)


def test_what_needs_hold_is_worked_out_again():
    """The arcs on which a follower counts as right are those of the new track, sampled."""
    machine = machines_alike(small(), 1)[0]
    need = next(need for need in machine.mode("HALF").needs if need.follower == "lever")
    lever = machine.follower("lever")
    for place in range(-20, 120):
        inside = any(low <= place <= high for low, high in need.arcs)
        assert inside == (lever.state(place) == "on")


def test_a_number_that_makes_no_sense_is_refused():
    with pytest.raises(MechError, match="number"):
        machines_alike(small(), 0)


def test_edges_are_off_either_way():
    alder = load("alder")
    moved = [
        there - here
        for machine in machines_alike(alder, 3)
        for filed, contact in zip(alder.contacts, machine.contacts, strict=True)
        for pair, arc in zip(filed.closed, contact.closed, strict=True)
        for here, there in zip(pair, arc, strict=True)
    ]
    assert min(moved) < -0.5 and max(moved) > 0.5
