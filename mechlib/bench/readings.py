"""What a bench check reads on a machine: computed from the machine, whatever is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, log10

from mechlib.bench.checks import CONTACT, CURRENT, LOOK, MARK, TIME, TRY, VOLTS, Check
from mechlib.bench.proof import LEAST_S, TOLERANCE
from mechlib.errors import MechError
from mechlib.say import say
from mechlib.transports.bench_entries import SOLENOID
from mechlib.transports.bench_practice import belts_seen
from mechlib.transports.effort import effort
from mechlib.transports.mode_change import change
from mechlib.transports.model import LOADING, Transport
from mechlib.transports.outcomes import (
    END_STOP,
    FALSE_CODE,
    JAMMED,
    NO_START,
    ON_RETRY,
    RIGHT,
    SILENT_SENSOR,
    WRONG,
    Change,
)
from mechlib.transports.runs import closed_contacts, steady
from mechlib.transports.timing import arrival, arriving_senses

# A change asked for, as the bench sees it.
WORKED, SECOND_TRY, SLOW = "worked", "worked at the second try", "worked, but slowly"
STANDS_WRONG, THEN_OFF = "stands wrong", "reached, then powered off"
HELD_UP, RAN_ON = "motor held up, then powered off", "motor ran on, then powered off"
NEVER_MOVED, CLICKS, NOT_TRIED = "never moved", "clicks again and again", "its start can't be reached"
CLOSES, NEVER_CLOSES, CLOSED, OPEN = "closes", "never closes", "closed", "open"
LINES_UP, TEETH_OFF, NO_MODE = "lines up", "teeth off", "its mode can't be reached"
OUT_OF_REACH = (NOT_TRIED, NO_MODE)  # the machine doesn't get to the mode in which the check is made
AS_IT_SHOULD = "as it should be"
SPLIT, CLIP_GONE, NO_TEETH, HARD = "split", "clip gone", "teeth missing", "hard grease"
BENT, STIFF = "bent", "stiff"
SLACK, GLAZED, NO_PULL, NO_CURRENT, WORN = "slack", "glazed", "doesn't pull", "gets no current", "latch worn"
READS = "reads"

LEAST_MOVE_DEG = 1.0  # of theta: less than this nobody sees
LEAST_TEETH = 0.4  # by which a mark is seen to be off
# The unit in which the number of a check is told (of a mark its label tells it), and its least digits.
UNITS = {TRY: ("°", 1), CONTACT: ("°", 1), MARK: ("", 0), TIME: ("s", 1), VOLTS: ("V", 1), CURRENT: ("A", 2)}


@dataclass(frozen=True)
class Reading:
    """What a check reads: a label, a detail (which follower stands wrong) and a number, where it has them.

    The number: main-cam degrees where a change ends, teeth of a mark, degrees over which a contact closes,
    seconds, volts or amperes.
    """

    label: str
    detail: str | None = None
    number: float | None = None


@dataclass(frozen=True)
class Scale:
    """How finely a check's number is read: ``spread`` of readings, ``step`` told apart, and its range."""

    unit: str
    spread: float
    step: float
    low: float
    high: float


def labels_of(transport: Transport, check: Check) -> tuple[str, ...]:
    """Everything that a check can read, in words.

    >>> from mechlib.transports import load
    >>> labels_of(load("birch"), Check(LOOK, "reel idler"))
    ('as it should be', 'bent', 'stiff')
    """
    if check.kind == TRY:
        common = (WORKED, SECOND_TRY, SLOW, STANDS_WRONG, THEN_OFF, HELD_UP, RAN_ON, NEVER_MOVED, NOT_TRIED)
        return (*common, CLICKS) if transport.release else common
    if check.kind == CONTACT:
        return (CLOSED, OPEN) if check.mode else (CLOSES, NEVER_CLOSES)
    if check.kind == MARK:
        return (LINES_UP, TEETH_OFF, *((NO_MODE,) if check.mode else ()))
    if check.kind == LOOK:
        return (AS_IT_SHOULD, *_defects(transport, check.of))
    return (READS, NOT_TRIED) if check.kind in (TIME, CURRENT) else (READS,)


def scale_of(transport: Transport, check: Check) -> Scale | None:
    """How finely the number of a check is read; None where it has none.  Common practice, no source."""
    low, high = transport.ends
    tooth = 360.0 / transport.main_teeth
    if check.kind == TRY:
        return Scale("°", tooth, 2 * tooth, low, high)
    if check.kind == CONTACT and not check.mode:
        return Scale("°", 2.0, 6.0, 0.0, high - low)
    if check.kind == MARK:
        return Scale("teeth", 0.15, 1.0, -6.0, 6.0)
    if check.kind == TIME:
        expected = change(transport.sound, check.start, check.target).time_s
        longest = 2 * expected + 3 * transport.controller.time_out_s
        return Scale("s", 0.1 + 0.03 * expected, 0.3 + 0.15 * expected, 0.0, longest)
    if check.kind == VOLTS:
        supply = transport.motor_named(check.of).motor.voltage_V
        return Scale("V", 0.02 * supply, 0.1 * supply, 0.0, supply)
    if check.kind == CURRENT:
        stalled = abs(transport.motor_named(check.of).motor.stall_current_A)
        return Scale("A", 0.03 * stalled, 0.15 * stalled, 0.0, 1.2 * stalled)
    return None


