"""Transports: read one from a file, put faults in, see its timing and its mode changes."""

from mechlib.transports.change_table import change_table, slip_table
from mechlib.transports.faults import (
    bent_lever,
    dead_solenoid,
    dirty_contact,
    open_contact,
    slip,
    split_gear,
)
from mechlib.transports.files import load, shipped
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.mode_change import change
from mechlib.transports.timing import margins, slips_survived

__all__ = [
    "bent_lever",
    "change",
    "change_table",
    "dead_solenoid",
    "dirty_contact",
    "interlock_margins",
    "load",
    "margins",
    "open_contact",
    "shipped",
    "slip",
    "slip_table",
    "slips_survived",
    "split_gear",
]
