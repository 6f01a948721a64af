"""The ways by hand from all places where the cam may stand, put together by what bars them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from mechlib.bench.hand_turn import amount
from mechlib.bench.way_out import Way, eased_at, long_run, obstacle_name, right_arcs, way_out
from mechlib.bench.where import Where, arcs_words, sights_to_choose, telling, where_it_stands
from mechlib.say import listing, say
from mechlib.transports.arcs import TINY, Arcs, intersect, merge
from mechlib.transports.model import SENSE, Transport

BESIDE_DEG = 1e-5  # of an edge: on it, two ways may meet; more than what counts as touching
Arc = tuple[float, float]
AT_ONCE = "at once"


@dataclass(frozen=True, eq=False)
class Branch:
    """Places from which the way is of one kind: free, or barred by one thing.

    ``arcs``: the places; ``way``: that from the furthest of them; ``at_least_deg``: to be turned from the
    nearest, in degrees of the main cam; ``sides``: by sense the places from which there is something to turn.
    """

    arcs: Arcs
    way: Way
    at_least_deg: float
    sides: Mapping[str, Arcs]

    @property
    def senses(self) -> tuple[str, ...]:
        """In which senses there is something to be turned."""
        return tuple(self.sides)

    def turns(self) -> str:
        """The turns of the shaft, from the nearest and the furthest place.

        >>> from mechlib.transports import load
        >>> alder = load("alder")
        >>> branches(where_it_stands(alder, {"loading arms": "half"}), "EJECT")[0].turns()
        '44.8 to 47.8 turns of the worm shaft'
        """
        way, transport = self.way, self.way.run.transport
        far = way.shaft_deg(way.stop_deg)
        turns, unsure = amount(transport, far), way.turn_deg - self.at_least_deg
        if unsure <= TINY:
            return turns
        least = amount(transport, far - way.shaft_deg(way.start_deg + SENSE[way.sense] * unsure))
        return turns if least == turns else f"{least.partition(' ')[0]} to {turns}"

    def words(self) -> str:
        """From where, what bars the way, or that it is free, and after how many turns."""
        way, places = self.way, f"from {arcs_words(self.arcs)}"
        jams = [obstacle_name(obstacle) for obstacle, _ in way.wedged]
        eased = f", though it may stand jammed in {listing(jams)} at first" if jams else ""
        if not way.blocked:
            return f"{places} it is free, {self.turns()} in the {way.sense} sense{eased}"
        if way.turn_deg <= TINY:
            stands = f"it stands jammed in {listing(jams)}: " if jams else ""
            return f"{places} {stands}{way.blocked.name} bars it at once"
        return f"{places} {way.blocked.name} bars it at {say(way.stop_deg, '°')}, after {self.turns()}{eased}"


def branches(where: Where, target: str) -> tuple[Branch, ...]:
    """From every place where it may stand the way by hand, by what bars it; what is barred comes first.

    The arcs are cut wherever the way can become another: at the edges of all that is shut, half-way between
    where it is eased one way and the other, at the edges of where the target stands right, and behind
    rests.  Raises MechError for an unknown mode.  Derived.

    >>> from mechlib.transports import load, slip
    >>> behind = load("alder").with_faults(slip("loading gear", -1))
    >>> seen = where_it_stands(behind, {"main brakes": "between", "pinch lever": "off"})
    >>> [(branch.way.blocked is None, branch.turns()[:12]) for branch in branches(seen, "EJECT")]
    [(False, '3.6 to 5.9 t'), (True, '36.6 to 54.7')]
    """
    of_kind: dict[tuple, list] = {}
    for piece in _pieces(where, target):
        for way in _ways(where.transport, piece, target):
            of_kind.setdefault(_kind(way), []).append((piece, way))
    found = [branch(some) for some in of_kind.values()]
    return tuple(sorted(found, key=lambda one: (one.way.blocked is None, one.way.turn_deg)))


def branch(ways: list[tuple[Arc, Way]]) -> Branch:
    """Ways of one kind, each with the stretch from which it comes, as a branch.

    Of the furthest ways that from the deepest in what it stands in is taken.

    >>> from mechlib.transports import load
    >>> branch([((-5, 0), way_out(load("alder"), theta)) for theta in (-5, 0)]).way.start_deg
    0.0
    """
    every = [way for _, way in ways]
    far = max(every, key=lambda way: (way.turn_deg, sum(abs(out) for _, out in way.wedged)))
    sides: dict[str, list] = {}
    for arc, way in ways:
        if way.turn_deg > TINY or way.blocked:
            sides.setdefault(way.sense, []).append(arc)
    merged = {sense: merge(arcs) for sense, arcs in sides.items()}
    return Branch(merge(arc for arc, _ in ways), far, min(way.turn_deg for way in every), merged)


def _ways(transport: Transport, piece: Arc, target: str) -> list[Way]:
    """The ways from the middle of a piece, just inside its ends, and at these where of the same kind."""
    low, high = piece
    inside = min(BESIDE_DEG, (high - low) / 4)
    middle, *rest = (
        way_out(transport, theta, target)
        for theta in ((low + high) / 2, low + inside, high - inside, low, high)
    )
    return [middle, *rest[:2], *(way for way in rest[2:] if _kind(way) == _kind(middle))]


def _pieces(where: Where, target: str) -> Iterator[Arc]:
    """The arcs where it may stand, cut wherever the way can become another."""
    cuts = set()
    for sense in where.transport.senses:
        run = long_run(where.transport, sense)
        shut = [(o, arc) for o in run.obstacles if o.kind != "elsewhere" for arc in o.arcs]
        cuts |= {edge for arc in (*(arc for _, arc in shut), *right_arcs(run, target)) for edge in arc}
        cuts |= {sum(eased_at(run, *one)) / 2 for one in shut}
        if release := where.transport.release:  # behind a rest the way goes to the next
            cuts |= {rest + release.latch_deg for rest in release.rests_from(run.low, run.high)}
    for low, high in where.arcs:
        inside = sorted(cut for cut in cuts if low + TINY < cut < high - TINY)
        yield from ((a, b) for a, b in pairwise((low, *inside, high)) if b - a > TINY)


def _kind(way: Way) -> tuple:
    """What tells one way from another: what bars it and where."""
    if way.aim_deg is None:
        return ("nowhere",)
    if not way.blocked:
        return ("free",)
    at_once = way.turn_deg <= TINY and way.wedged
    return ("barred", way.sense, way.blocked.name, AT_ONCE if at_once else round(way.stop_deg, 3))


def say_each(kinds: tuple[Branch, ...]) -> str:
    """All branches in one sentence.

    >>> from mechlib.transports import load
    >>> say_each(branches(where_it_stands(load("alder"), {"loading arms": "half"}), "EJECT"))
    'From 52.0° to 63.6° it is free, 44.8 to 47.8 turns of the worm shaft in the unloading sense.'
    """
    told = "; ".join(one.words() for one in kinds)
    return f"{told[0].upper()}{told[1:]}."


def what_tells(where: Where, first: Arcs, second: Arcs) -> tuple[str, ...]:
    """What not yet seen tells the first places from the second, or may do so if none does for certain.

    >>> from mechlib.transports import load
    >>> what_tells(where_it_stands(load("alder"), {"pinch lever": "off"}), ((-60, -50),), ((100, 110),))[:2]
    ('carriage', 'loading arms')
    """
    seen = {sight.name for sight in where.sights}
    if sure := tuple(name for name in telling(where.transport, first, second) if name not in seen):
        return sure
    left = sights_to_choose(where.transport).items()
    return tuple(
        name
        for name, ways in left
        if name not in seen and any(_leaves_one(where.transport, name, how, first, second) for how in ways)
    )


def _leaves_one(transport: Transport, name: str, how: str, first: Arcs, second: Arcs) -> bool:
    """Whether a look, if it is so, leaves places of one side only."""
    arcs = where_it_stands(transport, {name: how}).arcs
    return bool(intersect(arcs, first)) != bool(intersect(arcs, second))
