"""The second way for a part-toothed main gear: rests counted tooth by tooth, codes looked at there only.

On top of ``second_way.Machine`` and of ``second_way_force`` for the times; nothing of mechlib is used here.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from second_way import Machine, _distances
from second_way_force import Forces


def rim_of(stretches) -> list[bool]:
    """Place by place whether there is a tooth."""
    return [tooth for teeth, missing in stretches for tooth in [True] * teeth + [False] * missing]


def gaps(rim: list[bool]) -> list[float]:
    """The middle of each run of missing teeth, in places round from the edge of the first place."""
    found, at = [], 0
    while at < len(rim):
        end = at
        while end < len(rim) and not rim[end]:
            end += 1
        if end > at:
            found.append((at + end) / 2)
        at = end + 1
    return found


class ReleasedMachine(Machine):
    """A machine whose cam goes from rest to rest; ``faults.worn`` names rests, from 0 on, that don't hold."""

    senses = (1,)

    def __init__(self, data: dict, faults=None, sound=None):
        super().__init__(data, faults, sound)
        rim = rim_of(data["part_toothed"]["stretches"])
        middles = gaps(rim)
        places = [(middle - middles[-1]) % len(rim) for middle in (middles[-1], *middles[:-1])]
        every = [place * 360 / len(rim) for place in places]
        self.rests = [deg for number, deg in enumerate(every) if number not in self.faults.worn]

    def next_rest(self, theta: float) -> float:
        turn = theta - theta % 360
        ahead = (turn + k + rest for k in (0, 360) for rest in self.rests)
        return min(rest for rest in ahead if rest > theta + 1e-6)

    @cache  # noqa: B019  (a few machines live, and as long as the tests do)
    def travel(self, start: float, end: float) -> float:
        """Seconds from one angle of a turn to another, with all play taken up."""
        if np.isfinite(self.speed):
            return (end - start) / self.speed
        seconds, stalled = Forces(self, 1).travel(start, end)
        assert stalled is None
        return seconds

    def step_seconds(self, number: int, start: float) -> float:
        """Of the step of that number from a start at a rest, its release included."""
        first = self.rests.index(min(self.rests, key=lambda rest: abs(rest - start % 360)))
        here = self.rests[(first + number) % len(self.rests)]
        return self.travel(here, self.next_rest(here)) + self.data["solenoid"]["release_s"]

    def code_at(self, rest: float) -> int:
        return int(self.code(self.at(rest, 1))[0])

    def stop_angle(self, mode: str, sense: int) -> float | None:
        code = self._bits(self.modes[mode]["code"])
        found = [rest for rest in self.rests if sense > 0 and self.code_at(rest) == code]
        found.sort(key=lambda rest: self.falsely_read(mode, self.at(rest, 1)))
        return found[0] if found else None

    @cache  # noqa: B019
    def own_place(self, mode: str) -> dict:
        code = self._bits(self.modes[mode]["code"])
        return self.at(next(rest for rest in self.rests if self.code_at(rest) == code), 1)

    def code_margin(self, mode: str) -> tuple[float, float] | None:
        """From the mode's rest to both edges of its code, as of a follower."""
        code = self._bits(self.modes[mode]["code"])
        stop = self.stop_angle(mode, 1)
        rest = self.sound.stop_angle(mode, 1) if stop is None else stop
        if rest not in self.rests:
            return None
        shown = self.arcs(lambda t: self.code(self.angles(t, 1)) == code, rest - 360, rest + 360)
        return _distances(rest, shown)
