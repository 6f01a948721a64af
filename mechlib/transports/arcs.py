"""Interval arithmetic on arcs: sorted, disjoint tuples of (start, end) in degrees, ends included.

Arcs may reach to infinity.  Arcs narrower than ``TINY`` are dropped, so that two arcs that only
touch have nothing in common: touching is not colliding.
"""

from __future__ import annotations

from math import inf

Arcs = tuple[tuple[float, float], ...]

TINY = 1e-9  # degrees; far below anything that can be measured, far above rounding
EVERYWHERE: Arcs = ((-inf, inf),)


def merge(arcs) -> Arcs:
    """Sort arcs and join those that touch or overlap.

    >>> merge([(5, 9), (0, 2), (2, 3)])
    ((0, 3), (5, 9))
    """
    joined: list[tuple[float, float]] = []
    for start, end in sorted(arcs):
        if end - start <= TINY:
            continue
        if joined and start <= joined[-1][1] + TINY:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return tuple(joined)


def intersect(first: Arcs, second: Arcs) -> Arcs:
    """What two sets of arcs have in common.

    >>> intersect(((0, 10), (20, 30)), ((5, 25),))
    ((5, 10), (20, 25))
    """
    common = []
    i = j = 0
    while i < len(first) and j < len(second):
        start, end = max(first[i][0], second[j][0]), min(first[i][1], second[j][1])
        if end - start > TINY:
            common.append((start, end))
        if first[i][1] < second[j][1]:
            i += 1
        else:
            j += 1
    return tuple(common)


def complement(arcs: Arcs, low: float = -inf, high: float = inf) -> Arcs:
    """What the arcs leave free between ``low`` and ``high``.

    >>> complement(((0, 10),), -5, 30)
    ((-5, 0), (10, 30))
    """
    free = []
    at = low
    for start, end in arcs:
        if start > high:
            break
        if start - at > TINY:
            free.append((at, start))
        at = max(at, end)
    if high - at > TINY:
        free.append((at, high))
    return tuple(free)


def holding(arcs: Arcs, x: float) -> tuple[float, float] | None:
    """The arc that holds ``x`` (ends included), or None.

    >>> holding(((0, 10), (20, 30)), 20)
    (20, 30)
    """
    for arc in arcs:
        if arc[0] - TINY <= x <= arc[1] + TINY:
            return arc
    return None


def nearest(arcs: Arcs, x: float) -> tuple[float, float] | None:
    """The arc nearest to ``x``, or None where there is none.

    >>> nearest(((0, 10), (20, 30)), 14)
    (0, 10)
    """
    found, least = None, inf
    for arc in arcs:
        off = max(arc[0] - x, x - arc[1])
        if off < least:
            found, least = arc, off
    return found


def repeated(arcs: Arcs, period: float, low: float, high: float) -> Arcs:
    """Arcs that come again every ``period`` degrees, laid out from ``low`` to ``high``.

    >>> repeated(((350, 370),), 360, 0, 720)
    ((0, 10), (350, 370), (710, 720))
    """
    first, last = int(low // period) - 1, int(high // period) + 1
    copies = [(a + k * period, b + k * period) for k in range(first, last + 1) for a, b in arcs]
    return intersect(merge(copies), ((low, high),))
