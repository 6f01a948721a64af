"""Where each mode stops, and how far that is from standing wrong: margins by interval arithmetic."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from mechlib.say import count, listing, say
from mechlib.transports.arcs import EVERYWHERE, TINY, Arcs, complement, holding, intersect, nearest, repeated
from mechlib.transports.faults import slip
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Leg, Transport
from mechlib.transports.runs import Run, closed_contacts, steady

BELOW, ABOVE = "below", "above"
THE_CODE = "code"
THE_STOP = "end stop"
MOST_TEETH = 12  # slips further out than this are not looked at


@dataclass(frozen=True)
class Arrival:
    """Where the cam stands after a mode was reached in one sense, play taken up in that sense.

    ``read_deg`` is where the code counts, ``stand_deg`` where the cam comes to rest.  ``past_stop_deg`` is
    how far beyond an end stop the code would have to be read (0 when it can be read), ``shut`` the obstacle
    that the cam would stand in, if any.
    """

    mode: str
    sense: str
    read_deg: float
    stand_deg: float
    run: Run
    past_stop_deg: float = 0.0
    shut: str | None = None

    @property
    def possible(self) -> bool:
        """True if the cam can stand here."""
        return self.past_stop_deg <= 0 and self.shut is None


def legs_between(transport: Transport, start: str, target: str) -> tuple[Leg, ...]:
    """The legs of a mode change: those of the file, else straight there by the order of modes.

    >>> from mechlib.transports import load
    >>> [leg.mode for leg in legs_between(load("alder"), "PLAY", "STOP")]
    ['SLOW', 'STOP']
    """
    controller = transport.controller
    if (start, target) in controller.legs:
        return controller.legs[start, target]
    if transport.cyclic:
        return (Leg(LOADING, target),)
    later = controller.order.index(target) >= controller.order.index(start)
    return (Leg(LOADING if later else UNLOADING, target),)


@lru_cache(maxsize=64)
def arriving_senses(transport: Transport) -> dict[str, tuple[str, ...]]:
    """For each mode the senses in which some leg of the controller waits for its code.

    >>> from mechlib.transports import load
    >>> arriving_senses(load("alder"))["EJECT"]
    ('unloading',)
    """
    controller = transport.controller
    legs = [controller.home] + ([controller.retry] if controller.retry else [])
    for start in controller.order:
        for target in controller.order:
            if start != target:
                legs += legs_between(transport, start, target)
    seen = {(leg.mode, leg.sense) for leg in legs}
    return {mode: tuple(s for s in SENSE if (mode, s) in seen) for mode in controller.order}


@lru_cache(maxsize=4096)
def arrival(transport: Transport, mode: str, sense: str) -> Arrival | None:
    """Where the cam stands after ``mode`` was reached in ``sense`` from far off; None if no code is read.

    Of several arcs that show the code, the one is taken where every contact stands on the mode's own arc.
    A part-toothed gear stands at a rest that shows the code.

    >>> from mechlib.transports import load
    >>> came = arrival(load("alder"), "PLAY", "loading")
    >>> round(came.read_deg, 6), round(came.stand_deg, 6), came.possible
    (208.8, 210.4, True)
    """
    if transport.release:
        return _arrival_at_rest(transport, mode, sense)
    direction, (low, high) = SENSE[sense], transport.ends
    run = steady(transport, sense, beyond=0.0 if transport.cyclic else 180.0)
    best = None
    for start, end in run.code_arcs(transport.mode(mode).code):
        edge = start if direction > 0 else end
        if end - start < transport.settle_deg or edge in (run.low, run.high):  # it shows from far off on
            continue
        read = edge + direction * transport.settle_deg
        if transport.cyclic:
            if not 0 <= read < 720:  # in the first turn; where teeth are missing it may come later
                continue
            past = 0.0
        else:
            # the edge itself must be passed in motion, and the code must stand before the stop is reached
            past = max(low - edge, read - high) if direction > 0 else max(edge - high, low - read)
        candidate = (past > 0, false_code(transport, mode, run.places_at(read)), max(past, 0.0), read)
        best = min(best, candidate) if best else candidate
    if best is None:
        return None
    _, _, past, read = best
    stand = transport.coasted(read, sense)
    return Arrival(mode, sense, read, stand, run, past, _shut(run, stand))


def _arrival_at_rest(transport: Transport, mode: str, sense: str) -> Arrival | None:
    """The rest at which the latch holds and the mode's code shows."""
    if sense not in transport.senses:
        return None
    run, code, found = steady(transport, sense), transport.mode(mode).code, []
    for rest in transport.release.rests_deg:
        places = run.places_at(rest)
        if closed_contacts(transport, places) == code:
            found.append((false_code(transport, mode, places), rest))
    if not found:
        return None
    _, rest = min(found)
    return Arrival(mode, sense, rest, rest, run, 0.0, _shut(run, rest))


