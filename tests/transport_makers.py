"""Makers of transports for tests: sound, invented, drawn from a seed, no two alike.

``make(seed)`` gives the values of a transport file with end stops (and, in half of them, a stage in which
the power goes to another output), ``make(seed, cyclic=True)`` one that goes round, and ``make_driven`` the
same with a motor, springs and friction in the place of the measured speed.  What a mode or an
interlock asks for is read off the machine by the second way, so that every one is right by construction.
"""

from __future__ import annotations

import copy
import random
from functools import cache
from itertools import combinations

import numpy as np
from second_way import Machine

LAWS = (
    "constant velocity", "constant acceleration", "simple harmonic", "cycloidal",
    "modified sine", "modified trapezoidal", "3-4-5", "4-5-6-7",
)  # fmt: skip
CLEAR_DEG = 0.05  # by which everything on a sound machine clears what would be wrong


def deg(value: float) -> dict:
    return {"deg": round(float(value), 4)}


def make(seed: int, cyclic: bool = False) -> dict:
    """The values of one transport file."""
    return copy.deepcopy(_made(seed, cyclic))


@cache  # most take a quarter of a second, and many tests ask for the same
def _made(seed: int, cyclic: bool) -> dict:
    rng = random.Random(f"transport {seed} {cyclic}")
    values = _gearing(rng, cyclic)
    stops = _modes_and_switch(rng, values, cyclic)
    _followers(rng, values, cyclic)
    if not cyclic:
        _stops_of_parts(rng, values)
    machine = Machine(values)
    _stage_needs(rng, values, machine)
    for mode in values["mode"]:
        mode["needs"] = _needs(rng, values, machine, mode["name"])
    _interlocks(rng, values, machine)
    values["controller"] = _controller(rng, values, stops, cyclic)
    return values


def make_driven(seed: int, cyclic: bool = False) -> dict:
    """The values of ``make`` with a motor, mostly strong enough, and what stands against it."""
    values, rng = make(seed, cyclic), random.Random(f"driven {seed} {cyclic}")
    turns = rng.randint(40, 400)
    values["motor"] = {
        "voltage_V": rng.choice([5, 9, 12]),
        "no_load_rev_min": round(values["drive"].pop("speed_deg_s") * turns / 6, 1),
        "stall_torque_Nmm": round(np.exp(rng.uniform(0.5, 3)), 2),
        "turns_per_cam_turn": turns,
        "train_efficiency": round(rng.uniform(0.25, 0.9), 3),
        "back_efficiency": rng.choice([0, 0, round(rng.uniform(0.1, 0.8), 3)]),
        "friction_Nmm": round(rng.uniform(0, 0.4), 3),
    }
    if rng.random() < 0.5:
        values["belt"] = _belt(rng)
    for row in (values["drive"], *values.get("output", []), *values["part"]):
        if rng.random() < 0.6:
            row["drag_Nmm"] = round(rng.uniform(0, 20), 2)
    for row in values["part"]:
        if rng.random() < 0.6:
            row["mesh_efficiency"] = round(rng.uniform(0.6, 1), 3)
    for row in values["follower"]:
        if rng.random() < 0.7:
            row["friction_N"] = round(rng.uniform(0, 1), 2)
        if rng.random() < 0.7:
            row["spring"] = {"at_mm": rng.randint(-3, 3), "force_N": round(rng.uniform(-2, 3), 2),
                             "rate_N_mm": round(rng.uniform(0, 0.2), 3)}  # fmt: skip
    if "stage" in values and rng.random() < 0.5:
        _planetary(rng, values)
    return values


def _belt(rng: random.Random) -> dict:
    """A belt a few percent shorter than the way round its pulleys."""
    small, large, centres = rng.uniform(5, 12), rng.uniform(14, 40), rng.uniform(30, 80)
    kind, thick = rng.choice(["square", "flat", "round"]), round(rng.uniform(0.8, 1.5), 2)
    wide = {"square": thick, "round": thick, "flat": 4 * thick}[kind]
    around = 2 * centres + np.pi / 2 * (small + large) + (large - small) ** 2 / 4 / centres
    belt = {"kind": kind, "inside_mm": round(around / rng.uniform(1.02, 1.12), 1), "thickness_mm": thick,
            "width_mm": wide, "modulus_MPa": round(rng.uniform(3, 9), 1), "friction": 0.5}  # fmt: skip
    belt |= {"driver_mm": round(small, 1), "driven_mm": round(large, 1), "centres_mm": round(centres, 1)}
    return belt | ({"driver_groove_deg": 60} if rng.random() < 0.3 else {})


