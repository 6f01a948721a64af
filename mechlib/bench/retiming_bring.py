"""How the drive is brought to where the marks line up: with every gear in mesh, or with the lifted out."""

from __future__ import annotations

from collections.abc import Iterable

from mechlib.bench.hand_turn import HandTurn, amount, at_which_motor, to_reference
from mechlib.bench.lifts import Move, gear_name
from mechlib.say import listing
from mechlib.transports.covers import covers_over
from mechlib.transports.hardware import Cover
from mechlib.transports.mode_change import standing_start
from mechlib.transports.model import MAIN_CAM, SENSE, Part, Transport

# How a part-toothed gear is turned by hand (common practice, no source).
LATCH = (
    " At each rest the latch holds the main gear: unplugged, pull the solenoid's plunger by hand, push the "
    "gear on until its first tooth is in mesh, and let the plunger go before the next rest. The push is no "
    "turn of the shaft: it isn't counted. Just before a rest the gear's last tooth leaves the pinion: push "
    "the gear on until the latch catches. The kick spring is loaded: a wooden stick, not a finger; and a "
    "coil that has fired is hot. Turn in the loading sense only."
)
ELSEWHERE = (
    "\nfrom anywhere else, as after a jam: how far is told by this list made for the angle at which the main "
    "cam stands (see the page on one tooth)"
)
Ways = tuple[tuple[str, HandTurn], ...]


def ways_to_marks(transport: Transport, theta: float | None) -> Ways:
    """From which mode, and how, the drive comes to 0 by hand; from ``theta``, in degrees, if it is given.

    Left out are modes that can't be reached.  Raises MechError for a theta beyond the stops.

    >>> from mechlib.transports import load
    >>> [way.words() for _, way in ways_to_marks(load("alder"), -50)]
    ['13.3 turns of the worm shaft in the loading sense']
    """
    if theta is not None:
        return (("", to_reference(transport, theta)),)
    found = []
    for mode in transport.mode_names:
        stands = [stand for sense in SENSE if (stand := standing_start(transport, mode, sense))]
        if stands:
            found.append((mode, to_reference(transport, stands[0].theta)))
    return tuple(found)


def bring_closed(
    transport: Transport,
    found: tuple[Move, ...],
    ways: Ways,
    first: tuple[Cover, ...],
    last: tuple[Cover, ...],
) -> str:
    """How to turn with every gear in, as far as the way is free, and how to tell that it stands at 0.

    ``first`` are the covers that are off, ``last`` those that hold something and come off after this.
    """
    within = [move.part for move in found if not hidden(transport, move.part, first)]
    told = f"Hold the {listing(within)} down in mesh and turn" if within else "Turn"
    told += " the drive by hand, gently," if not within else " the drive by hand"
    told += _turned(transport, [way for way in ways if not way[1].barred])
    for barred in dict.fromkeys(way.barred for _, way in ways if way.barred):
        modes = listing(mode for mode, way in ways if way.barred == barred)
        told += (
            f"\nfrom {modes}: don't turn yet, for {listing(barred)}. Let it stand as it stands, and open the "
            "slipped mesh first, as the next steps say."
        )
    told += "" if ways and not ways[0][0] else ELSEWHERE
    told += f"{_how(transport)}\n{_seen_there(transport, found, first, last)}"
    return told + (f"\n{_stay_on(last)}" if last else "")


def bring_open(
    transport: Transport,
    lifts: tuple[str, ...],
    found: tuple[Move, ...],
    ways: Ways,
    off: tuple[tuple[Cover, ...], tuple[Cover, ...]],
) -> str:
    """How to turn with the lifted gears out, from where the way is barred as long as they are in.

    ``off`` are the covers that may be off, and those that hold something and go on for this.
    """
    (first, last), barred = off, [way for way in ways if way[1].barred]
    some = len(barred) < len(ways)
    elsewhere = ELSEWHERE if barred[0][0] and not some else ""
    out = listing(f"the {gear_name(gear)}" for gear in lifts)
    told = "If the drive doesn't stand at the marks yet: " if some else "Now "
    if last:
        covers, them = listing(f"the {cover.name}" for cover in reversed(last)), _them(last)
        told += f"first put {covers} on again ({_holds(last)}), and take {them} off again after the turning; "
    told += f"turn the drive by hand, with {out} out,{_turned(transport, barred)}{elsewhere}"
    obstacles = listing(dict.fromkeys(name for _, way in barred for name in way.barred))
    told += (
        f"\nWith every gear in, {obstacles}. Now that the mesh is open, move aside by hand what is free "
        "where it stands in the way. Force nothing."
    )
    return f"{told}{'' if some else _how(transport)}\n{_seen_there(transport, found, first, last)}"


