"""What comes before a stuck tape is turned out by hand: cautions, which way is which, what to ease first."""

from __future__ import annotations

from dataclasses import replace

from mechlib.bench.first_move import first_moves
from mechlib.bench.hand_turn import amount, at_which_motor
from mechlib.bench.retiming_steps import Step
from mechlib.bench.stuck_tape_steps import CUT, on_way, turned, turns_on
from mechlib.bench.way_out import Way, lever_moves, long_run
from mechlib.bench.ways_from import Branch, say_each
from mechlib.bench.where import Where
from mechlib.say import listing
from mechlib.transports.arcs import TINY
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Interlock, Transport
from mechlib.transports.runs import Obstacle

# Common practice, no source.
CAUTIONS = (
    "Pull the mains plug, not only the switch, and wait: capacitors of the supply stay charged for a while. "
    "Mains parts and their covers are for qualified people, and local rules come first.",
    "Never bridge or hold down a cover switch, a fuse or a thermal cut-off to let the motor do it.",
    "Never touch heads, nor a drum that carries them, and let no tool come near. Touch the tape as little "
    "as can be, with clean dry fingers, and don't pull at it: its edges crease, and that damages the "
    "recording.",
    "Levers under a spring can strike. Protect your eyes, and keep fingers out of their way.",
)
FORCE = (
    "Turn with two fingers only. Where it gets hard suddenly, or two fingers can't do it, stop, go back a "
    "little and look what touches: nothing on this way needs force."
)
ALIKE = (
    "The first move does not tell the sense here: a lever may move first, and alike, whichever way you turn."
)
ALIKE_SOMEWHERE = (
    "The first move does not tell the sense here: it depends on where the cam stands. Look at more levers "
    "and contacts, and choose what you see: then it may."
)
ARROW = (
    "An arrow beside the shaft that shows the {sense} sense will do. Without one, don't turn: ask somebody "
    "who knows the machine."
)
JAM_SEEN = (
    "A jam is eased the other way than the motor came: find out which way that was, but don't turn by what "
    "doesn't go together."
)
SEEN_TWICE = (
    "If you have looked twice and it still doesn't go together, believe your eyes: a gear has slipped, or a "
    "lever is bent. Don't turn anything. Write down what you see, and ask somebody who knows the machine."
)


def opening_steps(transport: Transport, way: Way | None, where: Where | None = None) -> tuple[Step, ...]:
    """Cautions, what must not be pulled, how to tell the sense, what it stands jammed in.

    >>> from mechlib.bench.way_out import way_out
    >>> from mechlib.transports import load
    >>> alder = load("alder")
    >>> [step.kind for step in opening_steps(alder, way_out(alder, 176))]
    ['caution', 'caution', 'caution', 'caution', 'force', 'train', 'sense']
    """
    steps = [Step("caution", words) for words in CAUTIONS]
    steps += [Step("force", FORCE), Step("train", _train(transport))]
    if way is None or way.aim_deg is None:
        return tuple(steps)
    if way.moves:
        steps.append(Step("sense", _which_way(way, where)))
    else:
        steps += [Step("sense", words) for words in _easing_senses(way, where)]
    stands = "It may be jammed here" if where else "It is jammed here"
    steps += [Step("relieve", f"{stands}: {_relief(way, *jam, where)}") for jam in way.wedged]
    return tuple(steps)


def doubtful_steps(where: Where) -> tuple[Step, ...]:
    """What to do where the sights do not go together: look again, turn nothing.

    >>> from mechlib.bench.where import where_it_stands
    >>> from mechlib.transports import load
    >>> seen = where_it_stands(load("alder"), {"loading arms": "home", "contact C": "closed"})
    >>> [step.kind for step in doubtful_steps(seen)]
    ['look', 'look', 'tape']
    """
    steps = [Step("look", f"Don't turn yet. {where.sentence()}")]
    steps += [Step("look", f"{met_words(lock)} {JAM_SEEN}") for lock in where.jams]
    return (*steps, Step("look", SEEN_TWICE), Step("tape", CUT))


def met_words(lock: Interlock) -> str:
    """That two followers may have met, as they were seen.

    >>> from mechlib.transports import load
    >>> met_words(load("alder").interlocks[2])[:73]
    'If both were seen right, the reel idler and the main brakes stand in each'
    """
    return f"If both were seen right, {_in_the_way(lock)}: it may be a jam."


def _in_the_way(lock: Interlock) -> str:
    return f"the {lock.when.follower} and the {lock.must.follower} stand in each other's way ({lock.name})"


def undecided_steps(target: str, look_at: tuple[str, ...]) -> tuple[Step, ...]:
    """What to do where the sense isn't decided: look before anything is turned.

    >>> undecided_steps("DOWN", ("carriage",))[0].words
    "Don't turn yet: DOWN may lie either way. Look at the carriage, and choose what you see."
    """
    return (Step("look", f"Don't turn yet: {target} may lie either way. {_look(look_at)}"),)


