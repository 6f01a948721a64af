"""The steps of getting a tape out by hand, in words: each is made of what was computed for this way."""

from __future__ import annotations

from mechlib.bench.hand_turn import amount
from mechlib.bench.lifts import gear_name
from mechlib.bench.retiming_steps import Step
from mechlib.bench.stillness import still_deg, unseen_deg
from mechlib.bench.way_out import LeverMove, Met, Way, way_out
from mechlib.say import listing, say
from mechlib.transports.arcs import TINY, intersect
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Stage

# Common practice, no source.
AFTER = "Don't put a machine back to work because {done}: find what stopped it first."
CUT = "Never cut the tape to save time: it is the last thing to do, and the owner decides."
LIFT = "Every few turns stop, lift what holds it with a hook, and wind in; don't drag it round"
LIFT_LATER = LIFT[0].lower() + LIFT[1:]
INTO_MESH = "push the gear on with a wooden stick until its first tooth is in mesh"
UNCOUNTED = "The push is no turn of the shaft: don't count it"
CATCH = (
    "Just before a rest the gear's last tooth leaves the pinion, and the shaft turns on without it: push the "
    "gear on with a wooden stick until the latch catches."
)
NO_REST = "No rest is here, and no latch holds the cam: keep hold of the shaft until all is done."
SKIP = "What has moved already, you skip. Count on from the first move that you see."
SHOWN_DEG = 0.05  # less than that shows as 0.0
Timed = tuple[float, int, Step]  # how far on the way, and what comes first there


def turning_steps(way: Way, unsure_deg: float = 0.0) -> tuple[Step, ...]:
    """What comes on the way, in order, each with the turns from the start; at the end where to stop.

    ``unsure_deg``: it may be so much further on already than the way's start.

    >>> from mechlib.bench.way_out import way_out
    >>> from mechlib.transports import load
    >>> turning_steps(way_out(load("alder"), 176))[1].words[:50]
    'After 1.4 turns (5.4°): main brakes from on (0.0 m'
    """
    transport = way.run.transport
    if way.aim_deg is None:
        return (_must_be_lifted(way), Step("tape", CUT))
    steps = []
    if unsure_deg > TINY:
        further = way.shaft_deg(way.start_deg + SENSE[way.sense] * unsure_deg)
        words = f"The turns count from the furthest place possible: it may be {amount(transport, further)} on"
        steps.append(Step("count", f"{words} already. {SKIP}"))
    timed: list[Timed] = [item for move in way.moves for item in _told(way, move)]
    if len(transport.stages) > 1 or any(stage.needs or stage.solenoid for stage in transport.stages):
        ends = [*(theta for theta, _ in way.stages[1:]), way.stop_deg]
        timed += [
            (on_way(way, theta), 0, _stage(way, (theta, end), stage, unsure_deg > TINY))
            for (theta, stage), end in zip(way.stages, ends, strict=False)
        ]
    timed += [(on_way(way, theta), 1, _rest(way, theta)) for theta in way.rests if theta != way.stop_deg]
    if _kicked(way):
        timed.append((0.0, 1, Step("latch", f"The gear stands short of its mesh: {INTO_MESH}. {UNCOUNTED}.")))
    timed += [(on_way(way, met.theta_deg), 1, _elsewhere(way, met)) for met in way.elsewhere]
    steps += [step for _, _, step in sorted(timed, key=lambda item: item[:2])]
    return (*steps, *_ending(way))


def on_way(way: Way, theta: float) -> float:
    """How far on the way an angle is, in degrees."""
    return (theta - way.start_deg) * SENSE[way.sense]


def _after(way: Way, theta: float) -> str:
    on = on_way(way, theta)
    if on <= TINY:
        return "From the start"
    return f"After {turned(way, theta)} ({say(on, '°')})"


def turned(way: Way, theta: float) -> str:
    """The turns of the shaft from the start of the way to an angle."""
    return turns_on(way, way.shaft_deg(theta))


def turns_on(way: Way, deg: float) -> str:
    """An amount without the name of the shaft, which stands in the first step."""
    return amount(way.run.transport, deg).partition(" of the ")[0]


# ---- On the way ----


def _told(way: Way, move: LeverMove) -> list[Timed]:
    """The steps of one move: what springs do, what moves, what tape comes loose."""
    on, told = on_way(way, move.begin_deg), []
    if move.pushed_on:
        pushes = f"{say(move.push_begin_N, 'N')} at first and {say(move.push_end_N, 'N')} at the end"
        words = (
            f"The spring of the {move.follower} drives its next move with {pushes}: fingers out of the way"
        )
        held = "If its gear is off or slips, hold the lever back with a hook: it would snap over"
        told.append((on, 2, Step("hold back", f"{words}. {held}.")))
    loads = ""
    if -move.push_end_N > move.friction_N:  # it is strongest at the end, as it is drawn
        loads = f" Its spring is drawn up to {say(-move.push_end_N, 'N')}: the shaft gets stiffer."
    words = f"{_after(way, move.begin_deg)}: {move.follower} {move.states()}"
    told.append((on, 3, Step("moves", f"{words}, until {turned(way, move.end_deg)}.{loads}")))
    if move.free_mm:
        told.append((on, 4, Step("tape", _tape(way, move))))
    return told


