"""What re-timing can't mend: in what a transport differs from the sound one besides its slips."""

from __future__ import annotations

from mechlib.bench.lifts import gear_name
from mechlib.transports.arcs import TINY
from mechlib.transports.faults import (
    bent_lever,
    dead_solenoid,
    dirty_contact,
    intermittent_contact,
    open_contact,
    split_gear,
)
from mechlib.transports.lost_drive_faults import clip_gone, missing_teeth
from mechlib.transports.model import LOADING, Transport
from mechlib.transports.release_faults import cut_off_open, latch_worn
from mechlib.transports.timing import arrival


def not_mended(transport: Transport) -> tuple[str, ...]:
    """The faults that re-timing leaves, a sentence each: what differs from the sound transport besides slips.

    >>> from mechlib.transports import bent_lever, load
    >>> not_mended(load("alder").with_faults(bent_lever("reel idler", 0.4)))
    ('The reel idler is bent by +0.40 mm.',)
    """
    sound = transport.sound
    found = [split_gear(part, deg).sentence() for part, deg in transport.turned]
    found += [clip_gone(part, deg).sentence() for part, deg in transport.off_at]
    found += [missing_teeth(*gap).sentence() for gap in transport.missing]
    for follower in transport.followers:
        if abs(follower.bent_mm) > TINY:
            found.append(bent_lever(follower.name, follower.bent_mm).sentence())
    for contact, before in zip(transport.contacts, sound.contacts, strict=True):
        if contact.closed == before.closed:
            continue
        if not contact.closed:
            found.append(open_contact(contact.name).sentence())
        elif len(contact.closed) == len(before.closed):
            found.append(dirty_contact(contact.name, contact.closed[0][0] - before.closed[0][0]).sentence())
        else:
            found.append(f"Contact {contact.name} misses some of its arcs.")
    found += [intermittent_contact(*one).sentence() for one in transport.intermittent]
    found += _not_released(transport, sound)
    return (*found, *_hard_to_move(transport, sound))


def _not_released(transport: Transport, sound: Transport) -> list[str]:
    """What keeps the solenoid from pulling, and the rests at which the latch doesn't hold."""
    release, found = transport.release, []
    if not transport.solenoid_pulls:
        cut_off = release is not None and release.cut_off_open
        found.append((cut_off_open() if cut_off else dead_solenoid()).sentence())
    for mode in sound.mode_names if release else ():
        came = arrival(sound, mode, LOADING)
        if came is not None and came.stand_deg not in release.rests_deg:
            found.append(latch_worn(mode).sentence())
    return found


def _hard_to_move(transport: Transport, sound: Transport) -> list[str]:
    """What asks for more torque than it should, or gives less."""
    gears = zip((*transport.roots, *transport.parts), (*sound.roots, *sound.parts), strict=True)
    found = [
        f"The {gear_name(gear.name)} runs stiff: its grease may have gone hard."
        for gear, before in gears
        if gear.drag_Nmm > before.drag_Nmm
    ]
    found += [
        f"The {follower.name} is stiff."
        for follower in transport.followers
        if follower.friction_N > sound.follower(follower.name).friction_N
    ]
    if transport.motors != sound.motors:
        found.append("Motor, supply, belt or driver do not give what they should.")
    return found
