"""What is advised is done on simulated gears: what is promised must hold whatever the caliper errs by."""

import itertools
import math
from collections import Counter

import pytest

from mechlib.gears.measuring import across_tips_mm, over_pins_mm, span_mm
from mechlib.gears.next_reading import NextReading
from mechlib.gears.racks import FINE, ISO_53_A
from mechlib.gears.unknown_gear import CENTRE, OUTSIDE, PINS, SPAN, Reading, identify

COUNTS, OFFS = (8, 12, 13, 17, 20, 24, 31, 40, 57), (0.01, 0.02, 0.05)
OUTSIDES = (5.0, 7.0, 9.3, 12.1, 17.0, 23.4, 34.9, 50.0)
HOW = {OUTSIDE: across_tips_mm, SPAN: span_mm, PINS: over_pins_mm}


def advised(ask: NextReading) -> list:
    return [(ask.kind, ask.size), *([(ask.kind, ask.size + 1)] if ask.pair else [])]


def taken_on(teeth, one, shift, ask, off, errors) -> list[Reading]:
    """The readings advised, on a gear of some candidate's size."""
    found = []
    for (kind, size), error in zip(advised(ask), errors, strict=False):
        true = HOW[kind](teeth, one.size.module_mm, one.rack, *([] if size is None else [size]), shift)
        found.append(Reading(kind, true + 0.999 * error * off, off, size))
    return found


def others(found, first) -> int:
    return sum(one.size != first.size for one in found.candidates)


@pytest.fixture(scope="module")
def swept() -> list:
    """Every gear that was looked at: readings so far, racks tried, and what was found."""
    found = []
    for teeth, mm, off, racks in itertools.product(COUNTS, OUTSIDES, OFFS, ([ISO_53_A], [FINE, ISO_53_A])):
        read = [Reading(OUTSIDE, mm, off)]
        found.append((teeth, read, racks, identify(teeth, read, racks)))
    return found


def test_what_is_promised_of_the_first_size_holds(swept):
    """The gear is the first candidate, with the least and most shift, and the worst errors of the caliper."""
    kinds = Counter()
    for teeth, read, racks, found in swept:
        ask = found.next_reading
        if ask is None:
            continue
        first, off = found.candidates[0], read[0].off_mm
        kinds[ask.pair, ask.decides] += 1
        assert others(found, first) == ask.rivals and ask.apart_mm > 2 * off
        for shift, *errors in itertools.product((first.low, first.high), (-1, 1), (-1, 1)):
            again = identify(teeth, [*read, *taken_on(teeth, first, shift, ask, off, errors)], racks)
            left = others(again, first)
            assert first.size in {one.size for one in again.candidates}
            assert left == 0 if ask.decides else left <= ask.rivals - ask.out
    assert min(kinds[True, True], kinds[False, True], kinds[False, False]) > 3, kinds


def test_a_rival_that_it_tells_apart_rules_out_the_first(swept):
    """The gear is one of the rivals instead: where the reading decides, the first doesn't explain it."""
    seen = 0
    for teeth, read, racks, found in swept:
        ask = found.next_reading
        if ask is None or not ask.decides:
            continue
        first, off = found.candidates[0], read[0].off_mm
        for one in found.candidates:
            if one.size == first.size:
                continue
            for shift, *errors in itertools.product((one.low, one.high), (-1, 1), (-1, 1)):
                again = identify(teeth, [*read, *taken_on(teeth, one, shift, ask, off, errors)], racks)
                assert first not in again.candidates and one.size in {c.size for c in again.candidates}
                assert first.size not in {c.size for c in again.candidates if c.rack == first.rack}
                seen += 1
    assert seen > 100


def test_where_nothing_is_named_no_single_reading_and_no_two_spans_rule_out_a_rival(swept):
    """By trial: for each rival there is a pair of shifts at which all readings agree within the errors."""
    seen = 0
    for teeth, read, racks, found in swept:
        first = found.candidates[0] if found.candidates else None
        if racks != [ISO_53_A] or found.next_reading is not None or first is None or not others(found, first):
            continue
        seen += 1
        for rival in found.candidates[1:]:
            for over in range(2, 2 + math.ceil(teeth / 9)):
                mine, theirs = (
                    [span_mm(teeth, one.size.module_mm, one.rack, over, x) for x in (one.low, one.high)]
                    for one in (first, rival)
                )
                touching = math.hypot(
                    first.size.module_mm * teeth * math.cos(math.radians(20)),
                    span_mm(teeth, first.size.module_mm, first.rack, over, first.shift),
                )
                if touching > read[0].read_mm - 0.3 * first.size.module_mm or over not in near(teeth):
                    continue  # the jaws would stand at the tips, or beside them
                assert max(mine[0] - theirs[1], theirs[0] - mine[1]) <= 2 * read[0].off_mm
    assert seen > 20


def near(teeth: int) -> tuple[int, ...]:
    """Counts to span about the usual one, a ninth of the teeth and a half."""
    return tuple(range(round(teeth / 9 + 0.5), round(teeth / 9 + 0.5) + 1))


def test_two_spans_of_a_small_gear_leave_one_size():
    """12 teeth, 7.00 mm: module 0.5 or 48 DP, whose base pitches are 1.4761 and 1.5621 mm (π·m·cos 20°)."""
    read = [Reading(OUTSIDE, 7.0, 0.02)]
    found = identify(12, read, [ISO_53_A])
    ask = found.next_reading
    assert (ask.kind, ask.size, ask.pair, ask.decides) == (SPAN, 2, True, True)
    step = math.pi * math.cos(math.radians(20)) * (25.4 / 48 - 0.5)
    assert step / 2 <= ask.apart_mm <= step
    assert ask.sentence().startswith("Measure span over 2 teeth and over 3, whose difference is the base pitch")
    spans = taken_on(12, found.candidates[0], 0.0, ask, 0.02, (1, -1))
    (left,) = identify(12, [*read, *spans], [ISO_53_A]).candidates
    assert left.size.name == "module 0.5"


def test_a_reading_that_rules_out_some_says_how_many():
    some = NextReading(SPAN, 3, 0.1, "module 1", 2, 5)
    assert some.sentence() == (
        "Measure span over 3 teeth: if it is module 1, that rules out 2 of 5 rivals of another size."
    )
    assert not some.decides


def test_what_was_read_is_not_asked_for_again():
    read = [Reading(OUTSIDE, 23.4, 0.05), Reading(CENTRE, 29.0, 0.5, 30)]
    for _ in range(4):
        found = identify(20, read, [FINE, ISO_53_A])
        ask = found.next_reading
        if ask is None:
            break
        assert not {(one.kind, one.size) for one in read} >= set(advised(ask))
        read += taken_on(20, found.candidates[0], found.candidates[0].shift, ask, 0.05, (1, 1))
    assert ask is None or ask.rivals < 3
