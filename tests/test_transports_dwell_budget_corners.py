"""Dwell budgets against faults really put in, at every corner, and against dense sampling of the file."""

from dataclasses import replace
from functools import cache
from importlib import resources
from itertools import product
from math import inf, isinf

import pytest
from second_way import SENSES, Machine
from small_machine import small
from transport_makers import make

from mechlib.say import count
from mechlib.transports import load, slip, slips_survived
from mechlib.transports.arcs import intersect
from mechlib.transports.dwell_budget import dwell_budget, mode_budgets
from mechlib.transports.files import transport_from
from mechlib.transports.timing import THE_CODE, arrival, arriving_senses, mode_margin

near = pytest.approx

# ---- Faults really put in ----


def shifted(transport, deg, coast):
    """Every contact edge at once later by ``deg``, and another coasting angle."""
    contacts = tuple(
        replace(c, closed=tuple((a + deg, b + deg) for a, b in c.closed)) for c in transport.contacts
    )
    return transport.changed(contacts=contacts, coast_deg=max(0.0, coast))


def switch_parts(transport, mode):
    """The parts that carry a contact of the mode's code (read off the file, not off an arrival)."""
    return {c.part for c in transport.contacts if c.name in transport.mode(mode).code}


def corners(transport, mode, follower, teeth, tolerance, spread):
    """The transport with each of its meshes, its edges and its coasting off either way, at all corners."""
    meshes = {m for part in switch_parts(transport, mode) for m in transport.chains[part] if teeth}
    if follower != THE_CODE and teeth:
        meshes |= set(transport.chains[transport.follower(follower).part])
    for *slips, edge, coast in product((-1, 1), repeat=len(meshes) + 2):
        faulty = transport.with_faults(*(slip(m, n) for m, n in zip(sorted(meshes), slips, strict=True)))
        yield shifted(faulty, edge * tolerance, transport.coast_deg + coast * spread)


def all_arcs(transport, mode, follower):
    """All arcs of the part's place on which the follower suits the mode."""
    need = next(n for n in transport.mode(mode).needs if n.follower == follower)
    turns = (-720, -360, 0, 360, 720) if transport.cyclic else (0,)
    return [(low + turn, high + turn) for low, high in need.arcs for turn in turns]


def dwell_of(transport, mode, follower, place):
    """The dwell's arc of the part's place: the one that holds the place, or some turns from it."""
    arcs = all_arcs(transport, mode, follower)
    if transport.cyclic and (0, 360) in arcs:
        return -inf, inf
    return next((low, high) for low, high in arcs if low - 1e-9 <= place <= high + 1e-9)


def worst_of_corners(transport, mode, follower, *off):
    """The least that any corner leaves below and above in each sense; each one's margin is compared too."""
    part, least = transport.follower(follower).part, {}
    for sense in arriving_senses(transport)[mode]:
        came = arrival(transport, mode, sense)
        usual = came.run.slipped_place(part, came.stand_deg)
        low, high = dwell_of(transport, mode, follower, usual)
        rooms = []
        for faulty in corners(transport, mode, follower, *off):
            stood = arrival(faulty, mode, sense)
            place = stood.run.slipped_place(part, stood.stand_deg)
            if transport.cyclic:  # the reading may be on the next turn
                place = usual + (place - usual + 180) % 360 - 180
            rooms.append((place - low, high - place))
            check_margin(faulty, mode, follower, stood, rooms[-1])
        least[sense] = tuple(min(side) for side in zip(*rooms, strict=True))
    return least


def check_margin(faulty, mode, follower, stood, room):
    """The margin of the faulty machine is what the place has left, or the end stop where that is nearer."""
    found = {(d.follower, d.sense): d for d in mode_margin(faulty, mode).distances}
    if (follower, stood.sense) not in found:
        assert stood.past_stop_deg > 0
        return
    distance = found[follower, stood.sense]
    if min(room) < -1e-9:  # off its dwell, it stands wrong, unless the next dwell that suits begins there
        place = stood.run.slipped_place(faulty.follower(follower).part, stood.stand_deg)
        suits = any(low <= place <= high for low, high in all_arcs(faulty, mode, follower))
        assert (distance.smaller[0] >= 0) == suits
    else:
        assert distance.smaller[0] >= -1e-9
    if not driven_throughout(faulty, follower, stood, room) or min(room) < 0:
        return
    stops = (inf, inf)
    if not faulty.cyclic:
        stops = stood.stand_deg - faulty.low_deg, faulty.high_deg - stood.stand_deg
    for side, left, stop in zip((distance.below_deg, distance.above_deg), room, stops, strict=True):
        assert isinf(left) or side == near(min(left, stop), abs=1e-9)


def driven_throughout(transport, follower, stood, room):
    """True if the follower's part turns with the drive from one edge of its dwell to the other."""
    if transport.cyclic:
        return True
    root = transport.root_of(transport.follower(follower).part)
    low, high = transport.ends
    reach = (max(stood.stand_deg - room[0], low), min(stood.stand_deg + room[1], high))
    stills = [(s.start_deg, s.end_deg) for s in transport.stages if root not in s.drives]
    return not intersect((reach,), tuple(stills))


def check_mode(transport, mode, tolerance=0.7, spread=0.4):
    """Budgets against corners; with teeth in only where the code bears them. Return the teeth."""
    off = (1, tolerance, spread)
    if not transport.cyclic and dwell_budget(transport, mode, THE_CODE, *off).tight.spare_deg < 0:
        off = (0, tolerance, spread)
        assert dwell_budget(transport, mode, THE_CODE, *off).tight.spare_deg > 0
    for need in transport.mode(mode).needs:
        found = dwell_budget(transport, mode, need.follower, *off)
        least = worst_of_corners(transport, mode, need.follower, *off)
        below, above = (min(one[i] for one in least.values()) for i in (0, 1))
        assert found.low.spare_deg == near(below, abs=1e-9), (mode, need.follower)
        assert found.high.spare_deg == near(above, abs=1e-9), (mode, need.follower)
    return off[0]


