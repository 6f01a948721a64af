"""Copper windings: resistance and temperature, for motors and solenoids alike."""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.errors import MechError, check_number
from mechlib.say import say

# The temperature at which the straight line of annealed copper's resistance would come to nought.
# Source: IEC 60028 and IEC 60034-1 (235 + θ is common in motor standards; 234.5 is the older, finer value),
# from memory.
ZERO_C = -234.5
TEMPERATURE_C = (-60.0, 300.0)
RESISTANCE_OHM = (1e-3, 1e6)


def resistance_at(resistance_ohm: float, to_C: float, from_C: float = 20.0) -> float:
    """Resistance of a copper winding at another temperature: R2 = R1·(234.5 + θ2)/(234.5 + θ1).

    ``resistance_ohm``: 0.001 to 1e6 Ω, at ``from_C``; both temperatures −60 to 300 °C.  Raises MechError for
    values out of range.  Source: IEC 60028, annealed copper, from memory.

    >>> round(resistance_at(80, 120), 2)
    111.43
    """
    resistance = check_number("resistance_ohm", resistance_ohm, *RESISTANCE_OHM, "Ω")
    to = check_number("to_C", to_C, *TEMPERATURE_C, "°C")
    start = check_number("from_C", from_C, *TEMPERATURE_C, "°C")
    return resistance * (to - ZERO_C) / (start - ZERO_C)


@dataclass(frozen=True)
class WindingTemperature:
    """Mean temperature of a winding as its resistance tells it, and its rise."""

    temperature_C: float
    rise_K: float

    def sentence(self) -> str:
        """The temperature and the rise."""
        way = "above" if self.rise_K >= 0 else "below"
        rise = f"{say(abs(self.rise_K), 'K')} {way} the first reading"
        return f"The winding is at {say(self.temperature_C, '°C')} on average, {rise}."


def temperature_from(resistance_ohm: float, cold_ohm: float, cold_C: float = 20.0) -> WindingTemperature:
    """Temperature of a copper winding from its resistance: θ2 = R2/R1·(234.5 + θ1) − 234.5.

    ``resistance_ohm`` now, ``cold_ohm`` at ``cold_C``: 0.001 to 1e6 Ω, −60 to 300 °C.  A mean over the
    winding: its middle is hotter.  Raises MechError out of range, and where no copper winding could be that
    hot or cold.

    >>> temperature_from(100, 80).sentence()
    'The winding is at 83.6 °C on average, 63.6 K above the first reading.'
    """
    now = check_number("resistance_ohm", resistance_ohm, *RESISTANCE_OHM, "Ω")
    cold = check_number("cold_ohm", cold_ohm, *RESISTANCE_OHM, "Ω")
    start = check_number("cold_C", cold_C, *TEMPERATURE_C, "°C")
    found = now / cold * (start - ZERO_C) + ZERO_C
    low, high = TEMPERATURE_C
    if not low <= found <= high:
        raise MechError(
            f"resistance_ohm is {now:g} Ω, cold_ohm {cold:g} Ω",
            f"copper would be at {say(found, '°C', 0)}; measure both again and let the winding cool first",
        )
    return WindingTemperature(found, found - start)
