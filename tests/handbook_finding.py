"""What the library computes for the handbook's probabilities and bits."""

from __future__ import annotations

from mechlib.bench.decisions import after_reading, bits


def computed() -> dict[tuple[str, str], float]:
    found = {("F1", f"{a} and {b} of 14"): float(bits([a / 14, b / 14])) for a, b in ((9, 5), (7, 7))}
    return found | {("F2", "made by B"): float(after_reading([0.6, 0.4], [0.02, 0.01])[1])}
