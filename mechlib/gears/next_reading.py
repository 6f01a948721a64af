"""What to measure next on a gear in the hand, and what that will tell."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from mechlib.errors import MechError
from mechlib.gears.measure_by import LEAST_SPAN, OUT, nearest_pin
from mechlib.gears.measuring import (
    OUTSIDE,
    PINS,
    SHORT_TIPS,
    SPAN,
    across_tips_mm,
    over_pins_mm,
    pin_fault,
    span_mm,
    teeth_to_span,
)
from mechlib.say import count, say

Offer = tuple[str, float | None]  # a kind of reading, and the teeth spanned or the diameter of the pins
Ends = tuple[float, float]  # the least and the most that would be read


@dataclass(frozen=True)
class NextReading:
    """What to measure next, and what that tells of the likeliest size, ``first``.

    ``apart_mm``: by how much the nearest rival of another size that can be told apart would at least differ
    in it; of two spans (``pair``: also over one tooth more) in one of both.  ``out`` of the ``rivals`` of
    another size are ruled out by it, if the gear is of the first size.
    """

    kind: str
    size: float | None
    apart_mm: float
    first: str
    out: int
    rivals: int
    pair: bool = False

    @property
    def decides(self) -> bool:
        """Whether no rival of another size is left if the gear is of the first size."""
        return self.out == self.rivals

    def sentence(self) -> str:
        """What to measure, and what that tells."""
        how = {SPAN: f" over {self.size} teeth", PINS: f" with pins of {say(self.size or 0, 'mm', 2)}"}.get(
            self.kind, ""
        )
        if self.pair:
            how += f" and over {self.size + 1}, whose difference is the base pitch"
        apart = say(self.apart_mm, "mm", 3)
        if not self.decides:
            some = f"{self.out} of {count(self.rivals, 'rival')} of another size"
            return f"Measure {self.kind}{how}: if it is {self.first}, that rules out {some}."
        where = "in one of them" if self.pair else "there"
        return f"Measure {self.kind}{how}: the nearest rival differs by at least {apart} {where}."


def next_reading(teeth: int, found: Sequence, taken: Iterable[Offer], off_mm: float) -> NextReading | None:
    """The reading not taken yet that best tells the first candidate from those of another size.

    First choice is one reading that decides, then two spans over k and k + 1 teeth that do so together, then
    what rules out most; None where nothing on the gear alone rules out any rival, or there is none.
    Two candidates are told apart by more than 2·``off_mm`` between what could be read on them: the reading,
    and the sizes that are tried on it, may each be off by that.

    ``found``: the candidates, the likeliest first; ``taken``: what was read already.
    """
    rivals = [one for one in found if one.size != found[0].size]
    if not rivals:
        return None
    first, taken = found[0], set(taken)
    free = [offer for offer in _offers(teeth, first) if offer not in taken]
    ends = {offer: [_read(teeth, one, offer) for one in (first, *rivals)] for offer in free}
    offers = [((offer,), [_apart(mine, one) for one in rest]) for offer, (mine, *rest) in ends.items()]
    for low, high in pairwise(free):
        if low[0] == high[0] == SPAN and high[1] == low[1] + 1:
            (mine, *rest), (more, *more_rest) = ends[low], ends[high]
            apart = [_apart_in_one(mine, more, *both) for both in zip(rest, more_rest, strict=True)]
            offers.append(((low, high), apart))

    def worth(offer) -> tuple:
        gaps = [gap for gap in offer[1] if gap > 2 * off_mm]
        decides = len(gaps) == len(rivals)
        return (decides, -len(offer[0]) if decides else 0, len(gaps), -len(offer[0]), min(gaps, default=0.0))

    best = max(offers, key=worth, default=((), ()))
    gaps = [gap for gap in best[1] if gap > 2 * off_mm]
    if not gaps:
        return None
    (kind, size), *more = best[0]
    return NextReading(kind, size, min(gaps), first.size.name, len(gaps), len(rivals), bool(more))


def _offers(teeth: int, first) -> list[Offer]:
    """What can be read on the likeliest gear: spans and pins only where they touch its flanks."""
    over = max(teeth_to_span(teeth, first.rack, first.shift), LEAST_SPAN)
    spans = [k for k in (over - 1, over, over + 1) if LEAST_SPAN <= k <= teeth and _touches(teeth, first, k)]
    pin = nearest_pin(lambda pin: stands_out(teeth, first, pin), first.size.module_mm)
    return [(OUTSIDE, None), *((SPAN, k) for k in spans), *([] if pin is None else [(PINS, pin)])]


def stands_out(teeth: int, one, pin_mm: float) -> bool:
    """Whether such pins can be read with the least and the most shift, tips cut short or not."""
    given = teeth, one.size.module_mm, one.rack, pin_mm
    shifts, short = {one.low, one.high}, (0.0, -SHORT_TIPS)
    return not any(pin_fault(*given, shift, tip, OUT) for shift in shifts for tip in short)


def _touches(teeth: int, one, over: int) -> bool:
    """Whether jaws over so many teeth touch flanks between root and tip, of which some may be cut short."""
    module, rack, shift = one.size.module_mm, one.rack, one.shift
    at = math.hypot(
        module * teeth * math.cos(rack.angle), span_mm(teeth, module, rack, over, shift)
    )  # a diameter
    low, high = (teeth + 2 * (shift + h) for h in (-rack.dedendum, rack.addendum - SHORT_TIPS))
    return low * module < at < high * module


def _read(teeth: int, one, offer: Offer) -> Ends | None:
    """What would be read on a candidate: least and most, tips cut short or not; None where it can't be."""
    kind, size = offer
    module, rack = one.size.module_mm, one.rack
    try:
        if kind == OUTSIDE:
            ends = [across_tips_mm(teeth, module, rack, x) for x in (one.low - SHORT_TIPS, one.high)]
        elif kind == SPAN:
            ends = [span_mm(teeth, module, rack, size, x) for x in (one.low, one.high)]
        else:
            ends = [over_pins_mm(teeth, module, rack, size, x) for x in (one.low, one.high)]
    except MechError:
        return None
    return ends[0], ends[1]


def _apart(mine: Ends | None, other: Ends | None) -> float:
    """The distance between two ranges; 0 where they meet, or one can't be read."""
    if mine is None or other is None:
        return 0.0
    return max(other[0] - mine[1], mine[0] - other[1], 0.0)


def _apart_in_one(mine: Ends, more: Ends, other: Ends, other_more: Ends) -> float:
    """By how much two gears differ at least in one of two spans, over k teeth and over one more.

    If they differ by u over k, then by u + d over k + 1, with d the difference of their base pitches, which
    no shift changes: the larger of |u| and |u + d| is least at u = −d/2, or where u comes nearest to that.
    """
    step = (more[0] - mine[0]) - (other_more[0] - other[0])
    low, high = mine[0] - other[1], mine[1] - other[0]
    nearest = min(max(-step / 2, low), high)
    return max(abs(nearest), abs(nearest + step))
