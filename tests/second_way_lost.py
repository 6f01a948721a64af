"""The second way for parts that lose their drive: walked through in small steps, tooth by tooth.

On top of ``second_way.Machine``; nothing of mechlib is used here.  ``faults.off_at`` gives by part the place
at which it comes off, ``faults.missing`` by part a list of (place of its parent, slip and all, teeth).  What
a part went through is kept beside the angles: the drive angle at which it stands, and whether it is off.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

import numpy as np
from second_way import Machine
from second_way_released import ReleasedMachine

FINE_DEG = 0.006  # between the steps of a walk
TEETH_DEG = 0.001  # between the places at which a mesh is looked at


class WalkedTo(Mapping):
    """What a walk through ``at`` found, at other drive angles; each part is read off when it is asked for."""

    def __init__(self, theta, at, found: dict):
        self.theta, self.at, self.found = theta, at, found
        self.read = {"theta": theta}

    def __getitem__(self, name: str):
        if name not in self.read:
            self.read[name] = np.interp(self.theta, self.at, self.found[name])
        return self.read[name]

    def __iter__(self):
        return iter((*self.found, "theta"))

    def __len__(self) -> int:
        return len(self.found) + 1


class LostMachine(Machine):
    """A machine in which clips are gone or teeth are missing; sound, it is a plain one."""

    def __init__(self, *args):
        super().__init__(*args)
        self.before = 20.0 if self.cycle and self.faults.missing else 0.0
        self.rows = {row["name"]: row for row in self.data.get("part", [])}
        self._walk = lru_cache(maxsize=6)(self._walked)
        self._mesh = lru_cache(maxsize=None)(self._meshed)

    def angles(self, theta, sense: int, state: dict | None = None) -> dict:
        if not (self.faults.off_at or self.faults.missing):
            return super().angles(theta, sense, state)
        at, found = self._walk(sense, None if state is None else tuple(sorted(state.items())))
        return WalkedTo(np.asarray(theta, float), at, found)

    def in_turn(self, reads: list[float]) -> list[float]:
        """Turns differ: with every one more teeth are lost."""
        return [read for read in reads if read >= 0] if self.before else super().in_turn(reads)

    def readings(self, mode: str, sense: int) -> list[float]:
        """The first turn after the marks comes first, whatever the sense."""
        reads = super().readings(mode, sense)
        if not self.before:
            return reads
        reads.sort()
        return sorted(reads, key=lambda read: self.falsely_read(mode, self.at(read, sense)))

    def _walked(self, sense: int, state) -> tuple[np.ndarray, dict]:
        if state is None:
            return self._from_far(sense)
        state = dict(state)
        span = self._turns_deg() if self.cycle else self.high - self.low + 1
        way = state["theta"] + sense * np.arange(0, span + FINE_DEG, FINE_DEG)
        way = way if self.cycle else np.clip(way, self.low, self.high)
        return self._sorted(way, self._through(way, sense, state), sense)

    def _from_far(self, sense: int) -> tuple[np.ndarray, dict]:
        """All the travel, play taken up; up first, so that what comes off has come off on the way down."""
        low, high = (-380.0, 1100.0) if self.cycle else (self.low, self.high)
        way = np.linspace(low, high, int((high - low) / FINE_DEG) + 1)
        up = self._through(way, 1, None)
        if sense > 0:
            return way, up
        top = {name: float(values[-1]) for name, values in up.items()}
        return self._sorted(way[::-1], self._through(way[::-1], -1, None, top), -1)

    @staticmethod
    def _sorted(way, found: dict, sense: int):
        step = slice(None, None, sense)
        return way[step], {name: values[step] for name, values in found.items()}

    def _through(self, way, sense: int, state: dict | None, top: dict | None = None) -> dict:
        """Every part along a way in one sense; ``top``: where all stands as a way down begins."""
        places, found = dict(self.driven(way)), dict(self.driven(way))
        off_above: set[str] = set()  # what is off, and what hangs on it
        shifts = {name: 0.0 for name in places}
        for part in self.parts:
            name = part.name
            shifts[name] = shifts[part.parent] + part.shift
            known = {"state": state, "top": top}
            before = {key: known[key][name] - shifts[name] for key in known if known[key]}
            # the teeth that meet are those where the parent really stands, its slip and all
            want, is_off = self._mesh(name)(found[part.parent]) - shifts[part.parent], 0 * way
            want = want + (part.play if sense < 0 else 0.0)
            if "state" in before:
                want = np.maximum(before["state"], want) if sense > 0 else np.minimum(before["state"], want)
            if "top" in before and (part.parent in off_above or top["off " + name] > 0.5):
                off_above.add(name)
                want, is_off = 0 * way + before["top"], is_off + top["off " + name]
            elif "state" in before and state["off " + name] > 0.5:
                want, is_off = 0 * way + before["state"], is_off + 1
            elif name in self.faults.off_at and not top:
                want, is_off = self._comes_off(name, want)
            places[name], found[name], found["off " + name] = want, want + shifts[name], is_off
        return found

    def _comes_off(self, name: str, want):
        """Step by step until it comes to its place, and there it stays."""
        at = self.faults.off_at[name]
        if self.cycle:  # it came by long since
            return 0 * want + at, np.ones(len(want))
        gone = np.maximum.accumulate(want >= at - 1e-9)
        return np.where(gone, at, want), gone.astype(float)

    def _meshed(self, name: str):
        """How far a part has been driven at each place of its parent: the sum over all steps with a tooth."""
        missing = self.faults.missing.get(name)
        if not missing:
            return lambda place: place
        row = self.rows[name]
        parent = row["meshes_with"]
        teeth = row.get("parent_teeth") or self.rows.get(parent, {}).get("teeth") or self._root_teeth(parent)
        pitch = 360 / (teeth * abs(self.rho[parent]))
        far = self._turns_deg() + 400 if self.cycle else 2 * (self.high - self.low)
        at = np.arange(-far, far, TEETH_DEG) + TEETH_DEG / 2
        there = np.ones(len(at), dtype=bool)
        for first, number in missing:
            there &= ~(np.floor((at - first) / pitch) % teeth < number)
        driven = np.concatenate(([0.0], np.cumsum(there) * TEETH_DEG))
        ends = np.concatenate((at - TEETH_DEG / 2, [at[-1] + TEETH_DEG / 2]))
        zero = np.interp(0.0, ends, driven)
        return lambda place: np.interp(place, ends, driven) - zero

    def _turns_deg(self) -> float:
        """How far a cam that goes round gets in one leg."""
        return min(self.speed * self.data["controller"]["time_out_s"], 3 * 360.0) + 400

    def _root_teeth(self, root: str) -> int:
        for row in self.data.get("output", []):
            if row["name"] == root:
                return row["teeth"]
        return self.teeth


class LostReleasedMachine(LostMachine, ReleasedMachine):
    """The same for a cam that goes from rest to rest."""
