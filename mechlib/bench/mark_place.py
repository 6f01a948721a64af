"""Where the mark of a new gear goes, and what the rest that is left over does."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.bench.other_teeth import DRIVEN, OtherTeeth
from mechlib.errors import MechError, check_number
from mechlib.say import count, say
from mechlib.transports.faults import split_gear
from mechlib.transports.model import Transport


@dataclass(frozen=True)
class MarkPlace:
    """Where the mark of a new gear goes, and how far that is from where it ought to be.

    ``tooth``: counted from the first tooth past the flat, which is 1, in the loading sense; ``off_part_deg``
    and ``off_cam_deg``: by which the part then stands ahead (+) or behind (−); ``failing``: the mode changes
    that this alone would spoil.
    """

    part: str
    tooth: int
    off_part_deg: float
    off_cam_deg: float
    failing: tuple[tuple[str, str], ...]

    def sentence(self) -> str:
        """The tooth to mark, and what is left over."""
        told = f"Mark tooth {self.tooth} of the new {self.part}, counted from its flat in the loading sense"
        if abs(self.off_part_deg) < 0.05:
            return f"{told}: it stands just where the old mark stood."
        way = "ahead" if self.off_part_deg > 0 else "behind"
        off, cam = say(abs(self.off_part_deg), "°"), say(abs(self.off_cam_deg), "°")
        if not self.failing:
            ends = "every mode change still works"
        else:
            ends = f"{count(len(self.failing), 'mode change')} would fail: turn the gear on its shaft instead"
        return f"{told}: the part then stands {off} {way}, {cam} of the main cam; {ends}."


def mark_place(transport: Transport, part: str, mark_deg: float, first_tooth_deg: float) -> MarkPlace:
    """Which tooth of an unmarked gear of the same count gets the mark.

    ``mark_deg``: from the flat (key, pin) of the old gear to the middle of its marked tooth, in the loading
    sense, 0 to 360 degrees of the part; ``first_tooth_deg``: from the flat of the new one to the middle of
    its first tooth, 0 to one pitch.  The nearest tooth is marked; meshed on its mark the part stands off by
    what is left, at most half a pitch.  What that does is computed with the gear turned on its shaft by that.
    Raises MechError for a part that there isn't, a sector or rack, and for angles out of range.

    >>> from mechlib.transports import load
    >>> print(mark_place(load("alder"), "mode switch", 90, 0).sentence()[:36])
    Mark tooth 19 of the new mode switch
    """
    timed = transport.sound.part(part)
    if timed.kind != "gear":
        raise MechError(f"the {part} is a {timed.kind}", "teeth are counted round a whole gear here")
    pitch = 360 / timed.teeth
    mark = check_number("mark_deg", mark_deg, 0, 360, "°")
    first = check_number("first_tooth_deg", first_tooth_deg, 0, pitch, "°", "it is less than one pitch")
    steps = round((mark - first) / pitch)
    off = mark - first - steps * pitch  # a mark too far on leaves the part behind
    cam = off / abs(timed.speed)
    turned = transport.sound.with_faults(split_gear(part, cam)) if abs(cam) > 1e-9 else transport.sound
    failing = OtherTeeth(part, DRIVEN, timed.teeth, timed.teeth, transport.sound, turned).failing
    return MarkPlace(part, steps % timed.teeth + 1, off, cam, failing)
