"""A transport with one gear replaced by one of another tooth count.

Everything that hangs on a timed part with another count runs faster or slower than the main cam did before:
its tracks and contacts keep their angles at the part, and so stretch or shrink over theta, from the mark on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from mechlib.cams.programme import Programme
from mechlib.errors import MechError, check_count
from mechlib.say import columns, count, listing, say
from mechlib.transports.arcs import Arcs
from mechlib.transports.change_table import change_table
from mechlib.transports.hardware import BETWEEN_GEAR, UpstreamMesh
from mechlib.transports.model import MAIN_CAM, MAIN_GEAR, Follower, Need, Part, Transport
from mechlib.transports.release import USUAL_TEETH, Release
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


Row = tuple[str, int]  # a gear of the chart (the main cam, an output, a timed part), and the teeth of one row


def timed_at(transport: Transport, mesh: str, side: str) -> bool:
    """Whether the gear at that side of a mesh keeps the marks, so that only the same count keeps the chart.

    True at a timed part's mesh, and for the driven gear of an upstream mesh if a timed part meshes with the
    same row of teeth.  Arguments and errors as for ``with_teeth``.

    >>> from mechlib.transports import load
    >>> [timed_at(load("cedar"), "cam pinion", side) for side in (DRIVER, DRIVEN)]
    [False, True]
    """
    row = row_at(transport, mesh, side)
    return mesh not in _upstream(transport) or _meshed(transport, row)


def _upstream(transport: Transport) -> dict[str, UpstreamMesh]:
    return {mesh.name: mesh for mesh in transport.upstream}


def _meshed(transport: Transport, row: Row | None) -> bool:
    """Whether a timed part meshes with a row."""
    return row in {(part.parent, part.parent_teeth) for part in transport.parts}


def row_at(transport: Transport, mesh: str, side: str) -> Row | None:
    """The row of a gear of the chart at one side of a mesh; None for a gear between motor and main gear.

    Arguments and errors as for ``with_teeth``.

    >>> from mechlib.transports import load
    >>> row_at(load("cedar"), "cam pinion", DRIVEN), row_at(load("cedar"), "cam pinion", DRIVER)
    (('main cam', 60), None)
    """
    teeth_at(transport, mesh, side)
    upstream = _upstream(transport).get(mesh)
    if upstream is None:
        part = transport.part(mesh)
        return (part.parent, part.parent_teeth) if side == DRIVER else (part.name, part.teeth)
    return _driven_row(transport, upstream) if side == DRIVEN else None


def _driven_row(transport: Transport, mesh: UpstreamMesh) -> Row | None:
    """The row that an upstream mesh drives, if it is one of the main gear or of an output.

    Raises MechError where the file doesn't say so, and the count would fit.
    """
    known = {root.name for root in transport.roots}
    rows = {(root.name, root.teeth) for root in transport.roots}
    rows |= {(part.parent, part.parent_teeth) for part in transport.parts}
    like = [holder for holder, teeth in rows if holder in known and teeth == mesh.driven_teeth]
    if not mesh.drives and like:
        gear = MAIN_GEAR if MAIN_CAM in like else like[0]
        raise MechError(
            f"the driven gear of the {mesh.name} has {mesh.driven_teeth} teeth, as the {gear} has",
            f'say in the file which one it is: drives = "{gear}" or drives = "{BETWEEN_GEAR}"',
        )
    return (mesh.drives, mesh.driven_teeth) if mesh.drives in known else None


def with_teeth(transport: Transport, mesh: str, side: str, teeth: int) -> Transport:
    """The sound transport with another tooth count on one side of a mesh, and all that follows from it.

    Upstream of the main gear the speed changes: turns of the mesh's motor for one of the cam by z_new/z_old
    for a driven gear, by z_old/z_new for a driver; the coasting angle the other way round.  At a timed mesh
    the speed of the part over the main cam's changes in that ratio, and with it that of all that hangs on it;
    a gear that meshes with both neighbours by the same teeth is an idler, and what follows keeps its speed.
    Both happen where an upstream mesh drives a row of the main gear with which timed parts mesh.  Play keeps
    its size in teeth.  A hand shaft keeps its turns, so count them anew after a change upstream.

    ``teeth``: 4 to 2000 (a worm's starts, 1 and up).  Raises MechError for a mesh or side that there isn't,
    for the part-toothed gear, for a pinion that would strike it, where a cam that goes round would come round
    without the part, and where the file doesn't say whether an upstream mesh drives the main gear.

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
    row = row_at(sound, mesh, side)
    _check_row(sound, mesh, row, new)
    made = _redrawn(sound, row, new) if row else sound
    for one in sound.upstream:
        if one.name == mesh:
            made = _geared(made, one, side, new)
        elif row and one.driven_teeth == row[1] and _driven_row(sound, one) == row:
            made = _geared(made, one, DRIVEN, new)
    return made


def _check_row(sound: Transport, mesh: str, row: Row | None, new: int) -> None:
    """Refuse what a main gear that goes round, or one with gaps, can't have."""
    if sound.release and row == (MAIN_CAM, sound.release.gear.places):
        raise MechError(
            f"the {mesh}'s driven gear is part-toothed",
            "its stretches and gaps are the chart; only one of the same teeth and gaps will do",
        )
    if sound.cyclic and row and (mesh not in _upstream(sound) or _meshed(sound, row)):
        raise MechError(
            f"the {mesh} with {new} teeth for {row[1]} comes round out of step with the main cam",
            "in a machine whose cam goes round a timed part keeps its count",
        )


def _geared(made: Transport, mesh: UpstreamMesh, side: str, new: int) -> Transport:
    """The transport with another count upstream: a motor's train is slower or faster, the chart stays."""
    slower = mesh.driver_teeth / new if side == DRIVER else new / mesh.driven_teeth
    changed = replace(mesh, **{f"{side}_teeth": new})
    fields = {"upstream": tuple(changed if one.name == mesh.name else one for one in made.upstream)}
    if made.release and side == DRIVER and _driven_row(made, mesh) == (MAIN_CAM, made.release.gear.places):
        fields["release"] = _with_pinion(made.release, new)
    if not made.motors:
        fields["speed_deg_s"] = made.speed_deg_s / slower
    if len(made.motors) < 2:
        fields["coast_deg"] = made.coast_deg / slower
    fields["motors"] = tuple(
        replace(
            drive,
            turns_per_cam_turn=drive.turns_per_cam_turn * slower,
            coasts=drive.coasts / slower if mesh.motor else drive.coasts,
        )
        if mesh.motor in (None, drive.name)
        else drive
        for drive in made.motors
    )
    return replace(made, **fields, origin=None)


def _with_pinion(release: Release, teeth: int) -> Release:
    """The release with another pinion at the part-toothed gear; MechError where the two would clash."""
    gear = replace(release.gear, pinion_teeth=teeth)
    for rest in range(len(gear.stretches)):
        kick = gear.kick(USUAL_TEETH, rest)
        if not (kick.runs_free and kick.meshes):
            raise MechError(f"a pinion of {teeth} teeth won't do", kick.sentence())
    return replace(release, gear=gear)


def _redrawn(sound: Transport, row: Row, new: int) -> Transport:
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
        """Whether every event keeps its place only with the same count there: see ``timed_at``."""
        return timed_at(self.before, self.mesh, self.side)

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
    def times(self) -> dict[tuple[str, str], tuple[float | None, float | None]]:
        """For every mode change its seconds before and after; None where it fails."""
        tables = change_table(self.before), change_table(self.after)
        changes = {pair: [table[pair].change for table in tables] for pair in tables[0]}
        return {pair: tuple(c.time_s if c.good else None for c in both) for pair, both in changes.items()}

    @property
    def slowest(self) -> tuple[tuple[str, str], float, float]:
        """Of the changes that work either way the one that took longest, and its seconds before and after.

        Raises MechError where no mode change works any more.
        """
        both = {pair: seconds for pair, seconds in self.times.items() if None not in seconds}
        if not both:
            raise MechError(f"with {self.new_teeth} teeth no mode change works", "there is no time to tell")
        pair = max(both, key=lambda one: both[one][0])
        return pair, *both[pair]

    def text(self) -> str:
        """Every mode change with its seconds before and after and the difference, as a table to copy."""
        head = ("mode change", f"{self.old_teeth} teeth, s", f"{self.new_teeth} teeth, s", "difference, s")
        return columns(head, [_timed(pair, *seconds) for pair, seconds in self.times.items()])

    def sentence(self) -> str:
        """What happens to the chart or to the times."""
        if self.exact:
            return f"With {self.new_teeth} teeth as before nothing changes at the {self.mesh}."
        what = f"With {self.new_teeth} teeth for {self.old_teeth} at the {self.mesh}"
        if self.timed:
            how = "the whole chart is drawn anew"
            (old_deg, _), (deg, mode) = self.least_margins
            rest = f"the least margin is {say(deg, '°')}, in {mode}; it was {say(old_deg, '°')}"
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
        return f"the slowest, {start} to {target}, takes {say(new, 's', 2)}; it was {say(old, 's', 2)}"


def _timed(pair: tuple[str, str], old: float | None, new: float | None) -> tuple[str, ...]:
    told = ["fails" if seconds is None else say(seconds, "", 2) for seconds in (old, new)]
    more = "-" if None in (old, new) else say(new - old, "", 2, sign=True)
    return " to ".join(pair), *told, more


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
