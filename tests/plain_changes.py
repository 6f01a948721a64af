"""The plain loop of ``change``: each state alone, with nothing kept from one to the next."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass

from mechlib.transports import ahead, clock, mode_change, released, timing, track_loads
from mechlib.transports.change_table import pairs
from mechlib.transports.kept import Kept
from mechlib.transports.mode_change import change

CLOSE = 1e-9


def plain_changes(transport, state: tuple) -> dict:
    """Every change of one faulty state, worked out anew."""
    forget()
    faulty = transport.with_faults(*state)
    return {pair: change(faulty, *pair) for pair in pairs(transport)}


def forget() -> None:
    """Give up all that was kept of any transport."""
    Kept.forget_all()
    for module in (ahead, clock, mode_change, released, timing, track_loads):
        for thing in vars(module).values():
            if hasattr(thing, "cache_clear"):
                thing.cache_clear()


def same_changes(first: dict, second: dict) -> bool:
    """Whether two tables tell the same of every change, numbers within 1e-9."""
    return first.keys() == second.keys() and all(same(first[pair], second[pair]) for pair in first)


def same(first, second) -> bool:
    """Whether two results are the same all the way down."""
    if is_dataclass(first):
        names = [field.name for field in fields(first)]
        return type(first) is type(second) and all(same(getattr(first, n), getattr(second, n)) for n in names)
    if isinstance(first, float) and isinstance(second, float):
        return math.isclose(first, second, rel_tol=CLOSE, abs_tol=CLOSE)
    if isinstance(first, tuple):
        return len(first) == len(second) and all(map(same, first, second))
    if isinstance(first, dict):
        return first.keys() == second.keys() and all(same(first[key], second[key]) for key in first)
    return first == second
