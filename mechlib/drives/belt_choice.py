"""Which belt to order: the size for a wanted stretch, and a stock list put in order, with reasons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import pi

from mechlib.drives.belt_grip import Belt, BeltDrive
from mechlib.errors import MechError, check_number
from mechlib.say import listing, say

# Stretch in percent of the unstretched length: of deck belts, common practice, no source; of an O-ring that
# serves as a belt, from makers' guides.
DECK_STRETCH = (5.0, 10.0)
O_RING_STRETCH = (8.0, 12.0)
STRETCH_PERCENT = (0.1, 60.0)
SPEED_PERCENT = 1.0  # by how much another thickness may change the speed; common practice, no source


@dataclass(frozen=True)
class WantedSize:
    """Inside circumference of the belt to order, in mm: the one to wish for, and the smallest and largest."""

    inside_mm: float
    smallest_mm: float
    largest_mm: float

    def sentence(self) -> str:
        """The size in the three ways in which belts are sold."""
        across, folded = say(self.inside_mm / pi, "mm"), say(self.inside_mm / 2, "mm")
        between = f"{say(self.smallest_mm, '', 1)} to {say(self.largest_mm, 'mm')}"
        sizes = f"{say(self.inside_mm, 'mm')} round inside ({across} across, {folded} folded flat)"
        return f"Order a belt of {sizes}; {between} will do."


def _stretch_range(stretch: tuple[float, float]) -> tuple[float, float]:
    low, high = (check_number("stretch in %", end, *STRETCH_PERCENT, "%") for end in stretch)
    if low > high:
        raise MechError(f"stretch from {low:g} to {high:g} %", "write the smaller number first")
    return low, high


def wanted_size(drive: BeltDrive, stretch: tuple[float, float] = DECK_STRETCH) -> WantedSize:
    """Size of belt that is stretched by so much on a drive: inside = path/(1 + stretch) − π·t.

    ``drive``: with a belt of the section that is wanted (its length doesn't matter); ``stretch``: smallest
    and largest in percent of the middle line, 0.1 to 60; the middle of both is wished for.  Raises
    MechError.

    >>> from mechlib.drives.belt_grip import Pulley
    >>> drive = BeltDrive(Pulley(10.8), Pulley(58.8), 80, Belt("square", 250, 1.2, 1.2))
    >>> round(wanted_size(drive).inside_mm, 3)
    257.023
    """
    low, high = _stretch_range(stretch)
    path, lost = drive.path.length_mm, pi * drive.belt.thickness_mm
    wish, small, large = (path / (1 + part / 100) - lost for part in ((low + high) / 2, high, low))
    return WantedSize(wish, small, large)


@dataclass(frozen=True)
class BeltCandidate:
    """A belt of a stock list on the drive: change of speed against the one before, in percent, and faults."""

    name: str
    drive: BeltDrive
    speed_percent: float
    faults: tuple[str, ...]

    @property
    def fits(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.faults

    def sentence(self) -> str:
        """Verdict, stretch, grip and speed, and what speaks against it."""
        verdict = "fits" if self.fits else f"doesn't fit ({listing(self.faults)})"
        stretch, speed = say(self.drive.stretch_percent, "%"), say(self.speed_percent, "%", 2, sign=True)
        slip = say(self.drive.slip_torque_driven_Nmm, "N·mm")
        return f"{self.name} {verdict}: stretch {stretch}, slips at {slip}, speed {speed}."


def choose_belt(
    drive: BeltDrive,
    stock: Mapping[str, Belt],
    stretch: tuple[float, float] = DECK_STRETCH,
    torque_Nmm: float = 0.0,
) -> tuple[BeltCandidate, ...]:
    """Put every belt of a stock list on a drive: those with least against them first, then by stretch.

    Of two, the one nearer to the middle of the range of stretch comes first.

    Against a belt speak: a stretch out of the range, slipping at ``torque_Nmm`` (at the driven pulley, 0 to
    1e6), and a thickness that changes the speed by more than 1 % against the belt of ``drive``.
    A belt too thick to go between the pulleys is left out.
    ``stretch``: percent, 0.1 to 60, smallest and largest.  Raises MechError for an empty list and values
    out of range.

    >>> from mechlib.drives.belt_grip import Pulley
    >>> drive = BeltDrive(Pulley(10.8), Pulley(58.8), 80, Belt("square", 257, 1.2, 1.2))
    >>> stock = {"A": Belt("square", 250, 1.2, 1.2), "B": Belt("square", 258, 1.2, 1.2)}
    >>> for candidate in choose_belt(drive, stock):
    ...     print(candidate.sentence())
    B fits: stretch 7.1%, slips at 23.4 N·mm, speed 0.00%.
    A doesn't fit (10.5% of stretch is too much): stretch 10.5%, slips at 34.9 N·mm, speed 0.00%.
    """
    low, high = _stretch_range(stretch)
    torque = check_number("torque_Nmm", torque_Nmm, 0, 1e6, "N·mm")
    if not stock:
        raise MechError("the stock list is empty", "give it at least one belt")
    middle, found = (low + high) / 2, []
    for name, belt in stock.items():
        try:
            new = replace(drive, belt=belt)
        except MechError:  # its pulleys would touch
            continue
        speed = 100 * (new.ratio / drive.ratio - 1)
        found.append(BeltCandidate(name, new, speed, tuple(_faults(new, speed, (low, high), torque))))
    return tuple(sorted(found, key=lambda one: (len(one.faults), abs(one.drive.stretch_percent - middle))))


def _faults(new: BeltDrive, speed: float, stretch: tuple[float, float], torque: float) -> Iterable[str]:
    found = new.stretch_percent
    if found <= 0:
        yield "it hangs loose"
    elif not stretch[0] <= found <= stretch[1]:
        yield f"{say(found, '%')} of stretch is too {'little' if found < stretch[0] else 'much'}"
    if torque > new.slip_torque_driven_Nmm:
        yield f"it slips before {say(torque, 'N·mm')}"
    if abs(speed) > SPEED_PERCENT:
        yield f"its thickness changes the speed by {say(speed, '%', 1, sign=True)}"