def _shut(run: Run, stand: float) -> str | None:
    """The obstacle that the cam would stand in, if any."""
    return next((o.name for o in run.obstacles if o.kind != "elsewhere" and _deep_in(o.arcs, stand)), None)


def _deep_in(arcs: Arcs, theta: float) -> bool:
    """True inside an arc, not on its edge: a machine can stand where two followers only touch."""
    arc = holding(arcs, theta)
    return arc is not None and min(theta - arc[0], arc[1] - theta) > 1e-6


@lru_cache(maxsize=512)
def own_arcs(transport: Transport, mode: str) -> dict[str, tuple[float, float]]:
    """For a sound machine: the arc of its own place on which each part with contacts shows a mode's code."""
    run, code = steady(transport, LOADING), transport.mode(mode).code
    theta, found = _own_theta(run, code), {}
    if theta is None:
        return found
    for part in {contact.part for contact in transport.contacts}:
        arcs = EVERYWHERE
        for contact in transport.contacts:
            if contact.part == part:
                closed = contact.closed
                if transport.cyclic:
                    closed = repeated(closed, 360.0, -720.0, 1080.0)
                arcs = intersect(arcs, closed if contact.name in code else complement(closed))
        found[part] = holding(arcs, run.place(part, theta))
    return found


def _own_theta(run: Run, code: frozenset[str]) -> float | None:
    """Where a mode's code shows in a sound machine; None where it never does, or at no rest of a gear."""
    if release := run.transport.release:
        shown = (rest for rest in release.rests_deg
                 if closed_contacts(run.transport, run.places_at(rest)) == code)  # fmt: skip
        return next(shown, None)
    return next((sum(arc) / 2 for arc in run.code_arcs(code)), None)


def false_code(transport: Transport, mode: str, places: Mapping[str, float]) -> bool:
    """True where the code of ``mode`` shows although some contact's part is not on the mode's own arc."""
    for part, (low, high) in own_arcs(transport.sound, mode).items():
        place = places[part] + transport.advance_deg[part]
        if transport.cyclic:
            place = low + (place - low) % 360.0
        if not low - TINY <= place <= high + TINY:
            return True
    return False


@dataclass(frozen=True)
class Distance:
    """How far a follower is from standing wrong in a mode that was reached in one sense.

    ``below_deg`` and ``above_deg`` reach from the standing angle to the edges of the arc on which the
    follower stands right; negative where it stands outside, on the side on which it would have to be.
    An entry for "code" says how far beyond an end stop the code would have to be read; for a part-toothed
    gear, how far the mode's rest is from the edges of the arc that shows the code.  With ``never`` the
    follower (or code) is in its range nowhere between the stops; both distances are then minus the travel.
    ``stops``: the sides on which an end stop is the edge.
    """

    follower: str
    sense: str
    below_deg: float
    above_deg: float
    never: bool = False
    stops: tuple[str, ...] = ()

    @property
    def ruled_by(self) -> str:
        """What is met on the side of the smaller distance: the end stop, or the follower standing wrong."""
        return THE_STOP if self.smaller[1] in self.stops else self.follower

    @property
    def smaller(self) -> tuple[float, str]:
        """The smaller distance and its side."""
        return min((self.below_deg, BELOW), (self.above_deg, ABOVE))


@dataclass(frozen=True)
class ModeMargin:
    """The margin of a mode: the smallest distance of any follower, sense and side, and what rules it.

    ``ruled_by`` is the follower, or "end stop" where that comes before it stands wrong.
    """

    mode: str
    margin_deg: float
    follower: str
    side: str
    sense: str
    distances: tuple[Distance, ...]
    teeth: float
    turns: float
    at_rest: bool = False  # of a part-toothed gear
    ruled_by: str = ""

    @property
    def never(self) -> bool:
        """True if the ruling follower (or the code) is in its range nowhere between the stops."""
        return any(d.never and d.smaller[0] == self.margin_deg for d in self.distances)

    def in_sense(self, sense: str) -> tuple[float, str, str] | None:
        """The margin after an arrival in ``sense``, what rules it and its side; None if never so reached."""
        found = [(*d.smaller, d.ruled_by) for d in self.distances if d.sense == sense]
        if not found:
            return None
        margin, side, ruled_by = min(found)
        return margin, ruled_by, side

    def sentence(self) -> str:
        amount = f"{say(abs(self.margin_deg), '°')} ({say(abs(self.teeth), 'teeth')} of the main gear)"
        if self.never:
            return f"{self.mode} cannot stand right: {self.follower} never in range between the stops."
        if self.at_rest and self.margin_deg < 0 and self.follower == THE_CODE:
            return f"{self.mode} cannot be reached: its code shows {amount} away from its rest."
        if self.follower == THE_CODE and not self.at_rest:
            return (
                f"{self.mode} cannot be reached in the {self.sense} sense: its code would have to be read "
                f"{amount} beyond the end stop."
            )
        if self.margin_deg < 0:
            return (
                f"{self.mode} stands wrong: reached in the {self.sense} sense, the {self.follower} is "
                f"{amount} outside its range."
            )
        first = "comes before any follower stands" if self.ruled_by == THE_STOP else "would be first to stand"
        return (
            f"{self.mode} has a margin of {amount}: reached in the {self.sense} sense, the "
            f"{self.ruled_by} {first} wrong, {self.side} the stop angle."
        )


