"""How the drive is brought to where the marks line up: with every gear in mesh, or with the lifted out."""

from __future__ import annotations

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


def bring_closed(transport: Transport, found: tuple[Move, ...], ways: Ways, off: tuple[Cover, ...]) -> str:
    """How to turn with every gear in, as far as the way is free, and how to tell that it stands at 0."""
    told = f"Hold the {listing(move.part for move in found)} down in mesh and turn the drive by hand"
    told += _turned(transport, [way for way in ways if not way[1].barred])
    for barred in dict.fromkeys(way.barred for _, way in ways if way.barred):
        modes = listing(mode for mode, way in ways if way.barred == barred)
        told += (
            f"\nfrom {modes}: don't turn yet, for {listing(barred)}. Let it stand as it stands, and open the "
            "slipped mesh first, as the next steps say."
        )
    return f"{told}{_how(transport)}\n{_seen_there(transport, found, off)}"


def bring_open(
    transport: Transport,
    lifts: tuple[str, ...],
    found: tuple[Move, ...],
    ways: Ways,
    off: tuple[Cover, ...],
) -> str:
    """How to turn with the lifted gears out, from where the way is barred as long as they are in."""
    barred = [way for way in ways if way[1].barred]
    some = len(barred) < len(ways)
    out = listing(f"the {gear_name(gear)}" for gear in lifts)
    told = "If the drive doesn't stand at the marks yet: turn" if some else "Now turn"
    told += f" the drive by hand, with {out} out,{_turned(transport, barred)}"
    obstacles = listing(dict.fromkeys(name for _, way in barred for name in way.barred))
    told += (
        f"\nWith every gear in, {obstacles}. Now that the mesh is open, move aside by hand what is free "
        "where it stands in the way. Force nothing."
    )
    return f"{told}{'' if some else _how(transport)}\n{_seen_there(transport, found, off)}"


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


def _seen_there(transport: Transport, found: tuple[Move, ...], off: tuple[Cover, ...]) -> str:
    """How to tell that the drive stands at 0: a mark that is right and can be seen, or the turns."""
    right = _right_marks(transport, found)
    seen = [part for part in right if not hidden(transport, part.name, off)]
    if seen:
        return f"There the mark of the {seen[0].name} is right: {seen[0].mark}."
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
