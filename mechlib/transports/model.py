"""A transport as data: what is geared to what, what each cam does, and what the controller waits for.

Words, kept everywhere: theta is the drive's angle in main-cam degrees, 0 with every mark lined up in the
reference mode, rising in the loading sense.  A part's own angle is counted in the same main-cam degrees;
it is a part's ``place``.  ``ahead`` means further on in the part's own loading sense: its events come at
smaller theta.  The root gears (the main cam and the other outputs of the power path) cannot slip.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, lru_cache

from mechlib.cams.programme import Programme
from mechlib.errors import MechError
from mechlib.gears import PlanetarySet
from mechlib.say import listing, say
from mechlib.transports.arcs import Arcs, merge
from mechlib.transports.bench_entries import BenchTime, HowOften
from mechlib.transports.decides import Decides
from mechlib.transports.hardware import Access, Cover, HandShaft, Root, UpstreamMesh
from mechlib.transports.motor_drive import NO_SPRING, MotorDrive, Spring
from mechlib.transports.release import Release

LOADING, UNLOADING = "loading", "unloading"
SENSE = {LOADING: 1, UNLOADING: -1}
MAIN_CAM, MAIN_GEAR = "main cam", "main gear"
BETWEEN = "between"


@dataclass(frozen=True)
class HandOver:
    """What tells the controller, in one ``sense``, that a stage is done and the next motor's turn has come.

    It sees ``contact`` close, keeps the motor on for ``push_on_deg`` more, so that the stage runs against the
    stop at its end, and then turns the motor of the next stage.
    """

    sense: str
    contact: str
    push_on_deg: float


@dataclass(frozen=True)
class Stage:
    """Part of the travel, from ``start`` to ``end`` of theta, in which the power goes one way.

    Through a planetary set: ``driven``, ``held`` and ``turns`` are its members and ``ratio`` is the speed of
    what turns over that of what is driven.  Otherwise ``through`` and ``held`` are words.  The
    efficiencies are of that way alone, driving and driven back.  ``motor`` is named where there are several.
    """

    name: str
    start_deg: float
    end_deg: float
    drives: tuple[str, ...]
    through: str
    held: str
    needs: tuple[Need, ...] = ()
    solenoid: bool = False
    end_contact: str | None = None
    driven: str | None = None
    turns: str | None = None
    ratio: Fraction | None = None
    efficiency: float = 1.0
    back_efficiency: float = 1.0
    motor: str | None = None
    hand_overs: tuple[HandOver, ...] = ()

    def hand_over(self, sense: str) -> HandOver | None:
        """What tells that the stage is done in that sense; None where its motor also turns what follows."""
        return next((one for one in self.hand_overs if one.sense == sense), None)

    def sentence(self) -> str:
        """Where the power goes in this stage."""
        power = f"the power of the {self.motor}" if self.motor else "the power"
        where = f"From {say(self.start_deg, '°')} to {say(self.end_deg, '°')} ({self.name}) {power} goes"
        if self.ratio is None:
            return f"{where} through {self.through} to {listing(self.drives)}; held: {self.held}."
        way = "the other way round" if self.ratio < 0 else "in the same sense"
        return (
            f"{where} through the {self.through} to {listing(self.drives)}: {self.driven} driven, "
            f"{self.held} held, {self.turns} turns {abs(self.ratio)} times as fast, {way}."
        )


@dataclass(frozen=True)
class Part:
    """A timed part: a gear, sector or rack that is meshed on its mark with its parent.

    ``parent_teeth`` are the parent's teeth at this mesh, ``parent_speed`` its speed over the main cam's,
    ``speed`` the part's own (for a rack: the speed of the gear that it would be if it were rolled up).
    ``play_deg`` and the stops are in main-cam degrees.  Past ``slip_torque_Nmm`` at the part its mesh skips a
    tooth when a jam holds the drive.
    """

    name: str
    kind: str
    teeth: int
    parent: str
    parent_teeth: int
    parent_speed: float
    speed: float
    mark: str
    play_deg: float = 0.0
    low_stop_deg: float | None = None
    high_stop_deg: float | None = None
    access: Access = Access()
    mesh_efficiency: float = 1.0
    slip_torque_Nmm: float | None = None
    drag_Nmm: float = 0.0

    @property
    def pitch_deg(self) -> float:
        """Degrees of theta by which the part's rows shift when it is meshed one tooth out."""
        return 360.0 / (self.parent_teeth * abs(self.parent_speed))


