"""What a meter and a rev counter show where most is asked of the motor: volts, current and two speeds."""

from __future__ import annotations

from collections.abc import Mapping

from mechlib.bench.effort_trial import EffortTrial
from mechlib.say import columns, say

MINUTE_S, TURN_DEG = 60.0, 360.0


def shaft_rev_min(trial: EffortTrial) -> float:
    """Speed at the worst place of the shaft that a hand turns; of the main cam where the file names none.

    n = 60·ω/360 · turns a turn of the cam, ω of the cam in °/s, with the belt's creep; 0 where the belt slips
    or the motor stalls.  Derived.

    >>> from mechlib.bench.effort_trial import effort_trial
    >>> from mechlib.transports import load
    >>> round(shaft_rev_min(effort_trial(load("alder"), "EJECT", "PLAY")))
    938
    """
    drive, asked = trial.drive, trial.worst.asked_Nmm
    if asked >= drive.limit_Nmm:
        return 0.0
    shafts = trial.transport.hand_shafts
    turns = trial.transport.turns_of(TURN_DEG) if shafts else 1.0
    return float(abs(drive.deg_s(asked))) * MINUTE_S / TURN_DEG * turns


def four_readings(trials: Mapping[str, EffortTrial]) -> str:
    """The four readings at the worst place of each trial, by its name, as columns; the shaft is the first's.

    >>> from mechlib.bench.effort_trial import effort_trial
    >>> from mechlib.transports import load
    >>> print(four_readings({"in order": effort_trial(load("alder"), "EJECT", "PLAY")}))
              volts at the motor  current         motor   worm shaft
    in order              12.0 V    91 mA  3055 rev/min  938 rev/min
    """
    shafts = [shaft.name for trial in trials.values() for shaft in trial.transport.hand_shafts[:1]]
    head = ("", "volts at the motor", "current", "motor", shafts[0] if shafts else "main cam")
    return columns(head, [(name, *_row(trial)) for name, trial in trials.items()])


def _row(trial: EffortTrial) -> tuple[str, ...]:
    drive = trial.drive
    there = drive.motor.at(min(trial.worst.asked_Nmm, drive.limit_Nmm))
    volts, current = say(abs(there.voltage_V), "V"), say(1000 * abs(there.current_A), "mA", 0)
    return volts, current, _speed(there.rev_min), _speed(shaft_rev_min(trial))


def _speed(rev_min: float) -> str:
    return say(abs(rev_min), "rev/min", 0) if abs(rev_min) >= 0.5 else "stands"
