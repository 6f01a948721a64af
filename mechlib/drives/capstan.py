"""Tape speed from a capstan: its error in percent and cents, standard speeds, and the pinch roller."""

from __future__ import annotations

from dataclasses import dataclass
from math import log2, pi

from mechlib.errors import MechError, check_number
from mechlib.say import listing, say

DIAMETER_MM = (0.5, 50.0)
TAPE_MM = (0.0, 0.1)
SPEED_REV_MIN = (1.0, 50000.0)
SPEED_MM_S = (0.1, 10000.0)
TONE_HZ = (1.0, 100000.0)
RATIO = (1e-5, 1e5)
FORCE_N = (0.0, 500.0)
FRICTION = (0.01, 3.0)
INCH_MM = 25.4


@dataclass(frozen=True)
class StandardSpeed:
    """A standard speed of tape in mm/s, its source, and whether it was read there or is from memory."""

    mm_s: float
    source: str
    status: str


STANDARD_SPEEDS = {
    "compact cassette": StandardSpeed(1.875 * INCH_MM, "IEC 60094-7: 4.76 cm/s (1⅞ in/s)", "published"),
    "half-inch video 625/50": StandardSpeed(23.39, "IEC 60774-1", "published"),
    "half-inch video 525/60": StandardSpeed(33.35, "IEC 60774-1, SMPTE 32M", "published"),
    "open reel 38": StandardSpeed(15 * INCH_MM, "IEC 60094-1: 38.1 cm/s (15 in/s)", "memory"),
    "open reel 19": StandardSpeed(7.5 * INCH_MM, "IEC 60094-1: 19.05 cm/s (7½ in/s)", "memory"),
    "open reel 9.5": StandardSpeed(3.75 * INCH_MM, "IEC 60094-1: 9.53 cm/s (3¾ in/s)", "memory"),
    "open reel 4.75": StandardSpeed(1.875 * INCH_MM, "IEC 60094-1: 4.76 cm/s (1⅞ in/s)", "memory"),
    "microcassette": StandardSpeed(24.0, "common practice: 2.4 cm/s", "memory"),
}


def standard_speed(name: str) -> StandardSpeed:
    """Look a standard speed up by its name in STANDARD_SPEEDS.  Raises MechError for an unknown name.

    >>> standard_speed("half-inch video 625/50").mm_s
    23.39
    """
    if name not in STANDARD_SPEEDS:
        raise MechError(f"there is no standard speed {name!r}", f"there are {listing(STANDARD_SPEEDS)}")
    return STANDARD_SPEEDS[name]


def tape_speed(diameter_mm: float, rev_min: float, tape_mm: float = 0.0) -> float:
    """Speed of the tape in mm/s, v = π·(d + t)·n/60: its middle runs half its thickness outside the capstan.

    ``diameter_mm``: of the capstan, 0.5 to 50 mm; ``rev_min``: 1 to 50 000; ``tape_mm``: thickness of the
    tape, 0 to 0.1 mm (a cassette's is 0.009 to 0.018 mm: common practice, no source).  No slip.  Raises
    MechError.

    >>> round(tape_speed(2.0, 455), 3), round(tape_speed(2.0, 455, 0.018), 3)
    (47.647, 48.076)
    """
    speed = check_number("rev_min", rev_min, *SPEED_REV_MIN, "rev/min")
    return pi * _at_the_middle(diameter_mm, tape_mm) * speed / 60


def capstan_speed(diameter_mm: float, tape_mm_s: float, tape_mm: float = 0.0) -> float:
    """Speed of the capstan in rev/min for a tape speed: n = 60·v/(π·(d + t)).

    ``tape_mm_s``: 0.1 to 10 000 mm/s; the others as for ``tape_speed``.  Raises MechError out of range.

    >>> round(capstan_speed(2.0, 47.625), 2)
    454.79
    """
    speed = check_number("tape_mm_s", tape_mm_s, *SPEED_MM_S, "mm/s")
    return 60 * speed / (pi * _at_the_middle(diameter_mm, tape_mm))


def _at_the_middle(diameter_mm: float, tape_mm: float) -> float:
    diameter = check_number("diameter_mm", diameter_mm, *DIAMETER_MM, "mm")
    return diameter + check_number("tape_mm", tape_mm, *TAPE_MM, "mm")


