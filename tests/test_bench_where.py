"""Where the cam stands: by hand on the small machine, and by trying every lie of the play on the others."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from importlib import resources
from itertools import combinations, product

import numpy as np
import pytest
from second_way import Machine
from small_machine import going_round, small

from mechlib.bench.where import arcs_words, sights_to_choose, telling, where_it_stands
from mechlib.errors import MechError
from mechlib.transports import load, slip

DATA = resources.files("mechlib.transports") / "data"


def near(*arcs):
    """Arcs, flat, to be compared with ``flat``."""
    return pytest.approx([end for arc in arcs for end in arc])


def flat(arcs):
    return [end for arc in arcs for end in arc]


LIES = np.linspace(0, 1, 9)  # of the play of each mesh, from that after loading to that after unloading


# ---- By hand: the lever lags by 3 degrees after unloading, the hook with it, switch and latch don't ----


@pytest.mark.parametrize(
    ("seen", "either", "loading", "unloading"),
    [
        ({"lever": "on"}, [(36, 120)], [(39, 120)], [(36, 120)]),
        ({"lever": "off"}, [(-20, 21)], [(-20, 21)], [(-20, 18)]),
        ({"lever": "between"}, [(18, 39)], [(21, 39)], [(18, 36)]),
        ({"lever": ["off", "between"]}, [(-20, 39)], [(-20, 39)], [(-20, 36)]),
        ({"lever": (10, 12)}, [(27, 32)], [(30, 32)], [(27, 29)]),
        ({"hook": "between", "latch": "open"}, [(68, 89)], [(71, 89)], [(68, 86)]),
        ({"contact A": "closed"}, [(-5, 5), (95, 105)], [(-5, 5), (95, 105)], [(-5, 5), (95, 105)]),
        (
            {"contact A": "open", "lever": "off"},
            [(-20, -5), (5, 21)],
            [(-20, -5), (5, 21)],
            [(-20, -5), (5, 18)],
        ),
        ({"contact A": "closed", "contact B": "open"}, [(-5, 5)], [(-5, 5)], [(-5, 5)]),
    ],
)
def test_the_small_machine(seen, either, loading, unloading):
    found = where_it_stands(small(), seen)
    assert flat(found.arcs) == near(*either) and found.doubtful == ()
    assert flat(found.after["loading"]) == near(*loading)
    assert flat(found.after["unloading"]) == near(*unloading)


def test_the_lie_of_one_play_is_the_same_for_both_levers_on_it():
    # The hook hangs on the lever's gear.  Two teeth ahead (60 degrees) it goes up at places 10 to 30 of that
    # gear, the lever goes on at 20 to 40: its lift 10 to 10.5 is at 30 to 30.5, and 18.5 to 19 of the hook at
    # 28.5 to 29.  Were each free to lag alone, theta 27 to 29 would do; but no lie of one play suits both.
    machine = small().with_faults(slip("hook cam", 2))
    lever = {"lever": (10, 10.5)}
    assert flat(where_it_stands(machine, lever).arcs) == near((27, 30.5))
    assert flat(where_it_stands(machine, {"hook": (18.5, 19)}).arcs) == near((25.5, 29))
    assert where_it_stands(machine, lever | {"hook": (18.5, 19)}).doubtful == (("lever",), ("hook",))
    assert flat(where_it_stands(machine, lever | {"hook": (19.5, 20)}).arcs) == near((27, 30.5))


def test_slips_move_what_is_seen():
    # The lever gear one tooth (10 degrees) ahead: its events come at angles 10 smaller.
    found = where_it_stands(small().with_faults(slip("lever gear", 1)), {"lever": "on"})
    assert flat(found.arcs) == near((26, 120))
    behind = where_it_stands(
        small().with_faults(slip("switch", -2)), {"contact B": "closed", "contact A": "open"}
    )
    assert flat(behind.arcs) == near((65, 75))


def test_a_cam_that_goes_round():
    assert flat(where_it_stands(going_round(), {"contact A": "closed"}).arcs) == near((0, 10), (350, 360))
    assert flat(where_it_stands(going_round(), {"contact A": "open"}).arcs) == near((10, 350))
    assert flat(where_it_stands(going_round(), {"lever": "between"}).arcs) == near((102, 138), (302, 338))
    ahead = going_round().with_faults(slip("switch", 37))  # once round and a tooth of 10 degrees
    assert flat(where_it_stands(ahead, {"contact A": "closed"}).arcs) == near((340, 360))
    behind = going_round().with_faults(slip("switch", -37))
    assert flat(where_it_stands(behind, {"contact A": "closed"}).arcs) == near((0, 20))


# ---- By trying: every lie of the play of every mesh ----


def brute(machine: Machine, seen: dict, theta) -> np.ndarray:
    """True where some lie of the plays lets every sight be true."""
    return np.any([np.all([*true.values()], axis=0) for true in sights(machine, seen, theta)], axis=0)


def sights(machine: Machine, seen: dict, theta) -> list[dict]:
    """Where each sight is true, for every lie of the plays."""
    carriers = {name: machine.carrier[name] for name in seen if not name.startswith("contact ")}
    carriers |= {"contact " + name: part for name, part, _ in machine.contacts if "contact " + name in seen}
    parts = {part.name: part for part in machine.parts}
    chain = set()
    for part in carriers.values():
        while part in parts:
            chain.add(part)
            part = parts[part].parent
    loose = [name for name in chain if parts[name].play]
    found = []
    for lie in product(LIES, repeat=len(loose)):
        share = dict(zip(loose, lie, strict=True))
        machine.parts = [replace(p, play=p.play * share.get(p.name, 0)) for p in parts.values()]
        angles = machine.angles(theta, -1)
        found.append({name: _seen(machine, name, how, angles) for name, how in seen.items()})
    machine.parts = list(parts.values())
    return found


def _seen(machine: Machine, name: str, how, angles):
    if name.startswith("contact "):
        bit = 1 << [contact for contact, _, _ in machine.contacts].index(name.removeprefix("contact "))
        return (machine.code(angles) & bit > 0) == (how == "closed")
    need = {"from_mm": how[0], "to_mm": how[1]} if isinstance(how, tuple) else how
    return machine.within(name, need, machine.lift(name, angles))


CASES = [
    ("alder", {}, {"pinch lever": "ready", "contact C": "open"}),
    ("alder", {}, {"main brakes": "between", "reel idler": "between"}),
    ("alder", {}, {"carriage": "in"}),
    ("alder", {}, {"loading arms": (70.0, 74.0), "main brakes": "between"}),
    ("alder", {"pinch cam": 5}, {"loading arms": (66.0, 75.0), "pinch lever": (0.3, 2.0)}),
    ("alder", {"loading gear": -2, "brake cam": 1}, {"pinch lever": "between", "main brakes": "off"}),
    ("alder", {"mode switch": 4}, {"contact B": "closed", "tension lever": "on"}),
    ("birch", {}, {"pinch lever": "between"}),
    ("birch", {"lever cam": -3}, {"eject lock": "between", "contact A": "open"}),
    ("birch", {"lever cam": 5, "switch rotor": -2}, {"pinch lever": "pressed", "contact B": "open"}),
]  # fmt: skip


@pytest.mark.few(4)
@pytest.mark.parametrize(("name", "slips", "seen"), CASES, ids=str)
def test_trying_every_lie_of_the_play(name, slips, seen):
    machine = Machine(tomllib.loads((DATA / f"{name}.toml").read_text())).with_faults(slips=slips)
    transport = load(name).with_faults(*(slip(mesh, teeth) for mesh, teeth in slips.items()))
    theta = np.arange(machine.low + 0.005, machine.high, 0.01)
    true = brute(machine, seen, theta)
    found = where_it_stands(transport, seen)
    assert found.doubtful == () and found.arcs
    inside = np.any([(theta >= a - 0.01) & (theta <= b + 0.01) for a, b in found.arcs], axis=0)
    deep = np.any([(theta >= a + 0.3) & (theta <= b - 0.3) for a, b in found.arcs], axis=0)
    assert not np.any(true & ~inside) and not np.any(deep & ~true)
    edges = theta[1:][true[1:] != true[:-1]]
    for edge in edges:  # what trying finds as an edge is one, but for the steps of the play
        assert min(abs(edge - end) for arc in found.arcs for end in arc) < 0.3


# ---- What doesn't go together, words, refusals ----


def test_contradictions_are_pointed_out_and_the_rest_is_kept():
    found = where_it_stands(small(), {"lever": "off", "hook": "up", "latch": "open"})
    assert found.doubtful == (("lever",),)
    assert found.arcs == where_it_stands(small(), {"hook": "up", "latch": "open"}).arcs
    either = where_it_stands(small(), {"lever": "off", "latch": "open"})
    assert either.doubtful == (("lever",), ("latch",))
    assert flat(either.arcs) == near((-20, 21), (64, 120))
    assert "look again at the lever, or at the latch. Without that the cam of Small" in either.sentence()
    two = where_it_stands(small(), {"lever": "off", "contact B": "closed", "hook": "up", "latch": "open"})
    assert two.doubtful == (("lever",),)  # B is closed and the hook up at 95 to 105, too
    pair = where_it_stands(
        small(), {"lever": "off", "contact B": "closed", "contact A": "open", "hook": "up"}
    )
    assert len(pair.doubtful) > 1 and all(len(group) == 2 for group in pair.doubtful)
    assert "the lever and the contact B, or at " in pair.sentence()


@pytest.mark.parametrize(
    ("name", "seen", "locks"),
    [
        ("small", {"hook": "up", "latch": "shut"}, ["hook and latch"]),
        ("small", {"hook": "between", "latch": "between", "lever": "off"}, ["hook and latch"]),
        ("small", {"lever": "off", "hook": "up", "latch": "open"}, []),  # the two go together
        ("small", {"lever": "off", "latch": "open"}, []),  # the hook wasn't seen
        ("small", {"hook": "down", "latch": "shut", "lever": "off", "contact B": "closed"}, []),
        ("small", {"hook": "between", "latch": "open"}, []),  # so they may stand together
        ("alder", {"loading arms": "home", "pinch lever": "ready"}, ["pinch lever and guide"]),
        ("alder", {"carriage": "down", "loading arms": "home", "contact C": "closed"}, []),
        ("birch", {"main brakes": "on", "reel idler": "take-up"}, ["idler and brakes"]),
    ],
    ids=str,
)
def test_two_that_may_have_met_are_named(name, seen, locks):
    found = where_it_stands(small() if name == "small" else load(name), seen)
    assert [lock.name for lock in found.jams] == locks


LIARS = [
    {"loading arms": "home", "pinch lever": "ready", "contact C": "open", "main brakes": "between"},
    {"carriage": "out", "reel idler": "supply", "tension lever": "on", "contact A": "closed"},
    {"pinch lever": "pressed", "contact B": "closed", "contact A": "closed", "carriage": "in"},
    {"loading arms": "half", "pinch lever": "off", "contact D": "closed"},
]


@pytest.mark.few(1)
@pytest.mark.parametrize("seen", LIARS, ids=str)
def test_no_smaller_group_and_no_other_would_do(seen):
    machine = Machine(tomllib.loads((DATA / "alder.toml").read_text()))
    theta = np.arange(machine.low, machine.high, 0.5)
    doubtful, lies = where_it_stands(load("alder"), seen).doubtful, sights(machine, seen, theta)
    for size in range(1, len(doubtful[0]) + 1):
        for group in combinations(seen, size):
            left = [name for name in seen if name not in group]
            can_be = any(np.all([true[name] for name in left], axis=0).any() for true in lies)
            assert group in doubtful or not can_be, group


def test_something_that_never_is_so_is_doubtful_alone():
    broken = small().with_faults(slip("lever gear", -20))  # 200 degrees behind: never on between the stops
    assert where_it_stands(broken, {"lever": "on"}).doubtful == (("lever",),)
    assert where_it_stands(broken, {"lever": "on"}).arcs == ((-20, 120),)


def test_what_it_says():
    found = where_it_stands(small(), {"lever": "on", "contact B": "closed", "contact A": "open"})
    assert (
        found.sentence()
        == "The cam of Small stands at 45.0° to 55.0°: 7% of its travel, where HALF would stop."
    )
    assert found.share == pytest.approx(10 / 140) and found.modes == ("HALF",)
    assert flat(found.alone["contact A"]) == near((-20, -5), (5, 95), (105, 120))
    assert found.text().splitlines()[:2] == ["seen: lever on", "seen: contact B closed"]
    nothing = where_it_stands(small(), {})
    assert nothing.sentence() == "Nothing is seen yet: the cam of Small can stand at −20.0° to 120.0°."
    narrow = where_it_stands(small(), {"lever": (10, 10.5), "contact A": "open"})
    assert narrow.sentence().endswith(": 2% of its travel, where no mode would stop.")
    hair = where_it_stands(small(), {"latch": (5, 5.5)})
    assert ": under 1% of its travel" in hair.sentence() and arcs_words(hair.arcs) == "60.0° to 60.5°"


def test_what_tells_two_places_apart():
    found = telling(small(), ((-20, -6),), ((106, 120),))
    assert found == ("lever", "hook", "latch")
    assert telling(small(), ((0, 1),), ((0.5, 2),)) == ()
    assert list(sights_to_choose(small())) == ["lever", "hook", "latch", "contact A", "contact B"]


@pytest.mark.parametrize(
    ("seen", "told"),
    [
        ("lever on", "what was seen is 'lever on'"),
        ({3: "on"}, "nothing is called 3"),
        ({"laver": "on"}, "nothing is called 'laver'"),
        ({"contact Z": "open"}, "nothing is called 'contact Z'"),
        ({"lever": "up"}, "lever is 'up': it must be off, on, between"),
        ({"lever": []}, "it must be off, on, between"),
        ({"lever": ["on", "up"]}, "it must be off, on, between"),
        ({"lever": (12, 10)}, "give the lower lift first"),
        ({"lever": (float("nan"), 10)}, "lift of lever is nan"),
        ({"lever": (0, 501)}, "it must be from -500 to 500 mm"),
        ({"contact A": "on"}, "contact A is 'on': it must be 'closed' or 'open'"),
    ],
)
def test_what_cannot_be_seen_is_refused(seen, told):
    with pytest.raises(MechError) as refused:
        where_it_stands(small(), seen)
    assert told in str(refused.value)
