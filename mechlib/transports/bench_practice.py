"""How often each fault is met, and how long checks and repairs take: what the file says, else what is usual.

The usual numbers stand here and nowhere else.  They are invented to be sensible beside one another: common
practice, no source.
"""

from __future__ import annotations

from mechlib.errors import MechError
from mechlib.say import listing
from mechlib.transports.bench_entries import (
    BELT,
    CHECKS,
    CONTACT,
    CUT_OFF,
    FAULTS,
    FOLLOWER,
    GEAR,
    MACHINE,
    MENDED_AS,
    MODE,
    MOTOR,
    NEW_BELT,
    PART,
    SEEN,
    SENSE,
    SOLENOID,
    BenchTime,
)
from mechlib.transports.covers import access_of, removal_order
from mechlib.transports.hardware import Cover
from mechlib.transports.model import Transport

# Of about a hundred transports at the bench, so many have this fault.  Common practice, no source.
USUAL_WEIGHTS = {
    "dirty contact": 20, "slack belt": 14, "slip": 10, "hard grease": 10, "intermittent contact": 8,
    "glazed belt": 8, "split gear": 6, "stiff lever": 5, "nothing": 4, "electronics": 4, "open contact": 3,
    "weak motor": 3, "low supply": 2, "clip gone": 2, "missing teeth": 2, "bent lever": 2, "dead solenoid": 2,
    "worn latch": 1, "cut-off open": 1, "dead driver": 1,
}  # fmt: skip
# Minutes of a check, covers apart.  Common practice, no source.
USUAL_CHECK_MINUTES = {
    "try a change": 1, "read a contact": 3, "look at a mark": 2, "look at a part": 2, "time a change": 2,
    "volts at the motor": 3, "motor current": 4,
}  # fmt: skip
# Minutes of a repair, covers apart; for gears without lifting them out.  Common practice, no source.
USUAL_REPAIR_MINUTES = {
    "slip": 3, "split gear": 20, "clip gone": 3, "missing teeth": 20, "bent lever": 10, "dirty contact": 10,
    "open contact": 20, "slack belt": 5, "glazed belt": 5, "weak motor": 25, "low supply": 30,
    "hard grease": 10, "stiff lever": 10, "dead solenoid": 15, "cut-off open": 20, "worn latch": 20,
    "dead driver": 40, "electronics": 60,
}  # fmt: skip
USUAL_LIFT_MINUTES = 3  # to lift a gear out and put it back, where the file doesn't say


def things_of(transport: Transport) -> dict[str, tuple[str | None, ...]]:
    """For each sort of thing in ``bench_entries`` the names of those that a transport has.

    (None,) for a single thing that it has, () for what it hasn't.

    >>> from mechlib.transports import load
    >>> found = things_of(load("birch"))
    >>> found["timed part"], found["motor"], found["sense of the motor"]
    (('lever cam', 'switch rotor'), (None,), ('loading',))
    """
    release, motors = transport.release, transport.motors
    belts = tuple(motor for motor in motors if motor.belt)
    single = {
        MACHINE: True,
        SOLENOID: release is not None or any(stage.solenoid for stage in transport.stages),
        CUT_OFF: release is not None and release.cut_off is not None,
    }
    parts = tuple(part.name for part in transport.parts)
    gears = (*(root.name for root in transport.roots), *parts)
    followers = tuple(follower.name for follower in transport.followers)
    several_rests = release is not None and len(release.gear.rests_deg) > 1
    return {
        PART: parts,
        GEAR: gears,
        FOLLOWER: followers,
        CONTACT: tuple(contact.name for contact in transport.contacts),
        MODE: tuple(mode.name for mode in transport.modes) if several_rests else (),
        MOTOR: _names(motors, motors),
        BELT: _names(belts, motors),
        SENSE: tuple(_sense(sense, motor, len(motors) > 1) for motor in motors for sense in transport.senses),
        SEEN: (*gears, *followers, *belts_seen(transport), *((SOLENOID,) if single[SOLENOID] else ())),
        **{thing: (None,) if there else () for thing, there in single.items()},
    }


