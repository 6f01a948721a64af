"""An elastic belt at work: stretch, tension, what it can pull before it slips, and creep.

The belt is a straight spring: tension = E·A·stretch, with E the (secant) modulus at that stretch; for
rubber belts a few MPa, more when cold or aged (common practice, no source).  Rubber also relaxes with time:
that is a belt that has grown longer here, ``slackened``.  A glazed belt is one with less friction.  Left
out: centrifugal force, far below the tension at deck speeds, and bending stiffness.  Sources: Euler 1762 and
Eytelwein 1808 for the grip; Johnson, Contact Mechanics (1985), section 8.2, for creep, both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import degrees, exp, pi, radians, sin

from mechlib.drives.belt_balance import stretches_at, stretches_under
from mechlib.drives.belts import DIAMETER_MM, BeltPath, driven_speed, pitch_diameter
from mechlib.errors import MechError, check_number
from mechlib.say import listing, say

KINDS = ("square", "flat", "round")
INSIDE_MM = (5.0, 10000.0)
SECTION_MM = (0.05, 50.0)
MODULUS_MPA = (0.1, 10000.0)
FRICTION = (0.01, 3.0)
GROOVE_DEG = (20.0, 180.0)
WRAP_DEG = (0.0, 36000.0)
RADIAN = degrees(1)


def grip(friction: float, wrap_deg: float, groove_deg: float = 180.0) -> float:
    """Exponent of the belt's grip, μ·α/sin(γ/2): tight over slack tension is e to this power where it slips.

    ``friction``: 0.01 to 3; ``wrap_deg``: 0 to 36 000° (100 turns); ``groove_deg``: angle γ between the
    flanks that the belt is wedged between, 20 to 180° (flat; also where it sits on the bottom).  Raises
    MechError out of range.  Source: Euler–Eytelwein, with the wedge as in any handbook on V-belts.

    >>> round(grip(0.6, 180), 6), round(grip(0.6, 180, 60), 6)
    (1.884956, 3.769911)
    """
    friction = check_number("friction", friction, *FRICTION)
    wrap = radians(check_number("wrap_deg", wrap_deg, *WRAP_DEG, "°"))
    groove = radians(check_number("groove_deg", groove_deg, *GROOVE_DEG, "°"))
    return friction * wrap / sin(groove / 2)


def tension_ratio(friction: float, wrap_deg: float, groove_deg: float = 180.0) -> float:
    """Tight over slack tension at the point of slipping, e^(μα/sin(γ/2)).  Arguments as for ``grip``.

    Raises MechError out of range, and where the ratio is too large for a number (over 700 in the exponent).

    >>> round(tension_ratio(0.6, 5 * 360), 3)
    153552935.395
    """
    exponent = grip(friction, wrap_deg, groove_deg)
    return exp(check_number("friction times wrap", exponent, 0, 700, hint="take fewer turns"))


@dataclass(frozen=True)
class Belt:
    """An endless elastic belt, as it lies on the table.

    ``kind``: "square" (or any rectangle), "flat" or "round"; ``inside_mm``: inside circumference,
    unstretched, 5 to 10 000 mm; ``thickness_mm``: towards the pulley (diameter of a round one) and
    ``width_mm``: 0.05 to 50 mm, of a round belt equal; ``modulus_MPa``: 0.1 to 10 000; ``friction``: on its
    pulleys, 0.01 to 3.  Raises MechError otherwise.

    >>> Belt("square", 240, 1.2, 1.2).sentence()
    'A square belt, 240.0 mm round inside (76.4 mm across, 120.0 mm folded), 1.20 × 1.20 mm.'
    """

    kind: str
    inside_mm: float
    thickness_mm: float
    width_mm: float
    modulus_MPa: float = 5.0
    friction: float = 0.6

    def __post_init__(self):
        if self.kind not in KINDS:
            raise MechError(f"kind of the belt is {self.kind!r}", f"it must be one of: {listing(KINDS)}")
        check_number("inside_mm", self.inside_mm, *INSIDE_MM, "mm")
        check_number("thickness_mm", self.thickness_mm, SECTION_MM[0], 20, "mm")
        check_number("width_mm", self.width_mm, *SECTION_MM, "mm")
        check_number("modulus_MPa", self.modulus_MPa, *MODULUS_MPA, "MPa")
        check_number("friction", self.friction, *FRICTION)
        if self.kind == "round" and self.width_mm != self.thickness_mm:
            raise MechError(f"width_mm is {self.width_mm:g} mm", "a round belt is as wide as it is thick")

    @property
    def area_mm2(self) -> float:
        """Section: width × thickness, or π/4·d²."""
        return self.width_mm * self.thickness_mm * (pi / 4 if self.kind == "round" else 1)

    @property
    def stiffness_N(self) -> float:
        """E·A: tension for a stretch of 1 (100 %)."""
        return self.modulus_MPa * self.area_mm2

    @property
    def pitch_length_mm(self) -> float:
        """Length of the middle line, unstretched: inside circumference + π·t."""
        return self.inside_mm + pi * self.thickness_mm

    def slackened(self, percent: float) -> Belt:
        """The same belt grown longer by so many percent (0 to 50), as heat and years do.

        >>> Belt("square", 200, 1.2, 1.2).slackened(5).inside_mm
        210.0
        """
        grown = check_number("percent", percent, 0, 50, "%")
        return replace(self, inside_mm=self.inside_mm * (1 + grown / 100))

    def glazed(self, friction: float) -> Belt:
        """The same belt with another friction on its pulleys (0.01 to 3): glazed, oily, or cleaned.

        >>> Belt("square", 200, 1.2, 1.2).glazed(0.2).friction
        0.2
        """
        return replace(self, friction=friction)

    def sentence(self) -> str:
        """Kind and sizes, as belts are measured: round inside, across as a circle, folded flat."""
        across, folded = say(self.inside_mm / pi, "mm"), say(self.inside_mm / 2, "mm")
        section = f"{say(self.thickness_mm, '', 2)} × {say(self.width_mm, 'mm', 2)}"
        if self.kind == "round":
            section = f"{say(self.thickness_mm, 'mm', 2)} thick"
        sizes = f"{say(self.inside_mm, 'mm')} round inside ({across} across, {folded} folded)"
        return f"A {self.kind} belt, {sizes}, {section}."


@dataclass(frozen=True)
class Pulley:
    """A pulley.

    ``diameter_mm``: under the belt's inside, 1 to 2000 mm; ``groove_deg``: 20 to 180° (flat), see ``grip``.
    Raises MechError out of range.
    """

    diameter_mm: float
    groove_deg: float = 180.0

    def __post_init__(self):
        check_number("diameter_mm", self.diameter_mm, *DIAMETER_MM, "mm")
        check_number("groove_deg", self.groove_deg, *GROOVE_DEG, "°")


@dataclass(frozen=True)
class BeltAtWork:
    """A belt that carries a torque: tensions in both runs, creep and speed; ``slips`` beyond its limit.

    A belt that slips has the tensions of its limit; its speed isn't determined then, and is None.
    """

    tight_N: float
    slack_N: float
    creep_percent: float
    driven_rev_min: float | None
    pull_N: float
    limit_N: float

    @property
    def slips(self) -> bool:
        """Whether more is asked than friction holds."""
        return self.driven_rev_min is None

    def sentence(self) -> str:
        """Tensions, reserve and speed, or that it slips."""
        pull, limit = say(self.pull_N, "N", 2), say(self.limit_N, "N", 2)
        if self.slips and not self.pull_N:
            return "The belt slips even without a load: it holds nothing."
        if self.slips:
            return f"The belt slips: it would have to pull {pull} and holds {limit}."
        return (
            f"The belt pulls {pull} of the {limit} that it holds: {say(self.tight_N, 'N', 2)} in the tight "
            f"run, {say(self.slack_N, 'N', 2)} in the slack one, creep {say(self.creep_percent, '%', 2)}, "
            f"{say(self.driven_rev_min, 'rev/min', 1, sign=True)} at the driven pulley."
        )


@dataclass(frozen=True)
class BeltDrive:
    """An elastic belt on two pulleys at fixed centres (mm, see ``BeltPath``), open or crossed.

    >>> belt = Belt("square", 244, 1.2, 1.2, modulus_MPa=5, friction=0.6)
    >>> drive = BeltDrive(Pulley(10), Pulley(50), 80, belt)
    >>> drive.sentence()
    'Stretched by 6.2% the belt has 0.44 N in each run and slips when asked to pull more than 0.68 N.'
    """

    driver: Pulley
    driven: Pulley
    centres_mm: float
    belt: Belt
    crossed: bool = False

    def __post_init__(self):
        _ = self.path

    @property
    def _pulleys(self) -> tuple[Pulley, Pulley]:
        return self.driver, self.driven

    @cached_property
    def path(self) -> BeltPath:
        """Where the belt's middle line runs."""
        thick = self.belt.thickness_mm
        sizes = (pitch_diameter(pulley.diameter_mm, thick) for pulley in self._pulleys)
        return BeltPath(*sizes, self.centres_mm, self.crossed)

    @property
    def stretch_percent(self) -> float:
        """Path over unstretched middle line, less 1; below 0 where the belt hangs loose."""
        return 100 * (self.path.length_mm / self.belt.pitch_length_mm - 1)

    @property
    def pretension_N(self) -> float:
        """Tension of both runs at rest, E·A·stretch; 0 where the belt hangs loose."""
        return self.belt.stiffness_N * max(0.0, self.stretch_percent) / 100

    @property
    def grip(self) -> float:
        """The smaller exponent of both pulleys (see ``grip``): that one slips first."""
        wraps = (self.path.driver_wrap_deg, self.path.driven_wrap_deg)
        pulleys = zip(self._pulleys, wraps, strict=True)
        return min(grip(self.belt.friction, wrap, pulley.groove_deg) for pulley, wrap in pulleys)

    @property
    def _balance(self) -> tuple[BeltPath, float, tuple[float, ...]]:
        """What the balance of its length goes by, see ``belt_balance``."""
        rates = tuple(grip(self.belt.friction, RADIAN, pulley.groove_deg) for pulley in self._pulleys)
        return self.path, self.belt.pitch_length_mm, rates

    @cached_property
    def slipping_N(self) -> tuple[float, float]:
        """Tensions of the tight and the slack run at the point of slipping, T1/T2 = e^grip; 0 if loose.

        The driver drives.  The belt's length is kept, not the sum of both tensions: where the driven pulley
        is far the larger, more of the belt is slack, and the limit is higher than 2·T0·tanh(grip/2).
        """
        stretches = stretches_at(*self._balance, self.grip)
        return tuple(self.belt.stiffness_N * stretch for stretch in stretches)

    @property
    def limit_N(self) -> float:
        """The most that the tight run can pull beyond the slack one."""
        tight, slack = self.slipping_N
        return tight - slack

    @property
    def slip_torque_driver_Nmm(self) -> float:
        """Torque of the driver at which the belt slips."""
        return self.limit_N * self.path.driver_mm / 2

    @property
    def slip_torque_driven_Nmm(self) -> float:
        """Torque at the driven pulley at which the belt slips."""
        return self.limit_N * self.path.driven_mm / 2

    @property
    def ratio(self) -> float:
        """Speed of the driven pulley for 1 of the driver, unloaded; − where crossed."""
        thick = self.belt.thickness_mm
        return driven_speed(1, self.driver.diameter_mm, self.driven.diameter_mm, thick, 0, self.crossed)

    def carry(self, rev_min: float, torque_Nmm: float) -> BeltAtWork:
        """The belt while the driven pulley is loaded with a torque.

        Pull F = 2·T/d2 = T1 − T2, and the belt keeps its length (``belt_balance``); it passes the driver
        stretched by ε1 and the driven pulley by ε2, and the same mass passes both: v2/v1 = (1 + ε2)/(1 + ε1),
        creep = (ε1 − ε2)/(1 + ε1).
        ``rev_min``: of the driver, −1e6 to 1e6; ``torque_Nmm``: against the motion, 0 to 1e6.  Raises
        MechError.

        >>> drive = BeltDrive(Pulley(10), Pulley(50), 80, Belt("square", 240, 1.2, 1.2))
        >>> print(round(drive.carry(2400, 5).creep_percent, 2), drive.carry(2400, 25).slips)
        2.47 True
        """
        load = check_number("torque_Nmm", torque_Nmm, 0, 1e6, "N·mm")
        check_number("rev_min", rev_min, -1e6, 1e6, "rev/min")
        limit = self.limit_N
        pull = 2 * load / self.path.driven_mm
        slips, stiff = pull > limit or not limit, self.belt.stiffness_N
        tight, slack = self.slipping_N
        if not slips:
            tight = stiff * stretches_under(*self._balance, self.grip, pull / stiff)[0]
            slack = tight - pull
        creep = (tight - slack) / (stiff + tight)
        turns = None if slips else rev_min * self.ratio * (1 - creep)
        return BeltAtWork(tight, slack, 100 * creep, turns, pull, limit)

    def sentence(self) -> str:
        """Stretch, tension and slip limit, or how loose it hangs."""
        if self.stretch_percent <= 0:
            loose = say(self.belt.pitch_length_mm - self.path.length_mm, "mm")
            return f"The belt is {loose} longer than its path: it hangs loose and pulls nothing."
        return (
            f"Stretched by {say(self.stretch_percent, '%')} the belt has {say(self.pretension_N, 'N', 2)} "
            f"in each run and slips when asked to pull more than {say(self.limit_N, 'N', 2)}."
        )
