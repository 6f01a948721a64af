"""Which gears to lift so that every slipped mesh opens, and how each gear must then be moved."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import fsum

from mechlib.errors import MechError
from mechlib.say import count, say
from mechlib.transports.covers import access_of, covers_over
from mechlib.transports.hardware import Cover
from mechlib.transports.model import MAIN_CAM, MAIN_GEAR, Part, Transport

MOST_SLIPPED = 12  # meshes at once; with more, nobody trusts any mark and all is set anew


def gear_name(name: str) -> str:
    """How the gear of a part or root is called at the bench: the main cam's is the main gear.

    >>> gear_name("main cam"), gear_name("pinch cam")
    ('main gear', 'pinch cam')
    """
    return MAIN_GEAR if name == MAIN_CAM else name


def slipped_parts(transport: Transport) -> tuple[Part, ...]:
    """The timed parts that are meshed off their mark, parents first.

    >>> from mechlib.transports import load, slip
    >>> [part.name for part in slipped_parts(load("alder").with_faults(slip("pinch cam", 1)))]
    ['pinch cam']
    """
    slips = dict(transport.slips)
    return tuple(part for part in transport.parts if part.name in slips)


@dataclass(frozen=True)
class Move:
    """How a part must be moved against its parent: whole teeth of their mesh, + in its own loading sense.

    ``own_deg`` is the same in degrees of the part, ``parent_teeth`` what the parent has at that mesh.
    """

    part: str
    parent: str
    teeth: int
    parent_teeth: int
    own_deg: float
    kind: str = "gear"

    @property
    def way(self) -> str:
        """The way in a word: on or back."""
        return "on" if self.teeth > 0 else "back"

    def words(self) -> str:
        """The move without its subject, such as "1 tooth back, against its loading sense, ..."."""
        way = f"{self.way}, {'in' if self.teeth > 0 else 'against'} its loading sense"
        own = "" if self.kind == "rack" else f" ({say(abs(self.own_deg), '°')} of its own)"
        on = f"on the {gear_name(self.parent)}, which has {self.parent_teeth} teeth there"
        return f"{count(abs(self.teeth), 'tooth')} {way}{own}, {on}"

    def sentence(self) -> str:
        return f"The {self.part} goes {self.words()}."


def moves(transport: Transport) -> tuple[Move, ...]:
    """For every slipped mesh the move that sets it right, parents first: −n teeth for a slip of n.

    A part that is ahead goes back.  One tooth is 360/z degrees of a part with z teeth.

    >>> from mechlib.transports import load, slip
    >>> moves(load("alder").with_faults(slip("brake cam", 1)))[0].sentence()[:66]
    'The brake cam goes 1 tooth back, against its loading sense (7.2° o'
    """
    slips = dict(transport.slips)
    return tuple(
        Move(p.name, p.parent, -slips[p.name], p.parent_teeth, -slips[p.name] * 360.0 / p.teeth, p.kind)
        for p in slipped_parts(transport)
    )


def opened_meshes(transport: Transport, lifts: tuple[str, ...]) -> tuple[Part, ...]:
    """The parts whose mesh with their parent opens when these gears are lifted, parents first.

    >>> from mechlib.transports import load
    >>> [part.name for part in opened_meshes(load("alder"), ("brake cam",))]
    ['brake cam', 'idler cam']
    """
    return tuple(part for part in transport.parts if {part.name, part.parent} & set(lifts))


def covers_off(transport: Transport, lifts: tuple[str, ...]) -> tuple[Cover, ...]:
    """What comes off to lift these gears and to see the mark of every mesh that opens, in order.

    >>> from mechlib.transports import load
    >>> [cover.name for cover in covers_off(load("birch"), ("main cam",))]
    ['rear cover', 'flywheel bracket', 'switch plate']
    """
    opened = (part.name for part in opened_meshes(transport, lifts))
    return covers_over(transport, *lifts, *opened)


def lifting_minutes(transport: Transport, lifts: tuple[str, ...]) -> float:
    """Minutes to take off the covers, lift these gears, set their marks and put all back, as the file says.

    Raises MechError for a gear that the transport doesn't have.

    >>> from mechlib.transports import load
    >>> lifting_minutes(load("alder"), ("loading gear", "pinch cam"))
    12.5
    """
    lifting = [access_of(transport, gear).lift_minutes or 0.0 for gear in lifts]
    # fsum, so that the same minutes in another order are the same sum
    return fsum([*lifting, *(cover.minutes for cover in covers_off(transport, lifts))])


def untimed(transport: Transport, lifts: tuple[str, ...]) -> tuple[str, ...]:
    """Those of these gears for whose lifting the file gives no minutes.

    >>> from mechlib.transports import load
    >>> untimed(load("alder"), ("loading gear", "pinch cam"))
    ()
    """
    return tuple(gear for gear in lifts if access_of(transport, gear).lift_minutes is None)


def fewest_lifts(transport: Transport, roots_too: bool = True) -> tuple[str, ...]:
    """The gears to lift so that every slipped mesh opens, in the order of the file; empty if none is out.

    A lifted gear frees all its meshes, so at each slipped mesh the part or its parent has to come up: the
    fewest gears are a smallest vertex cover of the slipped meshes.  Every smallest one is a pick of one end
    of each mesh, so all picks are compared.  Among equals: the fewest gears for which the file gives no
    minutes, the fewest minutes, then not the main gear, then the order of the file.  Without ``roots_too``
    the main gear and the other outputs stay in, so that the drive can still be turned by hand.  Raises
    MechError for more than 12 slipped meshes at once.  Derived.

    >>> from mechlib.transports import load, slip
    >>> alder = load("alder").with_faults(slip("loading gear", 1), slip("pinch cam", -1))
    >>> fewest_lifts(alder)
    ('loading gear',)
    """
    slipped = slipped_parts(transport)
    if len(slipped) > MOST_SLIPPED:
        raise MechError(
            f"{len(slipped)} meshes of {transport.name} are off their marks",
            f"at most {MOST_SLIPPED} are sorted out at once; here set every mark anew in the reference mode",
        )
    order = [gear.name for gear in (*transport.roots, *transport.parts)]
    stay = () if roots_too else [root.name for root in transport.roots]
    ends = [[gear for gear in (part.name, part.parent) if gear not in stay] for part in slipped]
    picks = {frozenset(pick) for pick in product(*ends)}
    fewest = min(map(len, picks))
    sets = [tuple(sorted(pick, key=order.index)) for pick in picks if len(pick) == fewest]

    def effort(lifts):
        minutes = lifting_minutes(transport, lifts)
        return len(untimed(transport, lifts)), minutes, MAIN_CAM in lifts, [order.index(g) for g in lifts]

    return min(sets, key=effort)


@dataclass(frozen=True)
class Turn:
    """How far a part turns while the drive stands: teeth and degrees of its own, + in its loading sense."""

    part: str
    own_teeth: float
    own_deg: float
    kind: str = "gear"

    def sentence(self) -> str:
        if abs(self.own_teeth) < 1e-9:
            return f"The {self.part} stays as it stands."
        way = "on, in its loading sense" if self.own_teeth > 0 else "back, against its loading sense"
        amount = say(abs(self.own_deg), "°")
        if self.kind == "rack":
            amount = f"{say(abs(self.own_teeth))} of its teeth"
        return f"The {self.part} turns along by {amount} {way}."


def turns_along(transport: Transport, lifts: tuple[str, ...]) -> tuple[Turn, ...]:
    """For every part that a lift sets free behind the lifted gear: how far it must turn to stand on its mark.

    Slips add up along the way to the main gear: a part turns by minus their sum, −Σ n·pitch·|ρ| degrees of
    its own; one whose slips cancel stays.  Parts that keep their meshes to the drive are left out, and so is
    a lifted gear whose parent does: its own slip is all that it turns by.  Derived.

    >>> from mechlib.transports import load, slip
    >>> alder = load("alder").with_faults(slip("loading gear", 1))
    >>> [turn.sentence() for turn in turns_along(alder, ("loading gear",))]
    ['The pinch cam turns along by 3.4° back, against its loading sense.']
    """
    slips, found = dict(transport.slips), []
    for part in transport.parts:
        chain = transport.chains[part.name]
        free = {transport.part(name).parent for name in chain} & set(lifts)
        if free:
            ahead = sum(slips.get(name, 0) * transport.part(name).pitch_deg for name in chain)
            own = -ahead * abs(part.speed)
            found.append(Turn(part.name, own * part.teeth / 360.0, own, part.kind))
    return tuple(found)
