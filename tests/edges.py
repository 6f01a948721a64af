"""Both ends of the range that a value may have: let in there, refused just beyond."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from mechlib.errors import MechError


def check_edges(call: Callable[[float], object], low: float, high: float, whole: bool = False) -> None:
    """Call with both ends, and expect a MechError just beyond each; ``whole``: in whole numbers."""
    for end, way in ((low, -1), (high, 1)):
        call(end)
        beyond = end + way if whole else math.nextafter(end, way * math.inf)
        with pytest.raises(MechError):
            call(beyond)
