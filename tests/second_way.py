"""A second, independent way through a transport file: read the TOML, sample densely, step through changes.

Nothing of mechlib is used here.  Where mechlib.transports computes with arcs and exact events, this module
samples every follower and contact on a fine grid of drive angles, looks at what is true at each sample and
refines only the edges that it found.  It knows no checks: it expects a sound file.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field, replace
from functools import cache

import numpy as np
from second_way_laws import lift_shape

STEP_DEG = 0.02  # between samples; every edge found is then refined to EDGE_DEG
EDGE_DEG = 1e-5
SENSES = {"loading": 1, "unloading": -1}


# ---- The machine: what the file says, with faults put in ----


@dataclass(frozen=True)
class Faults:
    """What is wrong with it: teeth out per part, split angles, contacts and so on."""

    slips: dict = field(default_factory=dict)
    splits: dict = field(default_factory=dict)
    bends_mm: dict = field(default_factory=dict)
    dirty_deg: dict = field(default_factory=dict)
    open: tuple = ()
    dead_solenoid: bool = False
    worn: tuple = ()  # rests at which a latch misses
    off_at: dict = field(default_factory=dict)  # these two are for second_way_lost
    missing: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Part:
    """A timed part in main-cam degrees: where it hangs, how far it is out, what play its mesh has."""

    name: str
    parent: str
    shift: float
    play: float
    stops: tuple


class Machine:
    """A transport as this module sees it; ``faults`` may be changed with ``with_faults``."""

    senses = (1, -1)
    before = 0.0  # degrees before the low end at which a look for codes begins

    def __init__(self, data: dict, faults: Faults | None = None, sound: Machine | None = None):
        self.data, self.faults, self.sound = data, faults or Faults(), sound or self
        drive = data["drive"]
        self.teeth = drive["main_gear_teeth"]
        self.shafts = {row["name"]: row["turns_per_cam_turn"] for row in data.get("hand_shaft", [])}
        self.cycle = drive.get("cycle")
        self.low, self.high = 0.0, float(self.cycle or 0)
        if not self.cycle:
            self.low, self.high = self.deg(drive["low_stop"]), self.deg(drive["high_stop"])
        self.speed = drive.get("speed_deg_s", np.inf)  # inf: a motor
        self.coast = self.deg(drive.get("coast", {"deg": 0}))  # neither stands in a released machine's file
        self.settle = self.deg(data["mode_switch"].get("settle", {"deg": 0}))
        self.stages = [
            (self.deg(row["from"]), self.deg(row["to"]), row) for row in data.get("stage", [])
        ] or [(self.low, self.high, {"drives": ["main cam"]})]
        self._read_parts()
        self._read_tracks()
        self.modes = {row["name"]: row for row in data["mode"]}
        self.codes = {self._bits(row["code"]): row["name"] for row in data["mode"]}
        self.stop_angle = cache(self.stop_angle)  # margins and changes ask for the same few again

    @classmethod
    def from_toml(cls, text: str) -> Machine:
        return cls(tomllib.loads(text))

    def with_faults(self, **faults) -> Machine:
        return type(self)(self.data, replace(self.faults, **faults), self.sound)

    def deg(self, angle: dict) -> float:
        if "deg" in angle:
            return float(angle["deg"])
        if "teeth" in angle:
            return angle["teeth"] * 360 / self.teeth
        shaft = angle.get("of") or next(iter(self.shafts))
        return angle["turns"] * 360 / self.shafts[shaft]

    def _read_parts(self):
        self.rho = {"main gear": 1.0, "main cam": 1.0}
        count = {"main gear": self.teeth, "main cam": self.teeth}
        for row in self.data.get("output", []):
            self.rho[row["name"]], count[row["name"]] = row["speed"], row["teeth"]
        self.roots = [root for root in self.rho if root != "main gear"]
        self.parts, waiting = [], list(self.data.get("part", []))
        while waiting:
            row = next(r for r in waiting if r["meshes_with"] in self.rho)
            waiting.remove(row)
            parent, name = row["meshes_with"], row["name"]
            pitch = 360 / (row.get("parent_teeth", count[parent]) * abs(self.rho[parent]))
            count[name] = row["teeth"]
            self.rho[name] = 360 / (pitch * row["teeth"])  # only its size matters here
            stops = tuple(self.deg(row[key]) if key in row else None for key in ("low_stop", "high_stop"))
            shift = self.faults.slips.get(name, 0) * pitch + self.faults.splits.get(name, 0.0)
            play = row.get("play_teeth", 0.0) * pitch + row.get("play_part_deg", 0.0) / self.rho[name]
            self.parts.append(Part(name, parent, shift, play, stops))

    def _read_tracks(self):
        self.tracks, self.states, self.carrier = {}, {}, {}
        for row in self.data["follower"]:
            name, tol = row["name"], row["tolerance_mm"]
            self.states[name] = {s: (lift - tol, lift + tol) for s, lift in row["states"].items()}
            self.carrier[name] = row["part"]
            self.tracks[name] = self._table(row)
        self.contacts = []
        for row in self.data["contact"]:
            shrink = self.faults.dirty_deg.get(row["name"], 0.0)
            arcs = [(self.deg(a) + shrink, self.deg(b) - shrink) for a, b in row["closed"]]
            arcs = [] if row["name"] in self.faults.open else arcs
            self.contacts.append((row["name"], row.get("part", self.data["mode_switch"]["part"]), arcs))

    def _table(self, row) -> tuple[np.ndarray, np.ndarray]:
        """The track as a dense table of angle and lift."""

        def lift_of(piece):
            word = piece.get("move_to", piece.get("hold"))
            return float(word["mm"] if isinstance(word, dict) else row["states"][word])

        at, lift = 0.0 if self.cycle else self.deg(row["track_from"]), lift_of(row["track"][0])
        angles, lifts = [np.array([at])], [np.array([lift])]
        for piece in row["track"]:
            until, target = self.deg(piece["until"]), lift_of(piece)
            u, s = lift_shape(piece["law"]) if "move_to" in piece else (np.array([0.0, 1.0]), np.zeros(2))
            angles.append(at + u * (until - at))
            lifts.append(lift + s * (target - lift))
            at, lift = until, target
        bend = self.faults.bends_mm.get(row["name"], 0.0)
        return np.concatenate(angles), np.concatenate(lifts) + bend

    def _bits(self, code) -> int:
        names = [row["name"] for row in self.data["contact"]]
        return sum(1 << names.index(name) for name in code)

    # ---- Where everything stands along an array of drive angles ----

    def driven(self, theta) -> dict:
        """Angle of the main cam and of each other output, in main-cam degrees: only the driven ones turn."""
        if self.cycle:
            return {root: theta for root in (*self.roots, "main gear")}
        found = {}
        for root in self.roots:
            arcs = [(a, b) for a, b, row in self.stages if root in row["drives"]]
            found[root] = sum(np.clip(theta, a, b) - min(max(0.0, a), b) for a, b in arcs) + 0 * theta
        found["main gear"] = found["main cam"]
        return found

    def angles(self, theta, sense: int, state: dict | None = None) -> dict:
        """Angle of every part, its slip included, as the drive moves in ``sense`` through ``theta``.

        With ``state`` (part angles at the start) play is taken up only as the motion takes it up; without,
        it is taken up already.
        """
        found = self.driven(theta)
        for part in self.parts:
            drive = found[part.parent] + part.shift
            if state is None:
                found[part.name] = drive if sense > 0 else drive + part.play
            elif sense > 0:
                found[part.name] = np.maximum(state[part.name], drive)
            else:
                found[part.name] = np.minimum(state[part.name], drive + part.play)
        return found

    def _turn(self, angle, start):
        return angle - 360 * np.floor((angle - start) / 360) if self.cycle else angle

    def lift(self, follower: str, angles: dict, extra: float = 0.0):
        at, lift = self.tracks[follower]
        return np.interp(self._turn(angles[self.carrier[follower]] + extra, at[0]), at, lift)

    def code(self, angles: dict):
        total = 0
        for bit, (_, part, arcs) in enumerate(self.contacts):
            closed = False
            for a, b in arcs:
                at = self._turn(angles[part], a)
                closed = closed | ((at >= a) & (at <= b))
            total = total + (1 << bit) * np.asarray(closed, dtype=int)
        return total + 0 * angles["main cam"].astype(int)

    def within(self, follower: str, need, lift):
        """True where the lift suits: a state's name, a list of names, or a range in mm."""
        if isinstance(need, dict):
            return (lift >= need["from_mm"]) & (lift <= need["to_mm"])
        names = [need] if isinstance(need, str) else need
        inside = {s: (lift >= a) & (lift <= b) for s, (a, b) in self.states[follower].items()}
        inside["between"] = ~np.any(list(inside.values()), axis=0)
        return np.any([inside[name] for name in names], axis=0)

    def collides(self, row: dict, angles: dict, extra: float = 0.0, extra_second: float = 0.0):
        """True where an interlock's first follower asks for what the second doesn't give."""
        (first, asks), (second, must) = *row["while"].items(), *row["must"].items()
        asked = self.within(first, asks, self.lift(first, angles, extra))
        return asked & ~self.within(second, must, self.lift(second, angles, extra_second))

    def right(self, mode: str, follower: str, angles: dict):
        return self.within(follower, self.modes[mode]["needs"][follower], self.lift(follower, angles))

    # ---- Arcs, stop angles, margins ----

    def arcs(self, true_at, low: float, high: float) -> list[tuple[float, float]]:
        """Arcs of [low, high] where ``true_at(theta)`` holds, each edge refined by halving."""
        theta = np.linspace(low, high, max(2, int((high - low) / STEP_DEG) + 1))
        flags = true_at(theta)
        where = np.flatnonzero(flags[1:] != flags[:-1])
        left, right, rising = theta[where], theta[where + 1], flags[where + 1]
        while len(where) and np.max(right - left) > EDGE_DEG:
            middle = (left + right) / 2
            beyond = true_at(middle) == rising
            left, right = np.where(beyond, left, middle), np.where(beyond, middle, right)
        edges = list((left + right) / 2)
        edges = ([low] if flags[0] else []) + edges + ([high] if flags[-1] else [])
        return list(zip(edges[::2], edges[1::2], strict=True))

    def readings(self, mode: str, sense: int) -> list[float]:
        """Angles at which the mode's code counts as the drive runs all the way, its own place first."""
        code, found = self._bits(self.modes[mode]["code"]), []
        low, high = self.low - self.before, self.high + (self.cycle or 0)
        for a, b in self.arcs(lambda t: self.code(self.angles(t, sense)) == code, low, high):
            edge, in_motion = (a, a > low) if sense > 0 else (b, b < high)
            if in_motion and b - a >= self.settle:
                found.append(edge + sense * self.settle)
        found = self.in_turn(found)[::sense]
        return sorted(found, key=lambda read: self.falsely_read(mode, self.at(read, sense)))

    def in_turn(self, reads: list[float]) -> list[float]:
        """The same in one turn, rising, for a cam that goes round."""
        return sorted({round(read % self.cycle, 5) % self.cycle for read in reads}) if self.cycle else reads

    def at(self, theta: float, sense: int, state: dict | None = None) -> dict:
        """Where every part stands at one angle (arrays of one value)."""
        return self.angles(np.array([float(theta)]), sense, state)

    def stop_angle(self, mode: str, sense: int) -> float | None:
        """Where the drive comes to rest: at the code read in its own place, if it is read there at all."""
        reads = self.readings(mode, sense)
        if not reads:
            return None
        stop = self.coasted(reads[0], sense)
        return stop if self.cycle else min(max(stop, self.low), self.high)

    def coasted(self, read: float, sense: int) -> float:
        """Coasting, which ends where another motor would have to turn what follows."""
        stops = [read + sense * self.coast, *(edge for edge, _, _ in self.borders(sense))]
        return min((stop for stop in stops if sense * (stop - read) >= 0), key=lambda stop: sense * stop)

    def borders(self, sense: int) -> list[tuple[float, dict, float]]:
        """Where another motor takes over: the angle, what tells that, and where the stage before began."""
        rows, word = self.stages[::sense], {1: "loading", -1: "unloading"}[sense]
        return [
            ((b, row["hand_over"][word], a) if sense > 0 else (a, row["hand_over"][word], b))
            for (a, b, row), (_, _, after) in zip(rows, rows[1:], strict=False)
            if row.get("motor") != after.get("motor")
        ]

    def falsely_read(self, mode: str, angles: dict) -> bool:
        """True where some part's contacts would, on the way to their own place for the mode, change."""
        sound, own = self.sound, self.sound.own_place(mode)
        for part in {part for _, part, _ in sound.contacts}:
            gap = angles[part][0] - own[part][0]
            gap = (gap + 180) % 360 - 180 if self.cycle else gap
            way = own[part][0] + np.linspace(0, 1, max(2, int(abs(gap) / STEP_DEG))) * gap
            codes = sound.code({name: way if name == part else 0 * way + own[name] for name in own})
            if np.any(codes != codes[0]):
                return True
        return False

    @cache  # noqa: B019  (a few machines live, and as long as the tests do)
    def own_place(self, mode: str) -> dict:
        """Every part in the middle of the arc on which the mode's code shows with no fault in the machine."""
        code, high = self._bits(self.modes[mode]["code"]), self.high + (self.cycle or 0)
        a, b = self.arcs(lambda t: self.code(self.angles(t, 1)) == code, self.low, high)[0]
        return self.at((a + b) / 2, 1)

    def margins(self, mode: str, sense: int) -> dict:
        """For each follower that matters, the distances (below, above) from the stop angle to wrong."""
        found, stop = {}, self.stop_angle(mode, sense)
        low, high = (stop - self.cycle, stop + self.cycle) if self.cycle else (self.low, self.high)
        for follower in self.modes[mode]["needs"]:
            arcs = self.arcs(lambda t, f=follower: self.right(mode, f, self.angles(t, sense)), low, high)
            found[follower] = _distances(stop, arcs)
        return found

    def beyond_stop(self, mode: str, sense: int) -> float | None:
        """How far beyond an end stop the drive would have to go to read the code; None if nowhere."""
        far = type(self)(self.data, self.faults, self.sound)
        far.low, far.high = self.low - 180, self.high + 180
        (a, b, first), last = self.stages[0], self.stages[-1]
        far.stages = [(a - 180, b, first), *self.stages[1:]]
        far.stages[-1] = (far.stages[-1][0], last[1] + 180, last[2])
        gaps = []
        for read in far.readings(mode, sense):
            edge = read - sense * self.settle
            gaps.append(max(self.low - min(edge, read), max(edge, read) - self.high))
        return min(gaps, default=None)

    def clashes(self, row: dict, shift: float, step: float = 0.02) -> bool:
        """True if the first follower's part ``shift`` degrees ahead of the second's makes them collide.

        Anywhere between the stops, in either sense, whichever of the two can be moved without the other: what
        is cut in a root cannot slip, and a part takes along what hangs on it.
        """
        (first,), (second,) = row["while"], row["must"]
        moves = [(shift, 0.0), (0.0, -shift)]
        if shift:
            hung = {part.name: {part.name} for part in self.parts}
            for part in self.parts:
                hung[part.name] |= hung.get(part.parent, set())
            one, two = (self.carrier[name] for name in (first, second))
            alone = one in hung and one not in hung.get(two, ()), two in hung and two not in hung.get(one, ())
            moves = [move for move, can in zip(moves, alone, strict=True) if can]
        theta = np.linspace(self.low, self.high, int((self.high - self.low) / step) + 1)
        return any(
            np.any(self.collides(row, angles, *moved))
            for angles in (self.angles(theta, sense) for sense in self.senses)
            for moved in moves
        )


def _distances(stop: float, arcs) -> tuple[float, float] | None:
    """From the stop to both edges of its arc, or of the nearest arc: negative on the side that is missed."""
    if not arcs:
        return None
    a, b = min(arcs, key=lambda arc: max(arc[0] - stop, stop - arc[1]))
    return stop - a, b - stop
