"""Try another dwell: its length, its place, the law beside it, the coasting, the width of the contact."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor, inf, isinf, remainder

from mechlib.bench.past_code import PastCode, past_code
from mechlib.cams import LAWS, Programme, Segment, law
from mechlib.errors import MechError, check_number
from mechlib.ranges import Choice, Range
from mechlib.say import listing, say
from mechlib.transports.dwell_budget import NO_LIMIT, THE_CODE, DwellBudget, dwell_budget
from mechlib.transports.faults import bent_lever
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.model import LOADING, SENSE, Contact, Transport
from mechlib.transports.runs import steady
from mechlib.transports.timing import Distance, ModeMargin, margins, mode_margin, own_arcs

AS_IT_IS = "as it is"
LEAST_MOVE_DEG = 1.0  # of a move beside the dwell (or its own length, where that is less already)
LEAST_GAP_DEG = 0.1  # between a moved contact edge and the next one on the same part
MOST_MOVE_DEG = 30.0
MOST_COAST_DEG = 60.0
MOST_WIDTH_DEG = 360.0  # of a contact without neighbours
MOST_GROWTH_DEG = 40.0  # of a contact on its slider: 20° at either edge
NEVER = "never in range between the stops"
CLOSE = 1e-9  # degrees
ROUNDING = 10  # decimals of a slider's numbers: none that sums have left


@dataclass(frozen=True)
class Lost:
    """A mode or interlock with less margin than before; an infinite one had no limit.

    ``never``: the follower that is now in its range nowhere between the stops, so that there is no angle.
    """

    name: str
    before_deg: float
    after_deg: float
    never: str = ""

    def sentence(self) -> str:
        """What the margin was and is."""
        before = NO_LIMIT if isinf(self.before_deg) else say(self.before_deg, "°")
        name = f"{self.name[0].upper()}{self.name[1:]}"
        if self.never:
            return f"{name} goes from {before} to none: the {self.never} is {NEVER}."
        return f"{name} goes from {before} to {say(self.after_deg, '°')}."


@dataclass(frozen=True)
class DwellTrial:
    """A transport with another dwell: the mode's margin and budget before and after, and who pays for it.

    ``lost`` are the other modes and the interlocks that lost margin, ``elsewhere`` the stages in which the
    power would now go elsewhere, ``past`` the modes (this one first) that come to rest past their code.
    """

    mode: str
    follower: str
    transport: Transport
    before: ModeMargin
    margin: ModeMargin
    budget: DwellBudget
    lost: tuple[Lost, ...]
    elsewhere: tuple[str, ...]
    past: tuple[PastCode, ...] = ()

    @property
    def distances(self) -> tuple[Distance, ...]:
        """How far the follower stands from wrong, on both sides, for each sense of arrival."""
        return tuple(d for d in self.margin.distances if d.follower == self.follower)

    def verdict(self) -> str:
        """The margin before and after, the budget's verdict, and what its code does to it where it rests."""
        was = NEVER if self.before.never else say(self.before.margin_deg, "°")
        gone = f"{self.mode} has a margin of {say(self.margin.margin_deg, '°')}"
        if self.margin.margin_deg < -CLOSE:
            gone = f"{self.mode} stands wrong by {say(-self.margin.margin_deg, '°')}"
        ruled = f"{gone} (it was {was}), ruled by the {self.margin.ruled_by}"
        if self.margin.never:
            who = f"the {self.margin.follower} is {NEVER}"
            ruled = f"{self.mode} cannot stand right: {who} (the margin was {was})"
        told = f"{ruled}; the arc of the {self.follower} at worst: {self.budget.tight.words()}."
        return " ".join([told, *(one.sentence() for one in self.past if one.mode == self.mode)])

    def losses(self) -> tuple[str, ...]:
        """A sentence for each mode that comes to rest past its code, for each mode and interlock with less
        margin than before, or one where there is none.
        """
        lost = tuple(one.sentence() for one in self.lost) or ("Nothing else lost margin.",)
        return tuple(one.sentence() for one in self.past) + lost

    def sentence(self) -> str:
        """The verdict and what lost margin."""
        others = listing(one.name for one in self.lost) if self.lost else "nothing else"
        others = others[0].upper() + others[1:]
        stages = f" In {listing(self.elsewhere)} the power goes elsewhere." if self.elsewhere else ""
        past = dict.fromkeys(one.mode for one in self.past if one.mode != self.mode)
        rest = f" Past its code the cam also comes to rest in {listing(past)}." if past else ""
        return f"{self.verdict()} {others} lost margin.{stages}{rest}"


