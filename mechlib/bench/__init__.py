"""The bench: what teeth at the marks mean, and what one slip does to a whole transport."""

from mechlib.bench.marks import mark_places, mark_table, marks_meet
from mechlib.bench.slip_effect import slip_effect
from mechlib.bench.tooth_offset import (
    chart_shift_deg,
    degrees_per_tooth,
    gap_from_mm,
    gap_from_teeth,
    idler_dropped,
    mesh_shift_deg,
    whole_teeth,
)

__all__ = [
    "chart_shift_deg",
    "degrees_per_tooth",
    "gap_from_mm",
    "gap_from_teeth",
    "idler_dropped",
    "mark_places",
    "mark_table",
    "marks_meet",
    "mesh_shift_deg",
    "slip_effect",
    "whole_teeth",
]
