"""The steps of a re-timing in words: each is made of what was computed for this transport and its slips."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from mechlib.bench.lifts import Move, Turn, covers_off, gear_name, opened_meshes
from mechlib.bench.retiming_bring import Ways, bring_closed, bring_open, hidden, what_is_held
from mechlib.say import count, listing, say
from mechlib.transports.arcs import TINY
from mechlib.transports.covers import access_of, off_last
from mechlib.transports.hardware import Cover
from mechlib.transports.mode_change import change
from mechlib.transports.model import Part, Transport
from mechlib.transports.motor_drive import NO_SPRING

# Before anything is touched (common practice, no source).
CAUTIONS = (
    "Pull the mains plug and give the capacitors of the supply time to discharge. Mains parts are for "
    "qualified people, and local rules come first.",
    "If cassette or tape is still in, get it out by hand before a gear is lifted, as a stuck tape is got "
    "out. Where the way to that is barred, force nothing: it stays in until the slipped mesh is open and "
    "the drive can be turned. Keep it clear of gears and grease, and don't pull at it.",
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


@dataclass(frozen=True)
class Step:
    """One step: its ``kind`` in a word or two, and what to do."""

    kind: str
    words: str

    def sentence(self) -> str:
        return self.words


def tape_step(transport: Transport, standing: str | float | None) -> Step:
    """Before the plug comes out: from where the machine, as it is, still brings cassette or tape out itself.

    That is the mode to which the controller homes, as in ``stuck_tape``; ``standing`` as in ``retiming``.

    >>> from mechlib.transports import load, slip
    >>> tape_step(load("alder").with_faults(slip("loading gear", -1)), "STOP").words[:56]
    "Cassette or tape in the machine? Don't ask for EJECT und"
    """
    out, asked = transport.controller.home.mode, "Cassette or tape in the machine?"
    if standing == out:
        return Step("tape", f"{asked} Take it out now, with every cover on.")
    ask = f"As long as it has power, with every cover on, ask for {out}"
    then = f"Once it is out, the machine stands in {out}"
    then += "." if standing is None else ": make this list anew from there."
    if standing is not None and not isinstance(standing, str):
        once = f"{ask} once, and take it out. If it doesn't come, don't ask again."
        return Step("tape", f"{asked} {once} {then}")
    starts = [mode for mode in transport.mode_names if mode != out and standing in (None, mode)]
    found = {mode: change(transport, mode, out) for mode in starts}
    can = [mode for mode, one in found.items() if one.good]
    cannot = [mode for mode, one in found.items() if one.stand and not one.good]
    if not can:
        never = f"Don't ask for {out} under power: as it is, the machine doesn't get there."
        return Step("tape", f"{asked} {never} {then}")
    told = f"{asked} {ask}, and take it out."
    if cannot:
        told += f" As it is, the machine gets there from {listing(can)}. From {listing(cannot)} it doesn't: "
        told += "don't ask for it there."
    if standing is None:
        told += " Where it stands in no mode, ask once."
    return Step("tape", f"{told} {then}")


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
    last = off_last(off)
    first = tuple(cover for cover in off if cover not in last)
    steps += [Step("cover off", f"{_taken_off(cover)}.") for cover in first]
    barred = [way for _, way in ways if way.barred]
    some = not ways or len(barred) < len(ways)  # of the ways, also where no mode can be reached
    if some:
        steps.append(Step("bring", bring_closed(transport, found, ways, first, last)))
    steps += _springs(transport, lifts)
    steps += [Step("bearing off", f"{_taken_off(cover)}. {what_is_held((cover,))}".strip()) for cover in last]
    steps += _lifted(transport, lifts)
    if barred:
        steps.append(Step("bring open", bring_open(transport, lifts, found, ways, (first, last))))
    steps += _causes(transport, found, off)
    if barred:
        steps.append(_by_marks(transport, lifts, found, turns, some))
    if some:
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


def _taken_off(cover: Cover) -> str:
    time = say(cover.minutes, "min", 0 if cover.minutes == int(cover.minutes) else 1)
    return f"Take off the {cover.name} ({time} with putting it back)"


def _lifted(transport: Transport, lifts: tuple[str, ...]) -> list[Step]:
    """Each gear off its partners, with what to mind."""
    opened, steps = opened_meshes(transport, lifts), []
    for gear in lifts:
        partners = [gear_name(p.parent if p.name == gear else p.name) for p in opened if gear in _ends(p)]
        access = access_of(transport, gear)
        how = f" (held by a {access.secured_by})" if access.secured_by else ""
        mind = f"Mind: {access.caution}. Then lift" if access.caution else "Lift"
        steps.append(Step("lift", f"{mind} the {gear_name(gear)}{how} off {the_names(partners)}."))
    return steps


def _by_marks(
    transport: Transport, lifts: tuple[str, ...], found: tuple[Move, ...], turns: tuple[Turn, ...], some: bool
) -> Step:
    """No count holds for what came out of mesh before the drive stood at 0: it is set by its mark alone."""
    free = {move.part for move in found} | {turn.part for turn in turns} | set(lifts)
    told = the_names(part.name for part in transport.parts if part.name in free)
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


def pulled_free(transport: Transport, lifts: tuple[str, ...]) -> list[str]:
    """The followers with a spring that come free, as far as the file gives springs."""
    freed = {*lifts, *(part.name for part in opened_meshes(transport, lifts))}
    return [one.name for one in transport.followers if one.part in freed and one.spring != NO_SPRING]


def _springs(transport: Transport, lifts: tuple[str, ...]) -> list[Step]:
    """The springs that act on what comes free: off before a gear is lifted."""
    pulled = pulled_free(transport, lifts)
    hold = "hold each such lever until its gear is in again"
    return (
        [Step("springs", f"Let down or unhook the spring of {the_names(pulled)}; {hold}.")] if pulled else []
    )


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


def the_names(names: Iterable[str]) -> str:
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
                covers = the_names(cover.name for cover in on)
                them, again = ("it", "it goes") if len(on) == 1 else ("them", "they go")
                off_too = (
                    f"If nothing is found there, take off {covers}, too, keep the gears under {them} down"
                )
                holds = f" {what_is_held(on)}" if any(cover.holds for cover in on) else ""
                words = f"{off_too} in mesh, and look.{holds} {words} Then {again} on again."
            if all(step.words != words for step in steps):
                steps.append(Step("cause", words))
        loose = [name for name, chain in transport.chains.items() if move.part in chain]
        moved = the_names(name for name in loose if not hidden(transport, name, off))
        look = (
            f"At the mesh of {move.part} and {gear_name(move.parent)}: look for a shaft that leans or has "
            f"risen, a worn hole and broken teeth. Turn {moved} by hand: where grease has gone hard, clean "
            "it out and grease anew, or the teeth will jump again."
        )
        steps.append(Step("cause", look))
    return steps
