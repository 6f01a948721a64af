"""The bench: what teeth at the marks mean, and what one slip does to a whole transport."""

from mechlib.bench.dwell_trial import dwell_trial, trial_ranges
from mechlib.bench.marks import mark_places, mark_table, marks_meet
from mechlib.bench.proof import judge, read_results
from mechlib.bench.proof_sheet import proof_csv, proof_steps
from mechlib.bench.retiming import retiming
from mechlib.bench.slip_effect import slip_effect
from mechlib.bench.timing_card import timing_card
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
    "dwell_trial",
    "gap_from_mm",
    "gap_from_teeth",
    "idler_dropped",
    "judge",
    "mark_places",
    "mark_table",
    "marks_meet",
    "mesh_shift_deg",
    "proof_csv",
    "proof_steps",
    "read_results",
    "retiming",
    "slip_effect",
    "timing_card",
    "trial_ranges",
    "whole_teeth",
]
