"""The steps of a re-timing in words: each is made of what was computed for this transport and its slips."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from mechlib.bench.hand_turn import amount, at_which_motor, shaft_deg, to_reference
from mechlib.bench.lifts import Move, Turn, covers_off, gear_name, opened_meshes
from mechlib.bench.marks import marks_meet
from mechlib.say import count, listing, say
from mechlib.transports.arcs import TINY
from mechlib.transports.covers import access_of, covers_over
from mechlib.transports.faults import (
    bent_lever,
    dead_solenoid,
    dirty_contact,
    intermittent_contact,
    open_contact,
    split_gear,
)
from mechlib.transports.hardware import Cover
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.lost_drive_faults import clip_gone, missing_teeth
from mechlib.transports.mode_change import standing_start
from mechlib.transports.model import LOADING, MAIN_CAM, SENSE, Part, Transport
from mechlib.transports.motor_drive import NO_SPRING
from mechlib.transports.release_faults import cut_off_open, latch_worn
from mechlib.transports.timing import arrival, margins

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
# How a part-toothed gear is turned by hand (common practice, no source).
LATCH = (
    " At each rest the latch holds the main gear: unplugged, pull the solenoid's plunger by hand, push the "
    "gear on until its first tooth is in mesh, and let the plunger go before the next rest. The push is no "
    "turn of the shaft: it isn't counted. Just before a rest the gear's last tooth leaves the pinion: push "
    "the gear on until the latch catches. The kick spring is loaded: a wooden stick, not a finger; and a "
    "coil that has fired is hot. Turn in the loading sense only."
)
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
    theta: float | None,
) -> tuple[Step, ...]:
    """From the cautions to the gears back on their marks, before anything is put together again.

    >>> from mechlib.bench.lifts import moves
    >>> from mechlib.transports import load, slip
    >>> alder = load("alder").with_faults(slip("mode switch", -2))
    >>> steps = opening_steps(alder, ("mode switch",), moves(alder), (), 0.0)
    >>> [step.words for step in steps if step.kind == "cover off"]
    ['Take off the bottom plate (4 min with putting it back).']
    """
    steps = [Step("caution", words) for words in CAUTIONS]
    off = covers_off(transport, lifts)
    for cover in off:
        time = say(cover.minutes, "min", 0 if cover.minutes == int(cover.minutes) else 1)
        steps.append(Step("cover off", f"Take off the {cover.name} ({time} with putting it back)."))
    steps.append(Step("bring", _bring(transport, found, theta, off)))
    opened = opened_meshes(transport, lifts)
    steps += _springs(transport, lifts)
    for gear in lifts:
        partners = [gear_name(p.parent if p.name == gear else p.name) for p in opened if gear in _ends(p)]
        access = access_of(transport, gear)
        how = f" (held by a {access.secured_by})" if access.secured_by else ""
        mind = f"Mind: {access.caution}. Then lift" if access.caution else "Lift"
        steps.append(Step("lift", f"{mind} the {gear_name(gear)}{how} off {_the(partners)}."))
    steps += _causes(transport, found, off)
    moved = {move.part for move in found}  # what is moved against its parent isn't told twice
    steps += [Step("turn along", turn.sentence()) for turn in turns if turn.part not in moved]
    real = {turn.part: turn for turn in turns}
    steps += [Step("move", _moved(transport.part(move.part), move, real.get(move.part))) for move in found]
    marks = "\n".join(f"{part.name}: {part.mark}" for part in opened)
    back = f"the {gear_name(lifts[0])} back"
    if len(lifts) > 1:
        back = "the gears back, first those that others hang on"
    steps.append(Step("marks", f"Put {back}. Now these marks must meet:\n{marks}"))
    return tuple(steps)


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


def _bring(transport: Transport, found: tuple[Move, ...], theta: float | None, off: tuple[Cover, ...]) -> str:
    """How to turn the drive to where the marks line up, and how to tell that it stands there."""
    hold = f"Hold the {listing(move.part for move in found)} down in mesh and turn the drive by hand"
    if theta is not None:
        told = f"{hold}. {to_reference(transport, theta).sentence()}"
    else:
        told = f"{hold} to where the marks line up ({transport.reference_mode}):"
        for mode in transport.mode_names:
            stands = [stand for sense in SENSE if (stand := standing_start(transport, mode, sense))]
            if stands:
                told += f"\nfrom {mode}: {to_reference(transport, stands[0].theta).words()}"
    if transport.release:
        told += f"\nThe way of turning:{LATCH}"
    if not transport.cyclic:
        low = -transport.ends[0]
        told += f"\nCounted from the low end stop it is {amount(transport, low)}, in the loading sense."
    if where := at_which_motor(transport):
        told += f"\nBy hand each motor's shaft is turned in its own stage: {where}."
    right = _right_marks(transport, found)
    seen = [part for part in right if not _hidden(transport, part.name, off)]
    if seen:
        return f"{told}\nThere the mark of the {seen[0].name} is right: {seen[0].mark}."
    why = "No other mark that is right can be seen" if right else "No other mark on the main gear is right"
    return f"{told}\n{why}: the turns decide."


def _right_marks(transport: Transport, found: tuple[Move, ...]) -> list[Part]:
    """The parts whose mark is right where the main gear stands at 0, those on the main gear itself first."""
    slipped = {move.part for move in found}
    right = []
    for part in transport.parts:
        chain = transport.chains[part.name]
        on_main = MAIN_CAM in {transport.part(name).parent for name in chain}
        right += [part] if on_main and not slipped & set(chain) else []
    return sorted(right, key=lambda part: part.parent != MAIN_CAM)


def _hidden(transport: Transport, gear: str, off: tuple[Cover, ...]) -> list[Cover]:
    """The covers that are still on over a gear."""
    return [cover for cover in covers_over(transport, gear) if cover not in off]


def _causes(transport: Transport, found: tuple[Move, ...], off: tuple[Cover, ...]) -> list[Step]:
    """What let the teeth jump, to be mended before they mesh again; of what lies under a cover, that."""
    steps = []
    for move in found:
        for gear in (move.part, move.parent):
            words = f"The {gear_name(gear)}: {SECURED[access_of(transport, gear).secured_by]}"
            words += "" if words.endswith("?") else "."
            if on := _hidden(transport, gear, off):
                covers = _the(cover.name for cover in on)
                them, again = ("it", "it goes") if len(on) == 1 else ("them", "they go")
                off_too = (
                    f"If nothing is found there, take off {covers}, too, keep the gears under {them} down"
                )
                words = f"{off_too} in mesh, and look. {words} Then {again} on again."
            if all(step.words != words for step in steps):
                steps.append(Step("cause", words))
        loose = [name for name, chain in transport.chains.items() if move.part in chain]
        moved = _the(name for name in loose if not _hidden(transport, name, off))
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


def not_mended(transport: Transport) -> tuple[str, ...]:
    """The faults that re-timing leaves, a sentence each: what differs from the sound transport besides slips.

    >>> from mechlib.transports import bent_lever, load
    >>> not_mended(load("alder").with_faults(bent_lever("reel idler", 0.4)))
    ('The reel idler is bent by +0.40 mm.',)
    """
    sound = transport.sound
    found = [split_gear(part, deg).sentence() for part, deg in transport.turned]
    found += [clip_gone(part, deg).sentence() for part, deg in transport.off_at]
    found += [missing_teeth(*gap).sentence() for gap in transport.missing]
    for follower in transport.followers:
        if abs(follower.bent_mm) > TINY:
            found.append(bent_lever(follower.name, follower.bent_mm).sentence())
    for contact, before in zip(transport.contacts, sound.contacts, strict=True):
        if contact.closed == before.closed:
            continue
        if not contact.closed:
            found.append(open_contact(contact.name).sentence())
        elif len(contact.closed) == len(before.closed):
            found.append(dirty_contact(contact.name, contact.closed[0][0] - before.closed[0][0]).sentence())
        else:
            found.append(f"Contact {contact.name} misses some of its arcs.")
    found += [intermittent_contact(*one).sentence() for one in transport.intermittent]
    found += _not_released(transport, sound)
    return (*found, *_hard_to_move(transport, sound))


def _not_released(transport: Transport, sound: Transport) -> list[str]:
    """What keeps the solenoid from pulling, and the rests at which the latch doesn't hold."""
    release, found = transport.release, []
    if not transport.solenoid_pulls:
        cut_off = release is not None and release.cut_off_open
        found.append((cut_off_open() if cut_off else dead_solenoid()).sentence())
    for mode in sound.mode_names if release else ():
        came = arrival(sound, mode, LOADING)
        if came is not None and came.stand_deg not in release.rests_deg:
            found.append(latch_worn(mode).sentence())
    return found


def _hard_to_move(transport: Transport, sound: Transport) -> list[str]:
    """What asks for more torque than it should, or gives less."""
    gears = zip((*transport.roots, *transport.parts), (*sound.roots, *sound.parts), strict=True)
    found = [
        f"The {gear_name(gear.name)} runs stiff: its grease may have gone hard."
        for gear, before in gears
        if gear.drag_Nmm > before.drag_Nmm
    ]
    found += [
        f"The {follower.name} is stiff."
        for follower in transport.followers
        if follower.friction_N > sound.follower(follower.name).friction_N
    ]
    if transport.motors != sound.motors:
        found.append("Motor, supply, belt or driver do not give what they should.")
    return found
