"""The bench: what teeth at the marks mean, what one slip does, and which fault explains what was seen."""

from mechlib.bench.dwell_trial import dwell_trial, trial_ranges
from mechlib.bench.fault_finding import find
from mechlib.bench.marks import mark_places, mark_table, marks_meet
from mechlib.bench.next_check import next_check, next_checks, plan
from mechlib.bench.observations import (
    contact_read,
    contact_swept,
    current_read,
    looked_at,
    mark_seen,
    timed,
    tried,
    volts_read,
)
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
    "contact_read",
    "contact_swept",
    "current_read",
    "degrees_per_tooth",
    "dwell_trial",
    "find",
    "gap_from_mm",
    "gap_from_teeth",
    "idler_dropped",
    "judge",
    "looked_at",
    "mark_places",
    "mark_seen",
    "mark_table",
    "marks_meet",
    "mesh_shift_deg",
    "next_check",
    "next_checks",
    "plan",
    "proof_csv",
    "proof_steps",
    "read_results",
    "retiming",
    "slip_effect",
    "timed",
    "timing_card",
    "trial_ranges",
    "tried",
    "volts_read",
    "whole_teeth",
]
