"""Mode changes stepped through small steps of the drive: the second way's half that moves.

The controller, play as state, jams, stage conditions, coasting, homing, retry and watches, on top of
``second_way.Machine``.  Nothing of mechlib is used here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from second_way import SENSES, STEP_DEG, Machine

CONTROLLERS = {"elsewhere": "the drive went elsewhere", "too soon": "the drive went elsewhere",
               "not told": "code never seen"}  # fmt: skip


@dataclass
class Rest:
    """Where the drive stands, each part's angle there, and how the last leg ended."""

    theta: float
    state: dict
    how: str = "read"
    cause: str = ""  # what stopped it, or what it coasted into
    false: bool = False  # the code was read out of its own place


def at_rest(machine: Machine, mode: str, sense: int) -> Rest | None:
    """Standing in a mode after a long run in ``sense``, all play taken up; None where that cannot be."""
    stop = machine.stop_angle(mode, sense)
    if stop is None:
        return None
    blocks = _blocks(machine, np.array([stop]), machine.at(stop, sense))
    if any(values[0] for name, values in blocks.items() if name != "elsewhere"):
        return None
    return Rest(stop, _scalars(machine.at(stop, sense)))


def start_in(machine: Machine, mode: str) -> Rest | None:
    """Where a change from ``mode`` starts: a loading arrival, an unloading one where that cannot be."""
    return at_rest(machine, mode, 1) or at_rest(machine, mode, -1)


def _scalars(angles: dict) -> dict:
    return {name: float(values[-1]) for name, values in angles.items()}


def _blocks(machine: Machine, theta, angles: dict) -> dict:
    """For each thing that can stop the motion, the samples at which it does."""
    found = {row["name"]: machine.collides(row, angles) for row in machine.data.get("interlock", [])}
    for part in machine.parts:
        low, high = part.stops
        if low is not None:
            found[f"stop of {part.name}"] = angles[part.name] < low - 1e-9
        if high is not None:
            found[f"stop of {part.name}, high"] = angles[part.name] > high + 1e-9
    elsewhere = np.zeros(len(theta), dtype=bool)
    for a, b, row in machine.stages:
        here = (theta > a) & (theta < b)
        for follower, need in row.get("needs", {}).items():
            elsewhere |= here & ~machine.within(follower, need, machine.lift(follower, angles))
        if row.get("solenoid") and machine.faults.dead_solenoid:
            elsewhere |= here
    found["elsewhere"] = elsewhere
    return found


def _first_block(machine: Machine, start: Rest, sense: int, theta):
    """Last free drive angle along ``theta`` and what stops it there: (angle, cause), or None."""
    flags = _blocks(machine, theta, machine.angles(theta, sense, start.state))
    if not any(np.any(values) for values in flags.values()):
        return None
    k = min(int(np.argmax(values)) for values in flags.values() if np.any(values))
    before = start.theta if k == 0 else theta[k - 1]
    fine = np.linspace(before, theta[k], 401)[1:]
    flags = _blocks(machine, fine, machine.angles(fine, sense, start.state))
    first, cause = min((int(np.argmax(v)), name) for name, v in flags.items() if np.any(v))
    return (before if first == 0 else float(fine[first - 1])), cause


def _wrong_motor(machine: Machine, start: Rest, sense: int, theta) -> tuple[float, str] | None:
    """Where the controller turns the wrong motor first: told that a stage is done too soon, or not told."""
    path, met = np.concatenate(([start.theta], theta)), []
    for edge, told, first in machine.borders(sense):
        bit = machine._bits([told["contact"]])

        def closed(t, bit=bit):
            return (machine.code(machine.angles(t, sense, start.state)) & bit) > 0

        here = path[(sense * (path - first) >= -1e-9) & (sense * (edge - path) >= -1e-9)]
        if len(here) and np.any(closed(here)):
            k = int(np.argmax(closed(here)))
            fine = np.linspace(here[max(k - 1, 0)], here[k], 401)
            soon = fine[np.argmax(closed(fine))] + sense * machine.deg(told["push_on"])
            if sense * (edge - soon) > 1e-6 and sense * (path[-1] - soon) > 1e-6:
                met.append((float(soon), "too soon"))
        there = path[sense * (path - edge) > 1e-9]
        if len(there) and not np.all(closed(there)):
            k = int(np.argmin(closed(there)))
            at_once = max(edge, start.theta, key=lambda t: sense * t)
            met.append((float(there[k - 1]) if k else at_once, "not told"))
    return min(met, key=lambda one: sense * one[0], default=None)


