"""How a winding warms up and cools down: one thermal resistance, one time constant, power that is switched.

τ·dΔ/dt = R·P − Δ: in a step of constant power the rise Δ over the surroundings goes to R·P by e^(−t/τ).  A
repeated pattern of steps takes the rise at its start to q·Δ + c with q = e^(−period/τ), so after n patterns
it is Δ∞ + (Δ0 − Δ∞)·qⁿ with Δ∞ = c/(1 − q): exact, without stepping through time.  Source: the first-order
thermal model of any handbook on electric machines.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import ceil, exp, expm1, log, log1p

from mechlib.errors import MechError, check_number
from mechlib.say import say

RESISTANCE_K_W = (0.01, 10000.0)
TIME_CONSTANT_S = (0.1, 1e6)
POWER_W = (0.0, 10000.0)
STEP_S = (1e-4, 1e7)
RISE_K = (-300.0, 1e5)
MOST_STEPS = 20


@dataclass(frozen=True)
class Body:
    """What is heated.

    ``resistance_K_W``: rise for 1 W, 0.01 to 10 000 K/W; ``time_constant_s``: 0.1 to 1e6 s.  Raises MechError
    out of range.
    """

    resistance_K_W: float
    time_constant_s: float

    def __post_init__(self):
        check_number("resistance_K_W", self.resistance_K_W, *RESISTANCE_K_W, "K/W")
        check_number("time_constant_s", self.time_constant_s, *TIME_CONSTANT_S, "s")

    def final_rise(self, power_W: float) -> float:
        """Rise in K under a lasting power of 0 to 10 000 W: R·P.

        >>> Body(15, 480).final_rise(6)
        90
        """
        check_number("power_W", power_W, *POWER_W, "W")
        return self.resistance_K_W * power_W

    def rise(self, power_W: float, seconds: float, start_K: float = 0.0) -> float:
        """Rise in K after a time under constant power: Δ∞ + (Δ0 − Δ∞)·e^(−t/τ).

        ``seconds``: 0 to 1e7; ``start_K``: rise at the start, −300 to 1e5.  Raises MechError out of range.

        >>> round(Body(15, 480).rise(6, 480), 4)
        56.8909
        """
        time = check_number("seconds", seconds, 0, STEP_S[1], "s")
        start = check_number("start_K", start_K, *RISE_K, "K")
        gone = -expm1(-time / self.time_constant_s)
        return start + (self.final_rise(power_W) - start) * gone

    def seconds_to(self, rise_K: float, power_W: float, start_K: float = 0.0) -> float | None:
        """Time in s until a rise is reached under constant power, τ·ln((Δ∞ − Δ0)/(Δ∞ − Δ)); None if never.

        0 if it is reached at the start.  ``rise_K``, ``start_K``: −300 to 1e5.  Raises MechError out of
        range.

        >>> round(Body(15, 480).seconds_to(60, 6), 3), Body(15, 480).seconds_to(90, 6)
        (527.334, None)
        """
        wanted = check_number("rise_K", rise_K, *RISE_K, "K")
        start = check_number("start_K", start_K, *RISE_K, "K")
        final = self.final_rise(power_W)
        if wanted <= start:
            return 0.0
        if wanted >= final:
            return None
        return self.time_constant_s * log1p((wanted - start) / (final - wanted))


@dataclass(frozen=True)
class Step:
    """Constant power, 0 to 10 000 W, for 0.0001 to 1e7 s.  Raises MechError out of range."""

    power_W: float
    seconds: float

    def __post_init__(self):
        check_number("power_W", self.power_W, *POWER_W, "W")
        check_number("seconds", self.seconds, *STEP_S, "s")


@dataclass(frozen=True)
class RepeatedHeating:
    """A body heated by a pattern of 1 to 20 steps that repeats for ever, from a rise of ``start_K``.

    ``start_K``: −300 to 1e5.  Raises MechError otherwise.

    >>> RepeatedHeating(Body(15, 480), (Step(20, 3), Step(0, 7))).sentence()
    'The rise ends between 89.3 K and 90.7 K, at 6.00 W on average.'
    """

    body: Body
    steps: tuple[Step, ...]
    start_K: float = 0.0

    def __post_init__(self):
        if not 1 <= len(self.steps) <= MOST_STEPS:
            raise MechError(f"the pattern has {len(self.steps)} steps", f"it must have 1 to {MOST_STEPS}")
        check_number("start_K", self.start_K, *RISE_K, "K")

    @property
    def period_s(self) -> float:
        """Time of one pattern."""
        return sum(step.seconds for step in self.steps)

    @property
    def mean_W(self) -> float:
        """Average power: Σ P·t over the period."""
        return sum(step.power_W * step.seconds for step in self.steps) / self.period_s

    def _through(self, start_K: float) -> list[float]:
        """Rise at the start of a pattern and at the end of each of its steps."""
        found = [start_K]
        for step in self.steps:
            found.append(self.body.rise(step.power_W, step.seconds, found[-1]))
        return found

    @cached_property
    def steady(self) -> tuple[float, ...]:
        """Rise at the start of the pattern and the end of each step once it repeats itself."""
        settled = self._through(0.0)[-1] / -expm1(-self.period_s / self.body.time_constant_s)
        return tuple(self._through(settled))

    @property
    def peak_K(self) -> float:
        """The highest rise of the steady ripple."""
        return max(self.steady)

    @property
    def trough_K(self) -> float:
        """The lowest rise of the steady ripple."""
        return min(self.steady)

    @property
    def highest_K(self) -> float:
        """The highest rise ever: at the start, in the first pattern or in the steady ripple."""
        return max(*self._through(self.start_K), *self.steady)

    def rise(self, seconds: float) -> float:
        """Rise in K after a time of 0 to 1e7 s.  Raises MechError out of range.

        >>> round(RepeatedHeating(Body(15, 480), (Step(20, 3), Step(0, 7))).rise(600), 3)
        63.747
        """
        time = check_number("seconds", seconds, 0, STEP_S[1], "s")
        rounds = int(time // self.period_s)
        now, left = self._at_start_of(rounds), time - rounds * self.period_s
        for step in self.steps:
            spell = min(step.seconds, max(left, 0.0))
            now, left = self.body.rise(step.power_W, spell, now), left - spell
        return now

    def _at_start_of(self, rounds: int) -> float:
        decay = exp(-rounds * self.period_s / self.body.time_constant_s)
        return self.steady[0] + (self.start_K - self.steady[0]) * decay

    def seconds_to(self, rise_K: float) -> float | None:
        """Time in s at which a rise is reached first; None if never.

        ``rise_K``: −300 to 1e5.  In the steady ripple the end of each step stands at its own rise; before it,
        away from that by (Δ0 − Δ∞)·qⁿ, and less for later ends of steps.  Raises MechError out of range.

        >>> round(RepeatedHeating(Body(15, 480), (Step(20, 3), Step(0, 7))).seconds_to(60), 1)
        521.8
        """
        wanted = check_number("rise_K", rise_K, *RISE_K, "K")
        if wanted <= self.start_K:
            return 0.0
        first = min(self._first_round(wanted), default=None)
        if first is None:
            return None
        around = range(max(0, first - 1), first + 2)  # rounding may be off by one round
        times = (self._inside(rounds, wanted) for rounds in around)
        return next((time for time in times if time is not None), None)

    def _inside(self, rounds: int, wanted: float) -> float | None:
        """Time at which a rise is reached in this round, if it is."""
        now, passed = self._at_start_of(rounds), rounds * self.period_s
        for step in self.steps:
            end = self.body.rise(step.power_W, step.seconds, now)
            if end >= wanted:
                inside = self.body.seconds_to(wanted, step.power_W, now)
                return passed + (step.seconds if inside is None else inside)  # None: so near the final rise
            now, passed = end, passed + step.seconds
        return None

    def _first_round(self, wanted: float) -> Iterable[int]:
        """For each end of a step, the first round in which it stands at least so high."""
        off, spent = self.start_K - self.steady[0], 0.0
        for step, settled in zip(self.steps, self.steady[1:], strict=True):
            spent += step.seconds
            first = off * exp(-spent / self.body.time_constant_s)  # how far off in round 0
            if settled + first >= wanted:
                yield 0
            elif settled > wanted:
                yield ceil(log(first / (wanted - settled)) * self.body.time_constant_s / self.period_s)

    def sentence(self) -> str:
        """The steady ripple and the average power."""
        ripple = f"between {say(self.trough_K, 'K')} and {say(self.peak_K, 'K')}"
        return f"The rise ends {ripple}, at {say(self.mean_W, 'W', 2)} on average."