def _tape(way: Way, move: LeverMove) -> str:
    transport, length = way.run.transport, say(abs(move.free_mm), "mm", 0)
    tape = transport.tape
    if move.free_mm < 0:
        return f"Here {length} of tape is drawn out of the reels: see that both give tape, or stop."
    turned = abs(move.end_deg - move.begin_deg)
    shaft = transport.hand_shafts
    each = move.free_mm / (transport.turns_of(turned) if shaft else turned)
    rate = f"about {say(each, 'mm')} for each {'turn' if shaft else 'degree of the cam'}"
    words = f"On this move {length} of tape comes loose, {rate}. To wind in, stop turning; then turn the"
    return f"{words} {tape.wind_in} {tape.sense}.{_braked(way, move, tape.free)}"


def _braked(way: Way, move: LeverMove, needs) -> str:
    """When to wind in: whether the reel turns freely on this move, and what to do where it is held."""
    if move.reel_free is None:
        return " Do so every few turns. Where it doesn't turn freely, find what holds it."
    span = (min(move.begin_deg, move.end_deg), max(move.begin_deg, move.end_deg))
    arcs = intersect(move.reel_free, (span,))
    free = sum(b - a for a, b in arcs)
    asked = listing(f"the {need.follower} {need.words}" for need in needs)
    if free >= span[1] - span[0] - TINY:
        return f" Do so every few turns: it turns freely here ({asked})."
    if free <= TINY:
        return f" It is held here: it needs {asked}. {LIFT}."
    at = listing(_between(way, arc) for arc in (arcs if way.sense == LOADING else arcs[::-1]))
    held = f" It needs {asked}, so it turns freely only {at}: stop there and wind in all that hangs."
    ons = [on_way(way, theta) for arc in arcs for theta in arc]
    if min(ons) > on_way(way, move.begin_deg) + TINY:
        held += " Before that let the loops hang, clear of the gears."
    return held + (f" After that: {LIFT_LATER}." if max(ons) < on_way(way, move.end_deg) - TINY else "")


def _between(way: Way, arc: tuple[float, float]) -> str:
    """An arc of the way in turns of the shaft."""
    first, last = sorted(arc, key=lambda theta: on_way(way, theta))
    return f"from {turned(way, first)} to {turned(way, last)}"


def _stage(way: Way, span: tuple[float, float], stage: Stage, unsure: bool) -> Step:
    shaft = f"the shaft of the {stage.motor}" if stage.motor else "the shaft"
    words = f"{_after(way, span[0])} {shaft} drives {listing(stage.drives)}; held: {stage.held}"
    for need in stage.needs:
        words += f"; it goes there only with the {need.follower} {need.words}, so look"
    if stage.solenoid:
        words += "; with the plug out pull the solenoid's plunger by hand, gently, and keep it there"
    return Step("stage", f"{words}. {_when_nothing_moves(way, span, unsure)}")


def _when_nothing_moves(way: Way, span: tuple[float, float], unsure: bool) -> str:
    """How long it may be still between the moves of a stage, and when to stop."""
    still, unseen = still_deg(way, *span), unseen_deg(way, *span)
    if unseen is None:
        return "No lever of this list begins to move here."
    rest = f"Up to {turns_on(way, still)} on end may pass with no move of this list. " if still > TINY else ""
    lost = f"If nothing at all moves for {turns_on(way, still + unseen)}, stop, too. " if unsure else ""
    due = f"If a move that is due does not show within {turns_on(way, unseen)}, stop"
    return f"{rest}{due}: the power goes elsewhere. {lost}".rstrip()


def _elsewhere(way: Way, met: Met) -> Step:
    words = (
        f"{_after(way, met.theta_deg)} stop: as the machine is, the power does not go the way of the stage"
    )
    return Step("stage", f"{words} {met.obstacle.name} from here on. Set right what that stage needs first.")


def _rest(way: Way, theta: float) -> Step:
    then = f". {CATCH} Then" if on_way(way, theta) > TINY else ":"
    words = f"pull the solenoid's plunger by hand, {INTO_MESH}, and let the plunger go. {UNCOUNTED}."
    return Step("latch", f"{_after(way, theta)} the latch holds the cam{then} {words}")


def _kicked(way: Way) -> bool:
    """Whether it stands just behind a rest, on its way into mesh."""
    release, start = way.run.transport.release, way.start_deg
    return bool(release and release.rests_from(start - float(release.gear.kick_deg) + TINY, start - TINY))