@dataclass(frozen=True)
class Follower:
    """A lever or slide moved by one track, with the lifts that have a name."""

    name: str
    part: str
    programme: Programme
    states: tuple[tuple[str, float], ...]
    tolerance_mm: float
    bent_mm: float = 0.0
    spring: Spring = NO_SPRING
    friction_N: float = 0.0

    def __hash__(self) -> int:  # of what faults change
        return hash((self.name, self.bent_mm, self.friction_N))

    def lift(self, place_deg: float) -> float:
        """Lift in mm where its part stands at ``place_deg`` (slip included)."""
        return self.programme.lift(place_deg) + self.bent_mm

    def state(self, place_deg: float) -> str:
        """Name of the state that the follower is in, or "between"."""
        lift = self.lift(place_deg)
        near = [(abs(lift - mm), name) for name, mm in self.states]
        distance, name = min(near)
        return name if distance <= self.tolerance_mm + 1e-9 else BETWEEN

    @cached_property
    def state_arcs(self) -> tuple[tuple[str, float, Arcs], ...]:
        """Each named state with its lift and the arcs of the part's place on which it holds."""
        tolerance = self.tolerance_mm
        return tuple((name, mm, self.arcs(((mm - tolerance, mm + tolerance),))) for name, mm in self.states)

    def arcs(self, spans: tuple[tuple[float, float], ...]) -> Arcs:
        """Arcs of its part's place on which the lift is within one of the spans, in mm."""
        return _arcs(self.programme, self.bent_mm, spans)


@lru_cache(maxsize=4096)
def _arcs(programme: Programme, bent_mm: float, spans: tuple[tuple[float, float], ...]) -> Arcs:
    found = (programme.arcs_within(low - bent_mm, high - bent_mm) for low, high in spans)
    return merge(arc for arcs in found for arc in arcs)


@dataclass(frozen=True)
class Need:
    """A follower that must stand in a range: its words, the spans of lift in mm, the arcs of its part."""

    follower: str
    words: str
    spans: tuple[tuple[float, float], ...]
    arcs: Arcs


@dataclass(frozen=True)
class Tape:
    """What a file says about the tape in the machine.

    ``mm_per_mm``: by follower, how much tape its lift draws out for each mm; ``wind_in`` the reel that takes
    slack up, ``sense`` which way it turns then, ``free`` what must be true for it to turn by hand.
    """

    mm_per_mm: tuple[tuple[str, float], ...]
    wind_in: str
    sense: str
    free: tuple[Need, ...] = ()


@dataclass(frozen=True)
class Contact:
    """A switch contact, closed over arcs of its part's place."""

    name: str
    part: str
    closed: Arcs


@dataclass(frozen=True)
class Mode:
    """A mode: the code that the controller waits for, and what must then be true."""

    name: str
    code: frozenset[str]
    needs: tuple[Need, ...]


@dataclass(frozen=True)
class Interlock:
    """Two followers that collide: while the first is in its range, the second must be in the other."""

    name: str
    when: Need
    must: Need


@dataclass(frozen=True)
class Leg:
    """One run of the motor: a sense and the mode whose code ends it.

    With ``turn_first`` the motor turns even if that code shows at the start.
    """

    sense: str
    mode: str
    turn_first: bool = False


@dataclass(frozen=True)
class Watch:
    """A sensor that must give pulses in some modes: it does where ``needs`` hold."""

    sensor: str
    modes: tuple[str, ...]
    delay_s: float
    needs: tuple[Need, ...]


@dataclass(frozen=True)
class Controller:
    """What the controller does: order of modes, legs of its own, time-out, home, retries, watches."""

    order: tuple[str, ...]
    time_out_s: float
    home: Leg
    retry: Leg | None = None
    retries: int = 0
    routes: tuple[tuple[str, str, tuple[Leg, ...]], ...] = ()
    watches: tuple[Watch, ...] = ()

    @cached_property
    def legs(self) -> dict[tuple[str, str], tuple[Leg, ...]]:
        """The legs of the routes by start and target."""
        return {(start, target): legs for start, target, legs in self.routes}