@dataclass(frozen=True)
class _Track:
    """A follower's track cut at the dwell of a mode: that dwell and the segments before and after it.

    With a period the segments after it lead once round, and the last of them is also the one before it.
    """

    dwell: Segment
    before: tuple[Segment, ...]
    after: tuple[Segment, ...]
    period_deg: float | None

    @property
    def middle_deg(self) -> float:
        return (self.dwell.start_deg + self.dwell.end_deg) / 2

    @property
    def length_deg(self) -> float:
        return self.dwell.end_deg - self.dwell.start_deg

    @property
    def limits_deg(self) -> tuple[float, float]:
        """As far as the dwell may reach either way; infinite at the end of a track."""
        low, high = -inf, inf
        if self.before or self.period_deg:
            move = self.before[-1] if self.before else self.after[-1]
            start = move.start_deg if self.before else move.start_deg - self.period_deg
            low = start + min(LEAST_MOVE_DEG, move.end_deg - move.start_deg)
        if self.after:
            move = self.after[0]
            high = move.end_deg - min(LEAST_MOVE_DEG, move.end_deg - move.start_deg)
        return low, high

    def most_deg(self, middle_deg: float) -> float:
        """The greatest length about a middle; not above 0 where there is none."""
        low, high = self.limits_deg
        return 2 * min(middle_deg - low, high - middle_deg)

    def stretched(self, length_deg: float, move_deg: float, law_name: str | None) -> Programme:
        """The track with that length of dwell, moved, and another law for the moves beside it."""
        middle = self.middle_deg + move_deg
        most = self.most_deg(middle)
        if length_deg > most + CLOSE:
            what = f"a dwell {say(length_deg, '°', 2)} long, moved by {say(move_deg, '°', 2, sign=True)}"
            right = f"it may be {say(most, '°', 2)} long there" if most > CLOSE else "move it less"
            raise MechError(f"{what}, leaves nothing for a move beside it", right)
        start, end = middle - length_deg / 2, middle + length_deg / 2
        segments = [*self.before, replace(self.dwell, start_deg=start, end_deg=end), *self.after]
        here = len(self.before)
        changes = {here - 1: ("end_deg", start), here + 1: ("start_deg", end)}
        if self.period_deg:
            changes = {len(segments) - 1: ("end_deg", start + self.period_deg), 1: ("start_deg", end)}
        for index, (edge, deg) in changes.items():
            if index in range(1, len(segments)):
                old = segments[index]
                segments[index] = replace(old, **{edge: deg}, law=law_name or old.law)
        return Programme(tuple(segments), self.period_deg)


def _track(transport: Transport, budget: DwellBudget) -> _Track:
    """The follower's track cut at the dwell on which it stands in the mode."""
    follower = transport.follower(budget.follower)
    need = next(n for n in transport.mode(budget.mode).needs if n.follower == follower.name)
    period = follower.programme.period_deg
    segments, found = _joined(follower.programme.segments, period), []
    at, below = budget.low.at_deg, budget.low.there_deg
    above = budget.fixed_deg + budget.high.there_deg
    for index, segment in enumerate(segments):
        lift = segment.start_mm + follower.bent_mm
        if segment.is_dwell and any(low - CLOSE <= lift <= high + CLOSE for low, high in need.spans):
            away, off = _away(segment, at, period)
            if off <= (below if away > 0 else above) + CLOSE:  # it suits all the way from here to there
                found.append((off, index))
    if not found or len(segments) == 1:
        what = "stands still all the way" if found else "stands on no dwell"
        raise MechError(f"in {budget.mode} the {follower.name} {what}", "choose another follower")
    index = min(found)[1]
    before, after = segments[:index], segments[index + 1 :]
    if period:  # begin the turn at the dwell
        turned = [replace(s, start_deg=s.start_deg + period, end_deg=s.end_deg + period) for s in before]
        before, after = [], after + turned
    return _Track(segments[index], tuple(before), tuple(after), period)


def _away(dwell: Segment, at: float, period: float | None) -> tuple[float, float]:
    """How far an angle is from a dwell's middle, and how far outside it (inside: negative)."""
    away = at - (dwell.start_deg + dwell.end_deg) / 2
    away = remainder(away, period) if period else away
    return away, abs(away) - (dwell.end_deg - dwell.start_deg) / 2


def _joined(segments: tuple[Segment, ...], period: float | None) -> list[Segment]:
    """The segments with dwells that follow one another made one, also over the seam of a turn."""
    joined: list[Segment] = []
    for segment in segments:
        if joined and segment.is_dwell and joined[-1].is_dwell:
            segment = replace(joined.pop(), end_deg=segment.end_deg)
        joined.append(segment)
    first, last = joined[0], joined[-1]
    if period and first.is_dwell and last.is_dwell and first is not last:
        joined.pop()
        joined[0] = replace(joined[0], start_deg=last.start_deg - period)
    return joined


