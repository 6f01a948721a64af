"""How bad a fault of each kind can be: for each place a handful of grades, from slight to grave.

Where a grade is a torque or a stretch, it is a part of what this machine has, so that the same words mean as
much in every machine.  The grades and how often each is met are common practice, no source.
"""

from __future__ import annotations

from dataclasses import fields, replace
from math import exp, log, pi
from random import Random

import numpy as np

from mechlib.transports.effort import effort
from mechlib.transports.faults import (
    IntermittentContact,
    bent_lever,
    dead_solenoid,
    dirty_contact,
    intermittent_contact,
    open_contact,
    slip,
    split_gear,
)
from mechlib.transports.force_faults import (
    dead_driver,
    glazed_belt,
    hard_grease,
    low_supply,
    slack_belt,
    stiff_lever,
    weak_motor,
)
from mechlib.transports.lost_drive_faults import ClipGone, MissingTeeth, clip_gone, missing_teeth
from mechlib.transports.model import LOADING, Follower, Transport
from mechlib.transports.release_faults import cut_off_open, latch_worn
from mechlib.transports.runs import steady

AHEAD, BEHIND = "ahead", "behind"
SLIP_TEETH = ((1, 0.6), (2, 0.3), (3, 0.1))  # teeth, and the share of slips that are so large
SPLIT_TEETH = (-4.0, -1.5, -0.6, 0.6, 1.5, 4.0)  # angle, in pitches of its mesh
BENT = (-6.0, -3.0, -1.5, 1.5, 3.0, 6.0)  # of the follower's tolerance
DIRTY = (0.12, 0.25, 0.4)  # of the contact's narrowest arc, at each end
PASSES = (0.9, 0.7, 0.4)  # how often an intermittent contact's arc passes
OF_STRETCH = (0.5, 0.7, 0.85, 1.1)  # the belt's stretch that has gone
OF_FRICTION = (0.65, 0.42, 0.25)  # left of the belt's friction
MOTOR_LEFT = (65.0, 45.0, 25.0)  # % of the motor's torque
OF_VOLTS = (0.8, 0.6, 0.4)  # left of the supply
OF_SPARE = (0.4, 0.8, 1.3)  # more load, as part of what the drive can give at the cam
OFF_AT = (0.2, 0.45, 0.7, 0.9)  # of a part's travel, where its gear comes off
GAPS = ((0.1, 1), (0.3, 2), (0.5, 1), (0.7, 2), (0.9, 1))  # of its parent's travel, and teeth missing there
DEGREE_BLUR = 4 / 3  # a fault's degree is that of its grade, over this to times this
PLACE_BLUR = 0.08  # of the travel, by which its place may be elsewhere
GRID_DEG = 1.0

Grades = tuple[tuple[object, float], ...]  # faults of one cause, each with its share


def evenly(faults) -> Grades:
    """The same share for each fault."""
    faults = tuple(faults)
    return tuple((fault, 1.0 / len(faults)) for fault in faults)


def slips(transport: Transport, part: str, way: str) -> Grades:
    """A slip ahead or behind, one to three teeth.

    >>> from mechlib.transports import load
    >>> [fault.teeth for fault, share in slips(load("alder"), "pinch cam", BEHIND)]
    [-1, -2, -3]
    """
    sign = 1 if way == AHEAD else -1
    return tuple((slip(part, sign * teeth), share) for teeth, share in SLIP_TEETH)


def split_gears(transport: Transport, part: str) -> Grades:
    """A gear that has turned on its shaft by anything up to some teeth, either way."""
    pitch = transport.part(part).pitch_deg
    return evenly(split_gear(part, teeth * pitch) for teeth in SPLIT_TEETH if abs(teeth) * pitch <= 180)


def clips_gone(transport: Transport, part: str) -> Grades:
    """A gear without its clip that comes off somewhere on its way.

    >>> from mechlib.transports import load
    >>> [round(fault.deg) for fault, share in clips_gone(load("birch"), "lever cam")]
    [72, 162, 252, 324]
    """
    return evenly(clip_gone(part, _along(transport, part, share)) for share in OFF_AT)


def teeth_missing(transport: Transport, part: str) -> Grades:
    """A tooth or two missing somewhere on the gear that drives a part."""
    parent = transport.part(part).parent
    return evenly(missing_teeth(part, _along(transport, parent, share), teeth) for share, teeth in GAPS)


def _along(transport: Transport, gear: str, share: float) -> float:
    """A place of a gear, from 0 at the start of its travel to 1 at its end."""
    knots = steady(transport, LOADING).knots[gear]
    low, high = (0.0, 360.0) if transport.cyclic else (knots[0][1], knots[-1][1])
    return low + share * (high - low)


def bent_levers(transport: Transport, follower: str) -> Grades:
    """A lever bent by some of its tolerances, either way."""
    tolerance = transport.follower(follower).tolerance_mm
    return evenly(bent_lever(follower, times * tolerance) for times in BENT)


def dirty_contacts(transport: Transport, name: str) -> Grades:
    """A contact that closes late and opens early, by part of its narrowest arc."""
    arcs = next(contact.closed for contact in transport.contacts if contact.name == name)
    narrowest = min((end - start for start, end in arcs), default=0.0)
    return evenly(dirty_contact(name, min(part * narrowest, 60.0)) for part in DIRTY)


