"""Faults by which a part loses its drive: its clip gone, or teeth missing; each makes a new transport."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.errors import MechError, check_count, check_number
from mechlib.say import count, say
from mechlib.transports.model import LOADING, Part, Transport
from mechlib.transports.runs import steady


@dataclass(frozen=True)
class ClipGone:
    """A part whose gear comes off its shaft at a place, and then stands with all that hangs on it."""

    part: str
    deg: float

    def put_in(self, transport: Transport) -> Transport:
        transport.part(self.part)
        _check_travel(transport, self.part, "deg", self.deg)
        off_at = dict(transport.off_at)
        off_at[self.part] = min(self.deg, off_at.get(self.part, self.deg))
        return transport.changed(off_at=tuple(sorted(off_at.items())))

    def sentence(self) -> str:
        return f"The clip of the {self.part} is gone: its gear comes off at {say(self.deg, '°')}."


@dataclass(frozen=True)
class MissingTeeth:
    """Teeth missing on the gear that drives a part, from a place of that gear on (its slip included).

    The place must lie on the way of that gear in the sound machine.
    """

    part: str
    at_deg: float
    teeth: int

    def put_in(self, transport: Transport) -> Transport:
        part = transport.part(self.part)
        _check_travel(transport, part.parent, "at_deg", self.at_deg)
        before = [(at, teeth) for name, at, teeth in transport.missing if name == self.part]
        if self.teeth + sum(teeth for _, teeth in before) >= part.parent_teeth:
            right = f"the {part.parent} has {part.parent_teeth} at this mesh: one at least must be left"
            raise MechError(f"teeth is {self.teeth}", right)
        if transport.cyclic and part.play_deg >= part.pitch_deg:
            right = "then it can't be told how many teeth it has lost"
            raise MechError(f"the {self.part} has a tooth of play or more", right)
        if any(_overlap(part, self, at, teeth) for at, teeth in before):
            right = "write both as one gap"
            raise MechError(f"teeth of the {self.part}'s mesh are missing there already", right)
        missing = (*transport.missing, (self.part, self.at_deg, self.teeth))
        return transport.changed(missing=tuple(sorted(missing)))

    def sentence(self) -> str:
        teeth = count(self.teeth, "tooth")
        verb = "is" if self.teeth == 1 else "are"
        return f"Where the {self.part} is driven, {teeth} {verb} missing from {say(self.at_deg, '°')} on."


def _check_travel(transport: Transport, name: str, what: str, deg: float) -> None:
    """MechError unless a part or root gear comes past this place, as a sound machine turns."""
    knots = steady(transport.sound, LOADING).knots[name]
    low, high = (0.0, 360.0) if transport.cyclic else (knots[0][1], knots[-1][1])
    if not low <= deg <= high:
        raise MechError(f"{what} is {deg:g}°", f"the {name} moves from {low:g}° to {high:g}°")


def _overlap(part: Part, new: MissingTeeth, at_deg: float, teeth: int) -> bool:
    """Whether two gaps of one mesh share a tooth, round the gear."""
    turn, pitch = part.parent_teeth * part.pitch_deg, part.pitch_deg
    after = (new.at_deg - at_deg) % turn
    return after < (teeth - 1e-9) * pitch or turn - after < (new.teeth - 1e-9) * pitch


def clip_gone(part: str, deg: float) -> ClipGone:
    """A timed part whose clip is gone: its gear comes off at the place ``deg`` (main-cam degrees).

    As soon as its place, its slip left out, comes to ``deg`` in the loading sense, the gear has climbed out
    of mesh.  From then on it stands there, and all that hangs on it: friction holds it, its parent turns
    under it in both senses, and it doesn't find back by itself.  Below ``deg`` it works, up to the first time
    that it comes there.  So a mode reached in the unloading sense finds it off.  A cam that goes round
    has brought it to ``deg`` long since.  ``deg``: within the part's travel, or 0 to 360 for a cam that goes
    round; put in, it raises MechError otherwise.  Common practice, no source.

    >>> clip_gone("pinch cam", 150).sentence()
    'The clip of the pinch cam is gone: its gear comes off at 150.0°.'
    """
    return ClipGone(part, check_number("deg", deg, -3600, 3600, "°"))


def missing_teeth(part: str, at_deg: float, teeth: int = 1) -> MissingTeeth:
    """Teeth missing on the gear that drives a timed part: ``teeth`` of them, 1 to 60, from ``at_deg`` on.

    While the parent's place (main-cam degrees, its slip included: the gap sits on its teeth) goes from
    ``at_deg`` through ``teeth`` pitches of the mesh, nothing drives the part: it stands, held by friction,
    and falls behind by as many teeth.  Whole teeth, since the parent's next tooth has to find a space:
    assumed is a contact ratio of 1 to 2, as usual for spur gears (one of 2 or more would carry a single
    missing tooth), and that each tooth drives for one pitch.  On the way back the same gap goes by, and the
    part has lost nothing; where the cam goes round, it falls behind once more with every turn of its parent,
    and modes are counted in the first turn after the marks stood together at 0.  Put in, it raises MechError
    for a place where the parent never comes.  Derived from counting teeth, as in ``gears.part_toothed``.

    >>> missing_teeth("pinch cam", 120, 2).sentence()
    'Where the pinch cam is driven, 2 teeth are missing from 120.0° on.'
    """
    place = check_number("at_deg", at_deg, -3600, 3600, "°")
    return MissingTeeth(part, place, check_count("teeth", teeth, 1, 60))