@dataclass(frozen=True)
class _Edges:
    """The arc of a part's place on which its contacts show a mode's code, and room for its edges."""

    part: str
    low: float
    high: float
    least_deg: float
    most_deg: float

    @property
    def width_deg(self) -> float:
        return self.high - self.low


def _edges(transport: Transport, mode: str) -> _Edges:
    """The narrowest such arc of the parts that have a contact in the mode's code: it bounds the code."""
    code, found = transport.mode(mode).code, []
    for part in dict.fromkeys(c.part for c in transport.contacts if c.name in code):
        low, high = own_arcs(transport, mode)[part]
        arcs = [arc for c in transport.contacts if c.part == part for arc in c.closed]
        gaps = [low - edge for arc in arcs for edge in arc] + [edge - high for arc in arcs for edge in arc]
        if transport.cyclic:  # to the next edge round the turn; the arc's own edge is a whole turn off
            turn = transport.ends[1]
            gaps = [(gap - CLOSE) % turn + CLOSE for gap in gaps]
        room = max(min((gap for gap in gaps if gap > CLOSE), default=inf) - LEAST_GAP_DEG, 0.0)
        most = high - low + 2 * room if room < inf else MOST_WIDTH_DEG
        least = min(transport.settle_deg + LEAST_GAP_DEG, high - low)
        found.append(_Edges(part, low, high, least, most))
    return min(found, key=lambda arc: arc.width_deg)


def _widened(transport: Transport, mode: str, width_deg: float) -> tuple[Contact, ...]:
    """The contacts with the mode's code shown over another width; every edge of the old arc moves."""
    arc = _edges(transport, mode)
    check_number("contact_deg", width_deg, arc.least_deg - CLOSE, arc.most_deg + CLOSE, "°")
    grown = (width_deg - arc.width_deg) / 2

    def moved(edge: float) -> float:
        for old, step in ((arc.low, -grown), (arc.high, grown)):
            off = remainder(edge - old, transport.ends[1]) if transport.cyclic else edge - old
            if abs(off) <= CLOSE:
                return edge + step
        return edge

    contacts = tuple(
        replace(c, closed=tuple((moved(a), moved(b)) for a, b in c.closed)) if c.part == arc.part else c
        for c in transport.contacts
    )
    run = steady(replace(transport, contacts=contacts), LOADING)
    for name in transport.mode_names:
        if not run.code_arcs(transport.mode(name).code):
            what = f"with a contact {say(width_deg, '°', 2)} wide the code of {name} never shows"
            raise MechError(what, "choose a width nearer to today's")
    return contacts


def dwell_trial(
    transport: Transport,
    mode: str,
    follower: str,
    length_deg: float | None = None,
    move_deg: float = 0.0,
    law_name: str | None = None,
    coast_deg: float | None = None,
    contact_deg: float | None = None,
    **allowances,
) -> DwellTrial:
    """What becomes of a mode, and of the others, if its follower's dwell were another one.

    The dwell on which the follower stands in the mode gets ``length_deg`` about a middle moved by
    ``move_deg`` (−30 to 30°) along its track; the moves beside it give or take what that needs and follow
    the law ``law_name``.  The cam coasts by ``coast_deg`` (0 to 60°); the mode's code shows over
    ``contact_deg`` of its part about the middle of today's arc.  None, or "as it is", leaves a value alone.
    ``allowances`` are those of ``dwell_budget``.  A dwell at a track's end has only its inner edge.
    Raises MechError for a transport with faults (put them into the result), a follower that stands on no
    dwell, a dwell that leaves less than 1° for a move (with the greatest length), a width of contact that
    can't be read, runs into the next edge or hides another mode's code.

    >>> from mechlib.transports import load
    >>> found = dwell_trial(load("alder"), "PLAY", "reel idler", length_deg=10, move_deg=-1)
    >>> round(found.before.margin_deg, 2), round(found.margin.margin_deg, 2)
    (3.85, 6.2)
    """
    move = check_number("move_deg", move_deg, -MOST_MOVE_DEG, MOST_MOVE_DEG, "°")
    before = _budget(transport, mode, follower, allowances)
    tried = _changed(transport, before, length_deg, move, law_name, coast_deg, contact_deg)
    lost, elsewhere = _lost(transport, tried, mode), _elsewhere(tried)
    others = (name for name in transport.mode_names if name != mode)
    return DwellTrial(
        mode,
        follower,
        tried,
        mode_margin(transport, mode),
        mode_margin(tried, mode),
        dwell_budget(tried, mode, follower, **allowances),
        lost,
        elsewhere,
        tuple(one for name in (mode, *others) for one in past_code(tried, name)),
    )


