"""What is advised is done on simulated gears: what is promised must hold whatever the caliper errs by."""

import itertools
import math
from collections import Counter

import numpy as np
import pytest

from mechlib.gears.measuring import across_tips_mm, over_pins_mm, pin_fault, span_mm
from mechlib.gears.next_reading import NextReading, _offers
from mechlib.gears.racks import FINE, ISO_53_A
from mechlib.gears.unknown_gear import CENTRE, OUTSIDE, PINS, SIZES, SPAN, Candidate, Reading, identify

COUNTS, OFFS = (8, 12, 13, 17, 20, 24, 31, 40, 57), (0.01, 0.02, 0.05)
OUTSIDES = (5.0, 7.0, 9.3, 12.1, 17.0, 23.4, 34.9, 50.0)
BY_NAME = {size.name: size for size in SIZES}
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


def read_again(teeth, readings, racks, found):
    """What is left of the candidates: one more reading never adds any."""
    return identify(teeth, readings, racks, dict.fromkeys(one.size for one in found.candidates))


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
            more = taken_on(teeth, first, shift, ask, off, errors)
            again = read_again(teeth, [*read, *more], racks, found)
            left = others(again, first)
            assert first.size in {one.size for one in again.candidates}
            assert left == 0 if ask.decides else left <= ask.rivals - ask.out
    assert min(kinds[True, True], kinds[False, True], kinds[False, False]) > 3, kinds


def test_pins_are_advised_only_where_they_can_be_read(swept):
    pins = [
        (teeth, found) for teeth, *_, found in swept if found.next_reading and found.next_reading.kind == PINS
    ]
    for teeth, found in pins:
        first = found.candidates[0]
        for shift in (first.low, first.high):
            given = teeth, first.size.module_mm, first.rack, found.next_reading.size, shift
            assert pin_fault(*given, 0.0, 0.05) == ""
    small = Candidate(BY_NAME["module 1"], ISO_53_A, 0.58, 0.6)
    (pin,) = [size for kind, size in _offers(10, small) if kind == PINS]
    assert pin > 1.73 and pin_fault(10, 1, ISO_53_A, 1.73, 0.6) and not pin_fault(10, 1, ISO_53_A, pin, 0.6)


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
                more = taken_on(teeth, one, shift, ask, off, errors)
                again = read_again(teeth, [*read, *more], racks, found)
                assert first not in again.candidates and one.size in {c.size for c in again.candidates}
                assert first.size not in {c.size for c in again.candidates if c.rack == first.rack}
                seen += 1
    assert seen > 100


def test_where_nothing_is_named_spans_leave_every_rival(swept):
    """By trial on a grid: some shift of each rival reads like some of the first's, over k teeth and k + 1."""
    seen = 0
    for teeth, read, _, found in swept:
        first = found.candidates[0] if found.candidates else None
        if found.next_reading is not None or first is None or not others(found, first):
            continue
        seen += 1
        module, usual = first.size.module_mm, round(teeth / 9 + 0.5)
        base = module * teeth * math.cos(math.radians(20))
        spans = [span_mm(teeth, module, first.rack, k, first.shift) for k in (usual, usual + 1)]
        well_below_the_tips = [math.hypot(base, span) < read[0].read_mm - 0.5 * module for span in spans]
        over = [k for k, well in zip((usual, usual + 1), well_below_the_tips, strict=True) if well and k > 1]
        for rival in [one for one in found.candidates if one.size != first.size]:
            mine, theirs = (
                np.array(
                    [
                        [span_mm(teeth, one.size.module_mm, one.rack, k, x) for k in over]
                        for x in np.linspace(one.low, one.high, 41)
                    ]
                )
                for one in (first, rival)
            )
            step = max(abs(np.diff(one, axis=0)).max(initial=0) for one in (mine, theirs))
            apart = abs(mine[:, None] - theirs[None]).max(axis=2, initial=0).min()
            assert apart <= 2 * read[0].off_mm + step
    assert seen > 20


def test_two_spans_of_a_small_gear_leave_one_size():
    """12 teeth, 7.00 mm: module 0.5 or 48 DP, whose base pitches are 1.4761 and 1.5621 mm (π·m·cos 20°)."""
    read = [Reading(OUTSIDE, 7.0, 0.02)]
    found = identify(12, read, [ISO_53_A])
    ask = found.next_reading
    assert (ask.kind, ask.size, ask.pair, ask.decides) == (SPAN, 2, True, True)
    step = math.pi * math.cos(math.radians(20)) * (25.4 / 48 - 0.5)
    assert step / 2 <= ask.apart_mm <= step
    assert ask.sentence().startswith("Measure span over 2 teeth and over 3, whose difference is the base")
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
