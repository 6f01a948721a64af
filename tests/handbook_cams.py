"""What the library computes for the handbook's lift laws and cams at work."""

from __future__ import annotations

from fractions import Fraction

from mechlib.cams import LAWS, law, polynomial_coefficients

ENDS = [(0, 0, 0), (1, 0, 1), (0, 1, 0), (1, 1, 0)]


def computed() -> dict[tuple[str, str], float]:
    return _laws() | _at_work() | _polynomials()


def _laws():
    kinds = ("velocity", "acceleration", "jerk")
    found = {
        (f"law {name}", f"peak {kind}"): getattr(curve.peaks, kind)
        for name, curve in LAWS.items()
        for kind in kinds
    }
    for name in ("simple harmonic", "3-4-5"):
        found["law table", f"{name} peak acceleration"] = law(name).peaks.acceleration
    for kind in kinds:
        peaks = law("modified constant velocity").peaks
        found["law modified constant velocity of the trade", f"peak {kind}"] = getattr(peaks, kind)
    return found


def peaks_at_work(rise_mm: float, turn: float, rev_min: float) -> tuple[float, float]:
    """Peak velocity (m/s) and acceleration (m/s²) of a simple harmonic rise in that part of a turn."""
    seconds = turn * 60 / rev_min
    peaks = law("simple harmonic").peaks
    return peaks.velocity * rise_mm / 1000 / seconds, peaks.acceleration * rise_mm / 1000 / seconds**2


def _at_work():
    found = {}
    found["C2", "peak velocity out"], found["C2", "peak acceleration out"] = peaks_at_work(50, 1 / 3, 100)
    found["C2", "peak velocity back"], found["C2", "peak acceleration back"] = peaks_at_work(50, 1 / 6, 100)
    found["C3", "peak velocity"], found["C3", "peak acceleration"] = peaks_at_work(40, 1 / 4, 240)
    return found


def _polynomials():
    """The eighth-degree one, and two falls y(x) = 1 − s(x) from the nose."""
    eighth = [*ENDS, (0, 2, 0), (0, 3, 6 * Fraction("6.09755")), (0, 4, 0), (1, 3, 0), (1, 4, 0)]
    nose = [*ENDS, (0, 3, 0), (1, 2, 0)]
    rows = (
        ("eighth-degree polynomial", eighth, (5, 6, 7, 8), 1),
        ("polynomial 2-4-5", nose, (4,), -1),
        ("polynomial 2-5-6", [*nose, (0, 4, 0)], (2, 5, 6), -1),
    )
    return {
        (name, f"coefficient of x^{k}"): float(sign * polynomial_coefficients(conditions)[k])
        for name, conditions, powers, sign in rows
        for k in powers
    }