def _planetary(rng: random.Random, values: dict):
    """One of the stages through a planetary set, any member driven, held and turning."""
    sun, planet = rng.randint(14, 24), rng.randint(14, 24)
    values["planetary_set"] = [{"name": "main set", "sun": sun, "planet": planet, "ring": sun + 2 * planet,
                                "mesh_efficiency": round(rng.uniform(0.9, 1), 3)}]  # fmt: skip
    members = dict(zip(("driven", "held", "turns"), rng.sample(["sun", "carrier", "ring"], 3), strict=True))
    rng.choice(values["stage"]).update(through="main set", **members)


# ---- Gearing ----


def _gearing(rng: random.Random, cyclic: bool) -> dict:
    teeth = rng.randint(30, 120)
    values = {
        "name": "Hazel",
        "about": "An invented transport, drawn from a seed.",
        "invented": True,
        "drive": {
            "main_gear_teeth": teeth,
            "coast": deg(max(0.0, rng.uniform(-0.3, 2.5))),
            "speed_deg_s": round(rng.uniform(20, 200), 1),
        },
        "hand_shaft": [{"name": "worm shaft", "turns_per_cam_turn": rng.randint(20, 120)}],
        "part": [],
    }
    parents = {"main gear": teeth}
    if not cyclic and rng.random() < 0.5:
        speed = rng.choice([-1, 1]) * rng.randint(3, 9) / rng.randint(2, 3)
        values["output"] = [{"name": "ring", "teeth": rng.randint(20, 80), "speed": speed}]
        values["part"].append(_part(rng, "ring gear", {"ring": values["output"][0]["teeth"]}, cyclic))
        parents["ring gear"] = values["part"][0]["teeth"]
    values["part"].append(_part(rng, "switch rotor", {"main gear": teeth}, cyclic))
    for name in ["arm gear", "lever cam", "brake cam", "idler cam"][: rng.randint(1, 4)]:
        part = _part(rng, name, parents, cyclic)
        values["part"].append(part)
        parents[name] = part["teeth"]
    rng.shuffle(values["part"])  # parents need not stand first
    return values


def _part(rng: random.Random, name: str, parents: dict, cyclic: bool) -> dict:
    parent = rng.choice(list(parents))
    part = {"name": name, "kind": "gear", "meshes_with": parent, "mark": "dot to dot"}
    if cyclic:  # a whole number of turns for one of the main cam
        part["teeth"] = rng.randint(12, 30)
        part["parent_teeth"] = part["teeth"] * rng.randint(1, 2)
    else:
        part["kind"], part["teeth"] = rng.choice(["gear", "gear", "sector", "rack"]), rng.randint(20, 120)
        if rng.random() < 0.3:
            part["parent_teeth"] = rng.randint(20, 80)
    if rng.random() < 0.3:
        part["mesh"] = "internal"
    if rng.random() < 0.6 or part["kind"] == "rack":
        part["play_teeth"] = round(rng.uniform(0, 0.12), 3)
    else:
        part["play_part_deg"] = round(rng.uniform(0, 0.6), 3)
    return part


def _stops_of_parts(rng: random.Random, values: dict):
    """One part may have stops of its own, a little beyond its travel."""
    if rng.random() < 0.5:
        part = rng.choice(values["part"])
        machine = Machine(values)
        ends = np.array([machine.low, machine.high])
        low, high = machine.angles(ends, 1)[part["name"]][0], machine.angles(ends, -1)[part["name"]][1]
        part["low_stop"] = deg(low - rng.uniform(0.5, 15))
        part["high_stop"] = deg(high + rng.uniform(0.5, 15))


# ---- Modes, mode switch, stages ----


