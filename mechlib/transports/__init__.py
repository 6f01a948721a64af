"""Transports: read one from a file, put faults in, see its timing and its mode changes."""

from mechlib.transports.change_table import change_table, slip_table
from mechlib.transports.covers import covers_over
from mechlib.transports.dwell_budget import budget_summary, budget_table, dwell_budget, mode_budgets
from mechlib.transports.faults import (
    bent_lever,
    dead_solenoid,
    dirty_contact,
    intermittent_contact,
    open_contact,
    slip,
    split_gear,
)
from mechlib.transports.files import load, shipped
from mechlib.transports.force_faults import (
    dead_driver,
    glazed_belt,
    hard_grease,
    low_supply,
    slack_belt,
    stiff_lever,
    weak_motor,
)
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.lost_drive_faults import clip_gone, missing_teeth
from mechlib.transports.many_tables import tables_of
from mechlib.transports.mode_change import change
from mechlib.transports.release_faults import cut_off_open, latch_worn
from mechlib.transports.solenoid_heat import solenoid_heat
from mechlib.transports.timing import margins, slips_survived

__all__ = [
    "bent_lever",
    "budget_summary",
    "budget_table",
    "change",
    "change_table",
    "clip_gone",
    "covers_over",
    "cut_off_open",
    "dead_driver",
    "dead_solenoid",
    "dirty_contact",
    "dwell_budget",
    "glazed_belt",
    "hard_grease",
    "interlock_margins",
    "intermittent_contact",
    "latch_worn",
    "load",
    "low_supply",
    "margins",
    "missing_teeth",
    "mode_budgets",
    "open_contact",
    "shipped",
    "slack_belt",
    "slip",
    "slip_table",
    "slips_survived",
    "solenoid_heat",
    "split_gear",
    "stiff_lever",
    "tables_of",
    "weak_motor",
]