def _reading(machine: Machine, start: Rest, sense: int, theta, code: int) -> float | None:
    """Drive angle at which the code, come up in motion, has stood for the settling angle."""

    def shows(t):
        return machine.code(machine.angles(t, sense, start.state)) == code

    theta = np.concatenate(([start.theta], theta))
    flags = shows(theta)
    for k in np.flatnonzero(flags[1:] & ~flags[:-1]):
        fine = np.linspace(theta[k], theta[k + 1], 401)
        edge, last = float(fine[np.argmax(shows(fine))]), theta[-1]
        for n in np.flatnonzero(~flags[k + 1 :])[:1]:  # where it goes again
            fine = np.linspace(theta[k + n], theta[k + n + 1], 401)
            last = float(fine[np.argmin(shows(fine))])
        if abs(last - edge) >= machine.settle:
            return edge + sense * machine.settle
    return None


def leg(machine: Machine, start: Rest, sense: int, mode: str, even_if_showing: bool = False) -> Rest:
    """Run the motor in ``sense`` until the mode's code is read, something stops it, or time is out."""
    code = machine._bits(machine.modes[mode]["code"])
    showing = machine.code(machine.at(start.theta, sense, start.state))[0] == code
    if showing and not even_if_showing:
        return Rest(start.theta, start.state, false=machine.falsely_read(mode, _arrays(start.state)))
    if hasattr(machine, "rests"):
        return _released(machine, start, mode, code)
    reach = machine.speed * machine.data["controller"]["time_out_s"]
    end = machine.high if sense > 0 else machine.low
    room = np.inf if machine.cycle else abs(end - start.theta)
    length = min(reach, room, 3 * 360.0 if np.isinf(reach) else np.inf)
    travel = np.append(np.arange(STEP_DEG, length, STEP_DEG), length)
    theta = start.theta + sense * travel
    read = _reading(machine, start, sense, theta, code)
    end = start.theta + sense * length
    if read is not None:
        coasted = min(abs(machine.coasted(read, sense) - start.theta), room)
        theta = start.theta + sense * np.append(np.arange(STEP_DEG, coasted, STEP_DEG), coasted)
        end = float(theta[-1])
    block = _first_block(machine, start, sense, theta)
    wrong = _wrong_motor(machine, start, sense, theta)
    before = [at for at in (read, block and block[0]) if at is not None]
    if wrong and all(sense * (at - wrong[0]) > 1e-9 for at in before):
        block = wrong
    if block:
        end = block[0]
    state = _scalars(machine.at(end, sense, start.state))
    if read is not None and sense * (end - read) >= -1e-9:
        false = machine.falsely_read(mode, machine.at(read, sense, start.state))
        hit = block and block[1] not in CONTROLLERS
        return Rest(end, state, "read", block[1] if hit else "", false)
    if block:
        return Rest(end, state, CONTROLLERS.get(block[1], "jammed"), block[1])
    if room <= reach:
        return Rest(end, state, "ran to the end stop")
    how = "too slow" if _would_read(machine, start, sense, code, room) else "code never seen"
    return Rest(end, state, how)


def _released(machine, start: Rest, mode: str, code: int) -> Rest:
    """From rest to rest, a release each, until the code shows at one or the time-out is over at one."""
    if machine.faults.dead_solenoid:
        return Rest(start.theta, start.state, "code never seen")
    seconds, here, late = 0.0, start, None
    for step in range(3 * len(machine.rests)):
        there = machine.next_rest(here.theta)
        theta = np.append(np.arange(here.theta + STEP_DEG, there, STEP_DEG), there)
        if block := _first_block(machine, here, 1, theta):
            return late or Rest(block[0], _scalars(machine.at(block[0], 1, here.state)), "jammed", block[1])
        here = Rest(there, _scalars(machine.at(there, 1, here.state)))
        seconds += machine.step_seconds(step, start.theta)
        if machine.code(_arrays(here.state))[0] == code:
            if late:
                return Rest(late.theta, late.state, "too slow")
            return Rest(there, here.state, false=machine.falsely_read(mode, _arrays(here.state)))
        if late is None and seconds >= machine.data["controller"]["time_out_s"]:
            late = Rest(there, here.state, "code never seen")
    assert late, "a time-out longer than three turns is not known here"
    return late


def _would_read(machine: Machine, start: Rest, sense: int, code: int, room: float) -> bool:
    """Whether the code would be read with all the time in the world, and nothing in the way."""
    length = min(room, 3 * 360.0)
    theta = start.theta + sense * np.append(np.arange(STEP_DEG, length, STEP_DEG), length)
    read = _reading(machine, start, sense, theta, code)
    if read is None:
        return False
    block = _wrong_motor(machine, start, sense, theta) or _first_block(machine, start, sense, theta)
    return not block or sense * (block[0] - read) >= -1e-9