def number_words(check: Check, number: float, step: float = 1.0) -> str:
    """The number of a check with its unit, as finely as a ``step`` asks.

    >>> number_words(Check(CURRENT), 0.0512, 0.15), number_words(Check(CURRENT), 0.0512, 0.002)
    ('0.05 A', '0.051 A')
    """
    unit, digits = UNITS[check.kind]
    return say(number, unit, max(digits, ceil(-log10(step)))).strip()


def reading(machine: Transport, filed: Transport, check: Check) -> Reading:
    """What ``check`` reads on ``machine``; ``filed`` is the file's sound transport, by which it is judged.

    Everything follows from the machine: a change asked for is simulated, the current follows from the torque.
    A contact that passes only sometimes is taken as passing (see ``bench.drawn_readings``).
    Raises MechError for a check that this machine can't have.

    >>> from mechlib.transports import load, slip
    >>> alder = load("alder")
    >>> reading(alder.with_faults(slip("pinch cam", 2)), alder, Check(MARK, "pinch cam"))
    Reading(label='teeth off', detail=None, number=2.0)
    """
    if check.kind in CHANGE_READERS:
        return change_reading(change(machine, check.start, check.target), machine, filed, check)
    return READERS[check.kind](machine, filed, check)


def change_reading(found: Change, machine: Transport, filed: Transport, check: Check) -> Reading:
    """What a check of a change reads that went so on this machine."""
    return CHANGE_READERS[check.kind](found, machine, filed, check)


# ---- A change asked for ----


def _tried(found: Change, machine: Transport, filed: Transport, check: Check) -> Reading:
    if found.outcome == NO_START:
        return Reading(NOT_TRIED)
    if not found.good and _moved_deg(found) < LEAST_MOVE_DEG:
        return Reading(NEVER_MOVED)
    if found.outcome == ON_RETRY:
        return Reading(SECOND_TRY)
    if found.outcome == RIGHT:
        expected = change(filed, check.start, check.target).time_s
        slow = found.time_s > expected + max(TOLERANCE * expected, LEAST_S)
        return Reading(SLOW if slow else WORKED)
    if found.outcome == SILENT_SENSOR or (found.outcome == FALSE_CODE and found.powered_off):
        return Reading(THEN_OFF)
    if found.outcome in (WRONG, FALSE_CODE):
        return Reading(STANDS_WRONG, found.wrong[0].name if found.wrong else None)
    if found.releases > 1 and found.outcome != JAMMED:
        return Reading(CLICKS)
    held = found.outcome in (JAMMED, END_STOP)
    return Reading(HELD_UP if held else RAN_ON, None, found.stand.theta)


def _moved_deg(found: Change) -> float:
    return sum(abs(leg.end_deg - leg.start_deg) for leg in found.legs)


def _timed(found: Change, machine: Transport, filed: Transport, check: Check) -> Reading:
    return Reading(NOT_TRIED) if found.outcome == NO_START else Reading(READS, None, found.time_s)


# ---- By hand and eye ----


def _contact(machine: Transport, filed: Transport, check: Check) -> Reading:
    """By hand, with a meter: at the angle where the file's mode stops, or over the whole travel."""
    run = steady(machine, LOADING)
    if check.mode:
        theta = mode_place(filed, check.mode)
        return Reading(CLOSED if check.of in closed_contacts(machine, run.places_at(theta)) else OPEN)
    contact = next(contact for contact in machine.contacts if contact.name == check.of)
    low, high = machine.ends
    arcs = run.theta_arcs(contact.part, contact.closed)
    spans = (min(end, high) - max(start, low) for start, end in arcs)
    total = sum(span for span in spans if span > 0)
    return Reading(CLOSES, None, total) if total else Reading(NEVER_CLOSES)


@lru_cache(maxsize=256)
def mode_place(filed: Transport, mode: str) -> float:
    """Theta at which a mode stops by the file, after an arrival in the loading sense if there is one."""
    senses = arriving_senses(filed)[mode]
    return arrival(filed, mode, LOADING if LOADING in senses else senses[0]).stand_deg


