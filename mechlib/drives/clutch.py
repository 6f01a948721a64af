"""A friction clutch of flat rings: torque from the force that presses them, by both usual assumptions.

Uniform pressure: p is the same all over, as with new felt on a stiff plate.  Uniform wear: p·r is the same,
as once it has run in.  Friction may grow with the radius: μ = μ0 + μ1·r.
Source: any handbook of machine design, chapter on clutches, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from mechlib.errors import MechError, check_count, check_number
from mechlib.say import say

RADIUS_MM = (0.5, 500.0)
FORCE_N = (0.0, 1e6)
FRICTION = (0.0, 3.0)
FRICTION_PER_MM = (0.0, 1.0)
FACES = (1, 20)
TORQUE_NMM = (0.0, 1e9)


@dataclass(frozen=True)
class ClutchGrip:
    """What a clutch holds when pressed together with a force, and the pressure at its inner edge."""

    torque_Nmm: float
    force_N: float
    peak_MPa: float

    def sentence(self) -> str:
        """Torque, force and pressure."""
        torque, force = say(self.torque_Nmm, "N·mm", 2), say(self.force_N, "N", 2)
        holds = f"Pressed with {force} the clutch holds {torque}"
        return f"{holds}; the pressure is at most {self.peak_MPa:.3g} MPa."


@dataclass(frozen=True)
class Clutch:
    """Rings that rub from ``inner_mm`` to ``outer_mm`` (radii, 0.5 to 500) on 1 to 20 ``faces``.

    ``friction``: μ0, 0 to 3; ``friction_per_mm``: μ1, 0 to 1; not both 0.  ``worn``: uniform wear instead of
    uniform pressure.  Raises MechError for values out of range, or if outer isn't beyond inner.

    >>> Clutch(5, 10, 0.3).pressed(1.5).sentence()
    'Pressed with 1.50 N the clutch holds 3.50 N·mm; the pressure is at most 0.00637 MPa.'
    """

    inner_mm: float
    outer_mm: float
    friction: float
    friction_per_mm: float = 0.0
    faces: int = 1
    worn: bool = False

    def __post_init__(self):
        check_number("inner_mm", self.inner_mm, *RADIUS_MM, "mm")
        check_number("outer_mm", self.outer_mm, *RADIUS_MM, "mm")
        check_number("friction", self.friction, *FRICTION)
        check_number("friction_per_mm", self.friction_per_mm, *FRICTION_PER_MM)
        check_count("faces", self.faces, *FACES)
        if self.outer_mm <= self.inner_mm:
            raise MechError(f"outer_mm is {self.outer_mm:g} mm", f"it must be more than {self.inner_mm:g} mm")
        if not self.friction + self.friction_per_mm:
            raise MechError("friction is 0", "without friction no clutch holds; give one of the two")

    def _moment(self, power: int) -> float:
        """∫ r^(power − 1) dr from the inner to the outer radius."""
        return (self.outer_mm**power - self.inner_mm**power) / power

    @property
    def lever_mm(self) -> float:
        """Torque for 1 N: faces·(μ0·∫r² + μ1·∫r³)/∫r dr; worn, each power one less.

        >>> Clutch(5, 10, 0.3, worn=True).lever_mm
        2.25
        """
        less = 1 if self.worn else 0
        rubbed = self.friction * self._moment(3 - less) + self.friction_per_mm * self._moment(4 - less)
        return self.faces * rubbed / self._moment(2 - less)

    def pressed(self, force_N: float) -> ClutchGrip:
        """What it holds under a force of 0 to 1e6 N.  Raises MechError out of range."""
        force = check_number("force_N", force_N, *FORCE_N, "N")
        area = self.inner_mm * self._moment(1) if self.worn else self._moment(2)
        return ClutchGrip(force * self.lever_mm, force, force / (2 * pi * area))

    def for_torque(self, torque_Nmm: float) -> ClutchGrip:
        """The force that it needs to hold a torque of 0 to 1e9 N·mm.  Raises MechError out of range.

        >>> round(Clutch(5, 10, 0.3).for_torque(3.5).force_N, 6)
        1.5
        """
        return self.pressed(check_number("torque_Nmm", torque_Nmm, *TORQUE_NMM, "N·mm") / self.lever_mm)

    def sentence(self) -> str:
        """Its lever."""
        state = "run in (uniform wear)" if self.worn else "new (uniform pressure)"
        return f"The clutch, {state}, holds {say(self.lever_mm, 'N·mm', 3)} for every newton that presses it."