@dataclass(frozen=True)
class SpeedError:
    """A tape speed over the one that it should have: their ``ratio``, 1 where it is right.

    From 1e-5 to 1e5, as speeds and tones can give it; raises MechError otherwise.
    """

    ratio: float

    def __post_init__(self):
        check_number("ratio", self.ratio, *RATIO)

    @property
    def percent(self) -> float:
        """100·(ratio − 1): + is too fast."""
        return 100 * (self.ratio - 1)

    @property
    def cents(self) -> float:
        """1200·log2(ratio), as musicians count: 100 cents to a semitone."""
        return 1200 * log2(self.ratio)

    def tone(self, recorded_Hz: float) -> float:
        """Frequency at which a tone is heard that was recorded at the right speed; 1 to 100 000 Hz.

        >>> SpeedError(1.02).tone(3000)
        3060.0
        """
        return check_number("recorded_Hz", recorded_Hz, *TONE_HZ, "Hz") * self.ratio

    def sentence(self) -> str:
        """The error in percent and cents."""
        if abs(self.percent) < 0.005:
            return "The tape runs at the right speed."
        way, cents = "fast" if self.ratio > 1 else "slow", say(self.cents, "cents", 1, sign=True)
        return f"The tape runs {say(abs(self.percent), '%', 2)} too {way}, {cents}."


def speed_error(tape_mm_s: float, wanted_mm_s: float) -> SpeedError:
    """Set a tape speed beside the one it should have; both 0.1 to 10 000 mm/s, else MechError.

    >>> speed_error(48.076, 47.6).sentence()
    'The tape runs 1.00% too fast, +17.2 cents.'
    """
    speed = check_number("tape_mm_s", tape_mm_s, *SPEED_MM_S, "mm/s")
    return SpeedError(speed / check_number("wanted_mm_s", wanted_mm_s, *SPEED_MM_S, "mm/s"))


def error_from_tone(heard_Hz: float, recorded_Hz: float) -> SpeedError:
    """Find the speed error from a test tone: heard over recorded frequency; both 1 to 100 000 Hz.

    The tape must have been recorded at the right speed.  Raises MechError out of range.

    >>> error_from_tone(2950, 3000).sentence()
    'The tape runs 1.67% too slow, −29.1 cents.'
    """
    heard = check_number("heard_Hz", heard_Hz, *TONE_HZ, "Hz")
    return SpeedError(heard / check_number("recorded_Hz", recorded_Hz, *TONE_HZ, "Hz"))


@dataclass(frozen=True)
class PinchGrip:
    """What holds the tape to the capstan, and what pulls it away: + is back towards the supply reel."""

    hold_N: float
    pull_N: float

    @property
    def slips(self) -> bool:
        """Whether the tape is pulled through."""
        return abs(self.pull_N) > self.hold_N

    @property
    def margin_N(self) -> float:
        """How much more pull it holds; below 0 where it slips."""
        return self.hold_N - abs(self.pull_N)

    def sentence(self) -> str:
        """Whether the capstan holds, and while what holds."""
        way = "backwards, by the supply reel" if self.pull_N >= 0 else "forwards, by the take-up reel"
        now, hold = say(abs(self.pull_N), "N", 2), say(self.hold_N, "N", 2)
        if self.slips:
            return f"The tape slips: it is pulled with {now} {way}; the capstan holds {hold}."
        return f"The capstan holds while the tape is pulled with less than {hold}; now {now}, {way}."


def pinch_grip(
    force_N: float, friction: float, supply_N: float, take_up_N: float, roller_drag_N: float = 0.0
) -> PinchGrip:
    """What a pinch roller holds: μ·F, against supply tension + drag of the roller − take-up tension.

    Only the capstan drives; the roller is carried along by the tape, and its bearing holds back.
    ``force_N``: that presses the roller on, 0 to 500 N; ``friction``: of tape on capstan, 0.01 to 3 (0.2 to
    0.5 on clean steel: common practice, no source); the tensions and the drag 0 to 500 N.  Raises MechError
    out of range.

    >>> pinch_grip(4, 0.3, 0.3, 0.5).sentence()
    'The capstan holds while ... less than 1.20 N; now 0.20 N, forwards, by the take-up reel.'
    """
    force = check_number("force_N", force_N, *FORCE_N, "N")
    friction = check_number("friction", friction, *FRICTION)
    back = check_number("supply_N", supply_N, *FORCE_N, "N")
    back += check_number("roller_drag_N", roller_drag_N, *FORCE_N, "N")
    return PinchGrip(friction * force, back - check_number("take_up_N", take_up_N, *FORCE_N, "N"))
