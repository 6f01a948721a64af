"""Dwell budget: how long a follower must stand still so that a mode bears what will be off on a real machine.

Everything is counted in the place of the follower's own part (main-cam degrees along its track), since only
that says what the track is asked for: where a stage lets the part stand, the switch may stop the drive
anywhere, yet one tooth at the part's own mesh counts in full.  Both arrivals stand on the same dwell, as
"low" and "high" stop angle.  What is certain (contact width, settling, coasting, play, which is always taken
up on arrival) only sets these two apart.  What may be off either way is to be borne beyond them:

    teeth, follower's chain   pitch of each mesh, its part then stands so far ahead or behind
    teeth, contact's chain    pitch of each mesh, the drive then stops so much earlier or later
    meshes of both chains     nothing: follower and contact go together
    contact edge, coasting    the drive stops earlier or later; it can't coast by less than nothing

A part-toothed gear stands where its latch holds it: only the latch's tolerance moves its stop angle, and the
code has a budget of its own, the arc that shows it at the rest.

The margins count degrees of the drive instead; both agree where the part turns all along its dwell, except
that a margin ends at an end stop: the drive can't pass it, so no dwell is asked for beyond.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import hypot, inf, isinf, remainder

from mechlib.errors import MechError
from mechlib.ranges import Range
from mechlib.say import columns, count, say
from mechlib.transports.arcs import TINY, holding, intersect, merge, nearest, repeated
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Need, Transport
from mechlib.transports.timing import ABOVE, BELOW, THE_CODE, Arrival, arrival, arriving_senses

NO_LIMIT = "no limit"
LOW, HIGH = -1, 1  # sides of the dwell, as signs
EDGE, COAST, LATCH = "contact edge", "coasting", "latch"
STOPPED = "at a stop or a stage's end"
TABLE_HEAD = ("follower", "contribution", "below", "above", "arc")

# What may be off: common practice, no source; measure your own machine where you can.
ALLOWANCES = {
    "teeth": Range("teeth out at each mesh", 0, 6, 1, 1),
    "switch_tolerance_deg": Range("contact edges early or late by", 0, 10, 0.1, 1.0, "°"),
    "coast_spread_deg": Range("coasting more or less by", 0, 10, 0.1, 0.5, "°"),
}
TEETH, TOLERANCE_DEG, SPREAD_DEG = (control.default for control in ALLOWANCES.values())

Items = list[tuple[str, float]]


@dataclass(frozen=True)
class Contribution:
    """What one thing that may be off asks of the dwell below and above the stop angles, in degrees."""

    name: str
    low_deg: float
    high_deg: float


@dataclass(frozen=True)
class SideBudget:
    """One side of the dwell, for the sense of arrival that leaves least on it.

    ``at_deg`` is the place of the follower's part there, ``there_deg`` from it to the dwell's edge (infinite
    without an edge, negative where it stands wrong already), ``worst_deg`` the sum of ``items``, ``rss_deg``
    their root-sum-square.
    """

    side: str
    sense: str
    at_deg: float
    there_deg: float
    worst_deg: float
    rss_deg: float
    items: tuple[tuple[str, float], ...]

    @property
    def spare_deg(self) -> float:
        """What the worst case leaves over; negative where the dwell is short."""
        return self.there_deg - self.worst_deg

    @property
    def spare_rss_deg(self) -> float:
        """What the root-sum-square leaves over; negative where the dwell is short."""
        return self.there_deg - self.rss_deg

    def amount(self) -> str:
        """What is short or to spare in the worst case."""
        if isinf(self.spare_deg):
            return NO_LIMIT
        return f"{say(abs(self.spare_deg), '°')} {'short' if self.spare_deg < -TINY else 'to spare'}"

    def words(self) -> str:
        """The amount and the side, to stand in a sentence."""
        return f"{self.amount()} {self.side} the stop angle"


@dataclass(frozen=True)
class DwellBudget:
    """What a mode asks of one follower's dwell beside what there is; ``fixed`` sets the stop angles apart."""

    mode: str
    follower: str
    low: SideBudget
    high: SideBudget
    fixed: tuple[tuple[str, float], ...]

    @property
    def fixed_deg(self) -> float:
        """From the low to the high stop angle."""
        return sum(deg for _, deg in self.fixed)

    @property
    def contributions(self) -> tuple[Contribution, ...]:
        """Each thing that may be off, with what it asks on both sides."""
        low, high = dict(self.low.items), dict(self.high.items)
        return tuple(Contribution(name, low.get(name, 0.0), high.get(name, 0.0)) for name in low | high)

    @property
    def needed_deg(self) -> float:
        """Length of the dwell that bears the worst case."""
        return self.fixed_deg + self.low.worst_deg + self.high.worst_deg

    @property
    def needed_rss_deg(self) -> float:
        """Length of the dwell by root-sum-square; the fixed part is added as it is."""
        return self.fixed_deg + self.low.rss_deg + self.high.rss_deg

    @property
    def there_deg(self) -> float:
        """Length of the dwell there is; infinite where it has no edge on a side."""
        return self.fixed_deg + self.low.there_deg + self.high.there_deg

    @property
    def on_two_arcs(self) -> bool:
        """Whether each stop angle has an arc of its own, so that there is no length of one to speak of."""
        return self.there_deg <= TINY

    @property
    def tight(self) -> SideBudget:
        """The side that has least to spare in the worst case."""
        return min(self.low, self.high, key=lambda side: side.spare_deg)

    def sentence(self) -> str:
        """What is needed, what there is, and on which side it is short or how much is to spare."""
        if self.follower == THE_CODE:
            start = f"{self.mode}: the arc on which its code can be read"
        else:
            start = f"{self.mode}: the arc of the {self.follower}"
        left = f"{self.low.words()} and {self.high.words()}"
        if self.on_two_arcs:
            return f"{start} is another one from either side; at worst {left}."
        needed = f"needs {say(self.needed_deg, '°')} at worst, {say(self.needed_rss_deg, '°')} by "
        there = "has no limit on a side" if isinf(self.there_deg) else f"is {say(self.there_deg, '°')}"
        return f"{start} {needed}root-sum-square, and {there}; at worst {left}."

    def table(self) -> str:
        """Every contribution, worst case, root-sum-square and what there is, as ``budget_table`` has them."""
        return columns(TABLE_HEAD, _rows(self), left=2)


