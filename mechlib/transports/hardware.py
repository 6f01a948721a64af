"""What a file says of shafts, covers and gears: how they drive one another and how they are reached."""

from __future__ import annotations

from dataclasses import dataclass

BETWEEN_GEAR = "a gear between"  # what an upstream mesh drives, if it is neither the main gear nor an output


@dataclass(frozen=True)
class HandShaft:
    """A shaft that can be turned by hand; ``turns_per_cam_turn`` of it make one turn of the main cam."""

    name: str
    turns_per_cam_turn: float


@dataclass(frozen=True)
class Cover:
    """Something that comes off before a part can be reached; ``minutes`` to take it off and put it back.

    ``off_first`` names the covers that must be off before it.  ``holds`` says in words what it holds in
    place, such as the ends of shafts, which must not turn while it is off; None where it holds nothing.
    """

    name: str
    minutes: float
    off_first: tuple[str, ...] = ()
    holds: str | None = None


@dataclass(frozen=True)
class Access:
    """How a gear is reached and lifted out: the covers over it, the minutes to lift it and put it back.

    ``secured_by`` says what keeps it on its shaft, ``caution`` what to mind while it is lifted,
    ``put_back`` what goes on again once it is in, such as a spring; what a file doesn't say is None.
    """

    under: tuple[str, ...] = ()
    lift_minutes: float | None = None
    secured_by: str | None = None
    caution: str | None = None
    put_back: str | None = None


@dataclass(frozen=True)
class Root:
    """A gear at the end of the power path: the main cam's gear, or another output.

    ``speed`` is its speed over the main cam's (for another output: over the speed that the main cam would
    have, had the power gone there); its sign is its sense of rotation.
    """

    name: str
    teeth: int
    speed: float = 1.0
    access: Access = Access()
    drag_Nmm: float = 0.0


@dataclass(frozen=True)
class UpstreamMesh:
    """A mesh between a motor and the main gear: a slip there changes nothing on the chart.

    ``drives``: what its driven gear is: the main cam (for the main gear itself), another output, a gear
    between, or "" where the file doesn't say.  ``motor``: in whose train it is, None where there is but one.
    """

    name: str
    driver_teeth: int
    driven_teeth: int
    drives: str = ""
    motor: str | None = None
