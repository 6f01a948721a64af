"""What speaks against a pair of spur gears that does mesh, in words."""

from __future__ import annotations

from mechlib.errors import check_number
from mechlib.gears.spur import Gear, Ring
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_mesh import SpurMesh, told
from mechlib.say import say

RATIO = (1.0, 2.0)
MODULES = (0.0, 1.0)


def findings(
    found: SpurMesh, least_ratio: float = 1.2, least_tip: float = 0.2, least_clearance: float = 0.1,
    least_backlash: float = 0.02,
) -> tuple[str, ...]:  # fmt: skip
    """What speaks against a pair, a sentence each; an empty tuple where nothing does.

    Undercut, a tip narrower than ``least_tip``, less clearance than ``least_clearance`` at a root, less
    backlash than ``least_backlash`` (all in modules, 0 to 1), interference, and a contact ratio below
    ``least_ratio`` (1 to 2); below 1 teeth lose touch.  The four limits are common practice, no source.
    Backlash is that of the pair as measured: ``spur_heat`` tells what is left of it warm or cold.  Raises
    MechError for limits out of range.

    >>> from mechlib.gears.racks import ISO_53_A
    >>> from mechlib.gears.spur_mesh import mesh
    >>> findings(mesh(Gear(20, 1, ISO_53_A), Gear(40, 1, ISO_53_A), 30.05))
    ()
    >>> findings(mesh(Gear(12, 1, ISO_53_A), Gear(24, 1, ISO_53_A), 18.05))
    ('Gear 1, a gear of 12 teeth, is undercut: its root is weak, and part of its flank is gone.',)
    >>> findings(mesh(Gear(20, 1, ISO_53_A), Gear(40, 1, ISO_53_A), 30))[0][:42]
    'The backlash is 0.000 mm: a little warmer '
    """
    least_ratio = check_number("least_ratio", least_ratio, *RATIO)
    least_tip = check_number("least_tip", least_tip, *MODULES, "modules")
    least_clearance = check_number("least_clearance", least_clearance, *MODULES, "modules")
    least_backlash = check_number("least_backlash", least_backlash, *MODULES, "modules")
    path = contact(found)
    said = []
    gears = (found.gear1, found.gear2)
    for at, (gear, mate) in enumerate(zip(gears, gears[::-1], strict=True)):
        said += _of_gear(f"Gear {at + 1}, {told(gear)},", gear, least_tip)
        clearance, dig = found.clearance_mm[at], path.dig_mm[at]
        if clearance < least_clearance * gear.module_mm:
            said.append(
                f"The tips of {told(gear)} clear the roots of {told(mate)} by {say(clearance, 'mm', 3)}."
            )
        if dig > 0:
            said.append(f"The tips of {told(mate)} cut {say(dig, 'mm', 3)} into the roots of {told(gear)}.")
    if found.backlash_mm < least_backlash * found.gear1.module_mm:
        said.append(
            f"The backlash is {say(found.backlash_mm, 'mm', 3)}: a little warmer than the plate, or a little "
            "out of true, the teeth bind; rise_to_bind_K tells from how much warmer on."
        )
    if path.ratio < least_ratio:
        end = "teeth lose touch" if path.ratio < 1 else "it runs roughly"
        said.append(f"The contact ratio is {say(path.ratio, '', 2)}: {end}.")
    return tuple(said)


def _of_gear(name: str, gear: Gear | Ring, least_tip: float) -> list[str]:
    said = []
    if isinstance(gear, Gear) and gear.undercut:
        said.append(f"{name} is undercut: its root is weak, and part of its flank is gone.")
    tip = gear.thickness_mm(gear.tip_mm)
    if tip < least_tip * gear.module_mm:
        said.append(f"{name} has narrow tips, {say(tip, 'mm', 3)} wide.")
    return said