def route(machine: Machine, here: str, target: str) -> list[tuple]:
    """Legs (sense, mode, even if showing) from one mode to another."""
    control = machine.data["controller"]
    for row in control.get("change", []):
        if here in row["from"] and row["to"] == target:
            return [(SENSES[x["sense"]], x["mode"], x.get("turn_first", False)) for x in row["legs"]]
    if here == target:
        return []
    order = control["order"]
    up = machine.cycle or order.index(target) > order.index(here)
    return [(1 if up else -1, target, False)]


def _legs_from(machine: Machine, rest: Rest, target: str) -> list[tuple]:
    """What the controller does from where it stands: by the code it reads, or home first."""
    code = int(machine.code({**machine.at(rest.theta, 1, rest.state), **_arrays(rest.state)})[0])
    if code in machine.codes:
        return route(machine, machine.codes[code], target) or [(1, target, False)]
    home = machine.data["controller"]["home"]
    return [(SENSES[home["sense"]], home["mode"], False), *route(machine, home["mode"], target)]


def _run(machine: Machine, rest: Rest, legs) -> Rest:
    """Where the last leg ended."""
    for sense, mode, anyway in legs:
        rest = leg(machine, rest, sense, mode, anyway)
        if rest.how != "read":
            break
    return rest


def change(machine: Machine, start: Rest, target: str) -> tuple[str, Rest]:
    """How a change to ``target`` ends, and where: outcome and the drive at rest."""
    rest = _run(machine, start, _legs_from(machine, start, target))
    first, retry = rest, machine.data["controller"].get("retry")
    tries = retry.get("times", 1) if retry else 0
    retried = False
    while rest.how != "read" and tries:
        tries, retried = tries - 1, True
        rest = leg(machine, rest, SENSES[retry["sense"]], retry["mode"], retry.get("turn_first", False))
        if rest.how != "read":
            break  # it will not go that way: a second try ends where this one did
        if retry["mode"] != target:
            rest = _run(machine, rest, _legs_from(machine, rest, target))
    if rest.how != "read":
        return first.how, rest
    return _finding(machine, rest, target, rest.cause, retried), rest


def _finding(machine: Machine, rest: Rest, target: str, hit: str, retried: bool) -> str:
    """How a change ends whose last code was read: by where the followers stand, and what the sensors see."""
    if hit:
        return "jammed"
    angles, needs = _arrays(rest.state), machine.modes[target]["needs"]
    wrong = any(not machine.right(target, f, angles)[0] for f in needs)
    if wrong and rest.false:
        return "stopped at a false code"
    for watch in machine.data["controller"].get("watch", []):
        seen = all(machine.within(f, n, machine.lift(f, angles))[0] for f, n in watch["needs"].items())
        if target in watch["modes"] and not seen:
            return "reached, then powered off"
    if wrong:
        return "reached but wrong"
    return "reached on retry" if retried else "reached"


def _arrays(state: dict) -> dict:
    return {name: np.array([value]) for name, value in state.items()}


def change_table(machine: Machine) -> dict[tuple[str, str], tuple[str, float | None]]:
    """How every change ends and where the drive then stands, keyed by (start, target)."""
    starts, table = {mode: start_in(machine, mode) for mode in machine.modes}, {}
    for a, start in starts.items():
        for b in (mode for mode in machine.modes if mode != a):
            outcome, rest = change(machine, start, b) if start else ("cannot start", None)
            table[a, b] = (outcome, rest and rest.theta)
    return table


def legs_that_occur(machine: Machine) -> set[tuple[int, str]]:
    """(sense, mode) of every leg of some change, of the home leg and of the retry."""
    control, modes = machine.data["controller"], machine.modes
    own = [control["home"]] + ([control["retry"]] if "retry" in control else [])
    legs = [leg for a in modes for b in modes if a != b for leg in route(machine, a, b)]
    return {(SENSES[leg["sense"]], leg["mode"]) for leg in own} | {(sense, mode) for sense, mode, _ in legs}


def nudged(machine: Machine, deg: float) -> list[Machine]:
    """The machine with every part, the settling and the coasting angle a little off, one at a time."""
    found = []
    for d in (-deg, deg):
        for part in machine.parts:
            splits = dict(machine.faults.splits)
            splits[part.name] = splits.get(part.name, 0.0) + d
            found.append(machine.with_faults(splits=splits))
        for what in ("settle", "coast", "speed"):
            other = machine.with_faults()
            setattr(other, what, max(0.0, getattr(machine, what) + d))
            found.append(other)
    return found