def unsure_steps(target: str, look_at: tuple[str, ...], kinds: tuple[Branch, ...]) -> tuple[Step, ...]:
    """What to do where the way is barred from some of the places only, or by more than one thing.

    >>> [step.kind for step in unsure_steps("DOWN", ("carriage",), ())]
    ['look', 'tape']
    """
    each = [Step("look", say_each((one,))) for one in kinds]
    words = f"Don't turn yet: what bars the way to {target} depends on where the cam stands. {_look(look_at)}"
    ask = "Where nothing more can be seen, don't turn: ask somebody who knows the machine."
    return (Step("look", f"{words} {ask}"), *each, Step("tape", CUT))


def _look(look_at: tuple[str, ...]) -> str:
    look = listing(f"the {name}" for name in look_at[:3]) if look_at else "one more lever or contact"
    return f"Look at {look}, and choose what you see."


def _train(transport: Transport) -> str:
    shaft = f"the {transport.hand_shafts[0].name}" if transport.hand_shafts else "the shaft next to the motor"
    if not transport.motors:
        why = "whether the cam can turn the train back is not in the file"
    elif all(motor.back_efficiency <= 0 for motor in transport.motors):
        why = "the cam can't turn this train back, so pulling there only bends something"
    else:
        why = "the springs can turn this train back, so keep hold of the shaft, or it runs on by itself"
    told = f"Turn {shaft} only, and never pull at tape, reels or levers to turn it: {why}."
    where = at_which_motor(transport)
    return f"{told} Each motor's shaft is turned in its own stage: {where}." if where else told


def _which_way(way: Way, where: Where | None) -> str:
    """What shows that the shaft is turned in the right sense, from every place where it may stand."""
    arcs = where.arcs if where else ((way.start_deg, way.start_deg),)
    told = first_moves(way, arcs)
    if not told:
        return f"{ALIKE_SOMEWHERE if where else ALIKE} {ARROW.format(sense=way.sense)}"
    seen = f"Turning in the {way.sense} sense, the first to move is "
    if len(told) == 1 and not where:
        seen += f"the {way.moves[0].follower}, {way.moves[0].states()}"
        if on_way(way, way.moves[0].begin_deg) > TINY:
            seen += f", after {turned(way, way.moves[0].begin_deg)}"
    else:
        seen += ", or ".join(first.words() for first in told)
    other = "it moves" if len(told) == 1 else "that one moves"
    wrong = f"If {other} the other way, or another lever moves first, you turn the wrong way: turn back."
    play = f" Up to {turns_on(way, way.play_deg)} may pass as play." if way.play_deg > TINY else ""
    return f"{seen}. {wrong}{play}"


def _easing_senses(way: Way, where: Where | None) -> list[str]:
    """The same where nothing is turned but what eases a jam, for each sense in which that is done."""
    transport, furthest = way.run.transport, {}
    for _, out in way.wedged:
        sense = LOADING if out > 0 else UNLOADING
        if sense in transport.senses:
            furthest[sense] = max(out, furthest.get(sense, 0.0), key=abs)
    return [_which_way_eases(way, sense, out, where) for sense, out in furthest.items()]


def _which_way_eases(way: Way, sense: str, out: float, where: Where | None) -> str:
    run, stop = long_run(way.run.transport, sense), way.start_deg + out
    moves = lever_moves(run, way.start_deg, stop)
    if abs(out) <= way.play_deg or not moves:
        return f"So short a turn as eases the jam may move nothing to be seen. {ARROW.format(sense=sense)}"
    return _which_way(replace(way, run=run, stop_deg=stop, moves=moves), where)


def _relief(way: Way, obstacle: Obstacle, out: float, where: Where | None) -> str:
    transport, sense = way.run.transport, LOADING if out > 0 else UNLOADING
    if obstacle.kind == "part stop":
        what = f"the {obstacle.name} is beyond its own stop"
    else:
        lock = next(i for i in transport.interlocks if i.name == obstacle.name)
        what = _in_the_way(lock)
    turns = f"{'at most ' if where else ''}{amount(transport, way.shaft_deg(way.start_deg + out))}"
    free = f"they part after {turns} in the {sense} sense"
    if out * SENSE[way.sense] > 0 and way.turn_deg > TINY:
        free += ", which are the first turns of the way and count as such"
    free += ". If it gets harder, you turn the wrong way: stop"
    if sense not in transport.senses:
        free = "this train turns one way only: part them by hand at their gear, with its springs unhooked"
    lift = "lift a gear: eyes protected, both levers held by hooks"
    return f"{what}. Ease it first: {free}. If two fingers can't do it, {lift}."
