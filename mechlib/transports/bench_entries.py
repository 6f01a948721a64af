"""What a transport file may say for fault finding: how often each fault is met, and what takes how long.

A kind of fault or check is a word; what an entry is about (its ``of``) is a thing of the machine: a timed
part, a gear, a follower, a contact, a motor or a sense of it, a belt, a mode, or nothing where there is only
one such.
"""

from __future__ import annotations

from dataclasses import dataclass

COMMON_PRACTICE = "common practice, no source"

PART, GEAR, FOLLOWER, CONTACT, SENSE, MODE = (
    "timed part", "gear", "follower", "contact", "sense of the motor", "mode with a rest",
)  # fmt: skip
SEEN = "gear, follower or other thing to look at"
# An entry for one of these has no ``of``; one for a motor or belt names the motor where there are several.
MOTOR, BELT, SOLENOID, CUT_OFF, MACHINE = "motor", "belt", "solenoid", "thermal cut-off", "machine"

# What a fault of each kind, and a check of each kind, is of.
FAULTS = {
    "slip": PART,
    "split gear": PART,
    "clip gone": PART,
    "missing teeth": PART,
    "bent lever": FOLLOWER,
    "dirty contact": CONTACT,
    "intermittent contact": CONTACT,
    "open contact": CONTACT,
    "slack belt": BELT,
    "glazed belt": BELT,
    "weak motor": MOTOR,
    "low supply": MOTOR,
    "hard grease": GEAR,
    "stiff lever": FOLLOWER,
    "dead solenoid": SOLENOID,
    "cut-off open": CUT_OFF,
    "worn latch": MODE,
    "dead driver": SENSE,
    "electronics": MACHINE,
    "nothing": MACHINE,
}
MENDED_AS = {"intermittent contact": "dirty contact"}  # by the same work, in one go
SLACK_BELT = "slack belt"
NEW_BELT = (SLACK_BELT, "glazed belt")  # a new belt mends both; a file may tell the work at either
CHECKS = {
    "try a change": MACHINE,
    "read a contact": CONTACT,
    "look at a mark": PART,
    "look at a part": SEEN,
    "time a change": MACHINE,
    "volts at the motor": MOTOR,
    "motor current": MOTOR,
}


@dataclass(frozen=True)
class HowOften:
    """How often a fault is met, as a weight beside those of other faults.

    Without ``of`` it is the weight of the kind as a whole, for all places that have no entry of their own.
    """

    fault: str
    of: str | None
    weight: float
    source: str = COMMON_PRACTICE


@dataclass(frozen=True)
class BenchTime:
    """The minutes that a check or a repair takes at the bench, and the covers that come off first.

    ``kind`` is the check's, or that of the fault which is repaired.  The covers' own minutes come on top.
    None for ``minutes`` or ``under`` where the file gives the other one only.
    """

    kind: str
    of: str | None
    minutes: float | None
    under: tuple[str, ...] | None = None