def what_is_held(covers: Iterable[Cover]) -> str:
    """What loses its hold without these covers, and what follows from it, in a sentence or two.

    >>> from mechlib.transports import load
    >>> what_is_held(load("birch").covers)
    "The flywheel bracket holds the end of the flywheel's shaft: don't turn the drive while it is off."
    """
    told = [
        f"The {cover.name} holds {cover.holds}: don't turn the drive while it is off."
        for cover in covers
        if cover.holds
    ]
    return " ".join(told)


def _holds(covers: tuple[Cover, ...]) -> str:
    if len(covers) == 1:
        return f"it holds {covers[0].holds}"
    return listing(f"the {cover.name} holds {cover.holds}" for cover in covers if cover.holds)


def _them(covers: tuple[Cover, ...]) -> str:
    return "it" if len(covers) == 1 else "them"


def _stay_on(last: tuple[Cover, ...]) -> str:
    """Why these covers aren't off yet."""
    return f"Leave {listing(f'the {cover.name}' for cover in last)} on for this: {_holds(last)}."


def _turned(transport: Transport, ways: list[tuple[str, HandTurn]]) -> str:
    """The turns: a line for each mode, or the one way from an angle."""
    if [mode for mode, _ in ways] == [""]:
        way = ways[0][1]
        return f" to where the marks line up. {way.from_where()}: {way.turning()}."
    told = [f" to where the marks line up ({transport.reference_mode}):"]
    return "\n".join([*told, *(f"from {mode}: {way.turning()}" for mode, way in ways)])


def _how(transport: Transport) -> str:
    """What else helps to turn: the latch, the count from the stop, the motors."""
    told = f"\nThe way of turning:{LATCH}" if transport.release else ""
    if not transport.cyclic:
        low = -transport.ends[0]
        told += f"\nCounted from the low end stop it is {amount(transport, low)}, in the loading sense."
    if where := at_which_motor(transport):
        told += f"\nBy hand each motor's shaft is turned in its own stage: {where}."
    return told


def _seen_there(
    transport: Transport, found: tuple[Move, ...], first: tuple[Cover, ...], last: tuple[Cover, ...]
) -> str:
    """How to tell that the drive stands at 0: a mark that is right and can be seen, or the turns."""
    right = _right_marks(transport, found)
    seen = [part for part in right if not hidden(transport, part.name, first)]
    if seen:
        return f"There the mark of the {seen[0].name} is right: {seen[0].mark}."
    later = [part for part in right if not hidden(transport, part.name, (*first, *last))]
    if later:
        return (
            f"No other mark that is right can be seen yet: the turns decide. With "
            f"{listing(f'the {cover.name}' for cover in last)} off, look at the {later[0].name}: "
            f"{later[0].mark}."
        )
    why = "No other mark that is right can be seen" if right else "No other mark on the main gear is right"
    return f"{why}: the turns decide."


def _right_marks(transport: Transport, found: tuple[Move, ...]) -> list[Part]:
    """The parts whose mark is right where the main gear stands at 0, those on the main gear itself first."""
    slipped = {move.part for move in found}
    right = []
    for part in transport.parts:
        chain = transport.chains[part.name]
        on_main = MAIN_CAM in {transport.part(name).parent for name in chain}
        right += [part] if on_main and not slipped & set(chain) else []
    return sorted(right, key=lambda part: part.parent != MAIN_CAM)


def hidden(transport: Transport, gear: str, off: tuple[Cover, ...]) -> list[Cover]:
    """The covers that are still on over a gear."""
    return [cover for cover in covers_over(transport, gear) if cover not in off]
