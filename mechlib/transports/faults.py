"""Faults: each makes a new transport of a sound one, ``transport.with_faults(slip("mode switch", 1))``."""

from __future__ import annotations

from dataclasses import dataclass, replace

from mechlib.errors import MechError, check_count, check_number
from mechlib.say import count, say
from mechlib.transports.arcs import merge
from mechlib.transports.model import Transport
from mechlib.transports.refit import refitted

LEAST_PASSES, MOST_PASSES = 0.01, 0.99
MOST_ARCS = 10  # of contacts that pass only sometimes: every combination of passing arcs is looked at


@dataclass(frozen=True)
class Slip:
    """A part meshed some whole teeth off its mark: ahead (+) or behind (−)."""

    mesh: str
    teeth: int

    def put_in(self, transport: Transport) -> Transport:
        if self.mesh not in transport.mesh_names:
            raise MechError(
                f"no mesh is called {self.mesh!r}", "there are " + ", ".join(transport.mesh_names)
            )
        slips = dict(transport.slips)
        slips[self.mesh] = slips.get(self.mesh, 0) + self.teeth
        kept = tuple(sorted((mesh, teeth) for mesh, teeth in slips.items() if teeth))
        return transport.changed(slips=kept)

    def sentence(self) -> str:
        if not self.teeth:
            return f"The {self.mesh} is on its mark."
        where = "ahead of" if self.teeth > 0 else "behind"
        return f"The {self.mesh} is {count(abs(self.teeth), 'tooth')} {where} its mark."


@dataclass(frozen=True)
class SplitGear:
    """A gear split on its shaft: the part stands ahead by any angle, in main-cam degrees."""

    part: str
    deg: float

    def put_in(self, transport: Transport) -> Transport:
        transport.part(self.part)
        turned = dict(transport.turned)
        turned[self.part] = turned.get(self.part, 0.0) + self.deg
        return transport.changed(turned=tuple(sorted((p, d) for p, d in turned.items() if d)))

    def sentence(self) -> str:
        return f"The {self.part} has turned on its shaft by {say(self.deg, '°', sign=True)} of the main cam."


@dataclass(frozen=True)
class BentLever:
    """A lever bent, so that its lift is off by so many mm all along."""

    follower: str
    mm: float

    def put_in(self, transport: Transport) -> Transport:
        old = transport.follower(self.follower)
        bent = replace(old, bent_mm=old.bent_mm + self.mm)
        followers = tuple(bent if f is old else f for f in transport.followers)
        return transport.changed(**refitted(transport, followers))

    def sentence(self) -> str:
        return f"The {self.follower} is bent by {say(self.mm, 'mm', 2, sign=True)}."


@dataclass(frozen=True)
class DirtyContact:
    """A contact that closes late and opens early, by so many main-cam degrees at each end of its arcs."""

    contact: str
    deg: float

    def put_in(self, transport: Transport) -> Transport:
        return _with_contact(
            transport, self.contact, lambda arcs: merge((a + self.deg, b - self.deg) for a, b in arcs)
        )

    def sentence(self) -> str:
        return f"Contact {self.contact} is dirty: each arc is short by {say(self.deg, '°')} at both ends."


@dataclass(frozen=True)
class OpenContact:
    """A contact that never closes."""

    contact: str

    def put_in(self, transport: Transport) -> Transport:
        return _with_contact(transport, self.contact, lambda arcs: ())

    def sentence(self) -> str:
        return f"Contact {self.contact} never closes."


@dataclass(frozen=True)
class IntermittentContact:
    """A contact of which each arc passes only with a probability; see ``transports.intermittent``."""

    contact: str
    passes: float

    def put_in(self, transport: Transport) -> Transport:
        found = dict(transport.intermittent)
        found[self.contact] = found.get(self.contact, 1.0) * self.passes
        arcs = sum(len(transport.contact(name).closed) for name in found)
        if arcs > MOST_ARCS:
            raise MechError(f"contact {self.contact}", f"{_ALL} have {arcs} arcs, more than {MOST_ARCS}")
        return transport.changed(intermittent=tuple(sorted(found.items())))

    def sentence(self) -> str:
        times = say(100 * self.passes, "", 0)
        return f"Contact {self.contact} is intermittent: each of its arcs passes {times} times in a hundred."


_ALL = "the contacts that pass only sometimes"


@dataclass(frozen=True)
class DeadSolenoid:
    """A solenoid that does not pull."""

    def put_in(self, transport: Transport) -> Transport:
        if not (transport.release or any(stage.solenoid for stage in transport.stages)):
            raise MechError(f"{transport.name} has no solenoid in its power path", "leave this fault out")
        return transport.changed(solenoid_pulls=False)

    def sentence(self) -> str:
        return "The solenoid does not pull."


def _with_contact(transport: Transport, name: str, change) -> Transport:
    if name not in (names := [c.name for c in transport.contacts]):
        raise MechError(f"no contact is called {name!r}", "there are " + ", ".join(names))
    return transport.changed(
        contacts=tuple(
            replace(c, closed=change(c.closed)) if c.name == name else c for c in transport.contacts
        )
    )


def slip(mesh: str, teeth: int) -> Slip:
    """A part meshed ``teeth`` off its mark, ahead (+) or behind (−), −60 to 60.

    >>> slip("mode switch", -2).sentence()
    'The mode switch is 2 teeth behind its mark.'
    """
    return Slip(mesh, check_count("teeth", teeth, -60, 60))


def split_gear(part: str, deg: float) -> SplitGear:
    """A gear split on its shaft, its part ahead (+) or behind (−) by ``deg`` of the main cam, −180 to 180.

    >>> split_gear("pinch cam", -3.2).sentence()
    'The pinch cam has turned on its shaft by −3.2° of the main cam.'
    """
    return SplitGear(part, check_number("deg", deg, -180, 180, "°"))


def bent_lever(follower: str, mm: float) -> BentLever:
    """A lever bent by ``mm``, −50 to 50.

    >>> bent_lever("reel idler", 0.4).sentence()
    'The reel idler is bent by +0.40 mm.'
    """
    return BentLever(follower, check_number("mm", mm, -50, 50, "mm"))


def dirty_contact(contact: str, deg: float) -> DirtyContact:
    """A contact whose arcs are short at both ends by ``deg`` of the main cam, 0 to 60.

    >>> dirty_contact("A", 1.5).sentence()
    'Contact A is dirty: each arc is short by 1.5° at both ends.'
    """
    return DirtyContact(contact, check_number("deg", deg, 0, 60, "°"))


def open_contact(contact: str) -> OpenContact:
    """A contact that never closes.

    >>> open_contact("A").sentence()
    'Contact A never closes.'
    """
    return OpenContact(contact)


def intermittent_contact(contact: str, passes: float) -> IntermittentContact:
    """A contact that passes only sometimes: each of its arcs with the probability ``passes``, 0.01 to 0.99.

    >>> intermittent_contact("A", 0.7).sentence()
    'Contact A is intermittent: each of its arcs passes 70 times in a hundred.'
    """
    hint = "one that always passes is sound, one that never does is open"
    return IntermittentContact(contact, check_number("passes", passes, LEAST_PASSES, MOST_PASSES, hint=hint))


def dead_solenoid() -> DeadSolenoid:
    """A solenoid that does not pull.

    >>> dead_solenoid().sentence()
    'The solenoid does not pull.'
    """
    return DeadSolenoid()