@lru_cache(maxsize=4096)
def mode_margin(transport: Transport, mode: str) -> ModeMargin:
    """The margin of one mode over every arrival that can occur.

    >>> from mechlib.transports import load
    >>> found = mode_margin(load("alder"), "PLAY")
    >>> round(found.margin_deg, 2), found.follower, found.side, found.sense
    (3.85, 'reel idler', 'below', 'loading')
    """
    transport.mode(mode)
    distances: list[Distance] = []
    for sense in arriving_senses(transport)[mode]:
        distances += _distances(transport, mode, sense)
    ruling = min(distances, key=lambda d: d.smaller[0])
    margin, side = ruling.smaller
    amounts = transport.teeth_of(margin), transport.turns_of(margin)
    kept = tuple(distances)
    at_rest = transport.release is not None
    return ModeMargin(
        mode, margin, ruling.follower, side, ruling.sense, kept, *amounts, at_rest, ruling.ruled_by
    )


def _distances(transport: Transport, mode: str, sense: str) -> list[Distance]:
    low, high = transport.ends
    came = arrival(transport, mode, sense)
    found = [_to_its_code(transport, mode, came)] if transport.release else []
    if came is None:
        return found or [Distance(THE_CODE, sense, low - high, low - high, never=True)]
    if came.past_stop_deg > 0:
        return [Distance(THE_CODE, sense, -came.past_stop_deg, -came.past_stop_deg)]
    span = EVERYWHERE if transport.cyclic else ((low, high),)
    for need in transport.mode(mode).needs:
        arcs = intersect(came.run.need_arcs(need), span)
        arc = holding(arcs, came.stand_deg) or nearest(arcs, came.stand_deg)
        if arc is None:
            found.append(Distance(need.follower, sense, low - high, low - high, never=True))
        else:
            below, above = came.stand_deg - arc[0], arc[1] - came.stand_deg
            edges = ((BELOW, arc[0] == low), (ABOVE, arc[1] == high)) if not transport.cyclic else ()
            stops = tuple(side for side, at_end in edges if at_end)
            found.append(Distance(need.follower, sense, below, above, stops=stops))
    return found


def _to_its_code(transport: Transport, mode: str, came: Arrival | None) -> Distance:
    """From a mode's rest to the edges of the arc that shows its code, or of the nearest such arc."""
    came = came or arrival(transport.sound, mode, LOADING)
    arcs = steady(transport, LOADING).code_arcs(transport.mode(mode).code)
    if came is None or not arcs or came.stand_deg not in transport.release.rests_deg:
        return Distance(THE_CODE, LOADING, -360.0, -360.0, never=True)
    rest = came.stand_deg
    arc = holding(arcs, rest) or nearest(arcs, rest)
    return Distance(THE_CODE, LOADING, rest - arc[0], arc[1] - rest)


def margins(transport: Transport) -> tuple[ModeMargin, ...]:
    """The margin of every mode, in the controller's order.

    >>> from mechlib.transports import load
    >>> [found.mode for found in margins(load("alder")) if found.teeth < 1]
    ['EJECT', 'WIND', 'REVIEW', 'PLAY']
    """
    return tuple(mode_margin(transport, mode) for mode in transport.mode_names)


@dataclass(frozen=True)
class Survival:
    """How many teeth of slip at one mesh a mode survives: ``behind`` and ``ahead``; None where any number."""

    mode: str
    mesh: str
    behind: int | None
    ahead: int | None

    def sentence(self) -> str:
        if self.behind is None and self.ahead is None:
            return f"{self.mode} does not depend on the {self.mesh}."
        words = [
            f"{'any number of teeth' if n is None else count(n, 'tooth')} {way}"
            for n, way in ((self.behind, "behind"), (self.ahead, "ahead"))
        ]
        return f"{self.mode} survives a slip of the {self.mesh} by {listing(words)}."


def slips_survived(transport: Transport, mode: str, mesh: str) -> Survival:
    """The whole teeth, each way, by which one mesh can be out while the mode still stands right.

    None stands for more than 12 teeth, or a mesh on which the mode does not depend.

    >>> from mechlib.transports import load
    >>> slips_survived(load("alder"), "PLAY", "mode switch").sentence()
    'PLAY survives a slip of the mode switch by 1 tooth behind and 0 teeth ahead.'
    """

    def survived(step: int) -> int | None:
        for teeth in range(1, MOST_TEETH + 1):
            if mode_margin(transport.with_faults(slip(mesh, step * teeth)), mode).margin_deg < 0:
                return teeth - 1
        return None

    return Survival(mode, mesh, survived(-1), survived(1))
