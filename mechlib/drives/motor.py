"""A permanent-magnet DC motor: its straight line of speed over torque, and what follows from it.

V = R·I + k·ω and T + friction = k·I, with the same constant k in both: N·m/A is V·s/rad.  k is given here
in N·mm/A, as torques are in N·mm.  Voltage, speed, current and torque are signed: + voltage turns it in the
+ sense, and + torque is what the motor gives to its load in the + sense.  Friction (brushes, bearings) is
one torque against the motion, whatever the speed.  Left out: the magnet, which a warm motor weakens a
little (ferrite about 0.2 % a kelvin: common practice, no source), inductance, and the drop across the
brushes beyond R.  Source: Hughes, Electric Motors and Drives, chapter on DC motors, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import copysign, pi, sqrt

from mechlib.drives.copper import resistance_at
from mechlib.errors import MechError, check_number
from mechlib.say import say

RAD_S = pi / 30  # rad/s of 1 rev/min
VOLTAGE_V = (-100.0, 100.0)
SUPPLY_V = (0.1, 100.0)  # of data: a voltage at which it ran
RESISTANCE_OHM = (0.01, 1e4)
CONSTANT_NMM_A = (0.01, 1e4)
TORQUE_NMM = (-1e5, 1e5)
LEAST_TORQUE_NMM = 1e-3
SPEED_REV_MIN = (1.0, 1e5)
AGREE_PERCENT = 10.0  # what data sheets and bench meters may differ by; common practice, no source


@dataclass(frozen=True)
class MotorPoint:
    """A motor at one torque; all values signed."""

    voltage_V: float
    torque_Nmm: float
    rev_min: float
    current_A: float

    @property
    def power_in_W(self) -> float:
        """V·I; below 0 where the load drives the motor and it feeds the supply."""
        return self.voltage_V * self.current_A

    @property
    def power_out_W(self) -> float:
        """T·ω; below 0 where the load drives the motor."""
        return self.torque_Nmm * self.rev_min * RAD_S / 1000

    @property
    def heat_W(self) -> float:
        """What stays in the motor: the difference."""
        return self.power_in_W - self.power_out_W

    @property
    def efficiency(self) -> float:
        """Power out over power in; 0 where it stands or the load drives it."""
        return self.power_out_W / self.power_in_W if self.power_out_W > 0 else 0.0

    def sentence(self) -> str:
        """Speed, current, and where the power goes."""
        start = f"At {say(self.torque_Nmm, 'N·mm', 2)} the motor"
        draws = say(abs(self.current_A), "A", 3)
        if not self.rev_min:
            heat = say(self.power_in_W, "W", 2)
            return f"{start} stands still and draws {draws}: all {heat} turn into heat."
        turns = f"{start} turns at {say(self.rev_min, 'rev/min', 0, sign=True)}"
        if self.power_out_W < 0:
            return f"{turns}, driven by its load, with {draws}; {say(self.heat_W, 'W', 2)} turn into heat."
        out, put_in = say(self.power_out_W, "W", 2), say(self.power_in_W, "W", 2)
        return f"{turns} and draws {draws}: {out} out of {put_in}, {say(100 * self.efficiency, '%', 0)}."


@dataclass(frozen=True)
class Motor:
    """A permanent-magnet DC motor on a supply.

    ``voltage_V``: at its terminals, −100 to 100 V; ``resistance_ohm``: winding and brushes, 0.01 to 10 000
    Ω; ``constant_Nmm_A``: torque for 1 A, 0.01 to 10 000 N·mm/A; ``friction_Nmm``: 0 to 1e5 N·mm, what it
    needs to turn itself.  Raises MechError for values out of range.

    >>> Motor(9, 15, 12, 0.4).sentence()
    'On 9.0 V it turns at +6764 rev/min without load, holds 6.80 N·mm when stalled and then draws 0.600 A.'
    """

    voltage_V: float
    resistance_ohm: float
    constant_Nmm_A: float
    friction_Nmm: float = 0.0

    def __post_init__(self):
        check_number("voltage_V", self.voltage_V, *VOLTAGE_V, "V")
        check_number("resistance_ohm", self.resistance_ohm, *RESISTANCE_OHM, "Ω")
        check_number("constant_Nmm_A", self.constant_Nmm_A, *CONSTANT_NMM_A, "N·mm/A")
        check_number("friction_Nmm", self.friction_Nmm, 0, TORQUE_NMM[1], "N·mm")

    @property
    def stall_current_A(self) -> float:
        """V/R, held still: what a jam draws."""
        return self.voltage_V / self.resistance_ohm

    @property
    def stall_torque_Nmm(self) -> float:
        """The torque that stalls it: k·V/R less friction, signed as the voltage; 0 if it can't start."""
        free = max(0.0, self.constant_Nmm_A * abs(self.stall_current_A) - self.friction_Nmm)
        return copysign(free, self.voltage_V)

    @property
    def no_load_rev_min(self) -> float:
        """Speed without load, signed; 0 if the supply can't overcome its own friction."""
        return self.speed(0)

    def speed(self, torque_Nmm: float) -> float:
        """Speed in rev/min at a torque: ω = R/k²·(k·V/R − T ∓ friction), and 0 where friction holds it.

        ``torque_Nmm``: −1e5 to 1e5, signed.  A torque beyond stall by less than twice the friction is held; a
        larger one turns the motor back.  Raises MechError out of range.

        >>> motor = Motor(9, 15, 12, 0.4)
        >>> round(motor.speed(3.4)), motor.speed(7), round(motor.speed(8.6))
        (3382, 0.0, -995)
        """
        torque = check_number("torque_Nmm", torque_Nmm, *TORQUE_NMM, "N·mm")
        left = self.constant_Nmm_A * self.stall_current_A - torque
        if abs(left) <= self.friction_Nmm:
            return 0.0
        free = left - copysign(self.friction_Nmm, left)
        return 1000 * free * self.resistance_ohm / self.constant_Nmm_A**2 / RAD_S

    def at(self, torque_Nmm: float) -> MotorPoint:
        """Speed and current at a torque: I = (T ± friction)/k, or V/R where it stands.

        Raises MechError out of range (see ``speed``).

        >>> Motor(9, 15, 12, 0.4).at(3.4).sentence()
        'At 3.40 N·mm the motor turns at +3382 rev/min and draws 0.317 A: 1.20 W out of 2.85 W, 42%.'
        """
        rev_min, current = self.speed(torque_Nmm), self.stall_current_A
        if rev_min:
            current = (torque_Nmm + copysign(self.friction_Nmm, rev_min)) / self.constant_Nmm_A
        return MotorPoint(float(self.voltage_V), float(torque_Nmm), rev_min, current)

    def peak_power(self) -> MotorPoint:
        """The point of most power at the shaft: half the stall torque, half the no-load speed, T·ω/4.

        >>> round(Motor(9, 15, 12, 0.4).peak_power().power_out_W, 3)
        1.204
        """
        return self.at(self.stall_torque_Nmm / 2)

    def best_efficiency(self) -> MotorPoint:
        """The point of best efficiency: I = √(I0·I_stall), η = (1 − √(I0/I_stall))², I0 = friction/k.

        Without friction it would lie at no load itself, where nothing is done.

        >>> round(Motor(9, 15, 12, 0.4).best_efficiency().efficiency, 3)
        0.584
        """
        stall = self.constant_Nmm_A * abs(self.stall_current_A)
        torque = max(0.0, sqrt(self.friction_Nmm * stall) - self.friction_Nmm)
        return self.at(copysign(torque, self.voltage_V))

    def on(self, voltage_V: float) -> Motor:
        """The same motor on another voltage (sagging, reversed, 0 to switch it off).

        >>> round(Motor(9, 15, 12, 0.4).on(-6).no_load_rev_min)
        -4377
        """
        return replace(self, voltage_V=voltage_V)

    def warmed(self, winding_C: float, from_C: float = 20.0) -> Motor:
        """The same motor with its winding at another temperature; ``from_C``: where its resistance holds.

        The speed without load hardly changes, the stall torque falls.  Raises MechError outside −60 to 300
        °C.

        >>> round(Motor(9, 15, 12, 0.4).warmed(80).stall_torque_Nmm, 2)
        5.43
        """
        return replace(self, resistance_ohm=resistance_at(self.resistance_ohm, winding_C, from_C))

    def sentence(self) -> str:
        """Both ends of its line and the stalled current."""
        if not self.stall_torque_Nmm:
            return f"On {say(self.voltage_V, 'V')} it doesn't start: its own friction holds it."
        return (
            f"On {say(self.voltage_V, 'V')} it turns at {say(self.no_load_rev_min, 'rev/min', 0, sign=True)} "
            f"without load, holds {say(abs(self.stall_torque_Nmm), 'N·mm', 2)} when stalled and then draws "
            f"{say(abs(self.stall_current_A), 'A', 3)}."
        )


