"""Where does the cam stand?  From what is seen of followers and contacts, the possible arcs of theta."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, count, pairwise

from mechlib.errors import MechError, check_number
from mechlib.say import listing, say
from mechlib.transports.arcs import EVERYWHERE, Arcs, complement, holding, intersect, merge, repeated
from mechlib.transports.model import BETWEEN, LOADING, UNLOADING, Contact, Follower, Interlock, Transport
from mechlib.transports.runs import steady
from mechlib.transports.timing import arrival, arriving_senses

CONTACT = "contact "  # before a contact's name, so that no follower can be meant
CLOSED, OPEN = "closed", "open"
MOST_MM = 500.0
EITHER = "either sense"  # play taken up one way, the other, or not at all


@dataclass(frozen=True)
class Sight:
    """One thing seen: ``name`` of the follower or "contact ...", how it is, and the places of its part then.

    ``places`` are arcs of the part's place in degrees, slip included.
    """

    name: str
    words: str
    part: str
    places: Arcs

    def sentence(self) -> str:
        """What was seen."""
        return f"The {self.name} is {self.words}."


@dataclass(frozen=True, eq=False)
class Where:
    """The arcs of theta (degrees) on which the cam can stand, whatever way the play lies.

    ``after`` gives, by sense, the arcs if it came there in that sense with all play taken up.  ``doubtful``:
    where the sights can't all be true, the smallest groups of names without which the others can; the arcs
    are then those that are left without any one of these groups.
    """

    transport: Transport
    sights: tuple[Sight, ...]
    arcs: Arcs
    after: Mapping[str, Arcs]
    doubtful: tuple[tuple[str, ...], ...] = ()

    @cached_property
    def alone(self) -> dict[str, Arcs]:
        """For each thing seen the arcs that it alone would leave."""
        return {sight.name: _possible(self.transport, [sight], EITHER) for sight in self.sights}

    @property
    def share(self) -> float:
        """The part of the whole travel that is possible, 0 to 1."""
        low, high = self.transport.ends
        return sum(end - start for start, end in self.arcs) / (high - low)

    @cached_property
    def modes(self) -> tuple[str, ...]:
        """The modes of which a stop angle lies in the arcs."""
        return tuple(
            mode
            for mode, senses in arriving_senses(self.transport).items()
            if any(_stands_in(self.transport, mode, sense, self.arcs) for sense in senses)
        )

    @cached_property
    def jams(self) -> tuple[Interlock, ...]:
        """The interlocks whose two followers were seen as they can't both stand: it may be jammed there.

        >>> from mechlib.transports import load
        >>> seen = where_it_stands(load("alder"), {"main brakes": "on", "reel idler": "supply"})
        >>> [lock.name for lock in seen.jams]
        ['idler and brakes']
        """
        locks = self.transport.interlocks if self.doubtful else ()
        return tuple(lock for lock in locks if _may_collide(self.transport, lock, self.sights))

    def again(self) -> str:
        """What to look at again, in words; nothing where all goes together."""
        return ", or at ".join(listing(f"the {name}" for name in group) for group in self.doubtful)

    def sentence(self) -> str:
        """Where it can stand, and what doesn't go together."""
        name = self.transport.name
        if not self.sights:
            return f"Nothing is seen yet: the cam of {name} can stand at {arcs_words(self.arcs)}."
        found = f"the cam of {name} stands at {arcs_words(self.arcs)}"
        if self.doubtful:
            found = f"What was seen does not go together: look again at {self.again()}. Without that {found}"
        modes = f", where {listing(self.modes)} would stop" if self.modes else ", where no mode would stop"
        percent = say(100 * self.share, "%", 0) if self.share > 0.01 else "under 1%"
        return f"{found[0].upper()}{found[1:]}: {percent} of its travel{modes}."

    def text(self) -> str:
        """What was seen, a line each, and the sentence."""
        lines = [f"seen: {sight.name} {sight.words}" for sight in self.sights]
        lines += [f"came in the {sense} sense: {arcs_words(arcs)}" for sense, arcs in self.after.items()]
        return "\n".join([*lines, self.sentence()])


def arcs_words(arcs: Arcs) -> str:
    """Arcs in words.

    >>> arcs_words(((-5, 10), (20, 30.04))), arcs_words(())
    ('−5.0° to 10.0° or 20.0° to 30.0°', 'no angle')
    """
    return " or ".join(f"{say(a, '°')} to {say(b, '°')}" for a, b in arcs) or "no angle"


