"""Published check values with source and status, and the comparison with what the library computes."""

from mechlib.handbook.compare import (
    STATUSES,
    Comparison,
    Value,
    compare,
    count_by_status,
    table,
    tolerance,
    values,
)

__all__ = ["STATUSES", "Comparison", "Value", "compare", "count_by_status", "table", "tolerance", "values"]