def _names(some, motors) -> tuple[str | None, ...]:
    """Names of some of the motors; one that is alone needs none."""
    return tuple(motor.name if len(motors) > 1 else None for motor in some)


def belts_seen(transport: Transport) -> dict[str, str | None]:
    """What each belt is called where it is looked at, and the name of its motor where there are several.

    >>> from mechlib.transports import load
    >>> belts_seen(load("cedar")), belts_seen(load("alder"))
    ({'belt of the cam motor': 'cam motor'}, {'belt': None})
    """
    motors = transport.motors
    several = len(motors) > 1
    belts = (motor.name if several else None for motor in motors if motor.belt)
    return {f"{BELT} of the {name}" if several else BELT: name for name in belts}


def _sense(sense: str, motor, several: bool) -> str:
    return f"{motor.name}'s {sense}" if several else sense


def fault_places(transport: Transport, kind: str) -> tuple[str | None, ...]:
    """What a fault of this kind can be of; (None,) where it needs no name, () where it can't be.

    ``kind``: one of ``bench_entries.FAULTS``.  Raises MechError for any other.

    >>> from mechlib.transports import load
    >>> fault_places(load("alder"), "open contact"), fault_places(load("alder"), "cut-off open")
    (('A', 'B', 'C', 'D', 'K'), ())
    """
    return things_of(transport)[_sort("fault", kind, FAULTS)]


def check_places(transport: Transport, kind: str) -> tuple[str | None, ...]:
    """What a check of this kind can be of; (None,) where it needs no name, () where it can't be.

    ``kind``: one of ``bench_entries.CHECKS``.  Raises MechError for any other.

    >>> from mechlib.transports import load
    >>> check_places(load("birch"), "look at a mark"), check_places(load("birch"), "motor current")
    (('lever cam', 'switch rotor'), (None,))
    """
    return things_of(transport)[_sort("check", kind, CHECKS)]


def how_often(transport: Transport, kind: str, of: str | None = None) -> float:
    """The weight of a fault beside those of others: relative frequency at the bench.

    An entry of the file for this kind and this ``of`` gives it as it is.  The weight of the kind as a whole,
    from an entry without ``of`` or as usual, is shared evenly by the places that have no entry.  Without
    ``of``, the weight of all places together: 0 where the transport can't have the fault.  Raises MechError
    for kinds and places that don't exist.  Common practice, no source, where the file says no other.

    >>> from mechlib.transports import load
    >>> how_often(load("alder"), "electronics"), how_often(load("alder"), "worn latch")
    (4.0, 0.0)
    """
    places = fault_places(transport, kind)
    if of is None:
        return sum((_weight(transport, kind, place, places) for place in places), 0.0)
    _check_place(kind, of, places)
    return _weight(transport, kind, of, places)


def _weight(transport: Transport, kind: str, of: str | None, places: tuple) -> float:
    own = {entry.of: entry.weight for entry in transport.how_often if entry.fault == kind}
    if of in own and (of is not None or places == (None,)):
        return own[of]
    return own.get(None, float(USUAL_WEIGHTS[kind])) / sum(place not in own for place in places)


def check_minutes(transport: Transport, kind: str, of: str | None = None) -> float:
    """Minutes of a check, the covers apart (``check_covers``): as the file says, else as usual.

    Raises MechError for kinds and places that don't exist.  Common practice, no source, where the file says
    no other.

    >>> from mechlib.transports import load
    >>> check_minutes(load("alder"), "look at a mark", "pinch cam")
    1.5
    """
    _check_place(kind, of, check_places(transport, kind))
    said = _said(transport.checks, kind, of)
    minutes = [entry.minutes for entry in said if entry.minutes is not None]
    return minutes[0] if minutes else float(USUAL_CHECK_MINUTES[kind])


def check_covers(transport: Transport, kind: str, of: str | None = None) -> tuple[Cover, ...]:
    """What comes off before a check can be made, in order: the gear's own covers, and what the file says.

    Raises MechError for kinds and places that don't exist.

    >>> from mechlib.transports import load
    >>> [cover.name for cover in check_covers(load("alder"), "look at a mark", "pinch cam")]
    ['bottom plate', 'gear bridge']
    """
    _check_place(kind, of, check_places(transport, kind))
    names = _under(_said(transport.checks, kind, of))
    if CHECKS[kind] in (PART, SEEN) and of in things_of(transport)[GEAR]:
        names += access_of(transport, of).under
    return removal_order(transport, names)