@dataclass(frozen=True)
class _Stop:
    """One arrival, and which parts carry the contacts whose edge ends it."""

    transport: Transport
    came: Arrival
    off: tuple[int, float, float]

    @property
    def direction(self) -> int:
        return SENSE[self.came.sense]

    @property
    def edge_deg(self) -> float:
        return self.came.read_deg - self.direction * self.transport.settle_deg

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Those parts: one, unless the edges of two meet at the same angle."""
        if self.transport.release:
            return ()
        found = {}
        for contact in self.transport.contacts:
            for arc in self.came.run.theta_arcs(contact.part, contact.closed):
                if min(abs(end - self.edge_deg) for end in arc) <= 2 * TINY:
                    found[contact.part] = True
        return tuple(found)

    @cached_property
    def chain(self) -> tuple[str, ...]:
        """The meshes on the way to those parts."""
        return tuple(dict.fromkeys(mesh for part in self.parts for mesh in self.transport.chains[part]))

    @property
    def turning(self) -> tuple[float, float]:
        """The arc of theta about the edge on which the drive turns those parts."""
        arcs = (self.transport.ends,)
        for part in self.parts:
            root = self.transport.root_of(part)
            driven = merge((s.start_deg, s.end_deg) for s in self.transport.stages if root in s.drives)
            arcs = intersect(arcs, driven)
        return holding(arcs, self.edge_deg) or (self.edge_deg, self.edge_deg)

    def teeth(self, meshes) -> Items:
        """The teeth out at each of these meshes, in degrees."""
        out = count(self.off[0], "tooth")
        return [(f"{mesh}, {out}", self.off[0] * self.transport.part(mesh).pitch_deg) for mesh in meshes]

    def moved(self, sign: int, shared: tuple[str, ...], coasts: bool = True) -> Items:
        """What moves the stop angle down (LOW) or up (HIGH), each by how much."""
        if self.transport.release:
            return [(LATCH, self.transport.release.latch_deg)]
        items = self.teeth(mesh for mesh in self.chain if mesh not in shared) + [(EDGE, self.off[1])]
        back = sign != self.direction  # the cam coasts less, but not by less than nothing
        spread = min(self.off[2], self.transport.coast_at(self.came.read_deg)) if back else self.off[2]
        return items + [(COAST, spread)] * coasts

    def side(self, sign: int, at: float, arc, own: Items, moved: Items, carried: Callable) -> SideBudget:
        """Add up: ``own`` moves the follower's part, ``moved`` the stop, ``carried`` is what that shifts."""
        items = own + [(name, carried(deg)) for name, deg in moved]
        worst = sum(deg for _, deg in own) + carried(sum(deg for _, deg in moved))
        rest = worst - sum(deg for _, deg in items)
        items += [(STOPPED, rest)] * (abs(rest) > 100 * TINY)
        rss = hypot(*(deg for _, deg in own), carried(hypot(*(deg for _, deg in moved))))
        side, there = (BELOW, at - arc[0]) if sign == LOW else (ABOVE, arc[1] - at)
        return SideBudget(side, self.came.sense, at, there, worst, rss, tuple(items))

    def follower_side(self, need: Need, sign: int) -> SideBudget:
        """What this arrival asks of a follower's dwell on one side."""
        transport, came = self.transport, self.came
        part = transport.follower(need.follower).part
        chain, at = transport.chains[part], came.run.slipped_place(part, came.stand_deg)
        shared = tuple(mesh for mesh in self.chain if mesh in chain)

        def carried(deg: float) -> float:
            off = transport.coast_at(came.read_deg) + self.direction * sign * deg
            stand = transport.coasted(came.read_deg, came.sense, off)
            return sign * (came.run.slipped_place(part, stand) - at)

        own = self.teeth(mesh for mesh in chain if mesh not in shared)
        own += [(f"{name}, as the contact", 0.0) for name, _ in self.teeth(shared)]
        return self.side(sign, at, _dwell(transport, need, at), own, self.moved(sign, shared), carried)

    def code_side(self, sign: int) -> SideBudget:
        """What this arrival asks of the arc on which the contact turns, for its edge to be met and read.

        At a rest of a part-toothed gear: of the arc on which the code shows.
        """
        if release := self.transport.release:
            meshes = (mesh for c in self.transport.contacts for mesh in self.transport.chains[c.part])
            own = [*self.teeth(dict.fromkeys(meshes)), (EDGE, self.off[1])]
            arcs = self.came.run.code_arcs(self.transport.mode(self.came.mode).code)
            moved = [(LATCH, release.latch_deg)]
            arc = holding(arcs, self.edge_deg)
            return self.side(sign, self.edge_deg, arc, own, moved, lambda deg: deg)
        at = self.edge_deg if sign != self.direction else self.came.read_deg
        moved = self.moved(sign, (), coasts=False)
        return self.side(sign, at, self.turning, [], moved, lambda deg: deg)


