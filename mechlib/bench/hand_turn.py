"""Turning the drive by hand to where all marks line up: how far, in which sense, and what bars the way."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.errors import check_number
from mechlib.say import count, listing, say
from mechlib.transports.arcs import TINY, intersect
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Transport
from mechlib.transports.runs import steady


@dataclass(frozen=True)
class HandTurn:
    """From ``start_deg`` first ``back_deg`` against the loading sense, then ``forward_deg`` in it, to 0.

    ``back`` and ``forward`` say the same in words; ``barred`` tells what stands in the way.
    """

    start_deg: float
    back_deg: float
    forward_deg: float
    back: str
    forward: str
    barred: tuple[str, ...]

    def turning(self) -> str:
        """The turns and senses alone, such as "23.5 turns of the worm shaft against the loading sense"."""
        parts = [f"{self.back} against the loading sense"] if self.back_deg > TINY else []
        if self.forward_deg > TINY:
            forward = self.forward.partition(" of ")[0] if parts else self.forward
            parts.append(f"{forward} in the loading sense")
        return ", then ".join(parts) if parts else "nothing to turn"

    def words(self) -> str:
        """The turning and, where it is barred with every gear in mesh, by what."""
        barred = f" (don't force it: {listing(self.barred)})" if self.barred else ""
        return self.turning() + barred

    def from_where(self) -> str:
        """From which angle to which, such as "From 57.0° to 0° of the main cam"."""
        return f"From {say(self.start_deg, '°')} to 0° of the main cam"

    def sentence(self) -> str:
        return f"{self.from_where()}: {self.words()}."


def to_reference(transport: Transport, theta_deg: float) -> HandTurn:
    """How to turn the drive by hand from ``theta_deg`` to 0, where every mark lines up, play taken up.

    Marks are read after a turn in the loading sense, so the drive goes back beyond 0 by the largest play
    of any way through the meshes (to the low stop at most), then forward to 0; a cam that goes round is
    turned on in the loading sense.  ``theta_deg``: between the stops, or 0 to 360.  Raises MechError
    outside.  Derived.

    >>> from mechlib.transports import load
    >>> to_reference(load("alder"), -50).sentence()
    'From −50.0° to 0° of the main cam: 13.3 turns of the worm shaft in the loading sense.'
    """
    low, high = transport.ends
    theta = check_number("theta_deg", theta_deg, low, high, "°")
    play = max(sum(transport.part(p).play_deg for p in chain) for chain in transport.chains.values())
    if transport.cyclic:
        ahead = -theta % 360.0
        forward = ahead if transport.release else max(ahead, play)  # released, it never turned back
        back = forward - ahead
    else:
        turning = max(-play, low)  # where the drive goes forward from, at the latest
        back, forward = max(theta - turning, 0.0), max(-theta, -turning)
    barred = _barred(transport, UNLOADING, theta, back)
    barred += _barred(transport, LOADING, theta - back, forward)
    turned = shaft_deg(transport, theta, theta + forward) if transport.release else forward
    words = (amount(transport, back), amount(transport, turned))
    return HandTurn(theta, back, forward, *words, tuple(dict.fromkeys(barred)))


def shaft_deg(transport: Transport, start_deg: float, end_deg: float) -> float:
    """How far the hand shaft turns the cam from one theta to another, in degrees of theta, either sense.

    All of the way; but where the cam is released from rest to rest, it is pushed into mesh after each rest
    first, and the shaft turns it from there on only (``Release.driven_deg``).  Without a hand shaft nothing
    is counted but the cam itself.

    >>> from mechlib.transports import load
    >>> shaft_deg(load("birch"), 160, 360), shaft_deg(load("alder"), 20, -30)
    (190.0, 50)
    """
    if transport.release and transport.hand_shafts:
        return transport.release.driven_deg(start_deg, end_deg)
    return abs(end_deg - start_deg)


def amount(transport: Transport, deg: float) -> str:
    """Degrees of the main cam as turns of the first hand shaft, or as they are where the file names none.

    >>> from mechlib.transports import load
    >>> amount(load("alder"), 360)
    '96.0 turns of the worm shaft'
    """
    if not transport.hand_shafts:
        return f"{say(deg, '°')} of the main cam"
    return f"{count(transport.turns_of(deg), 'turn', 1)} of the {transport.hand_shafts[0].name}"


def at_which_motor(transport: Transport) -> str:
    """Which motor's shaft is turned where, in words; nothing where there is one motor.

    >>> from mechlib.transports import load
    >>> at_which_motor(load("cedar"))
    'the drawer motor turns from −150.0° to −12.0° and the cam motor from −12.0° to 222.0°'
    """
    if len(transport.motors) < 2:
        return ""
    ways = [
        f"the {stage.motor} {'from' if number else 'turns from'} {say(stage.start_deg, '°')} to "
        f"{say(stage.end_deg, '°')}"
        for number, stage in enumerate(transport.stages)
    ]
    return listing(ways)


def _barred(transport: Transport, sense: str, start: float, deg: float) -> list[str]:
    """What a hand meets on its way of ``deg`` from ``start``, as the machine is, and at which theta."""
    end = start + SENSE[sense] * deg
    way = ((min(start, end), max(start, end)),)
    found = []
    for obstacle in steady(transport, sense).obstacles:
        if arcs := intersect(obstacle.arcs, way):
            at = say(arcs[0][0] if sense == LOADING else arcs[-1][1], "°")
            what = {"interlock": "bars the way", "part stop": "reaches its own stop"}.get(obstacle.kind)
            name = {"interlock": "the interlock ", "elsewhere": "the stage "}.get(obstacle.kind, "the ")
            found.append(f"{name}{obstacle.name} {what or 'loses the power'} at {at}")
    return found
