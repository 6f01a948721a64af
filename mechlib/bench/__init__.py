"""The bench: what teeth at the marks mean, and what one slip does to a whole transport."""

from mechlib.bench.slip_effect import slip_effect
from mechlib.bench.tooth_offset import (
    chart_shift_deg,
    degrees_per_tooth,
    gap_from_mm,
    idler_dropped,
    mark_places,
    marks_meet,
    mesh_shift_deg,
    whole_teeth,
)

__all__ = [
    "chart_shift_deg",
    "degrees_per_tooth",
    "gap_from_mm",
    "idler_dropped",
    "mark_places",
    "marks_meet",
    "mesh_shift_deg",
    "slip_effect",
    "whole_teeth",
]