def _modes_and_switch(rng: random.Random, values: dict, cyclic: bool) -> dict:
    """Modes along the travel, the contacts that show them, stages and stops; which senses each allows."""
    count, half = rng.randint(3, 6), rng.uniform(4.0, 7.0)
    gaps = [2 * half + rng.uniform(4, 30) for _ in range(count)]
    first = rng.randrange(count - 1)
    centres = np.cumsum([0, *gaps[1:]]) - sum(gaps[1 : first + 1])
    letters = "ABCD"[: rng.randint(3, 4)]
    codes = [c for n in range(1, len(letters) + 1) for c in combinations(letters, n)]
    codes = rng.sample(codes, count)
    used = [x for x in letters if any(x in code for code in codes)]
    contacts = {x: [[deg(c - half), deg(c + half)] for c, k in zip(centres, codes, strict=True) if x in k]
                for x in used}  # fmt: skip
    values["contact"] = [{"name": x, "closed": contacts[x]} for x in used]
    values["mode_switch"] = {"part": "switch rotor", "settle": deg(rng.uniform(0.2, 1.5))}
    names = [f"MODE {i}" for i in range(count)]
    values["mode"] = [{"name": n, "code": list(c)} for n, c in zip(names, codes, strict=True)]
    values["reference_mode"] = names[first]
    drive, senses = values["drive"], {n: ("loading", "unloading") for n in names}
    if cyclic:
        drive["cycle"] = 360
        return senses
    low, high = centres[0] - half - rng.uniform(3, 20), centres[-1] + half + rng.uniform(3, 20)
    if "output" in values:
        edge = low
        low = edge - rng.uniform(30, 90)
        _aside_stage(rng, values, edge, low)
        senses["ASIDE"] = ("unloading",)
        values["stage"].append({"name": "cam", "from": deg(edge), "to": deg(high), "drives": ["main cam"],
                                "through": "the train", "held": "the ring"})  # fmt: skip
    drive["low_stop"], drive["high_stop"] = deg(low), deg(high)
    return senses


def _aside_stage(rng: random.Random, values: dict, edge: float, low: float):
    """A stage that drives the ring, with a mode at its far end and a contact that tells it."""
    values["stage"] = [
        {"name": "aside", "from": deg(low), "to": deg(edge), "drives": ["ring"], "through": "the ring",
         "held": "the cam", "end_contact": "K", "solenoid": rng.random() < 0.4}
    ]  # fmt: skip
    lag = 4.0  # more than any play
    closes = low - edge + rng.uniform(6, 12) + lag
    arc = [deg(closes - 80), deg(closes)]
    values["contact"].append({"name": "K", "part": "ring gear", "closed": [arc]})
    values["mode"].insert(0, {"name": "ASIDE", "code": ["K"]})


def _stage_needs(rng: random.Random, values: dict, machine: Machine):
    """The aside stage may ask for a state that holds all along it."""
    if "stage" not in values or rng.random() < 0.4:
        return
    theta = np.linspace(machine.low, machine.stages[0][1], 2000)
    for follower, states in machine.states.items():
        for state in states:
            if all(np.all(_clearly(machine, follower, state, theta, s)) for s in (1, -1)):
                values["stage"][0]["needs"] = {follower: state}
                return


# ---- Followers and what is asked of them ----


def _followers(rng: random.Random, values: dict, cyclic: bool):
    carriers = [part["name"] for part in values["part"]] + ["main cam"]
    values["follower"] = []
    names = ["tape arms", "pinch lever", "brake shoes", "reel idler", "tension band"]
    for name in names[: rng.randint(2, 5)]:
        lifts = [0.0]
        for _ in range(rng.randint(1, 3)):
            lifts.append(round(lifts[-1] + rng.uniform(1.5, 12), 2))
        states = dict(zip(rng.sample(["home", "half", "down", "over"], len(lifts)), lifts, strict=True))
        row = {"name": name, "part": rng.choice(carriers), "tolerance_mm": round(rng.uniform(0.1, 0.6), 2)}
        row |= {"states": states, "track": _track(rng, list(states), cyclic)}
        if not cyclic:
            row["track_from"] = deg(-500)
        values["follower"].append(row)


