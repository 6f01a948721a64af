"""Time the search for two-stage trains of 12 to 120 teeth, beside trying them one after the other.

    python tests/benchmarks/train_search.py

The plain way takes every pair for the first stage, every driver for the second, and the driven gears that
could be near; it is run on every tenth first driver and extrapolated.  On that sample both must count alike,
and a full count by whole numbers must give the library's.  Both are timed by the processor, on one core.
"""

from __future__ import annotations

import time
from fractions import Fraction

import numpy as np

from mechlib.gears.ratios import trains_for

TEETH, TOLERANCE, EVERY = range(12, 121), Fraction(1, 10_000), 10
WANTED = tuple(map(Fraction, ("71/678", "1/1", "355/1130", "9/110", "191/23")))


def plain(wanted: Fraction) -> int:
    """How many of the trains whose first driver is one of every tenth are near enough, in any order."""
    found = 0
    for a in TEETH[::EVERY]:
        for b in TEETH:
            for c in TEETH:
                exact = wanted * b / a / c
                for d in {int(1 / exact), int(1 / exact) + 1} & set(TEETH):
                    found += abs(Fraction(a * c, b * d) / wanted - 1) <= TOLERANCE
    return found


def counted(wanted: Fraction) -> tuple[int, int]:
    """Every train once, and those of every tenth first driver in any order, by whole numbers alone."""
    teeth = np.arange(TEETH.start, TEETH.stop)
    c, d = teeth[:, None], teeth[None, :]
    ordered = sampled = alike = 0
    for a in TEETH:
        for b in TEETH:
            off = abs(a * c * wanted.denominator - b * d * wanted.numerator)
            near = off * TOLERANCE.denominator <= TOLERANCE.numerator * b * d * wanted.numerator
            ordered += int(near.sum())
            sampled += int(near.sum()) * (a in TEETH[::EVERY])
            alike += int(near[a - TEETH.start, b - TEETH.start])
    return (ordered + alike) // 2, sampled  # in both orders, but for two stages alike


def timed(act, *given) -> tuple[float, object]:
    """Seconds of the processor, and what came of it."""
    before = time.process_time()
    found = act(*given)
    return time.process_time() - before, found


def main() -> None:
    """Print both for some ratios; a count that differs ends it."""
    print("ratio        trains   search s   plain s (extrapolated)")
    for wanted in WANTED:
        seconds, found = timed(trains_for, wanted)
        sample, in_sample = timed(plain, wanted)
        told = (found.total, in_sample)
        if told != counted(wanted):
            raise SystemExit(f"{wanted}: {told} trains here, {counted(wanted)} by whole numbers")
        print(f"{wanted!s:10} {found.total:8} {seconds:10.3f} {sample * EVERY:10.1f}")


if __name__ == "__main__":
    main()
