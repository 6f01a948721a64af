"""What one check should read: a row a suspect, a column a machine, a cell one reading or several."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from mechlib.bench.readings import Reading

NONE = -1  # the code of no reading

Words = tuple[str, str | None]  # label and detail of a reading


@dataclass(eq=False)
class Foretold:
    """The readings of a check: codes of label and detail, and numbers (NaN where there is none).

    ``rows`` and ``columns``: how many; ``done``: the rows that are worked out.  Where there is one reading it
    stands in ``codes`` and ``numbers``; where what is read is drawn anew each time, see ``several``.

    >>> found = Foretold(2, 1)
    >>> found.put(0, 0, [(Reading("closed"), 1.0)])
    >>> found.put(1, 0, [(Reading("closed"), 0.7), (Reading("open"), 0.3)])
    >>> found.codes.tolist(), [part.tolist() for part in found.several([1])[:2]]
    ([[0], [-1]], [[[[0.7, 0.3]]], [[[0, 1]]]])
    """

    rows: int
    columns: int
    words: dict[Words, int] = field(default_factory=dict)
    _parts: dict[tuple[int, int], list[tuple[float, int, float]]] = field(default_factory=dict, repr=False)
    _several: tuple[np.ndarray, np.ndarray, np.ndarray] | None = field(default=None, repr=False)

    def __post_init__(self):
        shape = self.rows, self.columns
        self.codes, self.numbers = np.full(shape, NONE, int), np.full(shape, np.nan)
        self.done = np.zeros(self.rows, bool)

    def put(self, row: int, column: int, readings: Sequence[tuple[Reading, float]]) -> None:
        """Keep what it reads there, each reading with its share; the shares add up to 1."""
        found = []
        for read, share in readings:
            code = self.words.setdefault((read.label, read.detail), len(self.words))
            found.append((share, code, np.nan if read.number is None else read.number))
        if len(found) == 1:
            _, self.codes[row, column], self.numbers[row, column] = found[0]
        else:
            self._parts[row, column] = found
        self._several = None

    def several(self, rows) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Shares, codes and numbers with the readings of a cell along the last axis; share 0 fills up."""
        if self._several is None:
            most = max(map(len, self._parts.values()), default=1)
            shape = self.rows, self.columns, most
            self._several = np.zeros(shape), np.full(shape, NONE, int), np.full(shape, np.nan)
            for array, ones in zip(
                self._several, (self.codes != NONE, self.codes, self.numbers), strict=True
            ):
                array[:, :, 0] = ones
            for (row, column), found in self._parts.items():
                for array, values in zip(self._several, zip(*found, strict=True), strict=True):
                    array[row, column, : len(values)] = values
        return tuple(array[rows] for array in self._several)