@dataclass(frozen=True)
class Transport:
    """A whole transport, read from a file by ``load``; ``with_faults`` makes a faulty one of it.

    ``speed_deg_s`` is None where ``motors`` are given, from which and the loads the speed follows.
    Of several motors each turns the stages that name it, one at a time.
    Without end stops (``low_deg`` and ``high_deg`` None) the cam goes round and arcs wrap at 360 degrees.
    With ``release`` it goes so from rest to rest of its part-toothed gear, in the loading sense only.
    ``off_at``: parts whose clip is gone, each with the place at which it comes off; ``missing``: for a part
    the place of its parent from which on so many of the parent's teeth are missing.  ``intermittent``:
    contacts that pass only sometimes, each with its probability; what doesn't ask
    ``transports.intermittent`` takes them as they are while they pass.
    """

    name: str
    about: str
    invented: bool
    reference_mode: str
    low_deg: float | None
    high_deg: float | None
    coast_deg: float
    settle_deg: float
    speed_deg_s: float | None
    switch_part: str
    hand_shafts: tuple[HandShaft, ...]
    roots: tuple[Root, ...]
    upstream: tuple[UpstreamMesh, ...]
    stages: tuple[Stage, ...]
    parts: tuple[Part, ...]
    followers: tuple[Follower, ...]
    contacts: tuple[Contact, ...]
    modes: tuple[Mode, ...]
    interlocks: tuple[Interlock, ...]
    controller: Controller
    sets: tuple[PlanetarySet, ...] = ()
    motors: tuple[MotorDrive, ...] = ()
    release: Release | None = None
    covers: tuple[Cover, ...] = ()
    tape: Tape | None = None
    how_often: tuple[HowOften, ...] = ()
    checks: tuple[BenchTime, ...] = ()
    repairs: tuple[BenchTime, ...] = ()
    slips: tuple[tuple[str, int], ...] = ()
    turned: tuple[tuple[str, float], ...] = ()
    off_at: tuple[tuple[str, float], ...] = ()
    missing: tuple[tuple[str, float, int], ...] = ()
    intermittent: tuple[tuple[str, float], ...] = ()
    solenoid_pulls: bool = True
    origin: Transport | None = field(default=None, compare=False, repr=False)

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        """Kept, since transports are keys of caches; of whatever a fault changes."""
        faults = (self.slips, self.turned, self.off_at, self.missing, self.intermittent, self.solenoid_pulls)
        frictions = tuple((f.bent_mm, f.friction_N) for f in self.followers), self.drags
        return hash((self.name, self.contacts, self.motors, self.release, *faults, *frictions))

    @property
    def sound(self) -> Transport:
        """The same transport without its faults."""
        return self.origin or self

    @cached_property
    def cyclic(self) -> bool:
        """True for a cam that goes round without end stops."""
        return self.low_deg is None

    @property
    def senses(self) -> tuple[str, ...]:
        """The senses in which the drive can go."""
        return (LOADING,) if self.release else tuple(SENSE)

    @cached_property
    def ends(self) -> tuple[float, float]:
        """Both ends of the chart in degrees: the end stops, or one turn."""
        return (0.0, 360.0) if self.cyclic else (self.low_deg, self.high_deg)

    @property
    def drive(self) -> MotorDrive | None:
        """The motor with what lies behind it, of several the first; None where the file gives none."""
        return self.motors[0] if self.motors else None

    def motor_of(self, stage: Stage) -> MotorDrive | None:
        """The motor that turns in a stage."""
        return next((one for one in self.motors if one.name == stage.motor), self.drive)

    def motor_named(self, name: str | None) -> MotorDrive | None:
        """The motor of that name; for None the only motor, or the first; MechError if there is none."""
        return self.drive if name is None else _named("motor", name, {one.name: one for one in self.motors})

    def motor_at(self, theta_deg: float) -> MotorDrive | None:
        """The motor that turns at an angle; where two stages meet, that of the upper one."""
        if len(self.motors) < 2:
            return self.drive
        here = (stage for stage in reversed(self.stages) if theta_deg >= stage.start_deg)
        return self.motor_of(next(here, self.stages[0]))

    def dead_in(self, sense: str) -> bool:
        """Whether no motor turns in a sense, since its driver gives nothing."""
        return bool(self.motors) and all(sense in motor.dead_senses for motor in self.motors)

    def coast_at(self, theta_deg: float) -> float:
        """By how much the drive coasts there: an angle of its own for the motor whose train was changed."""
        motor = self.motor_at(theta_deg)
        return self.coast_deg * (motor.coasts if motor else 1.0)

    def coasted(self, read_deg: float, sense: str, coast_deg: float | None = None) -> float:
        """Where the drive comes to rest if it is switched off at ``read_deg``, with nothing in the way.

        It goes on by the coasting angle, but not past an end stop, nor into the stage of another motor.
        """
        stop = read_deg + SENSE[sense] * (self.coast_at(read_deg) if coast_deg is None else coast_deg)
        if self.cyclic:
            return stop
        for stage in self.stages:
            edge = stage.end_deg if sense == LOADING else stage.start_deg
            if stage.hand_over(sense) and (edge - read_deg) * (stop - edge) > 0:
                stop = edge
        return min(max(stop, self.low_deg), self.high_deg)

    @property
    def main_teeth(self) -> int:
        """Teeth of the main gear."""
        return self.roots[0].teeth

    @property
    def mode_names(self) -> tuple[str, ...]:
        """Names of all modes, in the order of the controller."""
        return self.controller.order

    @cached_property
    def mesh_names(self) -> tuple[str, ...]:
        """Every mesh that can be a tooth out: one a timed part, then those upstream of the main gear."""
        return tuple(p.name for p in self.parts) + tuple(u.name for u in self.upstream)

    @cached_property
    def chains(self) -> dict[str, tuple[str, ...]]:
        """For each root and part, the parts from its root down to itself (roots left out)."""
        chains: dict[str, tuple[str, ...]] = {root.name: () for root in self.roots}
        for part in self.parts:  # parents stand before their children
            chains[part.name] = (*chains[part.parent], part.name)
        return chains

    def root_of(self, part: str) -> str:
        """Name of the root gear that a part hangs on in the end."""
        chain = self.chains[part]
        return self.part(chain[0]).parent if chain else part

    @cached_property
    def advance_deg(self) -> dict[str, float]:
        """How far each root and part stands ahead of its mark, in main-cam degrees; slips add up."""
        own = dict(self.turned)
        for mesh, teeth in self.slips:
            if mesh in self._parts:
                own[mesh] = own.get(mesh, 0.0) + teeth * self._parts[mesh].pitch_deg
        return {name: sum(own.get(p, 0.0) for p in chain) for name, chain in self.chains.items()}

    @cached_property
    def decides(self) -> Decides:
        """What decides what it does, piece by piece: the keys of results that machines may share."""
        return Decides(self)

    @cached_property
    def drags(self) -> tuple[tuple[str, float], ...]:
        """Each root and part with friction of its own, and that torque in N·mm over theta."""
        gears = (*self.roots, *self.parts)
        return tuple((gear.name, gear.drag_Nmm * abs(gear.speed)) for gear in gears if gear.drag_Nmm)

    @cached_property
    def _parts(self) -> dict[str, Part]:
        return {part.name: part for part in self.parts}

    @cached_property
    def _followers(self) -> dict[str, Follower]:
        return {follower.name: follower for follower in self.followers}

    @cached_property
    def _modes(self) -> dict[str, Mode]:
        return {mode.name: mode for mode in self.modes}

    def part(self, name: str) -> Part:
        """The timed part of that name; MechError if there is none."""
        return _named("timed part", name, self._parts)

    def follower(self, name: str) -> Follower:
        """The follower of that name; MechError if there is none."""
        return _named("follower", name, self._followers)

    def contact(self, name: str) -> Contact:
        """The contact of that name; MechError if there is none."""
        return _named("contact", name, {contact.name: contact for contact in self.contacts})

    def stage(self, name: str) -> Stage:
        """The stage of that name; MechError if there is none."""
        return _named("stage", name, {stage.name: stage for stage in self.stages})

    def mode(self, name: str) -> Mode:
        """The mode of that name; MechError if there is none."""
        return _named("mode", name, self._modes)

    def teeth_of(self, deg: float) -> float:
        """Degrees of theta as teeth of the main gear."""
        return deg * self.main_teeth / 360.0

    def turns_of(self, deg: float) -> float:
        """Degrees of theta as turns of the first hand shaft (0 where the file names none)."""
        return deg / 360.0 * self.hand_shafts[0].turns_per_cam_turn if self.hand_shafts else 0.0

    def with_faults(self, *faults) -> Transport:
        """A new transport with these faults put in, one after the other (see ``transports.faults``)."""
        transport = self
        for fault in faults:
            transport = fault.put_in(transport)
        return transport

    def changed(self, **fields) -> Transport:
        """A copy with some fields changed, which knows the sound transport that it came from."""
        return replace(self, origin=self.sound, **fields)


def _named(kind: str, name: str, known: dict):
    try:
        return known[name]
    except (KeyError, TypeError):
        raise MechError(f"no {kind} is called {name!r}", "there are " + ", ".join(known)) from None