def _track(rng: random.Random, states: list[str], cyclic: bool) -> list[dict]:
    """Holds and moves in turn, over one turn or from far below the low stop to far above the high one."""
    at, end = (rng.uniform(10, 40), 340) if cyclic else (rng.uniform(-120, 20), 240)
    here = first = rng.choice(states)
    track = [{"hold": here, "until": deg(at)}]
    while True:
        target = rng.choice([s for s in states if s != here])
        move, hold = rng.uniform(8, 40), rng.uniform(6, 60)
        if at + move + hold > end - 45:
            break
        to = target if rng.random() < 0.9 or "move_to" in track[-1] else {"mm": 0.77}
        track.append({"move_to": to, "until": deg(at + move), "law": rng.choice(LAWS)})
        at += move
        if to == target:
            track.append({"hold": to, "until": deg(at + hold)})
            at, here = at + hold, to
    if track[-1].get("hold") != first or "move_to" in track[-1]:
        track.append({"move_to": first, "until": deg(at + 30), "law": rng.choice(LAWS)})
        at += 30
    track.append({"hold": first, "until": deg(360 if cyclic else 900)})
    return track


def _clearly(machine: Machine, follower: str, need, theta, sense: int):
    """True where the follower suits, and still would with its part a little off either way."""
    angles = machine.angles(theta, sense)
    lifts = [machine.lift(follower, angles, d) for d in (-CLEAR_DEG, 0.0, CLEAR_DEG)]
    return np.all([machine.within(follower, need, lift) for lift in lifts], axis=0)


def _needs(rng: random.Random, values: dict, machine: Machine, mode: str) -> dict:
    """What each follower does at the mode's stop angles in both senses, named in one way or another."""
    found = {}
    stops = [(s, stop) for s in (1, -1) if (stop := machine.stop_angle(mode, s)) is not None]
    for follower, states in machine.states.items():
        for state in [*states, "between"]:
            if all(_clearly(machine, follower, state, np.array([stop]), s)[0] for s, stop in stops):
                low, high = states.get(state, (-400.0, 400.0))
                as_range = {"from_mm": low - 0.1, "to_mm": high + 0.1}
                found[follower] = rng.choice([state, state, [state], as_range])
    kept = [f for f in found if rng.random() < 0.8] or list(found)[:1]
    spare = values["follower"][0]["name"]
    return {f: found[f] for f in kept} or {spare: {"from_mm": -400, "to_mm": 400}}


def _interlocks(rng: random.Random, values: dict, machine: Machine):
    """Up to three pairs that nowhere collide while all is right."""
    values["interlock"], names = [], list(machine.states)
    for number in range(12):
        first, second = rng.sample(names, 2)
        asks = rng.sample([*machine.states[first], "between"], rng.randint(1, 2))
        must = rng.sample([*machine.states[second], "between"], rng.randint(1, 2))
        row = {"name": f"pair {number}", "while": {first: asks}, "must": {second: must}}
        used = all(
            np.any(machine.within(f, n, machine.tracks[f][1])) for f, n in ((first, asks), (second, must))
        )
        if used and not any(machine.clashes(row, shift) for shift in (-0.1, 0.0, 0.1)):
            values["interlock"].append(row)
        if len(values["interlock"]) == 3:
            return


def _controller(rng: random.Random, values: dict, senses: dict, cyclic: bool) -> dict:
    names = [mode["name"] for mode in values["mode"]]

    def leg():
        mode = rng.choice(names)
        return {"sense": rng.choice(senses[mode]), "mode": mode}

    controller = {"order": names, "time_out_s": round(rng.choice([0.6, 3, 8, 15]), 1), "home": leg()}
    if rng.random() < 0.6:
        controller["retry"] = {**leg(), "times": rng.randint(1, 2)}
    if rng.random() < 0.6:
        start, target = rng.sample(names, 2)
        last = {"sense": rng.choice(senses[target]), "mode": target}
        if rng.random() < 0.3:
            last["turn_first"] = True
        controller["change"] = [{"from": [start], "to": target, "legs": [leg(), last]}]
    if rng.random() < 0.5:
        follower = rng.choice(values["follower"])
        controller["watch"] = [{"sensor": "reel pulses", "modes": [rng.choice(names)], "delay_s": 3,
                                "needs": {follower["name"]: follower["track"][0]["hold"]}}]  # fmt: skip
    return controller
