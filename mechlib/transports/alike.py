"""Machines like the one of a file: every one that is built differs a little from what was written down.

Angles read by counting teeth are off by a degree or so, motors and springs by some percent.  What is foretold
of a machine on the bench must hold for all of these.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from random import Random

from mechlib.cams.programme import Programme
from mechlib.drives.motor import motor_from_line
from mechlib.errors import MechError, check_count
from mechlib.transports.arcs import TINY, Arcs
from mechlib.transports.change_table import pairs
from mechlib.transports.mode_change import change
from mechlib.transports.model import Follower, Transport
from mechlib.transports.refit import refitted

ANGLE_DEG = 1.5  # by which an angle of a track or contact may be off, either way; common practice, no source
FORCE_PART = 0.15  # of a motor's or a spring's value, the same
LEAST_DEG = 0.5  # of a piece of a track or of an arc
MOST_TRIES = 40  # for one machine that works


@lru_cache(maxsize=32)
def machines_alike(transport: Transport, number: int, seed: int = 1) -> tuple[Transport, ...]:
    """So many sound machines like ``transport``, in which every change works that works there.

    Each corner of a track and each edge of a contact's arcs is off by up to 1.5°, edges of one part that are
    the same in the file by the same; the motor's torque and speed, each spring and each friction by up to 15
    %. ``number``: 1 to 100.  Faults of the transport are left out.  Raises MechError where no machine so
    different works.  The sizes are common practice, no source.

    >>> from mechlib.transports import load
    >>> one, other = machines_alike(load("birch"), 2)
    >>> one == other, one.slips, one.sound is one
    (False, (), True)
    """
    check_count("number", number, 1, 100)
    sound, draw = transport.sound, Random(f"{transport.sound.name} {seed}")
    works = [pair for pair in pairs(sound) if change(sound, *pair).good]
    found: list[Transport] = []
    for _ in range(number * MOST_TRIES):
        machine = _one_alike(sound, draw)
        if machine and all(change(machine, *pair).good for pair in works):
            found.append(machine)
            if len(found) == number:
                return tuple(found)
    raise MechError(
        f"{sound.name} works in too few of the machines that are off by {ANGLE_DEG:g}° and {FORCE_PART:.0%}",
        "give its modes more margin, or look whether its angles were counted right",
    )


def _one_alike(sound: Transport, draw: Random) -> Transport | None:
    try:
        followers = tuple(_follower(follower, draw) for follower in sound.followers)
        contacts = _contacts(sound, draw)
        return replace(sound, **refitted(sound, followers), contacts=contacts, motors=_motors(sound, draw))
    except MechError:  # a track or an arc that was too short to be off by as much
        return None


def _off(draw: Random) -> float:
    return draw.uniform(-ANGLE_DEG, ANGLE_DEG)


def _part(draw: Random) -> float:
    return 1 + draw.uniform(-FORCE_PART, FORCE_PART)


def _follower(follower: Follower, draw: Random) -> Follower:
    """Another track, spring and friction; the ends of the track stay."""
    programme = follower.programme
    corners = [programme.segments[0].start_deg, *(segment.end_deg for segment in programme.segments)]
    moved = _in_order([corners[0], *(corner + _off(draw) for corner in corners[1:-1]), corners[-1]])
    pieces = zip(programme.segments, moved, moved[1:], strict=False)
    track = tuple(replace(piece, start_deg=start, end_deg=end) for piece, start, end in pieces)
    spring, part = follower.spring, _part(draw)
    return replace(
        follower,
        programme=Programme(track, programme.period_deg),
        spring=replace(spring, force_N=spring.force_N * part, rate_N_mm=spring.rate_N_mm * part),
        friction_N=follower.friction_N * _part(draw),
    )


def _in_order(corners: list[float]) -> list[float]:
    """The corners with a piece of ``LEAST_DEG`` at least between any two; the first and the last stay.

    So a short dwell doesn't vanish.
    """
    moved, inner = list(corners), range(1, len(corners) - 1)
    for at in inner:
        moved[at] = max(moved[at], moved[at - 1] + LEAST_DEG)
    for at in reversed(inner):
        moved[at] = min(moved[at], moved[at + 1] - LEAST_DEG)
    return moved


def _contacts(sound: Transport, draw: Random):
    """Other arcs: an edge that several contacts of one part share stays shared."""
    moved: dict[tuple[str, float], float] = {}

    def at(part: str, edge: float) -> float:
        key = part, round(edge % 360.0 if sound.cyclic else edge, 6)
        if key not in moved:
            moved[key] = _off(draw)
        return edge + moved[key]

    def arcs(contact) -> Arcs:
        return tuple(
            (at(contact.part, start), max(at(contact.part, end), at(contact.part, start) + LEAST_DEG))
            for start, end in contact.closed
            if end - start > TINY
        )

    return tuple(replace(contact, closed=arcs(contact)) for contact in sound.contacts)


def _motors(sound: Transport, draw: Random):
    made = []
    for drive in sound.motors:
        motor = drive.motor
        torque, speed = motor.stall_torque_Nmm * _part(draw), motor.no_load_rev_min * _part(draw)
        made.append(replace(drive, motor=motor_from_line(motor.voltage_V, speed, torque, motor.friction_Nmm)))
    return tuple(made)
