"""Basic racks: the straight toothed bars from which the teeth of whole families of gears follow.

All lengths are in modules.  A gear says which rack it is made to; none is ever assumed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from mechlib.errors import MechError, check_number


@dataclass(frozen=True)
class BasicRack:
    """The tooth of a basic rack, in modules; at its datum line, tooth and space are equally wide.

    ``pressure_angle_deg`` α: 10 to 30°; ``addendum`` h_aP: 0.5 to 1.5; ``dedendum`` h_fP: from the addendum
    to 2; ``fillet`` ρ_fP: radius between flank and root, from 0 to what fits in the space.  ``source`` says
    where the values are from.  Raises MechError for values out of range and a fillet that doesn't fit.

    >>> BasicRack("stub", 20, 0.8, 1.0, 0.2, "invented").form_depth
    0.8684040286651338
    """

    name: str
    pressure_angle_deg: float
    addendum: float
    dedendum: float
    fillet: float
    source: str

    def __post_init__(self):
        check_number("pressure_angle_deg", self.pressure_angle_deg, 10, 30, "°")
        check_number("addendum", self.addendum, 0.5, 1.5, "modules")
        check_number("dedendum", self.dedendum, self.addendum, 2, "modules")
        check_number("fillet", self.fillet, 0, self.dedendum, "modules")
        if self.fillet_centre > math.pi / 2 + 1e-12:
            raise MechError(f"fillet is {self.fillet:g} modules", f"the rack {self.name} has no room for it")

    @cached_property
    def angle(self) -> float:
        """The pressure angle in radians."""
        return math.radians(self.pressure_angle_deg)

    @property
    def form_depth(self) -> float:
        """Depth to which the flank is straight: h_FfP = h_fP − ρ_fP·(1 − sin α)."""
        return self.dedendum - self.fillet * (1 - math.sin(self.angle))

    @cached_property
    def fillet_centre(self) -> float:
        """Distance of the fillet's centre from the middle of a tooth; that of the space is at π/2."""
        straight = (self.dedendum - self.fillet) * math.tan(self.angle)
        return math.pi / 4 + straight + self.fillet / math.cos(self.angle)


# A check on what is remembered: with 0.38 the fillet of type A begins where the mate's tip reaches, at a
# depth of 1.0000, and 0.39 is the largest fillet, to two digits, that has room in the space of type D.
_ISO_53 = "ISO 53:1998, standard basic rack tooth profile, type {}: values from memory"

ISO_53_A = BasicRack("ISO 53 A", 20, 1.0, 1.25, 0.38, _ISO_53.format("A"))
ISO_53_B = BasicRack("ISO 53 B", 20, 1.0, 1.25, 0.30, _ISO_53.format("B"))
ISO_53_C = BasicRack("ISO 53 C", 20, 1.0, 1.25, 0.25, _ISO_53.format("C"))
ISO_53_D = BasicRack("ISO 53 D", 20, 1.0, 1.4, 0.39, _ISO_53.format("D"))
# Small gears are cut higher and deeper, because their centre distances scatter more, counted in modules.
FINE = BasicRack(
    "fine mechanics",
    20,
    1.1,
    1.6,
    0.2,
    "DIN 58400, basic rack of fine mechanics, for modules up to 0.6 mm: heights from memory; fillet common "
    "practice, no source",
)
# Older and inch racks, for gears that were never cut to ISO 53.
FULL_DEPTH_14_5 = BasicRack(
    "full depth 14.5°",
    14.5,
    1.0,
    1.157,
    0.209,
    "ANSI B6.1, 14.5° full-depth system: values from memory",
)
STUB_20 = BasicRack(
    "stub 20°",
    20,
    0.8,
    1.0,
    0.2,
    "ANSI B6.1, 20° stub system: heights from memory; fillet common practice, no source",
)

FINE_TO_MM = 0.6  # module up to which gears are cut to FINE

RACKS = {rack.name: rack for rack in (ISO_53_A, ISO_53_B, ISO_53_C, ISO_53_D, FINE, FULL_DEPTH_14_5, STUB_20)}

FINE_PITCH = (20.0, 200.0)


def check_rack(rack) -> BasicRack:
    """Return ``rack`` if it is a basic rack; raises MechError for anything else, the name of one included.

    >>> check_rack(RACKS["ISO 53 A"]).addendum
    1.0
    >>> check_rack("ISO 53 A")
    Traceback (most recent call last):
    mechlib.errors.MechError: rack is 'ISO 53 A': give a BasicRack, such as ISO_53_A, or RACKS[name] for it
    """
    if isinstance(rack, BasicRack):
        return rack
    named = isinstance(rack, str) and rack in RACKS
    names = "for it" if named else f"with a name of: {', '.join(RACKS)}"
    raise MechError(f"rack is {rack!r}", f"give a BasicRack, such as ISO_53_A, or RACKS[name] {names}")


def fine_pitch_rack(diametral_pitch: float) -> BasicRack:
    """The basic rack of 20° fine-pitch inch gears, whose root is the deeper the finer the pitch.

    Dedendum 1.2/P + 0.002 inch, that is h_fP = 1.2 + 0.002·P modules.  ``diametral_pitch`` P: 20 to 200
    teeth an inch.  Raises MechError out of range.  Source: ANSI/AGMA 1003, heights from memory; the fillet,
    0.2 modules, is common practice, no source.

    >>> rack = fine_pitch_rack(48)
    >>> rack.name, round(rack.dedendum, 3)
    ('fine pitch 48 DP', 1.296)
    """
    pitch = check_number("diametral_pitch", diametral_pitch, *FINE_PITCH, "teeth an inch")
    source = "ANSI/AGMA 1003, 20° fine pitch: heights from memory; fillet common practice, no source"
    return BasicRack(f"fine pitch {pitch:g} DP", 20, 1.0, 1.2 + 0.002 * pitch, 0.2, source)


def usual_racks(
    racks: Iterable[BasicRack], module_mm: float, diametral_pitch: float | None = None
) -> tuple[BasicRack, ...]:
    """Those of some racks to which gears of a size are usually cut, the likeliest first.

    The rack of fine mechanics is meant for modules up to 0.6 mm: there it comes first, for larger modules and
    for inch sizes it is left out.  A 20° inch gear of usual heights is cut to the fine-pitch rack from 20 DP
    on, which then stands for ISO 53 A.  The others keep their order.  ``module_mm`` above 0;
    ``diametral_pitch``: of an inch size, up to 200 teeth an inch, else None.  Raises MechError beyond.

    >>> both = (ISO_53_A, FINE)
    >>> [[rack.name for rack in usual_racks(both, m, p)] for m, p in ((0.5, None), (2, None), (0.529, 48))]
    [['fine mechanics', 'ISO 53 A'], ['ISO 53 A'], ['fine pitch 48 DP']]
    """
    found = []
    for rack in racks:
        if rack == FINE:
            found = [rack, *found] if diametral_pitch is None and module_mm <= FINE_TO_MM else found
        elif rack == ISO_53_A and diametral_pitch is not None and diametral_pitch >= FINE_PITCH[0]:
            found.append(fine_pitch_rack(diametral_pitch))
        else:
            found.append(rack)
    return tuple(found)
