"""How a solenoid warms up under pulls that repeat: its copper takes less current the warmer it gets.

While it pulls τ·dΔ/dt = Rth·V²/R(θ) − Δ, while it waits τ·dΔ/dt = −Δ, with Δ the rise over the surroundings
and R(θ) that of copper.  Each pull is stepped through with the power in the middle of a step; where pulls
follow fast, as many of them are taken together as fill a small part of the time constant.  That is right to
a few hundredths of a degree, or to 0.15 °C where pulls are taken together.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, exp, expm1

import numpy as np

from mechlib.drives.copper import TEMPERATURE_C, resistance_at
from mechlib.drives.heating import STEP_S, Body
from mechlib.drives.solenoid import COLD_C, Solenoid
from mechlib.drives.thermal_cut_off import CutOff, Opening
from mechlib.errors import check_number
from mechlib.say import say

SETTLED = 10  # time constants after which nothing changes any more
FINE, TOGETHER_S = 100, 3.0  # a step is τ/FINE of fast pulls, or so many seconds if that is more,
COARSE = 20  # but τ/COARSE at most
INSIDE = 80  # a pull is stepped through in parts of at most τ/INSIDE


class _Beat:
    """One pull and pause, and what they make of a rise."""

    def __init__(self, one: Solenoid, voltage_V: float, pull_s: float, pause_s: float, ambient_C: float):
        self.body, self.ambient_C = one.body, ambient_C
        self.tau = one.body.time_constant_s
        self.ohm = [resistance_at(one.resistance_ohm, end, COLD_C) for end in TEMPERATURE_C]
        self.square = one.body.resistance_K_W * voltage_V**2
        self.pull_s, self.pause_s = pull_s, pause_s
        self.parts = ceil(pull_s / (self.tau / INSIDE))

    def final(self, rise: float) -> float:
        """The rise that the power at this rise would come to if it lasted: Rth·V²/R(θ), R a straight line."""
        low, high = TEMPERATURE_C
        part = (self.ambient_C + rise - low) / (high - low)
        return self.square / (self.ohm[0] + part * (self.ohm[1] - self.ohm[0]))

    def towards(self, rise: float, share: float, decay: float) -> float:
        """Later, with that share of the power; the power is taken half-way."""
        half = share * self.final(rise)
        half += (rise - half) * decay**0.5
        end = share * self.final(half)
        return end + (rise - end) * decay

    def pull(self, rise: float) -> list[float]:
        """The rise at the start of a pull and at the end of each of its parts."""
        decay, rises = exp(-self.pull_s / self.parts / self.tau), [rise]
        for _ in range(self.parts):
            rises.append(self.towards(rises[-1], 1.0, decay))
        return rises

    def seconds_to(self, wanted: float, rise: float) -> float:
        """Time within a pull at which a rise is reached that it comes to; straight from part to part."""
        parts = np.linspace(0, self.pull_s, self.parts + 1)
        return float(np.interp(wanted, self.pull(rise), parts))

    def after(self, rise: float, high: float, together: int) -> float:
        """The rise when the next pull begins, or the one after so many.

        Under equal pulls the rise at their starts goes to a share of Rth·P that follows from the beat.
        """
        if together == 1:
            return high * exp(-self.pause_s / self.tau)
        period = self.pull_s + self.pause_s
        share = expm1(-self.pull_s / self.tau) / expm1(-period / self.tau) * exp(-self.pause_s / self.tau)
        return self.towards(rise, share, exp(-together * period / self.tau))


@dataclass(frozen=True, eq=False)
class Warming:
    """Temperatures in °C: at the times ``start_s`` a pull begins, at ``end_s`` the same pull ends.

    ``together``: 1 if these are all pulls, otherwise every so many-th.  It has settled at the last one.
    """

    beat: _Beat
    start_s: np.ndarray
    low_C: np.ndarray
    end_s: np.ndarray
    high_C: np.ndarray
    together: int

    @property
    def body(self) -> Body:
        """What is heated."""
        return self.beat.body

    @property
    def ambient_C(self) -> float:
        """The warmth around it."""
        return self.beat.ambient_C

    @property
    def peak_C(self) -> float:
        """The highest temperature that it comes to."""
        return float(max(self.high_C))

    def at(self, seconds: float) -> float:
        """Temperature at the start of a pull that begins at a time of 0 s on.  Raises MechError before."""
        return float(np.interp(check_number("seconds", seconds, 0, 1e7, "s"), self.start_s, self.low_C))

    def seconds_to(self, temperature_C: float) -> float | None:
        """Time in s at which a temperature of −300 to 1e5 °C is reached first; None if never."""
        over = np.flatnonzero(self.high_C >= check_number("temperature_C", temperature_C, -300, 1e5, "°C"))
        if not len(over):
            return None
        at = int(over[0])
        if self.low_C[at] >= temperature_C:  # between two of the pulls that are kept
            return float(np.interp(temperature_C, self.low_C[: at + 1], self.start_s[: at + 1]))
        low, wanted = self.low_C[at] - self.ambient_C, temperature_C - self.ambient_C
        return float(self.start_s[at]) + self.beat.seconds_to(wanted, low)

    def opening(self, cut_off: CutOff) -> Opening:
        """When it opens a cut-off that sits in the winding."""
        marks = (cut_off.holding_C, cut_off.earliest_C, cut_off.rated_C)
        return Opening(cut_off, *map(self.seconds_to, marks), self.peak_C)

    def sentence(self) -> str:
        """The last ripple."""
        return f"The winding settles between {say(self.low_C[-1])} and {say(self.high_C[-1], '°C')}."


def warming(
    one: Solenoid, voltage_V: float, pull_s: float, pause_s: float, ambient_C: float, least_s: float
) -> Warming:
    """Warm a solenoid up from its surroundings, until it has settled and ``least_s`` have passed.

    ``voltage_V``: 0 to 400 V, while it pulls; ``pull_s``, ``pause_s``: 0.0001 to 10 000 s; ``ambient_C``: −40
    to 150 °C; ``least_s``: 0 to 1e5 s.  Returns a Warming.  Raises MechError out of range.  Source: the
    first-order thermal model of any handbook on electric machines, with the resistance of copper.

    >>> warming(Solenoid(20, 5, 0.5, 4, Body(15, 300)), 12, 2, 8, 25, 0).sentence()
    'The winding settles between 44.4 and 45.0 °C.'
    """
    check_number("voltage_V", voltage_V, 0, 400, "V")
    check_number("pull_s", pull_s, STEP_S[0], 1e4, "s")
    check_number("pause_s", pause_s, STEP_S[0], 1e4, "s")
    check_number("ambient_C", ambient_C, -40, 150, "°C")
    tau, period = one.body.time_constant_s, pull_s + pause_s
    last = max(check_number("least_s", least_s, 0, 1e5, "s"), SETTLED * tau)
    beat = _Beat(one, voltage_V, pull_s, pause_s, ambient_C)
    together = max(1, int(min(max(tau / FINE, TOGETHER_S), tau / COARSE) / period))
    start = together * period * np.arange(ceil(last / (together * period)) + 1)
    rise, lows, highs = 0.0, [], []
    for _ in start:
        lows.append(rise)
        highs.append(beat.pull(rise)[-1])
        rise = beat.after(rise, highs[-1], together)
    low, high = (ambient_C + np.array(rises) for rises in (lows, highs))
    return Warming(beat, start, low, start + pull_s, high, together)
