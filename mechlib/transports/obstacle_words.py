"""Words for what the drive runs into."""

from __future__ import annotations

from mechlib.say import listing, say
from mechlib.transports.model import Transport
from mechlib.transports.outcomes import ELSEWHERE, JAMMED, NEVER_SEEN
from mechlib.transports.runs import Obstacle

TOLD = ("not told", "too soon", "dead motor")  # obstacles that are the controller's


def obstacle_words(obstacle: Obstacle, at: float, transport: Transport) -> tuple[str, str]:
    """The outcome of running into an obstacle, and the words for it."""
    where = say(at, "°")
    if obstacle.kind == "interlock":
        lock = next(i for i in transport.interlocks if i.name == obstacle.name)
        pair = listing([f"the {lock.when.follower}", f"the {lock.must.follower}"])
        return JAMMED, f"{pair} collide at {where} ({lock.name})"
    if obstacle.kind == "part stop":
        return JAMMED, f"the {obstacle.name} reaches its own stop at {where}"
    if obstacle.kind in TOLD:
        return _no_hand_over(obstacle, where, transport)
    return ELSEWHERE, f"at {where} the power no longer goes the way of the stage {obstacle.name}"


def _no_hand_over(obstacle: Obstacle, where: str, transport: Transport) -> tuple[str, str]:
    """The outcome where a motor isn't turned, or not to the end of its stage, and the words for it."""
    stage = transport.stage(obstacle.name)
    motor = transport.motor_of(stage).name
    if obstacle.kind == "dead motor":
        return NEVER_SEEN, f"the {motor} doesn't turn; the drive stands at {where} until the time-out"
    told = f"that the stage {stage.name} is done: the {motor}"
    at = f"at {where} contact {obstacle.contact}"
    if obstacle.kind == "not told":
        return NEVER_SEEN, f"{at} does not tell {told} goes on until the time-out"
    return ELSEWHERE, f"{at} has told too soon {told} stops, and the next turns in vain"
