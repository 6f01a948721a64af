"""How a mode change went: its legs, how it ended, where the machine stands, told in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from mechlib.say import count, say
from mechlib.transports.model import Leg

# How a change can end.
RIGHT = "reached"
ON_RETRY = "reached on retry"
WRONG = "reached but wrong"
SILENT_SENSOR = "reached, then powered off"
FALSE_CODE = "stopped at a false code"
JAMMED = "jammed"
END_STOP = "ran to the end stop"
ELSEWHERE = "the drive went elsewhere"
NEVER_SEEN = "code never seen"
TOO_SLOW = "too slow"
NO_START = "cannot start"
OUTCOMES = (
    RIGHT,
    ON_RETRY,
    WRONG,
    SILENT_SENSOR,
    FALSE_CODE,
    JAMMED,
    END_STOP,
    ELSEWHERE,
    NEVER_SEEN,
    TOO_SLOW,
    NO_START,
)
GOOD = (RIGHT, ON_RETRY)

LEAST_SHOWN_DEG = 0.05  # what is less is rounded to 0.0, and would read as right
DIGITS = 10  # of a degree, to which it matters where the machine stands


@dataclass(frozen=True)
class Stand:
    """Where the machine stands: theta, the place of every root and part, and the last sense of the motor.

    >>> Stand(0.3, {"main cam": 0.3}, "loading") == Stand(0.1 + 0.2, {"main cam": 0.3}, "loading").rounded()
    True
    """

    theta: float
    places: Mapping[str, float]
    sense: str

    def __hash__(self) -> int:  # of what tells stands apart most
        return hash((self.theta, self.sense))

    def rounded(self) -> Stand:
        """The same without the last bits, so that stands to which ways differ in rounding are one."""
        return self._rounded

    @cached_property
    def _rounded(self) -> Stand:
        places = {part: round(place, DIGITS) for part, place in self.places.items()}
        return Stand(round(self.theta, DIGITS), places, self.sense)


@dataclass(frozen=True)
class LegRun:
    """One leg as it went: from where to where, how it ended (one of OUTCOMES), why in words, and the time.

    ``releases``: how often the solenoid released a part-toothed gear; None for other drives.
    ``moving``: the time-out came while the drive was on its way; nothing held it.
    """

    leg: Leg
    purpose: str  # "", "homing" or "retry"
    start_deg: float
    end_deg: float
    ended: str
    why: str
    time_s: float
    releases: int | None = None
    moving: bool = False

    def sentence(self) -> str:
        purpose = f"{self.purpose.capitalize()}: the" if self.purpose else "The"
        if self.ended == RIGHT and self.start_deg == self.end_deg:
            return f"{purpose} code of {self.leg.mode} shows already, so the motor does not turn."
        if self.releases == 0:
            waits = f"{purpose} controller waits for {self.leg.mode} from {say(self.start_deg, '°')} on"
            return f"{waits}; {self.why} ({say(self.time_s, 's')})."
        if self.releases is not None:
            times = count(self.releases, "time")
            return (
                f"{purpose} solenoid releases the cam {times} from {say(self.start_deg, '°')} on, waiting "
                f"for {self.leg.mode}; {self.why} ({say(self.time_s, 's')})."
            )
        sense, at = f"the {self.leg.sense} sense", say(self.start_deg, "°")
        way = f"controller asks for {sense} at {at}"
        if self.start_deg != self.end_deg:
            way = f"motor turns in {sense} from {at}"
        return f"{purpose} {way} and waits for {self.leg.mode}; {self.why} ({say(self.time_s, 's')})."


@dataclass(frozen=True)
class WrongFollower:
    """A follower that stands wrong in the mode reached."""

    name: str
    state: str
    lift_mm: float
    needed: str
    off_deg: float | None  # in main-cam degrees; None where no place of the part is right

    def words(self) -> str:
        stands = f"{self.name} at {say(self.lift_mm, 'mm', 2)} ({self.state})"
        if self.off_deg is None:
            return f"{stands}, and never {self.needed}"
        off = "less than 0.1°" if self.off_deg < LEAST_SHOWN_DEG else say(self.off_deg, "°")
        return f"{stands}, {off} of the cam from {self.needed}"


@dataclass(frozen=True)
class Change:
    """A mode change as it went: the legs, how it ended, where the machine stands."""

    start: str
    target: str
    outcome: str
    why: str
    legs: tuple[LegRun, ...]
    stand: Stand | None
    powered_off: bool
    wrong: tuple[WrongFollower, ...] = ()
    skipped: tuple[tuple[str, int], ...] = ()  # meshes that skipped teeth on the way, each with which way
    arrived: str | None = None  # the sense in which the start was reached

    @property
    def good(self) -> bool:
        """True if the target was reached and every follower stands right."""
        return self.outcome in GOOD

    @property
    def time_s(self) -> float:
        """Time from the command to the end, waiting for time-outs included."""
        return sum(leg.time_s for leg in self.legs)

    @property
    def releases(self) -> int:
        """How often the solenoid released the cam; 0 for a drive without a part-toothed gear."""
        return sum(leg.releases or 0 for leg in self.legs)

    def sentence(self) -> str:
        """The finding in one sentence."""
        off = (
            f"; the machine powers off, standing at {say(self.stand.theta, '°')}" if self.powered_off else ""
        )
        skipped = "".join(
            f"; on the way the {mesh} skipped {count(abs(teeth), 'tooth')} and is {_way(teeth)} now"
            for mesh, teeth in _added(self.skipped)
        )
        return f"{self.start} to {self.target}: {self.outcome}, {self.why}{skipped}{off}."

    def story(self) -> str:
        """The change told leg by leg, a line each, and the finding last."""
        return "\n".join([*(leg.sentence() for leg in self.legs), self.sentence()])


def _added(skips) -> list[tuple[str, int]]:
    """Skips of one mesh added up, in the order in which the meshes first skipped."""
    total: dict[str, int] = {}
    for mesh, teeth in skips:
        total[mesh] = total.get(mesh, 0) + teeth
    return [(mesh, teeth) for mesh, teeth in total.items() if teeth]


def _way(teeth: int) -> str:
    return "further on" if teeth > 0 else "further back"
