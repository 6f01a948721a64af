"""The five exercises on a dwell and its mode, worked again from the question's text, in exact fractions.

The cam is walked along in tenths of a degree, and what may be off is tried in all its combinations.  Where
a transport of the library can be asked, it is.
"""

import re
from fractions import Fraction
from functools import cache
from itertools import product
from types import SimpleNamespace

import exercise_rules as rules
import pytest
from small_machine import small, values

from mechlib.teaching.dwell_timing import (
    ABOVE,
    ADD_IT_UP,
    BELOW,
    CAM,
    DWELL_TIMING,
    ONE_TOOTH,
    OTHER,
    ROOM,
    STOP_ANGLE,
    SWITCH,
)
from mechlib.teaching.remedies import LENGTHEN, MOVE, NARROW, REMEDIES, STEADY, WHICH_REMEDY
from mechlib.transports import dwell_budget, load, slip
from mechlib.transports.timing import arrival, mode_margin

ANY = None  # a slip that shows in the other field only
TENTH = Fraction(1, 10)


def found(pattern: str, question: str) -> list[Fraction]:
    """The numbers in a question as fractions."""
    return [Fraction(group) for group in re.search(pattern, question).groups()]


def walked(low, high, settle, coast, sense):
    """Where the cam rests: it comes from far off, sees the code stand, and coasts."""
    at = low - 20 if sense > 0 else high + 20
    while not low <= at <= high:
        at += sense * TENTH
    seen = Fraction(0)
    while seen < settle:
        at, seen = at + sense * TENTH, seen + TENTH
        assert low <= at <= high
    return at + sense * coast


def stop_angle(question):
    low, high, settle, coast = found(
        r"from ([\d.]+)° to ([\d.]+)° .* stood for ([\d.]+)°; .* coasts by ([\d.]+)°", question
    )
    sense = 1 if "in the loading sense, so that the angle grows" in question else -1
    assert ("in the unloading sense, so that the angle gets smaller" in question) == (sense < 0)
    edge, far = (low, high) if sense > 0 else (high, low)
    on = sense * (settle + coast)
    return (walked(low, high, settle, coast, sense),), {
        "coasting forgotten": (walked(low, high, settle, 0, sense),),
        "settling forgotten": (walked(low, high, 0, coast, sense),),
        "taken away": (edge - on,),
        "the other sense": (walked(low, high, settle, coast, -sense),),
        "the far edge": (far + on,),
        "from the middle of the code": ((low + high) / 2 + on,),
    }


def room(question):
    low, high, up, down = found(r"from ([\d.]+)° to ([\d.]+)°\. .* at ([\d.]+)°, .* at ([\d.]+)°\.", question)
    rooms = [room for stop in (up, down) for room in ((stop - low, BELOW, stop), (high - stop, ABOVE, stop))]
    margin, side, ruling = min(rooms)
    other_stop = min(one for one in rooms if one[2] != ruling)
    roomier = min(one for one in rooms if one[1] != side)
    return (margin, side), {
        "the whole arc": (high - low, ANY),
        "half of the arc": ((high - low) / 2, ANY),
        "one stop angle only": other_stop[:2],
        "the roomier side": roomier[:2],
        "side against the margin": (margin, roomier[1]),
        "from the middle of the arc": (abs(ruling - (low + high) / 2), ANY),
        "between the stop angles": (abs(up - down), ANY),
    }


def one_tooth(question):
    below, above = found(r"there are ([\d.]+)° .* and ([\d.]+)° from", question)
    own, parent = found(r"a gear of (\d+) teeth, is .* a gear of (\d+) teeth that turns with", question)
    ahead = 1 if "one tooth ahead" in question else -1
    assert ("one tooth behind" in question) == (ahead < 0)
    tooth = 360 / parent
    # What is ahead comes at smaller angles: the stop angle (0 before) or both edges of the dwell.
    stop, moved = (-ahead * tooth, 0) if SWITCH in question else (0, -ahead * tooth)
    assert (SWITCH in question) != (CAM in question)
    left = {BELOW: stop - (moved - below), ABOVE: moved + above - stop}
    was = {BELOW: below, ABOVE: above}
    side = BELOW if left[BELOW] < below else ABOVE
    other = ABOVE if side == BELOW else BELOW
    return (left[side], side), {
        "the other side": (was[other] - tooth, other),
        "its own teeth": (was[side] - 360 / own, ANY),
        "a tooth for a degree": (was[side] - 1, ANY),
        "the side that gets wider": (left[other], ANY),
        "the tooth added": (was[side] + tooth, ANY),
        "half a tooth": (was[side] - tooth / 2, ANY),
        "side against the rest": (left[side], other),
    }


def root(*items):
    return float(sum(item**2 for item in items)) ** 0.5


