"""Readings kept by suspect and machine: one in a cell, or several with their shares."""

from __future__ import annotations

import numpy as np

from mechlib.bench.foretold import NONE, Foretold
from mechlib.bench.readings import Reading


def test_one_reading_stands_in_its_cell_and_several_apart():
    found = Foretold(3, 2)
    found.put(0, 0, [(Reading("closes", None, 20.0), 1.0)])
    found.put(
        1,
        1,
        [
            (Reading("closes", None, 20.0), 0.5),
            (Reading("never closes"), 0.2),
            (Reading("closes", None, 10.0), 0.3),
        ],
    )
    assert found.codes.tolist() == [[0, NONE], [NONE, NONE], [NONE, NONE]]
    assert found.numbers[0, 0] == 20 and np.isnan(found.numbers[1:]).all()
    shares, codes, numbers = found.several([1, 0, 2])
    assert shares.shape == (3, 2, 3) and shares.sum(axis=2).tolist() == [[0, 1], [1, 0], [0, 0]]
    assert codes[0, 1].tolist() == [0, 1, 0] and np.nansum(numbers[0, 1]) == 30
    assert found.words == {("closes", None): 0, ("never closes", None): 1}


def test_what_is_put_later_is_there():
    found = Foretold(2, 1)
    found.put(0, 0, [(Reading("open"), 1.0)])
    assert found.several([0, 1])[0].tolist() == [[[1]], [[0]]]
    found.put(1, 0, [(Reading("open"), 0.4), (Reading("closed"), 0.6)])
    assert found.several([0, 1])[0].tolist() == [[[1, 0]], [[0.4, 0.6]]]