def motor_from_line(
    voltage_V: float, no_load_rev_min: float, stall_torque_Nmm: float, friction_Nmm: float = 0.0
) -> Motor:
    """The motor whose line has these ends: k = V·Ts/((Ts + Tf)·ω0), R = k·V/(Ts + Tf).

    ``voltage_V``: 0.1 to 100 V; ``no_load_rev_min``: 1 to 1e5; ``stall_torque_Nmm``: 0.001 to 1e5;
    ``friction_Nmm``: 0 to 1e5, 0 if it isn't known (its current without load is then told as 0).  Raises
    MechError out of range.

    >>> motor = motor_from_line(9, 6764, 6.8, 0.4)
    >>> round(motor.resistance_ohm, 2), round(motor.constant_Nmm_A, 2)
    (15.0, 12.0)
    """
    voltage = check_number("voltage_V", voltage_V, *SUPPLY_V, "V")
    omega = RAD_S * check_number("no_load_rev_min", no_load_rev_min, *SPEED_REV_MIN, "rev/min")
    stall = check_number("stall_torque_Nmm", stall_torque_Nmm, LEAST_TORQUE_NMM, TORQUE_NMM[1], "N·mm")
    whole = stall + check_number("friction_Nmm", friction_Nmm, 0, TORQUE_NMM[1], "N·mm")
    constant = 1000 * voltage * stall / whole / omega
    return Motor(voltage, constant * voltage / whole, constant, float(friction_Nmm))


