"""The steps of a re-timing in words: each is made of what was computed for this transport and its slips."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from mechlib.bench.hand_turn import amount, at_which_motor, shaft_deg
from mechlib.bench.lifts import Move, Turn, covers_off, gear_name, opened_meshes
from mechlib.bench.marks import marks_meet
from mechlib.bench.retiming_bring import LATCH, Ways, bring_closed, bring_open, hidden
from mechlib.say import count, listing, say
from mechlib.transports.arcs import TINY
from mechlib.transports.covers import access_of
from mechlib.transports.hardware import Cover
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.model import Part, Transport
from mechlib.transports.motor_drive import NO_SPRING
from mechlib.transports.timing import margins

# Before anything is touched (common practice, no source).
CAUTIONS = (
    "Pull the mains plug and give the capacitors of the supply time to discharge. Mains parts are for "
    "qualified people, and local rules come first.",
    "Take cassette or tape out of the machine before a gear is lifted.",
    "Levers under a spring swing as soon as their gear is free: protect your eyes and keep fingers away.",
)
# What to mend where a gear has risen, by what secures it (common practice, no source).
SECURED = {
    "clip": "is its clip gone, spread or not seated in the groove? Fit a new one and see it snap in",
    "screw": "is its screw loose or its thread stripped? Fasten it, and lock the screw as it was locked",
    "snap": "are its snap hooks spread or broken? Hooks that don't hold need a new gear",
    "press fit": "has its shaft risen or the hub split? What can be moved by hand does not hold",
    None: "what keeps it on its shaft, and did that let it rise?",
}
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


@dataclass(frozen=True)
class Step:
    """One step: its ``kind`` in a word or two, and what to do."""

    kind: str
    words: str

    def sentence(self) -> str:
        return self.words


def opening_steps(
    transport: Transport,
    lifts: tuple[str, ...],
    found: tuple[Move, ...],
    turns: tuple[Turn, ...],
    ways: Ways,
) -> tuple[Step, ...]:
    """From the cautions to the gears back on their marks, before anything is put together again.

    Where a way to the marks is barred as long as the gears are in, they are lifted before it is gone.

    >>> from mechlib.bench.lifts import moves
    >>> from mechlib.bench.retiming_bring import ways_to_marks
    >>> from mechlib.transports import load, slip
    >>> alder = load("alder").with_faults(slip("mode switch", -2))
    >>> steps = opening_steps(alder, ("mode switch",), moves(alder), (), ways_to_marks(alder, 0.0))
    >>> [step.words for step in steps if step.kind == "cover off"]
    ['Take off the bottom plate (4 min with putting it back).']
    """
    steps = [Step("caution", words) for words in CAUTIONS]
    off = covers_off(transport, lifts)
    for cover in off:
        time = say(cover.minutes, "min", 0 if cover.minutes == int(cover.minutes) else 1)
        steps.append(Step("cover off", f"Take off the {cover.name} ({time} with putting it back)."))
    barred = [way for _, way in ways if way.barred]
    if len(barred) < len(ways):
        steps.append(Step("bring", bring_closed(transport, found, ways, off)))
    steps += [*_springs(transport, lifts), *_lifted(transport, lifts)]
    if barred:
        steps.append(Step("bring open", bring_open(transport, lifts, found, ways, off)))
    steps += _causes(transport, found, off)
    if barred:
        steps.append(_by_marks(transport, lifts, found, turns, len(barred) < len(ways)))
    if len(barred) < len(ways):
        moved = {move.part for move in found}  # what has a step for its move isn't told twice
        steps += [Step("turn along", turn.sentence()) for turn in turns if turn.part not in moved]
        real = {turn.part: turn for turn in turns}
        steps += [Step("move", _moved(transport.part(m.part), m, real.get(m.part))) for m in found]
    marks = "\n".join(f"{part.name}: {part.mark}" for part in opened_meshes(transport, lifts))
    back = f"the {gear_name(lifts[0])} back"
    if len(lifts) > 1:
        back = "the gears back, first those that others hang on"
    steps.append(Step("marks", f"Put {back}. Now these marks must meet:\n{marks}"))
    return tuple(steps)


def _lifted(transport: Transport, lifts: tuple[str, ...]) -> list[Step]:
    """Each gear off its partners, with what to mind."""
    opened, steps = opened_meshes(transport, lifts), []
    for gear in lifts:
        partners = [gear_name(p.parent if p.name == gear else p.name) for p in opened if gear in _ends(p)]
        access = access_of(transport, gear)
        how = f" (held by a {access.secured_by})" if access.secured_by else ""
        mind = f"Mind: {access.caution}. Then lift" if access.caution else "Lift"
        steps.append(Step("lift", f"{mind} the {gear_name(gear)}{how} off {_the(partners)}."))
    return steps


def _by_marks(
    transport: Transport, lifts: tuple[str, ...], found: tuple[Move, ...], turns: tuple[Turn, ...], some: bool
) -> Step:
    """No count holds for what came out of mesh before the drive stood at 0: it is set by its mark alone."""
    free = {move.part for move in found} | {turn.part for turn in turns} | set(lifts)
    told = _the(part.name for part in transport.parts if part.name in free)
    if not some:
        return Step(
            "by marks",
            f"Turn {told} by hand until the marks meet that are named below. No teeth are counted: what was "
            "out of mesh stayed behind while the drive was turned.",
        )
    out = "gear was" if len(lifts) == 1 else "gears were"
    return Step(
        "by marks",
        f"If the {out} lifted before the drive stood at the marks, the numbers in the next steps don't hold: "
        f"count nothing, turn {told} by hand until the marks meet that are named below.",
    )


def _pulled(transport: Transport, lifts: tuple[str, ...]) -> list[str]:
    """The followers with a spring that come free, as far as the file gives springs."""
    freed = {*lifts, *(part.name for part in opened_meshes(transport, lifts))}
    return [one.name for one in transport.followers if one.part in freed and one.spring != NO_SPRING]


def _springs(transport: Transport, lifts: tuple[str, ...]) -> list[Step]:
    """The springs that act on what comes free: off before a gear is lifted."""
    pulled = _pulled(transport, lifts)
    hold = "hold each such lever until its gear is in again"
    return [Step("springs", f"Let down or unhook the spring of {_the(pulled)}; {hold}.")] if pulled else []


def _springs_on(transport: Transport, lifts: tuple[str, ...]) -> list[Step]:
    """What was unhooked goes on again, once the gears are in."""
    pulled, steps = _pulled(transport, lifts), []
    if pulled:
        lever = "the lever" if len(pulled) == 1 else "each lever"
        words = f"Hook the spring of {_the(pulled)} in again, eyes protected; let {lever} go gently"
        steps.append(Step("springs on", f"{words}."))
    backs = [(gear, access_of(transport, gear).put_back) for gear in lifts]
    steps += [Step("springs on", f"At the {gear_name(gear)}: {words}.") for gear, words in backs if words]
    return steps


def _moved(part: Part, move: Move, real: Turn | None) -> str:
    """The move, and which way round it is; ``real`` is what it turns by where its parent turns, too."""
    told = move.sentence()
    if real and abs(real.own_teeth - move.teeth) > TINY:
        told = _real_turn(move, real)
    if part.kind == "rack":
        return told
    way = "the same way round as" if part.speed > 0 else "the other way round than"
    return f"{told} As the machine loads it turns {way} the main gear."


def _real_turn(move: Move, real: Turn) -> str:
    """The move of a part whose parent is moved, too: what the hand turns it by, then why."""
    parent = gear_name(move.parent)
    on = f"On the {parent}, which turns as well, that makes {count(abs(move.teeth), 'tooth')} {move.way}."
    if abs(real.own_teeth) < TINY:
        return f"The {move.part} stays as it stands. {on}"
    way = "on, in its loading sense" if real.own_teeth > 0 else "back, against its loading sense"
    teeth = f"{say(abs(real.own_teeth))} of its teeth"
    own = "" if move.kind == "rack" else f" by {say(abs(real.own_deg), '°')} of its own"
    how = f"{own}, {teeth}," if own else f" by {teeth}"
    return f"The {move.part} turns{how} {way}. {on}"


def _the(names: Iterable[str]) -> str:
    return listing(f"the {name}" for name in names)


def _ends(part: Part) -> tuple[str, str]:
    return part.name, part.parent


def _causes(transport: Transport, found: tuple[Move, ...], off: tuple[Cover, ...]) -> list[Step]:
    """What let the teeth jump, to be mended before they mesh again; of what lies under a cover, that."""
    steps = []
    for move in found:
        for gear in (move.part, move.parent):
            words = f"The {gear_name(gear)}: {SECURED[access_of(transport, gear).secured_by]}"
            words += "" if words.endswith("?") else "."
            if on := hidden(transport, gear, off):
                covers = _the(cover.name for cover in on)
                them, again = ("it", "it goes") if len(on) == 1 else ("them", "they go")
                off_too = (
                    f"If nothing is found there, take off {covers}, too, keep the gears under {them} down"
                )
                words = f"{off_too} in mesh, and look. {words} Then {again} on again."
            if all(step.words != words for step in steps):
                steps.append(Step("cause", words))
        loose = [name for name, chain in transport.chains.items() if move.part in chain]
        moved = _the(name for name in loose if not hidden(transport, name, off))
        look = (
            f"At the mesh of {move.part} and {gear_name(move.parent)}: look for a shaft that leans or has "
            f"risen, a worn hole and broken teeth. Turn {moved} by hand: where grease has gone hard, clean "
            "it out and grease anew, or the teeth will jump again."
        )
        steps.append(Step("cause", look))
    return steps


def closing_steps(
    repaired: Transport, lifts: tuple[str, ...], found: tuple[Move, ...], walk: tuple[str, ...]
) -> tuple[Step, ...]:
    """From the covers put back to the last look; ``repaired`` is the transport after the moves.

    >>> from mechlib.transports import load
    >>> closing_steps(load("alder"), ("carriage gear",), (), ("DOWN",))[1].words
    'Put back the cassette carriage.'
    """
    steps = [Step("secure", f"Secure {_the(map(gear_name, lifts))} again and see that each runs freely.")]
    steps += _springs_on(repaired, lifts)
    steps += [Step("cover on", f"Put back the {c.name}.") for c in reversed(covers_off(repaired, lifts))]
    steps += [Step("by hand", _hand_travel(repaired)), Step("power", POWER), Step("look", LOOK)]
    if len(walk) > 1:
        steps.append(Step("try", f"Try what failed in one go: {' → '.join(walk)}."))
    last = walk[-1] if walk else repaired.reference_mode
    there = repaired.mode_names[repaired.mode_names[0] == last :]
    every = " → ".join((*there, *repaired.mode_names[-2::-1]))
    then = "Then go" if len(walk) > 1 else "Go"
    steps.append(Step("try", f"{then} once through every mode and back: {every}."))
    steps += [*_watched(repaired, found), Step("plug out", PLUG_OUT)]
    return (*steps, *_marks_again(repaired, lifts, found))


def _hand_travel(repaired: Transport) -> str:
    if repaired.cyclic:
        turns = amount(repaired, shaft_deg(repaired, 0, 720))
        told = f"Still with the plug out, turn by hand two turns of the main cam ({turns})."
        return f"{told}{LATCH if repaired.release else ''} {STOPS}"
    low, high = repaired.ends
    where = at_which_motor(repaired)
    return (
        f"Still with the plug out, turn by hand from end to end: {amount(repaired, high)} in the loading "
        f"sense to the high stop, {amount(repaired, high - low)} back to the low stop, "
        f"{amount(repaired, -low)} to the marks. {STOPS}"
        + (f" Turn each motor's shaft in its own stage: {where}." if where else "")
    )


def _marks_again(repaired: Transport, lifts: tuple[str, ...], found: tuple[Move, ...]) -> list[Step]:
    """After the trial: to the marks by hand, a look at each that was moved, and the covers on again."""
    covers = ", ".join(cover.name for cover in covers_off(repaired, lifts))
    hides = f"Take off again what hides the marks ({covers}), and no more. " if covers else ""
    told = [f"{hides}Turn by hand to the marks ({repaired.reference_mode}). They must meet as before:"]
    for move in found:
        own = repaired.part(move.part)
        told.append(f"{own.name}: {own.mark}")
        if own.kind != "rack":
            meet = marks_meet(own.teeth, own.parent_teeth)
            turns = count(meet.first_turns, "turn").removeprefix("1 ")
            told[-1] += f" (if it goes round, the marks meet every {turns} only)"
    last = "Put back what you took off. Each cover is on before the plug goes in again."
    return [Step("marks again", "\n".join(told)), Step("close", last)]


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
