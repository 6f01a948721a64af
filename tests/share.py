"""How much of a long test is run: a share in every run, all of it where MECHLIB_TESTS is "thorough".

The share is always the same: what is drawn by seed is drawn less often, the rest is sampled by a seed.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from random import Random

THOROUGH = os.environ.get("MECHLIB_TESTS") == "thorough"


def times(few: int, thoroughly: int) -> int:
    """How often something drawn is tried.

    >>> times(5, 40) == (40 if THOROUGH else 5)
    True
    """
    return thoroughly if THOROUGH else few


def share(items: Iterable, few: int) -> list:
    """All of them, or so few, in their order; which ones depends on how many there are.

    >>> len(share(range(100), 7)) == (100 if THOROUGH else 7), share("ab", 7)
    (True, ['a', 'b'])
    """
    items = list(items)
    if THOROUGH or len(items) <= few:
        return items
    return [items[at] for at in sorted(Random(len(items)).sample(range(len(items)), few))]
