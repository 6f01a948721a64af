"""Try a belt: from the motor to the tape; what slips, what creeps, which size to order."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, radians, sin

from mechlib.drives import (
    DECK_STRETCH,
    STANDARD_SPEEDS,
    Belt,
    BeltAtWork,
    BeltCandidate,
    BeltDrive,
    Pulley,
    SpeedError,
    StandardSpeed,
    WantedSize,
    choose_belt,
    speed_error,
    standard_speed,
    tape_speed,
    wanted_size,
)
from mechlib.drives.belt_grip import KINDS
from mechlib.ranges import Choice, Range
from mechlib.say import columns, say

CASSETTE = "compact cassette"
TAPE_MM = 0.018  # thickness of the tape: common practice for most cassettes, no source
FLAT_MM = 4.0  # width of a flat belt; the others are as wide as thick
ALLOWED_PERCENT = 1.5  # by which the tape may be off: common practice, no source
# The stock list, invented: every 8 mm round inside, in these thicknesses.
STOCK_STEP_MM = 8
STOCK_THICK_MM = {"square": (0.8, 1.2, 1.6), "flat": (0.4, 0.6, 0.8), "round": (1.0, 1.5, 2.0)}
LENGTHS, SHOWN = 5, 6  # stock lengths tried in each thickness, and belts listed

CONTROLS: dict[str, Range | Choice] = {
    "motor_rev_min": Range("motor speed", 800, 3600, 10, 2400, "rev/min"),
    "driver_mm": Range("motor pulley, diameter under the belt", 5.0, 20.0, 0.05, 10.2, "mm"),
    "driven_mm": Range("flywheel, diameter under the belt", 30.0, 90.0, 0.2, 58.8, "mm"),
    "centres_mm": Range("distance of the shafts", 40.0, 120.0, 0.5, 80.0, "mm"),
    "kind": Choice("section of the belt", KINDS, "square"),
    "inside_mm": Range("belt, round inside, on the table", 120.0, 420.0, 0.5, 257.0, "mm"),
    "thickness_mm": Range("thickness of the belt", 0.4, 2.4, 0.1, 1.2, "mm"),
    "friction": Range("friction of the belt (no unit)", 0.05, 1.0, 0.05, 0.6),
    "capstan_mm": Range("diameter of the capstan", 1.5, 5.0, 0.01, 2.0, "mm"),
    "load_Nmm": Range("load at the flywheel", 0.0, 25.0, 0.1, 2.5, "N·mm"),
    "standard": Choice("speed that the tape should have", tuple(STANDARD_SPEEDS), CASSETTE),
}


@dataclass(frozen=True)
class BeltTrial:
    """A belt drive under load, and the tape that it moves.

    ``tape_mm_s`` and ``error`` are None where the belt slips: the speed isn't determined then.  ``ideal`` is
    the error that the drive would have if nothing were lost in the belt.
    """

    drive: BeltDrive
    capstan_mm: float
    load_Nmm: float
    at_work: BeltAtWork
    wanted: StandardSpeed
    ideal: SpeedError
    tape_mm_s: float | None
    error: SpeedError | None

    @property
    def bearing_N(self) -> float:
        """Force of both runs together on each shaft: two vectors 2β apart."""
        lean = radians(self.drive.path.driven_wrap_deg - 180) / 2
        tight, slack = self.at_work.tight_N, self.at_work.slack_N
        return hypot((tight + slack) * cos(lean), (tight - slack) * sin(lean))

    @property
    def size(self) -> WantedSize:
        """The size to order in this section."""
        return wanted_size(self.drive)

    def verdict(self) -> str:
        """What is wrong with the belt, and what to do."""
        low, high = DECK_STRETCH
        if self.drive.stretch_percent < low:
            return f"The belt is too long. {self.size.sentence()}"
        if self.drive.stretch_percent > high:
            return f"The belt is too short: it wears out the bearings. {self.size.sentence()}"
        if self.error is None:
            return "The size is right: clean belt and pulleys, and find out what runs stiffly."
        if abs(self.error.percent) > ALLOWED_PERCENT:
            return "The belt's length is right, the speed isn't: check the pulleys, its thickness, the motor."
        return "The belt's length is right, and the speed is within what is usual."

    def sentence(self) -> str:
        """Stretch, tensions, speed of the tape, and what to do."""
        speed = ""
        if self.error is not None:
            speed = f" The tape makes {say(self.tape_mm_s, 'mm/s', 2)}. {self.error.sentence()}"
        return f"{self.drive.sentence()} {self.at_work.sentence()}{speed} {self.verdict()}"

    def table(self) -> str:
        """Lengths, tensions and losses, one a line, then the size to order and the belts in stock."""
        path, work = self.drive.path, self.at_work
        rows = [
            ("path of the middle of the belt", say(path.length_mm, "mm")),
            ("middle line of the belt, on the table", say(self.drive.belt.pitch_length_mm, "mm")),
            ("stretch", say(self.drive.stretch_percent, "%")),
            ("tension at rest, each run", say(self.drive.pretension_N, "N", 2)),
            ("tension of the tight run", say(work.tight_N, "N", 2)),
            ("tension of the slack run", say(work.slack_N, "N", 2)),
            ("force on each bearing", say(self.bearing_N, "N", 2)),
            ("slips at the flywheel from", say(self.drive.slip_torque_driven_Nmm, "N·mm")),
            ("lost by creep", "it slips" if work.slips else say(work.creep_percent, "%", 2)),
        ]
        drive = "\n".join(f"{name:<38}{value:>12}" for name, value in rows)
        stock = f"An invented stock list, the best first:\n{stock_table(self.stock())}"
        return f"{drive}\n\n{self.size.sentence()}\n\n{stock}"

    def stock(self) -> tuple[BeltCandidate, ...]:
        """The belts of the stock list that come nearest, best first."""
        kind = self.drive.belt.kind
        first = round(self.size.inside_mm / STOCK_STEP_MM) - LENGTHS // 2
        sizes = [STOCK_STEP_MM * step for step in range(first, first + LENGTHS)]
        belts = {
            f"{size} × {say(thick)}": _belt(kind, size, thick, self.drive.belt.friction)
            for size in sizes
            for thick in STOCK_THICK_MM[kind]
        }
        return choose_belt(self.drive, belts, torque_Nmm=self.load_Nmm)[:SHOWN]


def stock_table(candidates) -> str:
    """Belts that could be ordered, and what speaks against each.

    >>> print(stock_table(trial(**DEFAULTS).stock()[:1]))
    in stock (mm)  stretch  slips at (N·mm)  speed
    256 × 1.2         7.6%             25.1  0.00%  fits
    """
    head = ("in stock (mm)", "stretch", "slips at (N·mm)", "speed")
    cells = [
        (
            one.name,
            say(one.drive.stretch_percent, "%"),
            say(one.drive.slip_torque_driven_Nmm),
            say(one.speed_percent, "%", 2, sign=True),
        )
        for one in candidates
    ]
    first, *lines = columns(head, cells).split("\n")
    told = ("fits" if one.fits else "; ".join(one.faults) for one in candidates)
    return "\n".join([first, *(f"{line}  {words}" for line, words in zip(lines, told, strict=True))])


def _belt(kind: str, inside_mm: float, thickness_mm: float, friction: float) -> Belt:
    width = FLAT_MM if kind == "flat" else thickness_mm
    return Belt(kind, inside_mm, thickness_mm, width, friction=friction)


def trial(
    motor_rev_min: float,
    driver_mm: float,
    driven_mm: float,
    centres_mm: float,
    kind: str,
    inside_mm: float,
    thickness_mm: float,
    friction: float,
    capstan_mm: float,
    load_Nmm: float,
    standard: str,
) -> BeltTrial:
    """A motor drives a flywheel by a belt, and the flywheel's shaft, the capstan, moves the tape.

    Tape speed v = π·(d + 0.018 mm)·n/60, n = motor·(d1 + t)/(d2 + t)·(1 − creep).  Names, units and ranges as
    in ``CONTROLS``; diameters are those under the belt, ``inside_mm`` is the belt's inside circumference on
    the table.  A flat belt is 4 mm wide, the others are as wide as thick; the rubber has 5 MPa (common
    practice, no source).  Returns a BeltTrial.  Raises MechError for other values, and where the pulleys
    overlap.  Source: the modules of ``mechlib.drives``.

    >>> trial(**DEFAULTS).error.sentence()
    'The tape runs 0.09% too fast, +1.5 cents.'
    """
    given = (motor_rev_min, driver_mm, driven_mm, centres_mm, kind, inside_mm, thickness_mm, friction,
             capstan_mm, load_Nmm, standard)  # fmt: skip
    for (name, control), value in zip(CONTROLS.items(), given, strict=True):
        control.check(name, value)
    belt = _belt(kind, inside_mm, thickness_mm, friction)
    drive = BeltDrive(Pulley(driver_mm), Pulley(driven_mm), centres_mm, belt)
    work, wanted = drive.carry(motor_rev_min, load_Nmm), standard_speed(standard)
    ideal = speed_error(tape_speed(capstan_mm, motor_rev_min * drive.ratio, TAPE_MM), wanted.mm_s)
    tape = None if work.slips else tape_speed(capstan_mm, work.driven_rev_min, TAPE_MM)
    error = None if tape is None else speed_error(tape, wanted.mm_s)
    return BeltTrial(drive, capstan_mm, load_Nmm, work, wanted, ideal, tape, error)


DEFAULTS = {name: control.default for name, control in CONTROLS.items()}