def _dwell(transport: Transport, need: Need, at: float) -> tuple[float, float]:
    """The arc of its part's place on which a follower stands right, at ``at`` or nearest to it."""
    arcs, low, high = need.arcs, -inf, inf
    if transport.cyclic:
        turn = transport.ends[1]  # a dwell that reaches a turn either way has no end
        low, high = at - turn, at + turn
        arcs = repeated(arcs, turn, low, high)
    arc = holding(arcs, at) or nearest(arcs, at)
    if arc is None:
        raise MechError(f"the {need.follower} is never {need.words}", "mend its track or its lever first")
    return (-inf if arc[0] <= low else arc[0], inf if arc[1] >= high else arc[1])


def _fixed(low: _Stop, high: _Stop, follower: str, deg: float) -> Items:
    """What sets the low and the high stop angle apart by ``deg``; the names say why it is so much."""
    transport = low.transport
    if follower == THE_CODE:
        return [("where the code is met and read", deg)] * (abs(deg) > TINY)
    if low is high:
        return []
    up, down = sorted((low, high), key=lambda stop: -stop.direction)
    part, chain = transport.follower(follower).part, transport.chains[transport.follower(follower).part]
    sign = 1 if high is down else -1
    root = transport.root_of(part)
    carried = down.came.run.place(root, down.came.stand_deg) - up.came.run.place(root, up.came.stand_deg)
    apart = down.came.stand_deg - up.came.stand_deg
    plays = {mesh: transport.part(mesh).play_deg for mesh in (*chain, *down.chain)}
    rows = [(f"play of the {mesh}", plays[mesh]) for mesh in chain if mesh not in down.chain]
    if abs(carried - apart) > TINY:  # the part stands on the way between them: only that much is seen
        rows = [(f"play of the {mesh}", plays[mesh]) for mesh in chain]
        return [(name, sign * d) for name, d in [("between the stop angles", carried), *rows] if d]
    rows += [(f"play of the {mesh}", -plays[mesh]) for mesh in down.chain if mesh not in chain]
    rows += [("settling", -2 * transport.settle_deg)]
    coasts = [abs(stop.came.stand_deg - stop.came.read_deg) for stop in (up, down)]
    rows += [("coasting", -sum(coasts))]
    width = sign * deg - sum(d for _, d in rows)
    return [(name, sign * d) for name, d in [("contact width", width), *rows] if d]