@dataclass(frozen=True)
class DataCheck:
    """The motor constant found twice, in N·mm/A, and the resistance at which both would be equal."""

    from_speed_Nmm_A: float
    from_stall_Nmm_A: float
    fitting_ohm: float

    @property
    def apart_percent(self) -> float:
        """How much more the stall torque says than the speed, signed."""
        return 100 * (self.from_stall_Nmm_A / self.from_speed_Nmm_A - 1)

    @property
    def agrees(self) -> bool:
        """Whether both are within 10 % (common practice, no source)."""
        return abs(self.apart_percent) <= AGREE_PERCENT

    def sentence(self) -> str:
        """Both constants and the verdict."""
        both = (
            f"The constant is {say(self.from_speed_Nmm_A, 'N·mm/A', 2)} from the speed and "
            f"{say(self.from_stall_Nmm_A, 'N·mm/A', 2)} from the stall torque, "
            f"{say(self.apart_percent, '%', 1, sign=True)}"
        )
        if self.agrees:
            return f"{both}: the data agree."
        way = "the resistance or a torque is wrong, or was measured warm"
        return f"{both}: they don't agree; with {say(self.fitting_ohm, 'Ω', 2)} they would, so {way}."


def check_data(
    voltage_V: float,
    resistance_ohm: float,
    no_load_rev_min: float,
    no_load_current_A: float,
    stall_torque_Nmm: float,
) -> DataCheck:
    """Find the constant from the speed, k = (V − R·I0)/ω0, and from the stall torque, k = Ts/(V/R − I0).

    Both are the same constant, so this tells a wrong or mixed-up data sheet.  The resistance that would fit
    solves (V − R·I0)² = Ts·ω0·R.  ``voltage_V``: 0.1 to 100 V; ``resistance_ohm``: 0.01 to 10 000 Ω;
    ``no_load_rev_min``: 1 to 1e5; ``no_load_current_A``: 0 to below V/R; ``stall_torque_Nmm``: 0.001 to
    1e5.  Raises MechError out of range.

    >>> found = check_data(9, 15, 6764, 0.033, 6.8)
    >>> round(found.apart_percent, 2), found.agrees
    (-0.12, True)
    """
    voltage = check_number("voltage_V", voltage_V, *SUPPLY_V, "V")
    ohm = check_number("resistance_ohm", resistance_ohm, *RESISTANCE_OHM, "Ω")
    omega = RAD_S * check_number("no_load_rev_min", no_load_rev_min, *SPEED_REV_MIN, "rev/min")
    idle = check_number("no_load_current_A", no_load_current_A, 0, hint="it can't be below nought")
    stall = check_number("stall_torque_Nmm", stall_torque_Nmm, LEAST_TORQUE_NMM, TORQUE_NMM[1], "N·mm")
    if idle >= voltage / ohm:
        hint = f"stalled it draws {say(voltage / ohm, 'A', 3)}; without load it must be less"
        raise MechError(f"no_load_current_A is {idle:g} A", hint)
    half = 1000 * voltage * idle + stall * omega / 2  # of b in the quadratic for R, with the sign turned
    root = sqrt(half**2 - (1000 * voltage * idle) ** 2)
    fitting = 1000 * voltage**2 / (half + root)
    return DataCheck(1000 * (voltage - ohm * idle) / omega, stall / (voltage / ohm - idle), fitting)
