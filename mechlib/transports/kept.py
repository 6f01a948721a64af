"""Results kept by what really decides them, so that machines that differ in other things share them."""

from __future__ import annotations

import gc
from collections.abc import Callable, Hashable
from contextlib import contextmanager
from typing import ClassVar


class Kept:
    """At most ``most`` results by their keys; when there are more, all are given up and found again.

    >>> squares = Kept(100)
    >>> squares.of(3, lambda: 9), squares.of(3, lambda: "not asked again")
    (9, 9)
    """

    _all: ClassVar[list[Kept]] = []

    def __init__(self, most: int):
        self.most, self._found = most, {}
        self._all.append(self)

    @classmethod
    def forget_all(cls) -> None:
        """Give up everything that is kept anywhere."""
        for kept in cls._all:
            kept._found.clear()

    def of(self, key: Hashable, find: Callable[[], object]):
        """The result for a key; ``find`` finds it where it isn't kept."""
        try:
            return self._found[key]
        except KeyError:
            if len(self._found) >= self.most:
                self._found.clear()
            found = self._found[key] = find()
            return found


class Key:
    """A long key of many results, made by ``shared``: one object for all that are equal.

    So to compare two, or to look one up, its ``parts`` needn't be gone through again.
    """

    __slots__ = ("parts",)

    def __init__(self, parts: tuple):
        self.parts = parts


_KEYS = Kept(65536)  # given up in between, a key only makes a result be found once more


def shared(parts) -> Key:
    """The key of these parts.

    >>> shared([1, "a"]) is shared([1, "a"]), shared([1, "a"]) == shared([2, "a"])
    (True, False)
    """
    parts = tuple(parts)
    return _KEYS.of(parts, lambda: Key(parts))


@contextmanager
def keeping_all():
    """For work of which nearly all is kept: else Python's collector of cycles looks through it all the time.

    >>> with keeping_all():
    ...     gc.isenabled()
    False
    """
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.freeze()  # both together only call all that is there old:
            gc.unfreeze()  # else the collector would look through it at once
            gc.enable()