def add_it_up(question):
    one, other, *off = found(
        r"at ([\d.]+)° in one sense and at ([\d.]+)° .* out, ([\d.]+)°; .* out, ([\d.]+)°; .* off by "
        r"([\d.]+)°\. .* coasts by ([\d.]+)°, .* be ([\d.]+)° more",
        question,
    )
    *teeth_and_edge, coast, spread = off
    apart, items = abs(other - one), [*teeth_and_edge, spread]
    whole = [*teeth_and_edge, coast]
    # The worst: every sign of every item is tried, for both stop angles; the dwell reaches over all of them.
    places = [
        stop + sum(sign * item for sign, item in zip(signs, items, strict=True))
        for stop in (one, other)
        for signs in product((-1, 1), repeat=4)
    ]
    worst, rss = max(places) - min(places), float(apart) + 2 * root(*items)
    return (worst, rss), {
        "one side only": (apart + sum(items), float(apart) + root(*items)),
        "distance of the stop angles left out": (2 * sum(items), 2 * root(*items)),
        "distance of the stop angles under the root": (worst, root(apart, *(2 * item for item in items))),
        "both sides under one root": (worst, float(apart) + root(*items, *items)),
        "boxes changed over": (rss, worst),
        "the whole coasting": (apart + 2 * sum(whole), float(apart) + 2 * root(*whole)),
    }


def bears(low, high, stops, items) -> bool:
    """Whether every stop stays in the dwell, whatever is off in whatever combination."""
    return all(low <= stop + off <= high for stop in stops for off in every_way(*items))


@cache
def every_way(*items) -> list[Fraction]:
    """How far off it is, for every combination of signs."""
    return [sum(map(Fraction.__mul__, items, map(Fraction, s))) for s in product((-1, 1), repeat=len(items))]


def which_remedy(question):
    low, high, up, down, tooth, edge, spread, mended, spread_again, narrowed = found(
        r"from ([\d.]+)° to ([\d.]+)°\. .* at ([\d.]+)° when loading and at ([\d.]+)° .* cam, ([\d.]+)°; "
        r".* edge, ([\d.]+)°; coasting, ([\d.]+)°\. .* leave ([\d.]+)° of those ([\d.]+)°\. .* "
        r"by ([\d.]+)°, half",
        question,
    )
    items = [tooth, edge, spread]
    assert spread == spread_again and not bears(low, high, (up, down), items)
    nearer = (up + narrowed / 2, down - narrowed / 2)
    assert nearer[0] < nearer[1]  # the two stop angles don't pass each other
    shifts = [step * TENTH for step in range(-150, 151)]
    enough = {
        STEADY: bears(low, high, (up, down), [tooth, edge, mended]),
        MOVE: any(bears(low + by, high + by, (up, down), items) for by in shifts),
        NARROW: bears(low, high, nearer, items),
        LENGTHEN: bears(low - 20, high + 20, (up, down), items),
    }
    right = next(remedy for remedy, will_do in enough.items() if will_do)
    rooms = sorted((min(up, down) - low, high - max(up, down)))
    short = sum(items) - rooms[0]
    others = [remedy for remedy in REMEDIES if remedy != right]
    return (short, right), {
        "another remedy": (short, others[0]),
        "yet another remedy": (short, others[1]),
        "the third other remedy": (short, others[2]),
        "the side with more room": (sum(items) - rooms[1], ANY),
        "one stop angle only": (short - abs(down - up), ANY),
        "coasting steadier already": (tooth + edge + mended - rooms[0], ANY),
        "tooth forgotten": (edge + spread - rooms[0], ANY),
        "what must be borne": (sum(items), ANY),
        "the room there is": (rooms[0], ANY),
    }


WORKED = [
    (STOP_ANGLE, stop_angle, 1),
    (ADD_IT_UP, add_it_up, 1),
    (ROOM, room, 1),
    (ONE_TOOTH, one_tooth, 1),
    (WHICH_REMEDY, which_remedy, 1),
]


@rules.each_of(DWELL_TIMING, WORKED)
class TestExercises(rules.KeepsTheRules):
    """The rules that every exercise keeps."""


def test_the_stop_angle_is_where_a_transport_stops():
    for seed in range(30):
        drawn = STOP_ANGLE.draw(seed)
        n, given = drawn.numbers, values()
        given["drive"]["coast"] = {"deg": n["coast"]}
        given["mode_switch"]["settle"] = {"deg": n["settle"]}
        given["mode"][1]["needs"] = {"lever": "on"}
        given["contact"][1]["closed"][0] = [{"deg": 45}, {"deg": 45 + n["width"]}]  # the code of HALF
        came = arrival(small(**given), "HALF", n["sense"])
        assert came.stand_deg - 45 == pytest.approx(drawn.right[0] - n["low"], abs=1e-9)