def intermittent_contacts(_transport: Transport, name: str) -> Grades:
    """A contact of which each arc passes only sometimes."""
    return evenly(intermittent_contact(name, passes) for passes in PASSES)


def slack_belts(transport: Transport, motor: str | None) -> Grades:
    """A belt that has lost part of its stretch, or hangs loose."""
    stretch = max(transport.motor_named(motor).belt.stretch_percent, 0.1)
    return evenly(slack_belt(min(part * stretch, 50.0), motor) for part in OF_STRETCH)


def glazed_belts(transport: Transport, motor: str | None) -> Grades:
    """A belt with less friction."""
    friction = transport.motor_named(motor).belt.belt.friction
    return evenly(glazed_belt(max(part * friction, 0.01), motor) for part in OF_FRICTION)


def low_supplies(transport: Transport, motor: str | None) -> Grades:
    """A supply that has sagged at one motor."""
    volts = transport.motor_named(motor).motor.voltage_V
    return evenly(low_supply(part * volts, motor) for part in OF_VOLTS)


def dead_drivers(_transport: Transport, sense: str) -> Grades:
    """A driver that is dead in one sense; of several motors "the motor's sense"."""
    motor, _, sense = sense.rpartition("'s ")
    return evenly([dead_driver(sense, motor or None)])


def hard_greases(transport: Transport, gear: str) -> Grades:
    """Grease gone hard on one gear, up to as much as the drive can give."""
    if transport.drive is None:
        return ()
    gears = {gear.name: gear for gear in (*transport.roots, *transport.parts)}
    can = spare_Nmm(transport) / abs(gears[gear].speed)
    return evenly(hard_grease(gear, min(part * can, 1e5)) for part in OF_SPARE)


def stiff_levers(transport: Transport, follower: str) -> Grades:
    """A lever that rubs, up to as much as the drive can give where its track is steepest."""
    if transport.drive is None:
        return ()
    steepest = _steepest_mm_rad(transport.follower(follower))
    can = spare_Nmm(transport) / steepest if steepest else 0.0
    return evenly(stiff_lever(follower, min(part * can, 1e4)) for part in OF_SPARE)


def spare_Nmm(transport: Transport) -> float:
    """What the drive can give at the cam beyond the heaviest of its loads, N·mm over theta.

    >>> from mechlib.transports import load
    >>> round(spare_Nmm(load("alder")))
    66
    """
    return max(min(_least_spare_Nmm(transport, sense) for sense in transport.senses), 0.0)


def _least_spare_Nmm(transport: Transport, sense: str) -> float:
    found, theta = effort(transport, sense), np.arange(*transport.ends, GRID_DEG)

    def spare(drive, asked):
        return (drive.limit_Nmm - asked) * drive.turns_per_cam_turn * drive.efficiency

    return float(np.min(found.by_motor(theta, spare, found.motor_Nmm(theta))))


def _steepest_mm_rad(follower: Follower) -> float:
    pieces = follower.programme.segments
    places = np.arange(pieces[0].start_deg, pieces[-1].end_deg, GRID_DEG / 2)
    return float(np.max(np.abs(follower.programme.slopes(places)))) * 180 / pi


def single(make) -> object:
    """For a fault that has no degrees: its one grade, from what it is of."""
    return lambda transport, of: evenly([make() if of is None else make(of)])


def between_grades(sound: Transport, fault, draw: Random):
    """A fault somewhere between its grades: a degree from 3/4 to 4/3 of it, a place a little elsewhere.

    Of a contact that passes only sometimes it is the odds, p/(1 − p), that are from 3/4 to 4/3 of its own.
    Teeth and what has no degrees stay as they are.

    >>> from random import Random
    >>> from mechlib.transports import load
    >>> 1.5 <= between_grades(load("alder"), dirty_contact("A", 2.0), Random(1)).deg <= 2.67
    True
    """
    if isinstance(fault, (ClipGone, MissingTeeth)):
        low, high = (0.0, 360.0) if sound.cyclic else sound.ends
        by = draw.uniform(-PLACE_BLUR, PLACE_BLUR) * (high - low)
    else:
        by = None
    share = exp(draw.uniform(-log(DEGREE_BLUR), log(DEGREE_BLUR)))
    if isinstance(fault, IntermittentContact):
        odds = share * fault.passes / (1 - fault.passes)
        return replace(fault, passes=odds / (1 + odds))
    values = {f.name: getattr(fault, f.name) for f in fields(fault)}
    moved = {
        name: value * share if by is None else value + by
        for name, value in values.items()
        if isinstance(value, float)
    }
    return replace(fault, **moved)


# For each kind of fault: its grades, given the transport and what it is of.
GRADES = {
    "split gear": split_gears,
    "clip gone": clips_gone,
    "missing teeth": teeth_missing,
    "bent lever": bent_levers,
    "dirty contact": dirty_contacts,
    "intermittent contact": intermittent_contacts,
    "open contact": single(open_contact),
    "slack belt": slack_belts,
    "glazed belt": glazed_belts,
    "weak motor": lambda transport, motor: evenly(weak_motor(left, motor) for left in MOTOR_LEFT),
    "low supply": low_supplies,
    "hard grease": hard_greases,
    "stiff lever": stiff_levers,
    "dead solenoid": single(dead_solenoid),
    "cut-off open": single(cut_off_open),
    "worn latch": single(latch_worn),
    "dead driver": dead_drivers,
}
