"""Faulty states of a transport for tests and benchmarks: every kind at every place, graded, and pairs."""

from __future__ import annotations

from itertools import combinations, product
from random import Random

from mechlib import transports as tr
from mechlib.errors import MechError


def graded(transport) -> list[tuple]:
    """For each kind of fault and each place its grades, from slight to grave."""
    found = [[tr.slip(mesh, n) for n in (1, -1, 2, -2, 3)] for mesh in transport.mesh_names]
    for part in transport.parts:
        place = sum(transport.ends) / 2
        found.append([tr.split_gear(part.name, part.pitch_deg * n) for n in (0.6, -0.6, 1.5, -4)])
        found.append([tr.clip_gone(part.name, place + n) for n in (0, 40, -40)])
        found.append([tr.missing_teeth(part.name, place + n, 1) for n in (0, 30)])
    for one in transport.followers:
        found.append([tr.bent_lever(one.name, one.tolerance_mm * n) for n in (1.5, -1.5, 3, -3)])
    for contact in transport.contacts:
        found.append(
            [tr.dirty_contact(contact.name, n) for n in (1, 2, 3.3)] + [tr.open_contact(contact.name)]
        )
    found.append([tr.dead_solenoid(), tr.cut_off_open()])
    found += [[tr.latch_worn(mode)] for mode in transport.mode_names]
    if transport.drive:
        found += _of_forces(transport)
    kept = [tuple(fault for fault in grades if possible(transport, (fault,))) for grades in found]
    return [grades for grades in kept if grades]


def _of_forces(transport) -> list[list]:
    volts, gears = transport.drive.motor.voltage_V, (*transport.roots, *transport.parts)
    found = [[tr.weak_motor(n) for n in (65, 45, 25)], [tr.low_supply(volts * n) for n in (0.8, 0.6, 0.4)]]
    found += [[tr.slack_belt(n) for n in (2, 4, 6)], [tr.glazed_belt(n) for n in (0.4, 0.25, 0.14)]]
    found += [[tr.hard_grease(gear.name, n) for n in (40, 120, 300)] for gear in gears]
    found += [[tr.stiff_lever(one.name, n) for n in (1, 3, 8)] for one in transport.followers]
    return found + [[tr.dead_driver(sense)] for sense in transport.senses]


def possible(transport, state: tuple) -> bool:
    """Whether these faults can be put in together."""
    try:
        transport.with_faults(*state)
    except MechError:
        return False
    return True


def states(transport, pairs: int, seed: int = 1) -> list[tuple]:
    """The sound machine, every single fault, and so many pairs of middle or last grades, drawn by a seed."""
    grades = graded(transport)
    some = [tuple(dict.fromkeys((faults[len(faults) // 2], faults[-1]))) for faults in grades]
    drawn = [pair for one, other in combinations(some, 2) for pair in product(one, other)]
    Random(seed).shuffle(drawn)
    found = [pair for pair in drawn[: pairs + pairs // 4] if possible(transport, pair)]
    return [(), *((fault,) for faults in grades for fault in faults), *found[:pairs]]