def _at_rest(way: Way) -> bool:
    """Whether a latch holds the cam where the way ends, or none need hold it."""
    release, stop = way.run.transport.release, way.stop_deg
    return not release or bool(release.rests_from(stop - release.latch_deg, stop + release.latch_deg))


# ---- The end ----


def _ending(way: Way) -> list[Step]:
    if way.blocked:
        return [_barred(way), Step("tape", CUT)]
    transport, words = way.run.transport, []
    if way.turn_deg > TINY:
        turns = amount(transport, way.shaft_deg(way.stop_deg))
        words.append(f"Stop after {turns} ({say(way.turn_deg, '°')}).")
        words += [CATCH] if way.stop_deg in way.rests else []
    words.append(f"Now {way.target} stands right: {_looks(way)}.")
    words += [NO_REST] if not _at_rest(way) else []
    if not transport.cyclic:
        stop = transport.ends[0] if way.sense == UNLOADING else transport.ends[1]
        left = abs(stop - way.stop_deg)
        words.append(f"The end stop is {amount(transport, left)} further on: don't run against it.")
    left = tape_left(way)
    done = f"{way.target} stands right" if left else "the tape is out"
    after = Step("after", AFTER.format(done=done))
    if left:
        return [Step("stop", " ".join(words)), Step("tape", f"{left} {CUT}"), after]
    tape = transport.tape
    reel = f"with the {tape.wind_in}, {tape.sense}" if tape else "by hand at a reel"
    out = (
        f"Look along the whole tape path. Wind in what still hangs loose {reel}; only then take it out. {CUT}"
    )
    return [Step("stop", " ".join(words)), Step("tape", out), after]


def tape_left(way: Way) -> str:
    """That the tape is still in the machine at the end of the way, in words; nothing where it can be out.

    It can be out in the mode to which the controller homes, if no lever of the tape's table draws any there.

    >>> from mechlib.bench.way_out import way_out
    >>> from mechlib.transports import load
    >>> tape_left(way_out(load("alder"), 210)), tape_left(way_out(load("alder"), 10, "WIND"))[:33]
    ('', 'The tape is still in the machine:')
    """
    transport, home = way.run.transport, way.run.transport.controller.home.mode
    drawn = 0.0
    for name, mm_per_mm in transport.tape.mm_per_mm if transport.tape else ():
        follower = transport.follower(name)
        lift = follower.lift(way.run.slipped_place(follower.part, way.stop_deg))
        least = min(
            mm for segment in follower.programme.segments for mm in (segment.start_mm, segment.end_mm)
        )
        drawn += mm_per_mm * (lift - least) if lift - least > follower.tolerance_mm else 0.0
    if way.target == home and not drawn:
        return ""
    by = f" {say(drawn, 'mm', 0)} of it is drawn out." if drawn else ""
    to = f" It can be taken out in {home}: ask for the steps to {home}." if way.target != home else ""
    return f"The tape is still in the machine: don't pull at it.{by}{to}"


def _looks(way: Way) -> str:
    return listing(f"{need.follower} {need.words}" for need in way.run.transport.mode(way.target).needs)


def _barred(way: Way) -> Step:
    """What ends the way, and whether setting the slipped gears on their marks would free it."""
    transport, obstacle = way.run.transport, way.blocked.obstacle
    if obstacle.kind == "part stop":
        gears, what = [obstacle.name], f"the {obstacle.name} comes to its own stop"
    else:
        lock = next(i for i in transport.interlocks if i.name == obstacle.name)
        pair = (lock.when.follower, lock.must.follower)
        gears = [transport.follower(name).part for name in pair]
        what = f"the {pair[0]} and the {pair[1]} meet ({lock.name})"
    after = f"{_after(way, way.stop_deg)} stop:" if way.turn_deg >= SHOWN_DEG else "Stop at once:"
    if way.wedged and way.turn_deg < SHOWN_DEG:
        after = f"Once they are apart, stop: on the way to {way.target}"
    words = f"{after} {what}. Don't force it: that bends a lever or skips a tooth."
    slipped = {mesh for mesh, _ in transport.slips}
    out = [p for p in dict.fromkeys(p for gear in gears for p in transport.chains[gear]) if p in slipped]
    if out and not way_out(transport.sound, way.start_deg, way.target).blocked:
        gear = listing(f"the {part}" for part in out)
        marks = "its mark" if len(out) == 1 else "their marks"
        cure = f"The cause is {gear}: on {marks} the way is free. But re-timing begins with the tape out"
        return Step("stop", f"{words} {cure}: ask somebody who knows the machine before a gear is lifted.")
    lift = listing(f"the {gear_name(gear)}" for gear in dict.fromkeys(gears))
    return Step("stop", f"{words} One of them must come free of its gear: {lift}, springs unhooked first.")


def _must_be_lifted(way: Way) -> Step:
    needs = _looks(way)
    words = (
        f"No place of the cam brings all of this together: {needs}. A gear is off its mark or a lever bent"
    )
    return Step("stop", f"{words}: set that right first, and don't turn against it.")
