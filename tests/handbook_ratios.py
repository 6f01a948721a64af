"""What the library computes for the handbook's ratios."""

from __future__ import annotations

from fractions import Fraction

from mechlib.gears.ratios import brocot


def computed() -> dict[tuple[str, str], float]:
    """R1: the numerator of each fraction on the way to 191/23, by its denominator."""
    above = {fraction.denominator: fraction.numerator for fraction in brocot(Fraction(191, 23))}
    found = {("R1", f"over {below}"): float(number) for below, number in above.items() if below > 1}
    return {("R1", "over 1, the second"): float(above[1]), **found}