def dwell_budget(
    transport: Transport,
    mode: str,
    follower: str,
    teeth: int = TEETH,
    switch_tolerance_deg: float = TOLERANCE_DEG,
    coast_spread_deg: float = SPREAD_DEG,
) -> DwellBudget:
    """How long the follower's dwell must be for the mode to bear all that may be off, beside what there is.

    Needed = distance of the stop angles + Σ or root of Σ² of the contributions below + the same above, for
    ``teeth`` out at every mesh (0 to 6), contact edges early or late by ``switch_tolerance_deg`` (0 to 10°)
    and coasting more or less by ``coast_spread_deg`` (0 to 10°; for a part-toothed gear the file's latch
    tolerance stands in its place).  For the follower "code": how long an arc
    the drive must turn the contact, within the end stops, for its edge to be met and read; where that is
    short, the drive may stop somewhere else altogether, and the budgets of the followers say nothing.
    That a slip makes another contact spoil the code is not looked at (see ``slips_survived``).
    Raises MechError for a mode without that follower, or one whose code is never read, and where a part has
    lost its drive.
    Worst case and root-sum-square are the usual ways to add tolerances (common practice, no source).

    >>> from mechlib.transports import load
    >>> found = dwell_budget(load("alder"), "WIND", "loading arms")
    >>> round(found.needed_deg, 2), round(found.there_deg, 2), found.tight.side
    (24.29, 11.3, 'above')
    """
    given = (teeth, switch_tolerance_deg, coast_spread_deg)
    off = tuple(c.check(name, value) for (name, c), value in zip(ALLOWANCES.items(), given, strict=True))
    needs = {need.follower: need for need in transport.mode(mode).needs}
    known = [*needs] + _code_of(transport)
    if follower not in known:
        raise MechError(f"{mode} does not ask for a follower {follower!r}", f"it has {', '.join(known)}")
    if transport.off_at or transport.missing:
        raise MechError("a part has lost its drive", "mend clip and teeth first: it doesn't follow the cam")
    stops = _stops(transport, mode, off)

    def tightest(sign: int) -> tuple[_Stop, SideBudget]:
        code = follower == THE_CODE
        sides = [(s, s.code_side(sign) if code else s.follower_side(needs[follower], sign)) for s in stops]
        return min(sides, key=lambda pair: (pair[1].spare_deg, -sign * pair[1].at_deg))

    (low_stop, low), (high_stop, high) = tightest(LOW), tightest(HIGH)
    apart = high.at_deg - low.at_deg
    if transport.cyclic:  # both stops on the same turn
        apart = remainder(apart, transport.ends[1])
    return DwellBudget(mode, follower, low, high, tuple(_fixed(low_stop, high_stop, follower, apart)))