def _mark(machine: Transport, filed: Transport, check: Check) -> Reading:
    """Teeth by which a part's mark is off from its parent's; a gear split on its shaft keeps its mark.

    At a mode: off from where the file's machine has it, on the part's own rim.
    """
    part = machine.part(check.of)
    if check.mode is None:
        run = steady(machine, LOADING)
        lost = (run.place(part.parent, 0.0) - run.place(part.name, 0.0)) / part.pitch_deg
        return _teeth_read(dict(machine.slips).get(part.name, 0) - lost)
    places = [_rim_place(one, part.name, check.mode) for one in (machine, filed)]
    if None in places:
        return Reading(NO_MODE)
    return _teeth_read((places[0] - places[1]) * abs(part.speed) * part.teeth / 360.0)


def _teeth_read(teeth: float) -> Reading:
    return Reading(TEETH_OFF, None, float(teeth)) if abs(teeth) >= LEAST_TEETH else Reading(LINES_UP)


def _rim_place(machine: Transport, part: str, mode: str) -> float | None:
    """Where the toothed rim of a part stands in a mode, split gears apart; None where it can't be reached."""
    for sense in sorted(arriving_senses(machine)[mode], key=lambda sense: sense != LOADING):
        came = arrival(machine, mode, sense)
        if came is not None and came.possible:
            split = sum(dict(machine.turned).get(name, 0.0) for name in machine.chains[part])
            return came.run.slipped_place(part, came.stand_deg) - split
    return None


def _looked(machine: Transport, filed: Transport, check: Check) -> Reading:
    for defect, there in _defects(machine, check.of).items():
        if there:
            return Reading(defect)
    return Reading(AS_IT_SHOULD)


def _defects(machine: Transport, thing: str) -> dict[str, bool]:
    """What can be wrong with something that is looked at, felt and turned by hand, and whether it is."""
    sound = machine.sound
    for follower, right in zip(machine.followers, sound.followers, strict=True):
        if follower.name == thing:
            stiff = {STIFF: follower.friction_N > right.friction_N} if machine.drive else {}
            return {BENT: follower.bent_mm != right.bent_mm} | stiff
    gears = zip((*machine.roots, *machine.parts), (*sound.roots, *sound.parts), strict=True)
    for gear, right in gears:
        if gear.name == thing:
            hard = {HARD: gear.drag_Nmm > right.drag_Nmm} if machine.drive else {}
            return _timed_part(machine, thing) | hard
    if thing in (belts := belts_seen(machine)):
        belt, right = (one.motor_named(belts[thing]).belt.belt for one in (machine, sound))
        return {SLACK: belt.inside_mm > right.inside_mm, GLAZED: belt.friction < right.friction}
    if thing == SOLENOID:
        return _solenoid(machine)
    raise MechError(f"{thing!r} isn't there", "look at a gear, a follower, a belt or the solenoid")


def _timed_part(machine: Transport, thing: str) -> dict[str, bool]:
    """What can be wrong with a timed part and its mesh; nothing for another gear."""
    if thing not in (part.name for part in machine.parts):
        return {}
    missing = any(name == thing for name, _at, _teeth in machine.missing)
    return {
        SPLIT: thing in dict(machine.turned),
        CLIP_GONE: thing in dict(machine.off_at),
        NO_TEETH: missing,
    }


def _solenoid(machine: Transport) -> dict[str, bool]:
    release = machine.release
    if release is None:
        return {NO_PULL: not machine.solenoid_pulls}
    worn = release.gear.missed != machine.sound.release.gear.missed
    cut_off = {NO_CURRENT: release.cut_off_open} if release.cut_off else {}
    return cut_off | {NO_PULL: not machine.solenoid_pulls, WORN: worn}


# ---- At the motor ----


def _volts(machine: Transport, filed: Transport, check: Check) -> Reading:
    drive = machine.motor_named(check.of)
    return Reading(READS, None, 0.0 if check.sense in drive.dead_senses else drive.motor.voltage_V)


def _current(found: Change, machine: Transport, filed: Transport, check: Check) -> Reading:
    """The largest current of a change: from the torque asked, or the limit where the motor is held.

    Of several motors, where that one turns.
    """
    if found.outcome == NO_START:
        return Reading(NOT_TRIED)
    drive, asked = machine.motor_named(check.of), []
    for leg in found.legs:
        if leg.leg.sense in drive.dead_senses:
            continue
        most = effort(machine, leg.leg.sense).most_Nmm(drive, *sorted((leg.start_deg, leg.end_deg)))
        held = leg.ended in (JAMMED, END_STOP)
        if most is not None:
            asked.append(most)
        if held and machine.motor_at(leg.end_deg) is drive:
            asked.append(drive.limit_Nmm)
        if machine.release and most is None and not held:  # its motor runs on while the cam rests
            asked.append(drive.friction_Nmm)
    if not asked:
        return Reading(READS, None, 0.0)
    return Reading(READS, None, abs(drive.motor.at(min(max(asked), drive.limit_Nmm)).current_A))


CHANGE_READERS = {TRY: _tried, TIME: _timed, CURRENT: _current}
READERS = {CONTACT: _contact, MARK: _mark, LOOK: _looked, VOLTS: _volts}
