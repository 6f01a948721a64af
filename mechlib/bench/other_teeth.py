"""A transport with one gear replaced by one of another tooth count, and where the mark of a new gear goes.

Everything that hangs on a timed part with another count runs faster or slower than the main cam did before:
its tracks and contacts keep their angles at the part, and so stretch or shrink over theta, from the mark on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from mechlib.cams.programme import Programme
from mechlib.errors import MechError, check_count, check_number
from mechlib.say import count, listing, say
from mechlib.transports.arcs import Arcs
from mechlib.transports.change_table import change_table
from mechlib.transports.faults import split_gear
from mechlib.transports.model import Follower, Need, Part, Transport
from mechlib.transports.timing import margins

DRIVER, DRIVEN = "driver", "driven"
TEETH = (4, 2000)
FEW = 3
ALIKE_S = 0.005  # mode changes this close in time are told as alike


def teeth_at(transport: Transport, mesh: str, side: str) -> int:
    """The teeth of one side of a mesh: the ``driver`` (a part's parent) or the ``driven`` gear (the part).

    ``mesh``: a timed part or an upstream mesh.  Raises MechError for a mesh or side that there isn't.

    >>> from mechlib.transports import load
    >>> teeth_at(load("alder"), "pinch cam", DRIVER), teeth_at(load("alder"), "worm wheel", DRIVEN)
    (60, 24)
    """
    if side not in (DRIVER, DRIVEN):
        raise MechError(f"side is {side!r}", f"it must be {DRIVER} or {DRIVEN}")
    for upstream in transport.upstream:
        if upstream.name == mesh:
            return upstream.driver_teeth if side == DRIVER else upstream.driven_teeth
    part = _part(transport, mesh)
    return part.parent_teeth if side == DRIVER else part.teeth


def _part(transport: Transport, mesh: str) -> Part:
    if mesh not in transport.mesh_names:
        raise MechError(f"no mesh is called {mesh!r}", f"there are {listing(transport.mesh_names)}")
    return transport.part(mesh)


def with_teeth(transport: Transport, mesh: str, side: str, teeth: int) -> Transport:
    """The sound transport with another tooth count on one side of a mesh, and all that follows from it.

    Upstream of the main gear the speed changes: turns of the motor for one of the cam by z_new/z_old for a
    driven gear, by z_old/z_new for a driver; the coasting angle the other way round.  At a timed mesh the
    speed of the part over the main cam's changes in that ratio, and with it that of all that hangs on it; a
    gear that meshes with both neighbours by the same teeth is an idler, and what follows keeps its speed.
    Play keeps its size in teeth.  A hand shaft keeps its turns, so count them anew after a change upstream.

    ``teeth``: 4 to 2000 (a worm's starts, 1 and up).  Raises MechError for a mesh or side that there isn't,
    for the part-toothed gear, and where a cam that goes round would come round without the part.

    >>> from mechlib.transports import load
    >>> other = with_teeth(load("alder"), "brake cam", DRIVEN, 48)
    >>> round(other.part("brake cam").speed, 4), round(other.part("idler cam").speed, 4)
    (-1.25, 1.0)
    """
    old = teeth_at(transport, mesh, side)
    least = min(TEETH[0], old)
    new = check_count("teeth", teeth, least, TEETH[1])
    sound = transport.sound
    if new == old:
        return sound
    if mesh in {upstream.name for upstream in sound.upstream}:
        return _upstream(sound, mesh, side, old, new)
    if sound.cyclic:
        raise MechError(
            f"the {mesh} with {new} teeth for {old} comes round out of step with the main cam",
            "in a machine whose cam goes round a timed part keeps its count",
        )
    part = sound.part(mesh)
    row = (part.parent, part.parent_teeth) if side == DRIVER else (part.name, part.teeth)
    return _redrawn(sound, row, new)


def _upstream(sound: Transport, mesh: str, side: str, old: int, new: int) -> Transport:
    """The transport with a gear between motor and main gear changed: faster or slower, the chart the same."""
    field = f"{side}_teeth"
    meshes = tuple(replace(one, **{field: new}) if one.name == mesh else one for one in sound.upstream)
    if sound.release and side == DRIVEN and old == sound.main_teeth:
        raise MechError(
            f"the {mesh}'s driven gear is part-toothed",
            "its stretches and gaps are the chart; only one of the same teeth and gaps will do",
        )
    slower = old / new if side == DRIVER else new / old
    fields = {"upstream": meshes, "coast_deg": sound.coast_deg / slower}
    if sound.motors:
        fields["motors"] = tuple(
            replace(drive, turns_per_cam_turn=drive.turns_per_cam_turn * slower) for drive in sound.motors
        )
    else:
        fields["speed_deg_s"] = sound.speed_deg_s / slower
    return replace(sound, **fields, origin=None)


def _redrawn(sound: Transport, row: tuple[str, int], new: int) -> Transport:
    """The transport with other teeth on one row of a gear: ``row`` is the gear that has it and its count."""
    holder, old = row
    faster = {root.name: 1.0 for root in sound.roots}
    parts = []
    for part in sound.parts:  # parents stand before their children
        parent_teeth = new if (part.parent, part.parent_teeth) == row else part.parent_teeth
        teeth = new if (part.name, part.teeth) == row else part.teeth
        upper = faster[part.parent]
        faster[part.name] = upper * parent_teeth / part.parent_teeth * part.teeth / teeth
        changed = replace(
            part,
            teeth=teeth,
            parent_teeth=parent_teeth,
            parent_speed=part.parent_speed * upper,
            speed=part.speed * faster[part.name],
            low_stop_deg=_longer(part.low_stop_deg, faster[part.name]),
            high_stop_deg=_longer(part.high_stop_deg, faster[part.name]),
        )
        play = part.play_deg * changed.pitch_deg / part.pitch_deg
        parts.append(replace(changed, play_deg=play))
    roots = tuple(
        replace(root, teeth=new) if (root.name, root.teeth) == row else root for root in sound.roots
    )
    followers = tuple(_stretched(one, 1 / faster[one.part]) for one in sound.followers)
    contacts = tuple(replace(one, closed=_arcs(one.closed, 1 / faster[one.part])) for one in sound.contacts)
    made = replace(
        sound, parts=tuple(parts), roots=roots, followers=followers, contacts=contacts, origin=None
    )
    return _seen_anew(made)


def _longer(angle: float | None, faster: float) -> float | None:
    return None if angle is None else angle / faster


def _arcs(arcs: Arcs, by: float) -> Arcs:
    return tuple((start * by, end * by) for start, end in arcs)


def _stretched(follower: Follower, by: float) -> Follower:
    segments = tuple(
        replace(one, start_deg=one.start_deg * by, end_deg=one.end_deg * by)
        for one in follower.programme.segments
    )
    return replace(follower, programme=Programme(segments))


def _seen_anew(made: Transport) -> Transport:
    """Every need with the arcs of its follower's new track."""

    def seen(need: Need) -> Need:
        return replace(need, arcs=made.follower(need.follower).arcs(need.spans))

    def all_seen(owner, field: str = "needs"):
        return replace(owner, **{field: tuple(map(seen, getattr(owner, field)))})

    controller = replace(made.controller, watches=tuple(map(all_seen, made.controller.watches)))
    return replace(
        made,
        stages=tuple(map(all_seen, made.stages)),
        modes=tuple(map(all_seen, made.modes)),
        interlocks=tuple(replace(one, when=seen(one.when), must=seen(one.must)) for one in made.interlocks),
        controller=controller,
        tape=all_seen(made.tape, "free") if made.tape else None,
        origin=None,
    )


@dataclass(frozen=True)
class OtherTeeth:
    """What another tooth count at a mesh does; ``before`` and ``after`` are the two machines."""

    mesh: str
    side: str
    old_teeth: int
    new_teeth: int
    before: Transport
    after: Transport

    @property
    def timed(self) -> bool:
        """Whether it is a timed mesh, at which every event keeps its place only with the same count."""
        return self.mesh not in {upstream.name for upstream in self.before.upstream}

    @property
    def exact(self) -> bool:
        """Whether the tooth ratio stays what it was."""
        return self.old_teeth == self.new_teeth

    @cached_property
    def failing(self) -> tuple[tuple[str, str], ...]:
        """The mode changes that worked before and don't any more."""
        after = change_table(self.after)
        good = (pair for pair, cell in change_table(self.before).items() if cell.change.good)
        return tuple(pair for pair in good if not after[pair].change.good)

    @cached_property
    def least_margins(self) -> tuple[tuple[float, str], tuple[float, str]]:
        """The smallest margin of any mode, in degrees of theta, and the mode: before and after."""
        before, after = (
            min((one.margin_deg, one.mode) for one in margins(machine))
            for machine in (self.before, self.after)
        )
        return before, after

    @cached_property
    def slowest(self) -> tuple[tuple[str, str], float, float]:
        """Of the changes that work either way the one that took longest, and its seconds before and after.

        Raises MechError where no mode change works any more.
        """
        before, after = change_table(self.before), change_table(self.after)
        both = [pair for pair in before if before[pair].change.good and after[pair].change.good]
        if not both:
            raise MechError(f"with {self.new_teeth} teeth no mode change works", "there is no time to tell")
        pair = max(both, key=lambda one: before[one].change.time_s)
        return pair, before[pair].change.time_s, after[pair].change.time_s

    def sentence(self) -> str:
        """What happens to the chart or to the times."""
        if self.exact:
            return f"With {self.new_teeth} teeth as before nothing changes at the {self.mesh}."
        what = f"With {self.new_teeth} teeth for {self.old_teeth} at the {self.mesh}"
        if self.timed:
            how = "the whole chart is drawn anew"
            (old_deg, _), (deg, mode) = self.least_margins
            rest = f"the least margin is {say(deg, '°')}, in {mode}, for {say(old_deg, '°')}"
        else:
            how, rest = "the chart stays and the speed changes", self._times()
        if not self.failing:
            return f"{what} {how}: every mode change still works; {rest}."
        shown = [f"{start} to {target}" for start, target in self.failing[:FEW]]
        more = len(self.failing) - len(shown)
        named = listing([*shown, f"{more} more"] if more else shown)
        return f"{what} {how}: {count(len(self.failing), 'mode change')} fail, {named}; {rest}."

    def _times(self) -> str:
        try:
            (start, target), old, new = self.slowest
        except MechError:
            return "none works any more"
        if abs(new - old) < ALIKE_S:
            return "the times stay"
        return f"the slowest, {start} to {target}, takes {say(new, 's', 2)} for {say(old, 's', 2)}"


@lru_cache(maxsize=256)
def other_teeth(transport: Transport, mesh: str, side: str, teeth: int) -> OtherTeeth:
    """What a gear with another count does at one side of a mesh; arguments and errors as in ``with_teeth``.

    >>> from mechlib.transports import load
    >>> other_teeth(load("alder"), "mode switch", DRIVEN, 72).sentence()
    'With 72 teeth as before nothing changes at the mode switch.'
    """
    old = teeth_at(transport, mesh, side)
    after = with_teeth(transport, mesh, side, teeth)
    return OtherTeeth(mesh, side, old, teeth, transport.sound, after)


@dataclass(frozen=True)
class MarkPlace:
    """Where the mark of a new gear goes, and how far that is from where it ought to be.

    ``tooth``: counted from the first tooth past the flat, which is 1, in the loading sense; ``off_part_deg``
    and ``off_cam_deg``: by which the part then stands ahead (+) or behind (−); ``failing``: the mode changes
    that this alone would spoil.
    """

    part: str
    tooth: int
    off_part_deg: float
    off_cam_deg: float
    failing: tuple[tuple[str, str], ...]

    def sentence(self) -> str:
        """The tooth to mark, and what is left over."""
        told = f"Mark tooth {self.tooth} of the new {self.part}, counted from its flat in the loading sense"
        if abs(self.off_part_deg) < 0.05:
            return f"{told}: it stands just where the old mark stood."
        way = "ahead" if self.off_part_deg > 0 else "behind"
        off, cam = say(abs(self.off_part_deg), "°"), say(abs(self.off_cam_deg), "°")
        if not self.failing:
            ends = "every mode change still works"
        else:
            ends = f"{count(len(self.failing), 'mode change')} would fail: turn the gear on its shaft instead"
        return f"{told}: the part then stands {off} {way}, {cam} of the main cam; {ends}."


def mark_place(transport: Transport, part: str, mark_deg: float, first_tooth_deg: float) -> MarkPlace:
    """Which tooth of an unmarked gear of the same count gets the mark.

    ``mark_deg``: from the flat (key, pin) of the old gear to the middle of its marked tooth, in the loading
    sense, 0 to 360 degrees of the part; ``first_tooth_deg``: from the flat of the new one to the middle of
    its first tooth, 0 to one pitch.  The nearest tooth is marked; meshed on its mark the part stands off by
    what is left, at most half a pitch.  What that does is computed with the gear turned on its shaft by that.
    Raises MechError for a part that there isn't, a sector or rack, and for angles out of range.

    >>> from mechlib.transports import load
    >>> print(mark_place(load("alder"), "mode switch", 90, 0).sentence()[:36])
    Mark tooth 19 of the new mode switch
    """
    timed = transport.sound.part(part)
    if timed.kind != "gear":
        raise MechError(f"the {part} is a {timed.kind}", "teeth are counted round a whole gear here")
    pitch = 360 / timed.teeth
    mark = check_number("mark_deg", mark_deg, 0, 360, "°")
    first = check_number("first_tooth_deg", first_tooth_deg, 0, pitch, "°", "it is less than one pitch")
    steps = round((mark - first) / pitch)
    off = mark - first - steps * pitch  # a mark too far on leaves the part behind
    cam = off / abs(timed.speed)
    turned = transport.sound.with_faults(split_gear(part, cam)) if abs(cam) > 1e-9 else transport.sound
    failing = OtherTeeth(part, DRIVEN, timed.teeth, timed.teeth, transport.sound, turned).failing
    return MarkPlace(part, steps % timed.teeth + 1, off, cam, failing)