def test_one_tooth_takes_from_the_side_from_which_it_takes_in_a_transport():
    alder = load("alder")

    def rooms(transport):
        distances = mode_margin(transport, "PLAY").distances
        found = next(d for d in distances if (d.follower, d.sense) == ("reel idler", "loading"))
        return {BELOW: found.below_deg, ABOVE: found.above_deg}

    before = rooms(alder)
    for what, mesh in ((SWITCH, "mode switch"), (CAM, "brake cam")):
        part = alder.part(mesh)
        for ahead in (1, -1):
            after = rooms(alder.with_faults(slip(mesh, ahead)))
            n = SimpleNamespace(what=what, ahead=ahead, parent=part.parent_teeth)
            n.side = ONE_TOOTH.numbers["side"](n)
            n.narrower, n.wider = before[n.side], before[OTHER[n.side]]
            left, side = ONE_TOOTH.right(n)
            assert after[side] == pytest.approx(left, abs=1e-9)
            assert after[OTHER[side]] > before[OTHER[side]]


def test_the_dwell_asked_for_is_that_of_a_transports_budget():
    budget = dwell_budget(load("alder"), "PLAY", "main brakes")
    items = [deg for _, deg in budget.low.items]
    assert len(items) == 4 and budget.high.items == budget.low.items
    names = ("cam", "switch", "contact", "spread")
    n = SimpleNamespace(apart=budget.fixed_deg, **dict(zip(names, items, strict=True)))
    assert ADD_IT_UP.right(n) == pytest.approx((budget.needed_deg, budget.needed_rss_deg), abs=1e-9)


def test_every_case_is_drawn():
    remedies = [each.right[1] for each in rules.draws(WHICH_REMEDY)]
    assert min(map(remedies.count, REMEDIES)) > 30
    for exercise in (ROOM, ONE_TOOTH):
        sides = [each.right[1] for each in rules.draws(exercise)]
        assert min(map(sides.count, (BELOW, ABOVE))) > 60
    narrow = [each.numbers["low_side"] for each in rules.draws(WHICH_REMEDY)]
    assert min(map(narrow.count, (True, False))) > 60
    left = [each.right[0] for each in rules.draws(ONE_TOOTH)]
    assert min(sum(deg > 0 for deg in left), sum(deg < 0 for deg in left)) > 30
    drawn = [each.numbers for each in rules.draws(ONE_TOOTH)]
    cases = [(n["what"], n["ahead"]) for n in drawn]
    assert min(map(cases.count, product((SWITCH, CAM), (1, -1)))) > 30
    assert {each.numbers["sense"] for each in rules.draws(STOP_ANGLE)} == {"loading", "unloading"}
    assert all(len({each.question for each in rules.draws(e)}) > 190 for e in DWELL_TIMING)


def test_the_numbers_drawn_are_those_of_a_machine():
    """All on one turn of the main cam, lags and spreads of a few degrees, mode switches of some ten modes."""
    rules.drawn_within(STOP_ANGLE, low=(60, 250, 9), width=(6, 15, 0.5), settle=(0.4, 1.4, 0.1))
    rules.drawn_within(STOP_ANGLE, coast=(0.8, 3.9, 0.2))
    rules.drawn_within(ROOM, low=(100, 250, 9), below=(1, 9, 1), above=(1, 9, 1), apart=(0.8, 6, 1))
    rules.drawn_within(ONE_TOOTH, below=(3.3, 15.3, 0.5), above=(3.3, 15.3, 0.5))
    rules.drawn_within(ADD_IT_UP, first=(100, 250, 9), apart=(1.5, 7, 0.4), contact=(0.5, 2, 0.1))
    rules.drawn_within(ADD_IT_UP, coast=(2.2, 3.9, 0.1), spread=(0.3, 1.5, 0.1))
    rules.drawn_within(WHICH_REMEDY, low=(100, 250, 9), edge=(0.5, 1.5, 0.1), mended=(0.2, 0.7, 0.1))
    rules.drawn_within(WHICH_REMEDY, apart=(7, 12, 0.3), spread=(0.7, 3.7, 0.4), narrowed=(1, 6, 1))


def test_nothing_is_decided_by_a_hair():
    """A remedy is enough with half a degree to spare, or it misses by half a degree."""
    for seed in rules.SEEDS:
        short, spare, gain, half = WHICH_REMEDY.draw(seed).numbers["case"]
        needed = max(short, -spare)
        assert min(abs(gain - needed), abs(half - needed), abs(spare - short)) >= 0.5
    assert min(abs(each.right[0]) for each in rules.draws(ONE_TOOTH)) > 0.19


@pytest.mark.parametrize("exercise", DWELL_TIMING, ids=lambda each: each.title)
def test_nothing_is_rounded_in_a_sum_of_tenths(exercise):
    kinds = []
    for drawn in rules.draws(exercise):
        first, *others = drawn.right
        text = f"{first + 0.2 * (-1) ** drawn.seed:.1f}"
        kinds.append(drawn.check([text, *others]).kind)
        assert kinds[-1] != "rounding" or float(text) == round(first)
    assert "slip in adding" in kinds