def where_it_stands(transport: Transport, seen: Mapping) -> Where:
    """The arcs of theta on which all that was seen can be true, slips and play of the transport included.

    ``seen`` gives for the name of a follower its state, "between", several of these in a list where it may be
    either, or its lift as a pair (from, to) in mm, −500 to 500; for "contact NAME" it gives "open" or
    "closed".  The place of each part is the theta of its root gear plus from nought to its play for each mesh
    on the way; from the last part up to the roots that is interval arithmetic, exact for every tree of
    meshes.  A part whose clip is gone or at whose mesh teeth are missing tells nothing of theta.  Sights that
    can't all be true are pointed out in ``doubtful``.  Returns a Where; raises MechError for names, states
    and lifts that can't be.  Derived.

    >>> from mechlib.transports import load
    >>> found = where_it_stands(load("alder"), {"pinch lever": "ready", "contact C": "open"})
    >>> [(round(low, 1), round(high, 1)) for low, high in found.arcs], found.doubtful
    ([(126.9, 129.1), (163.9, 174.0), (181.8, 193.4)], ())
    >>> where_it_stands(load("alder"), {"loading arms": "home", "pinch lever": "ready"}).doubtful
    (('loading arms',), ('pinch lever',))
    """
    if not isinstance(seen, Mapping):
        raise MechError(
            f"what was seen is {seen!r}", 'give it as {"pinch lever": "ready", "contact A": "open"}'
        )
    sights = tuple(_sight(transport, name, how) for name, how in seen.items())
    groups = _doubtful(transport, sights)
    kept = [[s for s in sights if s.name not in group] for group in groups] or [sights]
    ways = (EITHER, *transport.senses)
    arcs = {way: merge(arc for some in kept for arc in _possible(transport, some, way)) for way in ways}
    return Where(transport, sights, arcs.pop(EITHER), arcs, groups)


def sights_to_choose(transport: Transport) -> dict[str, tuple[str, ...]]:
    """What can be looked at, and how each can be: followers in the file's order, then contacts.

    >>> from mechlib.transports import load
    >>> list(sights_to_choose(load("alder")).items())[2]
    ('pinch lever', ('off', 'ready', 'pressed', 'between'))
    """
    found = {f.name: (*(name for name, _ in f.states), BETWEEN) for f in transport.followers}
    return found | {CONTACT + contact.name: (CLOSED, OPEN) for contact in transport.contacts}


def telling(transport: Transport, first: Arcs, second: Arcs) -> tuple[str, ...]:
    """What looks different wherever the cam stands in the first arcs and in the second: worth a look.

    >>> from mechlib.transports import load
    >>> telling(load("alder"), ((-118, -100),), ((170, 180),))[:3]
    ('carriage', 'loading arms', 'pinch lever')
    """
    found = []
    for name, ways in sights_to_choose(transport).items():
        arcs = {how: where_it_stands(transport, {name: how}).arcs for how in ways}
        if not any(intersect(a, first) and intersect(a, second) for a in arcs.values()):
            found.append(name)
    return tuple(found)


# ---- What was seen, as places of a part ----


def _sight(transport: Transport, name, how) -> Sight:
    if isinstance(name, str) and name.startswith(CONTACT):
        contacts = {contact.name: contact for contact in transport.contacts}
        if name.removeprefix(CONTACT) in contacts:
            return _contact_seen(transport, contacts[name.removeprefix(CONTACT)], how)
    followers = {follower.name: follower for follower in transport.followers}
    if name not in followers:
        raise MechError(f"nothing is called {name!r}", "there are " + ", ".join(sights_to_choose(transport)))
    return _follower_seen(transport, followers[name], how)


def _contact_seen(transport: Transport, contact: Contact, how) -> Sight:
    name = CONTACT + contact.name
    if how not in (CLOSED, OPEN):
        raise MechError(f"{name} is {how!r}", f"it must be {CLOSED!r} or {OPEN!r}")
    closed, whole = _in_one_turn(transport, contact.closed), _whole(transport)
    return Sight(name, how, contact.part, closed if how == CLOSED else complement(closed, *whole))


def _follower_seen(transport: Transport, follower: Follower, how) -> Sight:
    wanted = list(how) if isinstance(how, (list, tuple)) else [how]
    known = sights_to_choose(transport)[follower.name]
    if wanted and all(isinstance(one, str) and one in known for one in wanted):
        return Sight(
            follower.name, " or ".join(wanted), follower.part, _in_states(transport, follower, wanted)
        )
    if len(wanted) != 2 or any(isinstance(one, str) for one in wanted):
        right = f"it must be {', '.join(known)}, several of them in a list, or a lift as (from, to) in mm"
        raise MechError(f"{follower.name} is {how!r}", right)
    low, high = (check_number(f"lift of {follower.name}", mm, -MOST_MM, MOST_MM, "mm") for mm in wanted)
    if low > high:
        raise MechError(
            f"lift of {follower.name} is from {low:g} to {high:g} mm", "give the lower lift first"
        )
    words = f"from {say(low, 'mm')} to {say(high, 'mm')}"
    return Sight(follower.name, words, follower.part, _in_one_turn(transport, follower.arcs(((low, high),))))


