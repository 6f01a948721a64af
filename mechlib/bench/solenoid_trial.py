"""Try a solenoid that fires again and again: its warmth, its pull, and when its cut-off opens."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.drives import (
    Body,
    CutOff,
    Opening,
    Pull,
    Solenoid,
    advice,
    resistance_at,
)
from mechlib.drives.copper import TEMPERATURE_C, ZERO_C
from mechlib.drives.solenoid import COLD_C
from mechlib.drives.solenoid_warming import Warming, warming
from mechlib.ranges import Range
from mechlib.say import columns, say

PULL_N, AT_A = 5.0, 0.5  # the pull of the invented solenoid where its plunger starts, and its current
MINUTES = 40.0  # that are looked at
TOO_WEAK = "It is too weak at any warmth."
TABLE_MINUTES = (0, 1, 2, 5, 10, 20, 40)

CONTROLS: dict[str, Range] = {
    "voltage_V": Range("voltage while it pulls", 4.0, 18.0, 0.1, 12.0, "V"),
    "resistance_ohm": Range("resistance of the winding at 20 °C", 10.0, 60.0, 0.5, 20.0, "Ω"),
    "pull_s": Range("pulls for", 0.1, 20.0, 0.1, 2.0, "s"),
    "pause_s": Range("then waits for", 0.1, 60.0, 0.1, 8.0, "s"),
    "resistance_K_W": Range("rise of temperature for each watt", 4.0, 40.0, 0.5, 22.0, "°C"),
    "time_constant_s": Range("thermal time constant", 60.0, 900.0, 10.0, 300.0, "s"),
    "ambient_C": Range("warmth around it", 0.0, 60.0, 1.0, 25.0, "°C"),
    "needed_N": Range("force that it must overcome", 0.5, 8.0, 0.1, 4.0, "N"),
    "rated_C": Range("cut-off, functioning temperature", 80.0, 150.0, 1.0, 115.0, "°C"),
    "holding_C": Range("cut-off, holding temperature", 60.0, 130.0, 1.0, 90.0, "°C"),
    "limit_C": Range("cut-off, maximum temperature limit", 140.0, 250.0, 5.0, 200.0, "°C"),
}
DEFAULTS = {name: control.default for name, control in CONTROLS.items()}


@dataclass(frozen=True, eq=False)
class SolenoidTrial:
    """A solenoid with a cut-off in its winding, under pulls that repeat without end; ``duty``: 0 to 1."""

    solenoid: Solenoid
    voltage_V: float
    duty: float
    warming: Warming
    opening: Opening

    @property
    def ambient_C(self) -> float:
        """The warmth around it, from which it starts."""
        return self.warming.ambient_C

    @property
    def cold(self) -> Pull:
        """The first pull."""
        return self._pull(self.ambient_C)

    @property
    def warm(self) -> Pull:
        """The weakest pull where the plunger starts: the start of the last one before the cut-off opens."""
        return self._pull(self._warmest_start_C)

    @property
    def _warmest_start_C(self) -> float:
        """The warmest winding at the start of a pull, until the cut-off has surely opened."""
        latest = self.opening.latest_s
        before = self.warming.start_s <= (float("inf") if latest is None else latest)
        return float(max(self.warming.low_C[before]))

    @property
    def weak_C(self) -> float | None:
        """From here on it pulls too little: where V/R(θ) is the least current.

        None if that is nowhere from −60 to 300 °C: see ``too_weak``.
        """
        low, high = TEMPERATURE_C
        return self._just_C if low <= self._just_C <= high else None

    @property
    def too_weak(self) -> bool:
        """Whether it pulls too little at any warmth, even at −60 °C."""
        return self._just_C < TEMPERATURE_C[0]

    @property
    def _just_C(self) -> float:
        """The temperature at which V/R(θ) is the least current, where the straight line of R leads to."""
        ohm = self.voltage_V / self.solenoid.least_current_A
        return ohm / self.solenoid.resistance_ohm * (COLD_C - ZERO_C) + ZERO_C

    def _pull(self, winding_C: float) -> Pull:
        return self.solenoid.at(self.voltage_V, min(winding_C, TEMPERATURE_C[1]))

    def verdict(self) -> str:
        """Whether it still pulls, in words."""
        needed = say(self.cold.needed_N, "N")
        if not self.cold.pulls:
            first = say(self.cold.pull_N, "N", 2)
            never = f"It never pulls in: it needs {needed}, and even the first pull is {first}"
            return f"{never}. {TOO_WEAK}" if self.too_weak else f"{never}."
        if not self.warm.pulls:
            cold, weak = say(self.cold.pull_N, "N", 2), say(self.weak_C, "°C")
            return f"It needs {needed}. Cold it pulls {cold}; from {weak} on it pulls too little."
        pulls = f"{say(self.cold.pull_N, 'N', 2)} cold and {say(self.warm.pull_N, 'N', 2)} warm"
        if self.opening.surely_opens:
            return f"Until then it pulls {pulls}, and needs {needed}; with its cut-off open it is dead."
        return f"It pulls {pulls}, and needs {needed}: that does."

    def sentence(self) -> str:
        """How warm it gets, what its cut-off does, and whether it still pulls."""
        mean, duty = say(self.duty * self.cold.power_W, "W", 2), say(100 * self.duty, "%")
        heat = f"It pulls for {duty} of the time and at first turns {mean} into heat on average."
        return f"{heat} {self.opening.sentence()} {self.verdict()}"

    def table(self) -> str:
        """The warming in a few rows, then the cut-off and what to do about an open one."""
        rows = []
        for minutes in TABLE_MINUTES:
            now = min(self.warming.at(60 * minutes), self._warmest_start_C)
            if self.opening.surely_opens and 60 * minutes > self.opening.latest_s:
                rows.append((f"{minutes} min", *["cut-off open"] * 4))
                continue
            pull = self._pull(now)
            ohm = resistance_at(self.solenoid.resistance_ohm, pull.winding_C, COLD_C)
            cells = (say(now, "°C"), say(ohm, "Ω"), say(pull.current_A, "A", 3), say(pull.pull_N, "N", 2))
            rows.append((f"{minutes} min", *cells))
        head = ("after", "winding", "resistance", "current", "pull")
        warmth = f"{columns(head, rows)}\n{TOO_WEAK}" if self.too_weak else columns(head, rows)
        return f"{warmth}\n\nThe cut-off. {self.opening.cut_off.sentence()}\n\n{advice()}"


def trial(
    voltage_V: float,
    resistance_ohm: float,
    pull_s: float,
    pause_s: float,
    resistance_K_W: float,
    time_constant_s: float,
    ambient_C: float,
    needed_N: float,
    rated_C: float,
    holding_C: float,
    limit_C: float,
) -> SolenoidTrial:
    """A solenoid is fired for ``pull_s``, then waits for ``pause_s``, again and again, from cold.

    It pulls 5 N at 0.5 A where its plunger starts (invented), and with I² otherwise; warm copper takes less
    current.  Names, units and ranges as in ``CONTROLS``; ``resistance_K_W`` is the thermal resistance.
    Returns a SolenoidTrial.  Raises MechError for other values, and if holding, functioning and maximum
    temperature don't rise in this order.  Source: the modules of ``mechlib.drives``; terms of IEC 60691.

    >>> print(trial(**DEFAULTS).verdict())
    It pulls 6.93 N cold and 5.66 N warm, and needs 4.0 N: that does.
    """
    given = (voltage_V, resistance_ohm, pull_s, pause_s, resistance_K_W, time_constant_s, ambient_C, needed_N,
             rated_C, holding_C, limit_C)  # fmt: skip
    for (name, control), value in zip(CONTROLS.items(), given, strict=True):
        control.check(name, value)
    cut_off = CutOff(rated_C, holding_C, limit_C)
    one = Solenoid(resistance_ohm, PULL_N, AT_A, needed_N, Body(resistance_K_W, time_constant_s))
    warm = warming(one, voltage_V, pull_s, pause_s, ambient_C, MINUTES * 60)
    return SolenoidTrial(one, voltage_V, pull_s / (pull_s + pause_s), warm, warm.opening(cut_off))