def repair_minutes(transport: Transport, kind: str, of: str | None = None) -> float:
    """Minutes of a repair, the covers apart (``repair_covers``): as the file says, else as usual.

    Where the file doesn't say, a fault of a timed part takes the minutes to lift it out on top of the usual,
    and that there is no fault at all is proved by trying every change once.  An intermittent contact is
    cleaned as a dirty one.
    Raises MechError for kinds and places that don't exist.  Common practice, no source, where the file says
    no other.

    >>> from mechlib.transports import load
    >>> repair_minutes(load("alder"), "slip", "pinch cam")
    5.5
    """
    _check_place(kind, of, fault_places(transport, kind))
    kind = MENDED_AS.get(kind, kind)
    minutes = [e.minutes for e in _of_repair(transport, kind, of) if e.minutes is not None]
    if minutes:
        return minutes[0]
    if kind == "nothing":
        modes = len(transport.modes)
        return modes * (modes - 1) * check_minutes(transport, "try a change")
    usual = float(USUAL_REPAIR_MINUTES[kind])
    if FAULTS[kind] != PART or of is None:
        return usual
    lift = access_of(transport, of).lift_minutes
    return usual + (USUAL_LIFT_MINUTES if lift is None else lift)


def repair_covers(transport: Transport, kind: str, of: str | None = None) -> tuple[Cover, ...]:
    """What comes off before a repair, in order: covers over the gear, and what the file says.

    The gear of a contact is the one that it sits on; a lever, the belt and the solenoid are reached as they
    are looked at.  Raises MechError for kinds and places that don't exist.

    >>> from mechlib.transports import load
    >>> [cover.name for cover in repair_covers(load("alder"), "dirty contact", "K")]
    ['top cover', 'cassette carriage']
    """
    _check_place(kind, of, fault_places(transport, kind))
    kind = MENDED_AS.get(kind, kind)
    names, sort = _under(_of_repair(transport, kind, of)), FAULTS[kind]
    if sort in (PART, GEAR) and of is not None:
        names += access_of(transport, of).under
    elif sort == CONTACT and of is not None:
        contact = next(contact for contact in transport.contacts if contact.name == of)
        names += access_of(transport, contact.part).under
    elif sort == FOLLOWER:
        names += _under(_said(transport.checks, "look at a part", of))
    elif sort in (BELT, SOLENOID):
        looked_at = f"{BELT} of the {of}" if of else sort
        names += _under(_said(transport.checks, "look at a part", looked_at))
    return removal_order(transport, names)


def _said(entries: tuple[BenchTime, ...], kind: str, of: str | None) -> list[BenchTime]:
    """The entry for this kind and this place, then the one for the kind."""
    own = [entry for entry in entries if entry.kind == kind and entry.of == of]
    return own + [entry for entry in entries if of is not None and entry.kind == kind and entry.of is None]


def _of_repair(transport: Transport, kind: str, of: str | None) -> list[BenchTime]:
    """The entries for a repair; of a belt then those for its other fault, as a new belt mends both."""
    kinds = (kind, *(one for one in NEW_BELT if kind in NEW_BELT and one != kind))
    return [entry for one in kinds for entry in _said(transport.repairs, one, of)]


def _under(said: list[BenchTime]) -> tuple[str, ...]:
    return next((entry.under for entry in said if entry.under is not None), ())


def _sort(what: str, kind: str, kinds: dict[str, str]) -> str:
    if not isinstance(kind, str) or kind not in kinds:
        raise MechError(f"no {what} is called {kind!r}", f"there is {listing(kinds)}")
    return kinds[kind]


def _check_place(kind: str, of: str | None, places: tuple) -> None:
    if not places:
        raise MechError(f"{kind!r} can't be in this transport", "it has nothing that it could be of")
    if of is not None and of not in places:
        right = "it needs no name" if places == (None,) else f"there is {listing(places)}"
        raise MechError(f"{kind!r} is asked of {of!r}", right)