ALDER = load("alder")


@pytest.mark.parametrize("mode", ALDER.mode_names)
def test_the_worst_corner_of_alder_is_the_worst_case(mode):
    assert check_mode(ALDER, mode) == (mode != "EJECT")


@pytest.mark.parametrize("mode", ["IN", "HALF", "OUT"])
def test_the_worst_corner_of_the_small_machine_is_the_worst_case(mode):
    check_mode(small(), mode, 1.3, 2.5)


@cache
def drawn(seed, cyclic):
    return transport_from(make(seed, cyclic), "drawn.toml")


@pytest.mark.slow
@pytest.mark.few(6)
@pytest.mark.parametrize("cyclic", [False, True])
@pytest.mark.parametrize("seed", range(16))
def test_the_worst_corner_of_any_machine_is_the_worst_case(seed, cyclic):
    with_teeth = [check_mode(drawn(seed, cyclic), mode) for mode in drawn(seed, cyclic).mode_names]
    assert any(with_teeth)


@pytest.mark.parametrize("mode", ["IN", "HALF", "OUT"])
@pytest.mark.parametrize("teeth", [0, 1])
def test_one_thing_off_at_a_time_asks_what_it_moves(mode, teeth):
    for need in small().mode(mode).needs:
        for tolerance, spread in ((0, 0), (1.3, 0), (0, 0.8)):
            found = dwell_budget(small(), mode, need.follower, teeth, tolerance, spread)
            least = worst_of_corners(small(), mode, need.follower, teeth, tolerance, spread)
            assert found.low.spare_deg == near(min(one[0] for one in least.values()))
            assert found.high.spare_deg == near(min(one[1] for one in least.values()))


def beyond_stop(transport, mode, off):
    """How far beyond an end stop the worst corner would have to go to read the code; 0 where it is read."""
    return max(
        arrival(faulty, mode, sense).past_stop_deg
        for faulty in corners(transport, mode, THE_CODE, *off)
        for sense in arriving_senses(transport)[mode]
    )


@pytest.mark.parametrize("low", [-20, -14, -13, -12, -7, -5, 3])
def test_what_the_code_is_short_by_lies_beyond_the_stop(low):
    machine, off = small().changed(low_deg=float(low)), (1, 1.0, 2.0)
    short = max(0.0, -dwell_budget(machine, "IN", THE_CODE, *off).low.spare_deg)
    assert beyond_stop(machine, "IN", off) == near(short)
    assert (short > 0) == (low > -7)  # edge at 5, read at 4, 11 off


@pytest.mark.parametrize("high", [120, 108, 107, 106, 97])
def test_what_the_code_is_short_by_at_the_high_stop(high):
    machine, off = small().changed(high_deg=float(high)), (1, 1.0, 2.0)
    short = max(0.0, -dwell_budget(machine, "OUT", THE_CODE, *off).high.spare_deg)
    assert beyond_stop(machine, "OUT", off) == near(short)
    assert (short > 0) == (high < 107)  # read at 96, 11 off


# ---- Slips survived, found by trying ----


PAIRS = [(mode, part.name) for mode in ALDER.mode_names for part in ALDER.parts]
# Three teeth ahead, contact A closes while the carriage moves: the code of EJECT goes, its own edge stays.
PAIRS.remove(("EJECT", "mode switch"))


@pytest.mark.parametrize("mode, mesh", PAIRS)
def test_teeth_survived_are_those_that_the_budget_has_room_for(mode, mesh):
    survival = slips_survived(ALDER, mode, mesh)
    for teeth in range(1, 7):
        fits = {"low": True, "high": True}
        for found in mode_budgets(ALDER, mode, teeth=teeth, switch_tolerance_deg=0, coast_spread_deg=0):
            own = found.follower != THE_CODE and mesh in ALDER.chains[ALDER.follower(found.follower).part]
            for side in ("low", "high"):
                half = getattr(found, side)
                asked_deg = dict(half.items).get(f"{mesh}, {count(teeth, 'tooth')}", 0)
                # behind, the follower's part stands lower on its track; a contact late stops the drive higher
                way = side if own else {"low": "high", "high": "low"}[side]
                fits[way] = fits[way] and asked_deg <= half.there_deg
        assert fits["low"] == (survival.behind is None or survival.behind >= teeth), (mode, mesh, teeth)
        assert fits["high"] == (survival.ahead is None or survival.ahead >= teeth), (mode, mesh, teeth)


# ---- Dense sampling of the file ----


@pytest.mark.slow
@pytest.mark.parametrize("mode, follower", [("SLOW", "reel idler"), ("STOP", "loading arms")])
def test_what_is_to_spare_is_found_by_sampling(mode, follower):
    tolerance, spread = 0.6, 0.3
    found = dwell_budget(ALDER, mode, follower, 1, tolerance, spread)
    text = (resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8")
    sound = Machine.from_toml(text)
    chain = ALDER.chains[ALDER.follower(follower).part]
    sense = SENSES[found.low.sense]
    # all that lowers the follower's part against its dwell: it is behind, the switch ahead, the edges early
    slips = {mesh: -1 for mesh in chain} | {"mode switch": 1}
    worst = sound.with_faults(slips=slips, splits={"mode switch": tolerance})
    worst.coast = sound.coast - sense * spread
    below = worst.margins(mode, sense)[follower][0]
    assert found.low.spare_deg == near(below, abs=0.005)
