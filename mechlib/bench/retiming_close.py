"""The closing steps of a re-timing: from the gears secured to the last look at the marks."""

from __future__ import annotations

from mechlib.bench.hand_turn import amount, at_which_motor, shaft_deg
from mechlib.bench.lifts import Move, covers_off, gear_name
from mechlib.bench.marks import marks_meet
from mechlib.bench.retiming_bring import LATCH, what_is_held
from mechlib.bench.retiming_steps import Step, pulled_free, the_names
from mechlib.say import count
from mechlib.transports.covers import access_of, off_last
from mechlib.transports.hardware import Cover
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.model import Transport
from mechlib.transports.timing import margins

# What turns the machine from the hand's to the motor's, and back to the hand's (common practice, no source).
POWER = (
    "Only now power, and only if you are trained for it. Every cover must be on, also those that came off "
    "for a look. Put in a cassette that you can spare. While the plug is in, hands and tools stay outside; "
    "if it sticks, pull the plug."
)
LOOK = (
    "In each mode that you try, look whether every lever stands right: through the cassette's opening, "
    "without touching. What can't be seen from there: pull the plug in that mode, give the capacitors time, "
    "take off what hides it and look. It goes back on before the plug goes in."
)
PLUG_OUT = (
    "Take the cassette out. Pull the mains plug again and give the capacitors time to discharge, before a "
    "cover comes off or a shaft is turned by hand."
)
STOPS = "Where it stops on the way, stop too, and look what touches; for that a cover may come off again."
LITTLE_TEETH = 1.0  # of the main gear: a mode with a smaller margin has little room


def closing_steps(
    repaired: Transport, lifts: tuple[str, ...], found: tuple[Move, ...], walk: tuple[str, ...]
) -> tuple[Step, ...]:
    """From the covers put back to the last look; ``repaired`` is the transport after the moves.

    >>> from mechlib.transports import load
    >>> closing_steps(load("alder"), ("carriage gear",), (), ("DOWN",))[1].words
    'Put back the cassette carriage.'
    """
    off = covers_off(repaired, lifts)
    last = off_last(off)
    steps = [
        Step("secure", f"Secure {the_names(map(gear_name, lifts))} again and see that each runs freely.")
    ]
    steps += _put_back(repaired, lifts)
    steps += [Step("bearing on", f"Put back the {cover.name}.") for cover in reversed(last)]
    steps += _springs_on(repaired, lifts)
    steps += [Step("cover on", f"Put back the {c.name}.") for c in reversed(off) if c not in last]
    steps += [Step("by hand", _hand_travel(repaired, last)), Step("power", POWER), Step("look", LOOK)]
    if len(walk) > 1:
        steps.append(Step("try", f"Try what failed in one go: {' → '.join(walk)}."))
    ended = walk[-1] if walk else repaired.reference_mode
    there = repaired.mode_names[repaired.mode_names[0] == ended :]
    every = " → ".join((*there, *repaired.mode_names[-2::-1]))
    then = "Then go" if len(walk) > 1 else "Go"
    steps.append(Step("try", f"{then} once through every mode and back: {every}."))
    steps += [*_watched(repaired, found), Step("plug out", PLUG_OUT)]
    return (*steps, *_marks_again(repaired, lifts, found))


def _hand_travel(repaired: Transport, last: tuple[Cover, ...]) -> str:
    stay = "stays" if len(last) == 1 else "stay"
    stops = f"{STOPS} But {the_names(c.name for c in last)} {stay} on for turning." if last else STOPS
    if repaired.cyclic:
        turns = amount(repaired, shaft_deg(repaired, 0, 720))
        told = f"Still with the plug out, turn by hand two turns of the main cam ({turns})."
        return f"{told}{LATCH if repaired.release else ''} {stops}"
    low, high = repaired.ends
    where = at_which_motor(repaired)
    return (
        f"Still with the plug out, turn by hand from end to end: {amount(repaired, high)} in the loading "
        f"sense to the high stop, {amount(repaired, high - low)} back to the low stop, "
        f"{amount(repaired, -low)} to the marks. {stops}"
        + (f" Turn each motor's shaft in its own stage: {where}." if where else "")
    )


def _marks_again(repaired: Transport, lifts: tuple[str, ...], found: tuple[Move, ...]) -> list[Step]:
    """After the trial: to the marks by hand, a look at each that was moved, and the covers on again."""
    off = covers_off(repaired, lifts)
    last = off_last(off)
    covers = ", ".join(cover.name for cover in off if cover not in last)
    hides = f"Take off again what hides the marks ({covers}), and no more. " if covers else ""
    told = [f"{hides}Turn by hand to the marks ({repaired.reference_mode}). They must meet as before:"]
    pulled = pulled_free(repaired, lifts)
    if last:
        springs = f" let down the spring of {the_names(pulled)} again, then" if pulled else ""
        told[0] = (
            f"{hides}Turn by hand to the marks ({repaired.reference_mode}). Only there{springs} take off "
            f"{the_names(cover.name for cover in last)}. {what_is_held(last)} Keep the gears down in mesh. "
            "The marks must meet as before:"
        )
    for move in found:
        own = repaired.part(move.part)
        told.append(f"{own.name}: {own.mark}")
        if own.kind != "rack":
            meet = marks_meet(own.teeth, own.parent_teeth)
            turns = count(meet.first_turns, "turn").removeprefix("1 ")
            told[-1] += f" (if it goes round, the marks meet every {turns} only)"
    close = "Put back what you took off. Each cover is on before the plug goes in again."
    if last and pulled:
        close = (
            f"Put back {the_names(cover.name for cover in reversed(last))}, hook the springs in again, eyes "
            "protected, and put back what else you took off. Each cover is on before the plug goes in again."
        )
    return [Step("marks again", "\n".join(told)), Step("close", close)]


def _watched(repaired: Transport, found: tuple[Move, ...]) -> list[Step]:
    """What to look at above all: the modes with the smallest margin, interlocks of what was moved."""
    steps = []
    tight = sorted((m for m in margins(repaired) if m.teeth < LITTLE_TEETH), key=lambda m: m.margin_deg)
    steps += [Step("check", f"Watch, for it has little room: {margin.sentence()}") for margin in tight]
    moved = {name for m in found for name, chain in repaired.chains.items() if m.part in chain}
    for margin in interlock_margins(repaired):
        ends = {repaired.follower(margin.first).part, repaired.follower(margin.second).part}
        if ends & moved:
            steps.append(Step("check", f"Interlock {margin.sentence()}"))
    return steps


def _springs_on(transport: Transport, lifts: tuple[str, ...]) -> list[Step]:
    """What was let down or unhooked with every gear in goes on again, once the gears are in."""
    pulled = pulled_free(transport, lifts)
    if not pulled:
        return []
    lever = "the lever" if len(pulled) == 1 else "each lever"
    words = f"Hook the spring of {the_names(pulled)} in again, eyes protected; let {lever} go gently"
    return [Step("springs on", f"{words}.")]


def _put_back(transport: Transport, lifts: tuple[str, ...]) -> list[Step]:
    """What was unhooked at a gear as it was lifted goes on again."""
    backs = [(gear, access_of(transport, gear).put_back) for gear in lifts]
    return [Step("springs on", f"At the {gear_name(gear)}: {words}.") for gear, words in backs if words]