def _budget(transport: Transport, mode: str, follower: str, allowances: dict) -> DwellBudget:
    if transport.sound is not transport:
        raise MechError("this transport has faults", "try the dwell on the sound one, then put the faults in")
    if follower == THE_CODE:
        raise MechError("the code has no dwell", "choose a follower of the mode")
    return dwell_budget(transport, mode, follower, **allowances)


def _changed(transport, budget: DwellBudget, length, move, law_name, coast, contact) -> Transport:
    """The transport with the dwell, the coasting and the contacts that are asked for."""
    track = _track(transport, budget)
    length = track.length_deg if length is None else check_number("length_deg", length, CLOSE, unit="°")
    law_name = None if law_name in (None, AS_IT_IS) else law(law_name).name
    old = transport.follower(budget.follower)
    new = replace(old, programme=track.stretched(length, move, law_name))
    fields = {"followers": tuple(new if f is old else f for f in transport.followers)}
    if coast is not None:
        most, hint = (0, "a latch lets nothing coast") if transport.release else (MOST_COAST_DEG, "")
        fields["coast_deg"] = check_number("coast_deg", coast, 0, most, "°", hint)
    if contact is not None:
        fields["contacts"] = _widened(transport, budget.mode, check_number("contact_deg", contact))
    # A lever bent by nothing: whatever asks for this follower is read off its new track.
    tried = replace(transport, **fields).with_faults(bent_lever(old.name, 0.0))
    return replace(tried, origin=None)  # another design, not a fault: its own contacts are the right ones


def _lost(transport: Transport, tried: Transport, mode: str) -> tuple[Lost, ...]:
    """The other modes, then the interlocks, that have less margin than before."""
    pairs = [(old.mode, old, new) for old, new in zip(margins(transport), margins(tried), strict=True)]
    pairs = [pair for pair in pairs if pair[0] != mode]
    locks = zip(interlock_margins(transport), interlock_margins(tried), strict=True)
    found = []
    for name, old, new in [*pairs, *((f"the interlock {old.name}", old, new) for old, new in locks)]:
        before, after = (inf if one.margin_deg is None else one.margin_deg for one in (old, new))
        if after < before - CLOSE:
            never = isinstance(new, ModeMargin) and new.never
            found.append(Lost(name, before, after, new.follower if never else ""))
    return tuple(found)


def _elsewhere(tried: Transport) -> tuple[str, ...]:
    """The stages in which what must hold does not hold all along."""
    obstacles = [obstacle for sense in SENSE for obstacle in steady(tried, sense).obstacles]
    return tuple(dict.fromkeys(o.name for o in obstacles if o.kind == "elsewhere"))


def trial_ranges(transport: Transport, mode: str, follower: str) -> dict[str, Range | Choice]:
    """What may be chosen for ``dwell_trial``, starting from what there is; the names are its own.

    Values that can't go together are refused by ``dwell_trial`` with what would be right.  Raises MechError
    as it does.

    >>> from mechlib.transports import load
    >>> trial_ranges(load("alder"), "PLAY", "reel idler")["length_deg"].span()
    '0.2° to 36.0°'
    """
    track, arc = _track(transport, _budget(transport, mode, follower, {})), _edges(transport, mode)
    low, high = track.limits_deg
    length, most = track.length_deg, track.most_deg(track.middle_deg)
    back, on = track.dwell.start_deg - low, high - track.dwell.end_deg
    widest = min(arc.most_deg, arc.width_deg + MOST_GROWTH_DEG)
    ranges = {
        "length_deg": _around("length of the dwell", length, 0.2, most, 0.2),
        "move_deg": _around("dwell moved by", 0.0, max(-back, -MOST_MOVE_DEG), min(on, MOST_MOVE_DEG), 0.2),
        "law_name": Choice("law of the moves beside it", (AS_IT_IS, *LAWS), AS_IT_IS),
        "coast_deg": _around("coasting", transport.coast_deg, 0.0, transport.coast_deg + 8.0, 0.1),
        "contact_deg": _around("width of the contact", arc.width_deg, arc.least_deg, widest, 0.2),
    }
    if transport.release:  # a latch lets nothing coast
        del ranges["coast_deg"]
    return ranges


def _around(label: str, start: float, least: float, most: float, step: float) -> Range:
    """A range in steps from where it starts, as far as it may go; at least one step."""
    start = round(start, ROUNDING)
    down = max(floor((start - least) / step + CLOSE), 0)
    up = max(floor((most - start) / step + CLOSE), 0 if down else 1)
    low, high = (round(start + steps * step, ROUNDING) for steps in (-down, up))
    return Range(label, low, high, step, start, "°")
