"""A pull-in solenoid: current, heat and pull, cold and warm, pulsed or held.

On a constant voltage I = V/R(θ), and R rises with the temperature of its copper.  The pull at one stroke
goes with I²: that holds below saturation of the iron, with the plunger at the place where the reference
pull was measured.  Source: any handbook on electromagnets, for the pull from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from mechlib.drives.copper import TEMPERATURE_C, ZERO_C, resistance_at
from mechlib.drives.heating import Body, RepeatedHeating, Step
from mechlib.errors import MechError, check_number
from mechlib.say import say

VOLTAGE_V = (0.0, 400.0)
RESISTANCE_OHM = (0.05, 1e5)
CURRENT_A = (1e-4, 100.0)
PULL_N = (0.001, 1000.0)
NEED_N = (0.0, 1000.0)
COLD_C = 20.0


@dataclass(frozen=True)
class Pull:
    """A solenoid at one voltage and temperature: current, power, pull and the force that it must overcome."""

    winding_C: float
    current_A: float
    power_W: float
    pull_N: float
    needed_N: float

    @property
    def margin_N(self) -> float:
        """Pull left over; below 0 where it doesn't pull in."""
        return self.pull_N - self.needed_N

    @property
    def pulls(self) -> bool:
        """Whether the pull is at least the force needed."""
        return self.margin_N >= 0

    def sentence(self) -> str:
        """Temperature, current, power, pull and whether it is enough."""
        draws = f"{say(self.current_A, 'A', 3)} ({say(self.power_W, 'W', 2)})"
        verdict = "more than it needs" if self.pulls else "too little"
        pulls = f"{say(self.pull_N, 'N', 2)}: {say(abs(self.margin_N), 'N', 2)} {verdict}"
        return f"At {say(self.winding_C, '°C')} it draws {draws} and pulls {pulls}."


@dataclass(frozen=True)
class Solenoid:
    """A solenoid by its winding and a measured pull.

    ``resistance_ohm``: at 20 °C, 0.05 to 1e5 Ω; ``pull_N``: 0.001 to 1000 N, measured where the plunger
    starts, at ``at_current_A``: 0.0001 to 100 A; ``needed_N``: the force to overcome there, 0 to 1000 N;
    ``body``: how it warms up.  Raises MechError out of range.

    >>> solenoid = Solenoid(24, 5, 0.5, 3, Body(12, 300))
    >>> solenoid.at(12).sentence()
    'At 20.0 °C it draws 0.500 A (6.00 W) and pulls 5.00 N: 2.00 N more than it needs.'
    """

    resistance_ohm: float
    pull_N: float
    at_current_A: float
    needed_N: float
    body: Body

    def __post_init__(self):
        check_number("resistance_ohm", self.resistance_ohm, *RESISTANCE_OHM, "Ω")
        check_number("pull_N", self.pull_N, *PULL_N, "N")
        check_number("at_current_A", self.at_current_A, *CURRENT_A, "A")
        check_number("needed_N", self.needed_N, *NEED_N, "N")

    def at(self, voltage_V: float, winding_C: float = COLD_C) -> Pull:
        """Current V/R(θ), power V·I and pull ~ I².

        ``voltage_V``: 0 to 400 V; ``winding_C``: −60 to 300 °C.  Raises MechError out of range.

        >>> solenoid = Solenoid(24, 5, 0.5, 3, Body(12, 300))
        >>> solenoid.at(12, 110).sentence()
        'At 110.0 °C it draws 0.369 A (4.43 W) and pulls 2.73 N: 0.27 N too little.'
        """
        voltage = check_number("voltage_V", voltage_V, *VOLTAGE_V, "V")
        current = voltage / resistance_at(self.resistance_ohm, winding_C, COLD_C)
        pull = self.pull_N * (current / self.at_current_A) ** 2
        return Pull(float(winding_C), current, voltage * current, pull, float(self.needed_N))

    @property
    def least_current_A(self) -> float:
        """The current at which it just pulls in, I·√(needed/pull)."""
        return self.at_current_A * sqrt(self.needed_N / self.pull_N)

    def held(self, voltage_V: float, ambient_C: float = 25.0) -> Pull:
        """The solenoid after a long time on a voltage: warm, so drawing less.

        The rise Δ settles where Δ = Rth·V²/R(θ): with a = θ_ambient + 234.5, Δ² + a·Δ = Rth·V²·254.5/R20.
        ``ambient_C``: −60 to 150 °C.  Raises MechError out of range, and where it would pass 300 °C: it
        burns.

        >>> Solenoid(24, 5, 0.5, 3, Body(12, 300)).held(12).sentence()
        'At 82.8 °C it draws 0.401 A (4.81 W) and pulls 3.22 N: 0.22 N more than it needs.'
        """
        voltage = check_number("voltage_V", voltage_V, *VOLTAGE_V, "V")
        ambient = check_number("ambient_C", ambient_C, TEMPERATURE_C[0], 150, "°C")
        above, cold = ambient - ZERO_C, COLD_C - ZERO_C
        product = self.body.resistance_K_W * voltage**2 * cold / self.resistance_ohm
        winding = ambient + 2 * product / (above + sqrt(above**2 + 4 * product))
        if winding > TEMPERATURE_C[1]:
            hint = "held on it the winding would burn; take less, or pulses"
            raise MechError(f"voltage_V is {voltage:g} V", hint)
        return self.at(voltage, winding)

    def pulses(
        self, voltage_V: float, on_s: float, off_s: float, hold_V: float | None = None, pull_s: float = 0.1
    ) -> RepeatedHeating:
        """A train of pulses: on for ``on_s``, off for ``off_s``, with the power of the cold winding.

        Warm copper draws less, so this errs on the hot side: a cut-off that stays closed by it does, but for
        whether one opens ask ``solenoid_warming``.  With ``hold_V`` the full voltage lasts for ``pull_s``
        only.  0 to 400 V; times 0.0001 to 1e7 s, ``pull_s`` below ``on_s``.  Raises MechError out of range.

        >>> Solenoid(24, 5, 0.5, 3, Body(12, 300)).pulses(12, 1, 4).sentence()
        'The rise ends between 14.3 K and 14.5 K, at 1.20 W on average.'
        """
        steps = [Step(self.at(voltage_V).power_W, on_s)]
        if hold_V is not None:
            pull = check_number("pull_s", pull_s, 1e-4, on_s, "s", "the pull is part of the time on")
            steps = [Step(steps[0].power_W, pull), Step(self.at(hold_V).power_W, on_s - pull)]
        return RepeatedHeating(self.body, (*steps, Step(0, off_s)))

    def sentence(self) -> str:
        """What it needs to pull in."""
        needs = f"It pulls in from {say(self.least_current_A, 'A', 3)} on"
        volts = say(self.least_current_A * self.resistance_ohm, "V")
        return f"{needs}: {volts} when cold, more when warm."