def _in_states(transport: Transport, follower: Follower, wanted: list[str]) -> Arcs:
    """The places on which it is in one of these states; "between" is what all named states leave over."""
    named = {name: _in_one_turn(transport, arcs) for name, _, arcs in follower.state_arcs}
    found = [arc for name in wanted if name != BETWEEN for arc in named[name]]
    if BETWEEN in wanted:
        found += complement(merge(arc for arcs in named.values() for arc in arcs), *_whole(transport))
    return merge(found)


def _whole(transport: Transport) -> tuple[float, float]:
    return transport.ends if transport.cyclic else EVERYWHERE[0]


def _in_one_turn(transport: Transport, arcs: Arcs) -> Arcs:
    """The same arcs between 0 and 360 degrees for a cam that goes round, one over the seam in two pieces."""
    return repeated(arcs, 360.0, *transport.ends) if transport.cyclic else arcs


# ---- From places to theta ----


def _possible(transport: Transport, sights, way: str) -> Arcs:
    """The arcs of theta on which all these sights are true, play lying in one way or in any."""
    places: dict[str, Arcs] = dict.fromkeys(transport.chains, EVERYWHERE)
    for sight in sights:
        places[sight.part] = intersect(places[sight.part], _without_slip(transport, sight))
    loose = {part for part, *_ in (*transport.off_at, *transport.missing)}
    for part in reversed(transport.parts):  # children stand after their parents
        least, most = part.play_deg * (way == UNLOADING), part.play_deg * (way != LOADING)
        above = _in_one_turn(transport, _moved(places[part.name], -most, -least))
        if part.name in loose and above:
            above = EVERYWHERE  # what it lost on the way isn't known
        places[part.parent] = intersect(places[part.parent], above)
    run, found = steady(transport, LOADING), (transport.ends,)
    for root in transport.roots:
        found = intersect(found, run.theta_arcs(root.name, places[root.name]))
    return found


def _without_slip(transport: Transport, sight: Sight) -> Arcs:
    """The places of a sight's part, slip left out."""
    advance = transport.advance_deg[sight.part]
    if transport.cyclic:
        advance %= 360.0
    return _in_one_turn(transport, _moved(sight.places, -advance, -advance))


def _moved(arcs: Arcs, start_by: float, end_by: float) -> Arcs:
    return merge((start + start_by, end + end_by) for start, end in arcs)


def _doubtful(transport: Transport, sights: tuple[Sight, ...]) -> tuple[tuple[str, ...], ...]:
    """The smallest groups of sights without which the others can be true; none where all can.

    Together they leave no more than each alone: what can't be true anywhere even so isn't tried.
    """
    if _possible(transport, sights, EITHER):
        return ()
    alone = [_possible(transport, [sight], EITHER) for sight in sights]
    edges = sorted({edge for arcs in alone for arc in arcs for edge in arc})
    names = [sight.name for sight in sights]
    against = {
        frozenset(n for n, arcs in zip(names, alone, strict=True) if holding(arcs, (low + high) / 2) is None)
        for low, high in pairwise(edges)
    } or {frozenset(names)}
    for size in count(min(map(len, against))):  # ends at the latest where all are left out
        groups = []
        for group in combinations(names, size):
            left_out = set(group)
            if not any(some <= left_out for some in against):
                continue
            if _possible(transport, [s for s in sights if s.name not in left_out], EITHER):
                groups.append(group)
        if groups:
            return tuple(groups)


def _may_collide(transport: Transport, lock: Interlock, sights: tuple[Sight, ...]) -> bool:
    """Whether its followers were both seen, can't both be so at any theta, and could have met then."""
    seen = {sight.name: sight for sight in sights}
    when, must = (seen.get(need.follower) for need in (lock.when, lock.must))
    if not (when and must) or _possible(transport, [when, must], EITHER):
        return False
    wrong = complement(_in_one_turn(transport, lock.must.arcs), *_whole(transport))
    there = intersect(when.places, _in_one_turn(transport, lock.when.arcs))
    return bool(there and intersect(must.places, wrong))


def _stands_in(transport: Transport, mode: str, sense: str, arcs: Arcs) -> bool:
    came = arrival(transport, mode, sense)
    return came is not None and came.possible and holding(arcs, came.stand_deg) is not None