def _code_of(transport: Transport) -> list[str]:
    """The code has a budget of its own between end stops, and at the rests of a part-toothed gear."""
    return [THE_CODE] if transport.release or not transport.cyclic else []


def _stops(transport: Transport, mode: str, off: tuple) -> list[_Stop]:
    stops = []
    for sense in (LOADING, UNLOADING):
        if sense in arriving_senses(transport)[mode]:
            came = arrival(transport, mode, sense)
            if came is None:
                raise MechError(f"the code of {mode} never shows", "mend the contacts or the switch first")
            stops.append(_Stop(transport, came, off))
    if not stops:
        raise MechError(f"no change ends in {mode}", "give the controller a leg that waits for its code")
    return stops


def mode_budgets(transport: Transport, mode: str, **allowances) -> tuple[DwellBudget, ...]:
    """The budgets of all followers of a mode, and of its code where there are end stops.

    ``allowances`` as for ``dwell_budget``; raises MechError as it does.

    >>> from mechlib.transports import load
    >>> [found.follower for found in mode_budgets(load("alder"), "EJECT")]
    ['carriage', 'loading arms', 'code']
    """
    names = [need.follower for need in transport.mode(mode).needs] + _code_of(transport)
    return tuple(dwell_budget(transport, mode, name, **allowances) for name in names)


def budget_table(transport: Transport, mode: str, **allowances) -> str:
    """Every contribution to the dwell of every follower of a mode; worst case, root-sum-square, there is.

    Below and above the stop angles, and the dwell as a whole.  ``allowances`` as for ``dwell_budget``.

    >>> from mechlib.transports import load
    >>> print(budget_table(load("alder"), "WIND").splitlines()[6])
    carriage      worst case                          5.0°      5.0°     10.4°
    """
    rows = [row for found in mode_budgets(transport, mode, **allowances) for row in _rows(found)]
    return columns(TABLE_HEAD, rows, left=2)


def _rows(found: DwellBudget) -> list[tuple[str, ...]]:
    rows = [(c.name, c.low_deg, c.high_deg, c.low_deg + c.high_deg) for c in found.contributions]
    rows += [(name, None, None, deg) for name, deg in found.fixed]
    low, high = found.low, found.high
    rows.append(("worst case", low.worst_deg, high.worst_deg, found.needed_deg))
    rows.append(("root-sum-square", low.rss_deg, high.rss_deg, found.needed_rss_deg))
    rows.append(("there is", low.there_deg, high.there_deg, found.there_deg))
    rows.append(("to spare at worst", low.spare_deg, high.spare_deg, None))
    if found.on_two_arcs:
        rows = [(name, below, above, None) for name, below, above, _ in rows if below is not None]
    return [(found.follower, name, *map(_cell, degrees)) for name, *degrees in rows]


def _cell(deg: float | None) -> str:
    if deg is None:
        return ""
    return NO_LIMIT if isinf(deg) else say(deg, "°")


def budget_summary(transport: Transport, **allowances) -> str:
    """For each mode the follower and side that have least to spare: needed, there is, to spare.

    ``allowances`` as for ``dwell_budget``; raises MechError as it does.

    >>> from mechlib.transports import load
    >>> print(budget_summary(load("alder")).splitlines()[3])
    WIND    loading arms  above       10.5°             6.5°      3.9°     −6.6°
    """
    rows = []
    for mode in transport.mode_names:
        found = min(mode_budgets(transport, mode, **allowances), key=lambda one: one.tight.spare_deg)
        side = found.tight
        degrees = (side.worst_deg, side.rss_deg, side.there_deg, side.spare_deg)
        rows.append((mode, found.follower, side.side, *map(_cell, degrees)))
    header = ("mode", "ruled by", "side", "worst case", "root-sum-square", "there is", "to spare")
    return columns(header, rows, left=3)
