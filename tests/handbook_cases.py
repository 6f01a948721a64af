"""What the library computes for the handbook's check that sorts fourteen cases."""

from __future__ import annotations

from mechlib.bench.decisions import information_bits

# How many of the 9 of one sort, and of the 5 of the other, give each result.
RESULTS = {
    "three results": ((2, 3), (4, 0), (3, 2)),
    "two results, one rare": ((3, 4), (6, 1)),
    "two results alike": ((6, 2), (3, 3)),
}


def computed() -> dict[tuple[str, str], float]:
    """F3: the bits that each reading tells of the sort."""
    return {
        ("F3", key): information_bits([9 / 14, 5 / 14], [[a / 9, b / 5] for a, b in counts], [0, 1], 2)
        for key, counts in RESULTS.items()
    }
