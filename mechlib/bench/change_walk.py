"""A short walk through mode changes: each begins where the one before it ended."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from mechlib.errors import MechError

Pair = tuple[str, str]


def change_walk(pairs: Iterable[Pair], start: str) -> tuple[str, ...]:
    """The modes of a shortest walk from ``start`` that makes all these changes, others between where needed.

    Any mode can follow any other, so changes left over are joined up where they end and begin: in each
    connected group of k = max(1, Σ max(0, begins − ends)) trails all but one join costs one change, and so
    does every new group.  The trails are found by Hierholzer's way (a rural postman's tour of a complete
    graph; derived).  ``pairs``: (start, target), each different; a pair twice counts once.  Raises MechError
    for a change from a mode to itself.

    >>> change_walk([("STOP", "PLAY"), ("PLAY", "PAUSE"), ("STOP", "EJECT")], "STOP")
    ('STOP', 'EJECT', 'STOP', 'PLAY', 'PAUSE')
    """
    pairs = list(dict.fromkeys(pairs))
    if same := next((first for first, last in pairs if first == last), None):
        raise MechError(f"a change goes from {same} to {same}", "a change is between two different modes")
    walk, waiting = [start], _circuits(pairs)
    waiting.sort(key=lambda group: not _can_begin(group, start))  # first one that saves the way to it
    for circuit, joins in waiting:
        walk += _opened(circuit, joins, walk[-1])
    return tuple(mode for i, mode in enumerate(walk) if i == 0 or mode != walk[i - 1])


def _circuits(pairs: list[Pair]) -> list[tuple[list[str], set[int]]]:
    """Each connected group closed to a circuit of modes, and which of its steps are joins put in."""
    found, left = [], pairs
    while left:
        group, modes = _group(left)
        left = [pair for pair in left if pair not in group]
        surplus = {m: sum((a == m) - (b == m) for a, b in group) for m in modes}
        ends = [m for m in modes for _ in range(-surplus[m])]
        begins = [m for m in modes for _ in range(surplus[m])]
        found.append(_circuit(group, list(zip(ends, begins, strict=True))))
    return found


def _group(pairs: list[Pair]) -> tuple[list[Pair], list[str]]:
    """The changes that hang together with the first one, and their modes in the order met."""
    modes = list(pairs[0])
    while True:
        group = [pair for pair in pairs if set(pair) & set(modes)]
        met = list(dict.fromkeys([*modes, *(mode for pair in group for mode in pair)]))
        if len(met) == len(modes):
            return group, modes
        modes = met


def _circuit(group: list[Pair], joins: list[Pair]) -> tuple[list[str], set[int]]:
    """Hierholzer: walk until stuck, and put in what branches off on the way back."""
    leaving = defaultdict(list)
    for is_join, pairs in ((True, joins), (False, group)):
        for first, last in reversed(pairs):
            leaving[first].append((last, is_join))
    path, circuit = [(group[0][0], False)], []
    while path:
        here, _ = path[-1]
        if leaving[here]:
            path.append(leaving[here].pop())
        else:
            circuit.append(path.pop())
    circuit.reverse()
    return [mode for mode, _ in circuit], {i for i, (_, is_join) in enumerate(circuit) if is_join}


def _can_begin(group: tuple[list[str], set[int]], mode: str) -> bool:
    circuit, joins = group
    return any(circuit[i] == mode for i in joins) if joins else mode in circuit


def _opened(circuit: list[str], joins: set[int], here: str) -> list[str]:
    """The circuit as a walk that begins at ``here`` if it can, and saves one join if it has any."""
    at = joins or set(range(len(circuit) - 1))
    first = min(at, key=lambda i: (circuit[i] != here, i))
    return circuit[first:] + circuit[1 : first + (0 if joins else 1)]
