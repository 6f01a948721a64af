"""What a reader has entered of one machine: what was seen, which covers are off, what was mended in vain."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from mechlib.bench.checks import covers_for
from mechlib.bench.fault_search import Search, fault_search
from mechlib.bench.observations import Observation
from mechlib.bench.suspects import Repair
from mechlib.transports.model import Transport


@dataclass(frozen=True)
class Entered:
    """``observations`` of a ``machine``; ``off``: names of the covers that are off; ``mended`` in vain.

    ``by_hand``: the covers of ``off`` that were ticked by hand; the others came off for a check.

    >>> from mechlib.bench.observations import mark_seen
    >>> from mechlib.transports import load
    >>> seen = mark_seen("brake cam")
    >>> one = Entered(load("alder")).added(seen)
    >>> one.off, one.removed(seen).off
    (frozenset({'bottom plate'}), frozenset())
    """

    machine: Transport
    observations: tuple[Observation, ...] = ()
    off: frozenset[str] = frozenset()
    by_hand: frozenset[str] = frozenset()
    mended: tuple[Repair, ...] = ()

    def search(self, progress: Callable[[float], None] | None = None) -> Search:
        """Where the search stands with it; raises MechError as ``fault_search``."""
        return fault_search(self.machine, self.observations, self.off, self.mended, progress)

    def added(self, seen: Observation) -> Entered:
        """With one more thing that was seen; what had to come off for it is off now."""
        return replace(self, observations=(*self.observations, seen), off=self.off | self._covers([seen]))

    def removed(self, seen: Observation) -> Entered:
        """Without this very entry, and with the covers on again that came off for it alone."""
        left = tuple(one for one in self.observations if one is not seen)
        back = self._covers([seen]) - self._covers(left) - self.by_hand
        return replace(self, observations=left, off=self.off - back)

    def covered(self, name: str, off: bool) -> Entered:
        """With a cover ticked as off, or not."""
        if off:
            return replace(self, off=self.off | {name}, by_hand=self.by_hand | {name})
        return replace(self, off=self.off - {name}, by_hand=self.by_hand - {name})

    def in_vain(self, repairs: Iterable[Repair]) -> Entered:
        """With repairs after which it fails as before."""
        return replace(self, mended=tuple(dict.fromkeys((*self.mended, *repairs))))

    def taken_back(self, repair: Repair) -> Entered:
        """Without one of these repairs."""
        return replace(self, mended=tuple(one for one in self.mended if one != repair))

    def _covers(self, seen: Iterable[Observation]) -> frozenset[str]:
        return frozenset(cover.name for one in seen for cover in covers_for(self.machine, one.check))
