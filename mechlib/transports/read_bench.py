"""What a transport file says for fault finding: how often faults are met, what checks and repairs take."""

from __future__ import annotations

from mechlib.transports.bench_entries import CHECKS, COMMON_PRACTICE, FAULTS, MENDED_AS, BenchTime, HowOften
from mechlib.transports.bench_practice import things_of
from mechlib.transports.model import Transport
from mechlib.transports.read_covers import MOST_MINUTES
from mechlib.transports.read_table import Table, suggestion

LEAST_WEIGHT, MOST_WEIGHT = 1e-6, 1e6
LEAST_MINUTES = 0.1  # of a check: what it tells is weighed by its minutes
TABLES = ("how_often", "check", "repair")
MENDED = {fault: sort for fault, sort in FAULTS.items() if fault not in MENDED_AS}  # by work of its own


def read_bench(top: Table, transport: Transport) -> dict[str, tuple]:
    """Every [[how_often]], [[check]] and [[repair]], as fields; mistakes are kept in the reader."""
    things = things_of(transport)
    covers = [cover.name for cover in transport.covers]
    return {
        "how_often": _read_how_often(top, things),
        "checks": _read_times(top, "check", "kind", CHECKS, things, covers, LEAST_MINUTES),
        "repairs": _read_times(top, "repair", "fault", MENDED, things, covers),
    }


def _read_how_often(top: Table, things: dict[str, tuple]) -> tuple[HowOften, ...]:
    found: list[HowOften] = []
    for table in top.tables("how_often", "[[how_often]] tables", optional=True):
        fault, of = _kind_and_thing(table, "fault", FAULTS, things, [(e.fault, e.of) for e in found])
        weight = table.number("weight", LEAST_WEIGHT, MOST_WEIGHT, "beside the weights of other faults")
        source = table.text("source", "where the weight is from, in quotes", optional=True)
        table.done()
        if fault and weight:
            found.append(HowOften(fault, of, weight, source or COMMON_PRACTICE))
    return tuple(found)


def _read_times(
    top: Table, tables: str, key: str, kinds, things, covers, least: float = 0
) -> tuple[BenchTime, ...]:
    found: list[BenchTime] = []
    for table in top.tables(tables, f"[[{tables}]] tables", optional=True):
        kind, of = _kind_and_thing(table, key, kinds, things, [(e.kind, e.of) for e in found])
        minutes = table.number("minutes", least, MOST_MINUTES, "minutes without the covers", optional=True)
        under = table.choices("under", covers, optional=True)
        if not table.has("minutes") and not table.has("under"):
            table.problem("minutes", "neither minutes nor covers are given", "give minutes, under, or both")
        table.done()
        if kind:
            found.append(BenchTime(kind, of, minutes, under))
    return tuple(found)


def _kind_and_thing(
    table: Table, key: str, kinds: dict[str, str], things: dict[str, tuple], taken: list
) -> tuple[str | None, str | None]:
    """The kind of a fault or check, and what it is of; the kind is None where it can't be."""
    kind = table.choice(key, list(kinds))
    of = table.text("of", "the name of what it is of, in quotes", optional=True)
    if kind is None:
        return None, None
    sort = kinds[kind]
    names = things[sort]
    if not names:
        table.problem(key, f"this machine has no {sort}", "leave the entry out")
        return None, None
    if of is not None and of not in names:
        right = "leave of out" if names == (None,) else suggestion(of, list(names))
        table.problem("of", f"there is no {sort} {of[:60]!r}", right)
        return None, None
    if (kind, of) in taken:
        what = f"{kind!r} of {of!r}" if of else f"{kind!r}"
        table.problem(key, f"there is an entry for {what} already", "keep one of them")
        return None, None
    return kind, of
